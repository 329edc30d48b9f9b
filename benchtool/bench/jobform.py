"""The page of the job itself: its name, whose it is, when it is promised."""

from PySide6.QtCore import QEvent, Signal
from PySide6.QtGui import QKeyEvent, QShowEvent

from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import Typed
from benchtool.bench.plansheet import Section, Sheet
from benchtool.bench.typedkeys import is_typed
from benchtool.session import jobtext
from benchtool.session.cardfields import Wrong
from benchtool.session.jobtext import JobText
from benchtool.session.session import Document, NotNow, Session
from benchtool.trade.saying import say


class PromisedDay(Typed):
    """The day on which the customer shall have it, and how what is typed is understood."""

    def __init__(self, look: Look, session: Session, name: str) -> None:
        super().__init__(look, say("Promised for"), name, say("Friday, 20 March or 2026-03-20 16:00"), self._understood)
        self.session = session

    def _understood(self, typed: str) -> str:
        try:
            at = jobtext.read_promised(typed, self.session.now())
        except ValueError:
            return ""
        return jobtext.promised_words(at) if at is not None else ""


class JobForm(Sheet):
    """What the job is called, whose it is, when it is promised, and what else there is to say of it."""

    said = Signal(str)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, "job-form", least=45 * GRID, most=80 * GRID)
        self.session = session
        self._about: Document | None = None
        self.name = Typed(look, say("What do you call it?"), "job-title", say("Side panels for Ann"))
        self.customer = Typed(look, say("Whose is it?"), "job-customer", say("Ann"))
        self.promised = PromisedDay(look, session, "job-promised")
        self.note = Typed(look, say("Note for yourself"), "job-note")
        fields = Section(look, "")
        fields.add(self.name, self.customer, self.promised, self.note)
        self.asks = {"title": self.name, "customer": self.customer, "promised": self.promised, "note": self.note}
        self.lay_out((fields,), {1: ((0,),)})
        self.entered.connect(self.submit)

    def ask(self) -> None:
        """Ask what is different about the job in hand.

        Raises:
            NotNow: no job is open, or it is read-only.
        """
        document = self._about = self.session.writable()
        self.head(say("The job"), say("Save the job"))
        self.complain(())
        text = jobtext.write_job(document.state)
        for field, words in (
            (self.name, text.title),
            (self.customer, text.customer),
            (self.promised, text.promised),
            (self.note, text.note),
        ):
            field.fill(words)
        self.take_focus()

    def text(self) -> JobText:
        """Give what is typed."""
        return JobText(
            title=self.name.text(),
            customer=self.customer.text(),
            promised=self.promised.text(),
            note=self.note.text(),
        )

    def submit(self) -> None:
        """Write it into the record and go back to the bench; what can't be taken is said at its field."""
        try:
            if self._about is not self.session.current:
                raise NotNow(say("Another job is in hand now: nothing was changed."))
            drafts = jobtext.describe(self.session, self.text())
            if drafts:
                self.session.apply(*drafts)
        except Wrong as wrong:
            self.complain(wrong.faults)
            return
        except NotNow as no:
            self.said.emit(str(no))
            return
        self.left.emit()
        self.said.emit(say("The job is described anew.") if drafts else say("Nothing was changed."))

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.take_focus()

    def event(self, event: QEvent) -> bool:
        # The bench's letters are acts. Here they are typed, or do nothing.
        if event.type() is QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent) and is_typed(event):
            event.accept()
            return True
        return super().event(event)
