"""What the bench shows of its alarms, and what H and X do about them."""

from datetime import timedelta
from types import SimpleNamespace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton

from benchtool.bench.controls import BenchButton


def key(bench: SimpleNamespace, which: Qt.Key) -> None:
    bench.bot.keyClick(bench.window, which)


def words(bench: SimpleNamespace) -> str:
    return str(bench.window.doing.alarm.words.text())


@pytest.fixture
def called(bench: SimpleNamespace) -> SimpleNamespace:
    """The demo job just after the name plate began to call."""
    bench.beat(seconds=1)
    for _ in range(8):
        bench.beat(seconds=59)
        if bench.voice.rung:
            return bench
    raise AssertionError("the demo has no call in its first eight minutes")


def test_a_call_is_told_with_how_it_stands_and_two_large_buttons(called: SimpleNamespace) -> None:
    strip = called.window.doing.alarm
    assert "Name plate, Lighthouse red: Gloss clear may go on now" in words(called)
    at = f"{called.clock.now().astimezone():%H:%M}"
    assert words(called).endswith(f"(called {at}, not heard)")
    buttons = strip.findChildren(BenchButton)
    assert [b.text() for b in buttons] == ["Heard", "Put off"]
    assert all(b.height() >= 48 for b in buttons)
    assert strip.accessibleName() == words(called)


def test_x_puts_off_the_call_by_digits_and_it_comes_back(called: SimpleNamespace) -> None:
    doing = called.window.doing
    hushed: list[bool] = []
    doing.hushed.connect(lambda: hushed.append(True))
    key(called, Qt.Key.Key_X)
    assert doing.pick.isVisible()
    key(called, Qt.Key.Key_1)
    assert doing.pick.isVisible()
    key(called, Qt.Key.Key_1)
    assert doing.pick.isHidden()
    assert doing.alarm.isHidden()
    assert hushed == [True]
    until = called.clock.now() + timedelta(minutes=5)
    assert f"put off until {until.astimezone():%H:%M}" in called.window.status.said.text()
    rung = len(called.voice.rung)
    for _ in range(5):
        called.beat(seconds=59)
    assert "Name plate" not in words(called) or doing.alarm.isHidden()
    called.beat(seconds=6)
    assert len(called.voice.rung) > rung
    assert "Name plate" in words(called)


def test_x_silences_all_sounds_by_digits_and_puts_them_on_again(called: SimpleNamespace) -> None:
    key(called, Qt.Key.Key_X)
    key(called, Qt.Key.Key_2)
    key(called, Qt.Key.Key_2)
    board = called.session.alarms
    assert board.quiet_until(called.clock.now()) == called.clock.now() + timedelta(minutes=15)
    assert called.window.doing.alarm.isVisible()
    key(called, Qt.Key.Key_X)
    key(called, Qt.Key.Key_2)
    assert board.quiet_until(called.clock.now()) is None
    assert called.window.doing.pick.isHidden()


def test_what_is_put_off_can_be_called_again_by_x(called: SimpleNamespace) -> None:
    for which in (Qt.Key.Key_X, Qt.Key.Key_1, Qt.Key.Key_3, Qt.Key.Key_X):
        key(called, which)
    assert called.window.doing.pick.isVisible()
    key(called, Qt.Key.Key_2)
    assert "Name plate" in words(called)
    assert called.window.doing.alarm.isVisible()


def test_with_nothing_calling_x_asks_only_how_long_to_be_silent(bench: SimpleNamespace) -> None:
    key(bench, Qt.Key.Key_X)
    key(bench, Qt.Key.Key_3)
    assert bench.session.alarms.quiet_until(bench.clock.now()) == bench.clock.now() + timedelta(hours=1)


def test_after_a_sleep_the_summary_stands_until_heard_and_h_shows_it_again(bench: SimpleNamespace) -> None:
    bench.beat(seconds=1)
    bench.beat(hours=9, minutes=5)
    [ring] = bench.voice.rung
    assert ring.words.startswith("While the laptop slept, 9 h 5 min: ")
    strip, lines = bench.window.doing.alarm, words(bench).split("\n")
    assert lines[0] == bench.session.alarms.summary.head
    assert 2 <= len(lines) <= 6
    assert strip.quiet.text() == "Silence"
    assert strip.trouble  # the pot life of the promoter is over by then: hatched, whatever the colour
    tall = strip.height()
    key(bench, Qt.Key.Key_H)
    assert strip.isHidden()
    key(bench, Qt.Key.Key_H)
    assert strip.isVisible()
    assert words(bench).split("\n")[0] == lines[0]
    key(bench, Qt.Key.Key_H)
    assert strip.isHidden()
    assert tall > bench.window.header.height()


def test_with_nothing_to_hear_h_says_so(bench: SimpleNamespace) -> None:
    key(bench, Qt.Key.Key_H)
    assert bench.window.status.said.text() == "Nothing calls."
    assert bench.window.doing.alarm.isHidden()


def test_a_hostile_name_fills_no_screen(called: SimpleNamespace) -> None:
    from dataclasses import replace

    board = called.session.alarms
    [alarm] = board.up()
    board._alarms[alarm.place] = replace(alarm, window=replace(alarm.window, piece_name="<b>N</b>ame " * 300))
    called.window.doing.show_calls()
    called.window.refresh()
    assert len(words(called)) < 200
    assert called.window.doing.alarm.height() < 120
    assert called.window.doing.alarm.words.textFormat() is Qt.TextFormat.PlainText


def test_while_all_is_silenced_a_call_can_still_be_put_off(called: SimpleNamespace) -> None:
    board = called.session.alarms
    board.silence(called.clock.now(), timedelta(hours=1))
    key(called, Qt.Key.Key_X)
    offered = [b.text() for b in called.window.doing.pick.findChildren(QAbstractButton) if b.isVisible()]
    assert any(w.startswith("Put off") for w in offered)
    assert any("Sounds on again" in w for w in offered)
    assert board.quiet_until(called.clock.now()) is not None
