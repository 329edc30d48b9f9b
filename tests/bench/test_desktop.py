"""Notifications and the screen kept awake, against a bus of the test's own with services that only take notes."""

import gc
import shutil
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from benchtool.bench.desktop import Desktop

ONLY_BUS = pytest.mark.skipif(
    sys.platform in ("win32", "darwin") or shutil.which("dbus-daemon") is None, reason="no dbus-daemon here"
)
CONFIG = """<!DOCTYPE busconfig PUBLIC "-//freedesktop//DTD D-Bus Bus Configuration 1.0//EN"
 "http://www.freedesktop.org/standards/dbus/1.0/busconfig.dtd">
<busconfig><type>session</type><listen>unix:dir={folder}</listen>
<policy context="default">
<allow send_destination="*" eavesdrop="true"/><allow eavesdrop="true"/><allow own="*"/>
</policy>
</busconfig>"""
NOTES, SAVER = "org.freedesktop.Notifications", "org.freedesktop.ScreenSaver"


class Services(threading.Thread):
    """Both services: they write down what they are asked, and answer as their specifications say."""

    def __init__(self, address: str, *names: str, can: list[str]) -> None:
        super().__init__(daemon=True)
        from jeepney.bus_messages import message_bus
        from jeepney.io.blocking import open_dbus_connection

        self.asked: list[tuple[str, str, tuple[Any, ...]]] = []
        self.can = can
        self.over = threading.Event()
        self.bus = open_dbus_connection(bus=address)
        for name in names:
            self.bus.send_and_get_reply(message_bus.RequestName(name))
        self.start()

    def run(self) -> None:
        from jeepney import HeaderFields, MessageType, new_method_return

        while not self.over.is_set():
            try:
                message = self.bus.receive(timeout=0.05)
            except TimeoutError:
                continue
            if message.header.message_type is not MessageType.method_call:
                continue
            fields = message.header.fields
            member, signature = fields[HeaderFields.member], fields.get(HeaderFields.signature, "")
            self.asked.append((member, signature, message.body))
            answers = {"GetCapabilities": ("as", (self.can,)), "Notify": ("u", (41,)), "Inhibit": ("u", (17,))}
            self.bus.send(new_method_return(message, *answers.get(member, (None, ()))))
        self.bus.close()

    def of(self, member: str) -> list[tuple[Any, ...]]:
        return [body for m, _, body in self.asked if m == member]


@pytest.fixture
def bus(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    config = tmp_path / "bus.conf"
    config.write_text(CONFIG.format(folder=tmp_path), encoding="utf-8")
    command = ["dbus-daemon", f"--config-file={config}", "--print-address=1", "--nofork", "--nopidfile"]
    daemon = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    assert daemon.stdout is not None
    address = daemon.stdout.readline().strip()
    if not address:
        daemon.wait()
        pytest.skip("no bus can be started here")
    monkeypatch.setenv("DBUS_SESSION_BUS_ADDRESS", address)
    yield address
    daemon.terminate()
    daemon.wait()
    daemon.stdout.close()


@pytest.fixture
def services(bus: str) -> Iterator[Services]:
    made = Services(bus, NOTES, SAVER, can=["body", "body-markup"])
    yield made
    made.over.set()
    made.join()


def desktop(*, front: bool = False) -> Desktop:
    return Desktop(live=True, in_front=lambda: front)


@ONLY_BUS
def test_a_notification_has_the_types_the_specification_asks_for(qtbot: Any, services: Services) -> None:
    bench = desktop()
    bench.notify("Too late", "Hood, Base: Pot life over 2 min ago: mix fresh.", True)
    assert bench.settle()
    [(member, signature, body)] = [a for a in services.asked if a[0] == "Notify"]
    assert (member, signature) == ("Notify", "susssasa{sv}i")
    _, replaces, _, title, words, actions, hints, expires = body
    assert (replaces, title, actions, expires) == (0, "Too late", [], -1)
    assert words == "Hood, Base: Pot life over 2 min ago: mix fresh."
    assert hints["urgency"] == ("y", 2)
    bench.close()


@ONLY_BUS
def test_the_next_one_takes_the_place_of_the_last(qtbot: Any, services: Services) -> None:
    bench = desktop()
    bench.notify("A wait is over", "one", False)
    bench.notify("A wait is over", "two", False)
    assert bench.settle()
    assert [(b[1], b[4], b[6]["urgency"]) for b in services.of("Notify")] == [
        (0, "one", ("y", 1)),
        (41, "two", ("y", 1)),
    ]
    bench.clear()
    assert bench.settle()
    assert services.of("CloseNotification") == [(41,)]
    bench.close()


@ONLY_BUS
def test_text_stays_text(qtbot: Any, services: Services) -> None:
    bench = desktop()
    bench.notify("<b>x</b>", 'Hood & <a href="x">door</a>\0\udc80', False)
    assert bench.settle()
    [body] = services.of("Notify")
    assert body[3] == "<b>x</b>"  # the specification makes the title plain text
    assert body[4] == 'Hood &amp; &lt;a href="x"&gt;door&lt;/a&gt;'
    bench.close()


@ONLY_BUS
def test_a_service_that_reads_no_markup_is_sent_none(qtbot: Any, bus: str) -> None:
    services = Services(bus, NOTES, can=["body"])
    bench = desktop()
    bench.notify("A wait is over", "Hood & <door>", False)
    assert bench.settle()
    assert services.of("Notify")[0][4] == "Hood & <door>"
    bench.close()
    services.over.set()
    services.join()


@ONLY_BUS
def test_nothing_is_shown_while_the_bench_is_in_front(qtbot: Any, services: Services) -> None:
    bench = desktop(front=True)
    bench.notify("A wait is over", "one", False)
    assert bench.settle()
    assert services.asked == []
    bench.close()


@ONLY_BUS
def test_the_screen_is_kept_awake_once_and_let_go_once(qtbot: Any, services: Services) -> None:
    bench = desktop()
    for on in (False, True, True, True):
        bench.keep_awake(on)
    assert bench.settle()
    assert len(services.of("Inhibit")) == 1
    assert services.of("UnInhibit") == []
    for on in (False, False):
        bench.keep_awake(on)
    assert bench.settle()
    assert services.of("UnInhibit") == [(17,)]
    bench.keep_awake(True)
    bench.close()
    assert services.of("UnInhibit") == [(17,), (17,)]


# wakepy leaves the sockets of a bus that refused it to be closed by whoever collects them
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
@ONLY_BUS
def test_a_bus_without_services_and_one_that_goes_away_break_nothing(qtbot: Any, bus: str) -> None:
    bench = desktop()
    bench.notify("A wait is over", "one", False)
    bench.keep_awake(True)
    assert bench.settle()
    services = Services(bus, NOTES, can=["body"])
    bench.notify("A wait is over", "two", False)
    assert bench.settle()
    assert [b[4] for b in services.of("Notify")] == ["two"]
    services.over.set()
    services.join()
    bench.notify("A wait is over", "three", False)
    bench.keep_awake(False)
    assert bench.settle()
    bench.close()
    gc.collect()


def test_without_a_bus_nothing_happens(qtbot: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("DBUS_SESSION_BUS_ADDRESS", f"unix:path={tmp_path}/none")
    shown: list[str] = []
    bench = desktop()
    monkeypatch.setattr(bench, "_by_tray", lambda *told: shown.append(told[0]))
    bench.notify("A wait is over", "one", False)
    bench.keep_awake(True)
    assert bench.settle()
    bench.keep_awake(False)
    bench.clear()
    assert bench.settle()
    bench.close()
    bench.close()


def test_where_the_bus_fails_the_tray_is_asked(qtbot: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    from PySide6.QtWidgets import QSystemTrayIcon

    monkeypatch.setenv("DBUS_SESSION_BUS_ADDRESS", f"unix:path={tmp_path}/none")
    asked: list[bool] = []
    monkeypatch.setattr(QSystemTrayIcon, "isSystemTrayAvailable", lambda: bool(asked.append(True)))
    bench = desktop()
    bench.notify("A wait is over", "one", False)
    assert bench.settle()
    qtbot.waitUntil(lambda: asked == [True])
    bench.close()


def test_on_a_screen_nobody_sees_no_thread_begins(qtbot: Any) -> None:
    bench = Desktop(in_front=lambda: False)
    bench.notify("A wait is over", "one", False)
    bench.keep_awake(True)
    assert bench._errands._thread is None
    bench.close()
