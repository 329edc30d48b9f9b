"""The shop: what the painter owns and how they like to work. It belongs to no job."""

from collections.abc import Iterator
from datetime import date
from itertools import pairwise
from typing import Annotated

from msgspec import Meta, field
from msgspec.structs import force_setattr

from benchtool.job.cards import Gun, Millilitres, Record
from benchtool.job.lots import Lot
from benchtool.job.shophours import USUAL_HOURS, USUAL_MIN, ExtraOpening, Minutes, Opening, Takes
from benchtool.trade.film import TRANSFER_PERCENT
from benchtool.trade.measuring import USUAL_TOOLS, Tool
from benchtool.trade.mixing import PartKind
from benchtool.trade.units import VolumeUnit
from benchtool.trade.vessel import USUAL_CUPS, Cup

__all__ = ["Lot", "Shop", "shop_faults"]

MOST_TOLERANCE = 0.10
"""No shop lets a part be further off its share than this fraction of it: 10 % is what the trade takes for an activator,
and half of that for the rest (common practice, no source). Only the sheet of a product may allow more, on its card."""

Tolerance = Annotated[float, Meta(gt=0, le=0.5)]
TransferPercent = Annotated[float, Meta(gt=0, le=100)]
Rate = Annotated[float, Meta(gt=0, le=100_000)]
Count = Annotated[int, Meta(ge=0, le=20)]
Limit = Annotated[float, Meta(ge=0, le=25_000)]


class Shop(Record, frozen=True, kw_only=True, omit_defaults=False):
    """What stands on the bench, and the figures that the painter goes by where no card says better.

    `cup` names the cup in hand, empty where each mix takes the one that fits. `tolerance_activator` and
    `tolerance_rest` say how far a part may be off its share, as a fraction of it (None: what the trade takes); a wider
    one than `MOST_TOLERANCE`, as older files hold, is taken as that. By gun: `transfer_percent` is
    how much of the paint stays on the piece, `rate_mL_min` how fast it is sprayed. `loss_mL` stays in cup and
    hose. `currency` is what prices are followed by. `hours` are the openings of a week, `closed_days` the days on
    which it stays shut, and `extra` the openings of single days beside both; `booths`, `hands` (pairs of them) and
    `guns` of each kind say how much can go on at once, and `takes_min` how long (min) the hands take. All is written
    to the file, so that a later change of the usual ones changes nobody's shop.
    """

    tools: tuple[Tool, ...] = USUAL_TOOLS
    cups: tuple[Cup, ...] = USUAL_CUPS
    cup: str = ""
    unit: VolumeUnit = VolumeUnit.ML
    by_weight: bool = False
    tolerance_activator: Tolerance | None = None
    tolerance_rest: Tolerance | None = None
    transfer_percent: dict[Gun, TransferPercent] = field(
        default_factory=lambda: {gun: float(TRANSFER_PERCENT[gun.value]) for gun in Gun}
    )
    rate_mL_min: dict[Gun, Rate] = field(default_factory=dict)
    loss_mL: Millilitres = 0.0
    currency: Annotated[str, Meta(max_length=20)] = ""
    voc_limit_g_L: Limit | None = None
    hours: Annotated[tuple[Opening, ...], Meta(max_length=70)] = USUAL_HOURS
    closed_days: Annotated[tuple[date, ...], Meta(max_length=400)] = ()
    extra: Annotated[tuple[ExtraOpening, ...], Meta(max_length=400)] = ()
    booths: Count = 1
    hands: Count = 1
    guns: dict[Gun, Count] = field(default_factory=lambda: dict.fromkeys(Gun, 1))
    takes_min: dict[Takes, Minutes] = field(default_factory=lambda: dict(USUAL_MIN))

    def __post_init__(self) -> None:
        # A wide setting would silence the stop on a wrong dose of activator for every product at once.
        for name in ("tolerance_activator", "tolerance_rest"):
            if (getattr(self, name) or 0.0) > MOST_TOLERANCE:
                force_setattr(self, name, MOST_TOLERANCE)

    def tolerance(self, kind: PartKind) -> float | None:
        """How far a part of this kind may be off its share here, as a fraction of it; None where nothing is set."""
        return self.tolerance_activator if kind is PartKind.ACTIVATOR else self.tolerance_rest


def shop_faults(shop: Shop) -> Iterator[tuple[str, str]]:
    """Give the path and the message of each thing in a shop that can't be so."""
    both: dict[str, tuple[Opening | ExtraOpening, ...]] = {"hours": shop.hours, "extra": shop.extra}
    for name, openings in both.items():
        for i, opening in enumerate(openings):
            if opening.minutes[0] >= opening.minutes[1]:
                yield (
                    f".{name}[{i}].closes",
                    "it closes before it opens: write a night as two openings, up to 24:00 and from 00:00",
                )
    week = sorted((o.day.number, *o.minutes) for o in shop.hours)
    single = sorted((o.day.toordinal(), *o.minutes) for o in shop.extra)
    for name, days in (("hours", week), ("extra", single)):
        if any(a[0] == b[0] and b[1] < a[2] for a, b in pairwise(days)):
            yield f".{name}", "two openings of one day lie over each other"
    for field_name, what, names in (
        ("tools", "tools", [t.name for t in shop.tools]),
        ("cups", "cups", [c.name for c in shop.cups]),
    ):
        for i, name in enumerate(names):
            if not name.strip():
                yield f".{field_name}[{i}].name", "it has no name"
            elif name in names[:i]:
                yield f".{field_name}[{i}].name", f"two {what} have the name “{name}”"
