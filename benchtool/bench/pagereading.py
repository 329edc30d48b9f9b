"""The reading of files for a page: it goes on while the page is seen, and is stopped and begun anew by one key."""

from collections.abc import Callable, Generator
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from benchtool.bench.librarysteps import Steps


class PageReading(Steps):
    """Begins `work` when it is due and `page` is seen. Who shows the page and hides it says so: `seen`, `unseen`."""

    begun = Signal()
    stopped = Signal()
    """The painter has stopped it: what was read until now counts."""

    def __init__(self, page: QWidget, work: Callable[[], Generator[Any, None, Any]]) -> None:
        super().__init__(page)
        self._page, self._how, self.due = page, work, False

    def ask(self) -> None:
        """Have it read anew, at once or when the page is seen."""
        self.due = True
        if self._page.isVisible():
            self.begin()

    def begin(self) -> None:
        """Read, whatever was under way."""
        self.due = False
        self.start(self._how())
        self.begun.emit()

    def turn(self) -> None:
        """Stop reading, or read again."""
        if not self.busy:
            self.begin()
            return
        self.stop()
        self.stopped.emit()

    def seen(self) -> None:
        """Begin what is due."""
        if self.due:
            self.begin()

    def unseen(self) -> None:
        """Pause: it goes on where it was when the page is seen again."""
        if self.busy:
            self.stop()
            self.due = True
