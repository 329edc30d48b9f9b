"""When a finished piece may be used: typed on a card, kept, told, compared and searched."""

from dataclasses import replace as changed
from datetime import timedelta

import pytest
from builders import CLEAR, hours
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import examples

from benchtool.job.cards import Card, Care, Origin, OriginKind
from benchtool.session.carddiff import differences
from benchtool.session.cardorigins import OriginText, key_of, place_of, value_at
from benchtool.session.cardreading import Wrong, care_told, read_card, write_card
from benchtool.session.cardsearch import CardIndex
from benchtool.session.cardvalues import card_values

CARED = replace(CLEAR, care={Care.WASH: timedelta(days=7), Care.TOUCH: hours(12)})


def _typed(card: Card, **care: str) -> Card:
    text = write_card(card)
    return read_card(changed(text, care={**text.care, **{Care(k): v for k, v in care.items()}}), card.id, card)


def test_what_is_typed_stands_on_the_card() -> None:
    made = _typed(CLEAR, wash="7 d", touch="12 h", wax="")
    assert made.care == {Care.TOUCH: hours(12), Care.WASH: timedelta(days=7)}
    assert care_told("1 h 30") == "1 h 30 min"
    assert care_told("soon") == ""


def test_what_is_emptied_is_gone() -> None:
    assert _typed(CARED, wash=" ").care == {Care.TOUCH: hours(12)}


@pytest.mark.parametrize("typed", ["48", "soon", "2 - 3 d", "-1 h"])
def test_a_time_that_can_not_be_read_is_told_at_its_field(typed: str) -> None:
    with pytest.raises(Wrong) as wrong:
        _typed(CLEAR, bend=typed)
    assert [key for key, _ in wrong.value.faults] == ["care-bend"]


@examples(60)
@given(st.dictionaries(st.sampled_from(Care), st.timedeltas(timedelta(0), timedelta(days=3_650))))
def test_a_card_read_from_what_it_writes_is_the_same_card(care: dict[Care, timedelta]) -> None:
    card = replace(CLEAR, care=care)
    again = read_card(write_card(card), card.id, card)
    assert again == card
    assert list(again.care) == list(care)  # a save that changes nothing moves no line of the file


def test_each_time_has_an_origin_of_its_own() -> None:
    card = replace(CARED, origins={"*": "a sheet", "care.wash": Origin(kind=OriginKind.MEASURED, words="a test piece")})
    assert place_of("care-wash", {}) == "care.wash"
    assert key_of("care.wash", card) == "care-wash"
    assert key_of("care.wax", card) is None
    assert value_at(card, "care.wash") == timedelta(days=7)
    assert value_at(card, "care.wax") is None
    text = write_card(card)
    assert text.origins is not None
    assert text.origins["care-wash"] == OriginText(kind=OriginKind.MEASURED, words="a test piece")
    assert read_card(text, card.id, card).origins == card.origins
    assert "care.wash" not in _typed(card, wash="8 d").origins


def test_it_is_told_and_compared() -> None:
    told = {value.key: (value.label, value.words) for value in card_values(CARED)}
    assert told["care.wash"] == ("May be washed after", "7 d")
    other = replace(CARED, care={Care.WASH: timedelta(days=9)})
    assert {d.key for d in differences(CARED, other)} == {"care.wash", "care.touch"}


@pytest.mark.parametrize(("typed", "found"), [("wash>=7d", True), ("wash<7d", False), ("wax<1000d", False),
                                              ("touch=12h", True)])  # fmt: skip
def test_it_is_searched(typed: str, found: bool) -> None:
    index = CardIndex()
    index.update([CARED, CLEAR])
    told = index.find(typed)
    assert not told.wrong
    assert [card.care for card in told.cards] == ([CARED.care] if found else [])
