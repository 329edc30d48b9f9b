"""The page of the card library: search among thousands of cards, look at one, see who uses it, bring in, give out."""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QDropEvent, QGuiApplication, QKeyEvent, QShowEvent
from PySide6.QtWidgets import QApplication, QLineEdit

from benchtool.bench.librarycard import MOST_KEYS
from benchtool.bench.librarymoving import Bringing
from benchtool.bench.libraryparts import LibraryParts
from benchtool.bench.librarysteps import Steps
from benchtool.bench.look import Look
from benchtool.bench.typedkeys import LETTERS, keeps
from benchtool.job.cards import Card
from benchtool.session import cardmoving
from benchtool.session.carddiff import OtherCopy, other_copies, take_new
from benchtool.session.library import Aside, NotKept, Progress, Shelf
from benchtool.session.librarypage import copies_mark, count_words, fault_words, ring_words
from benchtool.session.session import NotNow, Session
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say, say_n

CTRL = Qt.KeyboardModifier.ControlModifier
PLAIN = Qt.KeyboardModifier.NoModifier
_STEPS = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}
_PAGES = {Qt.Key.Key_PageUp: -1, Qt.Key.Key_PageDown: 1}


class LibraryPage(LibraryParts):
    """All cards of the painter, by key V. `card_asked` asks for the form of a card, or of a new one (None)."""

    letters = LETTERS
    left = Signal()
    said = Signal(str)
    card_asked = Signal(object)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, session)
        self.library = session.library
        self.shelf = Shelf()
        self.copies: tuple[OtherCopy, ...] = ()
        self.only_copies, self._read, self._wanted = False, False, ""
        self._aside: Aside | None = None
        self.steps = Steps(self)
        self.steps.stepped.connect(self._progressed)
        self.steps.done.connect(self._came)
        self.bringing: Bringing | None = None
        if session.library is not None:
            self.bringing = Bringing(self, session.library)
            self.bringing.clashed.connect(self._show_clash)
            self.bringing.progressed.connect(self.importing.told.say)
            self.bringing.finished.connect(self._brought)
        self._connect()
        stop = session.subscribe(self._follow)
        self.destroyed.connect(stop)

    def _connect(self) -> None:
        self.search.edit.textChanged.connect(self._narrow)
        for part in (self.search.edit, self.list):
            part.installEventFilter(self)
        self.list.doubleClicked.connect(lambda _: self._edit())
        self.list.picked.connect(self._pick)
        self.side.currentChanged.connect(lambda _: self._allow())
        self.detail.take_asked.connect(self._take)
        self.exporting.said.connect(self.said)
        self.exporting.left.connect(self._back_to_cards)
        self.importing.left.connect(self._back_to_cards)
        self.importing.asked.connect(self.bring_in)
        self.clash.chosen.connect(self._decide)
        self.clash.left.connect(self._leave_clash)
        acts = (
            (self.show_copies, self._turn_copies),
            (self.edit, self._edit),
            (self.new, lambda: self.card_asked.emit(None)),
            (self.out, self._take_out),
            (self.give, self._ask_export),
            (self.bring, self._ask_import),
            (self.back_line, self._bring_back),
            (self.back, self.left.emit),
        )
        for button, act in acts:
            button.clicked.connect(lambda _=False, act=act: act())

    # --- reading -------------------------------------------------------------------------------------

    def ask(self, card_id: str | None = None) -> None:
        """Look at the folder again and show what is there; a card of this id is taken in hand."""
        self._wanted = card_id or (self.list.card.id if self.list.card is not None else "")
        if self.side.currentWidget() is not self.areas[self.clash]:
            self.side.setCurrentWidget(self.areas[self.detail])
        self.search.take_focus()
        if self.library is not None:
            self.steps.start(self.library.reading())
        else:
            self._say_empty()

    def _progressed(self, progress: Progress | None) -> None:
        if progress is not None and not self._read:
            self.search.tell(progress.words)

    def _came(self, shelf: Shelf) -> None:
        self._read, self.shelf = True, shelf
        trouble = " ".join(x for x in (fault_words(shelf), ring_words(shelf.cards)) if x)
        self.trouble.say(trouble)
        self.trouble.setToolTip(trouble)
        self.trouble.setVisible(bool(trouble))
        self._look_at_copies()
        self._narrow()

    def _look_at_copies(self) -> None:
        self.copies = other_copies(self.session, self.shelf.cards)
        older = [copy for copy in self.copies if copy.older]
        self.only_copies = self.only_copies and bool(older)
        jobs = len({id(copy.document) for copy in older})
        self.banner.say(
            say_n("{n} open job uses an older copy of a card.", "{n} open jobs use an older copy of a card.", jobs)
        )
        self.banner_row.setVisible(bool(older))
        self.show_copies.say(say("Show all cards") if self.only_copies else say("Show these cards"))

    # --- the list ------------------------------------------------------------------------------------

    def _narrow(self, typed: str = "") -> None:
        """Show the cards that answer; while words are typed the best answer is in hand, else what was."""
        if self.library is None or not self._read:
            return
        found = self.library.find_among(self.search.text(), self.shelf)
        cards = found.cards
        if self.only_copies:
            held = {copy.card.id for copy in self.copies if copy.older}
            cards = tuple(card for card in cards if card.id in held)
        keep = self._wanted or (self.list.card.id if self.list.card is not None and not typed else None)
        self._wanted = ""
        self.list.show_cards(cards, self._marks(), keep=keep)
        count = count_words(len(cards), len(self.shelf.cards))
        self.search.tell(f"{found.told}: {count}" if found.told else count)
        self.search.complain(found.wrong)
        self._say_empty()

    def _marks(self) -> dict[str, str]:
        ids = {copy.card.id for copy in self.copies}
        return {x: copies_mark([copy for copy in self.copies if copy.card.id == x]) for x in ids}

    def _say_empty(self) -> None:
        if self.library is None:
            words = say("This window has no folder for a library.")
        elif not self.shelf.cards:
            words = say(
                "Your library is empty. Press Ctrl+N to make a card from a data sheet, or Ctrl+I to bring cards in "
                "from a file."
            )
        else:
            words = "" if self.list.cards.cards else say("No card answers to this. Search for less.")
        self.empty.say(words)
        self.empty.setVisible(bool(words))
        self.list.setVisible(not words)
        self._allow()

    def _allow(self) -> None:
        """What is done to the card in hand is offered while it is seen."""
        seen = self.side.currentWidget() is self.areas[self.detail]
        for button in (self.edit, self.out):
            button.setEnabled(seen and self.list.card is not None)

    def _pick(self, card: Card | None) -> None:
        self.detail.show_card(card)
        self.areas[self.detail].verticalScrollBar().setValue(0)

    def _turn_copies(self) -> None:
        self.only_copies = not self.only_copies
        self._look_at_copies()
        self._narrow()

    def _follow(self) -> None:
        if self.isVisible() and self._read:
            self._look_at_copies()
            self.list.cards.marks = self._marks()
            self.list.viewport().update()
            self.detail.show_card(self.list.card)

    # --- acts ----------------------------------------------------------------------------------------

    def _edit(self) -> None:
        if self.list.card is not None:
            self.card_asked.emit(self.list.card)

    def _take(self, copy: OtherCopy) -> None:
        try:
            self.said.emit(take_new(self.session, copy))
        except NotNow as no:
            self.said.emit(str(no))

    def _take_out(self) -> None:
        card, library = self.list.card, self.library
        if card is None or library is None:
            return
        row = self.list.currentIndex().row()
        try:
            self._aside = library.take_out(card)
        except NotKept as no:
            self.said.emit(str(no))
            return
        cards = self.list.cards.cards
        after = cards[row + 1] if row + 1 < len(cards) else cards[row - 1] if row else None
        self.back_line.say(say("Bring {name} back", name=shorten(card.name, 20)))
        self.back_line.show()
        where = self._aside.where
        self.said.emit(say("{name} is out of your library; its file is {where}.", name=shorten(card.name), where=where))
        self._again(after.id if after is not None else None)

    def _bring_back(self) -> None:
        if self._aside is None or self.library is None:
            return
        try:
            card = self.library.bring_back(self._aside)
        except NotKept as no:
            self.said.emit(str(no))
            return
        self._aside = None
        self.back_line.hide()
        self.said.emit(say("{name} is back.", name=shorten(card.name)))
        self._again(card.id)

    def _again(self, card_id: str | None) -> None:
        """Show the library as it is now, with this card in hand."""
        self._wanted = card_id or ""
        if self.library is not None:
            self.steps.start(self.library.reading())

    def _copy_text(self) -> None:
        if (card := self.list.card) is not None:
            QGuiApplication.clipboard().setText(cardmoving.cards_text((card,)))
            self.said.emit(say("{name} is copied as text.", name=shorten(card.name)))

    # --- out and in ----------------------------------------------------------------------------------

    def _ask_export(self) -> None:
        self.side.setCurrentWidget(self.areas[self.exporting])
        self.exporting.ask(self.list.card, self.list.cards.cards, self.shelf.cards)

    def _ask_import(self) -> None:
        if self.side.currentWidget() is not self.areas[self.clash]:
            self.side.setCurrentWidget(self.areas[self.importing])
            self.importing.ask()

    def _back_to_cards(self) -> None:
        self.side.setCurrentWidget(self.areas[self.detail])
        self.list.setFocus() if self.list.isVisible() else self.search.take_focus()

    def bring_in(self, paths: tuple[Path, ...]) -> None:
        """Bring in the cards of these files and folders."""
        self._begin(cardmoving.sources(paths))

    def _paste(self) -> bool:
        text = QGuiApplication.clipboard().text()
        if not cardmoving.looks_like_cards(text):
            return False
        self._begin(iter((cardmoving.pasted(text),)))
        return True

    def _begin(self, work: cardmoving.Work) -> None:
        if self.bringing is None:
            self.said.emit(say("This window has no folder for a library."))
        elif not self.bringing.begin(work):
            self.said.emit(say("Cards are still coming in: wait until they are here."))
        else:
            self.side.setCurrentWidget(self.areas[self.importing])

    def _show_clash(self, incoming: cardmoving.Incoming) -> None:
        self.side.setCurrentWidget(self.areas[self.clash])
        self.clash.show_clash(incoming)

    def _decide(self, choice: cardmoving.Choice, all_left: bool) -> None:
        if self.bringing is not None:
            self.side.setCurrentWidget(self.areas[self.importing])
            self.bringing.decide(choice, all_left=all_left)

    def _leave_clash(self) -> None:
        if self.bringing is not None:
            self.side.setCurrentWidget(self.areas[self.importing])
            self.bringing.leave()

    def _brought(self, words: tuple[str, ...], broken: tuple[str, ...]) -> None:
        self.importing.tell((*words, *(f"! {fault}." for fault in broken)))
        self.said.emit(words[0] if len(words) == 1 else say_n("{n} file read.", "{n} files read.", len(words)))
        self._again(None)
        if len(words) == 1 and not broken:
            self._back_to_cards()

    # --- keys, and what is dropped -------------------------------------------------------------------

    def _act_of(self, event: QKeyEvent) -> Callable[[], Any] | None:
        """Give what a key does on this page; None where it is not the page's."""
        key, mods = Qt.Key(event.key()), event.modifiers()
        here = QApplication.focusWidget()
        typing = isinstance(here, QLineEdit)
        if mods == CTRL:
            acts: dict[Qt.Key, Callable[[], Any]] = {
                Qt.Key.Key_N: lambda: self.card_asked.emit(None),
                Qt.Key.Key_E: self._ask_export,
                Qt.Key.Key_I: self._ask_import,
                Qt.Key.Key_T: self._take_nth,
                Qt.Key.Key_F: self.search.take_focus,
            }
            for panel in (self.exporting, self.importing):
                if self.side.currentWidget() is self.areas[panel]:
                    acts[Qt.Key.Key_O] = panel.choose
            seen = self.side.currentWidget() is self.areas[self.detail]
            for i in range(MOST_KEYS):
                if seen and self.detail.nth_copy(i) is not None:
                    acts[Qt.Key(Qt.Key.Key_1 + i)] = partial(self._take_nth, i)
            if self._aside is not None and not (isinstance(here, QLineEdit) and here.isUndoAvailable()):
                acts[Qt.Key.Key_Z] = self._bring_back
            if not typing:
                acts |= {Qt.Key.Key_C: self._copy_text, Qt.Key.Key_V: self._paste}
            return acts.get(key)
        if self.side.currentWidget() is self.areas[self.clash] and mods == PLAIN:
            digits = {Qt.Key.Key_1: "1", Qt.Key.Key_2: "2", Qt.Key.Key_3: "3"}
            if key in digits:
                return self.clash.choices[digits[key]].click
            if key == Qt.Key.Key_4 and not self.clash.rest.isHidden():
                return self.clash.rest.click
        if self.list.hasFocus() and mods == PLAIN:
            return {
                Qt.Key.Key_N: lambda: self.card_asked.emit(None),
                Qt.Key.Key_Delete: self._take_out,
                Qt.Key.Key_Return: self._edit,
                Qt.Key.Key_Enter: self._edit,
            }.get(key)
        return self._leave if key == Qt.Key.Key_Escape else None

    def _take_nth(self, nth: int = 0) -> None:
        if (copy := self.detail.nth_copy(nth)) is not None:
            self._take(copy)

    def _leave(self) -> None:
        here = self.side.currentWidget()
        if here is self.areas[self.clash]:
            self._leave_clash()
        elif here is not self.areas[self.detail]:
            self._back_to_cards()
        elif self.search.text():
            self.search.edit.clear()
            self.search.take_focus()
        else:
            self.left.emit()

    def event(self, event: QEvent) -> bool:
        return keeps(event, self._act_of) or super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        act = self._act_of(event)
        if act is None:
            super().keyPressEvent(event)
            return
        act()
        event.accept()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() is not QEvent.Type.KeyPress or not isinstance(event, QKeyEvent):
            return False
        key = Qt.Key(event.key())
        if watched is self.search.edit:
            by = _STEPS.get(key) or _PAGES.get(key, 0) * self.list.page_rows()
            if by:
                self.list.step(by)
                return True
            if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
                self._edit()
                return True
            if event.modifiers() == CTRL and key == Qt.Key.Key_V:
                return self._paste()
            if event.modifiers() == CTRL and key == Qt.Key.Key_C and not self.search.edit.selectedText():
                self._copy_text()
                return True
        act = self._act_of(event)
        if act is None:
            return False
        act()
        return True

    def dropEvent(self, event: QDropEvent) -> None:
        if paths := tuple(Path(url.toLocalFile()) for url in event.mimeData().urls() if url.isLocalFile()):
            event.acceptProposedAction()
            self.bring_in(paths)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        here = QApplication.focusWidget()
        if here is None or not self.isAncestorOf(here):
            self.search.take_focus()  # a page that was left with its focus elsewhere must have the keys at once
        self._follow()
