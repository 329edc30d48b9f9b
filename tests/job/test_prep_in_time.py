"""Prep steps count at the times they really happened, in whatever order they were entered."""

from datetime import timedelta

from builders import CLEAR, COLOUR, JobBuilder, minutes

from benchtool.job.events import Prep
from benchtool.job.prepplan import Part, Standing, over_plan
from benchtool.rules.preparing import plan_of


def states(bench):
    [piece] = bench.state.pieces.values()
    return {s.part: s.state for s in plan_of(bench.state, piece, bench.tables, bench.now)}


def late(bench, step, by):
    """Log a step now, and say that it happened earlier."""
    bench.prep(step)
    return bench.correct(bench.last_id, bench.now - by)


def test_a_degreasing_that_really_came_before_the_abrading_does_not_count_after_it():
    bench = JobBuilder().card(COLOUR).piece().layer("base", COLOUR, 1)
    bench.prep("wash").wait(minutes=20).prep("abrade").wait(minutes=1)
    late(bench, "degrease", minutes(10))
    assert [s.step for s in bench.state.pieces["panel"].steps] == [Prep.WASH, Prep.DEGREASE, Prep.ABRADE]
    assert states(bench)[Part.DEGREASE_AGAIN] is Standing.NEXT
    assert "cleaning.not-wiped" in bench.rules()


def test_a_cleaning_that_was_logged_late_counts_for_the_face_it_was_done_on():
    bench = JobBuilder().card(COLOUR).piece().layer("base", COLOUR, 1).mix("base")
    bench.wait(minutes=20).coat("base").wait(minutes=1)
    assert "cleaning.not-cleaned" in bench.prep("degrease").rules()  # what is wiped now is the paint
    bench.correct(bench.last_id, bench.now - minutes(10))
    assert "cleaning.not-cleaned" not in bench.rules()
    assert bench.state.pieces["panel"].steps[0].on_layer is None


def test_a_step_on_paint_is_on_the_layer_that_was_on_top_then():
    bench = JobBuilder().card(COLOUR, CLEAR).piece().prep("degrease").layer("base", COLOUR, 1)
    bench.layer("clear", CLEAR, activator="slow").mix("base").coat("base").wait(hours=26)
    bench.ready("clear").coat("clear").wait(minutes=1)
    late(bench, "scuff", timedelta(hours=1))
    assert bench.state.layers["base"].scuffed_at == bench.now - timedelta(hours=1)
    assert bench.state.layers["clear"].scuffed_at is None
    assert "timing.recoat-closed" not in bench.rules()


def test_an_older_scuff_that_is_logged_later_does_not_take_the_place_of_a_newer_one():
    bench = JobBuilder().card(COLOUR, CLEAR).piece().prep("degrease").layer("base", COLOUR, 1)
    bench.layer("clear", CLEAR, activator="slow").mix("base").coat("base").wait(hours=26).prep("scuff")
    newest = bench.now
    late(bench.wait(minutes=5), "scuff", timedelta(hours=10))
    assert bench.state.layers["base"].scuffed_at == newest


def test_a_scuff_from_before_the_last_coat_is_not_taken_for_one_after_it():
    bench = JobBuilder().card(COLOUR, CLEAR).piece().prep("degrease").layer("base", COLOUR, 2)
    bench.layer("clear", CLEAR, activator="slow").mix("base").coat("base").wait(hours=1).coat("base").wait(minutes=30)
    [piece] = late(bench, "scuff", timedelta(hours=1)).state.pieces.values()
    scuff = next(s for s in over_plan(piece, "the base", bench.now) if s.part is Part.SCUFF)
    assert scuff.state is Standing.IF_NEEDED
