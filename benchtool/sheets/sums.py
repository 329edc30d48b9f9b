"""Answers to single sums, as values and as text: how much to mix, flow cups, and emissions."""

from collections.abc import Iterator
from dataclasses import dataclass

from benchtool.sheets.values import Values, plain, with_why
from benchtool.trade.emissions import LOCAL_RULES, Contents, Emissions, against_limit
from benchtool.trade.film import NotACoat, Sized, notch_words
from benchtool.trade.flow import CUPS, FlowCup, OutOfRange, against, between_words, notes, temperature_words
from benchtool.trade.numbers import figure, pour_figure

# --- how much to mix -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeSheet:
    """An area to paint and what it takes. `gun` is named where the transfer is only what is usual for it."""

    sized: Sized
    area_m2: float
    coats: int
    solids_percent: float
    transfer_percent: float
    thinned_percent: float
    gun: str = ""

    @property
    def wet_um(self) -> float:
        """One coat as it is sprayed: with its reducer where there is any."""
        return self.sized.wet_thinned_um

    @property
    def practical_m2_per_L(self) -> float:
        """What a litre of unthinned paint covers with one coat, after what misses the piece."""
        return self.sized.spread_m2_per_L * self.transfer_percent / 100

    @property
    def gauge(self) -> str:
        """How a notched gauge reads in one coat as it is sprayed."""
        try:
            return notch_words(self.wet_um)
        except NotACoat as fault:  # thinner than a float can hold
            return str(fault)

    @property
    def notes(self) -> tuple[str, ...]:
        """What a reader of the amounts should know about them."""
        if self.gun:
            return (f"{self.transfer_percent:g} % is only a usual figure for the {self.gun}: set your own.",)
        if self.transfer_percent >= 100:
            return ("This counts on every drop landing on the piece: name the gun, or what of it lands.",)
        return ()


def size_answer(sheet: SizeSheet) -> Values:
    """Give the spread (m2 a litre), the films (um) and the amounts (mL); `wet_um` is the film as it is sprayed."""
    sized = sheet.sized
    values: Values = {
        "spread_m2_per_L": sized.spread_m2_per_L,
        "wet_um": sheet.wet_um,
        "paint_mL": sized.paint_mL,
        "ready_mL": sized.ready_mL,
        "practical_m2_per_L": sheet.practical_m2_per_L,
        "wet_unthinned_um": sized.wet_um,
        "dry_um": sized.dry_um,
        "total_dry_um": sized.total_dry_um,
        "reducer_mL": sized.reducer_mL,
        "loss_mL": sized.loss_mL,
        "area_m2": sheet.area_m2,
        "coats": sheet.coats,
        "solids_percent": sheet.solids_percent,
        "transfer_percent": sheet.transfer_percent,
        "thinned_percent": sheet.thinned_percent,
        "gauge": sheet.gauge,
        "notes": list(sheet.notes),
    }
    return with_why(values, [])


def size_text(sheet: SizeSheet) -> str:
    """Say how much to mix and how thick it lies."""
    return "\n".join(_size_lines(sheet)) + "\n"


def _size_lines(sheet: SizeSheet) -> Iterator[str]:
    sized = sheet.sized
    thinned = sheet.thinned_percent > 0
    coats = "1 coat" if sheet.coats == 1 else f"{sheet.coats} coats"
    of = f": {pour_figure(sized.paint_mL)} mL of paint and {pour_figure(sized.reducer_mL)} mL of reducer"
    yield f"Mix {pour_figure(sized.ready_mL)} mL, ready to spray{of if thinned else ''}."
    yield f"That is for {figure(sheet.area_m2)} m² in {coats}, with {figure(sheet.transfer_percent)} % landing on it."
    was = f" ({figure(sized.wet_um)} µm before reducing)" if thinned else ""
    yield f"Each coat is {figure(sheet.wet_um)} µm wet{was} and {figure(sized.dry_um)} µm dry."
    if sheet.coats > 1:
        yield f"All coats together are {figure(sized.total_dry_um)} µm dry."
    yield f"On a notched gauge: {sheet.gauge}"
    yield (
        f"A litre covers {figure(sized.spread_m2_per_L)} m² at that film with no loss, "
        f"and {figure(sheet.practical_m2_per_L)} m² as it is sprayed."
    )
    yield from sheet.notes


# --- flow cups -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowSheet:
    """One reading, or one viscosity, in a flow cup. `fault` says why a figure is None.

    `seconds` is the time in `to`, the cup asked for: the cup itself where no other is.
    """

    cup: FlowCup | None
    typed_s: float | None
    to: FlowCup | None
    viscosity_mm2_s: float | None
    seconds: float | None
    fault: str = ""
    advice: str = ""
    warmth: str = ""
    notes: tuple[str, ...] = ()

    @property
    def in_range(self) -> bool:
        """Whether every cup could be read there."""
        return not self.fault

    @property
    def others(self) -> tuple[tuple[FlowCup, float], ...]:
        """Every cup that can be read at this viscosity, with its seconds."""
        value = self.viscosity_mm2_s
        if value is None:
            return ()
        timed = [(cup, cup.seconds(value, strict=False)) for cup in CUPS.values()]
        return tuple((cup, seconds) for cup, seconds in timed if cup.reads(seconds))


def read_flow(
    cup: FlowCup,
    seconds: float,
    *,
    to: FlowCup | None = None,
    degC: float | None = None,
    wanted_s: float | None = None,
    gun: str = "gun",
) -> FlowSheet:
    """Turn `seconds` in `cup` into a viscosity, and into seconds in `to`.

    Raises:
        OutOfRange: a time that is none. One that is only outside the cup's range is told in the sheet.
    """
    advice = against(cup, seconds, wanted_s, gun) if wanted_s is not None else ""
    found, other, fault, said = None, None, "", notes(cup, seconds)
    try:
        found = cup.viscosity(seconds)
        other = to.seconds(found) if to is not None else seconds
        if to is not None and to is not cup:
            said = (between_words(cup, seconds, to), *said)
    except OutOfRange as out:
        if not seconds > 0:
            raise
        fault = str(out)
    return FlowSheet(
        cup=cup,
        typed_s=seconds,
        to=to or cup,
        viscosity_mm2_s=found,
        seconds=other,
        fault=fault,
        advice=advice,
        warmth=temperature_words(cup, degC) if degC is not None else "",
        notes=said,
    )


def flow_of(viscosity_mm2_s: float, to: FlowCup | None) -> FlowSheet:
    """Turn a viscosity (mm2/s) into seconds in `to`; without a cup, only say which cups can be read at it.

    Raises:
        OutOfRange: a viscosity that is none. One that is only outside the cup's range is told in the sheet.
    """
    seconds, fault = None, ""
    try:
        for cup in [to] if to is not None else CUPS.values():
            seconds = cup.seconds(viscosity_mm2_s, strict=to is not None)
    except OutOfRange as out:
        if not viscosity_mm2_s > 0:
            raise
        fault = str(out)
    sheet = FlowSheet(
        cup=None,
        typed_s=None,
        to=to,
        viscosity_mm2_s=viscosity_mm2_s,
        seconds=seconds if to is not None else None,
        fault=fault,
        notes=notes(to, seconds) if to is not None and seconds is not None else (),
    )
    if to is None and not sheet.others:
        return FlowSheet(
            cup=None,
            typed_s=None,
            to=None,
            viscosity_mm2_s=viscosity_mm2_s,
            seconds=None,
            fault=f"No cup known here can be read at {figure(viscosity_mm2_s)} mm²/s.",
        )
    return sheet


def flow_answer(sheet: FlowSheet) -> Values:
    """Give the viscosity (mm2/s) and the seconds in the cup asked for; None where no cup can be read there."""
    why = [sheet.fault] if sheet.fault else []
    if sheet.to is None:
        why.append("no cup is named")
    if sheet.cup is None:
        why.append("no time was typed")
    values: Values = {
        "viscosity_mm2_s": sheet.viscosity_mm2_s,
        "seconds": sheet.seconds,
        "in_range": sheet.in_range,
        "cup": sheet.to.name if sheet.to is not None else None,
        "from_cup": sheet.cup.name if sheet.cup is not None else None,
        "from_seconds": sheet.typed_s,
        "cups": [{"cup": cup.name, "seconds": seconds} for cup, seconds in sheet.others],
        "advice": sheet.advice,
        "temperature": sheet.warmth,
        "notes": list(sheet.notes),
    }
    return with_why(values, why)


def flow_text(sheet: FlowSheet) -> str:
    """Say what a flow cup's seconds mean."""
    return "\n".join(_flow_lines(sheet)) + "\n"


def _flow_lines(sheet: FlowSheet) -> Iterator[str]:
    value = sheet.viscosity_mm2_s
    if sheet.fault:
        yield sheet.fault
    elif sheet.cup is not None and sheet.typed_s is not None and value is not None:
        yield f"{figure(sheet.typed_s)} s in {sheet.cup.name} is {figure(value)} mm²/s at {sheet.cup.degC:g} °C."
    elif sheet.to is not None and sheet.seconds is not None and value is not None:
        yield f"{figure(value)} mm²/s is {figure(sheet.seconds)} s in {sheet.to.name} at {sheet.to.degC:g} °C."
    if sheet.to is None and value is not None:
        for cup, seconds in sheet.others:
            yield f"{figure(value)} mm²/s is {figure(seconds)} s in {cup.name} at {cup.degC:g} °C."
    if sheet.advice:
        yield sheet.advice
    if sheet.warmth:
        yield sheet.warmth
    yield from sheet.notes


# --- emissions -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class VocSheet:
    """The emissions of a mix and the limit (g/L) that the painter goes by, None for none."""

    contents: tuple[Contents, ...]
    found: Emissions
    limit_g_L: float | None = None

    @property
    def within(self) -> bool | None:
        """Whether the mix keeps the limit; None where there is no limit or no figure to hold against it."""
        value = self.found.regulatory_g_per_L
        if self.limit_g_L is None or value is None:
            return None
        return value <= self.limit_g_L * (1 + 1e-9)

    @property
    def words(self) -> str:
        """How the mix stands against the limit."""
        return against_limit(self.found, self.limit_g_L) if self.limit_g_L is not None else LOCAL_RULES


def voc_answer(sheet: VocSheet) -> Values:
    """Give the VOC of all of the mix and of the mix less water and exempt compounds, in g/L and in lb/US gal."""
    found = sheet.found
    why = [found.why] if found.why else []
    values: Values = {
        "actual_g_per_L": found.actual_g_per_L,
        "regulatory_g_per_L": found.regulatory_g_per_L,
        "actual_lb_per_gal": found.actual_lb_per_gal,
        "regulatory_lb_per_gal": found.regulatory_lb_per_gal,
        "voc_g": found.voc_g,
        "total_mL": found.total_mL,
        "parts": [{"name": plain(c.name), "mL": c.mL, "actual_g_per_L": c.voc_g_L} for c in sheet.contents],
        "words": sheet.words,
        "notes": list(found.notes),
    }
    if sheet.limit_g_L is not None:
        values |= {"limit_g_per_L": sheet.limit_g_L, "within": sheet.within}
    return with_why(values, why)


def voc_text(sheet: VocSheet) -> str:
    """Say how much VOC the mix holds."""
    return "\n".join(_voc_lines(sheet)) + "\n"


def _voc_lines(sheet: VocSheet) -> Iterator[str]:
    found = sheet.found
    yield f"A mix of {pour_figure(found.total_mL)} mL holds {figure(found.voc_g)} g of VOC."
    yield f"As it is: {_both(found.actual_g_per_L, found.actual_lb_per_gal)}."
    if found.regulatory_g_per_L is None or found.regulatory_lb_per_gal is None:
        yield f"Less water and exempt compounds there is no figure: {found.why}."
    else:
        yield f"Less water and exempt compounds: {_both(found.regulatory_g_per_L, found.regulatory_lb_per_gal)}."
    yield sheet.words
    yield from (plain(note) for note in found.notes)


def _both(g_per_L: float, lb_per_gal: float) -> str:
    return f"{figure(g_per_L, 4)} g/L ({figure(lb_per_gal)} lb/US gal)"


# --- units ---------------------------------------------------------------------------------------------


def convert_answer(value: float, unit: str, understood: str) -> Values:
    """Give an amount in another unit, and what was understood of it."""
    return with_why({"value": value, "unit": unit, "understood": understood, "guess": "guess" in understood}, [])


def convert_text(value: float, unit: str, understood: str) -> str:
    """Say an amount in another unit."""
    return f"{understood}: {figure(value, 6)} {unit}\n"
