"""What a finished job offers to the next one's copy of a card: longer waits and reductions that really were good.

Nothing of it is taken by itself. A wait is never offered shorter than the card has it.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import median
from typing import Any

from msgspec.structs import replace

from benchtool.job.cards import Card, CardTime, Gun, Origin, OriginKind
from benchtool.job.learned import waits_on
from benchtool.job.nextstep import out_of_ratio
from benchtool.job.state import LayerState, Mix, State
from benchtool.session.learningsums import OwnWait, learned_waits
from benchtool.trade.durations import write_span
from benchtool.trade.mixing import NotAShare, Of, PartKind, Share, parse_share, reduction_of
from benchtool.trade.saying import say, say_n


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """One value of a card that may be changed in the new job: the card, the field, the new value, and why in words.

    `gun` is that of a reduction; `cases` is how many waits or cups stand behind it.
    """

    card: str
    field: str
    value: timedelta | str
    words: str
    cases: int
    gun: Gun | None = None

    @property
    def key(self) -> str:
        """What tells this offer from the others."""
        return "|".join((self.card, self.field, self.gun.value if self.gun is not None else ""))


def offers(state: State, pieces: Iterable[str], cards: dict[str, Card]) -> tuple[Offer, ...]:
    """Give what the record of these pieces (ids) offers for these cards, by id, that the new job shall have."""
    layers = [(state.pieces[p], x) for p in pieces for x in state.pieces[p].layers]
    waits = [w for piece, layer in layers for w in waits_on(state, piece, layer)]
    found: list[Offer] = []
    for card in cards.values():
        found += (_wait(card, own) for own in learned_waits(card, waits) if own.time in _OFFERED)
        found += _reductions(state, card, [layer for _, layer in layers if layer.plan.card == card.id])
    return tuple(found)


# --- waits -------------------------------------------------------------------------------------------

_OFFERED = (CardTime.FLASH, CardTime.RECOAT_OPENS)


def _wait(card: Card, own: OwnWait) -> Offer:
    n, told = own.cases, say("{own}, the card says {card}", own=write_span(own.value), card=write_span(own.by_card))
    if own.time is CardTime.FLASH:
        words = say_n(
            "{name}: between coats you waited {told} ({n} case). Take your own as its flash.",
            "{name}: between coats you waited {told} ({n} cases). Take your own as its flash.",
            n,
            name=card.name,
            told=told,
        )
    else:
        words = say_n(
            "{name}: before the next layer you waited {told} ({n} case). Take your own as its recoat time.",
            "{name}: before the next layer you waited {told} ({n} cases). Take your own as its recoat time.",
            n,
            name=card.name,
            told=told,
        )
    return Offer(card=card.id, field=own.field, value=own.value, words=words, cases=n)


# --- reductions --------------------------------------------------------------------------------------


def _reductions(state: State, card: Card, layers: Sequence[LayerState]) -> Iterator[Offer]:
    """Offer, for each gun, a reduction other than the usual one, where every cup sprayed was as the card allows."""
    by_gun: dict[Gun, list[Mix]] = {}
    for layer in layers:
        sprayed = dict.fromkeys(c.mix for c in layer.coats if c.mix in state.mixes)
        for mix_id in sprayed:
            mix = state.mixes[mix_id or ""]
            known = by_gun.setdefault(mix.made.gun, [])
            if all(x is not mix for x in known):
                known.append(mix)
    for gun, cups in by_gun.items():
        found = _own_reduction(card, gun, cups)
        if found is not None:
            yield found


def _own_reduction(card: Card, gun: Gun, cups: Sequence[Mix]) -> Offer | None:
    reduction = card.reduction(gun)
    if reduction is None or any(out_of_ratio(card, cup) for cup in cups):
        return None
    try:
        least, usual, most = (parse_share(x) for x in (reduction.least, reduction.usual, reduction.most))
        own = median([_poured_share(cup, usual) for cup in cups])
        text = _share_text(usual, own)
        written = parse_share(text)
    except (NotAShare, ZeroDivisionError):
        return None
    same_kind = least.of is usual.of is most.of and least.named == usual.named == most.named
    allowed = max((p.allowed for p in cups[0].parts if p.kind is PartKind.REDUCER), default=1.0)
    off = abs(own - usual.value) <= allowed * usual.value * (1 + 1e-9)
    if not same_kind or off or not least.value <= written.value <= most.value or written.of is not usual.of:
        return None
    words = say_n(
        "{name}: for the {gun} you reduced it {own}, the card's usual is {card} ({n} cup). Write yours as the usual.",
        "{name}: for the {gun} you reduced it {own}, the card's usual is {card} ({n} cups). Write yours as the usual.",
        name=card.name,
        gun=gun.value,
        own=written.words(),
        card=usual.words(),
        n=len(cups),
    )
    return Offer(card=card.id, field="reductions", value=text, words=words, cases=len(cups), gun=gun)


def _poured_share(cup: Mix, usual: Share) -> float:
    reducer = next((p for p in cup.parts if p.kind is PartKind.REDUCER), None)
    if reducer is None:
        raise NotAShare("no reducer")
    return cup.poured_mL.get(reducer.name, 0.0) / reduction_of(cup.parts, usual, cup.poured_mL)


def _share_text(like: Share, value: float) -> str:
    """Write a share of the same kind, as finely as a bench can measure it."""
    by = " by weight" if like.by_weight else ""
    if like.of is Of.PARTS:
        return f"{value:.3g}{by}"
    target = {Of.BASE: "base", Of.ACTIVATED: "the activated mix", Of.TOTAL: "total"}.get(like.of, like.named)
    return f"{100 * value:.3g} % of {target}{by}"


# --- taking them -------------------------------------------------------------------------------------


def with_offers(card: Card, taken: Iterable[Offer], title: str, day: date) -> Card:
    """Give the card with these offers taken, each with its origin: own measurement, from the job called `title`."""
    changed = card
    for offer in taken:
        if offer.card != card.id:
            continue
        words = say_n(
            "from the record of {job}, {n} case", "from the record of {job}, {n} cases", offer.cases, job=title
        )
        origin = Origin(kind=OriginKind.MEASURED, words=words, day=day.isoformat())
        values: dict[str, Any] = {offer.field: offer.value}
        if offer.gun is not None:
            values = {
                offer.field: tuple(
                    replace(r, usual=offer.value) if r.gun is offer.gun else r for r in changed.reductions
                )
            }
        changed = replace(changed, origins={**changed.origins, offer.field: origin}, **values)
    return changed
