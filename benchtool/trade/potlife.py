"""Pot life as a matter of arithmetic: the largest cup that can be sprayed in time, and a larger amount in cups.

Pot life and stand time both run from the moment the activator goes in, as the job's windows count them. Times
are s from now, the pot life taken is the caller's to shorten for warmth, and changing cups is taken to cost no
time: say so where the answer is shown.
"""

import math
from dataclasses import dataclass

from benchtool.trade.numbers import figure, span_words

MOST_COATS = 99
MOST_CUPS = 200
_NOISE = 1e-9


class NotInTime(ValueError):
    """It can't be sprayed in time, or a figure makes no sense; the message says what to write instead."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CupPlan:
    """One cup of several: how much it holds, which coats (counted from 1) it serves, and when.

    The activator goes in at `mix_at_s`; its stand time is over at `spray_at_s`, just when it is needed; its
    last spraying ends at `ends_s`, never after `pot_life_ends_s`. Times are s from now.
    """

    number: int
    mL: float
    coats: tuple[int, ...]
    mix_at_s: float
    spray_at_s: float
    ends_s: float
    pot_life_ends_s: float


def largest_mL(*, pot_life_s: float, stand_s: float, rate_mL_min: float, coats: int, flash_s: float) -> float:
    """Give the largest cup (mL) that can be sprayed in all coats before its pot life ends.

    It is 0 where the waits between the coats alone outlast one cup: then `split` has a fresh cup for a later coat.

    Raises:
        NotInTime: a figure that makes no sense, or a pot life that is over before the mix may be sprayed.
    """
    usable_s = _usable_s(pot_life_s, stand_s, rate_mL_min, coats, flash_s)
    return max(0.0, usable_s - flash_s * (coats - 1)) * rate_mL_min / 60


def split(
    amount_mL: float, *, pot_life_s: float, stand_s: float, rate_mL_min: float, coats: int, flash_s: float
) -> tuple[CupPlan, ...]:
    """Spread `amount_mL`, sprayed in `coats` equal coats with `flash_s` between them, over cups.

    The first activator goes in now, and spraying goes on without a stop but for the flash times: no cup delays
    it. No fewer cups can do that, since each is filled with all that can be sprayed in its time; where it takes
    no cup more, a cup ends with a coat instead of in the middle of the next. One cup where one can do.

    Raises:
        NotInTime: as `largest_mL`, an amount that is not above zero, or more than 200 cups.
    """
    usable_s = _usable_s(pot_life_s, stand_s, rate_mL_min, coats, flash_s)
    if not (math.isfinite(amount_mL) and amount_mL > 0):
        raise NotInTime(f"“{amount_mL:g}” mL is nothing to spray: write an amount above zero.")
    coat_s = amount_mL / coats / rate_mL_min * 60
    if coat_s * coats > MOST_CUPS * usable_s:
        raise NotInTime(
            f"{figure(amount_mL)} mL at {figure(rate_mL_min)} mL a minute would take more than {MOST_CUPS} cups: "
            "write a smaller amount or a higher rate."
        )
    line = _Spraying(coat_s=coat_s, flash_s=flash_s, coats=coats, usable_s=usable_s)
    plans: list[CupPlan] = []
    at: _Place = (0, 0.0)
    cups_left = line.cups_from(at)
    while at[0] < coats:
        end = line.end_of_cup(at)
        cups_left -= 1
        if end[0] > at[0] and end[1] > 0 and line.cups_from((end[0], 0.0)) == cups_left:
            end = (end[0], 0.0)
        last = end[0] if end[1] > 0 else end[0] - 1
        sprayed_s = (end[0] - at[0]) * coat_s + end[1] - at[1]
        mix_at_s = line.clock_s(at)
        dead_s = mix_at_s + pot_life_s
        ends_s = line.clock_s(end) if end[1] > 0 else line.clock_s((last, coat_s))
        plans.append(
            CupPlan(
                number=len(plans) + 1,
                mL=sprayed_s * rate_mL_min / 60,
                coats=tuple(range(at[0] + 1, last + 2)),
                mix_at_s=mix_at_s,
                spray_at_s=mix_at_s + stand_s,
                ends_s=min(ends_s + stand_s, dead_s),
                pot_life_ends_s=dead_s,
            )
        )
        at = end
    return tuple(plans)


_Place = tuple[int, float]
"""A moment of spraying: how many coats are done, and for how long (s) the next one has been sprayed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Spraying:
    """All coats on one line of time that starts with the first of them."""

    coat_s: float
    flash_s: float
    coats: int
    usable_s: float

    def clock_s(self, at: _Place) -> float:
        return at[0] * (self.coat_s + self.flash_s) + at[1]

    def end_of_cup(self, at: _Place) -> _Place:
        """Say how far a cup gets that is first sprayed at `at`; a finished coat is the start of the next."""
        hair = _NOISE * self.usable_s
        coat = at[0]
        while coat < self.coats:
            start_s = self.clock_s((coat - at[0], -at[1]))  # counted from `at`, so that no long day eats a short cup
            if start_s >= self.usable_s - hair:
                return coat, 0.0
            if start_s + self.coat_s > self.usable_s + hair:
                return coat, self.usable_s - start_s
            coat += 1
        return coat, 0.0

    def cups_from(self, at: _Place) -> int:
        cups = 0
        while at[0] < self.coats:
            at = self.end_of_cup(at)
            cups += 1
        return cups


def _usable_s(pot_life_s: float, stand_s: float, rate_mL_min: float, coats: int, flash_s: float) -> float:
    """Say how long (s) a cup can be sprayed, its figures once looked at."""
    if not (math.isfinite(rate_mL_min) and rate_mL_min > 0):
        raise NotInTime(f"“{rate_mL_min:g}” mL a minute sprays nothing: write a rate above zero.")
    if coats != coats // 1 or not 1 <= coats <= MOST_COATS:
        raise NotInTime(f"“{coats:g}” coats can't be sprayed: write a whole number from 1 to {MOST_COATS}.")
    if not (math.isfinite(flash_s) and flash_s >= 0):
        raise NotInTime("The flash time must be zero or more: write a time such as 10 min.")
    if not (math.isfinite(stand_s) and stand_s >= 0):
        raise NotInTime("The stand time must be zero or more: write a time such as 15 min.")
    if not (math.isfinite(pot_life_s) and pot_life_s > 0):
        raise NotInTime("The pot life must be above zero: write a time such as 4 h.")
    if pot_life_s <= stand_s:
        raise NotInTime(
            f"The pot life of {span_words(pot_life_s)} is over before the mix has stood its {span_words(stand_s)}: "
            "look both times up again."
        )
    return pot_life_s - stand_s
