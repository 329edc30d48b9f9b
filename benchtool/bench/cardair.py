"""The part of a product card on air, heat and film: the air it may be sprayed in, and how each changes its times."""

from collections.abc import Mapping, Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from benchtool.bench.cardmore import Block
from benchtool.bench.controls import Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import Ask, FieldRow, Options, Typed
from benchtool.bench.plansheet import Fold
from benchtool.job.cards import CardTime
from benchtool.session.cardair import HEATED, LAWS, PACED, PRINTED_IN, AirText, Law, PaceText, laws_for
from benchtool.session.cardairwords import (
    FAST_CAUTION,
    HEAT_CAUTION,
    factor_told,
    pace_note,
    percent_told,
    reference_told,
    speed_told,
)
from benchtool.session.cardlines import degC_told, films_told, heat_told
from benchtool.trade.pace import Kind

HEADING = "How the air changes it"
_HINT = "All of it is optional, as the sheet has it. Without it every time stands as printed, in any air."
_FAST, _SLOW = "yes", "no"
_SINGLE = tuple(time for time in PACED if time is not CardTime.EVERY)


def _slug(time: CardTime) -> str:
    return "all" if time is CardTime.EVERY else time.value.replace(" ", "-")


class PaceRow(QWidget):
    """How the air changes one time, or all: a choice, and what that choice needs to know."""

    def __init__(self, look: Look, time: CardTime, printed: Typed | None) -> None:
        super().__init__()
        self.time, self.printed = time, printed
        name, base, slug = PACED[time], f"pace-{time.value}", f"card-pace-{_slug(time)}"
        heading = Words(look, "small", "ink", wrap=False)
        heading.say(name)
        self.law = Options(look, "", f"{slug}-by")
        self.law.setAccessibleName(f"{name}: how the air changes it")
        self.law.offer([(law.value, LAWS[law]) for law in laws_for(time)], self.default.value)
        for button in self.law.buttons.values():
            button.setAccessibleName(f"{name}: {button.text()}")
        labels = {
            "table": ("Its table, row by row", "10 °C 4 h; 20 °C 2 h; 30 °C 1 h", None),
            "factor": ("Times as long, each 10 °C colder", "2", factor_told),
            "energy": ("Activation energy, kJ/mol", "50", None),
            "percent": ("The sheet's humidity, %", "50", percent_told),
            "speed": ("The sheet's air, m/s", "0.1", speed_told),
            "reference": ("Printed times hold at, °C", "23", reference_told),
            "least": ("Nothing counts below, °C", "", degC_told),
        }
        self.fields = {
            key: Typed(look, words, f"{slug}-{key}", hint, told) for key, (words, hint, told) in labels.items()
        }
        for key, field in self.fields.items():
            field.edit.setAccessibleName(f"{name}: {labels[key][0]}")
            field.edit.textChanged.connect(self._explain)
        self.row = FieldRow(look, tuple(self.fields.values()), tuple(2 if key == "table" else 1 for key in self.fields))
        self.note = Words(look, "small", "quiet")
        self.asks: dict[str, Ask] = {f"{base}-law": self.law}
        self.asks.update({f"{base}-{key}": field for key, field in self.fields.items()})
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, GRID)
        box.setSpacing(GRID // 2)
        for part in (heading, self.law, self.row, self.note):
            box.addWidget(part)
        self.law.chosen.connect(lambda _: self._show_law())
        if printed is not None:
            printed.edit.textChanged.connect(self._explain)
        self.fill(PaceText(law=self.default))

    @property
    def default(self) -> Law:
        """What is chosen first: all times stand as printed, and a single time is asked for to type its table."""
        return Law.PRINTED if self.time is CardTime.EVERY else Law.TABLE

    def text(self) -> PaceText:
        """Give what is typed and chosen."""
        law = Law(self.law.value) if self.law.value is not None else self.default
        return PaceText(law=law, **{key: field.text() for key, field in self.fields.items()})

    def fill(self, text: PaceText) -> None:
        """Show this."""
        self.law.choose(text.law.value)
        for key, field in self.fields.items():
            field.fill(getattr(text, key))
        for key, told in (
            ("factor", factor_told), ("percent", percent_told), ("speed", speed_told), ("reference", reference_told),
        ):  # fmt: skip
            self.fields[key].tell(told(getattr(text, key)))
        self._show_law()

    def _show_law(self) -> None:
        law = self.text().law
        waits = self.time is CardTime.EVERY or self.time.kind is Kind.WAIT
        shown = {
            "table": law is Law.TABLE,
            "factor": law is Law.DOUBLING,
            "energy": law is Law.ARRHENIUS,
            "percent": law is Law.EVAPORATION,
            "speed": law is Law.EVAPORATION,
            "reference": law is not Law.PRINTED,
            "least": law is not Law.PRINTED and (waits or bool(self.fields["least"].text().strip())),
        }
        for key, on in shown.items():
            self.fields[key].setVisible(on)
        self.row.setVisible(shown["reference"])
        self._explain()

    def _explain(self) -> None:
        said = pace_note(self.time, self.text(), self.printed.text() if self.printed is not None else "")
        self.note.say(said)
        self.note.setVisible(bool(said))


class AirSection(Fold):
    """The section that is folded away until it is asked for, filled, or at fault.

    A single time has its row once it is ticked; `grown` tells that there is one more to ask for.
    """

    grown = Signal()
    opened = Signal()

    def __init__(self, look: Look, times: Mapping[str, Typed]) -> None:
        super().__init__(look, HEADING, _HINT, "card-air")
        self.look, self._times = look, times
        self.range = {
            key: Typed(look, words, f"card-air-{key.replace('_', '-')}", hint, degC_told if "°C" in words else None)
            for key, words, hint in (
                ("least", "Least, °C", "15"),
                ("most", "Most, °C", "30"),
                ("least_percent", "Least humidity, %", ""),
                ("most_percent", "Most humidity, %", "80"),
            )
        }
        for key, spoken in (("least", "Least air temperature, °C"), ("most", "Most air temperature, °C")):
            self.range[key].edit.setAccessibleName(spoken)
        self.fast = Options(look, "A fast solvent?", "card-fast")
        self.fast.offer([(_SLOW, "No, or not known"), (_FAST, "Yes, it can blush")], _SLOW)
        self.fast_caution = Words(look, "small", "ink")
        self.every = PaceRow(look, CardTime.EVERY, None)
        self.which = Options(look, "Times that go another way", "card-paced", several=True)
        self.which.offer([(time.value, PACED[time]) for time in _SINGLE])
        self.rows: dict[CardTime, PaceRow] = {}
        self.heat = {
            time: Typed(look, words, f"card-heat-{_slug(time)}", "", heat_told) for time, words in HEATED.items()
        }
        for time, field in self.heat.items():
            field.edit.setAccessibleName(f"With heat, {PACED[time]}")
            field.edit.textChanged.connect(self._warn)
        self.heat[next(iter(HEATED))].edit.setPlaceholderText("60 °C for 15 min")
        self.heat_caution = Words(look, "small", "ink")
        self.films = Typed(
            look, "Thicker dry film of a coat", "card-films", "100 µm 1.5 times; 150 µm 2.5 times", films_told
        )
        self._lay_out()
        self.fast.chosen.connect(lambda _: self._warn())
        self.which.chosen.connect(self._tick)
        self._warn()

    def _lay_out(self) -> None:
        look = self.look
        reason = Words(look, "small", "quiet")
        reason.say("It leaves so fast that it cools the film: in damp air water settles there and clouds it.")
        allowed = Block(
            look,
            "The air it may be sprayed in",
            "Leave empty what the sheet does not say. 50 °F will do too.",
            (FieldRow(look, tuple(self.range.values())), self.fast, reason, self.fast_caution),
        )
        self.paces = Block(
            look,
            "How fast it goes in other air",
            "Cold and damp make a wait longer, warmth makes a pot life shorter; the other way only the card's own "
            "table goes.",
            (self.every, self.which),
        )
        heat = Block(
            look,
            "With heat",
            "Where the sheet gives a forced dry: at how many °C on the piece, and for how long.",
            (FieldRow(look, tuple(self.heat.values())), self.heat_caution),
        )
        films = Block(
            look,
            "In a thicker film",
            "How many times as long flash, recoat, tape and cure take. Without it no film changes a time.",
            (FieldRow(look, (self.films,)),),
        )
        box = QVBoxLayout(self.body)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(3 * GRID)
        for block in (allowed, self.paces, heat, films):
            box.addWidget(block)

    @property
    def asks(self) -> dict[str, Ask]:
        """What is asked, in the order of the page."""
        asks: dict[str, Ask] = {"air-fields": self.turn_row}
        asks.update({f"air-{key.replace('_', '-')}": field for key, field in self.range.items()})
        asks["fast"] = self.fast
        asks.update(self.every.asks)
        asks["paced"] = self.which
        for time in _SINGLE:
            asks.update(self.rows[time].asks if time in self.rows else {})
        asks.update({f"forced-{time.value}": field for time, field in self.heat.items()})
        return {**asks, "films": self.films}

    # --- single times ------------------------------------------------------------------------------

    def _row(self, time: CardTime) -> PaceRow:
        """Give the row of a single time; made when first asked for, for most cards need none."""
        if time not in self.rows:
            row = PaceRow(self.look, time, self._times.get(PRINTED_IN[time]))
            before = sum(_SINGLE.index(other) < _SINGLE.index(time) for other in self.rows)
            column = self.paces.column
            column.insertWidget(column.indexOf(self.which) + 1 + before, row)
            self.rows[time] = row
            self.grown.emit()
        return self.rows[time]

    def _tick(self, key: str) -> None:
        self._show_rows()
        if key in self.which.values:
            self.rows[CardTime(key)].law.take_focus()
            self.opened.emit()

    def _show_rows(self) -> None:
        ticked = [CardTime(value) for value in self.which.values]
        for time in ticked:
            self._row(time)
        for time, row in self.rows.items():
            row.setVisible(time in ticked)

    def _warn(self) -> None:
        said = FAST_CAUTION if self.fast.value == _FAST else ""
        self.fast_caution.say(said)
        self.fast_caution.setVisible(bool(said))
        said = HEAT_CAUTION if any(field.text().strip() for field in self.heat.values()) else ""
        self.heat_caution.say(said)
        self.heat_caution.setVisible(bool(said))

    # --- what is typed -----------------------------------------------------------------------------

    def _typed(self) -> Sequence[Typed]:
        return (*self.range.values(), *self.heat.values(), self.films)

    @property
    def filled(self) -> bool:
        """Whether anything is said here."""
        chosen = self.fast.value == _FAST or bool(self.which.values) or self.every.text().law is not Law.PRINTED
        return chosen or any(field.text().strip() for field in self._typed())

    def fill(self, text: AirText) -> None:
        """Show this; folded away where there is nothing of it."""
        for key, field in self.range.items():
            field.fill(getattr(text, key))
        self.fast.choose(_FAST if text.fast else _SLOW)
        self.every.fill(text.paces.get(CardTime.EVERY, PaceText()))
        singles = [time for time in _SINGLE if time in text.paces]
        self.which.choose(time.value for time in singles)
        self._show_rows()
        for time, row in self.rows.items():
            row.fill(text.paces.get(time, PaceText(law=row.default)))
        for time, field in self.heat.items():
            field.fill(text.forced.get(time, ""))
        self.films.fill(text.films)
        self._warn()
        self.unfold(on=self.filled)

    def text(self) -> AirText:
        """Give what is typed and chosen."""
        ticked = {CardTime(value) for value in self.which.values}
        paces: dict[CardTime, PaceText] = {CardTime.EVERY: self.every.text()}
        paces.update({time: self.rows[time].text() for time in _SINGLE if time in ticked})
        return AirText(
            **{key: field.text() for key, field in self.range.items()},
            fast=self.fast.value == _FAST,
            paces=paces,
            forced={time: field.text() for time, field in self.heat.items()},
            films=self.films.text(),
        )
