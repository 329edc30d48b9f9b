"""One open job: its record, the state folded from it, and how its file stands."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from benchtool.job import events as ev
from benchtool.job.record import Job, is_logged, last_act
from benchtool.job.state import State, fold, grow
from benchtool.job.windows import Window, all_windows
from benchtool.rules.engine import Review
from benchtool.rules.finding import Finding, Tables
from benchtool.store import jobfile
from benchtool.store.lock import Lock

Draft = Callable[..., ev.Event]
"""An event still without its id and time: `partial(ev.CoatDone, layer="l1")`."""


class NotNow(Exception):
    """The act can't be done; the message says why and what to do."""


@dataclass(eq=False)
class Document:
    """One open job: the record, what was folded from it, how its file stands, and what was booked of its pours."""

    path: Path
    job: Job
    read_only: str = ""
    unsaved: str = ""
    notes: tuple[str, ...] = ()
    lock: Lock | None = None
    tried_at: datetime | None = None
    stamp: int | None = None
    booked: tuple[ev.Poured, ...] = field(init=False)
    state: State = field(init=False)
    windows: tuple[Window, ...] = field(init=False)
    can_undo: bool = field(init=False)
    _found: tuple[datetime, tuple[Finding, ...]] | None = None
    _review: Review | None = None

    def __post_init__(self) -> None:
        self._refold()
        self.booked = self.state.lot_pours

    @property
    def title(self) -> str:
        """What the painter calls this job."""
        return self.state.title or self.path.stem

    def become(self, job: Job) -> None:
        """Take `job` as the record: where it only grew, the state grows with it, else it is folded anew."""
        before, self.job = self.job, job
        new = _added(before, job)
        if new is None:
            self._refold()
            return
        for place, event in enumerate(new, start=len(before.events)):
            grow(self.state, place, event)
        self.can_undo = self.can_undo or not all(is_logged(event) for event in new)
        self._look()

    def _refold(self) -> None:
        self.state = fold(self.job)
        self.can_undo = bool(last_act(self.job))
        self._look()

    def _look(self) -> None:
        self.windows = all_windows(self.state)
        self._review = self._found = None

    def read_again(self) -> bool:
        """Follow the file of a read-only job, which somebody else may be writing; says whether it changed."""
        stamp = stamp_of(self.path)
        before, self.stamp = self.stamp, stamp
        if stamp is None or before in (None, stamp):
            return False
        try:
            self.become(jobfile.load(self.path).job)
        except jobfile.JobFileFault:
            self.stamp = before  # half-way through a change: look again at the next beat
            return False
        return True

    def findings(self, now: datetime, tables: Tables) -> tuple[Finding, ...]:
        """Give the findings at `now`, worked out once for a moment."""
        if self._review is None or self._review.tables is not tables:
            self._review, self._found = Review(self.job, self.state, tables), None
        if self._found is None or self._found[0] != now:
            self._found = (now, self._review.at(now))
        return self._found[1]


def _added(before: Job, after: Job) -> tuple[ev.Event, ...] | None:
    """Give what was appended; None where anything else changed, or an event changes what was before it."""
    new = after.events[len(before.events) :]
    same = after.events[: len(before.events)] == before.events and after.created == before.created
    return None if not same or any(isinstance(e, ev.Withdrawn | ev.Corrected | ev.ClockAnswered) for e in new) else new


def stamp_of(path: Path) -> int | None:
    """Say when a file was last written (ns); None where it can't be told."""
    try:
        return path.stat().st_mtime_ns
    except OSError:
        return None
