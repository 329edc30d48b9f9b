"""Layering: what a layer should and should not lie on, by what each is for and how it looks."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from benchtool.job.cards import Duty, Trait
from benchtool.job.events import Face, Prep
from benchtool.job.state import LayerState, PieceState, State
from benchtool.job.windows import FOR_GOOD, recoat_span
from benchtool.rules.finding import PRACTICE, Cause, Facts, Family, Finding, Severity, cause, key
from benchtool.trade.saying import say

FAMILY = Family("layering")


CLEAR_FROM, CLEAR_TO = timedelta(minutes=15), timedelta(hours=24)
"""When clear goes over a metallic whose card gives no times (common practice, no source)."""


@FAMILY.rule(
    "clear-over-metallic",
    Severity.CAUTION,
    title="Clear over a metallic at the wrong time",
    reason="Too soon, the clear stirs up flakes that have not settled; too late, it does not bite, and flakes that "
    "were sanded show as scratches.",
    source="trade press and a textbook of car refinishing (mottling, sanding); times without a card: common practice",
    remedy="Let the metallic flash until it is evenly dull; one that is too old or was scuffed gets one more light "
    "coat first. Where the clear is on already, look for patches and scratches, and test it for adhesion.",
)
def clear_over_metallic(facts: Facts) -> Iterator[Finding]:
    """Clear goes, or went, on a metallic that is too fresh, too old, or scuffed."""
    for piece, layer, under in facts.settled("clear over metallic", lambda: list(_clears_over_metallics(facts))):
        ahead = not layer.started
        moment = facts.now if ahead else layer.coats[0].started_at
        said = _over_metallic(facts, layer, under, moment, ahead=ahead)
        if said is None:
            continue
        matter, message, remedy, clears_at = said
        yield Finding(
            rule="layering.clear-over-metallic",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=message,
            remedy=remedy,
            key=key("layering.clear-over-metallic", under.id, layer.id, matter),
            clears_at=clears_at,
            cause=cause(Cause.WINDOW, layer.id),
        )


def _clears_over_metallics(facts: Facts) -> Iterator[tuple[PieceState, LayerState, LayerState]]:
    """Give each clear that is on, or next, with the metallic under it; behind clear the metallic's other side shows."""
    following = facts.next_layers()
    for piece in facts.state.pieces.values():
        under: LayerState | None = None
        for layer in piece.layers if piece.piece.face is Face.OUTSIDE else ():
            last = under.last_done if under is not None and under.open_coat is None else None
            metallic = last is not None and last.card is not None and Trait.METALLIC in last.card.traits
            due = layer.started or layer is following[piece.id]
            if under is not None and metallic and due and _is(facts.state, layer, Duty.CLEAR):
                yield piece, layer, under
            under = layer if layer.started else under


def _over_metallic(
    facts: Facts, layer: LayerState, under: LayerState, moment: datetime, *, ahead: bool
) -> tuple[str, str, str, datetime | None] | None:
    """Say what is wrong with clear on `under` at a moment: the matter, message, remedy, and when time settles it."""
    last = under.last_done
    if last is None or last.done_at is None or last.card is None:
        return None
    span = recoat_span(last.card, under)
    opens = span.opens_at if span is not None else last.done_at + CLEAR_FROM
    closes = span.closes_at if span is not None else None
    if last.card.recoat_closes is None:
        closes = last.done_at + CLEAR_TO
    names = {"under": facts.state.layer_name(under), "layer": facts.state.layer_name(layer)}
    if under.scuffed_at is not None and last.done_at < under.scuffed_at <= moment:
        if ahead:
            return "scuffed", say("{under} was scuffed: its sanded flakes will show through {layer}.", **names), say(
                "Put one more light coat of {under} on it and let it flash, then {layer}.", **names
            ), None  # fmt: skip
        return "scuffed", say("{layer} went on over a scuffed {under}.", **names), say(
            "Look at it in the sun: where scratches show, it needs colour and clear again."
        ), None  # fmt: skip
    if moment < opens:
        if ahead:
            return "soon", say("{layer} would go on {under} while its flakes can still move.", **names), say(
                "Let {under} flash until it is evenly dull.", **names
            ), opens if opens < FOR_GOOD else None  # fmt: skip
        return "soon", say("{layer} went on {under} while its flakes could still move.", **names), say(
            "Look for light and dark patches before the next coat."
        ), None  # fmt: skip
    if closes is None or moment < closes:
        return None
    if ahead:
        return "late", say("{under} is too old for {layer} to bite, and a metallic is not scuffed.", **names), say(
            "Put one more light coat of {under} on it, then {layer} inside its window.", **names
        ), None  # fmt: skip
    return "late", say("{layer} went on {under} when it was too old to bite.", **names), say(
        "Test it for adhesion before anything goes over it."
    ), None  # fmt: skip


def _is(state: State, layer: LayerState, *duties: Duty) -> bool:
    card = state.card_of(layer)
    return card is not None and card.duty in duties


def _translucent(state: State, layer: LayerState) -> bool:
    card = state.card_of(layer)
    return card is not None and Trait.TRANSLUCENT in card.traits


_OPAQUE = (Duty.PRIMER, Duty.FILLER, Duty.SEALER, Duty.BASE)


@FAMILY.rule(
    "shows-through",
    Severity.NOTE,
    timed=False,
    title="What lies behind a translucent colour shows",
    reason="A translucent colour takes its look from what lies behind it, seen from where the viewer stands.",
    source=PRACTICE,
    remedy="Plan something opaque behind it, unless that is the look you want.",
)
def shows_through(facts: Facts) -> Iterator[Finding]:
    """A translucent colour that is not on yet will show a layer that is no colour, or the next one behind it."""
    for piece in facts.state.pieces.values():
        if piece.piece.face is Face.BEHIND_CLEAR:
            yield from _shows_next(facts, piece)
        else:
            yield from _shows_ground(facts, piece)


def _shows_next(facts: Facts, piece: PieceState) -> Iterator[Finding]:
    colours = [x for x in piece.layers if _is(facts.state, x, *_OPAQUE)]
    if len(colours) < 2 or colours[0].started or not _translucent(facts.state, colours[0]):
        return
    first, behind = (facts.state.layer_name(x) for x in colours[:2])
    yield Finding(
        rule="layering.shows-through",
        severity=Severity.NOTE,
        piece=piece.id,
        layer=colours[0].id,
        message=say("Seen from the front, {first} lets {behind} show through.", first=first, behind=behind),
        remedy=say("That is right for a candy over a bright backing; else put something opaque on first."),
        key=key("layering.shows-through", colours[0].id),
    )


def _shows_ground(facts: Facts, piece: PieceState) -> Iterator[Finding]:
    for layer in piece.layers:
        if layer.started or not _is(facts.state, layer, Duty.BASE) or not _translucent(facts.state, layer):
            continue
        below = [x for x in piece.layers[: piece.place(layer)] if not _is(facts.state, x, Duty.CLEAR, Duty.PROMOTER)]
        ground = next((x for x in reversed(below) if not _translucent(facts.state, x)), None)
        if ground is not None and _is(facts.state, ground, Duty.BASE):
            continue
        shown = facts.state.layer_name(ground) if ground is not None else piece.piece.name
        yield Finding(
            rule="layering.shows-through",
            severity=Severity.NOTE,
            piece=piece.id,
            layer=layer.id,
            message=say("{layer} lets {shown} show through.", layer=facts.state.layer_name(layer), shown=shown),
            remedy=say("Plan a solid or metallic colour under it, unless that is the look you want."),
            key=key("layering.shows-through", layer.id),
        )


@FAMILY.rule(
    "no-backing",
    Severity.NOTE,
    timed=False,
    title="Nothing opaque behind the colours",
    reason="Behind a clear shell, light that comes through from the back washes the colours out.",
    source=PRACTICE,
    remedy="Plan a solid backing as the last colour, unless it is to be lit from behind.",
)
def no_backing(facts: Facts) -> Iterator[Finding]:
    """Behind clear, nothing opaque is planned behind the translucent colours."""
    for piece in facts.state.pieces.values():
        colours = [x for x in piece.layers if _is(facts.state, x, *_OPAQUE)]
        if piece.piece.face is not Face.BEHIND_CLEAR or not colours:
            continue
        if not all(_translucent(facts.state, x) for x in colours):
            continue
        last = colours[-1]
        yield Finding(
            rule="layering.no-backing",
            severity=Severity.NOTE,
            piece=piece.id,
            layer=last.id,
            message=say("Nothing opaque lies behind {layer}.", layer=facts.state.layer_name(last)),
            remedy=say("Plan a solid backing as the last colour, unless it is to be lit from behind."),
            key=key("layering.no-backing", last.id),
        )


@FAMILY.rule(
    "hidden",
    Severity.NOTE,
    timed=False,
    title="A dark colour behind clear hides what follows",
    reason="Behind a clear shell whatever goes on first is what shows: nothing that follows shows through a dark and "
    "opaque film.",
    source=PRACTICE,
    remedy="As a detail on a part of the shell it is right; a dark layer that covers the whole goes last.",
)
def hidden(facts: Facts) -> Iterator[Finding]:
    """Behind clear, a dark and opaque layer goes on before a colour that is still to come, and nothing is masked."""
    for piece in facts.state.pieces.values():
        if piece.piece.face is not Face.BEHIND_CLEAR or any(s.step is Prep.MASK for s in piece.steps):
            continue
        for place, layer in enumerate(piece.layers):
            later = [x for x in piece.layers[place + 1 :] if _is(facts.state, x, Duty.BASE) and not x.started]
            if not later or not _dark(facts.state, layer):
                continue
            yield Finding(
                rule="layering.hidden",
                severity=Severity.NOTE,
                piece=piece.id,
                layer=layer.id,
                message=say(
                    "{layer} is dark and lies nearer the shell than {later}, which will not show where it covers.",
                    layer=facts.state.layer_name(layer), later=facts.state.layer_name(later[0]),
                ),
                remedy=say("Mask it to the part of the shell where it is to show, or put the other colours on first.")
                if layer.started
                else say("As a detail on a part of the shell it is right; if it covers the whole, put it last."),
                key=key("layering.hidden", layer.id),
                cause=cause(Cause.ORDER, layer.id),
            )  # fmt: skip
            break


def _dark(state: State, layer: LayerState) -> bool:
    card = state.card_of(layer)
    colour = _is(state, layer, Duty.BASE, Duty.SEALER)
    return card is not None and colour and Trait.DARK in card.traits and Trait.TRANSLUCENT not in card.traits


@FAMILY.rule(
    "order",
    Severity.CAUTION,
    timed=False,
    title="Layers planned in the wrong order",
    reason="A promoter works on the bare material only, and a primer or filler is made to be covered, not to cover.",
    source=PRACTICE,
    remedy="Put a promoter first in the stack, and a primer or filler under colour and clear; or take it out.",
)
def order(facts: Facts) -> Iterator[Finding]:
    """A promoter is planned over other paint, or outside a primer or filler over colour or clear."""
    for piece in facts.state.pieces.values():
        for place, layer in enumerate(piece.layers):
            if layer.started:
                continue
            wrong = _out_of_order(facts.state, piece, place)
            if wrong is None:
                continue
            names = {"layer": facts.state.layer_name(layer), "under": facts.state.layer_name(wrong)}
            promoter = _is(facts.state, layer, Duty.PROMOTER)
            yield Finding(
                rule="layering.order",
                severity=Severity.CAUTION,
                piece=piece.id,
                layer=layer.id,
                message=say("{layer} is planned over {under}; a promoter goes on the bare piece.", **names)
                if promoter
                else say("{layer} is planned over {under}, and belongs under it.", **names),
                remedy=say("Put it first in the stack, or take it out.")
                if promoter
                else say("Change the order, or take it out."),
                key=key("layering.order", layer.id),
                cause=cause(Cause.PAIRING, layer.id),
            )


def _out_of_order(state: State, piece: PieceState, place: int) -> LayerState | None:
    """Give the layer that the one at `place` should not lie on; None where it lies well."""
    layer, below = piece.layers[place], piece.layers[:place]
    if _is(state, layer, Duty.PROMOTER):
        return next((x for x in reversed(below) if not _is(state, x, Duty.PROMOTER)), None)
    if piece.piece.face is Face.OUTSIDE and _is(state, layer, Duty.PRIMER, Duty.FILLER):
        return next((x for x in reversed(below) if _is(state, x, Duty.BASE, Duty.CLEAR)), None)
    return None
