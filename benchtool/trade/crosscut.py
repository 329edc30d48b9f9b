"""How much paint a cross-cut lost, measured from a photo of it: the removed share of the lattice's area.

Needs numpy and OpenCV (the photo extra); both are loaded at the first call that needs them, never before.

Where it fails, seen on rendered photos: paint and ground of nearly one colour under a shadow or with texture (what
came off is missed, or nothing can be told); small lattices of 11 cuts in coarse JPEGs (specks are taken for flakes);
smears of adhesive on dark or metallic paint; thin ribbons of low contrast (1 to 4 points too low). Flakes of exactly
the paint's colour can't be seen. Most of these are told in `doubt`; the mask is there to be looked at and put right.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from benchtool.trade.crosscutfind import find_grid, ordered
from benchtool.trade.crosscutgrid import (
    MARGIN,
    SIDE,
    Grid,
    Point,
    evidence,
    find_cuts,
    in_pixels,
    in_shares,
    nearer,
    refined,
    straightened,
)
from benchtool.trade.crosscutparts import Parts, part
from benchtool.trade.crosscutphoto import NotAPhoto, Photo, mask_bytes, mask_from, open_photo
from benchtool.trade.saying import say

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Pixels = NDArray[np.uint8]
    Mask = NDArray[np.bool_]
    Floats = NDArray[np.floating]

__all__ = [
    "Grid",
    "Measured",
    "NotAPhoto",
    "Photo",
    "Point",
    "find_grid",
    "mask_bytes",
    "mask_from",
    "measure",
    "open_photo",
    "recount",
]

UNKNOWN = 100.0
"""Points either way: nothing was measured."""
_CLEAR = 1.7
_NO_CUTS = 15.0
"""Below `_CLEAR` times what is between them no cuts are seen, and the answer is at least so many points unsure."""
_EVEN = 0.6
"""Share of the surroundings that must look alike for the same."""
_BY_HAND = 5.0
"""Points either way of a bare area drawn by hand alone (judgement)."""


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """What was measured: `removed_percent` of what counts, give or take `plus_minus` points (about 95 %).

    `picture`, `mask` (True = bare) and `counted` (False = cut lines and glare) are one straightened square, the
    outermost cuts on its edges. `doubt` is empty or a sentence to show beside the answer.
    """

    grid: Grid
    removed_percent: float
    plus_minus: float
    mask: Mask
    picture: Pixels
    counted: Mask
    doubt: str


def measure(photo: Photo, grid: Grid) -> Measured:
    """Measure the removed area inside `grid`, which is first moved onto the cuts seen near it.

    Where nothing can be told, `plus_minus` is `UNKNOWN` and `doubt` says why; the mask can still be drawn by hand.

    Raises:
        NotAPhoto: a grid that is no quadrangle in the picture, or with another number of cuts than 3 to 30.
    """
    import numpy as np

    given = _checked(photo, grid)
    corners, flat, held = _placed(photo, given, grid.cuts)
    cuts = find_cuts(flat, grid.cuts, 0.08)
    sides = np.linalg.norm(corners - np.roll(corners, 1, axis=0), axis=1)
    parts = part(flat, held, cuts, max(1.0, SIDE / float(sides.min())))
    square = np.s_[MARGIN : MARGIN + SIDE, MARGIN : MARGIN + SIDE]
    picture = np.ascontiguousarray(np.clip(np.round(flat[square]), 0, 255).astype(np.uint8))
    seen = in_shares(corners, photo.width, photo.height, grid.cuts)
    if parts is None:
        why = say("Too little of the paint around the lattice is in the picture to compare with: take it from farther.")
        none = np.zeros((SIDE, SIDE), np.bool_)
        return Measured(seen, 0.0, UNKNOWN, none, picture, ~none, why)
    counted = parts.inside & ~parts.band & ~parts.glare
    found = _Found(parts, counted, _cuts_clear(flat, grid.cuts), float(sides.min()) / (grid.cuts - 1), grid.cuts)
    doubts, unknown = _doubts(found)
    plus_minus = UNKNOWN if unknown else _plus_minus(found)
    return Measured(seen, found.removed, plus_minus, parts.bare & counted, picture, counted, " ".join(doubts))


def recount(measured: Measured, mask: Mask) -> Measured:
    """Count again after the mask was corrected by hand; what was corrected is no longer uncertain.

    Raises:
        ValueError: a mask of another size.
    """
    if mask.shape != measured.mask.shape:
        raise ValueError(f"the mask is {mask.shape}, the measured one {measured.mask.shape}")
    counted = measured.counted
    total = max(int(counted.sum()), 1)
    removed = 100 * float((mask & counted).sum()) / total
    changed = 100 * float(((mask ^ measured.mask) & counted).sum()) / total
    if changed == 0:
        return measured
    before = min(measured.plus_minus, _BY_HAND) if measured.plus_minus >= UNKNOWN else measured.plus_minus
    left = round(max(0.3 * before, before - changed / 2, min(0.3, before)), 1)
    return replace(measured, removed_percent=removed, plus_minus=left, mask=mask & counted)


@dataclass(frozen=True, slots=True, eq=False)
class _Found:
    """The parts with what the doubts go by.

    `cuts_clear` is how many times clearer the cuts are than what is between; `step_pixels` are of the photo, from cut
    to cut.
    """

    parts: Parts
    counted: Mask
    cuts_clear: float
    step_pixels: float
    cuts: int

    @property
    def removed(self) -> float:
        return self.share(self.parts.bare)

    @property
    def glare(self) -> float:
        inside = self.parts.inside
        return float((self.parts.glare & inside).sum()) / max(float(inside.sum()), 1.0)

    @property
    def burnt(self) -> float:
        return float(self.parts.burnt.sum()) / max(float(self.parts.inside.sum()), 1.0)

    def share(self, mask: Mask) -> float:
        """Give what counts and is in the mask, percent."""
        return 100 * float((mask & self.counted).sum()) / max(float(self.counted.sum()), 1.0)


def _cuts_clear(flat: Floats, cuts: int) -> float:
    """Give how many times more stands out at the cuts than between them, that way of the two that shows less."""
    import numpy as np

    teeth, between = evidence(flat, cuts)
    ways = [float(np.median(teeth[k])) / max(float(np.median(between[k])), 0.3) for k in (0, 1)]
    return min(ways)


def _checked(photo: Photo, grid: Grid) -> Floats:
    import cv2
    import numpy as np

    if not 3 <= grid.cuts <= 30:
        raise NotAPhoto(say("A lattice has 3 to 30 cuts each way: choose 6 or 11."))
    shares = np.array(grid.corners, np.float64)
    bad = say("These four points are no lattice in the picture: show the corners of the outermost cuts once more.")
    if shares.shape != (4, 2) or not np.isfinite(shares).all() or shares.min() < -0.2 or shares.max() > 1.2:
        raise NotAPhoto(bad)
    corners = ordered(in_pixels(grid, photo.width, photo.height))
    sides = np.linalg.norm(corners - np.roll(corners, 1, axis=0), axis=1)
    if not cv2.isContourConvex(corners.astype(np.float32)) or sides.min() < 8 or sides.max() > 6 * sides.min():
        raise NotAPhoto(bad)
    return corners


def _placed(photo: Photo, given: Floats, cuts: int) -> tuple[Floats, Floats, Mask]:
    """Move the corners onto the cuts, unless that leads far away; give them, the straightened square and its extent."""
    import numpy as np

    pixels, start, back = nearer(photo.pixels, given)
    step = float(np.linalg.norm(start - np.roll(start, 1, axis=0), axis=1).min()) / (cuts - 1)
    corners, _ = refined(pixels, start, cuts, (0.25,))
    moved = float(np.abs(corners - start).max()) / step
    if moved > 0.04:
        corners, _ = refined(pixels, corners, cuts, (0.1,))
        moved = float(np.abs(corners - start).max()) / step
    if not moved < 0.45:
        corners = start
    flat, held = straightened(pixels, corners)
    return (corners + 0.5) * back[0] + back[1] - 0.5, flat, held


def _plus_minus(found: _Found) -> float:
    """Give the uncertainty, points either way (about 95 %).

    Added as squares: moving the border between paint and ground, paint around that was called bare, overlap of the two
    colours, what glare hides, what the cuts' bands hide, what is like neither. The factors were set on rendered
    pictures of known truth, so that it lies within in 95 of 100.
    """
    parts, removed = found.parts, found.removed
    share = removed / 100
    border = (found.share(parts.high) - found.share(parts.low)) / 2
    false = 100 * parts.false_share * (1 - share)
    overlap = 100 * _tail(parts.told.apart / 2.6) if parts.told.apart else 0.0
    spread = math.sqrt(max(share * (1 - share), 0.01))
    hidden = 100 * found.glare * spread * 1.6
    burnt = 100 * found.burnt * max(share, 1 - share)
    bands = abs(found.share(parts.bare) - parts.between)
    terms = (1.1 * border, 1.5 * false, overlap, hidden, burnt, 0.7 * bands, 100 * parts.neither, 0.8 + 1.2 * spread)
    in_all = math.sqrt(sum(term * term for term in terms))
    if found.cuts_clear < _CLEAR or parts.coat.even < _EVEN:
        in_all = max(2 * in_all, _NO_CUTS)
    return round(min(in_all, UNKNOWN), 1)


def _tail(z: float) -> float:
    return 0.5 * math.erfc(z / math.sqrt(2))


def _doubts(found: _Found) -> tuple[list[str], bool]:
    """Give the sentences of doubt, the worst first, and whether nothing can be told at all."""
    parts = found.parts
    said: list[str] = []
    unknown = False
    if found.cuts_clear < _CLEAR:
        said.append(say("No cuts are seen along most of these lines: check the four corners and the number of cuts."))
    if parts.brightness < 30:
        said.append(say("The photo is too dark to tell paint from ground: take it again in more light."))
    if parts.brightness > 250:
        said.append(say("The paint is burnt out in the photo: take it again in less light."))
        unknown = True
    if found.burnt > 0.005:
        said.append(
            say("Burnt-out patches may be glare or bright bare ground: take it again in less light, from the side.")
        )
    elif found.glare > 0.03:
        hidden = round(100 * found.glare)
        said.append(say("Glare hides {n} % of the lattice: take it again with the light from the side.", n=hidden))
    unknown = unknown or found.glare > 0.6
    if parts.coat.even < _EVEN:
        said.append(
            say(
                "What lies around the lattice is not of one colour: take the photo again with more of the intact paint "
                "around it."
            )
        )
    if parts.told.apart == 0 and parts.line_contrast < 12:
        said.append(
            say("Nothing stands out from the paint, not even the cuts: look whether paint and ground are alike.")
        )
        unknown = True
    elif 0 < parts.told.apart < 4.5:
        said.append(say("Paint and bare ground look much alike here: check the marked area by eye."))
    if parts.neither > 0.03:
        said.append(say("Part of the lattice looks like neither paint nor bare ground: check the marked area by eye."))
    if found.step_pixels < 14:
        said.append(say("The lattice is small in the photo: take it from nearer."))
    elif parts.soft > 0.12 or parts.band_width > 0.18 * SIDE / (found.cuts - 1):
        said.append(say("The photo is not sharp: hold the camera still and tap on the lattice to focus."))
    return said, unknown
