"""The strips of a trial that is run, beside the list of acts: the panel, the strip in hand, and what is set aside."""

from collections.abc import Iterator, Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Words, scrolled
from benchtool.bench.look import GRID, Look
from benchtool.bench.paneldraw import PanelDrawing, PanelStrip
from benchtool.job.events import Face
from benchtool.job.state import State
from benchtool.job.trialnumbers import StripNumber, strip_numbers
from benchtool.job.trialplan import MOST_SYSTEMS
from benchtool.job.trials import TrialState
from benchtool.session.trialrun import TrialRun
from benchtool.session.trialwords import strips_words
from benchtool.trade.panel import lay_out
from benchtool.trade.saying import say

LETTERS = "ABCDEFGHIJKL"[:MOST_SYSTEMS]


class StripsSide(QWidget):
    """The panel with each strip's state, and the strip in hand with its system. `toggled` says that `aside` changed.

    A strip that is set aside, such as one that fell on the floor, is left out of what is done next until it is taken
    in again. That is no part of the record.
    """

    said = Signal(str)
    toggled = Signal()

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.aside: set[str] = set()
        self._asides: dict[object, set[str]] = {}
        self.strip: str | None = None
        self._given: tuple[State | None, TrialState | None, TrialRun | None, tuple[str, ...]] = (None, None, None, ())
        self._order: list[str] = []
        self._numbers: dict[str, StripNumber] = {}
        self._aspect = 0.4
        self.panel = PanelDrawing(look, "trial-run-panel")
        self.panel.picked.connect(self.take)
        self.systems = Words(look, "small", "quiet")
        self.systems.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.told = Words(look, "body", "ink")
        self.toggle = BenchButton(look, "", say("Space"), name="trial-aside")
        self.toggle.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # Space is a key of the stage
        self.toggle.clicked.connect(lambda _=False: self.toggle_strip())
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID)
        shown = QWidget()  # the panel and its key roll together: in a low window neither lies over the other
        inner = QVBoxLayout(shown)
        inner.setContentsMargins(0, 0, 0, 0)
        inner.setSpacing(GRID)
        inner.addWidget(self.panel)
        inner.addWidget(self.systems)
        inner.addStretch(1)
        column.addWidget(scrolled(shown), 1)
        column.addWidget(self.told)
        column.addWidget(self.toggle)

    def aside_of(self, place: object) -> frozenset[str]:
        """Give the strips that are set aside in a trial of a job."""
        return frozenset(self._asides.get(place, ()))

    def turn_to(self, place: object) -> None:
        """Have no strip in hand, and those set aside that were so in this trial of this job."""
        self.aside, self.strip = self._asides.setdefault(place, set()), None

    def show_strips(
        self, state: State | None, trial: TrialState | None, run: TrialRun | None, marked: Sequence[str]
    ) -> None:
        """Show the strips as the run has them; those `marked` are what the act in hand is about."""
        self._given = (state, trial, run, tuple(marked))
        self._show()

    def _show(self) -> None:
        state, trial, run, marked = self._given
        if state is None or trial is None or run is None:
            self._order = []
            self.panel.show_panel(())
            self.systems.say("")
            self._tell(None)
            return
        numbers = strip_numbers(trial)
        self._order, self._numbers = list(numbers), numbers
        if self.strip not in numbers:
            self.strip = None
        strips = [self._strip(trial, run, piece, number, marked) for piece, number in numbers.items()]
        first = next((state.pieces[p] for p in self._order if p in state.pieces), None)
        clear = first is not None and first.piece.face is Face.BEHIND_CLEAR
        size = trial.plan.strip_width_mm, trial.plan.strip_length_mm
        self.panel.show_panel(strips, strip_mm=size, clear=clear)
        self._aspect = _aspect(strips, size)
        self._fit()
        self.systems.say("\n".join(_lines(trial, run, numbers)))
        self._tell(next((s for s in strips if s.key == self.strip), None))

    def _strip(
        self, trial: TrialState, run: TrialRun, piece: str, number: StripNumber, marked: Sequence[str]
    ) -> PanelStrip:
        strip = trial.strip(piece)
        system = trial.system(strip.system) if strip is not None else None
        at = trial.plan.systems.index(system) if system is not None else 0
        return PanelStrip(
            key=piece,
            number=number,
            label=LETTERS[at],
            words=system.name if system is not None else "",
            colour=system.colour if system is not None else None,
            place=strip.place if strip is not None else 0,
            panel=strip.panel if strip is not None else 1,
            control=system is not None and system.control,
            picked=piece == self.strip,
            marked=piece in marked,
            off=piece in self.aside,
            state=run.states.get(piece, ""),
        )

    def _tell(self, strip: PanelStrip | None) -> None:
        run = self._given[2]
        busy = run is not None and not run.over
        self.toggle.setVisible(strip is not None and busy)
        if strip is None:
            self.told.say(say("Left and right, or a tap, take a strip in hand, to set it aside.") if busy else "")
            return
        control = say("control") if strip.control and strip.words.lower() != say("control") else ""
        name = ", ".join(filter(None, (f"{strip.label} {strip.words}", control)))
        state = ", ".join(filter(None, (strip.state, say("set aside") if strip.off else "")))
        self.told.say(
            say("Strip {number}, {name}: {state}.", number=strip.number, name=name, state=state or say("done"))
        )
        again = say("Take strip {number} in again", number=strip.number)
        self.toggle.say(again if strip.off else say("Set strip {number} aside", number=strip.number))

    def _fit(self) -> None:
        """Give the panel the height that its width asks for, but leave room below it."""
        self.panel.setFixedHeight(int(max(14 * GRID, min(self.width() * self._aspect + 2 * GRID, self.height() * 0.6))))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    # --- the strip in hand ---------------------------------------------------------------------------

    def take(self, piece: str) -> None:
        """Take a strip in hand."""
        self.strip = piece
        self._show()

    def move_on(self, step: int) -> None:
        """Take the next strip in hand, or the one before."""
        if self._order:
            before = -1 if step > 0 else 0
            at = self._order.index(self.strip) if self.strip in self._order else before
            self.take(self._order[(at + step) % len(self._order)])

    def toggle_strip(self) -> None:
        """Set the strip in hand aside, or take it in again."""
        if self.strip is None or self.strip not in self._order:
            if self._order:
                self.said.emit(say("Take a strip in hand first: left and right."))
            return
        number = self._numbers[self.strip]
        self.aside ^= {self.strip}
        out = self.strip in self.aside
        self.toggled.emit()
        aside = say("Strip {number} is set aside: what is done next leaves it out.", number=number)
        self.said.emit(aside if out else say("Strip {number} is in again.", number=number))


def _aspect(strips: Sequence[PanelStrip], size: tuple[float, float]) -> float:
    """Give how high the panels one below the other are, for their width."""
    counts: dict[int, int] = {}
    for s in strips:
        counts[s.panel] = max(counts.get(s.panel, 0), s.place + 1)
    panels = [lay_out(n, *size) for n in counts.values()]
    widest = max((p.width_mm for p in panels), default=1.0)
    return sum(p.height_mm for p in panels) / widest


def _lines(trial: TrialState, run: TrialRun, numbers: dict[str, StripNumber]) -> Iterator[str]:
    """Say of each system how its strips are: the panel has no room for whole names."""
    for letter, system in zip(LETTERS, trial.plan.systems, strict=False):
        states: dict[str, list[StripNumber]] = {}
        for strip in trial.strips_of(system.id):
            states.setdefault(run.states.get(strip.piece, ""), []).append(numbers[strip.piece])
        told = "; ".join(
            say("{strips}: {state}", strips=strips_words(of), state=state or say("done"))
            for state, of in states.items()
        )
        yield say("{letter}  {system}  ({told})", letter=letter, system=system.name, told=told)
