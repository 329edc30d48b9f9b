"""A week drawn as bars: when the shop is open, as it is typed."""

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from benchtool.bench.dayrows import DAYS
from benchtool.bench.look import GRID, Look
from benchtool.job.shophours import Opening
from benchtool.trade.saying import say

_DAY_MIN = 24 * 60
_HOURS = (0, 6, 12, 18, 24)


class WeekBars(QWidget):
    """Seven days below each other, a bar for each opening; a day without one says that it is closed."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.openings: tuple[Opening, ...] = ()
        self.unread = False
        self.setObjectName("week-bars")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        look.changed.connect(self._relook)
        self._relook()

    def show_week(self, openings: Sequence[Opening]) -> None:
        """Draw these openings."""
        self.openings, self.unread = tuple(openings), False
        self.setAccessibleName(spoken(self.openings))
        self.update()

    def show_unread(self) -> None:
        """Draw no day: what is typed can't be read, and half of it would be another week."""
        self.openings, self.unread = (), True
        self.setAccessibleName(say("This week can't be read yet."))
        self.update()

    def _row(self) -> float:
        return QFontMetricsF(self.look.small).height() + 6

    def sizeHint(self) -> QSize:
        return QSize(40 * GRID, int(self._row() * 8) + 1)

    def _relook(self) -> None:
        self.setFixedHeight(self.sizeHint().height())
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        p, t = QPainter(self), self.look.theme
        metrics, row = QFontMetricsF(self.look.small), self._row()
        left = metrics.horizontalAdvance("Wed") + 1.5 * GRID
        wide = self.width() - left - metrics.horizontalAdvance("24:00") / 2 - 2
        p.setFont(self.look.small)
        p.fillRect(QRectF(left, row, wide, 7 * row), t.color("raised"))
        for hour in _HOURS:
            x = left + wide * hour / 24
            p.setPen(QPen(t.color("line"), 1))
            p.drawLine(QPointF(x, row - 3), QPointF(x, 8 * row))
            p.setPen(t.color("quiet"))
            p.drawText(QRectF(x - 3 * GRID, 0, 6 * GRID, row - 3), Qt.AlignmentFlag.AlignCenter, f"{hour:02d}:00")
        for day in range(7):
            top = (day + 1) * row
            p.setPen(QPen(t.color("line"), 1))
            p.drawLine(QPointF(0, top), QPointF(left + wide, top))
            p.setPen(t.color("ink"))
            p.drawText(QRectF(0, top, left, row), Qt.AlignmentFlag.AlignVCenter, DAYS[day])
            self._draw_day(p, day, QRectF(left, top, wide, row))
        p.end()

    def _draw_day(self, p: QPainter, day: int, box: QRectF) -> None:
        if self.unread:
            return
        t, here = self.look.theme, [o for o in self.openings if o.day.number == day]
        if not here:
            p.setPen(t.color("quiet"))
            p.drawText(box.adjusted(GRID, 0, 0, 0), Qt.AlignmentFlag.AlignVCenter, say("closed"))
        for opening in here:
            opens, closes = opening.minutes
            bar = QRectF(box.left() + box.width() * opens / _DAY_MIN, box.top() + 3, 0, box.height() - 5)
            bar.setWidth(max(2.0, box.width() * (closes - opens) / _DAY_MIN))
            p.fillRect(bar, t.color("wait"))
            words = f"{opening.opens}-{opening.closes}"
            if QFontMetricsF(self.look.small).horizontalAdvance(words) + GRID <= bar.width():
                p.setPen(t.color("raised"))
                p.drawText(bar, Qt.AlignmentFlag.AlignCenter, words)


def spoken(openings: Sequence[Opening]) -> str:
    """Say the week, for whoever can't see it."""
    told = []
    for day in range(7):
        here = [say("{opens} to {closes}", opens=o.opens, closes=o.closes) for o in openings if o.day.number == day]
        told.append(f"{DAYS[day]} {', '.join(here) or say('closed')}")
    return f"{'; '.join(told)}."
