"""Builds jobs for tests the way a painter works: card, piece, layer, mix, wait, spray.

    bench = JobBuilder()
    bench.card(PROMOTER).piece("panel").layer("promoter", PROMOTER, coats=2, activator="rigid")
    bench.prep("wash").ready("promoter").coat().wait(minutes=15).coat()
    assert bench.rules() == set()

Every call but the last ones (`findings`, `windows`, ...) gives the builder back. Times are UTC.
"""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any, Self

from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.cards import (
    Activator,
    Additive,
    Card,
    Carrier,
    Chemistry,
    Duty,
    Gun,
    Hazard,
    RecipePart,
    Reduction,
    Trait,
    recipe,
)
from benchtool.job.lots import Lot
from benchtool.job.record import FORMAT, SCHEMA, Job, last_act, with_events
from benchtool.job.state import LayerState, Mix, State, fold
from benchtool.job.trialplan import MOST_ON_A_PANEL
from benchtool.job.windows import Window, all_windows
from benchtool.rules.engine import Review, every, in_the_way
from benchtool.rules.finding import Finding, Tables
from benchtool.session.tables import load_tables
from benchtool.trade.mixing import PartKind, amounts_mL
from benchtool.trade.substrates import Flex, Suits

START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
PRACTICE = {"*": "common practice, no source"}


def minutes(count: float) -> timedelta:
    """So many minutes."""
    return timedelta(minutes=count)


def hours(count: float) -> timedelta:
    """So many hours."""
    return timedelta(hours=count)


PROMOTER = Card(
    id="promoter-2k",
    name="Two-part promoter",
    duty=Duty.PROMOTER,
    origins=PRACTICE,
    two_part=True,
    activators=(
        Activator(id="rigid", name="Rigid activator", suits=Suits.RIGID, share="2 % of base"),
        Activator(id="flexible", name="Flexible activator", suits=Suits.FLEXIBLE, share="2 % of base"),
    ),
    reductions=(
        Reduction(gun=Gun.AIRBRUSH, least="90 % of activated", usual="1x activated", most="110 % of activated"),
    ),
    coats_least=2,
    coats_most=2,
    stand=minutes(5),
    stand_reduced=minutes(10),
    flash=minutes(15),
    recoat_opens=minutes(30),
    tape=hours(24),
    hazards=(Hazard.ISOCYANATES, Hazard.SOLVENT),
)
"""2 % activator by volume, stand 5 min, reduce about 1:1 for an airbrush, stand 10 min; two coats 15 min
apart, colour 30 min after the second. Common practice, no source."""

ONE_PART_PROMOTER = Card(
    id="promoter-1k",
    name="One-part promoter",
    duty=Duty.PROMOTER,
    origins=PRACTICE,
    coats_least=2,
    coats_most=2,
    flash=minutes(10),
    flash_most=minutes(15),
    hazards=(Hazard.SOLVENT,),
)
"""Unreduced, two coats 10 to 15 min apart. Common practice, no source."""

ADHESIVE_CLEAR = Card(
    id="adhesive-clear",
    name="Adhesive clear",
    duty=Duty.PRIMER,
    origins=PRACTICE,
    reductions=(
        Reduction(gun=Gun.AIRBRUSH, least="0 % of base", usual="1x base", most="1x base"),
        Reduction(gun=Gun.MINI, least="5 % of base", usual="7.5 % of base", most="10 % of base"),
        Reduction(gun=Gun.FULL, least="5 % of base", usual="7.5 % of base", most="10 % of base"),
    ),
    coats_least=3,
    coats_most=3,
    flash=minutes(10),
    flash_most=minutes(15),
    recoat_opens=hours(48),
    tape=hours(24),
)
"""A clear used as adhesive primer: 5-10 % reduction for a spray gun, up to 1:1 for an airbrush, three coats
10 to 15 min apart, 48 h before any other paint, no tape before 24 h. Common practice, no source."""

COLOUR = Card(
    id="colour",
    name="Base colour",
    duty=Duty.BASE,
    origins=PRACTICE,
    reductions=(Reduction(gun=Gun.AIRBRUSH, least="50 % of base", usual="1x base", most="2x base"),),
    coats_least=1,
    coats_most=4,
    flash=minutes(10),
    recoat_opens=minutes(20),
    recoat_closes=hours(24),
)
"""A one-part base colour with a recoat window that closes. Common practice, no source."""

CLEAR = Card(
    id="clear-2k",
    name="Two-part clear",
    duty=Duty.CLEAR,
    origins=PRACTICE,
    two_part=True,
    activators=(Activator(id="slow", name="Slow hardener", suits=Suits.ANY, share="50 % of base"),),
    coats_least=2,
    coats_most=3,
    pot_life=hours(2),
    flash=minutes(15),
    recoat_opens=minutes(30),
    recoat_closes=hours(24),
    tape=hours(24),
    cure=timedelta(days=7),
    hazards=(Hazard.ISOCYANATES, Hazard.SOLVENT),
)
"""A two-part clear, 2:1, with a pot life and no stand time. Common practice, no source."""

LACQUER = Card(
    id="lacquer",
    name="Lacquer colour",
    duty=Duty.BASE,
    origins=PRACTICE,
    coats_least=1,
    coats_most=4,
    flash=minutes(10),
    recoat_opens=minutes(30),
    tape=hours(24),
    cure=timedelta(days=7),
    hazards=(Hazard.SOLVENT,),
    chemistry=Chemistry.LACQUER,
    carrier=Carrier.SOLVENT,
    traits=(Trait.STRONG_SOLVENT,),
)
"""A lacquer in strong solvent, which never turns insoluble. Common practice, no source."""

ENAMEL = Card(
    id="enamel",
    name="Alkyd enamel",
    duty=Duty.BASE,
    origins=PRACTICE,
    coats_least=1,
    coats_most=3,
    flash=minutes(20),
    recoat_opens=hours(24),
    tape=hours(48),
    cure=timedelta(days=28),
    hazards=(Hazard.SOLVENT, Hazard.OILY_RAGS),
    chemistry=Chemistry.ENAMEL,
    carrier=Carrier.SOLVENT,
)
"""An air-drying alkyd: a day between coats, weeks to full cure. Common practice, no source."""

WATERBORNE = Card(
    id="waterborne",
    name="Waterborne colour",
    duty=Duty.BASE,
    origins=PRACTICE,
    coats_least=1,
    coats_most=4,
    flash=minutes(15),
    recoat_opens=hours(2),
    tape=hours(24),
    cure=timedelta(days=7),
    chemistry=Chemistry.ACRYLIC,
    carrier=Carrier.WATER,
)
"""A waterborne acrylic colour. Common practice, no source."""

METALLIC = Card(
    id="metallic",
    name="Metallic base",
    duty=Duty.BASE,
    origins=PRACTICE,
    coats_least=2,
    coats_most=4,
    flash=minutes(10),
    recoat_opens=minutes(20),
    recoat_closes=hours(24),
    tape=hours(24),
    hazards=(Hazard.SOLVENT,),
    chemistry=Chemistry.LACQUER,
    carrier=Carrier.SOLVENT,
    traits=(Trait.METALLIC,),
)
"""A metallic base that wants clear over it within its window. Common practice, no source."""

EPOXY = Card(
    id="epoxy",
    name="Epoxy primer",
    duty=Duty.PRIMER,
    origins=PRACTICE,
    two_part=True,
    activators=(Activator(id="epoxy-b", name="Epoxy hardener", suits=Suits.ANY, share="100 % of base"),),
    coats_least=1,
    coats_most=2,
    stand=minutes(30),
    pot_life=hours(8),
    flash=minutes(20),
    recoat_opens=hours(1),
    recoat_closes=hours(72),
    tape=hours(24),
    cure=timedelta(days=7),
    hazards=(Hazard.EPOXY, Hazard.SOLVENT),
    chemistry=Chemistry.EPOXY,
    carrier=Carrier.SOLVENT,
)
"""A two-part epoxy primer that takes paint unsanded for three days. Common practice, no source."""

ETCH = Card(
    id="etch",
    name="Etch primer",
    duty=Duty.PRIMER,
    origins=PRACTICE,
    coats_least=1,
    coats_most=1,
    recoat_opens=minutes(30),
    recoat_closes=hours(24),
    tape=hours(24),
    hazards=(Hazard.ACID, Hazard.SOLVENT),
    chemistry=Chemistry.ETCH,
    carrier=Carrier.SOLVENT,
)
"""A one-part acid-etch primer for bare metal, in one thin coat. Common practice, no source."""

FILLER = Card(
    id="filler",
    name="Polyester spray filler",
    duty=Duty.FILLER,
    origins=PRACTICE,
    two_part=True,
    activators=(Activator(id="peroxide", name="Peroxide hardener", suits=Suits.ANY, share="3 % of base"),),
    coats_least=1,
    coats_most=3,
    pot_life=minutes(20),
    flash=minutes(10),
    recoat_opens=hours(3),
    tape=hours(24),
    hazards=(Hazard.PEROXIDE, Hazard.SOLVENT, Hazard.DUST),
    chemistry=Chemistry.POLYESTER,
    carrier=Carrier.SOLVENT,
    traits=(Trait.BRITTLE, Trait.HIGH_SOLIDS),
)
"""A polyester spray filler with a peroxide hardener: thick, brittle, sanded. Common practice, no source."""

SEALER = Card(
    id="sealer",
    name="Two-part sealer",
    duty=Duty.SEALER,
    origins=PRACTICE,
    two_part=True,
    activators=(Activator(id="sealer-b", name="Sealer hardener", suits=Suits.ANY, share="25 % of base"),),
    coats_least=1,
    coats_most=2,
    pot_life=hours(2),
    flash=minutes(10),
    recoat_opens=minutes(30),
    recoat_closes=hours(24),
    tape=hours(24),
    cure=timedelta(days=7),
    hazards=(Hazard.ISOCYANATES, Hazard.SOLVENT),
    chemistry=Chemistry.URETHANE,
    carrier=Carrier.SOLVENT,
)
"""A two-part urethane sealer. Common practice, no source."""

URETHANE = Card(
    id="urethane",
    name="Urethane clear",
    duty=Duty.CLEAR,
    origins=PRACTICE,
    two_part=True,
    activators=(Activator(id="hard", name="Clear hardener", suits=Suits.ANY, share="50 % of base"),),
    additives=(Additive(id="flex", name="Flex additive", suits=Suits.FLEXIBLE, share="10 % of base"),),
    coats_least=2,
    coats_most=3,
    pot_life=hours(2),
    flash=minutes(15),
    recoat_opens=minutes(30),
    recoat_closes=hours(24),
    tape=hours(24),
    cure=timedelta(days=7),
    hazards=(Hazard.ISOCYANATES, Hazard.SOLVENT),
    chemistry=Chemistry.URETHANE,
    carrier=Carrier.SOLVENT,
)
"""A two-part urethane clear that may take a flex additive. Common practice, no source."""

POLYOLEFIN = Card(
    id="polyolefin",
    name="Polyolefin promoter",
    duty=Duty.PROMOTER,
    origins=PRACTICE,
    coats_least=1,
    coats_most=2,
    flash=minutes(10),
    recoat_opens=minutes(10),
    recoat_closes=hours(24),
    tape=hours(24),
    hazards=(Hazard.SOLVENT,),
    chemistry=Chemistry.POLYOLEFIN,
    carrier=Carrier.SOLVENT,
)
"""A one-part promoter for PP and TPO. Common practice, no source."""

UV_CLEAR = Card(
    id="uv-clear",
    name="UV clear",
    duty=Duty.CLEAR,
    origins=PRACTICE,
    coats_least=1,
    coats_most=2,
    flash=minutes(5),
    recoat_opens=minutes(10),
    tape=hours(1),
    film_um=50.0,
    hazards=(Hazard.UV_LAMP,),
    chemistry=Chemistry.UV,
    carrier=Carrier.NONE,
)
"""A clear that a lamp cures. Common practice, no source."""

_AUTO: Any = object()


class JobBuilder:
    """A job under construction and the clock on its wall, at `now`."""

    def __init__(self, start: datetime = START, tables: Tables | None = None) -> None:
        self.now = start
        self.tables = tables if tables is not None else load_tables()
        self.job = Job(format=FORMAT, schema=SCHEMA, id="job-1", created=start)
        self._piece = self._layer = self._mix = ""
        self._count = 0

    # --- the clock ---------------------------------------------------------------------------------

    def wait(self, **span: float) -> Self:
        """Let time pass: `wait(minutes=15)`, `wait(hours=2, seconds=-1)`."""
        self.now += timedelta(**span)
        return self

    def at(self, moment: datetime) -> Self:
        """Turn the clock to `moment`, back if need be."""
        self.now = moment
        return self

    # --- the plan ----------------------------------------------------------------------------------

    def add(self, kind: type[ev.Event], **fields: Any) -> Self:
        """Write one event at this moment."""
        self._count += 1
        self.job = with_events(self.job, kind(id=f"e{self._count}", at=self.now, **fields))
        return self

    @property
    def last_id(self) -> str:
        """The id of the newest event."""
        return f"e{self._count}"

    def card(self, *cards: Card) -> Self:
        """Copy cards into the job."""
        for card in cards:
            self.add(ev.CardCopied, card=card)
        return self

    def piece(
        self,
        piece: str = "panel",
        substrate: str = "aluminium",
        *,
        flex: str = "rigid",
        known: str = "told",
        face: str = "outside",
        name: str | None = None,
        mark: str = "",
        shape: tuple[ev.Shape, ...] = (),
        joined: tuple[str, ...] = (),
    ) -> Self:
        """Bring in a piece; what follows is about it."""
        self._piece = piece
        made = replace(_piece(piece, substrate, flex, known, face, name), mark=mark, shape=shape, joined=joined)
        return self.add(ev.PieceAdded, piece=made)

    def change_piece(
        self,
        substrate: str,
        *,
        flex: str = "rigid",
        known: str = "told",
        face: str = "outside",
        name: str | None = None,
    ) -> Self:
        """Describe the piece in hand anew."""
        return self.add(ev.PieceChanged, piece=_piece(self._piece, substrate, flex, known, face, name))

    def layer(
        self,
        layer: str,
        card: Card,
        coats: int | None = None,
        *,
        activator: str | None = None,
        gun: Gun = Gun.AIRBRUSH,
        additives: tuple[str, ...] = (),
        before: str | None = None,
    ) -> Self:
        """Plan a layer on the piece in hand, with the least coats its card asks for; it is then in hand."""
        self._layer = layer
        count = coats or card.coats_least
        plan = ev.Layer(id=layer, card=card.id, coats=count, activator=activator, gun=gun, additives=additives)
        return self.add(ev.LayerAdded, piece=self._piece, layer=plan, before=before)

    def insert_layer(
        self, layer: str, card: Card, before: str, coats: int | None = None, *, activator: str | None = None
    ) -> Self:
        """Plan a layer under another one."""
        self._layer = layer
        plan = ev.Layer(id=layer, card=card.id, coats=coats or card.coats_least, activator=activator)
        return self.add(ev.LayerAdded, piece=self._piece, layer=plan, before=before)

    def change_layer(self, layer: str | None = None, **fields: Any) -> Self:
        """Change a layer's plan."""
        return self.add(ev.LayerChanged, layer=replace(self.layer_state(layer).plan, **fields))

    def plan_trial(
        self,
        systems: Mapping[str, Sequence[tuple[Card, str | None] | Card]],
        *,
        trial: str = "t1",
        each: int = 1,
        controls: Sequence[str] = ("None",),
        substrate: str = "abs",
        known: str = "told",
        flex: str = "rigid",
        face: str = "outside",
        batch: str = "",
        **plan: Any,
    ) -> Self:
        """Set up a trial: each system by its name with its cards (and their activators), first one on first.

        Strips are the pieces `t1-1`, `t1-2` ... by place, named "Strip 1" ..., with the layers `t1-1-a`, `t1-1-b` ...;
        the replicates of a system lie side by side over and over (A B A B). Systems are `a`, `b` ... in their order.
        `plan` goes into the trial: methods, rest, ageing, tape_stays, piece, ...
        """
        stacks = {n: [c if isinstance(c, tuple) else (c, None) for c in stack] for n, stack in systems.items()}
        ids = dict(zip(systems, "abcdefghijkl", strict=False))
        self.card(*{c.id: c for stack in stacks.values() for c, _ in stack}.values())
        strips = []
        for k, name in enumerate(name for _ in range(each) for name in systems):
            self._piece = piece = f"{trial}-{k + 1}"
            made = _piece(piece, substrate, flex, known, face, f"Strip {k + 1}")
            self.add(ev.PieceAdded, piece=replace(made, strip_of=trial, batch=batch))
            for letter, (card, activator) in zip("abcdefgh", stacks[name], strict=False):
                self.layer(f"{piece}-{letter}", card, activator=activator)
            panel, place = divmod(k, MOST_ON_A_PANEL)
            strips.append(
                ev.Strip(piece=piece, system=ids[name], replicate=k // len(ids) + 1, panel=panel + 1, place=place)
            )
        told = tuple(ev.System(id=ids[n], name=n, control=n in controls) for n in systems)
        made_plan: dict[str, Any] = {"name": "Trial", **plan}
        return self.add(ev.TrialPlanned, trial=ev.Trial(id=trial, systems=told, strips=tuple(strips), **made_plan))

    # --- the cup -----------------------------------------------------------------------------------

    def mix(
        self,
        layer: str | None = None,
        *,
        make_mL: float = 50.0,
        mix: str | None = None,
        parts: tuple[RecipePart, ...] | None = None,
        gun: Gun | None = None,
        metal: bool = False,
    ) -> Self:
        """Begin a cup for a layer by its card, its activator and its gun; both are then in hand."""
        self._layer = layer or self._layer
        state = self.layer_state()
        card = self.state.cards[state.plan.card]
        gun = gun or state.plan.gun
        self._mix = mix or f"m{sum(isinstance(e, ev.Mixed) for e in self.job.events) + 1}"
        return self.add(
            ev.Mixed,
            mix=self._mix,
            layer=state.id,
            card=card.id,
            gun=gun,
            make_mL=make_mL,
            parts=parts or recipe(card, card.activator(state.plan.activator), gun, state.plan.additives),
            activator=state.plan.activator,
            metal_cup=metal,
        )

    def pour(self, kind: str, mL: float, *, mix: str | None = None, typed: str = "", guess: bool = False) -> Self:
        """Pour into the cup in hand; `kind` is base, activator, reducer, additive, or the part's name.

        It comes out of the can in hand for that part, where one is.
        """
        cup = self.mix_state(mix)
        name = next((p.name for p in cup.parts if kind in (p.kind.value, p.name)), kind)
        can = self.state.lot_for(cup.made.card, name)
        lot = can.id if can is not None else None
        return self.add(ev.Poured, mix=cup.id, part=name, mL=mL, typed=typed, lot=lot, guess=guess)

    def take(self, card: Card, part: str, lot: str = "lot-1", *, full_mL: float = 500.0, **told: Any) -> Self:
        """Take a can in hand for a part (`Base`, or the name of the activator or reducer)."""
        return self.add(ev.LotTaken, lot=Lot(id=lot, card=card.id, part=part, full_mL=full_mL, **told))

    def stir(self, what: str, *, mix: str | None = None) -> Self:
        """Stir the cup in hand: base, activated or reduced."""
        return self.add(ev.MixStirred, mix=mix or self._mix, what=ev.Stirred(what))

    def share(self, layer: str, *, mix: str | None = None) -> Self:
        """Take the cup in hand for another layer of the same product too."""
        return self.add(ev.CupShared, mix=mix or self._mix, layer=layer)

    def empty(self, *, mix: str | None = None, left_mL: float | None = None) -> Self:
        """Empty the cup in hand and clean the gun; `left_mL` was thrown away."""
        return self.add(ev.CupEmptied, mix=mix or self._mix, left_mL=left_mL)

    def ready(self, layer: str | None = None, *, make_mL: float = 50.0) -> Self:
        """Mix a cup exactly as its card says, stand times included, up to the moment it may be sprayed."""
        self.mix(layer, make_mL=make_mL)
        cup = self.mix_state()
        card = self.state.cards[cup.made.card]
        amounts = {p.name: a for p, a in zip(cup.parts, amounts_mL(cup.parts, cup.made.make_mL), strict=True)}
        last = ""
        for part in cup.parts:
            if part.kind is PartKind.REDUCER and last == "activated":
                self.stir(last)
                self.now += card.stand or timedelta(0)
            self.pour(part.name, amounts[part.name])
            last = {PartKind.BASE: "base", PartKind.ACTIVATOR: "activated"}.get(part.kind, "reduced")
        self.stir(last)
        stand = card.stand_reduced if last == "reduced" else card.stand if last == "activated" else None
        self.now += stand or timedelta(0)
        return self

    # --- the work ----------------------------------------------------------------------------------

    def prep(self, *steps: str, piece: str | None = None, **told: Any) -> Self:
        """Log steps of cleaning and preparing; `agent`, `grit` and `passed` are said of each of them."""
        for step in steps:
            self.add(ev.PrepDone, piece=piece or self._piece, step=ev.Prep(step), **told)
        return self

    def film(self, um: float, layer: str | None = None) -> Self:
        """Note the dry film measured on one coat of a layer."""
        return self.add(ev.FilmMeasured, layer=layer or self._layer, um=um)

    def heat(self, degC: float = 60.0, piece: str | None = None) -> Self:
        """Hold the piece at so many degrees from now on."""
        return self.add(ev.HeatStarted, piece=piece or self._piece, degC=degC)

    def heat_off(self, piece: str | None = None) -> Self:
        """Take the heat off the piece."""
        return self.add(ev.HeatEnded, piece=piece or self._piece)

    def mask(self, piece: str | None = None) -> Self:
        """Put masking tape on."""
        return self.prep("mask", piece=piece)

    def unmask(self, piece: str | None = None) -> Self:
        """Take masking tape off."""
        return self.prep("unmask", piece=piece)

    def trial(self, *, held: bool = True, piece: str | None = None) -> Self:
        """Log a test strip of the stack that is planned now."""
        of = self.state.pieces[piece or self._piece]
        return self.add(ev.TrialRecorded, piece=of.id, held=held, cards=tuple(x.plan.card for x in of.layers))

    def start(self, layer: str | None = None, *, mix: str | None = _AUTO) -> Self:
        """Begin a coat from the cup that serves the layer, or from `mix` (None for no cup on record)."""
        self._layer = layer or self._layer
        if mix is _AUTO:
            cup = self.state.mix_for(self.layer_state())
            mix = cup.id if cup is not None else None
        return self.add(ev.CoatStarted, layer=self._layer, mix=mix)

    def done(self, layer: str | None = None) -> Self:
        """End the coat."""
        return self.add(ev.CoatDone, layer=layer or self._layer)

    def coat(self, layer: str | None = None, *, mix: str | None = _AUTO, takes: timedelta = timedelta(0)) -> Self:
        """Spray one coat."""
        self.start(layer, mix=mix)
        self.now += takes
        return self.done()

    def coats(self, count: int, layer: str | None = None, *, apart: timedelta) -> Self:
        """Spray several coats, each `apart` after the one before."""
        for i in range(count):
            self.now += apart if i else timedelta(0)
            self.coat(layer)
        return self

    def read_air(self, air_degC: float = 20.0, humidity_percent: float = 50.0, **more: float) -> Self:
        """Take a reading; `surface_degC` and `speed_m_s` where they were measured too."""
        return self.add(ev.ReadingTaken, air_degC=air_degC, humidity_percent=humidity_percent, **more)

    def waive(self, finding: Finding, reason: str = "I know what I do.") -> Self:
        """Sign that the work goes on in spite of `finding`."""
        return self.add(ev.WaiverSigned, rule=finding.rule, key=finding.key, message=finding.message, reason=reason)

    def correct(self, event: str, really_at: datetime) -> Self:
        """Say when an event really happened."""
        return self.add(ev.Corrected, event=event, really_at=really_at)

    def undo(self) -> Self:
        """Take the last act back."""
        return self.add(ev.Withdrawn, events=tuple(e.id for e in last_act(self.job)))

    # --- what comes out ----------------------------------------------------------------------------

    @property
    def state(self) -> State:
        """What the events add up to."""
        return fold(self.job)

    def layer_state(self, layer: str | None = None) -> LayerState:
        """The layer of that id, or the one in hand."""
        return self.state.layers[layer or self._layer]

    def mix_state(self, mix: str | None = None) -> Mix:
        """The cup of that id, or the one in hand."""
        return self.state.mixes[mix or self._mix]

    def findings(self, at: datetime | None = None) -> tuple[Finding, ...]:
        """All that the rules say, each by itself, waived or not, worst first."""
        return Review(self.job, self.state, self.tables).raw(at or self.now)

    def shown(self, at: datetime | None = None) -> tuple[Finding, ...]:
        """What the painter is shown of that: each cause once, the rest as echoes."""
        return Review(self.job, self.state, self.tables).at(at or self.now)

    def of(self, rule: str, at: datetime | None = None) -> tuple[Finding, ...]:
        """What one rule says, waived or not."""
        return tuple(f for f in self.findings(at) if f.rule == rule)

    def one(self, rule: str, at: datetime | None = None) -> Finding:
        """The one thing that this rule says."""
        (finding,) = self.of(rule, at)
        return finding

    def rules(self, at: datetime | None = None) -> set[str]:
        """Which rules say anything that is not waived."""
        return {f.rule for f in self.findings(at) if not f.waived}

    def in_the_way(self, layer: str | None = None, at: datetime | None = None) -> set[str]:
        """Which rules stand in the way of a coat on the piece of a layer."""
        return {f.rule for f in every(in_the_way(self.findings(at), self.layer_state(layer).piece))}

    def windows(self, at: datetime | None = None) -> dict[str, str]:
        """What each window says, by its key."""
        return {w.key: w.words(at or self.now) for w in self.all_windows()}

    def all_windows(self) -> tuple[Window, ...]:
        """Every window of the job."""
        return all_windows(self.state)


def _piece(piece: str, substrate: str, flex: str, known: str, face: str, name: str | None) -> ev.Piece:
    return ev.Piece(
        id=piece,
        name=name or piece.capitalize(),
        substrate=substrate,
        known=ev.Known(known),
        flex=Flex(flex),
        face=ev.Face(face),
    )
