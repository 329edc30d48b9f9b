"""How large type must be to be read from where the painter stands.

ISO 9241-303 (ergonomics of human-system interaction, electronic visual displays) keeps what ISO 9241-3 said:
"Character heights of from 20 to 22 minutes of arc are preferred for the most tasks. The minimum character height shall
be 16 minutes of arc." Read as a display maker's public pages on ergonomics quote it; the standard itself was not at
hand. NUREG-0700 rev. 2, 1.3.1-4, asks the same: at least 16, 20 to 22 preferred. The height is that of a capital letter
without accent.
"""

import math

PREFERRED_MINUTES = 20.0
"""The character height that is preferred (minutes of arc)."""

LEAST_MINUTES = 16.0
"""The least character height that a display may have (minutes of arc)."""

FAR_M = 3.0
"""From how far (m) the far view is read: DESIGN.md, two to three metres."""

SCREEN_INCHES = 14.0
"""The screen that the far view is sized for: the diagonal of a middling laptop (judgement, no source)."""

MM_PER_INCH = 25.4


def arc_minutes(char_height_mm: float, distance_m: float) -> float:
    """Give the angle (minutes of arc) that a height (mm) fills at a distance (m).

    Raises:
        ValueError: the distance is not above zero, or the height below it.
    """
    if not distance_m > 0 or not char_height_mm >= 0:
        raise ValueError("An angle needs a distance above zero and a height.")
    return math.degrees(2 * math.atan2(char_height_mm / 2, 1000 * distance_m)) * 60


def char_height_mm(minutes: float, distance_m: float) -> float:
    """Give the height (mm) that fills so many minutes of arc at a distance (m).

    Raises:
        ValueError: the distance or the angle is not above zero, or the angle is half a turn or more.
    """
    if not distance_m > 0 or not 0 < minutes < 180 * 60:
        raise ValueError("A height needs a distance and an angle above zero.")
    return 2 * 1000 * distance_m * math.tan(math.radians(minutes / 60) / 2)


def px_per_mm(width_px: float, height_px: float, inches: float = SCREEN_INCHES) -> float:
    """Give the pixels in a millimetre where these fill a screen of this diagonal (inches), whatever its shape.

    Raises:
        ValueError: the diagonal is not above zero.
    """
    if not inches > 0:
        raise ValueError("A screen has a diagonal above zero.")
    return math.hypot(width_px, height_px) / (inches * MM_PER_INCH)
