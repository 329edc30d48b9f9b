"""The painter's card library: cards made once and used in every job after."""

from pathlib import Path

from benchtool.job.cards import Card
from benchtool.store.cards import CardFolder, SaveFault, Shelf


class NotKept(Exception):
    """A card could not be kept in the library; the message says why and what to do."""


class CardLibrary:
    """The cards in `folder`, read when they are first asked for and again where a file has changed."""

    def __init__(self, folder: Path) -> None:
        self._folder = CardFolder(folder)

    @property
    def folder(self) -> Path:
        """Where the card files lie."""
        return self._folder.folder

    def look(self) -> Shelf:
        """Give the cards by name, and what is wrong with the files that hold none."""
        return self._folder.read()

    def keep(self, card: Card) -> None:
        """Keep a card, in place of the one of its id.

        Raises:
            NotKept: it could not be written.
        """
        try:
            self._folder.save(card)
        except SaveFault as fault:
            raise NotKept(f"The card is not in your library. {fault}.") from None
