"""What the page of the library is built of, and where each part stands."""

from collections.abc import Iterator

from PySide6.QtCore import Qt
from PySide6.QtGui import QDragEnterEvent, QResizeEvent
from PySide6.QtWidgets import QApplication, QHBoxLayout, QScrollArea, QSizePolicy, QStackedWidget, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Words, scrolled
from benchtool.bench.librarycard import CardDetail
from benchtool.bench.librarylist import CardList
from benchtool.bench.librarymoving import ClashPanel, ExportPanel, ImportPanel
from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import Typed
from benchtool.session.cardsearch import how_to_search
from benchtool.session.session import Session
from benchtool.trade.saying import say

LOW = 64 * GRID
"""Below this height the page does without its hints."""


class LibraryParts(QWidget):
    """The search and the list at the left, the card in hand or what is asked of it at the right, the acts below."""

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.look, self.session = look, session
        self.setObjectName("library")
        self.setAcceptDrops(True)
        self._make_left()
        self._make_right()
        self._make_buttons()
        self._lay_out()

    def _make_left(self) -> None:
        look = self.look
        self.search = Typed(look, say("Search your cards"), "library-search")
        self.search.edit.setAcceptDrops(False)  # what is dropped is for the page
        self.how = Words(look, "small", "quiet")
        self.how.say(how_to_search())
        self.banner = Words(look, "body", "trouble")
        self.list = CardList(look)
        policy = self.list.sizePolicy()
        policy.setRetainSizeWhenHidden(True)  # else the search would drift down a page without cards
        self.list.setSizePolicy(policy)
        self.empty = Words(look, "body", "ink")
        self.trouble = Words(look, "small", "trouble")
        for words in (self.banner, self.trouble):
            words.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        for words in (self.empty, self.trouble):
            words.hide()

    def _make_right(self) -> None:
        look = self.look
        self.detail = CardDetail(look, self.session)
        self.exporting, self.importing, self.clash = ExportPanel(look), ImportPanel(look), ClashPanel(look)
        self.side = QStackedWidget()
        panels: tuple[QWidget, ...] = (self.detail, self.exporting, self.importing, self.clash)
        self.areas = {panel: scrolled(panel) for panel in panels}
        for area in self.areas.values():
            self.side.addWidget(area)

    def _make_buttons(self) -> None:
        self.show_copies = self._button("", "", "library-copies")
        self.edit = self._button(say("Change the card"), "Enter", "library-edit", primary=True)
        self.new = self._button(say("New card"), "Ctrl+N", "library-new")
        self.out = self._button(say("Take it out"), "Del", "library-out")
        self.give = self._button(say("Write to a file"), "Ctrl+E", "library-give")
        self.bring = self._button(say("Bring in"), "Ctrl+I", "library-bring")
        self.back_line = self._button("", "Ctrl+Z", "library-bring-back")
        self.back = self._button(say("Back to the bench"), "Esc", "library-back")

    def _button(self, text: str, key: str, name: str, *, primary: bool = False) -> BenchButton:
        button = BenchButton(self.look, text, key, name=name, primary=primary)
        button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        return button

    def _lay_out(self) -> None:
        self.banner_row = QWidget()
        row = QHBoxLayout(self.banner_row)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.banner, 1)
        row.addWidget(self.show_copies)
        left = QVBoxLayout()
        left.setSpacing(GRID)
        for part in (self.search, self.how, self.banner_row, self.empty):
            left.addWidget(part)
        left.addWidget(self.list, 1)
        left.addWidget(self.trouble)
        sides = QHBoxLayout()
        sides.setSpacing(3 * GRID)
        sides.addLayout(left, 1)
        sides.addWidget(self.side, 1)
        foot = QHBoxLayout()
        foot.setSpacing(GRID)
        for button in (self.edit, self.new, self.out, self.give, self.bring, self.back_line):
            foot.addWidget(button)
        foot.addStretch(1)
        foot.addWidget(self.back)
        column = QVBoxLayout(self)
        column.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        column.setSpacing(GRID)
        column.addLayout(sides, 1)
        column.addLayout(foot)
        for part in (self.banner_row, self.back_line):
            part.hide()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        low = self.height() < LOW * self.look.scale  # there the list needs the room
        self.how.setVisible(not low)
        for words in (self.trouble, self.banner):
            words.setWordWrap(not low)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if any(url.isLocalFile() for url in event.mimeData().urls()):
            event.acceptProposedAction()

    # --- Tab stays on the page, in reading order -----------------------------------------------------

    def _stops(self) -> Iterator[QWidget]:
        seen = self.side.currentWidget()
        panel = next(panel for panel, area in self.areas.items() if area is seen)
        inner = sorted(panel.findChildren(QWidget), key=lambda w: (w.mapTo(panel, w.rect().topLeft()).y(), w.x()))
        foot = (self.edit, self.new, self.out, self.give, self.bring, self.back_line, self.back)
        for stop in (self.search.edit, self.show_copies, self.list, *inner, *foot):
            takes = stop.focusPolicy() & Qt.FocusPolicy.TabFocus.value
            if takes and stop.isEnabled() and stop.isVisibleTo(self):
                yield stop

    def focusNextPrevChild(self, forward: bool) -> bool:
        stops, here = list(self._stops()), QApplication.focusWidget()
        at = next((i for i, stop in enumerate(stops) if stop is here), -1 if forward else 0)
        reason = Qt.FocusReason.TabFocusReason if forward else Qt.FocusReason.BacktabFocusReason
        stop = stops[(at + (1 if forward else -1)) % len(stops)]
        stop.setFocus(reason)
        area = self.side.currentWidget()
        if isinstance(area, QScrollArea) and area.isAncestorOf(stop):
            area.ensureWidgetVisible(stop)
        return True
