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
        return f"{self.window.piece_name}: {_lower(self.window.words(now))}"


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:] if not text.startswith("Coat") else text


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
        """Take down what calls; the windows themselves stay in the watch."""
        self._up.clear()

    def up(self) -> tuple[Alarm, ...]:
        """Give what calls and was not heard yet, worst first."""
        return tuple(sorted(self._up.values(), key=lambda a: (_ORDER.index(a.call), a.since)))

    def update(self, windows: Iterable[tuple[str, Window]], now: datetime) -> Ring | None:
        """Look at all windows (with the path of their job) at `now`; give what to sound, if anything.

        The first look only learns what there is: starting the tool calls out nothing that is old.
        """
        windows = tuple(windows)
        if windows == self._windows and self._looked_at <= now < self._next_edge:
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
            if call is None or before is None or before is phase or not self._primed:
                continue
            fresh.append(Alarm(call, window, now))
            self._up[place] = fresh[-1]
        for place in list(self._up):
            if place not in current or _CALLS.get(seen[place]) is not self._up[place].call:
                del self._up[place]
        self._phases, self._primed = seen, True
        if not fresh or self.quiet_until(now) is not None:
            return None
        fresh.sort(key=lambda a: _ORDER.index(a.call))
        return Ring(fresh[0].call, _one_sentence(fresh, now))


def _one_sentence(alarms: list[Alarm], now: datetime) -> str:
    said = [a.words(now) for a in alarms[:2]]
    more = len(alarms) - len(said)
    return "; ".join(said) + (f"; and {more} more." if more else ".")
