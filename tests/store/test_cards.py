"""The card library: one plain file per card; a broken one is named, the rest are there."""

import errno
import json
import os
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR, COLOUR, PROMOTER
from hypothesis import given
from msgspec.structs import replace
from strategies import cards, examples

from benchtool.job.cards import Card, CardTime, ForcedDry
from benchtool.store import cards as library
from benchtool.store.cards import CardFault, CardFolder, SaveFault, dump, load


@pytest.fixture
def folder(tmp_path: Path) -> CardFolder:
    return CardFolder(tmp_path / "cards")


def write(folder: CardFolder, name: str, text: str) -> Path:
    folder.folder.mkdir(exist_ok=True)
    path = folder.folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_no_folder_is_an_empty_library(folder: CardFolder) -> None:
    assert folder.read() == library.Shelf()
    assert not folder.folder.exists()


def test_a_card_kept_is_there_by_name_for_the_next_one_who_looks(folder: CardFolder) -> None:
    for card in (PROMOTER, CLEAR, COLOUR):
        folder.save(card)
    assert folder.read().cards == (COLOUR, CLEAR, PROMOTER)
    assert CardFolder(folder.folder).read().cards == (COLOUR, CLEAR, PROMOTER)


def test_the_file_can_be_read_by_a_person(folder: CardFolder) -> None:
    plain = json.loads(folder.save(PROMOTER).read_text(encoding="utf-8"))
    assert plain["format"] == "bench card"
    assert plain["card"]["flash"] == "PT15M"
    assert plain["card"]["tape"] == "P1D"
    assert plain["card"]["activators"][0]["share"] == "2 % of base"


@examples(60)
@given(card=cards())
def test_every_card_comes_back_as_it_was(card: Card) -> None:
    assert library._parse(dump(card)) == card


def test_the_newer_replaces_and_the_older_is_kept_beside_it(folder: CardFolder) -> None:
    path = folder.save(CLEAR)
    assert folder.save(replace(CLEAR, coats_most=4)) == path
    assert [c.coats_most for c in folder.read().cards] == [4]
    assert list(path.with_name(f"{path.name}.versions").iterdir())


def test_a_file_of_another_name_is_replaced_where_it_is(folder: CardFolder) -> None:
    path = folder.save(CLEAR)
    moved = path.rename(path.with_name("our clear.json"))
    assert folder.save(replace(CLEAR, note="slow in the cold")) == moved
    assert [c.note for c in folder.read().cards] == ["slow in the cold"]


def test_a_broken_file_is_named_with_its_place_and_the_rest_load(folder: CardFolder) -> None:
    folder.save(CLEAR)
    path = folder.save(PROMOTER)
    path.write_text(path.read_text(encoding="utf-8").replace('"PT15M"', '"a while"'), encoding="utf-8")
    shelf = folder.read()
    assert shelf.cards == (CLEAR,)
    [fault] = shelf.faults
    assert fault.path == path
    assert fault.place == "$.card.flash"
    assert str(fault) == "promoter-2k.json: this is no length of time such as PT15M (at $.card.flash)"


def card_file(**more: Any) -> str:
    card = {"id": "a", "name": "A", "duty": "base", "origins": {}, **more}
    return json.dumps({"format": "bench card", "schema": library.SCHEMA, "card": card})


SCHEMA_1, SCHEMA_2 = (Path(__file__).with_name("frozen") / f"card.schema-{n}.json" for n in (1, 2))
"""A card as the program wrote it while the schema of cards was 1, and 2."""


def test_a_card_of_schema_1_opens_and_is_kept_as_the_newest_when_it_is_kept_again(
    folder: CardFolder, untouched: Callable[[Path], Any]
) -> None:
    path = write(folder, "promoter.json", SCHEMA_1.read_text(encoding="utf-8"))
    with untouched(path):
        shelf = folder.read()
    assert shelf.faults == ()
    [card] = shelf.cards
    assert (card.id, card.density_g_mL, card.film_um) == (PROMOTER.id, 0.9, 10.0)
    assert replace(card, density_g_mL=None, film_um=None, flash_most=None, note="") == replace(
        PROMOTER, recoat_closes=card.recoat_closes, cure=card.cure
    )
    assert folder.save(replace(card, reducer_keeps=timedelta(days=730))) == path
    plain = json.loads(path.read_text(encoding="utf-8"))
    assert (plain["schema"], plain["card"]["reducer_keeps"]) == (library.SCHEMA, "P730D")
    before = json.loads(SCHEMA_1.read_text(encoding="utf-8"))["card"]
    assert {**before, "reducer_keeps": "P730D"} == plain["card"]
    assert [c.reducer_keeps for c in CardFolder(folder.folder).read().cards] == [timedelta(days=730)]


def test_a_card_of_schema_2_opens_and_is_kept_as_the_newest_when_it_is_kept_again(
    folder: CardFolder, untouched: Callable[[Path], Any]
) -> None:
    path = write(folder, "promoter.json", SCHEMA_2.read_text(encoding="utf-8"))
    with untouched(path):
        [card] = folder.read().cards
    assert len(card.paces) == 4
    assert (card.forced, card.films) == ({}, ())
    heated = ForcedDry(degC=60.0, wait=timedelta(minutes=5))
    assert folder.save(replace(card, forced={CardTime.FLASH: heated}, films=((10.0, 1.0), (20.0, 1.5)))) == path
    plain = json.loads(path.read_text(encoding="utf-8"))
    before = json.loads(SCHEMA_2.read_text(encoding="utf-8"))["card"]
    told = {"forced": {"flash": {"degC": 60.0, "wait": "PT5M"}}, "films": [[10.0, 1.0], [20.0, 1.5]]}
    assert plain == {"format": "bench card", "schema": library.SCHEMA, "card": before | told}
    [again] = CardFolder(folder.folder).read().cards
    assert (again.forced, again.films) == ({CardTime.FLASH: heated}, ((10.0, 1.0), (20.0, 1.5)))


def test_a_newer_card_is_told_and_never_written_over(folder: CardFolder) -> None:
    text = dump(CLEAR).decode().replace('"schema": 3', '"schema": 4').replace('"card": {', '"card": {"gloss": 90,')
    path = write(folder, f"{CLEAR.id}.json", text)
    shelf = folder.read()
    assert shelf.cards == ()
    assert [str(f) for f in shelf.faults] == [
        "clear-2k.json: it was made by a newer version of this tool (at $.schema)"
    ]
    assert folder.save(CLEAR) != path
    assert path.read_text(encoding="utf-8") == text


@pytest.mark.parametrize(
    ("text", "said", "place"),
    [
        ("", "empty", ""),
        ("{", "breaks off", "line 1"),
        ("[]", "group of fields", "$"),
        ('{"format": "bench job"}', "not a card file", "$.format"),
        ('{"format": "bench card", "schema": 4, "card": {}}', "newer version", "$.schema"),
        ('{"format": "bench card", "schema": 2}', "“card” is missing", "$"),
        (card_file(glue=1), "“glue” is no field", "$.card.glue"),
        (card_file(flash="PT20M", flash_most="PT10M"), "shorter", "$.card.flash_most"),
        (
            card_file(activators=[{"id": "x", "name": "X", "suits": "any", "share": "4:1"}]),
            "of what",
            "$.card.activators",
        ),
        (card_file(solids_percent=101), "", "$.card.solids_percent"),
        (card_file(tolerance_percent=0), "", "$.card.tolerance_percent"),
        (card_file(density_g_mL=0.9, voc={"voc_g_L": 950}), "does not add up", "$.card.voc"),
        (card_file(forced={"cure": {"degC": 60, "wait": "PT0S"}}), "takes some time", '$.card.forced["cure"].wait'),
        (card_file(films=[[40, 1], [30, 2]]), "from thin to thick", "$.card.films[1]"),
        (card_file(id="../a"), "not written as it must be", "$.card.id"),
    ],
)
def test_it_says_what_is_wrong_and_where(folder: CardFolder, text: str, said: str, place: str) -> None:
    fault = load(write(folder, "card.json", text))
    assert isinstance(fault, CardFault)
    assert said in fault.message
    assert fault.place.startswith(place)


def test_odd_files_are_told_and_others_passed_over(folder: CardFolder) -> None:
    folder.save(CLEAR)
    write(folder, "notes.txt", "no card")
    write(folder, ".hidden.json", "no card")
    (folder.folder / "folder.json").mkdir()
    (folder.folder / "latin.json").write_bytes('{"format": "bench card", "note": "für"}'.encode("latin-1"))
    (folder.folder / "vast.json").write_bytes(b" " * (library.LARGEST + 1))
    shelf = folder.read()
    assert shelf.cards == (CLEAR,)
    assert {f.path.name for f in shelf.faults} == {"folder.json", "latin.json", "vast.json"}


def test_two_files_of_one_card_are_told(folder: CardFolder) -> None:
    path = folder.save(CLEAR)
    write(folder, "zz copy.json", path.read_text(encoding="utf-8"))
    shelf = folder.read()
    assert shelf.cards == (CLEAR,)
    assert "same card as clear-2k.json" in shelf.faults[0].message


def test_somebodys_broken_file_is_never_written_over(folder: CardFolder) -> None:
    path = write(folder, "clear-2k.json", "half a card")
    saved = folder.save(CLEAR)
    assert path.read_text(encoding="utf-8") == "half a card"
    assert saved.name == "clear-2k-2.json"
    assert folder.read().cards == (CLEAR,)


def test_a_file_is_read_once_until_it_changes(folder: CardFolder, monkeypatch: pytest.MonkeyPatch) -> None:
    for card in (PROMOTER, CLEAR):
        folder.save(card)
    folder.read()
    read: list[str] = []

    def reading(path: Path) -> Any:
        read.append(path.name)
        return load(path)

    monkeypatch.setattr(library, "load", reading)
    folder.read()
    assert read == []
    path = folder.folder / "clear-2k.json"
    path.write_text(path.read_text(encoding="utf-8").replace("Two-part clear", "Two-part matt clear"), encoding="utf-8")
    assert [c.name for c in folder.read().cards] == ["Two-part matt clear", "Two-part promoter"]
    assert read == ["clear-2k.json"]


def test_a_full_disk_is_said_and_the_old_card_stays(folder: CardFolder, monkeypatch: pytest.MonkeyPatch) -> None:
    folder.save(CLEAR)

    def full(*_: Any, **__: Any) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(library.atomic, "write", full)
    with pytest.raises(SaveFault, match="could not be written"):
        folder.save(replace(CLEAR, note="new"))
    assert folder.read().cards == (CLEAR,)
