"""VOC of a mix as sprayed: per litre of all of it, and per litre of it less water and exempt compounds.

40 CFR 59.104(a)(1), read: (Wv - Ww - Wec) / (V - Vw - Vec), the coating as prepared for application; the same sum as
in EPA Method 24 and ASTM D3960. Volumes are taken to add up. Local rules decide which figure counts.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from benchtool.trade.numbers import figure, shorten

WATER_G_L = 998.2
"""Density of water at 20 degC, g/L: 0.9982 g/mL, as in the Method 24 sum."""

G_L_PER_LB_GAL = 119.826427
"""g/L in one lb/US gal: 453.59237 g over 3.785411784 L (NIST Handbook 44 appendix C)."""

LIGHTEST_EXEMPT_G_ML = 0.79
"""Density (g/mL) of acetone, the lightest of the usual exempt solvents: taken where none is given, since a lighter
solvent fills more of the can and so never makes the regulatory figure too low. From memory."""

HEAVIEST_VOC_G_L = 1500.0
"""No solvent counted as VOC in paint is heavier (g/L); more than this in the room that water and exempt solvent
leave is a slip. Judgement, no source."""

SLACK = 0.005
"""How far rounded figures of a card may overrun the part before they do not add up, as a fraction. Judgement."""

LOCAL_RULES = "Local rules decide what counts and how."


class NotEmissions(ValueError):
    """The figures of a part do not add up or are missing; the message names the part and what to write."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Contents:
    """One part of the mix: `mL` of it, and how many g of VOC, water and exempt solvent a litre of it holds.

    `voc_g_L` is the actual figure, per litre of the part with its water and exempt solvent.
    `exempt_density_g_mL` None: `LIGHTEST_EXEMPT_G_ML`. `density_g_mL` None: the weights can't be checked against it.

    Raises:
        NotEmissions: a figure below zero, or figures that do not add up.
    """

    name: str
    mL: float
    density_g_mL: float | None = None
    voc_g_L: float
    water_g_L: float = 0.0
    exempt_g_L: float = 0.0
    exempt_density_g_mL: float | None = None

    def __post_init__(self) -> None:
        named = f"“{shorten(self.name)}”"
        for what, value in (
            ("amount", self.mL), ("VOC", self.voc_g_L), ("water", self.water_g_L), ("exempt solvent", self.exempt_g_L),
        ):  # fmt: skip
            if not (math.isfinite(value) and value >= 0):
                raise NotEmissions(f"{named}: the {what} can't be {value:g}; write zero or more.")
        for what, density in (("density", self.density_g_mL), ("exempt solvent's density", self.exempt_density_g_mL)):
            if density is not None and not (math.isfinite(density) and density > 0):
                raise NotEmissions(f"{named}: the {what} can't be {density:g}; write g per mL, such as 0.95.")
        full = self.water_mL_per_mL + self.exempt_mL_per_mL
        if full > 1 + SLACK:
            raise NotEmissions(
                f"{named} does not add up: its water and exempt solvent fill {figure(1000 * full)} mL of each litre; "
                f"write both in g per litre of the part."
            )
        if self.density_g_mL is not None:
            part = 1000 * self.density_g_mL
            if self.voc_g_L > part * (1 + SLACK):
                raise NotEmissions(
                    f"{named} does not add up: {figure(self.voc_g_L)} g of VOC in a litre that weighs only "
                    f"{figure(part)} g; check the VOC and the density."
                )
            if (weight := self.voc_g_L + self.water_g_L + self.exempt_g_L) > part * (1 + SLACK):
                raise NotEmissions(
                    f"{named} does not add up: its VOC, water and exempt solvent weigh {figure(weight, 4)} g in a "
                    f"litre that weighs only {figure(part, 4)} g; check them and the density."
                )
        if self.voc_g_L > HEAVIEST_VOC_G_L * (self.room + SLACK):
            raise NotEmissions(
                f"{named} does not add up: {figure(self.voc_g_L)} g of VOC has no room in the "
                f"{figure(1000 * self.room)} mL of each litre that water and exempt solvent leave; check all three."
            )

    @property
    def water_mL_per_mL(self) -> float:
        """How much of the part is water, by volume."""
        return self.water_g_L / WATER_G_L

    @property
    def exempt_mL_per_mL(self) -> float:
        """How much of the part is exempt solvent, by volume."""
        return self.exempt_g_L / (1000 * (self.exempt_density_g_mL or LIGHTEST_EXEMPT_G_ML))

    @property
    def room(self) -> float:
        """How much of the part is neither water nor exempt solvent, by volume: 0 to 1."""
        return max(0.0, 1 - self.water_mL_per_mL - self.exempt_mL_per_mL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Emissions:
    """VOC of the whole mix. `regulatory_g_per_L` is None where only water and exempt solvent are in it: see `why`."""

    voc_g: float
    total_mL: float
    regulatory_g_per_L: float | None
    why: str = ""
    notes: tuple[str, ...] = ()

    @property
    def actual_g_per_L(self) -> float:
        """VOC (g) per litre of the mix as it is."""
        return 1000 * self.voc_g / self.total_mL

    @property
    def actual_lb_per_gal(self) -> float:
        """VOC (lb) per US gallon of the mix as it is."""
        return self.actual_g_per_L / G_L_PER_LB_GAL

    @property
    def regulatory_lb_per_gal(self) -> float | None:
        """VOC (lb) per US gallon of the mix less water and exempt compounds."""
        return None if self.regulatory_g_per_L is None else self.regulatory_g_per_L / G_L_PER_LB_GAL


def emissions(contents: Sequence[Contents]) -> Emissions:
    """Add up the VOC of all parts in the cup, activator and reducer with them.

    Raises:
        NotEmissions: nothing is in the cup.
    """
    total_mL = math.fsum(c.mL for c in contents)
    if not (math.isfinite(total_mL) and total_mL > 0):
        raise NotEmissions("There is nothing in this mix yet; give at least one part an amount above zero.")
    voc_g = math.fsum(c.mL * c.voc_g_L for c in contents) / 1000
    room_mL = math.fsum(c.mL * c.room for c in contents)
    notes = [
        f"“{shorten(c.name)}” gives no density of its exempt solvent: acetone's, {LIGHTEST_EXEMPT_G_ML:g} g/mL, is "
        f"taken, the lightest of the usual ones."
        for c in contents
        if c.exempt_g_L > 0 and c.mL > 0 and c.exempt_density_g_mL is None
    ]
    # less than a ten-thousandth is rounding of a card's figures for plain water, and no paint to count VOC against
    nothing_left = room_mL <= 1e-4 * total_mL
    return Emissions(
        voc_g=voc_g,
        total_mL=total_mL,
        regulatory_g_per_L=None if nothing_left else 1000 * voc_g / room_mL,
        why="nothing is left of this mix but water and exempt solvent" if nothing_left else "",
        notes=tuple(notes),
    )


def against_limit(found: Emissions, limit_g_L: float) -> str:
    """Compare the regulatory figure with the limit the painter typed in (g/L).

    Raises:
        NotEmissions: the limit is not above zero.
    """
    if not (math.isfinite(limit_g_L) and limit_g_L > 0):
        raise NotEmissions(f"A limit of {limit_g_L:g} g/L is none; write the limit of your rule, such as 420 g/L.")
    value = found.regulatory_g_per_L
    if value is None:
        return f"No figure to hold against your limit of {figure(limit_g_L, 4)} g/L: {found.why}. {LOCAL_RULES}"
    over = value - limit_g_L
    verdict = f"over by {figure(over, 2)} g/L" if over > 1e-9 * limit_g_L else "within"
    return (
        f"{figure(value, 4)} g/L against your limit of {figure(limit_g_L, 4)} g/L (less water and exempt): {verdict}. "
        f"{LOCAL_RULES}"
    )


Read = Callable[[str, str], float]
"""Reads a text of a kind ("volume", "mass", "density", "concentration") as mL, g, g/mL or g/L; raises ValueError."""

_KINDS = {
    "volume": "volume", "mass": "mass", "density": "density", "exempt_density": "density",
    "voc": "concentration", "water": "concentration", "exempt": "concentration",
}  # fmt: skip
_UNITS = {"volume": "mL", "mass": "g", "density": "g per mL", "concentration": "g per litre"}
_BASES = {
    "actual": False, "material": False, "regulatory": True, "less water": True, "less water and exempt": True,
}  # fmt: skip
_KEYS = "name, volume or mass, density, voc, water, exempt, exempt_density and basis"


def contents_from_json(parts: object, read: Read | None = None) -> tuple[Contents, ...]:
    """Read the parts of a mix from decoded JSON: a list of objects, one a part.

    Keys of an object: `name`; `volume` (mL), or `mass` (g) with `density`; `density` (g/mL); `voc` (g per litre,
    0 where there is none: never left out, for a missing figure is not a zero); `water` and `exempt` (g per litre,
    left out for 0); `exempt_density` (g/mL); `basis`. A value is a number in these units, or a text with its
    unit for `read`.

    `basis` says what the card's `voc` is per litre of: "actual" (the default; also "material"), or "regulatory" (also
    "less water and exempt"). The second is turned into actual only where `water` and `exempt` are both
    written, and `exempt_density` with an exempt solvent: else it can't be known.

    Raises:
        NotEmissions: one sentence that names the part.
    """
    if not isinstance(parts, list) or not parts:
        raise NotEmissions(f"This is no list of parts: write a JSON list of objects with {_KEYS}.")
    return tuple(_part(number, part, read) for number, part in enumerate(parts, 1))


def _part(number: int, part: object, read: Read | None) -> Contents:
    if not isinstance(part, dict):
        raise NotEmissions(f"Part {number} is no object: write {_KEYS}.")
    name = part.get("name", f"Part {number}")
    if not isinstance(name, str) or not name.strip():
        raise NotEmissions(f"Part {number}: its name is no text.")
    named = f"Part {number}, “{shorten(name)}”" if "name" in part else f"Part {number}"
    if strange := [key for key in part if key not in _KINDS and key not in ("name", "basis")]:
        raise NotEmissions(f"{named}: “{shorten(str(strange[0]))}” is not one of {_KEYS}.")
    value = {key: _value(named, key, part[key], read) for key in _KINDS if part.get(key) is not None}
    if "voc" not in value:
        raise NotEmissions(f"{named}: its voc is missing; write g per litre, 0 where there is none.")
    if ("volume" in value) == ("mass" in value):
        raise NotEmissions(f"{named}: write either its volume or its mass.")
    density = value.get("density")
    if density is not None and not density > 0:
        raise NotEmissions(f"{named}: the density can't be {density:g}; write g per mL, such as 0.95.")
    if "mass" in value and density is None:
        raise NotEmissions(f"{named}: a mass needs the part's density; write it in g per mL.")
    contents = Contents(
        name=name,
        mL=value["volume"] if density is None or "volume" in value else value["mass"] / density,
        density_g_mL=density,
        voc_g_L=0.0,
        water_g_L=value.get("water", 0.0),
        exempt_g_L=value.get("exempt", 0.0),
        exempt_density_g_mL=value.get("exempt_density"),
    )
    voc = value["voc"]
    if _regulatory(named, part.get("basis", "actual")):
        if "water" not in value or "exempt" not in value or (value["exempt"] > 0 and "exempt_density" not in value):
            raise NotEmissions(
                f"{named}: a voc less water and exempt can be turned into the actual one only with its water, "
                f"its exempt and the exempt_density beside it; write them, 0 where there is none."
            )
        voc *= contents.room
    return Contents(
        name=name,
        mL=contents.mL,
        density_g_mL=density,
        voc_g_L=voc,
        water_g_L=contents.water_g_L,
        exempt_g_L=contents.exempt_g_L,
        exempt_density_g_mL=contents.exempt_density_g_mL,
    )


def _regulatory(named: str, basis: object) -> bool:
    found = _BASES.get(" ".join(basis.lower().split())) if isinstance(basis, str) else None
    if found is None:
        raise NotEmissions(f"{named}: its basis is “actual” or “less water and exempt”.")
    return found


def _value(named: str, key: str, raw: object, read: Read | None) -> float:
    kind = _KINDS[key]
    if isinstance(raw, str) and read is not None:
        try:
            return read(raw, kind)
        except ValueError as fault:
            raise NotEmissions(f"{named}: its {key} can't be read: {fault}") from None
    if isinstance(raw, bool) or not isinstance(raw, int | float):
        raise NotEmissions(f"{named}: its {key} is no number; write {_UNITS[kind]}.")
    try:
        return float(raw)
    except OverflowError:
        raise NotEmissions(f"{named}: its {key} is far too large; write {_UNITS[kind]}.") from None
