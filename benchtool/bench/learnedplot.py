"""The plots of a record as one sheet: every case is a mark that can be told, by hand or by key, and gone to."""

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QHelpEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from benchtool.bench.learneddraw import Drawing
from benchtool.bench.learnedlay import Laid, Spot, lay_out, words_of
from benchtool.bench.look import GRID, Look
from benchtool.bench.tips import plain_tip
from benchtool.session.learningshown import Lane, Mark, cases_words
from benchtool.trade.saying import say

_NEAR = GRID
"""A pointer that is so near (px) to a mark means it."""


class RecordPlot(QWidget):
    """Draws the plots. Left and Right go from case to case, Up and Down from plot to plot, Enter to the piece."""

    told = Signal(str)
    """What is to be said of the case under the pointer or the cursor."""
    chosen = Signal()
    asked = Signal()

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.lanes: tuple[Lane, ...] = ()
        self.at: tuple[int, int] | None = None
        self._laid: tuple[tuple[Laid, ...], float] | None = None
        self.setObjectName("learned-plot")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setMouseTracking(True)
        look.changed.connect(self._again)

    def show_lanes(self, lanes: Sequence[Lane]) -> None:
        """Draw these; the case in hand stays where it is still there."""
        here = self.mark
        self.lanes = tuple(lanes)
        self.at = next(
            ((i, n) for i, lane in enumerate(self.lanes) for n, m in enumerate(lane.marks) if m == here), None
        )
        self.setAccessibleName(say("Plots of the record"))
        told = (f"{lane.title}, {cases_words(lane.n)}. {words_of(lane)}" for lane in self.lanes)
        self.setAccessibleDescription("\n".join(told))
        self._again()

    @property
    def mark(self) -> Mark | None:
        """The case in hand."""
        if self.at is None or self.at[0] >= len(self.lanes) or self.at[1] >= len(self.lanes[self.at[0]].marks):
            return None
        return self.lanes[self.at[0]].marks[self.at[1]]

    @property
    def laid(self) -> tuple[Laid, ...]:
        """Where the plots lie now."""
        return self._all()[0]

    def _all(self) -> tuple[tuple[Laid, ...], float]:
        if self._laid is None:
            self._laid = lay_out(self.lanes, self.look, self.width() - GRID)
        return self._laid

    def _again(self) -> None:
        self._laid = None
        self.setFixedHeight(int(self._all()[1]) + 1)
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(80 * GRID, self.height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._again()

    # --- the case in hand --------------------------------------------------------------------------

    def choose(self, at: tuple[int, int] | None) -> None:
        """Take a case in hand, and tell it."""
        if at != self.at:
            self.at = at
            self.update()
        mark = self.mark
        self.told.emit(mark.words if mark is not None else "")
        self.chosen.emit()

    def box_in_hand(self) -> QRectF | None:
        """Give where the case in hand lies."""
        if self.at is None:
            return None
        return next((s.box for s in self.laid[self.at[0]].spots if s.mark == self.at[1]), None)

    def spot_at(self, point: QPointF) -> Spot | None:
        """Find the mark at or nearest to a point, where one is near."""
        best: tuple[float, Spot] | None = None
        for spot in (s for laid in self.laid for s in laid.spots):
            if spot.box.contains(point):
                return spot
            off = spot.box.center() - point
            far = (off.x() ** 2 + off.y() ** 2) ** 0.5
            if far <= _NEAR + spot.box.width() / 2 and spot.box.width() < 3 * GRID and (best is None or far < best[0]):
                best = (far, spot)
        return best[1] if best is not None else None

    def _step(self, by: int) -> None:
        lanes = [i for i, lane in enumerate(self.lanes) if lane.marks]
        if not lanes:
            return
        if self.mark is None or self.at is None:
            self.choose((lanes[0], self._order(lanes[0])[0]))
            return
        order = self._order(self.at[0])
        there = order.index(self.at[1]) + by
        if 0 <= there < len(order):
            self.choose((self.at[0], order[there]))

    def _order(self, lane: int) -> list[int]:
        """Give the cases of a plot as they lie from left to right, from below upwards."""
        spots = sorted(self.laid[lane].spots, key=lambda s: (s.box.left(), -s.box.top()))
        return [s.mark for s in spots]

    def _step_lane(self, by: int) -> bool:
        lanes = [i for i, lane in enumerate(self.lanes) if lane.marks]
        here = self.at[0] if self.at is not None else None
        if not lanes or here not in lanes:
            self._step(0)
            return bool(lanes)
        there = lanes.index(here) + by
        if not 0 <= there < len(lanes):
            return False
        box = self.box_in_hand() or QRectF()
        spots = self.laid[lanes[there]].spots
        near = min(spots, key=lambda s: (abs(s.box.center().x() - box.center().x()), -s.box.top()))
        self.choose((near.lane, near.mark))
        return True

    # --- hand and keys -----------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = Qt.Key(event.key())
        if key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            self._step(-1 if key == Qt.Key.Key_Left else 1)
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self._step_lane(-1 if key == Qt.Key.Key_Up else 1)
        else:
            super().keyPressEvent(event)
            return
        event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        spot = self.spot_at(event.position())
        self.choose((spot.lane, spot.mark) if spot is not None else None)
        super().mousePressEvent(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        if self.spot_at(event.position()) is not None:
            self.asked.emit()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        spot = self.spot_at(event.position())
        mark = self.lanes[spot.lane].marks[spot.mark] if spot is not None else self.mark
        self.told.emit(mark.words if mark is not None else "")

    def leaveEvent(self, event: QEvent) -> None:
        super().leaveEvent(event)
        mark = self.mark
        self.told.emit(mark.words if mark is not None else "")

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        if self.mark is None:
            self._step(0)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()

    def event(self, event: QEvent) -> bool:
        if event.type() is QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            spot = self.spot_at(QPointF(event.pos()))
            words = plain_tip(self.lanes[spot.lane].marks[spot.mark].words) if spot is not None else ""
            QToolTip.showText(event.globalPos(), words, self) if words else QToolTip.hideText()
            return True
        return super().event(event)

    # --- drawing -----------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        drawing, seen = Drawing(painter, self.look), QRectF(event.rect())
        for i, (lane, laid) in enumerate(zip(self.lanes, self.laid, strict=True)):
            if laid.whole.intersects(seen):
                drawing.lane(lane, laid, self.at[1] if self.at is not None and self.at[0] == i else None)
        if self.hasFocus() and not any(lane.marks for lane in self.lanes):
            painter.setPen(QPen(self.look.theme.color("accent"), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(1, 1, -2, -2))
        painter.end()
