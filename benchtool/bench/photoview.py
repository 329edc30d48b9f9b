"""A photo of a cross-cut with its four corners, drawn to fit and dragged by mouse or moved by keys."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, QSizeF, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFocusEvent,
    QImage,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QPolygonF,
    QTransform,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from benchtool.bench.look import GRID, Look
from benchtool.trade.saying import say

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Pixels = NDArray[np.uint8]

Corners = tuple[tuple[float, float], tuple[float, float], tuple[float, float], tuple[float, float]]
WHOLE: Corners = ((0.25, 0.2), (0.75, 0.2), (0.75, 0.8), (0.25, 0.8))
"""Where the corners stand until they are shown."""
_RING = 1.75 * GRID
_LOUPE = 20 * GRID
_LARGER = 4.0
_ARROWS = {
    Qt.Key.Key_Left: (-1, 0), Qt.Key.Key_Right: (1, 0), Qt.Key.Key_Up: (0, -1), Qt.Key.Key_Down: (0, 1),
}  # fmt: skip
INK, PALE = QColor(0, 0, 0, 200), QColor(255, 255, 255, 235)
"""Every line over a photo is drawn in both, whatever the colour of the paint."""


def image_of(pixels: "Pixels") -> QImage:
    """Wrap pixels without copying them: RGB, or one byte each of how opaque. They must outlive the picture."""
    high, wide = int(pixels.shape[0]), int(pixels.shape[1])
    kind = QImage.Format.Format_RGB888 if pixels.ndim == 3 else QImage.Format.Format_Alpha8
    return QImage(pixels.data, wide, high, int(pixels.strides[0]), kind)


def arrow_of(event: QKeyEvent) -> tuple[int, int] | None:
    """Give where an arrow key points, ten times as far with Shift."""
    way = _ARROWS.get(Qt.Key(event.key()))
    by = 10 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1
    return None if way is None else (way[0] * by, way[1] * by)


class Canvas(QWidget):
    """A picture as large as its room allows, at the screen's own resolution; what lies on it is drawn over it."""

    def __init__(self, look: Look, name: str) -> None:
        super().__init__()
        self.look = look
        self.setObjectName(name)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.picture: QImage | None = None
        self._pixels: Pixels | None = None  # what `picture` lies on
        self._fitted: QPixmap | None = None
        look.changed.connect(self.update)

    def sizeHint(self) -> QSize:
        return QSize(70 * GRID, 60 * GRID)

    def minimumSizeHint(self) -> QSize:
        return QSize(30 * GRID, 30 * GRID)

    def take_pixels(self, pixels: "Pixels | None") -> None:
        """Show this picture, or none."""
        if pixels is not self._pixels:
            self.picture = image_of(pixels) if pixels is not None else None
            self._pixels, self._fitted = pixels, None
        self.update()

    @property
    def frame(self) -> QRectF:
        """Where the picture is drawn."""
        room = QRectF(self.rect()).adjusted(2 * GRID, 2 * GRID, -2 * GRID, -2 * GRID)
        if self.picture is None or room.isEmpty():
            return room
        size = QSizeF(self.picture.size()).scaled(room.size(), Qt.AspectRatioMode.KeepAspectRatio)
        box = QRectF(QPointF(0, 0), size)
        box.moveCenter(room.center())
        return box

    def draw_picture(self, painter: QPainter) -> None:
        """Draw the picture, made fit once for a size."""
        if self.picture is None:
            return
        box, ratio = self.frame, self.devicePixelRatioF()
        size = (box.size() * ratio).toSize().expandedTo(QSize(1, 1))
        if self._fitted is None or self._fitted.size() != size:
            smooth = Qt.TransformationMode.SmoothTransformation
            small = self.picture.scaled(size, Qt.AspectRatioMode.IgnoreAspectRatio, smooth)
            self._fitted = QPixmap.fromImage(small)
        painter.drawPixmap(box, self._fitted, QRectF(self._fitted.rect()))

    def draw_focus(self, painter: QPainter) -> None:
        """Draw a frame where the keys go."""
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(self.look.theme.color("accent"), 2))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(2, 2, -2, -2), 3, 3)


class CornerView(Canvas):
    """The upright photo with the lattice over it; its corners, as shares of the photo, can be moved."""

    moved = Signal()

    def __init__(self, look: Look) -> None:
        super().__init__(look, "photo-corners")
        self.setAccessibleName(say("The photo with the four corners of the lattice"))
        self.corners: Corners = WHOLE
        self.cuts = 6
        self.picked = 0
        self._whole: QImage | None = None
        self._whole_pixels: Pixels | None = None
        self._held: QPointF | None = None

    def show_photo(self, preview: "Pixels | None", whole: "Pixels | None") -> None:
        """Show a photo, drawn from its `preview` and looked at closely in the `whole` of it; None shows none."""
        self.take_pixels(preview)
        self._whole, self._whole_pixels = image_of(whole) if whole is not None else None, whole
        self._held, self.picked = None, 0

    def set_grid(self, corners: Corners, cuts: int) -> None:
        """Lay the lattice here."""
        self.corners, self.cuts = corners, cuts
        self._tell()

    def spot(self, corner: int) -> QPointF:
        """Give where a corner is in the widget."""
        box, (x, y) = self.frame, self.corners[corner]
        return QPointF(box.left() + x * box.width(), box.top() + y * box.height())

    # --- moving ------------------------------------------------------------------------------------

    def _move(self, to: QPointF) -> None:
        box = self.frame
        x = min(1.0, max(0.0, (to.x() - box.left()) / max(box.width(), 1)))
        y = min(1.0, max(0.0, (to.y() - box.top()) / max(box.height(), 1)))
        a, b, c, d = ((x, y) if i == self.picked else at for i, at in enumerate(self.corners))
        self.corners = (a, b, c, d)
        self._tell()
        self.moved.emit()

    def _tell(self) -> None:
        names = (say("top left"), say("top right"), say("bottom right"), say("bottom left"))
        self.setAccessibleDescription(say("The corner at the {place} is picked.", place=names[self.picked]))
        self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() is not Qt.MouseButton.LeftButton or self.picture is None:
            return
        at = event.position()
        near = sorted(range(4), key=lambda i: (self.spot(i) - at).manhattanLength())
        self.picked = near[0]
        # it moves as the hand moves, so that nothing jumps and a finger need not cover it
        self._held = self.spot(self.picked) - at
        self._tell()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._held is not None:
            self._move(event.position() + self._held)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if event.button() is Qt.MouseButton.LeftButton:
            self._held = None
            self.update()

    def event(self, event: QEvent) -> bool:
        """Tab goes from corner to corner, and on from the last one."""
        if event.type() is QEvent.Type.KeyPress and isinstance(event, QKeyEvent) and self.picture is not None:
            step = {Qt.Key.Key_Tab: 1, Qt.Key.Key_Backtab: -1}.get(Qt.Key(event.key()), 0)
            if step and 0 <= self.picked + step < 4 and not event.modifiers() & Qt.KeyboardModifier.ControlModifier:
                self.picked += step
                self._tell()
                return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        way = arrow_of(event)
        if way is None or self.picture is None:
            super().keyPressEvent(event)
            return
        self._move(self.spot(self.picked) + QPointF(*way))

    def focusInEvent(self, event: QFocusEvent) -> None:
        if event.reason() is Qt.FocusReason.TabFocusReason:
            self.picked = 0
        elif event.reason() is Qt.FocusReason.BacktabFocusReason:
            self.picked = 3
        super().focusInEvent(event)

    # --- drawing -----------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self.draw_picture(painter)
        if self.picture is not None:
            self._draw_grid(painter)
            for corner in range(4):
                self._draw_handle(painter, corner)
            if self._held is not None or self.hasFocus():
                self._draw_loupe(painter)
        self.draw_focus(painter)
        painter.end()

    def _draw_grid(self, painter: QPainter) -> None:
        spots = [self.spot(i) for i in range(4)]
        quad = QPolygonF(spots)
        lines: list[tuple[QPointF, QPointF]] = []
        turn = QTransform()
        if QTransform.squareToQuad(quad, turn):
            at = [i / (self.cuts - 1) for i in range(self.cuts)]
            lines += [(turn.map(QPointF(s, 0)), turn.map(QPointF(s, 1))) for s in at]
            lines += [(turn.map(QPointF(0, s)), turn.map(QPointF(1, s))) for s in at]
        else:
            lines += [(spots[i], spots[(i + 1) % 4]) for i in range(4)]
        for pen in (QPen(QColor(0, 0, 0, 130), 2.5), QPen(QColor(255, 255, 255, 220), 1)):
            painter.setPen(pen)
            for start, end in lines:
                painter.drawLine(start, end)

    def _draw_handle(self, painter: QPainter, corner: int) -> None:
        """Draw a ring that leaves the place itself free; the picked one is double."""
        at, picked = self.spot(corner), corner == self.picked
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for color, width in ((INK, 5.0), (PALE, 2.0)):
            painter.setPen(QPen(color, width))
            painter.drawEllipse(at, _RING, _RING)
            if picked:
                painter.drawEllipse(at, _RING + 5, _RING + 5)

    def _draw_loupe(self, painter: QPainter) -> None:
        """Show the picked corner larger, at the far side of the picture."""
        if self._whole is None:
            return
        side = min(_LOUPE, self.width() / 3, self.height() / 3)
        at, box = self.spot(self.picked), self.frame
        left = at.x() > self.width() / 2
        top = at.y() > self.height() / 2
        glass = QRectF(0, 0, side, side)
        glass.moveLeft(GRID if left else self.width() - side - GRID)
        glass.moveTop(GRID if top else self.height() - side - GRID)
        scale = self._whole.width() / max(box.width(), 1)
        reach = side / _LARGER * scale
        x, y = self.corners[self.picked]
        source = QRectF(0, 0, reach, reach)
        source.moveCenter(QPointF(x * self._whole.width(), y * self._whole.height()))
        painter.fillRect(glass, self.look.theme.color("paper"))
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.drawImage(glass, self._whole, source)
        middle = glass.center()
        for color, width in ((INK, 3.0), (PALE, 1.0)):
            painter.setPen(QPen(color, width))
            painter.drawLine(QPointF(glass.left(), middle.y()), QPointF(glass.right(), middle.y()))
            painter.drawLine(QPointF(middle.x(), glass.top()), QPointF(middle.x(), glass.bottom()))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(self.look.theme.color("ink"), 1.5))
        painter.drawRect(glass)
        painter.restore()
