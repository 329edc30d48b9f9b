"""What is to grade in a trial, how it stands, and the acts that log a grade."""

from datetime import datetime, timedelta
from functools import partial
from pathlib import Path

import pytest
from builders import ADHESIVE_CLEAR, COLOUR, ONE_PART_PROMOTER, PROMOTER, JobBuilder, hours
from conftest import StillClock
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.events import Ageing, AgeingKind, FailurePlace, Method
from benchtool.job.state import fold
from benchtool.job.trialrest import Rested
from benchtool.job.validate import faults
from benchtool.session import gradeentry
from benchtool.session.gradeentry import Entry, Refused
from benchtool.session.session import NotNow, Session
from benchtool.session.tables import load_tables
from benchtool.session.trialgrading import (
    Board,
    Spot,
    Standing,
    board,
    cell_short,
    cell_words,
    next_spot,
    numerals,
    stands_words,
)
from benchtool.store import jobfile
from benchtool.trade.quantities import Measures

WATER = Ageing(kind=AgeingKind.WATER, lasts=hours(24), recovers=hours(2))
FOUR = {
    "Two-part promoter": [(PROMOTER, "rigid"), COLOUR],
    "One-part promoter": [ONE_PART_PROMOTER, COLOUR],
    "Clear as primer": [ADHESIVE_CLEAR, COLOUR],
    "None": [COLOUR],
}
OUT = partial(ev.AgeingOver, trial="t1", kind=AgeingKind.WATER)
TAPE, STICK = (Method.PLAIN_TAPE, ()), (Method.STICK, ())


def sprayed(each: int = 1, **plan: object) -> JobBuilder:
    """Four systems with all their coats on, one minute apart."""
    bench = JobBuilder().plan_trial(FOUR, each=each, **plan)
    for strip in bench.state.trials["t1"].plan.strips:
        spray(bench, strip.piece)
        bench.wait(minutes=1)
    return bench


def spray(bench: JobBuilder, piece: str) -> None:
    for layer in bench.state.pieces[piece].layers:
        for _ in range(layer.plan.coats):
            bench.add(ev.CoatStarted, layer=layer.id).add(ev.CoatDone, layer=layer.id)


def grade(bench: JobBuilder, strip: str, code: str, method: Method = Method.PLAIN_TAPE) -> JobBuilder:
    return bench.add(ev.Graded, trial="t1", strip=strip, method=method, grade=code)


def shown(bench: JobBuilder, at: datetime | None = None) -> Board:
    return board(bench.state, bench.state.trials["t1"], at or bench.now)


def stand(bench: JobBuilder, strip: str, test: object = TAPE) -> Standing:
    cell = shown(bench).cell(Spot(strip, test))
    assert cell is not None
    return cell.standing


@pytest.fixture
def session(tmp_path: Path, clock: StillClock):
    def opened(bench: JobBuilder) -> Session:
        assert not list(faults(bench.job))
        path = tmp_path / "job.json"
        jobfile.save(path, bench.job)
        clock.at = bench.now
        session = Session(clock, load_tables(), Measures(tmp_path / "cache"))
        session.open(path)
        return session

    return opened


def cell(session: Session, strip: str, test: object = TAPE):
    state = session.current.state
    return board(state, state.trials["t1"], session.now()).cell(Spot(strip, test))


def log(session: Session, strip: str, entry: Entry, test: object = TAPE) -> str:
    act = gradeentry.grade_act(session, "t1", cell(session, strip, test), entry)
    session.apply(*act.drafts)
    return act.words


def grades(session: Session):
    return session.current.state.trials["t1"].grades


# --- how a cell stands -----------------------------------------------------------------------------------


def test_rows_are_the_strips_as_they_lie_and_columns_the_planned_tests() -> None:
    told = shown(sprayed(each=3))
    assert [r.number for r in told.rows] == list(range(1, 13))
    assert [r.name for r in told.rows][:2] == ["Strip 1", "Strip 2"]
    assert told.tests == ((Method.PLAIN_TAPE, ()), (Method.STICK, ()), (Method.NAIL, ()))


def test_a_strip_without_its_paint_rests_and_gets_ready_to_the_second() -> None:
    bench = JobBuilder().plan_trial(FOUR)
    assert stand(bench, "t1-4") is Standing.UNPAINTED
    spray(bench, "t1-4")
    told = shown(bench)
    assert told.cell(Spot("t1-4", TAPE)).standing is Standing.RESTS
    assert told.next_edge == bench.now + hours(24)  # the trial's rest; the colour's tape time is shorter
    bench.at(told.next_edge - timedelta(seconds=1))
    assert stand(bench, "t1-4") is Standing.RESTS
    bench.at(told.next_edge)
    assert stand(bench, "t1-4") is Standing.READY


def test_tape_goes_through_its_window_and_is_called_out_first() -> None:
    bench = sprayed(methods=(Method.D3359_B,), name="T").wait(hours=30)
    spot = Spot("t1-3", (Method.D3359_B, ()))
    bench.add(ev.TapePressed, trial="t1", strip="t1-3", method=Method.D3359_B)
    pressed = bench.now
    trial = bench.state.trials["t1"]

    def at(seconds: float):
        now = pressed + timedelta(seconds=seconds)
        one = shown(bench, now).cell(spot)
        return one, numerals(one, now), cell_words(one, trial, now), one.pulls(now)

    assert at(0)[1:] == ("1:00", "The tape is on: leave it, then pull it within 1:00.", False)
    assert at(60)[1:] == ("1:00", "Pull the tape now, then write the grade.", True)
    assert at(61)[1] == "0:59"
    one, numbers, words, pulls = at(121)
    assert (numbers, pulls) == ("Late", True)
    assert "note that it was late" in words
    assert cell_short(one, pressed + timedelta(seconds=121)) == ("pull", "late")
    # The tape to pull comes before any strip that is only ready.
    assert next_spot(shown(bench, pressed + timedelta(seconds=61)), Spot("t1-1", spot.test), pressed) is not None
    now = pressed + timedelta(seconds=61)
    assert next_spot(shown(bench, now), Spot("t1-1", spot.test), now) == spot
    assert next_spot(shown(bench), Spot("t1-1", spot.test), bench.now).strip == "t1-2"


def test_a_tape_that_was_pulled_late_is_marked_and_one_in_time_is_not() -> None:
    bench = sprayed(methods=(Method.D3359_B,), name="T").wait(hours=30)
    test = (Method.D3359_B, ())
    for strip, stays in (("t1-1", 120), ("t1-2", 121), ("t1-3", None)):
        if stays is not None:
            bench.add(ev.TapePressed, trial="t1", strip=strip, method=Method.D3359_B).wait(seconds=stays)
        grade(bench, strip, "2B", Method.D3359_B)
    cells = [shown(bench).cell(Spot(f"t1-{n}", test)) for n in (1, 2, 3)]
    assert [cell_short(c, bench.now) for c in cells] == [("2B", ""), ("2B", "tape late"), ("2B", "")]
    assert "pulled late" in cell_words(cells[1], bench.state.trials["t1"], bench.now)
    grade(bench.wait(hours=1), "t1-1", "3B", Method.D3359_B)  # put right later: that tape was off in time
    assert not shown(bench).cell(Spot("t1-1", test)).late


def test_all_is_graded_only_where_every_grade_counts() -> None:
    bench = sprayed(methods=(Method.STICK,), name="T").wait(hours=1)
    for n in range(1, 5):
        grade(bench, f"t1-{n}", "5", Method.STICK)
    trial = bench.state.trials["t1"]
    assert "Nothing is to grade before" in stands_words(shown(bench), trial, bench.now).words
    bench.wait(hours=30)
    assert stands_words(shown(bench), trial, bench.now).words == ""
    bench.add(ev.TrialEnded, trial="t1")
    told = stands_words(shown(bench), bench.state.trials["t1"], bench.now)
    assert told.words == "All that can still be graded is graded."


def test_a_grade_on_a_strip_without_all_its_paint_leaves_it_to_the_run() -> None:
    bench = JobBuilder().plan_trial(FOUR, methods=(Method.STICK,), name="T")
    for n in range(1, 5):
        bench.coat(bench.state.pieces[f"t1-{n}"].layers[0].id, mix=None)
        grade(bench, f"t1-{n}", "5", Method.STICK)
    trial = bench.state.trials["t1"]
    unfinished = [c for c in shown(bench).cells() if c.early]
    assert len(unfinished) >= 3
    assert stands_words(shown(bench), trial, bench.now).stage != "compare"


def test_what_was_aged_since_can_not_be_made_up_and_what_is_ahead_shows_when_it_is_reached() -> None:
    bench = sprayed(methods=(Method.PLAIN_TAPE, Method.STICK), ageing=(WATER,), name="T").wait(hours=30)
    grade(bench, "t1-1", "5")
    assert shown(bench).tests == (TAPE, STICK)  # nothing has been in water yet
    wet = (Method.PLAIN_TAPE, (AgeingKind.WATER,))
    bench.add(ev.AgeingBegun, trial="t1", strips=("t1-1", "t1-2"), ageing=WATER)
    assert stand(bench, "t1-1") is Standing.GRADED
    assert stand(bench, "t1-2") is Standing.PAST
    assert stand(bench, "t1-2", wet) is Standing.AGEING
    assert stand(bench, "t1-3") is Standing.READY
    assert stand(bench, "t1-3", wet) is Standing.AHEAD
    bench.wait(hours=24).add(OUT, strips=("t1-1", "t1-2"))
    assert stand(bench, "t1-2") is Standing.PAST
    assert stand(bench, "t1-2", wet) is Standing.RESTS
    bench.wait(hours=2)
    assert stand(bench, "t1-2", wet) is Standing.READY


def test_an_early_grade_is_flagged_for_good_and_a_newer_one_takes_its_place() -> None:
    bench = sprayed().wait(hours=1)
    grade(bench, "t1-1", "5")
    one = shown(bench).cell(Spot("t1-1", TAPE))
    assert one.early
    assert one.rested is Rested.EARLY
    assert "proves nothing yet" in cell_words(one, bench.state.trials["t1"], bench.now)
    bench.wait(hours=30)
    assert shown(bench).cell(Spot("t1-1", TAPE)).early
    grade(bench, "t1-1", "4")
    one = shown(bench).cell(Spot("t1-1", TAPE))
    assert (one.early, one.given, one.grade.given.grade) == (False, 2, "4")


def test_next_goes_down_the_strips_then_to_the_next_test_then_to_what_is_ready_first() -> None:
    bench = sprayed().wait(hours=30)
    assert next_spot(shown(bench), None, bench.now) == Spot("t1-1", TAPE)
    assert next_spot(shown(bench), Spot("t1-2", TAPE), bench.now) == Spot("t1-3", TAPE)
    for n in (3, 4):
        grade(bench, f"t1-{n}", "5")
    assert next_spot(shown(bench), Spot("t1-4", TAPE), bench.now) == Spot("t1-1", TAPE)
    for n in (1, 2):
        grade(bench, f"t1-{n}", "5")
    assert next_spot(shown(bench), Spot("t1-2", TAPE), bench.now) == Spot("t1-1", STICK)
    resting = sprayed()
    assert next_spot(shown(resting), None, resting.now) == Spot("t1-1", TAPE)
    for n in (1, 2, 3, 4):
        for method in (Method.PLAIN_TAPE, Method.STICK, Method.NAIL):
            grade(bench, f"t1-{n}", "5", method)
    assert next_spot(shown(bench), Spot("t1-1", TAPE), bench.now) is None
    assert stands_words(shown(bench), bench.state.trials["t1"], bench.now).stage == "compare"


def test_with_ageing_ahead_the_run_comes_next_and_strips_put_away_are_waited_for_no_more() -> None:
    bench = sprayed(methods=(Method.STICK,), ageing=(WATER,), name="T").wait(hours=30)
    assert stands_words(shown(bench), bench.state.trials["t1"], bench.now).words == ""
    for n in range(1, 5):
        grade(bench, f"t1-{n}", "5", Method.STICK)
    assert stands_words(shown(bench), bench.state.trials["t1"], bench.now).stage == "run"
    bench.add(ev.TrialEnded, trial="t1")
    assert stands_words(shown(bench), bench.state.trials["t1"], bench.now).stage == "compare"
    other = sprayed().wait(hours=30).add(ev.TrialEnded, trial="t1")
    assert stand(other, "t1-1") is Standing.AWAY
    assert next_spot(shown(other), None, other.now) is None


@given(st.lists(st.tuples(st.integers(1, 4), st.integers(0, 5), st.floats(0, 40)), max_size=12))
def test_nothing_changes_between_two_edges(acts: list[tuple[int, int, float]]) -> None:
    bench = sprayed()
    for strip, step, wait in acts:
        bench.wait(hours=round(wait, 2))
        grade(bench, f"t1-{strip}", str(step))
    told = shown(bench)
    later = min(told.next_edge, bench.now + hours(1_000)) - timedelta(microseconds=1)
    if later > bench.now:
        assert shown(bench, later) == told
    edge = told.next_edge
    if edge < bench.now + hours(1_000):
        assert shown(bench, edge) != told


# --- how it is done --------------------------------------------------------------------------------------


def test_the_film_is_what_was_measured_else_what_the_cards_say_else_unknown() -> None:
    bench = sprayed()
    assert gradeentry.film_of(bench.state.pieces["t1-4"]) is None  # the colour's card gives none
    thick = replace(COLOUR, film_um=20.0)
    bench = JobBuilder().plan_trial({"A": [thick], "None": [thick]})
    spray(bench, "t1-1")
    coats = len(bench.state.pieces["t1-1"].layers[0].coats)
    film = gradeentry.film_of(bench.state.pieces["t1-1"])
    assert (film.um, film.measured) == (20.0 * coats, False)
    bench.film(70.0, "t1-1-a")
    film = gradeentry.film_of(bench.state.pieces["t1-1"])
    assert film.um == 70.0 + 20.0 * (coats - 1)
    assert gradeentry.film_of(bench.state.pieces["t1-2"]) is None  # nothing is on


@pytest.mark.parametrize(
    ("substrate", "flex", "hard"),
    [
        ("aluminium", "rigid", True), ("glass", "rigid", True), ("abs", "rigid", True), ("abs", "flexible", False),
        ("unknown", "rigid", None),
    ],
)  # fmt: skip
def test_metal_glass_and_stiff_plastic_are_hard_and_what_bends_is_soft(substrate, flex, hard) -> None:
    """ISO 2409:2020, clause 1, for metal (hard), wood and plaster (soft); the rest is a judgement."""
    bench = JobBuilder().plan_trial(FOUR, substrate=substrate, flex=flex)
    assert gradeentry.is_hard(bench.state.pieces["t1-1"].piece, bench.tables) is hard
    wood = next(k for k, s in bench.tables.substrates.items() if s.material.value == "wood")
    soft = JobBuilder().plan_trial(FOUR, substrate=wood)
    assert gradeentry.is_hard(soft.state.pieces["t1-1"].piece, soft.tables) is False


def test_the_instructions_take_film_and_substrate() -> None:
    thick = replace(COLOUR, film_um=40.0)
    bench = JobBuilder().plan_trial({"A": [thick], "None": [thick]}, substrate="aluminium")
    spray(bench, "t1-1")
    coats = len(bench.state.pieces["t1-1"].layers[0].coats)
    lines, film = gradeentry.told(Method.ISO_2409, bench.state.pieces["t1-1"], bench.tables)
    assert lines.spacing_mm == (1.0 if 40 * coats <= 60 else 2.0)
    assert film == f"The film is {40 * coats} µm, by the cards."
    lines, film = gradeentry.told(Method.STICK, bench.state.pieces["t1-1"], bench.tables)
    assert film == ""


def test_places_are_those_of_the_strip_s_own_stack_from_the_tape_down() -> None:
    state = sprayed().state
    found = gradeentry.places(state, state.pieces["t1-1"])
    assert [(p.place, p.layer, p.over, p.letters) for p in found] == [
        (FailurePlace.TAPE, None, None, "Y"),
        (FailurePlace.LAYER, "t1-1-b", None, "C"),
        (FailurePlace.BETWEEN, "t1-1-a", "t1-1-b", "B/C"),
        (FailurePlace.LAYER, "t1-1-a", None, "B"),
        (FailurePlace.SUBSTRATE, "t1-1-a", None, "A/B"),
        (FailurePlace.IN_SUBSTRATE, None, None, "A"),
    ]  # ASTM D4541-17 8.3.1: A the substrate, B, C ... the coats from the first, Y the glue
    assert found[2].layers == "Base colour off Two-part promoter"
    blind = gradeentry.places(state, state.pieces["t1-1"], blind=True)
    assert [p.key for p in blind] == [p.key for p in found]
    assert not any("romoter" in p.words + p.layers for p in blind)
    assert FailurePlace.TAPE not in [p.place for p in gradeentry.places(state, state.pieces["t1-1"], Method.STICK)]


@pytest.mark.parametrize(
    ("method", "code", "off"),
    [
        (Method.ISO_2409, "0", False), (Method.ISO_2409, "1", True), (Method.D3359_B, "5B", False),
        (Method.D3359_A, "4A", True), (Method.PLAIN_TAPE, "5", False), (Method.PLAIN_TAPE, "4", True),
        (Method.STICK, "3", False), (Method.STICK, "2", True), (Method.NAIL, "3", False), (Method.NAIL, "2", True),
        (Method.PENCIL_ISO, "9B", False), (Method.PENCIL_GOUGE, "below 6B", False),
    ],
)  # fmt: skip
def test_where_it_let_go_is_asked_only_where_the_words_say_that_something_came_off(method, code, off) -> None:
    assert gradeentry.came_off(method, code) is off


# --- what is typed ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("", None), ("  ", None), ("12", (12.0, None)), ("12 %", (12.0, None)), ("12 ± 2", (12.0, 2.0)),
        ("12±2%", (12.0, 2.0)), ("12 +- 2 %", (12.0, 2.0)), ("12,5 +/- 1", (12.5, 1.0)), ("0", (0.0, None)),
    ],
)  # fmt: skip
def test_a_percentage_is_read_with_what_it_may_be_off_by(typed, read) -> None:
    assert gradeentry.read_percent(typed) == read


@pytest.mark.parametrize("typed", ["-1", "101", "many", "12 ± 2 ± 3", "12 mm", "±2", "12 ± ", "nan", "1e999"])
def test_no_percentage_is_refused_in_one_sentence(typed) -> None:
    with pytest.raises(Refused) as refused:
        gradeentry.read_percent(typed)
    assert refused.value.field == "percent"
    assert "\n" not in str(refused.value)
    assert str(refused.value).endswith(".")


@given(st.floats(0, 100).map(lambda x: round(x, 1)), st.floats(0, 30).map(lambda x: round(x, 1)))
def test_the_percentage_offers_a_class_or_asks_to_choose(percent: float, off: float) -> None:
    typed = f"{percent} ± {off}"
    offered = gradeentry.candidates(Method.D3359_B, typed)
    assert offered
    if len(offered) == 1:
        assert gradeentry.grade_of(Method.D3359_B, Entry(percent=typed)) == offered[0]
    else:
        with pytest.raises(Refused, match="choose"):
            gradeentry.grade_of(Method.D3359_B, Entry(percent=typed))
    for code in offered:
        assert gradeentry.grade_of(Method.D3359_B, Entry(grade=code, percent=typed)) == code
        assert gradeentry.choose_words(offered, code) == ""


# --- the acts --------------------------------------------------------------------------------------------


def test_a_grade_is_logged_with_its_place_percent_and_note(session) -> None:
    s = session(sprayed(methods=(Method.ISO_2409,), name="T").wait(hours=30))
    test = (Method.ISO_2409, ())
    entry = Entry(grade="class 2", percent="12 ± 2", place="under-2", note="  at the rim ")
    assert log(s, "t1-1", entry, test) == "Strip 1, Cross-cut, ISO 2409: 2."
    given_ = grades(s)[0].given
    assert (given_.grade, given_.removed_percent, given_.plus_minus, given_.note) == ("2", 12.0, 2.0, "at the rim")
    assert (given_.place, given_.layer, given_.over) == (FailurePlace.BETWEEN, "t1-1-a", "t1-1-b")
    read = jobfile.load(s.current.path).job
    assert fold(read).trials["t1"].grades[0].given == given_


def test_where_nothing_came_off_no_place_is_kept_that_was_picked_for_another_grade(session) -> None:
    s = session(sprayed().wait(hours=30))
    log(s, "t1-1", Entry(grade="5", place="under-2"))
    assert grades(s)[0].given.place is FailurePlace.NOTHING
    assert grades(s)[0].given.layer is None


@pytest.mark.parametrize("typed", ["", "7", "4.5", "4B", "good"])
def test_a_wrong_grade_is_refused_and_nothing_is_written(session, typed) -> None:
    s = session(sprayed().wait(hours=30))
    before = s.current.job
    with pytest.raises(Refused) as refused:
        log(s, "t1-1", Entry(grade=typed))
    assert refused.value.field == "grade"
    assert s.current.job is before


def test_a_grade_before_the_rest_ended_is_kept_and_flagged_and_undone_like_any_act(session) -> None:
    s = session(sprayed().wait(hours=19))
    words = log(s, "t1-1", Entry(grade="5"))
    assert words.startswith("Strip 1, Plain tape, no cuts: 5. Kept, and flagged: that is 4 h 56 min before its rest")
    assert words.endswith("so it proves nothing yet.")
    assert cell(s, "t1-1").early
    s.undo()
    assert grades(s) == []
    assert cell(s, "t1-1").standing is Standing.RESTS


def test_a_corrected_grade_leaves_both_in_the_record(session) -> None:
    s = session(sprayed().wait(hours=30))
    log(s, "t1-1", Entry(grade="5"))
    s.clock.go(minutes=1)
    assert "takes the place of 5; both stay" in log(s, "t1-1", Entry(grade="4"))
    assert [g.given.grade for g in grades(s)] == ["5", "4"]
    assert cell(s, "t1-1").grade.given.grade == "4"
    s.undo()
    assert cell(s, "t1-1").grade.given.grade == "5"


def test_a_slip_found_after_the_water_is_put_right_for_the_test_it_was_made_in(session) -> None:
    bench = sprayed(ageing=(WATER,), name="T").wait(hours=30)
    grade(bench, "t1-1", "5").wait(hours=1)
    bench.add(ev.AgeingBegun, trial="t1", strips=("t1-1",), ageing=WATER).wait(hours=24)
    bench.add(OUT, strips=("t1-1",)).wait(hours=3)
    s = session(bench)
    log(s, "t1-1", Entry(grade="3", place="substrate"))
    assert cell(s, "t1-1").grade.given.grade == "3"
    assert cell(s, "t1-1", (Method.PLAIN_TAPE, (AgeingKind.WATER,))).standing is Standing.READY
    assert not list(faults(s.current.job))
    s.undo()
    assert cell(s, "t1-1").grade.given.grade == "5"
    assert [g.given.grade for g in grades(s)] == ["5"]


def test_what_was_missed_before_the_water_is_not_taken_for_a_test_after_it(session) -> None:
    bench = sprayed(ageing=(WATER,), name="T").wait(hours=30)
    bench.add(ev.AgeingBegun, trial="t1", strips=("t1-1",), ageing=WATER).wait(hours=24)
    s = session(bench)
    with pytest.raises(NotNow, match="end that first"):
        log(s, "t1-1", Entry(grade="3"), (Method.PLAIN_TAPE, (AgeingKind.WATER,)))
    assert "Kept, and flagged" in log(s, "t1-1", Entry(grade="5"), STICK)  # it lies in the water still
    s.apply(partial(OUT, strips=("t1-1",)))
    with pytest.raises(NotNow, match="aged since"):
        log(s, "t1-1", Entry(grade="3"))
    with pytest.raises(NotNow, match="aged since"):
        gradeentry.press_tape(s, "t1", Spot("t1-1", TAPE))
    assert [g.given.method for g in grades(s)] == [Method.STICK]


def test_tape_is_logged_only_for_a_test_that_takes_tape_and_a_trial_that_is_there(session) -> None:
    s = session(sprayed(methods=(Method.D3359_B, Method.STICK), name="T").wait(hours=30))
    act = gradeentry.press_tape(s, "t1", Spot("t1-1", (Method.D3359_B, ())))
    s.apply(*act.drafts)
    assert cell(s, "t1-1", (Method.D3359_B, ())).standing is Standing.TAPE_ON
    with pytest.raises(NotNow, match="no tape"):
        gradeentry.press_tape(s, "t1", Spot("t1-1", STICK))
    with pytest.raises(NotNow, match="taken back"):
        gradeentry.press_tape(s, "t9", Spot("t1-1", TAPE))


def test_what_is_in_the_record_comes_back_as_typed(session) -> None:
    s = session(sprayed(methods=(Method.ISO_2409,), name="T").wait(hours=30))
    test = (Method.ISO_2409, ())
    entry = Entry(grade="2", percent="12 ± 2", place="substrate", note="rim")
    log(s, "t1-1", entry, test)
    state = s.current.state
    assert gradeentry.entry_of(cell(s, "t1-1", test), state, state.pieces["t1-1"]) == entry


def test_a_read_only_job_says_so(session) -> None:
    s = session(sprayed().wait(hours=30))
    s.current.read_only = "Somebody else has it open."
    with pytest.raises(NotNow, match="Somebody else"):
        log(s, "t1-1", Entry(grade="5"))
