"""What an answer on the clock does to one job, and how a time is said and read. Nothing here reads a clock."""

import re
from datetime import UTC, datetime, timedelta
from itertools import pairwise

from benchtool.job import events as ev
from benchtool.job.record import Job, entered_at, next_number, standing, with_events, withdrawn_ids
from benchtool.job.validate import faults
from benchtool.rules.record import SLACK
from benchtool.session.cardfields import Wrong
from benchtool.session.session import NotNow
from benchtool.trade.numbers import shorten, span_words

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_DAY = timedelta(days=1)
_SAME_DAY = timedelta(hours=12)
_FIRST_YEAR, _LAST_YEAR = 2025, 2200
HINT = "18:45, or 25 Nov 18:45"

_TYPED = re.compile(
    r"(?:(?P<year>\d{4})-(?P<month>\d{1,2})-(?P<day>\d{1,2})[T ,]\s*"
    r"|(?P<day2>\d{1,2})\.?\s*(?P<name>[A-Za-z]{3,9})\.?\s*(?P<year2>\d{4})?,?\s+)?"
    r"(?P<hour>\d{1,2})[:.h](?P<minute>\d{2})(?::(?P<second>\d{2}))?(?:\s*(?P<half>[ap])\.?m\.?)?",
    re.IGNORECASE,
)


# --- what it does to a job -------------------------------------------------------------------------


def answered(job: Job, since: datetime, until: datetime, by: timedelta, now: datetime, words: str) -> ev.ClockAnswered:
    """Make the event of an answer for one job.

    `since` to `until` is what the old clock showed while it ran, `by` is how far it was put forward, and `now` the
    present by the new one. What was entered in that time moves along, so that every window keeps what it has left.
    Where that would put an act before an older one, or leave an act in the future, the whole job moves: then what was
    entered before went by the same clock.

    Raises:
        NotNow: no move puts its acts in an order that can be.
    """
    made = standing(job.events)
    entered = [at for at, (_, _) in zip(_entered(job), made, strict=True)]
    inside = job.demo or any(since <= at <= until for at in entered)  # a demo is made by the clock of the moment
    newest = max((e.at for _, e in made), default=now)
    first, last = min((since, *entered)), max((until, *entered))
    whole = (first, last, by)
    tries = [(since, until, by if inside else timedelta(0))]
    if inside:
        tries = [whole, *tries] if job.demo else [*tries, whole]
    if newest > now:
        ahead = min(at for at, (_, e) in zip(entered, made, strict=True) if e.at > now)
        tries += [(ahead, last, now - newest), (first, last, now - newest)]
    for begin, end, moved in tries:
        event = ev.ClockAnswered(
            id=f"e{next_number(job)}", at=now, since=begin, until=end, by_s=moved.total_seconds(), words=words
        )
        at = max((now, *(e.at for _, e in standing((*job.events, event)))))
        event = ev.ClockAnswered(id=event.id, at=at, since=begin, until=end, by_s=event.by_s, words=words)
        if at - now <= SLACK and _can_be(job, event):
            return event
    raise NotNow(f"That can't be: what is entered in “{shorten(_title(job))}” would not fit. Is the day right?")


def _entered(job: Job) -> list[datetime]:
    stands = {i for i, _ in standing(job.events)}
    return [at for i, at in enumerate(entered_at(job.events)) if i in stands]


def _can_be(job: Job, event: ev.ClockAnswered) -> bool:
    """Whether no act comes to lie before one that it followed, and the file would open again."""
    after = with_events(job, event)
    times = [(x.at, y.at) for (_, x), (_, y) in zip(standing(job.events), standing(after.events), strict=False)]
    turned = any(a <= b and x > y for (a, x), (b, y) in pairwise(times))
    return not turned and next(faults(after), None) is None


def entered_in(job: Job, since: datetime, until: datetime) -> bool:
    """Whether anything that stands was entered from `since` to `until`."""
    return any(since <= at <= until for at in _entered(job))


def answers_of(job: Job) -> dict[str, bool]:
    """Give the answers on the clock in a job, by their id, and whether they stand."""
    found = [e.id for e in job.events if isinstance(e, ev.ClockAnswered)]
    gone = withdrawn_ids(job.events) if found else frozenset()
    return {answer: answer not in gone for answer in found}


def _title(job: Job) -> str:
    return next((e.title for e in reversed(job.events) if isinstance(e, ev.JobDescribed)), job.id)


# --- how it is said --------------------------------------------------------------------------------


def moment_words(at: datetime, beside: datetime | None = None) -> str:
    """Say an instant in local time: `25 Nov 18:45`, with the year where it is another than that of `beside`.

    Of one of the same day as `beside` only the time of day is said.
    """
    local = _local(at)
    near = _local(beside) if beside is not None else None
    if near is not None and local.date() == near.date():
        return f"{local:%H:%M}"
    year = "" if near is not None and local.year == near.year else f" {local.year}"
    return f"{local.day} {_MONTHS[local.month - 1]}{year} {local:%H:%M}"


def step_words(step: timedelta) -> str:
    """Say how far a clock was set: `1 h`, `1 h 30 min`, `3 min`."""
    minutes = round(abs(step.total_seconds()) / 60)
    hours, rest = divmod(minutes, 60)
    if hours >= 48:
        return span_words(abs(step.total_seconds()))
    return " ".join(filter(None, (f"{hours} h" if hours else "", f"{rest} min" if rest or not hours else "")))


def _local(at: datetime) -> datetime:
    try:
        return at.astimezone()
    except (OSError, OverflowError, ValueError):  # some systems know no zone before 1970
        return at.astimezone(UTC)


# --- how it is read --------------------------------------------------------------------------------


def read_moment(typed: str, earliest: datetime, shown: datetime | None) -> datetime:
    """Read `18:45`, `25 Nov 18:45` or `2026-11-25 18:45`, in local time; gives it in UTC.

    `shown` is what the laptop's clock shows, where it may be off by hours only: a time of day alone is the nearest to
    it. Else it is the first from `earliest` on, where that is no more than twelve hours off.

    Raises:
        Wrong: with the field `time` at fault.
    """
    found = _TYPED.fullmatch(" ".join(typed.split()))
    if found is None:
        raise _wrong(f"“{shorten(typed)}” is no time: write 18:45 or 25 Nov 18:45." if typed.strip() else
                     "Write the time, such as 18:45 or 25 Nov 18:45.")  # fmt: skip
    hour, minute, second = int(found["hour"]), int(found["minute"]), int(found["second"] or 0)
    if found["half"] is not None:
        if not 1 <= hour <= 12:
            raise _wrong(f"“{shorten(typed)}” is no time of day.")
        hour = hour % 12 + (12 if found["half"] in "pP" else 0)
    of_day = (hour, minute, second)
    if found["day"] is None and found["day2"] is None:
        return _of_day(of_day, earliest, shown)
    day = int(found["day"] or found["day2"])
    month = int(found["month"]) if found["month"] else _month(found["name"])
    said = found["year"] or found["year2"]
    if said is not None:
        return _checked(_utc(int(said), month, day, of_day, earliest))
    near = shown if shown is not None else earliest
    years = (_local(near).year + k for k in (-1, 0, 1))
    might = [at for year in years if (at := _maybe(year, month, day, of_day, earliest)) is not None]
    if not might:
        raise _wrong(f"“{shorten(typed)}” is in no calendar.")
    return _checked(min(might, key=lambda at: abs(at - near)))


def _of_day(of_day: tuple[int, int, int], earliest: datetime, shown: datetime | None) -> datetime:
    near = shown if shown is not None else earliest
    today = _local(near)
    days = (today + k * _DAY for k in (-1, 0, 1, 2))
    might = [_utc(d.year, d.month, d.day, of_day, earliest) for d in days]
    if shown is not None:
        return _checked(min(might, key=lambda at: abs(at - shown)))
    at = next(at for at in might if at >= earliest - timedelta(minutes=1))
    if at - earliest > _SAME_DAY:
        raise _wrong(f"Write the day too, such as {moment_words(at).rsplit(' ', 2)[0]} {_local(at):%H:%M}.")
    return _checked(at)


def _month(name: str) -> int:
    short = name[:3].capitalize()
    if short not in _MONTHS:
        raise _wrong(f"“{shorten(name)}” is no month: write 25 Nov 18:45 or 2026-11-25 18:45.")
    return _MONTHS.index(short) + 1


def _maybe(year: int, month: int, day: int, of_day: tuple[int, int, int], earliest: datetime) -> datetime | None:
    try:
        return _utc(year, month, day, of_day, earliest)
    except Wrong:
        return None


def _utc(year: int, month: int, day: int, of_day: tuple[int, int, int], earliest: datetime) -> datetime:
    """Give the instant of a local time; of an hour that comes twice in autumn the first that can be."""
    try:
        local = datetime(year, month, day, *of_day, tzinfo=UTC).replace(tzinfo=None)
        first = local.astimezone(UTC)
        return first if first >= earliest else local.replace(fold=1).astimezone(UTC)
    except (ValueError, OverflowError, OSError):
        raise _wrong("There is no such time: write 18:45 or 25 Nov 18:45.") from None


def _checked(at: datetime) -> datetime:
    if not _FIRST_YEAR <= at.year <= _LAST_YEAR:
        raise _wrong(f"{_local(at).year} can't be: which year is it?")
    return at


def _wrong(message: str) -> Wrong:
    return Wrong([("time", message)])
