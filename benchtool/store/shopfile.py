"""A file of the shop that several windows read and change: one JSON document, whole or refused, never lost.

A change is read, made and written under the system's own lock, so that no window writes over what another has
just changed. A file that can't be read is left alone, whatever is asked for; one of a newer version too.
"""

import math
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Generic, TypeVar

import msgspec
from filelock import FileLock, Timeout
from msgspec import DecodeError, Struct, ValidationError, inspect

from benchtool.store import atomic
from benchtool.store.faults import Unreadable, cant_save, malformed, misshapen
from benchtool.store.files import NotOrdinary, TooLarge, one_line, read_file
from benchtool.store.newer import only_known

LARGEST = 16 * 1024 * 1024
"""Bytes that no shop reaches: a thousand lots and ten thousand jobs are some 2 MB (judgement, no source)."""
PATIENCE_S = 2.0
"""How long a change waits for another window to end its own, which takes milliseconds."""
_BOM = b"\xef\xbb\xbf"

Content = TypeVar("Content", bound=Struct)
Check = Callable[[Content], Iterator[tuple[str, str]]]
_Stamp = tuple[int, int, int]


class NotWritten(Exception):
    """The file was not written; the message is a sentence that says why and what to do."""


class _Head(Struct):
    format: Any = None
    schema: Any = None


class ShopFile(Generic[Content]):
    """The file at `path`, of `format` and `schema`, with `Content` beside these two; `what` names it in words.

    `check` gives the path and the message of what its shape can't say.
    """

    def __init__(
        self, path: Path, *, what: str, head: tuple[str, int], kind: type[Content], check: Check[Content]
    ) -> None:
        self.path = path
        self._what = what
        self._format, self._schema = head
        self._kind = kind
        self._check = check
        self._content = kind()
        self._stamp: _Stamp | None = None
        self._looked = False
        self.fault = ""

    def read(self) -> Content:
        """Give what the file holds, read again where it was changed; a missing one holds the usual.

        Where it is not to be written to, `fault` is a sentence that says why. One that can't be read gives what it
        held when it last could be.
        """
        stamp = _stamp_of(self.path)
        if self._looked and stamp == self._stamp:
            return self._content
        self.fault = ""
        try:
            self._content, newer = self._load(self.path)
        except FileNotFoundError:
            self._content = self._kind()
        except Unreadable as wrong:
            self.fault = self._told(wrong)
        else:
            if newer:
                self.fault = f"{self._what} were kept by a newer version of this tool: change them there."
        self._stamp, self._looked = stamp, True
        return self._content

    def change(self, how: Callable[[Content], Content]) -> Content:
        """Change what the file holds, as it stands at this moment in whatever window; gives what it holds then.

        Raises:
            NotWritten: nothing was changed.
        """
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            lock = FileLock(self.path.with_name(f".{self.path.name}.lock"), timeout=PATIENCE_S, fallback_to_soft=False)
            with lock:
                return self._change(how)
        except Timeout:
            raise NotWritten(f"{self._what} are being written in another window: try once more.") from None
        except NotImplementedError:
            raise NotWritten(f"{self._what} can't be kept here: this disk knows no locks.") from None
        except (OSError, ValueError) as fault:
            why = cant_save(self.path, fault).message.partition(":")[0]
            raise NotWritten(f"{self._what} are not kept: {_lowered(why)}.") from None

    def _change(self, how: Callable[[Content], Content]) -> Content:
        before = self.read()
        if self.fault:
            raise NotWritten(self.fault)
        try:
            after = how(before)
        except (ValueError, OverflowError) as wrong:
            raise NotWritten(f"{self._what} are not kept: {_lowered(str(wrong))}.") from None
        if after == before:
            return before
        plain = msgspec.to_builtins(after, order="deterministic")
        place = next(_no_numbers(plain, "$"), "")
        if place:
            raise NotWritten(f"{self._what} are not kept: there is no number (at {place}).")
        data = self._dump(plain)
        try:
            content, _ = self._parse(data)
        except Unreadable as wrong:
            place = f" (at {wrong.place})" if wrong.place else ""
            raise NotWritten(f"{self._what} are not kept: {_lowered(wrong.wrong)}{place}.") from None
        if len(data) > LARGEST:
            raise NotWritten(f"{self._what} have grown too large for one file: remove what is used up.")
        atomic.write(self.path, data)
        self._content, self._stamp, self._looked = content, _stamp_of(self.path), True
        return content

    def _dump(self, plain: dict[str, Any]) -> bytes:
        text = msgspec.json.encode({"format": self._format, "schema": self._schema, **plain})
        return msgspec.json.format(text, indent=2) + b"\n"

    def _load(self, path: Path) -> tuple[Content, bool]:
        try:
            return self._parse(read_file(path, LARGEST).removeprefix(_BOM))
        except FileNotFoundError:
            if path.is_symlink():
                raise Unreadable("This is a link to a file that is gone") from None
            raise
        except TooLarge:
            raise Unreadable("It is far too large") from None
        except (NotOrdinary, IsADirectoryError):
            raise Unreadable("It is no ordinary file") from None
        except (OSError, ValueError) as fault:
            told = fault.strerror if isinstance(fault, OSError) else str(fault)
            raise Unreadable(f"The disk does not give it ({one_line(told or type(fault).__name__)})") from None

    def _parse(self, data: bytes) -> tuple[Content, bool]:
        """Give the content, and whether it is of a newer version."""
        if not data.strip():
            raise Unreadable("The file is empty")
        try:
            head = msgspec.json.decode(data, type=_Head)
            if head.format != self._format:
                raise Unreadable(f"Its “format” is not “{self._format}”", "$.format")
            if type(head.schema) is not int or head.schema < 1:
                raise Unreadable("It has no schema number of 1 or more", "$.schema")
            plain: dict[str, Any] = msgspec.json.decode(data)
            del plain["format"], plain["schema"]
            if head.schema > self._schema:
                plain = only_known(plain, inspect.type_info(self._kind), "$", [])
            content = msgspec.convert(plain, self._kind)
        except ValidationError as wrong:
            raise misshapen(str(wrong)) from None
        except DecodeError as wrong:
            raise malformed(data, str(wrong)) from None
        except UnicodeDecodeError:
            raise Unreadable("This is no UTF-8 text") from None
        except (RecursionError, OverflowError):
            raise Unreadable("No version of this tool wrote this") from None
        fault = next(self._check(content), None)
        if fault is not None:
            raise Unreadable(one_line(fault[1][:1].upper() + fault[1][1:]), f"$.{fault[0].lstrip('.')}")
        return content, head.schema > self._schema

    def _told(self, wrong: Unreadable) -> str:
        place = f" (at {wrong.place})" if wrong.place else ""
        good = self._last_good()
        remedy = f"bring back {good.parent.name}/{good.name}" if good is not None else "bring back a copy"
        return (
            f"{self._what} can't be read from {self.path.name}: {_lowered(wrong.wrong)}{place}; mend it, or {remedy}."
        )

    def _last_good(self) -> Path | None:
        for version in atomic.versions(self.path):
            try:
                self._load(version)
            except (Unreadable, FileNotFoundError):
                continue
            return version
        return None


def _no_numbers(value: object, place: str) -> Iterator[str]:
    """Find what JSON can't hold as a number: it would come back as if nobody had written anything."""
    if isinstance(value, float) and not math.isfinite(value):
        yield place
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from _no_numbers(inner, f"{place}.{key}")
    elif isinstance(value, list | tuple):
        for i, inner in enumerate(value):
            yield from _no_numbers(inner, f"{place}[{i}]")


def _lowered(text: str) -> str:
    return f"{text[:1].lower()}{text[1:]}".rstrip(".")


def _stamp_of(path: Path) -> _Stamp | None:
    try:
        facts = path.stat()
    except (OSError, ValueError):
        return None
    return facts.st_mtime_ns, facts.st_size, facts.st_ino
