"""The same plan by a solver that can prove it: OR-Tools CP-SAT, an optional extra that is loaded when it is asked for.

The work is put on a grid of time: what a task takes and every wait are rounded up to it, every deadline down, so a plan
on the grid holds as it stands. The fields of a cost are minimised one after another, each held while the next is, by
one worker with a limit of work instead of time: the same input gives the same answer. What comes out is drawn together
off the grid, checked, and taken only where it costs less than the plan there is.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any

from benchtool.plan.faults import faults
from benchtool.plan.freetime import instant
from benchtool.plan.hours import ShopHours
from benchtool.plan.search import plan
from benchtool.plan.searchcost import is_best, tightened
from benchtool.plan.solvergrid import even, on_grid
from benchtool.plan.solvermodel import TooMuch, build
from benchtool.plan.timetable import Case, Laid, cost_of, timetable_of
from benchtool.plan.work import By, Chain, Room, Timetable
from benchtool.trade.saying import say

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

EFFORT = 2.0
"""How much work the solver may do, in its own deterministic seconds: each takes some 4 to 12 real ones."""

FIRST_SLICE = 0.25
"""It works in slices, each twice as long as the one before, and asks between them (and at whatever it finds) whether
to go on."""

COARSE_S, FINE_S = 300, 60
"""The grids: 5 min where all that is known is in whole 5 min, else 1 min, so that little is lost by rounding."""

HINT_EFFORT = 60_000

GoOn = Callable[[float], bool]
Figures = tuple[int, int, int, int, int]


def available() -> bool:
    """Say whether OR-Tools is installed."""
    return find_spec("ortools") is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """What the solver came to: the better plan of its own and the one there was.

    `bound` is what no plan on the grid is below, in the order of `Cost` (s), None where nothing was proved; `on_grid`
    the cost of its own plan as it lay on the grid, None where it found none. `said` tells why it was not asked or
    stopped short, "" for neither.
    """

    timetable: Timetable
    bound: Figures | None = None
    on_grid: Figures | None = None
    said: str = ""


def improve(
    timetable: Timetable,
    chains: Sequence[Chain],
    room: Room,
    hours: ShopHours,
    *,
    go_on: GoOn = lambda _share: True,
    effort: float = EFFORT,
    grid_s: int | None = None,
) -> Solved:
    """Look for a plan that costs less than `timetable`, which was made from the same input; never worse.

    `go_on` is told how much of the effort is used (0 to 1), and stops it by False. `grid_s` is the grid, without one
    it is chosen. A plan is called proved only where the grid loses nothing by rounding.
    """
    if timetable.proved:
        return Solved(timetable=timetable, said=say("The plan there is cannot be bettered."))
    if not available():
        return Solved(timetable=timetable, said=say("OR-Tools is not installed."))
    case = Case(chains, room, hours, timetable.begins_at, timetable.until)
    if grid_s is None:
        grid_s = COARSE_S if even(case, COARSE_S) else FINE_S
    try:
        model = build(case, _hint(case, grid_s), grid_s)
    except TooMuch as too_much:
        return Solved(timetable=timetable, said=str(too_much))
    run = _Run(model, go_on, effort)
    run.all()
    best = timetable
    if run.values is not None:
        laid = model.laid(run.values)
        for found in (laid, tightened(case, laid)):
            best = _better(case, found, best, chains)
    proved = run.proved and run.figures is not None and _figures(case, best) <= run.figures and even(case, grid_s)
    if proved and not best.proved:
        best = replace(best, proved=True)
    return Solved(
        timetable=best,
        bound=run.bound(),
        on_grid=run.figures,
        said="" if run.proved else say("It was stopped before it had proved the best plan."),
    )


def _hint(case: Case, grid_s: int) -> Timetable:
    """Give what the search finds on the grid, for the solver to begin from."""
    chains = [on_grid(chain, grid_s) for chain in case.chains]
    zero = instant(-(-case.start // grid_s) * grid_s)
    return plan(chains, case.room, case.hours, zero, until=case.until, effort=HINT_EFFORT)


def _better(case: Case, laid: Laid, best: Timetable, chains: Sequence[Chain]) -> Timetable:
    if not cost_of(case, laid) < best.cost:
        return best
    table = timetable_of(case, laid, by=By.SOLVER, simple=best.simple, proved=is_best(case, laid))
    return best if faults(table, chains, case.room, case.hours) else table


def _figures(case: Case, table: Timetable) -> Figures:
    cost = table.cost
    ahead = _ahead(case.now)
    chains = {(p.task.job, p.task.piece) for p in table.placed}
    whole = round(cost.last_s - ahead) if chains else 0
    return cost.left_out, cost.missed, round(cost.late_s), whole, round(cost.sum_s - ahead * len(chains))


def _ahead(now: datetime) -> float:
    return (-now.microsecond % 1_000_000) / 1e6


class _Run:
    """The fields of the cost, minimised one after another."""

    def __init__(self, model: Any, go_on: GoOn, effort: float) -> None:
        self.model, self.go_on, self.effort = model, go_on, effort
        self.used = 0.0
        self.stopped = False
        self.values: dict[int, int] | None = None
        self.figures: Figures | None = None
        self._known: list[int] = []
        self._next: int | None = None

    @property
    def proved(self) -> bool:
        """Whether every field is proved to be the least."""
        return len(self._known) == len(self.model.fields)

    def bound(self) -> Figures | None:
        """Give the proved fields, the bound of the first that is not, and 0 for the rest."""
        known = [*self._known, *([] if self._next is None else [self._next])]
        if not known:
            return None
        rest = [*known, 0, 0, 0, 0, 0]
        return rest[0], rest[1], rest[2], rest[3], rest[4]

    def all(self) -> None:
        for number, field in enumerate(self.model.fields):
            least = self.model.least[number]
            if self.figures is not None and self.figures[number] <= least:
                self._hold(field, self.figures[number])
                continue
            if not self._minimise(number, field, least):
                return

    def _hold(self, field: Any, value: int) -> None:
        self._known.append(value)
        self.model.cp.add(field <= value)

    def _minimise(self, number: int, field: Any, least: int) -> bool:
        """Minimise one field; say whether the least was proved."""
        from ortools.sat.python import cp_model

        self.model.cp.minimize(field)
        self._next = least
        length = FIRST_SLICE
        while not self.stopped:
            left = self.effort - self.used
            if left <= 0 or not self._ask():
                return False
            solver = cp_model.CpSolver()
            solver.parameters.num_workers = 1
            solver.parameters.random_seed = 1
            solver.parameters.max_deterministic_time = min(length, left)
            status = solver.solve(self.model.cp, _watch(self, solver))
            self.used += max(solver.response_proto.deterministic_time, 1e-3)
            if status == cp_model.INFEASIBLE:
                self._next = None
                return False
            if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
                self._take(solver)
            if status == cp_model.OPTIMAL and self.figures is not None:
                self._next = None
                self._hold(field, self.figures[number])
                return True
            self._next = max(self._next, int(-(-solver.best_objective_bound // 1)))
            length *= 2
        return False

    def _ask(self) -> bool:
        if not self.stopped and not self.go_on(min(1.0, self.used / self.effort)):
            self.stopped = True
        return not self.stopped

    def _take(self, solver: "cp_model.CpSolver") -> None:
        figures = tuple(int(solver.value(field)) for field in self.model.fields)
        found: Figures = (figures[0], figures[1], figures[2], figures[3], figures[4])
        if self.figures is not None and found > self.figures:
            return
        self.figures = found
        self.values = {v.index: int(solver.value(v)) for v in self.model.read}
        self.model.cp.clear_hints()
        for v in self.model.read:
            self.model.cp.add_hint(v, self.values[v.index])


def _watch(run: _Run, solver: "cp_model.CpSolver") -> "cp_model.CpSolverSolutionCallback":
    from ortools.sat.python import cp_model

    class Watch(cp_model.CpSolverSolutionCallback):
        """Asks at each solution whether to go on."""

        def on_solution_callback(self) -> None:
            if not run._ask():  # noqa: SLF001
                self.stop_search()

    def bound(_value: float) -> None:
        if not run._ask():  # noqa: SLF001
            solver.stop_search()

    solver.best_bound_callback = bound
    return Watch()
