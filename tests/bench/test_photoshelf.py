"""The page of photos: dropped, shown by step, looked at large, noted, moved, taken out, given away."""

import threading
import time
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import cv2
import numpy as np
import pytest
from builders import COLOUR, JobBuilder
from conftest import StillClock
from photo_places import PLACE, jpeg
from PySide6.QtCore import QEvent, QMimeData, QPoint, QPointF, QSize, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QGuiApplication, QImage, QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QWidget

from benchtool.bench import photoshelfpreviews
from benchtool.bench.look import TARGET, Look
from benchtool.bench.photoshelf import PhotoShelf
from benchtool.bench.photoshelfpreviews import decoded, redrawn
from benchtool.job import events as ev
from benchtool.session.session import Session
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.store import photos as kept
from benchtool.store.photoclean import cleaned, look
from benchtool.trade.quantities import Measures

pytestmark = pytest.mark.qt_log_ignore("propagateSizeHints")  # the screen that is not there says so of every window
TABLES = load_tables()
GONE = "The photo is gone from beside the job: bring its file back, and it is here again."
CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier


def plain(shade: int) -> bytes:
    ok, data = cv2.imencode(".jpg", np.full((240, 320, 3), shade, np.uint8))
    assert ok
    return data.tobytes()


@pytest.fixture
def desk(qtbot: Any, tmp_path: Path) -> Iterator[SimpleNamespace]:
    job = JobBuilder().card(COLOUR).piece("panel").layer("colour", COLOUR, coats=2).wait(minutes=5).prep("wash")
    job.wait(minutes=5).ready("colour").coat("colour").piece("hook").wait(minutes=30)
    path = tmp_path / "plate.bench.json"
    jobfile.save(path, job.job)
    session = Session(StillClock(job.now), TABLES, Measures())
    session.open(path)
    session.pick("panel")
    page = PhotoShelf(Look(), session)
    qtbot.addWidget(page)
    page.resize(1280, 560)
    page.show()
    page.activateWindow()
    page.ask()
    said: list[str] = []
    page.said.connect(said.append)
    yield SimpleNamespace(page=page, session=session, path=session.current.path, tmp=tmp_path, said=said, bot=qtbot)
    page.close()
    page.photos.close()
    page.one.errands.close()
    page.previews.close()
    session.close_all()


def until(what: Callable[[], object]) -> None:
    end = time.monotonic() + 30
    while not what():
        assert time.monotonic() < end, "it never came"
        QApplication.processEvents()
        time.sleep(0.002)


def file(desk: Any, name: str, data: bytes) -> Path:
    path: Path = desk.tmp / name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(data)
    return path


def give(desk: Any, *sources: Any) -> None:
    desk.page.take_drop(list(sources))
    until(lambda: desk.page.photos.progress is None)


def three(desk: Any) -> PhotoShelf:
    give(desk, *[file(desk, f"{n}.jpg", plain(40 * i)) for i, n in enumerate(("one", "two", "three"))])
    page: PhotoShelf = desk.page
    return page


def press(key: Qt.Key, mods: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
    here = QApplication.focusWidget()
    assert here is not None
    QTest.keyClick(here, key, mods)


def name(page: PhotoShelf) -> str:
    shown = page._shown()
    return shown.called if shown is not None else ""


# --- coming --------------------------------------------------------------------------------------------------


def test_an_empty_shelf_says_how_photos_come(desk: Any) -> None:
    page = desk.page
    assert page.views.currentWidget() is page.empty
    assert page.empty.accessibleName().startswith("Drop photos here One or many, or a whole folder.")
    assert page.buttons["choose"].primary
    assert page.side.isHidden()
    assert page.title.text() == "Photos of Panel"


def test_files_dropped_anywhere_go_to_the_piece_in_hand(desk: Any) -> None:
    page, mime = desk.page, QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(file(desk, f"{n}.jpg", plain(n)))) for n in (1, 2)])
    enter = QDragEnterEvent(
        QPoint(9, 9), Qt.DropAction.CopyAction, mime, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    )
    page.dragEnterEvent(enter)
    assert enter.isAccepted()
    assert page.held_over
    drop = QDropEvent(
        QPointF(9, 9), Qt.DropAction.CopyAction, mime, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    )
    page.dropEvent(drop)
    assert not page.held_over
    until(lambda: page.photos.progress is None)
    assert desk.said == ["2 photos added to Panel."]
    assert [g.words for g in page.groups] == ["Base colour, coat 1"]
    assert page.views.currentWidget() is page.area
    assert page.about.text() == "2 photos, kept beside the job."
    assert page.side.steps.value == page.groups[0].step.key


def test_what_is_no_photo_is_not_taken_hold_of(desk: Any) -> None:
    mime = QMimeData()
    mime.setUrls([QUrl("https://example.org/far.jpg")])
    enter = QDragEnterEvent(
        QPoint(9, 9), Qt.DropAction.CopyAction, mime, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    )
    desk.page.dragEnterEvent(enter)
    assert not desk.page.held_over
    assert desk.page.photos.progress is None


def test_a_picture_from_the_clipboard_is_taken(desk: Any) -> None:
    image = QImage(40, 30, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.darkGreen)
    QGuiApplication.clipboard().setImage(image)
    press(Qt.Key.Key_V, CTRL)
    until(lambda: desk.page.photos.progress is None)
    assert [p.called for p in desk.page.groups[0].photos] == ["A photo without a name"]
    QGuiApplication.clipboard().clear()
    press(Qt.Key.Key_V, CTRL)
    assert desk.said[-1] == "There is no photo on the clipboard: copy one first."


def test_files_and_folders_are_asked_for_by_key(desk: Any) -> None:
    page = desk.page
    press(Qt.Key.Key_O)
    assert page.files.dialog.objectName() == "photos-dialog"
    page.files.dialog.filesSelected.emit([str(file(desk, "chosen.jpg", plain(3)))])
    page.files.dialog.close()
    until(lambda: page.photos.progress is None)
    QTest.keyClick(page, Qt.Key.Key_O, SHIFT)
    assert page.files.dialog.objectName() == "photos-folder-dialog"
    page.files.dialog.filesSelected.emit([str(file(desk, "card/more.jpg", plain(4)).parent)])
    page.files.dialog.close()
    until(lambda: page.photos.progress is None)
    assert [p.called for p in page.groups[0].photos] == ["chosen.jpg", "more.jpg"]


def test_what_could_not_be_added_stays_in_sight_until_it_was_seen(desk: Any) -> None:
    page = desk.page
    give(desk, *[file(desk, f"{i}.pdf", b"%PDF") for i in range(6)])
    assert page.news.lines.text().splitlines() == [
        *[f"{i}.pdf: this is no JPEG, PNG or WebP photo." for i in range(4)],
        "… and 2 more.",
    ]
    assert page.news.lines.textFormat() is Qt.TextFormat.PlainText
    page.news.ok.click()
    assert page.news.isHidden()


def test_the_copying_shows_how_far_it_is_and_esc_stops_it(desk: Any) -> None:
    held = threading.Event()

    def slow() -> bytes:
        held.wait(20)
        return plain(9)

    page, left = desk.page, []
    page.left.connect(lambda: left.append(1))
    page.take_drop([slow, slow])
    until(lambda: page.news.progress.text() == "Copied 0 of 2 photos.")
    assert page.news.stop.isVisible()
    press(Qt.Key.Key_Escape)
    held.set()
    assert page.news.isHidden()
    assert desk.said == ["Stopped: none of these photos was added."]
    assert not left
    press(Qt.Key.Key_Escape)
    assert left


def test_a_job_that_is_only_looked_at_takes_none_and_says_why(desk: Any) -> None:
    page = three(desk)
    desk.session.current.read_only = "It is open in another window."
    page.ask()
    page.take_drop([file(desk, "four.jpg", plain(200))])
    assert desk.said[-1] == "It is open in another window."
    assert page.about.text().endswith("It is open in another window.")
    assert not page.buttons["choose"].isEnabled()
    assert page.side.steps.isHidden()
    assert page.side.buttons["save"].isEnabled()


# --- pictures are made beside the window ---------------------------------------------------------------------


def test_small_pictures_are_made_in_other_threads_and_kept(desk: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    threads: list[threading.Thread] = []
    real = photoshelfpreviews.decoded

    def watched(data: bytes, box: QSize) -> QImage | None:
        threads.append(threading.current_thread())
        return real(data, box)

    monkeypatch.setattr(photoshelfpreviews, "decoded", watched)
    page = three(desk)
    page.grab()
    until(lambda: len(page.previews._made) == 3)
    assert len(threads) == 3
    assert threading.main_thread() not in threads
    page.grab()
    page.ask()
    assert not page.previews.busy
    assert len(threads) == 3


def test_so_much_is_kept_and_no_more(desk: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photoshelfpreviews, "MOST_BYTES", 300_000)
    page = three(desk)
    for group in page.groups:
        for shown in group.photos:
            page.previews.get(shown, 256)
            until(lambda: not page.previews.busy)
    assert 0 < page.previews._held <= 300_000
    assert sum(i.sizeInBytes() for i in page.previews._made.values()) == page.previews._held


@pytest.mark.parametrize(("orientation", "size"), [(1, (48, 32)), (6, (32, 48)), (8, (32, 48))])
def test_a_picture_is_upright_and_fits(orientation: int, size: tuple[int, int]) -> None:
    image = decoded(jpeg(orientation), QSize(400, 400))
    assert image is not None
    assert (image.width(), image.height()) == size
    small = decoded(jpeg(orientation), QSize(24, 24))
    assert small is not None
    assert max(small.width(), small.height()) == 24
    assert (small.width() > small.height()) == (size[0] > size[1])
    assert decoded(b"no photo", QSize(24, 24)) is None


def test_what_is_drawn_anew_holds_the_picture_alone() -> None:
    made = redrawn(jpeg(6)[:-40])
    assert PLACE not in made
    assert not look(made).exif.place
    assert cv2.imdecode(np.frombuffer(made, np.uint8), cv2.IMREAD_COLOR).shape == (48, 32, 3)
    assert redrawn(b"nothing") == b""


def test_a_photo_moved_away_is_said_and_comes_back(desk: Any) -> None:
    page = three(desk)
    page.grab()
    until(lambda: not page.previews.busy)
    shown = page._shown()
    assert shown is not None
    there, away = kept.folder_of(desk.path) / shown.picture.name, desk.tmp / "away.jpg"
    there.rename(away)
    page.previews._made.clear()
    page.grab()
    until(lambda: page.previews.troubles)
    assert page.side.trouble.text() == GONE
    assert page.grid.tiles[shown.event].accessibleName().startswith("one.jpg. The photo is gone")
    assert not page.side.buttons["copy"].isEnabled()
    page.grab()
    away.rename(there)
    page.refresh(desk.session.now())
    page.grab()
    until(lambda: not page.previews.busy and not page.previews.troubles)
    assert page.side.trouble.isHidden()
    assert page.side.buttons["copy"].isEnabled()


def test_another_job_shows_its_own_photos(desk: Any) -> None:
    page = three(desk)
    other = desk.tmp / "other.bench.json"
    jobfile.save(other, JobBuilder().card(COLOUR).piece("panel").job)
    desk.session.open(other)
    page.refresh(desk.session.now())
    assert page.grid.tiles == {}
    assert page.views.currentWidget() is page.empty


# --- one photo -----------------------------------------------------------------------------------------------


def test_the_keys_go_through_the_photos_and_show_one_large(desk: Any) -> None:
    page = three(desk)
    assert name(page) == "one.jpg"
    press(Qt.Key.Key_Right)
    assert name(page) == "two.jpg"
    press(Qt.Key.Key_Return)
    assert page.views.currentWidget() is page.big
    press(Qt.Key.Key_Right)
    assert name(page) == "three.jpg"
    assert not page.big.later.isEnabled()
    press(Qt.Key.Key_Space)
    assert page.views.currentWidget() is page.area
    assert QApplication.focusWidget() is page.grid.tiles[page.picked or ""]
    press(Qt.Key.Key_Home)
    assert name(page) == "one.jpg"
    press(Qt.Key.Key_Return)
    press(Qt.Key.Key_Escape)
    assert page.views.currentWidget() is page.area


def test_up_and_down_go_by_rows_of_the_grid(desk: Any) -> None:
    page = three(desk)
    page.resize(820, 560)
    QApplication.processEvents()
    assert [len(row) for row in page.grid._rows] == [2, 1]
    press(Qt.Key.Key_Right)
    press(Qt.Key.Key_Down)
    assert name(page) == "three.jpg"
    press(Qt.Key.Key_Up)
    assert name(page) == "one.jpg"
    press(Qt.Key.Key_Up)
    assert name(page) == "one.jpg"


def test_groups_stand_beside_each_other_and_never_over_each_other(desk: Any) -> None:
    page = three(desk)
    wash = next(s for s in page.photos.steps("panel") if s.words == "Wash")
    page.one.move(page.picked or "", wash.key, "Wash")
    assert desk.said[-1] == "Put to “Wash”."
    for width in (500, 700, 820, 1000, 1280, 1900):
        page.resize(width, 560)
        QApplication.processEvents()
        boxes = [tile.geometry() for tile in page.grid.tiles.values()]
        boxes += [words.geometry() for head in page.grid._heads[: len(page.groups)] for words in head]
        for i, box in enumerate(boxes):
            assert not any(box.intersects(other) for other in boxes[:i]), width
            assert box.bottom() <= page.grid.height()
        order = [page.grid.tiles[e].geometry() for e in page.grid.order]
        assert all((a.y(), a.x()) < (b.y(), b.x()) for a, b in pairwise(order))


def test_a_note_is_kept_by_enter_and_by_going_on(desk: Any) -> None:
    page = three(desk)
    page.side.note.edit.setFocus()
    QTest.keyClicks(page.side.note.edit, "runs at the edge")
    press(Qt.Key.Key_Return)
    assert desk.said[-1] == "Noted with the photo."
    assert name(page) == "one.jpg"
    assert page.grid.tiles[page.picked or ""].accessibleName() == "one.jpg. runs at the edge"
    page.side.note.edit.setFocus()
    QTest.keyClicks(page.side.note.edit, ", sanded")
    page.pick(page.grid.order[1])
    notes = [p.note for p in page.groups[0].photos]
    assert notes == ["runs at the edge, sanded", "", ""]
    assert [p.called for p in page.groups[0].photos] == ["one.jpg", "two.jpg", "three.jpg"]


def test_what_is_typed_is_no_key_of_the_page(desk: Any) -> None:
    page = three(desk)
    page.side.note.edit.setFocus()
    QTest.keyClicks(page.side.note.edit, "Of us")
    assert page.side.note.text() == "Of us"
    assert page.files.dialog is None


def test_the_keys_of_spraying_stay_those_of_the_bench(desk: Any) -> None:
    page = three(desk)
    for key, mine in ((Qt.Key.Key_S, False), (Qt.Key.Key_D, False), (Qt.Key.Key_O, True), (Qt.Key.Key_U, True)):
        event = QKeyEvent(QEvent.Type.ShortcutOverride, key, Qt.KeyboardModifier.NoModifier)
        event.ignore()
        page.event(event)
        assert event.isAccepted() == mine, key


def test_enter_in_the_list_puts_the_photo_to_another_step(desk: Any) -> None:
    page = three(desk)
    page.side.steps.take_focus()
    press(Qt.Key.Key_Home)
    press(Qt.Key.Key_Down)
    assert [g.words for g in page.groups] == ["Base colour, coat 1"]
    press(Qt.Key.Key_Return)
    assert [(g.words, len(g.photos)) for g in page.groups] == [("Wash", 1), ("Base colour, coat 1", 2)]
    assert name(page) == "one.jpg"
    desk.page.take_focus()
    press(Qt.Key.Key_U)
    assert [(g.words, len(g.photos)) for g in page.groups] == [("Base colour, coat 1", 3)]


def test_the_focus_stays_with_a_photo_that_was_moved_and_noted(desk: Any) -> None:
    """Else the next key would be typed into the note."""
    page = three(desk)
    page.take_focus()
    tile = QApplication.focusWidget()
    page.one.move(page.picked or "", None, "No step")
    page.one.note(page.picked or "", "seen")
    assert QApplication.focusWidget() is tile
    assert tile is page.grid.tiles[page.picked or ""]
    desk.session.undo()
    desk.session.undo()
    desk.session.undo()
    page.refresh(desk.session.now())
    assert QApplication.focusWidget() is page


def test_one_taken_out_can_be_brought_back(desk: Any) -> None:
    page = three(desk)
    press(Qt.Key.Key_Delete)
    assert desk.said[-1].startswith("Taken out; its file stays beside the job.")
    assert name(page) == "two.jpg"
    assert len(list(kept.folder_of(desk.path).iterdir())) == 3
    press(Qt.Key.Key_Z, CTRL | SHIFT)
    assert [p.called for p in page.groups[0].photos] == ["one.jpg", "two.jpg", "three.jpg"]
    press(Qt.Key.Key_Delete)
    press(Qt.Key.Key_U)
    assert desk.said[-1] == "The photo is back."
    assert [p.called for p in page.groups[0].photos] == ["one.jpg", "two.jpg", "three.jpg"]
    for _ in range(3):
        page.take_out()
    assert page.views.currentWidget() is page.empty


def test_a_photo_of_a_grade_is_shown_and_left_alone(desk: Any) -> None:
    page = desk.page
    job = JobBuilder().card(COLOUR).piece("panel").plan_trial({"Bare": [COLOUR], "None": []}, piece="panel")
    photo = ev.Photo(name="a" * 64 + ".jpg", sha256="a" * 64)
    job.add(ev.Graded, trial="t1", strip="t1-1", method=ev.Method.ISO_2409, grade="2", photo=photo)
    path = desk.tmp / "graded.bench.json"
    jobfile.save(path, job.job)
    desk.session.open(path)
    page.ask("panel")
    assert page.side.facts.text() == "Grade 2."
    assert page.side.buttons["out"].isHidden()
    assert page.side.steps.isHidden()
    assert page.side.held.text() == "A grade was measured from it: it goes with that grade."
    count = len(desk.session.current.job.events)
    page.take_out()
    assert len(desk.session.current.job.events) == count


def test_a_copy_is_saved_without_its_place(desk: Any) -> None:
    page = desk.page
    give(desk, file(desk, "shot.jpg", jpeg(6)))
    press(Qt.Key.Key_S, CTRL)
    dialog = page.files.dialog
    assert dialog.objectName() == "photo-save-dialog"
    target = desk.tmp / "out.jpg"
    dialog.fileSelected.emit(str(target))
    dialog.close()
    until(lambda: desk.said[-1].startswith("Saved as out.jpg"))
    assert target.read_bytes() == cleaned(jpeg(6))


def test_the_picture_goes_to_the_clipboard(desk: Any) -> None:
    give(desk, file(desk, "shot.jpg", jpeg(6)))
    press(Qt.Key.Key_C, CTRL)
    until(lambda: desk.said[-1] == "The picture is on the clipboard, without its place.")
    image = QGuiApplication.clipboard().image()
    assert (image.width(), image.height()) == (32, 48)


# --- hands in gloves, eyes that don't see it ----------------------------------------------------------------


def test_everything_has_a_name_and_can_be_hit(desk: Any) -> None:
    page = three(desk)
    page.turn_large()
    page.turn_large()
    for widget in page.findChildren(QWidget):
        if widget.focusPolicy() is not Qt.FocusPolicy.NoFocus and widget.isVisible():
            assert widget.accessibleName() or widget.objectName().startswith("qt_"), widget
        if isinstance(widget, QAbstractButton) and widget.isVisible():
            assert min(widget.width(), widget.height()) >= TARGET, widget.objectName()


def test_tab_stops_at_one_photo_and_goes_on_to_what_can_be_done_with_it(desk: Any) -> None:
    page = three(desk)
    tiles = [t for t in page.grid.tiles.values() if t.focusPolicy() & Qt.FocusPolicy.TabFocus]
    assert tiles == [page.grid.tiles[page.picked or ""]]
    tiles[0].setFocus()
    press(Qt.Key.Key_Tab)
    assert QApplication.focusWidget() is page.side.note.edit


def test_sixty_photos_make_no_more_than_what_is_seen(desk: Any) -> None:
    page = desk.page
    give(desk, *[file(desk, f"{i:02}.jpg", plain(i * 4)) for i in range(60)])
    page.grab()
    until(lambda: not page.previews.busy)
    assert len(page.grid.tiles) == 60
    assert 0 < len(page.previews._made) < 60
    press(Qt.Key.Key_End)
    QApplication.processEvents()
    assert name(page) == "59.jpg"
    tile = page.grid.tiles[page.picked or ""]
    seen = page.area.viewport().rect()
    assert seen.contains(tile.mapTo(page.area.viewport(), tile.rect().center()))


def test_a_photo_says_when_its_camera_took_it(desk: Any, tmp_path: Path) -> None:
    from photo_places import jpeg

    shot = tmp_path / "camera.jpg"
    shot.write_bytes(jpeg(taken="2026:03:02 08:12:30"))
    desk.page.take_drop([shot])
    desk.bot.waitUntil(lambda: "Taken " in desk.page.side.facts.text(), timeout=10_000)
    assert desk.page.side.facts.text().startswith("Taken 2 Mar 08:12. Added ")
