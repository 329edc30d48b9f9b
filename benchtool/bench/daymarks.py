"""What is marked on a row of the drawn plan: where windows close, what is promised, when a tail is over."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen, QPolygonF

from benchtool.bench.dayframe import Frame, Type, line_height, work_height
from benchtool.bench.dayrows import TAILS, DayPicture, Row, edge_words, is_tight, tail_words
from benchtool.bench.look import GRID
from benchtool.session.due import clock_time
from benchtool.trade.saying import say
from benchtool.trade.windows import FOR_GOOD, WindowKind


@dataclass(frozen=True, slots=True)
class Mark:
    """What is marked at a moment of a row, the lowest rank first; the first of `words` that has room is written."""

    rank: int
    at: datetime
    words: tuple[str, ...]
    tone: str
    kind: str
    bold: bool = False


def draw_marks(p: QPainter, look: Type, picture: DayPicture, frame: Frame, row: int, view: QRectF) -> None:
    """Draw an edge where a window closes and write when, what matters most first and never over each other."""
    top = frame.top(row)
    lane, bottom = lane_box(look, frame, row), top + frame.row - 2
    seen = [m for m in marks(picture.rows[row], picture) if view.left() - 1 <= frame.x(m.at) <= view.right() + 1]
    for mark in seen:
        _draw_line(p, look, mark, frame.x(mark.at), (top + 2, lane.top(), lane.bottom(), bottom))
    taken: list[tuple[float, float]] = []
    for mark in seen:
        for words in mark.words:
            left = _free(look, frame.x(mark.at), words, view, taken)
            if left is not None:
                _write(p, look, words, mark.tone, QPointF(left, lane.bottom() + 4))
                break


def lane_box(look: Type, frame: Frame, row: int) -> QRectF:
    """Give the top and the bottom of the work in a row; it begins and ends nowhere."""
    return QRectF(0, frame.top(row) + line_height(look) + 0.75 * GRID, 0, work_height(look))


def marks(row: Row, picture: DayPicture) -> Sequence[Mark]:
    """Give what is marked on a row, what matters most first."""
    now, found = picture.now, []
    for w in row.waits:
        layer = picture.names.layer(w.job, w.piece, w.layer)
        if w.kind in TAILS:
            if w.opens_at <= picture.ends_at:
                found.append(Mark(3, w.opens_at, (tail_words(w, now),), "quiet", "tail"))
        elif w.closes_at is not None and w.closes_at < FOR_GOOD:
            words = tuple(dict.fromkeys((edge_words(w, now, layer), edge_words(w, now))))
            tight = is_tight(row, w)
            if w.kind is WindowKind.POT_LIFE:
                found.append(Mark(5, w.closes_at, words, "quiet", "use by"))
            elif w.missed:
                found.append(Mark(0, w.closes_at, words, "trouble", "edge", bold=True))
            elif w.kind is not WindowKind.FLASH or tight:
                found.append(
                    Mark(2 if tight else 4, w.closes_at, words, "ink" if tight else "quiet", "edge", bold=tight)
                )
    if row.named.promised is not None:
        found.append(_promise(row.named.promised, picture))
    return sorted(found, key=lambda m: (m.rank, m.at))


def _promise(at: datetime, picture: DayPicture) -> Mark:
    """Mark when a piece is promised; at the end of what is drawn, with an arrow, where it lies beyond that."""
    words = say("promised {time}", time=clock_time(at, picture.now))
    if at > picture.ends_at:
        return Mark(1, picture.ends_at, (f"{words} →",), "accent", "beyond")
    if at < picture.begins_at:
        return Mark(1, picture.begins_at, (f"← {words}",), "accent", "beyond")
    return Mark(1, at, (words,), "accent", "promise")


def _draw_line(p: QPainter, look: Type, mark: Mark, x: float, ys: tuple[float, float, float, float]) -> None:
    top, lane_top, lane_bottom, bottom = ys
    tone = look.theme.color(mark.tone)
    p.setPen(QPen(tone, 3 if mark.bold else 1.5))
    if mark.kind == "edge":
        p.drawLine(QPointF(x, lane_top - 2), QPointF(x, bottom))
    elif mark.kind == "use by":
        p.drawLine(QPointF(x, lane_bottom), QPointF(x, lane_bottom + 6))
    elif mark.kind == "promise":
        p.drawLine(QPointF(x, top), QPointF(x, bottom))
        p.setBrush(tone)
        p.drawPolygon(QPolygonF([QPointF(x, top), QPointF(x - 9, top + 5), QPointF(x, top + 10)]))


def _free(look: Type, x: float, words: str, view: QRectF, taken: list[tuple[float, float]]) -> float | None:
    """Give where words have room that end at `x`, or begin there; None where something else is written."""
    wide = QFontMetricsF(look.small).horizontalAdvance(words)
    for left in (x - wide - 4, x + 5):
        span = (left - 3, left + wide + 3)
        if (
            view.left() <= left
            and left + wide <= view.right()
            and not any(a < span[1] and span[0] < b for a, b in taken)
        ):
            taken.append(span)
            return left
    return None


def _write(p: QPainter, look: Type, words: str, tone: str, at: QPointF) -> None:
    box = QRectF(at.x(), at.y(), QFontMetricsF(look.small).horizontalAdvance(words) + 2, line_height(look))
    under = QColor(look.theme.color("raised"))
    under.setAlpha(190)
    p.fillRect(box.adjusted(-2, 1, 0, -1), under)
    p.setFont(look.small)
    p.setPen(look.theme.color(tone))
    p.drawText(box, Qt.AlignmentFlag.AlignVCenter, words)
