"""The words across the top of the page of trials: each is a stage of the trial, with how far it is."""

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QSizePolicy

from benchtool.bench.look import GRID, Look, elided


class StageButton(QAbstractButton):
    """One stage: its key, its name, and in a few words how far it is."""

    def __init__(self, look: Look, digit: int, name: str) -> None:
        super().__init__()
        self.look, self.digit, self.words = look, digit, ""
        self.key = str(digit)
        self.setText(name)
        self.setAccessibleName(name)
        self.setObjectName(f"trial-stage-{digit}")
        self.setCheckable(True)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        look.changed.connect(self._relook)
        self._relook()

    def _relook(self) -> None:
        self.setFixedHeight(self.look.target + GRID)
        self.updateGeometry()

    def tell(self, words: str) -> None:
        """Say how far this stage is."""
        if words != self.words:
            self.words = words
            self.setAccessibleName(f"{self.text()}: {words}" if words else self.text())
            self.update()

    def show_key(self, key: str) -> None:
        """Show this as its key; it gives way to the name where both don't fit."""
        if key != self.key:
            self.key = key
            self.update()

    def sizeHint(self) -> QSize:
        wide = QFontMetricsF(self.look.strong).horizontalAdvance(self.text())
        return QSize(int(wide) + 5 * GRID, self.height())

    def minimumSizeHint(self) -> QSize:
        return QSize(10 * GRID, self.height())

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t, look = QPainter(self), self.look.theme, self.look
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        painter.setPen(t.color("ink" if self.isChecked() else "quiet"))
        small = QFontMetricsF(look.small).horizontalAdvance(self.key)
        name_wide = QFontMetricsF(look.strong).horizontalAdvance(self.text())
        fits = len(self.key) == 1 or name_wide + small + 3 * GRID <= box.width()
        room = box.width() - (small + 3 * GRID if fits else 2 * GRID)
        line = QFontMetricsF(look.strong).height()
        top = box.center().y() - (line if self.words else line / 2)
        painter.setFont(look.strong)
        name = QRectF(box.left() + GRID, top, room, line)
        painter.drawText(name, Qt.AlignmentFlag.AlignVCenter, elided(self.text(), look.strong, room))
        painter.setFont(look.small)
        painter.setPen(t.color("quiet"))
        if fits:
            corner = QRectF(box.right() - GRID - small - 2, top, small + 2, line)
            painter.drawText(corner, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, self.key)
        if self.words:
            spot = QRectF(name.left(), box.center().y(), box.width() - 2 * GRID, line)
            painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, elided(self.words, look.small, spot.width()))
        if self.isChecked():
            painter.fillRect(QRectF(box.left(), box.bottom() - 3, box.width(), 3), t.color("ink"))
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(t.color("accent"), 2))
            painter.drawRoundedRect(box.adjusted(1, 1, -1, -1), 2, 2)
        painter.end()
