"""The line above the act bar: what was just done, and whether it is saved."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.tips import plain_tip
from benchtool.session.session import Session


class StatusLine(QWidget):
    """Left what was said last, right how the file stands; what is wrong with it and too long for that, below, whole."""

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.session = session
        self.said = Words(look, "small", "ink", wrap=False)
        self.saved = Words(look, "small", "quiet", wrap=False)
        for words, name in ((self.said, "said"), (self.saved, "saved")):
            words.setObjectName(name)
            words.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.saved.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.whole = Words(look, "small", "trouble")
        self.whole.setObjectName("saved-whole")
        self.whole.hide()
        row = QHBoxLayout()
        row.setSpacing(2 * GRID)
        row.addWidget(self.said, 2)
        row.addWidget(self.saved, 1)
        lines = QVBoxLayout(self)
        lines.setContentsMargins(2 * GRID, 0, 2 * GRID, 0)
        lines.setSpacing(0)
        lines.addLayout(row)
        lines.addWidget(self.whole)
        look.changed.connect(self._fit)

    def say(self, text: str) -> None:
        """Say what was just done, or why it was not."""
        self.said.say(text)
        self.said.setToolTip(plain_tip(text))

    def refresh(self) -> None:
        """Say how the file of the job in hand stands."""
        self._say_saved()
        self._fit()

    def _fit(self) -> None:
        """Put what does not fit beside what was said on a line of its own: a fault is read to its end."""
        text = self.saved.text()
        if text != self.whole.text():
            self.whole.say(text)
            self.saved.setToolTip(plain_tip(text))
        beside = (self.width() - 6 * GRID) // 3
        trouble = self.saved.property("tone") == "trouble"
        below = trouble and self.saved.fontMetrics().horizontalAdvance(text) > beside
        if below is self.whole.isHidden():
            self.whole.setVisible(below)
            self.saved.setVisible(not below)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _say_saved(self) -> None:
        document = self.session.current
        moved = self.session.clock.stepped()
        if document is None:
            self.saved.say("")
        elif document.unsaved:
            self.saved.say(f"Not saved. {document.unsaved}", "trouble")
        elif document.read_only:
            self.saved.say(document.read_only, "trouble")
        elif self.session.clock.unsure:
            self.saved.say("The time is a guess: the laptop's clock can't be right. J sets it.", "trouble")
        elif moved:
            minutes = abs(moved.total_seconds()) / 60
            way = "forward" if moved.total_seconds() > 0 else "back"
            told = f"The laptop's clock was set {way} {minutes:.0f} min. Countdowns go on as before (J changes that)."
            self.saved.say(told, "trouble")
        else:
            self.saved.say("Every act is saved", "quiet")
