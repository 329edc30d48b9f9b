"""Writing a file so that there is always a whole one.

What is guaranteed, on a local disk of a POSIX system: whoever reads the file, at any time, sees either all
of the old content or all of the new; the same holds after the program is killed; and once `write` returns,
the new content outlives a power cut. Where `write` raises, the file is as it was.

What is not: one fault comes too late for that. If the folder can't be flushed after the rename, the new
content is in place, whole, but may not outlive a power cut, and `write` raises so that the caller saves again.
Windows and some network disks can't flush a folder; there the rename is as durable as they make it. A kept
version is a help and no promise: it is not flushed by itself. Extended attributes and access lists of the
old file are not carried over; other hard links to it keep the old content. Two writers at once do not damage
the file, but the later one wins: take the lock (`store.lock`) first.
"""

import errno
import os
import re
import shutil
import stat
import sys
import zlib
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

from benchtool.store.files import WRITE_PROTECTED, NotOrdinary, real_path, write_protected

KEEP = 12
"""How many earlier versions are kept beside a file."""

_STALE_S = 3_600
"""A temporary file this much older than the present one was left by a process that was killed."""

_CREATE = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
_CANT_FLUSH = (errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EBADF)
_VERSION = re.compile(r"(?P<stamp>\d{8}T\d{6}\.\d{6}Z)(?:-(?P<nth>\d+))?(?:\.[^.]*)?")


def write(path: Path, data: bytes, *, keep: int = KEEP) -> None:
    """Replace the file at `path` by `data`, atomically and durably; see the module for what that means.

    Links are followed to the real file. An old file keeps its mode, and where possible its owner; a new one
    follows the umask. The old content is kept in `<name>.versions/` beside the file, the newest `keep` of
    them; a version that can't be kept does not stop the write.

    Raises:
        OSError: nothing was written (but see the module); the file is write-protected, its folder is gone
            or may not be written to, the disk is full, the links go round in a ring.
        ValueError: the path holds a character that no path can hold.
    """
    target = real_path(path)
    before = _before(target)
    temp, descriptor = _create_beside(target)
    kept: Path | None = None
    try:
        try:
            _fill(descriptor, data, before)
        finally:
            os.close(descriptor)
        if before is not None and keep > 0:
            kept = _keep_version(target, before)
        temp.replace(target)
    except BaseException:
        for leftover in (temp, kept):
            if leftover is not None:
                with suppress(OSError):
                    leftover.unlink()
        if kept is not None:
            with suppress(OSError):
                kept.parent.rmdir()  # it goes where it was made for this version alone
        raise
    _flush_folder(target.parent)
    if kept is not None:
        for old in versions(target)[keep:]:
            with suppress(OSError):
                old.unlink()
    _sweep(target)


def versions(path: Path) -> tuple[Path, ...]:
    """Give the kept versions of the file at `path`, newest first; none where there are none to be read.

    A version is named by when its content was saved (UTC); the time of the file itself says the same.
    """
    try:
        found = [(_order(p), p) for p in _versions_folder(real_path(path)).iterdir() if not p.is_symlink()]
    except (OSError, ValueError):
        return ()
    return tuple(p for order, p in sorted(found, reverse=True) if order[0])


def _versions_folder(target: Path) -> Path:
    return target.with_name(f"{target.name}.versions")


def _order(version: Path) -> tuple[str, int]:
    read = _VERSION.fullmatch(version.name)
    return (read["stamp"], int(read["nth"] or 0)) if read is not None else ("", 0)


def _before(target: Path) -> os.stat_result | None:
    """Look at what is to be replaced; None for a new file."""
    try:
        facts = target.stat()
    except FileNotFoundError:
        return None
    if stat.S_ISDIR(facts.st_mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(target))
    if not stat.S_ISREG(facts.st_mode):
        raise NotOrdinary(errno.EINVAL, "not an ordinary file", str(target))
    if write_protected(target, facts):
        # A rename needs no right to the file itself, so that this would go unnoticed.
        raise PermissionError(errno.EACCES, WRITE_PROTECTED, str(target))
    return facts


def _temp_stem(target: Path) -> str:
    """Short whatever the name, so that a name near the limit of the disk can still be saved."""
    return f".{zlib.crc32(os.fsencode(target.name)):08x}"


def _create_beside(target: Path) -> tuple[Path, int]:
    while True:
        temp = target.with_name(f"{_temp_stem(target)}.{os.urandom(4).hex()}.tmp")
        with suppress(FileExistsError):
            return temp, os.open(temp, _CREATE, 0o666)


def _fill(descriptor: int, data: bytes, before: os.stat_result | None) -> None:
    if before is not None and sys.platform != "win32":
        mine = os.fstat(descriptor)
        if (mine.st_uid, mine.st_gid) != (before.st_uid, before.st_gid):
            with suppress(OSError):
                os.fchown(descriptor, before.st_uid, before.st_gid)
        os.fchmod(descriptor, stat.S_IMODE(before.st_mode))
    rest = memoryview(data)
    while rest:
        rest = rest[os.write(descriptor, rest) :]
    os.fsync(descriptor)


def _flush_folder(folder: Path) -> None:
    if os.name == "nt":
        return
    try:
        descriptor = os.open(folder, os.O_RDONLY)
    except PermissionError:
        return  # a folder that may be written to but not read can't be flushed
    try:
        os.fsync(descriptor)
    except OSError as fault:
        if fault.errno not in _CANT_FLUSH:
            raise
    finally:
        os.close(descriptor)


def _keep_version(target: Path, before: os.stat_result) -> Path | None:
    """Keep what is at `target` now; None where that can't be, or where it is kept already."""
    try:
        newest = next(iter(versions(target)), None)
        if newest is not None and os.path.samestat(newest.stat(), before):
            return None
        folder = _versions_folder(target)
        folder.mkdir(exist_ok=True)
        stamp, nth = f"{datetime.fromtimestamp(before.st_mtime_ns / 1e9, tz=UTC):%Y%m%dT%H%M%S.%fZ}", 0
        if newest is not None and (stamp, nth) <= _order(newest):
            # The clock was set back, or two saves fell on one tick: the order must hold all the same.
            stamp, nth = _order(newest)[0], _order(newest)[1] + 1
        while True:
            version = folder / f"{stamp}{f'-{nth}' if nth else ''}{target.suffix}"
            with suppress(FileExistsError):
                _link_or_copy(target, version)
                return version
            nth += 1
    except (OSError, ValueError, OverflowError):
        return None


def _link_or_copy(target: Path, version: Path) -> None:
    try:
        os.link(target, version)
    except FileExistsError:
        raise
    except OSError:
        # FAT and many network disks know no hard links.
        partial = version.with_name(f".{version.name}.tmp")
        try:
            shutil.copy2(target, partial)
            partial.replace(version)
        except BaseException:
            with suppress(OSError):
                partial.unlink()
            raise


def _sweep(target: Path) -> None:
    """Remove what a process killed in the middle of a write left here long ago."""
    with suppress(OSError):
        present = target.stat().st_mtime
        for temp in target.parent.glob(f"{_temp_stem(target)}.*.tmp"):
            with suppress(OSError):
                if present - temp.stat().st_mtime > _STALE_S:
                    temp.unlink()
