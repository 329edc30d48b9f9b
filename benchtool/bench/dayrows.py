"""What the drawn plan shows: a row for each piece with its work and waits, the days, the hours the shop is open.

Nothing is drawn here and no clock is asked. Times are instants (UTC), shown by the clock on the wall.
"""

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta

from benchtool.plan.work import CantFit, Placed, Timetable, Waiting, Work
from benchtool.session.due import clock_time
from benchtool.session.nights import instant_of
from benchtool.trade.saying import say
from benchtool.trade.windows import FOR_GOOD, WindowKind

TAILS = frozenset({WindowKind.TAPE, WindowKind.CURE})
"""Waits that nothing follows."""

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
TICK_HOURS = (1, 2, 3, 6, 12)
LEAST = timedelta(hours=6)
"""So much time is shown at least (judgement)."""

TAIL_SHOWN = timedelta(hours=3)
"""So long after the last work the drawing goes on at least: a cure of weeks would press all the work into a corner."""

TIGHT = timedelta(hours=1)
"""With less than this left a deadline is drawn as one to watch (judgement)."""

_NEVER = datetime.fromtimestamp(0, UTC)

Span = tuple[datetime, datetime]


@dataclass(frozen=True, slots=True)
class PieceNamed:
    """What a piece and its job are called, and for when it is promised."""

    name: str
    job_title: str = ""
    promised: datetime | None = None


@dataclass(frozen=True, slots=True)
class Names:
    """What the ids of a plan are called: pieces by (job, piece), layers by (job, piece, layer)."""

    pieces: Mapping[tuple[str, str], PieceNamed] = field(default_factory=dict)
    layers: Mapping[tuple[str, str, str], str] = field(default_factory=dict)

    def layer(self, job: str, piece: str, layer: str | None) -> str:
        """Give what a layer is called; its id where nothing is known, "" for none."""
        return self.layers.get((job, piece, layer), layer) if layer is not None else ""


@dataclass(frozen=True, slots=True)
class Row:
    """One piece: its work and its waits, both in the order of time. `because` says why it found no place."""

    job: str
    piece: str
    named: PieceNamed
    blocks: tuple[Placed, ...] = ()
    waits: tuple[Waiting, ...] = ()
    because: str = ""

    @property
    def first_at(self) -> datetime | None:
        """When its work begins, None where there is none."""
        return self.blocks[0].starts_at if self.blocks else None


@dataclass(frozen=True, slots=True)
class DayPicture:
    """All that is drawn. `open` are the hours of the shop between `begins_at` and `ends_at`, in their order."""

    rows: tuple[Row, ...] = ()
    begins_at: datetime = _NEVER
    ends_at: datetime = _NEVER + LEAST
    open: tuple[Span, ...] = ()
    now: datetime = _NEVER
    names: Names = field(default_factory=Names)

    @property
    def hours(self) -> float:
        """How much time it spans (h)."""
        return (self.ends_at - self.begins_at).total_seconds() / 3_600

    def closed(self) -> Iterator[Span]:
        """Give the hours in which the shop is shut."""
        at = self.begins_at
        for opens, closes in self.open:
            if opens > at:
                yield at, min(opens, self.ends_at)
            at = max(at, closes)
        if at < self.ends_at:
            yield at, self.ends_at


def picture_of(plan: Timetable, names: Names, opened: Sequence[Span], now: datetime) -> DayPicture:
    """Make the picture of a plan: the pieces by when their first work starts, those without a place last."""
    keys: dict[tuple[str, str], None] = dict.fromkeys(plan.order)
    blocks: dict[tuple[str, str], list[Placed]] = {}
    waits: dict[tuple[str, str], list[Waiting]] = {}
    for placed in sorted(plan.placed, key=lambda p: (p.starts_at, p.ends_at)):
        blocks.setdefault((placed.task.job, placed.task.piece), []).append(placed)
    for wait in sorted(plan.waits, key=lambda w: (w.from_at, w.opens_at)):
        waits.setdefault((wait.job, wait.piece), []).append(wait)
    cant: dict[tuple[str, str], CantFit] = {(c.job, c.piece): c for c in plan.cant}
    keys.update(dict.fromkeys((*blocks, *waits, *cant)))
    rows = tuple(
        Row(
            job=key[0],
            piece=key[1],
            named=names.pieces.get(key) or PieceNamed(cant[key].piece_name if key in cant else key[1]),
            blocks=tuple(blocks.get(key, ())),
            waits=tuple(waits.get(key, ())),
            because=cant[key].because if key in cant else "",
        )
        for key in keys
    )
    rows = tuple(sorted(rows, key=lambda r: (bool(r.because), r.first_at or FOR_GOOD)))
    begins, ends = _stretch(plan, rows, now)
    inside = tuple((max(a, begins), min(b, ends)) for a, b in opened if b > begins and a < ends)
    return DayPicture(rows, begins, ends, inside, now, names)


def _stretch(plan: Timetable, rows: Sequence[Row], now: datetime) -> Span:
    """Give from when to when to draw, on whole hours: all work, and of the tails what is near."""
    starts = [b.starts_at for r in rows for b in r.blocks]
    ends = [b.ends_at for r in rows for b in r.blocks]
    begins = min([plan.begins_at, now, *starts])
    last = max([*ends, *(w.closes_at or w.opens_at for r in rows for w in r.waits if w.kind not in TAILS), begins])
    last = min(last, max([*ends, begins]) + timedelta(days=1))  # a window that stays open for weeks ends nowhere here
    promised = [r.named.promised for r in rows if r.named.promised is not None]
    near = [at for at in promised if begins <= at <= last + timedelta(days=1)]
    until = max([last + TAIL_SHOWN, begins + LEAST, *(at + timedelta(hours=1) for at in near)])
    return _hour(begins - timedelta(minutes=30)), _hour(until) + timedelta(hours=1)


def _hour(at: datetime) -> datetime:
    return at.replace(minute=0, second=0, microsecond=0)


# --- the days and hours ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Day:
    """One day of the drawing, cut to what is shown of it."""

    starts_at: datetime
    ends_at: datetime
    label: str
    short: str


def days(begins: datetime, ends: datetime) -> Iterator[Day]:
    """Give the days by the clock on the wall between two instants, also over a change of the clocks."""
    day, last = begins.astimezone().date(), ends.astimezone().date()
    while day <= last:
        start = max(begins, instant_of(day, time(0)))
        end = min(ends, instant_of(day + timedelta(days=1), time(0)))
        if start < end:
            yield Day(start, end, day_words(day), DAYS[day.weekday()])
        day += timedelta(days=1)


def day_words(day: date) -> str:
    """Name a day: `Sat 14 Mar`."""
    return f"{DAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]}"


def ticks(begins: datetime, ends: datetime, every: int) -> Iterator[tuple[datetime, int]]:
    """Give each instant at which the clock on the wall shows a whole `every` hours, and that hour."""
    for day in days(begins, ends):
        date_of = day.starts_at.astimezone().date()
        for hour in range(0, 24, every):
            at = instant_of(date_of, time(hour))
            if day.starts_at <= at <= day.ends_at:
                yield at, hour


# --- in words --------------------------------------------------------------------------------------------


def work_word(placed: Placed) -> str:
    """Say in a word or two what the hands do, to stand in a block."""
    task = placed.task
    if task.work is Work.COAT and task.coat is not None:
        return say("coat {n}", n=task.coat)
    return {
        Work.PREP: say("prep"), Work.MIX: say("mix"), Work.REDUCE: say("reduce"), Work.COAT: say("coat"),
        Work.SCUFF: say("scuff"), Work.CLEAN: say("clean"),
    }[task.work]  # fmt: skip


def block_words(row: Row, placed: Placed, names: Names, now: datetime) -> str:
    """Say a piece of work in a sentence, and what deadline it keeps."""
    task = placed.task
    starts, ends = clock_time(placed.starts_at, now), clock_time(placed.ends_at, now)
    layer = names.layer(task.job, task.piece, task.layer)
    what = task.words[:1].lower() + task.words[1:]
    if layer and layer.lower() not in what.lower():
        what = say("{layer}: {what}", layer=layer, what=what)
    told = {"piece": row.named.name, "what": what.rstrip("."), "start": starts, "end": ends}
    if task.began_at is not None:
        said = [say("{piece}, {what}, begun {start}, done about {end}.", **told)]
    else:
        said = [say("{piece}, {what}, {start} to {end}.", **told)]
    closes = [w for w in row.waits if w.closes_at is not None and w.from_at <= placed.starts_at <= w.closes_at]
    kept = min((w for w in closes if w.kind is not WindowKind.POT_LIFE), key=_closes, default=None)
    if kept is not None and kept.opens_at <= placed.starts_at:
        said.append(say("It must be on before {time}.", time=clock_time(_closes(kept), now)))
    if placed.booth is not None:
        said.append(say("Booth {n}.", n=placed.booth + 1))
    return " ".join(said)


def wait_words(row: Row, wait: Waiting, now: datetime) -> str:
    """Say a wait in a sentence: what waits, until when, and when it is too late."""
    what = wait.words.strip().rstrip(".")
    start, opens = clock_time(wait.from_at, now), clock_time(wait.opens_at, now, up=True)
    if not opens:
        said = say("{piece}, {what}: not in this air.", piece=row.named.name, what=what)
    elif wait.opens_at > wait.from_at:
        said = say("{piece}, {what}: {start} to {opens}.", piece=row.named.name, what=what, start=start, opens=opens)
    else:
        said = say("{piece}, {what}, from {start}.", piece=row.named.name, what=what, start=start)
    if wait.closes_at is None or not (closes := clock_time(wait.closes_at, now)):
        return said
    if wait.missed:
        return f"{said} {say('It closes {time}, before the shop can be at it: scuff first.', time=closes)}"
    return f"{said} {say('It closes {time}.', time=closes)}"


def edge_words(wait: Waiting, now: datetime, layer: str = "") -> str:
    """Say at the edge of a window that closes when it does: `closes 02:40`, with what it is of where that is given."""
    time_of = clock_time(wait.closes_at or FOR_GOOD, now)
    if wait.missed:
        return say("missed: closed {time}", time=time_of)
    if wait.kind is WindowKind.POT_LIFE:
        return say("use by {time}", time=time_of)
    if layer:
        return say("{layer} closes {time}", layer=layer, time=time_of)
    return say("closes {time}", time=time_of)


def follower(row: Row, wait: Waiting) -> Placed | None:
    """Give the coat that is put on in this window: of the next layer after a recoat, of the same one after a flash."""
    after = (b for b in row.blocks if b.starts_at >= wait.opens_at and b.task.work is Work.COAT)
    other = wait.kind is WindowKind.RECOAT
    return next((b for b in after if (b.task.layer != wait.layer) is other), None)


def is_tight(row: Row, wait: Waiting) -> bool:
    """Whether a deadline leaves little: it is missed, nothing is planned in it, or what is comes late in it."""
    placed = follower(row, wait)
    return wait.missed or placed is None or _closes(wait) - placed.starts_at < TIGHT


def tail_words(wait: Waiting, now: datetime) -> str:
    """Say at the end of a tail what it is and when: `tape 18:10`."""
    time_of = clock_time(wait.opens_at, now, up=True)
    word = say("tape") if wait.kind is WindowKind.TAPE else say("cure")
    return f"{word} {time_of}" if time_of else say("{what}: not in this air", what=word)


def summary(picture: DayPicture) -> str:
    """Say in a few words what is drawn, for whoever can't see it."""
    work = sum(len(r.blocks) for r in picture.rows)
    missed = sum(w.missed for r in picture.rows for w in r.waits)
    cant = sum(bool(r.because) for r in picture.rows)
    said = say(
        "The plan: {pieces} pieces, {work} steps, {start} to {end}.",
        pieces=len(picture.rows), work=work,
        start=clock_time(picture.begins_at, picture.now), end=clock_time(picture.ends_at, picture.now),
    )  # fmt: skip
    if missed:
        said += " " + say("Windows missed: {n}.", n=missed)
    if cant:
        said += " " + say("Pieces that can't fit: {n}.", n=cant)
    return said


def _closes(wait: Waiting) -> datetime:
    return wait.closes_at or FOR_GOOD


# --- from block to block ---------------------------------------------------------------------------------

Spot = tuple[int, int]
"""A block: the number of its row, and its own in that row."""


def step_along(picture: DayPicture, spot: Spot | None, by: int) -> Spot | None:
    """Give the next block of the row, or the one before; where none is chosen, the first that is not over."""
    if spot is None:
        return nearest(picture, 0, picture.now) or first_spot(picture)
    row, i = spot
    return row, max(0, min(len(picture.rows[row].blocks) - 1, i + by))


def step_across(picture: DayPicture, spot: Spot | None, by: int) -> Spot | None:
    """Give the block nearest in time in the next row below or above that has any."""
    if spot is None:
        return step_along(picture, None, 0)
    at = picture.rows[spot[0]].blocks[spot[1]].starts_at
    row = spot[0] + by
    while 0 <= row < len(picture.rows):
        found = nearest(picture, row, at)
        if found is not None:
            return found
        row += by
    return spot


def nearest(picture: DayPicture, row: int, at: datetime) -> Spot | None:
    """Give the block of a row that starts nearest to an instant; None for a row without work."""
    blocks = picture.rows[row].blocks if row < len(picture.rows) else ()
    if not blocks:
        return None
    i = bisect_left(blocks, at, key=lambda b: b.starts_at)
    close = [j for j in (i - 1, i) if 0 <= j < len(blocks)]
    return row, min(close, key=lambda j: abs(blocks[j].starts_at - at))


def first_spot(picture: DayPicture) -> Spot | None:
    """Give the first block of the first row that has one."""
    return next(((i, 0) for i, row in enumerate(picture.rows) if row.blocks), None)
