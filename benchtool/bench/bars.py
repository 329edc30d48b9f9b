"""What the watch and the far view draw alike: bars of progress, words in few lines, names that are too long."""

from collections.abc import Sequence

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from benchtool.bench.controls import hatch
from benchtool.bench.look import GRID, Look, elided
from benchtool.session.due import Bar

STEPS = 400
"""In how many steps a bar grows: finer it would only be drawn more often."""


DOTS = "…"
"""What stands for a name that there is no room for at all: that something is missing is always seen."""


def steps_of(bar: Bar) -> tuple[int, int, bool]:
    """Give what a bar looks like, to tell whether it must be drawn anew."""
    return int(bar.filled * STEPS), int(bar.card * STEPS), bar.runs_out


def draw_bar(painter: QPainter, box: QRectF, bar: Bar, *, done: QColor, line: QColor, ink: QColor) -> None:
    """Draw a bar: what is filled solid, the rest of the card's time plain, what the air added hatched.

    A tick through the bar marks where the card alone would have ended.
    """
    filled, card, _ = steps_of(bar)
    edge = box.left() + box.width() * card / STEPS
    painter.fillRect(QRectF(box.left(), box.top(), edge - box.left(), box.height()), line)
    if card < STEPS:
        added = QRectF(edge, box.top(), box.right() - edge, box.height())
        thick = max(1.0, box.height() / 5)
        hatch(painter, added, ink, gap=max(5.0, box.height() * 0.9), width=thick)
        painter.fillRect(QRectF(added.left(), added.top(), added.width(), thick), ink)
        painter.fillRect(QRectF(added.left(), added.bottom() - thick, added.width(), thick), ink)
    painter.fillRect(QRectF(box.left(), box.top(), box.width() * filled / STEPS, box.height()), done)
    if card < STEPS:
        over = max(2.0, box.height() * 0.5)
        wide = max(2.0, box.height() / 4)
        painter.fillRect(QRectF(edge - wide / 2, box.top() - over, wide, box.height() + 2 * over), ink)


class BarLine(QWidget):
    """A bar of progress in a pane, drawn anew only where it looks different."""

    def __init__(self, look: Look, *, indent: int = 0) -> None:
        super().__init__()
        self.look, self.indent = look, indent
        self.bar: Bar | None = None
        self.tone = "wait"
        self.setFixedHeight(2 * GRID)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        look.changed.connect(self.update)

    def show_bar(self, bar: Bar | None, tone: str) -> None:
        """Show this bar, None for no bar, in one of the theme's colours."""
        old = steps_of(self.bar) if self.bar is not None else None
        new = steps_of(bar) if bar is not None else None
        changed = old != new or tone != self.tone
        self.bar, self.tone = bar, tone
        if changed:
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        if self.bar is None:
            return
        painter, t = QPainter(self), self.look.theme
        box = QRectF(self.indent, GRID / 2, self.width() - self.indent, GRID)
        draw_bar(painter, box, self.bar, done=t.color(self.tone), line=t.color("line"), ink=t.color("quiet"))
        painter.end()


class FewLines(QWidget):
    """Words in at most so many lines, the last one shortened; figures that tick lay out nothing anew."""

    def __init__(self, look: Look, size: str, color: str, *, most: int, indent: int = 0) -> None:
        super().__init__()
        self.look, self.size_name, self.color, self.most, self.indent = look, size, color, most, indent
        self._text = ""
        self._lines: list[str] = []
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        look.changed.connect(self._break)

    def text(self) -> str:
        """Give the words, whole."""
        return self._text

    def say(self, text: str) -> None:
        """Show other words."""
        if text != self._text:
            self._text = text
            self.setAccessibleName(text)
            self._break()

    def _font(self) -> QFont:
        font: QFont = getattr(self.look, self.size_name)
        return font

    def _break(self) -> None:
        self._lines = lines_of(self._text, self._font(), self.width() - self.indent, self.most)
        height = int(QFontMetricsF(self._font()).height() * max(1, len(self._lines))) + 1
        if height != self.height():
            self.setFixedHeight(height)
        self.update()

    def resizeEvent(self, event: object) -> None:
        self._break()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setFont(self._font())
        painter.setPen(self.look.theme.color(self.color))
        high = QFontMetricsF(self._font()).height()
        for i, line in enumerate(self._lines):
            box = QRectF(self.indent, i * high, self.width() - self.indent, high)
            painter.drawText(box, Qt.AlignmentFlag.AlignVCenter, line)
        painter.end()


def lines_of(text: str, font: QFont, width: float, most: int) -> list[str]:
    """Break words into at most so many lines of this width; what is left over shortens the last one."""
    metrics, line = QFontMetricsF(font), ""
    lines: list[str] = []
    words = text.split()
    for i, word in enumerate(words):
        longer = f"{line} {word}" if line else word
        if not line or metrics.horizontalAdvance(longer) <= width:
            line = longer
            continue
        if len(lines) == most - 1:
            return [*lines, elided(" ".join([line, *words[i:]]), font, width)]
        lines.append(elided(line, font, width))
        line = word
    return [*lines, elided(line, font, width)] if line else lines


def short_names(names: Sequence[str], font: QFont, width: float, between: str = ", ") -> str:
    """Join names so that they fit, the longest shortened first: what stays short stays whole."""
    metrics = QFontMetricsF(font)
    room = max(0.0, width - metrics.horizontalAdvance(between) * (len(names) - 1))
    widths = [metrics.horizontalAdvance(n) for n in names]
    share, left = room / max(1, len(names)), room
    for i, wide in enumerate(sorted(widths)):
        share = left / (len(names) - i)
        if wide > share:
            break
        left -= wide
    else:
        return between.join(names)
    cut = (elided(n, font, share) or DOTS if w > share else n for n, w in zip(names, widths, strict=True))
    return between.join(cut)
