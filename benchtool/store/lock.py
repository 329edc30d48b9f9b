"""One writer for one job file.

The lock is the system's own (`.<name>.lock` beside the real file): it ends with the process, however that
ends. `.<name>.holder` says who has it, for people alone: it decides nothing, so one left behind by a process
that was killed does no harm.
"""

import errno
import getpass
import os
import socket
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Self

import msgspec
from filelock import FileLock, Timeout

from benchtool.store.files import one_line, read_file, real_path, write_protected

_LARGEST_NOTE = 4_096


class _Note(msgspec.Struct, omit_defaults=True):
    pid: int | None = None
    host: str = ""
    user: str = ""
    since: datetime | None = None


@dataclass(eq=False)
class Lock:
    """The right to write the job file `path` (links followed), until `release` or the end of the process."""

    path: Path
    _lock: FileLock
    _note: Path

    def release(self) -> None:
        """Give the right back; a second time does nothing."""
        if self._lock.is_locked:
            with suppress(OSError):
                self._note.unlink(missing_ok=True)
            self._lock.release()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, fault: BaseException | None, at: TracebackType | None) -> None:
        self.release()


@dataclass(frozen=True, slots=True, kw_only=True)
class Holder:
    """Who has the job open for writing, as far as it is known."""

    pid: int | None = None
    host: str = ""
    user: str = ""
    since: datetime | None = None

    def __str__(self) -> str:
        who = f" {self.user}" if self.user else ""
        where = f" on {self.host}" if self.host else ""
        when = f" since {self.since.astimezone():%Y-%m-%d %H:%M}" if self.since is not None else ""
        number = f" (process {self.pid})" if self.pid is not None else ""
        holder = f"{who}{where}{when}" or " Somebody"
        return f"Open for writing in another window:{holder}{number}. Here it is shown read-only."


@dataclass(frozen=True, slots=True)
class NoLock:
    """The right to write can't be had here at all; `why` is a sentence."""

    why: str

    def __str__(self) -> str:
        return self.why


def acquire(path: Path, now: datetime | None = None) -> Lock | Holder | NoLock:
    """Ask for the right to write the job file at `path`, without waiting for it.

    Gives the `Lock`, or the `Holder` that has it, or `NoLock` where it can't be had: then the job is opened
    read-only. All links to one file share one lock. `now` is what is noted as the time it was taken.
    """
    try:
        target = real_path(path)
        why = _hindrance(target)
        if why is not None:
            return why
        lock = FileLock(target.with_name(f".{target.name}.lock"), timeout=0, thread_local=False, fallback_to_soft=False)
        note = target.with_name(f".{target.name}.holder")
        try:
            lock.acquire()
        except Timeout:
            return _read_note(note)
    except (OSError, ValueError, NotImplementedError) as fault:
        return NoLock(f"This job can't be locked here ({_reason(fault)}), so it is shown read-only.")
    mine = _Note(pid=os.getpid(), host=socket.gethostname(), user=_user(), since=now)
    with suppress(OSError):
        note.write_bytes(msgspec.json.encode(mine) + b"\n")
    return Lock(target, lock, note)


def _hindrance(target: Path) -> NoLock | None:
    if not os.access(target.parent, os.W_OK | os.X_OK):
        return NoLock("Its folder may not be written to, so this job is shown read-only.")
    with suppress(FileNotFoundError):
        if write_protected(target, target.stat()):
            return NoLock("Its file is write-protected, so this job is shown read-only.")
    return None


def _reason(fault: Exception) -> str:
    if isinstance(fault, OSError):
        if fault.errno == errno.ELOOP:
            return "its links lead round in a ring"
        return one_line(fault.strerror or type(fault).__name__, 60)
    return "its disk knows no locks" if isinstance(fault, NotImplementedError) else "its name"


def _user() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return ""


def _read_note(note: Path) -> Holder:
    try:
        told = msgspec.json.decode(read_file(note, _LARGEST_NOTE), type=_Note)
        since = told.since or datetime.fromtimestamp(note.stat().st_mtime, tz=UTC)
        return Holder(pid=told.pid, host=one_line(told.host, 60), user=one_line(told.user, 60), since=since)
    except (OSError, ValueError, OverflowError):
        return Holder()
