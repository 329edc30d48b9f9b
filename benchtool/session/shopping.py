"""Tools, cups and usual figures of the shop: what is typed becomes a record, or a sentence at the field at fault."""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from typing import TypeVar

from msgspec.structs import replace

from benchtool.job.shop import Shop
from benchtool.session.cardfields import LONGEST_NAME, Wrong, clean, figure_of
from benchtool.trade.measuring import USUAL_TOOLS, NotATool, Tool, ToolKind
from benchtool.trade.numbers import figure, shorten
from benchtool.trade.quantities import USUAL_DROP_ML, Measures, NotAnAmount
from benchtool.trade.units import VolumeUnit, volume_words
from benchtool.trade.vessel import Cup, NotACup

COUNTED_DROPS = "20"
"""So many drops are counted into a syringe: few enough to do, enough to even out (common practice, no source)."""
_MOST_DROPS = 1_000
_NUMBER = r"(?>\d+\s+\d+/\d+|\d+/\d+|[\d.,]+\s*[½¼¾⅓⅔⅛⅜⅝⅞]?|[½¼¾⅓⅔⅛⅜⅝⅞])"
_MARK = re.compile(rf"({_NUMBER}[^\d½¼¾⅓⅔⅛⅜⅝⅞]*?)[\s,:=]*(?:\bat\s+)?({_NUMBER}.*)", re.IGNORECASE)
_HOW_MARKS = "Write each mark as 10 mL 12 mm, with ; between them."

Value = TypeVar("Value")


def tried(faults: list[tuple[str, str]], key: str, read: Callable[[], Value]) -> Value | None:
    """Give what `read` reads; where it can't, None, and what is wrong is written down under `key`."""
    try:
        return read()
    except (NotAnAmount, NotATool, NotACup) as wrong:
        faults.append((key, str(wrong)))
        return None


def amount_text(mL: float | None, unit: VolumeUnit = VolumeUnit.ML) -> str:
    """Write an amount to be changed by hand; nothing where there is none."""
    return "" if mL is None else volume_words(mL, unit)


# --- tools -------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolText:
    """What is typed and chosen of a tool. `drops` came to `drops_mL` where its drops were `counted`."""

    kind: ToolKind | None = None
    name: str = ""
    step: str = ""
    capacity: str = ""
    error: str = ""
    counted: bool = False
    drops: str = COUNTED_DROPS
    drops_mL: str = ""


def unit_of(kind: ToolKind | None) -> str:
    """The unit a tool of this kind is marked in."""
    return "g" if kind is ToolKind.SCALE else "mL"


def write_tool(tool: Tool) -> ToolText:
    """Write a tool as it would be typed."""
    unit = unit_of(tool.kind)
    dropper = tool.kind is ToolKind.DROPPER
    counted = dropper and tool.calibrated
    return ToolText(
        kind=tool.kind,
        name=tool.name,
        step="" if dropper else f"{figure_of(tool.step)} {unit}",
        capacity=f"{figure_of(tool.capacity)} {unit}",
        error="" if tool.error is None else f"{figure_of(tool.error)} {unit}",
        counted=counted,
        drops_mL=f"{figure_of(float(f'{tool.step * int(COUNTED_DROPS):.12g}'))} mL" if counted else "",
    )


def tool_name(kind: ToolKind, step: float, capacity: float) -> str:
    """Name a tool that the painter gave no name."""
    if kind is ToolKind.SCALE:
        return f"scale to {figure(step, 6)} g"
    if kind is ToolKind.DROPPER:
        return "dropper"
    return f"{figure(capacity, 6)} mL {'cup' if kind is ToolKind.CUP else kind.value}"


def read_tool(measures: Measures, text: ToolText, taken: Iterable[str] = (), before: Tool | None = None) -> Tool:
    """Read a tool; `taken` are the names of the other tools, `before` what it was.

    Raises:
        Wrong: a field that can't be taken so.
    """
    faults: list[tuple[str, str]] = []
    kind = text.kind
    if kind is None:
        raise Wrong([("kind", "Say what it is: a syringe, a cup, a pipette, a dropper or a scale.")])
    calibrated = True
    if kind is ToolKind.DROPPER:
        calibrated = text.counted
        step = _drop(measures, text, faults, before)
    else:
        missing = "Write what its display goes by, such as 0.1 g." if kind is ToolKind.SCALE else (
            "Write how much lies between two marks, such as 0.1 mL."
        )  # fmt: skip
        step = _marked(measures, kind, text.step, "step", faults, missing)
    missing = "Write the most it weighs, such as 500 g." if kind is ToolKind.SCALE else (
        "Write how much it holds, such as 3 mL."
    )  # fmt: skip
    capacity = _marked(measures, kind, text.capacity, "capacity", faults, missing)
    error = _marked(measures, kind, text.error, "error", faults, "") if text.error.strip() else None
    name = clean(text.name)
    if not name and step and capacity:
        name = tool_name(kind, step, capacity)
    _check_name(name, taken, "tool", faults)
    if faults or step is None or capacity is None:
        raise Wrong(faults)

    def made(key: str, capacity: float, error: float | None) -> Tool:
        try:
            return Tool(name=name, kind=kind, step=step, capacity=capacity, error=error, calibrated=calibrated)
        except NotATool as wrong:
            raise Wrong([(key, str(wrong))]) from None

    made("drops_mL" if kind is ToolKind.DROPPER else "step", step, None)
    made("capacity", capacity, None)
    return made("error", capacity, error)


def _marked(
    measures: Measures, kind: ToolKind, typed: str, key: str, faults: list[tuple[str, str]], missing: str
) -> float | None:
    if not typed.strip():
        faults.append((key, missing))
        return None
    if kind is ToolKind.SCALE:
        return tried(faults, key, lambda: measures.mass(typed, unit="g"))
    return tried(faults, key, lambda: measures.volume(typed, unit="mL").mL)


def _drop(measures: Measures, text: ToolText, faults: list[tuple[str, str]], before: Tool | None) -> float | None:
    if not text.counted:
        kept = before is not None and before.kind is ToolKind.DROPPER and not before.calibrated
        return before.step if kept and before is not None else USUAL_DROP_ML
    drops = clean(text.drops)
    if not (drops.isdecimal() and 1 <= int(drops[:5]) <= _MOST_DROPS):
        faults.append(
            ("drops", f"Write how many drops you counted: 1 to {_MOST_DROPS:,}, such as 20.".replace(",", " "))
        )
    if not text.drops_mL.strip():
        faults.append(("drops_mL", "Write how much the drops came to in the syringe, such as 0.9 mL."))
        return None
    came_to = tried(faults, "drops_mL", lambda: measures.volume(text.drops_mL, unit="mL").mL)
    return None if faults or came_to is None else came_to / int(drops)


def _check_name(name: str, taken: Iterable[str], what: str, faults: list[tuple[str, str]]) -> None:
    if len(name) > LONGEST_NAME:
        faults.append(("name", f"This name is too long: {LONGEST_NAME} characters at most."))
    elif name in taken:
        faults.append(("name", f"You have a {what} of the name “{shorten(name)}”: give this one another."))


def tool_words(tool: Tool) -> str:
    """Say in a line what matters of a tool."""
    unit, error = unit_of(tool.kind), figure(tool.reading_error, 3)
    if tool.kind is ToolKind.DROPPER:
        drop = f"{figure(tool.step, 3)} mL a drop"
        if not tool.calibrated:
            return f"{drop} is a guess: count 20 drops into a syringe"
        return f"{drop}, counted; read to {error} mL either way"
    step, holds = f"{figure(tool.step, 4)} {unit}", f"{figure(tool.capacity, 6)} {unit}"
    if tool.kind is ToolKind.SCALE:
        return f"scale, shows steps of {step}, up to {holds}, right to {error} g either way"
    return f"{tool.kind.value}, a mark each {step}, holds {holds}, read to {error} mL either way"


def with_tool(shop: Shop, tool: Tool, instead_of: str | None, at: int | None = None) -> Shop:
    """Give the shop with `tool` in place of the one of that name, else at place `at`, else at the end."""
    return replace(shop, tools=_placed(shop.tools, tool, instead_of, at))


def without_tool(shop: Shop, name: str) -> Shop:
    """Give the shop without this tool; without a scale nothing is weighed."""
    tools = tuple(t for t in shop.tools if t.name != name)
    weighs = shop.by_weight and any(t.kind is ToolKind.SCALE for t in tools)
    return replace(shop, tools=tools, by_weight=weighs)


def with_usual_tools(shop: Shop) -> Shop:
    """Give the shop with the usual tools that it has not, behind its own."""
    have = {t.name for t in shop.tools}
    return replace(shop, tools=(*shop.tools, *(t for t in USUAL_TOOLS if t.name not in have)))


Thing = TypeVar("Thing", Tool, Cup)


def _placed(things: tuple[Thing, ...], thing: Thing, instead_of: str | None, at: int | None) -> tuple[Thing, ...]:
    if instead_of is not None and any(t.name == instead_of for t in things):
        return tuple(thing if t.name == instead_of else t for t in things)
    placed = list(things)
    placed.insert(len(things) if at is None else at, thing)
    return tuple(placed)


# --- cups --------------------------------------------------------------------------------------------

STRAIGHT, TAPERED, MARKED = "straight", "tapered", "marked"


@dataclass(frozen=True, slots=True, kw_only=True)
class CupText:
    """What is typed and chosen of a cup; a straight one has one diameter, `bottom`."""

    name: str = ""
    shape: str | None = None
    height: str = ""
    bottom: str = ""
    top: str = ""
    marks: str = ""
    metal: bool = False


def write_cup(cup: Cup) -> CupText:
    """Write a cup as it would be typed."""
    straight = cup.bottom_mm == cup.top_mm
    return CupText(
        name=cup.name,
        shape=MARKED if cup.marks else STRAIGHT if straight else TAPERED,
        height=f"{figure_of(cup.height_mm)} mm",
        bottom=f"{figure_of(cup.bottom_mm)} mm",
        top="" if straight and not cup.marks else f"{figure_of(cup.top_mm)} mm",
        marks="; ".join(f"{figure_of(mL)} mL {figure_of(mm)} mm" for mL, mm in cup.marks),
        metal=cup.metal,
    )


def read_marks(measures: Measures, typed: str, unit: VolumeUnit = VolumeUnit.ML) -> tuple[tuple[float, float], ...]:
    """Read marks: `10 mL 12 mm; 20 mL 22 mm`; bare numbers are `unit` and mm.

    Raises:
        NotACup: a mark that is not an amount and a height.
    """
    marks = []
    for number, part in enumerate((p for p in re.split(r"[;\n]", typed) if p.strip()), start=1):
        found = _MARK.fullmatch(part.strip())
        if found is None or len(part) > 200:
            raise NotACup(f"Mark {number}, “{shorten(part)}”, is not an amount and a height. {_HOW_MARKS}")
        try:
            marks.append((measures.volume(found[1], unit=unit.value).mL, measures.length_mm(found[2], unit="mm")))
        except NotAnAmount as wrong:
            raise NotACup(f"Mark {number}: {wrong}") from None
    return tuple(marks)


def read_cup(measures: Measures, text: CupText, taken: Iterable[str] = (), unit: VolumeUnit = VolumeUnit.ML) -> Cup:
    """Read a cup; `taken` are the names of the other cups.

    Raises:
        Wrong: a field that can't be taken so.
    """
    faults: list[tuple[str, str]] = []
    name = clean(text.name)
    if not name:
        faults.append(("name", "Write a name to know it by, such as 100 mL cup."))
    _check_name(name, taken, "cup", faults)
    if text.shape is None:
        faults.append(("shape", "Say whether it is straight or tapered, or goes by its marks."))
        raise Wrong(faults)
    asked = {"height": ("its height inside", "60 mm"), "bottom": ("its diameter inside, at the bottom", "45 mm")}
    if text.shape != STRAIGHT:
        asked["top"] = ("its diameter inside, at the brim", "58 mm")
    sizes: dict[str, float] = {}
    for key, (what, such_as) in asked.items():
        typed = getattr(text, key)
        if not typed.strip():
            faults.append((key, f"Measure {what}, such as {such_as}."))
            continue
        size = tried(faults, key, partial(measures.length_mm, typed, unit="mm"))
        if size is not None:
            sizes[key] = size
    marks: tuple[tuple[float, float], ...] = ()
    if text.shape == MARKED:
        marks = tried(faults, "marks", lambda: read_marks(measures, text.marks, unit)) or ()
        if not marks and not any(key == "marks" for key, _ in faults):
            faults.append(("marks", f"Write at least one mark that you measured. {_HOW_MARKS}"))
    if faults:
        raise Wrong(faults)
    height, bottom = sizes["height"], sizes["bottom"]
    top = sizes.get("top", bottom)
    # One size at a time, so that the fault lands under its own field: 10 mm is good for any of them.
    for key, (high, low, wide) in {
        "height": (height, 10.0, 10.0), "bottom": (height, bottom, 10.0), "top": (height, bottom, top),
    }.items():  # fmt: skip
        tried(faults, key, partial(Cup, name=name, height_mm=high, bottom_mm=low, top_mm=wide))
        if faults:
            raise Wrong(faults)
    made = partial(Cup, name=name, height_mm=height, bottom_mm=bottom, top_mm=top, metal=text.metal)
    cup = tried(faults, "marks", partial(made, marks=marks))
    if cup is None:
        raise Wrong(faults)
    return cup


def cup_words(cup: Cup, unit: VolumeUnit = VolumeUnit.ML) -> str:
    """Say in a line what matters of a cup."""
    high = f"{figure(cup.height_mm)} mm high"
    wide = f"{figure(cup.bottom_mm)} mm wide" if cup.bottom_mm == cup.top_mm else (
        f"{figure(cup.bottom_mm)} mm wide at the bottom, {figure(cup.top_mm)} mm at the brim"
    )  # fmt: skip
    holds = f"holds {volume_words(cup.capacity_mL, unit)}"
    marks = f" by {len(cup.marks)} mark{'' if len(cup.marks) == 1 else 's'}" if cup.marks else ""
    return f"{holds}{marks}; {high}, {wide}{', of metal' if cup.metal else ''}"


def with_cup(shop: Shop, cup: Cup, instead_of: str | None, at: int | None = None) -> Shop:
    """Give the shop with `cup` in place of the one of that name; the one in hand stays in hand."""
    in_hand = cup.name if instead_of is not None and shop.cup == instead_of else shop.cup
    return replace(shop, cups=_placed(shop.cups, cup, instead_of, at), cup=in_hand)


def without_cup(shop: Shop, name: str) -> Shop:
    """Give the shop without this cup; where it was in hand, the smallest that holds the mix is taken."""
    return replace(shop, cups=tuple(c for c in shop.cups if c.name != name), cup="" if shop.cup == name else shop.cup)
