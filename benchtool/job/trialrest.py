"""Whether the paint of a strip had rested when it was tested, and what a test is called."""

from datetime import datetime
from enum import StrEnum

from benchtool.job import events as ev
from benchtool.job.cards import CardTime
from benchtool.job.state import PieceState
from benchtool.job.trials import TrialState
from benchtool.trade.grades import title
from benchtool.trade.saying import say

Test = tuple[ev.Method, tuple[ev.AgeingKind, ...]]
"""What tells one test from another: the method, and what the strip had been through before it."""


class Rested(StrEnum):
    """Whether the paint had rested when a strip was graded."""

    YES = "rested"
    EARLY = "early"
    UNTOLD = "untold"
    """No coat of it is in the record, so that nobody can tell."""


def rested(trial: TrialState, piece: PieceState | None, at: datetime) -> Rested:
    """Say whether the paint of a strip had rested at `at`: for as long as the trial says and its last card's tape time.

    After ageing it rests as long as that asks for; within it nothing is tested. Coats begun since make the grade early.
    """
    if any(piece is not None and piece.id in r.strips and _within(r.begun_at, r.over_at, at) for r in trial.ageings):
        return Rested.EARLY
    if piece is None or not any(layer.started for layer in piece.layers):
        return Rested.UNTOLD
    ends = rest_ends(trial, piece, at)
    return Rested.YES if ends is not None and at >= ends else Rested.EARLY


def still_to_test(trial: TrialState, piece: PieceState) -> list[ev.Method]:
    """Give the methods of the plan by which a strip is still to be tested as it is now, in their order.

    A grade given before the rest was over is kept and proves nothing: that test is done once more when it has rested.
    """
    given = {m: trial.grade(piece.id, m, trial.aged(piece.id)) for m in trial.plan.methods}
    return [m for m, g in given.items() if g is None or rested(trial, piece, g.given.at) is Rested.EARLY]


def rest_ends(trial: TrialState, piece: PieceState, at: datetime) -> datetime | None:
    """Give when the rest is over that a grade given at `at` has to wait for; None while the stack is not finished."""
    top = piece.layers[-1] if piece.layers else None
    done = top.last_done if top is not None and top.finished else None
    if top is None or done is None or done.done_at is None:
        return None
    ends = [done.done_at + trial.plan.rest]
    if done.card is not None and done.card.tape is not None:
        ends.append(top.ends(done.done_at, done.card.tape, done.card, CardTime.TAPE, done))
    runs = (r for r in trial.ageings if piece.id in r.strips and r.over_at is not None and r.over_at <= at)
    ends += [r.over_at + r.plan.recovers for r in runs if r.over_at is not None]
    return max(ends)


def _within(begun: datetime, over: datetime | None, at: datetime) -> bool:
    return begun < at and (over is None or at < over)  # within an instant it was graded first, and put in then


def title_of(test: Test) -> str:
    """Name a test for the painter."""
    method, aged = test
    return say("{test}, after {aged}", test=title(method), aged=aged_words(aged)) if aged else title(method)


def aged_words(aged: tuple[ev.AgeingKind, ...]) -> str:
    """Say what a strip went through, oldest first."""
    names = {
        ev.AgeingKind.WATER: say("water"),
        ev.AgeingKind.HEAT: say("heat"),
        ev.AgeingKind.COLD: say("cold"),
        ev.AgeingKind.FLEX: say("bending"),
    }
    return ", ".join(names[kind] for kind in aged)
