"""The page of the job itself: its name, whose it is, when it is promised."""

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent, QShowEvent

from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import Typed
from benchtool.bench.plansheet import Section, Sheet
from benchtool.bench.typedkeys import LETTERS, keeps
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

    letters = LETTERS
    said = Signal(str)
    begun: Document | None = None
    """The job that was just begun, whose first piece is asked next."""

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, "job-form", least=45 * GRID, most=80 * GRID)
        self.session = session
        self._about: Document | None = None
        self._written: JobText | None = None
        self.name = Typed(look, say("What do you call it?"), "job-title", say("Side panels for Ann"))
        self.customer = Typed(look, say("Whose is it?"), "job-customer", say("Ann"))
        self.promised = PromisedDay(look, session, "job-promised")
        self.note = Typed(look, say("Note for yourself"), "job-note")
        fields = Section(look, "")
        fields.add(self.name, self.customer, self.promised, self.note)
        self.asks = {"title": self.name, "customer": self.customer, "promised": self.promised, "note": self.note}
        self.first = "title"
        for field in (self.name, self.customer, self.promised, self.note):
            field.keep_room()
        self.lay_out((fields,), {1: ((0,),)})
        self.entered.connect(self.submit)

    def ask(self, *, begun: bool = False) -> None:
        """Ask what is different about the job in hand; what was typed of it before, and not saved, is still there.

        Of one that was just `begun` its first piece is asked next, whether this is answered or not.

        Raises:
            NotNow: no job is open, or it is read-only.
        """
        document = self.session.writable()
        self.begun = document if begun else None
        self.head(say("The new job") if begun else say("The job"), say("Save the job"))
        self.back.say(say("Not now") if begun else say("Back to the bench"))
        self.complain(())
        text = jobtext.write_job(document.state)
        kept = self.half_typed and (document, text) == (self._about, self._written)
        self._about, self._written = document, text
        if kept:
            self.take_focus()
            return
        for field, words in (
            (self.name, text.title),
            (self.customer, text.customer),
            (self.promised, text.promised),
            (self.note, text.note),
        ):
            field.fill(words)
        self.take_focus()

    @property
    def half_typed(self) -> bool:
        """Whether something is typed that is not in the record."""
        return self._written is not None and self.text() != self._written

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
        self._written = self.text()
        self.left.emit()
        self.said.emit(say("The job is described anew.") if drafts else say("Nothing was changed."))

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.take_focus()

    def event(self, event: QEvent) -> bool:
        # The bench's letters are acts. Here they are typed, or do nothing. Esc on a job that was just begun goes on to
        # its first piece.
        goes_on = self.begun is not None and event.type() is QEvent.Type.ShortcutOverride
        if goes_on and isinstance(event, QKeyEvent) and event.key() == Qt.Key.Key_Escape:
            event.accept()
            return True
        return keeps(event) or super().event(event)
