"""Windows: stretches of time in which something may be done, and where a moment lies in them."""

import math
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from typing import Protocol


class WindowKind(StrEnum):
    """What a window is for."""

    STAND = "stand"
    POT_LIFE = "pot life"
    FLASH = "flash"
    RECOAT = "recoat"
    TAPE = "tape"
    CURE = "cure"
    DWELL = "dwell"
    TAPE_ON = "tape on"
    AGEING = "ageing"


class Phase(StrEnum):
    """Where a moment lies in a window."""

    WAITING = "waiting"
    OPEN = "open"
    CLOSING = "closing"
    CLOSED = "closed"


_NEARLY = math.nextafter(1.0, 0.0)
LEAST_LEAD = timedelta(minutes=1)
MOST_LEAD = timedelta(minutes=15)
LEAD_SHARE = 0.15
"""A window that closes is *closing* for its last 15 %, at least 1 min and at most 15 min (judgement, no
source: time enough to load a gun, not so long that the warning is forgotten)."""


FOR_GOOD = datetime(9900, 1, 1, tzinfo=UTC)
"""An instant that no clock reaches. It lies a century before the end of the calendar, so that it is an instant in
every time zone and a second can be added to it."""


class Course(Protocol):
    """How one end of a window comes nearer in the air as it was read and is expected."""

    @property
    def by_card(self) -> datetime:
        """When that end would be by the card alone."""
        ...

    def share(self, now: datetime) -> float:
        """Give how much of what it takes is over at `now`: 0 to 1."""
        ...

    def why(self, now: datetime) -> str:
        """Say what the air in force at `now` does to it; "" for next to nothing."""
        ...


@dataclass(frozen=True, slots=True)
class Span:
    """From `started_at` a window runs; it opens at `opens_at` and closes at `closes_at`, None for never.

    `opens_at` is `FOR_GOOD` where a wait does not end in this air. Cold may put the opening off beyond the closing:
    such a window goes from waiting to closed. `opens_by` and `closes_by` tell how the air moves the two, None where
    it does not; they are no part of what makes two spans equal.
    """

    started_at: datetime
    opens_at: datetime
    closes_at: datetime | None = None
    opens_by: Course | None = field(default=None, compare=False, repr=False)
    closes_by: Course | None = field(default=None, compare=False, repr=False)

    @property
    def never(self) -> bool:
        """Whether it does not open in this air, however long one waits."""
        return self.opens_at >= FOR_GOOD

    @property
    def closes_first(self) -> bool:
        """Whether it closes before it opens, or as it does: there is no moment at which it is open."""
        return self.closes_at is not None and self.closes_at <= self.opens_at and self.opens_at > self.started_at

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

        A closed window gives the seconds since it closed, below zero. Where it never opens it is some thousand years.
        """
        if now < self.opens_at:
            return (self.opens_at - now).total_seconds()
        if self.closes_at is None:
            return None
        return (self.closes_at - now).total_seconds()

    def progress(self, now: datetime) -> float:
        """Give how much of the wait (or, for a window open from its start, of its life) is over, 0 to 1."""
        waits = self.opens_at > self.started_at
        end, by = (self.opens_at, self.opens_by) if waits else (self.closes_at, self.closes_by)
        if end is None or end <= self.started_at or now >= end:
            return 1.0
        if by is not None:
            return min(by.share(now), _NEARLY)
        return min(1.0, max(0.0, (now - self.started_at) / (end - self.started_at)))
