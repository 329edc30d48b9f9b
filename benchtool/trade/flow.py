"""Flow cups: seconds of a stopwatch to kinematic viscosity and back, each cup only where it can be read.

The equations hold for liquids whose thickness does not change with stirring (Newtonian); a metallic or a thixotropic
paint only nearly is one. Nothing here corrects a figure for temperature: it says so instead.
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from benchtool.trade.numbers import figure, shorten

BAND = 0.10
"""How far seconds may be off what the card asks for before it is said. Common practice, no source."""

CONVERSION_ERROR = 0.10
"""What a change from one cup to another may be off at least, as a fraction (5 to 10 %; from memory, no source)."""

NEAR_K = 1.0
"""How near its own temperature a cup is read without a word (judgement; a laboratory holds 0.5 K)."""

PERCENT_PER_K = 10
"""How much thinner a paint may become per degree. Read: ASTM D4212 8.1, up to 5 % per degree Fahrenheit; ASTM's own
news on a method for viscosity against temperature, 10 % per degree Celsius in some cases."""

NEWTONIAN_WORDS = "A flow cup is true only for paint that stays as thick when stirred as when left standing."


class OutOfRange(ValueError):
    """The cup can't be read there; the message gives its range and the next step."""


class NotAFlowCup(ValueError):
    """The text names no flow cup known here; the message says which there are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowCup:
    """One cup of one standard: v = `a` t - `b`/t - `c`, v in mm2/s and t in s.

    `shortest_s` and `longest_s` bound what may be read; from `best_s` on it is read well. `degC` is the paint's
    temperature the standard asks for. `confidence` is R where the equation was read in a published table and M where
    it comes from memory; `source` says the same in words for the painter.
    """

    id: str
    name: str
    standard: str
    degC: float
    a: float
    b: float = 0.0
    c: float = 0.0
    shortest_s: float
    longest_s: float
    best_s: float
    confidence: str
    source: str

    @property
    def thinnest_mm2_s(self) -> float:
        """The viscosity (mm2/s) at the shortest time it is read at."""
        return self.viscosity(self.shortest_s)

    @property
    def thickest_mm2_s(self) -> float:
        """The viscosity (mm2/s) at the longest time it is read at."""
        return self.viscosity(self.longest_s)

    def reads(self, seconds: float) -> bool:
        """Whether the cup may be read at `seconds`; the ends belong to the range."""
        return self.shortest_s * (1 - 1e-9) <= seconds <= self.longest_s * (1 + 1e-9)

    def viscosity(self, seconds: float, strict: bool = True) -> float:
        """Give the kinematic viscosity (mm2/s) for a time of `seconds`.

        Without `strict` the equation is followed outside the range, for as long as it gives a viscosity at all.

        Raises:
            OutOfRange: the time is no time, or outside the range.
        """
        _check_above_zero(seconds, "s", "time")
        found = self.a * seconds - self.b / seconds - self.c
        if (strict and not self.reads(seconds)) or found <= 0:
            raise OutOfRange(
                f"{self.name} is read between {self.shortest_s:g} and {self.longest_s:g} s: {_said(seconds)} s is "
                f"{_remedy(self, thin=seconds < self.shortest_s, mm2_s=found, again='; time it again')}"
            )
        return found

    def seconds(self, mm2_s: float, strict: bool = True) -> float:
        """Give the time (s) in which paint of `mm2_s` runs out: the equation turned round, in closed form.

        Raises:
            OutOfRange: the viscosity is none, or the time is outside the range.
        """
        _check_above_zero(mm2_s, "mm²/s", "viscosity")
        lifted = mm2_s + self.c
        found = (lifted + math.sqrt(lifted * lifted + 4 * self.a * self.b)) / (2 * self.a)
        if strict and not self.reads(found):
            raise OutOfRange(
                f"{self.name} is read between {figure(self.thinnest_mm2_s)} and {figure(self.thickest_mm2_s)} mm²/s: "
                f"{_said(mm2_s)} mm²/s is {_remedy(self, thin=found < self.shortest_s, mm2_s=mm2_s)}"
            )
        return found


_READ = "read in a viscosity-standard maker's table of the standard's equations"
_OILS = "equation from memory, within 4 % of the printed times of calibration oils; range read in the standard"
_ISO = "equation from memory, checked against a cup maker's printed ranges for 3, 4 and 6 mm; the 100 s limit was read"
_ISO_5 = "equation from memory and not checked against anything printed; the 100 s limit was read"
_DIN = "equation and range from memory; a cup maker's sheet agrees at the upper end; withdrawn in October 1996"


def _zahn(number: int, a: float, zero_s: float, shortest_s: float) -> FlowCup:
    return FlowCup(
        id=f"zahn{number}", name=f"Zahn {number}", standard="ASTM D4212", degC=25.0, a=a, c=a * zero_s,
        shortest_s=shortest_s, longest_s=80.0, best_s=shortest_s, confidence="R", source=f"ASTM D4212, {_READ}",
    )  # fmt: skip


def _ford(number: int, a: float, zero_s: float, shortest_s: float, best_s: float, read: bool) -> FlowCup:
    return FlowCup(
        id=f"ford{number}", name=f"Ford {number}", standard="ASTM D1200", degC=25.0, a=a, c=a * zero_s,
        shortest_s=shortest_s, longest_s=100.0, best_s=best_s, confidence="R" if read else "M",
        source=f"ASTM D1200, {_READ if read else _OILS}",
    )  # fmt: skip


def _iso(mm: int, a: float, b: float, source: str) -> FlowCup:
    return FlowCup(
        id=f"iso{mm}", name=f"ISO {mm} mm", standard="ISO 2431", degC=23.0, a=a, b=b,
        shortest_s=30.0, longest_s=100.0, best_s=30.0, confidence="M", source=f"ISO 2431, {source}",
    )  # fmt: skip


_ALL = (
    _iso(3, 0.443, 200.0, _ISO),
    _iso(4, 1.37, 200.0, _ISO),
    _iso(5, 3.28, 220.0, _ISO_5),
    _iso(6, 6.90, 570.0, _ISO),
    _ford(1, 0.49, 35.0, 55.0, 55.0, read=True),
    _ford(2, 1.44, 18.0, 40.0, 40.0, read=True),
    _ford(3, 2.31, 6.58, 20.0, 30.0, read=False),
    _ford(4, 3.85, 4.49, 20.0, 30.0, read=False),
    _ford(5, 12.1, 2.00, 20.0, 30.0, read=False),
    _zahn(1, 1.1, 29.0, 35.0),
    _zahn(2, 3.5, 14.0, 20.0),
    _zahn(3, 11.7, 7.5, 20.0),
    _zahn(4, 14.8, 5.0, 20.0),
    _zahn(5, 23.0, 0.0, 20.0),
    FlowCup(
        id="din4", name="DIN 4 mm", standard="DIN 53211", degC=20.0, a=4.57, b=452.0,
        shortest_s=25.0, longest_s=150.0, best_s=25.0, confidence="M", source=f"DIN 53211, {_DIN}",
    ),
)  # fmt: skip

CUPS: Mapping[str, FlowCup] = MappingProxyType({cup.id: cup for cup in _ALL})
"""Every cup known, by its id, each standard's from the smallest orifice to the largest."""


def _check_above_zero(value: float, unit: str, what: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise OutOfRange(f"A {what} of {value:g} {unit} is none: write a {what} above zero, such as 30 {unit}.")


def _remedy(cup: FlowCup, *, thin: bool, mm2_s: float, again: str = "") -> str:
    """End the sentence: what is wrong with the paint for this cup, and which cup to take."""
    fits = [c for c in CUPS.values() if mm2_s > 0 and c.reads(c.seconds(mm2_s, strict=False))]
    own = [c for c in CUPS.values() if c.standard == cup.standard]
    beside = own[: own.index(cup)][::-1] if thin else own[own.index(cup) + 1 :]
    what, orifice = ("thin", "smaller") if thin else ("thick", "larger")
    # the nearest orifice that fits; far below the range the equation says nothing, and the smallest one is left
    if near := next((c for c in beside if c in fits), beside[-1] if beside and mm2_s <= 0 else None):
        return f"too {what} for it; use a {orifice} orifice such as {near.name}."
    if fits:
        return f"too {what} for it; use a cup such as {fits[0].name}."
    return f"too {what} for it and for every cup known here{again}."


def _said(value: float) -> str:
    """Write a figure finely enough to tell it from the end of the range it missed."""
    return figure(value, 5) if 1e-3 <= value < 1e6 else f"{value:.3g}"


_STANDARDS = {
    "iso": "ISO 2431", "2431": "ISO 2431", "5125": "ISO 2431", "ford": "ASTM D1200", "fc": "ASTM D1200",
    "1200": "ASTM D1200", "zahn": "ASTM D4212", "4212": "ASTM D4212", "din": "DIN 53211", "53211": "DIN 53211",
}  # fmt: skip
_FILLERS = frozenset(
    ("astm", "d", "en", "bs", "cup", "cups", "flow", "efflux", "viscosity", "dip", "no", "nr", "number", "mm", "the")
)
_YEAR = re.compile(r"(?<=\d{4})(?:[:–-](?:19|20)?\d\d(?!\d))(?:\s*\((?:19|20)\d\d\))?")
_TAKES = "Write ISO 3 to 6 mm, Ford 1 to 5, Zahn 1 to 5 or DIN 4 mm."


def read_cup(text: str) -> FlowCup:
    """Read a cup's name as a painter writes it: `ford 4`, `iso4`, `DIN 4`, `zahn #2`, `astm d1200 4`.

    `DIN EN ISO 2431` is the ISO cup, not the older DIN one.

    Raises:
        NotAFlowCup: no cup known here, a standard without its size, or a size that two standards have.
    """
    said = shorten(text)
    plain = _YEAR.sub(" ", re.sub(r"53\s+211", "53211", text.strip().lower()))
    words = re.findall(r"[^\W\d_]+|\d+(?:[.,]\d+)?", plain)
    named = {_STANDARDS[word] for word in words if word in _STANDARDS}
    if "iso" in words and "53211" not in words:
        named.discard("DIN 53211")
    sizes = [word for word in words if word[0].isdigit() and word not in _STANDARDS]
    strange = [w for w in words if not w[0].isdigit() and w not in _STANDARDS and w not in _FILLERS]
    if not words:
        raise NotAFlowCup(f"Which flow cup? {_TAKES}")
    if strange or len(named) > 1 or len(sizes) > 1:
        raise NotAFlowCup(f"“{said}” is no flow cup known here. {_TAKES}")
    if not named:
        raise NotAFlowCup(f"“{said}” does not say of which standard the cup is. {_TAKES}")
    standard = named.pop()
    own = {float(cup.id[-1]): cup for cup in CUPS.values() if cup.standard == standard}
    if not sizes and len(own) == 1:
        return next(iter(own.values()))
    if not sizes:
        raise NotAFlowCup(f"“{said}”: which size? {_TAKES}")
    found = own.get(float(sizes[0].replace(",", ".")))
    if found is None:
        family = next(iter(own.values())).name.split()[0]
        raise NotAFlowCup(f"There is no {family} cup of size {shorten(sizes[0], 12)} here. {_TAKES}")
    return found


def viscosity(cup: FlowCup, seconds: float, strict: bool = True) -> float:
    """Give the kinematic viscosity (mm2/s) of paint that takes `seconds` to run out of `cup`.

    Raises:
        OutOfRange: as `FlowCup.viscosity`.
    """
    return cup.viscosity(seconds, strict)


def seconds(cup: FlowCup, viscosity: float) -> float:
    """Give the time (s) in which paint of `viscosity` (mm2/s) runs out of `cup`.

    Raises:
        OutOfRange: as `FlowCup.seconds`.
    """
    return cup.seconds(viscosity)


def between(cup: FlowCup, seconds: float, to: FlowCup) -> float:
    """Give the time (s) in `to` of paint that takes `seconds` in `cup`, at the same temperature of the paint.

    It may be off by `CONVERSION_ERROR` and more; show it with `between_words`.

    Raises:
        OutOfRange: either cup can't be read there.
    """
    return to.seconds(cup.viscosity(seconds))


def between_words(cup: FlowCup, seconds: float, to: FlowCup) -> str:
    """Say a time in another cup together with how far it may be off.

    Raises:
        OutOfRange: as `between`.
    """
    found = between(cup, seconds, to)
    low, high = math.floor(found * (1 - CONVERSION_ERROR)), math.ceil(found * (1 + CONVERSION_ERROR))
    words = (
        f"{figure(seconds)} s in {cup.name} is about {found:.0f} s in {to.name}, give or take 5 to 10 % at the least "
        f"({low} to {high} s)"
    )
    if cup.degC != to.degC:
        words += f", with the paint as warm for both, though {cup.name} asks for {cup.degC:g} °C and {to.name} for "
        words += f"{to.degC:g} °C"
    return f"{words}; where you can, time it in the cup the card names."


def against(cup: FlowCup, seconds: float, wanted_s: float, gun: str) -> str:
    """Say whether `seconds` in `cup` is what the card asks for (`wanted_s`, same cup) with `gun`, and what to do.

    Seconds are compared as they are, so a card may ask for a time below the cup's range, as cards do; it is then
    said that the cup is only rough there. Within `BAND` it is right (common practice, no source).

    Raises:
        OutOfRange: one of the two is no time.
    """
    _check_above_zero(seconds, "s", "time")
    _check_above_zero(wanted_s, "s", "time")
    off = seconds / wanted_s - 1
    asks = f"the {figure(wanted_s)} s the card asks for with the {gun}"
    rough = f"; {cup.name} is only rough outside {cup.shortest_s:g} to {cup.longest_s:g} s"
    rough = "" if cup.reads(seconds) else rough
    if abs(off) <= BAND * (1 + 1e-9):
        return f"{figure(seconds)} s in {cup.name} is right: within {100 * BAND:g} % of {asks}{rough}."
    by = f"{figure(seconds)} s in {cup.name} is {figure(100 * abs(off))} %"
    if off > 0:
        return (
            f"{by} more than {asks}: too thick, so add reducer a little at a time, no more than the card "
            f"allows, stir, and time it again{rough}."
        )
    return (
        f"{by} less than {asks}: too thin, so stir in some of the same mix without reducer or, only where no "
        f"pot life runs, let solvent evaporate, and time it again{rough}."
    )


def temperature_words(cup: FlowCup, degC: float) -> str:
    """Say that paint at `degC` is not at the cup's temperature and which way it misleads; "" where it is near.

    The figure itself is never corrected: how much a paint thins with warmth is its own (see `PERCENT_PER_K`).
    """
    off = degC - cup.degC
    if abs(off) <= NEAR_K:
        return ""
    state, reads, act = (
        ("warmer", "thinner", "let it cool") if off > 0 else ("colder", "thicker", "let it come to room warmth")
    )
    return (
        f"The paint is at {figure(degC)} °C and {cup.name} is read at {cup.degC:g} °C: {state} paint reads {reads}, by "
        f"up to {PERCENT_PER_K} % for each degree, and the figure is not corrected; {act}, or judge with that in mind."
    )


def notes(cup: FlowCup, seconds: float) -> tuple[str, ...]:
    """Say what a painter should know beside a reading: where the equation comes from, and what limits it."""
    early = cup.reads(seconds) and seconds < cup.best_s * (1 - 1e-9)
    better = f"{cup.name} reads best from {cup.best_s:g} s on."
    return ((better,) if early else ()) + (NEWTONIAN_WORDS, f"{cup.name}: {cup.source}.")
