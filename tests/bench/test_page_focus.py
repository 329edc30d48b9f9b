"""Going to a page and back, in the real window: where the keys go, and that none of them is an act of the bench."""

from collections.abc import Iterator
from functools import partial
from types import SimpleNamespace
from typing import Any

import pytest
from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtWidgets import QApplication, QWidget

from benchtool.bench.keys import ACTIONS

ESC, TAB = Qt.Key.Key_Escape, Qt.Key.Key_Tab
PAGES = ("library", "rules", "identify", "prep plan", "build", "piece", "edit", "layer", "sums", "shop", "air", "help")
TYPED = ("library", "rules", "identify", "build", "piece", "edit", "layer", "sums", "shop")
"""The pages on which something is typed: there every plain letter is typed, or does nothing."""

LETTERS = [keys.lower() for act in ACTIONS for keys in act.keys if len(keys) == 1 and keys != "?"] + list("0123456789")
"""All but the question mark, with which the page that finds out a material ends: nobody knows."""


@pytest.fixture
def active(bench: SimpleNamespace) -> SimpleNamespace:
    with bench.bot.waitActive(bench.window):
        bench.window.activateWindow()
    return bench


class Windows(QObject):
    """Writes down every widget that becomes a window of its own."""

    def __init__(self, known: QWidget) -> None:
        super().__init__()
        self.known, self.seen = known, list[str]()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        shown = event.type() is QEvent.Type.Show and watched is not self.known
        if shown and isinstance(watched, QWidget) and watched.isWindow():
            self.seen.append(f"{type(watched).__name__} {watched.objectName()}")
        return False


@pytest.fixture
def windows(active: SimpleNamespace) -> Iterator[Windows]:
    app = QApplication.instance()
    assert app is not None
    windows = Windows(active.window)
    app.installEventFilter(windows)
    yield windows
    app.removeEventFilter(windows)


@pytest.mark.parametrize("page", PAGES)
def test_a_page_has_the_keys_while_it_is_seen_and_the_bench_has_them_after(
    active: SimpleNamespace, windows: Windows, page: str
) -> None:
    active.window.do(page)
    here, seen = QApplication.focusWidget(), active.window.pages.currentWidget()
    assert here is not None
    assert here is seen or seen.isAncestorOf(here)
    active.bot.keyClick(here, ESC)
    assert active.window.pages.on_bench
    assert QApplication.focusWidget() is active.window.bench
    assert windows.seen == []  # nothing flashes up on its own on the way


@pytest.mark.parametrize(("page", "field"), [("library", "library-search"), ("build", "build-card-search")])
def test_a_page_with_a_search_begins_in_it(active: SimpleNamespace, page: str, field: str) -> None:
    active.window.do(page)
    here = QApplication.focusWidget()
    assert here is not None
    assert here.objectName() == field
    active.bot.keyClicks(here, "spd")
    assert here.property("text") == "spd"


def test_what_a_piece_is_made_of_begins_with_the_question_or_the_mark(active: SimpleNamespace) -> None:
    active.window.do("identify")
    page = active.window.pages.identify
    assert QApplication.focusWidget() in (page.question, page.mark.edit)


@pytest.mark.parametrize("page", TYPED)
def test_no_letter_or_figure_on_a_page_is_an_act_of_the_bench(active: SimpleNamespace, page: str) -> None:
    fired: list[str] = []
    for shortcut in active.window._shortcuts:
        shortcut.activated.connect(partial(fired.append, shortcut.key().toString()))
    active.window.do(page)
    seen, before = active.window.pages.currentWidget(), active.session.current.job
    stops: list[Any] = []
    kinds: set[type] = set()
    for _ in range(60):
        here = QApplication.focusWidget()
        if here is None or here in stops or not seen.isAncestorOf(here):
            break
        stops.append(here)
        # A second field of one kind takes keys as the first did: there the letters of acts on wet paint are enough.
        letters = LETTERS if type(here) not in kinds else "sdmu1"
        kinds.add(type(here))
        for letter in letters:
            active.bot.keyClicks(here, letter)
            if active.window.pages.currentWidget() is not seen:  # an act of the page's own, such as a new card
                active.window.pages.setCurrentWidget(seen)
            here.setFocus()
        active.bot.keyClick(here, TAB)
    assert len(stops) > 1
    assert set(fired) <= {"H"}  # which hears a call from anywhere but a field, and changes no job
    assert active.session.current.job == before


def test_a_question_that_is_left_gives_the_keys_back_to_where_they_were(active: SimpleNamespace) -> None:
    """A new card takes figures for the kind of product: after F3 and Esc it still does."""
    active.window.do("library")
    for key, held in ((Qt.Key.Key_N, Qt.KeyboardModifier.ControlModifier), (Qt.Key.Key_F3, None), (ESC, None)):
        here = QApplication.focusWidget()
        assert here is not None
        active.bot.keyClick(here, key, held or Qt.KeyboardModifier.NoModifier)
    here = QApplication.focusWidget()
    assert here is not None
    assert here.objectName().startswith("card-kind-")
    active.bot.keyClicks(here, "2")
    assert active.window.pages.plan.card.text().kind
