"""A can's own times in a job file: UTC as all others, and a file from before there were cans opens unchanged."""

import json
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from benchtool.job import events as ev
from benchtool.job.lots import Lot
from benchtool.job.record import Job, with_events
from benchtool.job.state import fold
from benchtool.store import jobfile
from benchtool.store.jobfile import JobFileFault

EAST = timezone(timedelta(hours=2))


def with_can(job: Job, **told: datetime) -> Job:
    lot = Lot(id="can", card="c1", part="Clear", full_mL=100, **told)
    return with_events(job, ev.LotTaken(id="x1", at=job.events[-1].at, lot=lot))


def test_the_times_of_a_can_are_utc_in_the_file_and_out_of_it(path: Path, job: Job) -> None:
    at = datetime(2026, 3, 2, 1, 30, tzinfo=EAST)
    jobfile.save(path, with_can(job, got_on=at, opened_on=at, best_before=at))
    lot = json.loads(path.read_bytes())["events"][-1]["lot"]
    assert {lot[k] for k in ("got_on", "opened_on", "best_before")} == {"2026-03-01T23:30:00Z"}
    text = path.read_text(encoding="utf-8").replace("2026-03-01T23:30:00Z", "2026-03-02T01:30:00+02:00")
    path.write_text(text, encoding="utf-8")
    read = fold(jobfile.load(path).job).lots["can"]
    assert {read.got_on, read.opened_on, read.best_before} == {at}
    assert {t.tzinfo for t in (read.got_on, read.opened_on, read.best_before) if t is not None} == {UTC}


def test_a_can_without_its_zone_is_not_saved(path: Path, job: Job) -> None:
    before = path.read_bytes()
    with pytest.raises(jobfile.SaveFault, match="zone"):
        jobfile.save(path, with_can(job, opened_on=datetime(2026, 3, 2)))  # noqa: DTZ001
    assert path.read_bytes() == before


def test_a_pour_from_a_can_nobody_took_is_told_with_its_place(path: Path, job: Job) -> None:
    plain = json.loads(path.read_bytes())
    plain["events"][5]["lot"] = "nowhere"
    path.write_text(json.dumps(plain), encoding="utf-8")
    with pytest.raises(JobFileFault, match=r"There is no lot “nowhere”.*\$\.events\[5\]\.lot"):
        jobfile.load(path)


def test_a_file_from_before_there_were_cans_is_the_same_after_a_save(path: Path, job: Job) -> None:
    before = path.read_bytes()
    assert b'"lot"' not in before
    assert b'"left_mL"' not in before
    jobfile.save(path, jobfile.load(path).job)
    assert path.read_bytes() == before
