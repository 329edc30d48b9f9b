"""Writing so that there is always a whole file: what is kept, what is left behind, what a fault leaves as it was."""

import errno
import os
import signal
import stat
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from benchtool.store import atomic, jobfile
from benchtool.store.files import NotOrdinary, real_path

Watch = Callable[[Path], Any]
ROOT = Path(__file__).resolve().parents[2]
posix_only = pytest.mark.skipif(os.name == "nt", reason="POSIX file modes and links")


def contents(paths: tuple[Path, ...]) -> list[bytes]:
    return [p.read_bytes() for p in paths]


def names(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.iterdir())


def temps(folder: Path) -> list[str]:
    return [p.name for p in folder.rglob("*") if p.name.endswith(".tmp")]


def test_a_new_file_is_written_and_nothing_else(tmp_path: Path) -> None:
    atomic.write(tmp_path / "a.json", b"one")
    assert (tmp_path / "a.json").read_bytes() == b"one"
    assert names(tmp_path) == ["a.json"]
    assert atomic.versions(tmp_path / "a.json") == ()


def test_earlier_contents_are_kept_newest_first_and_pruned(tmp_path: Path) -> None:
    file = tmp_path / "a.json"
    for n in range(9):
        atomic.write(file, b"%d" % n, keep=5)
    assert file.read_bytes() == b"8"
    assert contents(atomic.versions(file)) == [b"7", b"6", b"5", b"4", b"3"]
    assert names(tmp_path) == ["a.json", "a.json.versions"]


def test_versions_keep_their_order_when_the_clock_is_set_back_or_stands_still(tmp_path: Path) -> None:
    file = tmp_path / "a.json"
    for n, second in enumerate([1_900_000_000, 1_800_000_000, 1_800_000_000, 1_800_000_001, 1_900_000_001]):
        atomic.write(file, b"%d" % n, keep=3)
        os.utime(file, (second, second))
    atomic.write(file, b"last", keep=3)
    assert contents(atomic.versions(file)) == [b"4", b"3", b"2"]
    assert atomic.versions(file)[0].name == "20300317T174641.000000Z.json"
    assert atomic.versions(file)[0].stat().st_mtime == 1_900_000_001


def test_other_files_among_the_versions_are_left_alone(tmp_path: Path) -> None:
    file = tmp_path / "a.json"
    atomic.write(file, b"0")
    atomic.write(file, b"1")
    folder = tmp_path / "a.json.versions"
    for name in ("notes.txt", ".20260101T000000.000000Z.json.tmp", "20260101T000000.000000Z.json.bak"):
        (folder / name).write_bytes(b"mine")
    (folder / "20990101T000000.000000Z.json").symlink_to(file)
    atomic.write(file, b"2", keep=1)
    assert contents(atomic.versions(file)) == [b"1"]
    assert len(names(folder)) == 5


@posix_only
def test_the_mode_of_the_old_file_is_kept_and_a_new_one_follows_the_umask(tmp_path: Path) -> None:
    before = os.umask(0o027)
    try:
        atomic.write(tmp_path / "new", b"x")
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "new").stat().st_mode) == 0o640
    (tmp_path / "new").chmod(0o604)
    atomic.write(tmp_path / "new", b"y")
    assert stat.S_IMODE((tmp_path / "new").stat().st_mode) == 0o604


@posix_only
@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root can give files away")
def test_the_owner_of_the_old_file_is_kept(tmp_path: Path) -> None:
    file = tmp_path / "a"
    file.write_bytes(b"x")
    file.chmod(0o666)
    os.chown(file, 12_345, 54_321)
    atomic.write(file, b"y")
    assert (file.stat().st_uid, file.stat().st_gid) == (12_345, 54_321)


@posix_only
def test_a_link_stays_a_link_and_its_file_is_written(tmp_path: Path) -> None:
    real, link = tmp_path / "real" / "a.json", tmp_path / "link.json"
    real.parent.mkdir()
    real.write_bytes(b"0")
    link.symlink_to(tmp_path / "hop")
    (tmp_path / "hop").symlink_to(real)
    atomic.write(link, b"1")
    assert link.is_symlink()
    assert real.read_bytes() == b"1"
    assert contents(atomic.versions(link)) == contents(atomic.versions(real)) == [b"0"]
    assert names(tmp_path) == ["hop", "link.json", "real"]


@posix_only
def test_a_link_to_a_file_that_is_gone_brings_it_back(tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(tmp_path / "gone")
    atomic.write(tmp_path / "link", b"x")
    assert (tmp_path / "gone").read_bytes() == b"x"
    assert (tmp_path / "link").is_symlink()


@posix_only
def test_a_ring_of_links_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(tmp_path / "a")
    with pytest.raises(OSError, match="symbolic links") as fault:
        atomic.write(tmp_path / "a", b"x")
    assert fault.value.errno == errno.ELOOP
    with pytest.raises(OSError, match="symbolic links"):
        real_path(tmp_path / "a")
    assert atomic.versions(tmp_path / "a") == ()
    assert names(tmp_path) == ["a", "b"]


@posix_only
def test_a_folder_and_a_pipe_are_refused(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(IsADirectoryError):
        atomic.write(tmp_path / "folder", b"x")
    with pytest.raises(NotOrdinary):
        atomic.write(tmp_path / "pipe", b"x")
    assert names(tmp_path) == ["folder", "pipe"]


@posix_only
def test_a_write_protected_file_is_not_written_to_by_the_back_door(tmp_path: Path, untouched: Watch) -> None:
    file = tmp_path / "a"
    file.write_bytes(b"x")
    file.chmod(0o444)
    with untouched(file), pytest.raises(PermissionError, match="write-protected"):
        atomic.write(file, b"y")


def fail(code: int) -> Callable[..., Any]:
    def raising(*_: object, **__: object) -> None:
        raise OSError(code, os.strerror(code))

    return raising


@pytest.mark.parametrize("call", ["open", "write", "fsync", "replace"])
def test_a_fault_at_any_step_leaves_the_file_as_it_was(
    path: Path, untouched: Watch, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    atomic.write(path, path.read_bytes())
    with untouched(path):
        with monkeypatch.context() as patch:
            patch.setattr(os, call, fail(errno.EIO))
            with pytest.raises(OSError, match="Input/output"):
                atomic.write(path, b"y")
        assert temps(path.parent) == []


def test_a_disk_that_fills_up_in_the_middle_leaves_the_file_as_it_was(
    path: Path, untouched: Watch, monkeypatch: pytest.MonkeyPatch
) -> None:
    real_write = os.write

    def half(descriptor: int, data: memoryview) -> int:
        if len(data) <= 500:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return real_write(descriptor, data[: len(data) // 2])

    monkeypatch.setattr(os, "write", half)
    with untouched(path), pytest.raises(OSError, match="No space"):
        atomic.write(path, b"y" * 100_000)


def test_a_write_in_small_bites_writes_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real_write = os.write
    monkeypatch.setattr(os, "write", lambda fd, data: real_write(fd, data[:3]))
    atomic.write(tmp_path / "a", bytes(range(256)))
    assert (tmp_path / "a").read_bytes() == bytes(range(256))


def test_an_interruption_leaves_no_temporary_file(
    path: Path, untouched: Watch, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupt(_: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupt)
    with untouched(path), pytest.raises(KeyboardInterrupt):
        atomic.write(path, b"y")


def test_a_folder_that_can_not_be_flushed_is_told_and_the_new_content_is_whole(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real_fsync = os.fsync

    def folders_fail(descriptor: int) -> None:
        if stat.S_ISDIR(os.fstat(descriptor).st_mode):
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        real_fsync(descriptor)

    monkeypatch.setattr(os, "fsync", folders_fail)
    with pytest.raises(OSError, match="Input/output"):
        atomic.write(path, b"new")
    assert path.read_bytes() == b"new"


@posix_only
def test_a_disk_that_knows_no_flush_of_folders_is_no_fault(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    seen = []

    def fsync(descriptor: int) -> None:
        seen.append(stat.S_ISDIR(os.fstat(descriptor).st_mode))
        if seen[-1]:
            raise OSError(errno.EINVAL, os.strerror(errno.EINVAL))

    monkeypatch.setattr(os, "fsync", fsync)
    atomic.write(path, b"new")
    assert seen == [False, True]


def test_content_is_flushed_before_the_rename_and_the_folder_after(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[str] = []
    real_fsync, real_replace = os.fsync, os.replace

    def fsync(descriptor: int) -> None:
        done.append("folder" if stat.S_ISDIR(os.fstat(descriptor).st_mode) else "file")
        real_fsync(descriptor)

    def replace(source: Any, target: Any) -> None:
        done.append("rename")
        real_replace(source, target)

    monkeypatch.setattr(os, "fsync", fsync)
    monkeypatch.setattr(os, "replace", replace)
    atomic.write(path, b"new")
    assert done == ["file", "rename", "folder"]


def test_where_links_are_not_possible_versions_are_copies(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "link", fail(errno.EPERM))
    file = tmp_path / "a"
    for n in range(4):
        atomic.write(file, b"%d" % n, keep=2)
        os.utime(file, (1_000_000_000, 1_000_000_000))
    assert contents(atomic.versions(file)) == [b"2", b"1"]
    assert temps(tmp_path) == []


def test_a_version_that_can_not_be_kept_does_not_stop_the_save(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (path.parent / f"{path.name}.versions").write_bytes(b"a file where the folder should be")
    atomic.write(path, b"one")
    assert path.read_bytes() == b"one"
    assert atomic.versions(path) == ()
    monkeypatch.setattr(Path, "mkdir", fail(errno.EACCES))
    atomic.write(path, b"two")
    assert path.read_bytes() == b"two"


def test_one_content_is_kept_once_though_a_save_after_it_failed(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for _ in range(3):
        with monkeypatch.context() as patch:
            patch.setattr(os, "replace", fail(errno.EIO))
            with pytest.raises(OSError, match="Input/output"):
                atomic.write(path, b"x")
    assert atomic.versions(path) == ()


@posix_only
def test_a_name_as_long_as_the_disk_takes_can_be_saved_twice(tmp_path: Path) -> None:
    file = tmp_path / ("n" * 255)
    atomic.write(file, b"one")
    atomic.write(file, b"two")
    assert file.read_bytes() == b"two"
    with pytest.raises(OSError, match="too long"):
        atomic.write(tmp_path / ("n" * 256), b"x")


def test_what_a_killed_process_left_long_ago_is_swept_and_nothing_else(tmp_path: Path) -> None:
    file = tmp_path / "a.json"
    temp, descriptor = atomic._create_beside(file)
    os.close(descriptor)
    fresh, descriptor = atomic._create_beside(file)
    os.close(descriptor)
    other, descriptor = atomic._create_beside(tmp_path / "b.json")
    os.close(descriptor)
    for old in (temp, other):
        os.utime(old, (1_000_000_000, 1_000_000_000))
    atomic.write(file, b"x")
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(["a.json", fresh.name, other.name])


SAVING = """
import itertools, sys
from pathlib import Path
from benchtool.store import jobfile
from benchtool.job.events import ReadingTaken
from benchtool.job.record import next_number, with_events
path = Path(sys.argv[1])
job = jobfile.load(path).job
while True:
    number = next_number(job)
    job = with_events(job, ReadingTaken(id=f"e{number}", at=job.created, air_degC=20, humidity_percent=50))
    jobfile.save(path, job)
    print(number, flush=True)
"""
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT)}


@posix_only
def test_killed_in_the_middle_of_many_saves_the_file_is_always_whole(path: Path) -> None:
    for kill_after in (1, 2, 5, 11, 24, 50):
        before = len(jobfile.load(path).job.events)
        run = subprocess.Popen([sys.executable, "-c", SAVING, path], stdout=subprocess.PIPE, env=ENVIRONMENT)
        assert run.stdout is not None
        for _ in range(kill_after):
            assert run.stdout.readline() != b""
        run.send_signal(signal.SIGKILL)
        run.stdout.close()
        assert run.wait() == -signal.SIGKILL
        assert len(jobfile.load(path).job.events) >= before + kill_after
        assert all(jobfile.load(version) for version in atomic.versions(path))


DYING = """
import os, signal, sys
from pathlib import Path
from benchtool.store import atomic, jobfile
name, when, nth = sys.argv[2:]
real, calls = getattr(os, name), 0
def call(*given, **named):
    global calls
    calls += 1
    if calls == int(nth) and when == "before":
        os.kill(os.getpid(), signal.SIGKILL)
    done = real(*given, **named)
    if calls == int(nth):
        os.kill(os.getpid(), signal.SIGKILL)
    return done
setattr(os, name, call)
if name == "write":
    os.write = lambda fd, data: call(fd, data[:1000])
atomic.write(Path(sys.argv[1]), b"new" * 1000)
"""


@posix_only
@pytest.mark.parametrize(
    ("call", "when", "nth", "new"),
    [
        ("open", "after", 1, False),
        ("write", "after", 1, False),
        ("fsync", "before", 1, False),
        ("link", "after", 1, False),
        ("replace", "before", 1, False),
        ("replace", "after", 1, True),
        ("fsync", "before", 2, True),
    ],
)
def test_killed_at_each_step_of_a_write_the_file_is_all_old_or_all_new(
    path: Path, call: str, when: str, nth: int, new: bool
) -> None:
    old = path.read_bytes()
    run = subprocess.run([sys.executable, "-c", DYING, path, call, when, str(nth)], env=ENVIRONMENT, check=False)
    assert run.returncode == -signal.SIGKILL
    assert path.read_bytes() == (b"new" * 1000 if new else old)
    atomic.write(path, b"next")
    assert path.read_bytes() == b"next"
    assert old in contents(atomic.versions(path))
    assert len(set(contents(atomic.versions(path)))) == len(atomic.versions(path))
