"""What stands where no plan can be drawn: why, and the button to what would help."""

from enum import Enum, auto
from typing import NamedTuple

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.daytold import DayTold
from benchtool.bench.look import GRID, Look
from benchtool.trade.saying import say


class Helps(Enum):
    """What would help where no plan can be drawn."""

    NOTHING = auto()
    JOB = auto()
    HOURS = auto()


class Why(NamedTuple):
    """Why there is nothing to draw: a sentence, more about it, the words on the button, and what that does."""

    words: str
    more: str = ""
    button: str = ""
    helps: Helps = Helps.NOTHING


def why(told: DayTold | None, *, jobs: bool, busy: bool) -> Why:
    """Say why there is nothing to draw: `jobs` are open, a plan is being made (`busy`), or what came of it."""
    if not jobs:
        more = say("A plan is made from the open jobs.")
        return Why(say("No job is open."), more, say("Open or begin a job"), Helps.JOB)
    if told is not None and told.never_opens:
        return Why(say("Your shop never opens."), told.why, say("Set the shop's hours"), Helps.HOURS)
    if busy:
        return Why(say("The plan is being made."))
    if told is not None and told.why:
        return Why(told.why)
    return Why(say("Nothing is planned yet."), say("R makes the plan from how things stand now."))


class EmptyDay(QWidget):
    """A sentence in the middle, and a button where one helps."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look, self.helps = look, Helps.NOTHING
        self.setObjectName("day-empty")
        self.words = Words(look, "title", "ink")
        self.more = Words(look, "body", "quiet")
        self.help = BenchButton(look, "", name="day-help", primary=True)
        self.help.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 2 * GRID, 0, 2 * GRID)
        column.setSpacing(2 * GRID)
        column.addStretch(2)
        column.addWidget(self.words)
        column.addWidget(self.more)
        column.addWidget(self.help, 0, Qt.AlignmentFlag.AlignLeft)
        column.addStretch(3)

    def show_why(self, why: Why) -> None:
        """Say why there is nothing to draw, and offer what helps."""
        self.helps = why.helps
        self.words.say(why.words)
        self.more.say(why.more)
        self.more.setVisible(bool(why.more))
        self.help.say(why.button)
        self.help.setVisible(bool(why.button))
