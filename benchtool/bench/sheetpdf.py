"""A sheet as a PDF: text that can be selected, fonts embedded, title and language in its metadata."""

from collections.abc import Callable, Generator

from PySide6.QtCore import QBuffer, QIODevice, QMarginsF
from PySide6.QtGui import QGuiApplication, QImage, QPageLayout, QPageSize, QPainter, QPdfWriter

from benchtool.bench.sheetpdffinish import finished
from benchtool.bench.sheetpdfpages import Pages, Progress, lay_out
from benchtool.bench.sheetpdfphotos import picture
from benchtool.bench.sheetpdftext import UNIT, plain
from benchtool.sheets.blocks import Paper, Sheet, Shown

CREATOR = "Bench sheet"
SIZES = {Paper.A4: QPageSize.PageSizeId.A4, Paper.LETTER: QPageSize.PageSizeId.Letter}


def pdf_of(sheet: Sheet, paper: Paper, photo: Callable[[Shown], bytes | None]) -> bytes:
    """Give a sheet as a whole PDF file; `photo` gives the bytes of a photo, None where it is gone.

    It needs no window: where no application is there yet, one without a screen is made.
    """
    _have_application()
    steps = pdf_steps(sheet, paper, lambda shown: picture(photo(shown)))
    while True:
        try:
            next(steps)
        except StopIteration as end:
            return bytes(end.value)


def pdf_steps(
    sheet: Sheet, paper: Paper, pictures: Callable[[Shown], QImage | None]
) -> Generator[Progress, None, bytes]:
    """Do the same in small steps; `pictures` gives photos that are read already."""
    pages = yield from lay_out(sheet, paper, kept(pictures))
    return finished_pages(pages, (yield from drawn(pages)))


def drawn(pages: Pages) -> Generator[Progress, None, bytes]:
    """Draw pages that are laid out into a PDF, one a step; it lacks what `finished_pages` adds."""
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setCreator(CREATOR)
    writer.setTitle(plain(pages.sheet.title))
    writer.setResolution(UNIT)
    writer.setPageLayout(page_layout(pages.paper))
    painter = QPainter(writer)
    try:
        for n in range(len(pages)):
            if n:
                writer.newPage()
            with pages.tags.page(painter, n):
                pages.draw(painter, n)
            yield Progress(n + 1, len(pages))
    finally:
        painter.end()
    return bytes(buffer.data().data())


def finished_pages(pages: Pages, data: bytes) -> bytes:
    """Give the whole file of pages that were drawn; this takes a while, and may be done in any thread."""
    return finished(data, title=plain(pages.sheet.title), language=pages.sheet.language, tags=pages.tags)


def page_layout(paper: Paper) -> QPageLayout:
    """Give the page of this paper, without margins: the sheet keeps its own."""
    margins = QMarginsF(0, 0, 0, 0)
    return QPageLayout(QPageSize(SIZES[paper]), QPageLayout.Orientation.Portrait, margins, QPageLayout.Unit.Millimeter)


def kept(pictures: Callable[[Shown], QImage | None]) -> Callable[[Shown], QImage | None]:
    """Read each photo once, however often the sheet is laid out."""
    there: dict[tuple[str, str], QImage | None] = {}

    def found(shown: Shown) -> QImage | None:
        key = (shown.name, shown.sha256)
        if key not in there:
            there[key] = pictures(shown)
        return there[key]

    return found


_made: list[QGuiApplication] = []
"""The application that was made here; it stays as long as fonts that were made with it."""


def _have_application() -> None:
    """See to it that there is the application that fonts need; none with a window is made."""
    if not isinstance(QGuiApplication.instance(), QGuiApplication):
        _made.append(QGuiApplication(["benchtool", "-platform", "offscreen"]))
