"""`benchtool cards`: what is found, what goes out, what comes in, and what can't be."""

import json
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR, COLOUR, PROMOTER
from cli.asking import ask
from msgspec.structs import replace

from benchtool.job.cards import Origin, OriginKind
from benchtool.session.cardmoving import cards_text
from benchtool.session.library import CardLibrary, NotKept


@pytest.fixture
def library(tmp_path: Path) -> CardLibrary:
    made = CardLibrary(tmp_path / "cards")
    for card in (CLEAR, COLOUR, PROMOTER):
        made.keep(card)
    return made


def test_all_cards_are_listed_and_words_narrow_them(library: CardLibrary) -> None:
    said = ask("cards", library=library)
    assert said.status == 0
    assert said.out.splitlines()[-1] == "3 cards."
    assert said.out.startswith("Base colour: one-part base, flash 10 min, recoat 20 min to 24 h.\n") or (
        said.out.startswith("Base colour: one-part ")
    )
    said = ask("cards", "two-part", "pot life>1h", library=library)
    assert said.out.splitlines()[-1] == "1 of 3 cards."
    assert said.out.startswith("Two-part clear: ")


def test_the_answer_for_scripts_gives_each_value_with_where_it_is_from(library: CardLibrary) -> None:
    guess = Origin(kind=OriginKind.GUESS, words="felt so")
    library.keep(replace(CLEAR, origins={"*": "Sheet 7", "flash": guess}))
    values = ask("cards", "clear", "--json", library=library).values
    assert (values["shown"], values["of"], values["faults"]) == (1, 3, [])
    [card] = values["cards"]
    told = {v["value"]: v for v in card["values"]}
    assert told["flash"] == {
        "value": "flash", "label": "Flash", "words": "15 min", "from": "a guess, felt so", "guess": True,
    }  # fmt: skip
    assert (told["pot_life"]["from"], told["pot_life"]["guess"]) == ("sheet, Sheet 7", False)


def test_a_broken_file_is_named_and_the_status_says_so(library: CardLibrary) -> None:
    path = library.folder / "colour.json"
    path.write_text(path.read_text(encoding="utf-8").replace('"PT10M"', '"soon"'), encoding="utf-8")
    said = ask("cards", library=library)
    assert said.status == 1
    assert said.out.endswith("  colour.json: this is no length of time such as PT15M (at $.card.flash).\n")
    values = ask("cards", "--json", library=library).values
    assert values["of"] == 2
    assert [(f["place"], Path(f["file"]).name) for f in values["faults"]] == [("$.card.flash", "colour.json")]


def test_what_is_found_goes_out_and_comes_in_elsewhere(library: CardLibrary, tmp_path: Path) -> None:
    out = tmp_path / "two.json"
    said = ask("cards", "two-part", "--export", str(out), library=library)
    assert (said.status, said.out) == (0, f"2 cards are in {out}.\n")
    other = CardLibrary(tmp_path / "other")
    said = ask("cards", "--import", str(out), library=other)
    assert said.status == 0
    assert said.out.splitlines()[0] == "two.json: 2 cards came in."
    assert other.look().cards == (CLEAR, PROMOTER)
    values = ask("cards", "--import", str(out), "--json", library=other).values
    assert values["imported"] == [
        {"file": "two.json", "words": "two.json: 2 are here just so.", "new": [], "same": ["clear-2k", "promoter-2k"],
         "differing": [], "broken": []}
    ]  # fmt: skip
    said = ask("cards", "--export", str(out), library=library)
    assert (said.status, "there already" in said.err) == (2, True)


THEIRS = replace(CLEAR, flash=timedelta(minutes=3))


@pytest.mark.parametrize(
    ("keep", "status", "flashes"),
    [((), 1, {15}), (("--keep", "mine"), 0, {15}), (("--keep", "new"), 0, {3}), (("--keep", "both"), 0, {15, 3})],
)
def test_a_card_that_differs_takes_no_place_unasked(
    library: CardLibrary, tmp_path: Path, keep: tuple[str, ...], status: int, flashes: set[int]
) -> None:
    path = tmp_path / "theirs.json"
    path.write_text(cards_text((THEIRS,)), encoding="utf-8")
    said = ask("cards", "--import", str(path), *keep, library=library)
    assert said.status == status
    assert "  Two-part clear differs: Flash: 3 min, was 15 min." in said.out
    assert ("--keep new takes the new one" in said.out) == (status == 1)
    kept = [c for c in library.look().cards if c.name.startswith("Two-part clear")]
    assert {c.flash.total_seconds() / 60 for c in kept if c.flash is not None} == flashes


def test_a_broken_card_of_a_set_is_named_and_the_rest_come_in(library: CardLibrary, tmp_path: Path) -> None:
    plain = json.loads(cards_text((replace(COLOUR, id="x"), replace(COLOUR, id="y"))))
    plain["cards"][0]["coats_most"] = 0
    path = tmp_path / "set.json"
    path.write_text(json.dumps(plain), encoding="utf-8")
    said = ask("cards", "--import", str(path), library=library)
    assert said.status == 1
    assert "  set.json: Coats, most: this number must be 1 or more (at $.cards[0].coats_most)." in said.out
    assert "y" in {c.id for c in library.look().cards}


@pytest.mark.parametrize(
    ("argv", "says"),
    [
        (("flash<soon",), "flash asks for a time"),
        (("--import", "/nowhere/at-all.json"), "There is no file or folder"),
        (("--import",), "expected at least one argument"),
        (("--keep", "new"), "--keep is for cards that come in"),
        (("--import", "x", "--keep", "theirs"), "invalid choice"),
        (("nothing-is-called-so", "--export", "/tmp/never-written.json"), "There is no card to write"),
        (("--sort",), "unrecognized arguments"),
    ],
)
def test_what_can_t_be_used_is_one_line(library: CardLibrary, argv: tuple[str, ...], says: str) -> None:
    said = ask("cards", *argv, library=library)
    assert said.status == 2
    assert says in said.err


def test_a_full_disk_is_one_line_and_nothing_is_brought_in(
    library: CardLibrary, tmp_path: Path, full_disk: object
) -> None:
    path = tmp_path / "set.json"
    path.write_text(cards_text((replace(COLOUR, id="x"), replace(COLOUR, id="y"))), encoding="utf-8")
    with full_disk():  # type: ignore[operator]
        said = ask("cards", "--import", str(path), library=library)
    assert (said.status, "Nothing was brought in" in said.err) == (2, True)
    assert len(library.look().cards) == 3


def test_names_move_no_cursor(library: CardLibrary) -> None:
    library.keep(replace(COLOUR, id="odd", name="Odd\x1b[2J\u202ename", maker="a\x07b"))
    out = ask("cards", "odd", library=library).out
    assert all(c.isprintable() or c == "\n" for c in out)


def test_where_there_is_no_library_it_is_said() -> None:
    said = ask("cards")
    assert (said.status, "no card library" in said.err) == (2, True)


def test_where_the_disk_fills_up_the_file_that_was_not_brought_in_is_named(
    library: CardLibrary, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("first", "second"):
        (tmp_path / f"{name}.json").write_text(cards_text([replace(CLEAR, id=name, name=name)]), encoding="utf-8")
    whole = CardLibrary.keeping_all

    def keeping(self: CardLibrary, cards: Any) -> Any:
        if cards[0].id == "second":
            raise NotKept("Nothing was brought in. The disk is full.")
        return whole(self, cards)

    monkeypatch.setattr(CardLibrary, "keeping_all", keeping)
    said = ask("cards", "--import", str(tmp_path / "first.json"), str(tmp_path / "second.json"), library=library)
    assert said.status == 2
    assert "second.json: Nothing was brought in. The disk is full." in said.err
    assert {card.id for card in library.look().cards} >= {"first"}  # it was there before, and stays
