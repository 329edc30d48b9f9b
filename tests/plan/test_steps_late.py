"""Cups as late as may be: no other work moves, nothing is found at fault, and no cup is younger than it was."""

from datetime import UTC, datetime, timedelta

from builders import CLEAR, COLOUR, EPOXY, ETCH, PROMOTER, JobBuilder
from chainbuilder import ChainBuilder, after
from hypothesis import given, settings
from hypothesis import strategies as st

from benchtool.job.shop import Shop
from benchtool.plan.faults import faults
from benchtool.plan.hours import ShopHours
from benchtool.plan.search import plan
from benchtool.plan.steps import work_left
from benchtool.plan.stepslate import with_late_cups
from benchtool.plan.work import Link, Room, Task, Timetable, Work
from benchtool.trade.windows import WindowKind

MONDAY = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
DAYS = ShopHours({day: [(480, 720), (780, 1080)] for day in range(5)}, UTC)
STACK = ((PROMOTER, "rigid"), (EPOXY, "epoxy-b"), (COLOUR, None), (CLEAR, "slow"), (ETCH, None))


def both(stacks: list[list[int]], hands: int = 1) -> tuple[Timetable, Timetable, list, Room]:
    bench = JobBuilder(MONDAY).card(*(card for card, _ in STACK))
    for i, stack in enumerate(stacks):
        bench.piece(f"p{i}", "abs")
        for k, n in enumerate(stack):
            bench.layer(f"p{i}-{k}", STACK[n][0], activator=STACK[n][1])
        bench.prep("wash", "degrease")
    chains = work_left("a", bench.state, Shop(), MONDAY).chains
    room = Room(hands=hands, booths=hands)
    table = plan(chains, room, DAYS, MONDAY, effort=300)
    return table, with_late_cups(table, chains, room, DAYS), chains, room


def test_a_cup_waits_for_the_recoat_before_it_is_mixed():
    # Etch 08:10-08:15 opens at 08:45; by itself the colour would be mixed at 08:20, and old by 25 min when it goes on.
    table, late, _, _ = both([[4, 2]])
    mixed = [[p.ends_at for p in t.placed if p.task.work is Work.MIX][1] for t in (table, late)]
    coat = next(p.starts_at for p in late.placed if p.task.layer == "p0-1" and p.task.work is Work.COAT)
    assert coat == MONDAY + timedelta(minutes=45)
    assert mixed == [MONDAY + timedelta(minutes=30), coat]


def test_a_pot_life_goes_with_its_cup():
    _, late, _, _ = both([[4, 3]])
    life = next(w for w in late.waits if w.words.startswith("Pot life"))
    mix = next(p for p in late.placed if p.task.work is Work.MIX and p.task.layer == "p0-1")
    assert (life.from_at, life.closes_at) == (mix.starts_at, mix.starts_at + timedelta(hours=2))


@settings(max_examples=25, deadline=None)
@given(st.lists(st.lists(st.integers(0, 4), min_size=1, max_size=4), min_size=1, max_size=4), st.integers(1, 2))
def test_only_cups_move_and_only_later(stacks, hands):
    table, late, chains, room = both(stacks, hands)
    assert faults(late, chains, room, DAYS) == ()
    after = {p.task.id: p for p in late.placed}
    assert len(after) == len(table.placed)
    for before in table.placed:
        moved = after[before.task.id]
        if before.task.work in (Work.MIX, Work.REDUCE):
            assert moved.starts_at >= before.starts_at
            assert moved.hand == before.hand
        else:
            assert moved == before
    assert sorted(p.starts_at for p in late.placed) == [p.starts_at for p in late.placed]
    assert late.cost == table.cost
    assert set(late.order) == set(table.order)
    assert len(late.waits) == len(table.waits)


def test_a_cup_mixed_anew_in_the_place_of_a_dead_one_is_as_late_as_may_be():
    fresh = Task(id="fresh", job="a", piece="p", work=Work.MIX, words="Mix fresh", takes_s=600.0, layer="l")
    dies = Link(
        first=None, then=0, kind=WindowKind.POT_LIFE, words="Pot life", opens=after(0), closes=after(60), by_end=True,
        since=MONDAY, remedy=fresh, remedy_lasts_s=2 * 3_600.0,
    )  # fmt: skip
    opens = Link(first=None, then=0, kind=WindowKind.RECOAT, words="Etch", opens=after(360), since=MONDAY)
    chain = ChainBuilder().task(10, words="Clear").add(dies).add(opens).chain()
    late = with_late_cups(plan([chain], Room(), DAYS, MONDAY, effort=300), [chain], Room(), DAYS)
    assert faults(late, [chain], Room(), DAYS) == ()
    assert [p.starts_at for p in late.placed] == [MONDAY + timedelta(minutes=350), MONDAY + timedelta(hours=6)]
