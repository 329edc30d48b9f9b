"""Correcting by hand what was taken to be bare, stroke by stroke, and what the corrected area comes to as a grade."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchtool.trade.crosscut import UNKNOWN, Measured
from benchtool.trade.grades import BY_AREA, Method, classes_of
from benchtool.trade.numbers import figure
from benchtool.trade.saying import say

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Bytes = NDArray[np.uint8]
    Mask = NDArray[np.bool_]

Spot = tuple[float, float]
MOST_STROKES = 500
"""So many can be taken back; each is kept in 45 kB (judgement)."""


def alpha_of(mask: Mask) -> Bytes:
    """Give a mask as bytes that a picture can be laid over: 255 where it is set, 0 elsewhere."""
    import numpy as np

    return np.ascontiguousarray(np.where(mask, 255, 0).astype(np.uint8))


class HandMask:
    """A mask that a brush works on: `shown` is 255 where bare, 0 where coated, and is painted on in place.

    What does not count (cut lines, glare) the brush leaves alone.
    """

    def __init__(self, mask: Mask, counted: Mask, *, corrected: bool = False) -> None:
        self.shown = alpha_of(mask & counted)
        self._counted = counted
        self._begun = corrected
        self._before: list[Bytes] = []

    @property
    def mask(self) -> Mask:
        """What is bare now, as a copy."""
        return self.shown > 127

    @property
    def corrected(self) -> bool:
        """Whether a hand changed it."""
        return self._begun or bool(self._before)

    @property
    def strokes(self) -> int:
        """How many strokes can be taken back."""
        return len(self._before)

    def begin(self) -> None:
        """Begin a stroke, so that it can be taken back as one."""
        import numpy as np

        self._begun = self._begun or len(self._before) >= MOST_STROKES
        self._before = [*self._before[-MOST_STROKES + 1 :], np.packbits(self.shown > 127)]

    def brush(self, start: Spot, end: Spot, radius: float, *, bare: bool) -> None:
        """Draw the round brush from one spot to another (pixels of the mask, across and down)."""
        import numpy as np

        rows, columns = self.shown.shape
        left, right = sorted((start[0], end[0]))
        top, bottom = sorted((start[1], end[1]))
        x0, x1 = max(0, math.floor(left - radius)), min(columns, math.ceil(right + radius) + 1)
        y0, y1 = max(0, math.floor(top - radius)), min(rows, math.ceil(bottom + radius) + 1)
        if x0 >= x1 or y0 >= y1:
            return
        y, x = np.ogrid[y0:y1, x0:x1]
        dx, dy = end[0] - start[0], end[1] - start[1]
        long2 = dx * dx + dy * dy
        px, py = x + 0.5 - start[0], y + 0.5 - start[1]
        along = np.clip((px * dx + py * dy) / long2, 0.0, 1.0) if long2 > 1e-9 else np.zeros(np.broadcast(px, py).shape)
        near = (px - along * dx) ** 2 + (py - along * dy) ** 2 <= radius * radius
        self.shown[y0:y1, x0:x1][near & self._counted[y0:y1, x0:x1]] = 255 if bare else 0

    def end(self) -> bool:
        """End the stroke; one that changed nothing is none. Says whether it was one."""
        import numpy as np

        if self._before and np.array_equal(self._before[-1], np.packbits(self.shown > 127)):
            self._before = self._before[:-1]
            return False
        return True

    def undo(self) -> bool:
        """Take the last stroke back; says whether there was one."""
        import numpy as np

        if not self._before:
            return False
        packed = self._before[-1]
        self._before = self._before[:-1]
        size = self.shown.size
        self.shown[:] = np.unpackbits(packed, count=size).reshape(self.shown.shape) * np.uint8(255)
        return True


@dataclass(frozen=True, slots=True)
class Answer:
    """What a measured area comes to: rounded as it is recorded, in words, and which grades it may be, best first."""

    percent: float
    plus_minus: float
    words: str
    candidates: tuple[str, ...]
    classes: str
    ask: str
    doubt: str
    unknown: bool


def answer(method: Method, counted: Measured) -> Answer:
    """Turn what was counted into a grade of `method`, or into those between which the painter chooses."""
    percent, plus_minus = round(counted.removed_percent, 1), round(counted.plus_minus, 1)
    percent = min(100.0, max(0.0, percent))
    unknown = counted.plus_minus >= UNKNOWN
    found = classes_of(method, percent, min(plus_minus, 100.0))
    shown, give = _shown(percent, plus_minus)
    words = say("{percent} % ± {give} removed", percent=shown, give=give)
    if unknown:
        words = say("Not measured")
    names = {Method.ISO_2409: "ISO 2409", Method.D3359_B: "ASTM D3359 B"}
    classes = "" if unknown else say(
        "{iso}: class {n}. {astm}: {code}.",
        iso=names[Method.ISO_2409], n=_or(classes_of(Method.ISO_2409, percent, plus_minus)),
        astm=names[Method.D3359_B], code=_or(classes_of(Method.D3359_B, percent, plus_minus)),
    )  # fmt: skip
    return Answer(percent, plus_minus, words, found, classes, _ask(method, found, unknown), counted.doubt, unknown)


def usable(method: Method) -> bool:
    """Whether a photo can grade this test: a lattice of cuts, graded by its area."""
    return method in BY_AREA


def _ask(method: Method, found: Sequence[str], unknown: bool) -> str:
    if unknown:
        return say("Mark the bare area by hand, or choose the grade by eye.")
    if len(found) < 2:
        return ""
    if method is Method.ISO_2409:
        return say("There is no class in between: choose {grades}.", grades=_or(found))
    return say("The standard allows no grade in between: choose {grades}.", grades=_or(found))


def _or(found: Sequence[str]) -> str:
    if len(found) < 2:
        return "".join(found)
    return say("{some} or {last}", some=", ".join(found[:-1]), last=found[-1])


def _shown(percent: float, plus_minus: float) -> tuple[str, str]:
    """Write no more figures than the uncertainty leaves room for; whole points of it are rounded up, never down."""
    if plus_minus < 2:
        return figure(round(percent, 1)), figure(round(plus_minus, 1))
    return figure(round(percent)), figure(math.ceil(plus_minus))
