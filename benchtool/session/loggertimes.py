"""Times as data loggers write them, turned into seconds since 1970 (UTC) through a zone, in the order of the lines."""

import re
from collections.abc import Iterable
from datetime import UTC, datetime, tzinfo
from enum import StrEnum

EARLIEST_S = datetime(2000, 1, 1, tzinfo=UTC).timestamp()
LATEST_S = datetime(2200, 1, 1, tzinfo=UTC).timestamp()
"""A time outside is that of a clock that was never set (judgement)."""

_QUARTER = 900
_OF_DAY_MOST = 100_000

_STAMP = re.compile(
    r"(?P<a>\d{1,4})(?P<by>[./-])\s?(?P<b>\d{1,2})(?P=by)\s?(?P<c>\d{1,4})(?:(?:,?\s+|T|_)(?P<rest>\d.*))?", re.DOTALL
)
_OF_DAY = re.compile(
    r"(?P<h>\d{1,2})[:.h](?P<m>\d{2})(?:[:.](?P<s>\d{2})(?:[.,](?P<f>\d{1,9}))?)?"
    r"(?:\s*(?P<half>[AaPp])\.?\s?[Mm]\.?)?(?:\s*(?P<off>Z|UTC|GMT|[+-]\d{2}(?::?\d{2})?))?"
)


class TimeFormat(StrEnum):
    """In which order a logger writes a date; the marks between, and the clock behind it, may be any."""

    YEAR_FIRST = "year first"
    DAY_FIRST = "day first"
    MONTH_FIRST = "month first"
    EPOCH = "seconds since 1970"


class LoggerTimes:
    """Reads the times of one file, line after line.

    A local hour that comes twice in autumn is read so that the times go on rising. Seconds since 1970 may be whole,
    with a fraction, or in thousandths. A time with its own offset needs no zone.
    """

    def __init__(self, form: TimeFormat, zone: tzinfo) -> None:
        self.form = form
        self._zone = zone
        self._day_text = "\0"
        self._day_s = 0
        self._of_day: dict[str, tuple[float, float | None] | None] = {}
        self._quarter = -1
        self._offsets = (0.0, 0.0)

    def utc(self, text: str, last: float, step: float) -> float | None:
        """Give the seconds since 1970 (UTC) of `text`; None where it is no time.

        `last` is the time of the line before (s, `-math.inf` for none) and `step` the usual time between two lines (s):
        they settle which of two equal hours it is.
        """
        if self.form is TimeFormat.EPOCH:
            return epoch_s(text)
        if not text.startswith(self._day_text) and not self._take_day(text):
            return self._other(text, last, step)
        rest = text[len(self._day_text) :]
        if rest not in self._of_day:
            if len(self._of_day) >= _OF_DAY_MOST:
                self._of_day.clear()
            self._of_day[rest] = _of_day(rest)
        found = self._of_day[rest]
        if found is None:
            return None
        local, offset = self._day_s + found[0], found[1]
        return local - offset if offset is not None else self._from_local(local, last, step)

    def _take_day(self, text: str) -> bool:
        found = _STAMP.fullmatch(text)
        if found is None or found["rest"] is None or (len(found["a"]) < 3 and len(found["c"]) not in (2, 4)):
            return False
        a, b, c = found["a"], found["b"], found["c"]
        if len(a) >= 3 or self.form is TimeFormat.YEAR_FIRST:
            year, month, day = a, b, c
        elif self.form is TimeFormat.DAY_FIRST:
            day, month, year = a, b, c
        else:
            month, day, year = a, b, c
        try:
            full = int(year) + (2000 if len(year) == 2 else 0)
            self._day_s = round(datetime(full, int(month), int(day), tzinfo=UTC).timestamp())
        except ValueError:
            return False
        self._day_text = text[: found.start("rest")]
        return True

    def _other(self, text: str, last: float, step: float) -> float | None:
        # What ISO 8601 has besides: no marks within the date, or weeks.
        if self.form is not TimeFormat.YEAR_FIRST:
            return None
        try:
            at = datetime.fromisoformat(text)
        except ValueError:
            return None
        if at.tzinfo is not None:
            return at.timestamp()
        return self._from_local(at.replace(tzinfo=UTC).timestamp(), last, step)

    def _from_local(self, local: float, last: float, step: float) -> float | None:
        # Everywhere on earth a zone changes on a quarter of an hour, so one look serves fifteen minutes.
        quarter = int(local // _QUARTER)
        if quarter != self._quarter:
            if not EARLIEST_S - 86_400 <= local <= LATEST_S:
                return local
            at = datetime.fromtimestamp(quarter * _QUARTER, UTC)
            first, second = (at.replace(tzinfo=self._zone, fold=fold).utcoffset() for fold in (0, 1))
            self._offsets = (first.total_seconds() if first else 0.0, second.total_seconds() if second else 0.0)
            self._quarter = quarter
        early, late = local - self._offsets[0], local - self._offsets[1]
        if late <= early or early > last:
            return early
        # The hour that comes twice, and by its first pass this line would not come after the last one. In a file that
        # goes on with its usual step it is the second pass; a line out of order lies most of an hour off.
        return late if 0 < late - last <= max(1.5 * step, (late - early) * 2 / 3) else early


def epoch_s(text: str) -> float | None:
    """Read seconds or thousandths of a second since 1970; None where it is neither."""
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        return None
    if 1e11 <= value < 1e13:
        value /= 1000
    return value if 0 <= value <= LATEST_S else None


def is_stamp(text: str) -> bool:
    """Whether this reads as a date and a time of day, in whatever order."""
    found = _STAMP.fullmatch(text)
    if found is not None:
        return found["rest"] is not None and _of_day(found["rest"]) is not None
    if not re.match(r"\d{4}-?[W\d]\d-?.*[T ]\d\d", text):
        return False
    try:
        datetime.fromisoformat(text)
    except ValueError:
        return False
    return True


def is_date(text: str) -> bool:
    """Whether this reads as a date alone."""
    found = _STAMP.fullmatch(text)
    return found is not None and found["rest"] is None


def is_of_day(text: str) -> bool:
    """Whether this reads as a time of day alone: with hours and minutes parted by a colon."""
    return ":" in text and _of_day(text) is not None


class DateOrder:
    """Settles from all the dates of a file whether the day or the month stands first."""

    def __init__(self) -> None:
        self._before: tuple[int, int] | None = None
        self._text = ""
        self._sure: set[TimeFormat] = set()
        self._likely: set[TimeFormat] = set()
        self.example = ""

    def take(self, texts: Iterable[str]) -> None:
        """Look at more times, in the order of the file."""
        for text in texts:
            day_text = text[:8]
            if day_text == self._text:
                continue
            found = _STAMP.fullmatch(text)
            if found is None:
                continue
            self._text = day_text
            self._take_date(found)

    def _take_date(self, found: re.Match[str]) -> None:
        a, b = int(found["a"]), int(found["b"])
        if len(found["a"]) >= 3:
            self._sure.add(TimeFormat.YEAR_FIRST)
        elif found["by"] == "." or a > 12:
            self._sure.add(TimeFormat.DAY_FIRST)
        elif b > 12:
            self._sure.add(TimeFormat.MONTH_FIRST)
        elif self._before is not None:
            # From one day to the next, the day goes up by one and the month stays.
            if (a, b) == (self._before[0] + 1, self._before[1]):
                self._likely.add(TimeFormat.DAY_FIRST)
            elif (a, b) == (self._before[0], self._before[1] + 1):
                self._likely.add(TimeFormat.MONTH_FIRST)
        self._before = (a, b)
        self.example = self.example or found.string[: found.end("c")]

    @property
    def sure(self) -> bool:
        """Whether a date was seen that reads one way only."""
        return bool(self._sure)

    @property
    def settled(self) -> TimeFormat | None:
        """The one order that fits, or None where both do or none does."""
        for found in (self._sure, self._likely):
            if found:
                return next(iter(found)) if len(found) == 1 else None
        return None


def _of_day(text: str) -> tuple[float, float | None] | None:
    """Give the seconds since midnight, and the offset from UTC (s) where one is written."""
    found = _OF_DAY.fullmatch(text)
    if found is None:
        return None
    hours, minutes, seconds = int(found["h"]), int(found["m"]), int(found["s"] or 0)
    if found["half"] is not None:
        if not 1 <= hours <= 12:
            return None
        hours = hours % 12 + (12 if found["half"] in "Pp" else 0)
    if hours > 23 or minutes > 59 or seconds > 59:
        return None
    offset: float | None = None
    if (sign := found["off"]) is not None:
        digits = sign.lstrip("+-").replace(":", "")
        offset = 0.0
        if digits.isdigit():
            offset = (int(digits[:2]) * 3600 + int(digits[2:] or 0) * 60) * (-1 if sign[0] == "-" else 1)
    return hours * 3600 + minutes * 60 + seconds + float(f"0.{found['f'] or 0}"), offset
