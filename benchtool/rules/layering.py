"""Layering: how many coats, and what lies on what."""

from collections.abc import Iterator

from benchtool.job.events import (
    CoatStarted,
)
from benchtool.job.state import LayerState, PieceState, State, replay_stack
from benchtool.rules.finding import PRACTICE, SHEET, Facts, Family, Finding, Severity, key

FAMILY = Family("layering")


def _range(least: int, most: int) -> str:
    if least == most:
        return f"{least} coat{'' if least == 1 else 's'}"
    return f"{least} to {most} coats"


@FAMILY.rule(
    "too-few-coats",
    Severity.CAUTION,
    timed=False,
    reason="Too thin a film does not hide, protect or bond as the sheet promises.",
    source=SHEET,
)
def too_few(facts: Facts) -> Iterator[Finding]:
    """Fewer coats are planned than the card asks for, or the next layer went on over fewer."""
    for piece, layer in facts.layers():
        planned = max(len(layer.coats), layer.plan.coats)
        covered = any(x.started for x in piece.layers[piece.place(layer) + 1 :])
        done = layer.coats and (covered or layer.finished)
        card = layer.coats[-1].card if done else facts.state.card_of(layer)
        if card is None:
            continue
        if covered and layer.coats_done < card.coats_least:
            message = f"{facts.state.layer_name(layer)} was covered after {layer.coats_done} of at least "
            message += f"{_range(card.coats_least, card.coats_least)}."
            remedy = "Test it for adhesion and hiding before you go on."
        elif not covered and planned < card.coats_least:
            message = f"{_range(planned, planned)} planned for {facts.state.layer_name(layer)}; the card asks for "
            message += f"{_range(card.coats_least, card.coats_most)}."
            remedy = f"Plan {card.coats_least}."
        else:
            continue
        yield Finding(
            rule="layering.too-few-coats",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=message,
            remedy=remedy,
            key=key("layering.too-few-coats", layer.id),
        )


@FAMILY.rule(
    "too-many-coats",
    Severity.CAUTION,
    timed=False,
    reason="Too thick a film holds its solvent, stays soft, and cracks when the piece bends.",
    source=SHEET,
)
def too_many(facts: Facts) -> Iterator[Finding]:
    """More coats are on, or planned, than the card allows."""
    for piece, layer in facts.layers():
        count = max(len(layer.coats), layer.plan.coats)
        over = len(layer.coats) >= layer.plan.coats and layer.started
        card = layer.coats[-1].card if over else facts.state.card_of(layer)
        if card is None or count <= card.coats_most:
            continue
        on = len(layer.coats) > card.coats_most
        verb = "are on" if on else "are planned"
        yield Finding(
            rule="layering.too-many-coats",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=f"{count} coats of {facts.state.layer_name(layer)} {verb}; the card allows "
            f"{_range(card.coats_least, card.coats_most)}.",
            remedy="Let it harden much longer before the next layer." if on else f"Plan {card.coats_most}.",
            key=key("layering.too-many-coats", layer.id, count),
        )


@FAMILY.rule(
    "out-of-turn",
    Severity.STOP,
    timed=False,
    reason="A layer holds only on the one that was meant to be under it, finished and flashed; what was left out "
    "can't be put under it later.",
    source=PRACTICE,
)
def out_of_turn(facts: Facts) -> Iterator[Finding]:
    """A coat was begun on a layer that its piece did not take next, or while another was being sprayed on it."""
    # The plan and the cards as they were then: a later change of them makes no coat right or wrong.
    for then, event in replay_stack(facts.job):
        if not isinstance(event, CoatStarted):
            continue
        begun = then.layers.get(event.layer)
        why = _out_of_turn(then, then.pieces[begun.piece], begun) if begun is not None else ""
        if begun is None or not why or begun.id not in facts.state.layers:
            continue
        number = len(begun.coats) + 1
        yield Finding(
            rule="layering.out-of-turn",
            severity=Severity.STOP,
            piece=begun.piece,
            layer=begun.id,
            message=f"Coat {number} of {facts.state.layer_name(facts.state.layers[begun.id])} is out of turn: {why}.",
            remedy="Undo it where it was logged by mistake; else test the stack for adhesion before you go on.",
            key=key("layering.out-of-turn", begun.id, number),
        )


def _out_of_turn(then: State, piece: PieceState, layer: LayerState) -> str:
    """Say why a coat on `layer` is out of turn; empty where it is not."""
    at, first = piece.place(layer), 0
    for place, other in enumerate(piece.layers):
        if not other.coats:
            continue
        if other.coats[-1].done_at is None:
            return f"a coat of {then.layer_name(other)} is still being sprayed"
        # What lies under the paint that is on was judged when that paint went on.
        first = place
    over = next((x for x in piece.layers[at + 1 :] if x.coats), None)
    if over is not None:
        return f"{then.layer_name(over)} is over it already"
    for under in piece.layers[first:at]:
        card = then.card_of(under)
        # To leave a layer at the least that its card asks for is the painter's choice, whatever was planned.
        enough = under.plan.coats if card is None else min(card.coats_least, under.plan.coats)
        if not under.started:
            return f"{then.layer_name(under)}, which goes under it, is not on"
        if under.coats_done < enough:
            return f"{then.layer_name(under)} is not finished ({under.coats_done} of {_range(enough, enough)})"
    return ""
