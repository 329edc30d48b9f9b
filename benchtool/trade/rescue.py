"""After a wrong pour: the smallest additions that mend a cup, what is enough, and what is left if neither fits.

Nothing is ever taken out of a cup. All amounts are mL.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from benchtool.trade.cost import cost
from benchtool.trade.least import MOST_TIMES, Mending, amounts_in_cup
from benchtool.trade.mixing import Part, PartKind, amounts_mL, check_pours, fractions
from benchtool.trade.numbers import figure, pour_figure

_NOISE = 1e-9
_LEAST_ALLOWED = 1e-6
"""A part that may not be off at all counts as allowed this fraction where parts are compared by how much of
what they are allowed they use up."""
_FAR = 1000.0  # percent: how many it is exactly is of no use then
_KEPT = 1e-11
"""Slack (a fraction) for what is there already, lest the noise of a float forbid to leave it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rescue:
    """What to add (`add_mL`, in recipe order) and what the cup is then.

    `total_mL` is all that is in the cup after it; `size_mL` the same without a part that has no share in the
    recipe. `worst_percent` is the largest error of a part, either way, as `check_pours` measures it: infinite
    where a part is in the cup and nothing of what it is measured by can be had. `within` says whether every
    part is within what it is allowed.
    """

    add_mL: tuple[float, ...]
    total_mL: float
    within: bool
    worst_percent: float
    size_mL: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """The ways on from a wrong pour, for a painter to choose from.

    `exact` and `enough` are None where the cup or a lot can't hold it, and `best` stands only where `enough`
    is None. `restart_mL` are fresh amounts of each part and `wasted_mL` what a fresh start throws away. A cost
    is what the paint still to be poured costs (what is in the cup is paid for either way), in the currency of
    the prices; None where a price is missing or the way is not open.
    """

    exact: Rescue | None
    enough: Rescue | None
    best: Rescue | None
    restart_mL: tuple[float, ...]
    wasted_mL: float
    cost_exact: float | None
    cost_enough: float | None
    cost_restart: float | None
    words: tuple[str, ...]


def exact(parts: Sequence[Part], poured_mL: Mapping[str, float]) -> Rescue:
    """Give the smallest additions after which every ratio is on target: the `add_mL` of `check_pours`.

    Raises:
        NotAShare: as `check_pours`, or an amount poured that is no amount.
    """
    have = amounts_in_cup(parts, poured_mL)
    return _rescue(parts, have, [check.add_mL for check in check_pours(parts, poured_mL)])


def enough(
    parts: Sequence[Part],
    poured_mL: Mapping[str, float],
    *,
    room_mL: float | None = None,
    left_mL: Mapping[str, float] = {},
) -> Rescue | None:
    """Give the smallest additions that bring every poured part within what it is allowed to be off its share.

    A part not poured yet goes in exactly on target; one that others are measured by and that is measured by
    nothing itself goes in as small as those others allow. `room_mL` is all that the cup holds (one
    that already holds more takes nothing more), `left_mL` what is left of each part's lot now. None where no
    additions do it.

    Raises:
        NotAShare: as `exact`, or a room, rest of a lot or tolerance that is none.
    """
    problem = Mending.of(parts, poured_mL, room_mL, left_mL)
    poured = [part.name in poured_mL for part in parts]
    add = problem.additions(lambda i: parts[i].allowed if poured[i] else 0.0)
    found = None if add is None else _rescue(parts, problem.have, add)
    whole = exact(parts, poured_mL)
    if whole.within and _fits(whole, parts, room_mL, left_mL) and (found is None or found.total_mL >= whole.total_mL):
        return whole
    return found


def best(
    parts: Sequence[Part],
    poured_mL: Mapping[str, float],
    *,
    room_mL: float | None = None,
    left_mL: Mapping[str, float] = {},
) -> Rescue:
    """Give the least bad cup that can be reached, the activators first: a wrong dose is not seen until it peels.

    A part that is within what it may be off stays so, whatever else could be mended by pushing it out; where all
    parts can be within, they are. Of the cups that are left it is the one whose worst activator uses up least of
    what it is allowed; of those, the one whose worst other part does; and of those, the one that takes least to
    reach. Parts not poured yet count like the others here. Where nothing that can be added helps, the additions
    are zero.

    Raises:
        NotAShare: as `enough`.
    """
    problem = Mending.of(parts, poured_mL, room_mL, left_mL)
    nothing = [0.0] * len(parts)
    allowed = [max(part.allowed, _LEAST_ALLOWED) for part in parts]
    most = [part.allowed + _KEPT for part in parts]
    if problem.additions(most.__getitem__) is None:
        most = _kept(parts, poured_mL, allowed)
    found = nothing
    for group in (
        [i for i, part in enumerate(parts) if part.kind is PartKind.ACTIVATOR],
        [i for i, part in enumerate(parts) if part.kind is not PartKind.ACTIVATOR],
    ):
        reached = problem.least_worst(most, {i: allowed[i] for i in group})
        if reached is None:  # one of them is in the cup, and nothing of what it is measured by can be had
            return _rescue(parts, problem.have, nothing)
        most, found = reached
    return _rescue(parts, problem.have, found)


def _kept(parts: Sequence[Part], poured_mL: Mapping[str, float], allowed: Sequence[float]) -> list[float]:
    """Say how far (a fraction) each part may be off at most: one that is within may not be pushed out."""
    return [
        max(part.allowed, abs(check.off_percent) / 100) + _KEPT
        if check.off_percent is not None and check.within
        else MOST_TIMES * a
        for part, a, check in zip(parts, allowed, check_pours(parts, poured_mL), strict=True)
    ]


def choices(
    parts: Sequence[Part],
    poured_mL: Mapping[str, float],
    make_mL: float,
    *,
    room_mL: float | None = None,
    left_mL: Mapping[str, float] = {},
    price_per_mL: Mapping[str, float] = {},
) -> Choices:
    """Lay out the ways on from what was poured, with the words to say them; `make_mL` was to be made.

    Raises:
        NotAShare: as `enough`, or `make_mL` is not above zero.
    """
    restart = amounts_mL(parts, make_mL)
    whole = exact(parts, poured_mL)
    some = enough(parts, poured_mL, room_mL=room_mL, left_mL=left_mL)
    least_bad = best(parts, poured_mL, room_mL=room_mL, left_mL=left_mL) if some is None else None
    fits = whole.within and _fits(whole, parts, room_mL, left_mL)

    def spent(amounts: Sequence[float]) -> float | None:
        return cost((mL, price_per_mL.get(part.name)) for part, mL in zip(parts, amounts, strict=True))

    found = Choices(
        exact=whole if fits else None,
        enough=some,
        best=least_bad,
        restart_mL=restart,
        wasted_mL=math.fsum(poured_mL.values()),
        cost_exact=spent(whole.add_mL) if fits else None,
        cost_enough=spent(some.add_mL) if some is not None else None,
        cost_restart=spent(restart),
        words=(),
    )
    said = _Said(parts=parts, poured_mL=poured_mL, make_mL=make_mL, room_mL=room_mL, left_mL=left_mL, whole=whole)
    return replace(found, words=tuple(said.words(found)))


def _fits(rescue: Rescue, parts: Sequence[Part], room_mL: float | None, left_mL: Mapping[str, float]) -> bool:
    in_cup_mL = rescue.total_mL - math.fsum(rescue.add_mL)  # what is in it is in it, whatever the cup is said to hold
    if room_mL is not None and rescue.total_mL > max(room_mL, in_cup_mL) * (1 + _NOISE):
        return False
    return all(
        add <= left_mL.get(part.name, math.inf) * (1 + _NOISE) for part, add in zip(parts, rescue.add_mL, strict=True)
    )


def _rescue(parts: Sequence[Part], have: Sequence[float], add: Sequence[float]) -> Rescue:
    after = [h + a for h, a in zip(have, add, strict=True)]
    share = fractions(parts)
    worst, within = 0.0, True
    checks = check_pours(parts, {part.name: mL for part, mL in zip(parts, after, strict=True)})
    for part, check, mL, f in zip(parts, checks, after, share, strict=True):
        if f <= 0:
            continue  # there is no share to be off
        off = abs(check.off_percent) if check.off_percent is not None else math.inf if mL > 0 else 0.0
        within = within and part.keeps(off)
        worst = max(worst, off)
    return Rescue(
        add_mL=tuple(add),
        total_mL=math.fsum(after),
        within=within,
        worst_percent=0.0 if worst < 1e-7 else worst,
        size_mL=math.fsum(mL for mL, f in zip(after, share, strict=True) if f > 0),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Said:
    """The sentences to a cup's `Choices`."""

    parts: Sequence[Part]
    poured_mL: Mapping[str, float]
    make_mL: float
    room_mL: float | None
    left_mL: Mapping[str, float]
    whole: Rescue

    def words(self, found: Choices) -> list[str]:
        if found.wasted_mL <= 0:
            return ["Nothing is in the cup yet."]
        if found.best is not None:
            said = [self.why_not_at_all(found.best.within), self.least_bad(found.best)]
        elif found.exact is not None:
            said = self.all_exact(found.exact)
        else:
            said = self.why_not_exact()
        if found.enough is not None:
            said += self.what_is_enough(found.enough, found.exact)
        said += self.afresh(found)
        for part, f in zip(self.parts, fractions(self.parts), strict=True):
            if f <= 0 and self.poured_mL.get(part.name, 0.0) > 0:
                said.append(f"{part.name} has no share in this mix: what of it is in the cup can't be mended.")
        return said

    def all_exact(self, whole: Rescue) -> list[str]:
        cup = f"{pour_figure(whole.total_mL)} mL in the cup"
        adds = self.pours(whole.add_mL)
        return [f"Add {adds}: all is exact, {cup}." if adds else f"All is exact as it is, {cup}."]

    def why_not_exact(self) -> list[str]:
        said = []
        total, room = self.whole.total_mL, self.room_mL
        if room is not None and total > room * (1 + _NOISE):
            said.append(f"All exact would be {pour_figure(total)} mL, and the cup holds {pour_figure(room)} mL.")
        for part, mL in zip(self.parts, self.whole.add_mL, strict=True):
            if mL > self.left(part) * (1 + _NOISE):
                left = pour_figure(self.left(part))
                said.append(f"All exact takes {pour_figure(mL)} mL {part.name}, and {left} mL is left.")
        return said

    def what_is_enough(self, some: Rescue, whole: Rescue | None) -> list[str]:
        add = self.rounded(some)
        adds = self.pours(add)
        if whole is not None and adds == self.pours(whole.add_mL):
            return []
        if not adds:
            return ["As it is, every part is within what it may be off."]
        tight = [
            f"{part.name} within {figure(100 * part.allowed)} %"
            for part, off in self.errors(some)
            if part.name in self.poured_mL and abs(off) > 100 * part.allowed * (1 - 1e-6) > 0
        ]
        held = f"to have {_listed(tight)}" if tight else "to have every part within what it may be off"
        if whole is None:
            return [f"Add {adds}: that is enough {held}, {pour_figure(some.total_mL)} mL in the cup."]
        count = sum(_shows(mL) for mL in add)
        if count == 1 and [_shows(mL) for mL in add] == [_shows(mL) for mL in whole.add_mL]:
            adds = f"{pour_figure(max(add))} mL"
        return [f"{adds} {'is' if count == 1 else 'are'} enough {held}."]

    def why_not_at_all(self, nearly: bool) -> str:
        verdict = "not all that goes in now can be on target" if nearly else "that can't be mended"
        no_room = enough(self.parts, self.poured_mL, room_mL=self.room_mL) is None
        no_paint = enough(self.parts, self.poured_mL, left_mL=self.left_mL) is None
        short = [
            p.name for p, mL in zip(self.parts, self.whole.add_mL, strict=True) if mL > self.left(p) * (1 + _NOISE)
        ]
        reasons = []
        if self.room_mL is not None and (no_room or not no_paint):
            reasons.append((f"The cup holds {pour_figure(self.room_mL)} mL", "in it"))
        if short and (no_paint or not no_room):
            only = "only " if any(_shows(self.left_mL[name]) for name in short) else ""
            reasons.append((f"There is {only}{_listed([self.left_words(n) for n in short])} left", "with it"))
        if len(reasons) == 1:
            return f"{reasons[0][0]}: {verdict} {reasons[0][1]}."
        if reasons:
            return f"{reasons[0][0]}, and t{reasons[1][0][1:]}: {verdict} so."
        return "That can't be mended by adding."

    def least_bad(self, least_bad: Rescue) -> str:
        if math.isinf(least_bad.worst_percent):
            return "Nothing that could be added helps: what the rest is measured by is missing."
        adds = self.pours(least_bad.add_mL)
        amiss = [
            f"{part.name} {f'{figure(abs(off), 2)} %' if off < _FAR else 'far'} {'over' if off > 0 else 'short'}"
            for part, off in self.errors(least_bad)
            if abs(off) > 100 * part.allowed * (1 + 1e-6)
        ]
        then = f"then {_listed(amiss)}" if amiss else "then every part is within what it may be off"
        if adds:
            return f"Best is to add {adds}, {then}."
        if not amiss:
            return "As it is, every part is within what it may be off."
        return f"Nothing that could be added helps: {_listed(amiss)}."

    def afresh(self, found: Choices) -> list[str]:
        fresh, waste = self.pours(found.restart_mL), pour_figure(found.wasted_mL)
        mended = found.exact or found.enough
        if mended is None:
            said = [f"Or start afresh with {fresh}; the {waste} mL in the cup is waste."]
        elif mended.total_mL > 1.01 * self.make_mL and not all(
            check.within for check in check_pours(self.parts, self.poured_mL)
        ):
            more = pour_figure(mended.total_mL - self.make_mL)
            said = [f"That is {more} mL more than wanted: a fresh start takes {fresh}, and wastes {waste} mL."]
        else:
            return []
        short = [p.name for p, mL in zip(self.parts, found.restart_mL, strict=True) if mL > self.left(p) * (1 + _NOISE)]
        if short:
            said.append(f"A fresh start needs more {_listed(short)} than is left.")
        if self.room_mL is not None and self.make_mL > self.room_mL * (1 + _NOISE):
            said.append(f"A fresh start needs a cup larger than {pour_figure(self.room_mL)} mL.")
        said.append("Waste goes where the product's safety data sheet and local rules say.")
        return said

    def left(self, part: Part) -> float:
        return self.left_mL.get(part.name, math.inf)

    def left_words(self, name: str) -> str:
        left = self.left_mL[name]
        return f"{pour_figure(left)} mL {name}" if _shows(left) else f"no {name}"

    def pours(self, amounts: Sequence[float]) -> str:
        """List amounts as they can be poured; what is too little to show is not said."""
        shown = zip(self.parts, amounts, strict=True)
        return _listed([f"{pour_figure(mL)} mL {part.name}" for part, mL in shown if _shows(mL)])

    def rounded(self, some: Rescue) -> list[float]:
        """Round to the figures shown, upwards if that keeps all within, so that the figure said is enough indeed."""
        up = [_up(mL) for mL in some.add_mL]
        have = [self.poured_mL.get(part.name, 0.0) for part in self.parts]
        tried = _rescue(self.parts, have, up)
        good = tried.within and _fits(tried, self.parts, self.room_mL, self.left_mL)
        return up if good else [float(pour_figure(mL)) for mL in some.add_mL]

    def errors(self, after: Rescue) -> list[tuple[Part, float]]:
        """Give how far (%) each part is off once the additions are in, where that can be said."""
        names = [part.name for part in self.parts]
        amounts = {n: self.poured_mL.get(n, 0.0) + mL for n, mL in zip(names, after.add_mL, strict=True)}
        checks = check_pours(self.parts, amounts)
        return [(p, c.off_percent) for p, c in zip(self.parts, checks, strict=True) if c.off_percent is not None]


def _shows(mL: float) -> bool:
    """Whether an amount is more than 0 in the figures of `pour_figure`."""
    return mL >= 0.005


def _up(mL: float) -> float:
    """Round up to the figure that is shown; a hair of noise stays what it is."""
    shown = float(pour_figure(mL))
    step = 0.01 if mL < 10 else 0.1 if mL < 100 else 1.0
    return shown if shown >= mL - _NOISE * max(1.0, mL) else shown + step


def _listed(items: Sequence[str]) -> str:
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}" if items else ""
