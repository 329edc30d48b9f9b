"""What a rule of the painter's own may look at, at one coat of one layer."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import Enum, auto

from benchtool.job.airhistory import air_read
from benchtool.job.cards import Card
from benchtool.job.events import Prep
from benchtool.job.state import LayerState, PieceState
from benchtool.rules.finding import Facts
from benchtool.rules.ownterms import BARE, Read
from benchtool.trade.air import Air, margin_K

OLD = timedelta(hours=4)
"""Readings are usually taken about every four hours while paint goes on or dries (practice beside ISO 8502-4)."""


class Missing(Enum):
    """Why there is nothing to look at."""

    NOWHERE = auto()
    """There is nothing that it could be: no paint under the first layer, no cup yet."""
    NEVER = auto()
    """What it counts from was never done."""


@dataclass(frozen=True, slots=True)
class Moment:
    """The coat that a rule is asked about: which of its layer, by which card, and when it begins or began."""

    facts: Facts
    piece: PieceState
    layer: LayerState
    card: Card | None
    number: int
    at: datetime
    place: int
    cup: str | None

    def before(self, at: datetime, place: int) -> bool:
        """Say whether something happened before this coat."""
        return (at, place) < (self.at, self.place)

    @property
    def under(self) -> LayerState | None:
        """The paint that the layer goes on: what is on, else what is planned; None for the bare piece."""
        below = self.piece.layers[: self.piece.place(self.layer)]
        return next((x for x in reversed(below) if x.started), below[-1] if below else None)


There = Read | frozenset[str] | Missing | None


def _substrate(m: Moment) -> There:
    return m.facts.tables.substrate_of(m.piece.piece).id


def _material(m: Moment) -> There:
    return m.facts.tables.substrate_of(m.piece.piece).material.value


def _goes_on(m: Moment) -> There:
    if m.under is None:
        return BARE
    card = m.facts.state.card_of(m.under)
    return card.duty.value if card is not None else None


def _chemistry(m: Moment) -> There:
    return m.card.chemistry.value if m.card is not None and m.card.chemistry is not None else None


def _chemistry_under(m: Moment) -> There:
    if m.under is None:
        return Missing.NOWHERE
    last = m.under.last_done
    card = last.card if last is not None else m.facts.state.card_of(m.under)
    return card.chemistry.value if card is not None and card.chemistry is not None else None


def _carrier(m: Moment) -> There:
    return m.card.carrier.value if m.card is not None and m.card.carrier is not None else None


def _card(m: Moment) -> There:
    return frozenset([m.card.id.lower(), " ".join(m.card.name.split()).lower()]) if m.card is not None else None


def _maker(m: Moment) -> There:
    return " ".join(m.card.maker.split()).lower() or None if m.card is not None else None


def _film(m: Moment) -> There:
    """The dry film of all layers as they are planned (um), measured where it was; None where a card gives none."""
    total = 0.0
    for layer in m.piece.layers:
        card = m.facts.state.card_of(layer)
        um = layer.film.um if layer.film is not None else card.film_um if card is not None else None
        if um is None:
            return None
        total += um * max(layer.plan.coats, len(layer.coats))
    return total


def _air(m: Moment) -> Air | None:
    """The air by the last reading that was not too old for it; None where there is none."""
    readings = m.facts.settled("own readings", lambda: _readings(m.facts))
    return next((air for at, air in reversed(readings) if at <= m.at and m.at - at <= OLD), None)


def _readings(facts: Facts) -> list[tuple[datetime, Air]]:
    good = ((r.at, air_read(r)) for r in facts.state.readings)
    return sorted(((at, air) for at, air in good if air is not None), key=lambda r: r[0])


def _temperature(m: Moment) -> There:
    air = _air(m)
    return air.air_degC if air is not None else None


def _humidity(m: Moment) -> There:
    air = _air(m)
    return air.humidity_percent if air is not None else None


def _margin(m: Moment) -> There:
    air = _air(m)
    return margin_K(air) if air is not None else None


def _since_step(m: Moment, steps: frozenset[Prep]) -> There:
    """How long ago the face that the layer goes on was worked so, last."""
    below = m.piece.layers[: m.piece.place(m.layer)]
    under = next((x.id for x in reversed(below) if x.started), None)
    done = [s.at for s in m.piece.steps if s.step in steps and s.on_layer == under and m.before(s.at, s.place)]
    return m.at - max(done) if done else Missing.NEVER


def _abraded(m: Moment) -> There:
    return _since_step(m, frozenset([Prep.ABRADE, Prep.SCUFF]))


def _cleaned(m: Moment) -> There:
    return _since_step(m, frozenset([Prep.WASH, Prep.RELEASE_WASH, Prep.DEGREASE]))


def _coat_under(m: Moment) -> There:
    under = m.under
    done = [c.done_at for c in under.coats if c.done_at is not None and c.done_at <= m.at] if under is not None else []
    return m.at - max(done) if done else Missing.NOWHERE


def _stirred(m: Moment) -> There:
    mix = m.facts.state.mixes.get(m.cup or "")
    if mix is None:
        return Missing.NOWHERE
    coat = next((c for c in m.layer.coats if c.number == m.number), None)
    cup = m.facts.mix_at(mix, coat) if coat is not None else mix
    done = [at for at in cup.stirred.values() if at <= m.at]
    return m.at - max(done) if done else Missing.NEVER


READERS: dict[str, Callable[[Moment], There]] = {
    "substrate": _substrate,
    "material": _material,
    "known": lambda m: m.piece.piece.known.value,
    "flex": lambda m: m.piece.piece.flex.value,
    "face": lambda m: m.piece.piece.face.value,
    "shape": lambda m: frozenset(s.value for s in m.piece.piece.shape),
    "layer": lambda m: m.card.duty.value if m.card is not None else None,
    "goes on": _goes_on,
    "chemistry": _chemistry,
    "chemistry under": _chemistry_under,
    "carrier": _carrier,
    "trait": lambda m: frozenset(t.value for t in m.card.traits) if m.card is not None else None,
    "card": _card,
    "maker": _maker,
    "gun": lambda m: m.layer.plan.gun.value,
    "coats": lambda m: max(m.layer.plan.coats, len(m.layer.coats)),
    "film": _film,
    "air temperature": _temperature,
    "air humidity": _humidity,
    "dew margin": _margin,
    "abraded": _abraded,
    "cleaned": _cleaned,
    "coat under": _coat_under,
    "stirred": _stirred,
}
