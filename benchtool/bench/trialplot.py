"""The plot of a trial: a column for each system, a lane for each test, and every strip as a mark at its own step.

Nothing is averaged. The steps of a scale are in order, best on top, and no more than that: how far they are apart means
nothing, so that a step takes as much height as its marks need.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QHelpEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from benchtool.bench.look import GRID, Look, elided
from benchtool.session.trialcompare import Dot, Lane, Picture
from benchtool.trade.saying import say

NARROW = 10 * GRID
"""A column that is narrower has its name written upright."""

NAMED_EVERY = 2
"""Over so many lanes the names stand once: about as many as are seen together."""

UPRIGHT = 15 * GRID
"""As high are names that stand upright, at most."""


@dataclass(frozen=True, slots=True)
class Sizes:
    """What the layout goes by (px): a mark's diameter, the least height of a step, of a heading and of the names."""

    mark: float
    thin: float
    head: float
    names: float
    codes: float
    gap: float = GRID / 2


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a mark lies."""

    box: QRectF
    dot: Dot
    lane: int
    column: int


@dataclass(frozen=True, slots=True)
class Placed:
    """Where everything lies: `steps` of each lane, best first; the `limits` are lines, None where a lane has none.

    `names` are the tops of the rows of names.
    """

    columns: tuple[QRectF, ...]
    names: tuple[float, ...]
    heads: tuple[QRectF, ...]
    steps: tuple[tuple[QRectF, ...], ...]
    limits: tuple[float | None, ...]
    spots: tuple[Spot, ...]
    height: float


def lay_out(picture: Picture, width: float, sizes: Sizes) -> Placed:
    """Lay the plot out over `width` (px). No two marks lie on each other, however narrow it is."""
    left, count = sizes.codes, max(1, len(picture.columns))
    each = max(sizes.mark + sizes.gap, (width - left) / count)
    abreast = max(1, int((each - sizes.gap) // (sizes.mark + sizes.gap)))
    y = 0.0
    names, heads, steps, limits, spots = [], [], [], [], []
    for n, lane in enumerate(picture.lanes):
        if n % NAMED_EVERY == 0:
            names.append(y)
            y += sizes.names
        heads.append(QRectF(0, y, left + each * count, sizes.head))
        y += sizes.head
        rows: list[QRectF] = []
        for i in range(len(lane.steps)):
            here = [[d for d in dots if d.step == i] for dots in lane.dots]
            deep = max((-(-len(dots) // abreast) for dots in here), default=0)
            high = max(sizes.thin, deep * (sizes.mark + sizes.gap) + sizes.gap)
            rows.append(QRectF(left, y, each * count, high))
            for column, dots in enumerate(here):
                middle = left + each * (column + 0.5)
                spots += [
                    Spot(box, dot, n, column)
                    for box, dot in zip(_boxes(len(dots), abreast, middle, rows[i], sizes), dots, strict=True)
                ]
            y += high
        steps.append(tuple(rows))
        limits.append(rows[lane.limit].bottom() if lane.limit is not None else None)
        y += 2 * sizes.gap
    columns = tuple(QRectF(left + each * i, 0, each, y) for i in range(len(picture.columns)))
    return Placed(columns, tuple(names), tuple(heads), tuple(steps), tuple(limits), tuple(spots), y)


def _boxes(count: int, abreast: int, middle: float, row: QRectF, sizes: Sizes) -> list[QRectF]:
    """Give the boxes of so many marks about `middle`: side by side, and in rows where they are more than fit."""
    pitch, deep = sizes.mark + sizes.gap, -(-count // abreast)
    top = row.center().y() - (deep * pitch - sizes.gap) / 2
    boxes = []
    for i in range(count):
        line, place = divmod(i, abreast)
        wide = min(abreast, count - line * abreast)
        x = middle - (wide * pitch - sizes.gap) / 2 + place * pitch
        boxes.append(QRectF(x, top + line * pitch, sizes.mark, sizes.mark))
    return boxes


class TrialPlot(QWidget):
    """Draws the picture of a trial; a click takes the system of that column in hand."""

    picked = Signal(int)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.picture = Picture()
        self.chosen = 0
        self._placed: Placed | None = None
        self.setObjectName("trial-plot")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setMouseTracking(True)
        look.changed.connect(self._again)

    def show_picture(self, picture: Picture, words: str) -> None:
        """Draw this; `words` say the same for whoever can't see it."""
        self.setAccessibleName(words)
        if picture != self.picture:
            self.picture = picture
            self._again()

    def choose(self, column: int) -> None:
        """Mark the column of the system in hand."""
        if column != self.chosen:
            self.chosen = column
            self.update()

    # --- sizes -------------------------------------------------------------------------------------

    def sizes(self) -> Sizes:
        """Give the sizes in force."""
        small, strong = QFontMetricsF(self.look.small), QFontMetricsF(self.look.strong)
        codes = max((small.horizontalAdvance(c) for lane in self.picture.lanes for c in lane.steps), default=0.0)
        most = max((d.number for lane in self.picture.lanes for dots in lane.dots for d in dots), default=0)
        mark = max(small.height() + 4, small.horizontalAdvance(str(most)) + 8)
        return Sizes(round(mark), small.height() + 1, strong.height() + GRID, self._names_high(), codes + 1.5 * GRID)

    def _names_high(self) -> float:
        small = QFontMetricsF(self.look.small)
        if not self._narrow():
            return 2 * small.height() + GRID
        longest = max((small.horizontalAdvance(c.name) for c in self.picture.columns), default=0.0)
        return min(UPRIGHT * self.look.scale, longest + GRID) + GRID

    def _narrow(self) -> bool:
        return bool(self.picture.columns) and self.width() / len(self.picture.columns) < NARROW * self.look.scale

    def least_width(self) -> int:
        """Give how wide it has to be at least to be read with ease."""
        return int(9 * GRID + len(self.picture.columns) * 7 * GRID * self.look.scale)

    def sizeHint(self) -> QSize:
        return QSize(60 * GRID, self.height())

    @property
    def placed(self) -> Placed:
        """Where everything lies now."""
        if self._placed is None:
            self._placed = lay_out(self.picture, self.width() - 1, self.sizes())
        return self._placed

    def _again(self) -> None:
        self._placed = None
        self.setFixedHeight(int(self.placed.height) + 1)
        self.update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._again()

    # --- the hand ----------------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        at = event.position()
        column = next((i for i, box in enumerate(self.placed.columns) if box.contains(at)), None)
        if column is not None and event.button() is Qt.MouseButton.LeftButton:
            self.picked.emit(column)
            event.accept()
        else:
            super().mousePressEvent(event)

    def event(self, event: QEvent) -> bool:
        if event.type() is QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            at = QPointF(event.pos())
            words = next((s.dot.words for s in self.placed.spots if s.box.contains(at)), "")
            if not words:
                named = zip(self.placed.columns, self.picture.columns, strict=True)
                words = next((column.name for box, column in named if box.contains(at)), "")
            QToolTip.showText(event.globalPos(), words, self) if words else QToolTip.hideText()
            return True
        return super().event(event)

    # --- what --------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        placed = self.placed
        self._draw_columns(painter, placed)
        for n, lane in enumerate(self.picture.lanes):
            self._draw_lane(painter, lane, placed.heads[n], placed.steps[n], placed.limits[n])
        for spot in placed.spots:
            self._draw_mark(painter, spot)
        painter.end()

    def _draw_columns(self, painter: QPainter, placed: Placed) -> None:
        t, high = self.look.theme, self.sizes().names
        for i, box in enumerate(placed.columns):
            for rows in placed.steps if i == self.chosen else ():
                band = QRectF(box.left(), rows[0].top(), box.width(), rows[-1].bottom() - rows[0].top())
                painter.fillRect(band, t.color("raised"))
            for top in placed.names:
                self._draw_name(painter, i, QRectF(box.left(), top, box.width(), high))

    def _draw_name(self, painter: QPainter, i: int, box: QRectF) -> None:
        t, column = self.look.theme, self.picture.columns[i]
        if i == self.chosen:
            painter.fillRect(QRectF(box.left(), box.bottom() - 4, box.width(), 3), t.color("accent"))
        head = box.adjusted(4, 0, -4, -6)
        if column.colour:
            painter.fillRect(QRectF(head.left(), head.bottom() - 3, head.width(), 3), QColor(column.colour))
            head.adjust(0, 0, 0, -5)
        painter.setFont(self.look.small)
        painter.setPen(t.color("ink" if i == self.chosen else "quiet"))
        if self._narrow():
            self._write_upright(painter, head, column.name)
        else:
            _write_in_two(painter, head, column.name)

    def _write_upright(self, painter: QPainter, box: QRectF, name: str) -> None:
        painter.save()
        painter.translate(box.center().x(), box.bottom())
        painter.rotate(-90)
        high = QFontMetricsF(self.look.small).height()
        words = elided(name, self.look.small, box.height())
        painter.drawText(QRectF(0, -high / 2, box.height(), high), Qt.AlignmentFlag.AlignVCenter, words)
        painter.restore()

    def _draw_lane(
        self, painter: QPainter, lane: Lane, head: QRectF, steps: Sequence[QRectF], limit: float | None
    ) -> None:
        t = self.look.theme
        painter.setFont(self.look.strong)
        painter.setPen(t.color("ink"))
        line = QRectF(head.left() + 2, head.top(), head.width() - 4, head.height())
        title = elided(lane.title, self.look.strong, line.width())
        painter.drawText(line, Qt.AlignmentFlag.AlignVCenter, title)
        wide = QFontMetricsF(self.look.strong).horizontalAdvance(title) + 2 * GRID
        painter.setFont(self.look.small)
        painter.setPen(t.color("quiet"))
        rest = line.adjusted(wide, 0, 0, 0)
        painter.drawText(rest, Qt.AlignmentFlag.AlignVCenter, elided(lane.remark, self.look.small, rest.width()))
        for code, row in zip(lane.steps, steps, strict=True):
            painter.setPen(QPen(t.color("line"), 1))
            painter.drawLine(QPointF(row.left(), row.center().y()), QPointF(row.right(), row.center().y()))
            painter.setPen(t.color("quiet"))
            spot = QRectF(0, row.top(), row.left() - GRID / 2, row.height())
            painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight, code)
        if limit is not None:
            painter.setPen(QPen(t.color("trouble"), 2, Qt.PenStyle.DashLine))
            painter.drawLine(QPointF(0, limit), QPointF(head.right(), limit))

    def _draw_mark(self, painter: QPainter, spot: Spot) -> None:
        """A circle, a square for a control; broken where it was graded early, hatched where too much came off."""
        t, dot, box = self.look.theme, spot.dot, spot.box.adjusted(1, 1, -1, -1)
        tone = t.color("quiet" if dot.early else "ink")
        pen = QPen(tone, 1.5)
        if dot.early:
            pen.setDashPattern([1.5, 1.5])
        painter.setPen(pen)
        painter.setBrush(t.color("raised"))
        square = self.picture.columns[spot.column].control
        painter.drawRect(box) if square else painter.drawEllipse(box)
        if dot.came_off:
            painter.setPen(QPen(t.color("trouble"), 3))
            painter.drawLine(box.bottomLeft(), box.bottomRight())
        painter.setFont(self.look.small)
        painter.setPen(tone)
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, str(dot.number))


def _write_in_two(painter: QPainter, box: QRectF, name: str) -> None:
    """Write a name over one line or two, the second cut off where it is too long."""
    font, metrics = painter.font(), QFontMetricsF(painter.font())
    upper, lower = name, ""
    if metrics.horizontalAdvance(name) > box.width():
        words = name.split(" ")
        fit = len(words)
        while fit > 1 and metrics.horizontalAdvance(" ".join(words[:fit])) > box.width():
            fit -= 1
        upper, lower = " ".join(words[:fit]), " ".join(words[fit:])
    both = [elided(line, font, box.width()) for line in (upper, lower) if line]
    top = box.bottom() - len(both) * metrics.height()
    for i, line in enumerate(both):
        spot = QRectF(box.left(), top + i * metrics.height(), box.width(), metrics.height())
        painter.drawText(spot, Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignVCenter, line)


def legend(picture: Picture) -> str:
    """Say what the marks mean that are there."""
    dots = [d for lane in picture.lanes for column in lane.dots for d in column]
    said = [say("Each mark is one strip, with its number; the best grade is on top.")]
    if any(column.control for column in picture.columns):
        said.append(say("Squares are the bare control."))
    if any(d.early for d in dots):
        said.append(say("A broken outline: graded before it had rested, and not counted."))
    if any(lane.limit is not None for lane in picture.lanes):
        said.append(say("Below the broken line more came off than is usually allowed."))
    return " ".join(said)
