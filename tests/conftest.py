"""What every test shares: a screen that is not there, a clock that stands still, folders of its own."""

import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import pytest
from hypothesis import settings

from benchtool.session.clock import Clock


def pytest_configure() -> None:
    """Give every property the same examples on each run, and no clock in its verdict."""
    settings.register_profile("house", deadline=None, derandomize=True, database=None)
    settings.load_profile("house")


class StillClock(Clock):
    """A clock that moves only when told; the wall clock can be stepped apart from it."""

    def __init__(self, at: datetime) -> None:
        self.at = at
        self.step = timedelta(0)

    def now(self) -> datetime:
        return self.at

    def stepped(self) -> timedelta:
        return self.step

    def wall(self) -> datetime:
        return self.at + self.step

    def move(self, by: timedelta) -> None:
        self.at, self.step = self.at + by, timedelta(0)

    def take_wall_clock(self) -> None:
        self.at, self.step = self.at + self.step, timedelta(0)

    def go(self, **span: float) -> None:
        self.at += timedelta(**span)


class StillVoice:
    """Keeps what would have been sounded."""

    missing = ""

    def __init__(self) -> None:
        self.rung: list[Any] = []
        self.spoken: list[str] = []
        self.hushed = 0

    def ring(self, ring: Any) -> None:
        self.rung.append(ring)

    def say(self, words: str) -> None:
        self.spoken.append(words)

    def hush(self) -> None:
        self.hushed += 1


@pytest.fixture
def clock() -> StillClock:
    return StillClock(datetime(2026, 3, 14, 9, 0, 0, tzinfo=UTC))


@pytest.fixture
def full_disk(monkeypatch: pytest.MonkeyPatch) -> Any:
    """A stretch (`with full_disk():`) in which the disk takes nothing more."""

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    @contextmanager
    def stretch() -> Iterator[None]:
        with monkeypatch.context() as broken:
            broken.setattr(os, "fsync", full)
            yield

    return stretch


@pytest.fixture
def folders(tmp_path: Path) -> Any:
    from benchtool.app import Folders

    return Folders(tmp_path / "data", tmp_path / "config", tmp_path / "cache", tmp_path / "state")


@pytest.fixture
def bench(qtbot: Any, clock: StillClock, folders: Any) -> Iterator[SimpleNamespace]:
    """The real window on the demo job, with a clock that stands still and no beat of its own."""
    from PySide6.QtCore import QCoreApplication, QEvent
    from PySide6.QtWidgets import QApplication

    from benchtool.app import build, open_first

    app = QApplication.instance()
    assert isinstance(app, QApplication)
    window, session = build(app, folders, clock)
    voice = StillVoice()
    window.voice = voice  # type: ignore[assignment]
    open_first(None, folders, session, window)
    window.resize(1280, 720)
    qtbot.addWidget(window)
    window.show()
    qtbot.waitExposed(window)
    window.refresh()

    def beat(**span: float) -> None:
        clock.go(**span)
        window._on_beat()
        window.beat.stop()

    yield SimpleNamespace(window=window, session=session, clock=clock, beat=beat, voice=voice, bot=qtbot)
    window.close()
    window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


@pytest.fixture(autouse=True)
def _no_timer_left(request: pytest.FixtureRequest) -> Iterator[None]:
    """Fail a test that leaves a timer of ours running: a countdown that ticks on unseen rings for nobody."""
    yield
    if "qtbot" not in request.fixturenames:
        return
    from PySide6.QtCore import QTimer
    from PySide6.QtWidgets import QApplication

    app = QApplication.instance()
    if app is None:
        return
    owners = [*QApplication.topLevelWidgets(), app]
    running = [t.objectName() or repr(t) for o in owners for t in o.findChildren(QTimer) if t.isActive()]
    assert not running, f"left running: {running}"
