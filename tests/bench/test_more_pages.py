"""The pages of before and after, reached by key and by the large targets of F3; what is dropped on the bench."""

from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtTest import QTest

from benchtool.bench.keys import ACTIONS
from benchtool.bench.recordpages import NAMES


def drop(bench: Any, *paths: Path) -> None:
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(p)) for p in paths])
    none = Qt.KeyboardModifier.NoModifier
    event = QDropEvent(QPointF(200, 200), Qt.DropAction.CopyAction, mime, Qt.MouseButton.LeftButton, none)
    bench.window.near.dropEvent(event)
    bench.window.refresh()


@pytest.mark.parametrize("name", sorted(NAMES))
def test_each_page_is_shown_by_its_key_and_left_by_escape(bench: Any, name: str) -> None:
    window = bench.window
    key = next(a.keys[0] for a in ACTIONS if a.id == name)
    QTest.keyClick(window, key[-1], Qt.KeyboardModifier.ShiftModifier)
    assert window.pages.currentWidget() is getattr(window.pages.record, name)
    QTest.keyClick(window.focusWidget() or window, Qt.Key.Key_Escape)
    QTest.keyClick(window.focusWidget() or window, Qt.Key.Key_Escape)
    assert window.pages.on_bench


def test_where_to_offers_every_one_of_them_as_a_large_button(bench: Any) -> None:
    window = bench.window
    window.do("more")
    pick = window.doing.pick
    buttons = [b for b in pick.findChildren(type(window.acts.buttons["more"])) if b.objectName().startswith("pick-")]
    shown = [b for b in buttons if b.objectName()[-1].isdigit()]
    assert len(shown) == len(NAMES)
    assert all(b.height() >= 48 for b in shown)
    QTest.mouseClick(shown[0], Qt.MouseButton.LeftButton)
    assert window.pages.currentWidget() is window.pages.record.day


def test_a_job_file_that_is_dropped_is_opened(bench: Any, tmp_path: Path) -> None:
    other = tmp_path / "other.json"
    bench.session.save_copy(other, bench.session.current)
    drop(bench, other)
    assert bench.session.current.path == other.resolve()


def test_what_is_no_photo_and_no_job_is_said(bench: Any) -> None:
    drop(bench)
    assert bench.window.status.said.text() == "Drop photos of the piece here, or a job's file."
