"""What the window and the command show of the prep plan, by the trade's real tables."""

from datetime import timedelta

import pytest
from builders import CLEAR, COLOUR, PROMOTER, JobBuilder

from benchtool.job import events as ev
from benchtool.job.events import Face, Prep
from benchtool.job.prepplan import Part, Standing, next_of, prep_plan
from benchtool.job.stack import PieceState
from benchtool.session import prepping
from benchtool.session.session import Session
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.trade.substrates import Flex

TABLES = load_tables()


def state_of(bench):
    [piece] = bench.state.pieces.values()
    return piece


def bare(substrate, face="outside"):
    return JobBuilder().card(PROMOTER, COLOUR, CLEAR).piece(substrate=substrate, face=face)


def plan(bench):
    return prepping.plan_of(bench.state, state_of(bench), TABLES, bench.now)


@pytest.fixture
def session(tmp_path, clock):
    session = Session(clock, TABLES, None)
    yield session
    session.close_all()


def opened(session, bench, tmp_path):
    path = tmp_path / "job.json"
    jobfile.save(path, bench.job)
    session.open(path)
    return session


@pytest.mark.parametrize("face", list(Face))
@pytest.mark.parametrize("substrate", sorted(TABLES.substrates))
def test_every_material_of_the_table_has_a_plan_that_harms_nothing(substrate, face):
    told = ev.Piece(id="p", name="Part", substrate=substrate, known=ev.Known.TOLD, flex=Flex.RIGID, face=face)
    material = TABLES.substrates[substrate]
    planned = prep_plan(PieceState(told), material, None, cleaners=TABLES.cleaners)
    assert next_of(planned).part is Part.WASH
    for step in planned:
        assert step.reason
        assert step.source
        assert "[" not in step.source  # the short names of sources in the table are spelled out
        assert step.agent is None or (step.agent in material.safe and step.agent not in material.harmful)
        assert step.agent is None or step.agent in TABLES.cleaners
    assert all(s.step is not Prep.ABRADE or s.state is Standing.NOT_HERE for s in planned) or face is Face.OUTSIDE


def test_a_bare_piece_is_planned_by_its_material_and_a_painted_one_by_its_layer():
    bench = bare("steel").layer("base", COLOUR, 1).layer("clear", CLEAR, activator="slow")
    assert next_of(plan(bench)).part is Part.WASH
    bench.mix("base").coat("base").wait(hours=30)
    assert next_of(plan(bench)).part is Part.DEGREASE  # handled for a day: clean before you abrade
    assert "Base colour" in next_of(plan(bench)).words


def test_the_first_layer_is_named_in_the_plan():
    bench = bare("pp").layer("promoter", PROMOTER, activator="rigid")
    [step] = [s for s in plan(bench) if s.part is Part.PROMOTE]
    assert PROMOTER.name in step.words


def test_logging_as_planned_keeps_the_cleaner_and_the_finest_grade():
    bench = bare("steel")
    told = {p: prepping.logged("panel", p, plan(bench)) for p in Prep}
    assert told[Prep.DEGREASE].agent == "degreaser-solvent"
    assert told[Prep.ABRADE].grit == TABLES.substrates["steel"].grit[1]
    assert told[Prep.MASK] == prepping.Logged(piece="panel", step=Prep.MASK)
    assert told[Prep.RELEASE_WASH].agent is None  # not in the plan of steel


def test_the_next_step_can_be_logged_by_one_act(session, tmp_path):
    opened(session, bare("steel"), tmp_path)
    steps = []
    while (draft := prepping.next_prep(session)) is not None:
        session.apply(draft)
        steps.append(session.piece.steps[-1])
    assert [s.step for s in steps] == [Prep.WASH, Prep.DEGREASE, Prep.ABRADE, Prep.DEGREASE]
    assert steps[1].agent == "degreaser-solvent"
    assert steps[2].grit == TABLES.substrates["steel"].grit[1]
    # how a water-break test went (ASTM F22) is never logged blindly
    assert prepping.next_prep_step(session).part is Part.WATER_BREAK
    assert "rinse it" in prepping.follows(session)
    session.undo()
    assert prepping.next_prep_step(session).part is Part.DEGREASE_AGAIN


def test_nothing_is_next_without_a_piece(session):
    assert prepping.next_prep(session) is None
    assert prepping.plan_in_hand(session) == ()
    assert prepping.follows(session) == ""


def test_a_trial_is_never_logged_by_the_key_for_the_next_step(session, tmp_path):
    opened(session, bare("unknown").prep("wash", "mould-release wash", "degrease"), tmp_path)
    assert prepping.next_prep_step(session).part is Part.TRIAL
    assert prepping.next_prep(session) is None
    with pytest.raises(ValueError, match="trial"):
        prepping.draft_of("panel", prepping.next_prep_step(session))


def test_the_end_of_a_plan_is_told(session, tmp_path):
    opened(session, bare("abs").prep("wash", "mould-release wash", "degrease", "abrade", "degrease", "tack"), tmp_path)
    assert prepping.follows(session) == "That is all of its prep plan."


@pytest.mark.parametrize("substrate", ["steel", "pc", "unknown", "paint-enamel", "wood-solid", "pa"])
@pytest.mark.parametrize("done", [(), ("wash", "degrease"), ("degrease", "abrade", "degrease", "mask", "tack")])
def test_every_step_can_be_logged_the_next_one_first(substrate, done):
    told = prepping.offer(plan(bare(substrate).prep(*done)))
    assert {*told.first, *told.others} == set(Prep)
    assert len(told.first) + len(told.others) == len(Prep)
    assert len(told.first) <= prepping.FIRST_BUTTONS
    assert len(told.others) <= 9
    if told.next is not None and told.next.step is not None:
        assert told.first[0] is told.next.step


@pytest.mark.parametrize("substrate", ["steel", "pc", "unknown", "paint-unknown", "wood-solid", "pa"])
def test_a_log_leaves_the_other_answers_about_where_they_are(substrate):
    """What is next stands first; every other answer stays in the order of the plan, whatever is done."""
    bench = bare(substrate)
    order = None
    for _ in range(12):
        told = prepping.offer(plan(bench))
        rest = [p for p in told.first if told.next is None or p is not told.next.step]
        if order is None:
            order = [s.step for s in told.plan if s.step is not None and s.state is not Standing.NOT_HERE]
            order = list(dict.fromkeys(order))
        assert rest == [p for p in order if p in rest]
        if told.next is None or told.next.step is None:
            break
        bench.add(ev.PrepDone, piece="panel", step=told.next.step, passed=True)
        again = prepping.offer(plan(bench))
        moved = {told.next.step, again.next.step if again.next is not None else None}
        still = [(i, again.first.index(p)) for i, p in enumerate(told.first) if p in again.first and p not in moved]
        assert all(abs(before - after) <= 1 for before, after in still)


def test_cleaners_are_offered_the_planned_and_safe_ones_first_and_all_of_them():
    piece = state_of(bare("pc"))
    told = prepping.cleanings(piece, Prep.DEGREASE, TABLES)
    assert told[0].id == "isopropanol"
    assert {c.id for c in told} == set(TABLES.cleaners)
    ranks = [2 if c.harms else 0 if c.safe else 1 for c in told[1:]]
    assert ranks == sorted(ranks)
    assert next(
        c for c in told if c.id == "acetone"
    ).harms  # polycarbonate crazes in acetone, as its makers' guides say


def test_harm_is_told_of_harmful_cleaners_only():
    piece = state_of(bare("pc"))
    assert "craze" in prepping.harm_words(piece, "acetone", TABLES)
    assert prepping.harm_words(piece, "isopropanol", TABLES) == ""
    assert prepping.harm_words(piece, None, TABLES) == ""


@pytest.mark.parametrize("grit", [None, (80, 180), (400, 600), (1000, 2000), (6, 10_000)])
def test_grades_stand_about_what_is_planned(grit):
    told = prepping.grades_near(grit)
    assert len(told) == prepping.FIRST_BUTTONS
    assert list(told) == sorted(set(told))
    if grit in ((80, 180), (400, 600)):
        assert set(grit) <= set(told)


def test_troubles_are_a_harmful_cleaner_a_scratched_shell_and_water_that_broke():
    def troubles(bench):
        return " ".join(prepping.troubles(state_of(bench), TABLES))

    crazed = bare("pc").add(ev.PrepDone, piece="panel", step=Prep.DEGREASE, agent="acetone")
    assert "craze" in troubles(crazed)
    assert "scratches show" in troubles(bare("pc", "behind clear").prep("scuff"))
    assert troubles(bare("pc").prep("scuff")) == ""
    broke = bare("steel").add(ev.PrepDone, piece="panel", step=Prep.WATER_BREAK, passed=False)
    assert "film broke" in troubles(broke)
    assert troubles(broke.add(ev.PrepDone, piece="panel", step=Prep.WATER_BREAK, passed=True)) == ""
    assert troubles(bare("pc").add(ev.PrepDone, piece="panel", step=Prep.WATER_BREAK, passed=False)) == ""


def test_another_piece_of_the_job_can_be_asked_about(session, tmp_path):
    bench = bare("steel").prep("wash").piece("plate", "aluminium")
    opened(session, bench, tmp_path)
    state = session.current.state
    assert prepping.next_prep_step(session, state.pieces["plate"], state).part is Part.WASH
    assert prepping.next_prep_step(session, state.pieces["panel"], state).part is Part.DEGREASE


def test_time_alone_asks_for_a_scuff(session, tmp_path, clock):
    bench = bare("steel").layer("base", COLOUR, 1).layer("clear", CLEAR, activator="slow").mix("base").coat("base")
    opened(session, bench, tmp_path)
    clock.at = bench.now + timedelta(minutes=30)
    assert prepping.next_prep_step(session).part is Part.TACK
    clock.at = bench.now + timedelta(hours=30)
    assert prepping.next_prep_step(session).part is Part.DEGREASE  # a day old: clean it first
    session.apply(prepping.draft_of("panel", prepping.next_prep_step(session)))
    assert prepping.next_prep_step(session).part is Part.SCUFF
