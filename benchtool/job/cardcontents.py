"""Whether what a card says of a litre of its parts can be so: densities, solids by volume, what evaporates."""

from collections.abc import Iterator

from benchtool.job.cards import Card, Carrier, Trait, Voc
from benchtool.job.cardsaid import CardCheck
from benchtool.trade.numbers import figure
from benchtool.trade.saying import say

COATING_G_ML = (0.7, 2.5)
"""A paint weighs 0.79 (varnish) to 1.26 g/mL (epoxy primer): EPA AP-42, typical densities of coatings, from memory;
fillers full of chalk and talc some 2 (common practice, no source)."""
ZINC_G_ML = 4.0
"""A zinc-rich primer may weigh 3.4 g/mL: 28.6 lb/gal in a resin maker's published starting formulation."""
PART_G_ML = (0.6, 2.0)
"""An activator or a reducer: from the lightest hydrocarbon (0.66) to a paste or a chlorinated solvent (common
practice, no source)."""
LB_GAL = 0.1198264
"""g/mL of 1 lb/US gal: 453.59237 g in 3785.411784 mL, NIST Handbook 44 appendix C."""
SOLVENT_G_ML = (0.78, 1.0)
"""The solvents of paint, from ketones and light hydrocarbons to glycol ethers; 0.882 (7.36 lb/gal) is what
30 TAC 115.423 and 5 CCR 1001-29 appendix E take for all of them."""
NEAR_PERCENT = 12.0
"""How far solids by volume may be off what is left beside the volatiles before it is said: mixing shrinks or swells,
and sheets round (judgement)."""
SOLIDS_G_ML = (0.85, 4.6)
"""Dry paint, from the lightest resin (polyolefin, 0.9) to one full of titanium dioxide (4.2): handbook densities,
from memory."""
ZINC_SOLIDS_G_ML = 7.2
"""Zinc itself, 7.14 g/mL."""
LEAST_HIGH_SOLIDS = 35.0
"""Below this nobody calls it high solids (judgement; sheets say so from 45 or 60 % on)."""
MOST_OF_NOTHING = 150.0
"""g/L of VOC from which on something does leave a film (judgement)."""
WATER_G_ML = 0.998


def contents_checks(card: Card) -> Iterator[CardCheck]:
    """Give what of densities, solids and contents does not agree."""
    yield from _densities(card)
    yield from _volatiles(card)
    yield from _solids(card)


def _paint_g_mL(card: Card) -> tuple[float, float]:
    low, high = COATING_G_ML
    return low, ZINC_G_ML if Trait.ZINC_RICH in card.traits else high


def _densities(card: Card) -> Iterator[CardCheck]:
    low, high = _paint_g_mL(card)
    parts = [(".density_g_mL", card.density_g_mL, low, high)]
    parts += [(f".activators[{i}].density_g_mL", a.density_g_mL, *PART_G_ML) for i, a in enumerate(card.activators)]
    parts += [(f".additives[{i}].density_g_mL", a.density_g_mL, *PART_G_ML) for i, a in enumerate(card.additives)]
    parts.append((".reducer_density_g_mL", card.reducer_density_g_mL, *PART_G_ML))
    for path, found, least, most in parts:
        if found is None or least <= found <= most:
            continue
        said = say("No such product weighs {n} g/mL.", n=figure(found))
        if low <= found * LB_GAL <= most:
            said = say(
                "No such product weighs {n} g/mL: if that is lb/gal, write {right}.",
                n=figure(found),
                right=figure(found * LB_GAL),
            )
        yield CardCheck(path, said, severe=True)


def _volatiles(card: Card) -> Iterator[CardCheck]:
    voc = card.voc
    if voc is None:
        return
    leaves = voc.voc_g_L + voc.exempt_g_L
    if card.carrier is Carrier.WATER and voc.voc_g_L > 0 and voc.water_g_L == 0:
        yield CardCheck(
            ".voc", say("It is waterborne, and no water is given: the VOC less water will come out too low.")
        )
    elif card.carrier is Carrier.WATER and voc.voc_g_L > voc.water_g_L > 0:
        yield CardCheck(".voc", say("There is more solvent in it than water: is it waterborne?"))
    elif card.carrier is Carrier.SOLVENT and leaves == 0:
        yield CardCheck(".voc", say("Solvent is what leaves it, and there is none in it."))
    elif card.carrier is Carrier.NONE and leaves + voc.water_g_L > MOST_OF_NOTHING:
        yield CardCheck(".voc", say("Nothing is said to leave it, and {n} g/L do.", n=figure(leaves + voc.water_g_L)))


def _solids(card: Card) -> Iterator[CardCheck]:
    solids = card.solids_percent
    if solids is None:
        return
    if Trait.HIGH_SOLIDS in card.traits and solids < LEAST_HIGH_SOLIDS:
        yield CardCheck(".solids_percent", say("High solids, and {n} % of it: look again.", n=figure(solids)))
    if card.voc is None or (card.carrier is Carrier.WATER and card.voc.water_g_L == 0):
        return
    (least, most), (low, high) = _left(card.voc), _paint_g_mL(card)
    if not least - NEAR_PERCENT <= solids <= most + NEAR_PERCENT:
        said = say(
            "Beside what evaporates there is room for {left} % of solids, and {n} % is given: by volume, or by weight?",
            left=_about(least, most),
            n=figure(solids),
        )
        yield CardCheck(".solids_percent", said)
    elif card.density_g_mL is not None and low <= card.density_g_mL <= high:
        yield from _dry_density(card, card.voc, card.density_g_mL, solids)


def _left(voc: Voc) -> tuple[float, float]:
    """The percentage by volume that solids may fill, with light and with heavy solvents in it."""
    light, heavy = SOLVENT_G_ML
    exempt = voc.exempt_g_L / 1_000 / (voc.exempt_density_g_mL or heavy)
    rest = 1 - voc.water_g_L / 1_000 / WATER_G_ML - exempt
    return max(0.0, 100 * (rest - voc.voc_g_L / 1_000 / light)), max(0.0, 100 * (rest - voc.voc_g_L / 1_000 / heavy))


def _about(least: float, most: float) -> str:
    low, high = figure(round(least)), figure(round(most))
    return low if low == high else say("{low} to {high}", low=low, high=high)


def _dry_density(card: Card, voc: Voc, density_g_mL: float, solids: float) -> Iterator[CardCheck]:
    mass = density_g_mL - (voc.voc_g_L + voc.water_g_L + voc.exempt_g_L) / 1_000
    dry = mass / (solids / 100)
    most = ZINC_SOLIDS_G_ML if Trait.ZINC_RICH in card.traits else SOLIDS_G_ML[1]
    # what is rounded counts most where there is little of it: no more is said than the figures can carry
    slack = 0.03 / (solids / 100)
    if dry + slack < SOLIDS_G_ML[0] or dry - slack > most:
        said = say(
            "By density, VOC and solids the dry film would weigh {n} g/mL, which none does: one of the three is off.",
            n=figure(max(dry, 0.0), 2),
        )
        yield CardCheck(".density_g_mL", said)
