"""What the plan page is built of: rows of fields, and choices that wrap."""

from collections.abc import Callable, Iterable, Sequence
from typing import Protocol

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Field, Words
from benchtool.bench.look import GRID, Look

WIDEST = 32 * GRID
"""A button with a longer name shows its beginning, and the whole of it to whoever points at it."""


class Ask(Protocol):
    """One thing the page asks for: it can be put right, and it can be reached by Tab."""

    def complain(self, message: str) -> None:
        """Say what is wrong, or with no message that nothing is."""

    def take_focus(self) -> None:
        """Put the cursor here."""

    def stops(self) -> Sequence[QWidget]:
        """Give where Tab stops, in order."""


class Under:
    """The lines under a question, what matters most first. Where room is kept, one of them shows, or an empty one."""

    def __init__(self, look: Look, *lines: Words) -> None:
        self.lines, self.kept = lines, False
        self.room = Words(look, "small", "quiet", wrap=False)
        self.room.say(" ")
        self.room.hide()

    def keep(self) -> None:
        """Keep room for one line, so that nothing moves on the page when something is said here."""
        self.kept = True
        self.settle()

    def settle(self) -> None:
        """Show what is said."""
        said = [line for line in self.lines if line.text()]
        for line in self.lines:
            line.setVisible(line in (said[:1] if self.kept else said))
        self.room.setVisible(self.kept and not said)


class Typed(Field):
    """A field whose label line also tells how what is typed is understood."""

    def __init__(
        self, look: Look, label: str, name: str, hint: str = "", told: Callable[[str], str] | None = None
    ) -> None:
        super().__init__(look, label, name, hint)
        self._told = told
        self._share_fault: Callable[[], None] | None = None
        self._share_remark: Callable[[], None] | None = None
        self.remarked = Words(look, "small", "quiet")
        self.remarked.hide()
        self.marked = Words(look, "small", "ink", wrap=False)
        self.marked.hide()
        self.told = Words(look, "small", "quiet", wrap=False)
        self._row = QHBoxLayout()
        self._row.setSpacing(GRID // 2)
        column = self.layout()
        if isinstance(column, QVBoxLayout):
            line = QHBoxLayout()
            line.setSpacing(GRID)
            for part in (self.label, self.edit):
                column.removeWidget(part)
            line.addWidget(self.label, 1)
            line.addWidget(self.told)
            line.addWidget(self.marked)
            self._row.addWidget(self.edit, 1)
            column.insertLayout(0, line)
            column.insertLayout(1, self._row)
            column.addWidget(self.remarked)
            self.under = Under(look, self.fault, self.remarked)
            column.addWidget(self.under.room)
        self.edit.textChanged.connect(self._retell)

    def keep_room(self) -> None:
        """Keep room for one line under it; in a row of fields the row keeps it."""
        if self._share_fault is None:
            self.under.keep()

    def beside(self, part: QWidget, *, before: bool = False) -> None:
        """Put something beside the line to type in."""
        self._row.insertWidget(0 if before else -1, part)

    def share_fault(self, tell: Callable[[], None]) -> None:
        """Let the row that holds this field show what is wrong, over its whole width."""
        self._share_fault = tell

    def share_remark(self, tell: Callable[[], None]) -> None:
        """Let the row that holds this field show what is odd about it, over its whole width."""
        self._share_remark = tell

    def remark(self, words: str) -> None:
        """Say what is odd about what is typed, or with no words that nothing is; it is taken all the same."""
        if words == self.remarked.text():
            return
        self.remarked.say(words)
        if self._share_remark is not None:
            self._share_remark()
        else:
            self.under.settle()

    def mark(self, words: str, spoken: str) -> None:
        """Say in a word or two at the end of the label line where the value comes from."""
        if (words, spoken) != (self.marked.text(), self.marked.toolTip()):
            self.marked.say(words)
            self.marked.setVisible(bool(words))
            self.marked.setToolTip(spoken)

    def complain(self, message: str) -> None:
        super().complain(message)
        if self._share_fault is not None:
            self.fault.hide()
            self._share_fault()
        else:
            self.under.settle()

    def take_focus(self) -> None:
        """Put the cursor here, what is typed marked."""
        self.edit.setFocus(Qt.FocusReason.OtherFocusReason)
        self.edit.selectAll()

    def stops(self) -> Sequence[QWidget]:
        """Give the line to type in."""
        return (self.edit,)

    def fill(self, text: str) -> None:
        """Show this text from its beginning, with no complaint."""
        self.complain("")
        self.edit.setText(text)
        self.edit.setCursorPosition(0)

    def tell(self, words: str) -> None:
        """Say something at the end of the label line."""
        self.told.say(words)

    def _retell(self, typed: str) -> None:
        if self._told is not None:
            told = self._told(typed)
            self.told.say(told if told != " ".join(typed.split()) else "")


class FieldRow(QWidget):
    """Fields side by side with one line under them for what is wrong."""

    def __init__(self, look: Look, fields: Sequence[Typed], stretches: Sequence[int] = ()) -> None:
        super().__init__()
        self._fields = tuple(fields)
        self.note = Words(look, "small", "quiet")
        self.note.hide()
        self.remarked = Words(look, "small", "quiet")
        self.remarked.hide()
        self.fault = Words(look, "small", "trouble")
        self.fault.hide()
        row = QHBoxLayout()
        row.setSpacing(2 * GRID)
        for i, field in enumerate(self._fields):
            row.addWidget(field, stretches[i] if stretches else 1)
            field.share_fault(self._tell)
            field.share_remark(self._remark)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID // 2)
        column.addLayout(row)
        self.under = Under(look, self.fault, self.remarked, self.note)
        for part in (self.note, self.remarked, self.fault, self.under.room):
            column.addWidget(part)

    def keep_room(self) -> None:
        """Keep room for one line under the fields."""
        self.under.keep()

    @property
    def fields(self) -> Sequence[Typed]:
        """The fields, from left to right."""
        return self._fields

    def _remark(self) -> None:
        said = " ".join(dict.fromkeys(f.remarked.text() for f in self._fields if f.remarked.text()))
        self.remarked.say(said)
        self.under.settle()

    def explain(self, words: str) -> None:
        """Say how the row as a whole is understood."""
        self.note.say(words)
        self.under.settle()

    def _tell(self) -> None:
        said = " ".join(dict.fromkeys(f.fault.text() for f in self._fields if f.fault.text()))
        self.fault.say(said)
        self.under.settle()


class Options(QWidget):
    """One of a few (with `several`, any of them), each a full target; they wrap where the page is narrow."""

    chosen = Signal(str)

    def __init__(self, look: Look, label: str, name: str, *, several: bool = False) -> None:
        super().__init__()
        self.look, self.label_text, self.several = look, label, several
        self.setObjectName(name)
        self.setAccessibleName(label)
        self.label = Words(look, "small", "quiet")
        self.label.say(label)
        self.hint = Words(look, "small", "quiet")
        self.hint.hide()
        self.remarked = Words(look, "small", "quiet")
        self.remarked.hide()
        self.fault = Words(look, "small", "trouble")
        self.fault.hide()
        self._grid = QGridLayout()
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(GRID // 2)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID // 2)
        column.addWidget(self.label)
        self.label.setVisible(bool(label))  # only now: without a parent it would be a window of its own
        column.addLayout(self._grid)
        self.under = Under(look, self.fault, self.remarked, self.hint)
        for part in (self.hint, self.remarked, self.fault, self.under.room):
            column.addWidget(part)
        self._options: tuple[tuple[str, str], ...] = ()
        self.buttons: dict[str, BenchButton] = {}
        self._values: frozenset[str] = frozenset()
        self._columns = 0
        look.changed.connect(self._wrap)

    @property
    def value(self) -> str | None:
        """The one chosen, None for none."""
        return next(iter(self._values), None)

    @property
    def values(self) -> frozenset[str]:
        """All that are chosen."""
        return self._values

    def offer(self, options: Sequence[tuple[str, str]], chosen: str | Iterable[str] | None = None) -> None:
        """Show these (key, words), with these chosen."""
        if tuple(options) != self._options:
            self._options = tuple(options)
            for button in self.buttons.values():
                self._grid.removeWidget(button)
                button.removeEventFilter(self)
                button.hide()
                button.deleteLater()
            self.buttons, self._columns = {}, 0
            for key, words in options:
                button = BenchButton(self.look, words, name=f"{self.objectName()}-{key}")
                button.setAccessibleName(f"{self.label_text}: {words}" if self.label_text else words)
                button.setToolTip(words)
                button.setCheckable(True)
                button.clicked.connect(lambda _=False, k=key: self._click(k))
                button.installEventFilter(self)
                self.buttons[key] = button
            self._wrap()
        self.choose(chosen)

    def choose(self, chosen: str | Iterable[str] | None) -> None:
        """Mark these as chosen; tells nobody."""
        keys = frozenset([chosen]) if isinstance(chosen, str) else frozenset(chosen or ())
        self._values = keys & frozenset(self.buttons)
        for key, button in self.buttons.items():
            button.setChecked(key in self._values)
            button.setAccessibleDescription("chosen" if key in self._values else "")
            reachable = self.several or button is self._entry()
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus if reachable else Qt.FocusPolicy.ClickFocus)

    def explain(self, words: str, color: str = "quiet") -> None:
        """Say what the choice means."""
        self.hint.say(words, color)
        self.under.settle()

    def remark(self, words: str) -> None:
        """Say what is odd about the choice, or with no words that nothing is; it is taken all the same."""
        if words == self.remarked.text():
            return
        self.remarked.say(words)
        self.under.settle()

    def keep_room(self) -> None:
        """Keep room for one line under the choice."""
        self.under.keep()

    def complain(self, message: str) -> None:
        """Say what is wrong, or with no message that nothing is."""
        self.fault.say(message)
        self.under.settle()

    def take_focus(self) -> None:
        """Put the focus on the one chosen, else on the first."""
        entry = self._entry()
        if entry is not None:
            entry.setFocus(Qt.FocusReason.OtherFocusReason)

    def stops(self) -> Sequence[QWidget]:
        """Give where Tab stops: the one chosen, else the first; with `several` each of them."""
        entry = self._entry()
        return tuple(self.buttons.values()) if self.several else (entry,) if entry is not None else ()

    def _entry(self) -> BenchButton | None:
        return next((b for k, b in self.buttons.items() if k in self._values), next(iter(self.buttons.values()), None))

    def _click(self, key: str) -> None:
        if self.several:
            self.choose(self._values ^ {key})
        else:
            self.choose(key)
        self.complain("")
        self.chosen.emit(key)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if not isinstance(event, QKeyEvent) or event.type() is not QEvent.Type.KeyPress:
            return False
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Up: -1, Qt.Key.Key_Right: 1, Qt.Key.Key_Down: 1}.get(
            Qt.Key(event.key()), 0
        )
        keys = list(self.buttons)
        here = next((i for i, k in enumerate(keys) if self.buttons[k] is watched), None)
        if not step or here is None:
            return False
        nothing_yet = not self.several and not self._values
        there = keys[here if nothing_yet else (here + step) % len(keys)]
        if not self.several:
            self._click(there)
        self.buttons[there].setFocus(Qt.FocusReason.OtherFocusReason)
        return True

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._wrap()

    def _wrap(self) -> None:
        if not self.buttons:
            return
        gap, count = GRID // 2, len(self.buttons)
        widest = min(WIDEST, max(b.sizeHint().width() for b in self.buttons.values()))
        fit = max(1, min(count, (self.width() + gap) // (widest + gap)))
        columns = -(-count // -(-count // fit))
        if columns == self._columns:
            return
        for i in range(self._columns):
            self._grid.setColumnStretch(i, 0)
        self._columns = columns
        for i, button in enumerate(self.buttons.values()):
            self._grid.addWidget(button, i // columns, i % columns)
        for i in range(columns):
            self._grid.setColumnStretch(i, 1)


class Buttons(QWidget):
    """Buttons side by side within a page, where Tab stops at each."""

    def __init__(self, buttons: Sequence[BenchButton], *, fill: bool = True) -> None:
        super().__init__()
        self._buttons = tuple(buttons)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(GRID)
        for button in buttons:
            row.addWidget(button, 1)
            if not fill:
                button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        if not fill:
            row.addStretch(1)

    def complain(self, message: str) -> None:
        """Nothing can be wrong with a button."""

    def take_focus(self) -> None:
        """Put the focus on the first button."""
        self._buttons[0].setFocus(Qt.FocusReason.OtherFocusReason)

    def stops(self) -> Sequence[QWidget]:
        """Give the buttons."""
        return self._buttons
