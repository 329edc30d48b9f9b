"""Grading strips by the keys a painter presses, and by hand."""

from functools import partial
from pathlib import Path
from types import SimpleNamespace

import pytest
from builders import ADHESIVE_CLEAR, COLOUR, ONE_PART_PROMOTER, PROMOTER, JobBuilder, hours, minutes
from conftest import StillClock
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMainWindow

from benchtool.bench.gradedraw import BITS, SQUARES, draw_grade, flaked_bits, on_the_tape
from benchtool.bench.gradesteps import StepTile
from benchtool.bench.look import DARK, LIGHT, TARGET, Look
from benchtool.bench.trialgrade import GradeStage
from benchtool.job import events as ev
from benchtool.job.events import FailurePlace, Method
from benchtool.session.session import Session
from benchtool.session.tables import load_tables
from benchtool.session.trialgrading import Spot
from benchtool.store import jobfile
from benchtool.trade.grades import NotAGrade, codes, flaked_squares
from benchtool.trade.quantities import Measures

FOUR = {
    "Two-part promoter": [(PROMOTER, "rigid"), COLOUR],
    "One-part promoter": [ONE_PART_PROMOTER, COLOUR],
    "Clear as primer": [ADHESIVE_CLEAR, COLOUR],
    "None": [COLOUR],
}
LONG = {
    **{f"A promoter with a very long name, {k}, two-part, rigid": [(PROMOTER, "rigid"), COLOUR] for k in range(11)},
    "None": [COLOUR],
}  # fmt: skip
ENTER = Qt.Key.Key_Return
pytestmark = pytest.mark.qt_log_ignore("propagateSizeHints")  # the screen that is not there says so of every window
SHOT = ev.Photo(name="cross.jpg", sha256="a" * 64)


@pytest.fixture
def stage(qtbot, clock: StillClock, tmp_path: Path):
    """The stage alone in a window, on a trial whose coats are all on, so many hours ago."""

    def made(systems=FOUR, *, rested: float = 30.0, size=(1280, 640), spray: bool = True, **plan) -> SimpleNamespace:
        bench = JobBuilder().plan_trial(systems, **plan)
        for strip in bench.state.trials["t1"].plan.strips if spray else ():
            for layer in bench.state.pieces[strip.piece].layers:
                for _ in range(layer.plan.coats):
                    bench.add(ev.CoatStarted, layer=layer.id).add(ev.CoatDone, layer=layer.id)
        bench.wait(hours=rested)
        path = tmp_path / "job.json"
        jobfile.save(path, bench.job)
        clock.at = bench.now
        session = Session(clock, load_tables(), Measures(tmp_path / "cache"))
        session.open(path)
        look, window = Look(), QMainWindow()
        look.fit(*size)
        shown = GradeStage(look, session)
        window.setCentralWidget(shown)
        window.setStyleSheet(look.style_sheet())
        window.resize(*size)
        qtbot.addWidget(window)
        said, asked, photos = [], [], []
        shown.said.connect(said.append)
        shown.stage_asked.connect(asked.append)
        shown.photo_asked.connect(lambda *told: photos.append(told))
        window.show()
        qtbot.waitExposed(window)
        shown.ask("t1")
        window.activateWindow()
        shown.setFocus()
        QApplication.processEvents()
        return SimpleNamespace(
            stage=shown, session=session, clock=clock, said=said, asked=asked, photos=photos, window=window, look=look
        )

    return made


def press(key: Qt.Key, mods=Qt.KeyboardModifier.NoModifier) -> None:
    QTest.keyClick(QApplication.focusWidget(), key, mods)
    QApplication.processEvents()


def write(text: str) -> None:
    QTest.keyClicks(QApplication.focusWidget(), text)


def click(widget) -> None:
    QTest.mouseClick(widget, Qt.MouseButton.LeftButton)
    QApplication.processEvents()


def given(told: SimpleNamespace) -> list[tuple[str, str]]:
    state = told.session.current.state
    return [(g.given.strip, g.given.grade) for g in state.trials["t1"].grades]


def last(told: SimpleNamespace) -> ev.Graded:
    return told.session.current.state.trials["t1"].grades[-1].given


# --- by the keys -----------------------------------------------------------------------------------------


def test_a_painter_types_grade_after_grade_and_goes_down_the_strips(stage) -> None:
    told = stage()
    assert told.stage.form.grade.edit.hasFocus()
    for code in ("5", "5", "5"):
        write(code)
        press(ENTER)
    assert given(told) == [("t1-1", "5"), ("t1-2", "5"), ("t1-3", "5")]
    assert told.stage.spot.strip == "t1-4"
    assert told.said[-1] == "Strip 3, Plain tape, no cuts: 5."
    write("5")
    press(ENTER)
    assert told.stage.spot == Spot("t1-1", (Method.STICK, ()))  # then the next test from the first strip on
    assert told.stage.form.grade.edit.hasFocus()


def test_where_it_let_go_is_asked_once_and_the_arrows_pick_it(stage) -> None:
    told = stage()
    write("3")
    press(ENTER)
    assert given(told) == []
    assert told.stage.form.where.isVisible()
    press(Qt.Key.Key_Down)
    press(Qt.Key.Key_Down)
    press(Qt.Key.Key_Down)
    press(ENTER)
    assert (last(told).place, last(told).layer, last(told).over) == (FailurePlace.BETWEEN, "t1-1-a", "t1-1-b")
    assert told.stage.spot.strip == "t1-2"
    assert not told.stage.form.where.isVisible()


def test_where_it_let_go_may_be_left_open(stage) -> None:
    told = stage()
    write("3")
    press(ENTER)
    press(ENTER)
    assert given(told) == [("t1-1", "3")]
    assert last(told).place is None


def test_a_wrong_grade_is_told_and_stays_as_typed(stage) -> None:
    told = stage()
    write("4.5")
    press(ENTER)
    assert given(told) == []
    assert told.stage.form.grade.text() == "4.5"
    assert told.stage.form.wrong.isVisible()
    assert "between grades" in told.stage.form.wrong.text()
    assert told.said[-1] == told.stage.form.wrong.text()
    press(Qt.Key.Key_Backspace)
    assert not told.stage.form.wrong.isVisible()
    press(Qt.Key.Key_Backspace)
    press(ENTER)
    assert told.stage.form.grade.text() == "4"
    assert told.stage.form.where.isVisible()


def test_enter_with_nothing_typed_says_what_to_write_and_logs_nothing(stage) -> None:
    told = stage()
    press(ENTER)
    assert given(told) == []
    assert told.said[-1] == "Write the grade first: 5 is the best, 0 the worst."


def test_tape_is_logged_by_enter_counts_down_and_is_graded(stage) -> None:
    told = stage(methods=(Method.D3359_B,), name="T")
    assert told.stage.form.go.text() == "The tape is on"
    press(ENTER)
    assert told.said[-1].startswith("Strip 1: tape pressed on")
    assert told.stage.head.count.text == "1:00"
    told.clock.go(seconds=59)
    told.stage.refresh(told.clock.now())
    assert told.stage.head.count.text == "0:01"
    told.clock.go(seconds=1)
    told.stage.refresh(told.clock.now())
    assert told.stage.head.count.text == "1:00"
    assert told.stage.head.stands.text() == "Pull the tape now, then write the grade."
    write("5b")
    press(ENTER)
    assert given(told) == [("t1-1", "5B")]
    assert told.stage.head.count.isHidden()


def test_a_grade_before_the_rest_is_over_is_kept_and_flagged(stage) -> None:
    told = stage(rested=2)
    assert "It rests until" in told.stage.head.stands.text()
    write("5")
    press(ENTER)
    assert given(told) == [("t1-1", "5")]
    assert "Kept, and flagged" in told.said[-1]
    told.stage.grid.pick(Spot("t1-1", (Method.PLAIN_TAPE, ())))
    grid = told.stage.grid.grid
    assert grid.data(grid.index(0, 0)) == "5"
    assert grid.short[Spot("t1-1", (Method.PLAIN_TAPE, ()))] == ("5", "early")


def test_a_graded_strip_is_corrected_and_both_stay_and_undo_brings_the_first_back(stage) -> None:
    told = stage()
    write("5")
    press(ENTER)
    press(Qt.Key.Key_Up)
    assert told.stage.form.grade.text() == "5"
    assert told.stage.form.go.text() == "Next strip"
    press(ENTER)  # nothing was changed: nothing is logged
    assert given(told) == [("t1-1", "5")]
    press(Qt.Key.Key_Up)
    write("4")  # what stands there is marked, so that it is typed over
    press(ENTER)
    press(ENTER)
    assert given(told) == [("t1-1", "5"), ("t1-1", "4")]
    assert "both stay in the record" in told.said[-1]
    told.session.undo()
    told.stage.refresh(told.clock.now())
    assert given(told) == [("t1-1", "5")]
    press(Qt.Key.Key_Up)
    assert told.stage.form.grade.text() == "5"


def test_an_undone_grade_of_the_cell_in_hand_is_no_longer_shown_as_logged(stage) -> None:
    told = stage(methods=(Method.STICK,), name="T")
    write("5")
    press(ENTER)
    press(Qt.Key.Key_Up)
    told.session.undo()
    told.stage.refresh(told.clock.now())
    assert told.stage.form.grade.text() == ""
    assert told.stage.form.go.text() == "Log the grade"


def test_a_logged_grade_is_shown_as_it_is_kept_and_no_longer_waits_as_typed(stage) -> None:
    told = stage(methods=(Method.ISO_2409,), name="T")
    told.session.subscribe(lambda: told.stage.refresh(told.clock.now()))  # as the window does after each act
    press(Qt.Key.Key_Right)
    told.stage.form.note.edit.setText(" smooth ")
    write("class 0")
    press(ENTER)
    press(Qt.Key.Key_Up)
    assert (told.stage.form.grade.text(), told.stage.form.note.text()) == ("0", "smooth")
    assert told.stage.form.go.text() == "Next strip"
    told.stage.form.note.edit.setFocus()
    write(" and shiny")
    told.session.undo()  # what is typed since stays
    assert told.stage.form.note.text() == "smooth and shiny"


def test_u_in_the_empty_line_is_the_bench_s_undo_and_typed_grades_are_typed(stage, qtbot) -> None:
    from PySide6.QtGui import QKeySequence, QShortcut

    told = stage(methods=(Method.PENCIL_ISO,), name="T")
    undone = []
    for letter in ("U", "F", "H", "B"):
        QShortcut(QKeySequence(letter), told.window).activated.connect(partial(undone.append, letter))
    press(Qt.Key.Key_U)
    assert undone == ["U"]
    write("2")
    press(Qt.Key.Key_H)
    assert undone == ["U"]
    press(ENTER)
    assert given(told) == [("t1-1", "2H")]
    press(Qt.Key.Key_F)
    press(ENTER)
    assert given(told)[-1] == ("t1-2", "F")


def test_letters_with_which_no_grade_begins_stay_the_bench_s_over_a_grade_that_is_marked_too(stage) -> None:
    from PySide6.QtGui import QKeySequence, QShortcut

    told = stage()
    heard = []
    for letter in "UHXFRB":
        QShortcut(QKeySequence(letter), told.window).activated.connect(partial(heard.append, letter))
    for key in (Qt.Key.Key_H, Qt.Key.Key_F, Qt.Key.Key_X):
        press(key)
    assert heard == ["H", "F", "X"]
    write("5")
    press(Qt.Key.Key_H)  # something is typed: so is this
    assert (heard, told.stage.form.grade.text()) == (["H", "F", "X"], "5h")
    press(Qt.Key.Key_Backspace)
    press(ENTER)
    press(Qt.Key.Key_Up)
    assert told.stage.form.grade.edit.selectedText() == "5"
    press(Qt.Key.Key_H)
    assert (heard[-1], told.stage.form.grade.text()) == ("H", "5")


def test_a_stray_digit_over_a_grade_asks_before_it_takes_its_place(stage) -> None:
    told = stage(methods=(Method.NAIL,), name="T")
    write("5")
    press(ENTER)
    press(Qt.Key.Key_Up)
    write("4")  # only a mark: where it let go is not asked
    press(ENTER)
    assert given(told) == [("t1-1", "5")]
    assert told.said[-1] == "Strip 1 is graded 5 already: Enter again replaces it by 4."
    assert told.stage.form.choose.isVisible()
    assert told.stage.form.go.text() == "Replace 5"
    press(Qt.Key.Key_Backspace)
    write("3")  # another grade is asked for anew
    assert told.stage.form.go.text() == "Log the grade"
    press(ENTER)
    assert "replaces 5 by 3" in told.said[-1] or "replaces it by 3" in told.said[-1]
    assert given(told) == [("t1-1", "5")]
    press(ENTER)
    assert given(told) == [("t1-1", "5"), ("t1-1", "3")]


def test_where_it_let_go_is_asked_together_with_the_replacing(stage) -> None:
    told = stage()
    write("5")
    press(ENTER)
    press(Qt.Key.Key_Up)
    write("2")
    press(ENTER)
    assert told.said[-1] == "Where did it let go? Pick it, or leave it open: Enter replaces 5 by 2."
    press(ENTER)
    assert given(told) == [("t1-1", "5"), ("t1-1", "2")]


def test_a_test_that_was_done_too_early_is_graded_again_without_a_question(stage) -> None:
    told = stage(methods=(Method.NAIL,), name="T", rested=2)
    write("5")
    press(ENTER)
    told.clock.go(hours=30)
    told.stage.refresh(told.clock.now())
    told.stage._pick(Spot("t1-2", (Method.NAIL, ())))
    told.stage._pick(Spot("t1-1", (Method.NAIL, ())))
    write("4")
    press(ENTER)
    assert given(told)[-1] == ("t1-1", "4")


def test_the_arrows_move_over_strips_and_tests_and_what_is_half_typed_waits(stage) -> None:
    told = stage()
    write("4.")
    press(Qt.Key.Key_Down)
    assert told.stage.spot.strip == "t1-2"
    assert told.stage.form.grade.text() == ""
    press(Qt.Key.Key_Right)
    assert told.stage.spot == Spot("t1-2", (Method.STICK, ()))
    press(Qt.Key.Key_Left)
    press(Qt.Key.Key_Up)
    assert told.stage.form.grade.text() == "4."
    told.stage.ask("t1")  # another stage was looked at
    assert told.stage.form.grade.text() == "4."


def test_a_held_enter_answers_no_question(stage) -> None:
    from PySide6.QtCore import QEvent
    from PySide6.QtGui import QKeyEvent

    told = stage()
    write("3")
    press(ENTER)
    for _ in range(3):
        again = QKeyEvent(QEvent.Type.KeyPress, ENTER, Qt.KeyboardModifier.NoModifier, "\r", True)
        QApplication.sendEvent(QApplication.focusWidget(), again)
    assert given(told) == []  # it still asks where it let go
    assert told.stage.form.where.isVisible()


# --- by hand ---------------------------------------------------------------------------------------------


def test_a_tap_on_a_step_and_on_the_button_logs_it(stage) -> None:
    told = stage()
    click(told.stage.form.steps.tiles["5"])
    assert told.stage.form.grade.text() == "5"
    assert told.stage.form.steps.tiles["5"].isChecked()
    click(told.stage.form.go)
    assert given(told) == [("t1-1", "5")]
    assert all(t.height() >= TARGET and t.width() >= TARGET for t in told.stage.findChildren(StepTile))


def test_a_click_on_a_cell_turns_to_it(stage) -> None:
    told = stage()
    grid = told.stage.grid
    told.stage.form.note.edit.setFocus()
    spot = grid.visualRect(grid.grid.index(2, 1)).center()
    QTest.mouseClick(grid.viewport(), Qt.MouseButton.LeftButton, pos=spot)
    assert told.stage.spot == Spot("t1-3", (Method.STICK, ()))
    assert told.stage.form.grade.edit.hasFocus()


def test_the_percentage_offers_the_class_or_asks_to_choose(stage) -> None:
    told = stage(methods=(Method.D3359_B,), name="T")
    form = told.stage.form
    form.percent.edit.setFocus()
    write("10")
    assert form.steps.tiles["3B"].isChecked()
    press(Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    write("16 ± 3")
    assert form.choose.text() == "The standard allows no grade in between: choose 3B or 2B."
    assert [code for code, tile in form.steps.tiles.items() if tile.offered] == ["3B", "2B"]
    press(ENTER)
    assert given(told) == []
    assert form.wrong.isVisible()
    click(form.steps.tiles["2B"])
    press(ENTER)
    press(ENTER)
    assert (last(told).grade, last(told).removed_percent, last(told).plus_minus) == ("2B", 16.0, 3.0)


def test_a_photo_is_asked_for_and_what_was_measured_goes_to_the_strip_it_was_asked_for(stage) -> None:
    told = stage(methods=(Method.ISO_2409, Method.STICK), name="T")
    press(Qt.Key.Key_F8)
    assert told.photos == [("t1", "t1-1", Method.ISO_2409)]
    told.stage.form.take_focus()
    press(Qt.Key.Key_Down)
    assert told.stage.spot.strip == "t1-2"
    told.stage.ask("t1")
    told.stage.take_measured(12.34, 2.0, ("2",), SHOT)
    assert told.stage.spot.strip == "t1-1"
    assert told.stage.form.percent.text() == "12.3 ± 2"
    assert told.stage.form.measured.text() == "Measured from a photo."
    assert told.said[-1] == "12.3 ± 2 % came off: Enter logs class 2 for Strip 1."
    press(ENTER)
    press(ENTER)
    assert (last(told).strip, last(told).grade, last(told).photo) == ("t1-1", "2", SHOT)
    press(Qt.Key.Key_Right)
    assert not told.stage.form.photo.isVisible()
    press(Qt.Key.Key_F8)
    assert len(told.photos) == 1
    assert told.said[-1] == "This test is not measured from a photo: grade it by its steps."


def test_two_candidates_of_a_photo_are_left_to_the_painter(stage) -> None:
    told = stage(methods=(Method.ISO_2409,), name="T")
    told.stage.take_measured(15.0, 2.0, ("2", "3"), SHOT)
    assert told.stage.form.grade.text() == ""
    assert told.stage.form.choose.isVisible()
    press(ENTER)
    assert given(told) == []


def test_blind_grading_shows_no_system_anywhere_and_keeps_what_is_typed(stage) -> None:
    told = stage()
    write("3")
    click(told.stage.blind)
    assert told.stage.form.grade.text() == "3"
    assert told.stage.spot.strip == "t1-1"
    told.stage.form.take_focus()
    press(ENTER)
    grid, form = told.stage.grid.grid, told.stage.form
    heads = [grid.headerData(k, Qt.Orientation.Vertical) for k in range(4)]
    assert heads == [f"Strip {k}" for k in range(1, 5)]
    places = [form.place.list.item(k).toolTip() for k in range(form.place.list.count())]
    shown = " ".join(
        (*places, told.stage.head.title.text(), told.stage.head.system.text(), told.stage.side.call.text())
    )
    assert "romoter" not in shown
    press(ENTER)
    assert given(told) == [("t1-1", "3")]
    click(told.stage.blind)
    assert "Two-part promoter" in grid.headerData(0, Qt.Orientation.Vertical)


# --- what is shown ---------------------------------------------------------------------------------------


def test_without_a_trial_it_says_so_and_leads_to_the_set_up(stage) -> None:
    told = stage()
    told.stage.ask(None)
    assert told.stage.empty.isVisible()
    click(told.stage.set_up)
    assert told.asked == ["setup"]
    told.stage.ask("gone")
    assert told.stage.faces.currentIndex() == 1


def test_when_all_is_graded_the_comparison_is_one_press_away(stage) -> None:
    told = stage({"A": [(PROMOTER, "rigid"), COLOUR], "None": [COLOUR]}, methods=(Method.NAIL,), name="T")
    for _ in range(2):
        write("5")
        press(ENTER)
    assert told.stage.side.call.text() == "All strips are graded."
    assert told.stage.side.go_on.key == "Ctrl+Enter"
    press(ENTER, Qt.KeyboardModifier.ControlModifier)
    assert told.asked == ["compare"]
    assert len(given(told)) == 2


def test_a_tape_on_another_strip_is_called_out_when_it_is_to_be_pulled(stage) -> None:
    told = stage(methods=(Method.D3359_B,), name="T")
    press(ENTER)
    press(Qt.Key.Key_Down)
    told.clock.go(seconds=60)
    told.stage.refresh(told.clock.now())
    assert told.stage.side.call.text() == "Pull the tape: Strip 1."


def test_the_caution_of_the_blade_and_the_cuts_are_told_at_the_step(stage) -> None:
    told = stage(methods=(Method.ISO_2409,), name="T")
    how = told.stage.form.how
    assert how.caution.isVisible()
    assert how.caution.text().startswith("Caution: Cut away from yourself")
    lines = " ".join(line.text() for line in how.lines)
    for word in ("six lines", "1 mm", "tape", "60°", "0.5 to 1 s"):
        assert word in lines


def test_between_two_edges_a_second_draws_the_table_no_more(stage, monkeypatch) -> None:
    told = stage(rested=2)
    told.stage.refresh(told.clock.now())
    drawn = []
    monkeypatch.setattr(told.stage.side, "show_board", lambda *a: drawn.append(a))
    for _ in range(5):
        told.clock.go(seconds=1)
        told.stage.refresh(told.clock.now())
    assert drawn == []
    told.clock.go(hours=22)
    told.stage.refresh(told.clock.now())
    assert len(drawn) == 1


@pytest.mark.parametrize("size", [(853, 400), (1280, 640), (1920, 1000)])
@pytest.mark.parametrize("method", list(Method))
def test_twelve_strips_with_long_names_and_every_test_fit_the_width(stage, size, method) -> None:
    tests = (method, *(m for m in Method if m is not method))[:6]
    told = stage(LONG, size=size, methods=tests, name="T", tape_stays=minutes(10), rest=hours(1))
    assert told.stage.board is not None
    assert told.stage.width() == size[0]
    form = told.stage.form
    assert form.width() <= told.stage.area.viewport().width()
    assert form.minimumSizeHint().width() <= told.stage.area.viewport().width()
    write(codes(method)[-1])
    press(ENTER)
    press(ENTER)
    assert given(told)[0][0] == "t1-1"


@pytest.mark.parametrize("method", [Method.ISO_2409, Method.D3359_B, Method.PLAIN_TAPE, Method.STICK, Method.NAIL])
def test_where_there_is_little_height_the_field_the_steps_and_the_strip_in_hand_are_in_sight(stage, method) -> None:
    told = stage(LONG, size=(853, 262), methods=(method, Method.PENCIL_ISO), name="T")
    told.stage._pick(Spot("t1-9", (method, ())))
    QApplication.processEvents()
    form, view = told.stage.form, told.stage.area.viewport()
    for part in (form.grade, form.go, *form.steps.tiles.values()):
        top = part.mapTo(view, part.rect().topLeft()).y()
        assert 0 <= top <= view.height() - part.height(), part.objectName()
    grid = told.stage.grid
    row = grid.visualRect(grid.currentIndex())
    assert 0 <= row.top() <= grid.viewport().height() - row.height()
    told.window.resize(1280, 640)
    QApplication.processEvents()
    assert not any(tile.small for tile in form.steps.tiles.values())


def test_each_column_says_which_end_of_its_scale_is_best(stage) -> None:
    told = stage(methods=(Method.ISO_2409, Method.STICK), name="T")
    heads = [told.stage.grid.grid.headerData(k, Qt.Orientation.Horizontal) for k in range(2)]
    assert heads == ["Cross-cut, ISO\n0 is best", "Stick\n5 is best"]


# --- the pictures ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("method", [Method.ISO_2409, Method.D3359_B])
def test_the_lattice_has_as_much_gone_as_stands_for_the_class(method) -> None:
    for code in codes(method):
        percent = flaked_squares(method, code)
        gone = flaked_bits(percent)
        assert len(gone) / (SQUARES * BITS) ** 2 == pytest.approx(percent / 100, abs=0.002)
    few = flaked_bits(flaked_squares(method, codes(method)[1]))
    assert all(i % BITS in (0, BITS - 1) and j % BITS in (0, BITS - 1) for i, j in few)  # where cuts cross


def test_the_tape_has_more_paint_on_for_each_worse_step() -> None:
    on = [len(on_the_tape(step)) for step in range(6)]
    assert on == sorted(on)
    assert len(set(on)) == 6


@pytest.mark.parametrize("theme", [LIGHT, DARK])
@pytest.mark.parametrize("method", list(Method))
def test_every_grade_has_its_own_picture(qapp, method, theme) -> None:
    def drawn(code: str) -> bytes:
        image = QImage(64, 64, QImage.Format.Format_RGB32)
        image.fill(theme.color("paper"))
        painter = QPainter(image)
        try:
            draw_grade(painter, QRectF(0, 0, 64, 64), theme, method, code)
        finally:
            painter.end()  # else the picture goes before its painter
        return bytes(image.constBits())

    pictures = [drawn(code) for code in codes(method)]
    assert len(set(pictures)) == len(pictures)
    assert drawn(codes(method)[0]) == pictures[0]
    with pytest.raises(NotAGrade):
        drawn("12")
