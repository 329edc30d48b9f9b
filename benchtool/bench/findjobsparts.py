"""What stands on the page of finding beside the list: what may be typed, and how far the reading is."""

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QGridLayout, QSizePolicy, QWidget

from benchtool.bench.controls import Words
from benchtool.bench.look import GRID, Look
from benchtool.trade.saying import say


def how_lines() -> Sequence[tuple[str, str]]:
    """Give what may be typed, each with what it does."""
    return (
        (say("mill red"), say("Words of a job, or how they begin. A piece is listed that has all of them.")),
        (
            say("customer:mill"),
            say("A word in one place: customer, job, piece, material, product, lot, colour, finding or note."),
        ),
        (say("finding:tape"), say("What was waived and why, and what failed on a test strip.")),
        (say("before:2026-03"), say("When it was worked on: before, after or on a year, a month or a day.")),
        ("Ctrl+L", say("A lot is called back: lists every piece that it is on.")),
    )


class HowToFind(QWidget):
    """The lines of what may be typed, in two columns."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.setObjectName("find-how")
        grid = QGridLayout(self)
        grid.setContentsMargins(0, GRID, 0, 0)
        grid.setHorizontalSpacing(3 * GRID)
        grid.setVerticalSpacing(GRID)
        lines = how_lines()
        for i, (typed, told) in enumerate(lines):
            first, second = Words(look, "strong", "accent", wrap=False), Words(look, "body", "ink")
            first.say(typed)
            second.say(told)
            grid.addWidget(first, i, 0, Qt.AlignmentFlag.AlignTop)
            grid.addWidget(second, i, 1, Qt.AlignmentFlag.AlignTop)
        grid.setColumnStretch(1, 1)
        grid.setRowStretch(len(lines), 1)
        self.setAccessibleName("\n".join(f"{typed}: {told}" for typed, told in lines))


class ProgressBar(QWidget):
    """A bar that fills as the jobs are read; the words beside it say the same."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.share = 0.0
        self.setObjectName("find-bar")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        look.changed.connect(self.update)

    def show_share(self, done: int, of: int) -> None:
        """Show how many of how many are done."""
        share = min(done / of, 1.0) if of else 0.0
        if share != self.share:
            self.share = share
            self.update()

    def sizeHint(self) -> QSize:
        return QSize(10 * GRID, GRID)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t = QPainter(self), self.look.theme
        painter.fillRect(self.rect(), t.color("line"))
        painter.fillRect(QRectF(0, 0, self.width() * self.share, self.height()), t.color("accent"))
        painter.end()
