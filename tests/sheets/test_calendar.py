"""The calendar, read back with the `icalendar` package: times, alarms, hostile names, lines of 75 octets."""

import unicodedata
from dataclasses import replace as replace_window
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest
from builders import CLEAR, COLOUR, ONE_PART_PROMOTER, PROMOTER, START, JobBuilder
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar, Event
from msgspec.structs import replace
from strategies import examples, jobs, moments, words

from benchtool.job import events as ev
from benchtool.job.record import Job
from benchtool.job.state import fold
from benchtool.job.windows import FOR_GOOD, Window, all_windows, listed
from benchtool.sheets.calendar import calendar_text, entries
from benchtool.store.jobfile import dump, load
from benchtool.trade.windows import Span, WindowKind

HOUR, MINUTE, SECOND = timedelta(hours=1), timedelta(minutes=1), timedelta(seconds=1)
LONG = timedelta(days=7)


def written(job: Job, now: datetime, **more: Any) -> str:
    return calendar_text(job, fold(job), now, **more)


def read(text: str) -> list[Event]:
    """Read one calendar strictly: the package swallows a component it can't read and lists it in `errors`."""
    calendar = Calendar.from_ical(text)
    assert calendar.errors == []
    assert (calendar["VERSION"], calendar["PRODID"]) == ("2.0", "-//benchtool//windows of a job//EN")
    assert "METHOD" not in calendar
    assert {c.name for c in calendar.subcomponents} == {"VEVENT"}
    events = calendar.walk("VEVENT")
    for event in events:
        assert event.errors == []
        assert event["DTSTART"].to_ical().endswith(b"Z")
        assert event["DTSTAMP"].to_ical().endswith(b"Z")
        assert {a.name for a in event.subcomponents} == {"VALARM"}
    return events


def told(job: Job, now: datetime, **more: Any) -> list[tuple[str, datetime]]:
    return [(str(e["SUMMARY"]), e.start) for e in read(written(job, now, **more))]


def name_plate(start: datetime = START) -> JobBuilder:
    """A plate with its colour on, and its clear to come."""
    bench = JobBuilder(start).card(COLOUR, CLEAR).piece("plate", name="Name plate")
    bench.layer("colour", COLOUR).layer("clear", CLEAR, activator="slow")
    return bench.coat("colour", mix=None)


def cleared(start: datetime = START) -> JobBuilder:
    return name_plate(start).wait(minutes=30).coats(2, "clear", apart=15 * MINUTE)


# --- what is told, and when ------------------------------------------------------------------------


def test_a_recoat_window_is_told_where_it_opens_and_where_it_closes() -> None:
    assert told(name_plate().job, START + MINUTE) == [
        ("Name plate, Base colour: recoat opens", START + 20 * MINUTE),
        ("Name plate, Base colour: recoat closes", START + 24 * HOUR),
    ]


def test_once_open_only_its_closing_is_to_come() -> None:
    job = name_plate().job
    assert told(job, START + 20 * MINUTE) == [("Name plate, Base colour: recoat closes", START + 24 * HOUR)]


def test_tape_and_cure_are_told_where_their_wait_is_over() -> None:
    bench = cleared()
    assert told(bench.job, bench.now) == [
        ("Name plate, Two-part clear: tape may touch it", bench.now + 24 * HOUR),
        ("Name plate, Two-part clear: cure is over", bench.now + timedelta(days=7)),
    ]


def test_a_pot_life_is_told_where_it_ends() -> None:
    bench = name_plate().mix("clear").pour("base", 100).pour("activator", 50)
    poured = bench.now
    assert ("Name plate, Two-part clear: pot life is over", poured + 2 * HOUR) in told(bench.job, bench.now)
    # A cup logged by a clock that was ahead must not be said to open.
    assert not [what for what, _ in told(bench.job, poured - HOUR) if "opens" in what and "clear" in what]


def test_stand_and_flash_are_told_where_the_painter_asks_for_shorter_ones() -> None:
    bench = JobBuilder().card(PROMOTER, ONE_PART_PROMOTER).piece("panel")
    bench.layer("one", ONE_PART_PROMOTER).coat("one", mix=None)
    bench.piece("trim").layer("two", PROMOTER, activator="rigid")
    bench.mix("two").pour("base", 50).pour("activator", 1).stir("activated")
    assert told(bench.job, bench.now, least=MINUTE) == [
        ("Trim, Two-part promoter: it has stood, reduce it", START + 5 * MINUTE),
        ("Panel, One-part promoter: coat 2 may go on", START + 10 * MINUTE),
        ("Panel, One-part promoter: coat 2 is late from now on", START + 15 * MINUTE),
    ]


@pytest.mark.parametrize(("before", "count"), [(HOUR, 1), (HOUR - SECOND, 0)])
def test_a_window_that_ends_within_the_hour_is_left_to_the_bench(before: timedelta, count: int) -> None:
    assert len(entries(name_plate().all_windows(), START + 24 * HOUR - before)) == count


def test_how_long_is_the_askers_to_say() -> None:
    job = name_plate().job
    assert written(job, START, least=25 * HOUR) == ""
    assert len(told(job, START + 24 * HOUR - SECOND, least=timedelta(0))) == 1


def test_nothing_to_tell_is_no_calendar_at_all() -> None:
    bench = cleared()
    assert written(bench.job, bench.now + LONG + SECOND, least=timedelta(0)) == ""
    assert written(JobBuilder().job, START) == ""


def test_a_part_of_a_second_never_shortens_a_wait_nor_lengthens_a_deadline() -> None:
    start = START + timedelta(microseconds=300_000)
    (_, opens), (_, closes) = told(name_plate(start).job, start)
    assert opens == START + 20 * MINUTE + SECOND
    assert closes == START + 24 * HOUR


def cold(kind: WindowKind, opens: datetime, closes: datetime | None) -> tuple[Window, ...]:
    """A window whose opening the cold puts off."""
    colour = next(w for w in name_plate().all_windows() if w.kind is WindowKind.RECOAT)
    return (replace_window(colour, kind=kind, span=Span(START, opens, closes), then="coat 2"),)


def test_what_closes_before_it_opens_is_told_once_and_not_as_open() -> None:
    late, deadline = START + 30 * HOUR, START + 24 * HOUR
    [entry] = entries(cold(WindowKind.RECOAT, late, deadline), START)
    assert (entry.edge, entry.at) == ("opens", late)
    assert entry.summary == "Name plate, Base colour: recoat opens, after a scuff"
    assert entry.what_to_do == "In this air it closes before it opens: scuff before coat 2."
    [entry] = entries(cold(WindowKind.FLASH, late, deadline), START)
    assert entry.summary == "Name plate, Base colour: coat 2 may go on, late for the card"
    # Its end is where it can be gone on with: the hour counts to there.
    assert len(entries(cold(WindowKind.RECOAT, late, deadline), deadline)) == 1


@pytest.mark.parametrize("kind", [WindowKind.RECOAT, WindowKind.CURE])
@pytest.mark.parametrize("closes", [None, START + 24 * HOUR])
def test_what_never_dries_in_this_air_has_no_place_in_a_calendar(kind: WindowKind, closes: datetime | None) -> None:
    assert entries(cold(kind, FOR_GOOD, closes), START) == ()


def test_another_zone_is_written_in_utc() -> None:
    job = name_plate().job
    from zoneinfo import ZoneInfo

    there = START.astimezone(ZoneInfo("America/New_York"))
    assert written(job, there) == written(job, START)
    assert "\r\nDTSTAMP:20260302T080000Z\r\n" in written(job, there)


# --- alarms, words, identity -----------------------------------------------------------------------


def test_each_rings_at_its_instant_and_a_deadline_ten_minutes_before_it_too() -> None:
    opens, closes = read(written(name_plate().job, START))
    rung = {e["SUMMARY"]: [(a["ACTION"], a["TRIGGER"].dt, str(a["DESCRIPTION"])) for a in e.walk("VALARM")]
            for e in (opens, closes)}  # fmt: skip
    summary = "Name plate, Base colour: recoat"
    assert rung == {
        f"{summary} opens": [("DISPLAY", timedelta(0), f"{summary} opens")],
        f"{summary} closes": [
            ("DISPLAY", -10 * MINUTE, f"In 10 minutes: {summary} closes"),
            ("DISPLAY", timedelta(0), f"{summary} closes"),
        ],
    }
    times = [t.trigger for t in closes.alarms.times]
    assert times == [START + 24 * HOUR - 10 * MINUTE, START + 24 * HOUR]


def test_an_entry_says_what_to_do_and_that_air_moves_it() -> None:
    opens, closes = read(written(name_plate().job, START, title="For the harbour"))
    for event, does, moves in (
        (opens, "Two-part clear may go on without sanding.", "Cold or damp air can make it later."),
        (closes, "After it, scuff before Two-part clear.", "Warm air can bring it forward."),
    ):
        said = str(event["DESCRIPTION"])
        assert does in said
        assert moves in said
        assert "The bench tells the true time" in said
        assert said.endswith("\nJob: For the harbour")
        assert "Demo" not in said


def test_a_clear_shell_is_never_scuffed_on_its_viewed_side() -> None:
    bench = JobBuilder().card(COLOUR, CLEAR).piece("dome", face="behind clear")
    bench.layer("colour", COLOUR).layer("clear", CLEAR).coat("colour", mix=None)
    _, closes = read(written(bench.job, START))
    assert "scuff the back of the paint, never the shell, before Two-part clear." in str(closes["DESCRIPTION"])


def test_a_demo_says_so_in_each_entry() -> None:
    bench = cleared()
    events = read(written(replace(bench.job, demo=True), bench.now))
    assert all(str(e["DESCRIPTION"]).startswith("Demo: these numbers are not a data sheet.\n") for e in events)


def test_two_exports_have_the_same_ids_through_renaming_saving_and_time(tmp_path: Any) -> None:
    bench = cleared()
    first = read(written(bench.job, bench.now))
    (tmp_path / "a.json").write_bytes(dump(bench.job))
    bench.job = load(tmp_path / "a.json").job
    bench.wait(hours=1).change_piece("aluminium", name="Plate, mended").change_layer("clear", name="Gloss")
    again = read(written(bench.job, bench.now))
    assert [e["UID"] for e in again] == [e["UID"] for e in first]
    assert [e.start for e in again] == [e.start for e in first]
    assert [str(e["SUMMARY"]) for e in again] != [str(e["SUMMARY"]) for e in first]
    # What is written later is the newer for a calendar that knows the entry.
    assert all(new["SEQUENCE"] > old["SEQUENCE"] for old, new in zip(first, again, strict=True))


def test_another_job_has_other_ids() -> None:
    job = cleared().job
    uids = [e["UID"] for each in (job, replace(job, id="job-2")) for e in read(written(each, START + HOUR))]
    assert len(set(uids)) == len(uids) == 4


def test_two_ends_two_cups_two_layers_and_two_kinds_have_ids_of_their_own() -> None:
    bench = cleared()
    bench.mix("clear").pour("base", 20).pour("activator", 10).mix("clear").pour("base", 20).pour("activator", 10)
    bench.piece("dome").layer("first", COLOUR).layer("second", CLEAR).coat("first", mix=None)
    bench.piece("shell").layer("third", COLOUR).layer("fourth", CLEAR).coat("third", mix=None)
    events = read(written(bench.job, bench.now))
    summaries = [str(e["SUMMARY"]) for e in events]
    assert summaries.count("Name plate, Two-part clear: pot life is over") == 2
    assert len(summaries) == 8
    assert len({e["UID"] for e in events}) == 8


# --- any job ---------------------------------------------------------------------------------------


def rounded(at: datetime, *, up: bool) -> datetime:
    seconds, rest = divmod(at - datetime(1970, 1, 1, tzinfo=UTC), SECOND)
    return datetime(1970, 1, 1, tzinfo=UTC) + (seconds + (1 if up and rest else 0)) * SECOND


@examples(80)
@given(st.data())
def test_of_any_job_every_long_window_is_told_at_its_time_and_no_other(data: st.DataObject) -> None:
    job = data.draw(jobs())
    now = data.draw(moments(job))
    least = data.draw(st.sampled_from([HOUR, MINUTE, timedelta(0)]))
    wanted = []
    for w in listed(all_windows(fold(job)), now):
        edges = [(w.span.opens_at, True)] if w.kind is not WindowKind.POT_LIFE else []
        shut = w.span.closes_at is not None and w.span.opens_at >= w.span.closes_at and bool(edges)
        edges += [(w.span.closes_at, False)] if w.span.closes_at is not None and not shut else []
        if w.span.opens_at < FOR_GOOD and edges[-1][0] >= now + least:
            wanted += [rounded(at, up=up) for at, up in edges if at > now]
    text = written(job, now, least=least)
    assert_sound(text)
    events = read(text) if wanted else []
    assert bool(text) == bool(wanted)
    assert [e.start for e in events] == sorted(wanted)
    assert len({e["UID"] for e in events}) == len(events)


# --- hostile names ---------------------------------------------------------------------------------

NASTY = (
    "a\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:x", "\\n\\,\\;\\\\", "semi;colon,comma:\"quote\"", "🎨" * 120,
    "é" * 37, "x" * 400, "👩\u200d🎨 painter", "\u202egnp.exe", "\x00\x07\x1b[2J\x7f\x9b", "日本語の名札" * 9,
    "\ud800half", "tab\tbed", "next\x85line\u2028sep\u2029", "=0D=0A", "\x0b", "\n", " ",
)  # fmt: skip
hostile = st.lists(st.sampled_from(NASTY) | words | st.text(max_size=90), min_size=1, max_size=4).map("".join)


def shown(name: str) -> str:
    """What may be left of a name: its characters, in order, on one line, without controls and turns of direction."""
    kept = [c for c in " ".join(name.split()) if unicodedata.category(c) not in ("Cc", "Cs")]
    return " ".join("".join(c for c in kept if unicodedata.bidirectional(c) not in BIDI).split())


BIDI = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}


def assert_sound(text: str) -> None:
    """Hold the lines of RFC 5545 section 3.1: CRLF ends, 75 octets, whole characters, no control."""
    octets = text.encode()
    if not octets:
        return
    assert octets.endswith(b"END:VCALENDAR\r\n")
    rows = octets.split(b"\r\n")[:-1]
    for row in rows:
        assert len(row) <= 75
        assert not [c for c in row.decode() if unicodedata.category(c) == "Cc"]
        assert row.strip()


@examples(200)
@given(piece=hostile, layer=hostile, then=hostile, title=hostile)
def test_no_name_breaks_a_calendar(piece: str, layer: str, then: str, title: str) -> None:
    job = name_plate().job
    nasty = name_plate().change_piece("aluminium", name=piece)
    nasty.change_layer("colour", name=layer).change_layer("clear", name=then)
    text = written(nasty.job, START, title=title)
    assert_sound(text)
    plain, events = read(written(job, START)), read(text)
    assert [(e["UID"], e.start) for e in events] == [(e["UID"], e.start) for e in plain]
    assert [len(e.walk("VALARM")) for e in events] == [1, 2]
    names = [shown(name) for name in (piece or "Plate", layer or COLOUR.name)]
    for event, edge in zip(events, ("opens", "closes"), strict=True):
        assert event["SUMMARY"] == f"{', '.join(n for n in names if n) or 'Without a name'}: recoat {edge}"
        alarm = event.walk("VALARM")[-1]
        assert alarm["DESCRIPTION"] == event["SUMMARY"]
        lines = str(event["DESCRIPTION"]).split("\n")
        assert len(lines) == 3
        assert (shown(then or CLEAR.name) or "the next layer") in lines[0]
        assert lines[2] == f"Job: {shown(title) or 'A job without a name'}"


@pytest.mark.parametrize("character", ["x", "é", "日", "🎨"])
@pytest.mark.parametrize("length", range(40, 62))
def test_lines_are_as_long_as_they_may_be_and_cut_no_character(character: str, length: int) -> None:
    bench = name_plate().change_piece("aluminium", name=character * length * 3)
    text = written(bench.job, START)
    assert_sound(text)
    rows = text.split("\r\n")
    folded = [r for r, after in pairwise(rows) if after.startswith(" ")]
    assert all(len(row.encode()) > 75 - 4 for row in folded)
    assert str(read(text)[0]["SUMMARY"]).startswith(character * length * 3 + ", ")


@pytest.mark.parametrize("over", [0, 1])
def test_a_line_of_just_75_octets_is_left_whole(over: int) -> None:
    room = 75 - len("SUMMARY:\\, Base colour: recoat opens") + over
    rows = written(name_plate().change_piece("aluminium", name="x" * room).job, START).split("\r\n")
    at = next(i for i, row in enumerate(rows) if row.startswith("SUMMARY:"))
    assert len(rows[at]) == 75
    assert rows[at + 1].startswith(" ") == bool(over)


def test_a_piece_of_no_name_that_can_be_shown_is_still_told() -> None:
    bench = name_plate().change_piece("aluminium", name="\x00\u202e").change_layer("colour", name="\x07")
    assert told(bench.job, START)[0][0] == "Without a name: recoat opens"


def test_a_far_due_date_is_written_in_full() -> None:
    slow = replace(CLEAR, cure=timedelta(days=365 * 900))
    bench = JobBuilder().card(slow).piece().layer("clear", slow, coats=1).add(ev.CoatStarted, layer="clear", mix=None)
    bench.done("clear")
    assert told(bench.job, bench.now)[-1][1] == START + timedelta(days=365 * 900)
