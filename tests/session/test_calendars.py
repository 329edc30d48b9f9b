"""The calendar file: written whole, and never over something that is no calendar from here."""

import os
from datetime import timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given
from icalendar import Calendar
from strategies import examples, words

from benchtool.session.calendars import SaveFault, save_calendar, suggested_name, write_calendar
from benchtool.session.demo import place_demo
from benchtool.session.session import NotNow, Session
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.trade.quantities import Measures


@pytest.fixture
def session(clock: Any, tmp_path: Path) -> Any:
    made = Session(clock, load_tables(), Measures())
    made.open(place_demo(tmp_path / "jobs", clock.now()))
    yield made
    made.close_all()


def test_the_job_in_hand_is_written_and_its_entries_counted(session: Session, tmp_path: Path) -> None:
    file = tmp_path / "demo.ics"
    count = write_calendar(session, file)
    calendar = Calendar.from_ical(file.read_bytes())
    assert count == len(calendar.walk("VEVENT")) > 0
    assert calendar["NAME"] == session.current.title  # type: ignore[union-attr]
    assert all(e["DTSTAMP"].dt == session.now() for e in calendar.walk("VEVENT"))
    assert b"\r\r\n" not in file.read_bytes()
    assert file.read_bytes().count(b"\n") == file.read_bytes().count(b"\r\n")


def test_an_earlier_calendar_is_replaced_and_nothing_is_left_beside_it(session: Session, tmp_path: Path) -> None:
    folder = tmp_path / "out"
    folder.mkdir()
    file = folder / "demo.ics"
    write_calendar(session, file)
    before = file.read_bytes()
    session.clock.go(hours=1)  # type: ignore[attr-defined]
    write_calendar(session, file)
    assert file.read_bytes() != before
    assert list(folder.iterdir()) == [file]


def test_a_shorter_window_is_told_where_asked(session: Session, tmp_path: Path) -> None:
    usual, every = tmp_path / "a.ics", tmp_path / "b.ics"
    assert write_calendar(session, every, least=timedelta(0)) > write_calendar(session, usual, least=timedelta(days=2))
    assert len(Calendar.from_ical(every.read_bytes()).events) > len(Calendar.from_ical(usual.read_bytes()).events)


def test_a_job_is_never_written_over(session: Session) -> None:
    assert session.current is not None
    path, before = session.current.path, session.current.path.read_bytes()
    with pytest.raises(SaveFault, match="something else"):
        write_calendar(session, path)
    assert path.read_bytes() == before
    assert jobfile.load(path).job == session.current.job


@pytest.mark.parametrize(
    "content", [b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//other//EN\r\n", b"my notes", b"\x00" * 2000]
)
def test_nothing_of_somebody_else_is_written_over(content: bytes, session: Session, tmp_path: Path) -> None:
    file = tmp_path / "mine.ics"
    file.write_bytes(content)
    with pytest.raises(SaveFault, match="choose another name"):
        write_calendar(session, file)
    assert file.read_bytes() == content


def test_an_empty_file_is_taken(session: Session, tmp_path: Path) -> None:
    file = tmp_path / "new.ics"
    file.touch()
    assert write_calendar(session, file)
    assert file.stat().st_size


def test_why_it_is_not_written_is_a_sentence(session: Session, tmp_path: Path, full_disk: Any) -> None:
    with pytest.raises(SaveFault, match="folder is gone"):
        write_calendar(session, tmp_path / "nowhere" / "a.ics")
    with pytest.raises(SaveFault, match="folder of this name"):
        write_calendar(session, tmp_path)
    with pytest.raises(SaveFault, match="can have this name"):
        write_calendar(session, tmp_path / "a\0.ics")
    with full_disk(), pytest.raises(SaveFault, match="disk is full"):
        write_calendar(session, tmp_path / "full.ics")
    assert not (tmp_path / "full.ics").exists()


def test_a_pipe_is_refused_and_waits_for_nobody(tmp_path: Path) -> None:
    if not hasattr(os, "mkfifo"):
        pytest.skip("this system has no named pipes")
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(SaveFault, match="ordinary"):
        save_calendar(tmp_path / "pipe", "BEGIN:VCALENDAR\r\n")


def test_with_nothing_to_tell_no_file_is_made(session: Session, clock: Any, tmp_path: Path) -> None:
    clock.go(days=400)
    with pytest.raises(NotNow, match="ends 60 min or more from now: a calendar would be empty"):
        write_calendar(session, tmp_path / "a.ics")
    session.close_all()
    with pytest.raises(NotNow, match="No job is open"):
        write_calendar(session, tmp_path / "a.ics")
    assert not (tmp_path / "a.ics").exists()


def test_a_job_that_is_only_looked_at_can_be_told_too(session: Session, clock: Any, tmp_path: Path) -> None:
    assert session.current is not None
    other = Session(clock, session.tables, session.measures)
    assert other.open(session.current.path).read_only
    assert write_calendar(other, tmp_path / "a.ics")
    other.close_all()


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("Harbour diorama", "Harbour diorama calendar.ics"),
        ("a/b\\c:d*?", "a b c d calendar.ics"),
        ("../../etc", "etc calendar.ics"),
        ("-rf", "rf calendar.ics"),
        ("名札", "名札 calendar.ics"),
        ("CON", "CON calendar.ics"),
        ("\0\n", "Job calendar.ics"),
        ("", "Job calendar.ics"),
    ],
)
def test_a_name_is_suggested(title: str, name: str) -> None:
    assert suggested_name(SimpleNamespace(title=title)) == name  # type: ignore[arg-type]


@examples(100)
@given(words, words)
def test_a_suggested_name_can_always_be_written(head: str, tail: str) -> None:
    name = suggested_name(SimpleNamespace(title=head + "🎨" * 60 + tail))  # type: ignore[arg-type]
    assert len(name.encode()) <= 255
    assert name.isprintable()
    assert Path(name).name == name
    assert not set('<>:"/\\|?*') & set(name)
    assert name[0] not in " .-~"
