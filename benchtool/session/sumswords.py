"""The answers of the sums page in a painter's words: one figure large, what goes with it, and small notes."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from benchtool.job.shop import Shop
from benchtool.session.owned import money
from benchtool.session.sums import POT_LIFE_WORDS, Flow, Life
from benchtool.session.sumsjob import Amounts, Costs, job_words
from benchtool.sheets.sums import SizeSheet, VocSheet
from benchtool.trade.numbers import figure, span_words
from benchtool.trade.potlife import CupPlan
from benchtool.trade.units import VolumeUnit, volume_words

MOST_CUPS_SHOWN = 12
"""More cups than this are a day's work: the rest is only counted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """An answer: `figure` stands large, `more` below it, `notes` small under both. `wrong` asks for hands."""

    figure: str
    more: str = ""
    notes: str = ""
    wrong: bool = False


def _lines(*said: str) -> str:
    return "\n".join(line for line in said if line)


def size_told(sheet: SizeSheet, unit: VolumeUnit, film: str) -> Told:
    """Say how much to mix and how it lies; `film` is the sentence about the whole stack."""
    sized = sheet.sized
    parts = ""
    wet = f"Each coat lies {figure(sized.wet_um)} µm wet."
    if sheet.thinned_percent > 0:
        parts = f"{volume_words(sized.paint_mL, unit)} of paint and {volume_words(sized.reducer_mL, unit)} of reducer."
        wet = f"Each coat lies {figure(sized.wet_thinned_um)} µm wet as sprayed, {figure(sized.wet_um)} µm unreduced."
    spread = (
        f"A litre of paint covers {figure(sized.spread_m2_per_L)} m² with one coat if none is lost, "
        f"{figure(sheet.practical_m2_per_L)} m² as it is sprayed."
    )
    loss = f" and {volume_words(sized.loss_mL, unit)} that stays in cup and hose" if sized.loss_mL > 0 else ""
    area = f"For {figure(sheet.area_m2)} m²{loss}."
    return Told(
        figure=volume_words(sized.ready_mL, unit),
        more=_lines(parts, wet, f"Comb gauge: {sheet.gauge[:1].lower()}{sheet.gauge[1:]}", film),
        notes=_lines(f"{area} {spread}", *sheet.notes),
    )


def life_told(life: Life, unit: VolumeUnit, now: datetime, air: str = "") -> Told:
    """Say what can be sprayed in time, and when each cup is to be stirred and sprayed if it is begun at `now`.

    `air` is the sentence on what this air did to the times of the card, where it did anything.
    """
    notes = f"{air} Changing cups is taken to cost no time." if air else POT_LIFE_WORDS
    coats = "1 coat" if life.coats == 1 else f"{life.coats} coats"
    flash = f", {span_words(life.flash_s)} apart," if life.coats > 1 and life.flash_s else ""
    what = f"can be sprayed in {coats}{flash} within its pot life."
    if life.amount_mL is None:
        return Told(figure=volume_words(life.largest_mL, unit), more=what, notes=notes)
    made, count = volume_words(life.amount_mL, unit), len(life.cups)
    split = f"{made} goes into {count} cups. Begun now:" if count > 1 else ""
    shown = [cup_words(cup, unit, now, of=count) for cup in life.cups[:MOST_CUPS_SHOWN]]
    rest = len(life.cups) - len(shown)
    return Told(
        figure=volume_words(life.largest_mL, unit),
        more=_lines(what, split, *shown, f"and {rest} more cups." if rest else ""),
        notes=notes,
        wrong=len(life.cups) > 1,
    )


def cup_words(cup: CupPlan, unit: VolumeUnit, now: datetime, *, of: int) -> str:
    """Say when one cup is stirred and sprayed: how long from now, and at what time of the clock."""

    def at(seconds: float) -> str:
        when = (now + timedelta(seconds=seconds)).astimezone()
        day = "" if when.date() == now.astimezone().date() else f"{when:%a} "
        return f"{day}{when:%H:%M}"

    begin = "now" if cup.mix_at_s < 1 else f"after {span_words(cup.mix_at_s)}"
    coats = f"coat {cup.coats[0]}" if len(cup.coats) == 1 else f"coats {cup.coats[0]} to {cup.coats[-1]}"
    held = volume_words(cup.mL, unit)
    named = f"Cup {cup.number}: {held}, {coats}. Activator" if of > 1 else f"{held} in one cup: activator"
    return (
        f"{named} goes in {begin} ({at(cup.mix_at_s)}), spray {at(cup.spray_at_s)} to {at(cup.ends_s)}, "
        f"pot life ends {at(cup.pot_life_ends_s)}."
    )


def flow_told(flow: Flow) -> Told:
    """Say what a reading means, and how it stands against the card."""
    sheet = flow.sheet
    notes = _lines(sheet.warmth, *sheet.notes)
    value = sheet.viscosity_mm2_s
    figured = f"{figure(value)} mm²/s" if value is not None else "Out of range"
    if sheet.fault:
        return Told(figure=figured, more=_lines(sheet.fault, flow.against), notes=notes, wrong=True)
    more = ""
    if sheet.cup is None and sheet.to is None:
        more = "; ".join(f"{seconds:.0f} s in {cup.name}" for cup, seconds in sheet.others) + "."
    elif sheet.to is not None and sheet.seconds is not None and sheet.to is not sheet.cup:
        more = f"{figure(sheet.seconds)} s in {sheet.to.name}."
    return Told(figure=figured, more=_lines(more, flow.against), notes=notes)


def voc_told(sheet: VocSheet, amounts: Amounts) -> Told:
    """Say how much VOC the mix holds, and how it stands against the limit."""
    found = sheet.found
    if found.regulatory_g_per_L is None or found.regulatory_lb_per_gal is None:
        less = f"Less water and exempt compounds there is no figure: {found.why}."
    else:
        less = (
            f"Less water and exempt compounds: {figure(found.regulatory_g_per_L, 4)} g/L "
            f"({figure(found.regulatory_lb_per_gal)} lb/US gal)."
        )
    return Told(
        figure=f"{figure(found.actual_g_per_L, 4)} g/L",
        more=_lines(f"{amounts.words}, {figure(found.actual_lb_per_gal)} lb/US gal.", less, sheet.words),
        notes=_lines(*found.notes),
        wrong=sheet.within is False,
    )


def costs_told(costs: Costs, shop: Shop) -> Told:
    """Say what the cup costs by part, and the job so far."""

    def priced(value: float | None) -> str:
        return f" {money(value, shop)}" if value is not None else ", no price"

    rows = "; ".join(f"{p.name} {volume_words(p.mL, shop.unit)}{priced(p.cost)}" for p in costs.parts)
    which = "What is in the cup" if costs.poured is not None else "As planned"
    lost = f"Of it {money(costs.lost, shop)} stays in cup and hose." if costs.lost is not None else ""
    return Told(
        figure=money(costs.total, shop) if costs.total is not None else "",
        more=_lines(f"{which}: {rows}." if rows else "", lost, costs.why, job_words(costs.job, shop, costs.why)),
    )
