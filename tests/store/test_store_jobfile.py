"""Opening a job file with anything wrong with it: it is refused with one line that says what and where, and kept."""

import errno
import os
import threading
import tracemalloc
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.record import SCHEMA, Job, with_events
from benchtool.store import atomic, jobfile
from benchtool.store.jobfile import JobFileFault

Watch = Callable[[Path], Any]
HEAD = f'{{"format": "bench job", "schema": {SCHEMA}, "id": "j", "created": "2026-03-02T09:30:00Z"'
NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)
posix_only = pytest.mark.skipif(os.name == "nt", reason="POSIX files")


@pytest.fixture
def refused(tmp_path: Path, untouched: Watch) -> Callable[..., JobFileFault]:
    """Write a file, see it refused, and see it left as it was."""

    def refuse(content: bytes | str | Path) -> JobFileFault:
        file = content if isinstance(content, Path) else tmp_path / "bad.json"
        if not isinstance(content, Path):
            file.write_bytes(content.encode() if isinstance(content, str) else content)
        with untouched(file), pytest.raises(JobFileFault) as caught:
            jobfile.load(file)
        fault = caught.value
        assert fault.path == file
        assert str(fault).startswith(f"{file.name}: {fault.message}")
        assert str(fault).isprintable()
        assert "`" not in str(fault)
        assert fault.message[0] != fault.message[0].lower() or not fault.message[0].isalpha()
        assert ": " in fault.message
        assert len(str(fault)) < 400
        return fault

    return refuse


Refuse = Callable[..., JobFileFault]


def event(kind: str, **fields: str) -> str:
    given = {"id": '"e1"', "at": '"2026-03-02T09:30:00Z"', **fields}
    return f'{{"type": "{kind}", ' + ", ".join(f'"{k}": {v}' for k, v in given.items()) + "}"


def poured(mL: str) -> str:
    return with_event("poured", mix='"m"', part='"p"', mL=mL)


def done(**fields: str) -> str:
    return with_event("coat done", **{"layer": '"l"', **fields})


def with_event(kind: str, **fields: str) -> str:
    return f'{HEAD}, "events": [{event(kind, **fields)}]}}'


# --- what can be opened ----------------------------------------------------------------------------


def test_a_job_comes_back_as_it_was_saved(path: Path, job: Job) -> None:
    assert jobfile.load(path) == jobfile.Opened(job=job, newer=False, notes=())


def test_the_file_is_for_people_too(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.startswith(f'{{\n  "format": "bench job",\n  "schema": {SCHEMA},\n  "id": "job-1",\n')
    assert '      "at": "2026-03-02T09:31:00Z",\n' in text
    assert '"flash": "PT15M"' in text
    assert "Tank “blau”" in text
    assert text.endswith("]\n}\n")


def test_times_of_any_zone_become_utc(tmp_path: Path, job: Job) -> None:
    text = jobfile.dump(job).decode().replace("2026-03-02T09:31:00Z", "2026-03-02T15:01:00+05:30")
    (tmp_path / "a").write_text(text, encoding="utf-8")
    read = jobfile.load(tmp_path / "a").job
    assert read == job
    assert all(e.at.tzinfo is UTC for e in read.events)
    assert jobfile.dump(read) == jobfile.dump(job)


def test_a_mark_before_the_text_and_a_line_end_of_another_system_do_no_harm(tmp_path: Path, job: Job) -> None:
    (tmp_path / "a").write_bytes(b"\xef\xbb\xbf" + jobfile.dump(job).replace(b"\n", b"\r\n"))
    assert jobfile.load(tmp_path / "a").job == job


# --- what is no such file --------------------------------------------------------------------------


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(JobFileFault, match=r"^gone\.json: There is no such file: ") as fault:
        jobfile.load(tmp_path / "gone.json")
    assert fault.value.place == ""
    with pytest.raises(JobFileFault, match="There is no such file"):
        jobfile.load(tmp_path / "no folder" / "gone.json")


def test_a_missing_file_still_offers_its_last_good_version(path: Path, job: Job) -> None:
    jobfile.save(path, job)
    path.unlink()
    with pytest.raises(JobFileFault, match="no such file") as fault:
        jobfile.load(path)
    assert fault.value.last_good is not None
    assert jobfile.load(fault.value.last_good).job == job


def test_a_folder(tmp_path: Path, refused: Refuse) -> None:
    (tmp_path / "folder").mkdir()
    assert "a folder" in refused(tmp_path / "folder").message


def test_a_name_that_no_file_can_have(tmp_path: Path) -> None:
    for name in ("a\0b", "n" * 300):
        with pytest.raises(JobFileFault) as fault:
            jobfile.load(tmp_path / name)
        assert str(fault.value).isprintable()


def test_a_name_with_line_ends_makes_one_line(tmp_path: Path) -> None:
    with pytest.raises(JobFileFault, match=r"^a b\.json: There is") as fault:
        jobfile.load(tmp_path / "a\nb.json")
    assert str(fault.value).isprintable()


@posix_only
def test_a_ring_of_links(tmp_path: Path, refused: Refuse) -> None:
    (tmp_path / "a").symlink_to("b")
    (tmp_path / "b").symlink_to("a")
    with pytest.raises(JobFileFault, match="links lead round in a ring"):
        jobfile.load(tmp_path / "a")


@posix_only
def test_a_link_to_a_file_that_is_gone(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to("gone")
    with pytest.raises(JobFileFault, match="a link to a file that is gone"):
        jobfile.load(tmp_path / "a")


def in_time(path: Path) -> str:
    """What loading says, or nothing where it hangs."""
    told: list[str] = []

    def look() -> None:
        try:
            jobfile.load(path)
        except JobFileFault as fault:
            told.append(fault.message)

    looking = threading.Thread(target=look, daemon=True)
    looking.start()
    looking.join(30)
    return "".join(told)


@posix_only
def test_a_pipe_and_a_device_are_refused_at_once(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "zero").symlink_to("/dev/zero")
    assert in_time(tmp_path / "pipe") == "This is no ordinary file: choose a job file"
    assert in_time(tmp_path / "zero") == "This is no ordinary file: choose a job file"


@posix_only
def test_a_pipe_is_not_even_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    os.mkfifo(tmp_path / "pipe")
    opened: list[object] = []
    monkeypatch.setattr(os, "open", lambda *given: opened.append(given))
    assert in_time(tmp_path / "pipe") == "This is no ordinary file: choose a job file"
    assert opened == []


@posix_only
def test_a_pipe_that_takes_the_place_of_the_file_is_refused_too(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    os.mkfifo(tmp_path / "pipe")
    ordinary = path.stat()
    monkeypatch.setattr(Path, "stat", lambda *_, **__: ordinary)
    assert in_time(tmp_path / "pipe") == "This is no ordinary file: choose a job file"


@posix_only
@pytest.mark.usefixtures("rights_count")
def test_a_file_without_the_right_to_read_it(path: Path) -> None:
    path.chmod(0)
    with pytest.raises(JobFileFault, match="You may not read this file"):
        jobfile.load(path)


@pytest.mark.parametrize(
    ("code", "words"),
    [
        (errno.EACCES, "You may not read this file"),
        (errno.EIO, "It can't be read from the disk"),
        (errno.EMFILE, "It can't be read from the disk"),
    ],
)
def test_a_file_that_the_system_refuses(
    path: Path, untouched: Watch, monkeypatch: pytest.MonkeyPatch, code: int, words: str
) -> None:
    def refuse(*_: object, **__: object) -> int:
        raise OSError(code, os.strerror(code), str(path))

    with untouched(path), monkeypatch.context() as patch:
        patch.setattr(os, "open", refuse)
        with pytest.raises(JobFileFault, match=words) as fault:
            jobfile.load(path)
    assert fault.value.last_good is None


def test_a_file_too_large_is_refused_before_it_is_read(tmp_path: Path, refused: Refuse) -> None:
    huge = tmp_path / "huge.json"
    huge.write_bytes(f'{HEAD}, "note": "'.encode())
    os.truncate(huge, 200 * 1024 * 1024)  # a text of 200 MB of zeros, none of them on the disk
    tracemalloc.start()
    try:
        fault = refused(huge)
        assert tracemalloc.get_traced_memory()[1] < 1_000_000
    finally:
        tracemalloc.stop()
    assert "a job file is never over 32 MB" in fault.message


# --- what is no JSON, or no job --------------------------------------------------------------------


@pytest.mark.parametrize("content", [b"", b" \n\t\n", b"\xef\xbb\xbf"])
def test_an_empty_file(refused: Refuse, content: bytes) -> None:
    assert refused(content).message == "The file is empty: bring back a copy"


def test_a_file_cut_off_anywhere(refused: Refuse, job: Job) -> None:
    whole = jobfile.dump(job).rstrip()
    assert len(whole) > 1_500
    for end in range(0, len(whole), 7):
        fault = refused(whole[:end])
        if end > 30:
            assert fault.message == "The file breaks off before its end: bring back a copy", end
            lines = whole[:end].rstrip().decode(errors="ignore").split("\n")
            assert fault.place in (f"line {len(lines)}, column {len(lines[-1]) + k}" for k in (0, 1)), end


def test_a_broken_file_offers_its_last_good_version(path: Path, job: Job, untouched: Watch) -> None:
    first = job
    for n in range(3):
        job = with_events(job, ev.CupEmptied(id=f"e2{n}", at=job.created, mix="m1"))
        jobfile.save(path, job)
    good = jobfile.dump(job)
    path.write_bytes(good[:400])
    newest = atomic.versions(path)[0]
    newest.write_bytes(b"this one is broken too")
    with untouched(path), pytest.raises(JobFileFault, match="open its last good version") as fault:
        jobfile.load(path)
    assert fault.value.last_good == atomic.versions(path)[1]
    assert len(jobfile.load(fault.value.last_good).job.events) == len(first.events) + 1


@pytest.mark.parametrize(
    ("content", "message", "place"),
    [
        (b"hello", "this is no JSON", "line 1, column 1"),
        (b"\x89PNG\r\n", "this is no UTF-8 text", "line 1, column 1"),
        (b"[]", "it does not begin with {", "$"),
        (b"3", "it does not begin with {", "$"),
        (b"{}", "its “format” is not “bench job”", ""),
        (b'{"format": "bench job"}', "it has no schema number of 1 or more", "$.schema"),
    ],
)
def test_some_other_file(refused: Refuse, content: bytes, message: str, place: str) -> None:
    fault = refused(content)
    assert (fault.message, fault.place) == (f"This is not a job file ({message}): choose another one", place)


@pytest.mark.parametrize("value", ['"other"', "null", '["bench job"]', '"bench job\\n"', '"Bench job"'])
def test_the_format_must_be_ours(refused: Refuse, value: str) -> None:
    assert "is not a job file" in refused(HEAD.replace('"bench job"', value, 1) + "}").message


@pytest.mark.parametrize("value", ["0", "-1", "null", "true", '"1"', "1.0", "[1]", "1e0"])
def test_the_schema_must_be_a_number_of_one_or_more(refused: Refuse, value: str) -> None:
    assert refused(HEAD.replace(f'"schema": {SCHEMA}', f'"schema": {value}') + "}").place == "$.schema"


@pytest.mark.parametrize(
    ("before", "after", "message"),
    [
        (',\n  "note": "x",', ", }", "This is no JSON"),
        (',\n  "note": "äöü" ', '"x"}', "This is no JSON"),
        ("}\n", "{}", "This is no JSON"),
        ("}", "x", "This is no JSON"),
        (",\n", "'note': 1}", "This is no JSON"),
        (',\n"note": 0', "1}", "This is no JSON"),
        (',\n"note": ', "NaN}", "There is no number here"),
        (',\n"note": -', "Infinity}", "There is no number here"),
        (',\n"note": "ä', b'\xff"}', "This is no UTF-8 text"),
    ],
)
def test_the_place_where_it_stops_being_json(refused: Refuse, before: str, after: str | bytes, message: str) -> None:
    fault = refused((HEAD + before).encode() + (after.encode() if isinstance(after, str) else after))
    lines = (HEAD + before).split("\n")
    assert fault.message.partition(":")[0] == message
    assert fault.place == f"line {len(lines)}, column {len(lines[-1]) + 1}"


def test_half_a_character(refused: Refuse) -> None:
    fault = refused(HEAD + ', "note": "\\ud83d"}')
    assert (fault.message.partition(":")[0], fault.place) == ("A text holds half a character", "$.note")


@pytest.mark.parametrize("deep", ["[" * 100_000, '{"a":' * 100_000, "[" * 900 + "]" * 900, "[" * 3_000 + "]" * 3_000])
def test_very_deep_nesting(refused: Refuse, deep: str) -> None:
    refused(deep)
    refused(f'{HEAD}, "note": {deep}')
    refused(f'{HEAD}, "note": {deep}}}')
    refused(f'{HEAD.replace(": 1", ": 2")}, "events": [], "further": {deep}')


NO_ZONE = "This time does not say its zone, such as Z at its end"


# --- what has the wrong shape ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "message", "place"),
    [
        (poured("-0.1"), "This number must be 0 or more", "[0].mL"),
        (poured("1e300"), "This number must be 1000000 or less", "[0].mL"),
        (poured("1e999"), "This number is too large", "[0].mL"),
        (poured("9" * 5_000), "This number is too large", "[0].mL"),
        (poured('"5"'), "A number belongs here and not text", "[0].mL"),
        (poured("null"), "A number belongs here and not nothing (null)", "[0].mL"),
        (with_event("poured", mix='"m"', part='"p"'), "“mL” is missing here", "[0]"),
        (done(colour='"x"'), "“colour” is no field that belongs here", "[0].colour"),
        (done(layer='"a b"'), "This is not written as it must be", "[0].layer"),
        (done(at='"2026-02-29T09:30:00Z"'), "This is no time such as 2026-03-01T09:30:00Z", "[0].at"),
        (done(at='"2026-03-02T09:30:00"'), NO_ZONE, "[0].at"),
        (done(at='"0001-01-01T00:00:00+01:00"'), "A time lies outside of the calendar", ""),
        (done(at='"1969-12-31T23:59:59Z"', id='"x"'), "There is no layer “l” before this event", "[0].layer"),
        (with_event("tea drunk"), "“tea drunk” is none of the words that may stand here", "[0].type"),
        (
            with_event("prep done", piece='"p"', step='"w\\nx"'),
            "“w\\nx” is none of the words that may stand here",
            "[0].step",
        ),
        (with_event("withdrawn", events="[]"), "This list is too short", "[0].events"),
        (HEAD + ', "events": {}}', "A list belongs here and not a group of fields in { }", "$.events"),
        (HEAD + ', "events": [3]}', "A group of fields in { } belongs here and not a whole number", "[0]"),
        (HEAD + ', "events": [{"id": "e1"}]}', "“type” is missing here", "[0]"),
        (HEAD + f', "note": "{"x" * 5_000}"}}', "This text is too long", "$.note"),
        (HEAD + ', "note": "a", "note": "b"}', "“note” stands here twice", "$"),
        (poured("1").replace('"part"', '"mL"'), "“mL” stands here twice", "[0]"),
        (HEAD + f', "{"x" * 500}": 1}}', f"“{'x' * 59}…” is no field that belongs here", f"$.{'x' * 59}…"),
        (HEAD.replace("2026", "1960") + "}", "There is no such time", "$.created"),
    ],
)
def test_a_wrong_shape(refused: Refuse, content: str, message: str, place: str) -> None:
    fault = refused(content)
    place = place.replace("[0]", "$.events[0]", 1)
    assert fault.message == f"{message}: bring back a copy, or mend this place in a text editor"
    assert fault.place == place
    assert str(fault).endswith(f" (at {place})" if place else "editor")


# --- what the shape can't say ----------------------------------------------------------------------


def changed(job: Job, place: int, **fields: Any) -> Job:
    events = list(job.events)
    events[place] = replace(events[place], **fields)
    return replace(job, events=tuple(events))


def card(job: Job, **fields: Any) -> Job:
    copied = job.events[1]
    assert isinstance(copied, ev.CardCopied)
    return changed(job, 1, card=replace(copied.card, **fields))


def share(job: Job, text: str) -> Job:
    mixed = job.events[4]
    assert isinstance(mixed, ev.Mixed)
    return changed(job, 4, parts=(replace(mixed.parts[0], share=text),))


LATE = NOW + timedelta(hours=27)
BACKWARDS = "A coat is done before it started"


def again(job: Job, early: timedelta) -> Job:
    """The job with a second coat that starts `early` before the first was done."""
    at = job.events[7].at - early
    return replace(job, events=(*job.events, ev.CoatStarted(id="e9", at=at, layer="l1", mix="m1")))


@pytest.mark.parametrize(
    ("change", "words", "place"),
    [
        (lambda j: changed(j, 3, id="e1"), "The event id “e1” is already that of event 0", "[3].id"),
        (lambda j: changed(j, 7, at=j.events[6].at - timedelta(seconds=1)), BACKWARDS, "[7].at"),
        (lambda j: changed(j, 6, at=LATE), BACKWARDS, "[7].at"),
        (lambda j: again(j, timedelta(seconds=1)), "A coat starts before the one before was done", "[8].at"),
        (lambda j: changed(j, 7, layer="l9"), "There is no layer “l9” before this event", "[7].layer"),
        (lambda j: replace(j, events=j.events[:6] + j.events[7:]), "A coat is done that was never started", "[6]"),
        (lambda j: replace(j, events=j.events[3:] + j.events[:3]), "There is no piece “p1” before", "[0].piece"),
        (lambda j: card(j, flash=timedelta(seconds=-1)), "A time can't be below zero", "[1].card.flash"),
        (
            lambda j: card(j, recoat_closes=timedelta(days=1)),
            "It closes, and recoat_opens does not",
            "[1].card.recoat_closes",
        ),
        (lambda j: card(j, flash=timedelta.max), "No card waits a century", "[1].card.flash"),
        (lambda j: share(j, "2 % of nothing"), "One part must be a plain number of parts", "[4].parts"),
        (lambda j: share(j, "a bit"), "“a bit” does not start with a number", "[4].parts"),
    ],
)
def test_a_record_that_can_not_be_true(
    refused: Refuse, job: Job, change: Callable[[Job], Job], words: str, place: str
) -> None:
    fault = refused(jobfile.dump(change(job)))
    assert fault.message.startswith(words)
    assert fault.place == f"$.events{place}"


def test_a_job_written_under_a_clock_that_ran_ahead_opens(tmp_path: Path, job: Job) -> None:
    later = changed(job, 7, at=NOW + timedelta(days=300))
    (tmp_path / "a").write_bytes(jobfile.dump(later))
    assert jobfile.load(tmp_path / "a").job == later


def test_a_coat_may_start_in_the_instant_the_one_before_was_done(tmp_path: Path, job: Job) -> None:
    (tmp_path / "a").write_bytes(jobfile.dump(again(job, timedelta(0))))
    assert len(jobfile.load(tmp_path / "a").job.events) == 9
