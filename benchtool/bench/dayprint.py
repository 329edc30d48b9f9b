"""The plan on paper: drawn on landscape pages, two days on each, then its steps as a list; black on white.

What has no work on a page is left out of it, so that thirty pieces over a week stay few pages. Text is text, never
markup.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from PySide6.QtCore import QBuffer, QIODevice, QMarginsF, QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPagedPaintDevice, QPageLayout, QPageSize, QPainter, QPdfWriter, QPen

from benchtool.bench.daydraw import DayDraw, legend
from benchtool.bench.dayframe import Frame, head_height, row_height
from benchtool.bench.dayrows import DayPicture, Row, day_words, days
from benchtool.bench.daysteps import Said, head, lines
from benchtool.bench.look import GRID, Theme, elided
from benchtool.plan.work import Placed, Waiting
from benchtool.session.planpaper import CREATOR
from benchtool.sheets.blocks import Paper
from benchtool.trade.saying import say

_PX_IN = 120.0
"""So many of the drawing's pixels go to an inch of paper: the labels come out at 8 points."""
_MARGIN = 12 / 25.4 * _PX_IN
_NAMES = 24.0 * GRID
_DAYS_A_PAGE = 2
_LEAST_H = 12.0

BLACK = Theme(
    name="paper", paper="#ffffff", raised="#ffffff", ink="#000000", quiet="#404040", line="#c4c4c4",
    accent="#000000", accent_ink="#ffffff", wait="#404040", trouble="#000000", bare="#c4c4c4",
)  # fmt: skip
"""Everything is told apart by its shape: it comes out of a black printer as it is."""

SIZES = {Paper.A4: QPageSize.PageSizeId.A4, Paper.LETTER: QPageSize.PageSizeId.Letter}


class PrintType:
    """The look of the printed plan: black on white, type that is not fitted to a screen."""

    theme = BLACK

    def __init__(self, family: str = "") -> None:
        self.family = family or QFont().family()
        self.small, self.body, self.strong, self.title = (
            self._font(13), self._font(15), self._font(15, strong=True), self._font(24, strong=True),
        )  # fmt: skip

    def _font(self, pixels: int, *, strong: bool = False) -> QFont:
        font = QFont(self.family)
        font.setPixelSize(pixels)
        font.setFeature(QFont.Tag("liga"), 0)  # a ligature is one sign, and a search for its letters finds nothing
        font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
        font.setWeight(QFont.Weight.DemiBold if strong else QFont.Weight.Normal)
        return font


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanPaper:
    """What is printed: a title, when the plan was made in words, the drawn plan, and what it found."""

    title: str
    made: str
    picture: DayPicture
    said: Sequence[Said] = ()


def plan_pdf(plan: PlanPaper, paper: Paper = Paper.A4) -> bytes:
    """Draw the plan on pages of this paper; gives the whole file."""
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setCreator(CREATOR)
    writer.setTitle(plan.title)
    writer.setResolution(600)
    writer.setPageLayout(page_layout(paper))
    draw_plan(writer, plan, paper, writer.resolution())
    return bytes(buffer.data().data())


def page_layout(paper: Paper) -> QPageLayout:
    """Give the page: landscape, its margins are drawn."""
    none = QMarginsF(0, 0, 0, 0)
    return QPageLayout(QPageSize(SIZES[paper]), QPageLayout.Orientation.Landscape, none, QPageLayout.Unit.Millimeter)


def draw_plan(device: QPagedPaintDevice, plan: PlanPaper, paper: Paper, resolution: float) -> bool:
    """Draw all pages on a file or a printer; says whether it could be begun."""
    high, wide = (mm / 25.4 * _PX_IN for mm in paper.size_mm)
    painter = QPainter()
    if not painter.begin(device):
        return False
    _Pages(device, painter, plan, QRectF(0, 0, wide, high), resolution / _PX_IN).draw()
    return painter.end()


# --- what goes on which page -----------------------------------------------------------------------------


def stretches(picture: DayPicture) -> Iterator[tuple[datetime, datetime]]:
    """Give the stretches of time that get pages: so many days each, those without any work left out."""
    blocks = [b for r in picture.rows for b in r.blocks]
    if not blocks:
        return
    whole = list(days(picture.begins_at, picture.ends_at))
    last = max(b.ends_at for b in blocks)
    if (last - picture.begins_at) <= timedelta(days=_DAYS_A_PAGE):
        yield picture.begins_at, min(picture.ends_at, max(last + timedelta(hours=3), _least(picture.begins_at)))
        return
    at = 0
    while at < len(whole):
        if not any(b.starts_at < whole[at].ends_at and b.ends_at > whole[at].starts_at for b in blocks):
            at += 1
            continue
        until = min(at + _DAYS_A_PAGE, len(whole)) - 1
        yield _trimmed(picture, whole[at].starts_at, whole[until].ends_at)
        at = until + 1


def _trimmed(picture: DayPicture, begins: datetime, ends: datetime) -> tuple[datetime, datetime]:
    """Cut off what lies before the first work of a stretch, and after the last work and the last deadline in it."""
    work = [b for r in picture.rows for b in r.blocks if _in(b, begins, ends)]
    closes = [w.closes_at for r in picture.rows for w in r.waits if w.closes_at is not None and _in(w, begins, ends)]
    first, last = min(b.starts_at for b in work), max([*(b.ends_at for b in work), *closes])
    begins = max(begins, first.replace(minute=0, second=0, microsecond=0) - timedelta(hours=1))
    return begins, max(min(ends, last + timedelta(hours=1)), _least(begins))


def _least(begins: datetime) -> datetime:
    return begins + timedelta(hours=_LEAST_H)


def cut(picture: DayPicture, begins: datetime, ends: datetime) -> DayPicture:
    """Give what a stretch shows: the pieces with work or a deadline in it, and those that can't fit on the first."""
    first = begins <= picture.begins_at

    def seen(row: Row) -> bool:
        parts: tuple[Placed | Waiting, ...] = (*row.blocks, *row.waits)
        return any(_in(part, begins, ends) for part in parts)

    rows = tuple(r for r in picture.rows if (first if r.because else seen(r)))
    inside = tuple((max(a, begins), min(b, ends)) for a, b in picture.open if b > begins and a < ends)
    return DayPicture(rows, begins, ends, inside, picture.now, picture.names)


def _in(part: Placed | Waiting, begins: datetime, ends: datetime) -> bool:
    if isinstance(part, Placed):
        return part.starts_at < ends and part.ends_at > begins
    return part.closes_at is not None and begins <= part.closes_at < ends


class _Pages:
    """Draws one page after the other."""

    def __init__(
        self, device: QPagedPaintDevice, painter: QPainter, plan: PlanPaper, sheet: QRectF, scale: float
    ) -> None:
        self.device, self.p, self.plan, self.scale = device, painter, plan, scale
        self.box = sheet.adjusted(_MARGIN, _MARGIN, -_MARGIN, -_MARGIN)
        self.type = PrintType()
        self.drawn = [(cut(plan.picture, *span), page) for span in stretches(plan.picture) for page in self._rows(span)]
        self.listed = list(self._lines())
        self.number, self.count = 0, max(1, len(self.drawn) + len(self.listed))

    def _rows(self, span: tuple[datetime, datetime]) -> Iterator[range]:
        """Give which rows go on each page of a stretch."""
        fit = max(
            1, int((self.box.height() - self._top() - 3 * GRID - head_height(self.type)) // row_height(self.type))
        )
        count = len(cut(self.plan.picture, *span).rows)
        each = -(-count // max(1, -(-count // fit)))  # as many on each page: none with a single row at the end
        for first in range(0, count, max(1, each)):
            yield range(first, min(first + each, count))

    def _top(self) -> float:
        return QFontMetricsF(self.type.title).height() + GRID

    def draw(self) -> None:
        """Draw the days, then the list."""
        for picture, rows in self.drawn:
            self._page(_span_words(picture))
            self._draw_rows(picture, rows)
        for page in self.listed:
            self._page(say("What to do when"))
            self._draw_lines(page)
        if not self.number:
            self._page("")
            self._text(say("Nothing is planned."), self.box.adjusted(0, self._top(), 0, 0), self.type.body)

    def _page(self, under: str) -> None:
        if self.number:
            self.device.newPage()
        self.number += 1
        p, t = self.p, self.type
        p.resetTransform()
        p.scale(self.scale, self.scale)
        number = say("Page {n} of {count}", n=self.number, count=self.count)
        told = "   ".join(x for x in (under, self.plan.made, number) if x)
        wide = QFontMetricsF(t.small).horizontalAdvance(told) + GRID
        line = QRectF(self.box.left(), self.box.top(), self.box.width(), QFontMetricsF(t.title).height())
        title = elided(self.plan.title, t.title, line.width() - wide - 2 * GRID)
        self._text(title, line, t.title)
        self._text(told, line, t.small, right=True)

    def _text(self, text: str, box: QRectF, font: QFont, *, right: bool = False, wrap: bool = False) -> None:
        self.p.setFont(font)
        self.p.setPen(self.type.theme.color("ink"))
        along = Qt.AlignmentFlag.AlignRight if right else Qt.AlignmentFlag.AlignLeft
        up = Qt.AlignmentFlag.AlignTop if wrap else Qt.AlignmentFlag.AlignVCenter
        flag = Qt.TextFlag.TextWordWrap if wrap else Qt.TextFlag.TextSingleLine
        self.p.drawText(box, int(along | up | flag), text)

    # --- the days ----------------------------------------------------------------------------------

    def _draw_rows(self, picture: DayPicture, rows: range) -> None:
        p, t = self.p, self.type
        shown = DayPicture(
            picture.rows[rows.start : rows.stop], picture.begins_at, picture.ends_at, picture.open, picture.now,
            picture.names,
        )  # fmt: skip
        p.save()
        p.translate(self.box.left(), self.box.top() + self._top())
        wide = self.box.width()
        frame = Frame(
            names=_NAMES, head=head_height(t), row=row_height(t), begins_at=shown.begins_at,
            px_h=(wide - _NAMES) / shown.hours,
        )  # fmt: skip
        drawn, bottom = DayDraw(t, shown, frame), frame.top(len(shown.rows))
        body = QRectF(_NAMES, frame.head, wide - _NAMES, bottom - frame.head)
        p.save()
        p.setClipRect(body.adjusted(0, 0, 1, 1))
        drawn.draw_ground(p, body)
        for i in range(len(shown.rows)):
            drawn.draw_row(p, i, body)
        p.restore()
        for i in range(len(shown.rows)):
            drawn.draw_name(p, i, chosen=False)
        drawn.draw_head(p, wide)
        drawn.draw_now(p, bottom, wide)
        p.setPen(QPen(t.theme.color("quiet"), 1))
        p.drawLine(QPointF(_NAMES, frame.head), QPointF(_NAMES, bottom))
        p.setBrush(Qt.BrushStyle.NoBrush)
        p.drawLine(QPointF(0, bottom), QPointF(wide, bottom))
        p.restore()
        foot = QRectF(self.box.left(), self.box.bottom() - 2 * GRID, wide, 2 * GRID)
        self._text(elided(legend(), t.small, wide), foot, t.small)

    # --- the list ----------------------------------------------------------------------------------

    def _lines(self) -> Iterator[list[tuple[str, ...]]]:
        """Give the lines of the list page by page: what the plan found, one cell each, then the steps in columns."""
        found = [(f"{s.word}: {s.sentence}",) for s in sorted(self.plan.said, key=lambda s: not s.trouble)]
        steps = [line for line, _, _ in lines(self.plan.picture)]
        room = self.box.height() - self._top()
        page: list[tuple[str, ...]] = []
        left = room
        for line in (*found, *steps):
            high = self._high(line)
            begins = len(line) > 1 and not any(len(x) > 1 for x in page)
            need = high + (self._line() if begins else 0)
            if page and need > left:
                yield page
                page, left = [], room
                begins = len(line) > 1
            if begins:
                page.append(tuple(head()))
                left -= self._line()
            page.append(line)
            left -= high
        if page:
            yield page

    def _line(self) -> float:
        return QFontMetricsF(self.type.small).height() * 1.35

    def _high(self, line: tuple[str, ...]) -> float:
        if len(line) > 1:
            return self._line()
        box = QFontMetricsF(self.type.body).boundingRect(
            QRectF(0, 0, self.box.width(), 1e6), int(Qt.TextFlag.TextWordWrap), line[0]
        )
        return box.height() + GRID / 2

    def _draw_lines(self, page: list[tuple[str, ...]]) -> None:
        y, wide = self.box.top() + self._top(), self.box.width()
        shares = (0.11, 0.11, 0.26, 0.41, 0.11)
        for line in page:
            high = self._high(line)
            if len(line) == 1:
                self._text(line[0], QRectF(self.box.left(), y, wide, high), self.type.body, wrap=True)
            else:
                x = self.box.left()
                font = self.type.strong if line == tuple(head()) else self.type.small
                for text, share in zip(line, shares, strict=True):
                    cell = QRectF(x, y, wide * share - GRID, high)
                    self._text(elided(text, font, cell.width()), cell, font)
                    x += wide * share
                self.p.setPen(QPen(self.type.theme.color("line"), 0.7))
                self.p.drawLine(QPointF(self.box.left(), y + high), QPointF(self.box.right(), y + high))
            y += high


def _span_words(picture: DayPicture) -> str:
    begins = day_words(picture.begins_at.astimezone().date())
    ends = day_words((picture.ends_at - timedelta(seconds=1)).astimezone().date())
    return begins if begins == ends else say("{first} to {last}", first=begins, last=ends)
