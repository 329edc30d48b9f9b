"""What will be in the new job, said in sentences before it is made."""

from collections.abc import Iterable, Iterator
from datetime import datetime

from benchtool.job import events as ev
from benchtool.job.events import Again
from benchtool.job.state import LayerState, PieceState
from benchtool.session import again
from benchtool.session.again import Asked, Earlier
from benchtool.session.jobtext import promised_words
from benchtool.session.session import Session
from benchtool.trade.numbers import figure, shorten
from benchtool.trade.saying import say, say_n

MOST_NAMED = 6
"""So many pieces or layers are named in one sentence; the rest are counted."""


def _listed(words: Iterable[str]) -> str:
    told = [shorten(w, 60) for w in words]
    more = len(told) - MOST_NAMED
    if more <= 0:
        return ", ".join(told)
    return say("{names} and {n} more", names=", ".join(told[:MOST_NAMED]), n=more)


def summary(session: Session, earlier: Earlier, asked: Asked) -> tuple[str, ...]:
    """Say what the new job will hold, a sentence each; one sentence where nothing is chosen yet."""
    pieces = [p for p in earlier.pieces if p.id in asked.pieces]
    if not pieces:
        return (say("Choose at least one piece."),)
    told = [_name(asked)]
    told += _repeat(session, earlier, asked, pieces) if asked.how is Again.REPEAT else _touch_up(earlier, pieces)
    told += [say("It is a demo, as the earlier job is.")] if earlier.job.demo else []
    return tuple(told)


def _name(asked: Asked) -> str:
    title = shorten(asked.title)
    who = shorten(asked.customer)
    if who and asked.promised is not None:
        day = promised_words(asked.promised)
        return say("A new job, “{title}”, for {who}, promised {day}.", title=title, who=who, day=day)
    if who:
        return say("A new job, “{title}”, for {who}.", title=title, who=who)
    if asked.promised is not None:
        return say("A new job, “{title}”, promised {day}.", title=title, day=promised_words(asked.promised))
    return say("A new job, “{title}”.", title=title)


# --- a repeat ----------------------------------------------------------------------------------------


def _repeat(session: Session, earlier: Earlier, asked: Asked, pieces: list[PieceState]) -> Iterator[str]:
    layers = [x for p in pieces for x in p.layers]
    planned = [x for x in layers if earlier.state.card_of(x) is not None]
    n = say_n("{n} layer", "{n} layers", len(planned))
    names = _listed(_with_area(p, asked.areas.get(p.id)) for p in pieces)
    if planned:
        yield say("Planned on it: {pieces}, with {layers} and their colour notes.", pieces=names, layers=n)
    else:
        yield say("Planned on it: {pieces}, with no layers yet.", pieces=names)
    lost = [earlier.state.layer_name(x) for x in layers if earlier.state.card_of(x) is None]
    if lost:
        yield say("Left out, as their card is gone from the earlier job: {layers}.", layers=_listed(lost))
    yield from _cards(earlier, asked)
    yield from again.amount_words(session, earlier, asked)
    unscaled = [p for p in pieces if not _scaled(p, asked)]
    if again.amounts(earlier, asked) and unscaled:
        yield say(
            "Not scaled, as an area is not known: {pieces}. Type both and the amounts follow.",
            pieces=_listed(p.piece.name for p in unscaled),
        )
    yield say("Nothing of what was done comes along: no prep, no cups, no coats. The earlier job stays as it is.")


def _with_area(piece: PieceState, area_m2: float | None) -> str:
    name, before = piece.piece.name, piece.piece.area_m2
    if area_m2 is None:
        return name
    now, was = _area(area_m2), _area(before) if before is not None else ""
    if was in ("", now):
        return say("{piece} ({area})", piece=name, area=now)
    return say("{piece} ({area}, was {before})", piece=name, area=now, before=was)


def _area(area_m2: float) -> str:
    """Say it in the unit of the fields beside it."""
    return f"{figure(area_m2, 3)} m²"


def _scaled(piece: PieceState, asked: Asked) -> bool:
    return piece.piece.area_m2 is not None and asked.areas.get(piece.id) is not None


def _cards(earlier: Earlier, asked: Asked) -> Iterator[str]:
    cards = again.chosen_cards(earlier, asked)
    newer = [n for n in asked.newer if n.own.id in cards]
    taken = [o for o in again.offers_of(earlier, asked) if o in asked.taken]
    if not newer and not taken:
        yield say("Product cards: as the earlier job has them.")
    if newer:
        names = _listed(n.card.name for n in newer)
        yield say("Product cards: as the earlier job has them, but {names} as in your library now.", names=names)
    if taken:
        names = _listed(dict.fromkeys(cards[o.card].name for o in taken))
        yield say("Your own figures, marked as own measurements, in this job's copy of {names}.", names=names)
    for n in newer:
        yield from _gone(earlier, asked, n)


def _gone(earlier: Earlier, asked: Asked, newer: again.Newer) -> Iterator[str]:
    plans = [x.plan for p in asked.pieces for x in earlier.state.pieces[p].layers if x.plan.card == newer.own.id]
    names: dict[str, None] = {}
    for plan in plans:
        activator = newer.own.activator(plan.activator)
        if activator is not None and newer.card.activator(activator.id) is None:
            names[activator.name] = None
        for additive in (newer.own.additive(x) for x in plan.additives):
            if additive is not None and newer.card.additive(additive.id) is None:
                names[additive.name] = None
    if names:
        yield say(
            "{names} is no more on the newer card of {card}: choose another there.",
            names=_listed(names),
            card=newer.card.name,
        )


# --- a touch-up --------------------------------------------------------------------------------------


def _touch_up(earlier: Earlier, pieces: list[PieceState]) -> Iterator[str]:
    for piece in pieces[:MOST_NAMED]:
        yield _what_is_on(earlier, piece)
    if len(pieces) > MOST_NAMED:
        yield say("And what is on {n} more pieces.", n=len(pieces) - MOST_NAMED)
    yield say(
        "Prep, cups, cans, coats, film, heat, waivers and the air come along at the times they happened. "
        "Photos and trials stay with the earlier job."
    )
    spraying = [x for p in pieces for x in p.layers if x.open_coat is not None]
    if spraying:
        names = _listed(earlier.state.layer_name(x) for x in spraying)
        yield say("A coat is still being sprayed by this record: {layers}. Log it done there first.", layers=names)
    yield say("Then plan what goes on top: the bench says where the old paint wants a scuff first.")
    yield say("The earlier job stays as it is: go on with these pieces in the new one.")


def _what_is_on(earlier: Earlier, piece: PieceState) -> str:
    begun = [x for x in piece.layers if x.started]
    if not begun:
        return say("{piece}: no paint is on it yet.", piece=shorten(piece.piece.name))
    on = _listed(_coats(earlier, x) for x in begun)
    last = _last(begun)
    if last is None:
        return say("{piece}: {layers}.", piece=shorten(piece.piece.name), layers=on)
    day = f"{last.astimezone():%d %b %Y}"
    return say("{piece}: {layers}; the last coat on {day}.", piece=shorten(piece.piece.name), layers=on, day=day)


def _coats(earlier: Earlier, layer: LayerState) -> str:
    name, done = earlier.state.layer_name(layer), layer.coats_done
    if layer.finished:
        return say_n("{layer} ({n} coat)", "{layer} ({n} coats)", done, layer=name)
    return say("{layer} ({done} of {n} coats)", layer=name, done=done, n=layer.plan.coats)


def _last(layers: list[LayerState]) -> datetime | None:
    return max((c.done_at for x in layers for c in x.coats if c.done_at is not None), default=None)


def piece_words(earlier: Earlier, piece: PieceState, how: ev.Again) -> str:
    """Say in a line what of a piece would come over, to choose it by."""
    if how is Again.TOUCH_UP:
        return _what_is_on(earlier, piece).removeprefix(f"{shorten(piece.piece.name)}: ")
    planned = [earlier.state.layer_name(x) for x in piece.layers]
    return _listed(planned) if planned else say("no layers planned")
