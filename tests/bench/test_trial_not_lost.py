"""On the page of trials nothing typed is lost or lands elsewhere, and no key does what is not seen."""

import gc
import weakref
from datetime import timedelta
from functools import partial
from pathlib import Path
from types import SimpleNamespace

import pytest
from builders import JobBuilder
from msgspec.structs import replace
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from trade.crosscut_pictures import Scene, shoot
from trialbuilder import planned, prepared, shell, strips_of, tried

from benchtool.job import events as ev
from benchtool.session.demo import TRIAL_DEMO, new_demo
from benchtool.session.trialkinds import of_layers
from benchtool.session.trialsetup import Offer, Ready
from benchtool.store import jobfile
from benchtool.trade.grades import Method

SHIFT = Qt.KeyboardModifier.ShiftModifier


@pytest.fixture
def two(bench: SimpleNamespace, tmp_path: Path) -> SimpleNamespace:
    """The window with two jobs whose trials, strips and layers have the same ids; the first is in hand."""
    first = bench.session.open(new_demo(tmp_path / "one", bench.clock.now(), TRIAL_DEMO))
    second = bench.session.open(new_demo(tmp_path / "two", bench.clock.now(), TRIAL_DEMO))
    bench.session.pick_document(first)
    bench.first, bench.second = first, second
    bench.window.do("trials")
    bench.page = bench.window.pages.trial
    assert bench.window.pages.currentWidget() is bench.page
    assert bench.page.trial_id == "t1"
    return bench


def press(bench: SimpleNamespace, key: Qt.Key, *held: Qt.KeyboardModifier) -> None:
    target: QWidget = bench.window.focusWidget() or bench.window
    QTest.keyClick(target, key, *held)


def grades(document) -> list[str]:
    return [g.given.grade for g in document.state.trials["t1"].grades]


# --- another job, with the same ids -------------------------------------------------------------------


def test_a_grade_that_is_typed_stays_with_its_job(two: SimpleNamespace) -> None:
    two.page.show_stage("grade")
    stage = two.page.grade
    spot = stage.spot
    stage.form.note.edit.setText("soft at the edge")
    two.session.pick_document(two.second)
    assert stage.form.note.text() == ""
    stage.form.note.edit.setText("of the second job")
    two.session.pick_document(two.first)
    assert stage.spot == spot
    assert stage.form.note.text() == "soft at the edge"
    two.session.pick_document(two.second)
    assert stage.form.note.text() == "of the second job"


def test_a_grade_that_is_typed_stays_with_its_job_over_the_bench(two: SimpleNamespace) -> None:
    two.page.show_stage("grade")
    stage = two.page.grade
    stage.form.note.edit.setText("soft at the edge")
    press(two, Qt.Key.Key_Escape)
    two.session.pick_document(two.second)
    press(two, Qt.Key.Key_T, SHIFT)
    assert stage.form.note.text() == ""
    two.session.pick_document(two.first)
    assert stage.form.note.text() == "soft at the edge"


def test_a_strip_set_aside_in_one_job_is_not_aside_in_another(two: SimpleNamespace) -> None:
    two.page.show_stage("run")
    stage = two.page.run
    press(two, Qt.Key.Key_Right)
    press(two, Qt.Key.Key_Space)
    assert stage.side.aside
    two.session.pick_document(two.second)
    assert not stage.side.aside


def test_the_question_for_which_piece_is_gone_with_its_job(two: SimpleNamespace) -> None:
    for document in (two.first, two.second):
        piece = document.state.pieces["shell"].piece
        two.session.apply_to(document, partial(ev.PieceAdded, piece=replace(piece, id="p90", name="Wing")))
        trial = document.state.trials["t1"].plan
        two.session.apply_to(document, partial(ev.TrialReplanned, trial=replace(trial, piece=None)))
    two.page.show_stage("compare")
    two.page.compare._ask_which()
    assert not two.page.compare.asks.isHidden()
    two.session.pick_document(two.second)
    assert two.page.compare.asks.isHidden()


def test_the_page_shows_one_trial_when_the_job_changes(two: SimpleNamespace) -> None:
    two.page.show_stage("setup")
    assert two.page.setup.setup.trial == "t1"
    two.session.pick_document(two.second)
    assert two.page.trial_id == "t1"
    assert two.page.setup.setup.trial == "t1"


def test_another_job_without_a_trial_shows_none(two: SimpleNamespace, tmp_path: Path) -> None:
    two.page.show_stage("run")
    two.session.create(tmp_path / "none.json", "None")
    assert two.page.trial is None
    assert two.page.run.acts == ()
    two.session.pick_document(two.second)
    assert two.page.trial is not None


# --- a question that time or another act has settled --------------------------------------------------


def test_a_group_act_that_another_act_forestalled_leaves_the_beat_alone(two: SimpleNamespace) -> None:
    from benchtool.session.trialrun import GroupAct

    two.page.show_stage("run")
    found = two.session.findings()
    stop = next(f for f in found)

    class Gone:
        on = False

    def find():
        if Gone.on:
            from benchtool.session.session import NotNow

            raise NotNow("Coat 1 of strip 1 was begun already.")
        return (stop,)

    act = GroupAct(
        title="Start", words="w", done_words="d", strips=(), make=lambda: (), find=find,
        tell=lambda found: ("Stop.", "Wait."),
    )  # fmt: skip
    two.window._do_on_strips(act)
    assert two.window.doing.asking
    Gone.on = True
    two.beat(seconds=1)
    assert not two.window.doing.asking
    assert "begun already" in two.window.status.said.text()


# --- keys ------------------------------------------------------------------------------------------------


def test_a_digit_in_the_far_view_changes_no_stage_unseen(two: SimpleNamespace) -> None:
    two.page.show_stage("run")
    two.window.toggle_far()
    two.window._pick_piece(3)
    assert two.page.stage == "run"


@pytest.mark.parametrize("stage", ["setup", "run", "grade", "compare", "past"])
@pytest.mark.parametrize("key", [Qt.Key.Key_S, Qt.Key.Key_D, Qt.Key.Key_M, Qt.Key.Key_Space, Qt.Key.Key_PageDown])
def test_a_key_of_the_bench_writes_nothing_unseen(two: SimpleNamespace, stage: str, key: Qt.Key) -> None:
    two.page.show_stage(stage)
    before = two.first.job
    press(two, key)
    if two.first.job is not before:
        assert two.window.pages.on_bench, "written while the page of trials is seen"


# --- closing ---------------------------------------------------------------------------------------------


def test_go_to_it_goes_to_the_set_up_that_is_half_done(two: SimpleNamespace) -> None:
    two.page.new_trial()
    two.page.setup.about.name.edit.setText("Half")
    two.page.setup.about.name.edit.textEdited.emit("Half")
    two.page.show_stage("run")
    two.window.close()
    assert two.window.isVisible()
    assert two.window.doing.pick.question.text().startswith("A trial is half set up. It is kept")
    two.window.doing.answer(1)
    assert two.page.stage == "setup"
    assert two.page.setup.about.name.text() == "Half"


def test_a_grade_half_typed_keeps_the_window_open(two: SimpleNamespace) -> None:
    two.page.show_stage("grade")
    two.page.grade.form.note.edit.setText("soft at the edge")
    two.page.show_stage("run")
    two.window.close()
    assert two.window.isVisible()
    two.window.doing.answer(1)
    assert two.page.stage == "grade"
    assert two.page.grade.form.note.text() == "soft at the edge"


def test_a_trial_set_up_like_another_loses_nothing_half_typed(two: SimpleNamespace) -> None:
    two.page.new_trial()
    for field, text in ((two.page.setup.about.name, "Mine"), (two.page.setup.details.note, "on the offcut")):
        field.edit.setText(text)
        field.edit.textEdited.emit(text)
    theirs = next(x for x in two.first.state.trials["t1"].plan.systems if x.control)
    rows = of_layers([(two.first.state.cards[x.plan.card], x.plan) for x in two.first.state.pieces["shell"].layers])
    if not rows:
        strip = two.first.state.trials["t1"].strips_of(theirs.id)[0].piece
        rows = of_layers([(two.first.state.cards[x.plan.card], x.plan) for x in two.first.state.pieces[strip].layers])
    two.page.show_stage("past")
    two.page._set_up_like([(theirs.name, True, rows)])
    made = two.page.setup.setup
    assert (made.name, made.note) == ("Mine", "on the offcut")
    assert [(c.name, c.rows) for c in made.systems][-1:] == [(theirs.name, made.systems[-1].rows)]
    assert len(made.systems) >= 1
    count = len(made.systems)
    two.page._set_up_like([(theirs.name, True, rows)])
    assert len(two.page.setup.setup.systems) == count


# --- text ------------------------------------------------------------------------------------------------


def test_no_tool_tip_takes_a_name_for_markup(two: SimpleNamespace) -> None:
    plan = two.first.state.trials["t1"].plan
    two.session.apply(partial(ev.TrialReplanned, trial=replace(plan, name="<b>Zinc</b> & co")))
    assert two.page.name.toolTip() == "<qt>&lt;b&gt;Zinc&lt;/b&gt; &amp; co</qt>"


# --- a photo ---------------------------------------------------------------------------------------------


@pytest.fixture
def photo(two: SimpleNamespace, tmp_path: Path) -> SimpleNamespace:
    """The page with a photo measured for a strip, and one stroke of the brush on it."""
    plan = two.first.state.trials["t1"].plan
    two.session.apply(partial(ev.TrialReplanned, trial=replace(plan, methods=(Method.ISO_2409,))))
    file = tmp_path / "cross.jpg"
    file.write_bytes(shoot(Scene(seed=3, removed=24, size=(800, 600), share=0.62)).data)
    two.page.show_stage("grade")
    two.strip = two.first.state.trials["t1"].plan.strips[0].piece
    two.page._ask_photo("t1", two.strip, Method.ISO_2409)
    two.photo = two.page.photo
    two.photo.open(file)
    settle(two)
    two.photo.measure()
    settle(two)
    hand = two.photo.hand
    hand.begin()
    hand.brush((100, 100), (400, 400), 30, bare=True)
    assert hand.end()
    two.photo._recount()
    settle(two)
    return two


def settle(bench: SimpleNamespace) -> None:
    bench.bot.waitUntil(lambda: not bench.photo.work.doing, timeout=20_000)


def test_a_photo_that_is_left_takes_no_room_and_is_there_again(photo: SimpleNamespace) -> None:
    percent = photo.photo.answer.percent
    pixels = weakref.ref(photo.photo.work.shot.photo.pixels)
    photo.page.show_stage("run")
    gc.collect()
    assert pixels() is None
    photo.page._ask_photo("t1", photo.strip, Method.ISO_2409)
    settle(photo)
    assert photo.photo.step == "mask"
    assert photo.photo.answer.percent == percent
    assert photo.photo.hand.corrected


def test_a_photo_brushed_and_not_taken_keeps_the_window_open(photo: SimpleNamespace) -> None:
    photo.page.show_stage("run")
    photo.window.close()
    assert photo.window.isVisible()
    photo.window.doing.answer(1)
    settle(photo)
    assert photo.page.stages.currentWidget() is photo.photo
    assert photo.photo.hand.corrected


def test_a_photo_that_was_taken_and_graded_keeps_nothing_open(photo: SimpleNamespace) -> None:
    photo.photo.take(photo.photo.answer.candidates[0])
    settle(photo)
    assert photo.page.stage == "grade"
    before = len(photo.first.state.trials["t1"].grades)
    for _ in range(2):  # it may ask once where it let go
        if len(photo.first.state.trials["t1"].grades) == before:
            photo.page.grade._enter()
    assert [g.given.method for g in photo.first.state.trials["t1"].grades][-1] is Method.ISO_2409
    photo.window.close()
    assert not photo.window.isVisible()


# --- more keys ---------------------------------------------------------------------------------------------


def test_the_digits_of_the_far_view_are_those_of_the_job_in_hand(two: SimpleNamespace, tmp_path: Path) -> None:
    two.window._escape()
    two.window.toggle_far()
    other = two.session.create(tmp_path / "none.json", "None")
    assert two.session.current is other
    two.window._pick_piece(2)  # in the job before, that was the trial
    assert two.window.in_far_view
    assert two.window.pages.on_bench


@pytest.mark.parametrize("stage", ["run", "compare"])
@pytest.mark.parametrize("letter", "abcdefghijklmopqrstvwxyz")  # n asks for a file, u takes back and says what
def test_no_letter_writes_into_the_job_from_a_stage_that_does_not_show_it(
    two: SimpleNamespace, tmp_path: Path, stage: str, letter: str
) -> None:
    bench = JobBuilder()
    planned(shell(bench), piece="shell")
    strip = strips_of(bench)[0]
    prepared(bench)
    bench.ready(bench.state.pieces[strip].layers[0].id)
    path = tmp_path / "cup.json"
    jobfile.save(path, bench.job)
    two.clock.at = bench.now
    document = two.session.open(path)
    two.session.pick(strip)
    two.window.do("trials")
    two.page.show_stage(stage)
    before = document.job
    press(two, Qt.Key(ord(letter.upper())))
    if document.job is not before:
        assert two.window.pages.on_bench


def test_enter_logs_no_tape_on_a_strip_without_paint(two: SimpleNamespace, tmp_path: Path) -> None:
    bench = JobBuilder()
    planned(shell(bench), piece="shell", methods=(Method.PLAIN_TAPE,), tape_stays=timedelta(hours=1))
    path = tmp_path / "bare.json"
    jobfile.save(path, bench.job)
    two.clock.at = bench.now
    document = two.session.open(path)
    two.window.do("trials")
    two.page.show_stage("grade")
    press(two, Qt.Key.Key_Return)
    assert not document.state.trials["t1"].tapes
    assert not two.page.grade.form.tape.isHidden()  # who wants to, can


def test_a_letter_typed_in_a_list_is_no_act_of_the_bench(two: SimpleNamespace) -> None:
    two.page.new_trial()
    two.page.setup.about.piece_asked.emit(None)
    two.page.setup.about.material.list.setFocus()
    assert two.window.focusWidget() is two.page.setup.about.material.list
    press(two, Qt.Key.Key_D)
    assert two.window.pages.currentWidget() is two.page
    two.page.setup.shuffle.setFocus()
    press(two, Qt.Key.Key_D)
    assert two.window.pages.currentWidget() is two.page


def test_enter_held_down_on_a_system_adds_no_product_to_it(two: SimpleNamespace) -> None:
    two.page.new_trial()
    two.page.setup._want(Offer(kind=Ready.EMPTY, words=""))
    two.page.setup._leave_editor()
    two.window.activateWindow()
    two.bot.waitUntil(lambda: any(r.isVisible() for r in two.page.setup.systems.rows))
    two.page.setup._focus_row()
    assert two.page.setup.systems.has_row_focus()
    for held in (False, True, True, True):
        target = two.window.focusWidget() or two.window
        press_ = QKeyEvent(QEvent.Type.KeyPress, Qt.Key.Key_Return, Qt.KeyboardModifier.NoModifier, "\r", held)
        QApplication.sendEvent(target, press_)
    assert all(not c.rows for c in two.page.setup.setup.systems if c.key == two.page.setup.key)
    assert two.page.setup.pages.currentWidget() is two.page.setup.editor


@pytest.mark.parametrize("stage", ["setup", "run", "grade", "compare", "past"])
def test_with_its_last_job_closed_the_page_says_so(two: SimpleNamespace, stage: str) -> None:
    two.page.show_stage(stage)
    for document in list(two.session.documents):
        two.session.close(document)
    two.beat(seconds=1)
    for key in (Qt.Key.Key_Return, Qt.Key.Key_Space, Qt.Key.Key_1, Qt.Key.Key_2, Qt.Key.Key_3, Qt.Key.Key_4):
        press(two, key)
        two.beat(seconds=1)
    assert two.page.trial is None


@pytest.mark.parametrize("stage", ["setup", "run", "grade", "compare", "past"])
def test_a_job_that_is_only_looked_at_says_so_at_every_key(two: SimpleNamespace, tmp_path: Path, stage: str) -> None:
    document = two.session.open(new_demo(tmp_path / "look", two.clock.now(), TRIAL_DEMO), look_only="Only looked at.")
    two.page.show_stage(stage)
    before = document.job
    for key in (
        Qt.Key.Key_Return,
        Qt.Key.Key_Space,
        Qt.Key.Key_Right,
        Qt.Key.Key_Return,
        Qt.Key.Key_5,
        Qt.Key.Key_Return,
    ):
        press(two, key)
        two.beat(seconds=1)
    two.page.compare.put_away()
    assert document.job is before
    if stage == "setup":
        assert "Only looked at" in two.page.setup.none.text()


def test_a_full_disk_in_the_middle_of_a_group_act_loses_none_of_it(
    two: SimpleNamespace, tmp_path: Path, full_disk
) -> None:
    bench = JobBuilder()
    planned(shell(bench), each=2, piece="shell")
    path = tmp_path / "full.json"
    jobfile.save(path, bench.job)
    two.clock.at = bench.now
    document = two.session.open(path)
    two.window.do("trials")
    two.page.show_stage("run")
    act = two.page.run.act
    assert len(act.strips) == 6
    with full_disk():
        press(two, Qt.Key.Key_Return)
        assert document.unsaved
        assert jobfile.load(path).job == bench.job  # nothing half written
    assert sum(len(p.steps) for p in document.state.pieces.values() if p.piece.strip_of) == 6
    two.beat(seconds=20)
    assert not document.unsaved
    assert jobfile.load(path).job == document.job
    press(two, Qt.Key.Key_U)
    assert sum(len(p.steps) for p in document.state.pieces.values() if p.piece.strip_of) == 0


def test_ctrl_enter_pressed_twice_sets_up_and_logs_no_step(two: SimpleNamespace) -> None:
    two.page.show_stage("run")
    before = two.first.job
    press(two, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert two.first.job is before


def test_enter_pressed_twice_chooses_once(two: SimpleNamespace, tmp_path: Path) -> None:
    bench = tried()
    path = tmp_path / "tried.json"
    jobfile.save(path, bench.job)
    two.clock.at = bench.now
    document = two.session.open(path)
    two.page.show_stage("compare")
    press(two, Qt.Key.Key_Return)
    assert len(document.state.trials["t1"].chosen) == 1
    press(two, Qt.Key.Key_Return)
    assert len(document.state.trials["t1"].chosen) == 1
    two.session.undo()
    assert not document.state.trials["t1"].chosen


def test_a_grade_half_typed_for_a_trial_that_was_undone_keeps_nothing_open(two: SimpleNamespace) -> None:
    two.page.show_stage("grade")
    two.page.grade.form.note.edit.setText("soft at the edge")
    two.page.show_stage("run")
    assert two.page.half_typed
    planned_by = next(e for e in two.first.job.events if isinstance(e, ev.TrialPlanned))
    later = [e for e in two.first.job.events if getattr(e, "trial", None) == "t1"]
    two.session.apply(partial(ev.Withdrawn, events=tuple(e.id for e in (*later, planned_by))))
    assert "t1" not in two.first.state.trials
    assert not two.page.half_typed


def test_a_photo_chosen_late_is_kept_beside_the_job_it_was_asked_for(photo: SimpleNamespace, tmp_path: Path) -> None:
    other = tmp_path / "other.jpg"
    other.write_bytes(shoot(Scene(seed=4, removed=10, size=(800, 600), share=0.62)).data)
    photo.window.show_bench()
    photo.session.pick_document(photo.second)
    photo.photo.open(other)
    settle(photo)
    name = photo.photo.work.shot.name
    assert list(photo.first.path.parent.rglob(name))
    assert not list(photo.second.path.parent.rglob(name))


@pytest.mark.qt_log_ignore("This plugin does not support")  # said by the screen that is not there, of the dialog
def test_the_dialog_for_a_photo_is_gone_with_its_page(photo: SimpleNamespace) -> None:
    photo.photo.way_in.choose()
    assert photo.photo.way_in.dialog is not None
    photo.page.show_stage("run")
    photo.bot.waitUntil(lambda: photo.photo.way_in.dialog is None)
