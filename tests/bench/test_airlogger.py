"""The logger's part of the air page: a file is chosen, put right and followed, by keys and by single presses."""

from collections.abc import Iterator
from datetime import UTC, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog, QVBoxLayout, QWidget

from benchtool.bench.airlogger import MOST_COLUMNS, LoggerPanel
from benchtool.bench.controls import BenchButton
from benchtool.bench.look import TARGET, Look
from benchtool.job.record import is_logged
from benchtool.session.logger import TimeFormat
from benchtool.session.loggerkeeper import LoggerKeeper
from benchtool.session.loggerzone import winter_zone
from benchtool.session.session import Session
from benchtool.session.tables import load_tables
from benchtool.trade.quantities import Measures

pytestmark = pytest.mark.qt_log_ignore("propagateSizeHints")  # the screen that is not there says so of every window


@pytest.fixture
def desk(qtbot: Any, clock: Any, tmp_path: Path) -> Iterator[SimpleNamespace]:
    """The panel in a window of its own, a job, and a logger's file in the way of another country."""
    session = Session(clock, load_tables(), Measures())
    job = session.create(tmp_path / "tank.json", "tank")
    look = Look()
    keeper = LoggerKeeper(session)
    panel = LoggerPanel(look, session, keeper)
    outer = QWidget()
    QVBoxLayout(outer).addWidget(panel)
    outer.resize(600, 900)
    qtbot.addWidget(outer)
    outer.show()
    qtbot.waitExposed(outer)
    said: list[str] = []
    panel.said.connect(said.append)
    path = tmp_path / "shop.csv"
    rows = "".join(f"{at(clock, m):%d.%m.%Y %H:%M};2{m % 10},5;5{m % 10};9,1;18,0\n" for m in range(-9, 1))
    path.write_text(f"Zeit;Luft;Feuchte;Taupunkt;Bauteil\n{rows}", encoding="utf-8")

    def beat(**span: float) -> tuple[str, ...]:
        clock.go(**span)
        told = keeper.look(clock.now())
        panel.refresh(clock.now())
        return told

    yield SimpleNamespace(
        session=session, job=job, keeper=keeper, panel=panel, form=panel.form, said=said, path=path, beat=beat,
        clock=clock, bot=qtbot, folder=tmp_path,
    )  # fmt: skip
    outer.close()
    session.close_all()
    outer.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


def at(clock: Any, minutes: float) -> Any:
    """An instant as this computer's clock shows it."""
    return (clock.now() + timedelta(minutes=minutes)).astimezone()


def press(button: QWidget) -> None:
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


def roles(desk: SimpleNamespace) -> dict[str, str]:
    return {key: row.role.text() for key, row in desk.form._rows.items()}


def shown(widget: QWidget) -> list[str]:
    return [b.text() for b in widget.findChildren(BenchButton) if b.isVisible()]


def test_at_first_it_offers_to_choose_a_file(desk: SimpleNamespace) -> None:
    assert shown(desk.panel) == ["Choose the logger's file"]
    assert "(CSV)" in desk.panel.stands.text()


def test_the_file_is_asked_for_beside_the_bench(desk: SimpleNamespace) -> None:
    press(desk.panel.choose)
    dialog = desk.panel._dialog
    assert isinstance(dialog, QFileDialog)
    assert not dialog.isModal()
    dialog.fileSelected.emit(str(desk.path))
    dialog.close()
    assert desk.panel._dialog is None
    assert desk.form.isVisible()


def test_what_was_understood_is_shown_and_followed(desk: SimpleNamespace) -> None:
    desk.panel.take_file(desk.path)
    assert roles(desk) == {
        "Zeit": "Time", "Luft": "Air", "Feuchte": "Humidity", "Taupunkt": "Not used", "Bauteil": "Surface",
    }  # fmt: skip
    assert desk.form._rows["Luft"].values.text() == "21,5   22,5   23,5"
    assert (desk.form.unit.value, desk.form.decimal.value, desk.form.order.value) == ("C", ",", "day first")
    when = f"{at(desk.clock, -9):%d %b %Y, %H:%M}"
    assert desk.form.first.text() == f"The first line says: {when}: 21.5 °C and 51 %, the surface 18 °C."
    press(desk.form.follow)
    desk.beat(seconds=1)
    assert desk.said == ["shop.csv is followed: its readings go into every open job."]
    assert not desk.form.isVisible()
    assert desk.panel.name.text() == "shop.csv"
    assert desk.panel.stands.text() == "20.5 °C and 50 %, 1 s ago."
    assert [r.air_degC for r in desk.job.state.readings][-1] == 20.5
    assert {r.surface_degC for r in desk.job.state.readings} == {18}


def test_a_column_gets_another_part_by_two_presses(desk: SimpleNamespace) -> None:
    desk.panel.take_file(desk.path)
    row = desk.form._rows["Taupunkt"]
    assert not row.roles.isVisible()
    press(row.role)
    assert row.roles.isVisible()
    press(row.roles.buttons["surface"])
    assert roles(desk)["Taupunkt"] == "Surface"
    assert roles(desk)["Bauteil"] == "Not used"
    assert not row.roles.isVisible()
    assert desk.form.columns.surface_column == "Taupunkt"
    assert row.role.hasFocus()


def test_a_column_gets_another_part_by_keys_alone(desk: SimpleNamespace) -> None:
    desk.panel.take_file(desk.path)
    row = desk.form._rows["Bauteil"]
    row.role.setFocus()
    QTest.keyClick(row.role, Qt.Key.Key_Space)
    focus = row.roles.buttons["surface"]
    assert focus.hasFocus()
    QTest.keyClick(focus, Qt.Key.Key_Right)
    assert roles(desk)["Bauteil"] == "Surface"  # moving along changes nothing
    QTest.keyClick(row.roles.buttons[""], Qt.Key.Key_Space)
    assert roles(desk)["Bauteil"] == "Not used"
    assert desk.form.columns.surface_column is None


def test_one_choice_of_parts_is_open_at_a_time(desk: SimpleNamespace) -> None:
    desk.panel.take_file(desk.path)
    first, second = desk.form._rows["Luft"], desk.form._rows["Bauteil"]
    press(first.role)
    press(second.role)
    assert (first.roles.isVisible(), second.roles.isVisible()) == (False, True)
    press(second.role)
    assert not second.roles.isVisible()
    assert second.role.isChecked()


def test_without_a_column_for_the_humidity_it_asks_and_does_not_follow(desk: SimpleNamespace) -> None:
    desk.panel.take_file(desk.path)
    row = desk.form._rows["Feuchte"]
    press(row.role)
    press(row.roles.buttons[""])
    assert desk.form.wrong.text() == "Which column holds the humidity?"
    press(desk.form.follow)
    assert desk.said == ["Which column holds the humidity?"]
    assert desk.keeper.choice is None
    assert desk.form.isVisible()


def test_a_wrong_decimal_mark_shows_at_once(desk: SimpleNamespace) -> None:
    desk.panel.take_file(desk.path)
    press(desk.form.decimal.buttons["."])
    assert "“21,5” is no number. Choose the decimal comma" in desk.form.wrong.text()
    assert not desk.form.first.isVisible()
    press(desk.form.decimal.buttons[","])
    assert not desk.form.wrong.isVisible()


def test_an_open_order_of_the_date_is_asked_for(desk: SimpleNamespace) -> None:
    path = desk.folder / "open.csv"
    path.write_text("Time,Temp,RH\n03/04/2025 10:00,20,50\n03/04/2025 10:05,20,50\n", encoding="utf-8")
    desk.panel.take_file(path)
    assert desk.form.order.isVisible()
    assert "the day or with the month first?" in desk.form.wrong.text()
    press(desk.form.order.buttons["month first"])
    assert desk.form.columns.time_format is TimeFormat.MONTH_FIRST
    assert desk.form.first.text().startswith("The first line says: 04 Mar 2025")


def test_zone_and_order_are_not_asked_where_the_file_says_them(desk: SimpleNamespace) -> None:
    path = desk.folder / "iso.csv"
    path.write_text("Time,Temp,RH\n2025-03-04T10:00:00Z,20,50\n", encoding="utf-8")
    desk.panel.take_file(path)
    assert not desk.form.zone.isVisible()
    assert not desk.form.order.isVisible()
    desk.panel.take_file(desk.path)
    assert desk.form.zone.isVisible()
    press(desk.form.zone.buttons["winter"])
    assert desk.form.columns.zone is winter_zone
    press(desk.form.zone.buttons["UTC"])
    assert desk.form.columns.zone is UTC


def test_a_file_of_many_columns_shows_few(desk: SimpleNamespace) -> None:
    path = desk.folder / "wide.csv"
    names = ",".join(f"x{i}" for i in range(40))
    path.write_text(f"Time,{names},Temp,RH\n2026-03-14 08:00,{','.join('1' * 40)},20,50\n", encoding="utf-8")
    desk.panel.take_file(path)
    assert len(desk.form._rows) == MOST_COLUMNS + 2
    assert desk.form.more.text() == "And 17 more columns, which are not used."


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("poem.csv", "roses are red\nviolets are blue\n", "No line of poem.csv holds a time and a number"),
        ("empty.csv", "", "holds no whole line yet"),
        ("gone.csv", None, "gone.csv is not there."),
    ],
)
def test_what_is_no_loggers_file_is_said(desk: SimpleNamespace, name: str, text: str | None, words: str) -> None:
    path = desk.folder / name
    if text is not None:
        path.write_text(text, encoding="utf-8")
    desk.panel.take_file(path)
    assert words in desk.panel.fault.text()
    assert desk.panel.fault.isVisible()
    assert words in desk.said[-1]
    assert not desk.form.isVisible()
    desk.panel.take_file(desk.path)
    assert not desk.form.fault.isVisible()
    desk.panel.take_file(path)  # a wrong one after a good one: the good one stays in view
    assert desk.form.isVisible()
    assert words in desk.form.fault.text()


def test_fahrenheit_is_one_press(desk: SimpleNamespace) -> None:
    desk.path.write_text("Time,Temp,RH\n", encoding="utf-8")
    with desk.path.open("a") as file:
        file.write(f"{at(desk.clock, -1):%Y-%m-%d %H:%M},20,50\n")
    desk.panel.take_file(desk.path)
    press(desk.form.follow)
    desk.beat(seconds=1)
    assert not desk.panel.fahrenheit.isVisible()
    with desk.path.open("a") as file:
        file.write(f"{at(desk.clock, 0):%Y-%m-%d %H:%M:%S},68,50\n")
    assert "68 °F can" in desk.beat(seconds=5)[0]
    assert desk.panel.fahrenheit.isVisible()
    press(desk.panel.fahrenheit)
    assert desk.keeper.choice.unit == "F"
    assert not desk.panel.fahrenheit.isVisible()
    desk.beat(seconds=5)
    assert desk.job.state.readings[-1].air_degC == 20


def test_what_was_left_out_and_told_is_in_view(desk: SimpleNamespace) -> None:
    desk.panel.take_file(desk.path)
    press(desk.form.follow)
    desk.beat(seconds=1)
    with desk.path.open("a") as file:
        file.write(f"{at(desk.clock, 0):%d.%m.%Y %H:%M:%S};400;50;9;18\n")
        file.write(f"{at(desk.clock, -60):%d.%m.%Y %H:%M:%S};20;50;9;18\n")
    desk.beat(seconds=5)
    assert desk.panel.left_out.text() == "Left out: 1 line from a clock set back, 1 line of air that can't be."
    assert "air of 400 °C can't be" in desk.panel.told.text()
    desk.path.unlink()
    desk.beat(minutes=2)
    assert "shop.csv is not there" in desk.panel.stands.text()


def test_the_columns_of_the_followed_file_can_be_changed(desk: SimpleNamespace) -> None:
    desk.panel.take_file(desk.path)
    row = desk.form._rows["Bauteil"]
    press(row.role)
    press(row.roles.buttons[""])
    press(desk.form.follow)
    desk.beat(seconds=1)
    press(desk.panel.columns)
    assert roles(desk)["Bauteil"] == "Not used"
    assert len(desk.form._rows) == 5
    press(desk.form.leave)
    assert desk.keeper.choice is not None
    assert desk.panel.status.isVisible()


def test_it_is_left_and_taken_out(desk: SimpleNamespace) -> None:
    desk.panel.take_file(desk.path)
    press(desk.form.follow)
    desk.beat(seconds=1)
    held = sum(is_logged(e) for e in desk.job.job.events)
    assert held > 0
    press(desk.panel.take_back)
    assert f"{held} reading" in desk.said[-1]
    assert desk.job.state.readings == []
    assert shown(desk.panel) == ["Choose the logger's file"]
    desk.panel.take_file(desk.path)
    press(desk.form.follow)
    desk.beat(seconds=1)
    press(desk.panel.stop)
    assert desk.said[-1] == "shop.csv is followed no more. What was read from it stays in the jobs."
    assert len(desk.job.state.readings) == held


def test_every_target_is_large_and_named_and_nothing_changes_without_need(desk: SimpleNamespace) -> None:
    desk.panel.take_file(desk.path)
    press(desk.form._rows["Luft"].role)
    for button in desk.panel.findChildren(BenchButton):
        if button.isVisible():
            assert button.height() >= TARGET
            assert button.accessibleName()
    press(desk.form.follow)
    desk.beat(seconds=1)
    before = desk.panel._followed
    desk.beat(seconds=1)
    assert desk.panel._followed is before
    assert desk.panel.stands.text().endswith("2 s ago.")
