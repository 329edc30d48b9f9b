"""What a plan says: its sentences, its table, its values. The sums beside the checks are worked by hand."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from builders import CLEAR, COLOUR, FILLER, ONE_PART_PROMOTER, JobBuilder, hours, minutes
from msgspec.structs import replace as with_

from benchtool.job import events as ev
from benchtool.job.cards import Gun
from benchtool.job.shop import Shop
from benchtool.job.shophours import Opening, Weekday
from benchtool.plan.stepsday import DayPlan, Source, day_plan
from benchtool.plan.work import Work
from benchtool.sheets.plan_answer import plan_answer
from benchtool.sheets.plan_text import plan_text
from benchtool.sheets.plan_words import moment, next_words, nights, told_of, trouble
from benchtool.trade.windows import FOR_GOOD

MONDAY = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
SHOP = Shop()


def plan_of(*benches: JobBuilder, shop: Shop = SHOP, now: datetime | None = None, **more: Any) -> DayPlan:
    made = [Source(key=f"{i}.json", title=b.state.title or f"Job {i}", state=b.state) for i, b in enumerate(benches)]
    return day_plan(made, shop, UTC, now or benches[0].now, **more)


def panel(card: Any = COLOUR, *, at: datetime = MONDAY, piece: str = "panel", gun: Gun = Gun.AIRBRUSH) -> JobBuilder:
    bench = JobBuilder(at).card(card, CLEAR).piece(piece, "abs")
    bench.layer("c", card, gun=gun).layer("k", CLEAR, activator="slow", gun=gun)
    return bench.prep("wash", "degrease")


def words(plan: DayPlan, word: str) -> list[str]:
    return [t.sentence for t in told_of(plan, UTC) if t.word == word]


def test_what_is_next_is_said_with_its_time() -> None:
    plan = plan_of(panel())
    assert next_words(plan, MONDAY, UTC) == "Now: mix Base colour, Panel, until 08:10."
    early = plan_of(panel(at=MONDAY - hours(2)))
    assert next_words(early, MONDAY - hours(2), UTC) == "At 08:00: mix Base colour, Panel."
    assert next_words(early, MONDAY, UTC) == "Now: mix Base colour, Panel, until 08:10."
    begun = plan_of(panel().ready("c").start().wait(minutes=1))
    assert next_words(begun, begun.asked_at, UTC) == "Now: spray coat 1 of Base colour, Panel."


def test_the_night_worked_by_hand() -> None:
    # Sprayed Monday 16:15 to 16:20 (mixed from 16:00 on); 4 h on it opens at 20:20, 16 h on it closes Tuesday 08:20.
    # The shop shuts at 18:00 and opens at 08:00: the clear, 10 min in the mixing, goes on at 08:10 on Tuesday.
    slow = with_(COLOUR, recoat_opens=hours(4), recoat_closes=hours(16))
    bench = panel(slow, at=MONDAY + hours(8)).ready("c").wait(minutes=15).coat(takes=minutes(5))
    plan = plan_of(bench.empty())
    assert not trouble(told_of(plan, UTC))
    assert words(plan, "Overnight") == [
        "Panel: “Base colour before Two-part clear” opens 20:20 and closes Tue 08:20; it goes on at Tue 08:10."
    ]
    # With a window of 10 h 40 it closes in the night, at 03:00, and only a scuff opens it again.
    lost = with_(COLOUR, recoat_opens=hours(4), recoat_closes=hours(10) + minutes(40))
    bench = panel(lost, at=MONDAY + hours(8)).ready("c").wait(minutes=15).coat(takes=minutes(5))
    plan = plan_of(bench.empty())
    (missed,) = words(plan, "Missed")
    assert missed.startswith("Panel: “Base colour before Two-part clear” closes Tue 03:00, before the next can go on: ")
    assert missed.endswith("scuff Base colour at Tue 08:00.")
    # Not yet sprayed, the same window is not lost: the colour waits for the morning (mixed at 08:00, on at 08:15).
    plan = plan_of(panel(lost, at=MONDAY + hours(8)))
    assert words(plan, "Missed") == []
    coat = next(p for p in plan.timetable.placed if p.task.coat == 1 and p.task.layer == "c")
    assert coat.starts_at >= MONDAY + timedelta(days=1)


def test_a_promise_that_is_not_kept_is_trouble() -> None:
    bench = panel().add(ev.JobDescribed, title="Tank", promised=MONDAY + timedelta(days=3))
    (late,) = words(plan_of(bench), "Late")
    # Colour 08:10-08:15, clear from 08:35 on, its second coat 08:55 to 09:00, and seven days of cure.
    assert late == "Panel is promised for Thu 08:00, and is ready Mon 9 Mar 09:00."
    assert trouble(told_of(plan_of(bench), UTC))


def test_a_promise_that_is_kept_says_how_late_it_can_begin() -> None:
    bench = panel(at=MONDAY).add(ev.JobDescribed, title="Tank", promised=MONDAY + timedelta(days=9))
    (start,) = words(plan_of(bench), "Start by")
    assert start.startswith("Panel: “Mix Base colour” by ")
    assert "still done as promised" in start


def test_the_order_is_told_only_where_it_is_worth_it() -> None:
    assert words(plan_of(panel()), "Order") == []
    slow = with_(ONE_PART_PROMOTER, flash=minutes(40), flash_most=None, recoat_opens=hours(3))
    quick, long = panel(piece="quick"), panel(slow, piece="long")
    for told in words(plan_of(quick, long), "Order"):
        assert "sooner" in told
        assert told.endswith(").")  # a name with its job, and one full stop


def test_one_gun_for_two_paints_is_told_and_a_second_gun_ends_it() -> None:
    first, second = (panel(with_(COLOUR, coats_least=2), piece=p) for p in ("left", "right"))
    assert words(plan_of(first, second, effort=2_000), "Gun")
    other = panel(with_(COLOUR, coats_least=2), piece="right", gun=Gun.MINI)
    assert words(plan_of(first, other, effort=2_000), "Gun") == []


def test_each_doubt_is_said_once_for_all_pieces() -> None:
    silent = with_(COLOUR, flash=None, recoat_opens=None, recoat_closes=None)
    plan = plan_of(*(panel(silent, piece=p) for p in ("left", "right")), effort=200)
    assert len(plan.doubts) == 2
    assert len(words(plan, "Not known")) == 1


def test_no_cup_is_mixed_in_the_evening_for_the_morning() -> None:
    # A one-part colour could be mixed from 17:50 to 18:00: no pot life keeps it from standing until the morning.
    plan = plan_of(panel(at=MONDAY + hours(9) + minutes(50)))
    assert words(plan, "Overnight") == []
    mix, coat = plan.timetable.placed[:2]
    assert (mix.starts_at, coat.starts_at) == (MONDAY + hours(24), MONDAY + hours(24) + minutes(10))
    assert not any("in its cup" in w.words for w in plan.timetable.waits)


def test_a_cup_that_stands_over_the_night_by_its_card_is_told() -> None:
    # Mixed from 17:50 to 18:00, it stands for 12 h, until 06:00, and is sprayed as the shop opens.
    long = with_(CLEAR, stand=hours(12), pot_life=None)
    bench = JobBuilder(MONDAY + hours(9) + minutes(50)).card(long).piece("panel", "abs")
    plan = plan_of(bench.layer("k", long, activator="slow").prep("wash", "degrease"))
    told = words(plan, "Overnight")
    assert "stands in its cup until Tue 08:00" in told[0]
    assert told[1] == "Panel: “Two-part clear stands” is over Tue 06:00; it goes on at Tue 08:00."


def test_many_nights_are_counted_and_not_all_told() -> None:
    slow = with_(COLOUR, recoat_opens=hours(24), recoat_closes=hours(200))
    plan = plan_of(*(panel(slow, piece=f"p{i}") for i in range(10)), effort=100)
    told = words(plan, "Overnight")
    assert len(nights(plan)) > 8
    assert len(told) == 9
    assert "more wait" in told[-1]


def test_the_table_gives_the_day_the_piece_the_step_and_what_closes() -> None:
    text = plan_text(plan_of(panel()), zone=UTC)
    assert "  08:10-08:15  Panel  Spray coat 1 of Base colour\n" in text
    assert "Panel  Spray coat 1 of Two-part clear  (closes Tue 08:15)\n" in text
    assert "Panel  Spray coat 2 of Two-part clear  (cup until " in text
    assert "1 piece has work left." in text
    assert max(map(len, text.splitlines())) <= 92


def test_each_cup_of_a_layer_has_its_own_end_and_its_gun_is_cleaned_at_once() -> None:
    bench = JobBuilder(MONDAY).card(FILLER)
    for piece in ("left", "right"):
        bench.piece(piece, "abs").layer(f"{piece}-f", FILLER, coats=3, activator="peroxide").prep("wash", "degrease")
    plan = plan_of(bench, effort=2_000)
    text = plan_text(plan, zone=UTC)
    # Mixed from 08:00 on, with 20 min of pot life: until 08:20; the gun is clean by then, and the next cup is mixed.
    assert "Left   Spray coat 1 of Polyester spray filler  (cup until 08:20)" in text
    for left in (p for p in plan.timetable.placed if p.task.work is Work.COAT):
        mine = [p for p in plan.timetable.placed if p.task.layer == left.task.layer and p.starts_at >= left.ends_at]
        clean = next(p for p in mine if p.task.work is Work.CLEAN)
        assert clean.starts_at <= left.ends_at + minutes(15)
    assert text.count("(cup until ") == 6
    assert len({line.split("(cup")[1] for line in text.splitlines() if "(cup" in line}) == 6


def test_pieces_of_one_name_are_told_apart_by_their_job() -> None:
    left, right = (panel().add(ev.JobDescribed, title=t) for t in ("Left", "Right"))
    text = plan_text(plan_of(left, right, effort=200), zone=UTC)
    assert "Panel (Left)" in text
    assert "Panel (Right)" in text


def test_what_can_not_fit_is_trouble_and_has_its_reason() -> None:
    night = Shop(hours=(Opening(day=Weekday.MONDAY, opens="20:00", closes="20:03"),))
    plan = plan_of(panel(), shop=night)
    told = told_of(plan, UTC)
    assert told[0].word == "Can't fit"
    assert told[0].trouble
    assert next_words(plan, MONDAY, UTC) == "Nothing can be done as things stand."
    (cant,) = plan_answer(plan, UTC)["cant"]
    assert cant["piece"] == "panel"


def test_values_have_a_reason_for_each_gap() -> None:
    values = plan_answer(plan_of(panel()), UTC)

    def look(value: Any) -> None:
        if isinstance(value, dict):
            if None in value.values():
                assert value["why"]
            for each in value.values():
                look(each)
        elif isinstance(value, list):
            for each in value:
                look(each)

    look(values)


@pytest.mark.parametrize(
    ("at", "said"),
    [
        (MONDAY + hours(1), "09:00"),
        (MONDAY + hours(25), "Tue 09:00"),
        (MONDAY + timedelta(days=8), "Tue 10 Mar 08:00"),
        (MONDAY - timedelta(days=1), "Sun 1 Mar 08:00"),
        (FOR_GOOD, ""),
    ],
)
def test_an_instant_is_said_by_the_clock_on_the_wall(at: datetime, said: str) -> None:
    assert moment(at, MONDAY, UTC) == said
