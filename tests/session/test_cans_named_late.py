"""Cans that are named after the pour, or never: what was poured still counts for a can where one was meant."""

from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR

from benchtool.job import events as ev
from benchtool.job.lots import Lot
from benchtool.job.state import Mix, fold
from benchtool.job.validate import faults
from benchtool.session import acts, cupacts
from benchtool.session.session import Session
from benchtool.session.shop import ShopKeeper
from benchtool.session.tables import load_tables
from benchtool.store.jobfile import load
from benchtool.trade.quantities import Measures
from benchtool.trade.substrates import Flex

HARDENER = "Slow hardener"
ONE = Lot(id="b", card=CLEAR.id, part="Base", full_mL=1000, number="BB-77")
OTHER = Lot(id="c", card=CLEAR.id, part="Base", full_mL=1000, number="BB-78")


@pytest.fixture
def session(clock: Any, tmp_path: Path) -> Any:
    made = Session(clock, load_tables(), Measures(), shop=ShopKeeper(tmp_path / "data"))
    made.create(tmp_path / "tank.json", "Tank")
    piece = ev.Piece(id="p1", name="Tank", substrate="steel", known=ev.Known.TOLD, flex=Flex.RIGID)
    made.apply(
        partial(ev.CardCopied, card=CLEAR),
        partial(ev.PieceAdded, piece=piece),
        partial(ev.LayerAdded, piece="p1", layer=ev.Layer(id="l1", card=CLEAR.id, coats=2, activator="slow")),
    )
    yield made
    made.close_all()


def keeper(session: Session) -> ShopKeeper:
    assert session.shop is not None
    return session.shop


def cup(session: Session) -> Mix:
    assert session.layer is not None
    mix = session.writable().state.mix_for(session.layer)
    assert mix is not None
    return mix


def pour(session: Session, clock: Any, part: str, typed: str) -> str:
    clock.go(minutes=1)
    act = cupacts.pour(session, cup(session), part, typed, 0.0)
    assert act is not None
    session.apply(*act.before, act.draft)
    return act.words


def mixed(session: Session, clock: Any) -> None:
    """Pour a whole cup with no can in hand, and stir it."""
    assert session.layer is not None
    session.apply(acts.begin_mix(session, session.layer, 60))
    pour(session, clock, "Base", "40 mL")
    pour(session, clock, HARDENER, "20 mL")
    clock.go(minutes=1)
    session.apply(partial(ev.MixStirred, mix=cup(session).id, what=ev.Stirred.ACTIVATED))


def times(mix: Mix) -> tuple[object, ...]:
    return mix.stirred, mix.first_stirred, mix.activated_at, mix.stood_from, [(p.at, p.mL) for p in mix.pours]


def test_a_can_taken_after_the_pour_counts_for_it_and_moves_no_time(session: Session, clock: Any) -> None:
    mixed(session, clock)
    for lot in (ONE, OTHER):
        keeper(session).save_lot(lot)
    before = times(cup(session))
    clock.go(minutes=2)
    assert acts.lot_taken_words(session, ONE) == "Base (lot BB-77) is in hand, and counts for the 40 mL poured."
    session.apply(acts.take_lot(session, ONE))
    assert [p.lot for p in cup(session).pours] == ["b", None]
    assert times(cup(session)) == before
    assert keeper(session).left_mL("b") == 960
    assert list(faults(session.writable().job)) == []
    assert acts.lot_taken_words(session, OTHER) == "Base (lot BB-78) is in hand."
    session.apply(acts.take_lot(session, OTHER))  # what is said to come from one can stays with it
    assert [p.lot for p in cup(session).pours] == ["b", None]
    again = load(session.writable().path).job
    assert fold(again).draws == {"b": 40}


def test_one_undo_takes_the_can_and_the_count_back(session: Session, clock: Any) -> None:
    mixed(session, clock)
    keeper(session).save_lot(ONE)
    session.apply(acts.take_lot(session, ONE))
    session.undo()
    assert [p.lot for p in cup(session).pours] == [None, None]
    assert session.writable().state.in_hand == {}
    assert keeper(session).left_mL("b") == 1000
    session.redo()
    assert keeper(session).left_mL("b") == 960


def test_a_cup_that_was_emptied_keeps_what_it_said(session: Session, clock: Any) -> None:
    mixed(session, clock)
    session.apply(partial(ev.CupEmptied, mix=cup(session).id, left_mL=None))
    keeper(session).save_lot(ONE)
    session.apply(acts.take_lot(session, ONE))
    assert session.writable().state.draws == {}


def test_a_can_of_pours_that_are_no_events_is_a_fault_of_the_record(session: Session, clock: Any) -> None:
    mixed(session, clock)
    session.apply(partial(ev.LotTaken, lot=ONE, pours=("e999",)))
    assert [f.path for f in faults(session.writable().job)] == [
        f"$.events[{len(session.writable().job.events) - 1}].pours[0]"
    ]


def test_the_only_can_is_taken_by_itself(session: Session, clock: Any) -> None:
    keeper(session).save_lot(ONE)
    assert session.layer is not None
    session.apply(acts.begin_mix(session, session.layer, 60))
    said = pour(session, clock, "Base", "40 mL")
    assert said == "40 mL of Base logged. Base (lot BB-77) is your only can of it: it is in hand."
    assert [p.lot for p in cup(session).pours] == ["b"]
    assert keeper(session).left_mL("b") == 960
    assert "only can" not in pour(session, clock, "Base", "1 mL")
    session.undo()
    session.undo()
    assert cup(session).pours == []
    assert session.writable().state.in_hand == {}
    assert keeper(session).left_mL("b") == 1000


@pytest.mark.parametrize("others", [(OTHER,), ()])
def test_no_can_is_guessed_where_two_may_be_meant_or_the_only_one_is_empty(
    session: Session, clock: Any, others: tuple[Lot, ...]
) -> None:
    keeper(session).save_lot(ONE)
    for lot in others:
        keeper(session).save_lot(lot)
    if not others:
        keeper(session).count("b", 0.0, clock.now() - timedelta(minutes=5))
    assert session.layer is not None
    session.apply(acts.begin_mix(session, session.layer, 60))
    pour(session, clock, "Base", "40 mL")
    assert [p.lot for p in cup(session).pours] == [None]
