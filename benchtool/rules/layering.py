"""Layering: how many coats, and what lies on what."""

from collections.abc import Iterator
from itertools import pairwise

from benchtool.job.events import (
    ClockAnswered,
    CoatStarted,
    Corrected,
    LayerAdded,
    LayerChanged,
    LayerRemoved,
    Withdrawn,
)
from benchtool.job.state import LayerState, PieceState, State, replay_stack
from benchtool.rules.finding import PRACTICE, SHEET, Cause, Facts, Family, Finding, Severity, cause, key
from benchtool.rules.stackorder import FAMILY as ORDER
from benchtool.trade.saying import say, say_n

FAMILY = Family("layering", list(ORDER.rules))


def _range(least: int, most: int) -> str:
    if least == most:
        return say_n("{n} coat", "{n} coats", least)
    return say("{least} to {most} coats", least=least, most=most)


@FAMILY.rule(
    "too-few-coats",
    Severity.CAUTION,
    timed=False,
    title="Fewer coats than the card asks for",
    reason="Too thin a film does not hide, protect or bond as the sheet promises.",
    source=SHEET,
    remedy="Plan as many coats as the card asks for. Where the next layer is on already, test this one for adhesion "
    "and hiding before you go on.",
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
            message = say(
                "{layer} was covered after {n} of at least {coats}.",
                layer=facts.state.layer_name(layer), n=layer.coats_done,
                coats=_range(card.coats_least, card.coats_least),
            )  # fmt: skip
            remedy = say("Test it for adhesion and hiding before you go on.")
        elif not covered and planned < card.coats_least:
            message = say(
                "{coats} planned for {layer}; the card asks for {asked}.",
                coats=_range(planned, planned), layer=facts.state.layer_name(layer),
                asked=_range(card.coats_least, card.coats_most),
            )  # fmt: skip
            remedy = say("Plan {n}.", n=card.coats_least)
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
            cause=cause(Cause.ORDER, piece.id),
        )


@FAMILY.rule(
    "too-many-coats",
    Severity.CAUTION,
    timed=False,
    title="More coats than the card allows",
    reason="Too thick a film holds its solvent, stays soft, and cracks when the piece bends.",
    source=SHEET,
    remedy="Plan no more coats than the card allows. Where they are on already, let them harden much longer before "
    "the next layer.",
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
        told = {
            "n": count,
            "layer": facts.state.layer_name(layer),
            "allowed": _range(card.coats_least, card.coats_most),
        }
        yield Finding(
            rule="layering.too-many-coats",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=say("{n} coats of {layer} are on; the card allows {allowed}.", **told)
            if on
            else say("{n} coats of {layer} are planned; the card allows {allowed}.", **told),
            remedy=say("Let it harden much longer before the next layer.")
            if on
            else say("Plan {n}.", n=card.coats_most),
            key=key("layering.too-many-coats", layer.id, count),
        )


@FAMILY.rule(
    "out-of-turn",
    Severity.STOP,
    timed=False,
    title="Coat put on out of turn",
    reason="A layer holds only on the one that was meant to be under it, finished and flashed; what was left out "
    "can't be put under it later.",
    source=PRACTICE,
    remedy="Undo it where it was logged by mistake; else test the stack for adhesion before you go on.",
)
def out_of_turn(facts: Facts) -> Iterator[Finding]:
    """A coat was begun on a layer that its piece did not take next, or while another was being sprayed on it."""
    if _all_in_turn(facts):
        return  # as nearly always, and to replay the record takes long
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
            message=say(
                "Coat {n} of {layer} is out of turn: {why}.",
                n=number, layer=facts.state.layer_name(facts.state.layers[begun.id]), why=why,
            ),
            remedy=say("What goes under it comes first. Undo a coat logged by mistake; test one that is on."),
            key=key("layering.out-of-turn", begun.id, number),
            cause=cause(Cause.ORDER, begun.piece),
        )  # fmt: skip


_UNSURE = frozenset({Withdrawn, Corrected, ClockAnswered, LayerChanged, LayerRemoved})


def _all_in_turn(facts: Facts) -> bool:
    """Say whether the coats are surely in turn: no plan was changed once there was paint, and all follow theirs."""
    events = facts.job.events
    if not _UNSURE.isdisjoint(map(type, events)):
        return False
    pieces = facts.state.pieces
    first = {p.id: min((c.place for x in p.layers for c in x.coats), default=len(events)) for p in pieces.values()}
    late = (isinstance(e, LayerAdded) and first.get(e.piece, 0) < place for place, e in enumerate(events))
    return not any(late) and all(_follows_plan(piece) for piece in pieces.values())


def _follows_plan(piece: PieceState) -> bool:
    """Say whether each coat was done before the next was begun, and each layer before the one over it."""
    coats = [coat for layer in piece.layers for coat in layer.coats]
    for coat, following in pairwise(coats):
        if coat.done_at is None or coat.done_at >= following.started_at or coat.place > following.place:
            return False
    covered = [layer for layer, over in pairwise(piece.layers) if over.coats]
    return all(layer.coats_done >= layer.plan.coats for layer in covered)


def _out_of_turn(then: State, piece: PieceState, layer: LayerState) -> str:
    """Say why a coat on `layer` is out of turn; empty where it is not."""
    at, first = piece.place(layer), 0
    for place, other in enumerate(piece.layers):
        if not other.coats:
            continue
        if other.coats[-1].done_at is None:
            return say("a coat of {layer} is still being sprayed", layer=then.layer_name(other))
        # What lies under the paint that is on was judged when that paint went on.
        first = place
    over = next((x for x in piece.layers[at + 1 :] if x.coats), None)
    if over is not None:
        return say("{layer} is over it already", layer=then.layer_name(over))
    for under in piece.layers[first:at]:
        card = then.card_of(under)
        # To leave a layer at the least that its card asks for is the painter's choice, whatever was planned.
        enough = under.plan.coats if card is None else min(card.coats_least, under.plan.coats)
        if not under.started:
            return say("{layer}, which goes under it, is not on", layer=then.layer_name(under))
        if under.coats_done < enough:
            return say(
                "{layer} is not finished ({n} of {coats})",
                layer=then.layer_name(under), n=under.coats_done, coats=_range(enough, enough),
            )  # fmt: skip
    return ""
