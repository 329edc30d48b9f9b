"""The work of a plan on a grid of time: what takes time rounded up, what must be in time rounded down."""

from dataclasses import replace
from datetime import datetime, timedelta

from benchtool.plan.freetime import instant, up
from benchtool.plan.lines import last_of
from benchtool.plan.timetable import Case
from benchtool.plan.work import Chain, Link, Task
from benchtool.trade.windows import FOR_GOOD


def even(case: Case, grid_s: int) -> bool:
    """Say whether rounding to the grid loses nothing: all lengths, waits and hours are whole steps of it.

    (A deadline means to start before it: on the grid that is a step before, off it a moment before.)
    """
    zero = instant(case.start)
    if (
        case.now != zero
        or case.start % grid_s
        or any(
            up(end) % grid_s for span in case.hours.spans(zero, case.until) for end in (span.opens_at, span.closes_at)
        )
    ):
        return False
    return all(_even(chain, zero, grid_s) for chain in case.chains)


def _even(chain: Chain, zero: datetime, grid_s: int) -> bool:
    tasks = [*chain.tasks, *(link.remedy for link in chain.links if link.remedy is not None)]
    if any(task.takes_s % grid_s or task.began_at is not None for task in tasks):
        return False
    for link in chain.links:
        since = link.since if link.first is None and link.since is not None else zero
        opens, last = link.opens(since), last_of(link, link.closes(since))
        if not link.constant or (opens < FOR_GOOD and (opens - zero) % timedelta(seconds=grid_s)):
            return False
        if last is not None and last % grid_s not in ((0,) if link.by_end else (0, grid_s - 1)):
            return False
    return True


def on_grid(chain: Chain, grid_s: int) -> Chain:
    """Give a chain as it is on the grid: what it takes and its waits rounded up, its deadlines down."""
    tasks = tuple(_rounded(task, grid_s) for task in chain.tasks)
    return replace(chain, tasks=tasks, links=tuple(_rounded_link(link, grid_s) for link in chain.links))


def _rounded(task: Task, grid_s: int) -> Task:
    return task if task.began_at is not None else replace(task, takes_s=float(-(-task.takes_s // grid_s) * grid_s))


def _rounded_link(link: Link, grid_s: int) -> Link:
    def opens(end: datetime) -> datetime:
        at = link.opens(end)
        return at if at >= FOR_GOOD else instant(-(-up(at) // grid_s) * grid_s)

    def closes(end: datetime) -> datetime | None:
        last = last_of(link, link.closes(end))
        if last is None:
            return None
        return instant(last // grid_s * grid_s + (0 if link.by_end else 1))

    remedy = None if link.remedy is None else _rounded(link.remedy, grid_s)
    return replace(link, opens=opens, closes=closes, remedy=remedy)
