"""The marks at the ends of the row of pieces, where it is longer than its room."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractButton, QScrollArea

from benchtool.bench.look import GRID, Look
from benchtool.trade.saying import say_n

MARK = 6 * GRID
"""So wide is the mark at an end of the row of pieces."""


class MoreMark(QAbstractButton):
    """At an end of the row of pieces: how many lie beyond it. A touch rolls them in."""

    def __init__(self, look: Look, area: QScrollArea, *, before: bool) -> None:
        super().__init__(area)
        self.look, self.area, self.before, self.count = look, area, before, 0
        self.setObjectName("pieces-before" if before else "pieces-after")
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.hide()
        self.clicked.connect(self._roll)

    def show_count(self, count: int) -> None:
        """Show that so many lie beyond, or with none nothing."""
        view = self.area.viewport()
        self.setGeometry(0 if self.before else view.width() - MARK, 0, MARK, view.height())
        self.setVisible(count > 0)
        if count != self.count:
            self.count = count
            told = say_n("{n} piece more", "{n} pieces more", count)
            self.setAccessibleName(told)
            self.setToolTip(told)
            self.update()

    def _roll(self) -> None:
        bar = self.area.horizontalScrollBar()
        step = self.area.viewport().width() - 2 * MARK
        bar.setValue(bar.value() + (-step if self.before else step))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t = QPainter(self), self.look.theme
        painter.fillRect(self.rect(), t.color("paper"))
        painter.setPen(t.color("ink"))
        painter.setFont(self.look.strong)
        words = f"‹ {self.count}" if self.before else f"{self.count} ›"
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, words)
        painter.end()
