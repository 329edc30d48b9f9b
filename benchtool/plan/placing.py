"""The earliest place of a piece beside all other work.

Every condition on a chain says that one task starts no earlier than some time that grows with the start of another: a
wait ("then" after "first"), a closing window read backwards ("first" so late that "then" is still in time), and free
time in the shop (the next gap after a time). Of two ways to meet such conditions, taking the earlier start of each
task meets them as well. So there is one earliest place in which every task starts as early as it can in any, and
raising starts from the bottom until nothing is violated finds it: `place` is exact, not a rule of thumb.
"""

from collections.abc import Sequence

from benchtool.plan.freetime import NEVER, Free
from benchtool.plan.lines import ROUGH_S, Line
from benchtool.plan.work import Link

MOST_ROUNDS = 2_000
STEP_UP_FROM = 200
"""A window that closes almost as it opens could be crept up to by seconds: after so many rounds by minutes."""


class Stuck(Exception):
    """A chain has no place: because of this task, or of this link into it."""

    def __init__(self, task: int, link: Link | None = None) -> None:
        super().__init__(task)
        self.task = task
        self.link = link


def place(
    line: Line,
    free: Free,
    fixed: Sequence[int] = (),
    upto: int | None = None,
    lows: Sequence[int] | None = None,
    highs: Sequence[int] | None = None,
) -> list[int]:
    """Give the earliest starts of the tasks of a chain before `upto`, those of the first ones `fixed`.

    `lows` and `highs` bound the starts, by those of the line without them.

    Raises:
        Stuck: there is no place before the end of the plan, or none that keeps a window.
    """
    low = list(lows if lows is not None else line.lows)
    high = highs if highs is not None else line.highs
    n = len(line.tasks) if upto is None else upto
    starts = [*fixed, *([0] * (n - len(fixed)))]
    lengths, begun = line.lengths, line.begun
    k, rounds, blamed = len(fixed), 0, None
    while k < n:
        free.tally[0] += 1
        at = begun[k]
        if at is None:
            at = low[k]
            if k and starts[k - 1] + lengths[k - 1] > at:
                at = starts[k - 1] + lengths[k - 1]
            for i, lag in line.after[k]:
                if starts[i] + lag > at:
                    at = starts[i] + lag
            for i, ask, _ in line.asks[k]:
                at = max(at, ask.opens(line.base(ask.link, i, starts[i])))
            at = free.next_fit(at, lengths[k], line.needs[k])
            if at > high[k]:
                raise Stuck(k, _running(line, k) or blamed)
            if at >= NEVER:
                raise Stuck(k, blamed)
            low[k] = at
        starts[k] = at
        back = k + 1
        for i, most in line.within[k]:
            if at - most > starts[i]:
                low[i] = max(low[i], at - most)
                back = min(back, i)
        for i, ask, by_end in line.asks[k]:
            base, target = line.base(ask.link, i, starts[i]), at + lengths[k] if by_end else at
            last = ask.last(base)
            if last is not None and last < target:
                low[i] = max(low[i], starts[i] + ask.first_base(target, base) - base)
                back = min(back, i)
        if back > k:
            k += 1
            continue
        rounds += 1
        blamed = _blame(line, k, back) or blamed
        if begun[back] is not None or back < len(fixed) or rounds > MOST_ROUNDS:
            raise Stuck(k, blamed)
        if rounds > STEP_UP_FROM:
            low[back] = max(low[back], starts[back] + ROUGH_S)
        k = back
    return starts


def _blame(line: Line, k: int, first: int) -> Link | None:
    return next((link for i, link in line.blame[k] if i == first), None)


def _running(line: Line, k: int) -> Link | None:
    return next((link for i, link in line.blame[k] if i is None or line.begun[i] is not None), None)
