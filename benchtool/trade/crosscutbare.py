"""Which of a straightened cross-cut is bare: what differs from intact paint beyond the paint's own variation.

A pixel's difference from the paint is divided by the local light, smoothed as far as the noise asks, and measured in
units of how much the intact paint around varies (its covariance). What stands out is gathered about one to three
colours of bare ground; a pixel is bare where it is nearer to one of these than to the paint.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from benchtool.trade.crosscutcoat import Coat
from benchtool.trade.crosscutgrid import MARGIN, SIDE, WHOLE, length

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.floating]
    Mask = NDArray[np.bool_]

_SMOOTH = (1.0, 2.0, 3.5, 5.5)
"""Pixels of the straightened square; the least that parts the two colours is taken."""
CLEAR = 6.5
"""Standard deviations of the paint between paint and ground at which less smoothing does (judgement)."""
_FLOOR = 1.2
"""Grey levels by which paint is always let vary, with `_FLOOR_SHARE` of its brightness along its own colour."""
_FLOOR_SHARE = 0.02
_STANDS_OUT = 4.0
_FAINT = 12.0
"""Standard deviations; what differs less must also come in patches, else it is the photo's own noise (judgement)."""
_OF_CUT, _OF_GROUND, _OPPOSITE = 0.12, 0.14, 0.3
"""What differs from the paint by less than this of what the cuts or the clearest ground do is paint, seen through a
smear or in a shade; the third is for what differs the opposite way from the cuts (judgement)."""
_FADES = 0.65
"""Share of what lies beside a colour that still has a good part of it; more is no edge of a flake (judgement)."""
_SECOND = 4.5
_SECOND_LOOKS = (2.0, 3.5)
_LEAST_AREA = 60
_LEAST_SHARE = 0.0015
"""Pixels, and share of what is looked at; less than that in all is dust, not a flake (judgement)."""


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """What is looked at: the straightened picture, the paint, and where.

    `inner` is what the ground's colours are gathered from; `clean` is what is no cut and no glare: only that is
    smoothed over. `grain` is how many pixels across one of the photo's own is. `cut` is how the cuts differ from the
    paint, if it is known.
    """

    flat: Floats
    coat: Coat
    inner: Mask
    clean: Mask
    grain: float = 1.0
    cut: Floats | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Bare:
    """What is bare: `lean` is below 0 where a pixel is nearer to the ground than to paint, half the way being 0.

    `lean` runs from +0.5 at the paint's colour to -0.5 at the ground's. `apart` is how far the two lie apart in
    standard deviations (0 where nothing stands out); `smooth` how much was smoothed, pixels. `grounds` are the colours
    found, `unlike` is 1 where a pixel just stands out from the paint; `second`: one was found at a second look.
    """

    lean: Floats
    apart: float
    smooth: float
    grounds: Floats
    unlike: Floats
    second: bool = False


def _whitening(some: Floats, usual: Floats) -> Floats:
    """Give what brings differences to units of the spread of the intact paint, of which `some` are given."""
    import numpy as np

    if len(some) > 50:
        size = length(some)
        some = some[size <= np.percentile(size, 97)]
    spread = np.cov(some.T) * 1.15 if len(some) > 50 else np.eye(3) * 9
    bright = usual / max(float(np.linalg.norm(usual)), 1e-6)
    spread = spread + np.eye(3) * _FLOOR**2 + np.outer(bright, bright) * (_FLOOR_SHARE * np.linalg.norm(usual)) ** 2
    values, axes = np.linalg.eigh(spread)
    return np.asarray((axes / np.sqrt(values)).T, np.float32)


def _patch(across: int, unit: float) -> NDArray[np.uint8]:
    """Give a square of about so many pixels of the whole size, an odd number of this one's."""
    import numpy as np

    side = 2 * int((across - 1) / 2 * unit) + 1
    return np.ones((side, side), np.uint8)


def _grounds(
    seen: Floats, size: Floats, inner: Mask, limit: float, scale: tuple[float, float], cut: Floats | None
) -> Floats:
    """Give the colours of bare ground, as whitened differences from the paint: none, or up to three.

    `scale` is the pixel's size as a share of the whole square's, and the photo's own grain.
    """
    import cv2
    import numpy as np

    unit, grain = scale
    found: list[Floats] = []
    left = inner & (size > limit)
    area = max(int(inner.sum()), 1)
    for _ in range(3):
        if left.sum() < max(_LEAST_AREA * unit * unit, _LEAST_SHARE * area):
            break
        core = cv2.erode(left.astype(np.uint8), _patch(5, unit)).astype(bool)
        pool = seen[core] if core.sum() >= 80 * unit * unit else seen[left]
        pool = pool[:: max(1, len(pool) // 20_000)]
        centre = np.median(pool, axis=0)
        for _ in range(6):
            toward = centre / max(float(centre @ centre), 1e-6)
            near = length(pool - centre) < 0.5 * np.linalg.norm(centre)
            near &= pool @ toward > 0.6
            if near.sum() < 20:
                break
            centre = np.median(pool[near], axis=0)
        if np.linalg.norm(centre) < limit * 0.9:
            break
        # a mixed pixel on an edge between paint and this ground is no other ground
        here = cv2.transform(seen, (centre / float(centre @ centre)).astype(np.float32)[None]) > 0.5
        here &= length(seen - centre.astype(np.float32)) < 0.6 * np.linalg.norm(centre)
        least = round(7 * grain) if cut is not None and _jpegs_own(centre, cut) else 5
        far = float(np.linalg.norm(centre))
        if far > _FAINT or (_solid(here & inner, least, unit) and not _soft(seen, centre, here, inner, found, unit)):
            found.append(centre)
        left &= cv2.dilate(here.astype(np.uint8), _patch(11, unit)) == 0
        left = cv2.morphologyEx(left.astype(np.uint8), cv2.MORPH_OPEN, _patch(5, unit)).astype(bool)
    deep = 0.0 if cut is None else _OF_CUT * float(np.linalg.norm(cut))
    most = max((float(np.linalg.norm(k)) for k in found), default=0.0)
    kept = []
    for centre in found:
        opposite = cut is not None and float(centre @ cut) < 0
        if np.linalg.norm(centre) > max(deep, (_OPPOSITE if opposite else _OF_GROUND) * most):
            kept.append(centre)
    return np.array(kept) if kept else np.zeros((0, 3))


def _soft(seen: Floats, centre: Floats, here: Mask, inner: Mask, found: list[Floats], unit: float) -> bool:
    """Tell whether a colour fades out into the paint: a flake has an edge, a smear or a shadow has none."""
    import cv2
    import numpy as np

    along = cv2.transform(seen, (centre / float(centre @ centre)).astype(np.float32)[None])
    whole = here.astype(np.uint8)
    beside = (cv2.dilate(whole, _patch(25, unit)) > 0) & inner & ~here
    for other in found:  # what is known for ground is no fading of this one
        toward = (other / float(other @ other)).astype(np.float32)[None]
        beside &= cv2.dilate((cv2.transform(seen, toward) > 0.4).astype(np.uint8), _patch(11, unit)) == 0
    of_all, around = float((here & inner).sum()), float(beside.sum())
    if of_all > 0.35 * float(inner.sum()) or around < 0.25 * of_all:
        return False
    return float((beside & (along > 0.25)).sum()) > _FADES * around


def _jpegs_own(centre: Floats, cut: Floats) -> bool:
    """Tell whether a colour may be what JPEG draws beside the cuts: faint, and another than theirs or the opposite."""
    import numpy as np

    long, deep = float(np.linalg.norm(centre)), float(np.linalg.norm(cut))
    alike = float(centre @ cut) / max(long * deep, 1e-9)
    return alike < 0.9 and (alike < 0.7 or long < 0.5 * deep)


def _solid(mask: Mask, least: int, unit: float) -> bool:
    """Tell whether a good part of a mask is in patches `least` pixels across, not in specks and hairs."""
    import cv2
    import numpy as np

    whole = mask.astype(np.uint8)
    patches = cv2.morphologyEx(whole, cv2.MORPH_OPEN, _patch(least, unit))
    return float(patches.sum()) > 0.35 * float(whole.sum())


def _lean(seen: Floats, grounds: Floats) -> Floats:
    """Give how far each pixel leans to paint (+0.5) or to the nearest ground (-0.5)."""
    import cv2
    import numpy as np

    lean = np.full(seen.shape[:2], 0.5, np.float32)
    for centre in grounds:
        length2 = float(centre @ centre)
        along = cv2.transform(seen, (centre / length2).astype(np.float32)[None])
        lean = np.minimum(lean, np.clip(0.5 - along, -0.5, 0.5))
    return lean


def roughly_bare(look: Look) -> Bare:
    """Tell bare from paint for a start, at half the size."""
    import cv2
    import numpy as np

    half = np.s_[::2, ::2]
    soft = np.asarray(cv2.resize(look.flat, (WHOLE // 2, WHOLE // 2), interpolation=cv2.INTER_AREA), np.float32)
    coat = look.coat
    small = Coat(coat.colour[half], coat.light[half], coat.around[half], coat.even)
    told = tell_bare(replace(look, flat=soft, coat=small, inner=look.inner[half], clean=look.clean[half]))
    lean = np.asarray(cv2.resize(told.lean, (WHOLE, WHOLE), interpolation=cv2.INTER_LINEAR), np.float32)
    return replace(told, lean=lean)


def tell_bare(look: Look, *, again: bool = True) -> Bare:
    """Tell bare from paint over the whole square; `again`: look a second time for a ground that is harder to see."""
    import numpy as np

    whole = look.clean.astype(np.float32)[..., None]
    off = (look.flat - look.coat.colour) / look.coat.light[..., None] * whole
    raw = np.dstack([off, whole]).astype(np.float32, copy=False)
    best = _told(raw, look, _SMOOTH[0])
    for smooth in _SMOOTH[1:]:
        if best.apart >= CLEAR:
            break
        told = _told(raw, look, smooth)
        if told.apart > best.apart * 1.25:
            best = told
    if best.apart and again:
        best = _second_look(raw, look, best)
    return best


def _second_look(raw: Floats, look: Look, first: Bare) -> Bare:
    """Look for a second ground, nearer to the paint, that drowned in the noise or beside the first."""
    import cv2
    import numpy as np

    known = cv2.dilate((first.lean < 0.2).astype(np.uint8), _patch(15, len(raw) / WHOLE)) > 0
    for smooth in _SECOND_LOOKS:
        if smooth <= first.smooth:
            continue
        told = _told(raw, replace(look, inner=look.inner & ~known), smooth)
        if told.apart > max(_SECOND, _OF_GROUND * first.apart):
            lean = np.where(known, first.lean, np.minimum(first.lean, told.lean))
            return replace(first, lean=lean, apart=min(first.apart, told.apart), second=True)
    return first


def _told(raw: Floats, look: Look, smooth: float) -> Bare:
    """Tell bare from paint at one smoothing; `raw` holds differences from the paint and where they are clean."""
    import cv2
    import numpy as np

    coat, unit = look.coat, len(raw) / WHOLE
    soft = cv2.GaussianBlur(raw, (0, 0), smooth * unit)
    part = np.asarray(soft[..., :3] / np.maximum(soft[..., 3:], 0.02), np.float32)
    some = np.flatnonzero(coat.around)[::7]
    usual = np.median(coat.colour[::8, ::8].reshape(-1, 3), axis=0)
    white = _whitening(part.reshape(-1, 3)[some], usual)
    seen = np.asarray(cv2.transform(part, white), np.float32)
    size = length(seen)
    quiet = float(np.percentile(size.ravel()[some], 99.5)) if len(some) else 3.5
    limit = float(np.clip(quiet * 1.1, _STANDS_OUT, 9.0))
    low, high = (len(raw) * k // WHOLE for k in (MARGIN, MARGIN + SIDE))
    square = np.s_[low:high, low:high]
    cut = None if look.cut is None else white @ look.cut
    grounds = _grounds(seen[square], size[square], look.inner[square], limit, (unit, look.grain), cut)
    apart = float(length(grounds).min()) if len(grounds) else 0.0
    return Bare(_lean(seen, grounds), apart, smooth, grounds, size / limit)
