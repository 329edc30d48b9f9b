"""A trial in the real window, by keys: the way back from the cup, S, D and the pedal for all its strips, undo, Esc."""

from dataclasses import replace
from functools import partial
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from builders import COLOUR, ONE_PART_PROMOTER, PROMOTER, JobBuilder, hours
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from trialdriver import Painter

from benchtool.bench.trialrun import RunStage
from benchtool.job import events as ev
from benchtool.session.trialrun import Kind
from benchtool.store import jobfile
from benchtool.trade.grades import Method

SHIFT = Qt.KeyboardModifier.ShiftModifier
STACKS: dict[str, Any] = {
    "Two-part": [(PROMOTER, "rigid"), COLOUR],
    "One-part": [ONE_PART_PROMOTER, COLOUR],
    "None": [COLOUR],
}


class Desk:
    """The window on a trial of three systems, three strips each, worked up to a step."""

    def __init__(self, bench: SimpleNamespace, folder: Path) -> None:
        self.bench, self.window, self.session, self.clock = bench, bench.window, bench.session, bench.clock
        job = JobBuilder().plan_trial(STACKS, each=3, tape_stays=hours(1))
        path = folder / "nine.json"
        jobfile.save(path, job.job)
        self.clock.at = job.now
        self.document = self.session.open(path)
        self.painter = Painter(self.session, self.clock)

    def until(self, kind: Kind) -> "Desk":
        for _ in range(300):
            act = self.painter.acts()[0]
            if act.kind is kind and not act.waits(self.clock.at):
                break
            self.painter.do(act)
        self.session.alarms.heard()
        self.window.refresh()
        return self

    def in_hand(self, strip: str) -> "Desk":
        piece = self.document.state.pieces[strip]
        act = next(a for a in self.painter.acts() if strip in a.strips)
        layers = [x.id for x in piece.layers]
        of = self.document.state.piece_of(self.document.state.layers[act.layer]) if act.layer else piece
        at = [x.id for x in of.layers].index(act.layer) if act.layer else 0
        self.session.pick(strip, layers[at])
        self.window.show_bench()
        return self

    def key(self, key: Qt.Key, *held: Qt.KeyboardModifier) -> None:
        target: QWidget = self.window.focusWidget() or self.window
        QTest.keyClick(target, key, *held)
        QApplication.processEvents()

    @property
    def said(self) -> str:
        return str(self.window.status.said.text())

    @property
    def page(self) -> Any:
        return self.window.pages.trial

    @property
    def stage(self) -> str:
        return str(self.window.pages.stage)

    def spraying(self) -> list[str]:
        return [p.id for p in self.document.state.pieces.values() if any(x.open_coat for x in p.layers)]


@pytest.fixture
def desk(bench: SimpleNamespace, tmp_path: Path) -> Desk:
    made = Desk(bench, tmp_path)
    made.window.activateWindow()
    return made


# --- the way back from the cup ----------------------------------------------------------------------------


def test_a_cup_that_is_ready_leads_back_to_the_run(desk: Desk) -> None:
    act = desk.until(Kind.COAT).painter.acts()[0]
    desk.in_hand(act.strips[0])
    mix = desk.window.mix
    assert mix.to_run.isVisible()
    assert mix.to_run.primary
    assert mix.how.text() == f"It is for {act.who}."
    assert not desk.window.acts.buttons["start"].primary
    desk.window.bench.setFocus()
    desk.key(Qt.Key.Key_Return)
    assert desk.stage == "run"


def test_a_cup_that_is_not_ready_leads_nowhere(desk: Desk) -> None:
    act = desk.until(Kind.MIX).painter.acts()[0]
    desk.in_hand(act.strips[0])
    assert not desk.window.mix.to_run.isVisible()


@pytest.mark.parametrize("typed", ["", "12"])
def test_shift_t_goes_back_from_the_field_of_the_amount_and_what_is_typed_stays(desk: Desk, typed: str) -> None:
    desk.until(Kind.MIX)
    desk.window.do("trials")
    desk.page.show_stage("run")
    desk.key(Qt.Key.Key_Return)
    field = desk.window.mix.field.edit
    assert desk.window.focusWidget() is field
    assert "Shift+T" in desk.said
    field.selectAll()
    QTest.keyClicks(field, typed) if typed else QTest.keyClick(field, Qt.Key.Key_Delete)
    desk.key(Qt.Key.Key_T, SHIFT)
    assert desk.stage == "run"
    assert field.text() == typed


# --- S and D with a strip in hand -------------------------------------------------------------------------


def test_s_and_d_are_for_all_strips_that_ask_for_the_same(desk: Desk) -> None:
    act = desk.until(Kind.COAT).painter.acts()[0]
    assert len(act.strips) == 3
    desk.in_hand(act.strips[1])
    assert desk.window.acts.buttons["start"].text() == "Start coat 1 on 3 strips"
    desk.key(Qt.Key.Key_S)
    assert not desk.window.doing.asking
    assert desk.spraying() == list(act.strips)
    desk.key(Qt.Key.Key_D)
    assert desk.spraying() == []
    desk.key(Qt.Key.Key_U)
    desk.key(Qt.Key.Key_U)
    assert desk.spraying() == []
    assert not any(x.coats for x in desk.document.state.layers.values())


def test_a_strip_set_aside_on_the_run_is_left_out_of_s(desk: Desk) -> None:
    act = desk.until(Kind.COAT).painter.acts()[0]
    desk.window.do("trials")
    desk.page.show_stage("run")
    desk.page.run.side.take(act.strips[2])
    desk.key(Qt.Key.Key_Space)
    desk.in_hand(act.strips[0])
    desk.key(Qt.Key.Key_S)
    assert desk.spraying() == list(act.strips[:2])


def test_what_the_run_has_first_is_offered_by_s(desk: Desk) -> None:
    act = desk.until(Kind.PREP).painter.acts()[0]
    desk.in_hand(act.strips[0])
    desk.key(Qt.Key.Key_S)
    assert desk.spraying() == []
    assert desk.window.doing.pick.question.text().startswith("First: ")
    desk.key(Qt.Key.Key_Return)
    assert all(desk.document.state.pieces[s].steps for s in act.strips)
    assert desk.spraying() == []


# --- the pedal --------------------------------------------------------------------------------------------


def pedal(desk: Desk) -> None:
    desk.clock.go(seconds=2)
    desk.key(Qt.Key.Key_PageDown)


def test_the_pedal_does_on_the_run_what_stands_large_and_says_so(desk: Desk) -> None:
    desk.window.do("trials")
    assert desk.stage == "run"
    act = desk.page.run.act
    assert act.kind is Kind.PREP
    pedal(desk)
    assert all(desk.document.state.pieces[s].steps for s in act.strips)
    assert desk.said == act.act.done_words
    assert desk.stage == "run"
    desk.until(Kind.COAT)
    act = desk.page.run.act
    pedal(desk)
    assert desk.spraying() == list(act.strips)
    assert desk.said.endswith("Press again when it is on.")
    pedal(desk)
    assert desk.spraying() == []


def test_the_pedal_goes_to_the_cup_and_signs_nothing(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    desk.until(Kind.MIX)
    desk.window.do("trials")
    pedal(desk)
    assert desk.window.pages.on_bench
    desk.until(Kind.COAT)
    desk.window.do("trials")
    stop = next(f for f in desk.session.findings())
    act = desk.page.run.act
    monkeypatch.setattr("benchtool.session.trialdoing.raised", lambda *_: (stop,))
    before = desk.document.job
    pedal(desk)
    assert desk.document.job is before
    assert desk.said.startswith("Stop.")
    assert not desk.window.doing.asking
    assert act.strips


def test_the_pedal_does_nothing_on_the_other_stages(desk: Desk) -> None:
    desk.window.do("trials")
    for stage in ("setup", "grade", "compare", "past"):
        desk.page.show_stage(stage)
        before = desk.document.job
        pedal(desk)
        assert desk.document.job is before


def test_with_a_strip_in_hand_the_pedal_is_for_its_whole_group(desk: Desk) -> None:
    act = desk.until(Kind.COAT).painter.acts()[0]
    desk.in_hand(act.strips[2])
    pedal(desk)
    assert desk.spraying() == list(act.strips)
    desk.window.toggle_far()
    assert "Coat 1 is on" not in desk.window.far.shown.key
    assert "coat 1 is on" in desk.window.far.shown.key
    pedal(desk)
    assert desk.spraying() == []


def test_p_and_enter_as_at_the_bench_log_one_step_on_the_run_and_not_two(desk: Desk) -> None:
    desk.window.do("trials")
    desk.key(Qt.Key.Key_P)
    assert not desk.window.doing.asking
    assert desk.said == "Here Enter logs what stands large."
    desk.key(Qt.Key.Key_Return)
    assert {len(p.steps) for p in desk.document.state.pieces.values()} == {1}


# --- undo -------------------------------------------------------------------------------------------------


def graded(desk: Desk) -> str:
    strip = desk.document.state.trials["t1"].plan.strips[2].piece
    desk.session.apply(partial(ev.Graded, trial="t1", strip=strip, method=Method.PLAIN_TAPE, grade="5"))
    return strip


@pytest.mark.parametrize("stage", ["setup", "run", "grade", "compare", "past"])
def test_undo_stays_on_the_stage_with_the_keyboard_where_it_was_and_names_the_strip(desk: Desk, stage: str) -> None:
    graded(desk)
    desk.window.do("trials")
    desk.page.show_stage(stage)
    focus = desk.window.focusWidget()
    if stage == "past":  # begins in a field, which takes back what is typed in it
        desk.window.do("undo")
    else:
        desk.key(Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert desk.stage == stage
    if stage in ("run", "grade", "past"):
        assert desk.window.focusWidget() is focus
    assert desk.page.stages.currentWidget().isAncestorOf(desk.window.focusWidget()) or stage == "run"
    assert desk.said.startswith("Taken back: strip 3: plain tape: 5.")
    assert not desk.document.state.trials["t1"].grades


def test_undo_by_its_button_leaves_the_keys_to_the_stage(desk: Desk) -> None:
    graded(desk)
    desk.window.do("trials")
    button = desk.window.acts.buttons["undo"]
    button.setFocus()
    button.click()
    assert isinstance(desk.window.focusWidget(), RunStage)


def test_undo_of_the_setting_up_shows_no_trial_that_is_gone(desk: Desk) -> None:
    desk.window.do("trials")
    while desk.document.state.trials:
        desk.window.do("undo")
    assert desk.stage == "setup"
    assert desk.page.trial_id is None


# --- Esc --------------------------------------------------------------------------------------------------


def test_esc_closes_the_question_and_the_next_one_leaves_the_page(desk: Desk) -> None:
    desk.window.do("trials")
    desk.window.do("silence")
    assert desk.window.doing.asking
    desk.key(Qt.Key.Key_Escape)
    assert not desk.window.doing.asking
    assert desk.stage == "run"
    assert isinstance(desk.window.focusWidget(), RunStage)
    desk.key(Qt.Key.Key_Escape)
    assert desk.window.pages.on_bench


@pytest.mark.parametrize(("stage", "field"), [("grade", "grade-code"), ("past", ""), ("setup", "")])
def test_esc_leaves_a_field_first_and_what_is_typed_stays(desk: Desk, stage: str, field: str) -> None:
    desk.window.do("trials")
    desk.page.show_stage(stage)
    edits = {
        "grade": lambda: desk.page.grade.form.grade.edit,
        "past": lambda: desk.page.past.list.search.edit,
        "setup": lambda: desk.page.setup.details.note.edit,
    }
    edit = edits[stage]()
    edit.setFocus()
    edit.setText("4")
    desk.key(Qt.Key.Key_Escape)
    assert desk.stage == stage
    assert desk.window.focusWidget() is not edit
    assert edit.text() == "4"
    desk.key(Qt.Key.Key_Escape)
    assert desk.window.pages.on_bench


# --- what stands where --------------------------------------------------------------------------------------


def test_the_row_of_pieces_shows_its_digits_only_where_they_are_its_own(desk: Desk) -> None:
    chips = desk.window.header._chips
    assert all(c.numbered for c in chips.values())
    desk.window.do("trials")
    assert not any(c.numbered for c in desk.window.header._chips.values())
    desk.key(Qt.Key.Key_Escape)
    assert all(c.numbered for c in desk.window.header._chips.values())


def test_the_act_bar_says_on_the_run_what_s_and_d_do_there(desk: Desk) -> None:
    act = desk.until(Kind.COAT).painter.acts()[0]
    desk.window.do("trials")
    start, done, prep = (desk.window.acts.buttons[x] for x in ("start", "done", "prep"))
    assert (start.text(), start.isEnabled()) == ("Start coat 1 on 3 strips", True)
    assert (done.text(), done.isEnabled()) == ("Coat done", False)
    assert (prep.isEnabled(), prep.primary) == (False, False)
    start.click()
    assert desk.spraying() == list(act.strips)
    assert desk.stage == "run"
    assert done.isEnabled()
    assert done.text() == "Coat 1 done on 3 strips"


@pytest.mark.parametrize("stage", ["setup", "grade", "compare", "past"])
def test_elsewhere_on_the_page_they_are_grey_and_write_nothing(desk: Desk, stage: str) -> None:
    desk.until(Kind.COAT)
    desk.window.do("trials")
    desk.page.show_stage(stage)
    assert not any(desk.window.acts.buttons[x].isEnabled() for x in ("start", "done", "mix", "prep"))
    before = desk.document.job
    for what in ("start", "done", "mix", "prep"):
        desk.window.do(what)
    assert desk.document.job is before
    assert desk.stage == stage
    assert not desk.window.doing.asking


def test_on_the_photo_page_the_bar_tells_no_letters(desk: Desk) -> None:
    desk.window.do("trials")
    desk.page.show_stage("grade")
    strip = desk.document.state.trials["t1"].plan.strips[0].piece
    desk.page._ask_photo("t1", strip, Method.ISO_2409)
    assert desk.stage == "photo"
    assert {b.key for b in desk.window.acts.buttons.values()} == {""}
    desk.page.show_stage("grade")
    assert desk.window.acts.buttons["silence"].key == "X"


def test_a_call_keeps_to_the_height_of_the_header_over_a_page(desk: Desk) -> None:
    act = desk.until(Kind.COAT).painter.acts()[0]
    desk.window.do("trials")
    while not any(a.kind is Kind.COAT and a.waits(desk.clock.at) for a in desk.painter.acts()):
        desk.painter.do(desk.painter.acts()[0])
    assert act.strips
    for _ in range(120):
        desk.bench.beat(seconds=60)
        if len(desk.session.alarms.up()) > 2:
            break
    alarm, header = desk.window.doing.alarm, desk.window.header
    up = len(desk.session.alarms.up())
    assert up > 2
    assert alarm.height() == header.height()
    assert alarm.words.text().splitlines()[1:] == [f"and {up - 1} more"]
    assert alarm.words.heightForWidth(alarm.words.width()) <= alarm.words.height()
    desk.key(Qt.Key.Key_Escape)
    assert alarm.height() > header.height()


def test_what_was_said_before_an_act_is_gone_after_it(desk: Desk) -> None:
    desk.window.do("trials")
    desk.window.say("The strips have no control.")
    desk.window.refresh()
    assert desk.said
    graded(desk)
    assert desk.said == ""


def test_a_fault_of_the_set_up_is_gone_once_it_is_mended(desk: Desk) -> None:
    desk.window.do("trials")
    desk.page.new_trial()
    setup = desk.page.setup
    for row in list(setup.setup.systems):
        setup._pick(row.key)
        setup._change(lambda s, key=row.key: replace(s, systems=tuple(c for c in s.systems if c.key != key)))
    setup._put()
    told = desk.said
    assert told
    setup._change(lambda s: replace(s, note="still without a system"))
    assert desk.said == told
    setup.setup = None
    setup.ask("t1")
    assert desk.said == ""
