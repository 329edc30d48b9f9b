"""Cards and pieces half typed: kept on disk while they are typed, so that no crash loses them."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from benchtool.session.cardreading import CardText
from benchtool.session.planning import PieceText
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


class PieceDrafts:
    """The drafts of pieces, in the file of those of the cards. Nothing here raises."""

    def __init__(self, file: DraftFile) -> None:
        self.file = file

    def keep(self, job: str, piece: str, typed: PieceText) -> bool:
        """Keep what is typed of a piece ("" for a new one) of a job; gives whether the disk took it."""
        return self.file.put(_of_piece(job, piece), {"piece": _plain(typed)})

    def find(self, job: str, piece: str) -> PieceText | None:
        """Give what was typed before; None where nothing was, or it can't be read as a piece."""
        told = self.file.read().get(_of_piece(job, piece))
        try:
            return msgspec.convert(told["piece"], PieceText, str_keys=True) if isinstance(told, dict) else None
        except (KeyError, msgspec.ValidationError, RecursionError):
            return None

    def forget(self, job: str, piece: str) -> None:
        """It is entered, or not wanted."""
        self.file.drop(_of_piece(job, piece))


def _of_piece(job: str, piece: str) -> str:
    return f"piece|{job}|{piece}"


def _plain(text: CardText | PieceText) -> Any:
    return msgspec.to_builtins(text, str_keys=True, order="deterministic")


def _read(told: object) -> CardText | None:
    try:
        return msgspec.convert(told, CardText, str_keys=True)
    except (msgspec.ValidationError, RecursionError):
        return None
