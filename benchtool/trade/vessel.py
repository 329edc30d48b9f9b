"""The cup a mix is made in: how much it holds, and how high an amount stands in it."""

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from benchtool.trade.numbers import shorten

SMALLEST_MM = 0.1
LARGEST_MM = 10_000.0
"""Between these an inside size can be meant; outside them it is a slip of the keys or another unit."""

_NOISE = 1e-9
"""How far, as a fraction, a computed level may pass the brim and still count as a full cup."""


class NotACup(ValueError):
    """No cup has this shape, or the cup does not reach this far; the message says what to write instead."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cup:
    """A round cup with a flat bottom: straight, tapered either way, or known by marks that were measured.

    `height_mm` is the inside height, bottom to brim; `bottom_mm` and `top_mm` are inside diameters, and equal
    ones make a straight cup. `marks` are (mL, mm above the bottom), rising. Where there are any, they alone say
    what the cup holds: a straight line from the empty bottom to the first and from each to the next, and
    nothing above the last. The diameters are then for the drawing only.

    Raises:
        NotACup: a size that is no size in mm, marks that do not rise or stand above the brim, or no name.
    """

    name: str
    height_mm: float
    bottom_mm: float
    top_mm: float
    marks: tuple[tuple[float, float], ...] = ()
    metal: bool = False

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise NotACup("The name of the cup is empty: write one to know it by, such as 100 mL cup.")
        _check_mm("height", self.height_mm, 60)
        _check_mm("bottom diameter", self.bottom_mm, 45)
        _check_mm("top diameter", self.top_mm, 58)
        below = (0.0, 0.0)
        for number, mark in enumerate(self.marks, start=1):
            if not all(math.isfinite(value) for value in mark):
                raise NotACup(f"Mark {number} is no number: write its mL and its mm above the bottom.")
            if not (mark[0] > below[0] and mark[1] > below[1]):
                than = "the bottom" if number == 1 else f"mark {number - 1}"
                raise NotACup(
                    f"Mark {number} does not rise above {than}: write the marks from the lowest up, "
                    f"each with more mL and more mm than the one before."
                )
            if mark[1] > self.height_mm:
                raise NotACup(
                    f"Mark {number} stands {mark[1]:.6g} mm up and the height of the cup "
                    f"is {self.height_mm:.6g} mm: write marks up to the brim."
                )
            below = mark

    @property
    def capacity_mL(self) -> float:
        """How much fits: to the brim, or to the last mark."""
        return self.marks[-1][0] if self.marks else self._frustum_mL(self.height_mm)

    def volume_mL(self, height_mm: float) -> float:
        """Say how much is in the cup (mL) when it stands `height_mm` above the bottom.

        A tapered cup is a frustum of a cone: V = pi h (d1^2 + d1 d2 + d2^2) / 12, Euclid's formula in diameters.

        Raises:
            NotACup: a height below zero, above the brim, or above the last mark.
        """
        level = self._within(height_mm, self.marks[-1][1] if self.marks else self.height_mm)
        if self.marks:
            return _between([mm for _, mm in self.marks], [mL for mL, _ in self.marks], level)
        return self._frustum_mL(level)

    def height_mm_of(self, volume_mL: float) -> float:
        """Say how high (mm above the bottom) `volume_mL` stands: where a dipstick is marked.

        The diameter at the level is a cube root: d^3 = d1^3 + 12 V (d2 - d1) / (pi H). The height then follows
        from the frustum's volume, not from d - d1 over d2 - d1: that keeps its digits where the cup is nearly
        straight, and needs no second case where it is straight.

        Raises:
            NotACup: an amount below zero, or more than the cup holds.
        """
        if not (math.isfinite(volume_mL) and volume_mL >= 0):
            raise NotACup("The amount in the cup is no amount: write it in mL, 0 or more.")
        capacity = self.capacity_mL
        if volume_mL > capacity * (1 + _NOISE):
            where = "up to its last mark" if self.marks else "to the brim"
            raise NotACup(f"{volume_mL:.5g} mL does not fit: {shorten(self.name)} holds {capacity:.5g} mL {where}.")
        if self.marks:
            return _between([mL for mL, _ in self.marks], [mm for _, mm in self.marks], min(volume_mL, capacity))
        cubic_mm = 1000 * volume_mL
        bottom = self.bottom_mm
        cube = bottom**3 + 12 * cubic_mm * (self.top_mm - bottom) / (math.pi * self.height_mm)
        level = math.cbrt(cube)
        height = 12 * cubic_mm / (math.pi * (bottom**2 + bottom * level + level**2))
        return min(height, self.height_mm)

    def width_mm(self, height_mm: float) -> float:
        """Give the inside diameter (mm) at `height_mm` above the bottom, for drawing to scale.

        Raises:
            NotACup: a height below zero or above the brim.
        """
        level = self._within(height_mm, self.height_mm)
        return self.bottom_mm + (self.top_mm - self.bottom_mm) * level / self.height_mm

    def _frustum_mL(self, height_mm: float) -> float:
        bottom = self.bottom_mm
        level = bottom + (self.top_mm - bottom) * height_mm / self.height_mm
        return math.pi * height_mm * (bottom**2 + bottom * level + level**2) / 12 / 1000

    def _within(self, height_mm: float, top_mm: float) -> float:
        if not (math.isfinite(height_mm) and 0 <= height_mm <= top_mm * (1 + _NOISE)):
            raise NotACup(f"The level in {shorten(self.name)} is written in mm, from 0 to {top_mm:.5g}.")
        return min(height_mm, top_mm)


def _check_mm(what: str, value: float, such_as: int) -> None:
    if math.isfinite(value) and SMALLEST_MM <= value <= LARGEST_MM:
        return
    has = "is no number" if math.isnan(value) else f"cannot be {value:g} mm"
    raise NotACup(
        f"The {what} {has}: measure it inside the cup and write it in mm, "
        f"from {SMALLEST_MM:g} to {LARGEST_MM:.0f}, such as {such_as}."
    )


def _between(known: Sequence[float], wanted: Sequence[float], at: float) -> float:
    """Read a straight line from (0, 0) through the rising points; `at` is not above the last of them."""
    i = bisect_left(known, at)
    x0, y0 = (known[i - 1], wanted[i - 1]) if i else (0.0, 0.0)
    return y0 + (wanted[i] - y0) * ((at - x0) / (known[i] - x0))


USUAL_CUPS: tuple[Cup, ...] = (
    Cup(name="30 mL tapered cup", height_mm=32, bottom_mm=30, top_mm=40),
    Cup(name="60 mL tapered cup", height_mm=42, bottom_mm=38, top_mm=48),
    Cup(name="100 mL tapered cup", height_mm=50, bottom_mm=45, top_mm=58),
    Cup(name="250 mL tapered cup", height_mm=72, bottom_mm=60, top_mm=75),
    Cup(name="30 mL straight jar", height_mm=36, bottom_mm=34, top_mm=34),
    Cup(name="60 mL straight jar", height_mm=50, bottom_mm=40, top_mm=40),
    Cup(name="400 mL tin", height_mm=90, bottom_mm=76, top_mm=76),
)
"""Cups to begin with, filled to the brim. Their inside sizes are rounded numbers of our own and approximate:
common practice, no source: measure yours."""
