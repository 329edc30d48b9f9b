"""What a trial's grades are made of, and what ranking them finds: systems, tests, pairs, and the words for them."""

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

Score = int | float | Fraction


def at_least(x: Sequence[Score], y: Sequence[Score]) -> bool:
    """Say whether for every grade at least as large a share of `x` as of `y` reaches it; both hold one at least."""
    a, b = sorted(x), sorted(y)
    return all(bisect_left(a, g) * len(b) <= bisect_left(b, g) * len(a) for g in {*a, *b})


@dataclass(frozen=True, slots=True)
class System:
    """One candidate of a trial; the control is the one with no promoter."""

    name: str
    control: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Graded:
    """The grades of one test, aged or not: for each system the scores of its strips, higher is better.

    `tape` says that a tape was pulled; `held_from` is the least score that counts as held, None where none is agreed.
    """

    label: str
    scores: Mapping[str, Sequence[Score]]
    tape: bool = False
    held_from: Score | None = None

    def of(self, name: str) -> tuple[Score, ...]:
        """Give the scores of a system, none if it was not graded."""
        return tuple(self.scores.get(name, ()))


class Relation(StrEnum):
    """How one system stands to another over all tests."""

    BETTER = "better"
    WORSE = "worse"
    SAME = "same"
    CROSSED = "each better somewhere"
    MISSING = "a test is missing"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """The strips of one system in one test: as graded, their lower median and the worst; None without a strip."""

    system: str
    label: str
    scores: tuple[Score, ...]
    median: Score | None
    lowest: Score | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """How `first` stands to `second`, and by which tests."""

    first: str
    second: str
    relation: Relation
    better_on: tuple[str, ...] = ()
    worse_on: tuple[str, ...] = ()
    crossed_on: tuple[str, ...] = ()
    missing_on: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class TestFound:
    """What one test says over all systems that were graded in it.

    `p` is exact or None, with `why`; `adjusted` is it among all tests that could tell something (Holm), else None.
    `apart` is False where all strips have one grade: the test tells nothing apart. `held` is whether the control held,
    None where that is not known. `control_as_good` is None without a control, else whether it is at least as good as
    every other system in this test.
    """

    __test__ = False  # no test of pytest's

    label: str
    sizes: tuple[int, ...]
    smallest: Fraction
    p: Fraction | None
    adjusted: Fraction | None
    freeman_halton: Fraction | None
    apart: bool
    tape: bool
    held: bool | None
    control_as_good: bool | None
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PairFound:
    """The exact two-sided p of two systems in one test, None if there are too many strips.

    `adjusted` counts in all pairs of all tests that could get below 1 (Holm), for the pair that looks best was picked
    after the fact.
    """

    label: str
    first: str
    second: str
    smallest: Fraction
    p: Fraction | None
    adjusted: Fraction | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranking:
    """What the tests say together; `words` in the order to be read, what is misunderstood worst first.

    `order` are the levels best first, with what can't be placed for want of a test apart in `unplaced`.
    """

    systems: tuple[System, ...]
    cells: tuple[Cell, ...]
    order: tuple[tuple[str, ...], ...]
    unplaced: tuple[str, ...]
    missing: Mapping[str, tuple[str, ...]]
    pairs: tuple[Pair, ...]
    tests: tuple[TestFound, ...]
    pair_tests: tuple[PairFound, ...]
    words: tuple[str, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """All names, best first and what can't be placed last."""
        return (*(name for level in self.order for name in level), *self.unplaced)
