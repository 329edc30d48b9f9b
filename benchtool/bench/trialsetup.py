"""The stage on which a trial is set up: its systems left, the panel they lie on, and how they are tested."""

from collections.abc import Callable, Sequence
from datetime import datetime
from random import Random

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QHideEvent, QKeyEvent
from PySide6.QtWidgets import QApplication

from benchtool.bench.controls import BenchButton
from benchtool.bench.look import GRID, Look
from benchtool.bench.triallabels import usual_paper
from benchtool.bench.trialsheet import SetupSheet
from benchtool.bench.typedkeys import is_typed
from benchtool.job.cards import Card
from benchtool.session import trialsetup
from benchtool.session.cardreading import Wrong
from benchtool.session.document import Document
from benchtool.session.session import NotNow, Session
from benchtool.session.stackbuilding import Row
from benchtool.session.trialkeeping import SetupKeeper
from benchtool.session.triallabels import labels_of
from benchtool.session.trialsetup import Offer, Ready, Setup
from benchtool.trade.saying import say, say_n

DRAFT_MS = 2_000
"""So long after a change what is half set up goes to disk (judgement)."""
_ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


class SetupStage(SetupSheet):
    """Sets up a trial, or changes one that has no paint on yet. What is half done stays while the program runs."""

    said = Signal(str)
    stage_asked = Signal(str)
    act_asked = Signal(object)
    card_asked = Signal(object)
    cards_asked = Signal()

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, session)
        self.setObjectName("trial-setup")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._complained = False
        self.chance = Random()  # noqa: S311  # places are mixed, nothing is hidden
        self.keeper = SetupKeeper(session)
        self.trial: str | None = None
        self.setup: Setup | None = None
        self.key = ""
        self._seen: tuple[Document | None, object] = (None, None)
        self._connect()

    # --- making ------------------------------------------------------------------------------------

    def _connect(self) -> None:
        self.about.changed.connect(lambda: self._change(self.about.take))
        self.about.piece_asked.connect(self._piece)
        self.systems.picked.connect(self._pick)
        self.systems.asked.connect(self._act_on_system)
        self.systems.wanted.connect(self._want)
        self.make_control.clicked.connect(self._add_control)
        self.no_control.clicked.connect(lambda: self._change(trialsetup.without_control))
        self.panel.picked.connect(self._pick_strip)
        self.replicates.chosen.connect(lambda n: self._change(lambda s: trialsetup.with_replicates(s, int(n))))
        self.shuffle.clicked.connect(lambda: self._change(self._shuffled))
        self.in_order.clicked.connect(lambda: self._change(trialsetup.in_order))
        self.details.changed.connect(lambda: self._change(self.details.take))
        self.details.grown.connect(self.show_focus)
        self.print.clicked.connect(self._print)
        self.label_save.said.connect(self.said)
        self.go.clicked.connect(self._put)
        self.editor.changed.connect(self._edited)
        self.editor.left.connect(self._leave_editor)
        self.editor.card_asked.connect(self.card_asked)
        self.editor.cards_asked.connect(self.cards_asked)
        self.systems.new_card.clicked.connect(lambda _=False: self.card_asked.emit(None))
        self.systems.open_cards.clicked.connect(lambda _=False: self.cards_asked.emit())
        self.saver = QTimer(self)
        self.saver.setSingleShot(True)
        self.saver.setInterval(DRAFT_MS)
        self.saver.timeout.connect(self._save_draft)
        self.left_area.installEventFilter(self)
        for added in self.details.adding.values():
            added.clicked.connect(lambda _=False: QTimer.singleShot(0, self, self.show_focus))

    # --- what is half set up is on disk too --------------------------------------------------------

    def _save_draft(self) -> None:
        """Keep on disk what is half set up: a crash loses none of it."""
        self.saver.stop()
        if self.setup is not None:
            self.keeper.save(self._seen[0], self.setup)

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        if self.saver.isActive():
            self._save_draft()

    def take_card(self, card: Card | None) -> None:
        """Come back from the cards, with one that was made; it is there to pick at once."""
        if self.pages.currentWidget() is self.editor:
            self.editor.take_card(card)
        elif self.setup is not None:
            self._show()
            self.take_focus()

    # --- what it is about --------------------------------------------------------------------------

    def ask(self, trial: str | None) -> None:
        """Set up a new trial, or change this one. What was half done of it is still there."""
        self._keep()
        self._take_up(trial)
        self.pages.setCurrentWidget(self.main if self.setup is not None else self.nothing)
        self.left_area.verticalScrollBar().setValue(0)
        self._show()
        QTimer.singleShot(0, self, self._first_focus)

    @property
    def half_done(self) -> tuple[Document, str | None] | None:
        """The open job and the trial (None: a new one) of which a set-up is half done, seen or left."""
        self._keep()
        return self.keeper.waits()

    def take_like(self, systems: Sequence[tuple[str, bool, Sequence[Row]]]) -> None:
        """Begin a trial with these systems (name, control, stack), such as those of an earlier one.

        To one that is half set up they are added: nothing of it goes.
        """
        self.ask(None)
        if self.setup is None:
            return
        if self.keeper.typed(self._seen[0], self.setup):
            before = len(self.setup.systems)
            self._change(lambda s: trialsetup.add_like(s, systems))
            n = len(self.setup.systems) - before
            self.said.emit(
                say_n(
                    "{n} system is added to the half set-up trial.",
                    "{n} systems are added to the half set-up trial.",
                    n,
                )
            )
            return
        self._change(lambda _: trialsetup.begin_like(self.session, self.session.piece, systems))
        self._pick(self.setup.systems[0].key if self.setup.systems else "")

    def _take_up(self, trial: str | None) -> None:
        self.trial, self._seen = trial, self._now()
        try:
            self.setup = self.keeper.take_up(trial)
        except NotNow as why:
            self.setup = None
            self.none.say(str(why))
            return
        if self.setup.system(self.key) is None:
            self.key = self.setup.systems[0].key if self.setup.systems else ""

    def _first_focus(self) -> None:
        here = QApplication.focusWidget()
        astray = here is None or here is self or not self.isAncestorOf(here)
        if self.setup is not None and self.isVisible() and astray:
            self.take_focus()

    def take_focus(self) -> None:
        """Put the focus on the system in hand, else on what can be added."""
        if self.pages.currentWidget() is self.editor:
            self.editor.take_focus()
        elif not self.systems.take_focus():
            self.about.name.take_focus()

    def _now(self) -> tuple[Document | None, object]:
        return self.session.current, self.session.current.job if self.session.current is not None else None

    def _keep(self) -> None:
        if self.setup is not None:
            self.keeper.keep(self._seen[0], self.setup)

    def refresh(self, now: datetime) -> None:
        """Take up what the job has now, where it has changed."""
        seen = self._now()
        other = seen[0] is not self._seen[0]
        if not other and seen[1] is self._seen[1]:
            return
        editing, key = self.pages.currentWidget() is self.editor and not other, self.key
        self._keep()
        self._take_up(None if other else self.trial)
        if not (editing and self.setup is not None and self.key == key):
            self.pages.setCurrentWidget(self.main if self.setup is not None else self.nothing)
        self._show()

    # --- showing -----------------------------------------------------------------------------------

    def _show(self) -> None:
        setup, document = self.setup, self.session.current
        if setup is None or document is None:
            return
        self.about.fill(setup, document.state.painted)
        self.show_systems(setup, self.key)
        self.show_panel(setup, self.key)
        self.details.fill(setup)
        if self.isVisible() and not self.saver.isActive():
            self.saver.start()  # not put off by the next key: whoever types on and on loses no more than this
        self.replicates.choose(str(setup.replicates))
        for widget in (self.replicates, self.shuffle):
            widget.setEnabled(not setup.begun)
        self.in_order.setEnabled(setup.randomised and not setup.begun)
        self.show_words(setup)
        self.tab_order.follow()
        if self._complained and not trialsetup.faults(self.session, setup):
            self._complain(())
            self.said.emit("")  # it is mended: what was said of it is no longer true

    # --- acts --------------------------------------------------------------------------------------

    def _change(self, how: Callable[[Setup], Setup]) -> None:
        if self.setup is None:
            return
        try:
            self.setup = how(self.setup)
        except NotNow as why:
            self.said.emit(str(why))
        self._show()

    def _piece(self, piece: str | None) -> None:
        document = self.session.current
        found = document.state.pieces.get(piece or "") if document is not None else None
        self._change(lambda s: trialsetup.with_piece(self.session, s, found))

    def _pick(self, key: str) -> None:
        self.key = key
        if self.setup is not None:
            self.show_systems(self.setup, self.key)
            self.show_panel(self.setup, self.key)

    def _pick_strip(self, number: str) -> None:
        if self.setup is not None:
            self._pick(next((s.key for n, s in self.setup.numbered() if str(n) == number), self.key))

    def _step(self, by: int) -> None:
        if self.setup is not None and self.setup.systems:
            keys = [c.key for c in self.setup.systems]
            at = keys.index(self.key) if self.key in keys else 0
            self._pick(keys[max(0, min(len(keys) - 1, at + by))])
            self._focus_row()

    def _focus_row(self) -> None:
        self.systems.take_focus()
        row = next((r for r in self.systems.rows if r.facts.picked), None)
        if row is not None:
            self.left_area.ensureWidgetVisible(row, 0, 2 * GRID)

    def _want(self, offer: Offer) -> None:
        setup = self.setup
        if setup is None:
            return
        try:
            self.setup, self.key = trialsetup.add_system(self.session, setup, offer.kind, offer.card)
        except NotNow as why:
            self.said.emit(str(why))
            return
        self._show()
        if offer.kind is Ready.EMPTY:
            self._edit()
        else:
            QTimer.singleShot(0, self, self._focus_row)

    def _add_control(self) -> None:
        """Add the bare strip; where no stack tells what goes on it, mark the system that has no promoter."""
        setup = self.setup
        if setup is None:
            return
        bare = next((c for c in setup.systems if c.rows and not c.promoters), None)
        offer = next((o for o in trialsetup.offers(self.session, setup) if o.kind is Ready.BARE), None)
        if offer is not None:
            self._want(offer)
        elif bare is not None:
            self.key = bare.key
            self._change(lambda s: trialsetup.set_control(s, bare.key))
        else:
            self.said.emit(say("Give a system its paint first: the control gets the same without the promoter."))

    def _act_on_system(self, act: str) -> None:
        setup, key = self.setup, self.key
        current = setup.system(key) if setup is not None else None
        if setup is None or current is None or act == "change":
            self._edit()
            return
        keys = [c.key for c in setup.systems]
        at = keys.index(key)

        def double(s: Setup) -> Setup:
            made, self.key = trialsetup.double(s, key)
            return made

        def out(s: Setup) -> Setup:
            made = trialsetup.take_out(s, key)
            left = [c.key for c in made.systems]
            self.key = left[min(at, len(left) - 1)] if left else ""
            return made

        acts: dict[str, Callable[[Setup], Setup]] = {
            "control": lambda s: trialsetup.set_control(s, key, on=not current.control),
            "double": double,
            "out": out,
            "up": lambda s: trialsetup.move(s, key, -1),
            "down": lambda s: trialsetup.move(s, key, 1),
        }
        self._change(acts[act])
        QTimer.singleShot(0, self, self._focus_row)

    def _shuffled(self, setup: Setup) -> Setup:
        return trialsetup.shuffle(setup, self.chance)

    def _print(self) -> None:
        if self.setup is not None:
            self.label_save.ask(labels_of(self.session, self.setup), self.paper.value or usual_paper())

    # --- the stack of a system ---------------------------------------------------------------------

    def _edit(self) -> None:
        setup = self.setup
        system = setup.system(self.key) if setup is not None else None
        if setup is None or system is None:
            return
        if setup.begun:
            self.said.emit(say("The strips have paint on: their systems stay as they are."))
            return
        build = trialsetup.build_of(setup, system.key, trialsetup.stand_in(setup))
        self.editor.ask(build, setup.letter(system.key), system.name, self._usual(setup))
        self.pages.setCurrentWidget(self.editor)
        self.editor.take_focus()

    def _usual(self, setup: Setup) -> str:
        return trialsetup.titles(trialsetup.change(setup, self.key, name=""))[self.key]

    def _edited(self) -> None:
        setup, build = self.setup, self.editor.build
        if setup is None or build is None:
            return
        self.setup = trialsetup.change(setup, self.key, rows=build.rows, name=self.editor.name.text())
        self.editor.call_it(self._usual(self.setup))
        self._show()

    def _leave_editor(self) -> None:
        self.pages.setCurrentWidget(self.main)
        self._show()
        self._focus_row()

    # --- the job -----------------------------------------------------------------------------------

    def _put(self) -> None:
        """Set the trial up: one act, which one undo takes back."""
        setup = self.setup
        if setup is None:
            return
        faults = trialsetup.faults(self.session, setup)
        if faults:
            self._complain(faults)
            return
        self._complain(())
        try:
            drafts = trialsetup.drafts(self.session, setup)
            before = set(self.session.writable().state.trials)
            document = self.session.writable()
            self.setup = None  # what follows from the act is shown anew
            made = self.session.apply(*drafts) if drafts else ()
        except (NotNow, Wrong) as wrong:
            self.setup = setup
            self.said.emit(str(wrong))
            return
        new = next((t for t in document.state.trials if t not in before), setup.trial)
        self.keeper.written(document, setup, new)
        self.trial = new
        self._seen = (None, None)
        self.said.emit(trialsetup.done_words(setup, bool(made)))
        self.stage_asked.emit("run")

    def _complain(self, faults: tuple[tuple[str, str], ...]) -> None:
        asks, self._complained = self.complain(faults), bool(faults)
        if not faults:
            return
        field, words = faults[0]
        self.said.emit(words)
        there = asks.get(field) or self.details.ask_of(field)
        if field.startswith("system-"):
            self._pick(field.removeprefix("system-"))
            self._focus_row()
        elif field == "control":
            self.left_area.ensureWidgetVisible(self.insist)
            self.make_control.setFocus(Qt.FocusReason.OtherFocusReason)
        elif there is not None:
            there.take_focus()
        else:
            self.take_focus()
        QTimer.singleShot(0, self, self.show_focus)

    # --- the keyboard ------------------------------------------------------------------------------

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Let no arrow roll a column: they move over the systems."""
        arrows = (Qt.Key.Key_Up, Qt.Key.Key_Down)
        if isinstance(event, QKeyEvent) and event.type() is QEvent.Type.KeyPress and event.key() in arrows:
            event.ignore()
            return True
        return False

    def event(self, event: QEvent) -> bool:
        """Keep the stage's own keys from being other acts of the window."""
        if event.type() is QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            field = self.focus_is_field()
            if (field and is_typed(event)) or self._act(event) is not None:
                event.accept()
                return True
        return super().event(event)

    @staticmethod
    def focus_is_field() -> bool:
        """Say whether letters are being typed."""
        here = QApplication.focusWidget()
        return here is not None and here.inherits("QLineEdit")

    def keyPressEvent(self, event: QKeyEvent) -> None:
        act = self._act(event)
        if act is None:
            super().keyPressEvent(event)
            return
        act()
        event.accept()

    def _act(self, event: QKeyEvent) -> Callable[[], None] | None:
        """Give what a key does here; None where it is text, or nothing."""
        if self.setup is None or self.pages.currentWidget() is not self.main:
            return None
        key = Qt.Key(event.key())
        ctrl = bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
        if key in _ENTER and event.isAutoRepeat():
            return lambda: None  # a key held down does one thing
        if ctrl and key in _ENTER:
            return self._put
        if ctrl and key == Qt.Key.Key_N:
            return lambda: self.card_asked.emit(None)
        if self.focus_is_field():
            return None
        on_row = self.systems.has_row_focus()
        if ctrl:
            moves = {Qt.Key.Key_Up: "up", Qt.Key.Key_Down: "down"}
            return (lambda: self._act_on_system(moves[key])) if on_row and key in moves else None
        if event.modifiers() & (Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.MetaModifier):
            return None
        if key == Qt.Key.Key_R:
            return lambda: self._change(self._shuffled)
        if key in _ENTER and not on_row:
            return self._enter
        if not on_row and key in (Qt.Key.Key_C, Qt.Key.Key_D):
            return lambda: self.said.emit(say("Take a system in hand first: then C and D are for it."))
        if not on_row:
            return None
        keys = {
            Qt.Key.Key_Return: "change", Qt.Key.Key_Enter: "change", Qt.Key.Key_C: "control", Qt.Key.Key_D: "double",
            Qt.Key.Key_Delete: "out", Qt.Key.Key_Backspace: "out",
        }  # fmt: skip
        if key in keys:
            return lambda: self._act_on_system(keys[key])
        steps = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}
        return (lambda: self._step(steps[key])) if key in steps else None

    def _enter(self) -> None:
        if isinstance(here := QApplication.focusWidget(), BenchButton):
            here.click()
            self.show_focus()
