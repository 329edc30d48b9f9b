"""Ranking a trial: the scenario of common practice, the law of dominance, and what is never said."""

from fractions import Fraction
from itertools import combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchtool.trade.exact import NotGrades, rank_two, smallest_p
from benchtool.trade.ranking import Graded, Relation, System, at_least, rank

NAMES = ("two-part promoter", "one-part promoter", "clear as primer", "none")
FOUR = tuple(System(name, control=name == "none") for name in NAMES)
NO_PROOF = "That is no proof that no promoter is needed."


def graded(label, *cells, systems=FOUR, **more):
    scores = {s.name: cell if isinstance(cell, list) else [cell] for s, cell in zip(systems, cells, strict=True)}
    return Graded(label=label, scores=scores, **more)


TAPE = graded("plain tape", 5, 5, 5, 5, tape=True, held_from=4)
STICK = graded("stick scratch", 5, 3, 4, 1)
NAIL = graded("fingernail", 5, 3, 4, 2)


def said(*tests, systems=FOUR):
    return " ".join(rank(systems, tests).words)


# --- the scenario (common practice, no source) ------------------------------------------------------------------


def test_four_strips_rank_by_the_scratch_and_not_by_the_tape():
    """All four hold plain tape; by stick and fingernail two-part, then clear, then one-part, then none."""
    ranking = rank(FOUR, [TAPE, STICK, NAIL])
    assert ranking.order == (("two-part promoter",), ("clear as primer",), ("one-part promoter",), ("none",))
    assert ranking.names == ("two-part promoter", "clear as primer", "one-part promoter", "none")
    assert ranking.words[:4] == (
        (
            "Plain tape: the bare control held the tape as well as the rest: tape alone does not tell them apart here; "
            "look at the scratch grades."
        ),
        NO_PROOF,
        "With one strip of each, this shows a difference and proves none.",
        "Four of each can: 16 strips.",
    )
    assert "Best first: two-part promoter, then clear as primer, then one-part promoter, then none." in ranking.words
    assert [t.apart for t in ranking.tests] == [False, True, True]
    assert all(t.p == t.smallest == 1 for t in ranking.tests)
    assert ranking.pair_tests == ()


def test_nothing_is_hidden():
    scores = [[5, 3, 4], [4, 4], [1], []]
    ranking = rank(FOUR, [graded("stick", *scores)])
    assert [list(c.scores) for c in ranking.cells] == scores
    assert [(c.median, c.lowest) for c in ranking.cells] == [(4, 3), (4, 4), (1, 1), (None, None)]


def test_tape_alone_asks_for_a_scratch():
    text = said(TAPE)
    assert NO_PROOF in text
    assert "Grade a stick and a fingernail scratch too" in text
    assert "Best first" not in text


def test_a_control_that_ties_with_the_best_alone_is_said_too():
    text = said(graded("plain tape", 5, 3, 5, 5, tape=True, held_from=4), STICK)
    assert "the bare control held as well as any: this tape does not show that a promoter helps" in text
    assert NO_PROOF in text


def test_a_control_that_came_off_held_nothing():
    text = said(graded("plain tape", 1, 1, 1, 1, tape=True, held_from=4), STICK)
    assert "came off no worse than the rest" in text
    assert "held" not in text
    assert NO_PROOF in text


@pytest.mark.parametrize(
    "test", [graded("plain tape", 5, 5, 5, 2, tape=True, held_from=4), graded("stick", 5, 5, 5, 5), STICK]
)
def test_no_word_on_the_control_where_the_tape_says_nothing_of_it(test):
    text = said(test)
    assert "bare control" not in text
    assert NO_PROOF not in text


def test_three_of_each_never_get_below_a_tenth():
    text = said(graded("stick", [5, 5, 5], [3, 3, 3], [4, 4, 4], [1, 1, 1]))
    assert "chance alone would part two systems as clearly in at least 10 of 100 such trials (exact p 0.10)" in text
    assert "proves none" in text
    assert "Four of each can: 16 strips." in text


def test_four_of_each():
    ranking = rank(FOUR, [graded("stick", [5, 5, 5, 5], [3, 3, 3, 3], [4, 4, 4, 4], [1, 1, 1, 1]), TAPE])
    text = " ".join(ranking.words)
    assert "proves none" not in text
    assert "stick" in {p.label for p in ranking.pair_tests}
    assert {p.p for p in ranking.pair_tests} == {Fraction(2, 70)}
    assert {p.adjusted for p in ranking.pair_tests} == {Fraction(12, 70)}, "six pairs were looked at"
    assert "Who looks at six pairs may find one of them clear by luck" in text
    assert "in about 17 of 100 such trials (p 0.17 by Holm's way)" in text
    assert "from none in about 3 of 100 such trials (exact p 0.029)" in text


def test_several_tests_are_counted_in():
    one, other = graded("stick", [5, 5, 5, 5], [1, 1, 1, 1], systems=FOUR[:2]), [[4, 4, 4, 5], [3, 3, 3, 3]]
    ranking = rank(FOUR[:2], [one, graded("nail", *other, systems=FOUR[:2])])
    assert [t.p for t in ranking.tests] == [Fraction(2, 70)] * 2
    assert [t.adjusted for t in ranking.tests] == [Fraction(4, 70)] * 2
    assert "Who looks at two tests may find one of them clear by luck" in " ".join(ranking.words)


def test_alike_is_never_called_proven():
    text = said(graded("stick", 4, 4, 4, 4))
    assert "no difference shows; that does not prove them alike" in text
    assert "Four of each can" not in text
    assert "does not tell them apart" in text
    assert "No difference shows" in said(graded("stick", [4, 4], [4, 4], [4, 4], [4, 4]))


def test_without_a_control():
    systems = tuple(System(name) for name in NAMES)
    assert "No control is named" in said(STICK, systems=systems)
    assert "The control has no grade" in said(graded("stick", 5, 4, 3, []))
    assert "control" not in said(STICK)


# --- neither is better ------------------------------------------------------------------------------------------


def test_each_better_somewhere():
    ranking = rank(FOUR, [STICK, graded("nail", 4, 5, 3, 0)])
    pair = next(p for p in ranking.pairs if p.relation is Relation.CROSSED)
    assert (pair.first, pair.second) == NAMES[:2]
    assert ranking.order == (NAMES[:3], ("none",))
    text = " ".join(ranking.words)
    assert "“two-part promoter” is better in stick scratch, “one-part promoter” is better in nail" in text
    assert "(no order between them), then none" in text


def test_strips_that_overlap():
    ranking = rank(FOUR[:2], [graded("stick", [5, 1], [3, 3], systems=FOUR[:2])])
    assert ranking.pairs[0].crossed_on == ("stick",)
    assert "their strips overlap in stick" in " ".join(ranking.words)


def test_one_above_another_and_level_with_a_third():
    """The third stands lowest by its mean rank and is still not worse than the first, so no level is cut off."""
    systems = FOUR[:3]
    ranking = rank(systems, [graded("stick", [5, 4, 3, 3, 3], [4, 4, 3, 3, 2], [5, 5, 0, 0, 0], systems=systems)])
    assert [p.relation for p in ranking.pairs] == [Relation.BETTER, Relation.CROSSED, Relation.CROSSED]
    assert ranking.order == (NAMES[:3],)
    assert "by every test" in " ".join(ranking.words)


def test_a_missing_test_prevents_a_place_and_is_said():
    ranking = rank(FOUR, [STICK, graded("fingernail", 5, 3, 4, [])])
    assert ranking.unplaced == ("none",)
    assert ranking.order == (("two-part promoter",), ("clear as primer",), ("one-part promoter",))
    assert {p.relation for p in ranking.pairs if p.second == "none"} == {Relation.MISSING}
    assert "“none” can't be placed: it has no grade in fingernail." in ranking.words
    ranking = rank(FOUR, [STICK, graded("fingernail", 5, [], [], [])])
    assert ranking.unplaced == ("two-part promoter",)
    assert any("“two-part promoter” can't be placed: " in w and "no grade in fingernail" in w for w in ranking.words)


def test_nothing_graded_yet():
    ranking = rank(FOUR, [graded("stick", [], [], [], [])])
    assert ranking.words == ("No strip has been graded yet.",)
    assert ranking.unplaced == NAMES
    assert rank(FOUR, []).words == ranking.words
    assert rank([], []).names == ()


def test_too_many_gives_no_p_and_says_so():
    ranking = rank(FOUR, [graded("stick", *[[i + 4 * k for k in range(9)] for i in range(4)])])
    (test,) = ranking.tests
    assert test.p is None
    assert "too many strips" in test.why
    assert "no exact p, and no other is given" in " ".join(ranking.words)
    assert all(p.p is not None for p in ranking.pair_tests), "two at a time are counted all the same"


@pytest.mark.parametrize(
    ("systems", "tests"),
    [
        ((FOUR[0], FOUR[0]), ()),
        (FOUR, (TAPE, TAPE)),
        (FOUR, (Graded(label="stick", scores={"another": [1]}),)),
        (FOUR, (Graded(label="stick", scores={"none": [float("nan")]}),)),
        (tuple(System(str(i)) for i in range(100)), ()),
    ],
)
def test_what_is_no_trial(systems, tests):
    with pytest.raises(NotGrades):
        rank(systems, tests)


# --- laws -------------------------------------------------------------------------------------------------------

STRIPS = st.lists(st.integers(0, 5), max_size=3)


@st.composite
def trials(draw, strips=STRIPS):
    names = [f"system {i}" for i in range(draw(st.integers(1, 4)))]
    systems = [System(name, control=i == 0) for i, name in enumerate(names)]
    return systems, [
        Graded(label=f"test {i}", scores={name: draw(strips) for name in names}, tape=draw(st.booleans()))
        for i in range(draw(st.integers(0, 3)))
    ]


@given(trials())
@settings(deadline=None)
def test_every_system_of_a_level_is_better_than_every_one_below(trial):
    systems, tests = trial
    ranking = rank(systems, tests)
    assert sorted(ranking.names) == sorted(s.name for s in systems)
    for above, below in combinations(ranking.order, 2):
        for a, b in product(above, below):
            for test in tests:
                x, y = test.of(a), test.of(b)
                assert bool(x) == bool(y)
                assert not x or at_least(x, y)
            assert any(test.of(a) and not at_least(test.of(b), test.of(a)) for test in tests)


@given(trials())
@settings(deadline=None)
def test_a_better_system_stands_before_a_worse_one(trial):
    ranking = rank(*trial)
    names = ranking.names
    for pair in ranking.pairs:
        if pair.relation is Relation.BETTER and {pair.first, pair.second}.isdisjoint(ranking.unplaced):
            assert names.index(pair.first) < names.index(pair.second)


@given(trials())
@settings(deadline=None)
def test_a_scale_of_other_steps_changes_nothing(trial):
    systems, tests = trial
    stretched = [
        Graded(label=t.label, tape=t.tape, scores={n: [2**v - 9 for v in s] for n, s in t.scores.items()})
        for t in tests
    ]
    one, other = rank(systems, tests), rank(systems, stretched)
    assert (one.order, one.pairs, one.tests, one.words) == (other.order, other.pairs, other.tests, other.words)


@given(trials(), st.randoms(use_true_random=False))
@settings(deadline=None)
def test_the_order_in_which_systems_are_named_changes_no_level(trial, random):
    systems, tests = trial
    one, other = rank(systems, tests), rank(random.sample(systems, len(systems)), tests)
    if not one.unplaced:  # which of several kinds of half-graded systems is placed hangs on who comes first
        assert [set(level) for level in one.order] == [set(level) for level in other.order]
    assert sorted((t.p or 0) for t in one.tests) == sorted((t.p or 0) for t in other.tests)


@given(st.lists(st.integers(0, 5), min_size=1, max_size=4), st.lists(st.integers(0, 5), min_size=1, max_size=4))
def test_at_least_as_good(x, y):
    if len(x) == len(y):
        assert at_least(x, y) == all(a >= b for a, b in zip(sorted(x), sorted(y), strict=True))
    assert at_least(x, x * 2)
    assert at_least(x * 3, x)
    if at_least(x, y):
        assert sum(x) * len(y) >= sum(y) * len(x)
        assert max(x) >= max(y)
        assert min(x) >= min(y)


@given(trials(st.lists(st.integers(0, 5), min_size=1, max_size=3)))
@settings(max_examples=40, deadline=None)
def test_what_is_said_is_sound(trial):
    systems, tests = trial
    ranking = rank(systems, tests)
    for words in ranking.words:
        assert words.endswith(".")
        assert words[0].isupper() or words[0].isdigit() or words[0] == "“"
        assert "significant" not in words
    for test in ranking.tests:
        if test.p is not None:
            assert test.smallest == smallest_p(test.sizes) <= test.p
    for pair in ranking.pair_tests:
        test = next(t for t in tests if t.label == pair.label)
        assert pair.p == rank_two(test.of(pair.first), test.of(pair.second)).p
        assert pair.smallest <= pair.p <= pair.adjusted
    if tests and len(systems) > 1 and all(len(s) == 1 for t in tests for s in t.scores.values()):
        assert any("one strip of each" in w for w in ranking.words)
    for test in ranking.tests:
        if test.tape and test.control_as_good:
            assert NO_PROOF in ranking.words
            assert ranking.words.index(NO_PROOF) < 5
