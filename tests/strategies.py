"""Jobs as painters would make them, for hypothesis: a plan, then a walk of acts with time passing between them.

Every job drawn here is one that `validate.faults` has nothing to say about; the acts are those a painter can
do at that moment, mistakes of the hand (a wrong pour, a coat too early or too late, an undo) included.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import partial
from itertools import pairwise
from typing import Any

from hypothesis import HealthCheck, assume, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.cardpaces import FORCEABLE
from benchtool.job.cards import (
    Activator,
    Additive,
    AirRange,
    ArrheniusPacing,
    Card,
    CardTime,
    Care,
    Carrier,
    Chemistry,
    DoublingPacing,
    Duty,
    EvaporationPacing,
    ForcedDry,
    Gun,
    Hazard,
    Origin,
    OriginKind,
    Pacing,
    Reduction,
    TablePacing,
    Trait,
    Voc,
    recipe,
)
from benchtool.job.lots import Lot
from benchtool.job.nextstep import CupAct, cup_step
from benchtool.job.record import FORMAT, SCHEMA, Job, entered_at, last_act, last_undo, standing, with_events
from benchtool.job.state import LayerState, Mix, PieceState, State, fold
from benchtool.job.trials import TrialState
from benchtool.job.validate import faults
from benchtool.trade.grades import FailurePlace, Method, scale
from benchtool.trade.substrates import Flex, Suits

Draw = Callable[..., Any]


def examples(number: int) -> settings:
    """Settings of a property test: so many examples, the same on every run, no clock in the verdict."""
    slow = [HealthCheck.too_slow, HealthCheck.data_too_large]
    return settings(max_examples=number, deadline=None, derandomize=True, database=None, suppress_health_check=slow)


words = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
"""Whatever a painter may type or paste: control characters, right-to-left, emoji; never half a character."""
names = words.filter(bool)
instants = st.datetimes(datetime(2000, 1, 1), datetime(2099, 12, 31), timezones=st.just(UTC))  # noqa: DTZ001
pauses = st.sampled_from([0, 0.25, 1, 20, 61, 380, 900, 3_600, 5_400, 86_400, 30 * 86_400]).map(
    lambda s: timedelta(seconds=s)
)

_minutes = st.sampled_from([1, 6, 10, 15, 20, 30, 90]).map(lambda m: timedelta(minutes=m))
_hours = st.sampled_from([1, 4, 24, 72, 24 * 30]).map(lambda h: timedelta(hours=h))
_activator_shares = st.sampled_from(["2 % of base", "10 % of base", "1:1 of base", "25"])
_reducer_shares = st.sampled_from(["0 % of base", "1x activated", "50 % of the activated mix", "10 % of total", "25"])


TIMES = (
    "stand", "stand_reduced", "pot_life", "flash", "flash_most", "recoat_opens", "recoat_closes", "tape", "cure",
)  # fmt: skip


GIVEN = {
    CardTime.STAND: "stand", CardTime.STAND_REDUCED: "stand_reduced", CardTime.POT_LIFE: "pot_life",
    CardTime.FLASH: "flash", CardTime.FLASH_CLOSES: "flash_most", CardTime.RECOAT_OPENS: "recoat_opens",
    CardTime.RECOAT_CLOSES: "recoat_closes", CardTime.TAPE: "tape", CardTime.CURE: "cure",
}  # fmt: skip
"""In which field of a card each of its times stands."""


def some(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """A value that a card may also leave out."""
    return st.one_of(st.none(), strategy)


_percents = st.floats(0, 100, exclude_min=True)
_shelf_lives = st.sampled_from([0, 8, 24, 30 * 24, 90 * 24, 182 * 24, 365 * 24, 1_000 * 24]).map(
    lambda hours: timedelta(hours=hours)
)
_flow_cups = st.sampled_from(["ISO 4 mm", "DIN 4", "ford 4", "Zahn #2"])


def vocs() -> st.SearchStrategy[Voc]:
    """What evaporates out of a part: never more than a litre of the lightest one weighs."""
    return st.builds(
        Voc,
        voc_g_L=st.floats(0, 300),
        water_g_L=st.just(0.0) | st.floats(0, 200),
        exempt_g_L=st.just(0.0) | st.floats(0, 200),
        exempt_density_g_mL=some(st.floats(0.6, 1.6)),
    )


origins: st.SearchStrategy[str | Origin] = words | st.builds(
    Origin,
    kind=st.sampled_from(OriginKind),
    words=words,
    page=words,
    day=st.just("") | st.dates().map(lambda day: day.isoformat()),
)
"""Where a value is from: a line of words, as older cards have it, or its kind with page and day."""


def additives() -> st.SearchStrategy[tuple[Additive, ...]]:
    """What may be mixed in beside the activator; often nothing."""
    one = st.fixed_dictionaries(
        {
            "suits": st.sampled_from(Suits),
            "share": st.sampled_from(["5 % of base", "10 % of base", "1:10 of base"]),
            "density_g_mL": some(st.floats(0.7, 1.8)),
        }
    )
    return st.lists(one, max_size=2).map(
        lambda told: tuple(Additive(id=f"d{i}", name=f"Additive {i}", **each) for i, each in enumerate(told))
    )


_reference = st.sampled_from([18.0, 20.0, 23.0])
_least = some(st.sampled_from([5.0, 10.0, 18.0]))
LAWS: st.SearchStrategy[Pacing] = st.one_of(
    st.builds(ArrheniusPacing, energy_kJ_mol=st.floats(20, 90), reference_degC=_reference, least_degC=_least),
    st.builds(DoublingPacing, factor=st.floats(1, 4), reference_degC=_reference, least_degC=_least),
)
"""How the air changes a time, whichever it is."""
DRYING: st.SearchStrategy[Pacing] = st.builds(
    EvaporationPacing, reference_percent=st.floats(20, 70), reference_m_s=st.floats(0, 1), reference_degC=_reference
)


@st.composite
def tables(draw: Draw, near: timedelta) -> Pacing:
    """A card's own table of a time that is about so long: colder takes longer, warmer is quicker."""
    warmths = sorted(draw(st.sets(st.integers(5, 35), min_size=1, max_size=4)))
    lengths = draw(st.lists(st.floats(0.2, 5), min_size=len(warmths), max_size=len(warmths)))
    least = timedelta(seconds=1)
    rows = zip(warmths, (max(least, near * x) for x in sorted(lengths, reverse=True)), strict=True)
    return TablePacing(points=tuple((float(degC), wait) for degC, wait in rows), reference_degC=draw(_reference))


@st.composite
def paces(draw: Draw, times: dict[CardTime, timedelta | None], *, table: bool = True) -> dict[CardTime, Pacing]:
    """What a card says of how the air changes its times; often nothing."""
    if draw(st.booleans()):
        return {}
    said: dict[CardTime, Pacing] = {}
    if draw(st.booleans()):
        said[CardTime.EVERY] = draw(LAWS | DRYING)
    for time, wait in times.items():
        kinds = [LAWS] if time.in_cup else [LAWS, DRYING]
        if table and wait is not None:
            kinds.append(tables(wait))
        if draw(st.integers(0, 3)) == 0:
            said[time] = draw(st.one_of(kinds))
    return said


@st.composite
def forced(draw: Draw, times: dict[CardTime, timedelta | None]) -> dict[CardTime, ForcedDry]:
    """What a card gives for its waits in heat, never longer than they are without; often nothing."""
    if draw(st.booleans()):
        return {}
    given = {time: wait for time, wait in times.items() if time in FORCEABLE and (wait is None or wait > timedelta(0))}
    return {
        time: ForcedDry(
            degC=draw(st.sampled_from([30.0, 40.0, 60.0])),
            wait=(wait or timedelta(minutes=20)) * draw(st.sampled_from([1.0, 0.5, 0.1])),
        )
        for time, wait in given.items()
        if draw(st.booleans())
    }


@st.composite
def films(draw: Draw) -> tuple[tuple[float, float], ...]:
    """How many times as long the waits of a card take in a thicker film; often nothing."""
    thick = sorted(draw(st.sets(st.sampled_from([10.0, 25.4, 40.0, 60.0, 120.0]), max_size=3)))
    factors = draw(st.sets(st.floats(1, 8), min_size=len(thick), max_size=len(thick)))
    return tuple(zip(thick, sorted(factors), strict=True))


@st.composite
def cards(draw: Draw, card_id: str = "c1", *, table: bool = True, heat: bool = True) -> Card:
    """A product card whose shares can be mixed together."""
    flash, flash_more = draw(some(_minutes)), draw(some(_minutes))
    opens, closes_more = draw(some(_minutes | _hours)), draw(some(_minutes | _hours))
    activators = tuple(
        Activator(
            id=f"a{i}",
            name=f"Activator {i}",
            suits=draw(st.sampled_from(Suits)),
            share=draw(_activator_shares),
            density_g_mL=draw(some(st.floats(0.7, 1.8))),
            solids_percent=draw(some(_percents)),
            voc=draw(some(vocs())),
            keeps=None if (more := draw(some(_shelf_lives))) is None else more + timedelta(days=1_000),
            keeps_opened=draw(some(_shelf_lives)),
            tolerance_percent=draw(some(st.floats(0.1, 50))),
            maker=draw(words),
        )
        for i in range(draw(st.integers(0, 2)))
    )
    reductions = tuple(
        Reduction(
            gun=gun,
            least="0 % of base",
            usual=draw(_reducer_shares),
            most="1:1 of base",
            flow_cup=cup,
            flow_s=draw(st.floats(1, 200)) if cup is not None else None,
        )
        for gun, cup in draw(st.dictionaries(st.sampled_from(Gun), some(_flow_cups), max_size=2)).items()
    )
    opened, unopened_more = draw(some(_shelf_lives)), draw(some(_shelf_lives))
    thinner_opened, thinner_more = draw(some(_shelf_lives)), draw(some(_shelf_lives))
    card = Card(
        id=card_id,
        name=draw(st.sampled_from(["Clear 1", "Base “deep”", "Grundierung ü"])),
        duty=draw(st.sampled_from(Duty)),
        origins=draw(st.dictionaries(st.sampled_from(["*", "flash", "stand", "pot_life"]), origins, max_size=3)),
        two_part=bool(activators),
        activators=activators,
        reductions=reductions,
        density_g_mL=draw(some(st.floats(0.7, 1.8))),
        reducer_density_g_mL=draw(some(st.floats(0.7, 1.8))),
        solids_percent=draw(some(_percents)),
        voc=draw(some(vocs())),
        reducer_voc=draw(some(vocs())),
        tolerance_percent=draw(some(st.floats(0.1, 50))),
        keeps=None if unopened_more is None else (opened or timedelta(0)) + unopened_more,
        keeps_opened=opened,
        reducer_keeps=None if thinner_more is None else (thinner_opened or timedelta(0)) + thinner_more,
        reducer_keeps_opened=thinner_opened,
        coats_least=1,
        coats_most=draw(st.integers(1, 4)),
        film_um=draw(some(st.floats(1, 200))),
        stand=draw(some(_minutes)),
        stand_reduced=draw(some(_minutes)),
        pot_life=draw(some(_minutes | _hours)),
        flash=flash,
        flash_most=None if flash_more is None else (flash or timedelta(0)) + flash_more,
        recoat_opens=opens,
        recoat_closes=None if closes_more is None or opens is None else opens + closes_more,
        tape=draw(some(_hours)),
        cure=draw(some(_hours)),
        hazards=tuple(draw(st.lists(st.sampled_from(Hazard), unique=True))),
        note=draw(words),
        air=draw(some(st.just(AirRange(least_degC=10.0, most_degC=30.0, most_percent=80.0)))),
        fast_solvent=draw(st.booleans()),
        maker=draw(words),
        chemistry=draw(some(st.sampled_from(Chemistry))),
        carrier=draw(some(st.sampled_from(Carrier))),
        traits=tuple(draw(st.lists(st.sampled_from(Trait), unique=True, max_size=3))),
        additives=draw(additives()),
        dust_free=draw(some(_minutes)),
        film_most_um=draw(some(st.floats(1, 400))),
        only_over=draw(st.just(()) | st.sampled_from([("elsewhere",), ("c0", "elsewhere")])),
        care=draw(st.dictionaries(st.sampled_from(Care), _hours, max_size=2)),
    )
    times = {time: getattr(card, field) for time, field in GIVEN.items()}
    return replace(
        card,
        paces=draw(paces(times, table=table)),
        forced=draw(forced(times)) if heat else {},
        films=draw(films()),
    )


@st.composite
def pieces(draw: Draw, piece_id: str) -> ev.Piece:
    """A piece, known or not."""
    return ev.Piece(
        id=piece_id,
        name=draw(names),
        substrate=draw(st.sampled_from(["abs", "steel", "unknown"])),
        known=draw(st.sampled_from(ev.Known)),
        flex=draw(st.sampled_from(Flex)),
        face=draw(st.sampled_from(ev.Face)),
        mark=draw(st.just("") | st.sampled_from([">PP+EPDM-TD20<", ">ABS<"]) | words),
        clues=tuple(draw(st.lists(st.builds(ev.Clue, test=names, answer=names), max_size=2))),
        shape=tuple(draw(st.lists(st.sampled_from(ev.Shape), unique=True))),
        joined=tuple(draw(st.lists(st.sampled_from(["steel", "aluminium"]), unique=True))),
        batch=draw(st.just("") | words),
        area_m2=draw(some(st.floats(0.001, 100))),
    )


@st.composite
def lots(draw: Draw, lot_id: str, card: Card) -> Lot:
    """A can of one part of this card's mix."""
    names_of = {p.name for a in (None, *card.activators) for gun in Gun for p in recipe(card, a, gun)}
    counted = draw(st.booleans())
    return Lot(
        id=lot_id,
        card=card.id,
        part=draw(st.sampled_from(sorted(names_of))),
        full_mL=draw(st.floats(0.5, 20_000)),
        number=draw(words),
        price=draw(some(st.floats(0, 5_000))),
        got_on=draw(some(instants)),
        opened_on=draw(some(instants)),
        best_before=draw(some(instants)),
        keeps_opened=draw(some(st.integers(0, 1_000).map(lambda d: timedelta(days=d)))),
        low_mL=draw(some(st.floats(0, 1_000))),
        counted_mL=draw(st.floats(0, 20_000)) if counted else None,
        counted_on=draw(instants) if counted else None,
        note=draw(words),
    )


ageings = st.builds(
    ev.Ageing,
    kind=st.sampled_from(ev.AgeingKind),
    lasts=some(st.integers(1, 240).map(lambda h: timedelta(hours=h))),
    degC=some(st.floats(-20, 90)),
    mandrel_mm=some(st.floats(1, 50)),
    recovers=st.integers(0, 24).map(lambda h: timedelta(hours=h)),
)
"""What a strip may go through."""

readings = st.fixed_dictionaries(
    {
        "air_degC": st.floats(5, 35) | st.floats(-40, 100) | st.floats(-1e6, 1e6),
        "humidity_percent": st.floats(10, 100) | st.floats(0, 100) | st.floats(-10, 400),
        "surface_degC": some(st.floats(5, 35) | st.floats(-40, 120) | st.just(400.0)),
        "speed_m_s": some(st.floats(0, 5) | st.just(1e6)),
        "source": st.sampled_from(["", "typed", "shop.csv"]),
    }
)
"""What a thermometer may show or a hand may type, air that can't be among it."""


@dataclass
class Walk:
    """A painter at work: draws what to do next from what the job allows, and writes it down."""

    draw: Draw
    job: Job
    now: datetime
    state: State = field(init=False)
    count: int = 0
    table: bool = True
    heat: bool = True
    clock: bool = True

    def __post_init__(self) -> None:
        self.state = fold(self.job)

    def number(self) -> int:
        self.count += 1
        return self.count

    def act(self, *drafts: Callable[..., ev.Event]) -> None:
        """Write one act down; its events belong together."""
        head: str | None = None
        made = []
        for draft in drafts:
            event = draft(id=f"e{self.number()}", at=self.now, along_with=head)
            head = head or event.id
            made.append(event)
        self.job = with_events(self.job, *made)
        self.state = fold(self.job)

    def plan(self) -> None:
        """What a job begins with: its name, a card or two, pieces, layers."""
        draw = self.draw
        title, customer = draw(names), draw(words)
        self.act(partial(ev.JobDescribed, title=title, customer=customer, promised=draw(some(instants))))
        for i in range(draw(st.integers(1, 2))):
            card = draw(cards(f"c{i}", table=self.table, heat=self.heat))
            self.act(partial(ev.CardCopied, card=card))
        for i in range(draw(st.integers(1, 2))):
            piece = draw(pieces(f"p{i}"))
            add = partial(ev.PieceAdded, piece=piece)
            self.act(add, self.layer_draft(piece.id)) if draw(st.booleans()) else self.act(add)
            if draw(st.booleans()) or not self.state.layers:
                self.add_layer(self.state.pieces[piece.id])

    def layer_draft(self, piece: str, before: str | None = None) -> Callable[..., ev.Event]:
        draw = self.draw
        card = draw(st.sampled_from(list(self.state.cards.values())))
        layer = ev.Layer(
            id=f"l{self.number()}",
            card=card.id,
            coats=draw(st.integers(1, 3)),
            colour=draw(some(st.just("#8a1C00"))),
            gun=draw(st.sampled_from([Gun.AIRBRUSH, Gun.AIRBRUSH, Gun.FULL])),
            activator=draw(st.sampled_from([a.id for a in card.activators])) if card.activators else None,
            additives=self._additives(card),
            note=draw(st.just("") | words),
            make_mL=draw(some(st.floats(0.1, 2_000))),
        )
        return partial(ev.LayerAdded, piece=piece, layer=layer, before=before)

    def _additives(self, card: Card) -> tuple[str, ...]:
        """Some of the card's additives, or one that is on it no more."""
        return tuple(self.draw(st.lists(st.sampled_from([*(a.id for a in card.additives), "gone"]), unique=True)))

    def add_layer(self, piece: PieceState) -> None:
        if self.state.cards:
            before = self.draw(some(st.sampled_from([x.id for x in piece.layers]))) if piece.layers else None
            self.act(self.layer_draft(piece.id, before))

    def work(self, most: int) -> None:
        """Do up to `most` acts, with time passing between them."""
        for _ in range(self.draw(st.integers(most // 3, most))):
            self.now += self.draw(pauses)
            acts = [self.spray, self.spray, self.cup, self.cup, self.aside, self.take_back]
            self.draw(st.sampled_from(acts))()

    def _piece(self) -> PieceState | None:
        return self.draw(st.sampled_from(list(self.state.pieces.values()))) if self.state.pieces else None

    def spray(self) -> None:
        """Begin or end a coat on a layer that takes one."""
        piece = self._piece()
        layer = piece.current if piece is not None else None
        if layer is None:
            return
        if layer.open_coat is not None:
            self.act(partial(ev.CoatDone, layer=layer.id))
            return
        mix = self.state.mix_for(layer)
        used = mix.id if mix is not None and self.draw(st.booleans()) else None
        start = partial(ev.CoatStarted, layer=layer.id, mix=used)
        self.act(self._waiver(), start) if self.draw(st.integers(0, 4)) == 0 else self.act(start)

    def cup(self) -> None:
        """Do the next thing at a cup, not always the right one."""
        piece = self._piece()
        layer = piece.current if piece is not None else None
        card = self.state.card_of(layer) if layer is not None else None
        if layer is None or card is None:
            return
        mix = self.state.mix_for(layer)
        shared = self.state.cups_to_share(layer)
        if mix is None and shared and self.draw(st.booleans()):
            self.act(partial(ev.CupShared, mix=self.draw(st.sampled_from([m.id for m in shared])), layer=layer.id))
            return
        if mix is None:
            self._begin(layer, card)
            return
        step = cup_step(self.state.cards[mix.made.card], mix, self.now)
        if step.act in (CupAct.POUR, CupAct.MEND) and self.draw(st.integers(0, 5)):
            amount = min(step.amount_mL * self.draw(st.sampled_from([1.0, 1.0, 1.02, 1.5])), 1e6)
            typed = self.draw(st.sampled_from(["", f"{amount:.1f} mL"]))
            can = self.state.lot_for(mix.made.card, step.part)
            lot = can.id if can is not None else None
            guess = self.draw(st.booleans())
            self.act(partial(ev.Poured, mix=mix.id, part=step.part, mL=amount, typed=typed, lot=lot, guess=guess))
        elif step.act is CupAct.STIR or self.draw(st.booleans()):
            what = step.stir or self.draw(st.sampled_from(ev.Stirred))
            self.act(partial(ev.MixStirred, mix=mix.id, what=what))
        else:
            self._empty(mix)

    def _begin(self, layer: LayerState, card: Card) -> None:
        activator = self.state.activator_of(layer)
        parts = recipe(card, activator, layer.plan.gun, layer.plan.additives)
        metal = self.draw(st.booleans())
        mix, make = f"m{self.number()}", self.draw(st.floats(0.5, 2_000))
        self.act(
            lambda **at: ev.Mixed(
                mix=mix,
                layer=layer.id,
                card=card.id,
                gun=layer.plan.gun,
                make_mL=make,
                parts=parts,
                activator=activator.id if activator is not None else None,
                metal_cup=metal,
                **at,
            )
        )

    def _empty(self, mix: Mix) -> None:
        self.act(partial(ev.CupEmptied, mix=mix.id, left_mL=self.draw(some(st.floats(0, 2_000)))))

    def aside(self) -> None:
        """Something else: a reading, a prep step, a trial, a can, a change of plan or card, a waiver, a correction."""
        piece = self._piece()
        others: list[Callable[[], None]] = [
            *(self._read, self._read, self._expect, self._waive, self._correct, self._amend_card, self._take),
            *((self._answer,) if self.clock else ()),
        ]
        if piece is not None:
            others += [
                lambda: self._prep(piece),
                lambda: self._prep(piece),
                lambda: self._judge(piece),
                lambda: self._describe(piece),
                lambda: self._photograph(piece),
                lambda: self._take_from(piece),
                lambda: self.add_layer(piece),
                lambda: self._replan(piece),
                lambda: self._heat(piece),
                lambda: self._heat(piece),
                lambda: self._measure(piece),
                self._try_out,
                self._try_out,
            ]
        self.draw(st.sampled_from(others))()

    def _read(self) -> None:
        told = self.draw(readings)
        self.act(partial(ev.ReadingTaken, **told))

    def _heat(self, piece: PieceState) -> None:
        """Put heat on a piece, or take it off."""
        if piece.heat.on is not None:
            self.act(partial(ev.HeatEnded, piece=piece.id))
            return
        degC = self.draw(st.sampled_from([20.0, 35.0, 60.0, 60.0, 150.0]))
        self.act(partial(ev.HeatStarted, piece=piece.id, degC=degC))

    def _measure(self, piece: PieceState) -> None:
        """Measure the dry film of a layer, or reckon it from a comb."""
        if not piece.layers:
            return
        layer = self.draw(st.sampled_from([x.id for x in piece.layers]))
        um = self.draw(st.sampled_from([8.0, 25.4, 50.0, 150.0, 5_000.0]))
        wet = self.draw(some(st.just(um * 2)))
        self.act(partial(ev.FilmMeasured, layer=layer, um=um, wet_um=wet))

    def _expect(self) -> None:
        """Say how the air will go, perhaps from a little before on, perhaps not at all."""
        hours = sorted(self.draw(st.sets(st.sampled_from([-2, 0, 1, 9, 13, 40]), max_size=3)))
        points = tuple(
            ev.CoursePoint(
                at=self.now + timedelta(hours=h),
                air_degC=self.draw(st.floats(-10, 45)),
                humidity_percent=self.draw(some(st.floats(1, 99))),
            )
            for h in hours
        )
        self.act(partial(ev.CourseExpected, points=points))

    def _waive(self) -> None:
        self.act(self._waiver())

    def _waiver(self) -> Callable[..., ev.Event]:
        rule = "timing.flash"
        return partial(ev.WaiverSigned, rule=rule, key=f"{rule}|l1|2", message="", reason=self.draw(names))

    def _prep(self, piece: PieceState) -> None:
        step = self.draw(st.sampled_from([*ev.Prep, ev.Prep.SCUFF, ev.Prep.SCUFF]))
        told = self.draw(
            st.fixed_dictionaries(
                {
                    "note": words,
                    "agent": some(st.sampled_from(["soap-water", "isopropanol"])),
                    "grit": some(st.sampled_from([6, 80, 400, 3_000, 10_000])),
                    "passed": some(st.booleans()),
                }
            )
        )
        self.act(partial(ev.PrepDone, piece=piece.id, step=step, **told))

    def _amend_card(self) -> None:
        """Write other times on a card that the job already holds."""
        if not self.state.cards:
            return
        card = self.draw(st.sampled_from(list(self.state.cards.values())))
        told = self.draw(cards(card.id, table=self.table, heat=self.heat))
        other = (
            "paces",
            "forced",
            "films",
            "origins",
            "maker",
            "chemistry",
            "carrier",
            "traits",
            "film_most_um",
            "only_over",
        )
        amended = replace(card, **{name: getattr(told, name) for name in (*other, "dust_free", *TIMES)})
        self.act(partial(ev.CardCopied, card=amended))

    def _take(self) -> None:
        """Take a can in hand, a new one or one that was in hand before."""
        if not self.state.cards:
            return
        card = self.draw(st.sampled_from(list(self.state.cards.values())))
        lot = self.draw(lots(f"lot{self.draw(st.integers(1, 4))}", card))
        self.act(partial(ev.LotTaken, lot=lot))

    def _judge(self, piece: PieceState) -> None:
        held, note = self.draw(st.booleans()), self.draw(words)
        self.act(
            partial(
                ev.TrialRecorded,
                piece=piece.id,
                held=held,
                note=note,
                cards=self.draw(st.just(()) | st.just(("c1", "c2"))),
            )
        )

    def _try_out(self) -> None:
        """Set up a trial, or do something in one: tape, ageing, a grade, a choice, putting it away."""
        if not self.state.trials:
            self._set_up()
            return
        trial = self.draw(st.sampled_from(list(self.state.trials.values())))
        acts = [self._press, self._age, self._grade, self._grade, self._choose, self._replan_trial, self._put_away]
        self.draw(st.sampled_from(acts))(trial)

    def _set_up(self) -> None:
        draw = self.draw
        trial, count = f"t{self.number()}", draw(st.integers(2, 3))
        systems = tuple(
            ev.System(id=f"s{i}", name=draw(names), control=not i, colour=draw(some(st.just("#3366aa"))))
            for i in range(count)
        )
        ids = [f"p{self.number()}" for _ in systems]
        made = [partial(ev.PieceAdded, piece=replace(draw(pieces(x)), strip_of=trial)) for x in ids]
        if self.state.cards:
            made += [self.layer_draft(x) for x in ids]
        plan = ev.Trial(
            id=trial,
            name=draw(names),
            systems=systems,
            strips=tuple(
                ev.Strip(piece=x, system=s.id, place=k) for k, (x, s) in enumerate(zip(ids, systems, strict=True))
            ),
            methods=tuple(draw(st.lists(st.sampled_from(Method), unique=True, max_size=3))),
            ageing=tuple(draw(st.lists(ageings, max_size=2))),
            rest=draw(st.integers(0, 48).map(lambda h: timedelta(hours=h))),
            tape_stays=draw(st.integers(0, 24).map(lambda h: timedelta(hours=h))),
            piece=draw(some(st.sampled_from([p.id for p in self.state.painted]))) if self.state.painted else None,
            randomised=draw(st.booleans()),
            note=draw(words),
        )
        self.act(*made, partial(ev.TrialPlanned, trial=plan))

    def _strip(self, trial: TrialState) -> str:
        return self.draw(st.sampled_from([s.piece for s in trial.plan.strips]))

    def _press(self, trial: TrialState) -> None:
        method = self.draw(st.sampled_from(Method))
        self.act(partial(ev.TapePressed, trial=trial.id, strip=self._strip(trial), method=method))

    def _age(self, trial: TrialState) -> None:
        strips = tuple(self.draw(st.lists(st.just(self._strip(trial)) | st.just(trial.plan.strips[0].piece),
                                          unique=True, min_size=1, max_size=2)))  # fmt: skip
        if any(r.over_at is None for r in trial.ageings):
            kind = self.draw(st.sampled_from([r.plan.kind for r in trial.ageings]))
            self.act(partial(ev.AgeingOver, trial=trial.id, strips=strips, kind=kind))
        else:
            self.act(partial(ev.AgeingBegun, trial=trial.id, strips=strips, ageing=self.draw(ageings)))

    def _grade(self, trial: TrialState) -> None:
        draw, method, strip = self.draw, self.draw(st.sampled_from(Method)), self._strip(trial)
        on = [x.id for x in self.state.pieces[strip].layers]
        corners = ((0.1, 0.1), (0.9, 0.1), (0.9, 0.9), (0.1, 0.9))
        photo = ev.Photo(
            name=draw(names), sha256="0f" * 32, corners=corners, mask="m.png", corrected=draw(st.booleans())
        )
        self.act(
            partial(
                ev.Graded,
                trial=trial.id,
                strip=strip,
                method=method,
                grade=draw(st.sampled_from([s.code for s in scale(method).steps])),
                removed_percent=draw(some(st.floats(0, 100))),
                plus_minus=draw(some(st.floats(0, 100))),
                place=draw(some(st.sampled_from(FailurePlace))),
                layer=draw(some(st.sampled_from(on))) if on else None,
                note=draw(words),
                photo=photo if draw(st.booleans()) else None,
            )
        )

    def _choose(self, trial: TrialState) -> None:
        piece = self._piece()
        if piece is not None:
            system = self.draw(st.sampled_from([s.id for s in trial.plan.systems]))
            self.act(partial(ev.SystemChosen, trial=trial.id, system=system, piece=piece.id))

    def _replan_trial(self, trial: TrialState) -> None:
        self.act(partial(ev.TrialReplanned, trial=replace(trial.plan, name=self.draw(names), note=self.draw(words))))

    def _put_away(self, trial: TrialState) -> None:
        self.act(partial(ev.TrialEnded, trial=trial.id))

    def _photograph(self, piece: PieceState) -> None:
        picture = ev.Picture(name=self.draw(names), sha256="0f" * 32, called=self.draw(words))
        of = self.draw(some(st.sampled_from([e.id for e in self.job.events])))
        top = piece.top
        layer = top.id if top is not None else None
        self.act(partial(ev.PhotoAdded, piece=piece.id, picture=picture, layer=layer, of=of, note=self.draw(words)))

    def _take_from(self, piece: PieceState) -> None:
        how, title = self.draw(st.sampled_from(ev.Again)), self.draw(words)
        self.act(partial(ev.TakenFrom, job="job-0", title=title, how=how, pieces=(piece.id,)))

    def _describe(self, piece: PieceState) -> None:
        changed = replace(self.draw(pieces(piece.id)), strip_of=piece.piece.strip_of)
        self.act(partial(ev.PieceChanged, piece=changed))

    def _replan(self, piece: PieceState) -> None:
        idle = [x for x in piece.layers if x.open_coat is None]
        if not idle:
            return
        layer = self.draw(st.sampled_from(idle))
        if not layer.started and self.draw(st.booleans()):
            self.act(partial(ev.LayerRemoved, layer=layer.id))
            return
        changed = replace(layer.plan, coats=self.draw(st.integers(1, 4)), gun=self.draw(st.sampled_from(Gun)))
        card = self.state.card_of(layer)
        if card is not None and self.draw(st.booleans()):
            changed = replace(changed, additives=self._additives(card))
        self.act(partial(ev.LayerChanged, layer=changed))

    def _correct(self) -> None:
        """Say that the newest coat done or stirring really was a little earlier than it was entered."""
        event = next((e for e in reversed(self.job.events) if isinstance(e, ev.CoatDone | ev.MixStirred)), None)
        if event is None or event.id in self._gone():
            return
        earliest = event.at - timedelta(minutes=5)
        if isinstance(event, ev.CoatDone):
            coats = [c for x in self.state.layers.values() for c in x.coats if c.done_at == event.at]
            if not coats:
                return
            earliest = max(c.started_at for c in coats)
        really = event.at - (event.at - earliest) * self.draw(st.sampled_from([0, 0.5, 1]))
        self.act(partial(ev.Corrected, event=event.id, really_at=really))

    def _answer(self) -> None:
        """Say which time is right, after the clock was set: often the one there was."""
        entered = sorted(entered_at(self.job.events))
        since = self.draw(st.sampled_from([entered[0], entered[-1], *entered[:: max(1, len(entered) // 3)]]))
        by = timedelta(seconds=self.draw(st.sampled_from([0, 0, 3_600, -3_600, 86_400, -86_400, 0.25])))
        told = {"since": since, "until": max(self.now, since), "by_s": by.total_seconds(), "words": self.draw(words)}
        number = self.number()
        answer = ev.ClockAnswered(id=f"e{number}", at=self.now + by, along_with=None, **told)
        after = with_events(self.job, answer)
        times = list(zip(standing(self.job.events), standing(after.events), strict=False))
        orders = pairwise([(x.at, y.at) for (_, x), (_, y) in times])
        turned = any((a <= b) and (x > y) for (a, x), (b, y) in orders)
        if turned or any(y.at > self.now + by for _, (_, y) in times) or next(faults(after), None) is not None:
            return
        self.now += by
        self.job = after
        self.state = fold(after)

    def _gone(self) -> set[str]:
        return {x for e in self.job.events if isinstance(e, ev.Withdrawn) for x in e.events}

    def take_back(self) -> None:
        """Undo the last act, or redo the last undo."""
        undone = last_undo(self.job)
        if undone is not None and self.draw(st.booleans()):
            self.act(partial(ev.Withdrawn, events=(undone.id,)))
            return
        act = last_act(self.job)
        if act:
            self.act(partial(ev.Withdrawn, events=tuple(e.id for e in act)))


@st.composite
def jobs(draw: Draw, most_acts: int = 25, *, table: bool = True, heat: bool = True, clock: bool = True) -> Job:
    """A job in the middle of being worked on.

    Without `table` no card has a table of times of its own, without `heat` none gives a time in heat,
    without `clock` nobody says that it was wrong.
    """
    created = draw(instants)
    head = Job(format=FORMAT, schema=SCHEMA, id="job-1", created=created, demo=draw(st.booleans()), note=draw(words))
    walk = Walk(draw, head, created, table=table, heat=heat, clock=clock)
    walk.plan()
    walk.work(most_acts)
    return walk.job


def without_paces(job: Job) -> Job:
    """The same job by cards that do not say how the air changes their times."""
    events = (replace(e, card=replace(e.card, paces={})) if isinstance(e, ev.CardCopied) else e for e in job.events)
    return replace(job, events=tuple(events))


def without_air(job: Job) -> Job:
    """The same job with nothing read or expected of the air."""
    return replace(job, events=tuple(e for e in job.events if not isinstance(e, ev.ReadingTaken | ev.CourseExpected)))


def without_drying(job: Job) -> Job:
    """The same job with no heat put on and no film measured."""
    drying = ev.FilmMeasured | ev.HeatStarted | ev.HeatEnded
    return replace(job, events=tuple(e for e in job.events if not isinstance(e, drying)))


@st.composite
def stirred_cups(draw: Draw) -> Job:
    """A job of one cup with both stand times on its card, stirred and topped up in any order."""
    card = replace(
        draw(cards()),
        activators=(Activator(id="a", name="Activator", suits=Suits.ANY, share="10 % of base"),),
        reductions=(Reduction(gun=Gun.AIRBRUSH, least="0 % of base", usual="1x activated", most="1:1 of base"),),
        stand=draw(_minutes),
        stand_reduced=draw(_minutes),
    )
    created = draw(instants)
    head = Job(format=FORMAT, schema=SCHEMA, id="job-1", created=created)
    walk = Walk(draw, head, created)
    piece, layer = draw(pieces("p1")), ev.Layer(id="l1", card=card.id, coats=1, activator="a")
    walk.act(partial(ev.CardCopied, card=card))
    walk.act(partial(ev.PieceAdded, piece=piece), partial(ev.LayerAdded, piece="p1", layer=layer))
    walk.cup()
    (mix,) = walk.state.mixes
    stirs = [partial(ev.MixStirred, mix=mix, what=what) for what in ev.Stirred]
    does = st.sampled_from([*stirs, *stirs, partial(ev.Poured, mix=mix, part="Activator", mL=1.0)])
    for act in draw(st.lists(does, min_size=1, max_size=6)):
        walk.now += draw(_minutes | st.just(timedelta(0)))
        walk.act(act)
    return walk.job


@st.composite
def acts(draw: Draw) -> tuple[Job, Job]:
    """A job before and after one act that is no undo."""
    before = draw(jobs(12))
    walk = Walk(draw, before, before.events[-1].at + draw(pauses), count=len(before.events) * 3)
    draw(st.sampled_from([walk.spray, walk.cup, walk.aside]))()
    assume(walk.job is not before)
    return before, walk.job


@st.composite
def moments(draw: Draw, job: Job) -> datetime:
    """A moment that matters to `job`: near one of its events, or long after the last."""
    edge = draw(st.sampled_from([job.created, *(e.at for e in job.events)]))
    return edge + draw(pauses)
