"""Readers of masses, lengths, areas, rates, densities, temperatures and viscosities.

Values: NIST Handbook 44, Appendix C and NIST SP 811, Appendix B, by the rows of the reference table where a row is
named; "M" is a factor of SP 811 from memory, which follows from exact definitions named beside it.
"""

import pytest

from benchtool.trade.quantities import Measures, NotAnAmount

MEASURES = Measures()

READ = [
    # reader, typed, value, source
    ("mass", "1 lb", 453.59237, "8-1_lb"),
    ("mass", "1 oz wt", 28.349523125, "8-1_avoirdupois_ounce"),
    ("mass", "12,5 g", 12.5, "SI"),
    ("mass", "1 grain", 0.06479891, "Handbook 44: 1/7000 lb"),
    ("mass", "1 kilo", 1000.0, "SI"),
    ("mass", "250 mg", 0.25, "SI"),
    ("length_um", "1 mil", 25.4, "8-1_mil"),
    ("length_um", "2 mils", 50.8, "8-1_mil"),
    ("length_um", "1 thou", 25.4, "8-1_mil"),
    ("length_um", "25um", 25.0, "SI"),
    ("length_um", "25 µm", 25.0, "SI, the micro sign"),
    ("length_um", "25 μm", 25.0, "SI, the Greek letter"),
    ("length_um", "25 microns", 25.0, "SI"),
    ("length_um", "0.1 mm", 100.0, "SI"),
    ("length_um", "0.001 in", 25.4, "8-1_mil"),
    ("length_mm", "12 in", 304.8, "Handbook 44: inch of 25.4 mm"),
    ("length_mm", "1 ft", 304.8, "Handbook 44"),
    ("length_mm", '12"', 304.8, "Handbook 44"),
    ("length_mm", "2'", 609.6, "Handbook 44"),
    ("length_mm", "3 feet", 914.4, "Handbook 44"),
    ("length_mm", "1 yd", 914.4, "Handbook 44"),
    ("length_mm", "1.2 m", 1200.0, "SI"),
    ("length_mm", "30 CM", 300.0, "SI"),
    ("length_mm", "30 Mm", 30.0, "a capital is no megametre on a bench"),
    ("area_m2", "1 ft2", 0.09290304, "8-1_ft2"),
    ("area_m2", "1 sq ft", 0.09290304, "8-1_ft2"),
    ("area_m2", "1 sq. ft.", 0.09290304, "8-1_ft2"),
    ("area_m2", "1sqft", 0.09290304, "8-1_ft2"),
    ("area_m2", "10 square feet", 0.9290304, "8-1_ft2"),
    ("area_m2", "1 sq in", 6.4516e-4, "SP 811 B.8, M: 25.4 mm squared"),
    ("area_m2", "1 sq yd", 0.83612736, "SP 811 B.8, M: 914.4 mm squared"),
    ("area_m2", "1.5m2", 1.5, "SI"),
    ("area_m2", "1,5 m²", 1.5, "SI"),
    ("area_m2", "1.5 m^2", 1.5, "SI"),
    ("area_m2", "1.5 sq m", 1.5, "SI"),
    ("area_m2", "500 cm2", 0.05, "SI"),
    ("area_m2", "30 x 40 cm", 0.12, "SI"),
    ("area_m2", "30cm×400 mm", 0.12, "SI"),
    ("area_m2", "1 ft X 6 in", 0.04645152, "8-1_ft2, halved"),
    ("rate_mL_min", "20 mL/min", 20.0, "SI"),
    ("rate_mL_min", "20 ml per minute", 20.0, "SI"),
    ("rate_mL_min", "1 L/h", 1000 / 60, "SI"),
    ("rate_mL_min", "1 L/hr", 1000 / 60, "SI"),
    ("rate_mL_min", "1 fl oz/min", 29.5735295625, "8-1_US_fluid_ounce"),
    ("rate_mL_min", "1 imperial fl oz / min", 28.4130625, "8-1_imperial_fluid_ounce"),
    ("rate_mL_min", "0.1 gal/min", 378.5411784, "SP 811 B.8, 6.309020 E-05 m3/s, M"),
    ("rate_mL_min", "1 cfm", 28316.846592, "SP 811 B.8, 4.719474 E-04 m3/s, M"),
    ("density_g_mL", "1.2 g/mL", 1.2, "SI"),
    ("density_g_mL", "1.2 kg/L", 1.2, "SI"),
    ("density_g_mL", "950 g/L", 0.95, "SI"),
    ("density_g_mL", "1.2 g/cm3", 1.2, "SI"),
    ("density_g_mL", "1200 kg/m3", 1.2, "SI"),
    ("density_g_mL", "1 lb/gal", 0.119826427, "8-1_lbperUS_gal"),
    ("density_g_mL", "1 lb/US gal", 0.119826427, "8-1_lbperUS_gal"),
    ("density_g_mL", "1 lb per imp. gal", 0.09977637, "SP 811 B.8, M: 453.59237 g in 4.54609 L"),
    ("density_g_mL", "1 lb/ft3", 0.01601846, "SP 811 B.8, M: 453.59237 g in 28.316846592 L"),
    ("concentration_g_L", "1 lb/gal", 119.826427, "8-1_lbperUS_gal"),
    ("concentration_g_L", "3.5 lbs/gal", 419.392495, "8-1_lbperUS_gal"),
    ("concentration_g_L", "420 g/L", 420.0, "SI"),
    ("concentration_g_L", "0 g/l", 0.0, "SI"),
    ("concentration_g_L", "1 oz wt/gal", 7.489152, "SP 811 B.8, M: 28.349523125 g in 3.785411784 L"),
    ("temperature_degC", "20C", 20.0, "SI"),
    ("temperature_degC", "20 °C", 20.0, "SI"),
    ("temperature_degC", "20 degrees C", 20.0, "SI"),
    ("temperature_degC", "20 deg. C", 20.0, "SI"),
    ("temperature_degC", "20 ℃", 20.0, "SI"),
    ("temperature_degC", "20 celsius", 20.0, "SI"),
    ("temperature_degC", "68F", 20.0, "SP 811 B.8: (t - 32)/1.8"),
    ("temperature_degC", "68 ºf", 20.0, "SP 811 B.8"),
    ("temperature_degC", "32 °F", 0.0, "SP 811 B.8"),
    ("temperature_degC", "-40 F", -40.0, "SP 811 B.8"),
    ("temperature_degC", "−40 F", -40.0, "SP 811 B.8"),
    ("temperature_degC", "212 Fahrenheit", 100.0, "SP 811 B.8"),
    ("temperature_degC", "293.15 K", 20.0, "SP 811 B.8"),
    ("temperature_degC", "0 K", -273.15, "absolute zero"),
    ("temperature_degC", "-459.67 F", -273.15, "absolute zero"),
    ("temperature_difference_K", "5 F", 2.778, "8-dF"),
    ("temperature_difference_K", "9 °F", 5.0, "8-dF: 1.8 F is 1 K"),
    ("temperature_difference_K", "-5 C", -5.0, "SI"),
    ("temperature_difference_K", "5 K", 5.0, "SI"),
    ("viscosity_mm2_s", "40 mm2/s", 40.0, "SI"),
    ("viscosity_mm2_s", "40 mm²/s", 40.0, "SI"),
    ("viscosity_mm2_s", "40 cSt", 40.0, "SP 811 B.8: 1 cSt is 1 mm2/s"),
    ("viscosity_mm2_s", "40 CST", 40.0, "SP 811 B.8"),
    ("viscosity_mm2_s", "0.4 St", 40.0, "SP 811 B.8: 1 St is 1 cm2/s"),
    ("viscosity_mm2_s", "4e-5 m2/s", 40.0, "SI"),
]


@pytest.mark.parametrize(("reader", "typed", "value", "source"), READ, ids=lambda value: str(value)[:30])
def test_each_reader_reads_what_the_handbook_has(reader: str, typed: str, value: float, source: str) -> None:
    tolerance = 0.001 / 2.778 if source == "8-dF" else 1e-6  # the reference row's own
    assert getattr(MEASURES, reader)(typed) == pytest.approx(value, rel=tolerance, abs=1e-9), source


def test_each_reader_takes_the_unit_of_its_field_for_a_bare_number() -> None:
    for reader, unit, value in [
        ("mass", "g", 5), ("length_um", "um", 5), ("length_mm", "mm", 5), ("area_m2", "m2", 5),
        ("rate_mL_min", "mL/min", 5), ("density_g_mL", "g/mL", 5), ("concentration_g_L", "g/L", 5),
        ("temperature_degC", "C", 5), ("temperature_difference_K", "K", 5), ("viscosity_mm2_s", "mm2/s", 5),
    ]:  # fmt: skip
        read = getattr(MEASURES, reader)
        assert read("5", unit=unit) == pytest.approx(value)
        with pytest.raises(NotAnAmount, match="“5” has no unit"):
            read("5")


REFUSED = [
    ("mass", "1 mL", "is not a weight"),
    ("mass", "-1 g", "below zero"),
    ("mass", "1 oz", "of volume or of weight"),
    ("mass", "1e300 kg", "too large"),
    ("mass", "", "Nothing is typed yet"),
    ("mass", "1 imperial g", "no imperial"),
    ("mass", "g", "does not start with a number"),
    ("length_um", "1 m2", "is not a thickness"),
    ("length_um", "1 nothing", "is not a unit known here"),
    ("length_um", "1e308 m", "too large"),
    ("length_mm", "1 mL", "is not a length"),
    ("length_mm", "-1e-300 mm", "below zero"),
    ("length_mm", "5 ms", "is not a length"),
    ("area_m2", "1 m", "is not an area"),
    ("area_m2", "30 x 4 g", "“4 g” is not a length"),
    ("area_m2", "30 g x 4 cm", "“30 g” is not a length"),
    ("area_m2", "30 x 4", "has no unit"),
    ("area_m2", "-3 x 4 cm", "below zero"),
    ("area_m2", "3 x 4 x 5 cm", "is not a unit"),
    ("area_m2", "900 km x 900 km", "too large"),
    ("area_m2", "1000 m x 1001 m", "too large"),
    ("area_m2", "1 x " + "1" * 5000, "far too long"),
    ("rate_mL_min", "0 mL/min", "not above zero"),
    ("rate_mL_min", "20 mL", "is not a rate"),
    ("rate_mL_min", "1 oz/min", "of volume or of weight"),
    ("density_g_mL", "0 g/mL", "not above zero"),
    ("density_g_mL", "-1 g/mL", "not above zero"),
    ("density_g_mL", "950 g/mL", "too large"),
    ("density_g_mL", "1 lb", "is not a density"),
    ("concentration_g_L", "-1 g/L", "below zero"),
    ("concentration_g_L", "3 percent", "is not a content"),
    ("temperature_degC", "-300 C", "below absolute zero"),
    ("temperature_degC", "-459.68 F", "below absolute zero"),
    ("temperature_degC", "20°", "is not a temperature"),
    ("temperature_degC", "20 C/min", "is not a unit known here"),
    ("temperature_degC", "5 delta_degF", "is not a unit"),
    ("temperature_degC", "1e9 F", "too large"),
    ("temperature_difference_K", "5 mL", "is not a difference"),
    ("temperature_difference_K", "1e9 F", "too large"),
    ("viscosity_mm2_s", "40 cP", "is not a kinematic viscosity"),
    ("viscosity_mm2_s", "25 s", "is not a kinematic viscosity"),
    ("viscosity_mm2_s", "0 cSt", "not above zero"),
]


@pytest.mark.parametrize(("reader", "typed", "words"), REFUSED, ids=lambda value: str(value)[:30])
def test_what_a_field_does_not_take_is_refused_in_a_sentence_that_says_what_it_takes(
    reader: str, typed: str, words: str
) -> None:
    with pytest.raises(NotAnAmount) as fault:
        getattr(MEASURES, reader)(typed)
    message = str(fault.value)
    assert words in message
    assert "such as" in message or "Write “" in message
    assert len(message) < 220
    assert "\n" not in message


def test_a_temperature_comes_out_without_the_noise_of_its_conversion() -> None:
    assert MEASURES.temperature_degC("68 F") == 20
    assert MEASURES.convert("20 C", "F").value == 68


def test_the_largest_area_is_an_area_either_way_it_is_typed() -> None:
    assert MEASURES.area_m2("1000000 m2") == MEASURES.area_m2("1000 m x 1000 m") == 1e6
