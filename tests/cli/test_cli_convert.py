"""`benchtool convert`: units against NIST Handbook 44 and SP 811."""

import shlex

import pytest
from cli.asking import ask
from hypothesis import given, settings
from hypothesis import strategies as st


def convert(words, *more):
    return ask("convert", *shlex.split(words), *more)


def values(words):
    said = convert(words, "--json")
    assert said.status == 0, said.err
    return said.values


@pytest.mark.parametrize(
    ("amount", "unit", "value"),
    [
        # NIST Handbook 44 appendix C; imperial: UK Weights and Measures Act 1985
        ("1 US gallon", "L", 3.785411784),
        ("1 US quart", "mL", 946.352946),
        ("1 US fluid ounce", "mL", 29.5735295625),
        ("1 imperial gallon", "L", 4.54609),
        ("1 imperial fluid ounce", "mL", 28.4130625),
        ("1 imperial fl oz", "mL", 28.4130625),
        ("1 imperial quart", "mL", 1136.5225),
        ("1 US cup", "mL", 236.5882365),
        ("1 US teaspoon", "mL", 4.92892159375),
        ("1 US fluid dram", "mL", 3.6966911953125),
        ("1 cubic inch", "mL", 16.387064),
        ("1 mil", "um", 25.4),
        ("1 lb", "g", 453.59237),
        ("1 avoirdupois ounce", "g", 28.349523125),
        ("1 lb/US gal", "g/L", 119.826427),
        ("1 psi", "Pa", 6894.757293),
        ("1 inHg", "Pa", 3386.389),  # from memory
        ("1 mmHg", "Pa", 133.322387),  # from memory
        ("1 ft2", "m2", 0.09290304),
        ("100 ft/min", "m/s", 0.508),
        ("1/2 tsp", "mL", 2.464460796875),
        ("68 F", "C", 20.0),
        ("-5C", "F", 23.0),
        ("-40 F", "C", -40.0),
    ],
)
def test_units(amount, unit, value):
    assert values(f"'{amount}' '{unit}'")["value"] == pytest.approx(value, rel=1e-6, abs=1e-9)


def test_the_two_ounces_say_which_they_are():
    us, imperial = values("'1 fl oz' mL"), values("'1 imperial fl oz' mL")
    assert "US" in us["understood"]
    assert "imperial" in imperial["understood"]
    assert us["value"] > imperial["value"]


class TestDrops:
    def test_are_a_guess_until_counted(self):
        """8-drop: 20 to the mL, 18.2 to 22.2 (USP <1101>, water): a convention, and no measure of a solvent."""
        guess = values("'20 drops' mL")
        assert guess["value"] == pytest.approx(1.0)
        assert guess["guess"] is True
        assert "guess" in convert("'20 drops' mL").out
        assert values("'1 mL' drops")["value"] == pytest.approx(20, abs=0.1)

    def test_are_as_many_as_the_dropper_gives(self):
        counted = values("'15 drops' mL --drop 0.04mL")
        assert counted["value"] == pytest.approx(0.6)
        assert counted["guess"] is False
        assert values("'0.6 mL' drops --drop 0.04mL")["value"] == pytest.approx(15)


def test_a_weight_becomes_a_volume_by_its_density():
    assert values("30g mL --density 1.2")["value"] == pytest.approx(25)
    assert values("25mL g --density 1.2")["value"] == pytest.approx(30)
    assert values("25mL g --density '10.0145 lb/gal'")["value"] == pytest.approx(30, rel=1e-4)


UNITS = ("mL", "L", "US fl oz", "imperial fl oz", "US gallon", "imperial pint", "cubic inch", "tsp")


@given(st.floats(0.01, 10_000), st.sampled_from(UNITS), st.sampled_from(UNITS))
@settings(max_examples=60, deadline=None)
def test_there_and_back(number, one, other):
    there = ask("convert", f"{number!r} {one}", other, "--json").values["value"]
    back = ask("convert", f"{there!r} {other}", one, "--json").values["value"]
    assert back == pytest.approx(number, rel=1e-9)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("", "--help"),
        ("3mL", "--help"),
        ("3mL L extra", "--help"),
        ("mL L", "number"),
        ("3 mL", "unit"),
        ("'' mL", "Nothing"),
        ("3mL ''", "unit"),
        ("3parsnips mL", "parsnips"),
        ("3mL parsnips", "parsnips"),
        ("3mL m2", "area"),
        ("3g mL", "density"),
        ("3oz mL", "ounce"),
        ("-3mL L", "below zero"),
        ("-300C F", "absolute zero"),
        ("3parts mL", "part"),
        ("'15 drops' mL --drop 0mL", "drop"),
        ("'15 drops' mL --drop 4", "unit"),
        ("3g mL --density 0", "density"),
        ("1e400mL L", "large"),
        ("1m^9^9^9^9 L", "unit"),
    ],
)
def test_input_that_is_no_use_is_one_line(words, told):
    for form in ([], ["--json"]):
        said = convert(words, *form)
        assert said.status == 2
        assert said.err.startswith("benchtool convert: ")
        assert "worked out" not in said.err
        assert told in said.err


@given(st.text(max_size=30), st.text(max_size=15))
@settings(max_examples=150, deadline=None)
def test_nothing_breaks_it(amount, unit):
    for argv in ((amount, unit), (f"3 {amount}", unit), ("3 mL", unit)):
        assert "worked out" not in ask("convert", *argv).err
