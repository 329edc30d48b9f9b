"""The help page: every key, by what it is for, and the one key that the painter chooses."""

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QKeySequence, QShowEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.keys import ACTIONS
from benchtool.bench.look import GRID, Look
from benchtool.bench.nextkey import USUAL_KEY, KeyButton, key_name


class HelpPage(QWidget):
    """All keys on one page."""

    left = Signal()
    key_chosen = Signal(str)

    def __init__(self, look: Look, next_key: str = USUAL_KEY) -> None:
        super().__init__()
        self.setObjectName("help")
        groups: dict[str, list[tuple[str, str]]] = {}
        for act in ACTIONS:
            keys = " or ".join(QKeySequence(k).toString(QKeySequence.SequenceFormat.NativeText) for k in act.keys)
            groups.setdefault(act.group, []).append((keys, act.title))
        groups["Looking"].append(("1 to 9", "Take that piece in hand"))
        groups["Looking"].append(("Esc", "Leave a field, a question or a page"))
        groups["Mixing"].append(("Enter", "Do what the button in the mix says"))
        self.keys: list[Words] = []
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
                key.say(keys)
                key.setFixedWidth(23 * GRID)
                self.keys.append(key)
                words = Words(look, "body", "ink")
                words.say(title)
                line.addWidget(key, 0, Qt.AlignmentFlag.AlignTop)
                line.addWidget(words, 1)
                box.addLayout(line)
            box.addStretch(1)
            grid.addLayout(box, i // 2, i % 2)
        self.area = _Rolled()
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QScrollArea.Shape.NoFrame)
        self.area.setWidget(body)
        self.setFocusProxy(self.area)
        back = BenchButton(look, "Back to the bench", "Esc", name="help-back")
        back.clicked.connect(self.left)
        column = QVBoxLayout(self)
        column.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        column.addLayout(self._hands_free(look, next_key))
        column.addWidget(self.area, 1)
        column.addWidget(back, 0, Qt.AlignmentFlag.AlignLeft)
        look.changed.connect(lambda: self._widen(look))
        self._widen(look)

    def _widen(self, look: Look) -> None:
        """Give the keys a column in which each stands whole."""
        metrics = QFontMetricsF(look.strong)
        longest = max(metrics.horizontalAdvance(words.text()) for words in self.keys)
        for words in (*self.keys, self.key):
            words.setFixedWidth(max(23 * GRID, int(longest) + GRID))
            words.setMinimumHeight(int(metrics.height()) + 1)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.area.setFocus(Qt.FocusReason.OtherFocusReason)

    def _hands_free(self, look: Look, next_key: str) -> QHBoxLayout:
        head = Words(look, "strong", "ink", wrap=False)
        head.say("Hands-free key or foot pedal")
        self.key = Words(look, "strong", "accent", wrap=False)
        does = Words(look, "body", "ink")
        does.say("Done, next: does what the far view says it will do. One press, one thing; U takes it back.")
        self.told = Words(look, "body", "quiet")
        self.change = KeyButton(look)
        self.change.chosen.connect(self._take)
        self.change.told.connect(self._tell)
        upper = QHBoxLayout()
        upper.setSpacing(GRID)
        upper.addWidget(self.key, 0, Qt.AlignmentFlag.AlignTop)
        upper.addWidget(does, 1)
        words = QVBoxLayout()
        words.setSpacing(GRID // 2)
        words.addWidget(head)
        words.addLayout(upper)
        words.addWidget(self.told)
        row = QHBoxLayout()
        row.setContentsMargins(2 * GRID, GRID, 2 * GRID, 0)
        row.setSpacing(2 * GRID)
        row.addLayout(words, 1)
        row.addWidget(self.change, 0, Qt.AlignmentFlag.AlignTop)
        self.show_key(next_key)
        self._tell("")
        return row

    def show_key(self, portable: str) -> None:
        """Show this key as the hands-free one."""
        self.key.say(key_name(portable))
        self.change.setAccessibleName(f"Change the hands-free key, now {key_name(portable)}")

    def _tell(self, words: str) -> None:
        self.told.say(words)
        self.told.setVisible(bool(words))

    def _take(self, portable: str) -> None:
        self.show_key(portable)
        self.key_chosen.emit(portable)


class _Rolled(QScrollArea):
    """Rolls by all keys that roll a page; in the rest of the window some of them are keys of an act."""

    def event(self, event: QEvent) -> bool:
        if event.type() is QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent) and event.key() in _ROLLING:
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        bar = self.verticalScrollBar()
        if event.key() in (Qt.Key.Key_Home, Qt.Key.Key_End):
            bar.setValue(bar.minimum() if event.key() == Qt.Key.Key_Home else bar.maximum())
        else:
            super().keyPressEvent(event)


_ROLLING = frozenset(
    (Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_PageUp, Qt.Key.Key_PageDown, Qt.Key.Key_Home, Qt.Key.Key_End)
)
