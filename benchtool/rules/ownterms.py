"""The terms in which a painter writes a rule: what it may look at, how a value is read, and how it reads in words."""

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from enum import Enum, auto
from functools import lru_cache

from benchtool.job.cards import Carrier, Chemistry, Duty, Gun, Trait
from benchtool.job.events import Face, Known, Shape
from benchtool.job.shoprules import Compare, Condition, ShopRule, Weight
from benchtool.trade.durations import NotASpan, read_span, write_span
from benchtool.trade.numbers import NotANumber, figure, read_number, shorten
from benchtool.trade.saying import say
from benchtool.trade.substrates import Flex, Material

BARE = "the bare piece"
"""What the first layer goes on."""


class Kind(Enum):
    """What sort of value a term takes."""

    CHOICE = auto()
    SUBSTRATE = auto()
    TEXT = auto()
    COUNT = auto()
    SPAN = auto()
    DEGC = auto()
    KELVIN = auto()
    PERCENT = auto()
    MICRONS = auto()


class Look(Enum):
    """When a term is looked at: in the plan, at each coat, or before the first coat of a layer only."""

    PLAN = auto()
    COAT = auto()
    FIRST = auto()


@dataclass(frozen=True, slots=True)
class Term:
    """Something that a rule may look at: its name in the file, and what sort of value it takes."""

    id: str
    kind: Kind
    look: Look = Look.PLAN
    choices: tuple[str, ...] = ()

    @property
    def compares(self) -> tuple[Compare, ...]:
        """How it may be compared."""
        if self.kind in (Kind.CHOICE, Kind.SUBSTRATE):
            return (Compare.IS, Compare.IS_NOT, Compare.ONE_OF)
        if self.kind is Kind.TEXT:
            return (Compare.IS, Compare.IS_NOT, Compare.ONE_OF, Compare.CONTAINS)
        if self.kind is Kind.SPAN:
            return (Compare.AT_MOST, Compare.AT_LEAST)
        return (Compare.AT_LEAST, Compare.AT_MOST, *((Compare.IS,) if self.kind is Kind.COUNT else ()))

    @property
    def hint(self) -> str:
        """An example of its value, with its unit."""
        return _HINTS.get(self.kind, "")


_HINTS = {
    Kind.COUNT: "2", Kind.SPAN: "4 h", Kind.DEGC: "15 °C", Kind.KELVIN: "3 °C", Kind.PERCENT: "85 %",
    Kind.MICRONS: "60 µm",
}  # fmt: skip


def _choice(name: str, values: Collection[str]) -> Term:
    return Term(name, Kind.CHOICE, choices=tuple(values))


_TERMS = (
    Term("substrate", Kind.SUBSTRATE),
    _choice("material", list(Material)),
    _choice("known", list(Known)),
    _choice("flex", list(Flex)),
    _choice("face", list(Face)),
    _choice("shape", list(Shape)),
    _choice("layer", list(Duty)),
    _choice("goes on", (BARE, *Duty)),
    _choice("chemistry", list(Chemistry)),
    _choice("chemistry under", list(Chemistry)),
    _choice("carrier", list(Carrier)),
    _choice("trait", list(Trait)),
    Term("card", Kind.TEXT),
    Term("maker", Kind.TEXT),
    _choice("gun", list(Gun)),
    Term("coats", Kind.COUNT),
    Term("film", Kind.MICRONS),
    Term("air temperature", Kind.DEGC, Look.COAT),
    Term("air humidity", Kind.PERCENT, Look.COAT),
    Term("dew margin", Kind.KELVIN, Look.COAT),
    Term("abraded", Kind.SPAN, Look.FIRST),
    Term("cleaned", Kind.SPAN, Look.FIRST),
    Term("coat under", Kind.SPAN, Look.FIRST),
    Term("stirred", Kind.SPAN, Look.COAT),
)
TERMS: Mapping[str, Term] = {term.id: term for term in _TERMS}

Read = str | int | float | timedelta


@dataclass(frozen=True, slots=True)
class Asked:
    """A condition as understood: its term, how it compares, and the values as they are compared."""

    term: Term
    compare: Compare
    values: tuple[Read, ...]


class NotUnderstood(ValueError):
    """A condition can't be understood: the field at fault, and a sentence about it."""

    def __init__(self, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field


# --- reading -----------------------------------------------------------------------------------------


@lru_cache(512)
def understood(condition: Condition) -> Asked:
    """Read a condition. That a substrate is one of the table is not asked here.

    Raises:
        NotUnderstood: it looks at what this tool does not know, or its value can't be read.
    """
    term = TERMS.get(_plain(condition.of))
    if term is None:
        raise NotUnderstood("of", say("“{what}” is nothing that a rule can look at.", what=shorten(condition.of)))
    how = next((c for c in term.compares if c.value == _plain(condition.is_)), None)
    if how is None:
        ways = ", ".join(c.value for c in term.compares)
        said = say(
            "“{what}” can't be compared by “{how}”: write one of {ways}.",
            what=term.id, how=shorten(condition.is_), ways=ways,
        )  # fmt: skip
        raise NotUnderstood("is", said)
    return Asked(term, how, tuple(_read(term, value) for value in _values(condition, how)))


def _plain(word: str) -> str:
    return " ".join(word.split()).lower()


def _values(condition: Condition, how: Compare) -> tuple[str, ...]:
    given = condition.value if isinstance(condition.value, tuple) else (condition.value,)
    texts = tuple(str(v).strip() for v in given)
    if not texts or not all(texts):
        raise NotUnderstood("value", say("Say with what “{what}” is compared.", what=condition.of))
    if len(texts) > 1 and how is not Compare.ONE_OF:
        raise NotUnderstood("value", say("“{how}” takes one value, not several.", how=how.value))
    return texts


def _read(term: Term, text: str) -> Read:
    match term.kind:
        case Kind.CHOICE:
            return _chosen(term, text)
        case Kind.SUBSTRATE | Kind.TEXT:
            return _plain(text)
        case Kind.SPAN:
            try:
                return read_span(text)
            except NotASpan as wrong:
                raise NotUnderstood("value", str(wrong)) from None
        case Kind.COUNT:
            return _count(text)
        case _:
            return _measured(term, text)


def _chosen(term: Term, text: str) -> str:
    for choice in term.choices:
        if _plain(choice) == _plain(text):
            return str(choice)
    ways = ", ".join(term.choices)
    said = say("“{value}” is none of what “{what}” can be: {ways}.", value=shorten(text), what=term.id, ways=ways)
    raise NotUnderstood("value", said)


def _count(text: str) -> int:
    if text.isdecimal() and 1 <= int(text[:4]) <= 50:
        return int(text)
    raise NotUnderstood("value", say("“{value}” is no number of coats: write 1 to 50.", value=shorten(text)))


_UNITS: dict[Kind, dict[str, tuple[float, float]]] = {
    Kind.DEGC: {"c": (1, 0), "f": (5 / 9, -160 / 9), "k": (1, -273.15)},
    Kind.KELVIN: {"c": (1, 0), "f": (5 / 9, 0), "k": (1, 0)},
    Kind.PERCENT: {"%": (1, 0), "percent": (1, 0)},
    Kind.MICRONS: {
        "µm": (1, 0), "μm": (1, 0), "um": (1, 0), "micron": (1, 0), "microns": (1, 0), "mil": (25.4, 0),
        "mils": (25.4, 0), "thou": (25.4, 0), "mm": (1_000, 0),
    },
}  # fmt: skip
"""By unit, the factor and what is added: 1 inch is 25.4 mm exactly, and t(°C) = (t(°F) - 32) × 5/9 (NIST SP 811)."""
_BOUNDS = {Kind.DEGC: (-40, 100), Kind.KELVIN: (0, 100), Kind.PERCENT: (0, 100), Kind.MICRONS: (0, 100_000)}


def _measured(term: Term, text: str) -> float:
    try:
        number, unit = read_number(text)
    except NotANumber as wrong:
        raise NotUnderstood("value", str(wrong)) from None
    word = unit.lower().removeprefix("°").strip().removeprefix("deg").strip()
    factor = _UNITS[term.kind].get(word)
    if factor is None:
        raise NotUnderstood(
            "value", say("“{value}” has no unit for this: write {hint}.", value=shorten(text), hint=term.hint)
        )
    value = number * factor[0] + factor[1]
    least, most = _BOUNDS[term.kind]
    if not least <= value <= most:
        raise NotUnderstood("value", say("“{value}” is more, or less, than it can be.", value=shorten(text)))
    return value


def faults(rule: ShopRule, substrates: Collection[str]) -> Iterator[tuple[str, str]]:
    """Give what can't be understood of a rule: the place in it, as a JSON path, and a sentence."""
    if not rule.when and not rule.require:
        yield "", say("It has no condition: say where it holds, or what it requires.")
    for group, conditions in (("when", rule.when), ("require", rule.require)):
        for i, condition in enumerate(conditions):
            try:
                asked = understood(condition)
            except NotUnderstood as wrong:
                yield f"{group}[{i}].{wrong.field}", str(wrong)
                continue
            missing = [v for v in asked.values if asked.term.kind is Kind.SUBSTRATE and v not in substrates]
            if missing:
                said = say("“{value}” is no substrate of this tool's table.", value=shorten(str(missing[0])))
                yield f"{group}[{i}].value", said


# --- in words ----------------------------------------------------------------------------------------


_NOUNS: Mapping[str, Callable[[], str]] = {
    "substrate": lambda: say("the substrate"),
    "material": lambda: say("the kind of material"),
    "known": lambda: say("what it is made of"),
    "flex": lambda: say("the piece"),
    "face": lambda: say("the painted face"),
    "shape": lambda: say("the face or shape"),
    "layer": lambda: say("the layer"),
    "goes on": lambda: say("what the layer goes on"),
    "chemistry": lambda: say("the chemistry of the layer"),
    "chemistry under": lambda: say("the chemistry of what it goes on"),
    "carrier": lambda: say("the carrier of the layer"),
    "trait": lambda: say("a trait of the paint"),
    "card": lambda: say("the card"),
    "maker": lambda: say("the maker"),
    "gun": lambda: say("the gun"),
    "coats": lambda: say("the number of coats"),
    "film": lambda: say("the dry film of the whole stack"),
    "air temperature": lambda: say("the air temperature"),
    "air humidity": lambda: say("the humidity"),
    "dew margin": lambda: say("the surface above the dew point"),
    "abraded": lambda: say("the abrading"),
    "cleaned": lambda: say("the cleaning"),
    "coat under": lambda: say("the last coat under it"),
    "stirred": lambda: say("the stirring"),
}


def noun(term: Term) -> str:
    """Name what a term looks at, as in a sentence."""
    return _NOUNS[term.id]()


def words_of(term: Term, value: Read, names: Mapping[str, str]) -> str:
    """Say a value as in a sentence; `names` are the substrates' by id."""
    match value:
        case timedelta():
            return write_span(value)
        case str():
            return _named(term, value, names)
        case _:
            unit = {Kind.DEGC: " °C", Kind.KELVIN: " °C", Kind.PERCENT: " %", Kind.MICRONS: " µm"}.get(term.kind, "")
            return f"{figure(float(value))}{unit}"


def _named(term: Term, value: str, names: Mapping[str, str]) -> str:
    if term.kind is Kind.SUBSTRATE:
        return names.get(value, value)
    if term.id == "gun":
        return Gun(value).named
    if term.id in ("layer", "goes on") and value != BARE:
        return say("a {what}", what=value)
    return value


def condition_words(asked: Asked, names: Mapping[str, str], *, required: bool) -> str:
    """Say one condition: what is so, or what must be so."""
    what, value = noun(asked.term), _or(words_of(asked.term, v, names) for v in asked.values)
    ago = asked.term.kind is Kind.SPAN
    match asked.compare, required, ago:
        case Compare.AT_LEAST, False, True:
            return say("{what} was at least {value} ago", what=what, value=value)
        case Compare.AT_LEAST, True, True:
            return say("{what} must be at least {value} ago", what=what, value=value)
        case Compare.AT_MOST, False, True:
            return say("{what} was at most {value} ago", what=what, value=value)
        case Compare.AT_MOST, True, True:
            return say("{what} must be at most {value} ago", what=what, value=value)
        case Compare.AT_LEAST, False, _:
            return say("{what} is at least {value}", what=what, value=value)
        case Compare.AT_LEAST, True, _:
            return say("{what} must be at least {value}", what=what, value=value)
        case Compare.AT_MOST, False, _:
            return say("{what} is at most {value}", what=what, value=value)
        case Compare.AT_MOST, True, _:
            return say("{what} must be at most {value}", what=what, value=value)
        case Compare.IS_NOT, False, _:
            return say("{what} is not {value}", what=what, value=value)
        case Compare.IS_NOT, True, _:
            return say("{what} must not be {value}", what=what, value=value)
        case Compare.CONTAINS, False, _:
            return say("{what} contains “{value}”", what=what, value=value)
        case Compare.CONTAINS, True, _:
            return say("{what} must contain “{value}”", what=what, value=value)
        case _, True, _:
            return say("{what} must be {value}", what=what, value=value)
        case _:
            return say("{what} is {value}", what=what, value=value)


def _or(texts: Iterator[str] | list[str]) -> str:
    listed = list(texts)
    return say("{some} or {last}", some=", ".join(listed[:-1]), last=listed[-1]) if len(listed) > 1 else listed[0]


def _and(texts: list[str]) -> str:
    return say("{some} and {last}", some=", ".join(texts[:-1]), last=texts[-1]) if len(texts) > 1 else texts[0]


def rule_words(rule: ShopRule, names: Mapping[str, str]) -> str:
    """Read a rule back: where it holds, what must be, and else what.

    Raises:
        NotUnderstood: one of its conditions can't be understood.
    """
    where = [condition_words(understood(c), names, required=False) for c in rule.when]
    must = [condition_words(understood(c), names, required=True) for c in rule.require]
    weight = weight_words(rule.weight)
    if where and must:
        return say("Where {where}, {must}; else: {weight}.", where=_and(where), must=_and(must), weight=weight)
    if where:
        return say("Where {where}: {weight}.", where=_and(where), weight=weight)
    if not must:
        return ""
    return say("In any job, {must}; else: {weight}.", must=_and(must), weight=weight)


def weight_words(weight: Weight) -> str:
    """Name how grave it is."""
    return {Weight.STOP: say("stop"), Weight.CAUTION: say("caution"), Weight.NOTE: say("note")}[weight]
