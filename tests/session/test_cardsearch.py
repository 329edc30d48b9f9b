"""Searching the library: words anywhere, what a card gives, and a question that can't be understood."""

from datetime import timedelta

import pytest
from builders import CLEAR, COLOUR, PROMOTER
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import cards, examples, words

from benchtool.job.cards import Additive, Card, Carrier, Chemistry, Hazard, Origin, OriginKind, Trait
from benchtool.session.cardsearch import CardIndex, how_to_search, read_query
from benchtool.session.librarypage import kind_words
from benchtool.trade.substrates import Suits

BARE = Card(id="bare", name="Plain thing", duty=COLOUR.duty, origins={})
EPOXY = replace(
    BARE,
    id="epoxy",
    name="Grundierung für alles",
    maker="Demo coatings A",
    chemistry=Chemistry.EPOXY,
    carrier=Carrier.SOLVENT,
    traits=(Trait.HIGH_SOLIDS,),
    hazards=(Hazard.EPOXY,),
    solids_percent=62.0,
    film_um=40.0,
    coats_most=2,
    density_g_mL=1.35,
    flash=timedelta(minutes=20),
    recoat_opens=timedelta(hours=3),
    pot_life=timedelta(hours=4),
    note="Behind the door",
    additives=(Additive(id="flex", name="Bending drops", suits=Suits.FLEXIBLE, share="5 % of base"),),
    origins={"*": "Sheet 12", "flash": Origin(kind=OriginKind.GUESS, words="felt so")},
)
CLEAR_90 = replace(CLEAR, recoat_opens=timedelta(minutes=90), name="Clear for outside")
EVERY = (EPOXY, BARE, COLOUR, CLEAR_90, PROMOTER)


def found(typed: str) -> set[str]:
    index = CardIndex()
    index.update(EVERY)
    return {card.id for card in index.find(typed).cards}


ALL = {card.id for card in EVERY}


@pytest.mark.parametrize(
    ("typed", "ids"),
    [
        ("", ALL),
        ("   ", ALL),
        ("epoxy", {"epoxy"}),
        ("EPOXY", {"epoxy"}),
        ("fur alles", {"epoxy"}),
        ("für ALLES", {"epoxy"}),
        ("alles door", {"epoxy"}),
        ("alles outside", set()),
        ("demo coatings", {"epoxy"}),
        ("bending", {"epoxy"}),
        ("sheet 12", {"epoxy"}),
        ("guess", {"epoxy"}),
        ("high solids", {"epoxy"}),
        ("hardener", {CLEAR.id}),
        ("two-part", {CLEAR.id, PROMOTER.id}),
        ("one-part", {"epoxy", "bare", COLOUR.id}),
        ("pot life", {"epoxy", CLEAR.id}),
        ("flash<20min", {COLOUR.id, CLEAR.id, PROMOTER.id}),
        ("flash<=20min", {"epoxy", COLOUR.id, CLEAR.id, PROMOTER.id}),
        ("flash < 20 min", {COLOUR.id, CLEAR.id, PROMOTER.id}),
        ("flash=15", {CLEAR.id, PROMOTER.id}),
        ("FLASH:15min", {CLEAR.id, PROMOTER.id}),
        ("flash≥20min", {"epoxy"}),
        ("recoat>=90min", {"epoxy", CLEAR.id}),
        ("recoat >= 1.5 h", {"epoxy", CLEAR.id}),
        ("recoat>90min", {"epoxy"}),
        ("pot life>2h", {"epoxy"}),
        ("potlife>=2h", {"epoxy", CLEAR.id}),
        ("solids>50", {"epoxy"}),
        ("solids>50%", {"epoxy"}),
        ("solids>62", set()),
        ("film<=40um", {"epoxy"}),
        ("coats<=2", {"epoxy", PROMOTER.id}),
        ("density>1.3", {"epoxy"}),
        ("chemistry:epoxy", {"epoxy"}),
        ("chemistry:lacquer", set()),
        ("carrier:solvent", {"epoxy"}),
        ('maker:"demo coatings a"', {"epoxy"}),
        ("trait:solids", {"epoxy"}),
        ("hazard:isocyanates", {PROMOTER.id} | ({CLEAR.id} if Hazard.ISOCYANATES in CLEAR.hazards else set())),
        ("use:promoter", {PROMOTER.id}),
        ("activator:slow", {CLEAR.id}),
        ("from:guess", {"epoxy"}),
        ("flash<20min, two-part", {CLEAR.id, PROMOTER.id}),
        ("flash<20min two-part clear", {CLEAR.id}),
    ],
)
def test_cards_are_found_by_words_and_by_what_they_give(typed: str, ids: set[str]) -> None:
    assert found(typed) == ids


def test_the_trade_reads_back_what_was_asked() -> None:
    query = read_query("flash<10min solids>=50 chemistry:epoxy tank")
    assert query.told == "flash < 10 min, solids >= 50 %, chemistry epoxy"
    assert query.words == ("tank",)
    assert query.wrong == ""


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("flash<", "flash asks for a time, such as flash<10min."),
        ("flash<soon", "flash asks for a time, such as flash<10min."),
        ("recoat>2", "recoat asks for a time, such as recoat>10min."),
        ("solids>lots", "solids asks for a number, such as solids>50."),
        ("chemistry:", "chemistry asks for a word, such as chemistry:epoxy."),
    ],
)
def test_half_a_question_narrows_nothing_and_says_what_to_type(typed: str, says: str) -> None:
    index = CardIndex()
    index.update(EVERY)
    answer = index.find(typed)
    assert {c.id for c in answer.cards} == ALL
    assert answer.wrong == says


def test_every_example_under_the_field_is_understood() -> None:
    examples_shown = how_to_search().partition(": ")[2].rstrip(".").split(", ")
    assert len(examples_shown) == 5
    for shown in examples_shown:
        query = read_query(shown)
        assert query.wrong == ""
        assert query.tests or query.words


def test_a_card_that_is_called_so_comes_before_one_that_only_says_so() -> None:
    index = CardIndex()
    named = replace(BARE, id="z", name="Door paint")
    index.update((EPOXY, BARE, named))
    assert [c.id for c in index.find("door").cards] == ["z", "epoxy"]


def test_only_new_cards_are_looked_into_again() -> None:
    index = CardIndex()
    assert len(list(index.updating(EVERY))) == len(EVERY)
    assert list(index.updating(EVERY)) == []
    assert len(list(index.updating((*EVERY, replace(BARE, id="more"))))) == 1
    index.update(EVERY[:1])
    assert len(index) == 1
    assert [c.id for c in index.find("").cards] == ["epoxy"]


@examples(25)
@given(made=st.lists(cards(), min_size=1, max_size=3), typed=st.text(max_size=40) | words)
def test_whatever_is_typed_is_answered_by_cards_of_the_library(made: list[Card], typed: str) -> None:
    index = CardIndex()
    index.update(made)
    answer = index.find(typed)
    assert set(map(id, answer.cards)) <= set(map(id, made))
    assert all(id(card) in set(map(id, index.find("").cards)) for card in made)


@examples(25)
@given(card=cards())
def test_a_card_is_found_by_any_word_of_its_name_and_by_its_own_times(card: Card) -> None:
    index = CardIndex()
    index.update((card,))
    for word in (*card.name.split(), "two-part" if card.two_part else "one-part"):
        assert index.find(word).cards == (card,)
    if card.flash is not None:
        minutes = card.flash.total_seconds() / 60
        assert index.find(f"flash={minutes:g}min").cards == (card,)
        assert index.find(f"flash<{minutes:g}min").cards == ()


def test_a_kind_is_said_as_a_painter_would_and_other_is_no_word_of_it() -> None:
    assert kind_words(replace(CLEAR, two_part=True, chemistry=Chemistry.URETHANE)) == "two-part urethane clear"
    assert kind_words(replace(CLEAR, two_part=True, chemistry=Chemistry.OTHER)) == "two-part clear"
    assert kind_words(replace(CLEAR, two_part=True, chemistry=None)) == "two-part clear"
