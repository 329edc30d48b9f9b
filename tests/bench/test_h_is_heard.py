"""H hears what calls wherever nobody types, and is never a key of a page: the bar of a call says so on all of them."""

from types import SimpleNamespace
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit

PAGES = ("day", "papers", "photos", "find", "again", "learned", "shop", "library", "rules", "help", "air", "prep plan")


@pytest.fixture
def called(bench: SimpleNamespace) -> SimpleNamespace:
    """The demo job just after something began to call."""
    bench.beat(seconds=1)
    for _ in range(8):
        bench.beat(seconds=59)
        if bench.voice.rung:
            return bench
    raise AssertionError("the demo has no call in its first eight minutes")


def press_h(window: Any) -> None:
    QTest.keyClick(window.focusWidget() or window, Qt.Key.Key_H)


@pytest.mark.parametrize("name", PAGES)
def test_h_hears_a_call_on_every_page(called: SimpleNamespace, name: str) -> None:
    window = called.window
    window.do(name)
    page = window.pages.currentWidget()
    if name != "find" and isinstance(QApplication.focusWidget(), QLineEdit):
        page.setFocus()
        QApplication.focusWidget().clearFocus()
    window.doing.show_calls()
    assert window.doing.alarm.isVisible()
    press_h(window)
    assert not window.doing.alarm.isVisible()
    assert window.pages.currentWidget() is page


def test_h_on_the_hours_hears_where_no_field_has_the_focus_and_is_typed_in_one(called: SimpleNamespace) -> None:
    window = called.window
    window.elsewhere.show_hours()
    sheet = window.pages.shop.hours
    sheet.hours.edit.setFocus()
    sheet.hours.edit.clear()
    press_h(window)
    assert sheet.hours.edit.text().lower() == "h"
    sheet.groups.take_focus()
    press_h(window)
    assert not window.doing.alarm.isVisible()


def test_h_is_typed_into_a_search_while_nothing_calls_or_something_is_typed(called: SimpleNamespace) -> None:
    window = called.window
    window.do("find")
    edit = window.pages.record.find.field.edit
    edit.setText("c")
    edit.setFocus()
    press_h(window)
    assert edit.text() == "ch"
    assert window.doing.alarm.isVisible()
    edit.clear()
    press_h(window)
    assert edit.text() == ""
    assert not window.doing.alarm.isVisible()
    press_h(window)
    assert edit.text() == "h"


def test_s_leads_from_the_day_to_the_hours_of_the_shop(bench: SimpleNamespace) -> None:
    window = bench.window
    window.do("day")
    page = window.pages.record.day
    assert page.hours.text() == "Shop hours"
    assert page.hours.key == "S"
    QTest.keyClick(window.focusWidget(), Qt.Key.Key_S)
    assert window.pages.currentWidget() is window.pages.shop
