"""The windows of a trial: the rest before the tests, the tape that is on, the ageing."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from benchtool.job import events as ev
from benchtool.job.cards import CardTime
from benchtool.job.state import PieceState, State
from benchtool.job.trialrest import still_to_test
from benchtool.job.trials import TrialState
from benchtool.job.window import Window
from benchtool.trade.grademethods import tape_window
from benchtool.trade.windows import Span, WindowKind


def trial_windows(state: State) -> Iterator[Window]:
    """Give the windows of every trial whose strips are not put away."""
    for trial in state.trials.values():
        if trial.ended_at is None:
            for strip in trial.plan.strips:
                piece = state.pieces.get(strip.piece)
                if piece is not None:
                    yield from _of_strip(state, trial, piece)


def testable_from(trial: TrialState, piece: PieceState) -> datetime | None:
    """Say from when a strip may be tested; None while its stack is not finished, or it is being aged.

    The paint rests for as long as the trial says, and for the tape time of its last card where that is longer; after
    ageing it rests for as long as that asks for. Nothing shortens either.
    """
    span = _rest(trial, piece)
    return span.opens_at if span is not None else None


def _rest(trial: TrialState, piece: PieceState) -> Span | None:
    if trial.ageing_now(piece.id) is not None or not piece.layers or not piece.layers[-1].finished:
        return None
    top = piece.layers[-1]
    done = top.last_done
    if done is None or done.done_at is None:
        return None
    ends = [done.done_at + trial.plan.rest]
    if done.card is not None and done.card.tape is not None:
        ends.append(top.ends(done.done_at, done.card.tape, done.card, CardTime.TAPE, done))
    start = done.done_at
    for run in trial.ageings:
        if piece.id in run.strips and run.over_at is not None:
            ends.append(run.over_at + run.plan.recovers)
            start = max(start, run.over_at)
    return Span(min(start, max(ends)), max(ends))


def _of_strip(state: State, trial: TrialState, piece: PieceState) -> Iterator[Window]:
    layer = piece.top
    if layer is None:
        return
    name = state.layer_name(layer)

    def window(kind: WindowKind, span: Span, then: str, mark: str, *, needed: bool = True) -> Window:
        return Window(
            piece=piece.id,
            piece_name=piece.piece.name,
            layer=layer.id,
            layer_name=name,
            kind=kind,
            coat=None,
            span=span,
            then=then,
            needed=needed,
            behind_clear=piece.piece.face is ev.Face.BEHIND_CLEAR,
            mark=mark,
        )

    run = trial.ageing_now(piece.id)
    if run is not None:
        over = run.begun_at + (run.plan.lasts or timedelta(0))
        yield window(WindowKind.AGEING, Span(run.begun_at, over), _taken_out(run.plan.kind), run.plan.kind.value)
        return
    tapes = trial.tapes_on(piece.id)
    for tape in tapes:
        least, most = tape_window(tape.method, trial.plan.tape_stays)
        span = Span(tape.at, tape.at + least, tape.at + most if most is not None else None)
        yield window(WindowKind.TAPE_ON, span, "grade it", tape.method.value)
    if tapes:
        return
    rest = _rest(trial, piece)
    if rest is None:
        return
    aged = trial.aged(piece.id)
    if still_to_test(trial, piece):
        yield window(WindowKind.DWELL, rest, "test it", ", ".join(k.value for k in aged))


def _taken_out(kind: ev.AgeingKind) -> str:
    return {
        ev.AgeingKind.WATER: "take it out of the water",
        ev.AgeingKind.HEAT: "take it out of the heat",
        ev.AgeingKind.COLD: "take it out of the cold",
    }.get(kind, "let it lie flat")
