"""The answer to a reading of the air: its sums in SI and US units, and whether the surface is dry enough to paint."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from benchtool.sheets.values import Values, with_why
from benchtool.trade import air as sums
from benchtool.trade.air import HUMID_PERCENT, MARGIN_K, MARGIN_US_K, Air
from benchtool.trade.numbers import figure

_PSI_PA = 6894.757293168
_GRAIN_G = 0.06479891
_FT3_M3 = 0.3048**3


@dataclass(frozen=True, slots=True)
class AirSheet:
    """One reading, and whether the reducer in use is a `fast` one."""

    air: Air
    fast: bool = False

    @property
    def margin_K(self) -> float | None:
        """How far the surface stands above the dew point."""
        return sums.margin_K(self.air)

    @property
    def stop(self) -> bool:
        """Whether the surface is too near to the dew point to be painted."""
        return self.margin_K is not None and not sums.keeps_margin(self.margin_K)

    @property
    def words(self) -> str:
        """Whether the piece may be painted, as far as the dew point goes."""
        margin, surface = self.margin_K, self.air.surface_degC
        if margin is None or surface is None:
            return "Measure the surface too: paint where it is at least 3 °C above the dew point."
        # down, so that a margin that is not enough never reads as if it were
        near = f"{_down(abs(margin))} °C ({_down(abs(margin) * 1.8)} °F)"
        if not self.stop:
            return f"The surface is {near} above the dew point: enough, for 3 °C (5.4 °F) are asked for."
        where = f"only {near} above" if margin > 0 else f"{near} below" if margin < 0 else "just at"
        return (
            f"Don't paint: the surface is {where} the dew point, and 3 °C (5.4 °F) above it are asked for; "
            "warm the piece or dry the air, and measure both again."
        )

    @property
    def blush(self) -> str:
        """What is said of blushing; nothing where the air is dry enough."""
        return sums.blush_words(self.air, self.fast)

    @property
    def notes(self) -> tuple[str, ...]:
        """What else a painter should know of this reading."""
        return tuple(_notes(self.air, self.margin_K))


def air_answer(sheet: AirSheet) -> Values:
    """Give dew point, wet bulb (degC), vapour pressures (Pa) and margin (K); US values have keys of their own."""
    air = sheet.air
    degC, percent = air.air_degC, air.humidity_percent
    dew, wet = air.dew_point_degC, sums.wet_bulb_degC(degC, percent, air.pressure_Pa)
    saturation, vapour = sums.saturation_Pa(degC), sums.vapour_Pa(degC, percent)
    deficit = sums.deficit_Pa(degC, percent)
    water_g_m3, ratio = sums.absolute_humidity_g_m3(degC, percent), sums.humidity_ratio(degC, percent, air.pressure_Pa)
    margin = sheet.margin_K
    values: Values = {
        "dew_point_degC": dew,
        "wet_bulb_degC": wet,
        "saturation_Pa": saturation,
        "vapour_Pa": vapour,
        "deficit_Pa": deficit,
        "margin_K": margin,
        "margin_needed_K": MARGIN_K,
        "keeps_3_K": None if margin is None else sums.keeps_margin(margin),
        "keeps_5_degF": None if margin is None else sums.keeps_margin(margin, MARGIN_US_K),
        "at_most_85_percent": percent <= HUMID_PERCENT,
        "absolute_humidity_g_per_m3": water_g_m3,
        "humidity_ratio_g_per_kg": 1000 * ratio,
        "dew_point_degF": _degF(dew),
        "wet_bulb_degF": _degF(wet),
        "saturation_psi": saturation / _PSI_PA,
        "vapour_psi": vapour / _PSI_PA,
        "deficit_psi": deficit / _PSI_PA,
        "margin_degF": None if margin is None else margin * 1.8,
        "absolute_humidity_gr_per_ft3": water_g_m3 / _GRAIN_G * _FT3_M3,
        "humidity_ratio_gr_per_lb": 7000 * ratio,
        "temperature_degC": degC,
        "humidity_percent": percent,
        "surface_degC": air.surface_degC,
        "pressure_Pa": air.pressure_Pa,
        "words": sheet.words,
        "blush": sheet.blush,
        "notes": list(sheet.notes),
    }
    return with_why(values, ["no surface temperature is given"] if margin is None else [])


def air_text(sheet: AirSheet) -> str:
    """Say how the air stands."""
    return "\n".join(_lines(sheet)) + "\n"


def _lines(sheet: AirSheet) -> Iterator[str]:
    air = sheet.air
    degC, percent = air.air_degC, air.humidity_percent
    yield sheet.words
    yield (
        f"Air of {_both(degC)} at {figure(percent)} % humidity has its dew point at {_both(air.dew_point_degC)} "
        f"and its wet bulb at {_both(sums.wet_bulb_degC(degC, percent, air.pressure_Pa))}."
    )
    saturation, deficit = sums.saturation_Pa(degC), sums.deficit_Pa(degC, percent)
    water = sums.absolute_humidity_g_m3(degC, percent)
    yield (
        f"It holds {figure(water)} g of water to the cubic metre ({figure(water / _GRAIN_G * _FT3_M3)} gr/ft³): "
        f"{figure(sums.vapour_Pa(degC, percent), 4)} Pa of vapour of the {figure(saturation, 4)} Pa it can, "
        f"so {figure(deficit, 4)} Pa ({figure(deficit / _PSI_PA)} psi) short."
    )
    if sheet.blush:
        yield sheet.blush
    yield from sheet.notes


def _notes(air: Air, margin: float | None) -> Iterator[str]:
    if (meant := sums.misread_fahrenheit(air.air_degC, air.humidity_percent)) is not None:
        typed = f"{figure(air.air_degC)} °F"
        yield f"No open air was ever so hot and damp: if that was {typed}, it is {figure(meant)} °C."
    if (meant := sums.misread_surface(air)) is not None and air.surface_degC is not None:
        typed = f"{figure(air.surface_degC)} °F"
        yield f"The surface is far hotter than the air: if that was {typed}, it is {figure(meant)} °C."
    if margin is not None and not sums.keeps_margin(margin) and sums.keeps_margin(margin, MARGIN_US_K):
        yield "The rule of 5 °F (2.8 °C) would let this pass; 3 °C is the stricter one, and is kept here."
    if air.humidity_percent > HUMID_PERCENT:
        yield f"Most sheets stop at {HUMID_PERCENT:g} % humidity: look what the card says."


def _degF(degC: float) -> float:
    return degC * 1.8 + 32


def _both(degC: float) -> str:
    return f"{degC:.1f} °C ({_degF(degC):.1f} °F)"


def _down(value: float) -> str:
    return figure(math.floor(value * 100 + 1e-6) / 100)
