"""The few controls that the panes share, drawn in the bench's own look."""

import re
from collections.abc import Sequence

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QKeyEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QButtonGroup,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from benchtool.bench.look import GRID, TARGET, Look, elided, fitted


class BenchButton(QAbstractButton):
    """A flat button with its key beside its name. `primary` says that the painter's hands are needed."""

    def __init__(self, look: Look, text: str, key: str = "", *, name: str = "", primary: bool = False) -> None:
        super().__init__()
        self.look = look
        self.key = key
        self.primary = primary
        self.setText(text)
        self.setObjectName(name)
        self.setAccessibleName(text)
        self.setMinimumHeight(TARGET)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        look.changed.connect(self._relook)

    def say(self, text: str, *, primary: bool | None = None) -> None:
        """Give the button other words."""
        if text != self.text():
            self.setText(text)
            self.setAccessibleName(text)
            self.updateGeometry()
        if primary is not None and primary != self.primary:
            self.primary = primary
            self.update()

    def show_key(self, key: str) -> None:
        """Give it another key, or with "" none."""
        if key != self.key:
            self.key = key
            self.updateGeometry()
            self.update()

    def _relook(self) -> None:
        self.setMinimumHeight(self.look.target)
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        words = QFontMetricsF(self.look.strong).horizontalAdvance(self.text())
        hint = QFontMetricsF(self.look.small).horizontalAdvance(self.key) + GRID if self.key else 0
        return QSize(int(words + hint + 4 * GRID), self.look.target)

    def minimumSizeHint(self) -> QSize:
        return QSize(min(self.sizeHint().width(), 7 * GRID), self.look.target)

    def paintEvent(self, event: QPaintEvent) -> None:
        t, painter = self.look.theme, QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        filled = self.primary or self.isChecked()
        fill = t.color("accent") if filled else t.color("raised")
        ink = t.color("accent_ink") if filled else t.color("ink")
        if not self.isEnabled():
            fill, ink = t.color("paper"), t.color("quiet")
        if self.isDown():
            fill = fill.darker(112) if t.name == "light" else fill.lighter(125)
        painter.setBrush(fill)
        painter.setPen(QPen(t.color("line") if not filled or not self.isEnabled() else fill, 1))
        painter.drawRoundedRect(box, 3, 3)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(ink if filled else t.color("accent"), 2))
            painter.drawRoundedRect(box.adjusted(3, 3, -3, -3), 2, 2)
        self._draw_words(painter, box, ink)
        painter.end()

    def _draw_words(self, painter: QPainter, box: QRectF, ink: QColor) -> None:
        faint = QColor(ink.red(), ink.green(), ink.blue(), 190)
        hint = QFontMetricsF(self.look.small).horizontalAdvance(self.key) if self.key else 0.0
        inner = box.adjusted(1.5 * GRID, 0, -1.5 * GRID, 0)
        room = inner.width() - (hint + GRID if hint else 0)
        words = QFontMetricsF(self.look.strong).horizontalAdvance(self.text())
        painter.setPen(ink)
        if words > room:  # too narrow for one line: the key goes under the words, or out of the way
            self._draw_stacked(painter, box.adjusted(3, 3, -3, -3), ink, faint)
            return
        left = inner.left() + (room - words) / 2
        painter.setFont(self.look.strong)
        spot = QRectF(left, inner.top(), words + 2, inner.height())
        painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, self.text())
        if hint:
            painter.setFont(self.look.small)
            painter.setPen(faint)
            spot = QRectF(inner.right() - hint, inner.top(), hint + 1, inner.height())
            painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, self.key)

    def _draw_stacked(self, painter: QPainter, box: QRectF, ink: QColor, faint: QColor) -> None:
        font = self.look.strong
        if QFontMetricsF(font).horizontalAdvance(self.text()) > box.width():
            font = self.look.small
        middle = Qt.AlignmentFlag.AlignCenter
        upper = QRectF(box.left(), box.top(), box.width(), box.height() * (0.58 if self.key else 1.0))
        painter.setFont(font)
        painter.drawText(upper, middle, elided(self.text(), font, box.width()))
        if self.key:
            painter.setFont(self.look.small)
            painter.setPen(faint)
            painter.drawText(QRectF(box.left(), upper.bottom(), box.width(), box.height() * 0.42), middle, self.key)


class Choice(QWidget):
    """One of a few, side by side, each a full target."""

    chosen = Signal(str)

    def __init__(self, look: Look, name: str, accessible: str) -> None:
        super().__init__()
        self.look = look
        self.setObjectName(name)
        self.setAccessibleName(accessible)
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(GRID // 2)
        self._group = QButtonGroup(self)
        self._group.setExclusive(True)
        self._options: tuple[tuple[str, str], ...] = ()
        self._buttons: dict[str, BenchButton] = {}

    def offer(self, options: Sequence[tuple[str, str]], chosen: str | None, remarks: Sequence[str] = ()) -> None:
        """Show these (key, words), with one of them chosen or none; `remarks` stand small on the button of each."""
        if tuple(options) != self._options:
            self._options = tuple(options)
            for button in self._buttons.values():
                self._group.removeButton(button)
                self._row.removeWidget(button)
                button.hide()
                button.deleteLater()
            self._buttons = {}
            for key, words in options:
                button = BenchButton(self.look, words, name=f"{self.objectName()}-{key}")
                button.setCheckable(True)
                button.clicked.connect(lambda _=False, k=key: self.chosen.emit(k))
                self._group.addButton(button)
                self._row.addWidget(button, 1)
                self._buttons[key] = button
        for button, remark in zip(self._buttons.values(), remarks, strict=False):
            button.key = remark
            button.setAccessibleName(f"{button.text()}, {remark}" if remark else button.text())
            button.update()
        self._group.setExclusive(False)
        for key, button in self._buttons.items():
            button.setChecked(key == chosen)
            button.setAccessibleDescription("chosen" if key == chosen else "")
        self._group.setExclusive(chosen is not None)


class Words(QLabel):
    """A line or paragraph of plain text in one of the four sizes and one of the theme's colours."""

    def __init__(self, look: Look, size: str = "body", color: str = "ink", *, wrap: bool = True) -> None:
        super().__init__()
        self.look, self.size_name = look, size
        self.shorten = elided
        self.setProperty("tone", color)  # the style sheet of the look colours words by their tone
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(wrap)
        self.setTextInteractionFlags(Qt.TextInteractionFlag.NoTextInteraction)
        look.changed.connect(self._relook)
        self._relook()

    def say(self, text: str, color: str | None = None) -> None:
        """Show other words, perhaps in another colour."""
        if text != self.text():
            self.setText(text)
        if color is not None and color != self.property("tone"):
            self.setProperty("tone", color)
            self.style().unpolish(self)
            self.style().polish(self)

    def _relook(self) -> None:
        self.setFont(getattr(self.look, self.size_name))

    def paintEvent(self, event: QPaintEvent) -> None:
        if self.wordWrap() or self.fontMetrics().horizontalAdvance(self.text()) <= self.width() - max(0, self.indent()):
            super().paintEvent(event)
            return
        painter = QPainter(self)
        painter.setFont(self.font())
        painter.setPen(self.look.theme.color(str(self.property("tone"))))
        box = QRectF(self.contentsRect()).adjusted(max(0, self.indent()), 0, 0, 0)
        text = self.shorten(self.text(), self.font(), box.width())
        painter.drawText(box, self.alignment() | Qt.AlignmentFlag.AlignVCenter, text)
        painter.end()


_FIGURE = re.compile(r"\d")


class TickingWords(QWidget):
    """Words whose figures go on each second: they lay out nothing anew while the rest of the words stays."""

    def __init__(self, look: Look, size: str = "body", color: str = "ink") -> None:
        super().__init__()
        self.words = Words(look, size, color)
        self.words.setParent(self)  # in no layout, so that a new text is its own affair
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        look.changed.connect(self.updateGeometry)

    def text(self) -> str:
        """Give the words shown."""
        return self.words.text()

    def say(self, text: str, color: str | None = None) -> None:
        """Show other words, perhaps in another colour."""
        before = self.words.text()
        self.words.say(text, color)
        if _FIGURE.sub("0", text) != _FIGURE.sub("0", before):  # figures are of equal width
            self.updateGeometry()

    def heightForWidth(self, width: int) -> int:
        return self.words.heightForWidth(width)

    def sizeHint(self) -> QSize:
        return self.words.sizeHint()

    def minimumSizeHint(self) -> QSize:
        return self.words.minimumSizeHint()

    def resizeEvent(self, event: QResizeEvent) -> None:
        self.words.setGeometry(self.rect())


class BigText(QWidget):
    """Figures in one of the large sizes, made smaller only where their room asks for it."""

    def __init__(self, look: Look, size: str, *, indent: int = 0) -> None:
        super().__init__()
        self.look, self.size_name, self.indent = look, size, indent
        self.text, self.tone = "", "ink"
        self._room: int | None = None
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        look.changed.connect(self._relook)
        self._relook()

    def show_text(self, text: str, tone: str = "ink") -> None:
        """Show this text in one of the theme's colours."""
        if (text, tone) != (self.text, self.tone):
            self.text, self.tone = text, tone
            self.setAccessibleName(text)
            self.update()

    def make_room(self, height: int) -> None:
        """Take no more than this height."""
        self._room = max(3 * GRID, height)
        self._relook()

    def _relook(self) -> None:
        # figures have no tails, but the g of a weight does
        full = round(getattr(self.look, self.size_name).pixelSize() * (1.2 if self.size_name == "amount" else 1.05))
        self.setFixedHeight(full if self._room is None else min(full, self._room))
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        room = self.width() - self.indent - 2
        tails = self.size_name == "amount" or any(c in "gjpqy" for c in self.text)
        high = self.height() / (1.2 if tails else 1.05)
        painter.setFont(fitted(self.look, self.text, room, int(high)))
        painter.setPen(self.look.theme.color(self.tone))
        box = QRectF(self.indent, 0, room, self.height())
        painter.drawText(box, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, self.text)
        painter.end()


class AmountEdit(QLineEdit):
    """A line for an amount. No amount begins with a letter, so while it is empty a few letters stay the bench's keys.

    Only those that spoil nothing when hit by mistake: undo, the alarm, the far view, scale and can. Shift+T goes back
    to a trial whatever is typed: no amount has a large T in it, and what is typed stays.
    """

    KEPT = frozenset({Qt.Key.Key_U, Qt.Key.Key_H, Qt.Key.Key_X, Qt.Key.Key_F, Qt.Key.Key_W, Qt.Key.Key_K})

    def event(self, event: QEvent) -> bool:
        if event.type() is QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            shift = event.modifiers() == Qt.KeyboardModifier.ShiftModifier
            plain = shift or event.modifiers() == Qt.KeyboardModifier.NoModifier
            to_the_trial = shift and event.key() == Qt.Key.Key_T
            if to_the_trial or (plain and event.key() in self.KEPT and not self.text()):
                event.ignore()
                return False
        return super().event(event)


class Field(QWidget):
    """A line to type in, its name over it, and below it what is wrong with what was typed."""

    entered = Signal(str)

    def __init__(
        self, look: Look, label: str, name: str, placeholder: str = "", *, edit: QLineEdit | None = None
    ) -> None:
        super().__init__()
        self.look = look
        self.label = Words(look, "small", "quiet", wrap=False)
        self.label.say(label)
        self.label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.edit = edit if edit is not None else QLineEdit()
        self.edit.setObjectName(name)
        self.edit.setAccessibleName(label)
        self.edit.setPlaceholderText(placeholder)
        self.edit.setMaxLength(4_000)
        self.label.setBuddy(self.edit)
        self.fault = Words(look, "small", "trouble")
        self.fault.hide()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID // 2)
        for part in (self.label, self.edit, self.fault):
            column.addWidget(part)
        self.edit.returnPressed.connect(lambda: self.entered.emit(self.edit.text()))
        self.edit.textEdited.connect(lambda _: self.complain(""))
        look.changed.connect(self._relook)
        self._relook()

    def text(self) -> str:
        """Give what is typed."""
        return self.edit.text()

    def complain(self, message: str) -> None:
        """Say what is wrong, or with no message that nothing is; what was typed stays."""
        self.fault.say(message)
        self.fault.setVisible(bool(message))
        self.edit.setAccessibleDescription(message)
        if bool(self.edit.property("wrong")) != bool(message):
            self.edit.setProperty("wrong", bool(message))
            self.edit.style().unpolish(self.edit)
            self.edit.style().polish(self.edit)

    def _relook(self) -> None:
        self.edit.setFont(self.look.body)


class Pane(QWidget):
    """A region of the bench: its name small at the top, the rest below; drawn flat on the paper."""

    def __init__(self, look: Look, title: str, name: str) -> None:
        super().__init__()
        self.look = look
        self.setObjectName(name)
        self.setAccessibleName(title)
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        self.column.setSpacing(GRID)
        look.changed.connect(self.update)

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self.update()


class Rule(QWidget):
    """A hairline between panes."""

    def __init__(self, look: Look, *, upright: bool) -> None:
        super().__init__()
        self.look = look
        if upright:
            self.setFixedWidth(1)
        else:
            self.setFixedHeight(1)
        look.changed.connect(self.update)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), self.look.theme.color("line"))
        painter.end()


def scrolled(body: QWidget) -> QScrollArea:
    """Put `body` in an area that rolls up and down where its room is short, and takes no focus of its own."""
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFrameShape(QScrollArea.Shape.NoFrame)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setWidget(body)
    return area


def hatch(painter: QPainter, box: QRectF, color: QColor, *, gap: float = 8, width: float = 1.5, lean: int = 1) -> None:
    """Rule slanting lines over `box`: the pattern for what is wet, bare or wrong, whatever the colour."""
    painter.save()
    painter.setClipRect(box, Qt.ClipOperation.IntersectClip)
    painter.setPen(QPen(color, width))
    height, x = box.height(), box.left() - box.height()
    while x < box.right() + height:
        start, end = (x, x + height) if lean > 0 else (x + height, x)
        painter.drawLine(int(start), int(box.bottom()), int(end), int(box.top()))
        x += gap
    painter.restore()


def readable_on(color: QColor) -> QColor:
    """Give black or white, whichever stands out from `color`."""
    light = 0.299 * color.redF() + 0.587 * color.greenF() + 0.114 * color.blueF()
    return QColor("#111111") if light > 0.55 else QColor("#ffffff")
