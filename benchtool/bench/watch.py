"""The watch: every running window of every open job, the next one in numerals readable from three metres."""

from datetime import datetime

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QMoveEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BigText, Pane, Words, hatch, scrolled
from benchtool.bench.look import GRID, Look, elided
from benchtool.session.due import Due, due_now
from benchtool.session.session import Session
from benchtool.trade.windows import Phase

GUTTER = int(1.5 * GRID)
"""Room left of the words for the mark of a row that needs hands or is late."""

STEPS = 400
"""In how many steps the line at the foot of a row grows: finer it would only be drawn more often."""


class WatchRow(QAbstractButton):
    """One running window: where, what for, how long; a line along its foot shows how far it is."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.due: Due | None = None
        self._drawn: tuple[str, str, str, int, int, Phase] | None = None
        look.changed.connect(self._relook)
        self._relook()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)

    def _relook(self) -> None:
        self.setFixedHeight(self.look.target + GRID // 2)
        self._figures = int(QFontMetricsF(self.look.title).horizontalAdvance("00:00:00")) + GRID
        self.update()

    def take(self, due: Due) -> None:
        """Stand for this line, still without putting it into words."""
        if self.due is None or self.due.window is not due.window:
            self.setAccessibleName(due.place)
            self._drawn = None
        self.due = due

    def show_due(self, due: Due) -> None:
        """Show this line; repaint only if it looks different."""
        words = due.words
        drawn = (due.place, words, due.numerals, int(due.progress * STEPS), due.rank, due.phase)
        self.due = due
        if drawn != self._drawn:
            before, self._drawn = self._drawn, drawn
            if before is None or drawn[:2] != before[:2]:
                self.setAccessibleName(f"{due.place}: {words}")
            if before is not None and drawn[:2] + drawn[3:] == before[:2] + before[3:]:
                self.update(self.width() - self._figures, 0, self._figures, self.height() - 4)
            else:
                self.update()

    def sizeHint(self) -> QSize:
        return QSize(30 * GRID, self.look.target)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t, look, due = QPainter(self), self.look.theme, self.look, self.due
        box = QRectF(self.rect())
        painter.fillRect(box, t.color("paper"))
        if due is None:
            painter.end()
            return
        if due.hands:
            painter.fillRect(QRectF(0, 4, GRID / 2, box.height() - 9), t.color("accent"))
        if due.trouble:
            hatch(painter, QRectF(0, 4, GRID, box.height() - 9), t.color("trouble"), gap=6, width=2)
        painter.setFont(look.title)
        painter.setPen(t.color("trouble" if due.trouble else "accent" if due.hands else "ink"))
        width = painter.fontMetrics().horizontalAdvance(due.numerals)
        right = box.right() - 2
        painter.drawText(
            QRectF(right - width - 2, 0, width + 2, box.height() - 4), Qt.AlignmentFlag.AlignVCenter, due.numerals
        )
        if event.rect().left() >= self.width() - self._figures and not self.hasFocus():
            painter.end()
            return
        room, left = right - width - 3.5 * GRID, float(GUTTER)
        painter.setFont(look.strong)
        painter.setPen(t.color("ink"))
        line = painter.fontMetrics().height()
        middle = (box.height() - 4) / 2
        painter.drawText(
            QRectF(left, middle - line, room, line), Qt.AlignmentFlag.AlignVCenter, elided(due.place, look.strong, room)
        )
        painter.setFont(look.small)
        painter.setPen(t.color("quiet"))
        painter.drawText(
            QRectF(left, middle, room, line), Qt.AlignmentFlag.AlignVCenter,
            elided(due.words, look.small, room),
        )  # fmt: skip
        foot = QRectF(left, box.bottom() - 3, box.width() - left, 2)
        painter.fillRect(foot, t.color("line"))
        painter.fillRect(
            QRectF(foot.left(), foot.top(), foot.width() * int(due.progress * STEPS) / STEPS, 2),
            t.color("accent" if due.hands else "wait"),
        )
        if self.hasFocus():
            painter.setPen(QPen(t.color("accent"), 2))
            painter.drawRect(box.adjusted(1, 1, -1, -1))
        painter.end()


class Rolled(QWidget):
    """What lies in a scroll area, and says when it was rolled."""

    rolled = Signal()

    def moveEvent(self, event: QMoveEvent) -> None:
        super().moveEvent(event)
        self.rolled.emit()


class WatchPane(Pane):
    """All countdowns."""

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, "Watch", "watch")
        self.session = session
        self._rows: list[WatchRow] = []
        self.where = Words(look, "strong", "ink", wrap=False)
        self.where.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.numerals = BigText(look, "numerals", indent=GUTTER)
        self.numerals.setObjectName("numerals")
        self.what = Words(look, "body", "quiet", wrap=False)
        self.what.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
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
        self.what.setIndent(GUTTER)
        for part in (self.where, self.numerals, self.what):
            self.column.addWidget(part)
        self.column.addSpacing(GRID)
        self.column.addWidget(area, 1)

    def refresh(self, now: datetime) -> None:
        """Show all windows as they stand at `now`."""
        lines = due_now(self.session, now)
        if not lines:
            self.where.say("Nothing is running")
            self.numerals.show_text("All quiet", "quiet")
            self.what.say("Stir a mix or finish a coat to start one.")
        else:
            first = lines[0]
            tone = "trouble" if first.trouble else "accent" if first.hands else "ink"
            self.where.say(first.place)
            self.numerals.show_text(first.numerals or "Done", tone)
            self.what.say(first.words)
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

    def resizeEvent(self, event: QResizeEvent) -> None:
        self.numerals.make_room(int(event.size().height() * 0.34))
        super().resizeEvent(event)

    def _pick(self, row: WatchRow) -> None:
        if row.due is not None:
            self.session.pick_document(row.due.document)
            self.session.pick(row.due.window.piece, row.due.window.layer)
