"""Draws the plots of a record: dots against the card's window, bars of cups, errors about zero, windows kept."""

from datetime import timedelta

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPen, QPolygonF

from benchtool.bench.controls import hatch
from benchtool.bench.learnedaxis import ticks
from benchtool.bench.learnedlay import Laid, median_words, words_of
from benchtool.bench.look import GRID, Look, elided
from benchtool.job.learnedcases import Kept
from benchtool.session.learningshown import Kind, Lane, Mark, cases_words
from benchtool.sheets.sheetwords import waited
from benchtool.trade.numbers import figure
from benchtool.trade.saying import say

_LEFT = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft
_RIGHT = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight
_MIDDLE = Qt.AlignmentFlag.AlignCenter


class Drawing:
    """One painting of the plots."""

    def __init__(self, painter: QPainter, look: Look) -> None:
        self.painter, self.look = painter, look

    def lane(self, lane: Lane, laid: Laid, chosen: int | None) -> None:
        """Draw one plot, with a ring about the mark that is chosen."""
        p, t = self.painter, self.look.theme
        count = cases_words(lane.n)
        room = QFontMetricsF(self.look.strong).horizontalAdvance(count) + 2 * GRID
        p.setFont(self.look.strong)
        p.setPen(t.color("ink"))
        p.drawText(laid.head, _LEFT, elided(lane.title, self.look.strong, laid.head.width() - room))
        p.drawText(laid.head, _RIGHT, count)
        p.setFont(self.look.body)
        p.drawText(laid.words, int(Qt.TextFlag.TextWordWrap), words_of(lane))
        if lane.kind is Kind.MISSES:
            self._misses(lane, laid.band)
        elif laid.scale is not None:
            if lane.kind is Kind.WASTE:
                self._cups(lane, laid, chosen)
            else:
                self._dots(lane, laid, chosen)

    # --- dots ------------------------------------------------------------------------------------

    def _dots(self, lane: Lane, laid: Laid, chosen: int | None) -> None:
        p, t, band = self.painter, self.look.theme, laid.band
        self._window(lane, laid)
        p.setPen(QPen(t.color("quiet"), 1))
        p.drawLine(band.bottomLeft(), band.bottomRight())
        for spot in laid.spots:
            self.mark(lane.marks[spot.mark], spot.box, chosen=spot.mark == chosen)
        self._median(lane, laid)
        self._scale(lane, laid)

    def _x(self, laid: Laid, value: float) -> float:
        scale = laid.scale
        return laid.band.left() + (scale.share(value) if scale is not None else 0.0) * laid.band.width()

    def _window(self, lane: Lane, laid: Laid) -> None:
        """Draw what the card allows: from where it opens to where it closes, open at a side that the card leaves so."""
        if lane.opens is None and lane.closes is None:
            return
        p, t, band = self.painter, self.look.theme, laid.band
        left = self._x(laid, lane.opens) if lane.opens is not None else band.left() - 3 * GRID
        right = self._x(laid, lane.closes) if lane.closes is not None else band.right() + 3 * GRID
        top = band.top() + QFontMetricsF(self.look.small).height() + GRID / 2
        box = QRectF(left, top, right - left, band.bottom() - top)
        p.fillRect(box, t.color("raised"))
        hatch(p, box, t.color("line"), gap=12, width=1)
        for value, x in ((lane.opens, left), (lane.closes, right)):
            if value is None:
                continue
            p.setPen(QPen(t.color("wait"), 2))
            p.drawLine(QPointF(x, box.top()), QPointF(x, box.bottom() + GRID / 2))

    def mark(self, mark: Mark, box: QRectF, *, chosen: bool) -> None:
        """Draw a case: a disc within, an arrow to the left where it was too early or too little, to the right else.

        A line stands under it where the layer was scuffed first.
        """
        p, t = self.painter, self.look.theme
        within = mark.kept is Kept.WITHIN
        p.setPen(QPen(t.color("raised" if within else "trouble"), 1 if within else 2))
        p.setBrush(t.color("ink") if within else t.color("paper"))
        if within:
            p.drawEllipse(box.adjusted(0.5, 0.5, -0.5, -0.5))
        else:
            tip, back = (box.left(), box.right()) if mark.kept is Kept.EARLY else (box.right(), box.left())
            middle = box.center().y()
            p.drawPolygon(QPolygonF([QPointF(tip, middle), QPointF(back, box.top()), QPointF(back, box.bottom())]))
        if mark.scuffed:
            p.drawLine(box.bottomLeft(), box.bottomRight())
        if chosen:
            p.setBrush(Qt.BrushStyle.NoBrush)
            p.setPen(QPen(t.color("accent"), 3))
            p.drawRect(box.adjusted(-3, -3, 3, 3))

    def _median(self, lane: Lane, laid: Laid) -> None:
        found = lane.sums
        if found is None or found.few:
            return
        p, t, band = self.painter, self.look.theme, laid.band
        x, small = self._x(laid, found.median), QFontMetricsF(self.look.small)
        p.setPen(QPen(t.color("accent"), 3))
        p.drawLine(QPointF(x, band.top() + small.height()), QPointF(x, band.bottom()))
        told = median_words(self._told(lane, found.median))
        p.setFont(self.look.small)
        p.setPen(t.color("accent"))
        p.drawText(self._about(laid, x, band.top() - 1, told), _MIDDLE, told)

    def _about(self, laid: Laid, x: float, top: float, words: str) -> QRectF:
        """Give the room for words about a place, within the plot."""
        small = QFontMetricsF(self.look.small)
        wide = small.horizontalAdvance(words) + 2
        left = min(max(x - wide / 2, laid.whole.left()), laid.whole.right() - wide)
        return QRectF(left, top, wide, small.height())

    def _told(self, lane: Lane, value: float) -> str:
        if lane.kind is Kind.WAITS:
            return waited(timedelta(seconds=value))
        sign = "−" if value < 0 else "+" if value > 0 and lane.kind is Kind.ERRORS else ""
        return f"{sign}{figure(abs(value), 2)} %"

    def _scale(self, lane: Lane, laid: Laid) -> None:
        p, t, band, scale = self.painter, self.look.theme, laid.band, laid.scale
        if scale is None:
            return
        small = QFontMetricsF(self.look.small)
        p.setFont(self.look.small)
        for value, words in ticks(scale, band.width(), small.horizontalAdvance):
            x = self._x(laid, value)
            p.setPen(QPen(t.color("quiet"), 1))
            p.drawLine(QPointF(x, band.bottom()), QPointF(x, band.bottom() + 4))
            p.drawText(self._about(laid, x, band.bottom() + 4, words), _MIDDLE, words)
        p.setPen(t.color("wait"))
        line = QRectF(laid.whole.left(), band.bottom() + small.height() + 4, laid.whole.width(), small.height())
        p.drawText(line, _MIDDLE, elided(self._allows(lane), self.look.small, line.width()))

    def _allows(self, lane: Lane) -> str:
        """Say what the hatched part is."""
        if lane.kind is Kind.ERRORS:
            return say("Hatched: what is allowed, {n} % either way", n=figure(lane.closes or 0.0, 2))
        opens = self._told(lane, lane.opens) if lane.opens is not None else ""
        closes = self._told(lane, lane.closes) if lane.closes is not None else ""
        if opens and closes:
            return say("Hatched: what the card allows, {opens} to {closes}", opens=opens, closes=closes)
        if closes:
            return say("Hatched: what the card allows, up to {closes}", closes=closes)
        return say("Hatched: what the card allows, from {opens} on", opens=opens)

    # --- cups ------------------------------------------------------------------------------------

    def _cups(self, lane: Lane, laid: Laid, chosen: int | None) -> None:
        p, t, band, scale = self.painter, self.look.theme, laid.band, laid.scale
        if scale is None:
            return
        small = QFontMetricsF(self.look.small)
        p.setFont(self.look.small)
        for value in (0.0, scale.high / 2, scale.high):
            y = band.bottom() - scale.share(value) * band.height()
            p.setPen(QPen(t.color("line"), 1))
            p.drawLine(QPointF(band.left(), y), QPointF(band.right(), y))
            p.setPen(t.color("quiet"))
            box = QRectF(laid.whole.left(), y - small.height() / 2, band.left() - laid.whole.left() - 6, small.height())
            p.drawText(box, _RIGHT, f"{100 * value:.0f} %")
        for spot in laid.spots:
            mark = lane.marks[spot.mark]
            self._cup(spot.box, scale.share(mark.value), chosen=spot.mark == chosen)
        found = lane.sums
        if found is not None and not found.few:
            y = band.bottom() - scale.share(found.median) * band.height()
            p.setPen(QPen(t.color("accent"), 3))
            p.drawLine(QPointF(band.left(), y), QPointF(band.right() + GRID / 2, y))
            top = min(max(y - small.height() / 2, band.top() - GRID), band.bottom() - small.height())
            box = QRectF(band.right() + GRID, top, laid.whole.right() - band.right() - GRID, small.height())
            p.drawText(box, _LEFT, median_words(f"{figure(100 * found.median, 2)} %"))
        p.setPen(t.color("quiet"))
        words = say("Each bar is one cup, the oldest at the left: the share of it that was left over")
        line = QRectF(band.left(), band.bottom() + 2, band.width(), small.height())
        p.drawText(line, _LEFT, elided(words, self.look.small, line.width()))

    def _cup(self, box: QRectF, share: float, *, chosen: bool) -> None:
        p, t = self.painter, self.look.theme
        gap = 2 if box.width() > GRID else 0.5
        high = max(2.0, share * box.height())
        bar = QRectF(box.left() + gap, box.bottom() - high, box.width() - 2 * gap, high)
        p.fillRect(bar, t.color("wait"))
        if chosen:
            p.setBrush(Qt.BrushStyle.NoBrush)
            p.setPen(QPen(t.color("accent"), 3))
            p.drawRect(bar.adjusted(-2, -3, 2, 2))

    # --- windows kept and missed -----------------------------------------------------------------

    def _misses(self, lane: Lane, band: QRectF) -> None:
        p, t = self.painter, self.look.theme
        body = QFontMetricsF(self.look.body)
        row = body.height() + GRID
        left = max((body.horizontalAdvance(name) for name, *_ in lane.parts), default=0.0) + 2 * GRID
        right = body.horizontalAdvance(cases_words(8_888)) + GRID
        p.setFont(self.look.body)
        for i, (name, early, within, late) in enumerate(lane.parts):
            y, n = band.top() + i * row, early + within + late
            p.setPen(t.color("ink"))
            p.drawText(QRectF(band.left(), y, left, row), _LEFT, name)
            p.drawText(QRectF(band.right() - right, y, right, row), _RIGHT, cases_words(n))
            bar = QRectF(band.left() + left, y + 4, band.width() - left - right, row - 8)
            self._kept_bar(bar, early, within, late)

    def _kept_bar(self, bar: QRectF, early: int, within: int, late: int) -> None:
        p, t, n = self.painter, self.look.theme, early + within + late
        x = bar.left()
        told = ((early, say("{n} too early", n=early)), (within, say("{n} in time", n=within)))
        for k, (count, words) in enumerate((*told, (late, say("{n} too late", n=late)))):
            if not count:
                continue
            box = QRectF(x, bar.top(), bar.width() * count / n, bar.height())
            x = box.right()
            p.fillRect(box, t.color("raised"))
            if k != 1:
                hatch(p, box, t.color("trouble"), gap=7, lean=-1 if k == 0 else 1)
            p.setBrush(Qt.BrushStyle.NoBrush)
            p.setPen(QPen(t.color("trouble" if k != 1 else "quiet"), 1))
            p.drawRect(box.adjusted(0.5, 0.5, -0.5, -0.5))
            self._in_bar(box, words, str(count), plain=k == 1)

    def _in_bar(self, box: QRectF, words: str, short: str, *, plain: bool) -> None:
        """Write in a part of a bar: all of it where there is room, else the figure alone."""
        p, t, small = self.painter, self.look.theme, QFontMetricsF(self.look.small)
        room = box.width() - GRID
        said = words if small.horizontalAdvance(words) <= room else short
        wide = small.horizontalAdvance(said)
        if wide > box.width() - 2:
            return
        spot = QRectF(box.center().x() - wide / 2 - 3, box.top() + 2, wide + 6, box.height() - 4)
        if not plain:
            p.fillRect(spot, t.color("paper"))
        p.save()
        p.setFont(self.look.small)
        p.setPen(t.color("ink"))
        p.drawText(spot, _MIDDLE, said)
        p.restore()
