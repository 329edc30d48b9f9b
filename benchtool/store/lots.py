"""The shop's lots, and what each job drew from them: one file for all jobs.

What a job drew is the sum of its pours that stand, written anew as a whole each time that the job changes. So
an undo puts back what it took, and nothing is ever counted twice.
"""

from collections.abc import Iterator, Mapping
from datetime import datetime
from pathlib import Path

from msgspec import field
from msgspec.structs import replace

from benchtool.job.cards import Id, Millilitres, Record
from benchtool.job.lots import Lot, in_utc
from benchtool.job.validate import lot_faults
from benchtool.store.shopfile import NotWritten, ShopFile

NAME = "lots.json"
FORMAT = "bench lots"
SCHEMA = 1

Drawn = Mapping[str, Mapping[str, float]]
"""By the id of the job, by the id of the lot: mL, since the lot was last counted."""


class Lots(Record, frozen=True, kw_only=True, omit_defaults=False):
    """All lots, and what each job drew from each since it was last counted (mL, by job and by lot)."""

    lots: tuple[Lot, ...] = ()
    drawn: dict[Id, dict[Id, Millilitres]] = field(default_factory=dict)

    def lot(self, lot_id: str) -> Lot | None:
        """Find a lot; None where there is none of that id."""
        return next((x for x in self.lots if x.id == lot_id), None)

    @property
    def counted(self) -> dict[str, datetime]:
        """When each lot that ever was counted was counted last."""
        return {x.id: x.counted_on for x in self.lots if x.counted_on is not None}


def lots_file(folder: Path) -> ShopFile[Lots]:
    """Give the file of the lots in `folder`."""
    return ShopFile(folder / NAME, what="Your lots", head=(FORMAT, SCHEMA), kind=Lots, check=_faults)


def with_lot(lots: Lots, lot: Lot) -> Lots:
    """Give the lots with `lot` in place of the one of its id, else at the end.

    A lot that was counted anew begins anew: what was drawn before is in the count.
    """
    lot = in_utc(lot)
    before = lots.lot(lot.id)
    if before is None:
        return replace(lots, lots=(*lots.lots, lot))
    kept = tuple(lot if x.id == lot.id else x for x in lots.lots)
    counted_anew = lot.counted_on is not None and lot.counted_on != before.counted_on
    return replace(lots, lots=kept, drawn=_without(lots.drawn, lot.id) if counted_anew else lots.drawn)


def without_lot(lots: Lots, lot_id: str) -> Lots:
    """Give the lots without this one; what was drawn from it goes too."""
    return replace(lots, lots=tuple(x for x in lots.lots if x.id != lot_id), drawn=_without(lots.drawn, lot_id))


def with_draws(lots: Lots, job: str, draws: Mapping[str, float]) -> Lots:
    """Give the lots with `draws` (mL by lot) as all that `job` drew; lots that the shop does not have are left out."""
    have = {x.id for x in lots.lots}
    mine = {k: mL for k, mL in sorted(draws.items()) if k in have and mL > 0}
    others = {k: v for k, v in lots.drawn.items() if k != job}
    return lots if mine == lots.drawn.get(job, {}) else replace(lots, drawn={**others, job: mine} if mine else others)


def _without(drawn: Drawn, lot_id: str) -> dict[str, dict[str, float]]:
    left = {job: {k: mL for k, mL in draws.items() if k != lot_id} for job, draws in drawn.items()}
    return {job: draws for job, draws in left.items() if draws}


def _faults(lots: Lots) -> Iterator[tuple[str, str]]:
    seen: set[str] = set()
    for i, lot in enumerate(lots.lots):
        if lot.id in seen:
            yield f"lots[{i}].id", f"there are two lots of the id “{lot.id}”"
        seen.add(lot.id)
        for path, message in lot_faults(lot):
            yield f"lots[{i}]{path}", message


__all__ = ["FORMAT", "NAME", "Lots", "NotWritten", "lots_file", "with_draws", "with_lot", "without_lot"]
