"""Where the work of a piece comes to lie: closing windows, remedies, what can't fit, and the check of a whole plan."""

from dataclasses import replace
from datetime import UTC, date, timedelta

import pytest
from chainbuilder import MONDAY, ChainBuilder, after, at, clock, daily, stack, when
from hypothesis import given
from hypothesis import strategies as st
from strategies import examples

from benchtool.job.cards import Gun
from benchtool.plan.freetime import Free, Pool, Stretches, down, instant
from benchtool.plan.hours import ShopHours
from benchtool.plan.lines import line_of
from benchtool.plan.placing import Stuck, place
from benchtool.plan.search import plan
from benchtool.plan.timetable import faults
from benchtool.plan.work import By, Link, Room, Task, Work
from benchtool.trade.windows import FOR_GOOD, WindowKind

SHOP, ONE, EIGHT = daily(), Room(), clock("08:00")


def planned(*chains, now=EIGHT, room=ONE, hours=SHOP, **more):
    table = plan(chains, room, hours, now, **more)
    assert faults(table, chains, room, hours) == ()
    return table


# --- the night case, by hand -------------------------------------------------------------------------


def test_a_primer_whose_window_would_close_in_the_night_is_put_off_to_the_morning():
    """Primer done at 16:00: recoat opens 4 h later, at 20:00, and closes 10 h 40 after it, at 02:40.

    The shop is open 08:00 to 18:00. At 20:00 it is closed, and it opens at 08:00, which is 5 h 20 after 02:40: lost.
    So the primer is not sprayed today. Sprayed from 08:00 to 08:30 on Tuesday, recoat opens at 12:30 and closes at
    19:10: the base goes on at 12:30.
    """
    chain = ChainBuilder().task(30, layer="primer").task(20, layer="base").link(0, 1, 240, 640).chain()
    table = planned(chain, now=clock("15:30"))
    assert when(table, "a", "t0") == (1440 + 480, 1440 + 510)
    assert when(table, "a", "t1") == (1440 + 750, 1440 + 770)
    (wait,) = table.waits
    assert (wait.from_at, wait.opens_at, wait.closes_at) == (
        clock("08:30", 1), clock("12:30", 1), clock("19:10", 1),
    )  # fmt: skip
    assert not wait.missed
    assert table.proved


def test_the_last_start_of_the_day_that_still_works():
    """The base takes 20 min, so it begins by 17:40; 4 h before that the primer is done: it begins by 13:10."""
    chain = ChainBuilder().task(30).task(20).link(0, 1, 240, 640).chain()
    assert when(planned(chain, now=clock("13:10")), "a", "t0") == (790, 820)
    assert when(planned(chain, now=clock("13:11")), "a", "t0") == (1440 + 480, 1440 + 510)


def test_a_window_that_closes_while_the_shop_is_open_next_day_is_used_then():
    """Done at 17:00, open from 07:00, closed from 09:00: the base goes on at 08:00, and the primer was not put off."""
    chain = ChainBuilder().task(60).task(20).link(0, 1, 14 * 60, 16 * 60).chain()
    table = planned(chain, now=clock("16:00"))
    assert when(table, "a", "t0") == (960, 1020)
    assert when(table, "a", "t1") == (1440 + 480, 1440 + 500)


def test_the_instant_a_window_closes_is_too_late_to_begin():
    """Done at 16:00, it closes at 08:00 sharp, as the shop opens; done a second later it would be in time."""
    chain = ChainBuilder().task(60).task(20).link(0, 1, 14 * 60, 16 * 60).chain()
    table = planned(chain, now=clock("15:00"))
    assert when(table, "a", "t0")[1] == pytest.approx(960 + 1 / 60)
    by_end = ChainBuilder().task(60).task(20).link(0, 1, 0, 60, by_end=True).chain()
    assert when(planned(by_end), "a", "t1") == (540, 560)  # ended by 10:00, the instant it closes, would be in time


def test_what_runs_already_counts():
    """A recoat window that runs: it opens at 09:30 and closes at 11:00."""
    link = Link(
        first=None, then=0, kind=WindowKind.RECOAT, words="Primer", opens=after(240), closes=after(330),
        since=clock("05:30"),
    )  # fmt: skip
    other = ChainBuilder("b").task(200).chain()
    table = planned(other, ChainBuilder().task(20).add(link).chain())
    assert when(table, "a", "t0") == (570, 590)
    assert table.cost.missed == table.cost.left_out == 0
    assert when(table, "b", "t0")[0] >= 590
    assert table.simple.left_out == 1  # as they came the other takes the hands from 08:00 to 11:20
    assert table.by is By.SEARCH
    assert table.order == (("a", "p"), ("b", "p"))


def test_begun_work_stays_where_it_is_and_takes_its_hand_and_gun():
    begun = ChainBuilder().task(30, gun=Gun.MINI, begun=clock("07:50")).task(10).link(0, 1, 15).chain()
    other = ChainBuilder("b").task(10, gun=Gun.MINI).chain()
    table = planned(other, begun)
    assert when(table, "a", "t0") == (470, 500)  # out of hours: it was begun all the same
    assert when(table, "b", "t0") == (500, 510)
    assert when(table, "a", "t1") == (515, 525)


def test_begun_work_that_lasts_longer_than_thought_ends_no_earlier_than_now():
    table = planned(ChainBuilder().task(10, begun=clock("07:00")).task(5).chain())
    assert when(table, "a", "t0") == (420, 480)
    assert when(table, "a", "t1") == (480, 485)


def test_more_begun_than_there_are_hands_is_planned_all_the_same():
    chains = [ChainBuilder(n).task(m, begun=clock("07:55")).task(5).chain() for n, m in (("a", 10), ("b", 20))]
    table = planned(*chains)
    assert when(table, "a", "t1") == (495, 500)
    assert when(table, "b", "t1") == (500, 505)


# --- hands, booths, guns --------------------------------------------------------------------------------


def test_two_hands_work_at_once_but_not_in_one_booth():
    pieces = [ChainBuilder(n).task(30, booth=True).task(30).chain() for n in "ab"]
    table = planned(*pieces, room=Room(hands=2))
    assert when(table, "a", "t0") == (480, 510)
    assert when(table, "b", "t0") == (510, 540)
    assert when(table, "a", "t1") == (510, 540)
    both = planned(*pieces, room=Room(hands=2, booths=2))
    assert when(both, "a", "t0") == when(both, "b", "t0") == (480, 510)
    assert {p.booth for p in both.placed if p.task.booth} == {0, 1}


def test_guns_of_one_kind_are_shared():
    pieces = [ChainBuilder(n).task(30, gun=g).chain() for n, g in (("a", Gun.MINI), ("b", Gun.MINI), ("c", Gun.FULL))]
    table = planned(*pieces, room=Room(hands=3))
    assert [when(table, n, "t0")[0] for n in "abc"] == [480, 510, 480]


def test_waits_of_one_piece_are_filled_with_work_on_another():
    waits = ChainBuilder("a").task(10).task(10).link(0, 1, 60).chain()
    table = planned(waits, ChainBuilder("b").task(40).chain())
    assert when(table, "b", "t0") == (490, 530)
    assert when(table, "a", "t1") == (550, 560)


# --- remedies -------------------------------------------------------------------------------------------


def narrow(scuff=None):
    """Opens after 11 h and closes after 13 h: done from 08:10 to 18:00, it opens from 19:10 and has closed by 07:00."""
    return (
        ChainBuilder().task(10, words="Prime").task(10, words="Base").link(0, 1, 660, 780, scuff=scuff, words="Primer")
    )


def test_a_remedy_is_done_where_no_start_works_without():
    """Done at 08:10, closed at 21:10: scuffed from 08:00 on Tuesday, and the base goes on after that."""
    table = planned(narrow(scuff=15).chain())
    assert when(table, "a", "scuff0") == (1440 + 480, 1440 + 495)
    assert when(table, "a", "t1") == (1440 + 495, 1440 + 505)
    assert [w.missed for w in table.waits] == [True]
    assert table.cost.missed == 1


def test_no_remedy_where_a_later_start_works_without():
    chain = ChainBuilder().task(30).task(20).link(0, 1, 240, 640, scuff=15).chain()
    table = planned(chain, now=clock("15:30"))
    assert table.cost.missed == 0
    assert when(table, "a", "t0") == (1440 + 480, 1440 + 510)


def test_a_window_that_closed_already_is_remedied():
    link = narrow(scuff=15).links[0]
    closed = replace(link, first=None, then=0, since=clock("08:00") - timedelta(days=2))
    table = planned(ChainBuilder().task(10).add(closed).chain())
    assert when(table, "a", "scuff0") == (480, 495)
    assert when(table, "a", "t0") == (495, 505)


def test_the_scuff_goes_before_the_mix_so_that_it_takes_nothing_of_the_pot_life():
    chain = (
        ChainBuilder()
        .task(10, layer="primer")
        .task(10, Work.MIX, layer="base")
        .task(10, layer="base")
        .link(0, 2, 660, 780, scuff=30)
        .link(1, 2, 0, 20, from_start=True, by_end=True, kind=WindowKind.POT_LIFE)
        .chain()
    )
    table = planned(chain)
    work = [p.task.work for p in table.placed]
    assert work == [Work.COAT, Work.SCUFF, Work.MIX, Work.COAT]


def test_many_remedies_are_found_one_by_one():
    """Ten narrow windows are more choices than are tried: each needs its scuff, for each lies in the night."""
    built = ChainBuilder().task(10)
    for k in range(10):
        built.task(10).link(k, k + 1, 660, 780, scuff=5)
    table = planned(built.chain())
    assert table.cost.missed == 10
    assert table.cost.left_out == 0


# --- waits that depend on when they begin -------------------------------------------------------------


def slow_at_night(end):
    """A wait of 2 h that is 10 h where it begins after noon."""
    return end + (timedelta(hours=10) if end >= clock("12:00") else timedelta(hours=2))


def test_a_wait_that_depends_on_its_beginning():
    def built(closes):
        link = Link(
            first=0, then=1, kind=WindowKind.RECOAT, words="w", opens=slow_at_night, closes=closes, constant=False
        )
        return ChainBuilder().task(30).task(30).add(link).chain()

    table = planned(built(lambda _end: None), now=clock("11:30"))
    assert when(table, "a", "t1")[0] == 1440 + 480  # done at 12:00 sharp: open at 22:00, the shop at 08:00
    early = planned(built(lambda _end: None), now=clock("11:29"))
    assert when(early, "a", "t1")[0] == 12 * 60 + 119
    # Where it closes as the next day begins, a later start is looked for: from Tuesday 08:00, waiting 10 h, never.
    assert planned(built(lambda end: end + timedelta(hours=10, minutes=5)), now=clock("11:30")).cant


@examples(60)
@given(st.integers(0, 600), st.integers(1, 90), st.integers(0, 500))
def test_a_constant_wait_asked_as_one_that_is_not(start, opens, more):
    """Both ways of reckoning give the same place, to the minute that a long wait is rounded up to."""
    plain = ChainBuilder().task(7).task(9).task(11).link(0, 1, opens, opens + 40).link(1, 2, more, more + 300)
    asked = [replace(link, constant=False) for link in plain.links]
    tables = []
    for links in (plain.links, asked):
        chain = replace(plain.chain(), links=tuple(links))
        tables.append(planned(chain, now=EIGHT + timedelta(minutes=start)))
    first, second = tables
    assert bool(first.cant) == bool(second.cant)
    for a, b in zip(first.placed, second.placed, strict=True):
        assert abs(a.starts_at - b.starts_at) <= timedelta(minutes=1)


# --- can't fit, because --------------------------------------------------------------------------------


def why(chain, **more):
    table = planned(chain, **more)
    (cant,) = table.cant
    assert (cant.job, cant.piece_name) == (chain.job, chain.piece_name)
    assert table.placed == ()
    return cant.because


def test_says_the_numbers_of_a_window_that_no_start_keeps():
    assert why(narrow().chain()) == (
        "“Primer” opens after 11 h and closes after 13 h, and your shop is open 08:00–18:00. Whenever “Prime” ends "
        "within these hours, “Base” would have to be begun while the shop is closed."
    )


def test_says_that_it_closes_before_it_opens():
    chain = ChainBuilder().task(10).task(10).link(0, 1, 60, 30, words="Primer").chain()
    assert why(chain) == "“Primer” opens after 1 h, and has closed before that, after 30 min."


def test_says_that_the_pot_life_is_too_short():
    chain = (
        ChainBuilder()
        .task(10, Work.MIX)
        .task(10)
        .task(10, words="Spray coat 2")
        .link(1, 2, 15)
        .link(0, 2, 0, 40, from_start=True, by_end=True, words="Pot life of the clear")
        .chain()
    )
    assert why(chain).startswith(
        "“Pot life of the clear” closes after 40 min, and “Spray coat 2” can't be over by then"
    )
    assert planned(replace(chain, links=(chain.links[0], replace(chain.links[1], closes=after(45))))).cant == ()


def test_says_that_a_running_window_is_over():
    over = Link(
        first=None,
        then=0,
        kind=WindowKind.RECOAT,
        words="Primer",
        opens=after(0),
        closes=after(60),
        since=clock("05:00"),
    )
    chain = ChainBuilder().task(10, words="Base").add(over).chain()
    assert why(chain) == "“Primer” closed at 2026-03-02 06:00, before “Base” was begun."
    night = ChainBuilder().task(10, words="Base").add(replace(over, since=clock("19:30"))).chain()
    assert why(night, now=clock("19:31")) == (
        "“Primer” closes at 2026-03-02 20:30, and “Base” can't be begun in time: your shop is open 08:00–18:00."
    )


def test_says_that_a_wait_never_ends():
    chain = (
        ChainBuilder()
        .task(10)
        .task(10)
        .add(Link(first=0, then=1, kind=WindowKind.RECOAT, words="Primer", opens=lambda _: FOR_GOOD))
    )
    assert why(chain.chain()) == "“Primer” never ends in the air that is expected: warm the shop, or dry it."


def test_a_cure_that_never_ends_is_no_reason_not_to_paint():
    link = Link(first=0, then=None, kind=WindowKind.CURE, words="Cure", opens=lambda _: FOR_GOOD)
    table = planned(ChainBuilder(promised=clock("18:00", 1)).task(10).add(link).chain())
    assert table.cant == ()
    assert table.waits[0].opens_at == FOR_GOOD
    assert table.cost.late_s > 0


@pytest.mark.parametrize(
    ("hours", "room", "said"),
    [
        (ShopHours({}, UTC), ONE, "Your shop never opens by its hours: give it at least one opening a week."),
        (
            daily(closed=[date(2026, 3, d) for d in range(1, 32)]),
            ONE,
            "Your shop does not open before 2026-03-23 08:00",
        ),
        (daily("08:00", "08:09"), ONE, "“Prime” takes 10 min, and the longest your shop is open"),
        (SHOP, Room(guns={Gun.FULL: 1}), "“Prime” needs a mini gun, and the shop has none"),
        (SHOP, Room(booths=0), "“Prime” needs a booth, and the shop has none"),
        (SHOP, Room(hands=0), "“Prime” takes a pair of hands, and the shop has none"),
    ],
)
def test_says_what_the_shop_lacks(hours, room, said):
    chain = ChainBuilder().task(10, words="Prime", gun=Gun.MINI, booth=True).chain()
    assert why(chain, hours=hours, room=room).startswith(said)


@pytest.mark.parametrize(
    ("week", "told"),
    [
        ({d: [(480, 1080)] if d < 5 else [(540, 780)] for d in range(6)}, "and your shop is not always open. Whenever"),
        ({d: [(480, 720), (780, 1080)] for d in range(7)}, "and your shop is not always open. Whenever"),
        ({0: [(0, 1440)]}, "and your shop is not always open. Whenever"),
    ],
)
def test_says_hours_that_differ_in_a_whole_sentence(week, told):
    chain = ChainBuilder().task(10, words="Prime").task(10, words="Base").link(0, 1, 60 * 24, 60 * 24 + 5).chain()
    chain = chain if len(week) == 1 else narrow().chain()
    assert told in why(chain, hours=ShopHours(week, UTC))


def test_says_that_a_pot_life_ends_in_closed_hours():
    chain = (
        ChainBuilder()
        .task(10, Work.MIX, words="Mix")
        .task(5, words="Spray")
        .link(0, 1, 0, 240, from_start=True, by_end=True, words="Pot life")
        .chain()
    )
    assert why(chain, hours=daily("08:00", "08:12")) == (
        "“Pot life” closes after 4 h, and your shop is open 08:00–08:12. Whenever “Mix” is begun within these hours, "
        "“Spray” would have to be done while the shop is closed."
    )


def test_says_that_others_are_in_the_way():
    """Both have a window that closes at 08:20, and each takes 30 min."""
    link = Link(
        first=None, then=0, kind=WindowKind.RECOAT, words="w", opens=after(0), closes=after(60), since=clock("07:20")
    )
    chains = [ChainBuilder(n).task(30).add(link).chain() for n in "ab"]
    (cant,) = planned(*chains).cant
    assert cant.because.startswith("Alone Panel b could be done, but beside the other work no start before 2026-03-23")


def test_a_piece_that_cannot_be_done_takes_nothing_from_the_others():
    table = planned(narrow().chain(), stack("b"))
    assert [c.job for c in table.cant] == ["a"]
    assert when(table, "b", "t0")[0] == 480


def test_nothing_to_do():
    assert planned().placed == ()
    curing = ChainBuilder().add(
        Link(first=None, then=None, kind=WindowKind.CURE, words="Cure", opens=after(600), since=clock("07:00"))
    )
    table = planned(curing.chain())
    assert table.cant == ()
    assert [w.opens_at for w in table.waits] == [clock("17:00")]
    assert table.proved


# --- the check of a plan ---------------------------------------------------------------------------------


def broken(table, task, **change):
    rows = tuple(replace(p, **change) if p.task.id == task and p.task.job == "a" else p for p in table.placed)
    return replace(table, placed=rows)


def test_the_check_finds_each_kind_of_fault():
    chains = (stack("a"), stack("b"), narrow(scuff=10).chain())
    chains = (
        chains[0],
        chains[1],
        replace(chains[2], job="c", tasks=tuple(replace(t, job="c") for t in chains[2].tasks)),
    )
    chains = (*chains[:2], replace(chains[2], links=(replace(chains[2].links[0], remedy=replace(
        chains[2].links[0].remedy, job="c")),)))  # fmt: skip
    table = planned(*chains)
    row = next(p for p in table.placed if p.task.id == "t1" and p.task.job == "a")

    def said(changed):
        return " ".join(faults(changed, chains, ONE, SHOP))

    night = clock("22:00")
    assert "out of hours" in said(broken(table, "t1", starts_at=night, ends_at=night + timedelta(minutes=5)))
    assert "takes" in said(broken(table, "t1", ends_at=row.ends_at + timedelta(minutes=1)))
    assert "hand 1 of 1" in said(broken(table, "t1", hand=1))
    assert "booth None of 1" in said(broken(table, "t1", booth=None))
    other = next(p for p in table.placed if p.task.job == "b" and p.task.id == "t0")
    assert "same hand" in said(broken(table, "t1", starts_at=other.starts_at, ends_at=other.ends_at))
    soon = next(p for p in table.placed if p.task.job == "a" and p.task.id == "t2").starts_at - timedelta(minutes=6)
    assert "is over" in said(broken(table, "t2", starts_at=soon, ends_at=soon + timedelta(minutes=5)))
    late = clock("17:00", 9)
    assert "too late" in said(broken(table, "t4", starts_at=late, ends_at=late + timedelta(minutes=5)))
    past = clock("08:00") - timedelta(days=1)
    assert "in the past" in said(broken(table, "t0", starts_at=past, ends_at=past + timedelta(minutes=10)))
    assert "not in the plan" in said(replace(table, placed=tuple(p for p in table.placed if p is not row)))
    assert "twice" in said(replace(table, placed=(*table.placed, row)))
    assert "missed and" in said(replace(table, waits=tuple(replace(w, missed=False) for w in table.waits)))
    scuffed = [p for p in table.placed if p.task.work is not Work.SCUFF]
    assert "too late" in said(replace(table, placed=tuple(scuffed)))


# --- laws ------------------------------------------------------------------------------------------------

stretches = st.lists(st.tuples(st.integers(0, 40), st.integers(1, 8)), max_size=14)


@examples(100)
@given(stretches, st.integers(1, 3), st.integers(0, 40), st.integers(0, 9))
def test_a_pool_is_full_just_where_so_many_are_taken(taken, count, start, length):
    pool = Pool([Stretches() for _ in range(count)])
    inside = []
    for a, n in taken:
        if all(sum(x <= s < x + m for x, m in inside) < count for s in range(a, a + n)):
            inside.append((a, n))
            pool.add(a, a + n)
    for _ in range(len(inside) // 2):
        a, n = inside.pop(0)
        pool.take(a, a + n)
    busy = [sum(x <= s < x + m for x, m in inside) for s in range(80)]
    for number, level in enumerate(pool.levels):
        assert [any(a <= s < b for a, b in zip(level.starts, level.ends, strict=True)) for s in range(80)] == [
            b > number for b in busy
        ]
        assert all(b < a for b, a in zip(level.ends, level.starts[1:], strict=False))
    if length:
        fits = next(s for s in range(start, 80) if all(b < count for b in busy[s : s + length]))
        assert pool.full.gap(start, length) == fits


def test_a_booth_that_gets_free_while_no_hand_is():
    """Both hands: 08:30 to 09:00; the booth: until 08:30. So work of 10 min in the booth begins at 09:00."""
    free = Free.of(Room(hands=2, booths=1), SHOP, EIGHT, clock("18:00"))
    sprays = line_of(ChainBuilder().task(30, booth=True).chain(), EIGHT)
    free.add(sprays, [down(EIGHT)])
    for _ in range(2):
        free.add(line_of(ChainBuilder().task(30).chain(), EIGHT), [down(clock("08:30"))])
    next_one = line_of(ChainBuilder().task(10, booth=True).chain(), EIGHT)
    assert place(next_one, free) == [down(clock("09:00"))]
    assert place(line_of(ChainBuilder().task(10).chain(), EIGHT), free) == [down(EIGHT)]


windows = st.tuples(st.integers(0, 900), st.one_of(st.none(), st.integers(1, 900)))
chains = st.builds(
    lambda lengths, waits, scuff: (lengths, waits, scuff),
    st.lists(st.integers(1, 90), min_size=1, max_size=4),
    st.lists(windows, min_size=3, max_size=3),
    st.booleans(),
)


def built_of(drawn, name):
    lengths, waits, scuff = drawn
    built = ChainBuilder(name)
    for n, length in enumerate(lengths):
        built.task(length, booth=bool(n % 2), gun=Gun.MINI if length % 3 == 0 else None)
        if n:
            opens, more = waits[n - 1]
            built.link(n - 1, n, opens, None if more is None else opens + more, scuff=7 if scuff else None)
    return built.chain()


rooms = st.builds(Room, booths=st.integers(1, 2), hands=st.integers(1, 3))


@examples(40)
@given(st.lists(chains, min_size=1, max_size=4), rooms, st.integers(0, 2000))
def test_a_plan_holds_and_a_piece_more_breaks_none(drawn, room, start):
    pieces = [built_of(d, "abcd"[n]) for n, d in enumerate(drawn)]
    before = planned(*pieces[:-1], room=room, now=at(start), effort=3000)
    table = planned(*pieces, room=room, now=at(start), effort=3000)  # faults are none: no wait short, none out of hours
    assert table.cost <= table.simple
    assert table.cost.left_out >= before.cost.left_out
    assert len(table.cant) + len({p.task.job for p in table.placed}) == len(pieces)


OPENINGS = [(0, 7), (9, 14), (18, 30)]
short = st.lists(st.integers(1, 6), min_size=1, max_size=3)
short_waits = st.lists(st.tuples(st.integers(0, 9), st.one_of(st.none(), st.integers(0, 6))), min_size=3, max_size=3)


@examples(80)
@given(short, short_waits, st.integers(0, 4), st.sampled_from([(0, 0), (3, 4), (11, 5)]))
def test_each_task_lies_as_early_as_in_any_plan(lengths, waits, start, other):
    """All starts by whole minutes are gone through in half an hour with three openings and other work in between.

    A deadline lies a second after a whole minute, so that the last start before it is one.
    """
    hours = ShopHours({0: OPENINGS}, UTC)
    built = ChainBuilder()
    pairs = [(n, n + 1, *waits[n]) for n in range(len(lengths) - 1)]
    if len(lengths) == 3:
        pairs.append((0, 2, 0, None if waits[2][1] is None else waits[2][0] + waits[2][1]))
    for length in lengths:
        built.task(length)
    for first, then, opens, more in pairs:
        built.link(first, then, opens, None if more is None else opens + more + 1 / 60)
    found = []

    def go(starts):
        k = len(starts)
        if k == len(lengths):
            found.append(starts)
            return
        for s in range(starts[-1] + lengths[k - 1] if k else start, 31):
            e = s + lengths[k]
            kept = (
                starts[i] + lengths[i] + opens <= s and (more is None or s <= starts[i] + lengths[i] + opens + more)
                for i, then, opens, more in pairs
                if then == k
            )
            if any(a <= s and e <= b for a, b in OPENINGS) and not s < sum(other) > other[0] < e and all(kept):
                go((*starts, s))

    go(())
    free = Free.of(ONE, hours, at(start), at(30))
    free.hands.add(down(at(other[0])), down(at(sum(other)))) if other[1] else None
    line = line_of(built.chain(), at(start))
    if not found:
        with pytest.raises(Stuck):
            place(line, free)
        return
    least = [min(starts[k] for starts in found) for k in range(len(lengths))]
    assert [(instant(s) - MONDAY).total_seconds() / 60 for s in place(line, free)] == least
    assert tuple(least) in found  # all of them at once


def test_a_plan_begins_now_even_between_two_seconds():
    now = MONDAY + timedelta(hours=9, microseconds=1)
    table = planned(ChainBuilder().task(1).chain(), now=now)
    assert table.placed[0].starts_at == MONDAY + timedelta(hours=9, seconds=1)
    assert table.cost.last_s == pytest.approx(60.999999)


def test_a_remedy_that_keeps_only_so_long_is_done_no_sooner_than_that():
    """The cup is dead at 09:00, the coat can go on at 14:00: the fresh one that lasts 2 h is not mixed at 09:00."""
    fresh = Task(id="fresh", job="a", piece="p", work=Work.MIX, words="Mix fresh", takes_s=600.0, layer="l")
    dies = Link(
        first=None, then=0, kind=WindowKind.POT_LIFE, words="Pot life", opens=after(0), closes=after(60), by_end=True,
        since=clock("08:00"), remedy=fresh, remedy_lasts_s=2 * 3_600.0,
    )  # fmt: skip
    opens = Link(first=None, then=0, kind=WindowKind.RECOAT, words="Primer", opens=after(360), since=clock("08:00"))
    chain = ChainBuilder().task(10, words="Clear").add(dies).add(opens).chain()
    table = planned(chain)
    assert [(p.task.id, p.starts_at) for p in table.placed] == [("fresh", clock("12:10")), ("t0", clock("14:00"))]
    assert faults(table, (chain,), ONE, SHOP) == ()
    early = replace(table, placed=tuple(
        replace(p, starts_at=clock("09:00"), ends_at=clock("09:10")) if p.task.id == "fresh" else p
        for p in table.placed
    ))  # fmt: skip
    assert faults(early, (chain,), ONE, SHOP) == ("a/p/t0 ends after what “Pot life” was made anew with is over",)


def test_a_closed_window_that_a_scuff_opens_again_is_not_the_reason():
    scuff = Task(id="scuff", job="a", piece="p", work=Work.SCUFF, words="Scuff", takes_s=600.0, layer="l")
    over = Link(
        first=None, then=0, kind=WindowKind.RECOAT, words="Primer", opens=after(0), closes=after(60),
        since=clock("05:00"), remedy=scuff,
    )  # fmt: skip
    chain = ChainBuilder().task(10, words="Base").task(10, words="Clear").link(0, 1, 660, 780, words="Base dries")
    assert why(chain.add(over).chain()) == (
        "“Base dries” opens after 11 h and closes after 13 h, and your shop is open 08:00–18:00. Whenever “Base” ends "
        "within these hours, “Clear” would have to be begun while the shop is closed."
    )


def test_a_pot_life_is_called_too_short_only_where_a_remedied_piece_finds_it_so():
    scuff = Task(id="scuff", job="a", piece="p", work=Work.SCUFF, words="Scuff", takes_s=600.0, layer="l")
    over = Link(
        first=None, then=1, kind=WindowKind.RECOAT, words="Primer", opens=after(0), closes=after(60),
        since=clock("05:00"), remedy=scuff,
    )  # fmt: skip
    built = ChainBuilder().task(10, Work.MIX, words="Mix").task(5, words="Spray").add(over)
    built.link(0, 1, 0, 240, from_start=True, by_end=True, words="Pot life")
    assert why(built.chain(), hours=daily("08:00", "08:12")).startswith(
        "“Pot life” closes after 4 h, and your shop is open 08:00–08:12. Whenever “Mix” is begun within these hours"
    )
