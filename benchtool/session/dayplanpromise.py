"""When a job is promised: what is typed, as `Fri`, `4 Dec 16:00` or `tomorrow 3 pm`, and how it is shown."""

import re
from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from benchtool.job.shophours import Opening
from benchtool.session.hoursform import NotHours, read_closed
from benchtool.session.nights import instant_of, read_wall_time
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say

USUAL_END = time(18)
"""A day without a time is promised for when the shop closes then; for this where it stays closed (judgement)."""

FURTHEST = timedelta(days=3_650)
_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_NEAR = {"today": 0, "tomorrow": 1}
_TAIL = re.compile(
    r"(?:^|[\s,T]|\bat\b)\s*((?:\d{1,2}\s*[:.h]\s*\d{2}|\d{1,2})\s*(?:[ap]\.?m\.?|h)?|noon)$", re.IGNORECASE
)


def read_promise(text: str, now: datetime, zone: tzinfo, hours: Sequence[Opening] = ()) -> datetime | None:
    """Read when a job is promised; None where nothing is typed. A day without a time is until the shop closes then.

    Raises:
        ValueError: it is no day, or lies further off than anyone promises; the message says what to write.
    """
    tidy = " ".join(text.split()).strip(" .,")
    if not tidy:
        return None
    today = now.astimezone(zone).date()
    day, at = _day(tidy, today), None
    if day is None:
        found = _TAIL.search(tidy)
        if found is None:
            raise _no_day(text)
        at = read_wall_time(found[1])
        head = tidy[: found.start()].strip(" ,")
        day = _day(head, today) if head else today
        if day is None:
            raise _no_day(text)
        if not head and instant_of(day, at, zone) <= now:
            day += timedelta(days=1)
    if day - today > FURTHEST:
        raise ValueError(say("“{text}” is more than ten years ahead.", text=shorten(text)))
    return instant_of(day, at or _end_of(day, hours), zone).astimezone(UTC)


def _no_day(text: str) -> ValueError:
    return ValueError(say("“{text}” is no day: write Fri, 4 Dec 16:00 or 2026-12-04.", text=shorten(text)))


def _day(text: str, today: date) -> date | None:
    low = text.lower()
    if low in _NEAR:
        return today + timedelta(days=_NEAR[low])
    word = re.sub(r"^(?:on|by|next)\s+", "", low)
    if word.isalpha() and len(word) >= 3:
        number = next((i for i, name in enumerate(_DAYS) if word.startswith(name)), None)
        if number is not None:
            return today + timedelta(days=(number - today.weekday()) % 7)
    iso = re.fullmatch(r"\d{4}-\d{1,2}-\d{1,2}", text)
    if iso is None and re.search(r"[^\W\d_]{3,}", text) is None:
        return None
    try:
        days = read_closed(text, today)
    except NotHours:
        return None
    return days[0] if len(days) == 1 else None


def _end_of(day: date, hours: Sequence[Opening]) -> time:
    ends = [o.minutes[1] for o in hours if o.day.number == day.weekday()]
    last = min(max(ends, default=USUAL_END.hour * 60), 24 * 60 - 1)
    return time(last // 60, last % 60)


def promise_text(at: datetime | None, zone: tzinfo) -> str:
    """Write when a job is promised, as it can be typed again: `2026-12-04 16:00`; "" for no promise."""
    return f"{at.astimezone(zone):%Y-%m-%d %H:%M}" if at is not None else ""
