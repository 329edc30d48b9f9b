"""What the bench asks of the desktop around it: a notification, and a screen that stays on.

Both are luxuries, and both talk to other programs that may be slow, gone or never there. So they run in a thread of
their own, one errand after the other, and whatever fails there is logged and left out.
"""

import html
import logging
import sys
import threading
from collections.abc import Callable
from contextlib import ExitStack
from queue import SimpleQueue
from typing import Any

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QSystemTrayIcon

log = logging.getLogger(__name__)

ANSWER_S = 5.0
"""So long the notification service is waited for (judgement, no source: it may have to be started first)."""

LEAVE_S = 1.0
"""So long the bench waits at its end for the last errands."""

_LONGEST = 400
_UNSEEN = ("offscreen", "minimal")


class Desktop(QObject):
    """Notifies while the bench is not in front, and keeps the screen awake.

    Nothing here raises. On a screen that nobody sees (a test's) it does nothing, unless `live` says so.
    """

    _unsent = Signal(str, str, bool)

    def __init__(
        self,
        *,
        live: bool | None = None,
        in_front: Callable[[], bool] | None = None,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._live = QGuiApplication.platformName() not in _UNSEEN if live is None else live
        self._in_front = in_front or _in_front
        self._errands = _Errands()
        self._notices = _Notices(QGuiApplication.applicationDisplayName(), QGuiApplication.desktopFileName())
        self._wake = _Wake()
        self._awake = False
        self._tray: QSystemTrayIcon | None = None
        self._unsent.connect(self._by_tray, Qt.ConnectionType.QueuedConnection)

    def notify(self, title: str, words: str, grave: bool) -> None:
        """Show a notification in the place of the last one, unless the bench is in front anyway.

        A `grave` one stays until it is taken away.
        """
        if not self._live or self._in_front():
            return
        title, words = _plain(title), _plain(words)
        if not _has_bus():
            self._by_tray(title, words, grave)
            return

        def send() -> None:
            try:
                self._notices.show(title, words, grave=grave)
            except Exception as fault:  # noqa: BLE001 - see the top of this module
                log.info("no notification by the bus: %r", fault)
                self._unsent.emit(title, words, grave)

        self._errands.run(send)

    def clear(self) -> None:
        """Take the notification down: the call was heard."""
        if self._tray is not None:
            self._tray.hide()
        if self._errands.began:
            self._errands.run(self._notices.take_down)

    def keep_awake(self, on: bool) -> None:
        """Keep the screen on from now on, or let it go dark; called as often as one likes."""
        if not self._live or on is self._awake:
            return
        self._awake = on
        self._errands.run(self._wake.hold if on else self._wake.let_go)

    def close(self) -> None:
        """Let the screen go dark and take the notification down, at the end of the bench."""
        self.clear()
        self.keep_awake(False)
        if self._errands.began:
            self._errands.run(self._notices.hang_up)
            self._errands.end()

    def settle(self, within_s: float = ANSWER_S) -> bool:
        """Wait until all that was asked is done; says whether it was, within this time (s)."""
        return self._errands.settle(within_s)

    def _by_tray(self, title: str, words: str, grave: bool) -> None:
        if not QSystemTrayIcon.isSystemTrayAvailable() or not QSystemTrayIcon.supportsMessages():
            return
        if self._tray is None:
            self._tray = QSystemTrayIcon(QApplication.windowIcon(), self)
        icons = QSystemTrayIcon.MessageIcon
        self._tray.show()
        self._tray.showMessage(title, words, icons.Critical if grave else icons.Information)


def _in_front() -> bool:
    return QGuiApplication.applicationState() is Qt.ApplicationState.ApplicationActive


def _has_bus() -> bool:
    return sys.platform not in ("win32", "darwin")


def _plain(text: str) -> str:
    """Leave out what no bus carries (a NUL would end the connection), and what nobody reads in a notification."""
    kept = "".join(c for c in text if c.isprintable() or c == "\n")
    return kept if len(kept) <= _LONGEST else kept[: _LONGEST - 1] + "…"


class _Errands:
    """One thread that does one thing after the other; it begins with the first."""

    def __init__(self) -> None:
        self._waiting: SimpleQueue[Callable[[], None] | None] = SimpleQueue()
        self._thread: threading.Thread | None = None

    def run(self, errand: Callable[[], None]) -> None:
        if self._thread is None:
            # a daemon: a desktop that hangs must not keep the bench from closing
            self._thread = threading.Thread(target=self._work, name="desktop", daemon=True)
            self._thread.start()
        self._waiting.put(errand)

    def settle(self, within_s: float) -> bool:
        if self._thread is None:
            return True
        done = threading.Event()
        self.run(done.set)
        return done.wait(within_s)

    def end(self) -> None:
        thread, self._thread = self._thread, None
        if thread is not None:
            self._waiting.put(None)
            thread.join(LEAVE_S)

    @property
    def began(self) -> bool:
        return self._thread is not None

    def _work(self) -> None:
        while (errand := self._waiting.get()) is not None:
            try:
                errand()
            except Exception:
                log.info("the desktop did not take it", exc_info=True)


class _Notices:
    """The one notification of the bench, by the Desktop Notifications Specification 1.2 of freedesktop.org.

    By jeepney, not by Qt's own bus classes: from Python these can send no unsigned integer (PySide 6.11), which the
    id to replace and the hints are.
    """

    def __init__(self, program: str, entry: str) -> None:
        self._program, self._entry = program, entry
        self._connection: Any = None
        self._markup = True
        self._id = 0

    def show(self, title: str, words: str, *, grave: bool) -> None:
        """Show it, in the place of the one before."""
        if self._connection is None:
            self._connect()
        # The body is markup where the service reads markup, and there a name must not become a link.
        body = html.escape(words, quote=False) if self._markup else words
        hints = {
            "urgency": ("y", 2 if grave else 1),
            "desktop-entry": ("s", self._entry),
            "suppress-sound": ("b", True),  # the bench rings itself
        }
        sent: tuple[object, ...] = (self._program, self._id, "", title, body, [], hints, -1)
        (self._id,) = self._call("Notify", "susssasa{sv}i", sent)

    def take_down(self) -> None:
        """Take it away."""
        if self._connection is not None and self._id:
            shown, self._id = self._id, 0
            self._call("CloseNotification", "u", (shown,))

    def hang_up(self) -> None:
        """Leave the bus."""
        if self._connection is not None:
            self._connection.close()
        self._connection, self._id = None, 0

    def _connect(self) -> None:
        from jeepney.io.blocking import open_dbus_connection  # type: ignore[import-untyped]

        self._connection = open_dbus_connection(bus="SESSION")
        (can,) = self._call("GetCapabilities", None, ())
        self._markup = "body-markup" in can

    def _call(self, method: str, signature: str | None, body: tuple[object, ...]) -> tuple[Any, ...]:
        from jeepney import DBusAddress, new_method_call  # type: ignore[import-untyped]
        from jeepney.wrappers import unwrap_msg  # type: ignore[import-untyped]

        name = "org.freedesktop.Notifications"
        message = new_method_call(DBusAddress(f"/{name.replace('.', '/')}", name, name), method, signature, body)
        try:
            reply = self._connection.send_and_get_reply(message, timeout=ANSWER_S)
            answer: tuple[Any, ...] = unwrap_msg(reply)
        except BaseException:
            self.hang_up()  # whatever was wrong with it, the next one begins anew
            raise
        return answer


class _Wake:
    """The screen kept on, by wakepy: it knows what each system and desktop asks for."""

    def __init__(self) -> None:
        self._held = ExitStack()

    def hold(self) -> None:
        """Keep the screen on; where a desktop knows no such thing, at least keep the machine from sleeping."""
        from wakepy import keep

        for mode in (keep.presenting, keep.running):
            if self._held.enter_context(mode(on_fail="pass")).active:
                return
        log.info("this desktop can't be asked to keep the screen on")

    def let_go(self) -> None:
        """Let it go dark."""
        self._held.close()
