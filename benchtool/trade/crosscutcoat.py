"""What intact paint looks like all over a straightened cross-cut: its colour place by place, and how much it varies.

The paint around the lattice is the anchor: it is intact. Its colour is followed across the picture as a smooth
surface per channel, so that uneven light falls out; inside the lattice the surface leans on what is already known to
be paint there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchtool.trade.crosscutgrid import MARGIN, SIDE, WHOLE, length

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.floating]
    Mask = NDArray[np.bool_]

_BLOCK = 30
_BLOCKS = WHOLE // _BLOCK
_TRIES = 200
_ALIKE = 7.0
"""Grey levels a block of paint may be off a plane of light, with `_ALIKE_SHARE` of its brightness (judgement)."""
_ALIKE_SHARE = 0.07
_STRETCH = 250
NEAR = 18
"""Pixels beside the lattice that are not trusted to be intact."""


@dataclass(frozen=True, slots=True, eq=False)
class Coat:
    """The colour of intact paint at each pixel, its light as a share of the usual, and where paint was seen around.

    `even` is the share of the surroundings that are alike; `around` are those pixels.
    """

    colour: Floats
    light: Floats
    around: Mask
    even: float


def _means(flat: Floats, mask: Mask) -> tuple[Floats, Floats]:
    """Give the mean colour of each block under the mask, and the share of the block that it covers."""
    import cv2
    import numpy as np

    size = (_BLOCKS, _BLOCKS)
    weight = mask.astype(np.float32)
    share = np.asarray(cv2.resize(weight, size, interpolation=cv2.INTER_AREA), np.float32)
    sums = cv2.resize(flat * weight[..., None], size, interpolation=cv2.INTER_AREA)
    return np.asarray(sums / np.maximum(share, 1e-6)[..., None], np.float32), share


def _terms(x: Floats, y: Floats, degree: int) -> Floats:
    import numpy as np

    return np.stack([x**i * y**j for i in range(degree + 1) for j in range(degree + 1 - i)], axis=-1)


def _places(count: int) -> tuple[Floats, Floats]:
    import numpy as np

    at = (np.arange(count, dtype=np.float32) + 0.5) / count * 2 - 1
    x, y = np.meshgrid(at, at)
    return x, y


def _alike(colours: Floats, x: Floats, y: Floats) -> Mask:
    """Give which blocks lie on one plane of light, the plane on which most lie (a fixed random choice of four each)."""
    import numpy as np

    chance = np.random.default_rng(20)
    terms = _terms(x, y, 1)
    some = chance.integers(0, len(colours), (_TRIES, 4))
    picked, told = terms[some], colours[some]
    left = np.einsum("tki,tkj->tij", picked, picked) + 1e-3 * np.eye(3)
    planes = np.linalg.solve(left, np.einsum("tki,tkj->tij", picked, told))
    levels = np.einsum("ni,tij->tnj", terms, planes)
    close = length(levels - colours[None]) < _ALIKE + _ALIKE_SHARE * length(levels)
    return np.asarray(close[int(close.sum(axis=1).argmax())], np.bool_)


def _surface(colours: Floats, weight: Floats, x: Floats, y: Floats, degree: int) -> Floats:
    """Fit a smooth surface per channel, blocks that stick out let go."""
    import numpy as np

    terms = _terms(x, y, degree)
    hold = 1e-3 * np.eye(terms.shape[1])
    hold[0, 0] = 0
    trust = weight.copy()
    found: Floats = np.zeros((terms.shape[1], 3))
    for _ in range(5):
        left = terms.T @ (terms * trust[:, None]) + hold * max(float(trust.sum()), 1e-6)
        found = np.linalg.solve(left, terms.T @ (colours * trust[:, None]))
        off = length(terms @ found - colours)
        usual = max(float(np.median(off[weight > 0])), 0.7)
        trust = weight * np.clip(1 - (off / (5 * usual)) ** 2, 0, 1) ** 2
    return found


def coat_around(flat: Floats, usable: Mask) -> Coat | None:
    """Give the intact paint as its surroundings tell it, or None where too little of them is in the picture."""
    import numpy as np

    ring = usable.copy()
    ring[MARGIN - NEAR : MARGIN + SIDE + NEAR, MARGIN - NEAR : MARGIN + SIDE + NEAR] = False
    colours, share = _means(flat, ring)
    x, y = _places(_BLOCKS)
    enough = share > 0.25
    if enough.sum() < 24:
        return None
    told, tx, ty = colours[enough], x[enough], y[enough]
    alike = _alike(told, tx, ty)
    weight = np.where(alike, share[enough], 0.0)
    found = _surface(told, weight, tx, ty, 2)
    known = enough.copy()
    known[enough] = alike
    colour, light = _spread(found, 2, _membrane(colours - _terms(x, y, 2) @ found, known))
    close = length(flat - colour) < 3 * (_ALIKE + _ALIKE_SHARE * length(colour))
    return Coat(colour, light, ring & close, float(alike.mean()))


def coat_within(flat: Floats, coat: Coat, paint: Mask) -> Coat:
    """Give the intact paint again, now that `paint` inside the lattice is known too."""
    known = coat.around | paint
    colours, share = _means(flat, known)
    x, y = _places(_BLOCKS)
    enough = share > 0.2
    found = _surface(colours[enough], share[enough], x[enough], y[enough], 3)
    left = colours - _terms(x, y, 3) @ found
    known = enough & (length(left) < 3 * (_ALIKE + _ALIKE_SHARE * length(colours)))
    colour, light = _spread(found, 3, _membrane(left, known))
    return Coat(colour, light, coat.around, coat.even)


def _membrane(left: Floats, known: Mask) -> Floats:
    """Give what a smooth surface leaves over, stretched like a skin over the blocks where it is not known."""
    import cv2
    import numpy as np

    hold = known.astype(np.float32)[..., None]
    given = np.where(known[..., None], left, 0).astype(np.float32)
    soft = cv2.GaussianBlur(given, (0, 0), 0.6) / np.maximum(cv2.GaussianBlur(hold, (0, 0), 0.6), 0.2)[..., None]
    given = np.where(known[..., None], soft, 0).astype(np.float32)
    skin = given.copy()
    for _ in range(_STRETCH):
        skin = cv2.blur(skin, (3, 3), borderType=cv2.BORDER_REPLICATE) * (1 - hold) + given
    return np.asarray(skin, np.float32)


def _spread(found: Floats, degree: int, rest: Floats) -> tuple[Floats, Floats]:
    """Give a surface, with what is left of it block by block, for each pixel: its colour and its light."""
    import cv2
    import numpy as np

    quarter = WHOLE // 4
    x, y = _places(quarter)
    small = (_terms(x, y, degree) @ found).astype(np.float32)
    small += cv2.resize(rest, (quarter, quarter), interpolation=cv2.INTER_CUBIC)
    small = np.clip(small, 1.0, 255.0)
    usual = np.median(small[::2, ::2].reshape(-1, 3), axis=0)
    light = np.asarray(np.clip(small @ (usual / float(usual @ usual)), 0.15, 4.0), np.float32)
    colour, grown = (cv2.resize(k, (WHOLE, WHOLE), interpolation=cv2.INTER_LINEAR) for k in (small, light))
    return np.asarray(colour, np.float32), np.asarray(grown, np.float32)
