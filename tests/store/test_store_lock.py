"""One writer for one job file, whatever becomes of the process that had it."""

import json
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import filelock
import pytest

from benchtool.store import lock
from benchtool.store.lock import Holder, Lock, NoLock, acquire

ROOT = Path(__file__).resolve().parents[2]
NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
posix_only = pytest.mark.skipif(os.name == "nt", reason="POSIX files")

HOLDING = """
import sys
from pathlib import Path
from benchtool.store.lock import acquire
got = acquire(Path(sys.argv[1]))
print(type(got).__name__, flush=True)
sys.stdin.read()
"""


def note_of(path: Path) -> Path:
    return path.with_name(f".{path.name}.holder")


@pytest.fixture
def other(path: Path) -> Iterator[subprocess.Popen[str]]:
    """Another process that has the job open."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    run = subprocess.Popen(
        [sys.executable, "-c", HOLDING, path],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env=environment,
        encoding="utf-8",
    )
    with run:
        assert run.stdout is not None
        assert run.stdout.readline() == "Lock\n"
        yield run
        run.kill()


def test_the_first_has_it_and_leaves_it_clean(path: Path) -> None:
    before = path.read_bytes()
    got = acquire(path, NOW)
    assert isinstance(got, Lock)
    assert got.path == path
    told = json.loads(note_of(path).read_bytes())
    assert told["pid"] == os.getpid()
    assert told["since"] == "2026-03-02T09:30:00Z"
    got.release()
    got.release()
    assert not note_of(path).exists()
    assert path.read_bytes() == before
    with acquire(path) as again:  # type: ignore[union-attr]
        assert isinstance(again, Lock)


def test_the_second_window_of_one_program_is_told_who_has_it(path: Path) -> None:
    with acquire(path, NOW) as got:  # type: ignore[union-attr]
        assert isinstance(got, Lock)
        second = acquire(path)
        assert isinstance(second, Holder)
        assert second.pid == os.getpid()
        assert second.since == NOW
        assert str(second).endswith(f"(process {os.getpid()}). Here it is shown read-only.")
    assert isinstance(acquire(path), Lock)


def test_another_process_is_told_who_has_it(path: Path, other: subprocess.Popen[str]) -> None:
    got = acquire(path)
    assert isinstance(got, Holder)
    assert got.pid == other.pid
    assert got.since is not None  # where the holder gave no time, that of its note counts
    other.communicate()
    assert isinstance(acquire(path), Lock)


@posix_only
def test_a_killed_process_holds_nothing_though_its_note_is_left(path: Path, other: subprocess.Popen[str]) -> None:
    other.send_signal(signal.SIGKILL)
    other.wait()
    assert json.loads(note_of(path).read_bytes())["pid"] == other.pid
    got = acquire(path, NOW)
    assert isinstance(got, Lock)
    assert json.loads(note_of(path).read_bytes())["pid"] == os.getpid()
    got.release()


@posix_only
def test_two_ways_to_one_file_share_one_lock(path: Path, tmp_path: Path) -> None:
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    (folder / "link.json").symlink_to(path)
    (folder / "up").symlink_to(tmp_path)
    with acquire(folder / "link.json") as got:  # type: ignore[union-attr]
        assert isinstance(got, Lock)
        assert got.path == path
        assert isinstance(acquire(path), Holder)
        assert isinstance(acquire(folder / "up" / path.name), Holder)
    assert sorted(p.name for p in folder.iterdir()) == ["link.json", "up"]


def test_a_lock_of_one_job_is_none_of_another(path: Path, tmp_path: Path) -> None:
    with acquire(path), acquire(tmp_path / "new.json") as second:  # type: ignore[union-attr]
        assert isinstance(second, Lock)


@pytest.mark.parametrize(
    "note",
    [
        b"",
        b"{",
        b"[]",
        b'{"pid": "x"}',
        b'{"user": "\\ud800"}',
        b"\xff",
        b"x" * 10_000,
        b'{"since": "2026-03-02T09:30:00"}',
    ],
)
def test_a_note_that_can_not_be_read_tells_less_and_breaks_nothing(path: Path, note: bytes) -> None:
    with acquire(path):  # type: ignore[union-attr]
        note_of(path).write_bytes(note)
        got = acquire(path)
        assert isinstance(got, Holder)
        assert str(got).startswith("Open for writing in another window: ")


def test_a_note_is_told_on_one_line(path: Path) -> None:
    with acquire(path):  # type: ignore[union-attr]
        note_of(path).write_text(json.dumps({"user": "a\nb<b>", "host": "h" * 500, "pid": 7}), encoding="utf-8")
        told = str(acquire(path))
    assert told.isprintable()
    assert "a b<b> on hhh" in told
    assert len(told) < 250


@posix_only
@pytest.mark.usefixtures("rights_count")
def test_a_folder_that_may_not_be_written_to(path: Path) -> None:
    path.parent.chmod(0o555)
    try:
        assert isinstance(acquire(path), NoLock)
    finally:
        path.parent.chmod(0o755)


def test_a_folder_that_the_system_keeps_from_us(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "access", lambda *_, **__: False)
    got = acquire(path)
    assert isinstance(got, NoLock)
    assert str(got) == "Its folder may not be written to, so this job is shown read-only."


@pytest.mark.parametrize(
    "fault", [PermissionError(13, "Permission denied"), OSError(38, "Not implemented"), NotImplementedError()]
)
def test_a_disk_that_gives_no_lock(path: Path, monkeypatch: pytest.MonkeyPatch, fault: Exception) -> None:
    def refuse(_: object) -> None:
        raise fault

    monkeypatch.setattr(filelock.FileLock, "_acquire", refuse)
    got = acquire(path)
    assert isinstance(got, NoLock)
    assert str(got).endswith("so it is shown read-only.")
    assert str(got).isprintable()


def test_a_write_protected_file_and_a_missing_folder_and_no_name(path: Path) -> None:
    path.chmod(0o444)
    assert str(acquire(path)) == "Its file is write-protected, so this job is shown read-only."
    assert isinstance(acquire(path.parent / "gone" / "a.json"), NoLock)
    assert isinstance(acquire(path.parent / "a\0b"), NoLock)
    assert isinstance(acquire(path.parent / ("n" * 255)), NoLock)


@posix_only
def test_a_ring_of_links(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to("a")
    assert str(acquire(tmp_path / "a")) == (
        "This job can't be locked here (its links lead round in a ring), so it is shown read-only."
    )


def test_a_holder_says_what_is_known() -> None:
    assert str(Holder()) == "Open for writing in another window: Somebody. Here it is shown read-only."
    assert "anna on bench" in str(Holder(user="anna", host="bench"))


def test_the_lock_does_not_need_its_note(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError

    monkeypatch.setattr(Path, "write_bytes", refuse)
    monkeypatch.setattr(lock.getpass, "getuser", lambda: (_ for _ in ()).throw(KeyError("uid")))
    with acquire(path) as got:  # type: ignore[union-attr]
        assert isinstance(got, Lock)
        assert acquire(path) == Holder()
