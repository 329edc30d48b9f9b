"""A list whose rows we draw ourselves: it scrolls evenly, steps by key, and looks like the rest of the bench."""

from typing import Protocol

from PySide6.QtCore import QAbstractListModel, Qt
from PySide6.QtWidgets import QAbstractItemView, QListView, QStyledItemDelegate

from benchtool.bench.look import Look


class _Painter(Protocol):
    def row_height(self) -> int: ...


class RowList(QListView):
    """One row after another, all of one height; what a row says is its model's and its painter's."""

    _painter: _Painter

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.setUniformItemSizes(True)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        look.changed.connect(self._relook)
        self._relook()

    def draw(self, model: QAbstractListModel, painter: QStyledItemDelegate) -> None:
        """Show the rows of this model, drawn by this delegate."""
        self.setModel(model)
        self.setItemDelegate(painter)

    def step(self, by: int) -> None:
        """Take a later or an earlier row in hand."""
        rows = self.model().rowCount()
        if rows:
            at = min(max(self.currentIndex().row() + by, 0), rows - 1)
            self.setCurrentIndex(self.model().index(at, 0))

    def page_rows(self) -> int:
        """Give how many rows are in view."""
        return max(1, self.viewport().height() // self._painter.row_height())

    def _relook(self) -> None:
        t = self.look.theme
        self.setStyleSheet(
            f"QListView {{ background: {t.raised}; border: 1px solid {t.quiet}; border-radius: 3px; outline: 0; }}"
            f"QListView:focus {{ border: 2px solid {t.accent}; }}"
        )
        self.scheduleDelayedItemsLayout()
        self.viewport().update()
