"""The card library: a folder with one plain JSON file for each product card, to read, copy and mend by hand."""

import os
from contextlib import suppress
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Annotated, Any

import msgspec
from msgspec import DecodeError, Meta, Struct, ValidationError

from benchtool.job.cards import Card
from benchtool.job.validate import card_faults
from benchtool.store import atomic
from benchtool.store.faults import SaveFault, Unreadable, malformed, misshapen
from benchtool.store.files import NotOrdinary, TooLarge, one_line, read_file
from benchtool.store.jobfile import iso_duration, iso_nested

FORMAT = "bench card"
SCHEMA = 3
"""An older card says less and opens as it stands: 1 had no contents, shelf life or spray viscosity, 2 no forced dry
and no films."""
LARGEST = 1024 * 1024
"""Bytes that no card reaches: a full one is some 2 kB (judgement, no source)."""
KEEP = 5
"""How many earlier versions of a card are kept beside it."""
_BOM = b"\xef\xbb\xbf"


class _CardFile(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    format: Annotated[str, Meta(pattern=f"^{FORMAT}$")]
    schema: Annotated[int, Meta(ge=1, le=SCHEMA)]
    card: Card


class _Head(Struct):
    format: Any = None
    schema: Any = None


_files = msgspec.json.Decoder(_CardFile)
_heads = msgspec.json.Decoder(_Head)


@dataclass(frozen=True, slots=True)
class CardFault:
    """A card file that can't be used: its path, what is wrong in plain words, and the place in the file."""

    path: Path
    message: str
    place: str = ""

    def __str__(self) -> str:
        where = f" (at {self.place})" if self.place else ""
        return f"{one_line(self.path.name)}: {self.message}{where}"


@dataclass(frozen=True, slots=True)
class Shelf:
    """What the folder holds: the cards by name, and the files that hold none."""

    cards: tuple[Card, ...] = ()
    faults: tuple[CardFault, ...] = ()


_Stamp = tuple[int, int]


class CardFolder:
    """The folder. Nothing is read before it is asked for, and no file twice unless it was changed."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._read: dict[Path, tuple[_Stamp, Card | CardFault]] = {}

    def read(self) -> Shelf:
        """Look at every card file; a missing folder is an empty one."""
        cards: dict[str, tuple[Path, Card]] = {}
        faults = []
        for path, card in self._look():
            if isinstance(card, CardFault):
                faults.append(card)
            elif card.id.lower() in cards:
                first = cards[card.id.lower()][0]
                message = f"it holds the same card as {one_line(first.name)}: remove one of the two"
                faults.append(CardFault(path, message, "$.card.id"))
            else:
                cards[card.id.lower()] = (path, card)
        by_name = sorted((c for _, c in cards.values()), key=lambda c: (c.name.casefold(), c.id))
        return Shelf(tuple(by_name), tuple(faults))

    def save(self, card: Card) -> Path:
        """Keep `card` in place of the one of its id, atomically; gives the file.

        Raises:
            SaveFault: it was not saved; the message says why and what to do.
        """
        path = next((p for p, c in self._look() if isinstance(c, Card) and c.id.lower() == card.id.lower()), None)
        path = path or self._free(card.id)
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            atomic.write(path, dump(card), keep=KEEP)
        except (OSError, ValueError) as fault:
            raise SaveFault(path, f"It could not be written ({_why(fault)})") from None
        return path

    def _free(self, card_id: str) -> Path:
        """A file of this name that can't be read is somebody's work: it is never written over."""
        number, path = 1, self.folder / f"{card_id}.json"
        while path.exists():
            number += 1
            path = self.folder / f"{card_id}-{number}.json"
        return path

    def _look(self) -> list[tuple[Path, Card | CardFault]]:
        try:
            entries = sorted(os.scandir(self.folder), key=lambda e: e.name)
        except FileNotFoundError:
            return []
        except OSError as fault:
            return [(self.folder, CardFault(self.folder, f"this folder can't be looked into ({_why(fault)})"))]
        fresh: dict[Path, tuple[_Stamp, Card | CardFault]] = {}
        for entry in entries:
            if not entry.name.lower().endswith(".json") or entry.name.startswith("."):
                continue
            path = Path(entry.path)
            stamp = (0, -1)
            with suppress(OSError):
                facts = entry.stat()
                stamp = (facts.st_mtime_ns, facts.st_size)
            kept = self._read.get(path)
            fresh[path] = kept if kept is not None and kept[0] == stamp != (0, -1) else (stamp, load(path))
        self._read = fresh
        return [(path, card) for path, (_, card) in fresh.items()]


def load(path: Path) -> Card | CardFault:
    """Read one card file, or say what is wrong with it and where."""
    try:
        return _parse(read_file(path, LARGEST).removeprefix(_BOM))
    except Unreadable as wrong:
        return CardFault(path, wrong.wrong[:1].lower() + wrong.wrong[1:], wrong.place)
    except TooLarge:
        return CardFault(path, "it is far too large for a card")
    except (NotOrdinary, IsADirectoryError):
        return CardFault(path, "it is no ordinary file")
    except (OSError, ValueError) as fault:
        return CardFault(path, f"it can't be read from the disk ({_why(fault)})")


def _parse(data: bytes) -> Card:
    if not data.strip():
        raise Unreadable("The file is empty")
    try:
        head = _heads.decode(data)
        if head.format != FORMAT:
            raise Unreadable(f"This is not a card file (its “format” is not “{FORMAT}”)", "$.format")
        if type(head.schema) is int and head.schema > SCHEMA:
            raise Unreadable("It was made by a newer version of this tool", "$.schema")
        card = _files.decode(data).card
    except ValidationError as wrong:
        raise misshapen(str(wrong)) from None
    except DecodeError as wrong:
        raise malformed(data, str(wrong)) from None
    except UnicodeDecodeError:
        raise Unreadable("This is no UTF-8 text") from None
    except (RecursionError, OverflowError):
        raise Unreadable("This is not a card file") from None
    fault = next(card_faults(card), None)
    if fault is not None:
        raise Unreadable(one_line(fault[1]), f"$.card{fault[0]}")
    return card


def dump(card: Card) -> bytes:
    """Write a card as it stands in its file: UTF-8, indented, times as its sheet has them (`PT15M`).

    Raises:
        ValueError: the card holds what no file can: half of a character.
    """
    plain: dict[str, Any] = msgspec.to_builtins(card, builtin_types=(timedelta,), order="deterministic")
    told = {k: iso_duration(v) if isinstance(v, timedelta) else v for k, v in plain.items()}
    told |= iso_nested(plain)
    text = msgspec.json.encode({"format": FORMAT, "schema": SCHEMA, "card": told})
    return msgspec.json.format(text, indent=2) + b"\n"


def _why(fault: OSError | ValueError) -> str:
    told = fault.strerror if isinstance(fault, OSError) else str(fault)
    return one_line(told or type(fault).__name__)


__all__ = ["CardFault", "CardFolder", "SaveFault", "Shelf", "dump", "load"]
