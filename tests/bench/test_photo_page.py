"""A photo of a cross-cut in the window: dropped, its corners dragged, what is bare brushed, the grade taken."""

import math
import sys
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from photo_files import exif, png_of
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QTimer, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QGuiApplication, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from trade.crosscut_pictures import Scene, Shot, shoot

from benchtool.bench.photograde import PhotoPage
from benchtool.job import events as ev
from benchtool.session.session import Session
from benchtool.store import photos as kept
from benchtool.trade import crosscut
from benchtool.trade.crosscut import Grid
from benchtool.trade.grades import Method, classes_of
from benchtool.trade.substrates import Flex

SHIFT = Qt.KeyboardModifier.ShiftModifier


@pytest.fixture(scope="module")
def taken() -> Shot:
    """A photo of which the removed area is known: clearly within one class of both standards."""
    return shoot(Scene(seed=3, removed=24, size=(800, 600), share=0.62, tilt=10, roll=5, gradient=0.2))


@pytest.fixture(scope="module")
def close_to_a_limit() -> Shot:
    return shoot(Scene(seed=5, removed=14.8, size=(800, 600), share=0.62))


_known: dict[Any, Any] = {}


@pytest.fixture(autouse=True)
def each_once(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Find and measure the same photo in earnest, but once for all of these tests."""
    if "in_earnest" in request.fixturenames:
        return

    def once(real: Callable[[Any, Any], Any], photo: Any, what: Any) -> Any:
        key = (real.__name__, hash(photo.pixels.tobytes()), what)
        if key not in _known:
            _known[key] = real(photo, what)
        return _known[key]

    for name in ("find_grid", "measure"):
        monkeypatch.setattr(crosscut, name, partial(once, getattr(crosscut, name)))


@pytest.fixture
def in_earnest() -> None:
    """Measure as the bench does, each time anew."""


@pytest.fixture
def desk(bench: SimpleNamespace, tmp_path: Path) -> Iterator[SimpleNamespace]:
    """The page on a trial of two strips, with what it said and gave."""
    plan_trial(bench.session)
    page = PhotoPage(bench.window.look, bench.session)
    said: list[str] = []
    given: list[tuple[Any, ...]] = []
    left: list[int] = []
    page.said.connect(said.append)
    page.measured.connect(lambda *told: given.append(told))
    page.left.connect(lambda: left.append(1))
    bench.window.pages.addWidget(page)
    bench.window.pages.setCurrentWidget(page)
    bench.window.activateWindow()
    page.ask("t1", "s1", Method.D3359_B)
    page.setFocus()
    yield SimpleNamespace(page=page, said=said, given=given, left=left, session=bench.session, folder=tmp_path)
    page.work.close()


def plan_trial(session: Session) -> None:
    pieces = [
        ev.Piece(
            id=f"s{n}", name=f"Strip {n}", substrate="abs", known=ev.Known.TOLD, flex=Flex.RIGID,
            face=ev.Face.OUTSIDE, strip_of="t1",
        )
        for n in (1, 2)
    ]  # fmt: skip
    systems = (ev.System(id="a", name="Promoter"), ev.System(id="b", name="None", control=True))
    strips = (ev.Strip(piece="s1", system="a"), ev.Strip(piece="s2", system="b", place=1))
    trial = ev.Trial(id="t1", name="Clear shell", systems=systems, strips=strips)
    added = [partial(ev.PieceAdded, piece=piece) for piece in pieces]
    session.apply(*added, partial(ev.TrialPlanned, trial=trial))


def until(desk: SimpleNamespace, done: Callable[[], object] | None = None) -> None:
    end = time.monotonic() + 30
    while not (done() if done is not None else not desk.page.work.doing):
        assert time.monotonic() < end, "the page said nothing"
        QTest.qWait(2)


def press(desk: SimpleNamespace, key: Qt.Key | str, mods: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
    QTest.keyClick(QApplication.focusWidget() or desk.page, key, mods)


def drop(desk: SimpleNamespace, *paths: Path, mime: QMimeData | None = None) -> None:
    if mime is None:
        mime = QMimeData()
        mime.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    page, copy, left = desk.page, Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton
    enter = QDragEnterEvent(QPoint(300, 300), copy, mime, left, Qt.KeyboardModifier.NoModifier)
    QApplication.sendEvent(page, enter)
    if enter.isAccepted():
        down = QDropEvent(QPointF(300, 300), copy, mime, left, Qt.KeyboardModifier.NoModifier)
        QApplication.sendEvent(page, down)
    until(desk)


def dropped(desk: SimpleNamespace, shot: Shot) -> None:
    path = desk.folder / "shot.jpg"
    path.write_bytes(shot.data)
    drop(desk, path)


def measured(desk: SimpleNamespace, shot: Shot) -> None:
    dropped(desk, shot)
    desk.page.corners.set_grid(shot.corners, 6)
    desk.page.placed = True
    press(desk, Qt.Key.Key_Return)
    until(desk)
    assert desk.page.step == "mask"


def off(desk: SimpleNamespace, shot: Shot) -> float:
    """How far the farthest corner is from where it really is, shares of the photo."""
    pairs = zip(desk.page.corners.corners, shot.corners, strict=True)
    return max(max(abs(x - u), abs(y - v)) for (x, y), (u, v) in pairs)


# --- the straight way -----------------------------------------------------------------------------


def test_a_dropped_photo_becomes_a_grade_by_two_presses(desk: SimpleNamespace, taken: Shot) -> None:
    dropped(desk, taken)
    assert desk.page.step == "corners"
    assert desk.page.placed
    assert off(desk, taken) < 0.01
    press(desk, Qt.Key.Key_Return)
    until(desk)
    assert desk.page.step == "mask"
    press(desk, Qt.Key.Key_Return)
    until(desk, lambda: desk.given)
    percent, plus_minus, grades, photo = desk.given[0]
    assert abs(percent - taken.removed) <= 2
    assert grades == classes_of(Method.D3359_B, taken.removed) == ("2B",)
    assert 0 < plus_minus < 5
    job = desk.session.current.path
    assert kept.read_kept(job, photo.name, photo.sha256) == taken.data
    assert kept.read_kept(job, photo.mask)
    assert not photo.corrected
    assert (desk.folder / "shot.jpg").read_bytes() == taken.data


def test_what_is_told_of_it(desk: SimpleNamespace, taken: Shot) -> None:
    measured(desk, taken)
    side = desk.page.side
    assert side.number.text.endswith("removed")
    assert "±" in side.number.text
    assert side.classes.text() == "ISO 2409: class 3. ASTM D3359 B: 2B."
    assert side.about.text() == "Strip 1. Cross-cut with tape, ASTM D3359 B."
    assert not side.ask.isVisible()


def test_two_grades_are_a_choice_of_the_painter(desk: SimpleNamespace, close_to_a_limit: Shot) -> None:
    measured(desk, close_to_a_limit)
    side = desk.page.side
    assert side.ask.text() == "The standard allows no grade in between: choose 3B or 2B."
    assert [b.text() for b in side.grades if b.isVisible()] == ["Take 3B", "Take 2B"]
    press(desk, Qt.Key.Key_Return)
    assert desk.given == []
    assert desk.said[-1] == side.ask.text()
    assert [b.key for b in side.grades if b.isVisible()] == ["3", "2"]
    press(desk, "1")
    assert not desk.page.work.doing
    press(desk, "2")
    until(desk, lambda: desk.given)
    assert desk.given[0][2] == ("2B",)


def test_a_grade_by_its_button(desk: SimpleNamespace, close_to_a_limit: Shot) -> None:
    measured(desk, close_to_a_limit)
    QTest.mouseClick(desk.page.side.grades[0], Qt.MouseButton.LeftButton)
    until(desk, lambda: desk.given)
    assert desk.given[0][2] == ("3B",)


def test_a_digit_takes_the_class_of_that_number(desk: SimpleNamespace, close_to_a_limit: Shot) -> None:
    desk.page.ask("t1", "s2", Method.ISO_2409)
    measured(desk, close_to_a_limit)
    assert [b.text() for b in desk.page.side.grades if b.isVisible()] == ["Take class 2", "Take class 3"]
    press(desk, "2")
    until(desk, lambda: desk.given)
    assert desk.given[0][2] == ("2",)


def test_it_beats_on_while_it_measures(in_earnest: None, desk: SimpleNamespace, taken: Shot) -> None:
    beats: list[int] = []
    beat = QTimer()
    beat.timeout.connect(lambda: beats.append(1))
    dropped(desk, taken)
    beat.start(1)
    press(desk, Qt.Key.Key_Return)
    assert desk.page.side.doing.text() == "Measuring …"
    assert desk.page.side.doing.isVisible()
    until(desk)
    beat.stop()
    assert len(beats) > 3
    assert not desk.page.side.doing.isVisible()


# --- the corners ----------------------------------------------------------------------------------


def test_a_corner_is_dragged_with_the_mouse(desk: SimpleNamespace, taken: Shot) -> None:
    dropped(desk, taken)
    view = desk.page.corners
    corners = list(taken.corners)
    corners[1] = (corners[1][0] - 0.2, corners[1][1] + 0.1)
    view.set_grid(tuple(corners), 6)
    start = view.spot(1).toPoint() + QPoint(6, -4)
    box = view.frame
    goal = QPointF(box.left() + taken.corners[1][0] * box.width(), box.top() + taken.corners[1][1] * box.height())
    end = goal.toPoint() + QPoint(6, -4)
    QTest.mousePress(view, Qt.MouseButton.LeftButton, pos=start)
    for step in range(1, 6):
        QTest.mouseMove(view, start + (end - start) * step / 5)
    QTest.mouseRelease(view, Qt.MouseButton.LeftButton, pos=end)
    assert view.picked == 1
    assert off(desk, taken) < 0.005
    assert view.corners[0] == taken.corners[0]


def test_corners_by_keys(desk: SimpleNamespace, taken: Shot) -> None:
    dropped(desk, taken)
    view = desk.page.corners
    assert QApplication.focusWidget() is view
    before = [view.spot(i) for i in range(4)]
    for key, mods in ((Qt.Key.Key_Right, None), (Qt.Key.Key_Down, SHIFT)):
        press(desk, key, mods or Qt.KeyboardModifier.NoModifier)
    press(desk, Qt.Key.Key_Tab)
    press(desk, Qt.Key.Key_Left)
    after = [view.spot(i) for i in range(4)]
    moved = [(round((a - b).x()), round((a - b).y())) for a, b in zip(after, before, strict=True)]
    assert moved == [(1, 10), (-1, 0), (0, 0), (0, 0)]
    press(desk, Qt.Key.Key_Tab)
    press(desk, Qt.Key.Key_Tab)
    assert view.picked == 3
    press(desk, Qt.Key.Key_Tab)
    assert QApplication.focusWidget() is not view


def test_a_corner_stays_in_the_photo(desk: SimpleNamespace, taken: Shot) -> None:
    dropped(desk, taken)
    view = desk.page.corners
    start = view.spot(0).toPoint()
    QTest.mousePress(view, Qt.MouseButton.LeftButton, pos=start)
    QTest.mouseMove(view, QPoint(-200, -200))
    QTest.mouseRelease(view, Qt.MouseButton.LeftButton, pos=QPoint(-200, -200))
    assert view.corners[0] == (0.0, 0.0)


def test_where_nothing_was_found_the_corners_are_asked_for(desk: SimpleNamespace) -> None:
    wall = QImage(640, 480, QImage.Format.Format_RGB888)
    wall.fill(Qt.GlobalColor.lightGray)
    path = desk.folder / "wall.png"
    wall.save(str(path))
    drop(desk, path)
    assert not desk.page.placed
    assert desk.page.side.lead.text().startswith("The lattice was not found.")
    press(desk, Qt.Key.Key_Return)
    assert desk.said[-1] == "Put the four corners where the outermost cuts cross, then measure."
    assert not desk.page.work.doing
    press(desk, Qt.Key.Key_Right)
    press(desk, Qt.Key.Key_Return)
    until(desk)
    # of a bare wall it may say what it likes, but no grade without a doubt
    assert desk.page.side.doubt.text() or desk.page.side.trouble.text()


def test_corners_that_cross_are_told_and_stay(desk: SimpleNamespace, taken: Shot) -> None:
    dropped(desk, taken)
    flat = ((0.2, 0.2), (0.8, 0.2), (0.5, 0.21), (0.2, 0.8))
    desk.page.corners.set_grid(flat, 6)
    press(desk, Qt.Key.Key_Return)
    until(desk)
    assert desk.page.step == "corners"
    assert desk.page.corners.corners == flat
    assert desk.page.side.trouble.isVisible()


def test_another_number_of_cuts_is_looked_for(
    desk: SimpleNamespace, taken: Shot, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked: list[int] = []
    monkeypatch.setattr("benchtool.trade.crosscut.find_grid", lambda _photo, cuts: looked.append(cuts))
    desk.page.ask("t1", "s2", Method.D3359_B, 11)
    dropped(desk, taken)
    press(desk, "c")
    until(desk)
    press(desk, "c")
    until(desk)
    assert looked == [11, 6, 11]
    assert desk.page.corners.cuts == 11


# --- the brush ------------------------------------------------------------------------------------


def stroke(desk: SimpleNamespace, button: Qt.MouseButton = Qt.MouseButton.LeftButton, mods: Any = None) -> None:
    """Draw over the middle of one square from side to side."""
    view, keys = desk.page.square, mods or Qt.KeyboardModifier.NoModifier
    start, end = view.spot(190, 300).toPoint(), view.spot(410, 300).toPoint()
    QTest.mousePress(view, button, keys, start)
    QTest.mouseMove(view, (start + end) / 2)
    QTest.mouseMove(view, end)
    QTest.mouseRelease(view, button, keys, end)
    until(desk)


def test_the_brush_changes_the_percentage_and_ctrl_z_takes_it_back(desk: SimpleNamespace, taken: Shot) -> None:
    measured(desk, taken)
    page = desk.page
    first = page.work.counted.removed_percent
    for _ in range(3):
        press(desk, "]")
    stroke(desk, Qt.MouseButton.RightButton)  # all of it coated, so that bare adds what is known
    low = page.work.counted.removed_percent
    assert low <= first
    stroke(desk)
    high = page.work.counted.removed_percent
    # a round brush of 80 pixels over 220, of what counts of 360 000; cut lines on its way do not
    most = 100 * (220 * 80 + math.pi * 40**2) / page.work.measured.counted.sum()
    assert 0.75 * most < high - low < 1.01 * most
    stroke(desk, mods=SHIFT)
    assert page.work.counted.removed_percent == low
    assert page.side.buttons["undo"].isEnabled()
    for _ in range(3):
        press(desk, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
        until(desk)
    assert page.work.counted.removed_percent == first
    assert not page.hand.corrected
    assert not page.side.buttons["undo"].isEnabled()


def test_a_corrected_mask_goes_into_the_record(desk: SimpleNamespace, taken: Shot) -> None:
    measured(desk, taken)
    stroke(desk)
    stroke(desk, Qt.MouseButton.RightButton)
    stroke(desk)
    count = desk.page.work.counted
    desk.page.take("2B")
    until(desk, lambda: desk.given)
    assert desk.given[0][3].corrected
    assert desk.given[0][0] == round(count.removed_percent, 1)


def test_a_press_while_it_still_counts_is_not_lost(desk: SimpleNamespace, taken: Shot) -> None:
    measured(desk, taken)
    page = desk.page
    page.hand.begin()
    page.hand.brush((50, 50), (250, 50), 30, bare=True)
    page.hand.end()
    page._recount()
    assert page.work.doing == "counting"
    press(desk, Qt.Key.Key_Return)
    until(desk, lambda: desk.given)
    assert desk.given[0][0] == round(page.work.counted.removed_percent, 1) > round(taken.removed) + 1


def test_the_brush_by_keys(desk: SimpleNamespace, taken: Shot) -> None:
    measured(desk, taken)
    page = desk.page
    assert QApplication.focusWidget() is page.square
    press(desk, "x")
    assert not page.square.marks_bare
    before = page.square.radius
    press(desk, "[")
    assert page.square.radius < before
    press(desk, Qt.Key.Key_Right, SHIFT)
    press(desk, Qt.Key.Key_Down, SHIFT)
    press(desk, Qt.Key.Key_Space)
    until(desk)
    press(desk, Qt.Key.Key_Space, SHIFT)
    until(desk)
    assert page.hand.strokes >= 1


def test_the_mask_is_shown_stronger_and_not_at_all(desk: SimpleNamespace, taken: Shot) -> None:
    measured(desk, taken)
    view = desk.page.square
    drawn = []
    for _ in range(3):
        drawn.append(view.grab().toImage())
        press(desk, "m")
    assert len({bytes(image.constBits()) for image in drawn}) == 3
    assert bytes(view.grab().toImage().constBits()) == bytes(drawn[0].constBits())


def test_back_to_the_corners_and_on_again_loses_no_stroke(desk: SimpleNamespace, taken: Shot) -> None:
    measured(desk, taken)
    stroke(desk)
    mask = desk.page.hand.mask
    press(desk, "b")
    assert desk.page.step == "corners"
    desk.page.corners.set_grid(desk.page.work.grid.corners, 6)
    press(desk, Qt.Key.Key_Return)
    until(desk)
    assert desk.page.step == "mask"
    assert (desk.page.hand.mask == mask).all()


# --- coming and going -----------------------------------------------------------------------------


def test_what_was_begun_for_one_strip_waits_while_another_is_looked_at(desk: SimpleNamespace, taken: Shot) -> None:
    measured(desk, taken)
    stroke(desk, Qt.MouseButton.RightButton)
    count = desk.page.work.counted.removed_percent
    press(desk, Qt.Key.Key_Escape)
    assert desk.left == [1]
    desk.page.ask("t1", "s2", Method.D3359_B)
    assert desk.page.step == "empty"
    desk.page.ask("t1", "s1", Method.D3359_B)
    until(desk)
    assert desk.page.step == "mask"
    assert desk.page.hand.corrected
    assert desk.page.work.counted.removed_percent == pytest.approx(count, abs=0.5)


def graded(desk: SimpleNamespace, photo: ev.Photo) -> None:
    act = partial(
        ev.Graded, trial="t1", strip="s1", method=Method.D3359_B, grade="2B", removed_percent=24.0, photo=photo
    )
    desk.session.apply(act)


def test_a_graded_photo_is_there_again_and_its_loss_is_told(desk: SimpleNamespace, taken: Shot) -> None:
    measured(desk, taken)
    press(desk, Qt.Key.Key_Return)
    until(desk, lambda: desk.given)
    photo = desk.given[0][3]
    graded(desk, photo)
    desk.page.ask("t1", "s2", Method.D3359_B)
    desk.page._left.clear()
    desk.page.ask("t1", "s1", Method.D3359_B)
    until(desk)
    assert desk.page.step == "mask"
    assert desk.page.work.shot.name == photo.name
    (kept.folder_of(desk.session.current.path) / photo.name).unlink()
    desk.page.ask("t1", "s2", Method.D3359_B)
    desk.page._left.clear()
    desk.page.ask("t1", "s1", Method.D3359_B)
    until(desk)
    assert desk.page.step == "empty"
    assert desk.page.side.trouble.text().startswith("The photo is gone from beside the job: bring its file back")
    assert desk.session.current.state.trials["t1"].grade("s1", Method.D3359_B).given.grade == "2B"


def test_esc_stops_first_and_leaves_then(desk: SimpleNamespace, taken: Shot) -> None:
    dropped(desk, taken)
    desk.page.work.measure(Grid(taken.corners, 6))
    press(desk, Qt.Key.Key_Escape)
    assert desk.left == []
    assert desk.said[-1] == "Stopped."
    press(desk, Qt.Key.Key_Escape)
    assert desk.left == [1]


def test_letters_and_digits_are_the_pages_own(desk: SimpleNamespace) -> None:
    from PySide6.QtCore import QEvent
    from PySide6.QtGui import QKeyEvent

    plain = Qt.KeyboardModifier.NoModifier
    for key, mods in (
        (Qt.Key.Key_U, plain),
        (Qt.Key.Key_1, plain),
        (Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier),
    ):
        event = QKeyEvent(QEvent.Type.ShortcutOverride, key, mods)
        event.ignore()
        QApplication.sendEvent(desk.page, event)
        assert event.isAccepted()


# --- what is no photo -----------------------------------------------------------------------------


def test_a_text_file_is_refused_and_the_photo_before_stays(desk: SimpleNamespace, taken: Shot) -> None:
    dropped(desk, taken)
    (desk.folder / "notes.txt").write_text("Strip 4 held well.")
    drop(desk, desk.folder / "notes.txt")
    assert desk.said[-1].startswith("This is not a photo")
    assert desk.page.side.trouble.isVisible()
    assert desk.page.step == "corners"


def test_a_photo_of_200_megapixels_is_refused_before_it_is_opened(desk: SimpleNamespace) -> None:
    (desk.folder / "huge.png").write_bytes(png_of(20_000, 10_000))
    drop(desk, desk.folder / "huge.png")
    assert "200 megapixels" in desk.said[-1]
    assert desk.page.step == "empty"


def test_rotation_data_of_no_sense_is_passed_over(desk: SimpleNamespace) -> None:
    (desk.folder / "odd.jpg").write_bytes(exif(42))
    drop(desk, desk.folder / "odd.jpg")
    assert desk.page.work.trouble == ""
    assert desk.page.step == "corners"


def test_a_file_that_is_gone_and_an_address_elsewhere(desk: SimpleNamespace) -> None:
    drop(desk, desk.folder / "gone.jpg")
    assert desk.said[-1].startswith("There is no such file")
    mime = QMimeData()
    mime.setUrls([QUrl("https://example.org/photo.jpg")])
    drop(desk, mime=mime)
    assert desk.said[-1].startswith("Nothing is fetched from elsewhere")
    assert not desk.page.work.doing


def test_a_picture_from_the_clipboard(desk: SimpleNamespace, taken: Shot) -> None:
    board = QGuiApplication.clipboard()
    board.setImage(QImage.fromData(taken.data))
    press(desk, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)
    until(desk)
    assert desk.page.step == "corners"
    assert off(desk, taken) < 0.01
    board.setText("only words")
    press(desk, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)
    assert desk.said[-1] == "There is no photo on the clipboard: copy one first."


def test_a_full_disk_is_told_and_the_grade_is_taken(desk: SimpleNamespace, taken: Shot, full_disk: Any) -> None:
    with full_disk():
        measured(desk, taken)
        assert any(words.startswith("The disk is full") for words in desk.said)
        press(desk, Qt.Key.Key_Return)
        until(desk, lambda: desk.given)
    assert desk.given[0][2] == ("2B",)
    assert desk.given[0][3].sha256 == kept.sha256_of(taken.data)


def test_neither_library_is_loaded_by_the_page() -> None:
    import subprocess

    code = "import sys, benchtool.bench.photograde; print({'cv2', 'numpy'} & {*sys.modules})"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "set()"
