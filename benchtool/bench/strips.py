"""Strips: the one question at a time that the bench asks, in the window itself, never in front of it."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent, QPen, QShowEvent
from PySide6.QtWidgets import QAbstractButton, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Field, Words, hatch
from benchtool.bench.look import GRID, Look, elided
from benchtool.trade.numbers import shorten


class Strip(QWidget):
    """A band across the window with a question and its answers; Esc leaves it."""

    opened = Signal()
    left = Signal()

    def __init__(self, look: Look, name: str, *, trouble: bool = False) -> None:
        super().__init__()
        self.look = look
        self.trouble = trouble
        self.setObjectName(name)
        self.row = QHBoxLayout(self)
        self.row.setContentsMargins((4 if trouble else 2) * GRID, GRID, 2 * GRID, GRID)
        self.row.setSpacing(GRID)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.hide()
        look.changed.connect(self.update)

    def leave_button(self, text: str = "Leave it") -> BenchButton:
        """Make the button that closes the strip and changes nothing."""
        button = BenchButton(self.look, text, "Esc", name=f"{self.objectName()}-leave")
        button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        button.clicked.connect(self.leave)
        return button

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.opened.emit()

    @property
    def in_hand(self) -> bool:
        """Whether the focus is in the strip."""
        return self.window().focusWidget() in self.findChildren(QWidget)

    def leave(self) -> None:
        """Close the strip."""
        self.hide()
        self.left.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.leave()
            event.accept()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            # A field has taken it already and lets it through: beyond the strip it would press the mix's own button.
            focused = self.window().focusWidget()
            if isinstance(focused, QAbstractButton) and self.isAncestorOf(focused) and not event.isAutoRepeat():
                focused.click()
            event.accept()
        else:
            super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t = QPainter(self), self.look.theme
        box = QRectF(self.rect())
        painter.fillRect(box, t.color("raised"))
        painter.setPen(QPen(t.color("line"), 1))
        painter.drawLine(box.topLeft(), box.topRight())
        painter.drawLine(box.bottomLeft(), box.bottomRight())
        if not self.trouble and self.row.contentsMargins().left() > 2 * GRID:
            painter.fillRect(QRectF(0, 1, GRID, box.height() - 2), t.color("accent"))
        if self.trouble:
            hatch(painter, QRectF(0, 1, 2.5 * GRID, box.height() - 2), t.color("trouble"), gap=9, width=3)
        painter.end()


SHORTEST = 4
"""A reason has at least so many characters."""


class WaiverStrip(Strip):
    """A stop stands in the way: what it says, and one deliberate act with a reason to go on all the same."""

    signed = Signal(str)

    def __init__(self, look: Look) -> None:
        super().__init__(look, "waiver", trouble=True)
        self.message = Words(look, "strong", "trouble")
        self.remedy = Words(look, "small", "ink")
        words = QVBoxLayout()
        words.setSpacing(2)
        words.addStretch(1)
        words.addWidget(self.message)
        words.addWidget(self.remedy)
        words.addStretch(1)
        self.reason = Field(look, "Going on all the same? Your reason stays in the record", "waiver-reason")
        self.sign = BenchButton(look, "Start anyway", name="waiver-sign")
        self.sign.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self.row.addLayout(words, 3)
        self.row.addWidget(self.reason, 3)
        self.row.addWidget(self.sign, 0, Qt.AlignmentFlag.AlignVCenter)
        self.row.addWidget(self.leave_button("Wait"), 0, Qt.AlignmentFlag.AlignVCenter)
        self.reason.entered.connect(lambda _: self._sign())
        self.sign.clicked.connect(self._sign)

    def ask(self, message: str, remedy: str, act: str) -> None:
        """Show what stands in the way of `act`."""
        fresh = self.isHidden()
        self.message.say(message)
        self.remedy.say(remedy)
        self.sign.say(act)
        if fresh:
            self.reason.edit.clear()
            self.reason.complain("")
        self.show()
        self.reason.edit.setFocus()

    def retell(self, message: str, remedy: str) -> None:
        """Say the same with the time that is left now."""
        self.message.say(message)
        self.remedy.say(remedy)

    def _sign(self) -> None:
        reason = self.reason.text().strip()
        if len(reason) < SHORTEST:  # a key pressed twice is no reason
            self.reason.complain("Write the reason first: a word or two will do.")
            self.reason.edit.setFocus()
            return
        self.hide()
        self.signed.emit(reason)
        self.left.emit()


UNBIDDEN_MS = 1_000
"""So long (ms) a question that nobody called for takes no answer (judgement)."""


class PickStrip(Strip):
    """A question with a few answers, each a full button."""

    def __init__(self, look: Look, name: str) -> None:
        super().__init__(look, name)
        self.question = Words(look, "strong", "ink")
        self.row.addWidget(self.question, 12)
        self._owner: object = None
        self.unbidden = False
        self._buttons: list[BenchButton] = []
        self._leave = self.leave_button()
        self.row.addWidget(self._leave)

    def ask(
        self,
        question: str,
        answers: Sequence[tuple[str, Callable[[], None]]],
        *,
        owner: object = None,
        unbidden: bool = False,
        ready: bool = True,
    ) -> None:
        """Ask; an answer closes the strip and does its act. The first nine answer to the digit keys.

        With `ready` False no answer is ready for Enter: one must be chosen.

        `owner` is who asks, where it wants to know later. A question that comes `unbidden` takes no focus, no digit
        unless it is gone to, and no answer in its first second: a key that was on its way is no answer to it.
        """
        self.question.say(question)
        self._owner, self.unbidden = owner, unbidden
        self.row.setStretchFactor(self.question, max(12, len(question) // 2))
        for button in self._buttons:
            self.row.removeWidget(button)
            button.hide()
            button.deleteLater()
        self._buttons = []
        for i, (text, act) in enumerate(answers):
            button = BenchButton(self.look, text, "" if unbidden else str(i + 1), name=f"{self.objectName()}-{i + 1}")
            button.clicked.connect(lambda _=False, a=act: self._answer(a))
            self.row.insertWidget(1 + i, button, max(5, len(text)))
            self._buttons.append(button)
            button.setEnabled(not unbidden)
        self.show()
        if unbidden:
            QTimer.singleShot(UNBIDDEN_MS, self, self._let_answer)
        elif self._buttons:
            (self._buttons[0] if ready else self).setFocus()

    def take_focus(self) -> None:
        """Put the keyboard on the first answer, where the question still stands."""
        if not self.isHidden() and self._buttons:
            self._buttons[0].setFocus()

    def _let_answer(self) -> None:
        for button in self._buttons:
            button.setEnabled(True)

    def asks(self, owner: object) -> bool:
        """Whether a question of this one is open."""
        return not self.isHidden() and self.asked_by(owner)

    def asked_by(self, owner: object) -> bool:
        """Whether the newest question was of this one, answered or not."""
        return self._owner is owner

    @property
    def takes_digits(self) -> bool:
        """Whether a digit key is an answer now."""
        return not self.isHidden() and (not self.unbidden or self.in_hand)

    def answer(self, number: int) -> None:
        """Give the answer of this number, counted from 1; nothing where there is none."""
        if 0 < number <= len(self._buttons):
            self._buttons[number - 1].click()

    def _answer(self, act: Callable[[], None]) -> None:
        self.hide()
        act()
        self.left.emit()


class FormStrip(Strip):
    """A few fields in a row and one button that enters them. The receiver complains to the field at fault."""

    entered = Signal()

    def __init__(self, look: Look, name: str, button: str, fields: Sequence[tuple[str, str, str]]) -> None:
        super().__init__(look, name)
        self.fields = {key: Field(look, label, f"{name}-{key}", hint) for key, label, hint in fields}
        for field in self.fields.values():
            self.row.addWidget(field, 1, Qt.AlignmentFlag.AlignTop)
            field.entered.connect(lambda _: self.entered.emit())
        self.enter = BenchButton(look, button, "Enter", name=f"{name}-enter", primary=True)
        self.enter.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self.enter.clicked.connect(self.entered)
        self.row.addWidget(self.enter, 0, Qt.AlignmentFlag.AlignVCenter)
        self.row.addWidget(self.leave_button(), 0, Qt.AlignmentFlag.AlignVCenter)

    def ask(self, **values: str) -> None:
        """Show the fields with these values in them, the first in hand."""
        for key, field in self.fields.items():
            field.edit.setText(values.get(key, ""))
            field.complain("")
        self.show()
        first = next(iter(self.fields.values()))
        first.edit.setFocus()
        first.edit.selectAll()

    def complain(self, faults: Sequence[tuple[str, str]]) -> None:
        """Say at each field what is wrong with it, and go to the first."""
        for key, field in self.fields.items():
            field.complain(dict(faults).get(key, ""))
        self.fields[faults[0][0]].edit.setFocus()

    def done(self) -> None:
        """Close the strip after its values were taken."""
        self.leave()


class AlarmStrip(Strip):
    """What calls now, until it is heard."""

    heard = Signal()
    silence_asked = Signal()

    def __init__(self, look: Look) -> None:
        super().__init__(look, "alarm", trouble=True)
        self.words = Words(look, "strong", "ink")
        self.ok = BenchButton(look, "Heard", "H", name="alarm-heard", primary=True)
        self.quiet = BenchButton(look, "Silence", "X", name="alarm-silence")
        for button in (self.ok, self.quiet):
            button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self.row.addWidget(self.words, 1)
        self.row.addWidget(self.ok)
        self.row.addWidget(self.quiet)
        self.ok.clicked.connect(self.heard)
        self.quiet.clicked.connect(self.silence_asked)

    def sizeHint(self) -> QSize:
        """As high as the words are at the width of the window, over which it lies."""
        hint, over = super().sizeHint(), self.parentWidget()
        return QSize(hint.width(), self.row.totalHeightForWidth(over.width())) if over is not None else hint

    def brief(self, line: str, most: int) -> str:
        """Shorten a line to what the strip shows of it in one line, or to so many characters where that is more."""
        over = self.parentWidget()
        buttons = self.ok.sizeHint().width() + self.quiet.sizeHint().width()
        room = (over.width() if over is not None else 0) - buttons - 10 * GRID
        cut = elided(line, self.look.strong, room)
        return cut if len(cut) > most or cut == line else shorten(line, most)

    def show_alarms(self, words: str, *, grave: bool, told: bool = False) -> None:
        """Show these words, or with none nothing; `grave` is for what is about to be, or is, too late.

        What is only `told` (a summary) is in plain ink, good and bad news alike, and can't be put off.
        """
        if not words and self.isHidden():
            return
        self.words.say(words, "ink" if told else "trouble" if grave else "accent")
        self.quiet.say("Silence" if told else "Put off")
        if grave is not self.trouble:
            self.trouble = grave
            self.update()
        self.setAccessibleName(words)
        self.setVisible(bool(words))
