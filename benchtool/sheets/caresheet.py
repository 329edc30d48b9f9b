"""The care sheet: one page for the customer, of when a piece may be used, how to look after it, what to repair it with.

It holds nothing of the shop's: no notes, prices, findings or waivers. What it says of washing and keeping is common
practice, no source; its times are those of `job.care`.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta, tzinfo

from benchtool.job.cards import Activator, Card, Carrier, Hazard
from benchtool.job.care import Use, care_times
from benchtool.job.events import Face
from benchtool.job.record import Job
from benchtool.job.state import LayerState, PieceState, State
from benchtool.job.trialproof import activators_of
from benchtool.rules.finding import Tables
from benchtool.sheets.blocks import Block, Caution, Grid, Heading, Sheet, Words
from benchtool.sheets.sheetwords import clock, day, joined, kind_words
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say
from benchtool.trade.substrates import Flex, Nature

_QUARTER = timedelta(minutes=15)
"""Times for a customer are told to the quarter of an hour, never too soon."""


def care_sheet(
    job: Job, state: State, tables: Tables, now: datetime, piece: PieceState | str, *, zone: tzinfo | None = None
) -> Sheet:
    """Make the care sheet of a piece (or of the one with that id) as it is at `now`.

    Times are those of `zone`, None for this computer's own.

    Raises:
        KeyError: there is no piece of that id.
    """
    if isinstance(piece, str):
        piece = state.pieces[piece]
    return Sheet(
        title=say("How to care for {piece}", piece=piece.piece.name),
        under=joined((_for(state), say("written on {day}", day=day(now, zone)))),
        blocks=tuple(_blocks(job, state, tables, now, piece, zone)),
        foot=say(
            "{piece}: keep this sheet with it, for whoever cleans or repairs it.", piece=shorten(piece.piece.name)
        ),
        one_page=True,
    )


def _for(state: State) -> str:
    customer = state.customer.strip()
    return say("For {customer}", customer=customer) if customer else ""


def _blocks(
    job: Job, state: State, tables: Tables, now: datetime, piece: PieceState, zone: tzinfo | None
) -> Iterator[Block]:
    if job.demo:
        yield Caution(say("These numbers are not a data sheet."), say("Demo"))
    yield from _uses(state, piece, now, zone)
    yield from _looking_after(piece)
    yield from _paint(state, tables, piece)
    yield from _safety(state, tables, piece)


# --- when it may be used ---------------------------------------------------------------------------------


def _uses(state: State, piece: PieceState, now: datetime, zone: tzinfo | None) -> Iterator[Block]:
    yield Heading(say("When you may use it"))
    care = care_times(state, piece, now)
    if care.last_coat is None:
        yield Caution(_why_no_dates(piece), say("Not yet"))
        return
    rows = []
    for use in Use:
        if use is Use.BEND and piece.piece.flex is Flex.RIGID:
            rows.append((_name(use), say("never: it is rigid"), say("Paint cracks where a rigid part is forced.")))
            continue
        if use is Use.TAPE and piece.piece.face is Face.BEHIND_CLEAR:
            never = say("never"), say("Even later it pulls the paint off.")
            rows.append((say("Put tape or stickers on the painted back"), *never))
            continue
        allowed = care.uses.get(use)
        rows.append((_name(use), _when(allowed.at, now, zone) if allowed is not None else _unknown(), _till(use)))
    yield Grid((say("What"), say("From"), say("Until then")), tuple(rows))
    told = say(
        "The last coat went on on {day} at {time}.", day=day(care.last_coat, zone), time=clock(care.last_coat, zone)
    )
    keep = say("Until the last of these dates keep it dry and at room temperature: in the cold it takes longer.")
    yield Words(f"{told} {keep}", small=True)


def _why_no_dates(piece: PieceState) -> str:
    if piece.top is None:
        return say("It is not painted yet, so no dates can be given. Ask for this sheet again when it is done.")
    if piece.current is not None:
        return say(
            "Not all of its paint is on yet, so no dates can be given. Ask for this sheet again when it is done."
        )
    return say("When its last coat was done is not written down, so no dates can be given: ask us.")


def _unknown() -> str:
    return say("not known: ask us")


def _when(at: datetime, now: datetime, zone: tzinfo | None) -> str:
    up = rounded_up(at)
    told = say("{day}, {time}", day=day(up, zone), time=clock(up, zone))
    return say("now (since {when})", when=told) if up <= now else told


def rounded_up(at: datetime) -> datetime:
    """Give the next full quarter of an hour: no zone's clock is off by less."""
    start = at.replace(minute=0, second=0, microsecond=0)
    over = at - start
    return start + -(-over // _QUARTER) * _QUARTER


def _name(use: Use) -> str:
    return {
        Use.TOUCH: say("Touch the paint"),
        Use.TAPE: say("Put tape or stickers on it"),
        Use.POST: say("Pack and post it"),
        Use.WASH: say("Wash it"),
        Use.BEND: say("Bend it"),
        Use.WAX: say("Wax or polish it"),
    }[use]


def _till(use: Use) -> str:
    return {
        Use.TOUCH: say("Hold it where there is no paint."),
        Use.TAPE: say("Nothing sticky on the paint."),
        Use.POST: say("Nothing may lie on it or press on it."),
        Use.WASH: say("Keep it dry; dab off drops."),
        Use.BEND: say("Leave it in its shape."),
        Use.WAX: say("No wax, polish or spray care."),
    }[use]


# --- how to look after it ----------------------------------------------------------------------------------


def _looking_after(piece: PieceState) -> Iterator[Block]:
    yield Heading(say("How to look after it"))
    yield Words(
        say(
            "Wash it by hand with cool or lukewarm water, a drop of mild washing-up liquid and a soft cloth; rinse and "
            "dab it dry. No solvent, thinner, fuel or spirit; no window cleaner, scouring powder or rough sponge; no "
            "dishwasher, steam or pressure washer."
        )
    )
    if piece.piece.face is Face.BEHIND_CLEAR:
        yield Words(
            say(
                "It is painted from behind: you look at the paint through the clear part. Wash the front; do not "
                "scrape, scrub or peel the painted back, and put no sticker on it."
            )
        )
    if piece.piece.flex is Flex.FLEXIBLE:
        yield Words(say("It may bend in use, but not sharply and not in the cold: paint is stiffer then and cracks."))


# --- what is on it -----------------------------------------------------------------------------------------


def _paint(state: State, tables: Tables, piece: PieceState) -> Iterator[Block]:
    painted = [layer for layer in piece.layers if layer.started]
    if not painted:
        return
    yield Heading(say("What it is painted with, and what to repair it with"))
    behind = piece.piece.face is Face.BEHIND_CLEAR
    rows = tuple(_layer(state, layer) for layer in (painted if behind else reversed(painted)))
    first = say("As you see it, the first one nearest to you") if behind else say("From the outside in")
    yield Grid((first, say("What it is"), say("Activator"), say("Colour")), rows)
    told = say("Repair it with the same products, put on in the order in which they lie, the innermost first.")
    if behind:
        told = say("Repair it from behind with the same products, in this order: the one nearest to you goes on first.")
    other = say("Another paint over these may lift or crack them: try it first where nobody sees it.")
    material = tables.substrates.get(piece.piece.substrate)
    under = say("Under the paint: {material}.", material=material.name) if material and material.known else ""
    yield Words(" ".join(x for x in (told, other, under) if x))


def _layer(state: State, layer: LayerState) -> tuple[str, str, str, str]:
    cards = _went_on(state, layer)
    called = layer.plan.name or ""
    names = list(dict.fromkeys(_product(card) for card in cards)) or [layer.plan.card]
    product = say(" and ").join(names)
    if called and called.casefold() not in (card.name.casefold() for card in cards):
        product = say("{layer}: {product}", layer=called, product=product)
    kinds = list(dict.fromkeys(kind_words(card) for card in cards))
    return product, say(" and ").join(kinds), _mixed_with(state, layer, cards), " ".join(layer.plan.note.split()) or "–"


def _went_on(state: State, layer: LayerState) -> list[Card]:
    """Give the products that this layer's coats are of, as their cards were then."""
    of_coats = {coat.card.id: coat.card for coat in layer.coats if coat.card is not None}
    planned = state.card_of(layer)
    return list(of_coats.values()) or ([planned] if planned is not None else [])


def _product(card: Card) -> str:
    return say("{name} of {maker}", name=card.name, maker=card.maker) if card.maker.strip() else card.name


def _mixed_with(state: State, layer: LayerState, cards: list[Card]) -> str:
    ids = activators_of(state, layer)
    activators = [a for card in cards for a in card.activators if a.id in ids]
    additives = [a.name for card in cards for a in card.additives if a.id in layer.plan.additives]
    return joined(dict.fromkeys([*(_activator(a) for a in activators), *additives])) or "–"


def _activator(activator: Activator) -> str:
    maker = activator.maker.strip()
    return say("{name} of {maker}", name=activator.name, maker=maker) if maker else activator.name


# --- what can hurt -----------------------------------------------------------------------------------------


def _safety(state: State, tables: Tables, piece: PieceState) -> Iterator[Block]:
    """Say what a customer must know; common practice, no source. It gives way to the products' own sheets."""
    cards = [card for layer in piece.layers if layer.started for card in _went_on(state, layer)]
    lead = Nature.MAY_HOLD_LEAD in tables.substrate_of(piece.piece).natures
    if not cards and not lead:
        return
    yield Heading(say("For your safety"))
    said = [
        say(
            "Nothing here shows that this paint is fit for food or drink, or to be put in the mouth: keep both off it, "
            "and keep it from small children and animals that chew."
        ),
        say(
            "Do not sand, scrape, weld or burn the paint yourself: its dust and fumes can hurt. Leave that to a "
            "painter."
        ),
    ]
    if any(Hazard.CHROMATE in card.hazards for card in cards):
        said.append(say("One of its layers holds chromate: its dust is a grave danger to health."))
    if lead:
        said.append(say("Old layers under the new paint may hold lead: their dust is a grave danger to health."))
    if any(card.carrier is not Carrier.NONE for card in cards):
        said.append(say("It may smell until it is cured: keep it in an aired room."))
    said.append(say("The products’ safety data sheets decide: ask us for them."))
    yield Caution(" ".join(said))
