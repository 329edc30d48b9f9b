"""What a sheet gives as pairs, typed on one line or pasted out of its table: times by temperature, heat, films."""

import math
import re
from collections.abc import Callable, Iterator, Sequence
from datetime import timedelta
from typing import NamedTuple, TypeVar

from benchtool.job.cards import ForcedDry
from benchtool.session.cardfields import figure_of
from benchtool.trade.air import HOT_DEGC
from benchtool.trade.durations import NotASpan, read_span, write_span
from benchtool.trade.numbers import NotANumber, figure, read_number, shorten

Points = tuple[tuple[float, timedelta], ...]
Films = tuple[tuple[float, float], ...]

COLDEST_DEGC, HOTTEST_DEGC = -40.0, 200.0
MOST_ROWS = 50
THICKEST_UM = 10_000.0
UM_PER_MIL = 25.4
"""A mil is a thousandth of an inch, and an inch is 25.4 mm (international yard and pound agreement, 1959)."""

_NUMBER = r"(?:(?<![\w.,°])[+\-−])?\d+(?:[.,]\d+)?(?:e[+-]?\d+)?"
_DEGREE = r"(?:[°º˚]|deg(?:rees?)?\.?)"
_UNIT = rf"(?:{_DEGREE}\s*(?:C(?:elsius)?|F(?:ahrenheit)?)?|C(?:elsius)?|F(?:ahrenheit)?|[℃℉])"
_WARMTH = re.compile(rf"{_NUMBER}\s*{_UNIT}(?![^\W\d_])", re.IGNORECASE)
_MICRONS = re.compile(rf"{_NUMBER}\s*(?:[µμu]m|microns?|mils?)(?![^\W\d_])", re.IGNORECASE)
_BOTH_SCALES = re.compile(rf"({_WARMTH.pattern})\s*[(/]\s*({_WARMTH.pattern})\s*\)?", re.IGNORECASE)
_BARE = re.compile(rf"({_NUMBER})(?:\s*[:=]\s*|\s+)(\S.*)", re.IGNORECASE | re.DOTALL)
_RANGE = re.compile(r"\d\s*(?:[-–—−]|\bto\b)\s*$", re.IGNORECASE)
_TWO_TIMES = re.compile(r"\d\s*[a-z]*\s*(?:[-–—−]|\bto\b)\s*\d", re.IGNORECASE)
_LINKS = re.compile(r"^(?:at|for|in|after|takes)\b|\b(?:at|for|in)$", re.IGNORECASE)
_TIMES = re.compile(r"(?:x|×|times|-?fold)?", re.IGNORECASE)
_HEADER_TIMES = {
    "s": "s", "sec": "s", "seconds": "s", "min": "min", "mins": "min", "minute": "min", "minutes": "min", "h": "h",
    "hr": "h", "hrs": "h", "hour": "h", "hours": "h", "d": "d", "day": "d", "days": "d",
}  # fmt: skip

HOW_TABLE = "Write 10 °C 4 h; 20 °C 2 h; 30 °C 1 h."
HOW_HEAT = "Write 60 °C for 30 min."
HOW_FILMS = "Write 100 µm 1.5 times; 150 µm 2.5 times."


class NotALine(ValueError):
    """The line can't be read so; the message says what to type instead."""


# --- temperatures ----------------------------------------------------------------------------------


def read_degC(text: str, least: float = COLDEST_DEGC, most: float = HOTTEST_DEGC) -> float:
    """Read a temperature (degC): a number alone is degC, `°F` is turned into it.

    A number alone that no shop is as warm as may be degF, so it must say what it is.

    Raises:
        NotALine: no temperature, or one that is not from `least` to `most`.
    """
    plain = _one_scale(text).strip().replace("−", "-")
    try:
        value, unit = read_number(plain)
    except NotANumber as wrong:
        raise NotALine(f"{wrong} Write a temperature such as 20 °C or 68 °F.") from None
    if unit and re.fullmatch(_UNIT, unit, re.IGNORECASE) is None:
        raise NotALine(f"“{shorten(text)}” is no temperature: write it such as 20 °C or 68 °F.")
    fahrenheit = "f" in unit.lower() or unit == "℉"
    if not unit and value > HOT_DEGC:
        meant = figure((value - 32) / 1.8)
        raise NotALine(f"“{shorten(plain)}” of what? Write {value:g} °F ({meant} °C), or {value:g} °C.")
    degC = (value - 32) * 5 / 9 if fahrenheit else value
    if not least <= degC <= most:
        said = f", and {shorten(plain)} is {figure(degC)} °C" if fahrenheit else ""
        raise NotALine(f"A temperature here is from {least:g} to {most:g} °C{said}.")
    return degC


def _one_scale(text: str) -> str:
    """Of a temperature that a sheet prints in both scales, `10 °C (50 °F)`, leave the first."""

    def first(both: re.Match[str]) -> str:
        if not _same(both[1], both[2]):
            raise NotALine(f"“{shorten(both[0])}” is not twice the same temperature: write one of them.")
        return both[1]

    return _BOTH_SCALES.sub(first, text)


def _same(one: str, other: str) -> bool:
    # A sheet rounds both, and a whole degF is 0.56 K
    return abs(read_degC(one, -math.inf, math.inf) - read_degC(other, -math.inf, math.inf)) < 1.05


def write_degC(degC: float | None) -> str:
    """Write a temperature so that `read_degC` reads exactly the same; nothing where there is none."""
    if degC is None:
        return ""
    return figure_of(degC) if degC <= HOT_DEGC else f"{figure_of(degC)} °C"


def degC_words(degC: float) -> str:
    """Say a temperature as a thermometer shows it: `21.1 °C`."""
    return f"{round(degC, 1) + 0.0:g} °C"


def degC_told(typed: str) -> str:
    """Say in degC what was typed in degF, else nothing."""
    try:
        degC = read_degC(typed, -math.inf, math.inf)
    except NotALine:
        return ""
    return degC_words(degC) if "f" in typed.lower() or "℉" in typed else ""


# --- rows ------------------------------------------------------------------------------------------


class _Row(NamedTuple):
    """One row: what it is about as typed, and the other half as typed."""

    key: str
    rest: str


class _Header(NamedTuple):
    """The units that the head of a pasted table names; empty, None where it names none."""

    key: str = ""
    time: str | None = None


def _pieces(text: str) -> list[str]:
    """Cut what was typed or pasted into its rows; a table that runs sideways is turned."""
    lines = [line for line in re.split(r"[\n\r\v\f\u0085\u2028\u2029]+", text) if line.strip()]
    if len(lines) == 2:
        above, below = (line.strip().split("\t") for line in lines)
        if len(above) == len(below) and (len(above) > 2 or all(map(_WARMTH.fullmatch, (c.strip() for c in above)))):
            return [f"{a}\t{b}" for a, b in zip(above, below, strict=True)]
    return [piece for line in lines for piece in line.split(";") if piece.strip(" \t,")]


def _header(piece: str) -> _Header:
    words = [w.lower() for w in re.findall(r"[^\W\d_]+|[℃℉]", piece)]
    times = {_HEADER_TIMES[w] for w in words if w in _HEADER_TIMES}
    return _Header("°F" if {"f", "fahrenheit", "℉"} & set(words) else "", times.pop() if len(times) == 1 else None)


def _rows(text: str, token: re.Pattern[str], how: str) -> tuple[list[_Row], _Header]:
    """Cut a line into rows, each with its `token` (a number with its unit) or a number alone first."""
    pieces = _pieces(_one_scale(text))
    header = _Header()
    if pieces and not re.search(r"\d", pieces[0]) and len(pieces) > 1:
        header = _header(pieces.pop(0))
    rows = [row for piece in pieces for row in _cut(piece.strip(" \t,"), token, how)]
    if not rows:
        raise NotALine(f"Nothing can be read here. {how}")
    if len(rows) > MOST_ROWS:
        raise NotALine(f"These are {len(rows)} rows: {MOST_ROWS} at most.")
    return rows, header


def _cut(piece: str, token: re.Pattern[str], how: str) -> Iterator[_Row]:
    found = list(token.finditer(piece))
    for one in found:
        if _RANGE.search(piece[: one.start()]):
            raise NotALine(f"“{shorten(piece)}” is a range: write each end of it by itself.")
    if not found:
        for part in re.split(r"(?<!\d),|,(?!\d)", piece):
            row = _BARE.fullmatch(part.strip())
            if row is None:
                raise NotALine(f"“{shorten(part)}” is no row of a table. {how}")
            yield _Row(row[1], _trimmed(row[2]))
    elif len(found) == 1:
        [one] = found
        yield _Row(one[0], _trimmed(f"{_trimmed(piece[: one.start()])} {_trimmed(piece[one.end() :])}"))
    elif found[0].start() == 0:
        ends = [*(one.start() for one in found[1:]), len(piece)]
        for one, end in zip(found, ends, strict=True):
            yield _Row(one[0], _trimmed(piece[one.end() : end]))
    elif found[-1].end() == len(piece):
        starts = [0, *(one.end() for one in found)]
        for one, start in zip(found, starts, strict=False):
            yield _Row(one[0], _trimmed(piece[start : one.start()]))
    else:
        raise NotALine(f"“{shorten(piece)}” is not clear: put a ; between the rows. {how}")


def _trimmed(rest: str) -> str:
    return _LINKS.sub("", " ".join(rest.split()).strip(" ,:=@|/-–—−")).strip(" ,:=@|/-–—−")


Value = TypeVar("Value")


def _told(read: Callable[[str], Value], words: Callable[[Value], str], typed: str) -> str:
    try:
        return words(read(typed))
    except NotALine:
        return ""


def _no_twins(keys: Sequence[float], unit: str) -> None:
    for key in keys:
        if keys.count(key) > 1:
            raise NotALine(f"{figure(key, 4)} {unit} stands there twice: keep one of the two.")


# --- a table of times by temperature ---------------------------------------------------------------


def read_table(text: str) -> Points:
    """Read times by temperature, `10 °C 4 h; 20 °C 2 h`, in any order, into (degC, time) from cold to warm.

    Rows may be pasted out of a sheet, one on a line or a table that runs sideways, with the units in its head.

    Raises:
        NotALine: rows that can't be read, or that name a temperature twice.
    """
    rows, header = _rows(text, _WARMTH, HOW_TABLE)
    points = [_point(row, header) for row in rows]
    _no_twins([degC for degC, _ in points], "°C")
    return tuple(sorted(points))


def _point(row: _Row, header: _Header) -> tuple[float, timedelta]:
    bare = _WARMTH.fullmatch(row.key) is None
    degC = read_degC(f"{row.key} {header.key}" if bare else row.key)
    return degC, _read_time(row, header.time)


def _read_time(row: _Row, bare: str | None) -> timedelta:
    if not row.rest:
        raise NotALine(f"“{shorten(row.key)}” has no time beside it. {HOW_TABLE}")
    if _TWO_TIMES.search(row.rest):
        raise NotALine(
            f"“{shorten(row.rest)}” is two times: write the longer for a wait, the shorter for a pot life or a closing."
        )
    try:
        return read_span(row.rest, bare)
    except NotASpan as wrong:
        raise NotALine(f"At {row.key.strip()}: {wrong}") from None


def write_table(points: Points) -> str:
    """Write a table so that `read_table` reads exactly the same."""
    return "; ".join(f"{figure_of(degC)} °C {write_span(wait)}" for degC, wait in points)


def table_words(points: Points) -> str:
    """Say a table: `10 °C: 4 h, 20 °C: 2 h`."""
    return ", ".join(f"{degC_words(degC)}: {write_span(wait)}" for degC, wait in points)


# --- heat ------------------------------------------------------------------------------------------


def read_heat(text: str) -> ForcedDry:
    """Read a forced dry, `60 °C for 30 min` or `30 min at 140 °F`; the temperature must have its unit.

    Raises:
        NotALine: no temperature with a time, or more than one.
    """
    if _WARMTH.search(text) is None:
        raise NotALine(f"“{shorten(text)}” has no temperature with °C or °F beside it. {HOW_HEAT}")
    rows, _ = _rows(text, _WARMTH, HOW_HEAT)
    if len(rows) > 1:
        raise NotALine(f"These are {len(rows)} temperatures: write the one you use. {HOW_HEAT}")
    [row] = rows
    if not row.rest:
        raise NotALine(f"For how long at {row.key.strip()}? {HOW_HEAT}")
    return ForcedDry(degC=read_degC(row.key), wait=_read_time(row, None))


def write_heat(dry: ForcedDry) -> str:
    """Write a forced dry so that `read_heat` reads exactly the same."""
    return f"{figure_of(dry.degC)} °C for {write_span(dry.wait)}"


def heat_told(typed: str) -> str:
    """Say how a forced dry was understood, or nothing where it can't be read."""
    return _told(read_heat, lambda dry: f"{degC_words(dry.degC)} for {write_span(dry.wait)}", typed)


# --- films -----------------------------------------------------------------------------------------


def read_films(text: str) -> Films:
    """Read how many times as long a thicker film takes, `100 µm 1.5 times; 6 mil x 2.5`, from thin to thick (um).

    Raises:
        NotALine: rows that can't be read, or that name a film twice.
    """
    rows, _ = _rows(text, _MICRONS, HOW_FILMS)
    films = [(_read_um(row.key), _read_times(row)) for row in rows]
    _no_twins([um for um, _ in films], "µm")
    return tuple(sorted(films))


def _read_um(key: str) -> float:
    try:
        value, unit = read_number(key.replace("−", "-"))
    except NotANumber as wrong:
        raise NotALine(f"{wrong} {HOW_FILMS}") from None
    um = value * UM_PER_MIL if unit.lower().startswith("mil") else value
    if not 0 < um <= THICKEST_UM:
        raise NotALine(f"A film is more than 0 and up to {THICKEST_UM:g} µm. {HOW_FILMS}")
    return um


def _read_times(row: _Row) -> float:
    try:
        value, rest = read_number(re.sub(r"^(?:x|×|times)\s*", "", row.rest, flags=re.IGNORECASE))
    except NotANumber:
        raise NotALine(f"How many times as long at {row.key.strip()}? {HOW_FILMS}") from None
    if _TIMES.fullmatch(re.sub(r"\s+as long$", "", rest)) is None:
        raise NotALine(f"“{shorten(row.rest)}” is not so many times as long. {HOW_FILMS}")
    return value


def write_films(films: Films) -> str:
    """Write the films so that `read_films` reads exactly the same."""
    return "; ".join(f"{figure_of(um)} µm {figure_of(factor)} times" for um, factor in films)


def films_told(typed: str) -> str:
    """Say how the films were understood, or nothing where they can't be read."""
    return _told(read_films, lambda rows: ", ".join(f"{figure(um)} µm: {figure(n)} times" for um, n in rows), typed)
