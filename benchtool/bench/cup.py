"""The cup, drawn: what is in it as bands at their true heights, and the line to pour the next part to."""

from collections.abc import Iterator
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from benchtool.bench.controls import hatch
from benchtool.bench.look import GRID, Look, elided
from benchtool.trade.numbers import figure
from benchtool.trade.units import VolumeUnit, volume_words
from benchtool.trade.vessel import Cup

_WIDEST = {
    VolumeUnit.ML: "000.0 mL", VolumeUnit.US_FL_OZ: "0.0000 US fl oz", VolumeUnit.IMPERIAL_FL_OZ: "0.0000 imp fl oz",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Pour:
    """One part in the cup. `mL` is in it; `to_mL` is how much of it there shall be."""

    name: str
    kind: str
    mL: float
    to_mL: float


class CupDrawing(QWidget):
    """The painter's own cup at its true heights: each part as a band, its line with mL and mm for a dipstick.

    Without a cup of known shape, or for more than it holds, a straight one is drawn that the mix just fills.
    """

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.pours: tuple[Pour, ...] = ()
        self.next_part: str | None = None
        self.over = False
        self.paint_color: str | None = None
        self.shape: Cup | None = None
        self.unit = VolumeUnit.ML
        self.setObjectName("cup")
        self.setMinimumSize(10 * GRID, 10 * GRID)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        look.changed.connect(self.update)

    def show_pours(
        self,
        pours: tuple[Pour, ...],
        next_part: str | None,
        *,
        over: bool = False,
        color: str | None = None,
        shape: Cup | None = None,
        unit: VolumeUnit = VolumeUnit.ML,
    ) -> None:
        """Show what is in the cup, and what comes next; `over` marks a wrong ratio by a pattern."""
        shown = (pours, next_part, over, color, shape, unit)
        if shown == (self.pours, self.next_part, self.over, self.paint_color, self.shape, self.unit):
            return
        self.pours, self.next_part, self.over, self.paint_color, self.shape, self.unit = shown
        held = ", ".join(f"{volume_words(p.mL, unit)} {p.name}" for p in pours if p.mL > 0)
        lines = ", ".join(f"{p.name} to {' or '.join(words)}" for p, _, words in self._lines())
        self.setAccessibleName(f"Cup, {shape.name}" if shape is not None else "Cup")
        self.setAccessibleDescription(f"{held or 'empty'}; {lines}" if lines else held or "empty")
        self.update()

    # --- heights ------------------------------------------------------------------------------------

    @property
    def _full_mL(self) -> float:
        return sum(max(p.mL, p.to_mL) for p in self.pours) or 1.0

    @property
    def fits(self) -> bool:
        """Whether the cup is of a known shape and holds the whole mix."""
        return self.shape is not None and self._full_mL <= self.shape.capacity_mL

    def _height(self, mL: float) -> float:
        """The height of so much, as a fraction of the cup's own."""
        if self.shape is not None and self.fits:
            return self.shape.height_mm_of(mL) / self.shape.height_mm
        return 0.86 * mL / self._full_mL

    def _lines(self) -> Iterator[tuple[Pour, float, tuple[str, ...]]]:
        """Each part with the volume its line stands at, and what is written there: mL, and mm on a dipstick."""
        level = sum(p.mL for p in self.pours)
        # What is in the cup stands at its surface; the next pour comes on top of all of it, then those to come.
        following = [p for p in self.pours if p.name == self.next_part]
        later = [p for p in self.pours if p.mL <= 0 and p.name != self.next_part]
        for pour in (*following, *later):
            level += max(0.0, pour.to_mL - pour.mL)
            words = [volume_words(level, self.unit).replace(" imperial ", " imp ")]
            if self.shape is not None and self.fits:
                words.append(f"{figure(self.shape.height_mm_of(level), 2)} mm")
            yield pour, level, tuple(words)

    # --- drawing ------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        widest = QFontMetricsF(self.look.small).horizontalAdvance(_WIDEST[self.unit])
        label = widest + 2 * GRID if self.width() > widest + 8 * GRID else 0.0
        name = self.shape.name if self.shape is not None and self.fits else ""
        foot = QFontMetricsF(self.look.small).height() + GRID / 2 if name else 0.0
        box = QRectF(2, GRID, self.width() - label - 4, self.height() - 2 * GRID - foot)
        if self.shape is not None and self.fits:  # no wider than it is: the room may make it narrower, never taller
            true = box.height() * max(self.shape.top_mm, self.shape.bottom_mm) / self.shape.height_mm
            box.setWidth(min(box.width(), max(true, 4 * GRID)))
        if name:
            painter.setFont(self.look.small)
            painter.setPen(self.look.theme.color("quiet"))
            spot = QRectF(2, self.height() - foot, self.width() - 4, foot)
            painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, elided(name, self.look.small, spot.width()))
        self._draw_liquids(painter, box)
        self._draw_cup(painter, box)
        if label:
            self._draw_marks(painter, box, label)
        painter.end()

    def _half_width(self, box: QRectF, height: float) -> float:
        """Half of the cup's width at a height, in pixels."""
        if self.shape is None or not self.fits:
            return box.width() / 2
        widest = max(self.shape.top_mm, self.shape.bottom_mm)
        return box.width() / 2 * self.shape.width_mm(height * self.shape.height_mm) / widest

    def _band(self, box: QRectF, low: float, high: float) -> QPolygonF:
        x, y = box.center().x(), box.bottom()
        a, b = self._half_width(box, low), self._half_width(box, high)
        bottom, top = y - low * box.height(), y - high * box.height()
        return QPolygonF(
            [QPointF(x - a, bottom), QPointF(x + a, bottom), QPointF(x + b, top), QPointF(x - b, top)],
        )

    def _color(self, kind: str) -> QColor:
        t = self.look.theme
        if kind == "base":
            return QColor(self.paint_color) if self.paint_color else t.color("bare")
        if kind == "activator":
            return t.color("accent")
        return t.color("line")

    def _draw_liquids(self, painter: QPainter, box: QRectF) -> None:
        t, held = self.look.theme, 0.0
        for pour in self.pours:
            if pour.mL <= 0:
                continue
            low = self._height(held)
            held += pour.mL
            high = max(self._height(held), low + 2.0 / max(box.height(), 1.0))  # a drop shows too
            band = self._band(box, low, min(high, 1.0))
            path = QPainterPath()
            path.addPolygon(band)
            path.closeSubpath()
            painter.fillPath(path, self._color(pour.kind))
            if self.over:
                painter.save()
                painter.setClipPath(path)
                hatch(painter, band.boundingRect(), t.color("trouble"), gap=12, width=2)
                painter.restore()
            painter.setPen(QPen(t.color("ink"), 1))
            painter.drawLine(band.at(3), band.at(2))

    def _draw_cup(self, painter: QPainter, box: QRectF) -> None:
        painter.setPen(QPen(self.look.theme.color("ink"), 2.5))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        x, foot, lip = box.center().x(), self._half_width(box, 0.0), self._half_width(box, 1.0)
        path = QPainterPath(QPointF(x - lip - 1, box.top() - GRID / 2))
        path.lineTo(x - foot, box.bottom() - 6)
        path.quadTo(x - foot, box.bottom(), x - foot + 6, box.bottom())
        path.lineTo(x + foot - 6, box.bottom())
        path.quadTo(x + foot, box.bottom(), x + foot, box.bottom() - 6)
        path.lineTo(x + lip + 1, box.top() - GRID / 2)
        painter.drawPath(path)

    def _draw_marks(self, painter: QPainter, box: QRectF, label: float) -> None:
        t, last = self.look.theme, box.bottom() + 100
        painter.setFont(self.look.small)
        line = painter.fontMetrics().height()
        for pour, level, words in self._lines():
            height = self._height(level)
            y, half = box.bottom() - height * box.height(), self._half_width(box, height)
            is_next = pour.name == self.next_part
            color = t.color("accent" if is_next else "quiet")
            pen = QPen(color, 2.5 if is_next else 1, Qt.PenStyle.SolidLine if is_next else Qt.PenStyle.DashLine)
            painter.setPen(pen)
            x, tall = box.center().x(), line * len(words)
            painter.drawLine(QPointF(x - half + 3, y), QPointF(box.right() + GRID, y))
            middle = max(min(y, last - tall - 2, box.bottom() - tall / 2), box.top() + tall / 2)
            last = middle
            if middle < y - tall / 2:  # moved up out of the way of the one below it: led back to its line
                painter.setPen(QPen(color, 1))
                painter.drawLine(QPointF(box.right() + GRID, y), QPointF(box.right() + 1.6 * GRID, middle + tall / 2))
            if is_next:
                painter.setBrush(color)
                painter.setPen(QPen(color, 1))
                tip = QPointF(x + half + 3, y)
                painter.drawPolygon(QPolygonF([tip, tip + QPointF(GRID, -5), tip + QPointF(GRID, 5)]))
            painter.setPen(color)
            for i, text in enumerate(words):
                spot = QRectF(box.right() + 1.8 * GRID, middle - tall / 2 + i * line, label - GRID, line)
                painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, text)
