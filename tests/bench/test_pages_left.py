"""Esc takes away the last thing that was asked, and only then the page; hours asked for by a plan lead back to it."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from benchtool.bench.controls import BenchButton
from benchtool.session import jobtext
from benchtool.session.papers import Ending


def press(window: Any, key: Qt.Key) -> None:
    QTest.keyClick(window.focusWidget() or window, key)


def test_escape_folds_the_promise_away_and_stays_on_the_day(bench: Any) -> None:
    window = bench.window
    window.do("day")
    page = window.pages.record.day
    bench.bot.waitUntil(lambda: page.told is not None and page.told.plan is not None, timeout=30_000)
    press(window, Qt.Key.Key_P)
    assert page.promise.isVisible()
    press(window, Qt.Key.Key_Escape)
    assert not page.promise.isVisible()
    assert window.pages.currentWidget() is page
    press(window, Qt.Key.Key_O)
    assert page.paper.isVisible()
    page.plot.setFocus()
    press(window, Qt.Key.Key_Escape)
    assert not page.paper.isVisible()
    assert window.pages.currentWidget() is page
    press(window, Qt.Key.Key_Escape)
    assert window.pages.on_bench


def test_escape_takes_a_question_away_and_leaves_the_page(bench: Any) -> None:
    window = bench.window
    window.do("find")
    press(window, Qt.Key.Key_F3)
    assert window.doing.asking
    press(window, Qt.Key.Key_Escape)
    assert not window.doing.asking
    assert window.pages.currentWidget() is window.pages.record.find
    assert window.pages.record.find.isAncestorOf(window.focusWidget())
    press(window, Qt.Key.Key_Escape)
    assert window.pages.on_bench


def test_hours_lead_back_to_the_day_that_asked_for_them(bench: Any) -> None:
    window = bench.window
    window.do("day")
    page = window.pages.record.day
    page.hours_asked.emit()
    assert window.pages.currentWidget() is window.pages.shop
    press(window, Qt.Key.Key_Escape)
    assert window.pages.currentWidget() is page
    page.hours_asked.emit()
    window.pages.shop.left.emit()
    assert window.pages.currentWidget() is page
    assert page.isAncestorOf(window.focusWidget())


def test_the_shop_that_nothing_asked_for_leads_to_the_bench(bench: Any) -> None:
    window = bench.window
    window.do("day")
    window.pages.record.day.hours_asked.emit()
    window.do("shop")
    press(window, Qt.Key.Key_Escape)
    assert window.pages.on_bench


def test_a_window_is_not_closed_over_a_file_that_is_being_written(bench: Any, tmp_path: Path) -> None:
    window, out = bench.window, tmp_path / "sheet.pdf"
    window.do("papers")
    page = window.pages.record.papers
    bench.bot.waitUntil(lambda: page.made is not None and page.made.pages is not None, timeout=30_000)
    page.keep(page.made, out, Ending.PDF)
    window.close()
    assert window.isVisible()
    assert window.doing.pick.isVisible()
    assert "sheet.pdf is still being written." in window.doing.pick.question.text()
    bench.bot.waitUntil(out.exists, timeout=30_000)
    bench.bot.waitUntil(lambda: not page.being_written, timeout=30_000)
    assert out.read_bytes().startswith(b"%PDF")
    assert not window.pages.record.unfinished


def test_what_is_a_demo_says_so_on_a_printed_plan(bench: Any) -> None:
    window = bench.window
    window.do("day")
    page = window.pages.record.day
    bench.bot.waitUntil(lambda: page.told is not None and page.told.plan is not None, timeout=30_000)
    assert page.paper_plan().title == "The plan of the work: a demo, not a data sheet"


@pytest.mark.parametrize(("digit", "field"), [("2", "papers-list"), ("4", "find-words"), ("5", "again-how-repeat")])
def test_a_page_chosen_from_where_to_keeps_the_focus_it_took(bench: Any, digit: str, field: str) -> None:
    window = bench.window
    press(window, Qt.Key.Key_F3)
    QTest.keyClicks(window.focusWidget(), digit)
    assert window.focusWidget().objectName() == field


def test_what_the_job_is_called_can_be_typed_at_once(bench: Any) -> None:
    window = bench.window
    window.do("job")
    pick = window.doing.pick
    next(b for b in pick.findChildren(BenchButton) if b.text() == "Describe it").click()
    assert window.focusWidget().objectName() == "job-title"


def test_escape_on_a_question_gives_the_focus_back_to_the_field(bench: Any) -> None:
    window = bench.window
    window.do("again")
    window.pages.record.again.customer.edit.setFocus()
    press(window, Qt.Key.Key_F3)
    press(window, Qt.Key.Key_Escape)
    assert window.pages.record.again.isAncestorOf(window.focusWidget())


def test_after_a_question_the_arrow_keys_go_on_through_the_papers(bench: Any) -> None:
    window = bench.window
    window.do("papers")
    page = window.pages.record.papers
    press(window, Qt.Key.Key_F3)
    press(window, Qt.Key.Key_Escape)
    press(window, Qt.Key.Key_Down)
    assert page.key == "care-dome"
    stops = [page.list.list]
    while stops[-1].nextInFocusChain() not in (page.save, page.list.list):
        stops.append(stops[-1].nextInFocusChain())
    names = [w.objectName() for w in stops if w.focusPolicy() & Qt.FocusPolicy.TabFocus]
    assert names[:3] == ["papers-list", "papers-size-A4", "papers-size-US Letter"]


def describe(window: Any) -> Any:
    window.do("job")
    next(b for b in window.doing.pick.findChildren(BenchButton) if b.text() == "Describe it").click()
    return window.pages.currentWidget()


def test_what_is_typed_of_a_job_is_there_again_and_is_asked_for_before_the_window_closes(bench: Any) -> None:
    window = bench.window
    form = describe(window)
    assert not form.half_typed
    QTest.keyClicks(form.customer.edit, "Ann of the ")
    typed = form.customer.text()
    press(window, Qt.Key.Key_Escape)
    assert window.pages.on_bench
    assert describe(window).customer.text() == typed
    window.close()
    assert window.isVisible()
    assert window.doing.pick.question.text() == "What is typed on this page is not kept yet."
    window.doing.put_away()
    form.submit()
    assert bench.session.current.state.customer == typed
    assert not describe(window).half_typed
    window.show_bench()


def test_what_the_record_says_is_shown_where_it_changed_meanwhile(bench: Any) -> None:
    form = describe(bench.window)
    form.name.fill("Half typed")
    bench.window.show_bench()
    again = jobtext.describe(bench.session, replace(jobtext.write_job(bench.session.current.state), customer="Ann"))
    bench.session.apply(*again)
    assert describe(bench.window).customer.text() == "Ann"
    bench.window.show_bench()


def test_a_next_job_half_typed_is_asked_for_before_the_window_closes(bench: Any) -> None:
    window = bench.window
    window.do("again")
    page = window.pages.record.again
    assert not page.half_typed
    page.promised.fill("Fri")
    window.close()
    assert window.isVisible()
    page.promised.fill("")
    assert not page.half_typed


def test_keys_go_at_once_where_a_page_asks_for_the_hours(bench: Any) -> None:
    window = bench.window
    window.do("day")
    window.show_bench()
    assert window.acts.buttons["start"].key == "S"
    window.elsewhere.show_hours()
    assert window.acts.buttons["start"].key == ""


def test_that_the_next_job_is_begun_stands_on_the_bench(bench: Any) -> None:
    window = bench.window
    window.do("again")
    QTest.keyClick(window.focusWidget(), Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert window.pages.on_bench
    assert bench.session.current.title == "Harbour diorama, again"
    assert window.status.said.text() == "Harbour diorama, again is begun."


def test_a_line_that_asks_is_whole_in_the_lowest_window(bench: Any) -> None:
    window = bench.window
    window.resize(853, 480)
    window.do("day")
    page = window.pages.record.day
    bench.bot.waitUntil(lambda: page.told is not None and page.told.plan is not None, timeout=30_000)
    page.planning.hide()
    assert page.shut.isVisible()  # the day of the test is a Saturday
    page.ask_promise()
    bench.bot.waitUntil(lambda: page.promise.height() >= page.promise.minimumSizeHint().height(), timeout=3_000)
    assert not page.shut.isVisible()
    page.promise.fold()
    assert page.shut.isVisible()


def test_what_is_said_of_the_record_is_no_column_in_a_narrow_window(bench: Any) -> None:
    window = bench.window
    window.resize(853, 480)
    window.do("learned")
    page = window.pages.record.learned
    bench.bot.waitUntil(lambda: bool(page.progress.text()) and not page.steps.busy, timeout=30_000)
    assert page.progress.height() <= 2 * page.progress.fontMetrics().lineSpacing()
