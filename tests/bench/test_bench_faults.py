"""Files that can't be read, disks that can't be written: said in the window, which goes on working."""

import errno
from datetime import timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QApplication
from pytestqt.qtbot import QtBot

from benchtool.store import jobfile
from benchtool.store.faults import cant_save


def press(bench: SimpleNamespace, key: Qt.Key) -> None:
    bench.bot.keyClick(bench.window.focusWidget() or bench.window, key)


def jobs(bench: SimpleNamespace) -> object:
    from benchtool.bench.jobs import Jobs

    found = bench.window.findChild(Jobs)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "empty"),
        (b"{", "line 1"),
        (b"\xff\xfe", ""),
        (b"[]", ""),
        (b'{"format": "bench job", "schema": 1, "id": "x", "created": 3}', "$.created"),
    ],
)
def test_a_bad_file_is_told_and_the_bench_goes_on(
    bench: SimpleNamespace, tmp_path: Path, content: bytes, told: str
) -> None:
    path = tmp_path / "broken.json"
    path.write_bytes(content)
    before = bench.session.current
    jobs(bench).open(path)  # type: ignore[attr-defined]
    strip = bench.window.doing.pick
    assert strip.isVisible()
    assert "broken.json" in strip.question.text()
    assert told in strip.question.text()
    assert path.read_bytes() == content
    assert bench.session.current is before
    press(bench, Qt.Key.Key_Escape)
    assert strip.isHidden()
    press(bench, Qt.Key.Key_3)
    assert bench.session.piece_id == "trim"


def test_the_last_good_version_is_offered(bench: SimpleNamespace) -> None:
    path = bench.session.current.path
    press(bench, Qt.Key.Key_3)
    for _ in range(2):
        press(bench, Qt.Key.Key_P)
        press(bench, Qt.Key.Key_3)
    bench.session.close(bench.session.current)
    path.write_bytes(path.read_bytes()[:-200])
    spoiled = path.read_bytes()
    jobs(bench).open(path)  # type: ignore[attr-defined]
    [first] = [b for b in bench.window.findChildren(QAbstractButton, "pick-1") if b.isVisible()]
    assert "last good version" in first.text()
    first.click()
    assert bench.session.current.title == "Harbour diorama"
    assert "earlier version" in bench.session.current.read_only
    press(bench, Qt.Key.Key_J)
    offered = [b.text() for b in bench.window.findChildren(QAbstractButton) if b.isVisible()]
    assert "Save a copy" in offered
    assert path.read_bytes() == spoiled


def test_a_full_disk_is_said_and_every_act_kept(bench: SimpleNamespace, full_disk: Any) -> None:
    press(bench, Qt.Key.Key_3)
    with full_disk():
        press(bench, Qt.Key.Key_P)
        press(bench, Qt.Key.Key_3)
        assert "Not saved" in bench.window.status.saved.text()
        assert "full" in bench.window.status.saved.text()
    bench.beat(seconds=20)
    assert bench.window.status.saved.text() == "Every act is saved"
    assert jobfile.load(bench.session.current.path).job == bench.session.current.job


def test_a_job_without_anything_says_what_to_do(bench: SimpleNamespace, tmp_path: Path) -> None:
    bench.session.create(tmp_path / "new-job.json", "New job")
    bench.window.refresh()
    assert "A" in bench.window.stack.empty.text()
    bench.session.close_all()
    bench.window.refresh()
    assert "press J or N" in bench.window.stack.empty.text()
    for key in (Qt.Key.Key_S, Qt.Key.Key_D, Qt.Key.Key_M, Qt.Key.Key_P, Qt.Key.Key_R, Qt.Key.Key_T, Qt.Key.Key_U):
        bench.window.say("")
        press(bench, key)
        assert bench.window.status.said.text(), key


def test_labels_from_a_file_are_text(bench: SimpleNamespace) -> None:
    from functools import partial

    from benchtool.job import events as ev

    bench.session.apply(partial(ev.JobDescribed, title="<h1>Big</h1><img src=x>", customer="<b>x</b>"))
    assert bench.window.header.title.textFormat() == Qt.TextFormat.PlainText
    assert bench.window.header.title.text().startswith("<h1>")


def test_leaving_with_something_unsaved_asks_first(bench: SimpleNamespace, full_disk: Any) -> None:
    press(bench, Qt.Key.Key_3)
    with full_disk():
        press(bench, Qt.Key.Key_P)
        press(bench, Qt.Key.Key_3)
        bench.window.close()
        assert bench.window.isVisible()
        assert "full" in bench.window.doing.pick.question.text()
    bench.window.close()
    assert not bench.window.isVisible()


def _answers(bench: SimpleNamespace) -> list[QAbstractButton]:
    strip = bench.window.doing.pick
    return [b for b in strip.findChildren(QAbstractButton) if b.isVisible() and b.objectName() != "pick-leave"]


def test_a_clock_that_was_set_is_asked_about_once_and_no_wait_moves(bench: SimpleNamespace, qtbot: QtBot) -> None:
    def left() -> list[float | None]:
        return [w.span.remaining_s(bench.clock.now()) for w in bench.session.current.windows]

    before = left()
    bench.clock.step = timedelta(hours=1)
    bench.beat(seconds=0)
    assert "set forward 60 min" in bench.window.status.saved.text()
    assert "Which time is right?" in bench.window.doing.pick.question.text()
    asked = _answers(bench)
    assert not any(b.isEnabled() for b in asked)  # a key on its way is no answer
    qtbot.waitUntil(lambda: all(b.isEnabled() for b in asked), timeout=5_000)
    [follow] = [b for b in asked if "laptop" in b.text()]
    at = bench.clock.now()
    follow.click()
    assert bench.clock.now() - at == timedelta(hours=1)
    assert left() == pytest.approx(before, abs=1e-3)
    bench.beat(seconds=0)
    assert bench.window.doing.pick.isHidden()
    assert "Every act" in bench.window.status.saved.text() or "demo" in bench.window.status.saved.text().lower()


def test_a_question_about_the_clock_outlives_other_acts_until_it_is_put_away(bench: SimpleNamespace) -> None:
    bench.clock.step = timedelta(hours=-1)
    bench.beat(seconds=0)
    clock, pick = bench.window.doing.clock, bench.window.doing.pick
    assert pick.asks(clock)
    press(bench, Qt.Key.Key_R)
    assert not pick.asks(clock)
    press(bench, Qt.Key.Key_Escape)
    bench.beat(seconds=0)
    assert pick.asks(clock)
    pick.leave()
    bench.beat(seconds=0)
    assert not pick.asks(clock)
    press(bench, Qt.Key.Key_J)
    [again] = [b for b in _answers(bench) if "time is wrong" in b.text()]
    again.click()
    assert pick.asks(clock)


def test_a_fault_in_one_beat_does_not_stop_the_next(bench: SimpleNamespace, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken() -> None:
        raise RuntimeError("something went wrong")

    monkeypatch.setattr(bench.session, "tick", broken)
    with pytest.raises(RuntimeError):
        bench.window._on_beat()
    assert bench.window.beat.isActive()
    bench.window.beat.stop()


@pytest.mark.parametrize("fault", [ImportError("No module named 'x'"), NameError("name 'y'"), OSError(13, "Denied")])
@pytest.mark.parametrize(
    ("what", "maker", "told"),
    [("rules", "benchtool.bench.pages.Pages.open", "This page can't be opened"),
     ("copy", "benchtool.bench.window.BenchWindow._copy", "That could not be done")],
)  # fmt: skip
def test_whatever_goes_wrong_with_a_key_is_said_and_logged(
    bench: SimpleNamespace,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
    what: str,
    maker: str,
    told: str,
    fault: Exception,
) -> None:
    def fail(*_: object) -> None:
        raise fault

    monkeypatch.setattr(maker, fail)
    bench.window.do(what)
    text = getattr(fault, "strerror", None) or str(fault)
    assert bench.window.status.said.text() == f"{told}: {text}. The log says more."
    assert caplog.records[-1].exc_info is not None
    assert bench.window.pages.on_bench
    bench.window.do("help")
    assert bench.window.pages.currentWidget() is bench.window.pages.help


@pytest.mark.parametrize("width", [900, 1280, 1920])
def test_what_is_wrong_with_the_file_is_read_to_its_end(bench: SimpleNamespace, width: int) -> None:
    window, status = bench.window, bench.window.status
    window.resize(width, 720)
    window.refresh()
    assert status.whole.isHidden()
    assert status.saved.isVisible()
    fault = OSError(errno.EACCES, "Permission denied")
    bench.session.current.unsaved = cant_save(Path("x"), fault).message
    window.refresh()
    QApplication.processEvents()
    shown = status.whole if status.whole.isVisible() else status.saved
    assert shown.text().startswith("Not saved.")
    assert shown.wordWrap() or shown.fontMetrics().horizontalAdvance(shown.text()) <= shown.width()
    assert shown.height() >= shown.heightForWidth(shown.width())
    assert "have its rights changed" in status.saved.toolTip()
    bench.session.current.unsaved = ""
    window.refresh()
    assert status.whole.isHidden()
    assert status.saved.isVisible()
