"""The steps of the plan as a plain table: the same as is drawn, for whoever would sooner read it or have it read."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem

from benchtool.bench.dayrows import DayPicture, Row
from benchtool.bench.daysteps import Line, head, lines
from benchtool.bench.look import GRID, Look
from benchtool.plan.work import Placed
from benchtool.trade.saying import say


class DayList(QTableWidget):
    """Shows the steps; Enter or a click asks for the layer of one (job, piece, layer or "")."""

    layer_asked = Signal(str, str, str)

    def __init__(self, look: Look) -> None:
        super().__init__(0, len(head()))
        self.look = look
        self._steps: tuple[tuple[Line, Row, Placed], ...] = ()
        self.setObjectName("day-list")
        self.setAccessibleName(say("The steps of the plan, in the order of time"))
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setTabKeyNavigation(False)
        self.setWordWrap(False)
        self.setShowGrid(False)
        self.setAlternatingRowColors(True)
        self.verticalHeader().hide()
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalHeaderLabels(head())
        bar = self.horizontalHeader()
        bar.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        bar.setHighlightSections(False)
        for column in range(len(head())):
            bar.setSectionResizeMode(
                column,
                QHeaderView.ResizeMode.Stretch if column in (2, 3) else QHeaderView.ResizeMode.ResizeToContents,
            )
        self.cellClicked.connect(lambda row, _: self._ask(row))
        look.changed.connect(self._relook)
        self._relook()

    def show_picture(self, picture: DayPicture) -> None:
        """List the steps of this plan; the line in hand stays in hand where it is still there."""
        held = self._id(self.currentRow())
        self._steps = lines(picture)
        self.setRowCount(len(self._steps))
        for i, (line, _, _) in enumerate(self._steps):
            for column, text in enumerate(line):
                item = QTableWidgetItem(text)
                item.setToolTip("")
                self.setItem(i, column, item)
        at = next((i for i in range(len(self._steps)) if held is not None and self._id(i) == held), -1)
        self.setCurrentCell(at, 0)
        self._relook()

    def _id(self, row: int) -> tuple[str, str, str] | None:
        if not 0 <= row < len(self._steps):
            return None
        task = self._steps[row][2].task
        return task.job, task.piece, task.id

    def _ask(self, row: int) -> None:
        if 0 <= row < len(self._steps):
            task = self._steps[row][2].task
            self.layer_asked.emit(task.job, task.piece, task.layer or "")

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.currentRow() >= 0:
            self._ask(self.currentRow())
            event.accept()
        elif event.key() in _MOVES:
            super().keyPressEvent(event)
        else:
            event.ignore()  # letters are the page's, and search no table

    def _relook(self) -> None:
        t = self.look.theme
        self.setFont(self.look.body)
        self.horizontalHeader().setFont(self.look.small)
        self.setStyleSheet(
            f"QTableWidget {{ background: {t.raised}; alternate-background-color: {t.paper}; color: {t.ink};"
            f" border: 1px solid {t.line}; outline: 0; }}"
            f"QTableWidget:focus {{ border: 2px solid {t.accent}; }}"
            f"QTableWidget::item {{ padding: 0 {GRID}px; border: none; }}"
            f"QTableWidget::item:selected {{ background: {t.accent}; color: {t.accent_ink}; }}"
            f"QHeaderView::section {{ background: {t.paper}; color: {t.quiet}; border: none;"
            f" border-bottom: 1px solid {t.quiet}; padding: 4px {GRID}px; }}"
        )
        for row in range(self.rowCount()):
            self.setRowHeight(row, self.look.target)


_MOVES = frozenset(
    {Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_PageUp, Qt.Key.Key_PageDown, Qt.Key.Key_Home, Qt.Key.Key_End}
)
