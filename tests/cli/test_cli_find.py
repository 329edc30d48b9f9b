"""`benchtool find`: words and recalled lots over folders of jobs, as text and as JSON."""

import io
import shutil
from pathlib import Path

import pytest
from cli.asking import MEASURES, Said, assert_contract
from jobs_folder import NOW, TABLES, put, search_of, tank
from msgspec.structs import replace

from benchtool.cli.common import UNUSABLE, Means, Unusable
from benchtool.cli.running import _parser
from benchtool.cli.streams import json_text
from benchtool.job import events as ev


@pytest.fixture
def jobs(tmp_path):
    folder = tmp_path / "jobs"
    put(folder, "red.json", tank(note="in a hurry").job)
    return folder


def find(*argv: str, jobs: Path | None = None, place: Path | None = None) -> Said:
    """Ask as the command line does; `jobs` is the usual folder, None where there is none."""
    made = []

    def search(folders):
        made.append(search_of(*(folders or (jobs,)), place=place))
        return made[-1]

    means = Means(
        now=lambda: NOW,
        tables=lambda: TABLES,
        measures=lambda: MEASURES,
        open_job=lambda _: None,
        stdin=io.StringIO(),
        search=search if jobs is not None else None,
    )
    try:
        args = _parser().parse_args(["find", *argv])
        answer = args.answer(args, means)
        said = Said(answer.status, json_text(answer.values) if args.json else answer.text(), "")
    except Unusable as fault:
        said = Said(UNUSABLE, "", f"{fault}\n")
    assert_contract(said)
    assert all(search._index is None for search in made)
    return said


def test_a_piece_is_found_with_what_is_on_it(jobs):
    said = find("müller", "hurry", jobs=jobs)
    assert said.status == 0
    assert said.out.startswith("2026-03-02 Fuel tank, for A. Müller\n")
    assert "Base colour" in said.out
    assert "Note: in a hurry" in said.out
    assert str(jobs / "red.json") in said.out
    assert said.out.endswith("1 piece in 1 job.\n")


def test_as_json(jobs):
    values = find("piece:tank", "--json", jobs=jobs).values
    assert (values["pieces"], values["jobs"], values["whole"]) == (1, 1, True)
    (row,) = values["results"]
    assert (row["name"], row["customer"], row["worked_on"]) == ("Fuel tank", "A. Müller", "2026-03-02")
    assert row["layers"] == [{"name": "Base colour", "coats": 1}]
    assert row["file"] == str(jobs / "red.json")
    assert values["searched"] == [str(jobs)]


def test_nothing_found_is_an_answer(jobs):
    said = find("zebra", jobs=jobs)
    assert (said.status, said.out) == (0, "No piece answers to this.\n")


def test_a_recalled_lot(jobs):
    said = find("--lot", "a 12", jobs=jobs)
    assert said.status == 0
    assert "was sprayed as Base colour" in said.out
    assert said.out.endswith("Lot a 12 is on 1 piece in 1 job.\n")
    values = find("--lot", "A-12", "--json", jobs=jobs).values
    assert [(r["use"], r["lot"], r["product"]) for r in values["results"]] == [("on it", "A-12", "Base colour")]
    assert find("--lot", "A-1", "--json", jobs=jobs).values["results"] == []


def test_other_folders_are_searched_instead(jobs, tmp_path):
    put(tmp_path / "old", "old.json", tank("Weir", "job-9").job)
    assert find("weir", jobs=jobs).out == "No piece answers to this.\n"
    assert "Fuel tank, for Weir" in find("weir", "--folder", str(tmp_path / "old"), jobs=jobs).out
    both = find("fuel", "--folder", str(tmp_path / "old"), "--folder", str(jobs), "--json", jobs=jobs).values
    assert both["pieces"] == 2


def test_what_cant_be_read_is_told_with_status_1(jobs):
    (jobs / "red.json").write_bytes((jobs / "red.json").read_bytes()[:900])
    said = find("fuel", jobs=jobs)
    assert said.status == 1
    assert "red.json: The file breaks off" in said.out
    values = find("fuel", "--json", jobs=jobs).values
    assert (values["whole"], values["faults"][0]["file"]) == (False, str(jobs / "red.json"))


def test_a_folder_that_is_gone_is_told_with_status_1(jobs, tmp_path):
    assert find("fuel", jobs=jobs, place=tmp_path / "cache").status == 0
    shutil.rmtree(jobs)
    said = find("fuel", jobs=jobs, place=tmp_path / "cache")
    assert said.status == 1
    assert "Fuel tank" in said.out
    assert "As of 2026-06-01" in said.out
    assert "is gone" in said.out


def test_two_files_of_one_job_are_told(jobs):
    put(jobs, "copy.json", tank().job)
    said = find("fuel", jobs=jobs)
    assert "copy.json and red.json hold one and the same job." in said.out
    values = find("fuel", "--json", jobs=jobs).values
    assert values["same_job"] == [[str(jobs / "copy.json"), str(jobs / "red.json")]]


def test_rebuilding_alone_says_how_many_jobs_there_are(jobs, tmp_path):
    said = find("--rebuild", jobs=jobs, place=tmp_path / "cache")
    assert (said.status, said.out) == (0, "1 job can be searched.\n")


@pytest.mark.parametrize(
    "argv",
    [(), ("  ",), ("--lot", ""), ("--lot", " "), ("--lot", "A", "word"), ("before:soon",), ("customer:",),
     ("x", "--folder", "/no/such/folder"), ("x", "--folder", "a\x00b")],
)  # fmt: skip
def test_input_that_is_no_use(argv, jobs):
    said = find(*argv, jobs=jobs)
    assert said.status == 2


def test_without_folders_it_says_so():
    assert "no folders" in find("x").err


def test_text_of_a_job_can_do_nothing_to_a_terminal(jobs):
    put(jobs, "bad.json", tank("Evil \x1b[2J name", "job-3").job)
    said = find("evil", jobs=jobs)
    assert "\x1b" not in said.out
    assert "Evil" in said.out


def test_the_programs_own_files_beside_the_jobs_are_no_trouble(jobs):
    for name, text in (("shop.json", '{"format": "bench shop"}'), ("settings.json", '{"theme": "dark"}')):
        (jobs / name).write_text(text, encoding="utf-8")
        versions = jobs / f"{name}.versions"
        versions.mkdir()
        (versions / "20260501T000000.000000Z.json").write_text(text, encoding="utf-8")
    said = find("violet", jobs=jobs)
    assert (said.status, "can't" in said.out) == (0, False)


def test_a_recall_says_which_cups_have_no_can(jobs):
    job = tank(job="job-9").job
    events = tuple(replace(e, lot=None) if isinstance(e, ev.Poured) else e for e in job.events)
    put(jobs, "bare.json", replace(job, events=events))
    said = find("--lot", "ZZ-1", jobs=jobs)
    assert "Lot ZZ-1 is on no piece that was found. 1 cup in 1 job has no can logged: it may be on that." in said.out
