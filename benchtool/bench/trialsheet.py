"""What is seen on the stage that sets up a trial, and where: in one, two or three columns, as the width allows."""

from collections.abc import Sequence

from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QApplication, QBoxLayout, QHBoxLayout, QSizePolicy, QStackedWidget, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Rule, Words, scrolled
from benchtool.bench.look import GRID, Look
from benchtool.bench.paneldraw import PanelDrawing, PanelStrip
from benchtool.bench.planparts import Ask, Buttons, Options
from benchtool.bench.plansheet import Section
from benchtool.bench.taborder import TabOrder
from benchtool.bench.trialdetails import TrialDetails
from benchtool.bench.trialfor import TrialFor
from benchtool.bench.triallabels import LabelSave, usual_paper
from benchtool.bench.trialsystem import SystemEditor
from benchtool.bench.trialsystems import SystemFacts, SystemList
from benchtool.job.events import Face
from benchtool.session import trialsetup
from benchtool.session.session import Session
from benchtool.session.trialagainst import Against, said_words
from benchtool.session.trialsetup import MOST_REPLICATES, Setup
from benchtool.trade.saying import say

LOW = 50
"""In steps of the grid: a window lower than this rolls as one column (a laptop at 150 %)."""


class SetupSheet(QWidget):
    """The widgets of the stage; what they do is the stage's."""

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.look, self.session = look, session
        self.judge = Against(session)
        self._make()
        self._lay_out()
        self._mode, self._low = "two", False
        self.tab_order = TabOrder(self.main)
        self._arrange()  # before anything is shown: without a parent it would be a window of its own

    def _make(self) -> None:
        look = self.look
        self.about = TrialFor(look, self.session)
        self.systems = SystemList(look)
        self.why = Words(look, "body", "ink")
        self.why.say(trialsetup.why_control())
        self.make_control = BenchButton(look, say("Add the control"), name="trial-add-control", primary=True)
        self.no_control = BenchButton(look, say("Keep it without"), name="trial-no-control")
        self.insist = QWidget()
        column = QVBoxLayout(self.insist)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID // 2)
        column.addWidget(self.why)
        column.addWidget(Buttons((self.make_control, self.no_control)))
        self.panel = PanelDrawing(look, "trial-panel")
        self.replicates = Options(look, say("Strips of each system"), "trial-replicates")
        self.replicates.offer([(str(n), str(n)) for n in range(1, MOST_REPLICATES + 1)])
        self.shuffle = BenchButton(look, say("Shuffle the places"), "R", name="trial-shuffle")
        self.in_order = BenchButton(look, say("In order"), name="trial-in-order")
        self.details = TrialDetails(look)
        self.odd = Words(look, "small", "ink")
        self.amounts = Words(look, "small", "quiet")
        self.proof = Words(look, "small", "quiet")
        self.paper = Options(look, say("Paper for the labels"), "trial-paper")
        self.paper.offer([("A4", "A4"), ("Letter", say("US Letter"))], usual_paper())
        self.print = BenchButton(look, say("Labels to print"), name="trial-labels")
        self.label_save = LabelSave(self)
        self.count = Words(look, "strong", "ink", wrap=False)
        self.foot_words = Words(look, "small", "quiet")
        self.go = BenchButton(look, say("Set up the trial"), "Ctrl+Enter", name="trial-go", primary=True)
        self.none = Words(look, "body", "ink")
        self.editor = SystemEditor(look, self.session)

    def _lay_out(self) -> None:
        look = self.look
        self.systems.between.addWidget(self.insist)
        self.left = _block(self.about, self.systems)
        draw = QHBoxLayout()
        draw.setSpacing(GRID)
        draw.addWidget(self.shuffle)
        draw.addWidget(self.in_order)
        self.middle = QWidget()
        middle = QVBoxLayout(self.middle)
        middle.setContentsMargins(0, 0, 0, 0)
        middle.setSpacing(GRID)
        middle.addWidget(self.panel)
        middle.addLayout(draw)
        middle.addWidget(self.replicates)
        labels = Section(look, say("Labels to stick on"))
        labels.add(self.paper, self.print)
        self.takes = Section(look, say("What it takes"))
        self.takes.add(self.odd, self.amounts, self.proof)
        self.right = _block(self.details, labels)
        self.left_body, self.middle_body, self.right_body = _block(self.left), _block(), _block(self.right)
        self.left_area, self.right_area = scrolled(self.left_body), scrolled(self.right_body)
        self.middle_area = scrolled(self.middle_body)
        self.first = first = QVBoxLayout()
        first.setSpacing(GRID)
        first.addWidget(self.left_area, 1)
        first.addWidget(self.systems.tools)
        self.columns = QHBoxLayout()
        self.columns.setSpacing(2 * GRID)
        self.columns.addLayout(first)
        self.rule = Rule(look, upright=True)
        self.columns.addWidget(self.rule)
        self.columns.addWidget(self.middle_area)
        self.columns.addWidget(self.right_area)
        words = QVBoxLayout()
        words.setSpacing(0)
        words.addWidget(self.count)
        words.addWidget(self.foot_words)
        self.foot = QWidget()
        foot = QHBoxLayout(self.foot)
        foot.setContentsMargins(0, 0, 0, 0)
        foot.setSpacing(2 * GRID)
        foot.addLayout(words, 1)
        foot.addWidget(self.go)
        self.go.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        main = QWidget()
        column = QVBoxLayout(main)
        column.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        column.setSpacing(GRID)
        column.addLayout(self.columns, 1)
        self.foot_rule = Rule(look, upright=False)
        column.addWidget(self.foot_rule)
        column.addWidget(self.foot)
        self.whole = column
        nothing = QWidget()
        empty = QVBoxLayout(nothing)
        empty.setContentsMargins(2 * GRID, 2 * GRID, 2 * GRID, GRID)
        empty.addWidget(self.none)
        empty.addStretch(1)
        self.pages = QStackedWidget()
        self.main, self.nothing = main, nothing
        for page in (main, self.editor, nothing):
            self.pages.addWidget(page)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self.pages)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        mode = "three" if self.width() >= 185 * GRID else "two" if self.width() >= 112 * GRID else "one"
        low = mode == "one" and self.height() < LOW * GRID
        if (mode, low) != (self._mode, self._low):
            self._mode, self._low = mode, low
            self._arrange()
        self.fit_panel()

    def fit_panel(self) -> None:
        """Make the panel as high as it is to its width, and no higher than leaves room for the rest."""
        wide = {"one": self.width() - 6 * GRID, "two": self.width() * 0.5, "three": self.width() * 0.36}
        several = self.panel.panels > 1
        most = 36 * GRID if self._low else self.height() * (0.8 if several else 0.36 if self._mode == "two" else 0.5)
        needed = self.panel.height_for(wide.get(self._mode, 60.0 * GRID))
        self.panel.setFixedHeight(int(max(18 * GRID, min(needed, most))))

    def _arrange(self) -> None:
        """Three columns where there is room; else the panel over the details, or all in one column."""
        mode = self._mode
        parts = (self.middle, self.takes, self.right)
        bodies = {
            "one": (self.left_body,) * 3,
            "two": (self.right_body,) * 3,
            "three": (self.middle_body, self.middle_body, self.right_body),
        }[mode]
        for part, body in zip(parts, bodies, strict=True):
            column = body.layout()
            assert isinstance(column, QBoxLayout)
            column.insertWidget(column.count() - 1, part)
        self._put_low()
        self.middle_area.setVisible(mode == "three")
        self.right_area.setVisible(mode != "one")
        self.rule.setVisible(mode != "one")
        for at, stretch in zip((0, 2, 3), {"one": (1, 0, 0), "two": (5, 0, 6), "three": (5, 6, 5)}[mode], strict=True):
            self.columns.setStretch(at, stretch)

    def _put_low(self) -> None:
        """In a low window let all roll as one column: what stays in view elsewhere would leave room for nothing."""
        systems, body = self.left.layout(), self.left_body.layout()
        assert isinstance(systems, QBoxLayout)
        assert isinstance(body, QBoxLayout)
        if self._low:
            systems.insertWidget(systems.indexOf(self.systems) + 1, self.systems.tools)
            body.insertWidget(body.count() - 1, self.foot)
        elif self.whole.indexOf(self.foot) < 0:
            self.first.addWidget(self.systems.tools)
            self.whole.addWidget(self.foot)
        self.foot_rule.setVisible(not self._low)

    # --- showing -----------------------------------------------------------------------------------

    def show_systems(self, setup: Setup, key: str) -> None:
        names = trialsetup.titles(setup)
        numbers: dict[str, list[str]] = {}
        for number, spot in setup.numbered():
            numbers.setdefault(spot.key, []).append(str(number))
        facts = [
            SystemFacts(
                key=c.key,
                letter=setup.letter(c.key),
                name=names[c.key],
                stack=trialsetup.stack_words(c.rows),
                strips=", ".join(numbers.get(c.key, ())),
                colour=c.colour,
                control=c.control,
                picked=c.key == key,
                against=next(iter(said_words(self.judge.of(setup, c.key).said)), ""),
            )
            for c in setup.systems
        ]
        self.systems.show_systems(facts, begun=setup.begun)
        against = said_words(self.judge.of(setup, key).said)
        self.systems.told.say("\n".join(against))
        self.systems.told.setVisible(bool(against))
        self.systems.show_offers(trialsetup.offers(self.session, setup))
        self.insist.setVisible(trialsetup.wants_control(setup) and len(setup.systems) > 1)

    def show_panel(self, setup: Setup, key: str) -> None:
        names = trialsetup.titles(setup)
        controls = {c.key for c in setup.controls}
        colours = {c.key: c.colour for c in setup.systems}
        values = trialsetup.read(self.session, setup)
        strips = [
            PanelStrip(
                key=str(number),
                number=number,
                label=setup.letter(spot.key),
                words=names.get(spot.key, ""),
                colour=colours.get(spot.key),
                place=spot.place,
                panel=spot.panel,
                control=spot.key in controls,
                marked=spot.key == key,
            )
            for number, spot in setup.numbered()
        ]
        clear = setup.material.face is Face.BEHIND_CLEAR
        self.panel.show_panel(strips, strip_mm=(values.width_mm, values.length_mm), clear=clear)
        self.middle.setVisible(bool(strips))
        self.takes.setVisible(bool(strips))
        self.fit_panel()

    def show_words(self, setup: Setup) -> None:
        faults = trialsetup.faults(self.session, setup)
        proof = trialsetup.strip_words(setup)
        self.count.say(trialsetup.count_words(setup))
        self.foot_words.say(" ".join(proof[:2]) if not faults else faults[0][1], "quiet" if not faults else "ink")
        self.proof.say("\n".join(proof))
        self.proof.setVisible(bool(proof))
        odd = trialsetup.remarks(self.session, setup)
        if setup.begun:
            begun = say(
                "The strips have paint on: name, tests, rest, ageing and note can still be changed, and nothing else."
            )
            odd = (begun, *odd)
        self.odd.say("\n".join(odd))
        self.odd.setVisible(bool(odd))
        amounts = trialsetup.amount_words(self.session, setup)
        self.amounts.say("\n".join(amounts))
        self.amounts.setVisible(bool(amounts))
        self.details.tell_rest(trialsetup.rest_words(self.session, setup))
        self.go.say(say("Set up the trial") if setup.trial is None else say("Change the trial"))
        self.print.setEnabled(setup.strips > 0)

    def complain(self, faults: Sequence[tuple[str, str]]) -> dict[str, Ask]:
        """Say what is wrong at each field; gives all that can be asked, by field."""
        told: dict[str, str] = {}
        for field, words in faults:
            told.setdefault(field, words)
        asks: dict[str, Ask] = {**self.about.asks, **self.details.asks}
        for field, ask in asks.items():
            ask.complain(told.get(field, ""))
        for i, step in enumerate(self.details.steps):
            for name, typed in step.fields.items():
                typed.complain(told.get(f"ageing-{i}-{name}", ""))
        return asks

    def show_focus(self) -> None:
        """Scroll to what has the focus, what was just added included."""
        here = QApplication.focusWidget()
        columns = (
            (self.left_area, self.left_body),
            (self.middle_area, self.middle_body),
            (self.right_area, self.right_body),
        )
        for area, body in columns:
            if here is not None and body.isAncestorOf(here):
                block: QWidget | None = here
                while block is not None and block is not area:  # from within outwards, each knows its new size
                    layout = block.layout()
                    if layout is not None:
                        layout.activate()
                    block = block.parentWidget()
                body.resize(body.width(), max(area.viewport().height(), body.sizeHint().height()))
                area.ensureWidgetVisible(here, 0, 5 * GRID)


def _block(*parts: QWidget) -> QWidget:
    """Put these one below the other."""
    made = QWidget()
    column = QVBoxLayout(made)
    column.setContentsMargins(0, 0, GRID, 0)
    column.setSpacing(2 * GRID)
    for part in parts:
        column.addWidget(part)
    column.addStretch(1)
    return made
