"""How long a piece can wait, and what falls into the night: worked by hand, and against trying each minute."""

from dataclasses import replace
from datetime import UTC, timedelta

import pytest
from chainbuilder import ChainBuilder, after, at, clock, daily, stack
from hypothesis import given
from hypothesis import strategies as st
from strategies import examples

from benchtool.plan.hours import ShopHours
from benchtool.plan.latest import latest_start, nights
from benchtool.plan.search import plan
from benchtool.plan.timetable import faults
from benchtool.plan.work import Link, Room
from benchtool.trade.windows import FOR_GOOD, WindowKind

SHOP, ONE, EIGHT = daily(), Room(), clock("08:00")


def planned(*chains, now=EIGHT, hours=SHOP):
    return plan(chains, ONE, hours, now, effort=2000)


def test_the_latest_start_by_hand():
    """Primer 30 min, open after 4 h, closed after 10 h 40, base 20 min, shut at 18:00.

    The base must begin by 17:40, so the primer is done by 13:40 and begun by 13:10; begun later, the base falls on the
    next day, too late. It was promised for 15:00: the base begins by 14:40, the primer by 10:10.
    """
    chain = ChainBuilder(promised=clock("15:00")).task(30, words="Prime").task(20).link(0, 1, 240, 640).chain()
    found = latest_start(planned(chain), chain, ONE, SHOP)
    assert (found.planned_at, found.for_today, found.for_promise) == (clock("08:00"), clock("13:10"), clock("10:10"))
    assert found.words == (
        "Panel a: begin “Prime” by 2026-03-02 13:10, or what is planned for that day does not fit in. "
        "Begun by 2026-03-02 10:10 it is still done by 2026-03-02 15:00, when it was promised."
    )


def test_what_is_planned_for_another_day_does_not_count_for_today():
    """The base opens after 20 h: it is for tomorrow anyway, so the primer may be done as late as 18:00."""
    chain = ChainBuilder().task(30).task(20).link(0, 1, 1200).chain()
    found = latest_start(planned(chain), chain, ONE, SHOP)
    assert found.for_today == clock("17:30")
    assert found.for_promise is None


def test_a_window_of_tomorrow_counts_for_today():
    """Open after 14 h, closed after 16 h: done by 16:00 it has closed when the shop opens at 08:00.

    Done a second later it has not; done at 18:00, the last that fits today, it opens as the shop does.
    """
    chain = ChainBuilder().task(30).task(20).link(0, 1, 840, 960).chain()
    found = latest_start(planned(chain), chain, ONE, SHOP)
    assert found.planned_at == clock("15:30") + timedelta(seconds=1)
    assert found.for_today == clock("17:30")


def test_other_work_stays_where_it_is():
    """The other piece takes 09:00 to 17:00: the last gap of 30 min before it begins at 08:30, after it at 17:00."""
    runs = Link(
        first=None, then=0, kind=WindowKind.RECOAT, words="w", opens=after(60), closes=after(61), since=clock("08:00")
    )
    other = ChainBuilder("b").task(480).add(runs).chain()
    chain = ChainBuilder().task(30).task(20).link(0, 1, 0, 30).chain()
    table = planned(chain, other)
    assert latest_start(table, chain, ONE, SHOP).for_today == clock("17:10")
    tight = ChainBuilder(promised=clock("12:00")).task(30).task(20).link(0, 1, 0, 30).chain()
    assert latest_start(planned(tight, other), tight, ONE, SHOP).for_promise == clock("08:10")


def test_a_promise_that_is_not_kept_is_said():
    chain = ChainBuilder(promised=clock("08:10")).task(30).chain()
    found = latest_start(planned(chain), chain, ONE, SHOP)
    assert found.for_promise is None
    assert found.words.endswith("It will not be done by 2026-03-02 08:10, when it was promised.")


def test_nothing_to_begin():
    begun = ChainBuilder().task(30, begun=clock("07:50")).chain()
    assert latest_start(planned(begun), begun, ONE, SHOP) is None
    shut = ShopHours({}, UTC)
    assert latest_start(planned(stack("a"), hours=shut), stack("a"), ONE, shut) is None


def test_a_shop_that_never_shuts():
    always = ShopHours({day: [(0, 1440)] for day in range(7)}, UTC)
    chain = ChainBuilder().task(30).chain()
    assert latest_start(planned(chain, hours=always), chain, ONE, always).for_today == clock("07:30", 1)


@examples(25)
@given(
    st.lists(st.integers(5, 60), min_size=1, max_size=3),
    st.lists(st.tuples(st.integers(0, 400), st.integers(30, 700)), min_size=2, max_size=2),
    st.integers(480, 1000),
)
def test_begun_then_it_works_and_a_second_later_it_does_not(lengths, waits, start):
    """What is planned from the latest start on is done on that day; from a second later on, it is not."""
    built = ChainBuilder()
    for n, length in enumerate(lengths):
        built.task(length)
        if n:
            built.link(n - 1, n, waits[n - 1][0], sum(waits[n - 1]))
    chain = built.chain()
    table = planned(chain, now=at(start))
    found = latest_start(table, chain, ONE, SHOP)
    if found is None:
        assert table.cant
        return
    today = {p.task.id for p in table.placed if p.starts_at < SHOP.closes_after(found.planned_at)}

    def of_today(now):
        later = planned(chain, now=now)
        return {p.task.id for p in later.placed if p.starts_at < SHOP.closes_after(found.planned_at)}

    assert of_today(found.for_today) == today
    assert of_today(found.for_today + timedelta(seconds=1)) != today


# --- the night ---------------------------------------------------------------------------------------------


def test_a_wait_that_is_over_in_the_night():
    """Done at 17:30, open 4 h later at 21:30; the shop opens at 08:00. It closes at 09:30, when the shop is open."""
    chain = ChainBuilder().task(30).task(20).link(0, 1, 240, 960, words="Primer").chain()
    (night,) = nights(planned(chain, now=clock("17:00")), SHOP)
    assert night.runs
    assert night.over_shut
    assert night.opens_at == clock("08:00", 1)
    assert not night.closes_shut
    assert night.words == (
        "“Primer” is over at 2026-03-02 21:30, while the shop is closed; it opens again at 2026-03-03 08:00."
    )


def test_a_window_that_closes_in_the_night():
    """Done at 08:30, open at 12:30, closed at 02:40 by night: what follows begins before the shop shuts at 18:00."""
    chain = ChainBuilder().task(30).task(20).link(0, 1, 240, 1090, words="Primer").chain()
    (night,) = nights(planned(chain), SHOP)
    assert night.closes_shut
    assert night.begin_by == clock("18:00")
    assert not night.runs
    assert night.words == (
        "“Primer” closes at 2026-03-03 02:40, while the shop is closed: begin what follows before 2026-03-02 18:00, "
        "when it shuts."
    )


def test_a_window_that_is_open_only_in_the_night():
    """Done at 08:10, open from 19:10 to 21:10."""
    chain = ChainBuilder().task(10).task(10).link(0, 1, 660, 780, scuff=15, words="Primer").chain()
    (night,) = nights(planned(chain), SHOP)
    assert night.waiting.missed
    assert night.closes_shut
    assert night.begin_by is None
    assert night.words.endswith("and the shop is not open between its opening and that.")


def test_a_cure_through_the_night_and_one_that_never_ends():
    cure = ChainBuilder().task(60).link(0, None, 1440, words="Cure", kind=WindowKind.CURE)
    (night,) = nights(planned(cure.chain()), SHOP)
    assert (night.runs, night.over_shut, night.closes_shut) == (True, False, False)
    assert night.words == "“Cure” runs while the shop is closed, and is over at 2026-03-03 09:00."
    never = replace(cure.links[0], opens=lambda _end: FOR_GOOD)
    (night,) = nights(planned(replace(cure.chain(), links=(never,))), SHOP)
    assert night.words == "“Cure” never ends in the air that is expected."


@pytest.mark.parametrize("opens", [0, 30])
def test_what_is_over_by_day_is_no_night(opens):
    chain = ChainBuilder().task(10).task(10).link(0, 1, opens, 120).chain()
    table = planned(chain)
    assert faults(table, [chain], ONE, SHOP) == ()
    assert nights(table, SHOP) == ()
