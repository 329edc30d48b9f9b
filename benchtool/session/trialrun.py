"""Running a trial: what all its strips ask for next, merged into one list, so that twelve are sprayed in one session.

Strips that ask for the same step, due within a minute of each other, do it together. What hands can do now comes first,
what closes soonest before all else; then what comes with its time. A list is worked out once for a state of the job and
holds until the next edge of a window: at a tick only the countdowns change.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from weakref import WeakKeyDictionary

import msgspec

from benchtool.job.cautions import Moment, hazards_at
from benchtool.job.prepplan import ORDER
from benchtool.job.record import Job
from benchtool.job.trialnumbers import StripNumber, strip_numbers
from benchtool.job.trials import TrialState
from benchtool.job.window import FOR_GOOD, Window
from benchtool.rules.finding import Tables
from benchtool.session.cupage import age_words
from benchtool.session.cupview import caution_words
from benchtool.session.due import CLOSING, NOW, RUNNING, Bar, Due, clock_time
from benchtool.session.session import Document, Session
from benchtool.session.trialdoing import Doing, GroupAct
from benchtool.session.trialsteps import Kind, Strips, StripStep, is_water_test
from benchtool.session.trialwords import (
    ageing_caution,
    grading,
    mixing,
    pot_life_words,
    short,
    strips_words,
    tape_time_words,
)
from benchtool.trade.grademethods import instructions, tape_window
from benchtool.trade.numbers import clock_words
from benchtool.trade.saying import say
from benchtool.trade.windows import WindowKind

__all__ = ["GroupAct", "Kind", "NextAct", "TrialRun", "next_acts", "run_of", "strips_words"]

TOGETHER = timedelta(minutes=1)
"""Strips due so close to each other are done together: the first waits for the last, never the other way."""

SOON = timedelta(minutes=15)
"""What is too late within this goes before all else (judgement, as the longest warning of a window)."""

FRESH = timedelta(minutes=30)
"""For so long what was missed stands first still: then something can yet be done about it (judgement)."""

_GOES = {Kind.MIX: "mix", Kind.GRADE: "grade", Kind.PULL: "grade", Kind.PLAN: "setup"}
_LONG_AGO = datetime.min.replace(tzinfo=UTC)
_TURN = {kind: turn for turn, kind in enumerate(Kind)}


@dataclass(frozen=True, slots=True, kw_only=True)
class NextAct:
    """What some strips ask for next, as a sentence (`words`) and in short (`what`), from `due_at` on (None: from now).

    `act` logs it, `other` is its other answer. Where nothing is logged here, it is done at `goes`: the `mix` pane (for
    `layer`, of which `amount_mL` is needed, None where it can't be told), the stages `grade` or `setup`. `late_at` is
    when it is too late, `why` what it waits for or what hurries it, `caution` what can hurt. An act `aside` is about
    strips that the painter has set aside.
    """

    document: Document
    kind: Kind
    strips: tuple[str, ...]
    numbers: tuple[StripNumber, ...]
    what: str
    words: str
    due_at: datetime | None = None
    late_at: datetime | None = None
    act: GroupAct | None = None
    other: GroupAct | None = None
    goes: str = ""
    layer: str | None = None
    amount_mL: float | None = None
    why: str = ""
    caution: str = ""
    window: Window | None = None
    aside: bool = False

    @property
    def who(self) -> str:
        """The strips, by their numbers."""
        return strips_words(self.numbers)

    @property
    def key(self) -> tuple[object, ...]:
        """What tells this act from the others of its list, and from its like after the next tick."""
        return self.kind, self.strips, self.words, self.due_at

    def waits(self, now: datetime) -> bool:
        """Whether it may not be done yet."""
        return self.due_at is not None and now < self.due_at

    @property
    def never(self) -> bool:
        """Whether it does not come in this air."""
        return self.due_at is not None and self.due_at >= FOR_GOOD

    def hurries(self, now: datetime) -> bool:
        """Whether it is, or has just become, too late within minutes."""
        late = self.late_at
        return late is not None and not self.waits(now) and late - SOON <= now < late + FRESH

    def numerals(self, now: datetime) -> str:
        """Say how long to wait, how long there is left where that is little, or that it is now."""
        if self.due_at is not None and self.waits(now):
            return say("Wait") if self.never else clock_words((self.due_at - now).total_seconds(), up=True)
        if self.late_at is not None and self.hurries(now):
            left = (self.late_at - now).total_seconds()
            return clock_words(left, up=False) if left > 0 else say("Late")
        return say("Now")

    def clock(self, now: datetime) -> tuple[str, str]:
        """Give the instant by the clock on the wall that the numerals run to, with its word: `at`, `until`; or none."""
        if self.due_at is not None and self.waits(now):
            return ("", "") if self.never else (say("at"), clock_time(self.due_at, now, up=True))
        if self.late_at is not None and self.late_at < FOR_GOOD:
            return (say("until") if now < self.late_at else say("since")), clock_time(self.late_at, now)
        return "", ""

    def bar(self, now: datetime) -> Bar | None:
        """Give how far the wait is, or what is left of the time to do it in; None where nothing runs."""
        window = self.window
        if self.due_at is not None and self.waits(now) and window is not None:
            if window.span.opens_at == self.due_at:
                return Due(self.document, window, now, window.phase(now), RUNNING).bar
            whole = (self.due_at - window.span.started_at).total_seconds()
            gone = (now - window.span.started_at).total_seconds()
            return Bar(min(1.0, max(0.0, gone / whole)) if whole > 0 else 0.0)
        if self.late_at is not None and self.hurries(now):
            left = (self.late_at - now) / min(SOON, self.late_at - (self.due_at or self.late_at - SOON) or SOON)
            return Bar(min(1.0, max(0.0, left)), runs_out=True)
        return None

    def rank(self, now: datetime) -> int:
        """Say how it stands, by the ranks of the watch: CLOSING, NOW or RUNNING."""
        return RUNNING if self.waits(now) else CLOSING if self.hurries(now) else NOW


@dataclass(frozen=True, slots=True)
class TrialRun:
    """All next acts of a trial, and how each strip is, as they stand from `since` until `until`."""

    acts: tuple[NextAct, ...]
    states: dict[str, str]
    since: datetime
    until: datetime

    @property
    def over(self) -> bool:
        """Whether no strip asks for anything more."""
        return not self.acts


Asked = tuple[str, frozenset[str]]


@dataclass(slots=True)
class _Known:
    """The runs that were worked out from these very objects (not their equals), by what was asked for."""

    job: Job
    windows: tuple[Window, ...]
    tables: Tables
    runs: dict[Asked, TrialRun] = field(default_factory=dict)

    def holds(self, session: Session, document: Document) -> bool:
        return self.job is document.job and self.windows is document.windows and self.tables is session.tables


_KNOWN: WeakKeyDictionary[Document, _Known] = WeakKeyDictionary()


def next_acts(
    session: Session, document: Document, trial: TrialState, now: datetime, aside: frozenset[str] = frozenset()
) -> tuple[NextAct, ...]:
    """Give what the strips of a trial ask for, what hands can do now first; those of strips set `aside` come last."""
    return run_of(session, document, trial, now, aside).acts


def run_of(
    session: Session, document: Document, trial: TrialState, now: datetime, aside: frozenset[str] = frozenset()
) -> TrialRun:
    """Give the same with the state of each strip. The same object is given as long as nothing but countdowns change."""
    known, asked = _KNOWN.get(document), (trial.id, aside)
    if known is None or not known.holds(session, document):
        known = _KNOWN[document] = _Known(document.job, document.windows, session.tables)
    run = known.runs.get(asked)
    if run is None or not run.since <= now < run.until:
        run = known.runs[asked] = _run(session, document, trial, now, aside)
    return run


def _run(session: Session, document: Document, trial: TrialState, now: datetime, aside: frozenset[str]) -> TrialRun:
    if trial.ended_at is not None:
        return TrialRun((), {}, now, FOR_GOOD)
    steps = Strips(document.state, trial, session.tables, now, document.windows).steps()
    steps = _one_tape_at_a_time(steps, trial)
    merger = _Merger(Doing(session, document, trial, strip_numbers(trial)), session.tables, now)
    open_steps = [s for s in steps if s.kind is not Kind.DONE]
    taken = merger.merged([s for s in open_steps if s.strip not in aside])
    left = merger.merged([s for s in open_steps if s.strip in aside], aside=True)
    return TrialRun((*taken, *left), {s.strip: s.state for s in steps}, now, _next_edge(steps, document.windows, now))


def _next_edge(steps: Sequence[StripStep], windows: tuple[Window, ...], now: datetime) -> datetime:
    """Say until when the list stays what it is if nothing is done."""
    edges = [w.next_edge(now) for w in windows if w.kind not in (WindowKind.TAPE, WindowKind.CURE)]
    for step in steps:
        late = step.late_at
        at = [step.due_at, late]
        at += [late - SOON, late + FRESH] if late is not None and late < FOR_GOOD else []
        edges += [x for x in at if x is not None and x > now]
    return min(edges, default=FOR_GOOD)


def _one_tape_at_a_time(steps: tuple[StripStep, ...], trial: TrialState) -> tuple[StripStep, ...]:
    """Put off pressing tape that must come off within minutes as long as such a tape is on another strip."""
    on = [s.due_at for s in steps if s.kind is Kind.PULL and s.late_at is not None and s.due_at is not None]
    if not on:
        return steps
    last = max(on)

    def put_off(step: StripStep) -> StripStep:
        timed = step.method is not None and tape_window(step.method, trial.plan.tape_stays)[1] is not None
        if step.kind is not Kind.PRESS or not timed or (step.due_at is not None and step.due_at > last):
            return step
        return replace(step, due_at=last, window=None)

    return tuple(put_off(s) for s in steps)


# --- merging ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Merger:
    """Puts the steps of strips together into acts, and these in order."""

    doing: Doing
    tables: Tables
    now: datetime

    def merged(self, steps: Sequence[StripStep], *, aside: bool = False) -> list[NextAct]:
        """Give the acts of these strips, sorted."""
        same: dict[tuple[object, ...], list[StripStep]] = {}
        for step in steps:
            same.setdefault((step.kind, *step.same), []).append(step)
        groups = [group for alike in same.values() for group in _together(alike, self.now)]
        acts = [(group[0], self._act(group, aside=aside)) for group in groups]
        return [act for _, act in sorted(acts, key=lambda pair: self._turn(*pair))]

    def _amount(self, group: Sequence[StripStep]) -> float | None:
        """Give how much ready mix (mL) the coats still to come on these strips take; None where a card can't tell."""
        from benchtool.session.trialchecks import amount_mL  # the sums of films are loaded when they are asked for

        state, plan = self.doing.document.state, self.doing.trial.plan
        sums = 0.0
        for step in group:
            layer = state.layers.get(step.layer or "")
            card = state.card_of(layer) if layer is not None else None
            if layer is None or card is None:
                return None
            left = msgspec.structs.replace(layer.plan, coats=max(1, layer.plan.coats - len(layer.coats)))
            size = plan.strip_width_mm, plan.strip_length_mm
            mL = amount_mL(self.doing.session, card, left, 1, size)
            if mL is None:
                return None
            sums += mL
        return sums

    def _turn(self, step: StripStep, act: NextAct) -> tuple[object, ...]:
        """Sort by: being sprayed, too late soon, by hands (an earlier step of the prep plan first), by time."""
        first, due = min(act.numbers), act.due_at or _LONG_AGO
        if act.waits(self.now):
            return 3, due, _TURN[act.kind], 0, first
        if act.kind is Kind.FINISH:
            return 0, due, 0, 0, first
        if act.hurries(self.now):
            return 1, act.late_at, 0, 0, first
        part = ORDER.index(step.planned.part) if step.planned is not None else 0
        return 2, _LONG_AGO, _TURN[act.kind], part, first

    def _act(self, group: list[StripStep], *, aside: bool) -> NextAct:
        doing = self.doing
        group = sorted(group, key=lambda s: doing.numbers[s.strip])
        step = max(group, key=lambda s: s.due_at or _LONG_AGO)
        act = doing.act(group)
        return NextAct(
            document=doing.document,
            kind=step.kind,
            strips=tuple(s.strip for s in group),
            numbers=tuple(doing.numbers[s.strip] for s in group),
            what=self._what(step),
            words=act.words if act is not None else self._words(group),
            due_at=step.due_at,
            late_at=min((s.late_at for s in group if s.late_at is not None), default=None),
            act=act,
            other=doing.broke(group) if is_water_test(step) else None,
            goes=_GOES.get(step.kind, "") if act is None else "",
            amount_mL=self._amount(group) if step.kind is Kind.MIX else None,
            layer=group[0].layer,
            why=self._why(step),
            caution=self._caution(step),
            window=step.window,
            aside=aside,
        )

    def _what(self, step: StripStep) -> str:
        layer = self.doing.document.state.layers.get(step.layer or "")
        coats = len(layer.coats) if layer is not None else 0
        return short(step, self._named(step), coats)

    def _named(self, step: StripStep) -> str:
        """Name the layer of a step; to be mixed, with its activator where this trial has the product with several."""
        name = self.doing.layer_name(step)
        state, trial = self.doing.document.state, self.doing.trial
        layer = state.layers.get(step.layer or "")
        card = state.card_of(layer) if layer is not None else None
        if step.kind is not Kind.MIX or layer is None or card is None:
            return name
        strips = (p for s in trial.plan.strips if (p := state.pieces.get(s.piece)) is not None)
        mixed = {x.plan.activator for p in strips for x in p.layers if x.plan.card == layer.plan.card}
        if len(mixed) < 2:
            return name
        activator = card.activator(layer.plan.activator)
        if activator is None:
            return say("{layer} without activator", layer=name)
        return say("{layer} with {activator}", layer=name, activator=activator.name)

    def _words(self, group: list[StripStep]) -> str:
        step, strips = group[0], self.doing.strips_of(group)
        if step.kind is Kind.MIX:
            return mixing(step, self._named(step), strips, several=len(group) > 1)
        if step.kind is Kind.PULL:
            return say("Pull the tape on {strips}, and grade what it took off.", strips=strips)
        if step.kind is Kind.GRADE:
            return grading(step, strips)
        return say("Plan the paint of {strips}.", strips=strips)

    def _why(self, step: StripStep) -> str:
        waits, window = step.waits(self.now), step.window
        if waits and step.due_at is not None and step.due_at >= FOR_GOOD:
            return say("It does not dry in this air.")
        if waits and step.kind is Kind.PRESS and window is None:
            return say("First pull the tape that is on.")
        if waits and window is not None:
            why = window.why(self.now)
            told = [self._tape_time(step) if window.kind is WindowKind.DWELL else "", f"{why}." if why else ""]
            return " ".join(filter(None, told))
        own = window.span.closes_at if window is not None else None
        if step.kind is not Kind.COAT:
            return ""
        layer, told = self.doing.layer_name(step), []
        if step.late_at is not None and step.late_at != own:
            told.append(pot_life_words(layer, soon=step.late_at - self.now <= SOON))
        mix = self.doing.document.state.mixes.get(step.mix or "")
        age = age_words(mix, self.now) if mix is not None else ""
        if age:
            told.append(say("The cup of {layer} was {mixed_long_ago}.", layer=layer, mixed_long_ago=age))
        return " ".join(told)

    def _tape_time(self, step: StripStep) -> str:
        """Say that a card keeps the strip from its tests for longer than the rest that the trial has; "" where not."""
        state, rest = self.doing.document.state, self.doing.trial.plan.rest
        piece = state.pieces.get(step.strip)
        top = piece.top if piece is not None else None
        done = top.last_done if top is not None else None
        card = done.card if done is not None else None
        if card is None or self.doing.trial.aged(step.strip):
            return ""
        return tape_time_words(card, rest)

    def _caution(self, step: StripStep) -> str:
        if step.kind is Kind.COAT:
            layer = self.doing.document.state.layers.get(step.layer or "")
            card = self.doing.document.state.card_of(layer) if layer is not None else None
            return caution_words(self.tables, hazards_at((Moment.SPRAY,), card.hazards)) if card is not None else ""
        if step.planned is not None:
            return " ".join(step.planned.cautions)
        if step.ageing is not None:
            return ageing_caution(step.ageing)
        if step.kind is Kind.PRESS and step.method is not None:
            return instructions(step.method).caution
        return ""


def _together(alike: list[StripStep], now: datetime) -> list[list[StripStep]]:
    """Part strips that ask for the same by when they are due: all that may be done now, then minute by minute.

    A strip that is due waits for one that will be within the minute, unless that would make it late.
    """
    due = sorted(alike, key=lambda s: s.due_at or _LONG_AGO)
    clusters: list[list[StripStep]] = []
    for step in due:
        at = step.due_at or _LONG_AGO
        if clusters and at - (clusters[-1][0].due_at or _LONG_AGO) <= TOGETHER and not _late_by_then(clusters[-1], at):
            clusters[-1].append(step)
        else:
            clusters.append([step])
    ready = [s for c in clusters for s in c if not any(x.waits(now) for x in c)]
    waiting = [c for c in clusters if any(x.waits(now) for x in c)]
    return [ready, *waiting] if ready else waiting


def _late_by_then(cluster: list[StripStep], at: datetime) -> bool:
    return any(s.late_at is not None and s.late_at - TOGETHER < at for s in cluster)
