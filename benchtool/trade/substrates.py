"""What a piece is made of, as far as paint cares."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum


class Flex(StrEnum):
    """Whether the piece bends in use."""

    RIGID = "rigid"
    FLEXIBLE = "flexible"


class Suits(StrEnum):
    """What an activator or an additive is made for."""

    RIGID = "rigid"
    FLEXIBLE = "flexible"
    ANY = "any"

    def suits(self, flex: Flex) -> bool:
        """Say whether this may go on a piece that is `flex`."""
        return self is Suits.ANY or self.value == flex.value


class Material(StrEnum):
    """The kind of material."""

    METAL = "metal"
    PAINT = "old paint"
    PLASTIC = "plastic"
    RUBBER = "rubber"
    COMPOSITE = "composite"
    WOOD = "wood"
    GLASS = "glass"
    LEATHER = "leather"
    UNKNOWN = "unknown"


class Route(StrEnum):
    """What makes paint hold on a material. Flame and plasma are industrial routes: named, not offered."""

    TOOTH = "tooth"
    PROMOTER = "promoter"
    PRIMER = "primer"
    FLAME = "flame"
    PLASMA = "plasma or corona"


class Nature(StrEnum):
    """What else of a material decides what may go on it."""

    ZINC = "zinc"
    OXIDISES = "oxidises"
    POROUS = "porous"
    TAKES_UP_WATER = "takes up water"
    PLASTICISER = "plasticiser"
    NOTHING_HOLDS = "nothing holds"
    CAN_BE_CLEAR = "can be clear"
    STRESS_CRACKS = "stress cracks"
    SOFTENS = "softens in solvent"
    MAY_HOLD_LEAD = "may hold lead"


@dataclass(frozen=True, slots=True, kw_only=True)
class Substrate:
    """A material.

    `flex` is None where it may be either; one that `refuses_paint` needs a promoter; `moulded` parts carry
    release agent; `known` is False for the material nobody has named. `symbols` are those of ISO 1043 that name it.
    `surface_energy_mN_m` is from least to most published. `routes` stand best first; none means that nothing is known
    to hold. `grit` is the range of FEPA P grades to abrade it with, coarse first, None where it is not abraded.
    `safe` and `harmful` are ids of cleaners; one in neither is not known. `heat_limit_degC` is what the piece stands.
    `galvanic_V` is its anodic index, in volts. `sources` says, by field, where each comes from.
    """

    id: str
    name: str
    flex: Flex | None
    refuses_paint: bool
    moulded: bool
    source: str
    known: bool = True
    material: Material = Material.UNKNOWN
    symbols: tuple[str, ...] = ()
    natures: frozenset[Nature] = frozenset()
    surface_energy_mN_m: tuple[float, float] | None = None
    routes: tuple[Route, ...] = ()
    grit: tuple[int, int] | None = None
    safe: tuple[str, ...] = ()
    harmful: tuple[str, ...] = ()
    heat_limit_degC: float | None = None
    galvanic_V: float | None = None
    moisture: str = ""
    note: str = ""
    sources: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cleaner:
    """Something that cleans: its id, what a painter calls it, whether it catches fire, and the source of that."""

    id: str
    name: str
    flammable: bool
    source: str


FEPA_P = (
    12, 16, 20, 24, 30, 36, 40, 50, 60, 80, 100, 120, 150, 180, 220,
    240, 280, 320, 360, 400, 500, 600, 800, 1000, 1200, 1500, 2000, 2500, 3000, 5000,
)  # fmt: skip
"""The P grades of coated abrasives, coarse first: ISO 6344-1 and -2 (FEPA 43-1), P3000 and P5000 from memory."""

DAMP_V, INDOORS_V, DRY_V = 0.15, 0.25, 0.50
"""How far apart in anodic index two metals may be: outdoors and in salt, in a store, in controlled air.

Source: the rule beside the published table of the anodic index after MIL-STD-889.
"""


def stands(substrate: Substrate, cleaner: str) -> bool | None:
    """Say whether a material stands a wipe with the cleaner of that id; None where nobody has said."""
    if cleaner in substrate.harmful:
        return False
    return True if cleaner in substrate.safe else None


def galvanic_gap_V(one: Substrate, other: Substrate) -> float | None:
    """Give how far apart two metals are in anodic index, in volts; None where one has none."""
    if one.galvanic_V is None or other.galvanic_V is None:
        return None
    return round(abs(one.galvanic_V - other.galvanic_V), 3)
