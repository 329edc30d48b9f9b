"""`benchtool check JOB --calendar FILE`: the windows of hours and days for a phone."""

import json
import os
from datetime import timedelta

import pytest
from cli.asking import BASE, ask, minutes, tank
from icalendar import Calendar
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.store.jobfile import dump

DONE = minutes(42)
FINISHED = tank(
    ev.CoatStarted(id="e17", at=minutes(41), layer="l1", mix="m1"), ev.CoatDone(id="e18", at=DONE, layer="l1")
)
"""The tank with both coats of its base on, at minute 42: recoat from 30 min to 2 h, tape 24 h, cure 7 days."""
WANTED = {
    "Fuel tank, Silver base: recoat opens": DONE + timedelta(minutes=30),
    "Fuel tank, Silver base: recoat closes": DONE + timedelta(hours=2),
    "Fuel tank, Silver base: pot life is over": minutes(6) + timedelta(hours=4),
    "Fuel tank, Silver base: tape may touch it": DONE + timedelta(hours=24),
    "Fuel tank, Silver base: cure is over": DONE + timedelta(days=7),
}


def check(*more, now=DONE, job=FINISHED):
    return ask("check", "tank.job", *more, now=now, job=lambda name: job)


def told(text):
    return {str(e["SUMMARY"]): e.start for e in Calendar.from_ical(text).walk("VEVENT")}


def test_the_calendar_is_written_and_the_answer_says_so(tmp_path):
    file = tmp_path / "tank.ics"
    plain, said = check(), check("--calendar", str(file))
    assert said.status == plain.status
    assert said.out == plain.out + f"\nThe calendar in {file} has 5 entries.\n"
    assert told(file.read_bytes()) == WANTED


def test_as_json_it_is_one_key_more(tmp_path):
    file = tmp_path / "tank.ics"
    said = check("--calendar", str(file), "--json")
    assert said.values.pop("calendar") == {"file": str(file), "entries": 5}
    assert {k: v for k, v in said.values.items() if k != "calendar"} == check("--json").values
    assert told(file.read_bytes()) == WANTED


def test_a_dash_gives_the_calendar_alone(tmp_path):
    said = check("--calendar", "-")
    assert said.out.startswith("BEGIN:VCALENDAR\r\n" if os.linesep == "\n" else "BEGIN:VCALENDAR\n")
    assert told(said.out) == WANTED
    assert said.status == check().status
    check("--calendar", str(tmp_path / "tank.ics"))
    if os.linesep == "\n":
        assert (tmp_path / "tank.ics").read_bytes() == said.out.encode()


def test_where_the_system_writes_the_carriage_return_it_is_not_written_twice(monkeypatch):
    monkeypatch.setattr("benchtool.cli.check.os.linesep", "\r\n")
    out = check("--calendar", "-").out
    assert "\r" not in out
    assert told(out.replace("\n", "\r\n")) == WANTED


def test_one_entry_is_one(tmp_path):
    said = check("--calendar", str(tmp_path / "a.ics"), now=DONE + timedelta(days=2))
    assert said.out.endswith("a.ics has 1 entry.\n")


def test_it_is_told_as_of_the_moment_asked_for(tmp_path):
    said = check("--calendar", "-", "--at", (DONE + timedelta(hours=10)).isoformat(), now=DONE + timedelta(days=30))
    assert set(told(said.out)) == {"Fuel tank, Silver base: tape may touch it", "Fuel tank, Silver base: cure is over"}
    assert "DTSTAMP:20261125T234200Z" in said.out


def test_shorter_and_longer_windows():
    assert set(told(check("--calendar", "-", "--least", "6 d").out)) == {"Fuel tank, Silver base: cure is over"}
    half_way = check("--calendar", "-", "--least", "2h", now=minutes(31), job=tank()).out  # coat 2 until 15:30
    assert "Fuel tank, Silver base: coat 2 may go on" not in told(half_way)
    short = check("--calendar", "-", "--least", "5min", now=minutes(31), job=tank()).out
    assert told(short)["Fuel tank, Silver base: coat 2 may go on"] == minutes(40)


def test_nothing_to_tell_is_said_and_nothing_written(tmp_path):
    file = tmp_path / "a.ics"
    for where in (str(file), "-"):
        said = check("--calendar", where, now=DONE + timedelta(days=30))
        assert said.status == 2
        assert "a calendar would be empty" in said.err
    assert not file.exists()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--calendar", "-", "--json"], "both want standard output"),
        (["--calendar", ""], "names no file"),
        (["--least", "2h"], "write --calendar FILE too"),
        (["--calendar", "-", "--least", "soon"], "--least"),
        (["--calendar", "-", "--least", "-2h"], "--least"),
        (["--calendar", "no/such/folder/a.ics"], "benchtool check: a.ics: Its folder is gone"),
        (["--calendar"], "expected one argument"),
    ],
)
def test_what_is_no_use_is_told_in_one_line(options, words):
    said = check(*options)
    assert said.status == 2
    assert words in said.err


def test_the_job_itself_is_never_written_over(tmp_path):
    file = tmp_path / "tank.json"
    file.write_bytes(dump(FINISHED))
    said = check("--calendar", str(file))
    assert said.status == 2
    assert "something else" in said.err
    assert file.read_bytes() == dump(FINISHED)


def test_a_stop_is_still_a_stop(tmp_path):
    early = tank(ev.CoatStarted(id="e17", at=minutes(31), layer="l1", mix="m1"),
                 ev.CoatDone(id="e18", at=minutes(32), layer="l1"))  # fmt: skip
    file = tmp_path / "a.ics"
    said = check("--calendar", str(file), "--json", job=early, now=minutes(33))
    assert said.status == 1
    assert json.loads(said.out)["calendar"]["entries"] == len(told(file.read_bytes())) == 5


def test_a_time_beyond_the_calendar_is_said(tmp_path):
    endless = replace(BASE, cure=timedelta(days=999_999_999))
    job = replace(FINISHED, events=(*FINISHED.events[:1], ev.CardCopied(id="e2", at=minutes(0), card=endless),
                                    *FINISHED.events[2:]))  # fmt: skip
    said = check("--calendar", str(tmp_path / "a.ics"), job=job)
    assert said.status == 2
    assert "no calendar reaches" in said.err
