"""The form of one grade: how the test is done, the grade typed or picked, what came off, where it let go, a note."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Field, Words
from benchtool.bench.gradesteps import GradeEdit, HowTo, Steps
from benchtool.bench.look import GRID, Look
from benchtool.bench.planlists import PickList, PickRow
from benchtool.job import events as ev
from benchtool.session.gradeentry import Entry, Place, Refused, candidates, choose_words
from benchtool.trade.grademethods import Told
from benchtool.trade.grades import BY_AREA, Method, NotAGrade, codes, read_grade, scale
from benchtool.trade.saying import say

_BESIDE = 620
"""px: from this width on it stands beside the steps how the test is done (times the scale of the type)."""
_ROOMY = 760
"""px: from this height of the page on it is seen how the test is done and where it let go, both."""


class GradeForm(QWidget):
    """`changed` tells that something was typed or picked, `how_asked` that it is to be told again how it is done."""

    changed = Signal()
    how_asked = Signal()

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.method: Method | None = None
        self.photo_kept: ev.Photo | None = None
        self._places: tuple[Place, ...] = ()
        self._quiet = self._folded = False
        self._edit = GradeEdit()
        self.grade = Field(look, say("Grade"), "grade-code", edit=self._edit)
        self.percent = Field(look, say("Came off, %"), "grade-percent", say("12 ± 2"))
        self.note = Field(look, say("Note"), "grade-note")
        self.wrong = Words(look, "small", "trouble")
        self.wrong.setObjectName("grade-wrong")
        self.choose = Words(look, "small", "accent")
        self.choose.setObjectName("grade-choose")
        self.go = BenchButton(look, say("Log the grade"), "Enter", name="grade-go", primary=True)
        self.tape = BenchButton(look, say("The tape is on"), name="grade-tape")
        self.photo = BenchButton(look, say("From a photo"), "F8", name="grade-photo")
        self.measured = Words(look, "small", "quiet")
        self.steps = Steps(look)
        self.how = HowTo(look)
        self.place = PickList(look, say("Where did it let go?"), "grade-place", rows=8)
        self.letters = Words(look, "small", "quiet")
        self.again = BenchButton(look, say("How it is done"), name="grade-how")
        self.where = QWidget()
        self._lay_out()
        for field in (self.grade, self.percent, self.note):
            field.edit.textEdited.connect(lambda _: self._tell())
        self.steps.chosen.connect(self._take_step)
        self.place.chosen.connect(lambda _: self._tell())
        self.again.clicked.connect(self.how_asked)

    def _lay_out(self) -> None:
        line = QHBoxLayout()
        line.setSpacing(GRID)
        line.addWidget(self.grade, 2, Qt.AlignmentFlag.AlignTop)
        line.addWidget(self.percent, 2, Qt.AlignmentFlag.AlignTop)
        buttons = QVBoxLayout()
        buttons.setSpacing(GRID // 2)
        self.level = Words(self.look, "small", "quiet", wrap=False)
        self.level.say(" ")  # so that the button stands level with the fields
        for part in (self.level, self.go, self.tape, self.photo):  # above the steps: in sight on a small screen too
            buttons.addWidget(part)
        buttons.addStretch(1)
        line.addLayout(buttons, 3)
        right = QVBoxLayout()
        right.setSpacing(GRID)
        right.addLayout(line)
        right.addWidget(self.wrong)
        right.addWidget(self.choose)
        right.addWidget(self.steps)
        right.addWidget(self.note)
        right.addWidget(self.measured)
        right.addStretch(1)
        there = QVBoxLayout(self.where)
        there.setContentsMargins(0, 0, 0, 0)
        there.setSpacing(GRID)
        there.addWidget(self.place)
        there.addWidget(self.letters)
        there.addWidget(self.again)
        left = QVBoxLayout()
        left.setSpacing(2 * GRID)
        left.addWidget(self.where)
        left.addWidget(self.how)
        left.addStretch(1)
        self.columns = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self.columns.setContentsMargins(0, 0, GRID, GRID)
        self.columns.setSpacing(3 * GRID)
        self.columns.addLayout(left, 2)
        self.columns.addLayout(right, 3)
        for later in (self.where, self.wrong, self.choose, self.letters, self.measured):
            later.hide()

    # --- what it is about --------------------------------------------------------------------------

    def turn(self, method: Method, how: Told, film: str, places: Sequence[Place]) -> None:
        """Turn to a test: how it is done, its scale, and where it may let go."""
        self.method, self._places = method, tuple(places)
        self.how.tell(how, film)
        self.steps.offer(scale(method))
        self._edit.take(method)
        self._list_places(None)
        by_area = method in BY_AREA
        self.percent.setVisible(by_area)
        self.photo.setVisible(by_area)
        best, worst = codes(method)[0], codes(method)[-1]
        self.grade.edit.setPlaceholderText(say("{best} to {worst}", best=best, worst=worst))
        self.show_place(on=False)

    def fill(self, entry: Entry) -> None:
        """Show this as typed and picked, with no complaint."""
        self._quiet = True
        for field, text in ((self.grade, entry.grade), (self.percent, entry.percent), (self.note, entry.note)):
            field.complain("")
            field.edit.setText(text)
        self.grade.edit.selectAll()
        self._list_places(entry.place or None)
        self.photo_kept = entry.photo
        self._quiet = False
        self.follow(self.method)

    def _list_places(self, chosen: str | None) -> None:
        rows = [PickRow(p.key, p.words, p.layers) for p in self._places]
        self.place.fill(rows, chosen)

    def entry(self) -> Entry:
        """Give what is typed and picked."""
        return Entry(
            grade=self.grade.text(),
            percent=self.percent.text(),
            place=self.place.value or "",
            note=self.note.text(),
            photo=self.photo_kept,
        )

    def follow(self, method: Method | None) -> None:
        """Mark the step that is typed, and what the percentage offers."""
        if method is None:
            return
        if not any(f.edit.property("wrong") for f in (self.grade, self.percent, self.note)):
            self.wrong.hide()
        try:
            picked = read_grade(method, self.grade.text()) if self.grade.text().strip() else ""
        except NotAGrade:
            picked = ""
        try:
            offered = candidates(method, self.percent.text())
        except Refused:
            offered = ()  # it is told at Enter: a number half typed is no fault
        alone = offered[0] if len(offered) == 1 and not self.grade.text().strip() else ""
        self.steps.mark(picked or alone, offered)
        words = choose_words(offered, picked)
        self.choose.say(words)
        self.choose.setVisible(bool(words) and not self.wrong.isVisibleTo(self))
        place = next((p for p in self._places if p.key == self.place.value), None)
        letters = place.letters if place is not None else ""
        self.letters.say(say("In a pull-off test this is {letters} (ASTM D4541).", letters=letters) if letters else "")
        self.letters.setVisible(bool(letters))
        photo = self.photo_kept
        self.measured.say(say("Measured from a photo.") if photo is not None else "")
        self.measured.setVisible(photo is not None)

    def complain(self, field: str, message: str) -> None:
        """Say at a field what is wrong with it, and go there; what was typed stays."""
        at = {"percent": self.percent, "note": self.note}.get(field, self.grade)
        at.complain(message)
        at.fault.hide()  # a line under all fields has more room for it
        self.wrong.say(message)
        self.wrong.show()
        self.choose.hide()
        at.edit.setFocus(Qt.FocusReason.OtherFocusReason)

    def ask(self, message: str) -> None:
        """Ask something at the grade that Enter answers; it goes with the next sign that is typed."""
        self.choose.say(message)
        self.choose.show()

    def show_place(self, *, on: bool) -> None:
        """Ask where it let go, or tell again how the test is done."""
        self.where.setVisible(on)
        self._settle()
        if on:
            self.place.take_focus()

    def take_focus(self) -> None:
        """Put the cursor on the grade, what is typed marked."""
        self.grade.edit.setFocus(Qt.FocusReason.OtherFocusReason)
        self.grade.edit.selectAll()

    def _take_step(self, code: str) -> None:
        self.grade.complain("")
        self.grade.edit.setText(code)
        self._tell()
        self.take_focus()

    def _tell(self) -> None:
        if not self._quiet:
            self.changed.emit()

    # --- how it lies -------------------------------------------------------------------------------

    def fold(self, *, on: bool) -> None:
        """Where there is little room: the fields and the steps in a row first, all else below."""
        self._folded = on
        self.steps.fold(on=on)
        self.level.setVisible(not on)
        self._settle_columns()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._settle_columns()

    def _settle_columns(self) -> None:
        beside = self.width() >= _BESIDE * self.look.scale and not self._folded
        way = QBoxLayout.Direction.LeftToRight if beside else QBoxLayout.Direction.BottomToTop
        self.columns.setDirection(way)
        self._settle()

    def _settle(self) -> None:
        above = self.parentWidget()
        roomy = above is not None and above.height() >= _ROOMY
        asks = not self.where.isHidden()
        self.how.setVisible(not asks or roomy)
        self.again.setVisible(not roomy)
