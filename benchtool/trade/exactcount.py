"""Counting, in whole numbers, in how many ways a few grades can be dealt out to a few systems.

Not the ways are gone through but the tables that they make (systems by grades, both sums fixed), each with how often it
occurs, and what is left after a system took its grades is worked out once however it came about. Twelve strips of six
systems can be dealt in 7,484,400 ways and are counted in a few hundredths of a second.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from math import comb, factorial, prod

from benchtool.trade.saying import say

MOST_STEPS = 2_500_000
"""Steps until the counting is given up, some five seconds on a small laptop. Grades of six classes take far fewer."""
MOST_GROUPS = 60
_MOVE_STEPS = 4
"""What it costs to make a move, in steps of going over one again."""

Margins = tuple[int, ...]
"""How many of each grade, worst grade first."""


class TooMany(ValueError):
    """More than is counted here; the message is a sentence. No estimate takes the place of an exact count."""


class Budget:
    """Steps that may still be spent."""

    def __init__(self, steps: int) -> None:
        self.left = steps

    def spend(self, steps: int = 1) -> None:
        """Take steps off.

        Raises:
            TooMany: none are left.
        """
        self.afford(steps)
        self.left -= steps

    def afford(self, steps: int) -> None:
        """Refuse at once what would take more steps than are left.

        Raises:
            TooMany: it would.
        """
        if steps > self.left:
            raise TooMany(say("There are too many strips to count every way of dealing out their grades."))


@dataclass(frozen=True, slots=True)
class Move:
    """One way in which a system takes its grades: what it adds, what is left, and how often it occurs."""

    value: int
    rest: Margins
    ways: int


Taken = tuple[tuple[int, int], ...]
"""The grades that a system takes: the place of each class and how many of it, where that is more than none."""

Value = Callable[[Taken, Margins], int]
"""What a system adds to the statistic by the grades it takes, and by what is left for those after it."""


@dataclass
class Deals:
    """All ways of dealing grades to systems of fixed sizes, and how many reach a statistic.

    The statistic is the sum of what each system adds, or with `times` the product. With `alike` it does not hang on
    which of several systems of one size took which grades, and those that only change places are counted at once.
    """

    sizes: Sequence[int]
    value: Value
    budget: Budget
    times: bool = False
    alike: bool = False
    _order: tuple[int, ...] = field(init=False)
    _twins: int = field(init=False, default=0)
    _moves: dict[tuple[int, Margins], tuple[Move, ...]] = field(init=False, default_factory=dict)
    _spans: dict[tuple[int, Margins], tuple[int, int]] = field(init=False, default_factory=dict)
    _found: dict[tuple[int, Margins, int], int] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        """Put the sizes into an order in which most can change places: those of the commonest size last."""
        if len(self.sizes) > MOST_GROUPS:
            raise TooMany(say("There are too many systems to count every way of dealing out their grades."))
        self._order = tuple(self.sizes)
        if self.alike:
            common = max(set(self.sizes), key=lambda n: (self.sizes.count(n), n))
            self._order = tuple(sorted(self.sizes, key=lambda n: (n == common, n)))
            self._twins = self._order.count(common)

    def share_at_least(self, margins: Margins, statistic: int) -> tuple[int, int]:
        """Give how many ways reach `statistic`, and how many there are (where twins changed places, counted once)."""
        return self._reach(0, margins, statistic), self._ways(0)

    def tables(self, margins: Margins) -> int:
        """Give how many tables there are with these sums."""
        known: dict[tuple[int, Margins], int] = {}

        def count(i: int, rest: Margins) -> int:
            if i >= len(self._order) - 1:
                return 1
            if (i, rest) not in known:
                total = 0
                for taken in takings(self._order[i], rest):
                    self.budget.spend(2 + len(taken) // 2 + len(rest) // 8)
                    left = list(rest)
                    for c, t in taken:
                        left[c] -= t
                    total += count(i + 1, tuple(left))
                known[i, rest] = total
            return known[i, rest]

        return count(0, margins)

    def _ways(self, i: int) -> int:
        left = self._order[i:]
        return factorial(sum(left)) // prod(map(factorial, left)) // factorial(min(self._twins, len(left)))

    def _is_twin(self, i: int) -> bool:
        return i >= len(self._order) - self._twins

    def _reach(self, i: int, rest: Margins, need: int) -> int:
        """Count the ways from the i-th system on that add at least `need`."""
        low, high = self._span(i, rest)
        if need <= low:
            return self._ways(i)
        if need > high:
            return 0
        key = (i, rest, need)
        found = self._found.get(key)
        if found is None:
            moves = self._moves_of(i, rest)
            self.budget.spend(len(moves))
            found = 0
            for move in moves:
                after = -(-need // move.value) if self.times else need - move.value
                found += move.ways * self._reach(i + 1, move.rest, after)
            self._found[key] = found
        return found

    def _span(self, i: int, rest: Margins) -> tuple[int, int]:
        """Give the least and the most that the systems from the i-th on can add."""
        if i == len(self._order):
            return (1, 1) if self.times else (0, 0)
        span = self._spans.get((i, rest))
        if span is None:
            lows, highs = [], []
            for move in self._moves_of(i, rest):
                low, high = self._span(i + 1, move.rest)
                lows.append(move.value * low if self.times else move.value + low)
                highs.append(move.value * high if self.times else move.value + high)
            span = self._spans[i, rest] = min(lows), max(highs)
        return span

    def _moves_of(self, i: int, rest: Margins) -> tuple[Move, ...]:
        moves = self._moves.get((i, rest))
        if moves is None:
            moves = self._moves[i, rest] = tuple(self._fresh_moves(i, rest))
        return moves

    def _fresh_moves(self, i: int, rest: Margins) -> Iterator[Move]:
        """Of twins that come last, the one that has the first strip left goes first: each way is met once."""
        twin = self._is_twin(i)
        if i == 0:
            self.budget.afford(_MOVE_STEPS * _how_many(self._order[0] - twin, rest, self.budget.left))
        first = next(c for c, n in enumerate(rest) if n)
        for taken in takings(self._order[i], rest, only_first=twin):
            self.budget.spend(_MOVE_STEPS + len(taken) // 2 + len(rest) // 8)
            left = list(rest)
            ways = 1
            for c, t in taken:
                ways *= comb(rest[c] - 1, t - 1) if twin and c == first else comb(rest[c], t)
                left[c] -= t
            after = tuple(left)
            yield Move(self.value(taken, after), after, ways)


def _how_many(size: int, margins: Margins, enough: int) -> int:
    """Count the ways of taking `size` from all but the first class, a floor to the work; stop above `enough`."""
    ways = [1, *(0 for _ in range(size))]
    for n in margins[1:]:
        ways = [sum(ways[max(0, taken - n) : taken + 1]) for taken in range(size + 1)]
        if ways[-1] > enough:
            break
    return ways[-1]


def takings(size: int, margins: Margins, start: int = 0, *, only_first: bool = False) -> Iterator[Taken]:
    """Give each way of taking `size` grades out of `margins`; with `only_first` those with one of the first."""
    room = sum(margins[start:])
    for c in range(start, len(margins)):
        if not margins[c]:
            continue
        if room < size:
            return
        room -= margins[c]
        for t in range(1, min(margins[c], size) + 1):
            if t == size:
                yield ((c, t),)
            else:
                for more in takings(size - t, margins, c + 1):
                    yield ((c, t), *more)
        if only_first:
            return


def subset_sums(values: Sequence[int], size: int, budget: Budget) -> dict[int, int]:
    """Give how many choices of `size` of these values have each sum."""
    by_count: list[dict[int, int]] = [{0: 1}, *({} for _ in range(size))]
    for n, value in enumerate(values):
        for taken in range(min(n + 1, size), 0, -1):
            budget.spend(len(by_count[taken - 1]))
            into = by_count[taken]
            for total, ways in by_count[taken - 1].items():
                into[total + value] = into.get(total + value, 0) + ways
    return by_count[size]
