"""The list of what was found: a piece a row, with whom it is for, what is on it, and why it is there."""

from collections.abc import Sequence

from PySide6.QtCore import QAbstractListModel, QModelIndex, QObject, QPersistentModelIndex, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPen
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem

from benchtool.bench.look import GRID, Look, elided
from benchtool.bench.rowlist import RowList
from benchtool.bench.tips import plain_tip
from benchtool.session.jobfound import Row
from benchtool.trade.saying import say

Index = QModelIndex | QPersistentModelIndex

ROW = Qt.ItemDataRole.UserRole


class FoundModel(QAbstractListModel):
    """The pieces found, by row."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.rows: Sequence[Row] = ()

    def show_rows(self, rows: Sequence[Row]) -> None:
        """Show these."""
        self.beginResetModel()
        self.rows = rows
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - the toolkit's own default
        return 0 if parent.isValid() else len(self.rows)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not 0 <= index.row() < len(self.rows):
            return None
        row = self.rows[index.row()]
        match role:
            case Qt.ItemDataRole.DisplayRole:
                return row.name
            case Qt.ItemDataRole.AccessibleTextRole:
                return ", ".join(x for x in (row.name, row.day, row.job, row.on_it, row.remarks) if x)
            case Qt.ItemDataRole.ToolTipRole:
                return plain_tip(say("{piece}\nFile: {path}", piece=row.words, path=row.path))
            case _ if role == ROW:
                return row
        return None


class FoundList(RowList):
    """The list itself; tells which row is taken in hand, and which is to be opened."""

    picked = Signal()
    opened = Signal()

    def __init__(self, look: Look) -> None:
        super().__init__(look)
        self.setObjectName("find-list")
        self.setAccessibleName(say("Pieces found"))
        self.found = FoundModel(self)
        self._painter = _RowPainter(look, self)
        self.draw(self.found, self._painter)
        self.selectionModel().currentChanged.connect(lambda *_: self.picked.emit())
        self.doubleClicked.connect(lambda _: self.opened.emit())

    @property
    def row(self) -> Row | None:
        """The row in hand."""
        at = self.currentIndex().row()
        return self.found.rows[at] if 0 <= at < len(self.found.rows) else None

    def show_rows(self, rows: Sequence[Row]) -> None:
        """Show these; the one in hand stays so where it is among them, else the first is."""
        held = self.row
        self.found.show_rows(rows)
        keys = [(row.path, row.piece) for row in rows]
        at = keys.index((held.path, held.piece)) if held is not None and (held.path, held.piece) in keys else 0
        index = self.found.index(at) if rows else QModelIndex()
        self.setCurrentIndex(index)
        self.scrollTo(index)
        self.picked.emit()


class _RowPainter(QStyledItemDelegate):
    """Draws a row: the piece and the day, what is on it, then the job and why the piece is there."""

    def __init__(self, look: Look, parent: QObject) -> None:
        super().__init__(parent)
        self.look = look

    def row_height(self) -> int:
        """The height of every row: three lines of type, and never less than a target."""
        lines = QFontMetricsF(self.look.strong).height() + 2 * QFontMetricsF(self.look.small).height()
        return max(self.look.target, int(lines + 2 * GRID))

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        return QSize(10 * GRID, self.row_height())

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        row = index.data(ROW)
        if not isinstance(row, Row):
            return
        t, look, box = self.look.theme, self.look, QRectF(option.rect)
        picked = bool(option.state & QStyle.StateFlag.State_Selected)
        painter.save()
        if picked:
            painter.fillRect(box, t.color("accent"))
        else:
            painter.setPen(QPen(t.color("line"), 1))
            painter.drawLine(box.bottomLeft(), box.bottomRight())
        ink, quiet, mark = ("accent_ink",) * 3 if picked else ("ink", "quiet", "trouble")
        room = box.adjusted(1.5 * GRID, GRID, -1.5 * GRID, -GRID)
        first = QRectF(room.left(), room.top(), room.width(), QFontMetricsF(look.strong).height())
        small = QFontMetricsF(look.small).height()
        second = QRectF(room.left(), first.bottom(), room.width(), small)
        third = QRectF(room.left(), second.bottom(), room.width(), small)
        self._line(painter, first, (row.name, look.strong, ink), (row.day, quiet))
        self._line(painter, second, (row.on_it, look.small, ink), ("", quiet))
        why = " ".join(x for x in (say("Job: {job}.", job=row.job), row.why) if x)
        self._line(painter, third, (why, look.small, quiet), (row.as_of, mark))
        painter.restore()

    def _line(self, painter: QPainter, box: QRectF, left: tuple[str, QFont, str], right: tuple[str, str]) -> None:
        """Draw a line with its words at the left, and small ones at the right that take at most half of it."""
        taken = 0.0
        flags = Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextSingleLine
        words, tone = right
        if words:
            font = self.look.small
            words = elided(words, font, box.width() / 2)
            wide = QFontMetricsF(font).horizontalAdvance(words)
            painter.setFont(font)
            painter.setPen(self.look.theme.color(tone))
            painter.drawText(QRectF(box.right() - wide - 1, box.top(), wide + 2, box.height()), flags, words)
            taken = wide + 2 * GRID
        text, font, tone = left
        room = box.adjusted(0, 0, -taken, 0)
        painter.setFont(font)
        painter.setPen(self.look.theme.color(tone))
        painter.drawText(room, flags, elided(" ".join(text.split()), font, room.width()))
