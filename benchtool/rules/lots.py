"""Lots: cans that are past their time or nearly empty, and one colour out of two of them."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from benchtool.job.cards import BASE_NAME, Card, Duty, Hazard, recipe
from benchtool.job.lots import Lot, good_until
from benchtool.job.state import LayerState, Mix, PieceState
from benchtool.rules.finding import PRACTICE, Cause, Facts, Family, Finding, Severity, cause, key
from benchtool.trade.mixing import NotAShare, fractions
from benchtool.trade.numbers import pour_figure, span_words
from benchtool.trade.saying import say

FAMILY = Family("lots")


@FAMILY.rule(
    "past-date",
    Severity.CAUTION,
    title="Can past its date",
    reason=(
        "Paint settles and thickens with age, and a hardener that holds isocyanates takes up moisture once its can "
        "was opened: it thickens or clouds, and what is mixed with it may not cure."
    ),
    source=PRACTICE,
    remedy="Look into the can: where it is lumpy, cloudy, thick or skinned, take a fresh one; else prove it on a "
    "strip first. Where it was sprayed, test the film for cure and adhesion before you go on.",
)
def past_date(facts: Facts) -> Iterator[Finding]:
    """A can is past its date, or open for longer than it keeps, and is poured from next or was poured from."""
    for piece, layer, card, lot in facts.settled("lots in hand", lambda: list(_in_hand(facts))):
        past = _past(lot, card, facts.now)
        if past:
            yield _finding(
                piece, layer, lot, say("The can of {lot} is {past}.", lot=lot.words, past=past), _look_into(lot, card)
            )
    yield from facts.settled("old lots poured", lambda: list(_poured(facts)))


def _in_hand(facts: Facts) -> Iterator[tuple[PieceState, LayerState, Card, Lot]]:
    """Give the cans that the layers still to be done will be poured from."""
    for piece, layer in facts.layers():
        card = facts.state.card_of(layer)
        if card is None or layer.finished:
            continue
        try:
            parts = recipe(card, facts.state.activator_of(layer), layer.plan.gun, layer.plan.additives)
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
            message = say("This cup was poured from the can of {lot} when it was {past}.", lot=lot.words, past=past)
            remedy = say("Prove it on a strip before it goes on the piece, or empty the cup and mix fresh.")
            yield _finding(piece, layer, lot, message, remedy)
    for piece, layer, coat, mix in facts.sprayed():
        for lot, past in _old_pours(facts, mix):
            message = say(
                "Coat {n} of {layer} was mixed from the can of {lot} when it was {past}.",
                n=coat.number, layer=facts.state.layer_name(layer), lot=lot.words, past=past,
            )  # fmt: skip
            remedy = say("Test this film for cure and adhesion before you go on.")
            yield _finding(piece, layer, lot, message, remedy)


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
    return say("{time} past {why}", time=span_words((at - good.at).total_seconds()), why=good.why)


def _look_into(lot: Lot, card: Card) -> str:
    hardener = Hazard.ISOCYANATES in card.hazards and lot.part in {a.name for a in card.activators}
    if hardener:
        return say(
            "Look into the can: where it is cloudy, thick or skinned, take a fresh one; else prove it on a strip first."
        )
    return say(
        "Look into the can: where it is lumpy, thick or skinned once stirred, take a fresh one; else prove it on a "
        "strip first."
    )


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
        cause=cause(Cause.CAN, lot.id),
    )


OPEN_TOO_LONG = timedelta(days=90)
"""A hardener that is open for longer, and that nothing is known of, is doubted (common practice, no source)."""


@FAMILY.rule(
    "hardener-open",
    Severity.CAUTION,
    title="Hardener open for months",
    reason="Each time it is opened, a hardener that holds isocyanates breathes in moisture and uses itself up with it.",
    source="that moisture spoils isocyanates: makers' guides on urethane parts; the time: common practice, no source",
    remedy="Look into the can: where it is cloudy, thick or skinned, take a fresh one; else prove it on a strip first.",
)
def hardener_open(facts: Facts) -> Iterator[Finding]:
    """A hardener with isocyanates was opened months ago, and neither can nor card says how long it keeps."""
    for piece, layer, card, lot in facts.settled("lots in hand", lambda: list(_in_hand(facts))):
        opened = _opened_hardener(card, lot)
        if opened is None or facts.now - opened < OPEN_TOO_LONG:
            continue
        yield Finding(
            rule="lots.hardener-open",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=say(
                "The can of {lot} has been open for {time}, and nothing says how long it keeps.",
                lot=lot.words, time=span_words((facts.now - opened).total_seconds()),
            ),
            remedy=_look_into(lot, card),
            key=key("lots.hardener-open", lot.id),
            cause=cause(Cause.CAN, lot.id),
        )  # fmt: skip


def _opened_hardener(card: Card, lot: Lot) -> datetime | None:
    """Give when a hardener with isocyanates was opened of which nothing says how long it keeps; else None."""
    activator = next((a for a in card.activators if a.name == lot.part), None)
    if activator is None or Hazard.ISOCYANATES not in card.hazards:
        return None
    told = lot.keeps_opened is not None or activator.keeps_opened is not None
    return None if told else lot.opened_on


@FAMILY.rule(
    "short",
    Severity.NOTE,
    timed=False,
    title="Too little in the can for the cup",
    reason="A cup that can't be filled from one can ends in the middle of a coat, or in two shades.",
    source="arithmetic: what the can held, less what this job poured from it",
    remedy="Have the next can at hand, or make less; mix both cans of a colour before you pour.",
)
def short(facts: Facts) -> Iterator[Finding]:
    """The can in hand holds less than the cup that is being poured still asks for."""
    drawn = facts.settled("drawn", lambda: _drawn(facts))
    for piece, layer, mix in facts.cups():
        if mix.stirred or mix.card is None:
            continue
        for part, share in zip(mix.parts, fractions(mix.parts), strict=True):
            lot = facts.state.lot_for(mix.made.card, part.name)
            wants = share * mix.made.make_mL - mix.poured_mL.get(part.name, 0.0)
            left = lot.held_mL - drawn.get(lot.id, 0.0) if lot is not None else wants
            if lot is None or left >= wants - 0.5:
                continue
            yield Finding(
                rule="lots.short",
                severity=Severity.NOTE,
                piece=piece.id,
                layer=layer.id,
                message=say(
                    "The can of {lot} holds about {left} mL, and this cup asks for {wants} mL more.",
                    lot=lot.words, left=pour_figure(max(0.0, left)), wants=pour_figure(wants),
                ),
                remedy=say("Have the next can at hand, or make less; mix both cans of a colour before you pour."),
                key=key("lots.short", mix.id, lot.id),
            )  # fmt: skip


def _drawn(facts: Facts) -> dict[str, float]:
    counted = {lot.id: lot.counted_on for lot in facts.state.lots.values() if lot.counted_on is not None}
    return facts.state.drawn_mL(counted)


@FAMILY.rule(
    "two-lots",
    Severity.CAUTION,
    timed=False,
    title="One colour from two cans",
    reason="Two cans of one colour differ a little, and the eye finds the edge between them.",
    source="common practice, no source (painters mix the cans of a colour together, or change cans at an edge)",
    remedy="Compare them on a card, mix the cans together, or change at an edge; let the last coat be of one.",
)
def two_lots(facts: Facts) -> Iterator[Finding]:
    """The cups of one colour layer were poured from different cans."""
    for piece, layer in facts.layers():
        card = facts.state.card_of(layer)
        if card is None or card.duty is not Duty.BASE or len(layer.mixes) < 2:
            continue
        poured = [_base_lots(facts.state.mixes[m]) for m in layer.mixes if m in facts.state.mixes]
        if len({lots for lots in poured if lots}) < 2:
            continue
        yield Finding(
            rule="lots.two-lots",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=say(
                "{layer} is poured from two cans that may differ in shade.", layer=facts.state.layer_name(layer)
            ),
            remedy=say(
                "Compare them on a card, mix the cans together, or change at an edge; let the last coat be of one."
            ),
            key=key("lots.two-lots", layer.id),
        )


def _base_lots(mix: Mix) -> frozenset[str]:
    return frozenset(p.lot for p in mix.pours if p.part == BASE_NAME and p.lot is not None and p.mL > 0)
