"""All that is typed of a product card, field by field, before anything is made of it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from benchtool.job.cards import Care, Carrier, Chemistry, Duty, Gun, Hazard, Trait
from benchtool.session.cardair import AirText
from benchtool.session.cardmore import NO_VOC, VocText
from benchtool.session.cardorigins import OriginText
from benchtool.trade.saying import say
from benchtool.trade.substrates import Suits


class TimeField(NamedTuple):
    """A time of the card: its label, and the unit of a number typed alone (None: there must be one)."""

    label: str
    bare: str | None = None


TIMES: Mapping[str, TimeField] = {
    "stand": TimeField("Stand once activated, min", "min"),
    "stand_reduced": TimeField("Stand once reduced, min", "min"),
    "pot_life": TimeField("Pot life"),
    "flash": TimeField("Flash between coats, min", "min"),
    "flash_most": TimeField("Flash at most, min", "min"),
    "dust_free": TimeField("Dust-free after"),
    "recoat_opens": TimeField("Recoat opens after"),
    "recoat_closes": TimeField("Recoat closes after"),
    "tape": TimeField("Tape after"),
    "cure": TimeField("Full cure"),
}
"""Every time of a card, in the order a painter meets it. Long ones name their unit: `48` could be minutes or hours."""


def care_label(care: Care) -> str:
    """Say what a customer may do after the time that is asked for."""
    match care:
        case Care.TOUCH:
            return say("May be touched after")
        case Care.POST:
            return say("May be packed and posted after")
        case Care.WASH:
            return say("May be washed after")
        case Care.BEND:
            return say("May be bent after")
        case Care.WAX:
            return say("May be waxed after")


def care_key(care: Care) -> str:
    """Name the field that asks for it."""
    return f"care-{care.value}"


@dataclass(frozen=True, slots=True, kw_only=True)
class ActivatorText:
    """One row of activators. `id` is that of the activator on the card before, empty for a new one."""

    name: str = ""
    share: str = ""
    suits: Suits | None = None
    density: str = ""
    solids: str = ""
    voc: VocText = NO_VOC
    keeps: str = ""
    keeps_opened: str = ""
    tolerance: str = ""
    maker: str = ""
    id: str = ""

    @property
    def empty(self) -> bool:
        """Whether nothing is typed in this row."""
        typed = self.name + self.share + self.density + self.solids + self.keeps + self.keeps_opened
        return self.voc.empty and not (typed + self.tolerance + self.maker).strip()


@dataclass(frozen=True, slots=True, kw_only=True)
class AdditiveText:
    """One row of additives. `id` is that of the additive on the card before, empty for a new one."""

    name: str = ""
    share: str = ""
    suits: Suits | None = None
    density: str = ""
    id: str = ""

    @property
    def empty(self) -> bool:
        """Whether nothing is typed in this row."""
        return not (self.name + self.share + self.density).strip()


@dataclass(frozen=True, slots=True, kw_only=True)
class CardText:
    """All that is typed of a card.

    Times go by the names in `TIMES`, reductions are (least, usual, most), spray viscosities (seconds, cup), origins go
    by field, `*` for all. With no `air` and no `origins` they are not asked for, and what the card says of them stays.
    `kind` is the kind of product chosen, which decides what is asked and stands on no card.
    """

    name: str = ""
    duty: Duty | None = None
    two_part: bool | None = None
    origin: str = ""
    origins: Mapping[str, OriginText] | None = None
    kind: str = ""
    maker: str = ""
    chemistry: Chemistry | None = None
    carrier: Carrier | None = None
    traits: frozenset[Trait] = frozenset()
    only_over: str = ""
    additives: tuple[AdditiveText, ...] = ()
    activators: tuple[ActivatorText, ...] = ()
    reducer: str = ""
    reductions: Mapping[Gun, tuple[str, str, str]] = field(default_factory=dict)
    coats_least: str = ""
    coats_most: str = ""
    film: str = ""
    film_most: str = ""
    density: str = ""
    reducer_density: str = ""
    solids: str = ""
    voc: VocText = NO_VOC
    reducer_voc: VocText = NO_VOC
    keeps: str = ""
    keeps_opened: str = ""
    reducer_keeps: str = ""
    reducer_keeps_opened: str = ""
    tolerance: str = ""
    flows: Mapping[Gun, tuple[str, str]] = field(default_factory=dict)
    times: Mapping[str, str] = field(default_factory=dict)
    care: Mapping[Care, str] = field(default_factory=dict)
    hazards: frozenset[Hazard] = frozenset()
    air: AirText | None = None
