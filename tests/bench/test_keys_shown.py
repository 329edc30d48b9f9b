"""No button of the window shows a key that does nothing, or something else, where the painter is."""

from typing import Any

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QApplication

from benchtool.bench.controls import BenchButton
from benchtool.bench.keys import ACTIONS, action

PAGES = (
    "day", "papers", "photos", "find", "again", "sums", "shop", "air", "identify", "prep plan", "library", "build",
    "rules", "help", "layer", "edit", "learned",
)  # fmt: skip


def swallowed(window: Any, shown: str) -> bool:
    """Whether the page that is seen takes this key before the shortcuts of the window are asked."""
    pressed = QKeySequence(shown)[0]
    text = shown if len(shown) == 1 else ""
    event = QKeyEvent(QEvent.Type.ShortcutOverride, pressed.key(), pressed.keyboardModifiers(), text)
    event.setAccepted(False)
    QApplication.sendEvent(window.focusWidget() or window, event)
    return bool(event.isAccepted())


def shown_keys(window: Any) -> dict[str, str]:
    header: tuple[BenchButton, ...] = (window.header.job, window.header.add)
    return {b.objectName(): b.key for b in (*window.acts.buttons.values(), *header)}


@pytest.mark.parametrize("name", PAGES)
def test_no_button_shows_a_key_that_the_page_takes(bench: Any, name: str) -> None:
    window = bench.window
    window.do(name)
    window.refresh()
    assert not window.pages.on_bench
    lies = {button: key for button, key in shown_keys(window).items() if key and swallowed(window, key)}
    if name == "photos":
        assert lies.pop("act-undo") == "U"  # which takes back the last act there as well
    assert lies == {}
    numbered = any(chip.numbered for chip in window.header._chips.values())
    assert numbered is not swallowed(window, "1")


def test_all_keys_stand_on_the_buttons_again_at_the_bench(bench: Any) -> None:
    window = bench.window
    before = shown_keys(window)
    window.do("day")
    window.refresh()
    assert window.acts.buttons["start"].key == ""
    assert window.acts.buttons["help"].key == "F1"
    assert window.acts.buttons["more"].key == "F3"
    window.show_bench()
    assert shown_keys(window) == before
    assert window.acts.buttons["start"].key == action("start").keys[0]


def test_a_function_key_is_taken_by_no_page(bench: Any) -> None:
    window = bench.window
    keys = [k for a in ACTIONS for k in a.keys if k.startswith("F") and k[1:].isdigit()]
    assert keys
    for name in PAGES:
        window.do(name)
        assert not any(swallowed(window, key) for key in keys)
    assert Qt.Key.Key_F1 in [QKeySequence(k)[0].key() for k in keys]


def test_with_no_job_the_day_says_keys_that_work_there(bench: Any) -> None:
    window, session = bench.window, bench.session
    window.do("day")
    page = window.pages.record.day
    bench.bot.waitUntil(lambda: page.told is not None and page.told.plan is not None, timeout=30_000)
    session.close(session.current)
    window.refresh()
    assert not page.anew.isEnabled()
    assert window.header.sub.text() == "Ctrl+O opens or begins one"

    def told() -> bool:
        window.refresh()
        return page.views.currentWidget() is page.empty and not page.plans.busy

    bench.bot.waitUntil(told, timeout=30_000)
    assert window.focusWidget() is page.empty.help
    window.do("papers")
    assert window.status.said.text() == "Open a job first: press Ctrl+O."
    assert not swallowed(window, "Ctrl+O")
    window.show_bench()
    assert window.header.sub.text() == "J opens or begins one"
