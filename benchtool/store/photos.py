"""Photos of pieces and of cross-cuts, and what was taken to be bare in those: kept beside their job.

They lie in `<name of the job's file>.photos/`, each under what its content hashes to (SHA-256), so that the same
photo lies there once. A file that is there is never written over and never removed: not even one that was damaged
since; then the photo is kept once more, under the same name with `-1` after it. Written as `store.atomic` writes.
"""

import errno
import hashlib
import os
import re
from contextlib import suppress
from pathlib import Path
from typing import Final

from benchtool.store import atomic
from benchtool.store.files import NotOrdinary, TooLarge, one_line, read_file, real_path

LARGEST = 200 * 1024 * 1024
"""Bytes that no photo needs: 200 megapixels as a JPEG are some 80 MB (judgement, no source)."""

_OURS = re.compile(r"(?P<sha>[0-9a-f]{64})(?:-\d{1,4})?\.[a-z0-9]{1,8}")
_KINDS = ((b"\xff\xd8\xff", ".jpg"), (b"\x89PNG\r\n\x1a\n", ".png"), (b"RIFF", ".webp"))
_CANT_FLUSH = (errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EBADF)


class PhotoFault(Exception):
    """A photo can't be read or kept; `message` is one plain sentence without its full stop.

    `gone` says that it was kept once, and is not there now or is not what it was; `altered` that it is there.
    """

    def __init__(self, message: str, *, gone: bool = False, altered: bool = False) -> None:
        super().__init__(message)
        self.message: Final = message
        self.gone: Final = gone
        self.altered: Final = altered

    def __str__(self) -> str:
        return self.message


def folder_of(job: Path) -> Path:
    """Give the folder in which the photos of the job at `job` lie, whether it is there or not.

    Raises:
        OSError: the links to the job's file go round in a ring.
        ValueError: no path can be so.
    """
    real = real_path(job)
    return real.with_name(f"{real.name}.photos")


def sha256_of(data: bytes) -> str:
    """Give what tells one content from another: 64 hexadecimal figures."""
    return hashlib.sha256(data).hexdigest()


def name_of(data: bytes) -> str:
    """Give the name under which this photo would be kept, by its content: its ending tells what kind of picture."""
    return _name(sha256_of(data), data)


def _name(sha: str, data: bytes, nth: int = 0) -> str:
    suffix = next((end for mark, end in _KINDS if data.startswith(mark)), ".bin")
    return f"{sha}{f'-{nth}' if nth else ''}{suffix}"


def read(path: Path) -> bytes:
    """Read a photo from wherever the painter has it.

    Raises:
        PhotoFault: it is not there, no ordinary file, over `LARGEST`, or can't be read.
    """
    try:
        return read_file(path, LARGEST)
    except (OSError, ValueError) as fault:
        raise PhotoFault(_cant_read(fault)) from None


def keep(job: Path, data: bytes) -> str:
    """Keep a photo, or the mask of one, beside the job at `job`, once, and give the name of its file there.

    Raises:
        PhotoFault: it could not be kept; what was there is as it was.
    """
    sha = sha256_of(data)
    try:
        folder = folder_of(job)
        made = _made(folder)
        try:
            return _keep_in(folder, sha, data)
        except BaseException:
            if made:
                with suppress(OSError):
                    folder.rmdir()  # it goes where it was made for this photo alone, and is empty
            raise
    except (OSError, ValueError) as fault:
        raise PhotoFault(_cant_keep(fault)) from None


def read_kept(job: Path, name: str, sha256: str = "") -> bytes:
    """Read a photo or mask that was kept beside the job at `job`; `sha256` is what it was, where that is known.

    A name alone leads nowhere but into that folder, whatever a job file says.

    Raises:
        PhotoFault: it is gone or not what it was (`gone`), or can't be read.
    """
    found = _OURS.fullmatch(name)
    if found is None:
        raise PhotoFault("The photo is not beside the job: this record names no file of ours", gone=True)
    try:
        data = read_file(folder_of(job) / name, LARGEST)
    except (FileNotFoundError, NotADirectoryError):
        words = "The photo is gone from beside the job: bring its file back, and it is here again"
        raise PhotoFault(words, gone=True) from None
    except (OSError, ValueError) as fault:
        raise PhotoFault(_cant_read(fault)) from None
    if sha256_of(data) != (sha256 or found["sha"]):
        words = (
            "The file beside the job is not the photo that was kept there: it is left as it is; add the photo once more"
        )
        raise PhotoFault(words, gone=True, altered=True)
    return data


def _keep_in(folder: Path, sha: str, data: bytes) -> str:
    for nth in range(10_000):
        name = _name(sha, data, nth)
        path = folder / name
        if not os.path.lexists(path):
            atomic.write(path, data, keep=0)
            return name
        if _holds(path, data):
            return name
    raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(folder))


def _holds(path: Path, data: bytes) -> bool:
    """Whether this file is that photo; what can't be looked at is taken for another one."""
    try:
        return path.stat().st_size == len(data) and read_file(path, len(data)) == data
    except (OSError, ValueError):
        return False


def _made(folder: Path) -> bool:
    """Make the folder so that it outlives a power cut too; says whether it was missing."""
    try:
        folder.mkdir()
    except FileExistsError:
        if not folder.is_dir():
            raise
        return False
    if os.name == "nt":
        return True
    descriptor = -1
    try:
        descriptor = os.open(folder.parent, os.O_RDONLY)
        os.fsync(descriptor)
    except PermissionError:
        pass  # a folder that may be written to but not read can't be flushed
    except OSError as fault:
        if fault.errno not in _CANT_FLUSH:
            with suppress(OSError):
                folder.rmdir()
            raise
    finally:
        if descriptor >= 0:
            os.close(descriptor)
    return True


def _cant_read(fault: OSError | ValueError) -> str:
    if isinstance(fault, TooLarge):
        return f"This file is over {LARGEST // 1024 // 1024} MB, and no photo is: choose another file"
    if isinstance(fault, NotOrdinary):
        return "This is no ordinary file: choose a photo"
    if not isinstance(fault, OSError):
        return "No file can have this name: choose the photo again"
    match fault.errno:
        case errno.ENOENT | errno.ENOTDIR:
            return "There is no such file: look whether the photo was moved, or whether its card was taken out"
        case errno.EISDIR:
            return "This is a folder and not a photo: choose a file in it"
        case errno.EACCES | errno.EPERM:
            return "You may not read this file: have its rights changed, or copy it"
        case errno.ELOOP:
            return "The links of this file lead round in a ring: choose the real file"
        case _:
            why = one_line(fault.strerror or type(fault).__name__)
            return f"The photo can't be read ({why}): try once more, or copy it to this computer first"


def _cant_keep(fault: OSError | ValueError) -> str:
    if not isinstance(fault, OSError):
        return "The photo can't be kept beside the job: no file can have this name"
    match fault.errno:
        case errno.ENOSPC | errno.EDQUOT:
            words = "The disk is full, so the photo is not kept beside the job: make room and choose it again"
        case errno.EACCES | errno.EPERM:
            words = "You may not write beside the job, so the photo is not kept there: have the folder's rights changed"
        case errno.EROFS:
            words = "The job's disk can only be read, so the photo is not kept beside it"
        case errno.ENOENT | errno.ENOTDIR:
            words = "The job's folder is gone, so the photo is not kept: bring the folder back"
        case errno.EEXIST:
            words = "Something else stands where the photos of this job would lie: move it away"
        case errno.ENAMETOOLONG:
            words = "The job's name is too long to keep photos beside it: give the job a shorter one"
        case _:
            why = one_line(fault.strerror or type(fault).__name__)
            words = f"The photo could not be kept beside the job ({why})"
    return words
