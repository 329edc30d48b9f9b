"""The page of a trial: set up, run, grade, compare, and what earlier trials found. One stage is seen at a time."""

from collections.abc import Callable
from datetime import datetime
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QApplication,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QPlainTextEdit,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from benchtool.bench.controls import BenchButton, Rule, Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.tips import plain_tip
from benchtool.bench.trialstage import StageButton
from benchtool.bench.typedkeys import is_typed
from benchtool.job.trialcompared import strips_done
from benchtool.job.trials import TrialState
from benchtool.session.gradeentry import told
from benchtool.session.session import Document, Session
from benchtool.trade.grades import Method
from benchtool.trade.saying import say, say_n

if TYPE_CHECKING:
    from benchtool.bench.photograde import PhotoPage
    from benchtool.bench.trialcompare import CompareStage
    from benchtool.bench.trialgrade import GradeStage
    from benchtool.bench.trialpast import PastStage
    from benchtool.bench.trialrun import RunStage
    from benchtool.bench.trialsetup import SetupStage
    from benchtool.session.trialgrading import Spot

    HalfSetUp = tuple[Document, str | None]
    HalfTyped = tuple[Path, str, Spot]
    Brushed = tuple[Path, str, str, Method]

STAGES = ("setup", "run", "grade", "compare", "past")
"""The stages in the order of their digits."""


class Stage(Protocol):
    """What the page asks of each of its stages."""

    def ask(self, trial: str | None) -> None:
        """Show this trial; None where there is none yet."""

    def refresh(self, now: datetime) -> None:
        """Draw it as it stands at `now`."""


class TrialPage(QWidget):
    """All of a trial. The trial shown is the one in hand of the job in hand, else its newest."""

    left = Signal()
    said = Signal(str)
    act_asked = Signal(object)
    mix_asked = Signal(str)
    card_asked = Signal(object)
    cards_asked = Signal()
    again = Signal()

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.look, self.session = look, session
        self.setObjectName("trial-page")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.trial_id: str | None = None
        self._document: Document | None = None
        self._shown: tuple[object, ...] | None = None
        self.name = Words(look, "strong", "ink", wrap=False)
        self.name.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.about = Words(look, "small", "quiet", wrap=False)
        self.about.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.other = BenchButton(look, say("Other trial"), "6", name="trial-other")
        self.other.clicked.connect(self.next_trial)
        self.new = BenchButton(look, say("New trial"), "7", name="trial-new")
        self.new.clicked.connect(self.new_trial)
        self.back = BenchButton(look, say("Back"), "Esc", name="trial-back")
        self.back.clicked.connect(lambda _=False: self.left.emit())
        names = {
            "setup": say("Set up"), "run": say("Run"), "grade": say("Grade"), "compare": say("Compare"),
            "past": say("Earlier trials"),
        }  # fmt: skip
        self.stage_buttons = {key: StageButton(look, i, names[key]) for i, key in enumerate(STAGES, start=1)}
        self.stages = QStackedWidget()
        self.stage = ""
        self._lay_out()
        for key, button in self.stage_buttons.items():
            button.clicked.connect(lambda _=False, k=key: self.show_stage(k))
        for digit in range(1, len(STAGES) + 3):
            shortcut = QShortcut(QKeySequence(f"Ctrl+{digit}"), self)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            shortcut.activated.connect(partial(self.take_digit, digit))
        application = QApplication.instance()
        if isinstance(application, QApplication):
            application.focusChanged.connect(self._show_keys)

    def _lay_out(self) -> None:
        titles = QVBoxLayout()
        titles.setSpacing(0)
        titles.addStretch(1)
        titles.addWidget(self.name)
        titles.addWidget(self.about)
        titles.addStretch(1)
        top = QHBoxLayout()
        top.setContentsMargins(2 * GRID, GRID // 2, 2 * GRID, GRID // 2)
        top.setSpacing(GRID)
        top.addLayout(titles, 4)
        for button in self.stage_buttons.values():
            top.addWidget(button, 3)
        for act in (self.other, self.new, self.back):
            act.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
            top.addWidget(act)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(top)
        column.addWidget(Rule(self.look, upright=False))
        column.addWidget(self.stages, 1)

    # --- the stages, each made when it is first asked for --------------------------------------------

    @cached_property
    def setup(self) -> "SetupStage":
        """Sets up a trial, or changes one."""
        from benchtool.bench.trialsetup import SetupStage

        stage = SetupStage(self.look, self.session)
        stage.card_asked.connect(self.card_asked)
        stage.cards_asked.connect(self.cards_asked)
        self._add(stage)
        return stage

    @cached_property
    def run(self) -> "RunStage":
        """What to do next on the strips."""
        from benchtool.bench.trialrun import RunStage

        stage = RunStage(self.look, self.session)
        stage.act_asked.connect(self.act_asked)
        stage.mix_asked.connect(self.mix_asked)
        self._add(stage)
        return stage

    @cached_property
    def grade(self) -> "GradeStage":
        """Judges the strips."""
        from benchtool.bench.trialgrade import GradeStage

        stage = GradeStage(self.look, self.session)
        stage.photo_asked.connect(self._ask_photo)
        self._add(stage)
        return stage

    @cached_property
    def compare(self) -> "CompareStage":
        """What the trial found."""
        from benchtool.bench.trialcompare import CompareStage

        stage = CompareStage(self.look, self.session)
        self._add(stage)
        return stage

    @cached_property
    def past(self) -> "PastStage":
        """What earlier trials found."""
        from benchtool.bench.trialpast import PastStage

        stage = PastStage(self.look, self.session, self.session.recent)
        stage.like_asked.connect(self._set_up_like)
        self._add(stage)
        return stage

    def _set_up_like(self, systems: object) -> None:
        self.new_trial()
        self.setup.take_like(systems)  # type: ignore[arg-type]

    @cached_property
    def photo(self) -> "PhotoPage":
        """Measures a photo of a cross-cut."""
        from benchtool.bench.photograde import PhotoPage

        page = PhotoPage(self.look, self.session)
        page.said.connect(self.said)
        page.left.connect(lambda: self.show_stage("grade"))
        page.measured.connect(self._take_measured)
        self.stages.addWidget(page)
        return page

    def _add(self, stage: "SetupStage | RunStage | GradeStage | CompareStage | PastStage") -> None:
        stage.said.connect(self.said)
        stage.stage_asked.connect(self.show_stage)
        self.stages.addWidget(stage)

    def _stage_of(self, key: str) -> "SetupStage | RunStage | GradeStage | CompareStage | PastStage":
        made: dict[str, Callable[[], SetupStage | RunStage | GradeStage | CompareStage | PastStage]] = {
            "setup": lambda: self.setup, "run": lambda: self.run, "grade": lambda: self.grade,
            "compare": lambda: self.compare, "past": lambda: self.past,
        }  # fmt: skip
        return made[key]()

    def _ask_photo(self, trial: str, strip: str, method: Method) -> None:
        document = self.session.current
        piece = document.state.pieces.get(strip) if document is not None else None
        cuts = told(method, piece, self.session.tables)[0].cuts
        self.photo.ask(trial, strip, method, *((cuts,) if cuts is not None else ()))
        self.stages.setCurrentWidget(self.photo)
        self.photo.setFocus()

    def _take_measured(self, *told: object) -> None:
        self.show_stage("grade")
        self.grade.take_measured(*told)  # type: ignore[arg-type]

    @property
    def half_typed(self) -> bool:
        """Whether a trial is half set up, or a grade half typed, of any open job."""
        return any(found is not None for found in self._half())

    @property
    def half_is_kept(self) -> bool:
        """Whether all that is half done is a new trial, which lies on disk and is there again at the next start."""
        set_up, *others = self._half()
        return set_up is not None and set_up[1] is None and not any(others) and self.setup.keeper.drafts is not None

    def show_half_typed(self) -> None:
        """Go to what is half set up, else to the grade that is half typed, or the photo that is not taken yet."""
        set_up, grade, photo = self._half()
        if set_up is not None:
            document, self.trial_id = set_up
            self._go_to(document, "setup")
        elif grade is not None:
            path, self.trial_id, spot = grade
            self._go_to(next(d for d in self.session.documents if d.path == path), "grade")
            self.grade.turn_to(spot)
        elif photo is not None:
            path, self.trial_id, strip, method = photo
            self._go_to(next(d for d in self.session.documents if d.path == path), "grade")
            self._ask_photo(self.trial_id, strip, method)

    def _half(self) -> "tuple[HalfSetUp | None, HalfTyped | None, Brushed | None]":
        """Give what is half done on the stages that were made, of any open job."""
        made, open_ = self.__dict__, {d.path for d in self.session.documents}
        photo = self.photo.brushed if "photo" in made else None
        return (
            self.setup.half_done if "setup" in made else None,
            self.grade.half_typed if "grade" in made else None,
            photo if photo is not None and photo[0] in open_ else None,
        )

    def _go_to(self, document: Document, stage: str) -> None:
        self._document = document
        self.session.pick_document(document)
        self.show_stage(stage)

    # --- which trial, which stage --------------------------------------------------------------------

    def trials(self) -> list[TrialState]:
        """Give the trials of the job in hand, those that are not put away first, the newest of them first."""
        document = self.session.current
        found = list(document.state.trials.values()) if document is not None else []
        newest_first = found[::-1]
        return sorted(newest_first, key=lambda t: t.ended_at is not None)

    @property
    def trial(self) -> TrialState | None:
        """The trial shown."""
        return next((t for t in self.trials() if t.id == self.trial_id), None)

    def ask(self, trial: str | None = None, stage: str = "") -> None:
        """Show a trial (else the one of the strip in hand, the one shown last, the newest), where it stands."""
        there = self.trials()
        piece = self.session.piece
        in_hand = piece.piece.strip_of if piece is not None else None
        wanted = [t for t in (trial, in_hand, self.trial_id) if t is not None]
        kept = [w for w in wanted if any(t.id == w for t in there)]
        before, self.trial_id = self.trial_id, kept[0] if kept else (there[0].id if there else None)
        self._shown, self._document = None, self.session.current
        same = self.trial_id == before and self.stage
        self.show_stage(stage or (self.stage if same else "") or self._usual_stage())

    def _usual_stage(self) -> str:
        trial = self.trial
        if trial is None:
            return "setup"
        return "compare" if trial.ended_at is not None else "run"

    def next_trial(self) -> None:
        """Show the next trial of this job."""
        there = self.trials()
        if len(there) < 2:
            self.said.emit(say("This job has no other trial."))
            return
        ids = [t.id for t in there]
        at = ids.index(self.trial_id) if self.trial_id in ids else -1
        self.trial_id, self.stage = ids[(at + 1) % len(ids)], ""
        self.ask(self.trial_id)

    def new_trial(self) -> None:
        """Set up one more trial."""
        self.trial_id = None
        self.show_stage("setup")

    def show_stage(self, key: str) -> None:
        """Show one of the stages. A trial that was just set up, or is in hand, is shown in it."""
        if key not in STAGES:
            return
        there = self.trials()
        if key != "setup" and self.trial is None and there:
            self.trial_id = there[0].id
        self.stage, self._shown = key, None
        for name, button in self.stage_buttons.items():
            button.setChecked(name == key)
        stage = self._stage_of(key)
        stays = stage.isAncestorOf(self.window().focusWidget())  # before the stage seen till now hands the focus on
        stage.ask(self.trial_id)
        self.stages.setCurrentWidget(stage)
        if "photo" in self.__dict__:
            self.photo.let_go()
        self.refresh(self.session.now())
        if not stays:
            stage.setFocus()

    @property
    def stage_seen(self) -> str:
        """The stage that is seen, or `photo`."""
        photo = "photo" in self.__dict__ and self.stages.currentWidget() is self.photo
        return "photo" if photo else self.stage

    def leave_field(self) -> bool:
        """Leave a field of a stage in which something is typed, which stays there; says whether there was one."""
        field = self.window().focusWidget()
        stage = self.stages.currentWidget()
        if not isinstance(field, QLineEdit | QPlainTextEdit) or stage is None or not stage.isAncestorOf(field):
            return False
        if field.isReadOnly() or not (field.text() if isinstance(field, QLineEdit) else field.toPlainText()):
            return False
        stage.setFocus()
        if isinstance(self.window().focusWidget(), QLineEdit | QPlainTextEdit):  # a stage that begins with a field
            self.stage_buttons[self.stage].setFocus()
        return True

    def refresh(self, now: datetime) -> None:
        """Draw what is seen as it stands at `now`."""
        if self.session.current is not self._document and self.stage:
            self.ask()  # the ids of another job's trials may be the same
            return
        if self.trial_id is not None and self.trial is None and self.stage:
            self.ask()  # its setting up was taken back
            return
        document, trial = self.session.current, self.trial
        shown = (document.job if document is not None else None, self.trial_id, self.stage)
        if shown != self._shown:
            self._shown = shown
            self._name(trial)
        current = self.stages.currentWidget()
        if "photo" in self.__dict__ and current is self.photo:
            return
        if self.stage:
            self._stage_of(self.stage).refresh(now)

    def _name(self, trial: TrialState | None) -> None:
        several = len(self.trials()) > 1
        self.other.setVisible(several)
        if trial is None:
            self.name.say(say("A new trial"))
            self.about.say(say("Test strips beside a bare control"))
            for key, button in self.stage_buttons.items():
                button.tell(say("in all your jobs") if key == "past" else say("not yet"))
            return
        self.name.say(trial.plan.name)
        self.name.setToolTip(plain_tip(trial.plan.name))
        counted = say_n("{n} strip", "{n} strips", len(trial.plan.strips))
        about = say("{strips}, put away", strips=counted) if trial.ended_at is not None else counted
        self.about.say(about)
        self._tell_how_far(trial)

    def _tell_how_far(self, trial: TrialState) -> None:
        """Say under the name of each stage how far it is."""
        count = len(trial.plan.strips)
        document = self.session.current
        graded = strips_done(document.state, trial) if document is not None else 0
        pieces = document.state.pieces if document is not None else {}
        strips = [pieces[s.piece] for s in trial.plan.strips if s.piece in pieces]
        painted = sum(1 for p in strips if p.layers and p.layers[-1].finished)
        told = {
            "setup": say_n("{n} system", "{n} systems", len(trial.plan.systems)),
            "run": say("{n} of {all} painted", n=painted, all=count),
            "grade": say("{n} of {all} done", n=graded, all=count),
            "compare": say("one is chosen") if trial.chosen else say("none chosen yet"),
            "past": say("in all your jobs"),
        }
        for key, words in told.items():
            self.stage_buttons[key].tell(words)

    # --- keys ------------------------------------------------------------------------------------------

    def take_digit(self, digit: int) -> bool:
        """Take a digit that no field wanted: the stages 1 to 5, 6 the next trial, 7 a new one."""
        acts: dict[int, Callable[[], None]] = {i: partial(self.show_stage, k) for i, k in enumerate(STAGES, start=1)}
        acts |= {6: self.next_trial, 7: self.new_trial}
        if "photo" in self.__dict__ and self.stages.currentWidget() is self.photo:
            return True  # it is left by Esc or by taking what was measured
        if digit in acts and STAGES[digit - 1 : digit] != (self.stage,):  # where one is already, nothing is turned
            acts[digit]()
        return True

    def _show_keys(self, _before: QWidget | None, here: QWidget | None) -> None:
        """Show the keys by which the stages are reached from here: in a field a digit is typed."""
        if here is None or not self.isAncestorOf(here):
            return
        held = "Ctrl+" if isinstance(here, QLineEdit | QPlainTextEdit) else ""
        for button in self.stage_buttons.values():
            button.show_key(f"{held}{button.digit}")
        for act, digit in ((self.other, "6"), (self.new, "7")):
            act.key = "" if held else digit  # its room stays: nothing moves under the hand
            act.update()

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        stage = self.stages.currentWidget()
        if stage is not None:
            stage.setFocus()  # the keys are its own

    def event(self, event: QEvent) -> bool:
        # On this page letters belong to its fields and stages, not to the acts of the bench.
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            focus = self.window().focusWidget()
            gives_way = getattr(focus, "gives_way", None)  # the empty line for a grade lets acts of the bench through
            typing = isinstance(focus, QLineEdit | QPlainTextEdit) and not (gives_way is not None and gives_way(event))
            narrows = isinstance(focus, QListWidget) and Qt.Key.Key_A <= event.key() <= Qt.Key.Key_Z  # finds a line
            if (typing or narrows) and is_typed(event):
                event.accept()
                return True
        return super().event(event)
