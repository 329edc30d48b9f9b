"""The index of all jobs as a file: made anew where it can't be used, in memory where it can't be written."""

import os
import sqlite3
import stat
import sys
from pathlib import Path

import pytest

from benchtool.store import jobindex, jobindexfile
from benchtool.store.jobindex import COLUMNS, Entry, JobIndex, Restarted, Standing


def entry(text: str = "red tank", at: int = 1, **more: object) -> Entry:
    return Entry(words=(text, *[""] * (len(COLUMNS) - 1)), body=text.encode(), at=at, **more)


def filled(path: Path | None, **more: object) -> JobIndex:
    index = JobIndex(path, "test")
    index.put("jobs", "jobs/a.json", (1, 2), "job-a", [entry(**more)])
    index.walked("jobs", ["jobs/a.json"], 100, 7, index.round)
    return index


def found(index: JobIndex, match: str = '"red" *') -> list[str]:
    return [hit.path for hit in index.find(("jobs",), match, 0, 0, 10).hits]


@pytest.fixture
def path(tmp_path):
    return tmp_path / "cache" / "jobs.sqlite3"


def test_what_was_written_is_found_again_when_it_is_opened_again(path):
    index = filled(path)
    assert index.standing is Standing.FRESH
    index.close()
    index = JobIndex(path, "test")
    assert index.standing is Standing.FINE
    assert found(index) == ["jobs/a.json"]
    assert index.known() == {"jobs/a.json": ((1, 2), "jobs")}
    assert index.read_at("jobs") == (100, 7)
    index.close()


@pytest.mark.skipif(sys.platform == "win32", reason="rights are others there")
def test_nobody_else_may_read_it(path):
    filled(path).close()
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_file_that_changed_takes_the_place_of_what_it_held(path):
    index = filled(path, days=(20260314,), lots=(("a12", b"x"),))
    index.put("jobs", "jobs/a.json", (2, 2), "job-a", [entry("blue tank")])
    assert found(index) == []
    assert found(index, '"blue" *') == ["jobs/a.json"]
    assert index.find(("jobs",), "", 20260101, 20261231, 10).pieces == 0
    assert index.with_lot(("jobs",), "a12", 10).pieces == 0
    index.close()


def test_what_is_gone_drops_out_and_other_folders_stand(path):
    index = filled(path)
    index.put("other", "other/b.json", (1, 1), "job-b", [entry()])
    index.walked("jobs", [], 200, 7, index.round)
    assert found(index) == []
    assert [hit.path for hit in index.find(("other", "jobs"), '"red" *', 0, 0, 10).hits] == ["other/b.json"]
    index.close()


def test_a_folder_that_is_not_asked_for_gives_nothing(path):
    index = filled(path)
    assert index.find(("elsewhere",), '"red" *', 0, 0, 10).pieces == 0
    assert index.find((), '"red" *', 0, 0, 10).pieces == 0
    index.close()


@pytest.mark.parametrize("content", [b"this is no index", b"SQLite format 3\x00" + b"\xff" * 5_000, b"\x00"])
def test_one_that_is_damaged_is_made_anew(path, content):
    path.parent.mkdir()
    path.write_bytes(content)
    index = JobIndex(path, "test")
    assert index.standing is Standing.BROKEN
    assert found(index) == []
    index.close()
    index = JobIndex(path, "test")
    assert index.standing is Standing.FINE
    index.close()


def test_one_with_a_page_overwritten_is_made_anew_or_asks_to_be_read_again(path):
    index = JobIndex(path, "test")
    for i in range(300):
        index.put("jobs", f"jobs/{i}.json", (1, 1), f"job-{i}", [entry(f"red number{i} " + "word " * 50)])
    index.close()
    whole = path.read_bytes()
    page = 4_096
    for at in range(page, len(whole) - page, 7 * page):
        path.write_bytes(whole[:at] + b"\xa5" * page + whole[at + page :])
        index = JobIndex(path, "test")
        if index.standing is Standing.FINE:
            try:
                pieces = index.find(("jobs",), '"red" *', 0, 0, 1_000).pieces
            except Restarted:
                assert index.standing is Standing.BROKEN
                pieces = 0
            assert pieces in (0, 300)
        index.close()


@pytest.mark.parametrize(
    ("version", "standing"),
    [(jobindexfile.VERSION + 1, Standing.NEWER), (0, Standing.BROKEN)],
)
def test_one_of_another_version_is_made_anew(path, version, standing):
    filled(path).close()
    with sqlite3.connect(path) as con:
        con.execute(f"PRAGMA user_version = {version}")
    con.close()
    index = JobIndex(path, "test")
    assert index.standing is standing
    assert found(index) == []
    assert index.known() == {}
    index.close()


def test_one_made_by_other_tables_is_made_anew(path):
    filled(path).close()
    index = JobIndex(path, "other tables")
    assert index.standing is Standing.OTHER
    assert found(index) == []
    index.close()


def test_one_that_another_program_writes_in_goes_on_in_memory_with_what_is_in_it(path):
    filled(path).close()
    index = JobIndex(path, "test")
    with sqlite3.connect(path, isolation_level=None) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(Restarted):
            index.put("jobs", "jobs/b.json", (1, 2), "job-b", [entry()])
        assert index.standing is Standing.BUSY
        assert index.round == 1
        assert found(index) == ["jobs/a.json"]
        index.put("jobs", "jobs/b.json", (1, 2), "job-b", [entry()])
        assert found(index) == ["jobs/a.json", "jobs/b.json"]
        other.execute("ROLLBACK")
    other.close()
    index.close()
    index = JobIndex(path, "test")
    assert found(index) == ["jobs/a.json"]
    index.close()


def test_a_full_disk_sends_it_into_memory(path):
    index = JobIndex(path, "test")
    index._con.execute("PRAGMA max_page_count = 60")

    def fill():
        for i in range(2_000):
            index.put("jobs", f"jobs/{i}.json", (1, 2), "job", [entry("red " + "word " * 500)])

    with pytest.raises(Restarted):
        fill()
    assert index.standing is Standing.FULL
    known = index.known()
    assert len(found(index)) == min(len(known), 10)
    index.put("jobs", "jobs/new.json", (1, 2), "job", [entry("red")])
    assert "jobs/new.json" in index.known()
    index.close()


def test_a_place_that_is_no_folder_sends_it_into_memory(tmp_path):
    (tmp_path / "file").write_text("")
    index = filled(tmp_path / "file" / "jobs.sqlite3")
    assert index.standing is Standing.SHUT
    assert found(index) == ["jobs/a.json"]
    index.close()


def test_a_walk_of_before_it_was_begun_anew_marks_nothing_as_read(path):
    index = filled(path)
    before = index.round
    index.forget()
    with pytest.raises(Restarted):
        index.walked("jobs", ["jobs/a.json"], 300, 7, before)
    assert found(index) == []
    assert index.read_at("jobs") is None
    index.close()


def test_a_name_that_is_no_text_is_kept(path):
    name = os.fsdecode(b"jobs/\xff\xe9.json")
    index = JobIndex(path, "test")
    index.put("jobs\udcff", name, (1, 2), "job", [entry()])
    assert [hit.path for hit in index.find(("jobs\udcff",), '"red" *', 0, 0, 10).hits] == [name]
    assert set(index.known()) == {name}
    index.close()


def test_the_newest_come_first_and_the_rest_are_counted():
    index = JobIndex(None, "test")
    for i in (3, 1, 2):
        index.put("jobs", f"jobs/{i}.json", (1, 2), f"job-{i}", [entry(at=i), entry(at=i)])
    hits = index.find(("jobs",), '"red" *', 0, 0, 3)
    assert [hit.job for hit in hits.hits] == ["job-3", "job-3", "job-2"]
    assert (hits.pieces, hits.jobs) == (6, 3)
    index.close()


def test_two_files_of_one_job_are_told_and_a_file_that_is_no_job_is_none():
    index = JobIndex(None, "test")
    for name, job, fault in (("a", "one", ""), ("b", "one", ""), ("c", "two", ""), ("d", "", ""), ("e", "", "broken")):
        index.put("jobs", name, (1, 2), job, [], fault=fault)
    assert index.twins(("jobs",)) == (("a", "b"),)
    assert index.faults(("jobs",)) == (("e", "broken"),)
    assert index.jobs(("jobs",)) == 3
    index.close()


def test_after_it_is_closed_nothing_is_asked_of_it():
    index = filled(None)
    index.close()
    index.close()
    with pytest.raises(Restarted):
        found(index)


def test_batches_are_written_whole(path, monkeypatch):
    monkeypatch.setattr(jobindex, "BATCH", 2)
    index = JobIndex(path, "test")
    for i in range(3):
        index.put("jobs", f"{i}", (1, 2), f"job-{i}", [entry()])
    other = JobIndex(path, "test")
    assert set(other.known()) == {"0", "1"}
    other.close()
    index.flush()
    other = JobIndex(path, "test")
    assert set(other.known()) == {"0", "1", "2"}
    other.close()
    index.close()


@pytest.mark.parametrize("asked", [
    "UPDATE shown SET body = CAST('red tenk' AS BLOB)",
    "DELETE FROM shown",
    "UPDATE words_content SET c0 = 'red tunk'",
])  # fmt: skip
def test_what_was_changed_behind_its_back_is_no_answer(path, asked):
    filled(path).close()
    with sqlite3.connect(path) as con:
        con.execute(asked)
    con.close()
    index = JobIndex(path, "test")
    if index.standing is Standing.FINE:
        with pytest.raises(Restarted):
            found(index)
    assert index.standing is Standing.BROKEN
    assert found(index) == []
    index.close()


def test_a_file_found_under_another_name_of_its_folder_is_counted_there(path):
    index = filled(path)
    index.move("jobs/a.json", "share")
    assert found(index) == []
    assert index.find(("share",), '"red" *', 0, 0, 10).pieces == 1
    assert index.known() == {"jobs/a.json": ((1, 2), "share")}
    index.close()


def test_a_file_that_could_not_be_read_is_not_known(path):
    index = filled(path)
    index.put("jobs", "jobs/b.json", (1, 2), "", [], fault="b.json: You may not read this file")
    assert set(index.known()) == {"jobs/a.json"}
    index.close()
