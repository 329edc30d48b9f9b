"""What of a trial can't be so: strips of no system, two on one place, a grade outside its scale."""

from collections.abc import Iterator
from datetime import timedelta

from benchtool.job import events as ev
from benchtool.job.record import Job
from benchtool.trade.grades import NotAGrade, read_grade
from benchtool.trade.numbers import shorten

LONGEST = timedelta(days=36_600)
"""No trial lasts a century; and within it no sum of times can overflow."""


def trial_faults(trial: ev.Trial) -> Iterator[tuple[str, str]]:
    """Give the path and the message of each value of a trial that can't be so."""
    names = [s.id for s in trial.systems]
    if len(set(names)) < len(names):
        yield ".systems", "two systems have one id"
    pieces = [s.piece for s in trial.strips]
    if len(set(pieces)) < len(pieces):
        yield ".strips", "one piece stands for two strips"
    spots = [(s.panel, s.place) for s in trial.strips]
    if len(set(spots)) < len(spots):
        yield ".strips", "two strips lie on one place"
    for k, strip in enumerate(trial.strips):
        if strip.system not in names:
            yield f".strips[{k}].system", f"there is no system “{strip.system}” in this trial"
    spans = [(".rest", trial.rest), (".tape_stays", trial.tape_stays)]
    for k, step in enumerate(trial.ageing):
        spans += [(f".ageing[{k}]{path}", span) for path, span in _ageing_times(step)]
    yield from ((path, why) for path, span in spans for why in _span_fault(span))


def _ageing_times(step: ev.Ageing) -> Iterator[tuple[str, timedelta]]:
    yield ".recovers", step.recovers
    if step.lasts is not None:
        yield ".lasts", step.lasts


def _span_fault(span: timedelta) -> Iterator[str]:
    if span < timedelta(0):
        yield "a time can't be below zero"
    elif span > LONGEST:
        yield "no trial lasts a century"


def trial_event_faults(job: Job) -> Iterator[tuple[str, str]]:
    """Give the path and the message of each value in the events of trials that can't be so."""
    for i, e in enumerate(job.events):
        match e:
            case ev.TrialPlanned(trial=trial) | ev.TrialReplanned(trial=trial):
                for path, message in trial_faults(trial):
                    yield f"$.events[{i}].trial{path}", message
            case ev.AgeingBegun(ageing=ageing):
                for path, span in _ageing_times(ageing):
                    yield from ((f"$.events[{i}].ageing{path}", why) for why in _span_fault(span))
            case ev.Graded(method=method, grade=grade):
                yield from ((f"$.events[{i}].grade", why) for why in _grade_fault(method, grade))
            case _:
                pass


def _grade_fault(method: ev.Method, grade: str) -> Iterator[str]:
    try:
        code = read_grade(method, grade)
    except NotAGrade as wrong:
        yield str(wrong).rstrip(".")  # what to do with the file is said after it
        return
    if code != grade:
        yield f"the grade “{shorten(grade)}” is written “{code}” in a record"
