"""What is due: every running window of every open job, sorted by what needs hands next."""

from dataclasses import dataclass
from datetime import datetime

from benchtool.job.windows import Window
from benchtool.session.session import Document, Session
from benchtool.trade.numbers import clock_words
from benchtool.trade.windows import Phase, WindowKind

HANDS = {WindowKind.STAND, WindowKind.FLASH, WindowKind.RECOAT}


@dataclass(frozen=True, slots=True)
class Due:
    """One line of the watch at one moment; its words go with the numerals beside them."""

    document: Document
    window: Window
    place: str
    words: str
    numerals: str
    rank: int
    remaining_s: float
    progress: float
    phase: Phase

    @property
    def hands(self) -> bool:
        """Whether the painter's hands are needed now."""
        return self.rank in (0, 1)

    @property
    def trouble(self) -> bool:
        """Whether it is about to be, or is, too late."""
        return self.phase in (Phase.CLOSING, Phase.CLOSED) and self.window.needed


def due_now(session: Session, now: datetime) -> list[Due]:
    """Sort all running windows by what needs hands next."""
    several = len(session.documents) > 1
    lines = [_due(document, window, now, several=several) for document, window in session.watch(now)]
    return sorted(lines, key=lambda d: (d.rank, d.remaining_s, d.place))


def _due(document: Document, window: Window, now: datetime, *, several: bool) -> Due:
    phase, left = window.phase(now), window.span.remaining_s(now)
    if phase is Phase.CLOSING:
        rank, numerals = 0, clock_words(left or 0.0, up=False)
    elif phase is Phase.OPEN and window.kind in HANDS and window.needed:
        rank, numerals = 1, "Now"
    elif phase is Phase.WAITING or (phase is Phase.OPEN and left is not None):
        rank, numerals = 2, clock_words(left or 0.0, up=phase is Phase.WAITING)
    elif phase is Phase.CLOSED and window.needed:
        rank, numerals = 3, "Late"
    else:
        rank, numerals = 4, ""
    place = f"{window.piece_name}, {window.layer_name}"
    return Due(
        document=document,
        window=window,
        place=f"{document.title}: {place}" if several else place,
        words=window.words_beside(now),
        numerals=numerals,
        rank=rank,
        remaining_s=left if left is not None else 0.0,
        progress=window.span.progress(now),
        phase=phase,
    )
