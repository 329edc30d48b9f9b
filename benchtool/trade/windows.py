"""Windows: stretches of time in which something may be done, and where a moment lies in them."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum


class WindowKind(StrEnum):
    """What a window is for."""

    STAND = "stand"
    POT_LIFE = "pot life"
    FLASH = "flash"
    RECOAT = "recoat"
    TAPE = "tape"
    CURE = "cure"


class Phase(StrEnum):
    """Where a moment lies in a window."""

    WAITING = "waiting"
    OPEN = "open"
    CLOSING = "closing"
    CLOSED = "closed"


LEAST_LEAD = timedelta(minutes=1)
MOST_LEAD = timedelta(minutes=15)
LEAD_SHARE = 0.15
"""A window that closes is *closing* for its last 15 %, at least 1 min and at most 15 min (judgement, no
source: time enough to load a gun, not so long that the warning is forgotten)."""


@dataclass(frozen=True, slots=True)
class Span:
    """From `started_at` a window runs; it opens at `opens_at` and closes at `closes_at`, None for never."""

    started_at: datetime
    opens_at: datetime
    closes_at: datetime | None = None

    def closing_from(self) -> datetime | None:
        """When the warning that the window is about to close begins."""
        if self.closes_at is None:
            return None
        lead = (self.closes_at - self.opens_at) * LEAD_SHARE
        return max(self.opens_at, self.closes_at - min(max(lead, LEAST_LEAD), MOST_LEAD))

    def phase(self, now: datetime) -> Phase:
        """Say where `now` lies. The opening instant is open, the closing instant is closed."""
        if now < self.opens_at:
            return Phase.WAITING
        if self.closes_at is None:
            return Phase.OPEN
        if now >= self.closes_at:
            return Phase.CLOSED
        warn = self.closing_from()
        return Phase.CLOSING if warn is not None and now >= warn else Phase.OPEN

    def remaining_s(self, now: datetime) -> float | None:
        """Give the seconds to the next edge: to the opening while waiting, else to the closing; None if none.

        A closed window gives the seconds since it closed, below zero.
        """
        if now < self.opens_at:
            return (self.opens_at - now).total_seconds()
        if self.closes_at is None:
            return None
        return (self.closes_at - now).total_seconds()

    def progress(self, now: datetime) -> float:
        """Give how much of the wait (or, for a window open from its start, of its life) is over, 0 to 1."""
        end = self.opens_at if self.opens_at > self.started_at else self.closes_at
        if end is None or end <= self.started_at:
            return 1.0
        return min(1.0, max(0.0, (now - self.started_at) / (end - self.started_at)))
