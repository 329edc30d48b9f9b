"""What the library says of files and origins is said in the painter's words, and which side is whose."""

from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

import pytest
from builders import CLEAR
from msgspec.structs import replace

from benchtool.job.cards import Card, Origin, OriginKind
from benchtool.session.carddiff import differences, differences_words
from benchtool.session.cardfaultwords import fault_told
from benchtool.session.librarypage import general_origin
from benchtool.store.cardfiles import CardFault, dump, read_any


def broken(old: bytes, new: bytes) -> str:
    data = dump(replace(CLEAR, film_um=15.5))
    assert old in data
    [fault] = read_any(Path("clear.json"), data.replace(old, new)).faults
    return fault_told(fault)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (b'"film_um": 15.5', b'"film_um": "15"',
         "Film per coat: a number, or nothing at all, belongs here and not text (at $.card.film_um)"),
        (b'"flash": "PT15M"', b'"flash": "a bit"', "Flash between coats: "),
        (b'"share": "50 % of base"', b'"share": 7', "Activator 1, share: text belongs here and not a whole number (at"),
        (b'"coats_least": 2', b'"coats_least": 0', "Coats, least: this number must be 1 or more"),
    ],
)  # fmt: skip
def test_the_field_is_named_as_the_form_names_it_and_the_place_comes_after(old: bytes, new: bytes, told: str) -> None:
    said = broken(old, new)
    assert said.startswith(f"clear.json: {told}")
    assert "null" not in said


def test_a_card_of_a_set_is_named_so_too() -> None:
    fault = CardFault(Path("set.json"), "a number belongs here and not text", "$.cards[3].film_um")
    assert fault_told(fault) == ("set.json: Film per coat: a number belongs here and not text (at $.cards[3].film_um)")


@pytest.mark.parametrize("place", ["line 3, column 4", "$.format", "$", "$.card", "$.card.no_such", ""])
def test_what_is_of_no_field_is_told_all_the_same(place: str) -> None:
    told = fault_told(CardFault(Path("a.json"), "this is no JSON", place))
    assert told.startswith("a.json: this is no JSON")
    assert place in told


def test_every_field_of_a_card_has_its_name() -> None:
    for field in Card.__struct_fields__:
        if field != "id":
            told = fault_told(CardFault(Path("a.json"), "no", f"$.card.{field}"))
            assert told != f"a.json: no (at $.card.{field})", field


def test_which_is_mine_and_which_comes_in_is_said() -> None:
    mine = replace(CLEAR, film_um=18, dust_free=timedelta(minutes=9), note="")
    new = replace(CLEAR, film_um=12, dust_free=None, note="theirs")
    told = differences_words(differences(mine, new), 9, "\n", compared=True).splitlines()
    assert "Dry film of a coat: yours 18 µm, the new one 12 µm." in told
    assert "Dust-free: yours 9 min, the new one says nothing." in told
    assert "Note: yours says nothing, the new one theirs." in told


@dataclass
class Case:
    origin: str | Origin | None
    told: str


@pytest.mark.parametrize(
    "case",
    [
        Case(Origin(kind=OriginKind.SHEET, words="made-up B", page="2"),
             "The values are from the data sheet: made-up B, page 2."),
        Case("made-up sheet B", "The values are from: made-up sheet B."),
        Case(Origin(kind=OriginKind.SHEET), "The values are from a data sheet."),
        Case(Origin(kind=OriginKind.MEASURED), "The values were measured."),
        Case(Origin(kind=OriginKind.TOLD, words="a friend"), "The values are as told: a friend."),
        Case(Origin(kind=OriginKind.PRACTICE), "The values are common practice."),
        Case(Origin(kind=OriginKind.GUESS, words="felt so."), "The values are a guess: felt so."),
        Case(None, "Nobody wrote down where its values come from."),
    ],
)  # fmt: skip
def test_where_the_values_come_from_is_a_sentence(case: Case) -> None:
    origins = {} if case.origin is None else {"*": case.origin}
    assert general_origin(replace(CLEAR, origins=origins)) == case.told
