"""The clock holds when somebody sets the laptop's clock, and follows when only time passes."""

import time
from datetime import timedelta
from pathlib import Path

import pytest

from benchtool.session import clock as clock_module
from benchtool.session.clock import SystemClock


class Machine:
    """A laptop whose two clocks are moved by hand. `boot` counts sleep where the system says so."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, *, counts_sleep: bool = True) -> None:
        self.wall, self.boot, self.boot_id = 1_773_478_800.0, 5_000.0, "first boot"
        monkeypatch.setattr(time, "time", lambda: self.wall)
        monkeypatch.setattr(time, "monotonic", lambda: self.boot)
        if counts_sleep:
            monkeypatch.setattr(time, "CLOCK_BOOTTIME", 7, raising=False)
            monkeypatch.setattr(time, "clock_gettime", lambda which: self.boot)
        else:
            monkeypatch.delattr(time, "CLOCK_BOOTTIME", raising=False)
        monkeypatch.setattr(clock_module, "_boot_id", lambda: self.boot_id)

    def pass_time(self, seconds: float) -> None:
        self.wall += seconds
        self.boot += seconds


@pytest.mark.parametrize("step", [3_600.0, -3_600.0, 86_400.0, -1_700_000_000.0])
def test_a_wall_clock_set_while_running_moves_no_countdown(monkeypatch: pytest.MonkeyPatch, step: float) -> None:
    machine = Machine(monkeypatch)
    clock = SystemClock()
    start = clock.now()
    machine.pass_time(60)
    machine.wall += step
    machine.pass_time(60)
    assert clock.now() - start == timedelta(seconds=120)
    assert clock.stepped() == timedelta(seconds=step)
    clock.take_wall_clock()
    assert clock.stepped() == timedelta(0)
    assert clock.now() - start == timedelta(seconds=120 + step)


def test_a_small_slew_is_followed(monkeypatch: pytest.MonkeyPatch) -> None:
    machine = Machine(monkeypatch)
    clock = SystemClock()
    start = clock.now()
    for _ in range(100):
        machine.pass_time(10)
        machine.wall += 0.05
        clock.now()
    assert (clock.now() - start).total_seconds() == pytest.approx(1_005, abs=0.01)
    assert clock.stepped() == timedelta(0)


def test_a_closed_lid_counts(monkeypatch: pytest.MonkeyPatch) -> None:
    machine = Machine(monkeypatch)
    clock = SystemClock()
    start = clock.now()
    machine.pass_time(9 * 3_600)
    assert clock.now() - start == timedelta(hours=9)


def test_a_closed_lid_counts_where_the_boot_clock_stands_still(monkeypatch: pytest.MonkeyPatch) -> None:
    machine = Machine(monkeypatch, counts_sleep=False)
    clock = SystemClock()
    start = clock.now()
    machine.wall += 9 * 3_600
    assert clock.now() - start == timedelta(hours=9)
    machine.wall -= 3_600
    assert clock.now() - start == timedelta(hours=9)


def test_a_clock_set_between_two_starts_is_noticed_within_one_boot(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    machine = Machine(monkeypatch)
    anchor = tmp_path / "state" / "clock.json"
    start = SystemClock(anchor).now()
    machine.pass_time(30)
    machine.wall -= 3_600
    again = SystemClock(anchor)
    assert again.now() - start == timedelta(seconds=30)
    assert again.stepped() == timedelta(hours=-1)


def test_after_a_reboot_the_wall_clock_is_all_there_is(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    machine = Machine(monkeypatch)
    anchor = tmp_path / "clock.json"
    start = SystemClock(anchor).now()
    machine.wall += 600
    machine.boot, machine.boot_id = 20.0, "second boot"
    assert SystemClock(anchor).now() - start == timedelta(seconds=600)


@pytest.mark.parametrize("text", ["", "{", "[]", '{"boot": 1}', '{"boot": "first boot", "offset": "x"}'])
def test_a_broken_anchor_is_passed_over(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, text: str) -> None:
    machine = Machine(monkeypatch)
    anchor = tmp_path / "clock.json"
    anchor.write_text(text)
    assert SystemClock(anchor).now().timestamp() == machine.wall
