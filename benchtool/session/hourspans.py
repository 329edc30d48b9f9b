"""The hours of one day as they are typed, read as a painter means them: `8-5` is a day and no night."""

import re
from collections.abc import Iterable, Iterator, Sequence

from benchtool.session.nights import read_wall_time
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say

DAY_MIN = 24 * 60
NOON = DAY_MIN // 2

LONG_MIN = 16 * 60
"""A shop that is open longer than this at a stretch is asked about (judgement)."""

ALL_NIGHT_MIN = 4 * 60
"""Who is open until this hour or later is open all night (judgement)."""

EARLIEST_MIN = 5 * 60
"""A bare hour before this is no morning in which a shop opens, but an afternoon (judgement)."""

EVENING_MIN = 7 * 60
"""A bare hour before this, with `pm` behind its end alone, is meant for the afternoon too (judgement)."""

DASH = r"\s*(?:-|–|—|−|\bto\b|\buntil\b|\btill\b)\s*"
CLOSED = re.compile(r"\b(?:closed|shut|never)\b", re.IGNORECASE)
_SURE = re.compile(r"^\s*0|[ap]m\b|noon|midnight", re.IGNORECASE)

Minutes = tuple[int, int]


class NotHours(ValueError):
    """What was typed is no opening hours, or no closed days; the message says what to write."""


def read_times(rest: str, part: str) -> list[Minutes]:
    """Read the hours of a day, `8-12, 1-5`, as minutes from midnight; one that ends no later than it begins is a night.

    Raises:
        NotHours: they can't be read.
    """
    if CLOSED.fullmatch(rest.strip(" .,")):
        return []
    spans: list[Minutes] = []
    for piece in re.split(r"\s*(?:,|&|\+|/|\band\b)\s*", rest.strip(" ,")):
        if piece:
            spans.append(_span(piece, part, spans[-1][1] if spans and spans[-1][1] > spans[-1][0] else 0))
    return spans


def _span(piece: str, part: str, after: int) -> Minutes:
    ends = re.split(DASH, piece.strip())
    if len(ends) != 2 or not all(ends):
        raise NotHours(
            say("“{text}” is no opening: write when it opens and closes, as 8:00-12:00.", text=shorten(piece))
        )
    try:
        typed = _minute(ends[0]) % DAY_MIN, _minute(ends[1])
    except ValueError as wrong:
        raise NotHours(f"“{shorten(part)}”: {wrong}") from None
    opens, closes = _meant(ends, typed, after)
    if opens == closes:
        raise NotHours(say("“{text}” opens and closes at once: write 0:00-24:00 for a whole day.", text=shorten(piece)))
    return opens, closes


def _meant(ends: Sequence[str], typed: Minutes, after: int) -> Minutes:
    """Give what is meant: a bare hour may be one of the afternoon, and is where the day makes no sense else."""
    opens, closes = typed
    first, last = (bare(end, minute) for end, minute in zip(ends, typed, strict=True))
    to_noon = last and closes <= opens < (closes + NOON if _SURE.search(ends[0]) else NOON + 60)
    as_day = opens, closes + NOON if to_noon else closes
    later = opens + NOON, closes + NOON if last else closes
    fits = first and later[0] < later[1] <= DAY_MIN
    if not fits:
        return as_day
    early = opens < EARLIEST_MIN and last
    said = opens < EVENING_MIN and re.search(r"pm\b", ends[1], re.IGNORECASE) is not None
    return later if early or said or opens < after <= later[0] else as_day


def bare(typed: str, minute: int) -> bool:
    """Say whether an hour is typed so that it may be one of the morning or of the afternoon."""
    return 60 <= minute < NOON and _SURE.search(typed) is None


def _minute(text: str) -> int:
    if re.fullmatch(r"24(?:\s*[:.h]?\s*00)?\s*h?|midnight", text.strip(), re.IGNORECASE):
        return DAY_MIN
    at = read_wall_time(text)
    return at.hour * 60 + at.minute


def merged(spans: Iterable[Minutes]) -> list[Minutes]:
    """Give spans of a day in order, with those that touch or overlap as one."""
    found: list[Minutes] = []
    for opens, closes in sorted(spans):
        if found and opens <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], closes))
        else:
            found.append((opens, closes))
    return found


def wall(minute: int) -> str:
    """Write minutes from midnight as the clock on the wall shows them; 24:00 is the end of the day."""
    return f"{minute // 60:02d}:{minute % 60:02d}"


# --- what is asked about ---------------------------------------------------------------------------------


def is_that_so(days: Sequence[Sequence[Minutes]], *, around: bool = False) -> str:
    """Ask about the first night or very long opening in days that follow each other; "" where there is none.

    With `around` the first day follows the last, as in a week.
    """
    if around and all(sum(b - a for a, b in merged(day)) == DAY_MIN for day in days):
        return say("That is open day and night: is that so?")
    for opens, length in _stretches(days, around=around):
        closes = (opens + length) % DAY_MIN
        told = {"opens": wall(opens), "closes": wall(closes or DAY_MIN)}
        if opens + length > DAY_MIN + ALL_NIGHT_MIN - 1:
            return say("That is open all night, {opens} to {closes}: is that so?", **told)
        if opens + length > DAY_MIN:
            return say("That is open into the night, {opens} to {closes}: is that so?", **told)
        if length > LONG_MIN:
            return say("That is {hours} h at a stretch, {opens} to {closes}: is that so?",
                       hours=f"{length / 60:.3g}", **told)  # fmt: skip
    return ""


def _stretches(days: Sequence[Sequence[Minutes]], *, around: bool) -> Iterator[Minutes]:
    """Give when each opening begins, and how long (min) it goes on, over midnight too."""
    spans = [merged(day) for day in days]
    for number, day in enumerate(spans):
        goes_on = bool(around or number) and any(b == DAY_MIN for _, b in spans[number - 1])
        for opens, closes in day:
            if not opens and goes_on:
                continue  # told with the evening before
            length, then, ends = closes - opens, number, closes
            while ends == DAY_MIN and (around or then + 1 < len(spans)) and then < number + len(spans):
                then += 1
                ends = next((b for a, b in spans[then % len(spans)] if not a), 0)
                length += ends
            yield opens, length
