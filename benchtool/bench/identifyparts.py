"""Parts of the page that finds out what a piece is made of: a question with its answers, and what speaks for it."""

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFocusEvent, QFontMetricsF, QPainter
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.look import GRID, Look
from benchtool.session.identifying import Row
from benchtool.trade.identify import CANT_SAY, Question
from benchtool.trade.saying import say

_ONE_COLUMN = 4
"""So many answers stand below each other; more of them in two columns."""


class AnswerButton(BenchButton):
    """An answer with its digit in front; long words take two lines."""

    def sizeHint(self) -> QSize:
        return QSize(20 * GRID, self.look.target)

    def minimumSizeHint(self) -> QSize:
        return QSize(12 * GRID, self.look.target)

    def _draw_words(self, painter: QPainter, box: QRectF, ink: QColor) -> None:
        upright = Qt.AlignmentFlag.AlignVCenter
        inner = box.adjusted(1.5 * GRID, 0, -GRID, 0)
        painter.setPen(QColor(ink.red(), ink.green(), ink.blue(), 190))
        painter.setFont(self.look.strong)
        painter.drawText(inner, upright, self.key)
        words = inner.adjusted(2.5 * GRID, 0, 0, 0)
        painter.setPen(ink)
        if QFontMetricsF(self.look.strong).horizontalAdvance(self.text()) > words.width():
            painter.setFont(self.look.small)
            upright |= Qt.TextFlag.TextWordWrap
        painter.drawText(words, upright, self.text())


class QuestionView(QWidget):
    """One question: what is asked, how to find out, and an answer to each digit. It keeps the focus itself."""

    answered = Signal(str)
    back = Signal()

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.setObjectName("identify-question")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.number = Words(look, "small", "quiet", wrap=False)
        self.ask = Words(look, "title", "ink")
        self.how = Words(look, "body", "quiet")
        self.grid = QGridLayout()
        self.grid.setSpacing(GRID // 2)
        self.go_back = BenchButton(look, say("Back"), "←", name="identify-back")
        self.skip = BenchButton(look, say("Can't say"), "0", name="identify-cant-say")
        self.foot = QWidget()
        foot = QHBoxLayout(self.foot)
        foot.setContentsMargins(0, 0, GRID, 0)
        foot.setSpacing(GRID)
        foot.addWidget(self.go_back, 1)
        foot.addWidget(self.skip, 2)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID)
        top = QHBoxLayout()
        top.setSpacing(GRID)
        top.addWidget(self.ask, 1)
        top.addWidget(self.number)
        column.addLayout(top)
        column.addWidget(self.how)
        column.addLayout(self.grid)
        column.addStretch(1)
        self.buttons: dict[str, AnswerButton] = {}
        self._shown, self._number = "", 0
        for button in (self.go_back, self.skip):
            button.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self.go_back.clicked.connect(self.back)
        self.skip.clicked.connect(lambda: self.answered.emit(CANT_SAY))

    def show_question(self, question: Question, number: int, chosen: str, *, first: bool) -> None:
        """Show this question; `chosen` is the answer that stands for it, empty for none."""
        self._number = number
        self._tell_number()
        self.ask.say(say(question.ask))
        self.how.say(say(question.how))
        self.setAccessibleName(f"{say(question.ask)} {say(question.how)}")
        if question.id != self._shown:
            self._shown = question.id
            self._offer(question)
        for key, button in self.buttons.items():
            button.setChecked(key == chosen)
            button.setAccessibleDescription(say("chosen") if key == chosen else "")
        self.skip.setCheckable(True)
        self.skip.setChecked(chosen == CANT_SAY)
        self.skip.show()
        self.go_back.setEnabled(not first)

    def show_end(self, words: str, told: str) -> None:
        """Say that there is nothing more to ask."""
        self._shown = ""
        self._clear()
        self._number = 0
        self._tell_number()
        self.ask.say(words)
        self.how.say(told)
        self.skip.hide()
        self.go_back.setEnabled(True)

    def _tell_number(self) -> None:
        """Say which question it is, and where the focus is here that a digit answers it."""
        digits = say("Question {n}: press its digit", n=self._number)
        plain = say("Question {n}", n=self._number)
        self.number.say((digits if self.hasFocus() else plain) if self._number else "")

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self._tell_number()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self._tell_number()

    def choose(self, digit: int) -> None:
        """Give the answer of a digit; 0 is “can't say”."""
        keys = list(self.buttons)
        if digit == 0 and not self.skip.isHidden():
            self.answered.emit(CANT_SAY)
        elif 1 <= digit <= len(keys):
            self.answered.emit(keys[digit - 1])

    def _clear(self) -> None:
        for button in self.buttons.values():
            self.grid.removeWidget(button)
            button.hide()
            button.deleteLater()
        self.buttons = {}

    def _offer(self, question: Question) -> None:
        self._clear()
        columns = 1 if len(question.answers) <= _ONE_COLUMN else 2
        rows = -(-len(question.answers) // columns)
        for i, answer in enumerate(question.answers):
            words = say(answer.words)
            button = AnswerButton(self.look, words, str(i + 1), name=f"identify-answer-{answer.id}")
            button.setToolTip(words)
            button.setCheckable(True)
            button.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
            button.clicked.connect(lambda _=False, k=answer.id: self.answered.emit(k))
            self.buttons[answer.id] = button
            self.grid.addWidget(button, i % rows, i // rows)
        for i in range(2):
            self.grid.setColumnStretch(i, 1 if i < columns else 0)


class ForAndAgainst(QWidget):
    """What speaks for and against the material chosen in the list, and what a painter does with it."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.setObjectName("identify-why")
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Maximum)
        self.name = Words(look, "strong", "ink")
        self.pro = Words(look, "small", "ink")
        self.con = Words(look, "small", "trouble")
        self.facts = Words(look, "small", "quiet")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID // 2)
        for part in (self.name, self.pro, self.con, self.facts):
            column.addWidget(part)
        column.addStretch(1)

    def show_row(self, row: Row | None, facts: str) -> None:
        """Show this material, or none."""
        name = row.name if row is not None else ""
        pro = say("For it: {why}", why=" ".join(row.pro)) if row is not None and row.pro else ""
        con = say("Against it: {why}", why=" ".join(row.con)) if row is not None and row.con else ""
        for part, words in ((self.name, name), (self.pro, pro), (self.con, con), (self.facts, facts)):
            part.say(words)
            part.setVisible(bool(words))
