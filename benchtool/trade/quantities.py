"""Amounts in any unit, read by pint and handed on as plain mL or g.

US and imperial measures are never confused: a fluid ounce, pint, quart or gallon is the US one unless the
text says imperial, and what was understood is said back.
"""

import re
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from benchtool.trade.numbers import NotANumber, figure, read_number, shorten

if TYPE_CHECKING:
    import pint

LARGEST_ML = 1_000_000.0
"""No cup on a bench holds more than a cubic metre (judgement, no source); a larger figure is a slip."""

_IMPERIAL = re.compile(r"^(?:imperial|imp\.?|uk)\s+", re.IGNORECASE)
_US = re.compile(r"^(?:us|u\.s\.)\s+", re.IGNORECASE)
_COMMON = {
    "ml": "milliliter", "cl": "centiliter", "dl": "deciliter", "l": "liter", "cc": "milliliter",
    "ccm": "milliliter", "litre": "liter", "litres": "liter", "liters": "liter", "µl": "microliter",
    "fl oz": "fluid_ounce", "fl. oz": "fluid_ounce", "fl.oz": "fluid_ounce",
    "floz": "fluid_ounce", "fl_oz": "fluid_ounce", "fluid ounce": "fluid_ounce",
    "fluid ounces": "fluid_ounce", "fl ozs": "fluid_ounce", "pt": "pint", "pints": "pint", "qt": "quart",
    "quarts": "quart", "gal": "gallon", "gals": "gallon", "gallons": "gallon", "cup": "cup", "cups": "cup",
    "fluid dram": "fluid_dram", "fluid drams": "fluid_dram", "fl dr": "fluid_dram", "cu in": "cubic_inch",
    "cm3": "cubic_centimeter",
    "tsp": "teaspoon", "teaspoons": "teaspoon", "tbsp": "tablespoon", "tablespoons": "tablespoon",
    "g": "gram", "gr": "gram", "grams": "gram", "kg": "kilogram", "mg": "milligram", "lb": "pound",
    "lbs": "pound", "oz wt": "ounce", "oz weight": "ounce", "ounces by weight": "ounce",
}  # fmt: skip
_UNIT = re.compile(r"[A-Za-zµμ][A-Za-zµμ_ /-]{0,40}(?:(?:\^|\*\*) ?[1-9]|[²³])?")
"""What a unit may look like: words and at most one small exponent. m^9^9^9 would be reckoned out for hours."""
_BOTH_SYSTEMS = {
    "fluid_ounce", "fluid_dram", "pint", "quart", "gallon", "cup", "gill", "teaspoon", "tablespoon",
}  # fmt: skip
_AMBIGUOUS = {"oz", "ounce", "ounces", "ozs"}


class NotAnAmount(ValueError):
    """The text is no amount for this field; the message says what the field takes."""


@dataclass(frozen=True, slots=True)
class Amount:
    """A volume as typed and as understood."""

    mL: float
    typed: str
    understood: str


@dataclass(frozen=True, eq=False)
class Measures:
    """Reads amounts. pint is loaded at the first reading, not before: it costs more start-up than Qt.

    `cache_folder` is where pint keeps its parsed definitions, None for no cache.
    """

    cache_folder: str | None = None

    @cached_property
    def _registry(self) -> "pint.UnitRegistry[Any]":
        import pint

        try:
            return pint.UnitRegistry(cache_folder=self.cache_folder)
        except OSError:  # a cache that can't be written must not stop a mix
            return pint.UnitRegistry()

    def warm(self) -> None:
        """Load pint now, for a quiet moment after the first paint."""
        self._registry.parse_units("milliliter")

    def volume(self, text: str, *, density_g_mL: float | None = None, unit: str | None = None) -> Amount:
        """Read a volume; a mass is turned into one where the density (g/mL) is known.

        `unit` is taken where the text is a bare number; None refuses a bare number.

        Raises:
            NotAnAmount: with one sentence that says what the field takes.
        """
        takes = "Type a volume such as 30 mL or 1 fl oz."
        number, name = self._split(text, unit, takes)
        if _US.sub("", _IMPERIAL.sub("", name)).lower() in _AMBIGUOUS:
            raise NotAnAmount(
                f"“{shorten(text)}”: an ounce of volume or of weight? Write “fl oz”, or “oz wt” on a scale."
            )
        quantity, said = self._quantity(number, name, takes)
        if quantity.check("[length] ** 3"):
            mL = float(quantity.to("milliliter").magnitude)
        elif quantity.check("[mass]"):
            if density_g_mL is None:
                raise NotAnAmount(
                    f"“{shorten(text)}” is a weight, and the card gives no density for this part. {takes}"
                )
            mL = float(quantity.to("gram").magnitude) / density_g_mL
        else:
            raise NotAnAmount(f"“{shorten(text)}” is not a volume. {takes}")
        if number < 0:
            raise NotAnAmount(f"“{shorten(text)}” is below zero: nothing can be poured back. {takes}")
        if not mL <= LARGEST_ML:
            raise NotAnAmount(f"“{shorten(text)}” is more than any cup holds. {takes}")
        return Amount(mL=mL, typed=text.strip(), understood=f"{figure(number, 4)} {said}")

    def _split(self, text: str, unit: str | None, takes: str) -> tuple[float, str]:
        if not text.strip():
            raise NotAnAmount(f"Nothing is typed yet. {takes}")
        if len(text) > 200:
            raise NotAnAmount(f"“{shorten(text)}” is far too long. {takes}")
        try:
            number, name = read_number(text)
        except NotANumber as fault:
            raise NotAnAmount(f"{fault} {takes}") from None
        if not name:
            if unit is None:
                raise NotAnAmount(f"“{shorten(text)}” has no unit. {takes}")
            name = unit
        return number, " ".join(name.split()).removesuffix(".")

    def _quantity(self, number: float, name: str, takes: str) -> tuple[Any, str]:
        imperial = _IMPERIAL.match(name) is not None
        bare = _US.sub("", _IMPERIAL.sub("", name))
        unit = _COMMON.get(bare.lower(), bare)
        if _UNIT.fullmatch(unit) is None:
            raise NotAnAmount(f"“{shorten(name)}” is not a unit. {takes}")
        if imperial:
            singular = unit.removesuffix("s")
            if singular not in _BOTH_SYSTEMS:
                raise NotAnAmount(f"There is no imperial “{shorten(bare)}”. {takes}")
            unit = f"imperial_{singular}"
        try:
            quantity = self._registry.Quantity(number, self._registry.parse_units(unit))
            said = bare if unit in ("milliliter", "liter", "gram") else unit.replace("_", " ")
        except Exception:  # noqa: BLE001 - pint raises many kinds for text that is no unit
            raise NotAnAmount(f"“{shorten(name)}” is not a unit known here. {takes}") from None
        if unit in _BOTH_SYSTEMS:
            said = f"US {said}"
        return quantity, {"milliliter": "mL", "liter": "L", "gram": "g"}.get(unit, said)
