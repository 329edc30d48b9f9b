"""The folders of jobs as they are looked into for the index: what lies there, and each job file as it is read.

Nothing is written here, whatever is found.
"""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from msgspec import DecodeError, Struct, json

from benchtool.job.record import FORMAT
from benchtool.store.atomic import versions
from benchtool.store.faults import LARGEST, JobFileFault
from benchtool.store.files import read_file
from benchtool.store.jobfile import Opened
from benchtool.store.trialfiles import BLANK, OURS, Stamp, Why, job_files, load_if

__all__ = ["JobFileFault", "Opened", "Seen", "Stamp", "Why", "look_into", "read_job"]


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

    An empty or mangled file beside which earlier versions of a job lie was a job, and is told. A file of another kind,
    such as the shop's or a card, is no job, whatever stands in it or beside it.

    Raises:
        JobFileFault: it is a job and can't be read, or it can't be got at.
    """
    return load_if(path, lambda data: _is_job(data) or (_may_have_been(data) and _was_job(path, data)))


class _Head(Struct):
    format: Any = None


def _head(data: bytes) -> _Head | None:
    """Give what a whole file says it is; None for one that is no JSON, or no object."""
    try:
        return json.decode(data, type=_Head)
    except (DecodeError, RecursionError, UnicodeDecodeError):
        return None


def _is_job(data: bytes) -> bool:
    """Whether this is a job, or what is left of one."""
    if OURS not in data:
        return False
    head = _head(data)
    return head is None or head.format == FORMAT


def _may_have_been(data: bytes) -> bool:
    head = _head(data)
    return head is None or head.format is None


def _was_job(path: Path, data: bytes) -> bool:
    """Whether a job lay where there is now something else: a version that can't be read may be one."""
    kept = versions(path)
    return any(_held_job(version) for version in kept) if kept else not data.strip(BLANK)


def _held_job(version: Path) -> bool:
    try:
        return _is_job(read_file(version, LARGEST))
    except (OSError, ValueError):
        return True
