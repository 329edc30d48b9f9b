"""The solver against all plans of small cases, its bounds against the search on larger ones, and its manners.

Measured on 150 small cases (`smallplans`, 0 to 149): the solver finds the best of all plans in each. On 12 cases of six
pieces (28 to 45 tasks, as drawn here by `six`, 0 to 11) it proves the best plan on its grid in 11; the search alone has
the same cost in 4, as few missed and as little late in 11, and the end of the last work 0 to 10 % later.
"""

import subprocess
import sys
from dataclasses import replace
from datetime import UTC, timedelta
from random import Random

import pytest
from bruteplan import best_cost
from chainbuilder import ChainBuilder, after, clock, daily, stack
from smallplans import NOW, SHOP_OPEN, STEP, UNTIL, shop, small_case

from benchtool.plan import solver
from benchtool.plan.search import plan
from benchtool.plan.timetable import faults
from benchtool.plan.work import By, Link, Room
from benchtool.trade.windows import WindowKind

pytest.importorskip("ortools")
SHOP, ONE, EIGHT = daily(), Room(), clock("08:00")
LAST = 1 / 60
"""A deadline lies a second after the grid, so that the last start before it is on the grid."""


def solved(chains, room=ONE, *, hours=SHOP, now=EIGHT, until=None, search=300, **more):
    table = plan(chains, room, hours, now, until=until, effort=search)
    found = solver.improve(table, chains, room, hours, **more)
    assert faults(found.timetable, chains, room, hours) == ()
    assert found.timetable.cost <= table.cost
    assert found.timetable.simple == table.simple
    return table, found


def as_figures(cost):
    return cost.left_out, cost.missed, cost.late_s, cost.last_s, cost.sum_s


@pytest.mark.parametrize("seed", [1, 2, 4, 5, 7, 9, 10, 65, 147])
def test_against_all_plans_of_three_pieces(seed):
    """The last two are those in which the search alone does not find the best."""
    chains, room = small_case(seed)
    best = best_cost(chains, room, SHOP_OPEN, NOW, UNTIL, STEP)
    table, found = solved(chains, room, hours=shop(UTC), now=NOW, until=UNTIL, search=1, grid_s=600)
    assert found.timetable.cost == best
    assert found.timetable.proved
    if not table.proved:
        assert found.bound == found.on_grid == as_figures(best)
        assert found.timetable.by is (By.SOLVER if table.cost > best else table.by)


def six(seed):
    dice = Random(seed)
    return [
        stack(
            f"p{n}", coats=dice.choice((1, 2)), layers=dice.choice((2, 3)),
            recoat=(dice.choice((30, 60, 120, 240)), dice.choice((360, 600, 1440)) + LAST),
            flash=dice.choice((5, 10, 20)), coat=dice.choice((5, 10, 15)),
            promised=clock("18:00", dice.randrange(3)) if dice.random() < 0.4 else None,
        )
        for n in range(6)
    ]  # fmt: skip


@pytest.mark.parametrize("seed", [2, 6, 7, 8])
def test_no_plan_costs_less_than_the_bound_on_larger_cases(seed):
    chains = six(seed)
    table, found = solved(chains, now=clock("12:00"), search=20_000, effort=0.3)
    assert found.bound is not None
    assert as_figures(table.cost) >= found.bound
    assert as_figures(found.timetable.cost) >= found.bound
    if found.on_grid is not None:
        assert found.on_grid >= found.bound
        assert as_figures(found.timetable.cost) <= found.on_grid


def test_the_same_input_gives_the_same_answer():
    first, second = (solved(six(6), now=clock("12:00"), effort=0.2)[1] for _ in range(2))
    assert first == second


def test_remedies_running_waits_and_begun_work():
    """A window that closes in the night for lack of a start, one that runs, and a coat that is being sprayed."""
    night = ChainBuilder("a").task(10).task(10).link(0, 1, 660, 780 + LAST, scuff=15).chain()
    runs = Link(
        first=None, then=0, kind=WindowKind.RECOAT, words="w", opens=after(120), closes=after(200 + LAST),
        since=clock("06:00"),
    )  # fmt: skip
    running = ChainBuilder("b").task(20).add(runs).chain()
    begun = ChainBuilder("c").task(30, begun=clock("07:50")).task(10).link(0, 1, 20).chain()
    long = ChainBuilder("d").task(100).chain()
    chains = [long, night, running, begun]
    _, found = solved(chains, search=1)
    cost = found.timetable.cost
    # b from 08:20 (the hands are free again) to 08:40, d after that; a is over on Tuesday at 08:25 with its scuff.
    assert as_figures(cost)[:4] == (0, 1, 0.0, 24 * 3600 + 25 * 60)
    assert found.said == ""
    assert not found.bound > as_figures(cost)


def test_a_remedy_waits_until_the_window_has_closed():
    """Another wait lets the third coat of a begin no sooner than 09:20, when the window has closed.

    a from 08:00 to 08:20 (its window closes at 09:15), b from 08:20 to 08:55, the scuff from 09:20 (a grid of 5 min)
    to 09:35, the third coat to 09:45, and b, open from 09:25, to 09:55. Scuffed before, all would be over at 09:40.
    """
    late = ChainBuilder("a").task(10).task(10).task(10).link(0, 2, 0, 65 + LAST, scuff=15).link(1, 2, 60).chain()
    other = ChainBuilder("b").task(35).task(10).link(0, 1, 30).chain()
    until = clock("10:00")
    best = best_cost([other, late], ONE, [(EIGHT, until)], EIGHT, until, timedelta(minutes=5))
    table, found = solved([other, late], until=until, search=1, grid_s=300)
    assert not table.proved
    assert as_figures(best) == (0, 1, 0.0, 115 * 60, 220 * 60)
    assert found.on_grid == as_figures(best)


def test_waits_that_depend_on_their_beginning():
    """The same case told both ways has the same answer; the longer its table, the sooner it is left alone."""
    plain = [ChainBuilder(n).task(10).task(10).link(0, 1, 60, 120 + LAST).chain() for n in "ab"]
    asked = [replace(c, links=tuple(replace(link, constant=False) for link in c.links)) for c in plain]
    until = clock("18:00")
    # 10 min each, waiting 60: one over at 80 and the other at 90 min.
    for chains in (plain, asked):
        table, found = solved(chains, until=until, grid_s=300)
        assert as_figures(found.timetable.cost) == (0, 0, 0, 90 * 60, 170 * 60)
        assert table.cost == found.timetable.cost


def test_too_many_of_those_are_left_to_the_search():
    link = Link(
        first=0, then=1, kind=WindowKind.RECOAT, words="w", opens=lambda end: end + timedelta(hours=1), constant=False
    )
    chains = [ChainBuilder(f"p{n}").task(10).task(10).add(link).chain() for n in range(30)]
    table, found = solved(chains)
    assert found.timetable is table
    assert found.said.startswith("30 waits depend on when they begin")


def test_stops_when_told_to():
    chains, shares = six(6), []
    table, found = solved(
        chains, now=clock("12:00"), go_on=lambda share: shares.append(share) is None and len(shares) < 3
    )
    assert len(shares) == 3
    assert found.said == "It was stopped before it had proved the best plan."
    assert not found.timetable.proved
    _, at_once = solved(chains, now=clock("12:00"), go_on=lambda _share: False)
    assert at_once.timetable.cost == table.cost


def test_is_not_asked_where_nothing_can_be_better():
    table, found = solved([ChainBuilder().task(10).chain()])
    assert table.proved
    assert found.timetable is table


def test_without_ortools(monkeypatch):
    monkeypatch.setattr(solver, "find_spec", lambda _name: None)
    assert not solver.available()
    chains = six(6)
    table = plan(chains, ONE, SHOP, clock("12:00"), effort=300)
    assert solver.improve(table, chains, ONE, SHOP).said == "OR-Tools is not installed."


def test_ortools_is_loaded_only_when_it_is_asked():
    code = "import sys, benchtool.plan.solver, benchtool.plan.solvermodel; sys.exit('ortools' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
