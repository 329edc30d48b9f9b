"""The shop's opening hours and closed days as they are typed, and the parsed thing back as text."""

import re
from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from benchtool.job.shophours import Opening, Weekday
from benchtool.session.nights import read_wall_time
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say

DAY_MIN = 24 * 60
MOST_CLOSED = 400
"""So many closed days a shop holds."""

_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_NAMES = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_SHORT = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MORE = {"tues": 1, "weds": 2, "thur": 3, "thurs": 3}
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH_NAMES = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
    "december",
)  # fmt: skip
_SETS = {"daily": range(7), "every day": range(7), "weekdays": range(5), "weekend": (5, 6), "weekends": (5, 6)}
_DASH = r"\s*(?:-|–|—|−|\bto\b|\buntil\b|\btill\b)\s*"
_CLOSED = re.compile(r"\b(?:closed|shut|never)\b", re.IGNORECASE)
_WORDS = re.compile(r"[^\W\d_]+")


class NotHours(ValueError):
    """What was typed is no opening hours, or no closed days; the message says what to write."""


# --- the hours of a week ---------------------------------------------------------------------------------


def read_hours(text: str) -> tuple[Opening, ...]:
    """Read a week: `Mon-Fri 8:00-12:00, 13-18; Sat 9-13`. Parts go by day, parted by `;` or a new line.

    A part without days is for every day. An opening that ends at or before it begins goes on into the next morning.
    Nothing typed, or `closed`, is a shop that never opens. Openings that touch or overlap become one.

    Raises:
        NotHours: it can't be read, or names a day twice.
    """
    spans: dict[int, list[tuple[int, int]]] = {}
    told: set[int] = set()
    for part in re.split(r"[;\n]", text.replace("a.m.", "am").replace("p.m.", "pm")):
        tidy = " ".join(part.split()).strip(" ,.")
        if not tidy:
            continue
        days, rest = _split(tidy)
        again = next((d for d in days if d in told), None)
        if again is not None:
            raise NotHours(
                say("{day} is there twice: write its hours after one another, with a comma.", day=_named(again))
            )
        told.update(days)
        for opens, closes in _times(rest, tidy):
            for day in days:
                _put(spans, day, opens, closes)
    return _openings(spans)


def _put(spans: dict[int, list[tuple[int, int]]], day: int, opens: int, closes: int) -> None:
    if closes > opens:
        spans.setdefault(day, []).append((opens, closes))
        return
    spans.setdefault(day, []).append((opens, DAY_MIN))
    if closes:
        spans.setdefault((day + 1) % 7, []).append((0, closes))


def _openings(spans: dict[int, list[tuple[int, int]]]) -> tuple[Opening, ...]:
    made = []
    for day in sorted(spans):
        for opens, closes in _merged(spans[day]):
            made.append(Opening(day=list(Weekday)[day], opens=_wall(opens), closes=_wall(closes)))
    return tuple(made)


def _merged(spans: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    merged: list[tuple[int, int]] = []
    for opens, closes in sorted(spans):
        if merged and opens <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], closes))
        else:
            merged.append((opens, closes))
    return merged


def _split(part: str) -> tuple[list[int], str]:
    """Part the days of a part from its hours."""
    begun = re.search(r"\d|\b(?:noon|midnight)\b", part, re.IGNORECASE)
    shut = _CLOSED.search(part)
    end = min((m.start() for m in (begun, shut) if m is not None), default=len(part))
    head, rest = part[:end].strip(" :,"), part[end:]
    if not rest:
        raise NotHours(say("“{text}” has no hours: write Mon-Fri 8:00-18:00, or Sun closed.", text=shorten(part)))
    return (_days(head, part) if head else list(range(7))), rest


def _days(head: str, part: str) -> list[int]:
    found: list[int] = []
    for piece in re.split(r"\s*(?:,|&|\+|\band\b)\s*", head.lower().replace(".", "")):
        if piece in _SETS:
            found += _SETS[piece]
            continue
        ends = [_day(x, part) for x in re.split(_DASH, piece)]
        if len(ends) > 2:
            raise NotHours(say("“{text}” is no run of days: write Mon-Fri.", text=shorten(head)))
        run = (ends[-1] - ends[0]) % 7 + 1
        found += [(ends[0] + i) % 7 for i in range(run)]
    return list(dict.fromkeys(found))


def _day(word: str, part: str) -> int:
    for names in (_DAYS, _NAMES, tuple(f"{name}s" for name in _NAMES)):
        if word in names:
            return names.index(word)
    if word in _MORE:
        return _MORE[word]
    if word in ("th", "tu", "mo", "we", "fr", "sa", "su"):
        return ("mo", "tu", "we", "th", "fr", "sa", "su").index(word)
    raise NotHours(say("“{word}” in “{text}” is no day: write Mon, Tue, Wed, Thu, Fri, Sat or Sun.",
                       word=shorten(word), text=shorten(part)))  # fmt: skip


def _times(rest: str, part: str) -> list[tuple[int, int]]:
    if _CLOSED.fullmatch(rest.strip(" .,")):
        return []
    return [_span(piece, part) for piece in re.split(r"\s*(?:,|&|\+|/|\band\b)\s*", rest.strip(" ,")) if piece]


def _span(piece: str, part: str) -> tuple[int, int]:
    ends = re.split(_DASH, piece.strip())
    if len(ends) != 2 or not all(ends):
        raise NotHours(
            say("“{text}” is no opening: write when it opens and closes, as 8:00-12:00.", text=shorten(piece))
        )
    try:
        opens, closes = _minute(ends[0]), _minute(ends[1])
    except ValueError as wrong:
        raise NotHours(f"“{shorten(part)}”: {wrong}") from None
    if opens == DAY_MIN:
        opens = 0
    if opens == closes:
        raise NotHours(say("“{text}” opens and closes at once: write 0:00-24:00 for a whole day.", text=shorten(piece)))
    return opens, closes


def _minute(text: str) -> int:
    if re.fullmatch(r"24(?:\s*[:.h]?\s*00)?\s*h?", text.strip(), re.IGNORECASE):
        return DAY_MIN
    at = read_wall_time(text)
    return at.hour * 60 + at.minute


def hours_text(hours: Sequence[Opening]) -> str:
    """Write a week as `read_hours` takes it, days of the same hours together; `closed` for a shop that never opens."""
    week: dict[int, list[tuple[int, int]]] = {}
    for opening in hours:
        week.setdefault(opening.day.number, []).append(opening.minutes)
    by_day = [tuple(_merged(week.get(day, ()))) for day in range(7)]
    parts, day = [], 0
    while day < 7:
        last = day
        while last < 6 and by_day[last + 1] == by_day[day]:
            last += 1
        if by_day[day]:
            spans = ", ".join(f"{_wall(a)}-{_wall(b)}" for a, b in by_day[day])
            name = _SHORT[day] if last == day else f"{_SHORT[day]}-{_SHORT[last]}"
            parts.append(f"{name} {spans}")
        day = last + 1
    return "; ".join(parts) or "closed"


def _wall(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"


def _named(day: int) -> str:
    return _NAMES[day].capitalize()


# --- closed days -----------------------------------------------------------------------------------------


def read_closed(text: str, today: date) -> tuple[date, ...]:
    """Read closed days: `24 Dec, 2026-12-25 to 2027-01-01`. A day without a year is the next one from `today` on.

    Raises:
        NotHours: it can't be read, or there are more than a shop holds.
    """
    found: set[date] = set()
    for part in re.split(r"[,;\n]", text):
        tidy = " ".join(part.split())
        if not tidy:
            continue
        first, last = _range(tidy, today)
        if (last - first).days >= MOST_CLOSED:
            raise NotHours(say("“{text}” is more than a year: change the opening hours instead.", text=shorten(tidy)))
        found.update(first + timedelta(days=i) for i in range((last - first).days + 1))
    if len(found) > MOST_CLOSED:
        raise NotHours(say("These are {n} days, and {most} can be kept.", n=len(found), most=MOST_CLOSED))
    return tuple(sorted(found))


def _range(part: str, today: date) -> tuple[date, date]:
    part = re.sub(r"^(\d{1,2})\s*[-–]\s*(\d{1,2}\.?\s+[^\W\d_]+)", r"\1 to \2", part)
    ends = re.split(r"\s*(?:–|—|\bto\b|\buntil\b|\btill\b|\.\.)\s*|\s+-\s+|(?<=[a-zA-Z])-(?=\d)", part)
    if len(ends) == 1:
        day = _date(ends[0], today, part)
        return day, day
    if len(ends) != 2:
        raise NotHours(say("“{text}” is no stretch of days: write 24 Dec to 2 Jan.", text=shorten(part)))
    last_month = _WORDS.findall(ends[1])
    head = ends[0] if _WORDS.search(ends[0]) or not ends[0].strip().isdigit() else f"{ends[0]} {' '.join(last_month)}"
    first = _date(head, today, part)
    last = _date(ends[1], first, part)
    if _year(ends[1]) is not None and _year(head) is None:
        first = _before(first, last)
    if last < first:
        raise NotHours(say("“{text}” ends before it begins.", text=shorten(part)))
    return first, last


def _before(first: date, last: date) -> date:
    """Give the last day of this day and month that does not lie after `last`."""
    for year in (last.year, last.year - 1):
        try:
            moved = first.replace(year=year)
        except ValueError:
            continue
        if moved <= last:
            return moved
    return first


def _year(text: str) -> int | None:
    found = re.search(r"\b(\d{4})\b", text)
    return int(found[1]) if found is not None else None


def _date(text: str, today: date, part: str) -> date:
    tidy = text.strip().rstrip(".")
    try:
        iso = re.fullmatch(r"(\d{4})-(\d{1,2})-(\d{1,2})", tidy)
        if iso is not None:
            return date(int(iso[1]), int(iso[2]), int(iso[3]))
        found = re.fullmatch(r"(\d{1,2})(?:st|nd|rd|th)?\.?\s*([^\W\d_]+)\.?(?:\s+(\d{4}))?", tidy)
        day, month, year = (found[1], found[2], found[3]) if found is not None else ("", "", None)
        if found is None:
            turned = re.fullmatch(r"([^\W\d_]+)\.?\s+(\d{1,2})(?:st|nd|rd|th)?(?:,?\s+(\d{4}))?", tidy)
            if turned is None:
                raise ValueError
            day, month, year = turned[2], turned[1], turned[3]
        return _next(int(day), _month(month), int(year) if year else None, today)
    except ValueError:
        raise NotHours(say("“{text}” is no day: write 24 Dec or 2026-12-24.", text=shorten(part))) from None


def _month(word: str) -> int:
    low = word.lower()
    for names in (_MONTHS, _MONTH_NAMES):
        if low in names:
            return names.index(low) + 1
    if low == "sept":
        return 9
    raise ValueError(word)


def _next(day: int, month: int, year: int | None, today: date) -> date:
    if year is not None:
        return date(year, month, day)
    for ahead in range(9):  # 29 Feb comes every four years, and once in a century not even then
        try:
            found = date(today.year + ahead, month, day)
        except ValueError:
            continue
        if found >= today:
            return found
    raise ValueError(day)


def closed_text(days: Sequence[date]) -> str:
    """Write closed days as `read_closed` takes them, days in a row together; "" for none."""
    runs: list[tuple[date, date]] = []
    for day in sorted(set(days)):
        if runs and day - runs[-1][1] == timedelta(days=1):
            runs[-1] = (runs[-1][0], day)
        else:
            runs.append((day, day))
    return ", ".join(f"{a}" if a == b else f"{a} to {b}" for a, b in runs)
