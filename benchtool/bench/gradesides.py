"""The two sides of the grading stage: left the strips with what is to do, and over the form the test at hand."""

from datetime import datetime

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, BigText, Words
from benchtool.bench.gradegrid import GradeGrid
from benchtool.bench.look import GRID, Look
from benchtool.job.trialrest import title_of
from benchtool.job.trials import TrialState
from benchtool.session.trialgrading import Board, Cell, Row, cell_words, numerals, stands_words
from benchtool.trade.saying import say


class StripSide(QWidget):
    """The strips against the tests, over them what calls or what is left, below them the choice to grade blind."""

    go_on_asked = Signal(str)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self._stage = ""
        self.grid = GradeGrid(look, "grade-grid", say("Strips and tests"))
        self.call = Words(look, "strong", "accent")
        self.call.setObjectName("grade-call")
        self.go_on = BenchButton(look, "", "Ctrl+Enter", name="grade-go-on", primary=True)
        self.blind = BenchButton(look, say("Hide which system it is while I grade"), name="grade-blind")
        self.blind.setCheckable(True)
        self.why = Words(look, "small", "quiet")
        self.why.say(say("Who knows it grades by it, without wanting to (common practice, no source)."))
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID)
        for part in (self.call, self.go_on, self.grid, self.blind, self.why):
            column.addWidget(part, 1 if part is self.grid else 0)
        self.go_on.clicked.connect(lambda _=False: self.go_on_asked.emit(self._stage))

    def fold(self, *, narrow: bool, low: bool) -> None:
        """Leave out what is only said, where there is little room, and keep the strip in hand in sight."""
        self.why.setVisible(not narrow and not low)
        self.grid.roll_to_picked()

    def show_board(self, shown: Board, trial: TrialState, now: datetime, in_hand: str) -> None:
        """Show this board; a tape to pull on another strip than the one in hand (the id of its piece) is called out."""
        words = {cell.spot: cell_words(cell, trial, now) for cell in shown.cells()}
        self.grid.show_board(shown, now, words, blind=self.blind.isChecked())
        others = [r for r in shown.rows if r.strip.piece != in_hand]
        pulling = [r.name for r in others if any(c.pulls(now) for c in r.cells)]
        ahead = stands_words(shown, trial, now)
        call = say("Pull the tape: {strips}.", strips=", ".join(pulling)) if pulling else ahead.words
        self.call.say(call)
        self.call.setVisible(bool(call))
        self._stage = ahead.stage
        self.go_on.say(say("Compare the systems") if ahead.stage == "compare" else say("Go on with the run"))
        self.go_on.setVisible(bool(ahead.stage))


class GradeHead(QWidget):
    """Which test of which strip it is, how it stands, and the countdown of its tape."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self._low = False
        self.title = Words(look, "title", "ink")
        self.system = Words(look, "small", "quiet")
        self.stands = Words(look, "body", "ink")
        self.stands.setObjectName("grade-stands")
        self.count = BigText(look, "amount")
        names = QVBoxLayout()
        names.setSpacing(2)
        for words in (self.title, self.system, self.stands):
            names.addWidget(words)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(2 * GRID)
        row.addLayout(names, 9)
        row.addWidget(self.count, 2)

    def fold(self, *, low: bool) -> None:
        """Take one line less where there is little room: the system stands beside the strip too."""
        self._low = low
        self.system.setVisible(bool(self.system.text()) and not low)

    def tell(self, row: Row, cell: Cell, trial: TrialState, now: datetime, *, blind: bool) -> None:
        """Tell of this cell; `blind` says nothing of the system."""
        self.title.say(say("{strip}: {test}", strip=row.name, test=title_of(cell.spot.test)))
        system = row.system.name if row.system is not None and not blind else ""
        self.system.say(system)
        self.system.setVisible(bool(system) and not self._low)
        self.stands.say(cell_words(cell, trial, now), "accent" if cell.pulls(now) else "ink")

    def tick(self, cell: Cell | None, now: datetime) -> None:
        """Let the countdown go on."""
        told = numerals(cell, now) if cell is not None else ""
        self.count.setVisible(bool(told))
        self.count.show_text(told, "accent" if cell is not None and cell.pulls(now) else "ink")
