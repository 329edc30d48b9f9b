"""The labels of a trial's strips as a PDF, to print, cut out and stick on, with a map of each panel to scale.

All is drawn in millimetres. Text is text, never markup; a name that is too long is shortened at its end.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from PySide6.QtCore import QBuffer, QIODevice, QLocale, QMarginsF, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPageLayout, QPageSize, QPainter, QPdfWriter, QPen
from PySide6.QtWidgets import QWidget

from benchtool.bench.beside import SaveBeside, documents
from benchtool.bench.controls import hatch, readable_on
from benchtool.session import triallabels
from benchtool.session.triallabels import Label, Labels
from benchtool.trade.panel import Box, Panel, label_sheets, label_size, lay_out, scale_for
from benchtool.trade.saying import say

_RESOLUTION = 600
_IN_MM = 25.4
_PT_MM = _IN_MM / 72
_MARGIN = 12.0
_CUT = 3.0
"""How long a cut mark is, mm."""

MOST_LINES = 4
"""So many lines of a label are for the stack: more would leave nothing that can be read."""

PAPERS = {"A4": QPageSize.PageSizeId.A4, "Letter": QPageSize.PageSizeId.Letter}


def usual_paper() -> str:
    """Give the paper that is usual where the painter is: US Letter where inches are, else A4."""
    letter = QLocale().measurementSystem() == QLocale.MeasurementSystem.ImperialUSSystem
    return "Letter" if letter else "A4"


def labels_pdf(labels: Labels, paper: str = "A4") -> bytes:
    """Draw the labels and the panels, each panel on a page of its own; gives the whole file."""
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setCreator(triallabels.CREATOR)
    writer.setTitle(labels.trial)
    writer.setResolution(_RESOLUTION)
    size = QPageSize(PAPERS.get(paper, PAPERS["A4"]))
    writer.setPageLayout(
        QPageLayout(size, QPageLayout.Orientation.Portrait, QMarginsF(0, 0, 0, 0), QPageLayout.Unit.Millimeter)
    )
    whole = size.size(QPageSize.Unit.Millimeter)
    painter = QPainter(writer)
    pages = _Pages(writer, painter, (whole.width(), whole.height()))
    pages.draw_labels(labels)
    pages.draw_panels(labels)
    painter.end()
    return bytes(buffer.data().data())


class _Pages:
    """Draws in millimetres on one page after the other."""

    def __init__(self, writer: QPdfWriter, painter: QPainter, paper_mm: tuple[float, float]) -> None:
        self.writer, self.painter, self.paper = writer, painter, paper_mm
        self.begun = False
        self.family = QFont().family()

    def _page(self) -> None:
        if self.begun:
            self.writer.newPage()
        self.begun = True
        self.painter.resetTransform()
        self.painter.scale(_RESOLUTION / _IN_MM, _RESOLUTION / _IN_MM)

    # --- the labels --------------------------------------------------------------------------------

    def draw_labels(self, labels: Labels) -> None:
        """Draw the labels, row by row, with marks to cut by."""
        size = label_size(labels.strip_mm[0])
        left = list(labels.labels)
        for places in label_sheets(len(left), size, self.paper, margin=_MARGIN):
            self._page()
            for place in places:
                self._label(labels, left.pop(0), place)

    def _label(self, labels: Labels, label: Label, box: Box) -> None:
        p = self.painter
        self._cut_marks(box)
        inner = QRectF(box.x + 1, box.y + 0.8, box.width - 2, box.height - 1.6)
        self._text(str(label.number), QRectF(inner.left(), inner.top(), inner.width() - 8, 7), 17, strong=True)
        tag = QRectF(inner.right() - 6.2, inner.top() + 0.4, 6, 6)
        paint = QColor(label.colour) if label.colour else QColor("white")
        p.setPen(QPen(QColor("black"), 0.25))
        p.setBrush(paint)
        if label.control:
            p.drawRect(tag)
        else:
            p.drawEllipse(tag)
        self._text(label.letter, tag, 10, strong=True, tone=readable_on(paint), middle=True)
        points, stack = self._folded(label.stack, inner.width())
        name = say("{name} (control)", name=label.system) if label.control else label.system
        lines = [
            (name, 7.0, True),
            *((line, points, False) for line in stack),
            (labels.trial, 5.5, False),
            (say("{date}  Prepared", date=labels.date), 5.5, False),
        ]
        top = inner.top() + 7.2
        each = (inner.bottom() - top) / len(lines)
        for i, (text, points, strong) in enumerate(lines):
            spot = QRectF(inner.left(), top + i * each, inner.width(), each)
            self._text(text, spot, points, strong=strong, least=4.5)
            if i == len(lines) - 1:
                p.setPen(QPen(QColor("black"), 0.15))
                begin = inner.left() + self._wide(text, points) + 1
                p.drawLine(QPointF(begin, spot.bottom() - 0.3), QPointF(inner.right(), spot.bottom() - 0.3))

    def _cut_marks(self, box: Box) -> None:
        """Mark the corners outside the label, where the knife begins and ends."""
        self.painter.setPen(QPen(QColor("#808080"), 0.1))
        for x in (box.x, box.right):
            for y, out in ((box.y, -1), (box.bottom, 1)):
                self.painter.drawLine(QPointF(x, y + out * 0.4), QPointF(x, y + out * (_CUT - 0.2)))
        for y in (box.y, box.bottom):
            for x, out in ((box.x, -1), (box.right, 1)):
                self.painter.drawLine(QPointF(x + out * 0.4, y), QPointF(x + out * (_CUT - 0.2), y))

    # --- the panels --------------------------------------------------------------------------------

    def draw_panels(self, labels: Labels) -> None:
        """Draw each panel to scale with what lies where."""
        for number in sorted({x.panel for x in labels.labels}):
            on_it = sorted((x for x in labels.labels if x.panel == number), key=lambda x: x.place)
            self._page()
            self._panel(labels, number, on_it)

    def _panel(self, labels: Labels, number: int, on_it: list[Label]) -> None:
        wide = self.paper[0] - 2 * _MARGIN
        self._text(labels.trial, QRectF(_MARGIN, _MARGIN, wide, 8), 16, strong=True)
        panel = lay_out(max(x.place for x in on_it) + 1, *labels.strip_mm)
        lines = 6.5 * len(on_it)
        scale = scale_for(panel, wide, self.paper[1] - 2 * _MARGIN - lines - 30)
        size = f"{panel.width_mm:.4g} × {panel.height_mm:.4g}"
        told = say(
            "Panel {n}, {size} mm, drawn 1 : {scale}. Painted face up, held at the top. {date}",
            n=number, size=size, scale=f"{scale:.3g}", date=labels.date,
        )  # fmt: skip
        self._text(told, QRectF(_MARGIN, _MARGIN + 8, wide, 6), 9)
        top = _MARGIN + 17
        self._draw_panel(panel, on_it, top, scale)
        top += panel.height_mm / scale + 6
        for i, x in enumerate(on_it):
            name = f"{x.letter}  {x.system}"
            words = say("{name} (control)", name=name) if x.control else name
            spot = QRectF(_MARGIN, top + i * 6.5, wide, 6.5)
            self._text(str(x.number), QRectF(spot.left(), spot.top(), 9, 6.5), 11, strong=True)
            self._text(words, QRectF(spot.left() + 10, spot.top(), wide * 0.42, 6.5), 9, strong=True)
            self._text(x.stack, QRectF(spot.left() + 12 + wide * 0.42, spot.top(), wide * 0.58 - 12, 6.5), 8)

    def _draw_panel(self, panel: Panel, on_it: list[Label], top: float, scale: float) -> None:
        p = self.painter
        whole = QRectF(_MARGIN, top, panel.width_mm / scale, panel.height_mm / scale)

        def placed(box: Box) -> QRectF:
            return QRectF(_MARGIN + box.x / scale, top + box.y / scale, box.width / scale, box.height / scale)

        hatch(p, whole, QColor("#c8c8c8"), gap=3, width=0.1, lean=-1)
        p.setPen(QPen(QColor("black"), 0.3))
        p.setBrush(Qt.BrushStyle.NoBrush)
        p.drawRect(whole)
        for x in on_it:
            strip, label = placed(panel.strips[x.place]), placed(panel.labels[x.place])
            p.setBrush(QColor("white"))
            p.setPen(QPen(QColor("black"), 0.2))
            p.drawRect(strip)
            if x.colour:
                p.fillRect(QRectF(strip.left() + 0.2, strip.top() + 0.2, strip.width() - 0.4, 2), QColor(x.colour))
            spot = QRectF(label.left() - 2, label.top(), label.width() + 4, label.height())
            p.fillRect(QRectF(spot.center().x() - 3, spot.top(), 6, min(5.0, spot.height())), QColor("white"))
            self._text(str(x.number), QRectF(spot.left(), spot.top(), spot.width(), 5), 11, strong=True, middle=True)
            with self._turned(strip):
                name = f"{x.letter} {x.system}"
                words = say("{name} (control)", name=name) if x.control else name
                self._text(words, QRectF(1.5, 0, strip.height() - 5, strip.width()), 8)

    @contextmanager
    def _turned(self, box: QRectF) -> Iterator[None]:
        self.painter.save()
        self.painter.translate(box.bottomLeft())
        self.painter.rotate(-90)
        yield
        self.painter.restore()

    # --- text --------------------------------------------------------------------------------------

    def _font(self, points: float, *, strong: bool = False) -> QFont:
        # measured at a size that hints no width, and drawn scaled down: 1 unit is 1/100 mm
        font = QFont(self.family)
        font.setPixelSize(max(1, round(points * _PT_MM * 100)))
        font.setWeight(QFont.Weight.DemiBold if strong else QFont.Weight.Normal)
        return font

    def _folded(self, text: str, wide: float) -> tuple[float, list[str]]:
        """Break a stack over lines as wide as the label, as large as fits: the colour stands last, and must be read."""
        points, lines = 0.0, [""]
        for points in (5.5, 5.0, 4.5):
            lines = [""]
            for word in " ".join(text.split()).split(" "):
                longer = f"{lines[-1]} {word}".strip()
                if self._wide(longer, points) <= wide or not lines[-1]:
                    lines[-1] = longer
                else:
                    lines.append(word)
            if len(lines) <= MOST_LINES:
                return points, lines
        return points, [*lines[: MOST_LINES - 1], " ".join(lines[MOST_LINES - 1 :])]

    def _wide(self, text: str, points: float) -> float:
        return QFontMetricsF(self._font(points)).horizontalAdvance(text) / 100

    def _text(
        self,
        text: str,
        box: QRectF,
        points: float,
        *,
        strong: bool = False,
        middle: bool = False,
        tone: QColor | None = None,
        least: float = 0.0,
    ) -> None:
        """Write one line; smaller, down to `least` points, where it is too long, and then shortened."""
        line = " ".join(text.split())
        font = self._font(points, strong=strong)
        if least and (wide := QFontMetricsF(font).horizontalAdvance(line) / 100) > box.width():
            font = self._font(max(least, 0.98 * points * box.width() / wide), strong=strong)
        shown = QFontMetricsF(font).elidedText(line, Qt.TextElideMode.ElideRight, box.width() * 100)
        self.painter.save()
        self.painter.translate(box.topLeft())
        self.painter.scale(0.01, 0.01)
        self.painter.setFont(font)
        self.painter.setPen(tone or QColor("black"))
        along = Qt.AlignmentFlag.AlignHCenter if middle else Qt.AlignmentFlag.AlignLeft
        spot = QRectF(0, 0, box.width() * 100, box.height() * 100)
        self.painter.drawText(spot, int(along | Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextSingleLine), shown)
        self.painter.restore()


class LabelSave(SaveBeside):
    """Asks where the labels go, writes them, and says what came of it."""

    said = Signal(str)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent, documents())

    def ask(self, labels: Labels, paper: str) -> None:
        """Open the dialog for the file's name; where there is no strip yet, say so instead."""
        if not labels.labels:
            self.said.emit(say("There is no strip yet to make a label for: add a system."))
            return
        title, suggested = say("Labels to print and stick on"), triallabels.suggested_name(labels)
        self.ask_name(title, suggested, lambda path: self.write(path, labels, paper), "labels-dialog")

    def write(self, path: Path, labels: Labels, paper: str) -> None:
        """Write the labels into this file, and say so, or why not."""
        try:
            triallabels.save_labels(path, labels_pdf(labels, paper))
        except triallabels.SaveFault as fault:
            self.said.emit(str(fault))
            return
        self.folder = path.parent
        self.said.emit(
            say("Labels written to {file}. Print them at full size, not fitted to the page.", file=path.name)
        )
