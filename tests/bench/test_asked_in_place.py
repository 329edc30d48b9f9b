"""What is asked stays where it was: the new job, its list, the care of a card, the colour of a layer in a stack."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from planning_page import Plan
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from benchtool.bench.controls import BenchButton
from benchtool.bench.jobs import Jobs

CTRL = Qt.KeyboardModifier.ControlModifier


def press(window: Any, key: Qt.Key, held: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
    QTest.keyClick(window.focusWidget() or window, key, held)


def named(where: Any, words: str) -> BenchButton:
    return next(b for b in where.findChildren(BenchButton) if b.text() == words)


def answers(window: Any) -> list[str]:
    return [b.text() for b in window.doing.pick._buttons if b.isVisible()]


@pytest.fixture
def plan(qtbot: Any, clock: Any, tmp_path: Path) -> Iterator[Plan]:
    made = Plan(qtbot, clock, tmp_path)
    made.pages.resize(1280, 560)
    yield made
    made.session.close_all()


@pytest.mark.parametrize("by", [Qt.Key.Key_Return, Qt.Key.Key_Escape])
def test_a_new_job_asks_whose_it_is_before_its_first_piece(bench: Any, tmp_path: Path, by: Qt.Key) -> None:
    window = bench.window
    window.findChild(Jobs)._create(tmp_path / "side-panels.json")
    QApplication.processEvents()
    assert window.focusWidget().objectName() == "job-title"
    form = window.pages.currentWidget()
    assert form.name.text() == "side panels"
    QTest.keyClicks(form.customer.edit, "Ann")
    press(window, by)
    assert window.pages.currentWidget().objectName() == "plan"
    assert window.focusWidget().objectName() == "piece-name"
    assert bench.session.current.state.customer == ("Ann" if by is Qt.Key.Key_Return else "")
    press(window, Qt.Key.Key_Escape)
    assert window.pages.on_bench
    window.do("job")
    named(window.doing.pick, "Describe it").click()
    assert form.customer.text() == "Ann"
    press(window, Qt.Key.Key_Escape)
    assert window.pages.on_bench


def test_to_describe_a_job_is_always_the_third_answer(bench: Any, tmp_path: Path) -> None:
    window = bench.window
    for n in range(3):
        window.do("job")
        told = answers(window)
        assert told[:3] == ["New job", "Open a file", "Describe it"]
        assert told.index("New demo") > 2
        assert next(i for i, t in enumerate(told) if t.startswith("Close ")) > 2
        window.doing.put_away()
        bench.session.create(tmp_path / f"{n}.json", f"Job {n}")


def test_a_new_demo_and_to_close_keep_their_digits_whatever_is_open(bench: Any, tmp_path: Path) -> None:
    window = bench.window
    for n in range(4):
        window.do("job")
        told = answers(window)
        assert told[3] == "New demo"
        assert told[4].startswith("Close ")
        assert len(told) <= 9
        window.doing.put_away()
        bench.session.create(tmp_path / f"{n}.json", f"Job {n}")
    for document in list(bench.session.documents):
        bench.session.close(document)
    window.do("job")
    assert answers(window)[3] == "New demo"


def test_finding_begins_with_words_whatever_was_asked_before(bench: Any) -> None:
    window = bench.window
    window.do("find")
    page = window.pages.record.find
    page.turn_lot()
    page.field.fill("BB-77")
    window.pages.left.emit()
    window.do("find")
    assert not page.recalling
    assert page.field.text() == "BB-77"
    assert page.field.label.text() == "Find a piece again"


def test_no_new_job_is_begun_over_a_card_that_is_typed(bench: Any) -> None:
    window = bench.window
    asked: list[str] = []
    window.job_asked.disconnect()
    window.job_asked.connect(asked.append)
    window.do("layer")
    page = window.pages.currentWidget()
    page.layer.new_card.click()
    QApplication.processEvents()
    press(window, Qt.Key.Key_N, CTRL)
    assert asked == []
    press(window, Qt.Key.Key_Escape)
    press(window, Qt.Key.Key_Escape)
    press(window, Qt.Key.Key_N, CTRL)
    assert asked == ["new"]


def test_what_the_customer_may_do_has_a_fold_of_its_own_above_the_rest(plan: Plan) -> None:
    plan.piece()
    plan.ask("layer")
    plan.click("layer-new-card")
    plan.keys("1")
    form = plan.page.card
    assert form.care.heading == "When the customer may use it"
    assert not form.care.unfolded
    plan.click("card-care")
    assert all(field.isVisible() for field in form.care.fields.values())
    assert (
        form.care.mapTo(form, form.care.rect().topLeft()).y()
        < form.optional.mapTo(form, form.optional.rect().topLeft()).y()
    )


@pytest.mark.parametrize("digit", ["1", "2", "3", "4", "5"])
def test_when_recoat_closes_is_asked_beside_when_it_opens(plan: Plan, digit: str) -> None:
    plan.piece()
    plan.ask("layer")
    plan.click("layer-new-card")
    plan.keys(digit)
    opens, closes = plan.line("card-recoat-opens"), plan.line("card-recoat-closes")
    assert opens.isVisible()
    assert closes.isVisible()
    assert opens.mapTo(plan.page, opens.rect().topLeft()).y() == closes.mapTo(plan.page, closes.rect().topLeft()).y()


def test_a_red_line_moves_no_field_under_the_hand(plan: Plan) -> None:
    plan.ask("piece")
    form = plan.page.piece
    for _ in range(3):
        QApplication.processEvents()
    before = [f.edit.mapTo(form, f.edit.rect().topLeft()) for f in (form.name, form.joined)]
    form.complain((("name", "Write what you call it."), ("joined", "This is none.")))
    form.area.verticalScrollBar().setValue(0)
    for _ in range(3):
        QApplication.processEvents()
    assert [f.edit.mapTo(form, f.edit.rect().topLeft()) for f in (form.name, form.joined)] == before
