"""What kind of product a new card is of: big rows to choose from, and the line that says what was chosen."""

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QKeyEvent, QPainter, QResizeEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.look import GRID, Look, elided
from benchtool.bench.planparts import Buttons
from benchtool.session.cardtemplates import Template, template_words, templates
from benchtool.trade.saying import say, say_n

_KEYS = "1234567890ABCDEFG"
_ROW = 7 * GRID


class KindButton(BenchButton):
    """One kind of product: its key, its name, and quieter below it what tells it from the others."""

    def __init__(self, look: Look, template: Template, key: str) -> None:
        super().__init__(look, template.name, key, name=f"card-kind-{template.id}")
        self.detail = template.detail
        self.setAccessibleName(f"{key}: {template.name}, {template.detail}")
        self._relook()

    def _relook(self) -> None:
        super()._relook()
        self.setMinimumHeight(max(self.look.target, int(_ROW * self.look.scale)))

    def sizeHint(self) -> QSize:
        return QSize(super().sizeHint().width(), max(self.look.target, int(_ROW * self.look.scale)))

    def _draw_words(self, painter: QPainter, box: QRectF, ink: QColor) -> None:
        look, inner = self.look, box.adjusted(2 * GRID, 0, -GRID, 0)
        high, low = QFontMetricsF(look.strong).height(), QFontMetricsF(look.small).height()
        figure = QFontMetricsF(look.strong).horizontalAdvance("0") + 2 * GRID
        painter.setPen(ink)
        painter.setFont(look.strong)
        painter.drawText(QRectF(inner.left(), inner.top(), figure, inner.height()), _MIDDLE, self.key)
        top, left = inner.center().y() - (high + low) / 2, inner.left() + figure
        room = inner.right() - left
        painter.drawText(QRectF(left, top, room, high), _MIDDLE, elided(self.text(), look.strong, room))
        painter.setFont(look.small)
        painter.setPen(QColor(ink.red(), ink.green(), ink.blue(), 200))
        painter.drawText(QRectF(left, top + high, room, low), _MIDDLE, elided(self.detail, look.small, room))


_MIDDLE = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft


class KindPick(QWidget):
    """The first question of a new card. A figure chooses, and so do the arrow keys with Enter."""

    chosen = Signal(str)
    moved = Signal()

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        heading, how = Words(look, "strong", "ink"), Words(look, "small", "quiet")
        heading.say(say("What kind of product is it?"))
        how.say(say("It decides what is asked first. Nothing is lost by choosing another one later."))
        self._grid = QGridLayout()
        self._grid.setSpacing(GRID)
        self.buttons: list[KindButton] = []
        for key, template in zip(_KEYS, templates().values(), strict=False):
            button = KindButton(look, template, key)
            button.clicked.connect(lambda _=False, k=template.id: self.chosen.emit(k))
            self.buttons.append(button)
        self._columns = 0
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID)
        column.addWidget(heading)
        column.addWidget(how)
        column.addLayout(self._grid)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Maximum)
        self._place(2)

    def complain(self, message: str) -> None:
        """Nothing can be wrong with a kind."""

    def take_focus(self) -> None:
        """Put the focus on the first kind."""
        self.buttons[0].setFocus(Qt.FocusReason.OtherFocusReason)

    def stops(self) -> Sequence[QWidget]:
        """Give the rows."""
        return self.buttons

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._place(max(1, min(3, int(self.width() // (40 * GRID * self.look.scale)))))

    def _place(self, columns: int) -> None:
        if columns == self._columns:
            return
        self._columns = columns
        high = -(-len(self.buttons) // columns)
        for column in range(3):
            self._grid.setColumnStretch(column, 1 if column < columns else 0)
        for i, button in enumerate(self.buttons):
            self._grid.addWidget(button, i % high, i // high)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.text().upper()
        pressed = next((b for b in self.buttons if key and b.key == key), None)
        here = next((i for i, b in enumerate(self.buttons) if b.hasFocus()), None)
        high = -(-len(self.buttons) // max(1, self._columns))
        step = {Qt.Key.Key_Down: 1, Qt.Key.Key_Up: -1, Qt.Key.Key_Right: high, Qt.Key.Key_Left: -high}
        by = step.get(Qt.Key(event.key()), 0)
        if pressed is not None and not event.modifiers() & ~Qt.KeyboardModifier.ShiftModifier:
            pressed.click()
        elif by and here is not None:
            if 0 <= here + by < len(self.buttons):
                self.buttons[here + by].setFocus(Qt.FocusReason.OtherFocusReason)
                self.moved.emit()
        else:
            super().keyPressEvent(event)


class KindLine(QWidget):
    """What kind was chosen and what that says by itself, with the way to another kind and to the other questions."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.words = Words(look, "small", "quiet")
        self.kind = BenchButton(look, say("Another kind"), "F7", name="card-other-kind")
        self.more = BenchButton(look, say("Ask everything"), "F8", name="card-ask-all")
        self.buttons = Buttons((self.kind, self.more), fill=False)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(2 * GRID)
        row.addWidget(self.buttons)
        row.addWidget(self.words, 1)

    def tell(self, template: Template | None, hidden: int, *, all_asked: bool) -> None:
        """Say which kind it is, and how many questions are left out."""
        self.words.say(template_words(template) if template is not None else "")
        self.words.setVisible(template is not None)
        self.kind.say(say("Another kind") if template is not None else say("Choose its kind"))
        if all_asked:
            self.more.say(say("Ask only what matters"))
        else:
            self.more.say(say_n("{n} more question", "{n} more questions", hidden))
        self.more.setVisible(all_asked or hidden > 0)
        for button in (self.kind, self.more):
            button.setMinimumWidth(button.sizeHint().width())
