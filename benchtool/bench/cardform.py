"""The page of a product card: the painter's transcription of a data sheet, field by field."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtGui import QHideEvent, QKeyEvent
from PySide6.QtWidgets import QApplication, QWidget

from benchtool.bench.cardsheet import CardSheet
from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import Options, Typed
from benchtool.bench.plansheet import Unfinished
from benchtool.job.cards import Card
from benchtool.session import planning
from benchtool.session.carddiff import copies_words
from benchtool.session.cardorigins import (
    GENERAL,
    OriginText,
    origin_mark,
    origin_words,
    place_of,
    shown_at,
    write_origins,
)
from benchtool.session.cardreading import CardText, Reading, read_all, read_card, write_card
from benchtool.session.cardspots import remarks
from benchtool.session.cardtemplates import start_from, template_of, templates
from benchtool.session.drafts import CardDraft, CardDrafts
from benchtool.session.library import NotKept
from benchtool.session.planning import CardChoice, Where
from benchtool.session.session import NotNow, Session
from benchtool.trade.saying import say

NEW_CARD = ""
"""What an unfinished new card is kept by; others by the key of their choice."""

DRAFT_MS = 2_000
"""How long after a key what is typed is written down: so much is lost in a crash at most."""


def is_of_no_job(about: str) -> bool:
    """Say whether what is kept by this is a new card or one of the library, whichever job is open."""
    return about == NEW_CARD or about.endswith((f"|{Where.LIBRARY.name}", f"|{Where.CHANGED.name}"))


class CardForm(CardSheet):
    """A product card. Enter goes on to the next field, for a sheet has many.

    What is typed is checked as it is typed, and what is odd is said beside it; it is kept all the same.
    """

    def __init__(self, look: Look, session: Session, drafts: CardDrafts | None = None) -> None:
        self._due = False
        self._reading: Reading | None = None
        self._at = self._back_to = ""
        super().__init__(look)
        self.session, self.drafts = session, drafts
        self._draft: tuple[str, CardText] | None = None
        self._saver = QTimer(self)
        self._saver.setObjectName("card-draft")
        self._saver.setSingleShot(True)
        self._saver.setInterval(DRAFT_MS)
        self._saver.timeout.connect(self.save_draft)
        self.choice: CardChoice | None = None
        self.names: dict[str, str] = {}
        self.unfinished = Unfinished[CardText]()
        self.again.clicked.connect(self._start_over)
        self.where.clicked.connect(self.ask_origin)
        self.origin_bar.changed.connect(self._take_origin)
        self.origin_bar.closed.connect(self._leave_origin)

    # --- asking ------------------------------------------------------------------------------------

    def ask(self, choice: CardChoice | None, *, back: str = "") -> None:
        """Ask for a new card, or for what is different about this one. What was half typed is still there.

        `back` says where Esc goes.
        """
        self.back.say(back or say("Back"))
        self.unfinished.leave(self.text())
        self.save_draft()
        self._draft = None
        self.choice = choice
        self.before = choice.card if choice is not None else None
        own = choice.card.id if choice is not None else ""
        known = (c.card for c in planning.card_choices(self.session))
        self.names = {card.id: card.name for card in known if card.id != own}
        self.head("New product card" if choice is None else f"Edit {choice.card.name}", "Keep this card", "Ctrl+Enter")
        self._fill_anew()
        about, fresh = choice.key if choice is not None else NEW_CARD, self.text()
        half = self.unfinished.come(about, fresh)
        self._draft = (self._on_disk(about), fresh)
        self._bring_again(half, fresh)

    def _fill_anew(self) -> None:
        card = self.before
        self.fill(self._written(card) if card is not None else CardText())
        self._picking = card is None
        self._fold()
        self.complain(())

    def _written(self, card: Card) -> CardText:
        kind = template_of(card)
        return replace(write_card(card, self.names), kind=kind.id if kind is not None else "")

    def _start_over(self) -> None:
        self._fill_anew()
        self.again_words.hide()
        self.save_draft()
        self.take_focus()

    # --- what is half typed is on disk too: a crash loses none of it ---------------------------------

    def _on_disk(self, about: str) -> str:
        """Give what a draft is kept by on disk: a card of a job goes with its job."""
        job = self.session.current
        return about if is_of_no_job(about) or job is None else f"{about}|{job.job.id}"

    def _bring_again(self, half: CardText | None, fresh: CardText) -> None:
        """Show what was half typed before, in this window or in one that ended."""
        changed = False
        if half is None and self.drafts is not None and self._draft is not None:
            draft = self.drafts.find(self._draft[0])
            half = draft.typed if draft is not None else None
            changed = draft is not None and draft.fresh != fresh
        if half is not None and half != fresh:
            self.fill(half)
        else:
            half = None
        words = say("What you had typed is here again. Start over takes it away.")
        if changed:
            words += " " + say("The card itself was changed since: look at every value.")
        self.again_words.say(words)
        self.again_words.setVisible(half is not None and not self._only_kind(half, fresh))

    def _only_kind(self, typed: CardText, fresh: CardText) -> bool:
        """Whether no more than a kind of product was chosen."""
        template = templates().get(typed.kind)
        return typed == fresh or (template is not None and typed == start_from(fresh, template, None, self.before))

    def save_draft(self) -> None:
        """Keep what is typed now on disk; where nothing is, forget what was."""
        self._saver.stop()
        if self.drafts is None or self._draft is None:
            return
        about, fresh = self._draft
        typed = self.text()
        if self._only_kind(typed, fresh):
            self.drafts.forget(about)
        else:
            self.drafts.keep(about, CardDraft(typed, fresh))

    def _done(self) -> None:
        """What is typed is kept as a card."""
        self.unfinished.done()
        self._saver.stop()
        if self.drafts is not None and self._draft is not None:
            self.drafts.forget(self._draft[0])
        self._draft = None

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        if self._saver.isActive():
            self.save_draft()

    def complain(self, faults: Sequence[tuple[str, str]]) -> str:
        """As any page does; a field at fault is never left folded away."""
        self.unfold_for(faults)
        of_origin = [(key.removeprefix("origin:"), said) for key, said in faults if key.startswith("origin:")]
        if len(of_origin) == len(faults) and of_origin:
            self._open_origin(of_origin[0][0])
            self.origin_bar.complain(of_origin[0][1])
            return of_origin[0][1]
        return super().complain(faults)

    # --- what is odd, and where it comes from -------------------------------------------------------

    def look_soon(self, _: str = "") -> None:
        if self.drafts is not None and self._draft is not None and not self._saver.isActive():
            self._saver.start()  # not put off by the next key: whoever types on and on loses no more than this
        if not self._due:
            self._due = True
            QTimer.singleShot(0, self, self._look_over)

    def _look_over(self) -> None:
        """Say beside each field what is odd about it, and where its value comes from."""
        self._due = False
        card = self.before
        self._reading = reading = read_all(self.text(), card.id if card is not None else "new", card, self.names)
        said: dict[str, list[str]] = {}
        started = bool(self.name.text().strip())
        for key, message in reading.clashes:
            said.setdefault(key, []).append(say("Look again: {said}", said=_lower(message)))
        for key, check in remarks(reading) if started else ():
            words = say("Look again: {said}", said=_lower(check.message)) if check.severe else check.message
            said.setdefault(key, []).append(words)
        origins = write_origins(reading.card, reading.parts)
        origins["origin"] = origins.pop(GENERAL, OriginText())
        for key, ask in self.asks.items():
            if isinstance(ask, (Typed, Options)):
                if (fault := ask.fault.text()) and (key, fault) not in reading.faults:
                    ask.complain("")  # it was put right, perhaps in another field
                ask.remark(" ".join(said.get(key, ())))
            if isinstance(ask, Typed):
                own = origins.get(key, OriginText())
                ask.mark(origin_mark(own), origin_words(own))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() is QEvent.Type.FocusIn and not self.origin_bar.isVisible():
            self._at = str(watched.property("asked") or "")
        return super().eventFilter(watched, event)

    def ask_origin(self) -> None:
        """Ask where the value in hand comes from; of what has no origin by itself, where all of the card does."""
        if self._picking:
            return
        self._look_over()
        parts = self._reading.parts if self._reading is not None else {}
        self._open_origin(self._at if place_of(self._at, parts) is not None else GENERAL)

    def _open_origin(self, at: str) -> None:
        key = shown_at(at)
        ask = self.asks.get("origin" if key == GENERAL else at)
        self._back_to = "origin" if key == GENERAL else at
        label = ask.edit.accessibleName() if isinstance(ask, Typed) else ""
        self.origin_bar.open_at(key, label, self._origins.get(key, OriginText()), self.origin.text())
        self._show_foot(on=False)
        column = self.layout()
        if isinstance(ask, Typed) and column is not None:
            column.activate()  # the strip takes its room now, so that the field comes to stand above it
            self.area.ensureWidgetVisible(ask, 0, GRID)

    def _take_origin(self) -> None:
        about, text = self.origin_bar.about, self.origin_bar.text()
        if about == GENERAL and text.words != self.origin.text():
            self.origin.edit.setText(text.words)
        if text.empty or (about == GENERAL and text.kind is None):
            self._origins.pop(about, None)
        else:
            self._origins[about] = replace(text, words="") if about == GENERAL else text
        self._look_over()

    def _show_foot(self, *, on: bool) -> None:
        """The strip is the foot of the page while it is open: on a small screen there is no room for both."""
        for button in self.buttons():
            button.setVisible(on)

    def _leave_origin(self) -> None:
        self._show_foot(on=True)
        ask = self.asks.get(self._back_to)
        if ask is not None:
            ask.take_focus()
            QTimer.singleShot(0, self, self.show_focus)

    # --- keeping -----------------------------------------------------------------------------------

    def submit(self, made: list[Card], *, held: bool = True) -> tuple[Card, str]:
        """Make the card, keep it in the library, and copy it anew where the job has it; gives what to say.

        A card of the job replaces the library's only where the two were the same: that one may be newer. One that
        nobody else has `held` stays in the form where the library does not take it.

        Raises:
            Wrong: a field that can't be taken so.
            NotNow: the job can't be changed, or the card would be nowhere.
        """
        text, before, library = self.text(), self.choice, self.session.library
        card_id = before.card.id if before is not None else planning.free_card_id(self.session, text.name, made)
        card = read_card(text, card_id, before.card if before is not None else None, self.names)
        said = f"{card.name} is ready."
        if before is not None and before.where is Where.JOB:
            if card == before.card:
                self._done()
                return card, "Nothing was changed."
            self.session.apply(planning.copy_card(card))
            said = f"{card.name} changed. Cups already mixed keep their recipe."
            shelf = library.look().cards if library is not None else ()
            if any(c.id.lower() == card_id.lower() and c != before.card for c in shelf):
                said += " The card in your library is a different one and stays as it is."
                library = None
        held = held or (before is not None and before.where is Where.JOB)
        if library is not None:
            try:
                library.keep(card)
                said = f"{said} {copies_words(self.session, card)}".strip()
            except NotKept as fault:
                if not held:
                    raise NotNow(str(fault)) from None
                said += f" {fault}"
        elif not held:
            raise NotNow(say("There is no library to keep this card in: it stays here as long as this window is open."))
        self._done()
        return card, said

    # --- the keyboard ------------------------------------------------------------------------------

    def _in_bar(self) -> bool:
        here = QApplication.focusWidget()
        return here is not None and self.origin_bar.isVisible() and self.origin_bar.isAncestorOf(here)

    def _stops(self) -> Iterator[QWidget]:
        if self._in_bar():
            yield from self.origin_bar.stops()
        else:
            yield from super()._stops()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self._in_bar():
            self.origin_bar.leave()
        elif event.key() == Qt.Key.Key_F4 and not self._picking:
            self.ask_origin()
        elif event.key() == Qt.Key.Key_F7 and not self._picking:
            self.pick_kind()
        elif event.key() == Qt.Key.Key_F8 and self.line.more.isVisible():
            self._ask_all()
        else:
            super().keyPressEvent(event)

    def on_enter(self, event: QKeyEvent) -> None:
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.entered.emit()
        elif self._in_bar():
            self.origin_bar.close_up()
        else:
            self.focusNextPrevChild(True)


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]
