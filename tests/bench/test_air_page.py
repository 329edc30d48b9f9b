"""The page of the air in the real window: figures, plot, the night typed on real keys, the calendar file."""

from collections.abc import Iterator
from datetime import timedelta
from functools import partial
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from unittest.mock import Mock

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar
from PySide6.QtCore import QCoreApplication, QEvent, QStandardPaths, Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QAbstractButton, QApplication, QLineEdit, QWidget
from strategies import examples

from benchtool.bench.air import FARTHEST, AirPage
from benchtool.bench.airlogger import LoggerPanel
from benchtool.bench.airplot import DIVISIONS, axis
from benchtool.bench.beside import documents
from benchtool.bench.calendarsave import CalendarSave
from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.jobs import Jobs
from benchtool.bench.look import TARGET
from benchtool.job.events import CourseExpected, CoursePoint, ReadingTaken
from benchtool.session.airsteps import Line
from benchtool.session.airview import PAST_SHARE, ZOOMS
from benchtool.session.session import Session

LEFT, RIGHT, HOME, ENTER = Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Home, Qt.Key.Key_Return


@pytest.fixture
def page(bench: SimpleNamespace) -> Iterator[AirPage]:
    """The page on the demo job, in the window."""
    made = AirPage(
        bench.window.look, bench.session, LoggerPanel(bench.window.look, bench.session, bench.window.logger())
    )
    bench.window.pages.addWidget(made)
    made.ask()
    bench.window.pages.setCurrentWidget(made)
    with bench.bot.waitActive(bench.window):
        bench.window.activateWindow()
    made.plot.setFocus()
    QCoreApplication.processEvents()
    yield made
    made.deleteLater()
    QCoreApplication.sendPostedEvents(made, QEvent.Type.DeferredDelete)


@pytest.fixture
def said(page: AirPage) -> list[str]:
    heard: list[str] = []
    page.said.connect(heard.append)
    return heard


def read(session: Session, degC: float, percent: float, surface: float | None = None) -> None:
    session.apply(partial(ReadingTaken, air_degC=degC, humidity_percent=percent, surface_degC=surface))


def plain(words: Words) -> str:
    return words.text().replace("\u00a0", " ")


def button(page: QWidget, name: str) -> QAbstractButton:
    found = page.findChild(QAbstractButton, name)
    assert isinstance(found, QAbstractButton)
    return found


def click(bench: SimpleNamespace, page: AirPage, name: str) -> None:
    bench.bot.mouseClick(button(page, name), Qt.MouseButton.LeftButton)


def press(bench: SimpleNamespace, *keys: Any) -> None:
    for key in keys:
        here = QApplication.focusWidget()
        assert here is not None
        (bench.bot.keyClicks if isinstance(key, str) else bench.bot.keyClick)(here, key)


def type_night(bench: SimpleNamespace, page: AirPage, **texts: str) -> None:
    for key, text in texts.items():
        page.night.fields[key].take_focus()
        press(bench, Qt.Key.Key_Delete, *([text] if text else []))


# --- what it shows -----------------------------------------------------------------------------------------


def test_it_shows_the_air_and_says_it_in_words(page: AirPage) -> None:
    assert [f.value for f in page.now.figures.figures[:3]] == ["20.5 °C", "48 %", "11 °C"]
    assert "68.9 °F" in page.now.figures.accessibleName()
    assert plain(page.now.words).startswith("The surface is 11 °C (19.8 °F) above the dew point")
    name = page.plot.accessibleName()
    for told in ("Plot of the air, 24 h.", "Air 20.5 °C (68.9 °F)", "Read ", "recoat opens", "Nothing is said"):
        assert told in name
    assert page.plot.picture is not None
    assert len(page.plot.picture.bars) > 3


def test_without_a_reading_it_says_how_to_log_one(bench: SimpleNamespace, page: AirPage, tmp_path: Path) -> None:
    bench.session.create(tmp_path / "new.json", "New")
    page.refresh(bench.session.now())
    assert page.plot.instead == "No reading of the air yet. Press R to log it."
    assert page.plot.picture is not None
    assert page.plot.picture.empty
    assert page.now.figures.isHidden()
    assert page.comes.isHidden()
    read(bench.session, 20, 50)
    page.refresh(bench.session.now())
    assert not page.plot.picture.empty
    assert not page.now.figures.isHidden()


def test_without_a_job_it_says_so(bench: SimpleNamespace, page: AirPage, said: list[str]) -> None:
    bench.session.close_all()
    page.refresh(bench.session.now())
    assert page.plot.picture is None
    assert page.plot.instead.startswith("No job is open")
    type_night(bench, page, off="18:00", off_degC="12", on="7", on_degC="21")
    press(bench, ENTER)
    assert said == ["No job is open. Open one, or begin a new one."]


def test_nothing_is_worked_out_anew_within_a_minute(
    bench: SimpleNamespace, page: AirPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[object] = []
    pictured = page.view.picture

    def counted(*args: Any) -> Any:
        asked.append(args)
        return pictured(*args)

    monkeypatch.setattr(page.view, "picture", counted)
    bench.clock.at = bench.clock.at.replace(second=0)
    page.refresh(bench.session.now())
    del asked[:]
    for _ in range(59):
        bench.clock.go(seconds=1)
        page.refresh(bench.session.now())
    assert not asked
    bench.clock.go(seconds=1)
    page.refresh(bench.session.now())
    assert len(asked) == 1
    read(bench.session, 18, 55)
    page.refresh(bench.session.now())
    assert len(asked) == 2
    assert page.now.figures.figures[0].value == "18.0 °C"


def test_the_plot_is_painted_anew_only_where_it_is_another(bench: SimpleNamespace, page: AirPage) -> None:
    shown = page.plot.picture
    page.plot.show_picture(shown, "the same")
    page.refresh(bench.session.now())
    assert page.plot.picture is shown
    bench.clock.go(minutes=1)
    page.refresh(bench.session.now())
    assert page.plot.picture is not shown


@given(st.floats(-40, 100), st.floats(0, 140))
@examples(100)
def test_the_axis_holds_every_temperature(low: float, span: float) -> None:
    bottom, step = axis(low, low + span)
    assert bottom <= low
    assert low + span <= bottom + DIVISIONS * step
    assert bottom % step == pytest.approx(0, abs=1e-9) or bottom % step == pytest.approx(step)


def colours(page: AirPage, high: float, low: float) -> set[str]:
    """Give every colour of the plot between two temperatures (°C)."""
    assert page.plot.picture is not None
    image, frame = page.plot.grab().toImage(), page.plot.frame(page.plot.picture)
    box, ratio = frame.plot, image.devicePixelRatio()
    xs = range(int(box.left() * ratio) + 2, int(box.right() * ratio) - 2)
    ys = range(int(frame.y(Line.AIR, high) * ratio), int(frame.y(Line.AIR, low) * ratio))
    return {QColor(image.pixel(x, y)).name() for x in xs for y in ys}


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_a_surface_near_the_dew_point_is_hatched(bench: SimpleNamespace, page: AirPage, theme: str) -> None:
    bench.window.look.choose(theme)
    trouble = bench.window.look.theme.trouble
    assert trouble not in colours(page, 19.8, 9.1)
    read(bench.session, 20, 80, 18)
    page.refresh(bench.session.now())
    assert trouble in colours(page, 18, 16.5)  # psychrolib: the dew point of 20 °C and 80 % is 16.44 °C
    assert page.now.words.property("tone") == "trouble"
    assert plain(page.now.words).startswith("Don't paint")


def test_the_hatch_says_above_what_the_surface_is_too_near(bench: SimpleNamespace, page: AirPage) -> None:
    read(bench.session, 20, 80, 18)
    page.zoom_to("6 h")
    assert page.plot.picture is not None
    painter = Mock()
    page.plot._name_damp(painter, page.plot.frame(page.plot.picture), page.plot.picture)
    assert painter.drawText.call_args.args[-1] == "less than 3 °C above the dew point"


def test_what_comes_is_told_in_trouble_where_it_is_damp(bench: SimpleNamespace, page: AirPage) -> None:
    assert page.comes.property("tone") == "ink"
    at = bench.session.now() + timedelta(hours=9)
    bench.session.apply(partial(CourseExpected, points=(CoursePoint(at=at, air_degC=9),)))
    page.refresh(bench.session.now())
    assert "comes within 3 °C of the dew point at" in plain(page.comes)
    assert page.comes.property("tone") == "trouble"


# --- zooming and turning -----------------------------------------------------------------------------------


def span(page: AirPage) -> tuple[float, float]:
    """Give how long the plot is and where now lies in it."""
    picture = page.plot.picture
    assert picture is not None
    whole = picture.end_s - picture.start_s
    return whole, (picture.now_s - picture.start_s) / whole


def test_it_is_zoomed_by_buttons_and_keys(bench: SimpleNamespace, page: AirPage) -> None:
    for key, length in ZOOMS.items():
        click(bench, page, f"air-zoom-{key}")
        assert span(page) == (length.total_seconds(), pytest.approx(PAST_SHARE, abs=0.005))
        assert button(page, f"air-zoom-{key}").isChecked()
    page.plot.setFocus()
    press(bench, "+", "+")
    assert page.zoom == "24 h"
    assert button(page, "air-zoom-24 h").isChecked()
    press(bench, "-", "-", "-", "-")
    assert page.zoom == "2 weeks"
    press(bench, "+", "=", "+", "+", "+")
    assert page.zoom == "6 h"


def test_it_is_turned_by_buttons_and_arrows(bench: SimpleNamespace, page: AirPage) -> None:
    press(bench, LEFT)
    assert span(page)[1] == pytest.approx(PAST_SHARE + 0.25, abs=0.002)
    click(bench, page, "air-later")
    click(bench, page, "air-later")
    assert span(page)[1] == pytest.approx(PAST_SHARE - 0.25, abs=0.002)
    page.plot.setFocus()
    press(bench, HOME)
    assert span(page)[1] == pytest.approx(PAST_SHARE, abs=0.002)
    page.zoom_to("2 weeks")
    for _ in range(30):
        page.turn(1)
    assert page.turned == FARTHEST
    page.ask()
    assert page.turned == timedelta(0)


def test_after_a_click_the_arrows_turn_the_plot(bench: SimpleNamespace, page: AirPage) -> None:
    for name in ("air-zoom-6 h", "air-later", "air-today"):
        page.turn(0)
        click(bench, page, name)
        assert page.plot.hasFocus()
        before, zoom = span(page)[1], page.zoom
        press(bench, LEFT)
        assert page.zoom == zoom
        assert span(page)[1] == pytest.approx(before + 0.25, abs=0.005)


def test_plus_and_minus_zoom_around_now_where_it_is_in_view(bench: SimpleNamespace, page: AirPage) -> None:
    press(bench, LEFT)
    where = span(page)[1]
    for key in ("+", "-", "-", "-"):
        press(bench, key)
        assert span(page)[1] == pytest.approx(where, abs=0.005)
    press(bench, HOME, "+", "+", "+")
    for _ in range(4):
        press(bench, RIGHT)  # now is out of view: what is in the middle stays there
    picture = page.plot.picture
    assert picture is not None
    assert picture.now_s < picture.start_s
    middle = (picture.start_s + picture.end_s) / 2
    press(bench, "-")
    assert page.zoom == "24 h"
    picture = page.plot.picture
    assert (picture.start_s + picture.end_s) / 2 == pytest.approx(middle, abs=1)


def test_plus_and_minus_are_told_on_the_buttons_they_lead_to(bench: SimpleNamespace, page: AirPage) -> None:
    def told() -> list[str]:
        return [b.key for b in page.zooms.findChildren(BenchButton)]

    assert told() == ["+", "", "-", ""]
    press(bench, "+")
    assert told() == ["", "-", "", ""]
    click(bench, page, "air-zoom-2 weeks")
    assert told() == ["", "", "+", ""]


def test_arrows_in_a_field_move_the_cursor_and_not_the_plot(bench: SimpleNamespace, page: AirPage) -> None:
    before = page.plot.picture
    type_night(bench, page, off="18:00")
    press(bench, LEFT, HOME, "+")
    assert page.plot.picture is before
    assert page.zoom == "24 h"
    assert page.night.fields["off"].text() == "+18:00"


# --- the night ---------------------------------------------------------------------------------------------


def test_a_night_is_typed_and_taken_back(bench: SimpleNamespace, page: AirPage, said: list[str]) -> None:
    type_night(bench, page, off="18:00", off_degC="54 F", on="7 am", on_degC="21")
    click(bench, page, "air-often-every")
    page.night.fields["on_degC"].take_focus()
    press(bench, ENTER)
    document = bench.session.writable()
    assert len(document.state.expected.points) == 28
    assert document.state.expected.points[0].air_degC == pytest.approx((54 - 32) / 1.8)
    assert said == ["Every night: 12.2 °C (54 °F) from 18:00, 21 °C (70 °F) from 07:00. Undo (U) takes it back."]
    assert plain(page.night.expected).startswith("Every night until 28 Mar: 12.2 °C")
    page.zoom_to("3 days")
    assert page.plot.picture is not None
    assert 21 in {y for run in page.plot.picture.lines[Line.AIR] for _, y in run.points}
    bench.session.undo()
    page.refresh(bench.session.now())
    assert page.night.expected.text().startswith("No change is expected")


def test_a_night_that_has_begun_leaves_what_was_just_read_and_names_one_time(
    bench: SimpleNamespace, page: AirPage, said: list[str]
) -> None:
    read(bench.session, 21, 45, 20)
    off = bench.session.now() - timedelta(minutes=2)
    on = bench.session.now() + timedelta(hours=9)
    type_night(bench, page, off=f"{off.astimezone():%H:%M}", off_degC="8", on=f"{on.astimezone():%H:%M}", on_degC="21")
    press(bench, ENTER)
    bench.clock.go(minutes=1)
    page.refresh(bench.session.now())
    assert page.now.title.text() == "Now"
    assert page.now.figures.figures[0].value == "21.0 °C"
    since = said[0].partition("from ")[2][:5]
    assert f"8 °C (46 °F) from {since}, " in plain(page.night.expected)  # an hour after what was read in the night
    bench.clock.go(hours=1)
    page.refresh(bench.session.now())
    assert page.now.title.text() == "Now, as expected"
    assert page.now.figures.figures[0].value == "8.0 °C"
    assert plain(page.now.source).startswith(f"Expected since {since}; last read ")


def test_nothing_else_is_expected_at_a_click(bench: SimpleNamespace, page: AirPage, said: list[str]) -> None:
    clear = button(page, "air-expect-nothing")
    assert not clear.isEnabled()
    type_night(bench, page, off="18:00", off_degC="12", off_percent="80", on="7", on_degC="21")
    click(bench, page, "air-expect")
    assert len(bench.session.writable().state.expected.points) == 2
    assert clear.isEnabled()
    click(bench, page, "air-expect-nothing")
    assert bench.session.writable().state.expected.points == ()
    assert said[-1].startswith("Nothing else is expected")
    assert not clear.isEnabled()


def test_what_is_wrong_is_said_at_its_field(bench: SimpleNamespace, page: AirPage, said: list[str]) -> None:
    before = bench.session.writable().job
    type_night(bench, page, off="18:00", off_degC="12", off_percent="130", on="25", on_degC="21")
    press(bench, ENTER)
    fields = page.night.fields
    assert [key for key, field in fields.items() if field.fault.text()] == ["off_percent", "on"]
    assert fields["on"].edit.hasFocus()
    assert not fields["on"].visibleRegion().isEmpty()  # it is rolled to
    assert not said
    assert bench.session.writable().job is before
    press(bench, "7")  # the old text is marked, so it is typed over
    assert fields["on"].text() == "7"
    assert not fields["on"].fault.text()


def test_the_night_that_is_expected_is_filled_in(bench: SimpleNamespace, page: AirPage) -> None:
    type_night(bench, page, off="18:00", off_degC="12", on="7", on_degC="21")
    press(bench, ENTER)
    again = AirPage(bench.window.look, bench.session)
    bench.bot.addWidget(again)
    again.ask()
    assert [f.text() for f in again.night.fields.values()] == ["18:00", "12", "", "07:00", "21"]
    assert again.night.often.value == "once"
    page.night.fields["off"].edit.setText("19")
    page.ask()
    assert page.night.fields["off"].text() == "19"


# --- the calendar ------------------------------------------------------------------------------------------


@pytest.fixture
def calendar(bench: SimpleNamespace, page: AirPage, said: list[str], tmp_path: Path) -> CalendarSave:
    (tmp_path / "calendars").mkdir()
    made = CalendarSave(bench.window, bench.session, tmp_path / "calendars")
    made.said.connect(said.append)
    page.calendar_asked.connect(made.ask)
    return made


@pytest.mark.qt_log_ignore("propagateSizeHints")  # the screen that is not there says so of every dialog
def test_the_long_waits_go_into_a_file(
    bench: SimpleNamespace, page: AirPage, calendar: CalendarSave, said: list[str], tmp_path: Path
) -> None:
    assert "So that a phone rings for them: " in page.calendar.words.text()
    click(bench, page, "air-calendar-go")
    dialog = calendar.dialog
    assert dialog is not None
    assert not dialog.isModal()
    assert [Path(name).name for name in dialog.selectedFiles()] == ["Harbour diorama calendar.ics"]
    assert dialog.directory().path() == str(tmp_path / "calendars")
    dialog.fileSelected.emit(str(tmp_path / "out.ics"))
    dialog.close()
    events = Calendar.from_ical((tmp_path / "out.ics").read_bytes()).walk("VEVENT")
    assert len(events) > 1
    assert said == [f"{len(events)} waits written to out.ics. Open it on your phone."]
    assert calendar.dialog is None
    assert calendar.folder == tmp_path


@pytest.mark.qt_log_ignore("propagateSizeHints")
def test_the_dialog_opens_where_the_painter_looks_for_files(
    bench: SimpleNamespace, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "Documents").mkdir()
    for told, there in ((str(tmp_path / "Documents"), tmp_path / "Documents"), (str(tmp_path / "none"), Path.home())):
        monkeypatch.setattr(QStandardPaths, "writableLocation", lambda where, told=told: told)
        jobs = Jobs(bench.window, bench.session, tmp_path / "hidden", (), lambda: tmp_path)
        jobs.ask("calendar")
        dialog = jobs.calendar.dialog
        assert dialog is not None
        assert Path(dialog.directory().absolutePath()) == there
        dialog.close()
    monkeypatch.setattr(QStandardPaths, "writableLocation", lambda where: "")
    assert documents() == Path.home()


def test_what_can_not_be_written_is_said(
    calendar: CalendarSave, bench: SimpleNamespace, said: list[str], tmp_path: Path
) -> None:
    notes = tmp_path / "notes.ics"
    notes.write_text("mine")
    calendar.write(notes)
    assert "something else" in said[-1]
    assert notes.read_text() == "mine"
    calendar.write(tmp_path / "missing" / "x.ics")
    assert "x.ics" in said[-1]
    bench.session.create(tmp_path / "new.json", "New")
    calendar.ask()
    assert said[-1].startswith("No window of this job ends")
    calendar.write(tmp_path / "new.ics")
    assert said[-1].startswith("No window of this job ends")
    bench.session.close_all()
    calendar.ask()
    assert said[-1].startswith("No job is open")
    assert calendar.dialog is None


# --- the page as a whole -----------------------------------------------------------------------------------


def test_back_and_escape_leave(bench: SimpleNamespace, page: AirPage) -> None:
    with bench.bot.waitSignal(page.left):
        click(bench, page, "air-back")
    page.plot.setFocus()
    press(bench, Qt.Key.Key_Escape)
    assert bench.window.pages.currentWidget() is bench.window.bench


def test_every_target_is_large_and_has_a_name(page: AirPage) -> None:
    for part in (*page.findChildren(QAbstractButton), *page.findChildren(QLineEdit)):
        assert part.height() >= TARGET, part.objectName()
        assert part.accessibleName(), part.objectName()


@pytest.mark.parametrize(("width", "height"), [(853, 480), (1280, 720), (1920, 1080)])
def test_at_every_size_all_is_reached(bench: SimpleNamespace, page: AirPage, width: int, height: int) -> None:
    bench.window.resize(width, height)
    QCoreApplication.processEvents()
    wide = page.width() >= 1_000
    assert page.body.isAncestorOf(page.plot) is not wide
    if wide:
        assert 0.58 <= page.picture.width() / page.width() <= 0.66
    assert page.body.width() <= page.area.viewport().width()
    parts: list[QWidget] = [page.plot, *page.findChildren(QAbstractButton), *page.findChildren(QLineEdit)]
    for part in (p for p in parts if p.isVisible()):
        if page.body.isAncestorOf(part):
            page.area.ensureWidgetVisible(part)
        assert not part.visibleRegion().isEmpty(), part.objectName()
    assert page.grab().width() > 0


def test_a_letter_is_the_benchs_unless_it_is_typed(bench: SimpleNamespace, page: AirPage) -> None:
    press(bench, "r")
    assert bench.window.doing.asking
    bench.window.doing.leave_strips()
    type_night(bench, page, off="6 pm", off_degC="54 f")
    assert page.night.fields["off"].text() == "6 pm"
    assert page.night.fields["off_degC"].text() == "54 f"
    assert not bench.window.doing.asking
