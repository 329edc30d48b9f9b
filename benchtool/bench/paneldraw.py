"""A test panel drawn to scale: the bare material hatched, the strips as bands with number, letter and a word of state.

Set-up, run, grading and comparison show the same panel: each gives a plain list of `PanelStrip`.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QHelpEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from benchtool.bench.controls import hatch, readable_on
from benchtool.bench.look import GRID, Look, elided
from benchtool.bench.tips import plain_tip
from benchtool.trade.panel import USUAL_STRIP_MM, Box, Panel, lay_out
from benchtool.trade.saying import say

NARROWEST = 62
"""Letters are drawn no narrower than so many per cent of their width (judgement): narrower ones can't be read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PanelStrip:
    """One strip as it is drawn.

    `number` is what is written on it, `label` the letter of its system, `words` the system's name, `state` a word or
    two of what it is at. `key` is what `PanelDrawing.picked` gives when it is clicked: the id of its piece, or what
    the caller likes. `colour` (`#rrggbb`) only repeats the letter. `panel` counts from 1, `place` on it from 0. A
    `marked` strip is one of those that the act at hand is about; an `off` one is left out of it.
    """

    key: str
    number: int
    label: str = ""
    words: str = ""
    colour: str | None = None
    place: int = 0
    panel: int = 1
    control: bool = False
    picked: bool = False
    marked: bool = False
    off: bool = False
    state: str = ""


class PanelDrawing(QWidget):
    """The panels of a trial, one below the other, to one scale. `picked` gives the key of the strip clicked.

    With `keys` it takes the focus, and the arrow keys move the strip in hand (emitting `picked`).
    """

    picked = Signal(str)

    def __init__(self, look: Look, name: str = "panel", *, keys: bool = False) -> None:
        super().__init__()
        self.look = look
        self.strips: tuple[PanelStrip, ...] = ()
        self.size_mm = USUAL_STRIP_MM
        self.clear = False
        self._panels: dict[int, Panel] = {}
        self.setObjectName(name)
        self.setAccessibleName(say("The test panel"))
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(24 * GRID, 14 * GRID)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus if keys else Qt.FocusPolicy.NoFocus)
        look.changed.connect(self.update)

    def show_panel(
        self,
        strips: Sequence[PanelStrip],
        *,
        strip_mm: tuple[float, float] = USUAL_STRIP_MM,
        clear: bool = False,
    ) -> None:
        """Show these strips, each `strip_mm` wide and long (mm); `clear` is a shell that is painted from behind."""
        if (tuple(strips), strip_mm, clear) == (self.strips, self.size_mm, self.clear):
            return
        self.strips, self.size_mm, self.clear = tuple(strips), strip_mm, clear
        counts: dict[int, int] = {}
        for s in self.strips:
            counts[s.panel] = max(counts.get(s.panel, 0), s.place + 1)
        self._panels = {number: lay_out(counts[number], *strip_mm) for number in sorted(counts)}
        self.setAccessibleDescription("; ".join(self._told(s) for s in self.strips))
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(60 * GRID, 36 * GRID)

    @property
    def panels(self) -> int:
        """How many panels there are."""
        return len(self._panels)

    def height_for(self, width: float) -> int:
        """Give the height at which the panels fill this width, two beside each other where there are several."""
        if not self._panels:
            return 0
        across = min(2, len(self._panels))
        room = (width - GRID * (across - 1)) / across - 2
        scale = min(p.scale_into(room, 1e9) for p in self._panels.values())
        lines = -(-len(self._panels) // across)
        return int(lines * (max(p.height_mm for p in self._panels.values()) * scale + self._head() + GRID)) + 2

    # --- where things lie --------------------------------------------------------------------------

    def _head(self) -> float:
        return QFontMetricsF(self.look.small).height() + GRID / 2 if len(self._panels) > 1 else 0.0

    def _rooms(self) -> list[tuple[int, Panel, QRectF, float]]:
        """Give each panel with the box it is drawn into and the length of a millimetre: as large as all can be."""
        if not self._panels:
            return []
        head, room = self._head(), QRectF(self.rect()).adjusted(1, 1, -1, -1)
        count = len(self._panels)
        wide, high = (
            max(side) for side in zip(*((p.width_mm, p.height_mm) for p in self._panels.values()), strict=True)
        )

        def scale_of(across: int) -> float:
            down = -(-count // across)
            each = (room.width() - 2 * GRID * (across - 1)) / across, (room.height() - GRID * (down - 1)) / down - head
            return float(max(0.0, min(each[0] / wide, each[1] / high)))

        across = max(range(1, count + 1), key=scale_of)
        scale, down = scale_of(across), -(-count // across)
        step = wide * scale + 2 * GRID, high * scale + head + GRID
        left = room.left() + max(0.0, (room.width() - across * step[0] + 2 * GRID) / 2)
        top = room.top() + max(0.0, min(3.0 * GRID, (room.height() - down * step[1] + GRID) / 2))
        found = []
        for i, (number, panel) in enumerate(self._panels.items()):
            at = QPointF(left + (i % across) * step[0], top + (i // across) * step[1] + head)
            found.append(
                (number, panel, QRectF(at.x(), at.y(), panel.width_mm * scale, panel.height_mm * scale), scale)
            )
        return found

    def strip_rect(self, key: str) -> QRectF:
        """Give where the strip of this key is drawn; empty for none."""
        for number, panel, box, scale in self._rooms():
            for s in self.strips:
                if s.key == key and s.panel == number:
                    return _placed(panel.strips[s.place], box, scale)
        return QRectF()

    def _at(self, spot: QPointF) -> PanelStrip | None:
        for number, panel, box, scale in self._rooms():
            if scale and box.contains(spot):
                place = panel.place_at((spot.x() - box.left()) / scale, (spot.y() - box.top()) / scale)
                return next((s for s in self.strips if (s.panel, s.place) == (number, place)), None)
        return None

    # --- drawing -----------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t = QPainter(self), self.look.theme
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for number, panel, box, scale in self._rooms():
            if len(self._panels) > 1:
                painter.setFont(self.look.small)
                painter.setPen(t.color("quiet"))
                line = painter.fontMetrics().height()
                spot = QRectF(box.left(), box.top() - line - 2, box.width(), line)
                painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, say("Panel {n}", n=number))
            self._draw_ground(painter, box)
            for s in self.strips:
                if s.panel == number:
                    strip = _placed(panel.strips[s.place], box, scale)
                    self._draw_strip(painter, s, strip, _placed(panel.labels[s.place], box, scale))
        if self.hasFocus():
            painter.setPen(QPen(t.color("accent"), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(QRectF(self.rect()).adjusted(1, 1, -1, -1))
        painter.end()

    def _draw_ground(self, painter: QPainter, box: QRectF) -> None:
        t = self.look.theme
        painter.fillRect(box, t.color("raised"))
        if self.clear:
            painter.setPen(QPen(t.color("line"), 5))
            for x in (0.1, 0.16, 0.62):
                left, lean = box.left() + box.width() * x, min(40.0, box.height() / 3)
                painter.drawLine(int(left), int(box.bottom()) - 5, int(left + lean), int(box.top()) + 5)
        else:
            hatch(painter, box, t.color("line"), gap=9, width=1.2, lean=-1)
        painter.setPen(QPen(t.color("ink"), 1.5))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(box)

    def _draw_strip(self, painter: QPainter, s: PanelStrip, strip: QRectF, label: QRectF) -> None:
        t = self.look.theme
        lettered = self._draw_label(painter, s, label)
        painter.fillRect(strip, t.color("paper"))
        paint = QColor(s.colour) if s.colour else QColor(t.color("bare"))
        high = 1.5 * GRID if lettered or not s.label else QFontMetricsF(self.look.small).height() + 2
        band = QRectF(strip.left(), strip.top(), strip.width(), min(strip.height() / 3, high))
        painter.fillRect(band, paint)
        if not lettered and s.label:
            painter.setFont(self.look.small)
            painter.setPen(readable_on(paint))
            painter.drawText(band, Qt.AlignmentFlag.AlignCenter, s.label)
        if s.off:
            hatch(painter, strip, t.color("quiet"), gap=7, width=1)
        edge = t.color("accent") if s.picked or s.marked else t.color("ink")
        painter.setPen(QPen(edge, 3 if s.picked else 2 if s.marked else 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(strip.adjusted(0.5, 0.5, -0.5, -0.5))
        if s.marked and not s.picked:  # a foot that is filled: colour alone says nothing
            painter.fillRect(QRectF(strip.left(), strip.bottom() - GRID / 2, strip.width(), GRID / 2), edge)
        self._draw_upright(painter, s, strip.adjusted(3, band.height() + 3, -3, -GRID))

    def _draw_label(self, painter: QPainter, s: PanelStrip, box: QRectF) -> bool:
        """Write the number, and below it the letter of the system where there is room; gives whether there was."""
        t = self.look.theme
        strong, small = QFontMetricsF(self.look.strong).height(), QFontMetricsF(self.look.small).height()
        font, height = (self.look.strong, strong) if box.height() >= 2 * strong else (self.look.small, small)
        both = box.height() >= 2 * height and bool(s.label)
        number = QRectF(box.left() - 4, box.top(), box.width() + 8, height if both else box.height())
        back = QRectF(0, 0, QFontMetricsF(font).horizontalAdvance(str(s.number)) + 8, height)
        back.moveCenter(number.center())
        painter.fillRect(back, t.color("raised"))
        painter.setFont(font)
        painter.setPen(t.color("ink"))
        painter.drawText(number, Qt.AlignmentFlag.AlignCenter, str(s.number))
        if both:
            tag = QRectF(0, 0, height - 1, height - 1)
            tag.moveCenter(QPointF(box.center().x(), (number.bottom() + box.bottom()) / 2))
            self._draw_tag(painter, s, tag)
        return both

    def _draw_tag(self, painter: QPainter, s: PanelStrip, tag: QRectF) -> None:
        """Draw the letter in a small shape: a disc, or a square for the control."""
        paint = QColor(s.colour) if s.colour else QColor(self.look.theme.color("paper"))
        painter.setBrush(paint)
        painter.setPen(QPen(self.look.theme.color("ink"), 1))
        if s.control:
            painter.drawRect(tag)
        else:
            painter.drawEllipse(tag)
        painter.setFont(self.look.small)
        painter.setPen(readable_on(paint))
        painter.drawText(tag, Qt.AlignmentFlag.AlignCenter, s.label)

    def _draw_upright(self, painter: QPainter, s: PanelStrip, room: QRectF) -> None:
        """Write the state and what is on the strip, turned by a quarter where it is narrow."""
        t, font = self.look.theme, self.look.small
        line = QFontMetricsF(font).height()
        if room.height() < line or room.width() < 8:
            return
        control = say("control") if s.control else ""
        lines = [(x, tone) for x, tone in ((s.state, "ink"), (control, "ink"), (s.words, "quiet")) if x]
        level = room.width() >= 11 * GRID
        wide, high = (room.width(), room.height()) if level else (room.height(), room.width())
        painter.save()
        painter.setClipRect(room)
        if level:
            painter.translate(room.topLeft())
        else:
            painter.translate(room.left(), room.bottom())
            painter.rotate(-90)
        painter.setFont(font)
        fit = max(1, int(high // line))
        if len(lines) > fit:  # what does not fit on lines of its own stands one after the other
            joined = " · ".join(x for x, _ in lines[fit - 1 :])
            lines = [*lines[: fit - 1], (joined, lines[fit - 1][1])]
        metrics = QFontMetricsF(font)
        if s.state and (len(lines) == 1 or metrics.horizontalAdvance(s.state) > wide):
            # how it is goes before what it is called, which stands beside the panel too: never cut short for it
            if metrics.horizontalAdvance(lines[0][0]) > wide:
                marked = " · ".join(x for x in (s.state, control) if x)
                shown = marked if metrics.horizontalAdvance(marked) <= wide else s.state
                lines = [(x, "ink") for x in _folded(shown, metrics, wide, fit)]
            widest = max(metrics.horizontalAdvance(x) for x, _ in lines)
            if widest > wide:
                font = QFont(font)
                font.setStretch(max(NARROWEST, int(100 * wide / widest) - 1))
                painter.setFont(font)
        top = max(0.0, (high - line * len(lines)) / 2) if not level else 0.0
        for text, tone in lines:
            painter.setPen(t.color("quiet" if s.off else tone))
            spot = QRectF(0, top, wide, line)
            painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, elided(text, font, wide))
            top += line
        painter.restore()

    # --- by hand and by key ------------------------------------------------------------------------

    def _told(self, s: PanelStrip) -> str:
        name = f"{s.label} {s.words}".strip()
        parts = (say("Strip {n}", n=s.number), name, say("control") if s.control else "", s.state)
        return ", ".join(x for x in parts if x)

    def event(self, event: QEvent) -> bool:
        if isinstance(event, QHelpEvent) and event.type() is QEvent.Type.ToolTip:
            there = self._at(QPointF(event.pos()))
            told = self._told(there) if there is not None else ""
            QToolTip.showText(event.globalPos(), plain_tip(told), self)
            return True
        return super().event(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        over = self._at(event.position()) is not None
        self.setCursor(Qt.CursorShape.PointingHandCursor if over else Qt.CursorShape.ArrowCursor)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        there = self._at(event.position())
        if there is not None and event.button() is Qt.MouseButton.LeftButton:
            self.picked.emit(there.key)
        else:
            super().mousePressEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(event.key()), 0)
        order = sorted(self.strips, key=lambda s: (s.panel, s.place))
        if not step or not order:
            super().keyPressEvent(event)
            return
        here = next((i for i, s in enumerate(order) if s.picked), -1 if step > 0 else len(order))
        self.picked.emit(order[max(0, min(len(order) - 1, here + step))].key)


def _folded(text: str, metrics: QFontMetricsF, wide: float, most: int) -> list[str]:
    """Break words over so many lines at most, where one is too narrow for them."""
    words = text.split()
    if most < 2 or len(words) < 2 or metrics.horizontalAdvance(text) <= wide:
        return [text]
    at = min(range(1, len(words)), key=lambda i: max(len(" ".join(words[:i])), len(" ".join(words[i:]))))
    return [" ".join(words[:at]), " ".join(words[at:])]


def _placed(mm: Box, box: QRectF, scale: float) -> QRectF:
    return QRectF(box.left() + mm.x * scale, box.top() + mm.y * scale, mm.width * scale, mm.height * scale)
