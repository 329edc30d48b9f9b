"""The air of a job as steps to draw: read or only supposed, thinned to what a screen can show."""

import math
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise

from benchtool.job.airhistory import air_read
from benchtool.job.state import State
from benchtool.rules.air import OLD
from benchtool.trade.air import MARGIN_K, Air, keeps_margin

MOST_POINTS = 600
"""So many points a line has at the most, however many readings there are."""

_BINS = MOST_POINTS // 3
_OLD_S = OLD.total_seconds()


class Line(StrEnum):
    """What is drawn over time."""

    AIR = "air"
    SURFACE = "surface"
    DEW = "dew point"
    HUMIDITY = "humidity"


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of one line as points (s, value): `sure` where it was read, else it is only supposed."""

    points: tuple[tuple[float, float], ...]
    sure: bool


@dataclass(frozen=True, slots=True)
class Damp:
    """A stretch (s) in which the surface, or where none was measured the air, is too near to the dew point (degC)."""

    from_s: float
    to_s: float
    surface_degC: float
    dew_degC: float


@dataclass(slots=True)
class Stretch:
    """The air from one step to the next (s)."""

    from_s: float
    to_s: float
    values: dict[Line, float]
    sure: bool

    @property
    def film(self) -> float:
        """What the piece is taken to be at (degC): its own temperature, else that of the air."""
        return self.values.get(Line.SURFACE, self.values[Line.AIR])

    @property
    def margin(self) -> float:
        """How far that lies above the dew point (K)."""
        return self.film - self.values[Line.DEW]


@dataclass(frozen=True, slots=True)
class Read:
    """One good reading: when (s), the air, its dew point (degC), and where it is from."""

    at_s: float
    air: Air
    dew_degC: float
    source: str

    @property
    def values(self) -> dict[Line, float]:
        """What is drawn of it."""
        return _values(self.air, self.dew_degC)


@dataclass
class Steps:
    """The readings of a job in the order of time, taken in as they come."""

    reads: list[Read] = field(default_factory=list)
    _state: State | None = None
    _seen: int = 0

    def follow(self, state: State) -> None:
        """Take what is new in the readings of `state`; another state is read anew."""
        if state is not self._state:
            self._state, self._seen, self.reads = state, 0, []
        fresh = state.readings[self._seen :]
        self._seen += len(fresh)
        for reading in fresh:
            air = air_read(reading)
            if air is not None:
                self.reads.append(Read(state.air.seconds(reading.at), air, air.dew_point_degC, reading.source))
        if any(a.at_s > b.at_s for a, b in pairwise(self.reads[-len(fresh) - 1 :])):
            self.reads.sort(key=lambda read: read.at_s)

    def last(self, now_s: float) -> Read | None:
        """Give the last good reading at `now_s`."""
        i = bisect_right(self.reads, now_s, key=lambda read: read.at_s)
        return self.reads[i - 1] if i else None

    def since(self, from_s: float, now_s: float) -> list[Read]:
        """Give the readings after `from_s` and up to `now_s`."""
        first, last = (bisect_right(self.reads, at, key=lambda read: read.at_s) for at in (from_s, now_s))
        return self.reads[first:last]

    def stretches(
        self, expected: Sequence[tuple[float, Air]], start_s: float, end_s: float, now_s: float
    ) -> list[Stretch]:
        """Give what the air was, is and will be taken to be between two moments.

        A reading speaks until the next step or until `now_s`, for `OLD` at most; after that it is only supposed to
        hold. Of a reading and an expected step of one instant the reading counts.
        """
        first = max(0, bisect_right(self.reads, start_s, key=lambda read: read.at_s) - 1)
        last = bisect_right(self.reads, end_s, key=lambda read: read.at_s)
        found: dict[float, tuple[dict[Line, float], bool]] = {}
        for at_s, air in expected:
            if at_s <= end_s and (not self.reads or first == 0 or at_s >= self.reads[first].at_s):
                found[at_s] = (_values(air, air.dew_point_degC), False)
        for read in self.reads[first:last]:
            found[read.at_s] = (read.values, True)
        times = sorted(found)
        made: list[Stretch] = []
        for i, at_s in enumerate(times):
            values, read_then = found[at_s]
            until_s = times[i + 1] if i + 1 < len(times) else math.inf
            sure_s = min(until_s, at_s + _OLD_S, max(at_s, now_s)) if read_then else at_s
            for from_s, to_s, sure in ((at_s, sure_s, True), (sure_s, until_s, False)):
                if max(from_s, start_s) < min(to_s, end_s):
                    made.append(Stretch(max(from_s, start_s), min(to_s, end_s), values, sure))
        return made

    def gaps(self, start_s: float, end_s: float, now_s: float) -> list[tuple[float, float]]:
        """Give the stretches (s) up to `now_s` in which no reading was younger than `OLD`, none before the first."""
        first = max(0, bisect_right(self.reads, start_s, key=lambda read: read.at_s) - 1)
        last = bisect_right(self.reads, min(end_s, now_s), key=lambda read: read.at_s)
        times = [read.at_s for read in self.reads[first:last]]
        pairs = zip(times, [*times[1:], now_s], strict=False)
        clipped = ((max(start_s, a + _OLD_S), min(end_s, b)) for a, b in pairs)
        return [(a, b) for a, b in clipped if a < b]


def _values(air: Air, dew: float) -> dict[Line, float]:
    values = {Line.AIR: air.air_degC, Line.DEW: dew, Line.HUMIDITY: air.humidity_percent}
    if air.surface_degC is not None:
        values[Line.SURFACE] = air.surface_degC
    return values


# --- thinning ---------------------------------------------------------------------------------------------


def runs(stretches: Sequence[Stretch], line: Line, start_s: float, end_s: float) -> tuple[Run, ...]:
    """Give one line as runs of at most `MOST_POINTS` points altogether.

    Few steps are drawn as they are; of many, the least and the most in each of some hundred equal parts are kept, the
    nearer to the part before first.
    """
    if len(stretches) * 3 <= MOST_POINTS:
        return tuple(_joined(_as_they_are(stretches, line)))
    return tuple(_joined(_binned(stretches, line, start_s, end_s)))


_Piece = tuple[list[tuple[float, float]], bool]


def _as_they_are(stretches: Sequence[Stretch], line: Line) -> Iterator[_Piece | None]:
    for s in stretches:
        value = s.values.get(line)
        yield None if value is None else ([(s.from_s, value), (s.to_s, value)], s.sure)


def _binned(stretches: Sequence[Stretch], line: Line, start_s: float, end_s: float) -> Iterator[_Piece | None]:
    before: float | None = None
    for middle, held in _bins(stretches, start_s, end_s):
        told = [(s.values[line], s.sure) for s in held if line in s.values]
        if not told:
            before = None
            yield None
            continue
        low, high = min(value for value, _ in told), max(value for value, _ in told)
        near_high = before is not None and abs(high - before) < abs(low - before)
        first, before = (high, low) if near_high else (low, high)
        yield [(middle, value) for value in dict.fromkeys((first, before))], any(sure for _, sure in told)


def _bins(stretches: Sequence[Stretch], start_s: float, end_s: float) -> Iterator[tuple[float, list[Stretch]]]:
    """Give the middle (s) of each equal part of the time, and the stretches that touch it."""
    width, i = (end_s - start_s) / _BINS, 0
    for k in range(_BINS):
        a, b = start_s + k * width, start_s + (k + 1) * width
        held = []
        while i < len(stretches) and stretches[i].to_s <= a:
            i += 1
        j = i
        while j < len(stretches) and stretches[j].from_s < b:
            held.append(stretches[j])
            j += 1
        yield (a + b) / 2, held


def _joined(pieces: Iterable[_Piece | None]) -> Iterator[Run]:
    """Make runs of what hangs together; a run begins where the one before it ended."""
    points: list[tuple[float, float]] = []
    sure = False
    for piece in pieces:
        if piece is None or (points and piece[1] != sure):
            if len(points) > 1:
                yield Run(tuple(points), sure)
            points = points[-1:] if piece is not None else []
        if piece is not None:
            points.extend(piece[0])
            sure = piece[1]
    if len(points) > 1:
        yield Run(tuple(points), sure)


def damp(stretches: Sequence[Stretch], start_s: float, end_s: float) -> tuple[Damp, ...]:
    """Give where the surface is less than 3 K above the dew point, thinned in the same way; the worst is kept."""
    if len(stretches) * 3 <= MOST_POINTS:
        parts = [(s.from_s, s.to_s, s) for s in stretches]
    else:
        half = (end_s - start_s) / _BINS / 2
        binned = _bins(stretches, start_s, end_s)
        parts = [(m - half, m + half, min(held, key=lambda s: s.margin)) for m, held in binned if held]
    return tuple(Damp(a, b, s.film, s.values[Line.DEW]) for a, b, s in parts if not keeps_margin(s.margin, MARGIN_K))
