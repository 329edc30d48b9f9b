"""The table of a trial: a row for each system, a column for each test, every strip's grade in its cell.

Tests that don't fit side by side go into a further band below, with the names again: nothing has to be rolled sideways.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFocusEvent,
    QFontMetricsF,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from benchtool.bench.look import GRID, Look, elided
from benchtool.job.trialcompared import Mark
from benchtool.job.trialrest import Rested
from benchtool.session.trialcompare import Head, Row, code_of
from benchtool.trade.saying import say

MOST_NAME = 0.42
"""The names take no more than this share of the width, unless the tests leave more."""

_GAP = 1.5 * GRID
_BETWEEN = 2 * GRID


@dataclass(frozen=True, slots=True)
class Cell:
    """Where the grades of one system in one test lie; `lines` are its marks as they are broken into lines."""

    box: QRectF
    row: int
    test: int
    lines: tuple[tuple[Mark, ...], ...]


@dataclass(frozen=True, slots=True)
class Band:
    """Some of the tests side by side: their heads, and the box of every row."""

    tests: tuple[int, ...]
    heads: tuple[QRectF, ...]
    rows: tuple[QRectF, ...]


@dataclass(frozen=True, slots=True)
class Laid:
    """Where everything lies."""

    name: float
    bands: tuple[Band, ...]
    cells: tuple[Cell, ...]
    height: float


class TrialTable(QWidget):
    """Shows the rows in the order found. Up and Down take the next or an earlier system in hand."""

    picked = Signal(int)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.rows: Sequence[Row] = ()
        self.tests: Sequence[Head] = ()
        self.chosen = 0
        self._laid: Laid | None = None
        self._pitches: dict[int, float] = {}
        self.setObjectName("trial-table")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        look.changed.connect(self._again)

    def show_rows(self, rows: Sequence[Row], tests: Sequence[Head]) -> None:
        """Show these."""
        if (rows, tests) != (self.rows, self.tests):
            self.rows, self.tests = rows, tests
            self.chosen = min(self.chosen, max(0, len(rows) - 1))
            self._again()
        self._tell()

    def choose(self, row: int) -> None:
        """Take a row in hand; tells nobody."""
        if row != self.chosen and 0 <= row < len(self.rows):
            self.chosen = row
            self._tell()
            self.update()

    def step(self, by: int) -> None:
        """Take the next or an earlier system in hand."""
        there = min(max(self.chosen + by, 0), len(self.rows) - 1)
        if self.rows and there != self.chosen:
            self.choose(there)
            self.picked.emit(there)

    def _tell(self) -> None:
        self.setAccessibleName(say("The systems in the order found"))
        self.setAccessibleDescription(self.rows[self.chosen].spoken(self.tests) if self.rows else "")

    # --- where -------------------------------------------------------------------------------------

    @property
    def laid(self) -> Laid:
        """Where everything lies now."""
        if self._laid is None:
            self._laid = self._lay_out()
        return self._laid

    def chosen_box(self) -> QRectF:
        """Give where the row in hand lies."""
        bands = self.laid.bands
        return bands[0].rows[self.chosen] if bands and self.rows else QRectF()

    def _lay_out(self) -> Laid:
        strong, small = QFontMetricsF(self.look.strong), QFontMetricsF(self.look.small)
        names = [strong.horizontalAdvance(row.name) + self._ahead() for row in self.rows]
        wide = float(self.width())
        least = max(wide * MOST_NAME, 16.0 * GRID)
        each = [self._wish(test, max(wide - least, 8.0 * GRID)) for test in range(len(self.tests))]
        name = min(max(names, default=0.0) + 2 * GRID, max(least, wide - sum(each)))
        room = max(wide - name, 8.0 * GRID)
        y, bands, cells = 0.0, [], []
        for tests in _packed(each, room):
            spread = (room - sum(each[t] for t in tests)) / len(tests) if tests else 0.0
            spread = min(spread, 6.0 * GRID)
            x, heads = name, []
            for t in tests:
                heads.append(QRectF(x, y, each[t] + spread, 3 * small.height() + GRID))
                x += each[t] + spread
            y += 3 * small.height() + GRID
            rows = []
            for r in range(len(self.rows)):
                lines = [self._broken(r, t, each[t]) for t in tests]
                deep = max((len(x) for x in lines), default=1)
                high = max(float(self.look.target), deep * strong.height() + GRID)
                rows.append(QRectF(0, y, wide, high))
                spots = [QRectF(head.left(), y, head.width(), high) for head in heads]
                cells += [Cell(*four) for four in zip(spots, [r] * len(tests), tests, lines, strict=True)]
                y += high
            bands.append(Band(tests, tuple(heads), tuple(rows)))
            y += GRID
        return Laid(name, tuple(bands), tuple(cells), y)

    def natural_width(self) -> int:
        """Give how wide it wants to be: every name whole, and all tests side by side."""
        strong = QFontMetricsF(self.look.strong)
        names = max((strong.horizontalAdvance(row.name) for row in self.rows), default=0.0) + self._ahead()
        return int(names + 2 * GRID + sum(self._wish(test, 1e6) for test in range(len(self.tests)))) + GRID

    def _ahead(self) -> float:
        """Give the room before a name: its place in the order, and the label of its colour."""
        return 3 * GRID * self.look.scale + 2 * GRID

    def _pitch(self, test: int) -> float:
        """Give how far apart the grades of a test stand: as the widest of them asks for."""
        if test not in self._pitches:
            strong = QFontMetricsF(self.look.strong)
            codes = {code_of(m) for row in self.rows for m in row.cells[test]}
            self._pitches[test] = max((strong.horizontalAdvance(c) for c in codes), default=0.0) + _GAP
        return self._pitches[test]

    def _wish(self, test: int, room: float) -> float:
        """Give how wide a column wants to be: for its strips side by side, and for its name over two lines."""
        most = max((len(row.cells[test]) for row in self.rows), default=1)
        small = QFontMetricsF(self.look.small)
        title = self.tests[test].short
        best = small.horizontalAdvance(self.tests[test].best) + 1
        word = max((small.horizontalAdvance(w) for w in title.split()), default=0.0)
        wish = max(most * self._pitch(test), small.horizontalAdvance(title) * 0.55, word + 1, best, 5.0 * GRID)
        return min(wish + _BETWEEN, room)

    def _broken(self, row: int, test: int, wide: float) -> tuple[tuple[Mark, ...], ...]:
        marks = self.rows[row].cells[test]
        fit = max(1, int((wide - _BETWEEN + _GAP) // self._pitch(test)))
        return tuple(marks[i : i + fit] for i in range(0, len(marks), fit))

    def sizeHint(self) -> QSize:
        return QSize(50 * GRID, self.height())

    def _again(self) -> None:
        self._laid = None
        self._pitches = {}
        self.setFixedHeight(int(self.laid.height) + 1)
        self.update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._again()

    # --- the hand ----------------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        at = event.position()
        found = next((i for band in self.laid.bands for i, box in enumerate(band.rows) if box.contains(at)), None)
        if found is None or event.button() is not Qt.MouseButton.LeftButton:
            super().mousePressEvent(event)
            return
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        self.choose(found)
        self.picked.emit(found)
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        steps = {
            Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1, Qt.Key.Key_Home: -len(self.rows), Qt.Key.Key_End: len(self.rows),
        }  # fmt: skip
        by = steps.get(Qt.Key(event.key()), 0)
        if by and not event.modifiers():
            self.step(by)
            event.accept()
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()

    def event(self, event: QEvent) -> bool:
        if event.type() is QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            at = event.pos()
            cell = next((c for c in self.laid.cells if c.box.contains(at.x(), at.y())), None)
            if cell is not None:
                words = self.rows[cell.row].told(cell.test)
            else:
                rows = (box for band in self.laid.bands for box in enumerate(band.rows))
                words = next((self.rows[i].named for i, box in rows if box.contains(at.x(), at.y())), "")
            QToolTip.showText(event.globalPos(), words, self) if words else QToolTip.hideText()
            return True
        return super().event(event)

    # --- what --------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        for band in self.laid.bands:
            self._draw_heads(painter, band)
            for i, box in enumerate(band.rows):
                self._draw_row(painter, i, box)
        for cell in self.laid.cells:
            self._draw_cell(painter, cell)
        painter.end()

    def _ink(self, row: int, tone: str = "ink") -> QColor:
        return self.look.theme.color("accent_ink" if row == self.chosen else tone)

    def _draw_heads(self, painter: QPainter, band: Band) -> None:
        painter.setFont(self.look.small)
        line = QFontMetricsF(self.look.small).height()
        for test, box in zip(band.tests, band.heads, strict=True):
            room = box.adjusted(0, 0, -GRID, -GRID / 2)
            flags = Qt.AlignmentFlag.AlignBottom | Qt.AlignmentFlag.AlignLeft | Qt.TextFlag.TextWordWrap
            painter.setPen(self.look.theme.color("ink"))
            painter.drawText(room.adjusted(0, 0, 0, -line), flags, self.tests[test].short)
            painter.setPen(self.look.theme.color("quiet"))
            painter.drawText(room, Qt.AlignmentFlag.AlignBottom, self.tests[test].best)

    def _draw_row(self, painter: QPainter, i: int, box: QRectF) -> None:
        t, row, look = self.look.theme, self.rows[i], self.look
        if i == self.chosen:
            painter.fillRect(box, t.color("accent"))
            if self.hasFocus():
                painter.setPen(QPen(t.color("accent_ink"), 2))
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.drawRect(box.adjusted(3, 3, -3, -3))
        else:
            painter.setPen(QPen(t.color("line"), 1))
            painter.drawLine(box.bottomLeft(), box.bottomRight())
        place = QRectF(box.left() + GRID, box.top(), 3 * GRID * look.scale, box.height())
        painter.setFont(look.title)
        painter.setPen(self._ink(i))
        painter.drawText(place, Qt.AlignmentFlag.AlignVCenter, row.place)
        if row.colour:
            swatch = QRectF(place.right() - GRID / 2, box.center().y() - GRID, GRID / 2, 2 * GRID)
            painter.fillRect(swatch, QColor(row.colour))
        left = place.right() + GRID / 2
        room = self.laid.name - left - GRID
        upper, lower = QFontMetricsF(look.strong).height(), QFontMetricsF(look.small).height() if row.remark else 0.0
        top = box.center().y() - (upper + lower) / 2
        painter.setFont(look.strong)
        painter.drawText(QRectF(left, top, room, upper), 0, elided(row.name, look.strong, room))
        if row.remark:
            painter.setFont(look.small)
            painter.setPen(self._ink(i, "quiet"))
            painter.drawText(QRectF(left, top + upper, room, lower), 0, elided(row.remark, look.small, room))

    def _draw_cell(self, painter: QPainter, cell: Cell) -> None:
        strong, pitch = QFontMetricsF(self.look.strong), self._pitch(cell.test)
        top = cell.box.center().y() - len(cell.lines) * strong.height() / 2
        for n, line in enumerate(cell.lines):
            for i, mark in enumerate(line):
                bad = mark.came_off and mark.rested is not Rested.EARLY
                quiet = not mark.counts
                painter.setFont(self.look.strong if bad else self.look.body)
                painter.setPen(self._ink(cell.row, "trouble" if bad else "quiet" if quiet else "ink"))
                spot = QRectF(cell.box.left() + i * pitch, top + n * strong.height(), pitch, strong.height())
                painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, code_of(mark))
                if bad:
                    wide = QFontMetricsF(self.look.strong).horizontalAdvance(code_of(mark))
                    painter.fillRect(QRectF(spot.left(), spot.bottom() - 2, wide, 2), painter.pen().color())


def _packed(each: Sequence[float], room: float) -> list[tuple[int, ...]]:
    """Share the columns out over as few bands as hold them, in order; one band of none where there are none."""
    bands: list[tuple[int, ...]] = []
    here: tuple[int, ...] = ()
    wide = 0.0
    for i, w in enumerate(each):
        if here and wide + w > room:
            bands.append(here)
            here, wide = (), 0.0
        here, wide = (*here, i), wide + w
    return [*bands, here]
