"""What a trial proves of a piece: the chosen system, on the same lot of the material, prepared the same way.

A trial speaks for a piece when its strips were of the same lot or were made for that very piece, when both were
cleaned and abraded alike, and when what was on the strips is what goes on the piece. It proves when a tape test of
them, done after the paint had rested, held, and none did not. That the control holds plain tape proves nothing: it
takes a test with cuts to say that no promoter is needed. The quick log of a strip (`TrialRecorded`) stays beside it: of
the two the one that came last decides.
"""

from bisect import bisect_left
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from benchtool.job import events as ev
from benchtool.job.cards import Card
from benchtool.job.prepwords import agent_name
from benchtool.job.state import LayerState, PieceState, State, Step
from benchtool.job.trialrest import Rested, rested, title_of
from benchtool.job.trials import Grade, TrialState
from benchtool.trade.grades import BY_TAPE, NotAGrade, held
from benchtool.trade.saying import say
from benchtool.trade.substrates import FEPA_P, Cleaner

CLEANING = (ev.Prep.WASH, ev.Prep.RELEASE_WASH, ev.Prep.DEGREASE)
TOOTHING = (ev.Prep.ABRADE, ev.Prep.SCUFF)
"""What decides how paint holds. Masking, dust and drying decide how it looks (judgement)."""

GRIT_STEPS = 1.0
"""So many steps of the FEPA P series (ISO 6344) apart two faces still count as abraded alike (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What the trial says of a piece for which a system of it was chosen.

    `against` says in sentences why it proves nothing here, the worst first; () where it proves. `failed` says that the
    tape took this system off its strips. `to_do` is what the strips had and the piece, still bare, has not had yet.
    `at` is when it came to be so.
    """

    trial: TrialState
    system: ev.System
    chosen: ev.SystemChosen
    at: datetime
    against: tuple[str, ...] = ()
    failed: bool = False
    to_do: tuple[str, ...] = ()

    @property
    def holds(self) -> bool:
        """Whether it proves what it was done for."""
        return not self.against

    def decides(self, piece: PieceState) -> bool:
        """Whether it came after the last strip that was only logged as held or not."""
        last = piece.newest_trial
        return last is None or self.at >= last.at


def proof_of(state: State, piece: PieceState, cleaners: Mapping[str, Cleaner] | None = None) -> Proof | None:
    """Give what the trial of the system chosen last for a piece says of it; None where none was chosen."""
    for _, chosen in sorted(enumerate(piece.chosen), key=lambda c: (c[1].at, c[0]), reverse=True):
        trial = state.trials.get(chosen.trial)
        system = trial.system(chosen.system) if trial is not None else None
        if trial is not None and system is not None:
            return _proof(state, piece, trial, system, chosen, cleaners or {})
    return None


def proved(piece: PieceState, proof: Proof | None) -> bool:
    """Whether a strip showed that what goes on this piece holds: by its trial, or by the quick log of one."""
    return proof.holds if proof is not None and proof.decides(piece) else piece.proved


def proved_at(piece: PieceState, proof: Proof | None) -> datetime | None:
    """Give since when that is so; None where it is not."""
    if not proved(piece, proof):
        return None
    if proof is not None and proof.decides(piece):
        return proof.at
    last = piece.newest_trial
    return last.at if last is not None else None


def _proof(
    state: State,
    piece: PieceState,
    trial: TrialState,
    system: ev.System,
    chosen: ev.SystemChosen,
    cleaners: Mapping[str, Cleaner],
) -> Proof:
    every = [p for s in trial.strips_of(system.id) if (p := state.pieces.get(s.piece)) is not None]
    strips = [p for p in every if p.top is not None]
    newest = [(p, g) for p in every for g in trial.newest(p.id) if g.given.method in BY_TAPE]
    off = [(p, g) for p, g in newest if came_off(g)]
    in_time = [g.given for p, g in newest if rested(trial, p, g.given.at) is Rested.YES]
    counted = [given.at for given in in_time if _tells(system, given.method)]
    against = [
        *(_let_go(p, g) for p, g in off),
        *([] if strips else [say("The strips of {system} have no paint on yet.", system=system.name)]),
        *_other_material(piece.piece, trial, strips),
        *_other_stack(state, piece, strips),
    ]
    to_do: list[str] = []
    for strip in strips:
        unlike, left = _other_prep(piece, strip, cleaners)
        against += unlike
        to_do += left
    if strips and not off and not counted:
        against.append(_tape_alone(system, piece) if in_time else _untested(system, early=bool(newest)))
    last = max((g.given.at for _, g in off), default=None) or min(counted, default=chosen.at)
    return Proof(
        trial=trial,
        system=system,
        chosen=chosen,
        at=max(chosen.at, last),
        against=tuple(dict.fromkeys(against)),
        failed=bool(off),
        to_do=tuple(dict.fromkeys(to_do)),
    )


# --- the tests ---------------------------------------------------------------------------------------


def came_off(grade: Grade) -> bool:
    """Say whether a test took off more than is usually allowed; False where no limit is usual."""
    try:
        return held(grade.given.method, grade.given.grade) is False
    except NotAGrade:  # a record is checked when it is read; what slips through shows nothing
        return False


def _let_go(strip: PieceState, grade: Grade) -> str:
    named = {"strip": strip.piece.name, "test": title_of(grade.test), "grade": grade.given.grade}
    return say("{strip} did not hold. {test}: {grade}.", **named)


def _tells(system: ev.System, method: ev.Method) -> bool:
    """Whether a tape test can prove a system: of the control plain tape proves nothing, for bare faces hold it too."""
    return not system.control or method is not ev.Method.PLAIN_TAPE


def _tape_alone(system: ev.System, piece: PieceState) -> str:
    return say(
        "Plain tape on {system}, the control, is no proof that {piece} needs no promoter: cut through the paint too.",
        system=system.name, piece=piece.piece.name,
    )  # fmt: skip


def _untested(system: ev.System, *, early: bool) -> str:
    if early:
        return say("{system} was tape-tested only before its paint had rested.", system=system.name)
    return say("No strip of {system} has been tape-tested yet.", system=system.name)


# --- the material ------------------------------------------------------------------------------------


def same_lot(one: str, other: str) -> bool:
    """Whether two lots, as a painter wrote them, are the same."""
    return _squashed(one) == _squashed(other)


def _squashed(lot: str) -> str:
    return " ".join(lot.casefold().split())


def _other_material(piece: ev.Piece, trial: TrialState, strips: Sequence[PieceState]) -> Iterator[str]:
    own = trial.plan.piece == piece.id
    for strip in (s.piece for s in strips):
        nobody_knows = own and ev.Known.UNKNOWN in (piece.known, strip.known)
        if strip.substrate != piece.substrate and not nobody_knows:
            yield say("The strips were of another material than {piece}.", piece=piece.name)
        elif strip.batch.strip() and piece.batch.strip():
            if not same_lot(strip.batch, piece.batch):
                yield say("The trial was done on another lot of the material.")
        elif not own:
            yield say("It is not written down that {piece} is of the same lot as the strips.", piece=piece.name)


# --- the stack ---------------------------------------------------------------------------------------


def _other_stack(state: State, piece: PieceState, strips: Sequence[PieceState]) -> Iterator[str]:
    for strip in strips:
        said = _unlike(state, piece, strip)
        if said:
            yield said


def _unlike(state: State, piece: PieceState, strip: PieceState) -> str:
    """Say where the stack of a piece leaves that of a strip; more may go over it."""
    has = goes_on(piece)
    for i, layer in enumerate(x for x in strip.layers if x.started):
        named = {"layer": state.layer_name(layer), "piece": piece.piece.name}
        if i >= len(has):
            return say("{layer} was on the strips, and is not planned on {piece}.", **named)
        if has[i].plan.card != layer.plan.card:
            named["other"] = state.layer_name(has[i])
            return say("Where the strips had {layer}, {piece} has {other}.", **named)
        theirs, its = activators_of(state, layer), activators_of(state, has[i])
        if theirs != its:
            card = state.card_of(layer)
            named |= {"theirs": _activator_names(card, theirs), "its": _activator_names(card, its)}
            return say("{layer} was mixed with {theirs} on the strips; on {piece} it is {its}.", **named)
        mixed_in, goes_in = frozenset(layer.plan.additives), frozenset(has[i].plan.additives)
        if mixed_in != goes_in:
            card = state.card_of(layer)
            named |= {"theirs": _additive_names(card, mixed_in), "its": _additive_names(card, goes_in)}
            return say("{layer} had {theirs} in it on the strips; on {piece} it has {its}.", **named)
    return ""


def goes_on(piece: PieceState) -> list[LayerState]:
    """Give the layers that lie on a piece and those still to come; what was passed over holds nothing."""
    top = piece.top
    reached = piece.place(top) if top is not None else -1
    return [x for i, x in enumerate(piece.layers) if x.started or i > reached]


def activators_of(state: State, layer: LayerState) -> frozenset[str | None]:
    """Give the activators that a layer went on with, by their ids; where no cup is logged, the planned one."""
    cups = [m.made.activator for c in layer.coats if (m := state.mixes.get(c.mix or "")) is not None]
    return frozenset(cups or [layer.plan.activator])


def _activator_names(card: Card | None, ids: frozenset[str | None]) -> str:
    names = [a.name for i in ids if card is not None and (a := card.activator(i)) is not None]
    return say(" and ").join(sorted(names)) if names else say("no activator")


def _additive_names(card: Card | None, ids: frozenset[str]) -> str:
    names = [a.name for i in ids if card is not None and (a := card.additive(i)) is not None]
    return say(" and ").join(sorted(names)) if names else say("no additive")


# --- the prep ----------------------------------------------------------------------------------------


def steps_on_bare(piece: PieceState) -> tuple[Step, ...]:
    """Give what was done to the bare face that decides how paint holds, oldest first."""
    return tuple(s for s in piece.steps if s.on_layer is None and s.step in (*CLEANING, *TOOTHING))


def prep_alike(one: PieceState, other: PieceState) -> bool:
    """Whether two pieces were cleaned and abraded alike while they were bare."""
    return not any(any(_other_prep(a, b, {})) for a, b in ((one, other), (other, one)))


def _other_prep(piece: PieceState, strip: PieceState, cleaners: Mapping[str, Cleaner]) -> tuple[list[str], list[str]]:
    """Give what was done otherwise on a piece than on a strip, and what is still to be done on one that is bare."""
    against: list[str] = []
    to_do: list[str] = []
    mine, theirs = steps_on_bare(piece), steps_on_bare(strip)
    named = {"piece": piece.piece.name}
    for kind in (*CLEANING, *TOOTHING):
        on_it, on_them = [s for s in mine if s.step is kind], [s for s in theirs if s.step is kind]
        extra, lacking = _beyond(on_it, on_them), _beyond(on_them, on_it)
        if extra is not None and on_them and lacking is not None:
            named |= {"how": _done_words(extra, cleaners), "other": _done_words(lacking, cleaners)}
            against.append(say("{piece} was {how}, and the strips were {other}.", **named))
        elif extra is not None:
            named["how"] = _done_words(extra, cleaners)
            against.append(say("{piece} was {how}, and the strips were not.", **named))
        elif lacking is not None and piece.top is None:
            named["how"] = _done_words(lacking, cleaners)
            to_do.append(say("{piece} is still to be {how}, as the strips were.", **named))
        elif lacking is not None:
            named["how"] = _done_words(lacking, cleaners)
            against.append(say("The strips were {how}, and {piece} was not.", **named))
    if _cleaned_last(theirs) and not _cleaned_last(mine) and any(s.step in TOOTHING for s in mine):
        if piece.top is None:
            to_do.append(say("{piece} is still to be cleaned after abrading, as the strips were.", **named))
        else:
            against.append(say("The strips were cleaned after abrading, and {piece} was not.", **named))
    return against, to_do


def _beyond(steps: Sequence[Step], others: Sequence[Step]) -> Step | None:
    """Give the last of these steps that has no like among the others; what was not said of a step is like any."""
    for step in reversed(steps):
        if not any(_alike(step, other) for other in others):
            return step
    return None


def _alike(one: Step, other: Step) -> bool:
    agents = one.agent is None or other.agent is None or one.agent == other.agent
    grits = one.grit is None or other.grit is None or abs(_place(one.grit) - _place(other.grit)) <= GRIT_STEPS
    return agents and grits


def _place(grit: int) -> float:
    """Give where a grade stands in the FEPA series, halfway between two where it is none of them."""
    i = bisect_left(FEPA_P, grit)
    return float(i) if i < len(FEPA_P) and FEPA_P[i] == grit else i - 0.5


def _cleaned_last(steps: Sequence[Step]) -> bool:
    """Whether it was cleaned after it was abraded for the last time."""
    tooth = max((i for i, s in enumerate(steps) if s.step in TOOTHING), default=-1)
    return tooth >= 0 and any(s.step in CLEANING for s in steps[tooth + 1 :])


def _done_words(step: Step, cleaners: Mapping[str, Cleaner]) -> str:
    if step.grit is not None and step.step in TOOTHING:
        words = {ev.Prep.ABRADE: say("abraded with P{grit}", grit=step.grit)}
        return words.get(step.step, say("scuffed with P{grit}", grit=step.grit))
    if step.agent is not None:
        agent = agent_name(step.agent, cleaners)
        with_it: Mapping[ev.Prep, Callable[[], str]] = {
            ev.Prep.WASH: lambda: say("washed with {cleaner}", cleaner=agent),
            ev.Prep.RELEASE_WASH: lambda: say("washed free of mould release with {cleaner}", cleaner=agent),
            ev.Prep.DEGREASE: lambda: say("degreased with {cleaner}", cleaner=agent),
        }
        if step.step in with_it:
            return with_it[step.step]()
    return {
        ev.Prep.WASH: say("washed"),
        ev.Prep.RELEASE_WASH: say("washed free of mould release"),
        ev.Prep.DEGREASE: say("degreased"),
        ev.Prep.ABRADE: say("abraded"),
    }.get(step.step, say("scuffed"))
