"""Which columns of a data logger's file hold what: proposed from their names and values, and said in sentences."""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, tzinfo
from itertools import chain, islice, pairwise
from math import inf
from pathlib import Path
from statistics import median
from typing import Final

from benchtool.session.loggertimes import DateOrder, LoggerTimes, TimeFormat, epoch_s, is_date, is_of_day, is_stamp
from benchtool.store.files import one_line
from benchtool.store.loggerfile import Tail, cells, column_names, read_all, why_not_read
from benchtool.trade.air import misread_fahrenheit
from benchtool.trade.numbers import figure

DELIMITERS: Final = {";": "semicolons", "\t": "tabs", ",": "commas", "|": "upright strokes"}

_SAMPLE = 400
_MOST_PIECES = 16
"""So many quarters of a MiB are looked through for a date that reads one way only, while the painter waits."""

_VALUE = re.compile(
    r"([+-]?\d+(?:[.]\d*)?(?:e[+-]?\d+)?)\s*(?:[°º]?\s*([CF])|deg\s?([CF])|%\s*(?:rh|r\.h\.|rf|hr)?)?", re.IGNORECASE
)

# Words in English, German, Dutch, French, Spanish, Italian, Portuguese, the Nordic tongues, Polish and Czech, without
# their marks; from memory. Stems may stand within a word, short words stand alone. The first that fits counts.
_ROLES: Final = {
    "other": re.compile(
        "dew|taupunkt|rosee|rocio|rugiada|dauwpunt|daggpunkt|dugpunkt|kastepiste|rosy|rosn|orvalho|frost"
        "|wet|feuchtkug|bulb|absol|press|druck|batt|volt|rssi|co2|signal"
    ),
    "humidity": re.compile(
        "humid|feucht|humed|umid|vocht|fukt|fugt|kosteus|wilgot|vlhk|%|(?<![a-z])(?:rh|rf|hr|ur|rv|hum|rel)(?![a-z])"
    ),
    "surface": re.compile(
        "surfac|superfic|oberfl|oppervlak|objekt|object|bauteil|panel|substrat|werkst|overfla|pinta|powierz|povrch"
        "|pezzo|pieza|(?<![a-z])(?:yta|part|piece|ir)(?![a-z])"
    ),
    "air": re.compile(
        "temp|teplot|lampot|luft|ambient|umgebung|raum|room|celsius|fahrenheit|degc|degf"
        "|(?<![a-z])(?:air|aire|aria|ar|lucht|ilma|ta?|c|f)(?![a-z])"
    ),
}
_OF_AIR = re.compile("luft|raum|room|ambient|(?<![a-z])(?:air|aire|aria|ar|lucht|ilma)(?![a-z])")
_FAHRENHEIT = re.compile(r"°\s?f\b|fahrenheit|deg\s?f\b|[(\[ _]f\b", re.IGNORECASE)
_UNITS = re.compile(r"|[\[(]?(°?\s?[cf]|deg\s?[cf]|%\s?(rh|rf|hr)?|m/s|s|hpa|mbar|v)[\])]?", re.IGNORECASE)


class NotALogger(ValueError):
    """No readings are to be found in this file; the message says what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggerColumns:
    """Where the readings stand in a logger's file.

    Columns go by their names in the header, or with `header` false by their places: "1", "2". `date_column` is for a
    logger that writes date and time apart. `time_format` None: to be settled from the file. `names` are all columns to
    choose from, `said` what a guess took, `asks` what it could not know.
    """

    path: Path
    delimiter: str
    decimal: str
    time_column: str
    air_column: str
    humidity_column: str
    surface_column: str | None = None
    time_format: TimeFormat | None = None
    unit: str = "C"
    zone: tzinfo = UTC
    date_column: str | None = None
    header: bool = True
    names: tuple[str, ...] = ()
    said: tuple[str, ...] = ()
    asks: tuple[str, ...] = ()

    @property
    def needed(self) -> tuple[str, ...]:
        """The columns without which there is no reading."""
        date = () if self.date_column is None else (self.date_column,)
        return (*date, self.time_column, self.air_column, self.humidity_column)


def read_value(text: str, decimal: str) -> tuple[float, str] | None:
    """Read a number with or without its unit; gives it with "C", "F" or "", or None where it is none.

    A decimal comma where a point was told is no number: 1,234 would mean one thing or the other.
    """
    plain = text.strip().replace("−", "-")
    if decimal == ",":
        plain = plain.replace(",", ".")
    found = _VALUE.fullmatch(plain)
    return None if found is None else (float(found[1]), (found[2] or found[3] or "").upper())


def guess(path: Path, zone: tzinfo = UTC) -> LoggerColumns:
    """Propose how to read a logger's file; `zone` is where its clock hangs, for a time without an offset.

    Raises:
        NotALogger: the file can't be read, or no line of it holds a time and a number.
    """
    name = one_line(path.name) or "The file"
    try:
        first = [line for line in Tail(path).read().lines if line.strip()][:_SAMPLE]
    except (OSError, ValueError) as fault:
        raise NotALogger(f"{name} {why_not_read(fault)}.") from fault
    if not first:
        raise NotALogger(f"{name} holds no whole line yet: choose it when the logger has written some readings.")
    layout = max((_Layout(first, delimiter) for delimiter in DELIMITERS), key=lambda x: x.score)
    if not layout.rows:
        raise NotALogger(f"No line of {name} holds a time and a number: choose the text file (CSV) the logger writes.")
    layout.require_parted(name)
    roles = _Roles(layout)
    order, form = DateOrder(), TimeFormat.EPOCH
    settled: TimeFormat | None = form
    if not layout.epoch:
        order.take(layout.times)
        if not order.sure:
            try:
                order.take(chain.from_iterable(map(layout.times_of, islice(read_all(path), _MOST_PIECES))))
            except (OSError, ValueError) as fault:
                raise NotALogger(f"{name} {why_not_read(fault)}.") from fault
        settled = order.settled
    if settled is not None:
        _require_rising(name, layout, settled, zone)
    said, asks = _words(layout, roles, settled, order, zone)
    date, time = layout.at
    return LoggerColumns(
        path=path,
        delimiter=layout.delimiter,
        decimal=layout.decimal,
        time_column=layout.names[time],
        date_column=None if date is None else layout.names[date],
        air_column="" if roles.air is None else layout.names[roles.air],
        humidity_column="" if roles.humidity is None else layout.names[roles.humidity],
        surface_column=None if roles.surface is None else layout.names[roles.surface],
        time_format=settled,
        unit=roles.unit,
        zone=zone,
        header=layout.header is not None,
        names=layout.names,
        said=said,
        asks=asks,
    )


class _Layout:
    """The first lines parted at one delimiter: which rows hold readings, and where the time and the numbers stand."""

    def __init__(self, lines: Sequence[str], delimiter: str) -> None:
        self.delimiter = delimiter
        parted = [[cell.strip() for cell in cells(line, delimiter)] for line in lines]
        self.at, self.epoch = _time_place(parted)
        date, time = self.at
        places = [i for i, row in enumerate(parted) if time >= 0 and self._has_time(row)]
        self.rows = [parted[i] for i in places]
        width = max(map(len, self.rows), default=0)
        self.header = _header(parted[: places[0]], max(2, time + 1, (date or 0) + 1), width) if places else None
        self.names = column_names(self.header) if self.header is not None else _places(width)
        commas = sum(bool(re.match(r"[+-]?\d+,\d", cell)) for row in self.rows for cell in self._values(row))
        points = sum(bool(re.match(r"[+-]?\d+\.\d", cell)) for row in self.rows for cell in self._values(row))
        self.decimal = "," if commas > points else "."
        self.numbers = {c: n for c in range(min(width, len(self.names))) if (n := self._numbers(c))}
        if not self.numbers:
            self.rows = []
        self.score = (len(self.rows) * min(2, len(self.numbers)), -abs(width - len(self.header or ())), width)

    def _has_time(self, row: Sequence[str]) -> bool:
        date, time = self.at
        if len(row) <= max(time, date or 0):
            return False
        if self.epoch:
            return _is_epoch(row[time])
        return is_stamp(row[time]) if date is None else is_date(row[date]) and is_of_day(row[time])

    def _values(self, row: Sequence[str]) -> list[str]:
        return [cell for place, cell in enumerate(row) if place not in self.at]

    def _numbers(self, column: int) -> list[tuple[float, str]]:
        if column in self.at:
            return []
        read = [read_value(row[column], self.decimal) for row in self.rows if column < len(row)]
        found = [value for value in read if value is not None]
        return found if len(found) * 2 >= len(self.rows) else []

    @property
    def times(self) -> list[str]:
        """The times as they stand."""
        return [self._time(row) for row in self.rows]

    def times_of(self, lines: Sequence[str]) -> list[str]:
        """Give the times of more lines."""
        need = max(self.at[1], self.at[0] or 0)
        parted = (cells(line, self.delimiter) for line in lines)
        return [self._time([cell.strip() for cell in row[: need + 1]]) for row in parted if len(row) > need]

    def _time(self, row: Sequence[str]) -> str:
        date, time = self.at
        return row[time] if date is None else f"{row[date]} {row[time]}"

    def require_parted(self, name: str) -> None:
        """Refuse a file in which the same comma parts columns and decimals."""
        if self.delimiter == "," and self.header is not None and self.rows:
            names, width = len(self.header), median(map(len, self.rows))
            if width == 2 * names - len([i for i in self.at if i is not None]):
                raise NotALogger(
                    f"{name} parts both its columns and its decimals by commas, so nothing can tell them apart: "
                    "let the logger write semicolons or decimal points."
                )


class _Roles:
    """Which column is what, by name, else by values."""

    def __init__(self, layout: _Layout) -> None:
        self.by_values: list[int] = []
        named = {c: _role(layout.names[c]) if layout.header is not None else "" for c in layout.numbers}
        airs = [c for c, role in named.items() if role == "air"]
        self.air = next((c for c in airs if _OF_AIR.search(_plain(layout.names[c]))), airs[0] if airs else None)
        self.humidity = next((c for c, role in named.items() if role == "humidity"), None)
        self.surface = next((c for c, role in named.items() if role == "surface"), None)
        self.spare = [c for c in airs if c != self.air]
        free = [c for c, role in named.items() if not role and not _counts([v for v, _ in layout.numbers[c]])]
        spans = {c: sorted(v for v, _ in layout.numbers[c]) for c in free}
        if self.air is None and self.humidity is None and len(free) > 1 and spans[free[0]][-1] > 50:
            free.sort(key=lambda c: spans[c][-1] > 50)  # humidity stands first
        for c in free:
            low, high = spans[c][len(spans[c]) // 20], spans[c][-1 - len(spans[c]) // 20]
            if self.air is None and low >= -30 and high <= 120:
                self.air = c
            elif self.humidity is None and self.air != c and low > 1 and high <= 100:
                self.humidity = c
            else:
                continue
            self.by_values.append(c)
        self.unit, self.why_unit = self._unit(layout)

    def _unit(self, layout: _Layout) -> tuple[str, str]:
        if self.air is None:
            return "C", ""
        values, units = zip(*layout.numbers[self.air], strict=True)
        if "F" in units or _FAHRENHEIT.search(layout.names[self.air]):
            return "F", ""
        if self.humidity is not None:
            usual = median(values), median(v for v, _ in layout.numbers[self.humidity])
            if misread_fahrenheit(*usual) is not None:
                return "F", f", for {figure(usual[0])} only makes sense in °F"
        return "C", ""


def _time_place(parted: Sequence[Sequence[str]]) -> tuple[tuple[int | None, int], bool]:
    """Give the columns of date (or None) and time (or -1), and whether it is seconds since 1970."""
    width = max(map(len, parted), default=0)

    def count(test: object, column: int) -> int:
        assert callable(test)
        return sum(1 for row in parted if column < len(row) and test(row[column]))

    columns = range(width)
    stamps = {c: n for c in columns if (n := count(is_stamp, c))}
    if stamps:
        return (None, max(stamps, key=lambda c: (stamps[c], -c))), False
    dates = {c: n for c in columns if (n := count(is_date, c))}
    hours = {c: n for c in columns if (n := count(is_of_day, c))}
    if dates and hours:
        return (max(dates, key=lambda c: (dates[c], -c)), max(hours, key=lambda c: (hours[c], -c))), False
    epochs = {c: n for c in columns if (n := count(_is_epoch, c))}
    if epochs:
        return (None, max(epochs, key=lambda c: (epochs[c], -c))), True
    return (None, -1), False


def _is_epoch(text: str) -> bool:
    value = epoch_s(text)
    return value is not None and value >= 1e9


def _header(above: Sequence[Sequence[str]], least: int, width: int) -> Sequence[str] | None:
    """Find the names above the first reading; a line of units may stand between."""
    for row in reversed(above[-3:]):
        if len(row) >= least and any(row) and not all(_UNITS.fullmatch(cell) for cell in row):
            return row[:width] if len(row) > width and not any(row[width:]) else row
    return None


def _places(width: int) -> tuple[str, ...]:
    return tuple(str(place) for place in range(1, width + 1))


def _counts(values: Sequence[float]) -> bool:
    """Whether these are but the numbers of the lines."""
    return len(values) > 2 and all(b - a == 1 for a, b in pairwise(values))


def _plain(name: str) -> str:
    spread = unicodedata.normalize("NFKD", name.casefold().replace("ø", "o").replace("ł", "l"))
    return "".join(c for c in spread if not unicodedata.combining(c))


def _role(name: str) -> str:
    plain = _plain(name)
    return next((role for role, words in _ROLES.items() if words.search(plain)), "")


def _require_rising(name: str, layout: _Layout, form: TimeFormat, zone: tzinfo) -> None:
    reader = LoggerTimes(form, zone)
    times = [t for text in layout.times if (t := reader.utc(text, -inf, 0)) is not None]
    if sum(b < a for a, b in pairwise(times)) * 2 > len(times):
        raise NotALogger(f"The newest line of {name} stands first: choose a file that the logger appends to.")


def _words(
    layout: _Layout, roles: _Roles, settled: TimeFormat | None, order: DateOrder, zone: tzinfo
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Say what was taken, and ask for the rest."""
    asks: list[str] = []
    comma = ", and 21,5 means 21.5" if layout.decimal == "," else ""
    said = [f"The columns are parted by {DELIMITERS[layout.delimiter]}{comma}."]
    if layout.header is None:
        said.append("There is no line of names, so the columns go by their places.")
    date, time = layout.at
    where = f"“{layout.names[time]}”" if date is None else f"“{layout.names[date]}” and “{layout.names[time]}”"
    how = "the day or the month first" if settled is None else str(settled)
    said.append(f"The time is in {where}, {how}, such as {one_line(layout.times[-1], 40)}, in the zone {zone}.")
    if settled is None:
        asks.append(f"Is {one_line(order.example, 20)} written with the day or with the month first?")
    for what, column, unit in (
        ("air", roles.air, f" °{roles.unit}"),
        ("humidity", roles.humidity, " %"),
        ("surface", roles.surface, f" °{roles.unit}"),
    ):
        if column is not None:
            how = " by its values" if column in roles.by_values else ""
            why = roles.why_unit if what == "air" else ""
            last = figure(layout.numbers[column][-1][0], 4)
            said.append(f"The {what} is in “{one_line(layout.names[column], 40)}”{how}, such as {last}{unit}{why}.")
        elif what != "surface":
            asks.append(f"Which column holds the {what}?")
    if roles.surface is None and roles.spare:
        spare = one_line(layout.names[roles.spare[0]], 40)
        said.append(f"“{spare}” is left out: choose it as the surface if that sensor lies on the piece.")
    return tuple(said), tuple(asks)
