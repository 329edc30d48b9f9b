"""The blocks of a sheet as slabs of a printed page."""

from collections.abc import Callable, Iterator, Sequence

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPen, QPolygonF

from benchtool.bench.controls import hatch
from benchtool.bench.sheetpdfphotos import fitting
from benchtool.bench.sheetpdfslabs import Draw, Slab, lines, row
from benchtool.bench.sheetpdftags import Part, Tag, Tags
from benchtool.bench.sheetpdftext import INK, LINE, MM, QUIET, SHADE, Para, Type, wide
from benchtool.sheets.blocks import Band, Block, Caution, Facts, Grid, Heading, Photos, Shown, Stack, Words
from benchtool.trade.saying import say

Pictures = Callable[[Shown], QImage | None]

_HAIR, _THIN = 0.2 * MM, 0.35 * MM
_TALL_ROW = 45 * MM
"""A row of a table that is higher may go on on the next page."""
_FEW_FACTS = 8
"""So many facts stay on one page."""
_TOGETHER = 14
"""So many layers of a stack stay on one page."""


class Blocks:
    """Makes slabs of blocks, for a column of so much width (all in UNITs)."""

    def __init__(self, kind: Type, width: float, pictures: Pictures, tags: Tags) -> None:
        self.type, self.width, self.pictures, self.tags = kind, width, pictures, tags
        self.space = 3.0 * MM * kind.scale

    def slabs(self, block: Block) -> Iterator[Slab]:
        """Give the slabs of a block, one after the other."""
        match block:
            case Heading():
                yield from self._heading(block)
            case Words():
                font, ink = (self.type.small, QUIET) if block.small else (self.type.body, INK)
                para = Para(block.text, font, self.width, ink=ink, part=self._part("P"))
                yield from lines(para, gap=self.space * 0.7)
            case Facts():
                yield from self._facts(block)
            case Grid():
                yield from self._grid(block)
            case Caution():
                yield from self._caution(block)
            case Stack():
                yield from self._stack(block)
            case Photos():
                for first in range(0, len(block.shown), 2):
                    yield from self._photos(block.shown[first : first + 2])

    def title(self, title: str, under: str) -> Iterator[Slab]:
        """Give the head of the sheet, with a line below it."""
        named = Para(title, self.type.title, self.width, part=self._part("H1"))
        yield from lines(named, gap=0, glue=True)
        if under:
            said = Para(under, self.type.body, self.width, ink=QUIET, part=self._part("P"))
            yield from lines(said, gap=0.5 * MM, glue=True)
        yield Slab(1.5 * MM, lambda p, x, y: self._rule(p, x, y + 1.2 * MM, INK, _THIN * 1.6))

    def _part(self, kind: str, inside: Tag | None = None, *, scope: str = "", once: bool = False) -> Part:
        """Put an element into the structure of the sheet, and give what marks it where it is drawn."""
        return Part(self.tags, (inside or self.tags.root).add(kind, scope=scope), once)

    def _rule(self, painter: QPainter, x: float, y: float, ink: str, thick: float) -> None:
        self.tags.begin(painter, None)
        painter.fillRect(QRectF(x, y - thick, self.width, thick), QColor(ink))

    # --- words -------------------------------------------------------------------------------------

    def _heading(self, block: Heading) -> Iterator[Slab]:
        if block.level > 1:
            part = Para(block.text, self.type.part, self.width, part=self._part("H3"))
            yield from lines(part, gap=self.space * 1.3, glue=True)
            return
        section = Para(block.text, self.type.section, self.width, part=self._part("H2"))
        yield from lines(section, gap=self.space * 2.2, glue=True)
        yield Slab(0.6 * MM, lambda p, x, y: self._rule(p, x, y + 0.4 * MM, LINE, _HAIR), glue=True)

    def _caution(self, block: Caution) -> Iterator[Slab]:
        """Set it apart by a hatched bar, and begin it with a triangle and its word."""
        bar, indent, size = 1.6 * MM, 9.0 * MM, 4.2 * MM * self.type.scale
        whole = self.tags.root.add("Div")
        word = Para(block.word, self.type.strong, self.width - indent, part=self._part("P", whole))
        text = Para(block.text, self.type.body, self.width - indent, part=self._part("P", whole))
        made = [*lines(word, gap=self.space, glue=True, x=indent), *lines(text, gap=0, x=indent)]
        for i, slab in enumerate(made):
            yield self._beside(slab, bar, size if i == 0 else 0.0)

    def _beside(self, slab: Slab, bar: float, sign: float) -> Slab:
        """Put a hatched bar at the left of a slab, and a sign of that size beside it where it is above 0."""
        inner, high = slab.draw, slab.height

        def draw(p: QPainter, x: float, y: float) -> None:
            self.tags.begin(p, None)
            hatch(p, QRectF(x, y, bar, high), QColor(INK), gap=0.9 * MM, width=0.3 * MM)
            if sign:
                _triangle(p, QRectF(x + 2.8 * MM, y + (high - sign) / 2, sign * 1.1, sign))
            inner(p, x, y)

        return Slab(high, draw, gap=slab.gap, glue=slab.glue)

    # --- tables ------------------------------------------------------------------------------------

    def _facts(self, block: Facts) -> Iterator[Slab]:
        label = self.type.body
        natural = max((wide(name, label) for name, _ in block.rows), default=0.0) + 2 * MM
        left = min(natural, 0.36 * self.width)
        between, last = 4 * MM, len(block.rows) - 1
        table = self.tags.root.add("Table")
        for i, (name, said) in enumerate(block.rows):
            line = table.add("TR")
            named, told = self._part("TH", line, scope="Row"), self._part("TD", line)
            cells = [
                (0.0, Para(name, label, left, ink=QUIET, part=named)),
                (left + between, Para(said, self.type.body, self.width - left - between, part=told)),
            ]
            made = row(cells, most=_TALL_ROW, pad=0.55 * MM * self.type.scale)
            for n, slab in enumerate(made):
                slab.gap = self.space * 0.6 if i == n == 0 else 0.0
                slab.glue = i < last and (last < _FEW_FACTS or i == 0)
                yield slab

    def _grid(self, block: Grid) -> Iterator[Slab]:
        columns = max([len(block.head), *(len(r) for r in block.rows)], default=0)
        if not columns:
            return
        table = self.tags.root.add("Table")
        between, pad = 4 * MM, 0.8 * MM * self.type.scale
        font, head_font = self.type.font(9), self.type.label
        widths = self._widths(block, columns, between)
        starts = [sum(widths[:n]) + n * between for n in range(columns)]

        def cells(texts: Sequence[str], *, head: bool) -> list[tuple[float, Para]]:
            kind = head_font if head else font
            padded = [*texts, *[""] * (columns - len(texts))]
            line = table.add("TR")
            made = []
            for n, text in enumerate(padded):
                part = self._part("TH" if head else "TD", line, scope="Column" if head else "", once=head)
                ink = QUIET if head else INK
                made.append((starts[n], Para(text, kind, widths[n], right=n in block.right, ink=ink, part=part)))
            return made

        def ruled(ink: str, thick: float) -> Draw:
            return lambda p, x, y: self._rule(p, x, y, ink, thick)

        heads = (
            row(cells(block.head, head=True), most=_TALL_ROW, pad=pad, under=ruled(INK, _THIN)) if block.head else []
        )
        for n, slab in enumerate(heads):
            slab.gap, slab.glue = (self.space if n == 0 else 0.0), True
            yield slab
        again = heads[0] if len(heads) == 1 else None
        last = len(block.rows) - 1
        for i, texts in enumerate(block.rows):
            made = row(cells(texts, head=False), most=_TALL_ROW, pad=pad, under=ruled(LINE, _HAIR), head=again)
            for n, slab in enumerate(made):
                alone = len(made) == 1 and (i == 0 or i == last - 1) and last > 0
                slab.gap, slab.glue = (self.space if not heads and i == n == 0 else 0.0), alone
                yield slab

    def _widths(self, block: Grid, columns: int, between: float) -> list[float]:
        """Share the width out: each column its longest word at least, and what its longest cell needs where it fits."""
        room = self.width - between * (columns - 1)
        natural, least = [1.0] * columns, [1.0] * columns
        for texts, font in ((block.head, self.type.label), *((r, self.type.font(9)) for r in block.rows)):
            for n, text in enumerate(texts):
                natural[n] = max(natural[n], wide(text[:400], font) + 2)
                word = max(text.split(), key=len, default="")
                least[n] = max(least[n], min(wide(word[:40], font) + 2, 0.4 * self.width))
        if sum(natural) <= room:
            spare = (room - sum(natural)) / columns
            return [n + spare for n in natural]
        if sum(least) >= room:
            return [n * room / sum(least) for n in least]
        return _shared(natural, least, room)

    # --- the stack ---------------------------------------------------------------------------------

    def _stack(self, block: Stack) -> Iterator[Slab]:
        few = len(block.bands) <= _TOGETHER
        whole = self.tags.root.add("Figure", alt=block.words)
        for i, band in enumerate(block.bands):
            slab = self._band(band, whole)
            slab.gap = self.space * 1.2 if i == 0 else 0.0
            slab.glue = i < len(block.bands) - 1 and (few or i == 0)
            yield slab

    def _band(self, band: Band, whole: Tag) -> Slab:
        drawn, text = 0.3 * self.width, 0.3 * self.width + 5 * MM
        name = Para(band.name, self.type.strong, self.width - text)
        beside = Para(band.beside, self.type.small, self.width - text, ink=QUIET) if band.beside else None
        words = name.height() + (beside.height() if beside is not None else 0.0)
        least = (12 if band.substrate else 8) * MM * self.type.scale
        high = max(least, words + 1.6 * MM)

        def draw(p: QPainter, x: float, y: float) -> None:
            self.tags.begin(p, whole)
            box = QRectF(x, y, drawn, high)
            if band.substrate:
                hatch(p, box, QColor("#6a6a6a"), gap=2.4 * MM, width=0.25 * MM, lean=-1)
            else:
                paint = QColor(band.colour) if band.colour else QColor()
                p.fillRect(box, paint if paint.isValid() else QColor(SHADE))
            p.setPen(QPen(QColor(INK), _HAIR))
            p.setBrush(Qt.BrushStyle.NoBrush)
            p.drawRect(box)
            top = y + (high - words) / 2
            name.draw(p, x + text, top)
            if beside is not None:
                beside.draw(p, x + text, top + name.height())
            p.setPen(QPen(QColor(LINE), _HAIR))
            p.drawLine(QPointF(x + drawn + 1 * MM, y + high / 2), QPointF(x + text - 1.2 * MM, y + high / 2))

        return Slab(high, draw)

    # --- photos ------------------------------------------------------------------------------------

    def _photos(self, shown: Sequence[Shown]) -> Iterator[Slab]:
        between = 6 * MM
        each = (self.width - between) / 2
        tall = 70 * MM * self.type.scale
        images = [self.pictures(one) for one in shown]
        sizes = [fitting(i, each, tall) if i is not None else (each, 18 * MM) for i in images]
        high = max(h for _, h in sizes)
        told = say("This photo is not beside the job any more, or can't be shown.")
        gone = Para(told, self.type.small, each - 6 * MM)
        parts = [
            self.tags.root.add("Figure", alt=one.caption or say("A photo")) if there else self.tags.root.add("P")
            for one, there in ((one, image is not None) for one, image in zip(shown, images, strict=True))
        ]

        def draw(p: QPainter, x: float, y: float) -> None:
            for n, (image, size) in enumerate(zip(images, sizes, strict=True)):
                self.tags.begin(p, parts[n])
                spot = QRectF(x + n * (each + between), y + high - size[1], *size)
                if image is not None:
                    p.drawImage(spot, image)
                else:
                    p.setPen(QPen(QColor(LINE), _THIN, Qt.PenStyle.DashLine))
                    p.setBrush(Qt.BrushStyle.NoBrush)
                    p.drawRect(spot)
                    gone.draw(p, spot.left() + 3 * MM, spot.center().y() - gone.height() / 2)

        yield Slab(high, draw, gap=self.space * 1.2, glue=True)
        captions = [
            (n * (each + between), Para(one.caption, self.type.small, each, ink=QUIET, part=self._part("P")))
            for n, one in enumerate(shown)
        ]
        yield from row(captions, most=_TALL_ROW, pad=0.8 * MM)


def _shared(natural: Sequence[float], least: Sequence[float], room: float) -> list[float]:
    """Give the narrow columns what they need, so that a time stays on its line, and the wide ones what is left."""
    widths = list(least)
    left = room - sum(least)
    order = sorted(range(len(natural)), key=lambda n: natural[n] - least[n])
    for done, n in enumerate(order):
        more = min(natural[n] - least[n], left / (len(order) - done))
        widths[n] += more
        left -= more
    return widths


def _triangle(painter: QPainter, box: QRectF) -> None:
    """Draw the sign for "look out": a triangle with a stroke and a dot in it, drawn and not a letter of a font."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(QColor(INK), _THIN, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap, Qt.PenJoinStyle.RoundJoin))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPolygon(QPolygonF([QPointF(box.center().x(), box.top()), box.bottomRight(), box.bottomLeft()]))
    middle = box.center().x()
    painter.drawLine(QPointF(middle, box.top() + box.height() * 0.36), QPointF(middle, box.top() + box.height() * 0.64))
    painter.drawPoint(QPointF(middle, box.top() + box.height() * 0.82))
    painter.restore()
