"""The pages of a printed sheet: laid out once, then drawn on paper, into a PDF or as a picture on the screen."""

from collections.abc import Generator
from dataclasses import dataclass

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QImage, QPainter

from benchtool.bench.sheetpdfblocks import Blocks, Pictures
from benchtool.bench.sheetpdfslabs import Page, Slab, paged
from benchtool.bench.sheetpdftags import Tags
from benchtool.bench.sheetpdftext import LINE, MM, QUIET, UNIT, Type, plain
from benchtool.sheets.blocks import Block, Paper, Sheet, Words
from benchtool.trade.saying import say

_SIDE, _TOP, _BOTTOM, _FOOT = 18 * MM, 16 * MM, 22 * MM, 11 * MM
_HEAD = 9 * MM
"""So much of each page but the first is for the title once more."""
_SMALLER = (1.0, 0.94, 0.88, 0.84, 0.8)
"""A sheet that is meant for one page is tried at these sizes: below 8 points nobody reads it at arm's length."""
_SLABS_A_STEP = 40


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the work is: so many blocks of so many."""

    done: int
    of: int


class Pages:
    """The pages of a sheet as they lie on this paper."""

    def __init__(self, sheet: Sheet, paper: Paper, pages: list[Page], kind: Type, tags: Tags) -> None:
        self.sheet, self.paper, self.type, self.tags = sheet, paper, kind, tags
        self._pages = pages

    def __len__(self) -> int:
        return len(self._pages)

    def draw(self, painter: QPainter, n: int) -> None:
        """Draw page `n` (from 0); a UNIT is one unit of the painter."""
        width, height = _size(self.paper)
        top = _TOP + (_HEAD if n else 0.0)
        for y, slab in self._pages[n].placed:
            slab.draw(painter, _SIDE, top + y)
        self.tags.begin(painter, None)
        self._around(painter, n, width, height)

    def _around(self, painter: QPainter, n: int, width: float, height: float) -> None:
        """Draw what stands over and under each page."""
        inner = QRectF(_SIDE, height - _FOOT - 4 * MM, width - 2 * _SIDE, 5 * MM)
        font = self.type.small
        if n:
            _one_line(painter, self.sheet.title, QRectF(_SIDE, _TOP - 4 * MM, inner.width(), 5 * MM), font)
            painter.fillRect(QRectF(_SIDE, _TOP + 1.6 * MM, inner.width(), 0.2 * MM), QColor(LINE))
        count = say("Page {n} of {m}", n=n + 1, m=len(self))
        room = QFontMetricsF(font).horizontalAdvance(count) + 6 * MM
        _one_line(painter, count, inner, font, right=True)
        _one_line(painter, self.sheet.foot, inner.adjusted(0, 0, -room, 0), font)

    def image(self, n: int, width_px: int) -> QImage:
        """Draw page `n` as a picture so wide."""
        width, height = _size(self.paper)
        scale = max(1, width_px) / width
        image = QImage(max(1, width_px), max(1, round(height * scale)), QImage.Format.Format_RGB32)
        image.fill(QColor("white"))
        painter = QPainter(image)
        painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.SmoothPixmapTransform)
        painter.scale(scale, scale)
        self.draw(painter, n)
        painter.end()
        return image


def lay_out(sheet: Sheet, paper: Paper, pictures: Pictures) -> Generator[Progress, None, Pages]:
    """Lay a sheet out, in steps small enough to be done between two strokes of a key; gives its pages.

    A sheet for one page is made smaller where that brings it onto one; where it doesn't, it keeps its size.
    """
    whole: Pages | None = None
    for scale in _SMALLER if sheet.one_page else _SMALLER[:1]:
        tried = yield from _laid(sheet, paper, pictures, Type(scale))
        if len(tried) == 1:
            return tried
        whole = whole or tried
    assert whole is not None
    return whole


def _laid(sheet: Sheet, paper: Paper, pictures: Pictures, kind: Type) -> Generator[Progress, None, Pages]:
    width, height = _size(paper)
    tags = Tags()
    blocks = Blocks(kind, width - 2 * _SIDE, pictures, tags)
    slabs: list[Slab] = list(blocks.title(sheet.title, sheet.under))
    for done, block in enumerate(sheet.blocks):
        for n, slab in enumerate(blocks.slabs(block)):
            slabs.append(slab)
            if n % _SLABS_A_STEP == _SLABS_A_STEP - 1:
                yield Progress(done, len(sheet.blocks))
        if _leads_in(block):
            slabs[-1].glue = True
        yield Progress(done + 1, len(sheet.blocks))
    room = height - _TOP - _BOTTOM
    return Pages(sheet, paper, paged(slabs, room, room - _HEAD), kind, tags)


def _leads_in(block: Block) -> bool:
    """Whether these are words that lead to what follows them: they stay on its page as a heading does."""
    return isinstance(block, Words) and block.text.endswith(":")


def _size(paper: Paper) -> tuple[float, float]:
    width, height = paper.size_mm
    return width * UNIT / 25.4, height * UNIT / 25.4


def _one_line(painter: QPainter, text: str, box: QRectF, font: QFont, *, right: bool = False) -> None:
    shown = QFontMetricsF(font).elidedText(" ".join(plain(text).split()), Qt.TextElideMode.ElideRight, box.width())
    painter.setFont(font)
    painter.setPen(QColor(QUIET))
    along = Qt.AlignmentFlag.AlignRight if right else Qt.AlignmentFlag.AlignLeft
    painter.drawText(box, int(along | Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextSingleLine), shown)
