"""Asks the one question about the laptop's clock, and passes the answer on."""

from functools import cached_property, partial

from PySide6.QtCore import QObject, Signal

from benchtool.bench.look import Look
from benchtool.bench.strips import FormStrip, PickStrip
from benchtool.session.cardfields import Wrong
from benchtool.session.clockwatch import ClockWatch, Question
from benchtool.session.session import NotNow, Session


class ClockAsk(QObject):
    """Looks at each beat whether the time can be believed, and asks in a strip where it can't.

    The question comes by itself, so it doesn't take what is typed: it waits until no other one is open, and its answers
    take no key in its first second.
    """

    said = Signal(str)
    asking = Signal()
    made = Signal(object)

    def __init__(self, look: Look, session: Session, pick: PickStrip) -> None:
        super().__init__()
        self.session, self.pick = session, pick
        self.watch = ClockWatch(session)
        self.look_of = look
        self._asked: Question | None = None
        self._put_away = False
        pick.left.connect(self._left)

    @cached_property
    def strip(self) -> FormStrip:
        """Asks for a time that is typed."""
        strip = FormStrip(self.look_of, "clock", "Set it", (("time", "What time is it really?", ""),))
        strip.entered.connect(self._enter)
        self.made.emit(strip)
        return strip

    def _left(self) -> None:
        if self.pick.asked_by(self):
            self._put_away = True  # by the painter; J asks it again

    def look(self, *, busy: bool) -> None:
        """Ask what there is to ask, once; take the question away where it has settled itself."""
        question = self.watch.look(self.session.now())
        if question is None:
            if self._asked is not None:
                self._asked = None
                if self.pick.asks(self):
                    # Unasked it took no focus, so it gives none back: another field may be typed in.
                    self.pick.leave() if self.pick.in_hand else self.pick.hide()
                if "strip" in self.__dict__ and not self.strip.isHidden():
                    self.strip.leave()
        elif not busy and (question is not self._asked or not self._put_away):
            self.ask(question, by_itself=True)

    def ask_by_hand(self) -> None:
        """Ask for the time because the painter says that it is wrong."""
        self.ask(self.watch.question or self.watch.doubt(self.session.now()))

    def ask(self, question: Question, *, by_itself: bool = False) -> None:
        """Show this question."""
        self._asked, self._put_away = question, False
        self.asking.emit()
        answers = [(words, partial(self._answer, question, i)) for i, words in enumerate(question.answers)]
        if question.takes_time:
            answers.append(("Type the time", partial(self._ask_time, question)))
        self.pick.ask(question.text, answers, owner=self, unbidden=by_itself)
        if question.note:
            self.said.emit(question.note)

    def _ask_time(self, question: Question) -> None:
        self.strip.fields["time"].edit.setPlaceholderText(question.hint)
        self.strip.ask()

    def _answer(self, question: Question, place: int) -> None:
        try:
            self.said.emit(self.watch.answer(question, place))
        except NotNow as no:
            self.said.emit(str(no))

    def _enter(self) -> None:
        question = self._asked
        if question is None:
            self.strip.done()
            return
        try:
            told = self.watch.answer_time(question, self.strip.fields["time"].text())
        except Wrong as wrong:
            self.strip.complain(wrong.faults)
            return
        except NotNow as no:
            told = str(no)
        self.strip.done()
        self.said.emit(told)
