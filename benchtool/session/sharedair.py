"""The air is the shop's, not a job's: what is read or expected of it goes into every open job, and out again."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.record import Job, last_undo, standing

AS_ONE = timedelta(seconds=2)
"""Entries of one act may lie so far apart in two jobs: none lies before what its own job holds already."""


def is_air(events: Iterable[ev.Event]) -> bool:
    """Whether an act was of nothing but the air."""
    found = list(events)
    return bool(found) and all(isinstance(e, ev.ReadingTaken | ev.CourseExpected) for e in found)


def twins(job: Job, events: Iterable[ev.Event]) -> tuple[str, ...]:
    """Give the ids of the standing entries of `job` that say the same as `events`, which another job holds."""
    wanted: dict[ev.Event, list[datetime]] = {}
    for event in events:
        wanted.setdefault(_bare(event), []).append(event.at)
    return tuple(
        e.id
        for _, e in standing(job.events)
        if is_air((e,)) and any(abs(e.at - at) <= AS_ONE for at in wanted.get(_bare(e), ()))
    )


def twin_undo(job: Job, events: Iterable[ev.Event]) -> ev.Withdrawn | None:
    """Give the last undo of `job` where it took back the same as `events`, which another job holds."""
    undo = last_undo(job)
    if undo is None:
        return None
    gone = frozenset(undo.events)
    taken = [e for e in job.events if e.id in gone]
    wanted = {_bare(e) for e in events}
    return undo if is_air(taken) and all(_bare(e) in wanted for e in taken) else None


def _bare(event: ev.Event) -> ev.Event:
    return replace(event, id="e0", at=event.at.min.replace(tzinfo=event.at.tzinfo), along_with=None)
