"""One part of a mix as a row: its name, its share, and how much of it is wanted or in the cup."""

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
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
        painter.setFont(look.strong)
        amount = painter.fontMetrics().horizontalAdvance(self.amount)
        painter.setPen(t.color("trouble" if self.wrong else "quiet" if self.old else "ink"))
        right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        painter.drawText(box.adjusted(0, 0, -2, -box.height() / 2 + 2), right, self.amount)
        room = box.width() - amount - 3 * GRID
        painter.setPen(t.color("quiet" if self.old else "ink"))
        painter.drawText(
            box.adjusted(2 * GRID, 0, 0, -box.height() / 2 + 2), Qt.AlignmentFlag.AlignVCenter,
            elided(self.part, look.strong, room),
        )  # fmt: skip
        painter.setFont(look.small)
        painter.setPen(t.color("trouble" if self.wrong else "quiet"))
        low = box.adjusted(2 * GRID, box.height() / 2 - 2, -2, 0)
        wrong = self.wrong or ("old" if self.old else "")
        painter.drawText(low, right, wrong)
        used = painter.fontMetrics().horizontalAdvance(wrong) + 2 * GRID if wrong else 0
        painter.setPen(t.color("quiet"))
        words = elided(self.how or self.share, look.small, low.width() - used)
        painter.drawText(low, Qt.AlignmentFlag.AlignVCenter, words)
        if self.hasFocus():
            painter.setPen(QPen(t.color("accent"), 2))
            painter.drawRect(box.adjusted(1, 1, -1, -1))
        painter.end()
