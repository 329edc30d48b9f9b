"""The strips against the tests: each cell is a grade, or what it waits for. The line for the grade moves over them."""

from typing import Any

from PySide6.QtCore import QAbstractTableModel, QEvent, QModelIndex, QObject, QPersistentModelIndex, QRectF, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QPainter, QPen, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
)

from benchtool.bench.bars import lines_of
from benchtool.bench.controls import hatch
from benchtool.bench.look import GRID, Look, elided
from benchtool.bench.tips import plain_tip
from benchtool.job.trialcompared import best_of, short_of
from benchtool.job.trialrest import title_of
from benchtool.session.trialgrading import Board, Cell, Row, Spot, Standing, cell_short

Index = QModelIndex | QPersistentModelIndex
_NOWHERE = QModelIndex()


class GridModel(QAbstractTableModel):
    """The board as a table; `words` says a cell in a sentence, `blind` leaves out which system a strip has."""

    def __init__(self) -> None:
        super().__init__()
        self.board: Board | None = None
        self.short: dict[Spot, tuple[str, str]] = {}
        self.words: dict[Spot, str] = {}
        self.calling: frozenset[Spot] = frozenset()
        self.blind = False

    def row_of(self, section: int) -> Row | None:
        """Give the strip of a row."""
        return self.board.rows[section] if self.board is not None and section < len(self.board.rows) else None

    def cell_at(self, index: Index) -> Cell | None:
        """Give the cell of an index."""
        row = self.row_of(index.row()) if index.isValid() else None
        return row.cells[index.column()] if row is not None and index.column() < len(row.cells) else None

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        return len(self.board.rows) if self.board is not None and not parent.isValid() else 0

    def columnCount(self, parent: Index = _NOWHERE) -> int:
        return len(self.board.tests) if self.board is not None and not parent.isValid() else 0

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        cell = self.cell_at(index)
        if cell is None:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self.short.get(cell.spot, ("", ""))[0]
        if role in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole):
            return self.words.get(cell.spot, "")
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> str | None:
        board = self.board
        if board is None or role not in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
            return None
        if orientation is Qt.Orientation.Horizontal:
            if section >= len(board.tests):
                return None
            shown = title_of if role == Qt.ItemDataRole.ToolTipRole else short_of
            return f"{shown(board.tests[section])}\n{best_of(board.tests[section])}"
        row = self.row_of(section)
        if row is None:
            return None
        named = row.system is not None and not self.blind
        words = f"{row.name}\n{row.system.name}" if row.system is not None and named else row.name
        return plain_tip(words) if role == Qt.ItemDataRole.ToolTipRole else words


def _foot(box: QRectF) -> QRectF:
    """Give the hairline along the lower edge of a cell."""
    return QRectF(box.left(), box.bottom() - 1, box.width(), 1)


class _Head(QHeaderView):
    """Names in two lines at most, the first of a strip strong."""

    def __init__(self, look: Look, orientation: Qt.Orientation) -> None:
        super().__init__(orientation)
        self.look = look
        self.setSectionsClickable(False)
        self.setHighlightSections(False)
        self.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.setMinimumSectionSize(1)

    def paintSection(self, painter: QPainter, rect: Any, logicalIndex: int) -> None:
        t, look, box = self.look.theme, self.look, QRectF(rect)
        across = self.orientation() is Qt.Orientation.Horizontal
        text = str(self.model().headerData(logicalIndex, self.orientation()) or "")
        painter.save()
        painter.fillRect(box, t.color("paper"))
        painter.fillRect(_foot(box), t.color("line"))
        inner = box.adjusted(0 if not across else GRID / 2, 2, -GRID / 2, -2)
        if across:
            name, _, best = text.partition("\n")
            shown = [(line, look.small, "ink") for line in lines_of(name, look.small, inner.width(), 3)]
            shown += [(elided(best, look.small, inner.width()), look.small, "quiet")]
        else:
            name, _, system = text.partition("\n")
            shown = [(elided(name, look.strong, inner.width()), look.strong, "ink")]
            shown += [(elided(system, look.small, inner.width()), look.small, "quiet")] if system else []
        heights = [QFontMetricsF(font).height() for _, font, _ in shown]
        top = inner.bottom() - sum(heights) if across else inner.center().y() - sum(heights) / 2
        align = Qt.AlignmentFlag.AlignHCenter if across else Qt.AlignmentFlag.AlignLeft
        for (line, font, tone), height in zip(shown, heights, strict=True):
            painter.setFont(font)
            painter.setPen(t.color(tone))
            painter.drawText(QRectF(inner.left(), top, inner.width(), height), align, line)
            top += height
        painter.restore()


class _Cells(QStyledItemDelegate):
    """Draws a cell: a grade large, a wait small, what is ready framed, what was graded early hatched."""

    def __init__(self, look: Look, model: GridModel, parent: QObject) -> None:
        super().__init__(parent)
        self.look, self.model = look, model

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        cell = self.model.cell_at(index)
        if cell is None:
            return
        t, look, box = self.look.theme, self.look, QRectF(option.rect).adjusted(1, 1, -2, -2)
        word, below = self.model.short.get(cell.spot, ("", ""))
        picked = bool(option.state & QStyle.StateFlag.State_Selected)
        calls = cell.spot in self.model.calling
        graded, ready = cell.standing is Standing.GRADED, cell.standing is Standing.READY
        painter.save()
        painter.fillRect(_foot(QRectF(option.rect)), t.color("line"))  # the eye follows a strip over its tests
        if picked or calls:
            painter.fillRect(box, t.color("accent" if picked else "wait"))
        elif graded or ready:
            painter.fillRect(box, t.color("raised"))
        if cell.early and not picked:
            hatch(painter, box, t.color("line"), gap=6, width=1)
        ink = "accent_ink" if picked else "paper" if calls else "ink" if graded or ready else "quiet"
        if ready and not picked:
            painter.setPen(QPen(t.color("quiet"), 1))
            painter.drawRoundedRect(box.adjusted(0.5, 0.5, -0.5, -0.5), 3, 3)
        main = look.title if graded and len(word) < 4 else look.strong if graded or calls else look.small
        lines = [(word, main)] + ([(below, look.small)] if below else [])
        room = QFontMetricsF(look.small).height()
        heights = [min(QFontMetricsF(font).height(), box.height() - (room if below else 0)) for _, font in lines]
        top = box.center().y() - sum(heights) / 2
        painter.setPen(t.color(ink))
        for (line, font), height in zip(lines, heights, strict=True):
            painter.setFont(font)
            spot = QRectF(box.left() + 2, top, box.width() - 4, height)
            painter.drawText(spot, Qt.AlignmentFlag.AlignCenter, elided(line, font, spot.width()))
            top += height
        painter.restore()


class GradeGrid(QTableView):
    """The table. `picked` gives the spot that was clicked; it takes no keys, which belong to the line for the grade."""

    picked = Signal(object)

    def __init__(self, look: Look, name: str, accessible: str) -> None:
        super().__init__()
        self.look = look
        self.setObjectName(name)
        self.setAccessibleName(accessible)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.grid = GridModel()
        self.setModel(self.grid)
        self.setItemDelegate(_Cells(look, self.grid, self))
        self.setHorizontalHeader(_Head(look, Qt.Orientation.Horizontal))
        self.setVerticalHeader(_Head(look, Qt.Orientation.Vertical))
        self.setShowGrid(False)
        self.setTabKeyNavigation(False)
        self.setCornerButtonEnabled(False)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setFrameShape(QTableView.Shape.NoFrame)
        self._quiet = False
        look.changed.connect(self._relook)
        self._relook()

    def show_board(self, board: Board, now: Any, words: dict[Spot, str], *, blind: bool) -> None:
        """Show this board; the cell that was picked stays so."""
        before, grid = self.spot(), self.grid
        self._quiet = True
        grid.beginResetModel()
        grid.board, grid.blind, grid.words = board, blind, words
        grid.short = {cell.spot: cell_short(cell, now) for cell in board.cells()}
        grid.calling = frozenset(cell.spot for cell in board.cells() if cell.pulls(now))
        grid.endResetModel()
        self._quiet = False
        self._fit()
        self.pick(before)

    def spot(self) -> Spot | None:
        """Give the cell picked."""
        cell = self.grid.cell_at(self.currentIndex())
        return cell.spot if cell is not None else None

    def pick(self, spot: Spot | None) -> None:
        """Pick this cell and roll to it; tells nobody."""
        board = self.grid.board
        if board is None or spot is None or spot.test not in board.tests:
            return
        at = next((i for i, r in enumerate(board.rows) if r.strip.piece == spot.strip), None)
        if at is None:
            return
        index = self.grid.index(at, board.tests.index(spot.test))
        self._quiet = True
        self.setCurrentIndex(index)
        self._quiet = False
        self.scrollTo(index)

    def roll_to_picked(self) -> None:
        """Bring the cell that is picked into sight."""
        self.scrollTo(self.currentIndex())

    def currentChanged(self, current: Index, previous: Index) -> None:
        super().currentChanged(current, previous)
        spot = self.spot()
        if spot is not None and not self._quiet:
            self.picked.emit(spot)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()
        self.roll_to_picked()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._fit()

    def _fit(self) -> None:
        """Share the width: names first, then the tests, each wide enough for its wait."""
        board = self.grid.board
        if board is None or not board.tests:
            return
        small, strong = QFontMetricsF(self.look.small), QFontMetricsF(self.look.strong)
        names = [strong.horizontalAdvance(r.name) for r in board.rows]
        if not self.grid.blind:
            names += [small.horizontalAdvance(r.system.name) for r in board.rows if r.system is not None]
        least = max(small.horizontalAdvance("Wed 00:00"), strong.horizontalAdvance("00000")) + GRID
        room = self.width() - 14
        least = max(min(least, 0.8 * room / len(board.tests)), 0.85 * least)
        wide = min(max(names, default=0) + 1.5 * GRID, max(room - least * len(board.tests), 0.2 * room))
        self.verticalHeader().setFixedWidth(int(wide))
        each = min(max(least, (room - wide) / len(board.tests)), 2 * least)
        for k in range(len(board.tests)):
            self.setColumnWidth(k, int(each))
        heads = [len(lines_of(short_of(t), self.look.small, each - GRID, 3)) for t in board.tests]
        self.horizontalHeader().setFixedHeight(int(small.height() * (max(heads) + 1) + GRID))
        self.verticalHeader().setDefaultSectionSize(self.look.target + GRID // 2)

    def _relook(self) -> None:
        t = self.look.theme
        self.setStyleSheet(
            f"QTableView {{ background: {t.paper}; border: none; outline: 0; }}"
            f"QHeaderView {{ background: {t.paper}; border: none; }}"
            f"QTableCornerButton::section {{ background: {t.paper}; border: none; }}"
        )
        self._fit()
        self.viewport().update()
