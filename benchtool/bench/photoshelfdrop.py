"""A page on which photos can be dropped anywhere, with keys of its own among those of the bench."""

from collections.abc import Callable

from PySide6.QtCore import QEvent, QRectF, Qt, Signal
from PySide6.QtGui import QDragEnterEvent, QDragLeaveEvent, QDropEvent, QKeyEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from benchtool.bench.look import Look
from benchtool.bench.photoshelffiles import sources_in

ARROWS = {
    Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Home, Qt.Key.Key_End,
}  # fmt: skip


class DropPage(QWidget):
    """`dropped` gives what was dropped, `held` whether something is held over the page."""

    dropped = Signal(object)
    held = Signal(bool)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.held_over = False
        self.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self.setAcceptDrops(True)

    def act_of(self, event: QKeyEvent) -> Callable[[], object] | None:
        """Give what this key does on the page, None for nothing."""
        raise NotImplementedError

    def do_act(self, act: Callable[[], object]) -> None:
        """Do what a key asked for."""
        act()

    def event(self, event: QEvent) -> bool:
        """Keep the keys of this page; the others stay those of the bench, so that a coat can be ended from here."""
        over = event.type() is QEvent.Type.ShortcutOverride
        if over and isinstance(event, QKeyEvent) and self.act_of(event) is not None:
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        act = self.act_of(event)
        if act is None:
            super().keyPressEvent(event)
            return
        event.accept()
        if not event.isAutoRepeat() or Qt.Key(event.key()) in ARROWS:
            self.do_act(act)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if sources_in(event.mimeData()):
            event.acceptProposedAction()
            self._hold(on=True)

    def dragLeaveEvent(self, event: QDragLeaveEvent) -> None:
        self._hold(on=False)

    def dropEvent(self, event: QDropEvent) -> None:
        self._hold(on=False)
        event.acceptProposedAction()
        self.dropped.emit(sources_in(event.mimeData()))

    def _hold(self, *, on: bool) -> None:
        self.held_over = on
        self.held.emit(on)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        if self.held_over:
            painter = QPainter(self)
            painter.setPen(QPen(self.look.theme.color("accent"), 3))
            painter.drawRect(QRectF(self.rect()).adjusted(2, 2, -2, -2))
            painter.end()
