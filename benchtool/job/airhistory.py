"""The air of a job over time, as it was read and as it is expected, and what it does to the times of a card."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from benchtool.job.cards import Card, CardTime, TablePacing, pace_model
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
from benchtool.trade.paceintegral import Course, Integral, age_words
from benchtool.trade.windows import FOR_GOOD

USUAL_PERCENT = 50.0
"""The humidity (%) that is expected where none was said and none was read: the one most sheets print (judgement)."""


class AirHistory:
    """The air of one job. It is taken in as the events come, and gives when a time of a card is over in it.

    Seconds count from `created`, so that they are exact to the microsecond. Whatever is taken in, an end that lies
    before it stays as it was.
    """

    def __init__(self, created: datetime = datetime(2000, 1, 1, tzinfo=UTC)) -> None:
        self._created = created
        self._course = Course()
        self._expected: list[tuple[float, Air]] = []
        self._integrals: dict[tuple[Model, Kind, bool], Integral] = {}

    # --- taking in -----------------------------------------------------------------------------------

    def read(self, reading: ReadingTaken) -> None:
        """Take a reading. One that no air can be is passed over: the last good one holds."""
        air = air_read(reading)
        if air is not None:
            self._course.append(self.seconds(reading.at), air)

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
        self._expected = [*(step for step in self._expected if step[0] < at_s), *begun, *ahead]
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

    @property
    def expected(self) -> tuple[tuple[datetime, Air], ...]:
        """The steps that are expected, those that came to pass among them."""
        return tuple((self._when(t), air) for t, air in self._expected)

    def ends(self, start: datetime, wait: timedelta, card: Card, time: CardTime) -> datetime:
        """Give when a time of this card that runs from `start`, by the card for `wait`, is over in this air.

        It is exactly `start + wait` where the card does not say how the air changes it, or nothing is known of the
        air before that; `FOR_GOOD` where a wait does not end. A wait is never shorter and a deadline never later than
        that, unless by the card's own table.
        """
        ending = self.ending(start, wait, card, time)
        return start + wait if ending is None else ending.at

    def ending(self, start: datetime, wait: timedelta, card: Card, time: CardTime) -> "Ending | None":
        """Give the same with its progress and its reasons; None where it is simply `start + wait`."""
        pacing = card.pacing(time)
        first_s = self._first_s()
        by_card = start + wait
        if pacing is None or first_s is None or self.seconds(by_card) <= first_s:
            return None
        model, tabled = pace_model(pacing), isinstance(pacing, TablePacing)
        integral = self._integral(model, time)
        needs_s, start_s = needed_s(model, time.kind, wait.total_seconds()), self.seconds(start)
        due_s = integral.due(start_s, needs_s)
        if due_s is None:
            at = FOR_GOOD
        elif time.kind is Kind.WAIT:
            # a table that asks for less than the card printed can't end a wait before it was known to count
            at = self._when(max(due_s, first_s)) if tabled else max(self._when(due_s), by_card)
        else:
            at = self._when(due_s) if tabled else min(self._when(due_s), by_card)
        return Ending(at, by_card, self, integral, model, time, start_s, needs_s)

    def last(self) -> Air | None:
        """Give the air that holds for good at the end of all that was read and is expected."""
        ahead = self._course.ahead
        return ahead[-1][1] if ahead else (self._course.settled[1] or (None,))[-1]

    # --- inside --------------------------------------------------------------------------------------

    def _integral(self, model: Model, time: CardTime) -> Integral:
        key = (model, time.kind, time.in_cup)
        found = self._integrals.get(key)
        if found is None:
            found = self._integrals[key] = Integral(model, time.kind, self._course, in_cup=time.in_cup)
        return found

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
        return self._created + timedelta(seconds=t_s)


@dataclass(frozen=True, slots=True)
class Ending:
    """When one time of a card is over in the air of a job (`at`), and when it would be by the card alone."""

    at: datetime
    by_card: datetime
    _history: AirHistory
    _integral: Integral
    _model: Model
    _time: CardTime
    _start_s: float
    _needs_s: float

    def share(self, now: datetime) -> float:
        """Give how much of it is over at `now`: 0 to 1."""
        if now >= self.at or self._needs_s <= 0:
            return 1.0
        done_s = self._integral.between(self._start_s, max(self._start_s, self._history.seconds(now)))
        return min(1.0, max(0.0, done_s / self._needs_s))

    def why(self, now: datetime) -> str:
        """Say what the air in force at `now` does to it; where it never ends and this is not why, the last air."""
        air = self._history.at(now)
        told = self._words(air)
        last = self._history.last()
        if self.at < FOR_GOOD or self._stops(air) or not self._stops(last):
            return told
        return self._words(last)

    def _words(self, air: Air | None) -> str:
        return "" if air is None else why_words(self._model, air, self._time.kind, in_cup=self._time.in_cup)

    def _stops(self, air: Air | None) -> bool:
        return air is not None and pace_of_wait(self._model, air, in_cup=self._time.in_cup) <= 0


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
        return Air(air_degC=degC, humidity_percent=max(driest, percent), surface_degC=surface, speed_m_s=speed)
    except NotAir:
        return None
