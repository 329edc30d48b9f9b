"""Lengths of time as a painter types them and as a data sheet prints them: `15 min`, `1 h 30`, `48 h`, `2 d`."""

import re
from datetime import timedelta

from benchtool.trade.numbers import NotANumber, read_number, shorten

LONGEST = timedelta(days=3_650)
"""No sheet waits ten years; more is a slip of the hand (judgement, no source)."""

HOURS_UP_TO = timedelta(hours=72)
"""Sheets print 24 h, 48 h and 72 h, and days beyond (common practice, no source)."""


class NotASpan(ValueError):
    """The text is no length of time; the message says what to type instead."""


_UNITS: tuple[tuple[timedelta, tuple[str, ...]], ...] = (
    (timedelta(weeks=1), ("w", "wk", "week", "weeks")),
    (timedelta(days=1), ("d", "day", "days")),
    (timedelta(hours=1), ("h", "hr", "hrs", "hour", "hours")),
    (timedelta(minutes=1), ("min", "mins", "minute", "minutes", "m")),
    (timedelta(seconds=1), ("s", "sec", "secs", "second", "seconds")),
)
_RANK = {word: i for i, (_, words) in enumerate(_UNITS) for word in words}
_RANGE = re.compile(r"\d\s*[a-z]*\s*(?:-|–|—|\bto\b)\s*\d", re.IGNORECASE)
_COLON = re.compile(r"\d\s*:\s*\d")
_HOW = "Write 15 min, 1 h 30, 48 h or 2 d."


def read_span(text: str, bare: str | None = None) -> timedelta:
    """Read a length of time.

    Units go from large to small, each at most once; a last number without one counts in the next smaller
    (`1 h 30` is an hour and a half). A number alone has a meaning only where the caller names its unit in
    `bare` (`min`, `h`, `d`, `s`).

    Raises:
        NotASpan: no length of time, one that can be read two ways, below zero, or longer than `LONGEST`.
    """
    rest = text.strip()
    if not rest:
        raise NotASpan(f"Nothing is typed here. {_HOW}")
    if _COLON.search(rest):
        raise NotASpan(f"“{shorten(text)}” can be read two ways: write 1 h 30 or 1 min 30.")
    if _RANGE.search(rest):
        raise NotASpan(f"“{shorten(text)}” is two times: the least and the most each have a field of their own.")
    total, before = timedelta(0), -1
    while rest:
        value, rest = _number(rest, text)
        found = re.match(r"([^\W\d_]+)\.?\s*", rest)
        word = found[1].lower() if found is not None else ""
        rest = rest[found.end() :].lstrip(" ,") if found is not None else rest
        rank = _rank(word, rest, before, bare, value, text)
        if rank <= before:
            raise NotASpan(f"“{shorten(text)}” is not in order. {_HOW}")
        if value * _UNITS[rank][0].total_seconds() + total.total_seconds() > LONGEST.total_seconds():
            raise NotASpan(f"“{shorten(text)}” is longer than ten years. {_HOW}")
        total, before = total + value * _UNITS[rank][0], rank
    return total


def _number(rest: str, text: str) -> tuple[float, str]:
    try:
        value, after = read_number(rest)
    except NotANumber as wrong:
        why = str(wrong) if "two ways" in str(wrong) else f"“{shorten(text)}” is no length of time."
        raise NotASpan(f"{why} {_HOW}") from None
    if value < 0:
        raise NotASpan(f"“{shorten(text)}” is below zero. {_HOW}")
    return value, after


def _rank(word: str, rest: str, before: int, bare: str | None, value: float, text: str) -> int:
    """Which unit this number counts in, as its place among the units."""
    if word:
        if word not in _RANK:
            raise NotASpan(f"“{shorten(word)}” is no unit of time. {_HOW}")
        return _RANK[word]
    if rest:
        raise NotASpan(f"“{shorten(text)}” is no length of time. {_HOW}")
    if before >= 0:
        if before + 1 == len(_UNITS):
            raise NotASpan(f"“{shorten(text)}” ends in a number without its unit. {_HOW}")
        return before + 1
    if bare is None:
        raise NotASpan(f"“{shorten(text)}” of what? Write {value:g} min, {value:g} h or {value:g} d.")
    return _RANK[bare]


def write_span(span: timedelta) -> str:
    """Write a length of time so that `read_span` reads exactly the same: `1 h 30 min`.

    Raises:
        NotASpan: it is below zero.
    """
    if span < timedelta(0):
        raise NotASpan(f"{span} is below zero.")
    if span <= HOURS_UP_TO:
        days, rest = 0, span
    else:
        days, rest = span.days, span - timedelta(days=span.days)
    hours, rest = divmod(rest, timedelta(hours=1))
    minutes, rest = divmod(rest, timedelta(minutes=1))
    part = f".{rest.microseconds:06d}".rstrip("0") if rest.microseconds else ""
    seconds = f"{rest.seconds}{part}"
    parts = [f"{n} {unit}" for n, unit in ((days, "d"), (hours, "h"), (minutes, "min")) if n]
    if seconds != "0":
        parts.append(f"{seconds} s")
    return " ".join(parts) or "0 min"
