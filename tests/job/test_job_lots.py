"""Cans in the record: which one is in hand, what was drawn from it, what a cup cost."""

import math
from datetime import UTC, datetime, timedelta
from typing import Any

import msgspec
import pytest
from builders import CLEAR, PROMOTER, START, JobBuilder
from hypothesis import given
from msgspec.structs import replace
from strategies import examples, jobs

from benchtool.job import events as ev
from benchtool.job.costs import cup_cost, job_cost
from benchtool.job.lots import GoodUntil, Lot, good_until, in_utc
from benchtool.job.record import Job, last_act, shifted, standing, with_events
from benchtool.job.state import fold
from benchtool.job.validate import faults

HARDENER = "Slow hardener"


def bench() -> JobBuilder:
    return JobBuilder().card(CLEAR, PROMOTER).piece().layer("clear", CLEAR, activator="slow")


def with_cans() -> JobBuilder:
    """A litre of clear at 50 and half a litre of its hardener at 45 in hand."""
    made = bench().take(CLEAR, "Base", "b", full_mL=1000, price=50.0)
    return made.take(CLEAR, HARDENER, "h", full_mL=500, price=45.0)


# --- in hand ---------------------------------------------------------------------------------------


def test_the_can_taken_last_is_in_hand_for_its_card_and_part_alone() -> None:
    state = with_cans().take(CLEAR, "Base", "b2").state
    assert (lot := state.lot_for(CLEAR.id, "Base")) is not None
    assert lot.id == "b2"
    assert (lot := state.lot_for(CLEAR.id, HARDENER)) is not None
    assert lot.id == "h"
    assert state.lot_for(PROMOTER.id, "Base") is None
    assert list(state.lots) == ["b", "h", "b2"]


def test_undo_gives_the_can_before_back() -> None:
    made = with_cans().take(CLEAR, "Base", "b2").undo()
    assert (lot := made.state.lot_for(CLEAR.id, "Base")) is not None
    assert lot.id == "b"


def test_pours_draw_from_the_can_they_came_from() -> None:
    made = with_cans().mix().pour("base", 40).pour("activator", 20).take(CLEAR, "Base", "b2").pour("base", 1.5)
    assert made.state.draws == {"b": 40.0, "h": 20.0, "b2": 1.5}
    assert made.undo().state.draws == {"b": 40.0, "h": 20.0}


def test_undoing_the_mix_puts_all_of_it_back() -> None:
    made = with_cans().mix().pour("base", 40).pour("activator", 20)
    (begun,) = (e.id for e in made.job.events if isinstance(e, ev.Mixed))
    assert made.add(ev.Withdrawn, events=(begun,)).state.draws == {}


def test_from_a_counted_can_only_what_came_later_was_drawn() -> None:
    made = with_cans().mix().pour("base", 40)
    counted = made.now
    made.wait(minutes=1).pour("base", 2).pour("activator", 1)
    assert made.state.drawn_mL({"b": counted}) == {"b": 2.0, "h": 1.0}
    assert made.state.drawn_mL({"b": made.now}) == {"h": 1.0}


@examples(100)
@given(job=jobs())
def test_what_was_drawn_is_the_sum_of_the_pours_that_stand(job: Job) -> None:
    state = fold(job)
    begun = {e.mix for _, e in standing(job.events) if isinstance(e, ev.Mixed)}
    poured = [e for _, e in standing(job.events) if isinstance(e, ev.Poured) and e.mix in begun and e.lot is not None]
    assert set(state.draws) == {e.lot for e in poured}
    assert math.fsum(state.draws.values()) == pytest.approx(math.fsum(e.mL for e in poured))


@examples(60)
@given(job=jobs())
def test_an_undo_and_its_redo_draw_as_before(job: Job) -> None:
    act = last_act(job)
    if not act or isinstance(act[-1], ev.Withdrawn):
        return
    at = job.events[-1].at
    undone = with_events(job, ev.Withdrawn(id="u1", at=at, events=tuple(e.id for e in act)))
    redone = with_events(undone, ev.Withdrawn(id="u2", at=at, events=("u1",)))
    assert fold(redone).draws == fold(job).draws
    lost = math.fsum(e.mL for e in act if isinstance(e, ev.Poured) and e.lot is not None)
    if all(isinstance(e, ev.Poured) for e in act):
        assert math.fsum(fold(undone).draws.values()) == pytest.approx(math.fsum(fold(job).draws.values()) - lost)


# --- faults ----------------------------------------------------------------------------------------


def told(made: JobBuilder) -> list[tuple[str, str]]:
    return [(f.path.partition("]")[2], f.message) for f in faults(made.job)]


def test_a_pour_from_a_can_that_was_never_taken_is_a_fault() -> None:
    made = bench().mix()
    made.add(ev.Poured, mix="m1", part="Base", mL=1.0, lot="nowhere")
    assert told(made) == [(".lot", "there is no lot “nowhere” before this event")]


def test_a_can_whose_taking_was_undone_may_still_be_named() -> None:
    made = with_cans()
    taken = next(e.id for e in made.job.events if isinstance(e, ev.LotTaken) and e.lot.id == "b")
    made.mix().pour("base", 1).add(ev.Withdrawn, events=(taken,))
    assert told(made) == []
    assert made.state.draws == {"b": 1.0}
    assert cup_cost(made.state, made.mix_state()).cost is None


def test_a_can_may_be_taken_again_and_again() -> None:
    assert told(with_cans().take(CLEAR, "Base", "b", price=3.0)) == []


@pytest.mark.parametrize(
    ("wrong", "place", "words"),
    [
        ({"keeps_opened": timedelta(days=-1)}, ".lot.keeps_opened", "below zero"),
        ({"keeps_opened": timedelta(days=40_000)}, ".lot.keeps_opened", "century"),
        ({"counted_mL": 3.0}, ".lot.counted_on", "both"),
        ({"counted_on": START}, ".lot.counted_on", "both"),
        ({"got_on": datetime(9500, 1, 1, tzinfo=UTC)}, ".lot.got_on", "no such time"),
        ({"opened_on": datetime(1, 1, 1, tzinfo=UTC)}, ".lot.opened_on", "no such time"),
        ({"best_before": datetime(9500, 1, 1, tzinfo=UTC)}, ".lot.best_before", "no such time"),
        ({"counted_mL": 1.0, "counted_on": datetime(1, 1, 1, tzinfo=UTC)}, ".lot.counted_on", "no such time"),
    ],
)
def test_what_no_can_can_say(wrong: dict[str, Any], place: str, words: str) -> None:
    ((path, message),) = told(bench().take(CLEAR, "Base", **wrong))
    assert path == place
    assert words in message


def test_a_demo_is_moved_with_the_dates_of_its_cans() -> None:
    dates = {"got_on": START, "opened_on": START, "best_before": START, "counted_mL": 1.0, "counted_on": START}
    made = bench().take(CLEAR, "Base", **dates).take(CLEAR, HARDENER, "h")
    by = timedelta(days=3, minutes=5)
    first, second = (e.lot for e in shifted(made.job, by).events if isinstance(e, ev.LotTaken))
    assert {getattr(first, k) for k in dates if k != "counted_mL"} == {START + by}
    assert first.counted_mL == 1.0
    assert second == Lot(id="h", card=CLEAR.id, part=HARDENER, full_mL=500.0)


def test_a_time_without_its_zone_is_refused() -> None:
    lot = Lot(id="a", card="c", part="Base", full_mL=1.0, opened_on=datetime(2026, 1, 1))  # noqa: DTZ001
    with pytest.raises(ValueError, match="zone"):
        in_utc(lot)


def test_words_for_the_undo_line() -> None:
    made = bench().take(CLEAR, "Base", number="A 7")
    assert ev.event_words(made.job.events[-1]) == "Base (lot A 7) taken"
    assert ev.event_words(bench().take(CLEAR, "Base").job.events[-1]) == "Base taken"


# --- cost ------------------------------------------------------------------------------------------


def test_a_cup_costs_what_was_poured_into_it() -> None:
    made = with_cans().mix().pour("base", 30).pour("base", 10).pour("activator", 20)
    told = cup_cost(made.state, made.mix_state())
    assert told.cost == pytest.approx(40 * 0.05 + 20 * 0.09)
    assert told.at_least == told.cost
    assert (told.waste, told.waste_mL, told.why) == (None, None, "")


def test_what_is_thrown_away_costs_the_mean_price_of_its_cup() -> None:
    made = with_cans().mix().pour("base", 40).pour("activator", 20).empty(left_mL=12)
    told = cup_cost(made.state, made.mix_state())
    assert (told.waste_mL, told.waste) == (12, pytest.approx(3.80 / 5))


def test_no_more_is_thrown_away_than_was_in_the_cup() -> None:
    made = with_cans().mix().pour("base", 40).pour("activator", 20).empty(left_mL=100)
    told = cup_cost(made.state, made.mix_state())
    assert (told.waste_mL, told.waste) == (60, pytest.approx(3.80))


def test_a_part_from_no_can_leaves_no_price_and_says_so() -> None:
    made = bench().take(CLEAR, HARDENER, "h", full_mL=500, price=45.0).mix().pour("base", 40).pour("activator", 20)
    told = cup_cost(made.empty(left_mL=6).state, made.mix_state())
    assert (told.cost, told.waste, told.waste_mL) == (None, None, 6)
    assert told.at_least == pytest.approx(1.80)
    assert told.why == "Base was poured from no lot: pick the can it comes from before you pour."


def test_a_pour_of_nothing_needs_no_can() -> None:
    made = bench().take(CLEAR, "Base", "b", full_mL=1000, price=50.0).mix().pour("base", 40).pour("activator", 0)
    told = cup_cost(made.state, made.mix_state())
    assert (told.cost, told.why) == (pytest.approx(2.0), "")


def test_a_can_without_a_price_says_so_until_it_gets_one() -> None:
    made = with_cans().take(CLEAR, "Base", "b2", number="X1", full_mL=1000).mix().pour("base", 40).pour("activator", 20)
    assert cup_cost(made.state, made.mix_state()).why == "The can of Base (lot X1) has no price: write what it cost."
    assert cup_cost(made.state, made.mix_state(), {"b2": 0.1}).cost == pytest.approx(4 + 1.8)
    made.take(CLEAR, "Base", "b2", full_mL=1000, price=20.0)
    assert cup_cost(made.state, made.mix_state(), {"b2": 0.1}).cost == pytest.approx(0.8 + 1.8)


def test_a_job_costs_what_its_cups_do() -> None:
    made = with_cans().mix().pour("base", 40).pour("activator", 20).empty(left_mL=12)
    made.mix().pour("base", 20).pour("activator", 10).empty()
    told = job_cost(made.state)
    assert told.cost == pytest.approx(3.80 + 1.90)
    assert (told.waste_mL, told.waste) == (12, pytest.approx(0.76))
    assert [c.mix for c in told.cups] == ["m1", "m2"]
    assert job_cost(bench().state).cost == 0


def test_a_job_with_a_cup_of_unknown_price_has_a_least_price_and_a_reason() -> None:
    made = with_cans().mix().pour("base", 40).pour("activator", 20).empty(left_mL=12)
    made.layer("promoter", PROMOTER, activator="rigid").mix().pour("base", 25).empty(left_mL=2)
    told = job_cost(made.state)
    assert told.cost is None
    assert told.at_least == pytest.approx(3.80)
    assert (told.waste_mL, told.waste) == (14, None)
    assert told.why.startswith("Base was poured from no lot")


def test_what_a_wrong_pour_cost_goes_with_its_undo() -> None:
    made = with_cans().mix().pour("base", 40).wait(minutes=1).pour("base", 400)
    assert cup_cost(made.state, made.mix_state()).cost == pytest.approx(22)
    assert cup_cost(made.undo().state, made.mix_state()).cost == pytest.approx(2)


def test_a_cup_without_the_new_fields_is_written_as_before() -> None:
    made = bench().mix().pour("base", 40).empty()
    pour, empty = (msgspec.to_builtins(e) for e in made.job.events[-2:])
    assert set(pour) == {"type", "id", "at", "mix", "part", "mL"}
    assert set(empty) == {"type", "id", "at", "mix"}


DAY = timedelta(days=1)
KEEPS = replace(
    PROMOTER,
    keeps=400 * DAY,
    keeps_opened=300 * DAY,
    activators=tuple(replace(a, keeps=200 * DAY, keeps_opened=100 * DAY) for a in PROMOTER.activators),
    reducer="Promoter reducer",
    reducer_keeps=900 * DAY,
    reducer_keeps_opened=800 * DAY,
)


@pytest.mark.parametrize(
    ("part", "unopened", "opened_days"),
    [("Base", 400, 300), ("Flexible activator", 200, 100), ("Promoter reducer", 900, 800)],
)
def test_every_part_is_good_for_as_long_as_its_card_says(part: str, unopened: int, opened_days: int) -> None:
    got = Lot(id="a", card=KEEPS.id, part=part, full_mL=50, got_on=START)
    assert good_until(got, KEEPS) == GoodUntil(START + unopened * DAY, "its shelf life")
    lately = replace(got, opened_on=START + 150 * DAY)
    ends = {
        START + (150 + opened_days) * DAY: "how long it keeps once opened",
        START + unopened * DAY: "its shelf life",
    }
    assert good_until(lately, KEEPS) == GoodUntil(min(ends), ends[min(ends)])
    assert good_until(replace(lately, best_before=START + 9_000 * DAY, keeps_opened=DAY), KEEPS) == GoodUntil(
        START + 151 * DAY, "how long it keeps once opened"
    )
    for card in (None, PROMOTER):
        assert good_until(lately, card) is None
    assert good_until(replace(lately, part="Pearl"), KEEPS) is None


def test_a_guess_stays_in_the_record() -> None:
    made = with_cans().mix().pour("base", 40)
    measured, told = made.job.events[-1], made.pour("activator", 20, typed="400 drops", guess=True).job.events[-1]
    assert ev.event_words(measured) == "40 mL Base poured"
    assert ev.event_words(told) == f"400 drops {HARDENER} poured (a guess)"
    assert msgspec.to_builtins(told)["guess"] is True


def test_a_count_of_zero_is_a_count() -> None:
    lot = Lot(id="a", card="c", part="Base", full_mL=9.0)
    assert lot.held_mL == 9.0
    assert replace(lot, counted_mL=0.0, counted_on=START).held_mL == 0.0
