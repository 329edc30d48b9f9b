"""The page of a product card: the painter's transcription of a data sheet, field by field."""

from collections.abc import Mapping, Sequence
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from benchtool.bench.cardair import AirSection
from benchtool.bench.cardmore import More
from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import Ask, Buttons, FieldRow, Options, Typed
from benchtool.bench.plansheet import Section, Sheet, Unfinished
from benchtool.job.cards import Card, Duty, Gun, Hazard, Reduction
from benchtool.session import planning
from benchtool.session.cardair import AirText
from benchtool.session.cardreading import (
    TIMES,
    ActivatorText,
    CardText,
    has_odd_activators,
    read_card,
    share_told,
    time_told,
    write_card,
)
from benchtool.session.library import NotKept
from benchtool.session.planning import CardChoice, Where
from benchtool.session.session import Session
from benchtool.trade.substrates import Suits

ROWS = 3
"""Activators asked for: sheets name one or two, seldom three (common practice, no source)."""

ONE, TWO = "one", "two"
NEW_CARD = ""
"""What an unfinished new card is kept by; others by the key of their choice."""
_SUITS = [(Suits.RIGID.value, "Rigid"), (Suits.FLEXIBLE.value, "Flexible"), (Suits.ANY.value, "Any piece")]
_PAIRS = (
    ("stand", "stand_reduced"), ("pot_life",), ("flash", "flash_most"), ("recoat_opens", "recoat_closes"),
    ("tape", "cure"),
)  # fmt: skip
_HINTS = {
    "stand": "5", "stand_reduced": "10", "pot_life": "2 h", "flash": "15", "flash_most": "", "recoat_opens": "30 min",
    "recoat_closes": "24 h", "tape": "24 h", "cure": "7 d",
}  # fmt: skip


class ActivatorRow(QWidget):
    """One activator: its name, its share, and what it suits."""

    def __init__(self, look: Look, number: int, column: Section) -> None:
        super().__init__()
        base, n = f"activator-{number}", number + 1
        self.id = ""
        self.name = Typed(look, f"Activator {n}", f"card-{base}-name", "Rigid activator" if not number else "")
        self.share = Typed(look, "Share", f"card-{base}-share", "2 % of base" if not number else "", share_told)
        for part, words in ((self.name, "name"), (self.share, "share")):
            part.edit.setAccessibleName(f"Activator {n}: {words}")
        self.suits = Options(look, "", f"card-{base}-suits")
        self.suits.setAccessibleName(f"Activator {n} suits")
        self.suits.offer(_SUITS)
        for button in self.suits.buttons.values():
            button.setAccessibleName(f"Activator {n} suits: {button.text()}")
        self.fields = FieldRow(look, (self.name, self.share))
        self.asks: dict[str, Ask] = {
            f"{base}-name": self.name, f"{base}-share": self.share, f"{base}-suits": self.suits,
        }  # fmt: skip
        column.add(self.fields, self.suits)

    def text(self) -> ActivatorText:
        """Give what is typed."""
        return ActivatorText(
            name=self.name.text(),
            share=self.share.text(),
            suits=Suits(self.suits.value) if self.suits.value is not None else None,
            id=self.id,
        )

    def fill(self, text: ActivatorText) -> None:
        """Show this activator."""
        self.id = text.id
        for part, typed in ((self.name, text.name), (self.share, text.share)):
            part.fill(typed)
        self.suits.choose(text.suits.value if text.suits is not None else None)

    def show_row(self, *, on: bool) -> None:
        """Show or hide the row."""
        self.fields.setVisible(on)
        self.suits.setVisible(on)


class CardForm(Sheet):
    """A product card. Enter goes on to the next field, for a sheet has many."""

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, "plan-card", least=64 * GRID, most=80 * GRID)
        self.session = session
        self.before: CardChoice | None = None
        self._rows_shown = 1
        self.unfinished = Unfinished[CardText]()
        self.back.say("Back to the layer")
        self.again = self.add_button("Start over", "card-again")
        self.again.clicked.connect(self._start_over)
        product, activators = self._product(look), Section(look, "Activators")
        self.activators = [ActivatorRow(look, i, activators) for i in range(ROWS)]
        self.more = BenchButton(look, "Another activator", name="card-more-activators")
        self.more.clicked.connect(self._another)
        more = Buttons((self.more,), fill=False)
        activators.add(more)
        self.activator_section = activators
        reducing, amounts = self._reducing(look), self._amounts(look)
        times, hazards = self._times(look), Section(look, "What can hurt you")
        self.hazards = Options(look, "Named on its safety data sheet", "card-hazards", several=True)
        self.hazards.offer([(h.value, h.value.capitalize()) for h in Hazard])
        hazards.add(self.hazards)
        self.asks = {"name": self.name, "duty": self.duty, "parts": self.parts, "origin": self.origin}
        for row in self.activators:
            self.asks.update(row.asks)
        self.asks["more"] = more
        self.asks.update(self.numbers)
        self.asks["reducer"] = self.reducer
        for gun, fields in self.reductions.items():
            self.asks.update({f"reduction-{gun.value}-{k}": f for k, f in fields.items()})
        self.asks.update(self.times)
        self.asks["hazards"] = self.hazards
        self.air, self.optional = AirSection(look, self.times), More(look, ROWS)
        self._above = self.asks
        self._collect()
        self.air.grown.connect(self._collect)
        self.air.opened.connect(self.show_focus, Qt.ConnectionType.QueuedConnection)  # once the row has its place
        self.lay_out(
            (product, activators, amounts, reducing, times, hazards),
            {1: ((0, 1, 2, 3, 4, 5),), 2: ((0, 1, 2), (3, 4, 5)), 3: ((0, 1), (2, 3), (4, 5))},
        )
        page = self.body.layout()
        if isinstance(page, QVBoxLayout):  # under all the columns, over their whole width
            page.setStretchFactor(self._columns, 0)
            page.addSpacing(GRID)
            page.addWidget(self.air)
            page.addSpacing(GRID)
            page.addWidget(self.optional)
            page.addStretch(1)
        self.parts.chosen.connect(lambda _: self._show_activators())
        for row, asked in zip(self.activators, self.optional.activators, strict=True):
            row.name.edit.textChanged.connect(asked.entitle)
        self.reducer.edit.textChanged.connect(self.optional.reducer.entitle)

    def _collect(self) -> None:
        """Take up what there is to ask for, a row of the air that has just been made included."""
        self.asks = {**self._above, **self.air.asks, **self.optional.asks}

    # --- the sections ------------------------------------------------------------------------------

    def _product(self, look: Look) -> Section:
        self.name = Typed(look, "Name on the can", "card-name", "Two-part clear")
        self.duty = Options(look, "In the stack it is the", "card-duty")
        self.duty.offer([(d.value, d.value.capitalize()) for d in Duty])
        self.parts = Options(look, "It is", "card-parts")
        self.parts.offer([(ONE, "One-part"), (TWO, "Two-part, with an activator")])
        self.origin = Typed(look, "Where the values come from", "card-origin", "Data sheet of March 2025, page 2")
        section = Section(look, "The product")
        section.add(self.name, self.duty, self.parts, self.origin)
        return section

    def _reducing(self, look: Look) -> Section:
        section = Section(look, "Reducing")
        how = Words(look, "small", "quiet")
        how.say("Write 90 % of activated, 1:1 of activated, 10 % of base. Leave a gun empty where nothing is reduced.")
        self.reducer = Typed(look, "Reducer", "card-reducer", "Medium reducer")
        section.add(how, self.reducer)
        self.reductions: dict[Gun, Mapping[str, Typed]] = {}
        self.reduction_rows: dict[Gun, FieldRow] = {}
        for gun in Gun:
            name = gun.value.capitalize()
            labels = {"least": f"{name}: least", "usual": "usual", "most": "most"}
            slug = gun.value.replace(" ", "-")
            fields = {k: Typed(look, words, f"card-{slug}-{k}") for k, words in labels.items()}
            for key, field in fields.items():
                field.edit.setAccessibleName(f"{name}, {key} reduction")
                field.edit.textChanged.connect(partial(self._explain_reduction, gun))
            self.reductions[gun] = fields
            self.reduction_rows[gun] = FieldRow(look, tuple(fields.values()))
            section.add(self.reduction_rows[gun])
        return section

    def _amounts(self, look: Look) -> Section:
        labels = {
            "coats_least": "Coats, least", "coats_most": "Coats, most", "film": "Film per coat, µm",
        }  # fmt: skip
        self.numbers = {k: Typed(look, words, f"card-{k.replace('_', '-')}") for k, words in labels.items()}
        section = Section(look, "Coats and film")
        section.add(FieldRow(look, tuple(self.numbers.values())))
        return section

    def _times(self, look: Look) -> Section:
        section = Section(look, "Times")
        how = Words(look, "small", "quiet")
        how.say(
            "Write 15 min, 1 h 30, 48 h or 2 d; where a label says min, a number alone is minutes. "
            "Leave empty what the sheet does not say."
        )
        section.add(how)
        self.times = {
            key: Typed(look, field.label, f"card-{key.replace('_', '-')}", _HINTS[key], partial(time_told, key))
            for key, field in TIMES.items()
        }
        for pair in _PAIRS:
            section.add(FieldRow(look, tuple(self.times[key] for key in pair)))
        return section

    # --- asking ------------------------------------------------------------------------------------

    def ask(self, choice: CardChoice | None) -> None:
        """Ask for a new card, or for what is different about this one. What was half typed is still there."""
        self.unfinished.leave(self.text())
        self.before = choice
        self.head("New product card" if choice is None else f"Edit {choice.card.name}", "Keep this card", "Ctrl+Enter")
        self._fill_anew()
        half = self.unfinished.come(choice.key if choice is not None else NEW_CARD, self.text())
        if half is not None:
            self.fill(half)

    def _fill_anew(self) -> None:
        self.fill(write_card(self.before.card) if self.before is not None else CardText())
        self.complain(())

    def _start_over(self) -> None:
        self._fill_anew()
        self.take_focus()

    def fill(self, text: CardText) -> None:
        """Show this text in the fields."""
        self.name.fill(text.name)
        self.duty.choose(text.duty.value if text.duty is not None else None)
        self.parts.choose(None if text.two_part is None else TWO if text.two_part else ONE)
        self.origin.fill(text.origin)
        for i, row in enumerate(self.activators):
            row.fill(text.activators[i] if i < len(text.activators) else ActivatorText())
        self._rows_shown = max(1, min(ROWS, len(text.activators)))
        self.reducer.fill(text.reducer)
        for gun, fields in self.reductions.items():
            typed = text.reductions.get(gun, ("", "", ""))
            for field, share in zip(fields.values(), typed, strict=True):
                field.fill(share)
        for key, field in self.numbers.items():
            field.fill(getattr(text, key))
        for key, field in self.times.items():
            field.fill(text.times.get(key, ""))
        self.hazards.choose(h.value for h in text.hazards)
        self.air.fill(text.air if text.air is not None else AirText())
        self.optional.fill(text)
        self._show_activators()

    def text(self) -> CardText:
        """Give what is typed and chosen."""
        beyond = write_card(self.before.card).activators[ROWS:] if self.before is not None else ()
        typed = CardText(
            name=self.name.text(),
            duty=Duty(self.duty.value) if self.duty.value is not None else None,
            two_part=None if self.parts.value is None else self.parts.value == TWO,
            origin=self.origin.text(),
            activators=(*(row.text() for row in self.activators), *beyond),
            reducer=self.reducer.text(),
            reductions={
                g: (f["least"].text(), f["usual"].text(), f["most"].text()) for g, f in self.reductions.items()
            },
            times={key: field.text() for key, field in self.times.items()},
            hazards=frozenset(Hazard(v) for v in self.hazards.values),
            coats_least=self.numbers["coats_least"].text(),
            coats_most=self.numbers["coats_most"].text(),
            film=self.numbers["film"].text(),
            air=self.air.text(),
        )
        return self.optional.text(typed)

    def complain(self, faults: Sequence[tuple[str, str]]) -> str:
        """As any page does; a field at fault is never left folded away."""
        for section in (self.air, self.optional):
            if any(key in section.asks for key, _ in faults):
                section.unfold()
        return super().complain(faults)

    def submit(self, made: list[Card]) -> tuple[Card, str]:
        """Make the card, keep it in the library, and copy it anew where the job has it; gives what to say.

        A card of the job replaces the library's only where the two were the same: that one may be newer.

        Raises:
            Wrong: a field that can't be taken so.
            NotNow: the job can't be changed.
        """
        text, before, library = self.text(), self.before, self.session.library
        card_id = before.card.id if before is not None else planning.free_card_id(self.session, text.name, made)
        card = read_card(text, card_id, before.card if before is not None else None)
        said = f"{card.name} is ready."
        if before is not None and before.where is Where.JOB:
            if card == before.card:
                self.unfinished.done()
                return card, "Nothing was changed."
            self.session.apply(planning.copy_card(card))
            said = f"{card.name} changed. Cups already mixed keep their recipe."
            shelf = library.look().cards if library is not None else ()
            if any(c.id.lower() == card_id.lower() and c != before.card for c in shelf):
                said += " The card in your library is a different one and stays as it is."
                library = None
        if library is not None:
            try:
                library.keep(card)
            except NotKept as fault:
                said += f" {fault}"
        self.unfinished.done()
        return card, said

    def _show_activators(self) -> None:
        on = self.parts.value == TWO or has_odd_activators(self.before.card if self.before is not None else None)
        self.activator_section.setVisible(on)
        for i, row in enumerate(self.activators):
            row.show_row(on=on and i < self._rows_shown)
        self.optional.show_activators(self._rows_shown if on else 0)
        self.more.setVisible(self._rows_shown < ROWS)

    def _explain_reduction(self, gun: Gun, _: str = "") -> None:
        least, usual, most = (f.text() for f in self.reductions[gun].values())
        readable = all(share_told(s) for s in (least or usual, usual, most or usual))
        reduction = Reduction(gun=gun, least=least or usual, usual=usual, most=most or usual)
        self.reduction_rows[gun].explain(planning.reduction_words(reduction) if readable else "")

    def _another(self) -> None:
        self._rows_shown = min(ROWS, self._rows_shown + 1)
        self._show_activators()
        self.activators[self._rows_shown - 1].name.take_focus()
        self.show_focus()

    def on_enter(self, event: QKeyEvent) -> None:
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.entered.emit()
        else:
            self.focusNextPrevChild(True)
