"""The night, by hand: when the heater goes off and on, and how warm it is then."""

from datetime import datetime

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from benchtool.bench.airnow import unbroken
from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import Buttons, FieldRow, Options, Typed
from benchtool.bench.plansheet import Section
from benchtool.session.cardfields import Wrong
from benchtool.session.nights import CAREFUL, expect, expected_words, night_of, night_points, read_night
from benchtool.session.session import Document, NotNow, Session

ONCE, EVERY = "once", "every"


class NightSection(Section):
    """Asks how the night will go, and says what is expected now."""

    said = Signal(str)
    at_fault = Signal(QWidget)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, "The night")
        self.session = session
        self.setObjectName("air-night")
        self.expected = Words(look, "body", "ink")
        self.fields = {
            key: Typed(look, label, f"air-{key.replace('_', '-').lower()}", hint)
            for key, label, hint in (
                ("off", "Heater off at", "18:00"),
                ("off_degC", "Then, °C", "12 or 54 F"),
                ("off_percent", "Humidity, %", "as it comes"),
                ("on", "Heater on at", "07:00"),
                ("on_degC", "Then, °C", "21 or 70 F"),
            )
        }
        for key, spoken in (
            ("off_degC", "How warm it is with the heater off"),
            ("off_percent", "Humidity with the heater off; left empty, as much water as now"),
            ("on_degC", "How warm it is with the heater on"),
        ):
            self.fields[key].edit.setAccessibleName(spoken)
            self.fields[key].edit.setToolTip(spoken)
        for field in self.fields.values():
            field.edit.setMinimumWidth(0)
            field.entered.connect(lambda _: self.enter())
        self.often = Options(look, "", "air-often")
        self.often.setAccessibleName("How often")
        self.often.offer(((ONCE, "Just tonight"), (EVERY, "Every night")), ONCE)
        self.go = BenchButton(look, "Expect this", name="air-expect")
        self.nothing = BenchButton(look, "Expect nothing else", name="air-expect-nothing")
        self.go.clicked.connect(self.enter)
        self.nothing.clicked.connect(self.clear)
        careful = Words(look, "small", "quiet")
        careful.say(CAREFUL)
        self.column.setSpacing(GRID)
        self.add(
            self.expected,
            FieldRow(look, [self.fields[key] for key in ("off", "off_degC", "off_percent")]),
            FieldRow(look, [self.fields[key] for key in ("on", "on_degC")]),
            self.often,
            Buttons([self.go, self.nothing]),
            careful,
        )

    def show_expected(self, document: Document | None, now: datetime) -> None:
        """Say what is expected from `now` on."""
        words = expected_words(document.state, now) if document is not None else "No job is open."
        self.expected.say(unbroken(words))
        changed = document is not None and any(at > now for at, _ in document.state.air.expected)
        self.nothing.setEnabled(changed)

    def fill(self) -> None:
        """Write the night that is expected into the fields, where nothing is typed in any of them."""
        for field in self.fields.values():
            field.complain("")
        document = self.session.current
        night = night_of(document.state) if document is not None else None
        if night is None or any(field.text() for field in self.fields.values()):
            return
        for key, text in night.typed().items():
            self.fields[key].fill(text)
        if document is not None and document.state.expected is not None:
            self.often.choose(EVERY if len(document.state.expected.points) > 2 else ONCE)

    def enter(self) -> None:
        """Write what is typed into the record; what is wrong is said at its field."""
        for field in self.fields.values():
            field.complain("")
        try:
            night = read_night(self.session.measures, {key: field.text() for key, field in self.fields.items()})
        except Wrong as wrong:
            for key, message in reversed(wrong.faults):
                self.fields[key].complain(message)
            first = self.fields[wrong.faults[0][0]]
            first.take_focus()
            self.at_fault.emit(first)
            return
        every = self.often.value == EVERY
        try:
            document = self.session.current
            last = document.state.last_reading if document is not None else None
            read_at = last.at if last is not None else None
            points = night_points(night, self.session.now(), every=every, read_at=read_at)
            expect(self.session, points)
        except NotNow as no:
            self.said.emit(str(no))
            return
        self.said.emit(f"{night.words(every=every, points=points)}. Undo (U) takes it back.")

    def clear(self) -> None:
        """Expect no change any more."""
        try:
            expect(self.session, ())
        except NotNow as no:
            self.said.emit(str(no))
            return
        self.said.emit("Nothing else is expected: the air is taken to stay as it was read. Undo (U) takes it back.")
