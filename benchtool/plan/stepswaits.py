"""The waits of a plan as links: by the card, in the air expected, and so none shorter than the watch says."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from benchtool.job.cards import Card, CardTime
from benchtool.job.drying import Heat, OnPiece
from benchtool.job.state import LayerState, State
from benchtool.job.windows import coats_within
from benchtool.plan.work import Link, Task
from benchtool.trade.saying import say
from benchtool.trade.windows import FOR_GOOD, Span, WindowKind

Opens = Callable[[datetime], datetime]
Closes = Callable[[datetime], datetime | None]

SAMPLES_H = (0, 3, 6, 9, 12, 15, 18, 21, 24, 36, 48)
"""How long from now (h) a time is looked at that goes with the air: over a night and a day it is as long as it gets."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """What a plan does not know: which piece and layer it is about, and a sentence."""

    job: str
    piece: str
    piece_name: str
    layer: str | None
    words: str


def at_once(end: datetime) -> datetime:
    """Open a wait of nothing."""
    return end


def never(_end: datetime) -> datetime | None:
    """Close at no time."""
    return None


def holds(layer: LayerState, card: Card, times: Iterable[CardTime], now: datetime) -> bool:
    """Say whether these times of a card are the same span whenever they begin: no air or film moves them."""
    if card.films:
        return False
    known = layer.air.last() is not None or layer.air.at(now) is not None
    return not known or all(card.pacing(time) is None for time in times)


def on_piece(layer: LayerState, wait: timedelta, card: Card, time: CardTime) -> Opens:
    """Give when a time on the piece that begins at the end of a coat to come is over.

    Heat that is on now is off by then: nobody sprays under it, and no plan knows whether it is put on again.
    """
    bare = OnPiece(Heat(), layer.film.um if layer.film is not None else None)
    return lambda end: layer.air.ends(end, wait, card, time, bare)


def in_cup(layer: LayerState, wait: timedelta, card: Card, time: CardTime) -> Opens:
    """Give when a time of a cup to come is over."""
    return lambda end: layer.air.ends(end, wait, card, time)


def of_span(span: Span) -> tuple[Opens, Closes]:
    """Give both ends of a window that runs already, just as the watch has them."""
    return (lambda _since: span.opens_at), (lambda _since: span.closes_at)


def running(
    span: Span,
    then: int | None,
    kind: WindowKind,
    words: str,
    remedy: Task | None = None,
    *,
    by_end: bool = False,
    remedy_lasts_s: float | None = None,
) -> Link:
    """Link what runs already to what follows it."""
    opens, closes = of_span(span)
    return Link(
        first=None,
        then=then,
        kind=kind,
        words=words,
        opens=opens,
        closes=closes,
        since=span.started_at,
        by_end=by_end,
        remedy=remedy,
        remedy_lasts_s=remedy_lasts_s,
    )


@dataclass(frozen=True, slots=True)
class Bound:
    """When a wait opens and closes, whether it is the same whenever it begins, and whether the card says it at all."""

    opens: Opens = at_once
    closes: Closes = never
    constant: bool = True
    told: bool = True


def flash_of(layer: LayerState, card: Card | None, now: datetime) -> Bound:
    """Give the wait between two coats of a layer."""
    if card is None or card.flash is None:
        return Bound(told=False)
    within, times = coats_within(card), [CardTime.FLASH]
    closes: Closes = never
    if within is not None:
        closes = on_piece(layer, within[0], card, within[1])
        times.append(within[1])
    fixed = holds(layer, card, times, now)
    return Bound(on_piece(layer, card.flash, card, CardTime.FLASH), closes, fixed)


def recoat_of(layer: LayerState, card: Card | None, now: datetime) -> Bound:
    """Give the wait from a layer's last coat to the next layer; a card without a recoat time asks for its flash."""
    if card is None or (card.recoat_opens is None and card.flash is None):
        return Bound(told=False)
    time = CardTime.FLASH if card.recoat_opens is None else CardTime.RECOAT_OPENS
    wait = card.flash if card.recoat_opens is None else card.recoat_opens
    assert wait is not None
    closes: Closes = never
    if card.recoat_closes is not None:
        closes = on_piece(layer, card.recoat_closes, card, CardTime.RECOAT_CLOSES)
    fixed = holds(layer, card, (time, CardTime.RECOAT_CLOSES), now)
    return Bound(on_piece(layer, wait, card, time), closes, fixed)


def longest_s(opens: Opens, now: datetime, *, constant: bool) -> float:
    """Give how long (s) a wait takes at most, wherever in the next two days it begins."""
    starts = [now] if constant else [now + timedelta(hours=h) for h in SAMPLES_H]
    return max((opens(at) - at).total_seconds() for at in starts)


def shortest_s(closes: Closes, now: datetime, *, constant: bool) -> float | None:
    """Give how long (s) there is at least until a deadline; None where there is none."""
    starts = [now] if constant else [now + timedelta(hours=h) for h in SAMPLES_H]
    ends = [(at, closes(at)) for at in starts]
    spans = [(end - at).total_seconds() for at, end in ends if end is not None and end < FOR_GOOD]
    return min(spans, default=None)


def silent_words(state: State, layer: LayerState, kind: WindowKind) -> str:
    """Say that the card of a layer gives no such time, so that the plan has none."""
    name = state.layer_name(layer)
    if kind is WindowKind.FLASH:
        return say("The card of {layer} says nothing of a flash between coats: the plan has no wait there.", layer=name)
    return say("The card of {layer} says nothing of when it may be recoated: the plan has no wait there.", layer=name)
