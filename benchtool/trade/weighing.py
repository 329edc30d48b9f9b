"""A mix poured on a scale: the cup tared once, then each part up to a figure on the display."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from benchtool.trade.mixing import MissingDensity, NotAShare, Of, Part, amounts_mL, measured_by, size_in_cup
from benchtool.trade.numbers import shorten
from benchtool.trade.ratios import ratio_error, sizes, wanted_ratio
from benchtool.trade.tools import NotATool, Tool, ToolKind

__all__ = ["MissingDensity", "NotATool", "Weighed", "smallest_weighed_mL", "weigh"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """One part on the scale.

    `want_g` is the recipe's figure for the size asked for; `g` what goes in, worked out from what then stands
    in the cup; `reading_g` what the display shows after it. `off_percent` is the part's ratio by these grams
    against its share, `worst_percent` the same with the errors of the display at their worst, both None for the
    part that the others are measured by. `error_g` is how far `g` may be off either way: the display is read
    before and after, but for the first part, where it was just set to zero.
    """

    part: str
    want_g: float
    g: float
    reading_g: float
    off_percent: float | None
    worst_percent: float | None
    error_g: float
    within: bool
    poured: bool
    words: str


def weigh(
    parts: Sequence[Part], make_mL: float, scale: Tool, poured_g: Mapping[str, float] | None = None
) -> tuple[Weighed, ...]:
    """Give the figure on the display to pour each part to, in the order of the recipe.

    What is in the cup (`poured_g`) stands on the display before the rest, whatever its place in the recipe.
    Each part is worked out from what stands in the cup by then, as it was poured (`poured_g`, grams by part
    name) or as the display rounds it, so that the rounding of one part is not carried into the next. What is
    below half a step still gets one step; its `off_percent` says how wrong that is.

    Raises:
        MissingDensity: a part to be weighed has no density; the message names the value to fill in.
        NotATool: `scale` is no scale, or it can't bear the cup.
        NotAShare: as `amounts_mL`; a poured part that the recipe does not have, or less than nothing of it.
    """
    poured_g = poured_g or {}
    name = shorten(scale.name)
    if scale.kind is not ToolKind.SCALE:
        raise NotATool(f"{name} is no scale: a mix is weighed on one.")
    want_mL = amounts_mL(parts, make_mL)
    per_mL = [p.grams_per_mL if want > 0 or p.name in poured_g else 1.0 for p, want in zip(parts, want_mL, strict=True)]
    unknown = set(poured_g) - {p.name for p in parts}
    if unknown:
        raise NotAShare(f"“{shorten(min(unknown))}” was poured, and the recipe has no such part.")
    for poured_part, grams_in in poured_g.items():
        if not (math.isfinite(grams_in) and grams_in >= 0):
            raise NotAShare(f"The weight poured of {shorten(poured_part)} must be zero g or more.")

    shares = [want / make_mL for want in want_mL]
    first = next(i for i, p in enumerate(parts) if p.share.of is Of.PARTS and p.share.value > 0)
    by = [measured_by(parts, i) for i in range(len(parts))]
    target = [wanted_ratio(i, b, shares) for i, b in enumerate(by)]
    have = [poured_g[p.name] / d if p.name in poured_g else None for p, d in zip(parts, per_mL, strict=True)]
    size = _size(shares, have, first) or make_mL
    mL = [share * size if h is None else h for share, h in zip(shares, have, strict=True)]

    reading = 0.0
    readings, grams, errors = ([0.0] * len(parts) for _ in range(3))
    for i in sorted(range(len(parts)), key=lambda i: have[i] is None):
        part, reading_before = parts[i], reading
        if part.name in poured_g:
            g = poured_g[part.name]
            reading = round(reading + g, 10)
        else:
            want = mL[i] * per_mL[i] if i == first else _wanted_mL(i, by[i], target[i], mL) * per_mL[i]
            if want > 0:
                # just over a half, for the noise of a float must not decide which way a half goes
                nearest = math.floor((reading + want) / scale.step + 0.5 + 1e-7)
                steps = max(math.floor(reading / scale.step + 1e-7) + 1, nearest)
                reading = round(steps * scale.step, 10)
            g = reading - reading_before
            if i == first and shares[i] > 0:  # what is still to come follows the first part as the display rounds it
                scaled = g / per_mL[i] / shares[i]
                mL = [m if n <= i or have[n] is not None else shares[n] * scaled for n, m in enumerate(mL)]
        mL[i] = g / per_mL[i]
        if reading > scale.capacity * (1 + 1e-9):
            raise NotATool(
                f"{name} bears {scale.capacity:g} g, and the display would stand at {reading:g} g: make less at a time."
            )
        errors[i] = 0.0 if g <= 0 else scale.reading_error * (2 if reading_before > 0 else 1)
        readings[i] = reading
        grams[i] = round(g, 10)

    error_mL = [e / d for e, d in zip(errors, per_mL, strict=True)]
    found = []
    for i, part in enumerate(parts):
        off = worst = None
        if i != first and shares[i] > 0:
            off, worst = ratio_error(i, by[i], target[i], mL, error_mL)
        found.append(
            Weighed(
                part=part.name,
                want_g=want_mL[i] * per_mL[i],
                g=grams[i],
                reading_g=readings[i],
                off_percent=off,
                worst_percent=worst,
                error_g=errors[i],
                within=worst is None or part.keeps(worst),
                poured=part.name in poured_g,
                words=_words(part.name, grams[i], readings[i], poured=part.name in poured_g),
            )
        )
    return tuple(found)


def smallest_weighed_mL(parts: Sequence[Part], make_mL: float, scale: Tool) -> float | None:
    """Give the smallest batch (mL) above `make_mL`, of sizes one would type, that this scale alone keeps in ratio.

    All parts are then `within` as `weigh` judges them, in a fresh cup. None where none up to `LARGEST_BATCH_ML` is,
    or the scale bears no more.

    Raises:
        MissingDensity, NotATool, NotAShare: as `weigh`; but not for a cup that is too heavy.
    """
    if scale.kind is not ToolKind.SCALE:
        raise NotATool(f"{shorten(scale.name)} is no scale: a mix is weighed on one.")
    amounts_mL(parts, make_mL)  # for what it refuses
    for size in sizes(make_mL):
        try:
            plan = weigh(parts, size, scale)
        except NotATool:
            return None  # a larger cup is heavier still
        if all(w.within for w in plan):
            return size
    return None


def _size(shares: Sequence[float], have: Sequence[float | None], first: int) -> float:
    """Say what size (mL) of mix the cup is on its way to; 0 where nothing is in it."""
    base = have[first]
    return base / shares[first] if base else size_in_cup(shares, have)


def _wanted_mL(i: int, by: Mapping[int, float], target: float, mL: Sequence[float]) -> float:
    rest = sum(mL[j] * counts for j, counts in by.items() if j != i)
    return target * rest / (1 - target * by.get(i, 0.0))


def _words(part: str, g: float, reading: float, *, poured: bool) -> str:
    if poured:
        return f"{g:.8g} g {part} is in"
    return f"pour {part} until the scale shows {reading:.8g} g" if g > 0 else f"no {part} goes in"
