"""What a product card is asked for: its sections, and which of their questions are shown for which kind of product."""

from collections.abc import Callable, Iterator, Sequence
from itertools import combinations, pairwise

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from benchtool.bench.cardair import AirSection
from benchtool.bench.cardcare import CareSection
from benchtool.bench.cardkind import KindLine, KindPick
from benchtool.bench.cardmore import More
from benchtool.bench.cardorigin import OriginBar
from benchtool.bench.cardsections import (
    ROWS,
    TWO,
    ActivatorSection,
    AdditiveSection,
    CoatsSection,
    HazardSection,
    ProductSection,
    ReducingSection,
    TimesSection,
    TraitSection,
)
from benchtool.bench.controls import Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import FieldRow, Options, Typed
from benchtool.bench.plansheet import BAR, Sheet
from benchtool.job.cards import Card, Duty, Hazard, Trait
from benchtool.session.cardair import AirText
from benchtool.session.cardorigins import OriginText
from benchtool.session.cardreading import ActivatorText, AdditiveText, CardText, has_odd_activators, write_card
from benchtool.session.cardtemplates import FOLDABLE, Template, asks, start_from, templates
from benchtool.trade.saying import say


class CardSheet(Sheet):
    """What a card is asked for, and which of it is shown: that hangs on the kind of product, which is asked first."""

    def __init__(self, look: Look) -> None:
        super().__init__(look, "plan-card", least=64 * GRID, most=80 * GRID)
        self.before: Card | None = None
        self.template: Template | None = None
        self._rows_shown = self._additives_shown = 1
        self._picking = self._all_asked = False
        self._origins: dict[str, OriginText] = {}
        self.back.say(say("Back"))
        self.again = self.add_button("Start over", "card-again")
        self.where = self.add_button(say("Where from"), "card-where-from", "F4")
        self.pick, self.line, self.origin_bar = KindPick(look), KindLine(look), OriginBar(look)
        self.again_words = Words(look, "body", "ink")
        self.again_words.hide()
        self.above.addWidget(self.again_words)
        self.above.addWidget(self.pick)
        self.above.addWidget(self.line)
        self.product, self.activators_part = ProductSection(look), ActivatorSection(look)
        self.additives_part, self.coats, self.reducing = (
            AdditiveSection(look),
            CoatsSection(look),
            ReducingSection(look),
        )
        self.waits, self.dangers, self.more_of = TimesSection(look), HazardSection(look), TraitSection(look)
        self.air, self.optional = AirSection(look, self.waits.fields), More(look, ROWS)
        self.care = CareSection(look)
        self._name_parts()
        self._lay_out_all()
        self._collect()
        self._connect()

    def _name_parts(self) -> None:
        """Short names of what is asked most."""
        self.name, self.duty, self.parts = self.product.name, self.product.duty, self.product.parts
        self.origin, self.numbers, self.times = self.product.origin, self.coats.numbers, self.waits.fields
        self.activators, self.more = self.activators_part.rows, self.activators_part.more
        self.reducer, self.reductions = self.reducing.reducer, self.reducing.fields
        self.reduction_rows, self.hazards = self.reducing.rows, self.dangers.hazards

    def _lay_out_all(self) -> None:
        sections = (
            self.product, self.activators_part, self.additives_part, self.reducing, self.coats, self.waits,
            self.dangers, self.more_of,
        )  # fmt: skip
        self.lay_out(
            sections,
            {1: (tuple(range(8)),), 2: ((0, 1, 2, 3), (4, 5, 6, 7)), 3: ((0, 1), (2, 3, 4), (5, 6, 7))},
        )
        for section in sections:
            section.column.setSpacing(GRID // 2)  # each question keeps the room of a line below it
        page = self.body.layout()
        if isinstance(page, QVBoxLayout):  # under all the columns, over their whole width
            page.setStretchFactor(self._columns, 0)
            page.addSpacing(GRID)
            page.addWidget(self.care)
            page.addSpacing(GRID)
            page.addWidget(self.air)
            page.addSpacing(GRID)
            page.addWidget(self.optional)
            page.addStretch(1)
        column = self.layout()
        if isinstance(column, QVBoxLayout):
            column.insertWidget(column.count() - 1, self.origin_bar)

    def _connect(self) -> None:
        self.pick.chosen.connect(self.take_kind)
        self.pick.moved.connect(self.show_focus)
        self.line.kind.clicked.connect(self.pick_kind)
        self.line.more.clicked.connect(self._ask_all)
        self.more.clicked.connect(self._another)
        self.additives_part.more.clicked.connect(self._another_additive)
        self.air.grown.connect(self._collect)
        self.air.opened.connect(self.show_focus, Qt.ConnectionType.QueuedConnection)  # once the row has its place
        self.parts.chosen.connect(lambda _: self._show_activators())
        for row, asked in zip(self.activators, self.optional.activators, strict=True):
            row.name.edit.textChanged.connect(asked.entitle)
        self.reducer.edit.textChanged.connect(self.optional.reducer.entitle)

    def _collect(self) -> None:
        """Take up what there is to ask for, a row of the air that has just been made included."""
        known = self.asks
        asked = dict(self.product.asks)
        for row in self.activators:
            asked.update(row.asks)
        asked["more"] = self.activators_part.more_row
        for more in self.additives_part.rows:
            asked.update(more.asks)
        asked["more-additives"] = self.additives_part.more_row
        asked.update(self.reducing.asks)
        asked.update(self.coats.asks)
        asked.update(self.waits.asks)
        asked.update(self.dangers.asks)
        asked.update(self.more_of.asks)
        self.asks = {**asked, **self.care.asks, **self.air.asks, **self.optional.asks, "kind-line": self.line.buttons}
        self.first = "name"
        for key, ask in self.asks.items():
            if known.get(key) is ask:
                continue
            if isinstance(ask, (Typed, Options)):
                ask.keep_room()
            if isinstance(ask, Typed):
                ask.edit.setProperty("asked", key)
                ask.edit.installEventFilter(self)
                ask.edit.textChanged.connect(self.look_soon)
            elif isinstance(ask, Options):
                ask.chosen.connect(self.look_soon)
        for part in (*self.sections, self.care, self.air, self.optional):
            for fields in part.findChildren(FieldRow):
                fields.keep_room()

    def look_soon(self, _: str = "") -> None:
        """Something was typed or chosen."""

    # --- columns of one height ----------------------------------------------------------------------

    def _balance(self) -> None:
        """Share the sections out to the columns, in their order, so that the longest column is as short as can be."""
        count = self._shown_as
        if count < 2:
            return
        wide = (self.area.width() - BAR - self._columns.spacing() * (count - 1)) // count
        high = [0 if s.isHidden() else _height(s, wide) + 3 * GRID for s in self.sections]
        ends = range(1, len(high))
        plans = [(0, *cuts, len(high)) for cuts in combinations(ends, count - 1)]
        best = min(plans, key=lambda cuts: max(sum(high[a:b]) for a, b in pairwise(cuts)))
        plan = tuple(tuple(range(a, b)) for a, b in pairwise(best))
        if plan != self.plans[count]:
            self.plans = {**self.plans, count: plan}
            self._shown_as = 0
            self._place(count)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._balance()

    # --- the kind of product -----------------------------------------------------------------------

    def pick_kind(self) -> None:
        """Ask what kind of product it is."""
        self._picking = True
        self._fold()
        self.take_focus()

    def take_kind(self, key: str) -> None:
        """Start from this kind of product; what was typed and chosen stays."""
        template = templates()[key]
        text = start_from(self.text(), template, self.template, self.before)
        self.template, self._picking, self._all_asked = template, False, False
        self._fill_fields(text)
        self.take_focus()

    def _ask_all(self) -> None:
        self._all_asked = not self._all_asked
        self._fold()

    def _questions(self) -> Iterator[tuple[str, QWidget, Callable[[], bool]]]:
        """Give each question that may be left to “more”: what shows it, and whether it is answered."""
        for key in ("duty", "parts", "maker", "chemistry", "carrier"):
            ask = self.product.asks[key]
            if isinstance(ask, QWidget):
                yield key, ask, lambda k=key: k == "maker" and self.product.filled(k)  # type: ignore[misc]
        yield "only_over", self.product.over, lambda: bool(self.product.over.text().strip())
        yield "traits", self.more_of, lambda: bool(self.more_of.traits.values)
        yield "additives", self.additives_part, lambda: self.additives_part.filled
        yield "reducing", self.reducing, lambda: self.reducing.filled
        for key, field in (("film_most", self.numbers["film_most"]), *self.times.items()):
            if key in FOLDABLE:
                yield key, field, lambda f=field: bool(f.text().strip())  # type: ignore[misc]

    def _said_by_kind(self, key: str) -> bool:
        """Whether the kind chosen says this as the card has it: then there is nothing to ask."""
        template, text = self.template, self.product
        if template is None:
            return False
        said = {
            "duty": template.duty is not None and self.duty.value == template.duty.value,
            "parts": template.two_part is not None and (self.parts.value == TWO) is template.two_part,
            "chemistry": template.chemistry is text.chemistry_of(),
            "carrier": template.carrier is text.carrier_of(),
            "traits": frozenset(t.value for t in template.traits) == self.more_of.traits.values,
        }
        return said.get(key, True)

    def _fold(self) -> None:
        """Show what matters for this kind of product, and all that is answered."""
        picking, hidden = self._picking, 0
        for key, widget, filled in self._questions():
            on = self._all_asked or asks(self.template, key) or not self._said_by_kind(key)
            on = on or (filled() and not (key == "traits" and self._said_by_kind(key)))
            widget.setVisible(on and not picking)
            hidden += not on
        for row in (*self.coats.rows, *self.waits.rows):
            row.setVisible(any(not f.isHidden() for f in row.fields))
        for section in (self.product, self.coats, self.waits, self.dangers, self.care, self.air, self.optional):
            section.setVisible(not picking)
        self._show_activators()
        self.pick.setVisible(picking)
        self.line.setVisible(not picking)
        self.line.tell(self.template, hidden, all_asked=self._all_asked)
        for button in (self.go, self.again, self.where):
            button.setVisible(not picking)
        self.back.show()
        self.name.edit.setPlaceholderText(self.template.example if self.template is not None else "")
        self._balance()
        if picking:
            self.asks = {"kind": self.pick}
            self.first = "kind"
        elif "kind" in self.asks:
            self.asks = {}
            self._collect()

    # --- what is typed ---------------------------------------------------------------------------

    def fill(self, text: CardText) -> None:
        """Show this text in the fields."""
        self.template = templates().get(text.kind)
        self._all_asked = self._picking = False
        self._fill_fields(text)

    def _fill_fields(self, text: CardText) -> None:
        self._origins = dict(text.origins or {})
        self.product.fill(text)
        for i, row in enumerate(self.activators):
            row.fill(text.activators[i] if i < len(text.activators) else ActivatorText())
        for i, more in enumerate(self.additives_part.rows):
            more.fill(text.additives[i] if i < len(text.additives) else AdditiveText())
        self._rows_shown = max(1, min(ROWS, len([r for r in self.activators if not r.text().empty])))
        self._additives_shown = max(1, min(ROWS, len([r for r in self.additives_part.rows if not r.text().empty])))
        self.reducing.fill(text)
        for key, field in self.numbers.items():
            field.fill(getattr(text, key))
        for key, field in self.times.items():
            field.fill(text.times.get(key, ""))
        self.hazards.choose(h.value for h in text.hazards)
        self.more_of.traits.choose(t.value for t in text.traits)
        self.air.fill(text.air if text.air is not None else AirText())
        self.optional.fill(text)
        self.care.fill(text)
        self.origin_bar.hide()
        self._fold()
        self.look_soon()

    def text(self) -> CardText:
        """Give what is typed and chosen."""
        written = write_card(self.before) if self.before is not None else CardText()
        typed = CardText(
            kind=self.template.id if self.template is not None else "",
            name=self.name.text(),
            maker=self.product.maker.text(),
            duty=Duty(self.duty.value) if self.duty.value is not None else None,
            two_part=None if self.parts.value is None else self.parts.value == TWO,
            chemistry=self.product.chemistry_of(),
            carrier=self.product.carrier_of(),
            traits=frozenset(Trait(v) for v in self.more_of.traits.values),
            only_over=self.product.over.text(),
            origin=self.origin.text(),
            origins=dict(self._origins),
            activators=(*(row.text() for row in self.activators), *written.activators[ROWS:]),
            additives=(*(row.text() for row in self.additives_part.rows), *written.additives[ROWS:]),
            reducer=self.reducer.text(),
            reductions=self.reducing.shares(),
            times={key: field.text() for key, field in self.times.items()},
            hazards=frozenset(Hazard(v) for v in self.hazards.values),
            coats_least=self.numbers["coats_least"].text(),
            coats_most=self.numbers["coats_most"].text(),
            film=self.numbers["film"].text(),
            film_most=self.numbers["film_most"].text(),
            air=self.air.text(),
        )
        return self.care.text(self.optional.text(typed))

    def unfold_for(self, faults: Sequence[tuple[str, str]]) -> None:
        """Show every field at fault: none is left folded away."""
        for section in (self.care, self.air, self.optional):
            if any(key in section.asks for key, _ in faults):
                section.unfold()
        hidden = {key for key, widget, _ in self._questions() if widget.isHidden()}
        at_fault = {self._question(key) for key, _ in faults}
        if hidden & at_fault:
            self._all_asked = True
            self._fold()

    @staticmethod
    def _question(key: str) -> str:
        if key.startswith("additive"):
            return "additives"
        return "reducing" if key.startswith(("reduc", "reduction-")) and "_" not in key else key

    # --- rows --------------------------------------------------------------------------------------

    def _show_activators(self) -> None:
        on = self.parts.value == TWO or has_odd_activators(self.before)
        on = on and not self._picking
        self.activators_part.setVisible(on)
        for i, row in enumerate(self.activators):
            row.show_row(on=on and i < self._rows_shown)
        self.optional.show_activators(self._rows_shown if on else 0)
        self.more.setVisible(self._rows_shown < ROWS)
        for i, more in enumerate(self.additives_part.rows):
            more.show_row(on=i < self._additives_shown)
        self.additives_part.more.setVisible(self._additives_shown < ROWS)

    def _another(self) -> None:
        self._rows_shown = min(ROWS, self._rows_shown + 1)
        self._show_activators()
        self.activators[self._rows_shown - 1].name.take_focus()
        self.show_focus()

    def _another_additive(self) -> None:
        self._additives_shown = min(ROWS, self._additives_shown + 1)
        self._show_activators()
        self.additives_part.rows[self._additives_shown - 1].name.take_focus()
        self.show_focus()


def _height(section: QWidget, width: int) -> int:
    box = section.layout()
    if box is None:
        return 0
    return box.totalHeightForWidth(width) if box.hasHeightForWidth() else box.totalSizeHint().height()
