"""How large type must be: against worked figures of human factors guides, by hand and by laws."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchtool.session.legibility import arc_minutes, char_height_mm, px_per_mm


@pytest.mark.parametrize(
    ("minutes", "metres", "mm"), [(16, 3.0, 13.963), (20, 3.0, 17.453), (22, 3.0, 19.199), (20, 0.5, 2.909)]
)
def test_heights_by_the_formula_of_a_published_guide(minutes: float, metres: float, mm: float) -> None:
    """NUREG-0700 rev. 2, 1.3.1-4: Height = 6.283 D (MA) / 21600. Figures worked by hand from it."""
    assert 6.283 * 1000 * metres * minutes / 21_600 == pytest.approx(mm, rel=2e-4)
    assert char_height_mm(minutes, metres) == pytest.approx(mm, rel=2e-4)
    assert arc_minutes(mm, metres) == pytest.approx(minutes, rel=2e-4)


def test_a_radian_has_3437_747_minutes() -> None:
    """Human Factors Design Standard: one radian equals 3437.747 minutes of arc; small heights go by it."""
    assert arc_minutes(1.0, 1.0) == pytest.approx(3437.747 / 1000, rel=1e-6)


def test_a_right_angle_is_no_small_angle() -> None:
    assert arc_minutes(2000.0, 1.0) == pytest.approx(90 * 60)


@given(st.floats(0.01, 5000), st.floats(0.1, 50))
def test_the_two_undo_each_other(minutes: float, metres: float) -> None:
    assert arc_minutes(char_height_mm(minutes, metres), metres) == pytest.approx(minutes)


def test_a_14_inch_screen_of_16_to_9_is_310_by_174_mm() -> None:
    """By Pythagoras: 14 in = 355.6 mm; 16 / hypot(16, 9) of it across, 9 / hypot(16, 9) of it up."""
    for width, height in ((1920, 1080), (1280, 720)):
        scale = px_per_mm(width, height)
        assert width / scale == pytest.approx(355.6 * 16 / math.hypot(16, 9))
        assert width / scale == pytest.approx(309.9, abs=0.1)
        assert height / scale == pytest.approx(174.3, abs=0.1)


@pytest.mark.parametrize("distance", [0.0, -1.0, math.nan])
def test_no_distance_no_angle(distance: float) -> None:
    with pytest.raises(ValueError, match="distance"):
        arc_minutes(10, distance)
    with pytest.raises(ValueError, match="distance"):
        char_height_mm(20, distance)
    with pytest.raises(ValueError, match="diagonal"):
        px_per_mm(100, 100, distance)
