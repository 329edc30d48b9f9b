"""Pictures of grades: a lattice, an X, a strip of tape, a scratch or a pencil, with what stands for each step.

They are our own drawings of the words of each scale, with about as much gone as `trade.grades.flaked_squares` says, and
no measurement: what is seen on the strip is held against the words. Anybody may draw one, at any size from 16 px on:

    draw_grade(painter, QRectF(0, 0, 48, 48), look.theme, Method.ISO_2409, "2")
    picture = GradePicture(look, 48); picture.show_grade(Method.ISO_2409, "2")
"""

import math
from functools import cache

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QWidget

from benchtool.bench.look import Look, Theme
from benchtool.trade.grades import Method, codes, flaked_squares, read_grade

SQUARES = 5
"""So many squares of the lattice in each direction: six cuts."""
BITS = 4
"""So many bits of a square in each direction flake by themselves in the picture."""
_IN = 0.16
"""Where the lattice begins, in shares of the picture: intact paint lies round it."""

Points = tuple[tuple[float, float], ...]


def draw_grade(painter: QPainter, box: QRectF, theme: Theme, method: Method, code: str) -> None:
    """Draw what a grade looks like into the largest square in the middle of `box`.

    Raises:
        NotAGrade: `code` is no grade of the method.
    """
    step = codes(method).index(read_grade(method, code))
    side = min(box.width(), box.height())
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.translate(box.center().x() - side / 2, box.center().y() - side / 2)
    painter.scale(side, side)  # everything below is drawn in shares of the picture
    brush = _Brush(painter, theme, 1 / max(side, 1.0))
    if method in (Method.ISO_2409, Method.D3359_B):
        _draw_lattice(brush, flaked_squares(method, code))
    elif method is Method.D3359_A:
        _draw_x(brush, step)
    elif method is Method.PLAIN_TAPE:
        _draw_tape(brush, step)
    elif method is Method.STICK:
        _draw_stick(brush, step)
    elif method is Method.NAIL:
        _draw_nail(brush, step)
    else:
        _draw_pencil(brush, step / (len(codes(method)) - 1))
    painter.restore()


class GradePicture(QWidget):
    """The picture of one grade, in a square of `side` px."""

    def __init__(self, look: Look, side: int = 48) -> None:
        super().__init__()
        self.look, self.side = look, side
        self._shown: tuple[Method, str] | None = None
        self.setFixedSize(QSize(side, side))
        look.changed.connect(self.update)

    def show_grade(self, method: Method, code: str) -> None:
        """Show this grade."""
        if (method, code) != self._shown:
            self._shown = (method, code)
            self.setAccessibleName(code)
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        if self._shown is not None:
            painter = QPainter(self)
            draw_grade(painter, QRectF(self.rect()).adjusted(1, 1, -1, -1), self.look.theme, *self._shown)
            painter.end()


class _Brush:
    """The painter with the few strokes that the pictures are made of; `px` is a pixel, in shares of the picture."""

    def __init__(self, painter: QPainter, theme: Theme, px: float) -> None:
        self.painter, self.theme, self.px = painter, theme, px

    @property
    def mark(self) -> str:
        """The colour of a mark in paint that is still there: the darkest of the theme."""
        return "ink" if self.theme.name == "light" else "paper"

    def fill(self, path: QPainterPath, color: str, edge: str = "") -> None:
        self.painter.setPen(self.pen(edge, 1.0) if edge else Qt.PenStyle.NoPen)
        self.painter.setBrush(self.theme.color(color))
        self.painter.drawPath(path)

    def box(self, x: float, y: float, right: float, bottom: float, color: str) -> None:
        path = QPainterPath()
        path.addRect(QRectF(QPointF(x, y), QPointF(right, bottom)))
        self.fill(path, color)

    def line(self, points: Points, color: str, width_px: float = 1.0, share: float = 0.0) -> None:
        """Draw a stroke, at least `width_px` pixels wide and at least that share of the picture."""
        self.painter.setBrush(Qt.BrushStyle.NoBrush)
        self.painter.setPen(self.pen(color, max(width_px, share / self.px)))
        self.painter.drawPolyline(QPolygonF([QPointF(x, y) for x, y in points]))

    def pen(self, color: str, width_px: float) -> QPen:
        cap, join = Qt.PenCapStyle.RoundCap, Qt.PenJoinStyle.RoundJoin
        return QPen(self.theme.color(color), width_px * self.px, Qt.PenStyle.SolidLine, cap, join)

    def coat(self) -> None:
        self.box(0, 0, 1, 1, "wait")


# --- what has come off -----------------------------------------------------------------------------------


def _chance(*place: int) -> float:
    """Give a number from 0 to 1 that looks like chance and is always the same at one place."""
    n = 0x2545F491
    for p in place:
        n = ((n ^ (p + 0x9E3779B9)) * 0x85EBCA6B) & 0xFFFFFFFF
        n ^= n >> 15
    return n / 0xFFFFFFFF


def _ragged(points: Points, by: float = 0.0, salt: int = 0) -> QPainterPath:
    """Give a closed outline through these points, each moved a little."""
    path = QPainterPath()
    for k, (x, y) in enumerate(points):
        spot = QPointF(x + by * (_chance(k, salt) - 0.5), y + by * (_chance(k, salt, 1) - 0.5))
        if k:
            path.lineTo(spot)
        else:
            path.moveTo(spot)
    path.closeSubpath()
    return path


@cache
def flaked_bits(percent: float) -> frozenset[tuple[int, int]]:
    """Give which bits of the lattice are gone (column, row): a few where cuts cross, then edges, then whole squares."""
    many = SQUARES * BITS
    every = sorted(((i, j) for i in range(many) for j in range(many)), key=lambda bit: (_hold(bit, percent), bit))
    return frozenset(every[: round(many * many * percent / 100)])


def _hold(at: tuple[int, int], percent: float) -> float:
    """Say how well a bit holds: the lower, the sooner it flakes."""
    i, j = at
    dx, dy = (min(u, 1 - u) for u in (((k + 0.5) / BITS) % 1 for k in (i, j)))
    square, bit = _chance(i // BITS, j // BITS, 3), _chance(i, j, 7)
    crossing, edge = math.hypot(dx, dy), min(dx, dy)
    if percent <= 5:
        return crossing + 0.15 * bit
    if percent <= 15:
        return min(edge, 0.6 * crossing) + 0.15 * bit + 0.1 * square
    return 0.6 * edge + 0.3 * square + 0.15 * bit if percent <= 35 else 0.3 * edge + square + 0.1 * bit


@cache
def _lattice(percent: float) -> QPainterPath:
    path, bit = QPainterPath(), (1 - 2 * _IN) / (SQUARES * BITS)
    path.setFillRule(Qt.FillRule.WindingFill)
    for i, j in sorted(flaked_bits(percent)):
        path.addRect(QRectF(_IN + i * bit, _IN + j * bit, bit, bit))
    return path


def _draw_lattice(brush: _Brush, percent: float) -> None:
    brush.coat()
    brush.fill(_lattice(percent), "bare")
    over, side = 0.06, 1 - 2 * _IN
    fine = 1.0 if brush.px < 1 / 44 else 0.5  # in a small picture the cuts would hide what has come off
    for k in range(SQUARES + 1):
        at = _IN + side * k / SQUARES
        brush.line(((at, _IN - over), (at, 1 - _IN + over)), "paper", fine)
        brush.line(((_IN - over, at), (1 - _IN + over, at)), "paper", fine)


_X = (((0.28, 0.08), (0.72, 0.92)), ((0.72, 0.08), (0.28, 0.92)))


@cache
def _along(number: int, half: float) -> QPainterPath:
    """Give a ragged band along a cut of the X, as wide as `half` to either side."""
    (x0, y0), (x1, y1) = _X[number]
    long, steps = math.hypot(x1 - x0, y1 - y0), 14
    nx, ny = (y1 - y0) / long, (x0 - x1) / long
    sides: list[tuple[float, float]] = []
    for side in (1, -1):
        for k in range(steps + 1) if side > 0 else range(steps, -1, -1):
            out = half * (0.45 + 0.55 * _chance(k, number, side + 2)) * side
            sides.append((x0 + (x1 - x0) * k / steps + nx * out, y0 + (y1 - y0) * k / steps + ny * out))
    return _ragged(tuple(sides))


_TRACES: tuple[Points, ...] = (
    ((0.46, 0.47), (0.53, 0.45), (0.55, 0.53), (0.48, 0.55)),
    ((0.34, 0.2), (0.38, 0.24), (0.37, 0.27), (0.34, 0.25)),
)
_MOST_OF_THE_X: Points = (
    (0.26, 0.1), (0.74, 0.1), (0.66, 0.35), (0.62, 0.5), (0.68, 0.66), (0.74, 0.9), (0.26, 0.9), (0.34, 0.6),
)  # fmt: skip
_BEYOND_THE_X: Points = (
    (0.08, 0.05), (0.5, 0.03), (0.93, 0.07), (0.95, 0.5), (0.9, 0.95), (0.5, 0.97), (0.06, 0.93), (0.1, 0.5),
)  # fmt: skip


def _draw_x(brush: _Brush, step: int) -> None:
    brush.coat()
    gone: list[QPainterPath] = []
    if step == 1:
        gone = [_ragged(trace, 0.02) for trace in _TRACES]
    elif step in (2, 3):  # a picture of 40 mm: about 1.6 and 3.2 mm to either side, drawn a little wider
        gone = [_along(number, 0.05 if step == 2 else 0.11) for number in (0, 1)]
    elif step in (4, 5):
        gone = [_ragged(_MOST_OF_THE_X if step == 4 else _BEYOND_THE_X, 0.08, step)]
    for path in gone:
        brush.fill(path, "bare")
    for cut in _X:
        brush.line(cut, "paper" if step < 4 else "quiet", 1.2)


_COLUMNS, _ROWS = 28, 14
_HEARTS = ((9, 7), (19, 6), (14, 9), (23, 9))
"""Where the patches of paint on the tape have their middle."""


@cache
def on_the_tape(step: int) -> frozenset[tuple[int, int]]:
    """Give which bits of the tape have paint on (column, row): specks, flakes of an edge, patches, nearly all."""
    bits = [(i, j) for i in range(_COLUMNS) for j in range(_ROWS)]
    if step == 0:
        return frozenset()
    if step == 1:
        return frozenset({(6, 4), (15, 9), (22, 5), (19, 11)})
    if step == 2:
        return frozenset((i, j) for i, j in bits if _chance(i // 3, 11) > 0.5 and j < 1 + 3 * _chance(i, 5))
    share = {3: 0.15, 4: 0.5, 5: 0.95}[step]
    bits.sort(key=lambda bit: (_from_a_heart(*bit), bit))
    return frozenset(bits[: round(len(bits) * share)])


def _from_a_heart(i: int, j: int) -> float:
    away = min(math.hypot(i - x, 1.3 * (j - y)) + 2.5 * k for k, (x, y) in enumerate(_HEARTS))
    return away + 1.6 * _chance(i // 2, j // 2, 9)


def _draw_tape(brush: _Brush, step: int) -> None:
    left, top, right, bottom = 0.04, 0.26, 0.96, 0.74
    torn = range(1, 8)
    high = bottom - top
    outline = (
        (left, top), (right, top), *((right - 0.03 * (k % 2), top + high * k / 8) for k in torn), (right, bottom),
        (left, bottom), *((left + 0.03 * (k % 2), top + high * k / 8) for k in reversed(torn)),
    )  # fmt: skip
    brush.fill(_ragged(outline), "raised", "quiet")
    bit_x, bit_y = (right - left - 0.08) / _COLUMNS, (high - 0.02) / _ROWS
    paint = QPainterPath()
    paint.setFillRule(Qt.FillRule.WindingFill)
    for i, j in sorted(on_the_tape(step)):
        paint.addRect(QRectF(left + 0.04 + i * bit_x, top + 0.01 + j * bit_y, bit_x, bit_y))
    brush.fill(paint, "wait")


_STROKE: Points = ((0.16, 0.8), (0.84, 0.2))
_FIRST_OFF: Points = ((0.42, 0.5), (0.52, 0.4), (0.6, 0.44), (0.54, 0.56), (0.46, 0.58))
_FAR_OFF: Points = (
    (0.1, 0.86), (0.08, 0.66), (0.34, 0.5), (0.6, 0.2), (0.9, 0.08), (0.92, 0.34), (0.66, 0.6), (0.36, 0.86),
)  # fmt: skip


def _draw_stick(brush: _Brush, step: int) -> None:
    brush.coat()
    if step == 1:
        brush.line(_STROKE, "paper", 1.0, 0.02)
    for k in (-1, 0, 1) if step in (2, 3) else ():
        brush.line(tuple((x, y + 0.09 * k) for x, y in _STROKE), brush.mark, 1.2, 0.03)
    if step == 3:
        brush.fill(_ragged(_FIRST_OFF, 0.05, 13), "bare")
    elif step == 4:
        brush.line(_STROKE, "bare", 2.0, 0.13)
    elif step == 5:
        brush.fill(_ragged(_FAR_OFF, 0.08, 15), "bare")


_ARC: Points = tuple((0.5 + 0.34 * math.cos(a / 10), 0.32 + 0.34 * math.sin(a / 10)) for a in range(4, 28))
_SCRAPED: Points = ((0.3, 0.36), (0.44, 0.28), (0.68, 0.34), (0.72, 0.5), (0.66, 0.7), (0.42, 0.72), (0.32, 0.56))


def _draw_nail(brush: _Brush, step: int) -> None:
    brush.coat()
    if step in (1, 2):
        brush.line(_ARC, "paper" if step == 1 else brush.mark, float(step), 0.015 * step * step)
    elif step == 3:  # crumbs, at an edge alone
        for k in range(4):
            y, deep = 0.14 + 0.2 * k, 0.1 + 0.12 * _chance(k, 17)
            brush.fill(_ragged(((1, y), (1, y + 0.12), (1 - deep, y + 0.09), (1 - deep, y + 0.03))), "bare")
    elif step == 4:
        brush.fill(_ragged(_SCRAPED, 0.07, 19), "bare")
    elif step == 5:
        brush.box(0.12, 0.12, 0.88, 0.88, "bare")
        flap = QPainterPath(QPointF(0.12, 0.88))
        flap.lineTo(0.88, 0.88)
        flap.quadTo(0.7, 0.5, 0.88, 0.24)
        flap.quadTo(0.4, 0.42, 0.12, 0.88)
        brush.fill(flap, "wait", "paper")


def _draw_pencil(brush: _Brush, soft: float) -> None:
    """Draw a pencil with its stroke; `soft` goes from 0 for the hardest to 1 for a film that no pencil leaves whole."""
    brush.fill(_ragged(((0.62, 0.06), (0.94, 0.38), (0.6, 0.72), (0.28, 0.4))), "wait")
    brush.fill(_ragged(((0.28, 0.4), (0.6, 0.72), (0.14, 0.86))), "bare")
    lead = 0.08 + 0.12 * soft  # a softer lead is a thicker one, and its stroke is darker
    brush.fill(_ragged(((0.14, 0.86), (0.14 + lead, 0.86 - 0.3 * lead), (0.14 + 0.3 * lead, 0.86 - lead))), "ink")
    brush.line(((0.14, 0.94), (0.86, 0.94)), "quiet", 1.0, 0.01 + 0.06 * soft)
