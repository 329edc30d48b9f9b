"""The figures of the air now, and what a calendar file would hold: two sections of the page of the air."""

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.look import GRID, Look, elided
from benchtool.bench.plansheet import Section
from benchtool.session.airview import AirNow, Figure
from benchtool.session.calendars import nothing_to_tell
from benchtool.sheets.calendar import LEAST

_LARGE = 3
"""So many of the figures stand large: what is asked before each coat."""


def unbroken(words: str) -> str:
    """Keep each unit on the line of its number."""
    return words.replace(" °", "\u00a0°").replace(" %", "\u00a0%")


class NowSection(Section):
    """The figures of now, and whether the piece may be painted in this air."""

    def __init__(self, look: Look) -> None:
        super().__init__(look, "Now")
        self.setObjectName("air-now")
        self.column.setSpacing(GRID)
        self.figures = Figures(look)
        self.words = Words(look, "body", "ink")
        self.source = Words(look, "small", "quiet")
        self.notes = Words(look, "small", "quiet")
        self.add(self.source, self.figures, self.words, self.notes)

    def show_air(self, told: AirNow) -> None:
        """Show this."""
        self.title.say("Now, as expected" if told.expected else "Now")
        self.figures.show_figures(told.figures)
        self.words.say(unbroken(told.words), "trouble" if told.wrong else "ink")
        for part, words in ((self.source, told.source), (self.notes, " ".join(told.notes))):
            part.say(unbroken(words))
            part.setVisible(bool(words))


class Figures(QWidget):
    """Figures in two sizes: what is asked before each coat side by side, the rest in rows below."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.figures: tuple[Figure, ...] = ()
        self.setObjectName("air-figures")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        look.changed.connect(self.updateGeometry)
        self.hide()

    def show_figures(self, figures: tuple[Figure, ...]) -> None:
        """Show these."""
        if figures != self.figures:
            resized = len(figures) != len(self.figures)
            self.figures = figures
            self.setAccessibleName(", ".join(f.words for f in figures))
            if resized:
                self.updateGeometry()
            self.setVisible(bool(figures))
            self.update()

    def _heights(self) -> tuple[float, float]:
        small = QFontMetricsF(self.look.small).height()
        return 2 * small + QFontMetricsF(self.look.title).height() + GRID, small + GRID * 0.75

    def sizeHint(self) -> QSize:
        top, row = self._heights()
        return QSize(40 * GRID, int(top + row * max(0, len(self.figures) - _LARGE)))

    def minimumSizeHint(self) -> QSize:
        return QSize(20 * GRID, self.sizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        top, row = self._heights()
        self._draw_large(painter, self.figures[:_LARGE])
        for i, figure in enumerate(self.figures[_LARGE:]):
            self._draw_row(painter, QRectF(0, top + i * row, self.width(), row), figure)
        painter.end()

    def _draw_large(self, painter: QPainter, figures: Sequence[Figure]) -> None:
        t, look = self.look.theme, self.look
        small, big = QFontMetricsF(look.small).height(), QFontMetricsF(look.title).height()
        # the last one's name is the longest
        widths = [0.3 * self.width(), 0.26 * self.width(), 0.44 * self.width()]
        left = 0.0
        for figure, width in zip(figures, widths, strict=False):
            y = 0.0
            known = figure.value[:1].isdigit() or figure.value[:1] == "-"
            for text, font, color, height in (
                (figure.name, look.small, "quiet", small),
                (figure.value, look.title if known else look.strong, "ink" if known else "quiet", big),
                (figure.beside, look.small, "quiet", small),
            ):
                painter.setFont(font)
                painter.setPen(t.color(color))
                box = QRectF(left, y, width - GRID, height)
                painter.drawText(box, Qt.AlignmentFlag.AlignVCenter, elided(text, font, box.width()))
                y += height
            left += width

    def _draw_row(self, painter: QPainter, box: QRectF, figure: Figure) -> None:
        t, look, middle = self.look.theme, self.look, Qt.AlignmentFlag.AlignVCenter
        painter.setPen(t.color("line"))
        painter.drawLine(box.topLeft(), box.topRight())
        painter.setFont(look.small)
        painter.setPen(t.color("quiet"))
        painter.drawText(box, middle, elided(figure.name, look.small, box.width() * 0.55))
        beside = QRectF(box.left() + box.width() * 0.78, box.top(), box.width() * 0.22, box.height())
        painter.drawText(beside, middle | Qt.AlignmentFlag.AlignRight, figure.beside)
        known = figure.value[:1].isdigit() or figure.value[:1] == "-"
        painter.setPen(t.color("ink" if known else "quiet"))
        value = QRectF(box.left(), box.top(), box.width() * 0.76, box.height())
        painter.drawText(value, middle | Qt.AlignmentFlag.AlignRight, figure.value)


class CalendarSection(Section):
    """The long waits, for a phone that rings away from the bench."""

    MOST = 3

    def __init__(self, look: Look) -> None:
        super().__init__(look, "Calendar")
        self.setObjectName("air-calendar")
        self.column.setSpacing(GRID)
        self.words = Words(look, "small", "quiet")
        self.go = BenchButton(look, "Put the long waits into a calendar file", "Y", name="air-calendar-go")
        self.add(self.words, self.go)

    def show_words(self, summaries: Sequence[str]) -> None:
        """Say what the file would hold."""
        if not summaries:
            self.words.say(nothing_to_tell(LEAST))
            return
        more = f", and {len(summaries) - self.MOST} more" if len(summaries) > self.MOST else ""
        self.words.say(f"So that a phone rings for them: {'; '.join(summaries[: self.MOST])}{more}.")
