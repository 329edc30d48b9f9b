"""The foot of the page of the day: its buttons with their keys; and what of the plan goes on paper."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QScrollBar, QSizePolicy

from benchtool.bench.controls import BenchButton
from benchtool.bench.dayprint import PlanPaper
from benchtool.bench.dayrows import DayPicture
from benchtool.bench.daytold import DayTold
from benchtool.bench.look import GRID, Look
from benchtool.bench.triallabels import usual_paper
from benchtool.sheets.blocks import Paper
from benchtool.trade.saying import say

_FREE = Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.KeypadModifier


class DayFoot(QHBoxLayout):
    """The buttons in a row, the way back at its end. H is on none of them: it hears what calls."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.anew = BenchButton(look, say("Plan anew"), "R", name="day-anew", primary=True)
        self.whole = BenchButton(look, say("Whole plan"), "W", name="day-whole")
        self.today = BenchButton(look, say("Today"), "Home", name="day-today")
        self.longer = BenchButton(look, say("Zoom out"), "-", name="day-longer")
        self.closer = BenchButton(look, say("Zoom in"), "+", name="day-closer")
        self.as_list = BenchButton(look, say("List"), "L", name="day-as-list")
        self.promised = BenchButton(look, say("Promised"), "P", name="day-promised-ask")
        self.here = BenchButton(look, say("Here until"), "T", name="day-stay-ask")
        self.on_paper = BenchButton(look, say("Paper"), "O", name="day-on-paper")
        self.hours = BenchButton(look, say("Shop hours"), "S", name="day-hours")
        self.back = BenchButton(look, say("Back to the bench"), "Esc", name="day-back")
        self.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        self.setSpacing(GRID // 2)
        for button in (
            self.anew, self.whole, self.today, self.longer, self.closer, self.as_list, self.promised, self.here,
            self.on_paper, self.hours, self.back,
        ):  # fmt: skip
            button.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
            self.addWidget(button)
        self.insertStretch(10, 1)

    def of_key(self, event: QKeyEvent, cancel: BenchButton) -> BenchButton | None:
        """Give the button that a key presses; C cancels the planning."""
        if event.modifiers() & ~_FREE:
            return None
        buttons = {
            Qt.Key.Key_R: self.anew, Qt.Key.Key_W: self.whole, Qt.Key.Key_Home: self.today,
            Qt.Key.Key_Plus: self.closer, Qt.Key.Key_Equal: self.closer, Qt.Key.Key_Minus: self.longer,
            Qt.Key.Key_L: self.as_list, Qt.Key.Key_P: self.promised, Qt.Key.Key_O: self.on_paper,
            Qt.Key.Key_S: self.hours, Qt.Key.Key_C: cancel, Qt.Key.Key_T: self.here,
        }  # fmt: skip
        return buttons.get(Qt.Key(event.key()))


def paper_of(told: DayTold | None, picture: DayPicture, *, demo: bool) -> PlanPaper | None:
    """Give what of a plan is printed; None while there is none."""
    if told is None or told.plan is None:
        return None
    made = say("made {time}", time=f"{told.made_at.astimezone():%Y-%m-%d %H:%M}")
    title = say("The plan of the work: a demo, not a data sheet") if demo else say("The plan of the work")
    return PlanPaper(title=title, made=made, picture=picture, said=told.said)


def usual_size() -> Paper:
    """Give the paper that is usual here."""
    return Paper.LETTER if usual_paper() == "Letter" else Paper.A4


def roll(bars: Sequence[QScrollBar], way: int) -> None:
    """Roll the first of these by a page that is not at its end; backwards the last one first."""
    for bar in bars[::way]:
        if bar.value() != (bar.maximum() if way > 0 else bar.minimum()):
            bar.setValue(bar.value() + way * bar.pageStep())
            return
