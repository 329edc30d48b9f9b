"""The folders of jobs as they are looked into for the index: what lies there, and each job file as it is read.

Nothing is written here, whatever is found.
"""

import errno
from dataclasses import dataclass
from pathlib import Path

from benchtool.job.record import FORMAT
from benchtool.store import jobfile
from benchtool.store.atomic import versions
from benchtool.store.faults import LARGEST, JobFileFault, cant_reach
from benchtool.store.files import NotOrdinary, TooLarge, read_file
from benchtool.store.jobfile import Opened
from benchtool.store.trialfiles import Stamp, Why, job_files

__all__ = ["JobFileFault", "Opened", "Seen", "Stamp", "Why", "look_into", "read_job"]

_OURS = f'"{FORMAT}"'.encode()
_GONE = (errno.ENOENT, errno.ENOTDIR, errno.EISDIR)


@dataclass(frozen=True, slots=True)
class Seen:
    """What may be jobs in a folder, the one written last first; or why it can't be looked into.

    `device` is the number of the disk that the folder lies on, by which a share that fell off is known.
    """

    files: tuple[tuple[Path, Stamp], ...] = ()
    device: int = 0
    why: Why | None = None


def look_into(folder: Path) -> Seen:
    """List what may be job files in this folder; the folders in it are not looked into."""
    listed = job_files([folder])
    if listed.shut:
        return Seen(why=listed.shut[0][1])
    try:
        return Seen(listed.files, folder.stat().st_dev)
    except OSError:
        return Seen(why=Why.GONE)


def read_job(path: Path) -> Opened | None:
    """Read a job file and check all of it; None for a file that is no job, and for one that is gone.

    An empty or mangled file beside which earlier versions of a job lie was a job, and is told.

    Raises:
        JobFileFault: it is a job and can't be read, or it can't be got at.
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
    if _OURS not in data and data.strip(b" \t\r\n\x00") and not versions(path):
        return None
    try:
        return jobfile.load(path)
    except JobFileFault:
        if not path.exists():
            return None
        raise
