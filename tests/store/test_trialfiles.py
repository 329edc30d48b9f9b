"""Which files of a folder are looked at for trials, and what is said of those that can't be read."""

import os
from pathlib import Path

import pytest
from builders import JobBuilder
from pasttrials_folder import trial_job, written

from benchtool.job import events as ev
from benchtool.store import jobfile, trialfiles
from benchtool.store.faults import JobFileFault
from benchtool.store.trialfiles import Why, job_files, read_trials


def names(folder: Path) -> list[str]:
    return [path.name for path, _ in job_files([folder]).files]


def test_only_files_named_like_jobs_are_listed_the_newest_first(tmp_path: Path) -> None:
    for i, name in enumerate(("old.json", "new.JSON", "note.txt", ".hidden.json")):
        (tmp_path / name).write_text("{}")
        os.utime(tmp_path / name, (1_000 + i, 1_000 + i))
    (tmp_path / "folder.json").mkdir()
    (tmp_path / "gone.json").symlink_to(tmp_path / "nowhere")
    assert names(tmp_path) == ["new.JSON", "old.json"]


def test_a_file_that_two_folders_lead_to_is_listed_once(tmp_path: Path) -> None:
    written(tmp_path / "a", "job", trial_job())
    (tmp_path / "b").mkdir()
    (tmp_path / "b" / "link.json").symlink_to(tmp_path / "a" / "job.json")
    found = job_files([tmp_path / "a", tmp_path / "b", tmp_path / "a"])
    assert [path for path, _ in found.files] == [(tmp_path / "a" / "job.json").resolve()]


def test_earlier_versions_of_a_job_are_no_jobs(tmp_path: Path) -> None:
    written(tmp_path / "job.json.versions", "20260101", trial_job())
    written(tmp_path, "job", trial_job())
    assert [path.name for path, _ in job_files([tmp_path / "job.json.versions"]).files] == ["job.json"]


def test_a_folder_that_is_gone_is_named_and_the_others_are_read(tmp_path: Path) -> None:
    written(tmp_path / "there", "job", trial_job())
    found = job_files([tmp_path / "gone", tmp_path / "there"])
    assert found.shut == ((tmp_path / "gone", Why.GONE),)
    assert len(found.files) == 1


def test_a_path_no_disk_can_hold_is_named(tmp_path: Path) -> None:
    assert job_files([Path("a\0b")]).shut == ((Path("a\0b"), Why.ODD),)


def test_only_a_job_with_a_trial_is_parsed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with_trial = written(tmp_path, "with", trial_job())
    without = written(tmp_path, "without", JobBuilder().add(ev.JobDescribed, title="Plain"))
    other = tmp_path / "other.json"
    other.write_text('{"says": "trial planned"}')
    parsed: list[Path] = []
    load = jobfile.load
    monkeypatch.setattr(trialfiles.jobfile, "load", lambda path: parsed.append(path) or load(path))
    assert read_trials(without) is None
    assert read_trials(other) is None
    opened = read_trials(with_trial)
    assert opened is not None
    assert opened.job == load(with_trial).job
    assert parsed == [with_trial]


@pytest.mark.parametrize("share", [0.3, 0.99])
def test_a_job_that_breaks_off_is_told_with_its_place(tmp_path: Path, share: float) -> None:
    path = written(tmp_path, "torn", trial_job())
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * share)])
    with pytest.raises(JobFileFault) as told:
        read_trials(path)
    assert str(told.value).startswith("torn.json: ")
    assert "line" in told.value.place


def test_a_job_torn_before_its_trial_is_told_too(tmp_path: Path) -> None:
    path = written(tmp_path, "torn", trial_job())
    data = path.read_bytes()
    path.write_bytes(data[: data.index(b'"trial planned"') - 40])
    assert b'"trial planned"' not in path.read_bytes()
    with pytest.raises(JobFileFault):
        read_trials(path)


def test_what_is_gone_or_far_too_large_is_passed_over(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = written(tmp_path, "job", trial_job())
    monkeypatch.setattr(trialfiles, "LARGEST", 1_000)
    assert read_trials(path) is None
    assert read_trials(tmp_path / "nowhere.json") is None


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes")
def test_a_pipe_never_hangs_it(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.json")
    assert names(tmp_path) == []
    assert read_trials(tmp_path / "pipe.json") is None


def test_nothing_is_written(tmp_path: Path) -> None:
    path = written(tmp_path, "job", trial_job())
    before = (path.read_bytes(), path.stat().st_mtime_ns, sorted(tmp_path.iterdir()))
    read_trials(path)
    assert (path.read_bytes(), path.stat().st_mtime_ns, sorted(tmp_path.iterdir())) == before
