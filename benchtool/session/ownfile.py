"""Files that leave the bench: written whole or not at all, and over nothing but an earlier one of their own kind."""

from collections.abc import Callable
from pathlib import Path

from benchtool.store import atomic
from benchtool.store.faults import SaveFault, cant_save
from benchtool.trade.saying import say

_LONGEST_TITLE = 50
"""Four octets a character at the most, and the end of the name: still within the 255 of most disks."""
_NOT_IN_NAMES = frozenset('<>:"/\\|?*')


def save_own(path: Path, data: bytes, ours: Callable[[bytes], bool], head: int) -> None:
    """Write a file, atomically and durably (see `store.atomic`), where nothing else is lost by it.

    `ours` tells by the first `head` bytes of a file that is there whether it is an earlier one of the same kind.

    Raises:
        SaveFault: it was not written; the message says why and what to do.
    """
    try:
        if not _free(path, ours, head):
            raise SaveFault(path, say("This file holds something else and is left as it is: choose another name"))
        atomic.write(path, data, keep=0)
    except (OSError, ValueError) as fault:
        raise cant_save(path, fault) from None


def _free(path: Path, ours: Callable[[bytes], bool], head: int) -> bool:
    """Whether nothing is lost by writing here; what is no file at all is for the writing to refuse."""
    if not path.is_file():
        return True
    try:
        with path.open("rb") as file:
            there = file.read(head)
    except OSError:
        return False  # nobody can tell what would be lost
    return not there or ours(there)


def file_stem(title: str) -> str:
    """Give of a title what every system takes as the beginning of a file's name; "" where nothing is left."""
    kept = "".join(" " if c in _NOT_IN_NAMES or not c.isprintable() else c for c in title)
    return " ".join(kept.split())[:_LONGEST_TITLE].strip(" .-~")
