"""Of the readings of a data logger, the ones worth keeping: a logger writes every few seconds, air changes slowly."""

import math
from collections import deque
from dataclasses import dataclass
from datetime import UTC, datetime

from benchtool.trade.numbers import figure

THIN_S = 60.0
"""Of readings nearer together than this (s) one is kept."""

CHANGE_K, CHANGE_PERCENT = 0.1, 1.0
"""A smaller change of temperature (K) or humidity (%) is within what a logger of a shop can tell (judgement)."""

STILL_S = 1800.0
"""Air that stands still is kept as often (s): well within the hour after which a last reading is called old."""

GAP_S, GAP_STEPS = 900.0, 3.0
"""A pause is a gap when it is longer than this (s), and than so many of the usual steps (judgement)."""

_EXACT = 1e-9
_STEPS = 9

Taken = tuple[float, float, float, float | None]
"""Time (s since 1970), air (degC), humidity (%), surface (degC): a reading before it is known to be kept."""


@dataclass(frozen=True, slots=True)
class LoggedReading:
    """Air (degC, %), and where measured the surface (degC), at an instant (UTC). The record of a job can hold it."""

    at: datetime
    air_degC: float
    humidity_percent: float
    surface_degC: float | None = None

    @property
    def words(self) -> str:
        """Say the air, such as “18.2 °C and 55 %”."""
        return f"{figure(self.air_degC)} °C and {figure(self.humidity_percent)} %"


class Thinner:
    """Takes readings in rising order and keeps few of them; which ones does not hang on when it is asked.

    No more than one a minute, and within half an hour none that changes less than 0.1 degC and 1 % against the last one
    kept: that the air stood still is worth one in half an hour. What stood
    when a pause of over a minute began is kept as well, else a change just before it would be lost for all the pause.
    Only readings after `after` (s since 1970) are given.
    """

    def __init__(self, after: float) -> None:
        self.after = after
        self.last_s = -math.inf
        self.step = 0.0
        self._steps: deque[float] = deque(maxlen=_STEPS)
        self._newest: Taken | None = None
        self._kept: Taken | None = None
        self._out: list[LoggedReading] = []
        self._gaps: list[tuple[float, float]] = []

    def take(self, taken: Taken) -> None:
        """Take one more reading, later than all before."""
        at, before, kept = taken[0], self._newest, self._kept
        if before is not None:
            pause = at - before[0]
            if self.is_gap(pause) and at > self.after:
                self._gaps.append((before[0], at))
            self._steps.append(pause)
            if pause != self.step:
                self.step = sorted(self._steps)[len(self._steps) // 2]
            if kept is not None and before is not kept and pause > THIN_S and _differs(before, kept):
                kept = self._keep(before)
        self.last_s, self._newest = at, taken
        still_s = math.inf if kept is None else at - kept[0]
        if kept is None or still_s >= STILL_S or (still_s >= THIN_S and _differs(taken, kept)):
            self._keep(taken)

    def is_gap(self, pause: float) -> bool:
        """Whether so long without a reading (s) is more than the usual step."""
        return pause > GAP_S and pause > GAP_STEPS * self.step

    @property
    def newest(self) -> LoggedReading | None:
        """The last reading taken, kept or not."""
        return None if self._newest is None else _reading(self._newest)

    def give(self) -> tuple[tuple[LoggedReading, ...], list[tuple[float, float]]]:
        """Give what was kept since the last call, and the gaps as (s, s)."""
        out, gaps = tuple(self._out), self._gaps
        self._out, self._gaps = [], []
        return out, gaps

    def _keep(self, taken: Taken) -> Taken:
        self._kept = taken
        if taken[0] > self.after:
            self._out.append(_reading(taken))
        return taken


def _reading(taken: Taken) -> LoggedReading:
    at, air, humidity, surface = taken
    return LoggedReading(datetime.fromtimestamp(at, UTC), air, humidity, surface)


def _differs(a: Taken, b: Taken) -> bool:
    if abs(a[1] - b[1]) >= CHANGE_K - _EXACT or abs(a[2] - b[2]) >= CHANGE_PERCENT - _EXACT:
        return True
    if a[3] is None or b[3] is None:
        return a[3] is not b[3]
    return abs(a[3] - b[3]) >= CHANGE_K - _EXACT
