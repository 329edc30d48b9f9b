"""Keys that are typed on a page, and so are no acts of the bench while it is seen."""

from collections.abc import Callable

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractSpinBox,
    QApplication,
    QLineEdit,
    QPlainTextEdit,
    QTextEdit,
    QWidget,
)

_WITH = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.MetaModifier


LETTERS = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789?,")
"""The keys of the bench that `is_typed` takes, as they stand on its buttons."""


def is_typed(event: QKeyEvent) -> bool:
    """Say whether this key writes something or moves about: no function key, no Esc, nothing held with it but Shift."""
    if event.key() == Qt.Key.Key_Escape or Qt.Key.Key_F1 <= event.key() <= Qt.Key.Key_F35:
        return False
    return not event.modifiers() & _WITH and not is_heard(event)


def keeps(event: QEvent, act_of: Callable[[QKeyEvent], object] = lambda _: None) -> bool:
    """Keep a key for the page that is asked for it: one that is typed, or one for which `act_of` gives an act.

    Else the window takes it, where a letter is an act of the bench.
    """
    if event.type() is not QEvent.Type.ShortcutOverride or not isinstance(event, QKeyEvent):
        return False
    if not is_typed(event) and act_of(event) is None:
        return False
    event.accept()
    return True


def is_heard(event: QKeyEvent) -> bool:
    """Say whether this is the H that hears what calls: wherever nobody types it is that, and no key of a page."""
    return _is_h(event) and not isinstance(QApplication.focusWidget(), _TYPED_IN)


def hears_in(field: QLineEdit, event: QKeyEvent) -> bool:
    """Say whether an H in a line to search by hears what calls: while nothing is typed there and a call is in view."""
    return _is_h(event) and not field.text() and _calls(field.window())


def _is_h(event: QKeyEvent) -> bool:
    return event.key() == Qt.Key.Key_H and event.modifiers() == Qt.KeyboardModifier.NoModifier


def _calls(window: QWidget) -> bool:
    buttons: list[QAbstractButton] = window.findChildren(QAbstractButton, "alarm-heard")
    return any(button.isVisible() for button in buttons)


_TYPED_IN = (QLineEdit, QTextEdit, QPlainTextEdit, QAbstractSpinBox)
