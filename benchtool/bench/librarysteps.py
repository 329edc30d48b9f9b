"""Work that comes in steps, done between two strokes of a key so that the window never stands still."""

from collections.abc import Generator
from typing import Any

from PySide6.QtCore import QDeadlineTimer, QObject, QTimer, Signal

SLICE_MS = 8
"""How long a slice of the work lasts: half of what the eye takes for one picture."""


class Steps(QObject):
    """One piece of work: tells each slice what its last step gave, then what the work came to, or what stopped it."""

    stepped = Signal(object)
    done = Signal(object)
    failed = Signal(object)

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._work: Generator[Any, None, Any] | None = None
        self._timer = QTimer(self)
        self._timer.setObjectName("library-steps")
        self._timer.setInterval(0)
        self._timer.timeout.connect(self._slice)

    @property
    def busy(self) -> bool:
        """Whether some work is under way."""
        return self._work is not None

    def start(self, work: Generator[Any, None, Any]) -> None:
        """Begin some work; what was under way is given up."""
        self.stop()
        self._work = work
        self._timer.start()

    def stop(self) -> None:
        """Give up what is under way."""
        self._timer.stop()
        work, self._work = self._work, None
        if work is not None:
            work.close()

    def _slice(self) -> None:
        work, last = self._work, None
        deadline = QDeadlineTimer(SLICE_MS)
        while work is not None and not deadline.hasExpired():
            try:
                last = next(work)
            except StopIteration as end:
                self._end()
                self.done.emit(end.value)
                return
            except Exception as fault:  # noqa: BLE001 - whoever began the work knows what may stop it
                self._end()
                self.failed.emit(fault)
                return
        self.stepped.emit(last)

    def _end(self) -> None:
        self._timer.stop()
        self._work = None
