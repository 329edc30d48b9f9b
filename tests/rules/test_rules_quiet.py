"""Well-run jobs of every kind: nothing is in the way of any coat as it begins, and nothing is left to say."""

from collections.abc import Callable

import pytest
from builders import (
    ADHESIVE_CLEAR,
    CLEAR,
    COLOUR,
    ONE_PART_PROMOTER,
    PRACTICE,
    PROMOTER,
    START,
    JobBuilder,
    hours,
    minutes,
)
from msgspec.structs import replace
from trialbuilder import TAPE, choose, judged, lot, planned, prepared, rested, sprayed

from benchtool.job.cards import Card, Duty, Gun
from benchtool.job.events import CoatStarted, Prep, PrepDone
from benchtool.job.record import Job
from benchtool.job.state import fold
from benchtool.job.validate import faults
from benchtool.rules.engine import every, findings

WELL_RUN: list[Callable[[], JobBuilder]] = []


def well_run(job: Callable[[], JobBuilder]) -> Callable[[], JobBuilder]:
    """A job done by the book."""
    WELL_RUN.append(job)
    return job


def colour_and_clear(bench: JobBuilder) -> JobBuilder:
    """Two coats of colour and two of clear, each in its time, and the cup emptied."""
    bench.card(COLOUR, CLEAR).layer("colour", COLOUR, 2).ready().coats(2, apart=minutes(10)).empty()
    return clear(bench.wait(minutes=20))


def clear(bench: JobBuilder) -> JobBuilder:
    """Two coats of clear."""
    return bench.layer("clear", CLEAR, activator="slow").ready().coats(2, apart=minutes(15)).empty()


def two_part(bench: JobBuilder, activator: str) -> JobBuilder:
    """Two coats of two-part promoter, up to the moment for colour."""
    bench.card(PROMOTER).layer("promoter", PROMOTER, activator=activator).ready().coats(2, apart=minutes(15))
    return bench.empty().wait(minutes=30)


def one_part(bench: JobBuilder) -> JobBuilder:
    """Two coats of one-part promoter, and its flash before colour."""
    bench.card(ONE_PART_PROMOTER).layer("promoter", ONE_PART_PROMOTER).ready().coats(2, apart=minutes(12))
    return bench.wait(minutes=10)


def adhesive_clear(bench: JobBuilder, gun: Gun) -> JobBuilder:
    """Three coats of clear as adhesive primer, and the 48 h after it."""
    bench.card(ADHESIVE_CLEAR).layer("primer", ADHESIVE_CLEAR, gun=gun).ready().coats(3, apart=minutes(13)).empty()
    return bench.wait(hours=48)


@well_run
def aluminium_with_two_part_promoter() -> JobBuilder:
    return colour_and_clear(two_part(JobBuilder().piece().prep("wash", "degrease", "abrade", "tack"), "rigid"))


@well_run
def steel_with_one_part_promoter() -> JobBuilder:
    return colour_and_clear(one_part(JobBuilder().piece(substrate="steel").prep("degrease")))


@well_run
def plywood_and_mdf_with_rigid_activator() -> JobBuilder:
    return two_part(JobBuilder().piece(substrate="plywood-birch").prep("wash"), "rigid")


@well_run
def a_bumper_of_tpo_with_flexible_activator() -> JobBuilder:
    bench = JobBuilder().piece("bumper", "tpo", flex="flexible", known="marked")
    return colour_and_clear(two_part(bench.prep("mould-release wash", "degrease", "scuff"), "flexible"))


@well_run
def an_unknown_plastic_proved_on_a_strip() -> JobBuilder:
    bench = JobBuilder().piece("cap", "unknown", known="unknown", flex="flexible").prep("wash", "degrease")
    return colour_and_clear(two_part(bench.trial(), "flexible"))


@well_run
def an_unknown_plastic_proved_by_a_trial() -> JobBuilder:
    """Strips of the same sheet first, two of each; then the piece, prepared and painted as the best of them."""
    bench = rested(sprayed(prepared(planned(JobBuilder(), each=2, batch="Sheet 3"))))
    judged(bench, {"a": {TAPE: ["5", "5"]}, "b": {TAPE: ["4", "3"]}, "c": {TAPE: ["2", "0"]}})
    bench.piece("cap", "unknown", known="unknown")
    lot(bench, "cap", "sheet 3").prep("mould-release wash", "degrease")
    bench.layer("promoter", PROMOTER, activator="rigid").layer("colour", COLOUR, 1)
    choose(bench, "a", "cap").ready("promoter").coats(2, apart=minutes(15)).empty().wait(minutes=30)
    return bench.ready("colour").coat().empty()


@well_run
def a_guess_put_right_by_the_mark() -> JobBuilder:
    bench = JobBuilder().piece("cap", "unknown", known="unknown").prep("mould-release wash")
    return colour_and_clear(one_part(bench.change_piece("abs", known="marked")))


@well_run
def a_clear_shell_painted_from_behind() -> JobBuilder:
    bench = JobBuilder().piece("shell", "pc", flex="flexible", face="behind clear").prep("mould-release wash", "tack")
    return colour_and_clear(one_part(bench))


@well_run
def the_back_of_a_shell_scuffed_after_its_recoat_closed() -> JobBuilder:
    bench = one_part(JobBuilder().piece("shell", "pmma", face="behind clear").prep("mould-release wash"))
    bench.card(COLOUR, CLEAR).layer("colour", COLOUR, 1).ready().coat().empty()
    return clear(bench.wait(hours=60).prep("scuff", "tack"))


@well_run
def a_day_between_colour_and_clear_and_a_scuff() -> JobBuilder:
    bench = JobBuilder().card(COLOUR, CLEAR).piece().prep("wash").layer("colour", COLOUR, 1).ready().coat().empty()
    return clear(bench.wait(hours=30).prep("scuff", "degrease", "tack"))


@well_run
def wood_with_adhesive_clear_by_a_mini_gun() -> JobBuilder:
    return colour_and_clear(adhesive_clear(JobBuilder().piece(substrate="wood-solid").prep("wash"), Gun.MINI))


@well_run
def glass_with_adhesive_clear_by_an_airbrush() -> JobBuilder:
    return colour_and_clear(adhesive_clear(JobBuilder().piece(substrate="glass").prep("degrease"), Gun.AIRBRUSH))


@well_run
def two_pieces_from_one_cup() -> JobBuilder:
    bench = JobBuilder().card(CLEAR).piece().prep("wash").layer("clear", CLEAR, activator="slow")
    bench.piece("lid").prep("wash").layer("lid-clear", CLEAR, activator="slow").ready("clear").share("lid-clear")
    for _ in range(2):
        bench.coat("clear").wait(minutes=4).coat("lid-clear").wait(minutes=15)
    return bench.empty()


@well_run
def taped_for_a_stripe_a_day_later() -> JobBuilder:
    bench = colour_and_clear(JobBuilder().piece().prep("wash")).wait(hours=24).prep("scuff").mask()
    return bench.layer("stripe", COLOUR, 1).ready().coat().unmask().empty()


@well_run
def masked_bare_and_painted() -> JobBuilder:
    return colour_and_clear(JobBuilder().piece().prep("wash").mask()).unmask()


@well_run
def a_coat_begun_by_mistake_and_undone() -> JobBuilder:
    bench = JobBuilder().card(CLEAR).piece().prep("wash").layer("clear", CLEAR, activator="slow").ready().coat()
    return bench.wait(minutes=15).coat().undo().undo().wait(minutes=1).coat().empty()


@well_run
def a_fresh_cup_after_the_pot_life() -> JobBuilder:
    bench = JobBuilder().card(CLEAR).piece().prep("wash").layer("clear", CLEAR, activator="slow").ready().coat()
    return bench.empty().wait(hours=3).ready().coat().empty()


@well_run
def a_mix_mended_before_it_was_stirred() -> JobBuilder:
    bench = JobBuilder().card(PROMOTER).piece().prep("wash").layer("promoter", PROMOTER, activator="rigid").mix()
    bench.pour("base", 29.5735).pour("activator", 1).pour("base", 20.4265).stir("activated").wait(minutes=5)
    return bench.pour("reducer", 51).stir("reduced").wait(minutes=10).coats(2, apart=minutes(15)).empty()


@well_run
def two_layers_of_the_same_product() -> JobBuilder:
    bench = JobBuilder().card(COLOUR).piece().prep("wash").layer("white", COLOUR, 2).layer("red", COLOUR, 2)
    bench.ready("white").coats(2, apart=minutes(10)).empty().wait(minutes=20)
    return bench.ready("red").coats(2, apart=minutes(10)).empty()


@well_run
def a_coat_logged_late_and_put_right() -> JobBuilder:
    bench = JobBuilder().card(CLEAR).piece().prep("wash").layer("clear", CLEAR, activator="slow").ready().coat()
    done, really = bench.last_id, bench.now
    bench.wait(minutes=10).correct(done, really)
    return bench.wait(minutes=5).coat().empty()


@well_run
def stirred_and_stood_with_no_pour_on_record() -> JobBuilder:
    bench = JobBuilder().card(PROMOTER).piece().prep("wash").layer("promoter", PROMOTER, activator="rigid").mix()
    bench.stir("activated").wait(minutes=5).stir("reduced").wait(minutes=10)
    return bench.coats(2, apart=minutes(15)).empty()


@well_run
def coats_with_no_cup_on_record() -> JobBuilder:
    """A one-part product straight from the can."""
    bench = JobBuilder().card(COLOUR).piece().prep("wash").layer("colour", COLOUR, 2)
    return bench.coat(mix=None).wait(minutes=15).coat(mix=None)


@well_run
def a_card_that_gives_no_times_at_all() -> JobBuilder:
    card = Card(id="enamel", name="Enamel", duty=Duty.BASE, origins=PRACTICE)
    return JobBuilder().card(card).piece().prep("wash").layer("enamel", card, 3).ready().coats(3, apart=hours(5))


@well_run
def a_gun_that_the_card_gives_no_reduction_for_and_none_taken() -> JobBuilder:
    bench = JobBuilder().card(COLOUR).piece().prep("wash").layer("colour", COLOUR, 2, gun=Gun.FULL)
    return bench.ready().coats(2, apart=minutes(10))


@well_run
def the_card_was_corrected_before_it_was_used() -> JobBuilder:
    bench = JobBuilder().card(replace(COLOUR, flash=hours(9))).card(COLOUR).piece().prep("wash").read_air()
    return bench.layer("colour", COLOUR, 2).ready().coats(2, apart=minutes(10))


@well_run
def sprayed_inside_the_tolerances() -> JobBuilder:
    bench = JobBuilder().card(CLEAR).piece().prep("wash").layer("clear", CLEAR, activator="slow").mix()
    bench.pour("base", 40).pour("activator", 21.9).stir("activated")
    return bench.coats(2, apart=minutes(15)).empty()


@well_run
def mixed_from_cans_within_their_dates() -> JobBuilder:
    bench = JobBuilder().card(CLEAR).piece().prep("wash").layer("clear", CLEAR, activator="slow")
    bench.take(CLEAR, "Base", "b", opened_on=START, keeps_opened=hours(24 * 7))
    bench.take(CLEAR, "Slow hardener", "h", best_before=START + hours(2), opened_on=START)
    return bench.ready().coats(2, apart=minutes(15)).empty(left_mL=3)


def _name(value: object) -> str:
    return getattr(value, "__name__", str(value))


@pytest.mark.parametrize("build", WELL_RUN, ids=_name)
def test_nothing_is_raised(build: Callable[[], JobBuilder]) -> None:
    bench = build()
    assert list(faults(bench.job)) == []
    for moment in (bench.now, bench.now + hours(1), bench.now + hours(24 * 365)):
        left = {f.rule for f in bench.findings(moment) if f.clears_at is None}
        assert left == set()
    for i, event in enumerate(bench.job.events):
        taped = isinstance(event, PrepDone) and event.step is Prep.MASK
        if isinstance(event, CoatStarted) or taped:
            job: Job = replace(bench.job, events=bench.job.events[: i + taped])
            found = findings(job, fold(job), event.at, bench.tables)
            # Another piece may be waiting meanwhile; this one may not.
            assert [f for f in every(found) if f.clears_at is None or f.piece == _piece_of(job, event)] == []


def _piece_of(job: Job, event: CoatStarted | PrepDone) -> str:
    return event.piece if isinstance(event, PrepDone) else fold(job).layers[event.layer].piece


def test_there_are_well_run_jobs_of_many_kinds() -> None:
    assert len(WELL_RUN) == len({f.__name__ for f in WELL_RUN}) >= 15
