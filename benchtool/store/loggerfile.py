"""Following a file that a data logger appends to: bytes become whole lines, each told once."""

import csv
import os
import stat
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from benchtool.store.files import NotOrdinary

CHUNK = 256 * 1024
"""Bytes read at a time, and more than any line of a logger has (judgement)."""

_MARK = 64
_HEAD = 256
_LEAST = 4
"""So many bytes tell UTF-16 without a byte order mark from the rest; a shorter file waits."""

_BOMS = ((b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))


class NoLines(ValueError):
    """What is in the file is no text in lines; the message is one plain sentence."""


@dataclass(frozen=True, slots=True)
class Piece:
    """Whole lines without their ends. `anew`: the file was begun anew before them. `more`: read once more."""

    lines: list[str]
    anew: bool
    more: bool


class Tail:
    """Reads what was appended to a file since the last look.

    A line without its end waits. A file that is shorter than it was, or that holds something else where it was read
    before, was truncated or replaced, and is read from its start. UTF-8 with or without a byte order mark, UTF-16 in
    either order, and what is not UTF-8 as Windows-1252.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._begin()

    def _begin(self) -> None:
        self._offset = 0
        self._encoding = ""
        self._head = self._mark = b""

    def read(self) -> Piece:
        """Give the next whole lines, of at most `CHUNK` bytes.

        Raises:
            OSError: the file is missing, locked, or no ordinary file; the next call goes on from the same place.
            ValueError: the path holds a character that no path can hold.
            NoLines: there is no end of a line where one must be.
        """
        _require_ordinary(self.path)
        with self.path.open("rb") as file:
            size = os.fstat(file.fileno()).st_size
            anew = size < self._offset or not self._as_before(file)
            if anew:
                self._begin()
            file.seek(self._offset)
            data = file.read(CHUNK)
        if not self._encoding:
            if len(data) < _LEAST:
                return Piece([], anew, more=False)
            self._encoding = _encoding(data)
        end = _after_last_line(data, self._encoding)
        if end == 0 and len(data) == CHUNK:
            raise NoLines("There are no lines in this file: choose the text file (CSV) that the logger writes.")
        whole = data[:end]
        self._offset += end
        self._head = (self._head + whole[:_HEAD])[:_HEAD]
        self._mark = (self._mark + whole[-_MARK:])[-_MARK:]
        return Piece(_lines(whole, self._encoding), anew, more=len(data) == CHUNK)

    def _as_before(self, file: BinaryIO) -> bool:
        if file.read(len(self._head)) != self._head:
            return False
        file.seek(self._offset - len(self._mark))
        return file.read(len(self._mark)) == self._mark


def read_all(path: Path) -> Iterator[list[str]]:
    """Give the lines of a file a piece at a time, up to its end.

    Raises:
        OSError, ValueError, NoLines: as `Tail.read`.
    """
    tail = Tail(path)
    more = True
    while more:
        piece = tail.read()
        more = piece.more and not piece.anew
        yield piece.lines


def cells(line: str, delimiter: str) -> list[str]:
    """Part a line into its cells, those in quotes as well; a quote left open ends with the line."""
    if '"' not in line:
        return line.split(delimiter)
    try:
        return next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])
    except csv.Error:
        return line.split(delimiter)


def column_names(header: Sequence[str]) -> tuple[str, ...]:
    """Give each column a name of its own: the header's, and where two are the same or empty, with its place."""
    plain = [" ".join(cell.split()) for cell in header]
    return tuple(
        name if name and plain.count(name) == 1 else f"{name} ({place})".strip()
        for place, name in enumerate(plain, start=1)
    )


def why_not_read(fault: OSError | ValueError) -> str:
    """Say why a file can't be read: the rest of a sentence that starts with its name."""
    match fault:
        case FileNotFoundError():
            return "is not there"
        case PermissionError():
            return "is locked, or you have no right to read it"
        case IsADirectoryError():
            return "is a folder: choose the file that the logger writes"
        case NotOrdinary():
            return "is no ordinary file: choose the one that the logger writes"
        case OSError():
            return f"can't be read ({fault.strerror or 'no reason given'})"
        case NoLines():
            return "has no lines: choose the text file (CSV) that the logger writes"
        case _:
            return "has a name that no file can have"


def _require_ordinary(path: Path) -> None:
    # Looked at before it is opened, for opening a pipe that nobody writes to would hang.
    mode = path.stat().st_mode
    if stat.S_ISDIR(mode):
        raise IsADirectoryError(str(path))
    if not stat.S_ISREG(mode):
        raise NotOrdinary(str(path))


def _encoding(data: bytes) -> str:
    for bom, encoding in _BOMS:
        if data.startswith(bom):
            return encoding
    if data[0] and not data[1] and data[2] and not data[3]:
        return "utf-16-le"
    if not data[0] and data[1] and not data[2] and data[3]:
        return "utf-16-be"
    return "utf-8"


def _after_last_line(data: bytes, encoding: str) -> int:
    """Give the place after the last end of a line in `data`; 0 where there is none."""
    if encoding == "utf-8":
        return data.rfind(b"\n") + 1
    ending = "\n".encode(encoding)
    at = data.rfind(ending)
    while at > 0 and at % 2:  # across two characters
        at = data.rfind(ending, 0, at + 1)
    return at + 2 if at >= 0 else 0


def _lines(whole: bytes, encoding: str) -> list[str]:
    if not whole:
        return []
    try:
        text = whole.decode(encoding)
    except UnicodeDecodeError:
        if encoding != "utf-8":
            text = whole.decode(encoding, errors="replace")
        else:  # line by line, so that a line reads the same whatever is read along with it
            return [line for part in whole.split(b"\n")[:-1] for line in _clean(_decoded(part))]
    return _clean(text.removesuffix("\n"))


def _decoded(line: bytes) -> str:
    try:
        return line.decode()
    except UnicodeDecodeError:
        return line.decode("cp1252", errors="replace")


def _clean(text: str) -> list[str]:
    # NULs are what a logger leaves that lost its power; a byte order mark stands also where files were joined.
    return text.replace("\r", "").replace("\0", "").replace("\ufeff", "").split("\n")
