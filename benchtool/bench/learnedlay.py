"""Where everything of the plots of a record lies: headings, sentences, bands, and a box for every mark."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF

from benchtool.bench.learnedaxis import Scale, deepest, error_scale, piled, time_scale
from benchtool.bench.look import GRID, Look
from benchtool.session.learningshown import Kind, Lane
from benchtool.trade.saying import say

ROWS = 7
"""So many marks lie over each other before they come closer together."""

BARS_HIGH = 11 * GRID
MARK = 1.5 * GRID


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a mark lies: its box, its lane and its place in the lane."""

    box: QRectF
    lane: int
    mark: int


@dataclass(frozen=True, slots=True)
class Laid:
    """Where one plot lies: its whole box, its heading, its words, and the band of its marks. `scale` is over the band.

    A plot with nothing to draw has no band.
    """

    whole: QRectF
    head: QRectF
    words: QRectF
    band: QRectF
    scale: Scale | None
    spots: tuple[Spot, ...]


def words_of(lane: Lane) -> str:
    """Give the sentences of a plot as one paragraph."""
    return " ".join(lane.said)


def lay_out(lanes: Sequence[Lane], look: Look, width: float) -> tuple[tuple[Laid, ...], float]:
    """Lay the plots out below each other; gives them, and how high all are."""
    y, placed = 0.0, []
    strong, body = QFontMetricsF(look.strong), look.body
    for i, lane in enumerate(lanes):
        head = QRectF(0, y, width, strong.height() + GRID / 2)
        words = QRectF(0, head.bottom(), width, text_height(words_of(lane), body, width))
        top = words.bottom() + GRID / 2
        made = _LAY[lane.kind](lane, i, QRectF(0, top, width, 0), look)
        whole = QRectF(0, y, width, made[0].bottom() + _below(lane, look) - y)
        placed.append(Laid(whole, head, words, *made))
        y = whole.bottom() + 3 * GRID
    return tuple(placed), max(0.0, y - 2 * GRID)


def text_height(text: str, font: QFont, width: float) -> float:
    """Give how high a paragraph is (px)."""
    flags = int(Qt.TextFlag.TextWordWrap)
    return QFontMetricsF(font).boundingRect(QRectF(0, 0, max(width, 10), 10_000), flags, text).height()


def mark_across(look: Look) -> float:
    """Give how wide a mark is with the room about it (px)."""
    return round(MARK * look.scale) + 2


def _below(lane: Lane, look: Look) -> float:
    """How much room the scale takes below its band."""
    line = QFontMetricsF(look.small).height()
    if lane.kind is Kind.MISSES or not lane.marks:
        return 0.0
    return 2 * line + GRID / 2 if lane.kind is not Kind.WASTE else line


_Made = tuple[QRectF, Scale | None, tuple[Spot, ...]]


def _nothing(box: QRectF) -> _Made:
    return QRectF(box.left(), box.top(), box.width(), 0), None, ()


def _dots(lane: Lane, i: int, box: QRectF, look: Look, scale: Scale) -> _Made:
    across = mark_across(look)
    margin = 4 * GRID
    room = box.width() - 2 * margin
    places = [scale.share(m.value) * room for m in lane.marks]
    deep = min(ROWS, deepest(places, across))
    over = QFontMetricsF(look.small).height() + GRID / 2  # the median is told here
    band = QRectF(box.left() + margin, box.top(), room, over + max(3, deep) * across + GRID)
    spots = tuple(
        Spot(
            QRectF(
                band.left() + x - across / 2 + 1, band.bottom() - (up + 1) * across - GRID / 2, across - 2, across - 2
            ),
            i,
            n,
        )
        for n, (x, up) in enumerate(piled(places, across, ROWS))
    )
    return band, scale, spots


def _waits(lane: Lane, i: int, box: QRectF, look: Look) -> _Made:
    if not lane.marks:
        return _nothing(box)
    ends = [v for v in (lane.opens, lane.closes) if v is not None]
    return _dots(lane, i, box, look, time_scale([m.value for m in lane.marks] + ends))


def _errors(lane: Lane, i: int, box: QRectF, look: Look) -> _Made:
    if not lane.marks:
        return _nothing(box)
    return _dots(lane, i, box, look, error_scale([m.value for m in lane.marks], lane.closes or 0.0))


def _waste(lane: Lane, i: int, box: QRectF, look: Look) -> _Made:
    if not lane.marks:
        return _nothing(box)
    small = QFontMetricsF(look.small)
    left, right = small.horizontalAdvance("100 %") + GRID, small.horizontalAdvance(median_words("100 %")) + 2 * GRID
    band = QRectF(box.left() + left, box.top() + GRID, box.width() - left - right, BARS_HIGH * look.scale)
    pitch = min(5 * GRID, band.width() / len(lane.marks))
    spots = tuple(
        Spot(QRectF(band.left() + n * pitch, band.top(), pitch, band.height()), i, n) for n in range(len(lane.marks))
    )
    most = max(m.value for m in lane.marks)
    return band, Scale(0.0, next((top for top in (0.1, 0.2, 0.5) if most <= top), 1.0)), spots


def median_words(value: str) -> str:
    """Name a median."""
    return say("median {value}", value=value)


def _misses(lane: Lane, _: int, box: QRectF, look: Look) -> _Made:
    row = QFontMetricsF(look.body).height() + GRID
    return QRectF(box.left(), box.top(), box.width(), row * len(lane.parts)), None, ()


_LAY = {Kind.WAITS: _waits, Kind.ERRORS: _errors, Kind.WASTE: _waste, Kind.MISSES: _misses}
