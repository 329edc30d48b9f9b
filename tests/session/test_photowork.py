"""The worker behind a photo: what it is asked for last wins, what goes wrong is one sentence, nothing is lost."""

import builtins
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from photo_files import exif, jpeg, png_of

from benchtool.job import events as ev
from benchtool.session import photos as session_photos
from benchtool.session.photos import INSTALL, Doing, PhotoWork
from benchtool.store import photos as kept
from benchtool.trade import crosscut
from benchtool.trade.crosscut import Grid, Measured

CORNERS = ((0.2, 0.2), (0.8, 0.2), (0.8, 0.8), (0.2, 0.8))


def result(grid: Grid, percent: float = 12.0) -> Measured:
    mask = np.zeros((60, 60), bool)
    mask[:10, :10] = True
    return Measured(grid, percent, 2.0, mask, np.zeros((60, 60, 3), np.uint8), np.ones((60, 60), bool), "")


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "plate.bench.json"
    path.write_text("{}")
    return path


@pytest.fixture
def work(monkeypatch: pytest.MonkeyPatch) -> Iterator[PhotoWork]:
    """A work whose measuring is a stand-in: these tests are about who does what when."""
    monkeypatch.setattr(crosscut, "find_grid", lambda _photo, cuts: Grid(CORNERS, cuts))
    monkeypatch.setattr(crosscut, "measure", lambda _photo, grid: result(grid))
    made = PhotoWork()
    yield made
    made.close()


def wait(work: PhotoWork) -> None:
    end = time.monotonic() + 20
    while not work.poll():
        assert time.monotonic() < end, "the worker said nothing"
        time.sleep(0.002)


def opened(work: PhotoWork, job: Path | None, data: bytes | None = None) -> PhotoWork:
    found = data if data is not None else jpeg()
    work.open(lambda: found, job, 6)
    wait(work)
    return work


def test_a_photo_goes_all_the_way_into_the_record(work: PhotoWork, job: Path, tmp_path: Path) -> None:
    (tmp_path / "shot.jpg").write_bytes(jpeg())
    work.open(tmp_path / "shot.jpg", job, 11)
    assert work.doing is Doing.OPENING
    assert work.doing.words
    wait(work)
    assert work.doing is Doing.NOTHING
    assert work.grid == Grid(CORNERS, 11)
    work.measure(work.grid)
    wait(work)
    assert work.measured is not None
    mask = work.measured.mask.copy()
    mask[30:40, 30:40] = True
    work.recount(mask)
    wait(work)
    assert work.counted is not None
    assert work.counted.removed_percent == pytest.approx(100 * 200 / 3600)
    work.take(mask, corrected=True)
    wait(work)
    taken = work.taken
    assert taken is not None
    assert taken.unkept == ""
    photo = taken.photo
    assert (photo.cuts, photo.corners, photo.corrected) == (11, CORNERS, True)
    assert kept.read_kept(job, photo.name, photo.sha256) == jpeg()
    assert np.array_equal(crosscut.mask_from(kept.read_kept(job, photo.mask)), mask)


def test_taken_up_again_it_is_as_it_was_left(work: PhotoWork, job: Path) -> None:
    opened(work, job)
    work.measure(Grid(CORNERS, 6))
    wait(work)
    assert work.measured is not None
    mask = np.zeros_like(work.measured.mask)
    mask[:30] = True
    work.take(mask, corrected=True)
    wait(work)
    assert work.taken is not None
    photo = work.taken.photo
    again = PhotoWork()
    again.again(job, photo)
    wait(again)
    assert again.trouble == ""
    assert again.grid == Grid(CORNERS, 6)
    assert again.counted is not None
    assert np.array_equal(again.counted.mask, mask)
    assert again.counted.removed_percent == pytest.approx(50)
    again.close()


def test_a_photo_that_vanished_is_told_and_nothing_else_happens(work: PhotoWork, job: Path) -> None:
    photo = ev.Photo(name=kept.name_of(jpeg()), sha256=kept.sha256_of(jpeg()), corners=CORNERS)
    work.again(job, photo)
    wait(work)
    assert work.gone
    assert work.trouble.startswith("The photo is gone from beside the job: bring its file back")
    assert work.shot is None


def test_a_mask_that_vanished_leaves_what_was_measured(work: PhotoWork, job: Path) -> None:
    name = kept.keep(job, jpeg())
    photo = ev.Photo(name=name, sha256=kept.sha256_of(jpeg()), corners=CORNERS, mask="f" * 64 + ".png", corrected=True)
    work.again(job, photo)
    wait(work)
    assert "corrected by hand is gone" in work.trouble
    assert work.counted is work.measured is not None


def test_the_newest_wins(work: PhotoWork, job: Path) -> None:
    gate, begun = threading.Event(), threading.Event()

    def slow() -> bytes:
        begun.set()
        gate.wait(20)
        return jpeg(10)

    work.open(slow, job, 6)
    assert begun.wait(20)
    work.open(lambda: jpeg(100), job, 6)
    work.open(lambda: jpeg(200), job, 6)
    gate.set()
    wait(work)
    assert work.shot is not None
    assert work.shot.sha256 == kept.sha256_of(jpeg(200))
    time.sleep(0.05)
    assert not work.poll()
    assert [p.name for p in kept.folder_of(job).iterdir()] == [kept.name_of(jpeg(200))]


def test_what_was_cancelled_does_not_come(work: PhotoWork, job: Path) -> None:
    opened(work, job)
    before = work.shot
    gate = threading.Event()
    work.open(lambda: (gate.wait(20), jpeg(10))[1], job, 6)
    work.cancel()
    assert work.doing is Doing.NOTHING
    gate.set()
    time.sleep(0.1)
    assert not work.poll()
    assert work.shot is before


def test_a_measurement_that_was_stopped_half_way_does_not_come(
    work: PhotoWork, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened(work, job)
    gate, begun = threading.Event(), threading.Event()

    def slow(_photo: object, grid: Grid) -> Measured:
        begun.set()
        gate.wait(20)
        return result(grid, 99.0)

    monkeypatch.setattr(crosscut, "measure", slow)
    work.measure(Grid(CORNERS, 6))
    assert begun.wait(20)
    work.cancel()
    gate.set()
    time.sleep(0.1)
    assert not work.poll()
    assert work.measured is None


def test_nobody_is_told_after_the_close(job: Path) -> None:
    told: list[int] = []
    gate = threading.Event()
    work = PhotoWork(lambda: told.append(1))
    work.open(lambda: (gate.wait(20), jpeg())[1], job, 6)
    threading.Timer(0.05, gate.set).start()
    work.close()
    assert told == []
    work.open(jpeg, job, 6)
    assert not work.poll()


def test_a_teller_that_is_gone_does_not_stop_the_worker(job: Path) -> None:
    def broken() -> None:
        raise RuntimeError("deleted")

    work = PhotoWork(broken)
    opened(work, job)
    opened(work, job, jpeg(20))
    work.close()


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"Dear diary, today the paint came off.\n", "This is not a photo"),
        (b"", "This file is empty"),
        (png_of(20_000, 10_000), "200 megapixels"),
        (jpeg()[: len(jpeg()) // 2], "broken off"),
        (b"\0\0\0\x18ftypheic" + b"\0" * 40, "HEIC"),
    ],
)
def test_what_is_no_photo_is_refused_and_not_kept(work: PhotoWork, job: Path, data: bytes, words: str) -> None:
    before = opened(work, job).shot
    opened(work, job, data)
    assert words in work.trouble
    assert work.trouble.endswith(".")
    assert work.shot is before
    assert len(list(kept.folder_of(job).iterdir())) == 1


@pytest.mark.parametrize(
    ("orientation", "upright"),
    [(1, (320, 240)), (6, (240, 320)), (0, (320, 240)), (42, (320, 240)), (65_535, (320, 240))],
)
def test_wrong_rotation_data_leaves_a_photo_as_it_lies(
    work: PhotoWork, job: Path, orientation: int, upright: tuple[int, int]
) -> None:
    shot = opened(work, job, exif(orientation)).shot
    assert work.trouble == ""
    assert shot is not None
    assert (shot.photo.width, shot.photo.height) == upright


def test_a_full_disk_does_not_stop_the_measuring(work: PhotoWork, job: Path, full_disk: Any) -> None:
    with full_disk():
        opened(work, job)
        assert work.shot is not None
        assert work.shot.unkept.startswith("The disk is full")
        work.measure(Grid(CORNERS, 6))
        wait(work)
        assert work.measured is not None
        work.take(work.measured.mask, corrected=False)
        wait(work)
        assert work.taken is not None
        assert work.taken.unkept.startswith("The disk is full")
        assert work.taken.photo.name == kept.name_of(jpeg())
        assert work.taken.photo.mask == ""
    work.take(work.measured.mask, corrected=False)
    wait(work)
    assert work.taken.unkept == ""
    assert kept.read_kept(job, work.taken.photo.name) == jpeg()


def test_a_job_that_is_only_looked_at_gets_no_files(work: PhotoWork, job: Path) -> None:
    opened(work, None)
    work.measure(Grid(CORNERS, 6))
    wait(work)
    assert work.measured is not None
    work.take(work.measured.mask, corrected=False)
    wait(work)
    assert work.taken is not None
    assert not kept.folder_of(job).exists()


def test_without_the_libraries_one_sentence_says_what_installs_them(
    work: PhotoWork, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = builtins.__import__

    def without(name: str, *more: Any, **named: Any) -> Any:
        if name.partition(".")[0] == "cv2":
            raise ImportError(name)
        return real(name, *more, **named)

    with monkeypatch.context() as gone:
        gone.setattr(builtins, "__import__", without)
        gone.delitem(sys.modules, "cv2")
        opened(work, job)
    assert INSTALL in work.trouble
    assert "not installed" in work.trouble


@pytest.mark.parametrize(
    ("fault", "words"), [(MemoryError(), "not enough memory"), (ZeroDivisionError(), "could not be")]
)
def test_a_slip_becomes_a_sentence(
    work: PhotoWork, job: Path, monkeypatch: pytest.MonkeyPatch, fault: Exception, words: str
) -> None:
    def slip(*_: object) -> None:
        raise fault

    opened(work, job)
    monkeypatch.setattr(crosscut, "measure", slip)
    work.measure(Grid(CORNERS, 6))
    wait(work)
    assert words in work.trouble
    assert work.shot is not None


def test_the_look_of_each_doing() -> None:
    assert all(doing.words.endswith("…") for doing in Doing if doing)
    assert Doing.NOTHING.words == ""


def test_importing_it_loads_neither_library() -> None:
    import subprocess

    code = "import sys, benchtool.session.photos, benchtool.session.photohand; print({'cv2', 'numpy'} & {*sys.modules})"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "set()"
    assert session_photos.PREVIEW > 1_000
