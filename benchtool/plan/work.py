"""What a forward plan is made of: the work on each piece, the waits between, and where it all came to lie.

A `Chain` is one piece with its `Task`s in the order they are done and the `Link`s between them. A plan puts every task
at a time within the shop hours, with a pair of hands and what else it needs, and comes out as a `Timetable`. All times
are instants (UTC); no clock and no file is asked.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from benchtool.job.cards import Gun
from benchtool.trade.windows import WindowKind


class Work(StrEnum):
    """What the hands do."""

    PREP = "prep"
    MIX = "mix"
    REDUCE = "reduce"
    COAT = "coat"
    SCUFF = "scuff"
    CLEAN = "clean"


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One piece of work that is not broken off. `id` is the same each time the same job is planned.

    It takes one pair of hands for `takes_s`, a booth where `booth` says so, and a `gun` of that kind where one is
    named.
    A task that was begun already has `began_at`, and is not moved.
    """

    id: str
    job: str
    piece: str
    work: Work
    words: str
    takes_s: float
    layer: str | None = None
    coat: int | None = None
    booth: bool = False
    gun: Gun | None = None
    began_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """What must lie between two tasks of a chain, by their places in it.

    `opens(end)` says when the wait is over where `first` ends at `end`; `closes(end)` when it is too late, None for
    never. Neither ever falls when `end` moves later. `first` is None for a wait that runs already: then both are asked
    with `since`. Where `from_start` holds, they are asked with the start of `first` (a pot life counts from the pour).
    `then` must not start before it opens, and must start before it closes (`by_end`: must have ended by then). `then`
    is None for a wait that nothing follows: tape and cure. `remedy` is what opens it again after it closed (a scuff),
    with its own time; without one, missing it is no plan at all. Where the remedy keeps only so long itself (a fresh
    cup), `then` must have ended `remedy_lasts_s` after the remedy was begun. A link that is `constant` says that both
    are the same span after whatever `end`.
    """

    first: int | None
    then: int | None
    kind: WindowKind
    words: str
    opens: Callable[[datetime], datetime]
    closes: Callable[[datetime], datetime | None] = lambda _end: None
    since: datetime | None = None
    from_start: bool = False
    by_end: bool = False
    remedy: Task | None = None
    remedy_lasts_s: float | None = None
    constant: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """The work that is left on one piece, in its order. `promised` is when it shall be done with every wait of `tail`.

    Where it is not `ready_known` the outermost layer has no cure time, and the waits tell only before when it is not
    ready. The chains of a plan stand in the order in which the pieces came in.
    """

    job: str
    job_title: str
    piece: str
    piece_name: str
    tasks: tuple[Task, ...]
    links: tuple[Link, ...]
    promised: datetime | None = None
    ready_known: bool = True


@dataclass(frozen=True, slots=True)
class Room:
    """What there is to work with: how many booths, pairs of hands, and guns of each kind."""

    booths: int = 1
    hands: int = 1
    guns: Mapping[Gun, int] = field(default_factory=lambda: dict.fromkeys(Gun, 1))


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A task and where it lies; `booth`, `hand` and `gun_number` count from 0, None where it takes none."""

    task: Task
    starts_at: datetime
    ends_at: datetime
    hand: int = 0
    booth: int | None = None
    gun_number: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting:
    """A wait of a plan: from the end of a task until it opens, and until when what follows must be on.

    `missed` says that what follows lies after `closes_at`, and its remedy is in the plan.
    """

    job: str
    piece: str
    layer: str | None
    kind: WindowKind
    words: str
    from_at: datetime
    opens_at: datetime
    closes_at: datetime | None = None
    missed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CantFit:
    """A piece that found no place, and why, in a sentence."""

    job: str
    piece: str
    piece_name: str
    because: str


@dataclass(frozen=True, slots=True, order=True)
class Cost:
    """How good a plan is: the smaller the better, the first field before the next.

    `last_s` is from the plan's beginning to the end of the last work, `sum_s` the sum of that over the pieces.
    """

    left_out: int
    missed: int
    late_s: float
    last_s: float
    sum_s: float


class By(StrEnum):
    """How a plan was found."""

    AS_THEY_CAME = "as they came in"
    SEARCH = "search"
    SOLVER = "solver"


@dataclass(frozen=True, slots=True, kw_only=True)
class Timetable:
    """A whole plan: what is done when, in the order of time; the waits; what can't be done, and why.

    `simple` is the cost of taking the pieces as they came in: `cost` is never above it. `proved` says that no better
    plan exists on the grid it was searched on.
    """

    begins_at: datetime
    until: datetime
    placed: tuple[Placed, ...]
    waits: tuple[Waiting, ...]
    cant: tuple[CantFit, ...]
    cost: Cost
    simple: Cost
    by: By
    proved: bool = False
    order: tuple[tuple[str, str], ...] = ()
    """The pieces (job, piece) in the order suggested: by when their first work starts."""
