"""Which pieces a test strip has to prove before paint goes on: what the prep plan and the rules ask for alike."""

from benchtool.job.cards import Card, Chemistry, Duty
from benchtool.job.events import Known
from benchtool.trade.substrates import Material, Nature, Route, Substrate

UNNAMED_PAINT = "paint-unknown"
"""The row of the table of materials for old paint that nobody can name."""

_IN_A_WORKS = frozenset({Route.FLAME, Route.PLASMA})


def nothing_holds(substrate: Substrate) -> bool:
    """Whether nothing that is done at a bench makes paint hold: nothing at all, or flame and plasma only."""
    only_works = bool(substrate.routes) and _IN_A_WORKS.issuperset(substrate.routes)
    return Nature.NOTHING_HOLDS in substrate.natures or only_works


def unnamed_paint(substrate: Substrate, known: Known) -> bool:
    """Whether it is old paint of which nobody can say for certain what it is."""
    unsure = known in (Known.GUESSED, Known.UNKNOWN)
    return substrate.material is Material.PAINT and (unsure or substrate.id == UNNAMED_PAINT)


def locks_in(card: Card) -> bool:
    """Whether a layer of this card keeps old paint from what comes over it: a sealer, or a two-part primer."""
    two_part = card.two_part and card.chemistry in (Chemistry.EPOXY, Chemistry.URETHANE)
    return card.duty is Duty.SEALER or (card.duty is Duty.PRIMER and two_part)
