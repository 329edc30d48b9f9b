"""All that a card says, value by value, in the words of a painter: for the library, for comparing, for searching."""

from collections.abc import Callable, Iterable, Iterator
from datetime import timedelta
from enum import StrEnum
from functools import cache
from typing import NamedTuple, TypeVar

from msgspec.structs import fields

from benchtool.job.cardpaces import CardTime
from benchtool.job.cards import (
    Activator,
    Additive,
    ArrheniusPacing,
    Card,
    DoublingPacing,
    EvaporationPacing,
    Origin,
    OriginKind,
    Pacing,
    Reduction,
    TablePacing,
    Voc,
)
from benchtool.session.cardfields import figure_of
from benchtool.session.cardmore import write_shelf
from benchtool.session.cardorigins import page_words
from benchtool.session.cardtext import care_label
from benchtool.trade.durations import write_span
from benchtool.trade.saying import say
from benchtool.trade.substrates import Suits

T = TypeVar("T")


class Group(StrEnum):
    """What belongs together on a card."""

    PRODUCT = "product"
    MIX = "mix"
    TIMES = "times"
    FILM = "film"
    AIR = "air"
    CAN = "can"
    REST = "rest"


class Value(NamedTuple):
    """One value: the place on the card (as its origin is kept by), its label and itself in words.

    The words are exact: two cards that differ have a value that is said differently.
    """

    key: str
    label: str
    words: str
    group: Group


def card_values(card: Card) -> tuple[Value, ...]:
    """Give all that a card says, in the order a painter meets it; what it is silent on is left out."""
    said: list[Value] = []
    for told in (_product, _mix, _times, _film, _air, _can, _rest):
        said += told(card)
    return tuple(said)


def named(value: StrEnum) -> str:
    """Say one of the fixed words of a record."""
    return say(value.value)


# --- the groups --------------------------------------------------------------------------------------


def _product(card: Card) -> Iterator[Value]:
    texts = {
        "name": (say("Name"), card.name),
        "maker": (say("Maker"), card.maker),
        "duty": (say("Use"), named(card.duty)),
        "two_part": (say("Parts"), say("two-part") if card.two_part else say("one-part")),
        "chemistry": (say("Chemistry"), named(card.chemistry) if card.chemistry is not None else ""),
        "carrier": (say("What leaves the film"), named(card.carrier) if card.carrier is not None else ""),
        "traits": (say("Traits"), _list(card.traits)),
        "only_over": (say("Goes only over"), ", ".join(card.only_over)),
        "hazards": (say("Can hurt by"), _list(card.hazards)),
    }
    yield from _given(texts, Group.PRODUCT)


def _mix(card: Card) -> Iterator[Value]:
    for nth, activator in _numbered(card.activators, lambda a: a.id):
        yield from _activator(f"activators.{nth}", activator)
    for nth, additive in _numbered(card.additives, lambda a: a.id):
        yield from _additive(f"additives.{nth}", additive)
    if card.reducer != _defaults()["reducer"]:
        yield Value("reducer", say("Reducer"), card.reducer, Group.MIX)
    for nth, reduction in _numbered(card.reductions, lambda r: r.gun.value):
        label = say("Reduced for {gun}", gun=reduction.gun.named)
        yield Value(f"reductions.{nth}", label, _reduction(reduction), Group.MIX)
    numbers = {
        "tolerance_percent": (say("May be off by"), _unit(card.tolerance_percent, "%")),
        "solids_percent": (say("Solids by volume"), _unit(card.solids_percent, "%")),
        "density_g_mL": (say("Density"), _unit(card.density_g_mL, "g/mL")),
        "voc": (say("VOC"), _voc(card.voc)),
        "reducer_density_g_mL": (say("Density of the reducer"), _unit(card.reducer_density_g_mL, "g/mL")),
        "reducer_voc": (say("VOC of the reducer"), _voc(card.reducer_voc)),
    }
    yield from _given(numbers, Group.MIX)


def _activator(place: str, a: Activator) -> Iterator[Value]:
    yield Value(f"{place}.share", say("Activator"), _part(a.name, a.share, a.suits), Group.MIX)
    more = {
        "maker": (say("Maker of {name}", name=a.name), a.maker),
        "density_g_mL": (say("Density of {name}", name=a.name), _unit(a.density_g_mL, "g/mL")),
        "solids_percent": (say("Solids of {name}", name=a.name), _unit(a.solids_percent, "%")),
        "voc": (say("VOC of {name}", name=a.name), _voc(a.voc)),
        "keeps": (say("{name} keeps", name=a.name), _shelf(a.keeps)),
        "keeps_opened": (say("{name} keeps opened", name=a.name), _shelf(a.keeps_opened)),
        "tolerance_percent": (say("{name} may be off by", name=a.name), _unit(a.tolerance_percent, "%")),
    }
    yield from _given({f"{place}.{key}": told for key, told in more.items()}, Group.MIX)


def _additive(place: str, a: Additive) -> Iterator[Value]:
    yield Value(f"{place}.share", say("Additive"), _part(a.name, a.share, a.suits), Group.MIX)
    density = (say("Density of {name}", name=a.name), _unit(a.density_g_mL, "g/mL"))
    yield from _given({f"{place}.density_g_mL": density}, Group.MIX)


def _part(name: str, share: str, suits: Suits) -> str:
    match suits:
        case Suits.ANY:
            return say("{name}, {share}", name=name, share=share)
        case Suits.RIGID:
            return say("{name}, {share}, for rigid pieces", name=name, share=share)
        case Suits.FLEXIBLE:
            return say("{name}, {share}, for flexible pieces", name=name, share=share)


def time_labels() -> dict[str, str]:
    """Give the label of each time of a card by its field."""
    return {
        "stand": say("Stand once activated"),
        "stand_reduced": say("Stand once reduced"),
        "pot_life": say("Pot life"),
        "flash": say("Flash"),
        "flash_most": say("Flash at most"),
        "dust_free": say("Dust-free"),
        "recoat_opens": say("Recoat opens"),
        "recoat_closes": say("Recoat closes"),
        "tape": say("Tape"),
        "cure": say("Cure"),
    }


def _times(card: Card) -> Iterator[Value]:
    times = {key: (label, _span(getattr(card, key))) for key, label in time_labels().items()}
    yield from _given(times, Group.TIMES)
    for care, wait in card.care.items():
        yield Value(f"care.{care.value}", care_label(care), write_span(wait), Group.TIMES)


def _film(card: Card) -> Iterator[Value]:
    least, most = card.coats_least, card.coats_most
    coats = str(least) if least == most else say("{least} to {most}", least=least, most=most)
    films = [say("{um} µm {factor} times as long", um=_exact(um), factor=_exact(x)) for um, x in card.films]
    told = {
        "coats_least": (say("Coats"), coats),
        "film_um": (say("Dry film of a coat"), _unit(card.film_um, "µm")),
        "film_most_um": (say("Thickest dry film"), _unit(card.film_most_um, "µm")),
        "films": (say("In a thicker film"), "; ".join(films)),
    }
    yield from _given(told, Group.FILM)


def _air(card: Card) -> Iterator[Value]:
    air = card.air
    if air is not None:
        warmth = _range(air.least_degC, air.most_degC, "°C")
        damp = _range(air.least_percent, air.most_percent, "%")
        words = ", ".join(x for x in (warmth, damp) if x) or say("any")
        yield Value("air", say("Air to spray in"), words, Group.AIR)
    if card.fast_solvent:
        yield Value("fast_solvent", say("Solvent"), say("a fast one, which cools the film"), Group.AIR)
    for time, pacing in card.paces.items():
        yield Value(f"paces.{time.value}", say("{time} by the air", time=_time(time)), _pacing(pacing), Group.AIR)
    for time, dry in card.forced.items():
        words = say("{wait} at {degC} °C", wait=write_span(dry.wait), degC=_exact(dry.degC))
        yield Value(f"forced.{time.value}", say("{time} in heat", time=_time(time)), words, Group.AIR)


def _can(card: Card) -> Iterator[Value]:
    told = {
        "keeps": (say("Keeps unopened"), _shelf(card.keeps)),
        "keeps_opened": (say("Keeps opened"), _shelf(card.keeps_opened)),
        "reducer_keeps": (say("Reducer keeps unopened"), _shelf(card.reducer_keeps)),
        "reducer_keeps_opened": (say("Reducer keeps opened"), _shelf(card.reducer_keeps_opened)),
    }
    yield from _given(told, Group.CAN)


_SAID = {
    "id", "name", "maker", "duty", "two_part", "chemistry", "carrier", "traits", "only_over", "hazards", "activators",
    "additives", "reducer", "reductions", "tolerance_percent", "solids_percent", "density_g_mL", "voc",
    "reducer_density_g_mL", "reducer_voc", "stand", "stand_reduced", "pot_life", "flash", "flash_most", "dust_free",
    "recoat_opens", "recoat_closes", "tape", "cure", "coats_least", "coats_most", "film_um", "film_most_um", "films",
    "air", "fast_solvent", "paces", "forced", "keeps", "keeps_opened", "reducer_keeps", "reducer_keeps_opened", "note",
    "origins", "care",
}  # fmt: skip


def _rest(card: Card) -> Iterator[Value]:
    if card.note:
        yield Value("note", say("Note"), card.note, Group.REST)
    for name, default in _defaults().items():  # whatever a card may say one day is never passed over here
        if name not in _SAID and (value := getattr(card, name)) != default:
            yield Value(name, name.replace("_", " ").capitalize(), str(value), Group.REST)


# --- words -------------------------------------------------------------------------------------------


def _given(told: dict[str, tuple[str, str]], group: Group) -> Iterator[Value]:
    yield from (Value(key, label, words, group) for key, (label, words) in told.items() if words)


def _numbered(parts: Iterable[T], key: Callable[[T], str]) -> Iterator[tuple[str, T]]:
    """Give each part by its id; one whose id was there before gets a number to it."""
    seen: dict[str, int] = {}
    for part in parts:
        seen[key(part)] = nth = seen.get(key(part), 0) + 1
        yield key(part) if nth == 1 else f"{key(part)}#{nth}", part


@cache
def _defaults() -> dict[str, object]:
    return {field.name: field.default for field in fields(Card)}


def _list(values: Iterable[StrEnum]) -> str:
    return ", ".join(named(v) for v in values)


def _exact(value: float) -> str:
    return figure_of(float(value))


def _unit(value: float | None, unit: str) -> str:
    return "" if value is None else f"{_exact(value)} {unit}"


def _span(span: timedelta | None) -> str:
    return "" if span is None else write_span(span)


def _shelf(span: timedelta | None) -> str:
    return "" if span is None else write_shelf(span)


def _range(least: float | None, most: float | None, unit: str) -> str:
    if least is not None and most is not None:
        return say("{least} to {most} {unit}", least=_exact(least), most=_exact(most), unit=unit)
    if least is not None:
        return say("from {least} {unit}", least=_exact(least), unit=unit)
    return say("up to {most} {unit}", most=_exact(most), unit=unit) if most is not None else ""


def _reduction(r: Reduction) -> str:
    words = r.usual if r.least == r.usual == r.most else f"{r.usual} ({r.least} … {r.most})"
    if r.flow_s is None and r.flow_cup is None:
        return words
    seconds = _exact(r.flow_s) if r.flow_s is not None else "?"
    return say("{share}, {n} s out of {cup}", share=words, n=seconds, cup=r.flow_cup or "?")


def _voc(voc: Voc | None) -> str:
    if voc is None:
        return ""
    words = [_unit(voc.voc_g_L, "g/L")]
    if voc.water_g_L:
        words.append(say("water {n} g/L", n=_exact(voc.water_g_L)))
    if voc.exempt_g_L:
        words.append(say("exempt {n} g/L", n=_exact(voc.exempt_g_L)))
    if voc.exempt_density_g_mL is not None:
        words.append(say("exempt of {n} g/mL", n=_exact(voc.exempt_density_g_mL)))
    return ", ".join(words)


def _time(time: CardTime) -> str:
    return say("Every time") if time is CardTime.EVERY else say(time.value.capitalize())


def _pacing(p: Pacing) -> str:
    at = _exact(p.reference_degC)
    match p:
        case TablePacing():
            rows = [f"{_exact(degC)} °C {write_span(wait)}" for degC, wait in p.points]
            words = say("{rows}; printed for {degC} °C", rows="; ".join(rows), degC=at)
        case DoublingPacing():
            words = say(
                "{factor} times as long for 10 °C less, printed for {degC} °C", factor=_exact(p.factor), degC=at
            )
        case ArrheniusPacing():
            words = say("activation energy {n} kJ/mol, printed for {degC} °C", n=_exact(p.energy_kJ_mol), degC=at)
        case EvaporationPacing():
            words = say(
                "as water leaves, printed for {degC} °C, {percent} % and {speed} m/s",
                degC=at, percent=_exact(p.reference_percent), speed=_exact(p.reference_m_s),
            )  # fmt: skip
    if p.least_degC is None:
        return words
    return say("{words}, nothing below {degC} °C", words=words, degC=_exact(p.least_degC))


# --- origins -----------------------------------------------------------------------------------------


def origin_of(card: Card, key: str) -> Origin | None:
    """Find where the value at this place comes from: what is said of it, else of what it belongs to, else of all."""
    whole = key.partition("[")[0]
    for place in (whole, whole.partition(".")[0]):
        if place in card.origins:
            return card.origin_of(place)
    return card.origin_of("*")


def is_guess(card: Card, key: str) -> bool:
    """Whether the value at this place is a guess."""
    origin = origin_of(card, key)
    return origin is not None and origin.kind is OriginKind.GUESS


def origin_told(origin: Origin | None) -> str:
    """Say in one line where a value comes from; nothing where nobody said."""
    if origin is None:
        return ""
    kinds = {
        OriginKind.SHEET: say("sheet"),
        OriginKind.MEASURED: say("own measurement"),
        OriginKind.TOLD: say("told"),
        OriginKind.PRACTICE: say("common practice"),
        OriginKind.GUESS: say("a guess"),
    }
    words = " ".join(origin.words.split())
    return ", ".join(part for part in (kinds[origin.kind], words, page_words(origin.page), origin.day) if part)
