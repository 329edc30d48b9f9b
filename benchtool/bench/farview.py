"""The far view: the watch alone, filling the screen, to be read from across the shop."""

from datetime import datetime

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from benchtool.bench.controls import hatch
from benchtool.bench.look import GRID, Look, elided, fitted
from benchtool.session.due import Due, due_now
from benchtool.session.session import Session


class FarView(QWidget):
    """One countdown as large as the screen allows, and the next few below it."""

    left = Signal()

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.look = look
        self.session = session
        self.lines: list[Due] = []
        self.clock = self.calls = ""
        self.setObjectName("far-view")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        look.changed.connect(self.update)

    def refresh(self, now: datetime) -> None:
        """Show the watch as it stands at `now`."""
        self.lines = due_now(self.session, now)
        self.clock = f"{now.astimezone():%H:%M}"
        self.calls = "; ".join(a.words(now) for a in self.session.alarms.up()[:2])
        first = self.lines[0] if self.lines else None
        words = f"{first.place}: {first.numerals} {first.words}" if first is not None else "Nothing is running"
        self.setAccessibleName(words)
        self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Escape, Qt.Key.Key_F):
            self.left.emit()
        else:
            event.ignore()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.left.emit()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t = QPainter(self), self.look.theme
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        width, height, edge = self.width(), self.height(), 4 * GRID
        painter.fillRect(self.rect(), t.color("paper"))
        unit = height / 100
        quiet = self.look.font(max(16, int(4.2 * unit)))
        painter.setFont(quiet)
        painter.setPen(t.color("quiet"))
        top = QRectF(edge, 3 * unit, width - 2 * edge, 6 * unit)
        painter.drawText(top, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, self.clock)
        hint = self.calls or ("Press F or Esc for the bench" if self.lines else "")
        if self.calls:
            painter.setPen(t.color("trouble"))
        painter.drawText(
            top, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, elided(hint, quiet, top.width() * 0.86)
        )
        if not self.lines:
            painter.setFont(fitted(self.look, "Nothing is running", width - 2 * edge, int(12 * unit)))
            painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, "Nothing is running")
            painter.end()
            return
        self._draw_first(painter, self.lines[0], edge, unit)
        for i, due in enumerate(self.lines[1:4]):
            box = QRectF(edge, (64 + 11.5 * i) * unit, width - 2 * edge, 10 * unit)
            self._draw_line(painter, due, box)
        more = len(self.lines) - 4
        if more > 0:
            painter.setFont(self.look.small)
            painter.setPen(t.color("quiet"))
            foot = QRectF(edge, height - 3.2 * GRID, width - 2 * edge, 3 * GRID)
            painter.drawText(foot, Qt.AlignmentFlag.AlignVCenter, f"and {more} more")
        painter.end()

    def _draw_first(self, painter: QPainter, due: Due, edge: float, unit: float) -> None:
        t, width = self.look.theme, self.width() - 2 * edge
        tone = "trouble" if due.trouble else "accent" if due.hands else "ink"
        if due.trouble:
            hatch(painter, QRectF(0, 10 * unit, edge * 0.6, 48 * unit), t.color("trouble"), gap=16, width=5)
        name = fitted(self.look, due.place, width, int(7.5 * unit), int(4 * unit))
        painter.setFont(name)
        painter.setPen(t.color("ink"))
        spot = QRectF(edge, 9 * unit, width, 9 * unit)
        painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, elided(due.place, name, width))
        numerals = due.numerals or "Done"
        painter.setFont(fitted(self.look, numerals, width, int(37 * unit)))
        painter.setPen(t.color(tone))
        painter.drawText(QRectF(edge, 17 * unit, width, 34 * unit), Qt.AlignmentFlag.AlignVCenter, numerals)
        words = self.look.font(int(6 * unit))
        painter.setFont(words)
        painter.setPen(t.color("ink"))
        spot = QRectF(edge, 50 * unit, width, 8 * unit)
        painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, elided(due.words, words, width))
        bar = QRectF(edge, 60 * unit, width, unit)
        painter.fillRect(bar, t.color("line"))
        painter.fillRect(QRectF(bar.left(), bar.top(), bar.width() * due.progress, unit), t.color(tone))

    def _draw_line(self, painter: QPainter, due: Due, box: QRectF) -> None:
        t = self.look.theme
        tone = "trouble" if due.trouble else "accent" if due.hands else "ink"
        big = self.look.font(int(box.height() * 0.78), strong=True)
        painter.setFont(big)
        painter.setPen(t.color(tone))
        width = painter.fontMetrics().horizontalAdvance(due.numerals)
        painter.drawText(box, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, due.numerals)
        words = self.look.font(int(box.height() * 0.42))
        painter.setFont(words)
        painter.setPen(t.color("quiet"))
        text = elided(f"{due.place}, {due.words}", words, box.width() - width - 4 * GRID)
        painter.drawText(box, Qt.AlignmentFlag.AlignVCenter, text)
