"""What paint costs: amounts at a price per mL, and what of it was thrown away.

Plain sums, in whatever currency the prices are in; only arithmetic, so that no source is needed.
"""

import math
from collections.abc import Iterable


class NotAPrice(ValueError):
    """No price comes of these figures; the message says what to write instead."""


def per_mL(price: float, full_mL: float) -> float:
    """Say what 1 mL costs out of a can that cost `price` and held `full_mL`.

    Raises:
        NotAPrice: a price below zero or that is no number, or a can that held nothing.
    """
    if not (math.isfinite(price) and price >= 0):
        raise NotAPrice("A price is a number, zero or more: write what the can cost.")
    if not (math.isfinite(full_mL) and full_mL > 0):
        raise NotAPrice("A can that holds nothing has no price per mL: write how much it held when full.")
    return price / full_mL


def cost(amounts: Iterable[tuple[float, float | None]]) -> float | None:
    """Sum up amounts (mL), each with its price per mL; None where something was poured that has no price."""
    poured = [(mL, price) for mL, price in amounts if mL > 0]
    priced = [mL * price for mL, price in poured if price is not None]
    return math.fsum(priced) if len(priced) == len(poured) else None


def wasted(left_mL: float, total_mL: float, cup_cost: float) -> float:
    """Say what `left_mL` of a cup cost, at its mean price; no more is wasted than the `total_mL` that was in it.

    Raises:
        NotAPrice: an amount below zero or that is no number.
    """
    if not (math.isfinite(left_mL) and left_mL >= 0 and math.isfinite(total_mL) and total_mL >= 0):
        raise NotAPrice("An amount is a number, zero or more: write how much was thrown away.")
    return cup_cost * (min(left_mL, total_mL) / total_mL) if total_mL > 0 else 0.0
