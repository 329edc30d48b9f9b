"""All jobs searched: what is found and why, held against a slow search; folders that go, files that change."""

import os
import shutil
import sqlite3
import threading
from datetime import timedelta

import msgspec
import pytest
import strategies
from builders import CLEAR, COLOUR, START, JobBuilder
from hypothesis import given
from hypothesis import strategies as st
from jobs_folder import (
    LONG_AGO,
    NOW,
    TABLES,
    by_hand,
    lots_by_hand,
    names,
    plain_words,
    put,
    read,
    scan,
    search_of,
    tank,
)
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.record import Job
from benchtool.job.state import fold
from benchtool.session import jobsearch, jobwalk
from benchtool.session.jobfacts import LotShown, Shown, Use, entries_of
from benchtool.session.jobfound import Recall
from benchtool.session.jobsearch import INDEX, usual_folders
from benchtool.session.jobwords import lot_key, read_query
from benchtool.store import jobfolders, jobindex
from benchtool.store.jobindexfile import VERSION


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "jobs"


@pytest.fixture
def search(folder, tmp_path):
    made = search_of(folder, place=tmp_path / "cache")
    yield made
    made.close()


def other(job: str = "job-2") -> JobBuilder:
    bench = JobBuilder(START + timedelta(days=70), tables=TABLES)
    bench.job = replace(bench.job, id=job)
    bench.add(ev.JobDescribed, title="Harbour sign", customer="Øst & Sons")
    return bench.card(CLEAR).piece("sign", "glass", name="Glass sign", face="behind clear").layer("clear", CLEAR)


# --- what is found --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "typed",
    [
        "müller", "MULLER", "mueller", "Mu\u0308ller", "fuel", "tan fue", "abs", "base colour",
        "customer:muller", "piece:tank", "material:abs", "substrate:abs", "product:base", "lot:a", "lot:A-12",
        "lot:12", "job:red", "before:2026-04", "after:2026-02 before:2026-05", "on:2026-03", "2026-03", "2026-03-02",
        "after:2026-03-01 before:2026-03-03", 'customer:"a. müller"', "müller, fuel", "colour:wine", "color:wine",
        "note:hurry", "finding:wait", "finding:timing.flash", "finding:strip", "-fuel", "*fuel*",
    ],
)  # fmt: skip
def test_a_piece_is_found_by(folder, search, typed):
    bench = tank(note="in a hurry").change_layer("base", note="wine red, as the lid")
    bench.add(
        ev.WaiverSigned, rule="timing.flash", key="timing.flash|base|1", message="Too early.", reason="Can't wait"
    )
    bench.add(ev.TrialRecorded, piece="tank", held=False, note="came off")
    put(folder, "red.json", bench.job)
    put(folder, "sign.json", other().job)
    found = read(search).find(typed)
    assert names(found.rows) == ["Fuel tank"], found.wrong
    assert (found.pieces, found.jobs, found.more, found.whole) == (1, 1, 0, True)
    assert found.notes == ()


@pytest.mark.parametrize(
    "typed",
    ["uel", "ank", "fuel sign", "customer:tank", "piece:muller", "before:2026-03-02", "after:2026-03", "2026-04",
     "lot:A-13", "note:a"],
)  # fmt: skip
def test_a_piece_is_not_found_by(folder, search, typed):
    put(folder, "red.json", tank().job)
    found = read(search).find(typed)
    assert found.rows == ()
    assert "No piece" in found.count_words


def test_a_range_of_days_asks_for_work_within_it(folder, search):
    bench = tank().wait(days=90).prep("scuff")
    put(folder, "red.json", bench.job)
    read(search)
    assert search.find("after:2026-03-10 before:2026-05-01").pieces == 0
    assert search.find("after:2026-03-10 before:2026-06-10").pieces == 1


@pytest.mark.parametrize("typed", ["before:soon", "after:2026-13", "on:2026-02-30", "customer:", 'lot:""'])
def test_what_cant_be_understood_is_told_and_narrows_nothing(folder, search, typed):
    put(folder, "red.json", tank().job)
    found = read(search).find(f"fuel {typed}")
    assert found.wrong
    assert found.pieces == 1


def test_the_newest_comes_first_and_the_rest_is_counted(folder, search):
    for i in range(5):
        put(folder, f"{i}.json", replace(tank().wait(days=i).prep("scuff").job, id=f"job-{i}"))
    found = read(search).find("fuel", most=2)
    assert [row.path.name for row in found.rows] == ["4.json", "3.json"]
    assert (found.pieces, found.jobs, found.more) == (5, 5, 3)


def test_a_row_says_what_is_on_it_and_why_it_is_there(folder, search):
    bench = tank().change_layer("base", note="wine red").coat()
    put(folder, "red.json", bench.job)
    (row,) = read(search).find("wine müller").rows
    assert row.name == "Fuel tank, for A. Müller"
    assert "ABS" in row.on_it
    assert row.on_it.endswith(": Base colour (2 coats)")
    assert row.why == "Colour: wine red"
    assert row.day == "2026-03-02"
    (row,) = search.find("muller").rows
    assert row.why == ""


def test_a_job_without_a_piece_is_found(folder, search):
    put(folder, "new.json", JobBuilder().add(ev.JobDescribed, title="Bare job", customer="Weir").job)
    (row,) = read(search).find("weir").rows
    assert row.piece == ""
    assert row.words


def test_what_was_taken_back_is_not_found(folder, search):
    bench = tank()
    bench.add(ev.JobDescribed, title="Wrong name", customer="Nobody").undo()
    put(folder, "red.json", bench.job)
    assert read(search).find("nobody").pieces == 0


def test_a_trial_is_found_by_how_its_strips_did(folder, search):
    bench = tank()
    bench.plan_trial({"One": [COLOUR], "None": []}, name="Spring trial")
    strip = bench.state.trials["t1"].plan.strips[0].piece
    bench.add(ev.Graded, trial="t1", strip=strip, method=ev.Method.ISO_2409, grade="5", note="peeled whole")
    put(folder, "red.json", bench.job)
    found = read(search).find("peeled")
    assert found.notes == ()
    (row,) = found.rows
    assert (row.piece, row.shown.strip) == (strip, True)
    assert "test strip" in row.on_it


# --- held against the slow search ------------------------------------------------------------------------

NAMES = st.text(st.sampled_from("aAbBüÜøØéßñ -_'\"*:2½ﬁİ東"), max_size=8)


@given(
    st.lists(st.tuples(NAMES, NAMES, NAMES), min_size=1, max_size=4),
    st.lists(NAMES, min_size=1, max_size=4),
    st.sampled_from(["customer", "job", "piece", "note"]),
)
@strategies.examples(30)
def test_it_finds_what_the_slow_search_finds(tmp_path_factory, told, asked, field):
    folder = tmp_path_factory.mktemp("jobs")
    for i, (customer, title, name) in enumerate(told):
        bench = JobBuilder(tables=TABLES)
        bench.add(ev.JobDescribed, title=title or "x", customer=customer, note=title[::-1])
        bench.piece(f"p{i}", "abs", name=name or "y")
        put(folder, f"{i}.json", replace(bench.job, id=f"job-{i}"))
    search, pieces = read(search_of(folder)), scan(folder)
    for typed in asked:
        words = [w for part in typed.split() for w in sorted(plain_words(part))]
        if any(c in typed for c in "üÜøØ\"'") or not words:
            assert search.find(typed) is not None  # the ways to spell one word are one word: see below
            continue
        quoted = typed.replace('"', " ")
        found = {(row.path.name, row.piece) for row in search.find(f'{field}:"{quoted}"').rows}
        assert found == by_hand(pieces, words, field)
    search.close()


@pytest.mark.parametrize("typed", ["müller", "mueller", "muller"])
@pytest.mark.parametrize("kept", ["Müller", "Mueller"])
def test_an_umlaut_is_found_however_it_is_typed(folder, search, typed, kept):
    put(folder, "red.json", tank(kept).job)
    expected = 0 if (typed, kept) == ("muller", "Mueller") else 1
    assert read(search).find(typed).pieces == expected


@given(strategies.jobs(most_acts=40))
@strategies.examples(40)
def test_lots_go_where_the_events_say(job):
    entries = tuple(entries_of(job, fold(job), TABLES))
    numbers = {e.lot.number for e in job.events if isinstance(e, ev.LotTaken)}
    for number in numbers - {""}:
        if any(lot_key(n) == lot_key(number) for n in numbers - {number}):
            continue
        on_it = {
            msgspec.json.decode(entry.body, type=Shown).piece
            for entry in entries
            for key, body in entry.lots
            if key == lot_key(number) and msgspec.json.decode(body, type=LotShown).use is Use.ON
        }
        assert on_it == lots_by_hand(job, number)


@given(st.text(max_size=60))
@strategies.examples(150)
def test_whatever_is_typed_is_an_answer(shared, typed):
    found = shared.find(typed)
    assert found.pieces >= len(found.rows)
    assert shared.lots_of(typed).text


@pytest.fixture(scope="module")
def shared(tmp_path_factory):
    folder = tmp_path_factory.mktemp("shared")
    put(folder, "red.json", tank().job)
    search = read(search_of(folder))
    yield search
    search.close()


@pytest.mark.parametrize(
    "typed",
    ['"', "'", '""', "AND", "OR", "NOT", "NEAR(a b)", "a AND", "(", ")", "*", "^a", "a*b", "{a b}:c", "a:b", "-", "--",
     "customer:customer:", "rowid:1", "\x00", "\ud800", "a" * 500, "a " * 300, "lot:" * 50, "%_", "before:" * 9,
     "before:99999", "after:0000-00-00", "東京", "½", "🎨"],
)  # fmt: skip
def test_odd_input_is_an_answer(shared, typed):
    assert shared.find(typed).pieces in (0, 1)
    assert shared.lots_of(typed).rows == ()


def test_a_word_is_not_read_as_an_operator(shared):
    assert shared.find("fuel OR nothing").pieces == 0
    assert shared.find("fuel NOT tank").pieces == 0


# --- a recalled lot --------------------------------------------------------------------------------------


def recall(job: Job, folder, number: str = "A-12") -> Recall:
    put(folder, "job.json", job)
    search = read(search_of(folder))
    found = search.lots_of(number)
    search.close()
    return found


@pytest.mark.parametrize("number", ["A-12", "a12", " A 12 "])
def test_a_recalled_lot_lists_the_piece_it_is_on(folder, number):
    found = recall(tank().job, folder, number)
    (row,) = found.rows
    assert row.use is Use.ON
    assert "Base of Base colour" in row.why
    assert found.pieces == 1
    assert "1 piece in 1 job" in found.words
    assert str(folder / "job.json") in found.text


@pytest.mark.parametrize("number", ["A-1", "A-123", "12", ""])
def test_a_lot_is_recalled_by_its_whole_number(folder, number):
    assert recall(tank().job, folder, number).rows == ()


def test_a_cup_that_held_it_and_was_not_sprayed_is_told_as_such(folder):
    bench = tank()
    bench.piece("lid", "abs", name="Lid").layer("lid-base", COLOUR).mix("lid-base", mix="m9").pour("base", 5)
    found = recall(bench.job, folder)
    assert {row.shown.name: row.use for row in found.rows} == {"Fuel tank": Use.ON, "Lid": Use.CUP_ONLY}
    assert found.pieces == 1
    assert "not sprayed" in found.words


def test_a_coat_of_no_named_cup_may_be_of_it(folder):
    bench = tank()
    bench.piece("lid", "abs", name="Lid").layer("lid-base", COLOUR).mix("lid-base", mix="m9").pour("base", 5)
    bench.coat("lid-base", mix=None)
    found = recall(bench.job, folder)
    assert {row.shown.name: row.use for row in found.rows} == {"Fuel tank": Use.ON, "Lid": Use.PERHAPS}
    assert found.pieces == 2


def test_a_pour_that_was_taken_back_does_not_count(folder):
    bench = JobBuilder(tables=TABLES).card(COLOUR).piece("tank", "abs").layer("base", COLOUR)
    bench.take(COLOUR, "Base", number="A-12").mix("base").pour("base", 20).undo().coat()
    assert recall(bench.job, folder).rows == ()


def test_a_coat_that_was_taken_back_leaves_it_in_the_cup(folder):
    bench = tank()
    coat = [e.id for e in bench.job.events if isinstance(e, ev.CoatStarted | ev.CoatDone)]
    bench.add(ev.Withdrawn, events=tuple(coat))
    (row,) = recall(bench.job, folder).rows
    assert row.use is Use.CUP_ONLY


def test_a_shared_cup_brings_it_onto_the_other_piece(folder):
    bench = tank()
    bench.piece("lid", "abs", name="Lid").layer("lid-base", COLOUR).share("lid-base").coat("lid-base")
    found = recall(bench.job, folder)
    assert {row.shown.name: row.use for row in found.rows} == {"Fuel tank": Use.ON, "Lid": Use.ON}


def test_a_layer_that_was_taken_out_still_tells_of_its_cup(folder):
    bench = JobBuilder(tables=TABLES).card(COLOUR).piece("tank", "abs").layer("base", COLOUR)
    bench.take(COLOUR, "Base", number="A-12").mix("base").pour("base", 20).add(ev.LayerRemoved, layer="base")
    (row,) = recall(bench.job, folder).rows
    assert row.use is Use.CUP_ONLY


# --- files and folders that change -----------------------------------------------------------------------


def test_only_what_changed_is_read_again(folder, search, monkeypatch):
    put(folder, "red.json", tank().job)
    put(folder, "sign.json", other().job)
    read(search)
    looked = []
    real = jobwalk.read_job
    monkeypatch.setattr(jobwalk, "read_job", lambda path: looked.append(path.name) or real(path))
    read(search)
    assert looked == []
    put(folder, "sign.json", other().add(ev.JobDescribed, title="Blue sign").job, LONG_AGO + 1)
    read(search)
    assert looked == ["sign.json"]
    assert names(search.find("blue").rows) == ["Glass sign"]


def test_a_file_just_written_is_read_once_more(folder, search):
    now = int(NOW.timestamp()) * 1_000_000_000
    path = put(folder, "red.json", tank("Aaaa").job, now)
    read(search)
    path.write_bytes(path.read_bytes().replace(b"Aaaa", b"Bbbb"))
    os.utime(path, ns=(now, now))
    assert names(read(search).find("bbbb").rows) == ["Fuel tank"]
    assert search.find("aaaa").pieces == 0


def test_files_that_go_or_get_another_name_drop_out(folder, search):
    put(folder, "red.json", tank().job)
    put(folder, "sign.json", other().job)
    read(search)
    (folder / "red.json").rename(folder / "redder.json")
    (folder / "sign.json").unlink()
    read(search)
    assert [row.path.name for row in search.find("fuel").rows] == ["redder.json"]
    assert search.find("glass").pieces == 0
    assert search.readiness.jobs == 1
    (folder / "redder.json").unlink()
    assert read(search).find("fuel").pieces == 0


def test_versions_and_photos_are_no_jobs(folder, search):
    put(folder, "red.json", tank().job)
    put(folder / "red.json.versions", "old.json", tank().job)
    (folder / "red.photos").mkdir()
    (folder / "list.json").write_text('{"some": "list"}')
    assert read(search).find("fuel").pieces == 1
    assert search.readiness.jobs == 1
    assert search.notes() == ()


def test_a_job_that_cant_be_read_is_told_with_the_reason(folder, search):
    put(folder, "red.json", tank().job)
    whole = put(folder, "sign.json", other().job).read_bytes()
    (folder / "sign.json").write_bytes(whole[: len(whole) // 2])
    (folder / "empty.json").write_bytes(b"")
    found = read(search).find("fuel")
    assert found.pieces == 1
    assert sorted(path.name for path, _ in search.faults()) == ["empty.json", "sign.json"]
    assert any("sign.json" in note and "breaks off" in note for note in found.notes)


@pytest.mark.skipif(not hasattr(os, "symlink") or os.name == "nt", reason="links need rights there")
def test_a_folder_under_two_names_is_read_once_and_found_once(folder, tmp_path, monkeypatch):
    put(folder, "red.json", tank().job)
    (tmp_path / "link").symlink_to(folder)
    search = read(search_of(folder, tmp_path / "link"))
    looked, real = [], jobwalk.read_job
    monkeypatch.setattr(jobwalk, "read_job", lambda path: looked.append(path.name) or real(path))
    found = read(search).find("fuel")
    assert (found.pieces, found.notes, looked) == (1, (), [])
    search.close()


def test_a_fault_that_went_away_without_a_change_of_the_file_is_read_again(folder, search, monkeypatch):
    put(folder, "red.json", tank().job)

    def locked(path):
        raise jobfolders.JobFileFault(path, "You may not read this file: have its rights changed, or copy it")

    with monkeypatch.context() as patch:
        patch.setattr(jobwalk, "read_job", locked)
        assert "You may not read" in read(search).find("fuel").notes[0]
    found = read(search).find("fuel")
    assert (found.pieces, found.notes) == (1, ())


def test_two_files_of_one_job_are_both_found_and_told_apart(folder, search):
    put(folder, "red.json", tank().job)
    put(folder, "copy of red.json", tank().job)
    found = read(search).find("fuel")
    assert sorted(row.job for row in found.rows) == ["Red tank in copy of red.json", "Red tank in red.json"]
    assert found.notes == ("copy of red.json and red.json hold one and the same job.",)


def test_a_folder_that_is_gone_is_told_and_what_was_known_stays_with_its_time(folder, search):
    put(folder, "red.json", tank().job)
    read(search)
    shutil.rmtree(folder)
    found = read(search).find("fuel")
    assert names(found.rows) == ["Fuel tank"]
    assert found.rows[0].as_of.startswith("As of 2026-06-01")
    assert any("is gone" in note and "as of 2026-06-01" in note for note in found.notes)
    assert not found.whole
    assert not search.readiness.whole
    put(folder, "red.json", tank().job)
    found = read(search).find("fuel")
    assert (found.notes, found.rows[0].as_of, found.whole) == ((), "", True)


def test_the_bare_place_of_a_share_that_fell_off_is_no_empty_folder(folder, search, monkeypatch):
    path = put(folder, "red.json", tank().job)
    read(search)
    path.unlink()
    real = jobfolders.look_into
    monkeypatch.setattr(jobwalk, "look_into", lambda f: jobfolders.Seen(real(f).files, real(f).device + 1))
    found = read(search).find("fuel")
    assert found.pieces == 1
    assert any("its disk is not there" in note for note in found.notes)


def test_a_folder_that_hangs_holds_up_no_other(folder, tmp_path, monkeypatch):
    slow, ticks, free = tmp_path / "share", [0.0], threading.Event()
    put(folder, "red.json", tank().job)
    put(slow, "sign.json", other().job)
    real = jobwalk.look_into
    monkeypatch.setattr(jobwalk, "look_into", lambda f: (free.wait(20), real(f))[1] if f == slow else real(f))
    search = search_of(slow, folder, tick=lambda: ticks[0])
    told = []
    for progress in search.reading():
        told.append(progress)
        ticks[0] += 1
    assert any(p.slow == (str(slow),) and "slow to answer" in p.words for p in told)
    found = search.find("fuel")
    assert found.pieces == 1
    assert not found.whole
    assert any("not every job could be read" in note.lower() for note in search.lots_of("A-12").notes)
    assert any("does not answer" in note for note in found.notes)
    free.set()
    assert read(search).find("glass").whole
    search.close()


def test_stopped_in_the_middle_it_keeps_what_was_read(folder, search, monkeypatch):
    for i in range(6):
        put(folder, f"{i}.json", replace(tank().job, id=f"job-{i}"), LONG_AGO + i)
    go, real = threading.Semaphore(3), jobwalk.read_job
    monkeypatch.setattr(jobwalk, "read_job", lambda path: (go.acquire(timeout=20), real(path))[1])
    reading = search.reading()
    while next(reading).read < 3:
        pass
    reading.close()
    for _ in range(9):
        go.release()
    found = search.find("fuel")
    assert 1 <= found.pieces < 6
    assert (found.whole, found.so_far) == (False, True)
    monkeypatch.setattr(jobwalk, "read_job", real)
    assert read(search).find("fuel").pieces == 6


# --- the index as a cache --------------------------------------------------------------------------------


@pytest.mark.parametrize("harm", ["gone", "garbage", "newer", "cut"])
def test_whatever_became_of_the_index_the_answer_is_right(folder, tmp_path, harm):
    place = tmp_path / "cache"
    put(folder, "red.json", tank().job)
    first = read(search_of(folder, place=place))
    first.close()
    file = place / INDEX
    if harm == "gone":
        file.unlink()
    elif harm == "garbage":
        file.write_bytes(b"not an index" * 1_000)
    elif harm == "newer":
        with sqlite3.connect(file) as con:
            con.execute(f"PRAGMA user_version = {VERSION + 1}")
        con.close()
    else:
        file.write_bytes(file.read_bytes()[:5_000])
    search = read(search_of(folder, place=place))
    found = search.find("fuel")
    assert names(found.rows) == ["Fuel tank"]
    assert len(found.notes) == (0 if harm == "gone" else 1)
    if harm == "newer":
        assert "newer version" in found.notes[0]
    search.close()


def test_another_bench_that_writes_is_worked_around(folder, tmp_path):
    place = tmp_path / "cache"
    put(folder, "red.json", tank().job)
    read(search_of(folder, place=place)).close()
    put(folder, "sign.json", other().job)
    con = sqlite3.connect(place / INDEX, isolation_level=None)
    con.execute("BEGIN IMMEDIATE")
    search = read(search_of(folder, place=place))
    assert search.find("fuel").pieces == search.find("glass").pieces == 1
    assert search.readiness.whole
    assert "Another bench" in search.notes()[0]
    con.execute("ROLLBACK")
    con.close()
    search.close()


def test_an_index_that_breaks_while_it_is_asked_says_so_and_is_read_again(folder, search):
    put(folder, "red.json", tank().job)
    read(search)
    search._index._con.execute("DROP TABLE shown")
    found = search.find("fuel")
    assert found.rows == ()
    assert not found.whole
    assert search.lost
    assert any("read again" in note for note in found.notes)
    found = read(search).find("fuel")
    assert (found.pieces, found.whole, search.lost) == (1, True, False)


def test_one_that_breaks_while_it_is_read_is_read_from_the_start(folder, search, monkeypatch):
    for i in range(4):
        put(folder, f"{i}.json", replace(tank().job, id=f"job-{i}"))
    broken, real = [], jobwalk.read_job

    def look(path):
        if not broken:
            broken.append(path)
            search._index._con.execute("DROP TABLE shown")
        return real(path)

    monkeypatch.setattr(jobwalk, "read_job", look)
    found = read(search).find("fuel")
    assert (found.pieces, found.whole) == (4, True)


def test_rebuilt_it_reads_all_again(folder, search, monkeypatch):
    put(folder, "red.json", tank().job)
    read(search)
    looked, real = [], jobwalk.read_job
    monkeypatch.setattr(jobwalk, "read_job", lambda path: looked.append(path.name) or real(path))
    assert read(search, rebuild=True).find("fuel").pieces == 1
    assert looked == ["red.json"]


def test_without_full_text_search_it_says_so(folder, monkeypatch):
    def none(*_):
        raise jobindex.NoIndex

    monkeypatch.setattr(jobsearch, "JobIndex", none)
    search = read(search_of(folder))
    assert "can't be searched here" in search.find("fuel").notes[0]
    assert search.lots_of("A-12").rows == ()
    search.close()


def test_before_anything_is_read_it_claims_nothing(folder):
    put(folder, "red.json", tank().job)
    search = search_of(folder)
    found = search.find("fuel")
    assert not found.whole
    assert "So far" in found.count_words
    assert any("Not all jobs are read" in note for note in search.lots_of("A-12").notes)


def test_nothing_asked_is_no_answer(folder, search):
    put(folder, "red.json", tank().job)
    read(search)
    for typed in ("", "  ", "?!"):
        found = search.find(typed)
        assert (found.asked, found.rows, found.count_words) == (False, (), "")


def test_files_are_only_read(folder, search):
    put(folder, "red.json", tank().job)
    before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in folder.iterdir()}
    read(search)
    assert before == {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in folder.iterdir()}


def test_the_query_reads_back_as_it_was_understood():
    query = read_query("customer:mill before:2026-03 after:2025")
    assert query.told == "customer mill, worked on before 2026-03-01, worked on after 2025-12-31"


def test_the_usual_folders_are_those_of_new_demo_and_recent_jobs(tmp_path):
    assert usual_folders(tmp_path / "data", ()) == ()
    (tmp_path / "data" / "jobs").mkdir(parents=True)
    recent = (str(tmp_path / "old" / "a.json"), str(tmp_path / "data" / "jobs" / "b.json"))
    assert usual_folders(tmp_path / "data", recent) == (
        tmp_path / "data" / "jobs",
        tmp_path / "data",
        tmp_path / "old",
    )


def test_a_share_that_falls_off_while_it_is_read_is_told_and_read_when_it_is_back(folder, search, monkeypatch):
    put(folder, "red.json", tank().job)
    put(folder, "sign.json", other().job)
    away, real = folder.with_name("away"), jobwalk.read_job

    def falls_off(path):
        if folder.exists():
            folder.rename(away)
        return real(path)

    with monkeypatch.context() as patch:
        patch.setattr(jobwalk, "read_job", falls_off)
        found = read(search).find("fuel")
    assert not found.whole
    assert any("is gone" in note for note in found.notes)
    away.rename(folder)
    found = read(search).find("tank")
    assert (names(found.rows), found.whole) == (["Fuel tank"], True)
    assert names(search.find("glass").rows) == ["Glass sign"]


def test_a_file_that_goes_while_the_folder_is_read_drops_out(folder, search, monkeypatch):
    red = put(folder, "red.json", tank().job)
    read(search)
    put(folder, "red.json", tank().job, LONG_AGO + 1)
    real = jobwalk.read_job
    monkeypatch.setattr(jobwalk, "read_job", lambda path: red.unlink(missing_ok=True) or real(path))
    found = read(search).find("fuel")
    assert (found.pieces, found.notes, found.whole) == (0, (), True)


@pytest.mark.skipif(os.name == "nt", reason="the time of the last change of a file is not told there")
def test_a_file_put_in_the_place_of_another_of_the_same_time_and_size_is_read(folder, search, monkeypatch):
    path = put(folder, "red.json", tank("Aaaa").job)
    monkeypatch.setattr(jobwalk, "_FRESH_NS", -(10**19))
    read(search)
    other_one = folder / "red.part"
    other_one.write_bytes(path.read_bytes().replace(b"Aaaa", b"Bbbb"))
    os.utime(other_one, ns=(LONG_AGO, LONG_AGO))
    other_one.replace(path)
    assert names(read(search).find("bbbb").rows) == ["Fuel tank"]
