"""Ratios as cards write them, against sums done by hand."""

from dataclasses import replace
from fractions import Fraction

import pytest

from benchtool.trade.mixing import (
    NotAShare,
    Of,
    Part,
    PartKind,
    Share,
    amounts_mL,
    check_pours,
    fractions,
    guess_kind,
    parse_ratio,
    parse_share,
    reduction_of,
    size_in_cup,
)

BASE, ACTIVATOR, REDUCER, ADDITIVE = PartKind.BASE, PartKind.ACTIVATOR, PartKind.REDUCER, PartKind.ADDITIVE


def part(name: str, kind: PartKind, share: str, tolerance: float | None = None) -> Part:
    return Part(name=name, kind=kind, share=parse_share(share), tolerance=tolerance)


def recipe(*shares: str) -> tuple[Part, ...]:
    """A recipe of base, activator, reducer and additive, in this order, as many as there are shares."""
    kinds = (BASE, ACTIVATOR, REDUCER, ADDITIVE)
    return tuple(part(kind.value, kind, share) for kind, share in zip(kinds, shares, strict=False))


PROMOTER = recipe("100", "2 % of base", "1x activated")

SHARES = [
    ("4", Share(4, Of.PARTS)),
    ("100", Share(100, Of.PARTS)),
    ("1 part", Share(1, Of.PARTS)),
    ("2.5 parts", Share(2.5, Of.PARTS)),
    ("1/2", Share(0.5, Of.PARTS)),
    ("0", Share(0, Of.PARTS)),
    ("2 % of base", Share(0.02, Of.BASE)),
    ("2%base", Share(0.02, Of.BASE)),
    ("2 percent of the base", Share(0.02, Of.BASE)),
    ("2,5 % of paint", Share(0.025, Of.BASE)),
    ("10 % of the mixed total", Share(0.1, Of.TOTAL)),
    ("10 % of total", Share(0.1, Of.TOTAL)),
    ("10 % OF THE WHOLE", Share(0.1, Of.TOTAL)),
    ("1x activated", Share(1, Of.ACTIVATED)),
    ("0.5x activated", Share(0.5, Of.ACTIVATED)),
    ("1 × the activated mix", Share(1, Of.ACTIVATED)),
    ("1:1 of activated", Share(1, Of.ACTIVATED)),
    ("1:1 with the activated mix", Share(1, Of.ACTIVATED)),
    ("2:1 of base", Share(0.5, Of.BASE)),
    ("4:1 of base", Share(0.25, Of.BASE)),
    ("5 % of Resin A", Share(0.05, Of.PART, "Resin A")),
]


@pytest.mark.parametrize(("text", "share"), SHARES)
def test_a_share_is_read_as_the_card_writes_it(text: str, share: Share) -> None:
    assert parse_share(text) == share


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "A number is missing here"),
        ("4:", "A number is missing here"),
        ("two", "does not start with a number"),
        ("-2 % of base", "below zero"),
        ("2 %", "of what"),
        ("1:1", "of what"),
        ("2x", "of what"),
        ("1:0 of base", "zero parts"),
        ("0:1 of base", "zero parts"),
        ("1:x of base", "does not start with a number"),
        ("100 % of total", "no room"),
        ("150 % of the mixed total", "no room"),
        ("1:1 of total", "no room"),
        ("3 spoons", "is not a share"),
        ("1,000", "read two ways"),
        ("1e400 % of base", "too large"),
        ("nan % of base", "does not start with a number"),
        ("9" * 10_000, "too large"),
        ("1/" + "9" * 10_000 + " x", "of what"),
        ("1/0", "divides by zero"),
        ("9**9**9", "is not a share"),
        ("🎨", "does not start with a number"),
    ],
    ids=lambda value: value[:20],
)
def test_what_is_no_share_says_what_to_write(text: str, words: str) -> None:
    with pytest.raises(NotAShare) as fault:
        parse_share(text)
    assert words in str(fault.value)
    assert len(str(fault.value)) < 200


@pytest.mark.parametrize(
    ("share", "words"),
    [
        ("1", "1 part"),
        ("4", "4 parts"),
        ("2 % of base", "2 % of the base"),
        ("1x activated", "1:1 with the activated mix"),
        ("10 % of total", "10 % of the mixed total"),
        ("33.333 % of Resin A", "33.33 % of Resin A"),
    ],
)
def test_a_share_is_said_as_a_card_would(share: str, words: str) -> None:
    assert parse_share(share).words() == words


def test_a_ratio_of_numbers() -> None:
    assert parse_ratio("4:1:1") == (4, 1, 1)
    assert parse_ratio("2 : 1 : 0.5") == (2, 1, 0.5)
    for text in ("4", "4:", "4:0", "4:-1", "4:1:x", "", "4:1 parts", "4:1/0"):
        with pytest.raises(NotAShare, match="not a ratio"):
            parse_ratio(text)


@pytest.mark.parametrize(
    ("name", "first", "kind"),
    [
        ("Slow hardener", False, ACTIVATOR),
        ("Activator for clear", False, ACTIVATOR),
        ("Fast thinner", False, REDUCER),
        ("Distilled water", False, REDUCER),
        ("Waterborne base", False, BASE),
        ("Clear", False, BASE),
        ("Blue", True, BASE),
        ("Flattener", False, ADDITIVE),
    ],
)
def test_a_part_is_known_by_its_name(name: str, first: bool, kind: PartKind) -> None:
    assert guess_kind(name, first) is kind


HAND = [
    # 4:1:1, six parts: arithmetic
    (recipe("4", "1", "1"), [Fraction(4, 6), Fraction(1, 6), Fraction(1, 6)]),
    # 2 % of base: 100 and 2 of 102: arithmetic
    (recipe("100", "2 % of base"), [Fraction(100, 102), Fraction(2, 102)]),
    # 2 % of base, then 1:1 of the activated mix: 100, 2, 102 of 204: arithmetic
    (PROMOTER, [Fraction(100, 204), Fraction(2, 204), Fraction(102, 204)]),
    # 10 % of the mixed total beside 2:1: the other 90 % is 60 and 30: arithmetic
    (recipe("2", "1", "10 % of total"), [Fraction(6, 10), Fraction(3, 10), Fraction(1, 10)]),
    # an activator that is 10 % of the activated mix, itself included: 90 and 10: arithmetic
    (recipe("100", "10 % of activated"), [Fraction(90, 100), Fraction(10, 100)]),
    # a zero share is in the recipe and not in the cup
    (recipe("100", "0 % of base"), [Fraction(1), Fraction(0)]),
]


@pytest.mark.parametrize(("parts", "wanted"), HAND)
def test_the_fractions_of_a_mix_are_those_of_a_sum_by_hand(parts: tuple[Part, ...], wanted: list[Fraction]) -> None:
    assert fractions(parts) == pytest.approx([float(w) for w in wanted], rel=1e-12, abs=1e-15)
    assert amounts_mL(parts, 60) == pytest.approx([60 * float(w) for w in wanted], rel=1e-12, abs=1e-15)


def test_two_bases_share_one_activator() -> None:
    parts = (part("white", BASE, "3"), part("blue", BASE, "1"), part("hardener", ACTIVATOR, "50 % of base"))
    assert amounts_mL(parts, 60) == pytest.approx((30, 10, 20))


def test_a_part_measured_by_another_part() -> None:
    parts = (*recipe("100", "2 % of base"), part("drier", ADDITIVE, "50 % of activator"))
    assert fractions(parts) == pytest.approx((100 / 103, 2 / 103, 1 / 103))


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ((), "at least one part"),
        (recipe("0"), "plain number of parts"),
        (recipe("2 % of activated", "1x base"), "plain number of parts"),
        (recipe("100", "60 % of total", "50 % of total"), "no room for the base"),
        (recipe("100", "60 % of total", "40 % of total"), "no room for the base"),
        (recipe("100", "5 % of Resin Z"), "no other part is that"),
        ((part("a", BASE, "1"), part("b", ADDITIVE, "1x c"), part("c", ADDITIVE, "1x b")), "no room for the base"),
        ((part("a", BASE, "1"), part("A", ADDITIVE, "1")), "same name"),
        ((part("a", BASE, "1"), part("b", ADDITIVE, "1x b")), "no other part is that"),
        (recipe("100", "100 % of activated"), "no room for the base"),
    ],
)
def test_shares_that_are_no_mix_are_refused(parts: tuple[Part, ...], words: str) -> None:
    with pytest.raises(NotAShare, match=words):
        fractions(parts)


@pytest.mark.parametrize("make_mL", [0.0, -1.0, float("nan"), float("inf")])
def test_nothing_can_be_made_of_no_amount(make_mL: float) -> None:
    with pytest.raises(NotAShare, match="above zero"):
        amounts_mL(PROMOTER, make_mL)


# --- what was poured -------------------------------------------------------------------------------


def test_the_check_value_a_millilitre_of_activator_in_an_ounce_of_base() -> None:
    """2 % by volume; 1 US fl oz (29.5735 mL) and 1 mL: 3.38 %, 69 % over, 20.4 mL more base mends it.

    Common practice, no source; the arithmetic is 1/29.5735 = 3.381 %, 3.381/2 = 1.691, 1/0.02 - 29.5735 = 20.4265.
    """
    base, activator = check_pours(recipe("100", "2 % of base"), {"base": 29.5735295625, "activator": 1})
    assert activator.percent_of_base == pytest.approx(3.38, abs=0.005)
    assert activator.off_percent == pytest.approx(69, abs=0.5)
    assert not activator.within
    assert activator.add_mL == 0
    assert base.add_mL == pytest.approx(20.4, abs=0.05)
    assert base.add_mL == pytest.approx(50 - 29.5735295625)
    assert base.within


def test_too_little_activator_is_mended_by_activator_alone() -> None:
    base, activator = check_pours(recipe("100", "2 % of base"), {"base": 50, "activator": 0.5})
    assert activator.off_percent == pytest.approx(-50)
    assert (base.add_mL, activator.add_mL) == (0, pytest.approx(0.5))


def test_a_part_not_poured_yet_is_not_off_and_says_what_it_needs() -> None:
    base, activator, reducer = check_pours(PROMOTER, {"base": 50})
    assert (activator.poured_mL, activator.off_percent, activator.percent_of_base) == (None, None, None)
    assert activator.within
    assert activator.why == "not poured yet"
    assert (base.add_mL, activator.add_mL, reducer.add_mL) == (0, pytest.approx(1), pytest.approx(51))


def test_a_part_whose_measure_is_not_poured_yet_cannot_be_judged() -> None:
    _, _, reducer = check_pours(PROMOTER, {"base": 50, "reducer": 51})
    assert reducer.off_percent is None
    assert reducer.within
    assert reducer.why == "what it is measured by is not poured yet"


def test_activator_first_has_no_percentage_yet() -> None:
    _, activator = check_pours(recipe("100", "2 % of base"), {"activator": 1})
    assert activator.percent_of_base is None
    assert activator.why
    assert check_pours(recipe("100", "2 % of base"), {"activator": 1})[0].add_mL == pytest.approx(50)


def test_nothing_poured_needs_nothing_mended() -> None:
    assert [c.add_mL for c in check_pours(PROMOTER, {})] == [0, 0, 0]


def test_the_reducer_is_judged_by_what_is_really_in_the_cup() -> None:
    """1:1 of the activated mix as poured, 55 mL here, not of what the recipe would have had."""
    *_, reducer = check_pours(PROMOTER, {"base": 50, "activator": 5, "reducer": 55})
    assert reducer.off_percent == pytest.approx(0)


@pytest.mark.parametrize(("activator_mL", "within"), [(1.1, True), (0.9, True), (1.101, False), (0.899, False)])
def test_the_tolerance_of_an_activator_is_a_tenth_of_its_share(activator_mL: float, within: bool) -> None:
    assert check_pours(recipe("100", "2 % of base"), {"base": 50, "activator": activator_mL})[1].within is within


def test_a_card_may_set_its_own_tolerance() -> None:
    parts = (part("base", BASE, "100"), part("activator", ACTIVATOR, "2 % of base", tolerance=0.5))
    assert check_pours(parts, {"base": 50, "activator": 1.4})[1].within


@pytest.mark.parametrize("tens", range(1, 60))
def test_where_nothing_is_allowed_the_noise_of_a_float_is(tens: int) -> None:
    parts = (recipe("100")[0], replace(recipe("100", "7 % of base")[1], tolerance=0.0))
    base = tens * 0.3
    assert check_pours(parts, {"base": base, "activator": base * 7 / 100})[1].within
    assert not check_pours(parts, {"base": base, "activator": base * 0.070_001})[1].within


def test_a_pour_that_the_recipe_does_not_have_is_refused() -> None:
    with pytest.raises(NotAShare, match="no such part"):
        check_pours(PROMOTER, {"base": 50, "glitter": 1})


def test_the_size_that_a_cup_can_become() -> None:
    assert size_in_cup((0.5, 0.5), (10, 30)) == 60
    assert size_in_cup((1.0, 0.0), (10, 5)) == 10
    assert size_in_cup((0.5, 0.5), (None, None)) == 0


@pytest.mark.parametrize(
    ("share", "reference"),
    [
        ("5 % of base", 100),
        ("1x activated", 102),
        ("50 % of total", 204),  # 102 is the other half
        ("10 % of total", Fraction(1020, 9)),  # 102 is the other nine tenths
        ("50", 1),  # 50 parts beside 100 parts of base, 100 mL of it: a part is 1 mL
    ],
)
def test_what_a_reduction_is_measured_by(share: str, reference: float) -> None:
    found = reduction_of(PROMOTER, parse_share(share), {"base": 100, "activator": 2, "reducer": 40})
    assert found == pytest.approx(float(reference))
