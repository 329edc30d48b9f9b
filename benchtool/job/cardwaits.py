"""Whether the times of a product card come in the order of drying, and are as long as such times are."""

from collections.abc import Callable, Iterator, Mapping
from datetime import timedelta

from benchtool.job.cards import Card, Chemistry
from benchtool.job.cardsaid import CardCheck
from benchtool.trade.durations import write_span
from benchtool.trade.saying import say

_MINUTE = timedelta(minutes=1)
_HOUR = timedelta(hours=1)
_DAY = timedelta(days=1)


def wait_checks(card: Card) -> Iterator[CardCheck]:
    """Give what of the times of a card does not agree.

    The order of drying: dust-free, then tack-free and dry enough for tape, then dry through (ASTM D1640/D1640M).
    """
    if card.pot_life is None and card.two_part and card.activators:
        said = say("Two-part, and no pot life: then nothing says when the cup is over.")
        yield CardCheck(".pot_life", said)
    yield from _stands(card)
    for field, later, severe, message in _ORDER:
        first, second = getattr(card, field), getattr(card, later)
        if first is not None and second is not None and first > second:
            yield CardCheck(f".{field}", message(write_span(first), write_span(second)), severe=severe)
    opens, closes = card.recoat_opens, card.recoat_closes
    if opens is not None and closes == opens:
        yield CardCheck(".recoat_closes", say("It closes at the moment it opens."), severe=True)
    # wet on wet, the next layer may come before the dust lets go: only where it waits long is this odd
    if card.dust_free is not None and opens is not None and card.dust_free > opens >= _HOUR:
        said = say(
            "The next layer may go on after {opens}, and dust still sticks then: look again.", opens=write_span(opens)
        )
        yield CardCheck(".dust_free", said)
    yield from _slips(card)


_ORDER: tuple[tuple[str, str, bool, Callable[[str, str], str]], ...] = (
    (
        "flash",
        "recoat_opens",
        True,
        lambda first, second: say(
            "The next coat waits {first}, the next layer only {second}.", first=first, second=second
        ),
    ),
    (
        "flash_most",
        "recoat_closes",
        False,
        lambda first, second: say(
            "The next coat may come until {first}, and the recoat has closed after {second}.",
            first=first,
            second=second,
        ),
    ),
    (
        "dust_free",
        "tape",
        True,
        lambda first, second: say(
            "Tape may go on after {second}, and dust sticks until {first}.", first=first, second=second
        ),
    ),
    (
        "dust_free",
        "cure",
        True,
        lambda first, second: say(
            "It is fully cured after {second}, and dust sticks until {first}.",
            first=first,
            second=second,
        ),
    ),
    (
        "tape",
        "cure",
        True,
        lambda first, second: say(
            "It is fully cured after {second}, and tape has to wait {first}.", first=first, second=second
        ),
    ),
    (
        "recoat_opens",
        "cure",
        False,
        lambda first, second: say(
            "It is fully cured after {second}, and the next layer has to wait {first}.", first=first, second=second
        ),
    ),
)
"""A time, one that can't come before it, whether one of the two must be wrong where it does, and what is said then."""


def _stands(card: Card) -> Iterator[CardCheck]:
    if card.pot_life is None:
        return
    both = (card.stand or timedelta(0)) + (card.stand_reduced or timedelta(0))
    for field, span in (("stand", card.stand), ("stand_reduced", both)):
        if getattr(card, field) is not None and span is not None and span >= card.pot_life:
            said = say(
                "It stands {stand} before it may be sprayed, and the cup is over after {pot}.",
                stand=write_span(span),
                pot=write_span(card.pot_life),
            )
            yield CardCheck(f".{field}", said, severe=True)
            return


_Of = Callable[[str], str]
_POT: _Of = lambda span: say("A pot life of {span}: was it meant in minutes or hours?", span=span)  # noqa: E731
_STAND: _Of = lambda span: say("A stand of {span}: was it meant in minutes?", span=span)  # noqa: E731
_TAPE: _Of = lambda span: say("Tape after {span}: was it meant in minutes or hours?", span=span)  # noqa: E731
_KEEPS: _Of = lambda span: say("It keeps {span}: was it meant in months?", span=span)  # noqa: E731
_SHORT: Mapping[str, tuple[timedelta, _Of]] = {
    "pot_life": (_MINUTE, _POT),
    "stand": (timedelta(seconds=10), _STAND),
    "recoat_closes": (
        _MINUTE,
        lambda span: say("The recoat closes after {span}: was it meant in minutes or hours?", span=span),
    ),
    "tape": (_MINUTE, _TAPE),
    "cure": (10 * _MINUTE, lambda span: say("Fully cured after {span}: was it meant in hours or days?", span=span)),
    "keeps": (_DAY, _KEEPS),
    "reducer_keeps": (_DAY, _KEEPS),
}
_LONG: Mapping[str, tuple[timedelta, _Of]] = {
    "pot_life": (14 * _DAY, _POT),
    "stand": (4 * _HOUR, _STAND),
    "stand_reduced": (4 * _HOUR, _STAND),
    "flash": (_DAY, lambda span: say("A flash of {span}: was it meant in minutes?", span=span)),
    "dust_free": (2 * _DAY, lambda span: say("Dust sticks for {span}: was it meant in minutes or hours?", span=span)),
    "recoat_opens": (60 * _DAY, lambda span: say("The next layer after {span}: was it meant in hours?", span=span)),
    "tape": (60 * _DAY, _TAPE),
}
"""Lengths that a slip of the unit makes, a minute for an hour. Bounds are common practice, no source."""


def _slips(card: Card) -> Iterator[CardCheck]:
    # light cures in seconds, and a time of nothing says “at once”
    quick = card.chemistry is Chemistry.UV
    for field, (least, message) in _SHORT.items():
        span = getattr(card, field)
        if span is not None and timedelta(0) < span < least and not quick:
            yield CardCheck(f".{field}", message(write_span(span)), severe=field == "pot_life")
    if card.pot_life == timedelta(0):
        yield CardCheck(".pot_life", say("A pot life of nothing: the cup is over before it is stirred."), severe=True)
    for field, (most, message) in _LONG.items():
        span = getattr(card, field)
        if span is not None and span > most:
            yield CardCheck(f".{field}", message(write_span(span)))
