"""`benchtool sheet`: a sheet as text, as a file by its ending, tables, a calendar, a copy; and what can't be done."""

import csv
import io
import json

import pytest
from cli.asking import START, ask, minutes, tank

from benchtool.job import events as ev
from benchtool.session import papers
from benchtool.session.demo import demo_job
from benchtool.session.papers import draw_with
from benchtool.sheets.blocks import Paper
from benchtool.store import jobfile

PDF = b"%PDF-1.7\n1 0 obj\n<< /PieceInfo << /benchtool-sheet << >> >> >>\n"


@pytest.fixture
def drawn(monkeypatch):
    calls = []
    monkeypatch.setattr(papers, "_drawing", [])

    def draw(sheet, paper, photo):
        calls.append((sheet, paper))
        return PDF

    draw_with(lambda: draw)
    return calls


def sheet(*argv, job=None, now=START):
    return ask("sheet", *map(str, argv), job=lambda _: job if job is not None else tank(), now=now)


def test_without_a_file_the_job_sheet_is_text():
    said = sheet("job.json")
    assert said.status == 0
    for text in ("Tank", "Fuel tank", "Silver base", "Gloss clear"):
        assert text in said.out


def test_the_care_sheet_is_of_the_piece_named():
    for name in ("Fuel tank", "fuel", "p1"):
        said = sheet("job.json", "--care", name)
        assert said.status == 0
        assert "Fuel tank" in said.out.split("\n")[0]
    assert "can't" not in sheet("demo", "--care", "Name plate", job=demo_job()).err


def test_care_without_a_piece_names_the_pieces():
    refused = sheet("job.json", "--care")
    assert refused.status == 2
    assert "Write the name of a piece after --care. Its pieces: Fuel tank" in refused.err


def test_the_object_has_the_blocks_of_the_sheet():
    values = json.loads(sheet("job.json", "--json").out)
    assert "Tank" in values["sheet"]["title"]
    assert {"heading", "facts"} <= {b["kind"] for b in values["sheet"]["blocks"]}
    assert values["file"] is None


def test_a_pdf_is_drawn_for_the_paper_asked_for(tmp_path, drawn):
    path = tmp_path / "tank.PDF"
    assert sheet("job.json", "-o", path, "--paper", "letter").out == f"Written to {path}.\n"
    assert path.read_bytes() == PDF
    assert sheet("job.json", "-o", path).status == 0
    assert [paper for _, paper in drawn] == [Paper.LETTER, Paper.A4]


def test_where_nothing_draws_a_pdf_is_said(tmp_path, monkeypatch):
    monkeypatch.setattr(papers, "_drawing", [])
    said = sheet("job.json", "-o", tmp_path / "tank.pdf")
    assert (said.status, list(tmp_path.iterdir())) == (2, [])


@pytest.mark.parametrize(
    ("name", "begins"),
    [("a.html", b"<!"), ("a.htm", b"<!"), ("a.txt", b"Job sheet"), ("a.json", b"{\n"), ("a.ics", b"BEGIN:VCALENDAR")],
)
def test_the_kind_is_told_by_the_ending(tmp_path, name, begins):
    path = tmp_path / name
    assert sheet("job.json", "-o", path, now=minutes(31)).status == 0
    there = path.read_bytes()
    assert there.lower().startswith(begins.lower())
    assert sheet("job.json", "-o", path, now=minutes(31)).status == 0
    path.write_bytes(b"a letter")
    said = sheet("job.json", "-o", path, now=minutes(31))
    assert said.status == 2
    assert path.read_bytes() == b"a letter"


def test_a_copy_is_the_whole_job(tmp_path):
    path = tmp_path / "copy.json"
    sheet("job.json", "-o", path)
    assert jobfile.load(path).job.events == tank().events


def test_a_copy_over_the_job_itself_is_refused(tmp_path):
    path = tmp_path / "own.json"
    path.write_bytes(jobfile.dump(tank()))
    before = path.read_bytes()
    said = ask("sheet", str(path), "-o", str(path), job=lambda name: tank())
    assert said.status == 2
    assert "own file" in said.err
    assert path.read_bytes() == before


def test_a_table_goes_to_standard_output_or_into_a_file(tmp_path):
    job = tank(ev.ReadingTaken(id="e90", at=START, air_degC=-2.5, humidity_percent=60))
    said = sheet("job.json", "--csv", "readings", job=job)
    [head, row] = csv.reader(io.StringIO(said.out))
    assert dict(zip(head, row, strict=True))["air_degC"] == "-2.5"
    assert not said.out.startswith("\ufeff")
    path = tmp_path / "r.csv"
    sheet("job.json", "--csv", "readings", "-o", path, job=job)
    assert path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n") == said.out
    assert sheet("job.json", "--csv", "mixes", "-o", path, job=job).status == 2
    values = json.loads(sheet("job.json", "--csv", "readings", "--json", job=job).out)
    assert values["rows"][0]["air_degC"] == -2.5


@pytest.mark.parametrize(
    "argv",
    [
        ("-o", "a.docx"), ("-o", "a"), ("-o", ""), ("-o", "-"), ("--paper", "A5"), ("--csv", "coats"), ("--care", ""),
        ("--care", "nobody"), ("--csv", "mixes", "-o", "a.pdf"), ("--care", "Fuel", "-o", "a.csv"),
        ("--care", "Fuel", "-o", "a.json"), ("-o", "a.csv"),
    ],
)  # fmt: skip
def test_what_can_not_be_made_is_said_in_one_line(argv, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    said = sheet("job.json", *argv)
    assert said.status == 2
    assert said.err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_two_pieces_of_which_the_name_may_be_are_asked_about():
    other = ev.Piece(id="p2", name="Fuel cap", substrate="abs", known=ev.Known.MARKED, flex=tank().events[3].piece.flex)
    said = sheet("job.json", "--care", "fuel", job=tank(ev.PieceAdded(id="e91", at=START, piece=other)))
    assert said.status == 2
    assert "Fuel tank, Fuel cap" in said.err


def test_a_folder_in_the_files_place_and_a_full_disk_leave_all_as_it_was(tmp_path, full_disk):
    (tmp_path / "a.csv").mkdir()
    assert sheet("job.json", "--csv", "mixes", "-o", tmp_path / "a.csv").status == 2
    with full_disk():
        assert sheet("job.json", "--csv", "mixes", "-o", tmp_path / "b.csv").status == 2
    assert [p.name for p in tmp_path.iterdir()] == ["a.csv"]
    assert sheet("job.json", "--csv", "mixes", "-o", tmp_path / "none" / "b.csv").status == 2


def test_a_job_that_is_not_there_is_said():
    def nobody(name):
        raise FileNotFoundError(2, "No such file or directory")

    said = ask("sheet", "nowhere.json", job=nobody)
    assert said.status == 2
    assert "nowhere.json" in said.err
