"""Laws of mixing, measuring and weighing that a mutation run found held by no other test; sums are by hand."""

import math

import pytest

from benchtool.trade.measuring import USUAL_TOOLS, Measured, Tool, ToolKind, measure
from benchtool.trade.mixing import (
    MissingDensity,
    NotAShare,
    Part,
    PartKind,
    amounts_mL,
    check_pours,
    fractions,
    guess_kind,
    measured_by,
    parse_share,
    reduction_of,
)
from benchtool.trade.ratios import sizes
from benchtool.trade.weighing import NotATool, weigh

BASE, ACTIVATOR, REDUCER, ADDITIVE = PartKind.BASE, PartKind.ACTIVATOR, PartKind.REDUCER, PartKind.ADDITIVE
SCALE = Tool(name="bench scale", kind=ToolKind.SCALE, step=0.1, capacity=500)
FINE = Tool(name="fine scale", kind=ToolKind.SCALE, step=0.01, capacity=500)


def part(name: str, kind: PartKind, share: str, density: float | None = None, tolerance: float | None = None) -> Part:
    return Part(name=name, kind=kind, share=parse_share(share), density_g_mL=density, tolerance=tolerance)


def syringe(capacity: float, step: float, error: float | None = None) -> Tool:
    return Tool(name=f"{capacity:g} mL syringe", kind=ToolKind.SYRINGE, step=step, capacity=capacity, error=error)


# --- which part is which ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "names"),
    [  # the trade's names, common practice, no source
        (ACTIVATOR, ["activator", "hardener", "catalyst"]),
        (REDUCER, ["reducer", "thinner", "water"]),
        (BASE, ["base", "paint", "resin", "clear", "promoter", "primer"]),
    ],
)
def test_every_name_of_the_trade_tells_its_kind(kind: PartKind, names: list[str]) -> None:
    for name in names:
        assert guess_kind(f"Slow {name.title()} 12", first=False) is kind, name


ACTIVATOR_FIRST = (
    part("Activator", ACTIVATOR, "2 % of base", 1.0),
    part("Spare", BASE, "0", 1.0),
    part("Base", BASE, "1", 1.0),
    part("Reducer", REDUCER, "2", 1.0),
)


def test_plain_parts_are_measured_by_the_first_plain_part_there_is_any_of() -> None:
    assert measured_by(ACTIVATOR_FIRST, 3) == {2: 1.0}
    assert reduction_of(ACTIVATOR_FIRST, parse_share("2"), {"Base": 50.0}) == pytest.approx(50)
    got = weigh(ACTIVATOR_FIRST, 30.2, SCALE)
    assert [w.off_percent is None for w in got] == [False, True, True, False]
    assert [w.g for w in got] == pytest.approx([0.2, 0, 10, 20])
    # what is in the cup sets the size by that same part
    assert [w.g for w in weigh(ACTIVATOR_FIRST, 30.2, SCALE, {"Base": 20.0})] == pytest.approx([0.4, 0, 20, 40])


def test_a_share_of_what_is_not_there_says_of_what() -> None:
    lacking = (part("Base", ADDITIVE, "100"), part("Activator", ACTIVATOR, "2 % of base"))
    with pytest.raises(NotAShare, match="Activator is a share of “base”, and no other part is that"):
        fractions(lacking)
    with pytest.raises(NotAShare, match="Drier is a share of “Resin Z”, and no other part is that"):
        fractions((lacking[0], part("Drier", ADDITIVE, "5 % of Resin Z")))


def test_parts_too_many_to_add_up_are_refused() -> None:
    with pytest.raises(NotAShare, match="do not add up"):
        fractions((part("Base", BASE, "1e308"), part("Reducer", REDUCER, "1e308")))


def test_a_part_the_recipe_has_none_of_is_exactly_none_and_no_reason_to_refuse_the_mix() -> None:
    # The reducer takes its weight from a second base of which there is none: a hair below zero would be no mix.
    for tenths in range(550, 1000):
        parts = (
            part("Base", BASE, "100", 1.3),
            part("Second", BASE, "0 % of Reducer", 1.71),
            part("Reducer", REDUCER, f"{tenths / 10} % of base by weight", 1.72),
        )
        assert fractions(parts)[1] == 0, tenths


@pytest.mark.parametrize(
    "text", ["50 PERCENT of base", "50 Percent OF THE Base", "0.5xbase", "0.5×base", "0.5 x of base"]
)
def test_a_share_may_be_written_large_or_close_together(text: str) -> None:
    assert parse_share(text) == parse_share("50 % of base")


def test_where_the_parts_of_the_base_stand_elsewhere_a_plain_number_is_refused_with_a_way_to_write_it() -> None:
    # 4:1:1 on a can, and the activator copied as 1 where the card counts 100 of base: that would be a hundredth.
    with pytest.raises(NotAShare, match=r"^“1 part” of what\? Write 25 % of base, or 4:1 of base"):
        parse_share("1 part", plain=False)
    with pytest.raises(NotAShare, match=r"^“2 %” of what\? Write 100, 2 % of base"):
        parse_share("2 %")
    assert parse_share("4:1 of base", plain=False) == parse_share("25 % of base", plain=False)


# --- as poured -------------------------------------------------------------------------------------


@pytest.mark.parametrize("make_mL", [0.7, 12, 60, 333, 1_000, 2_600.5, 2_603.5, 5_000])
def test_a_cup_poured_exactly_asks_for_nothing_more_not_even_a_hair(make_mL: float) -> None:
    parts = (
        part("Base", BASE, "7"),
        part("Activator", ACTIVATOR, "3 % of base"),
        part("Reducer", REDUCER, "13 % of total"),
        part("Drier", ADDITIVE, "1:1 of Activator"),
    )
    exact = dict(zip([p.name for p in parts], amounts_mL(parts, make_mL), strict=True))
    assert [c.add_mL for c in check_pours(parts, exact)] == [0, 0, 0, 0]


def test_an_activator_may_be_a_tenth_off_and_all_else_a_twentieth_where_the_card_says_nothing() -> None:
    # common practice, no source
    assert {kind: part("x", kind, "1").allowed for kind in PartKind} == {
        BASE: 0.05,
        ACTIVATOR: 0.10,
        REDUCER: 0.05,
        ADDITIVE: 0.05,
    }


def test_exactly_right_is_within_even_where_nothing_is_allowed() -> None:
    parts = (part("Base", BASE, "4"), part("Activator", ACTIVATOR, "4:1 of base", tolerance=0.0))
    assert check_pours(parts, {"Base": 40.0, "Activator": 10.0})[1].within
    assert not check_pours(parts, {"Base": 40.0, "Activator": 10.1})[1].within


def test_a_part_the_recipe_has_none_of_is_not_waited_for() -> None:
    parts = (part("Base", BASE, "100"), part("Second", BASE, "0"), part("Activator", ACTIVATOR, "2 % of base"))
    check = check_pours(parts, {"Base": 50.0, "Activator": 1.5})[2]
    assert (check.off_percent, check.why) == (pytest.approx(50), "")


def test_none_of_a_part_poured_is_none_of_the_base() -> None:
    parts = (part("Base", BASE, "100"), part("Activator", ACTIVATOR, "2 % of base"))
    check = check_pours(parts, {"Base": 50.0, "Activator": 0.0})[1]
    assert (check.percent_of_base, check.off_percent, check.why) == (0, pytest.approx(-100), "")


def test_a_reduction_counts_only_what_is_in_the_cup() -> None:
    parts = (part("Base", BASE, "100"), part("Activator", ACTIVATOR, "2 % of base"))
    assert reduction_of(parts, parse_share("1:1 of activated"), {"Base": 40.0}) == 40
    for share in ("50", "5 % of base", "1:1 of activated", "10 % of total"):
        assert reduction_of(parts, parse_share(share), {}) == 0
    no_plain_part = (part("Base", BASE, "1:1 of Reducer"), part("Reducer", REDUCER, "1:1 of base"))
    assert reduction_of(no_plain_part, parse_share("50"), {"Base": 40.0}) == 0
    with pytest.raises(MissingDensity) as fault:
        reduction_of(parts, parse_share("5 % of base by weight"), {"Base": 40.0})
    assert fault.value.part == "the reducer"


# --- measured with tools ---------------------------------------------------------------------------


def test_the_part_that_is_out_by_most_of_what_it_may_be_is_the_one_named() -> None:
    # By hand, over an exact base of 100 mL: 2 mL read to 0.3 is 15 % off, one and a half times the 10 % of an
    # activator; 10 mL read to 1.2 is 12 % off, more than twice the 5 % of a reducer.
    parts = (
        part("Base", BASE, "100"),
        part("Activator", ACTIVATOR, "2 % of base"),
        part("Reducer", REDUCER, "10 % of base"),
    )
    tools = [syringe(100, 100, 0.0), syringe(2, 2, 0.3), syringe(10, 10, 1.2)]
    got = measure(parts, 112, tools)
    assert got.worst_percent == (None, pytest.approx(15), pytest.approx(12))
    assert got.words.startswith("Reducer may be 12 % off with these tools")
    # A part that no tool measures at all comes before one that is only unsure.
    got = measure(parts, 112, [tools[0], tools[2]])
    assert got.worst_percent == (None, None, pytest.approx(12))
    assert got.words.startswith("No tool here measures 2 mL of Activator")
    # Of several that no tool measures, the first in the recipe.
    got = measure((*parts[:2], part("Flake", ADDITIVE, "3 % of base")), 105, tools[:1])
    assert got.words.startswith("No tool here measures 2 mL of Activator")


def drops(*density: float | None) -> tuple[Part, ...]:
    """A base and drops of two others: far below what a coarse scale shows."""
    shares = [("Base", BASE, "100"), ("Activator", ACTIVATOR, "0.1 % of base"), ("Drier", ADDITIVE, "0.1 % of base")]
    return tuple(part(*line, d) for line, d in zip(shares, density, strict=True))


@pytest.mark.parametrize(
    ("density", "way"),
    [
        ((1.0, 1.0, 1.0), "use a finer scale"),
        ((1.0, 1.0, None), "fill in the density of Drier to weigh it"),
        ((1.0, None, None), "fill in the densities to weigh it"),
        ((None, None, None), "fill in the densities to weigh it"),
    ],
)
def test_where_a_scale_is_no_help_yet_the_sentence_says_what_makes_it_one(
    density: tuple[float | None, ...], way: str
) -> None:
    coarse = Tool(name="scale", kind=ToolKind.SCALE, step=1, capacity=500)
    assert measure(drops(*density), 50, [coarse]).words.endswith(f"{way} or a finer syringe.")


# --- the choice of tools ---------------------------------------------------------------------------


def words_of(parts: tuple[Part, ...], make_mL: float, tools: list[Tool]) -> list[str]:
    return [m.words for m in measure(parts, make_mL, tools).measured]


def whole(capacity: float, error: float = 0.0) -> Tool:
    """A measure with one mark, at its brim."""
    return syringe(capacity, capacity, error)


TWO = (part("Base", BASE, "100"), part("Activator", ACTIVATOR, "10 % of base"))
CHAIN = (*TWO, part("Drier", ADDITIVE, "1:1 of Activator"))


def test_the_first_plain_part_there_is_any_of_is_measured_first() -> None:
    got = measure(ACTIVATOR_FIRST, 30.2, [whole(10), syringe(1, 0.01)])
    assert [m.mL for m in got.measured] == [0.2, 0, 10, 20]
    assert [w is None for w in got.worst_percent] == [False, True, True, False]


def test_a_part_just_as_far_off_as_it_may_be_is_within() -> None:
    # By hand: 10 mL read to 1 mL over an exact 100 mL is 10 % off, and 10 % is allowed.
    assert measure(TWO, 110, [whole(100), whole(10, 1.0)]).within == (True, True)
    assert measure(TWO, 110, [whole(100), whole(10, 1.0001)]).within == (True, False)


def test_nothing_allowed_is_nothing_allowed() -> None:
    strict = (TWO[0], part("Activator", ACTIVATOR, "10 % of base", tolerance=0.0))
    assert measure(strict, 110, [whole(100), whole(10)]).within == (True, True)
    assert measure(strict, 110, [whole(100), whole(10, 0.01)]).within == (True, False)  # a tenth of a percent


def test_the_handier_tool_is_taken_where_it_is_close_enough_for_all() -> None:
    # 5 mL to 0.05 is 1 % off, and the drier that goes by it 2 % of its 5.
    assert (
        words_of(CHAIN, 60, [whole(50), syringe(1, 0.01, 0.0), syringe(20, 1, 0.05)])[1:]
        == ["20 mL syringe, to the 5 mark"] * 2
    )


def test_the_smallest_batch_may_be_one_where_the_closer_tool_is_needed() -> None:
    # By hand: 25 mL of base is the least that goes into the 50 mL measure, and all else leaves it a tenth unsure or
    # holds no more than 10 mL; there 5 mL to 0.48 would do for the activator and not for the drier that goes by it.
    got = measure(CHAIN, 15, [whole(50), whole(5, 0.48), syringe(0.5, 0.01, 0.0)])
    assert got.within == (True, False, True)
    assert got.smallest_mL == 30


def test_what_no_tool_measures_keeps_no_other_part_from_being_measured() -> None:
    got = measure(CHAIN, 120, [syringe(3, 0.1)])
    assert [(m.mL, m.words) for m in got.measured] == [
        (0, "no tool here measures 100 mL of it"),
        (10, "3 mL syringe, full 3 times, then to 1"),
        (10, "3 mL syringe, full 3 times, then to 1"),
    ]
    assert got.worst_percent[:2] == (None, None)
    assert got.within == (False, False, True)
    # The one that no tool measures is the one named, wherever it stands.
    got = measure((CHAIN[1], CHAIN[0], CHAIN[2]), 120, [syringe(3, 0.1)])
    assert got.words == "No tool here measures 100 mL of Base: mix less at a time."
    # A part in the middle: 5 mL of drier go by the 5 mL of activator that no tool here measures.
    by_weight = part("Drier", ADDITIVE, "1:1 of Activator", 1.0)
    fine = Tool(name="scale", kind=ToolKind.SCALE, step=0.01, capacity=50, error=0.0)
    got = measure((*TWO, by_weight), 60, [whole(50), fine])
    assert [m.mL for m in got.measured] == [50, 0, 5]
    assert got.words.startswith("No tool here measures 5 mL of Activator")


def test_a_part_of_which_nothing_goes_in_is_passed_over() -> None:
    with_none = (TWO[0], part("Reducer", REDUCER, "0 % of base"), TWO[1])
    tools = [syringe(60, 1), syringe(3, 0.1)]
    assert measure(with_none, 55, tools).measured[2] == measure(TWO, 55, tools).measured[1]
    small, same = measure(TWO, 3, [syringe(60, 1)]).smallest_mL, measure(with_none, 3, [syringe(60, 1)]).smallest_mL
    assert small is not None
    assert same == small


HEAVY = (part("Base", BASE, "100", 2.0), part("Activator", ACTIVATOR, "10 % of base by weight", 1.0))


def test_what_goes_in_by_weight_is_worked_out_from_the_grams_of_the_base() -> None:
    # By hand: 50 mL of 2 g/mL is 100 g; a tenth is 10 g, 10 mL.
    assert [m.mL for m in measure(HEAVY, 60, [whole(50), syringe(10, 0.5)]).measured] == [50, 10]


def test_the_error_of_the_base_counts_by_weight_in_the_choice_of_the_next_tool() -> None:
    # By hand: the base is 100 g, to 4 g. 10.7 of 96 g is 11 % over a tenth; 10.1 of 96 g is 5 %.
    got = measure(HEAVY, 60, [whole(50, 2.0), whole(10, 0.7), whole(1, 0.01)])
    assert got.measured[1].words == "1 mL syringe, full 10 times"
    assert got.worst_percent[1] == pytest.approx(100 * (10.1 / 96 / 0.1 - 1))


def test_of_tools_as_handy_the_closer_is_taken_whichever_is_listed_first() -> None:
    tools = [whole(100), syringe(12, 1, 0.5), syringe(15, 1, 0.1)]
    for owned in (tools, tools[::-1]):
        assert words_of(TWO, 110, owned)[1] == "15 mL syringe, to the 10 mark"


def test_a_tool_taken_for_one_part_is_in_hand_for_the_next() -> None:
    # 1 % off is a fifth of what a reducer may be; a scale that is not is no reason to get it out.
    parts = (*TWO, part("Reducer", REDUCER, "10 % of base", 1.0))
    fine = Tool(name="scale", kind=ToolKind.SCALE, step=0.01, capacity=50, error=0.0)
    assert words_of(parts, 60, [whole(50), syringe(10, 1, 0.05), fine])[1:] == ["10 mL syringe, to the 5 mark"] * 2


def test_the_base_is_measured_with_what_the_rest_needs_anyway() -> None:
    # To 3.5 mL it is a fill less, and a measure more to get out and to clean.
    parts = (TWO[0], part("Activator", ACTIVATOR, "10 % of base", tolerance=0.5))
    got = words_of(parts, 55, [whole(50, 3.5), syringe(25, 5, 0.0)])
    assert got == ["25 mL syringe, full twice", "25 mL syringe, to the 5 mark"]


def test_a_sure_measure_of_the_base_is_worth_a_fill_more() -> None:
    paint = (part("Base", BASE, "1"),)
    assert words_of(paint, 20, [whole(20, 3.0), whole(10, 0.01)]) == ["10 mL syringe, full twice"]
    assert words_of(paint, 20, [whole(20, 0.1), whole(10, 0.01)]) == ["20 mL syringe, full"]


def test_where_one_part_is_out_anyway_the_others_are_kept_within() -> None:
    # The drier is 17 % off whatever is done; the activator is within only over the sure measure of the base.
    got = measure(CHAIN, 60, [whole(50, 10.0), whole(25), whole(5, 0.4)])
    assert got.measured[0].words == "25 mL syringe, full twice"
    assert got.within == (True, True, False)


def test_where_a_part_can_only_be_out_it_is_out_by_as_little_as_can_be() -> None:
    # 12 % off over a sure 50 mL in two fills, 18 % over one fill to 2.5 mL.
    got = measure(TWO, 55, [whole(50, 2.5), whole(25), whole(5, 0.6)])
    assert got.worst_percent[1] == pytest.approx(-12)


def test_a_part_no_tool_measures_has_no_fills_and_no_error() -> None:
    got = measure(TWO, 1.1, [whole(1)]).measured
    assert [m.part for m in got] == ["Base", "Activator"]
    assert got[1] == Measured(
        part="Activator",
        want_mL=pytest.approx(0.1),
        tool=None,
        mL=0,
        fills=0,
        mark=None,
        error_mL=0,
        rounding_percent=0,
        guess=False,
        words="no tool here measures 0.1 mL of it",
    )


def test_a_part_the_recipe_has_none_of_does_not_keep_others_from_being_judged() -> None:
    parts = (TWO[0], part("Second", BASE, "0"), TWO[1])
    got = measure(parts, 110, [whole(100), whole(10, 0.5)])
    assert got.worst_percent == (None, None, pytest.approx(-5))
    assert got.within == (True, True, True)


def test_a_scale_is_no_help_with_a_density_that_no_liquid_has() -> None:
    parts = (TWO[0], part("Activator", ACTIVATOR, "10 % of base", 0.0))
    assert measure(parts, 110, [whole(100), FINE]).measured[1].tool is None


def test_a_tool_is_used_to_its_last_mark_and_never_past_it() -> None:
    paint = (part("Base", BASE, "1", 1.0),)
    assert words_of(paint, 500, [FINE]) == ["fine scale, 500 g"]
    assert measure(paint, 500.01, [FINE]).measured[0].tool is None
    fills = syringe(10, 0.1)  # no more than twenty fills
    assert words_of(paint, 200, [fills]) == ["10 mL syringe, full 20 times"]
    assert measure(paint, 200.1, [fills]).measured[0].tool is None


def test_all_on_one_scale_is_measured_as_it_is_weighed_whatever_goes_in_none_of() -> None:
    parts = (part("Base", BASE, "100", 1.2), part("Reducer", REDUCER, "0 % of base"), part("Drier", ADDITIVE, "5", 0.9))
    got, plan = measure(parts, 60, [SCALE]), weigh(parts, 60, SCALE)
    assert [m.mL for m in got.measured] == pytest.approx([plan[0].g / 1.2, 0, plan[2].g / 0.9])
    assert [m.error_mL for m in got.measured] == pytest.approx([0.05 / 1.2, 0, 0.1 / 0.9])
    assert got.worst_percent == pytest.approx([w.worst_percent for w in plan])
    assert got.within == tuple(w.within for w in plan)


def test_a_syringe_is_taken_rather_than_a_scale_that_is_less_sure_and_the_surer_of_two_scales() -> None:
    # By hand: 56 of 54.5 g is 2.8 % off, for the second reading has the error of both; 55.4 of 54.6 mL is 1.5 %.
    halves = (part("Base", BASE, "1", 1.0), part("Reducer", REDUCER, "1", 1.0))
    coarse = Tool(name="kitchen scale", kind=ToolKind.SCALE, step=1, capacity=500)
    assert measure(halves, 110, [coarse]).worst_percent[1] == pytest.approx(100 * (56 / 54.5 - 1))
    assert words_of(halves, 110, [coarse, syringe(60, 1, 0.4)]) == ["60 mL syringe, to the 55 mark"] * 2
    for scales in ([SCALE, coarse], [coarse, SCALE]):
        assert words_of(halves, 110, scales) == ["bench scale, 55 g"] * 2


def test_a_scale_bears_the_cup_and_all_that_stands_in_it() -> None:
    thirds = tuple(
        part(name, kind, "1", 1.0) for name, kind in (("Base", BASE), ("Drier", ADDITIVE), ("Fast", REDUCER))
    )
    assert [m.mL for m in measure(thirds, 498, [SCALE]).measured] == [166, 166, 166]
    got = measure(thirds, 600, [SCALE])
    assert [m.mL for m in got.measured] == [200, 200, 0]
    assert got.words == "No tool here measures 200 mL of Fast: mix less at a time."
    # The same where a drop goes in by syringe, for its card gives no density.
    drop = part("Flake", ADDITIVE, "0.5 % of base")
    got = measure((*thirds, drop), 601, [SCALE, syringe(1, 0.1)])
    assert [m.mL for m in got.measured] == [200, 200, 0, 1]


def test_a_scale_may_be_filled_to_the_gram_it_bears() -> None:
    by_scale = [part(name, ADDITIVE, "250 % of base", 1.0) for name in ("Flake", "Drier")]
    got = measure((part("Base", BASE, "1"), *by_scale), 600, [whole(100), SCALE])
    assert [m.mL for m in got.measured] == [100, 250, 250]
    got = measure((part("Base", BASE, "1"), part("Flake", ADDITIVE, "500 % of base", 1.0)), 600, [whole(100), SCALE])
    assert [m.words for m in got.measured] == ["100 mL syringe, full", "bench scale, 500 g"]


def test_of_a_mix_a_hair_too_heavy_for_the_scale_it_is_the_last_part_that_does_not_go_on() -> None:
    # By hand: 25.1 g, and as much again would be 50.2 on a scale that ends at 50.
    ends = Tool(name="scale", kind=ToolKind.SCALE, step=0.1, capacity=50)
    halves = [part("Base", BASE, "1", 1.0), part("Fast", REDUCER, "1", 1.0), part("Slow", REDUCER, "0 % of base", 1.0)]
    got = measure(halves, 50.2, [ends])
    assert [m.mL for m in got.measured] == [25.1, 0, 0]
    assert got.words == "No tool here measures 25.1 mL of Fast: mix less at a time."


def test_the_second_reading_of_a_scale_counts_twice_in_the_choice() -> None:
    # By hand, over 100 g to 0.6: 10 g to twice 0.6 is 12.7 % off, 10 mL to 0.8 by syringe 8.7 %.
    parts = (part("Base", BASE, "100", 1.0), part("Activator", ACTIVATOR, "10 % of base", 1.0))
    got = measure(
        parts, 110, [Tool(name="scale", kind=ToolKind.SCALE, step=1, capacity=500, error=0.6), whole(10, 0.8)]
    )
    assert [m.words for m in got.measured] == ["scale, 100 g", "10 mL syringe, full"]
    assert got.within == (True, True)
    # To 0.4 it is 8.4 % by the scale that is in hand, and it is not three times.
    with_drop = (*parts, part("Flake", ADDITIVE, "0.5 % of base"))
    sure = Tool(name="scale", kind=ToolKind.SCALE, step=1, capacity=500, error=0.4)
    got = measure(with_drop, 110.5, [sure, whole(10, 0.8), syringe(0.5, 0.1, 0.0)])
    assert [m.words for m in got.measured[:2]] == ["scale, 100 g", "scale, 10 g"]
    assert got.worst_percent[1] == pytest.approx(100 * (10.8 / 99.6 / 0.1 - 1))


def test_where_the_readings_may_leave_nothing_of_the_base_no_figure_is_said() -> None:
    # By hand: 1 g of base between two readings of half a gram each may be none at all.
    parts = (
        part("Flake", ADDITIVE, "1:1 of base", 1.0),
        part("Base", BASE, "1", 1.0),
        part("Drier", ADDITIVE, "1:1 of base"),
    )
    coarse = Tool(name="scale", kind=ToolKind.SCALE, step=1, capacity=50)
    got = measure(parts, 3, [coarse, syringe(10, 1, 0.9)])
    assert got.worst_percent == (math.inf, None, math.inf)
    assert got.words.startswith("Flake may be any amount off with these tools, and ")


def test_a_dose_the_display_can_not_tell_from_nothing_is_not_weighed() -> None:
    # By hand: 2 % of 5 g is one step of a tenth, read before and after to half a step each.
    parts = (part("Base", BASE, "100", 1.0), part("Activator", ACTIVATOR, "2 % of base", 1.0))
    assert [m.tool for m in measure(parts, 5.1, [SCALE]).measured] == [SCALE, None]


def test_a_part_too_small_to_measure_is_not_said_to_be_too_much() -> None:
    # Twenty fills are all of a syringe, for one part: the next part may be drawn with it too, were it not so little.
    parts = (TWO[0], part("Drier", ADDITIVE, "0.1 % of base"))
    got = measure(parts, 20 * 1.001, [syringe(1, 0.1)])
    assert got.measured[0].words == "1 mL syringe, full 20 times"
    assert got.words.startswith("No tool here measures 0.02 mL of Drier, and no larger cup helps")


def test_larger_batches_are_proposed_in_the_steps_one_would_type() -> None:
    assert [list(sizes(above))[:3] for above in (0.85, 9.3, 28.5, 96, 290, 950)] == [
        [0.9, 1, 1.5],
        [9.5, 10, 11],
        [29, 30, 35],
        [100, 110, 120],
        [300, 350, 400],
        [1_000, 1_500, 2_000],
    ]


def test_the_usual_dropper_is_a_guess_until_its_drops_are_counted() -> None:
    assert [tool.calibrated for tool in USUAL_TOOLS if tool.kind is ToolKind.DROPPER] == [False]


def test_a_reading_as_unsure_as_the_amount_is_not_taken() -> None:
    paint = (part("Base", BASE, "1"),)
    assert measure(paint, 10, [whole(10, 10.0)]).measured[0].tool is None
    assert measure(paint, 10, [whole(10, 9.9)]).measured[0].tool is not None


def test_half_a_mark_is_always_rounded_up() -> None:
    parts = (TWO[0], part("Activator", ACTIVATOR, "0.5 % of base", tolerance=1.0))
    for tenths in range(2, 20):
        base_mL = 20 * (tenths + 0.5)
        got = measure(parts, base_mL * 1.005, [whole(base_mL), syringe(10, 0.1)])
        assert got.measured[1].mL == pytest.approx((tenths + 1) / 10), base_mL


def test_two_measures_alike_are_as_good_as_one() -> None:
    twins = [Tool(name=name, kind=ToolKind.CUP, step=5, capacity=100) for name in ("cup", "old cup")]
    assert words_of((TWO[0],), 50, twins) == ["cup, to the 50 mark"]


@pytest.mark.parametrize(("base_mL", "dose_mL", "found"), [(10.2, 1.05, 10.5), (10.3, 1.0, 10.0)])
def test_a_little_more_or_less_of_the_base_is_made_where_the_dose_then_meets_its_mark(
    base_mL: float, dose_mL: float, found: float
) -> None:
    parts = (part("Base", BASE, "1", 1.0), part("Activator", ACTIVATOR, "10 % of base"))
    # By a scale that shows halves of a gram and ends at 10.5: the mark on the other side of the amount.
    halves = Tool(name="scale", kind=ToolKind.SCALE, step=0.5, capacity=10.5, error=0.01)
    got = measure(parts, base_mL * 1.1, [halves, whole(dose_mL)])
    assert [m.mL for m in got.measured] == [found, dose_mL]
    ends_sooner = Tool(name="scale", kind=ToolKind.SCALE, step=0.5, capacity=10, error=0.01)
    assert measure(parts, 10.2 * 1.1, [ends_sooner, whole(1.05)]).measured[0].mL == 10


def test_no_more_than_a_twentieth_more_or_less_is_made_for_the_sake_of_a_mark() -> None:
    # 30 mL would suit the dose, and only 24 are asked for.
    parts = (part("Base", BASE, "1", 1.0), part("Activator", ACTIVATOR, "1 % of base"))
    tens = Tool(name="scale", kind=ToolKind.SCALE, step=10, capacity=100, error=0.01)
    got = measure(parts, 24 * 1.01, [tens, whole(0.3)])
    assert [m.mL for m in got.measured] == [20, 0.3]
    assert not got.within[1]
    # 110 mL is 5.8 % more than 104.
    close = (parts[0], part("Activator", ACTIVATOR, "1 % of base", tolerance=0.05))
    got = measure(close, 104 * 1.01, [Tool(name="scale", kind=ToolKind.SCALE, step=10, capacity=500), whole(1.1)])
    assert [m.mL for m in got.measured] == [100, 1.1]


def test_a_part_that_goes_by_one_the_recipe_has_none_of_is_none_itself() -> None:
    parts = (
        part("Base", BASE, "100", 1.0),
        part("Reducer", REDUCER, "0 % of base", 1.0),
        part("Drier", ADDITIVE, "5 % of Reducer", 1.0),
    )
    got = measure(parts, 50, [whole(50)])
    assert [(m.mL, m.words) for m in got.measured[1:]] == [(0, "nothing to pour")] * 2
    assert got.within == (True, True, True)
    assert [w.g for w in weigh(parts, 50, SCALE)] == [50, 0, 0]


def test_a_tool_has_no_more_than_a_million_steps_however_large_they_are() -> None:
    assert syringe(20_000, 500).marks == 40
    with pytest.raises(NotATool, match="more than a million steps"):
        syringe(500, 0.0004)


# --- weighed ---------------------------------------------------------------------------------------


def test_what_is_in_the_cup_stands_on_the_display_whatever_its_place_in_the_recipe() -> None:
    # By hand, all at 1 g/mL: 100 g of base and 20 g of activator are in, so 120 g of reducer go up to 240 g.
    parts = (
        part("Base", BASE, "100", 1.0),
        part("Reducer", REDUCER, "1:1 of activated", 1.0),
        part("Activator", ACTIVATOR, "20 % of base", 1.0),
    )
    got = weigh(parts, 60, SCALE, {"Base": 100.0, "Activator": 20.0})
    assert [w.reading_g for w in got] == [100, 240, 120]
    assert got[1].words == "pour Reducer until the scale shows 240 g"
    assert [w.error_g for w in got] == pytest.approx([0.05, 0.1, 0.1])
    # It is worked out from the 30 g of activator that are in, not from the 20 g that should be.
    got = weigh(parts, 60, SCALE, {"Base": 100.0, "Activator": 30.0})
    assert (got[1].g, got[1].reading_g, got[1].off_percent) == (130, 260, pytest.approx(0, abs=1e-9))
    # Activator first: the base goes on top of the 2 g that stand there, and needs 10 g for them.
    got = weigh(parts, 60, SCALE, {"Activator": 2.0})
    assert [w.reading_g for w in got] == [12, 24, 2]


def test_a_share_of_the_total_follows_a_wrong_pour() -> None:
    # By hand: 36 + 28.5714 mL stand there; a ninth of that is 7.1746 mL, at 0.87 g/mL 6.242 g on top of 75 g.
    parts = (
        part("Base", BASE, "100", 1.25),
        part("Activator", ACTIVATOR, "4:1 of base", 1.05),
        part("Reducer", REDUCER, "10 % of total", 0.87),
    )
    assert weigh(parts, 50, FINE, {"Base": 45.0, "Activator": 30.0})[2].reading_g == 81.24


def test_half_a_step_of_the_display_is_always_rounded_up() -> None:
    paint = (part("Base", BASE, "1", 1.0),)
    for tenths in range(1, 400):
        make_mL = (tenths + 0.5) / 10
        assert weigh(paint, make_mL, SCALE)[0].reading_g == pytest.approx((tenths + 1) / 10), make_mL


def test_a_scale_bears_what_it_says_and_no_step_more() -> None:
    paint = (part("Base", BASE, "1", 1.0),)
    assert weigh(paint, 500, SCALE)[0].reading_g == 500
    with pytest.raises(NotATool, match=r"^bench scale bears 500 g, and the display would stand at 500.1 g"):
        weigh(paint, 500.1, SCALE)
    with pytest.raises(NotATool, match=r"^my cup is no scale"):
        weigh(paint, 50, Tool(name="my cup", kind=ToolKind.CUP, step=5, capacity=100))


def test_only_a_pour_between_two_readings_has_the_error_of_both() -> None:
    parts = (
        part("Drier", ADDITIVE, "0 % of base", 1.0),
        part("Base", BASE, "100", 1.0),
        part("Activator", ACTIVATOR, "50 % of base", 1.0),
        part("Reducer", REDUCER, "0 % of base", 1.0),
    )
    got = weigh(parts, 0.9, SCALE)  # 0.6 g, then 0.3 g
    assert [w.error_g for w in got] == pytest.approx([0, 0.05, 0.1, 0])
    assert got[1].words == "pour Base until the scale shows 0.6 g"
    assert [w.words for w in got if w.g == 0] == ["no Drier goes in", "no Reducer goes in"]


def test_none_of_a_part_may_be_in_the_cup() -> None:
    parts = (part("Base", BASE, "100", 1.0), part("Activator", ACTIVATOR, "20 % of base", 1.0))
    got = weigh(parts, 60, SCALE, {"Base": 50.0, "Activator": 0.0})
    assert (got[1].g, got[1].reading_g, got[1].off_percent, got[1].within) == (0, 50, -100, False)


def test_the_error_of_the_display_is_one_of_grams() -> None:
    # By hand: 20 g are 10 mL of 2 g/mL, to 0.05 g or 0.025 mL; 2.5 g are 5 mL of 0.5 g/mL, to 0.1 g or 0.2 mL.
    parts = (part("Base", BASE, "2", 2.0), part("Activator", ACTIVATOR, "2:1 of base", 0.5))
    got = weigh(parts, 15, SCALE)
    assert [w.g for w in got] == [20, 2.5]
    assert got[1].worst_percent == pytest.approx(100 * (5.2 / 9.975 / 0.5 - 1))


def test_a_weighed_part_just_as_far_off_as_it_may_be_is_within() -> None:
    sure = Tool(name="scale", kind=ToolKind.SCALE, step=0.1, capacity=500, error=0.0)
    for tolerance, grams, within in (
        (None, 11.0, True), (None, 9.0, True), (None, 11.1, False), (None, 8.9, False),
        (None, 11.005, False), (0.0, 10.0, True), (0.0, 10.1, False),
    ):  # fmt: skip
        parts = (part("Base", BASE, "100", 1.0), part("Activator", ACTIVATOR, "10 % of base", 1.0, tolerance))
        assert weigh(parts, 110, sure, {"Base": 100.0, "Activator": grams})[1].within is within, grams


def test_parts_poured_for_unlike_sizes_each_count_as_they_stand_in_the_cup() -> None:
    # By hand, all at 1 g/mL: 5 g of flake ask for 50 g of base; with 2 g of activator, where 10 should be, that
    # is 52 g activated, and as much reducer.
    parts = (
        part("Base", BASE, "100", 1.0),
        part("Activator", ACTIVATOR, "20 % of base", 1.0),
        part("Flake", ADDITIVE, "10 % of base", 1.0),
        part("Reducer", REDUCER, "1:1 of activated", 1.0),
    )
    got = weigh(parts, 60, SCALE, {"Activator": 2.0, "Flake": 5.0})
    assert [w.g for w in got] == [50, 2, 5, 52]
    assert [w.off_percent for w in got[1:]] == [pytest.approx(off, abs=1e-9) for off in (-80, 0, 0)]


def test_a_part_poured_before_the_base_counts_as_the_display_rounds_it() -> None:
    # By hand: 0.25 g of activator shows as 0.3, a fifth too much for 10 g of base.
    parts = (part("Activator", ACTIVATOR, "2.5 % of base", 1.0), part("Base", BASE, "100", 1.0))
    got = weigh(parts, 10.25, SCALE)
    assert [w.reading_g for w in got] == [0.3, 10.3]
    assert got[0].off_percent == pytest.approx(20)
