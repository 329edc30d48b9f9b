"""The pages of before and after: the planned day, what leaves the bench on paper, photos, earlier jobs."""

from collections.abc import Callable
from datetime import datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from PySide6.QtCore import QMimeData, QObject, Signal
from PySide6.QtWidgets import QStackedWidget, QWidget

from benchtool.bench.look import Look
from benchtool.session.session import NotNow, Session
from benchtool.trade.saying import say

if TYPE_CHECKING:
    from benchtool.bench.again import AgainPage
    from benchtool.bench.day import DayPage
    from benchtool.bench.findjobs import FindPage
    from benchtool.bench.learned import LearnedPage
    from benchtool.bench.papers import PapersPage
    from benchtool.bench.photoshelf import PhotoShelf
    from benchtool.session.jobsearch import JobSearch

    Made = TypeVar("Made", DayPage, PapersPage, PhotoShelf, FindPage, AgainPage, LearnedPage)

NAMES = frozenset({"day", "papers", "photos", "find", "again", "learned"})
"""The acts that show one of these pages."""

_WITHOUT_A_JOB = frozenset({"find", "day", "learned"})


class RecordPages(QObject):
    """Makes these pages when they are first asked for, in the stack that holds all pages.

    `make_search` gives what looks through the jobs on this computer; `paper` is what sheets are printed on.
    """

    open_asked = Signal(object, str, str)
    """A job's file, a piece and a layer of it ("" for none in particular) that the painter wants to see."""
    left = Signal()
    said = Signal(str)
    hours_asked = Signal()
    job_asked = Signal()

    def __init__(self, stack: QStackedWidget, look: Look, session: Session) -> None:
        super().__init__(stack)
        self._stack, self._look, self._session = stack, look, session
        self.make_search: Callable[[], JobSearch] | None = None
        self.paper = ""
        self._closers: list[Callable[[], object]] = []

    @cached_property
    def day(self) -> "DayPage":
        """What is done when: the plan of the open jobs, drawn."""
        from benchtool.bench.day import DayPage
        from benchtool.session.dayplan import DayPlanner

        planner = DayPlanner(self._session)
        self._closers.append(planner.close)
        page = DayPage(self._look, self._session, planner)
        page.layer_asked.connect(lambda job, piece, layer: self.open_asked.emit(Path(job), piece, layer))
        page.hours_asked.connect(self.hours_asked)
        page.job_asked.connect(self.job_asked)
        return self._added(page)

    @cached_property
    def papers(self) -> "PapersPage":
        """What leaves the bench: job sheet, care sheet, tables, calendar."""
        from benchtool.bench.papers import PapersPage

        page = PapersPage(self._look, self._session, self.paper)
        page.paper_chosen.connect(self._take_paper)
        return self._added(page)

    @cached_property
    def photos(self) -> "PhotoShelf":
        """The photos of a piece, step by step."""
        from benchtool.bench.photoshelf import PhotoShelf

        page = PhotoShelf(self._look, self._session)
        return self._added(page)

    @cached_property
    def find(self) -> "FindPage":
        """Earlier jobs, found by a word or by a can."""
        from benchtool.bench.findjobs import FindPage

        if self.make_search is None:
            raise NotNow(say("Nothing can be searched here."))
        search = self.make_search()
        self._closers.append(search.close)
        page = FindPage(self._look, search)
        page.open_asked.connect(lambda path, piece: self.open_asked.emit(Path(path), piece, ""))
        return self._added(page)

    @cached_property
    def again(self) -> "AgainPage":
        """A job as the beginning of the next one."""
        from benchtool.bench.again import AgainPage

        page = AgainPage(self._look, self._session)
        page.opened.connect(lambda path: self.open_asked.emit(Path(path), "", ""))
        return self._added(page)

    @cached_property
    def learned(self) -> "LearnedPage":
        """What the record says of the painter's own times, misses and measuring."""
        from benchtool.bench.learned import LearnedPage

        page = LearnedPage(self._look, self._session)
        page.piece_asked.connect(lambda path, piece, layer: self.open_asked.emit(Path(path), piece, layer))
        return self._added(page)

    def _take_paper(self, paper: str) -> None:
        self.paper = paper

    def _added(self, page: "Made") -> "Made":
        page.left.connect(self.left)
        page.said.connect(self.said)
        self._stack.addWidget(page)
        return page

    def open(self, what: str) -> None:
        """Show one of them.

        Raises:
            NotNow: it is about a job, and none is open; or about a piece, and none is in hand.
        """
        if what not in _WITHOUT_A_JOB and self._session.current is None:
            raise NotNow(say("Open a job first: press Ctrl+O."))
        if what == "photos" and self._session.piece is None:
            raise NotNow(say("Add a piece first: press A at the bench."))
        page: DayPage | PapersPage | PhotoShelf | FindPage | AgainPage | LearnedPage = getattr(self, what)
        page.ask()
        self._stack.setCurrentWidget(page)

    def take_drop(self, mime: QMimeData) -> bool:
        """Take photos that were dropped on the bench to the piece in hand; says whether there were any.

        Raises:
            NotNow: no piece is in hand.
        """
        from benchtool.bench.photoshelffiles import sources_in

        sources = sources_in(mime)
        if sources:
            self.open("photos")
            self.photos.take_drop(sources)
        return bool(sources)

    def refresh(self, seen: QWidget | None, now: datetime) -> None:
        """Draw the page that is seen, if it is one of these, as it stands at `now`."""
        if self.made("day") and seen is self.day:
            self.day.refresh(now)
        elif self.made("photos") and seen is self.photos:
            self.photos.refresh(now)

    @property
    def unfinished(self) -> str:
        """Say what was asked for and would not come to its end if the window closed now; "" for nothing."""
        if self.made("papers") and self.papers.being_written:
            return say("{file} is still being written.", file=self.papers.being_written)
        if self.made("photos") and self.photos.photos.progress is not None:
            return say("Photos are still being copied.")
        return ""

    def close(self) -> None:
        """Let go of what works beside the window."""
        for close in self._closers:
            close()

    def made(self, name: str) -> bool:
        """Whether this page was asked for already."""
        return name in self.__dict__
