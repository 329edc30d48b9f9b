"""A logger's file is followed into every open job: nothing twice, nothing lost, nothing of it undone by mistake."""

import codecs
import os
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from unittest.mock import patch
from zoneinfo import ZoneInfo

import pytest

from benchtool.job import events as ev
from benchtool.job.record import is_logged, last_act, last_undo
from benchtool.session import loggerkeeper
from benchtool.session.logger import LoggerColumns, TimeFormat, guess
from benchtool.session.loggerkeeper import BACK, MOST_READINGS, PIECES, LoggerKeeper
from benchtool.session.loggerkept import chosen_columns, kept_choice
from benchtool.session.loggerzone import computers_zone, winter_zone, zone_key, zone_of
from benchtool.session.session import Document, Session
from benchtool.session.tables import load_tables
from benchtool.store import atomic, jobfile, loggerfile, settings
from benchtool.store.settings import LoggerChoice, Settings
from benchtool.trade.quantities import Measures
from benchtool.trade.substrates import Flex

HEAD = "Time,Temp,RH\n"
READ = loggerfile.Tail.read


@pytest.fixture
def desk(clock: Any, tmp_path: Path) -> Iterator[SimpleNamespace]:
    """A session with two jobs begun at nine, a file, and a keeper that is looked at as often as asked."""
    session = Session(clock, load_tables(), Measures())
    first, second = (session.create(tmp_path / f"{name}.json", name) for name in ("tank", "door"))
    path = tmp_path / "shop.csv"
    path.write_text(HEAD, encoding="utf-8")

    def line(minutes: float, air: float, humidity: float = 50) -> None:
        with path.open("a", encoding="utf-8") as file:
            file.write(f"{at(minutes):%Y-%m-%d %H:%M:%S},{air},{humidity}\n")

    def look(**span: float) -> tuple[str, ...]:
        clock.go(**span)
        said: list[str] = []
        for _ in range(30):
            said += keeper.look(clock.now())
            if not keeper._more:
                break
        return tuple(said)

    keeper = LoggerKeeper(session)
    yield SimpleNamespace(
        session=session, clock=clock, first=first, second=second, path=path, keeper=keeper, line=line, look=look
    )
    session.close_all()


START = datetime(2026, 3, 14, 9, 0, 0, tzinfo=UTC)


def at(minutes: float) -> datetime:
    return START + timedelta(minutes=minutes)


def columns(path: Path, **changes: Any) -> LoggerColumns:
    usual: dict[str, Any] = {
        "delimiter": ",", "decimal": ".", "time_column": "Time", "air_column": "Temp", "humidity_column": "RH",
        "time_format": TimeFormat.YEAR_FIRST,
    }  # fmt: skip
    return LoggerColumns(path=path, **(usual | changes))


def logged(document: Document) -> list[tuple[float, float]]:
    """The readings of a logger in a job: minutes after nine, air."""
    minutes = ((e, (e.at - START).total_seconds() / 60) for e in document.job.events if is_logged(e))
    return [(m, e.air_degC) for e, m in minutes if isinstance(e, ev.ReadingTaken)]


def named(title: str) -> Any:
    return partial(ev.JobDescribed, title=title)


# --- following -----------------------------------------------------------------------------------------


def test_a_growing_file_goes_into_every_open_job(desk: SimpleNamespace) -> None:
    desk.keeper.choose(columns(desk.path))
    desk.line(1, 20)
    desk.look(minutes=1)
    desk.line(2, 21, 55)
    desk.look(minutes=1)
    for document in (desk.first, desk.second):
        assert logged(document) == [(1, 20), (2, 21)]
        assert document.state.air.at(at(2)).humidity_percent == 55
        assert jobfile.load(document.path).job == document.job
        assert {e.source for e in document.state.readings} == {"shop.csv"}


def test_what_is_in_hand_stays_in_hand(desk: SimpleNamespace) -> None:
    piece = partial(ev.Piece, substrate="aluminium", known=ev.Known.TOLD, flex=Flex.RIGID)
    desk.session.apply(*(partial(ev.PieceAdded, piece=piece(id=i, name=i)) for i in ("a", "b")))
    desk.session.pick("b")
    told: list[int] = []
    desk.session.subscribe(lambda: told.append(1))
    desk.keeper.choose(columns(desk.path))
    desk.line(1, 20)
    desk.look(minutes=1)
    assert (desk.session.current, desk.session.piece_id) == (desk.second, "b")
    assert len(told) == 2  # once for each job


def test_half_a_line_waits(desk: SimpleNamespace) -> None:
    desk.keeper.choose(columns(desk.path))
    with desk.path.open("a") as file:
        file.write("2026-03-14 09:01:00,2")
    assert desk.look(minutes=1) == ()
    assert logged(desk.first) == []
    with desk.path.open("a") as file:
        file.write("1.5,50\n")
    assert desk.look(seconds=5) == ()
    assert logged(desk.first) == [(1, 21.5)]


def test_the_file_is_looked_at_every_few_seconds(desk: SimpleNamespace) -> None:
    desk.keeper.choose(columns(desk.path))
    with patch.object(loggerfile.Tail, "read", autospec=True, side_effect=READ) as read:
        for _ in range(12):
            desk.look(seconds=1)
        assert read.call_count == 4
        desk.look(hours=-2)  # a clock set back must not stop it
        assert read.call_count == 5


def test_a_long_file_is_read_in_bounded_pieces_and_written_in_bounded_lots(desk: SimpleNamespace) -> None:
    rows = [(m / 2, 15 + m % 40 / 4) for m in range(-7_000, 1)]
    desk.path.write_text(HEAD + "".join(f"{at(m):%Y-%m-%d %H:%M:%S},{air},50\n" for m, air in rows), encoding="utf-8")
    old = desk.session.create(desk.path.with_name("old.json"), "old")
    old.become(replace_created(old.job, at(-4_000)))
    desk.keeper.choose(columns(desk.path))
    wrote: list[int] = []
    take = desk.session.take_readings
    desk.session.take_readings = lambda d, drafts: (wrote.append(len(drafts)), take(d, drafts))
    with (
        patch.object(loggerfile, "CHUNK", 8_192),
        patch.object(loggerfile.Tail, "read", autospec=True, side_effect=READ) as read,
    ):
        looks = 0
        while True:
            read.reset_mock()
            before = len(wrote)
            desk.keeper.look(desk.clock.now())
            desk.clock.go(seconds=1)
            assert read.call_count <= PIECES
            assert sum(wrote[before:]) <= MOST_READINGS
            looks += 1
            if not desk.keeper._more and len(logged(old)) == 3_501:
                break
            assert looks < 60
            assert "being read" in desk.keeper.words(desk.clock.now()) or not desk.keeper._more
    assert looks > 10
    assert len(wrote) >= 4
    assert logged(old) == [(m, air) for m, air in rows if m == int(m)]
    assert logged(desk.first) == [rows[-1]]


def replace_created(job: Any, created: datetime) -> Any:
    from msgspec.structs import replace as with_changes

    return with_changes(job, created=created)


# --- what the file does --------------------------------------------------------------------------------


def test_a_column_that_is_gone_is_said_once_and_the_last_reading_holds(desk: SimpleNamespace) -> None:
    desk.keeper.choose(columns(desk.path))
    desk.line(1, 20)
    desk.look(minutes=1)
    desk.path.write_text("Time,Temp,Dew\n2026-03-14 09:05:00,22,9\n", encoding="utf-8")
    said = desk.look(minutes=5)
    assert any("The column “RH” is not in shop.csv" in words for words in said)
    assert desk.look(minutes=20) == ()
    assert logged(desk.first) == [(1, 20)]
    assert desk.keeper.words(at(26)) == "No reading for 25 min: 20 °C and 50 % still holds."
    assert any("RH" in words for _, words in desk.keeper.told)


@pytest.mark.parametrize("bom", [codecs.BOM_UTF8, codecs.BOM_UTF16_LE])
def test_a_byte_order_mark_and_a_decimal_comma(desk: SimpleNamespace, bom: bytes) -> None:
    text = "Zeit;Luft °C;Feuchte %\n14.03.2026 09:01;21,5;48\n"
    encoding = "utf-8" if bom == codecs.BOM_UTF8 else "utf-16-le"
    desk.path.write_bytes(bom + text.encode(encoding))
    desk.keeper.choose(guess(desk.path))
    assert desk.look(minutes=1) == ()
    assert logged(desk.first) == [(1, 21.5)]


def test_a_wrong_delimiter_is_named(desk: SimpleNamespace) -> None:
    desk.path.write_text("Time;Temp;RH\n2026-03-14 09:01;21.5;48\n", encoding="utf-8")
    desk.keeper.choose(columns(desk.path))
    assert desk.look(minutes=1) == (
        "The columns of shop.csv are parted by semicolons, not by commas: choose semicolons.",
    )


def test_a_file_that_is_deleted_and_begun_anew_goes_on(desk: SimpleNamespace) -> None:
    desk.keeper.choose(columns(desk.path))
    desk.line(1, 20)
    desk.look(minutes=1)
    desk.path.unlink()
    assert desk.look(minutes=1) == ("shop.csv is not there: the last reading, 20 °C and 50 %, 60 s old, still holds.",)
    assert desk.look(minutes=3) == ()
    assert "is not there" in desk.keeper.words(at(5))
    desk.path.write_text(HEAD, encoding="utf-8")
    desk.line(0.5, 19)
    desk.line(1, 20)
    desk.line(6, 22)
    assert desk.look(minutes=1) == ("shop.csv was begun anew: only what is newer than the last reading counts.",)
    assert logged(desk.first) == [(1, 20), (6, 22)]
    assert desk.keeper.words(at(6)) == "22 °C and 50 %, 0 s ago."


def test_a_logger_clock_that_jumps_ahead_spoils_nothing(desk: SimpleNamespace) -> None:
    desk.keeper.choose(columns(desk.path))
    desk.line(1, 20)
    desk.line(180, 21)  # three hours ahead
    said = desk.look(minutes=1)
    assert len(said) == 1
    assert "ahead of this computer's time. Set the logger's clock, or choose its zone." in said[0]
    assert "ahead of this computer's" in desk.keeper.words(at(1))
    desk.line(2, 22)
    desk.look(minutes=1)
    assert logged(desk.first) == [(1, 20), (2, 22)]
    assert desk.keeper.left_out() == "Left out: 1 line dated wrong."


def test_a_logger_clock_set_back_is_left_out_until_it_has_caught_up(desk: SimpleNamespace) -> None:
    desk.keeper.choose(columns(desk.path))
    for minutes, air in ((10, 20), (2, 21), (9, 21), (12, 22), (12, 22)):
        desk.line(minutes, air)
    assert len(desk.look(minutes=12)) == 1
    assert logged(desk.first) == [(10, 20), (12, 22)]
    assert desk.keeper.left_out() == "Left out: 1 line written twice, 2 lines from a clock set back."


def test_a_pause_is_told_and_kept_in_view(desk: SimpleNamespace) -> None:
    desk.keeper.choose(columns(desk.path))
    desk.line(1, 20)
    desk.line(121, 21)
    assert desk.look(minutes=121) == ("No reading for 2 h: from 14 Mar 2026, 09:01 to 14 Mar 2026, 11:01.",)
    assert desk.keeper.left_out() == "1 pause of 2 h without a reading."


def test_a_reading_a_little_ahead_waits_for_its_time(desk: SimpleNamespace) -> None:
    desk.keeper.choose(columns(desk.path))
    desk.line(3, 20)
    desk.look(minutes=1)
    assert logged(desk.first) == []
    desk.look(minutes=2)
    assert logged(desk.first) == [(3, 20)]


def test_what_lay_ahead_of_a_computer_that_was_behind_is_read_once_its_clock_is_right(desk: SimpleNamespace) -> None:
    desk.keeper.choose(columns(desk.path))
    desk.line(0, 19)
    for minutes in range(200, 260, 10):
        desk.line(minutes, 20 + minutes / 100)
    desk.look(minutes=1)
    assert logged(desk.first) == [(0, 19)]
    desk.look(minutes=259)
    assert [m for m, _ in logged(desk.first)] == [0, 200, 210, 220, 230, 240, 250]


def test_fahrenheit_is_offered_and_taken(desk: SimpleNamespace) -> None:
    desk.keeper.choose(columns(desk.path))
    desk.line(1, 68)
    assert "but 68 °F can" in desk.look(minutes=1)[0]
    assert desk.keeper.offers_fahrenheit
    desk.keeper.choose(replace(desk.keeper.choice, unit="F"))
    assert desk.look(seconds=1) == ()
    assert logged(desk.first) == [(1, 20)]
    assert not desk.keeper.offers_fahrenheit


# --- which jobs, from when -----------------------------------------------------------------------------


def test_after_a_restart_nothing_is_added_twice(desk: SimpleNamespace) -> None:
    desk.keeper.choose(columns(desk.path))
    for minutes in range(1, 30):
        desk.line(minutes, 20 + minutes / 10)
    desk.look(minutes=30)
    before = desk.first.job
    assert len(logged(desk.first)) == 29
    again = LoggerKeeper(desk.session, desk.keeper.kept)
    again.look(desk.clock.now())
    assert desk.first.job is before
    desk.line(31, 30)
    desk.clock.go(minutes=2)
    again.look(desk.clock.now())
    assert logged(desk.first)[-2:] == [(29, 22.9), (31, 30)]
    assert len(logged(desk.first)) == 30


def test_a_job_opened_later_gets_the_air_since_it_was_begun(desk: SimpleNamespace) -> None:
    path = desk.first.path
    desk.session.close(desk.first)
    desk.keeper.choose(columns(desk.path))
    for minutes in range(-40, 100, 20):
        desk.line(minutes, 20 + minutes / 10)
    desk.look(minutes=90)
    assert [m for m, _ in logged(desk.second)] == [0, 20, 40, 60, 80]
    opened = desk.session.open(path)
    desk.look(seconds=1)
    assert logged(opened) == logged(desk.second)


def test_the_air_in_force_when_a_job_begins_is_the_reading_before_it(desk: SimpleNamespace) -> None:
    desk.keeper.choose(columns(desk.path))
    desk.line(-80, 18)
    desk.line(-20, 19)
    desk.look(minutes=1)
    assert logged(desk.first) == [(-20, 19)]
    assert desk.first.state.air.at(START).air_degC == 19


def test_a_job_that_nobody_touched_for_long_gets_the_air_from_now_on(desk: SimpleNamespace) -> None:
    days = BACK.days + 1
    desk.keeper.choose(columns(desk.path))
    for minutes in range(days * 1440 - 120, days * 1440 + 1, 40):
        desk.line(minutes, 10 + minutes % 13)
    desk.look(days=days)
    assert [m for m, _ in logged(desk.first)] == [days * 1440]


def test_an_older_reading_finds_its_place_in_the_history(desk: SimpleNamespace) -> None:
    desk.keeper.choose(columns(desk.path))
    desk.clock.go(minutes=10)
    desk.session.apply(partial(ev.ReadingTaken, air_degC=25, humidity_percent=40, source="typed"))
    desk.line(8, 20)
    desk.look(seconds=30)
    air = desk.second.state.air
    assert [air.at(at(m)).air_degC for m in (9, 11)] == [20, 25]
    opened = jobfile.load(desk.second.path).job
    assert opened == desk.second.job
    desk.session.apply(named("next"))
    assert desk.second.job.events[-1].at == desk.clock.now()


def test_a_job_that_is_only_looked_at_is_left_alone(desk: SimpleNamespace) -> None:
    other = Session(desk.clock, desk.session.tables, desk.session.measures)
    looked = other.open(desk.first.path)
    assert looked.read_only
    keeper = LoggerKeeper(other)
    keeper.choose(columns(desk.path))
    desk.line(1, 20)
    desk.clock.go(minutes=1)
    keeper.look(desk.clock.now())
    assert logged(looked) == []
    other.close_all()


def test_a_job_that_is_not_saved_keeps_its_readings_and_says_so(desk: SimpleNamespace, full_disk: Any) -> None:
    desk.keeper.choose(columns(desk.path))
    desk.line(1, 20)
    with full_disk():
        desk.look(minutes=1)
    assert "full" in desk.first.unsaved
    assert logged(desk.first) == [(1, 20)]
    desk.session.save_all()
    assert jobfile.load(desk.first.path).job == desk.first.job


def test_the_kept_versions_stay_those_of_the_painter(desk: SimpleNamespace) -> None:
    desk.keeper.choose(columns(desk.path))
    desk.session.apply(named("door, left"))
    before = len(atomic.versions(desk.second.path))
    for minutes in range(1, 20):
        desk.line(minutes, 20 + minutes)
        desk.look(minutes=1)
    assert len(logged(desk.second)) == 19
    assert len(atomic.versions(desk.second.path)) == before
    desk.session.apply(named("door, right"))
    assert len(atomic.versions(desk.second.path)) == before + 1


# --- undo ----------------------------------------------------------------------------------------------


def test_an_undo_passes_over_what_the_logger_wrote(desk: SimpleNamespace) -> None:
    desk.keeper.choose(columns(desk.path))
    made = desk.session.apply(named("door, left"))
    desk.line(1, 20)
    desk.look(minutes=1)
    assert last_act(desk.second.job) == made
    assert desk.session.undo() == made
    desk.line(2, 22)
    desk.look(minutes=1)
    assert last_undo(desk.second.job) is not None
    desk.session.redo()
    assert desk.second.state.title == "door, left"
    assert logged(desk.second) == [(1, 20), (2, 22)]


def test_a_typed_reading_is_undone(desk: SimpleNamespace) -> None:
    desk.keeper.choose(columns(desk.path))
    typed = desk.session.apply(partial(ev.ReadingTaken, air_degC=25, humidity_percent=40, source="typed"))
    desk.line(1, 20)
    desk.look(minutes=1)
    assert desk.session.undo() == typed
    assert [r.air_degC for r in desk.second.state.readings] == [20]


def test_an_act_is_moved_past_what_the_logger_wrote(desk: SimpleNamespace) -> None:
    desk.keeper.choose(columns(desk.path))
    desk.clock.go(minutes=5)
    made = desk.session.apply(named("door, left"))
    desk.line(6, 20)
    desk.look(minutes=2)
    event, moved_to = desk.session.shift_last_act(timedelta(minutes=-1))
    assert (event.id, moved_to) == (made[0].id, at(4))
    assert logged(desk.second) == [(6, 20)]


def test_readings_alone_are_nothing_to_undo(desk: SimpleNamespace) -> None:
    while desk.second.can_undo:
        desk.session.undo()
    desk.keeper.choose(columns(desk.path))
    desk.line(1, 20)
    desk.look(minutes=1)
    assert logged(desk.second)
    assert not desk.second.can_undo
    desk.session.apply(named("again"))
    assert desk.second.can_undo


def test_readings_of_a_wrong_file_are_taken_out_again(desk: SimpleNamespace) -> None:
    desk.keeper.choose(columns(desk.path))
    desk.line(1, 20)
    desk.line(2, 30)
    desk.look(minutes=2)
    assert desk.keeper.take_back(desk.clock.now()) == 4
    assert desk.keeper.choice is None
    assert desk.first.state.readings == desk.second.state.readings == []
    assert jobfile.load(desk.first.path).job == desk.first.job
    desk.session.redo()
    for document in (desk.first, desk.second):
        assert [r.air_degC for r in document.state.readings] == [20, 30]


def test_what_was_taken_out_can_be_read_anew_with_other_columns(desk: SimpleNamespace) -> None:
    desk.keeper.choose(columns(desk.path))
    desk.line(1, 20)
    desk.line(2, 30)
    desk.look(minutes=2)
    desk.keeper.take_back(desk.clock.now())
    desk.keeper.choose(columns(desk.path, unit="F"))
    desk.look(seconds=1)
    for document in (desk.first, desk.second):
        assert [r.air_degC for r in document.state.readings] == [-6.67, -1.11]


# --- the choice ----------------------------------------------------------------------------------------


def test_the_choice_is_remembered_and_followed_at_the_next_start(desk: SimpleNamespace) -> None:
    kept: list[LoggerChoice | None] = []
    keeper = LoggerKeeper(desk.session, None, kept.append)
    chosen = columns(desk.path, zone=winter_zone, surface_column="Panel", unit="F")
    keeper.choose(chosen)
    assert keeper.choice == chosen
    assert LoggerKeeper(desk.session, kept[-1]).choice == chosen
    assert settings.save(desk.path.parent, Settings(logger=kept[-1]))
    assert settings.load(desk.path.parent).logger == kept[-1]
    keeper.leave()
    assert kept[-1] is None
    assert keeper.words(START) == "No logger's file is followed."


def test_a_file_that_is_missing_at_the_start_is_said_and_waited_for(desk: SimpleNamespace) -> None:
    desk.session.apply(partial(ev.ReadingTaken, air_degC=17, humidity_percent=60, source="typed"))
    kept = kept_choice(columns(desk.path))
    desk.path.unlink()
    keeper = LoggerKeeper(desk.session, kept)
    assert keeper.words(START) == "shop.csv is about to be read."
    desk.clock.go(minutes=40)
    said = keeper.look(desk.clock.now())
    assert said == ("shop.csv is not there, and no reading was taken from it yet.",)
    assert keeper.words(desk.clock.now()) == (
        "shop.csv is not there, and no reading was taken from it yet. "
        "The job's last reading, 17 °C and 60 %, 40 min old, still holds."
    )
    desk.path.write_text(HEAD, encoding="utf-8")
    desk.line(41, 20)
    desk.clock.go(minutes=1)
    assert keeper.look(desk.clock.now()) == ()
    assert logged(desk.first) == [(41, 20)]


def test_a_kept_choice_that_makes_no_sense_is_said(desk: SimpleNamespace) -> None:
    good = kept_choice(columns(desk.path))
    assert good is not None
    fields = {f: getattr(good, f) for f in good.__struct_fields__}
    for wrong in (
        {"delimiter": "x"}, {"decimal": ""}, {"unit": "K"}, {"time_format": "noon"}, {"air_column": ""}, {"path": ""},
    ):  # fmt: skip
        bad = LoggerChoice(**(fields | wrong))
        assert chosen_columns(bad) is None
        keeper = LoggerKeeper(desk.session, bad)
        assert len(keeper.look(START)) == 1
        assert keeper.look(START) == ()
    assert Settings().logger is None


def test_a_choice_that_no_settings_can_hold_is_followed_all_the_same(desk: SimpleNamespace) -> None:
    kept: list[LoggerChoice | None] = []
    keeper = LoggerKeeper(desk.session, None, kept.append)
    keeper.choose(columns(desk.path.with_name("a\udcff.csv")))
    assert kept == [None]
    assert any("choose it again next time" in words for words in keeper.look(START))


def test_a_file_called_typed_is_still_a_loggers(desk: SimpleNamespace) -> None:
    path = desk.path.rename(desk.path.with_name("typed"))
    path.write_text(HEAD + "2026-03-14 09:01:00,20,50\n", encoding="utf-8")
    desk.keeper.choose(columns(path))
    desk.look(minutes=1)
    assert logged(desk.first) == [(1, 20)]


# --- zones ---------------------------------------------------------------------------------------------


@pytest.fixture
def berlin(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    if not hasattr(time, "tzset"):
        pytest.skip("this system can't change its zone for one process")
    monkeypatch.setenv("TZ", "Europe/Berlin")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.usefixtures("berlin")
def test_this_computers_zone_is_the_systems() -> None:
    assert os.environ["TZ"] == "Europe/Berlin"
    named_zone = ZoneInfo("Europe/Berlin")
    instant = datetime(2026, 1, 1, 0, 30, tzinfo=UTC)
    for hours in range(0, 8760, 1):
        when = instant + timedelta(hours=hours)
        mine, theirs = when.astimezone(computers_zone), when.astimezone(named_zone)
        assert (mine.replace(tzinfo=None), mine.fold) == (theirs.replace(tzinfo=None), theirs.fold)
        assert mine.astimezone(UTC) == when
        winter = when.astimezone(winter_zone)
        assert winter.utcoffset() == timedelta(hours=1)
        assert winter.astimezone(UTC) == when


@pytest.mark.usefixtures("berlin")
def test_a_logger_without_summer_time_is_read_right(desk: SimpleNamespace) -> None:
    desk.path.write_text(HEAD + "2026-07-01 12:00,20,50\n", encoding="utf-8")
    for zone, hour in ((computers_zone, 10), (winter_zone, 11), (UTC, 12)):
        file = loggerkeeper.LoggerFile(columns(desk.path, zone=zone))
        assert [r.at.hour for r in file.poll().readings] == [hour]


@pytest.mark.parametrize("key", ["computer", "winter", "UTC", "UTC+05:30", "UTC-03:00", "Europe/Berlin"])
def test_a_zone_comes_back_by_its_key(key: str) -> None:
    assert zone_key(zone_of(key)) == key


@pytest.mark.parametrize("key", ["", "UTC+99:00", "Nowhere/At all", "../etc", "\0"])
def test_a_key_of_no_zone_is_this_computers(key: str) -> None:
    assert zone_of(key) is computers_zone
