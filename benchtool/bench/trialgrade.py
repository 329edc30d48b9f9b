"""Grading the strips of a trial: left strips against tests, right the test at hand, how it is done and its steps."""

from datetime import date, datetime
from pathlib import Path

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QBoxLayout,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from benchtool.bench.controls import BenchButton, Rule, Words, scrolled
from benchtool.bench.gradeform import GradeForm
from benchtool.bench.gradesides import GradeHead, StripSide
from benchtool.bench.look import GRID, Look
from benchtool.job import events as ev
from benchtool.job.record import Job
from benchtool.job.trials import TrialState
from benchtool.session import gradeentry
from benchtool.session.gradeasking import Asking, measured_words
from benchtool.session.gradeentry import Entry, Refused
from benchtool.session.session import NotNow, Session
from benchtool.session.trialgrading import Board, Cell, Spot, Standing, board, next_spot, takes_tape
from benchtool.trade.numbers import figure
from benchtool.trade.saying import say

_NARROW = 1_000
"""px: below it the strips stand over the test and not beside it, where both have room."""
_TALL = 620
"""px: from this height on both have room one over the other."""
_LOW = 400
"""px: below it the steps stand in a row without their words, and the instructions below the fields."""

Key = tuple[Path, str, Spot]


class GradeStage(QWidget):
    """The stage. What is typed and not logged yet is there again on coming back, as long as the program runs."""

    said = Signal(str)
    stage_asked = Signal(str)
    photo_asked = Signal(str, str, object)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.look, self.session = look, session
        self.setObjectName("trial-grade")
        self.trial_id: str | None = None
        self.board: Board | None = None
        self.spot: Spot | None = None
        self._of: Path | None = None
        self._entries: dict[Key, Entry] = {}
        self._spots: dict[tuple[Path | None, str | None], Spot | None] = {}
        self._fresh = Entry()
        self._shown: tuple[Job, str, date, bool] | None = None
        self._photo_for: Key | None = None
        self.asking = Asking()
        self.side = StripSide(look)
        self.grid, self.blind = self.side.grid, self.side.blind
        self.head = GradeHead(look)
        self.form = GradeForm(look)
        self.empty = Words(look, "title", "ink")
        self.set_up = BenchButton(look, say("Set up a trial"), "1", name="grade-set-up", primary=True)
        self._lay_out()
        self._connect()
        self.setFocusProxy(self.form.grade.edit)

    # --- how it lies -------------------------------------------------------------------------------

    def _lay_out(self) -> None:
        self.area = scrolled(self.form)
        right = QVBoxLayout()
        right.setSpacing(GRID)
        right.addWidget(self.head)
        right.addWidget(self.area, 1)
        self.rule = Rule(self.look, upright=True)
        self.halves = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self.halves.setContentsMargins(2 * GRID, GRID, GRID, GRID)
        self.halves.setSpacing(2 * GRID)
        self.halves.addWidget(self.side, 6)
        self.halves.addWidget(self.rule)
        self.halves.addLayout(right, 7)
        grading, nothing = QWidget(), QWidget()
        grading.setLayout(self.halves)
        column = QVBoxLayout(nothing)
        column.setContentsMargins(2 * GRID, 2 * GRID, 2 * GRID, 2 * GRID)
        column.setSpacing(2 * GRID)
        column.addWidget(self.empty)
        self.set_up.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        column.addWidget(self.set_up)
        column.addStretch(1)
        self.faces = QStackedWidget()
        for face in (grading, nothing):
            self.faces.addWidget(face)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self.faces)

    def _connect(self) -> None:
        self.grid.picked.connect(self._pick)
        self.grid.clicked.connect(lambda _: self.form.take_focus())
        self.form.go.clicked.connect(self._enter)
        self.form.tape.clicked.connect(self._press_tape)
        self.form.photo.clicked.connect(self._ask_photo)
        self.form.changed.connect(self._typed)
        self.form.how_asked.connect(lambda: self.form.show_place(on=False))
        self.form.grade.edit.installEventFilter(self)
        self.blind.toggled.connect(self._hide_systems)
        self.set_up.clicked.connect(lambda _=False: self.stage_asked.emit("setup"))
        self.side.go_on_asked.connect(self.stage_asked)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        narrow = self.width() < _NARROW and self.height() >= _TALL
        low = self.height() < _LOW
        way = QBoxLayout.Direction.TopToBottom if narrow else QBoxLayout.Direction.LeftToRight
        self.halves.setDirection(way)
        self.rule.setVisible(not narrow)
        self.side.fold(narrow=narrow, low=low)
        self.head.fold(low=low)
        self.form.fold(on=low)

    # --- which trial -------------------------------------------------------------------------------

    def ask(self, trial: str | None) -> None:
        """Show this trial, with what is to grade next; None where there is none yet."""
        self._keep()
        self._turn(trial)
        self._shown = None
        now = self.session.now()
        self.refresh(now)
        if self.board is not None and self.form.entry() == self._fresh:
            turned = gradeentry.spot_on_coming(self.board, self.spot, self.session.piece_id, now)
            self._pick(turned or Spot(self.board.rows[0].strip.piece, self.board.tests[0]))

    def _turn(self, trial: str | None) -> None:
        """Turn to this trial of the job in hand; the ids of another job's may be the same."""
        document = self.session.current
        place = document.path if document is not None else None, trial
        if place != (self._of, self.trial_id):
            self._keep()
            self._spots[self._of, self.trial_id] = self.spot
            self._of, self.trial_id = place
            self.spot = self._shown = None

    def refresh(self, now: datetime) -> None:
        """Draw it as it stands at `now`; while nothing changes, only a countdown goes on."""
        self._turn(self.trial_id)
        trial, document = self._trial(), self.session.current
        if trial is None or document is None:
            self.board, self._shown = None, None
            self.empty.say(
                say("No trial is set up in this job yet.") if document is not None else say("No job is open.")
            )
            self.set_up.setVisible(document is not None)
            self.faces.setCurrentIndex(1)
            return
        self.faces.setCurrentIndex(0)
        shown = (document.job, trial.id, now.astimezone().date(), self.blind.isChecked())
        if self.board is None or shown != self._shown or now >= self.board.next_edge:
            self._shown = shown
            self._draw(trial, now)
        self.head.tick(self._cell(), now)

    def _trial(self) -> TrialState | None:
        document = self.session.current
        return document.state.trials.get(self.trial_id or "") if document is not None else None

    def _draw(self, trial: TrialState, now: datetime) -> None:
        document = self.session.current
        if document is None:
            return
        shown = self.board = board(document.state, trial, now)
        self.side.show_board(shown, trial, now, self.spot.strip if self.spot is not None else "")
        if shown.cell(self.spot) is None:
            left, self.spot = self._spots.get((self._of, self.trial_id)), None
            usual = next_spot(shown, None, now) or Spot(shown.rows[0].strip.piece, shown.tests[0])
            self._pick(left if left is not None and shown.cell(left) is not None else usual)
        else:
            self.grid.pick(self.spot)
            self._follow_record()
            self._tell_cell(now)

    def _cell(self) -> Cell | None:
        return self.board.cell(self.spot) if self.board is not None else None

    # --- which test of which strip ---------------------------------------------------------------------

    def _pick(self, spot: Spot) -> None:
        """Turn to another cell; what is typed for the one before stays with it."""
        if spot == self.spot:
            return
        self._keep()
        self.spot = spot
        self.grid.pick(spot)
        self.asking = Asking()
        now, trial, document = self.session.now(), self._trial(), self.session.current
        cell = self._cell()
        if trial is None or document is None or cell is None:
            return
        piece = document.state.pieces.get(spot.strip)
        self._fresh = gradeentry.entry_of(cell, document.state, piece)
        how, film = gradeentry.told(spot.method, piece, self.session.tables)
        blind = self.blind.isChecked()
        there = gradeentry.places(document.state, piece, spot.method, blind=blind)
        self.form.turn(spot.method, how, film, there)
        key = self._key()
        self.form.fill(self._entries.get(key, self._fresh) if key is not None else self._fresh)
        self._tell_cell(now)
        self.head.tick(self._cell(), now)
        self.area.verticalScrollBar().setValue(0)

    def _follow_record(self) -> None:
        """Where the grade in hand was taken back or given anew, show that; what is typed since stays."""
        cell, document = self._cell(), self.session.current
        if cell is None or document is None:
            return
        before, piece = self._fresh, document.state.pieces.get(cell.spot.strip)
        self._fresh = gradeentry.entry_of(cell, document.state, piece)
        if self._fresh != before and self.form.entry() == before:
            self.form.fill(self._fresh)

    def _tell_cell(self, now: datetime) -> None:
        trial, cell = self._trial(), self._cell()
        row = self.board.row(cell.spot.strip) if self.board is not None and cell is not None else None
        if trial is not None and cell is not None and row is not None:
            self.head.tell(row, cell, trial, now, blind=self.blind.isChecked())
            self._name_acts(cell, trial)

    def _name_acts(self, cell: Cell, trial: TrialState) -> None:
        """Say on the button what Enter does."""
        untouched = self.form.entry() == self._fresh
        if self._tape_is_next(cell, trial):
            self.form.go.say(say("The tape is on"))
        elif untouched and cell.standing is Standing.GRADED:
            self.form.go.say(say("Next strip"))
        elif self.asking.instead and cell.grade is not None:
            self.form.go.say(say("Replace {old}", old=cell.grade.given.grade))
        else:
            self.form.go.say(say("Log the grade"))
        self.form.tape.setVisible(self._wants_tape(cell, trial) and not self._tape_is_next(cell, trial))

    def _wants_tape(self, cell: Cell, trial: TrialState) -> bool:
        waits = cell.standing in (Standing.READY, Standing.RESTS, Standing.UNPAINTED)
        return waits and takes_tape(cell.spot.method, trial.plan)

    def _tape_is_next(self, cell: Cell, trial: TrialState) -> bool:
        """Whether Enter logs the tape: only on a strip that is ready for it, where nothing is typed."""
        ready = cell.standing is Standing.READY and self._wants_tape(cell, trial)
        return ready and self.form.entry() == self._fresh

    def _hide_systems(self) -> None:
        """Draw all anew, with what is typed."""
        spot, entry = self.spot, self.form.entry()
        self.refresh(self.session.now())
        if spot is not None:
            self.spot = None
            self._pick(spot)
            self.form.fill(entry)
            self._typed()

    # --- what is typed -----------------------------------------------------------------------------

    def _key(self) -> Key | None:
        if self._of is None or self.trial_id is None or self.spot is None:
            return None
        return self._of, self.trial_id, self.spot

    def _keep(self) -> None:
        key = self._key()
        if key is None or self.board is None:
            return
        entry = self.form.entry()
        if entry == self._fresh:
            self._entries.pop(key, None)
        else:
            self._entries[key] = entry

    @property
    def half_typed(self) -> Key | None:
        """What is typed of a grade and not logged yet, of any open job: its job, trial and test."""
        self._keep()
        open_ = {(d.path, trial.id): trial for d in self.session.documents for trial in d.state.trials.values()}
        there = (k for k in self._entries if k[:2] in open_ and open_[k[:2]].strip(k[2].strip) is not None)
        return next(there, None)

    def turn_to(self, spot: Spot) -> None:
        """Turn to this test of the trial that is shown, with what is typed for it."""
        self._pick(spot)
        self.form.take_focus()

    def _typed(self) -> None:
        self.asking.forget_replacing()
        cell, trial = self._cell(), self._trial()
        self.form.follow(self.spot.method if self.spot is not None else None)
        if cell is not None and trial is not None:
            self._name_acts(cell, trial)

    def take_measured(
        self, percent: float, plus_minus: float | None, candidates: tuple[str, ...], photo: ev.Photo
    ) -> None:
        """Take what was measured on a photo for the strip it was asked for: where one grade is left, it is picked."""
        key, self._photo_for = self._photo_for or self._key(), None
        if key is None:
            return
        here = key[:2] == (self._key() or ())[:2]
        if here:
            self._pick(key[2])
        before = self.form.entry() if here else self._entries.get(key, Entry())
        off = figure(percent) if plus_minus is None else f"{figure(percent)} ± {figure(plus_minus)}"
        alone = candidates[0] if len(candidates) == 1 else ""
        taken = Entry(grade=alone, percent=off, place=before.place, note=before.note, photo=photo)
        if not here:
            self._entries[key] = taken  # another trial is shown by now: it waits with the strip it was asked for
            return
        self.form.fill(taken)
        self._typed()
        self.form.take_focus()
        QTimer.singleShot(0, self.form, self._roll_to_grade)
        self.said.emit(measured_words(off, candidates, self._strip_name()))

    def _roll_to_grade(self) -> None:
        self.area.ensureWidgetVisible(self.form.grade, 0, GRID)

    def _strip_name(self) -> str:
        row = self.board.row(self.spot.strip) if self.board is not None and self.spot is not None else None
        return row.name if row is not None else ""

    def _photo_key(self) -> None:
        if self.form.photo.isVisible():
            self.form.photo.click()
        else:
            self.said.emit(say("This test is not measured from a photo: grade it by its steps."))

    def _ask_photo(self) -> None:
        if self.spot is not None and self.trial_id is not None:
            self._photo_for = self._key()
            self.photo_asked.emit(self.trial_id, self.spot.strip, self.spot.method)

    # --- acts --------------------------------------------------------------------------------------

    def _enter(self) -> None:
        """Do the obvious: log the grade, else the tape, else go on to the next strip."""
        cell, trial = self._cell(), self._trial()
        if cell is None or trial is None:
            return
        entry = self.form.entry()
        if entry == self._fresh and cell.standing is Standing.GRADED:
            self._next()
        elif self._tape_is_next(cell, trial):
            self._press_tape()
        else:
            self._log(cell, trial, entry)

    def _log(self, cell: Cell, trial: TrialState, entry: Entry) -> None:
        try:
            if self.asking.place_is_open(cell, entry):
                self.form.show_place(on=True)
                self.said.emit(self.asking.ask_place(cell, entry))
                self._name_acts(cell, trial)
                return
            if self.asking.replaces(cell, entry):
                ask = self.asking.ask_to_replace(cell, entry, self._strip_name())
                self.form.ask(ask)
                self._name_acts(cell, trial)
                self.said.emit(ask)
                return
            act = gradeentry.grade_act(self.session, trial.id, cell, entry)
            self.session.apply(*act.drafts)
        except Refused as wrong:
            self.form.complain(wrong.field, str(wrong))
            self.said.emit(str(wrong))
            return
        except NotNow as why:
            self.said.emit(str(why))
            return
        key = self._key()
        if key is not None:
            self._entries.pop(key, None)
        self.refresh(self.session.now())
        self._follow_record()
        self.form.fill(self._fresh)  # it is in the record: nothing of what was typed is left to keep
        self.said.emit(act.words)
        self._next()

    def _press_tape(self) -> None:
        trial, spot = self._trial(), self.spot
        if trial is None or spot is None:
            return
        try:
            act = gradeentry.press_tape(self.session, trial.id, spot)
            self.session.apply(*act.drafts)
        except NotNow as why:
            self.said.emit(str(why))
            return
        self.refresh(self.session.now())
        self.said.emit(act.words)
        self.form.take_focus()

    def _next(self) -> None:
        shown, now = self.board, self.session.now()
        if shown is None or self.spot is None:
            return
        spot = next_spot(shown, self.spot, now)
        spot = spot if spot is not None else shown.beside(self.spot, 1, 0)
        if spot == self.spot:
            self.spot = None  # what was logged is shown anew
        self._pick(spot)
        self.form.take_focus()

    # --- the keyboard ------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        photo = event.key() == Qt.Key.Key_F8 and self.faces.currentIndex() == 0
        if not photo and event.key() not in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            super().keyPressEvent(event)
            return
        event.accept()
        if event.isAutoRepeat():
            return  # a key held down logs one grade
        if photo:
            self._photo_key()
            return
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            if self.side.go_on.isVisible():
                self.side.go_on.click()
            return
        here = QApplication.focusWidget()
        if isinstance(here, QAbstractButton) and not here.isCheckable():
            here.click()
        elif self.faces.currentIndex() == 1:
            self.set_up.click()
        else:
            self._enter()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """From the empty line for the grade the arrows move over the strips and tests; up and down always do."""
        if not isinstance(event, QKeyEvent) or event.type() is not QEvent.Type.KeyPress or self.spot is None:
            return False
        edit, key, shown = self.form.grade.edit, event.key(), self.board
        down = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}.get(Qt.Key(key), 0)
        free = not edit.text() or edit.selectedText() == edit.text()
        right = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(key), 0) if free else 0
        if shown is None or not (down or right) or event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier:
            return False
        self._pick(shown.beside(self.spot, down, right))
        QTimer.singleShot(0, self.form, self.form.take_focus)
        return True
