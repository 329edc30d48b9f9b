"""Correcting the bare area by hand, and what it comes to: no stroke is lost, no limit is passed over."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchtool.session import photohand
from benchtool.session.photohand import HandMask, answer
from benchtool.trade.crosscut import UNKNOWN, Grid, Measured
from benchtool.trade.grades import Method, classes_of

SIDE = 60
GRID = Grid(((0.1, 0.1), (0.9, 0.1), (0.9, 0.9), (0.1, 0.9)), 6)
spots = st.tuples(st.floats(-30, 90), st.floats(-30, 90))
strokes = st.lists(st.tuples(spots, spots, st.floats(0.5, 40), st.booleans()), max_size=8)


def measured(percent: float, plus_minus: float, doubt: str = "") -> Measured:
    mask = np.zeros((SIDE, SIDE), bool)
    return Measured(GRID, percent, plus_minus, mask, np.zeros((SIDE, SIDE, 3), np.uint8), ~mask, doubt)


def fresh() -> HandMask:
    return HandMask(np.eye(SIDE, dtype=bool), np.ones((SIDE, SIDE), bool))


def draw(hand: HandMask, start: tuple[float, float], end: tuple[float, float], radius: float, bare: bool) -> bool:
    hand.begin()
    hand.brush(start, end, radius, bare=bare)
    return hand.end()


@given(strokes)
def test_undoing_every_stroke_gives_back_what_was_measured(drawn: list[tuple]) -> None:
    hand = fresh()
    for start, end, radius, bare in drawn:
        draw(hand, start, end, radius, bare)
    while hand.undo():
        pass
    assert np.array_equal(hand.mask, np.eye(SIDE, dtype=bool))
    assert not hand.corrected


@given(spots, spots, st.floats(0.5, 40))
def test_a_stroke_marks_what_is_within_its_radius_and_nothing_else(
    start: tuple[float, float], end: tuple[float, float], radius: float
) -> None:
    hand = HandMask(np.zeros((SIDE, SIDE), bool), np.ones((SIDE, SIDE), bool))
    hand.begin()
    hand.brush(start, end, radius, bare=True)
    a, b = np.array(start), np.array(end)
    for row in range(0, SIDE, 7):
        for column in range(0, SIDE, 7):
            p = np.array([column + 0.5, row + 0.5])
            along = 0.0 if (b - a) @ (b - a) < 1e-9 else float(np.clip((p - a) @ (b - a) / ((b - a) @ (b - a)), 0, 1))
            away = float(np.linalg.norm(p - a - along * (b - a)))
            if abs(away - radius) > 1e-4:
                assert bool(hand.mask[row, column]) == (away < radius)


def test_a_stroke_is_taken_back_whole() -> None:
    hand = fresh()
    hand.begin()
    for at in range(10, 50):
        hand.brush((at, 10), (at + 1, 10), 4, bare=True)
    assert hand.end()
    assert hand.corrected
    assert hand.strokes == 1
    assert hand.undo()
    assert not hand.undo()
    assert np.array_equal(hand.mask, np.eye(SIDE, dtype=bool))


def test_a_stroke_that_changes_nothing_is_none() -> None:
    hand = fresh()
    assert not draw(hand, (200, 200), (210, 200), 5, True)
    assert not draw(hand, (40, 5), (45, 5), 2, False)
    assert not hand.corrected
    assert hand.strokes == 0


def test_what_does_not_count_is_left_alone() -> None:
    counted = np.ones((SIDE, SIDE), bool)
    counted[:, :20] = False
    hand = HandMask(np.zeros((SIDE, SIDE), bool), counted)
    draw(hand, (20, 30), (20, 30), 10, True)
    assert hand.mask.any()
    assert not hand.mask[:, :20].any()


def test_what_is_shown_is_painted_in_place() -> None:
    hand = fresh()
    shown = hand.shown
    draw(hand, (30, 10), (40, 10), 3, True)
    hand.undo()
    assert shown is hand.shown
    assert set(np.unique(shown)) <= {0, 255}


def test_one_taken_up_again_stays_corrected() -> None:
    hand = HandMask(np.eye(SIDE, dtype=bool), np.ones((SIDE, SIDE), bool), corrected=True)
    assert hand.corrected
    draw(hand, (30, 10), (40, 10), 3, True)
    hand.undo()
    assert hand.corrected


def test_more_strokes_than_are_kept_leave_it_corrected(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photohand, "MOST_STROKES", 3)
    hand = fresh()
    for at in range(5):
        draw(hand, (30 + 3 * at, 5), (30 + 3 * at, 5), 1.5, True)
    assert hand.strokes == 3
    while hand.undo():
        pass
    assert hand.corrected
    assert not np.array_equal(hand.mask, np.eye(SIDE, dtype=bool))


# ISO 2409 and ASTM D3359 method B: the limits lie at 5, 15, 35 and 65 % of the area.


def test_two_grades_where_the_uncertainty_spans_a_limit() -> None:
    found = answer(Method.D3359_B, measured(14.0, 2.0))
    assert found.candidates == ("3B", "2B")
    assert found.ask == "The standard allows no grade in between: choose 3B or 2B."
    assert found.classes == "ISO 2409: class 2 or 3. ASTM D3359 B: 3B or 2B."
    assert answer(Method.ISO_2409, measured(14.0, 2.0)).ask == "There is no class in between: choose 2 or 3."


def test_one_grade_where_it_does_not() -> None:
    found = answer(Method.D3359_B, measured(24.96, 2.44))
    assert (found.percent, found.plus_minus) == (25.0, 2.4)
    assert found.candidates == ("2B",)
    assert found.ask == ""
    assert found.words == "25 % ± 3 removed"


@given(st.floats(0, 100), st.floats(0, 40), st.sampled_from([Method.ISO_2409, Method.D3359_B]))
def test_the_grades_are_those_of_what_is_recorded(percent: float, plus_minus: float, method: Method) -> None:
    found = answer(method, measured(percent, plus_minus))
    assert found.candidates == classes_of(method, found.percent, found.plus_minus)
    assert bool(found.ask) == (len(found.candidates) > 1)


def test_small_numbers_keep_their_tenth() -> None:
    assert answer(Method.ISO_2409, measured(0.04, 0.62)).words == "0 % ± 0.6 removed"
    assert answer(Method.ISO_2409, measured(3.21, 1.14)).words == "3.2 % ± 1.1 removed"


def test_what_was_not_measured_is_no_number() -> None:
    found = answer(Method.ISO_2409, measured(0.0, UNKNOWN, "Nothing stands out."))
    assert found.unknown
    assert found.words == "Not measured"
    assert found.ask == "Mark the bare area by hand, or choose the grade by eye."
    assert found.doubt == "Nothing stands out."
    assert found.classes == ""
