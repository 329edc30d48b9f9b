"""What each part of a page is: heading, paragraph, cell, picture. From it a screen reader knows its way in the PDF.

The toolkit's PDF writer can't mark what it draws. So while a page is drawn into a file, a small rectangle far outside
of the paper says where each part begins; `sheetpdffinish` puts the real mark in the place of each (ISO 32000-2, 14.7
and 14.8). On the screen and on a printer nothing of this is drawn.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QPainter

FAR, HIGH, ACROSS, DOWN = -70_000, -9_000, 3, 7
"""Where the rectangles lie, and their size: nothing of a sheet is ever drawn there."""


@dataclass(eq=False)
class Tag:
    """One element of the structure: its standard type, what stands for it in words, and what is in it.

    `scope` says of the head of a table what it heads: `Column` or `Row`. `text` is the whole text where it stands on
    several lines, which a reader would else read without the blanks between them.
    """

    kind: str
    alt: str = ""
    scope: str = ""
    text: str = ""
    inner: list["Tag"] = field(default_factory=list)

    def add(self, kind: str, *, alt: str = "", scope: str = "") -> "Tag":
        """Put an element into this one."""
        made = Tag(kind, alt, scope)
        self.inner.append(made)
        return made


class Tags:
    """The structure of a sheet, and which part of it stands where on the pages that were drawn into a file.

    In `pages` is a part for each mark of each page; None is what tells a reader nothing, such as a line or the foot.
    """

    def __init__(self) -> None:
        self.root = Tag("Document")
        self.pages: list[list[Tag | None]] = []
        self._on = False

    def begin(self, painter: QPainter, tag: Tag | None, *, once: bool = False) -> None:
        """Say that what is drawn from now on is of this part; with `once` only where it is drawn for the first time."""
        if not self._on:
            return
        if once and any(tag in page for page in self.pages[:-1]):
            tag = None
        there = self.pages[-1]
        if not there or there[-1] is not tag:
            self._mark(painter)
            there.append(tag)

    @contextmanager
    def page(self, painter: QPainter, n: int) -> Iterator[None]:
        """Mark what is drawn meanwhile: it is page `n` (from 0) of a file."""
        if n == 0:
            self.pages = []
        self.pages.append([])
        self._on = True
        try:
            yield
            self._mark(painter)  # where the last part ends
        finally:
            self._on = False

    def _mark(self, painter: QPainter) -> None:
        painter.fillRect(QRectF(FAR - len(self.pages[-1]), HIGH, ACROSS, DOWN), QColor("white"))


@dataclass(frozen=True, slots=True)
class Part:
    """Marks what is drawn from now on as one part of the sheet; with `once` only where it is drawn first."""

    tags: Tags
    tag: Tag
    once: bool = False

    def begin(self, painter: QPainter) -> None:
        """Say that it begins."""
        self.tags.begin(painter, self.tag, once=self.once)
