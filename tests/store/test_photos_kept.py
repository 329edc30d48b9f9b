"""Photos beside a job: kept once, whole, under what they hash to; nothing is written over, nothing leads elsewhere."""

import errno
import hashlib
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from benchtool.store import atomic, photos
from benchtool.store.photos import PhotoFault

JPEG = b"\xff\xd8\xff" + b"photo" * 100
PNG = b"\x89PNG\r\n\x1a\n" + b"mask"
posix_only = pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="rights that bind a user")


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "plate.bench.json"
    path.write_text("{}")
    return path


def lying(job: Path) -> dict[str, bytes]:
    folder = photos.folder_of(job)
    return {p.name: p.read_bytes() for p in folder.iterdir()} if folder.exists() else {}


def test_a_photo_lies_beside_the_job_under_its_hash(job: Path) -> None:
    name = photos.keep(job, JPEG)
    assert name == hashlib.sha256(JPEG).hexdigest() + ".jpg" == photos.name_of(JPEG)
    assert photos.folder_of(job) == job.with_name("plate.bench.json.photos")
    assert lying(job) == {name: JPEG}
    assert photos.read_kept(job, name, photos.sha256_of(JPEG)) == JPEG


def test_the_ending_tells_the_kind_of_picture() -> None:
    ends = [photos.name_of(data)[64:] for data in (JPEG, PNG, b"RIFF\0\0\0\0WEBP", b"what is this")]
    assert ends == [".jpg", ".png", ".webp", ".bin"]


def test_the_same_photo_is_kept_once_and_not_touched_again(job: Path) -> None:
    name = photos.keep(job, JPEG)
    before = (photos.folder_of(job) / name).stat()
    assert photos.keep(job, JPEG) == name
    after = (photos.folder_of(job) / name).stat()
    assert (before.st_ino, before.st_mtime_ns) == (after.st_ino, after.st_mtime_ns)
    photos.keep(job, PNG)
    assert len(lying(job)) == 2


def test_a_damaged_file_is_not_written_over_but_the_photo_is_kept_beside_it(job: Path) -> None:
    name = photos.keep(job, JPEG)
    (photos.folder_of(job) / name).write_bytes(b"damaged")
    other = photos.keep(job, JPEG)
    assert other == name.replace(".jpg", "-1.jpg")
    assert lying(job) == {name: b"damaged", other: JPEG}
    assert photos.keep(job, JPEG) == other
    assert photos.read_kept(job, other, photos.sha256_of(JPEG)) == JPEG
    with pytest.raises(PhotoFault, match="not the photo that was kept there") as fault:
        photos.read_kept(job, name, photos.sha256_of(JPEG))
    assert fault.value.gone


@pytest.mark.skipif(os.name == "nt", reason="links")
def test_a_link_that_stands_in_its_place_is_left_alone(job: Path, tmp_path: Path) -> None:
    photos.folder_of(job).mkdir()
    (photos.folder_of(job) / photos.name_of(JPEG)).symlink_to(tmp_path / "nowhere.jpg")
    assert photos.keep(job, JPEG).endswith("-1.jpg")
    assert not (tmp_path / "nowhere.jpg").exists()


def test_a_full_disk_leaves_nothing_behind(job: Path, full_disk: Any) -> None:
    with full_disk(), pytest.raises(PhotoFault, match="The disk is full"):
        photos.keep(job, JPEG)
    assert sorted(p.name for p in job.parent.iterdir()) == [job.name]
    kept = photos.keep(job, PNG)
    with full_disk(), pytest.raises(PhotoFault, match="The disk is full"):
        photos.keep(job, JPEG)
    assert lying(job) == {kept: PNG}


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.EACCES, "You may not write"),
        (errno.EROFS, "can only be read"),
        (errno.ENOENT, "folder is gone"),
        (errno.EIO, "could not be kept beside the job"),
    ],
)
def test_what_stands_in_the_way_is_told(job: Path, monkeypatch: pytest.MonkeyPatch, number: int, words: str) -> None:
    def broken(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(atomic, "write", broken)
    with pytest.raises(PhotoFault, match=words):
        photos.keep(job, JPEG)
    assert not photos.folder_of(job).exists()


def test_a_file_where_the_folder_would_be_is_left_alone(job: Path) -> None:
    photos.folder_of(job).write_bytes(b"mine")
    with pytest.raises(PhotoFault, match="Something else stands where"):
        photos.keep(job, JPEG)
    assert photos.folder_of(job).read_bytes() == b"mine"


def test_a_job_whose_folder_is_gone(tmp_path: Path) -> None:
    with pytest.raises(PhotoFault, match="folder is gone"):
        photos.keep(tmp_path / "away" / "plate.json", JPEG)


def test_a_photo_that_vanished_is_told_as_gone(job: Path) -> None:
    name = photos.keep(job, JPEG)
    (photos.folder_of(job) / name).unlink()
    with pytest.raises(PhotoFault, match="The photo is gone from beside the job: bring its file back") as fault:
        photos.read_kept(job, name)
    assert fault.value.gone


@pytest.mark.parametrize("name", ["../plate.bench.json", "/etc/hostname", "a.jpg", "", "..", "f" * 64 + ".jpg/../x"])
def test_a_name_in_a_job_file_leads_nowhere_else(job: Path, name: str) -> None:
    photos.keep(job, JPEG)
    with pytest.raises(PhotoFault, match="names no file of ours"):
        photos.read_kept(job, name)


def test_reading_what_is_no_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    cases: list[tuple[Path, str]] = [
        (tmp_path / "gone.jpg", "There is no such file"),
        (tmp_path, "This is a folder"),
        (tmp_path / "a\0b", "No file can have this name"),
    ]
    for path, words in cases:
        with pytest.raises(PhotoFault, match=words):
            photos.read(path)
    (tmp_path / "large.jpg").write_bytes(JPEG)
    assert photos.read(tmp_path / "large.jpg") == JPEG
    monkeypatch.setattr(photos, "LARGEST", 100)
    with pytest.raises(PhotoFault, match="over 0 MB"):
        photos.read(tmp_path / "large.jpg")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.jpg")
    with pytest.raises(PhotoFault, match="no ordinary file"):
        photos.read(tmp_path / "pipe.jpg")


@posix_only
@pytest.mark.parametrize("act", [photos.keep])
def test_a_folder_without_the_right_to_write(job: Path, act: Callable[[Path, bytes], str]) -> None:
    job.parent.chmod(0o500)
    try:
        with pytest.raises(PhotoFault, match="You may not write"):
            act(job, JPEG)
    finally:
        job.parent.chmod(0o700)
