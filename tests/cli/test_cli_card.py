"""`benchtool card`: what of product cards does not agree, card by card, and what can't be read by its place."""

import io
import json
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR as BUILT_CLEAR
from builders import COLOUR
from cli.asking import MEASURES, START, TABLES, Said, ask, assert_sound
from msgspec.structs import replace

from benchtool.cli import run
from benchtool.job.cards import Card
from benchtool.store.cardfiles import dump, dump_set


def kept(folder: Path, *cards: Card) -> list[str]:
    names = []
    for card in cards:
        path = folder / f"{card.id}.json"
        path.write_bytes(dump(card))
        names.append(str(path))
    return names


def with_broken(*argv: str) -> Said:
    """Ask with a file among others that can't be read: the rest is answered, and the status says so."""
    out, err = io.StringIO(), io.StringIO()
    status = run(
        argv,
        now=lambda: START,
        tables=lambda: TABLES,
        measures=lambda: MEASURES,
        open_job=lambda _: None,
        out=out,
        err=err,
    )  # type: ignore[arg-type]
    return Said(status, out.getvalue(), err.getvalue())


def broken(folder: Path, name: str, change: Any) -> str:
    told = json.loads(dump(CLEAR))
    change(told["card"])
    path = folder / name
    path.write_text(json.dumps(told), encoding="utf-8")
    return str(path)


CLEAR = replace(BUILT_CLEAR, id="clear")
ODD = replace(COLOUR, flash=COLOUR.recoat_closes, name="Odd colour")


def test_cards_that_agree_are_fine(tmp_path: Path) -> None:
    said = ask("card", *kept(tmp_path, CLEAR, COLOUR))
    assert (said.status, said.out) == (0, "2 cards agree with themselves.\n")
    values = ask("card", str(tmp_path), "--json").values
    assert {c["id"] for c in values["cards"]} == {"clear", "colour"}
    assert (values["severe"], values["notes"], values["unreadable"], values["cycles"]) == (0, 0, [], [])


def test_what_must_be_wrong_gives_1_and_a_note_alone_0(tmp_path: Path) -> None:
    odd, fine = kept(tmp_path, ODD, CLEAR)
    said = ask("card", odd, fine)
    assert said.status == 1
    assert said.out.splitlines()[0].startswith("Look again: Odd colour (colour.json), flash: The next coat waits 24 h")
    [checked, _] = ask("card", odd, fine, "--json").values["cards"]
    assert checked["checks"] == [
        {
            "place": "$.card.flash",
            "message": "The next coat waits 24 h, the next layer only 20 min.",
            "severe": True,
        }
    ]
    noted = kept(tmp_path, replace(CLEAR, id="noted", pot_life=None))
    said = ask("card", *noted)
    assert said.status == 0
    assert said.out.startswith("Note: ")


def test_a_set_is_checked_card_by_card(tmp_path: Path) -> None:
    path = tmp_path / "set.json"
    path.write_bytes(dump_set([CLEAR, ODD]))
    values = ask("card", str(path), "--json").values
    assert [(c["id"], len(c["checks"])) for c in values["cards"]] == [("clear", 0), ("colour", 1)]


def test_cards_that_may_only_go_over_each_other_are_told_once(tmp_path: Path) -> None:
    ring = (replace(CLEAR, only_over=("colour",)), replace(COLOUR, only_over=("clear",)))
    said = ask("card", *kept(tmp_path, *ring))
    assert said.status == 1
    assert "may go only over" in said.out
    assert said.out.count("begun") == 1
    [cycle] = ask("card", str(tmp_path), "--json").values["cycles"]
    assert cycle["cards"] == ["clear", "colour"]


def test_a_card_only_over_itself_is_told(tmp_path: Path) -> None:
    [checked] = ask("card", *kept(tmp_path, replace(CLEAR, only_over=("clear",))), "--json").values["cards"]
    assert [c["place"] for c in checked["checks"]] == ["$.card.only_over"]


BROKEN = [
    ("negative", lambda c: c.update(flash="-PT10M"), "$.card.flash", "below zero"),
    ("no unit", lambda c: c.update(flash=15), "$.card.flash", ""),
    ("no span", lambda c: c.update(pot_life="2 hours"), "$.card.pot_life", ""),
    ("wrong shape", lambda c: c.update(activators={"id": "a"}), "$.card.activators", ""),
    ("unknown word", lambda c: c.update(chemistry="lead"), "$.card.chemistry", ""),
    ("percent over 100", lambda c: c.update(solids_percent=140), "$.card.solids_percent", ""),
    ("opens after closes", lambda c: c.update(recoat_opens="P1D", recoat_closes="PT1H"), "$.card.recoat_closes",
     "shorter"),
    ("shares over 100 in all", lambda c: c.update(activators=[{**c["activators"][0], "share": "120 % of total"}]),
     "$.card.activators[0]", ""),
    ("no card at all", lambda c: c.clear(), "$.card", "id"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "place", "words"), [row[1:] for row in BROKEN], ids=[row[0] for row in BROKEN])
def test_a_broken_card_is_named_with_the_place_and_the_rest_is_checked(
    tmp_path: Path, change: Any, place: str, words: str
) -> None:
    names = [broken(tmp_path, "broken.json", change), *kept(tmp_path, ODD, CLEAR)]
    said = with_broken("card", *names, "--json")
    assert said.status == 2
    values = json.loads(said.out)
    assert_sound(values)
    [fault] = values["unreadable"]
    assert Path(fault["file"]).name == "broken.json"
    assert fault["place"].startswith(place)
    assert words in fault["message"]
    assert [c["id"] for c in values["cards"]] == ["colour", "clear"]
    assert values["severe"] == 1
    told = with_broken("card", *names).out.splitlines()
    assert told[0].startswith("Can't be read: broken.json: ")
    assert told[1].startswith("Look again: Odd colour")


def test_one_file_that_can_not_be_read_is_one_line(tmp_path: Path) -> None:
    said = ask("card", broken(tmp_path, "broken.json", lambda c: c.update(flash="-PT10M")))
    assert said.status == 2
    assert "$.card.flash" in said.err
    assert ask("card", str(tmp_path / "nowhere.json")).status == 2
    assert ask("card", str(tmp_path)).status == 2
    (tmp_path / "empty").mkdir()
    assert ask("card", str(tmp_path / "empty")).status == 2


def test_the_words_of_a_card_move_no_cursor(tmp_path: Path) -> None:
    said = ask("card", *kept(tmp_path, replace(ODD, name="Odd \x1b[2J\n colour")))
    assert "\x1b" not in said.out
