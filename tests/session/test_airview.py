"""What the page of the air shows: figures against psychrolib and `benchtool air`, lines, gaps, windows, what comes.

psychrolib 2.5.0 is the ASHRAE Handbook - Fundamentals (2017), chapter 1. 3 °C is the practice beside ISO 8502-4.
"""

import math
import random
import time as system
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import psychrolib
import pytest
from builders import CLEAR, COLOUR, JobBuilder, hours, minutes
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import examples

from benchtool.job import events as ev
from benchtool.job.cards import ArrheniusPacing, CardTime, DoublingPacing
from benchtool.session.airsteps import MOST_POINTS, Line, Run, Steps, damp, runs
from benchtool.session.airview import MOST_BARS, AirView, Picture, spoken
from benchtool.session.due import clock_time
from benchtool.session.session import Document
from benchtool.sheets.air_answer import AirSheet, air_answer
from benchtool.trade.air import Air

NOW = datetime(2026, 3, 14, 9, tzinfo=UTC)  # a Saturday
VIEW = AirView()
SLOW = replace(CLEAR, cure=hours(24), paces={CardTime.CURE: ArrheniusPacing(energy_kJ_mol=50, reference_degC=20)})


@pytest.fixture(autouse=True)
def zone(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str], None]]:
    """Put the machine into a time zone of its own, UTC at first."""

    def put(name: str) -> None:
        monkeypatch.setenv("TZ", name)
        if hasattr(system, "tzset"):
            system.tzset()

    put("UTC")
    yield put
    monkeypatch.undo()
    if hasattr(system, "tzset"):
        system.tzset()


def document(job: JobBuilder) -> Document:
    return Document(Path("job.json"), job.job)


BEGUN = NOW - hours(24)


def bench(begun: datetime = BEGUN) -> JobBuilder:
    return JobBuilder(begun).card(SLOW, COLOUR).piece("shell", name="Left shell").layer("clear", SLOW, 1)


def expected(job: JobBuilder, *steps: tuple[float, float, float | None]) -> JobBuilder:
    points = tuple(
        ev.CoursePoint(at=job.now + hours(h), air_degC=degC, humidity_percent=percent) for h, degC, percent in steps
    )
    return job.add(ev.CourseExpected, points=points)


def picture(job: JobBuilder, now: datetime = NOW, past: float = 8, ahead: float = 16) -> Picture:
    return AirView().picture(document(job), now, now - hours(past), now + hours(ahead), hours(3))


# --- the figures -------------------------------------------------------------------------------------------


def test_the_figures_are_those_of_the_handbook() -> None:
    """psychrolib, at 101 325 Pa; 1 °C is 1.8 °F; 1 g/m³ is 0.437 gr/ft³ and 1 psi 6894.757 Pa (NIST SP 811)."""
    job = bench().at(NOW).read_air(20.5, 48, surface_degC=19.8, speed_m_s=0.3)
    told = VIEW.now(document(job), NOW)
    figures = {f.name: f for f in told.figures}
    psychrolib.SetUnitSystem(psychrolib.SI)
    ratio = psychrolib.GetHumRatioFromRelHum(20.5, 0.48, 101_325)
    dew, wet = psychrolib.GetTDewPointFromRelHum(20.5, 0.48), psychrolib.GetTWetBulbFromRelHum(20.5, 0.48, 101_325)
    deficit = psychrolib.GetSatVapPres(20.5) * 0.52
    water = 1000 * ratio / psychrolib.GetMoistAirVolume(20.5, ratio, 101_325)
    for name, value, beside in (
        ("Air", 20.5, 68.9),
        ("Humidity", 48, None),
        ("Surface", 19.8, 67.64),
        ("Surface over dew point", 19.8 - dew, (19.8 - dew) * 1.8),
        ("Dew point", dew, dew * 1.8 + 32),
        ("Wet bulb", wet, wet * 1.8 + 32),
        ("Water in the air", water, water * 0.43700),
        ("Vapour it could still take", deficit, deficit / 6894.757),
        ("Speed of the air", 0.3, 0.3 / 0.00508),
    ):
        told_value = float(figures[name].value.split()[0])
        assert told_value == pytest.approx(value, abs=0.06 if value < 100 else 0.6), name
        if beside is not None:
            assert float(figures[name].beside.split()[0]) == pytest.approx(beside, abs=0.06 if beside > 1 else 0.0006)
    assert figures["Air"].beside.endswith("°F")
    assert not told.wrong


@given(
    st.floats(-10, 50), st.floats(2, 100), st.none() | st.floats(-20, 60), st.none() | st.floats(0, 5)
)  # fmt: skip
@examples(60)
def test_the_page_and_the_command_line_say_the_same(
    degC: float, percent: float, surface: float | None, speed: float | None
) -> None:
    told_of = {"surface_degC": surface, "speed_m_s": speed}
    job = bench().at(NOW).read_air(degC, percent, **{k: v for k, v in told_of.items() if v is not None})
    sheet = AirSheet(Air(air_degC=degC, humidity_percent=percent, surface_degC=surface, speed_m_s=speed))
    values, told = air_answer(sheet), VIEW.now(document(job), NOW)
    figures = {f.name: f for f in told.figures}
    for name, key, unit in (
        ("Air", "temperature", "deg"), ("Dew point", "dew_point", "deg"), ("Wet bulb", "wet_bulb", "deg"),
        ("Water in the air", "absolute_humidity_g_per_m3", "absolute_humidity_gr_per_ft3"),
        ("Vapour it could still take", "deficit_Pa", "deficit_psi"),
    ):  # fmt: skip
        si = values[f"{key}_degC"] if unit == "deg" else values[key]
        us = si * 1.8 + 32 if unit == "deg" else values[unit]  # type: ignore[operator]
        assert isinstance(si, float | int)
        assert isinstance(us, float | int)
        assert float(figures[name].value.split()[0]) == pytest.approx(
            si, abs=0.5001 if name.startswith("V") else 0.0501
        )
        assert float(figures[name].beside.split()[0]) == pytest.approx(us, abs=0.000501 if name[0] == "V" else 0.0501)
    assert told.words == sheet.words
    assert told.wrong is sheet.stop
    assert ("not measured" in figures["Surface over dew point"].value) is (surface is None)


def test_a_margin_that_is_not_enough_never_reads_as_if_it_were() -> None:
    dew = Air(air_degC=20, humidity_percent=80).dew_point_degC
    job = bench().at(NOW).read_air(20, 80, surface_degC=dew + 2.9996)
    told = VIEW.now(document(job), NOW)
    assert told.wrong
    assert next(f.value for f in told.figures if f.name == "Surface over dew point") == "2.99 °C"


def test_it_is_said_how_old_a_reading_is_and_where_it_is_from() -> None:
    job = bench().at(NOW).add(ev.ReadingTaken, air_degC=20, humidity_percent=50, source="shop.csv")
    made = document(job)
    assert VIEW.now(made, NOW).source == "Read just now, from shop.csv."
    assert VIEW.now(made, NOW + minutes(12)).source == "Read 12 min ago, from shop.csv."
    assert "too long ago" in VIEW.now(made, NOW + hours(5)).source
    assert VIEW.now(made, NOW - hours(1)).words == "No reading of the air yet. Press R to log it."


def test_air_that_is_only_expected_is_called_so() -> None:
    job = expected(bench().at(NOW).read_air(20, 50), (2, 12, 70))
    told = VIEW.now(document(job), NOW + hours(3))
    assert told.figures[0].value == "12.0 °C"
    assert told.expected
    assert told.source == "Expected since 11:00; last read 3 h ago, typed: 20 °C, 50 %."
    assert spoken(told, VIEW.comes(document(job), NOW), ()).startswith("Expected: Air 12.0 °C")
    assert VIEW.now(document(expected(bench().at(NOW), (1, 12, 70))), NOW + hours(2)).source == (
        "Expected since 10:00, not measured: press R to log a reading."
    )


def test_a_reading_of_the_hour_is_shown_though_the_heater_is_expected_to_be_off() -> None:
    """psychrolib: 21 °C and 45 % have their dew point at 8.63 °C, so air of 8 °C is saturated."""
    begun = NOW + minutes(2)
    made = document(expected(bench().at(NOW).read_air(21, 45, surface_degC=20), (1 / 30, 8, None), (13, 21, None)))
    at = begun + minutes(1)
    assert made.state.air.at(at).air_degC == 8  # type: ignore[union-attr]  # the sums go by it
    told = VIEW.now(made, at)
    assert [f.value for f in told.figures[:3]] == ["21.0 °C", "45 %", "11.4 °C"]
    assert told.words.startswith("The surface is 11.4 °C")
    assert not told.expected
    assert told.source == "Read 3 min ago, typed. The waits go by what is expected since 09:02: 8 °C (46 °F)."
    coming = VIEW.comes(made, at)
    assert coming.damp_at == at
    assert coming.words == (
        "As the air is expected since 09:02, the surface is within 3 °C of the dew point: 8 °C, dew point 8.0 °C."
    )
    assert VIEW.now(made, NOW + hours(1) - minutes(1)).figures[0].value == "21.0 °C"
    late = VIEW.now(made, NOW + hours(1))
    assert late.figures[0].value == "8.0 °C"
    assert late.source == "Expected since 09:02; last read 60 min ago, typed: 21 °C, 45 %."


def test_a_reading_in_the_night_holds_for_an_hour_and_then_the_night_goes_on_since_its_beginning() -> None:
    job = expected(bench().at(NOW).read_air(20, 50), (1, 12, 70), (14, 20, None))
    made = document(job.at(NOW + hours(3)).read_air(15, 60))
    assert VIEW.now(made, NOW + hours(3) + minutes(59)).source == "Read 59 min ago, typed."
    told = VIEW.now(made, NOW + hours(4))
    assert told.figures[0].value == "12.0 °C"
    assert told.source == "Expected since 10:00; last read 60 min ago, typed: 15 °C, 60 %."


def test_after_a_reading_of_the_hour_an_expected_step_that_is_dry_is_no_matter() -> None:
    made = document(expected(bench().at(NOW).read_air(21, 45), (0.5, 15, 50)))
    assert VIEW.comes(made, NOW + minutes(40)).words == "No other change is expected since 09:30."


def test_a_surface_below_the_dew_point_is_as_far_below_in_the_figures_as_in_the_words() -> None:
    dew = Air(air_degC=20, humidity_percent=80).dew_point_degC
    told = VIEW.now(document(bench().at(NOW).read_air(20, 80, surface_degC=dew - 1.2346)), NOW)
    assert next(f.value for f in told.figures if f.name == "Surface over dew point") == "-1.23 °C"
    assert "1.23 °C" in told.words


# --- the lines ---------------------------------------------------------------------------------------------


def flat(found: tuple[Run, ...]) -> list[tuple[bool, list[tuple[float, float]]]]:
    return [(run.sure, [(round(at / 3600, 3), value) for at, value in run.points]) for run in found]


def test_what_was_read_is_sure_until_now_and_the_rest_is_supposed() -> None:
    job = bench(NOW - hours(10))
    job.at(NOW - hours(3)).read_air(20, 50, surface_degC=19).at(NOW - hours(1)).read_air(18, 55)
    expected(job.at(NOW), (6, 12, None))
    shown = picture(job, past=8, ahead=12)
    assert flat(shown.lines[Line.AIR]) == [
        (True, [(7, 20), (9, 20), (9, 18), (10, 18)]),
        (False, [(10, 18), (10, 18), (16, 18), (16, 12), (22, 12)]),
    ]
    assert flat(shown.lines[Line.SURFACE]) == [(True, [(7, 19), (9, 19)])]
    assert (shown.start_s, shown.now_s, shown.end_s) == (2 * 3600, 10 * 3600, 22 * 3600)
    assert (shown.low_degC, shown.high_degC) == (pytest.approx(8.79, abs=0.05), 20)


def test_a_reading_speaks_for_four_hours_and_then_there_is_a_gap() -> None:
    """Readings about every four hours: practice beside ISO 8502-4."""
    job = bench(NOW - hours(10))
    job.at(NOW - hours(8)).read_air(20, 50).at(NOW - hours(1)).read_air(19, 50)
    shown = picture(job, past=9, ahead=1)
    assert [(a / 3600, b / 3600) for a, b in shown.gaps] == [(6, 9)]
    assert [sure for sure, _ in flat(shown.lines[Line.AIR])] == [True, False, True, False]
    assert picture(job, NOW + hours(5), past=1, ahead=1).gaps == (((14) * 3600.0, 15 * 3600.0),)
    assert not picture(job, NOW - hours(9)).gaps  # before the first reading nothing is missing


@given(
    st.lists(st.tuples(st.integers(-48, 24), st.floats(-5, 40), st.floats(5, 100)), max_size=12),
    st.lists(st.tuples(st.integers(-48, 48), st.floats(-5, 40)), max_size=8, unique_by=lambda step: step[0]),
    st.integers(-40, 20),
)
@examples(100)
def test_what_is_drawn_is_what_the_windows_go_by(
    readings: list[tuple[int, float, float]], steps: list[tuple[int, float]], now_h: int
) -> None:
    job = bench(NOW - hours(60))
    for hour, degC, percent in sorted(readings, key=lambda r: r[0]):
        job.at(NOW + hours(hour)).read_air(degC, percent)
    points = tuple(ev.CoursePoint(at=NOW + hours(h), air_degC=degC) for h, degC in sorted(steps))
    job.at(NOW - hours(59)).add(ev.CourseExpected, points=points)
    state, found = job.state, Steps()
    found.follow(state)
    ahead = [(state.air.seconds(at), air) for at, air in state.air.expected]
    a, b, now_s = (state.air.seconds(NOW + hours(h)) for h in (-30, 30, now_h))
    drawn = found.stretches(ahead, a, b, now_s)
    for one, other in pairwise(drawn):
        assert one.to_s == other.from_s
    for s in drawn:
        assert a <= s.from_s < s.to_s <= b
        air = state.air.at(state.air._when((s.from_s + s.to_s) / 2))
        assert air is not None
        assert (s.values[Line.AIR], s.values[Line.HUMIDITY]) == (air.air_degC, air.humidity_percent)
        assert s.values[Line.DEW] == air.dew_point_degC
        assert not s.sure or s.to_s <= now_s
    covered = sum(s.to_s - s.from_s for s in drawn)
    first = min([*(r.at_s for r in found.reads), *(at for at, _ in ahead)], default=math.inf)
    assert covered == pytest.approx(max(0.0, b - max(a, first)))


@given(st.integers(1, 3_000), st.integers(0, 200), st.integers(0, 2**32))
@examples(30)
def test_however_many_readings_there_are_few_points_are_drawn_and_none_is_lost_that_stands_out(
    count: int, steps: int, seed: int
) -> None:
    chance = random.Random(seed)
    state = bench().state
    found = Steps()
    found.follow(state)
    for i in range(count):
        reading = ev.ReadingTaken(
            id=f"r{i}", at=NOW - hours(20) + timedelta(seconds=i * 72_000 / count),
            air_degC=round(chance.uniform(5, 30), 1), humidity_percent=round(chance.uniform(20, 99), 1),
            surface_degC=chance.choice([None, 15.0]),
        )  # fmt: skip
        state.readings.append(reading)
    found.follow(state)
    assert len(found.reads) == count
    ahead = [(i * 300.0 + 90_000, Air(air_degC=10 + i % 9, humidity_percent=60)) for i in range(steps)]
    a, b, now_s = 0.0, 48 * 3600.0, 24 * 3600.0
    drawn = found.stretches(ahead, a, b, now_s)
    for line in Line:
        made = runs(drawn, line, a, b)
        points = [point for run in made for point in run.points]
        assert len(points) <= MOST_POINTS
        values = [s.values[line] for s in drawn if line in s.values]
        if values and points:
            assert {min(y for _, y in points), max(y for _, y in points)} <= set(values)
        if line is not Line.SURFACE:
            assert (min(values), max(values)) == (min(y for _, y in points), max(y for _, y in points))
        for run in made:
            assert [x for x, _ in run.points] == sorted(x for x, _ in run.points)
        assert [run.sure for run in made if run.points[-1][0] > now_s + 900] in ([], [False])
    wet = damp(drawn, a, b)
    assert len(wet) <= MOST_POINTS
    assert bool(wet) is any(s.margin < 3 - 1e-9 for s in drawn)


def test_readings_are_taken_in_as_they_come_and_in_the_order_of_time() -> None:
    job = bench().at(NOW).read_air(20, 50)
    state, found = job.state, Steps()
    found.follow(state)
    first = found.reads[0]
    for at in (NOW + hours(2), NOW + hours(1)):
        state.readings.append(ev.ReadingTaken(id="x", at=at, air_degC=10, humidity_percent=50))
        found.follow(state)
    assert found.reads[0] is first  # not worked out anew
    assert [r.at_s for r in found.reads] == sorted(r.at_s for r in found.reads)
    assert len(found.reads) == 3
    found.follow(bench().state)
    assert found.reads == []


def test_where_the_surface_is_too_near_to_the_dew_point_is_marked() -> None:
    job = bench(NOW - hours(10)).at(NOW - hours(4)).read_air(20, 80, surface_degC=18)
    job.at(NOW - hours(2)).read_air(20, 50, surface_degC=18).at(NOW - hours(1)).read_air(20, 84)
    marked = picture(job).damp
    assert [(d.from_s / 3600, d.to_s / 3600) for d in marked[:2]] == [(6, 8), (9, 10)]
    assert marked[0].surface_degC == 18
    assert marked[0].dew_degC == pytest.approx(16.44, abs=0.01)  # psychrolib: 20 °C, 80 %
    assert marked[1].surface_degC == 20  # not measured: as warm as the air


# --- the axis ----------------------------------------------------------------------------------------------


def test_the_axis_has_the_hours_of_the_wall(zone: Callable[[str], None]) -> None:
    zone("Europe/Berlin")
    made = AirView()
    start = datetime(2026, 10, 24, 22, tzinfo=UTC)  # midnight in summer time; at 03:00 the clocks go back
    shown = made.picture(document(bench(start)), start, start, start + hours(26), hours(3))
    assert [t.label for t in shown.ticks] == [
        "00:00", "03:00", "06:00", "09:00", "12:00", "15:00", "18:00", "21:00", "00:00",
    ]  # fmt: skip
    assert [t.day for t in shown.ticks if t.day] == ["Sun 25", "Mon 26"]
    assert [t.at_s / 3600 for t in shown.ticks][:3] == [0, 4, 7]
    spring = datetime(2026, 3, 28, 23, tzinfo=UTC)
    shown = made.picture(document(bench(spring)), spring, spring, spring + hours(5), hours(1))
    assert [t.label for t in shown.ticks] == ["00:00", "01:00", "03:00", "04:00", "05:00", "06:00"]


# --- the windows -------------------------------------------------------------------------------------------


def test_a_bar_tells_the_card_and_what_the_cold_adds_apart() -> None:
    job = bench(NOW - hours(5)).at(NOW - hours(4)).read_air(10, 50).coat(mix=None)
    made = document(job)
    cure = next(b for b in VIEW.bars(made, NOW) if "cure" in b.what)
    span = next(w for w in made.windows if w.kind == "cure").span
    assert cure.from_s == 3600
    assert cure.card_s == 3600 + 24 * 3600
    assert cure.due_s == made.state.air.seconds(span.opens_at) > cure.card_s + 3600
    # 4 h at 10 °C: exp(50 000 / 8.314 * (1/293.15 - 1/283.15)) = 0.485 of the pace, so 1.94 h of 24 (ASTM C1074's te)
    assert cure.words == f"Left shell, Two-part clear: cure, {clock_time(span.opens_at, NOW, up=True)}, 8 % done"
    assert "cure, Mon" in cure.words
    assert cure.waits
    assert not cure.needed
    assert "10 °C below the card's 20" in cure.why
    assert cure.words in spoken(VIEW.now(made, NOW), VIEW.comes(made, NOW), VIEW.bars(made, NOW))


def test_a_wait_that_does_not_end_has_no_end() -> None:
    frozen = replace(SLOW, paces={CardTime.CURE: DoublingPacing(reference_degC=20, least_degC=15)})
    job = JobBuilder(NOW).card(frozen).piece().layer("clear", frozen, 1).read_air(10, 50).coat(mix=None)
    cure = next(b for b in VIEW.bars(document(job), NOW) if "cure" in b.what)
    assert cure.due_s is None
    assert cure.what == "cure, not in this air"


def test_what_something_waits_for_comes_first_and_the_rest_is_counted() -> None:
    job = JobBuilder(NOW - hours(1)).card(CLEAR, COLOUR)
    for i in range(5):
        job.piece(f"p{i}", name=f"Piece {i}").layer(f"k{i}", COLOUR, 2).layer(f"c{i}", CLEAR, 2, activator="slow")
        job.at(NOW - minutes(3 - i / 2)).coat(f"k{i}", mix=None)
        job.at(NOW - minutes(50)).mix(f"c{i}").pour("base", 20).pour("activator", 10).stir("activated")
    job.at(NOW - minutes(30)).piece("last", name="Last").layer("done", SLOW, 1).card(SLOW).coat("done", mix=None)
    shown = picture(job, past=1, ahead=3)
    assert len(shown.bars) == MOST_BARS
    assert shown.more == len(VIEW.bars(document(job), NOW)) - MOST_BARS > 0
    every = VIEW.bars(document(job), NOW)
    assert [b.needed for b in every] == sorted([b.needed for b in every], reverse=True)
    flash = every[0]
    assert flash.what.startswith("coat 2 opens, ")
    life = next(b for b in every if "pot life" in b.what)
    assert life.what.startswith("pot life ends, ")
    assert (life.waits, life.closes_s) == (False, None)
    assert life.due_s == life.card_s


def test_an_open_window_shows_its_deadline() -> None:
    job = JobBuilder(NOW - hours(2)).card(COLOUR, CLEAR).piece("p", name="Panel")
    job.layer("colour", COLOUR, 1).layer("clear", CLEAR, 1).coat("colour", mix=None)
    recoat = next(b for b in VIEW.bars(document(job), NOW) if "recoat" in b.what)
    assert recoat.what == "recoat closes, Sun 07:00"
    assert recoat.due_s == 20 * 60
    assert recoat.closes_s == 24 * 3600
    waiting = next(b for b in VIEW.bars(document(job), NOW - minutes(110)) if "recoat" in b.what)
    assert waiting.what == "recoat opens, 07:20, 50 % done"
    assert waiting.waits


# --- what comes --------------------------------------------------------------------------------------------


def test_the_trend_of_the_last_hour_says_when_the_dew_point_comes() -> None:
    job = bench(NOW - hours(3))
    for i in range(7):
        job.at(NOW - minutes(60 - 10 * i)).read_air(20 - i / 6, 60, surface_degC=18 - i / 6 * 2)
    coming = VIEW.comes(document(job), NOW)
    # the surface falls by 2 °C an hour to 16, the dew point by about 0.95 to 11.11 (psychrolib): 1.88 K at 1.05 K/h
    assert coming.damp_at is not None
    assert (coming.damp_at - NOW) / hours(1) == pytest.approx(1.88 / 1.05, abs=0.06)
    assert coming.words == (
        f"If it goes on as in the last hour, the surface comes within 3 °C of the dew point at {coming.damp_at:%H:%M}."
    )
    # a step that is expected before that ends the trend
    warmed = expected(job.at(NOW), (0.5, 22, 40))
    assert VIEW.comes(document(warmed), NOW).damp_at is None


def test_the_expected_course_says_when_the_dew_point_comes() -> None:
    """psychrolib: 9.27 °C is the dew point of 20 °C and 50 %, so air that cools to 12 stands 2.73 K above it."""
    job = expected(bench(NOW - hours(3)).at(NOW).read_air(20, 50, surface_degC=20), (9, 12, None), (22, 20, None))
    coming = VIEW.comes(document(job), NOW)
    assert coming.damp_at == NOW + hours(9)
    assert coming.words.startswith(
        "As the air is expected, the surface comes within 3 °C of the dew point at 18:00: 12"
    )
    job = expected(bench(NOW - hours(3)).at(NOW).read_air(20, 50, surface_degC=20), (9, 13, None), (22, 20, None))
    assert VIEW.comes(document(job), NOW).words == (
        "As the air is expected, the surface stays 3 °C above the dew point until Sun 07:00."
    )


def test_a_cold_piece_in_air_that_is_warmed_and_damp_is_foreseen() -> None:
    job = expected(bench(NOW - hours(3)).at(NOW).read_air(15, 50, surface_degC=15), (9, 10, 50), (22, 21, 60))
    assert VIEW.comes(document(job), NOW).damp_at == NOW + hours(22)  # dew point 12.9 °C, the piece still 10


def test_where_nothing_is_known_of_what_comes_it_is_said() -> None:
    made = document(bench(NOW - hours(3)).at(NOW).read_air(20, 50))
    assert VIEW.comes(made, NOW).words.startswith("Nothing is said of the hours to come")
    assert VIEW.comes(document(bench()), NOW).words == ""
    damp_air = document(bench(NOW - hours(3)).at(NOW).read_air(20, 90))
    assert VIEW.comes(damp_air, NOW).damp_at == NOW
    assert "measure the surface" in VIEW.comes(damp_air, NOW).words
    wet = document(bench(NOW - hours(3)).at(NOW).read_air(20, 90, surface_degC=19))
    assert VIEW.comes(wet, NOW).words == ""
    assert VIEW.now(wet, NOW).words.startswith("Don't paint")
