"""Lists to pick one thing from: materials, product cards, places in the stack."""

from collections.abc import Sequence
from typing import NamedTuple

from PySide6.QtCore import QEvent, QModelIndex, QObject, QPersistentModelIndex, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QPainter, QPen
from PySide6.QtWidgets import (
    QListWidget,
    QListWidgetItem,
    QSizePolicy,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QVBoxLayout,
    QWidget,
)

from benchtool.bench.controls import Words
from benchtool.bench.look import GRID, Look, elided
from benchtool.bench.planparts import Typed
from benchtool.bench.tips import plain_tip

_DETAIL = int(Qt.ItemDataRole.UserRole) + 1
_NO_LIMIT = 16_777_215


class PickRow(NamedTuple):
    """One line of a list: its key, its name, and what else is worth knowing of it."""

    key: str
    name: str
    detail: str = ""


class _Rows(QListWidget):
    """The lines. Coming to them by Tab chooses nothing yet; the first arrow key chooses the first line."""

    def step(self, by: int) -> None:
        """Choose the line above or below the one chosen."""
        picked = self.selectedIndexes()
        there = picked[0].row() + by if picked else 0
        if 0 <= there < self.count():
            self.setCurrentRow(there)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down) and not self.selectedIndexes():
            self.step(0)
            event.accept()
        else:
            super().keyPressEvent(event)


class PickList(QWidget):
    """A list to pick one from; with `search` a field over it narrows it, and the arrow keys there move in it."""

    chosen = Signal(str)
    searched = Signal(str)

    def __init__(self, look: Look, label: str, name: str, *, search: str = "", rows: int = 4) -> None:
        super().__init__()
        self.look = look
        self.setObjectName(name)
        self.search = Typed(look, label, f"{name}-search", search)
        self.label = Words(look, "small", "quiet", wrap=False)
        self.label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.label.say(label)
        self.list = _Rows()
        self.list.setObjectName(f"{name}-list")
        self.list.setAccessibleName(label)
        self.list.setItemDelegate(RowPainter(look, self.list))
        self.list.setUniformItemSizes(True)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setVerticalScrollMode(QListWidget.ScrollMode.ScrollPerPixel)
        self.least_rows = rows
        self.hint = Words(look, "small", "quiet")
        self.hint.hide()
        self.fault = Words(look, "small", "trouble")
        self.fault.hide()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID // 2)
        column.addWidget(self.search)
        column.addWidget(self.label)
        column.addWidget(self.list, 1)
        for words in (self.hint, self.fault):
            words.setAlignment(Qt.AlignmentFlag.AlignTop)
            column.addWidget(words)
        self.search.edit.textEdited.connect(self.searched)
        self.search.edit.installEventFilter(self)
        self.list.itemSelectionChanged.connect(self._changed)
        self._quiet = False
        self.narrow(on=bool(search))
        look.changed.connect(self._relook)
        self._relook()

    @property
    def value(self) -> str | None:
        """The key of the line chosen, None for none."""
        picked = self.list.selectedItems()
        return str(picked[0].data(Qt.ItemDataRole.UserRole)) if picked else None

    def narrow(self, *, on: bool) -> None:
        """Show or hide the search field; a list without one is as high as its lines."""
        self.search.setVisible(on)
        self.label.setVisible(not on)
        upright = QSizePolicy.Policy.Expanding if on else QSizePolicy.Policy.Maximum
        self.setSizePolicy(QSizePolicy.Policy.Preferred, upright)

    def fill(self, rows: Sequence[PickRow], chosen: str | None) -> None:
        """Show these lines, one of them chosen or none; tells nobody."""
        self._quiet = True
        self.list.clear()
        for row in rows:
            item = QListWidgetItem(row.name)
            item.setData(Qt.ItemDataRole.UserRole, row.key)
            item.setData(_DETAIL, row.detail)
            item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{row.name}, {row.detail}" if row.detail else row.name)
            item.setToolTip(plain_tip(f"{row.name}\n{row.detail}" if row.detail else row.name))
            self.list.addItem(item)
        keys = [row.key for row in rows]
        self.list.setCurrentRow(keys.index(chosen) if chosen in keys else -1)
        self._quiet = False
        self._size()
        there = self.list.currentRow()
        if there >= self.least_rows:
            self.list.scrollToItem(self.list.item(there), QListWidget.ScrollHint.PositionAtTop)
        else:
            self.list.scrollToTop()

    def choose(self, key: str) -> None:
        """Choose this line, if there is one of that key; tells nobody."""
        for i in range(self.list.count()):
            if self.list.item(i).data(Qt.ItemDataRole.UserRole) == key:
                self._quiet = True
                self.list.setCurrentRow(i)
                self._quiet = False

    def explain(self, words: str, color: str = "quiet") -> None:
        """Say what is worth knowing of the line chosen."""
        self.hint.say(words, color)
        self.hint.setVisible(bool(words))

    def complain(self, message: str) -> None:
        """Say what is wrong, or with no message that nothing is."""
        self.fault.say(message)
        self.fault.setVisible(bool(message))
        self.list.setAccessibleDescription(message)

    def take_focus(self) -> None:
        """Put the cursor in the search field, or on the list."""
        if self.search.isHidden():
            self.list.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            self.search.take_focus()

    def stops(self) -> Sequence[QWidget]:
        """Give the search field, if there is one, and the list."""
        return (self.list,) if self.search.isHidden() else (self.search.edit, self.list)

    def _changed(self) -> None:
        if self.value is not None and not self._quiet:
            self.complain("")
            self.chosen.emit(self.value)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if isinstance(event, QKeyEvent) and event.type() is QEvent.Type.KeyPress:
            step = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}.get(Qt.Key(event.key()), 0)
            if step:
                self.list.step(step)
                return True
        return False

    def _size(self) -> None:
        count, each = self.list.count(), self.look.target
        for i in range(count):
            self.list.item(i).setSizeHint(QSize(10, each))
        narrows = not self.search.isHidden()
        self.list.setMinimumHeight((self.least_rows if narrows else min(self.least_rows, count)) * each + 2)
        self.list.setMaximumHeight(_NO_LIMIT if narrows else count * each + 2)
        self.list.setVisible(narrows or count > 0)

    def _relook(self) -> None:
        t = self.look.theme
        self.list.setStyleSheet(
            f"QListWidget {{ background: {t.raised}; border: 1px solid {t.quiet}; border-radius: 3px; outline: 0; }}"
            f"QListWidget:focus {{ border: 2px solid {t.accent}; }}"
        )
        self.list.setFont(self.look.body)
        self._size()
        self.list.viewport().update()


class RowPainter(QStyledItemDelegate):
    """Draws a line of a list: the name, and below it, quieter, what else is worth knowing."""

    def __init__(self, look: Look, parent: QListWidget) -> None:
        super().__init__(parent)
        self.look = look

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        t, look = self.look.theme, self.look
        state = option.state
        box = QRectF(option.rect)
        picked = bool(state & QStyle.StateFlag.State_Selected)
        painter.save()
        if picked:
            painter.fillRect(box, t.color("accent"))
        else:
            painter.setPen(QPen(t.color("line"), 1))
            painter.drawLine(box.bottomLeft(), box.bottomRight())
        room = self.room(painter, box, index, picked=picked)
        lines = [(str(index.data(Qt.ItemDataRole.DisplayRole)), look.strong, "ink")]
        if index.data(_DETAIL):
            lines.append((str(index.data(_DETAIL)), look.small, "quiet"))
        heights = [QFontMetricsF(font).height() for _, font, _ in lines]
        top = room.center().y() - sum(heights) / 2
        for (text, font, color), height in zip(lines, heights, strict=True):
            painter.setFont(font)
            painter.setPen(t.color("accent_ink" if picked else color))
            spot = QRectF(room.left(), top, room.width(), height)
            painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, elided(text, font, room.width()))
            top += height
        if state & QStyle.StateFlag.State_HasFocus and not picked:
            painter.setPen(QPen(t.color("accent"), 2))
            painter.drawRect(box.adjusted(2, 2, -2, -2))
        painter.restore()

    def room(
        self, painter: QPainter, box: QRectF, index: QModelIndex | QPersistentModelIndex, *, picked: bool
    ) -> QRectF:
        """Draw what stands beside the words, and give the room that is left for them."""
        return box.adjusted(1.5 * GRID, 0, -1.5 * GRID, 0)
