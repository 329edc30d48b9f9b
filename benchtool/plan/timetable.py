"""A whole plan from pieces placed one after another: in what form each can be done, what it costs, and how it reads.

A piece is placed as a whole, at the earliest place that keeps every closing window (see `placing`): where a window
would close unused, the work before it is put off. A remedy is done where no place works without one.
"""

import heapq
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import combinations

from benchtool.plan.faults import faults
from benchtool.plan.freetime import NEVER, Free, down, instant, up
from benchtool.plan.hours import ShopHours
from benchtool.plan.lines import Ask, Line, line_of
from benchtool.plan.placing import Stuck, place
from benchtool.plan.whynot import because, crowded, lacking
from benchtool.plan.work import By, CantFit, Chain, Cost, Link, Placed, Room, Timetable, Waiting
from benchtool.trade.windows import FOR_GOOD

__all__ = ["HORIZON", "Case", "Laid", "as_they_came", "cost_of", "faults", "place_chain", "timetable_of"]

HORIZON = timedelta(days=21)
"""So far ahead a plan looks."""

MOST_FORMS = 256
"""So many choices of remedies are tried for one piece; with more than that many it takes them one by one."""

ASKED_IS_WORTH = 8
"""Asking when a wait ends in the air that is expected takes about as long as placing so many tasks."""

Laid = Mapping[int, tuple[Line, Sequence[int]]]
"""Where the tasks of each piece lie, by its number: the form it took, and when each task starts (s)."""


@dataclass(frozen=True, slots=True)
class Alone:
    """A piece alone in the shop: the least it misses, its lateness and its end (s), each the best of its forms."""

    missed: int
    late: int
    end: int


class Case:
    """All that a plan is made from, and what can be said of each piece before any order is tried."""

    def __init__(
        self, chains: Sequence[Chain], room: Room, hours: ShopHours, now: datetime, until: datetime | None = None
    ) -> None:
        self.chains = tuple(chains)
        self.room, self.hours, self.now = room, hours, now
        self.until = until if until is not None else now + HORIZON
        self.start = up(now)
        self.empty = Free.of(room, hours, now, self.until)
        self.asks: list[Ask] = []
        plain = [self._line(c, frozenset()) for c in range(len(self.chains))]
        for line in plain:
            for k, at in enumerate(line.begun):
                if at is not None:
                    self.empty.enter(line, k, at)
        self._forms: list[list[Line]] = []
        self._more: dict[int, list[Line]] = {}
        self.alone: list[Alone | None] = []
        self.cant: dict[int, CantFit] = {}
        for c, line in enumerate(plain):
            self._try_alone(c, line)

    @property
    def used(self) -> int:
        """How much was done so far, in placed tasks."""
        return self.empty.tally[0] + ASKED_IS_WORTH * sum(ask.asked for ask in self.asks)

    @property
    def doable(self) -> list[int]:
        """The numbers of the pieces that can be done at all."""
        return [c for c in range(len(self.chains)) if c not in self.cant]

    def forms(self, c: int) -> Iterator[Line]:
        """Give the forms a piece can take, those that miss least first: more are needed only beside other work."""
        yield from self._forms[c]
        if c not in self._more:
            least = self._forms[c][0].remedied if self._forms[c] else frozenset()
            open_links = [n for n in _remediable(self.chains[c]) if n not in least]
            sets = [least | {n} for n in open_links]
            if len(open_links) > 1:
                sets.append(least | frozenset(open_links))
            known = {line.remedied for line in self._forms[c]}
            self._more[c] = [self._line(c, s) for s in sets if s not in known]
        yield from self._more[c]

    def late(self, line: Line, starts: Sequence[int]) -> int:
        """Give by how much a piece is done after it was promised (s). A wait that never ends counts to the horizon."""
        if line.chain.promised is None:
            return 0
        done = line.done(starts)
        return max(0, (done if done < NEVER else down(self.until)) - down(line.chain.promised))

    def _line(self, c: int, remedied: frozenset[int]) -> Line:
        line = line_of(self.chains[c], self.now, remedied)
        self.asks += [ask for asks in line.asks for _, ask, _ in asks]
        self.asks += [ask for _, _, ask in line.tails if ask is not None]
        return line

    def _try_alone(self, c: int, plain: Line) -> None:
        chain = self.chains[c]
        found: list[tuple[Line, list[int]]] = []
        words = lacking(chain, self.room)
        try:
            if words is None:
                found.append((plain, place(plain, self.empty)))
        except Stuck as stuck:
            found = self._remedied(c, stuck)
            if not found:
                words = because(chain, *self._last_stuck(c, stuck, plain), self.room, self.hours, self.now, self.until)
        if words is not None:
            self.cant[c] = CantFit(job=chain.job, piece=chain.piece, piece_name=chain.piece_name, because=words)
        found.sort(key=lambda form: (self.late(*form), form[0].end(form[1])))
        self._forms.append([line for line, _ in found])
        self.alone.append(
            Alone(found[0][0].missed, self.late(*found[0]), min(line.end(starts) for line, starts in found))
            if found
            else None
        )

    def _last_stuck(self, c: int, stuck: Stuck, line: Line) -> tuple[Stuck, Line]:
        """Give what is still in the way once each window that was is remedied: that one is the reason."""
        links = self.chains[c].links
        able = _remediable(self.chains[c])
        while True:
            number = next((n for n in able if links[n] is stuck.link and n not in line.remedied), None)
            if number is None:
                return stuck, line
            line = self._line(c, line.remedied | {number})
            try:
                place(line, self.empty)
            except Stuck as again:
                stuck = again
            else:
                return stuck, line

    def _remedied(self, c: int, stuck: Stuck) -> list[tuple[Line, list[int]]]:
        """Give the forms with the fewest remedies that can be done."""
        able = _remediable(self.chains[c])
        if 2 ** len(able) > MOST_FORMS:
            return self._one_by_one(c, able, stuck)
        for count in range(1, len(able) + 1):
            found = []
            for some in combinations(able, count):
                line = self._line(c, frozenset(some))
                try:
                    found.append((line, place(line, self.empty)))
                except Stuck:
                    continue
            if found:
                return found
        return []

    def _one_by_one(self, c: int, able: Sequence[int], stuck: Stuck) -> list[tuple[Line, list[int]]]:
        """Take remedies one after another, the last one before where it is stuck that takes it further."""
        taken: frozenset[int] = frozenset()
        reached = _reached(self._line(c, taken), stuck)
        while True:
            for number in reversed([n for n in able if n not in taken]):
                line = self._line(c, taken | {number})
                try:
                    return [(line, place(line, self.empty))]
                except Stuck as again:
                    if _reached(line, again) > reached:
                        taken, reached = line.remedied, _reached(line, again)
                        break
            else:
                return []


def _remediable(chain: Chain) -> list[int]:
    """Give the links of a chain that have a remedy."""
    return [n for n, link in enumerate(chain.links) if link.remedy is not None and link.then is not None]


def _reached(line: Line, stuck: Stuck) -> int:
    """Give how many tasks of the chain itself come before where it is stuck."""
    return sum(1 for k in line.at if k < stuck.task)


# --- placing whole pieces ------------------------------------------------------------------------------


def place_chain(case: Case, c: int, free: Free) -> tuple[Line, list[int]] | None:
    """Give the form with the fewest misses in which a piece has a place, and its earliest place; None for none."""
    for line in case.forms(c):
        try:
            return line, place(line, free)
        except Stuck:
            continue
    return None


def as_they_came(case: Case) -> dict[int, tuple[Line, Sequence[int]]]:
    """Place the pieces in the order in which they came in, each as early as it can be."""
    free = case.empty.copy()
    laid: dict[int, tuple[Line, Sequence[int]]] = {}
    for c in case.doable:
        found = place_chain(case, c, free)
        if found is not None:
            laid[c] = found
            free.add(*found)
    return laid


def cost_of(case: Case, laid: Laid) -> Cost:
    """Give what a plan costs."""
    ends = [line.end(starts) for line, starts in laid.values() if starts]
    ahead = (instant(case.start) - case.now).total_seconds()
    return Cost(
        left_out=len(case.chains) - len(laid),
        missed=sum(line.missed for line, _ in laid.values()),
        late_s=float(sum(case.late(line, starts) for line, starts in laid.values())),
        last_s=max((end - case.start + ahead for end in ends), default=0.0),
        sum_s=sum(end - case.start + ahead for end in ends),
    )


# --- as it reads -----------------------------------------------------------------------------------------


def timetable_of(case: Case, laid: Laid, *, by: By, simple: Cost, proved: bool = False) -> Timetable:
    """Write a plan out: who does what when, and every wait."""
    slots, waits = [], []
    for c, chain in enumerate(case.chains):
        if c in laid:
            line, starts = laid[c]
            slots += [(line, k, start) for k, start in enumerate(starts)]
            waits += [_waiting(case, line, starts, number) for number in range(len(chain.links))]
        else:
            line = line_of(chain, case.now)
            slots += [(line, k, at) for k, at in enumerate(line.begun) if at is not None]
    first = {c: starts[0] for c, (_, starts) in laid.items() if starts}
    order = sorted(first, key=lambda c: (first[c], c))
    return Timetable(
        begins_at=case.now,
        until=case.until,
        placed=_dealt(case, slots),
        waits=tuple(sorted(waits, key=lambda w: (w.from_at, w.opens_at))),
        cant=tuple(_left_out(case, c) for c in range(len(case.chains)) if c not in laid),
        cost=cost_of(case, laid),
        simple=simple,
        by=by,
        proved=proved,
        order=tuple((case.chains[c].job, case.chains[c].piece) for c in order),
    )


def _left_out(case: Case, c: int) -> CantFit:
    if c in case.cant:
        return case.cant[c]
    chain = case.chains[c]
    words = crowded(chain, case.hours, case.until)
    return CantFit(job=chain.job, piece=chain.piece, piece_name=chain.piece_name, because=words)


def _dealt(case: Case, slots: Sequence[tuple[Line, int, int]]) -> tuple[Placed, ...]:
    """Deal the hands, booths and guns out in order of time: the lowest number that is free."""
    hands = _Numbers(case.room.hands)
    booths = _Numbers(case.room.booths)
    guns = {gun: _Numbers(count) for gun, count in case.room.guns.items()}
    placed = []
    for line, k, start in sorted(slots, key=lambda s: (s[2], s[2] + s[0].lengths[s[1]])):
        task, end = line.tasks[k], start + line.lengths[k]
        starts_at, ends_at = instant(start), instant(end)
        if task.began_at is not None:
            starts_at = task.began_at
            ends_at = max(starts_at + timedelta(seconds=task.takes_s), case.now)
        placed.append(
            Placed(
                task=task,
                starts_at=starts_at,
                ends_at=ends_at,
                hand=hands.take(start, end),
                booth=booths.take(start, end) if task.booth else None,
                gun_number=guns.setdefault(task.gun, _Numbers(1)).take(start, end) if task.gun is not None else None,
            )
        )
    return tuple(placed)


class _Numbers:
    """So many of one thing, dealt out in order of time."""

    def __init__(self, count: int) -> None:
        self.free = list(range(max(1, count)))
        self.busy: list[tuple[int, int]] = []

    def take(self, start: int, end: int) -> int:
        while self.busy and self.busy[0][0] <= start:
            heapq.heappush(self.free, heapq.heappop(self.busy)[1])
        if not self.free:  # more was begun at once than there is: two share one
            other, number = heapq.heappop(self.busy)
            heapq.heappush(self.busy, (max(other, end), number))
            return number
        number = heapq.heappop(self.free)
        heapq.heappush(self.busy, (end, number))
        return number


def _waiting(case: Case, line: Line, starts: Sequence[int], number: int) -> Waiting:
    chain, link = line.chain, line.chain.links[number]
    since = _from(case, line, starts, link)
    of = link.first if link.first is not None else link.then
    return Waiting(
        job=chain.job,
        piece=chain.piece,
        layer=None if of is None else chain.tasks[of].layer,
        kind=link.kind,
        words=link.words,
        from_at=since,
        opens_at=min(link.opens(since), FOR_GOOD),
        closes_at=link.closes(since),
        missed=number in line.remedied,
    )


def _from(case: Case, line: Line, starts: Sequence[int], link: Link) -> datetime:
    if link.first is None:
        return link.since if link.since is not None else case.now
    k = line.at[link.first]
    task = line.tasks[k]
    if task.began_at is not None:
        began = task.began_at
        return began if link.from_start else max(began + timedelta(seconds=task.takes_s), case.now)
    return instant(starts[k] + (0 if link.from_start else line.lengths[k]))
