"""How much paint an area takes, and how thick it lies: wet, thinned and dry."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

TRANSFER_PERCENT: Mapping[str, float] = {"airbrush": 40.0, "mini gun": 50.0, "full-size gun": 40.0}
"""Of 100 parts of paint that leave the gun, how many stay on a small one-off piece. Set your own.

The three figures are from memory; what was read only bounds them. Tests for an air district gave 60 to 70 % on
large surfaces and 20 to 50 % on small ones (paintcenter.org, April 2009); high-volume low-pressure guns are put
at 50 to 60 % and older cup guns at 30 % (pfonline.com, a primer on transfer efficiency); a state rule reckons
25 % for air-atomised spray on metal furniture (Wisconsin NR 440.48, table 1). Nothing was found for an airbrush.
Pressure, distance, fan and the shape of the piece move all of them: spray a known area, weigh what left the gun
and what stayed, and set that.
"""

USUAL_NOTCHES_UM: tuple[float, ...] = (25, 50, 75, 100, 125, 150, 175, 200, 225, 250, 275, 300, 350, 400)
"""Teeth of a usual wet-film comb, um, as far as sprayed coats go. From memory: read the figures on yours."""

MOST_COATS = 100
THICKEST_DRY_UM = 10_000.0
"""No coat of paint dries to 10 mm; more is a slip of the unit (judgement, no source)."""
_IN_MM = 25.4
_FT2_M2 = (12 * _IN_MM / 1000) ** 2
_US_GAL_L = 231 * (_IN_MM / 100) ** 3


class NotACoat(ValueError):
    """No coat of paint can be that; the message says what to write instead."""


def rectangle_m2(length_mm: float, width_mm: float) -> float:
    """Give the area (m2) of a rectangle, one face.

    Raises:
        NotACoat: a side that is not above zero.
    """
    return _area(_above_zero("length", length_mm, "mm") * _above_zero("width", width_mm, "mm"))


def disc_m2(diameter_mm: float) -> float:
    """Give the area (m2) of a disc, one face.

    Raises:
        NotACoat: a diameter that is not above zero.
    """
    return _area(math.pi * _above_zero("diameter", diameter_mm, "mm") ** 2 / 4)


def cap_m2(diameter_mm: float, height_mm: float) -> float:
    """Give the curved area (m2) of a piece of a ball: pi (a^2 + h^2).

    `diameter_mm` = 2 a is across the rim, not of the whole ball, and `height_mm` is from the rim's plane to
    the crown; it may be more than half the ball. A whole ball is two half balls. The rim's own disc is not
    counted.

    Raises:
        NotACoat: a diameter or height that is not above zero.
    """
    rim, height = _above_zero("diameter", diameter_mm, "mm"), _above_zero("height", height_mm, "mm")
    return _area(math.pi * (rim**2 / 4 + height**2))


def cylinder_m2(diameter_mm: float, height_mm: float, ends: int = 0) -> float:
    """Give the area (m2) of a cylinder's side, with `ends` (0, 1 or 2) of its discs.

    Raises:
        NotACoat: a diameter or height that is not above zero, or another number of ends.
    """
    if ends not in (0, 1, 2):
        raise NotACoat("A cylinder has two ends: write how many of them are painted, 0, 1 or 2.")
    across, height = _above_zero("diameter", diameter_mm, "mm"), _above_zero("height", height_mm, "mm")
    return _area(math.pi * across * height + ends * math.pi * across**2 / 4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sized:
    """How much to mix, and how thick each coat lies.

    `spread_m2_per_L` is what a litre of unthinned paint covers with one coat when none is lost. `wet_um` and
    `wet_thinned_um` are one coat as it lands, without and with the reducer; `dry_um` is what stays of it and
    `total_dry_um` of all coats. `paint_mL` and `reducer_mL` together are `ready_mL`, for all coats, with what
    misses the piece and with `loss_mL`, what stays in cup and hose.
    """

    spread_m2_per_L: float
    wet_um: float
    wet_thinned_um: float
    dry_um: float
    total_dry_um: float
    paint_mL: float
    reducer_mL: float
    ready_mL: float
    loss_mL: float

    @property
    def spread_ft2_per_US_gal(self) -> float:
        """The same spread in square feet a US gallon: 1604 x solids / mils, from 231 cubic inches a gallon."""
        return self.spread_m2_per_L * _US_GAL_L / _FT2_M2


def size(
    *,
    area_m2: float,
    dry_um: float,
    solids_percent: float,
    transfer_percent: float = 100,
    coats: int = 1,
    thinned_percent: float = 0,
    loss_mL: float = 0,
) -> Sized:
    """Work out how much to mix for `area_m2`, and the film of each coat.

    `dry_um` is wanted of each coat; `solids_percent` are the volume solids of the activated paint before
    reducer (the sheet's figure; see `mixed_solids`), `thinned_percent` the reducer for 100 parts of it, both by
    volume. `transfer_percent` of what leaves the gun lands. `loss_mL` is of ready-to-spray mix, since that is
    what is left in cup and hose: once for the job, however many coats; so part of it is paint and part
    reducer. One square metre at one um is one mL.

    Spread = 10 x solids % / dry um and wet = dry x (1 + thinned) / solids: the usual estimating formulas
    (printed in coating makers' spreading-rate notes; ISO 23811 and ASTM D2697 say how solids are measured).

    Raises:
        NotACoat: an area or film not above zero, a film over `THICKEST_DRY_UM`, solids or transfer of 0 or over
            100 %, no whole number of coats from 1 on, or reducer or loss below zero.
    """
    _above_zero("area", area_m2, "m²")
    if _above_zero("dry film", dry_um, "µm") > THICKEST_DRY_UM:
        raise NotACoat(
            f"The dry film is over {THICKEST_DRY_UM / 1000:g} mm, and no coat is that thick: write it in µm."
        )
    solids = _percent("volume solids are", solids_percent, "the figure by volume on the data sheet") / 100
    transfer = _percent("transfer efficiency is", transfer_percent, "what the gun brings onto the piece") / 100
    thinned = _not_below_zero("reducer", thinned_percent, "% of the paint") / 100
    lost = _not_below_zero("loss in cup and hose", loss_mL, "mL")
    if not (1 <= coats <= MOST_COATS and coats == int(coats)):
        raise NotACoat(f"The coats must be a whole number: write how many there are, from 1 to {MOST_COATS}.")
    landed_mL = area_m2 * dry_um * coats / solids
    paint_mL = landed_mL / transfer + lost / (1 + thinned)
    sized = Sized(
        spread_m2_per_L=1000 * solids / dry_um,
        wet_um=dry_um / solids,
        wet_thinned_um=dry_um * (1 + thinned) / solids,
        dry_um=dry_um,
        total_dry_um=dry_um * coats,
        paint_mL=paint_mL,
        reducer_mL=paint_mL * thinned,
        ready_mL=paint_mL * (1 + thinned),
        loss_mL=lost,
    )
    if not all(map(math.isfinite, (sized.spread_m2_per_L, sized.wet_thinned_um, sized.ready_mL))):
        raise NotACoat("These figures make more paint than can be counted: check the area, the film and the solids.")
    return sized


def mixed_solids(parts_mL_and_solids: Sequence[tuple[float, float]]) -> float:
    """Give the volume solids (%) of a mix from its parts, each as (mL, volume solids in %).

    A reducer has none: 0 %. The volumes are taken to add up, as they nearly do.

    Raises:
        NotACoat: solids outside 0 to 100 %, an amount below zero, or nothing in the mix.
    """
    for mL, percent in parts_mL_and_solids:
        _not_below_zero("amount of each part", mL, "mL")
        if not (math.isfinite(percent) and 0 <= percent <= 100):
            raise NotACoat("The volume solids of each part are a percentage from 0 to 100; a reducer has 0.")
    total = sum(mL for mL, _ in parts_mL_and_solids)
    if not (math.isfinite(total) and total > 0):
        raise NotACoat("Nothing is in the mix yet: write how many mL of each part go in.")
    return min(100.0, sum(mL / total * percent for mL, percent in parts_mL_and_solids))


def notch_words(wet_um: float, notches_um: Sequence[float] = USUAL_NOTCHES_UM) -> str:
    """Say how a notched wet-film gauge reads in a wet film of `wet_um`.

    The film lies between the last tooth that comes out wet and the first that stays dry (the comb of ISO 2808
    and ASTM D4414). A film just as high as a tooth wets it.

    Raises:
        NotACoat: a film or a notch that is not above zero, notches that do not rise, or none.
    """
    _above_zero("wet film", wet_um, "µm")
    for notch in notches_um:
        _above_zero("notch", notch, "µm")
    if not notches_um or any(b <= a for a, b in pairwise(notches_um)):
        raise NotACoat("The notches of the gauge are written in µm from the smallest up, such as 25, 50, 75.")
    wetted = [n for n in notches_um if n <= wet_um * (1 + 1e-9)]
    dry = notches_um[len(wetted) :]
    if not wetted:
        return f"No notch gets wet: the film is thinner than the first, {dry[0]:g} µm."
    if not dry:
        return f"Every notch gets wet: the film is as thick as the last, {wetted[-1]:g} µm, or thicker."
    return f"The {wetted[-1]:g} µm notch comes out wet and the {dry[0]:g} µm notch stays dry."


def _area(square_mm: float) -> float:
    area_m2 = square_mm / 1e6
    if not (math.isfinite(area_m2) and area_m2 > 0):
        raise NotACoat("These sizes make no area that can be painted: write them in mm.")
    return area_m2


def _above_zero(what: str, value: float, unit: str) -> float:
    if not (math.isfinite(value) and value > 0):
        raise NotACoat(f"The {what} must be a number above zero: write it in {unit}.")
    return value


def _not_below_zero(what: str, value: float, unit: str) -> float:
    if not (math.isfinite(value) and value >= 0):
        raise NotACoat(f"The {what} must be 0 or a number above it: write it in {unit}.")
    return value


def _percent(what_is: str, value: float, how: str) -> float:
    if not (math.isfinite(value) and 0 < value <= 100):
        given = f"{value:.6g} %" if math.isfinite(value) else "no number"
        raise NotACoat(f"The {what_is} {given}, and must be above 0 and at most 100 %: write {how}.")
    return value
