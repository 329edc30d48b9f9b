"""The shop's opening hours, closed days and single openings as they are typed, and the parsed thing back as text."""

import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta

from benchtool.job.shophours import ExtraOpening, Opening, Weekday
from benchtool.session.hourspans import DASH, DAY_MIN, NotHours, is_that_so, merged, read_times, wall
from benchtool.session.hoursparts import BEGUN, parts_of
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say

MOST_CLOSED = 400
"""So many closed days a shop holds."""

MOST_EXTRA = 400
"""So many openings of single days a shop holds."""

OVER = timedelta(days=30)
"""So long after it a day that is named with its weekday is taken for the one that is over (judgement)."""

_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_NAMES = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_SHORT = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MORE = {"tues": 1, "weds": 2, "thur": 3, "thurs": 3}
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH_NAMES = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
    "december",
)  # fmt: skip
_ALL, _WORKING, _END = tuple(range(7)), tuple(range(5)), (5, 6)
_SETS = {
    "daily": _ALL, "every day": _ALL, "everyday": _ALL, "all days": _ALL, "all week": _ALL, "weekday": _WORKING,
    "weekdays": _WORKING, "workdays": _WORKING, "every weekday": _WORKING, "weekend": _END, "weekends": _END,
    "every weekend": _END,
}  # fmt: skip
_SMALL_WORDS = re.compile(r"\b(?:on|from|open|at|each)\b|\bevery\b(?!\s+(?:day|week))", re.IGNORECASE)
_WORDS = re.compile(r"[^\W\d_]+")


# --- the hours of a week ---------------------------------------------------------------------------------


def read_hours(text: str) -> tuple[Opening, ...]:
    """Read a week: `Mon-Fri 8:00-12:00, 1-5; Sat 9-1`. Parts go by day, parted by `;`, a new line or a comma.

    A part without days is for every day. Bare hours are read as a painter means them (hourspans.py). An opening that
    ends at or before it begins goes on into the next morning. Nothing typed, or `closed`, is a shop that never opens.
    Openings that touch or overlap become one.

    Raises:
        NotHours: it can't be read, or names a day twice.
    """
    typed: dict[int, list[tuple[int, int]]] = {}
    for part in parts_of(text):
        days, rest = _split(part)
        times = read_times(rest, part)
        again = next((d for d in days if d in typed and times), None)
        if again is not None:
            raise NotHours(
                say(
                    "{day} is there twice: write the days and then their hours, as Mon-Fri 8-12, 13-18; Sat 9-13.",
                    day=_named(again),
                )
            )
        typed.update(dict.fromkeys(days, times))
    spans: dict[int, list[tuple[int, int]]] = {}
    for day, times in typed.items():
        for opens, closes in times:
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
        for opens, closes in merged(spans[day]):
            made.append(Opening(day=list(Weekday)[day], opens=wall(opens), closes=wall(closes)))
    return tuple(made)


def _split(part: str) -> tuple[list[int], str]:
    """Part the days of a part from its hours."""
    begun = BEGUN.search(part)
    end = begun.start() if begun is not None else len(part)
    head, rest = part[:end].strip(" :,"), part[end:]
    if not rest:
        raise NotHours(say("“{text}” has no hours: write Mon-Fri 8:00-18:00, or Sun closed.", text=shorten(part)))
    return (_days(head, part) if head else list(range(7))), rest


def _days(head: str, part: str) -> list[int]:
    found: list[int] = []
    tidy = " ".join(_SMALL_WORDS.sub(" ", head.lower().replace(".", "")).split()).strip(" :,")
    if not tidy:
        return list(range(7))
    for piece in re.split(r"\s*(?:,|&|\+|\band\b)\s*", tidy):
        if piece in _SETS:
            found += _SETS[piece]
            continue
        ends = [_day(x, part) for x in re.split(DASH, piece)]
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


def odd_week(openings: Sequence[Opening]) -> str:
    """Ask whether a night or a very long opening in a week is meant; "" where there is none."""
    days = [[o.minutes for o in openings if o.day.number == day] for day in range(7)]
    return is_that_so(days, around=True)


def hours_text(hours: Sequence[Opening]) -> str:
    """Write a week as `read_hours` takes it, days of the same hours together; `closed` for a shop that never opens."""
    week: dict[int, list[tuple[int, int]]] = {}
    for opening in hours:
        week.setdefault(opening.day.number, []).append(opening.minutes)
    by_day = [tuple(merged(week.get(day, ()))) for day in range(7)]
    parts, day = [], 0
    while day < 7:
        last = day
        while last < 6 and by_day[last + 1] == by_day[day]:
            last += 1
        if by_day[day]:
            spans = ", ".join(f"{wall(a)}-{wall(b)}" for a, b in by_day[day])
            name = _SHORT[day] if last == day else f"{_SHORT[day]}-{_SHORT[last]}"
            parts.append(f"{name} {spans}")
        day = last + 1
    return "; ".join(parts) or "closed"


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


# --- openings of single days -----------------------------------------------------------------------------

_MONTH = rf"(?:{'|'.join(_MONTH_NAMES)}|sept|{'|'.join(_MONTHS)})\b\.?"
_NAME = r"(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*\b\.?"
_YEAR = r"(?:,?\s+(?:19|20)\d\d(?=[\s,:]+(?:\d|noon|midnight)))?"
_DATED = rf"\d{{4}}-\d\d?-\d\d?|\d\d?(?:st|nd|rd|th)?\.?\s+{_MONTH}{_YEAR}|{_MONTH}\s+\d\d?(?:st|nd|rd|th)?\b{_YEAR}"
_SINGLE = re.compile(
    rf"(?:(?P<near>today|tomorrow)|(?:(?P<name>{_NAME})[\s,]*)?(?P<date>{_DATED})|(?P<alone>{_NAME}))"
    r"(?:[\s,:]+(?P<times>.*))?",
    re.IGNORECASE,
)
_NEXT_SINGLE = re.compile(
    r"(?:(?<=\dh)|(?<=\d)|(?<=[ap]m)|(?<=noon)|(?<=night))\s*,\s*"
    rf"(?=today|tomorrow|{_NAME}|\d{{4}}-|\d\d?(?:st|nd|rd|th)?\.?\s+{_MONTH}|{_MONTH})",
    re.IGNORECASE,
)
"""A comma after hours and before a day; the one of `Sat, 28 Nov` and of `9-12, 13-18` is none."""


def read_extra(text: str, today: date) -> tuple[ExtraOpening, ...]:
    """Read openings of single days: `Sat 28 Nov 9-18; 2026-12-05 8:00-12:00, 13-17`, or `today 9-18`, or `Sat 9-18`.

    A day without a year is the next one from `today` on. An opening that ends at or before it begins goes on into the
    next morning. A day just over, as the form still shows it after midnight, is left out.

    Raises:
        NotHours: it can't be read, lies before `today`, or there are more than a shop holds.
    """
    found: list[ExtraOpening] = []
    for part in re.split(r"[;\n]", text.replace("a.m.", "am").replace("p.m.", "pm")):
        for piece in _NEXT_SINGLE.split(part):
            tidy = " ".join(piece.split()).strip(" ,.")
            if tidy:
                found += _single(tidy, today)
    made = together(found)
    if len(made) > MOST_EXTRA:
        raise NotHours(say("These are {n} openings, and {most} can be kept.", n=len(made), most=MOST_EXTRA))
    return made


def _single(part: str, today: date) -> list[ExtraOpening]:
    matched = _SINGLE.fullmatch(part)
    if matched is None:
        raise NotHours(say("“{text}” names no day: write Sat 28 Nov 9-18.", text=shorten(part)))
    if not matched["times"]:
        raise NotHours(say("“{text}” has no hours: write Sat 28 Nov 9-18.", text=shorten(part)))
    day = _single_day(matched, today, part)
    if day is None:
        return []
    spans: list[tuple[date, int, int]] = []
    for opens, closes in read_times(matched["times"], part):
        if closes > opens:
            spans.append((day, opens, closes))
        else:
            spans += [(day, opens, DAY_MIN)] + [(day + timedelta(days=1), 0, closes)] * bool(closes)
    return [single_opening(*span) for span in spans]


def _single_day(matched: re.Match[str], today: date, part: str) -> date | None:
    """Give the day; None for one that is just over."""
    if matched["near"]:
        return today + timedelta(days=matched["near"].lower() == "tomorrow")
    if matched["alone"]:
        return today + timedelta(days=(_day(matched["alone"].lower().strip("."), part) - today.weekday()) % 7)
    day = _date(matched["date"], today, part)
    if matched["name"]:
        named = _day(matched["name"].lower().strip("."), part)
        if day.weekday() != named and _just_over(matched["date"], today, part, named):
            return None
        if day.weekday() != named:
            raise NotHours(
                say("{date} is no {day}, but a {right}.", date=day, day=_named(named), right=_named(day.weekday()))
            )
    if day < today:
        raise NotHours(say("“{text}” is over.", text=shorten(part)))
    return day


def _just_over(typed: str, today: date, part: str, named: int) -> bool:
    earlier = _date(typed, today - OVER, part)
    return earlier < today and earlier.weekday() == named


def single_opening(day: date, opens: int, closes: int) -> ExtraOpening:
    """Make the opening of a single day from minutes after midnight."""
    return ExtraOpening(day=day, opens=wall(opens), closes=wall(closes))


def together(openings: Iterable[ExtraOpening]) -> tuple[ExtraOpening, ...]:
    """Give openings of single days in order, with those that touch or overlap as one."""
    days: dict[date, list[tuple[int, int]]] = {}
    for opening in openings:
        days.setdefault(opening.day, []).append(opening.minutes)
    return tuple(single_opening(day, *span) for day in sorted(days) for span in merged(days[day]))


def odd_extra(openings: Sequence[ExtraOpening]) -> str:
    """Ask whether a night or a very long opening of single days is meant; "" where there is none."""
    dated = sorted({o.day for o in openings})
    days = [d for day in dated for d in (day, day + timedelta(days=1))]
    return is_that_so([[o.minutes for o in openings if o.day == day] for day in dict.fromkeys(days)])


def extra_text(openings: Iterable[ExtraOpening], today: date) -> str:
    """Write openings of single days from `today` on as `read_extra` takes them; "" for none."""
    return "; ".join(_single_texts([o for o in together(openings) if o.day >= today], today))


def _single_texts(openings: Sequence[ExtraOpening], today: date) -> Iterator[str]:
    for day in dict.fromkeys(o.day for o in openings):
        spans = ", ".join(f"{o.opens}-{o.closes}" for o in openings if o.day == day)
        near = _next(day.day, day.month, None, today) == day
        year = "" if near else f" {day.year}"
        yield f"{_SHORT[day.weekday()]} {day.day} {_MONTHS[day.month - 1].capitalize()}{year} {spans}"
