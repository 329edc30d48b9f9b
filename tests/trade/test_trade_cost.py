"""Sums of money, checked against exact fractions (`fractions.Fraction`, an independent arithmetic)."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import examples

from benchtool.trade.cost import NotAPrice, cost, per_mL, wasted

amounts = st.floats(0, 1e5)
prices = st.floats(0, 1e4)


def test_a_cup_by_hand() -> None:
    # 40 mL out of a litre at 50, 20 mL out of half a litre at 45: 2.00 + 1.80; 12 of the 60 mL thrown away: a fifth.
    cup = cost([(40, per_mL(50, 1000)), (20, per_mL(45, 500))])
    assert cup == pytest.approx(3.80)
    assert wasted(12, 60, 3.80) == pytest.approx(0.76)


@examples(100)
@given(st.lists(st.tuples(amounts, prices), max_size=8))
def test_a_sum_is_exact_to_the_last_figure(poured: list[tuple[float, float]]) -> None:
    exact = sum((Fraction(mL) * Fraction(price) for mL, price in poured), Fraction(0))
    assert cost(poured) == pytest.approx(float(exact), rel=1e-12)


def test_what_has_no_price_leaves_no_sum_but_nothing_poured_needs_none() -> None:
    assert cost([(1, 2.0), (1, None)]) is None
    assert cost([(1, 2.0), (0, None)]) == 2.0
    assert cost([]) == 0.0
    assert cost([(5, 0.0)]) == 0.0


@examples(100)
@given(amounts, amounts, prices)
def test_no_more_is_wasted_than_the_cup_cost(left: float, total: float, price: float) -> None:
    assert 0 <= wasted(left, total, price) <= price * (1 + 1e-12)
    assert wasted(total, total, price) == pytest.approx(price if total else 0.0)


@pytest.mark.parametrize("price", [-0.01, math.nan, math.inf])
def test_no_such_price(price: float) -> None:
    with pytest.raises(NotAPrice, match="zero or more"):
        per_mL(price, 100)


@pytest.mark.parametrize("full", [0, -1, math.nan, math.inf])
def test_no_such_can(full: float) -> None:
    with pytest.raises(NotAPrice, match="holds nothing"):
        per_mL(1, full)


@pytest.mark.parametrize(("left", "total"), [(-1, 1), (math.nan, 1), (1, -1), (1, math.inf)])
def test_no_such_amount(left: float, total: float) -> None:
    with pytest.raises(NotAPrice, match="thrown away"):
        wasted(left, total, 1)


def test_the_smallest_number_there_is_costs_no_more_than_its_cup() -> None:
    assert wasted(5e-324, 5e-324, 1.5) == 1.5
