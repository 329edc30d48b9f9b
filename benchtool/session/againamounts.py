"""How much of each layer a finished job really took, and what that makes for the next one."""

import math
from dataclasses import dataclass

from benchtool.job.state import LayerState, Mix, State
from benchtool.trade.saying import say, say_n
from benchtool.trade.units import VolumeUnit, volume_words


@dataclass(frozen=True, slots=True, kw_only=True)
class Took:
    """What one layer took (mL), ready to spray, over how many coats.

    `left_known` says that what was left over is known of each of its cups: without that it may have taken less.
    """

    mL: float
    coats: int
    left_known: bool


def took(state: State, layer: LayerState) -> Took | None:
    """Say what the coats of a layer took out of their cups; None where no cup of it is logged.

    It is what was poured less what was left where that was said. A cup that several layers were sprayed from counts
    for each by its coats.
    """
    by_cup: dict[str, int] = {}
    for coat in layer.coats:
        if coat.done_at is not None and coat.mix is not None and coat.mix in state.mixes:
            by_cup[coat.mix] = by_cup.get(coat.mix, 0) + 1
    cups = [(state.mixes[m], n) for m, n in by_cup.items() if state.mixes[m].total_mL > 0]
    if not cups:
        return None
    used = [_used_mL(cup) * n / _coats_from(state, cup) for cup, n in cups]
    known = all(cup.left_mL is not None for cup, _ in cups)
    return Took(mL=math.fsum(used), coats=sum(n for _, n in cups), left_known=known)


def _used_mL(cup: Mix) -> float:
    return max(0.0, cup.total_mL - (cup.left_mL or 0.0))


def _coats_from(state: State, cup: Mix) -> int:
    every = (c for x in state.layers.values() for c in x.coats)
    return sum(c.mix == cup.id and c.done_at is not None for c in every)


@dataclass(frozen=True, slots=True, kw_only=True)
class Suggested:
    """An amount (mL) to mix for a layer, and how it comes about; `scaled` where it went by the area."""

    mL: float
    took: Took
    scaled: bool
    coats: int = 1


def suggested(state: State, layer: LayerState, area_m2: float | None) -> Suggested | None:
    """Suggest how much to mix for this layer on the next piece: what a coat took, times the coats, scaled by area.

    Without an area (m2) of either piece it is for one of the same size. None where nothing was logged.
    """
    found = took(state, layer)
    if found is None or found.mL <= 0:
        return None
    before = state.piece_of(layer).piece.area_m2
    scale = area_m2 / before if area_m2 is not None and before is not None else 1.0
    mL = found.mL / found.coats * layer.plan.coats * scale
    if not 0 < mL <= 1_000_000:
        return None
    scaled = area_m2 is not None and before is not None
    return Suggested(mL=mL, took=found, scaled=scaled, coats=layer.plan.coats)


def suggested_words(name: str, found: Suggested, unit: VolumeUnit) -> str:
    """Say a suggested amount, and what it goes by."""
    amount, used = volume_words(found.mL, unit), volume_words(found.took.mL, unit)
    if found.coats != found.took.coats:
        coats = say_n("for {n} coat", "for {n} coats", found.coats)
        on = say_n("{n} was on", "{n} were on", found.took.coats)
        amount = say("{amount} {coats} ({on} last time)", amount=amount, coats=coats, on=on)
    if not found.took.left_known:
        return say(
            "{layer}: mix about {amount}. Last time {used} was poured for it; what was left over was not said.",
            layer=name,
            amount=amount,
            used=used,
        )
    return say("{layer}: mix about {amount}. Last time it took {used}.", layer=name, amount=amount, used=used)
