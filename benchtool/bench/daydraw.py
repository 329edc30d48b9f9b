"""How the plan is drawn, on the screen and on paper alike: blocks of work, hatched waits, edges where windows close."""

from collections.abc import Iterator
from datetime import datetime

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen, QPolygonF

from benchtool.bench.controls import hatch
from benchtool.bench.dayframe import Frame, Type, line_height, work_height
from benchtool.bench.daymarks import draw_marks
from benchtool.bench.dayrows import (
    TAILS,
    TICK_HOURS,
    Day,
    DayPicture,
    Row,
    days,
    follower,
    ticks,
    work_word,
)
from benchtool.bench.look import GRID, elided
from benchtool.plan.work import Placed, Waiting, Work
from benchtool.session.due import clock_time
from benchtool.trade.saying import say
from benchtool.trade.windows import WindowKind

LEAST_BLOCK = 3.0
"""No work is drawn narrower (px), however much time is shown."""

_LEAST_WORD = 20.0
"""No word has room in a block that is narrower (px)."""

_MIDDLE = Qt.AlignmentFlag.AlignVCenter
_CENTRE = Qt.AlignmentFlag.AlignCenter


class DayDraw:
    """Draws a picture into a frame with one look."""

    def __init__(self, look: Type, picture: DayPicture, frame: Frame) -> None:
        self.look, self.picture, self.frame = look, picture, frame
        self._line, self._work = line_height(look), work_height(look)  # type is slow to measure: once is enough

    def lane(self, row: int) -> QRectF:
        """Give the box in which the work of a row lies, over the whole length."""
        f = self.frame
        top = f.top(row) + self._line + 0.75 * GRID
        return QRectF(f.x(f.begins_at), top, self.picture.hours * f.px_h, self._work)

    def block(self, row: int, placed: Placed) -> QRectF:
        """Give where a piece of work lies."""
        lane, left = self.lane(row), self.frame.x(placed.starts_at)
        wide = max(LEAST_BLOCK, self.frame.x(placed.ends_at) - left)
        return QRectF(left, lane.top(), wide, lane.height())

    # --- behind everything -----------------------------------------------------------------------

    def draw_ground(self, p: QPainter, box: QRectF) -> None:
        """Shade the closed hours and rule the hours over a box of rows."""
        f, t = self.frame, self.look.theme
        shade = QColor(t.color("paper" if t.name == "dark" else "line"))
        shade.setAlpha(255 if t.name == "dark" else 110)
        for shuts, opens in self.picture.closed():
            p.fillRect(QRectF(f.x(shuts), box.top(), f.x(opens) - f.x(shuts), box.height()), shade)
        p.setPen(QPen(t.color("line"), 1))
        for at, hour in ticks(self.picture.begins_at, self.picture.ends_at, self._every()):
            if hour or f.px_h * 24 < 3 * GRID:
                p.drawLine(QPointF(f.x(at), box.top()), QPointF(f.x(at), box.bottom()))
        p.setPen(QPen(t.color("quiet"), 1.5))
        for day in days(self.picture.begins_at, self.picture.ends_at):
            if day.starts_at > self.picture.begins_at:
                p.drawLine(QPointF(f.x(day.starts_at), box.top()), QPointF(f.x(day.starts_at), box.bottom()))

    def _every(self) -> int:
        """Give the hours from tick to tick at which their labels still have room."""
        wide = QFontMetricsF(self.look.small).horizontalAdvance("00:00") + GRID
        return next((n for n in TICK_HOURS if n * self.frame.px_h >= wide), 24)

    def draw_head(self, p: QPainter, right: float) -> None:
        """Write the days, each as long as any of it is in view, and the hours below."""
        f, t = self.frame, self.look.theme
        high, now = QFontMetricsF(self.look.strong).height() + 2, self._now_box(right)
        p.fillRect(QRectF(0, 0, right, f.head), t.color("paper"))
        p.save()
        p.setClipRect(QRectF(f.names, 0, right - f.names, f.head), Qt.ClipOperation.IntersectClip)
        for day in days(self.picture.begins_at, self.picture.ends_at):
            self._draw_day(p, day, high, right)
        p.setFont(self.look.small)
        p.setPen(t.color("quiet"))
        wide = QFontMetricsF(self.look.small).horizontalAdvance("00:00") + 2
        for at, hour in ticks(self.picture.begins_at, self.picture.ends_at, self._every()):
            x = f.x(at)
            p.drawLine(QPointF(x, f.head - 4), QPointF(x, f.head))
            under = now is not None and now.left() - 2 < x + wide / 2 and x - wide / 2 < now.right() + 2
            if hour and not under and f.names <= x - wide / 2 and x + wide / 2 <= right:
                p.drawText(QRectF(x - wide / 2, high, wide, f.head - high - 4), _CENTRE, f"{hour:02d}:00")
        p.restore()
        p.setPen(QPen(t.color("quiet"), 1))
        p.drawLine(QPointF(0, f.head), QPointF(right, f.head))

    def _draw_day(self, p: QPainter, day: Day, high: float, right: float) -> None:
        f, font = self.frame, self.look.strong
        left, end = max(f.names, f.x(day.starts_at)), min(right, f.x(day.ends_at))
        if end - left < 2:
            return
        metrics = QFontMetricsF(font)
        label = day.label if metrics.horizontalAdvance(day.label) + GRID <= end - left else day.short
        p.setPen(self.look.theme.color("ink"))
        p.setFont(font)
        if metrics.horizontalAdvance(label) + 4 <= end - left:
            p.drawText(QRectF(left + 4, 0, end - left, high), _MIDDLE, label)
        if f.x(day.starts_at) > f.names:
            p.setPen(QPen(self.look.theme.color("quiet"), 1.5))
            p.drawLine(QPointF(f.x(day.starts_at), 2), QPointF(f.x(day.starts_at), f.head))

    def _now_box(self, right: float) -> QRectF | None:
        """Give where the time of now is written; None where now is not in view."""
        f, at = self.frame, self.picture.now
        x = f.x(at)
        if not f.names <= x <= right or not self.picture.begins_at <= at <= self.picture.ends_at:
            return None
        wide = QFontMetricsF(self.look.small).horizontalAdvance(_now_words(at)) + GRID
        high = self._line + 2
        return QRectF(min(max(x - wide / 2, f.names), right - wide), f.head - high - 3, wide, high)

    def draw_now(self, p: QPainter, bottom: float, right: float) -> None:
        """Draw the line of now, with its time at the top."""
        f, t, box = self.frame, self.look.theme, self._now_box(right)
        if box is None:
            return
        x = f.x(self.picture.now)
        p.setPen(QPen(t.color("accent"), 2))
        p.drawLine(QPointF(x, f.head - 4), QPointF(x, bottom))
        p.fillRect(box, t.color("accent"))
        p.setPen(t.color("accent_ink"))
        p.setFont(self.look.small)
        p.drawText(box, _CENTRE, _now_words(self.picture.now))

    # --- a row -----------------------------------------------------------------------------------

    def draw_name(self, p: QPainter, row: int, *, chosen: bool) -> None:
        """Write what a row is about, left of it."""
        f, t, r = self.frame, self.look.theme, self.picture.rows[row]
        top, room = f.top(row), f.names - 1.5 * GRID
        p.fillRect(QRectF(0, top + 1, f.names, f.row - 1), t.color("raised" if chosen else "paper"))
        if chosen:
            p.fillRect(QRectF(0, top + 1, 4, f.row - 1), t.color("accent"))
        below = (say("can't fit"), "trouble") if r.because else (r.named.job_title, "quiet")
        lines = [(words, self.look.strong, "ink") for words in _in_two(r.named.name, self.look.strong, room) if words]
        lines.append((elided(below[0], self.look.small, room), self.look.small, below[1]))
        heights = [QFontMetricsF(font).height() for _, font, _ in lines]
        y = top + (f.row - sum(heights)) / 2
        for (text, font, color), high in zip(lines, heights, strict=True):
            p.setFont(font)
            p.setPen(t.color(color))
            p.drawText(QRectF(GRID, y, room, high), _MIDDLE, text)
            y += high

    def draw_row(self, p: QPainter, row: int, view: QRectF, chosen: Placed | None = None) -> None:
        """Draw the work and the waits of a row, as far as `view` shows them."""
        r, t = self.picture.rows[row], self.look.theme
        bottom = self.frame.top(row) + self.frame.row
        p.setPen(QPen(t.color("line"), 1))
        p.drawLine(QPointF(view.left(), bottom), QPointF(view.right(), bottom))
        if r.because:
            self._draw_because(p, row, view)
        for wait in r.waits:
            if wait.kind not in TAILS:
                self._draw_wait(p, row, wait, view)
        for n, wait in enumerate(w for w in r.waits if w.kind in TAILS):
            self._draw_tail(p, row, wait, n, view)
        for placed in r.blocks:
            box = self.block(row, placed)
            if box.right() >= view.left() and box.left() <= view.right():
                self._draw_block(p, box, placed)
        self._draw_layers(p, row, view)
        draw_marks(p, self.look, self.picture, self.frame, row, view)
        if chosen is not None:
            p.setBrush(Qt.BrushStyle.NoBrush)
            p.setPen(QPen(t.color("ink"), 2.5))
            p.drawRoundedRect(self.block(row, chosen).adjusted(-4, -4, 4, 4), 3, 3)

    def _draw_because(self, p: QPainter, row: int, view: QRectF) -> None:
        t, lane = self.look.theme, self.lane(row)
        bar = QRectF(view.left() + GRID, lane.top(), 3 * GRID, lane.height())
        hatch(p, bar, t.color("trouble"), gap=6, width=2)
        p.setPen(QPen(t.color("trouble"), 1.5))
        p.setBrush(Qt.BrushStyle.NoBrush)
        p.drawRect(bar)
        box = QRectF(bar.right() + GRID, lane.top() - self._line, view.right() - bar.right() - 2 * GRID, 0)
        box.setHeight(lane.height() + 2 * self._line)
        p.setFont(self.look.small)
        p.setPen(t.color("ink"))
        p.drawText(box, int(_MIDDLE | Qt.TextFlag.TextWordWrap), self.picture.rows[row].because)

    def _draw_wait(self, p: QPainter, row: int, wait: Waiting, view: QRectF) -> None:
        """A wait is a thin hatched band on the middle of the lane; the time in which it is open a plain outline."""
        t, lane = self.look.theme, self.lane(row)
        left, opens = self.frame.x(wait.from_at), self.frame.x(min(wait.opens_at, self.picture.ends_at))
        closes = self.frame.x(wait.closes_at) if wait.closes_at is not None else None
        over = max(opens, closes or 0.0)
        if left > view.right() or (over < view.left() and not wait.missed):
            return
        high = round(lane.height() / 3)
        if wait.kind is WindowKind.POT_LIFE:  # it lies under the work that it covers
            if closes is not None:
                p.setPen(QPen(t.color("quiet"), 1))
                y = lane.bottom() + 3
                p.drawLine(QPointF(left, y), QPointF(closes, y))
            return
        band = QRectF(left, lane.center().y() - high / 2, opens - left, high)
        if band.width() > 1:
            seen = _in_view(band, view, 6)
            hatch(p, seen, t.color("wait"), gap=6, width=1.2)
            p.setPen(QPen(t.color("wait"), 1))
            p.drawLine(seen.topLeft(), seen.topRight())
            p.drawLine(seen.bottomLeft(), seen.bottomRight())
        if closes is not None and closes > opens:
            used = follower(self.picture.rows[row], wait)
            end = closes if used is None or wait.missed else min(closes, self.frame.x(used.starts_at))
            p.setPen(QPen(t.color("wait"), 1.2, Qt.PenStyle.DotLine))
            for y in (band.top(), band.bottom()):
                p.drawLine(QPointF(opens, y), QPointF(end, y))
        if wait.missed and closes is not None:
            after = [self.frame.x(b.starts_at) for b in self.picture.rows[row].blocks]
            end = min((x for x in after if x > closes), default=closes + 3 * GRID)
            late = QRectF(closes, band.top() - 2, end - closes, band.height() + 4)
            seen = _in_view(late, view, 7)
            hatch(p, seen, t.color("trouble"), gap=7, width=2.5, lean=-1)

    def _draw_tail(self, p: QPainter, row: int, wait: Waiting, n: int, view: QRectF) -> None:
        """What goes on by itself: a thin line to where it is over, or past the end of what is shown."""
        t, lane = self.look.theme, self.lane(row)
        y = lane.center().y() + (n - 0.5) * GRID
        left, end = self.frame.x(wait.from_at), self.frame.x(self.picture.ends_at)
        ends_here = wait.opens_at <= self.picture.ends_at
        right = self.frame.x(wait.opens_at) if ends_here else end
        if left > view.right():
            return
        p.setPen(QPen(t.color("wait"), 2, Qt.PenStyle.DashLine))
        p.drawLine(QPointF(left, y), QPointF(right, y))
        p.setPen(QPen(t.color("wait"), 2))
        if ends_here:
            p.drawLine(QPointF(right, y - 5), QPointF(right, y + 5))
            return
        tip = QPointF(min(end, view.right()) - 2, y)
        p.drawPolyline(QPolygonF([tip - QPointF(6, 4), tip, tip - QPointF(6, -4)]))

    def _draw_block(self, p: QPainter, box: QRectF, placed: Placed) -> None:
        """A coat is solid, other work an outline, a scuff for a missed window hatched; what runs has a bar over it."""
        t, work = self.look.theme, placed.task.work
        coat = work is Work.COAT
        p.setBrush(t.color("accent" if coat else "raised"))
        p.setPen(QPen(t.color("accent" if coat else "trouble" if work is Work.SCUFF else "ink"), 1.2))
        low = box if coat else box.adjusted(0, box.height() * 0.16, 0, -box.height() * 0.16)
        p.drawRect(low.adjusted(0.5, 0.5, -0.5, -0.5) if low.width() > 4 else low)
        if work is Work.SCUFF:
            hatch(p, low, t.color("trouble"), gap=5, width=1)
        if placed.task.began_at is not None:
            p.fillRect(QRectF(box.left(), box.top() - 3, box.width(), 3), t.color("ink"))
        if box.width() < _LEAST_WORD:
            return
        word = work_word(placed)
        if QFontMetricsF(self.look.small).horizontalAdvance(word) + 6 <= box.width():
            if work is Work.SCUFF:
                wide = QFontMetricsF(self.look.small).horizontalAdvance(word) + 4
                p.fillRect(
                    QRectF(low.center().x() - wide / 2, low.top() + 2, wide, low.height() - 4), t.color("raised")
                )
            p.setFont(self.look.small)
            p.setPen(t.color("accent_ink" if coat else "ink"))
            p.drawText(box, _CENTRE, word)

    def _draw_layers(self, p: QPainter, row: int, view: QRectF) -> None:
        """Write over the work which layer it is for, once for what follows on each other."""
        r, font, t = self.picture.rows[row], self.look.small, self.look.theme
        top = self.frame.top(row) + 3
        runs = list(_runs(r, self.picture))
        p.setFont(font)
        p.setPen(t.color("ink"))
        free = view.left()
        for i, (name, at) in enumerate(runs):
            left = max(self.frame.x(at), free)
            end = self.frame.x(runs[i + 1][1]) if i + 1 < len(runs) else view.right()
            if end <= view.left() or self.frame.x(at) > view.right() or end - left < 3 * GRID:
                continue
            words = elided(name, font, end - left - 6)
            p.drawText(QRectF(left + 1, top, end - left, self._line), _MIDDLE, words)
            free = left + QFontMetricsF(font).horizontalAdvance(words) + GRID / 2


def _in_view(band: QRectF, view: QRectF, gap: float) -> QRectF:
    """Cut a band to what is seen of it, by whole steps of its pattern: else that would crawl where it is rolled."""
    seen = band.intersected(view.adjusted(-GRID, 0, GRID, 0))
    if seen.left() > band.left():
        seen.setLeft(band.left() + int((seen.left() - band.left()) / gap) * gap)
    return seen


def _now_words(at: datetime) -> str:
    return say("now {time}", time=clock_time(at, at))


def _runs(row: Row, picture: DayPicture) -> Iterator[tuple[str, datetime]]:
    """Give the layers in the order of their work, and when the work for each starts."""
    before: str | None = ""
    for placed in row.blocks:
        task = placed.task
        if task.layer != before:
            before = task.layer
            yield picture.names.layer(task.job, task.piece, task.layer), placed.starts_at


def _in_two(name: str, font: QFont, room: float) -> tuple[str, str]:
    """Break a name over two lines; the second loses its middle where it is too long, since names often differ last."""
    metrics, words = QFontMetricsF(font), name.split(" ")
    fit = len(words)
    while fit > 1 and metrics.horizontalAdvance(" ".join(words[:fit])) > room:
        fit -= 1
    cut = Qt.TextElideMode.ElideMiddle
    return elided(" ".join(words[:fit]), font, room), metrics.elidedText(" ".join(words[fit:]), cut, room)


def legend() -> str:
    """Say what the shapes mean."""
    return say(
        "Solid is a coat, an outline other work, a hatched band a wait, a dotted one an open window, "
        "a thick edge its close; shaded hours are closed."
    )
