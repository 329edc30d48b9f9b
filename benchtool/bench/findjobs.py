"""The page that finds a piece again: one field over all jobs, and where a recalled lot went."""

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QGuiApplication, QHideEvent, QKeyEvent, QKeySequence, QShowEvent
from PySide6.QtWidgets import QAbstractButton, QApplication, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Rule, Words
from benchtool.bench.findjobsparts import HowToFind, ProgressBar
from benchtool.bench.findjobsrows import FoundList
from benchtool.bench.look import GRID, Look
from benchtool.bench.pagereading import PageReading
from benchtool.bench.planparts import Typed
from benchtool.bench.tips import plain_tip
from benchtool.bench.typedkeys import LETTERS, hears_in, is_heard
from benchtool.session.jobfacts import Use
from benchtool.session.jobfound import Recall, Row
from benchtool.session.jobsearch import JobSearch, Progress
from benchtool.session.jobwords import lot_typed
from benchtool.trade.saying import say, say_n

SETTLE_MS = 40
"""So long after a key the search begins, so that fast typing asks once."""

AGAIN = 500
"""After so many files that were read the answer is drawn anew."""

MOST_NOTES = 3
"""So many remarks stand under the list; all of them are in its tip and in the text that is copied."""

_MOVES = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}
_PAGES = {Qt.Key.Key_PageUp: -1, Qt.Key.Key_PageDown: 1}


class FindPage(QWidget):
    """Searches all jobs. Up and Down choose, Enter opens the job; with a lot in the field its pieces are listed."""

    letters = LETTERS
    left = Signal()
    said = Signal(str)
    open_asked = Signal(object, str)
    """The file of the job, and the id of the piece in it ("" where it has none)."""

    def __init__(self, look: Look, search: JobSearch) -> None:
        super().__init__()
        self.look, self.search = look, search
        self.setObjectName("find")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.recall: Recall | None = None
        self.recalling = False
        self._drawn = 0
        self._make(look)
        self._lay_out(look)
        self._connect()
        self.setFocusProxy(self.field.edit)
        self._name_field()

    # --- making ------------------------------------------------------------------------------------

    def _make(self, look: Look) -> None:
        self.steps = PageReading(self, self.search.reading)
        self.soon = QTimer(self)
        self.soon.setObjectName("find-soon")
        self.soon.setSingleShot(True)
        self.soon.setInterval(SETTLE_MS)
        self.field = Typed(look, "", "find-words")
        self.field.edit.setMaxLength(400)
        self.head = Words(look, "title", "ink")
        self.head.setObjectName("find-head")
        self.list = FoundList(look)
        self.more = Words(look, "small", "quiet")
        self.empty = Words(look, "body", "quiet")
        self.empty.setObjectName("find-empty")
        self.empty.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.how = HowToFind(look)
        self.bar = ProgressBar(look)
        self.bar.hide()
        self.notes = Words(look, "small", "trouble")
        self.notes.setObjectName("find-notes")
        self.progress = Words(look, "small", "quiet")
        self.progress.setObjectName("find-progress")
        self.again = BenchButton(look, say("Read again"), "F5", name="find-again")
        self.lot = BenchButton(look, say("A recalled lot"), "Ctrl+L", name="find-lot")
        self.copy = BenchButton(look, say("Copy the list"), "Ctrl+C", name="find-copy")
        self.open = BenchButton(look, say("Open this job"), "Enter", name="find-open", primary=True)
        self.back = BenchButton(look, say("Back to the bench"), "Esc", name="find-back")

    def _lay_out(self, look: Look) -> None:
        foot = QHBoxLayout()
        foot.setSpacing(GRID)
        foot.addWidget(self.progress, 1)
        for button in (self.again, self.lot, self.copy, self.open, self.back):
            button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
            foot.addWidget(button)
        column = QVBoxLayout(self)
        column.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        column.setSpacing(GRID)
        column.addWidget(self.field)
        column.addWidget(self.head)
        column.addWidget(self.list, 1)
        column.addWidget(self.more)
        column.addWidget(self.how, 1)
        column.addWidget(self.empty, 1)
        column.addWidget(self.notes)
        column.addWidget(Rule(look, upright=False))
        column.addWidget(self.bar)
        column.addLayout(foot)
        look.changed.connect(self._relook)
        self._relook()

    def _relook(self) -> None:
        self.field.edit.setFont(self.look.title)

    def _connect(self) -> None:
        self.steps.stepped.connect(self._progressed)
        self.steps.done.connect(lambda _: self._read())
        self.steps.failed.connect(lambda _: self._read())
        self.steps.begun.connect(self._begun)
        self.steps.stopped.connect(self._read)
        self.soon.timeout.connect(self.look_for)
        self.field.edit.textChanged.connect(lambda _: self.soon.start())
        self.field.edit.installEventFilter(self)
        self.list.picked.connect(self._allow)
        self.list.opened.connect(self.open_it)
        self.again.clicked.connect(lambda _=False: self.steps.turn())
        self.lot.clicked.connect(lambda _=False: self.turn_lot())
        self.copy.clicked.connect(lambda _=False: self.copy_text())
        self.open.clicked.connect(lambda _=False: self.open_it())
        self.back.clicked.connect(self.left)

    # --- reading the files ---------------------------------------------------------------------------

    def ask(self, words: str | None = None, *, lot: bool = False) -> None:
        """Look at the folders again, and for these words (or this lot) where any are given; else by words."""
        self.recalling = lot
        self._name_field()
        if words is not None:
            self.field.fill(words)
        self.look_for()
        self.steps.ask()
        if self.isVisible():
            self.field.take_focus()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.steps.seen()
        self.field.take_focus()

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self.soon.stop()
        self.steps.unseen()

    def _begun(self) -> None:
        self._drawn = 0
        self.progress.say(Progress(0, 0).words)
        self._allow()

    def _progressed(self, told: Progress | None) -> None:
        if told is None or not self.steps.busy:
            return
        self.progress.say(told.words)
        self.bar.show_share(told.read, told.of)
        if told.read >= self._drawn + AGAIN:
            self._drawn = told.read
            self.look_for()

    def _read(self) -> None:
        self.progress.say(self.search.readiness.words)
        self._allow()
        self.look_for()

    # --- the answer ----------------------------------------------------------------------------------

    def look_for(self) -> None:
        """Show what answers to what is typed."""
        self.soon.stop()
        typed = self.field.text()
        if self.recalling:
            self._show_recall(self.search.lots_of(typed), asked=bool(typed.strip()))
        else:
            self._show_found(typed)
        if self.search.lost and not self.steps.busy and self.isVisible():
            self.steps.begin()

    def _show_found(self, typed: str) -> None:
        found = self.search.find(typed)
        self.recall = None
        self.field.complain(found.wrong)
        told = say("{understood}: {count}", understood=found.told, count=found.count_words)
        self.field.tell(told if found.told and found.asked else found.count_words)
        more = say_n("{n} more answers: type more words.", "{n} more answer: type more words.", found.more)
        self.empty.say("" if found.rows or not found.asked else self._nothing_words())
        self._show(found.rows, "", more if found.more else "", found.notes, how=not found.asked)

    def _show_recall(self, recall: Recall, *, asked: bool) -> None:
        self.recall = recall if asked else None
        rows = tuple(row for use in Use for row in recall.of(use))
        self.field.complain("")
        self.field.tell("")
        lot = say(
            "Type the whole number that is on the can. Every piece is listed that it was sprayed on, and every cup "
            "that held it, in all jobs that can be read."
        )
        self.empty.say("" if asked else lot)
        self._show(rows, recall.words if asked else "", "", recall.notes)

    def _show(self, rows: tuple[Row, ...], head: str, more: str, notes: tuple[str, ...], *, how: bool = False) -> None:
        self.head.say(head)
        self.head.setVisible(bool(head))
        self.list.show_rows(rows)
        self.list.setVisible(bool(rows))
        self.how.setVisible(how)
        self.empty.setVisible(not rows and not how)
        self.more.say(more)
        self.more.setVisible(bool(more))
        rest = [say_n("And {n} more.", "And {n} more.", len(notes) - MOST_NOTES)] if len(notes) > MOST_NOTES else []
        self.notes.say(" ".join((*notes[:MOST_NOTES], *rest)))
        self.notes.setToolTip(plain_tip("\n".join(notes)))
        self.notes.setVisible(bool(notes))
        self._allow()

    def _nothing_words(self) -> str:
        if not self.search.over:
            return say("Nothing so far. Not all jobs are read.")
        return say("No piece answers to all of these words. Take one away, or type only how a word begins.")

    # --- acts ----------------------------------------------------------------------------------------

    def open_it(self) -> None:
        """Ask for the job of the piece in hand."""
        row = self.list.row
        if row is not None:
            self.open_asked.emit(row.path, row.piece)

    def turn_lot(self) -> None:
        """Go from words to a recalled lot, or back; a lot that was asked for by name goes along."""
        self.recalling = not self.recalling
        typed = self.field.text()
        if self.recalling:
            self.field.fill(lot_typed(typed))
        self._name_field()
        self.look_for()
        self.field.take_focus()

    def copy_text(self) -> None:
        """Copy what is listed as text."""
        text = self.recall.text if self.recall is not None else "\n\n".join(r.words for r in self.list.found.rows)
        if not text:
            return
        QGuiApplication.clipboard().setText(text)
        pieces = len(self.list.found.rows)
        self.said.emit(say_n("Copied: {n} piece.", "Copied: {n} pieces.", pieces))

    def _name_field(self) -> None:
        label = say("Number of the recalled lot") if self.recalling else say("Find a piece again")
        hint = say("Such as A-12") if self.recalling else say("Such as a customer and a colour")
        self.field.label.say(label)
        self.field.edit.setAccessibleName(label)
        self.field.edit.setPlaceholderText(hint)
        self.lot.say(say("Search by words") if self.recalling else say("A recalled lot"))

    def _allow(self) -> None:
        self.bar.setVisible(self.steps.busy)
        self.again.say(say("Stop reading") if self.steps.busy else say("Read again"))
        self.open.setEnabled(self.list.row is not None)
        self.copy.setEnabled(bool(self.list.found.rows) or self.recall is not None)

    # --- the keyboard --------------------------------------------------------------------------------

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Move in the list from the field; copy the list where the field has nothing of its own to copy."""
        if not isinstance(event, QKeyEvent):
            return False
        if event.type() is QEvent.Type.ShortcutOverride and hears_in(self.field.edit, event):
            event.ignore()
            return True
        if event.type() is not QEvent.Type.KeyPress:
            return False
        if event.matches(QKeySequence.StandardKey.Copy) and self._copies():
            self.copy_text()
            return True
        if self.list.found.rows:
            key = Qt.Key(event.key())
            by = _MOVES.get(key, 0) + _PAGES.get(key, 0) * self.list.page_rows()
            if by and not event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier:
                self.list.step(by)
                return True
        return False

    def event(self, event: QEvent) -> bool:
        """Keep the letters and the keys of this page: elsewhere in the window they are keys of other acts."""
        if event.type() is QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            plain = not event.modifiers() & ~(Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.KeypadModifier)
            function = Qt.Key.Key_F1 <= event.key() <= Qt.Key.Key_F35
            plain = plain and not is_heard(event) and not hears_in(self.field.edit, event)
            if self._act(event) is not None or (plain and event.key() != Qt.Key.Key_Escape and not function):
                event.accept()
                return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        act = self._act(event)
        if act is not None:
            act()
            event.accept()
        else:
            super().keyPressEvent(event)

    def _act(self, event: QKeyEvent) -> Callable[[], None] | None:
        key, held = Qt.Key(event.key()), event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        if held == Qt.KeyboardModifier.ControlModifier:
            acts = {Qt.Key.Key_L: self.turn_lot} | ({Qt.Key.Key_C: self.copy_text} if self._copies() else {})
            return acts.get(key)
        if held:
            return None
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            return (lambda: None) if event.isAutoRepeat() else self._enter
        if key == Qt.Key.Key_Escape and self.recalling:
            return self.turn_lot
        return self.steps.turn if key == Qt.Key.Key_F5 else None

    def _copies(self) -> bool:
        """Whether Ctrl+C copies the list: always of a recalled lot, else where nothing in the field is marked."""
        return self.recalling or not (self.field.edit.hasFocus() and self.field.edit.hasSelectedText())

    def _enter(self) -> None:
        here = QApplication.focusWidget()
        if isinstance(here, QAbstractButton) and self.isAncestorOf(here):
            here.click()
            return
        if self.soon.isActive():
            self.look_for()
        self.open_it()
