"""The page of trials in the real window: how it is reached, its stages, and the chip of a trial among the pieces."""

from functools import partial
from pathlib import Path
from types import SimpleNamespace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QWidget

from benchtool.job import events as ev
from benchtool.session.demo import TRIAL_DEMO, new_demo

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
