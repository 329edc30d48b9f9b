"""The facts of a material in plain sentences, each with where it comes from: one telling for window and command."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from benchtool.job.cards import Hazard
from benchtool.rules.finding import Tables
from benchtool.trade.numbers import figure
from benchtool.trade.saying import say
from benchtool.trade.substrates import DAMP_V, Flex, Material, Nature, Route, Substrate

WETS_WELL_mN_m = 38
"""From what surface energy most paint wets: its own surface tension, near 28, and 8-10 more.

Source of the 8-10: the rule on the page “Surface Energies of Polymers”; of the 28: from memory.
"""

_INDUSTRY = frozenset({Route.FLAME, Route.PLASMA})
_BURNS_SKIN = frozenset({"alkaline", "acid-wash"})


class Fact(NamedTuple):
    """One fact: what it is about, the sentence, and its source."""

    label: str
    words: str
    source: str


def facts(substrate: Substrate, tables: Tables) -> tuple[Fact, ...]:
    """Give what is known of a material, in the order in which a painter asks; what is not known is left out."""
    return tuple(_facts(substrate, tables))


def short(substrate: Substrate) -> str:
    """Say in one line what matters most of a material."""
    if not substrate.known:
        return say("prove it on a test strip first")
    parts = [_bends(substrate)]
    if Nature.NOTHING_HOLDS in substrate.natures:
        parts.append(say("nothing holds on it"))
    elif substrate.refuses_paint:
        promoted = Route.PROMOTER in substrate.routes
        parts.append(say("needs a promoter") if promoted else say("paint does not wet it"))
    if Nature.STRESS_CRACKS in substrate.natures:
        parts.append(say("solvent can crack it"))
    elif Nature.SOFTENS in substrate.natures:
        parts.append(say("solvent softens it"))
    if Nature.MAY_HOLD_LEAD in substrate.natures:
        parts.append(say("may hold lead"))
    return ", ".join(parts)


def _facts(substrate: Substrate, tables: Tables) -> Iterator[Fact]:
    sources = substrate.sources
    yield Fact(say("It is"), _kind(substrate), substrate.source)
    if substrate.symbols:
        marks = ", ".join(f">{symbol}<" for symbol in substrate.symbols)
        yield Fact(say("Its mark"), marks, sources.get("symbols", ""))
    if substrate.natures:
        told = " ".join(_nature(nature) for nature in Nature if nature in substrate.natures)
        yield Fact(say("Its nature"), told, sources.get("natures", ""))
    if substrate.surface_energy_mN_m is not None:
        yield Fact(say("Its surface"), _surface(*substrate.surface_energy_mN_m), sources.get("surface_energy_mN_m", ""))
    if substrate.routes or "routes" in sources:
        yield Fact(say("What holds"), _holds(substrate), sources.get("routes", ""))
    if substrate.grit is not None:
        coarse, fine = substrate.grit
        yield Fact(say("Abrade with"), say("P{coarse} to P{fine}.", coarse=coarse, fine=fine), sources.get("grit", ""))
    yield from _cleaning(substrate, tables)
    if substrate.heat_limit_degC is not None:
        degC = substrate.heat_limit_degC
        words = say("No warmer than {c} °C ({f} °F).", c=figure(degC), f=figure(round(degC * 9 / 5 + 32)))
        yield Fact(say("Heat"), words, sources.get("heat_limit_degC", ""))
    if substrate.galvanic_V is not None:
        yield Fact(say("Beside metal"), _beside_metal(substrate.galvanic_V), sources.get("galvanic_V", ""))
    if substrate.moisture:
        yield Fact(say("Water"), say(substrate.moisture), sources.get("moisture", ""))
    if substrate.note:
        yield Fact(say("Mind"), say(substrate.note), sources.get("note", ""))
    yield from _cautions(substrate, tables)


def _kind(substrate: Substrate) -> str:
    if not substrate.known:
        return say("Nobody knows what it is: prove what holds on a test strip.")
    kind = say("{material}, {bends}.", material=_material(substrate.material), bends=_bends(substrate))
    if substrate.refuses_paint:
        promoted = Route.PROMOTER in substrate.routes
        wets_not = say("Paint does not wet it.")
        kind += " " + (say("Paint does not wet it: it needs a promoter.") if promoted else wets_not)
    if substrate.moulded:
        kind += " " + say("It comes out of a mould: wash the release agent off.")
    return kind


def _bends(substrate: Substrate) -> str:
    if substrate.flex is None:
        return say("rigid or flexible")
    return say("rigid") if substrate.flex is Flex.RIGID else say("flexible")


def _material(material: Material) -> str:
    return {
        Material.METAL: say("Metal"),
        Material.PAINT: say("Old paint"),
        Material.PLASTIC: say("Plastic"),
        Material.RUBBER: say("Rubber"),
        Material.COMPOSITE: say("Fibre or filler in resin"),
        Material.WOOD: say("Wood"),
        Material.GLASS: say("Glass or glaze"),
        Material.LEATHER: say("Leather or its like"),
        Material.UNKNOWN: say("Unknown"),
    }[material]


def _nature(nature: Nature) -> str:
    return {
        Nature.ZINC: say("Its face is zinc."),
        Nature.OXIDISES: say("Bare, it oxidises: rust, tarnish or a dull skin."),
        Nature.POROUS: say("It is porous."),
        Nature.TAKES_UP_WATER: say("It takes up water."),
        Nature.PLASTICISER: say("Oil or plasticiser comes to its face."),
        Nature.NOTHING_HOLDS: say("Nothing is known to hold on it."),
        Nature.CAN_BE_CLEAR: say("It can be clear."),
        Nature.STRESS_CRACKS: say("Solvent can crack it where it is under stress."),
        Nature.SOFTENS: say("Strong solvent softens it."),
        Nature.MAY_HOLD_LEAD: say("Old layers may hold lead or chromate."),
    }[nature]


def _surface(low: float, high: float) -> str:
    if low == high:
        return say("{n} mN/m; most paint wets well from about {well}.", n=figure(low), well=WETS_WELL_mN_m)
    least, most = figure(low), figure(high)
    return say("{least} to {most} mN/m; most paint wets well from about {well}.", least=least, most=most,
               well=WETS_WELL_mN_m)  # fmt: skip


def _holds(substrate: Substrate) -> str:
    ways = {
        Route.TOOTH: say("tooth (abrade it)"),
        Route.PROMOTER: say("an adhesion promoter"),
        Route.PRIMER: say("a primer made for it"),
        Route.FLAME: say("flame"),
        Route.PLASMA: say("plasma or corona"),
    }
    bench = [ways[route] for route in substrate.routes if route not in _INDUSTRY]
    industry = [ways[route] for route in substrate.routes if route in _INDUSTRY]
    if not substrate.known:
        return say("Nobody can say.")
    if not bench:
        words = say("Nothing is known to hold on it at a bench.")
    elif len(bench) == 1:
        words = say("Best: {way}.", way=bench[0])
    else:
        words = say("Best first, often together: {ways}.", ways=", ".join(bench))
    if industry:
        words += " " + say("Industry also uses {ways}: not at a bench.", ways=", ".join(industry))
    return words


def _cleaning(substrate: Substrate, tables: Tables) -> Iterator[Fact]:
    if substrate.safe:
        words = say("{cleaners}. Try it first where it does not show.", cleaners=_names(substrate.safe, tables))
        yield Fact(say("Clean with"), words[:1].upper() + words[1:], substrate.sources.get("safe", ""))
    if substrate.harmful:
        words = say("It is harmed by {cleaners}.", cleaners=_names(substrate.harmful, tables))
        yield Fact(say("Keep away"), words, substrate.sources.get("harmful", ""))


def _names(cleaners: Sequence[str], tables: Tables) -> str:
    named = [tables.cleaners.get(cleaner) for cleaner in cleaners]
    return "; ".join(known.name if known else cleaner for cleaner, known in zip(cleaners, named, strict=True))


def _beside_metal(volts: float) -> str:
    apart = figure(DAMP_V)
    return say(
        "Anodic index {v} V. In the wet, keep it from touching a metal more than {apart} V away: the lower corrodes.",
        v=f"{volts:.2f}",
        apart=apart,
    )


def _cautions(substrate: Substrate, tables: Tables) -> Iterator[Fact]:
    """Yield the usual cautions where the facts above lead to what can hurt."""
    decides = say("the product's safety data sheet and local rules decide")
    if Nature.MAY_HOLD_LEAD in substrate.natures and (text := tables.cautions.get(Hazard.DUST)):
        yield Fact(say("Take care"), text, decides)
    if _BURNS_SKIN & set(substrate.safe):
        yield Fact(say("Take care"), say("Acid and alkaline cleaners burn skin and eyes: goggles and gloves."), decides)
    burns = any(known.flammable for each in substrate.safe if (known := tables.cleaners.get(each)))
    if burns and (text := tables.cautions.get(Hazard.SOLVENT)):
        yield Fact(say("Take care"), text, decides)
