"""Why a piece found no place in a plan, in a sentence with its numbers."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from benchtool.plan.freetime import Free
from benchtool.plan.hours import DAY_MIN, ShopHours
from benchtool.plan.lines import Line, line_of
from benchtool.plan.placing import Stuck, place
from benchtool.plan.work import Chain, Link, Room, Task
from benchtool.trade.durations import write_span
from benchtool.trade.saying import say, say_n
from benchtool.trade.windows import FOR_GOOD

_MINUTE = timedelta(minutes=1)
_ALWAYS = ShopHours({day: [(0, DAY_MIN)] for day in range(7)}, UTC)


def because(
    chain: Chain, stuck: Stuck, line: Line, room: Room, hours: ShopHours, now: datetime, until: datetime
) -> str:
    """Say why a piece can't be done even alone in the shop: the plainest reason there is."""
    todo = [task for task in chain.tasks if task.began_at is None]
    return (
        _shut(hours, now, until)
        or next((words for task in todo if (words := _too_long(task, hours, now, until))), None)
        or next((words for link in chain.links if (words := _for_good(chain, link, now))), None)
        or (_window(line, stuck, room, hours, now, until) if stuck.link is not None else None)
        or say(
            "There is no time for “{task}” before {until}: {hours}",
            task=line.tasks[stuck.task].words,
            until=hours.said(until),
            hours=_open(hours),
        )
    )


def lacking(chain: Chain, room: Room) -> str | None:
    """Say what the work on a piece needs that the shop has none of; None where it has all."""
    todo = (task for task in chain.tasks if task.began_at is None)
    return next((words for task in todo if (words := _lacks(task, room))), None)


def crowded(chain: Chain, hours: ShopHours, until: datetime) -> str:
    """Say that a piece could be done alone, and has no place beside the others."""
    return say(
        "Alone {piece} could be done, but beside the other work no start before {until} keeps its windows.",
        piece=chain.piece_name,
        until=hours.said(until),
    )


# --- the shop ---------------------------------------------------------------------------------------------


def _shut(hours: ShopHours, now: datetime, until: datetime) -> str | None:
    if hours.never_opens:
        return say("Your shop never opens by its hours: give it at least one opening a week.")
    if not hours.spans(now, until):
        return say("Your shop does not open before {until}: {hours}", until=hours.said(until), hours=_open(hours))
    return None


def _lacks(task: Task, room: Room) -> str | None:
    if room.hands < 1:
        return say("“{task}” takes a pair of hands, and the shop has none by its figures.", task=task.words)
    if task.booth and room.booths < 1:
        return say("“{task}” needs a booth, and the shop has none by its figures.", task=task.words)
    if task.gun is not None and room.guns.get(task.gun, 0) < 1:
        return say("“{task}” needs {gun}, and the shop has none by its figures.", task=task.words, gun=task.gun.named)
    return None


def _too_long(task: Task, hours: ShopHours, now: datetime, until: datetime) -> str | None:
    longest = max(span.lasts_s for span in hours.spans(now, until))
    if task.takes_s <= longest:
        return None
    return say(
        "“{task}” takes {takes}, and the longest your shop is open without a break is {longest}, and it can't be "
        "broken off.",
        task=task.words,
        takes=_span(task.takes_s),
        longest=_span(longest),
    )


def _open(hours: ShopHours) -> str:
    if hours.always:
        return say("your shop is open day and night.")
    usual = hours.usual
    if usual is None or usual == (0, DAY_MIN):
        return say("your shop is not always open.")
    opens, closes = usual
    return say("your shop is open {opens}–{closes}.", opens=_wall(opens), closes=_wall(closes))


def _wall(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"


def _span(seconds: float) -> str:
    """Write a length of time to the minute; below an hour to the second."""
    span = timedelta(seconds=round(seconds))
    if span >= timedelta(hours=1):
        span = round(span / _MINUTE) * _MINUTE
    return write_span(max(span, timedelta(0)))


# --- the waits --------------------------------------------------------------------------------------------


def _since(chain: Chain, link: Link, now: datetime) -> datetime:
    if link.first is None:
        return link.since if link.since is not None else now
    began = chain.tasks[link.first].began_at
    return began if began is not None else now


def _for_good(chain: Chain, link: Link, now: datetime) -> str | None:
    if link.then is None or link.opens(_since(chain, link, now)) < FOR_GOOD:
        return None
    return say("“{wait}” never ends in the air that is expected: warm the shop, or dry it.", wait=link.words)


def _window(line: Line, stuck: Stuck, room: Room, hours: ShopHours, now: datetime, until: datetime) -> str | None:
    chain, link = line.chain, stuck.link
    if link is None or link.then is None:
        return None
    since = _since(chain, link, now)
    opens, closes = link.opens(since), link.closes(since)
    if closes is None:
        return None
    then = chain.tasks[link.then].words
    named = {"wait": link.words, "then": then, "hours": _open(hours)}
    if link.first is None or chain.tasks[link.first].began_at is not None:
        return _running(link, opens, closes, hours, now, then)
    named["opens"], named["closes"] = _span((opens - since).total_seconds()), _span((closes - since).total_seconds())
    named["first"] = chain.tasks[link.first].words
    if opens >= closes:
        return say("“{wait}” opens after {opens}, and has closed before that, after {closes}.", **named)
    if not _works(chain, room, _ALWAYS, now, until, line.remedied):
        return _tight(link, named)
    if opens <= since:
        told = say("“{wait}” closes after {closes}, and {hours}", **named)
    else:
        told = say("“{wait}” opens after {opens} and closes after {closes}, and {hours}", **named)
    alone = _works(_pair(chain, link), room, hours, now, until)
    return f"{told} {_out_of_hours(named, hours.said(until), alone=alone, by_end=link.by_end)}"


def _out_of_hours(named: dict[str, str], until: str, *, alone: bool, by_end: bool) -> str:
    """Say that the hours of the shop keep two steps from their window: by themselves, or with all between them."""
    if alone and by_end:
        return say(
            "With the other waits and the work between them, no start before {until} lets “{then}” end in time.",
            until=until,
            **named,
        )
    if alone:
        return say(
            "With the other waits and the work between them, no start before {until} lets “{then}” begin in time.",
            until=until,
            **named,
        )
    if by_end:
        return say(
            "Whenever “{first}” is begun within these hours, “{then}” would have to be done while the shop is closed.",
            **named,
        )
    return say(
        "Whenever “{first}” ends within these hours, “{then}” would have to be begun while the shop is closed.", **named
    )


def _running(link: Link, opens: datetime, closes: datetime, hours: ShopHours, now: datetime, then: str) -> str:
    named = {"wait": link.words, "then": then, "closes": hours.said(closes), "hours": _open(hours)}
    if closes <= now:
        return say("“{wait}” closed at {closes}, before “{then}” was begun.", **named)
    if opens >= closes:
        return say("“{wait}” closes at {closes}, before it opens at {opens}.", opens=hours.said(opens), **named)
    return say("“{wait}” closes at {closes}, and “{then}” can't be begun in time: {hours}", **named)


def _tight(link: Link, named: dict[str, str]) -> str:
    first, then = link.first or 0, link.then or 0
    between = then - first - 1
    if link.by_end:
        return say(
            "“{wait}” closes after {closes}, and “{then}” can't be over by then, even in a shop that never closes: "
            "the work and the waits before it take longer.",
            **named,
        )
    return say_n(
        "“{wait}” closes after {closes}, and “{then}” can't be begun by then, even in a shop that never closes: with "
        "{n} step between them, the work and the waits take longer.",
        "“{wait}” closes after {closes}, and “{then}” can't be begun by then, even in a shop that never closes: with "
        "{n} steps between them, the work and the waits take longer.",
        between,
        **named,
    )


def _pair(chain: Chain, link: Link) -> Chain:
    """Give a chain of nothing but the two tasks of a link."""
    first, then = link.first or 0, link.then or 0
    tasks = (chain.tasks[first], chain.tasks[then])
    return replace(chain, tasks=tasks, links=(replace(link, first=0, then=1, remedy=None),))


def _works(
    chain: Chain, room: Room, hours: ShopHours, now: datetime, until: datetime, remedied: frozenset[int] = frozenset()
) -> bool:
    try:
        place(line_of(chain, now, remedied), Free.of(room, hours, now, until))
    except Stuck:
        return False
    return True
