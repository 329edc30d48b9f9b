"""The page of what the record says, in the real window: plots, table, offers, keys."""

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from builders import CLEAR, COLOUR, JobBuilder, minutes
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from benchtool.bench.learned import LearnedPage
from benchtool.bench.learnedaxis import error_scale, piled, ticks, time_scale
from benchtool.job import events as ev
from benchtool.job.learnedcases import Kept
from benchtool.session.learningshown import Kind
from benchtool.store import jobfile

ENTER, TAB, LEFT, RIGHT, DOWN, UP, F5 = (
    Qt.Key.Key_Return, Qt.Key.Key_Tab, Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Down, Qt.Key.Key_Up, Qt.Key.Key_F5,
)  # fmt: skip
CONTROL = Qt.KeyboardModifier.ControlModifier


def panels(*apart: float) -> JobBuilder:
    """A colour of 10 min flash with so many waits between its coats, a cup each with a fifth left, and a clear."""
    b = JobBuilder().add(ev.JobDescribed, title="Panels").card(COLOUR, CLEAR).piece("panel", name="Left panel")
    b.layer("l1", COLOUR, len(apart) + 1).layer("l2", CLEAR, 2, activator="slow")
    for wait in (0.0, *apart):
        b.wait(minutes=wait).mix("l1", make_mL=40).pour("base", 20).pour("reducer", 20)
        b.coat("l1").empty(left_mL=8)
    b.wait(minutes=40).mix("l2", make_mL=30).pour("base", 20, typed="20 mL").pour("activator", 12, typed="12 mL")
    return b.stir("activated").coat("l2")


def shown(bench: SimpleNamespace, job: JobBuilder | None, path: Path) -> LearnedPage:
    for document in list(bench.session.documents):
        bench.session.close(document)
    if job is not None:
        jobfile.save(path, job.job)
        bench.session.open(path)
    with bench.bot.waitActive(bench.window):
        bench.window.activateWindow()
    page = LearnedPage(bench.window.look, bench.session)
    bench.window.pages.addWidget(page)
    page.left.connect(bench.window.pages.left)
    page.said.connect(bench.window.pages.said)
    page.ask()
    bench.window.pages.setCurrentWidget(page)
    bench.bot.waitUntil(lambda: not page.steps.busy)
    return page


@pytest.fixture
def page(bench: SimpleNamespace, tmp_path: Path) -> LearnedPage:
    bench.session.library.keep(COLOUR)
    return shown(bench, panels(8, 14, 14, 14, 15), tmp_path / "panels.json")


def press(bench: SimpleNamespace, key: Any, modifier: Any = Qt.KeyboardModifier.NoModifier) -> None:
    here = QApplication.focusWidget()
    assert here is not None
    bench.bot.keyClick(here, key, modifier)


def focus() -> str:
    here = QApplication.focusWidget()
    return here.objectName() if here is not None else ""


def test_the_page_says_how_many_cases_are_behind_each_plot(page: LearnedPage) -> None:
    rows = [page.list.list.item(i).text() for i in range(page.list.list.count())]
    assert rows == ["All products", "Base colour", "Two-part clear"]
    assert [(x.kind, x.n) for x in page.plot.lanes] == [(Kind.MISSES, 7), (Kind.WASTE, 6), (Kind.ERRORS, 1)]
    told = page.plot.accessibleDescription()
    assert "7 cases" in told
    assert ", 1 case." in told
    assert "1 of 7 windows were missed." in told
    assert "Of a cup 20 % was left over (median of 6)" in told
    assert "Only 1 case: not enough to say anything yet." in told


def test_by_keyboard_from_the_product_over_the_cases_to_the_piece(bench: SimpleNamespace, page: LearnedPage) -> None:
    asked: list[tuple[str, str, str]] = []
    page.piece_asked.connect(lambda *told: asked.append(told))
    assert focus() == "learned-products-list"
    press(bench, DOWN)
    assert page.product.name == "Base colour"
    press(bench, ENTER)
    assert focus() == "learned-plot"
    assert page.mark is not None
    assert page.mark.kept is Kept.EARLY
    assert page.told.text().startswith("Left panel, Base colour, after coat 1, ")
    assert "8 min, too early. In that air it was open from 10 min to 24 h." in page.told.text()
    for _ in range(9):
        press(bench, RIGHT)
    assert "15 min, in time" in page.told.text()
    press(bench, LEFT)
    assert "14 min, in time" in page.told.text()
    press(bench, DOWN)
    assert "40 min, in time" in page.told.text()
    press(bench, DOWN)
    assert "8 of 40 mL left" in page.told.text()
    press(bench, UP)
    assert "40 min" in page.told.text()
    press(bench, ENTER)
    assert asked == [(str(bench.session.documents[0].path), "panel", "l1")]


def test_a_letter_on_this_page_is_no_act_of_the_bench(bench: SimpleNamespace, page: LearnedPage) -> None:
    before = bench.session.documents[0].job
    press(bench, Qt.Key.Key_U)
    press(bench, Qt.Key.Key_S)
    assert bench.session.documents[0].job is before
    assert bench.window.pages.currentWidget() is page


def test_a_mark_under_the_pointer_is_told_and_a_double_click_goes_there(
    bench: SimpleNamespace, page: LearnedPage
) -> None:
    page.list.list.setCurrentRow(1)
    asked: list[str] = []
    page.piece_asked.connect(lambda path, piece, layer: asked.append(piece))
    spot = page.plot.laid[0].spots[0]
    at = spot.box.center().toPoint()
    assert page.plot.spot_at(QPointF(at)) == spot
    QTest.mouseMove(page.plot, at)
    bench.bot.waitUntil(lambda: "8 min" in page.told.text())
    QTest.mouseClick(page.plot, Qt.MouseButton.LeftButton, pos=at)
    assert page.plot.at == (0, 0)
    QTest.mouseDClick(page.plot, Qt.MouseButton.LeftButton, pos=at)
    assert asked == ["panel"]
    assert page.plot.spot_at(QPointF(2, 2)) is None


def test_an_offer_changes_nothing_until_it_is_taken_and_goes_back(bench: SimpleNamespace, page: LearnedPage) -> None:
    library, document = bench.session.library, bench.session.documents[0]

    def card() -> Any:
        return next(c for c in library.look().cards if c.id == "colour")

    assert not page.offers.isVisible()  # nothing is offered for all products together
    page.list.list.setCurrentRow(1)
    assert [b.text() for b in page.offers.buttons] == ["Take it", "Take it"]
    assert page.offers.buttons[0].accessibleDescription() == (
        "Flash of Base colour in your library goes from 10 min to 14 min, from your own measurement. "
        "Jobs that are begun keep their copy."
    )
    assert card() == COLOUR
    press(bench, ENTER, CONTROL)
    assert card().flash == minutes(14)
    assert document.state.cards["colour"] == COLOUR
    assert [b.text() for b in page.offers.buttons] == ["Take it back", "Take it"]
    press(bench, ENTER, CONTROL)
    assert document.state.cards["colour"].flash == minutes(14)
    press(bench, Qt.Key.Key_Z, CONTROL)
    assert document.state.cards["colour"] == COLOUR
    press(bench, Qt.Key.Key_Z, CONTROL)
    assert card() == COLOUR
    assert [b.text() for b in page.offers.buttons] == ["Take it", "Take it"]


def test_the_table_says_the_same_line_by_line(bench: SimpleNamespace, page: LearnedPage) -> None:
    page.list.list.setCurrentRow(1)
    press(bench, Qt.Key.Key_T, CONTROL)
    assert focus() == "learned-table"
    lines = sum(1 + len(x.marks) for x in page.plot.lanes)
    assert page.table.rowCount() == lines
    first = page.table.item(0, 0)
    assert first is not None
    assert first.text().startswith("Flash: between two coats, 5 cases. You waited 14 min (median of 5)")
    cells = [page.table.item(1, column) for column in range(4)]
    assert [c.text() for c in cells if c is not None][:3] == ["Flash", "8 min", "10 min to 24 h"]
    page.table.setCurrentCell(1, 0)
    assert page.mark is not None
    asked: list[str] = []
    page.piece_asked.connect(lambda path, piece, layer: asked.append(layer))
    press(bench, ENTER)
    assert asked == ["l1"]
    press(bench, Qt.Key.Key_T, CONTROL)
    assert focus() == "learned-plot"


def test_what_is_shown_is_copied_as_text(bench: SimpleNamespace, page: LearnedPage) -> None:
    page.list.list.setCurrentRow(1)
    press(bench, Qt.Key.Key_C, CONTROL)
    text = QGuiApplication.clipboard().text()
    assert text.startswith("Base colour\nFrom 1 job.\n\nFlash: between two coats (5 cases)\n")
    assert text.count("\n- ") == sum(len(x.marks) for x in page.plot.lanes)


def test_without_a_record_the_page_says_what_to_log(bench: SimpleNamespace, tmp_path: Path) -> None:
    page = shown(bench, JobBuilder().card(COLOUR).piece(), tmp_path / "new.json")
    assert page.views.currentWidget() is page.empty
    assert page.empty.text().startswith("Nothing to learn from yet.")
    assert focus() == "learned-again"
    assert not page.go.isEnabled()
    press(bench, ENTER, CONTROL)  # nothing to take
    press(bench, Qt.Key.Key_Z, CONTROL)


def test_the_record_of_a_demo_beside_an_own_job_is_one_key_away(bench: SimpleNamespace, tmp_path: Path) -> None:
    jobfile.save(tmp_path / "demo.json", replace(panels(13, 25, 40).job, id="demo", demo=True))
    page = shown(bench, JobBuilder().card(COLOUR).piece(), tmp_path / "own.json")
    assert page.whose.isHidden()
    bench.session.open(tmp_path / "demo.json")
    page.ask()
    bench.bot.waitUntil(lambda: not page.steps.busy)
    assert "left out" in page.empty.text()
    assert not page.whose.isHidden()
    press(bench, Qt.Key.Key_D, CONTROL)
    assert page.record.demo
    assert page.views.currentWidget() is not page.empty
    assert page.whose.text() == "Your own record"
    page.whose.click()
    assert page.views.currentWidget() is page.empty


def test_few_cases_are_drawn_and_not_judged(bench: SimpleNamespace, tmp_path: Path) -> None:
    page = shown(bench, panels(14, 14), tmp_path / "few.json")
    page.list.list.setCurrentRow(1)
    lane = page.plot.lanes[0]
    assert (lane.n, len(lane.marks), lane.said[0]) == (2, 2, "Only 2 cases: not enough to say anything yet.")
    assert page.offers.buttons == []


def test_what_can_not_be_read_is_told_and_reading_again_is_one_key(
    bench: SimpleNamespace, page: LearnedPage, tmp_path: Path
) -> None:
    (tmp_path / "odd.json").write_text((tmp_path / "panels.json").read_text()[:-300])
    press(bench, F5)
    bench.bot.waitUntil(lambda: not page.steps.busy)
    assert page.faults.isVisible()
    assert "odd.json" in page.faults.text()
    assert page.record.everything.waits == 7


def test_every_mark_is_drawn_within_the_sheet_in_both_themes(bench: SimpleNamespace, page: LearnedPage) -> None:
    for theme in ("light", "dark"):
        page.look.choose(theme)
        for row in range(page.list.list.count()):
            page.list.list.setCurrentRow(row)
            picture = page.plot.grab()
            assert not picture.isNull()
            for lane, laid in zip(page.plot.lanes, page.plot.laid, strict=True):
                assert len(laid.spots) == len(lane.marks)
                assert all(laid.whole.contains(s.box) for s in laid.spots)


# --- scales ------------------------------------------------------------------------------------------


@given(st.lists(st.floats(0, 1_000), min_size=1, max_size=60))
def test_no_mark_is_lost_and_none_meets_another_unless_they_are_too_many(places: list[float]) -> None:
    laid = piled(places, 14, 7)
    for (x, up), place in zip(laid, places, strict=True):
        assert 0 <= place - x < 14
        assert 0 <= up <= 6.0000001
    if len(places) <= 7:
        for i, (x, up) in enumerate(laid):
            assert all(abs(x - u) >= 14 - 1e-9 or abs(up - v) >= 1 for u, v in laid[i + 1 :])


@given(st.lists(st.floats(0, 1e7), min_size=1, max_size=20))
def test_a_scale_of_times_holds_all_and_keeps_their_order(values: list[float]) -> None:
    scale = time_scale(values)
    shares = [scale.share(v) for v in sorted(values)]
    assert all(0 <= s <= 1 for s in shares)
    assert shares == sorted(shares)


def test_ticks_do_not_touch_and_zero_is_in_the_middle_of_errors() -> None:
    named = ticks(time_scale([60, 86_400]), 400, lambda words: 7.0 * len(words))
    places = [time_scale([60, 86_400]).share(v) * 400 for v, _ in named]
    assert len(named) >= 4
    widths = [7.0 * len(words) for _, words in named]
    for i in range(len(places) - 1):
        assert places[i] + widths[i] / 2 <= places[i + 1] - widths[i + 1] / 2
    scale = error_scale([-3, 12], 5)
    assert scale.share(0) == 0.5
    assert [words for _, words in ticks(scale, 400, lambda words: 30.0)] == ["−10 %", "−5 %", "0 %", "+5 %", "+10 %"]
