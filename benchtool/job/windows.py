"""The windows of a job: built once from the state, then asked about any moment."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from benchtool.job.airhistory import Ending
from benchtool.job.cards import Card, CardTime, Trait
from benchtool.job.events import Stirred
from benchtool.job.state import Coat, LayerState, Mix, State
from benchtool.job.trialwindows import trial_windows
from benchtool.job.window import FOR_GOOD, REMEMBERED, Window
from benchtool.trade.mixing import PartKind
from benchtool.trade.windows import Span, WindowKind

__all__ = [
    "FOR_GOOD", "REMEMBERED", "Window", "all_windows", "closes_by_recoat", "coats_within", "flash_span", "listed",
    "own_recoat_span", "pot_life_span", "recoat_span", "stand_span",
]  # fmt: skip


def all_windows(state: State) -> tuple[Window, ...]:
    """Give every window that the state holds, whatever the time, in the order of pieces and layers, then of trials.

    Strips that were put away wait for nothing any more.
    """
    holders = _holders(state)
    away = {s.piece for t in state.trials.values() if t.ended_at is not None for s in t.plan.strips}
    pieces = (p for p in state.pieces.values() if p.id not in away)
    layers = tuple(w for piece in pieces for x in piece.layers for w in _of_layer(state, x, holders))
    return (*layers, *trial_windows(state)) if state.trials else layers


def _holders(state: State) -> dict[str, str]:
    """Say under which layer each cup is told, by its id: the one it was begun for, else the first that shares it."""
    holders: dict[str, str] = {}
    for piece in state.pieces.values():
        for layer in piece.layers:
            for mix_id in layer.mixes:
                if state.mixes[mix_id].made.layer == layer.id:
                    holders[mix_id] = layer.id
                holders.setdefault(mix_id, layer.id)
    return holders


def listed(windows: tuple[Window, ...], now: datetime) -> tuple[Window, ...]:
    """Leave out windows that no longer tell anything: cured, taped and dead pots of some time ago."""
    return tuple(w for w in windows if w.needed or now - _last_edge(w, now) < REMEMBERED)


def _last_edge(window: Window, now: datetime) -> datetime:
    span = window.span
    if now < span.opens_at:
        return now
    if span.closes_at is not None:
        return min(span.closes_at, now)
    return span.opens_at


def _of_layer(state: State, layer: LayerState, holders: dict[str, str]) -> Iterator[Window]:
    for mix_id in dict.fromkeys(layer.mixes):
        mix = state.mixes[mix_id]
        if mix.emptied_at is None and mix.card is not None and holders[mix_id] == layer.id:
            yield from _of_mix(state, layer, mix.card, mix)
    done = layer.last_done
    if done is None or done.done_at is None or layer.open_coat is not None:
        return
    card = done.card
    if card is None:
        return
    over = state.piece_of(layer).over(layer)
    covered = over is not None and over.started
    if covered:
        return
    if layer.coats_done < layer.plan.coats:
        yield from _flash(state, layer, card, done)
        return
    if over is not None:
        yield from _recoat(state, layer, card, done, state.layer_name(over))
    if card.tape is not None:
        span = _wait(layer, done.done_at, card.tape, card, CardTime.TAPE, done)
        yield _window(state, layer, WindowKind.TAPE, span, done)
    if card.cure is not None:
        span = _wait(layer, done.done_at, card.cure, card, CardTime.CURE, done)
        yield _window(state, layer, WindowKind.CURE, span, done)


def _window(
    state: State,
    layer: LayerState,
    kind: WindowKind,
    span: Span,
    coat: Coat | None = None,
    then: str = "",
    mix: Mix | None = None,
    needed: bool = False,
    scuffs: bool = False,
) -> Window:
    piece = state.piece_of(layer)
    return Window(
        piece=piece.id,
        piece_name=piece.piece.name,
        layer=layer.id,
        layer_name=state.layer_name(layer),
        kind=kind,
        coat=coat.number if coat is not None else None,
        span=span,
        then=then,
        mix=mix.id if mix is not None else None,
        needed=needed,
        behind_clear=piece.piece.face == "behind clear",
        scuffs=scuffs,
    )


def _ending(
    holder: LayerState | Mix, start: datetime, wait: timedelta, card: Card, time: CardTime, coat: Coat | None
) -> Ending | None:
    """Give how a time ends on a piece, or in a cup."""
    if isinstance(holder, Mix):
        return holder.air.ending(start, wait, card, time)
    return holder.ending(start, wait, card, time, coat)


def _wait(
    holder: LayerState | Mix, start: datetime, wait: timedelta, card: Card, time: CardTime, coat: Coat | None = None
) -> Span:
    ending = _ending(holder, start, wait, card, time, coat)
    return Span(start, start + wait) if ending is None else Span(start, ending.at, opens_by=ending)


def _with_deadline(
    span: Span,
    holder: LayerState | Mix,
    wait: timedelta | None,
    card: Card,
    time: CardTime,
    coat: Coat | None = None,
) -> Span:
    if wait is None:
        return span
    start = span.started_at
    ending = _ending(holder, start, wait, card, time, coat)
    closes_at = start + wait if ending is None else ending.at
    return Span(start, span.opens_at, closes_at, span.opens_by, ending)


def stand_span(card: Card, mix: Mix) -> tuple[Span, str] | None:
    """Say which stand time of this mix ends last, and what follows it; None where none runs.

    Reducing a mix early cuts its first stand time short by nothing: both must be over before it is sprayed.
    """
    reduced, activated = mix.stirred.get(Stirred.REDUCED), mix.stood_from
    spans = []
    if reduced is not None and card.stand_reduced is not None:
        spans.append(_wait(mix, reduced, card.stand_reduced, card, CardTime.STAND_REDUCED))
    if activated is not None and card.stand is not None:
        spans.append(_wait(mix, activated, card.stand, card, CardTime.STAND))
    if not spans:
        return None
    waits_for_reducer = reduced is None and mix.has(PartKind.REDUCER)
    return max(spans, key=lambda s: s.opens_at), "reduce it" if waits_for_reducer else "spray"


def pot_life_span(card: Card, mix: Mix) -> Span | None:
    """Say from when to when this mix may be used; None where nothing is activated or the card is silent."""
    start = mix.activated_at
    if card.pot_life is None or start is None:
        return None
    return _with_deadline(Span(start, start), mix, card.pot_life, card, CardTime.POT_LIFE)


def _of_mix(state: State, layer: LayerState, card: Card, mix: Mix) -> Iterator[Window]:
    wanted = any(x.plan.card == mix.made.card and not x.finished for x in state.layers.values())
    stand = stand_span(card, mix)
    sprayed = any(c.mix == mix.id for x in state.layers.values() for c in x.coats)
    if stand is not None and not sprayed:
        span, then = stand
        yield _window(state, layer, WindowKind.STAND, span, then=then, mix=mix, needed=wanted)
    life = pot_life_span(card, mix)
    if life is not None:
        yield _window(state, layer, WindowKind.POT_LIFE, life, mix=mix, needed=wanted)


def coats_within(card: Card) -> tuple[timedelta, CardTime] | None:
    """Say by when the next coat of the same layer has to be on, from the end of the last one; None for at any time.

    Where the card gives no longest flash, its recoat window is the one for going over itself too (UFGS-09971, Exterior
    Coating of Steel Structures, gives the recoat window of polyurethane over polyurethane and takes off the gloss
    after it). It is never over before the flash.
    """
    if card.flash_most is not None:
        return card.flash_most, CardTime.FLASH_CLOSES
    if not closes_by_recoat(card):
        return None
    assert card.recoat_closes is not None
    return max(card.recoat_closes, card.flash or timedelta(0)), CardTime.RECOAT_CLOSES


def _flash(state: State, layer: LayerState, card: Card, done: Coat) -> Iterator[Window]:
    span = flash_span(card, layer, done)
    if span is not None:
        then, scuffs = f"coat {done.number + 1}", closes_by_recoat(card)
        yield _window(state, layer, WindowKind.FLASH, span, done, then, needed=True, scuffs=scuffs)


def closes_by_recoat(card: Card) -> bool:
    """Whether it is the recoat window that closes between two coats of a layer: a scuff opens it again.

    Not of a metallic: one more light coat of it is what opens it again (common practice, no source).
    """
    return card.flash_most is None and card.recoat_closes is not None and Trait.METALLIC not in card.traits


def flash_span(card: Card, layer: LayerState, done: Coat) -> Span | None:
    """Say when the next coat of a layer may go on the coat that is `done`; None where the card gives no flash."""
    if card.flash is None or done.done_at is None:
        return None
    within = coats_within(card)
    span = _wait(layer, done.done_at, card.flash, card, CardTime.FLASH, done)
    if within is None:
        return span
    closing = _with_deadline(span, layer, within[0], card, within[1], done)
    return _scuffed_open(closing, span, layer) if closes_by_recoat(card) else closing


def own_recoat_span(layer: LayerState) -> Span | None:
    """Say when the next coat of a layer that is not finished may go on, where it is its recoat window that closes."""
    last = layer.last_done
    if layer.finished or last is None or last.card is None or not closes_by_recoat(last.card):
        return None
    return flash_span(last.card, layer, last)


def recoat_span(card: Card, layer: LayerState) -> Span | None:
    """Say when the next layer may go on this one; after it closes only a scuff opens it again.

    A card that gives no recoat time still asks for its flash before anything goes over a coat. A scuff opens what has
    closed and shortens no wait.
    """
    done = layer.last_done
    wait, time = card.recoat_opens, CardTime.RECOAT_OPENS
    if wait is None:
        wait, time = card.flash, CardTime.FLASH
    if wait is None or done is None or done.done_at is None:
        return None
    # Where neither air, heat nor film moves it, the same coat gives the same window: it is not worked out again.
    plain = not card.paces and not card.films and not layer.heat.stretches
    known = layer.known_recoat if plain else None
    if known is not None and known[0] is card and known[1:3] == (done.done_at, layer.scuffed_at):
        return known[3]
    span = _recoat_of(card, layer, done, done.done_at, wait, time)
    if plain:
        layer.known_recoat = (card, done.done_at, layer.scuffed_at, span)
    return span


def _recoat_of(card: Card, layer: LayerState, done: Coat, done_at: datetime, wait: timedelta, time: CardTime) -> Span:
    opening = _wait(layer, done_at, wait, card, time, done)
    return _scuffed_open(
        _with_deadline(opening, layer, card.recoat_closes, card, CardTime.RECOAT_CLOSES, done), opening, layer
    )


def _scuffed_open(span: Span, opening: Span, layer: LayerState) -> Span:
    """Open a window again that was scuffed after it closed; a scuff shortens no wait."""
    scuffed = layer.scuffed_at
    if span.closes_at is not None and scuffed is not None and scuffed >= span.closes_at:
        return Span(span.started_at, scuffed) if scuffed >= opening.opens_at else opening
    return span


def _recoat(state: State, layer: LayerState, card: Card, done: Coat, then: str) -> Iterator[Window]:
    span = recoat_span(card, layer)
    if span is not None:
        yield _window(state, layer, WindowKind.RECOAT, span, done, then, needed=True)
