"""Lots: one can or bottle of a product, and how long it is good for.

A lot belongs to the shop. A job that pours from it carries its own copy, as it carries its cards.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Annotated, NamedTuple

from msgspec import Meta
from msgspec.structs import replace

from benchtool.job.cards import BASE_NAME, Card, Id, Millilitres, Name, Record, Text
from benchtool.trade.cost import per_mL

Instant = Annotated[datetime, Meta(tz=True)]
Filling = Annotated[float, Meta(gt=0, le=1_000_000)]
Price = Annotated[float, Meta(ge=0, le=1_000_000_000)]
_TIMES = ("got_on", "opened_on", "best_before", "counted_on")


class Lot(Record, frozen=True, kw_only=True):
    """One can or bottle: of which product card, for which part of its mix, and what the label says.

    `part` is the name the part has in the recipe (`Base`, the activator's or reducer's name), `number` the
    text on the can, `full_mL` what it held when full and `price` what that cost in the shop's currency.
    `got_on` is when it was made or bought. `counted_mL` is what was left in it at `counted_on`: from then
    on only what was poured later counts. `low_mL` is when to buy anew.
    """

    id: Id
    card: Id
    part: Name
    full_mL: Filling
    number: Annotated[str, Meta(max_length=200)] = ""
    price: Price | None = None
    got_on: Instant | None = None
    opened_on: Instant | None = None
    best_before: Instant | None = None
    keeps_opened: timedelta | None = None
    low_mL: Millilitres | None = None
    counted_mL: Millilitres | None = None
    counted_on: Instant | None = None
    note: Text = ""

    @property
    def words(self) -> str:
        """Name the lot: its part, and the number on the can where it has one."""
        return f"{self.part} (lot {self.number})" if self.number else self.part

    @property
    def price_per_mL(self) -> float | None:
        """What 1 mL of it costs; None where no price is known."""
        return None if self.price is None else per_mL(self.price, self.full_mL)

    @property
    def held_mL(self) -> float:
        """What was in it when it was last counted, else when it was full."""
        return self.full_mL if self.counted_mL is None else self.counted_mL


@dataclass(frozen=True, slots=True)
class GoodUntil:
    """To when a lot is good, and what says so."""

    at: datetime
    why: str


def good_until(lot: Lot, card: Card | None) -> GoodUntil | None:
    """Say to when a lot is good: the earliest of what its can, its opening and its card say; None if nothing does.

    An opened lot keeps for `lot.keeps_opened`, else for what the card says of its part. One without a date on
    the can keeps for what the card says of its part unopened, from when it was got.
    """
    ends = []
    unopened, opened = _card_keeps(lot.part, card) if card is not None else _UNKNOWN
    if lot.best_before is not None:
        ends.append(GoodUntil(lot.best_before, "the date on the can"))
    keeps = lot.keeps_opened if lot.keeps_opened is not None else opened
    if lot.opened_on is not None and keeps is not None:
        ends.append(GoodUntil(lot.opened_on + keeps, "how long it keeps once opened"))
    if lot.best_before is None and lot.got_on is not None and unopened is not None:
        ends.append(GoodUntil(lot.got_on + unopened, "its shelf life"))
    return min(ends, key=lambda e: e.at, default=None)


class _Keeps(NamedTuple):
    """How long a can is good for: unopened from when it was got, and from when it was opened."""

    unopened: timedelta | None = None
    opened: timedelta | None = None


_UNKNOWN = _Keeps()


def _card_keeps(part: str, card: Card) -> _Keeps:
    if part == BASE_NAME:
        return _Keeps(card.keeps, card.keeps_opened)
    activator = next((a for a in card.activators if a.name == part), None)
    if activator is not None:
        return _Keeps(activator.keeps, activator.keeps_opened)
    return _Keeps(card.reducer_keeps, card.reducer_keeps_opened) if part == card.reducer else _UNKNOWN


def in_utc(lot: Lot) -> Lot:
    """Give the lot with its times in UTC.

    Raises:
        ValueError: a time does not say its zone.
        OverflowError: a time lies outside of the calendar.
    """
    changed = {}
    for name in _TIMES:
        at: datetime | None = getattr(lot, name)
        if at is not None and at.tzinfo is not UTC:
            if at.tzinfo is None:
                raise ValueError(f"the time {at.isoformat()} does not say its zone")
            changed[name] = at.astimezone(UTC)
    return replace(lot, **changed) if changed else lot


def moved(lot: Lot, by: timedelta) -> Lot:
    """Give the lot with all its times moved by `by`."""
    return replace(lot, **{k: at + by for k in _TIMES if (at := getattr(lot, k)) is not None})


def times(lot: Lot) -> Iterator[tuple[str, datetime]]:
    """Give the path and the instant of each time on a lot."""
    for name in _TIMES:
        at: datetime | None = getattr(lot, name)
        if at is not None:
            yield f".{name}", at
