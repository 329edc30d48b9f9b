"""What each cup of a job cost and what of it was thrown away, by the lots it was poured from."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from benchtool.job.state import Mix, State
from benchtool.trade.cost import cost, wasted

_NONE: Mapping[str, float] = MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True)
class CupCost:
    """One cup. `cost` is None where a part has no lot or no price, and `why` says which.

    `at_least` is what the priced parts cost. `waste_mL` is what was thrown away, None where nobody said;
    `waste` is its cost at the cup's mean price, None where either is not known.
    """

    mix: str
    poured_mL: float
    cost: float | None
    at_least: float
    waste_mL: float | None
    waste: float | None
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class JobCost:
    """All cups of a job. `cost` is None where that of any cup is, and `why` says why.

    `waste_mL` is what was thrown away as far as it was said; `waste` its cost, None where a part of it has none.
    """

    cups: tuple[CupCost, ...]
    cost: float | None
    at_least: float
    waste_mL: float
    waste: float | None
    why: str = ""


def cup_cost(state: State, mix: Mix, prices: Mapping[str, float] = _NONE) -> CupCost:
    """Reckon what a cup cost. `prices` (per mL, by lot) stand in where the job's own copy of a lot has none."""
    priced: list[tuple[float, float | None]] = []
    why = ""
    for pour in mix.pours:
        price = _price(state, pour.lot, prices)
        priced.append((pour.mL, price))
        if price is None and pour.mL > 0 and not why:
            why = _why(state, pour.part, pour.lot)
    total = cost(priced)
    left = mix.left_mL
    if left is not None:
        left = min(left, mix.total_mL)
    return CupCost(
        mix=mix.id,
        poured_mL=mix.total_mL,
        cost=total,
        at_least=cost(x for x in priced if x[1] is not None) or 0.0,
        waste_mL=left,
        waste=None if left is None or total is None else wasted(left, mix.total_mL, total),
        why=why,
    )


def job_cost(state: State, prices: Mapping[str, float] = _NONE) -> JobCost:
    """Reckon what all cups of a job cost; `prices` as in `cup_cost`."""
    cups = tuple(cup_cost(state, mix, prices) for mix in state.mixes.values())
    costs = [c.cost for c in cups if c.cost is not None]
    thrown = [c for c in cups if c.waste_mL is not None]
    wastes = [c.waste for c in thrown if c.waste is not None]
    return JobCost(
        cups=cups,
        cost=math.fsum(costs) if len(costs) == len(cups) else None,
        at_least=math.fsum(c.at_least for c in cups),
        waste_mL=math.fsum(c.waste_mL or 0.0 for c in thrown),
        waste=math.fsum(wastes) if len(wastes) == len(thrown) else None,
        why=next((c.why for c in cups if c.why), ""),
    )


def _price(state: State, lot_id: str | None, prices: Mapping[str, float]) -> float | None:
    lot = state.lots.get(lot_id or "")
    price = lot.price_per_mL if lot is not None else None
    return price if price is not None else prices.get(lot_id or "")


def _why(state: State, part: str, lot_id: str | None) -> str:
    lot = state.lots.get(lot_id or "")
    if lot is None:
        return f"{part} was poured from no lot: pick the can it comes from before you pour."
    return f"The can of {lot.words} has no price: write what it cost."
