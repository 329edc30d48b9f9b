"""The choice of a tool and a mark for each part of a mix, and the worst that the readings can make of it.

`benchtool.trade.measuring` is the way in; this is the search behind it.
"""

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from benchtool.trade.mixing import Of, Part, fractions, measured_by
from benchtool.trade.ratios import ratio_error, sizes, wanted_ratio, worst_ratio
from benchtool.trade.tools import NotATool, Tool, ToolKind
from benchtool.trade.weighing import weigh

MOST_FILLS = 20
"""Nobody fills one tool more often for one part and keeps count (judgement, no source)."""
MOST_DROPS = 60
"""Nobody counts more drops than this (judgement, no source)."""
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
        self.allowed = [p.allowed_percent for p in parts]
        self.scales = [
            tool
            for tool in tools
            if tool.kind is ToolKind.SCALE
            and all(
                share <= 0 or any(kit.tool == tool for kit in kits)
                for share, kits in zip(self.shares, self.kits, strict=True)
            )
        ]

    def best(self, make_mL: float, *, strict: bool = False) -> list[Pour] | None:
        """Choose a pour for each part. With `strict` only a choice that may have all parts within, else None.

        What goes on one scale altogether is poured and judged as `weigh` says, here and there alike.
        """
        found, found_cost = None, math.inf
        weighed = {scale: self._weighed(scale, make_mL) for scale in self.scales}
        for pours in weighed.values():
            if pours is None:
                continue
            if strict and False not in self.judge(pours)[2]:
                return pours
            cost = self._cost(pours, make_mL)[0]
            if not strict and cost < found_cost:
                found, found_cost = pours, cost
        for start in _starts(self.kits[self.first], self.shares[self.first] * make_mL):
            for careful in (False, True):
                pours = self._from(start, make_mL, careful=careful, strict=strict)
                if pours is None:
                    continue
                scale = self._one_scale(pours)
                if scale is not None and weighed[scale] is not None:
                    continue
                if strict:
                    return pours
                pours = self._tared(pours)
                if scale is not None:  # it bears the sum of the parts but for the last one
                    pours = self._but_the_last(pours)
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
        if start.mL:  # what no tool measures is poured by other means: the rest goes by its full amount
            mL[self.first] = start.mL
        in_hand = {start.tool}
        load = {start.tool: start.steps}
        for i in self.order[1:]:
            if self.shares[i] <= 0:
                continue
            target, own = self.target[i], self.by[i].get(i, 0.0)
            rest = sum(mL[j] * counts for j, counts in self.by[i].items() if j != i)
            slip = sum(pours[j].error * counts for j, counts in self.by[i].items() if j != i)
            allowed, closest = self.allowed[i], careful and not self.leaf[i]
            best_out, best_cost, chosen = True, math.inf, NOTHING
            before = {pour.tool for pour in pours[:i]}
            for pour in pours_of(self.kits[i], target * rest / (1 - target * own), before):
                if _too_heavy(pour, load):
                    continue
                cost = abs(worst_ratio(pour.mL, pour.error, rest, slip, own, target))
                out = cost > allowed
                if not (out or closest):
                    cost = pour.fills + cost / allowed + (0.0 if pour.tool in in_hand else _NEW_TOOL)
                if (out, cost) < (best_out, best_cost):
                    best_out, best_cost, chosen = out, cost, pour
            if strict and best_out:
                self._try_sooner(i)
                return None
            pours[i] = chosen
            mL[i] = chosen.mL or mL[i]
            in_hand.add(chosen.tool)
            load[chosen.tool] = load.get(chosen.tool, 0) + chosen.steps
        return None if strict and False in self.judge(pours)[2] else pours

    def _weighed(self, scale: Tool, make_mL: float) -> list[Pour] | None:
        """Give the pours of a mix that goes on `scale` altogether; None where it is too much for it."""
        try:
            plan = weigh(self.parts, make_mL, scale)
        except NotATool:
            return None
        pours = []
        for part, w, share in zip(self.parts, plan, self.shares, strict=True):
            per_mL = part.grams_per_mL if share > 0 else 1.0
            pour = Pour(scale, w.g / per_mL, w.error_g / per_mL, 1, round(w.g / scale.step))
            pours.append(pour if share > 0 and pour.mL > pour.error else NOTHING)
        return pours

    def _one_scale(self, pours: Sequence[Pour]) -> Tool | None:
        """Give the scale that all of it goes on, where that is so."""
        tools = {pour.tool for pour, share in zip(pours, self.shares, strict=True) if share > 0}
        return next((scale for scale in self.scales if tools == {scale}), None)

    def _but_the_last(self, pours: Sequence[Pour]) -> list[Pour]:
        last = max(i for i, share in enumerate(self.shares) if share > 0)
        return [NOTHING if i == last else pour for i, pour in enumerate(pours)]

    def _tared(self, pours: Sequence[Pour]) -> list[Pour]:
        """Count the readings of each scale: set to zero before its first part in the recipe, read on for the rest."""
        found: list[Pour] = []
        for pour, kits in zip(pours, self.kits, strict=True):
            error = pour.error
            if pour.tool is not None and pour.tool.kind is ToolKind.SCALE:
                once = next(kit.error for kit in kits if kit.tool == pour.tool)
                error = once * (2 if any(before.tool == pour.tool for before in found) else 1)
            found.append(pour._replace(error=error))
        return found

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
            within.append(self.parts[i].keeps(worst))
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


def pours_of(kits: Sequence[Kit], want_mL: float, before: Collection[Tool | None] = ()) -> list[Pour]:
    """Give every way to measure about `want_mL`: with each tool, to its nearest mark.

    A scale that has been used `before` is not set to zero again: its display is read before and after.
    """
    found = []
    for kit in kits:
        steps = want_mL / kit.step + 0.5 + 1e-9
        if 1 <= steps < kit.most + 1:
            pour = _at(kit, int(steps))
            if kit.tool.kind is ToolKind.SCALE and kit.tool in before:
                pour = pour._replace(error=2 * kit.error)
            if pour.mL > pour.error:  # else the reading can't tell it from nothing
                found.append(pour)
    return found


def _too_heavy(pour: Pour, load: Mapping[Tool | None, int]) -> bool:
    """Whether a scale can't bear this on top of the steps that stand on it."""
    scale = pour.tool
    return scale is not None and scale.kind is ToolKind.SCALE and load.get(scale, 0) + pour.steps > scale.marks


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
