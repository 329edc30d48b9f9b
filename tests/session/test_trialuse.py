"""The chosen system becomes the stack of a piece in one act, and what was planned over it stays."""

from functools import partial

import pytest
from builders import CLEAR, COLOUR, METALLIC, ONE_PART_PROMOTER, PROMOTER, JobBuilder
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import examples
from trialbuilder import FINE, judged, lot, planned, prepared, rested, sprayed, tried

from benchtool.job import events as ev
from benchtool.job.cards import Gun
from benchtool.job.trialproof import proof_of
from benchtool.job.validate import faults
from benchtool.rules.engine import every
from benchtool.session import trialuse
from benchtool.session.session import NotNow, Session
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.trade.quantities import Measures


@pytest.fixture
def opened(clock, tmp_path):
    made = []

    def open_(bench: JobBuilder) -> Session:
        session = Session(clock, load_tables(), Measures())
        clock.at = max(clock.at, bench.now)
        path = tmp_path / f"job-{len(made)}.json"
        jobfile.save(path, bench.job)
        session.open(path)
        made.append(session)
        return session

    yield open_
    for session in made:
        session.close_all()


def with_stack(*cards, **plan) -> JobBuilder:
    """A tried shell that has other layers planned."""
    bench = JobBuilder().card(PROMOTER, COLOUR, *cards).piece("shell", "unknown", known="unknown")
    for i, card in enumerate(cards):
        bench.layer(f"own-{i}", card)
    planned(bench, piece="shell", **plan)
    return judged(rested(sprayed(prepared(bench))), FINE)


def stack(session: Session) -> list[tuple[str, int]]:
    return [(x.plan.card, x.plan.coats) for x in session.writable().state.pieces["shell"].layers]


def test_one_act_links_the_piece_to_the_trial_and_satisfies_the_rule(opened) -> None:
    session = opened(with_stack(COLOUR))
    assert "promoter.unknown-untried" in {f.rule for f in session.findings()}
    before = session.writable().job
    session.apply(*trialuse.choose(session, "t1", "a", "shell"))
    assert list(faults(session.writable().job)) == []
    assert stack(session) == [(PROMOTER.id, 2), (COLOUR.id, 1)]
    assert "promoter.unknown-untried" not in {f.rule for f in session.findings()}
    piece = session.writable().state.pieces["shell"]
    assert piece.chosen[-1].trial == "t1"
    assert piece.layers[0].plan.activator == "rigid"
    session.undo()
    assert stack(session) == [(COLOUR.id, 1)]
    assert session.writable().job.events[: len(before.events)] == before.events
    assert session.writable().state.pieces["shell"].chosen == []


def test_a_coat_without_the_prep_of_the_strips_is_held_up_and_one_with_it_is_not(opened) -> None:
    session = opened(with_stack(COLOUR))
    session.apply(*trialuse.choose(session, "t1", "a", "shell"))

    def stops() -> set[str]:
        layer = session.writable().state.pieces["shell"].layers[0]
        return {f.rule for f in every(session.hindrances(layer)) if f.rule.startswith("promoter.")}

    assert stops() == {"promoter.unknown-untried"}
    for step in (ev.Prep.RELEASE_WASH, ev.Prep.DEGREASE):
        session.apply(partial(ev.PrepDone, piece="shell", step=step))
    assert stops() == set()


def test_what_was_planned_over_it_stays_and_its_own_promoter_goes(opened) -> None:
    session = opened(with_stack(ONE_PART_PROMOTER, COLOUR, CLEAR))
    made = trialuse.choice(session, "t1", "a", "shell")
    session.apply(*made.drafts)
    assert [card for card, _ in stack(session)] == [PROMOTER.id, COLOUR.id, CLEAR.id]
    assert made.words == (
        "Two-part is now the stack of Shell: 2 layers as on the strips. "
        "What was planned over it stays on top: Two-part clear."
    )
    assert proof_of(session.writable().state, session.writable().state.pieces["shell"]).holds


def test_with_nothing_in_common_all_but_the_undercoats_stays(opened) -> None:
    session = opened(with_stack(ONE_PART_PROMOTER, METALLIC, CLEAR))
    session.apply(*trialuse.choose(session, "t1", "a", "shell"))
    assert [card for card, _ in stack(session)] == [PROMOTER.id, COLOUR.id, METALLIC.id, CLEAR.id]


def test_a_layer_of_the_same_product_keeps_its_colour_and_name_and_takes_the_rest(opened) -> None:
    bench = with_stack(COLOUR)
    bench.change_layer("own-0", colour="#aa0000", name="Red", coats=4)
    bench.change_layer("t1-1-b", coats=2, gun=Gun.MINI)
    session = opened(bench)
    session.apply(*trialuse.choose(session, "t1", "a", "shell"))
    last = session.writable().state.pieces["shell"].layers[-1]
    assert (last.id, last.plan.name, last.plan.colour) == ("own-0", "Red", "#aa0000")
    assert (last.plan.coats, last.plan.gun) == (2, Gun.MINI)


def test_choosing_again_what_is_there_changes_no_layer(opened) -> None:
    session = opened(with_stack(COLOUR))
    session.apply(*trialuse.choose(session, "t1", "a", "shell"))
    kinds = [d.func for d in trialuse.choose(session, "t1", "a", "shell")]
    assert kinds == [ev.SystemChosen]


def test_the_lot_is_taken_over_where_the_trial_is_for_this_piece(opened) -> None:
    session = opened(with_stack(COLOUR, batch="Sheet 3"))
    session.apply(*trialuse.choose(session, "t1", "a", "shell"))
    assert session.writable().state.pieces["shell"].piece.batch == "Sheet 3"


@pytest.mark.parametrize(("own", "its"), [(True, "Sheet 4"), (False, "")])
def test_the_lot_that_was_written_down_stays_and_no_other_piece_gets_one(opened, own: bool, its: str) -> None:
    bench = tried(own=own, batch="Sheet 3")
    session = opened(lot(bench, "shell", its) if its else bench)
    session.apply(*trialuse.choose(session, "t1", "a", "shell"))
    assert session.writable().state.pieces["shell"].piece.batch == its


def test_a_piece_with_paint_on_keeps_its_stack(opened) -> None:
    session = opened(with_stack(COLOUR).start("own-0", mix=None))
    with pytest.raises(NotNow, match="Shell has paint on: its stack stays as it is"):
        trialuse.choose(session, "t1", "a", "shell")


def test_a_cup_that_stands_ready_is_not_left_without_its_layer(opened) -> None:
    session = opened(with_stack(ONE_PART_PROMOTER, COLOUR).mix("own-0"))
    with pytest.raises(NotNow, match="A cup of One-part promoter stands ready"):
        trialuse.choose(session, "t1", "a", "shell")
    other = opened(with_stack(ONE_PART_PROMOTER, COLOUR).mix("own-1"))
    other.apply(*trialuse.choose(other, "t1", "a", "shell"))
    layer = other.writable().state.pieces["shell"].layers[-1]
    assert other.writable().state.mix_for(layer) is not None


@pytest.mark.parametrize(
    ("trial", "system", "piece"), [("t9", "a", "shell"), ("t1", "z", "shell"), ("t1", "a", "x"), ("t1", "a", "t1-1")]
)
def test_what_is_gone_or_is_a_strip_is_refused(opened, trial: str, system: str, piece: str) -> None:
    session = opened(tried())
    with pytest.raises(NotNow):
        trialuse.choose(session, trial, system, piece)


def test_it_says_what_it_proves_now(opened) -> None:
    session = opened(with_stack(COLOUR))
    assert trialuse.proof_words(session, "shell") == ""
    session.apply(*trialuse.choose(session, "t1", "a", "shell"))
    assert trialuse.proof_words(session, "shell") == (
        "The trial speaks for Shell, for this lot of the material and this prep. Before paint it still takes the prep "
        "that the strips had: the findings say which."
    )
    session.apply(partial(ev.LayerRemoved, layer="own-0"))
    assert trialuse.proof_words(session, "shell") == (
        "The trial does not speak for Shell. Base colour was on the strips, and is not planned on Shell."
    )
    session.clock.go(hours=1)
    session.apply(partial(ev.TrialRecorded, piece="shell", held=True, cards=()))
    assert trialuse.proof_words(session, "shell") == (
        "A strip was logged for Shell after the trial, and it held: that counts."
    )


CARDS = st.lists(st.sampled_from([PROMOTER, ONE_PART_PROMOTER, COLOUR, CLEAR, METALLIC]), max_size=6)


@examples(40)
@given(own=CARDS, system=st.sampled_from("abc"))
def test_the_stack_of_the_system_is_always_the_beginning_and_no_other_layer_gets_lost_in_between(
    tmp_path_factory, own, system
) -> None:
    from conftest import StillClock

    bench = JobBuilder().card(PROMOTER, COLOUR, *own).piece("shell", "unknown", known="unknown")
    for i, card in enumerate(own):
        bench.layer(f"own-{i}", card)
    planned(bench, piece="shell")
    session = Session(StillClock(bench.now), load_tables(), Measures())
    path = tmp_path_factory.mktemp("use") / "job.json"
    jobfile.save(path, bench.job)
    session.open(path)
    try:
        session.apply(*trialuse.choose(session, "t1", system, "shell"))
        state = session.writable().state
        assert list(faults(session.writable().job)) == []
        trial = state.trials["t1"]
        strip = state.pieces[trial.strips_of(system)[0].piece]
        wanted = [replace(x.plan, id="", name=None, colour=None) for x in strip.layers]
        layers = state.pieces["shell"].layers
        assert [replace(x.plan, id="", name=None, colour=None) for x in layers[: len(wanted)]] == wanted
        over = [x.id for x in layers[len(wanted) :]]
        assert over == [f"own-{i}" for i in range(len(own)) if f"own-{i}" in over]
    finally:
        session.close_all()
