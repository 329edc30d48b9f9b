"""One part of a mix as a row: its name, its share, and how much of it is wanted or in the cup."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QSizePolicy

from benchtool.bench.look import GRID, Look, elided


class PartRow(QAbstractButton):
    """One part: its name, its share, and how much of it is in the cup or wanted."""

    def __init__(self, look: Look, name: str) -> None:
        super().__init__()
        self.look = look
        self.setObjectName(f"part-{name}")
        self.setCheckable(True)
        look.changed.connect(self._relook)
        self._relook()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.part, self.share, self.how, self.amount, self.wrong = name, "", "", "", ""
        self.poured = self.old = False

    def show_part(
        self,
        share: str,
        amount: str,
        *,
        is_next: bool,
        how: str = "",
        wrong: str = "",
        poured: bool = False,
        old: bool = False,
    ) -> None:
        """Show the row's words; a part that is poured gets a tick, what no longer holds is greyed.

        `how` it is measured stands in the place of the share.
        """
        shown = (share, how, amount, wrong, poured, old)
        before = (self.share, self.how, self.amount, self.wrong, self.poured, self.old)
        if shown == before and is_next is self.isChecked():
            return
        self.share, self.how, self.amount, self.wrong, self.poured, self.old = shown
        self.setChecked(is_next)
        words = (f"{self.part}, {share}: {amount}", how, wrong, "old" if old else "")
        self.setAccessibleName(", ".join(w for w in words if w))
        self.setToolTip("\n".join(w for w in (self.part, share, how) if w))
        self.update()

    def _relook(self) -> None:
        self.setMinimumHeight(self.look.target)
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(24 * GRID, self.look.target)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t, look = QPainter(self), self.look.theme, self.look
        box = QRectF(self.rect())
        painter.setPen(QPen(t.color("line"), 1))
        painter.drawLine(box.bottomLeft(), box.bottomRight())
        if self.isChecked():
            painter.fillRect(QRectF(0, 4, GRID / 2, box.height() - 8), t.color("accent"))
        if self.poured and not self.isChecked() and not self.wrong:
            painter.setPen(QPen(t.color("accent"), 2))
            y = box.center().y() - box.height() / 4 + 1
            painter.drawPolyline([QPointF(1, y), QPointF(4, y + 4), QPointF(9, y - 4)])
        strong = QFontMetricsF(look.strong)
        upper = box.adjusted(2 * GRID, 0, -2, -box.height() / 2 + 2)
        lower = box.adjusted(2 * GRID, box.height() / 2 - 2, -2, 0)
        amount = strong.horizontalAdvance(self.amount)
        stacked = strong.horizontalAdvance(self.part) + amount + GRID > upper.width()
        wrong = self.wrong or ("old" if self.old else "")
        ink, right = "quiet" if self.old else "ink", Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        # The name has the first line; an amount too long to stand beside it goes under it, before what is wrong.
        painter.setFont(look.strong)
        painter.setPen(t.color("trouble" if self.wrong else ink))
        painter.drawText(lower if stacked else upper, right, self.amount)
        painter.setPen(t.color(ink))
        name = elided(self.part, look.strong, upper.width() - (0 if stacked else amount + GRID))
        painter.drawText(upper, Qt.AlignmentFlag.AlignVCenter, name)
        painter.setFont(look.small)
        room = lower.width() - (amount + GRID if stacked else 0)
        if wrong and not stacked:
            painter.setPen(t.color("trouble" if self.wrong else "quiet"))
            painter.drawText(lower, right, wrong)
            room -= painter.fontMetrics().horizontalAdvance(wrong) + 2 * GRID
        painter.setPen(t.color("trouble" if self.wrong and stacked else "quiet"))
        words = (wrong if stacked else "") or self.how or self.share
        painter.drawText(lower, Qt.AlignmentFlag.AlignVCenter, elided(words, look.small, room))
        if self.hasFocus():
            painter.setPen(QPen(t.color("accent"), 2))
            painter.drawRect(box.adjusted(1, 1, -1, -1))
        painter.end()
