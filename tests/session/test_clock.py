"""The clock holds when somebody sets the laptop's clock, and follows when only time passes."""

import json
import os
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from laptop import WALL, Laptop

from benchtool.session.clock import SLEW, SMALL, SystemClock

BATTERY_DEAD = datetime(1970, 1, 1, 0, 5, tzinfo=UTC)


@pytest.fixture
def laptop(monkeypatch: pytest.MonkeyPatch) -> Laptop:
    return Laptop(monkeypatch)


@pytest.fixture
def mac(monkeypatch: pytest.MonkeyPatch) -> Laptop:
    return Laptop(monkeypatch, counts_sleep=False)


@pytest.fixture
def anchor(tmp_path: Path) -> Path:
    return tmp_path / "state" / "clock.json"


@pytest.mark.parametrize("step", [3_600.0, -3_600.0, 86_400.0, -1_700_000_000.0])
def test_a_wall_clock_set_while_running_moves_no_countdown(laptop: Laptop, step: float) -> None:
    clock = SystemClock()
    start = clock.now()
    laptop.go(seconds=60)
    laptop.wall += step
    laptop.go(seconds=60)
    assert clock.now() - start == timedelta(seconds=120)
    assert clock.stepped() == timedelta(seconds=step)
    clock.take_wall_clock()
    assert clock.stepped() == timedelta(0)
    assert clock.now() - start == timedelta(seconds=120 + step)


def test_a_small_slew_is_followed(laptop: Laptop) -> None:
    clock = SystemClock()
    start = clock.now()
    for _ in range(100):
        laptop.go(seconds=10)
        laptop.wall += 0.05
        clock.now()
    assert (clock.now() - start).total_seconds() == pytest.approx(1_005, abs=0.01)
    assert clock.stepped() == timedelta(0)


@pytest.mark.parametrize("step", [30.0, -30.0, SMALL - 1, 1 - SMALL])
def test_a_small_step_is_followed_so_slowly_that_no_wait_feels_it(laptop: Laptop, step: float) -> None:
    clock = SystemClock()
    start = clock.now()
    laptop.wall += step
    assert clock.stepped() == timedelta(0)
    laptop.go(minutes=10)
    waited = (clock.now() - start).total_seconds()
    assert waited == pytest.approx(600 * (1 + (SLEW if step > 0 else -SLEW)), abs=1e-3)
    laptop.go(hours=100)
    clock.now()
    assert clock.now() == laptop.shows
    assert clock.stepped() == timedelta(0)


def test_a_step_of_two_minutes_and_more_is_told(laptop: Laptop) -> None:
    clock = SystemClock()
    laptop.set_clock(seconds=SMALL + 1)
    assert clock.stepped() == timedelta(seconds=SMALL + 1)


# --- sleep -----------------------------------------------------------------------------------------


def test_a_closed_lid_counts(laptop: Laptop) -> None:
    clock = SystemClock()
    start = clock.now()
    laptop.sleep(hours=9)
    assert clock.now() - start == timedelta(hours=9)
    assert clock.stepped() == timedelta(0)
    assert clock.slept() == timedelta(hours=9)
    laptop.go(hours=1)
    assert clock.slept() == timedelta(0)


def test_sleep_and_a_step_are_told_apart(laptop: Laptop) -> None:
    clock = SystemClock()
    start = clock.now()
    laptop.sleep(hours=9)
    laptop.set_clock(hours=-1)
    assert clock.now() - start == timedelta(hours=9)
    assert clock.stepped() == timedelta(hours=-1)
    assert clock.slept() == timedelta(hours=9)


def test_a_closed_lid_counts_where_the_boot_clock_stands_still(mac: Laptop) -> None:
    clock = SystemClock()
    start = clock.now()
    mac.sleep(hours=9)
    mac.boot = 5_000.0
    assert clock.now() - start == timedelta(hours=9)
    assert clock.slept() == timedelta(hours=9)
    mac.wall -= 3_600
    assert clock.now() - start == timedelta(hours=9)
    assert clock.stepped() == timedelta(hours=-1)


def test_nobody_closes_a_lid_for_years(mac: Laptop) -> None:
    clock = SystemClock()
    start = clock.now()
    mac.set_clock(days=3_000)
    assert clock.now() == start
    assert clock.stepped() == timedelta(days=3_000)


def test_a_process_stopped_between_two_readings_sees_no_step(laptop: Laptop, monkeypatch: pytest.MonkeyPatch) -> None:
    clock = SystemClock()
    start = clock.now()
    stops = [True]

    def read() -> float:
        wall = laptop.wall
        if stops:
            stops.clear()
            laptop.sleep(hours=9)
        return wall

    monkeypatch.setattr(time, "time", read)
    assert clock.now() - start == timedelta(hours=9)
    stops.append(True)
    assert clock.stepped() == timedelta(0)
    assert clock.now() - start == timedelta(hours=18)


# --- between two starts ----------------------------------------------------------------------------


def test_a_clock_set_between_two_starts_is_noticed_within_one_boot(laptop: Laptop, anchor: Path) -> None:
    start = SystemClock(anchor).now()
    laptop.go(seconds=30)
    laptop.wall -= 3_600
    again = SystemClock(anchor)
    assert again.now() - start == timedelta(seconds=30)
    assert again.stepped() == timedelta(hours=-1)


def test_after_a_reboot_the_wall_clock_is_all_there_is(laptop: Laptop, anchor: Path) -> None:
    start = SystemClock(anchor).now()
    laptop.restart(minutes=10)
    clock = SystemClock(anchor)
    assert clock.now() - start == timedelta(minutes=10)
    assert not clock.unsure
    assert clock.since == clock.now() - timedelta(seconds=20)


def test_when_the_tool_last_ran_outlives_a_kill(laptop: Laptop, anchor: Path) -> None:
    clock = SystemClock(anchor)
    assert clock.last_seen is None
    for _ in range(200):
        clock.beat()
        laptop.go(seconds=1)
    killed = clock.now()
    laptop.restart(hours=9)
    again = SystemClock(anchor)
    assert again.last_seen is not None
    assert timedelta(0) <= killed - again.last_seen <= timedelta(seconds=61)
    again.beat()
    assert again.last_seen < killed


def test_who_only_asks_the_time_is_not_taken_for_the_bench(laptop: Laptop, anchor: Path) -> None:
    clock = SystemClock(anchor)
    clock.beat()
    seen = clock.now()
    laptop.go(hours=5)
    SystemClock(anchor).now()
    laptop.restart(hours=1)
    SystemClock(anchor).now()
    assert SystemClock(anchor).last_seen == seen


def test_it_is_written_down_once_a_minute_and_no_more(laptop: Laptop, anchor: Path) -> None:
    clock = SystemClock(anchor)
    stamps = set()
    for _ in range(300):
        clock.beat()
        stamps.add(anchor.read_bytes())
        laptop.go(seconds=1)
    assert len(stamps) == 5


@pytest.mark.parametrize("wall", [BATTERY_DEAD, datetime(2026, 3, 14, 8, tzinfo=UTC), datetime(2024, 6, 1, tzinfo=UTC)])
def test_a_clock_that_went_back_while_off_is_not_believed(laptop: Laptop, anchor: Path, wall: datetime) -> None:
    clock = SystemClock(anchor)
    clock.beat()
    seen = clock.now()
    laptop.restart(wall)
    again = SystemClock(anchor)
    assert again.unsure
    assert timedelta(0) < again.now() - seen < timedelta(seconds=0.01)
    assert again.since > seen
    laptop.go(minutes=5)
    assert timedelta(0) < again.now() - seen - timedelta(minutes=5) < timedelta(seconds=0.01)
    restarted = SystemClock(anchor)
    assert restarted.unsure
    assert restarted.now() == again.now()
    assert restarted.since == again.since


def test_a_clock_that_was_never_set_is_not_believed_on_the_first_start_either(laptop: Laptop) -> None:
    laptop.restart(BATTERY_DEAD)
    clock = SystemClock()
    assert clock.unsure
    assert f"{clock.now():%Y-%m-%d %H:%M:%S}" == "1970-01-01 00:05:00"


def test_a_clock_that_lost_seconds_while_off_is_fine(laptop: Laptop, anchor: Path) -> None:
    clock = SystemClock(anchor)
    clock.beat()
    laptop.restart(seconds=-30)
    assert not SystemClock(anchor).unsure


def test_the_answer_holds_for_this_boot_and_over_restarts_of_the_tool(laptop: Laptop, anchor: Path) -> None:
    clock = SystemClock(anchor)
    clock.beat()
    laptop.restart(BATTERY_DEAD)
    clock = SystemClock(anchor)
    real = datetime(2026, 3, 14, 18, 45, tzinfo=UTC)
    clock.set_true_time(real)
    assert clock.now() == real
    assert not clock.unsure
    laptop.go(hours=2)
    again = SystemClock(anchor)
    assert again.now() == real + timedelta(hours=2)
    assert again.stepped() == timedelta(0)
    assert not again.unsure


def test_a_time_service_that_comes_late_agrees_with_the_answer(laptop: Laptop, anchor: Path) -> None:
    laptop.restart(BATTERY_DEAD)
    clock = SystemClock(anchor)
    clock.set_true_time(datetime(2026, 3, 14, 18, 45, tzinfo=UTC))
    laptop.wall = datetime(2026, 3, 14, 18, 45, 40, tzinfo=UTC).timestamp()
    assert clock.stepped() == timedelta(0)
    laptop.set_clock(hours=1)
    assert clock.stepped() == timedelta(hours=1, seconds=40)


def test_a_clock_called_wrong_is_in_doubt_after_the_next_start(laptop: Laptop, anchor: Path) -> None:
    clock = SystemClock(anchor)
    clock.beat()
    laptop.set_clock(hours=1)
    clock.move(timedelta(0))
    assert clock.stepped() == timedelta(0)
    own = clock.now()
    laptop.restart(minutes=3)
    again = SystemClock(anchor)
    assert again.unsure
    assert again.was_apart == timedelta(hours=1)
    assert timedelta(0) <= again.now() - own - timedelta(minutes=3) < timedelta(seconds=0.01)


@pytest.mark.parametrize(
    "text",
    [
        "", "{", "[]", "3", '{"boot": 1}', '{"boot": "boot 1", "offset": "x"}', '{"boot": "boot 1", "offset": 1e308}',
        '{"boot": "boot 1", "offset": NaN}', '{"seen": "yesterday"}', '{"seen": "2026-03-14T09:00:00"}', '{"seen": 5}',
        '{"boot": "boot 1", "offset": true}', "\x00" * 9, "[" * 100_000,
    ],
)  # fmt: skip
def test_a_broken_anchor_is_passed_over(laptop: Laptop, anchor: Path, text: str) -> None:
    anchor.parent.mkdir()
    anchor.write_text(text)
    clock = SystemClock(anchor)
    assert clock.now().timestamp() == laptop.wall
    assert clock.last_seen is None
    clock.beat()
    assert json.loads(anchor.read_text())["seen"]


def test_a_full_disk_stops_nothing(laptop: Laptop, anchor: Path, full_disk: object) -> None:
    clock = SystemClock(anchor)
    before = anchor.read_bytes()
    with full_disk():  # type: ignore[operator]
        laptop.go(minutes=5)
        clock.beat()
        clock.set_true_time(clock.now() + timedelta(hours=3))
    assert anchor.read_bytes() == before
    assert clock.now().timestamp() == WALL + 300 + 10_800


def test_a_folder_that_is_none_stops_nothing(laptop: Laptop, tmp_path: Path) -> None:
    (tmp_path / "state").write_text("a file")
    clock = SystemClock(tmp_path / "state" / "clock.json")
    clock.beat()
    assert clock.now().timestamp() == laptop.wall


def test_what_was_done_to_the_clock_is_taken_back(laptop: Laptop) -> None:
    clock = SystemClock()
    laptop.set_clock(hours=-1)
    before = clock.mark()
    now, since = clock.now(), clock.since
    clock.take_wall_clock()
    after = clock.mark()
    laptop.go(minutes=7)
    clock.restore(before, after)
    assert clock.now() == now + timedelta(minutes=7)
    assert clock.since == since
    assert clock.stepped() == timedelta(hours=-1)
    clock.restore(after, before)
    assert clock.stepped() == timedelta(0)


# --- zones -----------------------------------------------------------------------------------------


@pytest.fixture
def zone(monkeypatch: pytest.MonkeyPatch) -> Iterator[pytest.MonkeyPatch]:
    if not hasattr(time, "tzset"):
        pytest.skip("this system has no time zone that can be read again")
    held = os.environ.get("TZ")
    yield monkeypatch
    os.environ.pop("TZ", None) if held is None else os.environ.__setitem__("TZ", held)
    time.tzset()


def test_another_time_zone_shows_within_a_minute_and_moves_nothing(laptop: Laptop, zone: pytest.MonkeyPatch) -> None:
    zone.setenv("TZ", "Europe/Berlin")
    time.tzset()
    clock = SystemClock()
    clock.beat()
    now = clock.now()
    assert f"{now.astimezone():%H:%M}" == "10:00"
    zone.setenv("TZ", "America/New_York")
    laptop.go(seconds=61)
    clock.beat()
    assert f"{now.astimezone():%H:%M}" == "05:00"
    assert clock.now() - now == timedelta(seconds=61)
    assert clock.stepped() == timedelta(0)


@pytest.mark.parametrize(
    ("day", "shown"),
    [(datetime(2026, 3, 28, 22), "08:00"), (datetime(2026, 10, 24, 22), "06:00")],  # noqa: DTZ001
)
def test_a_wait_of_nine_hours_over_a_change_to_or_from_summer_time(
    laptop: Laptop, zone: pytest.MonkeyPatch, day: datetime, shown: str
) -> None:
    """Europe/Berlin changes on 29 March and 25 October 2026, by the rule of the IANA time zone database."""
    zone.setenv("TZ", "Europe/Berlin")
    time.tzset()
    begun = day.replace(tzinfo=ZoneInfo("Europe/Berlin")).astimezone(UTC)
    laptop.wall = begun.timestamp()
    clock = SystemClock()
    assert clock.now() == begun
    assert f"{begun.astimezone():%H:%M}" == "22:00"
    due = begun + timedelta(hours=9)
    laptop.sleep(hours=9)
    clock.beat()
    assert clock.now() == due
    assert f"{clock.now().astimezone():%H:%M}" == shown
    assert clock.stepped() == timedelta(0)
