"""The stage that runs a trial, by real keys: one press does what stands large, and nothing else."""

import tempfile
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from builders import ADHESIVE_CLEAR, COLOUR, ONE_PART_PROMOTER, PROMOTER, JobBuilder, hours
from conftest import StillClock
from PySide6.QtCore import QCoreApplication, QEvent, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QMainWindow
from trialdriver import Painter, open_session

from benchtool.bench.look import TARGET, Look
from benchtool.bench.trialrows import ActRow
from benchtool.bench.trialrun import RunStage
from benchtool.job import events as ev
from benchtool.session.trialrun import Kind
from benchtool.trade.grades import Method

FOUR: dict[str, Any] = {
    "Two-part promoter": [(PROMOTER, "rigid"), COLOUR],
    "One-part promoter": [ONE_PART_PROMOTER, COLOUR],
    "Clear as a primer": [ADHESIVE_CLEAR, COLOUR],
    "None": [COLOUR],
}

pytestmark = pytest.mark.qt_log_ignore("propagateSizeHints")  # the screen that is not there says so of every window


class Desk:
    """The stage in a window of its own; acts are written as they are asked for."""

    def __init__(self, painter: Painter, window: QMainWindow, stage: RunStage) -> None:
        self.painter, self.window, self.stage = painter, window, stage
        self.said: list[str] = []
        self.stages: list[str] = []
        self.mixes: list[str] = []
        stage.said.connect(self.said.append)
        stage.stage_asked.connect(self.stages.append)
        stage.mix_asked.connect(self.mixes.append)
        stage.act_asked.connect(self.write)

    def write(self, act: Any) -> None:
        self.painter.session.apply(*act.make())
        self.said.append(act.done_words)
        self.refresh()

    def refresh(self, **after: float) -> None:
        self.painter.clock.go(**after)
        self.stage.refresh(self.painter.clock.at)

    def key(self, key: Qt.Key) -> None:
        QTest.keyClick(self.stage, key)

    def until(self, kind: Kind) -> None:
        """Let the painter work until this comes first."""
        for _ in range(200):
            acts = self.painter.acts()
            if acts[0].kind is kind and not acts[0].waits(self.painter.clock.at):
                break
            self.painter.do(acts[0])
        self.refresh()


@pytest.fixture
def desk(qtbot: Any, clock: StillClock, tmp_path: Path) -> Iterator[Any]:
    made: list[Any] = []

    def opened(job: JobBuilder | None = None, size: tuple[int, int] = (1280, 604)) -> Desk:
        folder = Path(tempfile.mkdtemp(dir=tmp_path))
        session = open_session(job or JobBuilder().plan_trial(FOUR, each=3, tape_stays=hours(1)), clock, folder)
        look, window = Look(), QMainWindow()
        look.choose("light")
        look.fit(*size)
        window.setStyleSheet(look.style_sheet())
        stage = RunStage(look, session)
        window.setCentralWidget(stage)
        window.resize(*size)
        qtbot.addWidget(window)
        window.show()
        qtbot.waitExposed(window)
        stage.ask("t1")
        stage.setFocus()
        made.append((session, window))
        return Desk(Painter(session, clock), window, stage)

    yield opened
    for session, window in made:
        window.close()
        window.deleteLater()
        session.close_all()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


def test_one_press_logs_the_step_of_all_strips(desk: Any) -> None:
    d = desk()
    assert d.stage.where.text() == "Strips 1 to 12"
    assert d.stage.numerals.text == "Now"
    assert d.stage.go.text() == "Wash done on strips 1 to 12"
    d.key(Qt.Key.Key_Return)
    assert d.said == ["Wash done on strips 1 to 12: logged."]
    assert all(len(p.steps) == 1 for p in d.painter.document.state.pieces.values())
    assert d.stage.act.what == "Release wash"


def test_enter_takes_the_layer_in_hand_and_asks_for_its_cup(desk: Any) -> None:
    d = desk()
    d.until(Kind.MIX)
    assert d.stage.go.text() == "To the cup"
    d.key(Qt.Key.Key_Return)
    assert d.mixes == ["t1-1-a"]
    assert (d.painter.session.piece_id, d.painter.session.layer_id) == ("t1-1", "t1-1-a")


def test_a_coat_is_started_and_ended_on_three_strips_by_two_presses(desk: Any) -> None:
    d = desk()
    d.until(Kind.COAT)
    assert d.stage.sentence.text() == "Spray coat 1 of One-part promoter on strips 2, 6 and 10."
    assert "Solvent" in d.stage.caution.text()
    d.key(Qt.Key.Key_Return)
    assert d.stage.act.kind is Kind.FINISH
    d.refresh(minutes=1)
    d.key(Qt.Key.Key_Return)
    layers = d.painter.document.state.layers
    assert [layers[f"t1-{n}-a"].coats_done for n in (2, 6, 10)] == [1, 1, 1]
    assert d.said[-1] == "Coat 1 done on strips 2, 6 and 10. The waits count from now."


def test_a_wait_is_told_and_not_done(desk: Any) -> None:
    job = JobBuilder().plan_trial({"One": [COLOUR], "None": [COLOUR]}, methods=(Method.STICK,))
    for strip in ("t1-1", "t1-2"):
        job.prep("mould-release wash", "degrease", "abrade", "degrease", "tack", piece=strip)
    job.ready("t1-1-a").share("t1-2-a").change_layer("t1-1-a", coats=2).change_layer("t1-2-a", coats=2)
    d = desk(job.coat("t1-1-a").coat("t1-2-a").wait(minutes=4))
    assert d.stage.numerals.text == "6:00"
    assert not d.stage.go.isEnabled()
    d.key(Qt.Key.Key_Return)
    (said,) = d.said
    assert said.startswith("Wait until ")
    assert said.endswith(": spray coat 2 of Base colour on strips 1 and 2.")
    assert d.painter.document.state.layers["t1-1-a"].coats_done == 1
    asked: list[Any] = []
    d.stage.act_asked.disconnect()
    d.stage.act_asked.connect(asked.append)
    d.stage.early.click()  # no button is taken away by a stop: it is asked about
    assert {f.rule for f in asked[0].find()} == {"timing.flash"}


def test_the_countdown_runs_and_the_wait_ends(desk: Any) -> None:
    d = desk()
    d.until(Kind.FINISH)
    d.key(Qt.Key.Key_Return)
    while not d.stage.act.waits(d.painter.clock.at):
        d.painter.do(d.stage.act)
        d.refresh()
    due = d.stage.act.due_at
    left = int((due - d.painter.clock.at).total_seconds())
    d.refresh(seconds=1)
    assert d.stage.numerals.text == f"{(left - 1) // 60}:{(left - 1) % 60:02d}"
    assert d.stage.clock_word.text() == "at"
    d.painter.clock.at = due
    d.refresh()
    assert not d.stage.act.waits(due)
    assert d.stage.go.isEnabled()


def test_arrows_take_another_act_and_the_list_that_changes_takes_the_first(desk: Any) -> None:
    d = desk()
    d.until(Kind.COAT)
    d.key(Qt.Key.Key_Down)
    assert d.stage.act is d.stage.acts[1]
    assert d.stage.where.text() == "Strips 3, 7 and 11"
    assert [r.in_hand for r in d.stage.rows[:2]] == [False, True]
    d.key(Qt.Key.Key_Up)
    d.key(Qt.Key.Key_Up)
    assert d.stage.act is d.stage.acts[0]
    d.key(Qt.Key.Key_Down)
    d.painter.press(d.stage.acts[0])
    d.refresh()
    assert d.stage.act is d.stage.acts[0]


def test_a_strip_is_set_aside_by_space_and_the_press_leaves_it_out(desk: Any) -> None:
    d = desk()
    d.key(Qt.Key.Key_Space)
    assert d.said.pop() == "Take a strip in hand first: left and right."
    for _ in range(3):
        d.key(Qt.Key.Key_Right)
    d.key(Qt.Key.Key_Space)
    assert d.said == ["Strip 3 is set aside: what is done next leaves it out."]
    assert d.stage.side.toggle.text() == "Take strip 3 in again"
    d.key(Qt.Key.Key_Return)
    pieces = d.painter.document.state.pieces
    assert [len(pieces[f"t1-{n}"].steps) for n in (2, 3, 4)] == [1, 0, 1]
    assert d.stage.acts[-1].aside
    d.key(Qt.Key.Key_Space)
    assert not any(a.aside for a in d.stage.acts)
    assert d.stage.where.text() == "Strip 3"  # what the others have had already comes first


def test_a_strip_is_taken_by_a_click_on_the_panel(desk: Any) -> None:
    d = desk()
    spot = d.stage.side.panel.strip_rect("t1-7").center().toPoint()
    QTest.mouseClick(d.stage.side.panel, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, spot)
    assert d.stage.side.strip == "t1-7"
    assert d.stage.side.told.text() == "Strip 7, C Clear as a primer: to prepare."


def test_tape_is_pressed_and_pulled_in_the_grade_stage(desk: Any) -> None:
    d = desk()
    d.until(Kind.PRESS)
    d.key(Qt.Key.Key_Return)
    tapes = [e for e in d.painter.document.job.events if isinstance(e, ev.TapePressed)]
    assert [t.strip for t in tapes] == ["t1-4", "t1-8", "t1-12"]
    d.until(Kind.PULL)
    d.key(Qt.Key.Key_Return)
    assert d.stages == ["grade"]
    assert d.painter.session.piece_id == "t1-4"


def test_at_the_end_enter_compares(desk: Any) -> None:
    d = desk()
    d.painter.go()
    d.refresh()
    assert d.stage.sentence.text() == "All strips are graded: 4 compares them."
    assert d.stage.side.toggle.isHidden()
    d.key(Qt.Key.Key_Return)
    assert d.stages == ["compare"]


def test_without_a_trial_enter_goes_to_the_set_up(desk: Any) -> None:
    d = desk()
    d.stage.ask(None)
    assert d.stage.numerals.text == "No trial"
    assert all(r.isHidden() for r in d.stage.rows)
    d.key(Qt.Key.Key_Return)
    assert d.stages == ["setup"]


def test_strips_that_were_put_away_ask_for_nothing(desk: Any) -> None:
    d = desk()
    d.painter.session.apply(lambda **told: ev.TrialEnded(trial="t1", **told))
    d.refresh()
    assert "put away" in d.stage.sentence.text()
    assert d.stage.acts == ()


def test_the_other_answer_of_a_water_test(desk: Any) -> None:
    d = desk(JobBuilder().plan_trial({"One": [COLOUR], "None": [COLOUR]}, substrate="aluminium"))
    while d.stage.act.other is None:
        assert d.stage.other.isHidden()
        d.key(Qt.Key.Key_Return)
    assert d.stage.other.text() == "The water breaks on strips 1 and 2"
    d.stage.other.click()
    assert d.painter.document.state.pieces["t1-1"].steps[-1].passed is False


def test_held_down_enter_does_one_thing(desk: Any) -> None:
    from PySide6.QtGui import QKeyEvent

    d = desk()
    d.key(Qt.Key.Key_Return)
    count = len(d.painter.document.job.events)
    held = QKeyEvent(QEvent.Type.KeyPress, Qt.Key.Key_Return, Qt.KeyboardModifier.NoModifier, "\r", autorep=True)
    QCoreApplication.sendEvent(d.stage, held)
    assert len(d.painter.document.job.events) == count


def test_a_tick_draws_no_more_than_figures(desk: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    d = desk()
    d.until(Kind.COAT)
    while not d.stage.act.waits(d.painter.clock.at):
        d.painter.do(d.stage.act)
        d.refresh()
    drawn: list[Any] = []
    monkeypatch.setattr(d.stage.side, "show_strips", lambda *a: drawn.append("panel"))
    monkeypatch.setattr(d.stage, "_show_act", lambda *a: drawn.append("act"))
    monkeypatch.setattr(ActRow, "update", lambda self, *box: drawn.append(box))
    d.refresh()
    assert drawn == []  # the same second: nothing
    d.refresh(seconds=1)
    assert all(len(box) == 4 or len(box) == 0 for box in drawn)
    assert "panel" not in drawn
    assert "act" not in drawn


def test_every_target_is_large_enough_and_all_fits(desk: Any) -> None:
    for size in ((1280, 604), (1920, 964), (853, 364)):
        d = desk(size=size)
        d.until(Kind.COAT)
        d.key(Qt.Key.Key_Left)
        QCoreApplication.processEvents()
        for part in (d.stage.go, d.stage.side.toggle, d.stage.rows[0]):
            assert part.height() >= TARGET
        assert d.stage.width() <= size[0]
        assert d.stage.go.geometry().bottom() <= size[1]


def test_names_from_a_file_are_text(desk: Any) -> None:
    job = JobBuilder().plan_trial({"<b>One</b>": [COLOUR], "None": [COLOUR]})
    d = desk(job)
    assert "<b>One</b>" in d.stage.side.systems.text()
    assert d.stage.side.systems.textFormat() == Qt.TextFormat.PlainText
    assert d.painter.clock.at - job.now < timedelta(seconds=1)


def test_the_letters_of_the_bench_do_the_act_in_hand_and_no_other(desk: Any) -> None:
    d = desk()
    d.until(Kind.COAT)
    coat = d.stage.act
    d.key(Qt.Key.Key_D)
    assert d.said[-1].startswith("What comes next here is: spray coat 1")
    d.key(Qt.Key.Key_S)
    d.refresh()
    assert d.stage.act.kind is Kind.FINISH
    assert d.stage.act.strips == coat.strips
    d.key(Qt.Key.Key_S)
    assert d.stage.act.kind is Kind.FINISH
    d.key(Qt.Key.Key_D)
    d.refresh()
    assert d.stage.act.kind is not Kind.FINISH


def test_stirring_is_logged_from_the_list_and_says_so_on_the_button(desk: Any) -> None:
    d = desk()
    d.until(Kind.MIX)
    for _ in range(6):
        if d.stage.act.act is not None:
            break
        assert d.stage.go.text() == "To the cup"
        d.painter.do(d.painter.acts()[0])
        d.refresh()
    assert d.stage.go.text() == "It is stirred"
    before = len(d.mixes)
    d.key(Qt.Key.Key_Return)
    assert len(d.mixes) == before
    assert any(mix.stirred for mix in d.painter.document.state.mixes.values())
