"""The papers of a job: what is offered, and files that are written whole or not at all, over nothing but their kind."""

import errno
import json
import os
from pathlib import Path

import pytest
from builders import CLEAR, START, JobBuilder, minutes
from msgspec.structs import replace
from photo_places import PLACE, jpeg

from benchtool.job import events as ev
from benchtool.job.record import with_events
from benchtool.job.state import fold
from benchtool.session import paperfiles as files
from benchtool.session.document import Document
from benchtool.session.papers import (
    Ending,
    Kind,
    draw_with,
    job_photos,
    offers,
    photos_on,
    renderer,
    sheet_of,
    suggested_name,
)
from benchtool.session.tables import load_tables
from benchtool.sheets.blocks import Photos, Sheet, Shown
from benchtool.sheets.tables_csv import Table, table_csv
from benchtool.store import jobfile, photos

PDF = b"%PDF-1.7\n1 0 obj\n<< /PieceInfo << /benchtool-sheet << >> >> >>\n"
HTML = '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta name="generator" content="benchtool sheet">'


def built(*, done=True):
    job = JobBuilder().card(CLEAR).piece("panel", name="Door: left/right")
    job.layer("clear", CLEAR, activator=CLEAR.activators[0].id if CLEAR.activators else None)
    if done:
        for _ in range(CLEAR.coats_least):
            job.coat(mix=None, takes=minutes(2)).wait(minutes=20)
    return job.job


def offer_of(job, key):
    return next(o for o in offers(job, fold(job), START) if o.key == key)


def document(job, path):
    jobfile.save(path, job)
    return Document(path, jobfile.load(path).job)


# --- what there is -----------------------------------------------------------------------------------


def test_each_painted_piece_has_a_care_sheet_and_tables_calendar_and_file_follow():
    job = built()
    found = offers(job, fold(job), START)
    assert [o.key for o in found] == [
        "job", "care-panel", "csv-events", "csv-mixes", "csv-readings", "calendar", "file",
    ]  # fmt: skip
    assert [o.endings[0] for o in found] == [".pdf", ".pdf", ".csv", ".csv", ".csv", ".ics", ".json"]


def test_a_care_sheet_before_all_coats_says_that_it_gives_no_dates():
    assert "Not all coats" in offer_of(built(done=False), "care-panel").not_yet
    assert offer_of(built(), "care-panel").not_yet == ""


def test_a_calendar_of_nothing_says_so():
    job = built(done=False)
    assert offer_of(job, "calendar").not_yet
    later = built()
    assert next(o for o in offers(later, fold(later), START) if o.key == "calendar").not_yet == ""


def test_names_are_such_that_every_system_takes_them():
    job = built()
    state = fold(job)
    named = {o.key: suggested_name('A "job": <1>', o, o.endings[0], state) for o in offers(job, state, START)}
    assert named["job"] == "A job 1 job sheet.pdf"
    assert named["care-panel"] == "Door left right care sheet.pdf"
    assert named["csv-mixes"] == "A job 1 mixes.csv"
    assert named["file"] == "A job 1 copy.json"
    assert suggested_name("", offer_of(job, "job"), Ending.HTML, state) == "Job job sheet.html"


def test_sheets_are_made_of_the_job_and_of_the_piece():
    job = built()
    state, tables = fold(job), load_tables()
    assert "Door: left/right" in sheet_of(offer_of(job, "care-panel"), job, state, tables, START).title
    assert not sheet_of(offer_of(job, "job"), job, state, tables, START).one_page


def test_who_draws_is_asked_when_it_is_needed(monkeypatch):
    from benchtool.session import papers

    monkeypatch.setattr(papers, "_drawing", [])
    with pytest.raises(LookupError):
        renderer()
    made = []
    draw_with(lambda: made.append(1) or (lambda sheet, paper, photo: b"drawn"))
    assert made == []
    assert renderer()(None, None, None) == b"drawn"


# --- photos ------------------------------------------------------------------------------------------


def test_photos_go_out_without_their_place(tmp_path):
    path = tmp_path / "job.json"
    data = jpeg(1)
    name = photos.keep(path, data)
    found = job_photos(path, drawn_anew=False)(Shown(name, photos.sha256_of(data), ""))
    assert PLACE in data
    assert found
    assert PLACE not in found


def test_what_can_not_be_cleaned_goes_out_only_where_it_is_drawn_anew(tmp_path):
    path = tmp_path / "job.json"
    data = b"GIF89a" + PLACE
    shown = Shown(photos.keep(path, data), photos.sha256_of(data), "")
    assert job_photos(path, drawn_anew=False)(shown) == b""  # it is there, and damaged
    assert job_photos(path, drawn_anew=True)(shown) == data


def test_a_photo_that_is_gone_is_none(tmp_path):
    shown = Shown("0" * 64 + ".jpg", "0" * 64, "")
    assert job_photos(tmp_path / "job.json", drawn_anew=True)(shown) is None
    assert job_photos(None, drawn_anew=True)(shown) is None


def test_each_photo_of_a_sheet_is_read_once():
    one, other = Shown("a", "1", "x"), Shown("a", "1", "y")
    sheet = Sheet(title="", under="", blocks=(Photos((one,)), Photos((other, Shown("b", "2", "")))), foot="")
    assert [s.name for s in photos_on(sheet)] == ["a", "b"]


# --- files -------------------------------------------------------------------------------------------

JOB = built()
STATE = fold(JOB)
KINDS = {
    "pdf": (lambda path: files.save_pdf(path, PDF), PDF),
    "html": (lambda path: files.save_html(path, HTML), HTML.encode()),
    "text": (lambda path: files.save_text(path, "A sheet"), f"A sheet\n\n{files.TEXT_MARK}\n".encode()),
    "events": (
        lambda path: files.save_table(path, Table.EVENTS, table_csv(Table.EVENTS, JOB, STATE)),
        table_csv(Table.EVENTS, JOB, STATE),
    ),
    "mixes": (
        lambda path: files.save_table(path, Table.MIXES, table_csv(Table.MIXES, JOB, STATE)),
        table_csv(Table.MIXES, JOB, STATE),
    ),
    "copy": (lambda path: files.save_copy(path, jobfile.dump(JOB), JOB, None), jobfile.dump(JOB)),
}
OTHER = {
    "a letter": b"Dear customer",
    "another PDF": b"%PDF-1.7\nsomething else",
    "another page": b"<!DOCTYPE html><html><head></head></html>",
    "another table": b"a,b\r\n1,2\r\n",
    "another job": jobfile.dump(replace(JOB, id="another")),
}


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_is_written_and_written_over_by_its_own_kind(kind, tmp_path):
    save, data = KINDS[kind]
    path = tmp_path / "file"
    save(path)
    assert path.read_bytes() == data
    save(path)
    assert path.read_bytes() == data
    path.write_bytes(b"")
    save(path)
    assert path.read_bytes() == data


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("other", [*OTHER, *KINDS])
def test_no_file_of_another_kind_is_written_over(kind, other, tmp_path):
    if other == kind:
        return
    path = tmp_path / "file"
    there = OTHER[other] if other in OTHER else KINDS[other][1]
    path.write_bytes(there)
    with pytest.raises(files.SaveFault, match="something else"):
        KINDS[kind][0](path)
    assert path.read_bytes() == there


@pytest.mark.parametrize("kind", KINDS)
def test_on_a_full_disk_nothing_is_half_written(kind, tmp_path, full_disk):
    path, before = tmp_path / "file", KINDS[kind][1]
    path.write_bytes(before)
    with full_disk(), pytest.raises(files.SaveFault, match="full"):
        KINDS[kind][0](path)
    assert path.read_bytes() == before
    fresh = tmp_path / "new"
    with full_disk(), pytest.raises(files.SaveFault):
        KINDS[kind][0](fresh)
    assert [p.name for p in tmp_path.iterdir()] == ["file"]


def test_a_copy_is_never_laid_over_the_jobs_own_file(tmp_path):
    there = document(JOB, tmp_path / "job.json")
    link = tmp_path / "link.json"
    link.symlink_to(there.path)
    before = there.path.read_bytes()
    for path in (there.path, link, tmp_path / "." / "job.json"):
        with pytest.raises(files.SaveFault, match="own file"):
            files.save_copy(path, b"{}", there.job, there.path)
    assert there.path.read_bytes() == before


def test_a_copy_is_laid_over_an_earlier_one_and_not_over_one_that_went_on_otherwise(tmp_path):
    path = tmp_path / "copy.json"
    first = files.job_copy(JOB, None)
    files.save_copy(path, first, JOB, None)
    longer = with_events(JOB, ev.ReadingTaken(id="e900", at=START, air_degC=20, humidity_percent=50))
    files.save_copy(path, files.job_copy(longer, None), longer, None)
    assert jobfile.load(path).job == longer
    with pytest.raises(files.SaveFault):
        files.save_copy(path, first, JOB, None)
    assert jobfile.load(path).job == longer


def test_a_copy_of_a_job_of_a_newer_version_is_the_file_itself(tmp_path):
    path = tmp_path / "job.json"
    jobfile.save(path, JOB)
    plain = json.loads(path.read_text())
    plain["schema"] += 1
    plain["later"] = "what that version added"
    path.write_text(json.dumps(plain))
    assert json.loads(files.job_copy(jobfile.load(path).job, path)) == plain


def test_what_a_file_holds_can_be_looked_at(tmp_path):
    there = document(JOB, tmp_path / "job.json")
    told = {o.kind: files.file_text(there, o, START) for o in offers(JOB, STATE, START) if not o.is_sheet}
    assert json.loads(told[Kind.FILE])["id"] == JOB.id
    assert told[Kind.TABLE].startswith('"at_utc"')
    shown = files.table_shown(there, offer_of(JOB, "csv-events")).split("\n")
    assert shown[0].startswith("number")
    assert len(shown) == len(JOB.events) + 2


def test_files_for_other_programs_are_kept(tmp_path):
    there = document(JOB, tmp_path / "job.json")
    for offer in offers(JOB, STATE, START + minutes(45)):
        if not offer.is_sheet and not offer.not_yet:
            path = tmp_path / f"{offer.key}{offer.endings[0].value}"
            files.save_file(path, there, offer, START + minutes(45))
            assert path.stat().st_size > 0
    assert jobfile.load(tmp_path / "file.json").job == there.job


def test_a_folder_that_may_not_be_looked_into_is_said_in_words(tmp_path, monkeypatch):
    def shut(*_, **__):
        raise PermissionError(errno.EACCES, "Permission denied", "x.pdf")

    monkeypatch.setattr(os, "stat", shut)
    with pytest.raises(files.SaveFault, match=r"^x\.pdf: You may not write in this folder"):
        files.save_text(tmp_path / "x.pdf", "words")


def test_what_fails_before_it_could_be_written_is_said_in_words():
    said = files.fault_words(Path("x.json"), PermissionError(errno.EACCES, "Permission denied", "x.json"))
    assert said == "x.json is not written: Permission denied."
    assert files.fault_words(Path("x.pdf"), ValueError("no pages")) == "x.pdf is not written: no pages."
