"""The painter's card library: cards made once and used in every job after."""

from collections.abc import Generator, Iterator, Sequence
from datetime import datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from benchtool.job.cards import Card
from benchtool.store.cards import CardFault, CardFolder, SaveFault, Shelf
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say

if TYPE_CHECKING:
    from benchtool.session.cardsearch import CardIndex, Found

__all__ = ["Aside", "CardFault", "CardLibrary", "NotKept", "Progress", "Shelf"]


class NotKept(Exception):
    """A card could not be kept in the library; the message says why and what to do."""


class Progress(NamedTuple):
    """How many of how many card files were read."""

    read: int
    of: int

    @property
    def words(self) -> str:
        """Say it."""
        return say("{read:,} of {of:,} cards read", read=self.read, of=self.of)


class Aside(NamedTuple):
    """A card that was taken out, and where its file lies now."""

    card: Card
    path: Path

    @property
    def where(self) -> str:
        """Name the file from the library's folder on."""
        return "/".join(self.path.parts[-2:])


class CardLibrary:
    """The cards in `folder`, read when they are first asked for and again where a file has changed."""

    def __init__(self, folder: Path) -> None:
        self._folder = CardFolder(folder)
        self._indexed: Shelf | None = None

    @cached_property
    def _index(self) -> "CardIndex":
        from benchtool.session.cardsearch import CardIndex  # not before somebody searches

        return CardIndex()

    @property
    def folder(self) -> Path:
        """Where the card files lie."""
        return self._folder.folder

    def look(self) -> Shelf:
        """Give the cards by name, and what is wrong with the files that hold none."""
        return self._folder.read()

    def known(self) -> Shelf | None:
        """Give what was there when the files were last looked at, without asking the disk; None where never yet."""
        return self._folder.known()

    def reading(self) -> Generator[Progress, None, Shelf]:
        """Read the cards, and make them ready to be looked through, a little at a time; it comes to the shelf.

        A window takes a few steps between two strokes of a key, so that it never stands still; once the steps have
        come to their end, `look` and `find` answer at once.
        """
        for read, of in self._folder.reading():
            yield Progress(read, of)
        shelf = self._folder.shelf()
        for _ in self._index.updating(shelf.cards):
            yield Progress(len(shelf.cards), len(shelf.cards))
        self._indexed = shelf
        return shelf

    def find(self, typed: str) -> "Found":
        """Give the cards that answer to what was typed; `cardsearch` says how it is read."""
        return self.find_among(typed, self.look())

    def find_among(self, typed: str, shelf: Shelf) -> "Found":
        """Do the same on a shelf that was looked at before, so that no keystroke asks the disk."""
        if self._indexed is not shelf:
            self._index.update(shelf.cards)
            self._indexed = shelf
        return self._index.find(typed)

    def changed_at(self, card_id: str) -> datetime | None:
        """Say when this card was last written here (UTC); None where it is not here or that can't be told."""
        return self._folder.changed_at(card_id)

    # --- changing it ---------------------------------------------------------------------------------

    def keep(self, card: Card) -> None:
        """Keep a card, in place of the one of its id.

        Raises:
            NotKept: it could not be written.
        """
        try:
            self._folder.save(card)
        except SaveFault as fault:
            raise NotKept(f"The card is not in your library. {fault}.") from None

    def keeping_all(self, cards: Sequence[Card]) -> Iterator[Progress]:
        """Keep all of these cards, each in place of the one of its id, or none; does it a card at a time.

        Raises:
            NotKept: none was written.
        """
        if not cards:
            return
        try:
            for written, of in self._folder.saving_all(cards):
                yield Progress(written, of)
        except SaveFault as fault:
            raise NotKept(say("Nothing was brought in. {why}.", why=fault.message)) from None

    def take_out(self, card: Card) -> Aside:
        """Take a card out; it stays among its earlier versions.

        Raises:
            NotKept: its file can't be moved, or is gone.
        """
        try:
            return Aside(card, self._folder.take_out(card.id))
        except SaveFault as fault:
            raise NotKept(
                say("{name} stays in your library. {why}.", name=shorten(card.name), why=fault.message)
            ) from None

    def bring_back(self, aside: Aside) -> Card:
        """Bring back a card that was taken out.

        Raises:
            NotKept: it can't be.
        """
        try:
            self._folder.bring_back(aside.path)
        except SaveFault as fault:
            raise NotKept(say("{name} is not back. {why}.", name=shorten(aside.card.name), why=fault.message)) from None
        return aside.card
