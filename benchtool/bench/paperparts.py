"""What the page "On paper" is made of: the list, the paper's size, the preview, and the row of acts."""

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Choice, Rule, Words
from benchtool.bench.librarysteps import Steps
from benchtool.bench.look import GRID, Look
from benchtool.bench.papersave import PaperPrint, PaperSave
from benchtool.bench.paperview import PaperView
from benchtool.bench.planlists import PickList
from benchtool.bench.triallabels import usual_paper
from benchtool.session.papers import Offer, Paper
from benchtool.trade.saying import say

_SETTLE_MS = 60


class PaperParts(QWidget):
    """The parts, laid out; what they do is for the page."""

    left = Signal()
    said = Signal(str)
    paper_chosen = Signal(str)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.setObjectName("papers")
        self._make(look)
        self.setFocusProxy(self.list.list)
        self._lay_out(look)
        look.changed.connect(self.fit_list)

    def _make(self, look: Look) -> None:
        self.title = Words(look, "title", "ink", wrap=False)
        self.title.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.list = PickList(look, say("What to put on paper, or into a file"), "papers", rows=5)
        self.list.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Expanding)
        self.size_label = Words(look, "small", "quiet", wrap=False)
        self.size_label.say(say("Paper"))
        self.sizes = Choice(look, "papers-size", say("Paper"))
        self.view = PaperView(look)
        self.note = Words(look, "body", "trouble")
        self.note.setObjectName("papers-note")
        self.told = Words(look, "small", "quiet", wrap=False)
        self.told.setObjectName("papers-told")
        self.told.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.save = BenchButton(look, say("Save"), "Ctrl+S", name="papers-save", primary=True)
        self.print = BenchButton(look, say("Print"), "Ctrl+P", name="papers-print")
        self.copy = BenchButton(look, say("Copy as text"), "Ctrl+C", name="papers-copy")
        self.back = BenchButton(look, say("Back to the bench"), "Esc", name="papers-back")
        self.saving, self.printing = PaperSave(self), PaperPrint(self)
        self.steps, self.writing = Steps(self), Steps(self)
        self.settle = QTimer(self)
        self.settle.setObjectName("papers-settle")
        self.settle.setSingleShot(True)
        self.settle.setInterval(_SETTLE_MS)

    def _lay_out(self, look: Look) -> None:
        left = QVBoxLayout()
        left.setSpacing(GRID)
        left.addWidget(self.list, 1)
        left.addStretch(0)
        left.addWidget(self.size_label)
        left.addWidget(self.sizes)
        right = QVBoxLayout()
        right.setSpacing(GRID)
        right.addWidget(self.note)
        right.addWidget(self.view, 1)
        columns = QHBoxLayout()
        columns.setSpacing(2 * GRID)
        columns.addLayout(left, 4)
        columns.addWidget(Rule(look, upright=True))
        columns.addLayout(right, 9)
        foot = QHBoxLayout()
        foot.setSpacing(GRID)
        for button in (self.save, self.print, self.copy):
            button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
            foot.addWidget(button)
        foot.addWidget(self.told, 1)
        self.back.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        foot.addWidget(self.back)
        column = QVBoxLayout(self)
        column.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        column.setSpacing(GRID)
        column.addWidget(self.title)
        column.addLayout(columns, 1)
        column.addWidget(Rule(look, upright=False))
        column.addLayout(foot)

    def fit_list(self) -> None:
        """Let the list be as high as its lines, where there is room for that."""
        lines = self.list.list.count() * self.look.target
        self.list.setMaximumHeight(lines + self.list.label.sizeHint().height() + GRID)

    def offer_sizes(self, paper: Paper) -> None:
        """Show which paper is chosen."""
        self.sizes.offer([(Paper.A4.value, "A4"), (Paper.LETTER.value, say("US Letter"))], paper.value)
        before: QWidget = self.list.list
        for button in self.sizes.findChildren(BenchButton):
            QWidget.setTabOrder(before, button)
            before = button

    def tell_offer(self, offer: Offer | None) -> None:
        """Say what is amiss with a paper, and leave out what can't be done with it."""
        self.note.say(offer.not_yet if offer is not None else "")
        self.note.setVisible(bool(self.note.text()))
        sheet = offer is not None and offer.is_sheet
        self.print.setEnabled(sheet)
        self.sizes.setEnabled(sheet)


def paper_named(name: str) -> Paper:
    """Give the paper of this name; the one that is usual here where it is none."""
    known = {Paper.A4.value: Paper.A4, "Letter": Paper.LETTER, Paper.LETTER.value: Paper.LETTER}
    return known.get(name) or known[usual_paper()]


def paper_words(paper: Paper) -> str:
    """Name a paper on the screen."""
    return "A4" if paper is Paper.A4 else say("US Letter")
