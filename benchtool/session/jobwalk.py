"""The threads that read the folders of jobs into the index, one a folder: a disk that hangs holds up no other."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from queue import SimpleQueue
from threading import Event, Thread
from typing import Generic, TypeVar

from benchtool.job.state import fold
from benchtool.rules.finding import Tables
from benchtool.session.jobfacts import entries_of
from benchtool.session.jobreading import looked_at
from benchtool.store.jobfolders import Seen, Stamp, Why, look_into, read_job
from benchtool.store.jobindex import Entry, JobIndex, Restarted
from benchtool.trade.saying import say

Given = TypeVar("Given")

_FRESH_NS = 3_000_000_000
"""A file written so short a time before it was read (ns) may be written again within the same tick of its clock: it is
read once more next time. Two seconds is the coarsest clock that a disk has (FAT)."""


@dataclass(frozen=True, slots=True)
class Read:
    """So many of so many files of a folder are read."""

    folder: str
    read: int
    of: int


@dataclass(frozen=True, slots=True)
class Shut:
    """A folder can't be looked into."""

    folder: str
    why: Why


@dataclass(frozen=True, slots=True)
class Broke:
    """The reading of a folder broke off."""

    folder: str
    why: str


@dataclass(frozen=True, slots=True)
class Done:
    """A folder was read to its end, at this instant."""

    folder: str
    at: datetime


News = Read | Shut | Broke | Done


class InThread(Generic[Given]):
    """One piece of work in a thread of its own."""

    def __init__(self, work: Callable[[], Given]) -> None:
        self._work = work
        self._given: list[Given] = []
        self._fault: BaseException | None = None
        self._thread = Thread(target=self._run, name="jobs-index", daemon=True)
        self._thread.start()

    def _run(self) -> None:
        try:
            self._given.append(self._work())
        except BaseException as fault:  # noqa: BLE001 - whoever asked for the work is told
            self._fault = fault

    def over(self, seconds: float) -> bool:
        """Wait so long at most; says whether it is done."""
        self._thread.join(seconds)
        return not self._thread.is_alive()

    def result(self) -> Given:
        """Give what it came to, or raise what stopped it."""
        if self._fault is not None:
            raise self._fault
        return self._given[0]


class Walker:
    """Reads one folder into the index, as it is at the instant `at`, and tells how it goes."""

    def __init__(
        self,
        folder: str,
        index: JobIndex,
        tables: Tables,
        at: datetime,
        told: "SimpleQueue[News]",
    ) -> None:
        self.folder = folder
        self._index, self._tables, self._at, self._told = index, tables, at, told
        self._round = index.round
        self._stop = Event()
        self._thread = Thread(target=self._run, name="jobs-folder", daemon=True)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def stop(self) -> None:
        """Read no further file."""
        self._stop.set()

    def _run(self) -> None:
        try:
            self._read()
        except Restarted:
            self._told.put(Broke(self.folder, say("the index was begun anew")))
        except Exception as fault:  # noqa: BLE001 - whatever it was, the window is told and goes on
            self._told.put(Broke(self.folder, type(fault).__name__))

    def _read(self) -> None:
        at = self._at
        known, last, seen = self._index.known(), self._index.read_at(self.folder), look_into(Path(self.folder))
        if seen.why is not None:
            self._told.put(Shut(self.folder, seen.why))
            return
        if not seen.files and last is not None and seen.device != last.device and self._had_files(known):
            self._told.put(Shut(self.folder, Why.GONE))  # the bare place where a share was mounted
            return
        fresh = int(at.timestamp()) * 1_000_000_000 - _FRESH_NS
        gone: set[Path] = set()
        for i, (path, stamp) in enumerate(seen.files):
            self._told.put(Read(self.folder, i, len(seen.files)))
            kept, under = known.get(str(path), (None, ""))
            if kept != stamp and not self._take(path, stamp if stamp[0] < fresh else (0, -1)):
                gone.add(path)
            elif kept == stamp and under != self.folder:
                self._index.move(str(path), self.folder)
            if self._stop.is_set():
                return
        if gone and (why := self._fell_off(seen)) is not None:
            self._told.put(Shut(self.folder, why))
            return
        there = (str(path) for path, _ in seen.files if path not in gone)
        self._index.walked(self.folder, there, int(at.timestamp()), seen.device, self._round)
        self._told.put(Read(self.folder, len(seen.files), len(seen.files)))
        self._told.put(Done(self.folder, at))

    def _had_files(self, known: Mapping[str, tuple[Stamp, str]]) -> bool:
        return any(under == self.folder for _, under in known.values())

    def _fell_off(self, seen: Seen) -> Why | None:
        """Say why a folder out of which files went while it was read can't be looked into any more."""
        again = look_into(Path(self.folder))
        return again.why if again.why is not None or again.device == seen.device else Why.GONE

    def _take(self, path: Path, stamp: Stamp) -> bool:
        """Take what a file holds; says False where it is gone: what is known of it stays until its folder tells."""
        job, entries, fault = self._looked_at(path)
        if self._stop.is_set():  # it may have hung for long: what it gives is no longer waited for
            return True
        if not job and not fault and not path.exists():
            return False
        self._index.put(self.folder, str(path), stamp, job, entries, fault=fault)
        return True

    def _looked_at(self, path: Path) -> tuple[str, tuple[Entry, ...], str]:
        def shown(path: Path) -> tuple[str, tuple[Entry, ...]]:
            opened = read_job(path)
            if opened is None:
                return "", ()
            return opened.job.id, tuple(entries_of(opened.job, fold(opened.job), self._tables))

        found, fault = looked_at(path, shown)
        return (*(found or ("", ())), fault)
