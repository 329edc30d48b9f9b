"""What the plan page does to a job, and that each of it is undone as one."""

import dataclasses
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR, COLOUR, EPOXY, ETCH, PROMOTER
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.cards import Card, Gun
from benchtool.session import materials, planning
from benchtool.session.cardreading import Wrong
from benchtool.session.library import CardLibrary, NotKept
from benchtool.session.planning import LayerText, PieceText, Where
from benchtool.session.session import NotNow, Session
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.trade.quantities import Measures
from benchtool.trade.substrates import Flex

SHELL = PieceText(
    name="Visor shell", substrate="pc", known=ev.Known.TOLD, flex=Flex.FLEXIBLE, face=ev.Face.BEHIND_CLEAR
)
COAT = LayerText(card=PROMOTER, coats="2", activator="flexible", colour="1D8A8C", name=" First ")


@pytest.fixture
def session(clock: Any, tmp_path: Path) -> Any:
    made = Session(clock, load_tables(), Measures(), CardLibrary(tmp_path / "cards"))
    made.create(tmp_path / "job.json", "A job of my own")
    yield made
    made.close_all()


def state(session: Session) -> Any:
    return session.writable().state


def add_shell(session: Session) -> Any:
    piece, draft = planning.add_piece(session, SHELL)
    session.apply(draft)
    return state(session).pieces[piece]


def add(session: Session, piece: Any, card: Card = PROMOTER, **fields: Any) -> str:
    layer, drafts = planning.add_layer(session, piece, dataclasses.replace(COAT, card=card, **fields))
    session.apply(*drafts)
    return layer


def in_file(session: Session) -> Any:
    return jobfile.load(session.writable().path).job


def faults_of(call: Any) -> dict[str, str]:
    with pytest.raises(Wrong) as wrong:
        call()
    return dict(wrong.value.faults)


# --- pieces ------------------------------------------------------------------------------------------


def test_a_piece_comes_in_and_undo_takes_it_out(session: Session) -> None:
    piece = add_shell(session)
    assert piece.piece == ev.Piece(
        id="p1", name="Visor shell", substrate="pc", known=ev.Known.TOLD, flex=Flex.FLEXIBLE, face=ev.Face.BEHIND_CLEAR
    )
    assert in_file(session) == session.writable().job
    session.undo()
    assert state(session).pieces == {}
    session.redo()
    assert list(state(session).pieces) == ["p1"]


def test_an_id_that_was_undone_is_not_used_again(session: Session) -> None:
    add_shell(session)
    session.undo()
    assert planning.add_piece(session, SHELL)[0] == "p2"


def test_all_that_is_missing_of_a_piece_is_said_at_once(session: Session) -> None:
    assert set(faults_of(lambda: planning.add_piece(session, PieceText()))) == {"name", "substrate", "flex"}
    told = PieceText(name="Bumper", substrate="pp", flex=Flex.RIGID)
    assert set(faults_of(lambda: planning.add_piece(session, told))) == {"known"}
    assert set(faults_of(lambda: planning.add_piece(session, dataclasses.replace(SHELL, name="x" * 201)))) == {"name"}


def test_nobody_knows_is_kept_as_unknown_whatever_was_chosen_beside_it(session: Session) -> None:
    _, draft = planning.add_piece(session, dataclasses.replace(SHELL, substrate="unknown"))
    session.apply(draft)
    assert state(session).pieces["p1"].piece.known is ev.Known.UNKNOWN


def test_a_change_is_one_event_and_no_change_is_none(session: Session) -> None:
    piece = add_shell(session)
    assert planning.change_piece(session, piece, SHELL) == ()
    drafts = planning.change_piece(session, piece, dataclasses.replace(SHELL, flex=Flex.RIGID))
    session.apply(*drafts)
    assert state(session).pieces["p1"].piece.flex is Flex.RIGID
    session.undo()
    assert state(session).pieces["p1"].piece.flex is Flex.FLEXIBLE


@pytest.mark.parametrize(
    ("words", "first"),
    [
        ("pp", "pp"), (">PP<", "pp"), ("polyprop", "pp"), (">PA66-GF30<", "pa66-gf"), ("soft pvc", "pvc-p"),
        ("ALU bare", "aluminium"), ("opper", "brass-copper"), ("petg", "pet"),
    ],
)  # fmt: skip
def test_a_material_is_found_by_what_is_typed_or_marked(session: Session, words: str, first: str) -> None:
    unknown, found, *_ = materials.find_substrates(session.tables, words)
    assert not unknown.known
    assert found.id == first


def test_every_material_can_be_chosen_and_nobody_knows_is_first(session: Session) -> None:
    found = materials.find_substrates(session.tables, " ")
    assert found[0].id == "unknown"
    assert {s.id for s in found} == set(session.tables.substrates)
    assert [s.id for s in materials.find_substrates(session.tables, "zzz")] == ["unknown"]


# --- layers ------------------------------------------------------------------------------------------


def test_a_layer_brings_its_card_and_both_go_in_one_undo(session: Session) -> None:
    layer = add(session, add_shell(session))
    plan = state(session).layers[layer].plan
    assert (plan.coats, plan.colour, plan.name, plan.activator) == (2, "#1d8a8c", "First", "flexible")
    assert state(session).cards == {"promoter-2k": PROMOTER}
    assert in_file(session) == session.writable().job
    session.undo()
    assert state(session).cards == {}
    assert state(session).pieces["p1"].layers == []


def test_a_card_that_the_job_has_is_not_copied_again(session: Session) -> None:
    piece = add_shell(session)
    add(session, piece)
    _, drafts = planning.add_layer(session, piece, COAT)
    assert len(drafts) == 1


def test_a_layer_goes_last_or_under_one_with_no_paint_on(session: Session) -> None:
    piece = add_shell(session)
    first = add(session, piece, COLOUR, name="Red")
    second = add(session, piece, COLOUR, name="Blue")
    session.apply(partial(ev.CoatStarted, layer=first))
    places = planning.places(session, state(session).pieces["p1"])
    assert [key for key, _ in places] == [None, second]
    assert places[1][1] == "Before Blue, nearer the shell"
    between = add(session, piece, PROMOTER, before=second)
    assert [x.id for x in state(session).pieces["p1"].layers] == [first, between, second]


def test_each_slip_of_a_layer_is_said_at_its_field(session: Session) -> None:
    piece = add_shell(session)
    wrong = LayerText(coats="none", colour="#12", name="x" * 201)
    assert set(faults_of(lambda: planning.add_layer(session, piece, wrong))) == {"card", "coats", "colour", "name"}
    bad = replace(CLEAR, activators=(replace(CLEAR.activators[0], share="2 % of nothing"),))
    faults = faults_of(lambda: planning.add_layer(session, piece, LayerText(card=bad, coats="1")))
    assert "edit it first" in faults["card"]


@pytest.mark.parametrize(
    ("typed", "read"), [("", None), ("#1f4E9e", "#1f4e9e"), ("1f4e9e", "#1f4e9e"), (" #abc ", "#aabbcc")]
)
def test_a_colour_is_read(typed: str, read: str | None) -> None:
    assert planning.read_colour(typed) == read


@pytest.mark.parametrize("typed", ["#12", "reddish", "#1f4e9g", "##1f4e9e", "#1f4e9e0"])
def test_what_is_no_colour_is_said(typed: str) -> None:
    with pytest.raises(ValueError, match="no colour"):
        planning.read_colour(typed)


def test_a_layer_is_changed_and_never_to_fewer_coats_than_are_on(session: Session) -> None:
    layer = add(session, add_shell(session))
    text = dataclasses.replace(COAT, coats="3", gun=Gun.MINI, activator="rigid", colour="", name="")
    session.apply(*planning.change_layer(state(session).layers[layer], text))
    plan = state(session).layers[layer].plan
    assert (plan.coats, plan.gun, plan.activator, plan.colour, plan.name) == (3, Gun.MINI, "rigid", None, None)
    for _ in range(2):
        session.apply(partial(ev.CoatStarted, layer=layer))
        session.apply(partial(ev.CoatDone, layer=layer))
    one = dataclasses.replace(text, coats="1")
    assert "2 coats are on" in faults_of(lambda: planning.change_layer(state(session).layers[layer], one))["coats"]
    assert planning.change_layer(state(session).layers[layer], text) == ()


def test_a_layer_without_paint_is_taken_out_and_one_with_paint_stays(session: Session) -> None:
    layer = add(session, add_shell(session))
    session.apply(planning.remove_layer(session, state(session).layers[layer]))
    assert state(session).layers == {}
    session.undo()
    assert list(state(session).layers) == [layer]
    session.apply(partial(ev.CoatStarted, layer=layer))
    with pytest.raises(NotNow, match="paint on"):
        planning.remove_layer(session, state(session).layers[layer])


def test_the_activator_that_suits_is_picked() -> None:
    assert planning.suiting_activator(PROMOTER, Flex.RIGID) == PROMOTER.activators[0]
    assert planning.suiting_activator(PROMOTER, Flex.FLEXIBLE) == PROMOTER.activators[1]
    assert planning.suiting_activator(CLEAR, Flex.FLEXIBLE) == CLEAR.activators[0]
    assert planning.suiting_activator(replace(PROMOTER, activators=PROMOTER.activators[:1]), Flex.FLEXIBLE) is None
    both = replace(PROMOTER, activators=(CLEAR.activators[0], PROMOTER.activators[1]))
    assert planning.suiting_activator(both, Flex.FLEXIBLE) == PROMOTER.activators[1]


def test_the_gun_planned_last_is_the_usual_one(session: Session) -> None:
    piece = add_shell(session)
    assert planning.usual_gun(session, piece) is Gun.AIRBRUSH
    add(session, piece, gun=Gun.FULL)
    assert planning.usual_gun(session, piece) is Gun.FULL


def test_what_a_layer_would_raise_is_said_before_it_is_added(session: Session) -> None:
    _, draft = planning.add_piece(session, dataclasses.replace(SHELL, substrate="pp", face=ev.Face.OUTSIDE))
    session.apply(draft)
    piece = state(session).pieces["p1"]
    before = session.writable().job
    said = planning.raised(session, planning.add_layer(session, piece, dataclasses.replace(COAT, card=COLOUR))[1])
    assert said.startswith("Stop: Visor shell is polypropylene (PP): paint does not hold on it without a promoter.")
    assert planning.raised(session, planning.add_layer(session, piece, COAT)[1]) == ""
    assert session.writable().job == before


def test_what_may_not_go_over_what_is_told_before_a_layer_is_put_in(session):
    piece = add_shell(session)
    session.apply(
        *planning.add_layer(session, piece, dataclasses.replace(COAT, card=ETCH, coats="1", name="", activator=None))[1]
    )
    over = planning.add_layer(
        session, session.piece, dataclasses.replace(COAT, card=EPOXY, name="", activator="epoxy-b")
    )[1]
    assert planning.raised(session, over).startswith("Stop: Epoxy primer over Etch primer:")


def test_words_of_a_card() -> None:
    assert planning.card_words(CLEAR) == (
        "Two-part clear, 2 to 3 coats, flash 15 min, pot life 2 h, next layer after 30 min to 24 h."
    )
    assert planning.gun_words(PROMOTER, Gun.AIRBRUSH) == "Reduced 1:1 with the activated mix; 90 to 110 % by the card."
    assert planning.gun_words(PROMOTER, Gun.FULL) == (
        "The card gives no reduction for the full-size gun: it goes on unreduced."
    )


# --- the library -------------------------------------------------------------------------------------


def test_the_library_is_offered_beside_the_job_and_a_newer_card_apart_from_the_jobs_own(session: Session) -> None:
    assert session.library is not None
    add(session, add_shell(session))
    session.library.keep(CLEAR)
    session.library.keep(PROMOTER)
    assert [(c.card.id, c.where) for c in planning.card_choices(session)] == [
        ("promoter-2k", Where.JOB),
        ("clear-2k", Where.LIBRARY),
    ]
    newer = replace(PROMOTER, flash=CLEAR.pot_life)
    session.library.keep(newer)
    assert [(c.card, c.where) for c in planning.card_choices(session)] == [
        (PROMOTER, Where.JOB),
        (CLEAR, Where.LIBRARY),
        (newer, Where.CHANGED),
    ]
    add(session, state(session).pieces["p1"], newer)
    assert state(session).cards["promoter-2k"] == newer


def test_a_card_just_made_is_offered_without_a_library_too(session: Session) -> None:
    session.library = None
    assert [c.where for c in planning.card_choices(session, [CLEAR])] == [Where.NEW]
    assert planning.free_card_id(session, "Clear 2K", [CLEAR]) == "clear-2k-2"
    assert planning.library_faults(session) == ()


def test_an_id_of_a_card_is_free_in_job_and_library(session: Session) -> None:
    assert session.library is not None
    session.library.keep(CLEAR)
    add(session, add_shell(session), replace(PROMOTER, id="clear-2k-2"))
    session.undo()
    assert planning.free_card_id(session, "Clear 2K") == "clear-2k-3"


def test_a_broken_file_of_the_library_is_named(session: Session, tmp_path: Path) -> None:
    assert session.library is not None
    session.library.keep(CLEAR)
    (tmp_path / "cards" / "half.json").write_text("{", encoding="utf-8")
    [said] = planning.library_faults(session)
    assert said.startswith("half.json: ")
    assert [c.card for c in planning.card_choices(session)] == [CLEAR]


def test_a_library_that_can_not_be_written_says_so(tmp_path: Path) -> None:
    (tmp_path / "cards").write_text("a file where the folder should be", encoding="utf-8")
    with pytest.raises(NotKept, match="not in your library"):
        CardLibrary(tmp_path / "cards").keep(CLEAR)


def test_nothing_is_planned_in_a_job_that_is_read_only(session: Session) -> None:
    piece = add_shell(session)
    session.writable().read_only = "Somebody else has it."
    with pytest.raises(NotNow, match="Somebody else"):
        planning.add_piece(session, SHELL)
    with pytest.raises(NotNow, match="Somebody else"):
        planning.add_layer(session, piece, COAT)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("nobody", "unknown"),
        ("Nobody  knows", "unknown"),
        ("n", "unknown"),
        ("unk", "unknown"),
        ("old paint", "paint-unknown"),
        ("nobody has", "paint-unknown"),
        ("zzz", None),
        ("steel", "steel"),
    ],
)
def test_what_is_typed_chooses_the_best_match(session: Session, typed: str, meant: str | None) -> None:
    found = materials.find_substrates(session.tables, typed)
    best = materials.likeliest(found, typed)
    assert (best.id if best is not None else None) == meant


def test_a_name_that_begins_so_goes_before_one_with_a_word_that_does(session: Session) -> None:
    known = [s.name.casefold() for s in materials.find_substrates(session.tables, "pol") if s.known]
    begins = [name.startswith("pol") for name in known]
    assert begins == sorted(begins, reverse=True)
    assert True in begins


# --- areas and colour notes --------------------------------------------------------------------------


def test_the_area_of_a_piece_is_taken_in_any_unit_and_stays_to_the_last_figure(session: Session) -> None:
    piece = add_shell(session)

    def change(text: PieceText) -> Any:
        drafts = planning.change_piece(session, piece, text)
        if drafts:
            session.apply(*drafts)
        return drafts, piece.piece.area_m2

    _, area = change(dataclasses.replace(SHELL, area="16 sq ft"))
    assert area == pytest.approx(16 * 0.3048**2)  # 1 ft = 0.3048 m exactly (international foot, 1959)
    shown = planning.write_piece(session, piece.piece)
    assert shown.area == "1.48645 m²"
    assert change(shown) == ((), area)
    assert change(dataclasses.replace(shown, name="Other"))[1] == area
    assert change(dataclasses.replace(shown, area=" "))[1] is None


@pytest.mark.parametrize("typed", ["as a door", "0", "30000 m2"])
def test_what_is_no_area_is_said_at_its_field(session: Session, typed: str) -> None:
    text = dataclasses.replace(SHELL, area=typed)
    assert list(faults_of(lambda: planning.add_piece(session, text))) == ["area"]


def test_a_colour_note_of_a_layer_is_kept_and_changed(session: Session) -> None:
    piece = add_shell(session)
    layer = state(session).layers[add(session, piece, note=" two drops  of violet ")]
    assert layer.plan.note == "two drops of violet"
    text = planning.layer_text(session, layer)
    assert planning.change_layer(layer, text) == ()
    session.apply(*planning.change_layer(layer, dataclasses.replace(text, note="three")))
    assert layer.plan.note == "three"


def test_a_note_of_several_lines_that_is_not_touched_stays_whole(session: Session) -> None:
    piece = add_shell(session)
    layer = state(session).layers[add(session, piece)]
    session.apply(partial(ev.LayerChanged, layer=replace(layer.plan, note="one\ntwo")))
    text = planning.layer_text(session, layer)
    session.apply(*planning.change_layer(layer, dataclasses.replace(text, note="one two", coats="3")))
    assert (layer.plan.note, layer.plan.coats) == ("one\ntwo", 3)
