"""The line over the photos: how far the copying is, and what of it could not be added."""

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QWidget

from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.look import GRID, Look
from benchtool.trade.saying import say, say_n

_LINES = 4


class NewsBar(QWidget):
    """Shows what it is told, and is not there where there is nothing to tell."""

    stopped = Signal()
    seen = Signal()

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.progress, self.lines = Words(look, "body", "accent"), Words(look, "small", "trouble")
        self.stop = BenchButton(look, say("Stop"), "Esc", name="photos-stop")
        self.ok = BenchButton(look, say("Seen"), name="photos-seen")
        self.stop.clicked.connect(self.stopped)
        self.ok.clicked.connect(self.seen)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(2 * GRID)
        for words in (self.progress, self.lines):
            row.addWidget(words, 1)
        for button in (self.stop, self.ok):
            button.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
            row.addWidget(button)
        self._settle()

    def tell_progress(self, words: str) -> None:
        """Say how far it is, or with no words that nothing is being copied."""
        self.progress.say(words)
        self._settle()

    def tell_lines(self, lines: Sequence[str]) -> None:
        """Say what is not there or is odd, until it was seen."""
        more = len(lines) - _LINES
        rest = [say_n("… and {n} more.", "… and {n} more.", more)] if more > 0 else []
        self.lines.say("\n".join([*lines[:_LINES], *rest]))
        self._settle()

    def _settle(self) -> None:
        for words, button in ((self.progress, self.stop), (self.lines, self.ok)):
            words.setVisible(bool(words.text()))
            button.setVisible(bool(words.text()))
        self.setVisible(bool(self.progress.text() or self.lines.text()))
