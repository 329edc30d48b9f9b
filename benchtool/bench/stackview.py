"""A stack that is being built, in cross-section: seen from where the viewer stands, one band in hand."""

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from benchtool.bench.controls import Words, scrolled
from benchtool.bench.look import GRID, Look
from benchtool.bench.stackdraw import BandFacts, GroundBand, LayerBand
from benchtool.bench.stacksaid import severity_word
from benchtool.job.events import Face
from benchtool.rules.finding import RANK, Severity, Tables
from benchtool.session import stackagainst
from benchtool.session.materials import substrate_name
from benchtool.session.stackagainst import Judged
from benchtool.session.stackbuilding import Build, Row
from benchtool.trade.saying import say

LEAST_BANDS = 4
"""So many layers are seen at once at least."""


class StackView(QWidget):
    """The bands, what they lie on, and from where they are seen. `picked` gives the key of the layer clicked."""

    picked = Signal(str)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.bands: list[LayerBand] = []
        self.behind = False
        self.viewer = Words(look, "small", "quiet", wrap=False)
        self.gun_side = Words(look, "small", "quiet", wrap=False)
        self.nothing = Words(look, "body", "quiet")
        self.nothing.say(say("Nothing is picked yet."))
        self.nothing.setMinimumHeight(look.target)
        self.nothing.setContentsMargins(GRID, 0, 0, 0)
        self.ground = GroundBand(look)
        self._drawing = QWidget()
        self._slices = QVBoxLayout(self._drawing)
        self._slices.setContentsMargins(0, 0, GRID, 0)
        self._slices.setSpacing(0)
        self._area = scrolled(self._drawing)
        self._area.installEventFilter(self)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._area)

    def show_stack(self, build: Build, judged: Judged, key: str, tables: Tables) -> None:
        """Draw the stack, the layer of that key in hand."""
        focused = any(b.hasFocus() for b in self.bands)
        while (item := self._slices.takeAt(0)) is not None:
            old = item.widget()
            if isinstance(old, LayerBand):
                old.hide()
                old.deleteLater()
        self.behind = build.piece.face is Face.BEHIND_CLEAR
        worst: dict[str | None, Severity] = {}
        for x in judged.said:
            worst[x.layer] = min(x.severity, worst.get(x.layer, x.severity), key=RANK.__getitem__)
        self.bands = []
        for place, row in enumerate(build.rows):
            band = LayerBand(self.look, row.key, f"build-layer-{place + 1}")
            band.show_facts(self._facts(row, worst.get(row.key), picked=row.key == key))
            band.clicked.connect(lambda _=False, k=row.key: self.picked.emit(k))
            self.bands.append(band)
        self.viewer.say(say("  ▾  seen from here") if self.behind else say("  ▾  seen and sprayed from here"))
        self.gun_side.say(say("  ▴  sprayed from here"))
        name = substrate_name(tables.substrate_of(build.piece))
        self.ground.show_piece(name, f"{build.piece.flex.value}, {build.piece.face.value}", clear=self.behind)
        down = [self.ground, *self.bands] if self.behind else [*reversed(self.bands), self.ground]
        for part in (self.viewer, self.nothing, *down, self.gun_side):
            self._slices.addWidget(part)
            part.show()  # at once, so that it can be rolled into view
        self.nothing.setVisible(not build.rows)
        self.gun_side.setVisible(self.behind)
        self._slices.addStretch(1)
        if focused:
            self.take_focus(key)

    @property
    def needed(self) -> int:
        """The height that the whole drawing takes."""
        return self._slices.totalSizeHint().height()

    @property
    def least(self) -> int:
        """The height that the drawing keeps whatever is said under it: four layers."""
        return min(self.needed, LEAST_BANDS * self.look.target)

    def roll_to(self, key: str) -> None:
        """Roll until this layer is seen."""
        here = next((b for b in self.bands if b.key == key), None)
        if here is not None:
            self._slices.activate()
            self._area.ensureWidgetVisible(here, 0, 2 * GRID)

    def _facts(self, row: Row, severity: Severity | None, *, picked: bool) -> BandFacts:
        film = stackagainst.film_of([row]).layers[0]
        spoken = severity is not None and severity is not Severity.NOTE
        return BandFacts(
            name=row.plan.name or row.card.name,
            words=f"{row.card.duty.value.capitalize()}, {stackagainst.row_words(row)}",
            coats=row.plan.coats,
            on=len(row.was.coats) if row.was is not None else 0,
            kept=row.kept,
            color=row.plan.colour,
            film_um=film[1] if film is not None else None,
            picked=picked,
            mark=severity_word(severity) if spoken and severity is not None else "",
            grave=severity is Severity.STOP,
            grows_down=self.behind,
        )

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Let no key roll the drawing: the page has them all, and rolls to the layer in hand."""
        if event.type() is QEvent.Type.KeyPress:
            event.ignore()
            return True
        return False

    def beside(self, key: str, *, up: bool) -> str:
        """Give the key of the layer drawn above or below the one of this key; itself at the end."""
        keys = [b.key for b in self.bands]
        if key not in keys:
            return keys[-1] if keys else ""
        there = keys.index(key) + (1 if up is not self.behind else -1)
        return keys[there] if 0 <= there < len(keys) else key

    def take_focus(self, key: str) -> None:
        """Put the focus on this layer."""
        here = next((b for b in self.bands if b.key == key), None)
        if here is not None:
            here.setFocus(Qt.FocusReason.OtherFocusReason)
