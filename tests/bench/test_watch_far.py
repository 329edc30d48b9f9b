"""The watch near and far: large enough from three metres, loud but not too fast, and drawn only where it changes."""

from datetime import timedelta
from itertools import pairwise, product
from types import SimpleNamespace
from typing import Any

import pytest
from builders import COLOUR, JobBuilder
from msgspec.structs import replace
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QWidget

from benchtool.bench.bars import lines_of, short_names
from benchtool.bench.farsheet import Sheet
from benchtool.bench.farview import LEAST_TURN, SAID_FOR, FarView
from benchtool.bench.helppage import HelpPage
from benchtool.bench.keys import ACTIONS
from benchtool.bench.look import Look
from benchtool.bench.nextkey import key_of, taken_by, usable
from benchtool.bench.watch import WatchRow, _worded
from benchtool.job.cards import CardTime, DoublingPacing
from benchtool.session.due import due_now
from benchtool.session.legibility import arc_minutes, px_per_mm
from benchtool.store import jobfile

SCREENS = [(1920, 1080), (1280, 720), (1366, 768), (1440, 900)]


@pytest.fixture
def cold(bench: SimpleNamespace, tmp_path: Any) -> SimpleNamespace:
    """The bench on a job in the cold with five countdowns; the first will open in some minutes."""
    paced = replace(COLOUR, paces={CardTime.EVERY: DoublingPacing(reference_degC=21)})
    job = JobBuilder(bench.clock.at).card(paced).read_air(11, 60)
    for i, piece in enumerate(("Tank", "Left cheek plate of the long visor, mended", "Fender", "Hood", "Plate")):
        job.piece(f"p{i}", name=piece).prep("wash", "degrease", "scuff").layer(f"l{i}", paced, 2).ready()
        job.coat().wait(seconds=30)
    path = tmp_path / "cold.json"
    jobfile.save(path, job.job)
    for document in list(bench.session.documents):
        bench.session.close(document)
    bench.clock.at = job.now
    bench.session.open(path)
    bench.beat(seconds=1)
    return bench


def far_at(bench: SimpleNamespace, width: int, height: int) -> FarView:
    """The far view on a screen of its own, so that no window system has a say in its size."""
    far: FarView = bench.window.far
    bench.window.views.removeWidget(far)
    far.setParent(None)
    far.left.disconnect()
    bench.bot.addWidget(far)
    far.resize(width, height)
    far.show()
    far.refresh(bench.clock.now())
    return far


def minutes_of(sheet: Sheet, zone: str) -> float:
    """How many minutes of arc a capital of a zone fills at 3 m, on a 14-inch screen."""
    cap = QFontMetricsF(sheet.fonts[zone]).capHeight()
    return arc_minutes(cap / px_per_mm(sheet.width, sheet.height), 3.0)


# --- read from three metres ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("width", "height"), SCREENS)
def test_the_far_view_can_be_read_at_3_m(cold: SimpleNamespace, width: int, height: int) -> None:
    """ISO 9241-303, as quoted in session/legibility.py: 20 to 22 minutes of arc preferred, 16 the least."""
    far = far_at(cold, width, height)
    sheet = far.sheet()
    assert minutes_of(sheet, "numerals") >= 40
    assert minutes_of(sheet, "place") >= 20
    assert minutes_of(sheet, "words") >= 20
    assert minutes_of(sheet, "clock") >= 20
    assert len(far.shown.lines) >= 2
    for zone in ("lines", "strong", "band"):
        assert minutes_of(sheet, zone) >= 16
    figures = QFontMetricsF(sheet.fonts["numerals"])
    assert figures.horizontalAdvance(far.shown.numerals) <= sheet.spots["figures"].width()
    assert figures.tightBoundingRect("0123456789:").height() <= sheet.spots["figures"].height()


@pytest.mark.parametrize(("width", "height"), [*SCREENS, (853, 480), (1024, 768)])
def test_no_zone_lies_over_another_or_off_the_screen(cold: SimpleNamespace, width: int, height: int) -> None:
    far = far_at(cold, width, height)
    for said in ("", "Tank: coat 2 started. Press again when it is on."):
        far.say(said)
        sheet = far.sheet()
        line = [z for z in sheet.spots if z.startswith("line-")]
        lower = ["foot"] if said else [*line, "key", "small"] if far.shown.key else [*line, "small"]
        zones = ["place", "figures", "clock", "words", "bar-line", *lower]
        for i, one in enumerate(zones):
            box = sheet.spots[one].adjusted(0, 0.01, 0, -0.01)
            assert box.left() >= 0
            assert box.right() <= width
            assert box.top() >= 0
            for other in zones[i + 1 :]:
                assert not box.intersects(sheet.spots[other]), (one, other)
        assert sheet.spots["foot"].bottom() <= height + 0.01


def test_words_too_long_shrink_to_16_minutes_and_are_then_cut_short(cold: SimpleNamespace) -> None:
    far = far_at(cold, 1280, 720)
    cold.beat(minutes=2)
    [long] = [d for d in due_now(cold.session, cold.clock.now()) if "visor" in d.place]
    far.lines = [long]
    far.shown = far._at(cold.clock.now(), long)
    sheet = far.sheet()
    assert minutes_of(sheet, "place") >= 16
    width = sheet.spots["place"].width()
    cut = short_names(far.shown.names, sheet.fonts["place"], width)
    assert QFontMetricsF(sheet.fonts["place"]).horizontalAdvance(cut) <= width
    assert cut.startswith("Left cheek")
    assert cut.endswith("Base colour")  # the short name stays whole


def test_a_name_that_two_open_jobs_share_is_told_with_its_job(cold: SimpleNamespace, tmp_path: Any) -> None:
    job = JobBuilder(cold.clock.at - timedelta(minutes=1)).card(COLOUR).piece("tank", name="Tank").prep("wash")
    job.layer("t", COLOUR, 2).ready().coat()
    path = tmp_path / "other.json"
    jobfile.save(path, job.job)
    first = cold.session.current
    cold.session.open(path)
    far = far_at(cold, 1280, 720)
    names = [d.names for d in far.lines]
    assert (first.title, "Tank", "Base colour") in names
    assert ("Fender", "Base colour") in names


# --- the loud state --------------------------------------------------------------------------------------------


def turns(far: FarView, start: Any, beats: list[float]) -> list[float]:
    """Refresh at these moments (s) and give those at which the loud state turned."""
    turned, before = [], bool(far.shown.loud)
    for at in beats:
        far.refresh(start + timedelta(seconds=at))
        if bool(far.shown.loud) is not before:
            before = not before
            turned.append(at)
    return turned


@pytest.fixture
def calling(cold: SimpleNamespace, monkeypatch: pytest.MonkeyPatch) -> FarView:
    far = far_at(cold, 640, 360)
    while not cold.session.alarms.up():
        cold.beat(seconds=20)
    cold.beat(seconds=2)
    far.refresh(cold.clock.now())
    return far


def test_it_flashes_but_never_3_times_in_a_second(cold: SimpleNamespace, calling: FarView) -> None:
    """WCAG 2.2, success criterion 2.3.1: a flash is a pair of opposing changes; at most three in any second."""
    phases, beats = (0.0, 0.005, 0.25, 0.499, 0.5, 0.75, 0.995), (0.05, 0.1, 0.25, 0.5, 0.9, 1.0)
    for phase, beat in product(phases, beats):
        start = cold.clock.now() + timedelta(seconds=phase)
        turned = turns(calling, start, [i * beat for i in range(int(10 / beat))])
        assert len(turned) >= 3  # it does flash
        assert all(sum(at <= t < at + 1 for t in turned) <= 3 for at in turned)
        assert all(b - a >= LEAST_TURN.total_seconds() - 1e-6 for a, b in pairwise(turned))


def test_not_even_a_board_gone_mad_makes_it_flash_faster(
    cold: SimpleNamespace, calling: FarView, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[bool] = []

    def mad(_: Any) -> bool:
        asked.append(not asked or not asked[-1])
        return asked[-1]

    monkeypatch.setattr(cold.session.alarms, "flash", mad)
    turned = turns(calling, cold.clock.now(), [i * 0.01 for i in range(1000)])
    assert len(asked) == 1000
    for at in turned:
        assert len([t for t in turned if at <= t < at + 1]) <= 3
    assert len(turned) >= 10


def test_what_nobody_heard_stands_in_words_with_the_keys_that_hear_it(cold: SimpleNamespace, calling: FarView) -> None:
    band = calling.shown.band
    assert "Coat 2 may go on now" in band.lines[0]
    assert band.heard == "Heard: H or PgDn"
    assert minutes_of(calling.sheet(), "band") >= 16
    cold.session.alarms.heard()
    calling.refresh(cold.clock.now())
    assert not calling.shown.band.lines
    assert not calling.shown.loud or calling._turned == cold.clock.now()
    calling.refresh(cold.clock.now() + timedelta(seconds=1))
    assert not calling.shown.loud


def test_many_calls_are_counted_and_the_first_is_named(cold: SimpleNamespace) -> None:
    far = far_at(cold, 1280, 720)
    counts = {}
    for _ in range(75):
        cold.beat(seconds=20)
        far.refresh(cold.clock.now())
        counts[len(cold.session.alarms.up())] = far.shown.band.lines
    assert counts[2] == ("Tank: Coat 2 may go on", "Left cheek plate of the long visor, mended: Coat 2 may go on")
    assert counts[5] == ("Tank: Coat 2 may go on", "and 4 more")


def test_a_line_of_the_piece_above_it_names_no_piece(cold: SimpleNamespace) -> None:
    far = far_at(cold, 1280, 720)
    assert [line.names for line in far.shown.lines][1:] == [("Fender",), ("Hood",)]
    far.lines = [far.lines[0], far.lines[0], far.lines[1], far.lines[0]]
    assert far._line(1).names == ()
    assert far._line(2).names != ()
    assert far._line(3).names == ("Tank",)


# --- answers and keys ------------------------------------------------------------------------------------------


def test_an_answer_stands_large_for_some_seconds(cold: SimpleNamespace) -> None:
    far = far_at(cold, 1280, 720)
    far.say("Heard.")
    assert far.shown.band.lines == ("Heard.",)
    assert minutes_of(far.sheet(), "band") >= 20
    far.refresh(cold.clock.now() + SAID_FOR - timedelta(milliseconds=1))
    assert far.shown.band.lines
    far.refresh(cold.clock.now() + SAID_FOR)
    assert not far.shown.band.lines
    long = "Tank: stop. " + "The recoat window closed an hour ago. " * 4
    far.say(long)
    assert minutes_of(far.sheet(), "band") >= 16


def test_the_far_view_says_what_the_key_does_next(cold: SimpleNamespace) -> None:
    far = far_at(cold, 1280, 720)
    session = cold.session
    session.pick("p0")
    far.refresh(cold.clock.now())
    assert not far.shown.key.startswith("PgDn")  # a wait: there is nothing to press for
    while not session.alarms.up():
        cold.beat(seconds=20)
    session.alarms.heard()
    far.refresh(cold.clock.now())
    assert far.shown.key == "PgDn: start coat 2"
    far.next_key = "F13"
    far.refresh(cold.clock.now())
    assert far.shown.key == "F13: start coat 2"


def test_it_is_left_by_key_or_button_and_not_by_a_sleeve(cold: SimpleNamespace) -> None:
    far = far_at(cold, 1280, 720)
    left: list[int] = []
    far.left.connect(lambda: left.append(1))
    cold.bot.mouseClick(far, Qt.MouseButton.LeftButton)
    press = QMouseEvent(
        QEvent.Type.MouseButtonDblClick, QPointF(50, 50), QPointF(50, 50), Qt.MouseButton.LeftButton,
        Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier,
    )  # fmt: skip
    far.mouseDoubleClickEvent(press)
    assert not left
    assert far.back.height() >= 48
    assert far.back.focusPolicy() is Qt.FocusPolicy.NoFocus
    cold.bot.mouseClick(far.back, Qt.MouseButton.LeftButton)
    assert len(left) == 1
    for key in (Qt.Key.Key_F, Qt.Key.Key_Escape, Qt.Key.Key_Q):  # Q is no key of it
        far.keyPressEvent(QKeyEvent(QEvent.Type.KeyPress, key, Qt.KeyboardModifier.NoModifier))
    assert len(left) == 3


# --- drawn only where it changes -------------------------------------------------------------------------------


def painted(widget: QWidget) -> list[Any]:
    """Keep which part of a widget is asked to be drawn anew."""
    asked: list[Any] = []
    whole = widget.update
    widget.update = lambda *area: (asked.append(area), whole(*area))[0]  # type: ignore[assignment, func-returns-value, method-assign]
    return asked


def test_a_second_draws_the_figures_and_not_the_names(cold: SimpleNamespace) -> None:
    far = far_at(cold, 1280, 720)
    far.refresh(cold.clock.now())
    asked = painted(far)
    far.refresh(cold.clock.now())
    assert not asked
    far.refresh(cold.clock.now() + timedelta(seconds=1))
    assert asked
    assert () not in asked
    place = far.sheet().spots["place"]
    assert all(not area[0].intersects(place.toAlignedRect().adjusted(0, 0, 0, -1)) for area in asked)


def test_a_row_of_the_watch_draws_its_figures_alone(cold: SimpleNamespace) -> None:
    watch = cold.window.watch
    cold.window.refresh()
    row = watch.findChild(WatchRow, "watch-0")
    due = due_now(cold.session, cold.clock.now())[1]
    row.show_due(due)
    asked = painted(row)
    row.show_due(due)
    assert not asked
    for second in range(1, 4):
        row.show_due(due_now(cold.session, cold.clock.now() + timedelta(seconds=second))[1])
    figures = [area for area in asked if area]
    assert figures
    assert all(x >= row.width() - row._figures and y + h <= row.height() - 5 for x, y, w, h in figures)
    assert due.clock_words in row.accessibleName()


def test_the_figures_of_a_row_wipe_nothing_off_the_name_beside_them(cold: SimpleNamespace) -> None:
    cold.window.refresh()
    row = cold.window.watch.findChild(WatchRow, "watch-0")
    due = due_now(cold.session, cold.clock.now())[1]
    row.show_due(due)
    row.show_due(due_now(cold.session, cold.clock.now() + timedelta(seconds=1))[1])
    figures = QFontMetricsF(row.look.title).horizontalAdvance(due.numerals)
    assert row._figures < figures + 2 + 1.5 * 8  # there the name ends, however long it is


def test_a_row_that_is_too_short_cuts_the_cause_and_tells_all_in_its_tip(cold: SimpleNamespace) -> None:
    cold.window.refresh()
    row = cold.window.watch.findChild(WatchRow, "watch-0")
    due = due_now(cold.session, cold.clock.now())[1]
    row.show_due(due)
    assert row.toolTip() == row.accessibleName()
    assert due.words in row.toolTip()
    wide = QFontMetricsF(row.look.small).horizontalAdvance
    assert _worded(due, row.look, wide(due.words) + 1) == due.words
    for missing in (1, 20, 60):
        room = wide(due.words) - missing
        cut = _worded(due, row.look, room)
        assert wide(cut) <= room
        assert cut.startswith("then coat 2; takes 2 times as long")
    assert _worded(due, row.look, wide(due.words) - 60).endswith("…")


# --- near ------------------------------------------------------------------------------------------------------


def test_the_first_line_says_why_and_until_when(cold: SimpleNamespace) -> None:
    watch = cold.window.watch
    cold.window.resize(1280, 720)
    cold.beat(seconds=1)
    first = due_now(cold.session, cold.clock.now())[0]
    assert watch.where.text() == "Tank, Base colour"
    assert watch.clock.text() == first.clock
    assert watch.clock_word.text() == "at"
    assert watch.what.text() == "then coat 2; 10 °C below the card's 21: takes 2 times as long"
    assert " ".join(watch.what._lines) == watch.what.text()  # in two lines, and nothing of it cut off
    assert watch.bar.bar.card == pytest.approx(0.5)


def test_long_words_are_broken_and_cut_and_names_are_cut_fairly(qtbot: Any) -> None:
    font = Look().body
    wide = QFontMetricsF(font).horizontalAdvance
    text = "one two three four five six seven eight nine ten"
    assert lines_of(text, font, wide(text) + 1, 2) == [text]
    lines = lines_of(text, font, wide("one two three four"), 2)
    assert len(lines) == 2
    assert lines[0] == "one two three four"
    assert lines[1].endswith("…")
    assert all(wide(line) <= wide("one two three four") for line in lines)
    assert lines_of("", font, 100, 2) == []
    assert all(wide(line) <= 60 for line in lines_of("Donaudampfschifffahrtsgesellschaft is long", font, 60, 3))
    assert short_names(("Tank", "Base"), font, 500) == "Tank, Base"
    cut = short_names(("A name that is very long indeed", "Base"), font, 150)
    assert cut.endswith("…, Base")
    assert wide(cut) <= 150
    assert short_names(("Tank", "Base"), font, 20) == "…, …"  # never cut to nothing


# --- the key that is chosen ------------------------------------------------------------------------------------


@pytest.fixture
def page(bench: SimpleNamespace) -> HelpPage:
    """The help page in the window, among all the shortcuts of the window."""
    bench.window.do("help")
    made = bench.window.pages.help
    assert isinstance(made, HelpPage)
    return made


@pytest.mark.parametrize(
    ("key", "text"),
    [
        (Qt.Key.Key_F13, "F13"), (Qt.Key.Key_F24, "F24"), (Qt.Key.Key_MediaPlay, "Media Play"),
        (Qt.Key.Key_PageUp, "PgUp"), (Qt.Key.Key_Home, "Home"), (Qt.Key.Key_VolumeUp, "Volume Up"),
        (Qt.Key.Key_Launch5, "Launch (5)"),
    ],
)  # fmt: skip
def test_any_free_key_may_be_chosen(page: HelpPage, qtbot: Any, key: Qt.Key, text: str) -> None:
    chosen: list[str] = []
    page.key_chosen.connect(chosen.append)
    qtbot.keyClick(page.change, key)
    assert not chosen  # only after the button was pressed
    qtbot.mouseClick(page.change, Qt.MouseButton.LeftButton)
    assert page.change.waiting
    qtbot.keyClick(page.change, key)
    assert chosen == [text]
    assert usable(text) == text
    assert not page.change.waiting
    qtbot.keyClick(page.change, Qt.Key.Key_F15)
    assert chosen == [text]


def test_a_key_that_has_its_act_is_refused_and_named(page: HelpPage, qtbot: Any) -> None:
    chosen: list[str] = []
    page.key_chosen.connect(chosen.append)
    qtbot.mouseClick(page.change, Qt.MouseButton.LeftButton)
    for key, words in (
        (Qt.Key.Key_S, "start the next coat"), (Qt.Key.Key_3, "that piece"), (Qt.Key.Key_Return, "the mix"),
        (Qt.Key.Key_Tab, "next field"), (Qt.Key.Key_Space, "focus"), (Qt.Key.Key_Control, "held"),
    ):  # fmt: skip
        qtbot.keyClick(page.change, key)
        assert words in page.told.text()
        assert page.change.waiting
    assert not chosen
    qtbot.keyClick(page.change, Qt.Key.Key_Escape)
    assert not page.change.waiting
    assert not chosen
    assert page.key.text() == "PgDn"


def test_a_pedal_whose_key_has_no_name_is_known_by_its_number() -> None:
    event = QKeyEvent(QEvent.Type.KeyPress, Qt.Key.Key_unknown, Qt.KeyboardModifier.NoModifier, 193, 0, 0, "")
    assert key_of(event) == "scan 193"
    assert usable("scan 193") == "scan 193"


@pytest.mark.parametrize("kept", ["", "no such key", "S", "Ctrl+Z", "Esc", "5", "Return"])
def test_a_key_that_was_kept_and_can_not_be_used_gives_way(kept: str) -> None:
    assert usable(kept) == "PgDown"


def test_the_usual_key_is_no_act() -> None:
    assert taken_by("PgDown") == ""
    assert all(taken_by(key) for act in ACTIONS for key in act.keys)
