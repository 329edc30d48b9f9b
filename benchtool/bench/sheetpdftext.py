"""The type of a printed sheet: its sizes, and paragraphs broken over lines.

All is measured in `UNIT`s of a twentieth of a point, so that a page looks the same on paper and on the screen.
"""

import re
from dataclasses import dataclass
from functools import cache

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QTextLayout, QTextLine, QTextOption

from benchtool.bench.sheetpdftags import Part

UNIT = 1440
"""So many to an inch: a twentieth of a point each."""
PT = 20.0
MM = UNIT / 25.4

INK, QUIET, LINE, SHADE = "#000000", "#444444", "#9a9a9a", "#f0f0f0"

_LEAST_PT = 6.0
_NO_TEXT = re.compile(r"[\ud800-\udfff]")
_CONTROLS = dict.fromkeys((*range(32), *range(127, 160), 8232, 8233), " ") | {0x0A: "\u2028"}


def plain(text: str) -> str:
    """Give a text as it can be set: no control characters, no halves of characters; its lines stay lines."""
    return _NO_TEXT.sub("\ufffd", text.replace("\r\n", "\n")).translate(_CONTROLS)


@cache
def font_of(points: float, *, strong: bool = False) -> QFont:
    """Give the one typeface at a size, with figures of equal width and no ligatures, so that what is copied is text."""
    font = QFont(QFont().family())
    font.setPixelSize(max(1, round(max(_LEAST_PT, points) * PT)))
    font.setWeight(QFont.Weight.DemiBold if strong else QFont.Weight.Normal)
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    font.setFeature(QFont.Tag("tnum"), 1)
    for joins in ("liga", "clig", "dlig"):
        font.setFeature(QFont.Tag(joins), 0)
    return font


@dataclass(frozen=True, slots=True)
class Type:
    """The sizes of a sheet; `scale` below 1 makes all of it smaller."""

    scale: float = 1.0

    def font(self, points: float, *, strong: bool = False) -> QFont:
        """Give a size of the sheet."""
        return font_of(round(points * self.scale, 2), strong=strong)

    @property
    def title(self) -> QFont:
        """For the title of the sheet."""
        return self.font(19, strong=True)

    @property
    def section(self) -> QFont:
        """For headings of sections."""
        return self.font(13.5, strong=True)

    @property
    def part(self) -> QFont:
        """For headings within a section."""
        return self.font(10.5, strong=True)

    @property
    def body(self) -> QFont:
        """For sentences."""
        return self.font(10)

    @property
    def strong(self) -> QFont:
        """For names."""
        return self.font(10, strong=True)

    @property
    def small(self) -> QFont:
        """For what only explains."""
        return self.font(8.5)

    @property
    def label(self) -> QFont:
        """For the heads of tables."""
        return self.font(8.5, strong=True)


def wide(text: str, font: QFont) -> float:
    """Say how wide a text is on one line."""
    return QFontMetricsF(font).horizontalAdvance(plain(text))


class Para:
    """A paragraph broken over lines of a width; `part` is what it is of the sheet."""

    def __init__(
        self, text: str, font: QFont, width: float, *, right: bool = False, ink: str = INK, part: Part | None = None
    ) -> None:
        self.ink, self.part = ink, part
        option = QTextOption(Qt.AlignmentFlag.AlignRight if right else Qt.AlignmentFlag.AlignLeft)
        option.setWrapMode(QTextOption.WrapMode.WrapAtWordBoundaryOrAnywhere)
        option.setTextDirection(Qt.LayoutDirection.LayoutDirectionAuto)
        self._layout = QTextLayout(plain(text), font)  # the lines live as long as it does
        self._layout.setTextOption(option)
        self._layout.setCacheEnabled(True)
        self.lines: list[QTextLine] = []
        self._layout.beginLayout()
        top, leading = 0.0, QFontMetricsF(font).height() * 1.14
        while (line := self._layout.createLine()).isValid():
            line.setLineWidth(max(1.0, width))
            line.setPosition(QPointF(0, top))
            top += max(leading, line.height())
            self.lines.append(line)
        self._layout.endLayout()
        if part is not None and len(self.lines) > 1:
            part.tag.text = " ".join(plain(text).split())
        self._ends = [line.y() for line in self.lines[1:]] + [top]

    def height(self, first: int = 0, end: int | None = None) -> float:
        """Say how high the lines from `first` to before `end` are together."""
        end = len(self.lines) if end is None else min(end, len(self.lines))
        return self._ends[end - 1] - self.lines[first].y() if first < end else 0.0

    def draw(self, painter: QPainter, x: float, y: float, first: int = 0, end: int | None = None) -> None:
        """Draw those lines, the first of them at `y`."""
        lines = self.lines[first:end]
        if not lines:
            return
        if self.part is not None:
            self.part.begin(painter)
        painter.setPen(QColor(self.ink))
        spot = QPointF(x, y - lines[0].y())
        for line in lines:
            line.draw(painter, spot)
