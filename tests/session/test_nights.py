"""The night by hand: wall times and degrees as typed, and the instants they become across a change of the clocks.

Changes of the clocks: the IANA time zone data base (Europe/Berlin: forward on 29 March 2026 at 02:00, back on
25 October 2026 at 03:00).
"""

import time as system
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, time, timedelta
from functools import partial
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from builders import COLOUR, JobBuilder
from hypothesis import given
from hypothesis import strategies as st
from strategies import examples

from benchtool.job.events import CoursePoint, ReadingTaken
from benchtool.job.validate import course_faults
from benchtool.session.cardfields import Wrong
from benchtool.session.nights import (
    CAREFUL,
    NIGHTS,
    Night,
    course_draft,
    expect,
    expected_words,
    instant_of,
    night_of,
    night_points,
    read_night,
    read_wall_time,
)
from benchtool.session.session import NotNow, Session
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.trade.quantities import Measures

MEASURES = Measures()
BERLIN = ZoneInfo("Europe/Berlin")
USUAL = Night(off=time(18), off_degC=12.0, on=time(7), on_degC=21.0)


@pytest.fixture
def zone(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str], None]]:
    """Put the machine into a time zone of its own."""
    if not hasattr(system, "tzset"):
        pytest.skip("this system's time zone can't be set for one program")

    def put(name: str) -> None:
        monkeypatch.setenv("TZ", name)
        system.tzset()

    yield put
    monkeypatch.undo()
    system.tzset()


@pytest.fixture
def session(clock: Any, tmp_path: Path) -> Iterator[Session]:
    made = Session(clock, load_tables(), MEASURES)
    for name in ("first", "second"):
        job = JobBuilder(clock.now() - timedelta(hours=2)).card(COLOUR).piece().layer("colour", COLOUR).read_air(20, 50)
        jobfile.save(tmp_path / f"{name}.json", job.job)
        made.open(tmp_path / f"{name}.json")
    yield made
    made.close_all()


def typed(**texts: str) -> dict[str, str]:
    return {"off": "18:00", "off_degC": "12", "off_percent": "", "on": "07:00", "on_degC": "21"} | texts


# --- what is typed -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "at"),
    [
        ("18:00", time(18)),
        ("18", time(18)),
        ("7", time(7)),
        (" 07:05 ", time(7, 5)),
        ("1830", time(18, 30)),
        ("18.30", time(18, 30)),
        ("18h30", time(18, 30)),
        ("6 pm", time(18)),
        ("6:45 p.m.", time(18, 45)),
        ("12 am", time(0)),
        ("12 PM", time(12)),
        ("24:00", time(0)),
        ("midnight", time(0)),
        ("Noon", time(12)),
    ],
)
def test_a_time_of_day_is_read_as_painters_write_it(text: str, at: time) -> None:
    assert read_wall_time(text) == at


@pytest.mark.parametrize("text", ["25:00", "18:60", "13 pm", "0 am", "six", "18:0", "-1", "1 2", "18:00:00", "24:01"])
def test_what_is_no_time_of_day_is_said(text: str) -> None:
    with pytest.raises(ValueError, match="no time of day: write 18:00 or 6 pm"):
        read_wall_time(text)


def test_a_night_is_read_in_the_units_of_the_thermometer() -> None:
    assert read_night(MEASURES, typed()) == USUAL
    us = read_night(MEASURES, typed(off="6 pm", off_degC="53.6 F", on="7 am", on_degC="69,8 °F"))
    assert (us.off, us.on) == (USUAL.off, USUAL.on)
    assert (us.off_degC, us.on_degC) == (pytest.approx(12), pytest.approx(21))
    assert read_night(MEASURES, typed(off_percent="80 %")).off_percent == 80
    assert read_night(MEASURES, typed(off_percent="50")).off_percent == 50


@pytest.mark.parametrize(
    ("texts", "field", "said"),
    [
        ({"off": ""}, "off", "Say when"),
        ({"off": "25:00"}, "off", "no time of day"),
        ({"on": "soon"}, "on", "no time of day"),
        ({"on": "18:00"}, "on", "same time"),
        ({"off_degC": ""}, "off_degC", "Say how warm"),
        ({"on_degC": "warm"}, "on_degC", "number"),
        ({"off_degC": "54"}, "off_degC", "12.2 °C"),  # °F typed as °C is offered, where only that makes sense
        ({"on_degC": "400"}, "on_degC", "thermometer"),
        ({"off_percent": "0"}, "off_percent", "humidity"),
        ({"off_percent": "130"}, "off_percent", "humidity"),
        ({"off_percent": "damp"}, "off_percent", "number"),
    ],
)
def test_what_is_wrong_is_said_of_its_field(texts: dict[str, str], field: str, said: str) -> None:
    with pytest.raises(Wrong) as wrong:
        read_night(MEASURES, typed(**texts))
    assert [key for key, _ in wrong.value.faults] == [field]
    assert said in wrong.value.faults[0][1]


def test_every_fault_is_told_at_once() -> None:
    with pytest.raises(Wrong) as wrong:
        read_night(MEASURES, {})
    assert {key for key, _ in wrong.value.faults} == {"off", "on", "off_degC", "on_degC"}


@given(st.times(), st.times(), st.floats(-30, 45), st.floats(-30, 45), st.none() | st.floats(2, 100))
@examples(40)
def test_a_night_as_filled_in_is_read_again(
    off: time, on: time, cold: float, warm: float, percent: float | None
) -> None:
    off, on = (at.replace(second=0, microsecond=0) for at in (off, on))
    night = Night(off=off, off_degC=cold, on=on, on_degC=warm, off_percent=percent)
    if off == on:
        return
    again = read_night(MEASURES, night.typed())
    assert (again.off, again.on) == (off, on)
    assert (again.off_degC, again.on_degC) == (pytest.approx(cold, abs=0.006), pytest.approx(warm, abs=0.006))
    assert again.off_percent == (None if percent is None else pytest.approx(percent, abs=0.006))


# --- what follows ------------------------------------------------------------------------------------------


def steps(points: tuple[CoursePoint, ...]) -> list[tuple[str, float]]:
    return [(f"{p.at.astimezone(BERLIN):%d %H:%M}", p.air_degC) for p in points]


def test_tonight_is_the_next_night() -> None:
    now = datetime(2026, 3, 14, 9, tzinfo=UTC)
    points = night_points(USUAL, now, every=False, zone=BERLIN)
    assert steps(points) == [("14 18:00", 12), ("15 07:00", 21)]
    assert points[0].at == datetime(2026, 3, 14, 17, tzinfo=UTC)
    assert [p.humidity_percent for p in points] == [None, None]


def test_a_night_that_has_begun_is_cold_from_now_on() -> None:
    now = datetime(2026, 3, 14, 22, 30, 0, 5, tzinfo=UTC)
    first, second = night_points(USUAL, now, every=False, zone=BERLIN)
    assert first.at == datetime(2026, 3, 14, 22, 30, 1, tzinfo=UTC)
    assert second.at == datetime(2026, 3, 15, 6, tzinfo=UTC)


def test_a_night_is_over_at_the_instant_it_ends() -> None:
    now = datetime(2026, 3, 15, 6, tzinfo=UTC)
    assert steps(night_points(USUAL, now, every=False, zone=BERLIN)) == [("15 18:00", 12), ("16 07:00", 21)]


def test_what_is_left_of_a_night_is_at_least_a_second() -> None:
    end = datetime(2026, 3, 15, 6, tzinfo=UTC)
    points = night_points(USUAL, end - timedelta(seconds=1), every=False, zone=BERLIN)
    assert steps(points) == [("15 18:00", 12), ("16 07:00", 21)]
    points = night_points(USUAL, end - timedelta(seconds=2), every=False, zone=BERLIN)
    assert [p.at for p in points] == [end - timedelta(seconds=1), end]


def test_off_after_midnight_is_a_night_of_one_day() -> None:
    night = Night(off=time(0, 30), off_degC=12, on=time(6), on_degC=21)
    now = datetime(2026, 3, 14, 9, tzinfo=UTC)
    assert steps(night_points(night, now, every=False, zone=BERLIN)) == [("15 00:30", 12), ("15 06:00", 21)]


@pytest.mark.parametrize(("day", "hours"), [(date(2026, 3, 28), 12), (date(2026, 10, 24), 14), (date(2026, 3, 20), 13)])
def test_a_night_over_a_change_of_the_clocks_is_an_hour_shorter_or_longer(day: date, hours: int) -> None:
    now = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
    cold, warm = night_points(USUAL, now, every=False, zone=BERLIN)
    assert warm.at - cold.at == timedelta(hours=hours)
    assert [f"{p.at.astimezone(BERLIN):%H:%M}" for p in (cold, warm)] == ["18:00", "07:00"]


@pytest.mark.parametrize("now", [datetime(2026, 3, 25, 9, tzinfo=UTC), datetime(2026, 10, 20, 9, tzinfo=UTC)])
def test_every_night_keeps_its_wall_times_across_the_change(now: datetime) -> None:
    points = night_points(USUAL, now, every=True, zone=BERLIN)
    assert len(points) == 2 * NIGHTS
    assert {f"{p.at.astimezone(BERLIN):%H:%M} {p.air_degC:g}" for p in points} == {"18:00 12", "07:00 21"}
    assert len({p.at.time() for p in points}) == 4  # two by winter time, two by summer time


def test_a_wall_time_that_is_not_or_is_twice_is_taken_so_that_it_is_cold_for_longer() -> None:
    half_past_two = time(2, 30)
    leap, again = date(2026, 3, 29), date(2026, 10, 25)
    for day in (leap, again):
        assert instant_of(day, half_past_two, BERLIN) == datetime(day.year, day.month, day.day, 0, 30, tzinfo=UTC)
        late = instant_of(day, half_past_two, BERLIN, later=True)
        assert late == datetime(day.year, day.month, day.day, 1, 30, tzinfo=UTC)
    night = Night(off=time(2, 40), off_degC=12, on=half_past_two, on_degC=21)
    points = night_points(night, datetime(2026, 10, 23, 9, tzinfo=UTC), every=True, zone=BERLIN)
    on_the_day = [p for p in points if p.at.astimezone(BERLIN).date() == again]
    assert [p.air_degC for p in on_the_day] == [12]  # off again before it came on: it stays cold


def test_the_laptops_own_zone_does_the_same(zone: Callable[[str], None]) -> None:
    zone("Europe/Berlin")
    for now in (datetime(2026, 3, 25, 9, tzinfo=UTC), datetime(2026, 10, 20, 22, tzinfo=UTC)):
        assert night_points(USUAL, now, every=True) == night_points(USUAL, now, every=True, zone=BERLIN)


ZONES = ("UTC", "Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu", "America/St_Johns")


@given(
    st.times(), st.times(), st.datetimes(datetime(2026, 1, 1), datetime(2027, 1, 1)), st.booleans(),  # noqa: DTZ001
    st.sampled_from(ZONES), st.integers(0, 14 * 24 * 60),
)  # fmt: skip
@examples(200)
def test_steps_are_in_order_after_now_and_never_warm_in_the_night(
    off: time, on: time, naive: datetime, every: bool, name: str, minutes: int
) -> None:
    off, on = (at.replace(second=0, microsecond=0) for at in (off, on))
    if off == on:
        return
    now, zone = naive.replace(tzinfo=UTC), ZoneInfo(name)
    night = Night(off=off, off_degC=12, on=on, on_degC=21)
    points = night_points(night, now, every=every, zone=zone)
    times = [p.at for p in points]
    assert points
    assert times == sorted(set(times))
    assert times[0] > now
    assert not list(course_faults(points))
    assert (points[0].air_degC, points[-1].air_degC) == (12, 21)
    assert len(points) <= (2 * NIGHTS if every else 2)
    moment = times[0] + timedelta(minutes=minutes)
    if moment < times[-1]:
        wall = moment.astimezone(zone).time()
        in_the_night = off <= wall < on if off < on else wall >= off or wall < on
        held = [p for p in points if p.at <= moment][-1]
        assert held.air_degC == 12 or not in_the_night


def test_a_reading_in_a_night_that_has_begun_holds_for_its_hour(zone: Callable[[str], None]) -> None:
    zone("Europe/Berlin")
    now = datetime(2026, 3, 14, 17, 47, tzinfo=UTC)  # 18:47 by the wall: off since 18:00
    cold, warm = night_points(USUAL, now, every=False, read_at=now - timedelta(minutes=12))
    assert cold.at == now + timedelta(minutes=48)
    assert warm.at == datetime(2026, 3, 15, 6, 0, tzinfo=UTC)
    before_it, _ = night_points(USUAL, now, every=False, read_at=now - timedelta(minutes=50))
    assert before_it.at == now + timedelta(seconds=1)  # read while the heater was on: it says nothing of the night


# --- in the record -----------------------------------------------------------------------------------------


def test_it_is_an_act_that_undo_takes_back(session: Session, zone: Callable[[str], None]) -> None:
    zone("Europe/Berlin")
    document = session.writable()
    assert expected_words(document.state, session.now()) == (
        "No change is expected: the air is taken to stay as it was read."
    )
    expect(session, night_points(USUAL, session.now(), every=False))
    assert night_of(document.state) == USUAL
    assert expected_words(document.state, session.now()) == (
        "Expected: 12 °C (54 °F) from 18:00, 21 °C (70 °F) from Sun 07:00."
    )
    at_night = document.state.air.at(session.now() + timedelta(hours=12))
    assert at_night is not None
    assert at_night.air_degC == 12
    session.undo()
    assert night_of(document.state) is None
    assert document.state.air.at(session.now() + timedelta(hours=12)).air_degC == 20  # type: ignore[union-attr]


def test_a_night_that_has_begun_is_told_since_one_time_everywhere(
    session: Session, zone: Callable[[str], None]
) -> None:
    zone("Europe/Berlin")
    now = session.now()
    night = Night(off=(now - timedelta(minutes=2)).astimezone().time(), off_degC=8, on=time(7), on_degC=21)
    points = night_points(night, now, every=False)
    expect(session, points)
    since = f"{points[0].at.astimezone():%H:%M}"
    assert since != f"{night.off:%H:%M}"
    assert night.words(every=False, points=points) == (f"Tonight: 8 °C (46 °F) from {since}, 21 °C (70 °F) from 07:00")
    session.clock.go(minutes=3)  # type: ignore[attr-defined]
    assert expected_words(session.writable().state, session.now()) == (
        f"Expected: 8 °C (46 °F) since {since}, 21 °C (70 °F) from Sun 07:00."
    )


def test_it_is_said_that_a_reading_in_the_night_counts_for_an_hour(session: Session) -> None:
    assert "no wait is told too short" not in CAREFUL
    assert "A reading in the night counts for an hour, then what is expected counts again." in CAREFUL
    expect(session, night_points(USUAL, session.now(), every=False))
    session.clock.go(hours=12)  # type: ignore[attr-defined]
    session.apply(partial(ReadingTaken, air_degC=17, humidity_percent=50))
    air, now = session.writable().state.air, session.now()
    held = [air.at(now + timedelta(minutes=m)).air_degC for m in (59, 61)]  # type: ignore[union-attr]
    assert held == [17, 12]


def test_every_night_is_told_as_one(session: Session, zone: Callable[[str], None]) -> None:
    zone("Europe/Berlin")
    night = Night(off=time(18), off_degC=12, on=time(7), on_degC=21, off_percent=80)
    expect(session, night_points(night, session.now(), every=True))
    told = expected_words(session.writable().state, session.now())
    assert told == "Every night until 28 Mar: 12 °C (54 °F) and 80 % from 18:00, 21 °C (70 °F) from 07:00."
    assert night_of(session.writable().state) == night
    session.clock.go(hours=12)  # type: ignore[attr-defined]
    assert expected_words(session.writable().state, session.now()) == told
    expect(session, ())
    assert expected_words(session.writable().state, session.now()).startswith("Since 18:00 12 °C (54 °F)")
    session.clock.go(minutes=1)  # type: ignore[attr-defined]
    session.apply(partial(ReadingTaken, air_degC=15, humidity_percent=60))
    assert expected_words(session.writable().state, session.now()).startswith("No change is expected")


def test_every_open_job_is_told_and_an_undo_takes_it_out_of_each(session: Session) -> None:
    points = night_points(USUAL, session.now(), every=False)
    expect(session, points)
    told = [d.state.expected for d in session.documents]
    assert len(told) == 2
    assert all(course is not None and course.points == points for course in told)
    session.undo()
    assert all(d.state.expected is None for d in session.documents)
    session.redo()
    assert all(d.state.expected is not None for d in session.documents)


def test_a_job_that_is_only_looked_at_is_passed_over(session: Session) -> None:
    other = next(d for d in session.documents if d is not session.current)
    other.read_only = "held elsewhere"
    expect(session, night_points(USUAL, session.now(), every=False))
    assert other.state.expected is None
    other.read_only = ""


def test_a_job_that_is_looked_at_says_why_not(session: Session) -> None:
    session.writable().read_only = "held elsewhere"
    with pytest.raises(NotNow, match="held elsewhere"):
        expect(session, night_points(USUAL, session.now(), every=False))
    assert session.current is not None
    session.current.read_only = ""
    assert course_draft(())(id="e1", at=session.now()).points == ()  # type: ignore[union-attr]
