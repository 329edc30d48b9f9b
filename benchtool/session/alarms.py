"""Alarms: what to call out when a window opens, is about to close, or has closed."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from benchtool.job.windows import FOR_GOOD, Window
from benchtool.trade.windows import Phase


class Call(StrEnum):
    """The three things an alarm can say; each has its own sound."""

    NOW = "now"
    SOON = "soon"
    LATE = "late"


SHOWN = 2
"""So many calls are shown at once; hearing takes these down and shows the next."""

JUST_MISSED = timedelta(hours=1)
"""A deadline missed this lately is still called when the tool starts (judgement, no source)."""

_ORDER = (Call.LATE, Call.SOON, Call.NOW)
_CALLS = {Phase.OPEN: Call.NOW, Phase.CLOSING: Call.SOON, Phase.CLOSED: Call.LATE}


@dataclass(frozen=True, slots=True)
class Alarm:
    """One window that calls, and since when."""

    call: Call
    window: Window
    since: datetime

    def words(self, now: datetime) -> str:
        """Say it as a sentence that names the piece."""
        return f"{self.window.piece_name}: {self.window.words(now)}"


@dataclass(frozen=True, slots=True)
class Ring:
    """What to sound and speak at one moment, however many windows call at it."""

    call: Call
    words: str


class AlarmBoard:
    """Watches the phases of all windows; what calls stays up until it is heard or no longer true."""

    def __init__(self) -> None:
        self._phases: dict[tuple[str, str], Phase] = {}
        self._up: dict[tuple[str, str], Alarm] = {}
        self._quiet_until: datetime | None = None
        self._primed = False
        self._held_back = False
        self._windows: tuple[tuple[str, Window], ...] = ()
        self._looked_at = self._next_edge = FOR_GOOD

    def quiet_until(self, now: datetime) -> datetime | None:
        """Until when the sounds are off; None when they are on."""
        return self._quiet_until if self._quiet_until is not None and now < self._quiet_until else None

    def silence(self, now: datetime, span: timedelta) -> None:
        """Keep the sounds off for `span`; the words stay on the screen."""
        self._quiet_until = now + span

    def sound_again(self) -> None:
        """Let the sounds ring again."""
        self._quiet_until = None

    def heard(self) -> None:
        """Take down the calls that were shown; the windows themselves stay in the watch."""
        shown = self.up()[:SHOWN]
        self._up = {place: alarm for place, alarm in self._up.items() if alarm not in shown}

    def up(self) -> tuple[Alarm, ...]:
        """Give what calls and was not heard yet, worst first."""
        return tuple(sorted(self._up.values(), key=lambda a: (_ORDER.index(a.call), a.since)))

    def update(self, windows: Iterable[tuple[str, Window]], now: datetime) -> Ring | None:
        """Look at all windows (with the path of their job) at `now`; give what to sound, if anything.

        The first look sounds nothing, but puts up what is closing or was just missed: after a restart the
        words must be there. What was held back by a silence sounds once when it ends.
        """
        windows = tuple(windows)
        between = windows == self._windows and self._looked_at <= now < self._next_edge
        if between and not self._held_back:
            return None  # between two edges nothing begins to call, and nothing ends
        self._windows, self._looked_at = windows, now
        self._next_edge = min((w.next_edge(now) for _, w in windows), default=FOR_GOOD)
        seen: dict[tuple[str, str], Phase] = {}
        fresh: list[Alarm] = []
        current: dict[tuple[str, str], Window] = {}
        for path, window in windows:
            place = (path, window.key)
            phase = window.phase(now)
            seen[place], current[place] = phase, window
            before = self._phases.get(place)
            call = _CALLS.get(phase)
            if not self._primed and window.needed and _just_missed(window, phase, now):
                self._up[place] = Alarm(_CALLS[phase], window, now)
            if call is None or before is None or before is phase or not self._primed:
                continue
            fresh.append(Alarm(call, window, now))
            self._up[place] = fresh[-1]
        for place in list(self._up):
            if place not in current or _CALLS.get(seen[place]) is not self._up[place].call:
                del self._up[place]
        self._phases, self._primed = seen, True
        if self.quiet_until(now) is not None:
            self._held_back = self._held_back or bool(fresh)
            return None
        if self._held_back:
            self._held_back = False
            fresh = list(self._up.values())
        if not fresh:
            return None
        fresh.sort(key=lambda a: _ORDER.index(a.call))
        return Ring(fresh[0].call, _one_sentence(fresh, now))


def _just_missed(window: Window, phase: Phase, now: datetime) -> bool:
    closes = window.span.closes_at
    return phase in (Phase.CLOSING, Phase.CLOSED) and closes is not None and now - closes < JUST_MISSED


def _one_sentence(alarms: list[Alarm], now: datetime) -> str:
    said = [a.words(now) for a in alarms[:SHOWN]]
    more = len(alarms) - len(said)
    return "; ".join(said) + (f"; and {more} more." if more else ".")
