"""“I am here today until six”: what is typed, what the shop keeps of it, how it is taken back, both clock changes."""

from datetime import UTC, date, datetime, time, timedelta
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import examples

from benchtool.job.shop import Shop, shop_faults
from benchtool.job.shophours import ExtraOpening
from benchtool.plan.stepsday import hours_of
from benchtool.session.cardfields import Wrong
from benchtool.session.document import NotNow
from benchtool.session.hereuntil import (
    MOST_EXTRA,
    Stay,
    open_words,
    read_until,
    shut_words,
    stay_until,
    staying_until,
    to_come,
)
from benchtool.session.hoursform import single_opening
from benchtool.session.library import NotKept

BERLIN = ZoneInfo("Europe/Berlin")
SATURDAY = datetime(2026, 11, 28, 9, 0, tzinfo=UTC)
FRIDAY = datetime(2026, 11, 27, 15, 0, tzinfo=UTC)
TODAY, SUNDAY = SATURDAY.date(), date(2026, 11, 29)
SHOP = Shop()
"""Open from Monday to Friday, 8 to 18."""


def opening(day: date, opens: str, closes: str) -> ExtraOpening:
    return ExtraOpening(day=day, opens=opens, closes=closes)


def at(wall: str, day: date = TODAY) -> datetime:
    return datetime.combine(day, time.fromisoformat(wall), tzinfo=UTC)


@pytest.mark.parametrize(
    ("now", "typed", "day", "minute"),
    [
        ("09:00", "18", TODAY, 18 * 60),
        ("09:00", "6 pm", TODAY, 18 * 60),
        ("09:00", "until 22:30", TODAY, 22 * 60 + 30),
        ("09:00", "midnight", TODAY, 1440),
        ("20:00", "24:00", TODAY, 1440),
        ("20:00", "1:00", SUNDAY, 60),
        ("22:30", "8", SUNDAY, 8 * 60),
        ("00:30", "1:00", TODAY, 60),
        ("09:00", "6", TODAY, 18 * 60),
        ("09:00", "until 5:30", TODAY, 17 * 60 + 30),
        ("09:00", "1:00", TODAY, 13 * 60),
        ("13:30", "11", TODAY, 23 * 60),
        ("20:00", "6", SUNDAY, 6 * 60),
    ],
)
def test_a_time_is_todays_or_tonights(now, typed, day, minute):
    assert read_until(typed, at(now), UTC) == (day, minute)


@pytest.mark.parametrize(
    ("now", "typed", "says"),
    [
        ("09:00", "06:00", "06:00 is over today: write 18:00 for this evening."),
        ("09:00", "01:00", "01:00 is over today: write 13:00 for this evening."),
        ("09:00", "6 am", "06:00 is over today: write 18:00 for this evening."),
        ("20:00", "18", "18:00 is over today"),
        ("09:00", "9 am", "write 21:00"),
        ("09:00", "late", "no time of day"),
        ("09:00", "until", "Say when"),
    ],
)
def test_what_is_over_or_no_time_is_told(now, typed, says):
    with pytest.raises(ValueError, match=says) as told:
        read_until(typed, at(now), UTC)
    assert str(told.value).endswith(".")


def test_a_closed_day_is_open_from_now_until_then():
    made = stay_until(SHOP, "18", SATURDAY, UTC)
    assert made.extra == (opening(TODAY, "09:00", "18:00"),)
    assert hours_of(made, UTC).closes_after(SATURDAY) == at("18:00")
    assert hours_of(made, UTC).next_opening(at("18:00")) == datetime(2026, 11, 30, 8, tzinfo=UTC)
    holiday = replace(SHOP, closed_days=(TODAY,))
    assert hours_of(stay_until(holiday, "18", SATURDAY, UTC), UTC).is_open(at("17:59"))


def test_past_midnight_it_is_two_openings_that_are_one():
    made = stay_until(SHOP, "1:00", at("20:00"), UTC)
    assert made.extra == (opening(TODAY, "20:00", "24:00"), opening(SUNDAY, "00:00", "01:00"))
    assert hours_of(made, UTC).closes_after(at("20:00")) == at("01:00", SUNDAY)
    assert open_words(made, at("20:00"), UTC) == "Open until Sun 01:00"
    assert stay_until(made, "", at("00:30", SUNDAY), UTC).extra == ()
    longer = stay_until(made, "2:30", at("00:30", SUNDAY), UTC)
    assert longer.extra == (opening(SUNDAY, "00:00", "02:30"),)


def test_an_open_day_is_made_longer_and_never_shorter():
    made = stay_until(SHOP, "20", FRIDAY, UTC)
    assert hours_of(made, UTC).closes_after(FRIDAY) == FRIDAY + timedelta(hours=5)
    assert hours_of(made, UTC).is_open(FRIDAY - timedelta(hours=6))
    with pytest.raises(ValueError, match="open until 18:00"):
        stay_until(SHOP, "16", FRIDAY, UTC)
    assert stay_until(SHOP, "18", FRIDAY, UTC) == SHOP
    assert stay_until(made, "18", FRIDAY, UTC) == SHOP


def test_another_time_takes_the_place_of_the_first_and_nothing_takes_it_back():
    made = stay_until(SHOP, "18", SATURDAY, UTC)
    later = SATURDAY + timedelta(hours=2)
    assert stay_until(made, "14:30", later, UTC).extra == (opening(TODAY, "09:00", "14:30"),)
    assert stay_until(made, "21", later, UTC).extra == (opening(TODAY, "09:00", "21:00"),)
    assert stay_until(made, " ", later, UTC) == SHOP
    assert stay_until(SHOP, "", SATURDAY, UTC) == SHOP


def test_what_is_over_is_dropped_and_what_is_to_come_stays():
    over, ahead = opening(date(2026, 11, 21), "09:00", "12:00"), opening(date(2026, 12, 5), "09:00", "12:00")
    this_morning = opening(TODAY, "06:00", "09:00")
    shop = replace(SHOP, extra=(over, this_morning, ahead))
    assert to_come(shop, SATURDAY, UTC) == (ahead,)
    made = stay_until(shop, "18", SATURDAY, UTC)
    assert made.extra == (opening(TODAY, "09:00", "18:00"), ahead)
    assert stay_until(made, "", SATURDAY, UTC).extra == (ahead,)
    assert stay_until(shop, "", SATURDAY, UTC) == shop


def test_a_shop_holds_so_many():
    full = tuple(opening(TODAY + timedelta(days=7 * i + 7), "09:00", "12:00") for i in range(MOST_EXTRA))
    with pytest.raises(ValueError, match="400"):
        stay_until(replace(SHOP, extra=full), "18", SATURDAY, UTC)
    assert len(stay_until(replace(SHOP, extra=full[1:]), "18", SATURDAY, UTC).extra) == MOST_EXTRA


def test_the_night_in_which_the_clock_changes():
    """Berlin: forward on 2026-03-29 at 02:00 to 03:00, back on 2026-10-25 at 03:00 to 02:00 (tz database)."""
    evening = datetime(2026, 3, 28, 22, 0, tzinfo=BERLIN).astimezone(UTC)
    assert hours_of(stay_until(SHOP, "4:00", evening, BERLIN), BERLIN).closes_after(evening) == evening + timedelta(
        hours=5
    )
    evening = datetime(2026, 10, 24, 22, 0, tzinfo=BERLIN).astimezone(UTC)
    made = stay_until(SHOP, "4:00", evening, BERLIN)
    assert hours_of(made, BERLIN).closes_after(evening) == evening + timedelta(hours=7)
    assert staying_until(made, evening, BERLIN) == evening + timedelta(hours=7)


@examples(60)
@given(
    st.integers(0, 14 * 1440), st.integers(0, 1439), st.sampled_from([UTC, BERLIN, ZoneInfo("Australia/Lord_Howe")]),
    st.sampled_from([date(2026, 3, 25), date(2026, 10, 20)]),
)  # fmt: skip
def test_whatever_is_kept_is_open_from_now_until_then_and_is_taken_back_whole(minutes, typed, zone, day):
    now = datetime(day.year, day.month, day.day, tzinfo=UTC) + timedelta(minutes=minutes)
    try:
        made = stay_until(SHOP, f"{typed // 60}:{typed % 60:02d}", now, zone)
    except ValueError:
        return
    assert list(shop_faults(made)) == []
    closes = hours_of(made, zone).closes_after(now)
    if closes is None:  # only where the clock leaps over all that was asked for
        assert hours_of(made, zone).next_opening(now) == hours_of(SHOP, zone).next_opening(now)
        return
    before = hours_of(SHOP, zone).closes_after(now)
    assert before is None or closes >= before
    assert (made == SHOP) == (closes == before)
    assert stay_until(made, "", now, zone) == SHOP


def test_words():
    assert shut_words(SHOP, SATURDAY, UTC) == "The shop is closed until Mon 08:00."
    assert shut_words(SHOP, FRIDAY, UTC) == ""
    assert shut_words(replace(SHOP, hours=()), SATURDAY, UTC) == "The shop is closed."
    far = replace(SHOP, hours=(), extra=(opening(date(2026, 12, 24), "09:00", "12:00"),))
    assert shut_words(far, SATURDAY, UTC) == "The shop is closed until 2026-12-24 09:00."
    assert open_words(stay_until(SHOP, "24", SATURDAY, UTC), SATURDAY, UTC) == "Open today until midnight"


class Keeper:
    """Keeps a shop in memory; `full` as a disk is."""

    def __init__(self) -> None:
        self.shop, self.full = SHOP, False

    def change(self, shop: Shop) -> None:
        if self.full:
            raise NotKept("The disk is full.")
        self.shop = shop


def test_it_is_kept_shown_again_said_and_taken_back():
    keeper = Keeper()
    stay = Stay(SimpleNamespace(shop=keeper, now=lambda: SATURDAY), UTC)  # type: ignore[arg-type]
    assert stay.shut(SATURDAY) == "The shop is closed until Mon 08:00."
    assert stay.typed() == ""
    assert stay.keep("") == "Nothing was changed."
    said = stay.keep("18")
    assert said == "Open today until 18:00: planned anew. To take it back, press T and empty the field."
    assert stay.shut(SATURDAY) == ""
    assert stay.typed() == "18:00"
    assert stay.keep("18:00") == "Nothing was changed."
    with pytest.raises(Wrong, match="no time"):
        stay.keep("soon")
    assert keeper.shop.extra == (opening(TODAY, "09:00", "18:00"),)
    assert stay.keep("") == "Taken back, and planned anew. The shop is closed until Mon 08:00."
    assert keeper.shop == SHOP
    keeper.full = True
    with pytest.raises(NotNow, match="disk is full"):
        stay.keep("18")
    none = Stay(SimpleNamespace(shop=None, now=lambda: SATURDAY), UTC)  # type: ignore[arg-type]
    with pytest.raises(NotNow):
        none.keep("18")


def test_a_stay_that_crosses_nothing_but_midnight_shows_24_00():
    keeper = Keeper()
    stay = Stay(SimpleNamespace(shop=keeper, now=lambda: SATURDAY), UTC)  # type: ignore[arg-type]
    stay.keep("midnight")
    assert stay.typed() == "24:00"
    assert keeper.shop.extra == (single_opening(TODAY, 9 * 60, 1440),)
