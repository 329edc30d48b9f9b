"""The clock as a port. This is the only module that reads the system's clocks.

Countdowns must stay right when somebody sets the laptop's clock. So the wall clock is compared with the
clock that counts since boot, the sleep included where the system has such a clock; a step between them is
no passing of time.
"""

import json
import time
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Protocol

STEP = 2.0
"""Seconds by which the two clocks may drift apart between two looks before it counts as a step: time
services slew by far less, people step by far more (judgement, no source)."""


class Clock(Protocol):
    """Tells the time to whoever may ask for it."""

    def now(self) -> datetime:
        """Give the present instant (UTC), free of steps of the wall clock."""
        ...

    def stepped(self) -> timedelta:
        """Say by how much the wall clock was moved against the time kept here."""
        ...

    def take_wall_clock(self) -> None:
        """Go by the wall clock as it stands from now on."""
        ...


class SystemClock:
    """The system's clocks. `anchor` keeps, over restarts within one boot, how the two clocks lay."""

    def __init__(self, anchor: Path | None = None) -> None:
        self._anchor = anchor
        self._counts_sleep = hasattr(time, "CLOCK_BOOTTIME")
        self._offset = self._fresh()
        kept = self._kept()
        if kept is not None and self._counts_sleep:
            self._offset = kept
        self._keep()

    def now(self) -> datetime:
        """Give the present instant (UTC), free of steps of the wall clock."""
        fresh = self._fresh()
        gap = fresh - self._offset
        slept = gap > STEP and not self._counts_sleep
        if slept or 0 < abs(gap) <= STEP:
            self._offset = fresh
        return datetime.fromtimestamp(self._offset + self._since_boot(), tz=UTC)

    def stepped(self) -> timedelta:
        """Say by how much the wall clock was moved against the time kept here."""
        gap = self._fresh() - self._offset
        return timedelta(seconds=round(gap)) if abs(gap) > STEP else timedelta(0)

    def take_wall_clock(self) -> None:
        """Go by the wall clock as it stands from now on."""
        self._offset = self._fresh()
        self._keep()

    def _since_boot(self) -> float:
        boot = getattr(time, "CLOCK_BOOTTIME", None)
        return time.clock_gettime(boot) if boot is not None else time.monotonic()

    def _fresh(self) -> float:
        return time.time() - self._since_boot()

    def _kept(self) -> float | None:
        if self._anchor is None:
            return None
        try:
            kept = json.loads(self._anchor.read_text(encoding="utf-8"))
            return float(kept["offset"]) if kept["boot"] == _boot_id() else None
        except (OSError, ValueError, KeyError, TypeError):
            return None

    def _keep(self) -> None:
        if self._anchor is None or not _boot_id():
            return
        with suppress(OSError):  # without the anchor only a step between two starts goes unnoticed
            self._anchor.parent.mkdir(parents=True, exist_ok=True)
            text = json.dumps({"boot": _boot_id(), "offset": self._offset})
            self._anchor.write_text(text, encoding="utf-8")


def _boot_id() -> str:
    try:
        return Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
    except OSError:
        return ""
