"""Sentences below each other, as many as there are to say."""

from PySide6.QtWidgets import QVBoxLayout, QWidget

from benchtool.bench.controls import Words
from benchtool.bench.look import GRID, Look


class Paragraphs(QWidget):
    """Sentences below each other, as many as there are to say, under a heading where it has one."""

    def __init__(self, look: Look, size: str, tone: str, *, title: str = "", gap: int = GRID // 2) -> None:
        super().__init__()
        self.look, self.size_name, self.tone = look, size, tone
        self.said: tuple[str, ...] = ()
        self._lines: list[Words] = []
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(gap)
        if title:
            head = Words(look, "strong", "ink")
            head.say(title)
            self._column.addWidget(head)
        self.hide()

    def show_said(self, said: tuple[str, ...]) -> None:
        """Say these; none hides it."""
        self.said = said
        while len(self._lines) < len(said):
            line = Words(self.look, self.size_name, self.tone)
            self._lines.append(line)
            self._column.addWidget(line)
        for i, line in enumerate(self._lines):
            line.say(said[i] if i < len(said) else "")
            line.setVisible(i < len(said))
        self.setVisible(bool(said))
