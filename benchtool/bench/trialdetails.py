"""How the strips of a trial are tested, aged and cut: the details of the set-up."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import Ask, Buttons, FieldRow, Options, Typed
from benchtool.job.events import AgeingKind, Method
from benchtool.session.trialsetup import AgeText, Setup
from benchtool.trade.grades import title
from benchtool.trade.saying import say

USUAL_AGEING = {
    AgeingKind.WATER: AgeText(kind=AgeingKind.WATER, lasts="24 h", recovers="2 h"),
    AgeingKind.HEAT: AgeText(kind=AgeingKind.HEAT, lasts="24 h", degC="60", recovers="2 h"),
    AgeingKind.COLD: AgeText(kind=AgeingKind.COLD, lasts="24 h", degC="-20", recovers="2 h"),
    AgeingKind.FLEX: AgeText(kind=AgeingKind.FLEX, mandrel="25"),
}
"""What a step is filled with at first. Common practice, no source: the painter knows what the piece will meet."""


class AgeingStep(QWidget):
    """One step: what it is, how long, how warm or over what, how long to wait after it, and the way to drop it."""

    changed = Signal()
    dropped = Signal()

    def __init__(self, look: Look, number: int, step: AgeText) -> None:
        super().__init__()
        self.step = step
        kind = say(step.kind.value)
        self.label = Words(look, "strong", "ink", wrap=False)
        self.label.say(say("{n}. {kind}", n=number + 1, kind=kind.capitalize()))
        name = f"trial-ageing-{number}"
        self.lasts = Typed(look, say("Lasts"), f"{name}-lasts", "24 h")
        self.degC = Typed(look, say("At, °C"), f"{name}-degC", "60")
        self.mandrel = Typed(look, say("Mandrel, mm"), f"{name}-mandrel", "25")
        self.recovers = Typed(look, say("Then waits"), f"{name}-recovers", "2 h")
        flex = step.kind is AgeingKind.FLEX
        shown = [self.mandrel, self.recovers] if flex else [self.lasts, self.degC, self.recovers]
        for unseen in {self.lasts, self.degC, self.mandrel} - set(shown):
            unseen.setParent(self)
            unseen.hide()
        self.out = BenchButton(look, say("Drop"), name=f"{name}-out")
        self.out.setAccessibleName(say("Drop the step: {kind}", kind=kind))
        self.row = FieldRow(look, shown)
        self.fields = {"lasts": self.lasts, "degC": self.degC, "mandrel": self.mandrel, "recovers": self.recovers}
        for key, field in self.fields.items():
            field.fill(getattr(step, key))
            field.edit.setAccessibleName(f"{kind}: {field.label.text()}")
            field.edit.textEdited.connect(lambda _: self.changed.emit())
        self.out.clicked.connect(self.dropped)
        self.out.setFixedWidth(9 * GRID)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(GRID)
        grid.setVerticalSpacing(GRID // 2)
        grid.addWidget(self.label, 0, 0)
        grid.addWidget(self.out, 0, 1)
        grid.addWidget(self.row, 1, 0, 1, 2)

    def text(self) -> AgeText:
        """Give what is typed."""
        typed = {key: field.text() for key, field in self.fields.items()}
        return AgeText(kind=self.step.kind, **typed)


class TrialDetails(QWidget):
    """Tests, rest, tape, ageing, size and note. `changed` tells of each change by hand, `grown` of one more step."""

    changed = Signal()
    grown = Signal()

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.methods = Options(look, say("Tests, done on every strip"), "trial-methods", several=True)
        self.methods.offer([(m.value, title(m)) for m in Method])
        self.rest = Typed(look, say("Paint rests before the first test"), "trial-rest", "24 h")
        self.tape_stays = Typed(look, say("Plain tape stays on"), "trial-tape", say("pulled at once"))
        self.times = FieldRow(look, (self.rest, self.tape_stays))
        self.strip_width = Typed(look, say("Strip width, mm"), "trial-width", "25")
        self.strip_length = Typed(look, say("Strip length, mm"), "trial-length", "100")
        self.sides = FieldRow(look, (self.strip_width, self.strip_length))
        self.longer = Words(look, "small", "ink")
        self.longer.hide()
        self.ageing_label = Words(look, "small", "quiet")
        self.ageing_label.say(say("Then aged and tested again, in this order"))
        self.steps: list[AgeingStep] = []
        self._steps = QVBoxLayout()
        self._steps.setSpacing(GRID)
        self.adding = {
            AgeingKind.WATER: BenchButton(look, say("Water soak"), name="trial-age-water"),
            AgeingKind.HEAT: BenchButton(look, say("Heat"), name="trial-age-heat"),
            AgeingKind.COLD: BenchButton(look, say("Cold"), name="trial-age-cold"),
            AgeingKind.FLEX: BenchButton(look, say("Flex"), name="trial-age-flex"),
        }
        for kind, button in self.adding.items():
            button.setAccessibleName(say("Add a step of ageing: {kind}", kind=say(kind.value)))
            button.clicked.connect(lambda _=False, k=kind: self._add(k))
        self.note = Typed(look, say("Note"), "trial-note")
        self.asks: dict[str, Ask] = {
            "methods": self.methods, "rest": self.rest, "tape_stays": self.tape_stays, "width": self.strip_width,
            "length": self.strip_length, "note": self.note,
        }  # fmt: skip
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID + GRID // 2)
        for part in (self.methods, self.times, self.longer, self.ageing_label):
            column.addWidget(part)
        column.addLayout(self._steps)
        below: tuple[QWidget, ...] = (Buttons(tuple(self.adding.values())), self.sides, self.note)
        for last in below:
            column.addWidget(last)
        column.addStretch(1)
        self._fields: dict[str, Typed] = {
            "rest": self.rest, "tape_stays": self.tape_stays, "width": self.strip_width, "length": self.strip_length,
            "note": self.note,
        }  # fmt: skip
        self.methods.chosen.connect(lambda _: self.changed.emit())
        for field in self._fields.values():
            field.edit.textEdited.connect(lambda _: self.changed.emit())

    def fill(self, setup: Setup) -> None:
        """Show this."""
        self.methods.choose(m.value for m in setup.methods)
        for key, field in self._fields.items():
            text = getattr(setup, key)
            if field.text() != text:
                field.fill(text)
        for field in (self.tape_stays, self.strip_width, self.strip_length):
            field.edit.setEnabled(not setup.begun)
        if tuple(s.text() for s in self.steps) != setup.ageing:
            self._show_steps(setup.ageing)

    def tell_rest(self, words: str) -> None:
        """Say below the rest what keeps the strips from their tests for longer; nothing where nothing does."""
        self.longer.say(words)
        self.longer.setVisible(bool(words))

    def take(self, setup: Setup) -> Setup:
        """Give the set-up with what is typed and chosen here."""
        return replace(
            setup,
            methods=frozenset(Method(x) for x in self.methods.values),
            ageing=tuple(s.text() for s in self.steps),
            **{key: field.text() for key, field in self._fields.items()},  # type: ignore[arg-type]
        )

    def ask_of(self, field: str) -> Typed | Options | None:
        """Find what asks for this field of a set-up."""
        if field.startswith("ageing-"):
            _, number, name = field.split("-")
            return self.steps[int(number)].fields[name] if int(number) < len(self.steps) else None
        found = self.asks.get(field)
        return found if isinstance(found, Typed | Options) else None

    def _show_steps(self, steps: Sequence[AgeText]) -> None:
        for old in self.steps:
            self._steps.removeWidget(old)
            old.hide()
            old.deleteLater()
        self.steps = []
        for i, step in enumerate(steps):
            made = AgeingStep(self.look, i, step)
            made.changed.connect(self.changed)
            made.dropped.connect(self._dropper(i))
            self._steps.addWidget(made)
            self.steps.append(made)

    def _dropper(self, number: int) -> Callable[[], None]:
        def drop() -> None:
            steps = [s.text() for s in self.steps]
            del steps[number]
            self._show_steps(steps)
            self.changed.emit()

        return drop

    def _add(self, kind: AgeingKind) -> None:
        self._show_steps([*(s.text() for s in self.steps), USUAL_AGEING[kind]])
        self.changed.emit()
        first = self.steps[-1].mandrel if kind is AgeingKind.FLEX else self.steps[-1].lasts
        first.take_focus()
        self.grown.emit()
