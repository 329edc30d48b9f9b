"""The unit a painter reads volumes in, and amounts written in it as finely as a bench can measure them."""

from enum import StrEnum

US_FL_OZ_ML = 29.5735295625
"""mL in a US fluid ounce, exactly: 1/128 of a gallon of 231 cubic inches (NIST Handbook 44, Appendix C)."""

IMPERIAL_FL_OZ_ML = 28.4130625
"""mL in an imperial fluid ounce, exactly: 1/160 of 4.54609 L (UK Weights and Measures Act 1985, schedule 1)."""


class VolumeUnit(StrEnum):
    """The unit volumes are shown in. Each value is also what `Measures.volume` reads."""

    ML = "mL"
    US_FL_OZ = "US fl oz"
    IMPERIAL_FL_OZ = "imperial fl oz"

    @property
    def mL(self) -> float:
        """How many mL one of this unit is."""
        return {
            VolumeUnit.ML: 1.0,
            VolumeUnit.US_FL_OZ: US_FL_OZ_ML,
            VolumeUnit.IMPERIAL_FL_OZ: IMPERIAL_FL_OZ_ML,
        }[self]


def volume_places(mL: float, unit: VolumeUnit = VolumeUnit.ML) -> int:
    """Count the decimal places that a bench can measure at this amount.

    A syringe shows 0.01 mL below 10 mL, a cup 0.1 mL below 100 mL and 1 mL above (common practice, no
    source). A fluid ounce is some thirty times larger and takes two places more, so that the choice of unit
    costs nothing: 0.0001 fl oz is 0.003 mL.
    """
    places = 2 if abs(mL) < 10 else 1 if abs(mL) < 100 else 0
    return places if unit is VolumeUnit.ML else places + 2


def volume_figure(mL: float, unit: VolumeUnit = VolumeUnit.ML) -> str:
    """Write a volume (mL) in `unit` without naming the unit, for a column that names it once."""
    text = f"{mL / unit.mL:.{volume_places(mL, unit)}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def volume_words(mL: float, unit: VolumeUnit = VolumeUnit.ML) -> str:
    """Write a volume (mL) with its unit: `0.59 mL`, `1.014 US fl oz`, `1.056 imperial fl oz`.

    `Measures.volume` reads it back to within half a unit of the last figure.
    """
    return f"{volume_figure(mL, unit)} {unit.value}"
