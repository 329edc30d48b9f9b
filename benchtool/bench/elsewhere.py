"""Ways from the bench to somewhere else: the pages of before and after, another job, what is dropped here."""

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QMimeData, QObject

from benchtool.session.session import NotNow
from benchtool.trade.saying import say

if TYPE_CHECKING:
    from benchtool.bench.window import BenchWindow


class Elsewhere(QObject):
    """Takes the painter there. `hours_for_day` says that the hours were asked for from the day, to go back there."""

    def __init__(self, window: "BenchWindow") -> None:
        super().__init__(window)
        self.window = window
        self.hours_for_day = False
        record = window.pages.record
        record.hours_asked.connect(self.show_hours)
        record.job_asked.connect(lambda: window.do("job"))
        record.open_asked.connect(self.go_to)
        window.near.dropped.connect(self.take_drop)

    def ask(self) -> None:
        """Ask which of the pages of before and after to show."""
        answers = [
            (say("The day"), "day"), (say("On paper"), "papers"), (say("Photos"), "photos"), (say("Find"), "find"),
            (say("Repeat, touch up"), "again"), (say("Your record"), "learned"),
        ]  # fmt: skip
        pick = self.window.doing.pick
        pick.ask(say("Where to?"), [(words, partial(self.window.do, page)) for words, page in answers])

    def show_hours(self) -> None:
        """Show the hours of the shop."""
        window = self.window
        window.say("")
        window.pages.shop.ask("hours")
        window.pages.setCurrentWidget(window.pages.shop)
        self.hours_for_day = True

    def go_to(self, path: Path, piece: str, layer: str) -> None:
        """Open a job, or come back to it, with a piece and a layer of it in hand ("" for none in particular)."""
        window = self.window
        window.found_asked.emit(path)
        document = window.session.current
        if document is None or document.path != path.resolve():
            return  # it could not be opened, and that was said
        if piece in document.state.pieces:
            window.session.pick(piece, layer or None)
        window.show_bench()
        window.bench.setFocus()

    def take_drop(self, mime: QMimeData) -> None:
        """Take what was dropped on the bench: photos to the piece in hand, job files to be opened."""
        window = self.window
        jobs = [Path(url.toLocalFile()) for url in mime.urls() if url.toLocalFile().lower().endswith(".json")]
        for path in jobs:
            window.found_asked.emit(path)
        try:
            if not jobs and not window.pages.record.take_drop(mime):
                window.say(say("Drop photos of the piece here, or a job's file."))
        except NotNow as no:
            window.say(str(no))
        window.refresh()
