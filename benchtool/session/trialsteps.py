"""What each strip of a trial asks for next: its preparing, its cup, its coats, its waits, its tests and its ageing."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from enum import StrEnum

from benchtool.job import events as ev
from benchtool.job.cards import Card
from benchtool.job.events import Prep
from benchtool.job.nextstep import CupAct, CupStep, cup_step
from benchtool.job.prepplan import Part, PlannedStep, Standing
from benchtool.job.stack import LayerState, PieceState
from benchtool.job.state import Mix, State
from benchtool.job.trialrest import still_to_test
from benchtool.job.trials import TrialState
from benchtool.job.trialwindows import testable_from
from benchtool.job.windows import Window, pot_life_span, stand_span
from benchtool.rules.finding import Tables
from benchtool.rules.preparing import plan_of
from benchtool.session.cupage import is_over
from benchtool.trade.grades import BY_TAPE, Method
from benchtool.trade.saying import say
from benchtool.trade.windows import FOR_GOOD, WindowKind

TO_MEASURE = timedelta(minutes=5)
"""So long before a coat may go on its cup is begun, its stand times apart (judgement, no source)."""

TESTS = frozenset({WindowKind.DWELL, WindowKind.TAPE_ON, WindowKind.AGEING})


class Kind(StrEnum):
    """What hands do on strips."""

    FINISH = "log the coat done"
    TAKE_OUT = "take out"
    COAT = "coat"
    SCUFF = "scuff"
    PREP = "prep"
    PULL = "pull the tape"
    MIX = "mix"
    PRESS = "press tape on"
    GRADE = "grade"
    AGE = "age"
    PLAN = "plan"
    DONE = "done"


@dataclass(frozen=True, slots=True, kw_only=True)
class StripStep:
    """What one strip asks for. Strips whose `same` agree do it together.

    It may be done from `due_at` (None: from now), and is too late at `late_at`. `state` says in a word or two how the
    strip is, `window` is the wait that `due_at` ends where one of the watch is. `stale` says that a cup of it stands
    there and can't be used.
    """

    strip: str
    kind: Kind
    same: tuple[object, ...] = ()
    state: str = ""
    due_at: datetime | None = None
    late_at: datetime | None = None
    window: Window | None = None
    layer: str | None = None
    mix: str | None = None
    cup: CupStep | None = None
    stale: bool = False
    planned: PlannedStep | None = None
    method: Method | None = None
    ageing: ev.Ageing | None = None
    aged: tuple[ev.AgeingKind, ...] = ()

    def waits(self, now: datetime) -> bool:
        """Whether it may not be done yet."""
        return self.due_at is not None and now < self.due_at


@dataclass(slots=True)
class Strips:
    """All that the steps of the strips of one trial are worked out from, at one moment."""

    state: State
    trial: TrialState
    tables: Tables
    now: datetime
    windows: tuple[Window, ...] = ()
    _by_strip: dict[tuple[str, WindowKind], Window] = field(default_factory=dict)
    _used: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        self._by_strip = {(w.piece, w.kind): w for w in self.windows}
        tapes = (w for w in self.windows if w.kind is WindowKind.TAPE_ON)
        for w in sorted(tapes, key=lambda w: w.span.opens_at, reverse=True):
            self._by_strip[w.piece, w.kind] = w  # of two tapes on a strip the one to be pulled first
        self._used = {c.mix for x in self.state.layers.values() for c in x.coats if c.mix is not None}

    def steps(self) -> tuple[StripStep, ...]:
        """Give the step of every strip, in the order in which they lie."""
        ordered = sorted(self.trial.plan.strips, key=lambda s: (s.panel, s.place))
        found = (self.state.pieces.get(s.piece) for s in ordered)
        return tuple(self.step(p) for p in found if p is not None)

    def step(self, piece: PieceState) -> StripStep:
        """Say what this strip asks for."""
        if not piece.layers:
            return StripStep(strip=piece.id, kind=Kind.PLAN, state=say("no paint"))
        for layer in piece.layers:
            if layer.open_coat is not None:
                n = layer.open_coat.number
                same = (layer.plan.card, n)
                return StripStep(strip=piece.id, kind=Kind.FINISH, same=same, state=say("spraying"), layer=layer.id)
        current = piece.current
        if current is None:
            return self._tested(_Tests(self.trial, piece, self._by_strip).step())
        return self._to_paint(piece, current)

    def _tested(self, step: StripStep) -> StripStep:
        """Give a step of the tests with how the strip is at this moment."""
        waits = step.waits(self.now)
        if waits and step.kind in (Kind.PRESS, Kind.GRADE, Kind.AGE):
            return replace(step, state=say("rests"))
        if not waits and step.kind is Kind.PULL:
            return replace(step, state=say("pull tape"))
        if not waits and step.kind is Kind.TAKE_OUT:
            return replace(step, state=say("take it out"))
        return step

    # --- before and between coats ------------------------------------------------------------------

    def _to_paint(self, piece: PieceState, layer: LayerState) -> StripStep:
        plan = plan_of(self.state, piece, self.tables, self.now)
        wanted = [s for s in plan if s.state in (Standing.NEXT, Standing.LATER) and s.step is not None]
        first = next((s for s in wanted if s.part is not Part.TACK), None)
        if first is not None and (piece.top is None or first.part is Part.SCUFF):
            return self._prepared(piece, layer, first)
        coat = self._coated(piece, layer)
        if coat.kind is not Kind.COAT or coat.waits(self.now):
            return coat
        tack = next((s for s in wanted if s.part is Part.TACK), None)
        if tack is not None and not layer.started and (piece.top is None or _scuffed(plan)):
            return replace(coat, kind=Kind.PREP, same=_prep_key(tack), planned=tack, state=say("to dust"), window=None)
        return coat

    def _prepared(self, piece: PieceState, layer: LayerState, step: PlannedStep) -> StripStep:
        """Scuff what closed, once it is dry, or take the next step on the bare material."""
        scuff = step.part is Part.SCUFF
        window = self._flash_or_recoat(piece) if scuff else None
        return StripStep(
            strip=piece.id,
            kind=Kind.SCUFF if scuff else Kind.PREP,
            same=(*_prep_key(step), piece.top.plan.card if scuff and piece.top is not None else None),
            state=say("recoat closed") if scuff else say("to prepare"),
            due_at=window.span.opens_at if window is not None else None,
            window=window,
            layer=layer.id,
            planned=step,
        )

    def _flash_or_recoat(self, piece: PieceState) -> Window | None:
        kinds = (WindowKind.FLASH, WindowKind.RECOAT)
        return next((w for kind in kinds if (w := self._by_strip.get((piece.id, kind))) is not None), None)

    def _coated(self, piece: PieceState, layer: LayerState) -> StripStep:
        """Say when the next coat may go on, and what its cup asks for until then."""
        n = len(layer.coats) + 1
        window = self._flash_or_recoat(piece)
        due = window.span.opens_at if window is not None else None
        late = window.span.closes_at if window is not None and not window.span.closes_first else None
        mix, cup, stale = self._cup(layer, due)
        card = (mix.card if mix is not None else None) or self.state.card_of(layer)
        recipe = _recipe_key(layer)
        made = StripStep(
            strip=piece.id, kind=Kind.COAT, layer=layer.id, due_at=due, late_at=late, window=window, cup=cup,
            mix=mix.id if mix is not None else None, stale=stale,
        )  # fmt: skip
        if mix is None or card is None or cup is None or stale:
            ahead = TO_MEASURE + _stands(card)
            begin = due - ahead if due is not None and due < FOR_GOOD else due
            by = late - ahead if late is not None else None
            return replace(made, kind=Kind.MIX, same=(*recipe, made.mix), due_at=begin, late_at=by, state=say("to mix"))
        stand = stand_span(card, mix)
        if cup.act is CupAct.WAIT and stand is not None and stand[1] == "spray":
            until = cup.until or due
            if due is None or (until is not None and until > due):
                made = replace(made, due_at=until, window=self._stand_window(mix))
        elif cup.act is not CupAct.READY and not (layer.started and mix.id in self._used):
            until = cup.until if cup.act is CupAct.WAIT else None
            shown = self._stand_window(mix) if until is not None else None
            state = say("paint stands") if until is not None else say("being mixed")
            return replace(made, kind=Kind.MIX, same=(*recipe, mix.id), due_at=until, window=shown, state=state)
        waits = made.waits(self.now)
        state = say("dries") if waits else say("coat {n} now", n=n)
        if waits and made.window is not None and made.window.kind is WindowKind.STAND:
            state = say("paint stands")
        late = min((at for at in (made.late_at, self._pot_end(layer, card, mix)) if at is not None), default=None)
        return replace(made, same=(*recipe, n, mix.id), late_at=late, state=state)

    def _cup(self, layer: LayerState, due: datetime | None) -> tuple[Mix | None, CupStep | None, bool]:
        """Give the cup for this layer, what it asks for, and whether there is none that can be used.

        It is the layer's own, else one of another strip that holds just what this one takes. One that can be used goes
        before one whose pot life is over by then.
        """
        own = self.state.mix_for(layer)
        found = [own] if own is not None else []
        newest_first = reversed(self.state.mixes.values())
        found += [m for m in newest_first if m.emptied_at is None and m is not own and self._fits(m, layer)]
        at = max(self.now, due) if due is not None and due < FOR_GOOD else self.now
        usable = [m for m in found if not is_over(m, self.state, at)]
        # One that is past its pot life asks to be emptied where it is a cup of these strips; another's is let stand.
        mix = next(iter(usable or (m for m in found if m is own or self._is_ours(m))), None)
        card = (mix.card or self.state.card_of(layer)) if mix is not None else None
        return mix, cup_step(card, mix, self.now) if mix is not None and card is not None else None, not usable

    def _fits(self, mix: Mix, layer: LayerState) -> bool:
        """Whether this cup holds what the layer takes; one for something else than these strips must not be empty."""
        maker = self.state.layers.get(mix.made.layer)
        plan = layer.plan
        same = (mix.made.card, mix.made.activator, mix.made.gun) == (plan.card, plan.activator, plan.gun)
        if not same or (maker is not None and maker.plan.additives != plan.additives):
            return False
        return self._is_ours(mix) or mix.total_mL > 0

    def _is_ours(self, mix: Mix) -> bool:
        """Whether this cup was begun for a strip of this trial."""
        maker = self.state.layers.get(mix.made.layer)
        return maker is not None and self.trial.strip(maker.piece) is not None

    def _pot_end(self, layer: LayerState, card: Card, mix: Mix) -> datetime | None:
        """Say by when this coat must be begun so that the coats after it are still sprayed inside the pot life."""
        life = pot_life_span(card, mix)
        if life is None or life.closes_at is None:
            return None
        more = max(0, layer.plan.coats - len(layer.coats) - 1)
        return life.closes_at - more * (card.flash or timedelta(0))

    def _stand_window(self, mix: Mix) -> Window | None:
        return next((w for w in self.windows if w.kind is WindowKind.STAND and w.mix == mix.id), None)


def _recipe_key(layer: LayerState) -> tuple[object, ...]:
    plan = layer.plan
    return plan.card, plan.activator, plan.gun, plan.additives


def _prep_key(step: PlannedStep) -> tuple[object, ...]:
    return step.part, step.step, step.agent, step.grit


def _scuffed(plan: tuple[PlannedStep, ...]) -> bool:
    return any(s.part is Part.SCUFF and s.state is Standing.DONE for s in plan)


def _stands(card: Card | None) -> timedelta:
    """How long a cup of this card stands in all before it is sprayed."""
    return sum((t for t in (card.stand, card.stand_reduced) if t), timedelta(0)) if card is not None else timedelta(0)


# --- once the paint is on --------------------------------------------------------------------------------


@dataclass(slots=True)
class _Tests:
    """What a strip with all its paint on asks for: rest, tests, ageing, and the tests again."""

    trial: TrialState
    piece: PieceState
    windows: Mapping[tuple[str, WindowKind], Window]

    def step(self) -> StripStep:
        strip, trial = self.piece.id, self.trial
        aged = trial.aged(strip)
        made = StripStep(strip=strip, kind=Kind.DONE, state=say("graded"), aged=aged)
        run = trial.ageing_now(strip)
        if run is not None:
            due = run.begun_at + (run.plan.lasts or timedelta(0))
            window = self.windows.get((strip, WindowKind.AGEING))
            return replace(
                made, kind=Kind.TAKE_OUT, same=(run.plan.kind,), due_at=due, window=window, ageing=run.plan,
                state=in_words(run.plan.kind),
            )  # fmt: skip
        tape = trial.tape_on(strip)
        if tape is not None:
            window = self.windows.get((strip, WindowKind.TAPE_ON))
            on = replace(
                made, kind=Kind.PULL, same=(tape.method,), window=window, method=tape.method, state=say("tape on")
            )
            return replace(on, due_at=window.span.opens_at, late_at=window.span.closes_at) if window is not None else on
        rested = testable_from(trial, self.piece)
        resting = replace(made, due_at=rested, window=self.windows.get((strip, WindowKind.DWELL)))
        left = still_to_test(trial, self.piece)
        if left:
            stays = left[0] in BY_TAPE and (left[0] is not Method.PLAIN_TAPE or bool(trial.plan.tape_stays))
            kind = Kind.PRESS if stays else Kind.GRADE
            return replace(resting, kind=kind, same=(left[0], aged), method=left[0], state=say("to test"))
        following = next_ageing(trial, strip)
        if following is None:
            return made
        state = to_words(following.kind)
        return replace(resting, kind=Kind.AGE, same=(following,), ageing=following, state=state)


def next_ageing(trial: TrialState, strip: str) -> ev.Ageing | None:
    """Give the next step of ageing of a strip: the steps of the plan in order, less what it has been through."""
    through = list(trial.aged(strip))
    for step in trial.plan.ageing:
        if step.kind not in through:
            return step
        through.remove(step.kind)
    return None


def in_words(kind: ev.AgeingKind) -> str:
    """Say where a strip is that is being aged."""
    return {
        ev.AgeingKind.WATER: say("in the water"),
        ev.AgeingKind.HEAT: say("in the heat"),
        ev.AgeingKind.COLD: say("in the cold"),
    }.get(kind, say("bent"))


def to_words(kind: ev.AgeingKind) -> str:
    """Say what comes for a strip that is aged next."""
    return {
        ev.AgeingKind.WATER: say("to soak"),
        ev.AgeingKind.HEAT: say("to heat"),
        ev.AgeingKind.COLD: say("to chill"),
    }.get(kind, say("to bend"))


def is_stirring(step: StripStep) -> bool:
    """Whether the cup of a step only wants to be stirred: that is logged without going to the cup."""
    cup = step.cup
    wants = cup is not None and cup.act is CupAct.STIR and cup.stir is not None
    return step.kind is Kind.MIX and wants and not step.stale


def is_water_test(step: StripStep) -> bool:
    """Whether this is the water-break test, of which it has to be said how it went."""
    return step.planned is not None and step.planned.step is Prep.WATER_BREAK
