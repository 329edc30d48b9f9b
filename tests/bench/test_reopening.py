"""What a start brings back: the jobs that were open, the theme, the key, and the window within the screen."""

import errno
import os
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from PySide6.QtWidgets import QApplication

from benchtool.app import Folders, build, open_first
from benchtool.session.jobsearch import usual_folders
from benchtool.store import settings


def opened_again(folders: Folders, clock: Any, job: str | None = None) -> list[str]:
    """Start the tool once more over the same folders, and say which jobs it opens, the one in hand last."""
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    window, session = build(app, folders, clock)
    open_first(job, folders, session, window)
    front = session.current
    titles = [d.title for d in sorted(session.documents, key=lambda d: d is front)]
    session.close_all()
    window.deleteLater()
    return titles


def crash(bench: SimpleNamespace) -> None:
    """Let go of the locks as the system does for a process that died; nothing else is told to anybody."""
    for document in bench.session.documents:
        if document.lock is not None:
            document.lock.release()


def test_jobs_that_were_open_come_back_after_a_crash(
    bench: SimpleNamespace, folders: Folders, clock: Any, tmp_path: Path
) -> None:
    bench.session.create(tmp_path / "tank.json", "Tank")
    bench.session.create(tmp_path / "hood.json", "Hood")
    bench.session.pick_document(bench.session.documents[1])
    crash(bench)
    assert opened_again(folders, clock)[-2:] == ["Hood", "Tank"]
    assert opened_again(folders, clock, str(tmp_path / "hood.json")) == ["Hood"]
    assert "Harbour diorama" in opened_again(folders, clock, "demo")[0]


def test_a_demo_beside_a_job_comes_back_while_it_is_of_today(
    bench: SimpleNamespace, folders: Folders, clock: Any, tmp_path: Path
) -> None:
    bench.session.create(tmp_path / "tank.json", "Tank")
    crash(bench)
    assert opened_again(folders, clock) == ["Harbour diorama", "Tank"]


def test_a_demo_of_another_day_does_not_come_back(
    bench: SimpleNamespace, folders: Folders, clock: Any, tmp_path: Path
) -> None:
    bench.session.create(tmp_path / "tank.json", "Tank")
    crash(bench)
    clock.go(hours=9)
    assert opened_again(folders, clock) == ["Tank"]


def test_a_job_that_was_closed_or_moved_away_does_not_come_back(
    bench: SimpleNamespace, folders: Folders, clock: Any, tmp_path: Path
) -> None:
    tank = bench.session.create(tmp_path / "tank.json", "Tank")
    hood = bench.session.create(tmp_path / "hood.json", "Hood")
    bench.session.close(hood)
    crash(bench)
    assert opened_again(folders, clock) == ["Harbour diorama", "Tank"]
    tank.path.unlink()
    assert "Harbour diorama" in opened_again(folders, clock)[0]


def test_the_theme_and_the_key_are_kept_when_they_are_chosen(bench: SimpleNamespace, folders: Folders) -> None:
    bench.window.do("theme")
    assert bench.window.look.choice is not None
    bench.window.take_next_key("F9")
    kept = settings.load(folders.config)
    assert (kept.theme, kept.next_key) == (bench.window.look.choice, "F9")
    assert kept.open == tuple(str(d.path) for d in bench.session.documents)


def test_a_window_larger_than_the_screen_fills_it_instead(bench: SimpleNamespace) -> None:
    window, screen = bench.window, bench.window.screen().availableGeometry()
    window.resize(screen.width() + 100, screen.height() + 100)
    window.put_at(window.place())
    window.come_up()
    assert window.isMaximized() or window.width() <= screen.width()
    window.showNormal()
    window.resize(800, 440)
    window.put_at(window.place())
    window.come_up()
    assert not window.isMaximized()


def test_a_folder_that_may_not_be_looked_into_is_said_and_the_window_opens(
    bench: SimpleNamespace, folders: Folders, clock: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "shut").mkdir()
    tank = bench.session.create(tmp_path / "shut" / "tank.json", "Tank").path
    crash(bench)
    whole = os.stat

    def shut(path: Any, *more: Any, **named: Any) -> os.stat_result:
        if isinstance(path, (str, Path)) and Path(path).is_relative_to(tank.parent) and Path(path) != tank.parent:
            raise PermissionError(errno.EACCES, "Permission denied", str(path))
        return whole(path, *more, **named)

    monkeypatch.setattr(os, "stat", shut)
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    window, session = build(app, folders, clock)
    wrong: list[object] = []
    window.job_fault.connect(wrong.append)
    open_first(None, folders, session, window)
    assert "Tank" not in [d.title for d in session.documents]
    assert len(wrong) == 1
    assert usual_folders(folders.data, (str(tank),))[-1] == tank.parent
    session.close_all()
    window.deleteLater()


def test_a_data_folder_that_may_not_be_looked_at_is_searched_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: Any, **__: Any) -> os.stat_result:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(os, "stat", refuse)
    assert usual_folders(tmp_path, ()) == (tmp_path,)
