"""A reading as typed: units, what is refused at which field, and what is said of dew.

Dew points: psychrolib 2.5.0 (ASHRAE Handbook Fundamentals, chapter 1); 3 °C is the practice beside ISO 8502-4.
"""

import pytest

from benchtool.job.events import ReadingTaken
from benchtool.session.cardfields import Wrong
from benchtool.session.readings import read_reading
from benchtool.trade.quantities import Measures

MEASURES = Measures()


def typed(air: str, humidity: str, surface: str = "", speed: str = "") -> dict[str, str]:
    return {"air": air, "humidity": humidity, "surface": surface, "speed": speed}


def event(**fields: object) -> ReadingTaken:
    from datetime import UTC, datetime

    return ReadingTaken(id="e1", at=datetime(2026, 3, 2, tzinfo=UTC), **fields)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("texts", "values"),
    [
        (typed("20", "50"), (20, 50, None, None)),
        (typed("68 F", "50 %", "64.4 °F"), (20, 50, 18, None)),
        (typed("20,5 °C", "48%", "19,8", "0.3 m/s"), (20.5, 48, 19.8, 0.3)),
        (typed("20", "50", "", "100 ft/min"), (20, 50, None, 0.508)),  # NIST SP 811: 1 ft/min is 0.00508 m/s
    ],
)
def test_it_is_read_in_the_units_of_the_thermometer(texts: dict[str, str], values: tuple[float | None, ...]) -> None:
    made = read_reading(MEASURES, texts).draft(id="e1", at=event(air_degC=1, humidity_percent=1).at)
    got = (made.air_degC, made.humidity_percent, made.surface_degC, made.speed_m_s)
    assert [v if v is None else pytest.approx(v) for v in values] == list(got)
    assert made.source == "typed"


@pytest.mark.parametrize(
    ("texts", "field", "words"),
    [
        (typed("", "50"), "air", ""), (typed("warm", "50"), "air", ""), (typed("20", "0"), "humidity", "above 0"),
        (typed("20", "101"), "humidity", "at most 100"), (typed("20", "damp"), "humidity", ""),
        (typed("20", "50", "400"), "surface", "100"), (typed("20", "50", "18", "90"), "speed", "30 m/s"),
        (typed("20", "50", "18", "fast"), "speed", ""), (typed("104", "60"), "air", "if that was 104 °F, it is 40"),
        (typed("20", "50", "18 mm"), "surface", ""),
    ],
)  # fmt: skip
def test_what_no_air_is_is_refused_at_its_field(texts: dict[str, str], field: str, words: str) -> None:
    with pytest.raises(Wrong) as wrong:
        read_reading(MEASURES, texts)
    [(key, said)] = wrong.value.faults
    assert key == field
    assert words in said
    assert said.endswith(".")


def test_the_dew_point_is_said_and_what_it_means_for_spraying() -> None:
    assert "Dew point 12.0 °C." in read_reading(MEASURES, typed("20", "60")).words
    fine = read_reading(MEASURES, typed("20", "60", "18")).words
    assert "5.99 °C above it" in fine
    assert "do not spray" not in fine
    near = read_reading(MEASURES, typed("20", "60", "14.5")).words
    assert "2.49 °C above it. 3 °C is the least: do not spray." in near
    short = read_reading(MEASURES, typed("20", "60", "15")).words  # too little is never rounded up to enough
    assert "2.99 °C above it. 3 °C is the least: do not spray." in short
    assert "below it" in read_reading(MEASURES, typed("20", "60", "10")).words


def test_a_surface_in_fahrenheit_is_asked_about() -> None:
    assert "If that was °F" in read_reading(MEASURES, typed("20", "50", "66")).words
