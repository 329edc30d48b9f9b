"""The shop behind all jobs: tools, cups and usual figures, and the lots with what is left in them."""

import math
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

from msgspec.structs import replace

from benchtool.job.lots import Lot
from benchtool.job.record import Job
from benchtool.job.shop import Shop
from benchtool.job.state import State
from benchtool.session.library import NotKept
from benchtool.store.lots import Lots, lots_file, with_draws, with_lot, without_lot
from benchtool.store.shop import Kept, shop_file
from benchtool.store.shopfile import NotWritten
from benchtool.trade.numbers import shorten


class ShopNotKept(NotKept):
    """A change of the shop or its lots could not be kept; the message says why and what to do."""


class ShopKeeper:
    """The shop and the lots kept in `folder`, read when they are first asked for and again where they changed."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._shop = shop_file(folder)
        self._lots = lots_file(folder)
        self._waiting: dict[tuple[str, bool], State] = {}
        self._as_opened: dict[str, State] = {}
        self._summed: tuple[Lots, dict[str, float]] = (Lots(), {})
        self._booking_fault = ""

    @property
    def faults(self) -> tuple[str, ...]:
        """What is wrong with the files, and what of the jobs is not booked: sentences; none where all is well."""
        self._shop.read()
        self._lots.read()
        told = (self._shop.fault, self._lots.fault, self._booking_fault, *self._kept_words())
        return tuple(dict.fromkeys(words for words in told if words))

    # --- tools, cups and figures -------------------------------------------------------------------

    @property
    def shop(self) -> Shop:
        """What the painter owns and goes by."""
        return self._shop.read().shop

    def change(self, shop: Shop) -> None:
        """Keep `shop` in place of what was kept.

        Raises:
            ShopNotKept: it could not be written.
        """
        try:
            self._shop.change(lambda _: Kept(shop=shop))
        except NotWritten as fault:
            raise ShopNotKept(str(fault)) from None

    # --- lots --------------------------------------------------------------------------------------

    def lots(self) -> tuple[Lot, ...]:
        """Give the lots, in the order they came in."""
        return self._read_lots().lots

    def lot(self, lot_id: str) -> Lot | None:
        """Find a lot; None where the shop has none of that id."""
        return self._read_lots().lot(lot_id)

    def lots_for(self, card: str, part: str) -> tuple[Lot, ...]:
        """Give the lots of this part of this card's mix."""
        return tuple(x for x in self.lots() if (x.card, x.part) == (card, part))

    def left_mL(self, lot_id: str) -> float | None:
        """Say how much is left in a lot, never below 0; None where the shop has no such lot."""
        lot = self.lot(lot_id)
        return None if lot is None else max(0.0, lot.held_mL - self._drawn_mL(lot_id))

    def over_mL(self, lot_id: str) -> float:
        """Say how much more was poured from a lot than it held; 0 where it was not."""
        lot = self.lot(lot_id)
        over = 0.0 if lot is None else self._drawn_mL(lot_id) - lot.held_mL
        return over if over > 1e-6 else 0.0

    def low(self) -> tuple[Lot, ...]:
        """Give the lots of which no more is left than what asks to buy anew, the emptiest first."""
        left = {x.id: self.left_mL(x.id) or 0.0 for x in self.lots()}
        low = [x for x in self.lots() if x.low_mL is not None and left[x.id] <= x.low_mL + 1e-9]
        return tuple(sorted(low, key=lambda x: left[x.id]))

    def price_per_mL(self, lot: Lot) -> float | None:
        """What 1 mL of a lot costs, by the newest price here; None where none is known."""
        return (self.lot(lot.id) or lot).price_per_mL

    def new_id(self, now: datetime) -> str:
        """Give an id for a new lot: by the time, so that no id of a lot that is gone ever comes back."""
        lot_id, number = f"lot-{now:%Y%m%d-%H%M%S-%f}", 1
        while self.lot(lot_id if number == 1 else f"{lot_id}-{number}") is not None:
            number += 1
        return lot_id if number == 1 else f"{lot_id}-{number}"

    def save_lot(self, lot: Lot) -> None:
        """Keep `lot` in place of the one of its id, else as a new one.

        Raises:
            ShopNotKept: it could not be written.
        """
        self._change(lambda lots: with_lot(lots, lot))

    def count(self, lot_id: str, mL: float, now: datetime) -> None:
        """Say that `mL` are left in a lot now, whatever was poured before.

        Raises:
            ShopNotKept: there is no such lot, or it could not be written.
        """

        def counted(lots: Lots) -> Lots:
            lot = lots.lot(lot_id)
            if lot is None:
                raise NotWritten("This lot is no longer in your shop: add it anew.")
            return with_lot(lots, replace(lot, counted_mL=mL, counted_on=now))

        self._change(counted)

    def remove_lot(self, lot_id: str) -> None:
        """Take a lot out of the shop; the jobs that poured from it keep their copy.

        Raises:
            ShopNotKept: it could not be written.
        """
        self._change(lambda lots: without_lot(lots, lot_id))

    # --- what the jobs draw ------------------------------------------------------------------------

    def book(self, job: Job, state: State, *, drew: bool = True) -> None:
        """Book what `job` drew from the lots in place of what was booked for it; a demo draws nothing.

        `drew` says that an act here changed what it drew. Where none did, its file may be an older copy of what was
        booked: then nothing is put back into a can, and `faults` says so. Where the booking can't be written, `faults`
        says so, what is left is told as if it had been, and it is tried again with the next one.
        """
        if job.demo:
            return
        self._waiting.pop((job.id, False), None)
        if drew:
            self._as_opened.pop(job.id, None)
        else:
            self._as_opened[job.id] = state
        self._waiting[job.id, drew] = state
        self.settle()

    def closed(self, job: Job) -> None:
        """Say no more of a job that is not open any longer; what is booked for it stays."""
        self._as_opened.pop(job.id, None)

    def settle(self) -> bool:
        """Try to write what waits to be booked; says whether nothing waits any more."""
        if not self._waiting:
            return True
        self._booking_fault = ""
        lots = self._lots.read()
        if self._lots.fault:
            return False
        try:
            # Most changes of a job draw nothing: then there is nothing to lock or write.
            if self._booked(lots) is not lots:
                self._lots.change(self._booked)
        except NotWritten as fault:
            self._booking_fault = str(fault)
            return False
        self._waiting.clear()
        return True

    def _booked(self, lots: Lots) -> Lots:
        for (job, drew), state in self._waiting.items():
            draws = state.drawn_mL(lots.counted)
            if not drew:
                booked = lots.drawn.get(job, {})
                draws = {k: max(draws.get(k, 0.0), booked.get(k, 0.0)) for k in {**booked, **draws}}
            lots = with_draws(lots, job, draws)
        return lots

    def _kept_words(self) -> Iterator[str]:
        lots = self._read_lots() if self._as_opened else Lots()
        for job, state in self._as_opened.items():
            draws = state.drawn_mL(lots.counted)
            if any(mL > draws.get(lot, 0.0) + 1e-9 for lot, mL in lots.drawn.get(job, {}).items()):
                named = f"“{shorten(state.title)}”" if state.title else "this job"
                yield (
                    f"More was drawn from your cans for {named} than this file of it says, "
                    "as if it were an older copy: nothing is put back until you pour or undo in it."
                )

    def _read_lots(self) -> Lots:
        return self._booked(self._lots.read())

    def _drawn_mL(self, lot_id: str) -> float:
        lots = self._read_lots()
        if self._summed[0] is not lots:
            sums: dict[str, list[float]] = {}
            for draws in lots.drawn.values():
                for lot, mL in draws.items():
                    sums.setdefault(lot, []).append(mL)
            self._summed = (lots, {lot: math.fsum(poured) for lot, poured in sums.items()})
        return self._summed[1].get(lot_id, 0.0)

    def _change(self, how: Callable[[Lots], Lots]) -> None:
        try:
            self._lots.change(lambda lots: self._booked(how(lots)))
        except NotWritten as fault:
            raise ShopNotKept(str(fault)) from None
        self._waiting.clear()
        self._booking_fault = ""
