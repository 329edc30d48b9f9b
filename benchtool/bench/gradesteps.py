"""What the grading stage is built of: the steps of a scale as targets, how a test is done, a line for the grade."""

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QGridLayout, QLineEdit, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.bars import lines_of
from benchtool.bench.controls import Words
from benchtool.bench.gradedraw import draw_grade
from benchtool.bench.look import GRID, Look
from benchtool.trade.grademethods import Told
from benchtool.trade.grades import Method, Scale, Step, codes
from benchtool.trade.saying import say


class GradeEdit(QLineEdit):
    """A line for a grade. While nothing is typed a few letters with which no grade begins stay keys of the bench.

    They are those that spoil nothing when hit by mistake: undo, the alarm, the silence, the far view.
    """

    KEPT = frozenset("UHXF")

    def __init__(self) -> None:
        super().__init__()
        self._kept = self.KEPT

    def take(self, method: Method) -> None:
        """Take grades of this method: the letters with which they begin are typed."""
        self._kept = self.KEPT - {code[0].upper() for code in codes(method)}

    def gives_way(self, event: QKeyEvent) -> bool:
        """Whether this key is no grade but the bench's."""
        if event.key() == Qt.Key.Key_Z:
            return not self.text() and event.modifiers() == Qt.KeyboardModifier.ControlModifier
        if self.text() != self.selectedText() or event.modifiers() != Qt.KeyboardModifier.NoModifier:
            return False
        return Qt.Key.Key_A <= event.key() <= Qt.Key.Key_Z and chr(event.key()) in self._kept

    def event(self, event: QEvent) -> bool:
        over = event.type() is QEvent.Type.ShortcutOverride
        if over and isinstance(event, QKeyEvent) and self.gives_way(event):
            event.ignore()
            return False
        return super().event(event)


class StepTile(QAbstractButton):
    """One step of a scale: its picture, its code, and in words what is seen. A `small` one has no words."""

    def __init__(self, look: Look, method: Method, step: Step, *, small: bool) -> None:
        super().__init__()
        self.look, self.method, self.step, self.small = look, method, step, small
        self.offered = False
        self.setText(step.code.replace("below ", "<") if small else step.code)
        self.setObjectName(f"grade-step-{step.code}")
        self.setAccessibleName(f"{step.code}: {step.words}")
        self.setToolTip(step.words)
        self.setCheckable(True)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # by keyboard the grade is typed
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        look.changed.connect(self.fit)

    def offer(self, *, on: bool) -> None:
        """Say that the area that came off allows this grade."""
        if on != self.offered:
            self.offered = on
            self.setAccessibleDescription(say("the area allows it") if on else "")
            self.update()

    def fit(self) -> None:
        """Take the height that the words need at this width."""
        line = QFontMetricsF(self.look.small).height()
        high = self.look.target if self.small else max(self.look.target + GRID, len(self._lines()) * line + GRID)
        if int(high) != self.height():
            self.setFixedHeight(int(high))
        self.update()

    def sizeHint(self) -> QSize:
        return QSize((8 if self.small else 30) * GRID, self.look.target)

    def minimumSizeHint(self) -> QSize:
        return QSize((6 if self.small else 20) * GRID, self.look.target)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.fit()

    @property
    def _words_from(self) -> float:
        code = QFontMetricsF(self.look.title).horizontalAdvance("0B")
        return GRID / 2 + self.look.target + GRID + code + 1.5 * GRID

    def _lines(self) -> list[str]:
        return lines_of(self.step.words, self.look.small, self.width() - self._words_from - GRID, 6)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t, look = QPainter(self), self.look.theme, self.look
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box, picked = QRectF(self.rect()).adjusted(1, 1, -1, -1), self.isChecked()
        fill = t.color("accent" if picked else "raised")
        painter.setBrush(fill.darker(112) if self.isDown() else fill)
        painter.setPen(QPen(t.color("accent" if self.offered or picked else "line"), 3 if self.offered else 1))
        painter.drawRoundedRect(box, 3, 3)
        painter.setPen(t.color("accent_ink" if picked else "ink"))
        side = look.target - GRID
        middle = box.center().y()
        if self.small:
            self._draw_small(painter, box)
        else:
            picture = QRectF(box.left() + GRID / 2, middle - side / 2, side, side)
            if picked:  # the drawing has its own paper
                painter.fillRect(picture.adjusted(-2, -2, 2, 2), t.color("raised"))
            draw_grade(painter, picture, t, self.method, self.step.code)
            painter.setFont(look.title)
            code = QRectF(picture.right() + GRID, box.top(), self._words_from - picture.right() - GRID, box.height())
            painter.drawText(code, Qt.AlignmentFlag.AlignVCenter, self.step.code)
            self._draw_words(painter, middle)
        painter.end()

    def _draw_small(self, painter: QPainter, box: QRectF) -> None:
        look, side = self.look, self.look.target / 2.4
        picture = QRectF(box.center().x() - side / 2, box.top() + 3, side, side)
        if self.isChecked():
            painter.fillRect(picture.adjusted(-1, -1, 1, 1), look.theme.color("raised"))
        draw_grade(painter, picture, look.theme, self.method, self.step.code)
        font = (
            look.strong if QFontMetricsF(look.strong).horizontalAdvance(self.text()) < box.width() - 4 else look.small
        )
        painter.setFont(font)
        spot = QRectF(box.left(), picture.bottom(), box.width(), box.bottom() - picture.bottom())
        painter.drawText(spot, Qt.AlignmentFlag.AlignCenter, self.text())

    def _draw_words(self, painter: QPainter, middle: float) -> None:
        painter.setFont(self.look.small)
        line, lines = QFontMetricsF(self.look.small).height(), self._lines()
        for k, words in enumerate(lines):
            top = middle + (k - len(lines) / 2) * line
            spot = QRectF(self._words_from, top, self.width() - self._words_from, line)
            painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, words)


class Steps(QWidget):
    """The steps of a scale, best first: one below the other, or the pencils in rows. `chosen` gives the code."""

    chosen = Signal(str)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.tiles: dict[str, StepTile] = {}
        self.told = Words(look, "small", "ink")
        self.told.hide()
        self._scale: Scale | None = None
        self._folded = False
        self._grid = QGridLayout()
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(GRID // 2)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID // 2)
        column.addLayout(self._grid)
        column.addWidget(self.told)

    def fold(self, *, on: bool) -> None:
        """Show the steps in rows without their words, where there is little room; those of the one picked stay."""
        if on == self._folded:
            return
        picked = next((code for code, tile in self.tiles.items() if tile.isChecked()), "")
        offered = [code for code, tile in self.tiles.items() if tile.offered]
        self._folded, scale, self._scale = on, self._scale, None
        if scale is not None:
            self.offer(scale)
            self.mark(picked, offered)

    def offer(self, scale: Scale) -> None:
        """Show the steps of this scale."""
        if scale == self._scale:
            return
        self._scale = scale
        for tile in self.tiles.values():
            self._grid.removeWidget(tile)
            tile.hide()
            tile.deleteLater()
        small = self._folded or len(scale.steps) > 8
        self.tiles, across = {}, 7 if small else 1
        for k, step in enumerate(scale.steps):
            tile = StepTile(self.look, scale.method, step, small=small)
            tile.clicked.connect(lambda _=False, code=step.code: self.chosen.emit(code))
            self._grid.addWidget(tile, k // across, k % across)
            self.tiles[step.code] = tile
            tile.fit()
        self.told.setVisible(small)

    def mark(self, picked: str, offered: Sequence[str] = ()) -> None:
        """Mark the step that is picked, "" for none, and those that the area that came off allows."""
        for code, tile in self.tiles.items():
            tile.setChecked(code == picked)
            tile.offer(on=code in offered and not picked)
        one = self.tiles.get(picked)
        self.told.say(one.step.words if one is not None else self._hint())

    def _hint(self) -> str:
        """Say what to look for where no step is picked."""
        if self._scale is None or len(self._scale.steps) > 8:
            return say("The hardest pencil that does no harm is the grade.")
        best, worst = self._scale.steps[0], self._scale.steps[-1]
        return f"{best.code}: {best.words} {worst.code}: {worst.words}"


class HowTo(QWidget):
    """How a test is done: the caution, then each step in a sentence, then where it comes from."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.title = Words(look, "strong", "ink")
        self.unfit = Words(look, "body", "trouble")
        self.caution = Words(look, "body", "trouble")
        self.film = Words(look, "small", "quiet")
        self.lines: list[Words] = []
        self.source = Words(look, "small", "quiet")
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 0, 0, 0)
        self.column.setSpacing(GRID // 2)
        for part in (self.title, self.unfit, self.caution, self.film, self.source):
            self.column.addWidget(part)
        self.column.addStretch(1)
        self.title.say(say("How it is done"))

    def tell(self, told: Told, film: str) -> None:
        """Tell how this test is done."""
        self.unfit.say(told.why_not)
        self.caution.say(say("Caution: {words}", words=told.caution))
        self.film.say(film)
        self.source.say(say("Source: {source}.", source="; ".join(told.sources)))
        for part in (self.unfit, self.film):
            part.setVisible(bool(part.text()))
        while len(self.lines) < len(told.lines):
            line = Words(self.look, "small", "ink")
            self.column.insertWidget(4 + len(self.lines), line)
            self.lines.append(line)
        for k, line in enumerate(self.lines):
            line.setVisible(k < len(told.lines))
            line.say(f"{k + 1}. {told.lines[k]}" if k < len(told.lines) else "")
