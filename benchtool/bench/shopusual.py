"""The usual figures of the shop page: units, tolerances, guns, loss and limits."""

from benchtool.bench.controls import Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import FieldRow, Options, Typed
from benchtool.bench.plansheet import Section
from benchtool.bench.shopsheet import GroupSheet
from benchtool.job.cards import Gun
from benchtool.session import shoppingusual
from benchtool.session.session import Session
from benchtool.session.shoppingusual import UsualText, usual_key
from benchtool.trade.film import TRANSFER_PERCENT
from benchtool.trade.units import VolumeUnit

_BY_VOLUME, _BY_WEIGHT = "volume", "weight"


class UsualSheet(GroupSheet):
    """What the painter goes by where no card says better."""

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, session, "usual", least=52 * GRID)
        self._fresh: UsualText | None = None
        self.unit = Options(look, "Amounts are shown in", "usual-unit")
        self.unit.offer([(u.value, u.value) for u in VolumeUnit])
        self.weighed = Options(look, "You measure", "usual-weighed")
        self.weighed.offer([(_BY_VOLUME, "By volume"), (_BY_WEIGHT, "On the scale")])
        self.activator = Typed(look, "Activator may be off by", "usual-activator", "10 %")
        self.rest = Typed(look, "the rest by", "usual-rest", "5 %")
        self.rest.edit.setAccessibleName("The rest may be off by")
        note = Words(look, "small", "quiet")
        note.say("Of its own share, where the card says nothing.")
        self.currency = Typed(look, "Prices are in", "usual-currency", "EUR")
        self.limit = Typed(look, "VOC limit where you work", "usual-limit", "420 g/L")
        self.loss = Typed(look, "Stays in cup and hose", "usual-loss", "3 mL")
        first, second = Section(look, "Amounts"), Section(look, "Guns")
        first.add(self.unit, self.weighed, FieldRow(look, (self.activator, self.rest)), note)
        first.add(FieldRow(look, (self.currency, self.limit)))
        rules = Words(look, "small", "quiet")
        rules.say("Local rules decide what the limit is.")
        first.add(rules)
        self.transfer: dict[Gun, Typed] = {}
        self.rate: dict[Gun, Typed] = {}
        for gun in Gun:
            name = gun.value.capitalize()
            usual = f"{TRANSFER_PERCENT[gun.value]:g} %"
            self.transfer[gun] = Typed(
                look, f"{name}: stays on the piece", f"usual-{usual_key('transfer', gun)}", usual
            )
            self.rate[gun] = Typed(look, "it sprays", f"usual-{usual_key('rate', gun)}", "12 mL/min")
            self.rate[gun].edit.setAccessibleName(f"{name} sprays")
            second.add(FieldRow(look, (self.transfer[gun], self.rate[gun])))
        second.add(self.loss)
        self.asks.update(unit=self.unit, by_weight=self.weighed, activator=self.activator, rest=self.rest)
        self.asks.update(currency=self.currency, limit=self.limit)
        for gun in Gun:
            self.asks[usual_key("transfer", gun)] = self.transfer[gun]
            self.asks[usual_key("rate", gun)] = self.rate[gun]
        self.asks["loss"] = self.loss
        self.first = "unit"
        self.lay_out((first, second), {1: ((0, 1),), 2: ((0,), (1,))})
        self.head("What you go by", "Keep these")

    def ask(self) -> None:
        fresh = shoppingusual.write_usual(self.keeper.shop)
        if self._fresh is None or self.text() == self._fresh:  # else what was half typed stays
            self._show(fresh)
        self.complain(())

    def _show(self, text: UsualText) -> None:
        self.unit.choose(text.unit.value)
        self.weighed.choose(_BY_WEIGHT if text.by_weight else _BY_VOLUME)
        for field, typed in (
            (self.activator, text.activator), (self.rest, text.rest), (self.currency, text.currency),
            (self.limit, text.limit), (self.loss, text.loss),
        ):  # fmt: skip
            field.fill(typed)
        for gun in Gun:
            self.transfer[gun].fill(text.transfer.get(gun, ""))
            self.rate[gun].fill(text.rate.get(gun, ""))
        self._fresh = self.text()

    def text(self) -> UsualText:
        """Give what is typed and chosen."""
        return UsualText(
            unit=VolumeUnit(self.unit.value or VolumeUnit.ML.value),
            by_weight=self.weighed.value == _BY_WEIGHT,
            activator=self.activator.text(),
            rest=self.rest.text(),
            transfer={g: f.text() for g, f in self.transfer.items()},
            rate={g: f.text() for g, f in self.rate.items()},
            loss=self.loss.text(),
            currency=self.currency.text(),
            limit=self.limit.text(),
        )

    def save(self) -> str:
        shop = self.keeper.shop
        changed = shoppingusual.read_usual(self.session.measures, self.text(), shop)
        if changed != shop:
            self.keeper.change(changed)
        self._show(shoppingusual.write_usual(self.keeper.shop))
        self.complain(())
        return "Kept: you go by this from now on." if changed != shop else "Nothing was changed."
