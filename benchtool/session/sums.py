"""Sums beside the cup: what is typed becomes how much to mix, cups within their pot life, flow, emissions, cost.

The answers come from the same functions as those of the command line. What is typed is a text by the name of its
field; nothing here knows a widget. Where a field is at fault, `Wrong` names it; where one is still empty, `Needed`
says what to type.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from typing import TypeVar

from benchtool.job.cards import Gun
from benchtool.session.cardfields import Reader, Wrong
from benchtool.sheets.sums import FlowSheet, SizeSheet, flow_of, read_flow
from benchtool.trade.durations import NotASpan, read_span
from benchtool.trade.emissions import NotEmissions
from benchtool.trade.film import TRANSFER_PERCENT, NotACoat, cap_m2, cylinder_m2, disc_m2, rectangle_m2, size
from benchtool.trade.flow import FlowCup, NotAFlowCup, OutOfRange, against, between, read_cup
from benchtool.trade.numbers import NotANumber, figure, read_number, shorten
from benchtool.trade.potlife import CupPlan, NotInTime, largest_mL, split
from benchtool.trade.quantities import Measures, NotAnAmount
from benchtool.trade.units import VolumeUnit

Texts = Mapping[str, str]
"""What is typed, by field."""

Value = TypeVar("Value")

MOST_THINNED = 10_000.0
"""Reducer for 100 parts of paint: a hundred times the paint is a slip of the hand (judgement, no source)."""

POT_LIFE_WORDS = "Warm paint has a shorter pot life; changing cups is taken to cost no time."


class Needed(Exception):
    """A field is still empty, or a value is on no card; the message says what to do."""


class Form(StrEnum):
    """What is painted, as far as its area goes."""

    RECTANGLE = "rectangle"
    DISC = "disc"
    CAP = "cap"
    CYLINDER = "cylinder"
    AREA = "area"


FORM_FIELDS: Mapping[Form, tuple[str, ...]] = {
    Form.RECTANGLE: ("first", "second"),
    Form.DISC: ("first",),
    Form.CAP: ("first", "second"),
    Form.CYLINDER: ("first", "second", "ends"),
    Form.AREA: ("area",),
}
"""Which fields each form asks for."""

LABELS: Mapping[str, str] = {
    "length": "length", "width": "width", "diameter": "diameter", "height": "height", "ends": "ends painted",
    "area": "area", "coats": "coats", "dry": "dry film", "solids": "volume solids", "transfer": "transfer efficiency",
    "thinned": "reducer", "loss": "loss", "rate": "rate", "pot_life": "pot life", "stand": "stand", "flash": "flash",
    "amount": "amount", "cup": "flow cup", "seconds": "seconds", "limit": "limit",
}  # fmt: skip
FIRST = {Form.RECTANGLE: "length", Form.DISC: "diameter", Form.CAP: "diameter", Form.CYLINDER: "diameter"}
SECOND = {Form.RECTANGLE: "width", Form.CAP: "height", Form.CYLINDER: "height"}


class _Fields:
    """Reads fields one by one; what is at fault and what is still empty is kept for the end."""

    def __init__(self, typed: Texts) -> None:
        self.typed = typed
        self.faults: list[tuple[str, str]] = []
        self.empty: list[str] = []

    def read(self, key: str, reader: Callable[[str], Value], other: Value, *, name: str = "") -> Value:
        """Read a field that has to be filled; `other` stands in where it can't be read."""
        text = self.typed.get(key, "")
        if not text.strip():
            self.empty.append(LABELS[name or key])
            return other
        return self.may(key, reader, other)

    def may(self, key: str, reader: Callable[[str], Value], empty: Value) -> Value:
        """Read a field that may be left empty."""
        text = self.typed.get(key, "")
        if not text.strip():
            return empty
        try:
            return reader(text)
        except (NotAnAmount, NotANumber, NotACoat, NotASpan, NotAFlowCup, NotInTime, NotEmissions) as fault:
            self.faults.append((key, str(fault)))
        return empty

    def coats(self) -> int:
        """Read the number of coats."""
        if not self.typed.get("coats", "").strip():
            self.empty.append(LABELS["coats"])
            return 1
        return Reader(self.faults).count("coats", self.typed["coats"]) or 1

    def settle(self) -> None:
        """Stop here where something is at fault, or still empty.

        Raises:
            Wrong: fields at fault.
            Needed: fields that are empty.
        """
        if self.faults:
            raise Wrong(self.faults)
        if self.empty:
            first, *more = dict.fromkeys(self.empty)
            said = f"{', '.join((first, *more[:-1]))} and {more[-1]}" if more else first
            raise Needed(f"Type the {said}.")


def _percent(what: str, least: float, most: float) -> Callable[[str], float]:
    """Read `30` or `30 %`; `least` itself is taken only where it is 0 and stands for none of it."""

    def read(text: str) -> float:
        value, unit = read_number(text)
        if unit.lower() not in ("", "%", "percent"):
            raise NotACoat(f"“{shorten(text)}” is no percentage: write it as 30 or 30 %.")
        if not least <= value <= most:
            low = "0" if least == 0 else "above 0"
            raise NotACoat(f"{what} can't be {figure(value, 6)} %: write a figure from {low} to {most:g}.")
        return value

    return read


_ABOVE_ZERO = 1e-9


# --- how much to mix -----------------------------------------------------------------------------------


def area_m2(measures: Measures, typed: Texts) -> float:
    """Give the area (m2) of the form chosen.

    Raises:
        Wrong: a size at fault.
        Needed: a size that is still empty.
    """
    fields = _Fields(typed)
    area = _area(fields, measures)
    fields.settle()
    return area


def _area(fields: _Fields, measures: Measures) -> float:
    form = Form(fields.typed.get("form") or Form.RECTANGLE)
    if form is Form.AREA:
        found = fields.read("area", lambda text: measures.area_m2(text, unit="m2"), 1.0)
        if not found > 0:
            fields.faults.append(("area", "An area of nothing needs no paint: type one such as 1.5 m2 or 16 sq ft."))
        return found
    asked = FORM_FIELDS[form]
    before = len(fields.faults) + len(fields.empty)
    first = fields.read("first", lambda text: measures.length_mm(text, unit="mm"), 1.0, name=FIRST[form])
    second = 1.0
    if "second" in asked:
        second = fields.read("second", lambda text: measures.length_mm(text, unit="mm"), 1.0, name=SECOND[form])
    ends = fields.may("ends", _ends, 0) if "ends" in asked else 0
    if len(fields.faults) + len(fields.empty) > before:
        return 1.0
    try:
        match form:
            case Form.RECTANGLE:
                return rectangle_m2(first, second)
            case Form.DISC:
                return disc_m2(first)
            case Form.CAP:
                return cap_m2(first, second)
            case _:
                return cylinder_m2(first, second, ends)
    except NotACoat as fault:
        fields.faults.append(("first" if not first > 0 or "second" not in asked else "second", str(fault)))
    return 1.0


def _ends(text: str) -> int:
    if text.strip() not in ("0", "1", "2"):
        raise NotACoat("A cylinder has two ends: write how many of them are painted, 0, 1 or 2.")
    return int(text)


def how_much(measures: Measures, typed: Texts, unit: VolumeUnit = VolumeUnit.ML, gun: Gun | None = None) -> SizeSheet:
    """Say how much to mix for what is typed; a bare number is mm, um, m2 or in `unit`.

    `gun` is named in the answer where the transfer is no more than the usual figure for it.

    Raises:
        Wrong: a field at fault.
        Needed: a field that is still empty.
    """
    fields = _Fields(typed)
    area = _area(fields, measures)
    coats = fields.coats()
    dry = fields.read("dry", lambda text: measures.length_um(text, unit="um"), 1.0)
    solids = fields.read("solids", _percent("Volume solids", _ABOVE_ZERO, 100), 1.0)
    transfer = fields.read("transfer", _percent("Transfer efficiency", _ABOVE_ZERO, 100), 1.0)
    thinned = fields.may("thinned", _percent("Reducer", 0, MOST_THINNED), 0.0)
    loss = fields.may("loss", lambda text: measures.volume(text, unit=unit.value).mL, 0.0)
    if not dry > 0:
        fields.faults.append(("dry", "A film of nothing needs no paint: type a thickness such as 25 um or 1 mil."))
    fields.settle()
    try:
        sized = size(
            area_m2=area,
            dry_um=dry,
            solids_percent=solids,
            transfer_percent=transfer,
            coats=coats,
            thinned_percent=thinned,
            loss_mL=loss,
        )
    except NotACoat as fault:
        raise Wrong([("dry", str(fault))]) from None
    return SizeSheet(
        sized=sized,
        area_m2=area,
        coats=coats,
        solids_percent=solids,
        transfer_percent=transfer,
        thinned_percent=thinned,
        gun=gun.value if gun is not None and transfer == TRANSFER_PERCENT[gun.value] else "",
    )


# --- pot life ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """The largest batch (mL) that can be sprayed in time, and `amount_mL` in cups; none where no amount is known."""

    largest_mL: float
    coats: int
    flash_s: float
    amount_mL: float | None = None
    cups: tuple[CupPlan, ...] = ()


def pot_life(
    measures: Measures, typed: Texts, unit: VolumeUnit = VolumeUnit.ML, amount_mL: float | None = None
) -> Life:
    """Say how much can be sprayed before its pot life ends, and how a larger amount is split into cups.

    `amount_mL` is spread where the field is left empty. Stand and flash as bare numbers are minutes.

    Raises:
        Wrong: a field at fault.
        Needed: a field that is still empty.
    """
    fields = _Fields(typed)
    nothing = timedelta(0)
    coats = fields.coats()
    rate = fields.read("rate", lambda text: measures.rate_mL_min(text, unit="mL/min"), 1.0)
    lives_s = fields.read("pot_life", read_span, nothing).total_seconds()
    stand_s = fields.may("stand", lambda text: read_span(text, "min"), nothing).total_seconds()
    flash_s = fields.may("flash", lambda text: read_span(text, "min"), nothing).total_seconds()
    amount = fields.may("amount", lambda text: _some(measures, text, unit), amount_mL)
    fields.settle()
    try:
        largest = largest_mL(pot_life_s=lives_s, stand_s=stand_s, rate_mL_min=rate, coats=coats, flash_s=flash_s)
    except NotInTime as fault:
        raise Wrong([("pot_life", str(fault))]) from None
    cups: tuple[CupPlan, ...] = ()
    if amount is not None:
        try:
            cups = split(amount, pot_life_s=lives_s, stand_s=stand_s, rate_mL_min=rate, coats=coats, flash_s=flash_s)
        except NotInTime as fault:
            raise Wrong([("amount", str(fault))]) from None
    return Life(largest_mL=largest, coats=coats, flash_s=flash_s, amount_mL=amount, cups=cups)


def _some(measures: Measures, text: str, unit: VolumeUnit) -> float:
    mL = measures.volume(text, unit=unit.value).mL
    if not mL > 0:
        raise NotAnAmount("Type an amount above zero, such as 30 mL or 1 fl oz.")
    return mL


# --- flow ----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What the card asks for with the gun in hand: so many seconds out of that cup."""

    cup: FlowCup
    seconds: float
    gun: str

    @property
    def words(self) -> str:
        """The same as a sentence."""
        return f"The card asks for {figure(self.seconds)} s in {self.cup.name} with the {self.gun}."


@dataclass(frozen=True, slots=True, kw_only=True)
class Flow:
    """A reading as the command line has it, and what it says against the card (`against`, empty where nothing)."""

    sheet: FlowSheet
    against: str = ""


def flow(measures: Measures, typed: Texts, wanted: Wanted | None = None) -> Flow:
    """Read seconds in a flow cup, or a viscosity (`98 mm2/s`, `98 cSt`) which needs no cup.

    Raises:
        Wrong: a field at fault. A reading outside a cup's range is no fault: the sheet says so.
        Needed: a field that is still empty.
    """
    fields = _Fields(typed)
    reading = fields.read("seconds", lambda text: _reading(measures, text), (1.0, False))
    seconds, is_viscosity = reading
    read = fields.may if is_viscosity else fields.read
    cup = read("cup", _flow_cup, None)
    to = fields.may("to", _flow_cup, None)
    degC = fields.may("warmth", lambda text: _warmth(measures, text), None)
    fields.settle()
    try:
        if is_viscosity:
            return Flow(sheet=flow_of(seconds, to or cup))
        if cup is None:
            raise Needed("Type the flow cup.")
        same = wanted is not None and wanted.cup is cup
        sheet = read_flow(
            cup,
            seconds,
            to=to,
            degC=degC,
            wanted_s=wanted.seconds if wanted is not None and same else None,
            gun=wanted.gun if wanted is not None else "gun",
        )
    except OutOfRange as fault:
        raise Wrong([("seconds", str(fault))]) from None
    said = sheet.advice
    if wanted is not None and not same:
        try:
            there = between(cup, seconds, wanted.cup)
            said = f"By the card's cup: {against(wanted.cup, there, wanted.seconds, wanted.gun)}"
        except OutOfRange:
            said = f"{wanted.words} It can't be told from this reading: time it in {wanted.cup.name}."
    return Flow(sheet=sheet, against=said)


def _flow_cup(text: str) -> FlowCup | None:
    return read_cup(text)


def _warmth(measures: Measures, text: str) -> float | None:
    return measures.temperature_degC(text, unit="C")


def _reading(measures: Measures, text: str) -> tuple[float, bool]:
    """Read a time (s), or a kinematic viscosity (mm2/s) and True."""
    try:
        seconds = read_span(text, "s").total_seconds()
    except NotASpan:
        value, unit = read_number(text)
        if value < 0 or not any(mark in unit.lower() for mark in ("/s", "st")):
            raise NotASpan(
                f"“{shorten(text)}” is no reading: write seconds such as 30, or a viscosity such as 98 mm2/s."
            ) from None
        return measures.viscosity_mm2_s(text), True
    if not seconds > 0:
        raise NotASpan("A time of nothing is none: write the seconds of the stopwatch, such as 30.")
    return seconds, False
