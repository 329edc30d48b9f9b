"""What holds of pace and progress in any air; checked against a plain sum in fractions and against scipy.integrate."""

import math
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from benchtool.trade.air import Air
from benchtool.trade.pace import (
    NEVER,
    Arrhenius,
    Doubling,
    Evaporation,
    Kind,
    Model,
    TimesTable,
    equivalent_age_s,
    needed_s,
    pace_of,
    pace_of_deadline,
    pace_of_wait,
    time_factor,
    why_words,
)
from benchtool.trade.paceintegral import Course, Integral

LAW = settings(max_examples=200, deadline=None, derandomize=True, database=None)

KINDS = st.sampled_from(Kind)


airs = st.builds(
    Air,
    air_degC=st.floats(-40, 50),
    humidity_percent=st.floats(1, 100) | st.sampled_from([1.0, 97.999, 98.0, 100.0]),
    surface_degC=st.none() | st.floats(-40, 100),
    speed_m_s=st.none() | st.floats(0, 30),
)


@st.composite
def tables(draw) -> TimesTable:
    degC = sorted(draw(st.sets(st.integers(-40, 120), min_size=1, max_size=6)))
    times = sorted(draw(st.lists(st.floats(1, 1e7), min_size=len(degC), max_size=len(degC))), reverse=True)
    return TimesTable(tuple(zip(map(float, degC), times, strict=True)), draw(st.floats(-10, 40)))


references = st.floats(0, 40)
leasts = st.none() | st.floats(-40, 0)
laws = st.one_of(
    st.builds(Arrhenius, st.floats(0.1, 300), references, leasts),
    st.builds(Doubling, references, st.floats(1, 10), leasts),
    st.builds(Evaporation, references, st.floats(1, 97.9), st.floats(0, 30), leasts),
)
"""Models that know no table, so that nothing is ever shortened or put off by them."""
models = laws | tables()
moments = st.integers(-2000, 20_000).map(float) | st.floats(-2000, 20_000)
points = st.lists(st.tuples(moments, airs), max_size=12)
needs = st.floats(1e-3, 10_000) | st.sampled_from([0.0, 600.0])


# --- the careful directions ------------------------------------------------------------------------------


@LAW
@given(model=laws, air=airs, in_cup=st.booleans())
def test_no_air_makes_a_wait_faster_or_a_deadline_slower_than_the_card(model: Model, air: Air, in_cup: bool) -> None:
    assert 0 <= pace_of_wait(model, air, in_cup=in_cup) <= 1
    assert 1 <= pace_of_deadline(model, air, in_cup=in_cup) <= NEVER


@LAW
@given(model=st.none() | laws, readings=points, expected=points, start=moments, needs_s=needs, in_cup=st.booleans())
def test_no_readings_make_a_wait_shorter_or_a_deadline_longer(
    model, readings, expected, start, needs_s, in_cup
) -> None:
    course = Course(readings, expected)
    wait = Integral(model, Kind.WAIT, course, in_cup=in_cup).due(start, needs_s)
    deadline = Integral(model, Kind.DEADLINE, course, in_cup=in_cup).due(start, needs_s)
    assert wait is None or wait >= start + needs_s
    assert deadline is not None
    assert start <= deadline <= start + needs_s


@LAW
@given(model=models, air=airs, kind=KINDS, in_cup=st.booleans())
def test_every_factor_is_a_number_and_every_reason_a_line(model: Model, air: Air, kind: Kind, in_cup: bool) -> None:
    factor = time_factor(model, air, kind, in_cup=in_cup)
    assert 1 / NEVER * (1 - 1e-9) <= factor <= NEVER
    assert 0 <= pace_of(model, kind, in_cup=in_cup)(air) < math.inf
    words = why_words(model, air, kind, in_cup=in_cup)
    assert words == " ".join(words.split())
    assert "?" not in words
    assert "inf" not in words


@LAW
@given(table=tables(), degC=st.floats(-40, 100))
def test_no_time_of_a_table_is_below_its_neighbours(table: TimesTable, degC: float) -> None:
    wait, deadline = table.wait_s(degC), table.deadline_s(degC)
    colder = [(t, s) for t, s in table.points if t <= degC]
    warmer = [(t, s) for t, s in table.points if t >= degC]
    if colder and warmer:
        (_, longer), (_, shorter) = colder[-1], warmer[0]
        assert shorter <= wait <= longer * (1 + 1e-12)
        assert shorter <= deadline <= wait * (1 + 1e-12)
    elif warmer:  # colder than the table: a wait at least doubles for each 10 degC, a deadline is not put off
        (first, longest) = warmer[0]
        assert wait >= longest * min(2 ** ((first - degC) / 10), NEVER) * (1 - 1e-9)
        assert deadline == longest
    else:  # warmer than the table: a wait is not shortened, a deadline at least halves for each 10 degC
        (last, shortest) = colder[-1]
        assert wait == shortest
        assert deadline <= shortest * 2 ** ((last - degC) / 10) * (1 + 1e-9)


@LAW
@given(table=tables(), air=airs, start=moments)
def test_in_steady_air_a_window_takes_what_the_table_says(table: TimesTable, air: Air, start: float) -> None:
    course = Course([(start, air)])
    colder = min(air.air_degC, math.inf if air.surface_degC is None else air.surface_degC)
    due = Integral(table, "wait", course).due(start, needed_s(table, Kind.WAIT, 0.0))
    if due is not None and time_factor(table, air) > 1.001 / NEVER:
        assert due - start == pytest.approx(table.wait_s(colder), rel=1e-6, abs=1e-6)


@LAW
@given(model=laws, air=airs, faster=st.floats(0, 30))
def test_no_fan_hurries_a_wait_beyond_the_cards_own_air(model: Model, air: Air, faster: float) -> None:
    usual = model.reference_m_s if isinstance(model, Evaporation) else 0.1
    at = {"air_degC": air.air_degC, "humidity_percent": air.humidity_percent, "surface_degC": air.surface_degC}
    fanned = pace_of_wait(model, Air(**at, speed_m_s=max(usual, faster)))
    assert fanned == pace_of_wait(model, Air(**at)) >= pace_of_wait(model, Air(**at, speed_m_s=min(usual, faster)))


# --- monotone ----------------------------------------------------------------------------------------------


@LAW
@given(
    model=st.none() | models, kind=KINDS, degC=st.lists(st.floats(-40, 30), min_size=1, max_size=8),
    warmer=st.floats(0, 15), percent=st.floats(2, 100), start=st.floats(-100, 3000), needs_s=needs,
)  # fmt: skip
def test_no_window_is_due_later_in_warmer_air(model, kind, degC, warmer, percent, start, needs_s) -> None:
    """At one humidity, and with a surface as warm as the air."""

    def due(by: float) -> float:
        course = [(300.0 * i, Air(air_degC=t + by, humidity_percent=percent)) for i, t in enumerate(degC)]
        found = Integral(model, kind, Course(course)).due(start, needs_s)
        return math.inf if found is None else found

    cold, warm = due(0), due(warmer)
    assert warm <= cold + 1e-6 or math.isclose(warm, cold, rel_tol=1e-9)


@LAW
@given(model=laws, readings=points, start=moments, needs_s=needs, more=st.tuples(moments, airs))
def test_a_later_reading_never_changes_what_was_due_before_it(model, readings, start, needs_s, more) -> None:
    at, air = more
    tank = Integral(model, "wait", Course(r for r in readings if r[0] < at))
    before = tank.due(start, needs_s)
    tank.append(at, air)
    if before is not None and before <= at:
        assert tank.due(start, needs_s) == pytest.approx(before, abs=1e-6)
    else:
        after = tank.due(start, needs_s)
        assert after is None or after >= at - 1e-6


@LAW
@given(model=models, kind=KINDS, readings=points, expected=points, start=moments, needs_s=needs)
def test_progress_at_the_due_time_is_what_was_needed(model, kind, readings, expected, start, needs_s) -> None:
    tank = Integral(model, kind, Course(readings, expected))
    due = tank.due(start, needs_s)
    if due is not None and due < 1e8:
        pace = tank.between(due - 1, due + 1)  # what a float of this size can tell apart, in progress
        assert tank.between(start, due) == pytest.approx(needs_s, rel=1e-9, abs=2e-6 * (1 + pace))
    assert tank.between(start, start + 50) >= 0


# --- incremental, and against a plain sum --------------------------------------------------------------------


@LAW
@given(
    model=models, kind=KINDS, start=moments, needs_s=needs,
    acts=st.lists(st.one_of(st.tuples(moments, airs), points, st.just("ask")), max_size=25),
)  # fmt: skip
def test_one_by_one_is_all_at_once(model, kind, start, needs_s, acts) -> None:
    """Readings late, twice, out of order, expectations changed, questions in between: the same to the last bit."""
    grown = Integral(model, kind)
    readings: list[tuple[float, Air]] = []
    expected: list[tuple[float, Air]] = []
    for act in acts:
        if isinstance(act, tuple):
            readings.append(act)
            grown.append(*act)
        elif isinstance(act, list):
            expected = act
            grown.course.expect(act)
        else:
            grown.due(start, needs_s)
    at_once = Integral(model, kind, Course(dict(readings).items(), expected))
    in_order = Integral(model, kind, Course(sorted(dict(readings).items(), key=lambda r: r[0]), expected))
    for t in (start, start + needs_s, *(t for t, _ in readings), *(t for t, _ in expected)):
        assert grown.at(t) == at_once.at(t) == in_order.at(t)
        assert grown.course.at(t) == at_once.course.at(t) == in_order.course.at(t)
        assert grown.course.age_s(t) == in_order.course.age_s(t)
    assert grown.due(start, needs_s) == at_once.due(start, needs_s) == in_order.due(start, needs_s)


def plain_due(model, kind, readings, expected, start, needs_s) -> Fraction | None:
    """Walk from step to step in fractions: what was last said of the air, and a pace of 1 before anything was."""
    pace = pace_of(model, kind)
    steps = sorted((dict(expected) | dict(readings)).items(), key=lambda step: step[0])
    now, left = Fraction(start), Fraction(needs_s)
    held = [pace(air) for t, air in steps if t <= start]
    going = Fraction(held[-1] if held else 1.0)
    for t, air in [s for s in steps if s[0] > start]:
        if (Fraction(t) - now) * going >= left:
            break
        left -= (Fraction(t) - now) * going
        now, going = Fraction(t), Fraction(pace(air))
    if left == 0:
        return now
    return now + left / going if going > 0 else None


@LAW
@given(model=st.none() | models, kind=KINDS, readings=points, expected=points, start=moments, needs_s=needs)
def test_due_is_that_of_a_plain_sum_in_fractions(model, kind, readings, expected, start, needs_s) -> None:
    found = Integral(model, kind, Course(readings, expected)).due(start, needs_s)
    plain = plain_due(model, kind, readings, expected, start, needs_s)
    if found is None:
        assert plain is None or plain - Fraction(start) > 1e9
    elif plain is not None and plain < 1e9:
        pace = max([pace_of(model, kind)(air) for _, air in (*readings, *expected)] or [1.0])
        slowest = min([p for _, a in (*readings, *expected) if (p := pace_of(model, kind)(a)) > 0] or [1.0])
        # the sums are good to about 1e-16 of the largest of them, which a slow pace stretches
        assert found == pytest.approx(float(plain), rel=1e-9, abs=1e-9 + 1e-11 * max(1.0, pace) / min(1.0, slowest))


# --- ASTM C1074 and scipy.integrate --------------------------------------------------------------------------

stretches_ = st.lists(st.tuples(st.floats(0.1, 30), st.floats(-10, 45)), min_size=1, max_size=10)


@LAW
@given(stretches=stretches_, energy=st.floats(20, 80), reference=st.sampled_from([20.0, 23.0]))
def test_equivalent_age_is_that_of_astm_c1074(stretches, energy, reference) -> None:
    """te = sum exp(-Q (1/Ta - 1/Ts)) dt, written out; windows credit no stretch above the card (gamma at most 1)."""
    history = [(h * 3600, Air(air_degC=t, humidity_percent=50)) for h, t in stretches]
    Q, Ts = energy * 1000 / 8.314462618, reference + 273.15
    gammas = [math.exp(-Q * (1 / (t + 273.15) - 1 / Ts)) for _, t in stretches]
    age_h = sum(h * g for (h, _), g in zip(stretches, gammas, strict=True))
    assert equivalent_age_s(Arrhenius(energy, reference), history) / 3600 == pytest.approx(age_h, rel=1e-9)

    starts = [0.0]
    for seconds, _ in history:
        starts.append(starts[-1] + seconds)
    course = Course(zip(starts, (air for _, air in history), strict=False))
    for kind, credit in ((Kind.WAIT, min), (Kind.DEADLINE, max)):
        windows_h = sum(h * credit(1.0, g) for (h, _), g in zip(stretches, gammas, strict=True))
        found = Integral(Arrhenius(energy, reference), kind, course).between(0, starts[-1])
        assert found / 3600 == pytest.approx(windows_h, rel=1e-9)


@LAW
@given(model=laws, kind=KINDS, readings=points, start=st.floats(-100, 5000), lasts=st.floats(1, 9000))
def test_progress_is_scipys_integral_of_the_pace(model, kind, readings, start, lasts) -> None:
    course = Course(readings)
    pace = pace_of(model, kind)

    def at(t: float) -> float:
        air = course.at(t)
        return 1.0 if air is None else pace(air)

    ends = [start, *sorted({t for t, _ in readings if start < t < start + lasts}), start + lasts]
    total = sum(quad(at, a, b)[0] for a, b in pairwise(ends) if b - a > 1e-6)
    found = Integral(model, kind, course).between(start, start + lasts)
    assert found == pytest.approx(total, rel=1e-6, abs=1e-5 * max([1.0, *(pace(a) for _, a in readings)]))


@pytest.mark.parametrize("kind", list(Kind))
def test_a_shop_that_cools_overnight_against_scipys_integral_of_the_smooth_curve(kind: Kind) -> None:
    """A reading a minute of a night that falls from 22 to 8 degC and rises again: the steps are nearly the curve."""

    def degC(t: float) -> float:
        return 15 + 7 * math.cos(2 * math.pi * t / 86_400)

    def gamma(t: float) -> float:
        found = math.exp(-50_000 / 8.314462618 * (1 / (degC(t) + 273.15) - 1 / 293.15))
        return min(1.0, found) if kind is Kind.WAIT else max(1.0, found)

    course = Course((60.0 * i, Air(air_degC=degC(60.0 * i), humidity_percent=50)) for i in range(1440))
    kinks = [86_400 * x for x in (0.125, 0.25, 0.5, 0.75, 0.875)]
    curve = quad(gamma, 0, 86_400, points=kinks, limit=400)[0]
    assert Integral(Arrhenius(50, 20), kind, course).between(0, 86_400) == pytest.approx(curve, rel=1e-4)
    assert equivalent_age_s(Arrhenius(50, 20), [(60.0, a) for a in course.settled[1]]) == pytest.approx(
        quad(lambda t: math.exp(-50_000 / 8.314462618 * (1 / (degC(t) + 273.15) - 1 / 293.15)), 0, 86_400)[0], rel=1e-4
    )
