"""A laptop whose clocks are moved by hand, for tests of what the tool makes of them."""

import time
from datetime import UTC, datetime, timedelta

import pytest

from benchtool.session import clock as clock_module

WALL = 1_773_478_800.0
"""14 March 2026, 09:00 UTC."""


class Laptop:
    """The wall clock, the clock since boot, and the one that stands still in sleep. `counts_sleep` is as on Linux."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, *, counts_sleep: bool = True) -> None:
        self.wall, self.boot, self.awake, self.boot_id = WALL, 5_000.0, 5_000.0, "boot 1"
        self.counts_sleep = counts_sleep
        monkeypatch.setattr(time, "time", lambda: self.wall)
        monkeypatch.setattr(time, "monotonic", lambda: self.awake)
        if counts_sleep:
            monkeypatch.setattr(time, "CLOCK_BOOTTIME", 7, raising=False)
            monkeypatch.setattr(time, "clock_gettime", lambda which: {7: self.boot}[which])
        else:
            monkeypatch.delattr(time, "CLOCK_BOOTTIME", raising=False)
        monkeypatch.setattr(clock_module, "_boot_id", lambda: self.boot_id if counts_sleep else "")

    def go(self, **span: float) -> None:
        """Let time pass, awake."""
        seconds = timedelta(**span).total_seconds()
        self.wall += seconds
        self.boot += seconds
        self.awake += seconds

    def sleep(self, **span: float) -> None:
        """Close the lid, or hibernate."""
        seconds = timedelta(**span).total_seconds()
        self.wall += seconds
        self.boot += seconds

    def set_clock(self, **span: float) -> None:
        """Set the wall clock forward or back by hand, or by a time service."""
        self.wall += timedelta(**span).total_seconds()

    def restart(self, wall: datetime | None = None, **off: float) -> None:
        """Switch the laptop off for so long and on again; `wall` is what a clock without a battery says then."""
        self.wall += timedelta(**off).total_seconds()
        if wall is not None:
            self.wall = wall.timestamp()
        self.boot = self.awake = 20.0
        self.boot_id = f"boot {int(self.boot_id.split()[1]) + 1}"

    @property
    def shows(self) -> datetime:
        """What the wall clock shows."""
        return datetime.fromtimestamp(self.wall, UTC)
