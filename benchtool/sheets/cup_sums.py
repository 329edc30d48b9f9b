"""Everything there is to know about one cup, worked out at once: the window and the command line ask the same here.

Pure sums: no clock, no file, no toolkit. What can't be worked out (a density is missing, the cup is too small) is None
with a sentence beside it; only a recipe that is none raises.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from benchtool.trade.cost import cost
from benchtool.trade.emissions import Contents, Emissions, NotEmissions, emissions
from benchtool.trade.measuring import Measured, Measuring, NotATool, Tool, ToolKind, measure
from benchtool.trade.mixing import NotAShare, Of, Part, PourCheck, Share, amounts_mL, check_pours
from benchtool.trade.potlife import CupPlan, NotInTime, largest_mL, split
from benchtool.trade.rescue import Choices, Rescue, choices
from benchtool.trade.vessel import Cup, NotACup
from benchtool.trade.weighing import Weighed, weigh


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """What pot life is reckoned with: times in s, the rate of spraying in mL a minute, and the coats."""

    pot_life_s: float
    rate_mL_min: float
    stand_s: float = 0.0
    coats: int = 1
    flash_s: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CupSums:
    """One cup. Tuples by part are in the order of the recipe.

    `want_mL` is the recipe at `make_mL`. `checks`, `choices` and `adds` stand once something is poured: how right it
    is, the ways on, and how to measure what is still to be added by the first of them (None where nothing is).
    `becomes_mL` is what the cup will hold of each part: as wanted, or once what is poured is mended by the
    smallest additions that are enough. `fill_mm` is how high the cup then stands after each part.

    `measuring` is for `make_mL` and None without tools; `weighed` is None without a scale, or with `weigh_why` saying
    what is missing. `cost` is of `becomes_mL`, None for a part without a price. `largest_mL` is the largest batch
    that can be sprayed within its pot life and `cups` how `make_mL` is spread; both stand where a life was given.
    """

    parts: tuple[Part, ...]
    make_mL: float
    want_mL: tuple[float, ...]
    poured_mL: Mapping[str, float]
    becomes_mL: tuple[float, ...]
    checks: tuple[PourCheck, ...] = ()
    measuring: Measuring | None = None
    adds: tuple[Measured | None, ...] = ()
    scale: Tool | None = None
    weighed: tuple[Weighed, ...] | None = None
    weigh_why: str = ""
    cup: Cup | None = None
    fill_mm: tuple[float | None, ...] = ()
    fill_why: str = ""
    room_mL: float | None = None
    choices: Choices | None = None
    cost: tuple[float | None, ...] = ()
    largest_mL: float | None = None
    cups: tuple[CupPlan, ...] = ()
    life_why: str = ""
    emissions: Emissions | None = None
    emissions_why: str = ""

    @property
    def in_tolerance(self) -> bool:
        """Whether every part that was poured is right, as far as one can tell."""
        return all(c.within for c in self.checks)

    @property
    def measurable(self) -> bool:
        """Whether the tools, or all of it on the scale, keep every part within tolerance, with all readings at worst.

        True where there is nothing to judge by.
        """
        by_tools = self.measuring is not None and all(self.measuring.within)
        by_scale = self.weighed is not None and all(w.within for w in self.weighed)
        if self.weighed is not None and self.by_scale_alone:
            return by_scale  # with what is in the cup already, which `measuring` knows nothing of
        return by_tools or by_scale or (self.measuring is None and self.weighed is None)

    @property
    def by_scale_alone(self) -> bool:
        """Whether `measuring` takes nothing but the scale."""
        return self.measuring is not None and all(m.tool in (None, self.scale) for m in self.measuring.measured)

    @property
    def scale_words(self) -> str:
        """What is wrong with weighing it, in one sentence; "" where nothing is, or nothing is weighed."""
        if self.weighed is None:
            return self.weigh_why
        out = [w for w in self.weighed if not w.within and w.worst_percent is not None and not w.poured]
        if not out:
            return ""
        worst = max(out, key=lambda w: abs(w.worst_percent or 0.0))
        off = abs(worst.worst_percent or 0.0)
        how = f"{off:.0f} %" if math.isfinite(off) else "any amount"
        return f"{worst.part} may be {how} off on this scale: make more, or use a finer one."

    @property
    def want_g(self) -> tuple[float | None, ...]:
        """The weights of the parts as wanted; None where a density is missing."""
        return tuple(_grams(part, mL) for part, mL in zip(self.parts, self.want_mL, strict=True))

    @property
    def total_cost(self) -> float | None:
        """What the cup costs; None where a price is missing."""
        priced = [value for value in self.cost if value is not None]
        return sum(priced) if self.cost and len(priced) == len(self.cost) else None

    @property
    def mend(self) -> Rescue | None:
        """The smallest additions that are enough, else the best that can be reached; None before the first pour."""
        return None if self.choices is None else self.choices.enough or self.choices.best


def cup_sums(
    parts: Sequence[Part],
    make_mL: float,
    poured_mL: Mapping[str, float] | None = None,
    *,
    tools: Sequence[Tool] = (),
    scale: Tool | None = None,
    cup: Cup | None = None,
    room_mL: float | None = None,
    left_mL: Mapping[str, float] | None = None,
    price_per_mL: Mapping[str, float] | None = None,
    contents: Sequence[Contents] = (),
    life: Life | None = None,
) -> CupSums:
    """Work out one cup of `make_mL`, with `poured_mL` by part name in it already.

    `scale` is the one for cumulative readings, else the finest scale among `tools`; one that is given beside tools is
    a tool like them too. `room_mL` is what may be in the cup at most, else what
    `cup` holds. `left_mL` and `price_per_mL` are by part name; a part that is not named has all it takes and no price.
    `contents` are the parts' VOC figures; their amounts are taken from the cup as it becomes, by name.

    Raises:
        NotAShare: the parts are no recipe (a missing density for a share by weight with it), `make_mL` is not above
            zero, or what was poured is in no recipe.
    """
    parts, poured = tuple(parts), dict(poured_mL or {})
    left, prices = dict(left_mL or {}), dict(price_per_mL or {})
    want = amounts_mL(parts, make_mL)
    if scale is None:
        scale = min((t for t in tools if t.kind is ToolKind.SCALE), key=lambda t: t.step, default=None)
    elif tools and scale not in tools:
        tools = (*tools, scale)
    room = room_mL if room_mL is not None or cup is None else cup.capacity_mL
    checks = check_pours(parts, poured) if poured else ()
    ways = choices(parts, poured, make_mL, room_mL=room, left_mL=left, price_per_mL=prices) if poured else None
    becomes = _becomes(parts, want, poured, ways)
    weighed, weigh_why = _weighed(parts, make_mL, poured, scale)
    fill, fill_why = _filled(becomes, cup)
    largest, cups, life_why = _lives(make_mL, life)
    found, emissions_why = _emitted(parts, becomes, contents)
    return CupSums(
        parts=parts,
        make_mL=make_mL,
        want_mL=want,
        poured_mL=poured,
        becomes_mL=becomes,
        checks=checks,
        measuring=measure(parts, make_mL, tools) if tools else None,
        adds=_adds(parts, ways, tools),
        scale=scale,
        weighed=weighed,
        weigh_why=weigh_why,
        cup=cup,
        fill_mm=fill,
        fill_why=fill_why,
        room_mL=room,
        choices=ways,
        cost=tuple(cost([(mL, prices.get(p.name))]) for p, mL in zip(parts, becomes, strict=True)) if prices else (),
        largest_mL=largest,
        cups=cups,
        life_why=life_why,
        emissions=found,
        emissions_why=emissions_why,
    )


def measure_one(part: Part, mL: float, tools: Sequence[Tool]) -> Measured | None:
    """Say how to measure `mL` of one part by itself, as for an addition; None where no tool can.

    The handiest tool that stays within what the part may be off is taken, else the closest one.
    """
    alone = replace(part, share=Share(1.0, Of.PARTS))
    found = [m for tool in tools for m in measure((alone,), mL, (tool,)).measured if m.tool is not None]

    def off(m: Measured) -> float:
        return (abs(m.mL - mL) + m.error_mL) / mL

    return min(found, key=lambda m: (off(m) > part.allowed, m.guess, m.fills, off(m)), default=None)


def _adds(parts: tuple[Part, ...], ways: Choices | None, tools: Sequence[Tool]) -> tuple[Measured | None, ...]:
    way = None if ways is None else ways.exact or ways.enough or ways.best
    if way is None:
        return ()
    return tuple(measure_one(p, mL, tools) if mL > 0 else None for p, mL in zip(parts, way.add_mL, strict=True))


def _becomes(
    parts: tuple[Part, ...], want: tuple[float, ...], poured: Mapping[str, float], ways: Choices | None
) -> tuple[float, ...]:
    mend = None if ways is None else ways.enough or ways.best
    if mend is None or not any(poured.values()):
        return want
    return tuple(poured.get(p.name, 0.0) + add for p, add in zip(parts, mend.add_mL, strict=True))


def _weighed(
    parts: tuple[Part, ...], make_mL: float, poured: Mapping[str, float], scale: Tool | None
) -> tuple[tuple[Weighed, ...] | None, str]:
    if scale is None:
        return None, ""
    in_cup = {p.name: g for p in parts if p.name in poured and (g := _grams(p, poured[p.name])) is not None}
    try:
        return tuple(weigh(parts, make_mL, scale, in_cup)), ""
    except (NotAShare, NotATool) as fault:
        return None, str(fault)


def _filled(becomes: tuple[float, ...], cup: Cup | None) -> tuple[tuple[float | None, ...], str]:
    if cup is None:
        return (), ""
    levels: list[float | None] = []
    in_cup, why = 0.0, ""
    for mL in becomes:
        in_cup += mL
        try:
            levels.append(cup.height_mm_of(in_cup))
        except NotACup as fault:
            levels.append(None)
            why = str(fault)
    return tuple(levels), why


def _lives(make_mL: float, life: Life | None) -> tuple[float | None, tuple[CupPlan, ...], str]:
    if life is None:
        return None, (), ""
    figures = {
        "pot_life_s": life.pot_life_s,
        "stand_s": life.stand_s,
        "rate_mL_min": life.rate_mL_min,
        "flash_s": life.flash_s,
    }
    try:
        largest = largest_mL(coats=life.coats, **figures)
        return largest, split(make_mL, coats=life.coats, **figures), ""
    except NotInTime as fault:
        return None, (), str(fault)


def _emitted(
    parts: tuple[Part, ...], becomes: tuple[float, ...], contents: Sequence[Contents]
) -> tuple[Emissions | None, str]:
    if not contents:
        return None, ""
    known = {c.name: c for c in contents}
    missing = [p.name for p, mL in zip(parts, becomes, strict=True) if mL > 0 and p.name not in known]
    if missing:
        return None, f"The VOC of {missing[0]} is not on its card: fill it in there, 0 where there is none."
    try:
        found = [replace(known[p.name], mL=mL) for p, mL in zip(parts, becomes, strict=True) if mL > 0]
        return emissions(found), ""
    except NotEmissions as fault:
        return None, str(fault)


def _grams(part: Part, mL: float) -> float | None:
    return mL * part.density_g_mL if part.density_g_mL is not None else None
