"""The stage that compares the systems of a trial: the answer in sentences, every grade, the plot, and one to choose."""

from collections.abc import Callable
from datetime import datetime

from PySide6.QtCore import QEvent, Qt, QTimer, Signal
from PySide6.QtGui import QGuiApplication, QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QAbstractButton, QApplication, QBoxLayout, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Rule, Words, scrolled
from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import Options
from benchtool.bench.plansheet import BAR
from benchtool.bench.trialparagraphs import Paragraphs
from benchtool.bench.trialplot import TrialPlot, legend
from benchtool.bench.trialtable import TrialTable
from benchtool.session import trialcompare
from benchtool.session.session import Document, NotNow, Session
from benchtool.session.trialcompare import View
from benchtool.session.trialcounting import Ranker
from benchtool.sheets.trial_text import trial_text
from benchtool.trade.saying import say

SIDE_BY_SIDE = 140 * GRID
"""From this width on the plot stands beside the table, where its columns have room there."""

LOW = 45 * GRID
"""Below this height all of the stage rolls, what is asked and the acts too."""

MOST_TABLE = 0.62
"""The table takes no more than this share of the width from a plot beside it."""


class CompareStage(QWidget):
    """What the trial found. Up and Down move over the systems, Enter chooses the one in hand for the piece."""

    said = Signal(str)
    stage_asked = Signal(str)
    act_asked = Signal(object)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.look, self.session = look, session
        self.setObjectName("trial-compare")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.trial_id: str | None = None
        self.view: View | None = None
        self._shown: object = None
        self._of: Document | None = None
        self._ranker = Ranker()
        self._make(look)
        self._lay_out(look)
        look.changed.connect(self._arrange)

    # --- making ------------------------------------------------------------------------------------

    def _make(self, look: Look) -> None:
        self.title = Words(look, "title", "ink")
        self.answer = Paragraphs(look, "body", "ink")
        self.left = Words(look, "body", "quiet")
        self.table = TrialTable(look)
        self.table_legend = Words(look, "small", "quiet")
        self.doubts = Paragraphs(look, "body", "ink")
        self.places = Paragraphs(look, "body", "ink", title=say("Where it let go"))
        self.plot = TrialPlot(look)
        self.plot_legend = Words(look, "small", "quiet")
        self.figures = Paragraphs(look, "small", "quiet", title=say("Exact figures"))
        self.asks = Options(look, say("Which piece is this system for?"), "trial-compare-piece")
        self.told = Words(look, "body", "accent")
        self.go = BenchButton(look, "", "Enter", name="trial-compare-go", primary=True)
        self.away = BenchButton(look, say("Put the strips away"), name="trial-compare-away")
        self.copy = BenchButton(look, say("Copy as text"), "Ctrl+C", name="trial-compare-copy")
        self.copy_table = BenchButton(look, say("Copy as a table"), "Ctrl+Shift+C", name="trial-compare-tsv")
        self.table.picked.connect(self._pick)
        self.plot.picked.connect(self._pick)
        self.asks.chosen.connect(self._choose_for)
        self.go.clicked.connect(lambda _=False: self.enter())
        self.away.clicked.connect(lambda _=False: self.put_away())
        self.copy.clicked.connect(lambda _=False: self.copy_text())
        self.copy_table.clicked.connect(lambda _=False: self.copy_rows())

    def _lay_out(self, look: Look) -> None:
        self.left_side, self.right_side, self.notes = QWidget(), QWidget(), QWidget()
        for side, parts in (
            (self.left_side, (self.table, self.table_legend)),
            (self.right_side, (self.plot, self.plot_legend)),
            (self.notes, (self.doubts, self.places)),
        ):
            column = QVBoxLayout(side)
            column.setContentsMargins(0, 0, 0, 0)
            column.setSpacing(GRID)
            for part in parts:
                column.addWidget(part)
            column.addStretch(1)
        self.sides = QBoxLayout(QBoxLayout.Direction.TopToBottom)
        self.sides.setSpacing(3 * GRID)
        self.sides.addWidget(self.left_side)
        self.sides.addWidget(self.right_side)
        self.body = QWidget()
        self.inner = inner = QVBoxLayout(self.body)
        inner.setContentsMargins(0, 0, GRID, GRID)
        inner.setSpacing(GRID)
        for part in (self.title, self.answer, self.left):
            inner.addWidget(part)
        inner.addLayout(self.sides)
        inner.addWidget(self.notes)
        inner.addWidget(self.figures)
        inner.addStretch(1)
        self.area = scrolled(self.body)
        foot = QHBoxLayout()
        foot.setSpacing(GRID)
        for button in (self.go, self.away, self.copy, self.copy_table):
            button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
            foot.addWidget(button)
        foot.insertStretch(2, 1)
        self.foot = QWidget()
        under = QVBoxLayout(self.foot)
        under.setContentsMargins(0, 0, GRID, 0)
        under.setSpacing(GRID)
        under.addWidget(Rule(look, upright=False))
        for asked in (self.told, self.asks):
            under.addWidget(asked)
            asked.hide()
        under.addLayout(foot)
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(2 * GRID, GRID, GRID, GRID)
        self.column.setSpacing(GRID)
        self.column.addWidget(self.area, 1)
        self.column.addWidget(self.foot)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._arrange()

    def _arrange(self) -> None:
        """Put the plot beside the table where both have room, the notes under the table; else one below another."""
        self._place_foot()
        room = self.width() - 7 * GRID - BAR
        table = min(max(self.table.natural_width(), room // 2), int(MOST_TABLE * room))
        beside = self.width() >= SIDE_BY_SIDE * self.look.scale and room - table >= self.plot.least_width()
        way = QBoxLayout.Direction.LeftToRight if beside else QBoxLayout.Direction.TopToBottom
        if way != self.sides.direction():
            self.sides.setDirection(way)
            column = self.left_side.layout()
            if beside and isinstance(column, QVBoxLayout):
                column.insertWidget(2, self.notes)
            else:
                self.inner.insertWidget(self.inner.indexOf(self.figures), self.notes)
        for i, share in enumerate((table, room - table) if beside else (0, 0)):
            self.sides.setStretch(i, max(0, share))

    def _place_foot(self) -> None:
        """Where there is little height the acts roll with the rest, below the table."""
        low, graded = self.height() < LOW, self.view is not None and self.view.graded
        under = self.left_side if low and graded else self.body if low else self
        if self.foot.parentWidget() is under:
            return
        column = under.layout()
        if isinstance(column, QVBoxLayout):
            column.insertWidget(1 if under is self.left_side else column.count(), self.foot)
            self.foot.show()

    # --- what is shown -----------------------------------------------------------------------------

    def ask(self, trial: str | None) -> None:
        """Show this trial; None where there is none yet."""
        if trial != self.trial_id:
            self.view = None
        self.trial_id = trial
        self.asks.hide()
        self._shown = None
        self.area.verticalScrollBar().setValue(0)
        self.refresh(self.session.now())

    def refresh(self, now: datetime) -> None:
        """Draw it anew where the job has changed."""
        document = self.session.current
        shown = (document.job if document is not None else None, self.trial_id, self._ranker.turns)
        if self._shown is not None and self._shown == shown:
            return
        self._shown = shown
        if document is not self._of:  # the question names pieces of the job before
            self._of = document
            self.asks.hide()
        before, view = self.view, None
        if document is not None and self.trial_id is not None:
            view = trialcompare.view_of(document, self.trial_id, self._ranker)
        in_hand = self._row_id()
        self.view = view
        self._tell(trialcompare.chosen_words(self.session, view.trial) if view is not None else "")
        if view is None or view != before:
            self._show(view, in_hand)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.refresh(self.session.now())

    def _row_id(self) -> str | None:
        rows = self.view.rows if self.view is not None else ()
        return rows[self.table.chosen].id if self.table.chosen < len(rows) else None

    def _show(self, view: View | None, in_hand: str | None) -> None:
        graded = view is not None and view.graded
        self.title.say(view.answer[0] if view is not None else say("There is no trial in this job yet."))
        self.answer.show_said(view.answer[1:] if view is not None else ())
        self._say(self.left, view.left if view is not None else "")
        for part in (self.left_side, self.right_side, self.notes, self.copy_table):
            part.setVisible(graded)
        self.copy.setVisible(view is not None)
        self.figures.show_said(view.figures if view is not None else ())
        if view is not None and graded:
            self.table.show_rows(view.rows, view.tests)
            ids = [row.id for row in view.rows]
            self.table.choose(ids.index(in_hand) if in_hand in ids else 0)
            self._say(self.table_legend, view.legend)
            self.doubts.show_said(view.doubts)
            self.places.show_said(view.places)
            self.plot.show_picture(view.picture, self._plot_words(view))
            self.plot.choose(self.table.chosen)
            self._say(self.plot_legend, legend(view.picture))
        self.setFocusProxy(self.table if graded else self.go)
        self._arrange()
        self._enable()

    def _plot_words(self, view: View) -> str:
        return say("Every strip at its grade: {tests}", tests="; ".join(head.title for head in view.tests))

    def _enable(self) -> None:
        """Say on the buttons what they do now."""
        view = self.view
        self.go.say(self.go.text(), primary=True)
        if view is None:
            self.go.say(say("Set up a trial"))
        elif not view.graded:
            self.go.say(say("Grade the strips"))
        else:
            self._name_choice(view)
        open_ = self.session.current is not None and not self.session.current.read_only
        self.away.setVisible(view is not None and not view.ended and open_)

    def _name_choice(self, view: View) -> None:
        row, piece = view.rows[self.table.chosen], self._only_piece()
        if piece is None:
            self.go.say(say("Choose {system}", system=_short(row.name)))
            return
        named = {"system": _short(row.name), "piece": _short(piece[1])}
        if trialcompare.is_chosen(self.session, view.trial, row.id, piece[0]):
            self.go.say(say("{system} is chosen for {piece}", **named), primary=False)
        else:
            self.go.say(say("Choose {system} for {piece}", **named))

    def _say(self, line: Words, words: str) -> None:
        line.say(words)
        line.setVisible(bool(words))

    def _tell(self, words: str) -> None:
        self._say(self.told, words)

    def _pick(self, row: int) -> None:
        self.table.choose(row)
        self.plot.choose(row)
        self.asks.hide()
        self._enable()
        self._roll()

    def _roll_to_foot(self) -> None:
        if self.foot.parentWidget() is not self:
            self.area.ensureWidgetVisible(self.foot, 0, 0)

    def _roll(self) -> None:
        box = self.table.chosen_box()
        at = self.table.mapTo(self.body, box.center().toPoint())
        self.area.ensureVisible(at.x(), at.y(), 0, int(box.height() / 2) + GRID)

    # --- acts --------------------------------------------------------------------------------------

    def enter(self) -> None:
        """Do the obvious next thing: set up, grade, or choose the system in hand."""
        if self.view is None:
            self.stage_asked.emit("setup")
        elif not self.view.graded:
            self.stage_asked.emit("grade")
        else:
            piece = self._only_piece()
            if piece is not None:
                self._choose_for(piece[0])
            else:
                self._ask_which()

    def _only_piece(self) -> tuple[str, str] | None:
        """Give the piece that is meant without asking: the one that the trial is for, or the only one there is."""
        document, view = self.session.current, self.view
        pieces = trialcompare.pieces_for(document.state) if document is not None else ()
        meant = [p for p in pieces if view is not None and p[0] == view.piece]
        return meant[0] if meant else pieces[0] if len(pieces) == 1 else None

    def _ask_which(self) -> None:
        document = self.session.current
        pieces = trialcompare.pieces_for(document.state) if document is not None else ()
        if not pieces:
            self.said.emit(say("There is no piece in this job to choose it for: add one first."))
            return
        self.asks.offer(pieces)
        self.asks.show()
        QTimer.singleShot(0, self.asks, self._roll_to_foot)
        QTimer.singleShot(0, self.asks, self.asks.take_focus)

    def _choose_for(self, piece: str) -> None:
        view = self.view
        if view is None or not view.rows:
            return
        self.asks.hide()
        try:
            words = trialcompare.choose(self.session, view.trial, view.rows[self.table.chosen].id, piece)
        except NotNow as no:
            self.said.emit(str(no))
            self.table.setFocus()
            return
        self.said.emit(words)
        self.refresh(self.session.now())
        self._tell(words)
        self._enable()
        self.table.setFocus()
        QTimer.singleShot(0, self.foot, self._roll_to_foot)

    def put_away(self) -> None:
        """Put the strips away; what was found stays."""
        if self.view is None:
            return
        try:
            self.session.apply(*trialcompare.put_away(self.view.trial))
        except NotNow as no:
            self.said.emit(str(no))
            return
        self.said.emit(say("The strips are put away: nothing of them is waited for. What was found stays."))
        self.refresh(self.session.now())
        self.table.setFocus()

    def _trial_of(self, document: Document) -> str:
        trial = document.state.trials.get(self.trial_id or "")
        found = self.view.found if self.view is not None else None
        return trial_text(document.state, trial, self.session.tables, found=found) if trial is not None else ""

    def copy_text(self) -> None:
        """Put the whole trial into the clipboard, as text."""
        document = self.session.current
        text = self._trial_of(document) if document is not None else ""
        if text:
            QGuiApplication.clipboard().setText(text)
            self.said.emit(say("The trial is copied as text."))

    def copy_rows(self) -> None:
        """Put every grade into the clipboard, as lines for a spreadsheet."""
        if self.view is not None and self.view.graded:
            QGuiApplication.clipboard().setText(trialcompare.tsv(self.view))
            self.said.emit(say("The grades are copied as a table: a line for each strip and test."))

    # --- the keyboard ------------------------------------------------------------------------------

    def event(self, event: QEvent) -> bool:
        """Keep the keys of this stage: elsewhere in the window they are keys of other acts."""
        over = event.type() is QEvent.Type.ShortcutOverride
        if over and isinstance(event, QKeyEvent) and self._act(event) is not None:
            event.accept()
            return True
        return super().event(event)

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
        if held & Qt.KeyboardModifier.ControlModifier and key == Qt.Key.Key_C:
            return self.copy_rows if held & Qt.KeyboardModifier.ShiftModifier else self.copy_text
        if held:
            return None
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            return (lambda: None) if event.isAutoRepeat() else self._enter_key
        if key == Qt.Key.Key_Escape:
            return self._leave_question if not self.asks.isHidden() else None
        many = len(self.table.rows)
        steps = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1, Qt.Key.Key_Home: -many, Qt.Key.Key_End: many}
        if key in steps and not self.table.isHidden():
            return lambda: self.table.step(steps[key])
        if key in (Qt.Key.Key_PageUp, Qt.Key.Key_PageDown):
            return lambda: self._page(-1 if key == Qt.Key.Key_PageUp else 1)
        return None

    def _enter_key(self) -> None:
        here = QApplication.focusWidget()
        if isinstance(here, QAbstractButton) and self.isAncestorOf(here):
            here.click()
        else:
            self.enter()

    def _leave_question(self) -> None:
        self.asks.hide()
        self.table.setFocus()

    def _page(self, by: int) -> None:
        bar = self.area.verticalScrollBar()
        bar.setValue(bar.value() + by * bar.pageStep())


def _short(name: str, most: int = 32) -> str:
    flat = " ".join(name.split())
    return flat if len(flat) <= most else flat[: most - 1] + "…"
