"""Exact tests for the few grades of a trial: what share of all ways of dealing them out looks at least so different.

Counts are whole numbers and p a fraction, so that a tie at equality is never lost to rounding. Nothing is estimated: an
asymptotic p is below the exact one where it matters most, and a random one changes from run to run. Beyond a bound on
the work `TooMany` is raised. scipy is what the tests hold this against, and is not used here: it costs more at start-up
than all the rest of the bench, and its test of a larger table is a random estimate unless told otherwise.

Grades are ordinal, higher is better. All tests but `mean_difference` go by their order alone.

Sources: R. A. Fisher, The Design of Experiments, 1935; G. H. Freeman and J. H. Halton, Biometrika 38, 1951, 141-149;
W. H. Kruskal and W. A. Wallis, J. Am. Stat. Assoc. 47, 1952, 583-621; H. B. Mann and D. R. Whitney, Ann. Math. Stat.
18, 1947, 50-60; A. R. Jonckheere, Biometrika 41, 1954, 133-145; E. B. Page, J. Am. Stat. Assoc. 58, 1963, 216-230.
"""

import math
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import count, permutations

from benchtool.trade.exactcount import MOST_STEPS, Budget, Deals, Margins, Taken, TooMany, subset_sums
from benchtool.trade.saying import say

__all__ = [
    "Exact",
    "NotGrades",
    "TooMany",
    "TwoSample",
    "fisher_freeman_halton",
    "fisher_freeman_halton_of",
    "holm",
    "jonckheere",
    "mean_difference",
    "page",
    "rank_test",
    "rank_two",
    "smallest_p",
    "strips_for",
    "strips_for_all",
    "strips_for_pairs",
]

Grade = int | float | Fraction
Groups = Sequence[Sequence[Grade]]

MOST_RANKED = 8
"""Columns of `page`; a row of nine can be ranked in 362,880 ways."""


class NotGrades(ValueError):
    """Nothing that a test can be made of; the message is one sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Exact:
    """What an exact test found: its p, its statistic, and how many tables with the same sums there are if counted."""

    p: Fraction
    statistic: Fraction
    tables: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoSample:
    """Two groups: how much higher the first is, and the exact p both ways and each way.

    `p` is twice the smaller of `greater` (the first is better) and `less`, at most 1. With groups of one size, or
    without ties, that is also the share of ways that lie as far from the middle on either side.
    """

    difference: Fraction
    p: Fraction
    greater: Fraction
    less: Fraction


def fisher_freeman_halton(table: Sequence[Sequence[int]], most_steps: int = MOST_STEPS) -> Exact:
    """Test a table of systems by grade classes: the sum of the chances of all tables as rare as this one or rarer.

    With two rows and two columns it is Fisher's exact test, two-sided. The order of the grades is not looked at, so it
    tells less than `rank_test`. The statistic is the probability of the table itself.

    Raises:
        NotGrades: no table of counts.
        TooMany: more work than `most_steps`.
    """
    if len({len(row) for row in table}) != 1 or any(n < 0 for row in table for n in row):
        raise NotGrades(say("A table of counts has rows of one length, and no count below zero."))
    taken = [tuple(row) for row in table if sum(row)]
    margins: Margins = tuple(n for column in zip(*taken, strict=True) if (n := sum(column)))
    if not taken:
        raise NotGrades(say("There are no grades to compare."))
    sizes = [sum(row) for row in taken]
    fixed = math.prod(map(math.factorial, (*sizes, *margins)))
    every = math.factorial(sum(sizes))
    if max(margins) == 1 or max(sizes) == 1:  # all tables are equally rare
        return Exact(p=Fraction(1), statistic=Fraction(fixed, every), tables=every // fixed)
    budget = Budget(most_steps)

    def repeats(taken: Taken, _rest: Margins) -> int:
        return math.prod(math.factorial(t) for _, t in taken)

    # a table is the rarer the larger the product of the factorials of its counts
    seen = math.prod(math.factorial(n) for row in taken for n in row)
    reach, ways = Deals(sizes, repeats, budget, times=True, alike=True).share_at_least(margins, seen)
    tables = Deals(sizes, repeats, budget).tables(margins)
    return Exact(p=Fraction(reach, ways), statistic=Fraction(fixed, every * seen), tables=tables)


def fisher_freeman_halton_of(groups: Groups, most_steps: int = MOST_STEPS) -> Exact:
    """Count the grades of each system into a table and test that.

    Raises:
        NotGrades, TooMany: as `fisher_freeman_halton` and `rank_test`.
    """
    exact = _exact(groups)
    classes = sorted({v for group in exact for v in group})
    return fisher_freeman_halton([[group.count(c) for c in classes] for group in exact], most_steps)


def rank_test(groups: Groups, most_steps: int = MOST_STEPS) -> Exact:
    """Test whether the systems differ, by the ranks of their grades (ties share the middle rank).

    Two systems: the permutation test on rank sums, two-sided as `TwoSample` says; without ties, Mann and Whitney's.
    Three or more: the share of all ways of dealing out the grades in which Kruskal and Wallis' H is at least as large.
    The statistic is H, corrected for ties, in both cases. Systems without a grade are left out.

    Raises:
        NotGrades: fewer than two systems with grades, or a grade that is no number.
        TooMany: more work than `most_steps`.
    """
    exact = [group for group in _exact(groups) if group]
    if len(exact) < 2:
        raise NotGrades(say("It takes two systems with grades to compare them."))
    if len(exact) == 2:
        return Exact(p=rank_two(exact[0], exact[1], most_steps).p, statistic=_h(exact))
    ranks = _doubled_ranks(exact)
    sizes = [len(group) for group in exact]
    classes = sorted(set(ranks.values()))
    margins = tuple(sum(ranks[v] == c for group in exact for v in group) for c in classes)
    common = math.lcm(*sizes)

    def spread(taken: Taken, _rest: Margins) -> int:
        return sum(classes[c] * t for c, t in taken) ** 2 * (common // sum(t for _, t in taken))

    seen = sum(sum(ranks[v] for v in group) ** 2 * (common // len(group)) for group in exact)
    reach, ways = Deals(sizes, spread, Budget(most_steps), alike=True).share_at_least(margins, seen)
    return Exact(p=Fraction(reach, ways), statistic=_h(exact))


def rank_two(x: Sequence[Grade], y: Sequence[Grade], most_steps: int = MOST_STEPS) -> TwoSample:
    """Test two systems by rank sums; `difference` is that of their mean ranks.

    Raises:
        NotGrades, TooMany: as `rank_test`.
    """
    exact = _exact((x, y))
    ranks = _doubled_ranks(exact)
    return _two([ranks[v] for v in exact[0]], [ranks[v] for v in exact[1]], 2, most_steps)


def mean_difference(x: Sequence[Grade], y: Sequence[Grade], most_steps: int = MOST_STEPS) -> TwoSample:
    """Test two groups of figures by the difference of their means, over all ways of splitting them.

    It takes the steps of a scale for equally long, which grades don't promise; `rank_two` does not.

    Raises:
        NotGrades, TooMany: as `rank_test`.
    """
    exact = _exact((x, y))
    scale = math.lcm(*(v.denominator for group in exact for v in group))
    whole = [[int(v * scale) for v in group] for group in exact]
    return _two(whole[0], whole[1], scale, most_steps)


def jonckheere(groups: Groups, most_steps: int = MOST_STEPS) -> Exact:
    """Test whether the systems rise in the order that was predicted before they were sprayed, worst first; one-sided.

    The statistic counts the pairs of strips of two systems that lie in that order, a tie as half of one.

    Raises:
        NotGrades, TooMany: as `rank_test`.
    """
    exact = [group for group in _exact(groups) if group]
    if len(exact) < 2:
        raise NotGrades(say("It takes two systems with grades to compare them."))
    classes = sorted({v for group in exact for v in group})
    table = [tuple(group.count(c) for c in classes) for group in exact]

    def doubled_pairs(taken: Taken, rest: Margins) -> int:
        return sum(t * (rest[c] + 2 * sum(rest[c + 1 :])) for c, t in taken)

    margins = tuple(map(sum, zip(*table, strict=True)))
    seen, left = 0, margins
    for row in table:
        left = tuple(r - t for r, t in zip(left, row, strict=True))
        seen += doubled_pairs(tuple(enumerate(row)), left)
    sizes = [len(group) for group in exact]
    reach, ways = Deals(sizes, doubled_pairs, Budget(most_steps)).share_at_least(margins, seen)
    return Exact(p=Fraction(reach, ways), statistic=Fraction(seen, 2))


def page(panels: Groups) -> Exact:
    """Test whether the systems rise from left to right on every panel, as predicted; one-sided.

    Each row is a panel that carries every system once. The p is Page's own, from panels without ties; with ties on a
    panel it is no longer exact and rather too large, half a step of the statistic being taken as none.

    Raises:
        NotGrades: rows of different lengths, or fewer than two systems.
        TooMany: more than `MOST_RANKED` systems, or too many panels.
    """
    exact = _exact(panels)
    wide = {len(row) for row in exact}
    if len(wide) != 1 or min(wide) < 2:
        raise NotGrades(say("Every panel has to carry the same two systems or more."))
    n = min(wide)
    if n > MOST_RANKED:
        raise TooMany(say("There are too many systems to count every way of ranking them."))
    seen = sum(
        place * ranks[v] for row in exact for ranks in (_doubled_ranks([row]),) for place, v in enumerate(row, 1)
    )
    one = Counter(sum(2 * place * rank for place, rank in enumerate(way, 1)) for way in permutations(range(1, n + 1)))
    budget = Budget(MOST_STEPS)
    every: dict[int, int] = {0: 1}
    for _ in exact:
        budget.spend(len(every) * len(one))
        more: Counter[int] = Counter()
        for total, ways in every.items():
            for value, how_often in one.items():
                more[total + value] += ways * how_often
        every = more
    reach = sum(ways for total, ways in every.items() if total >= seen - seen % 2)
    return Exact(p=Fraction(reach, math.factorial(n) ** len(exact)), statistic=Fraction(seen, 2))


def smallest_p(sizes: Sequence[int]) -> Fraction:
    """Give the smallest p that `rank_test` can ever reach with groups of these sizes, however clear the grades.

    Two groups: 2 over the ways of splitting them (3 against 3: 2/20; 4 against 4: 2/70). More: groups of one size can
    always change places without changing H, and with one grade all its own to each group nothing else reaches it (3 of
    each of three: 6/1680). One strip of each gives 1. Empty groups are left out; of one group alone it is 1.

    Raises:
        NotGrades: a size below zero.
    """
    if any(n < 0 for n in sizes):
        raise NotGrades(say("A system can't have fewer strips than none."))
    held = [n for n in sizes if n]
    if len(held) < 2:
        return Fraction(1)
    ways = math.factorial(sum(held)) // math.prod(map(math.factorial, held))
    if len(held) == 2:
        return min(Fraction(1), Fraction(2, ways))
    return Fraction(math.prod(map(math.factorial, Counter(held).values())), ways)


def strips_for(systems: int, alpha: float = 0.05) -> int:
    """Give how many strips of each it takes before two of the systems can get below `alpha`: four for 0.05.

    Raises:
        NotGrades: fewer than two systems, or an alpha that is no share.
    """
    return _fewest(systems, alpha, lambda n: smallest_p((n, n)))


def strips_for_all(systems: int, alpha: float = 0.05) -> int:
    """Give how many strips of each it takes before the test over all systems together can get below `alpha`.

    Raises:
        NotGrades: as `strips_for`.
    """
    return _fewest(systems, alpha, lambda n: smallest_p((n,) * systems))


def strips_for_pairs(systems: int, alpha: float = 0.05) -> int:
    """Give how many strips of each it takes before one pair can get below `alpha` with all pairs counted in by Holm.

    Raises:
        NotGrades: as `strips_for`.
    """
    return _fewest(systems, alpha, lambda n: smallest_p((n, n)) * math.comb(systems, 2))


def holm(ps: Sequence[Fraction]) -> tuple[Fraction, ...]:
    """Adjust p values that are looked at together, so that any is below a limit by chance no oftener than one alone is.

    Source: S. Holm, Scand. J. Stat. 6, 1979, 65-70.
    """
    adjusted = [Fraction(1)] * len(ps)
    highest = Fraction(0)
    for rank, i in enumerate(sorted(range(len(ps)), key=lambda i: ps[i])):
        highest = adjusted[i] = max(highest, min(Fraction(1), (len(ps) - rank) * ps[i]))
    return tuple(adjusted)


# --- shared ---------------------------------------------------------------------------------------------------


def _fewest(systems: int, alpha: float, smallest: Callable[[int], Fraction]) -> int:
    if systems < 2 or not 0 < alpha <= 1:
        raise NotGrades(say("It takes two systems to compare, and a limit of p between 0 and 1."))
    limit = _fraction(alpha)
    return next(n for n in count(1) if smallest(n) < limit)


def _two(x: Sequence[int], y: Sequence[int], scale: int, most_steps: int) -> TwoSample:
    if not x or not y:
        raise NotGrades(say("It takes two systems with grades to compare them."))
    sums = subset_sums([*x, *y], len(x), Budget(most_steps))
    seen, ways = sum(x), math.comb(len(x) + len(y), len(x))
    greater = Fraction(sum(n for total, n in sums.items() if total >= seen), ways)
    less = Fraction(sum(n for total, n in sums.items() if total <= seen), ways)
    difference = Fraction(sum(x), len(x) * scale) - Fraction(sum(y), len(y) * scale)
    return TwoSample(difference=difference, p=min(Fraction(1), 2 * min(greater, less)), greater=greater, less=less)


def _exact(groups: Groups) -> list[list[Fraction]]:
    """Take figures as they were typed: 0.1 is a tenth, not the binary fraction nearest to it."""
    return [[_fraction(v) for v in group] for group in groups]


def _fraction(value: Grade) -> Fraction:
    if isinstance(value, float):
        if not math.isfinite(value):
            raise NotGrades(say("A grade has to be a number."))
        return Fraction(str(float(value)))
    return Fraction(value)


def _doubled_ranks(groups: Sequence[Sequence[Fraction]]) -> dict[Fraction, int]:
    """Give twice the rank of each grade among all, worst 2; grades that tie share the middle of their ranks."""
    every = sorted(v for group in groups for v in group)
    return {v: bisect_left(every, v) + bisect_right(every, v) + 1 for v in set(every)}


def _h(groups: Sequence[Sequence[Fraction]]) -> Fraction:
    """Give Kruskal and Wallis' H with their correction for ties; 0 where all grades are equal."""
    ranks = _doubled_ranks(groups)
    n = sum(map(len, groups))
    tied = Counter(v for group in groups for v in group)
    correction = 1 - Fraction(sum(t**3 - t for t in tied.values()), n**3 - n)
    if not correction:
        return Fraction(0)
    squares = sum(Fraction(sum(ranks[v] for v in group) ** 2, 4 * len(group)) for group in groups)
    return (Fraction(12, n * (n + 1)) * squares - 3 * (n + 1)) / correction
