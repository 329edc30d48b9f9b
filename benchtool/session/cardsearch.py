"""Finding cards among thousands: by words, and by what a card gives (`flash<10min`, `chemistry:epoxy`).

The index holds one line of folded text for each card, so that a keystroke is a walk over those lines and no more.
"""

import operator
import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from functools import lru_cache
from typing import Any, NamedTuple

from benchtool.job.cards import Card, Care, Origin
from benchtool.session.cardtext import care_label
from benchtool.session.cardvalues import named, time_labels
from benchtool.trade.durations import NotASpan, read_span, write_span
from benchtool.trade.numbers import NotANumber, read_number, shorten
from benchtool.trade.saying import say


@dataclass(frozen=True, slots=True)
class _Line:
    """A card ready to be looked through: its folded name, all its folded words, and those of its origins alone."""

    card: Card
    name: str
    text: str
    origins: str


Test = Callable[[_Line], bool]

_SPANS = {
    "flash": "flash", "flash at most": "flash_most", "recoat": "recoat_opens", "recoat opens": "recoat_opens",
    "recoat closes": "recoat_closes", "pot life": "pot_life", "stand": "stand", "dust-free": "dust_free",
    "tape": "tape", "cure": "cure",
}  # fmt: skip
_NUMBERS = {
    "solids": ("solids_percent", "%"), "film": ("film_um", "µm"), "density": ("density_g_mL", "g/mL"),
    "coats": ("coats_most", ""),
}  # fmt: skip
_CARES = {care.value: care for care in Care}
_TEXTS = ("maker", "use", "chemistry", "carrier", "trait", "hazard", "activator", "from")
_SIGNS: Mapping[str, Callable[[Any, Any], bool]] = {
    "<": operator.lt, "<=": operator.le, ">": operator.gt, ">=": operator.ge, "=": operator.eq,
}  # fmt: skip
_NAMES = sorted((*_SPANS, *_CARES, *_NUMBERS, *_TEXTS), key=len, reverse=True)


def _loose(name: str) -> str:
    """Take a name with or without its blank or hyphen: `pot life`, `potlife`, `dust free`."""
    return r"[\s-]?".join(re.split(r"[\s-]", name))


_PROPERTY = re.compile(
    rf"(?<!\S)(?P<name>{'|'.join(_loose(n) for n in _NAMES)})"
    r"\s*(?P<sign><=|>=|=<|=>|<|>|=|:|≤|≥)\s*"
    r"(?P<value>\"[^\"]*\"?|\d[\d.,]*\s*(?:min|mins|minutes?|hours?|hrs?|days?|[smhd]|[µμu]m|g/mL|%)?(?!\S)|\S*)",
    re.IGNORECASE,
)
_SAME_SIGN = {"≤": "<=", "≥": ">=", "=<": "<=", "=>": ">="}


class Query(NamedTuple):
    """What was typed, understood: the folded words, the tests, how the tests read, and what can't be understood."""

    words: tuple[str, ...] = ()
    tests: tuple[Test, ...] = ()
    told: str = ""
    wrong: str = ""


def how_to_search() -> str:
    """Say, under the field, what may be typed."""
    return say("Words of the card, or what it gives: flash<10min, recoat>=2h, solids>50, chemistry:epoxy, two-part.")


def fold(text: str) -> str:
    """Make text fit for comparing: small letters, no accents, one blank between words."""
    if not text.isascii():
        text = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    return " ".join(text.casefold().split())


_folded = lru_cache(maxsize=4_096)(fold)
"""For what many cards have in common, such as a maker."""


def read_query(typed: str) -> Query:
    """Understand what was typed; what can't be is told in `wrong` and narrows nothing."""
    tests: list[Test] = []
    told: list[str] = []
    wrong: list[str] = []

    def take(found: "re.Match[str]") -> str:
        sign = _SAME_SIGN.get(found["sign"], found["sign"])
        name = _known(found["name"])
        made = _read(name, sign, found["value"].strip('",; '))
        if isinstance(made, str):
            wrong.append(made)
        else:
            tests.append(made[0])
            told.append(made[1])
        return " "

    rest = _PROPERTY.sub(take, typed[:400])
    return Query(
        tuple(dict.fromkeys(fold(rest.replace(",", " ")).split())), tuple(tests), ", ".join(told), " ".join(wrong)
    )


def _known(name: str) -> str:
    plain = re.sub(r"[\s-]+", "", name).lower()
    return next(n for n in _NAMES if re.sub(r"[\s-]+", "", n) == plain)


def _read(name: str, sign: str, value: str) -> tuple[Test, str] | str:
    if name in _TEXTS:
        return _text_test(name, value)
    compare = _SIGNS["=" if sign == ":" else sign]
    if name in _SPANS or name in _CARES:
        field = _SPANS.get(name, name)
        try:
            span = read_span(value, "min" if field in ("flash", "flash_most", "stand") else None)
        except NotASpan:
            return say("{name} asks for a time, such as {name}{sign}10min.", name=name, sign=sign)
        if name in _CARES:
            care = _CARES[name]
            return _care_test(care, compare, span), f"{care_label(care).lower()} {sign} {write_span(span)}"
        return _number_test(field, compare, span), f"{time_labels()[field].lower()} {sign} {write_span(span)}"
    field, unit = _NUMBERS[name]
    try:
        number, _ = read_number(value)
    except NotANumber:
        return say("{name} asks for a number, such as {name}{sign}50.", name=name, sign=sign)
    return _number_test(field, compare, number), f"{name} {sign} {number:g} {unit}".rstrip()


def _number_test(field: str, compare: Callable[[Any, Any], bool], asked: timedelta | float) -> Test:
    def test(line: _Line) -> bool:
        value = getattr(line.card, field)
        return value is not None and compare(value, asked)

    return test


def _care_test(care: Care, compare: Callable[[Any, Any], bool], asked: timedelta) -> Test:
    return lambda line: care in line.card.care and compare(line.card.care[care], asked)


def _text_test(name: str, value: str) -> tuple[Test, str] | str:
    asked = fold(value)
    if not asked:
        return say("{name} asks for a word, such as chemistry:epoxy.", name=name)
    if name == "from":
        return (lambda line: asked in line.origins), f"{name} {shorten(value)}"
    known: dict[object, bool] = {}

    def test(line: _Line) -> bool:
        what = _asked_of(line.card, name)
        if what not in known:
            known[what] = any(asked in _folded(text) for text in _texts(line.card, name))
        return known[what]

    return test, f"{name} {shorten(value)}"


def _asked_of(card: Card, name: str) -> object:
    """Give what of a card the answer hangs on, for many cards have it in common."""
    match name:
        case "maker":
            return (card.maker, *(a.maker for a in card.activators))
        case "use":
            return card.duty
        case "chemistry" | "carrier":
            return getattr(card, name)
        case "trait":
            return card.traits
        case "hazard":
            return card.hazards
        case _:
            return tuple(a.name for a in card.activators)


def _texts(card: Card, name: str) -> Iterable[str]:
    match name:
        case "maker":
            return (card.maker, *(a.maker for a in card.activators))
        case "use":
            return (card.duty.value, named(card.duty))
        case "chemistry" | "carrier":
            return _both(x for x in (getattr(card, name),) if x is not None)
        case "trait":
            return _both(card.traits)
        case "hazard":
            return _both(card.hazards)
        case _:
            return [a.name for a in card.activators]


def _both(values: Iterable[StrEnum]) -> Iterator[str]:
    """Give fixed words as they stand in the file and as they are said."""
    for value in values:
        yield value.value
        yield named(value)


def _origin_texts(card: Card) -> Iterator[str]:
    for said in card.origins.values():
        yield from (said.kind.value, said.words) if isinstance(said, Origin) else (said,)


def searched(card: Card) -> str:
    """Give the folded text of a card in which words are looked for."""
    labels = time_labels()
    parts = [
        card.name,
        card.maker,
        *_both((card.duty, *(x for x in (card.chemistry, card.carrier) if x is not None), *card.traits, *card.hazards)),
        say("two-part") if card.two_part else say("one-part"),
        *(f"{a.name} {a.maker}" for a in card.activators),
        *(a.name for a in card.additives),
        card.note,
        *_origin_texts(card),
        *(label for key, label in labels.items() if getattr(card, key) is not None),
        *(care_label(care) for care in card.care),
    ]
    return fold(" ".join(parts))


# --- the index ---------------------------------------------------------------------------------------


class Found(NamedTuple):
    """The cards that answer, those whose name does first; and how the question was understood."""

    cards: tuple[Card, ...]
    told: str = ""
    wrong: str = ""


class CardIndex:
    """All cards of the library, ready to be looked through."""

    def __init__(self) -> None:
        self._lines: list[_Line] = []
        self._made: dict[int, _Line] = {}

    def __len__(self) -> int:
        return len(self._lines)

    def update(self, cards: Sequence[Card]) -> None:
        """Take these cards, in this order; only those not known yet are looked into."""
        for _ in self.updating(cards):
            pass

    def updating(self, cards: Sequence[Card]) -> Iterator[tuple[int, int]]:
        """Do the same a card at a time; gives how many of how many are done."""
        made: dict[int, _Line] = {}
        lines = []
        for i, card in enumerate(cards, 1):
            line = self._made.get(id(card))
            if line is None or line.card is not card:
                line = _Line(card, fold(card.name), searched(card), fold(" ".join(_origin_texts(card))))
                yield i, len(cards)
            made[id(card)] = line
            lines.append(line)
        self._lines, self._made = lines, made

    def find(self, typed: str) -> Found:
        """Give the cards that hold all the words and pass all the tests."""
        query = read_query(typed)
        lines: Iterable[_Line] = self._lines
        for word in query.words:
            lines = [line for line in lines if word in line.text]
        for test in query.tests:
            lines = [line for line in lines if test(line)]
        lines = _best_first(lines, query.words[0]) if query.words else lines
        return Found(tuple([line.card for line in lines]), query.told, query.wrong)


def _best_first(lines: Iterable[_Line], word: str) -> list[_Line]:
    """Give those first whose name begins with the word, then those whose name holds it, else in their order."""
    begin: list[_Line] = []
    hold: list[_Line] = []
    rest: list[_Line] = []
    for line in lines:
        name = line.name
        (rest if word not in name else begin if name.startswith(word) else hold).append(line)
    return begin + hold + rest
