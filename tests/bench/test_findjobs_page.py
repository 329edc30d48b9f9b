"""The page that finds a piece again, by the keys of a painter."""

from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
from builders import COLOUR
from jobs_folder import put, search_of, tank
from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest

from benchtool.bench.controls import BenchButton
from benchtool.bench.findjobs import FindPage
from benchtool.bench.look import TARGET
from benchtool.session import jobwalk

CTRL = Qt.KeyboardModifier.ControlModifier
Show = Callable[..., FindPage]


@pytest.fixture
def jobs(tmp_path: Path) -> Path:
    folder = tmp_path / "jobs"
    bench = tank().wait(days=1)
    bench.piece("lid", "abs", name="Lid").layer("lid-base", COLOUR).mix("lid-base", mix="m9").pour("base", 5)
    put(folder, "red.json", bench.job)
    put(folder, "sign.json", tank("Harbour", "job-2", lot="B-7").job)
    return folder


@pytest.fixture
def show(bench: SimpleNamespace, jobs: Path) -> Iterator[Show]:
    made = []

    def shown(*, wait: bool = True) -> FindPage:
        page = FindPage(bench.window.look, search_of(jobs))
        made.append(page)
        page.heard, page.wanted = [], []
        page.said.connect(page.heard.append)
        page.open_asked.connect(lambda path, piece: page.wanted.append((path, piece)))
        bench.window.pages.addWidget(page)
        page.ask()
        bench.window.pages.setCurrentWidget(page)
        if wait:
            bench.bot.waitUntil(lambda: not page.steps.busy, timeout=20_000)
        return page

    yield shown
    for page in made:
        page.steps.stop()
        page.search.close()


def press(bench: SimpleNamespace, key: Qt.Key, held: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
    QTest.keyClick(bench.window.focusWidget() or bench.window, key, held)


def typed(bench: SimpleNamespace, page: FindPage, words: str) -> None:
    QTest.keyClicks(bench.window.focusWidget(), words)
    bench.bot.waitUntil(lambda: not page.soon.isActive())


def found(page: FindPage) -> list[str]:
    return [row.name for row in page.list.found.rows]


def test_nothing_typed_it_says_what_can_be(show: Show, bench: SimpleNamespace) -> None:
    page = show()
    assert page.field.edit.hasFocus()
    assert page.how.isVisible()
    assert not page.list.isVisible()
    assert not page.empty.isVisible()
    assert not page.bar.isVisible()
    assert "before:2026-03" in page.how.accessibleName()
    assert "Ctrl+L" in page.how.accessibleName()
    assert not page.open.isEnabled()
    assert page.progress.text() == "2 jobs can be searched."


def test_letters_are_typed_and_narrow_the_list(show: Show, bench: SimpleNamespace) -> None:
    page = show()
    acts = bench.session.current.job.events
    typed(bench, page, "mulle sxudmp fuel")
    assert page.field.text() == "mulle sxudmp fuel"
    assert found(page) == []
    assert "No piece answers" in page.empty.text()
    assert bench.session.current.job.events == acts
    page.field.edit.clear()
    typed(bench, page, "mulle fuel")
    assert found(page) == ["Fuel tank, for A. Müller"]
    assert page.field.told.text() == "1 piece in 1 job"
    assert not page.empty.isVisible()


def test_down_and_enter_open_the_second(show: Show, bench: SimpleNamespace, jobs: Path) -> None:
    page = show()
    typed(bench, page, "base colour")
    assert len(found(page)) == 3
    press(bench, Qt.Key.Key_Down)
    second = page.list.found.rows[1]
    press(bench, Qt.Key.Key_Return)
    assert page.wanted == [(second.path, second.piece)]
    assert second.path.parent == jobs


def test_enter_right_after_the_last_letter_opens_what_answers_to_it(
    show: Show, bench: SimpleNamespace, jobs: Path
) -> None:
    page = show()
    QTest.keyClicks(bench.window.focusWidget(), "harbour")
    press(bench, Qt.Key.Key_Return)
    assert page.wanted == [(jobs / "sign.json", "tank")]


def test_a_recalled_lot_is_listed_and_copied(show: Show, bench: SimpleNamespace, jobs: Path) -> None:
    page = show()
    typed(bench, page, "lot:A-12 fuel")
    press(bench, Qt.Key.Key_L, CTRL)
    assert page.recalling
    assert page.field.text() == "A-12"
    assert page.head.text().startswith("Lot A-12 is on 1 piece in 1 job.")
    assert found(page) == ["Fuel tank, for A. Müller", "Lid, for A. Müller"]
    press(bench, Qt.Key.Key_C, CTRL)
    copied = QGuiApplication.clipboard().text()
    assert "Lot A-12 is on 1 piece in 1 job." in copied
    assert copied.index("Sprayed on") < copied.index("Fuel tank") < copied.index("In a cup only") < copied.index("Lid")
    assert str(jobs / "red.json") in copied
    assert page.heard == ["Copied: 2 pieces."]
    press(bench, Qt.Key.Key_Escape)
    assert not page.recalling
    assert not page.head.isVisible()


def test_marked_text_in_the_field_is_copied_as_ever(show: Show, bench: SimpleNamespace) -> None:
    page = show()
    typed(bench, page, "fuel")
    press(bench, Qt.Key.Key_C, CTRL)
    assert page.heard == ["Copied: 2 pieces."]
    page.field.edit.selectAll()
    press(bench, Qt.Key.Key_C, CTRL)
    assert QGuiApplication.clipboard().text() == "fuel"
    assert page.heard == ["Copied: 2 pieces."]


def test_what_cant_be_understood_is_told_under_the_field(show: Show, bench: SimpleNamespace) -> None:
    page = show()
    typed(bench, page, "fuel before:soon")
    assert page.field.fault.isVisible()
    assert "2026-03" in page.field.fault.text()
    assert len(found(page)) == 2


def test_what_cant_be_read_is_told(show: Show, bench: SimpleNamespace, jobs: Path) -> None:
    (jobs / "sign.json").write_bytes((jobs / "sign.json").read_bytes()[:500])
    page = show()
    assert page.notes.isVisible()
    assert "sign.json" in page.notes.text()


def test_names_are_shown_as_they_are(show: Show, bench: SimpleNamespace, jobs: Path) -> None:
    put(jobs, "odd.json", tank("<b>Bold</b> & Sons", "job-3").job)
    page = show()
    typed(bench, page, "sons")
    assert found(page) == ["Fuel tank, for <b>Bold</b> & Sons"]
    tip = page.list.found.index(0).data(Qt.ItemDataRole.ToolTipRole)
    assert "<b>Bold" not in tip
    page.grab()


def test_reading_goes_on_while_it_is_typed_and_can_be_stopped(
    show: Show, bench: SimpleNamespace, monkeypatch: pytest.MonkeyPatch
) -> None:
    from threading import Event

    free, real = Event(), jobwalk.read_job
    monkeypatch.setattr(jobwalk, "read_job", lambda path: (free.wait(20), real(path))[1])
    page = show(wait=False)
    bench.bot.waitUntil(lambda: "of 2 jobs" in page.progress.text(), timeout=20_000)
    assert page.again.text() == "Stop reading"
    assert page.bar.isVisible()
    typed(bench, page, "fuel")
    assert "Not all jobs are read" in page.empty.text()
    press(bench, Qt.Key.Key_F5)
    assert not page.steps.busy
    assert "Not all was read." in page.progress.text()
    free.set()
    press(bench, Qt.Key.Key_F5)
    bench.bot.waitUntil(lambda: not page.steps.busy, timeout=20_000)
    assert len(found(page)) == 2


def test_an_index_that_breaks_is_read_again_by_itself(show: Show, bench: SimpleNamespace) -> None:
    page = show()
    page.search._index._con.execute("DROP TABLE shown")
    typed(bench, page, "fuel")
    bench.bot.waitUntil(lambda: not page.steps.busy and bool(found(page)), timeout=20_000)
    assert len(found(page)) == 2


def test_asked_with_words_it_looks_for_them(show: Show, bench: SimpleNamespace) -> None:
    page = show()
    page.ask("B-7", lot=True)
    bench.bot.waitUntil(lambda: not page.steps.busy, timeout=20_000)
    assert found(page) == ["Fuel tank, for Harbour"]
    assert page.lot.text() == "Search by words"


@pytest.mark.parametrize("size", [(1280, 720), (1920, 1080)])
def test_every_target_is_large_and_in_the_window(show: Show, bench: SimpleNamespace, size: tuple[int, int]) -> None:
    bench.window.resize(*size)
    page = show()
    typed(bench, page, "fuel")
    for button in page.findChildren(BenchButton):
        assert button.height() >= TARGET
        assert page.rect().contains(QRect(button.mapTo(page, button.rect().topLeft()), button.size()))
    assert page.list.visualRect(page.list.found.index(0)).height() >= TARGET


def test_esc_leaves_the_page_from_words(show: Show, bench: SimpleNamespace) -> None:
    page = show()
    left = []
    page.left.connect(lambda: left.append(True))
    page.back.click()
    assert left == [True]
