"""What the painter owns, for the job in hand: the scale, the cup that fits, the cans and their prices."""

from datetime import UTC, datetime

from benchtool.job.lots import Lot
from benchtool.job.shop import Shop
from benchtool.job.state import LayerState
from benchtool.session.session import Session
from benchtool.trade.measuring import Tool, ToolKind
from benchtool.trade.numbers import shorten
from benchtool.trade.units import VolumeUnit, volume_words
from benchtool.trade.vessel import Cup

_NEVER = datetime(9000, 1, 1, tzinfo=UTC)

HEADROOM = 1.15
"""A cup is chosen with so much room over the mix that it can be stirred (common practice, no source)."""


def shop_of(session: Session) -> Shop:
    """Give what the painter owns, the usual things where nothing is kept."""
    return session.shop.shop if session.shop is not None else _USUAL


_USUAL = Shop()


def scale_of(shop: Shop) -> Tool | None:
    """Give the finest scale of the shop."""
    scales = [t for t in shop.tools if t.kind is ToolKind.SCALE]
    return min(scales, key=lambda t: t.step, default=None)


def cup_for(shop: Shop, mL: float) -> Cup | None:
    """Give the cup in hand, else the smallest that holds so much and can be stirred; None where none does."""
    named = next((c for c in shop.cups if c.name == shop.cup), None)
    if named is not None:
        return named if named.capacity_mL >= mL else None
    fits = [c for c in shop.cups if c.capacity_mL >= HEADROOM * mL] or [c for c in shop.cups if c.capacity_mL >= mL]
    return min(fits, key=lambda c: c.capacity_mL, default=None)


def begun_cup(shop: Shop, make_mL: float, mL: float) -> Cup | None:
    """Give the cup that a mix was begun in, while it holds so much; then the one that does."""
    begun = cup_for(shop, make_mL)
    return begun if begun is not None and begun.capacity_mL >= mL else cup_for(shop, mL)


def no_room_words(shop: Shop, mL: float) -> str:
    """Say that the cup in hand, or every cup there is, is too small for so much."""
    named = next((c for c in shop.cups if c.name == shop.cup), None)
    if named is None:
        return f"No cup of yours holds {volume_words(mL, shop.unit)}: make less, or two cups."
    holds = volume_words(named.capacity_mL, shop.unit)
    return f"{named.name} holds {holds}: make less, or take another cup (O)."


def room_mL(shop: Shop) -> float | None:
    """Say how much the cup in hand holds, else the largest of the shop; None where no cup is known."""
    named = next((c for c in shop.cups if c.name == shop.cup), None)
    if named is not None:
        return named.capacity_mL
    return max((c.capacity_mL for c in shop.cups), default=None)


def money(amount: float, shop: Shop) -> str:
    """Write a price as the shop does."""
    return f"{amount:.2f} {shop.currency}".strip()


def prices_per_mL(session: Session, card: str) -> dict[str, float]:
    """Give the price of 1 mL of each part whose can is in hand and has a price."""
    document = session.current
    if document is None or session.shop is None:
        return {}
    found = {}
    for (owner, part), lot_id in document.state.in_hand.items():
        lot = document.state.lots.get(lot_id)
        price = session.shop.price_per_mL(lot) if lot is not None and owner == card else None
        if price is not None:
            found[part] = price
    return found


def left_mL(session: Session, card: str) -> dict[str, float]:
    """Say how much is left in the can in hand of each part; a can that the shop no longer has is passed over."""
    document = session.current
    if document is None or session.shop is None:
        return {}
    found = {}
    for (owner, part), lot_id in document.state.in_hand.items():
        left = session.shop.left_mL(lot_id) if owner == card else None
        if left is not None:
            found[part] = left
    return found


def lot_words(session: Session, card: str, part: str, unit: VolumeUnit) -> str:
    """Say which can this part comes from and what is left in it; empty where none is in hand."""
    document = session.current
    lot = document.state.lot_for(card, part) if document is not None else None
    if lot is None:
        return ""
    named = f"lot {lot.number}" if lot.number else "the can in hand"
    left = session.shop.left_mL(lot.id) if session.shop is not None else None
    if document is not None and document.job.demo:
        return f"from {named}; a demo draws nothing from your cans"
    if left is None:
        return f"from {named}"
    low = ", buy anew" if lot.low_mL is not None and left <= lot.low_mL else ""
    return f"from {named}, {volume_words(left, unit)} left{low}"


def cans_for(session: Session, layer: LayerState, part: str) -> tuple[Lot, ...]:
    """Give the cans of this part that are not empty, the one opened first leading."""
    if session.shop is None:
        return ()
    lots = session.shop.lots_for(layer.plan.card, part)
    full = [x for x in lots if (session.shop.left_mL(x.id) or 0.0) > 0] or list(lots)
    return tuple(sorted(full, key=lambda x: (x.opened_on is None, x.opened_on or x.best_before or _NEVER)))


def only_can(session: Session, card: str, part: str) -> Lot | None:
    """Give the can of this part to be taken without a word: none is in hand, and one alone has something in it."""
    document = session.current
    if session.shop is None or document is None or document.state.lot_for(card, part) is not None:
        return None
    full = [x for x in session.shop.lots_for(card, part) if (session.shop.left_mL(x.id) or 0.0) > 0]
    return full[0] if len(full) == 1 else None


def can_words(session: Session, lot: Lot) -> str:
    """Name a can for a button: its number and what is left."""
    left = session.shop.left_mL(lot.id) if session.shop is not None else None
    named = shorten(lot.number, 18) or "no number"
    return f"{named}, {volume_words(left, shop_of(session).unit)}" if left is not None else named
