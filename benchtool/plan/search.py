"""The search for a good plan: in which order the pieces, and the layers of each, take their places.

Method. A plan is a list of turns: at each the next layers of one piece are placed, at the earliest place that keeps
every window beside what lies there (`placing`: exact for one piece), and where a window can't be kept from there on,
all of that piece is placed anew. First the pieces are taken as they came in; that is what every other plan must beat.
Up to `FEW` pieces every order of them is tried. Then turns are moved about (a piece to another place in the order, one
of its layers earlier or later), and what costs no more is kept; at the end each piece is taken out once more and put
back as early as the rest lets it.

Why. That is a serial schedule-generation scheme with local search, as texts on project scheduling with minimum and
maximum time lags have it (from memory): the problem is NP-hard, and a painter who waits wants a plan in seconds. It
is deterministic, needs nothing that is not in Python, and is never worse than first come, first served, for that is
among what it compares. It proves the best plan only where each piece is as early as it would be alone (`proved`). For
a proof in other cases there is `solver`.
"""

from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import permutations

from benchtool.plan.freetime import Free
from benchtool.plan.hours import ShopHours
from benchtool.plan.lines import Line
from benchtool.plan.placing import Stuck, place
from benchtool.plan.searchcost import Score, Tally, is_best, score_of, tightened
from benchtool.plan.timetable import Case, Laid, as_they_came, cost_of, place_chain, timetable_of
from benchtool.plan.work import By, Chain, Room, Timetable

FEW = 5
"""Up to so many pieces every order is tried (120)."""

EFFORT = 200_000
"""So many tasks are placed at most, over all tries: 1 to 2 s, however many pieces there are."""

MOST_A_TASK = 1_500
"""A small plan gets less: so many for each task there is."""

PATIENCE = 20
"""After so many tries for each turn without a gain a round ends."""

ROUNDS, KICK = 6, 3
"""So many more rounds begin from the best plan, each second one with tasks for turns instead of layers, and the later
ones after some changes that were kept whatever they cost."""

GoOn = Callable[[float], bool]


def plan(
    chains: Sequence[Chain],
    room: Room,
    hours: ShopHours,
    now: datetime,
    *,
    until: datetime | None = None,
    go_on: GoOn = lambda _share: True,
    effort: int = EFFORT,
) -> Timetable:
    """Plan the work of all pieces, never worse than as they came in; without `until`, 21 days ahead.

    `go_on` is told often how much is done (0 to 1) and stops the search by False: then the best so far is the answer.
    The same input gives the same plan: `effort` counts placed tasks, not time.
    """
    case = Case(chains, room, hours, now, until)
    first = as_they_came(case)
    simple = cost_of(case, first)
    laid, by = improved(case, first, go_on, effort)
    return timetable_of(case, laid, by=by, simple=simple, proved=is_best(case, laid))


def improved(case: Case, first: Laid, go_on: GoOn, effort: int = EFFORT) -> tuple[Laid, By]:
    """Search for a better plan than `first`; give the best, and how it was found."""
    best = _Search(case, first, go_on, effort).run()
    better = cost_of(case, best) < cost_of(case, first)
    return (best, By.SEARCH) if better else (first, By.AS_THEY_CAME)


class _Dice:
    """Chance that falls the same each time: a linear congruential generator (Knuth's MMIX constants)."""

    def __init__(self, seed: int = 1) -> None:
        self._state = seed

    def below(self, n: int) -> int:
        """Give one of 0 to n - 1."""
        self._state = (self._state * 6364136223846793005 + 1442695040888963407) % 2**64
        return (self._state >> 33) % n


@dataclass(slots=True)
class _Stand:
    """How far a plan is made after some of the turns. A piece that found no place is None in `where`."""

    free: Free
    where: list[tuple[Line, list[int]] | None]
    tally: Tally

    def copy(self) -> "_Stand":
        return _Stand(self.free.copy(), self.where[:], self.tally.copy())


class _Search:
    def __init__(self, case: Case, first: Laid, go_on: GoOn, effort: int) -> None:
        self.case, self.go_on = case, go_on
        self.begun = case.used
        self.effort = max(1, min(effort, MOST_A_TASK * sum(len(chain.tasks) for chain in case.chains)))
        self.best: Laid = dict(first)
        self.score = score_of(case, first)
        self.least = Tally.of(case).score
        self.stopped = not go_on(0.0)
        self.ends: dict[int, list[int]] = {}
        self.turns: dict[int, int] = {}
        self._cut(fine=False)
        self.dice = _Dice()

    def run(self) -> Laid:
        """Try orders of the pieces, then turns within them; give the best plan found."""
        came = [c for c in self.case.doable if self.turns[c]]
        if len(came) < 2 or self.done():
            return self.best
        base, stands, score = self._first_orders(came)
        for start in (base, self._by_time()):
            if start != base or not stands:
                tried = self._try(start, [self._nothing()], 0, None)
                if tried is None or tried[1] > score:
                    continue
                base, (stands, score) = start, tried
        self._move_about(base, stands, score)
        for again in range(ROUNDS):
            if self.done():
                break
            self._keep(tightened(self.case, self.best))
            self._cut(fine=not again % 2)
            start = self._by_time()
            for _ in range(again // 2 * KICK):
                start = self._changed(start, stands[-1])
            tried = self._try(start, [self._nothing()], 0, None)
            if tried is not None:
                stands, score = tried
                self._move_about(start, stands, score)
        self._keep(tightened(self.case, self.best))
        if not self.stopped:
            self.go_on(1.0)
        return self.best

    def done(self) -> bool:
        """Say whether to stop: told to, used up, or no plan can be better."""
        share = (self.case.used - self.begun) / self.effort
        self.stopped = self.stopped or not self.go_on(min(1.0, max(0.0, share)))
        return self.stopped or share >= 1 or self.score <= self.least

    # --- one plan ------------------------------------------------------------------------------------

    def _cut(self, *, fine: bool) -> None:
        """Make a turn of each layer of a piece, or of each task."""
        for c in self.case.doable:
            line = self._form(c)
            n = len(line.tasks)
            self.ends[c] = list(range(1, n + 1)) if fine else [*line.starts_layer[1:], *([n] if n else [])]
            self.turns[c] = len(self.ends[c])

    def _form(self, c: int) -> Line:
        return next(self.case.forms(c))

    def _nothing(self) -> _Stand:
        where: list[tuple[Line, list[int]] | None] = [None] * len(self.case.chains)
        for c in self.case.doable:
            where[c] = (self._form(c), [])
        return _Stand(self.case.empty.copy(), where, Tally.of(self.case))

    def _try(
        self, turns: Sequence[int], stands: Sequence[_Stand], same: int, limit: Score | None
    ) -> tuple[list[_Stand], Score] | None:
        """Make a plan by these turns, the first `same` of them as in `stands`; None as soon as it is above `limit`.

        `stands[n]` is how it stands after n turns.
        """
        kept = list(stands[: same + 1])
        at = same
        while at < len(turns):
            c = turns[at]
            upto = at + 1
            while upto < len(turns) and turns[upto] == c:
                upto += 1
            stand = kept[-1].copy()
            self._turn(stand, c, upto - at)
            if limit is not None and stand.tally.score > limit:
                return None
            kept += [kept[-1]] * (upto - at - 1)  # within a run of turns it stands as before it
            kept.append(stand)
            at = upto
        score = kept[-1].tally.score
        self._note(kept[-1], score)
        return kept, score

    def _turn(self, stand: _Stand, c: int, count: int) -> None:
        """Place the next `count` turns of a piece."""
        now = stand.where[c]
        if now is None:
            return
        line, starts = now
        if len(starts) == len(line.tasks):
            return
        ends = self.ends[c]
        upto = ends[min(len(ends), bisect_right(ends, len(starts)) + count) - 1]
        try:
            more = place(line, stand.free, starts, upto)
            stand.free.add(line, more, len(starts))
        except Stuck:
            stand.free.take(line, starts)
            anew = self._anew(stand.free, c, line, upto)
            if anew is None:
                stand.where[c] = None
                stand.tally.lost(c)
                return
            line, more = anew
            stand.free.add(line, more)
        stand.where[c] = (line, more)
        stand.tally.placed(self.case, c, line, more)

    def _anew(self, free: Free, c: int, line: Line, upto: int) -> tuple[Line, list[int]] | None:
        try:
            return line, place(line, free, (), upto)
        except Stuck:
            return place_chain(self.case, c, free)

    def _note(self, stand: _Stand, score: Score) -> None:
        if score < self.score:
            self.score = score
            self.best = {c: found for c, found in enumerate(stand.where) if found is not None}

    def _keep(self, laid: Laid) -> None:
        score = score_of(self.case, laid)
        if score < self.score:
            self.score, self.best = score, dict(laid)

    # --- which plans -----------------------------------------------------------------------------------

    def _first_orders(self, came: list[int]) -> tuple[list[int], list[_Stand], Score]:
        """Try whole orders: all of a few pieces, else some that stand to reason; give the best."""
        orders: Iterator[Sequence[int]] = permutations(came) if len(came) <= FEW else iter(self._reasonable(came))
        turns = self._whole(came)
        best = turns, [self._nothing()], self.score
        found = False
        limit: Score | None = None
        for order in orders:
            turns = self._whole(order)
            tried = self._try(turns, [self._nothing()], 0, limit)
            if tried is not None and (limit is None or tried[1] < limit):
                best, found = (turns, *tried), True
                limit = tried[1]
            if self.done():
                break
        return best if found else (turns, [], self.score)

    def _whole(self, order: Sequence[int]) -> list[int]:
        return [c for c in order for _ in range(self.turns[c])]

    def _reasonable(self, came: list[int]) -> Iterator[list[int]]:
        """Give orders in which a painter might take the pieces: as they came, the most urgent, the longest first."""
        alone, chains = self.case.alone, self.case.chains

        def closes(c: int) -> int:
            return min(self._form(c).highs, default=0)

        def promised(c: int) -> float:
            by = chains[c].promised
            return by.timestamp() if by is not None else float("inf")

        def end(c: int) -> int:
            found = alone[c]
            return found.end if found is not None else 0

        yield came
        yield sorted(came, key=closes)
        yield sorted(came, key=lambda c: (closes(c), promised(c)))
        yield sorted(came, key=lambda c: (closes(c), promised(c), -end(c)))
        yield sorted(came, key=lambda c: (closes(c), -end(c)))
        yield sorted(came, key=lambda c: (closes(c), end(c)))
        yield sorted(came, key=lambda c: (closes(c), -sum(self._form(c).lengths)))

    def _by_time(self) -> list[int]:
        """Give the turns in the order of time in which the best plan does them."""
        timed = []
        for c, (line, starts) in self.best.items():
            same = line.remedied == self._form(c).remedied
            timed += [(starts[k], c) for k in ([0, *self.ends[c][:-1]] if same and starts else [0] * self.turns[c])]
        lost = [c for c in self.case.doable if c not in self.best for _ in range(self.turns[c])]
        return [c for _, c in sorted(timed)] + lost

    def _move_about(self, base: list[int], stands: list[_Stand], score: Score) -> None:
        """Move turns about as long as it gains, and keep each change that costs no more."""
        idle = 0
        while not self.done() and idle < PATIENCE * len(base):
            turns = self._changed(base, stands[-1])
            same = next((i for i, (a, b) in enumerate(zip(base, turns, strict=True)) if a != b), len(base))
            idle += 1
            if same == len(base):
                continue
            while same and turns[same - 1] in (turns[same], base[same]):
                same -= 1  # a run of turns is placed as one, so it is the same only as a whole
            tried = self._try(turns, stands, same, score)
            if tried is not None:
                if tried[1] < score:
                    idle = 0
                base, (stands, score) = turns, tried

    def _changed(self, base: list[int], stand: _Stand) -> list[int]:
        """Give the turns with one change: a piece or one turn moved, or two pieces in each other's place."""
        dice = self.dice
        turns = base[:]
        kind = dice.below(10)
        c = self._trouble(stand) if dice.below(2) else base[dice.below(len(base))]
        if kind < 4:
            rest = [t for t in turns if t != c]
            at = dice.below(len(rest) + 1)
            return [*rest[:at], *([c] * (len(turns) - len(rest))), *rest[at:]]
        if kind < 6:
            other = base[dice.below(len(base))]
            if self.turns[other] != self.turns[c]:
                first, second = min(base.index(c), base.index(other)), max(base.index(c), base.index(other))
                a, b = base[first], base[second]
                rest = [t for t in turns if t not in (a, b)]
                return [*rest[:first], *([b] * self.turns[b]), *rest[first:], *([a] * self.turns[a])][: len(base)]
            return [other if t == c else c if t == other else t for t in turns]
        mine = [i for i, t in enumerate(base) if t == c]
        taken = turns.pop(mine[dice.below(len(mine))])
        turns.insert(dice.below(len(base)), taken)
        return turns

    def _trouble(self, stand: _Stand) -> int:
        """Give a piece that costs most: left out, late, or the last to end."""
        for c in self.case.doable:
            if stand.where[c] is None:
                return c
        late, ends = stand.tally.late, stand.tally.ends
        return max(self.turns, key=lambda c: (late[c], ends[c]) if self.turns[c] else (-1, -1))
