"""The page that finds out what a piece is made of: the mark on it, then one harmless question at a time."""

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QShowEvent
from PySide6.QtWidgets import QApplication, QHBoxLayout, QLineEdit, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Rule, Words, scrolled
from benchtool.bench.identifyparts import ForAndAgainst, QuestionView
from benchtool.bench.look import GRID, Look, elided
from benchtool.bench.planlists import PickList, PickRow
from benchtool.bench.planparts import Typed
from benchtool.bench.typedkeys import LETTERS, keeps
from benchtool.job.state import PieceState
from benchtool.session.identifying import UNKNOWN, Identifying, Row, fact_line
from benchtool.session.planning import PieceText
from benchtool.session.session import NotNow, Session
from benchtool.trade.markreading import LONGEST
from benchtool.trade.saying import say

_ITS_OWN = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.MetaModifier


class IdentifyPage(QWidget):
    """What a piece is made of: `chosen` gives what was found for a piece that is still to be added."""

    letters = LETTERS
    left = Signal()
    said = Signal(str)
    chosen = Signal(object)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.look, self.session = look, session
        self.setObjectName("identify")
        self.finding = Identifying(session)
        self._rows: dict[str, Row] = {}
        self._picked: str | None = None
        self.title = Words(look, "title", "ink", wrap=False)
        self.title.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.mark = Typed(
            look, say("Is anything moulded on it?"), "identify-mark", say("Such as >PP+EPDM-TD20<, ABS or triangle 5")
        )
        self.type_it = BenchButton(look, say("Type it"), "M", name="identify-type-mark")
        self.triangle = BenchButton(look, say("Yes, in a triangle"), name="identify-triangle")
        self.mark.beside(self.type_it)
        self.mark.beside(self.triangle)
        self.mark.edit.setMaxLength(LONGEST)
        self.mark_words = Words(look, "small", "ink")
        self.mark_problem = Words(look, "small", "quiet")
        self.question = QuestionView(look)
        self.refused = Words(look, "small", "quiet")
        self.refused.say(" ".join(say(r.why) for r in self.finding.clues.refused))
        self.told = Words(look, "body", "ink")
        self.list = PickList(look, say("What it may be"), "identify-list", search="", rows=3)
        self.why = ForAndAgainst(look)
        self.go = BenchButton(look, say("It is this"), say("Enter"), name="identify-go", primary=True)
        self.unknown = BenchButton(look, say("Nobody knows: prove it on a strip"), "?", name="identify-unknown")
        self.anew = BenchButton(look, say("Start anew"), name="identify-anew")
        self.away = BenchButton(look, say("Back to the bench"), "Esc", name="identify-away")
        self._lay_out()
        self._connect()
        stop = session.subscribe(self._follow)
        self.destroyed.connect(stop)

    def _lay_out(self) -> None:
        questions = QWidget()
        left = QVBoxLayout(questions)
        left.setContentsMargins(0, 0, GRID, 0)
        left.setSpacing(GRID)
        for part in (self.mark, self.mark_words, self.mark_problem):
            left.addWidget(part)
        left.addSpacing(GRID)
        left.addWidget(self.question, 1)
        asked = QVBoxLayout()
        asked.setSpacing(GRID)
        self.asked_area = scrolled(questions)
        asked.addWidget(self.asked_area, 1)
        asked.addWidget(self.question.foot)
        right = QVBoxLayout()
        right.setSpacing(GRID)
        right.addWidget(self.told)
        right.addWidget(self.list, 1)
        self.why_area = scrolled(self.why)
        right.addWidget(self.why_area, 1)
        right.addWidget(self.refused)
        across = QHBoxLayout()
        across.setSpacing(2 * GRID)
        across.addLayout(asked, 11)
        across.addWidget(Rule(self.look, upright=True))
        across.addLayout(right, 9)
        foot = QHBoxLayout()
        foot.setSpacing(GRID)
        for button in (self.go, self.unknown, self.anew):
            foot.addWidget(button)
        foot.addStretch(1)
        foot.addWidget(self.away)
        for button in (self.go, self.unknown, self.anew, self.away):
            button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        column = QVBoxLayout(self)
        column.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        column.setSpacing(GRID)
        column.addWidget(self.title)
        column.addLayout(across, 1)
        column.addLayout(foot)
        self.list.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Expanding)

    def _connect(self) -> None:
        self.mark.edit.textEdited.connect(self._mark_typed)
        self.type_it.clicked.connect(self.mark.take_focus)
        self.type_it.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self.triangle.clicked.connect(self._put_in_triangle)
        for part in (self.question, self.mark.edit, self.list.list):
            part.installEventFilter(
                self
            )  # the area they roll in would take the arrow keys, the list letters and digits
        self.question.answered.connect(self._answer)
        self.question.back.connect(self._back)
        self.list.chosen.connect(self._pick)
        self.list.list.itemDoubleClicked.connect(lambda _: self._finish(self._picked))
        self.go.clicked.connect(lambda: self._finish(self._picked))
        self.unknown.clicked.connect(lambda: self._finish(UNKNOWN))
        self.anew.clicked.connect(self._start_anew)
        self.away.clicked.connect(self.left)

    # --- what it is about --------------------------------------------------------------------------

    def ask(self, piece: PieceState | None, form: PieceText | None = None, of: str | None = None) -> None:
        """Find out what this piece is made of, or the one that a `form` is about. What was half done is still there."""
        self.finding.begin(piece, form, of)
        self._picked = None
        self._show_all()
        if self.isVisible():
            self.take_focus()

    def _show_all(self) -> None:
        piece = self._piece()
        name = piece.piece.name if piece is not None else ""
        heading = say("What is {piece} made of?", piece=name) if name else say("What is it made of?")
        self.title.say(elided(heading, self.look.title, max(self.width() - 4 * GRID, 40 * GRID)))
        self.title.setToolTip(heading)
        self.mark.fill(self.finding.search.mark)
        self._redraw()

    def _piece(self) -> PieceState | None:
        document = self.session.current
        return document.state.pieces.get(self.finding.piece_id or "") if document is not None else None

    def _follow(self) -> None:
        """Go with the painter to another piece; leave where the piece or its job is gone."""
        if self.isVisible() and self.finding.astray:
            self.left.emit()
        if not self.isVisible() or self.finding.piece_id is None:
            return
        piece = self.session.piece
        if self._piece() is None or piece is None:
            self.left.emit()
        elif piece.id != self.finding.piece_id:
            self.ask(piece)

    # --- drawing -----------------------------------------------------------------------------------

    def _redraw(self) -> None:
        words, problem = self.finding.mark_words()
        for part, text in ((self.mark_words, words), (self.mark_problem, problem)):
            part.say(text)
            part.setVisible(bool(text))
        self.triangle.setVisible(self.finding.number_alone is not None)
        self.type_it.setVisible(not self.finding.search.mark)
        self._show_question()
        rows = self.finding.rows()
        self._rows = {row.id: row for row in rows}
        if self._picked not in self._rows:
            self._picked = None
        shown = self._picked or self.finding.likeliest
        self.list.fill([PickRow(row.id, row.name, row.detail) for row in rows], shown)
        self.list.label.say(self.finding.count_words())
        self.told.say(self.finding.told())
        self._show_why(shown)

    def _show_question(self) -> None:
        question = self.finding.question
        if question is None:
            self.question.show_end(say("That is all one can tell without harming it."), self._end_words())
        else:
            chosen = self.finding.chosen(question)
            self.question.show_question(question, self.finding.number, chosen, first=self.finding.number == 1)

    def _end_words(self) -> str:
        return say("Choose what it is in the list, or say that nobody knows: then a test strip shows what holds.")

    def _show_why(self, shown: str | None) -> None:
        row = self._rows.get(shown or "")
        substrate = self.session.tables.substrates.get(shown or "")
        facts = fact_line(substrate, self.session.tables) if substrate is not None else ""
        self.why.show_row(row, facts)
        self.why_area.setVisible(row is not None)
        self.why_area.verticalScrollBar().setValue(0)
        self.go.say(say("It is this") if row is None or not row.out else say("It is this all the same"))
        self.go.setEnabled(row is not None)

    # --- acts --------------------------------------------------------------------------------------

    def _mark_typed(self, text: str) -> None:
        self.finding.type_mark(text)
        self._picked = None
        self._redraw()

    def _put_in_triangle(self) -> None:
        self.finding.put_in_triangle()
        self._picked = None
        self.mark.fill(self.finding.search.mark)
        self._redraw()
        self.take_focus()

    def _take_mark(self) -> None:
        """Go on from the mark: to what it settles, which one more key takes, else to the question."""
        if self.finding.number_alone is not None:
            self.triangle.setFocus(Qt.FocusReason.OtherFocusReason)
        elif self.finding.mark_settles:
            self.go.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            self.take_focus()

    def _answer(self, answer_id: str) -> None:
        self.finding.answer(answer_id)
        self._picked = None
        self._redraw()
        self.take_focus()

    def _back(self) -> None:
        if self.finding.go_back():
            self._redraw()
            self.take_focus()
        else:
            self.mark.take_focus()

    def _start_anew(self) -> None:
        self.finding.start_anew()
        self._picked = None
        self._redraw()
        self.take_focus()

    def _pick(self, substrate_id: str) -> None:
        self._picked = substrate_id
        self._show_why(substrate_id)

    def _finish(self, substrate_id: str | None) -> None:
        substrate_id = substrate_id or self.list.value
        substrate = self.session.tables.substrates.get(substrate_id or "")
        if substrate is None:
            self.said.emit(say("Choose a material in the list first: up and down, then Enter."))
            return
        try:
            if self.finding.piece_id is None:
                found = self.finding.found(substrate.id)
                self.finding.done()
                self.chosen.emit(found)
                return
            drafts = self.finding.keep(substrate.id)
            piece = self._piece()
            more = self.finding.otherwise(piece.piece) if piece is not None else ""
            if drafts:
                self.session.apply(*drafts)
        except NotNow as no:
            self.said.emit(str(no))
            return
        self.finding.done()
        name = piece.piece.name if piece is not None else ""
        self.left.emit()
        if substrate.known:
            words = say("{piece} is {material}.", piece=name, material=substrate.name)
        else:
            words = say("Nobody knows what {piece} is: prove on a test strip what holds.", piece=name)
        self.said.emit(f"{words} {more}".strip())

    # --- the keyboard ------------------------------------------------------------------------------

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.take_focus()

    def take_focus(self) -> None:
        """Put the focus on the question, rolled up so that its answers show where there is little room."""
        self.question.setFocus(Qt.FocusReason.OtherFocusReason)
        QTimer.singleShot(0, self, self._roll_to_question)

    def _roll_to_question(self) -> None:
        if self.question.hasFocus():
            self.asked_area.verticalScrollBar().setValue(self.question.y())

    def event(self, event: QEvent) -> bool:
        # The bench's letters are acts. Here they are typed, or do nothing.
        return keeps(event) or super().event(event)

    def focusNextPrevChild(self, forward: bool) -> bool:
        stops: list[QWidget] = [  # from the question to the mark, which asks to be typed
            self.question,
            self.mark.edit,
            self.triangle,
            self.list.list,
            self.go,
            self.unknown,
            self.anew,
            self.away,
        ]
        stops = [s for s in stops if s.isEnabled() and s.isVisibleTo(self)]
        here = QApplication.focusWidget()
        at = stops.index(here) if here in stops else -1 if forward else 0
        there = stops[(at + (1 if forward else -1)) % len(stops)]
        there.setFocus(Qt.FocusReason.TabFocusReason if forward else Qt.FocusReason.BacktabFocusReason)
        return True

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if watched is self.mark.edit and event.type() is QEvent.Type.FocusIn:
            self.asked_area.verticalScrollBar().setValue(0)
        if not isinstance(event, QKeyEvent):
            return False
        if event.type() is QEvent.Type.ShortcutOverride and watched is self.mark.edit:
            if event.key() == Qt.Key.Key_Escape:  # it leaves the field first, not the page
                event.accept()
                return True
            return False
        if event.type() is not QEvent.Type.KeyPress:
            return False
        if watched is self.mark.edit and event.key() in (Qt.Key.Key_Down, Qt.Key.Key_Escape):
            self.take_focus()
            return True
        if watched is self.list.list and event.text() and event.key() not in (Qt.Key.Key_Tab, Qt.Key.Key_Backtab):
            self.keyPressEvent(event)
            return event.isAccepted()
        if watched is self.question and event.key() not in (Qt.Key.Key_Tab, Qt.Key.Key_Backtab):
            self.keyPressEvent(event)
            return event.isAccepted()
        return False

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = Qt.Key(event.key())
        digit = event.key() - Qt.Key.Key_0
        if event.isAutoRepeat() and key not in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            pass  # a key held too long must not answer, or take a material
        elif 0 <= digit <= 9:
            self.question.choose(digit)
        elif key in (Qt.Key.Key_Backspace, Qt.Key.Key_Left):
            self._back()
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.list.list.step(-1 if key == Qt.Key.Key_Up else 1)
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._enter()
        elif key == Qt.Key.Key_M and not event.modifiers() & _ITS_OWN:
            self.mark.take_focus()
        elif key == Qt.Key.Key_Question:
            self._finish(UNKNOWN)
        elif key == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)
            return
        event.accept()

    def _enter(self) -> None:
        here = QApplication.focusWidget()
        if isinstance(here, BenchButton):
            here.click()
        elif isinstance(here, QLineEdit):
            self._take_mark()
        else:
            self._finish(self._picked)
