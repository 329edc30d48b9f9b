"""Numbers as a painter writes them, and times as a painter reads them."""

import math
import re
import unicodedata

_NEVER_S = 500 * 365.25 * 86_400

_NUMBER = re.compile(
    r"(?P<whole>\d+)\s+(?P<top>\d+)/(?P<bottom>\d+)"
    r"|(?P<alone_top>\d+)/(?P<alone_bottom>\d+)"
    r"|(?P<plain>[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?)"
)


class NotANumber(ValueError):
    """The text holds no number that a cup could hold; the message says what to type instead."""


def read_number(text: str) -> tuple[float, str]:
    """Read the number at the start of `text`; return it with the rest of the text.

    Takes `1.5`, `1,5`, `1/2`, `1 1/2` and the single-character fractions. A comma before exactly three
    digits is refused, since it means one thing to half of the world and another to the rest.

    Raises:
        NotANumber: no number there, or one that is not finite, or an unclear comma.
    """
    spread = "".join(f" {unicodedata.normalize('NFKD', c)}" if c in "½¼¾⅓⅔⅛⅜⅝⅞" else c for c in text)
    spread = spread.replace("\u2044", "/").strip()
    if not spread:
        raise NotANumber("A number is missing here.")
    found = _NUMBER.match(spread)
    if found is None:
        raise NotANumber(f"“{shorten(text)}” does not start with a number.")
    rest = spread[found.end() :]
    if found["plain"] is not None:
        plain = found["plain"]
        if re.fullmatch(r"[+-]?\d{1,3},\d{3}", plain):
            raise NotANumber(f"“{plain}” can be read two ways: write it without the comma.")
        value = float(plain.replace(",", "."))
    else:
        # float, for a pasted page of digits is too long for int and no reason to stop
        top = float(found["top"] or found["alone_top"])
        bottom = float(found["bottom"] or found["alone_bottom"])
        if bottom == 0:
            raise NotANumber(f"“{shorten(text)}” divides by zero.")
        value = float(found["whole"] or 0) + top / bottom
    if not math.isfinite(value):
        raise NotANumber(f"“{shorten(text)}” is too large to be an amount.")
    return value, rest.strip()


def shorten(text: str, most: int = 40) -> str:
    """Cut `text` for a message, so that a pasted page stays one line."""
    flat = " ".join(text.split())
    return flat if len(flat) <= most else flat[: most - 1] + "…"


def clock_words(seconds: float, *, up: bool = True) -> str:
    """Say a length of time as a countdown: `6:20`, `1:06:20`, `2 d 03:12`.

    `up` rounds to the next whole second (from two days on, minute), so that a wait never reads 0:00 while it
    still runs; a deadline is rounded down for the same reason the other way. What is further off than any clock
    reaches is `never`.
    """
    if seconds >= _NEVER_S:
        return "never"
    # A tenth of the smallest step of an instant: enough for the noise of a float, too little to hide a microsecond.
    whole = max(0, math.ceil(seconds - 1e-7) if up else math.floor(seconds + 1e-7))
    by_minutes = whole >= 2 * 86_400
    if by_minutes and up:
        whole = -(-whole // 60) * 60
    days, rest = divmod(whole, 86_400)
    hours, rest = divmod(rest, 3_600)
    minutes, left = divmod(rest, 60)
    if by_minutes:
        return f"{days} d {hours:02d}:{minutes:02d}"
    hours += 24 * days
    return f"{hours}:{minutes:02d}:{left:02d}" if hours else f"{minutes}:{left:02d}"


def span_words(seconds: float) -> str:
    """Say how long ago or how long altogether, coarsely: `40 s`, `6 min`, `5 h`, `29 days`."""
    if seconds < 90:
        return f"{seconds:.0f} s"
    if seconds < 90 * 60:
        return f"{seconds / 60:.0f} min"
    if seconds < 48 * 3_600:
        hours, minutes = divmod(round(seconds / 60), 60)
        return f"{hours} h {minutes} min" if minutes and hours < 10 else f"{round(seconds / 3_600)} h"
    return f"{seconds / 86_400:.0f} days"


def pour_figure(mL: float) -> str:
    """Write an amount to pour as finely as a bench can measure it: `0.59`, `20.4`, `102` (mL)."""
    places = 2 if mL < 10 else 1 if mL < 100 else 0
    text = f"{mL:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def figure(value: float, digits: int = 3) -> str:
    """Write `value` to about `digits` significant figures, never in exponent form: `20.4`, `0.59`, `1250`."""
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else "?"
    places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:.{min(places, 6)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
