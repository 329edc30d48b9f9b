"""The page of the day: what it says and shows, its keys, what stands where there is no plan, and the real planner."""

import time
from datetime import timedelta
from types import SimpleNamespace

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QFileDialog, QLabel, QWidget
from timetables import FOUND, JOB, NOW, MadePlans, small_shop, ugly

from benchtool.bench.day import DayPage
from benchtool.bench.dayempty import Helps
from benchtool.bench.daytold import DayTold
from benchtool.bench.look import Look
from benchtool.session.dayplan import DayPlanner
from benchtool.sheets.blocks import Paper

KEY = Qt.Key


def put(qtbot, page):
    """Show a page in a window without a layout, as large as it is on a laptop."""
    host = QWidget()
    qtbot.addWidget(host)
    host.resize(1_900, 1_000)
    page.setParent(host)
    page.resize(1_240, 600)
    page.show()
    host.show()
    qtbot.waitExposed(host)
    host.activateWindow()
    qtbot.waitUntil(host.isActiveWindow)
    page.host = host  # else it is gone with its last name


REAL = SimpleNamespace(job=SimpleNamespace(demo=False))


def made_page(qtbot, plans, documents=(REAL,)):
    session = SimpleNamespace(documents=list(documents), now=lambda: NOW)
    page = DayPage(Look(), session, plans)
    put(qtbot, page)
    page.ask()
    page.heard = []
    page.said.connect(page.heard.append)
    return page


@pytest.fixture
def page(qtbot):
    return made_page(qtbot, MadePlans(small_shop()))


def test_it_says_what_is_next_and_everything_the_plan_found_with_trouble_first(page):
    assert page.next.text().startswith("Now: coat 2 of the primer")
    assert [s.trouble for s in page.found.said] == sorted((s.trouble for s in FOUND), reverse=True)
    shown = [w.text() for w in page.found.findChildren(QLabel) if w.isVisibleTo(page.found)]
    assert sorted(shown) == sorted(s.sentence for s in FOUND)
    assert page.made.text().startswith("Planned ")
    assert not page.planning.isVisible()


def test_a_plan_that_is_there_is_not_made_anew_and_a_stale_one_is(qtbot):
    assert made_page(qtbot, MadePlans(small_shop())).plans.asked == []
    stale = MadePlans(small_shop())
    stale.stale = True
    page = made_page(qtbot, stale)
    assert stale.asked == ["plan"]
    assert page.planning.isVisible()
    assert page.plot.isVisible()  # the last plan stays in view
    page._beat.stop()


def test_planning_shows_how_far_it_is_and_can_be_cancelled(page):
    QTest.keyClick(page.plot, KEY.Key_R)
    page.plans.share = 0.42
    page.refresh(NOW)
    assert page.planning.words.text() == "Planning: 42 %"
    assert not page.anew.isEnabled()
    assert page._beat.isActive()
    QTest.keyClick(page.plot, KEY.Key_C)
    assert page.plans.asked == ["plan", "cancel"]
    assert page.anew.isEnabled()
    assert not page.planning.isVisible()
    assert not page._beat.isActive()
    assert "the last plan stays" in page.heard[-1]
    assert page.plot.isVisible()


def test_leaving_the_page_stops_its_beat(page):
    page.plans.busy = True
    page.refresh(NOW)
    assert page._beat.isActive()
    assert page.plans.watched
    page.hide()
    assert not page._beat.isActive()
    assert not page.plans.watched  # nobody looks: no act makes a plan


def test_a_plan_that_things_moved_past_says_so(page):
    page.plans.stale = True
    page.refresh(NOW)
    assert "R plans anew" in page.made.text()


def test_keys_zoom_turn_to_the_list_and_leave(page, qtbot):
    whole = page.plot.px_h
    QTest.keyClick(page.plot, KEY.Key_Plus)
    assert page.plot.px_h > whole
    QTest.keyClick(page.plot, KEY.Key_Minus)
    QTest.keyClick(page.plot, KEY.Key_Minus)
    assert page.plot.px_h == pytest.approx(whole, rel=0.01)
    QTest.keyClick(page.plot, KEY.Key_Home)
    assert page.plot.follows == "today"
    QTest.keyClick(page.plot, KEY.Key_W)
    assert page.plot.follows == "whole"
    QTest.keyClick(page.plot, KEY.Key_L)
    assert page.views.currentWidget() is page.list
    assert QApplication.focusWidget() is page.list
    assert page.list.rowCount() == len(small_shop()[0].placed)
    QTest.keyClick(page.list, KEY.Key_L)
    assert page.views.currentWidget() is page.plot
    with qtbot.waitSignal(page.left):
        QTest.keyClick(page.plot, KEY.Key_Escape)


def test_a_line_of_the_list_asks_for_its_layer(page, qtbot):
    page.turn_list()
    QTest.keyClick(page.list, KEY.Key_Down)
    with qtbot.waitSignal(page.layer_asked) as asked:
        QTest.keyClick(page.list, KEY.Key_Return)
    assert asked.args == [JOB, "left", "primer"]


def test_enter_on_a_block_goes_to_its_layer_and_else_plans_anew(page, qtbot):
    QTest.keyClick(page.plot, KEY.Key_Return)
    assert page.plans.asked == ["plan"]
    page.plot.choose((0, 0))
    with qtbot.waitSignal(page.layer_asked):
        QTest.keyClick(page.plot, KEY.Key_Return)
    assert page.plans.asked == ["plan"]
    page._beat.stop()


def test_what_is_pointed_at_is_said_and_else_what_the_shapes_mean(page):
    assert page.pointed.text().startswith("Solid is a coat")
    page.plot.choose((1, 0))
    assert page.pointed.text().startswith("Right shell, wash and scuff")
    page.plans.shown = MadePlans(small_shop()).shown  # planned anew: what is in hand is still said
    page.refresh(NOW)
    assert page.pointed.text().startswith("Right shell, wash and scuff")


def test_page_down_rolls_the_drawing_and_then_what_was_found(qtbot):
    page = made_page(qtbot, MadePlans(ugly()))
    plot, found = page.plot.verticalScrollBar(), page.found_area.verticalScrollBar()
    QTest.keyClick(page.plot, KEY.Key_PageDown)
    assert plot.value() > 0
    assert found.value() == 0
    for _ in range(20):
        QTest.keyClick(page.plot, KEY.Key_PageDown)
    assert (plot.value(), found.value()) == (plot.maximum(), found.maximum())
    assert found.maximum() > 0
    QTest.keyClick(page.plot, KEY.Key_PageUp)
    assert found.value() < found.maximum()


def test_the_promised_day_is_asked_for_kept_and_told_where_it_is_wrong(page):
    page.plot.choose((0, 0))
    QTest.keyClick(page.plot, KEY.Key_P)
    edit = page.promise.date.edit
    assert page.promise.isVisible()
    assert edit.hasFocus()
    assert edit.text() == "2026-03-17 17:00"
    edit.setText("nonsense")
    QTest.keyClick(edit, KEY.Key_Return)
    assert page.promise.isVisible()
    assert edit.text() == "nonsense"
    assert "no time" in page.promise.date.fault.text()
    edit.setText("Fri 12:00")
    QTest.keyClick(edit, KEY.Key_Return)
    assert not page.promise.isVisible()
    assert "promise Fri 12:00" in page.plans.asked
    assert page.plans.asked[-1] == "plan"
    page._beat.stop()


def test_escape_folds_a_line_away_before_it_leaves_the_page(page):
    left = []
    page.left.connect(lambda: left.append(1))
    QTest.keyClick(page.plot, KEY.Key_P)
    QTest.keyClick(page.promise.date.edit, KEY.Key_Escape)
    assert not page.promise.isVisible()
    assert not left
    QTest.keyClick(page.plot, KEY.Key_O)
    assert page.paper.isVisible()
    QTest.keyClick(page.paper.file, KEY.Key_Escape)
    assert not page.paper.isVisible()
    assert not left


def test_letters_typed_into_the_promise_do_not_act(page):
    QTest.keyClick(page.plot, KEY.Key_P)
    page.promise.date.edit.clear()
    QTest.keyClicks(page.promise.date.edit, "Fri 17 whole rl")
    assert page.promise.date.edit.text() == "Fri 17 whole rl"
    assert page.views.currentWidget() is page.plot
    assert page.plans.asked == []


def test_the_paper_is_kept_and_the_file_is_written(page, tmp_path, monkeypatch):
    monkeypatch.setattr(QFileDialog, "show", lambda _: None)
    QTest.keyClick(page.plot, KEY.Key_O)
    page.paper._choose(Paper.LETTER.value)
    page.paper.file.click()
    dialog = page.save.dialog
    path = tmp_path / "plan.pdf"
    dialog.fileSelected.emit(str(path))
    dialog.reject()
    assert path.read_bytes().startswith(b"%PDF")
    assert page.heard[-1] == "The plan is written to plan.pdf."
    QTest.keyClick(page.plot, KEY.Key_O)
    assert page.paper.paper is Paper.LETTER


# --- where there is no plan ------------------------------------------------------------------------------


def test_without_a_job_it_offers_one(qtbot):
    page = made_page(qtbot, MadePlans(), documents=())
    assert page.plans.asked == []
    assert page.empty.words.text() == "No job is open."
    with qtbot.waitSignal(page.job_asked):
        page.empty.help.click()


def test_a_shop_that_never_opens_leads_to_its_hours(qtbot):
    plans = MadePlans(small_shop())
    plans.shown = DayTold(made_at=NOW, why="Without opening hours no work has a place.", never_opens=True)
    page = made_page(qtbot, plans)
    assert page.empty.words.text() == "Your shop never opens."
    assert page.empty.helps is Helps.HOURS
    assert not page.on_paper.isEnabled()
    with qtbot.waitSignal(page.hours_asked):
        QTest.keyClick(page.empty.help, KEY.Key_Return)


def test_nothing_left_to_do_is_said(qtbot):
    plans = MadePlans(small_shop())
    plans.shown = DayTold(made_at=NOW, why="Nothing is left to do on the open jobs.")
    page = made_page(qtbot, plans)
    assert page.empty.words.text() == "Nothing is left to do on the open jobs."
    assert not page.empty.help.isVisible()
    plans.shown = MadePlans(small_shop()).shown
    page.refresh(NOW)
    assert page.views.currentWidget() is page.plot


# --- looks -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [(1_240, 600), (1_880, 950), (820, 370)])
@pytest.mark.parametrize("made", [small_shop, ugly])
def test_every_button_is_a_target_and_nothing_lies_over_another(qtbot, size, made):
    page = made_page(qtbot, MadePlans(made()))
    page.resize(*size)
    QApplication.processEvents()
    for button in page.findChildren(QAbstractButton):
        if button.isVisible():
            assert button.height() >= 48
            assert button.width() >= 48
            assert button.accessibleName()
    parts = [page.views, page.found_area, page.anew, page.back]
    boxes = [part.rect().translated(part.mapTo(page, part.rect().topLeft())) for part in parts]
    for i, a in enumerate(boxes):
        assert page.rect().contains(a), parts[i].objectName()
        assert not any(a.intersects(b) for b in boxes[i + 1 :])
    assert page.views.height() >= 100


def test_text_is_never_markup(qtbot):
    page = made_page(qtbot, MadePlans(ugly()))
    assert all(w.textFormat() is Qt.TextFormat.PlainText for w in page.findChildren(QLabel))


# --- the real planner ------------------------------------------------------------------------------------


def waited(page, planner, seconds=30.0):
    end = time.monotonic() + seconds
    while planner.busy and time.monotonic() < end:
        QApplication.processEvents()
        time.sleep(0.01)
    assert not planner.busy, "the plan never came"
    page.refresh(page.session.now())


@pytest.fixture
def real(bench):
    planner = DayPlanner(bench.session, with_solver=False)
    page = DayPage(bench.window.look, bench.session, planner)
    put(bench.bot, page)
    page.ask()
    waited(page, planner)
    yield SimpleNamespace(page=page, planner=planner, bench=bench)
    page.hide()
    planner.close()


def test_the_demo_is_planned_and_drawn_with_its_own_names(real):
    page = real.page
    assert page.views.currentWidget() is page.plot
    names = {row.named.name for row in page.plot.picture.rows}
    state = real.bench.session.current.state
    assert names <= {p.piece.name for p in state.pieces.values()}
    assert names
    assert page.next.text()
    table = real.planner.plan.timetable
    assert sum(len(r.blocks) for r in page.plot.picture.rows) == len(table.placed)
    for row in page.plot.picture.rows:
        for block in row.blocks:  # all work lies in hours that are drawn as open
            if block.task.began_at is None:
                assert any(a <= block.starts_at and block.ends_at <= b for a, b in page.plot.picture.open)


def test_an_act_makes_the_plan_anew(real):
    before = real.page.told
    real.bench.session.undo()
    real.page.refresh(real.bench.session.now())
    waited(real.page, real.planner)
    assert real.page.told is not before
    real.bench.clock.go(minutes=1)


def test_the_promised_day_comes_into_the_plan_and_goes_again(real):
    page, session = real.page, real.bench.session
    page.plot.choose((0, 0))
    page.ask_promise()
    day = (session.now() + timedelta(days=5)).astimezone()
    page.promise.date.edit.setText(f"{day:%Y-%m-%d} 12:00")
    page.promise.keep.click()
    waited(page, real.planner)
    assert page.plot.picture.rows[0].named.promised is not None
    assert session.current.state.promised is not None
    page.ask_promise()
    assert page.promise.date.text() == f"{day:%Y-%m-%d} 12:00"
    page.promise.date.edit.setText("")
    page.promise.keep.click()
    waited(page, real.planner)
    assert session.current.state.promised is None


# --- here today ------------------------------------------------------------------------------------------


def closed_page(qtbot, words="The shop is closed until Mon 08:00."):
    plans = MadePlans(small_shop())
    plans.closed = words
    return made_page(qtbot, plans)


def test_a_closed_shop_says_so_and_offers_to_stay(qtbot):
    page = closed_page(qtbot)
    assert page.shut.isVisible()
    assert page.shut.words.text() == "The shop is closed until Mon 08:00."
    assert page.shut.here.primary
    assert not page.here.isVisible()
    page.shut.here.click()
    edit = page.stay.until.edit
    assert edit.hasFocus()
    assert not page.shut.isVisible()
    QTest.keyClick(edit, KEY.Key_Escape)
    assert page.shut.isVisible()
    assert page.plans.asked == []


def test_an_open_shop_has_the_key_too_and_says_nothing(page):
    assert not page.shut.isVisible()
    assert page.here.isVisible()
    QTest.keyClick(page.plot, KEY.Key_T)
    assert page.stay.until.edit.hasFocus()
    assert page.stay.until.text() == "17:30"


def test_enter_keeps_it_says_it_and_plans_anew(qtbot):
    page = closed_page(qtbot)
    QTest.keyClick(page.plot, KEY.Key_T)
    edit = page.stay.until.edit
    edit.setText("nonsense")
    QTest.keyClick(edit, KEY.Key_Return)
    assert page.stay.isVisible()
    assert edit.text() == "nonsense"
    assert "no time of day" in page.stay.until.fault.text()
    edit.clear()
    QTest.keyClicks(edit, "18")
    QTest.keyClick(edit, KEY.Key_Return)
    assert page.plans.asked == ["stay 18", "plan"]
    assert page.heard[-1].startswith("Open today until 18:00")
    assert not page.stay.isVisible()
    assert not page.shut.isVisible()
    assert page.here.isVisible()
    page._beat.stop()


def test_one_line_is_asked_at_a_time(qtbot):
    page = closed_page(qtbot)
    for key, line in (
        (KEY.Key_T, page.stay),
        (KEY.Key_P, page.promise),
        (KEY.Key_T, page.stay),
        (KEY.Key_O, page.paper),
    ):
        page.plot.setFocus()
        QTest.keyClick(page.plot, key)
        assert page._folds() == [line]
    assert page.shut.isVisible()


@pytest.mark.parametrize("size", [(1_240, 600), (820, 370)])
def test_a_closed_shop_leaves_room_for_the_plan(qtbot, size):
    page = closed_page(qtbot)
    page.resize(*size)
    QApplication.processEvents()
    assert page.views.height() >= 100
    assert page.shut.here.height() >= 48
    assert page.shut.words.width() >= page.shut.words.sizeHint().width()


def test_without_a_job_nothing_is_offered(qtbot):
    plans = MadePlans()
    plans.closed = "The shop is closed."
    assert not made_page(qtbot, plans, documents=()).shut.isVisible()


@pytest.mark.parametrize("never", [True, False])
def test_that_the_shop_is_closed_is_said_where_there_is_no_plan_too(qtbot, never):
    plans = MadePlans()
    plans.closed = "The shop is closed."
    plans.shown = DayTold(made_at=NOW, why="Without opening hours no work has a place.", never_opens=never)
    page = made_page(qtbot, plans)
    assert page.views.currentWidget() is page.empty
    assert page.shut.words.text() == "The shop is closed."
    assert page.shut.here.isVisible()


def test_on_a_closed_day_the_work_comes_to_today_and_goes_back(real):
    page, bench = real.page, real.bench
    now = bench.session.now()
    bench.session.shop.change(replace(bench.session.shop.shop, closed_days=(now.astimezone().date(),)))
    page.plan_anew()
    waited(page, real.planner)
    todo = [p for p in real.planner.plan.timetable.placed if p.task.began_at is None]
    assert page.shut.isVisible()
    assert min(p.starts_at for p in todo) - now > timedelta(hours=12)
    end = (now + timedelta(hours=3)).astimezone()
    page.ask_stay()
    page.stay.until.edit.setText(f"{end:%H:%M}")
    page.stay.keep.click()
    waited(page, real.planner)
    todo = [p for p in real.planner.plan.timetable.placed if p.task.began_at is None]
    assert min(p.starts_at for p in todo) - now < timedelta(hours=3)
    assert not page.shut.isVisible()
    page.ask_stay()
    assert page.stay.until.text() == f"{end:%H:%M}"
    page.stay.until.edit.clear()
    page.stay.keep.click()
    waited(page, real.planner)
    assert bench.session.shop.shop.extra == ()
    assert page.shut.isVisible()
