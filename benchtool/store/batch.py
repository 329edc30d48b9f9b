"""Several new files of one folder at once: all of them are there, or none is."""

import errno
import os
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

from benchtool.store import atomic

_CANT_FLUSH = (errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EBADF)


def writing_all(folder: Path, files: Mapping[Path, bytes], *, keep: int) -> Iterator[int]:
    """Write all of these files of `folder`, or none, a file at a time; gives how many are on the disk.

    Those that are there are replaced as `atomic.write` does. All that takes room on the disk is written before anything
    gets its name. Whoever stops in the middle leaves the folder as it was. After a power cut in the middle some of the
    files may have their names and others not, each of them whole.

    Raises:
        OSError: nothing was written, and what was there is there as it was.
        ValueError: a path holds a character that no path can hold.
    """
    there = {path: path.read_bytes() for path in files if path.exists()}
    staging = Path(tempfile.mkdtemp(prefix=".incoming-", dir=folder))
    staged: list[tuple[Path, Path]] = []
    new: list[Path] = []
    replaced: list[Path] = []
    try:
        for path in [path for path in files if path not in there]:
            staged.append((_stage(staging / str(len(staged)), files[path]), path))
            yield len(staged)
        for path in there:
            replaced.append(path)
            atomic.write(path, files[path], keep=keep)
            yield len(staged) + len(replaced)
        for temp, path in staged:
            place(temp, path)
            new.append(path)
        _flush(folder)
    except BaseException:
        for path in new:
            with suppress(OSError):
                path.unlink()
        for path in replaced:
            _restore(path, there[path])
        raise
    finally:
        shutil.rmtree(staging, ignore_errors=True)


def _stage(temp: Path, data: bytes) -> Path:
    with temp.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    return temp


def _restore(path: Path, before: bytes) -> None:
    """Bring back what was there: where it was kept as a version that takes no room on a full disk."""
    with suppress(OSError):
        if path.read_bytes() == before:
            return
    for version in atomic.versions(path):
        with suppress(OSError):
            if version.read_bytes() == before:
                version.replace(path)
                return
    with suppress(OSError):
        path.write_bytes(before)


def place(temp: Path, path: Path) -> None:
    """Give a file its name, which no other file may have.

    Raises:
        FileExistsError: there is one of that name already.
        OSError: it can't be moved there.
    """
    try:
        os.link(temp, path)
    except FileExistsError:
        raise
    except OSError:  # FAT and many network disks know no hard links
        if path.exists():
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path)) from None
        temp.rename(path)
        return
    temp.unlink()


def put_aside(path: Path) -> Path:
    """Move a file among its own earlier versions (see `atomic.versions`); gives where it lies now.

    Raises:
        OSError: it can't be moved.
    """
    folder = path.with_name(f"{path.name}.versions")
    folder.mkdir(exist_ok=True)
    stamp = f"{datetime.fromtimestamp(path.stat().st_mtime_ns / 1e9, tz=UTC):%Y%m%dT%H%M%S.%fZ}"
    nth = 0
    while True:
        version = folder / f"{stamp}{f'-{nth}' if nth else ''}{path.suffix}"
        with suppress(FileExistsError):
            place(path, version)
            _flush(path.parent)
            return version
        nth += 1


def _flush(folder: Path) -> None:
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    except OSError as fault:
        if fault.errno not in _CANT_FLUSH:
            raise
    finally:
        os.close(descriptor)
