"""The stack: the piece in hand in cross-section, each layer with its state and its countdown."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Pane, Words, hatch, scrolled
from benchtool.bench.look import GRID, TARGET, Look, elided
from benchtool.job.events import Face
from benchtool.job.nextstep import Act, NextStep
from benchtool.job.state import LayerState, PieceState, State
from benchtool.job.windows import Window
from benchtool.rules.engine import every
from benchtool.rules.preparing import step_of
from benchtool.session.materials import short_name
from benchtool.session.session import Session
from benchtool.trade.numbers import clock_words
from benchtool.trade.saying import say
from benchtool.trade.windows import Phase, WindowKind

SLAB = 15 * GRID
"""Width of the drawn cross-section; the words stand to the right of it."""


STEPS = 200
"""In how many steps a band dries: finer than its pixels it would only be drawn more often."""


@dataclass(frozen=True, slots=True)
class BandFacts:
    """What one band shows at one moment. `drying` is how far the newest coat has dried, None if it is dry."""

    name: str
    words: str
    numerals: str = ""
    color: str | None = None
    coats: int = 1
    done: int = 0
    spraying: bool = False
    drying: float | None = None
    film_um: float | None = None
    hands: bool = False
    trouble: bool = False
    picked: bool = False

    @property
    def slab(self) -> tuple[object, ...]:
        """What else is drawn than the words and the countdown."""
        wet = (self.done, self.spraying, self.drying)
        return (self.name, self.color, self.coats, wet, self.film_um, self.hands, self.trouble, self.picked)


def _nothing_planned() -> str:
    return say("No layers are planned yet.")


def main_window(windows: tuple[Window, ...], layer: str) -> Window | None:
    """Pick the window of a layer that its countdown shows."""
    of_layer = [w for w in windows if w.layer == layer]
    for kinds in ((WindowKind.FLASH, WindowKind.RECOAT), (WindowKind.STAND,), (WindowKind.TAPE, WindowKind.CURE)):
        for window in of_layer:
            if window.kind in kinds:
                return window
    return None


def band_facts(
    state: State,
    piece: PieceState,
    layer: LayerState,
    windows: tuple[Window, ...],
    now: datetime,
    step: Callable[[], NextStep],
) -> BandFacts:
    """Work out what the band of `layer` shows at `now`; `step` tells what the piece asks for."""
    card = state.card_of(layer)
    window = main_window(windows, layer.id)
    words, numerals, drying = _resting_words(layer), "", None
    hands = False
    if layer.open_coat is not None:
        numerals = clock_words((now - layer.open_coat.started_at).total_seconds(), up=False)
        words = f"Spraying coat {layer.open_coat.number} of {layer.plan.coats}"
        hands = True
    elif window is not None:
        phase, left = window.phase(now), window.span.remaining_s(now)
        words = window.words(now)
        if phase in (Phase.WAITING, Phase.CLOSING) and left is not None:
            words = window.words_beside(now) if phase is Phase.WAITING else words
            numerals = clock_words(left, up=phase is Phase.WAITING)
        if window.kind in (WindowKind.FLASH, WindowKind.RECOAT, WindowKind.TAPE, WindowKind.CURE):
            drying = int(window.span.progress(now) * STEPS) / STEPS if phase is Phase.WAITING else None
        hands = phase in (Phase.OPEN, Phase.CLOSING) and window.needed
    if layer is piece.current and not layer.started:
        asked = step()
        words, hands = (asked.short or asked.words) if asked.act is Act.MIX else asked.words, asked.hands
    return BandFacts(
        name=state.layer_name(layer),
        words=words,
        numerals=numerals,
        color=layer.plan.colour,
        coats=layer.plan.coats,
        done=layer.coats_done,
        spraying=layer.open_coat is not None,
        drying=drying,
        film_um=card.film_um * layer.plan.coats if card is not None and card.film_um is not None else None,
        hands=hands,
    )


def _resting_words(layer: LayerState) -> str:
    n = layer.plan.coats
    if layer.coats_done == 0:
        return f"{n} coat{'' if n == 1 else 's'} planned"
    if layer.coats_done >= n:
        return f"{layer.coats_done} coat{'' if layer.coats_done == 1 else 's'} on"
    return f"{layer.coats_done} of {n} coats on"


class Band(QAbstractButton):
    """One layer: its slice of the cross-section, its name, its state, its countdown."""

    def __init__(self, look: Look, layer_id: str) -> None:
        super().__init__()
        self.look = look
        self.layer_id = layer_id
        self.facts = BandFacts("", "")
        self.setObjectName(f"layer-{layer_id}")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumHeight(TARGET + GRID)

    def show_facts(self, facts: BandFacts) -> None:
        """Show these facts; repaint only if something changed."""
        if facts == self.facts:
            return
        before, self.facts = self.facts, facts
        if facts.words != before.words or facts.name != before.name:
            self.setAccessibleName(f"{facts.name}: {facts.words}")
            self.setToolTip(f"{facts.name}\n{facts.words}")
        if facts.slab == before.slab:  # a countdown went on, and it is the slab that is dear to draw
            left = int(GRID + slab_width(self)) + 1
            self.update(left, 0, self.width() - left, self.height())
            return
        self.setMaximumHeight(int((14 * GRID + min(6 * GRID, (facts.film_um or 10.0))) * max(1.0, self.look.scale)))
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(40 * GRID, 9 * GRID)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        t, f = self.look.theme, self.facts
        whole = QRectF(self.rect())
        if f.picked:
            painter.fillRect(whole, t.color("raised"))
            painter.fillRect(QRectF(0, 0, GRID / 2, whole.height()), t.color("accent"))
        slab = QRectF(GRID, 0, slab_width(self), whole.height())
        if event.rect().left() <= slab.right():
            self._draw_coats(painter, slab)
        self._draw_words(painter, QRectF(slab.right() + 1.5 * GRID, 0, 0, whole.height()), whole.right() - GRID)
        if f.trouble:
            hatch(
                painter, QRectF(whole.right() - GRID, 2, GRID, whole.height() - 4), t.color("trouble"), gap=6, width=2
            )
        if self.hasFocus():
            painter.setPen(QPen(t.color("accent"), 2))
            painter.drawRect(whole.adjusted(2, 2, -2, -2))
        painter.end()

    def _draw_coats(self, painter: QPainter, slab: QRectF) -> None:
        t, f = self.look.theme, self.facts
        paint = QColor(f.color) if f.color else t.color("bare")
        coats = max(f.coats, f.done + f.spraying, 1)
        each = slab.height() / coats
        for i in range(coats):
            from_below = i if self.property("grows_down") else coats - 1 - i
            box = QRectF(slab.left(), slab.top() + from_below * each, slab.width(), each)
            if i < f.done:
                newest = i == f.done - 1
                painter.fillRect(box, paint)
                if newest and f.drying is not None:
                    wet = QRectF(box.left() + box.width() * f.drying, box.top(), box.width() * (1 - f.drying), each)
                    painter.fillRect(wet, t.color("paper"))
                    hatch(painter, wet, paint if _apart(paint, t.color("paper")) else t.color("ink"), gap=6, width=2.5)
            elif i == f.done and f.spraying:
                hatch(painter, box, paint if _apart(paint, t.color("paper")) else t.color("ink"), gap=6, width=2.5)
            else:
                tint = QColor(paint)
                tint.setAlpha(70 if t.name == "light" else 120)
                painter.fillRect(box, tint)
                painter.setPen(QPen(t.color("quiet"), 1, Qt.PenStyle.DashLine))
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.drawRect(box.adjusted(0.5, 0.5, -0.5, -0.5))
        painter.setPen(QPen(t.color("ink"), 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        if f.done or f.spraying:
            painter.drawRect(slab.adjusted(0.5, 0.5, -0.5, -0.5))

    def _draw_words(self, painter: QPainter, at: QRectF, right: float) -> None:
        t, f, look = self.look.theme, self.facts, self.look
        middle = at.height() / 2
        numerals_width = 0.0
        if f.numerals:
            painter.setFont(look.title)
            painter.setPen(t.color("accent" if f.hands else "ink"))
            numerals_width = painter.fontMetrics().horizontalAdvance(f.numerals) + 1.5 * GRID
            spot = QRectF(right - numerals_width - GRID / 2, 0, numerals_width, at.height())
            painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight, f.numerals)
        room = right - at.left() - numerals_width - GRID
        name = f.name + (f"   {f.film_um:.0f} µm" if f.film_um is not None and room > 30 * GRID else "")
        painter.setFont(look.strong)
        painter.setPen(t.color("ink"))
        line = painter.fontMetrics().height()
        painter.drawText(
            QRectF(at.left(), middle - line - 1, room, line), Qt.AlignmentFlag.AlignVCenter,
            elided(name, look.strong, room),
        )  # fmt: skip
        painter.setFont(look.small)
        painter.setPen(t.color("accent" if f.hands else "quiet"))
        painter.drawText(
            QRectF(at.left(), middle + 1, room, line), Qt.AlignmentFlag.AlignVCenter,
            elided(f.words, look.small, room),
        )  # fmt: skip


def slab_width(band: QWidget) -> float:
    """Give the slab its share of a band, so that a narrow window leaves room for words."""
    return min(SLAB + max(0, band.width() - 400) * 0.25, band.width() * 0.27)


def _apart(a: QColor, b: QColor) -> bool:
    return abs(a.lightnessF() - b.lightnessF()) > 0.2


class Ground(QWidget):
    """What the paint lies on: the substrate, hatched; or the clear shell, with the viewer above it."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.words, self.detail, self.clear = "", "", False
        self.setObjectName("ground")
        self.setMinimumHeight(7 * GRID)
        self.setMaximumHeight(11 * GRID)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        look.changed.connect(self.update)

    def show_piece(self, words: str, detail: str, *, clear: bool) -> None:
        """Name the substrate."""
        if (words, detail, clear) != (self.words, self.detail, self.clear):
            self.words, self.detail, self.clear = words, detail, clear
            self.setAccessibleName(f"{words}, {detail}")
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        t = self.look.theme
        box = QRectF(GRID, 0.5, slab_width(self), self.height() - 1)
        if self.clear:
            painter.fillRect(box, t.color("raised"))
            painter.setPen(QPen(t.color("line"), 6))
            for x in (0.2, 0.3, 0.7):
                left = box.left() + box.width() * x
                painter.drawLine(int(left), int(box.bottom()) - 5, int(left + 14), int(box.top()) + 5)
        else:
            painter.fillRect(box, t.color("raised"))
            hatch(painter, box, t.color("quiet"), gap=9, width=1.2, lean=-1)
        painter.setPen(QPen(t.color("ink"), 1.5))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(box)
        left, room = box.right() + 1.5 * GRID, self.width() - box.right() - 2.5 * GRID
        for font, name, text, top in (
            (self.look.strong, "ink", self.words, -1.0),
            (self.look.small, "quiet", self.detail, 0.1),
        ):
            painter.setFont(font)
            painter.setPen(t.color(name))
            line = painter.fontMetrics().height()
            spot = QRectF(left, self.height() / 2 + top * line, room, line)
            painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, elided(text, font, room))
        painter.end()


class StackPane(Pane):
    """The hero of the bench."""

    plan_asked = Signal(str)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, "Stack", "stack")
        self.session = session
        self._bands: dict[str, Band] = {}
        self._order: tuple[str, ...] = ()
        self._behind = False
        self.title = Words(look, "title", "ink")
        self.title.setMinimumWidth(10)
        self.viewer = Words(look, "small", "quiet", wrap=False)
        self.ground = Ground(look)
        self.gun_side = Words(look, "small", "quiet", wrap=False)
        self.empty = Words(look, "body", "quiet")
        self.slabs = QWidget()
        self.rows = QVBoxLayout(self.slabs)
        self.rows.setContentsMargins(0, 0, 0, 0)
        self.rows.setSpacing(0)
        area = scrolled(self.slabs)
        self.add_layer = BenchButton(look, "Add a layer", name="add-layer")
        self.edit_piece = BenchButton(look, "Edit piece", name="edit-piece")
        self.build = BenchButton(look, say("Build the stack"), "Z", name="build-stack", primary=True)
        self.find_out = BenchButton(look, say("What is it made of?"), "Q", name="find-out")
        self.build.clicked.connect(lambda: self.plan_asked.emit("build"))
        self.find_out.clicked.connect(lambda: self.plan_asked.emit("identify"))
        self.add_layer.clicked.connect(lambda: self.plan_asked.emit("layer"))
        self.edit_piece.clicked.connect(lambda: self.plan_asked.emit("piece"))
        buttons = QHBoxLayout()
        buttons.setSpacing(GRID)
        buttons.addWidget(self.add_layer, 1)
        buttons.addWidget(self.edit_piece, 1)
        self.column.addWidget(self.title)
        self.column.addWidget(area, 1)
        self.column.addWidget(self.build)
        self.column.addWidget(self.find_out)
        self.column.addLayout(buttons)

    def refresh(self, now: datetime) -> None:
        """Draw the piece in hand as it stands at `now`."""
        document, piece = self.session.current, self.session.piece
        has_piece = document is not None and piece is not None
        self.add_layer.setEnabled(has_piece and document is not None and not document.read_only)
        self.edit_piece.setEnabled(self.add_layer.isEnabled())
        bare = piece is not None and not piece.layers
        for button in (self.build, self.find_out):
            button.setVisible(bare)
            button.setEnabled(self.add_layer.isEnabled())
        if document is None or piece is None:
            self._rebuild((), behind=False)
            self.title.say("Nothing on the bench yet" if document is None else "No piece yet")
            self.empty.say(
                "Open a job, or begin a new one: press J or N."
                if document is None
                else "Add the first thing to paint: press A."
            )
            self.empty.show()
            self.ground.hide()
            return
        behind = piece.piece.face is Face.BEHIND_CLEAR
        layers = piece.layers if behind else list(reversed(piece.layers))
        self._rebuild(tuple(x.id for x in layers), behind=behind)
        self.title.say(piece.piece.name)
        self.empty.say("" if layers else _nothing_planned())
        self.empty.setVisible(not layers)
        substrate = self.session.tables.substrate_of(piece.piece)
        self.ground.show()
        known = {"unknown": "nobody knows what it is", "guessed": "guessed"}.get(piece.piece.known.value, "")
        detail = ", ".join(x for x in (piece.piece.flex.value, piece.piece.face.value, known) if x)
        name = short_name(substrate)
        name = name[:1].upper() + name[1:]
        self.ground.show_piece(name, detail, clear=behind)
        found = every(self.session.findings(now))
        troubled = {f.layer for f in found if f.blocks and f.clears_at is None and not f.routine}
        for layer in layers:
            facts = band_facts(
                document.state,
                piece,
                layer,
                document.windows,
                now,
                partial(step_of, document.state, piece, self.session.tables, now),
            )
            picked, trouble = layer.id == self.session.layer_id, layer.id in troubled
            band = self._bands[layer.id]
            band.show_facts(
                replace(facts, picked=picked, trouble=trouble),
            )

    def _rebuild(self, order: tuple[str, ...], *, behind: bool) -> None:
        if order == self._order and behind == self._behind and self.rows.count():
            return
        self._order, self._behind = order, behind
        while self.rows.count():
            item = self.rows.takeAt(0)
            widget = item.widget() if item is not None else None
            if isinstance(widget, Band):
                widget.hide()
                widget.deleteLater()
        self._bands = {}
        for layer_id in order:
            band = Band(self.look, layer_id)
            band.setProperty("grows_down", behind)
            band.clicked.connect(lambda _=False, k=layer_id: self._pick(k))
            self.look.changed.connect(band.update)
            self._bands[layer_id] = band
        self.viewer.say("  ▾  seen from here" if behind else "  ▾  seen and sprayed from here")
        self.gun_side.say("  ▴  sprayed from here")
        parts: list[QWidget] = [self.viewer]
        parts += [self.ground, *self._bands.values()] if behind else [*self._bands.values(), self.ground]
        parts += [self.gun_side] if behind else []
        for part in [*parts, self.empty]:
            self.rows.addWidget(part, 10 if isinstance(part, Band | Ground) else 0)
        self.viewer.setVisible(bool(order))
        self.gun_side.setVisible(behind and bool(order))
        self.rows.addStretch(1)

    def _pick(self, layer_id: str) -> None:
        if self.session.piece_id is not None:
            self.session.pick(self.session.piece_id, layer_id)
