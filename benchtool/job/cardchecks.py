"""Whether the values of a product card agree with each other: what a slip of the pen leaves behind.

`validate.card_faults` refuses what can't be; here stand values that are right by themselves and odd together. Nothing
here stops anybody: a sheet may be odd, and the painter has it in hand. Each check names its source, or says that it is
common practice.
"""

from collections.abc import Callable, Iterable, Iterator

from benchtool.job.cardcontents import contents_checks
from benchtool.job.cardpaces import EvaporationPacing
from benchtool.job.cards import Card, Carrier, Chemistry, Hazard, Reduction, Trait
from benchtool.job.cardsaid import CardCheck
from benchtool.job.cardwaits import wait_checks
from benchtool.trade.flow import NotAFlowCup, OutOfRange, read_cup
from benchtool.trade.mixing import NotAShare, Of, Share, parse_share
from benchtool.trade.numbers import figure
from benchtool.trade.saying import say, say_n

__all__ = ["CardCheck", "card_checks", "only_over_cycles"]

BAKE_DEGC = 90.0
"""From here on it is a bake and no forced dry of air-dried paint: coating rules of US air districts and states define
“air-dried” as dried below 90 °C (194 °F)."""
MOST_REDUCED = 3.0
"""Times the base that a reduction may reach before it is asked about: airbrush sheets reach 2 (common practice)."""
LEAST_ACTIVATOR = 0.005
"""Least share of an activator that is let pass: peroxide pastes go in at 1 to 4 % (common practice, no source)."""


def card_checks(card: Card) -> Iterator[CardCheck]:
    """Give what of a card does not agree with the rest of it, in the order a painter meets it."""
    yield from _kind(card)
    yield from _mixing(card)
    yield from wait_checks(card)
    yield from _films(card)
    yield from _heat_and_air(card)
    yield from contents_checks(card)
    yield from _flow(card)
    yield from _hazards(card)
    if card.id in card.only_over:
        yield CardCheck(".only_over", say("It may go only over itself: then it can never be begun."), severe=True)


# --- what kind of product it is --------------------------------------------------------------------


def _kind(card: Card) -> Iterator[CardCheck]:
    """Common practice, no source, but for the words of `Chemistry` themselves."""
    if card.chemistry is Chemistry.ACRYLIC and card.carrier is Carrier.SOLVENT:
        said = say("A waterborne acrylic has water to lose, and this card says solvent.")
        yield CardCheck(".carrier", said, severe=True)
    if card.carrier is Carrier.WATER and card.fast_solvent:
        said = say("Water is what leaves it: it has no fast solvent that blushes.")
        yield CardCheck(".fast_solvent", said)
    if card.carrier is Carrier.WATER and Trait.STRONG_SOLVENT in card.traits:
        said = say("Water is what leaves it, and it is said to have a strong solvent: look again.")
        yield CardCheck(".traits", said)
    if {Trait.BRITTLE, Trait.FLEXIBLE} <= set(card.traits):
        yield CardCheck(".traits", say("It can't be brittle and flexible."), severe=True)
    if card.chemistry in (Chemistry.EPOXY, Chemistry.POLYESTER) and not card.two_part:
        said = say("An {resin} of this trade has a second part: is it left out here?", resin=card.chemistry.value)
        if card.chemistry is Chemistry.POLYESTER:
            said = say("A polyester of this trade has a second part, its peroxide: is it left out here?")
        yield CardCheck(".two_part", said)


# --- mixing ----------------------------------------------------------------------------------------


def _share(text: str) -> Share | None:
    try:
        return parse_share(text)
    except NotAShare:
        return None


def _times_base(text: str) -> float | None:
    """How many times the base a share is, None where it is of something else."""
    share = _share(text)
    if share is None:
        return None
    if share.of is Of.PARTS:
        return share.value / 100  # a card counts 100 parts of base
    return share.value if share.of in (Of.BASE, Of.ACTIVATED) else None


def _mixing(card: Card) -> Iterator[CardCheck]:
    """Common practice, no source."""
    if card.two_part and not card.activators:
        yield CardCheck(".activators", say("It is two-part and names no activator."), severe=True)
    if card.activators and not card.two_part:
        yield CardCheck(".two_part", say("It names an activator and is said to be one-part."), severe=True)
    for i, activator in enumerate(card.activators):
        times = _times_base(activator.share)
        if times is not None and times > 2:
            said = say("More than twice as much activator as base: is the ratio the wrong way round?")
            yield CardCheck(f".activators[{i}].share", said)
        elif times is not None and times < LEAST_ACTIVATOR:
            said = say("So little activator can hardly be measured: is the ratio right?")
            yield CardCheck(f".activators[{i}].share", said)
    for i, additive in enumerate(card.additives):
        times = _times_base(additive.share)
        if times is not None and times > 1:
            said = say("More of the additive than of the base: is the share right?")
            yield CardCheck(f".additives[{i}].share", said)
    for i, reduction in enumerate(card.reductions):
        yield from _reduced(i, reduction)


def _reduced(i: int, reduction: Reduction) -> Iterator[CardCheck]:
    least, usual, most = (_share(text) for text in (reduction.least, reduction.usual, reduction.most))
    for name, low, high in (("usual", least, usual), ("most", usual, most)):
        if low is None or high is None or (low.of, low.named, low.by_weight) != (high.of, high.named, high.by_weight):
            continue
        if high.value < low.value:
            said = say("It is less than the one before it.")
            yield CardCheck(f".reductions[{i}].{name}", said, severe=True)
    times = _times_base(reduction.most)
    if times is not None and times > MOST_REDUCED:
        said = say("That is {times} times as much reducer as paint: is it right?", times=figure(times))
        yield CardCheck(f".reductions[{i}].most", said)


# --- film, heat, air -------------------------------------------------------------------------------


def _films(card: Card) -> Iterator[CardCheck]:
    most, coat = card.film_most_um, card.film_um
    if most is None or coat is None:
        return
    for count, field, severe in ((card.coats_least, ".film_most_um", True), (card.coats_most, ".coats_most", False)):
        if count * coat > most * 1.05:  # sheets round both
            said = say_n(
                "{n} coat of {coat} µm is {all} µm, and the whole layer is {most} µm at most.",
                "{n} coats of {coat} µm are {all} µm, and the whole layer is {most} µm at most.",
                count,
                coat=figure(coat),
                all=figure(count * coat),
                most=figure(most),
            )
            yield CardCheck(field, said, severe=severe)
            return


def _heat_and_air(card: Card) -> Iterator[CardCheck]:
    for time, dry in card.forced.items():
        if dry.degC > BAKE_DEGC:
            said = say(
                "{degC} °C is a bake for bare metal: plastic, filler and old paint won't stand it.",
                degC=figure(dry.degC),
            )
            yield CardCheck(f'.forced["{time.value}"].degC', said)
    air = card.air
    if air is None:
        return
    for time, pacing in card.paces.items():
        cold = air.least_degC is not None and pacing.reference_degC < air.least_degC
        hot = air.most_degC is not None and pacing.reference_degC > air.most_degC
        if cold or hot:
            said = say("Its times hold at {degC} °C, where it may not be sprayed.", degC=figure(pacing.reference_degC))
            yield CardCheck(f'.paces["{time.value}"]', said)
        damp = isinstance(pacing, EvaporationPacing) and air.most_percent is not None
        if damp and isinstance(pacing, EvaporationPacing) and pacing.reference_percent > (air.most_percent or 100):
            said = say(
                "Its times hold at {n} % humidity, where it may not be sprayed.", n=figure(pacing.reference_percent)
            )
            yield CardCheck(f'.paces["{time.value}"]', said)


# --- flow cup, hazards -----------------------------------------------------------------------------


def _flow(card: Card) -> Iterator[CardCheck]:
    """The ranges of the cups' own standards (trade/flow). A sheet's seconds below a range are common, and let pass."""
    for i, reduction in enumerate(card.reductions):
        if reduction.flow_s is None or reduction.flow_cup is None:
            continue
        try:
            cup = read_cup(reduction.flow_cup)
            cup.viscosity(reduction.flow_s, strict=reduction.flow_s > cup.longest_s)
        except NotAFlowCup:
            continue  # that is a fault of the card
        except OutOfRange as wrong:
            yield CardCheck(f".reductions[{i}].flow_s", str(wrong))


_Say = Callable[[], str]
_NAMED: tuple[tuple[Hazard, bool, _Say], ...] = (
    (
        Hazard.ISOCYANATES,
        True,
        lambda: say(
            "The hardener of a two-part urethane nearly always holds isocyanates: look at its safety data sheet."
        ),
    ),
    (
        Hazard.EPOXY,
        False,
        lambda: say("It is an epoxy: its resin can sensitise the skin. Look at its safety data sheet."),
    ),
    (
        Hazard.PEROXIDE,
        False,
        lambda: say("A polyester is set off by a peroxide: look at the hardener's safety data sheet."),
    ),
    (Hazard.ACID, False, lambda: say("An etch primer holds acid: look at its safety data sheet.")),
    (Hazard.UV_LAMP, False, lambda: say("A UV lamp cures it, and harms eyes and skin: name that here.")),
    (
        Hazard.OILY_RAGS,
        False,
        lambda: say("Rags with drying oil or alkyd can heat up and catch fire: look at its safety data sheet."),
    ),
    (
        Hazard.SOLVENT,
        False,
        lambda: say("Solvent leaves it, and solvent vapour is not named: look at its safety data sheet."),
    ),
)


def _hazards(card: Card) -> Iterator[CardCheck]:
    """Say which hazard of such a product the card does not name.

    Isocyanates: UK HSE, motor vehicle repair (“water-based does not mean isocyanate-free”). Epoxy: HSE, resins as skin
    sensitisers. Rags: NFPA 33, spontaneous heating. The rest is in the name of the product.
    """
    due = {
        Hazard.ISOCYANATES: card.chemistry is Chemistry.URETHANE and card.two_part,
        Hazard.EPOXY: card.chemistry is Chemistry.EPOXY,
        Hazard.PEROXIDE: card.chemistry is Chemistry.POLYESTER and card.two_part,
        Hazard.ACID: card.chemistry is Chemistry.ETCH,
        Hazard.UV_LAMP: card.chemistry is Chemistry.UV,
        Hazard.OILY_RAGS: card.chemistry is Chemistry.ENAMEL
        and card.carrier is not Carrier.WATER
        and not card.two_part,
        Hazard.SOLVENT: card.carrier is Carrier.SOLVENT,
    }
    for hazard, severe, message in _NAMED:
        if due[hazard] and hazard not in card.hazards:
            yield CardCheck(".hazards", message(), severe=severe)


# --- several cards ---------------------------------------------------------------------------------


def only_over_cycles(cards: Iterable[Card]) -> tuple[tuple[str, ...], ...]:
    """Give the rings of cards, by id, that wait for each other: each may go only over the next, so none can be begun.

    A card that may also go over one outside the ring is no part of it, nor one whose card is not among these.
    Each ring begins with its first id; the rings are in order.
    """
    over = {card.id: card.only_over for card in cards}
    free = {card_id for card_id, under in over.items() if not under or any(other not in over for other in under)}
    waiting = {card_id: under for card_id, under in over.items() if card_id not in free}
    while freed := {card_id for card_id, under in waiting.items() if any(other in free for other in under)}:
        free |= freed
        waiting = {card_id: under for card_id, under in waiting.items() if card_id not in freed}
    rings: set[tuple[str, ...]] = set()
    for start in waiting:
        path = [start]
        while (beneath := waiting[path[-1]][0]) not in path:
            path.append(beneath)
        ring = path[path.index(beneath) :]
        first = ring.index(min(ring))
        rings.add((*ring[first:], *ring[:first]))
    return tuple(sorted(rings))
