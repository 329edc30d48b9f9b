"""When a painted piece may be used, worked out of its last coats: what the customer asks who takes it home.

For each use the latest instant counts over all layers that have one. A layer has one where its card says so for this
use (`Card.care`), else where the card says when it is cured: to wash, wax, bend and pack a piece only once its paint is
cured is common practice, no source. Dust-free and ready for the next coat say nothing of a hand on the paint: neither
is asked here. Where the card says nothing that tells, nothing is known.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from enum import StrEnum

from benchtool.job.cards import Card, CardTime, Care
from benchtool.job.drying import Heat
from benchtool.job.state import Coat, LayerState, PieceState, State
from benchtool.trade.windows import FOR_GOOD


class Use(StrEnum):
    """What may be done with a painted piece, in the order in which it usually may."""

    TOUCH = "touch"
    TAPE = "tape"
    POST = "post"
    WASH = "wash"
    BEND = "bend"
    WAX = "wax"


class Whence(StrEnum):
    """What says from when on a piece may be used so."""

    CARD = "what the card says of this use"
    TAPE = "when tape may touch it"
    CURE = "when it is cured"


@dataclass(frozen=True, slots=True)
class Allowed:
    """From when on (UTC) a use is allowed, what says so, and the layer that takes longest."""

    at: datetime
    by: Whence
    layer: str


@dataclass(frozen=True, slots=True)
class CareTimes:
    """What is known of a piece: `last_coat` is when its last coat was done, None while not all of its coats are on.

    `uses` holds the uses of which something is known; it is empty while `last_coat` is None.
    """

    last_coat: datetime | None = None
    uses: dict[Use, Allowed] = field(default_factory=dict)

    @property
    def all_on(self) -> bool:
        """Whether all coats are on, so that times can be told."""
        return self.last_coat is not None


def care_times(state: State, piece: PieceState, now: datetime | None = None) -> CareTimes:
    """Work out when `piece` may be used, by the coats that are on it.

    Of a use whose outermost layer has no time nothing is told, whatever is known of the layers under it: it is the
    outermost one that is touched, washed and waxed. No use is told for sooner than the touch that it takes. With `now`,
    heat that is on then is not counted on from then on: whoever takes the piece home takes it out of the heat.
    """
    last_coat = finished_at(piece)
    if last_coat is None:
        return CareTimes()
    heat = _heat_until(piece.heat, now)
    painted = [replace(layer, heat=heat) for layer in piece.layers if layer.started]
    found = {use: ends for use in Use if (ends := _latest(state, painted, use)) is not None}
    touch = found.get(Use.TOUCH)
    if touch is not None:
        found = {use: ends if ends.at >= touch.at else touch for use, ends in found.items()}
    return CareTimes(last_coat, {use: ends for use, ends in found.items() if ends.at < FOR_GOOD})


def _heat_until(heat: Heat, now: datetime | None) -> Heat:
    """Give the heat on a piece as if it were taken off at `now`; None for as it stands."""
    if now is None or heat.on is None or heat.on.started_at >= now:
        return heat
    return Heat([*heat.stretches[:-1], replace(heat.on, ended_at=now)])


def cured_at(state: State, layer: LayerState) -> datetime | None:
    """Give when the coats on a layer are all cured, by all cards that speak of any of them; None if none does."""
    every = [(coat, card) for coat in layer.coats for card in _cards(state, coat)]
    return max((end[0] for coat, card in every if (end := _cured(layer, coat, card)) is not None), default=None)


def finished_at(piece: PieceState) -> datetime | None:
    """Give when the last coat of a piece was done; None while a coat is planned, or one on it was never ended.

    A layer that was begun and then covered counts with the coats that it has.
    """
    if piece.top is None or piece.current is not None:
        return None
    coats = [coat for layer in piece.layers for coat in layer.coats]
    ended = [coat.done_at for coat in coats if coat.done_at is not None]
    return max(ended) if ended and len(ended) == len(coats) else None


# --- one use -----------------------------------------------------------------------------------------


def _latest(state: State, painted: list[LayerState], use: Use) -> Allowed | None:
    ends = [(layer, _of_layer(state, layer, use, outermost=layer is painted[-1])) for layer in painted]
    if ends[-1][1] is None:
        return None
    told = [Allowed(*end, layer.id) for layer, end in ends if end is not None]
    return max(told, key=lambda t: t.at)


def _of_layer(state: State, layer: LayerState, use: Use, *, outermost: bool) -> tuple[datetime, Whence] | None:
    """Give from when on one layer allows a use: the latest of all its coats by all cards that speak of any of them."""
    cards = {id(card): card for coat in layer.coats for card in _cards(state, coat)}.values()
    every = [(coat, card) for coat in layer.coats for card in cards]
    ends = [end for coat, card in every if (end := _own(layer, coat, card, use)) is not None]
    if use is Use.TOUCH and outermost:
        ends = ends or [end for coat, card in every if (end := _other(layer, coat, card)) is not None]
    if outermost or use not in (Use.TOUCH, Use.TAPE):  # neither hand nor tape comes to what is covered
        ends = ends or [end for coat, card in every if (end := _cured(layer, coat, card)) is not None]
    return max(ends, default=None)


def _cards(state: State, coat: Coat) -> Iterator[Card]:
    """Give the card by which a coat went, and the job's newest copy of it.

    A use is often asked for, and written on the card, only when the paint is on.
    """
    if coat.card is None:
        return
    yield coat.card
    newest = state.cards.get(coat.card.id)
    if newest is not None and newest is not coat.card:
        yield newest


def _own(layer: LayerState, coat: Coat, card: Card, use: Use) -> tuple[datetime, Whence] | None:
    """Give what the card says of this very use."""
    if use is Use.TAPE:
        return _ends(layer, coat, card, card.tape, CardTime.TAPE, Whence.TAPE)
    return _ends(layer, coat, card, card.care.get(Care(use.value)), CardTime.CURE, Whence.CARD)


def _other(layer: LayerState, coat: Coat, card: Card) -> tuple[datetime, Whence] | None:
    """Give the soonest of what the card says of other uses: what may be taped, washed or packed may be touched."""
    ends = [_own(layer, coat, card, use) for use in Use if use is not Use.TOUCH]
    return min((end for end in ends if end is not None), default=None)


def _cured(layer: LayerState, coat: Coat, card: Card) -> tuple[datetime, Whence] | None:
    return _ends(layer, coat, card, card.cure, CardTime.CURE, Whence.CURE)


def _ends(
    layer: LayerState, coat: Coat, card: Card, wait: timedelta | None, time: CardTime, by: Whence
) -> tuple[datetime, Whence] | None:
    """Give when a wait from the end of a coat is over in the air and the heat.

    What the card says of a use is never cut short by heat or warm air: what cuts its cure short says nothing of that.
    """
    if wait is None or coat.done_at is None:
        return None
    at = layer.ends(coat.done_at, wait, card, time, coat)
    return (max(at, coat.done_at + wait) if by is Whence.CARD else at), by
