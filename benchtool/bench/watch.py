"""The watch: every running window of every open job, the next one in numerals readable from three metres."""

from datetime import datetime

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QMoveEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.bars import BarLine, FewLines, draw_bar, short_names, steps_of
from benchtool.bench.controls import BigText, Pane, Words, hatch, scrolled
from benchtool.bench.look import GRID, Look, elided
from benchtool.bench.tips import plain_tip
from benchtool.session.due import Due
from benchtool.session.duelines import due_lines
from benchtool.session.session import Session
from benchtool.trade.windows import Phase

GUTTER = int(1.5 * GRID)
"""Room left of the words for the mark of a row that needs hands or is late."""

FOOT = 5
"""The height of the bar at the foot of a row."""


class WatchRow(QAbstractButton):
    """One running window: where, what for, how long and until when; a bar along its foot shows how far it is."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.due: Due | None = None
        self._drawn: tuple[str, str, str, str, tuple[int, int, bool], int, Phase] | None = None
        look.changed.connect(self._relook)
        self._relook()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)

    def _relook(self) -> None:
        self.setFixedHeight(self.look.target + GRID)
        self._figures = 0
        self.update()

    def take(self, due: Due) -> None:
        """Stand for this line, still without putting it into words."""
        if self.due is None or self.due.window is not due.window or self.due.strips != due.strips:
            self._tell(due.place)
            self._drawn = None
        self.due = due

    def show_due(self, due: Due) -> None:
        """Show this line; repaint only what looks different."""
        words, clock = due.words, due.clock_words
        drawn = (due.place, words, clock, due.numerals, steps_of(due.bar), due.rank, due.phase)
        self.due = due
        if drawn == self._drawn:
            return
        before, self._drawn = self._drawn, drawn
        if before is None or drawn[:3] != before[:3]:
            self._tell(f"{due.place}: {words}" + (f", {clock}" if clock else ""))
        # No wider than the figures are: the name of a piece ends short of them, and must not be wiped away with them.
        wide = int(QFontMetricsF(self.look.title).horizontalAdvance(due.numerals)) + GRID
        same, self._figures = wide == self._figures, wide
        if same and before is not None and drawn[:3] + drawn[4:] == before[:3] + before[4:]:
            self.update(self.width() - self._figures, 0, self._figures, self._middle)
        else:
            self.update()

    def _tell(self, whole: str) -> None:
        """Give all words to whoever can't see them: in the row they may be cut short."""
        self.setAccessibleName(whole)
        self.setToolTip(plain_tip(whole))

    def sizeHint(self) -> QSize:
        return QSize(30 * GRID, self.look.target)

    @property
    def _middle(self) -> int:
        """Where the upper line of the row ends and the lower begins."""
        return int((self.height() - FOOT - 4) * 0.54)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t, look, due = QPainter(self), self.look.theme, self.look, self.due
        box = QRectF(self.rect())
        painter.fillRect(box, t.color("paper"))
        if due is None:
            painter.end()
            return
        tone, middle, clock = _tone(due), float(self._middle), due.clock_words
        low, right = box.height() - FOOT - 4, box.right() - 2
        painter.setFont(look.title)
        painter.setPen(t.color(tone))
        width = QFontMetricsF(look.title).horizontalAdvance(due.numerals)
        across = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight
        painter.drawText(QRectF(right - width - 2, 0, width + 2, middle), across, due.numerals)
        figures_alone = event.rect().left() >= self.width() - self._figures and event.rect().bottom() < self._middle
        if figures_alone and not self.hasFocus():
            painter.end()
            return
        if due.hands:
            painter.fillRect(QRectF(0, 4, GRID / 2, low - 4), t.color("accent"))
        if due.trouble:
            hatch(painter, QRectF(0, 4, GRID, low - 4), t.color("trouble"), gap=6, width=2)
        painter.setFont(look.small)
        painter.setPen(t.color("quiet"))
        beside = QFontMetricsF(look.small).horizontalAdvance(clock)
        painter.drawText(QRectF(right - beside - 2, middle, beside + 2, low - middle), across, clock)
        left, gap = float(GUTTER), 1.5 * GRID
        upper, lower = right - width - gap - left, right - beside - gap - left
        painter.drawText(
            QRectF(left, middle, lower, low - middle),
            Qt.AlignmentFlag.AlignVCenter,
            _worded(due, look, lower),
        )
        painter.setFont(look.strong)
        painter.setPen(t.color("ink"))
        painter.drawText(QRectF(left, 0, upper, middle), Qt.AlignmentFlag.AlignVCenter, _named(due, look, upper))
        foot = QRectF(left, box.bottom() - FOOT - 3, right - left, FOOT)
        draw_bar(painter, foot, due.bar, done=t.color(_bar_tone(due)), line=t.color("line"), ink=t.color("quiet"))
        if self.hasFocus():
            painter.setPen(QPen(t.color("accent"), 2))
            painter.drawRect(box.adjusted(1, 1, -1, -1))
        painter.end()


def _tone(due: Due) -> str:
    return "trouble" if due.trouble else "accent" if due.hands else "ink"


def _bar_tone(due: Due) -> str:
    return "trouble" if due.trouble else "accent" if due.hands else "wait"


def _named(due: Due, look: Look, room: float) -> str:
    if QFontMetricsF(look.strong).horizontalAdvance(due.place) <= room:
        return due.place
    return short_names(due.names, look.strong, room)


def _worded(due: Due, look: Look, room: float) -> str:
    if QFontMetricsF(look.small).horizontalAdvance(due.words) <= room:
        return due.words
    return elided(due.consequence_first, look.small, room)


class Rolled(QWidget):
    """What lies in a scroll area, and says when it was rolled."""

    rolled = Signal()

    def moveEvent(self, event: QMoveEvent) -> None:
        super().moveEvent(event)
        self.rolled.emit()


CRAMPED = 20 * GRID
"""Below this height only the first line is shown: rows that lie over each other tell nothing."""


class WatchPane(Pane):
    """All countdowns."""

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, "Watch", "watch")
        self.session = session
        self._rows: list[WatchRow] = []
        self._first: Due | None = None
        self.where = Words(look, "strong", "ink", wrap=False)
        self.where.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.numerals = BigText(look, "numerals", indent=GUTTER)
        self.numerals.setObjectName("numerals")
        self.clock_word = Words(look, "small", "quiet", wrap=False)
        self.clock = Words(look, "title", "quiet", wrap=False)
        self.what = FewLines(look, "body", "quiet", most=2, indent=GUTTER)
        self.bar = BarLine(look, indent=GUTTER)
        self.body = body = Rolled()
        body.rolled.connect(self._show_in_sight)
        self.rows = QVBoxLayout(body)
        self.rows.setContentsMargins(0, 0, 0, 0)
        self.rows.setSpacing(0)
        self.rows.addStretch(1)
        area = self.area = scrolled(body)
        self.column.setSpacing(0)
        self.column.setContentsMargins(GRID // 2, GRID, 2 * GRID, 0)
        self.where.setIndent(GUTTER)
        at = QVBoxLayout()
        at.setSpacing(0)
        at.addStretch(1)
        for part in (self.clock_word, self.clock):
            part.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            at.addWidget(part)
        at.addSpacing(GRID)
        big = QHBoxLayout()
        big.setSpacing(GRID)
        big.addWidget(self.numerals, 1)
        big.addLayout(at)
        self.column.addWidget(self.where)
        self.column.addLayout(big)
        self.column.addWidget(self.what)
        self.column.addWidget(self.bar)
        self.column.addSpacing(GRID // 2)
        self.column.addWidget(area, 1)

    def refresh(self, now: datetime) -> None:
        """Show all windows as they stand at `now`."""
        lines = due_lines(self.session, now)
        self._first = lines[0] if lines else None
        self._name_first()
        if self._first is None:
            self.numerals.show_text("All quiet", "quiet")
            self.what.say("Stir a mix or finish a coat to start one.")
            self._show_clock("", "")
            self.bar.show_bar(None, "wait")
        else:
            first = self._first
            self.numerals.show_text(first.numerals or "Done", _tone(first))
            self.what.say(first.words)
            self._show_clock(first.clock_word, first.clock)
            self.bar.show_bar(first.bar, _bar_tone(first))
        rest = lines[1:]
        while len(self._rows) < len(rest):
            row = WatchRow(self.look)
            row.setObjectName(f"watch-{len(self._rows)}")
            row.clicked.connect(lambda _=False, r=row: self._pick(r))
            self._rows.append(row)
            self.rows.insertWidget(len(self._rows) - 1, row)
        for row, due in zip(self._rows, rest, strict=False):
            row.take(due)
            row.setVisible(True)
        self._show_in_sight()
        for row in self._rows[len(rest) :]:
            row.setVisible(False)

    def _show_in_sight(self) -> None:
        # Sixty countdowns a second cost nothing where only those are put into words that can be seen.
        top, height = -self.body.y(), self.area.height()
        each = self._rows[0].height() if self._rows else 1
        for row in self._rows[top // each : (top + height) // each + 1]:
            if row.due is not None:
                row.show_due(row.due)

    def _name_first(self) -> None:
        if self._first is None:
            self.where.say("Nothing is running")
            return
        self.where.say(_named(self._first, self.look, self.width() - GUTTER - 2.5 * GRID))
        self.where.setAccessibleName(self._first.place)

    def _show_clock(self, word: str, clock: str) -> None:
        day, _, hours = clock.rpartition(" ")
        if ":" not in hours:  # a date has no hours to stand large
            day, hours = "", clock
        self.clock_word.say(" ".join(part for part in (word, day) if part))
        self.clock.say(hours)

    def resizeEvent(self, event: QResizeEvent) -> None:
        height = event.size().height()
        self.numerals.make_room(int(height * 0.34))
        cramped = height < CRAMPED * self.look.scale  # a strip is open on a small screen
        self.clock_word.setVisible(not cramped)
        self.area.setVisible(not cramped)
        super().resizeEvent(event)
        self._name_first()

    def _pick(self, row: WatchRow) -> None:
        if row.due is not None:
            self.session.pick_document(row.due.document)
            self.session.pick(row.due.window.piece, row.due.window.layer)
