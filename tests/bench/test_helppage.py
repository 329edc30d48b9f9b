"""The page of all keys is rolled by keys, and no key on it is cut short."""

from types import SimpleNamespace

import pytest
from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import QApplication

from benchtool.bench.controls import Words
from benchtool.bench.helppage import HelpPage


@pytest.fixture
def page(bench: SimpleNamespace) -> HelpPage:
    """The page in a window too low for it, with the focus where the window puts it."""
    bench.window.resize(853, 480)
    with bench.bot.waitActive(bench.window):
        bench.window.activateWindow()
    bench.window.do("help")
    QCoreApplication.processEvents()
    made = bench.window.pages.help
    assert isinstance(made, HelpPage)
    return made


def test_it_is_rolled_by_every_key_that_rolls_a_page(bench: SimpleNamespace, page: HelpPage) -> None:
    bar = page.area.verticalScrollBar()
    assert bar.maximum() > 0
    layer = bench.session.layer

    def press(key: Qt.Key) -> int:
        here = QApplication.focusWidget()
        assert here is not None
        bench.bot.keyClick(here, key)
        return bar.value()

    down = press(Qt.Key.Key_Down)
    assert 0 < down < bar.pageStep()
    assert press(Qt.Key.Key_Up) == 0
    assert press(Qt.Key.Key_PageDown) > down
    assert press(Qt.Key.Key_PageUp) == 0
    assert press(Qt.Key.Key_End) == bar.maximum()
    assert press(Qt.Key.Key_Home) == 0
    assert bench.session.layer is layer


def test_it_is_rolled_by_keys_again_after_it_was_left(bench: SimpleNamespace, page: HelpPage) -> None:
    bench.window._escape()
    bench.window.do("help")
    assert page.area.hasFocus()


@pytest.mark.parametrize("size", [(853, 480), (1280, 720), (1920, 1080)])
def test_every_key_stands_whole(bench: SimpleNamespace, page: HelpPage, size: tuple[int, int]) -> None:
    bench.window.resize(*size)
    for _ in range(3):
        QCoreApplication.processEvents()
    assert "Ctrl+Shift+Z or Ctrl+Y" in [words.text() for words in page.keys]
    for words in page.keys:
        metrics = QFontMetricsF(words.font())
        assert metrics.horizontalAdvance(words.text()) <= words.width(), words.text()
        assert metrics.height() <= words.height() + 1, words.text()
    for words in page.area.findChildren(Words):
        assert words.heightForWidth(words.width()) <= words.height() + 1, words.text()
    first = page.keys[0]
    assert first.width() < page.width() / 4  # the acts beside them have room too
