"""The hours of the shop page: when it is open, how much goes on at once, how long the hands take."""

from dataclasses import replace
from datetime import date

from benchtool.bench.controls import Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import FieldRow, Typed
from benchtool.bench.plansheet import Section
from benchtool.bench.shopsheet import GroupSheet
from benchtool.bench.weekdraw import WeekBars
from benchtool.job.cards import Gun
from benchtool.job.shophours import USUAL_MIN, Takes
from benchtool.session import hoursform, shoppinghours
from benchtool.session.hourspans import NotHours
from benchtool.session.session import Session
from benchtool.session.shoppinghours import HoursText, gun_key, takes_key
from benchtool.trade.saying import say


class HoursSheet(GroupSheet):
    """What a plan of the work goes by."""

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, session, "hours", least=52 * GRID)
        self._fresh: HoursText | None = None
        self.hours = Typed(look, say("Open in a usual week"), "hours-week", "Mon-Fri 8:00-12:00, 13-18; Sat 9-13")
        self.week = WeekBars(look)
        self.closed = Typed(look, say("Closed on"), "hours-closed", say("24 Dec, 30 Dec to 2 Jan"))
        self.extra = Typed(look, say("Also open"), "hours-extra", say("Sat 28 Nov 9-18; today 8-12"))
        open_when = Section(look, say("When your shop is open"))
        note = Words(look, "small", "quiet")
        note.say(say("No work is planned outside these hours; paint dries in them all the same."))
        open_when.add(self.hours, self.week, note, FieldRow(look, (self.closed, self.extra)))
        self.booths = Typed(look, say("Booths"), "hours-booths", "1")
        self.hands = Typed(look, say("Pairs of hands"), "hours-hands", "1")
        room = Section(look, say("How much goes on at once"))
        self.guns = {gun: Typed(look, _GUNS[gun](), f"hours-{gun_key(gun)}", "1") for gun in Gun}
        room.add(FieldRow(look, (self.booths, self.hands)), FieldRow(look, list(self.guns.values())))
        minutes = Section(look, say("How long your hands take, for one small piece"))
        self.takes = {
            kind: Typed(look, _TAKES[kind](), f"hours-{takes_key(kind)}", f"{USUAL_MIN[kind]:g} min") for kind in Takes
        }
        hands = list(self.takes.values())
        minutes.add(FieldRow(look, hands[:3]), FieldRow(look, hands[3:]))
        self.asks.update(hours=self.hours, closed=self.closed, extra=self.extra)
        self.asks.update(booths=self.booths, hands=self.hands)
        self.asks.update({gun_key(gun): field for gun, field in self.guns.items()})
        self.asks.update({takes_key(kind): field for kind, field in self.takes.items()})
        self.first = "hours"
        self.lay_out((open_when, room, minutes), {1: ((0, 1, 2),), 2: ((0,), (1, 2))})
        self.head(say("When you work"), say("Keep these"))
        self.hours.edit.textChanged.connect(self._draw_week)
        self.extra.edit.textChanged.connect(self._look_at_extra)

    def ask(self) -> None:
        fresh = shoppinghours.write_hours(self.keeper.shop, self._today())
        if self._fresh is None or self.text() == self._fresh:  # else what was half typed stays
            self._show(fresh)
        elif self.extra.text() == self._fresh.extra:  # it may have been written on the page of the day meanwhile
            self.extra.fill(fresh.extra)
            self._fresh = replace(self._fresh, extra=self.extra.text())
        self.complain(())

    def _show(self, text: HoursText) -> None:
        for field, typed in (
            (self.hours, text.hours), (self.closed, text.closed), (self.extra, text.extra),
            (self.booths, text.booths), (self.hands, text.hands),
        ):  # fmt: skip
            field.fill(typed)
        for gun, field in self.guns.items():
            field.fill(text.guns.get(gun, ""))
        for kind, field in self.takes.items():
            field.fill(text.takes.get(kind, ""))
        self._draw_week(text.hours)
        self._look_at_extra(text.extra)
        self._fresh = self.text()

    def _draw_week(self, typed: str) -> None:
        """Draw the week as it is typed, and ask about a night; nothing is drawn of what can't be read yet."""
        try:
            openings = hoursform.read_hours(typed)
        except NotHours:
            self.hours.tell(say("not read yet"))
            self.hours.remark("")
            self.week.show_unread()
            return
        self.week.show_week(openings)
        total = sum(closes - opens for opens, closes in (o.minutes for o in openings)) / 60
        self.hours.tell(say("{hours} h a week", hours=f"{total:.3g}") if openings else say("never open"))
        self.hours.remark(hoursform.odd_week(openings))

    def _look_at_extra(self, typed: str) -> None:
        try:
            openings = hoursform.read_extra(typed, self._today())
        except NotHours:
            self.extra.remark("")
            return
        self.extra.remark(hoursform.odd_extra(openings))

    def text(self) -> HoursText:
        """Give what is typed."""
        return HoursText(
            hours=self.hours.text(),
            closed=self.closed.text(),
            extra=self.extra.text(),
            booths=self.booths.text(),
            hands=self.hands.text(),
            guns={gun: field.text() for gun, field in self.guns.items()},
            takes={kind: field.text() for kind, field in self.takes.items()},
        )

    def _today(self) -> date:
        return self.session.now().astimezone().date()

    def save(self) -> str:
        shop, today = self.keeper.shop, self._today()
        changed = shoppinghours.read_hours(self.text(), shop, today)
        if changed != shop:
            self.keeper.change(changed)
        self._show(shoppinghours.write_hours(self.keeper.shop, today))
        self.complain(())
        if changed == shop:
            return say("Nothing was changed.")
        if not changed.hours and not changed.extra:
            return say("Kept. Your shop never opens like this: nothing can be planned.")
        return say("Kept: plans go by this from now on.")


_TAKES = {
    Takes.PREP: lambda: say("A prep step"),
    Takes.MIX: lambda: say("A mix"),
    Takes.COAT: lambda: say("A coat"),
    Takes.SCUFF: lambda: say("Scuffing"),
    Takes.CLEAN: lambda: say("Cleaning the gun"),
}

_GUNS = {
    Gun.AIRBRUSH: lambda: say("Airbrushes"),
    Gun.MINI: lambda: say("Mini guns"),
    Gun.FULL: lambda: say("Full-size guns"),
}
