"""Going through the clues of a piece: to and fro, half done and kept, and what is written into the record."""

from functools import partial
from types import SimpleNamespace

import pytest
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.session.identifying import UNKNOWN, Identifying, fact_line
from benchtool.session.session import Session
from benchtool.trade.identify import CANT_SAY
from benchtool.trade.substrates import Flex


@pytest.fixture
def session(bench: SimpleNamespace) -> Session:
    found: Session = bench.session
    return found


@pytest.fixture
def finding(session: Session) -> Identifying:
    made = Identifying(session)
    made.begin(session.piece)
    made.type_mark("")  # whatever the demo says of it
    return made


def answer(finding: Identifying, **answers: str) -> None:
    """Answer each question as it comes, by these; the others can't be said."""
    for _ in range(20):
        question = finding.question
        if question is None:
            return
        finding.answer(answers.get(question.id.replace("-", "_"), CANT_SAY))


def test_the_questions_come_one_after_the_other_and_end(finding: Identifying) -> None:
    assert finding.question is not None
    assert finding.question.id == "what-is-it"
    assert finding.number == 1
    answer(finding, what_is_it="visor", old_paint="bare", clear="clear", bend="tough", nail="no")
    assert finding.question is None
    assert finding.likeliest == "pc"
    assert finding.told().startswith("Most speaks for polycarbonate")
    rows = finding.rows()
    assert rows[0].id == "pc"
    assert rows[0].detail.startswith("fits best, ")
    assert rows[-1].out
    assert "ruled out" in rows[-1].detail
    assert "ruled out" in finding.count_words()


def test_a_question_can_be_gone_back_to_and_answered_anew(finding: Identifying) -> None:
    assert not finding.go_back()
    finding.answer("bumper")
    finding.answer("bare")
    third = finding.question
    assert finding.go_back()
    assert finding.go_back()
    assert finding.question is not None
    assert (finding.question.id, finding.number) == ("what-is-it", 1)
    assert finding.chosen(finding.question) == "bumper"
    assert not finding.go_back()
    finding.answer("clear-shell")
    assert finding.question.id == "old-paint"  # on to the one after it, not over it
    finding.answer(CANT_SAY)
    assert finding.search.answers == {"what-is-it": "clear-shell", "old-paint": CANT_SAY}
    assert third is not None
    assert finding.question is not None
    assert finding.question.id not in finding.search.answers


def test_an_answer_that_the_question_does_not_have_changes_nothing(finding: Identifying) -> None:
    finding.answer("no such answer")
    assert finding.search.answers == {}


def test_what_is_half_done_waits_on_its_piece(session: Session, finding: Identifying) -> None:
    first = session.piece
    assert first is not None
    finding.answer("visor")
    finding.type_mark(">PC<")
    other = next(p for p in session.writable().state.pieces.values() if p.id != first.id)
    finding.begin(other)
    assert finding.search.answers == {}
    finding.begin(None)
    finding.answer("bumper")
    finding.begin(first)
    assert finding.search.answers == {"what-is-it": "visor"}
    assert finding.search.mark == ">PC<"
    finding.begin(None)
    assert finding.search.answers == {"what-is-it": "bumper"}


def test_a_mark_is_known_by_itself_and_what_is_seen_is_a_guess(session: Session, finding: Identifying) -> None:
    finding.type_mark("  >PP+EPDM-TD20<  ")
    assert finding.likeliest == "tpo"
    assert finding.known("tpo") is ev.Known.MARKED
    assert finding.known("pp") is ev.Known.GUESSED
    assert finding.known(UNKNOWN) is ev.Known.UNKNOWN
    assert "20 % talc powder" in finding.mark_words()[0]
    session.apply(*finding.keep("tpo"))
    assert session.piece is not None
    piece = session.piece.piece
    assert (piece.substrate, piece.known, piece.flex, piece.mark) == (
        "tpo",
        ev.Known.MARKED,
        Flex.FLEXIBLE,
        ">PP+EPDM-TD20<",
    )
    assert finding.keep("tpo") == ()
    again = Identifying(session)
    again.begin(session.piece)
    assert again.search.mark == ">PP+EPDM-TD20<"


def test_what_was_answered_is_kept_with_the_piece(session: Session, finding: Identifying) -> None:
    finding.answer("clear-shell")
    finding.answer(CANT_SAY)
    assert session.piece is not None
    before = session.piece.piece
    session.apply(*finding.keep("pc"))
    assert session.piece is not None
    piece = session.piece.piece
    assert piece.known is ev.Known.GUESSED
    assert piece.flex is before.flex  # polycarbonate may be either: what the painter said of it stays
    assert piece.face is before.face
    assert piece.clues == (
        ev.Clue(test="what-is-it", answer="clear-shell"),
        ev.Clue(test="old-paint", answer=CANT_SAY),
    )
    session.undo()
    assert session.piece.piece == before


def test_clues_of_another_table_stay_in_the_record(session: Session, finding: Identifying) -> None:
    strange = ev.Clue(test="no-such-clue", answer="x")
    finding.search.answers[strange.test] = strange.answer
    finding.search.asked.append(strange.test)
    assert finding.found("pc").clues == (strange,)
    assert finding.candidates.excluded == ()


def test_nobody_knows_is_an_end_too(session: Session, finding: Identifying) -> None:
    finding.answer("case")
    session.apply(*finding.keep(UNKNOWN))
    assert session.piece is not None
    assert (session.piece.piece.substrate, session.piece.piece.known) == (UNKNOWN, ev.Known.UNKNOWN)


def test_a_new_piece_begins_with_what_was_found(session: Session, finding: Identifying) -> None:
    finding.begin(None)
    finding.type_mark("ABS")
    finding.answer("case")
    found = finding.found("abs")
    assert (found.substrate, found.known, found.flex, found.mark) == ("abs", ev.Known.MARKED, Flex.RIGID, "ABS")
    assert found.clues == (ev.Clue(test="what-is-it", answer="case"),)
    finding.done()
    assert finding.search.answers == {}
    assert finding.search.mark == ""


def test_a_mark_that_says_nothing_is_told_so(finding: Identifying) -> None:
    assert finding.mark_words() == ("", "")
    finding.type_mark("qq")
    assert finding.mark_words()[0] == ""
    assert "No material can be read" in finding.mark_words()[1]
    finding.type_mark("x" * 500)
    assert len(finding.search.mark) == 200


def test_starting_anew_keeps_the_mark(finding: Identifying) -> None:
    finding.type_mark(">PP<")
    finding.answer("bumper")
    finding.start_anew()
    assert finding.search.answers == {}
    assert finding.search.mark == ">PP<"


def test_the_facts_of_a_material_are_told(session: Session) -> None:
    words = fact_line(session.tables.substrates["pc"], session.tables)
    for part in ("What holds", "mN/m", "Keep away"):
        assert part in words


# --- what is told beside the material ------------------------------------------------------------------


def clear_shell(finding: Identifying, **answers: str) -> None:
    finding.begin(None)
    answer(finding, what_is_it="clear-shell", old_paint="bare", **answers)


@pytest.mark.parametrize("end", [UNKNOWN, "pc", "abs"])
def test_painted_from_behind_reaches_a_new_piece_whatever_it_is_made_of(finding: Identifying, end: str) -> None:
    clear_shell(finding)
    assert finding.found(end).found_face is ev.Face.BEHIND_CLEAR
    finding.start_anew()
    assert finding.found(end).found_face is None


@pytest.mark.parametrize(
    ("bend", "flex"), [("tough", Flex.FLEXIBLE), ("rubber", Flex.FLEXIBLE), ("no", Flex.RIGID), ("springs", None)]
)
def test_how_it_bends_is_told_where_the_material_does_not(finding: Identifying, bend: str, flex: Flex | None) -> None:
    clear_shell(finding)
    finding.search.answers["bend"] = bend
    assert finding.found(UNKNOWN).flex is flex
    assert finding.found("pc").flex is flex
    assert finding.found("abs").flex is Flex.RIGID


def test_a_metal_tank_is_rigid_and_is_not_asked_about_bending(finding: Identifying) -> None:
    finding.begin(None)
    finding.answer("metal-tank")
    assert finding.found("paint-unknown").flex is Flex.RIGID
    for _ in range(20):
        question = finding.question
        if question is None:
            break
        assert question.id != "bend"
        finding.answer(CANT_SAY)


def test_a_described_piece_keeps_its_face_and_flex_and_what_differs_is_told(
    session: Session, finding: Identifying
) -> None:
    assert session.piece is not None
    plain = replace(session.piece.piece, face=ev.Face.OUTSIDE, flex=Flex.RIGID)
    session.apply(partial(ev.PieceChanged, piece=plain))
    before = session.piece.piece
    assert finding.otherwise(before) == ""
    finding.answer("clear-shell")
    finding.search.answers["bend"] = "tough"
    assert "painted from behind" in finding.otherwise(before)
    assert "it bends" in finding.otherwise(before)
    session.apply(*finding.keep("pc"))
    assert session.piece is not None
    assert (session.piece.piece.face, session.piece.piece.flex) == (before.face, before.flex)


# --- how it is said --------------------------------------------------------------------------------------


def test_only_what_still_fits_is_counted_as_fitting(finding: Identifying) -> None:
    every = len(finding.candidates.left)
    assert finding.count_words() == f"{every} materials to choose from."
    finding.answer(CANT_SAY)
    assert finding.count_words() == f"{every} materials to choose from."
    assert finding.rows()[0].detail == ""
    finding.begin(None)
    clear_shell(finding, bend="tough")
    words = finding.count_words()
    details = [row.detail for row in finding.rows()]
    fit = sum(d.startswith(("fits best", "fits too")) for d in details)
    hardly = sum(d.startswith("hardly") for d in details)
    assert 0 < fit < 5
    assert words.startswith(f"{fit} fit, ")
    assert f"{hardly} hardly" in words
    assert "left" not in words


def test_a_mark_by_the_standard_is_more_than_a_guess(finding: Identifying) -> None:
    finding.type_mark(">ABS<")
    assert finding.told() == "The maker's own mark says so: it is ABS."
    finding.type_mark("abs")
    assert finding.told().startswith("The mark on it names ABS")
    finding.type_mark("triangle 5")
    assert "good guess, not a proof" in finding.told()  # it sorts waste: fillers and blends are not told
    finding.type_mark(">ABS<")
    finding.search.answers = {"what-is-it": "mirror", "feel": "rubbery"}
    assert "look again" in finding.told()


def test_a_number_alone_is_no_mark(finding: Identifying) -> None:
    finding.type_mark("5")
    assert finding.marked == {}
    assert finding.known("pp") is ev.Known.GUESSED
    assert "triangle" in finding.mark_words()[0]
    assert finding.found(UNKNOWN).mark == "5"  # nothing typed is lost
    finding.put_in_triangle()
    assert finding.marked == {"pp": 0}
    assert finding.number_alone is None
