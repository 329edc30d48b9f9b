"""What takes long is done in a thread beside the window, one thing after the other, in the order asked for.

Everything is asked for and taken by the one who shows it. `tell` is called from the thread when there is something to
`poll`, so whoever gives it must hand it over to their own thread. A disk that hangs keeps no program from closing.
"""

import threading
from collections import deque
from collections.abc import Callable
from contextlib import suppress
from typing import Any, TypeVar

Found = TypeVar("Found")

_Task = tuple[Callable[[], Any], Callable[[Any], None]]


class Errands:
    """Does what is asked for in a thread that is there only while there is work."""

    def __init__(self, tell: Callable[[], None], name: str) -> None:
        self._tell: Callable[[], None] | None = tell
        self._name = name
        self._lock = threading.RLock()
        self._waiting: deque[_Task] = deque()
        self._done: deque[tuple[Callable[[Any], None], Any]] = deque()
        self._time = 0
        self._thread: threading.Thread | None = None

    def ask(self, run: Callable[[], Found], then: Callable[[Found], None]) -> None:
        """Run this in the thread, and give what it found to `then` at a `poll`. `run` must raise nothing."""
        with self._lock:
            if self._tell is None:
                return
            self._waiting.append((run, then))
            if self._thread is None:
                self._thread = threading.Thread(target=self._work, name=self._name, daemon=True)
                self._thread.start()

    def clear(self) -> None:
        """Let go of what is waiting; what is being done is done, and nobody hears of it."""
        with self._lock:
            self._time += 1
            self._waiting.clear()
            self._done.clear()

    def poll(self) -> None:
        """Hand over what was done since, in the thread that calls this."""
        while True:
            with self._lock:
                if not self._done:
                    return
                then, found = self._done.popleft()
            then(found)

    def close(self, wait_s: float = 2.0) -> None:
        """Stop for good; waits so long for what is being done."""
        with self._lock:
            self._tell = None
            self.clear()
            thread = self._thread
        if thread is not None and thread is not threading.current_thread():
            thread.join(wait_s)

    def _work(self) -> None:
        while True:
            with self._lock:
                if not self._waiting:
                    self._thread = None
                    return
                (run, then), time = self._waiting.popleft(), self._time
            found = run()
            with self._lock:  # held while telling, so that nobody is told after `close`
                if time == self._time and self._tell is not None:
                    self._done.append((then, found))
                    with suppress(RuntimeError):  # a window that is half gone hears nothing
                        self._tell()
