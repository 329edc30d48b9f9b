"""What is due: every running window of every open job, sorted by what needs hands next."""

import re
from collections import Counter
from dataclasses import dataclass
from datetime import datetime, timedelta
from weakref import WeakKeyDictionary

from benchtool.job.nextstep import Act, next_step
from benchtool.job.windows import FOR_GOOD, Window
from benchtool.session.session import Document, Session
from benchtool.trade.numbers import clock_words
from benchtool.trade.windows import Phase, WindowKind

HANDS = {
    WindowKind.STAND, WindowKind.FLASH, WindowKind.RECOAT, WindowKind.DWELL, WindowKind.TAPE_ON, WindowKind.AGEING,
}  # fmt: skip

_FIGURES = re.compile(r"(\d+)")
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")  # no strftime: the
# toolkit takes the system's language for it, and the rest of the bench is English
_MOST_DAYS = 6
_MOST_DAYS_IN_A_YEAR = 300
_TO_THE_MINUTE = timedelta(seconds=59, milliseconds=999)


@dataclass(frozen=True, slots=True)
class Bar:
    """A line of the watch as a bar, in shares (0 to 1) of its whole length.

    A wait fills up: `filled` is how much of what it takes is over, so that cold slows it and never sets it back. `card`
    is how full it is at the instant at which the card alone would have ended it, `added` the rest, which the air asks
    for on top. What `runs_out` (a pot life, an open window that closes) empties: `filled` is what is left of it.
    """

    filled: float
    card: float = 1.0
    runs_out: bool = False

    @property
    def added(self) -> float:
        """The part that cold or damp added."""
        return 1.0 - self.card


@dataclass(frozen=True, slots=True)
class Due:
    """One line of the watch at one moment. Its words are put together only when they are asked for."""

    document: Document
    window: Window
    now: datetime
    phase: Phase
    rank: int
    namesake: bool = False
    """Another open job has a piece of that name."""
    strips: str = ""
    """The strips of a trial that this line stands for, where there are several (session/duelines.py)."""
    numbers: str = ""
    """Their numbers alone, for where there is little room."""

    @property
    def remaining_s(self) -> float:
        """Seconds to the next edge; below zero, since the last."""
        return self.window.span.remaining_s(self.now) or 0.0

    @property
    def place(self) -> str:
        """The piece and the layer, and the job where another open one has a piece of that name."""
        place = f"{self.strips or self.window.piece_name}, {self.window.layer_name}"
        return f"{self.document.title}: {place}" if self.namesake else place

    @property
    def names(self) -> tuple[str, ...]:
        """The same name by name, for where they are too long together."""
        names = (self.strips or self.window.piece_name, self.window.layer_name)
        return (self.document.title, *names) if self.namesake else names

    @property
    def words(self) -> str:
        """What the window asks for, without the time that stands beside it, and what the air does to that time."""
        words, why = self.window.words_beside(self.now), self.window.why(self.now)
        return f"{words}; {_lower(why)}" if why else words

    @property
    def consequence_first(self) -> str:
        """The same with what the air does before its cause, for where the end is cut off: the cause can be missed."""
        told = [clause.partition(": ") for clause in self.window.why(self.now).split("; ")]
        does = [then or cause for cause, _, then in told]
        causes = [_lower(cause) for cause, _, then in told if then]
        return "; ".join(filter(None, (self.window.words_beside(self.now), _lower(", ".join((*does, *causes))))))

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
    def short(self) -> str:
        """The same in the few words that can be read from across the shop; where a coat waits for its mix, that."""
        if self.rank in (CLOSING, NOW) and self.window.kind in (WindowKind.FLASH, WindowKind.RECOAT):
            state = self.document.state
            step = next_step(state, state.pieces[self.window.piece], self.now)
            if step.act is Act.MIX:
                return step.short or step.words
        return short_words(self.window, self.phase)

    @property
    def edge(self) -> datetime | None:
        """The instant that the time left runs to, else that of the last change; None where it never comes."""
        span = self.window.span
        if span.never:
            return None
        return span.opens_at if self.phase is Phase.WAITING or span.closes_at is None else span.closes_at

    @property
    def clock(self) -> str:
        """That instant by the clock on the wall, a wait never too early and a deadline never too late; "" for never."""
        edge = self.edge
        return clock_time(edge, self.now, up=self.phase is Phase.WAITING) if edge is not None else ""

    @property
    def clock_word(self) -> str:
        """What the clock time is: `at` for what comes then, `until` for what ends then, `since` for what is past."""
        if self.edge is None:
            return ""
        if self.phase is Phase.WAITING:
            return "at"
        return (
            "until" if self.phase in (Phase.OPEN, Phase.CLOSING) and self.window.span.closes_at is not None else "since"
        )

    @property
    def clock_words(self) -> str:
        """The clock time in a small place beside the time left, which says already that it is a wait."""
        return self.clock if self.phase is Phase.WAITING else " ".join(p for p in (self.clock_word, self.clock) if p)

    @property
    def progress(self) -> float:
        """How much of the wait, or of the life, is over: 0 to 1."""
        return self.window.span.progress(self.now)

    @property
    def bar(self) -> Bar:
        """How far it is, with what the air added to a wait apart."""
        window, span = self.window, self.window.span
        if self.phase is Phase.WAITING and window.kind is not WindowKind.POT_LIFE:
            by = span.opens_by
            card = by.share(window.card_ends_at) if by is not None and window.card_ends_at < span.opens_at else 1.0
            return Bar(span.progress(self.now), card)
        if window.kind is WindowKind.POT_LIFE:
            return Bar(1.0 - span.progress(self.now), runs_out=True)
        if span.closes_at is None:
            return Bar(1.0)
        whole = (span.closes_at - span.opens_at).total_seconds()
        left = (span.closes_at - self.now).total_seconds()
        return Bar(min(1.0, max(0.0, left / whole)) if whole > 0 else 0.0, runs_out=True)

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

    def holds(self, windows: tuple[tuple[Document, Window], ...], now: datetime) -> bool:
        """Whether it is still the order of these windows, the very same and not their equals.

        Windows are equal where their instants are, and after an undo those may be the old ones in another air.
        """
        if len(windows) != len(self.windows) or not self.since <= now < self.until:
            return False
        return all(a is b and v is w for (a, v), (b, w) in zip(windows, self.windows, strict=True))


_ORDERS: WeakKeyDictionary[Session, _Order] = WeakKeyDictionary()


def due_now(session: Session, now: datetime) -> list[Due]:
    """Sort all running windows by what needs hands next."""
    windows, shared = tuple(session.watch(now)), _shared_names(session)
    order = _ORDERS.get(session)
    if order is None or not order.holds(windows, now):
        order = _ORDERS[session] = _order(windows, now)
    return [
        Due(document, window, now, phase, rank, window.piece_name in shared)
        for document, window, phase, rank in order.lines
    ]


def _shared_names(session: Session) -> set[str]:
    """Give the names that pieces of more than one open job have."""
    if len(session.documents) < 2:
        return set()
    named = Counter(n for d in session.documents for n in {p.piece.name for p in d.state.pieces.values()})
    return {name for name, jobs in named.items() if jobs > 1}


def _order(windows: tuple[tuple[Document, Window], ...], now: datetime) -> _Order:
    lines, until = [], FOR_GOOD
    for document, window in windows:
        phase, left = window.phase(now), window.span.remaining_s(now)
        rank, edge = _rank(window, phase, left), window.next_edge(now)
        if rank == LATE and left is not None and -left < FRESH:
            rank = CLOSING  # just missed: it comes first, while something can still be done
            edge = min(edge, now + timedelta(seconds=FRESH + left))
        lines.append(((rank, left or 0.0, _natural(window.key)), (document, window, phase, rank)))
        until = min(until, edge)
    lines.sort(key=lambda line: line[0])
    return _Order(windows, now, until, [line for _, line in lines])


def _natural(key: str) -> tuple[tuple[int, str], ...]:
    """Sort by the numbers in a name as numbers: strip 2 comes before strip 10."""
    return tuple((int(part), "") if part.isdecimal() else (0, part) for part in _FIGURES.split(key))


def short_words(window: Window, phase: Phase) -> str:
    """Say what a window asks for in the few words that can be read from across the shop."""
    then = window.then
    if window.span.never:
        return "Not in this air"
    if phase is Phase.WAITING and window.span.closes_first:
        return "then scuff it" if window.by_recoat else f"then {then}, late"
    match window.kind, phase:
        case WindowKind.STAND, Phase.WAITING:
            return f"stands, then {then}"
        case WindowKind.STAND, _:
            return f"{then[:1].upper()}{then[1:]}"
        case WindowKind.POT_LIFE, Phase.CLOSED:
            return "Mix fresh"
        case WindowKind.POT_LIFE, _:
            return "pot life left"
        case WindowKind.FLASH | WindowKind.RECOAT, Phase.WAITING:
            return f"then {then}"
        case WindowKind.RECOAT, Phase.CLOSING:
            return "Recoat closes"
        case ((WindowKind.RECOAT | WindowKind.FLASH), Phase.CLOSED) if window.by_recoat:
            return "Scuff it first"
        case WindowKind.FLASH, Phase.CLOSED:
            return f"{then[:1].upper()}{then[1:]} is late"
        case WindowKind.FLASH | WindowKind.RECOAT, _:  # no order to spray: whether a cup is ready is not asked here
            return f"{then[:1].upper()}{then[1:]} may go on"
        case WindowKind.DWELL, _:
            return f"rests, then {then}" if phase is Phase.WAITING else f"{then[:1].upper()}{then[1:]}"
        case WindowKind.TAPE_ON, Phase.WAITING:
            return "tape stays on"
        case WindowKind.TAPE_ON, _:
            return "Tape is late" if phase is Phase.CLOSED else "Pull the tape"
        case WindowKind.AGEING, _:
            return window.mark or "being aged" if phase is Phase.WAITING else f"{then[:1].upper()}{then[1:]}"
        case WindowKind.TAPE, _:
            return "no tape yet" if phase is Phase.WAITING else "Tape may touch it"
        case _:
            return "to full cure" if phase is Phase.WAITING else "Cured"


def clock_time(at: datetime, now: datetime, *, up: bool = False) -> str:
    """Say an instant by the clock on the wall: `18:42`, `Thu 07:10` where it is not today, `2 Dec` where it is far off.

    `up` goes to the next whole minute, so that a wait is over when the clock says so; a deadline is cut to the minute
    for the same reason. What no clock reaches is "".
    """
    if at >= FOR_GOOD:
        return ""
    local, here = (at + _TO_THE_MINUTE if up else at).astimezone(), now.astimezone()
    days = (local.date() - here.date()).days
    if days == 0:
        return f"{local:%H:%M}"
    if abs(days) <= _MOST_DAYS:
        return f"{_DAYS[local.weekday()]} {local:%H:%M}"
    year = f" {local.year}" if abs(days) > _MOST_DAYS_IN_A_YEAR else ""
    return f"{local.day} {_MONTHS[local.month - 1]}{year}"


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


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]
