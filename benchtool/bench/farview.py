"""The far view: the watch alone, filling the screen, to be read from across the shop.

All that is meant for three metres is at least 16 minutes of arc high there on a 14-inch screen, the place, the words
and the clock time 20 where they fit (session/legibility.py has the standard). The rest is for whoever stands at it.
"""

from collections.abc import Callable
from datetime import datetime, timedelta

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFont, QKeyEvent, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QWidget

from benchtool.bench.controls import BenchButton
from benchtool.bench.farsheet import LINES, Band, Line, Sheet, Shown
from benchtool.bench.look import GRID, Look
from benchtool.bench.nextkey import USUAL_KEY, key_name
from benchtool.session.alarms import SHOWN, Call
from benchtool.session.due import Due, short_words
from benchtool.session.duelines import due_lines
from benchtool.session.handsfree import AT_THE_BENCH, HEARD, SEEN, HandsFree, Place, next_act
from benchtool.session.session import Session
from benchtool.trade.windows import Phase

SAID_FOR = timedelta(seconds=8)
"""So long an answer stays in large words (judgement, no source: time to look up and read it twice)."""

LEAST_TURN = timedelta(milliseconds=500)
"""The loud state comes or goes no faster: one flash a second at most, where WCAG 2.2 (2.3.1) allows three."""

ASKED_AGAIN = timedelta(seconds=10)
"""What the hands-free key does next is worked out anew at least this often: it may ask every rule."""


class FarView(QWidget):
    """One countdown as large as the screen allows, and the next few below it.

    Only a key or the button leaves it: a sleeve that touches the screen or the trackpad does nothing.
    """

    left = Signal()

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.look = look
        self.session = session
        self.lines: list[Due] = []
        self.calls = ""
        self.next_key = USUAL_KEY
        self.place: Callable[[], Place] = lambda: AT_THE_BENCH
        self.shown = Shown()
        self._said = ""
        self._said_at: datetime | None = None
        self._loud = False
        self._turned: datetime | None = None
        self._next: tuple[object, datetime, HandsFree] | None = None
        self.setObjectName("far-view")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.back = BenchButton(look, "Bench", "F", name="far-back")
        self.back.setParent(self)
        self.back.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.back.clicked.connect(self.left)
        look.changed.connect(self._place_back)

    # --- what is shown ---------------------------------------------------------------------------------

    def say(self, text: str) -> None:
        """Show an answer in large words for some seconds; no text takes it down."""
        now = self.session.now()
        self._said, self._said_at = text, now
        if self.isVisible():
            self.refresh(now)

    def refresh(self, now: datetime) -> None:
        """Show the watch as it stands at `now`; only what looks different is drawn anew."""
        self.lines = due_lines(self.session, now)
        first = self.lines[0] if self.lines else None
        words = f"{first.place}: {first.numerals} {first.words}" if first is not None else "Nothing is running"
        if words != self.accessibleName():
            self.setAccessibleName(words)
        before, self.shown = self.shown, self._at(now, first)
        old, new = before.zones(), self.shown.zones()
        if old == new:
            return
        if old["all"] != new["all"]:
            self.update()
            return
        spots = self.sheet().spots
        for zone, what in new.items():
            if what != old[zone]:
                self.update(spots[zone].toAlignedRect())

    def sheet(self) -> Sheet:
        """Give the zones and type sizes of what is shown now."""
        return Sheet(self.look, self.shown, self.width(), self.height(), self.back.width() + GRID)

    def fonts(self) -> dict[str, QFont]:
        """Give the type of each zone, to measure it."""
        return self.sheet().fonts

    def _at(self, now: datetime, first: Due | None) -> Shown:
        act = self._next_act(now)
        calls = self._called(now, act)
        said = self._said_at is not None and timedelta(0) <= now - self._said_at < SAID_FOR
        band = Band((self._said,)) if said and self._said else calls
        loud = self._turn(now, bool(calls.lines) and self.session.alarms.flash(now))
        key = self._key_words(act)
        most = LINES + (not key) + (self.height() > 0.7 * self.width())  # where no key is told there is room for one
        count = 0 if band.lines else min(len(self.lines) - 1, most)
        more = len(self.lines) - 1 - count
        time, more_words = f"{now.astimezone():%H:%M}", f"and {more} more" if more > 0 else ""
        if first is None:
            return Shown(band=band, key=key, time=time, loud=calls.tone if loud else "")
        return Shown(
            names=first.names,
            numerals=first.numerals or "Done",
            tone=_tone(first),
            clock=_clock(first),
            words=first.short,
            bar=first.bar,
            lines=tuple(self._line(i) for i in range(1, 1 + count)),
            band=band,
            key=key,
            time=time,
            more=more_words,
            loud=calls.tone if loud else "",
        )

    def _line(self, place: int) -> Line:
        """Give one of the next lines; it names no piece where all above it are of the same one."""
        due = self.lines[place]
        same = all(d.names[:-1] == due.names[:-1] and d.document is due.document for d in self.lines[:place])
        names = (*due.names[:-2], due.numbers or due.names[-2])
        return Line(() if same else names, due.short, due.numerals or due.clock_words, _tone(due))

    def _called(self, now: datetime, act: HandsFree) -> Band:
        """Put what calls and was not heard into a band: one call whole, more of them a line each."""
        up, summary = self.session.alarms.up(), self.session.alarms.summary
        heard = f"Heard: H or {key_name(self.next_key)}" if act.short == HEARD else "Heard: H"
        if not up:
            self.calls = summary.words if summary is not None else ""
            tone = "trouble" if summary is not None and summary.grave else "accent"
            return Band((self.calls,), heard, tone) if self.calls else Band()
        self.calls = "; ".join(a.words(now) for a in up[:SHOWN])
        tone = "accent" if all(a.call is Call.NOW for a in up) else "trouble"
        if len(up) == 1:
            return Band((f"{up[0].window.piece_name}: {up[0].window.words(now)}",), heard, tone)
        told = [f"{a.window.piece_name}: {short_words(a.window, a.window.phase(now))}" for a in up[:2]]
        if len(up) > len(told):
            told[1:] = [f"and {len(up) - 1} more"]
        return Band(tuple(told), heard, tone)

    def _turn(self, now: datetime, loud: bool) -> bool:
        """Take the loud state or leave it, but not too soon after the last turn."""
        if loud is not self._loud and (self._turned is None or abs(now - self._turned) >= LEAST_TURN):
            self._loud, self._turned = loud, now
        return self._loud

    def _next_act(self, now: datetime) -> HandsFree:
        """Say what the hands-free key does next, worked out anew when anything it depends on has changed."""
        document, board = self.session.current, self.session.alarms
        at = (
            document,
            [id(d.job) for d in self.session.documents],
            self.session.piece_id,
            [(id(d.window), d.phase, d.rank) for d in self.lines],
            [(a.place, a.since, now - a.since >= SEEN) for a in board.up()],
            board.summary is not None and now - board.summary.at >= SEEN,
        )
        kept = self._next
        if kept is None or kept[0] != at or not timedelta(0) <= now - kept[1] < ASKED_AGAIN:
            kept = self._next = (at, now, next_act(self.session, now, self.place()))
        return kept[2]

    def _key_words(self, act: HandsFree) -> str:
        if act.do is None:
            return act.short
        here = self.lines[0].window.piece_name if self.lines else ""
        place = f", {act.place}" if act.place not in ("", here) else ""  # last: it is the name that is cut short
        return f"{key_name(self.next_key)}: {act.short}{place}"

    # --- keys, mouse, drawing --------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Escape, Qt.Key.Key_F):
            self.left.emit()
        else:
            event.ignore()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._place_back()

    def _place_back(self) -> None:
        wide, high, edge = self.back.sizeHint().width(), self.look.target, 2 * GRID
        self.back.setGeometry(self.width() - wide - edge, self.height() - high - edge, wide, high)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self.sheet().paint(painter, event.region())
        painter.end()


def _tone(due: Due) -> str:
    return "trouble" if due.trouble else "accent" if due.hands else "ink"


def _clock(due: Due) -> tuple[str, str]:
    """Give the clock time in two lines, the hours below: over them the day, or what the hours are."""
    day, _, hours = due.clock.rpartition(" ")
    if not day or ":" not in hours:
        return due.clock_word, due.clock
    return day if due.phase is Phase.WAITING else f"{due.clock_word} {day}", hours
