"""A plan as plain text, for a terminal: a table for each day, then what it found."""

import textwrap
from collections.abc import Iterator, Sequence
from datetime import datetime, tzinfo
from itertools import groupby

from benchtool.plan.stepsday import DayPlan
from benchtool.plan.work import By, Placed, Work
from benchtool.sheets.plan_words import DAYS, MONTHS, moment, next_words, told_of, waits_into
from benchtool.sheets.values import plain
from benchtool.trade.saying import say, say_n
from benchtool.trade.windows import WindowKind

WIDTH = 92
"""Columns a line may take: an ordinary terminal at an ordinary size."""

MOST_NAME = 28
"""A longer name of a piece is cut in the table."""


def plan_text(plan: DayPlan, *, notes: Sequence[str] = (), zone: tzinfo | None = None) -> str:
    """Write a plan. Times are shown in `zone`, None for this computer's own; `notes` are about the files."""
    return "\n".join(_lines(plan, notes, zone)) + "\n"


def _lines(plan: DayPlan, notes: Sequence[str], zone: tzinfo | None) -> Iterator[str]:
    now = plan.asked_at
    here = now.astimezone(zone)
    for note in notes:
        yield from _wrapped(note)
    titles = [plain(title) for title in plan.jobs.values()]
    listed = ", ".join(titles[:4]) + (say(" and {n} more", n=len(titles) - 4) if len(titles) > 4 else "")
    yield from _wrapped(say("Plan of {jobs}, as of {time}", jobs=listed, time=f"{here:%a %d %b %Y, %H:%M}"))
    yield from _wrapped(next_words(plan, now, zone))
    yield from _days(plan, zone)
    tails = list(_tails(plan, now, zone))
    if tails:
        yield ""
        yield say("After the last coat")
        yield from tails
    told = told_of(plan, zone)
    if told:
        yield ""
        for one in told:
            yield from _wrapped(f"{one.word}: {one.sentence}", hang=2)
    yield ""
    yield from _wrapped(_by(plan))


def _days(plan: DayPlan, zone: tzinfo | None) -> Iterator[str]:
    several = len(plan.jobs) > 1
    rows = [(p, _piece(plan, p, several=several)) for p in plan.timetable.placed]
    wide = max((len(name) for _, name in rows), default=0)
    for day, steps in groupby(rows, lambda r: r[0].starts_at.astimezone(zone).date()):
        yield ""
        yield f"{DAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]}"
        for placed, name in steps:
            start, end = (at.astimezone(zone) for at in (placed.starts_at, placed.ends_at))
            closes = _closes(plan, placed, zone)
            line = f"  {start:%H:%M}-{end:%H:%M}  {name:<{wide}}  {plain(placed.task.words)}"
            yield from textwrap.wrap(line + closes, WIDTH, subsequent_indent=" " * (wide + 17)) or [line]


def _piece(plan: DayPlan, placed: Placed, *, several: bool) -> str:
    name = plain(plan.piece_name(placed.task.job, placed.task.piece))
    if several:
        same = {(c.job, c.piece) for c in plan.chains if plain(c.piece_name) == name}
        if len(same) > 1:
            name = f"{name} ({plain(plan.jobs.get(placed.task.job, placed.task.job))})"
    return name if len(name) <= MOST_NAME else name[: MOST_NAME - 1] + "…"


def _closes(plan: DayPlan, placed: Placed, zone: tzinfo | None) -> str:
    """Say until when a coat had to be on, where its window closes."""
    if placed.task.work is not Work.COAT:
        return ""
    over = [w for w in waits_into(plan, placed) if w.closes_at is not None and not w.missed]
    first = min(over, key=lambda w: w.closes_at or w.opens_at, default=None)
    if first is None or first.closes_at is None:
        return ""
    until = moment(first.closes_at, placed.starts_at, zone)
    life = first.kind is WindowKind.POT_LIFE
    return "  " + (say("(cup until {time})", time=until) if life else say("(closes {time})", time=until))


def _tails(plan: DayPlan, now: datetime, zone: tzinfo | None) -> Iterator[str]:
    for wait in plan.timetable.waits:
        if wait.kind not in (WindowKind.TAPE, WindowKind.CURE):
            continue
        name, until = plain(plan.piece_name(wait.job, wait.piece)), moment(wait.opens_at, now, zone)
        if not until:
            yield from _wrapped(
                say("{piece}: {wait}, and does not get there in this air.", piece=name, wait=wait.words), 2
            )
        else:
            yield from _wrapped(say("{piece}: {wait}, until {time}.", piece=name, wait=wait.words, time=until), 2)


def _by(plan: DayPlan) -> str:
    table = plan.timetable
    n = sum(1 for c in plan.chains if c.tasks)
    count = say_n("{n} piece has work left.", "{n} pieces have work left.", n)
    if n < 2 or not table.placed:
        return count
    if table.proved:
        return f"{count} " + say("No better order exists by these figures.")
    if table.by is By.AS_THEY_CAME:
        return f"{count} " + say("They are taken as they came in: no better order was found.")
    return f"{count} " + say("The order is the best that was found, and no worse than as they came in.")


def _wrapped(text: str, indent: int = 0, *, hang: int = 0) -> list[str]:
    first = " " * indent
    return textwrap.wrap(
        plain(text), WIDTH, initial_indent=first, subsequent_indent=first + " " * hang, break_on_hyphens=False
    )
