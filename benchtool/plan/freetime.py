"""What is free in the shop, in whole seconds: its hours, its hands, and what there is fewer of than of hands."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Protocol

from benchtool.job.cards import Gun
from benchtool.plan.hours import ShopHours
from benchtool.plan.work import Room
from benchtool.trade.windows import FOR_GOOD

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
SECOND = timedelta(seconds=1)
FAR_PAST = 0


def down(at: datetime) -> int:
    """Give an instant in whole seconds, the one before."""
    return (at - EPOCH) // SECOND


def up(at: datetime) -> int:
    """Give an instant in whole seconds, the one after."""
    return -((EPOCH - at) // SECOND)


def instant(second: int) -> datetime:
    """Give the instant of a whole second."""
    return EPOCH + second * SECOND


NEVER = up(FOR_GOOD)


class Stretches:
    """Stretches of time that don't touch each other, in order; adding one merges it with what it touches."""

    __slots__ = ("ends", "starts")

    def __init__(self, starts: list[int] | None = None, ends: list[int] | None = None) -> None:
        self.starts = starts if starts is not None else []
        self.ends = ends if ends is not None else []

    def copy(self) -> "Stretches":
        """Give another one that is equal."""
        return Stretches(self.starts[:], self.ends[:])

    def gap(self, start: int, length: int) -> int:
        """Give the first instant from `start` on after which nothing lies for `length`."""
        starts, ends = self.starts, self.ends
        i = bisect_right(ends, start)
        n = len(starts)
        while i < n and starts[i] < start + length:
            if ends[i] > start:
                start = ends[i]
            i += 1
        return start

    def add(self, start: int, end: int) -> None:
        """Add a stretch, whether or not parts of it are there."""
        i = bisect_left(self.ends, start)
        j = bisect_right(self.starts, end)
        if i < j:
            start, end = min(start, self.starts[i]), max(end, self.ends[j - 1])
        self.starts[i:j] = [start]
        self.ends[i:j] = [end]

    def take(self, start: int, end: int) -> None:
        """Take a stretch away, whether or not all of it is there."""
        i = bisect_right(self.ends, start)
        j = bisect_left(self.starts, end)
        if i >= j:
            return
        keep = [(a, b) for a, b in ((self.starts[i], start), (end, self.ends[j - 1])) if a < b]
        self.starts[i:j] = [a for a, _ in keep]
        self.ends[i:j] = [b for _, b in keep]

    def within(self, start: int, end: int) -> list[tuple[int, int]]:
        """Give what lies between two instants, cut off at both."""
        i = bisect_right(self.ends, start)
        j = bisect_left(self.starts, end)
        return [(max(self.starts[k], start), min(self.ends[k], end)) for k in range(i, j)]


class Pool:
    """So many of one thing; `levels[n]` is when more than `n` of them are taken, the last when all are.

    Which one is taken needs no deciding here: where never more than all are taken at once, the stretches can be dealt
    out to single ones afterwards, in order of time.
    """

    __slots__ = ("full", "levels")

    def __init__(self, levels: list[Stretches]) -> None:
        self.levels = levels
        self.full = levels[-1]

    def copy(self) -> "Pool":
        """Give another one that is equal."""
        return Pool([level.copy() for level in self.levels])

    def add(self, start: int, end: int) -> None:
        """Take one."""
        if len(self.levels) == 1:
            self.full.add(start, end)
            return
        pieces = [(start, end)]
        for level in self.levels:
            over = [part for piece in pieces for part in level.within(*piece)]
            for piece in pieces:
                level.add(*piece)
            if not over:
                return
            pieces = over

    def take(self, start: int, end: int) -> None:
        """Give one back that was taken for just this time."""
        pieces = Stretches([start], [end])
        for level in reversed(self.levels):
            for part in [
                p for piece in zip(pieces.starts[:], pieces.ends[:], strict=True) for p in level.within(*piece)
            ]:
                level.take(*part)
                pieces.take(*part)


Need = Gun | str
BOOTH = "booth"


class Work(Protocol):
    """The tasks of a piece, by their places: how long each takes (s), when it was begun, what it needs."""

    lengths: list[int]
    begun: list[int | None]
    needs: list[tuple[Need, ...]]


class Free:
    """What is still free in the shop: its hours, its hands, and what there is fewer of than of hands.

    `tally[0]` counts how many tasks were placed, over all copies.
    """

    __slots__ = ("hands", "others", "tally")

    def __init__(self, hands: Pool, others: dict[Need, Pool], tally: list[int] | None = None) -> None:
        self.hands = hands
        self.others = others
        self.tally = tally if tally is not None else [0]

    @classmethod
    def of(cls, room: Room, hours: ShopHours, now: datetime, until: datetime) -> "Free":
        """Give an empty shop: nothing is free before `now`, after `until` or out of hours."""
        first, last = up(now), down(until)
        shut = Stretches()
        at = FAR_PAST
        for span in hours.spans(now, until):
            opens, closes = max(first, up(span.opens_at)), min(last, down(span.closes_at))
            if opens < closes:
                shut.add(at, opens)
                at = closes
        shut.add(at, NEVER)
        there: list[tuple[Need, int]] = [(BOOTH, room.booths), *room.guns.items()]
        others: dict[Need, Pool] = {
            need: Pool([Stretches() for _ in range(count)]) for need, count in there if 0 < count < room.hands
        }
        return cls(Pool([shut.copy() for _ in range(max(1, room.hands))]), others)

    def copy(self) -> "Free":
        """Give another one that is equal."""
        return Free(self.hands.copy(), {need: pool.copy() for need, pool in self.others.items()}, self.tally)

    def next_fit(self, start: int, length: int, needs: Sequence[Need]) -> int:
        """Give the first instant from `start` on at which all it needs is free for `length`; NEVER if there is none."""
        while True:
            at = hands = self.hands.full.gap(start, length)
            for need in needs:
                pool = self.others.get(need)
                if pool is not None:
                    at = pool.full.gap(at, length)
            if at == hands and (at == start or not needs or not self.others):
                return at
            start = at

    def add(self, work: Work, starts: Sequence[int], first: int = 0) -> None:
        """Enter the tasks of a chain from the one at `first` on; what was begun already is in."""
        for k in range(first, len(starts)):
            if work.begun[k] is None:
                self.enter(work, k, starts[k])

    def enter(self, work: Work, k: int, start: int) -> None:
        """Enter one task."""
        end = start + work.lengths[k]
        if start < end:
            self.hands.add(start, end)
            for need in work.needs[k]:
                if need in self.others:
                    self.others[need].add(start, end)

    def take(self, work: Work, starts: Sequence[int]) -> None:
        """Take the tasks of a chain out again; what was begun already stays."""
        for k, start in enumerate(starts):
            end = start + work.lengths[k]
            if start == end or work.begun[k] is not None:
                continue
            self.hands.take(start, end)
            for need in work.needs[k]:
                if need in self.others:
                    self.others[need].take(start, end)
