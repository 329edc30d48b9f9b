"""Rows with a tick: what is taken over into a new job and what is not."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import QEvent, QObject, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFont, QFontMetricsF, QKeyEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import Typed

BOX = 3 * GRID
"""How wide the square of a tick is."""
_WRAPPED = Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop


class Tick(QAbstractButton):
    """A square with a tick or without, beside a name and what else there is to say, in as many lines as it takes."""

    def __init__(self, look: Look, key: str, name: str, words: str, object_name: str) -> None:
        super().__init__()
        self.look, self.key, self.words = look, key, words
        self.setObjectName(object_name)
        self.setText(name)
        self.setCheckable(True)
        self.setAccessibleName(f"{name}: {words}" if name and words else name or words)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        look.changed.connect(self._grow)

    def _grow(self) -> None:
        """Be as high as the words take: rows within rows are else given too little."""
        self.setMinimumHeight(self.heightForWidth(self.width()))
        self.updateGeometry()
        self.update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._grow()

    def tell(self, words: str) -> None:
        """Say other words beside the name."""
        if words != self.words:
            self.words = words
            self.setAccessibleName(f"{self.text()}: {words}" if self.text() and words else self.text() or words)
            self._grow()

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        room = max(1.0, width - BOX - 3.5 * GRID)
        return max(self.look.target, int(sum(h for _, _, _, h in self._lines(room)) + 2 * GRID))

    def sizeHint(self) -> QSize:
        return QSize(40 * GRID, self.heightForWidth(40 * GRID))

    def minimumSizeHint(self) -> QSize:
        return QSize(20 * GRID, self.look.target)

    def _lines(self, room: float) -> list[tuple[str, QFont, str, float]]:
        told = [(self.text(), self.look.strong, "ink"), (self.words, self.look.small, "quiet")]
        if not self.text():
            told = [(self.words, self.look.body, "ink")]
        box = QRectF(0, 0, room, 10_000)
        return [
            (words, font, tone, QFontMetricsF(font).boundingRect(box, int(_WRAPPED), words).height())
            for words, font, tone in told
            if words
        ]

    def paintEvent(self, event: QPaintEvent) -> None:
        t, painter = self.look.theme, QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        painter.setBrush(t.color("raised"))
        painter.setPen(QPen(t.color("line"), 1))
        painter.drawRoundedRect(box, 3, 3)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(t.color("accent"), 2))
            painter.drawRoundedRect(box.adjusted(2, 2, -2, -2), 2, 2)
        room = box.adjusted(BOX + 2 * GRID, 0, -GRID, 0)
        lines = self._lines(room.width())
        top = box.center().y() - sum(h for _, _, _, h in lines) / 2
        self._draw_box(painter, QRectF(box.left() + GRID, box.center().y() - BOX / 2, BOX, BOX))
        for words, font, tone, height in lines:
            painter.setFont(font)
            painter.setPen(t.color(tone))
            painter.drawText(QRectF(room.left(), top, room.width(), height + 2), int(_WRAPPED), words)
            top += height
        painter.end()

    def _draw_box(self, painter: QPainter, box: QRectF) -> None:
        t = self.look.theme
        painter.setPen(QPen(t.color("accent" if self.isChecked() else "quiet"), 1.5))
        painter.setBrush(t.color("accent") if self.isChecked() else t.color("paper"))
        painter.drawRoundedRect(box, 3, 3)
        if self.isChecked():
            painter.setPen(QPen(t.color("accent_ink"), 2.5, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
            x, y, r = box.center().x(), box.center().y(), 0.28 * BOX
            painter.drawPolyline([QPointF(x - r, y), QPointF(x - 0.2 * r, y + 0.8 * r), QPointF(x + r, y - 0.8 * r)])


class Ticks(QWidget):
    """Rows with a tick under a heading; the arrow keys go from row to row, the space bar ticks."""

    changed = Signal()

    def __init__(self, look: Look, label: str, name: str) -> None:
        super().__init__()
        self.look = look
        self.setObjectName(name)
        self.label = Words(look, "small", "quiet")
        self.label.say(label)
        self.fault = Words(look, "small", "trouble")
        self.fault.hide()
        self.ticks: dict[str, Tick] = {}
        self.fields: dict[str, Typed] = {}
        self._lines: list[QWidget] = []
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(GRID // 2)
        self._column.addWidget(self.label)
        self._column.addWidget(self.fault)

    def offer(
        self,
        rows: Sequence[tuple[str, str, str]],
        ticked: frozenset[str],
        field: Callable[[str], Typed] | None = None,
    ) -> None:
        """Show these rows (key, name, words), some of them ticked; `field` makes what is typed beside one of a key."""
        for old in self._lines:
            self._column.removeWidget(old)
            old.hide()
            old.deleteLater()
        self._lines, self.ticks, self.fields = [], {}, {}
        for key, name, words in rows:
            tick = Tick(self.look, key, name, words, f"{self.objectName()}-{len(self.ticks)}")
            tick.setChecked(key in ticked)
            tick.toggled.connect(lambda _: self._turned())
            tick.installEventFilter(self)
            self.ticks[key] = tick
            line: QWidget = tick
            if field is not None:
                line, typed = QWidget(), field(key)
                row = QHBoxLayout(line)
                row.setContentsMargins(0, 0, 0, GRID // 2)
                row.setSpacing(GRID)
                row.addWidget(tick, 7)
                row.addWidget(typed, 4, Qt.AlignmentFlag.AlignTop)
                self.fields[key] = typed
            self._lines.append(line)
            self._column.insertWidget(self._column.count() - 1, line)
            line.show()  # at once: Tab goes to what is shown
        self.setVisible(bool(rows))

    @property
    def ticked(self) -> tuple[str, ...]:
        """The keys of the rows that are ticked, in order."""
        return tuple(key for key, tick in self.ticks.items() if tick.isChecked())

    def _turned(self) -> None:
        self.complain("")
        self.changed.emit()

    def complain(self, message: str) -> None:
        """Say what is wrong, or with no message that nothing is."""
        self.fault.say(message)
        self.fault.setVisible(bool(message))

    def take_focus(self) -> None:
        """Put the focus on the first row."""
        first = next(iter(self.ticks.values()), None)
        if first is not None:
            first.setFocus(Qt.FocusReason.OtherFocusReason)

    def stops(self) -> Sequence[QWidget]:
        """Give the rows, each with what is typed beside it."""
        found: list[QWidget] = []
        for key, tick in self.ticks.items():
            found.append(tick)
            found += [self.fields[key].edit] if key in self.fields else []
        return found

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if not isinstance(event, QKeyEvent) or event.type() is not QEvent.Type.KeyPress:
            return False
        step = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}.get(Qt.Key(event.key()), 0)
        rows = list(self.ticks.values())
        here = next((i for i, row in enumerate(rows) if row is watched), None)
        if not step or here is None:
            return False
        rows[max(0, min(len(rows) - 1, here + step))].setFocus(Qt.FocusReason.OtherFocusReason)
        return True
