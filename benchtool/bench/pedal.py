"""The hands-free key in the window: which key it is, when it works, and what a press is answered with."""

from collections.abc import Callable

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import QWidget

from benchtool.bench.nextkey import SCAN, USUAL_KEY, key_of, usable
from benchtool.session.handsfree import AT_THE_BENCH, Pedal, Place
from benchtool.session.session import Session


class PedalKey(QObject):
    """Listens for the key the painter chose; `works` says whether it is the hands-free key where the window is now."""

    answered = Signal(str)
    heard = Signal()
    chosen = Signal()

    def __init__(
        self,
        window: QWidget,
        session: Session,
        works: Callable[[], bool],
        asking: Callable[[], bool],
        place: Callable[[], Place] = lambda: AT_THE_BENCH,
    ) -> None:
        super().__init__(window)
        self.session, self.works, self.asking = session, works, asking
        self.pedal, self.key = Pedal(session, place), USUAL_KEY
        self._shortcut = QShortcut(window)
        self._shortcut.setAutoRepeat(False)  # a foot that rests on the pedal presses once
        self._shortcut.activated.connect(self.press)
        self.take(USUAL_KEY)

    def take(self, portable: str) -> None:
        """Take this key, or the usual one where it can't be used."""
        self.key = usable(portable)
        self._shortcut.setKey(QKeySequence() if self.key.startswith(SCAN) else QKeySequence(self.key))
        self.chosen.emit()

    def settle(self) -> None:
        """Listen only where the key works: on the other pages it keeps what it does there, such as to scroll."""
        self._shortcut.setEnabled(self.works())

    def takes(self, event: QKeyEvent) -> bool:
        """Act on a key that the toolkit has no name for; gives whether it was this one."""
        if not self.key.startswith(SCAN) or key_of(event) != self.key or not self.works():
            return False
        if not event.isAutoRepeat():
            self.press()
        return True

    def press(self) -> None:
        """Do what the hands-free key does, and answer in words."""
        if self.asking():
            self.answered.emit("A question is open at the bench: answer that first.")
            return
        now, alarms = self.session.now(), self.session.alarms
        calls = alarms.up(), alarms.summary
        words = self.pedal.press(now)
        if calls != (alarms.up(), alarms.summary):
            self.heard.emit()
        if words:
            self.answered.emit(words)
