"""The stage of earlier trials in the real window, by the keys and fingers of a painter."""

from collections.abc import Callable
from pathlib import Path
from threading import Event
from types import SimpleNamespace

import pytest
from pasttrials_folder import many, shelf, trial_job, written
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton
from trialbuilder import TAPE, graded

from benchtool.bench import trialpast
from benchtool.bench.look import TARGET
from benchtool.bench.trialpast import PastStage
from benchtool.session import pasttrials

CTRL = Qt.KeyboardModifier.ControlModifier
PROMOTED = "Two-part promoter with Rigid activator + Base colour"
Show = Callable[..., PastStage]


@pytest.fixture
def show(bench: SimpleNamespace, tmp_path: Path) -> Show:
    """Close the demo, open this job and show the stage, read to the end."""

    def shown(path: Path | None = None, *, wait: bool = True) -> PastStage:
        for document in list(bench.session.documents):
            bench.session.close(document)
        bench.session.open(path if path is not None else shelf(tmp_path / "jobs"))
        stage = PastStage(bench.window.look, bench.session)
        stage.heard, stage.liked = [], []
        stage.said.connect(stage.heard.append)
        stage.like_asked.connect(stage.liked.append)
        bench.window.pages.addWidget(stage)
        stage.ask(None)
        bench.window.pages.setCurrentWidget(stage)
        stage.setFocus()
        if wait:
            bench.bot.waitUntil(lambda: not stage.steps.busy, timeout=20_000)
        return stage

    return shown


def press(bench: SimpleNamespace, key: Qt.Key, held: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
    QTest.keyClick(bench.window.focusWidget() or bench.window, key, held)


def typed(bench: SimpleNamespace, words: str) -> None:
    QTest.keyClicks(bench.window.focusWidget(), words)


def rows(stage: PastStage) -> list[str]:
    return [stage.list.list.item(i).text() for i in range(stage.list.list.count())]


def test_what_most_strips_stand_behind_comes_first_with_every_grade(show: Show, bench: SimpleNamespace) -> None:
    stage = show()
    assert stage.list.search.edit.hasFocus()
    assert len(rows(stage)) == 12
    assert stage.title.text() == f"{PROMOTED} on ABS"
    assert "held on 3 of 4 strips in 2 trials. Grades: 5, 5, 5, 2." in stage.statements.said[0]
    assert [said.split(":")[0] for said in stage.lots.said] == ["No lot told", "Lot roll 9", "Lot roll 7"]
    assert stage.trials.list.count() == 3
    assert stage.progress.text() == "6 trials found. 6 job files looked at."


def test_letters_are_typed_and_narrow_the_list(show: Show, bench: SimpleNamespace) -> None:
    stage = show()
    typed(bench, "substrate:abs product:promoter sxudmp")
    assert stage.list.search.text() == "substrate:abs product:promoter sxudmp"
    assert rows(stage) == []
    assert not stage.empty.isHidden()
    assert "Search for less" in stage.empty.text()
    assert not stage.show_it.isEnabled()
    for _ in range(7):
        press(bench, Qt.Key.Key_Backspace)
    assert len(rows(stage)) == 4
    assert stage.empty.isHidden()
    assert "substrate abs, product promoter: 4 shown" in stage.list.search.told.text()


def test_arrows_in_the_field_move_over_the_list(show: Show, bench: SimpleNamespace) -> None:
    stage = show()
    layer = bench.session.layer_id
    press(bench, Qt.Key.Key_Down)
    assert stage.title.text().startswith("One-part promoter")
    press(bench, Qt.Key.Key_PageDown)
    press(bench, Qt.Key.Key_PageDown)
    press(bench, Qt.Key.Key_PageDown)
    assert stage.list.list.currentRow() == 11
    press(bench, Qt.Key.Key_PageUp)
    assert stage.list.list.currentRow() < 11
    assert bench.session.layer_id == layer


def test_enter_goes_to_the_trials_and_then_shows_one_and_esc_comes_back(show: Show, bench: SimpleNamespace) -> None:
    stage = show()
    press(bench, Qt.Key.Key_Return)
    assert stage.trials.list.hasFocus()
    assert stage.pages.currentWidget() is stage.main
    press(bench, Qt.Key.Key_Down)
    press(bench, Qt.Key.Key_Return)
    assert stage.pages.currentWidget() is stage.reader
    assert stage.reader.text.toPlainText().startswith("Trial: Mirror trial\n")
    assert stage.reader.title.text() == "Mirror trial, in Mirror cap"
    press(bench, Qt.Key.Key_Escape)
    assert stage.pages.currentWidget() is stage.main
    assert bench.window.pages.currentWidget() is stage
    assert stage.trials.list.hasFocus()
    assert stage.trials.list.currentRow() == 1


def test_enter_shows_the_only_trial_at_once(show: Show, bench: SimpleNamespace) -> None:
    stage = show()
    typed(bench, "camera")
    press(bench, Qt.Key.Key_Return)
    assert stage.pages.currentWidget() is stage.reader


def test_enter_on_the_list_goes_no_further_than_to_the_trials(show: Show, bench: SimpleNamespace) -> None:
    stage = show()
    stage.list.list.setFocus()
    press(bench, Qt.Key.Key_Return)
    assert stage.trials.list.hasFocus()
    assert stage.pages.currentWidget() is stage.main


def test_a_finger_does_the_same(show: Show, bench: SimpleNamespace) -> None:
    stage = show()
    spot = stage.list.list.visualItemRect(stage.list.list.item(1)).center()
    QTest.mouseClick(stage.list.list.viewport(), Qt.MouseButton.LeftButton, pos=spot)
    assert stage.title.text().startswith("One-part promoter")
    QTest.mouseClick(stage.show_it, Qt.MouseButton.LeftButton, pos=QPoint(9, 9))
    assert stage.pages.currentWidget() is stage.reader
    QTest.mouseClick(stage.back, Qt.MouseButton.LeftButton, pos=QPoint(9, 9))
    assert stage.pages.currentWidget() is stage.main


def test_its_systems_are_handed_on_for_a_new_trial(show: Show, bench: SimpleNamespace) -> None:
    stage = show()
    press(bench, Qt.Key.Key_Return, CTRL)
    ((systems),) = stage.liked
    assert [(name, control) for name, control, _ in systems] == [
        ("Two-part", False), ("One-part", False), ("None", True),
    ]  # fmt: skip
    from benchtool.bench.trialsetup import SetupStage

    setup = SetupStage(bench.window.look, bench.session)
    bench.bot.addWidget(setup)
    setup.take_like(systems)
    assert setup.setup is not None
    assert [c.name for c in setup.setup.systems] == ["Two-part", "One-part", "None"]


def test_a_trial_that_went_is_said(show: Show, bench: SimpleNamespace) -> None:
    stage = show()
    typed(bench, "camera")
    assert stage.trial is not None
    stage.trial.path.unlink()
    press(bench, Qt.Key.Key_Return)
    press(bench, Qt.Key.Key_Return, CTRL)
    assert len(stage.heard) == 2
    assert all("no such file" in said for said in stage.heard)
    assert stage.liked == []


def test_the_trials_of_the_open_job_are_there_before_any_file_is_read(
    show: Show, bench: SimpleNamespace, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    gate, real = Event(), pasttrials.read_trials
    monkeypatch.setattr(pasttrials, "read_trials", lambda path: gate.wait(20) and real(path))
    try:
        stage = show(wait=False)
        assert len(rows(stage)) == 3
        assert stage.stop.text() == "Stop reading"
        bench.bot.waitUntil(lambda: "Read " in stage.progress.text(), timeout=10_000)
        press(bench, Qt.Key.Key_F5)
        assert not stage.steps.busy
        assert "Stopped:" in stage.progress.text()
        assert stage.stop.text() == "Read again"
    finally:
        gate.set()
    press(bench, Qt.Key.Key_F5)
    bench.bot.waitUntil(lambda: not stage.steps.busy, timeout=20_000)
    assert len(rows(stage)) == 12
    assert stage.stop.text() == "Read again"


def test_typing_and_what_is_in_hand_outlast_the_reading(
    show: Show, bench: SimpleNamespace, monkeypatch: pytest.MonkeyPatch
) -> None:
    gate, real = Event(), pasttrials.read_trials
    monkeypatch.setattr(pasttrials, "read_trials", lambda path: gate.wait(20) and real(path))
    try:
        stage = show(wait=False)
        typed(bench, "abs")
        press(bench, Qt.Key.Key_Down)
        held = stage.title.text()
    finally:
        gate.set()
    bench.bot.waitUntil(lambda: not stage.steps.busy, timeout=20_000)
    assert stage.list.search.text() == "abs"
    assert stage.title.text() == held
    assert stage.list.search.edit.hasFocus()


def test_leaving_the_stage_stops_the_reading_and_coming_back_goes_on(
    show: Show, bench: SimpleNamespace, monkeypatch: pytest.MonkeyPatch
) -> None:
    gate, real = Event(), pasttrials.read_trials
    monkeypatch.setattr(pasttrials, "read_trials", lambda path: gate.wait(20) and real(path))
    try:
        stage = show(wait=False)
        assert stage.steps.busy
        bench.window.pages.setCurrentIndex(0)
        assert not stage.steps.busy
    finally:
        gate.set()
    bench.window.pages.setCurrentWidget(stage)
    bench.bot.waitUntil(lambda: not stage.steps.busy, timeout=20_000)
    assert len(rows(stage)) == 12


def test_files_that_cant_be_read_are_told_in_one_line_with_their_place(
    show: Show, bench: SimpleNamespace, tmp_path: Path
) -> None:
    first = shelf(tmp_path / "jobs")
    (first.parent / "torn.json").write_bytes(first.read_bytes()[:6_000])
    stage = show(first)
    assert not stage.faults.isHidden()
    assert stage.faults.text().startswith("torn.json: ")
    assert "line" in stage.faults.text()
    assert str(first.parent) in stage.faults.toolTip()
    assert len(rows(stage)) == 12


def test_a_job_without_trials_says_how_to_come_to_one(show: Show, bench: SimpleNamespace, tmp_path: Path) -> None:
    path = list(many(tmp_path / "plain", 2, with_trial=2))[1]
    (tmp_path / "plain" / "job-0000.json").unlink()
    stage = show(path)
    assert rows(stage) == []
    assert "No trial of strips was found" in stage.empty.text()
    assert stage.side.isHidden()
    press(bench, Qt.Key.Key_Return)
    press(bench, Qt.Key.Key_Return, CTRL)
    assert stage.heard == stage.liked == []


def test_an_act_in_the_open_job_is_followed(show: Show, bench: SimpleNamespace, tmp_path: Path) -> None:
    stage = show(written(tmp_path / "one", "job", graded(trial_job(), "t1-1", TAPE, "0")))
    assert "held on 0 of 1 strip in 1 trial. Grades: 0." in stage.statements.said[0]
    bench.session.undo()
    stage.refresh(bench.session.now())
    assert "held on 1 of 1 strip in 1 trial. Grades: 5." in stage.statements.said[0]


def test_more_than_can_be_listed_is_said(show: Show, bench: SimpleNamespace, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(trialpast, "MOST_ROWS", 5)
    stage = show()
    assert len(rows(stage)) == 5
    assert "5 of 12 shown: search for less" in stage.list.search.told.text()


def test_text_of_a_file_is_never_markup(show: Show, bench: SimpleNamespace, tmp_path: Path) -> None:
    stage = show(written(tmp_path / "odd", "job", trial_job("<b>Bold</b> <img src=x>", name="<h1>Big</h1>")))
    assert "<b>Bold</b>" in stage.trials.list.item(0).text()
    press(bench, Qt.Key.Key_Return)
    assert stage.reader.text.toPlainText().startswith("Trial: <h1>Big</h1>")
    assert stage.reader.title.textFormat() is Qt.TextFormat.PlainText


def test_every_target_is_large_enough(show: Show, bench: SimpleNamespace) -> None:
    stage = show()
    seen = [b for b in stage.findChildren(QAbstractButton) if b.isVisible()]
    assert len(seen) >= 3
    assert all(min(b.width(), b.height()) >= TARGET for b in seen)
    assert stage.list.list.visualItemRect(stage.list.list.item(0)).height() >= TARGET
