"""What stands in the way of a coat is told before it is begun, whichever layer it is begun on."""

import dataclasses
from functools import partial

import pytest
from builders import CLEAR, COLOUR, EPOXY, ETCH, PROMOTER
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.shoprules import Condition, ShopRule, Weight
from benchtool.rules.engine import every, signed_by
from benchtool.session.acts import finish_coat, start_coat, waive
from benchtool.session.session import Session
from benchtool.session.tables import load_tables
from benchtool.trade.quantities import Measures
from benchtool.trade.substrates import Flex


def bench(clock, tmp_path, *layers, flex=Flex.RIGID, rules=()):
    """A session with a piece that has these layers, as (card, coats, activator)."""
    session = Session(clock, dataclasses.replace(load_tables(), shop_rules=rules), Measures())
    session.create(tmp_path / "job.json", "Own job")
    piece = ev.Piece(id="p", name="Tank", substrate="aluminium", known=ev.Known.TOLD, flex=flex, face=ev.Face.OUTSIDE)
    cards = {card.id: card for card, _, _ in layers}
    session.apply(
        *(partial(ev.CardCopied, card=card) for card in cards.values()),
        partial(ev.PieceAdded, piece=piece),
        *(
            partial(
                ev.LayerAdded, piece="p", layer=ev.Layer(id=f"l{i}", card=card.id, coats=coats, activator=activator)
            )
            for i, (card, coats, activator) in enumerate(layers, 1)
        ),
    )
    return session


def layer(session, name):
    return session.writable().state.layers[name]


def spray(session, name, coats=1):
    for _ in range(coats):
        session.apply(start_coat(session, layer(session, name)))
        session.apply(finish_coat(layer(session, name)))


def in_the_way(session, name):
    return {f.rule for f in every(session.hindrances(layer(session, name)))}


@pytest.fixture
def closing():
    opened = []
    yield opened.append
    for session in opened:
        session.close_all()


def test_a_pairing_stops_the_coat_where_the_one_below_was_left_at_its_least(clock, tmp_path, closing):
    session = bench(clock, tmp_path, (ETCH, 2, None), (EPOXY, 1, "epoxy-b"))
    closing(session)
    spray(session, "l1")  # one of two planned, and one is all that its card asks for
    assert "chemistry.epoxy-over-etch" in in_the_way(session, "l2")


def test_an_activator_of_the_wrong_kind_stops_a_coat_that_is_not_next(clock, tmp_path, closing):
    session = bench(clock, tmp_path, (COLOUR, 2, None), (PROMOTER, 2, "rigid"), flex=Flex.FLEXIBLE)
    closing(session)
    spray(session, "l1")
    assert "promoter.activator-type" in in_the_way(session, "l2")


def test_a_rule_of_the_painters_own_stops_a_coat_that_is_not_next(clock, tmp_path, closing):
    plan = ShopRule(
        id="plan", name="No clear", weight=Weight.STOP, words="No clear here.",
        when=(Condition(of="layer", is_="is", value="clear"),),
    )  # fmt: skip
    timed = ShopRule(
        id="timed", name="Clean first", weight=Weight.STOP, words="Clean it first.",
        when=(Condition(of="layer", is_="is", value="clear"),),
        require=(Condition(of="cleaned", is_="at most", value="1 h"),),
    )  # fmt: skip
    session = bench(clock, tmp_path, (COLOUR, 2, None), (CLEAR, 2, "slow"), rules=(plan, timed))
    closing(session)
    spray(session, "l1")
    assert {"shop.plan", "shop.timed"} <= in_the_way(session, "l2")


def test_one_more_coat_of_a_finished_layer_is_stopped_as_any_other(clock, tmp_path, closing):
    session = bench(clock, tmp_path, (PROMOTER, 1, "rigid"))
    closing(session)
    spray(session, "l1")
    bends = replace(session.piece.piece, flex=Flex.FLEXIBLE)
    session.apply(partial(ev.PieceChanged, piece=bends))
    assert "promoter.activator-type" in in_the_way(session, "l1")


def test_a_layer_that_was_taken_back_meanwhile_is_in_nobodys_way(clock, tmp_path, closing):
    session = bench(clock, tmp_path, (COLOUR, 1, None))
    closing(session)
    gone = layer(session, "l1")
    session.undo()
    assert session.hindrances(gone) == ()


def test_what_was_signed_for_a_coat_out_of_its_turn_is_not_asked_again(clock, tmp_path, closing):
    session = bench(clock, tmp_path, (ETCH, 2, None), (EPOXY, 1, "epoxy-b"))
    closing(session)
    spray(session, "l1")
    found = session.hindrances(layer(session, "l2"))
    session.apply(*(waive(f, "It is a trial.") for shown in found for f in signed_by(shown)))
    assert session.hindrances(layer(session, "l2")) == ()
    spray(session, "l2")
    assert "chemistry.epoxy-over-etch" in {f.rule for f in every(session.findings()) if f.waived}
