"""`benchtool pace`: how many times as long in this air, and what a history of temperatures counts for."""

import argparse
import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from benchtool.cli.common import FINE, TROUBLE, Answer, Commands, Means, Parser, Unusable, about, named, percent, short

if TYPE_CHECKING:
    from benchtool.trade.air import Air
    from benchtool.trade.pace import Model
    from benchtool.trade.quantities import Measures

MOST_BYTES = 50_000_000
"""A logger's file of some million rows; more is another file."""

MOST_HOURS = 87_600
"""Ten years: no history of a coat is longer."""

_MODELS = {
    "arrhenius": ("energy",),
    "doubling": ("factor",),
    "table": ("table",),
    "evaporation": ("reference_humidity", "reference_speed"),
}
_ANY_PERCENT = 50.0
"""What stands for the humidity where the model does not look at it."""
_HEADS = "hours,degC or hours,degC,percent"


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    pace: Parser = commands.add_parser(
        "pace",
        help="say how many times as long it takes in this air, and what a history counts for",
        description="Say how many times as long it takes in this air, and what a history of temperatures counts for.",
        epilog=(
            "examples:\n"
            "  benchtool pace --model arrhenius --energy 50 --reference 20C --temperature 10C\n"
            "  benchtool pace --model doubling --reference 20C --history night.csv\n"
            "  benchtool pace --model table --table 10C=40min --table 20C=20min --reference 20C --temperature 12C\n"
            "  benchtool pace --model evaporation --temperature 15C --humidity 80 --speed 0.3\n\n"
            "The history is a CSV file with columns hours,degC or hours,degC,percent. Where the first row is at hour\n"
            "0, hours say when each reading was taken; it holds to the next, and the last one ends the history. Else\n"
            "they say how long each stretch lasted. A column named at_hours or stretch_hours leaves no doubt.\n\n"
            "time_factor and equivalent_age_h are by the model alone (ASTM C1074 for arrhenius). A wait is never\n"
            "shortened below the card, nor a deadline put off, but by the card's own table: wait_factor, wait_age_h\n"
            "and deadline_factor are what a window goes by.\n"
            "Exit status: 0 fine, 1 it never dries in this air, 2 the input can't be used."
        ),
    )
    pace.add_argument("--model", metavar="MODEL", help="arrhenius, doubling, table or evaporation")
    pace.add_argument("--energy", metavar="KJ_PER_MOL", help="arrhenius: the activation energy, such as 50")
    pace.add_argument("--factor", metavar="N", help="doubling: how many times as long for each 10 C colder (2)")
    pace.add_argument(
        "--table", action="append", metavar="T=TIME", help="table: a row of the card's, such as 10C=40min"
    )
    pace.add_argument("--reference", metavar="T", help="the temperature of the card's times (23C)")
    pace.add_argument("--reference-humidity", metavar="PERCENT", help="evaporation: the card's humidity (50)")
    pace.add_argument("--reference-speed", metavar="V", help="evaporation: the speed of the card's air (0.1 m/s)")
    pace.add_argument("--least", metavar="T", help="the card's least temperature; nothing counts below it")
    pace.add_argument("--temperature", metavar="T", help="the air, such as 10C or 50F")
    pace.add_argument("--humidity", metavar="PERCENT", help="its relative humidity")
    pace.add_argument("--surface", metavar="T", help="the surface of the piece, where it was measured")
    pace.add_argument("--speed", metavar="V", help="the speed of the air, such as 0.3 (m/s) or 60ft/min")
    pace.add_argument("--history", metavar="CSV", help="a file of readings, - for standard input")
    return pace


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """Work out the factor of an air, the equivalent age of a history, or both."""
    name = _model_name(args)
    if args.temperature is None and args.history is None:
        raise Unusable("Say in what air: --temperature 10C, or --history with a CSV file.")
    if args.temperature is None and args.surface is not None:
        raise Unusable("--surface goes with --temperature.")

    from benchtool.sheets.pace_answer import PaceSheet, pace_answer, pace_text
    from benchtool.trade.air import NotAir

    units = means.measures()
    model = _model(name, args, units)
    humidity = percent("--humidity", args.humidity) if args.humidity is not None else None
    speed_m_s = _speed("--speed", args.speed, units) if args.speed is not None else None
    if humidity is None and name != "evaporation":
        humidity = _ANY_PERCENT
    usual = _Usual(humidity, speed_m_s)
    air = None
    if args.temperature is not None:
        if usual.percent is None:
            raise Unusable("--humidity is missing: evaporation hangs on it.")
        degC = _temperature("--temperature", args.temperature, units)
        surface = _temperature("--surface", args.surface, units) if args.surface is not None else None
        with about("--temperature and --humidity", NotAir):
            air = usual.air(degC, usual.percent, surface)
    history, remarks = _history(args.history, means, usual) if args.history is not None else (None, ())
    sheet = PaceSheet(model=model, air=air, history=history, remarks=remarks)
    return Answer(TROUBLE if sheet.never else FINE, pace_answer(sheet), lambda: pace_text(sheet))


class _Usual(NamedTuple):
    """What was given on the line and holds wherever the history is silent."""

    percent: float | None
    speed_m_s: float | None

    def air(self, degC: float, percent: float, surface_degC: float | None = None) -> "Air":
        from benchtool.trade.air import Air

        return Air(air_degC=degC, humidity_percent=percent, surface_degC=surface_degC, speed_m_s=self.speed_m_s)


# --- the model -------------------------------------------------------------------------------------------


def _model_name(args: argparse.Namespace) -> str:
    listed = "arrhenius, doubling, table or evaporation"
    if args.model is None:
        raise Unusable(f"Say how pace is reckoned: --model {listed}.")
    name = str(args.model).strip().lower()
    if name not in _MODELS:
        raise Unusable(f"--model “{short(args.model)}” is not known here. Write {listed}.")
    for model, options in _MODELS.items():
        for option in options if model != name else ():
            if getattr(args, option) is not None:
                raise Unusable(f"--{option.replace('_', '-')} goes with --model {model}, not with {name}.")
    return name


def _model(name: str, args: argparse.Namespace, units: "Measures") -> "Model":
    from benchtool.trade.pace import Arrhenius, Doubling, Evaporation, NotAPace, TimesTable

    degC = _temperature("--reference", args.reference, units) if args.reference is not None else 23.0
    least = _temperature("--least", args.least, units) if args.least is not None else None
    try:
        match name:
            case "arrhenius":
                if args.energy is None:
                    raise Unusable("--energy is missing: write the activation energy in kJ/mol, such as --energy 50.")
                return Arrhenius(_figure("--energy", args.energy, "kJ/mol", "50"), degC, least)
            case "doubling":
                factor = _figure("--factor", args.factor, "", "2") if args.factor is not None else 2.0
                return Doubling(degC, factor, least)
            case "table":
                return TimesTable(tuple(sorted(_rows(args.table, units))), degC, least)
            case _:
                damp = args.reference_humidity
                moved = args.reference_speed
                return Evaporation(
                    degC,
                    percent("--reference-humidity", damp) if damp is not None else 50.0,
                    _speed("--reference-speed", moved, units) if moved is not None else 0.1,
                    least,
                )
    except NotAPace as fault:
        raise Unusable(f"--model {name}: {fault}") from None


def _rows(texts: Sequence[str] | None, units: "Measures") -> Iterator[tuple[float, float]]:
    from benchtool.trade.durations import NotASpan, read_span

    if not texts:
        raise Unusable("--table is missing: write a row of the card's table, such as --table 10C=40min.")
    for degC, time in named("--table", texts, "10C=40min").items():
        with about("--table", NotASpan):
            yield _temperature("--table", degC, units), read_span(time).total_seconds()


def _temperature(option: str, text: str, units: "Measures") -> float:
    from benchtool.trade.quantities import NotAnAmount

    with about(option, NotAnAmount):
        return units.temperature_degC(text)


def _speed(option: str, text: str, units: "Measures") -> float:
    from benchtool.trade.numbers import NotANumber, read_number
    from benchtool.trade.quantities import NotAnAmount

    with about(option, NotANumber, NotAnAmount):
        value, unit = read_number(text)
        value = units.convert(text, "m/s").value if unit else value
    if not 0 <= value <= 30:
        raise Unusable(f"{option} “{short(text)}” is no air that anybody paints in. Write it in m/s, such as 0.3.")
    return value


def _figure(option: str, text: str, unit: str, example: str) -> float:
    from benchtool.trade.numbers import NotANumber, read_number

    with about(option, NotANumber):
        value, typed = read_number(text)
    if typed and typed.lower().replace(" ", "") != unit.lower():
        raise Unusable(f"{option} “{short(text)}”: write {f'it in {unit}' if unit else 'a number'}, such as {example}.")
    return value


# --- the history -----------------------------------------------------------------------------------------

_HOURS = ("hours", "at_hours", "stretch_hours")
_Stretches = tuple[tuple[float, "Air"], ...]


def _history(name: str, means: Means, usual: _Usual) -> tuple[_Stretches, tuple[str, ...]]:
    said = "standard input" if name == "-" else f"“{short(name)}”"
    lines = _read_text(name, said, means).removeprefix("\ufeff").splitlines()
    rows = [(i, line) for i, line in enumerate(lines, 1) if line.strip()]
    if not rows:
        raise Unusable(f"{said} is empty: it should have the columns {_HEADS}.")
    between = next((mark for mark in (";", "\t") if mark in rows[0][1]), ",")
    heads, rows = _heads(said, rows, between)
    readings: list[tuple[int, float, Air]] = []
    remarks: tuple[str, ...] = ()
    for place, (number, line) in enumerate(rows, 1):
        cells = [cell.strip().strip('"') for cell in line.split(between)]
        if len(cells) < len(heads) and place == len(rows) and place > 1:
            remarks = (f"Line {number} of {said} is not whole yet and was left out.",)
            break
        readings.append((number, *_reading(f"Line {number} of {said}", heads, cells, between, usual)))
    if not readings:
        raise Unusable(f"{said} has no readings under its heads.")
    head = next(head for head in heads if head in _HOURS)
    return tuple(_stretches(said, head, readings)), remarks


def _heads(said: str, rows: list[tuple[int, str]], between: str) -> tuple[list[str], list[tuple[int, str]]]:
    """Give the names of the columns, hours first known, and the rows under them; without heads they go by place."""
    cells = [cell.strip().strip('"').lower() for cell in rows[0][1].split(between)]
    if cells[0][:1].isdigit() or cells[0][:1] in ("-", "+", "."):
        return ["hours", "degc", "percent"][: max(2, len(cells))], rows
    if sum(cell in _HOURS for cell in cells) != 1 or cells.count("degc") != 1:
        raise Unusable(f"{said} should have the columns {_HEADS}, and has “{short(rows[0][1])}”.")
    if cells.count("percent") > 1:
        raise Unusable(f"{said} has more than one column named percent: leave one.")
    return cells, rows[1:]


def _reading(where: str, heads: list[str], cells: list[str], between: str, usual: _Usual) -> tuple[float, "Air"]:
    from benchtool.trade.air import NotAir

    if len(cells) != len(heads):
        hint = "; with decimal commas, put semicolons between the columns" if between == "," else ""
        raise Unusable(f"{where} has {len(cells)} values for {len(heads)} columns{hint}.")
    found = {
        "hours" if head in _HOURS else head: _value(where, cell, between)
        for head, cell in zip(heads, cells, strict=True)
        if head in (*_HOURS, "degc", "percent")
    }
    damp = found.get("percent", usual.percent)
    if damp is None:
        raise Unusable(f"{where} gives no humidity, and evaporation hangs on it: add a column percent, or --humidity.")
    if abs(found["hours"]) > MOST_HOURS:
        raise Unusable(f"{where}: hours of more than ten years are a slip.")
    with about(where, NotAir):
        return found["hours"], usual.air(found["degc"], damp)


def _value(where: str, cell: str, between: str) -> float:
    try:
        value = float(cell.replace(",", ".") if between != "," else cell)
        if not math.isfinite(value) or "_" in cell:
            raise ValueError
    except ValueError:
        raise Unusable(f"{where}: “{short(cell)}” is no number.") from None
    return value


def _stretches(said: str, head: str, readings: list[tuple[int, float, "Air"]]) -> Iterator[tuple[float, "Air"]]:
    hours = [h for _, h, _ in readings]
    rising = all(b > a for a, b in pairwise(hours))
    moments = head == "at_hours" or (head != "stretch_hours" and hours[0] == 0)
    if head == "hours" and not moments and rising and len(hours) > 1:
        raise Unusable(
            f"The hours of {said} can be read two ways: begin with a reading at hour 0, or name the column "
            "at_hours or stretch_hours."
        )
    if not moments:
        for number, h, air in readings:
            if h < 0:
                raise Unusable(f"Line {number} of {said}: a stretch of {h:g} hours is none.")
            yield h * 3600, air
        return
    if len(readings) < 2:
        raise Unusable(f"{said} has one moment alone: a history needs two at least.")
    for (_, h, air), (number, then, _) in pairwise(readings):
        if then < h:
            raise Unusable(f"Line {number} of {said} goes back in time, from hour {h:g} to {then:g}.")
        yield (then - h) * 3600, air


def _read_text(name: str, said: str, means: Means) -> str:
    from pathlib import Path

    from benchtool.store.files import NotOrdinary, TooLarge, read_file

    try:
        if name == "-":
            if means.stdin is None:
                raise Unusable("There is no standard input to read from: name a file.")
            text = means.stdin.read(MOST_BYTES + 1)
            if len(text) > MOST_BYTES:
                raise TooLarge
            return text
        return read_file(Path(name), MOST_BYTES).decode("utf-8")
    except UnicodeDecodeError:
        raise Unusable(f"{said} is no text in UTF-8.") from None
    except TooLarge:
        raise Unusable(f"{said} is too large to be a history of readings.") from None
    except NotOrdinary:
        raise Unusable(f"{said} is no ordinary file: write - and pipe it in.") from None
    except OSError as fault:
        raise Unusable(f"{said} can't be read: {fault.strerror or fault}.") from None
    except ValueError:
        raise Unusable(f"{said} can't be the name of a file.") from None
