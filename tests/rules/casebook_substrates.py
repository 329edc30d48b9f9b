"""Sound work on every material of the table, made of what the table itself says of it."""

from typing import NamedTuple

from rules.casebook import TABLES

from benchtool.trade.substrates import FEPA_P, Flex, Material, Nature, Route, Substrate

SOLVENTS = frozenset(c.id for c in TABLES.cleaners.values() if c.flammable)
BENCH = (Route.PROMOTER, Route.PRIMER, Route.TOOTH)

WATERBORNE = frozenset({"leather", "ps-e"})
"""What is painted waterborne all through (common practice; any solvent eats foam)."""

PRIMERS = {
    Material.METAL: "epoxy",
    Material.GLASS: "glassprimer",
    Material.LEATHER: "leatherprimer",
    Material.WOOD: "sealer",
    Material.PAINT: "sealer",
}
"""The usual first layer where a material wants one (common practice, no source)."""


class Sound(NamedTuple):
    """A material as one of its pieces is painted: what stands in the shorthand of the case book."""

    what: str
    piece: str
    stack: str
    prep: str


def sounds() -> tuple[Sound, ...]:
    """Give every material, rigid and flexible as it may be, from outside and, where it can be clear, from behind."""
    found = []
    for substrate in TABLES.substrates.values():
        for flex in (Flex.RIGID, Flex.FLEXIBLE) if substrate.flex is None else (substrate.flex,):
            found.append(_outside(substrate, flex))
            if Nature.CAN_BE_CLEAR in substrate.natures:
                found.append(_behind(substrate, flex))
    return tuple(found)


def hopeless(substrate: Substrate) -> bool:
    """Say whether no route of a shop makes paint hold on it, or nobody knows what it is: then a strip has to hold."""
    return not set(BENCH) & set(substrate.routes)


def _outside(substrate: Substrate, flex: Flex) -> Sound:
    bends = flex is Flex.FLEXIBLE
    top = "base:2 clear+flex:2" if bends else "base:2 clear:2"
    if Nature.PLASTICISER in substrate.natures:
        top = "vinyl:3"
    elif substrate.id in WATERBORNE:
        top = "waterflex:3" if bends else "water:2 waterclear:2"
    return Sound(
        f"{substrate.id}, {flex.value}",
        f"{substrate.id} {flex.value}" + ("" if substrate.known else " unknown"),
        f"{_first(substrate, flex)} {top}",
        _prep(substrate, behind=False),
    )


def _behind(substrate: Substrate, flex: Flex) -> Sound:
    """Details first, backing last: in waterborne paint, which harms no clear shell."""
    first = "glassprimer " if substrate.material is Material.GLASS else ""
    return Sound(
        f"{substrate.id}, {flex.value}, behind clear",
        f"{substrate.id} {flex.value} behind",
        f"{first}waterflex:2 waterflex#2:2",
        _prep(substrate, behind=True),
    )


def _first(substrate: Substrate, flex: Flex) -> str:
    """Give the first layer by the best route of those that a shop has; soft vinyl and foam have their own."""
    route = next((r for r in substrate.routes if r in BENCH), None)
    if substrate.material in PRIMERS and (route is Route.PRIMER or substrate.material is not Material.LEATHER):
        return PRIMERS[substrate.material]
    if Nature.PLASTICISER in substrate.natures:
        return "vinylprep"
    if substrate.id == "ps-e":
        return "waterprimer"
    if route is Route.PROMOTER or substrate.refuses_paint:
        return "promoter"
    return "flexprimer" if flex is Flex.FLEXIBLE else "primer"


def _prep(substrate: Substrate, *, behind: bool) -> str:
    wet = next((c for c in substrate.safe if c not in SOLVENTS and c != "release-wash"), None)
    wipe = next((c for c in substrate.safe if c in SOLVENTS), None)
    clean = f"degrease={wipe}" if wipe else f"wash={wet}"
    words = ["release"] if substrate.moulded else [clean]
    if Nature.TAKES_UP_WATER in substrate.natures:
        words.append("dry")
    if hopeless(substrate):
        words.insert(0, "held")
    if substrate.grit is not None and not behind:
        coarse, fine = substrate.grit
        inside = [grade for grade in FEPA_P if coarse <= grade <= fine]
        words += [f"abrade@{inside[len(inside) // 2]}", clean]
    elif Route.TOOTH in substrate.routes and not behind:
        words += ["scuff", clean]
    return " ".join([*words, "tack"])
