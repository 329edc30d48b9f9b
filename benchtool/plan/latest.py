"""How long a piece can still wait, and what of its plan falls into the hours in which the shop is closed."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from benchtool.plan.freetime import Free, Need, down, instant, up
from benchtool.plan.hours import ShopHours
from benchtool.plan.lines import Line, line_of, needs_of
from benchtool.plan.placing import Stuck, place
from benchtool.plan.work import Chain, Placed, Room, Task, Timetable, Waiting
from benchtool.trade.saying import say
from benchtool.trade.windows import FOR_GOOD


@dataclass(frozen=True, slots=True, kw_only=True)
class Latest:
    """How late the next work on a piece can begin, all other work lying as planned.

    By `for_today` all that is planned in the same opening is still done in it (within a day where the shop never
    closes), and every window after it kept. By
    `for_promise` the piece is still done when it was promised; None where nothing was promised, or it is late already.
    """

    job: str
    piece: str
    task: Task
    planned_at: datetime
    for_today: datetime
    for_promise: datetime | None
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Night:
    """A wait of a plan that runs, is over or closes while the shop is closed.

    `runs` says that it runs in closed hours; `over_shut` that it is over in them, and `opens_at` when the shop opens
    after that. `closes_shut` says that its window closes in them: then `begin_by` is when the shop closes before that,
    None where it is not open at all between the opening and the closing of the window.
    """

    waiting: Waiting
    runs: bool
    over_shut: bool
    opens_at: datetime | None
    closes_shut: bool
    begin_by: datetime | None
    words: str


# --- the latest start ------------------------------------------------------------------------------------


class _Taken:
    """What other pieces take of the shop."""

    def __init__(self, placed: Sequence[Placed]) -> None:
        self.starts = [down(p.starts_at) for p in placed]
        self.lengths = [up(p.ends_at) - down(p.starts_at) for p in placed]
        self.begun: list[int | None] = [None] * len(placed)
        self.needs: list[tuple[Need, ...]] = [needs_of(p.task) for p in placed]


def latest_start(timetable: Timetable, chain: Chain, room: Room, hours: ShopHours) -> Latest | None:
    """Give how late the first work of a piece that is not begun can begin; None where none is planned.

    Starting later only ever puts off what follows, so the latest start is found by halving.
    """
    mine = [p for p in timetable.placed if (p.task.job, p.task.piece) == (chain.job, chain.piece)]
    ids = {p.task.id for p in mine}
    if any(task.id not in ids for task in chain.tasks) or all(p.task.began_at is not None for p in mine):
        return None
    remedied = frozenset(n for n, link in enumerate(chain.links) if link.remedy is not None and link.remedy.id in ids)
    line = line_of(chain, timetable.begins_at, remedied)
    free = Free.of(room, hours, timetable.begins_at, timetable.until)
    others = _Taken([p for p in timetable.placed if (p.task.job, p.task.piece) != (chain.job, chain.piece)])
    free.add(others, others.starts)
    planned = {p.task.id: p for p in mine}
    k = next(k for k, begun in enumerate(line.begun) if begun is None)
    at = planned[line.tasks[k].id].starts_at
    shuts = min(hours.closes_after(at) or timetable.until, at + timedelta(days=1))
    highs = [
        min(high, down(shuts) - line.lengths[n]) if n >= k and planned[line.tasks[n].id].starts_at < shuts else high
        for n, high in enumerate(line.highs)
    ]
    today = _last(line, free, k, up(at), down(min(shuts, timetable.until)), highs, lambda _starts: True)
    promise = None
    if chain.promised is not None and chain.ready_known:
        by = down(chain.promised)
        end = min(by, down(timetable.until))
        promise = _last(line, free, k, up(at), end, line.highs, lambda starts: line.done(starts) <= by)
    for_today = instant(today) if today is not None else at
    return Latest(
        job=chain.job,
        piece=chain.piece,
        task=line.tasks[k],
        planned_at=at,
        for_today=for_today,
        for_promise=None if promise is None else instant(promise),
        words=_latest_words(chain, line.tasks[k], for_today, promise, hours),
    )


def _last(
    line: Line,
    free: Free,
    k: int,
    low: int,
    high: int,
    highs: Sequence[int],
    holds: Callable[[Sequence[int]], bool],
) -> int | None:
    """Give the last start of the task at `k`, from `low` to `high`, that keeps everything; None if none does."""

    def works(at: int) -> bool:
        lows = list(line.lows)
        lows[k] = max(lows[k], at)
        try:
            return holds(place(line, free, lows=lows, highs=highs))
        except Stuck:
            return False

    if high < low or not works(low):
        return None
    while low < high:
        middle = (low + high + 1) // 2
        if works(middle):
            low = middle
        else:
            high = middle - 1
    return low


def _latest_words(chain: Chain, task: Task, today: datetime, promise: int | None, hours: ShopHours) -> str:
    named = {"piece": chain.piece_name, "task": task.words, "today": hours.said(today)}
    words = say("{piece}: begin “{task}” by {today}, or what is planned for that day does not fit in.", **named)
    if chain.promised is None or not chain.ready_known:
        return words
    named["promised"] = hours.said(chain.promised)
    if promise is None:
        return words + " " + say("It will not be done by {promised}, when it was promised.", **named)
    return (
        words
        + " "
        + say(
            "Begun by {latest} it is still done by {promised}, when it was promised.",
            latest=hours.said(instant(promise)),
            **named,
        )
    )


# --- the night ---------------------------------------------------------------------------------------------


def nights(timetable: Timetable, hours: ShopHours) -> tuple[Night, ...]:
    """Give the waits of a plan that run, are over or close while the shop is closed, in the order of time."""
    return tuple(night for waiting in timetable.waits if (night := _night(waiting, timetable, hours)) is not None)


def _night(waiting: Waiting, timetable: Timetable, hours: ShopHours) -> Night | None:
    begins = max(waiting.from_at, timetable.begins_at)
    opens, closes = waiting.opens_at, waiting.closes_at
    ends = min(opens, timetable.until)
    runs = begins < ends and not hours.fits(begins, ends - begins)
    waits = opens > waiting.from_at
    over_shut = waits and timetable.begins_at <= opens < FOR_GOOD and not hours.is_open(opens)
    closes_shut = closes is not None and timetable.begins_at <= closes < FOR_GOOD and not hours.is_open(closes)
    if not (runs or over_shut or closes_shut):
        return None
    begin_by = None
    if closes_shut and closes is not None:
        usable = hours.spans(max(opens, timetable.begins_at), closes) if opens < closes else ()
        begin_by = usable[-1].closes_at if usable else None
    opening = hours.next_opening(opens) if over_shut else None
    return Night(
        waiting=waiting,
        runs=runs,
        over_shut=over_shut,
        opens_at=opening,
        closes_shut=closes_shut,
        begin_by=begin_by,
        words=" ".join(_night_words(waiting, runs, opening, over_shut, closes_shut, begin_by, hours)),
    )


def _night_words(
    waiting: Waiting,
    runs: bool,
    opening: datetime | None,
    over_shut: bool,
    closes_shut: bool,
    begin_by: datetime | None,
    hours: ShopHours,
) -> list[str]:
    words = []
    wait = waiting.words
    if waiting.opens_at >= FOR_GOOD:
        words.append(say("“{wait}” never ends in the air that is expected.", wait=wait))
    elif over_shut and opening is not None:
        words.append(
            say(
                "“{wait}” is over at {at}, while the shop is closed; it opens again at {opening}.",
                wait=wait,
                at=hours.said(waiting.opens_at),
                opening=hours.said(opening),
            )
        )
    elif over_shut:
        words.append(
            say("“{wait}” is over at {at}, while the shop is closed.", wait=wait, at=hours.said(waiting.opens_at))
        )
    elif runs:
        words.append(
            say(
                "“{wait}” runs while the shop is closed, and is over at {at}.",
                wait=wait,
                at=hours.said(waiting.opens_at),
            )
        )
    if closes_shut and waiting.closes_at is not None:
        closes = hours.said(waiting.closes_at)
        words.append(
            say(
                "“{wait}” closes at {closes}, while the shop is closed: begin what follows before {by}, when it shuts.",
                wait=wait,
                closes=closes,
                by=hours.said(begin_by),
            )
            if begin_by is not None
            else say(
                "“{wait}” closes at {closes}, and the shop is not open between its opening and that.",
                wait=wait,
                closes=closes,
            )
        )
    return words
