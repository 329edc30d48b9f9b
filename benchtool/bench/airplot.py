"""The plot of the air: temperatures on the left, humidity on the right, the running windows below on the same time."""

import math
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from benchtool.bench.airbars import bars_height, draw_bars
from benchtool.bench.controls import hatch
from benchtool.bench.look import GRID, Look
from benchtool.session.airsteps import Damp, Line, Run
from benchtool.session.airview import Picture
from benchtool.trade.air import MARGIN_K

DIVISIONS = 5
"""Both axes are divided so, and share their lines."""

_STEPS = (2.0, 4.0, 5.0, 10.0, 20.0, 40.0)
_MARK_EVERY = 11 * GRID


@dataclass(frozen=True, slots=True)
class Style:
    """How a line is told from the others: its width, its mark, its colour, its name."""

    color: str
    width: float
    mark: str
    name: str
    unit: str


STYLES = {
    Line.HUMIDITY: Style("quiet", 1.5, "circle", "Humidity", "%"),
    Line.DEW: Style("wait", 2.0, "drop", "Dew point", "°C"),
    Line.SURFACE: Style("accent", 1.5, "square", "Surface", "°C"),
    Line.AIR: Style("ink", 2.5, "", "Air", "°C"),
}


def axis(low: float, high: float) -> tuple[float, float]:
    """Give the lowest value and the step of an axis that holds both in `DIVISIONS` even parts."""
    for step in _STEPS:
        bottom = math.floor((low - 0.5) / step) * step
        if bottom + DIVISIONS * step >= high + 0.5:
            return bottom, step
    step = math.ceil((high - low + 1) / DIVISIONS / 10) * 10.0
    return math.floor(low / step) * step, step


@dataclass(frozen=True, slots=True)
class Frame:
    """Where things lie: the box of the lines, the box of the windows, and the scales."""

    plot: QRectF
    bars: QRectF
    start_s: float
    end_s: float
    bottom_degC: float
    step_degC: float

    def x(self, at_s: float) -> float:
        """Give where a moment lies."""
        return self.plot.left() + (at_s - self.start_s) / (self.end_s - self.start_s) * self.plot.width()

    def y(self, line: Line, value: float) -> float:
        """Give where a value of a line lies."""
        share = value / 100 if line is Line.HUMIDITY else (value - self.bottom_degC) / (self.step_degC * DIVISIONS)
        return self.plot.bottom() - share * self.plot.height()


class AirPlot(QWidget):
    """Draws a picture of the air. It is worked out elsewhere and painted only when it is another."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.picture: Picture | None = None
        self.instead = ""
        self.setObjectName("air-plot")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumHeight(30 * GRID)
        look.changed.connect(self.update)

    def show_picture(self, picture: Picture | None, words: str, instead: str = "") -> None:
        """Draw this; `words` say the same for whoever can't see it, `instead` what stands where no air is known."""
        self.setAccessibleName(words)
        if picture != self.picture or instead != self.instead:
            self.picture, self.instead = picture, instead
            self.update()

    def sizeHint(self) -> QSize:
        return QSize(90 * GRID, 56 * GRID)

    # --- where ------------------------------------------------------------------------------------

    def frame(self, picture: Picture) -> Frame:
        """Say where everything lies in the widget as it is now."""
        metrics = QFontMetricsF(self.look.small)
        line, left, right = metrics.height(), metrics.horizontalAdvance("-10") + GRID, metrics.horizontalAdvance("100 ")
        whole = QRectF(self.rect()).adjusted(left, 1.5 * line + GRID / 2, -right - GRID / 2, -GRID / 2)
        foot = 2 * line + GRID / 2
        height = bars_height(self.look, picture, (whole.height() - foot) * 0.52)
        plot = QRectF(whole.left(), whole.top(), whole.width(), max(1.0, whole.height() - foot - height))
        bars = QRectF(whole.left(), plot.bottom() + foot, whole.width(), height)
        return Frame(plot, bars, picture.start_s, picture.end_s, *axis(picture.low_degC, picture.high_degC))

    # --- what -------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        picture = self.picture
        if picture is None:
            self._say_instead(painter, QRectF(self.rect()))
        else:
            frame = self.frame(picture)
            self._draw_axes(painter, frame, picture)
            painter.save()
            painter.setClipRect(frame.plot.adjusted(0, -1, 1, 1))
            self._draw_gaps(painter, frame, picture)
            self._draw_damp(painter, frame, picture)
            for line in STYLES:
                for run in picture.lines[line]:
                    self._draw_run(painter, frame, line, run)
            painter.restore()
            self._name_damp(painter, frame, picture)
            self._draw_labels(painter, frame, picture)
            self._draw_now(painter, frame, picture)
            if picture.empty:
                self._say_instead(painter, frame.plot)
            draw_bars(painter, self.look, frame.bars, frame.x, picture)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(self.look.theme.color("accent"), 2))
            painter.drawRect(QRectF(self.rect()).adjusted(1, 1, -1, -1))
        painter.end()

    def _say_instead(self, painter: QPainter, box: QRectF) -> None:
        painter.setFont(self.look.body)
        painter.setPen(self.look.theme.color("quiet"))
        middle = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
        room = box.adjusted(2 * GRID, 0, -2 * GRID, 0)
        if self.picture is not None:  # over the marks of the hours
            words = painter.boundingRect(room, middle, self.instead).adjusted(-GRID, -GRID, GRID, GRID)
            painter.fillRect(words, self.look.theme.color("raised"))
        painter.drawText(room, middle, self.instead)

    def _draw_axes(self, painter: QPainter, frame: Frame, picture: Picture) -> None:
        t, plot = self.look.theme, frame.plot
        painter.fillRect(plot, t.color("raised"))
        painter.setFont(self.look.small)
        metrics = QFontMetricsF(self.look.small)
        line = metrics.height()
        days = [tick for tick in picture.ticks if tick.day]
        wide = max((metrics.horizontalAdvance(tick.day) for tick in days), default=0.0)
        apart = frame.x(days[1].at_s) - frame.x(days[0].at_s) if len(days) > 1 else math.inf
        named = {tick.at_s for tick in days[:: max(1, math.ceil((wide + GRID) / apart))]}
        after = -math.inf
        for tick in picture.ticks:
            x = frame.x(tick.at_s)
            painter.setPen(QPen(t.color("line"), 1))
            if picture.bars:
                painter.drawLine(QPointF(x, frame.bars.top()), QPointF(x, frame.bars.bottom()))
            painter.setPen(QPen(t.color("quiet" if tick.day and len(days) < 5 else "line"), 1))
            painter.drawLine(QPointF(x, plot.top()), QPointF(x, plot.bottom()))
            half = metrics.horizontalAdvance(tick.label) / 2
            painter.setPen(t.color("quiet"))
            if tick.label and x - half > after:
                painter.drawText(QRectF(x - half, plot.bottom() + 2, 2 * half + 2, line), tick.label)
                after = x + half + GRID / 2
            left = min(x, plot.right() - wide / 2) - (wide / 2 if tick.label else 0)
            if tick.at_s in named and left + wide < self.width():
                painter.setPen(t.color("ink"))
                row = plot.bottom() + 2 + (line if tick.label else line / 2)
                painter.drawText(QRectF(left, row, wide + 2, line), tick.day)
        if not picture.empty:
            self._draw_scales(painter, frame, line)
        painter.setPen(QPen(t.color("quiet"), 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(plot)

    def _draw_scales(self, painter: QPainter, frame: Frame, line: float) -> None:
        t, plot = self.look.theme, frame.plot
        few = plot.height() < (DIVISIONS + 1) * line * 1.2
        for i in range(DIVISIONS + 1):
            y = plot.bottom() - i / DIVISIONS * plot.height()
            painter.setPen(QPen(t.color("line"), 1))
            painter.drawLine(QPointF(plot.left(), y), QPointF(plot.right(), y))
            if few and i not in (0, DIVISIONS):
                continue
            painter.setPen(t.color("quiet"))
            degC, percent = f"{frame.bottom_degC + i * frame.step_degC:.0f}", f"{i * 100 // DIVISIONS}"
            middle = Qt.AlignmentFlag.AlignVCenter
            painter.drawText(
                QRectF(0, y - line / 2, plot.left() - GRID / 2, line), middle | Qt.AlignmentFlag.AlignRight, degC
            )
            painter.drawText(QRectF(plot.right() + GRID / 2, y - line / 2, 5 * GRID, line), middle, percent)
        painter.setPen(t.color("quiet"))
        painter.drawText(QRectF(0, 0, plot.left() - GRID / 2, line), Qt.AlignmentFlag.AlignRight, "°C")
        painter.drawText(QRectF(plot.right() + GRID / 2, 0, 4 * GRID, line), "%")

    def _draw_gaps(self, painter: QPainter, frame: Frame, picture: Picture) -> None:
        t = self.look.theme
        painter.setFont(self.look.small)
        wide = QFontMetricsF(self.look.small).horizontalAdvance("no reading")
        for from_s, to_s in picture.gaps:
            box = QRectF(frame.x(from_s), frame.plot.top(), frame.x(to_s) - frame.x(from_s), frame.plot.height())
            hatch(painter, box, t.color("line"), gap=10, width=1, lean=-1)
            if box.width() > wide + GRID:
                painter.setPen(t.color("quiet"))
                foot = QRectF(box.left(), box.bottom() - 3 * GRID, box.width(), 3 * GRID)
                painter.drawText(foot, Qt.AlignmentFlag.AlignCenter, "no reading")

    def _draw_damp(self, painter: QPainter, frame: Frame, picture: Picture) -> None:
        t = self.look.theme
        for d in picture.damp:
            ends = sorted((frame.y(Line.DEW, d.surface_degC), frame.y(Line.DEW, d.dew_degC)))
            left, right = frame.x(d.from_s), frame.x(d.to_s)
            top, bottom = ends[0] - 2, max(ends[1] + 2, ends[0] + 6)  # seen even where the two are one
            hatch(painter, QRectF(left, top, right - left, bottom - top), t.color("trouble"), gap=6, width=2)

    def _name_damp(self, painter: QPainter, frame: Frame, picture: Picture) -> None:
        """Say under the longest hatch what it means."""
        words, metrics = f"less than {MARGIN_K:g} °C above the dew point", QFontMetricsF(self.look.small)
        longest, from_s = max(_together(picture.damp), default=(0.0, 0.0))
        left, right = frame.x(from_s), frame.x(from_s + longest)
        box = QRectF((left + right - metrics.horizontalAdvance(words) - GRID) / 2, 0, 0, metrics.height())
        box.setWidth(metrics.horizontalAdvance(words) + GRID)
        if not picture.damp or box.left() < left or box.right() > right:
            return
        inside = (d for d in picture.damp if from_s <= d.from_s <= from_s + longest)
        low = max(frame.y(Line.DEW, min(d.dew_degC, d.surface_degC)) for d in inside)
        box.moveTop(min(low + 6, frame.plot.bottom() - box.height() - 1))
        painter.fillRect(box, self.look.theme.color("raised"))
        painter.setFont(self.look.small)
        painter.setPen(self.look.theme.color("trouble"))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, words)

    def _draw_run(self, painter: QPainter, frame: Frame, line: Line, run: Run) -> None:
        style = STYLES[line]
        pen = QPen(self.look.theme.color(style.color), style.width)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        if not run.sure:
            pen.setDashPattern([8 / style.width, 6 / style.width])
            pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        points = [QPointF(frame.x(at_s), frame.y(line, value)) for at_s, value in run.points]
        painter.drawPolyline(QPolygonF(points))
        for spot in _marks(points, list(STYLES).index(line)):
            self._draw_mark(painter, style, spot)

    def _draw_mark(self, painter: QPainter, style: Style, at: QPointF) -> None:
        t, r = self.look.theme, 3.5 * max(1.0, self.look.scale)
        painter.setPen(QPen(t.color(style.color), 1.5))
        painter.setBrush(t.color("raised"))
        if style.mark == "circle":
            painter.drawEllipse(at, r, r)
        elif style.mark == "square":
            painter.drawRect(QRectF(at.x() - r, at.y() - r, 2 * r, 2 * r))
        elif style.mark == "drop":
            painter.setBrush(t.color(style.color))
            painter.drawPolygon(
                QPolygonF([at + QPointF(-r, -r * 0.8), at + QPointF(r, -r * 0.8), at + QPointF(0, r * 1.2)])
            )

    def _draw_labels(self, painter: QPainter, frame: Frame, picture: Picture) -> None:
        """Write at the end of each line what it is, one label never over another."""
        font, t = self.look.small, self.look.theme
        metrics = QFontMetricsF(font)
        height, sample = metrics.height(), 3 * GRID
        wanted = []
        for line, style in STYLES.items():
            if picture.lines[line]:
                at_s, value = picture.lines[line][-1].points[-1]
                text = f"{style.name} {_figure(line, value, style.unit)}"
                wanted.append((frame.y(line, value), frame.x(at_s), text, style))
        lowest = frame.plot.top()
        for i, (y, x, text, style) in enumerate(sorted(wanted, key=lambda label: label[0])):
            room = (len(wanted) - i) * (height + 2)
            top = max(lowest, min(y - height - 3, frame.plot.bottom() - room))
            lowest = top + height + 2
            wide = sample + metrics.horizontalAdvance(text) + GRID
            left = max(frame.plot.left() + 2, min(x + GRID / 2, frame.plot.right() - 2) - wide)
            paper = QColor(t.color("raised"))
            paper.setAlpha(225)
            painter.fillRect(QRectF(left, top, wide, height), paper)
            middle = QPointF(left + sample / 2, top + height / 2)
            painter.setPen(QPen(t.color(style.color), style.width))
            painter.drawLine(middle - QPointF(sample / 2 - 3, 0), middle + QPointF(sample / 2 - 3, 0))
            self._draw_mark(painter, style, middle)
            painter.setFont(font)
            painter.setPen(t.color("ink"))
            painter.drawText(QRectF(left + sample, top, wide, height), Qt.AlignmentFlag.AlignVCenter, text)

    def _draw_now(self, painter: QPainter, frame: Frame, picture: Picture) -> None:
        if not picture.start_s <= picture.now_s <= picture.end_s:
            return
        t, x = self.look.theme, frame.x(picture.now_s)
        painter.setPen(QPen(t.color("accent"), 2))
        painter.drawLine(
            QPointF(x, frame.plot.top() - 4), QPointF(x, frame.bars.bottom() if picture.bars else frame.plot.bottom())
        )
        painter.setFont(self.look.small)
        words = f"now {picture.now_label}"
        wide = painter.fontMetrics().horizontalAdvance(words)
        left = min(max(x - wide / 2, frame.plot.left()), frame.plot.right() - wide)
        painter.drawText(QRectF(left, 0, wide + 2, frame.plot.top() - 4), Qt.AlignmentFlag.AlignVCenter, words)


def _figure(line: Line, value: float, unit: str) -> str:
    return f"{value:.0f} {unit}" if line is Line.HUMIDITY else f"{value:.1f} {unit}"


def _together(damp: Sequence[Damp]) -> Iterator[tuple[float, float]]:
    """Give what hangs together, as (how long, from when) in seconds."""
    from_s = to_s = math.nan
    for d in damp:
        if d.from_s != to_s:
            from_s = d.from_s
        to_s = d.to_s
        yield to_s - from_s, from_s


def _marks(points: list[QPointF], shift: int) -> Iterator[QPointF]:
    """Give where the marks of a line lie: at even distances across the screen, another start for each line."""
    xs = [p.x() for p in points]
    k = math.floor(xs[0] / _MARK_EVERY)
    while True:
        x = (k + (shift + 0.5) / len(STYLES)) * _MARK_EVERY
        k += 1
        if x > xs[-1]:
            return
        i = bisect_left(xs, x)
        if x < xs[0] or i == 0:
            continue
        a, b = points[i - 1], points[i]
        share = (x - a.x()) / (b.x() - a.x()) if b.x() > a.x() else 1.0
        yield QPointF(x, a.y() + share * (b.y() - a.y()))
