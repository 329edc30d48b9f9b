"""Readings of the air from a file that a data logger appends to. No clock: where an age is told, `now` is given."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from benchtool.session.loggerguess import DELIMITERS, LoggerColumns, NotALogger, guess, read_value
from benchtool.session.loggerthin import LoggedReading, Thinner
from benchtool.session.loggertimes import EARLIEST_S, LATEST_S, DateOrder, LoggerTimes, TimeFormat, is_stamp
from benchtool.store.files import one_line
from benchtool.store.loggerfile import Tail, cells, column_names, why_not_read
from benchtool.trade.air import Air, NotAir, misread_fahrenheit
from benchtool.trade.numbers import span_words

__all__ = ["LoggedReading", "LoggerColumns", "LoggerFile", "NotALogger", "Polled", "TimeFormat", "guess"]

AHEAD_S = 300.0
"""A line dated more than this (s) after now is left out: the logger's clock jumped, or its zone is another (judgement).
Were it taken, every line after the clock is put right would come too early, and be left out in its stead."""

COLDEST_DEGC, HOTTEST_DEGC, HOTTEST_SURFACE_DEGC = -30.0, 70.0, 100.0
"""What the record of a job takes (degC)."""

_LINES_OF_UNITS = 3
_MOST_COLUMNS = 1000
_PLAIN_DEGC = 50.0


@dataclass(frozen=True, slots=True)
class Polled:
    """What a look at the file brought.

    `readings` are new and worth keeping, in rising order, the same however the file grew. `newest` is the newest
    there is, kept or not: it tells the air of this moment. `faults` are told once, in sentences. `offers_fahrenheit`:
    the figures only make sense in °F. `more`: there is more to read at once.
    """

    readings: tuple[LoggedReading, ...] = ()
    faults: tuple[str, ...] = ()
    newest: LoggedReading | None = None
    offers_fahrenheit: bool = False
    more: bool = False


_ADVICE = {
    "date": " Choose again how it writes its dates.",
    "fahrenheit": " If the logger writes °F, choose °F for it.",
    "decimal": " Choose the decimal comma for it.",
    "back": " Lines are left out until its time has caught up.",
    "ahead": " Set the logger's clock, or choose its zone.",
    "unset": " Set the logger's clock.",
    "surface": " The air of that line still counts.",
}
_WHOLE = frozenset({"column", "order", "delimiter", "surface column"})
"""What is said of the file, not of its lines."""


class LoggerFile:
    """Follows a logger's file. Nothing in the file makes it raise; the last good reading always stays.

    `after`: readings up to this instant are not given (a job that holds them already, or began later). `left_out`
    counts the lines that were no readings, by what was wrong with them; `pauses` are the gaps (s) so far.
    """

    def __init__(self, columns: LoggerColumns, after: datetime | None = None) -> None:
        self.columns = columns
        self._name = one_line(columns.path.name, 60) or "The file"
        self._thin = Thinner(-math.inf if after is None else after.timestamp())
        self._comma, self._fahrenheit = columns.decimal == ",", columns.unit == "F"
        self._tail = Tail(columns.path)
        self._order = DateOrder()
        self._scout = None if columns.time_format is not None else Tail(columns.path)
        self._times = LoggerTimes(columns.time_format or TimeFormat.YEAR_FIRST, columns.zone)
        self._trouble = ""
        self._latest = math.inf
        self._told: set[str] = set()
        self._found: dict[str, tuple[int, int, str]] = {}
        self._good = 0
        self._ahead_s = 0.0
        self._now_s = math.inf
        self.left_out: Counter[str] = Counter()
        self.pauses: list[float] = []
        self._begin_file(catching_up=False)

    def _begin_file(self, *, catching_up: bool) -> None:
        self._catching_up = catching_up
        self._line = 0
        self._row_s = -math.inf
        self._partly: tuple[str, ...] = ()
        self._mapped = False
        if not self.columns.header:
            self._map(tuple(str(place) for place in range(1, _MOST_COLUMNS)))

    # --- looking -----------------------------------------------------------------------------------

    def poll(self, now: datetime | None = None, most_pieces: int | None = None) -> Polled:
        """Read what was appended since the last look.

        With `now`, lines dated more than five minutes after it are left out, and what is wrong with the file says how
        old the last reading is. `most_pieces` ends the look after so many quarters of a MiB, with `more` set, so that a
        window can draw in between.
        """
        self._now_s = math.inf if now is None else now.timestamp()
        self._latest = self._now_s + AHEAD_S
        self._good, self._found = 0, {}
        faults: list[str] = []
        more, trouble = False, ""
        try:
            spent, more = self._settle_order(most_pieces)
            if self._scout is None:
                more = self._read_on(faults, None if most_pieces is None else most_pieces - spent)
        except (OSError, ValueError) as fault:
            trouble = f"{self._name} {why_not_read(fault)}"
            if trouble != self._trouble:
                faults.append(f"{trouble}{self._holds(now)}.")
        self._trouble = trouble
        if self._line and not self._mapped:
            self._tell("column", self._column_gone())
        readings, gaps = self._thin.give()
        self.pauses += [end - start for start, end in gaps]
        faults += [*self._said(), *self._gap_words(gaps)]
        return Polled(readings, tuple(faults), self.newest, "fahrenheit" in self._found, more)

    def _read_on(self, faults: list[str], most_pieces: int | None) -> bool:
        pieces, more = 0, True
        while more and (most_pieces is None or pieces < most_pieces):
            piece = self._tail.read()
            if piece.anew:
                self._begin_file(catching_up=True)
                faults.append(f"{self._name} was begun anew: only what is newer than the last reading counts.")
            for line in piece.lines:
                self._line += 1
                self._take(line)
            more, pieces = piece.more, pieces + 1
            if piece.anew:  # a file that is never the same twice must not hold the caller for ever
                break
        return more

    def _settle_order(self, most_pieces: int | None) -> tuple[int, bool]:
        """Read ahead until the order of day and month is known; nothing is taken from the file before.

        Gives how many pieces that took, and whether there is more to read.
        """
        if self._scout is None:
            return 0, False
        pieces, more = 0, True
        while more:
            if pieces == most_pieces:
                return pieces, more
            piece = self._scout.read()
            pieces += 1
            if piece.anew:
                self._begin_file(catching_up=False)
                self._order = DateOrder()
            for line in piece.lines:
                self._line += 1
                row = cells(line, self.columns.delimiter)
                if not self._mapped:
                    self._find_header(line, row)
                elif len(row) > max(self._time_at, self._date_at or 0):
                    self._order.take([self._time_text(row)])
            more = piece.more and not piece.anew
        settled = self._order.settled
        if settled is None:
            if example := one_line(self._order.example, 20):
                self._tell("order", f"Is {example} written with the day or with the month first? Choose it.")
            return pieces, more
        self._times = LoggerTimes(settled, self.columns.zone)
        self._scout = None
        self._begin_file(catching_up=False)
        return pieces, more

    @property
    def newest(self) -> LoggedReading | None:
        """The last good reading, however old."""
        return self._thin.newest

    def words(self, now: datetime) -> str:
        """Say in a sentence what is wrong at `now` with the file, the reading's age or the logger's clock; else ""."""
        if self._trouble:
            return f"{self._trouble}{self._holds(now)}."
        newest = self.newest
        if self._ahead_s:
            ahead = span_words(self._ahead_s)
            return f"The logger's time is {ahead} ahead of this computer's: set its clock, or choose its zone."
        if newest is None:
            return f"There is no reading in {self._name} yet."
        age = (now - newest.at).total_seconds()
        return f"No reading for {span_words(age)}: {newest.words} still holds." if self._thin.is_gap(age) else ""

    def _holds(self, now: datetime | None) -> str:
        newest = self.newest
        if newest is None:
            return ", and no reading was taken from it yet"
        age = "" if now is None else f" {span_words(max(0.0, (now - newest.at).total_seconds()))} old,"
        return f": the last reading, {newest.words},{age} still holds"

    # --- one line ----------------------------------------------------------------------------------

    def _take(self, line: str) -> None:
        row = cells(line, self.columns.delimiter)
        if not self._mapped:
            self._find_header(line, row)
            return
        try:
            text, air_text, humidity_text = self._time_text(row), row[self._air_at], row[self._humidity_at]
        except IndexError:
            self._take_other(line, row, short=True)
            return
        # The line before in this file, not the last reading, tells two equal hours apart: a file begun anew may hold
        # the first of them again.
        at = self._times.utc(text, self._row_s, self._thin.step)
        if at is None:
            self._take_other(line, row, short=False)
        elif not EARLIEST_S <= at <= LATEST_S:
            self._tell("unset", f"{one_line(text, 30)} is the time of a clock that was never set")
        elif at > self._latest:
            self._ahead_s = at - self._now_s
            self._tell("ahead", f"{self._when(at)} lies ahead of this computer's time", at)
        else:
            last = self._thin.last_s
            self._row_s = max(at, self._row_s)
            if at > last:
                self._take_values(at, air_text, humidity_text, row)
            elif at < last and not self._catching_up:
                self._tell("back", f"{self._when(last)} is followed by {self._when(at)}", at)
            elif at == last and not self._catching_up and at > self._thin.after:
                self.left_out["twice"] += 1

    def _time_text(self, row: Sequence[str]) -> str:
        time = row[self._time_at].strip()
        return time if self._date_at is None else f"{row[self._date_at].strip()} {time}"

    def _take_values(self, at: float, air_text: str, humidity_text: str, row: Sequence[str]) -> None:
        air, humidity = self._degC(air_text), self._number(humidity_text)[0]
        if not (COLDEST_DEGC <= air <= _PLAIN_DEGC and 1 <= humidity <= 100) and self._is_no_air(
            at, air, humidity, air_text if math.isnan(air) else humidity_text
        ):
            return
        surface: float | None = None
        if self._surface_at is not None and self._surface_at < len(row) and (felt := row[self._surface_at].strip()):
            surface = self._degC(felt)
            if not COLDEST_DEGC <= surface <= HOTTEST_SURFACE_DEGC:
                self._tell("surface", f"a surface of “{one_line(felt, 30)}” can't be", at)
                surface = None
        self._catching_up = False
        self._good += 1
        self._ahead_s = 0.0
        self._thin.take((at, air, humidity, surface))

    def _number(self, text: str) -> tuple[float, str]:
        try:
            return float(text.replace(",", ".") if self._comma else text), ""
        except ValueError:
            return read_value(text, self.columns.decimal) or (math.nan, "")

    def _degC(self, text: str) -> float:
        value, unit = self._number(text)
        return round((value - 32) / 1.8, 2) if unit == "F" or (self._fahrenheit and not unit) else value

    def _is_no_air(self, at: float, air: float, humidity: float, wrong: str) -> bool:
        if math.isnan(air) or math.isnan(humidity):
            kind = "value" if self._comma or math.isnan(self._read_with_comma(wrong)) else "decimal"
            self._tell(kind, f"“{one_line(wrong, 30)}” is no number" if wrong.strip() else "a value is missing", at)
            return True
        if misread_fahrenheit(air, humidity) is not None:
            what = f"{air:.6g} °C at {humidity:.6g} % can't be"
            if self._fahrenheit:
                self._tell("air", what, at)
            else:
                self._tell("fahrenheit", f"{what}, but {air:.6g} °F can", at)
            return True
        if not COLDEST_DEGC <= air <= HOTTEST_DEGC:
            self._tell("air", f"air of {air:.6g} °C can't be", at)
            return True
        try:
            Air(air_degC=air, humidity_percent=humidity)
        except NotAir as fault:
            self._tell("air", str(fault).rstrip("."), at)
            return True
        return False

    def _read_with_comma(self, text: str) -> float:
        found = read_value(text, ",")
        return math.nan if found is None else found[0]

    # --- lines that hold no reading ----------------------------------------------------------------

    def _find_header(self, line: str, row: Sequence[str]) -> None:
        names, needed = column_names(row), self.columns.needed
        if all(name in names for name in needed):
            self._map(names)
        elif any(name in names for name in needed):
            self._partly = names
        else:
            for delimiter, words in DELIMITERS.items():
                if delimiter != self.columns.delimiter and set(needed) & set(column_names(cells(line, delimiter))):
                    self._tell_delimiter(words)

    def _map(self, names: tuple[str, ...]) -> None:
        columns = self.columns
        if not all(name in names for name in columns.needed):
            return
        self._mapped, self._since_header, self._partly = True, 0, ()
        self._time_at = names.index(columns.time_column)
        self._date_at = None if columns.date_column is None else names.index(columns.date_column)
        self._air_at, self._humidity_at = names.index(columns.air_column), names.index(columns.humidity_column)
        self._surface_at = None
        if columns.surface_column in names:
            self._surface_at = names.index(columns.surface_column)
        elif columns.surface_column is not None:
            gone = one_line(columns.surface_column, 40)
            self._tell(
                "surface column", f"The column “{gone}” is not in {self._name}: readings come without a surface."
            )

    def _take_other(self, line: str, row: Sequence[str], *, short: bool) -> None:
        plain = line.strip()
        if not plain or plain.startswith("#"):
            return
        if self.columns.header and self.columns.time_column in column_names(row):  # the logger was started again
            self._mapped = False
            self._find_header(line, row)
            return
        others = ((d, words) for d, words in DELIMITERS.items() if d != self.columns.delimiter)
        other = next((words for d, words in others if plain.count(d) >= len(self.columns.needed) - 1), None)
        if short and len(row) == 1 and other is not None:
            self._tell_delimiter(other)
            return
        self._since_header += 1
        if self._thin.last_s == -math.inf and self._since_header <= _LINES_OF_UNITS:
            return
        if short:
            self._tell("short", f"“{one_line(plain, 40)}” has too few columns")
            return
        text = self._time_text(row)
        dated = is_stamp(text)
        how = f" with the {self._times.form}" if dated else ""
        self._tell("date" if dated else "time", f"“{one_line(text, 30)}” is no time{how}")

    def _column_gone(self) -> str:
        if not self._partly:
            wanted = one_line(self.columns.time_column, 40)
            return f"The column “{wanted}” is not in {self._name}: choose its columns again."
        gone = next(name for name in self.columns.needed if name not in self._partly)
        if not gone:
            return f"Choose the columns of air and humidity in {self._name}: one of them isn't known."
        there = one_line(", ".join(self._partly), 120)
        return f"The column “{one_line(gone, 40)}” is not in {self._name}, which has {there}: choose its columns again."

    # --- saying ------------------------------------------------------------------------------------

    def _tell_delimiter(self, words: str) -> None:
        taken = DELIMITERS.get(self.columns.delimiter, "another mark")
        self._tell("delimiter", f"The columns of {self._name} are parted by {words}, not by {taken}: choose {words}.")

    def _tell(self, kind: str, detail: str, at: float = math.inf) -> None:
        if at > self._thin.after:
            if kind not in _WHOLE and kind != "surface":
                self.left_out[kind] += 1
            count, line, first = self._found.get(kind, (0, self._line, detail))
            self._found[kind] = count + 1, line, first

    def _said(self) -> list[str]:
        """Say each kind of fault once, and again only after a look that was free of it."""
        said = []
        if "delimiter" in self._found.keys() | self._told:
            self._found.pop("column", None)
        for kind, (count, line, detail) in self._found.items():
            if kind in self._told:
                continue
            if kind in _WHOLE:
                said.append(detail)
                continue
            out = "" if kind == "surface" else " left out"
            where = f"line {line}{out}" if count == 1 else f"{count} lines{out}, the first is line {line}"
            said.append(f"{self._name}, {where}: {detail}.{_ADVICE.get(kind, '')}")
        self._told |= self._found.keys()
        if self._good:
            self._told &= self._found.keys()
        return said

    def _gap_words(self, gaps: Sequence[tuple[float, float]]) -> list[str]:
        if not gaps:
            return []
        start, end = gaps[-1]
        said = f"No reading for {span_words(end - start)}: from {self._when(start)} to {self._when(end)}"
        before = gaps[:-1]
        if before:
            longest = span_words(max(b - a for a, b in before))
            many = f"{len(before)} such pauses before, the longest {longest}"
            said += f", and a pause of {longest} before" if len(before) == 1 else f", and {many}"
        return [f"{said}."]

    def _when(self, at: float) -> str:
        return f"{datetime.fromtimestamp(at, self.columns.zone):%d %b %Y, %H:%M}"
