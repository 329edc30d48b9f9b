"""The air is the shop's, not a job's: what is read or expected of it goes into every open job, and out again."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from functools import partial
from typing import NamedTuple

from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.record import Job, is_logged, last_undo, standing, withdrawn_ids
from benchtool.session.document import Draft

AS_ONE = timedelta(seconds=2)
"""Entries of one act may lie so far apart in two jobs: none lies before what its own job holds already."""


def is_air(job: Job, events: Iterable[ev.Event]) -> bool:
    """Whether an act of `job` was of nothing but the air: what was read or expected of it, or when that was."""
    found, known = list(events), _known(job)
    return bool(found) and all(_said(known, e) is not None for e in found)


def twins(other: Job, job: Job, events: Iterable[ev.Event]) -> tuple[str, ...]:
    """Give the ids of the standing entries of `other` that say the same of the air as `events` of `job`."""
    gone = withdrawn_ids(other.events)
    alike = _Alike(job, events)
    known = _known(other)
    return tuple(e.id for e in other.events if e.id not in gone and alike.to(_said(known, e)))


def twin_undo(other: Job, job: Job, events: Iterable[ev.Event]) -> ev.Withdrawn | None:
    """Give the newest undo of `other` that took back the same as `events` of `job`, whatever was done there since."""
    gone = withdrawn_ids(other.events)
    alike = _Alike(job, events)
    known = _known(other)
    for undo in reversed(other.events):
        if isinstance(undo, ev.Withdrawn) and undo.id not in gone:
            taken = [known[i] for i in undo.events if i in known]
            if taken and all(alike.to(_said(known, e)) for e in taken):
                # what a logger wrote may have been followed by its readings of another file
                return undo if not any(map(is_logged, taken)) or last_undo(other) is undo else None
    return None


def moving(job: Job, ids: Iterable[str], by: timedelta) -> tuple[dict[str, ev.Event], list[Draft]]:
    """Give those entries at the times they really were, and what moves them by `by`."""
    wanted = frozenset(ids)
    times = {e.id: e for _, e in standing(job.events) if e.id in wanted}
    return times, [partial(ev.Corrected, event=i, really_at=e.at + by) for i, e in times.items()]


class _Said(NamedTuple):
    """What an entry says of the air and when that was entered; of a correction also when it really was."""

    what: ev.Event
    entered: datetime
    really_at: datetime | None


class _Alike:
    """Tells whether another job's entry says the same as one of an act's."""

    def __init__(self, job: Job, events: Iterable[ev.Event]) -> None:
        known = _known(job)
        self._wanted: dict[ev.Event, list[tuple[datetime, datetime | None]]] = {}
        for said in sorted(filter(None, (_said(known, e) for e in events)), key=lambda said: said.entered):
            self._wanted.setdefault(said.what, []).append((said.entered, said.really_at))

    def to(self, said: _Said | None) -> bool:
        if said is None:
            return False
        wanted = self._wanted.get(said.what, [])
        first = bisect_left(wanted, said.entered - AS_ONE, key=lambda w: w[0])
        last = bisect_right(wanted, said.entered + AS_ONE, key=lambda w: w[0])
        return any(_near(really_at, said.really_at) for _, really_at in wanted[first:last])


def _known(job: Job) -> Mapping[str, ev.Event]:
    return {e.id: e for e in job.events}


def _said(known: Mapping[str, ev.Event], event: ev.Event) -> _Said | None:
    """Give what an entry says of the air, by the clock it was entered by; None where it speaks of anything else."""
    really_at = None
    if isinstance(event, ev.Corrected):
        corrected = known.get(event.event)
        if corrected is None:
            return None
        really_at = event.really_at
        event = corrected
    return _Said(_bare(event), event.at, really_at) if isinstance(event, ev.ReadingTaken | ev.CourseExpected) else None


def _near(one: datetime | None, other: datetime | None) -> bool:
    if one is None or other is None:
        return one is other
    return abs(one - other) <= AS_ONE


def _bare(event: ev.Event) -> ev.Event:
    return replace(event, id="e0", at=event.at.min.replace(tzinfo=event.at.tzinfo), along_with=None)
