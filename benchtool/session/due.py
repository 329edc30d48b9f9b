"""What is due: every running window of every open job, sorted by what needs hands next."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from weakref import WeakKeyDictionary

from benchtool.job.windows import FOR_GOOD, Window
from benchtool.session.session import Document, Session
from benchtool.trade.numbers import clock_words
from benchtool.trade.windows import Phase, WindowKind

HANDS = {WindowKind.STAND, WindowKind.FLASH, WindowKind.RECOAT}


@dataclass(frozen=True, slots=True)
class Due:
    """One line of the watch at one moment. Its words are put together only when they are asked for."""

    document: Document
    window: Window
    now: datetime
    phase: Phase
    rank: int
    several: bool = False

    @property
    def remaining_s(self) -> float:
        """Seconds to the next edge; below zero, since the last."""
        return self.window.span.remaining_s(self.now) or 0.0

    @property
    def place(self) -> str:
        """The piece and the layer, and the job where several are open."""
        place = f"{self.window.piece_name}, {self.window.layer_name}"
        return f"{self.document.title}: {place}" if self.several else place

    @property
    def words(self) -> str:
        """What the window asks for, without the time that stands beside it, and what the air does to that time."""
        words, why = self.window.words_beside(self.now), self.window.why(self.now)
        return f"{words}; {why}" if why else words

    @property
    def numerals(self) -> str:
        """The time left, or what stands in its place."""
        if self.rank == NOW:
            return "Now"
        if self.phase is Phase.CLOSED and self.window.needed:
            return "Late"
        if self.rank == INFORMS:
            return ""
        return clock_words(self.remaining_s, up=self.phase is Phase.WAITING)

    @property
    def progress(self) -> float:
        """How much of the wait, or of the life, is over: 0 to 1."""
        return self.window.span.progress(self.now)

    @property
    def hands(self) -> bool:
        """Whether the painter's hands are needed now."""
        return self.rank in (CLOSING, NOW)

    @property
    def trouble(self) -> bool:
        """Whether it is about to be, or is, too late."""
        return self.phase in (Phase.CLOSING, Phase.CLOSED) and self.window.needed


@dataclass(frozen=True, slots=True)
class _Order:
    """The running windows, each with its phase and rank, in an order that holds from `since` to `until`."""

    windows: tuple[tuple[Document, Window], ...]
    since: datetime
    until: datetime
    lines: list[tuple[Document, Window, Phase, int]]


_ORDERS: WeakKeyDictionary[Session, _Order] = WeakKeyDictionary()


def due_now(session: Session, now: datetime) -> list[Due]:
    """Sort all running windows by what needs hands next."""
    windows, several = tuple(session.watch(now)), len(session.documents) > 1
    order = _ORDERS.get(session)
    if order is None or order.windows != windows or not order.since <= now < order.until:
        order = _ORDERS[session] = _order(windows, now)
    return [Due(document, window, now, phase, rank, several) for document, window, phase, rank in order.lines]


def _order(windows: tuple[tuple[Document, Window], ...], now: datetime) -> _Order:
    lines, until = [], FOR_GOOD
    for document, window in windows:
        phase, left = window.phase(now), window.span.remaining_s(now)
        rank, edge = _rank(window, phase, left), window.next_edge(now)
        if rank == LATE and left is not None and -left < FRESH:
            rank = CLOSING  # just missed: it comes first, while something can still be done
            edge = min(edge, now + timedelta(seconds=FRESH + left))
        lines.append(((rank, left or 0.0, window.key), (document, window, phase, rank)))
        until = min(until, edge)
    lines.sort(key=lambda line: line[0])
    return _Order(windows, now, until, [line for _, line in lines])


CLOSING, NOW, RUNNING, LATE, INFORMS = range(5)
FRESH = 30 * 60.0
"""For so many seconds a missed deadline stands first in the watch (judgement, no source)."""


def _rank(window: Window, phase: Phase, left: float | None) -> int:
    if phase is Phase.CLOSING:
        return CLOSING
    if phase is Phase.OPEN and window.kind in HANDS and window.needed:
        return NOW
    if phase is Phase.WAITING or (phase is Phase.OPEN and left is not None):
        return RUNNING
    return LATE if phase is Phase.CLOSED and window.needed else INFORMS
