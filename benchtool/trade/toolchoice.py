"""The choice of a tool and a mark for each part of a mix, and the worst that the readings can make of it.

`benchtool.trade.measuring` is the way in; this is the search behind it.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from benchtool.trade.mixing import Of, Part, fractions, measured_by
from benchtool.trade.tools import Tool, ToolKind

MOST_FILLS = 20
"""Nobody fills one tool more often for one part and keeps count (judgement, no source)."""
MOST_DROPS = 60
"""Nobody counts more drops than this (judgement, no source)."""
LARGEST_BATCH_ML = 5_000.0
"""Where the search for a batch that can be measured ends (judgement, no source)."""
_SIZES = ((1, 0.1), (10, 0.5), (30, 1), (100, 5), (300, 10), (1_000, 50), (LARGEST_BATCH_ML, 500))
"""The sizes one would type: up to so many mL, in steps of so many."""
_RESIZE = 0.05  # how much more or less paint is made where that gives handier marks
_NEW_TOOL = 0.25  # choosing: one more fill counts 1, a tool not in hand yet a quarter, the whole tolerance 1


@dataclass(frozen=True, slots=True)
class Kit:
    """A tool as the search needs it for one part, worked out once: figures in mL, marks and most in steps."""

    tool: Tool
    step: float
    marks: int
    most: int
    error: float
    each: bool  # the error comes with every step, as with drops


class Pour(NamedTuple):
    """One part at a mark: `fills` are all fills, `steps` those over all of them."""

    tool: Tool | None
    mL: float
    error: float
    fills: int
    steps: int


NOTHING = Pour(None, 0.0, 0.0, 0, 0)


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
    return _off(mL[i], rest, by.get(i, 0.0), target), _worst(mL[i], error_mL[i], rest, slip, by.get(i, 0.0), target)


def _off(have: float, rest: float, own: float, target: float) -> float:
    whole = rest + own * have
    return 100 * (have / whole / target - 1) if whole > 0 else math.inf


def _worst(have: float, error: float, rest: float, slip: float, own: float, target: float) -> float:
    # have / (rest + own * have) rises with have and falls with the rest: the worst lies at two of the corners.
    high = _off(have + error, max(0.0, rest - slip), own, target)
    low = _off(max(0.0, have - error), rest + slip, own, target)
    return high if high >= -low else low


def wanted_ratio(i: int, by: Mapping[int, float], shares: Sequence[float]) -> float:
    """Say what the mL of part `i` should be to what it is measured by; `shares` as `fractions` gives them."""
    whole = sum(shares[j] * counts for j, counts in by.items())
    return shares[i] / whole if whole > 0 else 0.0


def in_order(measured_by_of: Sequence[Mapping[int, float]], first: int) -> list[int]:
    """Put the parts in the order to work them out: what others are measured by comes before them."""
    order, left = [first], [i for i in range(len(measured_by_of)) if i != first]
    while left:
        # A ring (two shares of the total) has no first; the one that waits for the fewest opens it.
        waits = [sum(j != i and j not in order for j in measured_by_of[i]) for i in left]
        order.append(left.pop(waits.index(min(waits))))
    return order


class Choice:
    """The search for the tools of one recipe; what does not hang on the size is worked out once."""

    def __init__(self, parts: Sequence[Part], tools: Sequence[Tool]) -> None:
        self.parts = parts
        self.shares = fractions(parts)
        self.first = next(i for i, p in enumerate(parts) if p.share.of is Of.PARTS and p.share.value > 0)
        self.by = [measured_by(parts, i) for i in range(len(parts))]
        self.target = [wanted_ratio(i, by, self.shares) for i, by in enumerate(self.by)]
        self.order = in_order(self.by, self.first)
        used = {j for i, by in enumerate(self.by) for j in by if j != i}
        self.leaf = [i not in used for i in range(len(parts))]
        self.kits = [kits_for(part, tools) for part in parts]
        self.allowed = [max(100 * p.allowed * (1 + 1e-9), 1e-9) for p in parts]

    def best(self, make_mL: float, *, strict: bool = False) -> list[Pour] | None:
        """Choose a pour for each part. With `strict` only a choice with all parts within will do, else None."""
        found, found_cost = None, math.inf
        for start in _starts(self.kits[self.first], self.shares[self.first] * make_mL):
            for careful in (False, True):
                pours = self._from(start, make_mL, careful=careful, strict=strict)
                if pours is None:
                    continue
                if strict:
                    return pours
                cost, out = self._cost(pours, make_mL)
                if cost < found_cost:
                    found, found_cost = pours, cost
                if not out:
                    break
        return found

    def _from(self, start: Pour, make_mL: float, *, careful: bool, strict: bool) -> list[Pour] | None:
        """Choose the rest once the first part stands.

        `careful` takes the closest tool for each part that others are measured by, else the handiest that does.
        """
        size = start.mL / self.shares[self.first] if start.mL else make_mL
        mL = [share * size for share in self.shares]
        pours = [NOTHING] * len(mL)
        pours[self.first] = start
        mL[self.first] = start.mL
        in_hand = {start.tool}
        for i in self.order[1:]:
            if self.shares[i] <= 0:
                continue
            target, own = self.target[i], self.by[i].get(i, 0.0)
            rest = sum(mL[j] * counts for j, counts in self.by[i].items() if j != i)
            slip = sum(pours[j].error * counts for j, counts in self.by[i].items() if j != i)
            allowed, closest = self.allowed[i], careful and not self.leaf[i]
            best_out, best_cost, chosen = True, math.inf, NOTHING
            for pour in pours_of(self.kits[i], target * rest / (1 - target * own)):
                cost = abs(_worst(pour.mL, pour.error, rest, slip, own, target))
                out = cost > allowed
                if not (out or closest):
                    cost = pour.fills + cost / allowed + (0.0 if pour.tool in in_hand else _NEW_TOOL)
                if (out, cost) < (best_out, best_cost):
                    best_out, best_cost, chosen = out, cost, pour
            if strict and best_out:
                self._try_sooner(i)
                return None
            pours[i] = chosen
            mL[i] = chosen.mL
            in_hand.add(chosen.tool)
        return None if strict and False in self.judge(pours)[2] else pours

    def _try_sooner(self, i: int) -> None:
        """Put a part that failed as early as it can stand, so that the next size fails as fast."""
        before = self.order[: self.order.index(i)]
        self.order.remove(i)
        after = max(n for n, j in enumerate(before) if n == 0 or j in self.by[i])
        self.order.insert(after + 1, i)

    def _cost(self, pours: Sequence[Pour], make_mL: float) -> tuple[float, int]:
        """Say how unhandy this choice is, a part out of tolerance before all else, and how many are out."""
        _, worst_percent, within = self.judge(pours)
        cost = sum(p.fills for p in pours) + _NEW_TOOL * len({p.tool for p in pours if p.tool is not None})
        start = pours[self.first]
        if start.mL:  # a tenth less paint than asked for, or a tenth unsure, is as unhandy as one more fill
            cost += 10 * (abs(start.mL / (self.shares[self.first] * make_mL) - 1) + start.error / start.mL)
        for worst, ok, allowed in zip(worst_percent, within, self.allowed, strict=True):
            if not ok:
                cost += 1e6 if worst is None else 1e4 + 10 * min(abs(worst) / allowed, 1e4)
            elif worst is not None:
                cost += abs(worst) / allowed
        return cost, within.count(False)

    def judge(self, pours: Sequence[Pour]) -> tuple[list[float | None], list[float | None], list[bool]]:
        """Give off_percent, worst_percent and within of every part as poured."""
        mL, error = [p.mL for p in pours], [p.error for p in pours]
        lost = [share > 0 and pour.tool is None for share, pour in zip(self.shares, pours, strict=True)]
        offs: list[float | None] = []
        worsts: list[float | None] = []
        within = []
        for i, by in enumerate(self.by):
            if i == self.first or self.shares[i] <= 0 or lost[i] or any(lost[j] for j in by):
                offs.append(None)
                worsts.append(None)
                within.append(self.shares[i] <= 0 or (i == self.first and not lost[i]))
                continue
            off, worst = ratio_error(i, by, self.target[i], mL, error)
            offs.append(off)
            worsts.append(worst)
            within.append(abs(worst) <= self.allowed[i])
        return offs, worsts, within

    def smallest(self, above_mL: float) -> float | None:
        """Search for the smallest batch, of sizes one would type, that can be kept within tolerance."""
        order = list(self.order)
        for size in sizes(above_mL):
            if self.best(size, strict=True) is None:
                continue
            # The order of the search changes with it; what counts is what `measure` will find at that size.
            changed, self.order = self.order, list(order)
            pours = self.best(size)
            if pours is not None and all(self.judge(pours)[2]):
                return size
            self.order = changed
        return None


def sizes(above_mL: float) -> Iterator[float]:
    """Give the sizes (mL) a painter would type, rising from above `above_mL` to `LARGEST_BATCH_ML`."""
    for until, step in _SIZES:
        count = math.floor(above_mL / step + 1e-9) + 1
        while count * step <= until * (1 + 1e-9):
            above_mL = round(count * step, 3)
            yield above_mL
            count += 1


def kits_for(part: Part, tools: Sequence[Tool]) -> list[Kit]:
    """Give the tools that can measure `part`; a scale can where its density is known."""
    kits = []
    for tool in tools:
        per_mL = 1.0
        if tool.kind is ToolKind.SCALE:
            if part.density_g_mL is None or not part.density_g_mL > 0:
                continue
            per_mL = part.density_g_mL
        one_fill = tool.kind is ToolKind.SCALE
        drops = tool.kind is ToolKind.DROPPER
        most = MOST_DROPS if drops else tool.marks * (1 if one_fill else MOST_FILLS)
        kits.append(
            Kit(
                tool=tool,
                step=tool.step / per_mL,
                marks=tool.marks,
                most=most,
                error=tool.reading_error / per_mL,
                each=drops,
            )
        )
    return kits


def pours_of(kits: Sequence[Kit], want_mL: float) -> list[Pour]:
    """Give every way to measure about `want_mL`: with each tool, to its nearest mark."""
    found = []
    for kit in kits:
        steps = want_mL / kit.step + 0.5 + 1e-9
        if 1 <= steps < kit.most + 1:
            pour = _at(kit, int(steps))
            if pour.mL > pour.error:  # else the reading can't tell it from nothing
                found.append(pour)
    return found


def _at(kit: Kit, steps: int) -> Pour:
    fills = -(-steps // kit.marks)
    return Pour(kit.tool, steps * kit.step, kit.error * (steps if kit.each else fills), fills, steps)


def _starts(kits: Sequence[Kit], want_mL: float) -> list[Pour]:
    """Give the ways worth trying for the part that the others are measured by.

    The marks on both sides of the amount, for on one of them the others may come out closer; not a tool that
    another one beats in both fills and error.
    """
    nearest = pours_of(kits, want_mL)
    kit_of = {kit.tool: kit for kit in kits}
    found = []
    for n, pour in enumerate(nearest):
        if any(
            (other.fills, other.error) != (pour.fills, pour.error) or m < n
            for m, other in enumerate(nearest)
            if m != n and other.fills <= pour.fills and other.error <= pour.error
        ):
            continue
        found.append(pour)
        assert pour.tool is not None
        kit = kit_of[pour.tool]
        steps = pour.steps + (1 if pour.mL < want_mL else -1)
        if 1 <= steps <= kit.most and abs(steps * kit.step / want_mL - 1) <= _RESIZE:
            found.append(_at(kit, steps))
    return found or [NOTHING]
