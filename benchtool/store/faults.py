"""What can be wrong with a job file, told so that a painter knows what to do."""

import errno
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from benchtool.store.files import WRITE_PROTECTED, NotOrdinary, TooLarge, one_line

LARGEST = 32 * 1024 * 1024
"""Bytes that no job file reaches: ten thousand acts are some 3 MB (judgement, no source)."""


class JobFileFault(Exception):
    """A job file can't be read. It was not touched, and is not to be written over.

    `message` is one plain sentence without its full stop, `place` a JSON path (`$.events[3].mL`), a line and
    column, or empty, `last_good` the newest kept version that can be read.
    """

    def __init__(self, path: Path, message: str, place: str = "", last_good: Path | None = None) -> None:
        super().__init__(path, message, place, last_good)
        self.path: Final = path
        self.message: Final = message
        self.place: Final = place
        self.last_good: Final = last_good

    def __str__(self) -> str:
        where = f" (at {self.place})" if self.place else ""
        return f"{one_line(self.path.name) or 'The path'}: {self.message}{where}"


class SaveFault(Exception):
    """A job could not be saved; what stood in the file still stands. `message` as in `JobFileFault`."""

    def __init__(self, path: Path, message: str) -> None:
        super().__init__(path, message)
        self.path: Final = path
        self.message: Final = message

    def __str__(self) -> str:
        return f"{one_line(self.path.name) or 'The path'}: {self.message}"


class Unreadable(Exception):
    """What is wrong with the content, or (with `remedy`) with getting at it.

    `cut` says that there is no place to mend: the rest of the content is gone.
    """

    def __init__(self, wrong: str, place: str = "", remedy: str = "", *, cut: bool = False) -> None:
        super().__init__(wrong, place, remedy)
        self.wrong: Final = wrong
        self.place: Final = place
        self.remedy: Final = remedy
        self.cut: Final = cut

    def fault(self, path: Path, last_good: Path | None) -> JobFileFault:
        """Say it of the file at `path`."""
        first = "open its last good version" if last_good is not None else "bring back a copy"
        remedy = self.remedy or (first if self.cut else f"{first}, or mend this place in a text editor")
        return JobFileFault(path, f"{self.wrong}: {remedy}", self.place, last_good)


def not_a_job_file(why: str, place: str = "") -> Unreadable:
    """Say that it is some other file."""
    return Unreadable(f"This is not a job file ({why})", place, "choose another one")


def cant_reach(path: Path, fault: OSError | ValueError) -> Unreadable:
    """Say why the file at `path` can't be got at."""
    if isinstance(fault, TooLarge):
        size = f"a job file is never over {LARGEST // 1024 // 1024} MB"
        return Unreadable(f"This is too large ({size})", "", "choose another file")
    if isinstance(fault, NotOrdinary):
        return Unreadable("This is no ordinary file", "", "choose a job file")
    if not isinstance(fault, OSError):
        return Unreadable("No file can have this name", "", "choose another one")
    match fault.errno:
        case errno.ENOENT if path.is_symlink():
            return Unreadable("This is a link to a file that is gone", "", "bring that file back, or choose another")
        case errno.ENOENT | errno.ENOTDIR:
            return Unreadable("There is no such file", "", "look whether it was moved or renamed")
        case errno.EISDIR:
            return Unreadable("This is a folder and not a job file", "", "choose a file in it")
        case errno.ELOOP:
            return Unreadable("Its links lead round in a ring", "", "choose the real file")
        case errno.EACCES | errno.EPERM:
            return Unreadable("You may not read this file", "", "have its rights changed, or copy it")
        case errno.ENAMETOOLONG:
            return Unreadable("This name is too long", "", "choose the file again")
        case _:
            why = one_line(fault.strerror or type(fault).__name__)
            return Unreadable(f"It can't be read from the disk ({why})", "", "try once more, or bring back a copy")


def cant_save(path: Path, fault: OSError | ValueError) -> SaveFault:
    """Say why the file at `path` can't be written, and what to do."""
    elsewhere = "save a copy somewhere else"
    if not isinstance(fault, OSError):
        return SaveFault(path, "No file can have this name: choose another one")
    match fault.errno:
        case errno.ENOSPC | errno.EDQUOT:
            words = f"The disk is full: make room on it, or {elsewhere}"
        case errno.EACCES if fault.strerror == WRITE_PROTECTED:
            words = f"This file is write-protected: lift that, or {elsewhere}"
        case errno.EACCES | errno.EPERM:
            words = f"You may not write in this folder: have its rights changed, or {elsewhere}"
        case errno.EROFS:
            words = f"This disk can only be read: {elsewhere}"
        case errno.ENOENT | errno.ENOTDIR:
            words = f"Its folder is gone: bring it back, or {elsewhere}"
        case errno.ENAMETOOLONG:
            words = "This name is too long: choose a shorter one"
        case errno.EISDIR:
            words = "There is a folder of this name: choose another name"
        case errno.ELOOP:
            words = f"Its links lead round in a ring: {elsewhere}"
        case errno.EFBIG:
            words = f"This disk takes no file so large: {elsewhere}"
        case errno.EIO:
            words = f"The disk fails to write: {elsewhere}, on another disk"
        case _:
            why = one_line(fault.strerror or type(fault).__name__)
            words = f"It could not be saved ({why}): {elsewhere}"
    return SaveFault(path, words)


def position(data: bytes, offset: int) -> str:
    """Turn a byte offset into a line and a column as an editor counts them."""
    offset = min(max(offset, 0), len(data))
    start = data.rfind(b"\n", 0, offset) + 1
    column = len(data[start:offset].decode("utf-8", errors="replace")) + 1
    line = data.count(b"\n", 0, offset) + 1
    return f"line {line}, column {column}"


def malformed(data: bytes, message: str) -> Unreadable:
    """Say where data is no JSON, from what the reader said of it."""
    at, end = re.search(r"\(byte (\d+)\)", message), len(data.rstrip())
    offset = int(at[1]) - message.count("trailing characters") if at is not None else end
    if offset < end:
        if data[offset:].startswith((b"NaN", b"Infinity", b"-Infinity")):
            return Unreadable("There is no number here", position(data, offset))
        return Unreadable("This is no JSON", position(data, offset))
    try:
        half = next(_halves(json.loads(data, parse_int=float), "$"), "")
        return Unreadable("A text holds half a character", one_line(half))
    except json.JSONDecodeError as wrong:
        if wrong.pos < len(data[:end].decode("utf-8")) and "Unterminated" not in wrong.msg:
            return Unreadable("This is no JSON", f"line {wrong.lineno}, column {wrong.colno}")
    except RecursionError:
        pass
    return Unreadable("The file breaks off before its end", position(data, end), cut=True)


def _halves(value: object, place: str) -> Iterator[str]:
    """Find texts that JSON can spell and that are no text: one half of a surrogate pair."""
    if isinstance(value, str) and any("\ud800" <= c <= "\udfff" for c in value):
        yield place
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from _halves(key, place)
            yield from _halves(inner, f"{place}.{key}")
    elif isinstance(value, list):
        for i, inner in enumerate(value):
            yield from _halves(inner, f"{place}[{i}]")


_WORDS = {
    "float": "a number", "int": "a whole number", "bool": "true or false", "str": "text", "array": "a list",
    "object": "a group of fields in { }", "null": "nothing (null)", "datetime": "a time",
    "duration": "a length of time",
}  # fmt: skip
_UNKNOWN = "“{0}” is no field that belongs here"
_SHAPES: tuple[tuple[str, str], ...] = (
    (r"Object missing required field `(.*)`", "“{0}” is missing here"),
    (r"Object contains unknown field `(.*)`", _UNKNOWN),
    (r"Expected `datetime` with a timezone component", "This time does not say its zone, such as Z at its end"),
    (r"Expected `(?:float|int)` >= (.*)", "This number must be {0} or more"),
    (r"Expected `(?:float|int)` > (.*)", "This number must be more than {0}"),
    (r"Expected `(?:float|int)` <= (.*)", "This number must be {0} or less"),
    (r"Expected `(?:float|int)` < (.*)", "This number must be less than {0}"),
    (r"Expected `str` of length >= .*", "This text is too short"),
    (r"Expected `str` of length <= .*", "This text is too long"),
    (r"Expected `array` of length >= .*", "This list is too short"),
    (r"Expected `array` of length <= .*", "This list is too long"),
    (r"Expected `str` matching regex .*", "This is not written as it must be"),
    (r"Expected `(.*)`, got `(.*)`", "{0} belongs here and not {1}"),
    (r"Invalid (?:enum )?value (.*)", "“{0}” is none of the words that may stand here"),
    (r"Invalid RFC3339 encoded datetime", "This is no time such as 2026-03-01T09:30:00Z"),
    (r"Invalid ISO8601 duration|Only units .*", "This is no length of time such as PT15M"),
    (r".* out of range", "This number is too large"),
)


def misshapen(message: str, under: str = "$") -> Unreadable:
    """Say in plain words what the reader found at a place of the wrong shape; `under` is where it began."""
    told, _, place = message.partition(" - at `$")
    place = one_line(under + place.removesuffix("`"))
    for shape, words in _SHAPES:
        found = re.fullmatch(shape, told, flags=re.DOTALL)
        if found is not None:
            names = [one_line(_kinds(g).strip("'").removesuffix(".0"), 60) for g in found.groups()]
            if words is _UNKNOWN:
                place += f".{names[0]}"
            text = words.format(*names)
            return Unreadable(text[:1].upper() + text[1:], place)
    return Unreadable(one_line(told.replace("`", "“")), place)


def _kinds(text: str) -> str:
    return " or ".join(_WORDS.get(k, k) for k in text.split(" | "))
