"""The card library: a folder with one plain JSON file for each product card, to read, copy and mend by hand."""

import os
from collections.abc import Container, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from benchtool.job.cards import Card
from benchtool.store import atomic, batch
from benchtool.store.cardfiles import FORMAT, LARGEST, SCHEMA, CardFault, dump, load, why
from benchtool.store.faults import SaveFault
from benchtool.store.files import one_line

__all__ = ["FORMAT", "KEEP", "LARGEST", "SCHEMA", "CardFault", "CardFolder", "SaveFault", "Shelf", "dump", "load"]

KEEP = 5
"""How many earlier versions of a card are kept beside it."""


@dataclass(frozen=True, slots=True)
class Shelf:
    """What the folder holds: the cards by name, and the files that hold none."""

    cards: tuple[Card, ...] = ()
    faults: tuple[CardFault, ...] = ()


_Stamp = tuple[int, int]
_NO_STAMP = (0, -1)


class CardFolder:
    """The folder. Nothing is read before it is asked for, and no file twice unless it was changed."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._read: dict[str, tuple[_Stamp, Card | CardFault]] = {}
        self._paths: dict[str, Path] = {}
        self._shelf: Shelf | None = None
        self._closed: CardFault | None = None

    def read(self) -> Shelf:
        """Look at every card file; a missing folder is an empty one."""
        for _ in self.reading():
            pass
        return self.shelf()

    def shelf(self) -> Shelf:
        """Give what was there when the files were last looked at."""
        if self._shelf is None:
            self._shelf = self._sort()
        return self._shelf

    def known(self) -> Shelf | None:
        """Give what is known without asking the disk; None where the files were never looked at."""
        return self.shelf() if self._shelf is not None or self._read else None

    def reading(self) -> Iterator[tuple[int, int]]:
        """Look at one file after the other; gives how many of how many were looked at.

        Whoever has something else to do meanwhile takes a few at a time; `read` then looks at what is left.
        """
        entries = self._entries()
        for i, entry in enumerate(entries, 1):
            stamp = _NO_STAMP
            with suppress(OSError):
                facts = entry.stat()
                stamp = (facts.st_mtime_ns, facts.st_size)
            kept = self._read.get(entry.name)
            if kept is None or stamp == _NO_STAMP or kept[0] != stamp:
                self._read[entry.name] = (stamp, load(Path(entry.path)))
                self._shelf = None
            yield i, len(entries)
        for name in self._read.keys() - {entry.name for entry in entries}:
            del self._read[name]
            self._shelf = None

    def _entries(self) -> list["os.DirEntry[str]"]:
        before, self._closed = self._closed, None
        found: list[os.DirEntry[str]] = []
        try:
            with os.scandir(self.folder) as entries:
                found = [e for e in entries if e.name.lower().endswith(".json") and not e.name.startswith(".")]
        except FileNotFoundError:
            pass
        except OSError as fault:
            self._closed = CardFault(self.folder, f"this folder can't be looked into ({why(fault)})")
        if before != self._closed:
            self._shelf = None
        return found

    def _sort(self) -> Shelf:
        cards: dict[str, Card] = {}
        paths: dict[str, Path] = {}
        faults = [self._closed] if self._closed is not None else []
        for name, (_, card) in sorted(self._read.items()):
            if isinstance(card, CardFault):
                faults.append(card)
            elif (key := card.id.lower()) in cards:
                message = f"it holds the same card as {one_line(paths[key].name)}: remove one of the two"
                faults.append(CardFault(self.folder / name, message, "$.card.id"))
            else:
                cards[key], paths[key] = card, self.folder / name
        self._paths = paths
        by_name = sorted(cards.values(), key=lambda c: (c.name.casefold(), c.id))
        return Shelf(tuple(by_name), tuple(faults))

    def file_of(self, card_id: str) -> Path | None:
        """Give the file that held the card of this id when the folder was last looked at; None where none did."""
        if self._shelf is None:
            self.read()
        return self._paths.get(card_id.lower())

    def changed_at(self, card_id: str) -> datetime | None:
        """Say when the file of this card was last written (UTC); None where none holds it or it can't be told."""
        path = self.file_of(card_id)
        try:
            return datetime.fromtimestamp(path.stat().st_mtime, tz=UTC) if path is not None else None
        except (OSError, ValueError, OverflowError):
            return None

    # --- changing it -----------------------------------------------------------------------------

    def save(self, card: Card) -> Path:
        """Keep `card` in place of the one of its id, atomically; gives the file.

        Raises:
            SaveFault: it was not saved; the message says why and what to do.
        """
        self.read()
        path = self.file_of(card.id) or self._free(card.id)
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            atomic.write(path, dump(card), keep=KEEP)
        except (OSError, ValueError) as fault:
            raise SaveFault(path, f"It could not be written ({why(fault)})") from None
        return path

    def saving_all(self, cards: Sequence[Card]) -> Iterator[tuple[int, int]]:
        """Keep all of these cards, each in place of the one of its id, or none; gives how many of how many are written.

        Nothing is kept before the last step, and whoever stops before it keeps nothing.

        Raises:
            SaveFault: none was saved; the message says why.
        """
        self.read()
        taken: dict[Path, bytes] = {}
        try:
            for card in cards:
                path = self._paths.get(card.id.lower()) or self._free(card.id, taken)
                taken[path] = dump(card)
            self.folder.mkdir(parents=True, exist_ok=True)
            for written in batch.writing_all(self.folder, taken, keep=KEEP):
                yield written, len(taken)
        except (OSError, ValueError) as fault:
            raise SaveFault(self.folder, f"None of these cards could be written ({why(fault)})") from None

    def take_out(self, card_id: str) -> Path:
        """Put the file of a card among its own earlier versions; gives where it lies now.

        Raises:
            SaveFault: there is no such card, or its file can't be moved.
        """
        self.read()
        path = self.file_of(card_id)
        if path is None:
            raise SaveFault(self.folder, "This card is not there any more")
        try:
            return batch.put_aside(path)
        except (OSError, ValueError) as fault:
            raise SaveFault(path, f"It can't be taken out ({why(fault)})") from None

    def bring_back(self, aside: Path) -> Path:
        """Bring back what `take_out` put at `aside`; gives its file.

        Raises:
            SaveFault: it is gone, can't be moved, or there is a card of its id again.
        """
        card = load(aside)
        if isinstance(card, CardFault):
            raise SaveFault(aside, f"It can't be brought back: {card.message}")
        self.read()
        if self.file_of(card.id) is not None:
            raise SaveFault(aside, "A card of this id is there again: it stays as it is")
        path = aside.parent.with_name(aside.parent.name.removesuffix(".versions"))
        try:
            path = path if not path.exists() else self._free(card.id)
            batch.place(aside, path)
        except (OSError, ValueError) as fault:
            raise SaveFault(aside, f"It can't be brought back ({why(fault)})") from None
        return path

    def _free(self, card_id: str, taken: Container[Path] = ()) -> Path:
        """A file of this name that can't be read is somebody's work: it is never written over."""
        number, path = 1, self.folder / f"{card_id}.json"
        while path.exists() or path in taken:
            number += 1
            path = self.folder / f"{card_id}-{number}.json"
        return path
