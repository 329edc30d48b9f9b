"""Slabs: what a printed page is stacked from. None of them is ever broken, and some hold on to what follows."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

from PySide6.QtGui import QPainter

from benchtool.bench.sheetpdftext import Para

Draw = Callable[[QPainter, float, float], None]
"""Draws at (x, y), the upper left corner of the slab."""

_LINES_A_SLAB = 6


@dataclass(slots=True, eq=False)
class Slab:
    """So high; `gap` stands over it but at the top of a page, `glue` keeps the next one on its page.

    `head` stands over it once more where it begins a page.
    """

    height: float
    draw: Draw
    gap: float = 0.0
    glue: bool = False
    head: "Slab | None" = None


@dataclass(slots=True)
class Page:
    """What stands where on a page: the distance of each slab from the top."""

    placed: list[tuple[float, Slab]] = field(default_factory=list)
    end: float = 0.0

    def put(self, slab: Slab) -> None:
        """Put a slab below what is there; one that begins the page takes its head along."""
        if not self.placed and slab.head is not None:
            self._put(slab.head, 0.0)
        self._put(slab, slab.gap if self.placed else 0.0)

    def _put(self, slab: Slab, gap: float) -> None:
        self.placed.append((self.end + gap, slab))
        self.end += gap + slab.height


def paged(slabs: Iterable[Slab], first: float, later: float) -> list[Page]:
    """Spread slabs over pages, in their order: so much room on the first page, so much on each later one.

    There is at least one page.
    """
    pages, room = [Page()], first
    for group in _groups(slabs):
        page = pages[-1]
        if page.placed and page.end + _high(group, fresh=False) > room:
            page, room = Page(), later
            pages.append(page)
        whole = page.end + _high(group, fresh=not page.placed) <= room
        for slab in group:
            if not whole and page.placed and page.end + slab.gap + slab.height > room:
                page, room = Page(), later
                pages.append(page)
            page.put(slab)
    return pages


def _groups(slabs: Iterable[Slab]) -> Iterable[list[Slab]]:
    group: list[Slab] = []
    for slab in slabs:
        group.append(slab)
        if not slab.glue:
            yield group
            group = []
    if group:
        yield group


def _high(group: Sequence[Slab], *, fresh: bool) -> float:
    first = group[0]
    above = (first.head.height if first.head is not None else 0.0) if fresh else first.gap
    return above + sum(s.height for s in group) + sum(s.gap for s in group[1:])


def lines(para: Para, *, gap: float, glue: bool = False, aside: Draw | None = None, x: float = 0.0) -> list[Slab]:
    """Make slabs of a paragraph, one a line, so that no line of it stands alone on a page.

    `glue` keeps its end with what follows; `aside` draws what stands beside each line.
    """

    def drawn(n: int) -> Draw:
        def draw(painter: QPainter, left: float, top: float) -> None:
            if aside is not None:
                aside(painter, left, top)
            para.draw(painter, left + x, top, n, n + 1)

        return draw

    count = len(para.lines)
    made = [Slab(para.height(n, n + 1), drawn(n), glue=n == 0 or n == count - 2) for n in range(count)]
    if made:
        made[0].gap = gap
        made[-1].glue = glue
    return made


def row(
    cells: Sequence[tuple[float, Para]], *, most: float, pad: float, under: Draw | None = None, head: Slab | None = None
) -> list[Slab]:
    """Make slabs of paragraphs beside each other, each at its x: one slab, or several where it is higher than `most`.

    `under` is drawn at the row's end, `pad` is kept over and under it.
    """
    height = max((p.height() for _, p in cells), default=0.0)
    count = max((len(p.lines) for _, p in cells), default=0)
    each = count if height <= most else _LINES_A_SLAB

    def made(first: int) -> Slab:
        begins, ends = first == 0, first + each >= count
        above, below = pad if begins else 0.0, pad if ends else 0.0
        high = above + max(p.height(first, first + each) for _, p in cells) + below

        def draw(painter: QPainter, left: float, top: float) -> None:
            for x, para in cells:
                para.draw(painter, left + x, top + above, first, first + each)
            if ends and under is not None:
                under(painter, left, top + high)

        return Slab(high, draw, head=head)

    return [made(first) for first in range(0, count, max(1, each))]
