"""The page that finds out what a piece is made of, on real keys in the real window."""

from functools import partial
from types import SimpleNamespace
from typing import Any

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication

from benchtool.bench.identify import IdentifyPage
from benchtool.job.events import Face, Known, PieceChanged
from benchtool.session.planning import PieceText

ENTER, ESC, LEFT, DOWN, TAB = Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_Left, Qt.Key.Key_Down, Qt.Key.Key_Tab


@pytest.fixture
def page(bench: SimpleNamespace) -> IdentifyPage:
    """The page as it opens on the piece in hand."""
    with bench.bot.waitActive(bench.window):  # a window that is not active gives no focus
        bench.window.activateWindow()
    bare = replace(bench.session.piece.piece, mark="")  # whatever the demo says of it
    bench.session.apply(partial(PieceChanged, piece=bare))
    bench.window.pages.find_out(for_form=False)
    made = bench.window.pages.identify
    assert isinstance(made, IdentifyPage)
    assert bench.window.pages.currentWidget() is made
    return made


def keys(bench: SimpleNamespace, *which: Any) -> None:
    for key in which:
        here = QApplication.focusWidget()
        assert here is not None
        (bench.bot.keyClicks if isinstance(key, str) else bench.bot.keyClick)(here, key)


def test_a_mark_typed_is_explained_and_taken_by_enter(bench: SimpleNamespace, page: IdentifyPage) -> None:
    said: list[str] = []
    page.said.connect(said.append)
    keys(bench, "m", ">PP+EPDM-TD20<")
    assert "20 % talc powder" in page.mark_words.text()
    assert page.mark_problem.isHidden()
    assert page.list.value == "tpo"
    assert "The mark on it names this." in page.why.pro.text()
    assert "maker's own mark says so" in page.told.text()
    keys(bench, ENTER)
    assert QApplication.focusWidget() is page.go  # on to what the mark settles, which is not taken by that press
    assert bench.session.piece.piece.substrate != "tpo"
    keys(bench, ENTER)
    piece = bench.session.piece.piece
    assert (piece.substrate, piece.known, piece.mark) == ("tpo", Known.MARKED, ">PP+EPDM-TD20<")
    assert said == [f"{piece.name} is TPO (PP+EPDM)."]


def test_a_digit_answers_at_once_and_is_no_mark(bench: SimpleNamespace, page: IdentifyPage) -> None:
    assert QApplication.focusWidget() is page.question
    keys(bench, "5")
    assert page.finding.search.answers == {"what-is-it": "clear-shell"}
    assert page.mark.text() == ""
    assert page.finding.search.mark == ""


@pytest.mark.parametrize("way", ["m", "tab", "click"])
def test_the_mark_is_one_key_or_one_click_away(bench: SimpleNamespace, page: IdentifyPage, way: str) -> None:
    if way == "click":
        bench.bot.mouseClick(page.type_it, Qt.MouseButton.LeftButton)
    else:
        keys(bench, "m" if way == "m" else TAB)
    assert QApplication.focusWidget() is page.mark.edit
    keys(bench, "m")  # in the field it is typed
    assert page.mark.text() == "m"
    assert page.type_it.isHidden()


def test_a_number_alone_asks_for_its_triangle_and_is_never_taken(bench: SimpleNamespace, page: IdentifyPage) -> None:
    keys(bench, "m", "5")
    assert page.mark_words.text() == "Is the 5 in a triangle? A number alone is no mark."
    assert page.finding.marked == {}
    assert not page.go.isEnabled()
    keys(bench, ENTER)
    assert QApplication.focusWidget() is page.triangle
    keys(bench, "1")  # it was meant for the question after all
    assert page.finding.search.answers == {"what-is-it": "bumper"}
    assert "pp" not in page.finding.marked
    keys(bench, "m", ENTER, ENTER)
    assert page.mark.text() == "triangle 5"
    assert page.triangle.isHidden()
    assert page.finding.marked == {"pp": 0}
    assert "maker" not in page.told.text()  # it sorts waste
    assert bench.session.piece.piece.substrate != "pp"


def test_enter_on_a_mark_that_settles_nothing_goes_on_to_the_question(
    bench: SimpleNamespace, page: IdentifyPage
) -> None:
    before = bench.session.piece.piece
    keys(bench, "m", ">PVC<", ENTER)  # soft or rigid: a mark names both
    assert QApplication.focusWidget() is page.question
    keys(bench, "9")
    assert page.finding.search.answers == {"what-is-it": "case"}
    assert bench.session.piece.piece == before


def test_esc_in_the_mark_goes_back_to_the_question_first(bench: SimpleNamespace, page: IdentifyPage) -> None:
    keys(bench, "m", "AB", ESC)
    assert not bench.window.pages.on_bench
    assert QApplication.focusWidget() is page.question
    assert page.mark.text() == "AB"
    keys(bench, ESC)
    assert bench.window.pages.on_bench


def test_where_there_is_little_room_the_answers_are_rolled_into_view(
    bench: SimpleNamespace, page: IdentifyPage
) -> None:
    bench.window.resize(853, 480)
    page.take_focus()
    bar = page.asked_area.verticalScrollBar()
    bench.bot.waitUntil(lambda: bar.value() == min(page.question.y(), bar.maximum()))
    assert bar.value() > 0
    keys(bench, "m")
    assert bar.value() == 0


def test_a_key_held_down_answers_and_takes_nothing(bench: SimpleNamespace, page: IdentifyPage) -> None:
    keys(bench, "m", ">ABS<", ENTER)
    before = bench.session.piece.piece
    for key, text in ((Qt.Key.Key_Return, "\r"), (Qt.Key.Key_5, "5")):
        held = QKeyEvent(QKeyEvent.Type.KeyPress, key, Qt.KeyboardModifier.NoModifier, text, True)
        page.keyPressEvent(held)
    assert bench.session.piece.piece == before
    assert page.finding.search.answers == {}


def test_digits_and_letters_are_not_lost_in_the_list(bench: SimpleNamespace, page: IdentifyPage) -> None:
    page.list.list.setFocus()
    keys(bench, "5")
    assert page.finding.search.answers == {"what-is-it": "clear-shell"}
    page.list.list.setFocus()
    keys(bench, "m")
    assert QApplication.focusWidget() is page.mark.edit


def test_what_was_answered_goes_into_the_description_of_a_new_piece(bench: SimpleNamespace, page: IdentifyPage) -> None:
    found: list[PieceText] = []
    page.chosen.connect(found.append)
    page.ask(None)
    keys(bench, "5", Qt.Key.Key_Question)
    assert [(f.substrate, f.found_face) for f in found] == [("unknown", Face.BEHIND_CLEAR)]


def test_what_was_answered_otherwise_than_described_is_told(bench: SimpleNamespace, page: IdentifyPage) -> None:
    said: list[str] = []
    page.said.connect(said.append)
    outside = replace(bench.session.piece.piece, face=Face.OUTSIDE)
    bench.session.apply(partial(PieceChanged, piece=outside))
    keys(bench, "5", Qt.Key.Key_Question)
    assert "painted from behind" in said[-1]
    assert bench.session.piece.piece.face is Face.OUTSIDE


def test_a_long_name_in_the_title_ends_in_dots(bench: SimpleNamespace, page: IdentifyPage) -> None:
    long = replace(bench.session.piece.piece, name="Left side panel of the old touring machine " * 4)
    bench.session.apply(partial(PieceChanged, piece=long))
    page.ask(bench.session.piece)
    assert page.title.text().endswith("…")
    assert long.name.strip() in page.title.toolTip()


def test_digits_answer_and_back_goes_back(bench: SimpleNamespace, page: IdentifyPage) -> None:
    keys(bench, "5", "1")
    assert page.finding.search.answers == {"what-is-it": "clear-shell", "old-paint": "bare"}
    keys(bench, LEFT)
    assert page.question.ask.text() == "Is there paint on it already?"
    assert page.question.buttons["bare"].isChecked()
    keys(bench, Qt.Key.Key_Backspace)
    assert page.question.ask.text() == "What is the piece?"
    keys(bench, LEFT)
    assert QApplication.focusWidget() is page.mark.edit
    keys(bench, "5")  # in the field a digit is typed
    assert page.mark.text() == "5"
    keys(bench, DOWN, "0")
    assert page.finding.search.answers["what-is-it"] == "can't say"
    keys(bench, "9")  # no such answer
    assert page.finding.search.answers["old-paint"] == "bare"


def test_one_is_chosen_by_arrows_and_enter(bench: SimpleNamespace, page: IdentifyPage) -> None:
    said: list[str] = []
    page.said.connect(said.append)
    keys(bench, "5", "1")
    assert not page.go.isEnabled()  # polycarbonate and PET fit alike: nothing is taken by a slip of the hand
    keys(bench, ENTER)
    assert "Choose a material" in said[-1]
    keys(bench, DOWN, DOWN)
    assert page.list.value == "pet"
    assert page.why.name.text() == "PET or PETG"
    assert "Clear shells" in page.why.pro.text()
    keys(bench, ENTER)
    piece = bench.session.piece.piece
    assert (piece.substrate, piece.known) == ("pet", Known.GUESSED)
    assert [c.test for c in piece.clues] == ["what-is-it", "old-paint"]


def test_what_is_ruled_out_says_so_and_can_be_taken_all_the_same(bench: SimpleNamespace, page: IdentifyPage) -> None:
    keys(bench, ENTER)
    page.finding.search.answers["magnet"] = "holds"
    page._redraw()
    page._pick("abs")
    assert "No magnet holds on it." in page.why.con.text()
    assert page.go.text() == "It is this all the same"
    page.go.click()
    assert bench.session.piece.piece.substrate == "abs"


def test_the_mouse_does_all_of_it(bench: SimpleNamespace, page: IdentifyPage) -> None:
    bench.bot.mouseClick(page.question.buttons["visor"], Qt.MouseButton.LeftButton)
    bench.bot.mouseClick(page.question.skip, Qt.MouseButton.LeftButton)
    assert page.finding.search.answers == {"what-is-it": "visor", "old-paint": "can't say"}
    bench.bot.mouseClick(page.question.go_back, Qt.MouseButton.LeftButton)
    assert page.question.skip.isChecked()
    bench.bot.mouseClick(page.unknown, Qt.MouseButton.LeftButton)
    assert bench.session.piece.piece.known is Known.UNKNOWN
    assert bench.session.piece.piece.substrate == "unknown"


def test_a_new_piece_gets_what_was_found(bench: SimpleNamespace, page: IdentifyPage) -> None:
    found: list[PieceText] = []
    page.chosen.connect(found.append)
    page.ask(None)
    assert page.title.text() == "What is it made of?"
    keys(bench, "m", "HDPE", ENTER, "6", ENTER)
    assert [(f.substrate, f.known, f.mark) for f in found] == [("pe-hd", Known.MARKED, "HDPE")]
    assert found[0].clues[0].answer == "plastic-tank"
    page.ask(None)
    assert page.mark.text() == ""


def test_what_is_half_done_is_still_there(bench: SimpleNamespace, page: IdentifyPage) -> None:
    keys(bench, "m", "abs", ENTER, "4", ESC)
    assert bench.window.pages.on_bench
    bench.window.pages.find_out(for_form=False)
    assert page.mark.text() == "abs"
    assert page.finding.search.answers == {"what-is-it": "helmet"}
    keys(bench, Qt.Key.Key_Question)
    assert bench.session.piece.piece.mark == "abs"


def test_the_end_of_the_questions_is_told(bench: SimpleNamespace, page: IdentifyPage) -> None:
    keys(bench, *("0" for _ in range(20)))
    assert "all one can tell" in page.question.ask.text()
    assert page.question.skip.isHidden()
    keys(bench, "1", "0")
    assert page.finding.question is None
    keys(bench, LEFT)
    assert page.finding.question is not None


def test_what_is_not_done_is_on_the_page(page: IdentifyPage) -> None:
    assert "No burning" in page.refused.text()
    assert "No solvent" in page.refused.text()


def test_another_piece_in_hand_is_followed(bench: SimpleNamespace, page: IdentifyPage) -> None:
    keys(bench, "1")
    other = next(p for p in bench.session.writable().state.pieces if p != bench.session.piece_id)
    bench.session.pick(other)
    assert page.finding.piece_id == other
    assert bench.session.piece.piece.name in page.title.text()
    assert page.finding.search.answers == {}


def test_a_read_only_job_is_told(bench: SimpleNamespace, page: IdentifyPage) -> None:
    said: list[str] = []
    page.said.connect(said.append)
    bench.session.current.read_only = "Somebody else has it."
    keys(bench, "m", ">ABS<", ENTER, ENTER)
    assert said == ["Somebody else has it."]
    bench.session.current.read_only = ""


@pytest.mark.parametrize(("width", "height"), [(853, 480), (1280, 720), (1920, 1080)])
def test_every_stop_is_reached_by_tab_and_the_targets_are_large(
    bench: SimpleNamespace, page: IdentifyPage, width: int, height: int
) -> None:
    bench.window.resize(width, height)
    QApplication.processEvents()
    keys(bench, "m", ">ABS<", TAB)
    names = []
    for _ in range(9):
        here = QApplication.focusWidget()
        assert here is not None
        names.append(here.objectName())
        keys(bench, TAB)
    wanted = {"identify-mark", "identify-question", "identify-list-list", "identify-go", "identify-unknown"}
    assert wanted <= set(names), names
    assert page.width() <= bench.window.width()
    for button in (
        page.type_it,
        page.triangle,
        *page.question.buttons.values(),
        page.question.skip,
        page.go,
        page.unknown,
        page.away,
    ):
        assert button.height() >= 48
