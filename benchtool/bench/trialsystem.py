"""Building one system of a trial: its name, its products picked in any order, their coats, activators and gun."""

from collections.abc import Callable
from dataclasses import replace

import msgspec
from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QApplication, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Rule, Words
from benchtool.bench.look import GRID, Look, elided
from benchtool.bench.planparts import Options, Typed
from benchtool.bench.stackdraw import LayerBand
from benchtool.bench.stackpick import CardPicker
from benchtool.bench.stacktools import StackTools
from benchtool.bench.stackview import StackView
from benchtool.bench.tips import plain_tip
from benchtool.bench.typedkeys import keeps
from benchtool.job import events as ev
from benchtool.job.cards import Card, Gun
from benchtool.session import stackbuilding
from benchtool.session.session import Session
from benchtool.session.stackbuilding import Build
from benchtool.session.trialagainst import against_strip, said_words
from benchtool.trade.saying import say

_ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)
MOST_SAID = 3
"""So many lines stand at once of what speaks against a stack."""


class SystemEditor(QWidget):
    """Left the cards to pick from, right the stack of the system. What is changed counts at once.

    `changed` tells of a change of `build` or of the name; `left` that the painter is done with it. `card_asked` asks
    for a card to be made (None), `cards_asked` for all cards.
    """

    changed = Signal()
    left = Signal()
    card_asked = Signal(object)
    cards_asked = Signal()

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.look, self.session = look, session
        self.setObjectName("trial-editor")
        self.build: Build | None = None
        self.key = ""
        self.picker = CardPicker(look, session)
        self.title = Words(look, "title", "ink", wrap=False)
        self.title.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.name = Typed(look, say("What do you call it?"), "trial-system-name")
        self.view = StackView(look)
        self.tools = StackTools(look)
        self.activator = Options(look, say("Activator"), "trial-system-activator")
        self.gun = Options(look, say("Sprayed with"), "trial-system-gun")
        self.gun.offer([(g.value, say(g.value).capitalize()) for g in Gun])
        self.against = Words(look, "body", "trouble")
        self.open_cards = BenchButton(look, say("Open your cards"), name="trial-system-cards")
        self.done = BenchButton(look, say("Back to the trial"), "Ctrl+Enter", name="trial-system-done", primary=True)
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        right = QVBoxLayout()
        right.setSpacing(GRID)
        # what changes its height lies above what is clicked: the buttons stay where they are whichever layer is in hand
        for part in (self.view, self.against, self.activator, self.gun, self.tools):
            right.addWidget(part, 1 if part is self.view else 0)
            kept = part.sizePolicy()
            kept.setRetainSizeWhenHidden(part in (self.gun, self.tools))
            part.setSizePolicy(kept)
        left = QVBoxLayout()
        left.setSpacing(GRID)
        left.addWidget(self.name)
        left.addWidget(self.picker, 1)
        left.addWidget(self.open_cards)
        columns = QHBoxLayout()
        columns.setSpacing(2 * GRID)
        columns.addLayout(left, 2)
        columns.addWidget(Rule(self.look, upright=True))
        columns.addLayout(right, 3)
        head = QHBoxLayout()
        head.addWidget(self.title, 1)
        head.addWidget(self.done)
        self.done.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        column = QVBoxLayout(self)
        column.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        column.setSpacing(GRID)
        column.addLayout(head)
        column.addLayout(columns, 1)

    def _connect(self) -> None:
        self.picker.picked.connect(self._add)
        self.picker.card_asked.connect(self.card_asked)
        self.open_cards.clicked.connect(lambda _=False: self.cards_asked.emit())
        for watched in (self.picker.list.search.edit, self.picker.list.list, self.name.edit):
            watched.installEventFilter(self)
        self.name.edit.textEdited.connect(lambda _: self._name_typed())
        self.view.picked.connect(self._pick)
        self.tools.moved.connect(lambda up: self._move(up=up))
        self.tools.coated.connect(self._coats)
        self.tools.out.clicked.connect(self._take_out)
        self.tools.colour.clicked.connect(self._ask_colour)
        self.tools.coloured.connect(self._colour)
        self.tools.closed.connect(lambda: self.view.take_focus(self.key))
        self.activator.chosen.connect(lambda key: self._plan(activator=key))
        self.gun.chosen.connect(lambda key: self._plan(gun=Gun(key)))
        self.done.clicked.connect(self.leave)

    # --- what it is about --------------------------------------------------------------------------

    def ask(self, build: Build, letter: str, name: str, usual: str) -> None:
        """Build this stack; `name` is what was typed of the system, `usual` what it is called without."""
        self.build = build
        self.letter = letter
        self.key = build.rows[-1].key if build.rows else ""
        self.name.fill(name)
        self.call_it(usual)
        self.tools.leave_colour()
        self.picker.gather()
        self.picker.edit_card.hide()  # a card is changed in the library
        self._show()
        self.take_focus()

    def call_it(self, usual: str) -> None:
        """Say what the system is called where nothing is typed."""
        self.usual = usual
        self.name.edit.setPlaceholderText(usual)
        self._entitle()

    def take_focus(self) -> None:
        """Put the cursor where the next product is typed."""
        if not self.picker.take_focus():
            self.picker.new_card.setFocus(Qt.FocusReason.OtherFocusReason)

    def take_card(self, card: Card | None) -> None:
        """Come back from the cards: one that was made goes into the stack."""
        if self.build is None:
            return
        if card is None:
            self.picker.gather()
            self.picker.edit_card.hide()
        else:
            self.picker.take(card)
            self.picker.edit_card.hide()
            build, self.key = stackbuilding.take(self.build, card, self.session.tables)
            self._change(build)
        self.take_focus()

    def leave(self) -> None:
        """Go back to the trial, unless a colour is half typed."""
        if not self.tools.asking or self.tools.close_colour():
            self.left.emit()

    def _name_typed(self) -> None:
        self._entitle()
        self.changed.emit()

    def _entitle(self) -> None:
        name = " ".join(self.name.text().split()) or self.usual
        words = say("System {letter}: {name}", letter=self.letter, name=name)
        self.title.say(elided(words, self.look.title, max(30 * GRID, self.width() - 34 * GRID)))
        self.title.setToolTip(plain_tip(words))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.title.setVisible(self.height() >= 44 * GRID)
        kept = self.gun.sizePolicy()
        kept.setRetainSizeWhenHidden(self.height() >= 52 * GRID)
        self.gun.setSizePolicy(kept)
        self.gun.setVisible(self.height() >= 52 * GRID)
        if self.build is not None:
            self._entitle()

    def _show(self) -> None:
        build = self.build
        if build is None:
            return
        if build.row(self.key) is None:
            self.key = build.rows[-1].key if build.rows else ""
        row = build.row(self.key)
        judged = against_strip(self.session, build.rows, build.piece)
        self.view.show_stack(build, judged, self.key, self.session.tables)
        self.tools.enable(row)
        self.tools.setVisible(row is not None)
        activators = row.card.activators if row is not None else ()
        self.activator.setVisible(bool(activators))
        self.activator.offer([(a.id, a.name) for a in activators], row.plan.activator if row is not None else None)
        self.gun.setVisible(row is not None and self.height() >= 52 * GRID)
        self.gun.choose(row.plan.gun.value if row is not None else None)
        told = said_words(judged.said)
        self.against.say("\n".join(told[:MOST_SAID]), "trouble")
        self.against.setToolTip(plain_tip("\n".join(told)))
        self.against.setVisible(bool(told))

    def _change(self, build: Build) -> None:
        self.build = build
        self._show()
        self.changed.emit()

    # --- acts --------------------------------------------------------------------------------------

    def _add(self, card: Card) -> None:
        if self.build is not None:
            build, self.key = stackbuilding.pick(self.build, card, self.session.tables)
            self._change(build)

    def _pick(self, key: str) -> None:
        self.tools.leave_colour()
        self.key = key
        self._show()

    def _step(self, *, up: bool) -> None:
        self._pick(self.view.beside(self.key, up=up))
        self.view.take_focus(self.key)

    def _move(self, *, up: bool) -> None:
        if self.build is not None and self.key:
            self._change(stackbuilding.move(self.build, self.key, 1 if up is not self.view.behind else -1))

    def _coats(self, by: int) -> None:
        if self.build is not None and self.key:
            self._change(stackbuilding.coats(self.build, self.key, by))

    def _plan(self, **fields: object) -> None:
        if self.build is not None and self.key:
            rows = tuple(
                replace(r, plan=msgspec.structs.replace(r.plan, **fields)) if r.key == self.key else r
                for r in self.build.rows
            )
            self._change(replace(self.build, rows=rows))

    def _ask_colour(self) -> None:
        self.tools.ask_colour(self.build.row(self.key) if self.build is not None else None)

    def _colour(self, colour: ev.Colour | None) -> None:
        if self.build is not None and self.key:
            self._change(stackbuilding.colour(self.build, self.key, colour))

    def _take_out(self) -> None:
        if self.build is not None and self.key:
            keys = [r.key for r in self.build.rows]
            at = keys.index(self.key)
            changed = stackbuilding.take_out(self.build, self.key)
            left = [r.key for r in changed.rows]
            self.key = left[min(at, len(left) - 1)] if left else ""
            self._change(changed)

    # --- the keyboard ------------------------------------------------------------------------------

    def event(self, event: QEvent) -> bool:
        """Keep for the editor its own keys, and all that is typed."""
        return keeps(event, self._act) or super().event(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Take from the fields and the list of cards what is an act on the stack."""
        if not isinstance(event, QKeyEvent) or event.type() is not QEvent.Type.KeyPress:
            return False
        ctrl = event.modifiers() & Qt.KeyboardModifier.ControlModifier
        if watched is self.name.edit and not ctrl and event.key() not in (*_ENTER, Qt.Key.Key_Escape):
            return False
        plain = event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down) and not ctrl
        act = self._act(event)
        if act is None or plain:
            return False
        act()
        return True

    def keyPressEvent(self, event: QKeyEvent) -> None:
        act = self._act(event)
        if act is None:
            super().keyPressEvent(event)
            return
        act()
        event.accept()

    def _act(self, event: QKeyEvent) -> Callable[[], None] | None:
        """Give what a key does here; None where it is text, or nothing."""
        key = Qt.Key(event.key())
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            return {
                Qt.Key.Key_Up: lambda: self._move(up=True), Qt.Key.Key_Down: lambda: self._move(up=False),
                Qt.Key.Key_Return: self.leave, Qt.Key.Key_Enter: self.leave,
                Qt.Key.Key_N: lambda: self.card_asked.emit(None),
            }.get(key)  # fmt: skip
        if key in _ENTER:
            return (lambda: None) if event.isAutoRepeat() else self._enter
        if key == Qt.Key.Key_Escape:
            return self.tools.leave_colour if self.tools.asking else self.left.emit
        if self.picker.typing(key) or self.name.edit.hasFocus() or self.tools.field.edit.hasFocus():
            return None
        acts: dict[Qt.Key, Callable[[], None]] = {
            Qt.Key.Key_Up: lambda: self._step(up=True), Qt.Key.Key_Down: lambda: self._step(up=False),
            Qt.Key.Key_Plus: lambda: self._coats(1), Qt.Key.Key_Equal: lambda: self._coats(1),
            Qt.Key.Key_Minus: lambda: self._coats(-1), Qt.Key.Key_Delete: self._take_out,
            Qt.Key.Key_Backspace: self._take_out, Qt.Key.Key_C: self._ask_colour,
        }  # fmt: skip
        return acts.get(key)

    def _enter(self) -> None:
        """Enter adds the card in the field or the list, clicks a button, and else goes back to the trial."""
        here = QApplication.focusWidget()
        if here in (self.picker.list.search.edit, self.picker.list.list) and self.picker.choice() is not None:
            self.picker.pick()
        elif here is self.tools.field.edit:
            self.tools.close_colour()
        elif here is self.name.edit:
            self.take_focus()
        elif isinstance(here, QAbstractButton) and not isinstance(here, LayerBand):
            here.click()
        else:
            self.leave()
