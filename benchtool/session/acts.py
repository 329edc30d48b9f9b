"""What the painter does, written as events still to be stamped with their id and time."""

import math
from collections import Counter
from functools import partial
from typing import Any

from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.cards import Card, RecipePart, recipe
from benchtool.job.lots import Lot
from benchtool.job.state import LayerState, Mix, State, recipe_parts
from benchtool.rules.finding import Finding
from benchtool.session.owned import begun_cup, shop_of
from benchtool.session.session import Draft, NotNow, Session
from benchtool.trade.mixing import NotAShare, Part
from benchtool.trade.saying import say
from benchtool.trade.units import volume_words


def begin_mix(session: Session, layer: LayerState, make_mL: float) -> Draft:
    """Begin a cup for `layer` by its card, activator and gun.

    How far a part may be off its share is what the card says, else what the painter set for the shop.

    Raises:
        NotNow: the card is gone from the job, or its activator is not chosen.
        NotAShare: the card's shares are no mix.
    """
    state = session.writable().state
    card = state.card_of(layer)
    if card is None:
        raise NotNow("This layer has no product card: choose one first.")
    if card.two_part and card.activators and state.activator_of(layer) is None:
        raise NotNow("Choose the activator first: this product is nothing without it.")
    parts = _recipe(session, state, layer, card)
    recipe_parts(parts)
    number = 1 + max((int(m[1:]) for m in state.mixes if m[1:].isdigit()), default=0)
    taken = {e.mix for e in session.writable().job.events if isinstance(e, ev.Mixed)}
    while f"m{number}" in taken:
        number += 1
    return partial(
        ev.Mixed,
        mix=f"m{number}",
        layer=layer.id,
        card=card.id,
        gun=layer.plan.gun,
        make_mL=make_mL,
        parts=parts,
        activator=layer.plan.activator,
        metal_cup=_in_metal(session, make_mL),
    )


def _in_metal(session: Session, make_mL: float) -> bool:
    cup = begun_cup(session.shop.shop, make_mL, make_mL) if session.shop is not None else None
    return cup is not None and cup.metal


def recipe_of(session: Session, layer: LayerState) -> tuple[Part, ...]:
    """Give the recipe that a cup for `layer` would be begun by, to reckon with.

    Raises:
        NotAShare: the card is gone, or its shares are no mix.
    """
    state = session.current.state if session.current is not None else None
    card = state.card_of(layer) if state is not None else None
    if state is None or card is None:
        raise NotAShare("This layer has no product card: choose one first.")
    return recipe_parts(_recipe(session, state, layer, card))


def _recipe(session: Session, state: State, layer: LayerState, card: Card) -> tuple[RecipePart, ...]:
    parts = recipe(card, state.activator_of(layer), layer.plan.gun, layer.plan.additives)
    if session.shop is None:
        return parts
    shop = session.shop.shop
    return tuple(p if p.tolerance is not None else replace(p, tolerance=shop.tolerance(p.kind)) for p in parts)


def take_lot(session: Session, lot: Lot) -> Draft:
    """Take a can in hand: what is poured of its card and part comes out of it from now on.

    The job gets the copy that the shop keeps now.

    Raises:
        NotNow: no job is open, or it is read-only.
    """
    session.writable()
    kept = session.shop.lot(lot.id) if session.shop is not None else None
    return partial(ev.LotTaken, lot=kept or lot, pours=tuple(p.id for p in of_no_can(session, lot)))


def of_no_can(session: Session, lot: Lot) -> tuple[ev.Poured, ...]:
    """Give what was poured of this can's part into the cup in hand, and is said to come from no can."""
    document, layer = session.current, session.layer
    mix = document.state.mix_for(layer) if document is not None and layer is not None else None
    if mix is None or mix.made.card != lot.card:
        return ()
    return tuple(p for p in mix.pours if p.part == lot.part and p.lot is None)


def lot_taken_words(session: Session, lot: Lot) -> str:
    """Say what taking this can comes to; asked before it is taken."""
    mL = math.fsum(p.mL for p in of_no_can(session, lot))
    if mL <= 0:
        return say("{can} is in hand.", can=lot.words)
    amount = volume_words(mL, shop_of(session).unit)
    return say("{can} is in hand, and counts for the {amount} poured.", can=lot.words, amount=amount)


def pour(
    session: Session, mix: Mix, part: str, mL: float, typed: str = "", *, guess: bool = False, lot: Lot | None = None
) -> Draft:
    """Pour so much of a part (mL) into the cup, out of `lot`, else out of that in hand for it where there is one.

    `guess` says that it was counted in drops of a dropper that nobody has measured.

    Raises:
        NotNow: no job is open, or it is read-only.
    """
    lot = lot or session.writable().state.lot_for(mix.made.card, part)
    can = lot.id if lot is not None else None
    return partial(ev.Poured, mix=mix.id, part=part, mL=mL, typed=typed, lot=can, guess=guess)


def change_layer(layer: LayerState, **changes: Any) -> Draft:
    """Change a layer's plan (gun, activator, coats, colour, name)."""
    return partial(ev.LayerChanged, layer=replace(layer.plan, **changes))


def waive(finding: Finding, reason: str) -> Draft:
    """Sign that the painter goes on in spite of `finding`."""
    return partial(ev.WaiverSigned, rule=finding.rule, key=finding.key, message=finding.message, reason=reason)


def start_coat(session: Session, layer: LayerState) -> Draft:
    """Begin the next coat of `layer` from the cup that serves it.

    Raises:
        NotNow: a coat is being sprayed already.
    """
    if layer.open_coat is not None:
        raise NotNow("This coat is being sprayed already: log it done first.")
    return session.coat_of(layer)


def finish_coat(layer: LayerState) -> Draft:
    """End the coat that is being sprayed.

    Raises:
        NotNow: no coat is being sprayed.
    """
    if layer.open_coat is None:
        raise NotNow("No coat is being sprayed on this layer.")
    return partial(ev.CoatDone, layer=layer.id)


def free_id(session: Session, letter: str) -> str:
    """Give an id for a piece (`p`) or layer (`l`) that the job never used, undone ones included."""
    used = set()
    for event in session.writable().job.events:
        if isinstance(event, ev.PieceAdded):
            used.add(event.piece.id)
        elif isinstance(event, ev.LayerAdded):
            used.add(event.layer.id)
    number = 1
    while f"{letter}{number}" in used:
        number += 1
    return f"{letter}{number}"


_HEADS = ev.TrialPlanned | ev.TrialReplanned | ev.SystemChosen | ev.TakenFrom


def act_words(act: tuple[ev.Event, ...]) -> str:
    """Name an act as the painter would: what it was for, else each kind of thing once; a waiver is part of the rest."""
    if any(isinstance(e, ev.PhotoAdded) for e in act) and any(isinstance(e, ev.Withdrawn) for e in act):
        return say("photo moved or noted")
    heads: list[ev.Event] = [e for e in act if isinstance(e, _HEADS)]
    told = heads or [e for e in act if not isinstance(e, ev.WaiverSigned)]
    counted = Counter(ev.event_words(e) for e in told)
    return ", ".join(f"{words} ({n} times)" if n > 1 else words for words, n in counted.items())
