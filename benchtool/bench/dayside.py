"""Beside the drawn plan: what to do next, what the plan found in sentences, and how far the planning is."""

from collections.abc import Sequence

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Words, hatch
from benchtool.bench.daysteps import Said
from benchtool.bench.look import GRID, Look
from benchtool.trade.saying import say


class FoundList(QWidget):
    """What a plan found, trouble first, one sentence a line with its word before it."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.setObjectName("day-found")
        self.setAccessibleName(say("What the plan found"))
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(2 * GRID)
        self._grid.setVerticalSpacing(GRID // 2)
        self._grid.setColumnStretch(1, 1)
        self.said: tuple[Said, ...] = ()
        self._lines: list[tuple[_Mark, Words]] = []

    def show_said(self, said: Sequence[Said]) -> None:
        """Show these; the lines that are there are used again."""
        ordered = tuple(sorted(said, key=lambda s: not s.trouble))
        if ordered == self.said:
            return
        self.said = ordered
        while len(self._lines) < len(ordered):
            mark, words = _Mark(self.look), Words(self.look, "body", "ink")
            row = len(self._lines)
            self._grid.addWidget(mark, row, 0, Qt.AlignmentFlag.AlignTop)
            self._grid.addWidget(words, row, 1)
            self._lines.append((mark, words))
        before = ""
        for i, (mark, words) in enumerate(self._lines):
            shown = i < len(ordered)
            mark.setVisible(shown)
            words.setVisible(shown)
            if shown:
                mark.show_word("" if ordered[i].word == before else ordered[i].word, trouble=ordered[i].trouble)
                words.say(ordered[i].sentence)
                words.setAccessibleName(f"{ordered[i].word}: {ordered[i].sentence}")
                before = ordered[i].word
        self.updateGeometry()


LOW, LOWEST = 700, 450
"""In a page that is lower than this (px) the drawing takes more of it, and once more."""

FOUND_SHARE = 0.26
"""What the plan found takes no more than this share of the page's height; more of it rolls."""


def found_height(found: FoundList, page_width: int, page_height: int) -> int:
    """Give the room (px) that what the plan found needs, up to its share of the page."""
    if not found.said:
        return 0
    wide = max(10 * GRID, page_width - 4 * GRID)
    need = found.heightForWidth(wide) if found.hasHeightForWidth() else found.sizeHint().height()
    share = FOUND_SHARE * (1.0 if page_height >= LOW else 0.7 if page_height >= LOWEST else 0.5)
    return min(need + 2, int(page_height * share))


class _Mark(QWidget):
    """The word before a sentence; trouble has a hatched bar before it."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look, self.word, self.trouble = look, "", False
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        look.changed.connect(self._relook)
        self._relook()

    def show_word(self, word: str, *, trouble: bool) -> None:
        """Show this word."""
        self.word, self.trouble = word, trouble
        self.update()

    def _relook(self) -> None:
        self.setFixedSize(int(15 * GRID * self.look.scale), self.fontMetrics().height() + GRID // 2)
        self.setFixedHeight(int(self.look.body.pixelSize() * 1.35))
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        p, t = QPainter(self), self.look.theme
        if self.trouble:
            bar = QRectF(0, 3, GRID, self.height() - 6)
            hatch(p, bar, t.color("trouble"), gap=4, width=1.5)
            p.setPen(QPen(t.color("trouble"), 1))
            p.drawRect(bar)
        p.setFont(self.look.strong)
        p.setPen(t.color("trouble" if self.trouble else "quiet"))
        p.drawText(QRectF(1.5 * GRID, 0, self.width(), self.height()), Qt.AlignmentFlag.AlignVCenter, self.word)
        p.end()


class PlanningLine(QWidget):
    """How far the planning is, with a button to cancel it; the last plan stays in view meanwhile."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.setObjectName("day-planning")
        self.words = Words(look, "small", "ink", wrap=False)
        self.bar = _ShareBar(look)
        self.cancel = BenchButton(look, say("Cancel"), "C", name="day-cancel")
        self.cancel.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        column = QVBoxLayout()
        column.setSpacing(GRID // 2)
        column.addStretch(1)
        column.addWidget(self.words)
        column.addWidget(self.bar)
        column.addStretch(1)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(2 * GRID)
        row.addLayout(column, 1)
        row.addWidget(self.cancel)

    def show_share(self, share: float, words: str) -> None:
        """Show how much is done: 0 to 1."""
        self.words.say(words)
        self.bar.show_share(share)
        self.setAccessibleName(words)


class _ShareBar(QWidget):
    """A flat bar that fills up."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look, self.share = look, 0.0
        self.setFixedHeight(GRID)
        look.changed.connect(self.update)

    def show_share(self, share: float) -> None:
        """Fill it so far."""
        share = max(0.0, min(1.0, share))
        if round(share, 3) != round(self.share, 3):
            self.share = share
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        p, t = QPainter(self), self.look.theme
        p.fillRect(self.rect(), t.color("line"))
        p.fillRect(QRectF(0, 0, self.width() * self.share, self.height()), t.color("wait"))
        p.end()
