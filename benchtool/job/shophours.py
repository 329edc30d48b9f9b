"""When the shop is open, how much room there is in it, and how long its hands take: what a forward plan goes by."""

from datetime import date
from enum import StrEnum
from typing import Annotated

from msgspec import Meta

from benchtool.job.fields import Record

WallTime = Annotated[str, Meta(pattern=r"^(([01]\d|2[0-3]):[0-5]\d|24:00)$")]
"""A time of day as the clock on the wall shows it; 24:00 is the end of the day."""

Minutes = Annotated[float, Meta(gt=0, le=24 * 60)]


class Weekday(StrEnum):
    """A day of the week."""

    MONDAY = "monday"
    TUESDAY = "tuesday"
    WEDNESDAY = "wednesday"
    THURSDAY = "thursday"
    FRIDAY = "friday"
    SATURDAY = "saturday"
    SUNDAY = "sunday"

    @property
    def number(self) -> int:
        """Give it as `date.weekday` counts: 0 for Monday."""
        return list(Weekday).index(self)


class Opening(Record, frozen=True, kw_only=True, omit_defaults=False):
    """The shop is open on this day of the week from `opens` to `closes`; a day with a break has two."""

    day: Weekday
    opens: WallTime
    closes: WallTime

    @property
    def minutes(self) -> tuple[int, int]:
        """Give both ends in minutes from midnight, by the clock on the wall."""
        return _minute(self.opens), _minute(self.closes)


class ExtraOpening(Record, frozen=True, kw_only=True, omit_defaults=False):
    """The shop is open on this one day, beside what the week says, though the day is a closed one."""

    day: date
    opens: WallTime
    closes: WallTime

    @property
    def minutes(self) -> tuple[int, int]:
        """Give both ends in minutes from midnight, by the clock on the wall."""
        return _minute(self.opens), _minute(self.closes)


def _minute(wall: str) -> int:
    return int(wall[:2]) * 60 + int(wall[3:])


class Takes(StrEnum):
    """What the hands do, as far as a plan must know how long it takes."""

    PREP = "prep step"
    MIX = "mix"
    COAT = "coat"
    SCUFF = "scuff"
    CLEAN = "clean the gun"


USUAL_MIN: dict[Takes, float] = {
    Takes.PREP: 10.0,
    Takes.MIX: 10.0,
    Takes.COAT: 5.0,
    Takes.SCUFF: 10.0,
    Takes.CLEAN: 5.0,
}
"""How long each takes (min) on a small piece (judgement, no source: a painter puts their own in their place)."""

USUAL_HOURS: tuple[Opening, ...] = tuple(
    Opening(day=day, opens="08:00", closes="18:00") for day in Weekday if day not in (Weekday.SATURDAY, Weekday.SUNDAY)
)
"""A shop's usual week (judgement, no source)."""
