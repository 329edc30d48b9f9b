"""What a plan says in sentences: what to do next, what falls into the night, what would be missed, what can't fit."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta, tzinfo
from typing import NamedTuple

from benchtool.job.cards import Gun
from benchtool.plan.hours import ShopHours
from benchtool.plan.stepsday import DayPlan
from benchtool.plan.work import Chain, Link, Placed, Waiting, Work
from benchtool.trade.numbers import span_words
from benchtool.trade.saying import say, say_n
from benchtool.trade.windows import FOR_GOOD, WindowKind

TAILS = (WindowKind.TAPE, WindowKind.CURE)
"""Waits that nothing follows."""

NOW = timedelta(minutes=1)
"""What begins so soon begins now."""

MOST_STARTS = 6
"""So many latest starts are told: what is less urgent can wait for the next plan."""

MOST_NIGHTS = 8
"""So many nights are told one by one."""

WORTH_SAYING = timedelta(minutes=5)
"""A better order that saves less is not worth a sentence (judgement)."""

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


class Told(NamedTuple):
    """One thing that a plan says: the word that stands before it, the sentence, and whether it is trouble."""

    word: str
    sentence: str
    trouble: bool = False


def moment(at: datetime, now: datetime, zone: tzinfo | None = None) -> str:
    """Say an instant by the clock on the wall: `10:30`, `Tue 08:00`, `Tue 15 Dec 08:00`; "" for never."""
    if at >= FOR_GOOD:
        return ""
    local, here = at.astimezone(zone), now.astimezone(zone)
    days = (local.date() - here.date()).days
    if days == 0:
        return f"{local:%H:%M}"
    day = DAYS[local.weekday()]
    return f"{day} {local:%H:%M}" if 0 < days < 7 else f"{day} {local.day} {MONTHS[local.month - 1]} {local:%H:%M}"


def next_words(plan: DayPlan, now: datetime, zone: tzinfo | None = None) -> str:
    """Say what the hands do next, and where nothing is left, until when it still dries."""
    todo = [p for p in plan.timetable.placed if p.ends_at > now]
    begun = next((p for p in todo if p.task.began_at is not None), None)
    if begun is not None:
        return say("Now: {words}, {piece}.", words=_lower(begun.task.words), piece=_piece(plan, begun))
    if not todo:
        return _nothing(plan, now, zone)
    first = todo[0]
    told = {"words": _lower(first.task.words), "piece": _piece(plan, first), "time": moment(first.starts_at, now, zone)}
    if first.starts_at <= now + NOW:
        return say("Now: {words}, {piece}, until {end}.", end=moment(first.ends_at, now, zone), **told)
    return say("At {time}: {words}, {piece}.", **told)


def _nothing(plan: DayPlan, now: datetime, zone: tzinfo | None) -> str:
    if plan.timetable.cant:
        return say("Nothing can be done as things stand.")
    last = max((w.opens_at for w in plan.timetable.waits if w.opens_at > now), default=None)
    if last is None:
        return say("Nothing is left to do.")
    until = moment(last, now, zone)
    return say("No work is left: it dries until {time}.", time=until) if until else say("No work is left.")


def told_of(plan: DayPlan, zone: tzinfo | None = None) -> tuple[Told, ...]:
    """Say all that a plan found, what is trouble first."""
    now = plan.asked_at
    return (
        *(
            Told(say("Wrong"), say("The plan does not hold: {what}.", what=fault), trouble=True)
            for fault in plan.faults
        ),
        *(Told(say("Can't fit"), _cant(c.piece_name, c.because), trouble=True) for c in plan.timetable.cant),
        *(Told(say("Missed"), words, trouble=True) for words in missed_words(plan, now, zone)),
        *(Told(say("Late"), words, trouble=True) for words in late_words(plan, now, zone)),
        *(Told(say("Start by"), words) for words in start_by_words(plan, now, zone)),
        *(Told(say("Order"), words) for words in order_words(plan)),
        *(Told(say("Overnight"), words) for words in night_words(plan, now, zone)),
        *(Told(say("Gun"), words) for words in gun_words(plan, now, zone)),
        *(
            Told(say("Stopped"), say("The search was stopped: a better order may be left."))
            for _ in range(plan.stopped)
        ),
        *(Told(say("Not known"), words) for words in dict.fromkeys(d.words for d in plan.doubts)),
    )


def _cant(piece: str, because: str) -> str:
    return say("{piece}: {because}", piece=piece, because=because if because.endswith((".", "!")) else f"{because}.")


# --- windows -----------------------------------------------------------------------------------------


def missed_words(plan: DayPlan, now: datetime, zone: tzinfo | None = None) -> Iterator[str]:
    """Say which closing windows are missed, and what is in the plan in their place."""
    for wait in plan.timetable.waits:
        if not wait.missed or wait.closes_at is None:
            continue
        remedy = _remedy(plan, wait)
        told = {"piece": plan.piece_name(wait.job, wait.piece), "wait": wait.words,
                "time": moment(wait.closes_at, now, zone)}  # fmt: skip
        if remedy is None:
            yield say("{piece}: “{wait}” closes {time}.", **told)
            continue
        told |= {"remedy": _lower(remedy.task.words), "at": moment(remedy.starts_at, now, zone)}
        if wait.closes_at <= now:
            yield say("{piece}: “{wait}” closed {time}. {remedy} at {at}.", **(told | {"remedy": remedy.task.words}))
        else:
            yield say("{piece}: “{wait}” closes {time}, before the next can go on: {remedy} at {at}.", **told)


def _remedy(plan: DayPlan, wait: Waiting) -> Placed | None:
    chain = plan.chain(wait.job, wait.piece)
    links = chain.links if chain is not None else ()
    ids = {x.remedy.id for x in links if x.remedy is not None and chain is not None and _is(plan, chain, x, wait)}
    return next((p for p in plan.timetable.placed if p.task.id in ids), None)


def late_words(plan: DayPlan, now: datetime, zone: tzinfo | None = None) -> Iterator[str]:
    """Say which promised pieces are not done in time, with every wait after their last coat."""
    for chain in plan.chains:
        done = done_at(plan, chain.job, chain.piece)
        if chain.promised is None or done is None or done <= chain.promised:
            continue
        told = {"piece": called(plan, chain.job, chain.piece), "promised": moment(chain.promised, now, zone)}
        if done >= FOR_GOOD:
            yield say("{piece} is promised for {promised}, and it never cures in this air.", **told)
        elif not chain.ready_known:
            at = moment(done, now, zone)
            yield say("{piece} is promised for {promised}, and is not ready before {time}.", time=at, **told)
        else:
            yield say("{piece} is promised for {promised}, and is ready {time}.", time=moment(done, now, zone), **told)


def done_at(plan: DayPlan, job: str, piece: str) -> datetime | None:
    """Give when a piece is done with its last wait; None where it found no place."""
    ends = [p.ends_at for p in plan.timetable.placed if (p.task.job, p.task.piece) == (job, piece)]
    waits = [w.opens_at for w in plan.timetable.waits if (w.job, w.piece) == (job, piece) and w.kind in TAILS]
    return max([*ends, *waits], default=None)


def start_by_words(plan: DayPlan, now: datetime, zone: tzinfo | None = None) -> Iterator[str]:
    """Say the latest start that still works, the most urgent first."""
    for latest in plan.latest[:MOST_STARTS]:
        told = {"piece": called(plan, latest.job, latest.piece), "task": latest.task.words,
                "time": moment(latest.for_today, now, zone)}  # fmt: skip
        words = say("{piece}: “{task}” by {time} at the latest, or the day's work on it does not fit.", **told)
        if latest.for_promise is not None:
            words += " " + say(
                "Begun by {time} it is still done as promised.", time=moment(latest.for_promise, now, zone)
            )
        yield words


# --- nights --------------------------------------------------------------------------------------------


def nights(plan: DayPlan) -> tuple[tuple[Waiting, datetime], ...]:
    """Give the waits that fall into hours in which the shop is shut, each with when it goes on with the piece.

    They run in them, or the window that they open stays open over them and closes some time.
    """
    found = []
    for wait in plan.timetable.waits:
        if wait.kind in (*TAILS, WindowKind.POT_LIFE) or wait.missed:
            continue
        then = _after(plan, wait)
        if then is None:
            continue
        over = wait.closes_at is not None and _shut_between(plan.hours, wait.opens_at, then.starts_at)
        if over or _shut_between(plan.hours, max(wait.from_at, plan.asked_at), wait.opens_at):
            found.append((wait, then.starts_at))
    return tuple(found)


def _after(plan: DayPlan, wait: Waiting) -> Placed | None:
    """Give the work that a wait is for."""
    chain = plan.chain(wait.job, wait.piece)
    links = chain.links if chain is not None else ()
    ids = {
        chain.tasks[x.then].id for x in links
        if chain is not None and x.then is not None and _is(plan, chain, x, wait)
    }  # fmt: skip
    return next((p for p in plan.timetable.placed if p.task.id in ids), None)


def waits_into(plan: DayPlan, placed: Placed) -> tuple[Waiting, ...]:
    """Give the waits that a step had to keep."""
    task = placed.task
    chain = plan.chain(task.job, task.piece)
    if chain is None:
        return ()
    links = [x for x in chain.links if x.then is not None and chain.tasks[x.then].id == task.id]
    mine = (w for w in plan.timetable.waits if (w.job, w.piece) == (task.job, task.piece))
    return tuple(w for w in mine if any(_is(plan, chain, x, w) for x in links))


def _is(plan: DayPlan, chain: Chain, link: Link, wait: Waiting) -> bool:
    """Say whether a wait of the timetable is this link's: two cups of one layer differ in when they were poured."""
    if (link.kind, link.words) != (wait.kind, wait.words):
        return False
    if link.first is None:
        return link.since == wait.from_at
    first = chain.tasks[link.first].id
    return any(
        wait.from_at == (p.starts_at if link.from_start else p.ends_at)
        for p in plan.timetable.placed
        if p.task.id == first
    )


def _shut_between(hours: ShopHours, start: datetime, end: datetime) -> bool:
    spans = hours.spans(start, end)
    return end > start and (len(spans) != 1 or spans[0].opens_at > start or spans[0].closes_at < end)


def night_words(plan: DayPlan, now: datetime, zone: tzinfo | None = None) -> Iterator[str]:
    """Say what falls into the night: what opens while the shop is shut, what closes after it, what stands in a cup."""
    words = [*_cup_words(plan, now, zone), *_wait_words(plan, now, zone)]
    yield from words[:MOST_NIGHTS]
    more = len(words) - MOST_NIGHTS
    if more > 0:
        yield say_n("{n} more wait falls into a later night.", "{n} more waits fall into later nights.", more)


def _wait_words(plan: DayPlan, now: datetime, zone: tzinfo | None) -> Iterator[str]:
    for wait, goes_on in nights(plan):
        told = {"piece": plan.piece_name(wait.job, wait.piece), "wait": wait.words,
                "open": moment(wait.opens_at, now, zone), "at": moment(goes_on, now, zone)}  # fmt: skip
        if wait.closes_at is not None:
            closes = moment(wait.closes_at, now, zone)
            yield say("{piece}: “{wait}” opens {open} and closes {closes}; it goes on at {at}.", closes=closes, **told)
        else:
            yield say("{piece}: “{wait}” is over {open}; it goes on at {at}.", **told)


def _cup_words(plan: DayPlan, now: datetime, zone: tzinfo | None) -> Iterator[str]:
    """Say which cups are mixed on one day and sprayed on another: only a card with a pot life keeps a plan from it."""
    mixed: dict[tuple[str, str, str | None], Placed] = {}
    for placed in plan.timetable.placed:
        key = (placed.task.job, placed.task.piece, placed.task.layer)
        if placed.task.work in (Work.MIX, Work.REDUCE):
            mixed.setdefault(key, placed)
        cup = mixed.pop(key, None) if placed.task.work is Work.COAT else None
        if cup is not None and _shut_between(plan.hours, cup.ends_at, placed.starts_at):
            yield say(
                "{piece}: {layer}, mixed at {time}, stands in its cup until {at}. Look on its sheet how long it keeps, "
                "or mix it in the morning.",
                piece=_piece(plan, cup), layer=plan.layer_name(*key),
                time=moment(cup.starts_at, now, zone), at=moment(placed.starts_at, now, zone),
            )  # fmt: skip


# --- order and guns ------------------------------------------------------------------------------------


def order_words(plan: DayPlan) -> Iterator[str]:
    """Say in which order to take the pieces, where that is better than the one in which they came in."""
    table = plan.timetable
    came = [(c.job, c.piece) for c in plan.chains if c.tasks]
    order = [key for key in table.order if key in came]
    if table.cost >= table.simple or len(order) < 2:
        return
    saved = timedelta(seconds=table.simple.last_s - table.cost.last_s)
    names = [called(plan, *key) for key in order]
    listed, more = ", ".join(names[:MOST_ORDERED]), len(names) - MOST_ORDERED
    better = _better(plan, saved)
    if not better:
        return
    if order == [key for key in came if key in order]:
        yield say("Go from piece to piece as planned: {better} than one after another.", better=better)
    elif more > 0:
        yield say(
            "In this order {better} than as they came in: {names} and {n} more.", names=listed, better=better, n=more
        )
    else:
        words = say("In this order {better} than as they came in: {names}", names=listed.rstrip(" .…"), better=better)
        yield f"{words}."


def _better(plan: DayPlan, saved: timedelta) -> str:
    cost, simple = plan.timetable.cost, plan.timetable.simple
    if cost.left_out < simple.left_out:
        n = simple.left_out - cost.left_out
        return say_n("{n} piece more finds a place", "{n} pieces more find a place", n)
    if cost.missed < simple.missed:
        n = simple.missed - cost.missed
        return say_n("{n} window less is missed", "{n} windows less are missed", n)
    if cost.late_s < simple.late_s:
        return say("{time} less is late", time=span_words(simple.late_s - cost.late_s))
    if saved >= WORTH_SAYING:
        return say("the last work ends {time} sooner", time=span_words(saved.total_seconds()))
    each = (simple.sum_s - cost.sum_s) / max(1, len(plan.chains))
    if each >= WORTH_SAYING.total_seconds():
        return say("a piece is ready {time} sooner on average", time=span_words(each))
    return ""


def gun_words(plan: DayPlan, now: datetime, zone: tzinfo | None = None) -> Iterator[str]:
    """Say where a gun sprays another paint before it was cleaned, for more cups are under way than there are guns."""
    under_way: dict[tuple[Gun, int], Placed] = {}
    told: set[Gun] = set()
    for placed in plan.timetable.placed:
        gun, number = placed.task.gun, placed.gun_number
        if gun is None or number is None:
            continue
        before = under_way.pop((gun, number), None)
        if placed.task.work is Work.COAT:
            under_way[gun, number] = placed
        if before is None or gun in told or _same_paint(before, placed):
            continue
        told.add(gun)
        yield say(
            "Between two coats {gun} takes another paint, first at {time}: rinse it each time, or have one more.",
            gun=gun.named, time=moment(placed.starts_at, now, zone),
        )  # fmt: skip


def _same_paint(before: Placed, after: Placed) -> bool:
    return (before.task.job, before.task.layer) == (after.task.job, after.task.layer)


MOST_ORDERED = 6
"""So many pieces are told in their order."""


# --- words -----------------------------------------------------------------------------------------------


def called(plan: DayPlan, job: str, piece: str) -> str:
    """Give what a piece is called, with its job where several are open, or two pieces have one name."""
    name = plan.piece_name(job, piece)
    alone = len(plan.jobs) < 2 and sum(c.piece_name == name for c in plan.chains) < 2
    return name if alone else say("{piece} ({job})", piece=name, job=plan.jobs.get(job, job))


def _piece(plan: DayPlan, placed: Placed) -> str:
    return plan.piece_name(placed.task.job, placed.task.piece)


def _lower(words: str) -> str:
    return words[:1].lower() + words[1:]


def trouble(told: Sequence[Told]) -> bool:
    """Say whether any of it is trouble."""
    return any(t.trouble for t in told)
