"""The drawing of a stack that is being built: its layers as bands in true order, and what they lie on."""

from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QKeyEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from benchtool.bench.controls import hatch
from benchtool.bench.look import GRID, Look, elided

THICK_UM = 100.0
"""A layer of this film or more is drawn as high as a band gets."""


def slab_width(width: int) -> float:
    """Give the cross-section its share of a band, so that a narrow page leaves room for words."""
    return min(15 * GRID + max(0, width - 400) * 0.2, width * 0.26)


@dataclass(frozen=True, slots=True, kw_only=True)
class BandFacts:
    """What one band shows: `on` coats of `coats` have paint on, `mark` is a word where something speaks against it."""

    name: str
    words: str
    coats: int = 1
    on: int = 0
    kept: bool = False
    color: str | None = None
    film_um: float | None = None
    picked: bool = False
    mark: str = ""
    grave: bool = False
    grows_down: bool = False


class LayerBand(QAbstractButton):
    """One layer of the stack as it would be."""

    def __init__(self, look: Look, key: str, name: str) -> None:
        super().__init__()
        self.look, self.key = look, key
        self.facts = BandFacts(name="", words="")
        self.setObjectName(name)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        look.changed.connect(self._relook)

    def show_facts(self, facts: BandFacts) -> None:
        """Show these; only the one picked is a stop for Tab."""
        self.facts = facts
        told = ", ".join(x for x in (facts.name, facts.words, facts.mark) if x)
        self.setAccessibleName(told)
        self.setToolTip(f"{facts.name}\n{facts.words}")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus if facts.picked else Qt.FocusPolicy.ClickFocus)
        self._relook()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down):  # a button would hand the focus on; the page steps
            event.ignore()
        else:
            super().keyPressEvent(event)

    def _relook(self) -> None:
        share = min(1.0, (self.facts.film_um or 0.0) / THICK_UM)
        self.setFixedHeight(int(self.look.target + 2 * GRID * share))
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(40 * GRID, self.height())

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t, f = QPainter(self), self.look.theme, self.facts
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        whole = QRectF(self.rect())
        if f.picked:
            painter.fillRect(whole, t.color("raised"))
            painter.fillRect(QRectF(0, 0, GRID / 2, whole.height()), t.color("accent"))
        slab = QRectF(GRID, 0, slab_width(self.width()), whole.height())
        self._draw_coats(painter, slab)
        right = whole.right() - GRID
        if f.grave:
            hatch(painter, QRectF(right, 2, GRID, whole.height() - 4), t.color("trouble"), gap=6, width=2)
        right -= GRID / 2
        if f.mark:
            painter.setFont(self.look.small)
            painter.setPen(t.color("trouble"))
            wide = painter.fontMetrics().horizontalAdvance(f.mark) + 2
            spot = QRectF(right - wide, 0, wide, whole.height())
            painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, f.mark)
            right -= wide + GRID
        self._draw_words(painter, slab.right() + 1.5 * GRID, right)
        if self.hasFocus():
            painter.setPen(QPen(t.color("accent"), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(whole.adjusted(2, 2, -2, -2))
        painter.end()

    def _draw_coats(self, painter: QPainter, slab: QRectF) -> None:
        t, f = self.look.theme, self.facts
        paint = QColor(f.color) if f.color else QColor(t.color("bare"))
        count = max(f.coats, f.on, 1)
        each = slab.height() / count
        for i in range(count):
            line = i if f.grows_down else count - 1 - i
            box = QRectF(slab.left(), slab.top() + line * each, slab.width(), each)
            if i < f.on:
                painter.fillRect(box, paint)
                painter.setPen(QPen(t.color("ink"), 1))
            else:
                tint = QColor(paint)
                tint.setAlpha(70 if t.name == "light" else 120)
                painter.fillRect(box, tint)
                painter.setPen(QPen(t.color("quiet"), 1, Qt.PenStyle.DashLine))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            if each >= 3:
                painter.drawRect(box.adjusted(0.5, 0.5, -0.5, -0.5))
        painter.setPen(QPen(t.color("ink"), 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(slab.adjusted(0.5, 0.5, -0.5, -0.5))

    def _draw_words(self, painter: QPainter, left: float, right: float) -> None:
        t, f, middle = self.look.theme, self.facts, self.height() / 2
        for font, color, text, up in (
            (self.look.strong, "quiet" if f.kept else "ink", f.name, True),
            (self.look.small, "quiet", f.words, False),
        ):
            painter.setFont(font)
            painter.setPen(t.color(color))
            line = painter.fontMetrics().height()
            spot = QRectF(left, middle - line - 1 if up else middle + 1, max(0.0, right - left), line)
            painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, elided(text, font, spot.width()))


class GroundBand(QWidget):
    """What the stack lies on: the material, hatched, or the clear shell that it is seen through."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.words, self.detail, self.clear = "", "", False
        self.setObjectName("build-ground")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        look.changed.connect(self._relook)
        self._relook()

    def show_piece(self, words: str, detail: str, *, clear: bool) -> None:
        """Name the material, and how it is painted."""
        self.words, self.detail, self.clear = words, detail, clear
        self.setAccessibleName(f"{words}, {detail}")
        self.update()

    def _relook(self) -> None:
        self.setFixedHeight(self.look.target)
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(40 * GRID, self.height())

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t = QPainter(self), self.look.theme
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(GRID, 0.5, slab_width(self.width()), self.height() - 1)
        painter.fillRect(box, t.color("raised"))
        if self.clear:
            painter.setPen(QPen(t.color("line"), 5))
            for x in (0.2, 0.3, 0.7):
                left = box.left() + box.width() * x
                painter.drawLine(int(left), int(box.bottom()) - 5, int(left + 14), int(box.top()) + 5)
        else:
            hatch(painter, box, t.color("quiet"), gap=9, width=1.2, lean=-1)
        painter.setPen(QPen(t.color("ink"), 1.5))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(box)
        left, room, middle = box.right() + 1.5 * GRID, self.width() - box.right() - 2.5 * GRID, self.height() / 2
        for font, color, text, up in (
            (self.look.strong, "ink", self.words, True),
            (self.look.small, "quiet", self.detail, False),
        ):
            painter.setFont(font)
            painter.setPen(t.color(color))
            line = painter.fontMetrics().height()
            spot = QRectF(left, middle - line - 1 if up else middle + 1, room, line)
            painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, elided(text, font, room))
        painter.end()
