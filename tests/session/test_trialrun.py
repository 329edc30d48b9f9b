"""The merged list of a trial: the whole of it by the list alone, what comes first, and that no wait is got round."""

import tempfile
from collections.abc import Iterator
from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from builders import (
    ADHESIVE_CLEAR,
    COLOUR,
    EPOXY,
    ONE_PART_PROMOTER,
    PROMOTER,
    START,
    JobBuilder,
    hours,
    minutes,
)
from conftest import StillClock
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import examples, jobs
from trialdriver import Painter, open_session

from benchtool.job import events as ev
from benchtool.rules.engine import every, rule_of
from benchtool.rules.finding import Severity
from benchtool.session.session import NotNow
from benchtool.session.trialgrading import board, cell_short
from benchtool.session.trialrun import FRESH, SOON, Kind, NextAct, next_acts, run_of, strips_words
from benchtool.trade.grades import Method

FOUR: dict[str, Any] = {
    "Two-part": [(PROMOTER, "rigid"), COLOUR],
    "One-part": [ONE_PART_PROMOTER, COLOUR],
    "Clear": [ADHESIVE_CLEAR, COLOUR],
    "None": [COLOUR],
}
WATER = ev.Ageing(kind=ev.AgeingKind.WATER, lasts=hours(24), degC=38.0, recovers=hours(2))
READY = ("mould-release wash", "degrease", "abrade", "degrease", "tack")
BEND = ev.Ageing(kind=ev.AgeingKind.FLEX, mandrel_mm=10.0)


@pytest.fixture
def paints(clock: StillClock, tmp_path: Path) -> Iterator[Any]:
    made = []

    def painter(job: JobBuilder) -> Painter:
        made.append(open_session(job, clock, tmp_path))
        return Painter(made[-1], clock)

    yield painter
    for session in made:
        session.close_all()


def four(**plan: Any) -> JobBuilder:
    return JobBuilder().plan_trial(FOUR, each=3, **plan)


def two(**plan: Any) -> JobBuilder:
    """Two systems of one strip each, their paint on and the tests to come."""
    job = JobBuilder().plan_trial({"One": [COLOUR], "None": [COLOUR]}, **plan)
    for strip in ("t1-1", "t1-2"):
        job.prep(*READY, piece=strip)
    return job


def painted(**plan: Any) -> JobBuilder:
    """Two strips with their colour on, one cup for both."""
    job = two(**plan).ready("t1-1-a").share("t1-2-a").coat("t1-1-a").coat("t1-2-a")
    return job.wait(seconds=1)


# --- the whole of it ---------------------------------------------------------------------------------------


def test_four_systems_of_three_strips_from_the_wash_to_the_last_grade(paints: Any) -> None:
    painter = paints(four(tape_stays=hours(1), ageing=(WATER, BEND)))
    painter.go()
    state = painter.document.state
    trial = state.trials["t1"]
    assert painter.waived == []
    for strip in trial.plan.strips:
        told = [(g.given.method, g.aged) for g in trial.newest(strip.piece)]
        stages = [(), (ev.AgeingKind.WATER,), (ev.AgeingKind.WATER, ev.AgeingKind.FLEX)]
        assert told == [(m, aged) for aged in stages for m in trial.plan.methods]
        _held(painter, strip.piece)
    assert sum(isinstance(e, ev.Mixed) for e in painter.document.job.events) == 4  # one cup a product, for all strips
    wrong = {f.rule for f in every(painter.session.findings()) if rule_of(f).family in ("timing", "mixing", "cleaning")}
    assert wrong == set()


def _held(painter: Painter, piece: str) -> None:
    """Reckon every wait of a strip from the record alone, by what the cards say."""
    state = painter.document.state
    trial, strip = state.trials["t1"], state.pieces[piece]
    for layer in strip.layers:
        card = state.cards[layer.plan.card]
        for one, after in zip(layer.coats, layer.coats[1:], strict=False):
            assert after.started_at - one.done_at >= card.flash
            assert card.flash_most is None or after.started_at - one.done_at <= card.flash_most
        over = strip.over(layer)
        if over is not None:
            waited = over.coats[0].started_at - layer.coats[-1].done_at
            assert waited >= (card.recoat_opens or card.flash)
        assert len(layer.coats) == layer.plan.coats
    done = strip.layers[-1].coats[-1].done_at
    tapes = [t for t in trial.tapes if t.strip == piece]
    grades = [g.given for g in trial.grades if g.given.strip == piece]
    runs = [r for r in trial.ageings if piece in r.strips]
    assert tapes[0].at - done >= trial.plan.rest
    taped = [g for g in grades if g.method is Method.PLAIN_TAPE]
    assert [g.at - t.at >= trial.plan.tape_stays for g, t in zip(taped, tapes, strict=True)] == [True] * 3
    assert [r.plan.kind for r in runs] == [ev.AgeingKind.WATER, ev.AgeingKind.FLEX]
    assert runs[0].begun_at >= grades[2].at
    assert runs[0].over_at - runs[0].begun_at >= WATER.lasts
    assert tapes[1].at - runs[0].over_at >= WATER.recovers


def test_while_one_system_waits_another_is_sprayed(paints: Any) -> None:
    painter = paints(four())
    painter.go()
    coats = [(at, numbers) for at, kind, numbers, _ in painter.log if kind is Kind.COAT]
    one_part = [at for at, numbers in coats if numbers == (2, 6, 10)]
    between = [numbers for at, numbers in coats if one_part[0] < at < one_part[1]]
    assert between  # nobody stands idle for its ten minutes
    assert [at for at, *_ in painter.log] == sorted(at for at, *_ in painter.log)


def test_twelve_strips_take_few_presses(paints: Any) -> None:
    painter = paints(four(methods=(), rest=timedelta(0)))
    painter.go()
    coats = [numbers for _, kind, numbers, _ in painter.log if kind is Kind.COAT]
    assert len(coats) == 2 + 2 + 3 + 4  # coats of the products, each on three strips at once
    assert all(len(numbers) == 3 for numbers in coats)


def test_each_act_is_undone_by_one_undo(paints: Any) -> None:
    painter = paints(four())
    while painter.acts()[0].kind is not Kind.COAT:
        painter.do(painter.acts()[0])
    before = painter.acts()[0].words
    painter.do(painter.acts()[0])
    assert painter.acts()[0].kind is Kind.FINISH
    painter.session.undo()
    assert painter.acts()[0].words == before
    assert all(not x.coats and len(x.mixes) < 2 for x in painter.document.state.layers.values())


# --- merging and order -------------------------------------------------------------------------------------


def test_strips_due_within_a_minute_are_done_together_when_the_last_is_due(paints: Any) -> None:
    job = two().ready("t1-1-a").share("t1-2-a").change_layer("t1-1-a", coats=2).change_layer("t1-2-a", coats=2)
    job.coat("t1-1-a").wait(seconds=50).coat("t1-2-a")
    painter = paints(job)
    (act,) = painter.acts()
    assert (act.numbers, act.kind) == ((1, 2), Kind.COAT)
    assert act.due_at == job.now + COLOUR.flash
    painter.clock.at = act.due_at - timedelta(seconds=1)
    assert painter.acts()[0].waits(painter.clock.at)  # the first strip is due: it waits for the other
    painter.clock.at = act.due_at
    assert not painter.acts()[0].waits(painter.clock.at)


def test_strips_due_further_apart_are_two_acts_until_both_are_due(paints: Any) -> None:
    job = two().ready("t1-1-a").share("t1-2-a").change_layer("t1-1-a", coats=2).change_layer("t1-2-a", coats=2)
    job.coat("t1-1-a").wait(seconds=61).coat("t1-2-a")
    painter = paints(job)
    assert [a.numbers for a in painter.acts()] == [(1,), (2,)]
    painter.clock.at = job.now + COLOUR.flash
    assert [a.numbers for a in painter.acts()] == [(1, 2)]


def test_nothing_waits_for_company_that_would_make_it_late(paints: Any) -> None:
    hasty = replace(ONE_PART_PROMOTER, flash_most=minutes(10.5))
    job = JobBuilder().plan_trial({"One": [hasty, COLOUR], "Two": [hasty, COLOUR]})
    for strip in ("t1-1", "t1-2"):
        job.prep(*READY, piece=strip)
    job.ready("t1-1-a").share("t1-2-a").coat("t1-1-a").wait(seconds=40).coat("t1-2-a")
    painter = paints(job)
    first, second = painter.acts()
    assert (first.numbers, first.due_at, first.late_at) == ((1,), START + minutes(10), START + minutes(10.5))
    assert (second.numbers, second.due_at) == ((2,), START + timedelta(minutes=10, seconds=40))


def test_what_closes_soon_goes_before_what_opens(paints: Any) -> None:
    job = JobBuilder().plan_trial({"Colour": [COLOUR, COLOUR], "One": [ONE_PART_PROMOTER, COLOUR]}, controls=())
    for strip in ("t1-1", "t1-2"):
        job.prep(*READY, piece=strip)
    job.ready("t1-2-a").coat("t1-2-a").wait(seconds=30).ready("t1-1-a").coat("t1-1-a")
    job.mix_state()
    painter = paints(job.wait(minutes=21))
    first, second = painter.acts()[:2]
    assert first.numbers == (2,)
    assert first.hurries(painter.clock.at)
    assert first.numerals(painter.clock.at) == "Late"
    assert (second.numbers, second.hurries(painter.clock.at)) == ((1,), False)
    painter.clock.at += FRESH
    assert painter.acts()[0].hurries(painter.clock.at) is False


def test_a_pot_life_hurries_a_coat_and_counts_the_coats_after_it(paints: Any) -> None:
    job = JobBuilder().plan_trial({"Epoxy": [(EPOXY, "epoxy-b"), COLOUR], "None": [COLOUR]})
    job.prep(*READY, piece="t1-1").change_layer("t1-1-a", coats=2).ready("t1-1-a")
    begun = job.mix_state().activated_at
    painter = paints(job)
    coat = next(a for a in painter.acts() if a.kind is Kind.COAT)
    assert coat.late_at == begun + EPOXY.pot_life - EPOXY.flash
    assert coat.why == "The cup of Epoxy primer lasts till then."
    painter.clock.at = coat.late_at - SOON
    coat = next(a for a in painter.acts() if a.kind is Kind.COAT)
    assert coat.why == "The pot life of Epoxy primer is running out."
    painter.clock.at = begun + EPOXY.pot_life
    mix = next(a for a in painter.acts() if a.kind is Kind.MIX and a.numbers == (1,))
    assert mix.words == "The cup of Epoxy primer is past its pot life by then: empty it, and mix fresh for strip 1."


def test_strips_set_aside_come_last_and_by_themselves(paints: Any) -> None:
    painter = paints(four())
    acts = painter.acts(frozenset({"t1-3", "t1-9"}))
    assert [(a.numbers, a.aside) for a in acts] == [((1, 2, 4, 5, 6, 7, 8, 10, 11, 12), False), ((3, 9), True)]
    painter.press(acts[0])
    assert len(painter.document.state.pieces["t1-3"].steps) == 0
    assert len(painter.document.state.pieces["t1-4"].steps) == 1


def test_nothing_is_asked_of_strips_that_were_put_away(paints: Any) -> None:
    painter = paints(four())
    painter.session.apply(partial(ev.TrialEnded, trial="t1"))
    run = run_of(painter.session, painter.document, painter.document.state.trials["t1"], painter.clock.at)
    assert run.over


# --- single kinds ------------------------------------------------------------------------------------------


def test_a_recoat_that_closed_asks_for_a_scuff_and_then_for_the_dust(paints: Any) -> None:
    job = JobBuilder().plan_trial({"Twice": [COLOUR, COLOUR], "None": [COLOUR]})
    job.prep(*READY, piece="t1-1").ready("t1-1-a").coat("t1-1-a").wait(hours=24)
    painter = paints(job)
    act = next(a for a in painter.acts() if a.numbers == (1,))
    assert act.kind is Kind.SCUFF
    assert act.words == "Strip 1: scuff Base colour evenly with a fine pad."
    painter.press(act)
    painter.clock.at += minutes(1)
    act = next(a for a in painter.acts() if a.numbers == (1,))
    assert (act.kind, act.act.title) == (Kind.PREP, "Tack off done on strip 1")


def test_how_a_water_test_went_is_asked_by_two_acts(paints: Any) -> None:
    job = JobBuilder().plan_trial({"Two": [COLOUR], "None": [COLOUR]}, substrate="aluminium")
    painter = paints(job)
    while "water" not in (act := painter.acts()[0]).act.title.lower():
        painter.do(act)
    assert act.other is not None
    assert (act.act.title, act.other.title) == (
        "The water stays in one sheet on strips 1 and 2",
        "The water breaks on strips 1 and 2",
    )
    painter.session.apply(*act.other.make())
    steps = painter.document.state.pieces["t1-1"].steps
    assert (steps[-1].step, steps[-1].passed) == (ev.Prep.WATER_BREAK, False)


def test_tape_that_must_come_off_within_minutes_goes_strip_by_strip(paints: Any) -> None:
    job = painted(methods=(Method.D3359_B,), rest=timedelta(0))
    painter = paints(job.wait(hours=25))
    act = painter.acts()[0]
    assert (act.kind, act.numbers, act.act.strips) == (Kind.PRESS, (1, 2), ("t1-1",))
    painter.press(act)
    pressed = painter.clock.at
    pull, press = painter.acts()
    assert (pull.kind, pull.due_at, pull.late_at) == (Kind.PULL, pressed + minutes(1), pressed + minutes(2))
    assert (press.numbers, press.due_at, press.why) == ((2,), pull.due_at, "First pull the tape that is on.")
    painter.clock.at = pull.due_at
    pull, press = painter.acts()
    assert pull.kind is Kind.PULL
    assert pull.numerals(painter.clock.at) == "1:00"


def test_a_method_without_tape_is_graded_and_nothing_before_the_rest_is_over(paints: Any) -> None:
    job = painted(methods=(Method.STICK,), rest=hours(24))
    done = job.layer_state("t1-2-a").coats[0].done_at
    painter = paints(job)
    (act,) = painter.acts()
    assert (act.kind, act.goes, act.due_at, act.waits(painter.clock.at)) == (
        Kind.GRADE,
        "grade",
        done + hours(24),
        True,
    )
    assert act.words == "Grade strips 1 and 2 by stick scratch."


def test_ageing_goes_in_the_order_of_the_plan_each_after_the_grades_before(paints: Any) -> None:
    job = painted(methods=(Method.STICK,), rest=hours(1), ageing=(BEND, WATER))
    painter = paints(job.wait(hours=2))
    painter.go()
    told = [kind for _, kind, *_ in painter.log]
    assert told == [Kind.GRADE, Kind.AGE, Kind.GRADE, Kind.AGE, Kind.TAKE_OUT, Kind.GRADE]
    words = [w for _, kind, _, w in painter.log if kind is Kind.AGE]
    assert words[0] == "Bend strips 1 and 2 over a 10 mm mandrel, paint outwards."


def test_two_soaks_of_the_plan_are_two_soaks(paints: Any) -> None:
    job = painted(methods=(Method.STICK,), rest=hours(1), ageing=(WATER, WATER))
    painter = paints(job.wait(hours=2))
    painter.go()
    told = [kind for _, kind, *_ in painter.log]
    assert told == [Kind.GRADE, Kind.AGE, Kind.TAKE_OUT, Kind.GRADE, Kind.AGE, Kind.TAKE_OUT, Kind.GRADE]


def test_strips_that_come_from_the_heat_are_told_to_be_hot(paints: Any) -> None:
    heat = ev.Ageing(kind=ev.AgeingKind.HEAT, lasts=hours(1), degC=70.0)
    painter = paints(painted(methods=(), rest=timedelta(0), ageing=(heat,)))
    act = painter.acts()[0]
    assert act.kind is Kind.AGE
    assert act.caution.startswith("Hot: take gloves.")


def test_a_cup_is_begun_ahead_of_a_coat_by_what_it_stands(paints: Any) -> None:
    job = JobBuilder().plan_trial({"Two": [COLOUR, (PROMOTER, "rigid")], "None": [COLOUR]})
    job.prep(*READY, piece="t1-1").ready("t1-1-a").coat("t1-1-a")
    painter = paints(job)
    act = next(a for a in painter.acts() if a.numbers == (1,))
    assert act.kind is Kind.MIX
    assert act.due_at == job.now + COLOUR.recoat_opens - PROMOTER.stand - PROMOTER.stand_reduced - minutes(5)


def test_an_act_on_strips_that_have_moved_on_says_so(paints: Any) -> None:
    painter = paints(four())
    while painter.acts()[0].kind is not Kind.COAT:
        painter.do(painter.acts()[0])
    old = painter.acts()[0]
    painter.press(old)
    with pytest.raises(NotNow, match="was begun already"):
        old.act.make()


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ((4,), "strip 4"),
        ((1, 5, 9), "strips 1, 5 and 9"),
        ((1, 2), "strips 1 and 2"),
        (tuple(range(1, 13)), "strips 1 to 12"),
        ((1, 2, 3, 7, 8), "strips 1 to 3, 7 and 8"),
        ((), "strips "),
    ],
)
def test_strips_are_named_by_their_numbers(numbers: tuple[int, ...], words: str) -> None:
    assert strips_words(numbers) == words


# --- the passing of time -----------------------------------------------------------------------------------


def test_between_two_edges_the_very_same_list_is_given(paints: Any) -> None:
    painter = paints(painted(methods=(Method.STICK,), rest=hours(24)))
    first = painter.acts()
    painter.clock.at += minutes(1)
    assert painter.acts() is first
    painter.clock.at = first[0].due_at
    assert painter.acts() is not first
    assert not painter.acts()[0].waits(painter.clock.at)


def test_two_who_ask_differently_are_both_remembered(paints: Any) -> None:
    painter = paints(four())
    one, other = painter.acts(), painter.acts(frozenset({"t1-3"}))
    assert painter.acts() is one
    assert painter.acts(frozenset({"t1-3"})) is other
    painter.do(one[0])
    assert painter.acts() is not one


def test_a_list_holds_until_it_says(paints: Any) -> None:
    """What is kept from before is what would be worked out anew, at every second of a session."""
    from benchtool.session import trialrun

    painter = paints(four())
    for _ in range(60):
        painter.do(painter.acts()[0])
    for _ in range(200):
        painter.clock.at += timedelta(seconds=17)
        kept = painter.acts()
        trialrun._KNOWN.clear()
        assert [a.key for a in painter.acts()] == [a.key for a in kept]


def test_the_numerals_run_and_the_bar_fills(paints: Any) -> None:
    painter = paints(painted(methods=(Method.STICK,), rest=hours(24)))
    act = painter.acts()[0]
    at = act.due_at - hours(6)
    assert act.numerals(at) == "6:00:00"
    assert act.bar(at).filled == pytest.approx(0.75, abs=0.001)
    assert act.clock(at)[0] == "at"
    assert act.numerals(act.due_at) == "Now"


# --- laws --------------------------------------------------------------------------------------------------


@examples(15)
@given(st.data())
def test_no_coat_is_offered_that_a_stop_forbids_without_being_told(data: st.DataObject) -> None:
    """Whatever is done in whatever order, with whatever waits: what stops any of its strips is found before it."""
    clock = StillClock(START)
    each = data.draw(st.sampled_from([1, 2]))
    systems = {"A": [(PROMOTER, "rigid"), COLOUR], "B": [ONE_PART_PROMOTER, COLOUR], "None": [COLOUR]}
    job = JobBuilder().plan_trial(systems, each=each, methods=(Method.STICK,), rest=hours(1))
    for strip in data.draw(st.sets(st.sampled_from(sorted(job.state.pieces)))):
        job.prep(*READY, piece=strip)
    with tempfile.TemporaryDirectory() as folder:
        session = open_session(job, clock, Path(folder))
        painter = Painter(session, clock)
        for _ in range(data.draw(st.integers(15, 45))):
            found = painter.acts()
            if not found:
                break
            act = data.draw(st.sampled_from(found[:3]))
            if act.kind is Kind.COAT:
                _all_stops_are_told(painter, act)
            if act.kind in (Kind.COAT, Kind.PREP) and act.act is not None:
                painter.press(act)  # even where it is to be waited for: then a stop is told, and signed
            else:
                painter.do(act)
            clock.at += timedelta(seconds=data.draw(st.sampled_from([0, 1, 20, 61, 600, 1200, 4000, 100_000])))
        session.close_all()


def _all_stops_are_told(painter: Painter, act: NextAct) -> None:
    assert act.act is not None
    session, document = painter.session, painter.document
    told = {f.key for f in every(act.act.find())}
    for strip in act.strips:
        layer = document.state.pieces[strip].current
        assert layer is not None
        shared = act.act.make()
        now = {f.key for f in every(session.findings()) if f.blocks and f.piece in (strip, None)}
        assert now <= told
        assert shared
    before = {f.key for f in every(session.findings())}
    after = [f for f in every(session.preview(*act.act.make())) if f.key not in before]
    assert {f.key for f in after if rule_of(f).severity is Severity.STOP and not f.waived} <= told


def test_one_strip_is_hindered_by_just_what_hinders_it_at_the_bench(paints: Any) -> None:
    job = two().ready("t1-1-a").coat("t1-1-a").change_layer("t1-1-a", coats=2).wait(minutes=1)
    painter = paints(job)
    act = next(a for a in painter.acts() if a.numbers == (1,))
    layer = painter.document.state.layers["t1-1-a"]
    assert {f.rule for f in every(act.act.find())} == {"timing.flash"}
    assert {f.key for f in every(act.act.find())} == {f.key for f in every(painter.session.hindrances(layer))}
    assert act.act.tell(act.act.find())[0].startswith("Stop. Strip 1: Wait ")


def test_a_stop_of_several_strips_is_said_once(paints: Any) -> None:
    job = two().ready("t1-1-a").share("t1-2-a").change_layer("t1-1-a", coats=2).change_layer("t1-2-a", coats=2)
    painter = paints(job.coat("t1-1-a").coat("t1-2-a").wait(minutes=1))
    (act,) = painter.acts()
    words, remedy = act.act.tell(act.act.find())
    assert words == "Stop. Strips 1 and 2: Wait 9:00 before coat 2 of Base colour."
    assert remedy


@examples(40)
@given(jobs(), st.integers(0, 200))
def test_any_valid_job_has_a_list(job: Any, later: int) -> None:
    clock = StillClock(max((e.at for e in job.events), default=job.created) + hours(later))
    with tempfile.TemporaryDirectory() as folder:
        builder = JobBuilder(clock.at)
        builder.job = job
        session = open_session(builder, clock, Path(folder))
        document = session.current
        assert document is not None
        for trial in document.state.trials.values():
            acts = next_acts(session, document, trial, clock.at)
            named = [s for a in acts for s in a.strips]
            assert len(named) == len(set(named))
            for act in acts:
                assert act.words
                assert act.numerals(clock.at)
                act.bar(clock.at)
                act.clock(clock.at)
        session.close_all()


# --- cups of others ----------------------------------------------------------------------------------------


def test_a_dead_cup_of_another_piece_is_let_stand(paints: Any) -> None:
    job = JobBuilder().card(EPOXY).piece("hood").layer("hood-1", EPOXY, activator="epoxy-b").ready("hood-1")
    job.plan_trial({"Epoxy": [(EPOXY, "epoxy-b")], "None": [COLOUR]})
    job.prep(*READY, piece="t1-1")
    painter = paints(job)
    assert next(a for a in painter.acts() if a.numbers == (1,)).kind is Kind.COAT
    painter.clock.at += EPOXY.pot_life
    mix = next(a for a in painter.acts() if a.numbers == (1,))
    assert mix.kind is Kind.MIX
    assert mix.words == "Mix Epoxy primer for strip 1."


def test_an_old_cup_is_taken_over_with_its_age(paints: Any) -> None:
    job = JobBuilder().card(COLOUR).piece("hood").layer("hood-1", COLOUR).ready("hood-1").wait(hours=6 * 24 + 1)
    job.plan_trial({"One": [COLOUR], "None": [COLOUR]})
    for strip in ("t1-1", "t1-2"):
        job.prep(*READY, piece=strip)
    coat = paints(job).acts()[0]
    assert coat.kind is Kind.COAT
    assert coat.why == "The cup of Base colour was mixed 6 days ago."
    fresh = two()
    fresh.ready("t1-1-a")
    assert "ago" not in paints(fresh).acts()[0].why


def test_one_product_mixed_with_two_activators_is_told_apart(paints: Any) -> None:
    job = JobBuilder().plan_trial({"R": [(PROMOTER, "rigid"), COLOUR], "F": [(PROMOTER, "flexible"), COLOUR]})
    for strip in ("t1-1", "t1-2"):
        job.prep(*READY, piece=strip)
    acts = [a for a in paints(job).acts() if a.kind is Kind.MIX]
    assert {a.what for a in acts} == {
        "Mix Two-part promoter with Rigid activator", "Mix Two-part promoter with Flexible activator",
    }  # fmt: skip
    assert {"Rigid activator" in a.words for a in acts} == {True, False}


def test_a_wait_for_the_tape_time_of_the_card_says_why(paints: Any) -> None:
    slow = replace(COLOUR, tape=hours(24))
    job = JobBuilder().plan_trial({"One": [slow], "None": [slow]}, rest=minutes(2))
    for strip in ("t1-1", "t1-2"):
        job.prep(*READY, piece=strip)
    job.ready("t1-1-a").share("t1-2-a").coat("t1-1-a").coat("t1-2-a").wait(seconds=1)
    act = paints(job).acts()[0]
    assert act.due_at is not None
    assert act.due_at - START > hours(23)
    assert act.why == "The card of Base colour asks for 24 h before tape: that counts."
    assert paints(painted(rest=minutes(2))).acts()[0].why == ""


def test_a_strip_with_paint_on_is_not_called_bare(paints: Any) -> None:
    job = JobBuilder().plan_trial({"One": [ONE_PART_PROMOTER, COLOUR], "None": [COLOUR]})
    job.prep(*READY, piece="t1-1").ready("t1-1-a").coat("t1-1-a")
    while job.state.layers["t1-1-a"].coats_done < job.state.layers["t1-1-a"].plan.coats:
        job.wait(seconds=900).coat("t1-1-a")
    painter = paints(job.wait(seconds=3600))
    document = painter.session.writable()
    run = run_of(painter.session, document, document.state.trials["t1"], painter.session.now())
    assert run.states["t1-1"] == "to mix"
    assert (
        cell_short(
            board(document.state, document.state.trials["t1"], painter.session.now()).rows[0].cells[0],
            painter.session.now(),
        )[0]
        == "unfinished"
    )
