"""The names a painter writes for units, and what each one means to pint.

pint reads case-sensitively and knows more than a bench needs: to it a mil is an angle, C is a charge and cfm a
very short length. So the names in use on a bench stand here, in any case, and pint is asked about the rest only.
"""

import re
from dataclasses import dataclass

from benchtool.trade.numbers import shorten

DROPS = frozenset({"drop", "drops", "gtt", "gtts"})
"""Names of a drop; gtt (gutta) is the pharmacist's."""
PARTS = frozenset({"part", "parts"})


class NotAUnit(ValueError):
    """The text names no unit, or more than one; `advice` says what to write instead where that is known."""

    def __init__(self, message: str, advice: str = "") -> None:
        super().__init__(message)
        self.advice = advice


@dataclass(frozen=True, slots=True)
class UnitName:
    """A unit as understood: pint's name for it, over another where it is a rate or a density, and our words.

    `words` is empty where the name is not one of ours, and pint has to say whether it knows it.
    """

    pint: str
    words: str
    over: str | None = None


_LENGTHS = {
    "micrometer": ("µm", "um, µm, micron, micrometer, micrometre"),
    "millimeter": ("mm", "mm, millimeter, millimetre"),
    "centimeter": ("cm", "cm, centimeter, centimetre"),
    "decimeter": ("dm", "dm, decimeter, decimetre"),
    "meter": ("m", "m, meter, metre"),
    "thou": ("mil", "mil, thou, thousandth"),
    "inch": ("in", "in, inch, inches, \", ″"),
    "foot": ("ft", "ft, foot, feet, ', ′"),
    "yard": ("yd", "yd, yard"),
}  # fmt: skip
_OTHERS = {
    "microliter": ("µL", "ul, µl, microliter, microlitre"),
    "milliliter": ("mL", "ml, milliliter, millilitre, cc, ccm, c c"),
    "centiliter": ("cL", "cl, centiliter, centilitre"),
    "deciliter": ("dL", "dl, deciliter, decilitre"),
    "liter": ("L", "l, liter, litre, ltr"),
    "milligram": ("mg", "mg, milligram, milligramme"),
    "gram": ("g", "g, gram, gramme, gm"),
    "kilogram": ("kg", "kg, kilo, kilogram, kilogramme"),
    "pound": ("lb", "lb, pound"),
    "grain": ("grain", "grain"),
    "ounce": (
        "oz wt",
        "oz wt, oz weight, ounce weight, ounce by weight, ounces by weight, oz by weight, avoirdupois ounce, oz avdp",
    ),
    "second": ("s", "s, sec, second"),
    "minute": ("min", "min, minute"),
    "hour": ("h", "h, hr, hour"),
    "day": ("d", "d, day"),
    "degree_Celsius": ("°C", "c, degc, celsius, centigrade, ℃"),
    "degree_Fahrenheit": ("°F", "f, degf, fahrenheit, ℉"),
    "kelvin": ("K", "k, kelvin"),
    "stokes": ("St", "st, stokes, stoke"),
    "centistokes": ("cSt", "cst, centistokes, centistoke"),
    "poise": ("P", "poise"),
    "centipoise": ("cP", "cp, centipoise"),
    "pascal": ("Pa", "pa, pascal"),
    "hectopascal": ("hPa", "hpa, hectopascal"),
    "kilopascal": ("kPa", "kpa, kilopascal"),
    "millibar": ("mbar", "mbar, millibar"),
    "bar": ("bar", "bar"),
    "psi": ("psi", "psi"),
    "inch_Hg": ("inHg", "inhg, in hg, inch hg, inches hg"),
    "millimeter_Hg": ("mmHg", "mmhg, mm hg"),
}  # fmt: skip
_BOTH = {
    "fluid_ounce": (
        "fluid ounce", "imperial_fluid_ounce",
        "fl oz, floz, fluid ounce, fluid oz, fl ounce, fl ozs, fluidounce",
    ),
    "fluid_dram": ("fluid dram", "imperial_fluid_drachm", "fluid dram, fluid drachm, fl dr, fl dram, fluidram"),
    "minim": ("minim", "imperial_minim", "minim"),
    "gill": ("gill", "imperial_gill", "gill"),
    "cup": ("cup", "imperial_cup", "cup"),
    "pint": ("pint", "imperial_pint", "pt, pint, liquid pint"),
    "quart": ("quart", "imperial_quart", "qt, quart, liquid quart"),
    "gallon": ("gallon", "imperial_gallon", "gal, gallon, liquid gallon"),
    "teaspoon": ("teaspoon", None, "tsp, teaspoon"),
    "tablespoon": ("tablespoon", None, "tbsp, tablespoon"),
}  # fmt: skip
"""Measures of which the US one is meant unless the text says imperial. A spoon has no imperial size of its own."""

_AMBIGUOUS = (
    ("oz, ounce, ozs", "an ounce of volume or of weight?", "Write “fl oz”, or “oz wt” on a scale."),
    ("dram, drachm, dr", "a dram of volume or of weight?", "Write “fluid dram”, or the weight in “g”."),
    ("gr", "grams or grains?", "Write “g” for grams, or “grain”."),
    ("t", "a teaspoon, a tablespoon or a tonne?", "Write “tsp” or “tbsp”, or the weight in “kg”."),
)


def _by_name(table: dict[str, tuple[str, str]]) -> dict[str, tuple[str, str]]:
    return {name: (unit, words) for unit, (words, names) in table.items() for name in names.split(", ")}


_LENGTH = _by_name(_LENGTHS)
_SINGLE = _by_name(_OTHERS)
_MEASURE = {name: (unit, words, imperial) for unit, (words, imperial, names) in _BOTH.items()
            for name in names.split(", ")}  # fmt: skip
_UNCLEAR = {name: (question, advice) for names, question, advice in _AMBIGUOUS for name in names.split(", ")}
_WHOLE = {
    "cfm": UnitName("cubic_foot", "ft³/min", "minute"),
    "lpm": UnitName("liter", "L/min", "minute"),
}

_SYSTEM_FIRST = re.compile(r"(?P<system>imperial|imp|uk|us) (?P<name>.+)", re.IGNORECASE)
_SYSTEM_LAST = re.compile(r"(?P<name>.+?) ?(?:\((?P<in_brackets>imperial|imp|uk|us)\)| (?P<system>imperial|imp|uk|us))",
                          re.IGNORECASE)  # fmt: skip
_DEGREES = re.compile(r"(?:deg|degrees?) ?(c|f|celsius|fahrenheit|centigrade)")
_POWER_FIRST = re.compile(r"(?P<power>square|sq|cubic|cu) ?(?P<name>.+)")
_POWER_LAST = re.compile(r"(?P<name>.+?) ?(?:\^|\*\*)? ?(?P<power>[23²³])")
_POWERS = {"sq": 2, "square": 2, "2": 2, "²": 2, "cu": 3, "cubic": 3, "3": 3, "³": 3}
_WORD = re.compile(r"(?!delta)[A-Za-z]+(?:[ _][A-Za-z]+)*")
"""What pint may be asked about: words alone. m^9^9^9 would be reckoned out for hours. A difference of
temperature (pint's delta) is another thing than a temperature, and is read by a reader of its own."""


def tidy(name: str) -> str:
    """Bring a unit to one spelling: single spaces, no full stops, one micro sign, degrees in letters."""
    plain = re.sub("[°º˚]", "deg ", name.replace("μ", "µ").replace("_", " "))
    plain = re.sub(r"\bu\.([sk])\b\.?", r"u\1 ", plain, flags=re.IGNORECASE).replace(".", " ")
    return " ".join(plain.split()).replace("( ", "(").replace(" )", ")")


def read_unit(text: str) -> UnitName:
    """Read the name of a unit such as `mL`, `imperial fl oz`, `sq ft`, `lb/gal` or `mL per minute`.

    Raises:
        NotAUnit: with a sentence about the name; `advice` is empty where the field's own advice serves.
    """
    if len(text) > 80:
        raise NotAUnit(f"“{shorten(text)}” is not a unit.")
    name = tidy(text)
    whole = _WHOLE.get(name.lower())
    if whole is not None:
        return whole
    pieces = re.split(r" ?/ ?| per ", name)
    if len(pieces) > 2 or not all(pieces):
        raise NotAUnit(f"“{shorten(text)}” is not a unit.")
    first = _one(pieces[0])
    if len(pieces) == 1:
        return first
    second = _one(pieces[1])
    if any(unit.pint.startswith("degree_") for unit in (first, second)):
        raise NotAUnit(f"“{shorten(text)}” is not a unit known here.")
    words = f"{first.words}/{second.words}" if first.words and second.words else ""
    return UnitName(first.pint, words, second.pint)


def _one(text: str) -> UnitName:
    system, name = "", text
    found = _SYSTEM_FIRST.fullmatch(text) or _SYSTEM_LAST.fullmatch(text)
    if found is not None:
        said = found["system"] or found["in_brackets"]
        system, name = "us" if said.lower() == "us" else "imperial", found["name"]
    low = _DEGREES.sub(r"\1", name.lower()) if name.lower().startswith("deg") else name.lower()
    # A plural only of three letters and more: ms is no metre
    for known in (low, low[:-1]) if low.endswith("s") and len(low) > 2 else (low,):
        if known in _UNCLEAR:
            question, advice = _UNCLEAR[known]
            raise NotAUnit(f"“{shorten(text)}”: {question}", advice)
        if known in _MEASURE:
            unit, words, imperial = _MEASURE[known]
            if system == "imperial":
                if imperial is None:
                    raise NotAUnit(f"There is no imperial “{shorten(name)}” of one size.")
                return UnitName(imperial, f"imperial {words}")
            return UnitName(unit, f"US {words}")
        if system == "imperial":
            continue
        if known in _SINGLE:
            return UnitName(*_SINGLE[known])
        power = _power(known)
        if power is not None:
            return power
    if _WORD.fullmatch(name) is None:
        raise NotAUnit(f"“{shorten(text)}” is not a unit.")
    if system == "imperial":
        raise NotAUnit(f"There is no imperial “{shorten(name)}”.")
    return UnitName(name.replace(" ", "_"), "")


def _power(low: str) -> UnitName | None:
    if low in _LENGTH:
        return UnitName(*_LENGTH[low])
    found = _POWER_FIRST.fullmatch(low) or _POWER_LAST.fullmatch(low)
    if found is None or found["name"] not in _LENGTH:
        return None
    unit, words = _LENGTH[found["name"]]
    power = _POWERS[found["power"]]
    return UnitName(f"{unit} ** {power}", f"{words}{'²' if power == 2 else '³'}")
