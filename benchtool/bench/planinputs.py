"""Two more things to fill in: a small number that steps, and a colour."""

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QButtonGroup,
    QGridLayout,
    QHBoxLayout,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from benchtool.bench.controls import BenchButton, readable_on
from benchtool.bench.look import GRID, TARGET, Look
from benchtool.bench.planparts import Typed
from benchtool.session.colournames import PALETTE
from benchtool.session.planning import read_colour
from benchtool.trade.saying import say


class Stepper(Typed):
    """A small whole number with a button to either side; the up and down keys count too."""

    def __init__(self, look: Look, label: str, name: str, fewer: str, more: str) -> None:
        super().__init__(look, label, name)
        self.down = BenchButton(look, "−", name=f"{name}-less")
        self.up = BenchButton(look, "+", name=f"{name}-more")
        self.down.setAccessibleName(fewer)
        self.up.setAccessibleName(more)
        self.beside(self.down, before=True)
        self.beside(self.up)
        for button, step in ((self.down, -1), (self.up, 1)):
            button.setFixedWidth(TARGET + GRID)
            button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            button.clicked.connect(lambda _=False, s=step: self.count(s))
        self.edit.setAlignment(Qt.AlignmentFlag.AlignCenter)

    def count(self, step: int) -> None:
        """Count up or down, within 1 to 50."""
        text = self.edit.text().strip()
        now = int(text) if text.isdecimal() and len(text) < 4 else 0
        self.complain("")
        self.edit.setText(str(min(50, max(1, now + step))))
        self.edit.textEdited.emit(self.edit.text())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = {Qt.Key.Key_Up: 1, Qt.Key.Key_Down: -1}.get(Qt.Key(event.key()), 0)
        if step:
            self.count(step)
            event.accept()
        else:
            super().keyPressEvent(event)


class Swatch(QAbstractButton):
    """One plain colour."""

    def __init__(self, look: Look, colour: str, words: str) -> None:
        super().__init__()
        self.look, self.colour = look, colour
        self.setObjectName(f"colour-{words.lower().replace(' ', '-')}")
        self.setAccessibleName(f"Colour: {words}")
        self.setToolTip(words)
        self.setCheckable(True)
        self.setMinimumSize(TARGET, look.target)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        look.changed.connect(self._relook)

    def _relook(self) -> None:
        self.setMinimumHeight(self.look.target)
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(TARGET, self.look.target)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t = QPainter(self), self.look.theme
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        painter.setBrush(QColor(self.colour))
        painter.setPen(QPen(t.color("line"), 1))
        painter.drawRoundedRect(box, 3, 3)
        ink = readable_on(QColor(self.colour))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        if self.isChecked():
            painter.setPen(QPen(ink, 3))
            middle = box.center()
            painter.drawPolyline([middle + p for p in _TICK])
        if self.hasFocus():
            painter.setPen(QPen(ink, 2))
            painter.drawRoundedRect(box.adjusted(3, 3, -3, -3), 2, 2)
        painter.end()


_TICK = (QPointF(-8, 0), QPointF(-2, 6), QPointF(9, -6))


class _Chip(QWidget):
    """Shows the colour that is typed, or by a stroke that it is none."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look, self.colour = look, ""
        self.setFixedWidth(TARGET)
        look.changed.connect(self.update)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t = QPainter(self), self.look.theme
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        painter.setPen(QPen(t.color("line"), 1))
        painter.setBrush(QColor(self.colour) if self.colour else Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(box, 3, 3)
        if not self.colour:
            painter.drawLine(box.bottomLeft(), box.topRight())
        painter.end()


class ColourPick(QWidget):
    """A colour by its number or from a few plain ones; none is an answer."""

    changed = Signal()

    def __init__(self, look: Look, name: str = "layer-colour", beside: QWidget | None = None) -> None:
        """Make it; with something `beside` the field the plain colours lie in one row where there is room for it."""
        super().__init__()
        self.low = beside is not None
        self.field = Typed(look, "Colour, if it has one", name, say("deep blue, or #1f4e9e"))
        self.group = QButtonGroup(self)
        self.group.setExclusive(False)
        self.grid = grid = QGridLayout()
        grid.setSpacing(GRID // 2)
        self.swatches = [Swatch(look, colour, words) for colour, words in PALETTE]
        self._across = 0
        self._lay_swatches(6)
        for swatch in self.swatches:
            self.group.addButton(swatch)
            swatch.clicked.connect(lambda on=False, s=swatch: self._take(s, on=on))
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID // 2)
        self.chip = _Chip(look)
        self.field.beside(self.chip)
        line = QHBoxLayout()
        line.setSpacing(2 * GRID)
        line.addWidget(self.field, 1)
        if beside is not None:
            line.addWidget(beside, 1)
        column.addLayout(line)
        column.addLayout(grid)
        self.field.edit.textChanged.connect(self._mark)

    def _lay_swatches(self, across: int) -> None:
        if across != self._across:
            self._across = across
            for i, swatch in enumerate(self.swatches):
                self.grid.addWidget(swatch, i // across, i % across)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        n = len(self.swatches)
        one_row = self.low and self.width() >= n * (TARGET + GRID // 2)
        self._lay_swatches(n if one_row else n // 2)

    def text(self) -> str:
        """Give what is typed."""
        return self.field.text()

    def fill(self, text: str) -> None:
        """Show this colour."""
        self.field.fill(text)
        self._mark(text)

    def complain(self, message: str) -> None:
        """Say what is wrong, or with no message that nothing is."""
        self.field.complain(message)

    def take_focus(self) -> None:
        """Put the cursor in the field."""
        self.field.take_focus()

    def stops(self) -> Sequence[QWidget]:
        """Give the field, and the colour chosen or else the first."""
        return (self.field.edit, next((s for s in self.swatches if s.isChecked()), self.swatches[0]))

    def _take(self, swatch: Swatch, *, on: bool) -> None:
        self.field.fill(swatch.colour if on else "")
        self.changed.emit()

    def _mark(self, text: str) -> None:
        try:
            self.chip.colour = read_colour(text) or ""
        except ValueError:
            self.chip.colour = ""
        self.chip.update()
        for swatch in self.swatches:
            swatch.setChecked(swatch.colour == self.chip.colour)
            swatch.setAccessibleDescription("chosen" if swatch.isChecked() else "")
