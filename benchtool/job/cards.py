"""Product cards: the painter's own transcription of a data sheet.

Times are ISO 8601 durations in the file (`PT15M`) and `timedelta` here. Shares are kept in the trade's
notation (`2 % of base`), so that a person can read and check them against the sheet.
"""

import re
from datetime import timedelta
from enum import StrEnum
from typing import Annotated

from msgspec import Meta, field

from benchtool.job.cardpaces import (
    LIKE,
    AirRange,
    ArrheniusPacing,
    CardTime,
    DoublingPacing,
    EvaporationPacing,
    ForcedDry,
    Paced,
    Pacing,
    TablePacing,
    pace_model,
)
from benchtool.job.fields import (
    AirDegC,
    Concentration,
    DegC,
    Density,
    FlowSeconds,
    Humidity,
    Id,
    MetresPerSecond,
    Microns,
    Millilitres,
    Name,
    Percent,
    Read,
    Record,
    Text,
    TolerancePercent,
)
from benchtool.trade.emissions import Contents
from benchtool.trade.mixing import Part, PartKind, parse_share
from benchtool.trade.substrates import Suits

__all__ = [
    "BASE_NAME", "BASE_PARTS", "Activator", "Additive", "AirDegC", "AirRange", "ArrheniusPacing", "Card",
    "CardTime", "Carrier", "Chemistry", "Concentration", "DegC", "Density", "DoublingPacing", "Duty",
    "EvaporationPacing", "FlowSeconds", "ForcedDry", "Gun", "Hazard", "Humidity", "Id", "MetresPerSecond",
    "Microns", "Millilitres", "Name", "Origin", "OriginKind", "Paced", "Pacing", "Percent", "Read", "RecipePart",
    "Record", "Reduction", "TablePacing", "Text", "TolerancePercent", "Trait", "Voc", "pace_model", "recipe",
]  # fmt: skip


class Gun(StrEnum):
    """What the paint goes through; reduction depends on it."""

    AIRBRUSH = "airbrush"
    MINI = "mini gun"
    FULL = "full-size gun"

    @property
    def named(self) -> str:
        """The gun with its article."""
        return f"{'an' if self is Gun.AIRBRUSH else 'a'} {self.value}"


class Duty(StrEnum):
    """What a product does in the stack."""

    PROMOTER = "promoter"
    PRIMER = "primer"
    FILLER = "filler"
    SEALER = "sealer"
    BASE = "base"
    CLEAR = "clear"


class Hazard(StrEnum):
    """What on this card can hurt the painter; each has its caution at the step where it matters."""

    ISOCYANATES = "isocyanates"
    SOLVENT = "solvent vapour"
    DUST = "sanding dust"
    CHROMATE = "chromate"
    PEROXIDE = "peroxide"
    EPOXY = "epoxy resin"
    ACID = "acid"
    UV_LAMP = "UV lamp"
    OILY_RAGS = "oily rags"


class Chemistry(StrEnum):
    """What makes the film, which decides what may go over it and under it.

    A lacquer dries by its solvent leaving and stays soluble; an enamel (alkyd, oil) takes up oxygen for weeks; an
    acrylic is a one-part dispersion in water; polyolefin is the resin of promoters for PP and TPO.
    """

    LACQUER = "lacquer"
    ENAMEL = "enamel"
    ACRYLIC = "waterborne acrylic"
    URETHANE = "urethane"
    EPOXY = "epoxy"
    POLYESTER = "polyester"
    ETCH = "acid etch"
    POLYOLEFIN = "polyolefin"
    UV = "UV-cured"
    OTHER = "other"


class Carrier(StrEnum):
    """What leaves a wet film."""

    SOLVENT = "solvent"
    WATER = "water"
    NONE = "nothing"


class Trait(StrEnum):
    """What else of a product decides how it may be used."""

    METALLIC = "metallic"
    TRANSLUCENT = "translucent"
    DARK = "dark"
    HIGH_SOLIDS = "high solids"
    STRONG_SOLVENT = "strong solvent"
    BRITTLE = "brittle"
    FLEXIBLE = "flexible"
    ZINC_RICH = "zinc-rich"
    ACID_CATALYSED = "acid catalysed"


class Care(StrEnum):
    """What a customer does to a painted piece, and asks when they may."""

    TOUCH = "touch"
    POST = "post"
    WASH = "wash"
    BEND = "bend"
    WAX = "wax"


class OriginKind(StrEnum):
    """Where a value of a card comes from."""

    SHEET = "data sheet"
    MEASURED = "own measurement"
    TOLD = "told"
    PRACTICE = "common practice"
    GUESS = "guess"


class Origin(Record, frozen=True, kw_only=True):
    """Where a value comes from: the kind, which sheet or measured how, the page and the day (`2026-03-14`)."""

    kind: OriginKind
    words: Text = ""
    page: Annotated[str, Meta(max_length=80)] = ""
    day: Annotated[str, Meta(pattern=r"^(\d{4}-\d{2}-\d{2})?$")] = ""


class Voc(Record, frozen=True, kw_only=True):
    """What evaporates out of one litre of a part, in g per litre of that part as supplied (VOC actual).

    `exempt_density_g_mL` is that of the exempt solvents alone, None where the sheet does not give it.
    """

    voc_g_L: Concentration
    water_g_L: Concentration = 0.0
    exempt_g_L: Concentration = 0.0
    exempt_density_g_mL: Density | None = None

    def contents(self, name: str, mL: float, density_g_mL: float | None) -> Contents:
        """Give what `trade.emissions` reckons with, of so much (mL) of a part.

        Raises:
            NotEmissions: a litre of it can't hold all that.
        """
        return Contents(
            name=name,
            mL=mL,
            density_g_mL=density_g_mL,
            voc_g_L=self.voc_g_L,
            water_g_L=self.water_g_L,
            exempt_g_L=self.exempt_g_L,
            exempt_density_g_mL=self.exempt_density_g_mL,
        )


class Activator(Record, frozen=True, kw_only=True):
    """One of the activators a product may be mixed with. Without a `maker` it is of the maker of its product.

    `solids_percent` is by volume; `tolerance_percent` says how far the activator may be off its share. It is good for
    `keeps` from the day its can was filled, and for `keeps_opened` from the day that was opened.
    """

    id: Id
    name: Name
    suits: Suits
    share: Name
    density_g_mL: Density | None = None
    solids_percent: Percent | None = None
    voc: Voc | None = None
    keeps: timedelta | None = None
    keeps_opened: timedelta | None = None
    tolerance_percent: TolerancePercent | None = None
    maker: Text = ""


class Additive(Record, frozen=True, kw_only=True):
    """Something that may be mixed in beside the activator, such as one that keeps the film flexible."""

    id: Id
    name: Name
    suits: Suits
    share: Name
    density_g_mL: Density | None = None


class Reduction(Record, frozen=True, kw_only=True):
    """How far the card lets the mix be reduced for one kind of gun, and how thin the mix is to run then.

    `flow_s` is the spray viscosity: the seconds the reduced mix takes out of the efflux cup `flow_cup`.
    """

    gun: Gun
    least: Name
    usual: Name
    most: Name
    flow_cup: Name | None = None
    flow_s: FlowSeconds | None = None


_KINDS = {
    "guess": OriginKind.GUESS,
    "own measure": OriginKind.MEASURED,
    "measured": OriginKind.MEASURED,
    "told": OriginKind.TOLD,
    "common practice": OriginKind.PRACTICE,
}


def _kind_of(words: str) -> OriginKind:
    """Tell the kind of an origin by its first words; those that tell none count as a sheet's."""
    begun = re.sub(r"^\W*(?:an?\s+)?", "", words.casefold())
    return next((kind for word, kind in _KINDS.items() if begun.startswith(word)), OriginKind.SHEET)


class Card(Record, frozen=True, kw_only=True):
    """A product as its sheet describes it. `origins` says where values came from, by field, `*` for all.

    `stand` counts from the activator stirred in, `stand_reduced` from the reducer stirred in, `pot_life`
    from the first activator in the cup; `keeps` from the day the can was filled, `keeps_opened` from the day
    it was opened, `reducer_keeps` and `reducer_keeps_opened` likewise; the rest count from a coat done.
    `solids_percent` is the base as supplied, by volume. `tolerance_percent` says how far the base and the reducer
    may be off their shares. `paces` says how the air changes its times; without it they stand as written in any air.
    `air` is the air it may be sprayed in, and a `fast_solvent` is one that cools the film as it leaves.
    `forced` says which waits heat on the piece cuts short, and to what. `films` are rows, from thin to thick, of (dry
    film of a coat in um, how many times as long flash, recoat, tape and cure take in it); without rows they take as
    long in any. `dust_free` is when dust does not stick any more, which says nothing of what may go on or touch it;
    `film_most_um` is the thickest dry film of the whole layer. `only_over` are the ids of cards, one of which must lie
    directly under it; without them it may lie over any. `care` says after how long the finished piece may be used so.
    Without `chemistry` and `carrier` the card says nothing of what may go over and under it.
    """

    id: Id
    name: Name
    duty: Duty
    origins: dict[str, Text | Origin]
    two_part: bool = False
    activators: tuple[Activator, ...] = ()
    reducer: Name = "Reducer"
    reductions: tuple[Reduction, ...] = ()
    density_g_mL: Density | None = None
    reducer_density_g_mL: Density | None = None
    solids_percent: Percent | None = None
    voc: Voc | None = None
    reducer_voc: Voc | None = None
    tolerance_percent: TolerancePercent | None = None
    coats_least: Annotated[int, Meta(ge=1, le=50)] = 1
    coats_most: Annotated[int, Meta(ge=1, le=50)] = 3
    film_um: Microns | None = None
    stand: timedelta | None = None
    stand_reduced: timedelta | None = None
    pot_life: timedelta | None = None
    flash: timedelta | None = None
    flash_most: timedelta | None = None
    recoat_opens: timedelta | None = None
    recoat_closes: timedelta | None = None
    tape: timedelta | None = None
    cure: timedelta | None = None
    keeps: timedelta | None = None
    keeps_opened: timedelta | None = None
    reducer_keeps: timedelta | None = None
    reducer_keeps_opened: timedelta | None = None
    paces: dict[CardTime, Pacing] = field(default_factory=dict)
    forced: dict[CardTime, ForcedDry] = field(default_factory=dict)
    films: Annotated[tuple[tuple[Microns, float], ...], Meta(max_length=50)] = ()
    air: AirRange | None = None
    fast_solvent: bool = False
    hazards: tuple[Hazard, ...] = ()
    note: Text = ""
    maker: Text = ""
    chemistry: Chemistry | None = None
    carrier: Carrier | None = None
    traits: tuple[Trait, ...] = ()
    additives: tuple[Additive, ...] = ()
    dust_free: timedelta | None = None
    film_most_um: Microns | None = None
    only_over: Annotated[tuple[Id, ...], Meta(max_length=20)] = ()
    care: dict[Care, timedelta] = field(default_factory=dict)

    def origin_of(self, name: str) -> Origin | None:
        """Give where the value of a field comes from, None where none is said; words alone count as a sheet's."""
        said = self.origins.get(name) or self.origins.get("*")
        return Origin(kind=_kind_of(said), words=said) if isinstance(said, str) and said else said or None

    def additive(self, additive_id: str) -> Additive | None:
        """Find one of this card's additives; None where there is none of that id."""
        return next((a for a in self.additives if a.id == additive_id), None)

    def activator(self, activator_id: str | None) -> Activator | None:
        """Find one of this card's activators; None where there is none of that id."""
        return next((a for a in self.activators if a.id == activator_id), None)

    def reduction(self, gun: Gun) -> Reduction | None:
        """Find how the card reduces for `gun`; None where it gives nothing for it."""
        return next((r for r in self.reductions if r.gun is gun), None)

    def pacing(self, time: CardTime) -> Pacing | None:
        """Find how the air changes one time of this card; None where the card does not say.

        What is said of this time goes before what is said of all. A second stand time, and the end of a flash, go as
        the first stand and the flash do; a table is of the one time it is written for, and no cup dries.
        """
        if not self.paces:
            return None
        own = self.paces.get(time)
        if own is not None:
            return own
        near = self.paces.get(LIKE.get(time, time))
        if near is not None and not isinstance(near, TablePacing):
            return near
        every = self.paces.get(CardTime.EVERY)
        foreign = isinstance(every, TablePacing) or (isinstance(every, EvaporationPacing) and time.in_cup)
        return None if foreign else every


class RecipePart(Record, frozen=True, kw_only=True):
    """One ingredient of a mix as the record keeps it: a later change of the card changes no history.

    `tolerance` says how far it may be off its share, as a fraction of that share.
    """

    name: Name
    kind: PartKind
    share: Name
    density_g_mL: Density | None = None
    tolerance: Annotated[float, Meta(gt=0, le=1)] | None = None

    def part(self) -> Part:
        """Turn the record into what `trade.mixing` reckons with.

        Raises:
            NotAShare: the share can't be read.
        """
        return Part(
            name=self.name,
            kind=self.kind,
            share=parse_share(self.share),
            density_g_mL=self.density_g_mL,
            tolerance=self.tolerance,
        )


BASE_NAME = "Base"
BASE_PARTS = "100"


def recipe(
    card: Card, activator: Activator | None, gun: Gun, additives: tuple[str, ...] = ()
) -> tuple[RecipePart, ...]:
    """Write the recipe of `card` in pour order: base, additives, the activator chosen, the usual reducer for `gun`.

    An additive goes in before the activator: pot life runs from that.
    """
    allowed = _fraction(card.tolerance_percent)
    parts = [
        RecipePart(
            name=BASE_NAME,
            kind=PartKind.BASE,
            share=BASE_PARTS,
            density_g_mL=card.density_g_mL,
            tolerance=allowed,
        )
    ]
    parts.extend(
        RecipePart(
            name=additive.name,
            kind=PartKind.ADDITIVE,
            share=additive.share,
            density_g_mL=additive.density_g_mL,
            tolerance=allowed,
        )
        for additive in card.additives
        if additive.id in additives
    )
    if activator is not None:
        parts.append(
            RecipePart(
                name=activator.name,
                kind=PartKind.ACTIVATOR,
                share=activator.share,
                density_g_mL=activator.density_g_mL,
                tolerance=_fraction(activator.tolerance_percent),
            )
        )
    reduction = card.reduction(gun)
    if reduction is not None and parse_share(reduction.usual).value > 0:
        parts.append(
            RecipePart(
                name=card.reducer,
                kind=PartKind.REDUCER,
                share=reduction.usual,
                density_g_mL=card.reducer_density_g_mL,
                tolerance=allowed,
            )
        )
    return tuple(parts)


def _fraction(percent: float | None) -> float | None:
    return None if percent is None else percent / 100
