"""The page of what the record says: own times against the card's, windows missed, waste, and how well was measured."""

from collections.abc import Callable

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QGuiApplication, QHideEvent, QKeyEvent, QShowEvent
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
from benchtool.bench.findjobsparts import ProgressBar
from benchtool.bench.learnedoffers import OfferRows
from benchtool.bench.learnedplot import RecordPlot
from benchtool.bench.learnedtable import RecordTable
from benchtool.bench.look import GRID, Look
from benchtool.bench.pagereading import PageReading
from benchtool.bench.planlists import PickList, PickRow
from benchtool.bench.typedkeys import LETTERS, keeps
from benchtool.session.jobreading import Progress
from benchtool.session.learning import Learning, Product, Record
from benchtool.session.learningoffers import Offer, Taken, changed_words, offers_for, take, take_back
from benchtool.session.learningshown import Mark, lanes_of
from benchtool.session.learningtext import product_detail, product_name, record_text
from benchtool.session.session import NotNow, Session
from benchtool.trade.saying import say

FIRST = 200
"""After so many files that were read the plots are drawn anew, and then each time that there are twice as many."""

LAST = 1_600
"""Beyond so many they are drawn anew only at the end: to sum them up takes longer than a painter wants to wait."""

ALL = "all"


class LearnedPage(QWidget):
    """Up and Down choose the product, Tab goes to the plots; there the arrows go over the cases, Enter to the piece."""

    letters = LETTERS
    left = Signal()
    said = Signal(str)
    piece_asked = Signal(str, str, str)
    """The file of a job, and the ids of a piece and of a layer of it."""

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.look, self.session = look, session
        self.learning = Learning(session)
        self.setObjectName("learned")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.record = Record()
        self.taken: list[Taken] = []
        self._key, self._drawn = ALL, 0
        self._make(look)
        self._lay_out(look)
        self._connect()
        self.setFocusProxy(self.list.list)

    # --- making ------------------------------------------------------------------------------------

    def _make(self, look: Look) -> None:
        self.steps = PageReading(self, self.learning.reading)
        self.head = Words(look, "title", "ink", wrap=False)
        self.head.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.list = PickList(look, say("Of which product?"), "learned-products", rows=3)
        self.offers = OfferRows(look)
        self.plot = RecordPlot(look)
        self.table = RecordTable(look)
        self.legend = Words(look, "small", "quiet")
        self.empty = Words(look, "body", "quiet")
        self.empty.setObjectName("learned-empty")
        self.empty.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.told = Words(look, "body", "ink")
        self.told.setObjectName("learned-told")
        self.told.setAlignment(Qt.AlignmentFlag.AlignVCenter)
        self.faults = Words(look, "small", "trouble")
        self.faults.setObjectName("learned-faults")
        self.bar = ProgressBar(look)
        self.bar.hide()
        self.progress = Words(look, "small", "quiet")
        self.progress.setObjectName("learned-progress")
        self.again = BenchButton(look, say("Read again"), "F5", name="learned-again")
        self.as_table = BenchButton(look, say("As a table"), "Ctrl+T", name="learned-as-table")
        self.copy = BenchButton(look, say("Copy as text"), "Ctrl+C", name="learned-copy")
        self.whose = BenchButton(look, say("The demo's record"), "Ctrl+D", name="learned-demo")
        self.go = BenchButton(look, say("Go to this piece"), "Enter", name="learned-go", primary=True)
        self.back = BenchButton(look, say("Back to the bench"), "Esc", name="learned-back")

    def _lay_out(self, look: Look) -> None:
        self.body = body = QWidget()
        inner = QVBoxLayout(body)
        inner.setContentsMargins(0, 0, 0, 0)
        inner.setSpacing(2 * GRID)
        for part in (self.offers, self.plot, self.legend):
            inner.addWidget(part)
        inner.addStretch(1)
        self.area = scrolled(body)
        self.views = QStackedWidget()
        for view in (self.area, self.table, self.empty):
            self.views.addWidget(view)
        right = QVBoxLayout()
        right.setSpacing(GRID)
        right.addWidget(self.views, 1)
        self.below = Rule(look, upright=False)
        right.addWidget(self.below)
        right.addWidget(self.told)
        self.side = QWidget()
        left = QVBoxLayout(self.side)
        left.setContentsMargins(0, 0, 0, 0)
        self.list.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Expanding)
        left.addWidget(self.list, 100)
        left.addStretch(1)
        sides = QHBoxLayout()
        sides.setSpacing(3 * GRID)
        sides.addWidget(self.side, 3)
        sides.addLayout(right, 8)
        foot = QHBoxLayout()
        foot.setSpacing(GRID)
        foot.addStretch(1)
        for button in (self.again, self.as_table, self.copy, self.whose, self.go, self.back):
            button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
            foot.addWidget(button)
        column = QVBoxLayout(self)
        column.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        column.setSpacing(GRID)
        column.addWidget(self.head)
        column.addLayout(sides, 1)
        for below in (Rule(look, upright=False), self.faults, self.bar):
            column.addWidget(below)
        column.addWidget(self.progress)  # over the buttons: beside them a narrow window leaves it no room
        column.addLayout(foot)
        look.changed.connect(self._relook)
        self._relook()

    def _relook(self) -> None:
        self.told.setFixedHeight(2 * self.told.fontMetrics().height() + GRID)
        self._fit_list()

    def _fit_list(self) -> None:
        """Let the list be as high as its lines, and its name lie on it."""
        self.list.setMaximumHeight(self.list.list.maximumHeight() + self.list.label.sizeHint().height() + GRID)

    def _connect(self) -> None:
        self.steps.stepped.connect(self._progressed)
        self.steps.done.connect(self._take)
        self.steps.failed.connect(lambda _: self._take(self.learning.gather()))
        self.steps.begun.connect(self._begun)
        self.steps.stopped.connect(lambda: self._take(self.learning.gather()))
        self.list.chosen.connect(self._pick)
        self.plot.told.connect(self._tell)
        self.plot.chosen.connect(self._show_in_hand)
        self.plot.asked.connect(self.go_there)
        self.table.told.connect(self._tell)
        self.table.itemDoubleClicked.connect(lambda _: self.go_there())
        self.offers.taken.connect(self.take_offer)
        self.offers.taken_back.connect(self.take_back)
        self.again.clicked.connect(lambda _=False: self.steps.turn())
        self.as_table.clicked.connect(lambda _=False: self.turn_table())
        self.copy.clicked.connect(lambda _=False: self.copy_text())
        self.whose.clicked.connect(lambda _=False: self.turn_demo())
        self.go.clicked.connect(lambda _=False: self.go_there())
        self.back.clicked.connect(self.left)

    # --- reading the files ---------------------------------------------------------------------------

    def ask(self) -> None:
        """Look at the folders of jobs again; what was chosen stays."""
        self._take(self.learning.gather())
        self.steps.ask()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.steps.seen()
        (self.list.list if self.record.products else self.again).setFocus(Qt.FocusReason.OtherFocusReason)

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self.steps.unseen()

    def _begun(self) -> None:
        self._drawn = 0
        self._allow()

    def _progressed(self, told: Progress | None) -> None:
        if told is None or not self.steps.busy:
            return
        self.bar.show_share(told.read, told.of)
        self.progress.say(told.words)
        if max(FIRST, 2 * self._drawn) <= told.read <= LAST:
            self._drawn = told.read
            self._show(self.learning.gather())

    def _take(self, record: Record) -> None:
        self._show(record)
        self.progress.say(record.words)
        self._allow()

    # --- what is shown -------------------------------------------------------------------------------

    @property
    def product(self) -> Product:
        """The product in hand, or all together."""
        return next((p for p in self.record.products if p.key == self._key), self.record.everything)

    def _show(self, record: Record) -> None:
        self.record = record
        self.faults.say(record.fault_words)
        self.faults.setVisible(bool(record.faults))
        every = PickRow(ALL, product_name(record.everything), product_detail(record.everything))
        rows = [every, *(PickRow(p.key, product_name(p), product_detail(p)) for p in record.products)]
        self._key = self._key if any(row.key == self._key for row in rows) else ALL
        self.list.fill(rows if record.products else (), self._key)
        self._fit_list()
        for part in (self.side, self.below, self.told):
            part.setVisible(bool(record.products))
        self._draw()

    def _pick(self, key: str) -> None:
        self._key = key
        self.plot.choose(None)
        self.area.verticalScrollBar().setValue(0)
        self._draw()

    def _draw(self) -> None:
        product, lanes = self.product, lanes_of(self.product)
        self.head.say(
            say("What the record of the demo says") if self.record.demo else say("What the record says of you")
        )
        self.plot.show_lanes(lanes)
        if self._tabled:
            self.table.show_lanes(lanes)
        self.legend.say(_legend())
        self.legend.setVisible(any(lane.marks for lane in lanes))
        done = [t for t in self.taken if t.offer.card.id.lower() == product.card.lower()]
        self.offers.show_offers(offers_for(self.session, product, demo=self.record.demo), done)
        self.empty.say(_empty() if not self.record.left_out else f"{_empty()} {_left_out()}")
        view = self.empty if not lanes else self.table if self._tabled else self.area
        self.views.setCurrentWidget(view)
        self._tell(self.mark.words if self.mark is not None else "")

    @property
    def _tabled(self) -> bool:
        return self.as_table.property("on") is True

    def turn_table(self) -> None:
        """Show the plots as a table, or the table as plots."""
        self.as_table.setProperty("on", not self._tabled)
        self.as_table.say(say("As plots") if self._tabled else say("As a table"))
        self._draw()
        here = self.table if self._tabled else self.plot
        if here.isVisible():
            here.setFocus(Qt.FocusReason.OtherFocusReason)

    def _tell(self, words: str) -> None:
        self.told.say(words or (_hint() if self.record.products else ""), "ink" if words else "quiet")
        self._allow()

    def _show_in_hand(self) -> None:
        box = self.plot.box_in_hand()
        if box is not None and self.plot.hasFocus():
            at = self.plot.mapTo(self.body, box.center().toPoint())
            self.area.ensureVisible(at.x(), at.y(), GRID, 12 * GRID)

    @property
    def mark(self) -> Mark | None:
        """The case in hand."""
        return self.table.mark if self._tabled else self.plot.mark

    def _allow(self) -> None:
        self.bar.setVisible(self.steps.busy)
        self.again.say(say("Stop reading") if self.steps.busy else say("Read again"))
        self.whose.setVisible(self.learning.choice)
        self.whose.say(say("Your own record") if self.record.demo else say("The demo's record"))
        self.go.setEnabled(self.mark is not None and bool(self.mark.piece))
        for button in (self.copy, self.as_table):
            button.setEnabled(bool(self.record.products))

    # --- acts ----------------------------------------------------------------------------------------

    def go_there(self) -> None:
        """Go to the piece of the case in hand."""
        mark = self.mark
        if mark is None or not mark.piece:
            self.said.emit(say("Choose a case first: go to the plots with Tab, then use the arrow keys."))
            return
        self.piece_asked.emit(str(mark.path), mark.piece, mark.layer)

    def take_offer(self, offer: Offer) -> None:
        """Change the card as the offer says; it can be taken back here."""
        try:
            self.taken.append(take(self.session, offer))
        except NotNow as no:
            self.said.emit(str(no))
        else:
            self.said.emit(changed_words(offer))
        self._show(self.learning.gather())

    def take_back(self, taken: Taken) -> None:
        """Put back what an offer changed."""
        try:
            take_back(self.session, taken)
        except NotNow as no:
            self.said.emit(str(no))
        else:
            self.said.emit(say("{name} is as it was.", name=taken.before.name))
        self.taken.remove(taken)
        self._show(self.learning.gather())

    def turn_demo(self) -> None:
        """Show the record of the demo alone, or one's own again, where jobs of both kinds are open."""
        if self.learning.choice:
            self.learning.demo_wanted = not self.learning.demo_wanted
            self.ask()

    def copy_text(self) -> None:
        """Copy what is shown as text."""
        QGuiApplication.clipboard().setText(record_text(self.record, self.product))
        self.said.emit(say("Copied: {name}.", name=product_name(self.product)))

    # --- the keyboard --------------------------------------------------------------------------------

    def event(self, event: QEvent) -> bool:
        # The bench's letters are acts. Here they do nothing.
        return keeps(event, self._act) or super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        act = self._act(event)
        if act is not None:
            act()
            event.accept()
        else:
            super().keyPressEvent(event)

    def _act(self, event: QKeyEvent) -> Callable[[], None] | None:
        key, held = Qt.Key(event.key()), event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        enter = key in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if held == Qt.KeyboardModifier.ControlModifier:
            acts: dict[Qt.Key, Callable[[], None]] = {
                Qt.Key.Key_T: self.turn_table, Qt.Key.Key_C: self.copy_text, Qt.Key.Key_Z: self._take_last_back,
                Qt.Key.Key_D: self.turn_demo,
            }  # fmt: skip
            return self._take_first if enter else acts.get(key)
        if held:
            return None
        if enter:
            return (lambda: None) if event.isAutoRepeat() else self._enter
        return self.steps.turn if key == Qt.Key.Key_F5 else None

    def _take_first(self) -> None:
        if self.offers.offers:
            self.take_offer(self.offers.offers[0])

    def _take_last_back(self) -> None:
        if self.offers.done:
            self.take_back(self.offers.done[-1])

    def _enter(self) -> None:
        here = QApplication.focusWidget()
        if isinstance(here, QAbstractButton) and self.isAncestorOf(here):
            here.click()
        elif here is self.list.list:
            (self.table if self._tabled else self.plot).setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            self.go_there()


def _legend() -> str:
    return say(
        "A disc lay within what was allowed then; an arrow to the left came too early or was too little, one to the "
        "right too late or too much; a line under it: scuffed first. Waits are as they would have been in the card's "
        "own air, on a scale by ratio. A finding needs at least 5 cases. The data sheet goes before your own times."
    )


def _hint() -> str:
    return say("Point at a case, or go to it with Tab and the arrow keys: what it was is told here.")


def _empty() -> str:
    return say(
        "Nothing to learn from yet. Log coats as they begin and end, what you pour, and what is left of a cup when you "
        "empty it: then your own times, the windows you missed, your waste and your measuring are shown here."
    )


def _left_out() -> str:
    return say("The demo's own record is left out here: Ctrl+D shows it alone.")
