"""The drawn plan on the screen: it rolls both ways with the names and the hours staying, zooms, and takes the keys."""

from datetime import datetime, timedelta

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QAbstractScrollArea, QFrame

from benchtool.bench.daydraw import DayDraw
from benchtool.bench.dayframe import Frame, head_height, row_height
from benchtool.bench.dayrows import (
    DayPicture,
    Row,
    Spot,
    block_words,
    first_spot,
    nearest,
    step_across,
    step_along,
    summary,
    wait_words,
)
from benchtool.bench.look import GRID, TARGET, Look
from benchtool.plan.work import Placed, Waiting

ZOOM_STEP = 1.5
MOST_PX_H = 900.0
"""One minute is never wider than 15 px: more shows nothing new."""

TODAY_H = 12.0
"""So many hours “today” shows: from an hour before now (judgement: a working day)."""


class DayPlot(QAbstractScrollArea):
    """Draws a picture of the plan. `layer_asked` (job, piece, layer or "") says that Enter or a click asks for one."""

    layer_asked = Signal(str, str, str)
    pointed = Signal(str)
    chosen_changed = Signal()

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.picture = DayPicture()
        self.chosen: Spot | None = None
        self.px_h = 60.0
        self.follows: str = "whole"
        self.setObjectName("day-plot")
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMinimumHeight(int(head_height(look) + row_height(look) + 2 * GRID))
        self.viewport().setMouseTracking(True)
        self.horizontalScrollBar().valueChanged.connect(self.viewport().update)
        self.verticalScrollBar().valueChanged.connect(self.viewport().update)
        look.changed.connect(self._relook)

    # --- what is shown -----------------------------------------------------------------------------

    def show_picture(self, picture: DayPicture) -> None:
        """Draw this; the block chosen stays chosen where it is still there."""
        if picture == self.picture:
            return
        kept = self._id_of(self.chosen)
        begins_before = self.picture.begins_at
        self.picture = picture
        self.chosen = self._find(kept)
        self.setAccessibleName(summary(picture))
        if self.follows:
            self._follow()
        else:
            bar = self.horizontalScrollBar()
            there = bar.value() + (begins_before - picture.begins_at).total_seconds() / 3_600 * self.px_h
            self._roll()
            bar.setValue(round(there))
        self._tell(None)
        self.viewport().update()

    def go_on(self, now: datetime) -> None:
        """Move the line of now."""
        if now != self.picture.now:
            self.picture = _at(self.picture, now)
            self.viewport().update()

    def _id_of(self, spot: Spot | None) -> tuple[str, str, str] | None:
        placed = self.placed(spot)
        return None if placed is None else (placed.task.job, placed.task.piece, placed.task.id)

    def _find(self, key: tuple[str, str, str] | None) -> Spot | None:
        for i, row in enumerate(self.picture.rows if key is not None else ()):
            for k, b in enumerate(row.blocks):
                if (b.task.job, b.task.piece, b.task.id) == key:
                    return i, k
        return None

    def placed(self, spot: Spot | None) -> Placed | None:
        """Give the work at a spot."""
        return None if spot is None else self.picture.rows[spot[0]].blocks[spot[1]]

    @property
    def row_chosen(self) -> Row | None:
        """The row of the block chosen; None while none is."""
        return None if self.chosen is None else self.picture.rows[self.chosen[0]]

    # --- where -------------------------------------------------------------------------------------

    def names_width(self) -> float:
        """How wide the names of the rows are (px)."""
        return min(24 * GRID * self.look.scale, self.viewport().width() * 0.22)

    def frame(self) -> Frame:
        """Say where everything lies now."""
        return Frame(
            names=self.names_width(), head=head_height(self.look), row=row_height(self.look),
            begins_at=self.picture.begins_at, px_h=self.px_h,
            rolled=self.horizontalScrollBar().value(), down=self.verticalScrollBar().value(),
        )  # fmt: skip

    def drawn(self) -> DayDraw:
        """Give what draws the picture as it lies now."""
        return DayDraw(self.look, self.picture, self.frame())

    def _room(self) -> float:
        return max(1.0, self.viewport().width() - self.names_width())

    def _least_px_h(self) -> float:
        return self._room() / max(1.0, self.picture.hours)

    def _roll(self) -> None:
        """Set how far it rolls either way."""
        view = self.viewport()
        wide, high = self.picture.hours * self.px_h, len(self.picture.rows) * row_height(self.look)
        across, along = self.horizontalScrollBar(), self.verticalScrollBar()
        across.setRange(0, max(0, round(wide - self._room())))
        across.setPageStep(int(self._room()))
        across.setSingleStep(max(1, int(self.px_h / 4)))
        room = view.height() - head_height(self.look)
        along.setRange(0, max(0, round(high - room)))
        along.setPageStep(max(1, int(room)))
        along.setSingleStep(int(row_height(self.look) / 2))

    def _relook(self) -> None:
        self.setMinimumHeight(int(head_height(self.look) + row_height(self.look) + 2 * GRID))
        self._follow() if self.follows else self._roll()
        self.viewport().update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self.follows:
            self._follow()
        else:
            self.px_h = max(self.px_h, self._least_px_h())
            self._roll()

    def sizeHint(self) -> QSize:
        return QSize(100 * GRID, int(head_height(self.look) + max(3, len(self.picture.rows)) * row_height(self.look)))

    # --- zoom --------------------------------------------------------------------------------------

    def show_whole(self) -> None:
        """Show the whole plan, and keep doing so."""
        self.follows = "whole"
        self._follow()

    def show_today(self) -> None:
        """Show the next hours, and keep doing so where the plan is made anew."""
        self.follows = "today"
        self._follow()

    def _follow(self) -> None:
        if self.follows == "whole":
            self.px_h = self._least_px_h()
            self._roll()
            self.horizontalScrollBar().setValue(0)
        else:
            self.px_h = min(MOST_PX_H, max(self._least_px_h(), self._room() / TODAY_H))
            self._roll()
            before = (self._near() - self.picture.begins_at - timedelta(hours=1)).total_seconds() / 3_600
            self.horizontalScrollBar().setValue(round(max(0.0, before) * self.px_h))
        self.viewport().update()

    def _near(self) -> datetime:
        """Give now, or where no work lies in the next hours, the first that comes."""
        now = self.picture.now
        soon = now + timedelta(hours=TODAY_H - 1)
        left = [b for r in self.picture.rows for b in r.blocks if b.ends_at > now]
        first = min((b.starts_at for b in left), default=now)
        return now if first < soon else first

    def zoom(self, factor: float, about: float | None = None) -> None:
        """Show less time (a factor above 1) or more, about a place (px): else the block chosen, now, or the middle."""
        self.follows = ""
        frame, names, wide = self.frame(), self.names_width(), self.viewport().width()
        if about is None:
            placed = self.placed(self.chosen)
            spots = [frame.x(placed.starts_at)] if placed is not None else []
            spots.append(frame.x(self.picture.now))
            about = next((x for x in spots if names <= x <= wide), (names + wide) / 2)
        hours = (about - names + frame.rolled) / self.px_h
        self.px_h = min(MOST_PX_H, max(self._least_px_h(), self.px_h * factor))
        self._roll()
        self.horizontalScrollBar().setValue(round(hours * self.px_h - (about - names)))
        self.viewport().update()

    def wheelEvent(self, event: QWheelEvent) -> None:
        turned, bar = event.angleDelta(), self.horizontalScrollBar()
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.zoom(ZOOM_STEP ** (turned.y() / 120), event.position().x())
        elif event.modifiers() & Qt.KeyboardModifier.ShiftModifier or abs(turned.x()) > abs(turned.y()):
            bar.setValue(bar.value() - (turned.x() or turned.y()))
        else:
            super().wheelEvent(event)
            return
        event.accept()

    # --- the hand ----------------------------------------------------------------------------------

    def choose(self, spot: Spot | None) -> None:
        """Take a block in hand, and bring it into view."""
        self.chosen = spot
        if spot is not None:
            self._show_spot(spot)
        self._tell(None)
        self.chosen_changed.emit()
        self.viewport().update()

    def _show_spot(self, spot: Spot) -> None:
        box, names = self.drawn().block(spot[0], self.picture.rows[spot[0]].blocks[spot[1]]), self.names_width()
        across, along, view = self.horizontalScrollBar(), self.verticalScrollBar(), self.viewport()
        edge = min(6 * GRID, self._room() / 4)
        if box.left() < names + edge or box.right() > view.width() - edge:
            self.follows = self.follows if across.maximum() == 0 else ""
            across.setValue(round(across.value() + box.center().x() - names - self._room() / 3))
        frame = self.frame()
        head, top = frame.head, frame.top(spot[0])
        if top < head:
            along.setValue(round(along.value() + top - head))
        elif top + frame.row > view.height():
            along.setValue(round(along.value() + top + frame.row - view.height()))

    def spot_at(self, at: QPointF) -> Spot | None:
        """Give the block under a place, or the nearest that a gloved finger may have meant."""
        row = self._row_at(at)
        if row is None or at.x() < self.names_width():
            return None
        drawn, reach = self.drawn(), TARGET / 2
        boxes = [(drawn.block(row, b), (row, i)) for i, b in enumerate(self.picture.rows[row].blocks)]
        near = [(max(box.left() - at.x(), at.x() - box.right(), 0.0), spot) for box, spot in boxes]
        best = min(near, default=None)
        return best[1] if best is not None and best[0] <= reach else None

    def wait_at(self, at: QPointF) -> tuple[Row, Waiting] | None:
        """Give the wait under a place: the one that began last."""
        row = self._row_at(at)
        if row is None:
            return None
        r, frame = self.picture.rows[row], self.frame()
        over = [
            w for w in r.waits if frame.x(w.from_at) <= at.x() <= frame.x(max(w.opens_at, w.closes_at or w.opens_at))
        ]
        return (r, max(over, key=lambda w: w.from_at)) if over else None

    def _row_at(self, at: QPointF) -> int | None:
        frame = self.frame()
        row = int((at.y() - frame.head + frame.down) // frame.row)
        return row if at.y() >= frame.head and 0 <= row < len(self.picture.rows) else None

    def words_at(self, at: QPointF) -> str:
        """Say what is under a place: the work, else the wait, else why a piece has no place."""
        row = self._row_at(at)
        if row is None:
            return ""
        r, spot, wait = self.picture.rows[row], self.spot_at(at), self.wait_at(at)
        if at.x() < self.names_width():
            return ". ".join(x for x in (r.named.name, r.named.job_title, r.because) if x)
        if spot is not None:
            block = self.drawn().block(row, r.blocks[spot[1]])
            if wait is None or block.left() - 3 <= at.x() <= block.right() + 3:
                return block_words(r, r.blocks[spot[1]], self.picture.names, self.picture.now)
        return wait_words(*wait, self.picture.now) if wait is not None else r.because

    def _tell(self, at: QPointF | None) -> None:
        """Say what is under a place, or what is in hand."""
        words = self.words_at(at) if at is not None else ""
        if not words and self.chosen is not None:
            row = self.picture.rows[self.chosen[0]]
            words = block_words(row, row.blocks[self.chosen[1]], self.picture.names, self.picture.now)
        self.setAccessibleDescription(words)
        self.pointed.emit(words)

    def viewportEvent(self, event: QEvent) -> bool:
        if event.type() is QEvent.Type.Leave:
            self._tell(None)
        return super().viewportEvent(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        self._tell(event.position())

    def mousePressEvent(self, event: QMouseEvent) -> None:
        spot = self.spot_at(event.position())
        if event.button() is Qt.MouseButton.LeftButton and spot is not None:
            self.choose(spot)
            self.ask_layer()
        elif event.button() is Qt.MouseButton.LeftButton and (row := self._row_at(event.position())) is not None:
            self.choose(nearest(self.picture, row, self.picture.now))
        event.accept()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        event.accept()

    def ask_layer(self) -> None:
        """Ask for the layer of the block in hand."""
        placed = self.placed(self.chosen)
        if placed is not None:
            self.layer_asked.emit(placed.task.job, placed.task.piece, placed.task.layer or "")

    # --- the keys ----------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, held = event.key(), event.modifiers() & Qt.KeyboardModifier.ControlModifier
        if key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            self.choose(step_along(self.picture, self.chosen, 1 if key == Qt.Key.Key_Right else -1))
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.choose(step_across(self.picture, self.chosen, 1 if key == Qt.Key.Key_Down else -1))
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.chosen is not None and not held:
            self.ask_layer()
        elif key == Qt.Key.Key_End and self.picture.rows:
            row = self.chosen[0] if self.chosen is not None else (first_spot(self.picture) or (0, 0))[0]
            blocks = self.picture.rows[row].blocks
            self.choose((row, len(blocks) - 1) if blocks else None)
        else:
            event.ignore()
            return
        event.accept()

    # --- drawing -----------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        view = self.viewport()
        p = QPainter(view)
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        drawn, frame = self.drawn(), self.frame()
        wide, high = float(view.width()), float(view.height())
        body = QRectF(frame.names, frame.head, wide - frame.names, high - frame.head)
        shown = range(
            max(0, int(frame.down // frame.row)),
            min(len(self.picture.rows), int((frame.down + body.height()) // frame.row) + 1),
        )
        bottom = min(high, frame.top(len(self.picture.rows)))
        p.save()
        p.setClipRect(body)
        drawn.draw_ground(p, QRectF(body.left(), body.top(), body.width(), bottom - body.top()))
        for i in shown:
            chosen = self.placed(self.chosen) if self.chosen is not None and self.chosen[0] == i else None
            drawn.draw_row(p, i, body, chosen)
        p.restore()
        p.save()
        p.setClipRect(QRectF(0, frame.head, frame.names, body.height()))
        self._draw_names(p, drawn, shown)
        p.restore()
        drawn.draw_head(p, wide)
        p.setPen(QPen(self.look.theme.color("quiet"), 1))
        p.drawLine(QPointF(frame.names, frame.head), QPointF(frame.names, bottom))
        drawn.draw_now(p, bottom, wide)
        if self.hasFocus():
            p.setBrush(Qt.BrushStyle.NoBrush)
            p.setPen(QPen(self.look.theme.color("accent"), 2))
            p.drawRect(QRectF(1, 1, wide - 2, high - 2))
        p.end()

    def _draw_names(self, p: QPainter, drawn: DayDraw, shown: range) -> None:
        for i in shown:
            drawn.draw_name(p, i, chosen=self.chosen is not None and self.chosen[0] == i)
            p.setPen(QPen(self.look.theme.color("line"), 1))
            bottom = drawn.frame.top(i) + drawn.frame.row
            p.drawLine(QPointF(0, bottom), QPointF(drawn.frame.names, bottom))


def _at(picture: DayPicture, now: datetime) -> DayPicture:
    return DayPicture(picture.rows, picture.begins_at, picture.ends_at, picture.open, now, picture.names)
