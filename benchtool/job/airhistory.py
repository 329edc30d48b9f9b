"""The air of a job over time, as it was read and as it is expected, and what it does to the times of a card."""

import math
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from benchtool.job.cards import Card, CardTime, ForcedDry, TablePacing, pace_model
from benchtool.job.drying import (
    BARE,
    Heated,
    Hot,
    OnPiece,
    Progress,
    film_factor,
    film_words,
    heat_words,
)
from benchtool.job.events import CourseExpected, CoursePoint, ReadingTaken
from benchtool.trade.air import (
    DRIEST_HOT_PERCENT,
    DRIEST_PERCENT,
    HOT_DEGC,
    HOTTEST_DEGC,
    Air,
    NotAir,
    saturation_Pa,
    vapour_Pa,
)
from benchtool.trade.pace import Kind, Model, needed_s, pace_of_wait, why_words
from benchtool.trade.paceintegral import FAR_S, HOLD_S, Course, Integral, age_words, usual_air, warmed
from benchtool.trade.paceintegral import USUAL_PERCENT as USUAL_PERCENT
from benchtool.trade.windows import FOR_GOOD

_BY_CARD = Integral(None, Kind.WAIT)


class AirHistory:
    """The air of one job. It is taken in as the events come, and gives when a time of a card is over in it.

    Seconds count from `created`, so that they are exact to the microsecond. Whatever is taken in, an end that lies
    before it stays as it was.
    """

    def __init__(self, created: datetime = datetime(2000, 1, 1, tzinfo=UTC)) -> None:
        self._created = created
        self._end_of_time_s = (FOR_GOOD - created).total_seconds()
        self._course = Course()
        self._expected: list[tuple[float, Air]] = []
        self._plan: list[tuple[float, Air]] = []  # the steps of the newest course
        self._resumed: tuple[float, Air] | None = None  # the step at which it counts again, still to come
        self._integrals: dict[tuple[Model, Kind, bool, float | None], Integral] = {}

    # --- taking in -----------------------------------------------------------------------------------

    def read(self, reading: ReadingTaken) -> None:
        """Take a reading. One that no air can be is passed over: the last good one holds."""
        air = air_read(reading)
        if air is None:
            return
        at_s, newest_s = self.seconds(reading.at), self._course.last_read_s
        self._course.append(at_s, air)
        if self._plan and (newest_s is None or at_s >= newest_s):
            self._resume_after(at_s)

    def _resume_after(self, read_s: float) -> None:
        """Let the step of the course in force count again once the newest reading is old.

        A room is still warm just after its heater went off: one reading of then says nothing of the whole night.
        """
        steps = self._expected
        if self._resumed is not None and self._resumed[0] > read_s:
            steps = [step for step in steps if step is not self._resumed]
        again_s, self._resumed = read_s + HOLD_S, None
        begun = [step for step in self._plan if step[0] <= read_s]
        if begun and not any(read_s < t <= again_s for t, _ in self._plan):
            self._resumed = (again_s, begun[-1][1])
            steps = sorted([*steps, self._resumed], key=lambda step: step[0])
        if steps is not self._expected:
            self._expected = steps
            self._course.expect(steps)

    def expect(self, course: CourseExpected) -> None:
        """Take what is expected from the event's own instant on; what was expected until then stays.

        A step that lies before that instant counts from it on, where no reading was taken since the step.
        """
        at_s = self.seconds(course.at)
        now, age_s = self._course.at(at_s), self._course.age_s(at_s)
        steps = sorted(((self.seconds(p.at), p) for p in course.points), key=lambda step: step[0])
        ahead = [(t, air) for t, p in steps if t > at_s and (air := air_expected(p, now)) is not None]
        begun = [(t, air) for t, p in steps if t <= at_s and (air := air_expected(p, now)) is not None][-1:]
        begun = [(at_s, air) for t, air in begun if age_s is None or at_s - age_s <= t]
        self._plan, self._resumed = [*begun, *ahead], None
        self._expected = [*(step for step in self._expected if step[0] < at_s), *self._plan]
        self._course.expect(self._expected)

    # --- asking --------------------------------------------------------------------------------------

    def at(self, now: datetime) -> Air | None:
        """Give the air in force at `now`: the last good reading, or what is expected since; None before the first."""
        return self._course.at(self.seconds(now))

    def age_s(self, now: datetime) -> float | None:
        """Give how old (s) the last good reading is at `now`; None where there is none yet."""
        return self._course.age_s(self.seconds(now))

    def age_words(self, now: datetime) -> str:
        """Say how old the last good reading is; "" where it is fresh, or where none was ever taken."""
        return age_words(self.age_s(now))

    def newest_readings(self, span: timedelta) -> list[tuple[datetime, Air]]:
        """Give the good readings from `span` before the newest on, in the order of time."""
        last_s = self._course.last_read_s
        if last_s is None:
            return []
        times, airs = self._course.read_since(last_s - span.total_seconds())
        return [(self._when(t), air) for t, air in zip(times, airs, strict=True)]

    @property
    def expected(self) -> tuple[tuple[datetime, Air], ...]:
        """The steps that are expected, those that came to pass among them."""
        return tuple((self._when(t), air) for t, air in self._expected)

    def ends(self, start: datetime, wait: timedelta, card: Card, time: CardTime, on: OnPiece = BARE) -> datetime:
        """Give when a time of this card that runs from `start`, by the card for `wait`, is over in this air.

        It is exactly `start + wait` where the card does not say how air, heat or film change it, or nothing is known
        of them before that; `FOR_GOOD` where a wait does not end. A wait is never shorter and a deadline never later
        than that, unless by the card's own table; and a wait in heat by what the card gives for it.
        """
        ending = self.ending(start, wait, card, time, on)
        return start + wait if ending is None else ending.at

    def ending(
        self, start: datetime, wait: timedelta, card: Card, time: CardTime, on: OnPiece = BARE
    ) -> "Ending | None":
        """Give the same with its progress and its reasons; None where it is simply `start + wait`."""
        on = BARE if time.in_cup else on
        pacing, first_s = card.pacing(time), self._first_s()
        if (pacing is None or first_s is None) and not on.heat.stretches and not card.films:
            return None  # as nearly always, and it is asked each second
        waits, start_s = time.kind is Kind.WAIT, self.seconds(start)
        factor = film_factor(card.films, on.film_um) if waits else 1.0
        takes_s = wait.total_seconds() * factor
        by_card = start + wait
        by = by_card if factor == 1 else start + timedelta(seconds=takes_s) if takes_s <= FAR_S else FOR_GOOD
        model = pace_model(pacing) if pacing is not None else None
        told = Told(model, time, card, on, factor)
        heat = [h for h in on.heat.stretches if h.ended_at is None or h.ended_at > start]
        # until the air is known the time goes by the card, and what was over by then stays over
        plain = self._progress(told, None, start_s, takes_s, heat)
        over_s = self.seconds(by) if not plain.hot else _or_far(plain.due_s())
        if model is None or first_s is None or over_s <= first_s:
            if factor == 1 and not any(h.started_at < by for h in heat):
                return None
            at = by if not plain.hot else self._heated_end(plain, told, wait, by)
            return Ending(at, by_card, self, plain, told)
        integral, tabled = self._integral(model, time), isinstance(pacing, TablePacing)
        needs_s = needed_s(model, time.kind, wait.total_seconds()) * factor
        progress = self._progress(told, integral, start_s, needs_s, heat)
        due_s = progress.due_s()
        if due_s is None:
            at = FOR_GOOD
        elif waits and tabled:
            # a table that asks for less than the card printed can't end a wait before it was known to count
            at = self._when(max(due_s, first_s))
        elif waits:
            at = max(self._when(due_s), by) if not progress.hot else self._heated_end(progress, told, wait, by)
        else:
            at = self._when(due_s) if tabled else min(self._when(due_s), by_card)
        return Ending(at, by_card, self, progress, told)

    def last(self) -> Air | None:
        """Give the air that holds for good at the end of all that was read and is expected."""
        ahead = self._course.ahead
        return ahead[-1][1] if ahead else (self._course.settled[1] or (None,))[-1]

    # --- inside --------------------------------------------------------------------------------------

    def _progress(
        self, told: "Told", integral: Integral | None, start_s: float, needs_s: float, heat: list[Heated]
    ) -> Progress:
        """Give how a time goes in the air as `integral` has it, None for as by the card, and in this heat."""
        air = _BY_CARD if integral is None else integral
        bare = Progress(start_s, needs_s, air)
        if not heat or needs_s <= 0:
            return bare
        ends_s = _or_far(bare.due_s())
        spells = ((h, max(start_s, self.seconds(h.started_at)), self._end_s(h)) for h in heat)
        hot = (self._hot(told, h, a, b, integral, needs_s) for h, a, b in spells if a < b and a < ends_s)
        return Progress(start_s, needs_s, air, tuple(h for h in hot if h is not None))

    def _hot(
        self, told: "Told", heated: Heated, start_s: float, end_s: float, integral: Integral | None, needs_s: float
    ) -> Hot | None:
        """Give what this heat does to a time; None where the card says nothing of it."""
        if told.time.kind is Kind.WAIT:
            forced = told.forced
            if forced is None or heated.degC < forced.degC:
                return None
            return Hot(start_s, end_s, _BY_CARD, forced.wait.total_seconds() * told.factor)
        if told.model is None:
            return None
        warm = self._integral(told.model, told.time, heated.degC)
        if integral is None:
            return Hot(start_s, end_s, _BY_CARD, needs_s / warm.before)
        return Hot(start_s, end_s, warm, needs_s)

    def _heated_end(self, progress: Progress, told: "Told", wait: timedelta, by: datetime) -> datetime:
        """Give when a time is over with heat in it: rounded to no sooner than in heat alone, or no later than `by`."""
        due_s = progress.due_s()
        if due_s is None or due_s - progress.start_s > FAR_S:
            return FOR_GOOD
        at = self._when(due_s)
        if told.time.kind is not Kind.WAIT or told.forced is None:
            return min(at, by)
        least = min(wait, told.forced.wait).total_seconds() * told.factor
        return max(at, self._when(progress.start_s + least))

    def _integral(self, model: Model, time: CardTime, warmed_degC: float | None = None) -> Integral:
        key = (model, time.kind, time.in_cup, warmed_degC)
        found = self._integrals.get(key)
        if found is None:
            made = Integral(model, time.kind, self._course, in_cup=time.in_cup, warmed_degC=warmed_degC)
            found = self._integrals[key] = made
        return found

    def _end_s(self, heated: Heated) -> float:
        return math.inf if heated.ended_at is None else self.seconds(heated.ended_at)

    def _first_s(self) -> float | None:
        times = self._course.settled[0]
        if times:
            return times[0]
        ahead = self._course.ahead
        return ahead[0][0] if ahead else None

    def seconds(self, when: datetime) -> float:
        """Give an instant on this history's scale: seconds since the job began."""
        return (when - self._created).total_seconds()

    def _when(self, t_s: float) -> datetime:
        return self._created + timedelta(seconds=t_s) if t_s < self._end_of_time_s else FOR_GOOD


@dataclass(frozen=True, slots=True)
class Told:
    """What changes one time of a card: its pace in the air, the heat and the film it is for."""

    model: Model | None
    time: CardTime
    card: Card
    on: OnPiece
    factor: float

    @property
    def forced(self) -> ForcedDry | None:
        """What the card gives for this time in heat."""
        return self.card.forced.get(self.time)

    def words(self, air: Air | None, heated: Heated | None) -> str:
        """Say what this air does to it, and the heat and the film; "" for next to nothing."""
        film = film_words(self.card.films, self.on.film_um) if self.time.kind is Kind.WAIT else ""
        by_air = self._of_air(air)
        if heated is None:
            return "; ".join(filter(None, (by_air, film)))
        if self.time.kind is Kind.DEADLINE:
            warm = warmed(air or usual_air(self.model), heated.degC) if self.model is not None else None
            return self._of_air(warm)
        told = heat_words(heated, self.forced, self.time, self.factor)
        counts = self.forced is not None and heated.degC >= self.forced.degC
        return "; ".join(filter(None, (told, "" if counts else by_air, film)))

    def stops(self, air: Air | None) -> bool:
        """Whether nothing counts toward it in this air."""
        return air is not None and pace_of_wait(self.model, air, in_cup=self.time.in_cup) <= 0

    def _of_air(self, air: Air | None) -> str:
        return "" if air is None else why_words(self.model, air, self.time.kind, in_cup=self.time.in_cup)


@dataclass(frozen=True, slots=True)
class Ending:
    """When one time of a card is over in the air of a job (`at`), and when it would be by the card alone."""

    at: datetime
    by_card: datetime
    _history: AirHistory
    _progress: Progress
    _told: Told

    def share(self, now: datetime) -> float:
        """Give how much of it is over at `now`: 0 to 1."""
        if now >= self.at or self._progress.needs_s <= 0:
            return 1.0
        return self._progress.share(self._history.seconds(now))

    def why(self, now: datetime) -> str:
        """Say what the air in force at `now`, the heat and the film do to it.

        Where it never ends and this is not why, it goes by the last air.
        """
        air, last = self._history.at(now), self._history.last()
        heated = self._told.on.heat.at(now)
        if self.at < FOR_GOOD or self._told.stops(air) or not self._told.stops(last):
            return self._told.words(air, heated)
        return self._told.words(last, None)


def air_read(reading: ReadingTaken) -> Air | None:
    """Give the air of a reading; None where no shop has such air.

    What an older record may hold and no instrument is sure of is taken as the nearest that can be: a humidity of
    0 %, a surface over 100 degC.
    """
    surface = reading.surface_degC
    return _air(
        reading.air_degC,
        reading.humidity_percent,
        None if surface is None else min(surface, HOTTEST_DEGC),
        reading.speed_m_s,
    )


def odd_words(reading: ReadingTaken) -> str:
    """Say what is wrong with a reading that no shop's air can be; "" where nothing is."""
    try:
        Air(
            air_degC=reading.air_degC,
            humidity_percent=reading.humidity_percent,
            surface_degC=reading.surface_degC,
            speed_m_s=reading.speed_m_s,
        )
    except NotAir as wrong:
        return str(wrong)
    return ""


def air_expected(point: CoursePoint, now: Air | None) -> Air | None:
    """Give the air of an expected step, `now` being the air as it was expected; None where no shop has such air.

    Where the step says no humidity, the air holds as much water as it does now: heated it gets drier, cooled damper.
    """
    percent = point.humidity_percent
    if percent is None:
        percent = USUAL_PERCENT
        if now is not None:
            vapour = vapour_Pa(now.air_degC, now.humidity_percent)
            percent = min(100.0, 100 * vapour / saturation_Pa(point.air_degC))
    return _air(point.air_degC, percent, None, None)


def _air(degC: float, percent: float, surface: float | None, speed: float | None) -> Air | None:
    driest = DRIEST_PERCENT if degC <= HOT_DEGC else DRIEST_HOT_PERCENT
    try:
        damp = driest if 0 <= percent < driest else percent
        return Air(air_degC=degC, humidity_percent=damp, surface_degC=surface, speed_m_s=speed)
    except NotAir:
        return None


def _or_far(due_s: float | None) -> float:
    return math.inf if due_s is None else due_s
