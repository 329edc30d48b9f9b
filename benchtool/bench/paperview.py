"""The preview of a paper: its pages one below the other as they will lie on the sheet, or the text of a file."""

from collections.abc import Generator

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontDatabase, QHideEvent, QImage, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QPlainTextEdit, QScrollArea, QSizePolicy, QStackedWidget, QVBoxLayout, QWidget

from benchtool.bench.controls import Words, scrolled
from benchtool.bench.librarysteps import Steps
from benchtool.bench.look import GRID, Look
from benchtool.bench.sheetpdfpages import Pages
from benchtool.trade.saying import say

_WIDEST = 980
"""A page is drawn no wider (device-independent pixels): beyond that its lines grow no easier to read."""
_MOST_KEPT = 24
"""So many pages are kept as pictures; a page is some 4 MB."""


class PageColumn(QWidget):
    """Draws the pages; one that is not drawn yet is blank paper, and is drawn between two strokes of a key."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.setObjectName("papers-pages")
        self.pages: Pages | None = None
        self._drawn: dict[int, QImage] = {}
        self._steps = Steps(self)
        self._steps.done.connect(lambda _: self.update())
        look.changed.connect(self.update)

    def show_pages(self, pages: Pages | None) -> None:
        """Show these pages."""
        self.pages = pages
        self._drawn = {}
        self._steps.stop()
        self.setAccessibleName(say("Preview, {n} pages", n=len(pages)) if pages is not None else "")
        self._fit()
        self.update()

    def _page_size(self) -> tuple[float, float]:
        assert self.pages is not None
        wide, high = self.pages.paper.size_mm
        width = float(max(120, min(_WIDEST, self.width() - 2 * GRID)))
        return width, float(round(width * high / wide))

    def spots(self) -> list[QRectF]:
        """Give where each page lies."""
        if self.pages is None:
            return []
        width, height = self._page_size()
        left = float(max(GRID, round((self.width() - width) / 2)))
        return [QRectF(left, GRID + n * (height + 2 * GRID), width, height) for n in range(len(self.pages))]

    def _fit(self) -> None:
        spots = self.spots()
        self.setFixedHeight(int(spots[-1].bottom()) + GRID if spots else GRID)

    def sizeHint(self) -> QSize:
        return QSize(60 * GRID, self.height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._drawn = {}
            self._fit()

    def paintEvent(self, event: QPaintEvent) -> None:
        if self.pages is None:
            return
        painter, seen = QPainter(self), QRectF(event.rect())
        missing = []
        for n, spot in enumerate(self.spots()):
            if not spot.intersects(seen):
                continue
            image = self._drawn.get(n)
            if image is not None:
                painter.drawImage(spot.topLeft(), image)  # pixel by pixel: stretched, its letters would tear
            else:
                painter.fillRect(spot, Qt.GlobalColor.white)
                missing.append(n)
            painter.setPen(QPen(self.look.theme.color("line"), 1))
            painter.drawRect(spot)
        painter.end()
        if missing and not self._steps.busy:
            self._steps.start(self._draw(missing))

    def _draw(self, missing: list[int]) -> Generator[int, None, None]:
        for n in missing:
            pages = self.pages
            if pages is None or n >= len(pages):
                return
            ratio = self.devicePixelRatioF()
            while len(self._drawn) >= _MOST_KEPT:
                self._drawn.pop(next(iter(self._drawn)))
            image = pages.image(n, round(self._page_size()[0] * ratio))
            image.setDevicePixelRatio(ratio)
            self._drawn[n] = image
            yield n

    def hideEvent(self, event: QHideEvent) -> None:
        self._steps.stop()
        super().hideEvent(event)


class PaperView(QStackedWidget):
    """The preview: pages, text, or why there is nothing."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.setObjectName("papers-preview")
        self.column = PageColumn(look)
        self.area: QScrollArea = scrolled(self.column)
        self.area.setObjectName("papers-scroll")
        self.area.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.area.setAccessibleName(say("Preview"))
        self.text = QPlainTextEdit()
        self.text.setObjectName("papers-text")
        self.text.setReadOnly(True)
        self.text.setLineWrapMode(QPlainTextEdit.LineWrapMode.NoWrap)
        self.words = Words(look, "body", "quiet")
        self.words.setAlignment(Qt.AlignmentFlag.AlignTop)
        empty = QWidget()
        inner = QVBoxLayout(empty)
        inner.setContentsMargins(0, 0, 0, 0)
        inner.addWidget(self.words)
        for part in (self.area, self.text, empty):
            self.addWidget(part)
        self._empty = empty
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        look.changed.connect(self._relook)
        self._relook()

    def show_pages(self, pages: Pages, *, stay: bool) -> None:
        """Show pages; `stay` keeps the place where they were read."""
        bar = self.area.verticalScrollBar()
        at = bar.value() if stay else 0
        self.column.show_pages(pages)
        self.setCurrentWidget(self.area)
        bar.setValue(at)

    def show_text(self, text: str, name: str) -> None:
        """Show the text of a file."""
        self.column.show_pages(None)
        self.text.setAccessibleName(name)
        self.text.setPlainText(text)
        self.setCurrentWidget(self.text)

    def show_words(self, words: str) -> None:
        """Say why there is nothing, or what is being done."""
        self.column.show_pages(None)
        self.words.say(words)
        self.setCurrentWidget(self._empty)

    def turn(self, by: int) -> None:
        """Go so many screens down (or up, below 0)."""
        area = self.text if self.currentWidget() is self.text else self.area
        bar = area.verticalScrollBar()
        bar.setValue(bar.value() + by * max(1, bar.pageStep() - 3 * GRID))

    def _relook(self) -> None:
        font = QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont)
        font.setPixelSize(self.look.small.pixelSize())
        self.text.setFont(font)
