"""A whole trial as text, in letters of one width so that its table stands straight."""

from PySide6.QtGui import QFontDatabase
from PySide6.QtWidgets import QPlainTextEdit, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.tips import plain_tip


class TrialText(QWidget):
    """The text with its title over it; it can be read and copied, and not changed."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.title = Words(look, "strong", "ink", wrap=False)
        self.title.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.text = QPlainTextEdit()
        self.text.setObjectName("trial-past-text")
        self.text.setReadOnly(True)
        self.text.setLineWrapMode(QPlainTextEdit.LineWrapMode.NoWrap)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID)
        column.addWidget(self.title)
        column.addWidget(self.text, 1)
        look.changed.connect(self._relook)
        self._relook()

    def show_text(self, title: str, text: str, origin: str) -> None:
        """Show this, from its beginning; `origin` is told of it at a touch on the title."""
        self.title.say(title)
        self.title.setToolTip(plain_tip(origin))
        self.text.setAccessibleName(title)
        self.text.setPlainText(text)

    def _relook(self) -> None:
        font = QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont)
        font.setPixelSize(self.look.body.pixelSize())
        self.text.setFont(font)
