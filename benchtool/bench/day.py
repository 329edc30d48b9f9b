"""The page of the day: what to do next, the plan drawn over the hours of the shop, and what the plan found."""

from datetime import datetime

from PySide6.QtCore import QEvent, Qt, QTimer, Signal
from PySide6.QtGui import QHideEvent, QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QHBoxLayout,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from benchtool.bench.controls import Rule, Words, scrolled
from benchtool.bench.daydraw import legend
from benchtool.bench.dayempty import EmptyDay, Helps, why
from benchtool.bench.dayfolds import PaperLine, PromiseLine, ShutLine, StayLine
from benchtool.bench.dayfoot import DayFoot, paper_of, roll, usual_size
from benchtool.bench.daylist import DayList
from benchtool.bench.dayplot import ZOOM_STEP, DayPlot
from benchtool.bench.dayprint import PlanPaper
from benchtool.bench.dayrows import picture_of
from benchtool.bench.daysave import PlanSave, can_print
from benchtool.bench.dayside import LOWEST, FoundList, PlanningLine, found_height
from benchtool.bench.daytold import DayTold, Planned, Plans, made_words
from benchtool.bench.look import GRID, Look
from benchtool.bench.typedkeys import LETTERS, is_typed
from benchtool.session.cardfields import Wrong
from benchtool.session.dayplan import DayPlanner
from benchtool.session.session import NotNow, Session
from benchtool.sheets.blocks import Paper
from benchtool.trade.saying import say

BEAT_MS = 120
"""While a plan is being made the bar goes on so often."""


class DayPage(QWidget):
    """The plan of the day. `layer_asked` (job, piece, layer or "") asks for a layer on the bench.

    `refresh` may be called each second: it moves the line of now, and draws anew only what is another.
    """

    letters = LETTERS
    left = Signal()
    said = Signal(str)
    layer_asked = Signal(str, str, str)
    hours_asked = Signal()
    job_asked = Signal()

    def __init__(self, look: Look, session: Session, planner: DayPlanner | Plans) -> None:
        super().__init__()
        self.look, self.session = look, session
        self.plans: Plans = Planned(planner) if isinstance(planner, DayPlanner) else planner
        self._beat = QTimer(self)
        self._beat.setInterval(BEAT_MS)
        self._beat.timeout.connect(lambda: self.refresh(self.session.now()))
        self.setObjectName("day")
        self.told: DayTold | None = None
        self.title = Words(look, "title", "ink", wrap=False)
        self.title.say(say("The day"))
        self.next = Words(look, "strong", "ink")
        self.next.setObjectName("day-next")
        self.made = Words(look, "small", "quiet", wrap=False)
        self.pointed = Words(look, "small", "ink", wrap=False)
        self.pointed.setObjectName("day-pointed")
        self.pointed.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.planning = PlanningLine(look)
        self.promise, self.stay, self.shut = PromiseLine(look), StayLine(look), ShutLine(look)
        self.paper = PaperLine(look, usual_size(), printing=can_print())
        self.plot, self.list, self.empty = DayPlot(look), DayList(look), EmptyDay(look)
        self.found = FoundList(look)
        self.save = PlanSave(self)
        self.foot = foot = DayFoot(look)
        self.anew, self.whole, self.today = foot.anew, foot.whole, foot.today
        self.longer, self.closer = foot.longer, foot.closer
        self.as_list, self.promised, self.here, self.on_paper = foot.as_list, foot.promised, foot.here, foot.on_paper
        self.hours, self.back = foot.hours, foot.back
        self._build(look)
        self._connect()

    # --- layout ------------------------------------------------------------------------------------

    def _build(self, look: Look) -> None:
        self.views = QStackedWidget()
        for view in (self.plot, self.list, self.empty):
            self.views.addWidget(view)
        head = QHBoxLayout()
        head.setSpacing(3 * GRID)
        head.addWidget(self.title)
        head.addWidget(self.next, 1)
        head.addWidget(self.made)
        self.found_area = scrolled(self.found)
        upper = QVBoxLayout()
        upper.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID // 2)
        upper.setSpacing(GRID // 2)
        upper.addLayout(head)
        for line in (self.planning, self.shut, self.promise, self.stay, self.paper):
            upper.addWidget(line)
        upper.addWidget(self.views, 1)
        upper.addWidget(self.pointed)
        upper.addWidget(self.found_area)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(upper, 1)
        column.addWidget(Rule(look, upright=False))
        column.addLayout(self.foot)
        self.planning.hide()
        self.setFocusProxy(self.plot)

    def _connect(self) -> None:
        self.back.clicked.connect(self.left)
        self.anew.clicked.connect(self.plan_anew)
        self.planning.cancel.clicked.connect(self.cancel)
        self.whole.clicked.connect(lambda: self._zoomed(self.plot.show_whole))
        self.today.clicked.connect(lambda: self._zoomed(self.plot.show_today))
        self.longer.clicked.connect(lambda: self._zoomed(lambda: self.plot.zoom(1 / ZOOM_STEP)))
        self.closer.clicked.connect(lambda: self._zoomed(lambda: self.plot.zoom(ZOOM_STEP)))
        self.as_list.clicked.connect(self.turn_list)
        self.promised.clicked.connect(self.ask_promise)
        for button in (self.here, self.shut.here):
            button.clicked.connect(self.ask_stay)
        self.on_paper.clicked.connect(self.ask_paper)
        self.hours.clicked.connect(self.hours_asked)
        self.empty.help.clicked.connect(self._help)
        self.plot.pointed.connect(self._point)
        for view in (self.plot, self.list):
            view.layer_asked.connect(self.layer_asked)
        self.promise.kept.connect(self._keep_promise)
        self.stay.kept.connect(self._keep_stay)
        for line in (self.promise, self.stay, self.paper):
            line.folded.connect(self.take_focus)
            line.folded.connect(self._show_shut)
        self.paper.file_asked.connect(lambda paper: self._to_paper(paper, printer=False))
        self.paper.print_asked.connect(lambda paper: self._to_paper(paper, printer=True))
        self.save.said.connect(self.said)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit_found()

    def _fit_found(self) -> None:
        """Give what the plan found the room it needs, up to its share."""
        self.found_area.setFixedHeight(found_height(self.found, self.width(), self.height()))

    # --- asking ------------------------------------------------------------------------------------

    def ask(self) -> None:
        """Show the plan of the open jobs, made anew where what was planned is not how things stand any more."""
        self._hide_lines()
        if self.session.documents and self.plans.stale and not self.plans.busy:
            self.plans.plan_now()
        self.refresh(self.session.now())
        self.take_focus()

    def take_focus(self) -> None:
        """Put the focus on what is seen."""
        views: dict[QWidget | None, QWidget] = {self.empty: self.empty.help, self.list: self.list}
        stop = views.get(self.views.currentWidget(), self.plot)
        (stop if stop.isVisibleTo(self) else self.back).setFocus(Qt.FocusReason.OtherFocusReason)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.plans.watch(on=True)
        self._fit_found()
        self.take_focus()

    def plan_anew(self) -> None:
        """Plan from how things stand now; the last plan stays in view meanwhile."""
        self.plans.plan_now()
        self.refresh(self.session.now())

    def cancel(self) -> None:
        """Stop planning; the last plan stays."""
        self.plans.cancel()
        self.said.emit(say("Planning stopped: the last plan stays."))
        self.refresh(self.session.now())
        self.take_focus()

    def refresh(self, now: datetime) -> None:
        """Show everything as it stands at `now`."""
        told = self.plans.told()
        if told is not self.told:
            self._show_told(told, now)
        elif told is None or told.plan is None:
            self._show_empty(told)
        minute = now.replace(second=0, microsecond=0)
        self.plot.go_on(minute)
        self.next.say(self.plans.next(now) if self.told is not None and self.told.plan is not None else "")
        self._show_planning()
        self._show_shut(now)
        self._show_made(now)

    def _show_planning(self) -> None:
        busy = self.plans.busy
        if busy:
            share = self.plans.share
            self.planning.show_share(share, say("Planning: {percent} %", percent=round(share * 100)))
        self.planning.setVisible(busy and not (self._folds() and self.height() < LOWEST))  # the field comes first
        self.anew.setEnabled(not busy and bool(self.session.documents))
        if busy and self.isVisible():
            if not self._beat.isActive():
                self._beat.start()
        else:
            self._beat.stop()

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self._beat.stop()
        self.plans.watch(on=False)

    def _show_made(self, now: datetime) -> None:
        self.made.say(*made_words(self.told, now, moved=self.plans.stale and not self.plans.busy))

    def _show_told(self, told: DayTold | None, now: datetime) -> None:
        self.told = told
        if told is None or told.plan is None:
            self._show_empty(told)
            return
        picture = picture_of(told.plan, told.names, told.opened, now.replace(second=0, microsecond=0))
        self.plot.show_picture(picture)
        self.list.show_picture(picture)
        self.found.show_said(told.said)
        if self.views.currentWidget() is self.empty:
            self.views.setCurrentWidget(self.plot)
            if self.isVisible():
                self.take_focus()
        self._allow(plan=True)
        self._point(self.plot.accessibleDescription())
        self._fit_found()

    def _show_empty(self, told: DayTold | None) -> None:
        turned = self.views.currentWidget() is not self.empty
        self.views.setCurrentWidget(self.empty)
        self.next.say("")
        self.found.show_said(told.said if told is not None else ())
        self._point("")
        self._allow(plan=False)
        self._fit_found()
        self.empty.show_why(why(told, jobs=bool(self.session.documents), busy=self.plans.busy))
        if turned and self.isAncestorOf(QApplication.focusWidget() or self.window()):
            self.take_focus()

    def _help(self) -> None:
        (self.hours_asked if self.empty.helps is Helps.HOURS else self.job_asked).emit()

    def _allow(self, *, plan: bool) -> None:
        """Offer what there is something for."""
        for button in (
            self.whole, self.today, self.longer, self.closer, self.as_list, self.on_paper, self.promised,
        ):  # fmt: skip
            button.setEnabled(plan)

    def _point(self, words: str) -> None:
        drawn = self.views.currentWidget() is self.plot
        self.pointed.say(words or (legend() if drawn else ""), "ink" if words else "quiet")

    # --- views -------------------------------------------------------------------------------------

    def turn_list(self) -> None:
        """Turn from the drawing to the list of the same steps, or back."""
        listed = self.views.currentWidget() is self.list
        self.views.setCurrentWidget(self.plot if listed else self.list)
        self.as_list.say(say("List") if listed else say("Drawing"))
        self._point(self.plot.accessibleDescription() if listed else "")
        self.take_focus()

    def _zoomed(self, zoom: object) -> None:
        if callable(zoom):
            zoom()
        self.take_focus()

    # --- promised ----------------------------------------------------------------------------------

    def ask_promise(self) -> None:
        """Ask for when the job of the piece in hand is promised; without one, the job in hand."""
        self._hide_lines()
        row = self.plot.row_chosen
        job = row.job if row is not None else self.plans.job_in_hand()
        if not job:
            self.said.emit(say("Choose a piece first: the arrow keys go from one to the next."))
            return
        try:
            self.promise.ask(job, *self.plans.promise_of(job))
        except NotNow as no:
            self.said.emit(str(no))
        self._show_shut()

    def _keep_promise(self, job: str, typed: str) -> None:
        try:
            words = self.plans.promise(job, typed)
        except Wrong as wrong:
            self.promise.date.complain(wrong.faults[0][1])
            self.promise.date.take_focus()
            return
        except NotNow as no:
            self.promise.date.complain(str(no))
            return
        self.promise.fold()
        self.said.emit(words)
        self.plan_anew()

    # --- here today --------------------------------------------------------------------------------

    def ask_stay(self) -> None:
        """Ask until when somebody is in the shop today, whatever its hours are."""
        self._hide_lines()
        self.stay.ask(self.plans.stay_typed())
        self._show_shut()

    def _keep_stay(self, typed: str) -> None:
        try:
            words = self.plans.stay(typed)
        except (Wrong, NotNow) as wrong:
            self.stay.until.complain(wrong.faults[0][1] if isinstance(wrong, Wrong) else str(wrong))
            self.stay.until.take_focus()
            return
        self.stay.fold()
        self.said.emit(words)
        self.plan_anew()

    def _show_shut(self, now: datetime | None = None) -> None:
        """Say that the shop is closed, unless it is asked until when somebody is here, or a low page has no room."""
        words = self.plans.shut(now or self.session.now()) if self.session.documents else ""
        crowded = self._folds() and self.height() < LOWEST
        self.shut.show_shut(words if self.stay.isHidden() and not crowded else "")
        self.here.setVisible(not words)

    def _hide_lines(self) -> None:
        for line in (self.promise, self.stay, self.paper):
            line.hide()
        self._show_shut()

    # --- paper -------------------------------------------------------------------------------------

    def ask_paper(self) -> None:
        """Ask for the paper, and where the plan goes."""
        self._hide_lines()
        self.paper.ask()
        self._show_shut()

    def paper_plan(self) -> PlanPaper | None:
        """Give what would be printed; None while there is no plan."""
        demo = any(d.job.demo for d in self.session.documents)
        return paper_of(self.told, self.plot.picture, demo=demo)

    def _to_paper(self, paper: Paper, *, printer: bool) -> None:
        plan = self.paper_plan()
        if plan is None:
            return
        self.paper.fold()
        if printer:
            self.save.ask_printer(plan, paper)
        else:
            self.save.ask_file(plan, paper)

    # --- keys --------------------------------------------------------------------------------------

    def event(self, event: QEvent) -> bool:
        # The bench's letters are acts. Here they are the page's own, or do nothing; Esc folds a line before it leaves.
        over = event.type() is QEvent.Type.ShortcutOverride
        folds = isinstance(event, QKeyEvent) and event.key() == Qt.Key.Key_Escape and bool(self._folds())
        if over and isinstance(event, QKeyEvent) and (folds or is_typed(event)):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        here = QApplication.focusWidget()
        button = self.foot.of_key(event, self.planning.cancel)
        if event.key() == Qt.Key.Key_Escape:
            for line in self._folds():
                line.fold()
                break
            else:
                self.left.emit()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            (here if isinstance(here, QAbstractButton) else self.anew).click()
        elif button is not None:
            button.click()
        elif event.key() in (Qt.Key.Key_PageUp, Qt.Key.Key_PageDown):
            self._roll(1 if event.key() == Qt.Key.Key_PageDown else -1)
        else:
            super().keyPressEvent(event)
            return
        event.accept()

    def _folds(self) -> list[PromiseLine | StayLine | PaperLine]:
        return [line for line in (self.promise, self.stay, self.paper) if not line.isHidden()]

    def _roll(self, way: int) -> None:
        """Roll the drawing on, and at its end what the plan found."""
        roll((self.plot.verticalScrollBar(), self.found_area.verticalScrollBar()), way)
