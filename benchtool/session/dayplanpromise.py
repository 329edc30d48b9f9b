"""When a job is promised: what is typed, as `Fri`, `4 Dec 16:00` or `tomorrow 3 pm`, and how it is shown."""

import re
from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from benchtool.job.shophours import Opening
from benchtool.session.hoursform import read_closed
from benchtool.session.hourspans import NotHours, bare
from benchtool.session.nights import instant_of, read_wall_time
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say

USUAL_END = time(18)
"""A day without a time is promised for when the shop closes then; for this where it stays closed (judgement)."""

FURTHEST = timedelta(days=3_650)
_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_NEAR = {"today": 0, "tomorrow": 1}
_WEEKDAY = re.compile(rf"(?:on\s+|by\s+)?(?:{'|'.join(_DAYS)})", re.IGNORECASE)
_TAIL = re.compile(
    r"(?:^|[\s,]|(?<=\d)T|\bat\b)\s*((?:\d{1,2}\s*[:.h]\s*\d{2}|\d{1,2})\s*(?:[ap]\.?m\.?|h)?|noon)$", re.IGNORECASE
)

_HEAD = re.compile(
    r"(?:(?:at|by|until|before)\s+)?(\d{1,2}\s*[:.]\s*\d{2}\s*(?:[ap]\.?m\b\.?)?|\d{1,2}\s*[ap]\.?m\b\.?|\d{1,2}\s*h|noon|midday)"
    r"[\s,]+(?:on\s+|by\s+)?(?=\S*[^\W\d_]{3}|\d)(.+)",
    re.IGNORECASE,
)
"""A time before its day: `4 pm tomorrow`, `16:00 on Tuesday`."""
_BOTH = re.compile(
    rf"(?:on\s+|by\s+)?({'|'.join(_DAYS)})[a-z]*\.?[\s,]+"
    r"(?=\d{1,2}(?:st|nd|rd|th)?\.?\s+[a-z]{3}|\d{4}-|[a-z]{3,9}\.?\s+\d{1,2}\b)",
    re.IGNORECASE,
)
"""A day of the week before a date: `Tue 17 Mar`."""
MORNING_MIN = 7 * 60
"""Nothing is promised for a bare hour before this in the morning: `Tue 4` is four in the afternoon (judgement)."""


def read_promise(text: str, now: datetime, zone: tzinfo | None, hours: Sequence[Opening] = ()) -> datetime | None:
    """Read when a job is promised; None where nothing is typed. A day without a time is until the shop closes then.

    Raises:
        ValueError: it is no day, or lies further off than anyone promises; the message says what to write.
    """
    tidy = _day_first(" ".join(text.split()).strip(" .,"))
    if not tidy:
        return None
    today = now.astimezone(zone).date()
    day, at = _day(tidy, today), None
    if day is None:
        found = _TAIL.search(tidy)
        if found is None:
            raise _no_day(text)
        at = _time(found[1])
        head = re.sub(r"\s+(?:at|by|until|before)$", "", tidy[: found.start()].strip(" ,"), flags=re.IGNORECASE)
        day = _day(head, today) if head else today
        if day is None:
            raise _no_day(text)
        if not head and instant_of(day, at, zone) <= now:
            day += timedelta(days=1)
    weekday = _WEEKDAY.match(tidy) if _BOTH.match(tidy) is None else None
    if weekday is not None and day == today:  # the day's name is today's: the next one where it is over
        over = instant_of(day, at or _end_of(day, hours), zone) <= now
        day += timedelta(days=7 if over else 0)
    if day - today > FURTHEST:
        raise ValueError(say("“{text}” is more than ten years ahead.", text=shorten(text)))
    return instant_of(day, at or _end_of(day, hours), zone).astimezone(UTC)


def _day_first(tidy: str) -> str:
    """Put a time that stands before its day behind it."""
    turned = _HEAD.fullmatch(tidy.replace("Midday", "noon").replace("midday", "noon"))
    return f"{turned[2]} {turned[1]}" if turned is not None else tidy


def _time(typed: str) -> time:
    at = read_wall_time(typed)
    minute = at.hour * 60 + at.minute
    return at.replace(hour=at.hour + 12) if minute < MORNING_MIN and bare(typed, minute) else at


def _no_day(text: str) -> ValueError:
    return ValueError(say("“{text}” is no day: write Fri, 4 Dec 16:00 or 2026-12-04.", text=shorten(text)))


def _day(text: str, today: date) -> date | None:
    low = text.lower()
    if low in _NEAR:
        return today + timedelta(days=_NEAR[low])
    word = re.sub(r"^(?:on\s+|by\s+)?(?:next\s+)?", "", low)
    if word.isalpha() and len(word) >= 3:
        number = next((i for i, name in enumerate(_DAYS) if word.startswith(name)), None)
        if number is not None and re.match(r"(?:on\s+|by\s+)?next\s", low):
            return in_next_week(number, today)
        if number is not None:
            return today + timedelta(days=(number - today.weekday()) % 7)
    named = _BOTH.match(text)
    if named is not None:
        dated = _day(text[named.end() :], today)
        return dated if dated is not None and _DAYS[dated.weekday()] == named[1].lower() else None
    iso = re.fullmatch(r"\d{4}-\d{1,2}-\d{1,2}", text)
    if iso is None and re.search(r"[^\W\d_]{3,}", text) is None:
        return None
    try:
        days = read_closed(text, today)
    except NotHours:
        return None
    return days[0] if len(days) == 1 else None


def in_next_week(weekday: int, today: date) -> date:
    """Give the day (0 for Monday) that `next Wednesday` names: the one after the coming Sunday (judgement)."""
    return today + timedelta(days=7 - today.weekday() + weekday)


def _end_of(day: date, hours: Sequence[Opening]) -> time:
    ends = [o.minutes[1] for o in hours if o.day.number == day.weekday()]
    last = min(max(ends, default=USUAL_END.hour * 60), 24 * 60 - 1)
    return time(last // 60, last % 60)


def promise_text(at: datetime | None, zone: tzinfo) -> str:
    """Write when a job is promised, as it can be typed again: `2026-12-04 16:00`; "" for no promise."""
    return f"{at.astimezone(zone):%Y-%m-%d %H:%M}" if at is not None else ""
