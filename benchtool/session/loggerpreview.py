"""What a choice of columns makes of the first lines of a logger's file, before it is followed."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta, timezone
from math import inf

from benchtool.session.logger import LoggerColumns, LoggerFile, TimeFormat
from benchtool.session.loggertimes import LoggerTimes
from benchtool.store.files import one_line
from benchtool.store.loggerfile import Tail, cells, column_names
from benchtool.trade.numbers import figure

SHOWN = 3
"""So many lines are shown of each column."""

ROLES = ("time", "date", "air", "humidity", "surface")

_LINES = 60


@dataclass(frozen=True, slots=True)
class ColumnShown:
    """One column of the file: its name, what stands in it in the first lines, and what it is taken for ("" nothing)."""

    name: str
    values: tuple[str, ...]
    role: str


@dataclass(frozen=True, slots=True)
class Preview:
    """The columns with their first values, how their first reading is read, what still has to be chosen, and faults.

    `zoned`: the times say their own zone. `dated`: day and month could be read either way round.
    `offers_fahrenheit`: the figures only make sense in °F.
    """

    columns: tuple[ColumnShown, ...] = ()
    first: str = ""
    asks: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()
    zoned: bool = False
    dated: bool = False
    offers_fahrenheit: bool = False


def preview(columns: LoggerColumns, now: datetime) -> Preview:
    """Read the first quarter of a MiB by these columns. A file that can't be read gives the fault in words."""
    try:
        lines = [line for line in Tail(columns.path).read().lines[:_LINES] if line.strip()]
    except (OSError, ValueError):
        lines = []
    rows = _rows(columns, [cells(line, columns.delimiter) for line in lines])
    roles = {name: role for role in ROLES if (name := held_by(columns, role)) is not None}
    shown = tuple(
        ColumnShown(
            name,
            tuple(one_line(row[i], 24) for row in rows[:SHOWN] if i < len(row)),
            roles.get(name, ""),
        )
        for i, name in enumerate(columns.names)
    )
    times = _times(columns, rows)
    zoned = columns.time_format is TimeFormat.EPOCH or _says_its_zone(columns, times)
    dated = columns.time_format not in (TimeFormat.EPOCH, TimeFormat.YEAR_FIRST)
    asks = open_questions(columns, times[0] if times else "")
    if asks and lines:
        return Preview(shown, "", asks, (), zoned, dated)
    log = LoggerFile(columns)
    polled = log.poll(now, most_pieces=1)
    first = polled.readings[0] if polled.readings else None
    words = ""
    if first is not None:
        surface = "" if first.surface_degC is None else f", the surface {figure(first.surface_degC)} °C"
        words = f"{first.at.astimezone(columns.zone):%d %b %Y, %H:%M}: {first.words}{surface}."
    faults = polled.faults[:-1] if log.pauses else polled.faults  # a pause of long ago is no fault of the choice
    return Preview(shown, words, asks, faults, zoned, dated, polled.offers_fahrenheit)


def open_questions(columns: LoggerColumns, example: str = "") -> tuple[str, ...]:
    """Ask for what must be chosen before the file can be followed."""
    asks = []
    if columns.time_format is None:
        asks.append(f"Is {one_line(example, 20) or 'the date'} written with the day or with the month first?")
    for what, column in (
        ("time", columns.time_column),
        ("air", columns.air_column),
        ("humidity", columns.humidity_column),
    ):
        if not column:
            asks.append(f"Which column holds the {what}?")
    return tuple(asks)


def held_by(columns: LoggerColumns, role: str) -> str | None:
    """Give the column of a role; None where none has it."""
    name: str | None = getattr(columns, f"{role}_column")
    return name or None


def with_role(columns: LoggerColumns, name: str, role: str) -> LoggerColumns:
    """Give the choice with this column in this role, or with "" in none.

    A column has one role, and a role one column: what stood in either is let go.
    """
    held = {r: None if (column := held_by(columns, r)) == name else column for r in ROLES}
    if role:
        held[role] = name
    return replace(
        columns,
        time_column=held["time"] or "",
        date_column=held["date"],
        air_column=held["air"] or "",
        humidity_column=held["humidity"] or "",
        surface_column=held["surface"],
    )


def _rows(columns: LoggerColumns, parted: list[list[str]]) -> list[list[str]]:
    """Give the lines below the names, those that have a value in most of their columns first."""
    known = set(columns.names)
    if columns.header:
        at = next((i for i, row in enumerate(parted) if known and known <= set(column_names(row))), None)
        parted = parted if at is None else parted[at + 1 :]
    width = len(columns.names)
    return [row for row in parted if sum(bool(cell.strip()) for cell in row) * 2 > width and _has_figure(row)]


def _has_figure(row: list[str]) -> bool:
    return any(c.isdigit() for cell in row for c in cell)


def _times(columns: LoggerColumns, rows: list[list[str]]) -> list[str]:
    names = columns.names
    wanted = [c for c in (columns.date_column, columns.time_column) if c]
    if not wanted or any(c not in names for c in wanted):
        return []
    places = [names.index(c) for c in wanted]
    return [" ".join(row[p].strip() for p in places) for row in rows if len(row) > max(places)]


def _says_its_zone(columns: LoggerColumns, times: list[str]) -> bool:
    """Whether the times come out the same wherever the clock hangs."""
    form = columns.time_format or TimeFormat.DAY_FIRST
    readers = [LoggerTimes(form, timezone(timedelta(hours=hours))) for hours in (0, 1)]
    for text in times:
        a, b = (reader.utc(text, -inf, 0) for reader in readers)
        if a is not None:
            return a == b
    return False
