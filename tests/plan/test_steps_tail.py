"""The waits that nothing follows: what is covered cures too, and a piece without a cure time is never said to be ready.

A piece is held to be ready as the care sheet has it (common practice, no source).
"""

from datetime import UTC, timedelta

from builders import CLEAR, COLOUR, JobBuilder, hours, minutes
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.care import Use, care_times
from benchtool.job.shop import Shop
from benchtool.plan.stepsday import DayPlan, Source, day_plan
from benchtool.sheets.plan_words import done_at, late_words, start_by_words, told_of
from benchtool.trade.windows import WindowKind

SILENT = replace(COLOUR, id="silent", name="Silent colour")
SOON = replace(COLOUR, id="soon", name="Quick colour", cure=hours(6))


def whole(bench: JobBuilder, *titles: str) -> DayPlan:
    from benchtool.session.hoursform import read_hours

    shop = Shop(hours=read_hours("0-24"))
    made = [Source(key=f"{t}.json", title=t, state=bench.state) for t in titles or ("Job",)]
    return day_plan(made, shop, UTC, bench.now)


def two_layers(over, under=CLEAR) -> JobBuilder:
    """A long-curing layer with another over it; nothing is on yet."""
    bench = JobBuilder().card(under, over).piece().prep("wash")
    return bench.layer("u", under, 2, activator="slow").layer("o", over, 1)


def cures(plan: DayPlan) -> list[str]:
    return [w.words for w in plan.timetable.waits if w.kind is WindowKind.CURE]


def promised(bench: JobBuilder, days: float) -> JobBuilder:
    return bench.add(ev.JobDescribed, title="Job", promised=bench.now + timedelta(days=days))


def test_the_cure_of_a_covered_layer_counts_where_it_is_the_longer():
    plan = whole(two_layers(SOON))
    assert sorted(cures(plan)) == ["Quick colour cures", "Two-part clear cures"]
    (chain,) = plan.chains
    coats = [p for p in plan.timetable.placed if p.task.layer == "u" and p.task.coat == 2]
    assert done_at(plan, chain.job, chain.piece) == coats[0].ends_at + CLEAR.cure


def test_a_covered_layer_that_cures_sooner_is_not_told():
    quick = replace(CLEAR, cure=hours(5))
    assert cures(whole(two_layers(SOON, quick))) == ["Quick colour cures"]


def test_with_all_coats_on_a_covered_layer_still_cures_as_the_care_sheet_has_it():
    bench = two_layers(SOON).ready("u").coats(2, "u", apart=minutes(15)).empty()
    bench.wait(hours=1).ready("o").coat("o").empty()
    plan = whole(bench)
    piece = next(iter(bench.state.pieces.values()))
    (chain,) = plan.chains
    assert done_at(plan, chain.job, chain.piece) == care_times(bench.state, piece).uses[Use.WAX].at
    assert set(cures(plan)) == {"Quick colour cures", "Two-part clear cures"}


def test_a_covered_layer_that_is_on_counts_while_the_last_one_is_planned():
    bench = two_layers(SOON).ready("u").coats(2, "u", apart=minutes(15)).empty().wait(hours=1)
    plan = whole(bench)
    (chain,) = plan.chains
    last = bench.layer_state("u").last_done
    assert last is not None
    assert done_at(plan, chain.job, chain.piece) == last.done_at + CLEAR.cure


def test_without_a_cure_time_outside_nothing_is_said_to_be_ready_or_kept():
    plan = whole(promised(two_layers(SILENT), 30))
    told = [t for t in told_of(plan, UTC) if "no cure time" in t.sentence]
    assert len(told) == 1
    assert told[0].sentence.endswith("Silent colour gives no cure time: when it is ready is not known.")
    assert not any("as promised" in words for words in start_by_words(plan, plan.asked_at, UTC))
    assert any("as promised" in w for w in start_by_words(whole(promised(two_layers(SOON), 30)), plan.asked_at, UTC))
    assert list(late_words(plan, plan.asked_at, UTC)) == []
    late = whole(promised(two_layers(SILENT), 2))
    assert ["is not ready before" in w for w in late_words(late, late.asked_at, UTC)] == [True]


def test_what_is_long_done_without_a_cure_time_raises_no_doubt():
    bench = JobBuilder().card(SILENT).piece().prep("wash").layer("o", SILENT, 1).ready("o").coat("o").empty()
    plan = whole(bench.wait(days=2))
    assert plan.chains == ()
    assert not any("no cure time" in d.words for d in plan.doubts)


def test_the_job_stands_beside_the_piece_where_several_are_open():
    one, two = whole(two_layers(SOON)), whole(two_layers(SOON), "Boat", "Car")
    assert all("(" not in words for words in start_by_words(one, one.asked_at, UTC))
    said = list(start_by_words(two, two.asked_at, UTC))
    assert any("(Boat)" in words for words in said)
    assert any("(Car)" in words for words in said)
