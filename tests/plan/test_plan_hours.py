"""The openings of a shop as instants, through nights, closed days and both changes of the clock.

The clock of Berlin: forward on 2026-03-29 at 02:00 to 03:00, back on 2026-10-25 at 03:00 to 02:00 (tz database).
"""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from chainbuilder import MONDAY, clock, daily
from hypothesis import given
from hypothesis import strategies as st
from strategies import examples

from benchtool.plan.hours import ShopHours, Span

BERLIN = ZoneInfo("Europe/Berlin")
HOUR = timedelta(hours=1)
NIGHT_SHIFT = {4: [(18 * 60, 1440)], 5: [(0, 120)]}


def berlin(*figures, fold=0):
    return datetime(*figures, tzinfo=BERLIN, fold=fold).astimezone(UTC)


def test_opens_by_the_clock_on_the_wall():
    spans = daily(zone=BERLIN).spans(berlin(2026, 3, 27), berlin(2026, 3, 31))
    assert [s.opens_at for s in spans] == [berlin(2026, 3, day, 8) for day in (27, 28, 29, 30)]
    assert [s.opens_at.hour for s in spans] == [7, 7, 6, 6]  # UTC+1 in winter, UTC+2 in summer
    assert {s.lasts_s for s in spans} == {36_000}


@pytest.mark.parametrize(
    ("minutes", "day", "opens", "hours"),
    [
        ((0, 360), (2026, 3, 29), berlin(2026, 3, 29), 5),  # 00:00-06:00 without the hour from 2 to 3
        ((150, 600), (2026, 3, 29), berlin(2026, 3, 29, 3), 7),  # 02:30 is skipped: from 03:00
        ((0, 150), (2026, 3, 29), berlin(2026, 3, 29), 2),  # until 02:30, which is skipped: until the jump
        ((0, 360), (2026, 10, 25), berlin(2026, 10, 25), 7),  # the hour from 2 to 3 comes twice
        ((150, 600), (2026, 10, 25), berlin(2026, 10, 25, 2, 30), 8.5),  # from the first 02:30
        ((0, 150), (2026, 10, 25), berlin(2026, 10, 25), 3.5),  # until the second
    ],
)
def test_days_on_which_the_clock_changes(minutes, day, opens, hours):
    shop = ShopHours({6: [minutes]}, BERLIN)
    assert shop.spans(berlin(*day), berlin(*day) + 24 * HOUR) == (Span(opens, opens + hours * HOUR),)


def test_an_opening_that_the_clock_skips_is_none():
    shop = ShopHours({6: [(130, 170)]}, BERLIN)  # 02:10 to 02:50
    assert shop.spans(berlin(2026, 3, 28), berlin(2026, 3, 30)) == ()


def test_openings_that_touch_over_midnight_are_one():
    shop = ShopHours(NIGHT_SHIFT, UTC)
    friday = clock("18:00", 4)
    assert shop.spans(MONDAY, clock("00:00", 7)) == (Span(friday, friday + 8 * HOUR),)
    assert shop.fits(clock("23:00", 4), 3 * HOUR)
    assert not shop.fits(clock("23:00", 4), 3 * HOUR + timedelta(seconds=1))
    assert shop.next_fit(MONDAY, 8 * HOUR) == friday
    assert shop.next_fit(MONDAY, 8 * HOUR + timedelta(seconds=1)) is None


def test_work_is_not_broken_off_over_a_closing():
    shop = daily("08:00", "18:00")
    assert shop.next_fit(clock("17:30"), HOUR) == clock("08:00", 1)
    assert shop.next_fit(clock("17:00"), HOUR) == clock("17:00")
    assert shop.next_fit(clock("17:30"), HOUR, until=clock("08:30", 1)) is None


def test_a_day_with_a_break_has_two_openings():
    shop = ShopHours({0: [(780, 1020), (480, 720)]}, UTC)
    assert [s.lasts_s for s in shop.spans(MONDAY, MONDAY + 24 * HOUR)] == [4 * 3600, 4 * 3600]
    assert shop.usual is None
    assert daily().usual == (480, 1080)


def test_closed_days():
    shop = daily(closed=[date(2026, 3, 3)])
    assert shop.next_fit(clock("18:00"), HOUR) == clock("08:00", 2)
    assert not shop.never_opens
    assert ShopHours({}, UTC).never_opens
    assert ShopHours({0: []}, UTC).next_fit(MONDAY, HOUR) is None


def test_edges_of_an_opening():
    shop = daily()
    assert shop.is_open(clock("08:00"))
    assert not shop.is_open(clock("18:00"))
    assert shop.fits(clock("18:00"), timedelta(0))
    assert shop.closes_after(clock("17:59")) == clock("18:00")
    assert shop.closes_after(clock("18:00")) is None
    assert shop.next_opening(clock("18:00")) == clock("08:00", 1)
    always = ShopHours({day: [(0, 1440)] for day in range(7)}, UTC)
    assert always.closes_after(MONDAY) is None
    assert always.fits(MONDAY, timedelta(days=20))


@pytest.mark.parametrize("week", [{7: [(0, 60)]}, {0: [(60, 60)]}, {0: [(-1, 60)]}, {0: [(0, 1441)]}])
def test_a_week_that_is_none(week):
    with pytest.raises(ValueError, match=r"no day|is none"):
        ShopHours(week, UTC)


openings = st.lists(st.tuples(st.integers(0, 1439), st.integers(1, 1440)).filter(lambda x: x[0] < x[1]), max_size=3)
shops = st.builds(
    ShopHours,
    st.dictionaries(st.integers(0, 6), openings),
    st.sampled_from([UTC, BERLIN, ZoneInfo("Australia/Lord_Howe"), ZoneInfo("America/St_Johns")]),
    st.sets(st.dates(date(2026, 3, 20), date(2026, 4, 10)), max_size=3),
)
instants = st.integers(0, 21 * 1440).map(lambda m: datetime(2026, 3, 20, tzinfo=UTC) + timedelta(minutes=m))
lengths = st.integers(1, 1500).map(lambda m: timedelta(minutes=m))


@examples(60)
@given(shops, instants, st.integers(1, 8))
def test_spans_are_apart_and_open_by_the_wall(shop, start, days):
    spans = shop.spans(start, start + timedelta(days=days))
    for span in spans:
        assert start <= span.opens_at < span.closes_at <= start + timedelta(days=days)
        wall = shop.wall(span.opens_at + (span.closes_at - span.opens_at) / 2)
        assert wall.date() not in shop.closed
    for before, later in pairwise(spans):
        assert before.closes_at < later.opens_at
        assert not shop.is_open(before.closes_at)


@examples(60)
@given(shops, instants, lengths)
def test_the_next_fit_fits_and_is_the_first(shop, start, length):
    found = shop.next_fit(start, length, until=start + timedelta(days=14))
    spans = [s for s in shop.spans(start, start + timedelta(days=14)) if s.closes_at - s.opens_at >= length]
    assert found == (spans[0].opens_at if spans else None)
    if found is not None:
        assert shop.fits(found, length)
        assert found == start or not shop.fits(found - timedelta(seconds=1), length)


@examples(60)
@given(openings, instants)
def test_open_as_the_wall_shows_where_the_clock_does_not_change(minutes, instant):
    shop = ShopHours(dict.fromkeys(range(7), minutes), UTC)
    now = instant.hour * 60 + instant.minute
    assert shop.is_open(instant) == any(opens <= now < closes for opens, closes in minutes)


# --- openings of single days -----------------------------------------------------------------------------


def test_a_single_day_is_open_beside_the_week_and_though_it_is_a_closed_one():
    friday, saturday = date(2026, 3, 6), date(2026, 3, 7)
    extra = [(saturday, (540, 1080)), (friday, (1080, 1440)), (saturday, (0, 60))]
    week = {day: [(480, 1080)] for day in range(5)}
    shop = ShopHours(week, UTC, [saturday], extra)
    assert shop.spans(clock("00:00", 4), clock("00:00", 6)) == (
        Span(clock("08:00", 4), clock("01:00", 5)), Span(clock("09:00", 5), clock("18:00", 5)),
    )  # fmt: skip
    assert not shop.is_open(clock("10:00", 12))  # the Saturday after
    only = ShopHours({}, UTC, extra=extra)
    assert not only.never_opens
    assert only.next_fit(MONDAY, 7 * HOUR) == clock("18:00", 4)
    assert only.next_opening(clock("18:00", 5)) is None


@pytest.mark.parametrize("minutes", [(60, 60), (-1, 60), (0, 1441)])
def test_an_opening_of_a_single_day_that_is_none(minutes):
    with pytest.raises(ValueError, match="is none"):
        ShopHours({}, UTC, extra=[(date(2026, 3, 7), minutes)])


@pytest.mark.parametrize(
    ("day", "minutes", "opens", "hours"),
    [
        (date(2026, 3, 29), (0, 360), berlin(2026, 3, 29), 5),
        (date(2026, 3, 29), (150, 600), berlin(2026, 3, 29, 3), 7),
        (date(2026, 10, 25), (0, 150), berlin(2026, 10, 25), 3.5),
    ],
)
def test_a_single_day_on_which_the_clock_changes(day, minutes, opens, hours):
    shop = ShopHours({}, BERLIN, extra=[(day, minutes)])
    assert shop.spans(opens - 9 * HOUR, opens + 24 * HOUR) == (Span(opens, opens + hours * HOUR),)


@examples(60)
@given(
    st.dictionaries(st.integers(0, 6), openings), st.sets(st.dates(date(2026, 3, 20), date(2026, 4, 10)), max_size=3),
    st.lists(
        st.tuples(st.dates(date(2026, 3, 20), date(2026, 4, 10)), openings.filter(bool).map(lambda x: x[0])), max_size=4
    ), instants,
)  # fmt: skip
def test_it_is_open_where_the_week_or_the_single_day_is(week, closed, extra, at):
    for zone in (UTC, BERLIN):
        both = ShopHours(week, zone, closed, extra).is_open(at)
        single = [ShopHours({}, zone, extra=[one]).is_open(at) for one in extra]
        assert both == (ShopHours(week, zone, closed).is_open(at) or any(single))
