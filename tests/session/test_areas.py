"""Areas of pieces: typed in any unit, written so that the very same one is read again."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import examples

from benchtool.session.areas import area_told, read_area, write_area
from benchtool.trade.quantities import Measures, NotAnAmount

MEASURES = Measures()


@pytest.mark.parametrize(
    ("typed", "m2"),
    [
        ("0.8", 0.8),
        ("0.8 m2", 0.8),
        ("0,8 m²", 0.8),
        ("80 dm2", 0.8),
        ("8000 cm2", 0.8),
        # 1 ft = 0.3048 m and 1 in = 25.4 mm exactly (international yard and pound, 1959)
        ("10 sq ft", 10 * 0.3048**2),
        ("100 sq in", 100 * 0.0254**2),
        ("30 x 40 cm", 0.12),
    ],
)
def test_any_unit_is_read(typed: str, m2: float) -> None:
    assert read_area(MEASURES, typed) == pytest.approx(m2, rel=1e-12)


@pytest.mark.parametrize("typed", ["0", "-1 m2", "a lot", "3 mL", "20000 m2"])
def test_what_is_no_area_is_said(typed: str) -> None:
    with pytest.raises(NotAnAmount):
        read_area(MEASURES, typed)


def test_nothing_typed_is_no_area() -> None:
    assert read_area(MEASURES, "  ") is None
    assert write_area(None) == ""


@given(m2=st.floats(1e-3, 10_000))
@examples(100)
def test_the_same_area_is_read_again_to_its_figures(m2: float) -> None:
    assert read_area(MEASURES, write_area(m2)) == pytest.approx(m2, rel=5e-4 if m2 < 0.1 else 5e-6)


@pytest.mark.parametrize(
    ("typed", "told"), [("16 sq ft", "1.49 m²"), ("0.8 m²", ""), ("20 x 30 cm", "6 dm²"), ("a", "")]
)
def test_it_is_told_how_it_is_understood(typed: str, told: str) -> None:
    assert area_told(MEASURES, typed) == told
