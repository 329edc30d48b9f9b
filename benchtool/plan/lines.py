"""A piece of a plan in whole seconds, with the remedies it takes: what bounds the start of each task."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from benchtool.plan.freetime import BOOTH, FAR_PAST, NEVER, Need, down, instant, up
from benchtool.plan.work import Chain, Link, Task, Work
from benchtool.trade.windows import FOR_GOOD

ROUGH_FROM_S = 3_600
ROUGH_S = 60
"""A wait of an hour and more whose length depends on when it begins is asked for by whole minutes, always the later
one: the answer is never too short, at most a minute longer than need be, and is asked for far less often."""


class Ask:
    """A link whose wait depends on when it begins, asked by whole seconds and remembered."""

    __slots__ = ("_closed", "_opened", "asked", "link")

    def __init__(self, link: Link) -> None:
        self.link = link
        self.asked = 0
        self._opened: dict[int, int] = {}
        self._closed: dict[int, int | None] = {}

    def opens(self, base: int) -> int:
        """Give the first second at which it is open, after a task that ended (or began) at `base`."""
        got = self._opened.get(base)
        if got is None:
            rough = -(-base // ROUGH_S) * ROUGH_S
            got = self._opened.get(rough)
            if got is None:
                got = self._ask(rough)
            if rough != base and got - rough < ROUGH_FROM_S:
                got = self._ask(base)
            self._opened[base] = got
        return got

    def _ask(self, base: int) -> int:
        self.asked += 1
        opens = self.link.opens(instant(base))
        self._opened[base] = got = NEVER if opens >= FOR_GOOD else up(opens)
        return got

    def last(self, base: int) -> int | None:
        """Give the last second at which what follows may start (or end, by `by_end`); None for never too late."""
        if base not in self._closed:
            self.asked += 1
            self._closed[base] = last_of(self.link, self.link.closes(instant(base)))
        return self._closed[base]

    def first_base(self, target: int, low: int) -> int:
        """Give the first `base` from `low` on after which `target` is not too late."""
        high = max(low, target)
        while low < high:
            middle = (low + high) // 2
            last = self.last(middle)
            if last is None or last >= target:
                high = middle
            else:
                low = middle + 1
        return low


def last_of(link: Link, closes: datetime | None) -> int | None:
    """Give the last whole second that keeps a deadline: the instant it closes is too late to start, not to end."""
    if closes is None or closes >= FOR_GOOD:
        return None
    return down(closes) if link.by_end else up(closes) - 1


@dataclass(slots=True)
class Line:
    """A chain with the remedies it takes, in whole seconds; all is said of the starts of its tasks.

    `after[k]` holds (i, d): task k starts d or more after i starts. `within[k]`: at most d after. `asks` the same where
    the wait depends on its beginning. `lows`, `highs`: the first and the last start by what runs already.
    """

    chain: Chain
    remedied: frozenset[int]
    tasks: list[Task]
    at: list[int]
    lengths: list[int]
    begun: list[int | None]
    needs: list[tuple[Need, ...]]
    after: list[list[tuple[int, int]]]
    within: list[list[tuple[int, int]]]
    asks: list[list[tuple[int, Ask, bool]]]
    lows: list[int]
    highs: list[int]
    tails: list[tuple[int | None, int, Ask | None]]
    blame: list[list[tuple[int | None, Link]]]
    starts_layer: list[int] = field(default_factory=list)

    @property
    def missed(self) -> int:
        """How many windows it misses."""
        return len(self.remedied)

    def base(self, link: Link, i: int, start: int) -> int:
        """Give from when a link counts where its first task starts at `start`."""
        return start if link.from_start else start + self.lengths[i]

    def end(self, starts: Sequence[int]) -> int:
        """Give when the last work ends."""
        return starts[-1] + self.lengths[-1] if starts else FAR_PAST

    def done(self, starts: Sequence[int]) -> int:
        """Give when the work and every wait that nothing follows is over; NEVER where one never ends."""
        done = self.end(starts)
        for i, lag, ask in self.tails:
            over = lag if i is None else starts[i] + lag
            if ask is not None and i is not None:
                over = ask.opens(self.base(ask.link, i, starts[i]))
            done = max(done, over)
        return done


def line_of(chain: Chain, now: datetime, remedied: frozenset[int] = frozenset()) -> Line:
    """Write a chain in whole seconds, with the remedy of the links at `remedied` among its work."""
    tasks, at = _with_remedies(chain, remedied)
    n = len(tasks)
    begun = [None if t.began_at is None else down(t.began_at) for t in tasks]
    line = Line(
        chain=chain,
        remedied=remedied,
        tasks=tasks,
        at=at,
        lengths=[_length(t, now) for t in tasks],
        begun=begun,
        needs=[needs_of(t) for t in tasks],
        after=[[] for _ in tasks],
        within=[[] for _ in tasks],
        asks=[[] for _ in tasks],
        lows=[up(now)] * n,
        highs=[NEVER] * n,
        tails=[],
        blame=[[] for _ in tasks],
    )
    for number, link in enumerate(chain.links):
        _enter(line, number, link, now)
    line.starts_layer = [k for k in range(n) if k == 0 or tasks[k].layer != tasks[k - 1].layer]
    return line


def _with_remedies(chain: Chain, remedied: frozenset[int]) -> tuple[list[Task], list[int]]:
    """Give the tasks with the remedies among them, and where each task of the chain came to lie.

    A remedy goes before the mix for what follows, so that it takes nothing of a pot life.
    """
    before: dict[int, list[Task]] = {}
    for number in sorted(remedied):
        link = chain.links[number]
        if link.then is not None and link.remedy is not None:
            before.setdefault(remedy_place(chain, link.then, link.first), []).append(link.remedy)
    tasks: list[Task] = []
    at: list[int] = []
    for k, task in enumerate(chain.tasks):
        tasks.extend(before.get(k, ()))
        at.append(len(tasks))
        tasks.append(task)
    return tasks, at


def remedy_place(chain: Chain, then: int, first: int | None) -> int:
    """Give the task of a chain before which the remedy for the one at `then` is done."""
    k = then
    while k - 1 > (-1 if first is None else first):
        task = chain.tasks[k - 1]
        if task.work not in (Work.MIX, Work.REDUCE) or task.began_at or task.layer != chain.tasks[then].layer:
            break
        k -= 1
    return k


def _length(task: Task, now: datetime) -> int:
    whole = -int(-task.takes_s // 1)
    if task.began_at is None:
        return whole
    # What was begun lasts until now at least, or it would be over.
    return max(up(task.began_at + timedelta(seconds=task.takes_s)), up(now)) - down(task.began_at)


def needs_of(task: Task) -> tuple[Need, ...]:
    """Give what a task takes beside a pair of hands."""
    booth: tuple[Need, ...] = (BOOTH,) if task.booth else ()
    return (*booth, task.gun) if task.gun is not None else booth


def _enter(line: Line, number: int, link: Link, now: datetime) -> None:
    then = None if link.then is None else line.at[link.then]
    first = None if link.first is None else line.at[link.first]
    if number in line.remedied and then is not None and link.remedy is not None:
        scuff = line.tasks.index(link.remedy)
        _waits(line, link, first, scuff, now, of=link.closes)
        _waits(line, link, first, scuff, now, of=link.opens)
        if link.remedy_lasts_s is not None:
            line.within[then].append((scuff, int(link.remedy_lasts_s) - line.lengths[then]))
        return
    if then is None:
        _tail(line, link, first, now)
        return
    line.blame[then].append((first, link))
    since = _since(line, link, first)
    if first is None or since is not None:
        at = since if since is not None else now
        line.lows[then] = max(line.lows[then], _opens(link.opens, at))
        last = last_of(link, link.closes(at))
        if last is not None:
            line.highs[then] = min(line.highs[then], last - (line.lengths[then] if link.by_end else 0))
    elif not link.constant:
        ask = Ask(link)
        line.asks[then].append((first, ask, link.by_end))
    else:
        shift = 0 if link.from_start else line.lengths[first]
        line.after[then].append((first, shift + _lag(link.opens, now)))
        last = last_of(link, link.closes(instant(up(now))))
        if last is not None:
            own = line.lengths[then] if link.by_end else 0
            line.within[then].append((first, shift + last - up(now) - own))


def _since(line: Line, link: Link, first: int | None) -> datetime | None:
    """Give from when a link counts whose first task can't be moved; None where it can."""
    if first is None:
        return link.since
    task, begun = line.tasks[first], line.begun[first]
    if task.began_at is None or begun is None:
        return None
    return task.began_at if link.from_start else max(instant(begun + line.lengths[first]), task.began_at)


def _opens(of: Callable[[datetime], datetime | None], at: datetime) -> int:
    opens = of(at)
    return NEVER if opens is None or opens >= FOR_GOOD else up(opens)


def _lag(of: Callable[[datetime], datetime | None], now: datetime) -> int:
    base = up(now)
    opens = _opens(of, instant(base))
    return NEVER if opens == NEVER else opens - base


def _waits(
    line: Line, link: Link, first: int | None, then: int, now: datetime, *, of: Callable[[datetime], datetime | None]
) -> None:
    """Let a remedy wait for this end of its window."""
    since = _since(line, link, first)
    if first is None or since is not None:
        at = since if since is not None else now
        closes = of(at)
        if closes is not None and closes < FOR_GOOD:
            line.lows[then] = max(line.lows[then], up(closes))
    elif link.constant:
        lag = _lag(of, now)
        if lag != NEVER:
            line.after[then].append((first, lag + (0 if link.from_start else line.lengths[first])))
    else:

        def opens(end: datetime) -> datetime:
            return of(end) or end

        wait = Link(
            first=link.first,
            then=link.then,
            kind=link.kind,
            words=link.words,
            opens=opens,
            from_start=link.from_start,
            constant=False,
        )
        line.asks[then].append((first, Ask(wait), False))


def _tail(line: Line, link: Link, first: int | None, now: datetime) -> None:
    since = _since(line, link, first)
    if since is not None:
        line.tails.append((None, _opens(link.opens, since), None))
    elif first is not None and link.constant:
        lag = _lag(link.opens, now)
        line.tails.append((first, lag + (0 if link.from_start else line.lengths[first]), None))
    elif first is not None:
        line.tails.append((first, 0, Ask(link)))
