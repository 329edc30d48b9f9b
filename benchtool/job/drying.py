"""What heat on a piece and a thick film do to the times of its layers, where the card says so."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Protocol

from benchtool.job.cardpaces import CardTime, ForcedDry
from benchtool.job.events import HeatEnded, HeatStarted
from benchtool.trade.numbers import figure, span_words

THINNEST_MISS = 1e-9
"""A film this little thicker than a row is as thick as the row: mil turned to um and back is off by as much."""

MOST_TIMES = 1e6
"""A film takes at most so many times as long: a quarter of an hour would be 28 years."""


# --- the record -------------------------------------------------------------------------------------------


@dataclass(slots=True)
class Heated:
    """A stretch of heat on a piece; it goes on for as long as `ended_at` is None."""

    started_at: datetime
    degC: float
    ended_at: datetime | None = None


@dataclass(slots=True)
class Heat:
    """All the heat that was put on one piece, oldest first."""

    stretches: list[Heated] = field(default_factory=list)

    @property
    def on(self) -> Heated | None:
        """The heat that is on by the record, None where none is."""
        return self.stretches[-1] if self.stretches and self.stretches[-1].ended_at is None else None

    def begin(self, event: HeatStarted) -> None:
        """Take heat that is put on; what was on until then ends there."""
        if self.on is not None:
            self.on.ended_at = max(self.on.started_at, event.at)
        self.stretches.append(Heated(event.at, event.degC))

    def end(self, event: HeatEnded) -> None:
        """Take heat that is taken off; where none is on there is nothing to end."""
        if self.on is not None:
            self.on.ended_at = max(self.on.started_at, event.at)

    def at(self, now: datetime) -> Heated | None:
        """Give the heat that is on the piece at `now`."""
        newest = next((h for h in reversed(self.stretches) if h.started_at <= now), None)
        return newest if newest is not None and (newest.ended_at is None or now < newest.ended_at) else None


@dataclass(frozen=True, slots=True)
class OnPiece:
    """What works on a coat beside the air: the heat on its piece, and its dry film (um), None where not measured."""

    heat: Heat
    film_um: float | None = None


BARE = OnPiece(Heat())
"""Neither heat nor a film that was measured: what happens in a cup."""


# --- the film ---------------------------------------------------------------------------------------------


def film_factor(films: Sequence[tuple[float, float]], um: float | None) -> float:
    """Give how many times as long as by the card the waits take in a dry film of `um`: 1 or more.

    It is the factor of the first row that is as thick or thicker, never one between two rows. Beyond the last row it
    grows with the square of the film: the last of the solvent leaves by diffusion (the two regimes of drying: arXiv
    1411.1884), whose time goes with the square of the way (Fick; from memory). Without rows it is 1.
    """
    if um is None or not films:
        return 1.0
    for row_um, factor in films:
        if um <= row_um * (1 + THINNEST_MISS):
            return factor
    last_um, last = films[-1]
    return min(MOST_TIMES, last * max(1.0, um / last_um) ** 2)


def film_words(films: Sequence[tuple[float, float]], um: float | None) -> str:
    """Say what the film does to a wait; "" where it does nothing."""
    factor = film_factor(films, um)
    if um is None or factor <= 1.005:
        return ""
    longer = f"takes {figure(factor, 2)} times as long"
    if um > films[-1][0] * (1 + THINNEST_MISS):
        return f"{um:g} µm thick, more than the card's {films[-1][0]:g}: {longer}, a guess on the safe side"
    return f"{um:g} µm thick: {longer} by the card"


# --- the heat ---------------------------------------------------------------------------------------------


def heat_words(heated: Heated, forced: ForcedDry | None, time: CardTime, factor: float) -> str:
    """Say what the heat that is on the piece does to a wait of the card, `factor` being what its film does."""
    on = f"{heated.degC:g} °C on it"
    if forced is None:
        return f"{on}, but the card gives no time in heat for this: only the air counts"
    if heated.degC < forced.degC:
        return f"{on}, under the {forced.degC:g} °C the card asks for: only the air counts"
    done = "cured" if time is CardTime.CURE else "dry"
    by = "by the card" + (", in this film" if factor > 1.005 else "")
    return f"{on}: {done} in {span_words(forced.wait.total_seconds() * factor)} of heat {by}"


class Pace(Protocol):
    """How a time goes in one air, as `trade.paceintegral.Integral` tells it."""

    def between(self, start_s: float, end_s: float) -> float:
        """Give how much of it goes between two instants (s)."""
        ...

    def due(self, start_s: float, needs_s: float) -> float | None:
        """Give when (s) so much of it is gone; None for never."""
        ...


@dataclass(frozen=True, slots=True)
class Hot:
    """A stretch (s) in which a time may go by heat instead of by the air: by `pace`, and in `needs_s` of it."""

    start_s: float
    end_s: float
    pace: Pace
    needs_s: float


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a time is that starts at `start_s` and takes `needs_s` by its air, with the stretches of heat in it.

    Each stretch, of air and of heat, adds its share; in heat it is the larger of what heat and air would give.
    `hot` stretches are in order, apart, and none ends before `start_s`; `needs_s` are above zero where there are any.
    """

    start_s: float
    needs_s: float
    air: Pace
    hot: tuple[Hot, ...] = ()

    def share(self, t_s: float) -> float:
        """Give how much of it is over at `t_s`: 0 to 1."""
        if t_s <= self.start_s:
            return 0.0
        done, since = 0.0, self.start_s
        for hot in self.hot:
            if hot.start_s >= t_s:
                break
            until = min(t_s, hot.end_s)
            done += self._of_air(since, hot.start_s) + self._of_heat(hot, until)
            since = until
        return min(1.0, max(0.0, done + self._of_air(since, t_s)))

    def due_s(self) -> float | None:
        """Give when (s) it is over; None for never."""
        left, since = 1.0, self.start_s
        for hot in self.hot:
            by_air = _or_never(self.air.due(since, left * self.needs_s))
            if by_air <= hot.start_s:
                return by_air
            left = max(0.0, left - self._of_air(since, hot.start_s))
            in_air = _or_never(self.air.due(hot.start_s, left * self.needs_s))
            in_heat = _or_never(hot.pace.due(hot.start_s, left * hot.needs_s))
            if min(in_air, in_heat) <= hot.end_s:
                return min(in_air, in_heat) if min(in_air, in_heat) < math.inf else None
            left = max(0.0, left - self._of_heat(hot, hot.end_s))
            since = hot.end_s
        return self.air.due(since, left * self.needs_s)

    def _of_air(self, start_s: float, end_s: float) -> float:
        return self.air.between(start_s, end_s) / self.needs_s if end_s > start_s else 0.0

    def _of_heat(self, hot: Hot, until_s: float) -> float:
        return max(self._of_air(hot.start_s, until_s), hot.pace.between(hot.start_s, until_s) / hot.needs_s)


def _or_never(due_s: float | None) -> float:
    return math.inf if due_s is None else due_s
