"""The straightened cross-cut with what is bare laid over it, hatched and coloured; a brush corrects it."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QColor,
    QEnterEvent,
    QImage,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QWheelEvent,
)

from benchtool.bench.look import Look
from benchtool.bench.photoview import INK, PALE, Canvas, arrow_of, image_of
from benchtool.session.photohand import HandMask, alpha_of
from benchtool.trade.crosscut import Measured
from benchtool.trade.saying import say

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Pixels = NDArray[np.uint8]

RADII = (3.0, 5.0, 8.0, 12.0, 18.0, 27.0, 40.0)
"""Sizes of the brush, pixels of the straightened square, 600 of which are the lattice."""
STRENGTHS = (0, 70, 150)
"""How opaque the colour of the mask is, of 255; at 0 nothing of it is shown."""
_COLOURS = (QColor(230, 0, 200), QColor(0, 200, 90), QColor(255, 190, 0))
_HATCH = 7.0
_DOT = 5


class MaskView(Canvas):
    """What is bare, over the straightened picture. A stroke of the brush marks bare area, or coated."""

    stroked = Signal()
    sized = Signal()

    def __init__(self, look: Look) -> None:
        super().__init__(look, "photo-mask")
        self.setAccessibleName(say("The straightened lattice with the bare area marked"))
        self.setMouseTracking(True)
        self.setCursor(Qt.CursorShape.CrossCursor)
        self.hand: HandMask | None = None
        self.marks_bare = True
        self.strength = 1
        self.size_index = 3
        self.frozen = False
        self._colour = _COLOURS[0]
        self._mask: QImage | None = None
        self._out: QImage | None = None
        self._out_pixels: Pixels | None = None
        self._last: tuple[float, float] | None = None
        self._bare_now = True
        self._at: QPointF | None = None
        self._hatched: QImage | None = None
        self._dots: QImage | None = None

    @property
    def radius(self) -> float:
        """The brush, pixels of the straightened square."""
        return RADII[self.size_index]

    def show_measured(self, measured: Measured, hand: HandMask) -> None:
        """Show what was measured; `hand` is what the brush changes."""
        self.take_pixels(measured.picture)
        self._out_pixels = alpha_of(~measured.counted)
        self._out = image_of(self._out_pixels)
        self.hand, self._mask = hand, image_of(hand.shown)
        self._last, self._hatched, self._dots = None, None, None
        if self.picture is not None:
            one = self.picture.scaled(1, 1, mode=Qt.TransformationMode.SmoothTransformation).pixelColor(0, 0)
            self._colour = max(_COLOURS, key=lambda c: _apart(c, one))
        self._tell()

    def show_nothing(self) -> None:
        """Let go of what was measured."""
        self.take_pixels(None)
        self.hand = self._mask = self._out = self._out_pixels = None
        self._last, self._hatched, self._dots = None, None, None

    def resize_brush(self, by: int) -> None:
        """Take the next smaller or larger brush."""
        self.size_index = min(len(RADII) - 1, max(0, self.size_index + by))
        self._tell()
        self.sized.emit()

    def turn_strength(self) -> None:
        """Show the mask stronger, then not at all, then faintly."""
        self.strength = (self.strength + 1) % len(STRENGTHS)
        self._hatched = None
        self._tell()

    def _tell(self) -> None:
        words = say("The brush is {n} pixels wide.", n=round(2 * self.radius))
        self.setAccessibleDescription(words)
        self.update()

    # --- painting by hand --------------------------------------------------------------------------

    def place(self, at: QPointF) -> tuple[float, float]:
        """Give a place of the widget in pixels of the straightened square."""
        box, picture = self.frame, self.picture
        if picture is None:
            return 0.0, 0.0
        scale = picture.width() / max(box.width(), 1)
        return (at.x() - box.left()) * scale, (at.y() - box.top()) * scale

    def spot(self, across: float, down: float) -> QPointF:
        """Give a place of the straightened square in the widget."""
        box, picture = self.frame, self.picture
        scale = box.width() / max(picture.width() if picture is not None else 1, 1)
        return QPointF(box.left() + across * scale, box.top() + down * scale)

    def _begin(self, at: QPointF, *, bare: bool) -> None:
        if self.hand is None or self.frozen:
            return
        self.hand.begin()
        self._bare_now, self._last = bare, self.place(at)
        self.hand.brush(self._last, self._last, self.radius, bare=bare)
        self.update()

    def _go_on(self, at: QPointF) -> None:
        if self.hand is not None and self._last is not None:
            here = self.place(at)
            self.hand.brush(self._last, here, self.radius, bare=self._bare_now)
            self._last = here

    def end_stroke(self) -> None:
        """End the stroke that is under way, if one is."""
        if self.hand is not None and self._last is not None:
            self._last = None
            if self.hand.end():
                self.stroked.emit()
            self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        other = event.button() is Qt.MouseButton.RightButton or bool(
            event.modifiers() & Qt.KeyboardModifier.ShiftModifier
        )
        if event.button() in (Qt.MouseButton.LeftButton, Qt.MouseButton.RightButton) and self._last is None:
            self._begin(event.position(), bare=self.marks_bare is not other)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        self._at = event.position()
        self._go_on(self._at)
        self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if not event.buttons() & (Qt.MouseButton.LeftButton | Qt.MouseButton.RightButton):
            self.end_stroke()

    def wheelEvent(self, event: QWheelEvent) -> None:
        if event.angleDelta().y():
            self.resize_brush(1 if event.angleDelta().y() > 0 else -1)
            event.accept()

    def enterEvent(self, event: QEnterEvent) -> None:
        self._at = event.position()
        self.update()

    def leaveEvent(self, event: QEvent) -> None:
        if not self.hasFocus():
            self._at = None
        self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Move the brush by the arrows, mark with the space bar, with Shift the other way round."""
        way = arrow_of(event)
        if self.picture is None or (way is None and event.key() != Qt.Key.Key_Space):
            super().keyPressEvent(event)
            return
        at, box = self._at if self._at is not None else self.frame.center(), self.frame
        if way is not None:
            at = at + QPointF(*way) * 4
            self._at = QPointF(min(box.right(), max(box.left(), at.x())), min(box.bottom(), max(box.top(), at.y())))
        elif self._last is None:
            other = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            self._begin(at, bare=self.marks_bare is not other)
            self.end_stroke()
        self.update()

    # --- drawing -----------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self.draw_picture(painter)
        if self._mask is not None and self._out is not None and STRENGTHS[self.strength]:
            box = self.frame
            side = max(1, round(box.width() * self.devicePixelRatioF()))
            painter.drawImage(box, self._dotted(side, self._out))
            painter.drawImage(box, self._overlay(side, self._mask))
        if self._at is not None and self.picture is not None:
            self._draw_brush(painter, self._at)
        self.draw_focus(painter)
        painter.end()

    def _draw_brush(self, painter: QPainter, at: QPointF) -> None:
        scale = self.frame.width() / max(self.picture.width() if self.picture is not None else 1, 1)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for color, width in ((INK, 3.0), (PALE, 1.2)):
            painter.setPen(QPen(color, width))
            painter.drawEllipse(at, self.radius * scale, self.radius * scale)

    def _overlay(self, side: int, mask: QImage) -> QImage:
        """Cut the hatched colour out by the mask."""
        if self._hatched is None or self._hatched.width() != side:
            self._hatched = _hatched(side, self._colour, STRENGTHS[self.strength], self.devicePixelRatioF())
        over = self._hatched.copy()
        return _cut(over, mask)

    def _dotted(self, side: int, out: QImage) -> QImage:
        """Dot what does not count; it stays as it is, so it is drawn once."""
        if self._dots is None or self._dots.width() != side:
            tile = QImage(_DOT, _DOT, QImage.Format.Format_ARGB32_Premultiplied)
            tile.fill(QColor(128, 128, 128, 90))
            tile.setPixelColor(1, 1, INK)
            tile.setPixelColor(3, 3, PALE)
            over = QImage(side, side, QImage.Format.Format_ARGB32_Premultiplied)
            painter = QPainter(over)
            painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_Source)
            painter.fillRect(over.rect(), QBrush(tile))
            painter.end()
            self._dots = _cut(over, out)
        return self._dots


def _apart(one: QColor, other: QColor) -> int:
    return abs(one.red() - other.red()) + abs(one.green() - other.green()) + abs(one.blue() - other.blue())


def _hatched(side: int, colour: QColor, opaque: int, ratio: float) -> QImage:
    """Rule slanting lines over a colour, from one small tile that fits onto itself."""
    gap = max(4, round(_HATCH * ratio))
    tile = QImage(gap, gap, QImage.Format.Format_ARGB32_Premultiplied)
    tile.fill(QColor(colour.red(), colour.green(), colour.blue(), opaque))
    painter = QPainter(tile)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    for color, width in ((QColor(255, 255, 255, 170), 2.6), (QColor(0, 0, 0, 220), 1.2)):
        painter.setPen(QPen(color, width * ratio))
        for shift in (-gap, 0, gap):
            painter.drawLine(QPointF(shift - gap, 2 * gap), QPointF(shift + 2 * gap, -gap))
    painter.end()
    over = QImage(side, side, QImage.Format.Format_ARGB32_Premultiplied)
    painter = QPainter(over)
    painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_Source)
    painter.fillRect(over.rect(), QBrush(tile))
    painter.end()
    return over


def _cut(over: QImage, mask: QImage) -> QImage:
    painter = QPainter(over)
    painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_DestinationIn)
    painter.drawImage(QRectF(over.rect()), mask)
    painter.end()
    return over
