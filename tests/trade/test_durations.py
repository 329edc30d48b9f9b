"""Lengths of time as painters type them. What each text means is arithmetic and common practice, no source."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import examples

from benchtool.trade.durations import LONGEST, NotASpan, read_span, write_span


@pytest.mark.parametrize(
    ("typed", "minutes"),
    [
        ("15 min", 15),
        ("15min", 15),
        ("15 MIN.", 15),
        ("1 h 30", 90),
        ("1h30", 90),
        ("1 h 30 min", 90),
        ("1 hour, 30 minutes", 90),
        ("1.5 h", 90),
        ("1,5 h", 90),
        ("1 1/2 h", 90),
        ("½ h", 30),
        ("48 h", 2 * 1440),
        ("2 d", 2 * 1440),
        ("1 d 4 h", 28 * 60),
        ("1 d 4", 28 * 60),
        ("2 weeks", 14 * 1440),
        ("90 s", 1.5),
        ("1 min 30", 1.5),
        ("0 min", 0),
    ],
)
def test_it_reads_what_a_painter_types(typed: str, minutes: float) -> None:
    assert read_span(typed) == timedelta(minutes=minutes)


def test_a_number_alone_counts_only_in_a_unit_that_is_named() -> None:
    assert read_span("90", "min") == timedelta(minutes=90)
    assert read_span("90", "h") == timedelta(hours=90)
    assert read_span("1 h", "min") == timedelta(hours=1)
    with pytest.raises(NotASpan, match="90 min, 90 h or 90 d"):
        read_span("90")


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "Nothing is typed"),
        ("overnight", "no length of time"),
        ("h", "no length of time"),
        ("15 min flash", "no length of time"),
        ("5 moons", "no unit of time"),
        ("1:30", "two ways"),
        ("1,500 h", "two ways"),
        ("10-15 min", "two times"),
        ("10 – 15 min", "two times"),
        ("10 min to 15 min", "two times"),
        ("-5 min", "below zero"),
        ("30 min 1 h", "not in order"),
        ("1 h 2 h", "not in order"),
        ("1 s 5", "without its unit"),
        ("1 h 30 45", "no length of time"),
        ("9999 d", "longer than ten years"),
        ("1e300 h", "longer than ten years"),
    ],
)
def test_it_says_what_is_wrong(typed: str, said: str) -> None:
    with pytest.raises(NotASpan, match=said):
        read_span(typed, "min" if typed == "30 min 1 h" else None)


@pytest.mark.parametrize(
    ("span", "words"),
    [
        (timedelta(minutes=15), "15 min"),
        (timedelta(minutes=90), "1 h 30 min"),
        (timedelta(hours=48), "48 h"),
        (timedelta(hours=72), "72 h"),
        (timedelta(days=7), "7 d"),
        (timedelta(days=3, hours=12), "3 d 12 h"),
        (timedelta(seconds=90.5), "1 min 30.5 s"),
        (timedelta(0), "0 min"),
    ],
)
def test_it_writes_as_a_sheet_prints(span: timedelta, words: str) -> None:
    assert write_span(span) == words


@examples(400)
@given(st.timedeltas(timedelta(0), LONGEST))
def test_what_is_written_reads_the_same(span: timedelta) -> None:
    assert read_span(write_span(span)) == span


@examples(200)
@given(st.text(max_size=30))
def test_whatever_is_typed_is_a_time_or_a_sentence(typed: str) -> None:
    read, said = timedelta(0), "."
    try:
        read = read_span(typed, "min")
    except NotASpan as wrong:
        said = str(wrong)
    assert timedelta(0) <= read <= LONGEST
    assert said.endswith(".")


def test_a_time_below_zero_is_not_written() -> None:
    with pytest.raises(NotASpan):
        write_span(timedelta(seconds=-1))
