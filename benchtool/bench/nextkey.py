"""The hands-free key: any key or foot pedal that the painter chooses, kept as portable text."""

from PySide6.QtCore import QEvent, QKeyCombination, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QKeySequence

from benchtool.bench.controls import BenchButton
from benchtool.bench.keys import ACTIONS
from benchtool.bench.look import Look

USUAL_KEY = "PgDown"
"""The hands-free key until another is chosen."""

SCAN = "scan "
"""What the name of a key begins with that the toolkit has no name for: its number follows."""

_MODIFIERS = (
    Qt.Key.Key_Control, Qt.Key.Key_Shift, Qt.Key.Key_Alt, Qt.Key.Key_Meta, Qt.Key.Key_AltGr, Qt.Key.Key_CapsLock,
    Qt.Key.Key_NumLock, Qt.Key.Key_ScrollLock, Qt.Key.Key_Super_L, Qt.Key.Key_Super_R,
)  # fmt: skip

_TAKEN = {
    "Return": "do what the button in the mix says", "Enter": "do what the button in the mix says",
    "Tab": "go to the next field", "Backtab": "go to the field before", "Shift+Backtab": "go to the field before",
    "Space": "press the button that has the focus", "Backspace": "take back what is typed",
    "Left": "move in a field", "Right": "move in a field", "Esc": "leave a field, a question or a page",
} | {str(digit): "take that piece in hand" for digit in range(1, 10)}  # fmt: skip


def key_of(event: QKeyEvent) -> str:
    """Write the key of an event as portable text; "" for one that is only held with others (Ctrl, Shift)."""
    key = event.key()
    if key in _MODIFIERS:
        return ""
    if key in (0, Qt.Key.Key_unknown):
        return f"{SCAN}{event.nativeScanCode()}" if event.nativeScanCode() else ""
    held = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
    if event.text() and not event.text().isalnum():
        held &= ~Qt.KeyboardModifier.ShiftModifier  # a sign is what it is, whatever was held to type it
    return QKeySequence(QKeyCombination(held, Qt.Key(key))).toString(QKeySequence.SequenceFormat.PortableText)


def key_name(portable: str) -> str:
    """Name a key, kept as portable text, as it is printed on it."""
    if portable.startswith(SCAN):
        return f"Key {portable.removeprefix(SCAN)}"
    if portable == "PgDown":
        return "PgDn"
    return QKeySequence(portable).toString(QKeySequence.SequenceFormat.NativeText) or portable


def taken_by(portable: str) -> str:
    """Say what a key does already; "" where it is free."""
    for act in ACTIONS:
        if any(QKeySequence(keys) == QKeySequence(portable) for keys in act.keys):
            return f"{act.title[:1].lower()}{act.title[1:]}"
    return _TAKEN.get(portable, "")


def usable(portable: str) -> str:
    """Give the key that was kept, or the usual one where it can't be understood or became the key of an act."""
    known = portable.startswith(SCAN) or QKeySequence(portable).toString(QKeySequence.SequenceFormat.PortableText)
    return portable if known and not taken_by(portable) else USUAL_KEY


class KeyButton(BenchButton):
    """Waits, once pressed, for the key or pedal that is to be the hands-free one."""

    chosen = Signal(str)
    told = Signal(str)
    waiting = False

    def __init__(self, look: Look) -> None:
        super().__init__(look, "Change", name="next-key")
        self.clicked.connect(self._wait)

    def _wait(self) -> None:
        self.waiting = True
        self.setFocus()
        self.say("Press the key")
        self.told.emit("Press the key, or step on the pedal. Esc keeps the one you have.")

    def stop(self, words: str = "") -> None:
        """Wait no longer."""
        self.waiting = False
        self.say("Change")
        self.told.emit(words)

    def event(self, event: QEvent) -> bool:
        # Before anything else of the window: the key may be the shortcut of an act, or move the focus.
        if self.waiting and isinstance(event, QKeyEvent):
            if event.type() is QEvent.Type.ShortcutOverride:
                event.accept()
                return True
            if event.type() is QEvent.Type.KeyPress:
                if not event.isAutoRepeat():
                    self._take(event)
                event.accept()
                return True
            if event.type() is QEvent.Type.KeyRelease:
                event.accept()
                return True
        return super().event(event)

    def _take(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.stop("It stays as it was.")
            return
        key = key_of(event)
        if not key:
            self.told.emit("That key is only ever held with another one: choose another key.")
            return
        taken = taken_by(key)
        if taken:
            self.told.emit(f"{key_name(key)} is taken already ({taken}): choose another key.")
            return
        self.stop(f"{key_name(key)} it is.")
        self.chosen.emit(key)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        if self.waiting:
            self.stop("It stays as it was.")
