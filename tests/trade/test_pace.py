"""Pace against published rows and sums by hand; the careful directions; what a painter is told.

Ids such as 6-arr-50-20-10 are rows of the project's reference list. R: read in a published source; C: computed from a
published equation; M: from memory. Equations: Arrhenius with R = 8.314462618 J/(mol K) (CODATA 2018); the rule of ten
degrees, t = t_ref x Q10^((T_ref - T) / 10); ASTM C1074, equivalent age t_e = sum exp(-Q (1/Ta - 1/Ts)) dt with Q =
5000 K (its appendix, from memory) and K = degC + 273; Carrier's (0.089 + 0.0782 V) (p_w - p_a) / Y (ASHRAE Handbook,
HVAC Applications, natatoriums, from memory).
"""

import math

import msgspec
import pytest

from benchtool.trade.air import Air, saturation_Pa
from benchtool.trade.pace import (
    NEVER,
    Arrhenius,
    Doubling,
    Evaporation,
    Kind,
    NotAPace,
    TimesTable,
    equivalent_age_s,
    needed_s,
    pace_of,
    pace_of_deadline,
    pace_of_wait,
    time_factor,
    why_words,
)
from benchtool.trade.paceintegral import FAR_S, HOLD_S, Course, Integral, age_words

C1074_KJ_MOL = 5000 * 8.314462618 / 1000
"""Q = 5000 K as an activation energy."""

TABLE = TimesTable(((10, 2400), (20, 1200), (30, 900)), reference_degC=20)


def air(degC: float, percent: float = 50, **more: float) -> Air:
    return Air(air_degC=degC, humidity_percent=percent, **more)


# --- published values ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("energy", "reference", "degC", "factor"),
    [
        pytest.param(50, 20, 10, 2.064, id="6-arr-50-20-10 C+M"),
        pytest.param(50, 20, 30, 0.508, id="6-arr-50-20-30 C+M"),
        pytest.param(50, 20, 15, 1.428, id="6-arr-50-20-15 C+M"),
        pytest.param(50, 20, 5, 3.023, id="6-arr-50-20-5 C+M"),
        pytest.param(40, 20, 10, 1.785, id="6-arr-40-20-10 C+M"),
        pytest.param(70, 20, 10, 2.757, id="6-arr-70-20-10 C+M"),
    ],
)
def test_arrhenius(energy: float, reference: float, degC: float, factor: float) -> None:
    assert time_factor(Arrhenius(energy, reference), air(degC)) == pytest.approx(factor, rel=0.003)


@pytest.mark.parametrize(
    ("degC", "factor"),
    [
        pytest.param(10, 2.0, id="6-q10-20-10 R+C"),
        pytest.param(30, 0.5, id="6-q10-20-30 R+C"),
        pytest.param(15, 1.414, id="6-q10-20-15 R+C"),
    ],
)
def test_doubling(degC: float, factor: float) -> None:
    """UFGS 09 97 says the same of pot life: it about halves for each 10 degC warmer and doubles for each colder (R)."""
    assert time_factor(Doubling(20), air(degC)) == pytest.approx(factor, rel=0.002)


@pytest.mark.parametrize(
    ("degC", "reference", "gamma"),
    [
        pytest.param(5, 23, 0.335, id="6-c1074-gamma-5-23 C+M"),
        pytest.param(10, 23, 0.46, id="6-c1074-gamma-10-23 C+M"),
        pytest.param(20, 23, 0.841, id="6-c1074-gamma-20-23 C+M"),
        pytest.param(30, 23, 1.477, id="6-c1074-gamma-30-23 C+M"),
        pytest.param(10, 20, 0.547, id="6-c1074-gamma-10-20 C+M"),
        pytest.param(30, 20, 1.756, id="6-c1074-gamma-30-20 C+M"),
    ],
)
def test_age_conversion_factor(degC: float, reference: float, gamma: float) -> None:
    assert 1 / time_factor(Arrhenius(C1074_KJ_MOL, reference), air(degC)) == pytest.approx(gamma, abs=0.003)


@pytest.mark.parametrize(
    ("stretches", "age_h"),
    [
        pytest.param([(12, 6), (15, 6), (18, 6), (20, 6)], 19.51, id="6-hist-h1 R+C+M"),
        pytest.param([(10, 24), (25, 12), (-2, 12)], 32.11, id="6-hist-h2 R+C+M"),
    ],
)
def test_equivalent_age(stretches: list[tuple[float, float]], age_h: float) -> None:
    history = [(hours * 3600, air(degC)) for degC, hours in stretches]
    assert equivalent_age_s(Arrhenius(C1074_KJ_MOL, 20), history) / 3600 == pytest.approx(age_h, rel=0.002)


@pytest.mark.parametrize(
    ("energy", "warm", "cold"),
    [pytest.param(47.84, 20, 10, id="6-ea-equiv 10-20 C"), pytest.param(51.22, 30, 20, id="6-ea-equiv 20-30 C")],
)
def test_energy_that_doubles(energy: float, warm: float, cold: float) -> None:
    """The rows are good to 0.05 kJ/mol, which is 0.1 % of the time."""
    assert time_factor(Arrhenius(energy, warm), air(cold)) == pytest.approx(2, rel=0.001)


@pytest.mark.parametrize(
    ("slow", "fast", "ratio"),
    [
        pytest.param(0.1, 0.5, 1.323, id="6-dalton-v-0.1-0.5 R+M"),
        pytest.param(0.1, 1.0, 1.727, id="6-dalton-v-0.1-1.0 R+M"),
        pytest.param(0.0, 0.5, 1.439, id="6-dalton-v-0-0.5 R+M"),
    ],
)
def test_moving_air(slow: float, fast: float, ratio: float) -> None:
    model = Evaporation(20, 50, slow)
    assert 1 / time_factor(model, air(20, speed_m_s=fast)) == pytest.approx(ratio, rel=0.005)


def test_vapour_pressure_deficit() -> None:
    """6-dalton-1 C+M: from 20 degC and 50 % to 10 degC and 70 %, both at 0.1 m/s."""
    assert time_factor(Evaporation(20, 50, 0.1), air(10, 70, speed_m_s=0.1)) == pytest.approx(3.174, rel=0.01)
    assert time_factor(Evaporation(20, 50, 0.1), air(10, 70)) == pytest.approx(3.174, rel=0.01)


@pytest.mark.parametrize(
    ("degC", "Pa"),
    [
        pytest.param(10, 1227, id="6-vp-water-10 C"),
        pytest.param(20, 2339, id="6-vp-water-20 C"),
        pytest.param(30, 4248, id="6-vp-water-30 C"),
    ],
)
def test_vapour_pressure_that_evaporation_stands_on(degC: float, Pa: float) -> None:
    """`chemicals` 1.5.2, Perry table 2-8 (DIPPR 101)."""
    assert saturation_Pa(degC) == pytest.approx(Pa, rel=0.005)
    # by hand: the card's air is 20 degC and 50 %, so 2339 x 0.5 = 1169.5 Pa of deficit
    assert time_factor(Evaporation(20, 50), air(degC, 40)) == pytest.approx(1169.5 / (Pa * 0.6), rel=0.01)


# --- a wait is never shortened, a deadline never put off -------------------------------------------------


@pytest.mark.parametrize(
    "model", [Arrhenius(50, 20), Doubling(20), Evaporation(20, 50)], ids=lambda m: type(m).__name__
)
def test_careful_in_both_directions(model: Arrhenius | Doubling | Evaporation) -> None:
    assert pace_of_wait(model, air(30)) == 1
    assert pace_of_wait(model, air(10)) == pytest.approx(1 / time_factor(model, air(10)))
    assert pace_of_wait(model, air(10)) < 0.6
    assert pace_of_deadline(model, air(10)) == 1
    assert pace_of_deadline(model, air(30)) == pytest.approx(1 / time_factor(model, air(30)))
    assert pace_of_deadline(model, air(30)) > 1.7


def test_no_model_is_the_card_as_it_stands() -> None:
    assert pace_of_wait(None, air(-10)) == pace_of_deadline(None, air(45)) == 1
    assert why_words(None, air(5)) == ""
    assert pace_of(None, Kind.WAIT)(air(5)) == 1


def test_the_colder_of_air_and_surface_for_a_wait_the_warmer_for_a_deadline() -> None:
    cold, hot = air(20, surface_degC=10), air(20, surface_degC=30)
    assert pace_of_wait(Doubling(20), cold) == pytest.approx(0.5)
    assert pace_of_wait(Doubling(20), hot) == 1
    assert pace_of_deadline(Doubling(20), cold) == 1
    assert pace_of_deadline(Doubling(20), hot) == pytest.approx(2)
    assert pace_of_deadline(Doubling(20), hot, in_cup=True) == 1
    assert pace_of_wait(Doubling(20), cold, in_cup=True) == 1
    assert pace_of(Doubling(20), Kind.DEADLINE, in_cup=True)(hot) == 1


def test_a_fan_makes_up_for_no_damp_unless_the_card_gives_its_times_for_one() -> None:
    damp = air(20, 80, speed_m_s=1.0)
    assert pace_of_wait(Evaporation(20, 50, 0.1), damp) == pytest.approx(0.2 / 0.5)
    assert pace_of_wait(Evaporation(20, 50, 1.0), damp) == pytest.approx(0.2 / 0.5)
    assert pace_of_wait(Evaporation(20, 50, 0.1), air(20, 80, speed_m_s=0)) == pytest.approx(0.4 * 0.089 / 0.09682)
    assert pace_of_deadline(Evaporation(20, 50, 0.1), air(20, 50, speed_m_s=1)) == pytest.approx(1.727, rel=0.005)


@pytest.mark.parametrize("percent", [98, 99, 99.9, 100])
@pytest.mark.parametrize("degC", [-40, 0, 20, 34])
def test_near_saturation_a_waterborne_layer_never_dries(degC: float, percent: float) -> None:
    damp, model = air(degC, percent), Evaporation(20, 50)
    assert time_factor(model, damp) == NEVER
    assert pace_of_wait(model, damp) == 0
    assert pace_of_deadline(model, damp) == 1
    assert "never dries" in why_words(model, damp)
    assert Integral(model, "wait", Course([(0, damp)])).due(0, 600) is None
    assert Integral(model, "deadline", Course([(0, damp)])).due(0, 600) == 600


def test_a_surface_at_its_dew_point_never_dries_either() -> None:
    """At 20 degC and 60 % the dew point is 12 degC (a psychrometric chart, from memory)."""
    wet = air(20, 60, surface_degC=11.9)
    assert pace_of_wait(Evaporation(20, 50), wet) == 0
    assert why_words(Evaporation(20, 50), wet).startswith("At 11.9 °C the piece is near its dew point")
    assert pace_of_wait(Evaporation(20, 50), air(20, 60, surface_degC=14)) > 0


def test_below_the_least_temperature_nothing_counts() -> None:
    model = Arrhenius(50, 20, least_degC=10)
    assert time_factor(model, air(9.9)) == NEVER
    assert pace_of_wait(model, air(9.9)) == 0
    assert pace_of_wait(model, air(10)) == pytest.approx(1 / 2.064, rel=0.003)
    assert pace_of_deadline(model, air(9.9)) == 1
    assert why_words(model, air(5)) == (
        "At 5 °C, below the 10 °C the card asks for, nothing counts: warm it, without a flame"
    )


# --- the card's own table --------------------------------------------------------------------------------


def test_a_table_is_the_cards_own() -> None:
    for degC, seconds in TABLE.points:
        assert TABLE.wait_s(degC) == TABLE.deadline_s(degC) == seconds
    assert pace_of_wait(TABLE, air(30)) == pytest.approx(1200 / 900)  # shorter than the card's time: the table says so
    assert pace_of_deadline(TABLE, air(10)) == pytest.approx(0.5)  # and later, likewise


def test_a_deadline_of_a_table_is_not_put_off_below_the_least_temperature_either() -> None:
    table = TimesTable(TABLE.points, 20, least_degC=10)
    assert pace_of_wait(table, air(5)) == 0
    assert pace_of_deadline(table, air(5)) == pytest.approx(0.5)  # as in its first row


def test_between_rows_a_wait_leans_long_and_a_deadline_short() -> None:
    assert TABLE.wait_s(15) == pytest.approx(1800)  # the middle of 2400 and 1200
    assert TABLE.deadline_s(15) == pytest.approx(math.sqrt(2400 * 1200))  # their geometric mean


def test_beyond_its_rows_a_table_only_errs_on_the_careful_side() -> None:
    assert TABLE.wait_s(45) == 900
    assert TABLE.wait_s(0) == pytest.approx(4800)
    assert TABLE.deadline_s(0) == 2400
    assert TABLE.deadline_s(40) == pytest.approx(450)  # by halving: the last rows fall only by a quarter
    steep = TimesTable(((10, 4800), (20, 1200)))
    assert steep.wait_s(0) == pytest.approx(4 * 4800)
    assert steep.deadline_s(30) == pytest.approx(300)


def test_one_row_and_flat_rows() -> None:
    one = TimesTable(((20, 600),))
    assert (one.wait_s(30), one.wait_s(10), one.deadline_s(10)) == (600, pytest.approx(1200), 600)
    assert one.deadline_s(30) == pytest.approx(300)
    flat = TimesTable(((10, 600), (20, 600)))
    assert flat.wait_s(15) == flat.deadline_s(15) == 600


@pytest.mark.parametrize("degC", [-5, 10, 12, 20, 27, 30, 45])
@pytest.mark.parametrize("kind", list(Kind))
def test_in_steady_air_a_window_takes_the_tables_time(degC: float, kind: Kind) -> None:
    """Whatever temperature the card's printed time is said to hold at."""
    for reference in (5, 20, 23, 40):
        table = TimesTable(TABLE.points, reference_degC=reference)
        due_s = Integral(table, kind, Course([(0, air(degC))])).due(100, needed_s(table, kind, 1.0))
        assert due_s == pytest.approx(100 + (table.wait_s(degC) if kind is Kind.WAIT else table.deadline_s(degC)))
    assert needed_s(Doubling(), kind, 77.0) == needed_s(None, kind, 77.0) == 77


# --- progress over readings ------------------------------------------------------------------------------


def test_a_night_in_the_cold_by_hand() -> None:
    """2 h at the card's 20 degC, 10 h at 10 degC (half as fast), then 20 degC: 8 h of cure are over at hour 13."""
    course = Course([(0, air(20)), (2 * 3600, air(10)), (12 * 3600, air(20))])
    night = Integral(Doubling(20), "wait", course)
    assert night.due(0, 8 * 3600) == pytest.approx(13 * 3600)
    assert night.between(0, 7 * 3600) == pytest.approx(4.5 * 3600)
    assert night.at(12 * 3600) == pytest.approx(7 * 3600)
    assert night.due(0, 2 * 3600) == 2 * 3600
    assert Integral(Doubling(20), "deadline", course).due(0, 8 * 3600) == 8 * 3600


def test_without_readings_the_cards_time_stands() -> None:
    empty = Integral(Arrhenius(50), "wait")
    assert empty.due(1_764_000_000.25, 600.5) == 1_764_000_000.25 + 600.5
    assert empty.between(-50, 50) == 100
    empty.append(1000, air(5))  # and before the first reading, likewise
    assert empty.due(0, 999) == 999
    assert empty.due(0, 1000) == 1000
    assert empty.due(0, 1001) == pytest.approx(1000 + time_factor(Arrhenius(50), air(5)))
    assert empty.at(0) == -1000


def test_readings_before_the_start() -> None:
    tank = Integral(Doubling(20), "wait", Course([(-7200, air(0)), (-60, air(10))]))
    assert tank.due(0, 600) == 1200
    assert tank.due(-120, 600) == pytest.approx(-60 + 2 * (600 - 15))


def test_of_two_readings_of_one_instant_the_later_counts() -> None:
    tank = Integral(Doubling(20), "wait", Course([(0, air(0)), (0, air(10))]))
    assert tank.due(0, 600) == 1200
    tank.append(0, air(20))
    assert tank.due(0, 600) == 600
    tank.course.expect([(100, air(0))])
    tank.append(100, air(0))
    tank.append(100, air(10))
    assert tank.due(0, 600) == 1100


def test_a_reading_that_comes_late_is_put_in_its_place() -> None:
    tank = Integral(Doubling(20), "wait", Course([(0, air(20)), (600, air(20))]))
    assert tank.due(0, 1200) == 1200
    tank.append(300, air(10))
    assert tank.due(0, 1200) == 1350
    assert tank.course.age_s(1000) == 400


def test_the_expected_course_lies_ahead_and_then_its_last_value_holds() -> None:
    course = Course([(0, air(20))], expected=[(600, air(10)), (1800, air(20))])
    tank = Integral(Doubling(20), "wait", course)
    assert tank.due(0, 600) == 600
    assert tank.due(0, 900) == 1200
    assert tank.due(0, 1500) == 2100
    course.append(700, air(20))  # warmer than expected
    assert tank.due(0, 900) == 950
    course.expect([(600, air(10)), (800, air(10)), (10_000, air(-10))])
    assert tank.due(0, 900) == 1100
    course.expect([(600, air(10))])  # and without an expectation the last reading holds
    assert tank.due(0, 9000) == 9050


def test_a_heater_that_was_to_go_off_counts_as_off_until_a_reading_says_otherwise() -> None:
    course = Course([(0, air(20))])
    tank = Integral(Doubling(20), "wait", course)
    course.expect([(600, air(10))])
    course.append(3600, air(20))
    assert tank.between(0, 3600) == 600 + 1500
    course.append(600, air(15))  # a reading counts before the expectation of its instant
    assert tank.between(600, 3600) == pytest.approx(3000 / math.sqrt(2))
    course.expect([])
    assert tank.between(600, 3600) == pytest.approx(3000 / math.sqrt(2))


def test_an_expectation_alone() -> None:
    tank = Integral(Doubling(20), "wait", Course(expected=[(-600, air(10)), (600, air(0))]))
    assert tank.at(-600) == 0
    assert tank.due(-1200, 600) == -600
    assert tank.due(-600, 600) == 600
    assert tank.due(-600, 700) == 1000


def test_what_the_air_was() -> None:
    course = Course([(0, air(20)), (100, air(18))], expected=[(50, air(5)), (200, air(10))])
    asked = [course.at(t) for t in (-1, 0, 49, 50, 99, 100, 199, 200, 1e9)]
    assert [None if a is None else a.air_degC for a in asked] == [None, 20, 20, 5, 5, 18, 18, 10, 10]
    assert [course.age_s(t) for t in (-1, 0, 99, 250)] == [None, 0, 99, 150]
    assert course.ahead == ((200, air(10)),)


def test_a_pace_of_nothing_ends_when_the_air_changes() -> None:
    model = Evaporation(20, 50)
    tank = Integral(model, "wait", Course([(0, air(20)), (60, air(20, 100))], expected=[(3600, air(20))]))
    assert tank.due(0, 60) == 60
    assert tank.due(0, 600) == pytest.approx(3600 + 540)
    tank.course.expect([])
    assert tank.due(0, 600) is None
    assert tank.due(100, 0) == 100


def test_a_window_that_is_over_stays_over_when_damp_air_comes_in_that_instant() -> None:
    tank = Integral(Evaporation(20, 50), "wait", Course([(0.1 * i, air(20, 50 + 0.1 * i)) for i in range(300)]))
    for needs_s in (0.7, 7.3, 29.9, 300.1):
        due_s = tank.due(0.3, needs_s)
        damp = Integral(Evaporation(20, 50), "wait", Course([(0.1 * i, air(20, 50 + 0.1 * i)) for i in range(300)]))
        damp.append(due_s, air(20, 100))
        assert damp.due(0.3, needs_s) == pytest.approx(due_s, abs=1e-6)


def test_the_noise_of_sums_never_shortens_a_wait_nor_puts_off_a_deadline() -> None:
    warm, cold = (Course((0.1 * i, air(degC)) for i in range(1000)) for degC in (30, 10))
    wait, deadline = Integral(Doubling(20), "wait", warm), Integral(Doubling(20), "deadline", cold)
    for i in range(900):
        start_s = 0.07 * i
        assert wait.due(start_s, 7.7) >= start_s + 7.7
        assert start_s <= deadline.due(start_s, 7.7) <= start_s + 7.7
        assert deadline.due(start_s, 1e-7) >= start_s


def test_what_lacks_next_to_nothing_at_the_end_of_a_slow_step_is_over_there() -> None:
    tank = Integral(Arrhenius(90, 40), "wait", Course([(0, air(-40)), (1000, air(40))]))
    assert tank.between(0, 1000) < 0.01
    assert tank.due(0, tank.between(0, 1000) + 5e-7) == pytest.approx(1000, abs=1e-6)


def test_what_takes_longer_than_a_lifetime_is_never() -> None:
    slow = Integral(Arrhenius(100, 40), "wait", Course([(0, air(-40))]))
    assert 0 < pace_of_wait(Arrhenius(100, 40), air(-40)) < 1e-5
    assert slow.due(0, 7 * 86_400) is None
    assert slow.due(0, 1) < FAR_S
    table = TimesTable(((0, 3650 * 86_400.0), (20, 60)), reference_degC=20)
    assert Integral(table, "deadline", Course([(0, air(0))])).due(5, 3650 * 86_400) == 5 + FAR_S


def test_two_windows_share_a_course() -> None:
    course = Course()
    wait, deadline = Integral(Doubling(20), Kind.WAIT, course), Integral(Doubling(20), "deadline", course)
    wait.append(0, air(10))
    assert (wait.due(0, 60), deadline.due(0, 60)) == (120, 60)
    deadline.append(0, air(30))
    assert (wait.due(0, 60), deadline.due(0, 60)) == (60, 30)


# --- words -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("model", "reading", "kind", "words"),
    [
        (Doubling(21), air(12), "wait", "9 °C below the card's 21: takes 1.9 times as long"),
        (Doubling(21), air(21, surface_degC=12), "wait", "Surface 9 °C below the card's 21: takes 1.9 times as long"),
        (Doubling(21), air(21), "wait", ""),
        (Doubling(21), air(30), "wait", "9 °C above the card's 21: that shortens no wait, the card's time stands"),
        (Doubling(21), air(30), "deadline", "9 °C above the card's 21: is over 1.9 times as soon"),
        (
            Doubling(21), air(12), "deadline",
            "9 °C below the card's 21: that puts off no deadline, the card's time stands",
        ),
        (TABLE, air(15), "wait", "5 °C below the card's 20: takes 1.5 times as long, by the card's own table"),
        (TABLE, air(30), "wait", "10 °C above the card's 20: takes only 0.75 times as long, by the card's own table"),
        (TABLE, air(10), "deadline", "10 °C below the card's 20: lasts 2 times as long, by the card's own table"),
        (
            TABLE, air(0), "wait",
            "20 °C below the card's 20, colder than its table (10): takes 4 times as long, a guess on the safe side",
        ),
        (
            TABLE, air(35), "deadline",
            (
                "15 °C above the card's 20, warmer than its table (30): is over 1.9 times as soon, "
                "a guess on the safe side"
            ),
        ),
        (
            Evaporation(20, 50), air(20, 80), "wait",
            "80 % at 20 °C, against the card's 50 % at 20: takes 2.5 times as long",
        ),
        (
            Evaporation(20, 50), air(20, 80, speed_m_s=2), "wait",
            "80 % at 20 °C, its draught not counted, against the card's 50 % at 20: takes 2.5 times as long",
        ),
        (
            Evaporation(20, 50), air(20, 50, speed_m_s=0.5), "deadline",
            "50 % at 20 °C, air at 0.5 m/s, against the card's 50 % at 20: is over 1.3 times as soon",
        ),
        (
            Evaporation(20, 50), air(20, 99), "wait",
            "At 99 % humidity a waterborne layer never dries: wait for drier air, or warm the shop, without a flame",
        ),
        (
            Arrhenius(300), air(-40), "wait",
            "At -40 °C it gets on too slowly to count: warm it, without a flame",
        ),
    ],
)  # fmt: skip
def test_it_says_why(model: Arrhenius, reading: Air, kind: str, words: str) -> None:
    assert why_words(model, reading, Kind(kind)) == words


def test_an_old_reading_says_so() -> None:
    assert age_words(None) == age_words(HOLD_S) == ""
    assert age_words(3 * 3600) == "The last reading is 3 h old and is taken to hold still"


# --- bad input -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("model", "values", "told"),
    [
        (Arrhenius, {"energy_kJ_mol": 0}, "kJ/mol"),
        (Arrhenius, {"energy_kJ_mol": 50_000}, "kJ/mol"),
        (Arrhenius, {"energy_kJ_mol": math.nan}, "kJ/mol"),
        (Arrhenius, {"energy_kJ_mol": 50, "reference_degC": 293}, "-40 to 200"),
        (Arrhenius, {"energy_kJ_mol": 50, "least_degC": math.inf}, "-40 to 200"),
        (Arrhenius, {"energy_kJ_mol": 50, "least_degC": 30}, "least temperature"),
        (Doubling, {"factor": 0.5}, "factor"),
        (Doubling, {"factor": math.inf}, "factor"),
        (Doubling, {"reference_degC": math.nan}, "-40 to 200"),
        (Evaporation, {"reference_percent": 98}, "humidity"),
        (Evaporation, {"reference_percent": 0}, "humidity"),
        (Evaporation, {"reference_m_s": -1}, "m/s"),
        (TimesTable, {"points": ()}, "no rows"),
        (TimesTable, {"points": ((20, 0),)}, "20 °C"),
        (TimesTable, {"points": ((20, 1e9),)}, "ten years"),
        (TimesTable, {"points": ((20, 60), (10, 120))}, "cold to warm"),
        (TimesTable, {"points": ((20, 60), (20, 60))}, "cold to warm"),
        (TimesTable, {"points": ((10, 60), (20, 120))}, "more time"),
        (TimesTable, {"points": ((math.nan, 60),)}, "-40 to 200"),
    ],
)
def test_a_model_that_is_none(model: type, values: dict, told: str) -> None:
    with pytest.raises(NotAPace, match=told) as caught:
        model(**values)
    assert str(caught.value).count(". ") == 0


def test_a_model_is_read_from_a_file_and_checked() -> None:
    read = msgspec.json.decode(b'{"points": [[10, 2400], [20, 1200]], "reference_degC": 20}', type=TimesTable)
    assert read == TimesTable(((10, 2400), (20, 1200)), 20)
    assert msgspec.json.decode(msgspec.json.encode(read), type=TimesTable) == read
    with pytest.raises(msgspec.ValidationError, match="kJ/mol"):
        msgspec.json.decode(b'{"energy_kJ_mol": 50000}', type=Arrhenius)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_a_time_that_is_none_changes_nothing(bad: float) -> None:
    tank = Integral(Doubling(20), "wait", Course([(0, air(10))]))
    with pytest.raises(NotAPace):
        tank.append(bad, air(0))
    with pytest.raises(NotAPace):
        tank.course.expect([(5, air(0)), (bad, air(0))])
    for start, needs in ((bad, 5), (5, bad), (5, -1)):
        with pytest.raises(NotAPace):
            tank.due(start, needs)
    with pytest.raises(NotAPace):
        equivalent_age_s(Doubling(), [(bad, air(20))])
    assert tank.due(0, 60) == 120
    with pytest.raises(ValueError, match="sometime"):
        Integral(Doubling(20), "sometime")
