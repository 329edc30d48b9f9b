"""Moist air against published values and a library of the ASHRAE equations, and what holds for all air.

Ids such as 3-si-20-50 are rows of the project's reference list; each test names the published source. C: computed by
psychrolib 2.5.0, from the ASHRAE Handbook - Fundamentals (2017), chapter 1; R: read in print; M: from memory.
"""

import math

import psychrolib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchtool.trade.air import (
    BLUSH_FAST_K,
    HIGHEST_DEW_DEGC,
    LEAST_TREND_S,
    MARGIN_K,
    MARGIN_US_K,
    TREND_S,
    Air,
    NotAir,
    absolute_humidity_g_m3,
    altitude_pressure_Pa,
    blush_words,
    deficit_Pa,
    dew_forecast,
    dew_point_degC,
    humidity_from_wet_bulb,
    humidity_ratio,
    keeps_margin,
    margin_K,
    misread_fahrenheit,
    misread_surface,
    saturation_Pa,
    vapour_Pa,
    wet_bulb_degC,
)

LAW = settings(max_examples=300, deadline=None, derandomize=True, database=None)
WARMTHS = st.floats(-10, 50)
PERCENTS = st.floats(1, 100)
PRESSURES = st.floats(60_000, 106_000)
LIBRARY_K = 1e-3  # what psychrolib 2.5.0 itself solves dew point and wet bulb to, in SI units
PSI_PA = 6894.757293  # NIST SP 811, appendix B


@pytest.fixture(autouse=True)
def si():
    psychrolib.SetUnitSystem(psychrolib.SI)


def degF(degC: float) -> float:
    return degC * 1.8 + 32


def degC(degF: float) -> float:
    return (degF - 32) / 1.8


# --- published values ------------------------------------------------------------------------------------

SI_ROWS = [  # degC, %, pws Pa, dew, wet bulb, deficit Pa (all C); dew by WMO-No. 8, dew by Alduchov & Eskridge, Stull
    (5, 80, 872.5, 1.84, 3.59, 174.5, 1.83, 1.84, 3.13),
    (10, 70, 1228.0, 4.79, 7.4, 368.4, 4.78, 4.78, 6.96),
    (15, 85, 1705.4, 12.5, 13.5, 255.8, 12.5, 12.5, 13.29),
    (20, 50, 2338.8, 9.27, 13.78, 1169.4, 9.26, 9.26, 13.7),
    (20, 60, 2338.8, 12.01, 15.14, 935.5, 12.0, 12.0, 15.01),
    (22, 45, 2644.8, 9.53, 14.67, 1454.6, 9.52, 9.52, 14.7),
    (25, 60, 3169.2, 16.7, 19.47, 1267.7, 16.69, 16.7, 19.5),
    (30, 80, 4246.0, 26.17, 27.09, 849.2, 26.17, 26.17, 27.13),
    (35, 40, 5627.8, 19.38, 23.93, 3376.7, 19.38, 19.39, 24.51),
    (12, 95, 1402.6, 11.22, 11.55, 70.1, 11.22, 11.22, 11.42),
]
SI = pytest.mark.parametrize("row", SI_ROWS, ids=[f"3-si-{row[0]}-{row[1]} C" for row in SI_ROWS])


@SI
def test_air_is_as_the_handbook_has_it(row: tuple[float, ...]) -> None:
    """psychrolib 2.5.0, ASHRAE Handbook - Fundamentals ch. 1, at 101 325 Pa."""
    t, percent, pws, dew, wet, deficit, *_ = row
    assert saturation_Pa(t) == pytest.approx(pws, rel=1e-3)
    assert dew_point_degC(t, percent) == pytest.approx(dew, abs=0.03)
    assert wet_bulb_degC(t, percent) == pytest.approx(wet, abs=0.03)
    assert deficit_Pa(t, percent) == pytest.approx(deficit, rel=1e-3)


@SI
def test_other_published_formulas_agree_as_far_as_they_go(row: tuple[float, ...]) -> None:
    """Magnus by WMO-No. 8 (M) and by Alduchov & Eskridge 1996 (R, M): 0.02 degC. Stull 2011 (R): -1 to +0.65 degC.

    Stull 2011, J. Appl. Meteor. Climatol. 50:2267, at sea level. The row's own figures are held too.
    """
    t, percent, _, _, _, _, wmo, ae96, stull = row
    for a, b, printed in ((17.62, 243.12, wmo), (17.625, 243.04, ae96)):
        g = math.log(percent / 100) + a * t / (b + t)
        assert b * g / (a - g) == pytest.approx(printed, abs=0.006)
        assert dew_point_degC(t, percent) == pytest.approx(printed, abs=0.03)
    assert _stull(t, percent) == pytest.approx(stull, abs=0.006)
    assert -1 <= _stull(t, percent) - wet_bulb_degC(t, percent) <= 0.65


def _stull(t: float, percent: float) -> float:
    return (
        t * math.atan(0.151977 * math.sqrt(percent + 8.313659))
        + math.atan(t + percent)
        - math.atan(percent - 1.676331)
        + 0.00391838 * percent**1.5 * math.atan(0.023101 * percent)
        - 4.686035
    )


def test_the_worked_example_of_stull() -> None:
    """3-stull-paper (R, C, M): 20 degC and 50 % give 13.7 degC; the formula may be 1 degC low and 0.65 degC high."""
    assert _stull(20, 50) == pytest.approx(13.7, abs=0.05)
    assert 13.7 - 0.65 <= wet_bulb_degC(20, 50) <= 13.7 + 1


IP_ROWS = [  # degF, %, pws psi, dew degF, wet bulb degF, deficit psi
    (50, 70, 0.17811, 40.62, 45.32, 0.05343),
    (60, 50, 0.25634, 41.33, 50.23, 0.12817),
    (65, 80, 0.30574, 58.69, 61.0, 0.06115),
    (68, 50, 0.33921, 48.69, 56.81, 0.16961),
    (72, 45, 0.38882, 49.52, 58.72, 0.21385),
    (77, 50, 0.45966, 56.96, 64.2, 0.22983),
    (80, 60, 0.50735, 64.88, 69.65, 0.20294),
    (90, 40, 0.69889, 62.45, 71.2, 0.41933),
]


@pytest.mark.parametrize("row", IP_ROWS, ids=[f"3-ip-{row[0]}-{row[1]} C" for row in IP_ROWS])
def test_air_in_us_units(row: tuple[float, ...]) -> None:
    """psychrolib 2.5.0 in its US units, whose equations have constants of their own; 14.696 psi."""
    t, percent, pws, dew, wet, deficit = row
    assert saturation_Pa(degC(t)) / PSI_PA == pytest.approx(pws, rel=1e-3)
    assert degF(dew_point_degC(degC(t), percent)) == pytest.approx(dew, abs=0.05)
    assert degF(wet_bulb_degC(degC(t), percent, 14.696 * PSI_PA)) == pytest.approx(wet, abs=0.05)
    assert deficit_Pa(degC(t), percent) / PSI_PA == pytest.approx(deficit, rel=1e-3)


@pytest.mark.parametrize(
    ("t", "wet", "percent"),
    [
        pytest.param(20, 15, 58.92, id="3-rhwb-20-15 C"),
        pytest.param(25, 18, 50.68, id="3-rhwb-25-18 C"),
        pytest.param(22, 16, 53.9, id="3-rhwb-22-16 C"),
    ],
)
def test_a_psychrometer(t: float, wet: float, percent: float) -> None:
    """psychrolib 2.5.0, at 101 325 Pa."""
    assert humidity_from_wet_bulb(t, wet) == pytest.approx(percent, abs=0.1)


def test_a_shop_in_the_hills() -> None:
    """3-alt-1500 (C): psychrolib 2.5.0. The sea level value is by definition."""
    assert altitude_pressure_Pa(1500) == pytest.approx(84_556, rel=1e-3)
    assert wet_bulb_degC(25, 50, altitude_pressure_Pa(1500)) == pytest.approx(17.46, abs=0.03)
    assert altitude_pressure_Pa(0) == 101_325


@pytest.mark.parametrize(
    ("t", "percent", "surface", "margin", "passes"),
    [
        pytest.param(20, 60, 18, 5.99, True, id="3-dewrule-20-60-18 C"),
        pytest.param(20, 60, 14.5, 2.49, False, id="3-dewrule-20-60-14.5 C"),
        pytest.param(10, 70, 8.0, 3.21, True, id="3-dewrule-10-70-8.0 C"),
        pytest.param(22, 45, 12.0, 2.47, False, id="3-dewrule-22-45-12.0 C"),
    ],
)
def test_the_rule_of_3_degrees(t: float, percent: float, surface: float, margin: float, passes: bool) -> None:
    """ISO 8502-4 practice, read second-hand; dew points by psychrolib 2.5.0."""
    found = margin_K(Air(air_degC=t, humidity_percent=percent, surface_degC=surface))
    assert found == pytest.approx(margin, abs=0.05)
    assert found is not None
    assert keeps_margin(found) is passes


def test_the_rules_of_3_degC_and_5_degF_differ() -> None:
    """3-dewrule-edge (C) and 8-dF (C): MIL-HDBK-1110, 9.6.6; a difference is divided by 1.8, with no 32 taken off."""
    assert pytest.approx(2.778, abs=1e-3) == MARGIN_US_K
    assert MARGIN_K == 3
    assert not keeps_margin(2.9)
    assert keeps_margin(2.9, MARGIN_US_K)
    assert keeps_margin(3.0)
    assert not keeps_margin(2.999)
    assert not keeps_margin(2.77, MARGIN_US_K)
    assert margin_K(Air(air_degC=20, humidity_percent=50)) is None


# --- against the library, all over the range ---------------------------------------------------------------


@pytest.mark.parametrize("t", [-10, -5, -0.5, 0, 0.01, 0.02, 1, 5, 12, 20, 23, 31, 40, 50])
def test_the_same_as_the_library_on_a_grid(t: float) -> None:
    for percent in (*range(1, 100, 3), 99, 100):
        _same(t, percent, 101_325)
        _same(t, percent, 84_556)


@LAW
@given(WARMTHS, PERCENTS, PRESSURES)
def test_the_same_as_the_library_anywhere(t: float, percent: float, pressure: float) -> None:
    _same(t, percent, pressure)


@pytest.mark.parametrize("t", [1, 5, 10, 20, 30, 40, 50])
def test_the_pressure_over_water_is_near_the_antoine_equation(t: float) -> None:
    """Antoine, log10 P = A - B / (C + t), P in mmHg: A 8.07131, B 1730.63, C 233.426 for water from 1 to 100 degC.

    The constants are as published in tables of many sites and handbooks; the equation is good to some 1 %.
    """
    mmHg = 10 ** (8.07131 - 1730.63 / (233.426 + t))
    assert saturation_Pa(t) == pytest.approx(mmHg * 133.322, rel=0.01)


def _same(t: float, percent: float, pressure: float) -> None:
    share = percent / 100
    ratio = psychrolib.GetHumRatioFromRelHum(t, share, pressure)
    assert saturation_Pa(t) == pytest.approx(psychrolib.GetSatVapPres(t), rel=1e-12)
    assert vapour_Pa(t, percent) == pytest.approx(psychrolib.GetVapPresFromRelHum(t, share), rel=1e-12)
    assert deficit_Pa(t, percent) == pytest.approx(psychrolib.GetSatVapPres(t) * (1 - share), rel=1e-12, abs=1e-9)
    assert dew_point_degC(t, percent) == pytest.approx(psychrolib.GetTDewPointFromRelHum(t, share), abs=LIBRARY_K)
    assert humidity_ratio(t, percent, pressure) == pytest.approx(ratio, rel=1e-12)
    wet = psychrolib.GetTWetBulbFromRelHum(t, share, pressure)
    assert wet_bulb_degC(t, percent, pressure) == pytest.approx(wet, abs=LIBRARY_K)
    water = 1000 * ratio / psychrolib.GetMoistAirVolume(t, ratio, pressure)  # its 1.607858 is rounded
    assert absolute_humidity_g_m3(t, percent) == pytest.approx(water, rel=1e-6)


@LAW
@given(WARMTHS, PERCENTS, PRESSURES)
def test_a_psychrometer_turns_the_wet_bulb_back(t: float, percent: float, pressure: float) -> None:
    """Also where a wet and a frozen wick both fit the air: either gives its humidity back."""
    assert humidity_from_wet_bulb(t, wet_bulb_degC(t, percent, pressure), pressure) == pytest.approx(percent, abs=1e-2)


@LAW
@given(st.floats(0, 5000))
def test_pressure_by_height_is_the_library_s(m: float) -> None:
    assert altitude_pressure_Pa(m) == pytest.approx(psychrolib.GetStandardAtmPressure(m), rel=1e-12)


# --- laws ----------------------------------------------------------------------------------------------


@LAW
@given(st.floats(-40, 80), st.floats(0.1, 100), PRESSURES)
def test_dew_point_wet_bulb_and_air_stand_in_that_order(t: float, percent: float, pressure: float) -> None:
    assert dew_point_degC(t, percent) <= wet_bulb_degC(t, percent, pressure) <= t
    assert saturation_Pa(dew_point_degC(t, percent)) == pytest.approx(vapour_Pa(t, percent), rel=1e-3)
    assert vapour_Pa(t, percent) + deficit_Pa(t, percent) == pytest.approx(saturation_Pa(t))


@LAW
@given(st.floats(-40, 80), st.floats(0.1, 99), st.floats(1e-3, 1))
def test_damper_air_has_a_higher_dew_point(t: float, percent: float, more: float) -> None:
    assert dew_point_degC(t, percent) <= dew_point_degC(t, percent + more)
    assert deficit_Pa(t, percent) > deficit_Pa(t, percent + more)


@pytest.mark.parametrize("t", [-30, -10, 0, 0.01, 0.011, 20, 80])
def test_saturated_air_is_its_own_dew_point(t: float) -> None:
    assert dew_point_degC(t, 100) == pytest.approx(t, abs=1e-6)
    assert wet_bulb_degC(t, 100) == pytest.approx(t, abs=1e-5)
    assert deficit_Pa(t, 100) == 0


def test_a_dew_point_is_never_above_the_air_by_a_rounding() -> None:
    for t in range(-400, 800):
        assert dew_point_degC(t / 10, 100) <= t / 10


def test_the_two_curves_meet_at_the_triple_point() -> None:
    """Vapour pressures about the ends of the two curves, which miss each other by a hair, have dew points in order."""
    ice, water = saturation_Pa(0.01), saturation_Pa(0.0100001)
    assert ice == pytest.approx(water, rel=1e-4)
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        percent = 100 * (ice + share * (water - ice)) / saturation_Pa(5)
        assert dew_point_degC(5, percent) == pytest.approx(0.01, abs=1e-3)
    percents = [100 * ice * (1 + i * 1e-7) / saturation_Pa(5) for i in range(-1000, 1001)]
    dew_points = [dew_point_degC(5, percent) for percent in percents]
    assert dew_points == sorted(dew_points)


# --- bad input -------------------------------------------------------------------------------------------

ROOM = {"air_degC": 20.0, "humidity_percent": 50.0}


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"humidity_percent": 0}, "0 % is not"),
        ({"humidity_percent": 100.04}, "100.04 % is not"),
        ({"humidity_percent": -5}, "-5 %"),
        ({"humidity_percent": math.nan}, "what is given"),
        ({"humidity_percent": 0.5}, "in percent, such as 50"),
        ({"air_degC": 60, "humidity_percent": 0.05}, "in percent, such as 50"),
        ({"surface_degC": 400}, "400 °C is not: read the thermometer"),
        ({"surface_degC": -60}, "-60 °C"),
        ({"surface_degC": math.nan}, "what is given"),
        ({"surface_degC": 110}, "if that was 110 °F, it is 43.3 °C"),
        ({"air_degC": 68}, "if that was 68 °F, it is 20 °C"),
        ({"air_degC": 110}, "if that was 110 °F, it is 43.3 °C"),
        ({"air_degC": 293.15}, "293.15 °C is not: read the thermometer"),
        ({"air_degC": math.inf}, "what is given"),
        ({"speed_m_s": -0.1}, "m/s"),
        ({"speed_m_s": math.nan}, "m/s"),
        ({"speed_m_s": 300}, "m/s"),
        ({"pressure_Pa": 1013}, "10.13 hPa is not"),
        ({"pressure_Pa": math.nan}, "what is given"),
    ],
)
def test_air_that_no_shop_has_is_refused_in_one_sentence(wrong: dict[str, float], told: str) -> None:
    with pytest.raises(NotAir) as fault:
        Air(**{**ROOM, **wrong})
    said = str(fault.value)
    assert told in said
    assert said.endswith(".")
    assert ". " not in said


def test_air_at_the_ends_is_taken() -> None:
    for t in (-10, 50):
        for percent in (1, 100):
            Air(air_degC=t, humidity_percent=percent, surface_degC=t, speed_m_s=0, pressure_Pa=84_556)
    Air(air_degC=60, humidity_percent=0.7)  # a drying cabinet on a cold day
    Air(air_degC=80, humidity_percent=5)


@LAW
@given(st.floats(-40, 100), st.floats(0.1, 100), st.floats(50_000, 110_000))
def test_air_that_is_taken_can_be_reckoned_with(t: float, percent: float, pressure: float) -> None:
    try:
        air = Air(air_degC=t, humidity_percent=percent, surface_degC=t, pressure_Pa=pressure)
    except NotAir:
        assert percent < 1 or t > 50
        return
    assert air.dew_point_degC <= wet_bulb_degC(t, percent, pressure) <= t
    assert 0 < humidity_ratio(t, percent, pressure) < 0.3
    assert absolute_humidity_g_m3(t, percent) > 0
    assert margin_K(air) == t - air.dew_point_degC


def test_sums_refuse_what_is_no_air() -> None:
    for broken in (
        lambda: saturation_Pa(201),
        lambda: saturation_Pa(-101),
        lambda: saturation_Pa(math.nan),
        lambda: vapour_Pa(20, 0),
        lambda: deficit_Pa(20, 101),
        lambda: dew_point_degC(-100, 1),
        lambda: dew_point_degC(20, 5e-324),
        lambda: humidity_ratio(100, 100, 90_000),
        lambda: wet_bulb_degC(20, 50, 1013),
        lambda: altitude_pressure_Pa(9000),
        lambda: altitude_pressure_Pa(math.nan),
        lambda: humidity_from_wet_bulb(20, 21),
        lambda: humidity_from_wet_bulb(20, 2),
        lambda: humidity_from_wet_bulb(math.nan, 2),
    ):
        with pytest.raises(NotAir):
            broken()


@pytest.mark.parametrize(
    ("number", "percent", "meant"),
    [
        (68, 50, 20.0),
        (59, 80, 15.0),
        (45, 80, 7.22),  # a cold shop in degF; as degC wetter than any air ever was
        (110, 10, 43.33),
        (20, 50, None),
        (35, 100, None),  # just the highest dew point ever measured
        (40, 70, None),
        (60, 5, None),  # a drying cabinet
        (200, 50, None),  # as degF 93 degC: no sense either way
        (-5, 50, None),
        (math.nan, 50, None),
        (68, 0, None),
    ],
)
def test_fahrenheit_is_offered_only_where_nothing_else_makes_sense(
    number: float, percent: float, meant: float | None
) -> None:
    """Guinness World Records: the highest dew point ever measured is 35 degC."""
    found = misread_fahrenheit(number, percent)
    assert found is None if meant is None else found == pytest.approx(meant, abs=0.01)


@LAW
@given(st.floats(-20, HIGHEST_DEW_DEGC), st.floats(1, 100))
def test_no_air_up_to_35_degC_is_taken_for_fahrenheit(t: float, percent: float) -> None:
    assert misread_fahrenheit(t, percent) is None


def test_a_surface_far_hotter_than_the_air_is_asked_about() -> None:
    def asked(air: float, surface: float | None) -> float | None:
        return misread_surface(Air(air_degC=air, humidity_percent=50, surface_degC=surface))

    assert asked(20, 59) == pytest.approx(15)
    assert asked(20, 80) == pytest.approx(26.67, abs=0.01)
    assert asked(20, None) is None
    assert asked(20, 25) is None
    assert asked(20, 39) is None
    assert asked(5, 24) is None  # a piece carried from the house into a cold shop, though 24 °F is near to it as well
    assert asked(20, 95) is None  # as degF 35 degC, no nearer to the air than a piece from the sun


# --- blush ---------------------------------------------------------------------------------------------


def test_blush() -> None:
    """That cooling below the dew point blushes is read (CAMEO materials database, “Blush”); how far is from memory."""
    dry, damp = Air(air_degC=20, humidity_percent=45), Air(air_degC=20, humidity_percent=70)
    wet = Air(air_degC=20, humidity_percent=90)
    assert blush_words(dry, fast=True) == blush_words(dry, fast=False) == ""
    assert "fast solvent" in blush_words(damp, fast=True)
    assert "slower reducer" in blush_words(damp, fast=True)
    assert blush_words(damp, fast=False) == ""
    assert "70 %" in blush_words(damp, fast=True)
    assert "5.6 °C above" in blush_words(damp, fast=True)  # 20 less psychrolib's dew point 14.37
    assert "drier air" in blush_words(wet, fast=False)


def test_a_cold_piece_blushes_sooner_and_a_warm_one_no_later() -> None:
    def air(surface: float) -> Air:
        return Air(air_degC=20, humidity_percent=50, surface_degC=surface)

    assert blush_words(air(20), fast=True) == ""
    assert blush_words(air(12), fast=True)
    assert "at or below" in blush_words(air(9), fast=True)
    assert blush_words(Air(air_degC=20, humidity_percent=70, surface_degC=40), fast=True)


@LAW
@given(WARMTHS, PERCENTS)
def test_a_fast_solvent_blushes_at_least_as_soon(t: float, percent: float) -> None:
    air = Air(air_degC=t, humidity_percent=percent)
    assert bool(blush_words(air, fast=True)) == (t - dew_point_degC(t, percent) < BLUSH_FAST_K)
    assert bool(blush_words(air, fast=True)) >= bool(blush_words(air, fast=False))


# --- what is coming ------------------------------------------------------------------------------------


def cooling(surface_from: float, per_hour: float) -> list[tuple[float, Air]]:
    """An hour of readings of the same air over a surface that changes."""
    times = [600.0 * i for i in range(round(TREND_S / 600) + 1)]
    return [(t, Air(air_degC=20, humidity_percent=60, surface_degC=surface_from + per_hour * t / 3600)) for t in times]


def holding(air_degC: float, vapour: float, surface: float | None = None) -> Air:
    """Air of that temperature with that much vapour (Pa) in it."""
    return Air(air_degC=air_degC, humidity_percent=100 * vapour / saturation_Pa(air_degC), surface_degC=surface)


def test_a_surface_that_cools_meets_the_margin_when_worked_by_hand() -> None:
    """20 degC and 60 %: dew point 12.01 degC (psychrolib 2.5.0). From 18 degC at 2 K/h to 15.01 degC takes 1.496 h."""
    found = dew_forecast(cooling(20, -2), until_s=1e6)
    assert found is not None
    assert found.at_s == pytest.approx(3600 + 1.496 * 3600, abs=10)
    assert found.now is False
    assert found.surface_degC - found.dew_point_degC == pytest.approx(MARGIN_K)
    assert found.dew_point_degC == pytest.approx(12.01, abs=0.01)
    assert found.change_K_h == pytest.approx(-2)
    assert dew_forecast(cooling(20, -2), until_s=found.at_s + 1) == found
    assert dew_forecast(cooling(20, -2), until_s=found.at_s - 1) is None


def test_a_surface_that_stays_or_warms_never_meets_it() -> None:
    assert dew_forecast(cooling(18, 0), until_s=1e9) is None
    assert dew_forecast(cooling(18, 1), until_s=1e9) is None
    assert dew_forecast([], until_s=1e9) is None


def test_a_margin_already_gone_is_told_at_once() -> None:
    found = dew_forecast(cooling(14, 0), until_s=3600)
    assert found is not None
    assert (found.at_s, found.now, found.surface_degC) == (3600, True, 14)


def test_a_rising_dew_point_counts_as_a_cooling_surface_does() -> None:
    """Dew point from 8 to 10 degC in an hour by the vapour it takes; the surface stays at 15: 2 K over the margin."""
    points = [(600.0 * i, holding(20, saturation_Pa(8 + i / 3), 15)) for i in range(7)]
    found = dew_forecast(points, until_s=1e6)
    assert found is not None
    assert found.at_s == pytest.approx(3600 + 3600, rel=1e-3)
    assert found.dew_point_degC == pytest.approx(12, abs=0.01)


def test_without_a_surface_the_piece_cools_with_the_air() -> None:
    """Air from 22 to 20 degC in an hour over the same vapour, dew point 10 degC: 7 K to lose at 2 K/h."""
    points = [(600.0 * i, holding(22 - i / 3, saturation_Pa(10))) for i in range(7)]
    found = dew_forecast(points, until_s=1e6)
    assert found is not None
    assert found.at_s == pytest.approx(3600 + 3.5 * 3600, rel=1e-3)


def test_a_cold_piece_does_not_warm_with_the_air() -> None:
    """Air warms and takes up water (dew point 10 to 12 degC), the piece was felt once, at 16 degC: 1 K left, 2 K/h."""
    points = [(600.0 * i, holding(18 + i / 2, saturation_Pa(10 + i / 3), 16 if i == 3 else None)) for i in range(7)]
    found = dew_forecast(points, until_s=1e6)
    assert found is not None
    assert found.at_s == pytest.approx(3600 + 1800, rel=1e-3)
    assert found.surface_degC == 16


def test_a_surface_felt_a_while_ago_has_cooled_with_the_air_since() -> None:
    """Felt at 16 degC half an hour ago, air falling 2 K/h: 15 degC now, 2 K over a dew point of 10 degC and 3 K."""
    points = [(600.0 * i, holding(22 - i / 3, saturation_Pa(10), 16 if i == 3 else None)) for i in range(7)]
    found = dew_forecast(points, until_s=1e6)
    assert found is not None
    assert found.at_s == pytest.approx(3600 + 3600, rel=1e-3)


def test_only_the_last_hour_makes_the_trend() -> None:
    old = [(-3600.0 * i, Air(air_degC=20, humidity_percent=60, surface_degC=60)) for i in range(5, 0, -1)]
    assert dew_forecast(old + cooling(18, 0), until_s=1e9) is None
    assert dew_forecast(old + cooling(20, -2), until_s=1e9) == dew_forecast(cooling(20, -2), until_s=1e9)


def test_a_few_seconds_are_no_trend() -> None:
    """A sensor that flickers by a tenth of a degree would else fall 36 degrees in an hour."""
    for apart in (0, 10, LEAST_TREND_S - 1):
        points = [(t, Air(air_degC=20, humidity_percent=60, surface_degC=s)) for t, s in ((0, 18.1), (apart, 18.0))]
        assert dew_forecast(points, until_s=1e9) is None
    points[1] = (LEAST_TREND_S, points[1][1])
    assert dew_forecast(points, until_s=1e9) is not None


def test_readings_out_of_order_are_refused() -> None:
    air = Air(air_degC=20, humidity_percent=60)
    for times in ((0, 10, 5), (0, math.nan), (math.inf,)):
        with pytest.raises(NotAir):
            dew_forecast([(t, air) for t in times], until_s=1e9)


@LAW
@given(st.lists(st.tuples(st.floats(1, 900), st.floats(5, 30), st.floats(30, 95), st.floats(0, 40)), max_size=12))
def test_a_forecast_is_never_in_the_past_and_lands_on_the_margin(steps: list[tuple[float, ...]]) -> None:
    points, t = [], 0.0
    for step, air, percent, surface in steps:
        t += step
        points.append((t, Air(air_degC=air, humidity_percent=percent, surface_degC=surface)))
    found = dew_forecast(points, until_s=t + 86_400)
    if found is None:
        last = margin_K(points[-1][1]) if points else None
        assert last is None or keeps_margin(last)
    else:
        assert t <= found.at_s <= t + 86_400
        margin = found.surface_degC - found.dew_point_degC
        assert margin < MARGIN_K if found.now else margin == pytest.approx(MARGIN_K, abs=1e-6)
