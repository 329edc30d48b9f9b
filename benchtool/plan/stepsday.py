"""From the open jobs to a whole plan: their work left, the shop's hours and room, the search, and what it rests on."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta, tzinfo

from benchtool.job.cards import Gun
from benchtool.job.prepplan import PlannedStep
from benchtool.job.shop import Shop
from benchtool.job.state import State
from benchtool.plan import solver
from benchtool.plan.faults import faults
from benchtool.plan.hours import ShopHours
from benchtool.plan.latest import Latest, latest_start
from benchtool.plan.search import EFFORT, plan
from benchtool.plan.steps import Doubt, work_left
from benchtool.plan.stepslate import with_late_cups
from benchtool.plan.work import Chain, Room, Timetable
from benchtool.trade.windows import WindowKind

SMALL_TASKS = 60
SMALL_CHAINS = 8
"""So many tasks and pieces the solver is asked for at most: beyond them it seldom proves anything in the time that a
painter waits (judgement)."""

SOLVER_EFFORT = 2.0
"""How much of its own deterministic seconds the solver may use here."""

SEARCH_SHARE = 0.4
"""How much of the bar the search is, where the solver follows: by then there is a plan to show."""

SOON = timedelta(hours=24)
MOST_LATEST = 10
"""The latest start is worked out of what begins within a day of the next work, of so many pieces at most."""

GoOn = Callable[[float], bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A job that is planned: what tells it from every other (its file), its title, state and prep plans by piece."""

    key: str
    title: str
    state: State
    prep: Mapping[str, Sequence[PlannedStep]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class DayPlan:
    """A plan and all it rests on. `jobs` are the titles by job, `layers` the names by (job, piece, layer).

    `latest` says of the pieces begun next how late they still can begin, the most urgent first. `faults` is what the
    checker holds against it: nothing, or the plan must not be gone by. `stopped` says that the search was stopped
    before its end.
    """

    asked_at: datetime
    timetable: Timetable
    chains: tuple[Chain, ...]
    room: Room
    hours: ShopHours
    jobs: Mapping[str, str] = field(default_factory=dict)
    layers: Mapping[tuple[str, str, str], str] = field(default_factory=dict)
    doubts: tuple[Doubt, ...] = ()
    latest: tuple[Latest, ...] = ()
    faults: tuple[str, ...] = ()
    stopped: bool = False

    def piece_name(self, job: str, piece: str) -> str:
        """Give what a piece is called."""
        return next((c.piece_name for c in self.chains if (c.job, c.piece) == (job, piece)), piece)

    def chain(self, job: str, piece: str) -> Chain | None:
        """Find the work of a piece."""
        return next((c for c in self.chains if (c.job, c.piece) == (job, piece)), None)

    def layer_name(self, job: str, piece: str, layer: str | None) -> str:
        """Give what a layer is called, "" for none."""
        return self.layers.get((job, piece, layer), layer) if layer is not None else ""


def hours_of(shop: Shop, zone: tzinfo) -> ShopHours:
    """Give when a shop is open."""
    week: dict[int, list[tuple[int, int]]] = {}
    for opening in shop.hours:
        if opening.minutes[0] < opening.minutes[1]:
            week.setdefault(opening.day.number, []).append(opening.minutes)
    extra = [(o.day, o.minutes) for o in shop.extra if o.minutes[0] < o.minutes[1]]
    return ShopHours(week, zone, shop.closed_days, extra)


def room_of(shop: Shop) -> Room:
    """Give what a shop has to work with; of a gun that its figures don't name there is one."""
    return Room(booths=shop.booths, hands=shop.hands, guns={gun: shop.guns.get(gun, 1) for gun in Gun})


def day_plan(
    sources: Sequence[Source],
    shop: Shop,
    zone: tzinfo,
    now: datetime,
    *,
    go_on: GoOn = lambda _share: True,
    until: datetime | None = None,
    effort: int = EFFORT,
    before_solver: bool = False,
) -> DayPlan:
    """Plan all that is left in some jobs from how they stand at `now`; never worse than as the pieces came in.

    `go_on` is told how much is done, and stops it by False: then the best so far is the answer. It is told 0 to 1;
    with `before_solver` no more than `SEARCH_SHARE` where the solver would be asked after this.
    """
    hours, room = hours_of(shop, zone), room_of(shop)
    chains: list[Chain] = []
    doubts: list[Doubt] = []
    layers: dict[tuple[str, str, str], str] = {}
    for source in sources:
        left = work_left(source.key, source.state, shop, now, source.prep, fit=_soon(hours, now), title=source.title)
        chains += left.chains
        doubts += left.doubts
        for x in source.state.layers.values():
            layers[source.key, x.piece, x.id] = source.state.layer_name(x)
    whole = SEARCH_SHARE if before_solver and _few(chains) and solver.available() else 1.0
    asked = _Asked(lambda share: go_on(whole * share))
    found = plan(chains, room, hours, now, until=until, go_on=asked.on, effort=effort)
    made = DayPlan(
        asked_at=now,
        timetable=found,
        chains=tuple(chains),
        room=room,
        hours=hours,
        jobs={s.key: s.title for s in sources},
        layers=layers,
        doubts=tuple(doubts),
        stopped=asked.stopped,
    )
    return _checked(made, found)


def solved(plan: DayPlan, go_on: GoOn = lambda _share: True) -> DayPlan:
    """Ask the solver for a better plan; gives the same one where there is none, or `can_be_solved` does not hold."""
    if not can_be_solved(plan):
        return plan
    try:
        better = solver.improve(
            plan.timetable, plan.chains, plan.room, plan.hours, go_on=go_on, effort=SOLVER_EFFORT
        ).timetable
    except ImportError:  # it is there and can't be loaded: the plan that was found stands
        return plan
    return plan if better == plan.timetable else _checked(plan, better)


def can_be_solved(plan: DayPlan) -> bool:
    """Say whether the solver is asked: it is installed, and the question is small enough and not settled."""
    return _few(plan.chains) and not plan.timetable.proved and not plan.stopped and solver.available()


def _few(chains: Sequence[Chain]) -> bool:
    working = [c for c in chains if c.tasks]
    return 1 < len(working) <= SMALL_CHAINS and sum(len(c.tasks) for c in working) <= SMALL_TASKS


def _checked(made: DayPlan, table: Timetable) -> DayPlan:
    table = with_late_cups(table, made.chains, made.room, made.hours)
    latest = _latest(table, made.chains, made.room, made.hours)
    wrong = faults(table, made.chains, made.room, made.hours)
    return replace(made, timetable=_shown(table, made.chains), latest=latest, faults=wrong)


def _shown(table: Timetable, chains: Sequence[Chain]) -> Timetable:
    """Leave out what is habit and on no card: that a gun is cleaned, and a cup sprayed, soon enough."""
    habits = {
        (c.job, c.piece, x.words) for c in chains for x in c.links
        if x.kind is WindowKind.POT_LIFE and x.first is not None and not x.from_start
    }  # fmt: skip
    return replace(table, waits=tuple(w for w in table.waits if (w.job, w.piece, w.words) not in habits))


@dataclass(slots=True)
class _Asked:
    """Hands on how much is done, and remembers whether it was stopped."""

    go_on: GoOn
    stopped: bool = False

    def on(self, share: float) -> bool:
        self.stopped = self.stopped or not self.go_on(share)
        return not self.stopped


def _latest(table: Timetable, chains: Sequence[Chain], room: Room, hours: ShopHours) -> tuple[Latest, ...]:
    """Give how late the pieces can begin on which the next work is planned; those of later days can wait."""
    firsts: dict[tuple[str, str], datetime] = {}
    for placed in table.placed:
        if placed.task.began_at is None:
            firsts.setdefault((placed.task.job, placed.task.piece), placed.starts_at)
    soon = min(firsts.values(), default=table.begins_at) + SOON
    near = sorted(
        (c for c in chains if firsts.get((c.job, c.piece), soon) < soon), key=lambda c: firsts[c.job, c.piece]
    )
    found = (latest_start(table, chain, room, hours) for chain in near[:MOST_LATEST])
    return tuple(sorted((x for x in found if x is not None), key=lambda x: x.for_today))


def _soon(hours: ShopHours, now: datetime) -> Callable[[datetime, timedelta], datetime | None]:
    until = now + timedelta(days=30)
    return lambda at, length: hours.next_fit(at, length, until) if at < until else None
