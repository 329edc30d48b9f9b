"""The grades of a trial side by side: each strip's own, those given too early told apart, and the order found."""

from datetime import timedelta

import pytest
from compared_trials import CLEAR, NONE, ONE_PART, SHELL_GRADES, TWO_PART, begun, graded, plan_of, shell
from hypothesis import given, settings
from hypothesis import strategies as st

from benchtool.job import events as ev
from benchtool.job.record import with_events
from benchtool.job.trialcompared import (
    Compared,
    compared,
    names_of,
    planned_tests,
    short_of,
    stack_words,
    still_to_grade,
    strip_numbers,
    strips_done,
    usual_limit,
)
from benchtool.job.trialrest import Rested, title_of
from benchtool.job.trials import TrialState
from benchtool.trade.grades import codes

Method = ev.Method
WATER = ev.Ageing(kind=ev.AgeingKind.WATER, lasts=timedelta(hours=24), recovers=timedelta(hours=2))


def found(b, **more) -> Compared:
    state = b.state
    return compared(state, state.trials["t1"], **more)


def test_four_strips_on_a_clear_shell_are_ranked_by_stick_and_nail() -> None:
    """Common practice, no source: plain tape holds on all, the scratches tell them apart."""
    b, _ = shell()
    result = found(b)
    assert [x.system.name for x in result.lines] == [TWO_PART, CLEAR, ONE_PART, NONE]
    assert [result.place(x.system.id) for x in result.lines] == [1, 2, 3, 4]
    assert result.ranking is not None
    assert [t.apart for t in result.ranking.tests] == [False, True, True]
    assert result.ranking.tests[0].control_as_good is True


def test_every_grade_is_shown_under_its_own_strip() -> None:
    plan = plan_of((TWO_PART, NONE), 3, control=NONE)
    b = graded(begun(plan), plan, {TWO_PART: {Method.STICK: ["5", "", "3"]}, NONE: {Method.STICK: "012"}})
    (line, other) = found(b).lines
    assert [(m.number, m.code) for m in line.cells[0]] == [(1, "5"), (3, ""), (5, "3")]
    assert [(m.number, m.code) for m in other.cells[0]] == [(2, "0"), (4, "1"), (6, "2")]
    assert [m.score for m in other.cells[0]] == [0, 1, 2]


def test_strips_are_numbered_as_they_lie_panel_by_panel() -> None:
    plan = plan_of(tuple("abcdefg"), 2)
    numbers = strip_numbers(TrialState(plan))
    assert sorted(numbers.values()) == list(range(1, 15))
    assert numbers["s0-0"] == 1
    assert numbers["s4-1"] == 12
    assert numbers["s5-1"] == 13  # the first on the second panel


def test_a_grade_before_the_rest_is_kept_and_not_counted() -> None:
    plan = plan_of((TWO_PART, NONE), 1, control=NONE)
    b = graded(begun(plan), plan, {TWO_PART: {Method.STICK: "5"}}, after=timedelta(hours=23, minutes=59))
    graded(b, plan, {NONE: {Method.STICK: "1"}}, after=timedelta(minutes=1))
    late, early = (x.cells[0][0] for x in found(b).lines)
    assert (early.code, early.rested, early.counts) == ("5", Rested.EARLY, False)
    assert (late.code, late.rested, late.counts) == ("1", Rested.YES, True)
    ranking = found(b).ranking
    assert ranking is not None
    assert ranking.unplaced == (TWO_PART,)


def test_where_all_is_early_there_is_no_ranking() -> None:
    plan = plan_of((TWO_PART, NONE), 1, control=NONE)
    b = graded(begun(plan), plan, {TWO_PART: {Method.STICK: "5"}, NONE: {Method.STICK: "0"}}, after=timedelta(hours=3))
    assert found(b).ranking is None
    assert [m.code for _, _, m in found(b).marks()] == ["5", "0"]


def test_a_newer_grade_of_a_test_takes_the_older_ones_place() -> None:
    b, plan = shell()
    graded(b, plan, {NONE: {Method.STICK: "2"}})
    line = next(x for x in found(b).lines if x.system.name == NONE)
    assert [cell[0].code for cell in line.cells] == ["5", "2", "1"]


def test_strips_whose_coats_were_not_logged_are_counted_and_told() -> None:
    plan = plan_of((TWO_PART, NONE), 1, control=NONE)
    b = graded(begun(plan, painted=False), plan, {TWO_PART: {Method.STICK: "5"}, NONE: {Method.STICK: "0"}})
    marks = [m for _, _, m in found(b).marks()]
    assert {m.rested for m in marks} == {Rested.UNTOLD}
    assert all(m.counts for m in marks)


def test_a_test_after_ageing_is_a_test_of_its_own() -> None:
    plan = plan_of((TWO_PART, NONE), 1, control=NONE, methods=(Method.STICK,), ageing=(WATER,))
    strips = tuple(s.piece for s in plan.strips)
    b = graded(begun(plan), plan, {TWO_PART: {Method.STICK: "5"}, NONE: {Method.STICK: "3"}})
    b.add(ev.AgeingBegun, trial="t1", strips=strips, ageing=WATER).wait(hours=24)
    over = ev.AgeingOver(id="over", at=b.now, trial="t1", strips=strips, kind=ev.AgeingKind.WATER)
    b.job = with_events(b.job, over)
    graded(b, plan, {TWO_PART: {Method.STICK: "4"}}, after=timedelta(hours=1))
    graded(b, plan, {NONE: {Method.STICK: "0"}}, after=timedelta(hours=1))
    result = found(b)
    assert [title_of(t) for t in result.tests] == ["Stick scratch", "Stick scratch, after water"]
    assert [short_of(t) for t in result.tests] == ["Stick", "Stick, after water"]
    aged = {x.system.name: x.cells[1][0] for x in result.lines}
    assert aged[TWO_PART].rested is Rested.EARLY  # the two hours after the water were not over
    assert aged[NONE].rested is Rested.YES


def test_what_is_still_to_grade_counts_every_planned_test_of_every_strip() -> None:
    plan = plan_of((TWO_PART, NONE), 2, control=NONE, methods=(Method.STICK, Method.NAIL), ageing=(WATER,))
    b = begun(plan)
    trial = b.state.trials["t1"]
    assert len(planned_tests(plan)) == 4
    assert sum(len(strips) for _, strips in still_to_grade(b.state, trial)) == 16
    graded(b, plan, {TWO_PART: {Method.STICK: ["5", ""]}})
    left = still_to_grade(b.state, b.state.trials["t1"])
    assert left[0] == ((Method.STICK, ()), ("s1-0", "s0-1", "s1-1"))


def test_a_strip_graded_too_early_is_still_to_grade_and_one_test_of_two_makes_none_done() -> None:
    plan = plan_of((TWO_PART, NONE), 1, control=NONE, methods=(Method.STICK, Method.NAIL))
    every = {name: {Method.STICK: "5", Method.NAIL: "5"} for name in (TWO_PART, NONE)}
    b = graded(begun(plan), plan, every, after=timedelta(hours=3))
    assert strips_done(b.state, b.state.trials["t1"]) == 0
    assert len(still_to_grade(b.state, b.state.trials["t1"])) == 2
    graded(b, plan, {TWO_PART: {Method.STICK: "5"}})
    assert strips_done(b.state, b.state.trials["t1"]) == 0
    graded(b, plan, {TWO_PART: {Method.NAIL: "5"}}, after=timedelta(0))
    assert strips_done(b.state, b.state.trials["t1"]) == 1
    assert still_to_grade(b.state, b.state.trials["t1"]) == tuple(((m, ()), ("s1-0",)) for m in plan.methods)


def test_two_systems_of_one_name_stay_two() -> None:
    plan = plan_of(("Promoter", "Promoter", "Promoter"))
    assert list(names_of(plan).values()) == ["Promoter", "Promoter (2)", "Promoter (3)"]
    b = graded(begun(plan), plan, {"Promoter": {Method.STICK: "5"}})
    assert len(found(b).lines) == 3


def test_where_it_let_go_is_said_by_the_layers_names() -> None:
    b, plan = shell()
    strip = plan.strips[0].piece
    told = {
        ev.FailurePlace.BETWEEN: "between Promoter and Colour, 12.5 ± 2 % off",
        ev.FailurePlace.LAYER: "in Promoter, 12.5 ± 2 % off",
        ev.FailurePlace.SUBSTRATE: "down to the bare material, 12.5 ± 2 % off",
        ev.FailurePlace.IN_SUBSTRATE: "in the material itself, 12.5 ± 2 % off",
        ev.FailurePlace.TAPE: "in the tape, 12.5 ± 2 % off",
        ev.FailurePlace.NOTHING: "nothing came off, 12.5 ± 2 % off",
    }
    for place, words in told.items():
        b.add(
            ev.Graded, trial="t1", strip=strip, method=Method.PLAIN_TAPE, grade="3", place=place,
            layer=f"{strip}-promoter", over=f"{strip}-colour", removed_percent=12.5, plus_minus=2.0,
        )  # fmt: skip
        mark = next(m for _, test, m in found(b).marks() if m.strip == strip and test[0] is Method.PLAIN_TAPE)
        assert mark.place == words
    b.add(ev.Graded, trial="t1", strip=strip, method=Method.PLAIN_TAPE, grade="3", place=ev.FailurePlace.BETWEEN)
    mark = next(m for _, test, m in found(b).marks() if m.strip == strip and test[0] is Method.PLAIN_TAPE)
    assert mark.place == "between two layers"


def test_the_stack_of_a_system_is_that_of_its_strips() -> None:
    b, _ = shell()
    state = b.state
    assert stack_words(state, state.trials["t1"], "sys2") == "Promoter + Colour"
    assert stack_words(state, state.trials["t1"], "sys1") == "Colour"
    assert stack_words(state, state.trials["t1"], "nobody") == "no layers"


@pytest.mark.parametrize("method", list(Method))
def test_the_usual_limit_lies_between_the_last_allowed_grade_and_the_next(method: Method) -> None:
    limit = usual_limit(method)
    if method in (Method.ISO_2409, Method.D3359_A, Method.D3359_B, Method.PLAIN_TAPE):
        assert limit == codes(method)[1:3]
    else:
        assert limit is None


@settings(max_examples=30, deadline=None)
@given(st.data())
def test_nothing_is_lost_on_the_way_whatever_was_graded(data: st.DataObject) -> None:
    names = (TWO_PART, CLEAR, NONE)
    plan = plan_of(names, 2, control=NONE)
    some = st.sampled_from(["", "0", "2", "5"])
    grades = {n: {m: data.draw(st.lists(some, min_size=2, max_size=2)) for m in plan.methods} for n in names}
    result = found(graded(begun(plan), plan, grades))
    given_ = sorted(code for by in grades.values() for codes_ in by.values() for code in codes_ if code)
    assert sorted(m.code for _, _, m in result.marks() if m.code) == given_
    assert sorted(x.system.name for x in result.lines) == sorted(names)


def test_all_equal_makes_no_order() -> None:
    same = {n: dict.fromkeys((Method.STICK, Method.NAIL), "3") for n in SHELL_GRADES}
    plan = plan_of(tuple(SHELL_GRADES), 1, control=NONE)
    result = found(graded(begun(plan), plan, same))
    assert [result.place(x.system.id) for x in result.lines] == [None] * 4
