"""Where the marks of a record lie: the scales of the plots, and marks put over each other where they would meet."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import timedelta

from benchtool.sheets.sheetwords import waited

_MINUTE, _HOUR, _DAY = 60.0, 3_600.0, 86_400.0

TIMES_S = (
    1.0, 5.0, 15.0, 30.0, _MINUTE, 2 * _MINUTE, 5 * _MINUTE, 10 * _MINUTE, 15 * _MINUTE, 20 * _MINUTE, 30 * _MINUTE,
    45 * _MINUTE, _HOUR, 2 * _HOUR, 4 * _HOUR, 8 * _HOUR, 12 * _HOUR, _DAY, 2 * _DAY, 4 * _DAY, 7 * _DAY, 14 * _DAY,
    28 * _DAY, 90 * _DAY, 365 * _DAY,
)  # fmt: skip
"""The times that may stand at the scale."""

_WIDEN = 1.35
_LEAST_WIDTH = 4.0
_STEPS = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1_000.0)


@dataclass(frozen=True, slots=True)
class Scale:
    """Maps values to 0 ... 1 between its ends; `by_ratio` where equal steps are equal ratios, as for times."""

    low: float
    high: float
    by_ratio: bool = False

    def share(self, value: float) -> float:
        """Give where a value lies, held between both ends."""
        held = min(max(value, self.low), self.high)
        if self.by_ratio:
            return math.log(held / self.low) / math.log(self.high / self.low)
        return (held - self.low) / (self.high - self.low)


def time_scale(values_s: Sequence[float]) -> Scale:
    """Give a scale that holds these times (s), by ratio: minutes and days are both to be read on it."""
    held = [v for v in values_s if v >= 1.0] or [_MINUTE]
    low, high = min(held) / _WIDEN, max(held) * _WIDEN
    if high / low < _LEAST_WIDTH:
        middle = math.sqrt(low * high)
        low, high = middle / math.sqrt(_LEAST_WIDTH), middle * math.sqrt(_LEAST_WIDTH)
    return Scale(low, high, by_ratio=True)


def error_scale(values: Sequence[float], allowed: float) -> Scale:
    """Give a scale about zero that holds these errors and what is allowed (both in %)."""
    most = max([abs(v) for v in values] + [allowed, 1.0]) * 1.15
    return Scale(-most, most)


def ticks(scale: Scale, room: float, wide: Callable[[str], float]) -> list[tuple[float, str]]:
    """Give the values that stand at a scale `room` px long, each with its words; none touches the one before."""
    if scale.by_ratio:
        named = [(t, waited(timedelta(seconds=t))) for t in TIMES_S if scale.low <= t <= scale.high]
    else:
        step = next((s for s in _STEPS if scale.high / s <= 4), _STEPS[-1])
        count = int(scale.high // step)
        named = [(i * step, f"{_sign(i)}{abs(i * step):g} %") for i in range(-count, count + 1)]
    kept: list[tuple[float, str]] = []
    end = -math.inf
    for value, words in named:
        x, half = scale.share(value) * room, wide(words) / 2
        if x - half > end + 8 and x - half >= -half and x + half <= room + half:
            kept.append((value, words))
            end = x + half
    return kept


def _sign(i: int) -> str:
    return "−" if i < 0 else "+" if i else ""


def piled(places: Sequence[float], across: float, rows: int) -> list[tuple[float, float]]:
    """Give for each place (px) where its mark lies and how many rows up, so that no two marks meet.

    More than `rows` over each other lie closer than a row, and none is left out. A mark lies at most `across` left of
    its place, and marks of one value lie exactly there.
    """
    laid = [(0.0, 0.0)] * len(places)
    for held in columns(places, across):
        close = min(1.0, (rows - 1) / (len(held) - 1)) if len(held) > 1 else 1.0
        for row, i in enumerate(held):
            laid[i] = (places[held[0]], row * close)
    return laid


def columns(places: Sequence[float], across: float) -> list[list[int]]:
    """Sort places into columns: each holds what lies less than a mark to the right of its first."""
    found: list[list[int]] = []
    for i in sorted(range(len(places)), key=lambda i: places[i]):
        if found and places[i] - places[found[-1][0]] < across:
            found[-1].append(i)
        else:
            found.append([i])
    return found


def deepest(places: Sequence[float], across: float) -> int:
    """Give how many marks lie over each other at most."""
    return max((len(held) for held in columns(places, across)), default=0)
