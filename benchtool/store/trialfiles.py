"""The job files of some folders that hold a trial: found by their bytes, so that few of a thousand are parsed.

Nothing is written here, whatever is found.
"""

import errno
import os
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from enum import Enum, auto
from pathlib import Path
from zlib import crc32

from benchtool.job.record import FORMAT
from benchtool.store import jobfile
from benchtool.store.faults import LARGEST, JobFileFault, cant_reach
from benchtool.store.files import NotOrdinary, TooLarge, read_file
from benchtool.store.jobfile import Opened

SUFFIX = ".json"
"""How the name of a job file ends."""

VERSIONS = ".versions"
"""How the name of the folder ends that holds the earlier versions of a job."""

_PLANNED = b'"trial planned"'
OURS = f'"{FORMAT}"'.encode()
"""What stands in the bytes of every job file."""

BLANK = b" \t\r\n\x00"
"""What is nothing, at the end of a file: zeros are left by a disk that lost power while it was written."""

_GONE = (errno.ENOENT, errno.ENOTDIR, errno.EISDIR)

Stamp = tuple[int, int]
"""When a file was last written (ns), and a sum of its size and of when anything about it changed: a file with the same
ones is the same file. One that was copied over it with its own old time has another sum where the system tells."""


class Why(Enum):
    """Why a folder can't be looked into."""

    GONE = auto()
    LOCKED = auto()
    ODD = auto()


@dataclass(frozen=True, slots=True)
class Listed:
    """The files that may be jobs, each once, the one written last first; and the folders that can't be looked into."""

    files: tuple[tuple[Path, Stamp], ...] = ()
    shut: tuple[tuple[Path, Why], ...] = ()


def job_files(folders: Iterable[Path]) -> Listed:
    """List what may be job files in these folders; folders within them are not looked into.

    Earlier versions of a job are no jobs of their own: for their folder the one around it is looked into.
    """
    found: dict[Path, Stamp] = {}
    shut: list[tuple[Path, Why]] = []
    for folder in dict.fromkeys(f.parent if f.name.endswith(VERSIONS) else f for f in folders):
        try:
            found.update(_looked_into(folder))
        except (OSError, ValueError) as wrong:
            shut.append((folder, _why(wrong)))
    newest_first = sorted(found.items(), key=lambda item: (-item[1][0], str(item[0])))
    return Listed(tuple(newest_first), tuple(shut))


def _looked_into(folder: Path) -> Iterator[tuple[Path, Stamp]]:
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.name.startswith(".") or not entry.name.casefold().endswith(SUFFIX):
                continue
            try:
                if not entry.is_file():
                    continue
                facts = entry.stat()
            except OSError:  # a link that leads nowhere, or a file that went while we looked
                continue
            told = f"{facts.st_size} {facts.st_ctime_ns}"
            yield Path(os.path.realpath(entry.path)), (facts.st_mtime_ns, crc32(told.encode()))


def _why(wrong: OSError | ValueError) -> Why:
    number = wrong.errno if isinstance(wrong, OSError) else None
    if number in (errno.ENOENT, errno.ENOTDIR):
        return Why.GONE
    return Why.LOCKED if number in (errno.EACCES, errno.EPERM) else Why.ODD


def read_trials(path: Path) -> Opened | None:
    """Read a file if it is a job that holds a trial; None for any other file, and for one that is gone.

    A file of ours that breaks off is told even where what is left of it names no trial.

    Raises:
        JobFileFault: it looks like a job with a trial and can't be read, or it can't be got at.
    """
    return load_if(path, lambda data: OURS in data and (_PLANNED in data or not data.rstrip(BLANK).endswith(b"}")))


def load_if(path: Path, wanted: Callable[[bytes], bool]) -> Opened | None:
    """Read a job file if its bytes are `wanted`; None if not, for what is no ordinary file, and for one that is gone.

    Raises:
        JobFileFault: it is wanted and can't be read, or it can't be got at.
    """
    try:
        data = read_file(path, LARGEST)
    except (TooLarge, NotOrdinary):
        return None
    except OSError as wrong:
        if wrong.errno in _GONE:
            return None
        raise cant_reach(path, wrong).fault(path, None) from None
    except ValueError:
        return None
    if not wanted(data):
        return None
    try:
        return jobfile.load(path)
    except JobFileFault:
        if not path.exists():
            return None
        raise
