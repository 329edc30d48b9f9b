"""Lines over the drawn plan that are folded away until they are asked for: when a job is promised, and paper."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QWidget

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
