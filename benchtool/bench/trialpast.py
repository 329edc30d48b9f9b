"""The stage of earlier trials: what was tried on what, how many strips stand behind it, and the trials themselves."""

from collections.abc import Callable, Sequence
from datetime import datetime

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QHideEvent, QKeyEvent, QShowEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QHBoxLayout,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from benchtool.bench.controls import BenchButton, Rule, Words, scrolled
from benchtool.bench.look import GRID, Look
from benchtool.bench.pagereading import PageReading
from benchtool.bench.planlists import PickList, PickRow
from benchtool.bench.tips import plain_tip
from benchtool.bench.trialparagraphs import Paragraphs
from benchtool.bench.trialtext import TrialText
from benchtool.session.jobreading import Progress
from benchtool.session.pastfound import PastTrial
from benchtool.session.pastpools import Behind, Pool, behind_words, doubt_words, how_to_search, lot_words, row_words
from benchtool.session.pasttrials import Past, PastTrials
from benchtool.session.session import NotNow, Session
from benchtool.trade.saying import say, say_n

MOST_ROWS = 300
"""So many lines are listed at once; of more, the painter is asked to search for less."""


MOVING = frozenset(
    {
        Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_PageUp, Qt.Key.Key_PageDown,
        Qt.Key.Key_Home, Qt.Key.Key_End,
    }
)  # fmt: skip


class PastStage(QWidget):
    """Searches what earlier trials found. Up and Down choose, Enter goes on to the trials and shows one as text."""

    said = Signal(str)
    stage_asked = Signal(str)
    act_asked = Signal(object)
    like_asked = Signal(object)
    """The systems of a trial: (name, control, stack) for each."""

    def __init__(self, look: Look, session: Session, recent: Callable[[], Sequence[str]] = tuple) -> None:
        super().__init__()
        self.look, self.session = look, session
        self.past = PastTrials(session, recent)
        self.setObjectName("trial-past")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.pools: tuple[Pool, ...] = ()
        self.pool: Pool | None = None
        self._behind: tuple[Behind, ...] = ()
        self._shown: tuple[object, ...] = ()
        self._make(look)
        self._lay_out(look)
        self._connect()

    # --- making ------------------------------------------------------------------------------------

    def _make(self, look: Look) -> None:
        self.steps = PageReading(self, self.past.reading)
        self.list = PickList(look, say("Search earlier trials"), "trial-past", search=how_to_search(), rows=3)
        self.empty = Words(look, "body", "quiet")
        self.empty.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.title = Words(look, "strong", "ink")
        self.about = Words(look, "body", "quiet")
        self.statements = Paragraphs(look, "body", "ink", gap=GRID)
        self.lots = Paragraphs(look, "body", "ink", title=say("Each lot by itself"))
        self.doubt = Words(look, "small", "quiet")
        self.trials = PickList(look, say("The trials behind it"), "trial-past-trials", rows=2)
        self.progress = Words(look, "small", "quiet")
        self.faults = Words(look, "small", "trouble", wrap=False)
        self.faults.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.faults.hide()
        self.stop = BenchButton(look, say("Stop reading"), "F5", name="trial-past-stop")
        self.show_it = BenchButton(look, say("Show this trial"), "Enter", name="trial-past-show", primary=True)
        self.again = BenchButton(look, say("Set up a trial like this"), "Ctrl+Enter", name="trial-past-like")
        self.reader = TrialText(look)
        self.back = BenchButton(look, say("Back to the list"), "Esc", name="trial-past-back")

    def _lay_out(self, look: Look) -> None:
        self.main, self.pages = QWidget(), QStackedWidget()
        self.side = self._side()
        sides = QHBoxLayout(self.main)
        sides.setContentsMargins(0, 0, 0, 0)
        sides.setSpacing(2 * GRID)
        self.left = QVBoxLayout()
        self.left.setSpacing(GRID)
        self.left.addWidget(self.list, 1)
        self.left.addWidget(self.empty, 1)
        sides.addLayout(self.left, 5)
        sides.addWidget(self.side, 6)
        for part in (self.main, self.reader):
            self.pages.addWidget(part)
        foot = QHBoxLayout()
        foot.setSpacing(GRID)
        foot.addWidget(self.progress, 1)
        for button in (self.stop, self.again, self.show_it, self.back):
            button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
            foot.addWidget(button)
        column = QVBoxLayout(self)
        column.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        column.setSpacing(GRID)
        column.addWidget(self.pages, 1)
        column.addWidget(Rule(look, upright=False))
        column.addWidget(self.faults)
        column.addLayout(foot)

    def _side(self) -> QWidget:
        body = QWidget()
        inner = QVBoxLayout(body)
        inner.setContentsMargins(0, 0, GRID, 0)
        inner.setSpacing(GRID)
        for part in (self.title, self.about, self.statements, self.lots, self.doubt):
            inner.addWidget(part)
        inner.addStretch(1)
        self.area = scrolled(body)
        side = QWidget()
        column = QVBoxLayout(side)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID)
        column.addWidget(self.area, 3)
        column.addWidget(self.trials, 2)
        return side

    def _connect(self) -> None:
        self.steps.stepped.connect(self._progressed)
        self.steps.done.connect(self._take)
        self.steps.failed.connect(lambda _: self._take(self.past.gather()))
        self.steps.begun.connect(self._allow)
        self.steps.stopped.connect(lambda: self._take(self.past.gather()))
        self.list.searched.connect(lambda _: self._narrow())
        self.list.chosen.connect(self._pick)
        self.list.list.itemDoubleClicked.connect(lambda _: self._go_on())
        self.trials.list.itemDoubleClicked.connect(lambda _: self.read_out())
        self.list.search.edit.installEventFilter(self)
        self.stop.clicked.connect(lambda _=False: self.steps.turn())
        self.show_it.clicked.connect(lambda _=False: self.read_out())
        self.again.clicked.connect(lambda _=False: self.set_up_like())
        self.back.clicked.connect(lambda _=False: self.leave_text())

    # --- reading the files ---------------------------------------------------------------------------

    def ask(self, trial: str | None) -> None:
        """Look at the folders again. All trials are shown, whichever is in hand."""
        self.setFocusProxy(self.list.search.edit)
        self.leave_text()
        self.steps.ask()
        self._take(self.past.gather())

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.steps.seen()

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self.steps.unseen()

    def _progressed(self, told: Progress | None) -> None:
        if told is not None and told.of and self.steps.busy:
            self.progress.say(told.words)

    def refresh(self, now: datetime) -> None:
        """Draw it anew where an open job has changed."""
        if self.isVisible() and not self.steps.busy and self._shown != self._now():
            self._take(self.past.gather())

    def _now(self) -> tuple[object, ...]:
        return tuple(d.job for d in self.session.documents)

    # --- the list ------------------------------------------------------------------------------------

    def _take(self, past: Past) -> None:
        self._shown = self._now()
        self.progress.say(past.words)
        self.faults.say(past.fault_words)
        self.faults.setToolTip(plain_tip("\n".join(f"{f.path}: {f.words}" for f in past.faults[:40])))
        self.faults.setVisible(bool(past.faults))
        self._narrow()

    def _narrow(self) -> None:
        """Show what answers to what is typed; what was in hand stays so where it is among it."""
        held = self.pool
        found = self.past.find(self.list.search.text())
        self.pools = found.pools
        rows = [PickRow(str(i), p.first.stack, row_words(p)) for i, p in enumerate(found.pools[:MOST_ROWS])]
        keys = [p.key for p in found.pools[:MOST_ROWS]]
        at = keys.index(held.key) if held is not None and held.key in keys else 0
        self.list.fill(rows, str(at) if rows else None)
        self._tell(found.told, found.wrong)
        self.pool = found.pools[at] if rows else None
        self._say_empty()
        self._show_pool()

    def _tell(self, told: str, wrong: str) -> None:
        count = say_n("{n} shown", "{n} shown", min(len(self.pools), MOST_ROWS))
        if len(self.pools) > MOST_ROWS:
            count = say("{n} of {all} shown: search for less", n=MOST_ROWS, all=len(self.pools))
        self.list.search.told.say(say("{understood}: {count}", understood=told, count=count) if told else count)
        self.list.search.complain(wrong)

    def _say_empty(self) -> None:
        if self.pools:
            words = ""
        elif self.past.past.trials:
            words = say("No trial answers to this. Search for less.")
        elif self.steps.busy or self.steps.due:
            words = say("Looking for earlier trials.")
        else:
            words = say(
                "No trial of strips was found in the open jobs, or in the folders of the jobs opened last. What you "
                "set up and grade is found here later."
            )
        self.empty.say(words)
        self.empty.setVisible(bool(words))
        self.list.list.setVisible(not words)
        self.left.setStretch(0, 0 if words else 1)
        self.side.setVisible(not words)

    @property
    def trial(self) -> PastTrial | None:
        """The trial in hand: the one chosen at the right, else the newest."""
        key = self.trials.value
        if not self._behind:
            return None
        return self._behind[int(key) if key is not None else 0].trial

    def _pick(self, key: str) -> None:
        self.pool = self.pools[int(key)]
        self._show_pool()

    def _show_pool(self) -> None:
        pool, before = self.pool, self._behind
        self._behind = pool.behind if pool is not None else ()
        if pool is not None:
            self.title.say(say("{stack} on {material}", stack=pool.first.stack, material=pool.material))
            self.about.say(say("{count}. Prep: {prep}.", count=pool.count_words, prep=pool.prep))
            self.statements.show_said(tuple(s.words for s in pool.statements) or (say("Nothing is graded yet."),))
            self.lots.show_said(lot_words(pool))
            self.doubt.say(doubt_words(pool))
            self.doubt.setVisible(bool(doubt_words(pool)))
        if self._behind != before:
            self.trials.fill([self._row(i, b) for i, b in enumerate(self._behind)], "0")
            self.area.verticalScrollBar().setValue(0)
        self._allow()

    def _row(self, i: int, behind: Behind) -> PickRow:
        trial = behind.trial
        day = f"{trial.at.astimezone():%Y-%m-%d}"
        job = say("{job} (demo)", job=trial.job) if trial.demo else trial.job
        strips = say_n("{n} strip", "{n} strips", len(behind.group.strips))
        name = say("{day}  {job}: {system}, {strips}", day=day, job=job, system=behind.group.system, strips=strips)
        return PickRow(str(i), name, "; ".join(behind_words(behind)))

    def _allow(self) -> None:
        reading = self.pages.currentWidget() is self.reader
        self.stop.say(say("Stop reading") if self.steps.busy else say("Read again"))
        self.stop.setVisible(not reading)
        self.show_it.setVisible(not reading)
        self.back.setVisible(reading)
        for button in (self.show_it, self.again):
            button.setEnabled(self.trial is not None)

    # --- acts ----------------------------------------------------------------------------------------

    def read_out(self) -> None:
        """Show the trial in hand whole, as text."""
        trial = self.trial
        if trial is None:
            return
        try:
            text = self.past.text_of(trial)
        except NotNow as no:
            self.said.emit(str(no))
            return
        title = say("{trial}, in {job}", trial=trial.name, job=trial.job)
        self.reader.show_text(title, text, str(trial.path))
        self.pages.setCurrentWidget(self.reader)
        self._allow()
        self.reader.text.setFocus()

    def leave_text(self) -> None:
        """Go back to the list."""
        if self.pages.currentWidget() is self.reader:
            self.pages.setCurrentWidget(self.main)
            self._allow()
            self.trials.take_focus()

    def set_up_like(self) -> None:
        """Ask for a new trial with the systems of the one in hand."""
        trial = self.trial
        if trial is None:
            return
        try:
            self.like_asked.emit(self.past.like(trial))
        except NotNow as no:
            self.said.emit(str(no))

    def _go_on(self) -> None:
        """Go from the list to the trials behind what is in hand; the only one is shown at once."""
        if len(self._behind) == 1:
            self.read_out()
        elif self._behind:
            self.trials.take_focus()

    # --- the keyboard --------------------------------------------------------------------------------

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Page through the list from the search field."""
        if isinstance(event, QKeyEvent) and event.type() is QEvent.Type.KeyPress:
            pages = {Qt.Key.Key_PageUp: -1, Qt.Key.Key_PageDown: 1}
            if event.key() in pages and self.list.list.count():
                rows = max(1, self.list.list.viewport().height() // self.look.target - 1)
                row = self.list.list.currentRow() + pages[Qt.Key(event.key())] * rows
                self.list.list.setCurrentRow(min(max(row, 0), self.list.list.count() - 1))
                return True
        return False

    def event(self, event: QEvent) -> bool:
        """Keep the keys of this stage: elsewhere in the window they are keys of other acts."""
        over = event.type() is QEvent.Type.ShortcutOverride
        if over and isinstance(event, QKeyEvent) and (self._act(event) is not None or self._moves(event)):
            event.accept()
            return True
        return super().event(event)

    def _moves(self, event: QKeyEvent) -> bool:
        """Whether this key moves about in what has the focus, and so not over the layers of the bench."""
        plain = not event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        return plain and Qt.Key(event.key()) in MOVING and not isinstance(QApplication.focusWidget(), QAbstractButton)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if self.take_key(event):
            event.accept()
        else:
            super().keyPressEvent(event)

    def take_key(self, event: QKeyEvent) -> bool:
        """Do what a key asks for here; says whether it is one of this stage's."""
        act = self._act(event)
        if act is None:
            return False
        act()
        return True

    def _act(self, event: QKeyEvent) -> Callable[[], None] | None:
        key, held = Qt.Key(event.key()), event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        enter = key in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if enter and held == Qt.KeyboardModifier.ControlModifier:
            return self.set_up_like
        if held:
            return None
        if enter:
            return (lambda: None) if event.isAutoRepeat() else self._enter
        if key == Qt.Key.Key_F5:
            return self.steps.turn
        if key == Qt.Key.Key_Escape and self.pages.currentWidget() is self.reader:
            return self.leave_text
        return None

    def _enter(self) -> None:
        here = QApplication.focusWidget()
        if isinstance(here, QAbstractButton) and self.isAncestorOf(here):
            here.click()
        elif self.pages.currentWidget() is self.reader:
            self.leave_text()
        elif here is self.trials.list:
            self.read_out()
        else:
            self._go_on()
