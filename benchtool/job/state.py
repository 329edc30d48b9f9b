"""The state of a job, folded from its events. Nothing here reads a clock."""

import math
from bisect import insort
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.airhistory import AirHistory
from benchtool.job.cards import Activator, Card
from benchtool.job.cup import Mix, recipe_parts
from benchtool.job.lots import Lot
from benchtool.job.record import Job, standing
from benchtool.job.stack import Coat, LayerState, PieceState, Step
from benchtool.job.trials import AgeingRun, TrialState

__all__ = ["Coat", "LayerState", "Mix", "PieceState", "State", "Step", "fold", "grow", "recipe_parts", "replay_stack"]


@dataclass(slots=True)
class State:
    """All that the events of a job add up to."""

    title: str = ""
    customer: str = ""
    note: str = ""
    promised: datetime | None = None
    taken_from: ev.TakenFrom | None = None
    cards: dict[str, Card] = field(default_factory=dict)
    pieces: dict[str, PieceState] = field(default_factory=dict)
    layers: dict[str, LayerState] = field(default_factory=dict)
    mixes: dict[str, Mix] = field(default_factory=dict)
    readings: list[ev.ReadingTaken] = field(default_factory=list)
    last_reading: ev.ReadingTaken | None = None
    waivers: list[ev.WaiverSigned] = field(default_factory=list)
    trials: dict[str, TrialState] = field(default_factory=dict)
    lots: dict[str, Lot] = field(default_factory=dict)
    in_hand: dict[tuple[str, str], str] = field(default_factory=dict)
    expected: ev.CourseExpected | None = None
    air: AirHistory = field(default_factory=AirHistory, compare=False, repr=False)
    newest: tuple[int, ev.Event] | None = None

    def card_of(self, layer: LayerState) -> Card | None:
        """The job's newest copy of the card of this layer: what is planned by it.

        What was done went by the card as it was then: `Coat.card` and `Mix.card`.
        """
        return self.cards.get(layer.plan.card)

    @property
    def painted(self) -> list[PieceState]:
        """The pieces that are painted for somebody: no test strips."""
        return [p for p in self.pieces.values() if not self.is_strip(p)]

    def is_strip(self, piece: PieceState) -> bool:
        """Say whether a piece is a test strip: it says so itself, and its trial says so too."""
        trial = self.trials.get(piece.piece.strip_of or "")
        return trial is not None and trial.strip(piece.id) is not None

    def trial_of(self, piece: str) -> TrialState | None:
        """Find the trial of which this piece is a strip."""
        return next((t for t in self.trials.values() if t.strip(piece) is not None), None)

    def piece_of(self, layer: LayerState) -> PieceState:
        """The piece that carries this layer."""
        return self.pieces[layer.piece]

    def layer_name(self, layer: LayerState) -> str:
        """What the painter calls this layer."""
        card = self.card_of(layer)
        return layer.plan.name or (card.name if card is not None else layer.plan.card)

    def activator_of(self, layer: LayerState) -> Activator | None:
        """The activator planned for this layer, None where none is chosen or the card has none."""
        card = self.card_of(layer)
        return card.activator(layer.plan.activator) if card is not None else None

    def mix_for(self, layer: LayerState) -> Mix | None:
        """The cup to spray this layer from: its newest that is not emptied, its own or a shared one."""
        own = [self.mixes[m] for m in layer.mixes if m in self.mixes and self.mixes[m].emptied_at is None]
        return own[-1] if own else None

    def lot_for(self, card: str, part: str) -> Lot | None:
        """The lot in hand for this part of this card's mix: the one taken last, None where none was."""
        return self.lots.get(self.in_hand.get((card, part), ""))

    @property
    def draws(self) -> dict[str, float]:
        """How much was poured out of each lot (mL), by its id."""
        return self.drawn_mL({})

    @property
    def lot_pours(self) -> tuple[ev.Poured, ...]:
        """What this job poured out of lots, at the times it really was.

        What a touch-up took over was drawn by the job before it.
        """
        over = self.taken_from.id if self.taken_from is not None else None
        pours = (p for mix in self.mixes.values() for p in mix.pours if p.lot is not None)
        return tuple(p for p in pours if over is None or p.along_with != over)

    def drawn_mL(self, since: Mapping[str, datetime]) -> dict[str, float]:
        """How much was poured out of each lot (mL), of one in `since` only what was poured after that instant."""
        sums: dict[str, list[float]] = {}
        for pour in self.lot_pours:
            if pour.lot is not None and (pour.lot not in since or pour.at > since[pour.lot]):
                sums.setdefault(pour.lot, []).append(pour.mL)
        return {lot: math.fsum(poured) for lot, poured in sums.items()}

    def cups_to_share(self, layer: LayerState) -> list[Mix]:
        """The cups of other layers that hold just what this layer takes: same product, activator and gun."""
        plan = layer.plan
        return [
            mix
            for mix in self.mixes.values()
            if mix.emptied_at is None
            and mix.id not in layer.mixes
            and mix.total_mL > 0
            and (mix.made.card, mix.made.activator, mix.made.gun) == (plan.card, plan.activator, plan.gun)
        ]


def fold(job: Job) -> State:
    """Work out the state that the standing events of `job` add up to.

    An event that speaks of something taken back is passed over: an undo is always possible.
    """
    state = _unwritten(job)
    for place, event in standing(job.events):
        grow(state, place, event)
    return state


def grow(state: State, place: int, event: ev.Event) -> None:
    """Take one more event, at its place in the record, into a folded state: the fold's own step.

    After one that moves the times of what stands before it (`ClockAnswered`) the job must be folded anew.

    Raises:
        ValueError: it withdraws or corrects another event, so the job must be folded anew.
    """
    step = _STEPS.get(type(event))
    if step is None:
        raise ValueError("An event that changes what was before can't be added to a state: fold the job anew.")
    step(state, place, event)
    if state.newest is None or event.at >= state.newest[1].at:
        state.newest = (place, event)


_OF_THE_STACK = frozenset({
    ev.CardCopied, ev.PieceAdded, ev.PieceChanged, ev.LayerAdded, ev.LayerChanged, ev.LayerRemoved, ev.CoatStarted,
    ev.CoatDone,
})  # fmt: skip


def replay_stack(job: Job) -> Iterator[tuple[State, ev.Event]]:
    """Walk over the events that build the stacks, with the plan and the coats as they were before each.

    It is one state, which grows meanwhile, and knows nothing of cups, prep and air: a month of readings costs nothing.
    """
    state = _unwritten(job)
    for place, event in standing(job.events):
        if type(event) in _OF_THE_STACK:
            yield state, event
            grow(state, place, event)


def _unwritten(job: Job) -> State:
    return State(air=AirHistory(job.created))


def _described(state: State, _: int, e: ev.JobDescribed) -> None:
    state.title, state.customer, state.note, state.promised = e.title, e.customer, e.note, e.promised


def _taken(state: State, _: int, e: ev.TakenFrom) -> None:
    state.taken_from = e


def _photo(state: State, _: int, e: ev.PhotoAdded) -> None:
    if e.piece in state.pieces:
        state.pieces[e.piece].photos.append(e)


def _card(state: State, _: int, e: ev.CardCopied) -> None:
    state.cards[e.card.id] = e.card


def _piece_added(state: State, _: int, e: ev.PieceAdded) -> None:
    state.pieces[e.piece.id] = PieceState(e.piece)


def _piece_changed(state: State, _: int, e: ev.PieceChanged) -> None:
    if e.piece.id in state.pieces:
        state.pieces[e.piece.id].piece = e.piece


def _layer_added(state: State, _: int, e: ev.LayerAdded) -> None:
    piece = state.pieces.get(e.piece)
    if piece is None:
        return
    layer = LayerState(e.layer, e.piece, air=state.air, heat=piece.heat)
    state.layers[e.layer.id] = layer
    before = state.layers.get(e.before or "")
    at = piece.layers.index(before) if before is not None and before in piece.layers else len(piece.layers)
    piece.layers.insert(at, layer)


def _layer_changed(state: State, _: int, e: ev.LayerChanged) -> None:
    if e.layer.id in state.layers:
        state.layers[e.layer.id].plan = e.layer


def _layer_removed(state: State, _: int, e: ev.LayerRemoved) -> None:
    layer = state.layers.pop(e.layer, None)
    if layer is not None:
        state.pieces[layer.piece].layers.remove(layer)


def _prep(state: State, place: int, e: ev.PrepDone) -> None:
    piece = state.pieces.get(e.piece)
    if piece is None:
        return
    top = piece.top_at(e.at)
    step = Step(e.step, e.at, top.id if top is not None else None, place, e.agent, e.grit, e.passed)
    # What was logged late stands among the others where it really happened.
    insort(piece.steps, step, key=lambda s: (s.at, s.place))
    if e.step in (ev.Prep.SCUFF, ev.Prep.ABRADE) and top is not None:
        top.scuffed_at = e.at if top.scuffed_at is None else max(top.scuffed_at, e.at)


def _trial(state: State, _: int, e: ev.TrialRecorded) -> None:
    if e.piece in state.pieces:
        state.pieces[e.piece].trials.append(e)


def _planned(state: State, _: int, e: ev.TrialPlanned) -> None:
    state.trials[e.trial.id] = TrialState(e.trial, state.pieces)


def _replanned(state: State, _: int, e: ev.TrialReplanned) -> None:
    if e.trial.id in state.trials:
        state.trials[e.trial.id].plan = e.trial


def _put_away(state: State, _: int, e: ev.TrialEnded) -> None:
    if e.trial in state.trials:
        state.trials[e.trial].ended_at = e.at


def _taped(state: State, _: int, e: ev.TapePressed) -> None:
    if e.trial in state.trials:
        state.trials[e.trial].press(e)


def _aging(state: State, _: int, e: ev.AgeingBegun) -> None:
    if e.trial in state.trials:
        state.trials[e.trial].ageings.append(AgeingRun(e.ageing, e.strips, e.at))


def _aged(state: State, _: int, e: ev.AgeingOver) -> None:
    trial = state.trials.get(e.trial)
    for run in tuple(trial.ageings) if trial is not None else ():
        out = tuple(s for s in run.strips if s in e.strips)
        if trial is None or run.over_at is not None or run.plan.kind is not e.kind or not out:
            continue
        staying = tuple(s for s in run.strips if s not in e.strips)
        run.strips, run.over_at = out, e.at
        if staying:
            trial.ageings.append(AgeingRun(run.plan, staying, run.begun_at))
        trial.take_out(out, e.at)


def _graded(state: State, _: int, e: ev.Graded) -> None:
    trial = state.trials.get(e.trial)
    if trial is not None:
        trial.judge(e)


def _chosen(state: State, _: int, e: ev.SystemChosen) -> None:
    if e.trial in state.trials:
        state.trials[e.trial].chosen.append(e)
    if e.piece in state.pieces:
        state.pieces[e.piece].chosen.append(e)


def _mixed(state: State, place: int, e: ev.Mixed) -> None:
    state.mixes[e.mix] = Mix(e, place, card=state.cards.get(e.card), air=state.air)
    if e.layer in state.layers:
        state.layers[e.layer].mixes.append(e.mix)


def _poured(state: State, _: int, e: ev.Poured) -> None:
    if e.mix in state.mixes:
        state.mixes[e.mix].pours.append(e)
        state.mixes[e.mix].forget()


def _lot_taken(state: State, _: int, e: ev.LotTaken) -> None:
    state.lots[e.lot.id] = e.lot
    state.in_hand[e.lot.card, e.lot.part] = e.lot.id
    for mix in state.mixes.values() if e.pours else ():
        mix.pours = [replace(p, lot=e.lot.id) if p.id in e.pours and p.lot is None else p for p in mix.pours]


def _stirred(state: State, _: int, e: ev.MixStirred) -> None:
    if e.mix in state.mixes:
        mix = state.mixes[e.mix]
        mix.stirred[e.what] = e.at
        mix.first_stirred[e.what] = min(mix.first_stirred.get(e.what, e.at), e.at)
        mix.forget()


def _shared(state: State, _: int, e: ev.CupShared) -> None:
    if e.layer in state.layers and e.mix in state.mixes:
        state.layers[e.layer].mixes.append(e.mix)


def _emptied(state: State, _: int, e: ev.CupEmptied) -> None:
    if e.mix in state.mixes:
        state.mixes[e.mix].emptied_at, state.mixes[e.mix].left_mL = e.at, e.left_mL


def _started(state: State, place: int, e: ev.CoatStarted) -> None:
    layer = state.layers.get(e.layer)
    if layer is not None:
        card = state.card_of(layer)
        layer.coats.append(Coat(len(layer.coats) + 1, e.at, place, e.mix, card=card, film=layer.film))


def _done(state: State, _: int, e: ev.CoatDone) -> None:
    layer = state.layers.get(e.layer)
    if layer is not None and layer.open_coat is not None:
        layer.open_coat.done_at = e.at


def _film(state: State, _: int, e: ev.FilmMeasured) -> None:
    layer = state.layers.get(e.layer)
    if layer is not None:
        layer.film = e
        if layer.coats:
            layer.coats[-1].film = e


def _heated(state: State, _: int, e: ev.HeatStarted) -> None:
    if e.piece in state.pieces:
        state.pieces[e.piece].heat.begin(e)


def _cooled(state: State, _: int, e: ev.HeatEnded) -> None:
    if e.piece in state.pieces:
        state.pieces[e.piece].heat.end(e)


def _reading(state: State, _: int, e: ev.ReadingTaken) -> None:
    state.readings.append(e)
    if state.last_reading is None or e.at >= state.last_reading.at:  # a logger's line may come late
        state.last_reading = e
    state.air.read(e)


def _course(state: State, _: int, e: ev.CourseExpected) -> None:
    state.expected = e
    state.air.expect(e)


def _waived(state: State, _: int, e: ev.WaiverSigned) -> None:
    state.waivers.append(e)


def _clock(state: State, _: int, e: ev.ClockAnswered) -> None:
    """Change nothing: what it says of the times of what stands before it is in those times already."""


_STEPS: dict[type, Callable[[State, int, Any], None]] = {
    ev.JobDescribed: _described,
    ev.TakenFrom: _taken,
    ev.PhotoAdded: _photo,
    ev.CardCopied: _card,
    ev.PieceAdded: _piece_added,
    ev.PieceChanged: _piece_changed,
    ev.LayerAdded: _layer_added,
    ev.LayerChanged: _layer_changed,
    ev.LayerRemoved: _layer_removed,
    ev.PrepDone: _prep,
    ev.TrialRecorded: _trial,
    ev.TrialPlanned: _planned,
    ev.TrialReplanned: _replanned,
    ev.TrialEnded: _put_away,
    ev.TapePressed: _taped,
    ev.AgeingBegun: _aging,
    ev.AgeingOver: _aged,
    ev.Graded: _graded,
    ev.SystemChosen: _chosen,
    ev.Mixed: _mixed,
    ev.LotTaken: _lot_taken,
    ev.Poured: _poured,
    ev.MixStirred: _stirred,
    ev.CupShared: _shared,
    ev.CupEmptied: _emptied,
    ev.CoatStarted: _started,
    ev.CoatDone: _done,
    ev.FilmMeasured: _film,
    ev.HeatStarted: _heated,
    ev.HeatEnded: _cooled,
    ev.ReadingTaken: _reading,
    ev.CourseExpected: _course,
    ev.WaiverSigned: _waived,
    ev.ClockAnswered: _clock,
}
