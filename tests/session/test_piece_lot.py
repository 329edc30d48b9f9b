"""The lot of the material of a piece: typed, kept, shown, and never lost on the way."""

from dataclasses import replace as changed
from functools import partial

import pytest
from cli.asking import START, ask, tank
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.record import with_events
from benchtool.session.cardreading import LONGEST_NAME, Wrong
from benchtool.session.planning import PieceText, add_piece, change_piece, write_piece
from benchtool.session.session import Session
from benchtool.session.tables import load_tables
from benchtool.trade.quantities import Measures
from benchtool.trade.substrates import Flex

TEXT = PieceText(name="Shell", substrate="abs", known=ev.Known.TOLD, flex=Flex.RIGID, batch="  Sheet   3 ")


@pytest.fixture
def session(clock, tmp_path):
    made = Session(clock, load_tables(), Measures())
    made.create(tmp_path / "job.json", "Own job")
    yield made
    made.close_all()


def added(session: Session, text: PieceText = TEXT) -> ev.Piece:
    piece_id, draft = add_piece(session, text)
    session.apply(draft)
    return session.writable().state.pieces[piece_id].piece


def test_it_is_kept_and_written_back_as_typed(session: Session) -> None:
    piece = added(session)
    assert piece.batch == "Sheet 3"
    assert write_piece(session, piece).batch == "Sheet 3"
    state = session.writable().state.pieces[piece.id]
    assert change_piece(session, state, write_piece(session, piece)) == ()
    (draft,) = change_piece(session, state, changed(write_piece(session, piece), batch="Sheet 4"))
    session.apply(draft)
    assert session.writable().state.pieces[piece.id].piece.batch == "Sheet 4"


def test_it_need_not_be_told(session: Session) -> None:
    assert added(session, changed(TEXT, batch=" ")).batch == ""


def test_one_that_is_too_long_is_said_to_be(session: Session) -> None:
    with pytest.raises(Wrong) as wrong:
        add_piece(session, changed(TEXT, batch="x" * (LONGEST_NAME + 1)))
    assert [field for field, _ in wrong.value.faults] == ["batch"]


def test_a_strip_that_is_described_anew_stays_a_strip(session: Session) -> None:
    piece = added(session)
    session.apply(partial(ev.PieceChanged, piece=replace(piece, strip_of="t1")))
    state = session.writable().state.pieces[piece.id]
    session.apply(*change_piece(session, state, changed(write_piece(session, state.piece), name="Strip 1")))
    assert session.writable().state.pieces[piece.id].piece.strip_of == "t1"


def test_check_tells_it() -> None:
    job = tank()
    piece = next(e.piece for e in job.events if isinstance(e, ev.PieceAdded))
    told = with_events(job, ev.PieceChanged(id="e90", at=START, piece=replace(piece, batch="Sheet 3")))
    (said,) = ask("check", "demo", "--json", job=lambda _: told).values["pieces"]
    assert said["batch"] == "Sheet 3"
    assert ask("check", "demo", job=lambda _: told).out.count("Lot of the material: Sheet 3") == 1
    (said,) = ask("check", "demo", "--json", job=lambda _: job).values["pieces"]
    assert said["batch"] == ""
    assert "Lot of the material" not in ask("check", "demo", job=lambda _: job).out
