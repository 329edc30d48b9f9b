"""The stage that compares, by the keys and fingers of a painter; and the layout of its table and plot."""

from collections.abc import Callable
from datetime import timedelta
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace

import pytest
from compared_trials import CLEAR, NONE, ONE_PART, TWO_PART, begun, graded, plan_of, shell, worn
from hypothesis import given, settings
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QBoxLayout

from benchtool.bench.look import TARGET
from benchtool.bench.trialcompare import CompareStage
from benchtool.bench.trialplot import Sizes, lay_out
from benchtool.job import events as ev
from benchtool.session.trialcompare import Column, Dot, Lane, Picture
from benchtool.session.trialcounting import Ranker
from benchtool.store import jobfile

Method = ev.Method
Show = Callable[..., CompareStage]


@pytest.fixture
def show(bench: SimpleNamespace, tmp_path: Path) -> Show:
    """Open a job in the real window and show its trial in the stage."""

    def shown(b, trial: str | None = "t1", most_steps: int = 100_000) -> CompareStage:
        path = tmp_path / "job.json"
        jobfile.save(path, b.job)
        bench.session.open(path)
        stage = CompareStage(bench.window.look, bench.session)
        stage._ranker = Ranker(most_steps=most_steps)
        stage.heard = []
        stage.said.connect(stage.heard.append)
        stage.went = []
        stage.stage_asked.connect(stage.went.append)
        bench.window.pages.addWidget(stage)
        bench.window.pages.setCurrentWidget(stage)
        stage.ask(trial)
        stage.setFocus()
        stage._ranker.wait()
        return stage

    return shown


def press(bench: SimpleNamespace, key: Qt.Key, held: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
    QTest.keyClick(bench.window.focusWidget() or bench.window, key, held)


def test_the_answer_comes_first_and_the_best_is_in_hand(show: Show) -> None:
    stage = show(shell()[0])
    order = stage.title.text()
    places = [order.index(name) for name in (TWO_PART, CLEAR, ONE_PART, NONE)]
    assert places == sorted(places)
    assert any("proves none" in said for said in stage.answer.said)
    assert any("no proof that no promoter is needed" in said for said in stage.answer.said)
    assert stage.go.text() == f"Choose {TWO_PART} for Shell"
    assert stage.table.hasFocus()


def test_arrows_move_over_the_systems_and_not_over_the_layers_of_the_bench(show: Show, bench: SimpleNamespace) -> None:
    stage = show(shell()[0])
    layer = bench.session.layer_id
    press(bench, Qt.Key.Key_Down)
    press(bench, Qt.Key.Key_Down)
    assert (stage.table.chosen, stage.plot.chosen) == (2, 2)
    assert stage.go.text() == f"Choose {ONE_PART} for Shell"
    press(bench, Qt.Key.Key_Up)
    assert stage.table.chosen == 1
    press(bench, Qt.Key.Key_End)
    assert stage.table.chosen == 3
    press(bench, Qt.Key.Key_Down)
    assert stage.table.chosen == 3
    press(bench, Qt.Key.Key_Home)
    assert stage.table.chosen == 0
    assert bench.session.layer_id == layer


def test_enter_chooses_the_one_in_hand_and_says_what_it_proves(show: Show, bench: SimpleNamespace) -> None:
    stage = show(shell()[0])
    press(bench, Qt.Key.Key_Down)
    press(bench, Qt.Key.Key_Return)
    trial = bench.session.current.state.trials["t1"]
    assert [(c.system, c.piece) for c in trial.chosen] == [("sys3", "shell")]
    assert CLEAR in stage.told.text()
    assert "The trial speaks for Shell" in stage.told.text()
    assert stage.heard[-1] == stage.told.text()
    press(bench, Qt.Key.Key_Return)
    assert "already" in stage.heard[-1]
    assert len(bench.session.current.state.trials["t1"].chosen) == 1
    assert stage.table.chosen == 1


def test_the_button_says_what_is_chosen_and_another_can_be_taken_instead(show: Show, bench: SimpleNamespace) -> None:
    stage = show(shell()[0])
    assert stage.go.primary
    press(bench, Qt.Key.Key_Return)
    assert (stage.go.text(), stage.go.primary) == (f"{TWO_PART} is chosen for Shell", False)
    assert stage.view.rows[0].remark == "chosen for Shell"
    press(bench, Qt.Key.Key_Down)
    assert (stage.go.text(), stage.go.primary) == (f"Choose {CLEAR} for Shell", True)
    press(bench, Qt.Key.Key_Return)
    assert stage.go.text() == f"{CLEAR} is chosen for Shell"
    assert [row.remark for row in stage.view.rows] == ["", "chosen for Shell", "", "control"]


def test_where_there_is_little_height_the_acts_roll_with_the_table(show: Show, bench: SimpleNamespace) -> None:
    stage = show(shell()[0])
    assert stage.foot.parentWidget() is stage
    stage.resize(853, 262)
    assert stage.left_side.isAncestorOf(stage.go)
    stage.layout().activate()
    assert stage.area.height() > 230
    assert stage.go.isVisible()
    stage.ask("none")  # without a table they stand below the words
    assert stage.go.isVisible()
    stage.ask("t1")
    stage.resize(1280, 640)
    assert stage.foot.parentWidget() is stage


def test_each_column_says_which_end_of_its_scale_is_best(show: Show) -> None:
    plan = plan_of((TWO_PART, NONE), 1, control=NONE, methods=(Method.ISO_2409, Method.STICK))
    b = graded(begun(plan), plan, {n: {Method.ISO_2409: "0", Method.STICK: "5"} for n in (TWO_PART, NONE)})
    assert [head.best for head in show(b).table.tests] == ["0 is best", "5 is best"]


def test_it_asks_once_which_piece_where_that_is_not_clear(show: Show, bench: SimpleNamespace) -> None:
    plan = plan_of((TWO_PART, NONE), 1, control=NONE)
    b = graded(begun(plan), plan, {TWO_PART: {Method.STICK: "5"}, NONE: {Method.STICK: "0"}})
    stage = show(b.piece("lid", "pp").piece("cap", "pp"))
    press(bench, Qt.Key.Key_Return)
    assert stage.asks.isVisible()
    assert [button.text() for button in stage.asks.buttons.values()] == ["Shell", "Lid", "Cap"]
    bench.bot.waitUntil(lambda: stage.asks.buttons["shell"].hasFocus())
    press(bench, Qt.Key.Key_Escape)
    assert stage.asks.isHidden()
    assert stage.isVisible()  # Esc left the question and not the page
    press(bench, Qt.Key.Key_Return)
    bench.bot.waitUntil(lambda: stage.asks.buttons["shell"].hasFocus())
    QTest.mouseClick(stage.asks.buttons["cap"], Qt.MouseButton.LeftButton)
    assert stage.asks.isHidden()
    assert bench.session.current.state.trials["t1"].chosen[-1].piece == "cap"


def test_a_piece_with_paint_on_is_told_and_nothing_changes(show: Show, bench: SimpleNamespace) -> None:
    b, _ = shell()
    b.coat("shell-promoter", mix=None)
    stage = show(b)
    before = bench.session.current.job
    press(bench, Qt.Key.Key_Return)
    assert "has paint on" in stage.heard[-1]
    assert bench.session.current.job is before


def test_the_strips_are_put_away_once(show: Show, bench: SimpleNamespace) -> None:
    stage = show(shell()[0])
    QTest.mouseClick(stage.away, Qt.MouseButton.LeftButton)
    assert bench.session.current.state.trials["t1"].ended_at is not None
    assert stage.away.isHidden()
    bench.session.undo()
    stage.refresh(bench.session.now())
    assert stage.away.isVisible()


def test_ctrl_c_copies_the_trial_and_not_the_state_of_the_job(show: Show, bench: SimpleNamespace) -> None:
    show(shell()[0])
    press(bench, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    assert QGuiApplication.clipboard().text().startswith("Trial: Clear shell")
    press(bench, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier)
    lines = QGuiApplication.clipboard().text().splitlines()
    assert lines[0].startswith("place\tsystem")
    assert len(lines) == 1 + 4 * 3


def test_without_a_grade_it_says_what_is_to_grade_and_enter_goes_there(show: Show, bench: SimpleNamespace) -> None:
    stage = show(begun(plan_of((TWO_PART, NONE), 3, control=NONE)))
    assert stage.title.text() == "Nothing is graded yet."
    assert stage.left.text() == "18 grades are still to come: every test on every strip."
    assert stage.table.isHidden() or not stage.left_side.isVisible()
    press(bench, Qt.Key.Key_Return)
    assert stage.went == ["grade"]


def test_without_a_trial_enter_goes_to_the_set_up(show: Show, bench: SimpleNamespace) -> None:
    stage = show(begun(plan_of((TWO_PART, NONE))), None)
    assert stage.title.text() == "There is no trial in this job yet."
    assert stage.copy.isHidden()
    press(bench, Qt.Key.Key_Return)
    assert stage.went == ["setup"]


def test_a_new_grade_is_shown_at_the_next_beat_and_the_same_system_stays_in_hand(
    show: Show, bench: SimpleNamespace
) -> None:
    from functools import partial

    stage = show(shell()[0])
    press(bench, Qt.Key.Key_End)
    assert stage.view is not None
    assert stage.view.rows[stage.table.chosen].name == NONE
    drafts = [partial(ev.Graded, trial="t1", strip="s1-0", method=m, grade="5") for m in (Method.STICK, Method.NAIL)]
    bench.session.apply(*drafts)
    stage.refresh(bench.session.now())
    assert stage.view.rows[0].name == NONE  # the control is the best now
    assert stage.table.chosen == 0
    assert "no promoter is needed" in " ".join(stage.answer.said)


def test_a_beat_without_a_change_works_nothing_out_anew(show: Show, bench: SimpleNamespace) -> None:
    stage = show(shell()[0])
    before = stage.view
    stage.refresh(bench.session.now() + timedelta(seconds=1))
    assert stage.view is before


def test_a_click_takes_a_system_in_hand_in_table_and_plot(show: Show, bench: SimpleNamespace) -> None:
    stage = show(shell()[0])
    row = stage.table.laid.bands[0].rows[2].center().toPoint()
    QTest.mouseClick(stage.table, Qt.MouseButton.LeftButton, pos=row)
    assert stage.table.chosen == stage.plot.chosen == 2
    column = stage.plot.placed.columns[3].center().toPoint()
    QTest.mouseClick(stage.plot, Qt.MouseButton.LeftButton, pos=QPoint(column.x(), 40))
    assert stage.table.chosen == stage.plot.chosen == 3


@pytest.mark.parametrize("size", [(853, 480), (1280, 720), (1920, 1080)])
def test_the_ugly_one_is_laid_out_without_anything_over_another(
    show: Show, bench: SimpleNamespace, size: tuple[int, int]
) -> None:
    bench.window.resize(*size)
    stage = show(worn(12, 4)[0], most_steps=1_000)
    bench.bot.wait(1)
    table = stage.table
    cells = [c.box for c in table.laid.cells]
    assert len(cells) == 12 * 9
    for i, one in enumerate(cells):
        assert one.right() <= table.width() + 1
        assert not any(one.adjusted(1, 1, -1, -1).intersects(other) for other in cells[i + 1 :])
    assert all(box.height() >= TARGET for band in table.laid.bands for box in band.rows)
    shown = sorted((m.number, cell.test) for cell in table.laid.cells for line in cell.lines for m in line)
    assert shown == sorted((n, t) for n in range(1, 49) for t in range(9))
    assert stage.plot.placed.columns[-1].right() <= stage.plot.width() + 1
    assert stage.area.horizontalScrollBar().maximum() == 0 or not stage.area.horizontalScrollBar().isVisible()
    assert stage.body.width() <= stage.area.viewport().width()


def test_on_a_wide_window_the_plot_stands_beside_the_table(show: Show, bench: SimpleNamespace) -> None:
    stage = show(shell()[0])
    bench.window.resize(1280, 720)
    bench.bot.wait(1)
    assert stage.sides.direction() == QBoxLayout.Direction.LeftToRight
    bench.window.resize(853, 480)
    bench.bot.wait(1)
    assert stage.sides.direction() == QBoxLayout.Direction.TopToBottom


def test_names_from_a_file_are_never_markup(show: Show) -> None:
    names = ("<b>Bold</b><img src=x>", NONE)
    plan = plan_of(names, 1, control=NONE)
    b = graded(begun(plan), plan, {names[0]: {Method.STICK: "5"}, NONE: {Method.STICK: "0"}})
    stage = show(b)
    assert names[0] in stage.title.text()
    assert stage.title.textFormat() == Qt.TextFormat.PlainText


# --- the plot --------------------------------------------------------------------------------------------


@st.composite
def pictures(draw: st.DrawFn) -> Picture:
    columns = draw(st.integers(1, 12))
    lanes = []
    for _ in range(draw(st.integers(1, 4))):
        steps = tuple(str(i) for i in range(draw(st.integers(1, 21))))
        limit = draw(st.none() | st.integers(0, len(steps) - 1))
        dots = tuple(
            tuple(Dot(i, s) for i, s in enumerate(draw(st.lists(st.integers(0, len(steps) - 1), max_size=24)), 1))
            for _ in range(columns)
        )
        lanes.append(Lane("Stick", "", steps, limit, dots))
    return Picture(tuple(Column(f"System {i}") for i in range(columns)), tuple(lanes))


@settings(max_examples=60, deadline=None)
@given(pictures(), st.floats(40, 3_000))
def test_no_mark_lies_on_another_and_each_lies_in_its_column_and_step(picture: Picture, width: float) -> None:
    sizes = Sizes(mark=22, thin=16, head=24, names=40, codes=30)
    placed = lay_out(picture, width, sizes)
    assert len(placed.spots) == sum(len(dots) for lane in picture.lanes for dots in lane.dots)
    for i, spot in enumerate(placed.spots):
        near = placed.columns[spot.column].adjusted(-0.01, 0, 0.01, 0)
        assert near.left() <= spot.box.left()
        assert spot.box.right() <= near.right()
        row = placed.steps[spot.lane][spot.dot.step]
        assert row.top() <= spot.box.top()
        assert spot.box.bottom() <= row.bottom()
        assert not any(spot.box.intersects(other.box) for other in placed.spots[i + 1 :])
    rows = [row for lane in placed.steps for row in lane]
    assert all(a.bottom() <= b.top() + 0.01 for a, b in pairwise(rows))


@settings(max_examples=30, deadline=None)
@given(pictures())
def test_better_steps_lie_higher_and_the_limit_below_the_last_that_is_allowed(picture: Picture) -> None:
    placed = lay_out(picture, 800, Sizes(mark=22, thin=16, head=24, names=40, codes=30))
    for spot in placed.spots:
        limit, line = picture.lanes[spot.lane].limit, placed.limits[spot.lane]
        assert (limit is None) == (line is None)
        if limit is not None and line is not None:
            assert (spot.box.bottom() <= line) == (spot.dot.step <= limit)
