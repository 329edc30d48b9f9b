"""Looking at files with care: links, folders, pipes and files too large are told apart before they are read."""

import errno
import os
import stat
from pathlib import Path

_CAREFUL = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOCTTY", 0) | getattr(os, "O_BINARY", 0)
"""Opening a pipe that nobody writes to, or a terminal, must neither hang nor do anything to it."""

WRITE_PROTECTED = "write-protected"
"""What an OSError says of a file that is not to be written to."""


class NotOrdinary(OSError):
    """There is something at this path that is no ordinary file: a pipe, a device, a socket."""


class TooLarge(OSError):
    """The file is larger than anything of its kind can be."""


def real_path(path: Path) -> Path:
    """Follow all links to the real file, whether it exists yet or not.

    Raises:
        OSError: the links go round in a ring (`errno.ELOOP`).
        ValueError: the path holds a character that no path can hold.
    """
    try:
        path.stat()
    except OSError as fault:
        if fault.errno == errno.ELOOP:
            raise
    return Path(os.path.realpath(path))


def read_file(path: Path, most: int) -> bytes:
    """Read an ordinary file of at most `most` bytes; its size is looked at before anything is read.

    Raises:
        NotOrdinary: it is a pipe, a device or a socket.
        TooLarge: it is larger than `most`.
        OSError: it can't be read: missing, a folder, no right to it, a ring of links.
        ValueError: the path holds a character that no path can hold.
    """
    _require_ordinary(path, path.stat())
    descriptor = os.open(path, _CAREFUL)
    with os.fdopen(descriptor, "rb") as file:
        facts = os.fstat(descriptor)
        _require_ordinary(path, facts)
        data = b"" if facts.st_size > most else file.read(most + 1)
        if facts.st_size > most or len(data) > most:
            raise TooLarge(errno.EFBIG, "larger than anything of its kind", str(path))
        return data


def _require_ordinary(path: Path, facts: os.stat_result) -> None:
    if stat.S_ISDIR(facts.st_mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
    if not stat.S_ISREG(facts.st_mode):
        raise NotOrdinary(errno.EINVAL, "not an ordinary file", str(path))


def write_protected(path: Path, facts: os.stat_result) -> bool:
    """Say whether this file is not to be written to, as its owner set it or as the system holds it."""
    return not facts.st_mode & (stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH) or not os.access(path, os.W_OK)


def one_line(text: str, most: int = 200) -> str:
    """Make text that came from a file or a name fit for one line of a message."""
    flat = " ".join("".join(c if c.isprintable() else " " for c in text[: 4 * most]).split())
    return flat if len(flat) <= most else flat[: most - 1] + "…"
