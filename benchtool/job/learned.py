"""What one job's record shows of the painter's own times and hands: waits, cups and pours, each as one case.

Nothing is judged here beyond what the card itself says; sums over many cases are drawn elsewhere.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import pairwise

from benchtool.job.cards import Card, CardTime
from benchtool.job.cup import Mix
from benchtool.job.events import Prep, Stirred
from benchtool.job.learnedcases import CupUse, How, Learned, Place, PourOff, Wait
from benchtool.job.stack import Coat, LayerState, PieceState
from benchtool.job.state import State
from benchtool.job.windows import closes_by_recoat
from benchtool.trade.mixing import MissingDensity, NotAShare, PartKind, measured_by
from benchtool.trade.windows import FOR_GOOD

WORK = frozenset({Prep.WASH, Prep.RELEASE_WASH, Prep.DEGREASE, Prep.ABRADE, Prep.SCUFF, Prep.WATER_BREAK})
"""What is done to a finished piece only once its paint bears it."""


def learned(state: State) -> Learned:
    """Give what the standing events of a job show; what was taken back is not there, and times are as corrected."""
    mixes = tuple(state.mixes.values())
    return Learned(
        (*_on_pieces(state), *(w for mix in mixes for w in _in_cup(state, mix))),
        tuple(use for mix in mixes if (use := _use(state, mix)) is not None),
        tuple(p for mix in mixes for p in _pours(state, mix)),
    )


def _place(state: State, layer: LayerState | None) -> Place:
    if layer is None or layer.piece not in state.pieces:
        return Place(piece="", piece_name="", layer="", layer_name="")
    piece = state.piece_of(layer)
    return Place(
        piece=piece.id,
        piece_name=piece.piece.name,
        layer=layer.id,
        layer_name=state.layer_name(layer),
        strip=bool(piece.piece.strip_of) or state.is_strip(piece),
    )


# --- on a piece --------------------------------------------------------------------------------------


def _on_pieces(state: State) -> Iterator[Wait]:
    for piece in state.pieces.values():
        for layer in piece.layers:
            yield from waits_on(state, piece, layer)


def waits_on(state: State, piece: PieceState, layer: LayerState) -> Iterator[Wait]:
    """Give the waits on one layer of a piece: between its coats, before the next layer, tape or other work."""
    place = _place(state, layer)
    yield from _flashes(layer, place)
    yield from _recoats(piece, layer, place)
    yield from _taped(piece, layer, place)
    yield from _cured(piece, layer, place)


def _ended(
    layer: LayerState, coat: Coat, place: Place, until: datetime, time: CardTime, closing: CardTime | None = None
) -> Iterator[Wait]:
    """Give the wait from a coat done to `until`, where its card gives that time or its end."""
    card, since = coat.card, coat.done_at
    if card is None or since is None or until < since:
        return
    by_card = _of(card, time)
    last = _of(card, closing) if closing is not None else None
    if by_card is None and last is None:
        return
    opens = layer.ends(since, by_card, card, time, coat) if by_card is not None else None
    closes = layer.ends(since, last, card, closing, coat) if last is not None and closing is not None else None
    yield Wait(
        card=card.id,
        card_name=card.name,
        time=time,
        place=place,
        coat=coat.number,
        since=since,
        until=until,
        by_card=by_card,
        closes_by_card=last,
        opens=_if_ever(opens),
        closes=_if_ever(closes),
        scuffed=_scuffed(layer, closes, until) if closing is CardTime.RECOAT_CLOSES else False,
    )


def _scuffed(layer: LayerState, closes: datetime | None, until: datetime) -> bool:
    at = layer.scuffed_at
    return closes is not None and at is not None and closes <= at <= until


def _of(card: Card, time: CardTime) -> timedelta | None:
    match time:
        case CardTime.FLASH:
            return card.flash
        case CardTime.FLASH_CLOSES:
            return card.flash_most
        case CardTime.RECOAT_OPENS:
            return card.recoat_opens
        case CardTime.RECOAT_CLOSES:
            return card.recoat_closes
        case CardTime.TAPE:
            return card.tape
        case _:
            return card.cure


def _if_ever(at: datetime | None) -> datetime | None:
    return at if at is not None and at < FOR_GOOD else None


def _flashes(layer: LayerState, place: Place) -> Iterator[Wait]:
    """Give the waits between the coats of a layer."""
    for before, after in pairwise(layer.coats):
        recoat = before.card is not None and closes_by_recoat(before.card)
        closing = CardTime.RECOAT_CLOSES if recoat else CardTime.FLASH_CLOSES
        yield from _ended(layer, before, place, after.started_at, CardTime.FLASH, closing)


def _recoats(piece: PieceState, layer: LayerState, place: Place) -> Iterator[Wait]:
    """Give the wait between the last coat of a layer and the first one of the layer that went over it."""
    over, last = piece.over(layer), layer.last_done
    if over is not None and over.coats and last is not None and layer.open_coat is None:
        began = over.coats[0].started_at
        yield from _ended(layer, last, place, began, CardTime.RECOAT_OPENS, CardTime.RECOAT_CLOSES)


def _taped(piece: PieceState, layer: LayerState, place: Place) -> Iterator[Wait]:
    last = layer.last_done
    if last is not None and last.done_at is not None:
        masked = (s.at for s in piece.steps if s.step is Prep.MASK and s.on_layer == layer.id and s.at >= last.done_at)
        yield from (w for at in [next(masked, None)] if at for w in _ended(layer, last, place, at, CardTime.TAPE))


def _cured(piece: PieceState, layer: LayerState, place: Place) -> Iterator[Wait]:
    """Give how long the last layer of a piece was left before it was worked on again."""
    last = layer.last_done
    if last is not None and last.done_at is not None and piece.over(layer) is None and layer.finished:
        worked = (s.at for s in piece.steps if s.step in WORK and s.on_layer == layer.id and s.at >= last.done_at)
        yield from (w for at in [next(worked, None)] if at for w in _ended(layer, last, place, at, CardTime.CURE))


# --- in a cup ----------------------------------------------------------------------------------------


def _sprayed(state: State, mix: Mix) -> list[datetime]:
    return sorted(c.started_at for x in state.layers.values() for c in x.coats if c.mix == mix.id)


def _in_cup(state: State, mix: Mix) -> Iterator[Wait]:
    card, place = mix.card, _place(state, state.layers.get(mix.made.layer))
    sprayed = _sprayed(state, mix)
    if card is None or not sprayed:
        return
    yield from _stood(card, mix, place, sprayed[0])
    yield from _stood_reduced(card, mix, place, sprayed[0])
    since = mix.activated_at
    if card.pot_life is not None and since is not None and since <= sprayed[-1]:
        closes = mix.air.ends(since, card.pot_life, card, CardTime.POT_LIFE)
        yield Wait(
            card=card.id,
            card_name=card.name,
            time=CardTime.POT_LIFE,
            place=place,
            coat=None,
            since=since,
            until=sprayed[-1],
            by_card=None,
            closes_by_card=card.pot_life,
            closes=_if_ever(closes),
        )


def _stand(card: Card, mix: Mix, place: Place, since: datetime, until: datetime, time: CardTime) -> Iterator[Wait]:
    wait = card.stand if time is CardTime.STAND else card.stand_reduced
    if wait is not None and since <= until:
        opens = _if_ever(mix.air.ends(since, wait, card, time))
        yield Wait(
            card=card.id,
            card_name=card.name,
            time=time,
            place=place,
            coat=None,
            since=since,
            until=until,
            by_card=wait,
            opens=opens,
        )


def _stood(card: Card, mix: Mix, place: Place, first: datetime) -> Iterator[Wait]:
    """Give the first stand time: until the mix was reduced, or sprayed where it takes no reducer."""
    since = mix.stood_from
    if since is None:
        return
    reducers = {p.name for p in mix.parts if p.kind is PartKind.REDUCER}
    reduced = [p.at for p in mix.pours if p.part in reducers and p.mL > 0]
    stirred = mix.first_stirred.get(Stirred.REDUCED)
    reduced += [stirred] if stirred is not None else []
    yield from _stand(card, mix, place, since, min([first, *reduced]), CardTime.STAND)


def _stood_reduced(card: Card, mix: Mix, place: Place, first: datetime) -> Iterator[Wait]:
    """Give the second stand time, from the last stirring before the first coat that is on record."""
    known = (mix.stirred.get(Stirred.REDUCED), mix.first_stirred.get(Stirred.REDUCED))
    since = next((at for at in known if at is not None and at <= first), None)
    if since is not None:
        yield from _stand(card, mix, place, since, first, CardTime.STAND_REDUCED)


# --- what was poured ---------------------------------------------------------------------------------


def _use(state: State, mix: Mix) -> CupUse | None:
    used = mix.emptied_at is not None or bool(_sprayed(state, mix))
    if mix.total_mL <= 0 or not used:
        return None
    return CupUse(
        card=mix.made.card,
        card_name=_name(state, mix),
        place=_place(state, state.layers.get(mix.made.layer)),
        at=mix.made.at,
        wanted_mL=mix.made.make_mL,
        poured_mL=mix.total_mL,
        left_mL=mix.left_mL if mix.emptied_at is not None else None,
    )


def _name(state: State, mix: Mix) -> str:
    card = mix.card or state.cards.get(mix.made.card)
    return card.name if card is not None else mix.made.card


def _pours(state: State, mix: Mix) -> Iterator[PourOff]:
    """Give how far each part was off that is measured by others.

    A reducer that the card gives a range for is the painter's own choice, and no error.
    """
    try:
        checks = mix.checks
        measured = [set(measured_by(mix.parts, i)) - {i} for i in range(len(mix.parts))]
    except (NotAShare, MissingDensity):
        return
    chosen = mix.card.reduction(mix.made.gun) if mix.card is not None else None
    for part, check, others in zip(mix.parts, checks, measured, strict=True):
        free = part.kind is PartKind.REDUCER and chosen is not None and chosen.least != chosen.most
        off, have = check.off_percent, check.poured_mL
        if free or not others or off is None or have is None or have <= 0:
            continue
        own = [p for p in mix.pours if p.part == part.name and p.mL > 0]
        yield PourOff(
            card=mix.made.card,
            card_name=_name(state, mix),
            place=_place(state, state.layers.get(mix.made.layer)),
            at=own[-1].at,
            part=part.name,
            how=how_measured([p.typed for p in own]),
            wanted_mL=have / (1 + off / 100),
            poured_mL=have,
            off_percent=off,
            allowed_percent=100 * part.allowed,
            within=check.within,
        )


def how_measured(typed: list[str]) -> How:
    """Say how a part was measured, from the words of its pours; one without any was only said to be as asked."""
    if not all(typed):
        return How.AS_ASKED
    if any(words.endswith("on the scale") for words in typed):
        return How.WEIGHED
    drops = any(word.strip(".,") in ("drop", "drops") for words in typed for word in words.lower().split())
    return How.DROPS if drops else How.MEASURED
