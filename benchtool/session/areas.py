"""Areas of pieces as the painter types them, in any unit or as two sides, and as they are said."""

from benchtool.trade.numbers import figure
from benchtool.trade.quantities import Measures, NotAnAmount
from benchtool.trade.saying import say

LARGEST_M2 = 10_000.0
"""No piece that comes to a bench has more to paint: a file takes no more (`job.pieces`)."""


def read_area(measures: Measures, typed: str) -> float | None:
    """Read an area (m2): `0.8`, `30 x 40 cm`, `16 sq ft`; a number alone is in m2. None where nothing is typed.

    Raises:
        NotAnAmount: it is none, or nothing, or more than a piece has; the message says what to write.
    """
    if not typed.strip():
        return None
    area = measures.area_m2(typed, unit="m2")
    if area <= 0:
        raise NotAnAmount(say("An area of nothing needs no paint: leave it empty, or type one such as 30 x 40 cm."))
    if area > LARGEST_M2:
        raise NotAnAmount(say("This is more than {most} m²: look at the unit.", most=f"{LARGEST_M2:,.0f}"))
    return area


def write_area(area_m2: float | None) -> str:
    """Write an area to six figures, for a field to type in; nothing for none."""
    return f"{figure(area_m2, 6)} m²" if area_m2 is not None else ""


def area_words(area_m2: float) -> str:
    """Say an area to three figures: in dm² below a tenth of a square metre."""
    return f"{figure(area_m2 * 100, 3)} dm²" if area_m2 < 0.1 else f"{figure(area_m2, 3)} m²"


def area_told(measures: Measures, typed: str) -> str:
    """Say how what is typed is understood; nothing where it can't be read, or says it already."""
    try:
        area = read_area(measures, typed)
    except NotAnAmount:
        return ""
    if area is None or typed.strip().replace("m2", "m²") in (write_area(area), area_words(area)):
        return ""
    return area_words(area)
