"""Setting up a trial: what is offered, where the strips lie, what it still wants, and the one act that writes it."""

from collections import Counter
from dataclasses import replace
from datetime import timedelta
from functools import partial
from random import Random

import msgspec
import pytest
from builders import ADHESIVE_CLEAR, CLEAR, COLOUR, ONE_PART_PROMOTER, PROMOTER
from hypothesis import given
from hypothesis import strategies as st
from strategies import examples
from trial_setting import BUMPER, FILMED, UGLY, session_of

from benchtool.job import events as ev
from benchtool.job.state import fold
from benchtool.job.validate import faults as job_faults
from benchtool.session import trialsetup as ts
from benchtool.session.cardreading import Wrong
from benchtool.session.planning import PieceText
from benchtool.session.session import NotNow
from benchtool.session.trialgrading import board
from benchtool.session.trialkinds import LABEL_COLOURS, with_promoter, without_hold
from benchtool.session.triallabels import labels_of
from benchtool.session.trialrun import next_acts
from benchtool.store import jobfile
from benchtool.trade.substrates import Flex


@pytest.fixture
def session(clock, tmp_path):
    made = session_of(clock, tmp_path)
    yield made
    made.close_all()


def state_of(session):
    return session.writable().state


def begun(session):
    return ts.begin(session, state_of(session).pieces["p1"])


def offered(session, setup, kind):
    return [o for o in ts.offers(session, setup) if o.kind is kind]


def three(session):
    """The piece's stack, the bare control, and the one-part promoter under the same paint."""
    setup = begun(session)
    other = offered(session, setup, ts.Ready.PROMOTER)[0]
    setup, _ = ts.add_system(session, setup, other.kind, other.card)
    return setup


def put(session, setup):
    session.apply(*ts.drafts(session, setup))
    assert list(job_faults(session.writable().job)) == []
    return list(state_of(session).trials.values())[-1]


def cards_of(setup):
    return [[r.card.id for r in c.rows] for c in setup.systems]


def fields(session, setup):
    return [field for field, _ in ts.faults(session, setup)]


# --- beginning ---------------------------------------------------------------------------------------


def test_a_trial_begins_with_the_piece_s_own_stack_and_the_same_without_the_promoter(session):
    setup = begun(session)
    assert cards_of(setup) == [["promoter-2k", "colour", "clear-2k"], ["colour", "clear-2k"]]
    assert [c.control for c in setup.systems] == [False, True]
    assert list(ts.titles(setup).values()) == ["Two-part promoter", "No promoter"]
    assert (setup.piece, setup.batch, setup.name) == ("p1", "Offcut of May", "Trial for Bumper")
    assert ts.faults(session, setup) == ()


def test_with_no_piece_it_begins_with_nothing_and_says_what_it_wants(session):
    setup = ts.begin(session, None)
    assert setup.systems == ()
    assert setup.piece is None
    assert fields(session, setup) == ["substrate", "flex", "systems"]
    told = replace(setup, material=PieceText(substrate="abs", flex=Flex.RIGID))
    assert fields(session, told) == ["known", "systems"]


def test_a_strip_in_hand_stands_for_the_piece_of_its_trial(session):
    trial = put(session, three(session))
    strip = state_of(session).pieces[trial.plan.strips[0].piece]
    assert ts.begin(session, strip).piece == "p1"
    assert ts.begin(session, strip).name == "Trial for Bumper 2"


def test_the_commonest_systems_are_offered_and_not_twice(session):
    setup = begun(session)
    assert offered(session, setup, ts.Ready.AS_PIECE) == offered(session, setup, ts.Ready.BARE) == []
    assert [o.card.id for o in offered(session, setup, ts.Ready.PROMOTER)] == ["promoter-1k"]
    setup = three(session)
    assert cards_of(setup)[-1] == ["promoter-1k", "colour", "clear-2k"]
    assert offered(session, setup, ts.Ready.PROMOTER) == []
    bare = ts.take_out(ts.take_out(setup, "s2"), "s1")
    assert [o.kind for o in ts.offers(session, bare)][:2] == [ts.Ready.AS_PIECE, ts.Ready.BARE]


def test_what_can_t_be_made_yet_is_said(session):
    setup = ts.begin(session, None)
    for kind in (ts.Ready.AS_PIECE, ts.Ready.BARE, ts.Ready.PROMOTER):
        with pytest.raises(NotNow):
            ts.add_system(session, setup, kind, ONE_PART_PROMOTER)
    setup, key = ts.add_system(session, setup, ts.Ready.EMPTY)
    assert setup.system(key).rows == ()


def test_without_a_promoter_the_primer_on_the_material_is_what_the_control_goes_without(session):
    rows = ts.of_layers([(c, ev.Layer(id="x", card=c.id, coats=1)) for c in (ADHESIVE_CLEAR, FILMED)])
    assert [r.card.id for r in without_hold(rows)] == ["colour"]
    under = with_promoter(rows, ONE_PART_PROMOTER, BUMPER, rows[0].plan.gun)
    assert [r.card.id for r in under] == ["promoter-1k", "adhesive-clear", "colour"]


def test_a_system_is_doubled_below_itself_with_its_stack_and_no_name(session):
    setup, key = ts.double(ts.change(begun(session), "s1", name="Ours"), "s1")
    assert [c.key for c in setup.systems] == ["s1", key, "s2"]
    assert cards_of(setup)[0] == cards_of(setup)[1]
    assert list(ts.titles(setup).values()) == ["Ours", "Two-part promoter", "No promoter"]


def test_two_of_one_name_are_told_apart_and_colours_are_not_used_twice(session):
    setup = begun(session)
    for _ in range(10):
        setup, _ = ts.double(setup, "s1")
    assert len(setup.systems) == 12
    assert len(set(ts.titles(setup).values())) == 12
    assert {c.colour for c in setup.systems} == set(LABEL_COLOURS)
    assert [setup.letter(c.key) for c in setup.systems] == list("ABCDEFGHIJKL")
    with pytest.raises(NotNow):
        ts.double(setup, "s1")


def test_moving_a_system_moves_its_letter(session):
    setup = ts.move(begun(session), "s2", -1)
    assert [c.key for c in setup.systems] == ["s2", "s1"]
    assert setup.letter("s2") == "A"
    assert ts.move(setup, "s2", -1) is setup


# --- the strips --------------------------------------------------------------------------------------


def test_in_order_the_controls_lie_last(session):
    setup = ts.move(begun(session), "s2", -1)
    assert [s.key for _, s in setup.numbered()] == ["s1"] * 3 + ["s2"] * 3
    assert [n for n, _ in setup.numbered()] == [1, 2, 3, 4, 5, 6]


@examples(60)
@given(st.integers(2, 12), st.integers(1, 8), st.integers(0, 2**32), st.booleans())
def test_every_strip_has_one_place_and_every_system_its_strips(systems, each, seed, chance):
    setup = ts.Setup()
    for i in range(systems):
        setup, _ = ts.put(setup, (), control=i == 0)
    setup = ts.with_replicates(setup, each)
    if chance:
        setup = ts.shuffle(setup, Random(seed))
    assert Counter(s.key for s in setup.spots) == {c.key: each for c in setup.systems}
    assert {(s.key, s.replicate) for s in setup.spots} == {
        (c.key, n) for c in setup.systems for n in range(1, each + 1)
    }
    by_panel = {}
    for s in setup.spots:
        by_panel.setdefault(s.panel, []).append(s)
    for spots in by_panel.values():
        assert sorted(s.place for s in spots) == list(range(len(spots)))
        assert len(spots) <= 12
        on_it = Counter(s.key for s in spots)
        assert max(on_it.values()) - min(on_it.get(c.key, 0) for c in setup.systems) <= 1
    assert sorted(by_panel) == list(range(1, len(by_panel) + 1))


def test_shuffled_places_stay_while_nothing_is_added_and_are_dealt_anew_by_the_same_chance(session):
    setup = ts.shuffle(three(session), Random(7))
    assert setup.randomised
    assert ts.change(setup, "s1", name="Other").spots == setup.spots
    assert ts.set_control(setup, "s3").spots == setup.spots
    more = ts.with_replicates(setup, 4)
    assert more.strips == 12
    assert more.spots == ts.with_replicates(ts.with_replicates(more, 2), 4).spots
    assert ts.shuffle(setup, Random(8)).spots != setup.spots
    assert not ts.in_order(setup).randomised


def test_chance_puts_every_system_everywhere():
    setup = ts.Setup()
    for _ in range(3):
        setup, _ = ts.put(setup, ())
    setup = ts.with_replicates(setup, 1)
    chance = Random(3)
    seen = Counter(s.key for _ in range(600) for s in ts.shuffle(setup, chance).spots if s.place == 0)
    assert all(150 < seen[key] < 250 for key in ("s1", "s2", "s3"))  # 200 each, give or take 11.5


# --- what it wants -----------------------------------------------------------------------------------


def test_a_trial_without_a_control_is_kept_only_when_it_is_said(session):
    setup = ts.set_control(begun(session), "s2", on=False)
    assert ts.faults(session, setup) == (("control", ts.why_control()),)
    assert "nobody can say that a promoter did anything" in ts.why_control()
    with pytest.raises(Wrong):
        ts.drafts(session, setup)
    kept = ts.without_control(setup)
    assert ts.faults(session, kept) == ()
    assert put(session, kept).controls == ()
    assert not ts.set_control(kept, "s1").no_control  # a control was marked: what was said is done with


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"name": "  "}, "name"), ({"name": "x" * 201}, "name"), ({"batch": "x" * 201}, "batch"),
        ({"width": "wide"}, "width"), ({"length": "0"}, "length"), ({"length": "3 m"}, "length"),
        ({"rest": ""}, "rest"), ({"rest": "a while"}, "rest"), ({"rest": "36700 d"}, "rest"),
        ({"tape_stays": "soon"}, "tape_stays"), ({"methods": frozenset()}, "methods"), ({"note": "x" * 4001}, "note"),
        ({"ageing": (ts.AgeText(kind=ev.AgeingKind.WATER),)}, "ageing-0-lasts"),
        ({"ageing": (ts.AgeText(kind=ev.AgeingKind.HEAT, lasts="1 h", degC="900"),)}, "ageing-0-degC"),
        ({"ageing": (ts.AgeText(kind=ev.AgeingKind.FLEX, mandrel="-1"),)}, "ageing-0-mandrel"),
        ({"ageing": (ts.AgeText(kind=ev.AgeingKind.COLD, lasts="1 h", recovers="?"),)}, "ageing-0-recovers"),
    ],
)  # fmt: skip
def test_what_can_t_be_so_is_said_at_its_field(session, changed, field):
    setup = replace(begun(session), **changed)
    assert fields(session, setup) == [field]
    with pytest.raises(Wrong):
        ts.drafts(session, setup)


def test_a_system_wants_paint_and_a_name_of_its_own(session):
    setup, key = ts.add_system(session, begun(session), ts.Ready.EMPTY)
    assert fields(session, setup) == [f"system-{key}"]
    setup = ts.take_out(setup, key)
    same = ts.change(ts.change(setup, "s1", name="Ours"), "s2", name=" ours ")
    assert fields(session, same) == ["system-s2"]
    assert fields(session, ts.take_out(setup, "s1")) == ["systems"]


def test_more_strips_than_a_trial_has_are_refused_before_any_is_cut(session):
    setup = begun(session)
    for _ in range(10):
        setup, _ = ts.double(setup, "s1")
    assert ts.faults(session, ts.with_replicates(setup, 4)) == ()
    assert fields(session, ts.with_replicates(setup, 5)) == ["replicates"]
    assert ts.count_words(ts.with_replicates(setup, 4)) == "48 strips on 4 panels"


def test_it_is_said_before_spraying_how_many_strips_it_takes(session):
    one = " ".join(ts.strip_words(ts.with_replicates(three(session), 1)))
    assert "With one strip of each this shows a difference and proves none." in one
    assert "12 strips" in one
    assert "0.10" in " ".join(ts.strip_words(ts.with_replicates(three(session), 3)))
    assert ts.strip_words(ts.take_out(begun(session), "s1")) == ()


def test_what_is_odd_is_said_and_forbids_nothing(session):
    setup = three(session)
    shuffled = ts.shuffle(setup, Random(1))
    assert ts.remarks(session, shuffled) == ()
    assert any("in order" in x for x in ts.remarks(session, setup))
    assert any("A is the control and has Two-part promoter on" in x for x in
               ts.remarks(session, ts.set_control(shuffled, "s1")))  # fmt: skip
    twin, _ = ts.double(shuffled, "s1")
    assert any("A and B have the same stack" in x for x in ts.remarks(session, twin))
    other = ts.change(shuffled, "s3", rows=shuffled.system("s3").rows[:-1])
    assert any("same paint" in x for x in ts.remarks(session, other))
    cuts = replace(shuffled, methods=frozenset({ev.Method.ISO_2409}), length="30")
    assert any("room for 1 on each" in x for x in ts.remarks(session, cuts))
    pp = replace(shuffled, material=replace(shuffled.material, substrate="pp"))
    assert session.tables.substrates["pp"].heat_limit_degC < 150
    hot = replace(pp, ageing=(ts.AgeText(kind=ev.AgeingKind.HEAT, lasts="1 h", degC="150"),))
    assert any("150 °C is more than" in x for x in ts.remarks(session, hot))
    cool = replace(pp, ageing=(ts.AgeText(kind=ev.AgeingKind.HEAT, lasts="1 h", degC="40"),))
    assert ts.remarks(session, cool) == ()
    for odd in (setup, twin, other, cuts, hot):
        assert ts.faults(session, odd) == ()


def test_how_much_each_cup_takes_is_reckoned_from_the_strips(session):
    # 6 strips of 25 x 100 mm are 0.015 m2; 20 um dry at 40 % solids is 50 um wet: 0.75 mL on the strips. An airbrush
    # brings 40 % of it there: 1.875 mL of paint, with as much reducer 3.75 mL of ready mix (the usual estimating sum).
    card = FILMED
    plan = ev.Layer(id="x", card=card.id, coats=1)
    assert ts.amount_mL(session, card, plan, 6) == pytest.approx(3.75)
    twice = msgspec.structs.replace(plan, coats=2)
    assert ts.amount_mL(session, card, twice, 6, (50.0, 100.0)) == pytest.approx(15.0)
    assert ts.amount_mL(session, COLOUR, plan, 6) is None
    assert ts.amount_mL(session, card, plan, 0) is None
    setup = begun(session)
    assert ts.amount_words(session, setup) == (
        "Base colour: 6 strips of 25 × 100 mm take about 4 mL.",
        "How much of these is not known, their cards tell no film or no solids: Two-part promoter, Two-part clear.",
    )
    red = msgspec.structs.replace(setup.system("s2").rows[0].plan, name="Red", colour="#aa0000")
    rows = (replace(setup.system("s2").rows[0], plan=red), *setup.system("s2").rows[1:])
    assert ts.amount_words(session, ts.change(setup, "s2", rows=rows))[:2] == (
        "Base colour: 3 strips of 25 × 100 mm take about 2 mL.",
        "Red: 3 strips of 25 × 100 mm take about 2 mL.",
    )


# --- the act -----------------------------------------------------------------------------------------


def test_a_trial_is_one_act_with_a_piece_for_each_strip_and_undone_as_one(session):
    before = session.writable().job
    setup = ts.shuffle(three(session), Random(5))
    trial = put(session, setup)
    state = state_of(session)
    assert len(state.pieces) == 10
    assert [p.id for p in state.painted] == ["p1"]
    assert [state.pieces[s.piece].piece.name for s in trial.plan.strips] == [f"Strip {n}" for n in range(1, 10)]
    for strip in trial.plan.strips:
        made = state.pieces[strip.piece]
        assert made.piece.strip_of == trial.id
        assert (made.piece.substrate, made.piece.batch, made.piece.flex) == ("unknown", "Offcut of May", Flex.RIGID)
        system = setup.system(strip.system)
        assert [(x.plan.card, x.plan.coats, x.plan.activator) for x in made.layers] == [
            (r.card.id, r.plan.coats, r.plan.activator) for r in system.rows
        ]
    assert [(s.key, s.panel, s.place) for _, s in setup.numbered()] == [
        (s.system, s.panel, s.place) for s in trial.plan.strips
    ]
    assert trial.plan.randomised
    assert trial.plan.piece == "p1"
    session.undo()
    assert fold(session.writable().job).pieces.keys() == fold(before).pieces.keys()
    assert state_of(session).trials == {}


def test_a_card_of_the_library_is_copied_once(session):
    drafts = ts.drafts(session, three(session))
    copied = [d.keywords["card"].id for d in drafts if d.func is ev.CardCopied]
    assert copied == ["promoter-1k"]


def test_the_file_reads_back_the_same(session):
    trial = put(session, ts.shuffle(three(session), Random(5)))
    again = fold(jobfile.load(session.writable().path).job)
    assert again.trials[trial.id].plan == trial.plan


def test_what_is_typed_is_in_the_plan(session):
    setup = replace(
        begun(session), name=f"  {UGLY} ", rest="2 d", tape_stays="90 min", width="1 in", length="15 cm", note=" x ",
        methods=frozenset({ev.Method.NAIL, ev.Method.ISO_2409}),
        ageing=(ts.AgeText(kind=ev.AgeingKind.WATER, lasts="24 h", degC="104 F", recovers="1 h"),
                ts.AgeText(kind=ev.AgeingKind.FLEX, mandrel="1 in")),
    )  # fmt: skip
    plan = put(session, setup).plan
    assert plan.name == UGLY
    assert plan.note == "x"
    assert (plan.rest, plan.tape_stays) == (timedelta(days=2), timedelta(minutes=90))
    assert (plan.strip_width_mm, plan.strip_length_mm) == (pytest.approx(25.4), 150)
    assert plan.methods == (ev.Method.ISO_2409, ev.Method.NAIL)
    water, flex = plan.ageing
    assert (water.lasts, water.degC, water.recovers) == (timedelta(days=1), pytest.approx(40), timedelta(hours=1))
    assert (flex.lasts, flex.mandrel_mm) == (None, pytest.approx(25.4))
    taken = ts.begin_from(session, state_of(session).trials["t1"])
    assert ts.drafts(session, taken) == ()


def test_the_strips_of_a_second_trial_have_names_of_their_own(session):
    put(session, begun(session))
    second = put(session, ts.begin(session, state_of(session).pieces["p1"]))
    names = {state_of(session).pieces[s.piece].piece.name for s in second.plan.strips}
    assert names == {f"Strip {n}" for n in range(7, 13)}
    assert second.id == "t2"


def test_ids_of_what_was_undone_are_not_used_again(session):
    put(session, begun(session))
    session.undo()
    trial = put(session, begun(session))
    assert trial.id == "t2"
    assert [s.piece for s in trial.plan.strips] == [f"p{n}" for n in range(8, 14)]


def test_no_piece_and_a_chosen_material(session):
    setup = replace(
        ts.begin(session, None), batch="Bag 3",
        material=PieceText(substrate="abs", known=ev.Known.TOLD, flex=Flex.FLEXIBLE, face=ev.Face.BEHIND_CLEAR),
    )  # fmt: skip
    for control, cards in ((False, (PROMOTER, CLEAR)), (True, (CLEAR,))):
        rows = ts.of_layers([(c, ev.Layer(id="x", card=c.id, coats=1)) for c in cards])
        setup, _ = ts.put(setup, rows, control=control)
    trial = put(session, setup)
    made = state_of(session).pieces[trial.plan.strips[0].piece].piece
    assert trial.plan.piece is None
    assert (made.substrate, made.known, made.flex) == ("abs", ev.Known.TOLD, Flex.FLEXIBLE)
    assert (made.face, made.batch) == (ev.Face.BEHIND_CLEAR, "Bag 3")


def test_a_read_only_job_is_not_changed(session):
    setup = begun(session)
    session.writable().read_only = "Somebody else has it open."
    with pytest.raises(NotNow):
        ts.drafts(session, setup)
    with pytest.raises(NotNow):
        ts.begin(session, None)


# --- changing it -------------------------------------------------------------------------------------


def test_a_trial_that_is_only_prepared_can_be_changed_wholly_and_keeps_what_was_done(session):
    trial = put(session, three(session))
    first = trial.plan.strips[0].piece
    session.apply(partial(ev.PrepDone, piece=first, step=ev.Prep.SCUFF, grit=800))
    setup = ts.begin_from(session, state_of(session).trials["t1"])
    assert not setup.begun
    setup = ts.with_replicates(ts.take_out(setup, "s3"), 2)
    changed = put(session, setup)
    assert changed.id == "t1"
    assert len(changed.plan.strips) == 4
    assert changed.plan.strips[0].piece == first
    assert [s.step for s in state_of(session).pieces[first].steps] == [ev.Prep.SCUFF]
    assert len(state_of(session).pieces) == 5
    assert [[x.plan.card for x in state_of(session).pieces[s.piece].layers] for s in changed.plan.strips] == [
        ["promoter-2k", "colour", "clear-2k"]
    ] * 2 + [["colour", "clear-2k"]] * 2
    session.undo()
    back = state_of(session).trials["t1"]
    assert len(back.plan.strips) == 9
    assert len(state_of(session).pieces) == 10
    assert list(job_faults(session.writable().job)) == []


def test_more_strips_are_added_to_those_there_are(session):
    trial = put(session, begun(session))
    before = [s.piece for s in trial.plan.strips]
    changed = put(session, ts.with_replicates(ts.begin_from(session, trial), 4))
    assert len(changed.plan.strips) == 8
    assert before == [s.piece for s in changed.plan.strips[:6]]
    names = [state_of(session).pieces[s.piece].piece.name for s in changed.plan.strips]
    assert names == [f"Strip {n}" for n in range(1, 9)]


def test_with_paint_on_only_the_rest_of_the_plan_can_be_changed(session):
    trial = put(session, three(session))
    strips = trial.plan.strips
    layer = state_of(session).pieces[strips[-1].piece].layers[0]
    session.apply(partial(ev.CoatStarted, layer=layer.id))
    setup = ts.begin_from(session, state_of(session).trials["t1"])
    assert setup.begun
    for act in (
        lambda: ts.with_replicates(setup, 2),
        lambda: ts.shuffle(setup, Random(1)),
        lambda: ts.in_order(setup),
        lambda: ts.take_out(setup, "s1"),
        lambda: ts.set_control(setup, "s1"),
        lambda: ts.double(setup, "s1"),
    ):
        with pytest.raises(NotNow):
            act()
    assert ts.offers(session, setup) == ()
    assert ts.move(setup, "s1", 1) is setup
    changed = replace(setup, name="Anew", rest="3 d", methods=frozenset({ev.Method.STICK}), note="n", width="50")
    drafts = ts.drafts(session, changed)
    assert [d.func for d in drafts] == [ev.TrialReplanned]
    session.apply(*drafts)
    plan = state_of(session).trials["t1"].plan
    assert (plan.name, plan.rest, plan.methods, plan.note) == ("Anew", timedelta(days=3), (ev.Method.STICK,), "n")
    assert plan.strip_width_mm == 25
    assert plan.strips == strips


def test_paint_that_went_on_meanwhile_counts_when_the_change_is_written(session):
    trial = put(session, three(session))
    setup = ts.with_replicates(ts.begin_from(session, trial), 1)
    layer = state_of(session).pieces[trial.plan.strips[0].piece].layers[0]
    session.apply(partial(ev.CoatStarted, layer=layer.id))
    assert [d.func for d in ts.drafts(session, replace(setup, name="Anew"))] == [ev.TrialReplanned]
    session.apply(*ts.drafts(session, replace(setup, name="Anew")))
    assert len(state_of(session).trials["t1"].plan.strips) == 9


def test_strips_that_were_put_away_can_t_be_changed(session):
    trial = put(session, begun(session))
    setup = ts.begin_from(session, trial)
    session.apply(partial(ev.TrialEnded, trial="t1"))
    with pytest.raises(NotNow):
        ts.begin_from(session, state_of(session).trials["t1"])
    with pytest.raises(NotNow):
        ts.drafts(session, setup)


def test_a_trial_can_begin_with_the_systems_of_another(session):
    like = [(c.name or "x", c.control, c.rows) for c in three(session).systems]
    setup = ts.begin_like(session, state_of(session).pieces["p1"], [("One", False, like[0][2]), ("Two", True, ())])
    assert list(ts.titles(setup).values()) == ["One", "Two"]
    assert cards_of(setup) == [["promoter-2k", "colour", "clear-2k"], []]
    assert setup.strips == 6


@examples(8)
@given(
    st.lists(st.sampled_from(["double", "out", "control", "more", "fewer", "shuffle", "order", "move"]), max_size=12)
)
def test_any_way_of_setting_up_gives_a_job_without_faults(acts):
    import tempfile
    from datetime import UTC, datetime
    from pathlib import Path

    from conftest import StillClock

    with tempfile.TemporaryDirectory() as folder:
        session = session_of(StillClock(datetime(2026, 3, 14, 9, tzinfo=UTC)), Path(folder))
        setup, chance = begun(session), Random(1)
        for act in acts:
            key = setup.systems[0].key if setup.systems else ""
            if act == "double" and 0 < len(setup.systems) < 12:
                setup, _ = ts.double(setup, key)
            setup = {
                "out": lambda s, k: ts.take_out(s, k),
                "control": lambda s, k: ts.set_control(s, k),
                "more": lambda s, k: ts.with_replicates(s, s.replicates + 1),
                "fewer": lambda s, k: ts.with_replicates(s, s.replicates - 1),
                "shuffle": lambda s, k: ts.shuffle(s, chance),
                "order": lambda s, k: ts.in_order(s),
                "move": lambda s, k: ts.move(s, k, 1),
            }.get(act, lambda s, k: s)(setup, key)
        if not ts.faults(session, setup):
            trial = put(session, setup)
            assert len(trial.plan.strips) == setup.strips == len(setup.systems) * setup.replicates
            assert ts.drafts(session, ts.begin_from(session, trial)) == ()
        session.close_all()


def test_every_place_gives_a_strip_the_number_in_its_name(session):
    """Run, grading, the answer and the labels of a second trial call a strip the same."""
    put(session, begun(session))
    setup = ts.begin(session, state_of(session).pieces["p1"])
    shown = [str(n) for n, _ in setup.numbered()]
    second = put(session, setup)
    state = state_of(session)
    names = [state.pieces[s.piece].piece.name for s in sorted(second.plan.strips, key=lambda s: (s.panel, s.place))]
    assert names == [f"Strip {n}" for n in shown] == [f"Strip {n}" for n in range(7, 13)]
    acts = next_acts(session, session.current, second, session.now())
    assert {str(n) for a in acts for n in a.numbers} == set(shown)
    assert [str(r.number) for r in board(state, second, session.now()).rows] == shown
    assert [str(x.number) for x in labels_of(session, ts.begin_from(session, second)).labels] == shown


def test_a_trial_that_grows_takes_no_number_of_another(session):
    first = put(session, begun(session))
    put(session, ts.begin(session, state_of(session).pieces["p1"]))
    put(session, ts.with_replicates(ts.begin_from(session, first), 4))
    grown = state_of(session).trials["t1"]
    names = [state_of(session).pieces[s.piece].piece.name for s in grown.plan.strips]
    assert sorted(names, key=lambda n: int(n.split()[1])) == [f"Strip {n}" for n in (1, 2, 3, 4, 5, 6, 13, 14)]


def test_a_set_up_begun_before_another_trial_takes_its_numbers_after_it(session):
    waiting = begun(session)
    put(session, begun(session))
    second = put(session, waiting)
    names = {state_of(session).pieces[s.piece].piece.name for s in second.plan.strips}
    assert names == {f"Strip {n}" for n in range(7, 13)}
