"""Which cautions belong to which step: each is said where it matters, and not at every step of a product."""

from collections.abc import Iterable
from enum import StrEnum

from benchtool.job.cards import Card, Hazard
from benchtool.job.cup import Mix
from benchtool.job.stack import LayerState


class Moment(StrEnum):
    """What the painter's hands do next."""

    MIX = "mix"
    SPRAY = "spray"
    SAND = "sand"
    CURE = "cure"
    CLEAN_UP = "clean up"


_AT = {
    Hazard.ISOCYANATES: (Moment.MIX, Moment.SPRAY),
    Hazard.SOLVENT: (Moment.MIX, Moment.SPRAY, Moment.CLEAN_UP),
    Hazard.DUST: (Moment.SAND,),
    Hazard.CHROMATE: (Moment.SPRAY, Moment.SAND),
    Hazard.PEROXIDE: (Moment.MIX,),
    Hazard.EPOXY: (Moment.MIX, Moment.SPRAY),
    Hazard.ACID: (Moment.MIX, Moment.SPRAY),
    Hazard.UV_LAMP: (Moment.CURE,),
    Hazard.OILY_RAGS: (Moment.CLEAN_UP,),
}


def hazards_at(moments: Iterable[Moment], hazards: Iterable[Hazard]) -> tuple[Hazard, ...]:
    """Pick the hazards of a product that matter at any of these moments, in the order that its card names them."""
    asked = frozenset(moments)
    return tuple(h for h in hazards if not asked.isdisjoint(_AT[h]))


def moments_of_cup(*, begun: bool, stirred: bool, sprayed: bool) -> tuple[Moment, ...]:
    """Say what a cup asks of the hands next: mixing it, spraying from it, and once sprayed from also cleaning up."""
    if not begun or not stirred:
        return (Moment.MIX,)
    return (Moment.SPRAY, Moment.CURE, Moment.CLEAN_UP) if sprayed else (Moment.SPRAY,)


def hazards_of(card: Card, layer: LayerState, mix: Mix | None) -> tuple[Hazard, ...]:
    """Pick the hazards of `card` that matter for what the hands do next on `layer`, with `mix` as its cup."""
    sprayed = mix is not None and any(c.mix == mix.id for c in layer.coats)
    moments = moments_of_cup(begun=mix is not None, stirred=mix is not None and bool(mix.stirred), sprayed=sprayed)
    return hazards_at(moments, card.hazards)
