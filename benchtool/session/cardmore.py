"""More of a card as typed: contents by part, shelf life, spray viscosity, and the cards it may only go over."""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

from benchtool.job.cards import Reduction, Voc
from benchtool.session.cardfields import DENSITY, LONGEST_NAME, Reader, clean, figure_of
from benchtool.trade.durations import NotASpan, read_span, write_span
from benchtool.trade.emissions import G_L_PER_LB_GAL, NotEmissions
from benchtool.trade.flow import NotAFlowCup, read_cup
from benchtool.trade.numbers import NotANumber, figure, read_number, shorten
from benchtool.trade.saying import say

_IN_POUNDS = dict.fromkeys(("lb/gal", "lbs/gal", "lb/us gal"), G_L_PER_LB_GAL)
_FROM_ZERO = -math.ulp(0.0)
_MOST_G_L = 25_000
_YEAR_DAYS = 365
_MOST_MONTHS = 120
_MONTHS = re.compile(r"(months?|mths?|mos?|years?|yrs?|y)\.?", re.IGNORECASE)
_HOW_LONG = "Write 12 months, 2 years, 90 d or 8 h."


@dataclass(frozen=True, slots=True, kw_only=True)
class VocText:
    """What is typed of what evaporates out of one part."""

    voc: str = ""
    water: str = ""
    exempt: str = ""
    exempt_density: str = ""

    @property
    def empty(self) -> bool:
        """Whether nothing is typed here."""
        return not (self.voc + self.water + self.exempt + self.exempt_density).strip()


NO_VOC = VocText()


def write_voc(voc: Voc | None) -> VocText:
    """Write what evaporates as it would be typed; nothing for no water and no exempt solvent."""
    if voc is None:
        return NO_VOC
    return VocText(
        voc=figure_of(voc.voc_g_L),
        water=figure_of(voc.water_g_L or None),
        exempt=figure_of(voc.exempt_g_L or None),
        exempt_density=figure_of(voc.exempt_density_g_mL),
    )


def read_voc(reader: Reader, prefix: str, name: str, typed: VocText, density_g_mL: float | None) -> Voc | None:
    """Read what evaporates out of the part `name`; what is wrong is told to `reader` by `prefix` and field."""
    if typed.empty:
        return None
    known = len(reader.faults)
    voc, water, exempt = (
        reader.number(f"{prefix}{key}", text, "g/L", _FROM_ZERO, _MOST_G_L, too=_IN_POUNDS)
        for key, text in (("voc", typed.voc), ("water", typed.water), ("exempt", typed.exempt))
    )
    exempt_density = reader.number(f"{prefix}exempt_density", typed.exempt_density, "g/mL", *DENSITY)
    if len(reader.faults) > known:
        return None
    if voc is None:
        reader.faults.append((f"{prefix}voc", "Say how much VOC is in it too: 0 where there is none."))
        return None
    read = Voc(voc_g_L=voc, water_g_L=water or 0.0, exempt_g_L=exempt or 0.0, exempt_density_g_mL=exempt_density)
    try:
        read.contents(name, 1, density_g_mL)
    except NotEmissions as wrong:
        reader.faults.append((f"{prefix}voc", str(wrong)))
    return read


def voc_told(typed: str) -> str:
    """Say in g/L what was typed in pounds per gallon, else nothing."""
    try:
        value, unit = read_number(typed)
    except NotANumber:
        return ""
    factor = _IN_POUNDS.get(unit.lower())
    return f"{figure(value * factor)} g/L" if factor is not None and value >= 0 else ""


# --- shelf life ------------------------------------------------------------------------------------


def read_shelf(text: str) -> timedelta:
    """Read a shelf life: as `read_span`, and in months or years as sheets give it.

    A year is 365 days and a month a twelfth of it, in whole days and never longer, for it is a deadline.

    Raises:
        NotASpan: no length of time, or one of ten years and more.
    """
    try:
        value, rest = read_number(text)
    except NotANumber:
        value, rest = math.nan, ""
    if rest.lower() == "m":
        raise NotASpan(f"“{shorten(text)}” can be read two ways: write {value:g} months or {value:g} min.")
    found = _MONTHS.fullmatch(rest)
    if found is None:
        try:
            return read_span(text)
        except NotASpan as wrong:
            if rest or math.isnan(value):
                raise
            raise NotASpan(f"“{shorten(text)}” of what? {_HOW_LONG}") from wrong
    months = value * 12 if found[1].lower().startswith("y") else value
    if not 0 <= months <= _MOST_MONTHS:
        raise NotASpan(f"“{shorten(text)}” is no shelf life. {_HOW_LONG}")
    return _months(months)


def _months(months: float) -> timedelta:
    return timedelta(days=math.floor(months * _YEAR_DAYS / 12 + 1e-9))


def write_shelf(span: timedelta) -> str:
    """Write a shelf life so that `read_shelf` reads exactly the same: `12 months`, else as `write_span`."""
    months = round(span / timedelta(days=_YEAR_DAYS) * 12)
    if 0 < months <= _MOST_MONTHS and _months(months) == span:
        return f"{months} month{'' if months == 1 else 's'}"
    return write_span(span)


def shelf_told(typed: str) -> str:
    """Say how a shelf life was understood, or nothing where it can't be read."""
    try:
        return write_shelf(read_shelf(typed))
    except NotASpan:
        return ""


def read_keeps(reader: Reader, key: str, typed: str) -> timedelta | None:
    """Read a shelf life of the card; what is wrong is told to `reader`."""
    if not typed.strip():
        return None
    try:
        return read_shelf(typed)
    except NotASpan as wrong:
        reader.faults.append((key, str(wrong)))
        return None


def read_shelf_lives(
    reader: Reader, prefix: str, unopened: str, opened: str
) -> tuple[timedelta | None, timedelta | None]:
    """Read how long one part keeps, unopened and opened; what is wrong is told to `reader` by `prefix` and field."""
    keeps = read_keeps(reader, f"{prefix}keeps", unopened)
    keeps_opened = read_keeps(reader, f"{prefix}keeps_opened", opened)
    if keeps is not None and keeps_opened is not None and keeps_opened > keeps:
        reader.faults.append((f"{prefix}keeps_opened", "It keeps longer opened than unopened: look at both."))
    return keeps, keeps_opened


# --- spray viscosity -------------------------------------------------------------------------------


def write_flow(reduction: Reduction) -> tuple[str, str]:
    """Write the spray viscosity as it would be typed: seconds, cup."""
    return figure_of(reduction.flow_s), reduction.flow_cup or ""


def read_flow(reader: Reader, prefix: str, typed: tuple[str, str]) -> tuple[float | None, str | None]:
    """Read a spray viscosity, both of it or nothing; what is wrong is told to `reader`."""
    known = len(reader.faults)
    seconds = reader.number(f"{prefix}seconds", typed[0], "s", 0, 10_000)
    cup = clean(typed[1])[:LONGEST_NAME] or None
    if cup is not None:
        try:
            read_cup(cup)
        except NotAFlowCup as wrong:
            reader.faults.append((f"{prefix}cup", str(wrong)))
    if len(reader.faults) == known and (seconds is None) is not (cup is None):
        if cup is None:
            reader.faults.append((f"{prefix}cup", "Say out of which cup: ISO 4 mm, DIN 4, Ford 4, Zahn 2."))
        else:
            reader.faults.append((f"{prefix}seconds", "Say how many seconds it takes out of this cup."))
    return seconds, cup


def cup_told(typed: str) -> str:
    """Say which flow cup was understood, or nothing where it is none."""
    try:
        return read_cup(typed).name
    except NotAFlowCup:
        return ""


# --- what may lie directly under it ----------------------------------------------------------------

_MOST_OVER = 20


def write_over(ids: Sequence[str], names: Mapping[str, str]) -> str:
    """Write the cards a product may only go over, by name where `names` (by id) holds one alone of that name."""
    return "; ".join(_name_or_id(card_id, names) for card_id in ids)


def _name_or_id(card_id: str, names: Mapping[str, str]) -> str:
    name = clean(names.get(card_id, ""))
    alone = [n.casefold() for n in map(clean, names.values())].count(name.casefold()) == 1
    return name if name and ";" not in name and alone else card_id


def read_over(reader: Reader, typed: str, names: Mapping[str, str], before: Sequence[str]) -> tuple[str, ...]:
    """Read the cards a product may only go over, by name or id, with `;` between; what is wrong is told to `reader`."""
    found: list[str] = []
    for part in (clean(piece) for piece in typed.split(";")):
        if not part:
            continue
        called = [card_id for card_id, name in names.items() if clean(name).casefold() == part.casefold()]
        if part in before or part in names:
            called = [part]
        if len(called) == 1:
            found += [card_id for card_id in called if card_id not in found]
        elif called:
            said = say(
                "Several cards are called “{name}”: write {ids}.", name=shorten(part), ids=" / ".join(called[:3])
            )
            reader.faults.append(("only_over", said))
        else:
            said = say("“{name}” is no card of yours: make its card first, or leave it out here.", name=shorten(part))
            reader.faults.append(("only_over", said))
    if len(found) > _MOST_OVER:
        reader.faults.append(("only_over", say("These are too many: {n} at most.", n=_MOST_OVER)))
    return tuple(found[:_MOST_OVER])
