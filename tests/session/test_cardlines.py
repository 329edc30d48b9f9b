"""Pairs on one line, typed or pasted out of a sheet: times by temperature, heat, films; and what is no such line."""

import pytest
from builders import hours, minutes
from hypothesis import given
from hypothesis import strategies as st
from strategies import examples

from benchtool.job.cards import ForcedDry
from benchtool.session.cardlines import (
    NotALine,
    degC_told,
    films_told,
    heat_told,
    read_degC,
    read_films,
    read_heat,
    read_table,
)

TWO = ((10.0, hours(4)), (20.0, hours(2)))


@pytest.mark.parametrize(
    "text",
    [
        "10 °C 4 h; 20 °C 2 h",
        "20 C: 2h, 10 C: 4h",
        "10: 4 h, 20: 2 h",
        "10 °C 4 h 20 °C 2 h",
        "10 °C - 4 h; 20 °C – 120 min;",
        "4 h at 10 °C, 2 h at 20 °C",
        "50 °F 4 h; 68F 2 h",
        "10 °C (50 °F) 4 h; 20 °C/68 °F 2 h",
        "10\t4 h\n20\t2 h",
        "20 °C\t2 h\r\n\r\n10 °C\t4 h\r\n",
        "°F\tmin\n50\t240\n68\t120",
        "Temperature\tDry after, h\n10\t4\n20\t2",
        "10 °C\t20 °C\n4 h\t2 h",
        "Temperature\t10 °C\t20 °C\nDry\t4 h\t2 h",
        "°C\t10\t20\nh\t4\t2",
    ],
)
def test_a_table_is_read_however_a_sheet_has_it(text: str) -> None:
    """50 °F is 10 °C and 68 °F is 20 °C, by the definition of the scale."""
    assert read_table(text) == TWO


def test_decimal_commas_halves_and_frost() -> None:
    table = read_table("-5,5 °C 12,5 h; −2 °C 1/2 d; 0 °C 1 h, 30 min; 20 1/2 h")
    assert table == ((-5.5, hours(12.5)), (-2.0, hours(12)), (0.0, minutes(90)), (20.0, minutes(30)))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "Nothing can be read"),
        ("soon", "no row of a table"),
        ("10 °C", "no time beside it"),
        ("10 °C 240", "At 10 °C: “240” of what? Write 240 min"),
        ("10 °C soon", "no length of time"),
        ("10-15 °C 4 h", "is a range"),
        ("10 °C 2-4 h", "is two times: write the longer for a wait"),
        ("10 °C 4 h; 50 °F 5 h", "10 °C stands there twice"),
        ("68 2 h; 10 4 h", "“68” of what? Write 68 °F (20 °C), or 68 °C."),
        ("10 °C (60 °F) 4 h", "not twice the same temperature"),
        ("1,234 °C 2 h", "two ways"),
        ("250 °C 2 h", "from -40 to 200 °C"),
        ("at 10 °C 4 h and 20 °C 2 h", "put a ; between the rows"),
        ("; ".join(f"{n} °C 1 h" for n in range(51)), "51 rows: 50 at most"),
    ],
)
def test_what_is_no_table_is_said(text: str, said: str) -> None:
    with pytest.raises(NotALine) as wrong:
        read_table(text)
    assert said in str(wrong.value)


@pytest.mark.parametrize(
    "text", ["60 °C for 30 min", "30 min at 140 °F", "60C 30min", "140 F/30 min", "30 min @ 60 °C"]
)
def test_heat_is_a_temperature_with_its_unit_and_a_time(text: str) -> None:
    """140 °F is 60 °C, by the definition of the scale."""
    assert read_heat(text) == ForcedDry(degC=60.0, wait=minutes(30))
    assert heat_told(text) == "60 °C for 30 min"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("60 for 30 min", "no temperature with °C or °F"),
        ("60 °C", "For how long at 60 °C?"),
        ("60 °C 30 min; 80 °C 20 min", "2 temperatures"),
        ("60-70 °C 30 min", "range"),
        ("60 °C for 20-30 min", "two times"),
    ],
)
def test_what_is_no_heat_is_said(text: str, said: str) -> None:
    with pytest.raises(NotALine) as wrong:
        read_heat(text)
    assert said in str(wrong.value)
    assert heat_told(text) == ""


def test_films_are_in_micrometres_or_mils_and_any_order() -> None:
    """A mil is 25.4 µm: an inch is 25.4 mm exactly."""
    assert read_films("150 2,5; 100 µm x1.5") == ((100.0, 1.5), (150.0, 2.5))
    assert read_films("4 mil 1.5 times as long, 6 mils: 2x") == ((101.6, 1.5), (pytest.approx(152.4), 2.0))
    assert films_told("4 mil 1.5x") == "102 µm: 1.5 times"
    for text, said in (
        ("100 µm", "How many times as long"),
        ("100 µm 2 h", "not so many times"),
        ("0 µm 2", "more than"),
    ):
        with pytest.raises(NotALine, match=said):
            read_films(text)


def test_a_temperature_says_what_it_is_where_it_could_be_either() -> None:
    assert (read_degC("20"), read_degC("68 °F"), read_degC("-5 °C"), read_degC("23 °C (73 °F)")) == (20, 20, -5, 23)
    assert (degC_told("77F"), degC_told("70 °F"), degC_told("25"), degC_told("x")) == ("25 °C", "21.1 °C", "", "")
    with pytest.raises(NotALine, match=r"Write 77 °F \(25 °C\), or 77 °C"):
        read_degC("77")


@examples(200)
@given(text=st.text("0123456789 °CFhmindx-–.,;:/()½µ\t\n", max_size=60))
def test_whatever_is_typed_is_read_or_told_in_a_sentence(text: str) -> None:
    said = []
    for read in (read_table, read_heat, read_films, read_degC):
        try:
            read(text)
        except NotALine as wrong:
            said.append(str(wrong))
    assert all(words.endswith(".") for words in said)
