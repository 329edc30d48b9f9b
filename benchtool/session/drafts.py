"""Cards half typed: kept on disk while they are typed, so that no crash loses them."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from benchtool.session.cardreading import CardText
from benchtool.store.drafts import DraftFile

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class CardDraft:
    """What was typed, and how the card stood in the form when that was begun."""

    typed: CardText
    fresh: CardText


class CardDrafts:
    """The drafts of cards in a folder, by what each is about. Nothing here raises."""

    def __init__(self, folder: Path) -> None:
        self.file = DraftFile(folder)

    def keep(self, about: str, draft: CardDraft) -> bool:
        """Keep what is typed; gives whether the disk took it."""
        return self.file.put(about, {"typed": _plain(draft.typed), "fresh": _plain(draft.fresh)})

    def find(self, about: str) -> CardDraft | None:
        """Give what was typed before; None where nothing was, or it can't be read as a card."""
        told = self.file.read().get(about)
        if not isinstance(told, dict):
            return None
        typed = _read(told.get("typed"))
        fresh = _read(told.get("fresh"))
        return CardDraft(typed, fresh if fresh is not None else CardText()) if typed is not None else None

    def forget(self, about: str) -> None:
        """It is kept as a card, or not wanted."""
        self.file.drop(about)


def _plain(text: CardText) -> Any:
    return msgspec.to_builtins(text, str_keys=True, order="deterministic")


def _read(told: object) -> CardText | None:
    try:
        return msgspec.convert(told, CardText, str_keys=True)
    except (msgspec.ValidationError, RecursionError):
        return None
