"""What a fresh film does not stand: the next layer because it is free of dust, and heat before it has flashed."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from benchtool.job.cards import Card, CardTime, Carrier
from benchtool.job.state import Coat, LayerState, PieceState
from benchtool.rules.finding import Cause, Facts, Family, Finding, Severity, cause, key
from benchtool.trade.numbers import span_words
from benchtool.trade.saying import say

FAMILY = Family("timing")

OVERNIGHT = timedelta(hours=24)
"""Where a card gives nothing but when dust does not stick, a day is left before the next layer (common practice)."""

BAKES_DEGC = 40.0
"""A piece that is only kept warm is not baked (common practice, no source: force drying begins at some 40 °C)."""


@FAMILY.rule(
    "dust-free",
    Severity.CAUTION,
    title="Dust-free taken for ready",
    reason="Dust-free says only that the skin has closed; under it the film is soft, and the next layer lifts it.",
    source="the drying stages of ISO 9117 and ASTM D5895 (from memory); a day without a card's time: common practice",
    remedy="Look on the sheet for its recoat time; without one leave it overnight. Where the next layer is on "
    "already, look for lifting and wrinkles, and let the stack harden fully before you go on.",
)
def dust_free(facts: Facts) -> Iterator[Finding]:
    """The next layer is due, or went on, over one whose card gives no time but that it is free of dust."""
    for piece, layer, under, last in facts.settled("over dust-free", lambda: list(_over_dust_free(facts))):
        ahead = not layer.started
        card, done_at = last.card, last.done_at
        if card is None or card.dust_free is None or done_at is None:
            continue
        opens = done_at + OVERNIGHT
        moment = facts.now if ahead else layer.coats[0].started_at
        if moment >= opens:
            continue
        names = {"under": facts.state.layer_name(under), "layer": facts.state.layer_name(layer)}
        yield Finding(
            rule="timing.dust-free",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=say(
                "{under} is free of dust in {time}, which does not make it ready for {layer}.",
                time=span_words(card.dust_free.total_seconds()), **names,
            )
            if ahead
            else say("{layer} went on {under} within a day, and its card gives no recoat time.", **names),
            remedy=say("Look on the sheet for its recoat time; without one leave it overnight.")
            if ahead
            else say("Look for lifting and wrinkles, and let the stack harden fully before you go on."),
            key=key("timing.dust-free", under.id, layer.id),
            clears_at=opens if ahead else None,
            cause=cause(Cause.WINDOW, layer.id),
        )  # fmt: skip


def _over_dust_free(facts: Facts) -> Iterator[tuple[PieceState, LayerState, LayerState, Coat]]:
    """Give each layer that is on, or next, with what is under it and its last coat, where only a dust time is known."""
    following = facts.next_layers()
    for piece in facts.state.pieces.values():
        under: LayerState | None = None
        for layer in piece.layers:
            last = under.last_done if under is not None and under.open_coat is None else None
            card = last.card if last is not None else None
            due = layer.started or layer is following[piece.id]
            if due and under is not None and last is not None and _only_dust(card):
                yield piece, layer, under, last
            under = layer if layer.started else under


def _only_dust(card: Card | None) -> bool:
    """Say whether a card tells when a layer is free of dust, and neither its flash nor its recoat time."""
    return card is not None and card.dust_free is not None and card.recoat_opens is None and card.flash is None


@FAMILY.rule(
    "heat-too-soon",
    Severity.CAUTION,
    timed=False,
    title="Heat before the coat has flashed",
    reason="Heat closes the skin of a coat before its solvent is out; what boils under it pops through as pinholes.",
    source="handbooks of paint defects (solvent popping: flash before heat); the product card",
    remedy="Take the heat off until it has flashed, then bring it up slowly. Look for pinholes and blisters before "
    "anything goes over it.",
)
def heat_too_soon(facts: Facts) -> Iterator[Finding]:
    """Heat was put on a piece before its last coat had flashed, and its card gives no flash in heat."""
    for piece in facts.state.pieces.values():
        if not piece.heat.stretches:
            continue
        for layer in piece.layers:
            for coat in layer.coats:
                flashed = _flashed(facts, coat)
                if flashed is None or not _heated(piece, coat.started_at, flashed):
                    continue
                name = facts.state.layer_name(layer)
                on = piece.heat.on is not None and coat is layer.coats[-1] and layer is piece.top
                yield Finding(
                    rule="timing.heat-too-soon",
                    severity=Severity.CAUTION,
                    piece=piece.id,
                    layer=layer.id,
                    message=say("Coat {n} of {layer} was heated before it had flashed.", n=coat.number, layer=name),
                    remedy=say("Take the heat off until it has flashed, then bring it up slowly.")
                    if on
                    else say("Look for pinholes and blisters before anything goes over it."),
                    key=key("timing.heat-too-soon", layer.id, coat.number),
                )


def _flashed(facts: Facts, coat: Coat) -> datetime | None:
    """Give when a coat has flashed in the air alone; None where that is not known, or its card asks for heat."""
    card = coat.card
    if card is None or card.flash is None or coat.done_at is None or _bakes(card):
        return None
    return facts.state.air.ends(coat.done_at, card.flash, card, CardTime.FLASH)


def _bakes(card: Card) -> bool:
    return CardTime.FLASH in card.forced or card.carrier is Carrier.NONE


def _heated(piece: PieceState, since: datetime, until: datetime) -> bool:
    hot = (h for h in piece.heat.stretches if h.degC >= BAKES_DEGC)
    return any(h.started_at < until and (h.ended_at is None or h.ended_at > since) for h in hot)
