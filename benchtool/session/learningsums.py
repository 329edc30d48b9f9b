"""Median and quartiles of a few figures, with how many there are; and the own wait that many waits come to."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from statistics import median, quantiles

from benchtool.job.cards import Card, CardTime
from benchtool.job.learnedcases import Wait
from benchtool.job.windows import coats_within

FEW = 5
"""From fewer cases than this nothing is concluded (judgement: a median of four is moved by any one of them)."""

MOST_TIMES = 3.0
"""A wait that was longer than this many times the card's was a break, no drying time (judgement, no source)."""

LEAST_TIMES = 1.1
"""A wait that was less longer than this is the card's own (judgement, no source)."""

FIELDS = {
    CardTime.STAND: "stand",
    CardTime.STAND_REDUCED: "stand_reduced",
    CardTime.FLASH: "flash",
    CardTime.RECOAT_OPENS: "recoat_opens",
    CardTime.TAPE: "tape",
    CardTime.CURE: "cure",
}
"""The waits that a card gives, each with its field; a pot life is a deadline and never learned."""

_MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Sums:
    """How many figures, their median and quartiles, the least and the most, in the unit they came in."""

    n: int
    low: float
    median: float
    high: float
    least: float
    most: float

    @property
    def few(self) -> bool:
        """Whether they are too few to say anything."""
        return self.n < FEW


def sums(values: Iterable[float]) -> Sums | None:
    """Give the sums of these; None of none.

    Quartiles are type 7 of Hyndman and Fan, Sample Quantiles in Statistical Packages (The American Statistician 50,
    1996): linear between the two figures about the place 1 + (n - 1) p. Two and more figures are asked for.
    """
    held = sorted(values)
    if not held:
        return None
    low, middle, high = quantiles(held, n=4, method="inclusive") if len(held) > 1 else held * 3
    return Sums(len(held), low, middle, high, held[0], held[-1])


@dataclass(frozen=True, slots=True)
class OwnWait:
    """A wait that the record shows to be longer than the card's: what would be noted, and the cases behind it."""

    time: CardTime
    value: timedelta
    by_card: timedelta
    cases: int

    @property
    def field(self) -> str:
        """The card's field."""
        return FIELDS[self.time]


def own_wait(card: Card, time: CardTime, waits: Sequence[timedelta]) -> OwnWait | None:
    """Say which wait these waits, each in the card's own air, come to: their median, down to the whole minute.

    None where it is no longer than the card's, was a break, or lies beyond the end of the window: what is learned is
    never shorter than what the card says.
    """
    field = FIELDS.get(time)
    by_card: timedelta | None = getattr(card, field) if field is not None else None
    if by_card is None or not waits:
        return None
    own = timedelta(seconds=median([w.total_seconds() for w in waits]))
    own -= own % _MINUTE if own >= _MINUTE else timedelta(0)
    closes = _end(card, time)
    if not by_card < own or not LEAST_TIMES * by_card <= own <= MOST_TIMES * by_card:
        return None
    return OwnWait(time, own, by_card, len(waits)) if closes is None or own <= closes else None


def _end(card: Card, time: CardTime) -> timedelta | None:
    match time:
        case CardTime.FLASH:
            within = coats_within(card)
            return within[0] if within is not None else None
        case CardTime.RECOAT_OPENS:
            return card.recoat_closes
        case CardTime.STAND | CardTime.STAND_REDUCED:
            return card.pot_life
        case _:
            return None


def learned_waits(card: Card, waits: Iterable[Wait], *, least: int = 1) -> Iterator[OwnWait]:
    """Give what the waits with this card come to, a time of it each, from at least so many cases."""
    of_it = [w for w in waits if w.card.lower() == card.id.lower()]
    for time in FIELDS:
        told = [w.in_card_time for w in of_it if w.time is time]
        known = [w for w in told if w is not None]
        own = own_wait(card, time, known) if len(known) >= least else None
        if own is not None:
            yield own
