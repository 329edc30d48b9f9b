"""`benchtool stack`: the stacks of a job as planned, and a few cards put in order."""

import dataclasses

import pytest
from builders import CLEAR, COLOUR, EPOXY, ETCH, FILLER, POLYOLEFIN, URETHANE, JobBuilder
from cli import asking
from cli.asking import ask
from msgspec.structs import replace

from benchtool.session.tables import load_tables
from benchtool.session.tables_pairings import load_pairings
from benchtool.store.cardfiles import dump


@pytest.fixture(autouse=True)
def real_tables(monkeypatch):
    monkeypatch.setattr(asking, "TABLES", dataclasses.replace(load_tables(), pairings=load_pairings()))


@pytest.fixture
def files(tmp_path):
    def write(*cards):
        paths = []
        for card in cards:
            paths.append(tmp_path / f"{card.id}.json")
            paths[-1].write_bytes(dump(card))
        return [str(p) for p in paths]

    return write


def test_cards_are_put_in_order(files):
    film = replace(COLOUR, film_um=15.0)
    asked = ask("stack", "--substrate", "aluminium", *files(CLEAR, film, EPOXY), "--json")
    assert asked.status == 0
    (stack,) = asked.values["stacks"]
    assert [x["card"] for x in stack["order"]] == ["epoxy", "colour", "clear-2k"] == stack["offered"]
    assert stack["notes"] == []
    assert stack["best_of_all"]
    assert (stack["film_least_um"], stack["film_most_um"], stack["film_whole"]) == (15.0, 15.0, False)
    assert stack["order"][0]["film_most_um"] is None
    assert stack["order"][2]["activator"] == "Slow hardener"


def test_behind_clear_and_flexible(files):
    (stack,) = ask(
        "stack", "--substrate", "pc", "--behind-clear", "--flexible", *files(EPOXY, URETHANE, COLOUR), "--json"
    ).values["stacks"]
    assert [x["card"] for x in stack["order"]] == ["urethane", "colour", "epoxy"]
    assert stack["order"][0]["additives"] == ["Flex additive"]
    assert (stack["face"], stack["flex"]) == ("behind clear", "flexible")


def test_a_grave_note_is_trouble(files):
    asked = ask("stack", "--substrate", "pp", *files(COLOUR), "--json")
    assert asked.status == 1
    (note,) = [n for n in asked.values["stacks"][0]["notes"] if n["grave"]]
    assert "does not hold" in note["words"]
    assert note["reason"]
    assert note["source"]
    assert "\nStop: The piece is polypropylene (PP)" in ask("stack", "--substrate", "pp", *files(COLOUR)).out
    asked = ask("stack", "--substrate", "aluminium", *files(ETCH, EPOXY))
    assert asked.status == 0
    assert asked.out.count("Caution: Etch primer over Epoxy primer:") == 1


def test_what_is_missing_is_named(files):
    (stack,) = ask("stack", "--substrate", "pp", *files(COLOUR), "--json").values["stacks"]
    assert [(m["under"], m["words"][:10]) for m in stack["missing"]] == [("Base colour", "A promoter")]
    assert ask("stack", "--substrate", "pp", *files(COLOUR, POLYOLEFIN), "--json").values["stacks"][0]["missing"] == []


def test_a_job_is_told_piece_by_piece(files):
    bench = JobBuilder().card(FILLER, COLOUR, CLEAR)
    bench.piece("tank").layer("a", CLEAR, activator="slow").layer("b", COLOUR).piece("bumper", "abs").layer("c", COLOUR)
    asked = ask("stack", "tank.json", "--json", job=lambda _: bench.job)
    tank, bumper = asked.values["stacks"]
    assert [x["card"] for x in tank["order"]] == ["clear-2k", "colour"]
    assert tank["better"] == ["Base colour", "Two-part clear"]
    assert (bumper["piece"], bumper["better"], bumper["notes"]) == ("Bumper", [], [])
    assert asked.status == 0
    (only,) = ask("stack", "tank.json", "--piece", "TANK", "--json", job=lambda _: bench.job).values["stacks"]
    assert only["piece"] == "Tank"
    text = ask("stack", "tank.json", "--piece", "tank", job=lambda _: bench.job).out
    assert "  2  Base colour (base): 1 coat\n  1  Two-part clear (clear): 2 coats, Slow hardener\n" in text
    assert "Another order has less against it: Base colour, Two-part clear." in text


def test_bad_lines(files, tmp_path):
    cards = files(COLOUR)
    for words in (
        ["--substrate", "zzz", *cards], ["--substrate", "old paint", *cards], ["--flexible", "demo"], ["a", "b"],
        ["--substrate", "pp", "--piece", "Tank", *cards], ["--substrate", "pp"], [],
        ["--substrate", "pp", str(tmp_path / "none.json")], ["demo", "--piece", "nobody"],
    ):  # fmt: skip
        asked = ask("stack", *words, job=lambda _: JobBuilder().job)
        assert asked.status == 2, words
        assert len(asked.err.splitlines()) == 1
    other = tmp_path / "more"
    other.mkdir()
    (other / "x.json").write_bytes(dump(replace(COLOUR, name="Other")))
    asked = ask("stack", "--substrate", "pp", *cards, str(other / "x.json"))
    assert (asked.status, "Two different cards" in asked.err) == (2, True)
    (other / "x.json").write_text('{"format": "bench card", "schema": 4, "card": {"id": "x"}}')
    asked = ask("stack", "--substrate", "pp", str(other / "x.json"))
    assert asked.status == 2
    assert "x.json" in asked.err
