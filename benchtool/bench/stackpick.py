"""The cards to pick a stack from: those of the job and of the library, by what they are for."""

import re

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planlists import PickList, PickRow
from benchtool.bench.planparts import Buttons
from benchtool.job.cards import Card, Duty
from benchtool.session import planning
from benchtool.session.planning import CardChoice
from benchtool.session.session import Session
from benchtool.trade.saying import say

MOST_LISTED = 200
"""So many cards are listed at once; whoever has more narrows them."""

_DUTIES = list(Duty)


class CardPicker(QWidget):
    """A field that narrows, the cards found, and three buttons. `picked` gives the card that goes into the stack."""

    picked = Signal(object)
    card_asked = Signal(object)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.session = session
        self.made: list[Card] = []
        self._choices: dict[str, CardChoice] = {}
        self._words: dict[str, str] = {}
        self.list = PickList(
            look, say("Pick the products, in any order"), "build-card", search=say("Type to narrow"), rows=2
        )
        self.empty = Words(look, "body", "ink")
        self.add = BenchButton(look, say("Add it"), say("Enter"), name="build-add")
        self.new_card = BenchButton(look, say("New card"), "Ctrl+N", name="build-new-card")
        self.edit_card = BenchButton(look, say("Edit this card"), name="build-edit-card")
        self.broken = Words(look, "small", "trouble")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID)
        for part in (self.empty, self.list, self.broken, Buttons((self.add, self.new_card, self.edit_card))):
            column.addWidget(part, 1 if part is self.list else 0)
        self._rest = QWidget()
        column.addWidget(self._rest, 1)
        self.list.searched.connect(lambda _: self.fill())
        self.list.chosen.connect(lambda _: self._explain())
        self.list.list.itemDoubleClicked.connect(lambda _: self.pick())
        self.add.clicked.connect(self.pick)
        self.new_card.clicked.connect(lambda: self.card_asked.emit(None))
        self.edit_card.clicked.connect(lambda: self.card_asked.emit(self.choice()))

    @property
    def cards(self) -> list[Card]:
        """All cards that can be picked."""
        return [c.card for c in self._choices.values()]

    def gather(self) -> None:
        """Look the cards up once; typing only narrows what is here."""
        choices = planning.card_choices(self.session, self.made)
        ordered = sorted(choices, key=lambda c: (_DUTIES.index(c.card.duty), c.card.name.casefold()))
        self._choices = {c.key: c for c in ordered}
        self._words = {c.key: _searched(c.card) for c in ordered}
        none = not ordered
        self.empty.setVisible(none)
        self.empty.say(say("You have no product cards yet. Make the first one from its data sheet: New card, Ctrl+N."))
        for part in (self.list, self.add, self.edit_card):
            part.setVisible(not none)
        self._rest.setVisible(none)
        self.new_card.primary = none
        broken = planning.library_faults(self.session)
        self.broken.say(say("Not used from your library: {file}.", file="; ".join(broken[:2])))
        self.broken.setVisible(bool(broken))
        self.list.search.fill("")
        self.fill()

    def take(self, card: Card) -> None:
        """Offer a card that was just made or changed."""
        self.made = [c for c in self.made if c.id != card.id] + [card]
        self.gather()

    def choice(self) -> CardChoice | None:
        """Give the card chosen in the list."""
        return self._choices.get(self.list.value or "")

    def fill(self) -> None:
        """List the cards that have the words typed, the first one chosen."""
        typed = self.list.search.text().casefold().split()
        found = [key for key, words in self._words.items() if all(w in words for w in typed)]
        found.sort(key=lambda key: self._distance(key, typed))
        rows = []
        for key in found[:MOST_LISTED]:
            choice = self._choices[key]
            rows.append(PickRow(key, choice.card.name, f"{choice.card.duty.value.capitalize()}, {choice.where.value}"))
        self.list.fill(rows, rows[0].key if typed and rows else None)
        self.list.complain(say("No card of yours has these words.") if typed and not rows else "")
        over = len(found) - len(rows)
        self.list.search.tell(say("and {n} more", n=over) if over else "")
        self._explain()

    def _distance(self, key: str, typed: list[str]) -> tuple[int, bool, int]:
        """How ill the words typed fit a name: whole words fit best, then begun ones; then the shorter name does."""
        if not typed:
            return 0, False, 0
        name = self._choices[key].card.name.casefold()
        worst = max(_apart(w, name) for w in typed)
        return worst, not name.startswith(" ".join(typed)), len(name)

    def _explain(self) -> None:
        choice = self.choice()
        self.add.setEnabled(choice is not None)
        self.edit_card.setEnabled(choice is not None)
        words = [] if choice is None else [planning.card_words(choice.card)]
        if choice is not None and choice.where is planning.Where.CHANGED:
            words.append(say("It takes the place of the copy in this job."))
        self.list.explain(" ".join(words))

    def pick(self) -> None:
        """Put the card chosen into the stack; the field is free for the next one."""
        choice = self.choice()
        if choice is None:
            return
        self.picked.emit(choice.card)
        if self.list.search.text():
            self.list.search.fill("")
            self.fill()
            self.list.search.take_focus()

    def take_focus(self) -> bool:
        """Put the cursor in the field; gives False where there is nothing to pick from."""
        if not self._choices:
            return False
        self.list.take_focus()
        return True

    def typing(self, key: Qt.Key) -> bool:
        """Say whether a key is text here: where nothing is typed yet, `+`, `-` and Delete are acts on the stack."""
        if not self.list.search.edit.hasFocus():
            return False
        return bool(self.list.search.text()) or key not in (Qt.Key.Key_Plus, Qt.Key.Key_Minus, Qt.Key.Key_Delete)


def _apart(word: str, name: str) -> int:
    """Give 0 where a word is one of the name's, 1 where one begins so, 2 where it is in the name, 3 where it is not."""
    parts = re.split(r"[^\w#+]+", name)
    if word in parts:
        return 0
    if any(part.startswith(word) for part in parts):
        return 1
    return 2 if word in name else 3


def _searched(card: Card) -> str:
    kind = card.chemistry.value if card.chemistry is not None else ""
    return " ".join((card.name, card.duty.value, kind, card.maker, *(t.value for t in card.traits))).casefold()
