"""A cross-cut's lattice found in a photo: two families of evenly spaced straight cuts that cross.

Thin lines vote by their direction; each direction's votes are laid side by side (with the slight closing-up that
perspective gives) and a comb of as many teeth as there are cuts is looked for. What two combs agree on is straightened
and has to prove itself: every cut visible, none between, none beyond. Otherwise there is no answer.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchtool.trade.crosscutgrid import (
    MARGIN,
    SIDE,
    Grid,
    evidence,
    homography,
    in_shares,
    refined,
    straightened,
)
from benchtool.trade.crosscutphoto import Photo

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from benchtool.trade.crosscutphoto import Pixels

    Floats = NDArray[np.floating]

_LONGEST = 800
_SCALES = (1.0, 2.0, 4.0)
_MOST_VOTES = 24_000
_BIN = 1.5
_CLOSING = 0.14
_TRIED = 5


@dataclass(frozen=True, slots=True, eq=False)
class _Comb:
    """Evenly spaced lines: at `angle` (radians, of their normal), closing up by `closing`, from `first` on by `step`.

    Places are pixels from the picture's middle.
    """

    angle: float
    closing: float
    first: float
    step: float
    score: float


@dataclass(frozen=True, slots=True, eq=False)
class _Votes:
    x: Floats
    y: Floats
    angle: Floats
    weight: Floats


def find_grid(photo: Photo, cuts: int) -> Grid | None:
    """Find the lattice of `cuts` cuts each way, or None where it is not plain: then its four corners must be shown."""
    import cv2
    import numpy as np

    shrink = min(1.0, _LONGEST / max(photo.width, photo.height))
    size = (max(2, round(photo.width * shrink)), max(2, round(photo.height * shrink)))
    small = np.asarray(cv2.resize(photo.pixels, size, interpolation=cv2.INTER_AREA), np.uint8)
    votes = _votes(small)
    if votes is None:
        return None
    half = min(size) / 2
    combs = [comb for angle in _directions(votes) for comb in _combs(votes, angle, cuts, half)]
    pairs = sorted(_pairs(combs), key=lambda pair: -pair[0].score - pair[1].score)[:_TRIED]
    best: tuple[float, Floats] | None = None
    for down, across in pairs:
        corners = _corners(down, across, cuts, size)
        if corners is None:
            continue
        corners, _ = refined(small, corners, cuts, (0.2, 0.12))
        sure = _proven(small, corners, cuts)
        if sure is not None and (best is None or sure > best[0]):
            best = (sure, corners)
            if sure > 6:
                break
    if best is None:
        return None
    scale = np.array([photo.width / size[0], photo.height / size[1]])
    return in_shares((best[1] + 0.5) * scale - 0.5, photo.width, photo.height, cuts)


def _votes(small: Pixels) -> _Votes | None:
    """Give the pixels that look most like a thin line, with its direction."""
    import cv2
    import numpy as np

    picture = small.astype(np.float32)
    high = picture - cv2.GaussianBlur(picture, (0, 0), 12)
    flat = high.reshape(-1, 3)[::5]
    flat = np.clip(flat, *np.percentile(flat, (0.5, 99.5)))
    _, axes = np.linalg.eigh(np.cov(flat.T))
    one = np.asarray(cv2.GaussianBlur(np.ascontiguousarray(picture @ axes[:, -1].astype(np.float32)), (0, 0), 0.7))
    height, width = one.shape
    best, turn = np.zeros((height, width), np.float32), np.zeros((height, width), np.float32)
    for scale in _SCALES:
        by = max(1, int(scale / 1.4))
        part = one if by == 1 else cv2.resize(one, (width // by, height // by), interpolation=cv2.INTER_AREA)
        part = cv2.GaussianBlur(part, (0, 0), scale / by)
        xx, yy, xy = (cv2.Sobel(part, cv2.CV_32F, i, j, ksize=3) for i, j in ((2, 0), (0, 2), (1, 1)))
        apart = np.sqrt((xx - yy) ** 2 + 4 * xy * xy)
        middle = np.abs(xx + yy)
        strength = np.minimum(apart, middle) * (scale / by) ** 1.5
        angle = 0.5 * np.arctan2(2 * xy, xx - yy)  # of the direction in which it bends most
        flip = (xx + yy) < 0
        angle = np.where(flip, angle + np.pi / 2, angle)
        if by > 1:
            strength = cv2.resize(strength, (width, height), interpolation=cv2.INTER_LINEAR)
            angle = cv2.resize(angle, (width, height), interpolation=cv2.INTER_NEAREST)
        more = strength > best
        best = np.where(more, strength, best)
        turn = np.where(more, angle, turn)
    edge = 4
    best[:edge] = best[-edge:] = 0
    best[:, :edge] = best[:, -edge:] = 0
    level = max(
        float(np.percentile(best, 100 * max(0.0, 1 - _MOST_VOTES / best.size))), 4 * float(np.median(best)), 0.5
    )
    y, x = np.nonzero(best > level)
    if len(x) < 300:
        return None
    weight = np.minimum(best[y, x], 3 * level) / level
    return _Votes(
        (x - (width - 1) / 2).astype(np.float32),
        (y - (height - 1) / 2).astype(np.float32),
        np.mod(turn[y, x], np.pi).astype(np.float32),
        weight.astype(np.float32),
    )


def _directions(votes: _Votes) -> list[float]:
    """Give the directions (of the normals, radians) that most lines have, commonest first."""
    import numpy as np

    counts = np.bincount((votes.angle / np.pi * 90).astype(np.int32) % 90, weights=votes.weight, minlength=90)
    soft = np.sum([np.roll(counts, k) * w for k, w in ((-2, 0.3), (-1, 0.7), (0, 1.0), (1, 0.7), (2, 0.3))], axis=0)
    found: list[float] = []
    left = np.array(soft)
    for _ in range(6):
        top = int(left.argmax())
        if left[top] < 0.15 * soft.max():
            break
        found.append((top + 0.5) / 90 * np.pi)
        left[[(top + k) % 90 for k in range(-4, 5)]] = 0
    return found


def _combs(votes: _Votes, angle: float, cuts: int, half: float) -> list[_Comb]:
    """Give the best combs of lines in about one direction."""
    import numpy as np

    off = np.abs(np.mod(votes.angle - angle + np.pi / 2, np.pi) - np.pi / 2)
    near = off < np.deg2rad(11)
    x, y, weight = votes.x[near], votes.y[near], votes.weight[near]
    if len(x) < 100:
        return []
    reach = 1.5 * half * 1.5
    count = int(2 * reach / _BIN)
    best: tuple[float, float, float, Floats] | None = None
    for turn in np.deg2rad(np.arange(-4.5, 4.6, 1.5)):
        cos, sin = np.cos(angle + turn), np.sin(angle + turn)
        across, along = x * cos + y * sin, (y * cos - x * sin) / half
        for closing in np.linspace(-_CLOSING, _CLOSING, 7):
            place = ((across * (1 + closing * along) + reach) / _BIN).astype(np.int32)
            profile = np.bincount(np.clip(place, 0, count - 1), weights=weight, minlength=count)
            sharp = float((profile**2).sum())
            if best is None or sharp > best[0]:
                best = (sharp, float(angle + turn), float(closing), np.asarray(profile, np.float64))
    assert best is not None
    return [_Comb(best[1], best[2], first - reach, step, score) for score, first, step in _teeth(best[3], cuts, half)]


def _teeth(profile: Floats, cuts: int, half: float) -> list[tuple[float, float, float]]:
    """Fit combs of `cuts` teeth into a profile; give up to three as (score, first tooth, step), pixels."""
    import numpy as np

    kernel = np.array([0.25, 0.5, 0.25])
    soft = np.sqrt(np.maximum(np.convolve(profile, kernel, "same"), 0))
    soft = soft / max(float(np.percentile(soft, 99)), 1e-6)
    wide = np.maximum(soft, np.maximum(np.roll(soft, 1), np.roll(soft, -1)))
    steps = np.geomspace(max(6.0, 0.25 * half / (cuts - 1)), 2.4 * half / (cuts - 1), 90)
    count = len(soft)
    found: list[tuple[float, float, float]] = []
    starts = np.arange(count)
    for step in steps:
        s = step / _BIN
        last = count - 1 - (cuts - 1) * s
        if last < 1:
            continue
        first = starts[starts <= last]
        slack = wide if s > 8 else soft
        teeth = slack[np.round(first[:, None] + np.arange(cuts) * s).astype(np.int32)]
        mids = soft[np.round(first[:, None] + (np.arange(cuts - 1) + 0.5) * s).astype(np.int32)]
        beyond = np.stack([np.round(first - s), np.round(first + cuts * s)], axis=1).astype(np.int32)
        outer = np.where((beyond >= 0) & (beyond < count), soft[np.clip(beyond, 0, count - 1)], 0)
        score = teeth.mean(axis=1) + 0.5 * teeth.min(axis=1) - mids.mean(axis=1) - 0.4 * outer.max(axis=1)
        top = int(score.argmax())
        found.append((float(score[top]), float(first[top] + 0.5) * _BIN, float(step)))
    found.sort(reverse=True)
    kept: list[tuple[float, float, float]] = []
    for one in found:
        if len(kept) == 3 or one[0] < 0.25:
            break
        if all(abs(one[2] / k[2] - 1) > 0.06 or abs(one[1] - k[1]) > 0.3 * k[2] for k in kept):
            kept.append(one)
    return kept


def _pairs(combs: list[_Comb]) -> list[tuple[_Comb, _Comb]]:
    """Give the pairs of combs that can be the two ways of one lattice."""
    import numpy as np

    found = []
    for i, one in enumerate(combs):
        for other in combs[i + 1 :]:
            turned = abs(np.mod(one.angle - other.angle, np.pi) - np.pi / 2)
            if turned < np.deg2rad(38) and 0.5 < one.step / other.step < 2.0:
                found.append((one, other))
    return found


def _corners(one: _Comb, other: _Comb, cuts: int, size: tuple[int, int]) -> Floats | None:
    """Give the corners of the lattice of two combs, clockwise from top left, or None where they make no quadrangle."""
    import numpy as np

    half = min(size) / 2

    def line(comb: _Comb, place: float) -> tuple[Floats, float]:
        # across (1 + closing along / half) = place, as a straight line near the middle
        lean = -comb.closing * place / half
        normal = np.array([np.cos(comb.angle), np.sin(comb.angle)])
        along = np.array([-normal[1], normal[0]])
        turned = normal - lean * along
        return turned, place

    points = []
    for i, j in ((0, 0), (1, 0), (1, 1), (0, 1)):
        rows = [
            line(one, one.first + i * (cuts - 1) * one.step),
            line(other, other.first + j * (cuts - 1) * other.step),
        ]
        matrix = np.array([rows[0][0], rows[1][0]])
        if abs(np.linalg.det(matrix)) < 0.2:
            return None
        points.append(np.linalg.solve(matrix, np.array([rows[0][1], rows[1][1]])))
    corners = np.array(points) + (np.array(size) - 1) / 2
    return ordered(corners)


def ordered(corners: Floats) -> Floats:
    """Give four corners clockwise, from the one nearest to the top left."""
    import numpy as np

    middle = corners.mean(axis=0)
    turn = np.arctan2(*(corners - middle).T[::-1])
    around = corners[np.argsort(turn)]
    return np.asarray(np.roll(around, -int(around.sum(axis=1).argmin()), axis=0), np.float64)


def _proven(pixels: Pixels, corners: Floats, cuts: int) -> float | None:
    """Give how many times clearer the cuts are than what is between and beyond, or None where that proves nothing."""
    import cv2
    import numpy as np

    sides = np.linalg.norm(corners - np.roll(corners, -1, axis=0), axis=1)
    if not cv2.isContourConvex(corners.astype(np.float32)) or sides.min() < 5 * cuts or sides.max() > 2 * sides.min():
        return None
    step = SIDE / (cuts - 1)
    wider = np.array([[-step, -step], [SIDE + step, -step], [SIDE + step, SIDE + step], [-step, SIDE + step]])
    outer = cv2.perspectiveTransform((wider + MARGIN - 0.5)[None], homography(corners))[0]
    flat, _ = straightened(pixels, outer)
    teeth, between = evidence(flat, cuts + 2)
    clear = [_way_proven(teeth[way], between[way]) for way in (0, 1)]
    worst = min(clear)
    return worst if worst > 0 else None


def _way_proven(teeth: Floats, between: Floats) -> float:
    """Give how many times clearer the cuts of one way are than what is between, or 0 where that proves nothing.

    The first and last of `teeth` are where no cut may be. The figures are judgement: on rendered photos no lattice was
    taken for one shifted by a cut, and patterns of other things were none.
    """
    import numpy as np

    cuts, beyond = teeth[1:-1], teeth[[0, -1]]
    noise = max(float(np.median(between[1:-1])), 0.3)
    usual = float(np.median(cuts))
    outer = cuts[[0, -1]]
    proven = (
        usual > 2.5 * noise
        and bool((outer > np.maximum(0.22 * usual, 1.9 * noise)).all())
        and float((cuts > np.maximum(0.3 * usual, 1.3 * noise)).mean()) >= 0.8
        and bool((beyond < 0.6 * np.minimum(outer, usual)).all())
        and float(between[1:-1].max()) < 0.9 * usual
    )
    return usual / noise if proven else 0.0
