"""With a strip of a trial in hand S and D are for all strips that ask for the same, as on the run; and the way back."""

from PySide6.QtCore import QObject, Signal

from benchtool.bench.doing import Doing
from benchtool.session.session import NotNow, Session
from benchtool.session.trialhand import Aside, act_in_hand, layer_agrees
from benchtool.session.trialrun import GroupAct, Kind
from benchtool.session.trialwords import lower
from benchtool.trade.saying import say


class Together(QObject):
    """Starts and ends a coat on several strips; for a piece that is no strip, on that piece."""

    said = Signal(str)

    def __init__(self, session: Session, doing: Doing, aside: Aside) -> None:
        super().__init__()
        self.session, self.doing, self.aside = session, doing, aside

    def do(self, act: GroupAct) -> None:
        """Do an act on several strips, or ask for a reason where a stop stands in its way."""
        try:
            self.doing.guarded(act.make, act.find, say("{act} anyway", act=act.title), act.done_words, act.tell)
        except NotNow as no:
            self.said.emit(str(no))

    def start(self) -> None:
        """Start the next coat on all strips that go with the one in hand; what the run has first is offered first."""
        act = act_in_hand(self.session, self.session.now(), self.aside)
        if act is None or act.act is None or not layer_agrees(self.session, act):
            self.doing.start()
        elif act.kind is Kind.COAT:
            self.do(act.act)
        elif act.kind in (Kind.PREP, Kind.SCUFF) and self.session.layer is not None:
            self._ask(act.act, len(self.session.layer.coats) + 1)
        else:
            self.doing.start()

    def _ask(self, first: GroupAct, coat: int) -> None:
        """Offer the step that comes first; the coat without it is the second answer, on the strip in hand alone."""
        self.session.writable()
        self.doing.pick.ask(
            say("First: {what}", what=lower(first.words)),
            [
                (first.title, lambda: self.do(first)),
                (say("Start coat {n} on this strip without it", n=coat), self._start_alone),
            ],
        )

    def _start_alone(self) -> None:
        try:
            self.doing.start()
        except NotNow as no:
            self.said.emit(str(no))

    def done(self) -> None:
        """End the coat on all strips that are being sprayed with the one in hand."""
        act = act_in_hand(self.session, self.session.now(), self.aside)
        if act is not None and act.act is not None and act.kind is Kind.FINISH:
            self.do(act.act)
        else:
            self.doing.done()
