"""Amounts in any unit, read by pint and handed on as plain floats: mL, g, um, m2, degC and so on.

US and imperial measures are never confused: a fluid ounce, pint, quart or gallon is the US one unless the
text says imperial, and what was understood is said back.
"""

import math
import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

from benchtool.trade.numbers import NotANumber, figure, read_number, shorten
from benchtool.trade.unit_names import DROPS, PARTS, NotAUnit, UnitName, read_unit, tidy

if TYPE_CHECKING:
    import pint

LARGEST_ML = 1_000_000.0
"""No cup on a bench holds more than a cubic metre (judgement, no source); a larger figure is a slip."""

USUAL_DROP_ML = 1 / 20
"""mL of a drop nobody has measured: 20 to the mL is a convention for water (USP <1101>: a dropper of 3 mm whose
drops weigh 45 to 55 mg, so 18.2 to 22.2 to the mL). Solvents give smaller drops, so it is a guess."""


class NotAnAmount(ValueError):
    """The text is no amount for this field; the message says what the field takes."""


@dataclass(frozen=True, slots=True)
class Amount:
    """A volume as typed and as understood. `guess` where it rests on a drop that nobody has measured."""

    mL: float
    typed: str
    understood: str
    guess: bool = False


class Converted(NamedTuple):
    """A value in the unit asked for, that unit in words, and what was understood (a guess says so there)."""

    value: float
    unit: str
    understood: str


@dataclass(frozen=True, slots=True)
class _Kind:
    """What a field takes.

    `lowest` and `largest` are in `unit`; beyond them a figure is a slip (judgement, no source, but for absolute zero).
    """

    what: str
    unit: str
    takes: str
    largest: float
    lowest: float = 0.0
    zero: bool = True


_VOLUME = _Kind("a volume", "milliliter", "Type a volume such as 30 mL or 1 fl oz.", LARGEST_ML)
_MASS = _Kind("a weight", "gram", "Type a weight such as 12 g or 1 oz wt.", 1e6)
_FILM = _Kind("a thickness", "micrometer", "Type a thickness such as 25 um or 1 mil.", 1e9)
_LENGTH = _Kind("a length", "millimeter", "Type a length such as 300 mm or 12 in.", 1e6)
_AREA = _Kind("an area", "meter ** 2", "Type an area such as 1.5 m2, 16 sq ft or 30 x 40 cm.", 1e6)
_SIDE = _Kind("a length", "millimeter", _AREA.takes, 1e6)
_RATE = _Kind("a rate", "milliliter / minute", "Type a rate such as 20 mL/min or 1 fl oz/min.", 1e6, zero=False)
_DENSITY = _Kind("a density", "gram / milliliter", "Type a density such as 1.2 g/mL or 10 lb/gal.", 25.0, zero=False)
_CONTENT = _Kind("a content", "gram / liter", "Type a content such as 420 g/L or 3.5 lb/gal.", 25e3)
_WARMTH = _Kind("a temperature", "degree_Celsius", "Type a temperature such as 20 C or 68 F.", 2000.0, lowest=-273.15)
_VISCOSITY = _Kind(
    "a kinematic viscosity", "millimeter ** 2 / second", "Type a viscosity such as 40 mm2/s or 40 cSt.", 1e9, zero=False
)
_KINDS = (_VOLUME, _MASS, _LENGTH, _AREA, _RATE, _DENSITY, _WARMTH, _VISCOSITY)
_OTHER_KINDS = (
    ("a pressure", "pascal"), ("a time", "second"), ("a speed", "meter / second"), ("a dynamic viscosity", "poise"),
)  # fmt: skip
_STEPS = {
    "degree_Celsius": "delta_degree_Celsius", "degree_Fahrenheit": "delta_degree_Fahrenheit", "kelvin": "kelvin",
}  # fmt: skip
_DIFFERENCE = "Type a difference such as 3 C or 5 F."
_CONVERT = "Write, for instance, “1 imperial fl oz” and “mL”."


@contextmanager
def _without(module: str) -> Iterator[None]:
    """Hide a module that is not loaded yet: pint takes numpy wherever it lies, which doubles the time that it loads."""
    if module in sys.modules:
        yield
        return
    sys.modules[module] = None  # type: ignore[assignment]
    try:
        yield
    finally:
        del sys.modules[module]


@dataclass(frozen=True, eq=False)
class Measures:
    """Reads amounts. pint is loaded at the first reading, not before: it costs more start-up than Qt.

    `cache_folder` is where pint keeps its parsed definitions, None for no cache. In each reader, `unit` is taken
    where the text is a bare number; None refuses a bare number.
    """

    cache_folder: str | None = None

    @cached_property
    def _registry(self) -> "pint.UnitRegistry[Any]":
        with _without("numpy"):
            import pint

        try:
            return pint.UnitRegistry(cache_folder=self.cache_folder)
        except OSError:  # a cache that can't be written must not stop a mix
            return pint.UnitRegistry()

    def warm(self) -> None:
        """Load pint now, for a quiet moment after the first paint."""
        self._registry.parse_units("milliliter")

    def volume(
        self,
        text: str,
        *,
        density_g_mL: float | None = None,
        unit: str | None = None,
        drop_mL: float | None = None,
        part_mL: float | None = None,
    ) -> Amount:
        """Read a volume (mL); a mass is turned into one where the density (g/mL) is known.

        `15 drops` are read by `drop_mL`, the mL of one drop of that dropper; without it they are a guess by
        `USUAL_DROP_ML`. `3 parts` are read by `part_mL`, the mL of one part; without it they are refused.

        Raises:
            NotAnAmount: with one sentence that says what the field takes.
        """
        number, name = _split(text, unit, _VOLUME.takes)
        counted = _counted(text, number, name, drop_mL, part_mL, _VOLUME.takes)
        if counted is not None:
            mL, understood, guess = counted
        else:
            quantity, understood = self._quantity(number, name, _VOLUME.takes)
            guess = False
            if quantity.is_compatible_with("milliliter"):
                mL = _in(quantity, "milliliter")
            elif not quantity.is_compatible_with("gram"):
                raise NotAnAmount(f"“{shorten(text)}” is not a volume. {_VOLUME.takes}")
            elif density_g_mL is None:
                raise NotAnAmount(
                    f"“{shorten(text)}” is a weight, and the card gives no density for this part. {_VOLUME.takes}"
                )
            else:
                _above_zero(density_g_mL, "a density", "g/mL", _VOLUME.takes)
                mL = _in(quantity, "gram") / density_g_mL
        if number < 0:
            raise NotAnAmount(f"“{shorten(text)}” is below zero: nothing can be poured back. {_VOLUME.takes}")
        if not mL <= LARGEST_ML:
            raise NotAnAmount(f"“{shorten(text)}” is more than any cup holds. {_VOLUME.takes}")
        return Amount(mL=mL, typed=text.strip(), understood=understood, guess=guess)

    def mass(self, text: str, *, unit: str | None = None) -> float:
        """Read a mass (g). Raises NotAnAmount."""
        return self._read(text, unit, _MASS)

    def length_um(self, text: str, *, unit: str | None = None) -> float:
        """Read a film thickness (um): um, mil, thou, mm. Raises NotAnAmount."""
        return self._read(text, unit, _FILM)

    def length_mm(self, text: str, *, unit: str | None = None) -> float:
        """Read a length (mm): mm, cm, m, in, ft. Raises NotAnAmount."""
        return self._read(text, unit, _LENGTH)

    def area_m2(self, text: str, *, unit: str | None = None) -> float:
        """Read an area (m2): `1.5 m2`, `16 sq ft`, or two lengths as in `30 x 40 cm`. Raises NotAnAmount."""
        sides = re.split(r"\s*[x×]\s*", text.strip(), flags=re.IGNORECASE) if len(text) <= 200 else []
        if len(sides) != 2 or re.match(r"[\d.,½¼¾⅓⅔⅛⅜⅝⅞]", sides[1]) is None:
            return self._read(text, unit, _AREA)
        second = self._read(sides[1], None, _SIDE)
        first = self._read(sides[0], _split(sides[1], None, _AREA.takes)[1], _SIDE)
        if first * second > _AREA.largest * 1e6:
            raise NotAnAmount(f"“{shorten(text)}” is too large to be an area. {_AREA.takes}")
        return first * second / 1e6

    def rate_mL_min(self, text: str, *, unit: str | None = None) -> float:
        """Read a flow rate (mL/min), above zero. Raises NotAnAmount."""
        return self._read(text, unit, _RATE)

    def density_g_mL(self, text: str, *, unit: str | None = None) -> float:
        """Read a density (g/mL), above zero. Raises NotAnAmount."""
        return self._read(text, unit, _DENSITY)

    def concentration_g_L(self, text: str, *, unit: str | None = None) -> float:
        """Read a content (g/L), such as the VOC of a product. Raises NotAnAmount."""
        return self._read(text, unit, _CONTENT)

    def temperature_degC(self, text: str, *, unit: str | None = None) -> float:
        """Read a temperature (degC): `20C`, `68 °F`, `293.15 K`. Raises NotAnAmount."""
        return self._read(text, unit, _WARMTH)

    def temperature_difference_K(self, text: str, *, unit: str | None = None) -> float:
        """Read a difference of temperature (K): 5 F is 2.778 K, with no 32 taken off. Raises NotAnAmount."""
        number, name = _split(text, unit, _DIFFERENCE)
        known = _unit(name, _DIFFERENCE)
        step = _STEPS.get(known.pint) if known.over is None else None
        if step is None:
            raise NotAnAmount(f"“{shorten(text)}” is not a difference of temperature. {_DIFFERENCE}")
        kelvin = _in(self._registry.Quantity(number, step), "kelvin")
        if not abs(kelvin) <= _WARMTH.largest:
            raise NotAnAmount(f"“{shorten(text)}” is too large to be a difference of temperature. {_DIFFERENCE}")
        return kelvin

    def viscosity_mm2_s(self, text: str, *, unit: str | None = None) -> float:
        """Read a kinematic viscosity (mm2/s): mm2/s, cSt, St, above zero. Raises NotAnAmount."""
        return self._read(text, unit, _VISCOSITY)

    def convert(
        self,
        text: str,
        unit: str,
        *,
        density_g_mL: float | None = None,
        drop_mL: float | None = None,
        part_mL: float | None = None,
    ) -> Converted:
        """Turn what is typed into `unit`, temperatures too.

        Drops and parts are read and written as in `volume`; a weight becomes a volume, or the other way, with
        `density_g_mL`.

        Raises:
            NotAnAmount: an unknown unit, or two that measure different things, in one sentence.
        """
        number, name = _split(text, None, _CONVERT)
        if not unit.strip():
            raise NotAnAmount(f"No unit to turn it into is given. {_CONVERT}")
        counted = _counted(text, number, name, drop_mL, part_mL, _CONVERT)
        if counted is not None:
            quantity, understood = self._registry.Quantity(counted[0], "milliliter"), counted[1]
        else:
            quantity, understood = self._quantity(number, name, _CONVERT)
        self._possible(text, quantity)
        wanted = tidy(unit)
        per_unit = _counted(unit, 1.0, wanted, drop_mL, part_mL, _CONVERT)
        if per_unit is not None:
            target, words = self._registry.parse_units("milliliter"), wanted.lower()
        else:
            target, words = self._units(_unit(unit, _CONVERT), unit, _CONVERT)
        value = _in(self._comparable(text, quantity, unit, target, density_g_mL), target)
        if per_unit is not None:
            value /= per_unit[0]
            if per_unit[2]:
                understood += f"; how many {words} is a guess, at 20 drops to the mL"
        if not math.isfinite(value):
            raise NotAnAmount(f"“{shorten(text)}” is too large to be turned into “{shorten(unit)}”. {_CONVERT}")
        return Converted(value, words, understood)

    def _comparable(self, text: str, quantity: Any, unit: str, target: Any, density_g_mL: float | None) -> Any:
        """Give `quantity` as something that `target` can measure, by the density where that is what it takes."""
        if quantity.is_compatible_with(target):
            return quantity
        for start, end in (("gram", "milliliter"), ("milliliter", "gram")):
            if quantity.is_compatible_with(start) and self._registry.Quantity(1, target).is_compatible_with(end):
                if density_g_mL is None:
                    raise NotAnAmount(
                        f"“{shorten(text)}” in “{shorten(unit)}”: a weight and a volume are compared by the density;"
                        " give it too, from the card."
                    )
                _above_zero(density_g_mL, "a density", "g/mL", _CONVERT)
                factor = density_g_mL if start == "milliliter" else 1 / density_g_mL
                return self._registry.Quantity(_in(quantity, start) * factor, end)
        here, there = self._kind(quantity), self._kind(self._registry.Quantity(1, target))
        told = f"the one is {here}, the other {there}" if here and there else "they measure different things"
        raise NotAnAmount(f"“{shorten(text)}” can't be turned into “{shorten(unit)}”: {told}. {_CONVERT}")

    def _kind(self, quantity: Any) -> str:
        known = [(kind.what, kind.unit) for kind in _KINDS] + list(_OTHER_KINDS)
        return next((what for what, unit in known if quantity.is_compatible_with(unit)), "")

    def _possible(self, text: str, quantity: Any) -> None:
        """Refuse less than nothing, and what is colder than absolute zero."""
        for kind in _KINDS:
            if quantity.is_compatible_with(kind.unit) and _in(quantity, kind.unit) < kind.lowest:
                low = "absolute zero" if kind is _WARMTH else "zero"
                raise NotAnAmount(f"“{shorten(text)}” is below {low}. {_CONVERT}")

    def _read(self, text: str, unit: str | None, kind: _Kind) -> float:
        number, name = _split(text, unit, kind.takes)
        quantity, _ = self._quantity(number, name, kind.takes)
        if not quantity.is_compatible_with(kind.unit):
            raise NotAnAmount(f"“{shorten(text)}” is not {kind.what}. {kind.takes}")
        value = _in(quantity, kind.unit)
        if value < kind.lowest or (value <= 0 and not kind.zero):
            low = "below absolute zero" if kind is _WARMTH else "not above zero" if not kind.zero else "below zero"
            raise NotAnAmount(f"“{shorten(text)}” is {low}. {kind.takes}")
        if not value <= kind.largest:
            raise NotAnAmount(f"“{shorten(text)}” is too large to be {kind.what}. {kind.takes}")
        return value

    def _quantity(self, number: float, name: str, takes: str) -> tuple[Any, str]:
        units, words = self._units(_unit(name, takes), name, takes)
        return self._registry.Quantity(number, units), f"{_said(number)} {words}"

    def _units(self, known: UnitName, name: str, takes: str) -> tuple[Any, str]:
        try:
            units = self._registry.parse_units(known.pint)
            if known.over is not None:
                units = units / self._registry.parse_units(known.over)
        except Exception:  # noqa: BLE001 - pint raises many kinds for text that is no unit
            raise NotAnAmount(f"“{shorten(name)}” is not a unit known here. {takes}") from None
        return units, known.words or str(units).replace("_", " ")


def _unit(name: str, takes: str) -> UnitName:
    try:
        return read_unit(name)
    except NotAUnit as fault:
        raise NotAnAmount(f"{fault} {fault.advice or takes}") from None


def _split(text: str, unit: str | None, takes: str) -> tuple[float, str]:
    if not text.strip():
        raise NotAnAmount(f"Nothing is typed yet. {takes}")
    if len(text) > 200:
        raise NotAnAmount(f"“{shorten(text)}” is far too long. {takes}")
    try:
        number, name = read_number(text.strip().replace("−", "-"))
    except NotANumber as fault:
        raise NotAnAmount(f"{fault} {takes}") from None
    if not name:
        if unit is None:
            raise NotAnAmount(f"“{shorten(text)}” has no unit. {takes}")
        name = unit
    return number, tidy(name)


def _counted(
    text: str, number: float, name: str, drop_mL: float | None, part_mL: float | None, takes: str
) -> tuple[float, str, bool] | None:
    """Read drops and parts as (mL, understood, guess); None where the text is of neither."""
    low = name.lower()
    if low in DROPS:
        said = f"{_said(number)} drop{'' if number == 1 else 's'}"
        if drop_mL is None:
            return number * USUAL_DROP_ML, f"{said} at 20 to the mL, a guess", True
        _above_zero(drop_mL, "a drop", "mL", takes)
        return number * drop_mL, f"{said} at {_said(drop_mL)} mL each", False
    if low in PARTS:
        if part_mL is None:
            raise NotAnAmount(f"“{shorten(text)}”: how much is one part? {takes}")
        _above_zero(part_mL, "a part", "mL", takes)
        return number * part_mL, f"{_said(number)} part{'' if number == 1 else 's'} at {_said(part_mL)} mL each", False
    return None


def _in(quantity: Any, unit: Any) -> float:
    # pint goes by way of its base units, which leaves 68 F at 20.000000000000057 C
    value = float(quantity.to(unit).magnitude)
    return round(value, 9) if quantity.check("[temperature]") else float(f"{value:.13g}")


def _above_zero(value: float, what: str, unit: str, takes: str) -> None:
    if not 0 < value < math.inf:
        raise NotAnAmount(f"{what.capitalize()} can't be {value:g} {unit}. {takes}")


def _said(number: float) -> str:
    text = figure(number, 4) if abs(number) < 1e15 else f"{number:g}"
    return text if number == 0 or float(text) != 0 else f"{number:g}"  # never say 0 for what is not
