"""Beside the photo of a cross-cut: the percentage, the grade, what to do now, and how to take a good photo."""

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, BigText, Choice, Words, scrolled
from benchtool.bench.look import GRID, Look
from benchtool.bench.photoview import Canvas
from benchtool.session.photohand import Answer
from benchtool.trade.saying import say

CUTS = ("6", "11")
_MOST_GRADES = 6
_ROWS = {
    "empty": (("paste",),),
    "corners": (("find", "open", "paste"),),
    "mask": (("smaller", "larger", "strength"), ("undo", "corners", "open")),
}
_COLUMNS = 6
_TOOLS = ("open", "paste", "find", "corners", "undo", "strength", "smaller", "larger")


class EmptyView(Canvas):
    """Where the photo will be: a frame with a lattice in it, as large as it should be in the photo."""

    def __init__(self, look: Look) -> None:
        super().__init__(look, "photo-empty")
        self.words, self.over = "", False
        self.setAccessibleName(say("Drop a photo of the cross-cut here"))

    def tell(self, words: str, *, over: bool = False) -> None:
        """Say what goes on; `over` says that something is held over it."""
        if (words, over) != (self.words, self.over):
            self.words, self.over = words, over
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t = QPainter(self), self.look.theme
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        room = QRectF(self.rect()).adjusted(2 * GRID, 2 * GRID, -2 * GRID, -2 * GRID)
        wide = min(room.width(), 1.4 * room.height())
        box = QRectF(0, 0, wide, wide / 1.4)
        box.moveCenter(room.center())
        style = Qt.PenStyle.SolidLine if self.over else Qt.PenStyle.DashLine
        painter.setPen(QPen(t.color("accent" if self.over else "quiet"), 3 if self.over else 2, style))
        painter.setBrush(t.color("raised"))
        painter.drawRoundedRect(box, 4, 4)
        side = 0.72 * box.height()
        painter.setPen(QPen(t.color("line"), 2))
        start = box.center() - QPointF(side / 2, side / 2)
        for i in range(6):
            at = i * side / 5
            painter.drawLine(start + QPointF(at, -GRID), start + QPointF(at, side + GRID))
            painter.drawLine(start + QPointF(-GRID, at), start + QPointF(side + GRID, at))
        words = self.words or say("Drop a photo of the cross-cut here")
        painter.setFont(self.look.title)
        middle = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
        spot = painter.boundingRect(box.adjusted(GRID, GRID, -GRID, -GRID), middle, words).adjusted(
            -2 * GRID, -GRID, 2 * GRID, GRID
        )
        painter.fillRect(spot, t.color("raised"))
        painter.setPen(t.color("accent" if self.over or self.words else "ink"))
        painter.drawText(spot, middle, words)
        self.draw_focus(painter)
        painter.end()


def tips() -> str:
    """Say how to take a photo that can be measured. Common practice, no source."""
    return say(
        "A good photo: flat light from the side, no flash and no glare. Straight from above, held still and sharp. "
        "The whole lattice, about three quarters of the picture high, with intact paint all round it."
    )


class PhotoSide(QWidget):
    """The column beside the photo. It shows what it is told, and says which act is asked for."""

    acted = Signal(str)
    graded = Signal(str)
    cuts_chosen = Signal(int)
    marks_chosen = Signal(bool)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.title = Words(look, "title", "ink")
        self.about = Words(look, "small", "quiet")
        self.doing = Words(look, "title", "accent")
        self.number = BigText(look, "amount")
        self.classes = Words(look, "strong", "ink")
        self.doubt = Words(look, "body", "trouble")
        self.trouble = Words(look, "body", "trouble")
        self.lead = Words(look, "body", "ink")
        self.tips = Words(look, "small", "quiet")
        self.legend = Words(look, "small", "quiet")
        self.cuts = Choice(look, "photo-cuts", say("Number of cuts each way"))
        self.cuts.chosen.connect(lambda key: self.cuts_chosen.emit(int(key)))
        self.marks = Choice(look, "photo-marks", say("What the brush marks"))
        self.marks.chosen.connect(lambda key: self.marks_chosen.emit(key == "bare"))
        self.buttons = {
            name: BenchButton(look, words, key, name=f"photo-{name}")
            for name, words, key in (
                ("open", say("Choose a photo"), "O"),
                ("paste", say("Paste"), "Ctrl+V"),
                ("find", say("Find it again"), "F"),
                ("corners", say("Corners"), "B"),
                ("undo", say("Take back"), "Ctrl+Z"),
                ("strength", say("Mask"), "M"),
                ("smaller", say("Smaller"), "["),
                ("larger", say("Larger"), "]"),
                ("go", "", "Enter"),
                ("back", say("Back"), "Esc"),
            )
        }
        self.buttons["go"].primary = True
        spoken = {
            "corners": say("Back to the corners"), "undo": say("Take back the last stroke"),
            "smaller": say("Smaller brush"), "larger": say("Larger brush"),
        }  # fmt: skip
        for name, words in spoken.items():
            self.buttons[name].setAccessibleName(words)
            self.buttons[name].setToolTip(words)
        for name in _TOOLS:
            self.buttons[name].setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        for name, button in self.buttons.items():
            button.clicked.connect(lambda _=False, n=name: self.acted.emit(n))
        self.ask = Words(look, "strong", "accent")
        self.grades: list[BenchButton] = []
        for nth in range(1, _MOST_GRADES + 1):
            button = BenchButton(look, "", name=f"photo-grade-{nth}", primary=True)
            button.clicked.connect(lambda _=False, b=button: self.graded.emit(str(b.property("grade"))))
            self.grades.append(button)
        self._placed: Sequence[Sequence[str]] = ()
        self._lay_out()
        look.changed.connect(self._relook)
        self._relook()

    def _lay_out(self) -> None:
        body = QWidget()
        column = QVBoxLayout(body)
        column.setContentsMargins(0, 0, GRID, 0)
        column.setSpacing(GRID)
        for part in (
            self.title, self.about, self.doing, self.number, self.classes, self.doubt, self.trouble, self.lead,
        ):  # fmt: skip
            column.addWidget(part)
        column.addWidget(self.cuts)
        column.addWidget(self.marks)
        self._grid = QGridLayout()
        self._grid.setSpacing(GRID // 2)
        column.addLayout(self._grid)
        for name in _TOOLS:
            self.buttons[name].setParent(body)  # without one, a button that is shown is a window
        column.addWidget(self.legend)
        column.addWidget(self.tips)
        column.addStretch(1)
        foot = QHBoxLayout()
        foot.setSpacing(GRID // 2)
        for button in self.grades:
            foot.addWidget(button, 2)
        foot.addWidget(self.buttons["go"], 2)
        foot.addWidget(self.buttons["back"], 1)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.setSpacing(GRID)
        self.area = scrolled(body)
        outer.addWidget(self.area, 1)
        outer.addWidget(self.ask)
        outer.addLayout(foot)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Expanding)

    def _relook(self) -> None:
        self.setFixedWidth(int((54 if self.look.scale >= 1 else 42) * GRID * self.look.scale))
        self.number.make_room(int(7 * GRID * self.look.scale))

    # --- what is shown -----------------------------------------------------------------------------

    def entitle(self, strip: str, test: str) -> None:
        """Say which strip and which test it is for."""
        self.title.say(say("Photo of the cross-cut"))
        self.about.say(say("{strip}. {test}.", strip=strip, test=test))

    def show_step(self, step: str, *, doing: str, trouble: str, lead: str) -> None:
        """Show what belongs to a step: `empty`, `corners` or `mask`."""
        for words, text in ((self.doing, doing), (self.trouble, trouble), (self.lead, lead)):
            words.say(text)
            words.setVisible(bool(text))
        mask, corners = step == "mask", step == "corners"
        for part in (self.number, self.classes, self.marks, self.legend):
            part.setVisible(mask)
        self.cuts.setVisible(corners)
        self._place(_ROWS[step])
        self.tips.say(tips())
        self.tips.setVisible(not mask)
        if not mask:
            self.ask.hide()
            self.doubt.hide()
            for button in self.grades:
                button.hide()
        self.buttons["open"].say(say("Another photo"))
        go = self.buttons["go"]
        go.setVisible(not mask)
        go.say(say("Measure") if corners else say("Choose a photo"))

    def _place(self, rows: Sequence[Sequence[str]]) -> None:
        """Put these buttons in rows, and hide the others."""
        if rows == self._placed:
            return
        self._placed = rows
        shown = [name for row in rows for name in row]
        for name in _TOOLS:
            self._grid.removeWidget(self.buttons[name])
        for i, row in enumerate(rows):
            for k, name in enumerate(row):
                span = _COLUMNS // len(row)
                self._grid.addWidget(self.buttons[name], i, k * span, 1, span)
        for name in _TOOLS:
            self.buttons[name].setVisible(name in shown)

    def show_cuts(self, cuts: int) -> None:
        """Show how many cuts the lattice has."""
        options = [(n, say("{n} cuts", n=n)) for n in CUTS]
        self.cuts.offer(options, str(cuts) if str(cuts) in CUTS else None, remarks=("C", "C"))

    def show_brush(self, *, bare: bool, strokes: int, strength: str) -> None:
        """Show what the brush does."""
        options = [("bare", say("Brush: bare")), ("coated", say("Brush: coated"))]
        self.marks.offer(options, "bare" if bare else "coated", remarks=("X", "X"))
        self.buttons["undo"].setEnabled(strokes > 0)
        self.buttons["strength"].say(strength)
        self.legend.say(
            say(
                "Hatched is bare, dotted does not count: cuts and glare. The right button or Shift marks the other way."
            )
        )

    def show_answer(self, answer: Answer | None) -> None:
        """Show what was measured and what it may be called."""
        found = answer.candidates if answer is not None and not answer.unknown else ()
        self.number.show_text(answer.words if answer is not None else "")
        self.classes.say(answer.classes if answer is not None else "")
        self.classes.setVisible(bool(self.classes.text()))
        said = answer.doubt if answer is not None else ""
        self.doubt.say(said)
        self.doubt.setVisible(bool(said))
        ask = answer.ask if answer is not None else ""
        self.ask.say(ask)
        self.ask.setVisible(bool(ask))
        self._offer(found)

    def _offer(self, found: Sequence[str]) -> None:
        for nth, button in enumerate(self.grades):
            button.setVisible(nth < len(found))
            if nth < len(found):
                button.key = found[nth][0] if len(found) > 1 else "Enter"  # the figure of the grade itself
                button.setProperty("grade", found[nth])
                name = say("class {n}", n=found[nth]) if len(found[nth]) == 1 else found[nth]
                button.say(say("Take {grade}", grade=name) if len(found) < 3 else name)
                button.update()
