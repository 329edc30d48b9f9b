"""The running windows under the plot of the air: each a bar over the same time, told apart by pattern."""

from collections.abc import Callable

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPen, QPolygonF

from benchtool.bench.controls import hatch
from benchtool.bench.look import GRID, Look, elided
from benchtool.session.airview import Bar, Picture


def _row(look: Look) -> float:
    return QFontMetricsF(look.small).height() + _thick(look) + GRID


def _thick(look: Look) -> float:
    return 1.25 * GRID * max(1.0, look.scale)


def _shown(look: Look, picture: Picture, room: float) -> int:
    foot = QFontMetricsF(look.small).height()
    return max(1, min(len(picture.bars), int((room - foot) // _row(look)))) if picture.bars else 0


def bars_height(look: Look, picture: Picture, room: float) -> float:
    """Say how much height the bars take, of `room` at the most unless that is too little for one."""
    if not picture.bars:
        return 0.0
    return _shown(look, picture, room) * _row(look) + QFontMetricsF(look.small).height() + GRID / 2


def draw_bars(painter: QPainter, look: Look, box: QRectF, x_of: Callable[[float], float], picture: Picture) -> None:
    """Draw as many bars as there is room for, and say how many more there are."""
    if not picture.bars:
        return
    row, line = _row(look), QFontMetricsF(look.small).height()
    shown = picture.bars[: _shown(look, picture, box.height() + 1)]
    for i, bar in enumerate(shown):
        place = QRectF(box.left(), box.top() + i * row, box.width(), row)
        _draw_label(painter, look, QRectF(place.left(), place.top(), place.width(), line), bar)
        lane = QRectF(place.left(), place.top() + line, place.width(), _thick(look))
        painter.save()
        painter.setClipRect(lane.adjusted(0, -3, 0, 3))
        _draw_bar(painter, look, lane, x_of, picture.now_s, bar)
        painter.restore()
    more = picture.more + len(picture.bars) - len(shown)
    foot = QRectF(box.left(), box.top() + len(shown) * row, box.width(), line)
    words = [f"and {more} more."] if more else []
    if any(b.due_s is None or b.due_s > b.card_s + 1 for b in shown if b.waits):
        words.append("Hatched: what the air adds to the card's time.")
    if any(b.due_s is not None and b.due_s < b.card_s - 1 for b in shown):
        words.append("Dashed: what warmth takes from it.")
    painter.setFont(look.small)
    painter.setPen(look.theme.color("quiet"))
    painter.drawText(foot, Qt.AlignmentFlag.AlignVCenter, elided(" ".join(words), look.small, foot.width()))


def _draw_label(painter: QPainter, look: Look, box: QRectF, bar: Bar) -> None:
    """Write whose window it is and when it ends; the piece is cut short before the time is."""
    font, t = look.small, look.theme
    metrics = QFontMetricsF(font)
    what = f": {bar.what}"
    place = elided(bar.place, font, max(8.0 * GRID, box.width() - metrics.horizontalAdvance(what)))
    text = place + what
    wide = metrics.horizontalAdvance(text)
    painter.setFont(font)
    painter.fillRect(QRectF(box.left(), box.top(), min(wide + GRID, box.width()), box.height()), t.color("paper"))
    painter.setPen(t.color("ink"))
    painter.drawText(box, Qt.AlignmentFlag.AlignVCenter, text)
    room = box.width() - wide - 3 * GRID
    if bar.why and room > 16 * GRID:
        why = elided(bar.why, font, room)
        spot = QRectF(box.left() + wide + 2 * GRID, box.top(), room + GRID, box.height())
        told = metrics.horizontalAdvance(why) + 2
        painter.fillRect(QRectF(spot.left(), spot.top(), told, spot.height()), t.color("paper"))
        painter.setPen(t.color("quiet"))
        painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, why)


def _draw_bar(
    painter: QPainter, look: Look, lane: QRectF, x_of: Callable[[float], float], now_s: float, bar: Bar
) -> None:
    t = look.theme
    tone = t.color("accent" if bar.needed else "wait")

    def part(from_s: float, to_s: float | None) -> QRectF:
        left = max(lane.left() - 4, x_of(from_s))
        right = lane.right() + 4 if to_s is None else min(lane.right() + 4, x_of(to_s))
        return QRectF(left, lane.top(), max(0.0, right - left), lane.height())

    whole, done = part(bar.from_s, bar.due_s), part(bar.from_s, now_s if bar.due_s is None else min(now_s, bar.due_s))
    late = bar.waits and (bar.due_s is None or bar.due_s > bar.card_s)
    painter.fillRect(part(bar.from_s, bar.card_s) if late else whole, t.color("line"))
    painter.fillRect(done, tone)
    if late:
        added, ink = part(bar.card_s, bar.due_s), t.color("quiet")
        hatch(painter, added, ink, gap=6, width=1.5)
        hatch(painter, added.intersected(done), t.color("paper"), gap=6, width=1.5)
        painter.setPen(QPen(ink, 1.5))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(added)
        painter.fillRect(QRectF(x_of(bar.card_s) - 1, lane.top() - 3, 2, lane.height() + 6), t.color("ink"))
    if bar.due_s is not None and bar.due_s < bar.card_s:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(t.color("quiet"), 1.5, Qt.PenStyle.DashLine))
        painter.drawRect(part(bar.due_s, bar.card_s))
    if bar.closes_s is not None and bar.due_s is not None:
        _draw_open(painter, look, part(bar.due_s, bar.closes_s), part(bar.due_s, min(now_s, bar.closes_s)))
    if bar.due_s is not None and not bar.waits and bar.closes_s is None:
        _draw_deadline(painter, look, part(bar.from_s, bar.due_s))
    if bar.waits and bar.due_s is not None:
        _draw_opening(painter, look, QPointF(x_of(bar.due_s), lane.center().y()), lane.height())


def _draw_open(painter: QPainter, look: Look, box: QRectF, gone: QRectF) -> None:
    """Draw the time in which it is open as a line between two rails, ended by a stop: the deadline."""
    t, middle = look.theme, box.center().y()
    painter.setPen(QPen(t.color("quiet"), 1))
    for y in (box.top() + 2, box.bottom() - 2):
        painter.drawLine(QPointF(box.left(), y), QPointF(box.right(), y))
    painter.setPen(QPen(t.color("accent"), 3))
    if gone.width() > 0:
        painter.drawLine(QPointF(gone.left(), middle), QPointF(gone.right(), middle))
    _draw_deadline(painter, look, box)


def _draw_deadline(painter: QPainter, look: Look, box: QRectF) -> None:
    painter.setPen(QPen(look.theme.color("trouble"), 3))
    painter.drawLine(QPointF(box.right() - 1, box.top() - 3), QPointF(box.right() - 1, box.bottom() + 3))


def _draw_opening(painter: QPainter, look: Look, at: QPointF, height: float) -> None:
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(look.theme.color("ink"))
    half = height / 2 + 2
    painter.drawPolygon(QPolygonF([at + QPointF(0, -half), at + QPointF(height * 0.8, 0), at + QPointF(0, half)]))
