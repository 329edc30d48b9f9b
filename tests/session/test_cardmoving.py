"""Cards out to a file and in again: nothing is replaced unasked, and a broken one holds up no other."""

import errno
import json
import os
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR, COLOUR, PROMOTER
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import cards, examples

from benchtool.job.cards import Card
from benchtool.session import cardmoving
from benchtool.session.cardmoving import Brought, Choice, Incoming, cards_text, export, held_against, sources, take_in
from benchtool.session.library import CardLibrary, NotKept, Progress
from benchtool.store import cards as store

THEIRS = replace(CLEAR, flash=timedelta(minutes=3), note="theirs")


@pytest.fixture
def library(tmp_path: Path) -> CardLibrary:
    return CardLibrary(tmp_path / "cards")


def read(*paths: Path) -> list[Brought]:
    return [step for step in sources(paths) if isinstance(step, Brought)]


def bring(library: CardLibrary, text: str, *choices: Choice) -> tuple[Incoming, str]:
    incoming = held_against(library, cardmoving.pasted(text))
    for choice in choices:
        incoming.choose(choice)
    return incoming, take_in(library, incoming)


# --- out -------------------------------------------------------------------------------------------


def test_one_card_goes_out_as_its_own_file_and_more_as_a_set(tmp_path: Path) -> None:
    one, more = tmp_path / "one.json", tmp_path / "more.json"
    assert export((CLEAR,), one) == f"1 card is in {one}."
    assert export((CLEAR, COLOUR), more) == f"2 cards are in {more}."
    assert store.load(one) == CLEAR
    assert json.loads(more.read_text(encoding="utf-8"))["format"] == "bench cards"
    assert [b.cards for b in read(one, more)] == [(CLEAR,), (CLEAR, COLOUR)]


def test_a_file_that_is_there_is_not_written_over(tmp_path: Path) -> None:
    path = tmp_path / "mine.json"
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(NotKept, match="is there already: choose another name"):
        export((CLEAR,), path)
    assert path.read_text(encoding="utf-8") == "mine"
    with pytest.raises(NotKept, match="no card to write"):
        export((), tmp_path / "none.json")
    with pytest.raises(NotKept, match=r"There is no folder .*gone: choose another one\."):
        export((CLEAR,), tmp_path / "gone" / "a.json")
    assert not (tmp_path / "gone").exists()
    with pytest.raises(NotKept, match="could not be written"):
        export((CLEAR,), tmp_path / ("n" * 300 + ".json"))


@examples(25)
@given(made=st.lists(cards(), min_size=1, max_size=3))
def test_what_is_copied_as_text_is_the_same_when_it_is_pasted(made: list[Card]) -> None:
    whole = tuple(replace(card, id=f"c{i}") for i, card in enumerate(made))
    text = cards_text(whole)
    assert cardmoving.looks_like_cards(text)
    assert cardmoving.pasted(text).cards == whole


# --- in --------------------------------------------------------------------------------------------


def test_new_cards_come_in_and_the_same_ones_are_counted(library: CardLibrary) -> None:
    library.keep(COLOUR)
    _, words = bring(library, cards_text((CLEAR, COLOUR)))
    assert words == "pasted text: 1 card came in, 1 is here just so."
    assert library.look().cards == (COLOUR, CLEAR)


@pytest.mark.parametrize(
    ("choice", "names", "words"),
    [
        (Choice.MINE, ["Two-part clear 15"], "1 of yours stayed"),
        (Choice.NEW, ["Two-part clear 3"], "1 took the place of yours"),
        (Choice.BOTH, ["Two-part clear 15", "Two-part clear (2) 3"], "1 card came in"),
    ],
)
def test_of_two_that_differ_the_painter_chooses(
    library: CardLibrary, choice: Choice, names: list[str], words: str
) -> None:
    library.keep(CLEAR)
    incoming, said = bring(library, cards_text((THEIRS,)), choice)
    assert [d.words for d in incoming.clashes[0].found] == ["Flash: 3 min, was 15 min.", "Note: theirs, was not given."]
    assert said == f"pasted text: {words}."
    flashes = [f"{c.name} {c.flash.total_seconds() / 60:g}" for c in library.look().cards if c.flash is not None]
    assert flashes == names
    if choice is Choice.NEW:
        [version] = (library.folder / "clear-2k.json.versions").iterdir()
        assert store.load(version) == CLEAR


def test_what_is_undecided_stays_as_it_is(library: CardLibrary) -> None:
    library.keep(CLEAR)
    incoming, words = bring(library, cards_text((THEIRS, COLOUR)))
    assert incoming.undecided is not None
    assert words == "pasted text: 1 card came in, 1 of yours stayed."
    assert library.look().cards == (COLOUR, CLEAR)


def test_one_choice_can_be_for_all_that_are_left(library: CardLibrary) -> None:
    mine = [replace(CLEAR, id=f"c{i}", name=f"C{i}") for i in range(4)]
    for card in mine:
        library.keep(card)
    incoming = held_against(library, cardmoving.pasted(cards_text([replace(c, note="new") for c in mine])))
    incoming.choose(Choice.MINE)
    incoming.choose(Choice.NEW, all_left=True)
    assert [c.choice for c in incoming.clashes] == [Choice.MINE, *[Choice.NEW] * 3]
    take_in(library, incoming)
    assert [c.note for c in library.look().cards] == ["", "new", "new", "new"]


def test_both_are_kept_under_names_and_ids_that_nobody_has(library: CardLibrary) -> None:
    long = replace(CLEAR, name="x" * 200)
    library.keep(long)
    library.keep(replace(COLOUR, id="clear-2k-2", name="x" * 196 + " (2)"))
    bring(library, cards_text((replace(long, note="theirs"),)), Choice.BOTH)
    assert {(c.id, c.name[-5:]) for c in library.look().cards} == {
        ("clear-2k", "xxxxx"), ("clear-2k-2", "x (2)"), ("clear-2k-3", "x (3)"),
    }  # fmt: skip


def test_an_id_in_another_case_is_the_same_card(library: CardLibrary) -> None:
    library.keep(CLEAR)
    incoming, _ = bring(library, cards_text((replace(THEIRS, id="CLEAR-2K"),)), Choice.NEW)
    assert len(incoming.clashes) == 1
    assert library.look().cards == (THEIRS,)


def test_a_broken_card_is_named_and_the_others_come_in(library: CardLibrary) -> None:
    plain = json.loads(cards_text((CLEAR, COLOUR)))
    plain["cards"][0]["flash"] = 15
    incoming, words = bring(library, json.dumps(plain))
    assert words == "pasted text: 1 card came in, 1 could not be read."
    [broken] = incoming.broken
    assert broken.startswith("pasted text: ")
    assert broken.endswith("(at $.cards[0].flash)")
    assert library.look().cards == (COLOUR,)


@pytest.mark.parametrize("text", ["{", "{}", '{"format": "bench job", "schema": 1}', '{"a": "\ud83d"}'])
def test_what_is_no_card_brings_nothing_and_says_so(library: CardLibrary, text: str) -> None:
    incoming, words = bring(library, text)
    assert len(incoming.broken) == 1
    assert words == "pasted text: 1 could not be read."
    assert library.look().cards == ()
    assert not library.folder.exists()


def test_a_folder_is_one_matter_and_its_files_are_named(library: CardLibrary, tmp_path: Path) -> None:
    folder = tmp_path / "from a friend"
    folder.mkdir()
    export((CLEAR,), folder / "a.json")
    export((COLOUR, PROMOTER), folder / "b.json")
    export((replace(THEIRS, id="CLEAR-2k"),), folder / "c.json")
    (folder / "d.json").write_text("half", encoding="utf-8")
    (folder / "notes.txt").write_text("no card", encoding="utf-8")
    (folder / "a.json.versions").mkdir()
    [brought] = read(folder)
    assert brought.cards == (CLEAR, COLOUR, PROMOTER)
    assert [f.path.name for f in brought.faults] == ["c.json", "d.json"]
    assert take_in(library, held_against(library, brought)) == ("from a friend: 3 cards came in, 2 could not be read.")
    assert [type(step) for step in sources((folder,))].count(Progress) == 4


def test_text_of_a_card_is_text(library: CardLibrary) -> None:
    odd = replace(CLEAR, name="<b>x</b>\u202e\n{y}", note="%s {0} <script>", maker="{name}")
    _, words = bring(library, cards_text((odd,)))
    assert "1 card came in" in words
    assert library.look().cards == (odd,)


def test_a_full_disk_brings_in_all_or_nothing(library: CardLibrary, full_disk: Any) -> None:
    library.keep(CLEAR)
    before = {p: p.read_bytes() for p in library.folder.rglob("*") if p.is_file()}
    with full_disk(), pytest.raises(NotKept, match="Nothing was brought in"):
        bring(library, cards_text((COLOUR, THEIRS, PROMOTER)), Choice.NEW)
    assert {p: p.read_bytes() for p in library.folder.rglob("*") if p.is_file()} == before
    bring(library, cards_text((COLOUR, THEIRS, PROMOTER)), Choice.NEW)
    assert len(library.look().cards) == 3


# --- out of the library and back -------------------------------------------------------------------


def test_a_card_is_taken_out_and_brought_back(library: CardLibrary) -> None:
    library.keep(CLEAR)
    aside = library.take_out(CLEAR)
    assert library.look().cards == ()
    assert aside.where.startswith("clear-2k.json.versions/")
    assert library.bring_back(aside) == CLEAR
    assert library.look().cards == (CLEAR,)
    with pytest.raises(NotKept, match="Two-part clear is not back"):
        library.bring_back(aside)


def test_a_card_that_can_t_be_taken_out_stays(library: CardLibrary, monkeypatch: pytest.MonkeyPatch) -> None:
    library.keep(CLEAR)

    def no(*_: Any, **__: Any) -> None:
        raise OSError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr(Path, "mkdir", no)
    with pytest.raises(NotKept, match="Two-part clear stays in your library"):
        library.take_out(CLEAR)
    assert library.look().cards == (CLEAR,)


# --- a little at a time ----------------------------------------------------------------------------


def test_the_library_is_read_a_little_at_a_time(library: CardLibrary) -> None:
    for i in range(5):
        library.keep(replace(COLOUR, id=f"c{i}"))
    steps = list(CardLibrary(library.folder).reading())
    assert steps[0] == Progress(1, 5)
    assert steps[4].words == "5 of 5 cards read"
    assert Progress(1_200, 5_000).words == "1,200 of 5,000 cards read"
    assert len(library.find("base").cards) == 5
    library.keep(replace(COLOUR, id="c9", name="Another"))
    assert [c.id for c in library.find("another").cards] == ["c9"]
