"""What the record offers: each offer a sentence, what exactly it changes, and a button; nothing is taken by itself."""

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Rule, Words
from benchtool.bench.look import GRID, Look
from benchtool.session.learningoffers import Offer, Taken, changed_words
from benchtool.trade.saying import say


class OfferRows(QWidget):
    """The offers of a product, the ones that were taken first, each of them to be taken back."""

    taken = Signal(object)
    taken_back = Signal(object)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.offers: tuple[Offer, ...] = ()
        self.done: tuple[Taken, ...] = ()
        self.buttons: list[BenchButton] = []
        self.setObjectName("learned-offers")
        self._rows: list[QWidget] = []
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, GRID, 0)
        self._column.setSpacing(GRID)
        self.hide()

    def show_offers(self, offers: Sequence[Offer], done: Sequence[Taken]) -> None:
        """Show these; none hides it."""
        if (tuple(offers), tuple(done)) == (self.offers, self.done):
            return
        self.offers, self.done = tuple(offers), tuple(done)
        for row in self._rows:
            self._column.removeWidget(row)
            row.hide()
            row.deleteLater()
        self._rows, self.buttons = [], []
        for n, taken in enumerate(self.done):
            button = self._button(say("Take it back"), "Ctrl+Z" if n == len(self.done) - 1 else "", f"learned-back-{n}")
            button.clicked.connect(lambda _=False, x=taken: self.taken_back.emit(x))
            self._add(changed_words(taken.offer), "", button)
        for n, offer in enumerate(self.offers):
            button = self._button(say("Take it"), "" if n else "Ctrl+Enter", f"learned-take-{n}")
            button.setAccessibleDescription(offer.changes)
            button.clicked.connect(lambda _=False, x=offer: self.taken.emit(x))
            asked = n > 0 and self.offers[n - 1].own == offer.own  # the same wait, for another card
            self._add(offer.changes if asked else offer.words, "" if asked else offer.changes, button)
        self._put(Rule(self.look, upright=False))
        self.setVisible(bool(self.offers or self.done))

    def _button(self, words: str, key: str, name: str) -> BenchButton:
        button = BenchButton(self.look, words, key, name=name)
        button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self.buttons.append(button)
        return button

    def _add(self, said: str, small: str, button: BenchButton) -> None:
        row, words = QWidget(), QVBoxLayout()
        line = QHBoxLayout(row)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(2 * GRID)
        words.setSpacing(0)
        for text, size, tone in ((said, "body", "ink"), (small, "small", "quiet")):
            if text:
                told = Words(self.look, size, tone)
                told.say(text)
                words.addWidget(told)
        line.addLayout(words, 1)
        line.addWidget(button)
        self._put(row)

    def _put(self, row: QWidget) -> None:
        self._column.addWidget(row)
        self._rows.append(row)
