"""What is written down of a piece stays through every later edit: other materials on it, its mark, its clues."""

import dataclasses
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR, JobBuilder
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.cards import Additive
from benchtool.session import planning
from benchtool.session.cardreading import Wrong
from benchtool.session.identifying import Identifying
from benchtool.session.materials import name_in_list, read_joined
from benchtool.session.planning import PieceText
from benchtool.session.session import Session
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.trade.quantities import Measures
from benchtool.trade.substrates import Suits

TABLES = load_tables()


@pytest.fixture
def session(tmp_path: Path, clock: Any) -> Iterator[Session]:
    session = Session(clock, TABLES, Measures())
    path = tmp_path / "job.json"
    jobfile.save(path, JobBuilder().piece(substrate="abs").job)
    session.open(path)
    yield session
    session.close_all()


def piece_of(session: Session) -> Any:
    assert session.piece is not None
    return session.piece


def change(session: Session, **fields: Any) -> ev.Piece:
    piece = piece_of(session)
    drafts = planning.change_piece(
        session, piece, dataclasses.replace(planning.write_piece(session, piece.piece), **fields)
    )
    if drafts:
        session.apply(*drafts)
    found: ev.Piece = piece_of(session).piece
    return found


@pytest.mark.parametrize("substrate", [s for s, x in TABLES.substrates.items() if x.known])
def test_every_material_written_out_reads_the_same(substrate: str) -> None:
    assert read_joined(TABLES, name_in_list(TABLES, substrate)) == (substrate,)


@pytest.mark.parametrize(
    ("typed", "ids"),
    [
        ("Steel screws, brass insert", ("steel", "brass-copper")),
        ("stainless steel screws", ("steel-stainless",)),
        ("PP clips", ("pp",)),
        ("Steel, steel nuts", ("steel",)),
    ],
)
def test_a_part_is_known_by_the_material_it_is_called_by(typed: str, ids: tuple[str, ...]) -> None:
    assert read_joined(TABLES, typed) == ids


@pytest.mark.parametrize("typed", ["screws", "cheese", "cheese steel of mine"])
def test_what_names_no_material_first_is_told(typed: str) -> None:
    with pytest.raises(ValueError, match="is no material of the list"):
        read_joined(TABLES, typed)


def test_more_materials_than_a_piece_can_hold_are_told_before_anything_is_written(session: Session) -> None:
    every = ", ".join(s.id for s in list(TABLES.substrates.values())[:21])
    with pytest.raises(Wrong) as wrong:
        change(session, joined=every)
    assert wrong.value.faults[0][0] == "joined"


def test_a_joined_material_that_no_table_has_stays_through_an_edit(tmp_path: Path, clock: Any) -> None:
    session = Session(clock, TABLES, Measures())
    builder = JobBuilder().piece(substrate="abs")
    added = builder.job.events[-1]
    assert isinstance(added, ev.PieceAdded)
    strange = replace(added, piece=replace(added.piece, joined=("no-such-metal", "ps")))
    job = replace(builder.job, events=(*builder.job.events[:-1], strange))
    path = tmp_path / "job.json"
    jobfile.save(path, job)
    session.open(path)
    assert change(session, name="Other").joined == ("no-such-metal", "ps")
    session.undo()
    assert piece_of(session).piece.joined == ("no-such-metal", "ps")
    session.close_all()


# --- finding out what it is, begun from the form -----------------------------------------------------


def test_what_the_form_says_of_mark_and_clues_is_where_finding_out_begins(session: Session) -> None:
    finding = Identifying(session)
    form = PieceText(mark=">PP<", clues=(ev.Clue(test="float", answer="floats"),))
    finding.begin(None, form, "p1")
    assert finding.search.mark == ">PP<"
    assert finding.found("pp").mark == ">PP<"
    assert finding.found("pp").clues == form.clues


def test_what_is_half_found_for_one_form_is_not_said_of_another(session: Session) -> None:
    finding = Identifying(session)
    finding.begin(None, PieceText(), "p1")
    finding.type_mark(">PC<")
    finding.begin(None, PieceText(), None)
    assert finding.search.mark == ""
    finding.begin(None, PieceText(), "p1")
    assert finding.search.mark == ">PC<"
    finding.begin(piece_of(session))
    assert finding.search.mark == ""


def test_a_mark_typed_in_the_form_later_is_taken_up(session: Session) -> None:
    finding = Identifying(session)
    finding.begin(None, PieceText(), None)
    finding.begin(piece_of(session))
    finding.begin(None, PieceText(mark=">ABS<"), None)
    assert finding.search.mark == ">ABS<"


def test_half_a_character_of_a_mark_is_left_out_and_the_rest_can_be_kept(session: Session) -> None:
    finding = Identifying(session)
    finding.begin(piece_of(session))
    finding.type_mark(">ABS<\ud83d")
    session.apply(*finding.keep("abs"))
    assert piece_of(session).piece.mark == ">ABS<"


def test_more_additives_than_a_layer_can_hold_are_told_before_anything_is_written(session: Session) -> None:
    many = tuple(Additive(id=f"a{i}", name=f"A {i}", suits=Suits.ANY, share="1 % of base") for i in range(11))
    text = planning.LayerText(card=replace(CLEAR, additives=many), coats="1", additives=frozenset(a.id for a in many))
    with pytest.raises(Wrong) as wrong:
        planning.add_layer(session, piece_of(session), text)
    assert wrong.value.faults == (("additives", "These are too many: 10 at most."),)


def test_what_the_record_says_now_is_where_finding_out_begins_again_once_it_was_kept(session: Session) -> None:
    finding = Identifying(session)
    finding.begin(piece_of(session))
    finding.type_mark(">PP<")
    session.apply(*finding.keep("pp"))
    finding.done()
    change(session, substrate="abs", mark=">ABS<")
    finding.begin(piece_of(session))
    assert finding.search.mark == ">ABS<"
    session.undo()
    session.undo()
    finding.done()
    finding.begin(piece_of(session))
    assert finding.search.mark == ""


@pytest.mark.parametrize(
    ("mark", "known"), [(">PET<", ev.Known.MARKED), ("PET", ev.Known.MARKED), ("1", ev.Known.GUESSED)]
)
def test_a_number_that_only_sorts_waste_marks_no_piece(session: Session, mark: str, known: ev.Known) -> None:
    finding = Identifying(session)
    finding.begin(piece_of(session))
    finding.type_mark(mark)
    assert finding.known("pet") is known
