"""The page of the library in the real window: the keys work at once, and Enter does one thing."""

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from builders import CLEAR, COLOUR, PROMOTER
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QFileDialog, QWidget

from benchtool.bench import librarymoving
from benchtool.bench.library import LibraryPage

CTRL = Qt.KeyboardModifier.ControlModifier
ENTER, DOWN = Qt.Key.Key_Return, Qt.Key.Key_Down


def press(bench: SimpleNamespace, key: Any, mods: Any = Qt.KeyboardModifier.NoModifier) -> None:
    here = QApplication.focusWidget()
    assert isinstance(here, QWidget)
    (bench.bot.keyClicks if isinstance(key, str) else bench.bot.keyClick)(here, key, mods)
    page = bench.window.pages.library
    bench.bot.waitUntil(lambda: not page.steps.busy and not page.bringing.steps.busy, timeout=20_000)


@pytest.fixture
def page(bench: SimpleNamespace) -> LibraryPage:
    for card in (CLEAR, COLOUR, PROMOTER):
        bench.session.library.keep(card)
    with bench.bot.waitActive(bench.window):
        bench.window.activateWindow()
    made = bench.window.pages.library
    assert isinstance(made, LibraryPage)
    return made


@pytest.mark.parametrize("before", ["the header", "nothing"])
def test_the_keys_work_at_once_wherever_the_focus_was(bench: SimpleNamespace, page: LibraryPage, before: str) -> None:
    if before == "the header":
        button = next(b for b in bench.window.findChildren(QWidget) if b.isVisible() and b.focusPolicy()
                      and not bench.window.pages.isAncestorOf(b))  # fmt: skip
        button.setFocus()
    elif (here := QApplication.focusWidget()) is not None:
        here.clearFocus()
    bench.window.do("library")
    bench.bot.waitUntil(lambda: not page.steps.busy, timeout=20_000)
    assert QApplication.focusWidget() is page.search.edit
    first = page.list.card
    press(bench, DOWN)
    assert page.list.card != first
    in_hand = page.list.card
    assert in_hand is not None
    press(bench, ENTER)
    assert bench.window.pages.currentWidget() is bench.window.pages.plan
    assert bench.window.pages.plan.card.name.text() == in_hand.name


def test_coming_back_by_the_stack_of_pages_the_keys_work_too(bench: SimpleNamespace, page: LibraryPage) -> None:
    bench.window.do("library")
    bench.window.pages.setCurrentWidget(bench.window.pages.bench)
    bench.window.setFocus()
    bench.window.pages.setCurrentWidget(page)
    assert page.isAncestorOf(QApplication.focusWidget())


def test_enter_in_the_name_of_the_file_writes_it_and_does_nothing_else(
    bench: SimpleNamespace, page: LibraryPage, tmp_path: Path
) -> None:
    bench.window.do("library")
    bench.bot.waitUntil(lambda: not page.steps.busy, timeout=20_000)
    page.give.click()
    page.exporting.path.edit.setText(str(tmp_path / "out.json"))
    press(bench, ENTER)
    assert (tmp_path / "out.json").exists()
    assert bench.window.pages.currentWidget() is page


def test_enter_in_the_name_of_what_comes_in_reads_it_and_does_nothing_else(
    bench: SimpleNamespace, page: LibraryPage, tmp_path: Path
) -> None:
    from benchtool.session.cardmoving import export

    export([CLEAR], tmp_path / "in.json")
    bench.window.do("library")
    bench.bot.waitUntil(lambda: not page.steps.busy, timeout=20_000)
    page.bring.click()
    page.importing.path.edit.setText(str(tmp_path / "in.json"))
    press(bench, ENTER)
    assert bench.window.pages.currentWidget() is page


def test_a_folder_that_is_there_is_suggested(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(librarymoving.Path, "home", lambda: tmp_path)
    for place, found in ((tmp_path / "Documents", tmp_path), (tmp_path, tmp_path), (Path(), tmp_path)):
        told = str(place) if place != Path() else ""
        monkeypatch.setattr(librarymoving.QStandardPaths, "writableLocation", lambda _, told=told: told)
        assert librarymoving.documents() == found
    (tmp_path / "Documents").mkdir()
    monkeypatch.setattr(librarymoving.QStandardPaths, "writableLocation", lambda _: str(tmp_path / "Documents"))
    assert librarymoving.documents() == tmp_path / "Documents"


def test_a_folder_that_is_not_there_is_told_and_none_is_made(
    bench: SimpleNamespace, page: LibraryPage, tmp_path: Path
) -> None:
    bench.window.do("library")
    bench.bot.waitUntil(lambda: not page.steps.busy, timeout=20_000)
    page.give.click()
    page.exporting.path.edit.setText(str(tmp_path / "no such" / "out.json"))
    press(bench, ENTER)
    assert page.exporting.path.fault.text() == f"There is no folder {tmp_path / 'no such'}: choose another one."
    assert not (tmp_path / "no such").exists()


def test_the_files_are_chosen_in_the_systems_own_window(
    bench: SimpleNamespace, page: LibraryPage, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(QFileDialog, "show", lambda _: None)  # the system's own can't be typed into from here
    bench.window.do("library")
    bench.bot.waitUntil(lambda: not page.steps.busy, timeout=20_000)
    page.exporting.folder = tmp_path
    page.give.click()
    press(bench, Qt.Key.Key_O, CTRL)
    dialog = bench.window.findChild(QFileDialog, "library-export-dialog")
    assert Path(dialog.directory().absolutePath()) == tmp_path
    dialog.fileSelected.emit(str(tmp_path / "chosen.json"))
    dialog.done(1)
    assert page.exporting.path.text() == str(tmp_path / "chosen.json")
    assert not (tmp_path / "chosen.json").exists()
    press(bench, ENTER)
    assert (tmp_path / "chosen.json").exists()
    page.bring.click()
    press(bench, Qt.Key.Key_O, CTRL)
    dialog = bench.window.findChild(QFileDialog, "library-import-dialog")
    dialog.filesSelected.emit([str(tmp_path / "chosen.json")])
    dialog.done(1)
    bench.bot.waitUntil(lambda: not page.steps.busy and not page.bringing.steps.busy, timeout=20_000)
    assert page.importing.told.text() == "chosen.json: 1 is here just so."
