"""Exact tests against published examples, scipy as an independent reference, and plain enumeration."""

import math
from collections import Counter
from fractions import Fraction
from itertools import pairwise, permutations

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from scipy import stats

from benchtool.trade.exact import (
    NotGrades,
    TooMany,
    fisher_freeman_halton,
    fisher_freeman_halton_of,
    holm,
    jonckheere,
    mean_difference,
    page,
    rank_test,
    rank_two,
    smallest_p,
    strips_for,
    strips_for_all,
    strips_for_pairs,
)
from benchtool.trade.exactwords import chance_words, how_many_words, p_text

GRADES = st.integers(0, 5)


def groups_of(count, most, grades=GRADES):
    return st.lists(st.lists(grades, min_size=1, max_size=most), min_size=count, max_size=count)


SMALL = st.integers(2, 4).flatmap(lambda k: groups_of(k, 3)).filter(lambda g: sum(map(len, g)) <= 8)
LARGER = st.integers(2, 4).flatmap(lambda k: groups_of(k, 4)).filter(lambda g: sum(map(len, g)) <= 11)


def deals(groups):
    """Every way of dealing out the grades, each as often as it comes: slow and plain."""
    every = [v for group in groups for v in group]
    cuts = [0]
    for group in groups:
        cuts.append(cuts[-1] + len(group))
    for way in permutations(every):
        yield [way[a:b] for a, b in pairwise(cuts)]


def share(groups, counts):
    ways = Counter(counts(way) for way in deals(groups))
    return Fraction(ways[True], ways.total())


# --- published values -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("table", "p"),
    [
        ([[8, 2], [1, 5]], 0.034965),  # scipy.stats.fisher_exact, documented example (whales and sharks)
        ([[3, 1], [1, 3]], 0.4857143),  # Fisher, The Design of Experiments, 1935: the lady tasting tea
    ],
)
def test_fishers_own_table(table, p):
    assert float(fisher_freeman_halton(table).p) == pytest.approx(p, abs=1e-6)


@pytest.mark.parametrize(
    ("table", "p", "tables"),
    [
        # Freeman and Halton 1951, "sum of probabilities no larger than that observed"; counts by full enumeration
        ([[3, 0, 0], [0, 3, 0], [0, 0, 3]], 0.0035714, 55),
        ([[2, 1, 0], [0, 1, 2]], 0.6, 7),
        ([[8, 2, 3], [1, 5, 4]], 0.0571471, 53),  # scipy's documented example; its random estimate is 0.0603
    ],
)
def test_larger_tables(table, p, tables):
    found = fisher_freeman_halton(table)
    assert float(found.p) == pytest.approx(p, abs=1e-6)
    assert found.tables == tables
    turned = fisher_freeman_halton(list(zip(*table, strict=True)))
    assert (turned.p, turned.tables) == (found.p, tables)


def test_tasting_tea_one_way():
    # Fisher 1935: 17/70 where three cups of four are told right
    x, y = [1, 1, 1, 0], [0, 0, 0, 1]
    assert rank_two(x, y).greater == mean_difference(x, y).greater == Fraction(17, 70)


def test_kruskal_documented_example():
    # scipy.stats.kruskal, documented example
    assert float(rank_test([[1, 3, 5, 7, 9], [2, 4, 6, 8, 10]]).statistic) == pytest.approx(0.2727273, abs=1e-6)


def test_mann_whitney_documented_example():
    # scipy.stats.mannwhitneyu, documented example: U1 = 17, exact p 0.1111; the asymptotic 0.1113 is shown nowhere
    found = rank_two([19, 22, 16, 29, 24], [20, 11, 17, 12])
    assert found.p == Fraction(1, 9)
    assert found.difference * Fraction(5 * 4, 9) + 10 == 17  # U1 from the mean ranks


@pytest.mark.parametrize(
    ("groups", "h", "p"),
    [
        # Kruskal and Wallis 1952 with their correction for ties; p by going through all 1680 ways
        ([[5, 5, 4], [3, 4, 3], [1, 2, 0]], 6.997151, 0.0071429),
        ([[5, 5, 5], [4, 4, 4], [3, 3, 3]], 8.0, 0.0035714),
    ],
)
def test_kruskal_wallis(groups, h, p):
    found = rank_test(groups)
    assert float(found.statistic) == pytest.approx(h, abs=1e-6)
    assert float(found.p) == pytest.approx(p, abs=1e-6)


@pytest.mark.parametrize(
    ("groups", "j", "p"),
    [
        # Jonckheere 1954, a tie as half a pair; p by going through all 1680 ways
        ([[0, 1, 2], [3, 3, 4], [4, 5, 5]], 26.5, 0.0011905),
        ([[3, 3, 3], [4, 4, 4], [5, 5, 5]], 27, 0.0005952),
    ],
)
def test_jonckheere(groups, j, p):
    found = jonckheere(groups)
    assert found.statistic == j
    assert float(found.p) == pytest.approx(p, abs=1e-6)


@pytest.mark.parametrize(
    ("x", "y", "difference", "p", "greater"),
    [  # all C(6, 3) splits
        ([5, 5, 5], [1, 2, 1], Fraction(11, 3), Fraction(1, 10), Fraction(1, 20)),
        ([5, 5, 4], [4, 3, 4], Fraction(1), Fraction(3, 10), Fraction(3, 20)),
        ([4, 4, 5], [2, 3, 0], Fraction(8, 3), Fraction(1, 10), Fraction(1, 20)),
    ],
)
def test_mean_difference(x, y, difference, p, greater):
    found = mean_difference(x, y)
    assert (found.difference, found.p, found.greater) == (difference, p, greater)
    assert mean_difference([v / 10 for v in x], [v / 10 for v in y]).p == p, "a tenth is a tenth"


def test_page_documented_example():
    # scipy.stats.page_trend_test, documented example: ten students rate tutorial, lecture and seminar
    table = [
        [3, 4, 3], [2, 2, 4], [3, 3, 5], [1, 3, 2], [2, 3, 2], [2, 4, 5], [1, 2, 4], [3, 4, 4], [2, 4, 5], [1, 3, 4],
    ]  # fmt: skip
    found = page(table)
    assert found.statistic == 133.5
    assert float(found.p) == pytest.approx(0.0018191, abs=1e-6)


@pytest.mark.parametrize(
    ("sizes", "p"),
    [
        ((3, 3), Fraction(1, 10)),  # 2/C(6,3)
        ((4, 4), Fraction(2, 70)),  # 2/C(8,4)
        ((3, 3, 3), Fraction(6, 1680)),
        ((1, 1), Fraction(1)),
        ((1, 1, 1, 1), Fraction(1)),
        ((3, 0), Fraction(1)),
        ((3, 0, 3), Fraction(1, 10)),
        ((5,), Fraction(1)),
        ((), Fraction(1)),
    ],
)
def test_smallest_p(sizes, p):
    assert smallest_p(sizes) == p


def test_strips_it_takes():
    assert [strips_for(k) for k in (2, 4, 12)] == [4, 4, 4]
    assert strips_for(2, 0.11) == 3
    assert strips_for(2, 0.1) == 4, "three against three reach 0.10 and never get below it"
    assert [strips_for_all(k) for k in (2, 3, 4)] == [4, 3, 2]
    assert [strips_for_pairs(k) for k in (2, 3, 4)] == [4, 5, 5]
    for bad in ((1, 0.05), (2, 0.0), (2, math.nan)):
        with pytest.raises(NotGrades):
            strips_for(*bad)


# --- against scipy and plain enumeration ----------------------------------------------------------------------


@given(st.lists(st.lists(st.integers(0, 6), min_size=2, max_size=2), min_size=2, max_size=2))
def test_two_by_two_is_fishers(table):
    assume(any(map(any, table)))
    assert float(fisher_freeman_halton(table).p) == pytest.approx(stats.fisher_exact(table).pvalue, abs=1e-9)


@given(SMALL)
@example([[0], [1, 1, 1, 2], [2]])  # 36 is no multiple of 24: a table is as rare or it is not
@settings(max_examples=25, deadline=None)
def test_tables_against_enumeration(groups):
    classes = sorted({v for group in groups for v in group})

    def repeats(way):
        return math.prod(math.factorial(list(group).count(c)) for group in way for c in classes)

    assume(sum(map(len, groups)) <= 7)
    seen = repeats(groups)
    assert fisher_freeman_halton_of(groups).p == share(groups, lambda way: repeats(way) >= seen)


@given(LARGER)
@settings(deadline=None)
def test_h_is_scipys(groups):
    assume(len({v for group in groups for v in group}) > 1)
    assert float(rank_test(groups).statistic) == pytest.approx(stats.kruskal(*groups).statistic, abs=1e-9)


@given(SMALL)
@settings(max_examples=25, deadline=None)
def test_kruskal_wallis_against_enumeration(groups):
    assume(len(groups) > 2)
    assume(sum(map(len, groups)) <= 7)
    assume(len({v for group in groups for v in group}) > 1)
    every = sorted(v for group in groups for v in group)
    ranks = {v: Fraction(sum(i for i, e in enumerate(every, 1) if e == v), every.count(v)) for v in every}

    def spread(way):
        return sum(sum(ranks[v] for v in group) ** 2 / len(group) for group in way)

    seen = spread(groups)
    assert rank_test(groups).p == share(groups, lambda way: spread(way) >= seen)


@given(groups_of(2, 5))
@settings(max_examples=40, deadline=None)
def test_two_groups_are_scipys_permutation_test(groups):
    x, y = groups
    assume(min(len(x), len(y)) > 1)  # scipy asks for two
    ranks = stats.rankdata([*x, *y])
    data = (ranks[: len(x)], ranks[len(x) :])

    def difference(a, b, axis):
        return np.mean(a, axis=axis) - np.mean(b, axis=axis)

    found = rank_two(x, y)
    for alternative, p in (("two-sided", found.p), ("greater", found.greater), ("less", found.less)):
        want = stats.permutation_test(data, difference, n_resamples=math.inf, vectorized=True, alternative=alternative)
        assert float(p) == pytest.approx(want.pvalue, abs=1e-9)
    want = stats.permutation_test((x, y), difference, n_resamples=math.inf, vectorized=True)
    assert float(mean_difference(x, y).p) == pytest.approx(want.pvalue, abs=1e-9)
    assert rank_test(groups).p == found.p


@given(st.lists(st.integers(-50, 50), min_size=4, max_size=12, unique=True), st.integers(1, 3))
def test_without_ties_it_is_mann_whitney(values, cut):
    x, y = values[:cut], values[cut:]
    want = stats.mannwhitneyu(x, y, method="exact")
    assert float(rank_two(x, y).p) == pytest.approx(want.pvalue, abs=1e-9)


@given(SMALL)
@settings(max_examples=25, deadline=None)
def test_jonckheere_against_enumeration(groups):
    assume(sum(map(len, groups)) <= 7)

    def pairs(way):
        return sum(
            2 * (b > a) + (b == a) for i, low in enumerate(way) for high in way[i + 1 :] for a in low for b in high
        )

    seen = pairs(groups)
    found = jonckheere(groups)
    assert found.statistic == Fraction(seen, 2)
    assert found.p == share(groups, lambda way: pairs(way) >= seen)


@given(st.integers(2, 4).flatmap(lambda n: st.lists(st.permutations(range(n)), min_size=2, max_size=5)))
@settings(deadline=None)
def test_page_is_scipys(panels):
    assume(len(panels[0]) > 2)  # scipy asks for three columns
    want = stats.page_trend_test(panels, method="exact")
    assert float(page(panels).p) == pytest.approx(want.pvalue, abs=1e-9)


# --- laws -----------------------------------------------------------------------------------------------------


@given(LARGER, st.randoms(use_true_random=False))
@settings(max_examples=40, deadline=None)
def test_neither_the_order_of_systems_nor_the_size_of_steps_matters(groups, random):
    found, table = rank_test(groups), fisher_freeman_halton_of(groups)
    mixed = [random.sample(group, len(group)) for group in random.sample(groups, len(groups))]
    assert rank_test(mixed) == found
    assert fisher_freeman_halton_of(mixed) == table
    stretched = [[2**v - 40 for v in group] for group in groups]
    assert rank_test(stretched) == found
    assert fisher_freeman_halton_of(stretched) == table
    assert jonckheere(stretched) == jonckheere(groups)
    turned = [[-v for v in group] for group in groups]
    assert rank_test(turned) == found, "ISO 2409 counts down, and that alone changes nothing"


@given(LARGER)
@settings(deadline=None)
def test_no_p_is_below_the_smallest(groups):
    sizes = [len(group) for group in groups]
    assert smallest_p(sizes) <= rank_test(groups).p <= 1
    assert 0 < fisher_freeman_halton_of(groups).p <= 1
    assert 0 < jonckheere(groups).p <= 1


@given(st.lists(st.integers(1, 4), min_size=2, max_size=4))
@settings(deadline=None)
def test_the_smallest_is_reached_where_nothing_overlaps(sizes):
    assert rank_test([[i] * n for i, n in enumerate(sizes)]).p <= max(smallest_p(sizes), Fraction(2, 1 + len(sizes)))
    if len(sizes) > 2:
        assert rank_test([[i] * n for i, n in enumerate(sizes)]).p >= smallest_p(sizes)


@pytest.mark.parametrize("sizes", [(2, 2), (3, 4), (1, 5), (2, 2, 2), (3, 3, 3), (1, 2, 3), (2, 2, 3), (2, 2, 2, 2)])
def test_the_smallest_p_can_be_reached(sizes):
    """Some order of systems that don't overlap at all gets there: for two of them both do."""
    best = min(rank_test([[place] * n for place, n in zip(order, sizes, strict=True)]).p
               for order in permutations(range(len(sizes))))  # fmt: skip
    assert best == smallest_p(sizes)


def test_alike_is_one():
    assert rank_test([[5, 5], [5], [5, 5, 5]]).p == 1
    assert rank_test([[5, 5], [5]]).p == 1
    assert fisher_freeman_halton_of([[5, 5], [5]]).p == 1


def test_twelve_strips_of_six_systems_and_sixteen_of_four():
    assert rank_test([[i, i + 6] for i in range(6)]).p < 1
    assert rank_test([[5, 5, 4, 5], [4, 3, 4, 4], [3, 2, 3, 2], [0, 1, 0, 2]]).p < Fraction(1, 1000)
    assert rank_test([[5], [4], [3], [2], [1], [0]]).p == 1


def test_too_many_is_told_and_never_estimated():
    groups = [list(range(i, 300, 10)) for i in range(10)]
    for test in (rank_test, jonckheere, lambda g: fisher_freeman_halton_of([[v % 40 for v in group] for group in g])):
        with pytest.raises(TooMany, match="too many"):
            test(groups)
    with pytest.raises(TooMany):
        rank_test([[i] for i in range(100)])
    with pytest.raises(TooMany):
        page([list(range(20))])
    with pytest.raises(TooMany):
        rank_test([[1, 2, 3], [4, 5, 6], [7, 8, 9]], most_steps=5)
    assert rank_test([[1, 2, 3], [4, 5, 6], [7, 8, 9]], most_steps=5000).p == smallest_p((3, 3, 3))


@pytest.mark.parametrize("groups", [[], [[1]], [[], []], [[1, 2], []], [[1], [math.nan]], [[1], [math.inf]]])
def test_nothing_to_compare(groups):
    with pytest.raises(NotGrades):
        rank_test(groups)


def test_odd_tables():
    for table in ([], [[]], [[0, 0]], [[1, 2], [3]], [[1, -1], [2, 2]]):
        with pytest.raises(NotGrades):
            fisher_freeman_halton(table)
    for panels in ([], [[1]], [[1, 2], [1, 2, 3]]):
        with pytest.raises(NotGrades):
            page(panels)
    assert fisher_freeman_halton([[3, 2], [0, 0]]).p == 1


def test_holm():
    # Holm 1979, step-down by hand: 4 x 0.005, 3 x 0.01, 2 x 0.03, and never below the one before
    ps = [Fraction(10, 1000), Fraction(40, 1000), Fraction(30, 1000), Fraction(5, 1000)]
    assert [float(p) for p in holm(ps)] == pytest.approx([0.03, 0.06, 0.06, 0.02])
    assert holm([]) == ()
    assert holm([Fraction(1, 2)] * 3) == (1, 1, 1)


@given(st.lists(st.fractions(0, 1), max_size=8))
def test_holm_never_flatters(ps):
    adjusted = holm(ps)
    for p, a in zip(ps, adjusted, strict=True):
        assert p <= a <= min(1, p * len(ps)) or a == max(x for q, x in zip(ps, adjusted, strict=True) if q <= p)
    by_p = [a for _, a in sorted(zip(ps, adjusted, strict=True))]
    assert by_p == sorted(by_p)


# --- words ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("p", "text"),
    [
        (Fraction(1), "1.0"), (Fraction(1, 10), "0.10"), (Fraction(2, 70), "0.029"), (Fraction(6, 1680), "0.0036"),
        (Fraction(1, 3), "0.33"), (Fraction(1, 100_000), "less than 0.0001"),
    ],
)  # fmt: skip
def test_p_in_words(p, text):
    assert p_text(p) == text


@pytest.mark.parametrize(
    ("p", "text"),
    [
        (Fraction(1), "all such trials"),
        (Fraction(1, 10), "10 of 100 such trials"),
        (Fraction(2, 70), "about 3 of 100 such trials"),
        (Fraction(1, 100), "1 of 100 such trials"),
        (Fraction(2, 924), "about 2 of 1000 such trials"),
        (Fraction(4, 10_000), "4 of 10 000 such trials"),
        (Fraction(1, 20_000), "fewer than 1 of 10 000 such trials"),
    ],
)
def test_a_p_is_said_as_so_many_of_a_hundred_trials(p, text):
    assert chance_words(p) == text


def test_how_many_strips_before_spraying():
    assert how_many_words(4, 1) == (
        "With one strip of each this shows a difference and proves none.",
        "Four of each can: 16 strips.",
    )
    three = how_many_words(2, 3)
    assert three[0].startswith(
        "Three against three: however clear it looks, chance alone would part them as clearly in at least "
        "10 of 100 such trials (exact p 0.10)"
    )
    assert three[1] == "Four of each can: 8 strips."
    four = " ".join(how_many_words(4, 4))
    assert "0.029" in four
    assert "about 3 of 100 such trials" in four
    assert "Who looks at six pairs may find one of them clear by luck; it takes five of each, 20 strips" in four
    for systems in (2, 3, 12):
        for each in (0, 1, 2, 3, 4, 7):
            assert all(line[0].isupper() and line.endswith(".") for line in how_many_words(systems, each))
