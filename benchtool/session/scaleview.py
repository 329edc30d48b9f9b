"""A cup on the scale, in a painter's words: what the display shows after each part, and where it is too coarse."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from benchtool.job.shop import Shop
from benchtool.job.state import Mix
from benchtool.session.amounts import grams_in
from benchtool.session.owned import scale_of
from benchtool.sheets.cup_sums import measure_one
from benchtool.trade.measuring import Measured, NotATool, Tool, ToolKind
from benchtool.trade.mixing import MissingDensity, Part
from benchtool.trade.numbers import figure
from benchtool.trade.units import volume_words
from benchtool.trade.weighing import Weighed, smallest_weighed_mL, weigh

NO_SCALE = "You own no scale: add one in the shop (O)."


@dataclass(frozen=True, slots=True)
class OnScale:
    """The figures of a mix on this scale, one for each part; `words` writes one of them as the display does."""

    scale: Tool
    parts: tuple[Weighed, ...]

    def words(self, grams: float) -> str:
        """Write grams with as many places as the display has."""
        return f"{grams:.{_places(self.scale.step)}f} g"


def _places(step: float) -> int:
    return next((n for n in range(5) if abs(round(step, n) - step) < 1e-9), 4)


def volume_tools(shop: Shop) -> tuple[Tool, ...]:
    """Give what the painter owns to measure volumes with."""
    return tuple(t for t in shop.tools if t.kind is not ToolKind.SCALE)


@lru_cache(maxsize=64)
def mark(part: Part, mL: float, tools: tuple[Tool, ...]) -> Measured | None:
    """How one pour is measured by itself; None where no tool can."""
    return measure_one(part, mL, tools) if mL > 0 else None


@lru_cache(maxsize=16)
def _smallest(parts: tuple[Part, ...], make_mL: float, scale: Tool) -> float | None:
    return smallest_weighed_mL(parts, make_mL, scale)


def on_scale(
    parts: Sequence[Part], make_mL: float, shop: Shop, poured_mL: Mapping[str, float], notes: list[tuple[str, str]]
) -> OnScale | None:
    """Weigh a mix; None where that can't be done, with the reason in `notes`."""
    scale = scale_of(shop)
    if scale is None:
        notes.append((NO_SCALE, "trouble"))
        return None
    try:
        poured_g = {p.name: poured_mL[p.name] * p.grams_per_mL for p in parts if p.name in poured_mL}
        return OnScale(scale, weigh(parts, make_mL, scale, poured_g))
    except NotATool:
        notes.append(
            (f"{scale.name} ends at {figure(scale.capacity, 4)} g: measure the rest by volume (W).", "trouble")
        )
    except MissingDensity as missing:
        notes.append((str(missing), "trouble"))
    return None


def least_weighed_mL(parts: tuple[Part, ...], make_mL: float, shop: Shop) -> float | None:
    """Give the smallest mix (mL) above `make_mL` that the scale keeps in ratio; None where that much can be weighed."""
    found = on_scale(parts, make_mL, shop, {}, [])
    return _smallest(parts, make_mL, found.scale) if found and not all(w.within for w in found.parts) else None


def _too_heavy(scale: Tool) -> tuple[str, str]:
    return f"{scale.name} ends at {figure(scale.capacity, 4)} g: measure the rest by volume (W).", "trouble"


def plan_notes(parts: tuple[Part, ...], make_mL: float, found: OnScale, shop: Shop) -> list[tuple[str, str]]:
    """Say how far off the worst part may come out, and from which size on the scale is fine enough."""
    pairs = [
        (abs(w.worst_percent), p, w) for p, w in zip(parts, found.parts, strict=True) if w.worst_percent is not None
    ]
    if not pairs:
        return []
    most, part, _ = max(pairs, key=lambda pair: pair[0] / pair[1].allowed)
    allowed = f"{100 * part.allowed:.0f} % is allowed"
    if all(w.within for w in found.parts):
        return [(f"At worst {part.name} is {figure(most, 2)} % off, {allowed}.", "quiet")]
    least = _smallest(parts, make_mL, found.scale)
    more = (
        f" Make {volume_words(least, shop.unit)} or more." if least is not None else " It is too coarse for this mix."
    )
    return [(f"On {found.scale.name} {part.name} may be {figure(most, 2)} % off, {allowed}.{more}", "trouble")]


def pour_on_scale(
    mix: Mix, part: Part, amount_mL: float, shop: Shop, notes: list[tuple[str, str]]
) -> tuple[float, str, str] | None:
    """Say what Enter logs (mL), up to what the display shows, and how; None where it can't be weighed."""
    found = on_scale(mix.parts, mix.made.make_mL, shop, mix.poured_mL, notes)
    if found is None:
        return None
    scale, shown, density = found.scale, grams_in(mix), part.grams_per_mL
    i = mix.parts.index(part)
    if part.name in mix.poured_mL:  # an addition to what is in already
        target = _reading(shown, amount_mL * density, scale.step)
        error = 2 * scale.reading_error / density
        worst = (abs((target - shown) / density - amount_mL) + error) / max(mix.poured_mL[part.name] + amount_mL, 1e-9)
    else:
        target, worst = found.parts[i].reading_g, abs(found.parts[i].worst_percent or 0.0) / 100
    if target > scale.capacity * (1 + 1e-9):
        notes.append(
            (f"{scale.name} ends at {figure(scale.capacity, 4)} g: measure the rest by volume (W).", "trouble")
        )
        return None
    if worst > part.allowed * (1 + 1e-9):
        better = mark(part, amount_mL, volume_tools(shop))
        fine = better is not None and (abs(better.mL - amount_mL) + better.error_mL) / amount_mL <= part.allowed
        instead = f" Take the {better.tool.name} for it (W)." if fine and better is not None and better.tool else ""
        words = f"{scale.name} may put {part.name} {100 * worst:.0f} % off, {100 * part.allowed:.0f} % is allowed."
        notes.append((words + instead, "trouble"))
    add = max(0.0, target - shown)
    how = f"{found.words(add)} more: do not tare again" if mix.pours else "Tare the empty cup first, then pour"
    return add / density, found.words(target), how


def _reading(shown_g: float, add_g: float, step: float) -> float:
    """The display after an addition: at least one step, a half rounded up, as `trade.weighing` does."""
    nearest = math.floor((shown_g + add_g) / step + 0.5 + 1e-7)
    return round(max(math.floor(shown_g / step + 1e-7) + 1, nearest) * step, 10)
