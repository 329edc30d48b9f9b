"""How each part of a mix is measured with the tools at hand, and how far off the ratio may come out."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from benchtool.trade.mixing import Part, amounts_mL
from benchtool.trade.numbers import figure
from benchtool.trade.ratios import LARGEST_BATCH_ML
from benchtool.trade.toolchoice import Choice, Kit, Pour
from benchtool.trade.tools import USUAL_TOOLS, NotATool, Tool, ToolKind

__all__ = [
    "LARGEST_BATCH_ML", "USUAL_TOOLS", "Measured", "Measuring", "NotATool", "Tool", "ToolKind", "mark_words", "measure",
]  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """How one part is measured.

    `want_mL` is the recipe's figure for the size asked for, `mL` what the marks give (0 where `tool` is None).
    `fills` whole fills come before the last one, which goes to `mark` (mL; a scale: g; a dropper: all its
    drops, counted over its squeezes). `error_mL` is the reading error either way over all fills;
    `rounding_percent` is `mL` against `want_mL`. A `guess` comes from a dropper nobody has counted.
    """

    part: str
    want_mL: float
    tool: Tool | None
    mL: float
    fills: int
    mark: float | None
    error_mL: float
    rounding_percent: float
    guess: bool = False
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Measuring:
    """How a whole mix is measured; every tuple is in the order of the recipe.

    `off_percent` is each part's ratio, by the marks, against its share; `worst_percent` (signed, the larger of
    the two ways) the same with the reading errors of all pours at their worst together. Both are None for a
    part measured by itself, for one of which nothing goes in, and where it or what it is measured by can't be
    measured at all; then `within` is False. `smallest_mL` is the smallest batch, of sizes one would type, above
    the one asked for that these tools keep within tolerance; None where nothing is out, or none up to
    `LARGEST_BATCH_ML` does. `words` is one sentence where a part is out.
    """

    measured: tuple[Measured, ...]
    off_percent: tuple[float | None, ...]
    worst_percent: tuple[float | None, ...]
    within: tuple[bool, ...]
    smallest_mL: float | None
    words: str


def measure(parts: Sequence[Part], make_mL: float, tools: Sequence[Tool]) -> Measuring:
    """Choose a tool and its marks for each part of `make_mL` of finished mix.

    The first plain part is put to a mark and the others are worked out from it as marked, so that a coarse
    measure of the base does not spoil the ratio. A scale serves the parts whose density is known.

    Raises:
        NotAShare: as `amounts_mL`.
    """
    want = amounts_mL(parts, make_mL)
    choice = Choice(parts, tools)
    pours = choice.best(make_mL)
    assert pours is not None  # only a strict search finds none
    off, worst, within = choice.judge(pours)
    smallest = None if all(within) else choice.smallest(make_mL)
    return Measuring(
        measured=tuple(_measured(p.name, w, pour) for p, w, pour in zip(parts, want, pours, strict=True)),
        off_percent=tuple(off),
        worst_percent=tuple(worst),
        within=tuple(within),
        smallest_mL=smallest,
        words="" if all(within) else _trouble(choice, pours, worst, within, tools, smallest, make_mL),
    )


def _measured(name: str, want_mL: float, pour: Pour) -> Measured:
    tool = pour.tool
    if tool is None:
        words = "nothing to pour" if want_mL <= 0 else f"no tool here measures {_amount(want_mL)} of it"
        return Measured(
            part=name, want_mL=want_mL, tool=None, mL=0, fills=0, mark=None, error_mL=0, rounding_percent=0, words=words
        )
    before = 0 if tool.kind is ToolKind.DROPPER else pour.fills - 1
    last = pour.steps - before * tool.marks
    return Measured(
        part=name,
        want_mL=want_mL,
        tool=tool,
        mL=round(pour.mL, 10),
        fills=before,
        mark=float(last) if tool.kind is ToolKind.DROPPER else tool.at(last),
        error_mL=pour.error,
        rounding_percent=100 * (pour.mL / want_mL - 1),
        guess=tool.kind is ToolKind.DROPPER and not tool.calibrated,
        words=mark_words(tool, before, last),
    )


def _amount(mL: float) -> str:
    shown = figure(mL)
    return f"{shown} mL" if float(shown) > 0 else "so small an amount"


def mark_words(tool: Tool, fills: int, last: int) -> str:
    """Say what to do with a tool: so many whole fills, then to its mark number `last` (drops: so many)."""
    if tool.kind is ToolKind.DROPPER:
        return f"{tool.name}, {last} drop{'' if last == 1 else 's'}"
    if tool.kind is ToolKind.SCALE:
        return f"{tool.name}, {tool.at(last):.8g} g"
    if last == tool.marks:
        return f"{tool.name}, full" + ("" if fills == 0 else f" {_times(fills + 1)}")
    if fills == 0:
        return f"{tool.name}, to the {tool.at(last):.8g} mark"
    return f"{tool.name}, full {_times(fills)}, then to {tool.at(last):.8g}"


def _times(n: int) -> str:
    return {1: "once", 2: "twice"}.get(n, f"{n} times")


def _trouble(
    choice: Choice,
    pours: Sequence[Pour],
    worst: Sequence[float | None],
    within: Sequence[bool],
    tools: Sequence[Tool],
    smallest: float | None,
    make_mL: float,
) -> str:
    """Say in one sentence which part is out, and what helps."""
    if not tools:
        return "No measuring tool is listed: write down the syringes, cups and scale you have."
    lost = [pour.tool is None for pour in pours]
    i = max(
        (i for i, ok in enumerate(within) if not ok),
        key=lambda i: (lost[i], abs(worst[i] or 0.0) / choice.allowed[i]),
    )
    part, percent = choice.parts[i], worst[i]
    if percent is None:
        what = f"No tool here measures {_amount(choice.shares[i] * make_mL)} of {part.name}"
    elif math.isfinite(percent):
        what = f"{part.name} may be {math.ceil(abs(percent) - 1e-6)} % off with these tools"
    else:
        what = f"{part.name} may be any amount off with these tools"
    scale = any(t.kind is ToolKind.SCALE for t in tools)
    blind = [p.name for p in choice.parts if p.density_g_mL is None]
    if scale and blind:
        weigh = (
            f"fill in the density of {blind[0]} to weigh it" if len(blind) == 1 else "fill in the densities to weigh it"
        )
    else:
        weigh = "use a finer scale" if scale else "use a scale"
    if smallest is not None:
        return f"{what}: mix {smallest:g} mL, the smallest cup they can keep in ratio, or {weigh}."
    kits = choice.kits[i]  # none where there is but a scale and no density: less paint is no help then
    want_mL = choice.shares[i] * make_mL
    if percent is None and kits and all(_too_much(want_mL, kit, pours) for kit in kits):
        return f"{what}: mix less at a time."
    return f"{what}, and no larger cup helps: {weigh} or a finer syringe."


def _too_much(want_mL: float, kit: Kit, pours: Sequence[Pour]) -> bool:
    """Whether it is more than the tool measures; a scale bears the other parts too."""
    others = sum(pour.steps for pour in pours if pour.tool == kit.tool and kit.tool.kind is ToolKind.SCALE)
    return kit.most - others < want_mL / kit.step
