"""Mending a cup as a small linear program, and the smallest sum under a few straight-line limits that solves it."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from benchtool.trade.mixing import NotAShare, Part, check_pours, fractions, measured_by, size_in_cup
from benchtool.trade.numbers import shorten

_PIVOT = 1e-9
_SHORT = 1e-12
_TIE = 1e-13
_MOST_STEPS = 20_000
_HAIR = 1e-11
_NOISE = 1e-9
MOST_TIMES = 1e6
"""A part that is off by more than so many times what it is allowed has nothing to be measured by."""
_FAVOUR = 1e-10
"""Of additions that are equally small the one is taken that asks for least of each part's own share: rather
another hundredth of the base than the same hundredth of activator, which nobody can measure."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mending:
    """A cup to be mended as rows of a linear program, scaled so that a part on target is a figure near 1.

    The unknowns are the additions to the parts that have a share, each in units of that share of `scale_mL`.
    `mixes` has, for each part that is measured by others: its place, how much each used part weighs in what it
    is measured by, and how much of that is there without any addition. `limits` are the cup and the lots.
    """

    have: list[float]
    share: tuple[float, ...]
    used: list[int]
    scale_mL: float
    mixes: list[tuple[int, list[float], float]]
    limits: list[tuple[list[float], float]]

    @classmethod
    def of(
        cls,
        parts: Sequence[Part],
        poured_mL: Mapping[str, float],
        room_mL: float | None,
        left_mL: Mapping[str, float],
    ) -> "Mending":
        """Write the rows of a cup that holds `poured_mL`, of at most `room_mL`, with `left_mL` of each lot left.

        Raises:
            NotAShare: as `check_pours`, or a room, rest of a lot, pour or tolerance that is none.
        """
        share = fractions(parts)
        check_pours(parts, poured_mL)  # for what it refuses
        have = amounts_in_cup(parts, poured_mL)
        if room_mL is not None and not room_mL > 0:
            raise NotAShare(f"A cup can't hold “{room_mL:g}” mL: write how much it holds.")
        for name, mL in left_mL.items():
            if not mL >= 0:
                raise NotAShare(f"“{mL:g}” mL of {shorten(name)} can't be left: write how much there is.")
        used = [i for i, f in enumerate(share) if f > 0]
        in_cup = math.fsum(have)
        scale = size_in_cup(share, have)
        if room_mL is not None:
            scale = min(scale, max(room_mL, in_cup))
        if scale <= 0:
            return cls(have=have, share=share, used=used, scale_mL=0.0, mixes=[], limits=[])
        mixes = []
        for i in used:
            counts = measured_by(parts, i)
            if list(counts) == [i]:
                continue
            reference = math.fsum(share[j] * count for j, count in counts.items())
            there = math.fsum(have[j] * count for j, count in counts.items()) / (reference * scale)
            mixes.append((i, [share[j] * counts.get(j, 0.0) / reference for j in used], there))
        limits = []
        if room_mL is not None and math.isfinite(room_mL):
            room = max(0.0, room_mL * (1 + _HAIR) - in_cup)
            limits.append(([share[j] for j in used], room / scale))
        for k, j in enumerate(used):
            left = left_mL.get(parts[j].name, math.inf)
            if math.isfinite(left):
                limits.append(
                    ([float(k == other) for other in range(len(used))], left * (1 + _HAIR) / (share[j] * scale))
                )
        return cls(have=have, share=share, used=used, scale_mL=scale, mixes=mixes, limits=limits)

    def additions(self, allowed: Callable[[int], float]) -> list[float] | None:
        """Give the smallest additions (mL) with each part `allowed` (a fraction of its share) off; None if none do."""
        rows, bounds = [row for row, _ in self.limits], [bound for _, bound in self.limits]
        for i, weights, there in self.mixes:
            of_its_share = self.have[i] / (self.share[i] * self.scale_mL)
            for side in (1, -1):
                if side < 0 and allowed(i) >= 1:
                    continue  # even none of it would be allowed
                most = 1 + side * allowed(i)
                row = [side * (float(i == j) - most * w) for j, w in zip(self.used, weights, strict=True)]
                bound = side * (most * there - of_its_share)
                size = max(1.0, *map(abs, row))
                rows.append([x / size for x in row])
                bounds.append(bound / size)
        found = least([self.share[j] + _FAVOUR for j in self.used], rows, bounds)
        if found is None:
            return None
        add = [0.0] * len(self.have)
        for j, times in zip(self.used, found, strict=True):
            add[j] = times * self.share[j] * self.scale_mL if times > _NOISE else 0.0
        return add

    def least_worst(
        self, most: Sequence[float], allowed: Mapping[int, float]
    ) -> tuple[list[float], list[float]] | None:
        """Find how little of what they are `allowed` the worst of some parts can use up, none being off by over `most`.

        Both are fractions of a part's share, `allowed` by place in the recipe and above zero. Gives what each part
        may be off from then on, and the smallest additions (mL) to it; None where nothing keeps to `most`.
        """

        def limits(times: float) -> list[float]:
            return [min(m, times * allowed[i]) if i in allowed else m for i, m in enumerate(most)]

        def reach(times: float) -> list[float] | None:
            return self.additions(limits(times).__getitem__)

        found = reach(0.0)
        if found is not None:
            return limits(0.0), found
        low, high = 0.0, 1.0
        while (found := reach(high)) is None:
            high *= 10
            if high > MOST_TIMES * 10:
                return None
        while high - low > 1e-10 * high:
            middle = (low + high) / 2
            closer = reach(middle)
            if closer is None:
                low = middle
            else:
                high, found = middle, closer
        return limits(high), found


def amounts_in_cup(parts: Sequence[Part], poured_mL: Mapping[str, float]) -> list[float]:
    """Give what is in the cup (mL) in recipe order.

    Raises:
        NotAShare: an amount or a tolerance that is none.
    """
    for name, mL in poured_mL.items():
        if not (math.isfinite(mL) and mL >= 0):
            raise NotAShare(f"“{mL:g}” mL of {shorten(name)} can't have been poured: write how much is in the cup.")
    for part in parts:
        if not (math.isfinite(part.allowed) and part.allowed >= 0):
            raise NotAShare(f"{part.name} can't be off by “{part.allowed:g}”: write a tolerance such as 10 %.")
    return [poured_mL.get(part.name, 0.0) for part in parts]


def least(costs: Sequence[float], rows: Sequence[Sequence[float]], bounds: Sequence[float]) -> list[float] | None:
    """Find y >= 0 with every `rows[i]`·y <= `bounds[i]` and the smallest `costs`·y; None where there is none.

    No cost may be below zero: then y = 0 is already the cheapest, and only limits it breaks are left to be
    mended, one a step (the dual simplex method with Bland's rule, which can't run in a circle; any textbook of
    linear programming). Meant for some dozens of rows whose figures are near 1: the caller scales them.
    """
    n = len(costs)
    # One column for each variable held at zero, the last for the limits; the last row holds what each costs.
    table = [[*row, bound] for row, bound in zip(rows, bounds, strict=True)]
    table.append([*costs, 0.0])
    held = list(range(n))
    free = list(range(n, n + len(rows)))
    for _ in range(_MOST_STEPS):
        short = [r for r, row in enumerate(table[:-1]) if row[n] < -_SHORT]
        if not short:
            found = dict(zip(free, (row[n] for row in table), strict=False))
            return [max(0.0, found.get(j, 0.0)) for j in range(n)]
        leaving = min(short, key=lambda r: free[r])
        entering = _entering(table[leaving], table[-1], held)
        if entering is None:
            return None
        _pivot(table, leaving, entering)
        free[leaving], held[entering] = held[entering], free[leaving]
    return None


def _entering(row: Sequence[float], costs: Sequence[float], held: Sequence[int]) -> int | None:
    """Choose the variable that mends `row` at the least cost; of equals the first."""
    ratios = {c: costs[c] / -row[c] for c in range(len(held)) if row[c] < -_PIVOT}
    if not ratios:
        return None
    cheapest = min(ratios.values()) + _TIE
    return min((c for c, ratio in ratios.items() if ratio <= cheapest), key=lambda c: held[c])


def _pivot(table: list[list[float]], leaving: int, entering: int) -> None:
    pivot = table[leaving][entering]
    row = [x / pivot for x in table[leaving]]
    row[entering] = 1 / pivot
    for r, other in enumerate(table):
        factor = other[entering]
        if r != leaving and factor:
            other[entering] = 0.0
            table[r] = [a - factor * b for a, b in zip(other, row, strict=True)]
    table[leaving] = row
    last = len(row) - 1
    table[-1][:last] = [max(0.0, cost) for cost in table[-1][:last]]
