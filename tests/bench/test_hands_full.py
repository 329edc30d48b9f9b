"""What a painter with full hands must be able to rely on: nothing acts unseen, and no question stands in the way."""

import contextlib
from datetime import timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
from PySide6.QtCore import QByteArray, Qt
from PySide6.QtWidgets import QMainWindow

from benchtool.bench.jobs import Jobs
from benchtool.session.alarms import Priority
from benchtool.session.due import due_now
from benchtool.session.logger import guess
from benchtool.session.loggerzone import computers_zone
from benchtool.store import jobfile


def press(bench: SimpleNamespace, key: Qt.Key) -> None:
    bench.bot.keyClick(bench.window.focusWidget() or bench.window, key)


def ask_about_the_clock(bench: SimpleNamespace) -> None:
    bench.clock.step = timedelta(hours=1)
    bench.beat(seconds=1)
    assert asked(bench)


def asked(bench: SimpleNamespace) -> bool:
    doing = bench.window.doing
    return bool(doing.pick.asks(doing.clock))


# --- the question about the clock ----------------------------------------------------------------------


def test_esc_puts_the_question_about_the_clock_away(bench: SimpleNamespace) -> None:
    ask_about_the_clock(bench)
    press(bench, Qt.Key.Key_Escape)
    for _ in range(3):
        bench.beat(seconds=1)
    assert not asked(bench)
    press(bench, Qt.Key.Key_F)
    bench.beat(seconds=1)
    assert bench.window.in_far_view


def test_a_digit_still_takes_a_piece_in_hand_beside_the_question(bench: SimpleNamespace) -> None:
    ask_about_the_clock(bench)
    bench.window.doing.pick._let_answer()
    before = bench.session.current.job
    press(bench, Qt.Key.Key_2)
    assert bench.session.piece_id == "plate"
    assert bench.session.current.job is before


def test_the_pedal_goes_on_while_the_clock_is_asked_about(bench: SimpleNamespace) -> None:
    bench.window.do("prep")
    before = len(bench.session.current.job.events)
    press(bench, Qt.Key.Key_PageDown)
    assert "A question is open" in bench.voice.spoken[-1]  # one that the painter called for
    bench.window.doing.leave_strips()
    ask_about_the_clock(bench)
    bench.beat(seconds=5)
    press(bench, Qt.Key.Key_PageDown)
    assert "A question is open" not in bench.voice.spoken[-1]
    assert len(bench.session.current.job.events) >= before


def test_a_question_that_settles_itself_leaves_the_field_that_is_typed_in(bench: SimpleNamespace) -> None:
    bench.window.do("mix")
    field = bench.window.focusWidget()
    assert field is not bench.window.bench
    ask_about_the_clock(bench)
    assert bench.window.focusWidget() is field
    bench.clock.step = timedelta(0)
    bench.beat(seconds=1)
    assert not asked(bench)
    assert bench.window.focusWidget() is field


# --- the far view --------------------------------------------------------------------------------------


def test_what_a_key_did_is_said_in_the_far_view(bench: SimpleNamespace) -> None:
    press(bench, Qt.Key.Key_F)
    press(bench, Qt.Key.Key_E)
    assert "Cup emptied." in bench.window.far.shown.band.lines
    press(bench, Qt.Key.Key_D)
    assert any("No coat" in line for line in bench.window.far.shown.band.lines)


def test_leaving_from_the_far_view_fills_no_screen_at_the_next_start(bench: SimpleNamespace) -> None:
    kept: list[str] = []
    bench.window.closing.connect(lambda: kept.append(bench.window.place()))
    press(bench, Qt.Key.Key_F)
    bench.window.close()
    again = QMainWindow()
    bench.bot.addWidget(again)
    again.restoreGeometry(QByteArray.fromBase64(kept[0].encode()))
    assert not again.isFullScreen()


@pytest.mark.parametrize("where", [Qt.Key.Key_F, Qt.Key.Key_G])
def test_the_arrows_change_no_layer_that_is_not_seen(bench: SimpleNamespace, where: Qt.Key) -> None:
    before = bench.session.layer_id
    press(bench, Qt.Key.Key_Down)
    assert bench.session.layer_id != before
    before = bench.session.layer_id
    press(bench, where)
    press(bench, Qt.Key.Key_Up)
    press(bench, Qt.Key.Key_Down)
    press(bench, Qt.Key.Key_Down)
    assert bench.session.layer_id == before


# --- what calls ----------------------------------------------------------------------------------------


def test_a_press_under_a_fresh_call_does_not_talk_over_it(bench: SimpleNamespace) -> None:
    press(bench, Qt.Key.Key_F)
    while not bench.voice.rung:
        bench.beat(seconds=1)
    spoken, hushed = list(bench.voice.spoken), bench.voice.hushed
    press(bench, Qt.Key.Key_PageDown)
    assert bench.window.far.shown.band.lines  # the answer is read instead
    assert (bench.voice.spoken, bench.voice.hushed) == (spoken, hushed)
    assert bench.session.alarms.up()


def test_a_call_that_only_informs_is_taken_down_by_the_pedal_everywhere(bench: SimpleNamespace) -> None:
    up = bench.session.alarms.up
    for _ in range(3_000):
        bench.beat(seconds=60)
        if up() and all(a.priority is Priority.INFORMS for a in up()):
            break
        while up():
            bench.session.alarms.heard()
    assert up()
    bench.beat(seconds=2)
    hushed = bench.voice.hushed
    press(bench, Qt.Key.Key_PageDown)
    assert not up()
    assert bench.voice.hushed > hushed


def test_a_fault_of_the_logger_keeps_no_alarm_from_ringing(
    bench: SimpleNamespace, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(_: object) -> None:
        raise RuntimeError("something went wrong")

    monkeypatch.setattr(bench.window.logger(), "look", broken)
    for _ in range(900):
        with contextlib.suppress(RuntimeError):
            bench.beat(seconds=1)
    bench.window.beat.stop()
    assert bench.voice.rung


# --- the logger ----------------------------------------------------------------------------------------


def test_a_redo_brings_no_reading_back_over_those_that_came_after_it_was_taken_out(
    bench: SimpleNamespace, tmp_path: Path
) -> None:
    file, now = tmp_path / "log.csv", bench.clock.at.astimezone()
    lines = [f"{now - timedelta(minutes=m):%Y-%m-%d %H:%M:%S},{20 - m / 2:.1f},50" for m in range(9, 0, -1)]
    file.write_text("\n".join(["time,temp,humidity", *lines, ""]), encoding="utf-8")
    keeper, columns = bench.window.logger(), guess(file, computers_zone)
    keeper.choose(columns)
    bench.beat(seconds=3)
    held = len(bench.session.current.state.readings)
    assert keeper.take_back(bench.clock.at) == 9
    bench.window.do("redo")
    assert len(bench.session.current.state.readings) == held  # as it is offered
    keeper.choose(columns)
    assert keeper.take_back(bench.clock.at) == 9
    keeper.choose(columns)
    bench.beat(seconds=3)
    assert len(bench.session.current.state.readings) == held
    bench.window.do("redo")
    assert len(bench.session.current.state.readings) == held


# --- pages ---------------------------------------------------------------------------------------------


def test_after_a_reading_the_keys_of_the_air_page_work_on(bench: SimpleNamespace) -> None:
    press(bench, Qt.Key.Key_G)
    press(bench, Qt.Key.Key_R)
    fields = bench.window.doing.reading.fields
    fields["air"].edit.setText("12")
    fields["humidity"].edit.setText("60")
    bench.bot.keyClick(fields["humidity"].edit, Qt.Key.Key_Return)
    press(bench, Qt.Key.Key_Left)
    assert bench.window.pages.air.turned < timedelta(0)
    press(bench, Qt.Key.Key_R)
    press(bench, Qt.Key.Key_Escape)  # takes the question away, and no more
    assert bench.window.pages.currentWidget() is bench.window.pages.air
    press(bench, Qt.Key.Key_Escape)
    assert bench.window.pages.on_bench


@pytest.mark.qt_log_ignore("propagateSizeHints")  # the screen that is not there says so of every dialog
def test_the_calendar_is_of_the_job_it_was_asked_for(bench: SimpleNamespace, tmp_path: Path) -> None:
    jobs = bench.window.findChild(Jobs)
    assert isinstance(jobs, Jobs)
    press(bench, Qt.Key.Key_Y)
    dialog = jobs.calendar.dialog
    assert dialog is not None
    bench.session.create(tmp_path / "empty.json", "Empty")
    target = tmp_path / "waits.ics"
    dialog.fileSelected.emit(str(target))
    dialog.close()
    assert target.exists()
    assert bench.session.current.title == "Empty"


def test_a_copy_is_of_the_job_it_was_asked_for(bench: SimpleNamespace, tmp_path: Path) -> None:
    first = bench.session.current
    other = bench.session.create(tmp_path / "other.json", "Other")
    jobs = bench.window.findChild(Jobs)
    jobs.copy_to(tmp_path / "copy.json", first)
    assert jobfile.load(tmp_path / "copy.json").job == first.job != other.job


# --- Enter ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("what", "typed"), [("reading", ("20", "50")), ("heat", ("60",)), ("film", ("40",))])
def test_enter_in_a_strip_does_nothing_else(bench: SimpleNamespace, what: str, typed: tuple[str, ...]) -> None:
    bench.session.pick("plate")
    assert bench.window.mix.go.isEnabled()
    bench.window.do(what)
    doing = bench.window.doing
    strip = {"reading": doing.reading, "heat": doing.drying.heat, "film": doing.drying.film}[what]
    fields = list(strip.fields.values())
    for field, text in zip(fields, typed, strict=False):
        field.edit.setText(text)
    before = len(bench.session.current.job.events)
    bench.bot.keyClick(fields[0].edit, Qt.Key.Key_Return)
    assert len(bench.session.current.job.events) == before + 1
    assert strip.isHidden()


def test_enter_on_a_framed_answer_gives_it(bench: SimpleNamespace) -> None:
    bench.session.pick("trim")  # bare still: its plan has a next step
    press(bench, Qt.Key.Key_P)
    before = len(bench.session.current.job.events)
    press(bench, Qt.Key.Key_Return)
    assert bench.window.doing.prepping.strip.isHidden()
    assert len(bench.session.current.job.events) == before + 1


# --- what can't be done by foot ------------------------------------------------------------------------


def test_while_mine_waits_the_key_tells_what_the_watch_calls_for(bench: SimpleNamespace) -> None:
    bench.session.pick("dome")
    for _ in range(8 * 6):
        bench.beat(seconds=10)  # the red of the name plate opens for its clear, which is not mixed
    while bench.session.alarms.calling(bench.clock.now()):
        press(bench, Qt.Key.Key_H)
        bench.beat(seconds=3)
    press(bench, Qt.Key.Key_PageDown)
    assert "Name plate: mix Gloss clear" in bench.window.status.said.text()
    assert bench.session.piece_id == "dome"
    [line] = [d for d in due_now(bench.session, bench.clock.now()) if d.window.kind == "recoat" and d.hands]
    assert line.short == "Mix Gloss clear"
