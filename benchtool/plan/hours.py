"""When the shop is open: a week of opening times, as instants, through nights, holidays and changes of the clock."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo

DAY_MIN = 24 * 60
MOST_DAYS = 400
"""So far ahead the next opening is looked for: a shop that closes for a year is found open again."""

Minutes = tuple[int, int]
Week = Mapping[int, Sequence[Minutes]]
_SECOND = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch in which the shop is open, from `opens_at` to before `closes_at` (UTC)."""

    opens_at: datetime
    closes_at: datetime

    @property
    def lasts_s(self) -> float:
        """How long it is (s), as a stopwatch counts."""
        return (self.closes_at - self.opens_at).total_seconds()


class ShopHours:
    """The openings of a week in a time zone less the days on which the shop stays closed, and those of single days.

    `week` maps a day (0 is Monday, as `date.weekday` counts) to its openings, each the minutes from midnight at which
    it begins and ends by the clock on the wall; 1440 is the end of the day. `extra` are openings of single days: they
    are said of that very day, so that they count on a closed one too. Openings that touch or overlap are one,
    over midnight too. Where the clock is put forward, an opening in the hour that does not exist begins (or ends) as
    the clock jumps; where it is put back, it begins at the first and ends at the second of the two equal times.
    """

    def __init__(
        self,
        week: Week,
        zone: tzinfo,
        closed: Collection[date] = (),
        extra: Iterable[tuple[date, Minutes]] = (),
    ) -> None:
        """Take a week.

        Raises:
            ValueError: a day is not 0 to 6, or an opening does not end after it begins, within its day.
        """
        single: dict[date, list[Minutes]] = {}
        for at, opening in extra:
            single.setdefault(at, []).append(opening)
        for day in week:
            if not 0 <= day <= 6:
                raise ValueError(f"There is no day {day} in a week.")
        for openings in (*week.values(), *single.values()):
            for opens, closes in openings:
                if not 0 <= opens < closes <= DAY_MIN:
                    raise ValueError(f"An opening from minute {opens} to {closes} is none.")
        self.zone = zone
        self.closed = frozenset(closed)
        self._week = {day: _merged(openings) for day, openings in week.items()}
        self._extra = single
        self._days: dict[date, tuple[Span, ...]] = {}

    @property
    def never_opens(self) -> bool:
        """Whether no day of the week and no single day has an opening; days that stay closed are not looked at."""
        return not any(self._week.values()) and not self._extra

    @property
    def always(self) -> bool:
        """Whether every day of the week is open from its beginning to its end; days that stay closed aside."""
        return all(self._week.get(day) == ((0, DAY_MIN),) for day in range(7))

    @property
    def usual(self) -> Minutes | None:
        """The one opening that every open day has, in minutes from midnight; None where they differ."""
        each = {openings for openings in self._week.values() if openings}
        alike = next(iter(each)) if len(each) == 1 else ()
        return alike[0] if len(alike) == 1 else None

    def spans(self, start: datetime, end: datetime) -> tuple[Span, ...]:
        """Give when the shop is open between two instants, in order, cut off at both; touching ones are one."""
        found: list[Span] = []
        for span in self._from(start):
            if span.opens_at >= end:
                break
            opens, closes = max(span.opens_at, start), min(span.closes_at, end)
            if found and found[-1].closes_at >= opens:
                opens, closes = found[-1].opens_at, max(closes, found[-1].closes_at)
                found.pop()
            if opens < closes:
                found.append(Span(opens, closes))
        return tuple(found)

    def is_open(self, at: datetime) -> bool:
        """Say whether the shop is open; at the instant it closes it is not."""
        return bool(self.spans(at, at + _SECOND / 1000))

    def fits(self, start: datetime, length: timedelta) -> bool:
        """Say whether the shop is open from `start` on for all of `length`; a length of nothing fits where it is."""
        if length <= timedelta(0):
            return self.is_open(start) or self.is_open(start - _SECOND / 1000)
        return self.spans(start, start + length) == (Span(start, start + length),)

    def next_fit(self, start: datetime, length: timedelta, until: datetime | None = None) -> datetime | None:
        """Give the first instant from `start` on at which `length` fits without a break; None if none does.

        It is looked for as far as `until`, 400 days without one.
        """
        last = until if until is not None else start + timedelta(days=MOST_DAYS)
        run: Span | None = None
        for span in self._from(start):
            if span.opens_at >= last:
                break
            opens = max(span.opens_at, start)
            run = Span(run.opens_at, span.closes_at) if run and run.closes_at >= opens else Span(opens, span.closes_at)
            if run.opens_at + length <= min(run.closes_at, last):
                return run.opens_at
        return None

    def next_opening(self, at: datetime) -> datetime | None:
        """Give when the shop opens next, `at` where it is open; None where it does not within 400 days."""
        return self.next_fit(at, _SECOND / 1000)

    def closes_after(self, at: datetime) -> datetime | None:
        """Give when the opening in which `at` lies ends, None where the shop is closed then, or never closes again."""
        spans = self.spans(at, at + timedelta(days=9))
        if not spans or spans[0].opens_at > at or spans[0].closes_at >= at + timedelta(days=9):
            return None
        return spans[0].closes_at

    def wall(self, at: datetime) -> datetime:
        """Give an instant as the clock on the wall shows it."""
        return at.astimezone(self.zone)

    def said(self, at: datetime) -> str:
        """Write an instant as the clock on the wall shows it, with its day."""
        return f"{self.wall(at):%Y-%m-%d %H:%M}"

    # --- days --------------------------------------------------------------------------------------

    def _from(self, start: datetime) -> Iterator[Span]:
        """Give the openings that end after `start`, day after day; those over midnight are in two."""
        if self.never_opens:
            return
        day = self.wall(start).date() - timedelta(days=1)
        for _ in range(MOST_DAYS + 2):
            for span in self._of(day):
                if span.closes_at > start:
                    yield span
            day += timedelta(days=1)

    def _of(self, day: date) -> tuple[Span, ...]:
        if day not in self._days:
            usual = () if day in self.closed else self._week.get(day.weekday(), ())
            openings = _merged((*usual, *self._extra[day])) if day in self._extra else usual
            ends = ((self._instant(day, o, fold=0), self._instant(day, c, fold=1)) for o, c in openings)
            self._days[day] = tuple(Span(opens, closes) for opens, closes in ends if opens < closes)
        return self._days[day]

    def _instant(self, day: date, minute: int, *, fold: int) -> datetime:
        """Give when the clock on the wall shows this; of two such instants the first with `fold` 0, else the second."""
        midnight = datetime(day.year, day.month, day.day, tzinfo=self.zone)
        wall = (midnight + timedelta(minutes=minute)).replace(fold=fold)  # on the wall, not as a stopwatch counts
        at = wall.astimezone(UTC)
        if at.astimezone(self.zone).replace(tzinfo=None) == wall.replace(tzinfo=None):
            return at
        # The wall never shows it. By the offset before the jump it would lie after it, and the other way round.
        before, after = sorted(wall.replace(fold=f).astimezone(UTC) for f in (0, 1))
        offset = before.astimezone(self.zone).utcoffset()
        while after - before > _SECOND:
            middle = before + (after - before) // _SECOND // 2 * _SECOND
            if middle.astimezone(self.zone).utcoffset() == offset:
                before = middle
            else:
                after = middle
        return after


def _merged(openings: Sequence[Minutes]) -> tuple[Minutes, ...]:
    merged: list[Minutes] = []
    for opens, closes in sorted(openings):
        if merged and opens <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(closes, merged[-1][1]))
        else:
            merged.append((opens, closes))
    return tuple(merged)
