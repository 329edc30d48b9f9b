"""The form of a piece with its mark, and finding out from it what the piece is: nothing goes astray on the way."""

from functools import partial
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from builders import CLEAR, JobBuilder
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from benchtool.bench.plan import PlanPage
from benchtool.job.events import Face, Known, PieceChanged
from benchtool.session.planning import CardChoice, PieceText, Where
from benchtool.store import jobfile
from benchtool.trade.substrates import Flex

ENTER, ESC, F6 = Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_F6


@pytest.fixture
def plan(bench: SimpleNamespace) -> PlanPage:
    with bench.bot.waitActive(bench.window):
        bench.window.activateWindow()
    marked = replace(bench.session.piece.piece, substrate="pet", known=Known.MARKED, mark=">PET<")
    bench.session.apply(partial(PieceChanged, piece=marked))
    made = bench.window.pages.plan
    assert isinstance(made, PlanPage)
    return made


def press(bench: SimpleNamespace, key: Any) -> None:
    here = QApplication.focusWidget()
    assert here is not None
    (bench.bot.keyClicks if isinstance(key, str) else bench.bot.keyClick)(here, key)


def other_job(bench: SimpleNamespace, tmp_path: Path, **piece: Any) -> None:
    """Open another job whose piece has the id of the one in hand."""
    path = tmp_path / "other.json"
    jobfile.save(path, JobBuilder().piece(bench.session.piece_id, **piece).job)
    bench.session.open(path)


def test_finding_out_from_the_form_begins_with_its_mark_and_takes_none_away(
    bench: SimpleNamespace, plan: PlanPage
) -> None:
    before = bench.session.piece.piece
    assert before.mark == ">PET<"
    bench.window.do("edit")
    plan.piece.name.edit.setText("Dome of glass")
    press(bench, F6)
    page = bench.window.pages.identify
    assert bench.window.pages.currentWidget() is page
    assert page.mark.text() == ">PET<"
    page._finish("pet")
    assert bench.window.pages.currentWidget() is plan
    assert (plan.piece.name.text(), plan.piece.text().mark) == ("Dome of glass", ">PET<")
    bench.bot.keyClick(plan.piece.name.edit, ENTER)
    after = bench.session.piece.piece
    assert (after.id, after.name, after.mark, after.known) == (before.id, "Dome of glass", ">PET<", Known.MARKED)


def test_what_was_found_for_a_piece_of_one_job_changes_none_of_another(
    bench: SimpleNamespace, plan: PlanPage, tmp_path: Path
) -> None:
    bench.window.do("edit")
    press(bench, F6)
    other_job(bench, tmp_path, substrate="steel", name="Lid")
    bench.window.pages.identify._finish("pp")
    if not bench.window.pages.on_bench:
        assert plan.piece.piece_id is None  # it is a new piece there, or nothing
    assert bench.session.piece.piece.substrate == "steel"


def test_what_is_half_typed_of_a_piece_stays_in_its_own_job(
    bench: SimpleNamespace, plan: PlanPage, tmp_path: Path
) -> None:
    bench.window.do("edit")
    plan.piece.name.edit.setText("Half typed")
    press(bench, ESC)
    other_job(bench, tmp_path, name="Lid")
    plan.ask_card(CardChoice(CLEAR, Where.LIBRARY))  # from the library, while the other job is open
    plan.card.left.emit()
    bench.window.do("edit")
    assert plan.piece.name.text() == "Lid"


def test_a_card_half_typed_from_the_library_stays_though_another_job_comes(
    bench: SimpleNamespace, plan: PlanPage, tmp_path: Path
) -> None:
    choice = CardChoice(CLEAR, Where.LIBRARY)
    plan.ask_card(choice)
    plan.card.name.edit.setText("Half typed")
    other_job(bench, tmp_path, name="Lid")
    plan.ask_card(None)
    plan.ask_card(choice)
    assert plan.card.name.text() == "Half typed"


def test_a_mark_typed_to_search_and_taken_back_is_no_mark(bench: SimpleNamespace, plan: PlanPage) -> None:
    bench.window.do("piece")
    edit = plan.piece.material.search.edit
    bench.bot.keyClicks(edit, ">PP<")
    assert (plan.piece.text().mark, plan.piece.text().known) == (">PP<", Known.MARKED)
    for _ in range(4):
        bench.bot.keyClick(edit, Qt.Key.Key_Backspace)
    assert (plan.piece.text().mark, plan.piece.text().known) == ("", None)
    bench.bot.keyClicks(edit, ">PP<")
    edit.selectAll()
    bench.bot.keyClicks(edit, "steel")  # the mark was read all the same
    assert plan.piece.text().mark == ">PP<"


def test_a_mark_that_is_on_record_is_not_lost_by_searching(bench: SimpleNamespace, plan: PlanPage) -> None:
    bench.window.do("edit")
    edit = plan.piece.material.search.edit
    bench.bot.keyClicks(edit, ">P")
    for _ in range(2):
        bench.bot.keyClick(edit, Qt.Key.Key_Backspace)
    assert plan.piece.text().mark == ">PET<"


def test_the_stack_that_was_put_on_is_told(bench: SimpleNamespace, plan: PlanPage) -> None:
    bench.window.do("build")
    page = bench.window.pages.build
    said: list[str] = []
    page.said.connect(said.append)
    page._put()
    assert said
    assert said[-1] in _texts(bench.window.status)


def _texts(widget: Any) -> str:
    from PySide6.QtWidgets import QLabel

    labels = widget.findChildren(QLabel) + ([widget] if isinstance(widget, QLabel) else [])
    return " ".join(label.text() for label in labels)


def test_what_the_questions_told_of_face_and_bending_reaches_the_form(plan: PlanPage) -> None:
    plan.ask("piece")
    form = plan.piece
    form.name.fill("Shell")
    plan.take_found(
        PieceText(substrate="unknown", known=Known.UNKNOWN, flex=Flex.FLEXIBLE, found_face=Face.BEHIND_CLEAR)
    )
    assert (form.name.text(), form.face.value, form.flex.value) == ("Shell", "behind clear", "flexible")
    plan.take_found(PieceText(substrate="unknown", known=Known.UNKNOWN))
    assert (form.face.value, form.flex.value) == ("behind clear", "flexible")
