"""A stack as it is built: picked, moved, put on the piece in one act, and what is said of it before."""

import dataclasses
from functools import partial
from itertools import permutations

import pytest
from builders import (
    CLEAR,
    COLOUR,
    ENAMEL,
    EPOXY,
    ETCH,
    FILLER,
    LACQUER,
    METALLIC,
    ONE_PART_PROMOTER,
    POLYOLEFIN,
    PROMOTER,
    SEALER,
    URETHANE,
)  # fmt: skip
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import examples

from benchtool.job import events as ev
from benchtool.job.cards import Duty, Gun, Trait
from benchtool.job.shoprules import Condition, ShopRule, Weight
from benchtool.rules.finding import Severity
from benchtool.session import stackagainst, stackbuilding
from benchtool.session.cardreading import Wrong
from benchtool.session.session import NotNow, Session
from benchtool.session.stackbuilding import Build, coats, drafts, in_order, move, pick, take, take_out
from benchtool.session.tables import load_tables
from benchtool.session.tables_pairings import load_pairings
from benchtool.trade.quantities import Measures
from benchtool.trade.substrates import Flex

TABLES = dataclasses.replace(load_tables(), pairings=load_pairings())


@pytest.fixture
def session(clock, tmp_path):
    made = Session(clock, TABLES, Measures())
    made.create(tmp_path / "job.json", "Own job")
    yield made
    made.close_all()


def piece(session, substrate="aluminium", flex=Flex.RIGID, face=ev.Face.OUTSIDE):
    made = ev.Piece(id="p1", name="Tank", substrate=substrate, known=ev.Known.TOLD, flex=flex, face=face)
    session.apply(partial(ev.PieceAdded, piece=made))
    return begin(session)


def begin(session):
    return stackbuilding.begin(session, session.writable().state.pieces["p1"])


def picked(build, *cards):
    for card in cards:
        build, _ = pick(build, card, TABLES)
    return build


def names(build):
    return [r.card.id for r in build.rows]


def put(session, build):
    session.apply(*drafts(session, build))
    return [x.plan.card for x in session.writable().state.pieces["p1"].layers]


# --- picking -----------------------------------------------------------------------------------------


def test_what_is_picked_stands_in_the_order_offered(session):
    build = picked(piece(session), CLEAR, COLOUR, EPOXY)
    assert names(build) == ["epoxy", "colour", "clear-2k"]
    assert len({r.key for r in build.rows}) == 3


def test_a_card_gives_coats_activator_and_additives(session):
    build = picked(piece(session, "tpo", Flex.FLEXIBLE), URETHANE, PROMOTER)
    promoter, clear = build.rows
    assert (promoter.plan.coats, promoter.plan.activator, promoter.plan.gun) == (2, "flexible", Gun.AIRBRUSH)
    assert clear.plan.additives == ("flex",)
    assert clear.plan.colour is None
    rigid = picked(Build(piece=ev.Piece(id="p1", name="T", substrate="steel", known=ev.Known.TOLD, flex=Flex.RIGID)),
                   URETHANE, PROMOTER)  # fmt: skip
    assert [r.plan.activator for r in rigid.rows] == ["rigid", "hard"]
    assert rigid.rows[1].plan.additives == ()


def test_a_layer_takes_the_gun_of_the_last_one(session):
    build = picked(piece(session), COLOUR)
    plan = replace(build.rows[0].plan, gun=Gun.MINI)
    put(session, dataclasses.replace(build, rows=(dataclasses.replace(build.rows[0], plan=plan),)))
    assert picked(begin(session), CLEAR).rows[-1].plan.gun is Gun.MINI


def test_once_moved_by_hand_a_new_one_goes_last(session):
    build = picked(piece(session), COLOUR, METALLIC)
    build = move(build, build.rows[0].key, 1)
    assert names(build) == ["metallic", "colour"]
    build = picked(build, EPOXY)
    assert names(build) == ["metallic", "colour", "epoxy"]
    assert names(in_order(build, TABLES)) == ["epoxy", "metallic", "colour"]
    assert not in_order(build, TABLES).by_hand


def test_coats_have_ends_and_moves_too(session):
    build = picked(piece(session), COLOUR, METALLIC)
    key = build.rows[0].key
    assert coats(build, key, -1).rows[0].plan.coats == 1
    assert coats(build, key, 3).rows[0].plan.coats == 4
    assert coats(build, key, 90).rows[0].plan.coats == 50
    assert move(build, key, -1) is build
    assert move(build, "gone", 1) is build
    assert names(take_out(build, key)) == ["metallic"]


def test_a_changed_card_takes_the_place_of_the_older_copy(session):
    build = picked(piece(session), COLOUR, CLEAR)
    newer = replace(COLOUR, name="Newer")
    build, key = take(build, newer, TABLES)
    assert [r.card.name for r in build.rows] == ["Newer", "Two-part clear"]
    assert build.row(key).card == newer
    build, key = take(build, METALLIC, TABLES)
    assert build.row(key).card == METALLIC


# --- putting it on -----------------------------------------------------------------------------------


def test_the_stack_is_one_act_and_one_undo_takes_it_back(session):
    build = picked(piece(session), CLEAR, COLOUR, EPOXY, COLOUR)
    events = len(session.writable().job.events)
    assert put(session, build) == ["epoxy", "colour", "colour", "clear-2k"]
    copied = [e for e in session.writable().job.events[events:] if isinstance(e, ev.CardCopied)]
    assert len(copied) == 3
    session.undo()
    assert session.writable().state.pieces["p1"].layers == []
    assert session.writable().state.cards == {}


def test_nothing_new_is_no_act(session):
    build = picked(piece(session), COLOUR)
    put(session, build)
    assert drafts(session, begin(session)) == ()
    assert stackbuilding.done_words(begin(session), done=False) == "Nothing was changed."


def test_paint_stays_and_what_is_new_goes_after_it(session):
    put(session, picked(piece(session), COLOUR, CLEAR))
    session.apply(partial(ev.CoatStarted, layer="l1", mix=None), partial(ev.CoatDone, layer="l1"))
    build = picked(begin(session), EPOXY)
    colour, clear, _ = build.rows
    assert (colour.kept, clear.kept) == (True, False)
    assert names(build) == ["colour", "clear-2k", "epoxy"]
    assert move(build, colour.key, 1) is build
    assert move(build, clear.key, -1) is build
    assert take_out(build, colour.key) == build
    assert coats(build, colour.key, -5).rows[0].plan.coats == 1
    assert put(session, in_order(build, TABLES)) == ["colour", "epoxy", "clear-2k"]
    assert session.writable().state.layers["l1"].coats_done == 1


def test_a_layer_with_a_cup_stays_too(session):
    put(session, picked(piece(session), COLOUR, METALLIC))
    mixed = ev.Mixed
    session.apply(partial(mixed, mix="m1", layer="l2", card="metallic", gun=Gun.AIRBRUSH, make_mL=30.0,
                          parts=stackbuilding_recipe(METALLIC)))  # fmt: skip
    assert [r.kept for r in begin(session).rows] == [True, True]


def stackbuilding_recipe(card):
    from benchtool.job.cards import recipe

    return recipe(card, None, Gun.AIRBRUSH)


CARDS = {c.id: c for c in (COLOUR, CLEAR, EPOXY, METALLIC, SEALER)}


@given(
    st.permutations(["l1", "l2", "l3", "l4", "+colour", "+sealer"]), st.sets(st.sampled_from(["l1", "l2", "l3", "l4"]))
)
@examples(60)
def test_any_order_comes_out_as_it_was_built(tmp_path_factory, order, gone):
    from conftest import StillClock

    session = Session(StillClock(__import__("builders").START), TABLES, Measures())
    session.create(tmp_path_factory.mktemp("jobs") / "job.json", "Own job")
    try:
        put(session, dataclasses.replace(picked(piece(session), COLOUR, CLEAR, EPOXY, METALLIC)))
        before = {x.id: x.plan for x in session.writable().state.pieces["p1"].layers}
        build = picked(begin(session), COLOUR, SEALER)
        by_key = {r.key if r.was is not None else f"+{r.card.id}": r for r in build.rows}
        rows = tuple(by_key[k] for k in order if k not in gone)
        acts = drafts(session, dataclasses.replace(build, rows=rows))
        session.apply(*acts)
        layers = session.writable().state.pieces["p1"].layers
        assert [x.plan.card for x in layers] == [r.card.id for r in rows]
        assert all(before[x.id] == x.plan for x in layers if x.id in before)
        moved = sum(a.func is ev.LayerRemoved for a in acts) - len(gone)
        stay = [k for k in order if k in before and k not in gone]
        assert moved == len(stay) - longest(stay)
    finally:
        session.close_all()


def longest(keys):
    """The most that stand in rising order, by trying all."""
    return max(n for n in range(len(keys) + 1) for some in permutations(keys, n)
               if list(some) == sorted(some) and [k for k in keys if k in some] == list(some))  # fmt: skip


def test_a_card_that_makes_no_mix_is_named(session):
    bad = replace(CLEAR, activators=(replace(CLEAR.activators[0], share="10 % of total"),),
                  reductions=(replace(COLOUR.reductions[0], usual="95 % of total", most="95 % of total"),))  # fmt: skip
    build = picked(piece(session), bad)
    with pytest.raises(Wrong) as wrong:
        drafts(session, build)
    assert "Two-part clear make no mix" in wrong.value.faults[0][1]


def test_a_piece_that_is_gone_is_told(session):
    build = picked(piece(session), COLOUR)
    session.undo()
    with pytest.raises(NotNow, match="gone"):
        drafts(session, build)


# --- coming back -------------------------------------------------------------------------------------


def test_what_was_built_is_there_again(session):
    build = picked(piece(session), COLOUR, CLEAR)
    now = session.writable().state.pieces["p1"]
    assert stackbuilding.again(session, now, build) == build
    session.apply(partial(ev.PieceChanged, piece=replace(now.piece, flex=Flex.FLEXIBLE, name="Bumper")))
    build = picked(build, PROMOTER)
    build = stackbuilding.again(session, session.writable().state.pieces["p1"], build)
    assert build.piece.name == "Bumper"
    assert [r.plan.activator for r in build.rows] == ["flexible", None, "slow"]


def test_what_was_painted_meanwhile_is_kept(session):
    put(session, picked(piece(session), COLOUR))
    build = picked(begin(session), CLEAR)
    session.apply(partial(ev.CoatStarted, layer="l1", mix=None))
    build = stackbuilding.again(session, session.writable().state.pieces["p1"], build)
    assert [r.kept for r in build.rows] == [True, False]
    assert names(build) == ["colour", "clear-2k"]


# --- what speaks against it --------------------------------------------------------------------------


def said(session, build):
    return [(x.severity, x.words) for x in stackagainst.against(session, build).said]


def test_a_sound_stack_is_met_with_silence(session):
    assert said(session, picked(piece(session), EPOXY, COLOUR, CLEAR)) == []
    assert said(session, begin(session)) == []
    assert len(session.writable().job.events) == 2


def test_rules_and_order_speak_once_and_the_worst_first(session):
    build = picked(piece(session), ETCH, EPOXY)
    build = move(build, build.rows[0].key, 1)
    assert names(build) == ["etch", "epoxy"]
    build = picked(build, FILLER, COLOUR)
    judged = stackagainst.against(session, build)
    assert judged.grave
    assert [x.severity for x in judged.said] == sorted((x.severity for x in judged.said), key=list(Severity).index)
    assert sum("Epoxy primer over Etch primer" in x.words for x in judged.said) == 1
    keys = {r.key for r in build.rows}
    assert all(x.layer in keys for x in judged.said if x.layer is not None)
    assert all(x.why and x.source for x in judged.said)


def test_what_only_waits_is_told_before_it_is_due(session):
    build = picked(piece(session), ENAMEL)
    build = picked(move(picked(build, LACQUER), "+1", -1), ONE_PART_PROMOTER)
    build = dataclasses.replace(build, rows=tuple(sorted(build.rows, key=lambda r: r.card.id != "enamel")))
    found = said(session, dataclasses.replace(build, rows=build.rows[:2]))
    assert any(s is Severity.CAUTION and w.startswith("Lacquer colour over Alkyd enamel:") for s, w in found)


def test_film_and_flex_are_judged_by_the_rules(session):
    thick = replace(COLOUR, film_um=90.0)
    build = coats(picked(piece(session, "tpo", Flex.FLEXIBLE), POLYOLEFIN, FILLER, thick), "+3", 2)
    words = " ".join(w for _, w in said(session, build))
    assert "µm of film on Tank" in words
    assert "Polyester spray filler does not bend" in words


def test_behind_clear_what_shows_through_is_told(session):
    candy = replace(COLOUR, id="candy", name="Candy", traits=(Trait.TRANSLUCENT,))
    build = picked(piece(session, "pmma", face=ev.Face.BEHIND_CLEAR), METALLIC, candy)
    assert names(build) == ["candy", "metallic"]
    assert (Severity.NOTE, "Seen from the front, Candy lets Metallic base show through.") in said(session, build)
    alone = take_out(build, build.rows[1].key)
    assert (Severity.NOTE, "Nothing opaque lies behind Candy.") in said(session, alone)


def test_what_is_missing_is_offered_from_the_cards_at_hand(session):
    build = picked(piece(session, "pp"), COLOUR)
    judged = stackagainst.against(session, build)
    ((missing, under),) = judged.missing
    assert missing.duty is Duty.PROMOTER
    stock = (EPOXY, PROMOTER, POLYOLEFIN, ONE_PART_PROMOTER)
    offered = stackagainst.what_helps(build, missing, under, stock, TABLES)
    assert [c.id for c in offered] == ["polyolefin", "promoter-2k"]
    helped, _ = pick(build, offered[0], TABLES, under)
    assert names(helped) == ["polyolefin", "colour"]
    assert stackagainst.against(session, helped).missing == ()
    assert stackagainst.what_helps(build, missing, under, (EPOXY,), TABLES) == ()


def test_a_sealer_that_helps_nothing_is_not_offered(session):
    put(session, picked(piece(session), ENAMEL))
    build = picked(begin(session), LACQUER)
    ((missing, under),) = stackagainst.against(session, build).missing
    soft = replace(SEALER, id="soft", name="Lacquer sealer", chemistry=LACQUER.chemistry, activators=(), two_part=False)
    mild = replace(SEALER, chemistry=EPOXY.chemistry)  # a urethane lifts a young enamel as lacquer does
    two_part = replace(SEALER, id="urethane-sealer")
    cards = (soft, two_part, mild)
    assert [c.id for c in stackagainst.what_helps(build, missing, under, cards, TABLES)] == ["sealer"]
    helped, _ = pick(build, mild, TABLES, under)
    assert names(helped) == ["enamel", "sealer", "lacquer"]


def test_a_better_order_is_named(session):
    build = picked(piece(session), CLEAR, COLOUR, METALLIC)
    assert stackagainst.order_words(build, TABLES) == ""
    assert stackagainst.order_words(move(build, build.rows[0].key, 1), TABLES) == ""
    wrong = move(build, build.rows[1].key, 1)
    assert names(wrong) == ["colour", "clear-2k", "metallic"]
    offered = "Offered, in the order they go on: Base colour, Metallic base, Two-part clear."
    assert stackagainst.order_words(wrong, TABLES) == offered


def test_words_of_film(session):
    thin, most = replace(COLOUR, film_um=15.0), replace(METALLIC, film_most_um=60.0)
    build = picked(piece(session), thin, most, CLEAR)
    assert stackagainst.row_words(build.rows[0]) == "1 coat, 15 µm"
    assert stackagainst.row_words(build.rows[1]) == "2 coats, 60 µm at most"
    assert stackagainst.row_words(build.rows[2]) == "2 coats, film not known, Slow hardener"
    assert stackagainst.total_words(build.rows) == "15 to 75 µm of dry film, and more: Two-part clear gives none."
    assert stackagainst.total_words(build.rows[:1]) == "15 µm of dry film in all."
    assert "not known" in stackagainst.total_words(build.rows[2:])
    assert stackagainst.total_words(()) == ""


def test_a_stack_taken_up_again_plans_no_fewer_coats_than_are_on_by_now(session):
    piece(session)
    put(session, coats(picked(begin(session), COLOUR), "+1", 2))
    spray(session, "l1")
    fewer = coats(begin(session), "l1", -2)
    assert [r.plan.coats for r in fewer.rows] == [1]
    spray(session, "l1")
    build = stackbuilding.again(session, session.writable().state.pieces["p1"], fewer)
    assert [r.plan.coats for r in coats(build, "l1", -5).rows] == [2]
    assert build.rows[0].plan.coats >= 2


def spray(session, layer):
    session.apply(partial(ev.CoatStarted, layer=layer))
    session.apply(partial(ev.CoatDone, layer=layer))


def test_a_rule_of_the_painters_own_speaks_of_a_stack_before_it_is_put_on(session):
    no_clear = ShopRule(
        id="no-clear", name="No clear", weight=Weight.STOP, words="No clear on tanks.",
        when=(Condition(of="layer", value="clear"),),
    )  # fmt: skip
    session.take_tables(dataclasses.replace(session.tables, shop_rules=(no_clear,)))
    judged = stackagainst.against(session, picked(piece(session), CLEAR))
    assert "Your rule: No clear on tanks." in [said.words for said in judged.said]
    assert judged.grave


def test_what_stands_of_the_material_is_told_below_the_stack(session):
    candy = replace(COLOUR, id="candy", name="Candy", traits=(Trait.TRANSLUCENT,))
    put(session, picked(piece(session, "paint-unknown"), candy))
    judged = stackagainst.against(session, picked(begin(session), CLEAR))
    words = [x.words for x in judged.said]
    assert words == ["Candy lets Tank show through.", "Nobody knows what the old paint on Tank is."]
    assert [x.severity for x in judged.said] == [Severity.NOTE, Severity.CAUTION]
    assert judged.said[-1].of_material
    assert judged.said[-1].layer is None
    assert len(words) == len(set(words))


def test_a_rule_of_the_painters_own_speaks_of_a_layer_with_paint_on_too(session):
    put(session, coats(picked(piece(session), COLOUR), "+1", 2))
    spray(session, "l1")
    mine = ShopRule(
        id="mine", name="Mine", weight=Weight.CAUTION, words="No colour on tanks.",
        when=(Condition(of="layer", value="base"),),
    )  # fmt: skip
    session.take_tables(dataclasses.replace(session.tables, shop_rules=(mine,)))
    said = stackagainst.against(session, begin(session)).said
    assert [x.words for x in said if x.words.startswith("Your rule:")] == ["Your rule: No colour on tanks."]


def test_a_card_with_no_activator_for_the_piece_is_told_once_in_the_words_of_the_bench(session):
    hard = replace(PROMOTER, activators=(PROMOTER.activators[0],))
    build = picked(piece(session, "tpo", Flex.FLEXIBLE), hard)
    words = [w for _, w in said(session, build)]
    assert words == ["Two-part promoter has no activator for a flexible piece."]
    put(session, build)
    bench = [f.message for f in session.findings() if f.severity is Severity.STOP]
    assert words[0] in bench


def test_a_dark_solid_colour_is_offered_last_behind_clear(session):
    black = replace(COLOUR, id="black", name="Black", traits=(Trait.DARK,))
    build = picked(piece(session, "pc", Flex.FLEXIBLE, ev.Face.BEHIND_CLEAR), black, METALLIC)
    assert names(build) == ["metallic", "black"]
    wrong = move(build, build.rows[0].key, 1)
    assert names(wrong) == ["black", "metallic"]
    assert any("which will not show where it covers" in w for _, w in said(session, wrong))
    assert stackbuilding.in_order(wrong, TABLES).rows == build.rows


def test_colour_over_clear_is_a_caution_unless_clear_follows(session):
    build = picked(piece(session), COLOUR, CLEAR)
    wrong = move(build, build.rows[0].key, 1)
    told = (Severity.CAUTION, "Base colour lies over Two-part clear, and no clear goes over it.")
    assert told in said(session, wrong)
    assert told not in said(session, picked(wrong, CLEAR))
    assert told not in said(session, build)


def test_a_layer_takes_the_colour_its_card_had_last(session):
    build = picked(piece(session), COLOUR)
    put(session, stackbuilding.colour(build, "+1", "#1f4e9e"))
    assert [r.plan.colour for r in picked(begin(session), COLOUR, METALLIC).rows] == ["#1f4e9e", "#1f4e9e", None]
    put(session, stackbuilding.colour(begin(session), "l1", "#ffffff"))
    put(session, take_out(begin(session), "l1"))
    assert [r.plan.colour for r in picked(begin(session), COLOUR).rows] == ["#ffffff"]
    assert begin(session).colours == {"colour": "#ffffff"}
