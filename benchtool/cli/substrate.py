"""`benchtool substrate`: what a material is, what holds on it and what harms it, each fact with its source."""

import argparse
from typing import TYPE_CHECKING

from benchtool.cli.common import FINE, Answer, Commands, Means, Parser, Unusable, short

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchtool.rules.finding import Tables
    from benchtool.trade.substrates import Substrate


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    substrate: Parser = commands.add_parser(
        "substrate",
        help="tell what is known of a material, and where each fact comes from",
        description="Tell what is known of a material, and where each fact comes from.",
        epilog=(
            "examples:\n"
            "  benchtool substrate polycarbonate\n"
            "  benchtool substrate '>PC+ABS<'\n"
            "  benchtool substrate old paint\n\n"
            "Words are looked for in the names of the materials; a whole name or a mark is taken as it stands. Where\n"
            "several fit, they are listed.\n"
            "Exit status: 0 fine, 2 no material fits."
        ),
    )
    substrate.add_argument("words", metavar="WORDS", nargs="+", help="its name, a part of it, or what is moulded on it")
    return substrate


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """Tell the facts of the material, or list those that fit."""
    tables = means.tables()
    words = " ".join(args.words)
    found = found_by_words(tables, words)
    if not found:
        raise Unusable(f"No material here is called “{short(words)}”. Try fewer words.")
    if len(found) == 1:
        return Answer(FINE, _one(found[0], tables), lambda: _one_text(found[0], tables))
    return Answer(FINE, _several(found), lambda: _several_text(found))


def found_by_words(tables: "Tables", words: str) -> "Sequence[Substrate]":
    """Give the materials that fit: the one whose id, name or mark this is, else all that the words find."""
    from benchtool.session.materials import find_substrates

    plain = " ".join(words.casefold().split()).strip("<> ")
    every = tables.substrates.values()
    named = [s for s in every if plain in (s.id.casefold(), s.name.casefold())]
    marked = [s for s in every if plain in (symbol.casefold() for symbol in s.symbols)]
    if named or marked:
        return named or marked
    if not any(c.isalnum() for c in words):
        return []
    return [s for s in find_substrates(tables, words) if s.known]


def _one(substrate: "Substrate", tables: "Tables") -> dict[str, object]:
    from benchtool.session import substratewords
    from benchtool.session.materials import substrate_name

    low, high = substrate.surface_energy_mN_m or (None, None)
    coarse, fine = substrate.grit or (None, None)
    return {
        "id": substrate.id,
        "name": substrate_name(substrate),
        "words": substratewords.short(substrate),
        "material": substrate.material.value,
        "flex": substrate.flex.value if substrate.flex is not None else None,
        "refuses_paint": substrate.refuses_paint,
        "moulded": substrate.moulded,
        "symbols": list(substrate.symbols),
        "natures": sorted(nature.value for nature in substrate.natures),
        "surface_energy_least_mN_m": low,
        "surface_energy_most_mN_m": high,
        "routes": [route.value for route in substrate.routes],
        "grit_coarse": coarse,
        "grit_fine": fine,
        "safe": list(substrate.safe),
        "harmful": list(substrate.harmful),
        "heat_limit_degC": substrate.heat_limit_degC,
        "galvanic_V": substrate.galvanic_V,
        "facts": [fact._asdict() for fact in substratewords.facts(substrate, tables)],
        "found": [_brief(substrate)],
        "why": "null where it may be either, where it does not apply, or where nothing is known",
    }


def _several(found: "Sequence[Substrate]") -> dict[str, object]:
    return {"id": None, "facts": None, "found": [_brief(s) for s in found], "why": "several materials fit the words"}


def _brief(substrate: "Substrate") -> dict[str, object]:
    from benchtool.session import substratewords
    from benchtool.session.materials import substrate_name

    return {"id": substrate.id, "name": substrate_name(substrate), "words": substratewords.short(substrate)}


def _one_text(substrate: "Substrate", tables: "Tables") -> str:
    from benchtool.session import substratewords
    from benchtool.session.materials import substrate_name

    lines = [f"{substrate_name(substrate)} ({substrate.id})"]
    for fact in substratewords.facts(substrate, tables):
        lines += ["", f"{fact.label}: {fact.words}", f"    Source: {fact.source}"]
    return "\n".join(lines) + "\n"


def _several_text(found: "Sequence[Substrate]") -> str:
    lines = [f"{len(found)} materials fit. Ask for one by its short name:"]
    wide = max(len(s.id) for s in found)
    lines += [f"  {s['id']:<{wide}}  {s['name']}: {s['words']}" for s in map(_brief, found)]
    return "\n".join(lines) + "\n"
