"""The work of a plan as a model for a constraint solver: starts on a grid of time, and what a cost is made of."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from benchtool.plan.freetime import BOOTH, NEVER, Need, down, instant, up
from benchtool.plan.lines import Line, last_of, line_of, remedy_place
from benchtool.plan.timetable import Case
from benchtool.plan.work import Link, Task, Timetable
from benchtool.trade.saying import say
from benchtool.trade.windows import FOR_GOOD

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

MOST_ENTRIES = 150_000
"""So many entries all tables of waits may have together that depend on when they begin: some 25 such waits for three
weeks in steps of 5 min."""


class TooMuch(Exception):
    """The model would be too large to be worth asking."""


@dataclass(slots=True)
class _Job:
    """One task on the grid: its start, whether it is done, and how long it takes (steps)."""

    task: Task
    start: Any
    length: int
    there: Any


@dataclass(slots=True)
class Model:
    """A model, the fields of the cost in their order (s), and the least each can be by what is known already."""

    case: Case
    cp: "cp_model.CpModel"
    grid_s: int
    zero: int
    fields: list[Any] = field(default_factory=list)
    least: tuple[int, int, int, int, int] = (0, 0, 0, 0, 0)
    read: list[Any] = field(default_factory=list)
    jobs: dict[int, list[_Job]] = field(default_factory=dict)
    there: dict[int, Any] = field(default_factory=dict)
    remedies: dict[int, dict[int, tuple[Any, _Job]]] = field(default_factory=dict)

    def laid(self, values: dict[int, int]) -> dict[int, tuple[Line, Sequence[int]]]:
        """Read where the tasks of each piece lie (s) from the values of the variables."""
        laid: dict[int, tuple[Line, Sequence[int]]] = {}
        for c, jobs in self.jobs.items():
            if not values[self.there[c].index]:
                continue
            chain = self.case.chains[c]
            taken = {n: job for n, (missed, job) in self.remedies[c].items() if values[missed.index]}
            line = line_of(chain, self.case.now, frozenset(taken))
            of = {id(job.task): self.zero + values[job.start.index] * self.grid_s for job in taken.values()}
            starts = []
            at = {k: i for i, k in enumerate(line.at)}
            for k, task in enumerate(line.tasks):
                begun = line.begun[k]
                if begun is not None:
                    starts.append(begun)
                elif k in at:
                    starts.append(self.zero + values[jobs[at[k]].start.index] * self.grid_s)
                else:
                    starts.append(of[id(task)])
            laid[c] = (line, starts)
        return laid


def build(case: Case, timetable: Timetable, grid_s: int) -> Model:
    """Write the model, with the plan there is as a hint.

    Raises:
        TooMuch: more waits depend on when they begin than tables can be made for.
    """
    from ortools.sat.python import cp_model

    zero = -(-case.start // grid_s) * grid_s
    model = Model(case=case, cp=cp_model.CpModel(), grid_s=grid_s, zero=zero)
    steps = (down(case.until) - zero) // grid_s
    tables = sum(not link.constant for c in case.doable for link in case.chains[c].links)
    if steps * tables > MOST_ENTRIES:
        raise TooMuch(
            say(
                "{n} waits depend on when they begin: their tables would be too large for the solver, so the plan is "
                "as the search found it.",
                n=tables,
            )
        )
    _Builder(model, max(0, steps), {(p.task.job, p.task.id): p.starts_at for p in timetable.placed}).all()
    return model


class _Builder:
    def __init__(self, model: Model, steps: int, hints: dict[tuple[str, str], datetime]) -> None:
        self.model, self.case, self.cp = model, model.case, model.cp
        self.grid, self.zero, self.steps = model.grid_s, model.zero, steps
        self.hints = hints
        self.spans = [
            (-(-(up(s.opens_at) - self.zero) // self.grid), (down(s.closes_at) - self.zero) // self.grid)
            for s in self.case.hours.spans(instant(self.zero), self.case.until)
        ]
        self.rows: dict[Need, list[tuple[Any, int]]] = {}
        self.running: list[tuple[Task, int]] = []
        """What was begun already, and until which step it takes."""
        self.lates: list[Any] = []
        self.ends: list[Any] = []

    def all(self) -> None:
        """Write everything."""
        model, case = self.model, self.case
        for c in case.doable:
            self._chain(c)
        self._shared()
        present, missed = model.there.values(), [m for of in model.remedies.values() for m, _ in of.values()]
        last = self.cp.new_int_var(0, self.steps * self.grid + self.zero - case.start, "last")
        for end in self.ends:
            self.cp.add(last >= end)
        left_out = len(case.chains) - sum(present)
        model.fields = [left_out + self._const(0), sum(missed) + self._const(0), sum(self.lates) + self._const(0)]
        model.fields += [last, sum(self.ends) + self._const(0)]
        alone = [a for a in case.alone if a is not None]
        missed_least = sum(a.missed for a in alone)
        model.least = (len(case.cant), min(missed_least, len(missed)), 0, 0, 0)
        model.read = [job.start for jobs in model.jobs.values() for job in jobs if job.start is not None]
        model.read += [*present, *missed]
        model.read += [job.start for of in model.remedies.values() for _, job in of.values()]

    def _const(self, value: int) -> Any:
        return self.cp.new_constant(value)

    # --- tasks ------------------------------------------------------------------------------------------

    def _chain(self, c: int) -> None:
        model, chain = self.model, self.case.chains[c]
        line = line_of(chain, self.case.now)
        there = self.cp.new_bool_var(f"there {c}")
        self.cp.add_hint(there, True)
        model.there[c] = there
        jobs = [self._job(task, line, k, there) for k, task in enumerate(chain.tasks)]
        model.jobs[c] = jobs
        model.remedies[c] = {}
        for before, after in pairwise(jobs):
            if after.start is not None:
                self._after(after.start, self._end(before), there)
        for number, link in enumerate(chain.links):
            self._link(c, number, link, jobs, there)
        self._cost(c, jobs, line, there)

    def _job(self, task: Task, line: Line, k: int, there: Any) -> _Job:
        begun = line.begun[k]
        if begun is not None:
            self._begun(task, begun + line.lengths[k])
            return _Job(task, None, up(instant(begun + line.lengths[k])), there)
        return self._open(task, there)

    def _open(self, task: Task, there: Any) -> _Job:
        from ortools.sat.python import cp_model

        length = -int(-task.takes_s // self.grid)
        fits = [[a, b - length] for a, b in self.spans if b - length >= a]
        start = self.cp.new_int_var_from_domain(cp_model.Domain.from_intervals(fits or [[0, 0]]), task.id)
        if not fits:
            self.cp.add(there == 0)
        hint = self.hints.get((task.job, task.id))
        if hint is not None:
            self.cp.add_hint(start, max(0, -(-(up(hint) - self.zero) // self.grid)))
        if length:
            interval = self.cp.new_optional_fixed_size_interval_var(start, length, there, task.id)
            needs: list[Need] = ["hand"]
            needs += [BOOTH] if task.booth else []
            needs += [task.gun] if task.gun is not None else []
            for need in needs:
                self.rows.setdefault(need, []).append((interval, 1))
        return _Job(task, start, length, there)

    def _begun(self, task: Task, end: int) -> None:
        steps = max(0, -(-(end - self.zero) // self.grid))
        if steps:
            self.running.append((task, steps))

    def _end(self, job: _Job) -> Any:
        """Give when a task ends, in steps."""
        if job.start is None:
            return max(0, -(-(job.length - self.zero) // self.grid))
        return job.start + job.length

    def _after(self, start: Any, other: Any, *where: Any) -> None:
        self.cp.add(start >= other).only_enforce_if(*where)

    def _shared(self) -> None:
        room = self.case.room
        count: dict[Need, int] = {"hand": room.hands, BOOTH: room.booths}
        count.update(room.guns.items())
        for need, row in self.rows.items():
            ends = sorted(
                (steps for task, steps in self.running if need == "hand" or self._takes(task, need)), reverse=True
            )[: count.get(need, 0)]
            fixed = [(self.cp.new_fixed_size_interval_var(0, end, "begun"), 1) for end in ends]
            every = [*row, *fixed]
            if count.get(need, 0) == 1:
                self.cp.add_no_overlap([interval for interval, _ in every])
            else:
                self.cp.add_cumulative([i for i, _ in every], [d for _, d in every], count.get(need, 0))

    @staticmethod
    def _takes(task: Task, need: Need) -> bool:
        return task.booth if need == BOOTH else task.gun == need

    # --- waits ------------------------------------------------------------------------------------------

    def _link(self, c: int, number: int, link: Link, jobs: list[_Job], there: Any) -> None:
        if link.then is None or jobs[link.then].start is None:
            return
        then = jobs[link.then]
        missed: Any = None
        if link.remedy is not None:
            missed = self.cp.new_bool_var(f"missed {c} {number}")
            self.cp.add_hint(missed, (link.remedy.job, link.remedy.id) in self.hints)
            self.cp.add_implication(missed, there)
            scuff = self._open(link.remedy, missed)
            self.model.remedies[c][number] = (missed, scuff)
            chain = self.case.chains[c]
            k = remedy_place(chain, link.then, link.first)
            self._after(jobs[k].start, self._end(scuff), missed)
            if k:
                self._after(scuff.start, self._end(jobs[k - 1]), missed)
        kept = [there] if missed is None else [there, missed.negated()]
        own = then.length if link.by_end else 0
        for opens, last, where in self._ends(link, jobs):
            self.cp.add(then.start >= opens).only_enforce_if(there, *where)
            if last is not None:
                self.cp.add(then.start + own <= last).only_enforce_if(*kept, *where)
        if missed is not None:
            scuff = self.model.remedies[c][number][1]
            for opens, closes in self._reopens(link, jobs):
                self.cp.add(scuff.start >= opens).only_enforce_if(missed)
                self.cp.add(scuff.start >= closes).only_enforce_if(missed)
            if link.remedy_lasts_s is not None:
                lasts = int(link.remedy_lasts_s // self.grid)
                self.cp.add(then.start + then.length - scuff.start <= lasts).only_enforce_if(missed)

    def _since(self, link: Link, jobs: list[_Job]) -> datetime | None:
        if link.first is None:
            return link.since if link.since is not None else self.case.now
        job = jobs[link.first]
        if job.start is not None or job.task.began_at is None:
            return None
        over = job.task.began_at + timedelta(seconds=job.task.takes_s)
        return job.task.began_at if link.from_start else max(over, self.case.now)

    def _up(self, at: datetime | None) -> int:
        if at is None or at >= FOR_GOOD:
            return self.steps + 1
        return max(0, -(-(up(at) - self.zero) // self.grid))

    def _last(self, link: Link, base: datetime) -> int | None:
        last = last_of(link, link.closes(base))
        return None if last is None else (last - self.zero) // self.grid

    def _ends(self, link: Link, jobs: list[_Job]) -> Iterator[tuple[Any, Any, list[Any]]]:
        """Give when a link opens and the last step that is in time, in steps."""
        since = self._since(link, jobs)
        if since is not None:
            yield self._up(link.opens(since)), self._last(link, since), []
            return
        base = self._base(link, jobs)
        if link.constant:
            zero = instant(self.zero)
            last = self._last(link, zero)
            yield base + self._up(link.opens(zero)), None if last is None else base + last, []
            return
        at = [instant(self.zero + n * self.grid) for n in range(self.steps + 1)]
        lasts = [self._last(link, x) for x in at]
        opens = self._table(base, [self._up(link.opens(x)) for x in at])
        none = all(last is None for last in lasts)
        yield opens, None if none else self._table(base, [2 * self.steps if x is None else x for x in lasts]), []

    def _reopens(self, link: Link, jobs: list[_Job]) -> Iterator[tuple[Any, Any]]:
        """Give when a remedy may begin: once it opens, and once it closes."""
        since = self._since(link, jobs)
        if since is not None:
            yield self._up(link.opens(since)), self._up(link.closes(since) or since)
            return
        base = self._base(link, jobs)
        if link.constant:
            zero = instant(self.zero)
            yield base + self._up(link.opens(zero)), base + self._up(link.closes(zero) or zero)
            return
        at = [instant(self.zero + n * self.grid) for n in range(self.steps + 1)]
        yield (
            self._table(base, [self._up(link.opens(x)) for x in at]),
            self._table(base, [self._up(link.closes(x) or x) for x in at]),
        )

    def _base(self, link: Link, jobs: list[_Job]) -> Any:
        job = jobs[link.first if link.first is not None else 0]
        return job.start if link.from_start else job.start + job.length

    def _table(self, base: Any, values: list[int]) -> Any:
        """Give the entry of a table at `base`."""
        entry = self.cp.new_int_var(min(values), max(values), "")
        index = self.cp.new_int_var(0, self.steps, "")
        self.cp.add(index == base)
        self.cp.add_element(index, values, entry)
        return entry

    # --- the cost -----------------------------------------------------------------------------------------

    def _cost(self, c: int, jobs: list[_Job], line: Line, there: Any) -> None:
        """Enter the end of a piece and its lateness, in seconds; nothing where it is left out."""
        ahead, most = self.zero - self.case.start, self.steps * self.grid + self.zero - self.case.start
        end: Any = 0
        if jobs:
            fixed = jobs[-1].start is None
            of = jobs[-1].length - self.case.start if fixed else self._end(jobs[-1]) * self.grid + ahead
            end = self.cp.new_int_var(0, max(most, of if fixed else 0), f"end {c}")
            self.cp.add(end >= of).only_enforce_if(there)
            self.ends.append(end)
        promised = self.case.chains[c].promised
        if promised is None:
            return
        by = down(promised) - self.case.start
        late = self.cp.new_int_var(0, max(0, NEVER), f"late {c}")
        self.cp.add(late >= end - by).only_enforce_if(there)
        for first, lag, ask in line.tails:
            if first is None:
                over: Any = (lag if lag < NEVER else down(self.case.until)) - self.case.start
            elif ask is not None:
                job = jobs[first]
                at = [instant(self.zero + n * self.grid) for n in range(self.steps + 1)]
                base = job.start if ask.link.from_start else job.start + job.length
                opens = [up(min(ask.link.opens(x), instant(NEVER))) for x in at]
                values = [(x if x < NEVER else down(self.case.until)) - self.case.start for x in opens]
                over = self._table(base, values)
            elif lag >= NEVER:
                over = down(self.case.until) - self.case.start
            else:
                # The wait counts from the end of the task on the grid, so from the start and its rounded length.
                job = jobs[first]
                own = line.lengths[first]
                rounding = 0 if lag < own else job.length * self.grid - own
                over = job.start * self.grid + ahead + lag + rounding
            self.cp.add(late >= over - by).only_enforce_if(there)
        self.lates.append(late)
