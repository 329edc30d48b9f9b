"""What the page of the day shows of a plan, and what it asks of whoever makes plans."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Protocol

from benchtool.bench.dayrows import Names, PieceNamed, Span
from benchtool.bench.daysteps import Said
from benchtool.plan.stepsday import DayPlan
from benchtool.plan.work import Timetable, Waiting
from benchtool.session.dayplan import DayPlanner
from benchtool.session.due import clock_time
from benchtool.trade.saying import say

_AROUND = timedelta(days=4)
"""The hours of the shop are drawn so far before and after the plan: further than any drawing of it goes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DayTold:
    """A plan in words and figures: what was found, when the shop is open. `why` there is no plan."""

    made_at: datetime
    plan: Timetable | None = None
    names: Names = field(default_factory=Names)
    opened: Sequence[Span] = ()
    said: Sequence[Said] = ()
    why: str = ""
    never_opens: bool = False


def made_words(told: DayTold | None, now: datetime, *, moved: bool) -> tuple[str, str]:
    """Say when a plan was made, and whether things `moved` past it; gives the words and their tone."""
    if told is None or told.plan is None:
        return "", "quiet"
    at = clock_time(told.made_at, now)
    if moved:
        return say("Planned {time}, before what was done since: R plans anew.", time=at), "trouble"
    return say("Planned {time}", time=at), "quiet"


class Plans(Protocol):
    """Who makes plans of the open jobs, and keeps when they are promised."""

    @property
    def stale(self) -> bool:
        """Whether things stand otherwise than when the last plan was made, or there is none."""
        ...

    @property
    def busy(self) -> bool:
        """Whether a plan is being made."""
        ...

    @property
    def share(self) -> float:
        """How much of the planning is done: 0 to 1."""
        ...

    def told(self) -> DayTold | None:
        """Give the last plan: the same object as long as it is the same plan."""
        ...

    def next(self, now: datetime) -> str:
        """Say what the hands do next, and until when."""
        ...

    def watch(self, *, on: bool) -> None:
        """Plan anew after each act while anybody looks, and else not: every plan costs time."""
        ...

    def plan_now(self) -> None:
        """Begin to plan from how things stand now."""
        ...

    def cancel(self) -> None:
        """Stop planning; the last plan stays."""
        ...

    def job_in_hand(self) -> str:
        """Give the job in hand as a plan names it, "" for none."""
        ...

    def promise_of(self, job: str) -> tuple[str, str]:
        """Give the title of a job, and when it is promised as it would be typed."""
        ...

    def promise(self, job: str, typed: str) -> str:
        """Keep when a job is promised, "" for no promise; gives what to say.

        Raises:
            Wrong: what is typed is no time.
            NotNow: the job can't be written.
        """
        ...

    def shut(self, now: datetime) -> str:
        """Say that the shop is closed and until when; "" where it is open."""
        ...

    def stay_typed(self) -> str:
        """Give until when somebody stays today as it would be typed; "" where the day is as the week has it."""
        ...

    def stay(self, typed: str) -> str:
        """Keep until when somebody stays today, "" to take it back; gives what to say.

        Raises:
            Wrong: what is typed is no time to stay until.
            NotNow: the shop can't be written.
        """
        ...


class Planned:
    """Gives the plans of a `DayPlanner` as the page shows them."""

    def __init__(self, planner: DayPlanner) -> None:
        self.planner = planner
        self._shown: tuple[DayPlan | None, str, bool] | None = None
        self._told: DayTold | None = None

    @property
    def stale(self) -> bool:
        """Whether things stand otherwise than when the last plan was made, or there is none."""
        return self.planner.stale

    @property
    def busy(self) -> bool:
        """Whether a plan is being made."""
        return self.planner.busy

    @property
    def share(self) -> float:
        """How much of the planning is done: 0 to 1."""
        return self.planner.share

    def told(self) -> DayTold | None:
        """Give the last plan, or why there is none."""
        plan = self.planner.plan
        shown = (plan, self.planner.trouble, self.planner.never_opens)
        before = self._shown
        if before is None or before[0] is not plan or before[1:] != shown[1:]:
            self._shown, self._told = shown, self._tell(plan)
        return self._told

    def _tell(self, plan: DayPlan | None) -> DayTold | None:
        trouble, never = self.planner.trouble, self.planner.never_opens
        if plan is None:
            return DayTold(made_at=self.planner.session.now(), why=trouble, never_opens=never) if trouble else None
        table = plan.timetable
        said = [Said(t.word, t.sentence, t.trouble) for t in self.planner.told()]
        if trouble:
            said.insert(0, Said(say("Wrong"), trouble, trouble=True))
        shown = bool(table.placed or table.waits or table.cant) and not never
        why = "" if shown else say("Nothing is left to do on the open jobs.")
        if never:
            why = say("Without opening hours no work has a place.")
        return DayTold(
            made_at=plan.asked_at, plan=table if shown else None, names=names_of(plan), opened=opened_of(plan),
            said=tuple(said), why=why, never_opens=never,
        )  # fmt: skip

    def next(self, now: datetime) -> str:
        """Say what the hands do next, and until when."""
        return self.planner.next(now)

    def watch(self, *, on: bool) -> None:
        """Plan anew after each act, or not."""
        self.planner.automatic = on

    def plan_now(self) -> None:
        """Begin to plan from how things stand now."""
        self.planner.plan_now()

    def cancel(self) -> None:
        """Stop planning; the last plan stays."""
        self.planner.cancel()

    def job_in_hand(self) -> str:
        """Give the job in hand as a plan names it, "" for none."""
        return self.planner.job_in_hand()

    def promise_of(self, job: str) -> tuple[str, str]:
        """Give the title of a job, and when it is promised as it would be typed."""
        return self.planner.promise_of(job)

    def promise(self, job: str, typed: str) -> str:
        """Keep when a job is promised; gives what to say."""
        return self.planner.promise(job, typed)

    def shut(self, now: datetime) -> str:
        """Say that the shop is closed and until when; "" where it is open."""
        return self.planner.stay.shut(now)

    def stay_typed(self) -> str:
        """Give until when somebody stays today as it would be typed."""
        return self.planner.stay.typed()

    def stay(self, typed: str) -> str:
        """Keep until when somebody stays today; gives what to say."""
        return self.planner.stay.keep(typed)


def names_of(plan: DayPlan) -> Names:
    """Give what everything in a plan is called."""
    pieces = {(c.job, c.piece): PieceNamed(c.piece_name, c.job_title, c.promised) for c in plan.chains}
    return Names(pieces, plan.layers)


def opened_of(plan: DayPlan) -> tuple[Span, ...]:
    """Give when the shop is open, as far as a drawing of the plan goes."""
    table = plan.timetable
    first = min([table.begins_at, *(p.starts_at for p in table.placed)]) - _AROUND
    last = max(
        [table.begins_at, *(p.ends_at for p in table.placed), *(w.closes_at or w.opens_at for w in _bound(plan))]
    )
    return tuple((s.opens_at, s.closes_at) for s in plan.hours.spans(first, last + _AROUND))


def _bound(plan: DayPlan) -> Sequence[Waiting]:
    """Give the waits that end within weeks: a cure for good would ask for the hours of a whole age."""
    last = plan.timetable.begins_at + timedelta(weeks=6)
    return [w for w in plan.timetable.waits if (w.closes_at or w.opens_at) < last]
