"""What a card says of air, heat and film, as typed: text to values, values to text, and what is wrong with which field.

Fields go by names of their own: `air-least`, `fast`, `pace-flash-table`, `forced-cure`, `films`.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from enum import StrEnum
from typing import Any, TypeVar

from msgspec.structs import replace

from benchtool.job.cardpaces import FORCEABLE
from benchtool.job.cards import (
    AirRange,
    ArrheniusPacing,
    Card,
    CardTime,
    DoublingPacing,
    Duty,
    EvaporationPacing,
    ForcedDry,
    Pacing,
    TablePacing,
    pace_model,
)
from benchtool.session.cardfields import Reader, figure_of
from benchtool.session.cardlines import (
    NotALine,
    read_degC,
    read_films,
    read_heat,
    read_table,
    write_degC,
    write_films,
    write_heat,
    write_table,
)
from benchtool.trade.numbers import NotANumber, read_number, shorten
from benchtool.trade.pace import NotAPace

AIR_FIELDS = ("paces", "air", "fast_solvent", "forced", "films")
"""What is read and written here of a card."""

AIR_DEGC = (-40.0, 100.0)
SPEEDS = {"ft/min": 0.00508, "fpm": 0.00508, "km/h": 1 / 3.6}
"""Other units of the speed of air, and how many m/s one of them is."""
_PER_MOL = {"kj": 1.0, "j/mol": 0.001, "kcal/mol": 4.184}
_ANY = (-math.inf, math.inf)


class Law(StrEnum):
    """How the air changes a time, as it is chosen."""

    PRINTED = "printed"
    TABLE = "table"
    DOUBLING = "doubling"
    ARRHENIUS = "arrhenius"
    EVAPORATION = "evaporation"


LAWS: Mapping[Law, str] = {
    Law.PRINTED: "As printed, in any air",
    Law.TABLE: "The card's own table",
    Law.DOUBLING: "Doubles per 10 °C",
    Law.ARRHENIUS: "Activation energy",
    Law.EVAPORATION: "Water evaporates",
}
"""How each is offered."""

PACED: Mapping[CardTime, str] = {
    CardTime.EVERY: "All times",
    CardTime.STAND: "Stand once activated",
    CardTime.STAND_REDUCED: "Stand once reduced",
    CardTime.POT_LIFE: "Pot life",
    CardTime.FLASH: "Flash between coats",
    CardTime.FLASH_CLOSES: "Flash at most",
    CardTime.RECOAT_OPENS: "Recoat opens",
    CardTime.RECOAT_CLOSES: "Recoat closes",
    CardTime.TAPE: "Tape",
    CardTime.CURE: "Full cure",
}
"""What the air may change, in the order a painter meets it; one that goes as another does comes after it."""

PRINTED_IN: Mapping[CardTime, str] = {
    **{time: time.value.replace(" ", "_") for time in PACED if time is not CardTime.EVERY},
    CardTime.FLASH_CLOSES: "flash_most",
}
"""In which field of the card each time is printed."""

HEATED: Mapping[CardTime, str] = {time: PACED[time] for time in FORCEABLE}
"""What heat may cut short."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PaceText:
    """What is typed of how the air changes one time; only what its law asks for counts."""

    law: Law = Law.PRINTED
    table: str = ""
    factor: str = ""
    energy: str = ""
    percent: str = ""
    speed: str = ""
    reference: str = ""
    least: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class AirText:
    """What is typed of air, heat and film. A time that is not in `paces` goes as all do."""

    least: str = ""
    most: str = ""
    least_percent: str = ""
    most_percent: str = ""
    fast: bool = False
    paces: Mapping[CardTime, PaceText] = field(default_factory=dict)
    forced: Mapping[CardTime, str] = field(default_factory=dict)
    films: str = ""


def laws_for(time: CardTime) -> tuple[Law, ...]:
    """Give what may be said of one time: a table is of one time only, and nothing dries in a cup."""
    return tuple(
        law
        for law in LAWS
        if not (law is Law.TABLE and time is CardTime.EVERY) and not (law is Law.EVAPORATION and time.in_cup)
    )


# --- writing ---------------------------------------------------------------------------------------


def write_air(card: Card) -> AirText:
    """Write what the card says of air, heat and film as it would be typed."""
    air = card.air or AirRange()
    return AirText(
        least=write_degC(air.least_degC),
        most=write_degC(air.most_degC),
        least_percent=figure_of(air.least_percent),
        most_percent=figure_of(air.most_percent),
        fast=card.fast_solvent,
        paces={time: _write_pace(card, time) for time in PACED if time in card.paces},
        forced={time: write_heat(card.forced[time]) for time in HEATED if time in card.forced},
        films=write_films(card.films),
    )


def _write_pace(card: Card, time: CardTime) -> PaceText:
    pacing = card.paces[time]
    if pacing == _AS_PRINTED and _goes_as(card.paces, time) is not None:
        return PaceText()
    reference, least = write_degC(pacing.reference_degC), write_degC(pacing.least_degC)
    match pacing:
        case TablePacing(points=points):
            return PaceText(law=Law.TABLE, table=write_table(points), reference=reference, least=least)
        case DoublingPacing(factor=factor):
            return PaceText(law=Law.DOUBLING, factor=figure_of(factor), reference=reference, least=least)
        case ArrheniusPacing(energy_kJ_mol=energy):
            return PaceText(law=Law.ARRHENIUS, energy=figure_of(energy), reference=reference, least=least)
        case EvaporationPacing(reference_percent=percent, reference_m_s=speed):
            return PaceText(
                law=Law.EVAPORATION,
                percent=figure_of(percent),
                speed=figure_of(speed),
                reference=reference,
                least=least,
            )


_AS_PRINTED = DoublingPacing(factor=1.0)
"""How a card says that one time stands as printed while the air changes the others: it grows by a factor of 1."""


_BLANK = Card(id="blank", name="Blank", duty=Duty.BASE, origins={})


def _goes_as(paces: Mapping[CardTime, Pacing], time: CardTime) -> Pacing | None:
    """How the air would change a time of which nothing were said by itself."""
    return replace(_BLANK, paces={t: p for t, p in paces.items() if t is not time}).pacing(time)


# --- reading ---------------------------------------------------------------------------------------


def read_air(reader: Reader, text: AirText, before: Card | None) -> dict[str, Any]:
    """Read the fields of a card that say of air, heat and film; what is wrong is told to `reader`."""
    values: dict[str, Any] = {
        "least_degC": read_warmth(reader, "air-least", text.least, *AIR_DEGC),
        "most_degC": read_warmth(reader, "air-most", text.most, *AIR_DEGC),
        "least_percent": _percent(reader, "air-least-percent", text.least_percent),
        "most_percent": _percent(reader, "air-most-percent", text.most_percent),
    }
    air = AirRange(**values)
    nothing = before.air if before is not None and before.air == AirRange() else None
    paces: dict[CardTime, Pacing] = {}
    for time in PACED:
        typed = text.paces.get(time)
        pacing = _read_pace(reader, time, typed) if typed is not None else None
        as_printed = typed is not None and typed.law is Law.PRINTED
        if as_printed and time is not CardTime.EVERY and _goes_as(paces, time) is not None:
            pacing = _AS_PRINTED
        if pacing is not None:
            paces[time] = pacing
    heat = {time: read_forced(reader, f"forced-{time.value}", text.forced.get(time, "")) for time in HEATED}
    return {
        "air": air if air != AirRange() else nothing,
        "fast_solvent": text.fast,
        "paces": paces,
        "forced": {time: dry for time, dry in heat.items() if dry is not None},
        "films": _line(reader, "films", text.films, read_films) or (),
    }


def _percent(reader: Reader, key: str, typed: str) -> float | None:
    return reader.number(key, typed, "%", -math.ulp(0.0), 100, too={"% rh": 1.0, "%rh": 1.0, "rh": 1.0})


Value = TypeVar("Value")


def _line(reader: Reader, key: str, typed: str, read: Callable[[str], Value]) -> Value | None:
    if not typed.strip():
        return None
    try:
        return read(typed)
    except NotALine as wrong:
        reader.faults.append((key, str(wrong)))
        return None


def read_warmth(reader: Reader, key: str, typed: str, *limits: float) -> float | None:
    """Read a temperature (degC); None where nothing is typed, or nothing that can be taken."""
    return _line(reader, key, typed, lambda text: read_degC(text, *limits))


def read_forced(reader: Reader, key: str, typed: str) -> ForcedDry | None:
    """Read a forced dry; None where nothing is typed, or nothing that can be taken."""
    return _line(reader, key, typed, read_heat)


def _read_pace(reader: Reader, time: CardTime, text: PaceText) -> Pacing | None:
    """Read how the air changes one time; None for as printed, or where something is wrong."""
    known, base = len(reader.faults), f"pace-{time.value}"
    if text.law is Law.PRINTED:
        return None
    if text.law not in laws_for(time):
        reader.faults.append((f"{base}-law", _NOT_FOR[text.law]))
        return None
    reference = read_warmth(reader, f"{base}-reference", text.reference)
    least = read_warmth(reader, f"{base}-least", text.least)
    bare, own = _own_values(reader, base, text)
    if len(reader.faults) > known:
        return None
    # each value by itself, so that what is wrong is said beside it
    last = {} if least is None else {"least_degC": least}
    steps = [*own.items(), *({} if reference is None else {"reference_degC": reference}).items(), *last.items()]
    made = bare
    for name, value in steps:
        made = replace(made, **{name: value})
        try:
            pace_model(made)
        except NotAPace as wrong:
            reader.faults.append((f"{base}-{_FIELD[name]}", str(wrong)))
            return None
    return made


_NOT_FOR = {
    Law.TABLE: "A table is of one kind of time: say below of which.",
    Law.EVAPORATION: "What is in the cup does not dry: this is for flash, recoat, tape and cure.",
}
_FIELD = {
    "points": "table", "factor": "factor", "energy_kJ_mol": "energy", "reference_percent": "percent",
    "reference_m_s": "speed", "reference_degC": "reference", "least_degC": "least",
}  # fmt: skip


def _own_values(reader: Reader, base: str, text: PaceText) -> tuple[Pacing, dict[str, Any]]:
    """Give a pacing of this law that holds, and the values typed for it."""

    def number(name: str, typed: str, unit: str, too: Mapping[str, float]) -> float | None:
        return reader.number(f"{base}-{name}", typed, unit, *_ANY, too=too)

    match text.law:
        case Law.TABLE:
            points = _line(reader, f"{base}-table", text.table, read_table)
            if not text.table.strip():
                reader.faults.append((f"{base}-table", "Write at least one row, such as 20 °C 40 min."))
            return TablePacing(points=((23.0, timedelta(hours=1)),)), _given(points=points)
        case Law.ARRHENIUS:
            energy = number("energy", text.energy, "kJ/mol", _PER_MOL)
            if not text.energy.strip():
                reader.faults.append((f"{base}-energy", "Write the activation energy in kJ/mol, such as 50."))
            return ArrheniusPacing(energy_kJ_mol=50), _given(energy_kJ_mol=energy)
        case Law.EVAPORATION:
            percent = number("percent", text.percent, "%", {"% rh": 1.0, "%rh": 1.0})
            speed = number("speed", text.speed, "m/s", SPEEDS)
            return EvaporationPacing(), _given(reference_percent=percent, reference_m_s=speed)
        case _:
            return DoublingPacing(), _given(factor=_factor(reader, f"{base}-factor", text.factor))


def _factor(reader: Reader, key: str, typed: str) -> float | None:
    if not typed.strip():
        return None
    try:
        value, rest = read_number(typed.strip().lower().removeprefix("x").removeprefix("×"))
    except NotANumber:
        value, rest = 0.0, "?"
    if rest in ("", "x", "×", "times"):
        return value
    reader.faults.append((key, f"“{shorten(typed)}” is not so many times as long: write a number, such as 2."))
    return None


def _given(**values: Any) -> dict[str, Any]:
    return {name: value for name, value in values.items() if value is not None}


def read_pacing(time: CardTime, text: PaceText) -> Pacing | None:
    """Read how the air changes one time; None for as printed, or where it can't be read."""
    return _read_pace(Reader([]), time, text)


# --- what the whole card says is wrong --------------------------------------------------------------


_RANGES = {
    ".air.most_degC": ("air-most", "It is less than the least temperature."),
    ".air.most_percent": ("air-most-percent", "It is less than the least humidity."),
}


def air_spot(path: str, message: str) -> tuple[str, str] | None:
    """Give the field, and the sentence for it, of a fault of a card about air, heat or film; None for any other."""
    if path in _RANGES:
        return _RANGES[path]
    said = message[:1].upper() + message[1:] + ("" if message.endswith((".", "!", "?")) else ".")
    for start, prefix, ending in (('.paces["', "pace-", "-law"), ('.forced["', "forced-", "")):
        if path.startswith(start):
            time, _, rest = path.removeprefix(start).partition('"]')
            if prefix == "forced-" and rest == ".wait" and "longer" in message:
                said = f"It is longer than “{PACED[CardTime(time)]}” without heat: look at both."
            return f"{prefix}{time}{ending}", said
    return ("films", said) if path.startswith(".films") else None
