"""The cup, drawn: what is in it as bands at their true heights, and the line to pour the next part to."""

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from benchtool.bench.controls import hatch
from benchtool.bench.look import GRID, Look
from benchtool.trade.numbers import pour_figure


@dataclass(frozen=True, slots=True)
class Pour:
    """One part in the cup. `mL` is in it; `to_mL` is how much of it there shall be."""

    name: str
    kind: str
    mL: float
    to_mL: float


class CupDrawing(QWidget):
    """A straight-sided cup drawn to scale: equal heights are equal volumes."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.pours: tuple[Pour, ...] = ()
        self.next_part: str | None = None
        self.over = False
        self.paint_color: str | None = None
        self.setObjectName("cup")
        self.setMinimumSize(10 * GRID, 10 * GRID)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        look.changed.connect(self.update)

    def show_pours(
        self, pours: tuple[Pour, ...], next_part: str | None, *, over: bool = False, color: str | None = None
    ) -> None:
        """Show what is in the cup, and what comes next; `over` marks a wrong ratio by a pattern."""
        shown = (self.pours, self.next_part, self.over, self.paint_color)
        if shown == (pours, next_part, over, color):
            return
        self.pours, self.next_part, self.over, self.paint_color = pours, next_part, over, color
        held = ", ".join(f"{pour_figure(p.mL)} mL {p.name}" for p in pours if p.mL > 0)
        self.setAccessibleName("Cup")
        self.setAccessibleDescription(held or "empty")
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        widest = QFontMetricsF(self.look.small).horizontalAdvance("000.0 mL")
        label = widest + 2 * GRID if self.width() > widest + 9 * GRID else 0.0
        cup = QRectF(2, GRID, self.width() - label - 4, self.height() - 2 * GRID)
        full = sum(max(p.mL, p.to_mL) for p in self.pours) or 1.0
        scale = cup.height() * 0.86 / full
        self._draw_liquids(painter, cup, scale)
        self._draw_cup(painter, cup)
        if label:
            self._draw_marks(painter, cup, scale, label)
        painter.end()

    def _color(self, kind: str) -> QColor:
        t = self.look.theme
        if kind == "base":
            return QColor(self.paint_color) if self.paint_color else t.color("bare")
        if kind == "activator":
            return t.color("accent")
        return t.color("line")

    def _draw_liquids(self, painter: QPainter, cup: QRectF, scale: float) -> None:
        t, bottom = self.look.theme, cup.bottom()
        for pour in self.pours:
            if pour.mL <= 0:
                continue
            height = max(pour.mL * scale, 2.0)
            box = QRectF(cup.left(), bottom - height, cup.width(), height)
            painter.fillRect(box, self._color(pour.kind))
            if self.over:
                hatch(painter, box, t.color("trouble"), gap=12, width=2)
            painter.setPen(QPen(t.color("ink"), 1))
            painter.drawLine(box.topLeft(), box.topRight())
            bottom -= height

    def _draw_cup(self, painter: QPainter, cup: QRectF) -> None:
        painter.setPen(QPen(self.look.theme.color("ink"), 2.5))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        path = QPainterPath(cup.topLeft() + QPointF(-1, -GRID / 2))
        path.lineTo(cup.bottomLeft() + QPointF(0, -6))
        path.quadTo(cup.bottomLeft(), cup.bottomLeft() + QPointF(6, 0))
        path.lineTo(cup.bottomRight() + QPointF(-6, 0))
        path.quadTo(cup.bottomRight(), cup.bottomRight() + QPointF(0, -6))
        path.lineTo(cup.topRight() + QPointF(1, -GRID / 2))
        painter.drawPath(path)

    def _draw_marks(self, painter: QPainter, cup: QRectF, scale: float, label: float) -> None:
        t, level, last = self.look.theme, 0.0, cup.bottom() + 100
        painter.setFont(self.look.small)
        line = painter.fontMetrics().height()
        for pour in self.pours:
            level += max(pour.mL, pour.to_mL)
            y = cup.bottom() - level * scale
            is_next = pour.name == self.next_part
            color = t.color("accent" if is_next else "quiet")
            painter.setPen(
                QPen(color, 2.5 if is_next else 1, Qt.PenStyle.SolidLine if is_next else Qt.PenStyle.DashLine)
            )
            painter.drawLine(QPointF(cup.left() + 3, y), QPointF(cup.right() + GRID, y))
            if is_next:
                painter.setBrush(color)
                tip = QPointF(cup.right() + 3, y)
                painter.drawPolygon(QPolygonF([tip, tip + QPointF(GRID, -5), tip + QPointF(GRID, 5)]))
            text_y = min(y, last - line)
            last = text_y
            painter.setPen(color)
            spot = QRectF(cup.right() + 1.6 * GRID, text_y - line / 2, label - GRID, line)
            painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, f"{pour_figure(level)} mL")
