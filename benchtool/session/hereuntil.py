"""“I am here today until six”: the shop's hours made longer by the one who stands in it, for this day only."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo

from msgspec.structs import replace

from benchtool.job.shop import Shop
from benchtool.job.shophours import ExtraOpening
from benchtool.plan.hours import DAY_MIN, ShopHours
from benchtool.plan.stepsday import hours_of
from benchtool.session.cardfields import Wrong
from benchtool.session.document import NotNow
from benchtool.session.hoursform import MOST_EXTRA, single_opening, together
from benchtool.session.hourspans import NotHours, bare, is_that_so
from benchtool.session.library import NotKept
from benchtool.session.loggerzone import computers_zone
from benchtool.session.nights import instant_of, read_wall_time
from benchtool.session.session import Session
from benchtool.trade.saying import say

NIGHT_MIN = 10 * 60
"""A time that is over today is tonight's where it comes within so many minutes, past midnight (judgement)."""

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_WEEK = 6
Until = tuple[date, int]


# --- what is typed ---------------------------------------------------------------------------------------


def read_until(typed: str, now: datetime, zone: tzinfo) -> Until:
    """Read until when somebody stays: the day and the minutes from its midnight. `1:00` in the evening is tonight's.

    A bare hour that is over is this afternoon's or evening's: at nine in the morning `6` is 18:00.

    Raises:
        ValueError: it is no time, or over today and not soon past midnight; the message says what to write.
    """
    tidy = typed.strip().lower().removeprefix("until").removeprefix("till").strip()
    at = read_wall_time(tidy)
    wall = now.astimezone(zone)
    minute, here = _minute(at), _minute(wall.time())
    if minute == 0:
        return wall.date(), DAY_MIN
    if minute > here:
        return wall.date(), minute
    if bare(tidy, minute) and minute + DAY_MIN // 2 > here:
        return wall.date(), minute + DAY_MIN // 2
    if minute + DAY_MIN - here <= NIGHT_MIN:
        return wall.date() + timedelta(days=1), minute
    if here < minute + DAY_MIN // 2 < DAY_MIN:
        later = f"{at.hour + 12}:{at.minute:02d}"
        raise NotHours(say("{time} is over today: write {later} for this evening.", time=f"{at:%H:%M}", later=later))
    raise NotHours(say("{time} is over today: write when you leave, as 22:30 or 11 pm.", time=f"{at:%H:%M}"))


def stay_until(shop: Shop, typed: str, now: datetime, zone: tzinfo) -> Shop:
    """Give the shop open from `now` until what is typed; with nothing typed, as its other hours have it.

    Openings of single days that are over are dropped.

    Raises:
        ValueError: it can't be read, or the hours go further already; the message says what to write.
    """
    ahead = to_come(shop, now, zone)
    mine = _of_now(shop, now, zone)
    without = replace(shop, extra=tuple(x for x in ahead if x not in mine))
    if not typed.strip():
        return without if mine else shop
    day, minute = read_until(typed, now, zone)
    hours, until = hours_of(without, zone), _instant(day, minute, zone)
    if hours.is_open(now):
        closes = hours.closes_after(now)
        if closes is None:
            raise NotHours(say("By its hours your shop never closes these days."))
        if until < closes:
            raise NotHours(
                say("By its hours your shop is open until {time}: here a day is only made longer.",
                    time=time_words(closes, now, zone))
            )  # fmt: skip
        if until == closes:
            return without if mine else shop
    wall = now.astimezone(zone)
    today, here = wall.date(), _minute(wall.time())
    opens = min([here, *(x.minutes[0] for x in mine if x.day == today)])
    stay = [single_opening(today, opens, minute if day == today else DAY_MIN)]
    if day != today:
        stay.append(single_opening(day, 0, minute))
    extra = together((*without.extra, *stay))
    if len(extra) > MOST_EXTRA:
        raise NotHours(say("{most} openings of single days are kept already.", most=MOST_EXTRA))
    return replace(shop, extra=extra)


def _minute(at: time) -> int:
    return at.hour * 60 + at.minute


def _instant(day: date, minute: int, zone: tzinfo) -> datetime:
    if minute == DAY_MIN:
        return instant_of(day + timedelta(days=1), time(0), zone)
    return instant_of(day, time(minute // 60, minute % 60), zone, later=True)


# --- what is kept ----------------------------------------------------------------------------------------


def to_come(shop: Shop, now: datetime, zone: tzinfo) -> tuple[ExtraOpening, ...]:
    """Give the openings of single days that are not over."""
    wall = now.astimezone(zone)
    return tuple(x for x in shop.extra if (x.day, x.minutes[1]) > (wall.date(), _minute(wall.time())))


def staying_until(shop: Shop, now: datetime, zone: tzinfo) -> datetime | None:
    """Give until when the shop is open now where an opening of a single day has a part in it, else None."""
    return hours_of(shop, zone).closes_after(now) if _of_now(shop, now, zone) else None


def _of_now(shop: Shop, now: datetime, zone: tzinfo) -> tuple[ExtraOpening, ...]:
    """Give the openings of single days that the shop is open by now, up to when it closes next."""
    closes = hours_of(shop, zone).closes_after(now)
    if closes is None:
        return ()
    return tuple(
        x for x in to_come(shop, now, zone) if ShopHours({}, zone, extra=[(x.day, x.minutes)]).spans(now, closes)
    )


# --- in words --------------------------------------------------------------------------------------------


def time_words(at: datetime, now: datetime, zone: tzinfo) -> str:
    """Say an instant by the clock on the wall: `18:00`, `midnight`, `Mon 08:00`, `2026-12-24 08:00` where it is far."""
    wall, today = at.astimezone(zone), now.astimezone(zone).date()
    days = (wall.date() - today).days
    if days == 1 and not _minute(wall.time()):
        return say("midnight")
    if not days:
        return f"{wall:%H:%M}"
    return f"{_DAYS[wall.weekday()]} {wall:%H:%M}" if days <= _WEEK else f"{wall:%Y-%m-%d %H:%M}"


def shut_words(shop: Shop, now: datetime, zone: tzinfo) -> str:
    """Say that the shop is closed and until when; "" where it is open."""
    hours = hours_of(shop, zone)
    opens = hours.next_opening(now)
    if opens is None:
        return say("The shop is closed.")
    if opens <= now:
        return ""
    return say("The shop is closed until {time}.", time=time_words(opens, now, zone))


def open_words(shop: Shop, now: datetime, zone: tzinfo) -> str:
    """Say until when the shop is open; how it is closed where it is."""
    closes = hours_of(shop, zone).closes_after(now)
    if closes is None:
        return shut_words(shop, now, zone)
    today = (closes - timedelta(seconds=1)).astimezone(zone).date() == now.astimezone(zone).date()
    words = time_words(closes, now, zone)
    return say("Open today until {time}", time=words) if today else say("Open until {time}", time=words)


def _days_from(now: datetime, zone: tzinfo) -> tuple[date, date]:
    today = now.astimezone(zone).date()
    return today, today + timedelta(days=1)


# --- for the page of the day -----------------------------------------------------------------------------


@dataclass(slots=True)
class Stay:
    """Keeps in the shop until when somebody is here today."""

    session: Session
    zone: tzinfo = computers_zone
    _said: tuple[object, str] = (None, "")

    def shut(self, now: datetime) -> str:
        """Say that the shop is closed and until when; "" where it is open."""
        shop = self._shop()
        asked = (shop.hours, shop.closed_days, shop.extra, now.replace(second=0, microsecond=0))
        if self._said[0] != asked:  # a shop that opens in months is looked through once a minute
            self._said = asked, shut_words(shop, now, self.zone)
        return self._said[1]

    def typed(self) -> str:
        """Give until when somebody stays as it would be typed; "" where the day is as the week has it."""
        until = staying_until(self._shop(), self.session.now(), self.zone)
        if until is None:
            return ""
        words = f"{until.astimezone(self.zone):%H:%M}"
        return "24:00" if words == "00:00" else words

    def keep(self, typed: str) -> str:
        """Keep until when somebody stays, "" to take it back; gives what to say.

        Raises:
            Wrong: what is typed is no time to stay until.
            NotNow: the shop can't be written.
        """
        shop, now = self._shop(), self.session.now()
        if typed.strip() and typed.strip() == self.typed():
            return say("Nothing was changed.")
        try:
            changed = stay_until(shop, typed, now, self.zone)
        except ValueError as wrong:
            raise Wrong([("until", str(wrong))]) from None
        if changed == shop:
            return say("Nothing was changed.")
        if self.session.shop is None:
            raise NotNow(say("There is no shop here to keep it in."))
        try:
            self.session.shop.change(changed)
        except NotKept as fault:
            raise NotNow(str(fault)) from None
        words = open_words(changed, now, self.zone)
        odd = is_that_so([[x.minutes for x in changed.extra if x.day == day] for day in _days_from(now, self.zone)])
        if staying_until(changed, now, self.zone) is None:
            return say("Taken back, and planned anew. {words}", words=words.rstrip(".") + ".")
        told = say("{words}: planned anew. To take it back, press T and empty the field.", words=words)
        return f"{odd} {told}" if odd else told

    def _shop(self) -> Shop:
        return self.session.shop.shop if self.session.shop is not None else Shop()
