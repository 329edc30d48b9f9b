"""`benchtool check`: its keys, its moments, and what it says to a job it can't read."""

import time
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from cli.asking import BASE, CAUTION, START, ask, minutes, tank
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from benchtool.cli.check import read_moment
from benchtool.cli.common import Unusable
from benchtool.job import events as ev
from benchtool.job.record import Job
from benchtool.store.jobfile import JobFileFault, Opened, dump, load

NUMBER = (int, float)
WINDOW_KEYS = {
    "piece": str,
    "piece_name": str,
    "layer": str,
    "layer_name": str,
    "kind": str,
    "coat": int,
    "opens_at": datetime,
    "closes_at": datetime,
    "remaining_s": NUMBER,
    "progress": NUMBER,
    "state": str,
    "words": str,
    "air_words": str,
    "card_ends_at": datetime,
}
FINDING_KEYS = {
    "rule": str,
    "severity": str,
    "piece": str,
    "piece_name": str,
    "layer": str,
    "layer_name": str,
    "message": str,
    "remedy": str,
    "reason": str,
    "source": str,
    "key": str,
    "clears_at": datetime,
    "waived": bool,
    "echoes": list,
}


AT_FLASH = minutes(34)


def check(job, *more, now=AT_FLASH):
    return ask("check", "tank.job", *more, now=now, job=lambda name: job)


def window(values, kind):
    return next(w for w in values["windows"] if w["kind"] == kind)


def read_stamp(text):
    assert text.endswith("Z")
    when = datetime.fromisoformat(text)
    assert when.utcoffset() == timedelta(0)
    return when


def assert_typed(entry, keys):
    assert set(entry) - {"why"} == set(keys)
    for key, kind in keys.items():
        value = entry[key]
        if kind is datetime:
            assert value is None or read_stamp(value)
        elif value is not None:
            assert isinstance(value, kind), key
            assert kind is bool or not isinstance(value, bool), key


FINISHED = (
    ev.CoatStarted(id="e17", at=minutes(41), layer="l1", mix="m1"),
    ev.CoatDone(id="e18", at=minutes(45), layer="l1"),
)


def test_the_keys_and_their_types():
    ahead = ev.ReadingTaken(id="e17", at=minutes(90), air_degC=20, humidity_percent=50)
    asked = [(tank(*FINISHED), minutes(m), True) for m in (0, 8, 22, 27, 34, 60, 170, 20_000)]
    kinds, severities = set(), set()
    for job, at, looking_back in [*asked, (tank(ahead), minutes(34), False)]:
        when = ["--at", at.isoformat()] if looking_back else []
        said = check(job, "--json", *when, now=at)
        values = said.values
        assert {"at", "windows", "findings"} <= set(values)
        assert read_stamp(values["at"]) == at
        for entry in values["windows"]:
            assert_typed(entry, WINDOW_KEYS)
            assert entry["state"] in ("waiting", "open", "closing", "closed")
            assert 0 <= entry["progress"] <= 1
            kinds.add(entry["kind"])
        for entry in values["findings"]:
            assert_typed(entry, FINDING_KEYS)
            assert entry["severity"] in ("stop", "caution", "note")
            severities.add(entry["severity"])
        assert said.status == (1 if any(f["severity"] == "stop" for f in values["findings"]) else 0)
    assert kinds == {"stand", "pot life", "flash", "recoat", "tape", "cure"}
    assert severities >= {"stop", "note"}


def test_a_window_with_all_its_values_needs_no_why():
    """By hand: coat 2 was done at 13:45; the next layer may go on from 30 min to 2 h after that."""
    recoat = window(check(tank(*FINISHED), "--json", now=minutes(100)).values, "recoat")
    assert "why" not in recoat
    assert (recoat["opens_at"], recoat["closes_at"]) == ("2026-11-25T14:15:00Z", "2026-11-25T15:45:00Z")
    assert (recoat["coat"], recoat["state"], recoat["remaining_s"]) == (2, "open", 65 * 60)
    assert recoat["progress"] == 1
    assert "Top clear" in recoat["words"]


def test_a_flash_that_runs():
    """By hand: coat 1 was done at 13:30, may be gone over from 10 min to 2 h; the cup lives 4 h from 13:06."""
    said = check(tank(), "--json")
    values = said.values
    flash = window(values, "flash")
    assert (flash["piece"], flash["piece_name"]) == ("p1", "Fuel tank")
    assert (flash["layer"], flash["layer_name"], flash["coat"]) == ("l1", "Silver base", 1)
    assert (flash["opens_at"], flash["closes_at"]) == ("2026-11-25T13:40:00Z", "2026-11-25T15:30:00Z")
    assert "why" not in flash
    assert flash["remaining_s"] == pytest.approx(360)
    assert flash["progress"] == pytest.approx(0.4)
    assert flash["state"] == "waiting"
    assert "6:00" in flash["words"]
    pot = window(values, "pot life")
    assert (pot["opens_at"], pot["closes_at"]) == ("2026-11-25T13:06:00Z", "2026-11-25T17:06:00Z")
    assert pot["remaining_s"] == pytest.approx(4 * 3600 - 28 * 60)
    assert pot["coat"] is None
    (stop,) = [f for f in values["findings"] if f["severity"] == "stop"]
    assert (stop["rule"], stop["clears_at"], stop["waived"]) == ("timing.flash", "2026-11-25T13:40:00Z", False)
    (piece,) = values["pieces"]
    assert (piece["piece"], piece["piece_name"]) == ("p1", "Fuel tank")
    assert "6:00" in piece["next"]
    assert values["left_out_events"] == 0
    assert values["notes"] == []
    assert said.status == 1


def test_any_zone_of_the_clock_is_answered_in_utc():
    east = AT_FLASH.astimezone(timezone(timedelta(hours=5, minutes=30)))
    assert check(tank(), "--json", now=east).out == check(tank(), "--json").out


def test_what_cured_long_ago_is_listed_no_more():
    job, cured = tank(*FINISHED), minutes(45) + timedelta(days=7)
    assert window(check(job, "--json", now=cured).values, "cure")["state"] == "open"
    later = check(job, "--json", now=cured + timedelta(days=2)).values["windows"]
    assert "cure" not in {w["kind"] for w in later}


def test_the_stop_clears_with_time():
    assert check(tank(), now=minutes(40) - timedelta(seconds=1)).status == 1
    assert check(tank(), now=minutes(40)).status == 0


def test_a_stop_signed_off_is_no_trouble():
    stop = next(f for f in check(tank(), "--json").values["findings"] if f["severity"] == "stop")
    waiver = ev.WaiverSigned(
        id="e17", at=minutes(33), rule=stop["rule"], key=stop["key"], message=stop["message"], reason="A test panel"
    )
    said = check(tank(waiver), "--json")
    assert said.status == 0
    assert [f["waived"] for f in said.values["findings"] if f["key"] == stop["key"]] == [True]
    assert "Stop, signed off: " in check(tank(waiver)).out


def test_a_stop_about_the_record_has_no_piece():
    ahead = ev.ReadingTaken(id="e17", at=minutes(90), air_degC=20, humidity_percent=50)
    said = check(tank(ahead), "--json")
    finding = next(f for f in said.values["findings"] if f["rule"] == "record.clock-behind")
    assert finding["piece"] is finding["layer"] is finding["piece_name"] is None
    assert "record" in finding["why"]
    assert "\nThe record\n  Stop: " in check(tank(ahead)).out


def test_as_it_stood_then():
    late = ev.CoatStarted(id="e17", at=minutes(45), layer="l1", mix="m1")
    said = check(tank(late), "--at", "2026-11-25T14:34:00+01:00", "--json", now=minutes(5000))
    assert said.values["at"] == "2026-11-25T13:34:00Z"
    assert said.values["left_out_events"] == 1
    assert "1 later entry" in said.values["notes"][0]
    assert window(said.values, "flash")["remaining_s"] == pytest.approx(360)
    assert said.status == 1
    assert check(tank(late), "--at", "2026-11-25T13:45:00Z", "--json").values["left_out_events"] == 0


def test_before_the_job_began_there_is_nothing():
    said = check(tank(), "--at", "2026-11-24", "--json")
    values = said.values
    assert (said.status, values["windows"], values["findings"]) == (0, [], [])
    assert values["left_out_events"] == 16
    assert "There is no piece" in check(tank(), "--at", "2026-11-24").out


@pytest.fixture
def in_zone(monkeypatch):
    """Set this computer's own zone: an hour and a half ahead of UTC, written as POSIX TZ."""
    if not hasattr(time, "tzset"):
        pytest.skip("this system takes its zone from elsewhere")
    monkeypatch.setenv("TZ", "XXX-01:30")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        # the examples of RFC 3339 section 5.8, but for its leap seconds
        ("1985-04-12T23:20:50.52Z", datetime(1985, 4, 12, 23, 20, 50, 520_000, tzinfo=UTC)),
        ("1996-12-19T16:39:57-08:00", datetime(1996, 12, 20, 0, 39, 57, tzinfo=UTC)),
        # its section 5.6: lower case letters and a space in place of T
        ("1996-12-19t16:39:57z", datetime(1996, 12, 19, 16, 39, 57, tzinfo=UTC)),
        ("1996-12-19 16:39:57-08:00", datetime(1996, 12, 20, 0, 39, 57, tzinfo=UTC)),
        ("2026-11-25 14:30", datetime(2026, 11, 25, 13, 0, tzinfo=UTC)),
        ("2026-11-25T14:30", datetime(2026, 11, 25, 13, 0, tzinfo=UTC)),
        ("2026-11-25", datetime(2026, 11, 24, 22, 30, tzinfo=UTC)),
    ],
)
def test_moments(in_zone, text, meant):
    assert read_moment(text) == meant


@pytest.mark.parametrize(
    "text",
    [
        "", "now", "14:30", "25.11.2026", "2026-13-01", "2026-02-29", "2026-11-25T25:00Z", "2026-11-25T14",
        "20261125", "2026-W48-3", "2026-11-25T14:30+1", "2026-11-25T14:30+99:00", "0001-01-01T00:00:00+14:00",
        "9999-12-31T23:59:59-14:00", "2026-11-25T14:30:00 Z x", "2026-11-25\n2026-11-26", "٢٠٢٦-11-25", "-5",
    ],
)  # fmt: skip
def test_a_moment_that_is_none(text):
    said = check(tank(), f"--at={text}")
    assert said.status == 2
    assert "2026-11-25 14:30" in said.err


@given(st.one_of(st.text(), st.from_regex(r"[0-9]{4}-[0-9]{2}-[0-9]{2}([T ][0-9:.]*([Z+-][0-9:]*)?)?", fullmatch=True)))
@settings(deadline=None)
def test_no_moment_breaks_it(text):
    try:
        moment = read_moment(text)
    except Unusable:
        return
    assert moment.utcoffset() == timedelta(0)


class TestAJobThatCantBeRead:
    def opening(self, fault):
        def opened(name):
            raise fault

        return opened

    @pytest.mark.parametrize(
        ("fault", "told"),
        [
            (FileNotFoundError(2, "No such file or directory"), "No such file"),
            (PermissionError(13, "Permission denied"), "Permission denied"),
            (RuntimeError("two\nlines"), "two lines"),
            (RecursionError(), "RecursionError"),
        ],
    )
    def test_is_told_in_one_line(self, fault, told):
        said = ask("check", "tank.job", "--json", job=self.opening(fault))
        assert said.status == 2
        assert told in said.err

    def test_with_the_words_of_the_reader(self, tmp_path: Path):
        broken = tmp_path / "tank.job"
        broken.write_bytes(dump(tank())[:-400])
        with pytest.raises(JobFileFault) as fault:
            load(broken)
        said = ask("check", str(broken), job=lambda name: load(Path(name)))
        assert said.status == 2
        assert str(fault.value) in said.err
        assert "worked out" not in said.err

    def test_a_broken_table_is_one_line_too(self):
        job = tank()
        piece = replace(job.events[3].piece, substrate="no-such")
        odd = replace(job, events=(*job.events[:3], replace(job.events[3], piece=piece), *job.events[4:]))
        assert check(odd).status in (0, 1)  # a material that the table does not have counts as unknown

    def test_a_time_beyond_the_calendar(self):
        card = replace(BASE, cure=timedelta(days=4_000_000), flash=timedelta(days=4_000_000))
        job = tank()
        went_by = tuple(
            replace(e, card=card) if isinstance(e, ev.CardCopied) and e.card.id == BASE.id else e for e in job.events
        )
        said = check(replace(job, events=went_by))
        assert said.status == 2
        assert "calendar" in said.err


def test_a_file_of_a_newer_schema_answers_with_notes():
    newer = Opened(job=tank(schema=99), newer=True, notes=("“shine” is not known here and was left out.",))
    said = check(newer, "--json")
    assert said.values["notes"] == ["“shine” is not known here and was left out."]
    assert "“shine” is not known here" in check(newer).out
    assert "newer version" in check(tank(schema=99), "--json").values["notes"][0]


def test_from_a_real_file(tmp_path: Path):
    path = tmp_path / "tank.job"
    path.write_bytes(dump(tank()))
    said = ask("check", str(path), "--json", now=minutes(34), job=lambda name: load(Path(name)))
    assert said.out == check(tank(), "--json").out


class TestWords:
    def test_say_what_is_on_it_and_what_to_do(self):
        out, values = check(tank()).out, check(tank(), "--json").values
        (stop,) = values["findings"]
        for words in (
            "Tank, for A customer",
            "Fuel tank: ABS (by its mark), rigid, painted outside",
            f"Next: {values['pieces'][0]['next']}",
            "1. Silver base with Slow activator, airbrush: 1 of 2 coats is on",
            "2. Top clear, airbrush: 2 coats planned",
            *(w["words"] for w in values["windows"]),
            f"Stop: {stop['message']}",
            stop["remedy"],
            "In all: 1 stop.",
        ):
            assert words in out
        assert max(map(len, out.splitlines())) <= 92
        assert "Demo" not in out

    def test_say_first_that_it_is_a_demo(self):
        out = check(tank(demo=True, note="A scenario of our own."), "--at", "2026-11-25T13:34Z").out
        assert out.splitlines()[:2] == ["Demo: these numbers are not a data sheet.", "A scenario of our own."]
        assert check(tank(demo=True), "--json").values["demo"] is True

    def test_warn_where_hands_are_needed(self):
        assert CAUTION in check(tank(), now=minutes(41)).out  # coat 2 may go on
        assert CAUTION not in check(tank(), now=minutes(34)).out  # nothing to do but wait

    def test_keep_what_a_file_says_from_moving_the_cursor(self):
        nasty = "Ta\x1b[2Jnk\r\nStop: \u202eodd"
        job = tank(
            ev.LayerChanged(id="e17", at=minutes(31), layer=ev.Layer(id="l1", card="silver", coats=2, name=nasty)),
            ev.PieceChanged(id="e18", at=minutes(31), piece=replace(tank().events[3].piece, name=nasty)),
            title=nasty,
            note=nasty,
        )
        out = check(job).out
        assert not {"\x1b", "\r", "\u202e"} & set(out)
        assert "Stop: \ufffdodd" not in {line.strip() for line in out.splitlines()}

    def test_an_empty_job(self):
        job = Job(format="bench job", schema=1, id="x", created=START)
        said = check(job)
        assert said.status == 0
        assert "There is no piece in this job yet." in said.out
        assert check(job, "--json").values["windows"] == []

    def test_shown_in_the_time_of_this_computer(self, in_zone):
        out = check(tank()).out
        assert "Wed 25 Nov 2026, 15:04" in out
        assert "(15:10)" in out  # the flash ends 13:40 UTC
