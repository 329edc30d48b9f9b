"""Narrowing down a material: laws of the narrowing, physics of what is ruled out, and the order of the questions."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import examples

from benchtool.session.resources import resource
from benchtool.session.strictfile import TableFault
from benchtool.session.tables import load_tables
from benchtool.session.tables_identify import load_clues, load_marks, read_clues
from benchtool.trade.identify import (
    CANT_SAY,
    Candidates,
    ClueTable,
    Effect,
    MaterialKind,
    Question,
    Saying,
    Tell,
    narrow,
    next_question,
    told_beside,
)
from benchtool.trade.markreading import parse
from benchtool.trade.marks import ranks
from benchtool.trade.substrates import Flex, Material, Substrate

CLUES = load_clues()
TABLE = load_tables().substrates
SHELF = tuple(TABLE.values())


def ids(candidates):
    return [c.id for c in candidates]


def told(**answers: str) -> Candidates:
    return narrow({k.replace("_", "-"): v for k, v in answers.items()}, SHELF, CLUES)


@st.composite
def some_answers(draw):
    picked = draw(st.lists(st.sampled_from(sorted(CLUES.questions)), unique=True, max_size=6))
    return {q: draw(st.sampled_from([*(a.id for a in CLUES.questions[q].answers), CANT_SAY])) for q in picked}


# --- laws --------------------------------------------------------------------------------------------


@given(some_answers(), st.data())
@examples(120)
def test_more_answers_never_bring_back_what_is_ruled_out(answers, data):
    kept = data.draw(st.lists(st.sampled_from(sorted(answers)), unique=True)) if answers else []
    fewer = {k: answers[k] for k in kept}
    out = set(ids(narrow(fewer, SHELF, CLUES).excluded))
    assert out <= set(ids(narrow(answers, SHELF, CLUES).excluded))


@given(some_answers(), st.randoms(use_true_random=False))
@examples(80)
def test_the_order_of_the_answers_does_not_matter(answers, chance):
    items = list(answers.items())
    chance.shuffle(items)
    assert narrow(dict(items), SHELF, CLUES) == narrow(answers, SHELF, CLUES)


@given(some_answers())
@examples(80)
def test_nothing_is_lost_and_what_is_ruled_out_says_why(answers):
    found = narrow(answers, SHELF, CLUES)
    assert sorted(ids(found.left) + ids(found.excluded)) == sorted(s.id for s in SHELF if s.known)
    assert [c.score for c in found.left] == sorted((c.score for c in found.left), reverse=True)
    assert all(c.con for c in found.excluded)
    assert found.left or found.unknown


@given(some_answers())
@examples(40)
def test_a_question_answered_is_never_asked_again_and_they_come_to_an_end(answers):
    asked = dict(answers)
    for _ in range(len(CLUES.questions) + 1):
        question = next_question(asked, SHELF, CLUES)
        if question is None:
            break
        assert question.id not in asked
        asked[question.id] = CANT_SAY
    assert next_question(asked, SHELF, CLUES) is None


def test_no_answer_leaves_all_of_them():
    found = told()
    assert len(found.left) == len(SHELF) - 1
    assert found.excluded == ()
    assert found.unknown
    assert not found.at_odds
    assert "unknown" not in ids(found.left)
    assert narrow(dict.fromkeys(CLUES.questions, CANT_SAY), SHELF, CLUES) == found
    assert narrow({"no-such-clue": "x", "magnet": "no-such-answer"}, SHELF, CLUES) == found


def test_what_does_not_go_together_is_unknown_and_says_so():
    found = told(magnet="holds", clear="clear")  # no magnet holds on what is clear, no iron is clear
    assert found.at_odds
    assert "does not go together" in found.unknown
    shelf = [TABLE["pmma"], TABLE["steel"]]
    nothing = narrow({"magnet": "holds", "clear": "clear"}, shelf, CLUES)
    assert nothing.left == ()
    assert nothing.at_odds
    assert "rules out every material" in nothing.unknown


# --- physics -----------------------------------------------------------------------------------------


def test_what_sinks_is_ruled_out_by_floating():
    """Duis and Coors, Environmental Sciences Europe 28:2 (2016), table 1, in g/cm³; metals are far denser."""
    least = {"pmma": 1.09, "pvc-u": 1.16, "pc": 1.20, "ptfe": 2.1}
    most = {"pe-ld": 0.93, "pe-hd": 0.98, "pp": 0.92}
    out = set(ids(told(float="floats").excluded))
    assert set(least) <= out
    assert out.isdisjoint(most)
    assert {"aluminium", "steel", "glass", "magnesium"} <= out
    assert "abs" not in out  # 1.02 to 1.07: air that clings to it may bear it
    assert "ps" not in out
    assert {"pe-ld", "pe-hd", "pp", "tpo"} <= set(ids(told(float="floats").left[:6]))


def test_sinking_rules_out_no_plastic_that_may_be_filled():
    """20 % talc (2.7 to 2.8 g/cm³) in polypropylene (0.9) makes about 1.04: it sinks."""
    found = told(float="sinks")
    assert "pp" in ids(found.left)
    assert "tpo" in ids(found.left)
    assert found.left[-1].id.startswith("pe-")
    assert set(ids(found.excluded)) == {"ps-e", "eva"}


def test_what_a_magnet_tells():
    """Iron is ferromagnetic; austenitic stainless steel is not, ferritic and martensitic are."""
    holds, no = told(magnet="holds"), told(magnet="no")
    assert {"steel", "steel-galvanised", "iron-cast"} <= set(ids(holds.left[:6]))
    assert {"aluminium", "brass-copper", "abs", "glass", "wood-solid"} <= set(ids(holds.excluded))
    assert {"steel", "steel-galvanised", "iron-cast"} <= set(ids(no.excluded))
    for found in (holds, no):
        assert {"steel-stainless", "chrome-plate", "paint-unknown"} <= set(ids(found.left))


def test_only_physics_excludes():
    """A magnet, floating and light that goes through a piece: no other answer leaves no way out."""
    allowed = {("magnet", "holds"), ("magnet", "no"), ("float", "floats"), ("float", "sinks")}
    allowed |= {("clear", "clear"), ("clear", "milky")}
    found = {(q.id, a.id) for q in CLUES.questions.values() for a in q.answers if any(e.excludes for e in a.effects)}
    assert found == allowed


@pytest.mark.parametrize(
    ("ink", "best", "worse"),
    [
        # critical surface tensions in mN/m: PTFE 19.4, PP 30.5, PE 31.6, PS 34, ABS 38.5, PA66 42.2 (“Critical Surface
        # Tension and Contact Angle with Water for Various Polymers”); polycarbonate 44 to 46
        ("none", "ptfe", "pc"),
        ("30", "pp", "pc"),
        ("34", "ps", "ptfe"),
        ("38", "abs", "ptfe"),
        ("42", "pc", "pp"),
        ("48", "glass", "pp"),
    ],
)
def test_inks_are_held_against_published_surface_energies(ink, best, worse):
    score = {c.id: c.score for c in told(inks=ink).left}
    assert score[best] > 0 > score[worse]


# --- from the bench ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("answers", "among"),
    [
        ({"what-is-it": "clear-shell", "old-paint": "bare", "clear": "clear", "bend": "tough"}, {"pc", "pet"}),
        ({"what-is-it": "bumper", "old-paint": "bare", "ring": "thud", "bend": "tough"}, {"pp", "tpo"}),
        ({"what-is-it": "metal-tank", "old-paint": "hard-gloss"}, {"paint-urethane", "paint-epoxy"}),
        ({"old-paint": "bare", "magnet": "no", "cold": "cold", "metal-look": "yellow"}, {"brass-copper"}),
        ({"old-paint": "bare", "back": "weave-black"}, {"laminate-carbon", "ep-cf"}),
        ({"old-paint": "bare", "back": "grain", "water": "soaks"}, {"wood-solid", "plywood-birch"}),
        ({"old-paint": "bare", "feel": "rubbery", "bend": "rubber", "float": "sinks"}, {"silicone", "epdm"}),
        ({"old-paint": "bare", "back": "lines"}, {"pla-print"}),
        ({"old-paint": "thick-even", "magnet": "holds"}, {"paint-powder"}),
        ({"feel": "waxy", "nail": "marks", "float": "floats", "clear": "milky"}, {"pe-hd", "pe-ld"}),
    ],
)
def test_what_a_painter_sees_leads_to_the_material(answers, among):
    found = narrow(answers, SHELF, CLUES)
    best = found.left[0].score
    first = {c.id for c in found.left if c.score >= best - 1}
    assert first & among
    assert found.left[0].id in among or among <= first


def test_what_is_spoken_against_strongly_stands_below_what_is_merely_unsaid():
    found = told(what_is_it="clear-shell", old_paint="bare", clear="clear", bend="tough")
    scores = {c.id: c.score for c in found.left}
    assert ids(found.left)[:2] in (["pc", "pet"], ["pet", "pc"])
    assert scores["glass"] < 0
    table = ClueTable(
        questions={
            "look": question(
                "look", Saying(id="y", words="", effects=(effect("a", 4), effect("b", 9))), IDLE.answers[0]
            ),
            "feel": question("feel", Saying(id="y", words="", effects=(effect("a", -3), effect("b", -3)))),
        },
        kinds=PLAIN,
    )
    found = narrow({"look": "y", "feel": "y"}, FEW, table)
    assert [(c.id, c.score) for c in found.left] == [("b", 6), ("c", 0), ("a", -1)]  # a lead outweighs one slip


def test_answers_tell_of_the_piece_too():
    assert told_beside({"what-is-it": "clear-shell", "bend": "tough"}, CLUES) == {Tell.BEHIND_CLEAR, Tell.FLEXIBLE}
    assert told_beside({"what-is-it": "metal-tank"}, CLUES) == {Tell.RIGID}
    assert told_beside({"what-is-it": "metal-tank", "bend": "tough"}, CLUES) == frozenset()
    assert told_beside({"bend": CANT_SAY, "no-such-clue": "tough"}, CLUES) == frozenset()


@given(some_answers())
@examples(40)
def test_how_it_bends_is_not_asked_where_it_is_told(answers):
    asked = next_question(answers, SHELF, CLUES)
    if {Tell.RIGID, Tell.FLEXIBLE} & told_beside(answers, CLUES):
        assert asked is None or asked.id != "bend"


def test_a_mark_outweighs_a_clue_and_what_fits_it_less_stands_behind():
    marked = ranks(parse(">PP+EPDM-TD20<", load_marks()), SHELF)
    found = narrow({"what-is-it": "mirror"}, SHELF, CLUES, marked=marked)
    assert found.left[0].id == "tpo"
    assert found.unknown == ""
    assert found.left[0].pro == ("The mark on it names this.",)
    assert narrow({}, SHELF, CLUES, marked={"no-such-id": 0}) == narrow({}, SHELF, CLUES)


# --- what is asked next ------------------------------------------------------------------------------


def made(substrate_id, material=Material.PLASTIC):
    return Substrate(
        id=substrate_id, name=substrate_id, flex=Flex.RIGID, refuses_paint=False, moulded=True, source="",
        material=material,
    )  # fmt: skip


def effect(kind, weight):
    return Effect(kind=kind, weight=weight, why=f"{kind} {weight}.", source="test")


def question(clue_id, *sayings, effort=1, first=False):
    return Question(id=clue_id, ask="?", how="", effort=effort, answers=sayings, first=first)


FEW = (made("a"), made("b"), made("c"))
PLAIN = {k: MaterialKind(ids=frozenset(k)) for k in "abc"}


def clues(*questions):
    return ClueTable(questions={q.id: q for q in questions}, kinds=PLAIN)


TELLS = question("tells", Saying(id="y", words="", effects=(effect("a", 4), effect("b", -4))), Saying(id="n", words=""))
WEAK = question("weak", Saying(id="y", words="", effects=(effect("a", 1),)), Saying(id="n", words=""))
IDLE = question("idle", Saying(id="y", words=""), Saying(id="n", words=""))


def test_what_tells_most_is_asked_first_and_what_tells_nothing_never():
    table = clues(IDLE, WEAK, TELLS)
    assert next_question({}, FEW, table) is TELLS
    assert next_question({"tells": CANT_SAY}, FEW, clues(IDLE, TELLS)) is None
    assert next_question({}, FEW, clues(IDLE)) is None
    assert next_question({}, FEW[:1], table) is None


def test_trouble_counts_against_a_question():
    bath = question("bath", *TELLS.answers, effort=3)
    assert next_question({}, FEW, clues(bath, TELLS)) is TELLS
    assert next_question({}, FEW, clues(bath)) is bath


def test_what_stands_first_is_asked_first():
    opening = question("opening", *IDLE.answers, first=True)
    assert next_question({}, FEW, clues(TELLS, opening)) is opening
    assert next_question({"opening": "n"}, FEW, clues(TELLS, opening)) is TELLS


# --- the table ---------------------------------------------------------------------------------------


def test_every_clue_tells_apart_and_every_kind_is_some_material():
    for name, kind in CLUES.kinds.items():
        assert any(kind.holds(s) for s in SHELF), name
    for clue in CLUES.questions.values():
        assert len({narrow({clue.id: a.id}, SHELF, CLUES) for a in clue.answers}) > 1, clue.id
    refused = " ".join(r.why for r in CLUES.refused)
    assert "No burning" in refused
    assert "No solvent" in refused


def test_no_clue_burns_or_rubs_with_solvent():
    for clue in CLUES.questions.values():
        words = " ".join((clue.ask, clue.how, *(a.words for a in clue.answers))).casefold()
        for harm in ("burn", "flame", "lighter", "acetone", "thinner", "solvent", "cut off", "needle"):
            assert harm not in words, (clue.id, harm)


@pytest.mark.parametrize(
    ("old", "new", "place"),
    [
        ('"kind": "bumper"', '"kind": "bumpers"', "bumpers"),
        ('"ids": ["tpo",', '"ids": ["tpoo",', "tpoo"),
        ('"id": "visor"', '"id": "mirror"', "questions[0].answers"),
        ('"weight": 3,', '"weight": 33,', "weight"),
        ('"wetting_mN_m": [30, 33]', '"wetting_mN_m": [33, 30]', "wrong way round"),
        ('"effort": 2,', '"effort": 2, "colour": "red",', "colour"),
        ('"weight": -6, "why": "No magnet', '"weight": 6, "why": "No magnet', "speaks for it"),
    ],
)
def test_a_slip_in_the_table_is_a_fault_with_its_place(tmp_path, old, new, place):
    text = resource("clues.json").read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "clues.json"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(TableFault, match=r"clues\.json") as fault:
        read_clues(path, TABLE)
    assert place in str(fault.value)
