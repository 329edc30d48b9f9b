"""The job document: a header and the list of events. All else is folded from them."""

from datetime import datetime, timedelta
from typing import Annotated

from msgspec import Meta
from msgspec.structs import replace

from benchtool.job.cards import Id, Record, Text
from benchtool.job.events import Corrected, CourseExpected, Event, LotTaken, Withdrawn
from benchtool.job.lots import Instant, moved

FORMAT = "bench job"
SCHEMA = 2
"""2: cans with their lots, what is left over of a cup, guesses, the air that is expected, and cards that say more
(1 had none of these)."""


class Job(Record, frozen=True, kw_only=True):
    """One customer's work as it stands in its file. `note` of a demo says that it is one."""

    format: Annotated[str, Meta(pattern="^bench job$")]
    schema: Annotated[int, Meta(ge=1)]
    id: Id
    created: Instant
    demo: bool = False
    note: Text = ""
    events: tuple[Event, ...] = ()


def with_events(job: Job, *events: Event) -> Job:
    """Give the job with `events` appended."""
    return replace(job, events=(*job.events, *events))


def as_of(job: Job, at: datetime) -> Job:
    """Give the job as it stood at `at`: without what was entered to have happened later."""
    return replace(job, events=tuple(e for e in job.events if e.at <= at))


def next_number(job: Job) -> int:
    """Give a number above every numbered id (`e12`) in the job, for the next event."""
    numbers = (int(e.id[1:]) for e in job.events if e.id[:1] == "e" and e.id[1:].isdigit())
    return max(numbers, default=0) + 1


def withdrawn_ids(events: tuple[Event, ...]) -> frozenset[str]:
    """Say which events are taken back, the withdrawals that were themselves taken back left out."""
    gone: set[str] = set()
    for event in reversed(events):
        if isinstance(event, Withdrawn) and event.id not in gone:
            gone.update(event.events)
    return frozenset(gone)


def standing(events: tuple[Event, ...]) -> tuple[tuple[int, Event], ...]:
    """Give the events that stand, each with its place in the record, at the times they really happened."""
    gone = withdrawn_ids(events)
    moved = {e.event: e.really_at for e in events if isinstance(e, Corrected) and e.id not in gone}
    return tuple(
        (i, replace(e, at=moved[e.id]) if e.id in moved else e)
        for i, e in enumerate(events)
        if e.id not in gone and not isinstance(e, Withdrawn | Corrected)
    )


def last_act(job: Job, *, corrections: bool = True) -> tuple[Event, ...]:
    """Give the events of the last act that stands, the ones an undo takes back.

    With `corrections` False, a correction of a time is passed over for the act that it corrects.
    """
    gone = withdrawn_ids(job.events)
    for event in reversed(job.events):
        if event.id in gone or isinstance(event, Withdrawn) or (isinstance(event, Corrected) and not corrections):
            continue
        head = event.along_with or event.id
        return tuple(e for e in job.events if (e.along_with or e.id) == head and e.id not in gone)
    return ()


def last_undo(job: Job) -> Withdrawn | None:
    """Give the undo that a redo would take back: the newest event, if it is one that stands."""
    gone = withdrawn_ids(job.events)
    for event in reversed(job.events):
        if event.id in gone:
            continue
        if not isinstance(event, Withdrawn):
            return None
        undoes_an_undo = any(e.id in event.events and isinstance(e, Withdrawn) for e in job.events)
        if not undoes_an_undo:
            return event
    return None


def shifted(job: Job, by: timedelta) -> Job:
    """Move every instant of the job by `by`, for a demo that starts now."""
    events = []
    for e in job.events:
        then: Event = replace(e, at=e.at + by)
        if isinstance(then, Corrected):
            then = replace(then, really_at=then.really_at + by)
        elif isinstance(then, LotTaken):
            then = replace(then, lot=moved(then.lot, by))
        elif isinstance(then, CourseExpected):
            then = replace(then, points=tuple(replace(p, at=p.at + by) for p in then.points))
        events.append(then)
    return replace(job, created=job.created + by, events=tuple(events))
