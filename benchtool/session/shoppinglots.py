"""Cans and bottles of the shop: what is typed becomes a lot, or a sentence at the field at fault; and their words."""

import calendar
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import partial

from msgspec.structs import replace

from benchtool.job.cards import BASE_NAME, Card
from benchtool.job.lots import Lot, good_until
from benchtool.session.cardfields import Reader, Wrong, clean, figure_of
from benchtool.session.cardmore import read_keeps, write_shelf
from benchtool.session.owned import money, shop_of
from benchtool.session.session import Session
from benchtool.session.shop import ShopKeeper
from benchtool.session.shopping import amount_text, tried
from benchtool.trade.durations import NotASpan, read_span
from benchtool.trade.numbers import NotANumber, read_number, shorten, span_words
from benchtool.trade.quantities import Measures
from benchtool.trade.units import VolumeUnit, volume_words

_HOW_DAY = "Write 2026-11-25, today or 3 months."
_YEARS = (1970, 2199)
_MOST_PRICE = 1e9


class NotADay(ValueError):
    """The text is no day; the message says what to write instead."""


# --- days --------------------------------------------------------------------------------------------


def read_day(text: str, now: datetime, *, past: bool) -> datetime:
    """Read a day: `2026-11-25`, `11/2027`, `today`, `3 months`.

    A month alone is its first day where the day is `past`, else its last; a length of time is ago or from now.
    Gives noon of a past day, but no later than now, and the end of a day to come, on the clock of this place.

    Raises:
        NotADay: no day, one that can be read two ways, or a past one that is still to come.
    """
    said = " ".join(text.lower().split())
    day = _named(said, now) or _written(said, text, past=past) or _counted(said, text, now, past=past)
    if not _YEARS[0] <= day.year <= _YEARS[1]:
        raise NotADay(f"“{shorten(text)}” lies too far off to be meant. {_HOW_DAY}")
    # The zone as it is on that day: an hour of summer time must not move it to the day before.
    zone = datetime(day.year, day.month, day.day, 12, tzinfo=UTC).astimezone().tzinfo
    if past:
        if day > now.astimezone().date():
            raise NotADay(f"“{shorten(text)}” is still to come: write the day it was, such as 2026-11-25, or today.")
        return min(datetime(day.year, day.month, day.day, 12, tzinfo=zone).astimezone(UTC), now)
    return datetime(day.year, day.month, day.day, 23, 59, tzinfo=zone).astimezone(UTC)


def _named(said: str, now: datetime) -> date | None:
    days = {"today": 0, "now": 0, "yesterday": -1, "tomorrow": 1}.get(said)
    return None if days is None else now.astimezone().date() + timedelta(days=days)


def _written(said: str, text: str, *, past: bool) -> date | None:
    full = re.fullmatch(r"(\d{4})[-./](\d{1,2})[-./](\d{1,2})", said)
    month = re.fullmatch(r"(\d{4})[-./](\d{1,2})", said)
    turned = re.fullmatch(r"(\d{1,2})[-./](\d{4})", said)
    try:
        if full is not None:
            return date(int(full[1]), int(full[2]), int(full[3]))
        if month is not None or turned is not None:
            year, number = (month[1], month[2]) if month is not None else (turned[2], turned[1]) if turned else ("", "")
            days = calendar.monthrange(int(year), int(number))[1]
            return date(int(year), int(number), 1 if past else days)
    except (ValueError, calendar.IllegalMonthError):
        raise NotADay(f"“{shorten(text)}” is on no calendar. {_HOW_DAY}") from None
    if re.fullmatch(r"\d{1,2}[-./]\d{1,2}[-./]\d{2,4}", said):
        raise NotADay(f"“{shorten(text)}” can be read two ways: write the year first, such as 2026-11-25.")
    return None


def _counted(said: str, text: str, now: datetime, *, past: bool) -> date:
    ago = said.endswith(" ago")
    span = said.removesuffix(" ago").removeprefix("in ")
    if ago != past and (ago or said.startswith("in ")):
        which = "is past: write the day it is good to" if ago else "is still to come: write the day it was"
        raise NotADay(f"“{shorten(text)}” {which}, such as 2026-11-25.")
    sign, today = (-1 if past else 1), now.astimezone().date()
    try:
        value, unit = read_number(span)
    except NotANumber:
        raise NotADay(f"“{shorten(text)}” is no day. {_HOW_DAY}") from None
    months = re.fullmatch(r"(months?|mths?|mos?|years?|yrs?|y)\.?", unit)
    if months is not None:
        count = value * (12 if unit.startswith("y") else 1)
        if count != int(count) or not 0 <= count <= 1_200:
            raise NotADay(f"“{shorten(text)}” is no day. {_HOW_DAY}")
        return _months_on(today, sign * int(count))
    try:
        return today + sign * read_span(span)
    except NotASpan:
        raise NotADay(f"“{shorten(text)}” is no day. {_HOW_DAY}") from None


def _months_on(day: date, months: int) -> date:
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def write_day(at: datetime | None) -> str:
    """Write the day of an instant on the clock of this place; nothing where there is none."""
    return "" if at is None else f"{at.astimezone():%Y-%m-%d}"


def day_told(typed: str, now: datetime, *, past: bool) -> str:
    """Say which day was understood, or nothing where it is none."""
    try:
        return write_day(read_day(typed, now, past=past)) if typed.strip() else ""
    except NotADay:
        return ""


# --- lots --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class LotText:
    """What is typed and chosen of a can; `left` is what is in it now."""

    card: str | None = None
    part: str | None = None
    number: str = ""
    full: str = ""
    left: str = ""
    price: str = ""
    got: str = ""
    opened: str = ""
    use_by: str = ""
    keeps: str = ""
    low: str = ""


def write_lot(lot: Lot, left_mL: float | None, unit: VolumeUnit) -> LotText:
    """Write a lot as it would be typed, amounts in `unit`."""
    return LotText(
        card=lot.card,
        part=lot.part,
        number=lot.number,
        full=amount_text(lot.full_mL, unit),
        left=amount_text(lot.held_mL if left_mL is None else left_mL, unit),
        price=_price_text(lot.price),
        got=write_day(lot.got_on),
        opened=write_day(lot.opened_on),
        use_by=write_day(lot.best_before),
        keeps="" if lot.keeps_opened is None else write_shelf(lot.keeps_opened),
        low=amount_text(lot.low_mL, unit),
    )


@dataclass(frozen=True, slots=True)
class Before:
    """A lot that is changed, and how it was written: where the text is the same, so is the value."""

    lot: Lot
    shown: LotText


def read_lot(session: Session, text: LotText, lot_id: str, before: Before | None = None) -> Lot:
    """Read a lot.

    Raises:
        Wrong: a field that can't be taken so.
    """
    shop, now, measures = shop_of(session), session.now(), session.measures
    faults: list[tuple[str, str]] = []
    reader = Reader(faults)
    if not text.card:
        faults.append(("card", "Say of which product it is."))
    elif not text.part:
        faults.append(("part", "Say which part of the product it is."))
    number = clean(text.number)
    if len(number) > 200:
        faults.append(("number", "This is too long: 200 characters at most."))

    def kept(key: str) -> bool:
        """Tell whether a field stands as it was shown, rounded: then the value stays as it is."""
        return before is not None and getattr(text, key) == getattr(before.shown, key)

    def amount(key: str, name: str) -> float | None:
        typed = getattr(text, key)
        if before is not None and kept(key):
            found: float | None = getattr(before.lot, name)
            return found
        return _amount(measures, typed, key, faults, shop.unit) if typed.strip() else None

    full, low = amount("full", "full_mL"), amount("low", "low_mL")
    if not text.full.strip():
        faults.append(("full", "Write how much it holds when full, such as 1 L."))
    elif full is not None and full <= 0:
        faults.append(("full", "A can that holds nothing is no can: write how much it holds when full, such as 1 L."))
    counted_mL, counted_on = (before.lot.counted_mL, before.lot.counted_on) if before is not None else (None, None)
    if text.left.strip() and not (before is not None and text.left == before.shown.left):
        counted_mL, counted_on = _amount(measures, text.left, "left", faults, shop.unit), now
        if counted_mL is not None and full is not None and counted_mL > full * (1 + 1e-6):
            faults.append(("left", f"This is more than it holds when full, {volume_words(full, shop.unit)}."))

    def day(key: str, name: str, *, past: bool) -> datetime | None:
        typed = getattr(text, key)
        if not typed.strip():
            return None
        if before is not None and kept(key):
            found: datetime | None = getattr(before.lot, name)
            return found
        return _day(partial(read_day, typed, now, past=past), key, faults)

    got, opened = day("got", "got_on", past=True), day("opened", "opened_on", past=True)
    use_by = day("use_by", "best_before", past=False)
    keeps = read_keeps(reader, "keeps", text.keeps)
    price = _price(text.price, shop.currency, faults)
    if faults or full is None or not text.card or not text.part:
        raise Wrong(faults)
    made = before.lot if before is not None else Lot(id=lot_id, card=text.card, part=text.part, full_mL=full)
    return replace(
        made,
        part=text.part,
        number=number,
        full_mL=full,
        price=price,
        got_on=got,
        opened_on=opened,
        best_before=use_by,
        keeps_opened=keeps,
        low_mL=low,
        counted_mL=counted_mL,
        counted_on=counted_on,
    )


def _amount(measures: Measures, typed: str, key: str, faults: list[tuple[str, str]], unit: VolumeUnit) -> float | None:
    return tried(faults, key, lambda: measures.volume(typed, unit=unit.value).mL)


def _day(read: Callable[[], datetime], key: str, faults: list[tuple[str, str]]) -> datetime | None:
    try:
        return read()
    except NotADay as wrong:
        faults.append((key, str(wrong)))
        return None


def _price_text(price: float | None) -> str:
    if price is None:
        return ""
    return f"{price:.2f}" if round(price, 2) == price else figure_of(price)


def _price(typed: str, currency: str, faults: list[tuple[str, str]]) -> float | None:
    if not typed.strip():
        return None
    try:
        value, rest = read_number(typed)
    except NotANumber as wrong:
        faults.append(("price", f"{wrong} Write what the can cost, such as 48.50."))
        return None
    if rest and rest.casefold() != currency.casefold():
        known = f"Prices are in {currency}" if currency else "Write the price without a currency"
        faults.append(("price", f"“{shorten(typed)}”: {known}; the currency is set under Usual."))
        return None
    if not 0 <= value <= _MOST_PRICE:
        faults.append(("price", "A price is zero or more: write what the can cost, such as 48.50."))
        return None
    return value


# --- what there is to say of them --------------------------------------------------------------------


def cards_of(session: Session) -> dict[str, Card]:
    """Give the cards of the library and of the job in hand by id; the job's own copy comes first."""
    found = dict(session.current.state.cards) if session.current is not None else {}
    for card in session.library.look().cards if session.library is not None else ():
        found.setdefault(card.id, card)
    return found


def parts_of(card: Card) -> tuple[str, ...]:
    """Name the parts that cans of this product are for."""
    return tuple(dict.fromkeys((BASE_NAME, *(a.name for a in card.activators), card.reducer)))


@dataclass(frozen=True, slots=True)
class LotRow:
    """A can as it is listed. `fill` is what is left as a fraction of full; `old` and `low` say what is wrong."""

    lot: Lot
    product: str
    name: str
    detail: str
    fill: float
    old: bool
    low: bool
    in_hand: bool


def lot_rows(session: Session, keeper: ShopKeeper, words: str = "") -> tuple[LotRow, ...]:
    """List the cans that `words` may mean, by product and part; those running low lead."""
    cards, low, wanted = cards_of(session), {x.id for x in keeper.low()}, words.casefold().split()
    rows = [_row(session, keeper, lot, cards.get(lot.card), low) for lot in keeper.lots()]
    found = [r for r in rows if all(w in f"{r.name} {r.detail}".casefold() for w in wanted)]
    return tuple(sorted(found, key=lambda r: (not r.low, r.name.casefold())))


def _row(session: Session, keeper: ShopKeeper, lot: Lot, card: Card | None, low: set[str]) -> LotRow:
    shop, now = shop_of(session), session.now()
    left, good = keeper.left_mL(lot.id) or 0.0, good_until(lot, card)
    old, in_hand = good is not None and now > good.at, is_in_hand(session, lot)
    said = ["in hand for this job"] if in_hand else []
    if old and good is not None:
        said.append(f"OLD: {span_words((now - good.at).total_seconds())} past {good.why}")
    said.append(f"{'LOW: ' if lot.id in low else ''}{left_words(left, lot.full_mL, shop.unit)}")
    over = keeper.over_mL(lot.id)
    if over:
        said.append(f"{volume_words(over, shop.unit)} more was poured than it held: count it")
    if lot.opened_on is not None:
        said.append(f"opened {write_day(lot.opened_on)}")
    if good is not None and not old:
        said.append(f"good to {write_day(good.at)}")
    if lot.price is not None:
        said.append(money(lot.price, shop))
    of = card.name if card is not None else lot.card
    return LotRow(
        lot,
        f"{of}: {lot.part}",
        f"{of}: {lot.words}",
        ", ".join(said),
        min(1.0, left / lot.full_mL),
        old,
        lot.id in low,
        in_hand,
    )


def left_words(left_mL: float, full_mL: float, unit: VolumeUnit) -> str:
    """Say how much is left of how much."""
    return f"{volume_words(left_mL, unit)} left of {volume_words(full_mL, unit)}"


def is_in_hand(session: Session, lot: Lot) -> bool:
    """Tell whether the job in hand pours this part from this can."""
    document = session.current
    return document is not None and document.state.in_hand.get((lot.card, lot.part)) == lot.id


def can_use(session: Session, lot: Lot) -> bool:
    """Tell whether the job in hand is of this can's product and pours from another one."""
    document = session.current
    return document is not None and lot.card in document.state.cards and not is_in_hand(session, lot)


def low_words(rows: tuple[LotRow, ...], most: int = 4) -> str:
    """Say in one sentence what to buy; nothing where nothing runs low."""
    low = list(dict.fromkeys(r.product for r in rows if r.low))
    if not low:
        return ""
    named = [shorten(product, 48) for product in low[:most]]
    more = f", and {len(low) - most} more" if len(low) > most else ""
    return f"Running low: {'; '.join(named)}{more}."


def to_put_back(keeper: ShopKeeper, lot: Lot, now: datetime) -> Lot:
    """Give `lot` as it is to come back after it is removed: what was drawn from it is in its count then."""
    left = keeper.left_mL(lot.id)
    return lot if left is None or left == lot.held_mL else replace(lot, counted_mL=left, counted_on=now)
