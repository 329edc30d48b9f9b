"""Pace: how fast drying and curing go in this air, compared with the card's reference air.

Careful in both directions. A wait may be lengthened by cold or damp and is never shortened below the card, a deadline
may be shortened by warmth and is never put off, unless the card's own table of times says so.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from itertools import pairwise

from benchtool.trade.air import Air, saturation_Pa, vapour_Pa
from benchtool.trade.numbers import figure

NEVER = 1e6
"""So many times as long as by the card is never: a quarter of an hour would take 28 years."""

SATURATED_PERCENT = 98.0
"""From this humidity at the film on (%), water is taken not to leave it: a hygrometer is off by about 2 %, so it can't
be told from fog (judgement, no source; the offset is common practice)."""

GAS_J_MOL_K = 8.314462618
"""The molar gas constant (CODATA 2018)."""

LONGEST_S = 3650 * 86_400.0
"""No sheet waits ten years; more is a slip of the hand (judgement, no source)."""

_ZERO_K = 273.15
_PER_K = math.log(2) / 10
_LN_NEVER = math.log(NEVER)
_COLDEST_DEGC, _HOTTEST_DEGC = -40.0, 200.0
_MOST_ENERGY_KJ_MOL, _MOST_FACTOR, _MOST_M_S = 300.0, 10.0, 30.0


class NotAPace(ValueError):
    """No product dries or cures like that; the message says what to write instead."""


class Kind(StrEnum):
    """What a time on a card is: a wait that must be over first, or a deadline by which it must be done.

    Stand, flash, recoat opens, tape and cure are waits; pot life and recoat closes are deadlines.
    """

    WAIT = "wait"
    DEADLINE = "deadline"


# --- what a card may say about pace ----------------------------------------------------------------------
# `reference_degC` is the temperature of the card's printed time. Below `least_degC`, where the card gives one, nothing
# counts toward a wait: no law is to be carried below the temperature that the sheet asks for.


@dataclass(frozen=True, slots=True)
class TimesTable:
    """The card's own table for one kind of window: (degC, s), temperatures rising and times not rising with them.

    Raises:
        NotAPace: no rows, rows out of order, times that are none or that grow with warmth, a temperature no shop has.
    """

    points: tuple[tuple[float, float], ...]
    reference_degC: float = 23.0
    least_degC: float | None = None

    def __post_init__(self) -> None:
        if not self.points:
            raise NotAPace("The table has no rows: write at least one, such as 20 °C and 40 min.")
        for degC, seconds in self.points:
            _check_degC("row of the table", degC)
            if not 0 < seconds <= LONGEST_S:
                raise NotAPace(f"The time at {degC:g} °C must be above zero and at most ten years: write it again.")
        for (colder, longer), (warmer, shorter) in pairwise(self.points):
            if not colder < warmer:
                raise NotAPace("The rows of the table must go from cold to warm, each temperature once.")
            if shorter > longer:
                raise NotAPace(f"The table gives more time at {warmer:g} °C than at {colder:g} °C: check both rows.")
        _check_references(self.reference_degC, self.least_degC)

    def wait_s(self, degC: float) -> float:
        """Give how long (s) a wait takes at `degC`.

        Between two rows it goes along a straight line, which lies above the curve of any usual cure, and never below
        the shorter of both. Warmer than the last row counts as the last row. Colder than the first, the time grows as
        steeply as between the first two rows, or doubles for each 10 degC where that is longer.
        """
        first_degC, first_s = self.points[0]
        if degC < first_degC:
            return first_s * math.exp(min(_LN_NEVER, self._steepness(0) * (first_degC - degC)))
        for (colder, longer), (warmer, shorter) in pairwise(self.points):
            if degC < warmer:
                return max(shorter, longer + (shorter - longer) * ((degC - colder) / (warmer - colder)))
        return self.points[-1][1]

    def deadline_s(self, degC: float) -> float:
        """Give how long (s) a deadline stands at `degC`.

        Between two rows it goes along the exponential, which lies below the straight line, and never below the
        shorter of both. Colder than the first row counts as the first row. Warmer than the last, the time shrinks as
        steeply as between the last two rows, or halves for each 10 degC where that is shorter.
        """
        last_degC, last_s = self.points[-1]
        if degC > last_degC:
            return last_s * math.exp(-min(_LN_NEVER, self._steepness(-2) * (degC - last_degC)))
        if degC <= self.points[0][0]:
            return self.points[0][1]
        for (colder, longer), (warmer, shorter) in pairwise(self.points):
            if degC < warmer:
                return max(shorter, longer * math.pow(shorter / longer, (degC - colder) / (warmer - colder)))
        return last_s

    def _steepness(self, row: int) -> float:
        """How the logarithm of the time falls for each degC from this row to the next, at least by halving in 10."""
        if len(self.points) < 2:
            return _PER_K
        (colder, longer), (warmer, shorter) = self.points[row], self.points[row + 1]
        return max(_PER_K, math.log(longer / shorter) / (warmer - colder))


@dataclass(frozen=True, slots=True)
class Arrhenius:
    """A cure of one activation energy (kJ/mol): the equivalent age of ASTM C1074, with Q = energy / R.

    Usual are 50 to 65 for two-part epoxy and 30 to 55 for two-part polyurethane (judgement from published figures).

    Raises:
        NotAPace: an energy that no paint has, or a temperature no shop has.
    """

    energy_kJ_mol: float
    reference_degC: float = 23.0
    least_degC: float | None = None

    def __post_init__(self) -> None:
        if not 0 < self.energy_kJ_mol <= _MOST_ENERGY_KJ_MOL:
            raise NotAPace("An activation energy is above 0 and at most 300 kJ/mol: write it in kJ/mol, such as 50.")
        _check_references(self.reference_degC, self.least_degC)


@dataclass(frozen=True, slots=True)
class Doubling:
    """The rule of thumb: the time doubles (or grows by `factor`) for each 10 degC colder. It guides, no more.

    Raises:
        NotAPace: a factor under 1 or over 10, or a temperature no shop has.
    """

    reference_degC: float = 23.0
    factor: float = 2.0
    least_degC: float | None = None

    def __post_init__(self) -> None:
        if not 1 <= self.factor <= _MOST_FACTOR:
            raise NotAPace("For each 10 °C colder the time grows by a factor of 1 to 10: write it, such as 2.")
        _check_references(self.reference_degC, self.least_degC)


@dataclass(frozen=True, slots=True)
class Evaporation:
    """Waterborne flash: water leaves by its vapour pressure deficit, times Carrier's 0.089 + 0.0782 V (V in m/s).

    The equation (ASHRAE Handbook, HVAC Applications, natatoriums) is about pools, not films: only the ratio to the
    card's air is used, and the heat of evaporation (1 % in 10 K) is left out. Air of unknown speed counts as
    `reference_m_s`.

    Raises:
        NotAPace: a reference air too damp to dry anything, or that no shop has.
    """

    reference_degC: float = 23.0
    reference_percent: float = 50.0
    reference_m_s: float = 0.1
    least_degC: float | None = None

    def __post_init__(self) -> None:
        if not 0 < self.reference_percent < SATURATED_PERCENT:
            raise NotAPace("The card's humidity is above 0 and below 98 %: write the one of its times, such as 50.")
        if not 0 <= self.reference_m_s <= _MOST_M_S:
            raise NotAPace("The speed of the card's air is between 0 and 30 m/s: write it in m/s, such as 0.1.")
        _check_references(self.reference_degC, self.least_degC)


Model = TimesTable | Arrhenius | Doubling | Evaporation


# --- the sums --------------------------------------------------------------------------------------------


def time_factor(model: Model, air: Air, kind: Kind = Kind.WAIT, *, in_cup: bool = False) -> float:
    """Give how many times as long as by the card it takes in this air, by the model alone: it may be below 1.

    The film is as cold as the colder of air and surface for a wait, as warm as the warmer for a deadline; `in_cup`
    leaves the surface out. From 1 / NEVER to NEVER; NEVER means that it does not dry or cure at all.
    """
    return _factor(model, air, kind, in_cup=in_cup, fan=True)


def pace_of_wait(model: Model | None, air: Air, *, in_cup: bool = False) -> float:
    """Give how fast a wait goes: 1 as by the card, 0 not at all; above 1 only by the card's own table.

    Moving air makes up for cold or damp no further than the card's own air does: a fan counts where the card gives
    its times for one (`reference_m_s`). Without a model it is 1.
    """
    if model is None:
        return 1.0
    factor = _factor(model, air, Kind.WAIT, in_cup=in_cup, fan=False)
    if factor >= NEVER:
        return 0.0
    return 1 / factor if isinstance(model, TimesTable) else min(1.0, 1 / factor)


def pace_of_deadline(model: Model | None, air: Air, *, in_cup: bool = False) -> float:
    """Give how fast a deadline nears: 1 as by the card; below 1 (never 0) only by the card's own table.

    Without a model it is 1.
    """
    if model is None:
        return 1.0
    pace = 1 / _factor(model, air, Kind.DEADLINE, in_cup=in_cup, fan=True)
    return pace if isinstance(model, TimesTable) else max(1.0, pace)


def pace_of(model: Model | None, kind: Kind, *, in_cup: bool = False) -> Callable[[Air], float]:
    """Give the pace of this kind of time as a function of the air alone."""
    pace = pace_of_wait if kind is Kind.WAIT else pace_of_deadline
    return lambda air: pace(model, air, in_cup=in_cup)


def needed_s(model: Model | None, kind: Kind, card_s: float) -> float:
    """Give the time (s) at the card's own air which progress is measured by.

    With a table it is the table's time at its reference, so that in steady air a window takes the table's time,
    whatever else the card prints; without one it is `card_s`.
    """
    if not isinstance(model, TimesTable):
        return card_s
    return model.wait_s(model.reference_degC) if kind is Kind.WAIT else model.deadline_s(model.reference_degC)


def equivalent_age_s(model: Model, stretches: Iterable[tuple[float, Air]]) -> float:
    """Give how long (s) at the card's air does as much as these stretches of (s, air): ASTM C1074's equivalent age.

    It is by the model alone, so a warm stretch counts for more than its length; windows go by the careful pace.

    Raises:
        NotAPace: a stretch that is no length of time.
    """
    total = []
    for seconds, air in stretches:
        if not 0 <= seconds < math.inf:
            raise NotAPace("Each stretch of the history must last some time: none can be below zero.")
        factor = time_factor(model, air)
        total.append(seconds / factor if factor < NEVER else 0.0)
    return math.fsum(total)


def film_degC(air: Air, kind: Kind, *, in_cup: bool = False) -> float:
    """Give the temperature (degC) to reckon with: the colder of air and surface for a wait, else the warmer."""
    if air.surface_degC is None or in_cup:
        return air.air_degC
    return min(air.air_degC, air.surface_degC) if kind is Kind.WAIT else max(air.air_degC, air.surface_degC)


def is_saturated(air: Air, degC: float) -> bool:
    """Whether air at a film of `degC` is so damp that water does not leave it (see `SATURATED_PERCENT`)."""
    return vapour_Pa(air.air_degC, air.humidity_percent) >= saturation_Pa(degC) * (SATURATED_PERCENT / 100 - 1e-9)


def _factor(model: Model, air: Air, kind: Kind, *, in_cup: bool, fan: bool) -> float:
    degC = film_degC(air, kind, in_cup=in_cup)
    if model.least_degC is not None and degC < model.least_degC and kind is Kind.WAIT:
        return NEVER
    match model:
        case Arrhenius():
            kelvin, reference = degC + _ZERO_K, model.reference_degC + _ZERO_K
            ln = model.energy_kJ_mol * 1000 / GAS_J_MOL_K * (1 / kelvin - 1 / reference)
        case Doubling():
            ln = (model.reference_degC - degC) / 10 * math.log(model.factor)
        case TimesTable():
            time_s = model.wait_s if kind is Kind.WAIT else model.deadline_s
            ln = math.log(time_s(degC) / time_s(model.reference_degC))
        case Evaporation():
            if is_saturated(air, degC):
                return NEVER
            speed = model.reference_m_s if air.speed_m_s is None else air.speed_m_s
            speed = speed if fan else min(speed, model.reference_m_s)
            deficit_Pa = saturation_Pa(degC) - vapour_Pa(air.air_degC, air.humidity_percent)
            ln = math.log(_card_rate(model) / (deficit_Pa * _carrier(speed)))
    if abs(ln) < 1e-12:  # at the card's own air its time stands to the last digit
        return 1.0
    return math.exp(max(-_LN_NEVER, ln)) if ln < _LN_NEVER else NEVER


@lru_cache(maxsize=256)
def _card_rate(model: Evaporation) -> float:
    deficit_Pa = saturation_Pa(model.reference_degC) * (1 - model.reference_percent / 100)
    return deficit_Pa * _carrier(model.reference_m_s)


def _carrier(m_s: float) -> float:
    return 0.089 + 0.0782 * m_s


# --- words -----------------------------------------------------------------------------------------------


def why_words(model: Model | None, air: Air, kind: Kind = Kind.WAIT, *, in_cup: bool = False) -> str:
    """Say what this air does to a time of the card and why; "" where it does next to nothing."""
    if model is None:
        return ""
    degC = film_degC(air, kind, in_cup=in_cup)
    factor = _factor(model, air, kind, in_cup=in_cup, fan=kind is Kind.DEADLINE)
    if factor >= NEVER and kind is Kind.WAIT:
        return _never_words(model, air, degC)
    where = _where_words(model, air, degC, kind)
    table = isinstance(model, TimesTable)
    by = ", by the card's own table" if table else ""
    if isinstance(model, TimesTable):
        first, last = model.points[0][0], model.points[-1][0]
        if degC < first:
            where += f", colder than its table ({first:g})"
            by = ", a guess on the safe side" if kind is Kind.WAIT else ", as in its first row"
        elif degC > last:
            where += f", warmer than its table ({last:g})"
            by = ", as in its last row" if kind is Kind.WAIT else ", a guess on the safe side"
    slower = f"{figure(factor, 2)} times as long{by}"
    if kind is Kind.WAIT:
        if factor > 1.005:
            return f"{where}: takes {slower}"
        if factor < 0.995 and table:
            return f"{where}: takes only {slower}"
        return f"{where}: that shortens no wait, the card's time stands" if factor < 0.95 else ""
    if factor < 0.995:
        return f"{where}: is over {figure(1 / factor, 2)} times as soon{by}"
    if factor > 1.005 and table:
        return f"{where}: lasts {slower}"
    return f"{where}: that puts off no deadline, the card's time stands" if factor > 1.05 else ""


def _never_words(model: Model, air: Air, degC: float) -> str:
    warm = "warm it, without a flame"
    if model.least_degC is not None and degC < model.least_degC:
        return f"At {_degC(degC)}, below the {model.least_degC:g} °C the card asks for, nothing counts: {warm}"
    if not isinstance(model, Evaporation):
        return f"At {_degC(degC)} it gets on too slowly to count: {warm}"
    if air.humidity_percent < SATURATED_PERCENT - 1e-9:
        return f"At {_degC(degC)} the piece is near its dew point and a waterborne layer never dries: {warm}"
    damp = f"At {figure(air.humidity_percent)} % humidity a waterborne layer never dries"
    return f"{damp}: wait for drier air, or warm the shop, without a flame"


def _where_words(model: Model, air: Air, degC: float, kind: Kind) -> str:
    on_surface = degC != air.air_degC
    if isinstance(model, Evaporation):
        speed = "" if air.speed_m_s is None else f", air at {figure(air.speed_m_s, 2)} m/s"
        if air.speed_m_s is not None and air.speed_m_s > model.reference_m_s and kind is Kind.WAIT:
            speed = ", its draught not counted"
        card = f"the card's {model.reference_percent:g} % at {model.reference_degC:g}"
        return (
            f"{figure(air.humidity_percent)} % at {_degC(degC)}{' on the surface' * on_surface}{speed}, against {card}"
        )
    off = round(degC - model.reference_degC, 1)
    if off == 0:
        return f"{'Surface at' if on_surface else 'At'} the card's {model.reference_degC:g} °C"
    side = "above" if off > 0 else "below"
    return f"{'Surface ' * on_surface}{figure(abs(off))} °C {side} the card's {model.reference_degC:g}"


def _degC(degC: float) -> str:
    return f"{round(degC, 1):g} °C"


# --- inside ----------------------------------------------------------------------------------------------


def _check_degC(what: str, degC: float) -> None:
    if not _COLDEST_DEGC <= degC <= _HOTTEST_DEGC:
        raise NotAPace(f"The {what} is no temperature of a shop or an oven: write -40 to 200 °C.")


def _check_references(reference_degC: float, least_degC: float | None) -> None:
    _check_degC("temperature of the card's times", reference_degC)
    if least_degC is not None:
        _check_degC("least temperature", least_degC)
        if least_degC > reference_degC:
            raise NotAPace("The least temperature lies above the one the card's times hold at: check both.")
