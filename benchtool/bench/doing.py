"""Does what a key or a button asks for, and asks back in a strip where a question is due."""

from collections.abc import Callable, Sequence
from datetime import timedelta
from functools import cached_property, partial
from typing import TYPE_CHECKING, TypeVar

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QApplication, QWidget
from shiboken6 import isValid

from benchtool.bench.clockask import ClockAsk
from benchtool.bench.look import Look
from benchtool.bench.strips import AlarmStrip, FormStrip, PickStrip, Strip, WaiverStrip
from benchtool.job import events as ev
from benchtool.rules.engine import signed_by
from benchtool.rules.finding import Finding
from benchtool.session import acts
from benchtool.session.alarms import SHOWN, Alarm, Priority
from benchtool.session.cardfields import Wrong
from benchtool.session.readings import read_reading
from benchtool.session.session import Draft, NotNow, Session
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say

if TYPE_CHECKING:
    from benchtool.bench.drying import Drying
    from benchtool.bench.prepping import Prepping
    from benchtool.session.prepping import Logged

AStrip = TypeVar("AStrip", bound=Strip)

Say = str | Callable[[], str]
"""What is said once an act is done; some of it is only known then."""

Tell = Callable[[Sequence[Finding]], tuple[str, str]]
"""What says of some stops what is amiss, and what to do about it."""

SILENCES = ((5, "5 minutes"), (15, "15 minutes"), (60, "1 hour"))
BRIEF = 90
"""So many characters of one call where what is below the row of pieces must stay in sight."""

LONGEST_LINE = 160
"""A line of an alarm is cut after so many characters: what calls must not fill the screen."""


class Doing(QObject):
    """The acts of the painter, and the strips in which the bench asks about them."""

    said = Signal(str)
    settled = Signal()
    strip_made = Signal(object)
    prep_plan_asked = Signal()
    trials_asked = Signal()
    hushed = Signal()
    """Whatever sounds or speaks may stop: it was heard, put off or silenced."""

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.session = session
        self.look = look
        self._strips: list[Strip] = []
        self._asked_at: object = None
        self._before: QWidget | None = None
        self.brief: Callable[[], bool] = lambda: False
        self._tell: Tell = _told
        self._pending: tuple[Callable[[], tuple[Draft, ...]], Callable[[], tuple[Finding, ...]], Say] | None = None
        self.pick = self._made(PickStrip(look, "pick"))
        self.clock = ClockAsk(look, session, self.pick)
        self.clock.said.connect(self.said)
        self.clock.made.connect(self._made)
        self.alarm = AlarmStrip(look)
        self.alarm.heard.connect(self.heard)
        self.alarm.silence_asked.connect(self.silence)
        session.subscribe(self._follow)

    # --- the strips, each made when it is first asked for ------------------------------------------

    @cached_property
    def waiver(self) -> WaiverStrip:
        """Asks for a reason where a stop stands in the way."""
        strip = self._made(WaiverStrip(self.look))
        strip.signed.connect(self._go_on)
        return strip

    @cached_property
    def reading(self) -> FormStrip:
        """Asks for a reading of the air."""
        fields = (
            ("air", "Air, °C", "21"), ("humidity", "Humidity, %", "50"),
            ("surface", "Surface, °C, if measured", ""), ("speed", "Air speed, m/s, if known", ""),
        )  # fmt: skip
        strip = self._made(FormStrip(self.look, "reading", "Log it", fields))
        strip.entered.connect(self._enter_reading)
        return strip

    @cached_property
    def trial(self) -> FormStrip:
        """Asks what was on a test strip that held."""
        note = ("note", "What was on the test strip, and how it was pulled", "two-part promoter, tape and fingernail")
        strip = self._made(FormStrip(self.look, "trial", "It held", (note,)))
        strip.entered.connect(lambda: None if self._asked_at is None else self._enter_trial(held=True))
        return strip

    @cached_property
    def failed_trial(self) -> FormStrip:
        """Asks what was on a test strip that came off."""
        note = ("note", "What was on the test strip, and where it let go", "two-part promoter, off in one sheet")
        strip = self._made(FormStrip(self.look, "failed-trial", "It came off", (note,)))
        strip.entered.connect(lambda: None if self._asked_at is None else self._enter_trial(held=False))
        return strip

    @cached_property
    def drying(self) -> "Drying":
        """Asks for heat and for a film."""
        from benchtool.bench.drying import Drying

        drying = Drying(self.look, self.session)
        drying.said.connect(self.said)
        for strip in (drying.heat, drying.film):
            self._made(strip)
        return drying

    def answer(self, number: int) -> bool:
        """Take a digit as the answer to a question that is open; says whether there was one."""
        if self.pick.takes_digits:
            self.pick.answer(number)
        elif "prepping" in self.__dict__ and not self.prepping.strip.isHidden():
            self.prepping.strip.answer(number)
        else:
            return False
        return True

    @cached_property
    def prepping(self) -> "Prepping":
        """Asks which prep step was done, and with what."""
        from benchtool.bench.prepping import Prepping

        prepping = Prepping(self.look, self.session, self.guarded)
        prepping.said.connect(self.said)
        prepping.trial_asked.connect(self.ask_trial)
        prepping.strip.plan_asked.connect(self.prep_plan_asked)
        self._made(prepping.strip)
        return prepping

    def _made(self, strip: AStrip) -> AStrip:
        strip.opened.connect(self._remember)
        strip.left.connect(self.settled)
        self._strips.append(strip)
        self.strip_made.emit(strip)
        return strip

    @property
    def strips(self) -> tuple[Strip, ...]:
        """The strips that were made; they ask, one of them open at most."""
        return tuple(self._strips)

    @property
    def asking(self) -> bool:
        """Whether a question is open."""
        return any(not strip.isHidden() for strip in self.strips)

    @property
    def called_for(self) -> bool:
        """Whether a question is open that the painter called for: the one on the clock comes by itself."""
        return self.asking and not self.pick.asks(self.clock)

    def _place(self) -> object:
        return (self.session.current, self.session.piece_id, self.session.layer_id)

    def _follow(self) -> None:
        """Drop a question when another job, piece or layer is taken in hand: its answer would land there."""
        if not self.asking:
            self._asked_at = None
        elif self._asked_at is not None and self._asked_at != self._place():
            self.leave_strips()

    def _remember(self) -> None:
        """Remember what was in hand when the question was asked, and where the keys went."""
        if self._asked_at is None:
            self._asked_at = self._place()
            self._before = QApplication.focusWidget()

    def give_back(self, page: QWidget) -> bool:
        """Let the keys go on where they went before the question, if that is still seen on this page."""
        before, self._before = self._before, None
        there = before is not None and isValid(before) and page.isAncestorOf(before) and before.isVisible()
        if there and before is not None:
            before.setFocus(Qt.FocusReason.OtherFocusReason)
        return there

    def leave_strips(self) -> None:
        """Close whatever is asked."""
        for strip in self.strips:
            if not strip.isHidden():
                strip.hide()
        self._asked_at = self._pending = None

    def put_away(self) -> None:
        """Close whatever is asked, as its own button does: the painter does not answer it."""
        for strip in self.strips:
            if not strip.isHidden():
                strip.leave()
        self.leave_strips()

    def tick(self) -> None:
        """Keep an open question true: retell its countdown, or drop it when time has settled it."""
        if self._pending is None or self.waiver.isHidden():
            return
        try:
            found = self._pending[1]()
        except NotNow as no:  # what it was about was done or changed meanwhile
            self.waiver.leave()
            self.said.emit(str(no))
            return
        if not found:
            self.waiver.leave()
            self.said.emit("Nothing is in the way any more: go on.")
            return
        self.waiver.retell(*self._tell(found))

    def _apply(self, *drafts: Draft, say: Say, more: str = "") -> None:
        self.session.apply(*drafts)
        self.said.emit((say if isinstance(say, str) else say()) + more)

    def guarded(
        self,
        make: Callable[[], tuple[Draft, ...]],
        find: Callable[[], tuple[Finding, ...]],
        act: str,
        say: Say,
        tell: Tell | None = None,
    ) -> None:
        """Do an act, or ask for a reason where a stop stands in its way; `tell` says what stands there."""
        found = find()
        if not found:
            self._apply(*make(), say=say)
            return
        self._pending, self._tell = (make, find, say), tell or _told
        self.waiver.ask(*self._tell(found), act)

    def _go_on(self, reason: str) -> None:
        if self._pending is None:
            return  # the question was dropped meanwhile
        make, find, say = self._pending
        self._pending = None
        try:
            signed = [acts.waive(f, reason) for shown in find() for f in signed_by(shown)]
            self._apply(*signed, *make(), say=say, more=" The waiver is in the record.")
        except NotNow as no:
            self.said.emit(str(no))

    # --- spraying ----------------------------------------------------------------------------------

    def start(self) -> None:
        """Start the next coat of the layer in hand."""
        layer = self.session.layer
        if layer is None:
            raise NotNow("Plan a layer first: press L.")
        n = len(layer.coats) + 1
        more = layer.finished and layer.open_coat is None
        self.guarded(
            lambda: (acts.start_coat(self.session, layer),),
            lambda: self.session.hindrances(layer),
            f"Start coat {n} anyway",
            say("Coat {n} started, one more than planned.", n=n) if more else f"Coat {n} started.",
            _told_of_one_more if more else None,
        )

    def done(self) -> None:
        """The coat in hand is done."""
        layer = self.session.layer
        if layer is None:
            raise NotNow("No coat is being sprayed.")
        self._apply(acts.finish_coat(layer), say=f"Coat {len(layer.coats)} done. Its waits count from now.")

    # --- preparing ---------------------------------------------------------------------------------

    def prep(self) -> None:
        """Ask which prep step was done, the next one first."""
        self.prepping.ask()

    def log_prep(self, step: "Logged") -> None:
        """Log a prep step that was chosen elsewhere; what has to be asked about it is asked here."""
        self.prepping.log(step)

    def prep_other(self, step: ev.Prep) -> None:
        """Ask with which cleaner or grade a prep step was done."""
        self.prepping.ask_other(step)

    def ask_reading(self) -> None:
        """Ask for a reading."""
        last = self.session.writable().state.last_reading
        self.reading.ask(
            air=f"{last.air_degC:g}" if last is not None else "",
            humidity=f"{last.humidity_percent:g}" if last is not None else "",
        )

    def _enter_reading(self) -> None:
        fields = self.reading.fields
        try:
            taken = read_reading(self.session.measures, {key: field.text() for key, field in fields.items()})
        except Wrong as wrong:
            self.reading.complain(wrong.faults)
            return
        try:
            self.session.share(taken.draft)
        except NotNow as no:
            self.said.emit(str(no))
            return
        self.said.emit(taken.words)
        self.reading.done()

    def ask_trial(self) -> None:
        """Ask what a test strip showed."""
        if self.session.piece is None:
            raise NotNow("Add a piece first: press A.")
        self.session.writable()
        self.pick.ask(
            "How did the test strip do, beside its bare control?",
            [
                ("It held", self.trial.ask),
                ("It came off", self.failed_trial.ask),
                ("A trial of several strips", self.trials_asked.emit),
            ],
            ready=False,
        )

    def _enter_trial(self, *, held: bool) -> None:
        piece = self.session.piece
        if piece is None:
            return
        strip = self.trial if held else self.failed_trial
        note = strip.fields["note"].text().strip()
        cards = tuple(x.plan.card for x in piece.layers)
        say = "Trial logged: it held." if held else "Trial logged: it came off. Try another system."
        try:
            self._apply(partial(ev.TrialRecorded, piece=piece.id, held=held, note=note, cards=cards), say=say)
        except NotNow as no:
            self.said.emit(str(no))
            return
        strip.hide()
        self.settled.emit()

    # --- the record --------------------------------------------------------------------------------

    def undo(self) -> None:
        """Take back the last act."""
        before = self.session.current
        state = before.state if before is not None else None
        taken = self.session.undo()
        words = acts.act_words(taken)
        if state is not None and state.trials:
            from benchtool.session.trialhand import strips_told

            words = ": ".join(filter(None, (strips_told(state, taken), words)))
        self.said.emit(f"Taken back: {words}. Ctrl+Shift+Z brings it in again.")

    def redo(self) -> None:
        """Bring back what was undone."""
        self.session.redo()
        self.said.emit("Brought in again.")

    def earlier(self) -> None:
        """Move the last act one minute back, for the hand that forgot to press."""
        moved, at = self.session.shift_last_act(timedelta(minutes=-1))
        words = ev.event_words(moved)
        self.said.emit(f"{words[:1].upper()}{words[1:]}: at {at.astimezone():%H:%M:%S}.")

    # --- alarms ------------------------------------------------------------------------------------

    def heard(self) -> None:
        """Take down what is shown; with nothing shown, show once more what happened while nobody could look."""
        board = self.session.alarms
        shown, summary = board.up(), board.summary
        self.hushed.emit()
        if shown or summary is not None:
            board.heard()
            if not shown:
                self.said.emit("Press H to see it once more.")
        elif board.recall() is None:
            self.said.emit("Nothing calls.")
        self.show_calls()

    def show_calls(self) -> None:
        """Show what calls now and was not heard yet, and what happened while nobody could look."""
        board, now = self.session.alarms, self.session.now()
        up, summary = board.up(), board.summary
        lines = [f"{a.words(now)} ({a.state_words()})" for a in up[:SHOWN]]
        if len(up) > SHOWN:
            lines.append(f"and {len(up) - SHOWN} more")
        grave = any(a.priority is Priority.DEADLINE for a in up)
        if summary is not None:
            lines += [summary.head] if up else [summary.head, *summary.lines(now)]
            grave = grave or summary.grave
        words = "\n".join(shorten(line, LONGEST_LINE) for line in lines)
        if self.brief():
            kept, more = lines[:1], len(up or lines) - 1
            lines = [self.alarm.brief(x, BRIEF) for x in kept] + ([say("and {n} more", n=more)] if more > 0 else [])
            words = "\n".join(lines)
        self.alarm.show_alarms(words, grave=grave, told=not up)

    def silence(self) -> None:
        """Put off the call that is shown first, or turn the sounds off for a time, or on again."""
        board = self.session.alarms
        up, away, quiet = board.up(), board.shelved(), board.quiet_until(self.session.now()) is not None
        if not up and (quiet or not away):
            if quiet:
                self._sound_again()
            else:
                self._ask_silence()
            return
        sounds = ("Sounds on again", self._sound_again) if quiet else ("Silence all sounds", self._ask_silence)
        answers: list[tuple[str, Callable[[], None]]] = [sounds]
        if up:
            answers.insert(0, (f"Put off {shorten(up[0].where)}", partial(self._ask_put_off, up[0])))
        if away:
            answers.append((f"Call again now: {shorten(away[0].where)}", partial(self._put_back, away[0])))
        self.pick.ask("What should be quiet? The words stay.", answers)

    def _sound_again(self) -> None:
        self.session.alarms.sound_again()
        self.said.emit("The sounds are on again.")

    def _ask_silence(self) -> None:
        self.pick.ask(
            "Silence the sounds for how long? The words stay.",
            [(words, partial(self._silence, minutes, words)) for minutes, words in SILENCES],
        )

    def _ask_put_off(self, alarm: Alarm) -> None:
        self.pick.ask(
            "Put off for how long? It comes back by itself.",
            [(words, partial(self._put_off, alarm, minutes)) for minutes, words in SILENCES],
        )

    def _silence(self, minutes: int, words: str) -> None:
        self.session.alarms.silence(self.session.now(), timedelta(minutes=minutes))
        self.hushed.emit()
        self.said.emit(f"Silent for {words}.")

    def _put_off(self, alarm: Alarm, minutes: int) -> None:
        board = self.session.alarms
        board.put_off(alarm, self.session.now(), timedelta(minutes=minutes))
        until = board.put_off_until(alarm.path, alarm.window)
        self.hushed.emit()
        self.show_calls()
        if until is None:
            self.said.emit(f"{alarm.where} calls no more.")
        else:
            self.said.emit(f"{alarm.where}: put off until {until.astimezone():%H:%M}. It stays in the watch.")

    def _put_back(self, alarm: Alarm) -> None:
        self.session.alarms.put_back(alarm, self.session.now())
        self.show_calls()
        self.said.emit(f"{alarm.where} calls again.")


def _told_of_one_more(found: Sequence[Finding]) -> tuple[str, str]:
    """The same, and that this coat is not planned."""
    stops, todo = _told(found)
    return stops, say("All planned coats are on: L adds a layer, or plan one coat more.") + " " + todo


def _told(found: Sequence[Finding]) -> tuple[str, str]:
    """Name every stop that a reason will sign, and what to do about the first of them."""
    # What is out of turn comes first: whoever reads only one sentence must read that.
    signed = {f.key: f for shown in found for f in signed_by(shown)}
    ordered = sorted(signed.values(), key=lambda f: f.rule != "layering.out-of-turn")
    remedies = dict.fromkeys(f.remedy for f in ordered)
    return " ".join(["Stop.", *(f.message for f in ordered)]), " ".join(list(remedies)[:SHOWN])
