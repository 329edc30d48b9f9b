"""The job document: a header and the list of events. All else is folded from them."""

import math
from datetime import datetime, timedelta
from typing import Annotated, NamedTuple

from msgspec import Meta
from msgspec.structs import replace

from benchtool.job.cards import Id, Record, Text
from benchtool.job.events import (
    MOST_SHIFT_S,
    ClockAnswered,
    Corrected,
    CourseExpected,
    Event,
    JobDescribed,
    LotTaken,
    ReadingTaken,
    Withdrawn,
)
from benchtool.job.lots import Instant, moved

FORMAT = "bench job"
SCHEMA = 6
"""2: cans with their lots, what is left over of a cup, guesses, the air that is expected, and cards that say more
(1 had none of these). 3: heat, measured film, the painter's word on a clock. 4: marks, clues and shape of a
piece, what a prep step was done with, chemistry, carrier, traits and additives of a card, origins with page and day.
5: trials of several systems on strips, and the lot that a piece's material is of. 6: photos of pieces, earlier
jobs that a job was begun from, promised days, areas, notes on colour, and when a piece may be used."""

_BY_HAND = ("", "typed")
"""What `source` says of a reading that the painter typed."""


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
    """Give the job as it stood at `at`: without what was entered to have happened later.

    `at` is by the clock as it is right. What was said later of the clock stays in: it tells when the rest happened.
    """
    gone = withdrawn_ids(job.events)
    moving = {a.place for a in _answers(job.events, gone)}
    kept: list[Event] = []
    for i, (event, entered) in enumerate(zip(job.events, entered_at(job.events), strict=True)):
        if isinstance(event, ClockAnswered) and event.id in gone and event.by_s:
            continue  # what takes it back may lie later, and it moves nothing
        if entered <= at:
            kept.append(event)
        elif i in moving:
            kept.append(replace(event, at=at))
    return replace(job, events=tuple(kept))


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
    """Give the events that stand, each with its place in the record, at the times they really happened.

    That is when they were entered, unless a correction says otherwise, by the clock as the painter said it was right.
    """
    gone = withdrawn_ids(events)
    moved = {e.event: (i, e.really_at) for i, e in enumerate(events) if isinstance(e, Corrected) and e.id not in gone}
    answers = _answers(events, gone)
    return tuple(
        (i, _at_its_time(i, e, moved.get(e.id), answers) if answers or e.id in moved else e)
        for i, e in enumerate(events)
        if e.id not in gone and not isinstance(e, Withdrawn | Corrected)
    )


class _Answer(NamedTuple):
    """What an answer on the clock moves of what stands before `place`."""

    place: int
    since: datetime
    until: datetime
    by: timedelta


def _answers(events: tuple[Event, ...], gone: frozenset[str]) -> tuple[_Answer, ...]:
    return tuple(
        _Answer(i, e.since, e.until, timedelta(seconds=e.by_s))
        for i, e in enumerate(events)
        if isinstance(e, ClockAnswered) and e.by_s and is_shift(e.by_s) and e.id not in gone
    )


def is_shift(by_s: float) -> bool:
    """Whether a clock can have been so many seconds off."""
    return math.isfinite(by_s) and abs(by_s) <= MOST_SHIFT_S


def entered_at(events: tuple[Event, ...]) -> tuple[datetime, ...]:
    """Give when each event was entered, by the clock as it is right; corrections move nothing here."""
    answers = _answers(events, withdrawn_ids(events))
    if not answers:
        return tuple(e.at for e in events)
    return tuple(_carried(i, e.at, i, e.at, answers)[0] for i, e in enumerate(events))


def _carried(
    place: int, entered: datetime, said: int, at: datetime, answers: tuple[_Answer, ...]
) -> tuple[datetime, datetime]:
    """Carry through the answers when an event was entered, and along with it the instant `at`, said at place `said`.

    Whether an answer means an event goes by when it was entered: a coat done that is corrected to before the wrong
    clock began was still entered by that clock, and its neighbours move.
    """
    for answer in answers:
        if answer.place > place and answer.since <= entered <= answer.until:
            entered = _plus(entered, answer.by)
            if answer.place > said:
                at = _plus(at, answer.by)
    return entered, at


def _plus(at: datetime, by: timedelta) -> datetime:
    try:
        return at + by
    except OverflowError:
        return at  # no shop's time: `validate.faults` says so


def _at_its_time(
    place: int, event: Event, corrected: tuple[int, datetime] | None, answers: tuple[_Answer, ...]
) -> Event:
    said, really_at = corrected if corrected is not None else (place, event.at)
    entered, at = _carried(place, event.at, said, really_at, answers)
    if isinstance(event, CourseExpected) and entered != event.at:
        by = entered - event.at  # what was expected was said by the same clock
        event = replace(event, points=tuple(replace(p, at=_plus(p.at, by)) for p in event.points))
    return replace(event, at=at) if at != event.at else event


def is_logged(event: Event) -> bool:
    """Whether a logger wrote this into the record by itself: no act of the painter, and no undo takes it back."""
    return isinstance(event, ReadingTaken) and event.source not in _BY_HAND


def last_act(job: Job, *, corrections: bool = True) -> tuple[Event, ...]:
    """Give the events of the last act of the painter that stands, the ones an undo takes back.

    With `corrections` False, a correction of a time is passed over for the act that it corrects.
    """
    gone = withdrawn_ids(job.events)
    for event in reversed(job.events):
        if event.id in gone or isinstance(event, Withdrawn) or is_logged(event):
            continue
        if isinstance(event, Corrected) and not corrections:
            continue
        head = event.along_with or event.id
        return tuple(e for e in job.events if (e.along_with or e.id) == head and e.id not in gone)
    return ()


def last_undo(job: Job) -> Withdrawn | None:
    """Give the undo that a redo would take back: the newest event but for a logger's, if it is one that stands.

    Readings of a logger that were taken out are passed over once others came: both would tell of the same air.
    """
    gone = withdrawn_ids(job.events)
    logged = {e.id for e in job.events if is_logged(e)}
    read_since = False
    for event in reversed(job.events):
        if event.id in gone or event.id in logged:
            read_since = read_since or event.id not in gone
            continue
        if not isinstance(event, Withdrawn):
            return None
        if read_since and logged.issuperset(event.events):
            continue
        # A photo that was moved to another step is an act with a withdrawal in it: undone, it is an undo all the same.
        undoes_an_undo = all(isinstance(e, Withdrawn) for e in job.events if e.id in event.events)
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
        elif isinstance(then, ClockAnswered):
            then = replace(then, since=then.since + by, until=then.until + by)
        elif isinstance(then, JobDescribed) and then.promised is not None:
            then = replace(then, promised=then.promised + by)
        events.append(then)
    return replace(job, created=job.created + by, events=tuple(events))
