"""What is wrong with a plan, found by going through it once more: shares no code with what made it."""

from collections.abc import Callable, Iterator, Sequence
from datetime import timedelta
from itertools import pairwise

from benchtool.plan.hours import ShopHours
from benchtool.plan.work import Chain, Link, Placed, Room, Timetable

_SECOND = timedelta(seconds=1)


def faults(timetable: Timetable, chains: Sequence[Chain], room: Room, hours: ShopHours) -> tuple[str, ...]:
    """Say what is wrong with a plan, nothing where it holds: for a log, not for the painter.

    Nothing lies over another on the same hand, booth or gun, or out of hours; every piece is done whole or left out
    with a reason; every wait is kept, and every closing window kept or its remedy done in between. What was begun
    already may lie where it will.
    """
    return (
        *_pieces(timetable, chains),
        *_shared(timetable, room),
        *_hours(timetable, hours),
        *(fault for chain in chains for fault in _chain(timetable, chain)),
    )


def _name(placed: Placed) -> str:
    return f"{placed.task.job}/{placed.task.piece}/{placed.task.id}"


def _left_out(timetable: Timetable) -> set[tuple[str, str]]:
    return {(cant.job, cant.piece) for cant in timetable.cant}


def _pieces(timetable: Timetable, chains: Sequence[Chain]) -> Iterator[str]:
    out = _left_out(timetable)
    for chain in chains:
        mine = [p for p in timetable.placed if (p.task.job, p.task.piece) == (chain.job, chain.piece)]
        if (chain.job, chain.piece) in out:
            if any(p.task.began_at is None for p in mine):
                yield f"{chain.job}/{chain.piece} is left out, and has work in the plan"
            continue
        ids = [p.task.id for p in mine]
        if len(ids) != len(set(ids)):
            yield f"{chain.job}/{chain.piece} has a task twice"
        for task in chain.tasks:
            if task.id not in ids:
                yield f"{chain.job}/{chain.piece}/{task.id} is not in the plan"
        remedies = {link.remedy.id for link in chain.links if link.remedy is not None}
        for extra in set(ids) - {task.id for task in chain.tasks} - remedies:
            yield f"{chain.job}/{chain.piece}/{extra} is no work of it"
    known = {(chain.job, chain.piece) for chain in chains}
    for placed in timetable.placed:
        if (placed.task.job, placed.task.piece) not in known:
            yield f"{_name(placed)} is of no piece"
        if placed.task.began_at is not None and placed.starts_at != placed.task.began_at:
            yield f"{_name(placed)} was begun at another time"
        took = placed.ends_at - placed.starts_at
        wants = timedelta(seconds=placed.task.takes_s)
        if took < wants or (placed.task.began_at is None and took >= wants + _SECOND):
            yield f"{_name(placed)} takes {took}, not {wants}"
        if placed.task.began_at is None and placed.starts_at < timetable.begins_at:
            yield f"{_name(placed)} begins in the past"
        if placed.task.began_at is None and placed.ends_at > timetable.until:
            yield f"{_name(placed)} ends after the plan"


def _shared(timetable: Timetable, room: Room) -> Iterator[str]:
    for placed in timetable.placed:
        if placed.task.began_at is None:
            yield from _number(placed, "hand", placed.hand, room.hands)
            if placed.task.booth:
                yield from _number(placed, "booth", placed.booth, room.booths)
            if placed.task.gun is not None:
                yield from _number(placed, placed.task.gun.value, placed.gun_number, room.guns.get(placed.task.gun, 0))
    of: tuple[tuple[str, Callable[[Placed], object]], ...] = (
        ("hand", lambda p: p.hand),
        ("booth", lambda p: p.booth if p.task.booth else None),
        ("gun", lambda p: (p.task.gun, p.gun_number) if p.task.gun is not None else None),
    )
    for what, which in of:
        rows: dict[object, list[Placed]] = {}
        for placed in timetable.placed:
            if which(placed) is not None and placed.ends_at > placed.starts_at:
                rows.setdefault(which(placed), []).append(placed)
        for row in rows.values():
            row.sort(key=lambda p: p.starts_at)
            latest = row[0]
            for placed in row[1:]:
                both_begun = placed.task.began_at is not None and latest.task.began_at is not None
                if placed.starts_at < latest.ends_at and not both_begun:
                    yield f"{_name(latest)} and {_name(placed)} have the same {what} at once"
                latest = max(latest, placed, key=lambda p: p.ends_at)


def _number(placed: Placed, what: str, number: int | None, count: int) -> Iterator[str]:
    if number is None or not 0 <= number < count:
        yield f"{_name(placed)} has {what} {number} of {count}"


def _hours(timetable: Timetable, hours: ShopHours) -> Iterator[str]:
    for placed in timetable.placed:
        if placed.task.began_at is None and not hours.fits(placed.starts_at, placed.ends_at - placed.starts_at):
            yield f"{_name(placed)} lies out of hours, {placed.starts_at} to {placed.ends_at}"


def _chain(timetable: Timetable, chain: Chain) -> Iterator[str]:
    if (chain.job, chain.piece) in _left_out(timetable):
        return
    mine = {p.task.id: p for p in timetable.placed if (p.task.job, p.task.piece) == (chain.job, chain.piece)}
    if any(task.id not in mine for task in chain.tasks):
        return  # said already
    rows = [mine[task.id] for task in chain.tasks]
    for before, after in pairwise(rows):
        if after.starts_at < before.ends_at and after.task.began_at is None:
            yield f"{_name(after)} starts before {_name(before)} ends"
    for link in chain.links:
        yield from _link(chain, link, rows, mine)
    missed = sum(w.missed for w in timetable.waits if (w.job, w.piece) == (chain.job, chain.piece))
    done = sum(link.remedy is not None and link.remedy.id in mine for link in chain.links)
    if missed != done:
        yield f"{chain.job}/{chain.piece} has {missed} windows missed and {done} remedies"


def _link(chain: Chain, link: Link, rows: Sequence[Placed], mine: dict[str, Placed]) -> Iterator[str]:
    if link.then is None:
        return
    then = rows[link.then]
    if then.task.began_at is not None:
        return
    since = link.since
    if link.first is not None:
        since = rows[link.first].starts_at if link.from_start else rows[link.first].ends_at
    if since is None:
        return
    if then.starts_at < link.opens(since):
        yield f"{_name(then)} starts before “{link.words}” is over"
    closes = link.closes(since)
    if closes is None:
        return
    remedy = mine.get(link.remedy.id) if link.remedy is not None else None
    if remedy is not None:
        if remedy.starts_at < max(closes, since) or remedy.ends_at > then.starts_at:
            yield f"{_name(remedy)} does not lie between the close of “{link.words}” and {_name(then)}"
        elif remedy.starts_at < link.opens(since):
            yield f"{_name(remedy)} begins before “{link.words}” is over"
        if link.remedy_lasts_s is not None and then.ends_at - remedy.starts_at > timedelta(seconds=link.remedy_lasts_s):
            yield f"{_name(then)} ends after what “{link.words}” was made anew with is over"
    elif then.ends_at > closes if link.by_end else then.starts_at >= closes:
        yield f"{_name(then)} is too late for “{link.words}” in {chain.job}/{chain.piece}"
