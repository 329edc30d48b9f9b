"""The stage of a trial that is run: what to do next on which strips, large, then all that comes after it."""

from datetime import datetime
from functools import partial
from pathlib import Path

from PySide6.QtCore import QEvent, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.bars import BarLine, FewLines
from benchtool.bench.controls import BenchButton, BigText, Rule, Words, scrolled
from benchtool.bench.look import GRID, Look
from benchtool.bench.trialrows import GUTTER, ActRow, tone_of
from benchtool.bench.trialstrips import StripsSide
from benchtool.job.trials import TrialState
from benchtool.session.due import clock_time
from benchtool.session.session import Session
from benchtool.session.trialrun import Kind, NextAct, TrialRun, run_of
from benchtool.session.trialwords import lower, upper
from benchtool.trade.numbers import pour_figure
from benchtool.trade.saying import say

Key = Qt.Key
_ENTER = frozenset({Key.Key_Return, Key.Key_Enter})
_BY_LETTER = {Key.Key_S: Kind.COAT, Key.Key_D: Kind.FINISH, Key.Key_M: Kind.MIX}
"""What the letters of the bench stand for here: the act in hand alone, never one on the piece that is not seen."""
_HELD = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.MetaModifier
_KEPT = frozenset(
    {*_ENTER, *_BY_LETTER, Key.Key_Up, Key.Key_Down, Key.Key_Left, Key.Key_Right, Key.Key_Space, Key.Key_Home}
)


class RunStage(QWidget):
    """What the strips of a trial ask for. Enter does what stands large; arrows take another act, or another strip.

    `act_asked` gives a `GroupAct`, `mix_asked` the layer that a cup is to be mixed for, which is then in hand.
    """

    said = Signal(str)
    stage_asked = Signal(str)
    act_asked = Signal(object)
    mix_asked = Signal(str)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.look, self.session = look, session
        self.setObjectName("trial-run")
        self.setAccessibleName(say("Run the trial"))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.trial_id: str | None = None
        self._place: tuple[Path | None, str | None] = None, None
        self.rows: list[ActRow] = []
        self._run: TrialRun | None = None
        self._shown: object = None
        self._at = 0
        self._make_parts()
        self._lay_out()
        look.changed.connect(self._redraw)

    # --- the parts -----------------------------------------------------------------------------------

    def _make_parts(self) -> None:
        look = self.look
        self.where = Words(look, "strong", "ink", wrap=False)
        self.where.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.where.setIndent(GUTTER)
        self.numerals = BigText(look, "numerals", indent=GUTTER)
        self.numerals.setObjectName("trial-numerals")
        self.clock_word = Words(look, "small", "quiet", wrap=False)
        self.clock = Words(look, "title", "quiet", wrap=False)
        self.sentence = FewLines(look, "title", "ink", most=3, indent=GUTTER)
        self.bar = BarLine(look, indent=GUTTER)
        self.why = FewLines(look, "body", "quiet", most=2, indent=GUTTER)
        self.caution = FewLines(look, "small", "trouble", most=3, indent=GUTTER)
        self.go = BenchButton(look, "", "Enter", name="trial-go", primary=True)
        self.other = BenchButton(look, "", name="trial-other-answer")
        self.early = BenchButton(look, "", name="trial-early")
        self.go.clicked.connect(lambda _=False: self.do())
        self.other.clicked.connect(lambda _=False: self._answer_other())
        self.early.clicked.connect(lambda _=False: self._do_early())
        self.list = QWidget()
        self._list = QVBoxLayout(self.list)
        self._list.setContentsMargins(0, 0, GRID, 0)
        self._list.setSpacing(0)
        self._list.addStretch(1)
        self.area = scrolled(self.list)
        self.side = StripsSide(look)
        self.side.said.connect(self.said)
        self.side.toggled.connect(self._set_aside)
        for button in (self.go, self.other, self.early):
            button.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # Enter and Space are keys of the stage

    def _lay_out(self) -> None:
        at = QVBoxLayout()
        at.setSpacing(0)
        at.addStretch(1)
        for words in (self.clock_word, self.clock):
            words.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            at.addWidget(words)
        at.addSpacing(GRID)
        big = QHBoxLayout()
        big.addWidget(self.numerals, 1)
        big.addLayout(at)
        acts = QHBoxLayout()
        acts.setContentsMargins(GUTTER, 0, 0, 0)
        acts.setSpacing(GRID)
        acts.addWidget(self.go, 3)
        acts.addWidget(self.other, 2)
        acts.addWidget(self.early, 2)
        left = QVBoxLayout()
        left.setSpacing(GRID // 2)
        left.addWidget(self.where)
        left.addLayout(big)
        for part in (self.sentence, self.bar, self.why, self.caution):
            left.addWidget(part)
        left.addLayout(acts)
        left.addSpacing(GRID // 2)
        left.addWidget(Rule(self.look, upright=False))
        left.addWidget(self.area, 1)
        row = QHBoxLayout(self)
        row.setContentsMargins(GRID, GRID, 2 * GRID, GRID)
        row.setSpacing(2 * GRID)
        row.addLayout(left, 5)
        row.addWidget(self.side, 4)

    # --- what is shown -------------------------------------------------------------------------------

    def ask(self, trial: str | None) -> None:
        """Show this trial; None where there is none yet."""
        self.trial_id = trial
        self._shown = self._run = None
        self.refresh(self.session.now())

    @property
    def trial(self) -> TrialState | None:
        """The trial shown."""
        document = self.session.current
        return document.state.trials.get(self.trial_id or "") if document is not None else None

    @property
    def acts(self) -> tuple[NextAct, ...]:
        """What the strips ask for, the next one first."""
        return self._run.acts if self._run is not None else ()

    @property
    def act(self) -> NextAct | None:
        """The act in hand: the first, unless another was taken."""
        return self.acts[self._at] if self._at < len(self.acts) else None

    def refresh(self, now: datetime) -> None:
        """Draw it as it stands at `now`: all of it where the list has changed, else the countdowns alone."""
        document, trial = self.session.current, self.trial
        place = document.path if document is not None else None, self.trial_id
        if place != self._place:  # the ids of another job's strips may be the same
            self._place, self._at = place, 0
            self.side.turn_to(place)
        run = run_of(self.session, document, trial, now, frozenset(self.side.aside)) if document and trial else None
        shown = (document, trial, run)
        if shown != self._shown or self._shown is None:
            if run is not self._run:
                self._at = 0  # what was first may be so no more: Enter must never do what the eye has not read
            self._shown, self._run = shown, run
            self._show_panel()
            self._show_act(now)
        self._tick(now)

    def _redraw(self) -> None:
        self._shown = None
        if self.isVisible():
            self.refresh(self.session.now())

    def _tick(self, now: datetime) -> None:
        act = self.act
        if act is not None:
            tone = tone_of(act, now)
            self.numerals.show_text(act.numerals(now), tone)
            word, clock = act.clock(now)
            self.clock_word.say(word)
            self.clock.say(clock)
            self.bar.show_bar(act.bar(now), "wait" if tone == "ink" else tone)
        self._show_rows(now)

    def _show_rows(self, now: datetime) -> None:
        """Stand for the acts; only what can be seen is put into words."""
        acts = self.acts
        while len(self.rows) < len(acts):
            row = ActRow(self.look)
            row.setObjectName(f"trial-act-{len(self.rows)}")
            row.clicked.connect(partial(self._take, len(self.rows)))
            self.rows.append(row)
            self._list.insertWidget(len(self.rows) - 1, row)
        several = len(acts) > 1
        for i, row in enumerate(self.rows):
            if row.isHidden() is (several and i < len(acts)):
                row.setVisible(several and i < len(acts))
            if several and i < len(acts):
                row.show_act(acts[i], now, in_hand=i == self._at)

    def _show_act(self, now: datetime) -> None:
        act = self.act
        for part in (self.bar, self.clock, self.clock_word):
            part.setVisible(act is not None)
        if act is None:
            self._show_nothing()
            return
        waits = act.waits(now)
        self.where.say(upper(say("set aside: {strips}", strips=act.who) if act.aside else act.who))
        self.sentence.say(act.words)
        self._show_few(self.why, self._why(act))
        self._show_few(self.caution, say("Caution: {words}", words=act.caution) if act.caution else "")
        self.go.show()
        self.go.setEnabled(not waits or act.kind is Kind.MIX)
        self.go.say(self._go_words(act, now), primary=not waits)
        self.other.setVisible(act.other is not None and not waits)
        self.other.say(act.other.title if act.other is not None else "")
        self.early.setVisible(waits and act.act is not None)
        self.early.say(say("Start it anyway") if act.kind is Kind.COAT else say("It is done already"))

    def _show_nothing(self) -> None:
        trial = self.trial
        head, words, go = say("No trial"), say("There is none in this job yet: 1 sets one up."), say("Set up a trial")
        if trial is not None and trial.ended_at is not None:
            head, go = say("Done"), say("Compare them")
            words = say("These strips were put away: nothing of them is waited for. 4 compares them.")
        elif trial is not None:
            head, go = say("Done"), say("Compare them")
            words = say("All strips are graded: 4 compares them.")
            if not trial.plan.methods:
                words = say("All that was planned is done: 4 compares what was graded.")
        self.where.say("")
        self.numerals.show_text(head, "ink")
        self.sentence.say(words)
        self.go.say(go, primary=True)
        self.go.setEnabled(True)
        for part in (self.why, self.caution, self.other, self.early):
            part.hide()

    def _show_few(self, part: FewLines, words: str) -> None:
        part.say(words)
        part.setVisible(bool(words))

    def _why(self, act: NextAct) -> str:
        if act.amount_mL is not None:
            amount = pour_figure(act.amount_mL)
            return say("These strips take about {mL} mL ready to spray, and what the gun holds.", mL=amount)
        return act.why

    def _go_words(self, act: NextAct, now: datetime) -> str:
        if act.goes == "mix":
            return say("To the cup")
        if act.waits(now):
            if act.never or act.due_at is None:
                return say("Not in this air")
            return say("Wait until {time}", time=clock_time(act.due_at, now, up=True))
        if act.goes == "grade":
            return say("Grade them")
        return act.act.title if act.act is not None else say("To the set-up")

    # --- the strips ----------------------------------------------------------------------------------

    def _show_panel(self) -> None:
        document, act = self.session.current, self.act
        marked = act.strips if act is not None else ()
        self.side.show_strips(document.state if document is not None else None, self.trial, self._run, marked)

    def _set_aside(self) -> None:
        self.refresh(self.session.now())

    # --- acts ----------------------------------------------------------------------------------------

    def _take(self, index: int, _: bool = False) -> None:
        """Take another act in hand."""
        if 0 <= index < len(self.acts) and index != self._at:
            self._at, now = index, self.session.now()
            self._show_act(now)
            self._show_panel()
            self._tick(now)
            QTimer.singleShot(0, self, self._roll)

    def _roll(self) -> None:
        if self._at < len(self.rows):
            self.area.ensureWidgetVisible(self.rows[self._at], 0, GRID)

    def do(self) -> None:
        """Do the act in hand; where it has to be waited for, say until when."""
        act, now = self.act, self.session.now()
        if act is None:
            self.stage_asked.emit("setup" if self.trial is None else "compare")
        elif act.waits(now) and act.kind is not Kind.MIX:
            self.said.emit(f"{self._go_words(act, now)}: {lower(act.words)}")
        elif act.act is not None:
            self.act_asked.emit(act.act)
        else:
            self.session.pick(act.strips[0], act.layer)
            if act.goes == "mix" and act.layer is not None:
                self.mix_asked.emit(act.layer)
            else:
                self.stage_asked.emit(act.goes)

    def do_by_letter(self, kind: Kind) -> None:
        """Do the act in hand where it is of this kind; where it is not, say what it is."""
        act = self.act
        if act is not None and act.kind is kind:
            self.do()
        elif act is not None:
            self.said.emit(say("What comes next here is: {words}", words=lower(act.words)))

    def _answer_other(self) -> None:
        if self.act is not None and self.act.other is not None:
            self.act_asked.emit(self.act.other)

    def _do_early(self) -> None:
        if self.act is not None and self.act.act is not None:
            self.act_asked.emit(self.act.act)

    # --- the keyboard --------------------------------------------------------------------------------

    def event(self, event: QEvent) -> bool:
        """Keep for the stage its own keys: elsewhere in the window they are keys of other acts."""
        over = event.type() is QEvent.Type.ShortcutOverride
        if over and isinstance(event, QKeyEvent) and event.key() in _KEPT and not event.modifiers() & _HELD:
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if not self.take_key(event):
            super().keyPressEvent(event)

    def take_key(self, event: QKeyEvent) -> bool:
        """Take a key that nobody took; says whether it was one of the stage."""
        key = event.key()
        if event.modifiers() & _HELD:
            return False  # the Ctrl+Enter that set the trial up, pressed twice, logs no step
        if key in _ENTER:
            if not event.isAutoRepeat():  # a key that is held down starts no second coat
                self.do()
        elif key in _BY_LETTER:
            if not event.isAutoRepeat():
                self.do_by_letter(_BY_LETTER[Key(key)])
        elif key in (Key.Key_Up, Key.Key_Down):
            self._take(self._at + (1 if key == Key.Key_Down else -1))
        elif key == Key.Key_Home:
            self._take(0)
        elif key in (Key.Key_Left, Key.Key_Right):
            self.side.move_on(1 if key == Key.Key_Right else -1)
        elif key == Key.Key_Space:
            if not event.isAutoRepeat():
                self.side.toggle_strip()
        else:
            return False
        event.accept()
        return True

    def resizeEvent(self, event: QResizeEvent) -> None:
        self.numerals.make_room(int(event.size().height() * 0.2))
        super().resizeEvent(event)
