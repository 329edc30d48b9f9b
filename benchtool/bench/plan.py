"""The plan page: pieces, layers and product cards, before and between the coats."""

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent, QShowEvent
from PySide6.QtWidgets import QStackedWidget, QVBoxLayout, QWidget

from benchtool.bench.cardform import NEW_CARD, CardForm
from benchtool.bench.layerform import LayerForm
from benchtool.bench.look import Look
from benchtool.bench.planforms import PieceForm
from benchtool.bench.plansheet import Done, Sheet
from benchtool.session.cardreading import Wrong
from benchtool.session.planning import CardChoice
from benchtool.session.session import Document, NotNow, Session

_ITS_OWN = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.MetaModifier


class PlanPage(QWidget):
    """Where pieces and layers are added and changed."""

    left = Signal()
    said = Signal(str)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.look, self.session = look, session
        self.setObjectName("plan")
        self.piece = PieceForm(look, session)
        self.layer = LayerForm(look, session)
        self.card = CardForm(look, session)
        self.pages = QStackedWidget()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.pages)
        for page in (self.piece, self.layer, self.card):
            self.pages.addWidget(page)
        self._what = ""
        self._document: Document | None = None
        self.piece.entered.connect(lambda: self._enter(self.piece))
        self.layer.entered.connect(lambda: self._enter(self.layer))
        self.layer.remove_asked.connect(self._remove)
        self.layer.card_asked.connect(self._ask_card)
        self.card.entered.connect(self._keep_card)
        self.card.left.connect(lambda: self._show(self.layer))
        for page in (self.piece, self.layer):
            page.left.connect(self._leave)
        stop = session.subscribe(self._follow)
        self.destroyed.connect(stop)

    def ask(self, what: str) -> None:
        """Ask for a new piece, a new layer on the piece in hand, or the change of the piece in hand (`edit`).

        Raises:
            NotNow: no job or no piece is in hand, or the job is read-only.
        """
        document, piece = self.session.writable(), self.session.piece
        if piece is None and what != "piece":
            raise NotNow("Add a piece first: press A.")
        if document is not self._document:
            self.piece.unfinished.clear()
            self.layer.unfinished.clear()
            self.card.unfinished.clear(but=NEW_CARD)
            self.layer.made = []
        self._what, self._document = what, document
        if what == "layer" and piece is not None:
            self.layer.ask(piece)
            self._show(self.layer)
        else:
            self.piece.ask(piece if what == "edit" else None)
            self._show(self.piece)

    # --- going to and fro --------------------------------------------------------------------------

    def _show(self, page: Sheet) -> None:
        self.pages.setCurrentWidget(page)
        if self.isVisible():
            page.take_focus()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        page = self.pages.currentWidget()
        if isinstance(page, Sheet):
            page.take_focus()

    def _leave(self) -> None:
        self._what = ""
        self.left.emit()

    def _follow(self) -> None:
        """Go with the painter to another piece; leave where the job in hand is another, or the piece is gone."""
        if not self._what or not self.isVisible():
            return
        piece = self.session.piece
        if self.session.current is not self._document or (piece is None and self._what != "piece"):
            self._leave()
        elif piece is not None and self._what == "layer" and self.layer.piece_id != piece.id:
            self.layer.ask(piece)
        elif piece is not None and self._what == "edit" and self.piece.piece_id != piece.id:
            self.piece.ask(piece)

    # --- entering ----------------------------------------------------------------------------------

    def _enter(self, page: PieceForm | LayerForm) -> None:
        what, self._what = self._what, ""
        try:
            self._finish(page.submit())
        except Wrong as wrong:
            self._what = what
            self.said.emit(f"Not yet: {_lower(page.complain(wrong.faults))}")
        except NotNow as no:
            self._what = what
            self.said.emit(str(no))

    def _remove(self) -> None:
        what, self._what = self._what, ""
        try:
            self._finish(self.layer.submit_removal())
        except NotNow as no:
            self._what = what
            self.said.emit(str(no))

    def _finish(self, done: Done) -> None:
        self.session.pick(done.piece, done.layer)
        self.left.emit()
        self.said.emit(done.words)

    def _ask_card(self, choice: CardChoice | None) -> None:
        self.card.ask(choice)
        self._show(self.card)

    def _keep_card(self) -> None:
        try:
            card, said = self.card.submit(self.layer.made)
        except Wrong as wrong:
            self.said.emit(f"Not yet: {_lower(self.card.complain(wrong.faults))}")
            return
        except NotNow as no:
            self.said.emit(str(no))
            return
        self.layer.take_card(card)
        self._show(self.layer)
        self.layer.asks["coats"].take_focus()
        self.said.emit(said)

    # --- keys --------------------------------------------------------------------------------------

    def event(self, event: QEvent) -> bool:
        # The bench's letters are acts. Here they are typed, or do nothing, and arrows move in lists; Esc on a
        # card goes back to the layer and not off the page.
        if event.type() is QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            own = not event.modifiers() & _ITS_OWN and not Qt.Key.Key_F1 <= event.key() <= Qt.Key.Key_F35
            escape = event.key() == Qt.Key.Key_Escape
            if own and (not escape or self.pages.currentWidget() is self.card):
                event.accept()
                return True
        return super().event(event)


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]
