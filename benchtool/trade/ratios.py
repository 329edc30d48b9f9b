"""What tools and a scale are judged by alike: how far a ratio may come out, and the sizes one would type."""

import math
from collections.abc import Iterator, Mapping, Sequence

LARGEST_BATCH_ML = 5_000.0
"""Where the search for a batch that can be measured ends (judgement, no source)."""
_SIZES = ((1, 0.1), (10, 0.5), (30, 1), (100, 5), (300, 10), (1_000, 50), (LARGEST_BATCH_ML, 500))
"""The sizes one would type: up to so many mL, in steps of so many."""


def ratio_error(
    i: int, by: Mapping[int, float], target: float, mL: Sequence[float], error_mL: Sequence[float]
) -> tuple[float, float]:
    """Give how far (percent) part `i` is off its share at the marks, and at worst with every reading off.

    `by` is what it is measured by, with what a mL of each counts for, and `target` what its mL should be to
    those, as `wanted_ratio` gives it. A part that is itself in there (a share of the total) moves both sides
    by one and the same error. The worst is signed, infinite where the readings may leave nothing to measure by.
    """
    rest = sum(mL[j] * counts for j, counts in by.items() if j != i)
    slip = sum(error_mL[j] * counts for j, counts in by.items() if j != i)
    own = by.get(i, 0.0)
    return _off(mL[i], rest, own, target), worst_ratio(mL[i], error_mL[i], rest, slip, own, target)


def _off(have: float, rest: float, own: float, target: float) -> float:
    whole = rest + own * have
    return 100 * (have / whole / target - 1) if whole > 0 else math.inf


def worst_ratio(have: float, error: float, rest: float, slip: float, own: float, target: float) -> float:
    """Give the worst of `ratio_error`: `have` may be off by `error`, the `rest` it is measured by by `slip`."""
    # have / (rest + own * have) rises with have and falls with the rest: the worst lies at two of the corners.
    high = _off(have + error, max(0.0, rest - slip), own, target)
    low = _off(max(0.0, have - error), rest + slip, own, target)
    return high if high >= -low else low


def wanted_ratio(i: int, by: Mapping[int, float], shares: Sequence[float]) -> float:
    """Say what the mL of part `i` should be to what it is measured by; `shares` as `fractions` gives them."""
    whole = sum(shares[j] * counts for j, counts in by.items())
    return shares[i] / whole if whole > 0 else 0.0


def sizes(above_mL: float) -> Iterator[float]:
    """Give the sizes (mL) a painter would type, rising from above `above_mL` to `LARGEST_BATCH_ML`."""
    for until, step in _SIZES:
        count = math.floor(above_mL / step + 1e-9) + 1
        while count * step <= until * (1 + 1e-9):
            above_mL = round(count * step, 3)
            yield above_mL
            count += 1
