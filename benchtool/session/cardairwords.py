"""How what is typed of air, heat and film is understood, and what it does: words beside the fields as one types."""

from datetime import timedelta

from benchtool.job.cards import CardTime, DoublingPacing, EvaporationPacing, TablePacing, pace_model
from benchtool.session.cardair import PRINTED_IN, SPEEDS, Law, PaceText, read_pacing
from benchtool.session.cardlines import degC_told, degC_words, table_words
from benchtool.session.cardtext import TIMES
from benchtool.trade.air import Air, NotAir
from benchtool.trade.durations import NotASpan, read_span, write_span
from benchtool.trade.numbers import NotANumber, figure, read_number
from benchtool.trade.pace import SATURATED_PERCENT, Kind, Model, needed_s, time_factor

HEAT_CAUTION = (
    "Heat drives out vapour that can burn and harm. Keep to the product's safety data sheet and to what the heater "
    "and the piece are made for."
)
FAST_CAUTION = "Its vapour fills a room at once: keep to the product's safety data sheet."
"""What else to heed, short, for its sheet knows more."""

_STEP_K = 10.0
_DRY_PERCENT = 10.0
_DAMP_PERCENT = 80.0
_USUAL = EvaporationPacing()


def reference_told(typed: str) -> str:
    """Say which temperature is taken where none is typed, or the one in degF in degC."""
    return degC_told(typed) if typed.strip() else f"{_USUAL.reference_degC:g} °C is taken"


def factor_told(typed: str) -> str:
    """Say which factor is taken where none is typed."""
    return "" if typed.strip() else f"{DoublingPacing().factor:g} times is taken"


def percent_told(typed: str) -> str:
    """Say which humidity is taken where none is typed."""
    return "" if typed.strip() else f"{_USUAL.reference_percent:g} % is taken"


def speed_told(typed: str) -> str:
    """Say which speed of the air is taken where none is typed, or the one in another unit in m/s."""
    if not typed.strip():
        return f"{_USUAL.reference_m_s:g} m/s is taken"
    try:
        value, unit = read_number(typed)
    except NotANumber:
        return ""
    factor = SPEEDS.get(unit.lower())
    return f"{figure(value * factor)} m/s" if factor is not None else ""


def pace_note(time: CardTime, text: PaceText, printed: str = "") -> str:
    """Say what the air does to one time by what is typed; `printed` is that time as typed elsewhere on the card.

    Nothing where it can't be read.
    """
    pacing = read_pacing(time, text)
    if pacing is None:
        return _as_printed(time) if text.law is Law.PRINTED else ""
    if isinstance(pacing, TablePacing):
        return f"{table_words(pacing.points)}.{_beside(time, pace_model(pacing), printed)}"
    model = pace_model(pacing)
    if isinstance(pacing, EvaporationPacing):
        return _by_water(time, model, pacing)
    return _by_warmth(time, model)


def _as_printed(time: CardTime) -> str:
    return "" if time is CardTime.EVERY else "The air does not change it."


def _beside(time: CardTime, model: Model, printed: str) -> str:
    """Hold the table against the time printed elsewhere on the card."""
    field = PRINTED_IN[time]
    try:
        by_card = read_span(printed, TIMES[field].bare)
    except NotASpan:
        return "" if printed.strip() else " Its time is missing under Times: the table counts once it is there."
    needs_s = needed_s(model, time.kind, by_card.total_seconds())
    by_table = timedelta(minutes=round(needs_s / 60)) if needs_s >= 600 else timedelta(seconds=round(needs_s))
    if abs(by_table - by_card) <= by_card / 100:
        return ""
    return (
        f" At {degC_words(model.reference_degC)} that makes {write_span(by_table)}: it counts where the air is known, "
        f"and the {write_span(by_card)} under Times where it is not."
    )


def _by_warmth(time: CardTime, model: Model) -> str:
    cold, warm = model.reference_degC - _STEP_K, model.reference_degC + _STEP_K
    slower = _factor(model, cold, _DRY_PERCENT, Kind.WAIT)
    faster = _factor(model, warm, _DRY_PERCENT, Kind.DEADLINE)
    if slower is None or faster is None:
        return ""
    if slower == faster == 1:
        return "The air does not change it."
    wait = f"takes {figure(slower, 2)} times as long"
    if model.least_degC is not None and cold < model.least_degC:
        wait = "stands still"
    soon = f"is over {figure(1 / faster, 2)} times as soon"
    if time is CardTime.EVERY:
        return f"At {degC_words(cold)} a wait {wait}; at {degC_words(warm)} a pot life {soon}."
    if time.kind is Kind.WAIT:
        return f"At {degC_words(cold)} it {wait}. Warmth makes it no shorter."
    return f"At {degC_words(warm)} it {soon}. Cold makes it no longer."


def _by_water(time: CardTime, model: Model, pacing: EvaporationPacing) -> str:
    damp = max(_DAMP_PERCENT, (pacing.reference_percent + SATURATED_PERCENT) / 2)
    factor = _factor(model, pacing.reference_degC, damp, time.kind)
    if factor is None:
        return ""
    cup = " Stand and pot life stay as printed." if time is CardTime.EVERY else ""
    if time.kind is Kind.DEADLINE:
        return "It closes sooner in warmer, drier or faster air, and never later than printed."
    return (
        f"At {figure(damp, 2)} % and {degC_words(pacing.reference_degC)} it takes {figure(factor, 2)} times as long; "
        f"from {SATURATED_PERCENT:g} % on it does not dry.{cup}"
    )


def _factor(model: Model, degC: float, percent: float, kind: Kind) -> float | None:
    try:
        return time_factor(model, Air(air_degC=degC, humidity_percent=percent), kind)
    except NotAir:
        return None
