"""Cups as late as may be: a plan puts all work as early as it can, and paint that is mixed early only gets old.

Each mixing and reducing is moved later, into time that its own pair of hands has free anyway, as far as its stand time
and the work after it allow. Nothing else moves, so that no piece is done later, and a pot life only gets longer.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from benchtool.plan.faults import faults
from benchtool.plan.hours import ShopHours
from benchtool.plan.work import Chain, Link, Placed, Room, Timetable, Waiting, Work

CUPS = (Work.MIX, Work.REDUCE)
MOST_TRIES = 12

NOWHERE = -1
"""The place of a remedy among the tasks of its chain: no wait begins with it, so that it may be as late as it can."""


def with_late_cups(table: Timetable, chains: Sequence[Chain], room: Room, hours: ShopHours) -> Timetable:
    """Give the same plan with every cup as late as may be; the plan as it was where the checker finds fault with it."""
    rows = {p.task.id: p for p in table.placed}
    waits = list(table.waits)
    places = {t.id: (chain, k) for chain in chains for k, t in enumerate(chain.tasks)}
    places |= {x.remedy.id: (chain, NOWHERE) for chain in chains for x in chain.links if x.remedy is not None}
    for old in sorted(table.placed, key=lambda p: p.starts_at, reverse=True):
        if old.task.work not in CUPS or old.task.began_at is not None or old.task.id not in places:
            continue
        chain, k = places[old.task.id]
        starts_at = _latest(old, chain, k, rows, hours)
        if starts_at is not None and starts_at > old.starts_at:
            new = replace(old, starts_at=starts_at, ends_at=starts_at + (old.ends_at - old.starts_at))
            rows[old.task.id] = new
            waits = [_moved(w, [x for x in chain.links if x.first == k], old, new) for w in waits]
    if all(rows[p.task.id] is p for p in table.placed):
        return table
    placed = tuple(sorted(rows.values(), key=lambda p: (p.starts_at, p.ends_at)))
    keys = dict.fromkeys((p.task.job, p.task.piece) for p in placed)
    late = replace(
        table,
        placed=placed,
        waits=tuple(sorted(waits, key=lambda w: (w.from_at, w.opens_at))),
        order=(*keys, *(key for key in table.order if key not in keys)),
    )
    return table if faults(late, chains, room, hours) else late


def _latest(old: Placed, chain: Chain, k: int, rows: dict[str, Placed], hours: ShopHours) -> datetime | None:
    """Give how late a cup can begin, None where it stays where it is."""
    length = old.ends_at - old.starts_at
    mine = (p for p in rows.values() if (p.task.job, p.task.piece) == (chain.job, chain.piece))
    end = min((p.starts_at for p in mine if p is not old and p.starts_at >= old.ends_at), default=old.ends_at)
    for link in chain.links:
        then = rows.get(chain.tasks[link.then].id) if link.first == k and link.then is not None else None
        if then is not None and not link.from_start:
            end = _in_time(link, end, then.starts_at)
    busy = sorted((p for p in rows.values() if p.hand == old.hand and p is not old), key=lambda p: p.starts_at)
    for span in reversed(hours.spans(old.starts_at, end)):
        last = min(span.closes_at, end)
        for other in reversed(busy):
            if other.starts_at >= last or other.ends_at <= span.opens_at:
                continue
            if other.ends_at + length <= last:
                break
            last = min(last, other.starts_at)
        start = (last - length).replace(microsecond=0)
        if start >= span.opens_at and not any(p.starts_at < start + length and start < p.ends_at for p in busy):
            return start
    return None


def _in_time(link: Link, end: datetime, then: datetime) -> datetime:
    """Give the last end of a cup, no later than `end`, after which its wait is over by `then`."""
    for _ in range(MOST_TRIES):
        over = link.opens(end) - then
        if over <= timedelta(0):
            return end
        end -= over
    return datetime.min.replace(tzinfo=end.tzinfo)


def _moved(wait: Waiting, links: Sequence[Link], old: Placed, new: Placed) -> Waiting:
    """Give a wait as it is after its cup was moved; any other as it was."""
    if (wait.job, wait.piece) != (old.task.job, old.task.piece):
        return wait
    for link in links:
        before, after = (old.starts_at, new.starts_at) if link.from_start else (old.ends_at, new.ends_at)
        if (link.kind, link.words, before) == (wait.kind, wait.words, wait.from_at):
            return replace(wait, from_at=after, opens_at=link.opens(after), closes_at=link.closes(after))
    return wait
