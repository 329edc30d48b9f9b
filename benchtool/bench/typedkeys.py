"""Keys that are typed on a page, and so are no acts of the bench while it is seen."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent

_WITH = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.MetaModifier


def is_typed(event: QKeyEvent) -> bool:
    """Say whether this key writes something or moves about: no function key, no Esc, nothing held with it but Shift."""
    if event.key() == Qt.Key.Key_Escape or Qt.Key.Key_F1 <= event.key() <= Qt.Key.Key_F35:
        return False
    return not event.modifiers() & _WITH
