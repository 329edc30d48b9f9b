"""Moist air on the bench: dew point, wet bulb, vapour pressure, and how far a surface stands above the dew point.

The equations are those of the ASHRAE Handbook - Fundamentals (2017), chapter 1, with the saturation curve over water
above the triple point and over ice below it; the tests hold them against a library of the same chapter. So below
0.01 degC a dew point is a frost point, and a humidity is counted over ice.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from benchtool.trade.numbers import figure

SEA_LEVEL_PA = 101_325.0
"""Standard pressure (Pa) at sea level: the usual value of chapter 1, equation 3."""

MARGIN_K = 3.0
"""How far a surface stands above the dew point before it is painted (K): practice by ISO 8502-4, read second-hand."""

MARGIN_US_K = 5 / 1.8
"""The same rule in US practice: 5 degF, so 2.778 K (MIL-HDBK-1110, 9.6.6). It is a little laxer than 3 K."""

HUMID_PERCENT = 85.0
"""Above this relative humidity (%) most sheets say stop; read second-hand, beside the rule of 3 K. The card decides."""

HIGHEST_DEW_DEGC = 35.0
"""No higher dew point (degC) was ever measured in the open: Dhahran, 8 July 2003 (Guinness World Records)."""

BLUSH_FAST_K, BLUSH_K = 8.0, 4.0
"""How far (K) a film may cool as a fast solvent and as any other leaves it. From memory, no source; that cooling below
the dew point is what blushes is read (the CAMEO materials database, “Blush”). At 20 degC, 8 K is a humidity of 58 %;
a lacquer maker's page puts the trouble above 60 %."""

TREND_S = 3600.0
"""A forecast goes by the readings of the last hour (s)."""

LEAST_TREND_S = 600.0
"""Readings over less than this (s) show no trend: a sensor's last digit would be taken for one (judgement)."""

COLDEST_DEGC, HOTTEST_DEGC = -40.0, 100.0
HOT_DEGC = 50.0
"""Nobody stands in air warmer than this (degC); what is warmer is a drying cabinet or a slip (judgement)."""
DRIEST_PERCENT, DRIEST_HOT_PERCENT = 1.0, 0.1
"""No air up to `HOT_DEGC`, or above, is drier than this (%); a smaller figure is a fraction or a slip (judgement)."""
LEAST_PA, MOST_PA = 50_000.0, 110_000.0
LOWEST_M, HIGHEST_M = -500.0, 5500.0
FASTEST_M_S = 30.0
"""Faster air (m/s) is a gale, and nothing is painted in it (judgement)."""

HOT_SURFACE_K, NEAR_AIR_K = 20.0, 12.0
"""A surface so much above the air (K) is asked about where in °F it would be so near to it (judgement)."""

_TRIPLE_DEGC = 0.01
_LOWEST_SUM_DEGC, _HIGHEST_SUM_DEGC = -100.0, 200.0
_ZERO_K = 273.15
_VAPOUR_TO_AIR = 0.621945
_DRY_AIR_J_KG_K = 287.042
_EXACT_K = 1e-6
_ICE = (-5.6745359e3, 6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13, 4.1635019)
_WATER = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 0.0, 6.5459673)


class NotAir(ValueError):
    """No air in a shop is like that; the message says what to write instead."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """One reading: air (degC), relative humidity (%), and where known the surface (degC) and the air's speed (m/s).

    Every sum below can be done with air that could be made.

    Raises:
        NotAir: a figure that no shop has, with one sentence; one that makes sense only in °F is offered in °C.
    """

    air_degC: float
    humidity_percent: float
    surface_degC: float | None = None
    speed_m_s: float | None = None
    pressure_Pa: float = SEA_LEVEL_PA

    def __post_init__(self) -> None:
        _check_warmth("air", self.air_degC)
        _check_humidity(self.humidity_percent)
        if self.humidity_percent < (DRIEST_PERCENT if self.air_degC <= HOT_DEGC else DRIEST_HOT_PERCENT):
            raise NotAir(
                f"A humidity of {self.humidity_percent:.6g} % is drier than any shop: write it in percent, such as 50."
            )
        if self.air_degC > HOT_DEGC and (offer := misread_fahrenheit(self.air_degC, self.humidity_percent)) is not None:
            raise NotAir(
                f"Air of {self.air_degC:.6g} °C is never as damp as {self.humidity_percent:.6g} %: "
                f"if that was {self.air_degC:.6g} °F, it is {figure(offer)} °C."
            )
        if self.surface_degC is not None:
            _check_warmth("surface", self.surface_degC)
        if self.speed_m_s is not None and not 0 <= self.speed_m_s <= FASTEST_M_S:
            raise NotAir(f"The speed of the air is between 0 and {FASTEST_M_S:g} m/s: write it in m/s, such as 0.3.")
        _check_pressure(self.pressure_Pa)

    @property
    def dew_point_degC(self) -> float:
        """Where this air's water begins to settle (degC)."""
        return dew_point_degC(self.air_degC, self.humidity_percent)


# --- the sums ------------------------------------------------------------------------------------------


def saturation_Pa(degC: float) -> float:
    """Give the vapour pressure (Pa) of saturated air: chapter 1, equations 5 (ice) and 6 (water), -100 to 200 degC.

    Raises:
        NotAir: a temperature outside the range of the equations.
    """
    if not _LOWEST_SUM_DEGC <= degC <= _HIGHEST_SUM_DEGC:
        raise NotAir(f"Water vapour is reckoned from -100 to 200 °C, and {_told(degC, '°C')} is outside: check it.")
    return math.exp(_ln_saturation(degC, ice=degC <= _TRIPLE_DEGC))


def vapour_Pa(degC: float, percent: float) -> float:
    """Give the pressure (Pa) of the water vapour in air of that temperature and relative humidity.

    Raises:
        NotAir: a humidity of 0 or over 100 %, or a temperature as in `saturation_Pa`.
    """
    _check_humidity(percent)
    return saturation_Pa(degC) * (percent / 100)


def deficit_Pa(degC: float, percent: float) -> float:
    """Give the vapour pressure deficit (Pa): how much more water vapour the air could still take up.

    Raises:
        NotAir: as `vapour_Pa`.
    """
    _check_humidity(percent)
    return saturation_Pa(degC) * (1 - percent / 100)


def dew_point_degC(degC: float, percent: float) -> float:
    """Give the dew point (degC), below 0.01 degC the frost point, by turning the saturation curve round.

    Raises:
        NotAir: as `vapour_Pa`, or so little water that no dew point is above -100 degC.
    """
    return min(degC, _dew_point(vapour_Pa(degC, percent)))


def wet_bulb_degC(degC: float, percent: float, pressure_Pa: float = SEA_LEVEL_PA) -> float:
    """Give the wet bulb (degC): what a wet wick in moving air cools to. Chapter 1, equations 33 and 35, halved to.

    Near 0 degC a wick may be wet or frozen, and for some air both fit, some tenths of a degree apart. Which of them
    is given then hangs on the halving; it starts, as is usual, from the dew point and the air.

    Raises:
        NotAir: as `humidity_ratio`.
    """
    ratio = humidity_ratio(degC, percent, pressure_Pa)
    low, high = dew_point_degC(degC, percent), degC
    while high - low > _EXACT_K:
        middle = (low + high) / 2
        if _ratio_at_wet_bulb(degC, middle, pressure_Pa) > ratio:
            high = middle
        else:
            low = middle
    return (low + high) / 2


def humidity_from_wet_bulb(degC: float, wet_bulb_degC: float, pressure_Pa: float = SEA_LEVEL_PA) -> float:
    """Give the relative humidity (%) from the dry and the wet bulb (degC) of a psychrometer.

    Raises:
        NotAir: a wet bulb above the dry one, or colder than the driest air can make it; else as `humidity_ratio`.
    """
    _check_warmth("air", degC)
    _check_warmth("wet bulb", wet_bulb_degC)
    _check_pressure(pressure_Pa)
    if wet_bulb_degC > degC:
        raise NotAir(f"A wet bulb of {wet_bulb_degC:.6g} °C can't be in air of {degC:.6g} °C: read both again.")
    ratio = _ratio_at_wet_bulb(degC, wet_bulb_degC, pressure_Pa)
    if not ratio > 0:
        raise NotAir(f"In air of {degC:.6g} °C no wick cools to {wet_bulb_degC:.6g} °C: read both again.")
    return min(100.0, 100 * pressure_Pa * ratio / (_VAPOUR_TO_AIR + ratio) / saturation_Pa(degC))


def humidity_ratio(degC: float, percent: float, pressure_Pa: float = SEA_LEVEL_PA) -> float:
    """Give the mass of water vapour for each of dry air (kg/kg, without a unit): chapter 1, equation 20.

    Raises:
        NotAir: as `vapour_Pa`; a pressure that no shop has, or one at which air of that temperature is all steam.
    """
    _check_pressure(pressure_Pa)
    vapour = vapour_Pa(degC, percent)
    if not vapour < pressure_Pa:
        raise NotAir(f"At {degC:.6g} °C and {percent:.6g} % there would be steam and no air: check both.")
    return _VAPOUR_TO_AIR * vapour / (pressure_Pa - vapour)


def absolute_humidity_g_m3(degC: float, percent: float) -> float:
    """Give the water in a cubic metre of this air (g/m3), as an ideal gas; the pressure does not matter.

    Raises:
        NotAir: as `vapour_Pa`.
    """
    return 1000 * vapour_Pa(degC, percent) * _VAPOUR_TO_AIR / (_DRY_AIR_J_KG_K * (degC + _ZERO_K))


def altitude_pressure_Pa(m: float) -> float:
    """Give the usual pressure (Pa) at a height above the sea (m): chapter 1, equation 3.

    Raises:
        NotAir: a height that no shop has.
    """
    if not LOWEST_M <= m <= HIGHEST_M:
        raise NotAir(f"A shop lies between {LOWEST_M:g} and {HIGHEST_M:g} m: write its height above the sea in m.")
    return SEA_LEVEL_PA * math.pow(1 - 2.25577e-5 * m, 5.2559)


# --- what the figures mean at the bench ------------------------------------------------------------------


def margin_K(air: Air) -> float | None:
    """Give how far the surface stands above the dew point (K), below zero where it is wet; None without a surface."""
    return None if air.surface_degC is None else air.surface_degC - air.dew_point_degC


def keeps_margin(margin: float, needs_K: float = MARGIN_K) -> bool:
    """Whether a margin (K) is enough by the rule of `MARGIN_K`, or of `MARGIN_US_K`; just as much is enough."""
    return margin >= needs_K - 1e-9


def misread_fahrenheit(degC: float, percent: float) -> float | None:
    """Offer the air temperature (degC) that was meant where the number only makes sense in degF; else None.

    As degC the air would be above `HOTTEST_DEGC`, or hold more water than any ever did (`HIGHEST_DEW_DEGC`); as degF it
    is between 0 and 50 degC. A drying cabinet at 60 degC holds no more water than the shop, so it is not doubted.
    """
    if not (math.isfinite(degC) and 0 < percent <= 100):
        return None
    meant = (degC - 32) / 1.8
    if not 0 <= meant <= HOT_DEGC:
        return None
    if degC <= HOTTEST_DEGC and vapour_Pa(degC, percent) <= saturation_Pa(HIGHEST_DEW_DEGC) * (1 + 1e-9):
        return None
    return meant


def misread_surface(air: Air) -> float | None:
    """Offer the surface temperature (degC) that may have been meant in degF; None where there is no cause to ask.

    It is over `HOT_SURFACE_K` above the air, and read as degF it is near the air. A piece from the sun or a drying
    cabinet may be as hot, so this is to be asked, not refused; unasked, it would pass any dew point.
    """
    if air.surface_degC is None or air.surface_degC - air.air_degC <= HOT_SURFACE_K:
        return None
    meant = (air.surface_degC - 32) / 1.8
    return meant if abs(meant - air.air_degC) <= NEAR_AIR_K else None


def blush_words(air: Air, fast: bool) -> str:
    """Say that a coat may blush in this air, and what to do; "" where it is dry enough.

    A solvent that leaves cools the film, a `fast` one more: below the dew point water settles in it. The film starts
    at the colder of surface and air. How far it cools is from memory (`BLUSH_FAST_K`, `BLUSH_K`).
    """
    start = air.air_degC if air.surface_degC is None else min(air.air_degC, air.surface_degC)
    above, cools = start - air.dew_point_degC, BLUSH_FAST_K if fast else BLUSH_K
    if above >= cools:
        return ""
    where = "is at or below the dew point" if above <= 0 else f"starts {figure(above, 2)} °C above the dew point"
    leaves = "a fast solvent" if fast else "the solvent"
    act = "take a slower reducer the card allows, or warm" if fast else "wait for drier air, or warm"
    return (
        f"The coat may blush: it {where} at {figure(air.humidity_percent)} % humidity, and {leaves} may cool it by "
        f"about {cools:g} °C as it leaves; {act} piece and shop without flame or spark."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DewForecast:
    """When (s, on the readings' scale) the surface comes within `MARGIN_K` of the dew point, and both as they then are.

    `now` is true where it already has. `change_K_h` is how the margin changes in an hour.
    """

    at_s: float
    now: bool
    surface_degC: float
    dew_point_degC: float
    change_K_h: float


def dew_forecast(points: Sequence[tuple[float, Air]], until_s: float) -> DewForecast | None:
    """Say when the surface comes within `MARGIN_K` of the dew point if the last hour's trend goes on.

    `points` are readings as (s, Air), times not falling. From the last reading on, dew point and surface go along
    straight lines, by least squares over the last `TREND_S`; over less than `LEAST_TREND_S` there is no trend, and they
    stay as they are. A surface without a trend of its own starts at its last reading in that hour, or else at the
    air's, and cools with the air but does not warm with it, as a cold piece does not. None where that does not come by
    `until_s`, or without a reading.

    Raises:
        NotAir: times that fall, or that are no times.
    """
    times = [t for t, _ in points]
    if not all(map(math.isfinite, times)) or any(b < a for a, b in pairwise(times)):
        raise NotAir("The readings must come in the order of their times: sort them first.")
    if not points:
        return None
    last_s, last = points[-1]
    recent = [(t - last_s, air) for t, air in points if t >= last_s - TREND_S]
    dew, dew_K_s = last.dew_point_degC, _slope([(t, air.dew_point_degC) for t, air in recent]) or 0.0
    surface, surface_K_s = _surface_course(recent)
    margin, change_K_s = surface - dew, surface_K_s - dew_K_s
    if not keeps_margin(margin):
        wait_s = 0.0
    elif change_K_s < 0:
        wait_s = max(0.0, (margin - MARGIN_K) / -change_K_s)
    else:
        return None
    if last_s + wait_s > until_s:
        return None
    return DewForecast(
        at_s=last_s + wait_s,
        now=not keeps_margin(margin),
        surface_degC=surface + surface_K_s * wait_s,
        dew_point_degC=dew + dew_K_s * wait_s,
        change_K_h=change_K_s * 3600,
    )


def _surface_course(recent: Sequence[tuple[float, Air]]) -> tuple[float, float]:
    """Give the surface at the last reading (degC) and how it goes on (K/s)."""
    cooling = min(0.0, _slope([(t, air.air_degC) for t, air in recent]) or 0.0)
    felt = [(t, air.surface_degC) for t, air in recent if air.surface_degC is not None]
    if not felt:
        return recent[-1][1].air_degC, cooling
    own = _slope(felt)
    since_s, surface = felt[-1]
    going = cooling if own is None else own
    return surface + going * -since_s, going


def _slope(points: Sequence[tuple[float, float]]) -> float | None:
    """Give the least-squares slope; None where the points span too little time for one."""
    if not points or points[-1][0] - points[0][0] < LEAST_TREND_S:
        return None
    mean_t = sum(t for t, _ in points) / len(points)
    mean_v = sum(v for _, v in points) / len(points)
    return sum((t - mean_t) * (v - mean_v) for t, v in points) / sum((t - mean_t) ** 2 for t, _ in points)


# --- inside ----------------------------------------------------------------------------------------------


def _ln_saturation(degC: float, ice: bool) -> float:
    T = degC + _ZERO_K
    a, b, c, d, e, f, g = _ICE if ice else _WATER
    return a / T + b + T * (c + T * (d + T * (e + T * f))) + g * math.log(T)


def _ln_slope(degC: float, ice: bool) -> float:
    T = degC + _ZERO_K
    a, _, c, d, e, f, g = _ICE if ice else _WATER
    return -a / T**2 + c + T * (2 * d + T * (3 * e + T * 4 * f)) + g / T


def _dew_point(vapour: float) -> float:
    # The curves have a kink where they meet; one is chosen first, so that the search never crosses over.
    ln_vapour = math.log(vapour) if vapour > 0 else -math.inf
    if ln_vapour < _ln_saturation(_LOWEST_SUM_DEGC, ice=True):
        raise NotAir("So little water is in this air that it has no dew point above -100 °C: check the humidity.")
    ice = ln_vapour <= _ln_saturation(_TRIPLE_DEGC, ice=True)
    x = (ln_vapour - math.log(611.2)) / 17.62
    degC = 243.12 * x / (1 - x)  # the formula of WMO-No. 8, from memory, only as the first guess
    for _ in range(20):
        step = (_ln_saturation(degC, ice) - ln_vapour) / _ln_slope(degC, ice)
        degC -= step
        if abs(step) < _EXACT_K:
            break
    return degC


def _ratio_at_wet_bulb(degC: float, wet_degC: float, pressure_Pa: float) -> float:
    vapour = saturation_Pa(wet_degC)
    if not vapour < pressure_Pa:
        return math.inf
    saturated = _VAPOUR_TO_AIR * vapour / (pressure_Pa - vapour)
    sensible = 1.006 * (degC - wet_degC)
    if wet_degC >= 0:
        return ((2501 - 2.326 * wet_degC) * saturated - sensible) / (2501 + 1.86 * degC - 4.186 * wet_degC)
    return ((2830 - 0.24 * wet_degC) * saturated - sensible) / (2830 + 1.86 * degC - 2.1 * wet_degC)


def _check_warmth(what: str, degC: float) -> None:
    if COLDEST_DEGC <= degC <= HOTTEST_DEGC:
        return
    outside = f"The {what} is between {COLDEST_DEGC:g} and {HOTTEST_DEGC:g} °C, and {_told(degC, '°C')} is not"
    meant = (degC - 32) / 1.8
    if degC > HOTTEST_DEGC and meant <= HOT_DEGC:
        raise NotAir(f"{outside}: if that was {degC:.6g} °F, it is {figure(meant)} °C.")
    raise NotAir(f"{outside}: read the thermometer again.")


def _check_humidity(percent: float) -> None:
    if not 0 < percent <= 100:
        raise NotAir(f"A relative humidity is above 0 and at most 100 %, and {_told(percent, '%')} is not: check it.")


def _check_pressure(pressure_Pa: float) -> None:
    if not LEAST_PA <= pressure_Pa <= MOST_PA:
        raise NotAir(
            f"The air's pressure is between {LEAST_PA / 100:g} and {MOST_PA / 100:g} hPa, and "
            f"{_told(pressure_Pa / 100, 'hPa')} is not: write what the barometer shows, such as 1013 hPa."
        )


def _told(value: float, unit: str) -> str:
    return f"{value:.6g} {unit}" if math.isfinite(value) else "what is given"
