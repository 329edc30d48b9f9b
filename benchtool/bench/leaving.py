"""Whether the window may close now: what would be lost by it is asked about first."""

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer

from benchtool.trade.saying import say

if TYPE_CHECKING:
    from benchtool.bench.window import BenchWindow

_LEAVING = object()
"""Who asks whether to leave."""


class Leaving(QObject):
    """Asks before the window closes over what is half typed, half written or not saved."""

    def __init__(self, window: "BenchWindow") -> None:
        super().__init__(window)
        self.window = window
        self._anyway = False

    def may(self) -> bool:
        """Say whether the window may close; where not, the painter was asked."""
        window, pages = self.window, self.window.pages
        if pages.planning:
            pages.plan.card.save_draft()
        lost = None if self._anyway else self._half_done()
        unsaved = window.session.save_all() if lost is None else []
        if unsaved and not self._anyway:
            copy = ("Save a copy elsewhere", partial(window.job_asked.emit, "copy"))
            lost = (f"Not saved yet. {unsaved[0].unsaved}.", copy, "unsaved")
        if lost is None:
            return True
        self._ask(*lost)
        return False

    def _half_done(self) -> tuple[str, tuple[str, Callable[[], None]], str] | None:
        """Give the question about what is half done, what else can be done, and what is lost; None for nothing."""
        window, pages = self.window, self.window.pages
        if pages.planning or pages.half_typed:
            return "What is typed on this page is not kept yet.", ("Back to the page", window.refresh), "typed"
        half = pages.left_half_typed
        if half:
            go = pages.show_half_typed_trial if half == "trials" else partial(window.do, half)
            if pages.half_is_kept:
                kept = say("A trial is half set up. It is kept, and there again at the next start.")
                return kept, ("Go to it", go), ""
            return f"A {half.removesuffix('s')} is half typed and not kept yet.", ("Go to it", go), "typed"
        unfinished = pages.record.unfinished
        return (unfinished, (say("Wait for it"), window.refresh), say("not written")) if unfinished else None

    def _ask(self, question: str, instead: tuple[str, Callable[[], None]], loss: str) -> None:
        if self.window.in_far_view:
            self.window.toggle_far()
        close = f"Close, and lose what is {loss}" if loss else say("Close")
        pick = self.window.doing.pick
        pick.ask(question, [instead, (close, self._leave)], owner=_LEAVING)
        # A window manager that asked to close may give the keyboard back to the field that had it.
        QTimer.singleShot(0, pick, pick.take_focus)

    def _leave(self) -> None:
        self._anyway = True
        self.window.close()

    def stay(self) -> None:
        """Take the question back: the painter went on, and the page that was to be left is left or kept by now."""
        if self.window.doing.pick.asks(_LEAVING):
            self.window.doing.pick.hide()
