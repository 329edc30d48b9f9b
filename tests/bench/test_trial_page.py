"""The page of trials in the real window: how it is reached, its stages, and the chip of a trial among the pieces."""

import dataclasses
from functools import partial
from pathlib import Path
from types import SimpleNamespace

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QWidget
from trialbuilder import ran

from benchtool.job import events as ev
from benchtool.session.demo import TRIAL_DEMO, new_demo
from benchtool.session.trialsetup import Ready, offers
from benchtool.store import jobfile

SHIFT = Qt.KeyboardModifier.ShiftModifier


@pytest.fixture
def trial_bench(bench: SimpleNamespace, tmp_path: Path) -> SimpleNamespace:
    """The window on the demo of a trial."""
    bench.session.open(new_demo(tmp_path / "trials", bench.clock.now(), TRIAL_DEMO))
    bench.window.refresh()
    return bench


def press(bench: SimpleNamespace, key: Qt.Key, *held: Qt.KeyboardModifier) -> None:
    target: QWidget = bench.window.focusWidget() or bench.window
    QTest.keyClick(target, key, *held)


def page(bench: SimpleNamespace):
    return bench.window.pages.trial


def test_a_trial_stands_among_the_pieces_and_its_strips_do_not(trial_bench: SimpleNamespace) -> None:
    assert trial_bench.window.header.places() == [("shell", None), ("", "t1")]


def test_the_digit_of_a_trial_shows_it_and_esc_comes_back(trial_bench: SimpleNamespace) -> None:
    press(trial_bench, Qt.Key.Key_2)
    assert trial_bench.window.pages.currentWidget() is page(trial_bench)
    assert (page(trial_bench).trial_id, page(trial_bench).stage) == ("t1", "run")
    press(trial_bench, Qt.Key.Key_Escape)
    assert trial_bench.window.pages.on_bench


def test_on_the_page_digits_are_its_stages_and_no_piece_is_taken_in_hand(trial_bench: SimpleNamespace) -> None:
    press(trial_bench, Qt.Key.Key_T, SHIFT)
    in_hand = trial_bench.session.piece_id
    for digit, stage in ((4, "compare"), (3, "grade"), (2, "run"), (4, "compare")):
        trial_bench.window._pick_piece(digit)
        assert page(trial_bench).stage == stage
    assert trial_bench.session.piece_id == in_hand
    assert not trial_bench.window.pages.on_bench


@pytest.fixture
def untested(bench: SimpleNamespace, tmp_path: Path) -> SimpleNamespace:
    """The page of a trial of three strips that have rested and are not tested, at its stage of grading."""
    made = ran()
    jobfile.save(tmp_path / "untested.json", made.job)
    bench.clock.at = made.now
    bench.session.open(tmp_path / "untested.json")
    bench.window.refresh()
    bench.window.pages.show_trial("t1")
    page(bench).show_stage("grade")
    return bench


def test_the_row_of_stages_counts_a_strip_as_done_when_all_its_tests_are(untested: SimpleNamespace) -> None:
    trial, grade = page(untested).trial, page(untested).stage_buttons["grade"]
    for n, method in enumerate(trial.plan.methods, start=1):
        for strip in trial.plan.strips:
            untested.session.apply(partial(ev.Graded, trial="t1", strip=strip.piece, method=method, grade="5"))
        untested.window.refresh()
        assert grade.words == ("3 of 3 done" if n == len(trial.plan.methods) else "0 of 3 done")


def test_in_a_field_the_stages_show_ctrl_with_their_digit_and_are_reached_by_it(untested: SimpleNamespace) -> None:
    stages = page(untested)
    assert stages.grade.form.grade.edit.hasFocus()
    assert [b.key for b in stages.stage_buttons.values()] == [f"Ctrl+{n}" for n in range(1, 6)]
    assert "4" not in stages.grade.side.go_on.key
    press(untested, Qt.Key.Key_4)
    assert (stages.stage, stages.grade.form.grade.text()) == ("grade", "4")
    press(untested, Qt.Key.Key_4, Qt.KeyboardModifier.ControlModifier)
    assert stages.stage == "compare"
    assert [b.key for b in stages.stage_buttons.values()] == ["1", "2", "3", "4", "5"]
    press(untested, Qt.Key.Key_3)
    assert stages.stage == "grade"


def test_a_digit_after_a_tap_on_a_cell_is_a_grade(untested: SimpleNamespace) -> None:
    stages = page(untested)
    stages.setup  # noqa: B018
    grid = stages.grade.grid
    stages.back.setFocus()
    box = grid.visualRect(grid.grid.index(2, 1)).center()
    QTest.mouseClick(grid.viewport(), Qt.MouseButton.LeftButton, pos=box)
    press(untested, Qt.Key.Key_1)
    assert (stages.stage, stages.grade.form.grade.text()) == ("grade", "1")


def test_the_digit_of_the_stage_that_is_seen_turns_nothing(trial_bench: SimpleNamespace) -> None:
    press(trial_bench, Qt.Key.Key_T, SHIFT)
    page(trial_bench).show_stage("grade")
    grade = page(trial_bench).grade
    grade.turn_to(dataclasses.replace(grade.spot, strip="strip3"))
    before = grade.spot
    page(trial_bench).take_digit(3)
    assert grade.spot == before


def test_t_offers_a_trial_of_several_strips_beside_the_quick_log(trial_bench: SimpleNamespace) -> None:
    press(trial_bench, Qt.Key.Key_T)
    press(trial_bench, Qt.Key.Key_3)
    assert trial_bench.window.pages.currentWidget() is page(trial_bench)
    assert not trial_bench.window.doing.asking


def test_where_no_trial_is_yet_it_begins_with_the_setting_up(bench: SimpleNamespace) -> None:
    press(bench, Qt.Key.Key_T, SHIFT)
    assert page(bench).stage == "setup"
    assert page(bench).trial is None


def test_a_trial_put_away_leaves_the_row_of_pieces_and_nothing_of_it_is_waited_for(
    trial_bench: SimpleNamespace,
) -> None:
    assert {w.piece for w in trial_bench.session.current.windows}
    trial_bench.session.apply(partial(ev.TrialEnded, trial="t1"))
    trial_bench.window.refresh()
    assert trial_bench.window.header.places() == [("shell", None)]
    assert not trial_bench.session.current.windows
    press(trial_bench, Qt.Key.Key_T, SHIFT)
    assert page(trial_bench).stage == "compare"
    assert "put away" in page(trial_bench).about.text()


def test_with_nothing_painted_the_first_piece_that_is_no_strip_is_in_hand(trial_bench: SimpleNamespace) -> None:
    assert trial_bench.session.piece_id == "shell"
    trial_bench.session.pick("strip2")
    assert trial_bench.session.piece is not None
    assert trial_bench.session.piece.piece.strip_of == "t1"
    trial_bench.window.refresh()
    assert trial_bench.window.header._chips["trial:t1"].isChecked()


def test_from_a_half_typed_trial_the_cards_are_opened_and_it_is_come_back_to(trial_bench: SimpleNamespace) -> None:
    """Esc leaves the cards for the trial; else they are left for the bench."""
    pages = trial_bench.window.pages
    pages.show_trial()
    page(trial_bench).new_trial()
    stage = page(trial_bench).setup
    empty = next(o for o in offers(trial_bench.session, stage.setup) if o.kind is Ready.EMPTY)
    stage._want(empty)
    stage.editor.open_cards.click()
    assert pages.currentWidget() is pages.library
    pages.library.left.emit()
    assert pages.currentWidget() is page(trial_bench)
    assert stage.pages.currentWidget() is stage.editor
    stage.editor.picker.new_card.click()
    assert pages.currentWidget() is pages.plan
    made = replace(next(iter(trial_bench.session.current.state.cards.values())), id="made-here", name="Made here")
    pages.plan.card_kept.emit(made)
    assert pages.currentWidget() is page(trial_bench)
    assert [r.card.name for r in stage.setup.systems[-1].rows] == ["Made here"]
    pages.open("library")
    pages.library.left.emit()
    assert pages.on_bench
