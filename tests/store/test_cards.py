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
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import cards, examples

from benchtool.job.cards import Card, CardTime, Care, Chemistry, ForcedDry, Origin, OriginKind
from benchtool.store import atomic, batch, cardfiles
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
    assert cardfiles.parse(dump(card)) == card


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


SCHEMA_1, SCHEMA_2, SCHEMA_3, SCHEMA_4 = (
    Path(__file__).with_name("frozen") / f"card.schema-{n}.json" for n in (1, 2, 3, 4)
)
"""A card as the program wrote it while the schema of cards was 1 to 4."""


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


def test_a_card_of_schema_3_opens_and_is_kept_as_the_newest_when_it_is_kept_again(
    folder: CardFolder, untouched: Callable[[Path], Any]
) -> None:
    path = write(folder, "promoter.json", SCHEMA_3.read_text(encoding="utf-8"))
    with untouched(path):
        [card] = folder.read().cards
    assert (card.maker, card.chemistry, card.carrier, card.traits, card.additives) == ("", None, None, (), ())
    assert card.origin_of("flash") == Origin(kind=OriginKind.PRACTICE, words="common practice, no source")
    mine = Origin(kind=OriginKind.MEASURED, words="on a strip", day="2026-03-01")
    changed = replace(card, origins={**card.origins, "flash": mine}, chemistry=Chemistry.POLYOLEFIN)
    assert folder.save(changed) == path
    plain = json.loads(path.read_text(encoding="utf-8"))
    before = json.loads(SCHEMA_3.read_text(encoding="utf-8"))["card"]
    told = {"kind": "own measurement", "words": "on a strip", "day": "2026-03-01"}
    more = {"origins": before["origins"] | {"flash": told}, "chemistry": "polyolefin"}
    assert plain == {"format": "bench card", "schema": library.SCHEMA, "card": before | more}
    assert CardFolder(folder.folder).read().cards == (changed,)


def test_a_card_of_schema_4_opens_and_is_kept_as_the_newest_when_it_is_kept_again(
    folder: CardFolder, untouched: Callable[[Path], Any]
) -> None:
    path = write(folder, "promoter.json", SCHEMA_4.read_text(encoding="utf-8"))
    with untouched(path):
        [card] = folder.read().cards
    assert card.care == {}
    changed = replace(card, care={Care.WASH: timedelta(days=7)})
    assert folder.save(changed) == path
    plain = json.loads(path.read_text(encoding="utf-8"))
    before = json.loads(SCHEMA_4.read_text(encoding="utf-8"))["card"]
    assert plain == {"format": "bench card", "schema": library.SCHEMA, "card": before | {"care": {"wash": "P7D"}}}
    assert CardFolder(folder.folder).read().cards == (changed,)


def test_a_newer_card_is_told_and_never_written_over(folder: CardFolder) -> None:
    newer = dump(CLEAR).decode().replace(f'"schema": {library.SCHEMA}', f'"schema": {library.SCHEMA + 1}')
    text = newer.replace('"card": {', '"card": {"gloss": 90,')
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
        (f'{{"format": "bench card", "schema": {library.SCHEMA + 1}, "card": {{}}}}', "newer version", "$.schema"),
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
        (
            card_file(origins={"flash": {"kind": "rumour"}}),
            "“rumour” is none of the words",
            '$.card.origins["flash"].kind',
        ),
        (card_file(origins={"flash": {"words": "p. 2"}}), "“kind” is missing", '$.card.origins["flash"]'),
        (card_file(origins={"flash": {"kind": "guess", "day": "5 May"}}), "", '$.card.origins["flash"].day'),
        (card_file(chemistry="glue"), "“glue” is none of the words", "$.card.chemistry"),
        (card_file(dust_free="-PT5M"), "below zero", "$.card.dust_free"),
        (card_file(origins=5), "", "$.card.origins"),
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


# --- many cards, and sets of them ------------------------------------------------------------------


def text_of(card: Card) -> str:
    return dump(card).decode("utf-8")


def test_of_ten_thousand_files_the_one_that_is_broken_is_named_with_its_place_and_the_rest_are_there(
    folder: CardFolder,
) -> None:
    folder.folder.mkdir()
    text = text_of(COLOUR)
    for i in range(10_000):
        made = text.replace('"id": "colour"', f'"id": "colour-{i}"')
        (folder.folder / f"colour-{i}.json").write_text(made, encoding="utf-8")
    broken = folder.folder / "colour-7123.json"
    broken.write_text(broken.read_text(encoding="utf-8").replace('"PT10M"', '"10 min"'), encoding="utf-8")
    steps = list(folder.reading())
    assert steps[0] == (1, 10_000)
    assert steps[-1] == (10_000, 10_000)
    shelf = folder.read()
    assert len(shelf.cards) == 9_999
    assert "colour-7123" not in {card.id for card in shelf.cards}
    assert [str(f) for f in shelf.faults] == [
        "colour-7123.json: this is no length of time such as PT15M (at $.card.flash)"
    ]


def test_reading_that_is_given_up_in_the_middle_goes_on_where_it_was(
    folder: CardFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    for card in (PROMOTER, CLEAR, COLOUR):
        folder.save(card)
    fresh = CardFolder(folder.folder)
    read: list[str] = []
    monkeypatch.setattr(library, "load", lambda path: (read.append(path.name), load(path))[1])
    steps = fresh.reading()
    next(steps)
    steps.close()
    assert len(read) == 1
    assert fresh.read().cards == (COLOUR, CLEAR, PROMOTER)
    assert len(read) == 3


def test_a_file_that_goes_is_forgotten(folder: CardFolder) -> None:
    path = folder.save(CLEAR)
    folder.save(COLOUR)
    assert folder.read().cards == (COLOUR, CLEAR)
    path.unlink()
    assert folder.read().cards == (COLOUR,)


@examples(15)
@given(made=st.lists(cards(), max_size=4))
def test_a_set_comes_back_as_it_was(made: list[Card]) -> None:
    whole = [replace(card, id=f"c{i}") for i, card in enumerate(made)]
    brought = cardfiles.read_any(Path("a.json"), cardfiles.dump_set(whole))
    assert (brought.cards, brought.faults) == (tuple(whole), ())


def test_a_broken_card_of_a_set_is_named_with_its_place_and_the_rest_are_there() -> None:
    plain = json.loads(cardfiles.dump_set([CLEAR, COLOUR, PROMOTER]))
    plain["cards"][1]["flash"] = "-PT5M"
    plain["cards"].append({**plain["cards"][0], "name": "another"})
    plain["cards"].append(plain["cards"][0])
    plain["cards"].append(7)
    plain["cards"].append({**plain["cards"][2], "id": "x", "origins": {"*": "a", "flash": {"kind": "hearsay"}}})
    brought = cardfiles.read_any(Path("set.json"), json.dumps(plain).encode())
    assert [c.id for c in brought.cards] == [CLEAR.id, PROMOTER.id]
    assert [(f.place, f.message) for f in brought.faults] == [
        ("$.cards[1].flash", "a time can't be below zero"),
        ("$.cards[3].id", "there is another card of the id “clear-2k” in it already"),
        ("$.cards[5]", "a group of fields in { } belongs here and not a whole number"),
        ('$.cards[6].origins["flash"].kind', "“hearsay” is none of the words that may stand here"),
    ]


@pytest.mark.parametrize(
    ("text", "said", "place"),
    [
        ("", "empty", ""),
        ("what is this", "no JSON", "line 1"),
        ('{"format": "bench cards"}', "“schema” is missing", "$"),
        (f'{{"format": "bench cards", "schema": {library.SCHEMA + 1}, "cards": []}}', "newer version", "$.schema"),
        ('{"format": "bench cards", "schema": 4, "cards": {}}', "list belongs here", "$.cards"),
        ('{"format": "bench cards", "schema": 4, "cards": [], "more": 1}', "“more” is no field", "$.more"),
        ('{"format": "bench cards", "schema": 4, "cards": [{', "breaks off", "line 1"),
        ('{"format": "bench job"}', "not a card file", "$.format"),
    ],
)
def test_a_set_that_is_none_is_told(text: str, said: str, place: str) -> None:
    brought = cardfiles.read_any(Path("set.json"), text.encode())
    assert brought.cards == ()
    [fault] = brought.faults
    assert said in fault.message
    assert fault.place.startswith(place)


@examples(50)
@given(card=cards(), data=st.data())
def test_bytes_changed_anywhere_in_a_set_are_read_or_told(card: Card, data: st.DataObject) -> None:
    damaged = bytearray(cardfiles.dump_set([card, replace(card, id="other")]))
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(damaged) - 1))
        gone = data.draw(st.integers(0, 3))
        damaged[at : at + gone] = data.draw(st.binary(max_size=3) | st.sampled_from([b'"', b"}", b"-", b"null"]))
    brought = cardfiles.read_any(Path("set.json"), bytes(damaged))
    assert all(str(f).isprintable() for f in brought.faults)
    for whole in brought.cards:
        assert cardfiles.parse(dump(whole)) == whole


# --- all or nothing --------------------------------------------------------------------------------


def save_all(folder: CardFolder, *made: Card) -> None:
    for _ in folder.saving_all(made):
        pass


def picture(folder: CardFolder) -> dict[str, bytes]:
    return {str(p): p.read_bytes() for p in sorted(folder.folder.rglob("*")) if p.is_file()}


def test_several_cards_are_kept_at_once_each_in_place_of_its_own(folder: CardFolder) -> None:
    path = folder.save(CLEAR)
    save_all(folder, replace(CLEAR, note="new"), COLOUR, PROMOTER)
    assert [c.note for c in folder.read().cards] == ["", "new", ""]
    assert load(atomic.versions(path)[0]) == CLEAR
    assert not list(folder.folder.glob(".*"))
    assert CardFolder(folder.folder).read() == folder.read()


@pytest.mark.parametrize("good", range(5))
def test_a_disk_that_fills_up_in_the_middle_leaves_all_as_it_was(
    folder: CardFolder, good: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However many of the files the disk still took: none of the new cards is there, and none of the old is gone."""
    folder.save(CLEAR)
    folder.save(replace(CLEAR, note="second"))
    before, synced, sync = picture(folder), 0, os.fsync

    def fills_up(descriptor: int) -> None:
        nonlocal synced
        synced += 1
        if synced > good:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        sync(descriptor)

    monkeypatch.setattr(os, "fsync", fills_up)
    with pytest.raises(SaveFault, match="None of these cards could be written"):
        save_all(folder, COLOUR, replace(CLEAR, note="third"), PROMOTER)
    assert picture(folder) == before
    monkeypatch.setattr(os, "fsync", sync)
    save_all(folder, COLOUR, PROMOTER)
    assert len(folder.read().cards) == 3


def test_a_name_that_somebody_took_meanwhile_is_not_written_over(
    folder: CardFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What another program put there between the look and the write stays, and what was put beside it goes again."""
    folder.save(CLEAR)
    place, theirs = batch.place, folder.folder / f"{PROMOTER.id}.json"

    def meanwhile(temp: Path, path: Path) -> None:
        theirs.write_text("theirs", encoding="utf-8")
        place(temp, path)

    monkeypatch.setattr(batch, "place", meanwhile)
    with pytest.raises(SaveFault):
        save_all(folder, replace(CLEAR, note="new"), COLOUR, PROMOTER)
    assert theirs.read_text(encoding="utf-8") == "theirs"
    assert folder.read().cards == (CLEAR,)
    assert not list(folder.folder.glob(".*"))


def test_whoever_stops_in_the_middle_keeps_nothing(folder: CardFolder) -> None:
    folder.save(CLEAR)
    before = picture(folder)
    work = folder.saving_all((COLOUR, replace(CLEAR, note="new"), PROMOTER))
    assert next(work) == (1, 3)
    assert next(work) == (2, 3)
    work.close()
    assert picture(folder) == before


def test_without_hard_links_it_is_the_same(folder: CardFolder, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_links(*_: Any, **__: Any) -> None:
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))

    monkeypatch.setattr(os, "link", no_links)
    save_all(folder, CLEAR, COLOUR)
    aside = folder.take_out(CLEAR.id)
    assert folder.read().cards == (COLOUR,)
    assert folder.bring_back(aside) == folder.folder / f"{CLEAR.id}.json"
    assert folder.read().cards == (COLOUR, CLEAR)


# --- out and back ----------------------------------------------------------------------------------


def test_a_card_taken_out_lies_among_its_versions_and_comes_back(folder: CardFolder) -> None:
    path = folder.save(CLEAR)
    folder.save(replace(CLEAR, note="second"))
    text = path.read_bytes()
    aside = folder.take_out(CLEAR.id.upper())
    assert folder.read().cards == ()
    assert aside in atomic.versions(path)
    assert len(atomic.versions(path)) == 2
    assert folder.bring_back(aside) == path
    assert path.read_bytes() == text


def test_a_card_made_anew_meanwhile_is_not_replaced_by_the_one_taken_out(folder: CardFolder) -> None:
    folder.save(CLEAR)
    aside = folder.take_out(CLEAR.id)
    folder.save(replace(CLEAR, note="new"))
    with pytest.raises(SaveFault, match="there again"):
        folder.bring_back(aside)
    assert [c.note for c in folder.read().cards] == ["new"]
    with pytest.raises(SaveFault, match="not there any more"):
        folder.take_out("nobody")


def test_a_place_that_a_broken_file_took_meanwhile_is_left_to_it(folder: CardFolder) -> None:
    path = folder.save(CLEAR)
    aside = folder.take_out(CLEAR.id)
    path.write_text("half", encoding="utf-8")
    assert folder.bring_back(aside).name == "clear-2k-2.json"
    assert path.read_text(encoding="utf-8") == "half"


def test_a_value_that_stands_twice_on_a_card_is_told_and_neither_of_the_two_is_taken(tmp_path: Path) -> None:
    text = dump(CLEAR).decode().replace('"flash": ', '"flash": "PT1M", "flash": ')
    assert text.count('"flash"') == 2
    path = tmp_path / "clear.json"
    path.write_text(text, encoding="utf-8")
    fault = load(path)
    assert isinstance(fault, CardFault)
    assert (fault.message, fault.place) == ("“flash” stands here twice", "$.card")
    card = text.partition('"card": ')[2].rpartition("}")[0]
    path.write_text(f'{{"format": "bench cards", "schema": 4, "cards": [{card}]}}', encoding="utf-8")
    brought = cardfiles.load_any(path)
    assert brought.cards == ()
    assert [(f.message, f.place) for f in brought.faults] == [("“flash” stands here twice", "$.cards[0]")]
