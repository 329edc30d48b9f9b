"""What an alarm says, on the screen and by voice."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from benchtool.job.windows import Window
from benchtool.session.alarmstates import AlarmState, Call, Priority, priority, weight
from benchtool.trade.numbers import shorten, span_words
from benchtool.trade.windows import WindowKind

MOST_WORDS = 25
"""So many words are spoken at most: about ten seconds at the usual 150 words a minute (judgement, no source)."""

_TITLES = {Call.NOW: "A wait is over", Call.SOON: "Closing soon", Call.LATE: "Too late"}
_LONGEST_NAME = 20
_JUST = re.compile(r"\b\d s ago")
_CLOCK = re.compile(r"\b(?:(\d+) d )?(\d+):(\d\d)(?::(\d\d))?\b")


@dataclass(frozen=True, slots=True)
class Alarm:
    """The call of one window of the job at `path`: what it says, since when, and whether it was heard.

    `until` is when a call that is put off comes back, or one that passed is no longer shown. `rung` counts how
    often it was sounded or told with others, last at `rung_at`. `told` says that a summary speaks for it.
    """

    call: Call
    window: Window
    since: datetime
    path: str = ""
    state: AlarmState = AlarmState.UNACKNOWLEDGED
    until: datetime | None = None
    rung: int = 0
    rung_at: datetime | None = None
    told: bool = False
    calls: bool = True

    @property
    def place(self) -> tuple[str, str]:
        """What tells its window from every other of every open job."""
        return self.path, self.window.key

    @property
    def priority(self) -> Priority:
        """How much hangs on it."""
        return priority(self.call, needed=self.window.needed)

    @property
    def weight(self) -> tuple[int, int, datetime]:
        """What calls are sorted by, the worst first."""
        first, second = weight(self.call, needed=self.window.needed)
        return int(first), second, self.since

    @property
    def where(self) -> str:
        """The piece and the layer."""
        return f"{self.window.piece_name}, {self.window.layer_name}"

    def words(self, now: datetime) -> str:
        """Say it as a sentence that names the piece and the layer."""
        return f"{self.where}: {self.window.words(now)}"

    def state_words(self) -> str:
        """Say how it stands: not heard yet, passed unheard, or put off, with the clock time."""
        at = f"{self.since.astimezone():%H:%M}"
        if self.state is AlarmState.SHELVED and self.until is not None:
            return f"put off until {self.until.astimezone():%H:%M}"
        return f"called {at}, passed, not heard" if self.state is AlarmState.RETURNED else f"called {at}, not heard"


@dataclass(frozen=True, slots=True)
class Ring:
    """What to sound and speak at one moment, however many windows call at it."""

    call: Call
    words: str
    title: str = ""
    grave: bool = False

    @property
    def heading(self) -> str:
        """A few words to put above `words`."""
        return self.title or _TITLES[self.call]


@dataclass(frozen=True, slots=True)
class Summary:
    """What opened and closed while nobody could look: from `since` to `at`. `why` says why nobody could."""

    why: str
    since: datetime
    at: datetime
    items: tuple[Alarm, ...]

    @property
    def call(self) -> Call:
        """The worst of what happened."""
        return self.items[0].call

    @property
    def grave(self) -> bool:
        """Whether a deadline is among it."""
        return self.items[0].priority is Priority.DEADLINE

    @property
    def head(self) -> str:
        """How long nobody could look, and how many windows did what."""
        return f"{self._while}: {', '.join(f'{len(of)} {what}' for what, of in self._groups())}."

    @property
    def words(self) -> str:
        """Say all of it in one sentence that can be spoken, the worst by name."""
        told = []
        for what, of in self._groups():
            grave = of[0].priority is Priority.DEADLINE
            names = [_label(a) for a in of[: 2 if grave else 1]]
            more = " and more" if len(of) > len(names) else ""
            told.append(f"{len(of)} {what}" + (f": {', '.join(names)}{more}" if grave else f" ({names[0]}{more})"))
        whole = f"{self._while}: {', '.join(told)}."
        return whole if len(whole.split()) <= MOST_WORDS else spoken(f"{self.head} First {_label(self.items[0])}.")

    def lines(self, now: datetime, most: int = 4) -> tuple[str, ...]:
        """Say what each window asks for at `now`, the worst first, and how many more there are."""
        lines = [a.words(now) for a in self.items[:most]]
        more = len(self.items) - most
        return (*lines, f"and {more} more") if more > 0 else tuple(lines)

    @property
    def _while(self) -> str:
        return f"{self.why}, {span_words((self.at - self.since).total_seconds())}"

    def _groups(self) -> list[tuple[str, list[Alarm]]]:
        opened = [a for a in self.items if a.priority is Priority.SPRAY]
        closing = [a for a in self.items if a.priority is Priority.DEADLINE and a.call is Call.SOON]
        closed = [a for a in self.items if a.priority is Priority.DEADLINE and a.call is Call.LATE]
        cured = [a for a in self.items if a.priority is Priority.INFORMS]
        groups = [("done waiting", cured), ("opened", opened), ("closing soon", closing), ("closed", closed)]
        return [(what, of) for what, of in groups if of]


def _label(alarm: Alarm) -> str:
    window = alarm.window
    what = {WindowKind.RECOAT: " recoat", WindowKind.POT_LIFE: " pot life"}.get(window.kind, "")
    return f"{shorten(window.piece_name, _LONGEST_NAME)} {shorten(window.layer_name, _LONGEST_NAME)}{what}"


def spoken(text: str) -> str:
    """Make words fit to be spoken: no figures of a clock, and no more words than one listens to."""
    words = _JUST.sub("just now", _CLOCK.sub(_span, text)).replace("is 0 s late", "is late").split()
    return " ".join(words) if len(words) <= MOST_WORDS else " ".join(words[: MOST_WORDS - 1]) + " ..."


def _span(found: re.Match[str]) -> str:
    days, first, second, third = (int(g) if g is not None else None for g in found.groups())
    if days is not None or third is not None:
        hours, minutes, seconds = first or 0, second or 0, third or 0
    else:
        hours, minutes, seconds = 0, first or 0, second or 0
    span = timedelta(days=days or 0, hours=hours, minutes=minutes, seconds=seconds)
    return span_words(span.total_seconds())


def one_sentence(alarms: Sequence[Alarm], coming: int, now: datetime, *, again: bool = False) -> str:
    """Say in one sentence what `alarms` (the worst first) and the `coming` next minute's calls ask for."""
    first = alarms[0]
    window = replace(
        first.window,
        piece_name=shorten(first.window.piece_name, _LONGEST_NAME),
        layer_name=shorten(first.window.layer_name, _LONGEST_NAME),
        then=shorten(first.window.then, _LONGEST_NAME),
    )
    words = f"{window.piece_name}, {window.layer_name}: {window.words(now)}."
    count = len(alarms) + coming
    if again:
        return spoken(f"Not heard yet: {words}" if count == 1 else f"{count} not heard yet: first {words}")
    if count == 1:
        return spoken(words)
    return spoken(f"{count} come due {'within a minute' if coming else 'now'}: first {words}")
