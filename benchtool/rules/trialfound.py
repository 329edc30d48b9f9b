"""What the rules of trials look at, and how they say it."""

from collections.abc import Iterator

from benchtool.job import events as ev
from benchtool.job.state import PieceState
from benchtool.job.trials import Grade, TrialState
from benchtool.rules.finding import Cause, Facts, Finding, Severity, cause, key


def running(facts: Facts) -> list[TrialState]:
    """Give the trials whose strips were not put away."""
    return [t for t in facts.state.trials.values() if t.ended_at is None]


def found(
    facts: Facts,
    rule: str,
    severity: Severity,
    trial: TrialState,
    message: str,
    remedy: str,
    *places: object,
    piece: str | None = None,
) -> Finding:
    """Say something of a trial, at the piece it is done for where there is one."""
    at = piece or trial.plan.piece
    return Finding(
        rule=rule,
        severity=severity,
        piece=at if at in facts.state.pieces else None,
        message=message,
        remedy=remedy,
        key=key(rule, trial.id, *places),
        cause=cause(Cause.TRIAL, rule, trial.id, *places),
    )


def graded(facts: Facts, trial: TrialState) -> Iterator[tuple[ev.System, PieceState, Grade]]:
    """Give each grade that counts, with the system and the strip."""
    for system in trial.plan.systems:
        for strip in trial.strips_of(system.id):
            piece = facts.state.pieces.get(strip.piece)
            if piece is not None:
                yield from ((system, piece, grade) for grade in trial.newest(strip.piece))
