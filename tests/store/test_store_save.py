"""A save that can't be done says why in one sentence, and leaves the file as it was."""

import errno
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.record import SCHEMA, Job, with_events
from benchtool.store import atomic, faults, jobfile
from benchtool.store.jobfile import SaveFault

Watch = Callable[[Path], Any]
ROOT = Path(__file__).resolve().parents[2]
AS_ROOT = hasattr(os, "geteuid") and os.geteuid() == 0
posix_only = pytest.mark.skipif(os.name == "nt", reason="POSIX files")


def grown(job: Job, by: int = 1) -> Job:
    more = (ev.ReadingTaken(id=f"x{n}", at=job.created, air_degC=20.0, humidity_percent=50.0) for n in range(by))
    return with_events(job, *more)


def refused(path: Path, job: Job) -> SaveFault:
    with pytest.raises(SaveFault) as caught:
        jobfile.save(path, job)
    fault = caught.value
    assert fault.path == path
    assert str(fault).endswith(f": {fault.message}")
    assert str(fault).isprintable()
    assert ": " in fault.message
    return fault


def test_a_save_keeps_the_version_before(path: Path, job: Job) -> None:
    jobfile.save(path, grown(job))
    assert jobfile.load(path).job == grown(job)
    assert [jobfile.load(v).job for v in atomic.versions(path)] == [job]


@pytest.mark.parametrize("call", ["open", "write", "fsync", "replace"])
@pytest.mark.parametrize(
    ("code", "words"),
    [
        (errno.ENOSPC, "The disk is full: make room on it, or save a copy somewhere else"),
        (errno.EDQUOT, "The disk is full: make room on it, or save a copy somewhere else"),
        (errno.EACCES, "You may not write in this folder: "),
        (errno.EPERM, "You may not write in this folder: "),
        (errno.EROFS, "This disk can only be read: save a copy somewhere else"),
        (errno.EIO, "The disk fails to write: "),
        (errno.ENOENT, "Its folder is gone: "),
        (errno.EBUSY, "It could not be saved ("),
    ],
)
def test_whatever_the_system_refuses(
    path: Path, job: Job, untouched: Watch, monkeypatch: pytest.MonkeyPatch, call: str, code: int, words: str
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise OSError(code, os.strerror(code), "some path")

    with untouched(path), monkeypatch.context() as patch:
        patch.setattr(os, call, refuse)
        assert refused(path, grown(job)).message.startswith(words)
    jobfile.save(path, grown(job))
    assert jobfile.load(path).job == grown(job)


@pytest.fixture
def tiny_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 64 kB, where the system lets us have one."""
    folder, mount = tmp_path / "disk", shutil.which("mount")
    folder.mkdir()
    if not AS_ROOT or mount is None or not sys.platform.startswith("linux"):
        pytest.skip("mounting a small disk takes root on Linux")
    made = subprocess.run([mount, "-t", "tmpfs", "-o", "size=64k", "tmpfs", folder], check=False, capture_output=True)
    if made.returncode != 0:
        pytest.skip("this system mounts no small disk")
    try:
        yield folder
    finally:
        subprocess.run(["umount", folder], check=True)


def test_a_disk_that_is_really_full(tiny_disk: Path, job: Job, untouched: Watch) -> None:
    file = tiny_disk / "a.json"
    jobfile.save(file, job)
    (tiny_disk / "ballast").write_bytes(b"x" * 45_000)
    with untouched(file):
        assert refused(file, grown(job, 100)).message.startswith("The disk is full")
    (tiny_disk / "ballast").unlink()
    jobfile.save(file, grown(job, 100))
    assert jobfile.load(file).job == grown(job, 100)


LIMITED = """
import resource, sys
from pathlib import Path
from benchtool.job.events import ReadingTaken
from benchtool.job.record import with_events
from benchtool.store import jobfile
path = Path(sys.argv[1])
job = jobfile.load(path).job
resource.setrlimit(resource.RLIMIT_FSIZE, (4_000, 4_000))
more = (ReadingTaken(id=f"x{n}", at=job.created, air_degC=20, humidity_percent=50) for n in range(100))
try:
    jobfile.save(path, with_events(job, *more))
except jobfile.SaveFault as fault:
    print(fault)
"""


@posix_only
def test_a_system_that_lets_no_file_grow_so_large(path: Path, untouched: Watch) -> None:
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8"}
    with untouched(path):
        run = subprocess.run(
            [sys.executable, "-c", LIMITED, path], env=environment, check=True, capture_output=True, encoding="utf-8"
        )
    assert run.stdout.startswith(f"{path.name}: This disk takes no file so large: ")


@posix_only
@pytest.mark.usefixtures("rights_count")
def test_a_folder_without_the_right_to_write(path: Path, job: Job, untouched: Watch) -> None:
    path.parent.chmod(0o555)
    try:
        with untouched(path):
            assert refused(path, grown(job)).message.startswith("You may not write in this folder")
    finally:
        path.parent.chmod(0o755)


def test_a_write_protected_file(path: Path, job: Job, untouched: Watch) -> None:
    path.chmod(0o444)
    with untouched(path):
        assert refused(path, grown(job)).message.startswith("This file is write-protected: lift that")


def test_a_folder_that_is_gone(path: Path, job: Job) -> None:
    shutil.rmtree(path.parent)
    assert refused(path, job).message.startswith("Its folder is gone")
    assert not path.parent.exists()


def test_a_name_that_is_too_long_or_is_no_name(tmp_path: Path, job: Job) -> None:
    assert refused(tmp_path / ("n" * 300), job).message == "This name is too long: choose a shorter one"
    assert refused(tmp_path / "a\0b", job).message == "No file can have this name: choose another one"


def test_a_name_of_a_folder(tmp_path: Path, job: Job) -> None:
    (tmp_path / "a").mkdir()
    assert refused(tmp_path / "a", job).message == "There is a folder of this name: choose another name"


@posix_only
def test_a_ring_of_links(tmp_path: Path, job: Job) -> None:
    (tmp_path / "a").symlink_to("a")
    assert refused(tmp_path / "a", job).message.startswith("Its links lead round in a ring")


# --- what could not be opened again is not written -------------------------------------------------


def coat_done(job: Job, **fields: Any) -> Job:
    return with_events(job, replace(ev.CoatDone(id="x1", at=job.created, layer="l1"), **fields))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (coat_done, "a coat is done that was never started (at $.events[8])"),
        (lambda j: coat_done(j, id="e1"), "is already that of event 0"),
        (lambda j: replace(j, created=datetime(2026, 3, 2)), "does not say its zone"),  # noqa: DTZ001
        (lambda j: replace(j, created=datetime.max.replace(tzinfo=timezone(timedelta(hours=-1)))), "out of range"),
        (lambda j: replace(j, note="\ud800"), "surrogates not allowed"),
        (lambda j: replace(j, note="x" * 5_000), "length <= 4000"),
        (lambda j: replace(j, note=object()), "object"),
        (lambda j: with_events(j, replace(grown(j).events[-1], air_degC=float("nan"))), "air_degC"),
    ],
)
def test_what_could_not_be_opened_again(
    path: Path, job: Job, untouched: Watch, change: Callable[[Job], Job], words: str
) -> None:
    with untouched(path):
        fault = refused(path, change(job))
    assert words in fault.message
    assert fault.message.startswith("The record holds what could not be opened again (")
    assert fault.message.endswith("): undo the last act")


def test_a_job_of_a_newer_version_is_not_written_over(path: Path, job: Job, untouched: Watch) -> None:
    with untouched(path):
        assert "newer version" in refused(path, replace(job, schema=SCHEMA + 1)).message


def test_a_record_too_large_to_be_opened_again(
    path: Path, job: Job, untouched: Watch, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(jobfile, "LARGEST", 2_000)
    with untouched(path):
        assert refused(path, grown(job, 100)).message.startswith("This record has grown too large")
    assert faults.LARGEST == 32 * 1024 * 1024


def test_times_are_written_in_utc(path: Path, job: Job) -> None:
    east = timezone(timedelta(hours=5, minutes=30))
    moved = tuple(replace(e, at=e.at.astimezone(east)) for e in job.events)
    fixed = ev.Corrected(id="x1", at=moved[-1].at, event="e8", really_at=moved[-1].at)
    local = replace(job, created=job.created.astimezone(east), events=(*moved, fixed))
    jobfile.save(path, local)
    assert b"+05:30" not in path.read_bytes()
    read = jobfile.load(path).job
    assert read == local
    assert {e.at.tzinfo for e in read.events} == {UTC}


def test_equal_jobs_are_written_alike(job: Job) -> None:
    copied = job.events[1]
    assert isinstance(copied, ev.CardCopied)
    texts = []
    for names in (("flash", "*", "cure"), ("cure", "flash", "*")):
        card = replace(copied.card, origins=dict.fromkeys(names, "the sheet"))
        texts.append(jobfile.dump(replace(job, events=(job.events[0], replace(copied, card=card)))))
    assert texts[0] == texts[1]
