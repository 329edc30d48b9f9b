"""Progress of a window: the integral of its pace over the readings and over the air that is expected after them.

Times are seconds on any scale the caller keeps to, the start of the job say; near 0 they are exact to a microsecond.
"""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import replace

from benchtool.trade.air import DRIEST_PERCENT, HOT_DEGC, HOTTEST_DEGC, Air
from benchtool.trade.numbers import span_words
from benchtool.trade.pace import Evaporation, Kind, Model, NotAPace, TimesTable, pace_of

HOLD_S = 3600.0
"""A last reading older than this (s) still holds, and its age is told (judgement, no source)."""

USUAL_PERCENT = 50.0
"""The humidity (%) that is expected where none was said and none was read: the one most sheets print (judgement)."""

FAR_S = 100 * 365 * 86_400.0
"""A wait that would end later than this (s) after its start never ends."""

_NEAR_S = 1e-6


class Course:
    """The air over time, as steps: at any moment it is what was last said of it, read or expected.

    Each reading holds until the next, or until a step of the expected course comes; after them the last value holds for
    good. Of two readings of one instant the later given counts, and a reading counts before an expected step of the
    same instant. So a later reading never changes what came before it.
    """

    def __init__(self, readings: Iterable[tuple[float, Air]] = (), expected: Iterable[tuple[float, Air]] = ()) -> None:
        self._times: list[float] = []  # the steps up to the last reading, expected ones between readings included
        self._airs: list[Air] = []
        self._read_times: list[float] = []
        self._read_airs: list[Air] = []
        self._expected_times: list[float] = []
        self._expected_airs: list[Air] = []
        self._ahead = 0  # the first expected step after the last reading
        self._rewinds: list[int] = []  # each is a step from which on something was changed afterwards
        self._revision = 0
        self.expect(expected)
        for t_s, air in readings:
            self.append(t_s, air)

    def append(self, t_s: float, air: Air) -> None:
        """Take a reading. One that is older than the last is put where it belongs.

        Raises:
            NotAPace: `t_s` is no time.
        """
        _check_time(t_s)
        self._revision += 1
        if not self._read_times or t_s > self._read_times[-1]:
            while self._ahead < len(self._expected_times) and self._expected_times[self._ahead] <= t_s:
                if self._expected_times[self._ahead] < t_s:
                    self._times.append(self._expected_times[self._ahead])
                    self._airs.append(self._expected_airs[self._ahead])
                self._ahead += 1
            for times, airs in ((self._times, self._airs), (self._read_times, self._read_airs)):
                times.append(t_s)
                airs.append(air)
            return
        _put(self._read_times, self._read_airs, t_s, air)
        self._rewinds.append(_put(self._times, self._airs, t_s, air))

    def read_since(self, t_s: float) -> tuple[Sequence[float], Sequence[Air]]:
        """Give the readings from `t_s` (s) on, in the order of time: their times and their airs."""
        first = bisect_left(self._read_times, t_s)
        return self._read_times[first:], self._read_airs[first:]

    @property
    def last_read_s(self) -> float | None:
        """When (s) the newest reading was taken; None before the first."""
        return self._read_times[-1] if self._read_times else None

    def expect(self, points: Iterable[tuple[float, Air]]) -> None:
        """Take the steps (s, air) that are expected instead of those expected until now.

        Steps that lie in the past count where no reading came after them: a heater that was to go off at 18:00 counts
        as off although the last reading is of 17:00. Leave them in, or what came of them is forgotten.

        Raises:
            NotAPace: a time that is none.
        """
        course = dict(sorted(points, key=lambda point: point[0]))
        for t_s in course:
            _check_time(t_s)
        before = dict(zip(self._expected_times, self._expected_airs, strict=True))
        changed = [t for t in course.keys() | before.keys() if course.get(t) != before.get(t)]
        self._expected_times, self._expected_airs = list(course), list(course.values())
        self._revision += 1
        last_s = self._read_times[-1] if self._read_times else -math.inf
        self._ahead = bisect_right(self._expected_times, last_s)
        if not changed or min(changed) > last_s:
            return
        self._rewinds.append(bisect_left(self._times, min(changed)))
        known = dict(zip(self._expected_times[: self._ahead], self._expected_airs, strict=False))
        known |= zip(self._read_times, self._read_airs, strict=True)
        steps = sorted(known.items(), key=lambda step: step[0])
        self._times, self._airs = [t for t, _ in steps], [air for _, air in steps]

    def at(self, t_s: float) -> Air | None:
        """Give the air at `t_s` as far as it was read or is expected; None before the first step."""
        read, expected = bisect_right(self._read_times, t_s) - 1, bisect_right(self._expected_times, t_s) - 1
        if expected >= 0 and (read < 0 or self._expected_times[expected] > self._read_times[read]):
            return self._expected_airs[expected]
        return self._read_airs[read] if read >= 0 else None

    def age_s(self, t_s: float) -> float | None:
        """Give how old (s) the last reading is at `t_s`; None where there is none yet."""
        read = bisect_right(self._read_times, t_s) - 1
        return t_s - self._read_times[read] if read >= 0 else None

    @property
    def settled(self) -> tuple[Sequence[float], Sequence[Air]]:
        """The steps up to the last reading, as times (s) and airs. To be looked at, not changed."""
        return self._times, self._airs

    @property
    def ahead(self) -> tuple[tuple[float, Air], ...]:
        """The expected steps (s, air) after the last reading."""
        return tuple(zip(self._expected_times[self._ahead :], self._expected_airs[self._ahead :], strict=True))

    @property
    def revision(self) -> int:
        """A number that is another after each change."""
        return self._revision

    def unchanged_before(self, rewinds_seen: int) -> tuple[int | None, int]:
        """Give the settled step before which all is as it was (None for all), and how many rewinds there now are."""
        since = self._rewinds[rewinds_seen:]
        return (min(since) if since else None), len(self._rewinds)


class Integral:
    """The progress of all windows of one model and kind, by one course of the air.

    `model` None is a pace of 1. `in_cup` is for what happens in the cup (stand, pot life), which does not feel the
    surface of the piece. `warmed_degC` is for a piece that is held so warm, whatever was read. Without a course it
    keeps one of its own. It catches up with its course when asked, for each new reading once; asking then takes a
    search in the sums up to each step.
    """

    def __init__(
        self,
        model: Model | None,
        kind: Kind | str,
        course: Course | None = None,
        *,
        in_cup: bool = False,
        warmed_degC: float | None = None,
    ) -> None:
        self.course = Course() if course is None else course
        self._kind = Kind(kind)
        self._tabled = isinstance(model, TimesTable)
        pace = pace_of(model, self._kind, in_cup=in_cup)
        self._pace, self._before = pace, 1.0
        if model is not None and warmed_degC is not None:
            degC: float = warmed_degC
            self._pace = lambda air: pace(warmed(air, degC))
            self._before = max(1.0, self._pace(usual_air(model)))
        self._paces: list[float] = []
        self._sums: list[float] = []
        self._rewinds_seen = 0
        self._revision = -1
        self._tail: tuple[list[float], list[float], list[float]] = ([], [], [])

    @property
    def before(self) -> float:
        """The pace before the first step: 1 or more, more only on a piece that is held warm."""
        return self._before

    def append(self, t_s: float, air: Air) -> None:
        """Take a reading into the course, for all who share it.

        Raises:
            NotAPace: `t_s` is no time.
        """
        self.course.append(t_s, air)

    def at(self, t_s: float) -> float:
        """Give the seconds at the card's air that equal the time from the first step to `t_s`; below 0 before it.

        Before the first step the pace is 1: the card's time stands as written. Without any step it is `t_s`. A warmed
        piece goes there as in air that is as by the card but for its warmth.

        Raises:
            NotAPace: `t_s` is no time.
        """
        _check_time(t_s)
        self._catch_up()
        times, sums, paces = self._part(t_s, 0)
        i = bisect_right(times, t_s) - 1
        if i < 0:
            return self._before * (t_s - times[0] if times else t_s)
        return sums[i] + paces[i] * (t_s - times[i])

    def between(self, start_s: float, end_s: float) -> float:
        """Give the seconds at the card's air that equal the time from `start_s` to `end_s`.

        Raises:
            NotAPace: one of the two is no time.
        """
        return self.at(end_s) - self.at(start_s)

    def due(self, start_s: float, needs_s: float) -> float | None:
        """Give when (s) a window that starts at `start_s` and takes `needs_s` at the card's air is over; None: never.

        After the last reading the expected course counts, and then its last value, or the last reading, for good. A
        wait is never due before the card's time unless by the card's own table, a deadline never later; a deadline is
        never None.

        Raises:
            NotAPace: `start_s` is no time, or `needs_s` no length of time.
        """
        if not 0 <= needs_s < math.inf:
            raise NotAPace("A window lasts some time or none: its time can't be below zero.")
        begun = self.at(start_s)
        if needs_s == 0:
            return start_s
        due_s = self._reach(start_s, needs_s, begun + needs_s)
        if self._kind is Kind.DEADLINE:
            # its pace is never 0, so it comes; by a table it may be told to be later than anybody waits
            due_s = max(start_s, min(start_s + FAR_S, math.inf if due_s is None else due_s))
            return due_s if self._tabled else min(due_s, start_s + needs_s)
        if due_s is None or due_s - start_s > FAR_S:
            return None
        return max(due_s, start_s if self._tabled else start_s + needs_s)

    def _reach(self, start_s: float, needs_s: float, target: float) -> float | None:
        """Give the first moment (s) at which the progress is `target`.

        What lacks less than `_NEAR_S` at the end of a step is over there: the noise of a sum must not leave a window
        open that was due just when a reading of air that dries nothing came.
        """
        times, sums, paces = self._part(target - _NEAR_S, 1)
        i = bisect_left(sums, target - _NEAR_S) - 1
        if i < 0:
            return start_s + needs_s / self._before
        if paces[i] <= 0:
            return None
        # exact where all happens within one step
        within = times[i] <= start_s
        due_s = start_s + needs_s / paces[i] if within else times[i] + (target - sums[i]) / paces[i]
        return min(due_s, times[i + 1]) if i + 1 < len(times) else due_s

    def _part(self, value: float, by: int) -> tuple[Sequence[float], Sequence[float], Sequence[float]]:
        """Give the steps (times, sums, paces) among which `value` lies, by their times (0) or their sums (1)."""
        settled = (self.course.settled[0], self._sums, self._paces)
        return settled if settled[by] and value <= settled[by][-1] else self._tail

    def _catch_up(self) -> None:
        if self._revision == self.course.revision:
            return
        keep, self._rewinds_seen = self.course.unchanged_before(self._rewinds_seen)
        if keep is not None:
            del self._paces[keep:], self._sums[keep:]
        times, airs = self.course.settled
        for i in range(len(self._paces), len(times)):
            self._sums.append(self._sums[-1] + self._paces[-1] * (times[i] - times[i - 1]) if i else 0.0)
            self._paces.append(self._pace(airs[i]))
        tail: tuple[list[float], list[float], list[float]] = (list(times[-1:]), self._sums[-1:], self._paces[-1:])
        for t_s, air in self.course.ahead:
            tail[1].append(tail[1][-1] + tail[2][-1] * (t_s - tail[0][-1]) if tail[0] else 0.0)
            tail[0].append(t_s)
            tail[2].append(self._pace(air))
        self._tail = tail
        self._revision = self.course.revision


def warmed(air: Air, degC: float) -> Air:
    """Give this air over a surface that is held at `degC`, or is as warm as it was read where that is more."""
    surface = min(degC, HOTTEST_DEGC)
    return replace(air, surface_degC=surface if air.surface_degC is None else max(surface, air.surface_degC))


def usual_air(model: Model) -> Air:
    """Give the air that the printed times of a card are taken to hold in."""
    percent = model.reference_percent if isinstance(model, Evaporation) else USUAL_PERCENT
    return Air(air_degC=min(model.reference_degC, HOT_DEGC), humidity_percent=max(percent, DRIEST_PERCENT))


def age_words(age_s: float | None) -> str:
    """Say how old the last reading is; "" where it is fresh, or where none was ever taken."""
    if age_s is None or age_s <= HOLD_S:
        return ""
    return f"The last reading is {span_words(age_s)} old and is taken to hold still"


def _put(times: list[float], airs: list[Air], t_s: float, air: Air) -> int:
    """Put a step in its place, instead of another of that instant; give the place."""
    i = bisect_left(times, t_s)
    if i < len(times) and times[i] == t_s:
        airs[i] = air
    else:
        times.insert(i, t_s)
        airs.insert(i, air)
    return i


def _check_time(t_s: float) -> None:
    if not math.isfinite(t_s):
        raise NotAPace("A reading and a window each have a time in seconds: this is none.")
