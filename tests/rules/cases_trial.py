"""Cases for the rules of trials, and of pieces that a trial speaks for."""

from functools import partial
from typing import Any

from builders import CLEAR, COLOUR, PROMOTER, JobBuilder, hours
from msgspec.structs import replace
from rules.case_book import fails, passes
from trialbuilder import (
    FINE,
    NAIL,
    STACKS,
    STICK,
    TAPE,
    aged,
    choose,
    graded,
    judged,
    lot,
    planned,
    prepared,
    ran,
    shell,
    sprayed,
    tried,
)

from benchtool.job import events as ev

OUT_OF_WATER: Any = partial(ev.AgeingOver, kind=ev.AgeingKind.WATER)
CROSS_ISO, CROSS_B = ev.Method.ISO_2409, ev.Method.D3359_B
THICK = replace(COLOUR, id="thick", name="Thick colour", film_um=130.0)


def set_up(**plan: object) -> JobBuilder:
    """A trial for the shell, nothing done yet."""
    return planned(shell(JobBuilder()), piece="shell", **plan)


def put_away(bench: JobBuilder) -> JobBuilder:
    """Put the strips away."""
    return bench.add(ev.TrialEnded, trial="t1")


def pressed(bench: JobBuilder, strip: str, method: ev.Method) -> JobBuilder:
    """Press tape on a strip."""
    return bench.add(ev.TapePressed, trial="t1", strip=strip, method=method)


# --- how it is set up ----------------------------------------------------------------------------------


@fails("trial.no-control")
def two_promoters_and_nothing_beside_them() -> JobBuilder:
    stacks = {k: v for k, v in STACKS.items() if k != "None"}
    return set_up(stacks=stacks)


@passes("trial.no-control")
def a_bare_strip_beside_them() -> JobBuilder:
    return set_up()


@passes("trial.no-control")
def no_control_and_put_away() -> JobBuilder:
    return put_away(two_promoters_and_nothing_beside_them())


@fails("trial.strips-differ")
def one_strip_got_another_colour() -> JobBuilder:
    bench = set_up(each=2)
    return bench.change_layer("t1-4-b", coats=3)


@fails("trial.strips-differ")
def one_strip_got_one_more_layer() -> JobBuilder:
    bench = set_up(each=2).card(CLEAR)
    return bench.add(ev.LayerAdded, piece="t1-4", layer=ev.Layer(id="more", card=CLEAR.id, coats=2))


@fails("trial.strips-differ")
def one_strip_was_scuffed() -> JobBuilder:
    bench = prepared(set_up(each=2))
    return sprayed(prepared(bench, "scuff", only=["t1-4"]))


@passes("trial.strips-differ")
def one_strip_is_not_scuffed_yet() -> JobBuilder:
    return prepared(prepared(set_up(each=2)), "scuff", only=["t1-4"])


@passes("trial.strips-differ")
def one_strip_is_painted_before_the_other() -> JobBuilder:
    return sprayed(prepared(set_up(each=2)), only=["t1-1", "t1-2", "t1-3"])


# --- how it is tested ----------------------------------------------------------------------------------


def at_once() -> JobBuilder:
    """Strips whose last coat has just been put on."""
    return sprayed(prepared(set_up()))


@fails("trial.too-early")
def taped_an_hour_after_the_last_coat() -> JobBuilder:
    return graded(at_once().wait(hours=1), "t1-1", TAPE, "5")


@fails("trial.too-early")
def scratched_while_it_soaks() -> JobBuilder:
    bench = tried()
    soak = ev.Ageing(kind=ev.AgeingKind.WATER, lasts=hours(24))
    bench.add(ev.AgeingBegun, trial="t1", strips=("t1-1",), ageing=soak).wait(hours=3)
    return graded(bench, "t1-1", STICK, "4")


@passes("trial.too-early")
def taped_when_its_rest_was_over() -> JobBuilder:
    return tried()


@passes("trial.too-early")
def taped_too_early_and_once_more_in_time() -> JobBuilder:
    return graded(taped_an_hour_after_the_last_coat().wait(hours=26), "t1-1", TAPE, "4")


@passes("trial.too-early")
def graded_after_it_came_out_of_the_water() -> JobBuilder:
    return graded(aged(tried(), ["t1-1"]), "t1-1", TAPE, "5")


@fails("trial.tape-late")
def a_cross_cut_by_the_american_way_left_for_a_quarter_of_an_hour() -> JobBuilder:
    return graded(pressed(ran(), "t1-1", CROSS_B).wait(minutes=15), "t1-1", CROSS_B, "5B")


@fails("trial.tape-late")
def a_cross_cut_pulled_after_half_a_minute() -> JobBuilder:
    return graded(pressed(ran(), "t1-1", CROSS_B).wait(seconds=30), "t1-1", CROSS_B, "5B")


@fails("trial.tape-late")
def plain_tape_that_was_to_stay_a_day() -> JobBuilder:
    return graded(pressed(ran(tape_stays=hours(24)), "t1-1", TAPE).wait(hours=20), "t1-1", TAPE, "5")


@passes("trial.tape-late")
def pulled_after_a_minute_and_a_half_and_looked_at() -> JobBuilder:
    return graded(pressed(ran(), "t1-1", CROSS_B).wait(minutes=4), "t1-1", CROSS_B, "5B")


@passes("trial.tape-late")
def plain_tape_after_its_day() -> JobBuilder:
    return graded(pressed(ran(tape_stays=hours(24)), "t1-1", TAPE).wait(hours=25), "t1-1", TAPE, "5")


@passes("trial.tape-late")
def a_slip_of_the_pen_put_right_an_hour_later() -> JobBuilder:
    bench = graded(pressed(ran(), "t1-1", CROSS_B).wait(seconds=90), "t1-1", CROSS_B, "0B")
    return graded(bench.wait(hours=1), "t1-1", CROSS_B, "5B")


@passes("trial.tape-late")
def no_tape_on_record() -> JobBuilder:
    return graded(ran(), "t1-1", CROSS_B, "5B")


def measured(grade: str, percent: float, give: float | None = None) -> JobBuilder:
    """A cross-cut that was graded and measured."""
    return graded(ran(), "t1-1", CROSS_ISO, grade, removed_percent=percent, plus_minus=give)


@fails("trial.grade-disagrees")
def the_best_class_for_half_the_area() -> JobBuilder:
    return measured("0", 50)


@fails("trial.grade-disagrees")
def two_classes_off_give_or_take_two_points() -> JobBuilder:
    return measured("4", 12, 2)


@passes("trial.grade-disagrees")
def the_class_of_its_area() -> JobBuilder:
    return measured("2", 12)


@passes("trial.grade-disagrees")
def either_class_where_the_doubt_spans_a_limit() -> JobBuilder:
    return measured("3", 14, 2)


@passes("trial.grade-disagrees")
def a_tape_without_cuts_and_its_area() -> JobBuilder:
    return graded(ran(), "t1-1", TAPE, "5", removed_percent=50.0)


@fails("trial.aged-short")
def out_of_the_water_after_an_hour() -> JobBuilder:
    bench = tried()
    soak = ev.Ageing(kind=ev.AgeingKind.WATER, lasts=hours(24))
    bench.add(ev.AgeingBegun, trial="t1", strips=("t1-1", "t1-2"), ageing=soak).wait(hours=1)
    return bench.add(OUT_OF_WATER, trial="t1", strips=("t1-1", "t1-2"))


@passes("trial.aged-short")
def in_the_water_all_day() -> JobBuilder:
    return aged(tried(), ["t1-1", "t1-2"])


@passes("trial.aged-short")
def put_back_for_the_whole_time() -> JobBuilder:
    return aged(out_of_the_water_after_an_hour(), ["t1-1", "t1-2"])


@passes("trial.aged-short")
def bent_in_no_time() -> JobBuilder:
    bench = tried()
    bend = ev.Ageing(kind=ev.AgeingKind.FLEX, mandrel_mm=10)
    bench.add(ev.AgeingBegun, trial="t1", strips=("t1-1",), ageing=bend)
    return bench.add(partial(ev.AgeingOver, kind=ev.AgeingKind.FLEX), trial="t1", strips=("t1-1",))  # type: ignore[arg-type]


@fails("trial.method-unfit")
def the_american_cross_cut_on_a_thick_film() -> JobBuilder:
    return set_up(stacks={"Thick": [THICK], "None": [COLOUR]}, methods=(CROSS_B,))


@fails("trial.method-unfit")
def the_international_cross_cut_on_a_thicker_one_as_measured() -> JobBuilder:
    bench = set_up(stacks={"Thick": [replace(THICK, coats_least=3)], "None": [COLOUR]}, methods=(TAPE,))
    return graded(bench, "t1-1", CROSS_ISO, "1")


@passes("trial.method-unfit")
def the_international_cross_cut_on_the_same() -> JobBuilder:
    return set_up(stacks={"Thick": [THICK], "None": [COLOUR]}, methods=(CROSS_ISO,))


@passes("trial.method-unfit")
def plain_tape_on_any_film() -> JobBuilder:
    return set_up(stacks={"Thick": [replace(THICK, film_um=900.0)], "None": [COLOUR]})


# --- what it shows -------------------------------------------------------------------------------------


@fails("trial.control-held")
def all_hold_the_tape() -> JobBuilder:
    return judged(ran(), {s: {TAPE: ["5"]} for s in "abc"})


@fails("trial.control-held")
def the_control_held_it_even_better() -> JobBuilder:
    return judged(ran(), {"a": {TAPE: ["4"]}, "b": {TAPE: ["2"]}, "c": {TAPE: ["5"]}})


@passes("trial.control-held")
def the_control_came_off() -> JobBuilder:
    return tried()


@passes("trial.control-held")
def the_control_held_and_another_better() -> JobBuilder:
    return judged(ran(), {"a": {TAPE: ["5"]}, "b": {TAPE: ["5"]}, "c": {TAPE: ["4"]}})


@passes("trial.control-held")
def the_control_held_on_all_and_another_on_all_better_at_its_worst() -> JobBuilder:
    return judged(ran(each=2), {"a": {TAPE: ["5", "5"]}, "c": {TAPE: ["5", "4"]}})


@passes("trial.control-held")
def the_control_was_worse_between_its_best_and_its_worst() -> JobBuilder:
    grades = {"a": ["5", "5", "4"], "b": ["4", "4", "4"], "c": ["5", "4", "4"]}
    return judged(ran(each=3), {s: {TAPE: codes} for s, codes in grades.items()})


@passes("trial.control-held")
def one_of_two_controls_strips_came_off() -> JobBuilder:
    return judged(ran(each=2), {"a": {TAPE: ["5", "5"]}, "c": {TAPE: ["5", "2"]}})


@passes("trial.control-held")
def all_scratch_alike() -> JobBuilder:
    return judged(ran(), {s: {STICK: ["5"], NAIL: ["4"]} for s in "abc"})


@passes("trial.control-held")
def all_held_too_early() -> JobBuilder:
    return judged(at_once(), {s: {TAPE: ["5"]} for s in "abc"})


# --- what is made of it --------------------------------------------------------------------------------


@fails("trial.one-strip")
def chosen_by_one_strip_each() -> JobBuilder:
    return choose(tried())


@passes("trial.one-strip")
def one_strip_each_and_nothing_chosen() -> JobBuilder:
    return tried()


@passes("trial.one-strip")
def chosen_by_two_of_each() -> JobBuilder:
    return choose(judged(ran(each=2), {s: {TAPE: ["5", "5"]} for s in "abc"}))


@fails("trial.chosen-not-best")
def the_second_best_was_chosen() -> JobBuilder:
    return choose(tried(), "b")


@fails("trial.chosen-not-best")
def the_bare_control_did_better() -> JobBuilder:
    return choose(judged(ran(), {"a": {TAPE: ["5"], STICK: ["2"]}, "c": {TAPE: ["5"], STICK: ["3"]}}))


@passes("trial.chosen-not-best")
def the_best_was_chosen() -> JobBuilder:
    return choose(tried())


@passes("trial.chosen-not-best")
def each_was_better_at_something() -> JobBuilder:
    return choose(judged(ran(), {"a": {TAPE: ["4"], STICK: ["5"]}, "b": {TAPE: ["5"], STICK: ["4"]}}))


@passes("trial.chosen-not-best")
def all_are_alike() -> JobBuilder:
    return choose(all_hold_the_tape())


@passes("trial.chosen-not-best")
def the_other_was_not_tested_in_all() -> JobBuilder:
    return choose(judged(ran(), {"a": {TAPE: ["4"], STICK: ["4"]}, "b": {TAPE: ["5"]}}))


@fails("trial.prep-to-do")
def proved_and_not_washed_yet() -> JobBuilder:
    return choose(tried())


@passes("trial.prep-to-do")
def proved_and_prepared_alike() -> JobBuilder:
    return choose(tried()).prep("mould-release wash", "degrease", piece="shell")


@passes("trial.prep-to-do")
def not_washed_and_nothing_proved() -> JobBuilder:
    return choose(ran())


# --- what a trial proves -------------------------------------------------------------------------------


@passes("promoter.unknown-untried")
def the_trial_of_its_own_offcut() -> JobBuilder:
    return choose(tried()).prep("mould-release wash", "degrease", piece="shell")


@passes("promoter.unknown-untried")
def the_trial_of_its_lot() -> JobBuilder:
    return choose(lot(tried(own=False, batch="Sheet 3"), "shell", "sheet 3"))


@fails("promoter.unknown-untried")
def the_trial_of_another_lot() -> JobBuilder:
    return choose(lot(tried(own=False, batch="Sheet 3"), "shell", "Sheet 4"))


@fails("promoter.unknown-untried")
def the_trial_is_done_and_nothing_is_chosen() -> JobBuilder:
    return tried()


@fails("promoter.unknown-untried")
def painted_without_the_prep_of_the_strips() -> JobBuilder:
    return choose(tried()).ready("promoter").start()


@fails("promoter.unknown-untried")
def chosen_before_anything_was_tested() -> JobBuilder:
    return choose(ran())


@fails("promoter.strip-came-off")
def the_chosen_system_came_off() -> JobBuilder:
    return _named("c")


@passes("promoter.strip-came-off")
def the_chosen_system_held() -> JobBuilder:
    return _named("a")


@passes("promoter.strip-came-off")
def a_trial_held_after_a_strip_had_come_off() -> JobBuilder:
    return _named("a", before=False)


def _named(system: str, *, before: bool | None = None) -> JobBuilder:
    """A piece of ABS whose stack is that of the system chosen for it."""
    bench = JobBuilder().card(PROMOTER, COLOUR).piece("shell", "abs")
    if system == "a":
        bench.layer("promoter", PROMOTER, activator="rigid")
    bench.layer("colour", COLOUR, 1)
    if before is not None:
        bench.trial(held=before, piece="shell").wait(hours=1)
    planned(bench, substrate="abs", piece="shell")
    judged(sprayed(prepared(bench)).wait(hours=25), FINE)
    return choose(bench, system)


@passes("promoter.untested")
def polyethylene_proved_by_a_trial() -> JobBuilder:
    bench = JobBuilder().card(PROMOTER, COLOUR).piece("shell", "pe-hd").layer("promoter", PROMOTER, activator="rigid")
    bench.layer("colour", COLOUR, 1)
    planned(bench, substrate="pe-hd", piece="shell")
    return choose(judged(sprayed(prepared(bench)).wait(hours=25), FINE))
