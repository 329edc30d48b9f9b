"""What can be sprayed before pot life ends, against a day of spraying walked through slice by slice."""

import math
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchtool.trade.potlife import CupPlan, NotInTime, largest_mL, split

LAW = settings(max_examples=300, deadline=None, derandomize=True, database=None)

DAY: dict[str, Any] = {"pot_life_s": 3600, "stand_s": 900, "rate_mL_min": 5.0, "coats": 3, "flash_s": 600}
"""A pot life of an hour, 15 min to stand, three coats with 10 min between them, 5 mL a minute."""

days = st.fixed_dictionaries(
    {
        "pot_life_s": st.floats(600, 30_000),
        "stand_s": st.just(0.0) | st.floats(0, 590),
        "rate_mL_min": st.floats(0.5, 300),
        "coats": st.integers(1, 6),
        "flash_s": st.just(0.0) | st.floats(0, 5000),
    }
)


def coat_times(amount_mL: float, day: dict[str, Any]) -> list[tuple[float, float]]:
    """When each coat is sprayed (from, to), if no cup delays it: written from the coats, not from the cups."""
    each_s = amount_mL / day["coats"] * 60 / day["rate_mL_min"]
    times, at = [], float(day["stand_s"])
    for _ in range(day["coats"]):
        times.append((at, at + each_s))
        at += each_s + day["flash_s"]
    return times


def in_cup(plan: CupPlan, times: list[tuple[float, float]]) -> list[tuple[int, float, float]]:
    """What of each coat (counted from 1) is sprayed while the cup is in the gun."""
    overlaps = [(n, max(a, plan.spray_at_s), min(b, plan.ends_s)) for n, (a, b) in enumerate(times, 1)]
    return [(n, a, b) for n, a, b in overlaps if b - a > 1e-6 * max(1.0, b)]


# By hand.


def test_the_largest_cup_by_hand() -> None:
    # 60 min less 15 to stand less two times 10 of flash leaves 25 min at 5 mL a minute.
    assert largest_mL(**DAY) == pytest.approx(125)
    assert largest_mL(**DAY | {"coats": 1}) == pytest.approx(225)


def test_where_the_waits_outlast_a_cup_none_is_small_enough_but_several_do() -> None:
    day = DAY | {"flash_s": 1500}
    assert largest_mL(**day) == 0
    assert [plan.coats for plan in split(30, **day)] == [(1, 2), (3,)]


def test_two_cups_by_hand() -> None:
    # 250 mL: coats of 1000 s from 15:00, 41:40 and 68:20; the first cup would last to 60:00, and the third coat
    # takes one of its own, whose activator goes in at 53:20, while the second coat is sprayed.
    first, second = split(250, **DAY)
    assert (first.number, first.coats, first.mix_at_s, first.spray_at_s) == (1, (1, 2), 0, 900)
    assert (first.mL, first.ends_s, first.pot_life_ends_s) == (
        pytest.approx(500 / 3),
        pytest.approx(3500),
        pytest.approx(3600),
    )
    assert (second.number, second.coats) == (2, (3,))
    assert (second.mL, second.mix_at_s, second.spray_at_s, second.ends_s, second.pot_life_ends_s) == pytest.approx(
        (250 / 3, 3200, 4100, 5100, 6800)
    )


def test_a_cup_may_serve_a_part_of_a_coat() -> None:
    # One coat of 600 mL takes 120 min; a cup can be sprayed for 45 min, 225 mL.
    cups = split(600, **DAY | {"coats": 1})
    assert [plan.mL for plan in cups] == pytest.approx([225, 225, 150])
    assert [plan.coats for plan in cups] == [(1,), (1,), (1,)]
    assert [plan.mix_at_s for plan in cups] == pytest.approx([0, 2700, 5400])
    assert [plan.spray_at_s for plan in cups] == pytest.approx([900, 3600, 6300])


def test_a_cup_ends_with_a_coat_where_that_takes_no_cup_more() -> None:
    # Two coats of 30 min, no flash: 45 min a cup would leave a second of 15; better one for each coat.
    day = DAY | {"coats": 2, "flash_s": 0}
    assert [(plan.mL, plan.coats) for plan in split(300, **day)] == [
        (pytest.approx(150), (1,)),
        (pytest.approx(150), (2,)),
    ]
    # Coats of just under 45 min: a cup each.
    assert [plan.coats for plan in split(449, **day)] == [(1,), (2,)]
    # Three coats of 28 min in two cups of 45 leave no choice: the first serves half of the second coat.
    assert [plan.coats for plan in split(420, **DAY | {"flash_s": 0})] == [(1, 2), (2, 3)]


# Laws.


@LAW
@given(days, st.floats(0.01, 12))
def test_a_larger_amount_in_cups(day: dict[str, Any], cupfuls: float) -> None:
    usable_s = day["pot_life_s"] - day["stand_s"]
    amount = cupfuls * usable_s * day["rate_mL_min"] / 60
    cups = split(amount, **day)
    times = coat_times(amount, day)
    near = 1e-6 * times[-1][1]
    assert [plan.number for plan in cups] == list(range(1, len(cups) + 1))
    assert sum(plan.mL for plan in cups) == pytest.approx(amount)
    assert cups[0].mix_at_s == 0
    assert cups[-1].ends_s == pytest.approx(times[-1][1])
    for plan in cups:
        assert plan.mL > 0
        assert plan.mix_at_s >= 0
        assert plan.spray_at_s == pytest.approx(plan.mix_at_s + day["stand_s"])  # stood just when it is needed
        assert plan.pot_life_ends_s == pytest.approx(plan.mix_at_s + day["pot_life_s"])
        assert plan.spray_at_s < plan.ends_s <= plan.pot_life_ends_s
        # What it serves lies in the coats as they would be sprayed without it, with the flash between them kept.
        served = in_cup(plan, times)
        assert tuple(n for n, _, _ in served) == plan.coats
        assert sum(b - a for _, a, b in served) * day["rate_mL_min"] / 60 == pytest.approx(plan.mL, rel=1e-5)
        assert served[0][1] == pytest.approx(plan.spray_at_s, abs=near)
        assert served[-1][2] == pytest.approx(plan.ends_s, abs=near)
    for before, after in pairwise(cups):
        assert after.spray_at_s >= before.ends_s - near
        assert after.coats[0] - before.coats[-1] in (0, 1)


@LAW
@given(days, st.floats(0.01, 12))
def test_no_fewer_cups_can_do_it(day: dict[str, Any], cupfuls: float) -> None:
    usable_s = day["pot_life_s"] - day["stand_s"]
    amount = cupfuls * usable_s * day["rate_mL_min"] / 60
    times = coat_times(amount, day)
    slice_s = (times[0][1] - times[0][0]) / 400
    moments = [a + slice_s * k for a, _ in times for k in range(401)]

    def apart(s: float) -> int:
        """How many moments of spraying lie further than `s` from each other."""
        count, last = 0, -math.inf
        for moment in moments:
            if moment > last + s:
                count, last = count + 1, moment
        return count

    # Two moments further apart than a cup lasts can't share one: so many cups at least. And no more, but for
    # what the slices are too coarse to show.
    assert apart(usable_s * (1 + 1e-6)) <= len(split(amount, **day)) <= apart(usable_s - 1.01 * slice_s)
    if day["coats"] == 1:
        assert len(split(amount, **day)) == math.ceil(cupfuls * (1 - 1e-9))


@LAW
@given(days, st.floats(1.001, 3))
def test_one_cup_where_one_can_do_and_not_where_it_can_not(day: dict[str, Any], more: float) -> None:
    largest = largest_mL(**day)
    by_hand = (day["pot_life_s"] - day["stand_s"] - day["flash_s"] * (day["coats"] - 1)) * day["rate_mL_min"] / 60
    assert largest == pytest.approx(max(0, by_hand))
    if largest > 0.01:
        assert len(split(largest, **day)) == 1
        assert len(split(largest / more, **day)) == 1
        assert len(split(largest * more, **day)) > 1
    else:
        assert len(split(1, **day)) >= 1 + (day["coats"] > 1 and by_hand < 0)


# Bad input.

BAD = [
    ({"rate_mL_min": 0}, "a rate above zero"),
    ({"rate_mL_min": -5}, "a rate above zero"),
    ({"rate_mL_min": math.nan}, "a rate above zero"),
    ({"rate_mL_min": math.inf}, "a rate above zero"),
    ({"coats": 0}, "a whole number from 1"),
    ({"coats": 1.5}, "a whole number from 1"),
    ({"coats": 100}, "a whole number from 1"),
    ({"coats": math.nan}, "a whole number from 1"),
    ({"flash_s": -1}, "flash time must be"),
    ({"flash_s": math.nan}, "flash time must be"),
    ({"stand_s": -1}, "stand time must be"),
    ({"stand_s": math.inf}, "stand time must be"),
    ({"pot_life_s": 0}, "pot life must be"),
    ({"pot_life_s": math.nan}, "pot life must be"),
    ({"pot_life_s": 900}, "is over before the mix has stood its 15 min"),
    ({"pot_life_s": 600}, "The pot life of 10 min is over before the mix has stood its 15 min"),
]


@pytest.mark.parametrize(("change", "words"), BAD)
def test_figures_that_make_no_sense_are_refused_in_one_sentence(change: dict[str, Any], words: str) -> None:
    for answer in (lambda: largest_mL(**DAY | change), lambda: split(100, **DAY | change)):
        with pytest.raises(NotInTime, match=words) as caught:
            answer()
        assert str(caught.value).endswith(".")


@pytest.mark.parametrize("amount", [0.0, -1.0, math.nan, math.inf])
def test_an_amount_that_is_none_is_refused(amount: float) -> None:
    with pytest.raises(NotInTime, match="an amount above zero"):
        split(amount, **DAY)


def test_a_lake_is_refused() -> None:
    with pytest.raises(NotInTime, match="more than 200 cups"):
        split(1e9, **DAY)
    assert len(split(225 * 200, **DAY | {"coats": 1})) == 200


@LAW
@given(
    st.floats(0, 1e300),
    st.fixed_dictionaries(
        {
            "pot_life_s": st.floats(0, 1e300),
            "stand_s": st.floats(0, 1e300),
            "rate_mL_min": st.floats(0, 1e300),
            "coats": st.integers(-5, 105),
            "flash_s": st.floats(0, 1e300),
        }
    ),
)
def test_any_figures_at_all_end_in_cups_or_a_sentence(amount: float, day: dict[str, Any]) -> None:
    try:
        cups = split(amount, **day)
    except NotInTime:
        return
    assert 1 <= len(cups) <= 200 + day["coats"]
