"""The page "On paper": what leaves the bench, seen as it will lie on the sheet, to save, print or copy."""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QGuiApplication, QHideEvent, QKeyEvent, QShowEvent
from PySide6.QtWidgets import QApplication

from benchtool.bench.look import Look
from benchtool.bench.papermaking import Made, html_made, sheet_made, text_of, tried
from benchtool.bench.paperparts import PaperParts, paper_named, paper_words
from benchtool.bench.paperphotos import Beside, PaperPhotos
from benchtool.bench.planlists import PickRow
from benchtool.bench.sheetpdf import drawn, finished_pages
from benchtool.bench.sheetpdfpages import Pages, Progress, lay_out
from benchtool.bench.typedkeys import LETTERS, keeps
from benchtool.session import paperfiles
from benchtool.session.papers import (
    Ending,
    Kind,
    Offer,
    offers,
    photos_on,
    suggested_name,
)
from benchtool.session.session import Session
from benchtool.sheets.blocks import Sheet
from benchtool.trade.saying import say, say_n

_CTRL, _PLAIN = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.NoModifier
_PREVIEW_LINES = 400
_WAIT_FOR_A_FILE_S = 5.0
"""A window that is closed waits so long for a file that is being written."""
_SETTLE_MS = 60


class PapersPage(PaperParts):
    """Up and Down choose a paper, Page Up and Page Down leaf through it.

    `paper` is the paper chosen last ("" for what is usual here); `paper_chosen` tells of another.
    """

    letters = LETTERS

    def __init__(self, look: Look, session: Session, paper: str = "") -> None:
        super().__init__(look)
        self.session = session
        self.paper = paper_named(paper)
        self.key = "job"
        self.made: Made | None = None
        self._offers: list[Offer] = []
        self._after: Callable[[Made], None] | None = None
        self.photos = PaperPhotos(self)
        self._beside = Beside(
            self, _WAIT_FOR_A_FILE_S
        )  # files are written in it; photos have their own, which is cleared
        self._stay = False
        self._asked = 0
        self._writing: tuple[Pages, Path] | None = None
        self._finishing: list[Path] = []
        self._connect()
        stop = session.subscribe(self._follow)
        self.destroyed.connect(stop)

    # --- making ------------------------------------------------------------------------------------

    def _connect(self) -> None:
        self.list.chosen.connect(self.choose)
        self.list.list.installEventFilter(self)
        self.sizes.chosen.connect(self.take_paper)
        self.settle.timeout.connect(self._begin)
        self.steps.stepped.connect(self._progressed)
        self.steps.done.connect(self._laid_out)
        self.steps.failed.connect(self._failed)
        self.writing.stepped.connect(self._progressed)
        self.writing.done.connect(self._drawn)
        self.writing.failed.connect(self._not_drawn)
        self.printing.said.connect(self.said)
        acts = ((self.save, self.ask_save), (self.print, self.ask_print), (self.copy, self.copy_text))
        for button, act in acts:
            button.clicked.connect(lambda _=False, act=act: act())
        self.back.clicked.connect(self.left)

    # --- what is shown -------------------------------------------------------------------------------

    def ask(self, key: str = "") -> None:
        """Show the papers of the job in hand, and this one of them: `job`, `care-` with a piece's id, and so on."""
        self.key = key or self.key
        self.made = None
        self._relist()
        self._begin()
        self.list.take_focus()

    def choose(self, key: str) -> None:
        """Show another paper."""
        if key != self.key:
            self.key = key
            self.settle.start()
            self.tell_offer(self.offer)

    def take_paper(self, name: str) -> None:
        """Lay all out for another paper from now on."""
        paper = paper_named(name)
        self.offer_sizes(paper)
        if paper is not self.paper:
            self.paper = paper
            self.paper_chosen.emit(paper.value)
            if self.made is not None:
                self.made.pages = None
            self._begin()

    @property
    def offer(self) -> Offer | None:
        """The paper that is chosen."""
        return next((o for o in self._offers if o.key == self.key), None)

    def _relist(self) -> None:
        document = self.session.current
        self._offers = []
        if document is not None:
            self._offers = offers(document.job, document.state, self.session.now(), document.windows)
        if self.offer is None:
            self.key = "job"
        self.list.fill([PickRow(o.key, o.name, o.detail) for o in self._offers], self.key)
        self.fit_list()
        self.offer_sizes(self.paper)
        there = document is not None
        for part in (self.list, self.sizes, self.size_label, self.save, self.print, self.copy):
            part.setVisible(there)
        name = document.title if document is not None else ""
        self.title.say(say("On paper: {job}", job=name) if there else say("On paper"))
        self.tell_offer(self.offer)

    def _follow(self) -> None:
        if self.isVisible():
            self.settle.start()

    def _begin(self) -> None:
        """Make what is chosen, unless that is what is shown already."""
        self.settle.stop()
        self._relist()
        document, offer = self.session.current, self.offer
        if document is None or offer is None:
            self.made = None
            self.view.show_words(say("No job is open. Open one (Ctrl+O), then its sheets are here."))
            self.told.say("")
            return
        self._asked += 1
        self.photos.errands.clear()
        if not offer.is_sheet:
            self._show_file(Made(document, offer))
            return
        before = self.made
        stay = before is not None and before.document is document and before.offer.key == offer.key
        if not stay:
            self.steps.stop()
            self.made = Made(document, offer)
            self.view.show_words(say("The sheet is being made."))
            self.told.say("")
        come = partial(self._sheet_came, self._asked, Made(document, offer), stay=stay)
        now, tables = self.session.now(), self.session.tables
        self.photos.errands.ask(partial(sheet_made, offer, document.job, tables, now), come)

    def _sheet_came(self, asked: int, made: Made, sheet: Sheet | str, *, stay: bool) -> None:
        if asked != self._asked:
            return
        if isinstance(sheet, str):
            self._failed(sheet)
            return
        before = self.made
        if stay and before is not None and before.pages is not None and before.sheet == sheet:
            return
        made.sheet = sheet
        self.made = made
        self._fetch_photos(made, stay=stay)

    def _show_file(self, made: Made) -> None:
        self.steps.stop()
        try:
            text = paperfiles.file_text(made.document, made.offer, self.session.now())
        except (OSError, ValueError) as fault:
            self._failed(fault)
            return
        made.text = text
        self.made = made
        shown = paperfiles.table_shown(made.document, made.offer) if made.offer.table is not None else text
        lines = shown.split("\n")
        cut = lines[:_PREVIEW_LINES]
        if len(lines) > len(cut):
            cut += ["", say("… and {n} lines more, which are in the file.", n=len(lines) - len(cut))]
        self.view.show_text("\n".join(cut), made.offer.name)
        self.told.say(say_n("{n} line", "{n} lines", len(lines) - text.endswith("\n")))
        self._ready(made)

    # --- photos first, then the pages ----------------------------------------------------------------

    def _fetch_photos(self, made: Made, *, stay: bool) -> None:
        """Read what photos there are in the thread; once all are there, the pages are laid out."""
        assert made.sheet is not None

        def come(done: int, of: int) -> None:
            if self.made is not made or made.sheet is None:
                return
            if done < of:
                self.told.say(say("Photos: {n} of {m}", n=done, m=of))
                return
            self._stay = stay
            self.steps.start(lay_out(made.sheet, self.paper, self.photos.of(made.document.path)))

        self.photos.fetch(made.document.path, list(photos_on(made.sheet)), come)

    def _progressed(self, progress: object) -> None:
        if isinstance(progress, Progress) and progress.of:
            self.told.say(say("{n} of {m} parts done", n=progress.done, m=progress.of))

    def _laid_out(self, pages: Pages) -> None:
        made = self.made
        if made is None or made.sheet is not pages.sheet:
            return
        made.pages = pages
        self.view.show_pages(pages, stay=self._stay)
        self.told.say(self._pages_words(pages))
        self._ready(made)

    def _pages_words(self, pages: Pages) -> str:
        told = say_n("{n} page on {paper}", "{n} pages on {paper}", len(pages), paper=paper_words(pages.paper))
        if self.made is None or self.made.sheet is not pages.sheet:
            return told
        there = self.photos.of(self.made.document.path)
        gone = sum(1 for shown in photos_on(pages.sheet) if there(shown) is None)
        missing = say_n("{n} photo can't be shown", "{n} photos can't be shown", gone) if gone else ""
        return ", ".join(filter(None, (told, missing)))

    def _ready(self, made: Made) -> None:
        after, self._after = self._after, None
        if after is not None:
            after(made)

    def _failed(self, fault: object) -> None:
        self._after = None
        self.told.say("")
        self.view.show_words(say("This can't be put on paper ({why}). The record is as it was.", why=str(fault)))

    # --- what is done with it ------------------------------------------------------------------------

    def _with_made(self, act: Callable[[Made], None]) -> None:
        """Do this with what is chosen, as soon as it is made."""
        made = self.made
        if self.settle.isActive():
            self._begin()
            made = self.made
        if made is None:
            self.said.emit(say("No job is open. Open one, then put it on paper."))
        elif made.pages is None and made.offer.is_sheet:
            self._after = act
        else:
            act(made)

    def ask_save(self) -> None:
        """Ask for the name of the file."""
        self._with_made(self._ask_name)

    def _ask_name(self, made: Made) -> None:
        if made.offer.kind is Kind.CALENDAR and made.offer.not_yet:
            self.said.emit(made.offer.not_yet)
            return
        state, title = made.document.state, made.document.title
        names = [(e, suggested_name(title, made.offer, e, state)) for e in made.offer.endings]
        self.saving.ask(names, lambda path, ending: self.keep(made, path, ending))

    def keep(self, made: Made, path: Path, ending: Ending) -> None:
        """Write what was shown into this file, and say so, or why not."""
        if made.pages is not None and ending is Ending.PDF:
            if self._writing is not None:
                self.said.emit(say("Another file is still being written: try again in a moment."))
                return
            self._writing = (made.pages, path)
            self.writing.start(drawn(made.pages))
        elif made.sheet is not None and ending is Ending.HTML:
            self._beside_save(path, partial(html_made, made.sheet, made.document.path), ending)
        elif made.sheet is not None:
            self._save(path, lambda: paperfiles.save_text(path, text_of(made)))
        else:
            self._save(path, lambda: paperfiles.save_file(path, made.document, made.offer, self.session.now()))

    @property
    def being_written(self) -> str:
        """The name of the file that is just being made, "" for none."""
        paths = [self._writing[1], *self._finishing] if self._writing is not None else self._finishing
        return paths[0].name if paths else ""

    def _drawn(self, data: bytes) -> None:
        if self._writing is None:
            return
        (pages, path), self._writing = self._writing, None
        self.told.say(self._pages_words(pages))
        self._beside_save(path, partial(finished_pages, pages, data), Ending.PDF)

    def _not_drawn(self, fault: object) -> None:
        (_, path), self._writing = self._writing or (None, Path()), None
        self.said.emit(say("{file} is not written: {why}.", file=path.name, why=str(fault)))

    def _beside_save(self, path: Path, make: Callable[[], bytes], ending: Ending) -> None:
        """Make a file in the thread, and write it down once it is whole."""

        def write(made: bytes | Exception) -> None:
            if isinstance(made, Exception):
                raise ValueError(str(made) or type(made).__name__)
            paperfiles.save_bytes(path, made, ending)

        def came(made: bytes | Exception) -> None:
            self._finishing.remove(path)
            self._save(path, lambda: write(made))

        self._finishing.append(path)
        self._beside.errands.ask(partial(tried, make), came)

    def _save(self, path: Path, write: Callable[[], None]) -> None:
        try:
            write()
        except paperfiles.SaveFault as fault:
            self.said.emit(f"{fault}.")
        except (OSError, ValueError) as fault:
            self.said.emit(paperfiles.fault_words(path, fault))
        else:
            self.said.emit(say("Written to {file}.", file=path.name))

    def ask_print(self) -> None:
        """Ask for the printer."""
        if self.offer is not None and not self.offer.is_sheet:
            self.said.emit(say("This is a file for another program: save it, and print it there."))
            return
        self._with_made(lambda made: self.printing.ask(made.pages) if made.pages is not None else None)

    def copy_text(self) -> None:
        """Put what is chosen on the clipboard as text."""

        def copied(made: Made) -> None:
            QGuiApplication.clipboard().setText(text_of(made) if made.sheet is not None else made.text)
            self.said.emit(say("{name} is copied as text.", name=made.offer.name))

        self._with_made(copied)

    # --- keys ----------------------------------------------------------------------------------------

    def _act_of(self, event: QKeyEvent) -> Callable[[], Any] | None:
        key, mods = Qt.Key(event.key()), event.modifiers()
        if mods == _CTRL:
            text = self.view.text
            own = text.hasFocus() and text.textCursor().hasSelection()
            with_ctrl: dict[Qt.Key, Callable[[], Any]] = {Qt.Key.Key_S: self.ask_save, Qt.Key.Key_P: self.ask_print}
            return with_ctrl.get(key) if key != Qt.Key.Key_C or own else self.copy_text
        plain: dict[Qt.Key, Callable[[], Any]] = {
            Qt.Key.Key_PageDown: lambda: self.view.turn(1),
            Qt.Key.Key_PageUp: lambda: self.view.turn(-1),
            Qt.Key.Key_Escape: self.left.emit,
        }
        return plain.get(key) if mods == _PLAIN else None

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
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.ask_save()
            return True
        act = self._act_of(event)
        if act is None:
            return False
        act()
        return True

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        here = QApplication.focusWidget()
        if here is None or not self.isAncestorOf(here):
            self.list.take_focus()
        if self.made is None:
            self._begin()

    def hideEvent(self, event: QHideEvent) -> None:
        self.settle.stop()
        self.steps.stop()
        self.photos.errands.clear()
        self._after = None
        if self.made is not None and self.made.pages is None:
            self.made = None  # what was half made is made anew
        super().hideEvent(event)
