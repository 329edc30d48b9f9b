"""Amounts as typed, against the unit tables of NIST Handbook 44, Appendix C."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchtool.trade.quantities import LARGEST_ML, Measures, NotAnAmount


@pytest.fixture(scope="module")
def measures() -> Measures:
    return Measures()


VOLUMES_ML = [
    ("1 US gallon", 3785.411784, "8-1_US_gallon"),
    ("1 gal", 3785.411784, "8-1_US_gallon"),
    ("1 US quart", 946.352946, "8-1_US_quart"),
    ("1 US pint", 473.176473, "8-1_US_quart, halved"),
    ("1 US fl oz", 29.5735295625, "8-1_US_fluid_ounce"),
    ("1 fl. oz.", 29.5735295625, "8-1_US_fluid_ounce"),
    ("1 floz", 29.5735295625, "8-1_US_fluid_ounce"),
    ("1 US cup", 236.5882365, "8-1_US_cup"),
    ("1 US tbsp", 14.78676478125, "8-1_US_teaspoon, three of them"),
    ("1 US tsp", 4.92892159375, "8-1_US_teaspoon"),
    ("1 US fluid dram", 3.6966911953125, "8-1_US_fluid_dram"),
    ("1 fl dr", 3.6966911953125, "8-1_US_fluid_dram"),
    ("1 minim", 0.0616115199, "8-minim"),
    ("1 cubic inch", 16.387064, "8-1_cubic_inch"),
    ("1 in^3", 16.387064, "8-1_cubic_inch"),
    ("1 cu in", 16.387064, "8-1_cubic_inch"),
    ("1 imperial gallon", 4546.09, "8-1_imperial_gallon"),
    ("1 UK gal", 4546.09, "8-1_imperial_gallon"),
    ("1 imperial quart", 1136.5225, "8-1_imperial_quart"),
    ("1 imperial pint", 568.26125, "8-1_imperial_quart, halved"),
    ("1 imperial fl oz", 28.4130625, "8-1_imperial_fluid_ounce"),
    ("1 imp. fl oz", 28.4130625, "8-1_imperial_fluid_ounce"),
    ("1 fl. oz. (U.S.)", 29.5735295625, "8-1_US_fluid_ounce"),
    ("1 fl oz (imp)", 28.4130625, "8-1_imperial_fluid_ounce"),
    ("1 U.S.gal", 3785.411784, "8-1_US_gallon"),
    ("1/2 tsp", 4.92892159375 / 2, "8-1_US_teaspoon, halved"),
    ("1 gill", 118.29411825, "8-1_US_cup, halved"),
    ("1 imperial gill", 142.0653125, "8-1_imperial_quart, an eighth"),
    ("1 imperial fluid drachm", 3.5516328125, "8-1_imperial_fluid_ounce, an eighth"),
    ("1 imperial minim", 28.4130625 / 480, "8-1_imperial_fluid_ounce, 1/480"),
    ("1 US minim", 29.5735295625 / 480, "8-minim"),
    ("1 cubic foot", 28316.846592, "SP 811 B.8"),
    ("1 ft³", 28316.846592, "SP 811 B.8"),
    ("30 c.c.", 30.0, "SI"),
    ("30 mL", 30.0, "SI"),
    ("30ml", 30.0, "SI"),
    ("3 cl", 30.0, "SI"),
    ("0.03 L", 30.0, "SI"),
    ("30 cc", 30.0, "SI"),
    ("30 cm³", 30.0, "SI"),
    ("30 cm3", 30.0, "SI"),
    ("500 µL", 0.5, "SI"),
    ("1,5 mL", 1.5, "SI"),
    ("1 1/2 mL", 1.5, "SI"),
    ("1½ mL", 1.5, "SI"),
    ("1/4 L", 250.0, "SI"),
    ("1e2 mL", 100.0, "SI"),
    ("0 mL", 0.0, "SI"),
]
"""Typed, mL, row of the reference table; NIST Handbook 44 Appendix C / SP 811 Appendix B where no other is named."""


@pytest.mark.parametrize(("typed", "mL", "row"), VOLUMES_ML)
def test_a_volume_is_read_as_the_handbook_has_it(measures: Measures, typed: str, mL: float, row: str) -> None:
    assert measures.volume(typed).mL == pytest.approx(mL, rel=1e-6), row


MASSES_G = [
    ("1 lb", 453.59237, "8-1_lb"),
    ("1 oz wt", 28.349523125, "8-1_avoirdupois_ounce"),
    ("1 ounces by weight", 28.349523125, "8-1_avoirdupois_ounce"),
    ("250 g", 250.0, "SI"),
    ("2 kg", 2000.0, "SI"),
    ("500 mg", 0.5, "SI"),
]


@pytest.mark.parametrize(("typed", "grams", "row"), MASSES_G)
@pytest.mark.parametrize("density", [0.8, 1.0, 1.37])
def test_a_mass_becomes_a_volume_by_its_density(
    measures: Measures, typed: str, grams: float, row: str, density: float
) -> None:
    assert measures.volume(typed, density_g_mL=density).mL == pytest.approx(grams / density, rel=1e-6), row


@pytest.mark.parametrize(
    ("unit", "ratio"),
    [
        ("fl oz", 29.5735295625 / 28.4130625),
        ("pint", 473.176473 / 568.26125),
        ("quart", 946.352946 / 1136.5225),
        ("gallon", 3785.411784 / 4546.09),
    ],
)
def test_us_and_imperial_measures_are_never_the_same(measures: Measures, unit: str, ratio: float) -> None:
    us, imperial = measures.volume(f"1 US {unit}"), measures.volume(f"1 imperial {unit}")
    assert us.mL / imperial.mL == pytest.approx(ratio, rel=1e-6)
    assert measures.volume(f"1 {unit}").mL == us.mL
    assert us.understood.startswith("1 US ")
    assert imperial.understood.startswith("1 imperial ")


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("abc", "does not start with a number"),
        ("-1 mL", "below zero"),
        ("2 kg", "gives no density"),
        ("1e400", "too large"),
        ("1e400 mL", "too large"),
        ("nan", "does not start with a number"),
        ("nan mL", "does not start with a number"),
        ("inf mL", "does not start with a number"),
        ("", "Nothing is typed yet"),
        (" \t\n", "Nothing is typed yet"),
        ("1" * 10_000, "far too long"),
        ("1 " + "m" * 10_000, "far too long"),
        ("1/" + "9" * 10_000, "far too long"),
        ("1,000 mL", "read two ways"),
        ("1 oz", "of volume or of weight"),
        ("1 OZ.", "of volume or of weight"),
        ("1 US oz", "of volume or of weight"),
        ("1 imperial oz", "of volume or of weight"),
        ("🎨", "does not start with a number"),
        ("5 🎨", "is not a unit"),
        ("9**9**9 mL", "is not a unit"),
        ("1 m^9^9^9^9", "is not a unit"),
        ("1 m^9⁹⁹⁹⁹⁹⁹⁹⁹⁹", "is not a unit"),
        ("1 m**9**9**9", "is not a unit"),
        ("__import__", "does not start with a number"),
        ("1 __import__('os').abort()", "is not a unit"),
        ("1 mL; rm", "is not a unit"),
        ("1 m", "is not a volume"),
        ("1 m^2", "is not a volume"),
        ("1 degC", "is not a volume"),
        ("1 kg/L", "is not a volume"),
        ("5 minutes", "is not a volume"),
        ("1 nothing", "is not a unit known here"),
        ("1 imperial mL", "no imperial"),
        ("1 UK tsp", "no imperial"),
        ("3 parts", "how much is one part"),
        ("2 %", "is not a unit"),
        ("-3 drops", "below zero"),
        ("15 drips", "is not a unit known here"),
        ("1 mL mL", "is not a unit known here"),
        ("1 mil", "is not a volume"),
        ("1 mL/min/h", "is not a unit"),
        ("1 /min", "“/min” is not a unit"),
        ("1 delta_degC", "is not a unit"),
        ("1 imperial", "is not a unit known here"),
        ("30", "has no unit"),
        ("1/0 mL", "divides by zero"),
        ("2 m^3", "more than any cup holds"),
        ("1e300 L", "more than any cup holds"),
        ("1e308 gal", "more than any cup holds"),
    ],
    ids=lambda value: value[:24],
)
def test_what_is_no_amount_is_answered_in_one_sentence_that_says_what_the_field_takes(
    measures: Measures, typed: str, words: str
) -> None:
    with pytest.raises(NotAnAmount) as fault:
        measures.volume(typed)
    message = str(fault.value)
    assert words in message
    assert message.endswith(("1 fl oz.", "on a scale."))
    assert len(message) < 220
    assert "\n" not in message


def test_a_bare_number_takes_the_unit_of_the_field_and_a_written_unit_wins(measures: Measures) -> None:
    assert measures.volume("30", unit="mL").mL == 30
    assert measures.volume("1", unit="fl oz").mL == pytest.approx(29.5735295625)
    assert measures.volume("30 mL", unit="fl oz").mL == 30
    assert measures.volume("5", unit="g", density_g_mL=0.5).mL == pytest.approx(10)


def test_what_was_understood_is_said_back(measures: Measures) -> None:
    assert measures.volume(" 1 fl oz ").typed == "1 fl oz"
    assert measures.volume("1 fl oz").understood == "1 US fluid ounce"
    assert measures.volume("1½ imperial pints").understood == "1.5 imperial pint"
    assert measures.volume("30ml").understood == "30 mL"
    assert measures.volume("2 kg", density_g_mL=1).understood == "2 kg"


def test_the_largest_amount_is_an_amount(measures: Measures) -> None:
    assert measures.volume(f"{LARGEST_ML:.0f} mL").mL == LARGEST_ML
    with pytest.raises(NotAnAmount):
        measures.volume(f"{LARGEST_ML + 1:.0f} mL")


def test_a_cache_that_cannot_be_written_stops_no_mix(tmp_path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("no folder", encoding="utf-8")
    measures = Measures(cache_folder=str(blocked / "cache"))
    measures.warm()
    assert measures.volume("1 L").mL == 1000


MEASURES = Measures()


@settings(max_examples=300, deadline=None, derandomize=True, database=None)
@given(st.text(max_size=60) | st.text("0123456789.,/eE+-*^() mLfozgalkUSimp³⁹", max_size=40))
def test_any_text_at_all_is_an_amount_or_refused_as_none(text: str) -> None:
    try:
        amount = MEASURES.volume(text, density_g_mL=1.2)
    except NotAnAmount:
        return
    assert 0 <= amount.mL <= LARGEST_ML


@settings(max_examples=100, deadline=None, derandomize=True, database=None)
@given(
    st.floats(0.001, 100),
    st.sampled_from(["mL", "L", "fl oz", "imperial fl oz", "US pint", "imperial gal", "tsp", "cubic inch"]),
)
def test_twice_the_number_is_twice_the_volume(number: float, unit: str) -> None:
    one, two = MEASURES.volume(f"{number!r} {unit}"), MEASURES.volume(f"{2 * number!r} {unit}")
    assert two.mL == pytest.approx(2 * one.mL)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("1 dram", "Write “fluid dram”"),  # 3.70 mL by volume, 1.77 g by weight: Handbook 44 has both
        ("2 drachms", "Write “fluid dram”"),
        ("5 gr", "Write “g” for grams, or “grain”."),  # gr is the grain of 64.8 mg in Handbook 44
        ("1 t", "Write “tsp” or “tbsp”"),
        ("2 ounces", "Write “fl oz”, or “oz wt” on a scale."),
    ],
)
def test_a_unit_that_means_two_things_is_refused_with_the_ways_to_write_it(
    measures: Measures, typed: str, words: str
) -> None:
    for read in (lambda: measures.volume(typed, density_g_mL=1.0), lambda: measures.convert(typed, "mL")):
        with pytest.raises(NotAnAmount, match=words):
            read()
    with pytest.raises(NotAnAmount, match=words):
        measures.mass(typed)
    with pytest.raises(NotAnAmount, match=words):
        measures.convert("1 kg", typed.split()[1])


def test_a_drop_nobody_has_measured_is_a_guess_inside_the_pharmacopoeia_s_range(measures: Measures) -> None:
    # 8-drop, USP <1101>: drops of water from a 3 mm dropper weigh 45 to 55 mg
    guessed = measures.volume("15 drops")
    assert guessed.guess
    assert guessed.understood == "15 drops at 20 to the mL, a guess"
    assert guessed.mL == pytest.approx(15 / 20)
    assert 18.2 - 0.1 <= 1 / measures.volume("1 drop").mL <= 22.2 + 0.1
    assert measures.volume("3", unit="drops").mL == pytest.approx(3 / 20)


def test_a_drop_that_was_measured_is_no_guess(measures: Measures) -> None:
    read = measures.volume("15 drops", drop_mL=0.04)
    assert (read.mL, read.guess, read.understood) == (pytest.approx(0.6), False, "15 drops at 0.04 mL each")
    assert measures.volume("1 drop", drop_mL=0.04).understood == "1 drop at 0.04 mL each"
    assert not measures.volume("15 mL").guess
    for none in (0.0, -0.1, float("nan"), float("inf")):
        with pytest.raises(NotAnAmount, match="A drop can't be"):
            measures.volume("15 drops", drop_mL=none)


def test_parts_are_read_by_what_one_part_is(measures: Measures) -> None:
    read = measures.volume("3 parts", part_mL=10)
    assert (read.mL, read.guess, read.understood) == (30, False, "3 parts at 10 mL each")
    with pytest.raises(NotAnAmount, match="A part can't be"):
        measures.volume("3 parts", part_mL=0)


@pytest.mark.parametrize("density", [0.0, -1.0, float("nan"), float("inf")])
def test_a_density_that_is_none_turns_no_weight_into_a_volume(measures: Measures, density: float) -> None:
    with pytest.raises(NotAnAmount, match="A density can't be"):
        measures.volume("2 g", density_g_mL=density)
