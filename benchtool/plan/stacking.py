"""The order in which the products of a stack go on: what is offered, what speaks against it, and what is missing."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from benchtool.job.cardchecks import only_over_cycles
from benchtool.job.cards import Card, Duty, Trait
from benchtool.job.events import Face, Piece
from benchtool.plan.stackcost import (
    AT_ANY_TIME,
    SHEET,
    Meets,
    Pairings,
    best_order,
    pairing_of,
    parted,
    trouble_of,
    unmet,
)
from benchtool.trade.saying import say
from benchtool.trade.substrates import Flex, Substrate

__all__ = ["Film", "Kind", "Missing", "Note", "Offer", "best_order", "film", "missing", "notes", "offer", "trouble_of"]

PRACTICE = "common practice, no source"
ENERGY = "published critical surface tensions, PE about 31 and PP about 29-30 mN/m, against 38 and more for what wets"

SHUTS_OUT = frozenset({Duty.SEALER, Duty.PRIMER, Duty.PROMOTER, Duty.FILLER})
"""A sealer is offered under colour and clear only: an undercoat is a barrier itself."""


class Kind(StrEnum):
    """What a note is about."""

    CIRCLE = "cards that wait for each other"
    ONLY_OVER = "what must lie under it"
    PAIRING = "what goes over what"
    ORDER = "the order"
    MIX = "what is mixed in"
    LOOK = "how it looks"
    BARE_COLOUR = "colour over clear"


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """Something to say of an order, with why it is so and where that comes from.

    `place` is the layer that it is about, the first one on being 0, None for the stack as a whole. A `grave` one spoils
    the work, and no waiting helps. `rule` begins the id of the rules that say the same once the stack is planned.
    """

    kind: Kind
    words: str
    why: str
    source: str
    grave: bool = False
    place: int | None = None
    rule: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """A product that would help, and where it goes: under the layer at `place`.

    `ids` are the cards it must be one of; none for any card of this duty.
    """

    duty: Duty | None
    words: str
    why: str
    source: str
    place: int
    ids: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """An order of what was picked. `whole` says that it is the best of all orders; else they went by kind alone."""

    order: tuple[Card, ...]
    notes: tuple[Note, ...]
    missing: tuple[Missing, ...]
    whole: bool


def offer(
    cards: Sequence[Card], piece: Piece, substrate: Substrate, pairings: Pairings, on: Sequence[Card] = ()
) -> Offer:
    """Offer an order of the cards that were picked, on a piece that has the cards `on` on it already.

    It has the least trouble of all orders (see `stackcost`). Where several have as little, those of one kind stay in
    the order in which they were picked; so a stack that is right already is offered as it stands.
    """
    order, whole = best_order(cards, piece, pairings, on)
    return Offer(
        order=order,
        notes=notes(order, piece, pairings, on, offered=whole),
        missing=missing(order, substrate, pairings, on),
        whole=whole,
    )


# --- what speaks against an order --------------------------------------------------------------------


def notes(
    order: Sequence[Card], piece: Piece, pairings: Pairings, on: Sequence[Card] = (), *, offered: bool = False
) -> tuple[Note, ...]:
    """Say what speaks against this order, the gravest first. `offered` says that no other has less against it."""
    found = [
        *_circles(order, on),
        *_met(order, pairings, on, offered=offered),
        *_moved(order, piece, offered=offered),
        *_mixes(order, piece),
        *_looks(order, piece),
        *_over_clear(order, piece, on),
    ]
    return tuple(sorted(found, key=lambda note: not note.grave))


def _circles(order: Sequence[Card], on: Sequence[Card]) -> Iterator[Note]:
    named = {card.id: card.name for card in (*on, *order)}
    for ring in only_over_cycles((*on, *order)):
        yield Note(
            kind=Kind.CIRCLE,
            words=say(
                "These wait for each other by their cards, so none can go on first: {cards}.",
                cards=", ".join(named[i] for i in ring),
            )
            if len(ring) > 1
            else say("{card} may go only over itself by its card, so it can never go on.", card=named[ring[0]]),
            why=say("Each of these cards says that it goes only over the other."),
            source=SHEET,
            grave=True,
            rule="chemistry.only-over",
        )


def _met(order: Sequence[Card], pairings: Pairings, on: Sequence[Card], *, offered: bool) -> Iterator[Note]:
    named = {card.id: card.name for card in (*on, *order)}
    below: Card | None = on[-1] if on else None
    for place, card in enumerate(order):
        pairing = pairing_of(card, below, pairings)
        if unmet(card, below):
            others = say(" or ").join(named.get(i, f"“{i}”") for i in card.only_over)
            yield Note(
                kind=Kind.ONLY_OVER,
                words=say("{card} goes only over {others} by its card.", card=card.name, others=others),
                why=say("Some products are made for one undercoat and hold on no other."),
                source=SHEET,
                grave=True,
                place=place,
                rule="chemistry.only-over",
            )
        elif pairing is not None and below is not None:
            yield _paired(card, below, pairing, place, offered=offered)
        below = card


def _paired(card: Card, below: Card, pairing: Meets, place: int, *, offered: bool) -> Note:
    named = {"over": card.name, "under": below.name, "what": say(pairing.what), "remedy": say(pairing.remedy)}
    words = say("{over} over {under}: {what}. {remedy}", **named)
    if pairing.during == AT_ANY_TIME and offered:
        words += " " + say("No other order of these has less against it.")
    return Note(
        kind=Kind.PAIRING,
        words=words,
        why=say("It is to be feared {during}.", during=say(pairing.during)),
        source=pairing.source,
        grave=pairing.severity == "stop" and pairing.during == AT_ANY_TIME,
        place=place,
        rule="chemistry." if pairing.during == AT_ANY_TIME else "",
    )


def _moved(order: Sequence[Card], piece: Piece, *, offered: bool) -> Iterator[Note]:
    """Say why an order that is offered is not the usual one."""
    for over, under in parted(order, piece) if offered else ():
        yield Note(
            kind=Kind.ORDER,
            words=say("{over} goes over {under} here: the usual order has more against it.", over=over, under=under),
            why=say("A barrier, or a card that asks for it, goes before the usual order."),
            source=PRACTICE,
        )


def _mixes(order: Sequence[Card], piece: Piece) -> Iterator[Note]:
    for place, card in enumerate(order):
        if card.activators and not any(a.suits.suits(piece.flex) for a in card.activators):
            yield Note(
                kind=Kind.MIX,
                words=say("{card} has no activator for a rigid piece: take another product.", card=card.name)
                if piece.flex is Flex.RIGID
                else say("{card} has no activator for a flexible piece: take another product.", card=card.name),
                why=say("An activator for rigid panels cracks on a part that bends; one for those stays too soft."),
                source=PRACTICE,
                grave=True,
                place=place,
                rule="promoter.activator-type",
            )


def _looks(order: Sequence[Card], piece: Piece) -> Iterator[Note]:
    if piece.face is not Face.BEHIND_CLEAR:
        return
    for place, card in enumerate(order):
        if card.duty is Duty.PROMOTER and Trait.TRANSLUCENT not in card.traits:
            yield Note(
                kind=Kind.LOOK,
                words=say("{card} lies between the shell and the colours: it must dry clear.", card=card.name),
                why=say("Behind a clear shell whatever goes on first is what shows."),
                source=PRACTICE,
                place=place,
            )


def _over_clear(order: Sequence[Card], piece: Piece, on: Sequence[Card]) -> Iterator[Note]:
    """Say of the first colour that goes over clear, seen from outside, that no clear goes over it again."""
    if piece.face is Face.BEHIND_CLEAR:
        return
    clear = next((c for c in on if c.duty is Duty.CLEAR), None)
    for place, card in enumerate(order):
        if card.duty is Duty.CLEAR:
            clear = card
        elif card.duty is Duty.BASE and clear and not any(c.duty is Duty.CLEAR for c in order[place:]):
            yield Note(
                kind=Kind.BARE_COLOUR,
                words=say("{card} lies over {clear}, and no clear goes over it.", card=card.name, clear=clear.name),
                why=say("Colour over clear holds only where the clear was abraded, and nothing protects it."),
                source=PRACTICE,
                place=place,
            )
            return


# --- what is missing -----------------------------------------------------------------------------------


def missing(
    order: Sequence[Card], substrate: Substrate, pairings: Pairings, on: Sequence[Card] = ()
) -> tuple[Missing, ...]:
    """Say what would help this order: a promoter, a sealer between two, what a card asks for under it."""
    found: list[Missing] = []
    if substrate.refuses_paint and not any(c.duty is Duty.PROMOTER for c in (*on, *order)) and order and not on:
        found.append(
            Missing(
                duty=Duty.PROMOTER,
                words=say("A promoter under it all: paint does not hold on {material}.", material=substrate.name),
                why=say("A material of low surface energy is hardly wetted: paint lies on it and peels off."),
                source=ENERGY,
                place=0,
            )
        )
    below: Card | None = on[-1] if on else None
    for place, card in enumerate(order):
        pairing = pairing_of(card, below, pairings)
        if unmet(card, below):
            found.append(
                Missing(
                    duty=None,
                    words=say("What {card} asks for under it.", card=card.name),
                    why=say("Some products are made for one undercoat and hold on no other."),
                    source=SHEET,
                    place=place,
                    ids=card.only_over,
                )
            )
        elif pairing is not None and below is not None and _wants_barrier(card, pairing):
            clear = card.duty is Duty.CLEAR
            found.append(
                Missing(
                    duty=Duty.SEALER,
                    words=say("A sealer that dries clear between {under} and {over}.", under=below.name, over=card.name)
                    if clear
                    else say("A sealer between {under} and {over}.", under=below.name, over=card.name),
                    why=say("It keeps the solvent of the one from the other, where its card allows both."),
                    source=pairing.source,
                    place=place,
                )
            )
        below = card
    return tuple(found)


def _wants_barrier(card: Card, pairing: Meets) -> bool:
    """Say whether a sealer is worth a word: not where a wait mends what is no more than a caution."""
    graver = pairing.severity == "stop" or pairing.during == AT_ANY_TIME
    return graver and pairing.barrier and card.duty not in SHUTS_OUT


# --- film ----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Coated:
    """A layer to reckon with: its card, its coats, and the dry film of one coat where that was measured."""

    card: Card
    coats: int
    measured_um: float | None = None


Range = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Film:
    """The dry film (um), from least to most: of each layer, None where nothing tells, and of all that is known."""

    layers: tuple[Range | None, ...]

    @property
    def total_um(self) -> Range:
        """The sum of what is known; `whole` says whether that is all."""
        known = [x for x in self.layers if x is not None]
        return sum(low for low, _ in known), sum(high for _, high in known)

    @property
    def whole(self) -> bool:
        """Whether the film of every layer is known."""
        return all(x is not None for x in self.layers)


def film(layers: Sequence[Coated]) -> Film:
    """Give the dry film of layers: what was measured, else by the card a coat, else no more than the card allows."""
    return Film(layers=tuple(_film(layer) for layer in layers))


def _film(layer: Coated) -> Range | None:
    each = layer.measured_um if layer.measured_um is not None else layer.card.film_um
    if each is not None:
        return each * layer.coats, each * layer.coats
    return (0.0, layer.card.film_most_um) if layer.card.film_most_um is not None else None
