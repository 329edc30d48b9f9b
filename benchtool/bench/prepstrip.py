"""The strip in which the painter says what was prepared: words above, answers below, each on a digit."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout

from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.strips import Strip
from benchtool.trade.saying import say


@dataclass(frozen=True, slots=True)
class Tale:
    """What is told while an answer is in hand: what it means, why, and what can hurt."""

    words: str = ""
    reason: str = ""
    caution: str = ""


@dataclass(frozen=True, slots=True)
class Choice:
    """An answer: its few words, what it does, and what is told of it. `ask_other` asks for other means.

    `other` is the name of the button for that.
    """

    text: str
    act: Callable[[], None]
    tale: Tale = Tale()
    other: str = ""
    ask_other: Callable[[], None] | None = None


class PrepStrip(Strip):
    """A question with up to nine answers; what is told above them goes with the answer in hand."""

    plan_asked = Signal()

    def __init__(self, look: Look) -> None:
        super().__init__(look, "prep")
        self.words = Words(look, "strong", "ink")
        self.reason = Words(look, "small", "quiet")
        self.caution = Words(look, "small", "trouble")
        self.plan = BenchButton(look, say("The whole plan"), "Shift+P", name="prep-plan")
        self.plan.clicked.connect(self.plan_asked)
        self.other = BenchButton(look, "", "0", name="prep-other")
        self.other.clicked.connect(self._ask_other)
        self.buttons: list[BenchButton] = []
        self._choices: tuple[Choice, ...] = ()
        self._in_hand = 0
        self._tale = Tale()
        told = QVBoxLayout()
        told.setSpacing(GRID // 2)
        for line in (self.words, self.reason, self.caution):
            told.addWidget(line)
        told.addStretch(1)
        upper = QHBoxLayout()
        upper.setSpacing(GRID)
        upper.addLayout(told, 1)
        self.away = self.leave_button()
        for button in (self.plan, self.away):
            button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
            upper.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
        self._answers = QHBoxLayout()
        self._answers.setSpacing(GRID)
        self._answers.addWidget(self.other, 8)
        column = QVBoxLayout()
        column.setSpacing(GRID)
        column.addLayout(upper)
        column.addLayout(self._answers)
        self.row.addLayout(column, 1)

    def ask(self, tale: Tale, choices: Sequence[Choice], *, pick_first: bool = True) -> None:
        """Ask; `tale` is told where no answer in hand tells anything itself.

        The first answer is in hand, so that Enter gives it, unless `pick_first` is off: then only its digit does.
        """
        for button in self.buttons:
            self._answers.removeWidget(button)
            button.removeEventFilter(self)
            button.hide()
            button.deleteLater()
        self._choices, self._tale, self._in_hand = tuple(choices[:9]), tale, 0
        self.buttons = []
        for i, choice in enumerate(self._choices):
            button = BenchButton(
                self.look, choice.text, str(i + 1), name=f"prep-{i + 1}", primary=pick_first and i == 0
            )
            button.clicked.connect(lambda _=False, n=i: self.answer(n + 1))
            button.installEventFilter(self)
            self._answers.insertWidget(i, button, max(9, len(choice.text)))
            self.buttons.append(button)
        self.show()
        if pick_first and self.buttons:
            self.buttons[0].setFocus()
        else:
            self.away.setFocus()
        self._tell(self._choices[0].tale if pick_first and self._choices else tale)
        self._offer_other()

    def answer(self, number: int) -> None:
        """Give the answer of this number, counted from 1; nothing where there is none."""
        if not self.isHidden() and 0 < number <= len(self._choices):
            act = self._choices[number - 1].act
            self.hide()
            act()
            self.left.emit()

    def _tell(self, tale: Tale) -> None:
        self.words.say(tale.words or self._tale.words)
        self.reason.say(tale.reason if tale.words else self._tale.reason)
        caution = tale.caution if tale.words else self._tale.caution
        self.caution.say(say("Caution: {words}", words=caution) if caution else "")
        for line in (self.reason, self.caution):
            line.setVisible(bool(line.text()))

    def _offer_other(self) -> None:
        choice = self._choices[self._in_hand] if self._choices else None
        offered = choice is not None and choice.ask_other is not None
        if choice is not None and offered:
            self.other.say(choice.other)
        self.other.setVisible(offered)

    def _ask_other(self) -> None:
        ask = self._choices[self._in_hand].ask_other if self._choices else None
        if ask is not None:
            self.hide()
            ask()
            self.left.emit()

    # --- the keyboard ------------------------------------------------------------------------------

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() is QEvent.Type.FocusIn:
            at = next((i for i, b in enumerate(self.buttons) if b is watched), None)
            if at is not None:
                self._in_hand = at
                self._tell(self._choices[at].tale)
                self._offer_other()
        return False

    def event(self, event: QEvent) -> bool:
        """Keep the digits for the answers: elsewhere in the window they take a piece in hand."""
        if event.type() is QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent) and _digit(event) is not None:
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        digit = _digit(event)
        if digit is None:
            super().keyPressEvent(event)
            return
        if not event.isAutoRepeat():
            if digit:
                self.answer(digit)
            elif not self.other.isHidden():
                self._ask_other()
        event.accept()


def _digit(event: QKeyEvent) -> int | None:
    plain = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier == Qt.KeyboardModifier.NoModifier
    number = event.key() - Qt.Key.Key_0
    return number if plain and 0 <= number <= 9 else None
