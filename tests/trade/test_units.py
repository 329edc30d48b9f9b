"""Readers of masses, lengths, areas and the rest, conversions, and volumes in the unit the painter chose.

Values: NIST Handbook 44, Appendix C and NIST SP 811, Appendix B, by the rows of the reference table where a row is
named; "M" is a factor of SP 811 from memory, which follows from exact definitions named beside it.
"""

import subprocess
import sys
from collections.abc import Callable

import pint
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from benchtool.trade.numbers import read_number
from benchtool.trade.quantities import LARGEST_ML, Measures, NotAnAmount
from benchtool.trade.unit_names import NotAUnit, read_unit
from benchtool.trade.units import (
    IMPERIAL_FL_OZ_ML,
    US_FL_OZ_ML,
    VolumeUnit,
    volume_figure,
    volume_places,
    volume_words,
)

MEASURES = Measures()
LAWS = settings(max_examples=300, deadline=None, derandomize=True, database=None)


def test_a_name_too_long_for_a_unit_is_not_given_to_pint() -> None:
    assert read_unit("m" * 80).pint == "m" * 80
    with pytest.raises(NotAUnit):
        read_unit("m" * 81)


CONVERTED = [
    ("1 US gallon", "L", 3.785411784, "L", "8-1_US_gallon"),
    ("1 US quart", "mL", 946.352946, "mL", "8-1_US_quart"),
    ("1 US fluid ounce", "mL", 29.5735295625, "mL", "8-1_US_fluid_ounce"),
    ("1 imperial gallon", "L", 4.54609, "L", "8-1_imperial_gallon"),
    ("1 imperial fluid ounce", "mL", 28.4130625, "mL", "8-1_imperial_fluid_ounce"),
    ("1 imperial quart", "mL", 1136.5225, "mL", "8-1_imperial_quart"),
    ("1 US cup", "mL", 236.5882365, "mL", "8-1_US_cup"),
    ("1 US teaspoon", "mL", 4.92892159375, "mL", "8-1_US_teaspoon"),
    ("1 US fluid dram", "mL", 3.6966911953125, "mL", "8-1_US_fluid_dram"),
    ("1 cubic inch", "mL", 16.387064, "mL", "8-1_cubic_inch"),
    ("1 mil", "um", 25.4, "µm", "8-1_mil"),
    ("1 lb", "g", 453.59237, "g", "8-1_lb"),
    ("1 avoirdupois ounce", "g", 28.349523125, "g", "8-1_avoirdupois_ounce"),
    ("1 lb/US gal", "g/L", 119.826427, "g/L", "8-1_lbperUS_gal"),
    ("1 psi", "Pa", 6894.757293, "Pa", "8-1_psi"),
    ("1 inHg", "Pa", 3386.389, "Pa", "8-1_inHg_(0_C)"),
    ("1 in Hg", "hPa", 33.86389, "hPa", "8-1_inHg_(0_C)"),
    ("1 mmHg", "Pa", 133.322387, "Pa", "8-1_mmHg"),
    ("1 ft2", "m2", 0.09290304, "m²", "8-1_ft2"),
    ("100 ft/min", "m/s", 0.508, "m/s", "8-100_ftpermin"),
    ("1 US minim", "mL", 0.0616115199, "mL", "8-minim"),
    ("1 gal", "fl oz", 128.0, "US fluid ounce", "Handbook 44"),
    ("1 gal", "imperial fl oz", 133.2278697, "imperial fluid ounce", "8-1_US_gallon, 8-1_imperial_fluid_ounce"),
    ("1 gal", "cu in", 231.0, "in³", "Handbook 44"),
    ("68 F", "C", 20.0, "°C", "SP 811 B.8"),
    ("20 °C", "F", 68.0, "°F", "SP 811 B.8"),
    ("20 C", "K", 293.15, "K", "SP 811 B.8"),
    ("1 gal/min", "L/h", 227.12470704, "L/h", "8-1_US_gallon"),
    ("10 lb/gal", "g/mL", 1.19826427, "g/mL", "8-1_lbperUS_gal"),
    ("40 cSt", "mm2/s", 40.0, "mm²/s", "SP 811 B.8"),
    (
        "1 gal/mil",
        "sq ft",
        231 / 0.001 / 144,
        "ft²",
        "the trade's 1604 sq ft x mil per gallon: 231 in3, 144 in2 to the ft2",
    ),
    ("90 min", "h", 1.5, "h", "SI"),
    ("-2 inHg", "hPa", -67.72778, "hPa", "8-1_inHg_(0_C); a pressure may be a difference"),
    ("1 mile", "m", 1609.344, "m", "Handbook 44; read by pint's own name"),
]


@pytest.mark.parametrize(("typed", "unit", "value", "words", "row"), CONVERTED, ids=lambda value: str(value)[:30])
def test_a_conversion_comes_out_as_the_handbook_has_it(
    typed: str, unit: str, value: float, words: str, row: str
) -> None:
    converted = MEASURES.convert(typed, unit)
    assert converted.value == pytest.approx(value, rel=1e-6), row
    assert converted.unit == words


def test_a_conversion_says_what_it_understood() -> None:
    value, unit, understood = MEASURES.convert("1 gal", "fl oz")
    assert (round(value, 9), unit, understood) == (128, "US fluid ounce", "1 US gallon")
    assert MEASURES.convert("68F", "C").understood == "68 °F"
    assert MEASURES.convert("1 cubic inch", "mL").understood == MEASURES.convert("1 cu in", "mL").understood == "1 in³"
    assert MEASURES.convert("1 square foot", "m2").understood == MEASURES.convert("1 sq ft", "m2").understood == "1 ft²"
    assert MEASURES.convert("10 cfm", "L/min").understood == "10 ft³/min"
    assert MEASURES.convert("1 pinch", "m").understood == "1 picoinch"  # what pint makes of it is said in full
    assert MEASURES.convert("0.0000001 L", "mL").understood == "1e-07 L"


def test_drops_and_parts_are_converted_by_what_one_is_and_else_guessed_or_refused() -> None:
    assert MEASURES.convert("15 drops", "mL", drop_mL=0.04) == (pytest.approx(0.6), "mL", "15 drops at 0.04 mL each")
    assert MEASURES.convert("1 mL", "drops", drop_mL=0.04) == (pytest.approx(25), "drops", "1 mL")
    assert MEASURES.convert("1 g", "drops", drop_mL=0.04, density_g_mL=0.5)[0] == pytest.approx(50)
    guess_from, guess_to = MEASURES.convert("15 drops", "mL"), MEASURES.convert("1 mL", "drops")
    assert (guess_from.value, guess_to.value) == (pytest.approx(0.75), pytest.approx(20))
    assert "guess" in guess_from.understood
    assert "guess" in guess_to.understood
    assert MEASURES.convert("3 parts", "mL", part_mL=10).value == pytest.approx(30)
    assert MEASURES.convert("30 mL", "parts", part_mL=10).value == pytest.approx(3)
    for typed, unit in (("3 parts", "mL"), ("3 mL", "parts")):
        with pytest.raises(NotAnAmount, match="how much is one part"):
            MEASURES.convert(typed, unit)


def test_a_weight_becomes_a_volume_by_the_density_only() -> None:
    assert MEASURES.convert("1 lb", "mL", density_g_mL=1.2).value == pytest.approx(453.59237 / 1.2)
    assert MEASURES.convert("1 fl oz", "g", density_g_mL=1.2).value == pytest.approx(29.5735295625 * 1.2)
    for typed, unit in (("1 lb", "mL"), ("1 mL", "lb")):
        with pytest.raises(NotAnAmount, match="by the density; give it too"):
            MEASURES.convert(typed, unit)
        with pytest.raises(NotAnAmount, match="A density can't be"):
            MEASURES.convert(typed, unit, density_g_mL=0)


@pytest.mark.parametrize(
    ("typed", "unit", "words"),
    [
        ("1 gal", "um", "the one is a volume, the other a length"),
        ("1 mL", "F", "the one is a volume, the other a temperature"),
        ("20 C", "mL", "the one is a temperature, the other a volume"),
        ("1 cP", "cSt", "the one is a dynamic viscosity, the other a kinematic viscosity"),
        ("1 psi", "min", "the one is a pressure, the other a time"),
        ("1 V", "mL", "they measure different things"),
        ("1 g/L", "percent", "they measure different things"),
        ("1 mL", "nothing", "“nothing” is not a unit known here"),
        ("1 nothing", "mL", "“nothing” is not a unit known here"),
        ("1 mL", "", "No unit to turn it into"),
        ("1 mL", " ", "No unit to turn it into"),
        ("1 mL", "2 mL", "is not a unit"),
        ("1 mL", "🎨", "is not a unit"),
        ("1 mL", "m^9^9^9", "is not a unit"),
        ("1 mL", "m" * 10_000, "is not a unit"),
        ("1 mL", "oz", "of volume or of weight"),
        ("1 oz", "mL", "of volume or of weight"),
        ("mL", "L", "does not start with a number"),
        ("1", "mL", "has no unit"),
        ("-1 mL", "L", "is below zero"),
        ("-1 drops", "mL", "is below zero"),
        ("-300 C", "F", "is below absolute zero"),
        ("1e308 gal", "uL", "too large"),
    ],
    ids=lambda value: str(value)[:30],
)
def test_what_cannot_be_converted_is_said_in_one_sentence(typed: str, unit: str, words: str) -> None:
    with pytest.raises(NotAnAmount) as fault:
        MEASURES.convert(typed, unit)
    assert words in str(fault.value)
    assert len(str(fault.value)) < 220


PINT = pint.UnitRegistry()
AGAINST_PINT = {
    "fl oz": "fluid_ounce", "imperial fl oz": "imperial_fluid_ounce", "gal": "gallon",
    "imperial gal": "imperial_gallon", "pt": "pint", "imperial pt": "imperial_pint", "qt": "quart",
    "imperial qt": "imperial_quart", "tsp": "teaspoon", "tbsp": "tablespoon", "cup": "cup", "fl dr": "fluid_dram",
    "imperial fl dr": "imperial_fluid_drachm", "minim": "minim", "imperial minim": "imperial_minim",
    "gill": "gill", "imperial gill": "imperial_gill", "cc": "centimeter ** 3", "cu in": "inch ** 3", "mL": "milliliter",
    "cL": "centiliter", "µL": "microliter", "L": "liter", "cu ft": "foot ** 3",
}  # fmt: skip


@pytest.mark.parametrize("name", AGAINST_PINT)
def test_each_volume_is_what_pint_has_under_its_own_name(name: str) -> None:
    here = PINT.Quantity(1, AGAINST_PINT[name]).to("milliliter").magnitude
    assert MEASURES.volume(f"1 {name}").mL == pytest.approx(here, rel=1e-12)


def test_the_two_fluid_ounces_of_the_units_are_those_of_pint() -> None:
    assert PINT.Quantity(1, "fluid_ounce").to("milliliter").magnitude == pytest.approx(US_FL_OZ_ML, rel=1e-12)
    imperial = PINT.Quantity(1, "imperial_fluid_ounce").to("milliliter").magnitude
    assert imperial == pytest.approx(IMPERIAL_FL_OZ_ML, rel=1e-12)


LIKE = [
    ("mL", "fl oz", "imperial fl oz", "imperial gal", "tsp", "minim", "cu in", "L", "drops"),
    ("g", "lb", "oz wt", "kg", "grain"),
    ("um", "mil", "in", "ft", "m"),
    ("m2", "sq ft", "cm2", "sq in"),
    ("mL/min", "L/h", "fl oz/min", "imperial fl oz/min", "gal/h"),
    ("g/mL", "lb/gal", "lb/imperial gal", "kg/m3", "oz wt/gal"),
    ("C", "F", "K"),
    ("cSt", "mm2/s", "St", "sq in/s"),
    ("Pa", "psi", "inHg", "mbar", "mmHg"),
]
PAIRS = st.sampled_from(LIKE).flatmap(lambda group: st.tuples(st.sampled_from(group), st.sampled_from(group)))


@LAWS
@given(st.floats(0.001, 10_000), PAIRS)
def test_there_and_back_is_where_it_started(number: float, pair: tuple[str, str]) -> None:
    there, back = pair
    try:
        once = MEASURES.convert(f"{number!r} {there}", back).value
    except NotAnAmount as cold:
        assume("absolute zero" not in str(cold))
        raise
    again = MEASURES.convert(f"{once!r} {back}", there).value
    assert again == pytest.approx(number, rel=1e-9, abs=1e-8)


@LAWS
@given(st.floats(0.01, 10_000), PAIRS)
def test_what_was_understood_and_the_unit_in_words_are_read_again_as_the_same(
    number: float, pair: tuple[str, str]
) -> None:
    start, end = pair
    assume("drops" not in pair)
    one = MEASURES.convert(f"{number!r} {start}", end)
    rounded, _ = read_number(one.understood)
    two = MEASURES.convert(one.understood, one.unit)
    assert two.unit == one.unit
    assert two.value == pytest.approx(MEASURES.convert(f"{rounded!r} {start}", end).value)


@LAWS
@given(st.floats(0, LARGEST_ML - 1) | st.floats(0, 120), st.sampled_from(VolumeUnit))
def test_a_volume_in_words_is_read_back_to_half_of_its_last_figure(mL: float, unit: VolumeUnit) -> None:
    words = volume_words(mL, unit)
    amount = MEASURES.volume(words)
    figure = words.removesuffix(f" {unit.value}")
    last = 10.0 ** -len(figure.partition(".")[2])
    assert abs(amount.mL - mL) <= 0.5 * last * unit.mL * (1 + 1e-9) + 1e-9
    assert not amount.guess
    assert amount.mL == pytest.approx(MEASURES.volume(figure, unit=unit).mL)


@LAWS
@given(st.floats(0, LARGEST_ML - 1) | st.floats(0, 120), st.sampled_from(VolumeUnit))
def test_a_volume_in_words_is_as_fine_as_a_bench_measures_it(mL: float, unit: VolumeUnit) -> None:
    finest = 0.01 if mL < 10 else 0.1 if mL < 100 else 1.0  # a syringe, a small cup, a large one
    assert abs(MEASURES.volume(volume_words(mL, unit)).mL - mL) <= finest / 2 * (1 + 1e-9)


@pytest.mark.parametrize(
    ("mL", "unit", "words"),
    [
        (30.0, VolumeUnit.ML, "30 mL"),
        (0.588, VolumeUnit.ML, "0.59 mL"),
        (9.994, VolumeUnit.ML, "9.99 mL"),
        (9.996, VolumeUnit.ML, "10 mL"),
        (10.04, VolumeUnit.ML, "10 mL"),
        (20.36, VolumeUnit.ML, "20.4 mL"),
        (101.6, VolumeUnit.ML, "102 mL"),
        (100.0, VolumeUnit.ML, "100 mL"),
        (1234.5, VolumeUnit.ML, "1234 mL"),
        (0.0, VolumeUnit.ML, "0 mL"),
        (-0.001, VolumeUnit.ML, "0 mL"),
        (-12.34, VolumeUnit.ML, "-12.3 mL"),
        (29.5735295625, VolumeUnit.US_FL_OZ, "1 US fl oz"),  # 8-1_US_fluid_ounce
        (28.4130625, VolumeUnit.IMPERIAL_FL_OZ, "1 imperial fl oz"),  # 8-1_imperial_fluid_ounce
        (30.0, VolumeUnit.US_FL_OZ, "1.014 US fl oz"),
        (30.0, VolumeUnit.IMPERIAL_FL_OZ, "1.056 imperial fl oz"),
        (0.2, VolumeUnit.US_FL_OZ, "0.0068 US fl oz"),
        (500.0, VolumeUnit.US_FL_OZ, "16.91 US fl oz"),
    ],
)
def test_a_volume_in_words(mL: float, unit: VolumeUnit, words: str) -> None:
    assert volume_words(mL, unit) == words
    assert words == f"{volume_figure(mL, unit)} {unit}"


def test_a_volume_is_in_mL_unless_another_unit_is_chosen() -> None:
    assert volume_words(30) == "30 mL"
    assert volume_figure(30) == "30"
    assert [volume_places(mL) for mL in (9.99, 10, 99.9, 100)] == [2, 1, 1, 0]


def test_us_and_imperial_words_are_never_those_of_the_other() -> None:
    us, imperial = volume_words(100, VolumeUnit.US_FL_OZ), volume_words(100, VolumeUnit.IMPERIAL_FL_OZ)
    assert us.endswith(" US fl oz")
    assert imperial.endswith(" imperial fl oz")
    assert us.split()[0] != imperial.split()[0]
    assert MEASURES.volume(us).understood.endswith("US fluid ounce")
    assert MEASURES.volume(imperial).understood.endswith("imperial fluid ounce")


def test_a_volume_unit_is_plain_text_as_settings_keep_it() -> None:
    assert [VolumeUnit(text) for text in ("mL", "US fl oz", "imperial fl oz")] == list(VolumeUnit)
    for unit in VolumeUnit:
        assert MEASURES.volume("1", unit=unit.value).mL == pytest.approx(unit.mL, rel=1e-12)


READERS: list[Callable[[str], object]] = [
    MEASURES.mass, MEASURES.length_um, MEASURES.length_mm, MEASURES.area_m2, MEASURES.rate_mL_min,
    MEASURES.density_g_mL, MEASURES.concentration_g_L, MEASURES.temperature_degC, MEASURES.temperature_difference_K,
    MEASURES.viscosity_mm2_s, lambda text: MEASURES.convert(text, "mL"), lambda text: MEASURES.convert("1 mL", text),
]  # fmt: skip
TYPED = st.text(max_size=60) | st.text("0123456789.,/eE+-*^x×()°² mLfozgalkUSimpCFK/hinper³⁹", max_size=40)


@LAWS
@given(TYPED, st.sampled_from(READERS))
def test_any_text_at_all_is_read_or_refused(text: str, read: Callable[[str], object]) -> None:
    try:
        read(text)
    except NotAnAmount as fault:
        message = str(fault)
    else:
        return
    assert "\n" not in message
    assert len(message) < 260


@LAWS
@given(st.text(max_size=90))
def test_any_name_at_all_is_a_unit_or_refused_as_none(text: str) -> None:
    try:
        unit = read_unit(text)
    except NotAUnit:
        return
    # What reaches pint is words and at most one square or cube: no arithmetic
    for name in (unit.pint, unit.over or "m"):
        assert all(piece.isalpha() for piece in name.removesuffix(" ** 2").removesuffix(" ** 3").split("_"))


def test_pint_is_not_loaded_before_the_first_reading() -> None:
    asked = (
        "import sys; from benchtool.trade import quantities, units, unit_names;"
        "units.volume_words(30, units.VolumeUnit.US_FL_OZ); m = quantities.Measures();"
        "assert 'pint' not in sys.modules; m.volume('1 mL'); assert 'pint' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", asked], check=True, timeout=60)
