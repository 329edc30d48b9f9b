"""An answer worked out from what is typed: the last good one stays, greyed and called old, while a field is wrong."""

from PySide6.QtWidgets import QVBoxLayout, QWidget

from benchtool.bench.controls import BigText, Words
from benchtool.bench.look import GRID, Look


class Answer(QWidget):
    """One figure large with its name above and what goes with it below."""

    def __init__(self, look: Look, label: str, name: str, *, big: bool = True) -> None:
        super().__init__()
        self.setObjectName(name)
        self._label = label
        self.label = Words(look, "small", "quiet", wrap=False)
        self.label.say(label)
        self.figure = BigText(look, "title" if not big else "amount")
        self.more = Words(look, "body", "ink")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID // 2)
        for part in (self.label, self.figure, self.more):
            column.addWidget(part)
        self.good: tuple[str, str] | None = None
        self.is_old = False
        self.clear()

    def show_answer(self, figure: str, more: str = "", tone: str = "accent") -> None:
        """Show a good answer."""
        self.good, self.is_old = (figure, more), False
        self._say(self._label, figure, more, tone, "ink")

    def keep_old(self) -> None:
        """Something typed can't be used: grey the last good answer and say that it is old."""
        if self.good is None:
            self.clear()
            return
        self.is_old = True
        self._say(f"{self._label} (old)", *self.good, "quiet", "quiet")

    def clear(self, words: str = "") -> None:
        """Show no figure, and perhaps what is missing for one."""
        self.good, self.is_old = None, False
        self._say(self._label, "", words, "quiet", "quiet")

    def _say(self, label: str, figure: str, more: str, tone: str, more_tone: str) -> None:
        self.label.say(label)
        self.figure.show_text(figure, tone)
        self.figure.setVisible(bool(figure))
        self.more.say(more, more_tone)
        self.more.setVisible(bool(more))
        self.setAccessibleName(f"{label}: {figure}. {more}".strip())
