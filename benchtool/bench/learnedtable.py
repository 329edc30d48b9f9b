"""The record as a table: each plot a line with its sentence, its cases below it; for reading aloud and by key."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem

from benchtool.bench.learnedlay import words_of
from benchtool.bench.look import GRID, Look
from benchtool.bench.tips import plain_tip
from benchtool.session.learningshown import Kind, Lane, Mark, cases_words
from benchtool.session.learningwords import kept_words
from benchtool.trade.saying import say

_COLUMNS = 4

MOST = 1_000
"""So many cases of a plot are listed, the newest; the plot and its sentence hold all."""


class RecordTable(QTableWidget):
    """Lists the cases. Enter goes to the piece of the line in hand."""

    told = Signal(str)

    def __init__(self, look: Look) -> None:
        super().__init__(0, _COLUMNS)
        self.look = look
        self._marks: list[Mark | None] = []
        self.setObjectName("learned-table")
        self.setAccessibleName(say("The record as a table"))
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setTabKeyNavigation(False)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.verticalHeader().hide()
        self.setHorizontalHeaderLabels(
            [say("What"), say("How much"), say("Allowed then"), say("How it lay, and where")]
        )
        head = self.horizontalHeader()
        head.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        head.setStretchLastSection(True)
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.currentCellChanged.connect(lambda *_: self.told.emit(self._words()))
        look.changed.connect(self._relook)
        self._relook()

    @property
    def mark(self) -> Mark | None:
        """The case of the line in hand; None at the line of a plot."""
        row = self.currentRow()
        return self._marks[row] if 0 <= row < len(self._marks) else None

    def show_lanes(self, lanes: Sequence[Lane]) -> None:
        """List these plots with their cases."""
        rows: list[tuple[tuple[str, ...], Mark | None]] = []
        for lane in lanes:
            rows.append(((f"{lane.title}, {cases_words(lane.n)}. {words_of(lane)}",), None))
            for name, early, within, late in lane.parts:
                kept = say(
                    "{early} too early, {within} in time, {late} too late", early=early, within=within, late=late
                )
                rows.append(((f"{name}, {cases_words(early + within + late)}: {kept}.",), None))
            rows += [((m.what, *m.figures, _lay(lane, m)), m) for m in lane.marks[-MOST:]]
            if len(lane.marks) > MOST:
                rows.append(((say("{n} older cases are not listed here.", n=len(lane.marks) - MOST),), None))
        self.clearSpans()
        self.setRowCount(0)
        self.setRowCount(len(rows))
        self._marks = [mark for _, mark in rows]
        for i, (texts, mark) in enumerate(rows):
            if mark is None:  # a plot is one sentence over the whole line
                self.setSpan(i, 0, 1, _COLUMNS)
            for column, text in enumerate(texts):
                item = QTableWidgetItem(text)
                item.setToolTip(plain_tip(mark.words if mark is not None else text))
                self.setItem(i, column, item)
        self._relook()

    def _words(self) -> str:
        """What is told of the line in hand."""
        item = self.item(self.currentRow(), 0)
        return self.mark.words if self.mark is not None else item.text() if item is not None else ""

    def _fit(self) -> None:
        """Make the columns as wide as the words of the cases."""
        body, small = QFontMetricsF(self.look.body), QFontMetricsF(self.look.small)
        for column in range(_COLUMNS - 1):
            head = self.horizontalHeaderItem(column)
            held = [small.horizontalAdvance(head.text())] if head is not None else [0.0]
            items = (self.item(row, column) for row, mark in enumerate(self._marks) if mark is not None)
            held += [body.horizontalAdvance(item.text()) for item in items if item is not None]
            self.setColumnWidth(column, int(max(held)) + 3 * GRID)

    def _relook(self) -> None:
        t = self.look.theme
        self.setFont(self.look.body)
        self.horizontalHeader().setFont(self.look.small)
        self.horizontalHeader().setFixedHeight(int(QFontMetricsF(self.look.small).height()) + 2 * GRID)
        self.verticalHeader().setDefaultSectionSize(self.look.target)
        for row, mark in enumerate(self._marks):
            self.setRowHeight(row, self.look.target)
            item = self.item(row, 0)
            if mark is None and item is not None:
                item.setFont(self.look.strong)
        self._fit()
        self.setStyleSheet(
            f"QTableWidget {{ background: {t.raised}; color: {t.ink}; border: 1px solid {t.quiet}; outline: 0; }}"
            f"QTableWidget:focus {{ border: 2px solid {t.accent}; }}"
            f"QTableWidget::item {{ padding: 0 8px; border-bottom: 1px solid {t.line}; }}"
            f"QTableWidget::item:selected {{ background: {t.accent}; color: {t.accent_ink}; }}"
            f"QHeaderView, QHeaderView::section {{ background: {t.paper}; color: {t.quiet}; border: none;"
            f" padding: 4px 8px; }}"
        )


def _lay(lane: Lane, mark: Mark) -> str:
    """Say how a case lay to what was allowed, and where it is."""
    return mark.where if lane.kind is not Kind.WAITS else f"{kept_words(mark.kept)}: {mark.where}"
