"""The parts of a straightened cross-cut: the cuts' own bands, glare, and what between them is bare."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from benchtool.trade.crosscutbare import Bare, Look, roughly_bare, tell_bare
from benchtool.trade.crosscutcoat import Coat, coat_around, coat_within
from benchtool.trade.crosscutgrid import MARGIN, SIDE, WHOLE, Cuts, crossings

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.floating]
    Mask = NDArray[np.bool_]

_FIRST_BAND = 0.3
"""Spacings across that a cut is taken for before it is measured."""
_RING_BAND = 0.16
_BLEED = 4.0
"""Pixels that a cut's colour bleeds beyond its width: JPEG keeps colour at half the picture's size."""
_WIDEST_BAND = 0.25
_SATURATED = 251
"""Grey levels of the least of three colours: glare is as bright as a photo can show."""
_HALO = 7.0
"""Pixels that glare bleeds beyond where it can be followed: JPEG works in blocks."""


@dataclass(frozen=True, slots=True, eq=False)
class Parts:
    """The lattice (SIDE x SIDE) in its parts.

    `inside` is between the outermost cuts, `band` the cuts' width, `glare` what can't be seen, `burnt` the part of it
    that may be bright ground. `bare` holds the mask
    at the middle between paint and ground, and `low`, `high` the same a little towards either. `band_width` and
    `guard` are pixels, `line_contrast` and `brightness` (of the paint) grey levels. Shares of 1: `false_share` of the
    paint around was called bare, `neither` of the lattice is like neither. `between` is the percent bare well between
    the cuts; `soft` is how wide an edge of a flake is, in spacings.
    """

    inside: Mask
    band: Mask
    glare: Mask
    burnt: Mask
    bare: Mask
    low: Mask
    high: Mask
    coat: Coat
    told: Bare
    band_width: float
    guard: float
    line_contrast: float
    false_share: float
    between: float
    neither: float
    brightness: float
    soft: float


def steady(cuts: Cuts) -> Floats:
    """Give the cuts' ends, faint ones drawn to where evenly spaced cuts would be."""
    import numpy as np

    count = cuts.ends.shape[1]
    ideal = (np.arange(count) * SIDE / (count - 1))[None, :, None]
    usual = max(float(np.median(cuts.strength)), 1e-6)
    trust = cuts.strength / (cuts.strength + 0.15 * usual)
    return np.asarray(ideal + (cuts.ends - ideal) * trust[..., None], np.float64)


def _bands(ends: Floats, width: float, length: float) -> Mask:
    """Give the pixels of the whole square within `width` pixels across the cuts, each `length` beyond the lattice."""
    import cv2
    import numpy as np

    drawn = np.zeros((WHOLE, WHOLE), np.uint8)
    for way in (0, 1):
        for first, last in ends[way]:
            lean = (last - first) / SIDE
            at = np.array([-length, SIDE + length])
            centre = first + lean * at
            corners = np.array(
                [
                    [centre[0] - width / 2, at[0]],
                    [centre[0] + width / 2, at[0]],
                    [centre[1] + width / 2, at[1]],
                    [centre[1] - width / 2, at[1]],
                ]
            )
            if way:
                corners = corners[:, ::-1]
            cv2.fillConvexPoly(drawn, np.round((corners + MARGIN - 0.5) * 16).astype(np.int32), 1, shift=4)
    return drawn.astype(np.bool_)


def _lattice(ends: Floats) -> Mask:
    import cv2
    import numpy as np

    at = crossings(ends)
    corners = np.array([at[0, 0], at[-1, 0], at[-1, -1], at[0, -1]]) + MARGIN - 0.5
    drawn = np.zeros((WHOLE, WHOLE), np.uint8)
    cv2.fillConvexPoly(drawn, np.round(corners * 16).astype(np.int32), 1, shift=4)
    return drawn.astype(np.bool_)


def find_glare(flat: Floats, cuts: Mask) -> tuple[Mask, Mask]:
    """Give what glare hides, with its soft edges, and which of it may be bright ground, burnt out.

    Glare fades at its edge; a burnt-out blob that ends at once, but for the `cuts`, may be bright ground: there is no
    telling. Where most of the picture is burnt out there is nothing to call glare.
    """
    import cv2
    import numpy as np

    least = np.minimum(np.minimum(flat[..., 0], flat[..., 1]), flat[..., 2])
    bright = cv2.morphologyEx((least >= _SATURATED).astype(np.uint8), cv2.MORPH_OPEN, np.ones((7, 7), np.uint8))
    hidden, unsure = np.zeros(bright.shape, np.bool_), np.zeros(bright.shape, np.bool_)
    if bright.mean() > 0.5:
        return hidden, unsure
    count, labels, stats, _ = cv2.connectedComponentsWithStats(bright, connectivity=8)
    for k in range(1, count):
        area = int(stats[k, cv2.CC_STAT_AREA])
        if area < 120:
            continue
        blob = labels == k
        away = _away(blob)
        reach = _reach(least, np.where(cuts | (bright > 0), -1, away), float(np.sqrt(area / np.pi)))
        hidden |= away <= max(reach, 0.0) + _HALO
        if reach < 0:
            unsure |= blob
    return hidden, unsure


def _away(blob: Mask) -> Floats:
    """Give how far each pixel is from a blob."""
    import cv2
    import numpy as np

    return np.asarray(cv2.distanceTransform((~blob).astype(np.uint8), cv2.DIST_L2, 3), np.float32)


def _reach(least: Floats, away: Floats, radius: float) -> float:
    """Give how far the light round a bright blob reaches, pixels; below 0 where it ends at once.

    A patch of bright ground has a sharp edge; glare fades. It is followed until it falls no further. Where `away` is
    below 0 it is not looked at.
    """
    import numpy as np

    width = 3
    far = int(max(30.0, 0.6 * radius))
    near = (away > 0) & (away < far + 4 * width)
    ring = (away[near] / width).astype(np.int32)
    counts = np.bincount(ring)
    if len(counts) < 8:
        return far
    levels = np.bincount(ring, weights=least[near]) / np.maximum(counts, 1)
    levels = levels[counts > 0]
    rest = float(np.median(levels[-4:]))
    fall = _SATURATED - rest
    if fall < 8:
        return 8.0
    above = (levels - rest) / fall
    if above[2] < 0.2 and above[3] < 0.12:
        return -1.0
    still = np.nonzero(above < 0.04)[0]
    return float(still[0] * width if len(still) else far)


def _width(flat: Floats, coat: Coat, ends: Floats, blocked: Mask) -> tuple[float, float, float, Floats]:
    """Measure the cuts between intact paint: full width at half the depth and at a sixth, depth, difference in colour.

    `blocked` is what is no intact paint. Widths are 0 where no cut lies between intact paint.
    """
    import cv2
    import numpy as np

    count = ends.shape[1]
    step = SIDE / (count - 1)
    reach = int(0.24 * step)
    off = (flat - coat.colour) / coat.light[..., None]
    pictures = cv2.merge([off, blocked.astype(np.float32)])
    kept = []
    apart = max(2, reach // 3)
    for way in (0, 1):
        turned = pictures if way == 0 else cv2.transpose(pictures)
        for first, last in ends[way]:
            lean = (last - first) / SIDE * 4
            warp = np.array([[1, lean, first + MARGIN - 0.5 - reach], [0, 4, MARGIN - 0.5]])
            flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
            size = (2 * reach + 1, SIDE // 4)
            strip = cv2.warpAffine(turned, warp, size, flags=flags, borderMode=cv2.BORDER_REPLICATE)
            sides = np.concatenate([strip[:, :apart, 3], strip[:, -apart:, 3]], axis=1)
            kept.append(strip[sides.max(axis=1) < 0.5][:, :, :3])
    rows = np.concatenate(kept)
    if len(rows) < 12:
        return 0.0, 0.0, 0.0, np.zeros(3)
    middle = np.median(rows[:, reach - 1 : reach + 2].reshape(-1, 3), axis=0)
    depth = np.median(rows @ (middle / max(float(np.linalg.norm(middle)), 1e-6)), axis=0)
    depth -= float(np.median(np.concatenate([depth[:apart], depth[-apart:]])))
    top = float(depth[reach - apart : reach + apart + 1].max())
    if top <= 0.5:
        return 0.0, 0.0, 0.0, np.zeros(3)
    return _across(depth, reach, top / 2), _across(depth, reach, top / 6), top, middle


def _across(depth: Floats, middle: int, level: float) -> float:
    """Give how wide a profile is at a level, from the middle out, between pixels."""
    wide = 0.0
    start = middle + int(depth[middle - 2 : middle + 3].argmax()) - 2
    for turn in (-1, 1):
        at = start
        while 0 < at < len(depth) - 1 and depth[at + turn] > level:
            at += turn
        rest = (depth[at] - level) / max(depth[at] - depth[min(max(at + turn, 0), len(depth) - 1)], 1e-6)
        wide += abs(at - start) + float(min(max(rest, 0.0), 1.0))
    return wide


def _filled(mask: Mask, unsure: Mask) -> Mask:
    """Give the mask with what is unsure filled from the nearest sure pixel."""
    import cv2
    import numpy as np

    if not unsure.any() or unsure.all():
        return mask
    _, labels = cv2.distanceTransformWithLabels(unsure.astype(np.uint8), cv2.DIST_L2, 3, labelType=cv2.DIST_LABEL_PIXEL)
    table = np.zeros(int(labels.max()) + 1, np.bool_)
    sure = ~unsure
    table[labels[sure]] = mask[sure]
    return np.asarray(table[labels], np.bool_)


def part(flat: Floats, held: Mask, cuts: Cuts, grain: float) -> Parts | None:
    """Take a straightened cross-cut apart, or None where there is too little paint around it to compare with.

    `grain` is how many pixels across one of the photo's own is.
    """
    import cv2
    import numpy as np

    ends = steady(cuts)
    step = SIDE / (ends.shape[1] - 1)
    inside = _lattice(ends)
    wide = _bands(ends, _FIRST_BAND * step, MARGIN)
    narrow = _bands(ends, _RING_BAND * step, MARGIN)
    glare, burnt = find_glare(flat, narrow)
    usable = held & ~glare
    coat = coat_around(flat, usable & ~narrow)
    if coat is None:
        return None
    look = Look(flat, coat, inside & usable & ~wide, usable & ~narrow, grain)
    told = roughly_bare(look)
    first_neither = _neither(replace(told, lean=told.lean[::2, ::2]), look.inner[::2, ::2])
    half, foot, depth, cut = _width(flat, coat, ends, (told.lean < 0.1) | ~usable | narrow)
    if half <= 0:
        half, foot = 0.06 * step, 0.09 * step
    half, foot = min(half, _WIDEST_BAND * step), min(foot, _WIDEST_BAND * step)
    guard = foot + _BLEED
    unsure = _bands(ends, guard, MARGIN)
    beside = cv2.dilate(glare.astype(np.uint8), np.ones((17, 17), np.uint8)).astype(bool)
    inner = inside & usable & ~beside & ~_bands(ends, guard + 6, MARGIN)
    near = cv2.dilate((told.lean < 0.2).astype(np.uint8), np.ones((9, 9), np.uint8)).astype(bool)
    coat = coat_within(flat, coat, inner & ~near)
    look = replace(look, coat=coat, inner=inner, clean=usable & ~unsure, cut=cut)
    told = tell_bare(look, again=told.second)
    band = _bands(ends, half, MARGIN)
    square = np.s_[MARGIN : MARGIN + SIDE, MARGIN : MARGIN + SIDE]
    masks = [_filled((told.lean < level)[square], unsure[square]) for level in (0.0, -0.15, 0.15)]
    around = coat.around & ~glare
    false_share = float((told.lean < 0)[around].mean()) if around.any() else 0.0
    clear = inside & ~unsure & ~glare & held
    between = 100 * float((told.lean < 0)[clear].mean()) if clear.any() else 0.0
    neither = max(first_neither, _neither(told, clear))
    return Parts(
        inside=inside[square],
        band=band[square],
        glare=(glare | ~held)[square],
        burnt=(burnt & inside)[square],
        bare=masks[0],
        low=masks[1],
        high=masks[2],
        coat=coat,
        told=told,
        band_width=half,
        guard=guard,
        line_contrast=depth,
        false_share=false_share,
        between=between,
        neither=neither,
        brightness=float(np.median(coat.colour[::8, ::8].max(axis=2))),
        soft=_softness(told.lean, clear) / step,
    )


def _neither(told: Bare, clear: Mask) -> float:
    """Give the share that stands out from the paint in patches and was not called bare."""
    import cv2
    import numpy as np

    other = ((told.unlike > 1.3) & (told.lean > 0.05) & clear).astype(np.uint8)
    patches = cv2.erode(other, np.ones((5, 5), np.uint8))
    return float(patches.sum()) / max(float(clear.sum()), 1.0)


def _softness(lean: Floats, clear: Mask) -> float:
    """Give how many pixels wide the way from paint to ground is at the flakes' edges; 0 where there are none."""
    import cv2
    import numpy as np

    bare = ((lean < 0) & clear).astype(np.uint8)
    edge = int(((bare > 0) & (cv2.erode(bare, np.ones((3, 3), np.uint8)) == 0) & clear).sum())
    between = float(((np.abs(lean) < 0.3) & clear).sum())
    return between / edge if edge > 200 else 0.0
