"""`benchtool voc`: emissions of a mix from a JSON list of its parts."""

import argparse
from typing import TYPE_CHECKING

from benchtool.cli.common import FINE, TROUBLE, Answer, Commands, Means, Parser, Unusable, about, short
from benchtool.cli.textin import read_text

if TYPE_CHECKING:
    from benchtool.trade.emissions import Read
    from benchtool.trade.quantities import Measures


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    voc: Parser = commands.add_parser(
        "voc",
        help="add up the VOC of a mix: as it is, and less water and exempt compounds",
        description="Add up the VOC of a mix: as it is, and less water and exempt compounds.",
        epilog=(
            "FILE is a JSON list with one object a part, - for standard input:\n"
            '  [{"name": "base", "volume": "4 L", "voc": 420, "exempt": 79, "exempt_density": 0.79},\n'
            '   {"name": "activator", "mass": "1.02 kg", "density": 1.02, "voc": "2.1 lb/gal"},\n'
            '   {"name": "reducer", "volume": 1000, "voc": 860}]\n\n'
            "Keys: name; volume (mL) or mass (g); density, exempt_density (g/mL); voc, water, exempt (g per litre\n"
            'of that part); basis ("actual", or "regulatory" where voc is less water and exempt). A figure without\n'
            "a unit is in these.\n\n"
            "Local rules decide which figure counts and what the limit is.\n"
            "Exit status: 0 fine, 1 over the limit, 2 the input can't be used."
        ),
    )
    voc.add_argument("file", metavar="FILE", help="the parts as JSON, or - for standard input")
    voc.add_argument("--limit", metavar="G_PER_L", help="your limit less water and exempt, such as 420 or 3.5lb/gal")
    return voc


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """Add up the emissions."""
    from benchtool.sheets.sums import VocSheet, voc_answer, voc_text
    from benchtool.trade.emissions import NotEmissions, contents_from_json, emissions
    from benchtool.trade.quantities import NotAnAmount

    parts = _decoded(args.file, means)
    limit = None
    if args.limit is not None:
        with about("--limit", NotAnAmount):
            limit = means.measures().concentration_g_L(args.limit, unit="g/L")
            if not limit > 0:
                raise NotAnAmount("A limit of nothing is none; write the limit of your rule, such as 420.")
    try:
        contents = contents_from_json(parts, _reader(means))
        found = emissions(contents)
    except NotEmissions as fault:
        raise Unusable(str(fault)) from None
    sheet = VocSheet(contents=contents, found=found, limit_g_L=limit)
    return Answer(TROUBLE if sheet.within is False else FINE, voc_answer(sheet), lambda: voc_text(sheet))


def _decoded(name: str, means: Means) -> object:
    import json

    said = "standard input" if name == "-" else f"“{short(name)}”"
    data = read_text(name, means, "a list of parts")
    try:
        return json.loads(data.removeprefix("\ufeff"))
    except json.JSONDecodeError as fault:
        place = f"line {fault.lineno}, column {fault.colno}"
        raise Unusable(f"{said} is no JSON: {fault.msg} at {place}. Write a list of parts, see --help.") from None
    except RecursionError:
        raise Unusable(f"{said} is nested too deep. Write a list of parts, see --help.") from None
    except ValueError:  # a whole number of thousands of digits
        raise Unusable(f"{said} holds a number too long to be an amount.") from None


def _reader(means: Means) -> "Read":
    """Read texts with units; pint is loaded at the first of them, so never for plain numbers."""
    made: list[Measures] = []

    def read(text: str, kind: str) -> float:
        if not made:
            made.append(means.measures())
        units = made[0]
        match kind:
            case "volume":
                return units.volume(text, unit="mL").mL
            case "mass":
                return units.mass(text, unit="g")
            case "density":
                return units.density_g_mL(text, unit="g/mL")
            case _:
                return units.concentration_g_L(text, unit="g/L")

    return read
