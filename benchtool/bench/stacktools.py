"""What is done with the layer in hand of a stack that is being built: moved, coated, coloured, taken out."""

from PySide6.QtCore import Signal
from PySide6.QtGui import QFontMetricsF, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton
from benchtool.bench.look import GRID, Look
from benchtool.bench.planinputs import ColourPick
from benchtool.bench.planparts import Buttons, Typed
from benchtool.session.planning import read_colour
from benchtool.session.stackbuilding import Row
from benchtool.trade.saying import say

LONGEST_NOTE = 4_000


class StackTools(QWidget):
    """A row of buttons, and the fields of a colour and its note in their place while that is asked for.

    A colour is taken as typed.

    `moved` says whether up, `coated` how many coats more.
    """

    moved = Signal(bool)
    coated = Signal(int)
    coloured = Signal(object)
    noted = Signal(str)
    closed = Signal()
    opened = Signal()

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.up = BenchButton(look, say("Up"), "Ctrl+↑", name="build-up")
        self.down = BenchButton(look, say("Down"), "Ctrl+↓", name="build-down")
        self.fewer = BenchButton(look, say("One coat fewer"), "−", name="build-fewer")
        self.more = BenchButton(look, say("One coat more"), "+", name="build-more")
        self.colour = BenchButton(look, say("Colour"), "C", name="build-colour")
        self.out = BenchButton(look, say("Take it out"), "Del", name="build-out")
        self.buttons = (self.up, self.down, self.fewer, self.more, self.colour, self.out)
        self.row = Buttons(self.buttons)
        self.note = Typed(look, say("Colour note"), "build-note", say("Two drops of violet, matched to the tank"))
        self.note.edit.setMaxLength(LONGEST_NOTE)
        self.done = BenchButton(look, say("Done"), say("Enter"), name="build-colour-done")
        self.note.beside(self.done)
        self.pick = ColourPick(look, "build-colour-field", beside=self.note)
        self.field = self.pick.field
        self.asked = QWidget()
        asked = QVBoxLayout(self.asked)
        asked.setContentsMargins(0, 0, 0, 0)
        asked.addWidget(self.pick)
        self.asked.hide()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.row)
        column.addWidget(self.asked)
        self.up.clicked.connect(lambda: self.moved.emit(True))
        self.down.clicked.connect(lambda: self.moved.emit(False))
        self.fewer.clicked.connect(lambda: self.coated.emit(-1))
        self.more.clicked.connect(lambda: self.coated.emit(1))
        self.field.edit.textEdited.connect(self._typed)
        self.pick.changed.connect(lambda: self._typed(self.field.text()))
        self.note.edit.textEdited.connect(self.noted)
        self.done.clicked.connect(self.close_colour)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._name_coats()

    def _name_coats(self) -> None:
        """Say whole what the coats are counted by, where a line holds it, and give each button what its words need."""
        for fewer, more in ((say("One coat fewer"), say("One coat more")), (say("1 coat less"), say("1 coat more"))):
            self.fewer.say(fewer)
            self.more.say(more)
            wide = QFontMetricsF(self.look.strong).horizontalAdvance  # the key goes under the words where it must
            needed = [int(wide(button.text())) + 4 * GRID for button in self.buttons]
            if sum(needed) + GRID * (len(needed) - 1) <= self.width():
                break
        row = self.row.layout()
        if isinstance(row, QHBoxLayout):
            for button, width in zip(self.buttons, needed, strict=True):
                row.setStretchFactor(button, width)

    def enable(self, row: Row | None) -> None:
        """Let the buttons be pressed where a layer is in hand, and those that move it where it is free to move."""
        for button in (self.up, self.down, self.out):
            button.setEnabled(row is not None and not row.kept)
        for button in (self.fewer, self.more, self.colour):
            button.setEnabled(row is not None)

    @property
    def asking(self) -> bool:
        """Whether the field of the colour is shown."""
        return not self.asked.isHidden()

    def ask_colour(self, row: Row | None) -> None:
        """Ask for the colour of the layer in hand, if there is one."""
        if row is None:
            return
        label = say("Colour of {layer}, or nothing", layer=row.plan.name or row.card.name)
        self.field.label.say(label)
        self.field.edit.setAccessibleName(label)
        self.pick.fill(row.plan.colour or "")
        self.note.fill(row.plan.note)
        self.row.hide()
        self.asked.show()
        self.opened.emit()
        self.field.take_focus()
        self.field.edit.selectAll()

    def close_colour(self) -> bool:
        """Show the buttons again; what is no colour is said, and stays as typed till it is mended or left by Esc."""
        try:
            read_colour(self.field.text())
        except ValueError as wrong:
            self.field.complain(str(wrong))
            self.field.edit.setFocus()
            return False
        self.leave_colour()
        return True

    def leave_colour(self) -> None:
        """Show the buttons again, whatever is typed."""
        if self.asking:
            self.asked.hide()
            self.row.show()
            self.closed.emit()

    def _typed(self, text: str) -> None:
        self.field.complain("")
        try:
            colour = read_colour(text)
        except ValueError:
            return
        self.coloured.emit(colour)
