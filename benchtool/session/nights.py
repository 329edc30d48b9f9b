"""The expected course by hand: a heater that goes off for the night and comes on again."""

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import partial

from benchtool.job import events as ev
from benchtool.job.airhistory import USUAL_PERCENT
from benchtool.job.state import State
from benchtool.session.cardfields import Wrong
from benchtool.session.due import clock_time
from benchtool.session.readings import read_reading
from benchtool.session.session import Draft, Session
from benchtool.trade.air import Air
from benchtool.trade.numbers import figure, shorten
from benchtool.trade.paceintegral import HOLD_S
from benchtool.trade.quantities import Measures

NIGHTS = 14
"""So many nights are written down for “every night”: a cure seldom takes longer, and a habit changes (judgement)."""

CAREFUL = (
    "The cold counts from the moment the heater goes off, though a shop cools slowly. "
    "A reading in the night counts for an hour, then what is expected counts again. "
    "Without a humidity the air holds as much water as now."
)

_TIME = re.compile(r"(\d{1,2})(?:\s*[:.h]\s*(\d{2}))?\s*(am|pm|h)?|(\d{2})(\d{2})", re.IGNORECASE)
_NAMED = {"noon": time(12), "midnight": time(0)}
_HOW = "write 18:00 or 6 pm."
_HOLDS = timedelta(seconds=HOLD_S)
_SECOND = timedelta(seconds=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Night:
    """A heater off at one wall time and on at another, with the air (degC) each leads to.

    `off_percent` is the humidity while it is off, None for as much water as the air holds now.
    """

    off: time
    off_degC: float
    on: time
    on_degC: float
    off_percent: float | None = None

    def words(self, *, every: bool, points: Sequence[ev.CoursePoint] = ()) -> str:
        """Say how the nights will go, in both units, so that a slip is seen at once.

        `points` are its steps: a night that has begun is cold from the first of them on, not from the time typed.
        """
        off = self.off if every or not points else points[0].at.astimezone().time()
        percent = "" if self.off_percent is None else f" and {figure(self.off_percent)} %"
        when = "Every night" if every else "Tonight"
        return f"{when}: {both(self.off_degC)}{percent} from {off:%H:%M}, {both(self.on_degC)} from {self.on:%H:%M}"

    def typed(self) -> dict[str, str]:
        """Give it as it is typed, by field, to a hundredth of a degree."""
        return {
            "off": f"{self.off:%H:%M}",
            "off_degC": _plain(self.off_degC),
            "off_percent": "" if self.off_percent is None else _plain(self.off_percent),
            "on": f"{self.on:%H:%M}",
            "on_degC": _plain(self.on_degC),
        }


def both(degC: float) -> str:
    """Write a temperature in degC with the degF beside it."""
    return f"{figure(degC)} °C ({degC * 1.8 + 32:.0f} °F)"


def _plain(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


# --- what is typed ---------------------------------------------------------------------------------------


def read_wall_time(text: str) -> time:
    """Read a time of day: `18:00`, `18`, `1830`, `6 pm`, `6.30 pm`, `18h30`, `noon`.

    Raises:
        ValueError: it is none; the message says what to write.
    """
    tidy = " ".join(text.lower().replace("a.m.", "am").replace("p.m.", "pm").split())
    if not tidy:
        raise ValueError(f"Say when: {_HOW}")
    if tidy in _NAMED:
        return _NAMED[tidy]
    found = _TIME.fullmatch(tidy)
    if found is None:
        raise ValueError(f"“{shorten(text)}” is no time of day: {_HOW}")
    hour, minute = int(found[1] or found[4]), int(found[2] or found[5] or 0)
    half = found[3] if found[3] in ("am", "pm") else None
    if half is not None and not 1 <= hour <= 12:
        raise ValueError(f"“{shorten(text)}” is no time of day: {_HOW}")
    if half is not None:
        hour = hour % 12 + (12 if half == "pm" else 0)
    if (hour, minute) == (24, 0):
        hour = 0
    if hour > 23 or minute > 59:
        raise ValueError(f"“{shorten(text)}” is no time of day: {_HOW}")
    return time(hour, minute)


def read_night(measures: Measures, typed: Mapping[str, str]) -> Night:
    """Read the fields off, off_degC, off_percent (may be empty), on and on_degC. Bare numbers are degC and %.

    Raises:
        Wrong: with the fields at fault.
    """
    faults: list[tuple[str, str]] = []

    def wall(key: str) -> time:
        try:
            return read_wall_time(typed.get(key, ""))
        except ValueError as wrong:
            faults.append((key, str(wrong)))
            return time(0)

    def air(key: str, percent_key: str) -> tuple[float, float]:
        if not typed.get(key, "").strip():
            faults.append((key, "Say how warm it will be, such as 12 or 54 F."))
            return 0.0, USUAL_PERCENT
        percent = typed.get(percent_key, "").strip() or f"{USUAL_PERCENT:g}"
        try:
            taken = read_reading(measures, {"air": typed[key], "humidity": percent})
        except Wrong as wrong:
            faults.extend((percent_key if field == "humidity" else key, said) for field, said in wrong.faults)
            return 0.0, USUAL_PERCENT
        made = taken.draft(id="e1", at=datetime.fromtimestamp(0, UTC))
        assert isinstance(made, ev.ReadingTaken)
        return made.air_degC, made.humidity_percent

    off, on = wall("off"), wall("on")
    if not faults and off == on:
        faults.append(("on", "It can't go on and off at the same time."))
    (cold, percent), (warm, _) = air("off_degC", "off_percent"), air("on_degC", "")
    if faults:
        raise Wrong(faults)
    told = bool(typed.get("off_percent", "").strip())
    return Night(off=off, off_degC=cold, on=on, on_degC=warm, off_percent=percent if told else None)


# --- what follows from it --------------------------------------------------------------------------------


def instant_of(day: date, at: time, zone: tzinfo | None = None, *, later: bool = False) -> datetime:
    """Give the instant (UTC) of a wall time by the rules of `zone`, None for the laptop's own.

    A time that the clocks pass twice is the earlier one, or with `later` the later; one that they leap over is taken
    an hour early or late in the same way.
    """
    wall = datetime.combine(day, at)
    folds = (wall.replace(fold=fold, tzinfo=zone).astimezone(UTC) for fold in (0, 1))
    return max(folds) if later else min(folds)


def night_points(
    night: Night, now: datetime, *, every: bool, zone: tzinfo | None = None, read_at: datetime | None = None
) -> tuple[ev.CoursePoint, ...]:
    """Give the steps that this night, or `NIGHTS` of them, bring after `now`, from early to late.

    The heater is taken to go off early and to come on late where a change of the clocks leaves a choice. A night
    that has begun is cold from now on, or an hour after the last reading (`read_at`) where that was taken in it.
    """
    points: list[ev.CoursePoint] = []
    for off, on in _nights(night, now, NIGHTS if every else 1, zone, read_at):
        while points and points[-1].at >= off:
            points.pop()  # the clocks went back over a short day: it stays cold
        points.append(ev.CoursePoint(at=off, air_degC=night.off_degC, humidity_percent=night.off_percent))
        points.append(ev.CoursePoint(at=on, air_degC=night.on_degC))
    return tuple(points)


def _nights(
    night: Night, now: datetime, count: int, zone: tzinfo | None, read_at: datetime | None
) -> Iterator[tuple[datetime, datetime]]:
    soonest = now.astimezone(UTC).replace(microsecond=0) + _SECOND
    day = now.astimezone(zone).date() - timedelta(days=2)
    while count:
        day += timedelta(days=1)
        off = instant_of(day, night.off, zone)
        on = instant_of(day + timedelta(days=night.on <= night.off), night.on, zone, later=True)
        cold = max(off, soonest)
        if read_at is not None and off <= read_at:
            cold = max(cold, read_at.replace(microsecond=0) + _HOLDS)  # what was read in the night holds as elsewhere
        if on > max(off, soonest):
            if on > cold:
                yield cold, on
            count -= 1


def course_draft(points: Sequence[ev.CoursePoint]) -> Draft:
    """Write the event of an expected course; without points nothing else than the air of now is expected."""
    return partial(ev.CourseExpected, points=tuple(points))


def expect(session: Session, points: Sequence[ev.CoursePoint]) -> None:
    """Write an expected course into every open job; they stand in one shop.

    Raises:
        NotNow: no job is open, or the one in hand is read-only.
    """
    session.share(course_draft(points))


# --- what is expected, in words --------------------------------------------------------------------------


def night_of(state: State) -> Night | None:
    """Give the night that was written down last; None where the last course is none."""
    points = state.expected.points if state.expected is not None else ()
    if len(points) < 2:
        return None
    cold, warm = points[-2:]
    off, on = (point.at.astimezone().time().replace(fold=0) for point in (cold, warm))
    if off.second or on.second or off == on:
        return None
    return Night(off=off, off_degC=cold.air_degC, on=on, on_degC=warm.air_degC, off_percent=cold.humidity_percent)


def in_force(state: State, now: datetime) -> tuple[datetime, Air] | None:
    """Give the air that is expected to be now, and since when; None where the last reading counts, or nothing.

    Where a reading held for its hour in between, it counts from the step before that reading.
    """
    begun, age_s = [step for step in state.air.expected if step[0] <= now], state.air.age_s(now)
    if not begun or (age_s is not None and begun[-1][0] <= now - timedelta(seconds=age_s)):
        return None
    since, air = begun[-1]
    for at, before in reversed(begun):
        if before != air:
            break
        since = at
    return since, air


def expected_words(state: State, now: datetime) -> str:
    """Say how the air is expected to go from `now` on."""
    steps = state.air.expected
    told = {p.at: p.humidity_percent for p in (state.expected.points if state.expected is not None else ())}
    ahead = [Step(at, air, told.get(at)) for at, air in steps if at > now]
    step = in_force(state, now)
    if not ahead:
        if step is not None:
            return f"Since {clock_time(step[0], now)} {both(step[1].air_degC)} are expected, and no other change."
        return "No change is expected: the air is taken to stay as it was read."
    nightly = _nightly(ahead, now)
    if nightly:
        return nightly
    begun = ""
    if step is not None:
        begun = f"{Step(*step, told.get(step[0])).words} since {clock_time(step[0], now)}, "
    first = ", ".join(f"{step.words} from {clock_time(step.at, now)}" for step in ahead[:3])
    more = f"; {len(ahead) - 3} more until {clock_time(ahead[-1].at, now)}" if len(ahead) > 3 else ""
    return f"Expected: {begun}{first}{more}."


@dataclass(frozen=True, slots=True)
class Step:
    """One step of an expected course; `percent` is the humidity where it was told."""

    at: datetime
    air: Air
    percent: float | None

    @property
    def words(self) -> str:
        """Say the air it leads to."""
        return both(self.air.air_degC) + ("" if self.percent is None else f" and {figure(self.percent)} %")


def _nightly(ahead: Sequence[Step], now: datetime) -> str:
    kinds = Counter((f"{step.at.astimezone():%H:%M}", step.air.air_degC, step.words) for step in ahead)
    usual = [kind for kind, _ in kinds.most_common(2)]
    if len(ahead) < 4 or len(usual) < 2 or sum(kinds[kind] for kind in usual) < len(ahead) - 2:
        return ""
    cold, warm = sorted(usual, key=lambda kind: kind[1])
    until = clock_time(ahead[-1].at, now)
    return f"Every night until {until}: {cold[2]} from {cold[0]}, {warm[2]} from {warm[0]}."
