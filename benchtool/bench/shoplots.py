"""The cans of the shop page: by product and part, with what is left, how old they are and what runs low."""

import dataclasses
from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from benchtool.bench.controls import BenchButton, Words, hatch
from benchtool.bench.look import GRID, Look
from benchtool.bench.planlists import PickList, PickRow
from benchtool.bench.planparts import Buttons, FieldRow, Options, Typed
from benchtool.bench.plansheet import Section
from benchtool.bench.shopsheet import OwnedSheet
from benchtool.job.lots import Lot
from benchtool.session import acts
from benchtool.session import shoppinglots as cans
from benchtool.session.cardmore import shelf_told
from benchtool.session.owned import shop_of
from benchtool.session.session import NotNow, Session
from benchtool.session.shoppinglots import Before, LotRow, LotText
from benchtool.trade.quantities import NotAnAmount
from benchtool.trade.units import volume_words

CARDS_SHOWN = 3
"""So many products are in view, so that the fields below them are too."""

SEARCH_FROM = 7
"""From so many cans on, a field over the list narrows it."""


class LotsSheet(OwnedSheet[LotText]):
    """Cans and bottles: what is left in each, opened when, good until when, and what it cost."""

    what = "can"
    stays = True
    first_field = "number"

    def __init__(self, look: Look, session: Session) -> None:
        self._rows: dict[str, LotRow] = {}
        super().__init__(look, session, "lots", least=54 * GRID, search="Type to narrow: clear, hardener, low")
        self._gone: Lot | None = None
        self._shown = LotText()
        self._seen: dict[str | None, tuple[LotText, LotText]] = {}
        self.low = Words(look, "small", "trouble")
        self.low.setObjectName("lots-low")
        listed, form = Section(look, "", stretch=True), Section(look, "")
        below = Buttons((self.new,), fill=False)
        listed.add(self.low, below)
        listed.add(self.picks, stretch=1)
        self.card = PickList(look, "Of which product?", "lot-card", search="Type to narrow", rows=CARDS_SHOWN)
        self.part = Options(look, "Which part of it?", "lot-part")

        def told(typed: str) -> str:
            return self._told(typed)

        def day(field: str, label: str, hint: str, *, past: bool) -> Typed:
            made = Typed(look, label, f"lot-{field}", hint, partial(self._day_told, past=past))
            made.edit.setAccessibleName(label)
            return made

        self.number = Typed(look, "Number on the can", "lot-number", "B 4471")
        self.price = Typed(look, "It cost", "lot-price", "48.50")
        self.full = Typed(look, "It holds", "lot-full", "1 L", told)
        self.full.edit.setAccessibleName("When full it holds")
        self.left_now = Typed(look, "Left in it now", "lot-left", "full", told)
        self.low_at = Typed(look, "Buy anew at", "lot-low", "200 mL", told)
        self.got = day("got", "Made or bought on", "2026-11-25, 2 weeks", past=True)
        self.opened = day("opened", "Opened on", "today", past=True)
        self.use_by = day("use-by", "Use by, on the can", "11/2027, 6 months", past=False)
        self.keeps = Typed(look, "Once opened it keeps", "lot-keeps", "as its card says", shelf_told)
        self.today = BenchButton(look, "Opened today", name="lot-today")
        self.use = BenchButton(look, "Use for this job", name="lot-use")
        self.doing = Buttons((self.today, self.use), fill=False)
        form.add(self.doing, self.card, self.part)
        form.add(FieldRow(look, (self.number, self.price)), FieldRow(look, (self.full, self.left_now, self.low_at)))
        form.add(FieldRow(look, (self.got, self.opened)), FieldRow(look, (self.use_by, self.keeps)))
        self.asks.update(
            below=below, picks=self.picks, doing=self.doing, card=self.card, part=self.part, number=self.number,
            price=self.price, full=self.full, left=self.left_now, low=self.low_at, got=self.got, opened=self.opened,
            use_by=self.use_by,
            keeps=self.keeps,
        )  # fmt: skip
        self.first = "picks"
        self.lay_out((listed, form), {1: ((0, 1),), 2: ((0,), (1,))})
        self.picks.searched.connect(lambda _: self.relist())
        self.card.searched.connect(lambda _: self._list_cards(self.card.value))
        self.card.chosen.connect(lambda _: self._offer_parts(None))
        self.today.clicked.connect(self._opened_today)
        self.use.clicked.connect(lambda: self.attempt(self._use))

    # --- the record ----------------------------------------------------------------------------------

    def rows(self) -> Sequence[PickRow]:
        every = cans.lot_rows(self.session, self.keeper)
        self._rows = {row.lot.id: row for row in every}
        words = self.picks.search.text() if len(every) >= SEARCH_FROM else ""
        shown = cans.lot_rows(self.session, self.keeper, words) if words.strip() else every
        return [PickRow(row.lot.id, row.name, row.detail) for row in shown]

    def relist(self) -> None:
        self.rows()
        narrows = len(self._rows) >= SEARCH_FROM
        if narrows is self.picks.search.isHidden():
            self._listed = ()  # the list takes another height, which comes with its lines
            self.picks.narrow(on=narrows)
        super().relist()
        said = cans.low_words(tuple(self._rows.values()))
        self.low.say(said)
        self.low.setVisible(bool(said))
        self.picks.explain(
            "" if self._rows else "No can yet: add what stands on your shelf, and each pour draws it down."
        )

    def ask(self) -> None:
        self.picks.search.fill("")
        self.rows()
        self.open(self.key if self.key in self._rows else None)

    def called(self) -> str:
        row = self._rows.get(self.key or "")
        return row.name if row is not None else ""

    def _lot(self) -> Lot | None:
        return self.keeper.lot(self.key) if self.key is not None else None

    def fresh(self) -> LotText:
        lot = self._lot()
        text = LotText()
        if lot is not None:
            text = cans.write_lot(lot, self.keeper.left_mL(lot.id), shop_of(self.session).unit)
        else:
            cards = list(cans.cards_of(self.session))
            layer = self.session.layer
            mine = layer.plan.card if layer is not None else None
            text = LotText(card=mine if mine in cards else cards[0] if len(cards) == 1 else None)
        self._seen[self.key] = (self._seen[self.key][1] if self.key in self._seen else text, text)
        self._shown = text
        return text

    def again(self, half: LotText) -> LotText:
        """What was not typed follows the can: it may have been poured from meanwhile."""
        before, now = self._seen[self.key]
        names = [f.name for f in dataclasses.fields(LotText)]
        return dataclasses.replace(
            half, **{n: getattr(now, n) for n in names if getattr(half, n) == getattr(before, n)}
        )

    def save(self) -> str:
        lot, text = self._lot(), self.text()
        before = Before(lot, self._shown) if lot is not None else None
        lot_id = lot.id if lot is not None else self.keeper.new_id(self.session.now())
        made = cans.read_lot(self.session, text, lot_id, before)
        if made != lot:
            self.keeper.save_lot(made)
        self.kept(made.id)
        if lot is None:
            return f"{made.words} is on your shelf."
        return f"{made.words} changed." if made != lot else "Nothing was changed."

    def remove(self) -> str:
        lot = self._lot()
        if lot is None:
            raise NotNow("This can is gone already.")
        back = cans.to_put_back(self.keeper, lot, self.session.now())
        self.keeper.remove_lot(lot.id)
        self._gone = back
        return lot.words

    def restore(self) -> tuple[str, str]:
        if self._gone is None:
            return "", ""
        if self.keeper.lot(self._gone.id) is None:
            self.keeper.save_lot(self._gone)
        self.rows()
        return self._gone.id, self._gone.words

    def _opened_today(self) -> None:
        self.opened.fill(cans.write_day(self.session.now()))
        self.enter()

    def _use(self) -> str:
        lot = self._lot()
        if lot is None:
            raise NotNow("Add the can first: then it can be poured from.")
        told = acts.lot_taken_words(self.session, lot)
        if not acts.of_no_can(self.session, lot):
            told = f"{lot.words} is poured from in this job now."
        self.session.apply(acts.take_lot(self.session, lot))
        self.relist()
        self._show_doing()
        return told

    # --- the form ------------------------------------------------------------------------------------

    def text(self) -> LotText:
        lot = self._lot() if self.session.shop is not None else None
        return LotText(
            card=lot.card if lot is not None else self.card.value,
            part=self.part.value,
            number=self.number.text(),
            full=self.full.text(),
            left=self.left_now.text(),
            price=self.price.text(),
            got=self.got.text(),
            opened=self.opened.text(),
            use_by=self.use_by.text(),
            keeps=self.keeps.text(),
            low=self.low_at.text(),
        )

    def fill(self, text: LotText) -> None:
        self.card.setVisible(self.key is None)
        self.card.search.fill("")
        self._list_cards(text.card)
        self._offer_parts(text.part, text.card)
        for field, typed in (
            (self.number, text.number), (self.full, text.full), (self.left_now, text.left), (self.price, text.price),
            (self.got, text.got), (self.opened, text.opened), (self.use_by, text.use_by), (self.keeps, text.keeps),
            (self.low_at, text.low),
        ):  # fmt: skip
            field.fill(typed)
        self._show_doing()

    def _show_doing(self) -> None:
        lot = self._lot()
        self.today.setVisible(lot is not None and lot.opened_on is None)
        self.use.setVisible(lot is not None and cans.can_use(self.session, lot))
        self.doing.setVisible(not (self.today.isHidden() and self.use.isHidden()))

    def _list_cards(self, chosen: str | None) -> None:
        cards = sorted(cans.cards_of(self.session).values(), key=lambda c: c.name.casefold())
        words = self.card.search.text().casefold().split()
        found = [c for c in cards if all(w in f"{c.name} {c.duty.value}".casefold() for w in words)]
        self.card.narrow(on=len(cards) > CARDS_SHOWN)
        self.card.fill([PickRow(c.id, c.name, c.duty.value) for c in found], chosen)
        self.card.list.setMaximumHeight(max(1, min(CARDS_SHOWN, len(found))) * self.look.target + 2)
        self.card.explain("" if cards else "No product card yet: plan a layer (L) and write its card first.")

    def _offer_parts(self, part: str | None, card_id: str | None = None) -> None:
        card = cans.cards_of(self.session).get(card_id or self.card.value or "")
        names = list(cans.parts_of(card)) if card is not None else []
        if part is not None and part not in names:
            names.append(part)
        only = names[0] if len(names) == 1 else None
        self.part.offer([(name, name) for name in names], part if part is not None else only)
        self.part.setVisible(bool(names))

    def _told(self, typed: str) -> str:
        if not typed.strip():
            return ""
        unit = shop_of(self.session).unit
        try:
            return volume_words(self.session.measures.volume(typed, unit=unit.value).mL, unit)
        except NotAnAmount:
            return ""

    def _day_told(self, typed: str, *, past: bool) -> str:
        return cans.day_told(typed, self.session.now(), past=past)

    # --- drawing -------------------------------------------------------------------------------------

    def draw(self, painter: QPainter, box: QRectF, key: str, ink: QColor) -> None:
        row = self._rows.get(key)
        if row is None:
            return
        can = QRectF(box.center().x() - 12, box.top() + 3, 24, box.height() - 3)
        held = QRectF(can.left(), can.bottom() - can.height() * row.fill, can.width(), can.height() * row.fill)
        if row.old:
            hatch(painter, can, ink, gap=6)
        else:
            painter.fillRect(held, ink)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(ink, 1.5))
        painter.drawRect(can)
        painter.drawLine(QPointF(can.left() - 2, can.top()), QPointF(can.right() + 2, can.top()))
