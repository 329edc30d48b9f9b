"""The part of a product card that may stay empty: what amounts, film, emissions and the flow cup ask of it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QVBoxLayout, QWidget

from benchtool.bench.controls import Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import Ask, FieldRow, Typed
from benchtool.bench.plansheet import Fold, Section
from benchtool.job.cards import Gun
from benchtool.session.cardmore import NO_VOC, VocText, cup_told, shelf_told, voc_told
from benchtool.session.cardreading import ActivatorText, CardText

HEADING = "For amounts, film and emissions"
_HINT = "All of it is optional. Densities are for the scale, solids for how much to mix, VOC for the emissions."
_BESIDE = 128 * GRID
"""From this width on, shelf life and spray viscosity stand side by side."""


class _Column(NamedTuple):
    """One thing asked of each part: its key, its label, its name for who can't see it, how it is understood."""

    key: str
    label: str
    spoken: str
    told: Callable[[str], str] | None = None


_DENSITY = _Column("density", "Density, g/mL", "density in g/mL")
_SOLIDS = _Column("solids", "Solids, vol %", "solids in percent by volume")
_VOC = (
    _Column("voc", "VOC, g/L", "VOC in g/L", voc_told),
    _Column("water", "Water, g/L", "water in g/L", voc_told),
    _Column("exempt", "Exempt, g/L", "exempt solvent in g/L", voc_told),
    _Column("exempt_density", "its density, g/mL", "density of the exempt solvent in g/mL"),
)
_UNOPENED = _Column("keeps", "Keeps unopened", "keeps unopened", shelf_told)
_OPENED = _Column("keeps_opened", "Keeps opened", "keeps opened", shelf_told)
_OFF = _Column("tolerance", "May be off, %", "may be off its share in percent")
_MAKER = _Column("maker", "Maker, if another", "maker, if not that of the product")


class PartRow(QWidget):
    """What is asked of one part of the mix, with that part's name over it. None leaves a column empty."""

    def __init__(
        self, look: Look, part: str, prefix: str, columns: Sequence[_Column | None], hints: Mapping[str, str]
    ) -> None:
        super().__init__()
        self.part = part
        self.heading = Words(look, "small", "ink", wrap=False)
        self.fields: dict[str, Typed] = {}
        self._spoken = {c.key: c.spoken for c in columns if c is not None}
        for column in columns:
            if column is not None:
                name = f"card-{prefix}{column.key}".replace("_", "-")
                hint = hints.get(column.key, "")
                self.fields[column.key] = Typed(look, column.label, name, hint, column.told)
        self.row = FieldRow(look, tuple(self.fields.values()))
        self.asks: dict[str, Ask] = {f"{prefix}{key}": field for key, field in self.fields.items()}
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(GRID // 2)
        box.addWidget(self.heading)
        box.addWidget(self.row)
        self._leave_empty(columns)
        self.entitle(part)

    def _leave_empty(self, columns: Sequence[_Column | None]) -> None:
        box = self.row.layout()
        line = box.itemAt(0) if box is not None else None
        cells = line.layout() if line is not None else None
        if not isinstance(cells, QBoxLayout):
            return
        for at in (i for i, column in enumerate(columns) if column is None):
            cells.insertWidget(at, QWidget(), 1)

    def entitle(self, part: str) -> None:
        """Name the part, as it is typed elsewhere on the page."""
        said = " ".join(part.split()) or self.part
        self.heading.say(said)
        for key, field in self.fields.items():
            field.edit.setAccessibleName(f"{said}: {self._spoken[key]}")

    def text(self, key: str) -> str:
        """Give what is typed in one of the fields."""
        return self.fields[key].text()

    def voc(self) -> VocText:
        """Give what is typed of what evaporates."""
        return VocText(**{c.key: self.text(c.key) for c in _VOC})

    def fill(self, texts: Mapping[str, str], voc: VocText = NO_VOC) -> None:
        """Show this in the fields."""
        for key, field in self.fields.items():
            field.fill(texts[key] if key in texts else getattr(voc, key))


class ActivatorRows:
    """What is asked of one activator, here and there in the section."""

    def __init__(self, look: Look, number: int) -> None:
        part, prefix = f"Activator {number + 1}", f"activator-{number}-"
        self.contents = PartRow(look, part, prefix, (_DENSITY, _SOLIDS, *_VOC), {})
        self.keeping = PartRow(look, part, prefix, (_UNOPENED, _OPENED, _OFF, _MAKER), {"tolerance": "10"})

    def entitle(self, part: str) -> None:
        """Name the activator as it is typed."""
        self.contents.entitle(part)
        self.keeping.entitle(part)

    def show(self, *, on: bool) -> None:
        """Show or hide the rows."""
        self.contents.setVisible(on)
        self.keeping.setVisible(on)

    def fill(self, text: ActivatorText) -> None:
        """Show this in the fields."""
        self.contents.fill({"density": text.density, "solids": text.solids}, text.voc)
        keeping = {"keeps": text.keeps, "keeps_opened": text.keeps_opened, "tolerance": text.tolerance}
        self.keeping.fill({**keeping, "maker": text.maker})

    def text(self, text: ActivatorText) -> ActivatorText:
        """Give `text` with what is typed here."""
        return replace(
            text,
            density=self.contents.text("density"),
            solids=self.contents.text("solids"),
            voc=self.contents.voc(),
            keeps=self.keeping.text("keeps"),
            keeps_opened=self.keeping.text("keeps_opened"),
            tolerance=self.keeping.text("tolerance"),
            maker=self.keeping.text("maker"),
        )


class ReducerRows:
    """What is asked of the reducer, here and there in the section."""

    def __init__(self, look: Look) -> None:
        self.contents = PartRow(look, "Reducer", "reducer_", (_DENSITY, None, *_VOC), {})
        self.keeping = PartRow(look, "Reducer", "reducer_", (_UNOPENED, _OPENED, None, None), {})

    def entitle(self, part: str) -> None:
        """Name the reducer as it is typed."""
        self.contents.entitle(part)
        self.keeping.entitle(part)

    def fill(self, text: CardText) -> None:
        """Show this in the fields."""
        self.contents.fill({"density": text.reducer_density}, text.reducer_voc)
        self.keeping.fill({"keeps": text.reducer_keeps, "keeps_opened": text.reducer_keeps_opened})

    def text(self, text: CardText) -> CardText:
        """Give `text` with what is typed here."""
        return replace(
            text,
            reducer_density=self.contents.text("density"),
            reducer_voc=self.contents.voc(),
            reducer_keeps=self.keeping.text("keeps"),
            reducer_keeps_opened=self.keeping.text("keeps_opened"),
        )


class Block(Section):
    """A few rows under a lesser heading; a section, so that the page scrolls to one row of it."""

    def __init__(self, look: Look, title: str, hint: str, rows: Sequence[QWidget]) -> None:
        super().__init__(look, "")
        heading, how = Words(look, "body", "ink"), Words(look, "small", "quiet")
        heading.say(title)
        how.say(hint)
        self.add(heading, how, *rows)
        self.column.setStretch(self.column.count() - 1, 1)


class More(Fold):
    """The section that is folded away until it is asked for, filled, or at fault."""

    def __init__(self, look: Look, activators: int) -> None:
        super().__init__(look, HEADING, _HINT, "card-more")
        self.look = look
        self.base = PartRow(look, "Base", "", (_DENSITY, _SOLIDS, *_VOC), {"density": "1.05", "solids": "35"})
        self.activators = [ActivatorRows(look, i) for i in range(activators)]
        self.reducer = ReducerRows(look)
        hints = {"keeps": "24 months", "keeps_opened": "6 months", "tolerance": "5"}
        self.keeping = PartRow(look, "Base", "", (_UNOPENED, _OPENED, _OFF, None), hints)
        self.flows: dict[Gun, tuple[Typed, Typed]] = {}
        flow_rows: list[FieldRow] = []
        for gun in Gun:
            slug, name = gun.value.replace(" ", "-"), gun.value.capitalize()
            seconds = Typed(look, f"{name}, seconds", f"card-{slug}-flow-seconds")
            cup = Typed(look, "out of the cup", f"card-{slug}-flow-cup", "DIN 4" if not flow_rows else "", cup_told)
            seconds.edit.setAccessibleName(f"{name}: spray viscosity in seconds")
            cup.edit.setAccessibleName(f"{name}: spray viscosity, out of which cup")
            self.flows[gun] = (seconds, cup)
            flow_rows.append(FieldRow(look, (seconds, cup), (1, 2)))
        self._lay_out(look, flow_rows)
        self.asks = self._asks()

    def _lay_out(self, look: Look, flow_rows: Sequence[QWidget]) -> None:
        what = Block(
            look,
            "What is in a litre of each part",
            "For the part as supplied. VOC is the actual figure, water and exempt solvent included; lb/gal will do.",
            (self.base, *(a.contents for a in self.activators), self.reducer.contents),
        )
        keeping = Block(
            look,
            "Shelf life, and how far a pour may be off",
            "Write 24 months or 90 d. A pour may be off by so many % of its share; the reducer as the base.",
            (self.keeping, *(a.keeping for a in self.activators), self.reducer.keeping),
        )
        flow = Block(
            look,
            "Spray viscosity",
            "How long the mix takes to run out of the flow cup once it is thin enough for the gun.",
            flow_rows,
        )
        self._pair = QBoxLayout(QBoxLayout.Direction.TopToBottom)
        self._pair.setSpacing(4 * GRID)
        self._pair.addWidget(keeping, 1)
        self._pair.addWidget(flow, 1)
        box = QVBoxLayout(self.body)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(3 * GRID)
        box.addWidget(what)
        box.addLayout(self._pair)

    def _rows(self) -> Sequence[PartRow]:
        parts: tuple[ActivatorRows | ReducerRows, ...] = (*self.activators, self.reducer)
        return (self.base, *(p.contents for p in parts), self.keeping, *(p.keeping for p in parts))

    def _asks(self) -> dict[str, Ask]:
        asks: dict[str, Ask] = {"more-fields": self.turn_row}
        for row in self._rows():
            asks.update(row.asks)
        for gun, (seconds, cup) in self.flows.items():
            asks.update({f"flow-{gun.value}-seconds": seconds, f"flow-{gun.value}-cup": cup})
        return asks

    @property
    def filled(self) -> bool:
        """Whether anything is typed here."""
        return any(field.text().strip() for field in self._typed())

    def _typed(self) -> Sequence[Typed]:
        return tuple(ask for ask in self.asks.values() if isinstance(ask, Typed))

    # --- what is typed -----------------------------------------------------------------------------

    def show_activators(self, count: int) -> None:
        """Ask of so many activators."""
        for i, activator in enumerate(self.activators):
            activator.show(on=i < count)

    def fill(self, text: CardText) -> None:
        """Show this; folded away where there is nothing of it."""
        self.base.fill({"density": text.density, "solids": text.solids}, text.voc)
        self.reducer.fill(text)
        keeping = {"keeps": text.keeps, "keeps_opened": text.keeps_opened, "tolerance": text.tolerance}
        self.keeping.fill(keeping)
        for i, activator in enumerate(self.activators):
            activator.fill(text.activators[i] if i < len(text.activators) else ActivatorText())
        for gun, fields in self.flows.items():
            for field, typed in zip(fields, text.flows.get(gun, ("", "")), strict=True):
                field.fill(typed)
        self.unfold(on=self.filled)

    def text(self, text: CardText) -> CardText:
        """Give `text` with what is typed here."""
        rows = enumerate(text.activators)
        known = len(self.activators)
        return replace(
            self.reducer.text(text),
            density=self.base.text("density"),
            solids=self.base.text("solids"),
            voc=self.base.voc(),
            keeps=self.keeping.text("keeps"),
            keeps_opened=self.keeping.text("keeps_opened"),
            tolerance=self.keeping.text("tolerance"),
            activators=tuple(self.activators[i].text(row) if i < known else row for i, row in rows),
            flows={gun: (seconds.text(), cup.text()) for gun, (seconds, cup) in self.flows.items()},
        )

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        beside = self.width() >= _BESIDE * self.look.scale
        way = QBoxLayout.Direction.LeftToRight if beside else QBoxLayout.Direction.TopToBottom
        if way is not self._pair.direction():
            self._pair.setDirection(way)
