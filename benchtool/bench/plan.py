"""The plan page: pieces, layers and product cards, before and between the coats."""

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent, QShowEvent
from PySide6.QtWidgets import QStackedWidget, QVBoxLayout, QWidget

from benchtool.bench.cardform import CardForm, is_of_no_job
from benchtool.bench.layerform import LayerForm
from benchtool.bench.look import Look
from benchtool.bench.planforms import PieceForm
from benchtool.bench.plansheet import Done, Sheet
from benchtool.bench.typedkeys import LETTERS, is_heard
from benchtool.session.cardreading import Wrong
from benchtool.session.planning import CardChoice, PieceText
from benchtool.session.session import Document, NotNow, Session
from benchtool.trade.saying import say

_ITS_OWN = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.MetaModifier


class PlanPage(QWidget):
    """Where pieces and layers are added and changed."""

    letters = LETTERS
    left = Signal()
    said = Signal(str)
    identify_asked = Signal()
    card_kept = Signal(object)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.look, self.session = look, session
        self.setObjectName("plan")
        self.piece = PieceForm(look, session)
        self.layer = LayerForm(look, session)
        self.card = CardForm(look, session, session.drafts() if session.drafts is not None else None)
        self.pages = QStackedWidget()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.pages)
        for page in (self.piece, self.layer, self.card):
            self.pages.addWidget(page)
        self._what, self._held = "", False
        self._document: Document | None = None
        self.piece.entered.connect(lambda: self._enter(self.piece))
        self.layer.entered.connect(lambda: self._enter(self.layer))
        self.layer.remove_asked.connect(self._remove)
        self.layer.card_asked.connect(self._ask_card)
        self.card.entered.connect(self._keep_card)
        self.card.left.connect(self._leave_card)
        self.piece.identify_asked.connect(self.identify_asked)
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
        self._turn_to(document)
        self._what = what
        if what == "layer" and piece is not None:
            self.layer.ask(piece)
            self._show(self.layer)
        else:
            self.piece.ask(piece if what == "edit" else None)
            self._show(self.piece)

    def ask_card(self, choice: CardChoice | None, *, held: bool = False, back: str = "") -> None:
        """Ask for a new card, or for what is different about one, for another page than that of a layer.

        A page that has the card `held` by itself takes one that the library does not. `back` says where Esc goes.
        """
        self._turn_to(self.session.current)
        self._what, self._held = "card", held
        self.card.ask(choice, back=back)
        self._show(self.card)

    def take_found(self, found: PieceText) -> None:
        """Go on with the piece that was being described, by what it was found to be made of.

        Raises:
            NotNow: no job is open, or it is read-only.
        """
        if self.piece.piece_id is None or self.session.current is not self._document:
            self.ask("piece")  # what was described in another job is none of this one
        self.piece.take_found(found)
        self._what = "piece" if self.piece.piece_id is None else "edit"
        self._show(self.piece)

    def _turn_to(self, document: Document | None) -> None:
        """Forget what is half typed of another job; of cards in the library it stays, for they are of none."""
        if document is self._document:
            return
        self._document = document
        self.piece.unfinished.clear()
        self.layer.unfinished.clear()
        self.card.unfinished.clear(keep=is_of_no_job)
        self.layer.made = []

    def _leave_card(self) -> None:
        if self._what == "card":
            self.card_kept.emit(None)
        else:
            self._show(self.layer)

    @property
    def left_half_typed(self) -> str:
        """What was left half typed and is kept nowhere but here: a `piece`, a `layer`, or nothing."""
        if self.piece.unfinished.waits(self.piece.text()):
            return "piece"
        return "layer" if self.layer.unfinished.waits(self.layer.text()) else ""

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
        if not self._what or self._what == "card" or not self.isVisible():
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
        self.card.ask(choice, back=say("Back to the layer"))
        self._show(self.card)

    def _keep_card(self) -> None:
        try:
            card, said = self.card.submit(self.layer.made, held=self._held or self._what != "card")
        except Wrong as wrong:
            self.said.emit(f"Not yet: {_lower(self.card.complain(wrong.faults))}")
            return
        except NotNow as no:
            self.said.emit(str(no))
            return
        if self._what == "card":
            self.said.emit(said)
            self.card_kept.emit(card)
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
            begins = event.modifiers() & Qt.KeyboardModifier.ControlModifier and event.key() == Qt.Key.Key_N
            if begins and self.pages.currentWidget() is self.card:  # a card is being typed: no other page over it
                event.accept()
                return True
            if own and not is_heard(event) and (not escape or self.pages.currentWidget() is self.card):
                event.accept()
                return True
        return super().event(event)


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]
