"""Numbers as typed, times as read from three metres."""

import re

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from benchtool.trade.numbers import NotANumber, clock_words, figure, pour_figure, read_number, shorten, span_words

LAW = settings(max_examples=300, deadline=None, derandomize=True, database=None)


@pytest.mark.parametrize(
    ("text", "value", "rest"),
    [
        ("1", 1, ""),
        ("1.5 mL", 1.5, "mL"),
        ("1,5 mL", 1.5, "mL"),
        (",5", 0.5, ""),
        (".5", 0.5, ""),
        ("1.", 1, ""),
        ("+2", 2, ""),
        ("-2", -2, ""),
        ("1e3", 1000, ""),
        ("1/2", 0.5, ""),
        ("1 1/2 fl oz", 1.5, "fl oz"),
        ("½", 0.5, ""),
        ("1½", 1.5, ""),
        ("2 ¾ cup", 2.75, "cup"),
        ("⅓", 1 / 3, ""),
        ("1⁄2", 0.5, ""),
        ("1,0005", 1.0005, ""),
        ("12,34 L", 12.34, "L"),
        ("  7  x ", 7, "x"),
        ("٣", 3, ""),
    ],
)
def test_a_number_is_read_as_it_is_written(text: str, value: float, rest: str) -> None:
    found, left = read_number(text)
    assert found == pytest.approx(value)
    assert left == rest


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "A number is missing here"),
        ("x1", "does not start with a number"),
        ("nan", "does not start with a number"),
        ("inf", "does not start with a number"),
        ("²", "does not start with a number"),
        ("1,000", "read two ways"),
        ("12,345.6", "read two ways"),
        ("-1,000", "read two ways"),
        ("1/0", "divides by zero"),
        ("1 1/0", "divides by zero"),
        ("1e400", "too large"),
        ("9" * 5_000, "too large"),
        ("9" * 5_000 + "/1", "too large"),
        ("9" * 5_000 + "/" + "9" * 5_000, "too large"),
    ],
    ids=lambda value: value[:16],
)
def test_what_is_no_number_is_refused(text: str, words: str) -> None:
    with pytest.raises(NotANumber, match=words):
        read_number(text)


@LAW
@given(st.text(max_size=50) | st.text("0123456789.,/eE+-½¾ ", max_size=30))
def test_any_text_at_all_is_a_finite_number_or_refused(text: str) -> None:
    try:
        value, _ = read_number(text)
    except NotANumber:
        return
    assert abs(value) < float("inf")


@LAW
@given(st.floats(-1e12, 1e12))
def test_a_number_that_was_printed_is_read_back(value: float) -> None:
    assert read_number(f"{value!r} mL") == (value, "mL")


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0, "0:00"),
        (0.000001, "0:01"),
        (1, "0:01"),
        (59.2, "1:00"),
        (380, "6:20"),
        (3_599, "59:59"),
        (3_600, "1:00:00"),
        (3_980, "1:06:20"),
        (86_400, "24:00:00"),
        (172_799, "47:59:59"),
        (172_800, "2 d 00:00"),
        (172_801, "2 d 00:01"),
        (2 * 86_400 + 3 * 3_600 + 12 * 60, "2 d 03:12"),
        (7 * 86_400, "7 d 00:00"),
        (3 * 86_400 - 1, "3 d 00:00"),
        (-5, "0:00"),
    ],
)
def test_a_countdown_in_words(seconds: float, words: str) -> None:
    assert clock_words(seconds) == words


@pytest.mark.parametrize(
    ("seconds", "words"), [(0.9, "0:00"), (1, "0:01"), (59.9, "0:59"), (172_859, "2 d 00:00"), (172_860, "2 d 00:01")]
)
def test_a_deadline_is_rounded_down(seconds: float, words: str) -> None:
    assert clock_words(seconds, up=False) == words


def _seconds(words: str) -> int:
    """Read a countdown back."""
    found = re.fullmatch(r"(?:(\d+) d (\d\d):(\d\d)|(?:(\d+):)?(\d+):(\d\d))", words)
    assert found is not None, words
    days, d_hours, d_minutes, hours, minutes, seconds = (int(x or 0) for x in found.groups())
    return days * 86_400 + d_hours * 3_600 + d_minutes * 60 + hours * 3_600 + minutes * 60 + seconds


@LAW
@given(st.integers(1, 40 * 86_400 * 10**6))
@example(1)
@example(172_800 * 10**6 - 1)
@example(172_800 * 10**6 + 1)
def test_a_wait_never_reads_less_than_is_left_nor_a_deadline_more(microseconds: int) -> None:
    left = microseconds / 1e6
    step = 60 if left >= 2 * 86_400 - 1 else 1
    assert clock_words(left) != "0:00"
    assert left - 1e-6 <= _seconds(clock_words(left)) < left + step + 1e-6
    assert left - step - 1e-6 < _seconds(clock_words(left, up=False)) <= left + 1e-6


@LAW
@given(st.integers(0, 10**7), st.integers(0, 10**7))
def test_a_longer_wait_never_reads_shorter(one: int, other: int) -> None:
    low, high = sorted((one, other))
    assert _seconds(clock_words(low)) <= _seconds(clock_words(high))


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (40, "40 s"),
        (300, "5 min"),
        (5_340, "89 min"),
        (5_400, "1 h 30 min"),
        (18_000, "5 h"),
        (86_400, "24 h"),
        (172_800, "2 days"),
        (29 * 86_400, "29 days"),
    ],
)
def test_a_span_in_words(seconds: float, words: str) -> None:
    assert span_words(seconds) == words


@pytest.mark.parametrize(
    ("value", "text"),
    [(20.4265, "20.4"), (0.59, "0.59"), (1250, "1250"), (1250.4, "1250"), (0, "0"), (99.96, "100"), (-1.5, "-1.5"),
     (1e-9, "0"), (float("nan"), "?"), (float("inf"), "?"), (0.0625, "0.0625"), (3, "3"), (1e15, "1000000000000000")],
)  # fmt: skip
def test_a_figure_to_three_digits(value: float, text: str) -> None:
    assert figure(value) == text


@LAW
@given(st.floats(0.001, 1e6))
def test_a_figure_is_near_its_value_and_never_an_exponent(value: float) -> None:
    assert "e" not in figure(value)
    assert float(figure(value)) == pytest.approx(value, rel=0.005)


@pytest.mark.parametrize(
    ("mL", "text"), [(0.585, "0.58"), (0.594, "0.59"), (20.4265, "20.4"), (102.3, "102"), (5, "5")]
)
def test_an_amount_to_pour_is_as_fine_as_a_bench_can_measure(mL: float, text: str) -> None:
    assert pour_figure(mL) == text


def test_a_pasted_page_stays_one_line() -> None:
    assert shorten("a\nb\t c") == "a b c"
    assert len(shorten("x" * 10_000)) == 40
    assert shorten("x" * 41).endswith("…")
    assert shorten("x" * 40) == "x" * 40
