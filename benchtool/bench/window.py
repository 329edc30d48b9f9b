"""The bench: the one window. It lays out the panes, hands keys to acts, and beats once a second."""

import logging
from collections.abc import Callable
from functools import cached_property, partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QByteArray, QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import (
    QCloseEvent,
    QGuiApplication,
    QKeyEvent,
    QKeySequence,
    QResizeEvent,
    QShortcut,
)
from PySide6.QtWidgets import QLineEdit, QMainWindow, QStackedWidget

from benchtool.bench.doing import Doing
from benchtool.bench.elsewhere import Elsewhere
from benchtool.bench.keys import ACTIONS
from benchtool.bench.leaving import Leaving
from benchtool.bench.look import Look
from benchtool.bench.near import NearView
from benchtool.bench.nextkey import USUAL_KEY
from benchtool.bench.pedal import PedalKey
from benchtool.bench.recordpages import NAMES
from benchtool.bench.sound import Voice
from benchtool.job.events import Face
from benchtool.session.handsfree import Place, unseen
from benchtool.session.session import NotNow, Session
from benchtool.trade.saying import say

if TYPE_CHECKING:
    from benchtool.bench.air import AirPage
    from benchtool.bench.farview import FarView
    from benchtool.bench.shop import ShopPage
    from benchtool.bench.sums import SumsPage
    from benchtool.bench.together import Together
    from benchtool.session.loggerkeeper import LoggerKeeper
    from benchtool.session.trialrun import GroupAct


log = logging.getLogger("benchtool")

MADE_PAGES = frozenset({"identify", "prep plan", "library", "build", "rules", "trials"}) | NAMES
"""The acts that show a page which `Pages.open` makes."""

PAGES = MADE_PAGES | {"more", "help", "piece", "layer", "edit", "job", "new", "sums", "shop", "air"}
"""The acts that show something which the far view would hide."""


OF_A_PIECE = {"start": "COAT", "done": "FINISH", "mix": "MIX", "prep": ""}
"""The acts on the piece in hand, with what each is on the strips that a trial is run on."""


class BenchWindow(QMainWindow):
    """Everything the painter sees."""

    job_asked = Signal(str)
    job_fault = Signal(object)
    found_asked = Signal(object)
    closing = Signal()
    called = Signal(object)
    beaten = Signal()
    painted = Signal()

    def __init__(
        self,
        look: Look,
        session: Session,
        voice: Voice,
        text_of_state: Callable[[], str],
        make_keeper: "Callable[[], LoggerKeeper]",
    ) -> None:
        super().__init__()
        self._make_keeper = make_keeper
        self._keeper: LoggerKeeper | None = None
        self.look, self.session, self.voice, self.text_of_state = look, session, voice, text_of_state
        self.setObjectName("bench")
        self.setWindowTitle("Bench")
        self.setMinimumSize(800, 440)
        self.doing = Doing(look, session)
        self.near = near = NearView(look, session, self.doing, self.logger)
        self.header, self.status, self.acts, self.pages, self.bench = (
            near.header, near.status, near.acts, near.pages, near.bench
        )  # fmt: skip
        self.stack, self.mix, self.watch, self.findings = near.panes
        self.views = QStackedWidget()
        self.views.addWidget(near)
        self.setCentralWidget(self.views)
        self._stop_listening = session.subscribe(self.refresh)
        self._left = self._placed = False
        self._seen = session.current
        self._said_of = self._job()
        self.installEventFilter(self)
        self.mix.aside = self.pages.aside
        self.pedal = PedalKey(self, session, self._pedal_works, lambda: self.doing.called_for, self._pedal_place)
        self.leaving, self.elsewhere = Leaving(self), Elsewhere(self)
        self._connect()
        self.take_next_key(USUAL_KEY)
        self.beat = QTimer(self)
        self.beat.setObjectName("beat")
        self.beat.setTimerType(Qt.TimerType.PreciseTimer)
        self.beat.setSingleShot(True)
        self.beat.timeout.connect(self._on_beat)

    # --- what is connected to what --------------------------------------------------------------------

    def _connect(self) -> None:
        self._shortcuts: list[QShortcut] = []
        for act in ACTIONS:
            for keys in act.keys:
                self._shortcut(keys, partial(self.do, act.id))
        for digit in range(1, 10):
            self._shortcut(str(digit), partial(self._pick_piece, digit))
        self._shortcut("Esc", self._escape)
        self.pedal.answered.connect(self._answer_pedal)
        self.pedal.heard.connect(self.doing.hushed)
        self.pages.left.connect(self._left_page)
        self.pages.said.connect(self.say)
        self.pages.make_asked.connect(self._make)
        self.pages.calendar_asked.connect(lambda: self.do("calendar"))
        self.pages.key_chosen.connect(self.take_next_key)
        self.pages.prep_logged.connect(self.doing.log_prep)
        self.pages.prep_other.connect(self.doing.prep_other)
        self.closing.connect(self.pages.record.close)
        self.pages.act_asked.connect(self._do_on_strips)
        self.pages.mix_asked.connect(self._to_the_cup)
        self.header.trial_asked.connect(self._show_trial)
        self.doing.trials_asked.connect(lambda: self.do("trials"))
        self.doing.prep_plan_asked.connect(lambda: self.do("prep plan"))
        for pages in (self.pages, self.views):
            pages.currentChanged.connect(lambda _: self.pedal.settle())
        self.pages.stage_turned.connect(self.pedal.settle)
        self.pages.stage_turned.connect(self.acts_anew)
        self.pages.currentChanged.connect(lambda _: self.leaving.stay())
        self.pages.currentChanged.connect(lambda _: self.acts_anew())
        self.mix.run_asked.connect(self._back_to_the_run)
        self.acts.asked.connect(self.do)
        self.mix.said.connect(self.say)
        self.doing.said.connect(self.say)
        self.doing.settled.connect(self._settled)
        self.doing.hushed.connect(self._hush)
        self.doing.clock.asking.connect(self._come_near)
        self.header.job_asked.connect(lambda: self.do("job"))
        self.header.piece_asked.connect(lambda: self.do("piece"))
        self.header.air_asked.connect(lambda: self.do("air"))
        self.stack.plan_asked.connect(lambda what: self.do("edit" if what == "piece" else what))
        self.look.changed.connect(self._relook)

    def take_next_key(self, portable: str) -> None:
        """Take this key as the hands-free one, or the usual one where it can't be used."""
        self.pedal.take(portable)
        self.pages.next_key = self.pedal.key
        if "far" in self.__dict__:
            self.far.next_key = self.pedal.key

    def _pedal_works(self) -> bool:
        return self.in_far_view or self.pages.on_bench or self.pages.stage == "run"

    def _pedal_place(self) -> Place:
        if self.in_far_view or self.pages.stage != "run":
            return Place(aside=self.pages.aside)
        run = self.pages.trial.run
        goes = run.act is not None and run.act.act is None
        return Place(aside=self.pages.aside, running=True, act=run.act, go=run.do if goes else None)

    def acts_anew(self) -> None:
        """Offer in the act bar what the stage of a trial that is seen now has for it."""
        self.near.refresh_acts()

    def _answer_pedal(self, words: str) -> None:
        self.say(words)
        now = self.session.now()
        if self.session.alarms.quiet_until(now) is None and not unseen(self.session, now):
            self.voice.say(words)  # not over a call that only began to sound
        self.doing.show_calls()
        self.refresh()

    def _shortcut(self, keys: str, run: Callable[[], None]) -> None:
        shortcut = QShortcut(QKeySequence(keys), self)
        shortcut.activated.connect(run)
        self._shortcuts.append(shortcut)

    def _hush(self) -> None:
        self.voice.hush()

    @cached_property
    def far(self) -> "FarView":
        """The far view, made when it is first asked for."""
        from benchtool.bench.farview import FarView

        far = FarView(self.look, self.session)
        far.next_key, far.place = self.pedal.key, self._pedal_place
        far.left.connect(self.toggle_far)
        self.views.addWidget(far)
        return far

    @cached_property
    def together(self) -> "Together":
        """Does what is done to several strips of a trial."""
        from benchtool.bench.together import Together

        together = Together(self.session, self.doing, self.pages.aside)
        together.said.connect(self.say)
        return together

    @property
    def in_far_view(self) -> bool:
        """Whether the far view is seen."""
        return self.views.currentWidget() is not self.near

    def logger(self) -> "LoggerKeeper":
        """Give what follows the logger's file; from then on it is looked at with each beat."""
        if self._keeper is None:
            self._keeper = self._make_keeper()
        return self._keeper

    def _left_page(self) -> None:
        self.say("")  # what a page offered can't be taken any more
        self._leave_page()
        if self.pages.on_bench and not self.doing.asking:
            self.bench.setFocus()  # else it falls to some button, and the next Enter presses that

    # --- acts --------------------------------------------------------------------------------------

    def do(self, what: str) -> None:
        """Do what a key or button asks for; a refusal is said in the line above the act bar."""
        acts: dict[str, Callable[[], object]] = {
            "start": self._start, "done": self._done, "mix": self._mix, "empty": self.mix.empty,
            "prep": self.doing.prep, "reading": self.doing.ask_reading, "trial": self.doing.ask_trial,
            "undo": self.doing.undo, "redo": self.doing.redo, "earlier": self.doing.earlier,
            "copy": self._copy, "far": self.toggle_far, "heard": self.doing.heard,
            "silence": self.doing.silence, "theme": self.look.turn, "help": self._help,
            "piece": lambda: self._plan("piece"), "layer": lambda: self._plan("layer"),
            "edit": lambda: self._plan("edit"), "weigh": self.mix.weigh, "can": self._which_can,
            "sums": lambda: self._show(self.pages.sums), "shop": lambda: self._show(self.pages.shop),
            "air": lambda: self._show(self.pages.air), "more": self.elsewhere.ask, "heat": self.doing.drying.ask_heat,
            "film": self.doing.drying.ask_film, "calendar": lambda: self.job_asked.emit("calendar"),
            "up": lambda: self._move_layer(-1), "down": lambda: self._move_layer(1), "quit": self.close,
            **{page: partial(self._open, page) for page in MADE_PAGES},
            "job": lambda: self.job_asked.emit("job"), "new": lambda: self.job_asked.emit("new"),
        }  # fmt: skip
        if what not in ("heard", "far", "copy", "theme", "up", "down"):
            self.doing.leave_strips()
        if what in PAGES and self.in_far_view:
            self.toggle_far()
        stage = "" if self.in_far_view else self.pages.stage
        if what in OF_A_PIECE and stage:
            acts[what] = partial(self._on_stage, what, stage)
        elif what in ("start", "done", "mix", "empty", "weigh", "can") or (what in ("undo", "redo") and not stage):
            self.show_bench()
        try:
            acts[what]()
        except NotNow as no:
            self.say(str(no))
        except Exception as fault:  # noqa: BLE001 - whatever it is, it is said: a key that seems to do nothing is pressed again
            self._say_fault(fault, page=what in PAGES)
        if what in ("undo", "redo") and stage:
            self._stay_on_stage()
        if self.doing.asking:
            self._come_near()
        self.refresh()

    def _say_fault(self, fault: Exception, *, page: bool) -> None:
        log.exception("what was asked for failed")
        text = " ".join((getattr(fault, "strerror", None) or str(fault) or type(fault).__name__).split()).rstrip(".")
        self.say(
            say("This page can't be opened: {text}. The log says more.", text=text)
            if page
            else say("That could not be done: {text}. The log says more.", text=text)
        )

    def say(self, text: str) -> None:
        """Say something in the line above the act bar, and in large words where only the far view is seen."""
        self.status.say(text)
        self._said_of = self._job()
        if self.in_far_view:
            self.far.say(text)

    def _start(self) -> None:
        (self.together if self._strip_in_hand else self.doing).start()

    def _done(self) -> None:
        (self.together if self._strip_in_hand else self.doing).done()

    @property
    def _strip_in_hand(self) -> bool:
        piece = self.session.piece
        return piece is not None and piece.piece.strip_of is not None

    def _on_stage(self, what: str, stage: str) -> None:
        """Do on the run of a trial what it has to do there; what is about the piece in hand is not seen from there."""
        if stage != "run":
            raise NotNow(say("That is done at the bench (Esc), or on the run of the trial."))
        if what == "prep":  # at the bench P, then Enter: here that Enter would log the step after it
            raise NotNow(say("Here Enter logs what stands large."))
        from benchtool.session.trialsteps import Kind

        self.pages.trial.run.do_by_letter(Kind[OF_A_PIECE[what]])

    def _stay_on_stage(self) -> None:
        self.refresh()
        page = self.pages.trial
        if not self.doing.asking and not page.isAncestorOf(self.focusWidget()):
            page.setFocus()  # the button was pressed: the keys of the stage go on

    def _back_to_the_run(self) -> None:
        piece = self.session.piece
        if piece is not None:
            self.say("")
            self.pages.show_trial(piece.piece.strip_of, "run")

    def _job(self) -> object:
        return self.session.current.job if self.session.current is not None else None

    def _to_the_cup(self) -> None:
        self.show_bench()
        self.do("mix")

    def _mix(self) -> None:
        if self.session.layer is None:
            raise NotNow("Plan a layer first: press L.")
        self.refresh()
        self.mix.take_focus()

    def _plan(self, what: str) -> None:
        self.session.writable()
        self.say("")
        self.pages.plan.ask(what)
        self.pages.setCurrentWidget(self.pages.plan)

    def _show(self, page: "SumsPage | ShopPage | AirPage") -> None:
        self.say("")
        self.elsewhere.hours_for_day = False
        page.ask()
        self.pages.setCurrentWidget(page)

    def _open(self, what: str) -> None:
        self.say("")
        self.pages.open(what)
        page = self.pages.currentWidget() or self.bench
        if not page.isAncestorOf(self.focusWidget()):
            page.setFocus()  # a page that has a field to begin with put the focus there

    def _make(self, amount: str) -> None:
        try:
            self.mix.make(amount)
        except NotNow as no:
            self.say(str(no))
            return
        self.show_bench()
        self.mix.take_focus()
        self.say(f"{amount} is in the field: press Enter to mix it.")

    def _which_can(self) -> None:
        question, answers = self.mix.cans()
        self.doing.pick.ask(question, answers)

    def _help(self) -> None:
        self.pages.setCurrentWidget(self.bench if self.pages.currentWidget() is self.pages.help else self.pages.help)

    def show_bench(self) -> None:
        """Come back from a page to the bench."""
        self.pages.setCurrentWidget(self.bench)
        self.refresh()

    def toggle_far(self) -> None:
        """Go to the far view, or back."""
        far = self.in_far_view
        self.views.setCurrentWidget(self.near if far else self.far)
        if far:
            self.far.say("")  # an answer of before is none for whatever is in hand when it is seen again
            self.setWindowState(self.windowState() & ~Qt.WindowState.WindowFullScreen)
        else:
            self.setWindowState(self.windowState() | Qt.WindowState.WindowFullScreen)
            self.far.setFocus()
        self.refresh()

    def _come_near(self) -> None:
        if self.in_far_view:
            self.toggle_far()  # a question must not wait unseen

    def _escape(self) -> None:
        if self.in_far_view:
            self.toggle_far()
            return
        if self.doing.asking and not self.pages.on_bench:
            self.doing.put_away()  # the question alone: the next Esc leaves the page
            return
        self.doing.put_away()
        if self.pages.stage and self.pages.trial.leave_field():
            return
        self.mix.leave_part()
        self._leave_page()
        if self.pages.on_bench:
            self.bench.setFocus()

    def _leave_page(self) -> None:
        """Come back to the bench; from hours that the plan of the day asked for, to the plan."""
        on_shop = self.pages.seen("shop")
        back, self.elsewhere.hours_for_day = self.elsewhere.hours_for_day and on_shop, False
        if back:
            self._open("day")
            self.refresh()
        else:
            self.show_bench()

    def _settled(self) -> None:
        if self.doing.asking:
            return  # one answer led to the next question, which has the focus now
        page = self.pages.currentWidget() or self.bench
        if page is self.bench or not (page.isAncestorOf(self.focusWidget()) or self.doing.give_back(page)):
            page.setFocus()  # a page that the answer opened has put it on its first field
        self.refresh()

    def _copy(self) -> None:
        clipboard = QGuiApplication.clipboard()
        if clipboard is not None:
            clipboard.setText(self.text_of_state())
            self.say("The state of the job is copied as text.")

    def _pick_piece(self, number: int) -> None:
        if self.doing.answer(number) or (not self.in_far_view and self.pages.take_digit(number)):
            return
        places = self.header.places()
        if number > len(places):
            return
        piece, trial = places[number - 1]
        if trial is not None:
            self._show_trial(trial)
        else:
            self.show_bench()
            self.session.pick(piece)

    def _show_trial(self, trial: str) -> None:
        if self.in_far_view:
            self.toggle_far()
        self.say("")
        self.doing.leave_strips()
        self.pages.show_trial(trial)

    def _do_on_strips(self, act: "GroupAct") -> None:
        self.together.do(act)
        self.refresh()

    def _move_layer(self, step: int) -> None:
        piece, layer = self.session.piece, self.session.layer
        if self.in_far_view or not self.pages.on_bench:
            return  # what is in hand must not change unseen
        if piece is None or layer is None or isinstance(self.focusWidget(), QLineEdit):
            return
        drawn_down = piece.piece.face is Face.BEHIND_CLEAR
        i = piece.layers.index(layer) + (step if drawn_down else -step)
        if 0 <= i < len(piece.layers):
            self.session.pick(piece.id, piece.layers[i].id)

    # --- the beat ----------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Draw everything as it stands now."""
        if self.session.current is not self._seen:
            self._seen = self.session.current
            self.status.say("")  # what was said of another job is no word on this one
        if self.pages.stage and self._said_of is not self._job():
            self.say("")  # nor what was said before an act on what stands after it
        now = self.session.now()
        if self.in_far_view:
            self.far.refresh(now)
            return
        self.near.refresh(now)

    def _on_beat(self) -> None:
        self._arm()  # first of all: whatever goes wrong below, the next second comes
        try:
            self.doing.clock.look(busy=self.doing.asking)
            if self._keeper is not None:
                for words in self._keeper.look(self.session.now()):
                    self.status.say(words)
        finally:
            self._call_out()  # whatever went wrong above, what calls is heard
        self.doing.show_calls()
        self.doing.tick()
        self.refresh()
        self.beaten.emit()

    def _call_out(self) -> None:
        ring = self.session.tick()
        if ring is not None:
            self.voice.ring(ring)
            if self.voice.missing:
                self.status.say(self.voice.missing)
            self.called.emit(ring)

    def _arm(self) -> None:
        # The next beat falls just past a whole second of the session's own time, so that a countdown
        # changes when it should.
        self.beat.start(max(20, 1_005 - self.session.now().microsecond // 1_000))

    # --- the window itself -------------------------------------------------------------------------

    def begin(self) -> None:
        """Start the beat; called once the window is shown."""
        self.doing.clock.look(busy=self.doing.asking)
        self.bench.setFocus()
        self.refresh()
        self._arm()

    def place(self) -> str:
        """Give where the window is, for the next start."""
        return bytes(self.saveGeometry().toBase64().data()).decode("ascii")

    def put_at(self, place: str) -> None:
        """Put the window where it was."""
        self._placed = bool(place) and self.restoreGeometry(QByteArray.fromBase64(place.encode("ascii")))

    def come_up(self) -> None:
        """Show the window where it was; the first time, and where that is larger than the screen, fill the screen."""
        screen = self.screen().availableGeometry()
        if self._placed and self.width() <= screen.width() and self.height() <= screen.height():
            self.show()
        else:
            self.resize(self.size().boundedTo(screen.size()))  # where nobody manages windows, none is maximised
            self.showMaximized()

    def _relook(self) -> None:
        sheet = self.look.style_sheet()
        if sheet != self.styleSheet():  # to set it styles every widget anew, and a new size changes nothing in it
            self.setStyleSheet(sheet)
        self.refresh()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if self.pedal.takes(event):
            event.accept()
            return
        # Enter that nobody else wanted does what the button in the mix pane says it does.
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.pages.on_bench:
            typing = isinstance(self.focusWidget(), QLineEdit)  # a field has taken it already, and lets it through
            if not typing and not self.doing.asking and not event.isAutoRepeat():
                self.mix.enter_pressed()
            event.accept()
            return
        super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        self.look.fit(event.size().width(), event.size().height())
        super().resizeEvent(event)

    def closeEvent(self, event: QCloseEvent) -> None:
        if not self.leaving.may():
            event.ignore()
            return
        self.beat.stop()
        if not self._left:
            self._left = True
            self._come_near()  # else the next start would fill the screen with the near view
            self._stop_listening()
            self.closing.emit()
        super().closeEvent(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Paint:
            self.removeEventFilter(self)
            QTimer.singleShot(0, self, self.painted.emit)
        return False
