"""Lines over the drawn plan that are folded away until they are asked for: promises, how long you stay, paper."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication, QHBoxLayout, QLineEdit, QSizePolicy, QWidget

from benchtool.bench.controls import BenchButton, Choice, Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import Typed
from benchtool.sheets.blocks import Paper
from benchtool.trade.saying import say


class _FoldLine(QWidget):
    """A line that is there while it is asked for. Esc folds it away."""

    folded = Signal()

    def __init__(self, look: Look, name: str) -> None:
        super().__init__()
        self.look = look
        self.setObjectName(name)
        self.line = QHBoxLayout(self)
        self.line.setContentsMargins(0, 0, 0, 0)
        self.line.setSpacing(GRID)
        self.hide()

    def put(self, button: BenchButton) -> BenchButton:
        """Add a button that is as wide as its words, at the foot of the line."""
        button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self.line.addWidget(button, 0, Qt.AlignmentFlag.AlignBottom)
        return button

    def fold(self) -> None:
        """Fold it away."""
        self.hide()
        self.folded.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.fold()
            event.accept()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and isinstance(QApplication.focusWidget(), QLineEdit):
            event.accept()  # the field has taken it: it is no Enter of the page too
        else:
            super().keyPressEvent(event)


class PromiseLine(_FoldLine):
    """Asks for when the job in hand is promised; empty for no promise. `kept` is what is typed, or None to leave it."""

    kept = Signal(str, str)

    def __init__(self, look: Look) -> None:
        super().__init__(look, "day-promise")
        self.job = ""
        self.date = Typed(look, say("When is it promised?"), "day-promised", say("Fri 17:00, or 2026-03-20 17:00"))
        self.line.addWidget(self.date, 1)
        self.keep = self.put(BenchButton(look, say("Keep"), "Enter", name="day-promise-keep", primary=True))
        self.away = self.put(BenchButton(look, say("Leave it"), "Esc", name="day-promise-away"))
        self.keep.clicked.connect(self._enter)
        self.date.entered.connect(lambda _: self._enter())
        self.away.clicked.connect(self.fold)

    def ask(self, job: str, title: str, typed: str) -> None:
        """Ask it of this job, as it stands."""
        self.job = job
        words = say("When is “{job}” promised?", job=title) if title else say("When is it promised?")
        self.date.label.say(words)
        self.date.edit.setAccessibleName(words)
        self.date.fill(typed)
        self.show()
        self.date.take_focus()

    def _enter(self) -> None:
        self.kept.emit(self.job, self.date.text())


class StayLine(_FoldLine):
    """Asks until when somebody is here today; empty for the usual hours. `kept` is what is typed."""

    kept = Signal(str)

    def __init__(self, look: Look) -> None:
        super().__init__(look, "day-stay")
        words = say("Until when are you here today? Empty: as your hours say")
        self.until = Typed(look, words, "day-stay-until", say("18, 6 pm or 22:30"))
        self.line.addWidget(self.until, 1)
        self.keep = self.put(BenchButton(look, say("Keep"), "Enter", name="day-stay-keep", primary=True))
        self.away = self.put(BenchButton(look, say("Leave it"), "Esc", name="day-stay-away"))
        self.keep.clicked.connect(self._enter)
        self.until.entered.connect(lambda _: self._enter())
        self.away.clicked.connect(self.fold)

    def ask(self, typed: str) -> None:
        """Ask it, with what was typed last for today."""
        self.until.fill(typed)
        self.show()
        self.until.take_focus()

    def _enter(self) -> None:
        self.kept.emit(self.until.text())


class ShutLine(QWidget):
    """Says that the shop is closed, and offers to stay all the same; not there while it is open."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.setObjectName("day-shut")
        self.words = Words(look, "strong", "ink", wrap=False)
        self.here = BenchButton(look, say("Here until …"), "T", name="day-here", primary=True)
        self.here.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(2 * GRID)
        row.addWidget(self.words)
        row.addWidget(self.here)
        row.addStretch(1)
        self.hide()

    def show_shut(self, words: str) -> None:
        """Say it, or with no words be gone."""
        self.words.say(words)
        self.setVisible(bool(words))


class PaperLine(_FoldLine):
    """Asks what paper the plan is for, and whether it becomes a file or goes to a printer."""

    file_asked = Signal(Paper)
    print_asked = Signal(Paper)

    def __init__(self, look: Look, paper: Paper, *, printing: bool) -> None:
        super().__init__(look, "day-paper")
        self.paper = paper
        label = Words(look, "body", "ink", wrap=False)
        label.say(say("The plan on paper, landscape:"))
        self.papers = Choice(look, "day-papers", say("Paper"))
        self.line.addWidget(label)
        self.line.addWidget(self.papers)
        self.line.addStretch(1)
        self.file = self.put(BenchButton(look, say("Save as PDF"), "Enter", name="day-pdf", primary=True))
        self.print = self.put(BenchButton(look, say("Print"), name="day-print"))
        self.away = self.put(BenchButton(look, say("Not now"), "Esc", name="day-paper-away"))
        self.print.setVisible(printing)
        self.papers.chosen.connect(self._choose)
        self.file.clicked.connect(lambda: self.file_asked.emit(self.paper))
        self.print.clicked.connect(lambda: self.print_asked.emit(self.paper))
        self.away.clicked.connect(self.fold)
        self._choose(paper.value)

    def ask(self) -> None:
        """Show it."""
        self.show()
        self.file.setFocus(Qt.FocusReason.OtherFocusReason)

    def _choose(self, paper: str) -> None:
        self.paper = Paper(paper)
        self.papers.offer([(p.value, p.value) for p in Paper], paper)
