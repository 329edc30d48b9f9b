"""`benchtool air`: published values of moist air, the rule of 3 °C, and input that is no use."""

import shlex

import psychrolib
import pytest
from cli.asking import ask, assert_contract

KEYS = {"dew_point_degC", "wet_bulb_degC", "saturation_Pa", "vapour_Pa", "deficit_Pa", "margin_K"}


def air(words, *more):
    said = ask("air", *shlex.split(words), *more)
    assert_contract(said)
    return said


def values(words, status=0):
    said = air(words, "--json")
    assert said.status == status, said.err
    assert said.values.keys() >= KEYS
    return said.values


@pytest.mark.parametrize(
    ("degC", "percent", "pws", "dew", "wet", "deficit"),
    [
        # psychrolib 2.5.0, ASHRAE Handbook - Fundamentals ch. 1; rows 3-si-5-80, 3-si-20-50, 3-si-35-40, 3-si-12-95
        (5, 80, 872.5, 1.84, 3.59, 174.5),
        (20, 50, 2338.8, 9.27, 13.78, 1169.4),
        (35, 40, 5627.8, 19.38, 23.93, 3376.7),
        (12, 95, 1402.6, 11.22, 11.55, 70.1),
    ],
)
def test_air_is_as_the_handbook_has_it(degC, percent, pws, dew, wet, deficit):
    got = values(f"--temperature {degC}C --humidity {percent}")
    assert got["saturation_Pa"] == pytest.approx(pws, rel=1e-3)
    assert got["vapour_Pa"] == pytest.approx(pws * percent / 100, rel=1e-3)
    assert got["deficit_Pa"] == pytest.approx(deficit, rel=1e-3)
    assert got["dew_point_degC"] == pytest.approx(dew, abs=0.03)
    assert got["wet_bulb_degC"] == pytest.approx(wet, abs=0.03)


@pytest.mark.parametrize(
    ("degF", "percent", "psi", "dew", "wet", "deficit"),
    [
        # psychrolib 2.5.0 in US units; rows 3-ip-50-70, 3-ip-68-50, 3-ip-90-40
        (50, 70, 0.17811, 40.62, 45.32, 0.05343),
        (68, 50, 0.33921, 48.69, 56.81, 0.16961),
        (90, 40, 0.69889, 62.45, 71.2, 0.41933),
    ],
)
def test_us_values(degF, percent, psi, dew, wet, deficit):
    got = values(f"--temperature {degF}F --humidity {percent} --surface {degF}F --pressure 14.696psi")
    assert got["saturation_psi"] == pytest.approx(psi, rel=1e-3)
    assert got["saturation_psi"] * 6894.757293 == pytest.approx(got["saturation_Pa"], rel=1e-9)  # NIST SP 811, app. B
    assert got["vapour_psi"] == pytest.approx(psi * percent / 100, rel=1e-3)
    assert got["deficit_psi"] == pytest.approx(deficit, rel=1e-3)
    assert got["dew_point_degF"] == pytest.approx(dew, abs=0.05)
    assert got["wet_bulb_degF"] == pytest.approx(wet, abs=0.05)
    assert got["margin_degF"] == pytest.approx(degF - dew, abs=0.05)  # a difference: no 32


def test_water_in_the_air_is_the_library_s():
    """psychrolib 2.5.0; 1 gr is 64.79891 mg, 7000 gr a pound, a foot 0.3048 m (NIST SP 811, appendix B)."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    ratio = psychrolib.GetHumRatioFromRelHum(25, 0.6, 84_556)
    got = values("--temperature 25C --humidity 60 --pressure 84556")
    assert got["humidity_ratio_g_per_kg"] == pytest.approx(1000 * ratio, rel=1e-9)
    assert got["humidity_ratio_gr_per_lb"] == pytest.approx(7000 * ratio, rel=1e-9)
    g_m3 = 1000 * ratio / psychrolib.GetMoistAirVolume(25, ratio, 84_556)
    assert got["absolute_humidity_g_per_m3"] == pytest.approx(g_m3, rel=1e-6)
    assert got["absolute_humidity_gr_per_ft3"] == pytest.approx(g_m3 / 0.06479891 * 0.3048**3, rel=1e-6)


@pytest.mark.parametrize(
    ("words", "margin", "status"),
    [
        # ISO 8502-4 practice; rows 3-dewrule-20-60-18, 3-dewrule-20-60-14.5, 3-dewrule-10-70-8.0, 3-dewrule-22-45-12.0
        ("--temperature 20C --humidity 60 --surface 18C", 5.99, 0),
        ("--temperature 20C --humidity 60 --surface 14.5C", 2.49, 1),
        ("--temperature 10C --humidity 70 --surface 8.0C", 3.21, 0),
        ("--temperature 22C --humidity 45 --surface 12.0C", 2.47, 1),
        ("--temperature 20C --humidity 60 --surface 50F", -2.01, 1),
    ],
)
def test_the_rule_of_3_degrees(words, margin, status):
    got = values(words, status)
    assert got["margin_K"] == pytest.approx(margin, abs=0.05)
    assert got["keeps_3_K"] is (status == 0)
    assert got["at_most_85_percent"] is True
    said = air(words)
    assert said.status == status
    assert said.out.startswith("Don't paint" if status else "The surface is ")


def test_between_the_two_rules_3_degC_holds():
    """3-dewrule-edge: 2.9 K is 5.22 °F, which MIL-HDBK-1110, 9.6.6 lets pass."""
    got = values("--temperature 20C --humidity 100 --surface 22.9C", 1)
    assert got["margin_K"] == pytest.approx(2.9)
    assert got["margin_degF"] == pytest.approx(5.22)
    assert (got["keeps_3_K"], got["keeps_5_degF"]) == (False, True)
    assert any("5 °F" in note for note in got["notes"])
    assert values("--temperature 20C --humidity 100 --surface 23C")["keeps_3_K"] is True
    assert "2.99 °C" in air("--temperature 20C --humidity 100 --surface 22.999C").out  # never rounded up to enough


def test_without_a_surface_there_is_no_margin():
    got = values("--temperature 20C --humidity 50")
    assert got["margin_K"] is got["keeps_3_K"] is None
    assert got["why"] == "no surface temperature is given"
    assert "Measure the surface" in air("--temperature 20C --humidity 50").out


def test_height_and_pressure():
    """3-alt-1500: psychrolib 2.5.0."""
    got = values("--temperature 25C --humidity 50 --altitude 1500m")
    assert got["pressure_Pa"] == pytest.approx(84_556, rel=1e-3)
    assert got["wet_bulb_degC"] == pytest.approx(17.46, abs=0.03)
    for same in ("--altitude 1500", "--altitude 4921.26ft", "--pressure 84556", "--pressure 845.56hPa"):
        assert values(f"--temperature 25C --humidity 50 {same}")["wet_bulb_degC"] == pytest.approx(17.46, abs=0.03)
    assert values("--temperature 25C --humidity 50")["pressure_Pa"] == 101_325


def test_a_psychrometer():
    """3-rhwb-20-15: psychrolib 2.5.0."""
    got = values("--temperature 20C --wet-bulb 15C")
    assert got["humidity_percent"] == pytest.approx(58.92, abs=0.1)
    assert got["wet_bulb_degC"] == pytest.approx(15, abs=1e-4)


def test_words_of_damp_air():
    assert "blush" in values("--temperature 20C --humidity 70 --fast")["blush"]
    assert values("--temperature 20C --humidity 70")["blush"] == ""
    assert "blush" in air("--temperature 20C --humidity 95").out
    assert any("85 %" in note for note in values("--temperature 20C --humidity 95")["notes"])
    assert values("--temperature 20C --humidity 85")["notes"] == []


def test_what_may_be_fahrenheit_is_asked_about_and_still_answered():
    got = values("--temperature 45C --humidity 80")
    assert got["dew_point_degC"] == pytest.approx(40.7, abs=0.1)
    assert any("45 °F, it is 7.22 °C" in note for note in got["notes"])
    got = values("--temperature 20C --humidity 50 --surface 59C")
    assert any("59 °F, it is 15 °C" in note for note in got["notes"])


@pytest.mark.parametrize("degC", [-10, 0, 50])
@pytest.mark.parametrize("percent", [1, 50, 100])
def test_the_ends_of_the_range_are_answered(degC, percent):
    psychrolib.SetUnitSystem(psychrolib.SI)
    got = values(f"--temperature {degC}C --humidity {percent}")
    assert got["dew_point_degC"] == pytest.approx(psychrolib.GetTDewPointFromRelHum(degC, percent / 100), abs=1e-3)
    assert air(f"--temperature {degC}C --humidity {percent}").status == 0


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("", "--temperature 20C"),
        ("--humidity 50", "--temperature 20C"),
        ("--temperature 20C", "--humidity 50"),
        ("--temperature 20C --humidity 50 --wet-bulb 15C", "not both"),
        ("--temperature 20C --humidity 50 --pressure 1013hPa --altitude 5m", "not both"),
        ("--temperature 20C --humidity 0", "0 % is not"),
        ("--temperature 20C --humidity 101", "101 % is not"),
        ("--temperature 20C --humidity -5", "-5 % is not"),
        ("--temperature 20C --humidity 0.5", "such as 50"),
        ("--temperature 20C --humidity nan", "nan"),
        ("--temperature 20C --humidity damp", "damp"),
        ("--temperature 20C --humidity 50C", "percentage"),
        ("--temperature 20C --humidity 50 --surface 400C", "400 °C is not"),
        ("--temperature 20C --humidity 50 --surface 110C", "110 °F, it is 43.3 °C"),
        ("--temperature 68C --humidity 50", "68 °F, it is 20 °C"),
        ("--temperature 68 --humidity 50", "write 68F if it was °F, which is 20 °C"),
        ("--temperature 20 --humidity 50", "no unit"),
        ("--temperature 20C --humidity 50 --surface 15", "no unit"),
        ("--temperature 293C --humidity 50", "293 °C is not"),
        ("--temperature -300C --humidity 50", "absolute zero"),
        ("--temperature warm --humidity 50", "warm"),
        ("--temperature 20kg --humidity 50", "temperature"),
        ("--temperature 20C --humidity 50 --pressure 1013", "10.13 hPa is not"),
        ("--temperature 20C --humidity 50 --pressure 5kg", "--pressure"),
        ("--temperature 20C --humidity 50 --altitude 9000m", "5500 m"),
        ("--temperature 20C --humidity 50 --altitude 5s", "--altitude"),
        ("--temperature 20C --wet-bulb 21C", "read both again"),
        ("--temperature 20C --wet-bulb 2C", "read both again"),
        ("--temperature 20C --humidity 50 --colour red", "--colour"),
    ],
)
def test_input_that_is_no_use_is_one_line(words, told):
    for form in ([], ["--json"]):
        said = air(words, *form)
        assert said.status == 2
        assert said.err.startswith("benchtool air: ")
        assert "worked out" not in said.err
        assert told in said.err
