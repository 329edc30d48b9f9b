"""What the page of the air shows at one moment: the figures, the lines over time, the running windows, what comes."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from itertools import pairwise

from benchtool.job.windows import Window, listed
from benchtool.rules.air import OLD, TREND, down
from benchtool.session.airsteps import Damp, Line, Read, Run, Steps, damp, runs
from benchtool.session.due import clock_time
from benchtool.session.nights import both, in_force, instant_of
from benchtool.session.readings import TYPED
from benchtool.session.session import Document
from benchtool.sheets.air_answer import AirSheet, air_answer
from benchtool.trade.air import MARGIN_K, Air, dew_forecast, keeps_margin, margin_K
from benchtool.trade.numbers import figure, span_words
from benchtool.trade.paceintegral import HOLD_S
from benchtool.trade.windows import Phase, WindowKind

ZOOMS: Mapping[str, timedelta] = {
    "6 h": timedelta(hours=6),
    "24 h": timedelta(hours=24),
    "3 days": timedelta(days=3),
    "2 weeks": timedelta(days=14),
}
"""How much time the plot shows."""

PAST_SHARE = 1 / 3
"""How much of it lies before now: most of what the painter asks is about what comes (judgement)."""

MOST_BARS = 6

_M_S_FT_MIN = 1 / 0.00508
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")  # the bench is English, whatever the system speaks


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure with its name, and beside it the same in US units."""

    name: str
    value: str
    beside: str = ""

    @property
    def words(self) -> str:
        """Say it in one breath."""
        return f"{self.name} {self.value}{f' ({self.beside})' if self.beside else ''}"


@dataclass(frozen=True, slots=True)
class AirNow:
    """The air as it is taken to be: its figures, what they mean, where they are from. Without figures nothing is known.

    `wrong` says that the surface is too near to the dew point, `expected` that it was not read within the hour and
    something else is expected since.
    """

    figures: tuple[Figure, ...] = ()
    words: str = ""
    source: str = ""
    notes: tuple[str, ...] = ()
    wrong: bool = False
    expected: bool = False


@dataclass(frozen=True, slots=True)
class Bar:
    """A running window over time (s): from `from_s` to `due_s`, which the card alone would put at `card_s`.

    `due_s` is None where it does not end in this air. `closes_s` is the deadline that follows an opening. `place` may
    be cut short where it is shown, `what` may not.
    """

    place: str
    what: str
    from_s: float
    due_s: float | None
    card_s: float
    closes_s: float | None
    waits: bool
    needed: bool
    why: str

    @property
    def words(self) -> str:
        """Say it as the plot labels it: `Left shell, clear: cure, Thu 07:10`."""
        return f"{self.place}: {self.what}"


@dataclass(frozen=True, slots=True)
class Coming:
    """What comes, in a sentence; `damp_at` is when the surface comes too near to the dew point, None for not."""

    words: str = ""
    damp_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark on the axis of time (s); `day` names the day that begins there, "" within one."""

    at_s: float
    label: str
    day: str = ""


@dataclass(frozen=True, slots=True)
class Picture:
    """All that the plot draws between `start_s` and `end_s`, in seconds since the job began."""

    start_s: float
    end_s: float
    now_s: float
    now_label: str
    lines: Mapping[Line, tuple[Run, ...]]
    gaps: tuple[tuple[float, float], ...]
    damp: tuple[Damp, ...]
    low_degC: float
    high_degC: float
    bars: tuple[Bar, ...]
    more: int
    ticks: tuple[Tick, ...]

    @property
    def empty(self) -> bool:
        """Whether no air is known in this stretch of time."""
        return not any(self.lines.values())


@dataclass(frozen=True, slots=True)
class _Taken:
    """The air to show at one moment: `read` is the last good reading, `step` what is expected since, and since when."""

    air: Air
    read: Read | None
    age_s: float
    step: tuple[datetime, Air] | None

    @property
    def expected(self) -> bool:
        """Whether the air shown is what is expected."""
        return self.step is not None and self.age_s >= HOLD_S


class AirView:
    """The air of the job that is in hand. Its readings are taken in once, however often it is asked."""

    def __init__(self) -> None:
        self._steps = Steps()

    # --- the figures -------------------------------------------------------------------------------

    def now(self, document: Document, now: datetime) -> AirNow:
        """Give the figures of the air at `now`: as read within the hour, else as it is in force."""
        taken = self._taken(document, now)
        if taken is None:
            return AirNow(words="No reading of the air yet. Press R to log it.")
        sheet = AirSheet(taken.air)
        return AirNow(
            figures=tuple(_figures(sheet)),
            words=sheet.words,
            source=_source(taken, now),
            notes=sheet.notes,
            wrong=sheet.stop,
            expected=taken.expected,
        )

    def _taken(self, document: Document, now: datetime) -> _Taken | None:
        history = document.state.air
        air = history.at(now)
        if air is None:
            return None
        self._steps.follow(document.state)
        read = self._steps.last(history.seconds(now))
        age_s = math.inf if read is None else history.seconds(now) - read.at_s
        fresh = read is not None and age_s < HOLD_S
        return _Taken(read.air if read is not None and fresh else air, read, age_s, in_force(document.state, now))

    # --- the plot ----------------------------------------------------------------------------------

    def picture(self, document: Document, now: datetime, start: datetime, end: datetime, every: timedelta) -> Picture:
        """Give what is drawn from `start` to `end`, with a mark on the axis `every` so often."""
        state, seconds = document.state, document.state.air.seconds
        self._steps.follow(state)
        a, b, now_s = seconds(start), seconds(end), seconds(now)
        expected = [(seconds(at), air) for at, air in state.air.expected]
        found = self._steps.stretches(expected, a, b, now_s)
        lines = {line: runs(found, line, a, b) for line in Line}
        degrees = [y for line in Line if line is not Line.HUMIDITY for run in lines[line] for _, y in run.points]
        bars = self.bars(document, now)
        return Picture(
            start_s=a,
            end_s=b,
            now_s=now_s,
            now_label=clock_time(now, now),
            lines=lines,
            gaps=tuple(self._steps.gaps(a, b, now_s)),
            damp=damp(found, a, b),
            low_degC=min(degrees, default=0.0),
            high_degC=max(degrees, default=20.0),
            bars=bars[:MOST_BARS],
            more=max(0, len(bars) - MOST_BARS),
            ticks=tuple(self._ticks(document, start, end, every)),
        )

    def _ticks(self, document: Document, start: datetime, end: datetime, every: timedelta) -> Iterator[Tick]:
        hours = max(1, round(every / timedelta(hours=1)))
        day, last = start.astimezone().date(), end.astimezone().date()
        before = None
        while day <= last:
            for hour in range(0, 24, hours):
                at = instant_of(day, time(hour))
                if start <= at <= end and at != before:
                    there = at.astimezone()
                    name = f"{_DAYS[there.weekday()]} {there.day}" if hour == 0 else ""
                    yield Tick(document.state.air.seconds(at), f"{there:%H:%M}" if hours < 24 else "", name)
                before = at
            day += timedelta(days=1)

    # --- the windows -------------------------------------------------------------------------------

    def bars(self, document: Document, now: datetime) -> tuple[Bar, ...]:
        """Give the running windows of the job, those that something waits for first, then by what is due next."""
        running = [w for w in listed(document.windows, now) if _runs(w, now)]
        running.sort(key=lambda w: (not w.needed, _due(w, now), w.key))
        return tuple(self._bar(document, w, now) for w in running)

    def _bar(self, document: Document, window: Window, now: datetime) -> Bar:
        seconds, span = document.state.air.seconds, window.span
        waits, due = window.phase(now) is Phase.WAITING, _due(window, now)
        life = window.kind is WindowKind.POT_LIFE
        when = "not in this air" if span.never else clock_time(due, now, up=waits)
        share = f", {int(span.progress(now) * 100)} % done" if waits and not span.never else ""
        deadline = span.closes_at if not life and not span.closes_first else None
        end = span.closes_at if life and span.closes_at is not None else span.opens_at
        return Bar(
            place=f"{window.piece_name}, {window.layer_name}",
            what=f"{_name(window, waits=waits)}, {when}{share}",
            from_s=seconds(span.started_at),
            due_s=None if span.never else seconds(end),
            card_s=seconds(window.card_ends_at),
            closes_s=None if deadline is None else seconds(deadline),
            waits=waits,
            needed=window.needed,
            why=window.why(now),
        )

    # --- what comes --------------------------------------------------------------------------------

    def comes(self, document: Document, now: datetime) -> Coming:
        """Say in a sentence when the surface comes too near to the dew point, or that it is not expected to.

        The trend of the last hour speaks (as in the rule on falling air) until the first step that is expected. Without
        a measured surface the piece is as warm as the air; at a step it is still as the colder of before and after.
        """
        taken = self._taken(document, now)
        if taken is None:
            return Coming()
        air = taken.air
        if not keeps_margin(_margin(air)):
            # where the surface was measured, the words of now say it
            guess = f"A piece as warm as the air is less than {MARGIN_K:g} °C above the dew point: measure the surface."
            return Coming(guess if air.surface_degC is None else "", now)
        ahead = [step for step in document.state.air.expected if step[0] > now]
        trend = self._trend(document, now, ahead[0][0] if ahead else None)
        near = f"the surface comes within {MARGIN_K:g} °C of the dew point at"
        if trend is not None:
            return Coming(f"If it goes on as in the last hour, {near} {clock_time(trend, now)}.", trend)
        begun = [taken.step] if taken.step is not None and not taken.expected else []
        for (_, before), (at, then) in pairwise([(now, air), *begun, *ahead]):
            if not keeps_margin(min(before.air_degC, then.air_degC) - then.dew_point_degC):
                how = f"{figure(then.air_degC)} °C, dew point {then.dew_point_degC:.1f} °C"
                if at <= now:
                    since = f"As the air is expected since {clock_time(at, now)}"
                    return Coming(f"{since}, the surface is within {MARGIN_K:g} °C of the dew point: {how}.", now)
                return Coming(f"As the air is expected, {near} {clock_time(at, now)}: {how}.", at)
        if ahead:
            last = clock_time(ahead[-1][0], now)
            return Coming(
                f"As the air is expected, the surface stays {MARGIN_K:g} °C above the dew point until {last}."
            )
        if taken.step is not None:
            return Coming(f"No other change is expected since {clock_time(taken.step[0], now)}.")
        return Coming("Nothing is said of the hours to come: the air is taken to stay as it is.")

    def _trend(self, document: Document, now: datetime, until: datetime | None) -> datetime | None:
        """Give when the trend of the readings brings the dew point, where it does before `until`, a day at the most."""
        history = document.state.air
        now_s = history.seconds(now)
        self._steps.follow(document.state)
        last = self._steps.last(now_s)
        if last is None or now_s - last.at_s > TREND.total_seconds() or last.air != history.at(now):
            return None
        recent = self._steps.since(now_s - TREND.total_seconds(), now_s)
        points = [(read.at_s, _as_warm_as_the_air(read.air)) for read in recent]
        end_s = now_s + timedelta(days=1).total_seconds() if until is None else history.seconds(until)
        found = dew_forecast(points, end_s)
        if found is None or found.now or found.change_K_h >= 0:
            return None
        return now + timedelta(seconds=max(0.0, found.at_s - now_s))


def spoken(told: AirNow, comes: Coming, bars: Sequence[Bar]) -> str:
    """Say all that the plot shows, for whoever can't see it."""
    figures = ", ".join(f.words for f in told.figures)
    parts = [f"Expected: {figures}" if told.expected else figures, told.words, told.source, comes.words]
    return " ".join(part if part.endswith(".") else f"{part}." for part in (*parts, *(b.words for b in bars)) if part)


# --- inside ----------------------------------------------------------------------------------------------


def _source(taken: _Taken, now: datetime) -> str:
    read, step = taken.read, taken.step
    since = clock_time(step[0], now) if step is not None else ""
    if read is None:
        return f"Expected since {since}, not measured: press R to log a reading."
    ago = "just now" if taken.age_s < 60 else f"{span_words(taken.age_s)} ago"
    source = "typed" if read.source in (TYPED, "") else f"from {read.source}"
    if taken.expected:
        was = f"{figure(read.air.air_degC)} °C, {figure(read.air.humidity_percent)} %"
        return f"Expected since {since}; last read {ago}, {source}: {was}."
    more = ""
    if step is not None:
        more = f" The waits go by what is expected since {since}: {both(step[1].air_degC)}."
    elif taken.age_s > OLD.total_seconds():
        more = " That is too long ago to paint by: press R."
    return f"Read {ago}, {source}.{more}"


def _figures(sheet: AirSheet) -> Iterator[Figure]:
    values = air_answer(sheet)

    def number(key: str) -> float:
        value = values[key]
        assert isinstance(value, float | int)
        return value

    def warm(key: str) -> tuple[str, str]:
        return f"{number(f'{key}_degC'):.1f} °C", f"{number(f'{key}_degC') * 1.8 + 32:.1f} °F"

    air = sheet.air
    yield Figure("Air", *warm("temperature"))
    yield Figure("Humidity", f"{figure(air.humidity_percent)} %")
    margin = sheet.margin_K
    if margin is None:
        yield Figure("Surface over dew point", "not measured")
    else:
        # down, so that a margin that is not enough never reads as if it were
        yield Figure("Surface over dew point", f"{down(margin)} °C", f"{down(margin * 1.8)} °F")
    yield Figure("Surface", *(warm("surface") if air.surface_degC is not None else ("not measured", "")))
    yield Figure("Dew point", *warm("dew_point"))
    yield Figure("Wet bulb", *warm("wet_bulb"))
    water, grains = number("absolute_humidity_g_per_m3"), number("absolute_humidity_gr_per_ft3")
    yield Figure("Water in the air", f"{water:.1f} g/m³", f"{grains:.1f} gr/ft³")
    yield Figure("Vapour it could still take", f"{number('deficit_Pa'):.0f} Pa", f"{number('deficit_psi'):.3f} psi")
    if air.speed_m_s is None:
        yield Figure("Speed of the air", "not measured")
    else:
        yield Figure("Speed of the air", f"{figure(air.speed_m_s)} m/s", f"{air.speed_m_s * _M_S_FT_MIN:.0f} ft/min")


def _margin(air: Air) -> float:
    return margin_K(_as_warm_as_the_air(air)) or 0.0


def _as_warm_as_the_air(air: Air) -> Air:
    return air if air.surface_degC is not None else replace(air, surface_degC=air.air_degC)


def _runs(window: Window, now: datetime) -> bool:
    phase = window.phase(now)
    return phase is Phase.WAITING or (phase is not Phase.CLOSED and window.span.closes_at is not None)


def _due(window: Window, now: datetime) -> datetime:
    span = window.span
    return span.opens_at if window.phase(now) is Phase.WAITING or span.closes_at is None else span.closes_at


def _name(window: Window, *, waits: bool) -> str:
    match window.kind:
        case WindowKind.POT_LIFE:
            return "pot life ends"
        case WindowKind.FLASH:
            return f"{window.then} opens" if waits else "recoat closes" if window.by_recoat else "flash closes"
        case WindowKind.RECOAT:
            return "recoat opens" if waits else "recoat closes"
        case WindowKind.DWELL:
            return "rest before the tests"
        case WindowKind.AGEING:
            return window.mark
        case _:
            return window.kind.value
