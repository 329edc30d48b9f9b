"""Beside the photos: what is known of the one that is picked, its note, the step it shows, what can be done with it."""

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planlists import PickList, PickRow
from benchtool.bench.planparts import Typed
from benchtool.session.photosteps import Shown
from benchtool.session.piecephotos import LONGEST_NOTE
from benchtool.trade.saying import say

NO_STEP = "-"
"""The line of a list that stands for no step; no event has such an id."""
_WIDE = 40 * GRID
_TAKE = (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space)


class PhotoSide(QWidget):
    """What is known of one photo. It changes nothing, and says what is asked for."""

    acted = Signal(str)
    noted = Signal(str, str)
    moved = Signal(str, str)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.setObjectName("photo-side")
        self.shown: Shown | None = None
        self.name, self.facts = Words(look, "strong", "ink"), Words(look, "small", "quiet")
        self.trouble = Words(look, "small", "trouble")
        self.note = Typed(look, say("Note"), "photo-note", say("what it shows"))
        self.note.edit.setMaxLength(LONGEST_NOTE)
        self.steps = PickList(look, say("It shows (Enter puts it there)"), "photo-step", rows=2)
        self.steps.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Expanding)
        self.held = Words(look, "small", "quiet")
        self.buttons = {
            name: BenchButton(look, words, key, name=f"photo-{name}")
            for name, words, key in (
                ("large", say("Large"), "Enter"),
                ("copy", say("Copy"), "Ctrl+C"),
                ("save", say("Save without place"), "Ctrl+S"),
                ("out", say("Take it out"), "Del"),
            )
        }
        grid = QGridLayout()
        grid.setSpacing(GRID)
        for i, (name, button) in enumerate(self.buttons.items()):
            button.clicked.connect(lambda _=False, name=name: self.acted.emit(name))
            grid.addWidget(button, i // 2, i % 2)
        for i in range(2):
            grid.setColumnStretch(i, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID)
        for part in (self.name, self.facts, self.trouble, self.note):
            column.addWidget(part)
        column.addWidget(self.steps, 1)
        column.addWidget(self.held)
        column.addStretch(0)
        column.addLayout(grid)
        self.note.edit.editingFinished.connect(self.keep_note)
        self.steps.list.itemClicked.connect(lambda _: self._move())
        self.steps.list.installEventFilter(self)
        look.changed.connect(self._relook)
        self._relook()

    def _relook(self) -> None:
        self.setFixedWidth(round(_WIDE * max(1.0, self.look.scale)))

    def show_photo(
        self, shown: Shown | None, facts: str, trouble: str, rows: Sequence[PickRow], *, read_only: bool
    ) -> None:
        """Show what is known of this photo; what is being typed about it stays."""
        before = self.shown
        same = shown is not None and before is not None and shown.picture == before.picture
        typing = same and before is not None and self.note.edit.hasFocus() and self.note.text().strip() != before.note
        self.shown = shown
        self.setVisible(shown is not None)
        if shown is None:
            return
        self.name.say(shown.called)
        self.facts.say(facts)
        self.trouble.say(trouble)
        self.trouble.setVisible(bool(trouble))
        free = not shown.grade and not read_only
        if not typing:
            self.note.fill(shown.note)
        self.note.edit.setReadOnly(not free)
        self.note.setVisible(free or bool(shown.note))
        self.steps.setVisible(free)
        self.held.say(say("A grade was measured from it: it goes with that grade.") if shown.grade else "")
        self.held.setVisible(bool(shown.grade))
        for name, button in self.buttons.items():
            button.setEnabled(not trouble or name in ("large", "out"))
        self.buttons["out"].setVisible(free)
        if not self.steps.list.hasFocus() or not same:
            self.steps.fill(rows, shown.step or NO_STEP)
            self.steps.setMaximumHeight(self.steps.list.maximumHeight() + self.steps.label.sizeHint().height() + GRID)

    def keep_note(self) -> None:
        """Hand over what was typed, where it is new."""
        shown = self.shown
        if shown is not None and not self.note.edit.isReadOnly() and self.note.text().strip() != shown.note:
            self.noted.emit(shown.event, self.note.text())

    def _move(self) -> None:
        shown, chosen = self.shown, self.steps.value
        if shown is not None and chosen is not None and chosen != (shown.step or NO_STEP):
            self.moved.emit(shown.event, chosen)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        pressed = isinstance(event, QKeyEvent) and event.type() is QEvent.Type.KeyPress and watched is self.steps.list
        if pressed and isinstance(event, QKeyEvent) and event.key() in _TAKE:
            self._move()
            return True
        return False
