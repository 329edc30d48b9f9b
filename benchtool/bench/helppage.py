"""The help page: every key, by what it is for."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.keys import ACTIONS
from benchtool.bench.look import GRID, Look


class HelpPage(QWidget):
    """All keys on one page."""

    left = Signal()

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.setObjectName("help")
        groups: dict[str, list[tuple[str, str]]] = {}
        for act in ACTIONS:
            keys = " or ".join(QKeySequence(k).toString(QKeySequence.SequenceFormat.NativeText) for k in act.keys)
            groups.setdefault(act.group, []).append((keys, act.title))
        groups["Looking"].append(("1 to 9", "Take that piece in hand"))
        groups["Looking"].append(("Esc", "Leave a field, a question or a page"))
        groups["Mixing"].append(("Enter", "Do what the button in the mix says"))
        body = QWidget()
        grid = QGridLayout(body)
        grid.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        grid.setHorizontalSpacing(4 * GRID)
        grid.setVerticalSpacing(2 * GRID)
        for side in (0, 1):
            grid.setColumnStretch(side, 1)
        for i, (group, rows) in enumerate(groups.items()):
            box = QVBoxLayout()
            box.setSpacing(GRID // 2)
            head = Words(look, "strong", "ink", wrap=False)
            head.say(group)
            box.addWidget(head)
            for keys, title in rows:
                line = QHBoxLayout()
                line.setSpacing(GRID)
                key = Words(look, "strong", "accent", wrap=False)
                key.setFixedWidth(23 * GRID)
                key.say(keys)
                words = Words(look, "body", "ink")
                words.say(title)
                line.addWidget(key, 0, Qt.AlignmentFlag.AlignTop)
                line.addWidget(words, 1)
                box.addLayout(line)
            box.addStretch(1)
            grid.addLayout(box, i // 2, i % 2)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QScrollArea.Shape.NoFrame)
        area.setWidget(body)
        back = BenchButton(look, "Back to the bench", "Esc", name="help-back")
        back.clicked.connect(self.left)
        column = QVBoxLayout(self)
        column.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        column.addWidget(area, 1)
        column.addWidget(back, 0, Qt.AlignmentFlag.AlignLeft)
