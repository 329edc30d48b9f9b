"""Lots: cans that are past their time."""

from collections.abc import Iterator
from datetime import datetime

from benchtool.job.cards import Card, Hazard, recipe
from benchtool.job.lots import Lot, good_until
from benchtool.job.state import LayerState, Mix, PieceState
from benchtool.rules.finding import PRACTICE, Facts, Family, Finding, Severity, key
from benchtool.trade.mixing import NotAShare
from benchtool.trade.numbers import span_words

FAMILY = Family("lots")


@FAMILY.rule(
    "past-date",
    Severity.CAUTION,
    reason=(
        "Paint settles and thickens with age, and a hardener that holds isocyanates takes up moisture once its can "
        "was opened: it thickens or clouds, and what is mixed with it may not cure."
    ),
    source=PRACTICE,
)
def past_date(facts: Facts) -> Iterator[Finding]:
    """A can is past its date, or open for longer than it keeps, and is poured from next or was poured from."""
    for piece, layer, card, lot in facts.settled("lots in hand", lambda: list(_in_hand(facts))):
        past = _past(lot, card, facts.now)
        if past:
            yield _finding(piece, layer, lot, f"The can of {lot.words} is {past}.", _look_into(lot, card))
    yield from facts.settled("old lots poured", lambda: list(_poured(facts)))


def _in_hand(facts: Facts) -> Iterator[tuple[PieceState, LayerState, Card, Lot]]:
    """Give the cans that the layers still to be done will be poured from."""
    for piece, layer in facts.layers():
        card = facts.state.card_of(layer)
        if card is None or layer.finished:
            continue
        try:
            parts = recipe(card, facts.state.activator_of(layer), layer.plan.gun)
        except NotAShare:
            continue
        for part in parts:
            lot = facts.state.lot_for(card.id, part.name)
            if lot is not None:
                yield piece, layer, card, lot


def _poured(facts: Facts) -> Iterator[Finding]:
    """Find what went into a cup when it was past its time: a cup at hand, or one that was sprayed from."""
    for piece, layer, mix in facts.cups():
        for lot, past in _old_pours(facts, mix):
            message = f"This cup was poured from the can of {lot.words} when it was {past}."
            remedy = "Prove it on a strip before it goes on the piece, or empty the cup and mix fresh."
            yield _finding(piece, layer, lot, message, remedy)
    for piece, layer, coat, mix in facts.sprayed():
        for lot, past in _old_pours(facts, mix):
            name = f"Coat {coat.number} of {facts.state.layer_name(layer)}"
            message = f"{name} was mixed from the can of {lot.words} when it was {past}."
            yield _finding(piece, layer, lot, message, "Test this film for cure and adhesion before you go on.")


def _old_pours(facts: Facts, mix: Mix) -> Iterator[tuple[Lot, str]]:
    for pour in mix.pours:
        lot = facts.state.lots.get(pour.lot or "")
        past = _past(lot, mix.card, pour.at) if lot is not None and pour.mL > 0 else ""
        if lot is not None and past:
            yield lot, past


def _past(lot: Lot, card: Card | None, at: datetime) -> str:
    good = good_until(lot, card)
    if good is None or at <= good.at:
        return ""
    return f"{span_words((at - good.at).total_seconds())} past {good.why}"


def _look_into(lot: Lot, card: Card) -> str:
    hardener = Hazard.ISOCYANATES in card.hazards and lot.part in {a.name for a in card.activators}
    look = "cloudy, thick or skinned" if hardener else "lumpy, thick or skinned once stirred"
    return f"Look into the can: where it is {look}, take a fresh one; else prove it on a strip first."


def _finding(piece: PieceState, layer: LayerState, lot: Lot, message: str, remedy: str) -> Finding:
    # One can is one matter, however many layers are poured from it.
    return Finding(
        rule="lots.past-date",
        severity=Severity.CAUTION,
        piece=piece.id,
        layer=layer.id,
        message=message,
        remedy=remedy,
        key=key("lots.past-date", lot.id),
    )
