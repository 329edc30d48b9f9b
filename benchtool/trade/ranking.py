"""Which system sticks best by all tests together, and what a few strips do and don't prove.

No test is averaged into another. On one test a system is *at least as good* as another where, for every grade, at
least as large a share of its strips reaches it: with as many strips of both, its best strip is no worse than the
other's best, its second no worse than the second, and so on down to the worst. Over all tests it is *better* where it
is at least as good on every one and better on one. Where each is better somewhere, or one was not graded in a test in
which the other was, neither is better, and that is said. Levels follow from this alone: every system of a level is
better than every one below.

Within a level the names stand by their mean ranks, for a list has to have some order; nothing is claimed by it.
"""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import combinations

from benchtool.trade.exact import (
    NotGrades,
    TooMany,
    fisher_freeman_halton_of,
    holm,
    rank_test,
    rank_two,
    smallest_p,
)
from benchtool.trade.exactcount import MOST_STEPS
from benchtool.trade.rankingparts import (
    Cell,
    Graded,
    Pair,
    PairFound,
    Ranking,
    Relation,
    Score,
    System,
    TestFound,
    at_least,
)
from benchtool.trade.rankingwords import told
from benchtool.trade.saying import say

__all__ = [
    "Cell",
    "Graded",
    "Pair",
    "PairFound",
    "Ranking",
    "Relation",
    "System",
    "TestFound",
    "at_least",
    "rank",
]

MOST_SYSTEMS = 60
MOST_TESTS = 60


def rank(systems: Sequence[System], tests: Sequence[Graded], most_steps: int = MOST_STEPS) -> Ranking:
    """Rank the systems by all tests together; `most_steps` bounds the work of all tests, and tenfold that of all pairs.

    Raises:
        NotGrades: two systems or two tests of one name, a name that no system has, or a score that is no number.
    """
    _check(systems, tests)
    names = [s.name for s in systems]
    pairs = tuple(_pair(a, b, tests) for a, b in combinations(names, 2))
    placed, missing = _placed(names, tests)
    found = _tests_found(systems, tests, most_steps)
    ranking = Ranking(
        systems=tuple(systems),
        cells=tuple(_cell(name, test) for test in tests for name in names),
        order=_levels(placed, tests, pairs),
        unplaced=tuple(name for name in names if name not in placed),
        missing=missing,
        pairs=pairs,
        tests=found,
        pair_tests=_pairs_found(names, tests, most_steps),
    )
    return replace(ranking, words=told(ranking))


# --- dominance ------------------------------------------------------------------------------------------------


def _check(systems: Sequence[System], tests: Sequence[Graded]) -> None:
    names = [s.name for s in systems]
    labels = [t.label for t in tests]
    if len(names) > MOST_SYSTEMS or len(labels) > MOST_TESTS:
        raise NotGrades(say("More than {n} systems or tests are no trial that is compared here.", n=MOST_SYSTEMS))
    for kind in (names, labels):
        twice = next((n for n in kind if kind.count(n) > 1), None)
        if twice is not None:
            raise NotGrades(say("“{name}” is there twice: give each a name of its own.", name=twice))
    for test in tests:
        for name, scores in test.scores.items():
            if name not in names:
                raise NotGrades(
                    say("“{name}” is graded in {test} and is no system of this trial.", name=name, test=test.label)
                )
            if any(isinstance(score, float) and not math.isfinite(score) for score in scores):
                raise NotGrades(say("A grade has to be a number."))


def _cell(name: str, test: Graded) -> Cell:
    scores = test.of(name)
    ordered = sorted(scores)
    return Cell(
        system=name,
        label=test.label,
        scores=scores,
        median=ordered[(len(ordered) - 1) // 2] if ordered else None,
        lowest=ordered[0] if ordered else None,
    )


def _pair(first: str, second: str, tests: Sequence[Graded]) -> Pair:
    better: list[str] = []
    worse: list[str] = []
    crossed: list[str] = []
    missing: list[str] = []
    shared = False
    for test in tests:
        x, y = test.of(first), test.of(second)
        if not x or not y:
            missing += [test.label] if x or y else []
            continue
        shared = True
        up, down = at_least(x, y), at_least(y, x)
        if up != down:
            (better if up else worse).append(test.label)
        elif not up:
            crossed.append(test.label)
    if missing or not shared:
        relation = Relation.MISSING
    elif crossed or (better and worse):
        relation = Relation.CROSSED
    else:
        relation = Relation.BETTER if better else Relation.WORSE if worse else Relation.SAME
    return Pair(
        first=first,
        second=second,
        relation=relation,
        better_on=tuple(better),
        worse_on=tuple(worse),
        crossed_on=tuple(crossed),
        missing_on=tuple(missing),
    )


def _placed(names: Sequence[str], tests: Sequence[Graded]) -> tuple[list[str], dict[str, tuple[str, ...]]]:
    """Give the systems that were graded in the same tests, the most there are, and what keeps each other one out.

    The tests of a system that is kept out are those it lacks, or has and the others lack.
    """
    done = {name: tuple(t.label for t in tests if t.of(name)) for name in names}
    kinds = [kind for kind in dict.fromkeys(done.values()) if kind]
    if not kinds:
        return [], {}
    usual = max(kinds, key=lambda kind: (sum(d == kind for d in done.values()), len(kind)))
    apart = {
        name: tuple(t.label for t in tests if (t.label in kind) != (t.label in usual))
        for name, kind in done.items()
        if kind != usual
    }
    return [name for name in names if name not in apart], apart


def _levels(placed: Sequence[str], tests: Sequence[Graded], pairs: Sequence[Pair]) -> tuple[tuple[str, ...], ...]:
    """Cut the list only where every system before is better than every one after."""
    better = {(p.first, p.second) for p in pairs if p.relation is Relation.BETTER}
    better |= {(p.second, p.first) for p in pairs if p.relation is Relation.WORSE}
    every = [[score for name in placed for score in test.of(name)] for test in tests]
    ranks = {
        name: sum(_mean_rank(test.of(name), sorted(all_)) for test, all_ in zip(tests, every, strict=True))
        for name in placed
    }
    listed = sorted(placed, key=lambda name: -ranks[name])
    levels: list[tuple[str, ...]] = []
    start = 0
    for end in range(1, len(listed) + 1):
        if all((a, b) in better for a in listed[:end] for b in listed[end:]):
            levels.append(tuple(listed[start:end]))
            start = end
    return tuple(levels)


def _mean_rank(scores: Sequence[Score], every: Sequence[Score]) -> Fraction:
    if not scores:
        return Fraction(0)
    return Fraction(sum(bisect_left(every, s) + bisect_right(every, s) for s in scores), 2 * len(scores))


# --- tests ----------------------------------------------------------------------------------------------------


def _tests_found(systems: Sequence[System], tests: Sequence[Graded], most_steps: int) -> tuple[TestFound, ...]:
    found = [_test_found(systems, test, most_steps // len(tests)) for test in tests]
    at = [i for i, one in enumerate(found) if one.p is not None and one.smallest < 1 and one.apart]
    for i, adjusted in zip(at, holm([p for i in at if (p := found[i].p) is not None]), strict=True):
        found[i] = replace(found[i], adjusted=adjusted)
    return tuple(found)


def _test_found(systems: Sequence[System], test: Graded, most_steps: int) -> TestFound:
    groups = {s.name: test.of(s.name) for s in systems if test.of(s.name)}
    every = [score for scores in groups.values() for score in scores]
    sizes = tuple(map(len, groups.values()))
    p = table_p = None
    why = ""
    if len(groups) < 2:
        why = say("It takes two systems with grades to compare them.")
    else:
        try:
            p = rank_test(list(groups.values()), most_steps).p
        except TooMany as fault:
            why = str(fault)
        try:
            table_p = fisher_freeman_halton_of(list(groups.values()), most_steps).p
        except TooMany as fault:
            why = why or str(fault)
    return TestFound(
        label=test.label,
        sizes=sizes,
        smallest=smallest_p(sizes),
        p=p,
        adjusted=None,
        freeman_halton=table_p,
        apart=len(set(every)) > 1,
        tape=test.tape,
        held=_control_held(systems, test),
        control_as_good=_control_as_good(systems, groups),
        why=why,
    )


def _control_as_good(systems: Sequence[System], groups: Mapping[str, Sequence[Score]]) -> bool | None:
    controls = [s.name for s in systems if s.control and s.name in groups]
    others = [scores for s in systems if not s.control and (scores := groups.get(s.name))]
    if not controls or not others:
        return None
    return all(at_least(groups[control], scores) for control in controls for scores in others)


def _control_held(systems: Sequence[System], test: Graded) -> bool | None:
    scores = [score for s in systems if s.control for score in test.of(s.name)]
    if test.held_from is None or not scores:
        return None
    return min(scores) >= test.held_from


def _pairs_found(names: Sequence[str], tests: Sequence[Graded], most_steps: int) -> tuple[PairFound, ...]:
    asked = [
        (test, first, second)
        for test in tests
        if len({score for name in names for score in test.of(name)}) > 1
        for first, second in combinations(names, 2)
        if smallest_p((len(test.of(first)), len(test.of(second)))) < 1
    ]
    found = [_pair_found(*one, 10 * most_steps // len(asked)) for one in asked]
    at = [i for i, one in enumerate(found) if one.p is not None]
    for i, adjusted in zip(at, holm([p for i in at if (p := found[i].p) is not None]), strict=True):
        found[i] = replace(found[i], adjusted=adjusted)
    return tuple(found)


def _pair_found(test: Graded, first: str, second: str, most_steps: int) -> PairFound:
    x, y = test.of(first), test.of(second)
    try:
        p = rank_two(x, y, most_steps).p
    except TooMany:
        p = None
    smallest = smallest_p((len(x), len(y)))
    return PairFound(label=test.label, first=first, second=second, smallest=smallest, p=p, adjusted=None)
