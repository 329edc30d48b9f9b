"""The air in the whole window: keys to pages and strips, the readings of all jobs, the logger, heat and film."""

from dataclasses import replace
from datetime import UTC, timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
from PySide6.QtCore import QPoint, Qt

from benchtool.app import Folders
from benchtool.bench.jobs import Jobs
from benchtool.job.cards import CardTime, DoublingPacing
from benchtool.session.due import due_now
from benchtool.session.logger import guess
from benchtool.store import jobfile, settings


def press(bench: SimpleNamespace, key: Qt.Key) -> None:
    bench.bot.keyClick(bench.window.focusWidget() or bench.window, key)


def read_air(bench: SimpleNamespace, air: str, humidity: str) -> None:
    press(bench, Qt.Key.Key_R)
    fields = bench.window.doing.reading.fields
    fields["air"].edit.setText(air)
    fields["humidity"].edit.setText(humidity)
    bench.bot.keyClick(fields["humidity"].edit, Qt.Key.Key_Return)


def ends(bench: SimpleNamespace) -> dict[str, object]:
    return {w.key: w.span.opens_at for w in bench.session.current.windows}


def test_cold_puts_off_the_waits_says_why_and_an_undo_takes_it_back(bench: SimpleNamespace) -> None:
    before = ends(bench)
    read_air(bench, "10", "60")
    [flash] = [d for d in due_now(bench.session, bench.clock.now()) if d.window.kind == "flash"]
    # By hand: a doubling for 10 K, so the 700 s that were left of the flash take 1,400 s at 10 K below the card's 20.
    assert flash.remaining_s == pytest.approx(2 * 700, abs=1)
    assert "10 °C below the card's 20" in flash.words
    assert "takes 2 times as long" in flash.words
    assert flash.bar.added > 0.2
    assert (bench.clock.now() + timedelta(seconds=1400)).astimezone().strftime("%H:%M")[:4] in flash.clock
    press(bench, Qt.Key.Key_U)
    assert ends(bench) == before


def test_the_card_of_the_demo_doubles_per_ten_degrees(bench: SimpleNamespace) -> None:
    pacing = bench.session.current.state.cards["promoter-two-part"].paces[CardTime.FLASH]
    assert pacing == DoublingPacing(reference_degC=20.0, factor=2.0, least_degC=5.0)


def test_a_typed_reading_goes_into_every_open_job_and_out_again(bench: SimpleNamespace, tmp_path: Path) -> None:
    first = bench.session.current
    other = bench.session.create(tmp_path / "other.json", "Other")
    bench.session.pick_document(first)
    read_air(bench, "12", "70")
    assert first.state.last_reading.air_degC == other.state.last_reading.air_degC == 12
    press(bench, Qt.Key.Key_U)
    assert other.state.last_reading is None
    assert first.state.last_reading.air_degC == 20.5
    bench.window.do("redo")
    assert first.state.last_reading.air_degC == other.state.last_reading.air_degC == 12
    assert jobfile.load(other.path).job == other.job


def test_the_air_page_comes_by_key_and_by_a_touch_on_the_air(bench: SimpleNamespace) -> None:
    press(bench, Qt.Key.Key_G)
    pages = bench.window.pages
    assert pages.currentWidget() is pages.air
    press(bench, Qt.Key.Key_Escape)
    assert pages.on_bench
    corner = bench.window.header.findChild(type(bench.window.header.air.parentWidget()), "air-corner")
    bench.bot.mouseClick(corner, Qt.MouseButton.LeftButton, pos=QPoint(10, 10))
    assert pages.currentWidget() is pages.air
    assert corner.height() >= 48


def test_heat_and_a_measured_film_are_logged_by_key_and_take_effect(bench: SimpleNamespace) -> None:
    bench.session.pick("plaque")
    wait = next(w for w in bench.session.current.windows if w.layer == "plaque-primer" and w.kind == "recoat")
    press(bench, Qt.Key.Key_I)
    field = bench.window.doing.drying.film.fields["film"].edit
    field.setText("60")
    bench.bot.keyClick(field, Qt.Key.Key_Return)
    thicker = next(w for w in bench.session.current.windows if w.key == wait.key)
    # By the demo's own card: 60 um take 1.5 times as long.
    took = (wait.span.opens_at - wait.span.started_at, thicker.span.opens_at - thicker.span.started_at)
    assert took[1] / took[0] == pytest.approx(1.5, rel=1e-6)
    press(bench, Qt.Key.Key_B)
    assert "data sheet" in bench.window.doing.drying.heat.row.itemAt(1).widget().text()
    field = bench.window.doing.drying.heat.fields["heat"].edit
    field.setText("60")
    bench.bot.keyClick(field, Qt.Key.Key_Return)
    assert bench.session.piece.heat.on is not None
    assert "go by the air" in bench.window.status.said.text()
    press(bench, Qt.Key.Key_B)
    bench.bot.keyClick(bench.window.doing.drying.heat.fields["heat"].edit, Qt.Key.Key_Return)
    assert bench.session.piece.heat.on is None


@pytest.mark.parametrize(("key", "typed", "told"), [("heat", "15", "no heat"), ("film", "thick", "")])
def test_nonsense_of_heat_and_film_is_told_at_the_field(
    bench: SimpleNamespace, key: str, typed: str, told: str
) -> None:
    before = bench.session.current.job
    bench.window.do(key)
    strip = getattr(bench.window.doing.drying, key)
    strip.fields[key].edit.setText(typed)
    bench.bot.keyClick(strip.fields[key].edit, Qt.Key.Key_Return)
    assert not strip.isHidden()
    assert strip.fields[key].fault.text()
    assert told in strip.fields[key].fault.text()
    assert bench.session.current.job is before


def test_the_hands_free_key_does_the_next_act_and_is_answered(bench: SimpleNamespace) -> None:
    bench.window.session.pick("dome")
    bench.beat(minutes=12)
    press(bench, Qt.Key.Key_H)
    bench.beat(seconds=3)
    while bench.session.alarms.calling(bench.clock.now()):
        press(bench, Qt.Key.Key_H)
    spoken = len(bench.voice.spoken)
    for _ in range(4):
        press(bench, Qt.Key.Key_PageDown)
        bench.beat(seconds=3)
    assert len(bench.voice.spoken) > spoken
    coats = [c for x in bench.session.current.state.layers.values() for c in x.coats]
    assert sum(c.done_at is None for c in coats) <= 1
    assert len(coats) > 4


def test_a_logger_that_was_chosen_is_followed_and_kept(
    bench: SimpleNamespace, folders: Folders, tmp_path: Path
) -> None:
    log = tmp_path / "air.csv"
    log.write_text("Time,Temp (C),RH (%)\n")
    keeper = bench.window.logger()
    when = bench.clock.now() + timedelta(minutes=1)
    lines = [f"{when + timedelta(minutes=i):%Y-%m-%d %H:%M:%S},{11 + i},60\n" for i in range(3)]
    log.write_text("Time,Temp (C),RH (%)\n" + "".join(lines))
    keeper.choose(replace(guess(log), zone=UTC))
    for _ in range(4):
        bench.beat(minutes=2)
    assert bench.session.current.state.last_reading.air_degC == 13
    assert bench.session.current.state.last_reading.source == "air.csv"
    kept = settings.load(folders.config).logger
    assert kept is not None
    assert kept.path == str(log)
    press(bench, Qt.Key.Key_U)
    assert bench.session.current.state.last_reading.air_degC == 13  # an undo is of the painter's own acts


@pytest.mark.qt_log_ignore("propagateSizeHints")  # the screen that is not there says so of every dialog
def test_the_calendar_key_opens_a_dialog_for_the_file(bench: SimpleNamespace) -> None:
    press(bench, Qt.Key.Key_Y)
    jobs = bench.window.findChild(Jobs)
    assert jobs is not None
    dialog = jobs.calendar.dialog
    assert dialog is not None
    assert dialog.isVisible()
    dialog.reject()


def test_what_the_settings_keep_of_the_key_comes_back(bench: SimpleNamespace, folders: Folders) -> None:
    bench.window.take_next_key("F13")
    assert bench.window.pedal.key == "F13"
    bench.window.close()
    assert settings.load(folders.config).next_key == "F13"
