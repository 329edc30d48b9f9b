"""Photos of a piece: kept beside the job, in the record as one act, at the step they show; nothing is lost."""

import errno
import os
import threading
import time
from collections.abc import Iterator
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from builders import CLEAR, COLOUR, START, JobBuilder
from conftest import StillClock
from photo_files import jpeg as plain
from photo_places import PLACE, encoded, jpeg, png, webp

from benchtool.job import events as ev
from benchtool.job.record import last_act
from benchtool.session import photocopying
from benchtool.session.document import NotNow
from benchtool.session.errands import Errands
from benchtool.session.photocopying import Copying
from benchtool.session.photosteps import step_for, steps_of, taken_words
from benchtool.session.piecephotos import Added, PiecePhotos, bytes_of, save_clean, suggested_name, taken_at
from benchtool.session.session import Session
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.store import photos as kept
from benchtool.store.photoclean import cleaned
from benchtool.store.photos import PhotoFault
from benchtool.trade.quantities import Measures

TABLES = load_tables()


def painted() -> JobBuilder:
    """A panel that was washed, then sprayed once at 8:30 and once at 9:00; a second piece lies beside it."""
    job = JobBuilder().card(COLOUR, CLEAR).piece("panel").layer("colour", COLOUR, coats=2)
    job.wait(minutes=10).prep("wash").wait(minutes=5).ready("colour")
    job.at(START + timedelta(minutes=30)).coat("colour", takes=timedelta(minutes=4))
    job.at(START + timedelta(minutes=60)).coat("colour")
    return job.piece("hook").wait(minutes=30)


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[SimpleNamespace]:
    job = painted()
    path = tmp_path / "plate.bench.json"
    jobfile.save(path, job.job)
    clock = StillClock(job.now)
    session = Session(clock, TABLES, Measures())
    session.open(path)
    photos = PiecePhotos(session)
    yield SimpleNamespace(session=session, photos=photos, path=session.current.path, clock=clock, tmp=tmp_path)
    photos.close()
    session.close_all()


def file(desk: Any, name: str, data: bytes) -> Path:
    path: Path = desk.tmp / name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(data)
    return path


def wait(photos: PiecePhotos) -> Added:
    end = time.monotonic() + 20
    while (added := photos.poll()) is None:
        assert time.monotonic() < end, "nothing came"
        time.sleep(0.002)
    return added


def add(desk: Any, *sources: Any, piece: str = "panel", of: str | None = None) -> Added:
    desk.photos.add(piece, sources, of=of)
    return wait(desk.photos)


def shown(desk: Any, piece: str = "panel") -> list[tuple[str, list[str]]]:
    return [(g.words, [p.called for p in g.photos]) for g in desk.photos.groups(piece)]


def at(minutes: float) -> str:
    """A camera's time so long after the job began, by the clock on the wall."""
    return f"{(START + timedelta(minutes=minutes)).astimezone():%Y:%m:%d %H:%M:%S}"


# --- adding -----------------------------------------------------------------------------------------------


def test_a_photo_is_copied_beside_the_job_with_its_hash(desk: Any) -> None:
    data = plain()
    added = add(desk, file(desk, "shot.jpg", data))
    assert added.words == "1 photo added to Panel."
    assert added.lines == ()
    [photo] = desk.session.current.state.pieces["panel"].photos
    assert photo.picture == ev.Picture(name=kept.name_of(data), sha256=kept.sha256_of(data), called="shot.jpg")
    assert (kept.folder_of(desk.path) / photo.picture.name).read_bytes() == data
    assert bytes_of(desk.path, photo.picture) == data
    assert jobfile.load(desk.path).job == desk.session.current.job


def test_many_and_a_folder_are_one_act_and_one_undo(desk: Any) -> None:
    for i in range(3):
        file(desk, f"card/{i}.JPG", plain(i * 9))
    file(desk, "card/._0.jpg", b"of another system")
    file(desk, "card/notes.txt", b"words")
    added = add(desk, desk.tmp / "card", file(desk, "one.png", png()), file(desk, "two.webp", webp()))
    assert added.words == "5 photos added to Panel."
    assert added.lines == ("notes.txt is no photo: left out.",)
    assert len(last_act(desk.session.current.job)) == 5
    desk.session.undo()
    assert shown(desk) == []
    assert len(list(kept.folder_of(desk.path).iterdir())) == 5
    desk.session.redo()
    assert [names for _, names in shown(desk)] == [["0.JPG", "1.JPG", "2.JPG", "one.png", "two.webp"]]


def test_the_same_photo_is_said_and_not_added_twice(desk: Any) -> None:
    one = file(desk, "one.jpg", plain())
    again = file(desk, "again.jpg", plain())
    assert add(desk, one, again).lines == ("again.jpg: it is on this piece already.",)
    second = add(desk, again)
    assert second.words == "No photo is new: they are on Panel already."
    assert len(desk.session.current.state.pieces["panel"].photos) == 1
    assert add(desk, again, piece="hook").words == "1 photo added to Hook."


def test_it_shows_what_was_done_before_it_was_taken(desk: Any) -> None:
    shots = [file(desk, f"{m}.jpg", jpeg(taken=at(m))) for m in (1, 12, 35, 70)]
    add(desk, *shots)
    assert shown(desk) == [
        ("As it came in", ["1.jpg"]),
        ("Wash", ["12.jpg"]),
        ("Base colour, coat 1", ["35.jpg"]),
        ("Base colour, coat 2", ["70.jpg"]),
    ]
    layers = [photo.layer for photo in desk.session.current.state.pieces["panel"].photos]
    assert layers == [None, None, "colour", "colour"]


@pytest.mark.parametrize("minutes", [-600, 60 * 24 * 30])
def test_a_time_outside_of_the_record_is_not_believed(desk: Any, minutes: float) -> None:
    add(desk, file(desk, "odd.jpg", jpeg(taken=at(minutes))), file(desk, "none.png", plain(3)))
    assert shown(desk) == [("Base colour, coat 2", ["odd.jpg", "none.png"])]


def test_a_zone_that_the_camera_wrote_counts() -> None:
    job = painted()
    steps = steps_of(job.job, job.state, "panel")
    east = datetime.fromisoformat("2026-03-02T13:42:00+05:30")
    found = step_for(steps, east, job.job.created, job.now)
    assert found is not None
    assert found.words == "Wash"
    unknown = step_for(steps, datetime(1, 1, 1), job.job.created, job.now)  # noqa: DTZ001 - no clock's year
    assert unknown is steps[-1]
    assert step_for((), east, job.job.created, job.now) is None


def test_a_step_that_was_asked_for_goes_before_the_cameras_time(desk: Any) -> None:
    wash = next(s for s in desk.photos.steps("panel") if s.words == "Wash")
    add(desk, file(desk, "late.jpg", jpeg(taken=at(70))), of=wash.key)
    assert shown(desk) == [("Wash", ["late.jpg"])]


# --- what is no photo, and disks ----------------------------------------------------------------------------


def test_what_is_no_photo_is_named_and_the_others_go_in(desk: Any) -> None:
    added = add(
        desk,
        file(desk, "sheet.pdf", b"%PDF-1.7"),
        file(desk, "phone.heic", b"\0\0\0\x18ftypheic" + bytes(40)),
        file(desk, "empty.jpg", b""),
        file(desk, "cut.jpg", plain()[:-40]),
        desk.tmp / "moved.jpg",
        file(desk, "none/readme.txt", b"words").parent,
    )
    assert added.words == "1 photo added to Panel."
    assert sorted(added.lines) == [
        "cut.jpg: it is damaged or not whole; what is there of it is kept.",
        "empty.jpg: this file is empty.",
        "moved.jpg: there is no such file: look whether the photo was moved, or whether its card was taken out.",
        "none: there are no photos in this folder.",
        "phone.heic: this is a HEIC photo, which can't be shown here: save it as JPEG first.",
        "sheet.pdf: this is no JPEG, PNG or WebP photo.",
    ]


def test_a_large_photo_goes_in_and_one_beyond_reason_does_not(desk: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    data = plain() + bytes(60 * 1024 * 1024)
    assert add(desk, file(desk, "large.jpg", data)).words == "1 photo added to Panel."
    monkeypatch.setattr(kept, "LARGEST", 1024)
    [line] = add(desk, file(desk, "larger.jpg", plain(2) + bytes(2048))).lines
    assert line == "larger.jpg: this file is over 0 MB, and no photo is: choose another file."


def test_a_full_disk_adds_nothing_and_says_so(desk: Any, full_disk: Any) -> None:
    shot = file(desk, "shot.jpg", plain())
    with full_disk():
        added = add(desk, shot)
    assert added.words == "No photo was added."
    [line] = added.lines
    assert line.startswith("shot.jpg: the disk is full, so the photo is not kept beside the job")
    assert shown(desk) == []
    assert add(desk, shot).words == "1 photo added to Panel."


def test_more_than_a_card_full_is_cut_and_said(desk: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photocopying, "MOST", 2)
    added = add(desk, *[file(desk, f"{i}.jpg", plain(i)) for i in range(3)])
    assert added.words == "2 photos added to Panel."
    assert added.lines == ("These are 3 photos: the first 2 are taken.",)


def test_a_job_that_is_only_looked_at_takes_no_photo(desk: Any) -> None:
    desk.session.current.read_only = "Somebody else has it."
    with pytest.raises(NotNow, match="Somebody else"):
        desk.photos.add("panel", [file(desk, "shot.jpg", plain())])


def test_it_goes_on_beside_the_window_and_can_be_stopped(desk: Any) -> None:
    held, begun = threading.Event(), threading.Event()

    def slow() -> bytes:
        begun.set()
        held.wait(20)
        return plain()

    desk.photos.add("panel", [slow, partial(plain, 3)])
    assert begun.wait(20)
    assert desk.photos.poll() is None
    assert desk.photos.progress is not None
    assert desk.photos.progress.words == "Copied 0 of 2 photos."
    with pytest.raises(NotNow, match="just being copied"):
        desk.photos.add("panel", [slow])
    assert desk.photos.cancel() == "Stopped: none of these photos was added."
    held.set()
    assert desk.photos.poll() is None
    assert desk.photos.progress is None
    assert shown(desk) == []


def test_a_piece_taken_back_or_a_job_left_meanwhile_is_said(desk: Any) -> None:
    desk.photos.add("hook", [partial(plain, 1)])
    desk.session.undo()
    assert wait(desk.photos).words == "The photos were not added: their piece was taken back."
    desk.photos.add("panel", [partial(plain, 1)])
    desk.session.close_all()
    assert wait(desk.photos).words == "The photos were not added: their job is no longer open."


# --- photos moved away ---------------------------------------------------------------------------------------


def test_a_photo_moved_away_is_said_and_found_when_it_is_back(desk: Any) -> None:
    add(desk, file(desk, "shot.jpg", plain()))
    picture = desk.photos.groups("panel")[0].photos[0].picture
    there, away = kept.folder_of(desk.path) / picture.name, desk.tmp / "away.jpg"
    there.rename(away)
    gone = bytes_of(desk.path, picture)
    assert isinstance(gone, PhotoFault)
    assert gone.gone
    assert str(gone) == "The photo is gone from beside the job: bring its file back, and it is here again"
    assert add(desk, away).words == "No photo is new: they are on Panel already."
    assert bytes_of(desk.path, picture) == plain()


def test_a_damaged_photo_is_mended_by_adding_it_again(desk: Any) -> None:
    add(desk, file(desk, "shot.jpg", plain()))
    before = desk.photos.groups("panel")[0].photos[0]
    desk.photos.change(before.event, note="the chip at the edge")
    there = kept.folder_of(desk.path) / before.picture.name
    there.write_bytes(b"\xff\xd8\xffdamaged")
    assert isinstance(bytes_of(desk.path, before.picture), PhotoFault)
    add(desk, desk.tmp / "shot.jpg")
    [group] = desk.photos.groups("panel")
    [photo] = group.photos
    assert photo.note == "the chip at the edge"
    assert bytes_of(desk.path, photo.picture) == plain()
    assert there.read_bytes() == b"\xff\xd8\xffdamaged"


# --- moving, noting, taking out ------------------------------------------------------------------------------


def test_a_photo_goes_to_another_step_as_one_act(desk: Any) -> None:
    add(desk, file(desk, "shot.jpg", plain()))
    wash = next(s for s in desk.photos.steps("panel") if s.words == "Wash")
    event = desk.photos.groups("panel")[0].photos[0].event
    moved = desk.photos.change(event, of=wash.key)
    assert shown(desk) == [("Wash", ["shot.jpg"])]
    assert desk.session.current.state.pieces["panel"].photos[0].layer is None
    desk.photos.change(moved, of=None)
    assert shown(desk) == [("Of no step", ["shot.jpg"])]
    desk.session.undo()
    assert shown(desk) == [("Wash", ["shot.jpg"])]
    desk.session.undo()
    assert shown(desk) == [("Base colour, coat 2", ["shot.jpg"])]
    assert jobfile.load(desk.path).job == desk.session.current.job


def test_a_note_stays_with_the_photo(desk: Any) -> None:
    add(desk, file(desk, "shot.jpg", plain()))
    event = desk.photos.groups("panel")[0].photos[0].event
    noted = desk.photos.change(event, note="  <b>the run</b> at the edge ")
    assert desk.photos.groups("panel")[0].photos[0].note == "<b>the run</b> at the edge"
    count = len(desk.session.current.job.events)
    assert desk.photos.change(noted, note="<b>the run</b> at the edge") == noted
    assert len(desk.session.current.job.events) == count
    with pytest.raises(NotNow, match="no longer in the record"):
        desk.photos.change(event, note="to one that is gone")


def test_one_taken_out_of_several_comes_back_by_a_redo(desk: Any) -> None:
    add(desk, *[file(desk, f"{i}.jpg", plain(i)) for i in range(3)])
    first = desk.photos.groups("panel")[0].photos[0].event
    desk.photos.take_out(first)
    assert shown(desk) == [("Base colour, coat 2", ["1.jpg", "2.jpg"])]
    desk.session.redo()
    assert shown(desk) == [("Base colour, coat 2", ["0.jpg", "1.jpg", "2.jpg"])]


def test_a_photo_whose_step_was_taken_back_is_still_shown(desk: Any) -> None:
    add(desk, file(desk, "shot.jpg", plain()), of="e1")
    wash = next(s for s in desk.photos.steps("panel") if s.words == "Wash")
    desk.photos.change(desk.photos.groups("panel")[0].photos[0].event, of=wash.key)
    desk.session.apply(partial(ev.Withdrawn, events=wash.ids))
    assert shown(desk) == [("Of no step", ["shot.jpg"])]


def test_photos_of_grades_stand_with_their_strips_and_with_the_piece_they_are_for(tmp_path: Path) -> None:
    job = JobBuilder().card(COLOUR).piece("panel").plan_trial({"Bare": [COLOUR], "None": []}, piece="panel")
    photo = ev.Photo(name="a" * 64 + ".jpg", sha256="a" * 64)
    job.add(ev.Graded, trial="t1", strip="t1-1", method=ev.Method.ISO_2409, grade="2", photo=photo)
    path = tmp_path / "job.json"
    jobfile.save(path, job.job)
    session = Session(StillClock(job.now), TABLES, Measures())
    session.open(path)
    photos = PiecePhotos(session)
    for piece, words in (("t1-1", "Cross-cut, ISO 2409"), ("panel", "Cross-cut, ISO 2409, on Strip 1")):
        [group] = photos.groups(piece)
        assert group.words == words
        assert [(p.grade, p.called) for p in group.photos] == [("2", "Cross-cut")]
    assert photos.groups("t1-2") == ()
    steps = photos.steps("panel")
    found = step_for(steps, None, job.job.created, job.now)
    assert found is not None
    assert found.words == "As it came in"
    session.close_all()


# --- giving a photo away -------------------------------------------------------------------------------------


def picture_of(desk: Any, data: bytes, name: str = "shot.jpg") -> ev.Picture:
    add(desk, file(desk, name, data))
    found: ev.Picture = desk.photos.groups("panel")[-1].photos[-1].picture
    return found


def test_what_is_saved_says_nothing_of_the_place(desk: Any) -> None:
    picture = picture_of(desk, jpeg(6))
    target = desk.tmp / suggested_name(picture)
    assert target.name == "shot without place.jpg"
    words = save_clean(desk.path, picture, target)
    assert words == "Saved as shot without place.jpg, without place, owner and camera."
    assert target.read_bytes() == cleaned(jpeg(6))
    assert PLACE not in target.read_bytes()
    assert bytes_of(desk.path, picture) == jpeg(6)
    assert save_clean(desk.path, picture, target).startswith("Saved as")


def test_nothing_else_is_written_over(desk: Any) -> None:
    picture = picture_of(desk, jpeg())
    original = desk.tmp / "shot.jpg"
    assert save_clean(desk.path, picture, original).startswith("Not saved. This file holds something else")
    beside = kept.folder_of(desk.path) / "copy.jpg"
    assert save_clean(desk.path, picture, beside).startswith("Not saved. The photos of this job lie here")
    assert original.read_bytes() == jpeg()
    assert not beside.exists()


def test_a_copy_is_whole_or_not_there(desk: Any, full_disk: Any) -> None:
    picture = picture_of(desk, jpeg())
    with full_disk():
        assert save_clean(desk.path, picture, desk.tmp / "out.jpg").startswith("Not saved. The disk is full")
    assert [p.name for p in desk.tmp.iterdir() if "out" in p.name] == []


def test_a_damaged_one_is_drawn_anew_or_stays_here(desk: Any) -> None:
    picture = picture_of(desk, jpeg()[:-200])
    target = desk.tmp / "out.jpg"
    assert "it is left out" in save_clean(desk.path, picture, target)
    assert "it is left out" in save_clean(desk.path, picture, target, lambda _: b"")
    assert not target.exists()
    assert save_clean(desk.path, picture, target, lambda _: encoded(".jpg")).startswith("Saved as")
    assert target.read_bytes() == encoded(".jpg")


def test_one_that_is_gone_is_said(desk: Any) -> None:
    picture = picture_of(desk, jpeg())
    (kept.folder_of(desk.path) / picture.name).unlink()
    assert save_clean(desk.path, picture, desk.tmp / "out.jpg").startswith("Not saved. The photo is gone")


# --- the thread beside the window ------------------------------------------------------------------------------


def test_errands_are_done_in_order_and_told_in_the_thread_that_asks() -> None:
    told = threading.Event()
    errands = Errands(told.set, "test")
    found: list[tuple[int, bool]] = []
    me = threading.current_thread()
    for i in range(3):
        errands.ask(lambda i=i: i * 10, lambda value: found.append((value, threading.current_thread() is me)))  # type: ignore[misc]
    end = time.monotonic() + 20
    while len(found) < 3 and time.monotonic() < end:
        told.wait(0.01)
        errands.poll()
    assert found == [(0, True), (10, True), (20, True)]
    errands.close()


def test_what_is_let_go_is_not_told() -> None:
    held, begun = threading.Event(), threading.Event()
    errands = Errands(lambda: None, "test")
    found: list[object] = []

    def slow() -> int:
        begun.set()
        held.wait(20)
        return 1

    errands.ask(slow, found.append)
    errands.ask(lambda: 2, found.append)
    assert begun.wait(20)
    errands.clear()
    held.set()
    errands.close()
    errands.poll()
    assert found == []


def test_a_thread_that_dies_of_something_odd_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def odd(*_: object) -> None:
        raise RuntimeError

    monkeypatch.setattr(photocopying, "copy_one", odd)
    copying = Copying(tmp_path / "job.json", [partial(plain, 1)], lambda: None)
    copying.start()
    end = time.monotonic() + 20
    while not copying.over and time.monotonic() < end:
        copying.poll()
        time.sleep(0.002)
    assert [r.words for r in copying.refused] == ["The photos could not be copied (RuntimeError)."]


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="rights that bind a user")
def test_a_folder_that_may_not_be_read_is_said(desk: Any) -> None:
    shut = desk.tmp / "shut"
    shut.mkdir(mode=0)
    [line] = add(desk, shut).lines
    assert line == f"shut: this folder can't be read ({os.strerror(errno.EACCES)})."


def test_a_photo_says_when_it_was_taken(desk: Any) -> None:
    taken = taken_at(jpeg(taken=at(12)))
    assert taken is not None
    assert taken_words(taken, taken + timedelta(days=3)) == f"2 Mar {taken.astimezone():%H:%M}"
    assert taken_words(taken, taken + timedelta(days=400)) == f"2 Mar 2026 {taken.astimezone():%H:%M}"
    assert taken_at(plain()) is None
    assert taken_at(b"words") is None
