"""The clock as a port. This is the only module that reads the system's clocks.

Countdowns must stay right when somebody sets the laptop's clock. So the tool keeps its own time: the wall clock as it
was when the laptop was started, run on by the clock that counts since then, the sleep included where the system has
such a clock. A step of the wall clock against that is no passing of time; session/clockwatch.py asks which is right.

What the clocks can't tell: a clock that was set while the tool was shut, and the laptop restarted since, by less than
would put it behind the time at which the tool was last seen; how far a clock was off before that; and, where no clock
counts the sleep, a clock that was set forward from a lid that was closed.
"""

import json
import time
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Protocol

STEP = 2.0
"""Seconds by which the two clocks may drift apart between two looks before it counts as a step: time
services slew by far less, people step by far more (judgement, no source)."""

SMALL = 120.0
SLEW = 500e-6
"""A step of so many seconds at most is a time service's correction, not a hand's (judgement, no source). It is neither
taken at once, since a flash would be that much shorter, nor asked about: the own time follows it by 0.5 ms a second,
the rate of adjtime(3) on Linux (from memory), so that no wait is off by more than 0.05 %."""

BEHIND = 60.0
"""Between two starts a clock may fall back by so many seconds by itself (judgement, no source)."""

BUILT = datetime(2025, 1, 1, tzinfo=UTC)
"""This tool did not exist before: a clock that shows less was never set."""

FAR = timedelta(days=60)
"""Nobody leaves a coat waiting for so long: such a leap forward is asked about (judgement, no source)."""

REFRESH = 60.0
"""So often (s) it is written down that the tool still runs."""

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_NEAR = 0.05
_JUST = timedelta(milliseconds=1)


@dataclass(frozen=True, slots=True)
class Mark:
    """How the own time lay at a moment, to go back to it."""

    offset: float
    apart: float
    unsure: bool


class Clock(Protocol):
    """Tells the time to whoever may ask for it.

    What has a body here does for a clock that always is right and is moved by hand.
    """

    def now(self) -> datetime:
        """Give the present instant (UTC), free of steps of the wall clock."""
        ...

    def stepped(self) -> timedelta:
        """Say by how much the wall clock was moved against the time kept here, unless that was settled."""
        ...

    def take_wall_clock(self) -> None:
        """Go by the wall clock as it stands from now on."""
        ...

    def beat(self) -> None:
        """Note that the tool runs, now and then on disk; look whether the laptop is in another time zone."""

    def wall(self) -> datetime:
        """Give what the laptop's clock shows (UTC)."""
        return self.now()

    def move(self, by: timedelta) -> None:
        """Put the own time forward by `by` (0: leave it), and go by it whatever the laptop's clock shows."""

    def set_true_time(self, real: datetime) -> None:
        """Go by `real` as the present instant, until the laptop is restarted."""
        self.move(real - self.now())

    def hold(self, at: datetime) -> None:
        """Go on from `at`, the earliest that it can be, until it is known better."""

    def mark(self) -> Mark:
        """Give how the own time lies, for `restore`."""
        return Mark(0.0, 0.0, unsure=False)

    def restore(self, before: Mark, after: Mark) -> None:
        """Take back what was done between the two marks, whatever passed since."""

    def slept(self) -> timedelta:
        """Say how long the laptop slept since this was last asked, as far as it can be told."""
        return timedelta(0)

    @property
    def unsure(self) -> bool:
        """Whether `now` is only the earliest that it can be: the laptop's clock can't be right."""
        return False

    @property
    def was_apart(self) -> timedelta:
        """By how much the laptop's clock was ahead of the time the painter told, before it was restarted."""
        return timedelta(0)

    @property
    def last_seen(self) -> datetime | None:
        """The last instant at which the tool was seen running before this start; None where that is not known."""
        return None

    @property
    def since(self) -> datetime:
        """The instant (by `now`) from which on all was entered by this one run of the clock."""
        return self.now()


class SystemClock:
    """The system's clocks. `anchor` keeps, over restarts within one boot, how the two clocks lay.

    It also keeps when the tool was last seen running. Where it can't be read or written, what it would tell is not
    known, and all else goes on.
    """

    def __init__(self, anchor: Path | None = None) -> None:
        self._anchor = anchor
        self._counts_sleep = hasattr(time, "CLOCK_BOOTTIME")
        self._boot = _boot_id()
        kept = self._read()
        self._seen = self._last_seen = kept.seen
        fresh, boot = self._look()
        self._offset, self._apart, self._unsure = fresh, 0.0, False
        self._was_apart = 0.0
        self._followed_at = self._kept_at = boot
        self._slept_by_wall, self._asleep_before = 0.0, self._asleep()
        self._written = False
        if self._boot and kept.boot == self._boot and kept.offset is not None and self._counts_sleep:
            self._offset, self._apart, self._unsure = kept.offset, kept.apart, kept.unsure
            self._was_apart = kept.was_apart
            self._since = kept.since or _at(self._offset)
            return
        self._since = _at(self._offset)
        self._begin(kept, fresh, boot)
        if self._boot:
            self._keep()

    def _begin(self, kept: "_Kept", fresh: float, boot: float) -> None:
        """Look, at the first start since the laptop was, whether its clock can be right."""
        wall = _at(fresh + boot)
        if SMALL < abs(kept.apart) < FAR.total_seconds():
            # The clock that the painter called wrong may be as wrong as it was, or may have been set right.
            self._was_apart = kept.apart
            earliest = min(wall, wall - timedelta(seconds=kept.apart))
            self.hold(earliest if kept.seen is None else max(earliest, kept.seen))
        elif kept.seen is not None and wall < kept.seen - timedelta(seconds=BEHIND):
            self.hold(kept.seen)
        elif wall < BUILT:
            self.hold(wall)

    # --- the time ----------------------------------------------------------------------------------

    def now(self) -> datetime:
        """Give the present instant (UTC), free of steps of the wall clock."""
        fresh, boot = self._look()
        self._follow(fresh, boot)
        return _at(self._offset + boot)

    def wall(self) -> datetime:
        """Give what the laptop's clock shows (UTC)."""
        return _at(time.time())

    def stepped(self) -> timedelta:
        """Say by how much the wall clock was moved against the time kept here, unless that was settled."""
        fresh, boot = self._look()
        self._follow(fresh, boot)
        gap = fresh - self._offset - self._apart
        return timedelta(seconds=gap) if abs(gap) > SMALL and not self._unsure else timedelta(0)

    def _follow(self, fresh: float, boot: float) -> None:
        """Follow what is no step: the slewing of a time service, its small corrections, and sleep not counted."""
        if self._apart and not self._unsure and abs(fresh - self._offset) <= SMALL:
            self._apart = 0.0  # the laptop's clock was set right: it agrees again
        gap = fresh - self._offset - self._apart
        told_right = self._unsure and fresh > self._offset  # that is no sleep: clockwatch.py looks at it
        if STEP < gap <= FAR.total_seconds() and not self._counts_sleep and not told_right:
            self._slept_by_wall += gap
            self._offset += gap
        elif abs(gap) <= STEP:
            self._offset += gap
        elif abs(gap) <= SMALL:
            most = SLEW * max(0.0, boot - self._followed_at)
            self._offset += max(-most, min(gap, most))
        self._followed_at = boot

    @property
    def unsure(self) -> bool:
        """Whether `now` is only the earliest that it can be: the laptop's clock can't be right."""
        return self._unsure

    @property
    def was_apart(self) -> timedelta:
        """By how much the laptop's clock was ahead of the time the painter told, before it was restarted."""
        return timedelta(seconds=self._was_apart)

    @property
    def since(self) -> datetime:
        """The instant (by `now`) from which on all was entered by this one run of the clock: when the laptop started.

        Where the time is held, from when on it is. Where no clock counts the sleep, as if the laptop had not slept
        before the tool was started.
        """
        return self._since

    # --- what the painter says of it ---------------------------------------------------------------

    def take_wall_clock(self) -> None:
        """Go by the wall clock as it stands from now on."""
        fresh, _ = self._look()
        self.move(timedelta(seconds=fresh - self._offset))

    def set_true_time(self, real: datetime) -> None:
        """Go by `real` as the present instant, until the laptop is restarted."""
        _, boot = self._look()
        self.move(real - _at(self._offset + boot))

    def move(self, by: timedelta) -> None:
        """Put the own time forward by `by` (0: leave it), and go by it whatever the laptop's clock shows."""
        fresh, _ = self._look()
        self._offset += by.total_seconds()
        self._since += by
        gap = fresh - self._offset
        self._apart = gap if abs(gap) > SMALL else 0.0
        self._unsure, self._was_apart = False, 0.0
        self._see()

    def hold(self, at: datetime) -> None:
        """Go on from just after `at`, the earliest that it can be, until it is known better.

        No wait is claimed over that may still run, and all of them run on. What was entered until `at` was not by this
        run of the clock; nothing may have been entered by it yet.
        """
        fresh, boot = self._look()
        self._offset = (at + _JUST - _EPOCH).total_seconds() - boot
        self._since = at + _JUST / 2
        self._apart, self._unsure = fresh - self._offset, True
        self._keep()

    def mark(self) -> Mark:
        """Give how the own time lies, for `restore`."""
        return Mark(self._offset, self._apart, self._unsure)

    def restore(self, before: Mark, after: Mark) -> None:
        """Take back what was done between the two marks, whatever passed since."""
        by = before.offset - after.offset
        self._offset += by
        self._since += timedelta(seconds=by)
        self._apart, self._unsure = before.apart, before.unsure
        self._see()

    # --- that the tool runs ------------------------------------------------------------------------

    @property
    def last_seen(self) -> datetime | None:
        """The last instant at which the tool was seen running before this start; None where that is not known."""
        return self._last_seen

    def beat(self) -> None:
        """Note that the tool runs, now and then on disk; look whether the laptop is in another time zone."""
        boot = self._since_boot()
        if self._written and 0 <= boot - self._kept_at < REFRESH:
            return
        if hasattr(time, "tzset"):
            time.tzset()
        self._written = True
        self._see()

    def _see(self) -> None:
        """Write down how the clocks lie, and when this was, where the tool runs and is not only asked something."""
        if self._written:
            self._kept_at = self._since_boot()
            self._seen = self.now()
        self._keep()

    def slept(self) -> timedelta:
        """Say how long the laptop slept since this was last asked, as far as it can be told.

        Where no clock counts sleep it is by how much the wall clock went ahead.
        """
        asleep = self._asleep()
        gone = max(0.0, asleep - self._asleep_before) + self._slept_by_wall
        self._asleep_before, self._slept_by_wall = asleep, 0.0
        return timedelta(seconds=gone) if gone > STEP else timedelta(0)

    def _asleep(self) -> float:
        return self._since_boot() - time.monotonic() if self._counts_sleep else 0.0

    # --- the system's clocks -----------------------------------------------------------------------

    def _since_boot(self) -> float:
        boot = getattr(time, "CLOCK_BOOTTIME", None)
        return time.clock_gettime(boot) if boot is not None else time.monotonic()

    def _look(self) -> tuple[float, float]:
        """Give the wall clock less the boot clock, and the boot clock, as near to one moment as can be.

        A process that is stopped between the two readings, by a lid that closes, must not see a step.
        """
        for _ in range(5):
            before, wall, boot = self._since_boot(), time.time(), self._since_boot()
            if boot - before < _NEAR:
                break
        return wall - boot, boot

    # --- the anchor --------------------------------------------------------------------------------

    def _read(self) -> "_Kept":
        if self._anchor is None:
            return _Kept()
        try:
            kept = json.loads(self._anchor.read_text(encoding="utf-8"))
            return _Kept.read(kept) if isinstance(kept, dict) else _Kept()
        except (OSError, ValueError, RecursionError):
            return _Kept()

    def _keep(self) -> None:
        if self._anchor is None:
            return
        from benchtool.store import atomic

        told: dict[str, Any] = {"boot": self._boot, "offset": self._offset, "apart": self._apart}
        told |= {"unsure": self._unsure, "was_apart": self._was_apart, "since": self._since.isoformat()}
        if self._seen is not None:
            told["seen"] = self._seen.isoformat()
        # Without the anchor only what happened between two starts goes unnoticed. It outlives a power cut: a battery
        # that dies is what puts a clock back to 1970.
        with suppress(OSError, ValueError):
            self._anchor.parent.mkdir(parents=True, exist_ok=True)
            atomic.write(self._anchor, json.dumps(told).encode("utf-8"), keep=0)


@dataclass(frozen=True, slots=True)
class _Kept:
    """What the anchor tells; what is amiss in it is as if it were not there."""

    boot: str = ""
    offset: float | None = None
    apart: float = 0.0
    unsure: bool = False
    was_apart: float = 0.0
    since: datetime | None = None
    seen: datetime | None = None

    @classmethod
    def read(cls, kept: dict[str, Any]) -> "_Kept":
        boot, offset = kept.get("boot"), _number(kept.get("offset"))
        return cls(
            boot=boot if isinstance(boot, str) else "",
            offset=offset,
            apart=_number(kept.get("apart")) or 0.0,
            unsure=kept.get("unsure") is True,
            was_apart=_number(kept.get("was_apart")) or 0.0,
            since=_instant(kept.get("since")),
            seen=_instant(kept.get("seen")),
        )


_LATEST_S = 4_000_000_000 * 10.0


def _number(value: object) -> float | None:
    """Read seconds that a clock can show."""
    good = isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < _LATEST_S
    return float(value) if good and isinstance(value, int | float) else None


def _instant(value: object) -> datetime | None:
    try:
        at = datetime.fromisoformat(value) if isinstance(value, str) else None
        return at.astimezone(UTC) if at is not None and at.tzinfo is not None else None
    except (ValueError, OverflowError):
        return None


def _at(seconds: float) -> datetime:
    """Give the instant so many seconds after 1970; also before it, which not every system reckons."""
    return _EPOCH + timedelta(seconds=seconds)


def _boot_id() -> str:
    try:
        return Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
    except OSError:
        return ""
