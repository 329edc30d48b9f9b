"""Trials, more of it: what a trial shows, and what is made of it."""

from collections.abc import Iterator

from benchtool.job import events as ev
from benchtool.job.state import PieceState
from benchtool.job.trialproof import came_off
from benchtool.job.trialrest import Rested, Test, rested, title_of
from benchtool.job.trials import Grade, TrialState
from benchtool.rules.finding import PRACTICE, Facts, Family, Finding, Severity
from benchtool.rules.ground import grounds
from benchtool.rules.trialfound import found, graded, running
from benchtool.trade.grades import BY_TAPE, NotAGrade, score
from benchtool.trade.rankingparts import at_least
from benchtool.trade.saying import say

FAMILY = Family("trial")

# --- what it shows -------------------------------------------------------------------------------------

Scores = dict[str, list[int]]
"""The scores of a test by system, higher is better; early grades are left out."""


def _in_time(trial: TrialState, piece: PieceState, grade: Grade) -> bool:
    return rested(trial, piece, grade.given.at) is not Rested.EARLY


def _scores(facts: Facts, trial: TrialState) -> dict[Test, Scores]:
    by_test: dict[Test, Scores] = {}
    for system, piece, grade in graded(facts, trial):
        if not _in_time(trial, piece, grade):
            continue
        try:
            place = score(grade.given.method, grade.given.grade)
        except NotAGrade:  # a record is checked when it is read; what slips through shows nothing
            continue
        by_test.setdefault(grade.test, {}).setdefault(system.id, []).append(place)
    return by_test


@FAMILY.rule(
    "control-held",
    Severity.NOTE,
    timed=False,
    title="Control that held the tape as well as the rest",
    reason="Where everything holds the tape, tape alone does not tell the systems apart. It is no proof that no "
    "promoter is needed.",
    source=PRACTICE,
    remedy="Look at the scratch grades, with a stick and a fingernail, and at the tape after ageing.",
)
def control_held(facts: Facts) -> Iterator[Finding]:
    """In a tape test a control held, and no other system did better."""
    for trial in running(facts):
        off = {(g.given.strip, g.test) for _, _, g in graded(facts, trial) if came_off(g)}
        for test, by_system in _scores(facts, trial).items():
            others = [s.id for s in trial.plan.systems if not s.control and s.id in by_system]
            for control in trial.controls if test[0] in BY_TAPE and others else ():
                strips = trial.strips_of(control.id)
                if control.id not in by_system or any((s.piece, test) in off for s in strips):
                    continue
                if not all(at_least(by_system[control.id], by_system[other]) for other in others):
                    continue
                named = {"control": control.name, "test": title_of(test)}
                yield found(
                    facts,
                    "trial.control-held",
                    Severity.NOTE,
                    trial,
                    say("{control}, the control, held the tape as well as the rest ({test}).", **named),
                    say(
                        "Look at the scratch grades: tape alone does not tell them apart here, and it is no proof that "
                        "no promoter is needed."
                    ),
                    control.id,
                    *test[1],
                    test[0].value,
                )


# --- what is made of it --------------------------------------------------------------------------------


def _used(facts: Facts) -> Iterator[tuple[PieceState, TrialState, ev.System]]:
    """Give each piece that is not finished, with the trial and the system that was chosen for it last."""
    for ground in grounds(facts):
        if ground.proof is not None and ground.open:
            yield ground.piece, ground.proof.trial, ground.proof.system


@FAMILY.rule(
    "one-strip",
    Severity.NOTE,
    timed=False,
    title="Chosen by one strip of each",
    reason="With one strip of each system a trial shows a difference and proves none: the next strip may well turn "
    "out the other way.",
    source="exact permutation test (Fisher 1935): two groups of one can't differ by less than a p of 1, two of four "
    "reach 0.029",
    remedy="Let it do where a mistake costs little; else spray four strips of each that is in question.",
)
def one_strip(facts: Facts) -> Iterator[Finding]:
    """A system was chosen for a piece in a trial that had only one strip of each."""
    for piece, trial, system in _used(facts):
        if any(len(trial.strips_of(s.id)) > 1 for s in trial.plan.systems):
            continue
        yield found(
            facts,
            "trial.one-strip",
            Severity.NOTE,
            trial,
            say(
                "{system} was chosen for {piece} by one strip of each: that shows a difference and proves none.",
                system=system.name, piece=piece.piece.name,
            ),
            say("Let it do where a mistake costs little; else spray four strips of each that is in question."),
            piece.id,
            piece=piece.id,
        )  # fmt: skip


@FAMILY.rule(
    "chosen-not-best",
    Severity.CAUTION,
    timed=False,
    title="A system that did better was passed over",
    reason="Where another system did at least as well on every test and better on one, only something that was not "
    "tested speaks for the one chosen.",
    source=PRACTICE,
    remedy="Look at the grades again, and choose the other one, or note why not.",
)
def chosen_not_best(facts: Facts) -> Iterator[Finding]:
    """Another system of the trial has each test of the chosen one, did no worse on any and better on one."""
    for piece, trial, system in _used(facts):
        scores = _scores(facts, trial)
        better = [s for s in trial.plan.systems if s.id != system.id and _dominates(s.id, system.id, scores)]
        if better:
            named = {"other": better[0].name, "system": system.name, "piece": piece.piece.name}
            yield found(
                facts,
                "trial.chosen-not-best",
                Severity.CAUTION,
                trial,
                say("{other} did no worse than {system} on any test, and better on one.", **named),
                say("Look at the grades again: {system} was chosen for {piece}.", **named),
                piece.id,
                piece=piece.id,
            )


def _dominates(one: str, other: str, scores: dict[Test, Scores]) -> bool:
    pairs = [(s.get(one), s[other]) for s in scores.values() if other in s]
    if not pairs or not all(mine and at_least(mine, its) for mine, its in pairs):
        return False
    return any(mine and not at_least(its, mine) for mine, its in pairs)


@FAMILY.rule(
    "prep-to-do",
    Severity.NOTE,
    timed=False,
    title="Prep that the strips had and the piece has not yet",
    reason="A trial speaks for the prep that its strips had: on a face prepared otherwise the paint may hold "
    "otherwise.",
    source=PRACTICE,
    remedy="Prepare the piece as the strips were before its first coat, and log it.",
)
def prep_to_do(facts: Facts) -> Iterator[Finding]:
    """A piece that is still bare has not had the prep of the strips that prove its system."""
    for ground in grounds(facts):
        proof = ground.tried_in
        if proof is None or not proof.holds or not proof.to_do or ground.begun:
            continue
        yield found(
            facts,
            "trial.prep-to-do",
            Severity.NOTE,
            proof.trial,
            " ".join(proof.to_do),
            say("Prepare the piece as the strips were before its first coat, and log it."),
            ground.piece.id,
            piece=ground.piece.id,
        )
