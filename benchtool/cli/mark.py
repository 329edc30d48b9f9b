"""`benchtool mark`: what stands moulded on a plastic part, and what it may be made of."""

import argparse
from typing import TYPE_CHECKING

from benchtool.cli.common import FINE, TROUBLE, Answer, Commands, Means, Parser, Unusable, printable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchtool.trade.marks import Additive, Filler, Mark
    from benchtool.trade.substrates import Substrate


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    mark: Parser = commands.add_parser(
        "mark",
        help="read the mark moulded on a plastic part",
        description="Read the mark moulded on a plastic part, by ISO 11469 with the symbols of ISO 1043.",
        epilog=(
            "examples:\n"
            "  benchtool mark '>PP+EPDM-TD20<'\n"
            "  benchtool mark '>PA66-(GF25+MD15)<'\n"
            "  benchtool mark HDPE\n"
            "  benchtool mark 'triangle 5'\n\n"
            "Put the mark in quotes: > and < mean something to a shell. Of layers, one underlined is typed _ABS_.\n"
            "Exit status: 0 it stands as the standard writes it, 1 it does not but is understood, 2 not understood."
        ),
    )
    mark.add_argument("mark", metavar="TEXT", help="what stands on the part")
    return mark


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """Read the mark."""
    from benchtool.session.tables_identify import load_marks
    from benchtool.trade.markreading import parse
    from benchtool.trade.marks import substrates_for

    typed = printable(args.mark)
    mark = parse(typed, load_marks())
    if not mark.understood:
        raise Unusable(mark.problems[-1])
    table = means.tables().substrates
    may_be = [table[i] for i in substrates_for(mark, table.values())]
    return Answer(FINE if mark.valid else TROUBLE, mark_values(mark, may_be), lambda: _text(mark, may_be))


def mark_values(mark: "Mark", may_be: "Sequence[Substrate]") -> dict[str, object]:
    """Give a mark as one object."""
    values: dict[str, object] = {
        "mark": mark.text,
        "valid": mark.valid,
        "materials": [
            {"symbol": m.symbol, "name": m.name, "part": m.part.value, "main": m.main, "layer": m.layer}
            for m in mark.materials
        ],
        "fillers": [_filler(f) for f in mark.fillers],
        "additives": [_additive(a) for a in mark.additives],
        "unknown": list(mark.unknown),
        "words": mark.words,
        "problems": list(mark.problems),
        "substrates": [{"id": s.id, "name": s.name} for s in may_be],
    }
    if mark.written:
        values["written"] = mark.written
    if mark.resin is not None:
        values["resin_code"] = mark.resin
    return values


_NOT_SAID = "the mark does not say it"


def _filler(filler: "Filler") -> dict[str, object]:
    values: dict[str, object] = {
        "symbol": filler.symbol,
        "form": filler.form or None,
        "material": filler.material,
        "percent": filler.percent,
        "layer": filler.layer,
    }
    if filler.together is not None:
        values["percent_together"] = filler.together
    if None in values.values():
        values["why"] = _NOT_SAID
    return values


def _additive(additive: "Additive") -> dict[str, object]:
    values: dict[str, object] = {
        "kind": additive.kind.value,
        "symbol": additive.symbol,
        "name": additive.name,
        "layer": additive.layer,
    }
    if additive.kind.value == "recycled":
        values["percent"] = additive.percent
        values |= {"why": _NOT_SAID} if additive.percent is None else {}
    return values


def _text(mark: "Mark", may_be: "Sequence[Substrate]") -> str:
    lines = [mark.words]
    if mark.valid:
        lines.append("It stands as ISO 11469 writes it.")
    else:
        lines += ["It does not stand as ISO 11469 writes it:", *(f"  {problem}" for problem in mark.problems)]
    if may_be:
        lines += ["In the table of materials it may be:", *(f"  {s.name} ({s.id})" for s in may_be)]
    return "\n".join(lines)
