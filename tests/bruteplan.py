"""The best plan of a few pieces by going through all of them: every start on a grid, every choice of what is left out.

Written from the meaning of a chain, a room and a cost alone; it uses nothing of the planner.
"""

from datetime import timedelta
from itertools import combinations

from benchtool.plan.work import Cost, Work

NONE_YET = (10**9,) * 5


def best_cost(chains, room, openings, now, until, step):
    """Give the least cost. `openings` are pairs of instants; `step` is the grid: `now` and all openings lie on it."""
    run = _Run(room, openings, now, until, step)
    run.go(list(chains), [], (0, 0, 0.0, 0.0, 0.0))
    left, missed, late, last, total = run.best
    return Cost(left_out=left, missed=missed, late_s=late, last_s=last, sum_s=total)


def _forms(chain):
    able = [n for n, link in enumerate(chain.links) if link.remedy is not None]
    for count in range(len(able) + 1):
        yield from combinations(able, count)


def _rows(chain, remedied):
    """Give the tasks in order, each with its number in the chain or the link it mends."""
    rows = []
    for k, task in enumerate(chain.tasks):
        rows.append((task, k, None))
    for n in remedied:
        link = chain.links[n]
        k = next(i for i, row in enumerate(rows) if row[1] == link.then)
        while k and rows[k - 1][0].work in (Work.MIX, Work.REDUCE) and rows[k - 1][0].layer == rows[k][0].layer:
            k -= 1
        rows.insert(k, (link.remedy, None, link))
    return rows


class _Run:
    def __init__(self, room, openings, now, until, step):
        self.room, self.openings, self.now, self.until, self.step = room, openings, now, until, step
        self.best = NONE_YET

    def go(self, chains, busy, cost):
        if cost >= self.best:
            return
        if not chains:
            self.best = cost
            return
        chain, rest = chains[0], chains[1:]
        left, missed, late, last, total = cost
        for form in _forms(chain):
            rows = _rows(chain, form)
            self.place(chain, form, rows, [], rest, busy, (left, missed + len(form), late, last, total))
        self.go(rest, busy, (left + 1, missed, late, last, total))

    def place(self, chain, form, rows, laid, rest, busy, cost):
        left, missed, late, last, total = cost
        if (left, missed) > self.best[:2]:
            return
        if len(laid) == len(rows):
            end = (laid[-1][1] - self.now).total_seconds()
            done = max([laid[-1][1], *(link.opens(self.since(chain, link, rows, laid)) for link in chain.links)])
            if chain.promised is not None:
                late += max(0.0, (done - chain.promised).total_seconds())
            self.go(rest, busy, (left, missed, late, max(last, end), total + end))
            return
        task, number, mends = rows[len(laid)]
        length = timedelta(seconds=task.takes_s)
        start = laid[-1][1] if laid else self.now
        while start + length <= self.until:
            mine = (start, start + length, task)
            if (
                any(a <= start and start + length <= b for a, b in self.openings)
                and self.kept(chain, form, rows, laid, number, mends, start, start + length)
                and self.free(busy, mine)
            ):
                self.place(chain, form, rows, [*laid, mine], rest, [*busy, mine], cost)
            start += self.step

    def since(self, chain, link, rows, laid):
        if link.first is None:
            return link.since
        at = next(i for i, row in enumerate(rows) if row[1] == link.first)
        return laid[at][0 if link.from_start else 1]

    def kept(self, chain, form, rows, laid, number, mends, start, end):
        for n, link in enumerate(chain.links):
            if link.then is None or (link is not mends and link.then != number):
                continue
            since = self.since(chain, link, rows, laid)
            closes = link.closes(since)
            if start < link.opens(since):
                return False
            if link is mends:
                if closes is not None and start < closes:
                    return False
            elif n not in form and closes is not None and (end > closes if link.by_end else start >= closes):
                return False
        return True

    def free(self, busy, mine):
        start, end, task = mine
        for at in [start, *(a for a, _, _ in busy if start < a < end)]:
            others = [t for a, b, t in busy if a <= at < b]
            if len(others) + 1 > self.room.hands:
                return False
            if task.booth and sum(t.booth for t in others) + 1 > self.room.booths:
                return False
            if task.gun and sum(t.gun == task.gun for t in others) + 1 > self.room.guns[task.gun]:
                return False
        return True
