"""A cross-cut's lattice straightened to a square, and each of its cuts found there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from benchtool.trade.crosscutphoto import Pixels

    Floats = NDArray[np.floating]

SIDE = 600
"""Pixels of the straightened lattice from the first cut to the last."""
MARGIN = 120
"""Pixels of paint kept around it."""
WHOLE = SIDE + 2 * MARGIN
_PIECES = 60
_OVER = 60
"""Pixels beyond the lattice where cuts are looked for too: they are drawn longer than the lattice."""
_EDGE = 45.0
"""Grey levels, all three colours together, from which two sides of a line count as different (judgement)."""
_FAINT = 1.0
_WEAK = 0.45
"""Of the usual strength, or of a border near by; below it a cut is also looked for as a border (judgement)."""
_BORDER = 0.6
"""What a border between two colours counts beside a line of its own colour (judgement)."""

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Grid:
    """Where the lattice is: the corners of the outermost cuts, clockwise from top left, and how many cuts each way.

    A corner is (across, down) as shares, 0 to 1, of the upright picture's width and height.
    """

    corners: tuple[Point, Point, Point, Point]
    cuts: int


@dataclass(frozen=True, slots=True, eq=False)
class Cuts:
    """The cuts in the straightened square: `ends[way, cut]` are the places at both ends, pixels from its edge.

    Way 0 are the cuts that run down (places across), way 1 those that run across (places down). `strength` is how much
    darker or lighter each is than what lies beside it, in grey levels; `seen` the share of its length it is seen on.
    """

    ends: Floats
    strength: Floats
    seen: Floats


def length(values: Floats) -> Floats:
    """Give the length of each vector along the last axis (numpy's own norm is slow on short ones)."""
    import cv2
    import numpy as np

    if values.ndim == 3 and values.dtype == np.float32:
        squares = cv2.transform(values * values, np.ones((1, values.shape[2]), np.float32))
        return np.asarray(cv2.sqrt(squares), np.float32)
    return np.asarray(np.sqrt(np.einsum("...k,...k->...", values, values)), values.dtype)


def in_pixels(grid: Grid, width: int, height: int) -> Floats:
    """Give the corners as places of pixel centres."""
    import numpy as np

    return np.array(grid.corners, np.float64) * (width, height) - 0.5


def in_shares(corners: Floats, width: int, height: int, cuts: int) -> Grid:
    """Give the grid of corners that are places of pixel centres."""
    a, b, c, d = ((float((x + 0.5) / width), float((y + 0.5) / height)) for x, y in corners)
    return Grid((a, b, c, d), cuts)


def homography(corners: Floats) -> Floats:
    """Give the map from the straightened square (with its margin) to the picture."""
    import cv2
    import numpy as np

    near, far = MARGIN - 0.5, MARGIN + SIDE - 0.5
    square = np.array([[near, near], [far, near], [far, far], [near, far]], np.float32)
    return np.asarray(cv2.getPerspectiveTransform(square, corners.astype(np.float32)), np.float64)


def nearer(pixels: Pixels, corners: Floats) -> tuple[Pixels, Floats, Floats]:
    """Cut the picture to the lattice and its surroundings, no finer than is needed.

    Gives the part, the corners in it, and the (across, down) rows that lead back: scale and place of its first pixel.
    """
    import cv2
    import numpy as np

    height, width = pixels.shape[:2]
    low, high = corners.min(axis=0), corners.max(axis=0)
    more = 0.45 * (high - low)
    left, top = (int(np.clip(v, 0, limit - 2)) for v, limit in zip(low - more, (width, height), strict=True))
    right, bottom = (int(np.clip(v, 2, limit)) for v, limit in zip(high + more + 2, (width, height), strict=True))
    part = pixels[top : max(bottom, top + 2), left : max(right, left + 2)]
    sides = length(corners - np.roll(corners, 1, axis=0))
    shrink = max(1.0, float(sides.min()) / SIDE)
    scale = np.ones(2)
    if shrink > 1.3:
        size = (max(2, round(part.shape[1] / shrink)), max(2, round(part.shape[0] / shrink)))
        scale = np.array([part.shape[1] / size[0], part.shape[0] / size[1]])
        part = np.asarray(cv2.resize(part, size, interpolation=cv2.INTER_AREA), np.uint8)
    back = np.stack([scale, (left, top)])
    return part, (corners + 0.5 - back[1]) / scale - 0.5, back


def straightened(pixels: Pixels, corners: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """Give the lattice with its margin as a square of grey levels, and where the picture holds it."""
    import cv2
    import numpy as np

    way = homography(corners)
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    flat = cv2.warpPerspective(pixels, way, (WHOLE, WHOLE), flags=flags, borderMode=cv2.BORDER_REPLICATE)
    full = np.full(pixels.shape[:2], 255, np.uint8)
    held = cv2.warpPerspective(full, way, (WHOLE, WHOLE), flags=flags, borderMode=cv2.BORDER_CONSTANT)
    return np.asarray(flat, np.float32), np.asarray(held > 250, np.bool_)


def _ridges(flat: Floats, step: float) -> Floats:
    """Give how each pixel differs from what lies beside it, by colour and as a border, over short pieces of rows."""
    import cv2
    import numpy as np

    thin = max(1.0, step * 0.02)
    beside = max(4, round(step * 0.13))
    rows = flat[MARGIN - _OVER : MARGIN + SIDE + _OVER]
    pieces = cv2.resize(rows, (WHOLE, _PIECES), interpolation=cv2.INTER_AREA)
    soft = np.asarray(cv2.GaussianBlur(pieces, (0, 0), sigmaX=thin, sigmaY=0.3), np.float32)
    left, right = np.roll(soft, beside, axis=1), np.roll(soft, -beside, axis=1)
    ridge = soft - (left + right) / 2
    # where one side differs from the other it is a flake's edge and tells little
    edge = np.abs(left - right).sum(axis=2, keepdims=True)
    ridge /= 1 + (edge / _EDGE) ** 2
    # but paint breaks off along cuts: where both sides differ, their border is the best guess of the cut
    close = max(2, round(step * 0.03))
    border = length(np.roll(soft, close, axis=1) - np.roll(soft, -close, axis=1))
    return np.dstack([ridge, border])


def _sheared(ridge: Floats, slants: Floats) -> Floats:
    """Give [slant, place]: the mean down lines that pass `place` halfway, leaning by `slant` pixels in all."""
    import cv2
    import numpy as np

    sums = np.zeros((len(slants), WHOLE, ridge.shape[2]), np.float32)
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    for k, slant in enumerate(slants):
        lean = np.array([[1, slant / _PIECES, slant * (0.5 / _PIECES - 0.5)], [0, 1, 0]])
        upright = cv2.warpAffine(ridge, lean, (WHOLE, _PIECES), flags=flags, borderMode=cv2.BORDER_REPLICATE)
        sums[k] = cv2.reduce(upright, 0, cv2.REDUCE_AVG)[0]
    return sums


def _peak(size: Floats, at: int, count: int) -> float:
    """Give where the top of a parabola through three neighbours lies, from the middle one."""
    if not 0 < at < count - 1:
        return 0.0
    low, mid, high = float(size[at - 1]), float(size[at]), float(size[at + 1])
    bend = low - 2 * mid + high
    return 0.5 * (low - high) / bend if bend < -1e-9 else 0.0


def _cuts_down(flat: Floats, cuts: int, reach: float) -> tuple[Floats, Floats, Floats]:
    """Find the cuts that run down: their ends, strengths and seen shares."""
    import numpy as np

    step = SIDE / (cuts - 1)
    ridge = _ridges(flat, step)
    span = reach * step
    slants = np.linspace(-1.2 * span, 1.2 * span, 2 * max(4, round(span * 0.45)) + 1)
    means = _sheared(ridge, slants)
    borders = np.maximum(means[:, :, 3] - np.median(means[:, :, 3]), 0)
    size = length(means[:, :, :3])
    ends, strength, seen = np.zeros((cuts, 2)), np.zeros(cuts), np.zeros(cuts)
    toward = _common(means[:, :, :3], size, step, cuts, span)
    size = means[:, :, :3] @ toward
    pull = (slants / (2.4 * span)) ** 2
    windows = []
    for i in range(cuts):
        middle = i * step + MARGIN - 0.5
        low, high = int(np.ceil(middle - span)), int(np.floor(middle + span)) + 1
        off = ((np.arange(low, high) - middle) / span) ** 2
        windows.append((low, high, 1 - 0.2 * off[None, :] - 0.3 * pull[:, None]))
    usual = float(np.median([size[:, low:high].max() for low, high, _ in windows]))
    for i, (low, high, trust) in enumerate(windows):
        near = size[:, low:high] * trust
        border = borders[:, low:high] * trust
        if near.max() < _WEAK * max(usual, float(border.max())):
            near = near + _BORDER * border
        k, x = np.unravel_index(int(np.argmax(near)), near.shape)
        place = low + int(x) + _peak(near[k], int(x), near.shape[1])
        slant = slants[k] + _peak(near[:, x], int(k), len(slants)) * (slants[1] - slants[0])
        half = slant / 2 * SIDE / (SIDE + 2 * _OVER)
        ends[i] = np.array([place - half, place + half]) - MARGIN + 0.5
        strength[i] = max(float(size[k, low + int(x)]), 0.0)
        rows = np.arange(_PIECES)
        along = np.round(place + ((rows + 0.5) / _PIECES - 0.5) * slant).astype(np.int32)
        pieces = ridge[rows, np.clip(along, 0, WHOLE - 1), :3] @ toward
        seen[i] = float((pieces > max(_FAINT, 0.3 * strength[i])).mean())
    return ends, strength, seen


def _common(means: Floats, size: Floats, step: float, cuts: int, span: float) -> Floats:
    """Give the colour, as a unit vector, by which most cuts differ from what lies beside them."""
    import numpy as np

    colours = []
    for i in range(cuts):
        low = max(0, int(i * step + MARGIN - 0.5 - span))
        near = size[:, low : int(i * step + MARGIN + span) + 1]
        k, x = np.unravel_index(int(np.argmax(near)), near.shape)
        colours.append(means[k, low + x])
    told = np.array(colours)
    lean = told @ told.sum(axis=0) >= 0
    middle = np.median(told[lean], axis=0)
    return np.asarray(middle / max(float(np.linalg.norm(middle)), 1e-6), np.float32)


def find_cuts(flat: Floats, cuts: int, reach: float) -> Cuts:
    """Find each cut within `reach` spacings of where it should lie, in the square of `straightened`."""
    import cv2
    import numpy as np

    down = _cuts_down(flat, cuts, reach)
    across = _cuts_down(np.asarray(cv2.transpose(flat), np.float32), cuts, reach)
    return Cuts(*(np.stack(pair) for pair in zip(down, across, strict=True)))


def evidence(flat: Floats, cuts: int) -> tuple[Floats, Floats]:
    """Give how much stands out at each cut of an even grid, and halfway between two: [way, cut], grey levels."""
    import cv2
    import numpy as np

    step = SIDE / (cuts - 1)
    teeth, between = np.zeros((2, cuts)), np.zeros((2, cuts - 1))
    for way in (0, 1):
        ridge = _ridges(flat if way == 0 else np.asarray(cv2.transpose(flat), np.float32), step)
        span = 0.1 * step
        slants = np.linspace(-span, span, 7)
        means = _sheared(ridge, slants)[:, :, :3]
        size = length(means)
        toward = _common(means, size, step, cuts, span)
        size = means @ toward
        for i in range(2 * cuts - 1):
            middle = i * step / 2 + MARGIN - 0.5
            top = float(size[:, int(middle - span) : int(middle + span) + 2].max())
            if i % 2:
                between[way, i // 2] = max(top, 0.0)
            else:
                teeth[way, i // 2] = max(top, 0.0)
    return teeth, between


def crossings(ends: Floats) -> Floats:
    """Give where cut i running down meets cut j running across: [i, j] = (across, down), pixels from the corner."""
    import numpy as np

    x0, x1 = ends[0, :, 0][:, None], ends[0, :, 1][:, None]
    y0, y1 = ends[1, :, 0][None, :], ends[1, :, 1][None, :]
    # x = x0 + sx y and y = y0 + sy x
    sx, sy = (x1 - x0) / SIDE, (y1 - y0) / SIDE
    x = (x0 + sx * y0) / (1 - sx * sy)
    return np.stack([x, y0 + sy * x], axis=-1)


def fitted_corners(corners: Floats, cuts: Cuts) -> Floats:
    """Give the corners moved so that evenly spaced cuts lie where the cuts were found, the clear ones first."""
    import cv2
    import numpy as np

    count = cuts.ends.shape[1]
    step = SIDE / (count - 1)
    found = crossings(cuts.ends)
    i, j = np.meshgrid(np.arange(count), np.arange(count), indexing="ij")
    ideal = np.stack([i * step, j * step], axis=-1).astype(np.float64)
    clear = cuts.strength / max(float(np.median(cuts.strength)), 1e-6)
    clear = np.clip(clear, 0.05, 1.5) * np.clip(cuts.seen, 0.1, 1)
    weight = clear[0][:, None] * clear[1][None, :]
    solved = np.eye(3)
    for _ in range(4):  # weighted least squares, far ones let go
        p, q, w = ideal.reshape(-1, 2), found.reshape(-1, 2), np.sqrt(weight.reshape(-1, 1))
        one, none = np.ones((len(p), 1)), np.zeros((len(p), 3))
        s = p / SIDE
        rows_x = np.hstack([s, one, none, -s * q[:, :1] / SIDE])
        rows_y = np.hstack([none, s, one, -s * q[:, 1:] / SIDE])
        rows = np.vstack([rows_x * w, rows_y * w])
        right = np.concatenate([q[:, 0] * w[:, 0], q[:, 1] * w[:, 0]]) / SIDE
        answer = np.linalg.lstsq(rows, right, rcond=None)[0]
        solved = np.append(answer, 1).reshape(3, 3)
        told = np.hstack([s, one]) @ solved.T
        missed = np.linalg.norm(told[:, :2] / told[:, 2:] - q / SIDE, axis=1).reshape(count, count) * SIDE
        weight = clear[0][:, None] * clear[1][None, :] / (1 + (missed / (0.04 * step)) ** 2)
    unit = np.array([[0, 0, 1], [1, 0, 1], [1, 1, 1], [0, 1, 1.0]])
    told = unit @ solved.T
    square = told[:, :2] / told[:, 2:] * SIDE + MARGIN - 0.5
    return np.asarray(cv2.perspectiveTransform(square[None], homography(corners))[0], np.float64)


def refined(pixels: Pixels, corners: Floats, cuts: int, reaches: tuple[float, ...]) -> tuple[Floats, Cuts]:
    """Move the corners onto the cuts, looking in turn within each of `reaches` spacings; give the cuts last found."""
    found: Cuts | None = None
    for reach in reaches:
        flat, _ = straightened(pixels, corners)
        found = find_cuts(flat, cuts, reach)
        corners = fitted_corners(corners, found)
    assert found is not None
    return corners, found
