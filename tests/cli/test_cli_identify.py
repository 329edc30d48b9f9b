"""`benchtool identify`: narrowing down a material without a window."""

import io

import pytest
from cli.asking import MEASURES, START, Said, ask, assert_contract

from benchtool.cli import run
from benchtool.session.tables import load_tables


def identify(*words):
    out, err = io.StringIO(), io.StringIO()
    status = run(
        ["identify", *words],
        now=lambda: START,
        tables=load_tables,
        measures=lambda: MEASURES,
        open_job=lambda name: pytest.fail(name),
        out=out,
        err=err,
    )
    said = Said(status, out.getvalue(), err.getvalue())
    assert_contract(said)
    return said


def test_without_a_clue_it_lists_the_clues():
    said = identify()
    assert said.status == 0
    for words in ("float: Does it float in water?", "  floats: ", "No burning", "No solvent"):
        assert words in said.out
    got = identify("--json").values
    assert got["excluded"] == []
    assert len(got["candidates"]) == len(load_tables().substrates) - 1
    assert {"what-is-it", "magnet", "inks"} <= {c["id"] for c in got["clues"]}
    assert [n["what"] for n in got["not_done"]] == ["Burn test", "Solvent rub"]
    assert got["next"]["id"] == "what-is-it"


def test_clues_narrow_it():
    words = ["--clue", "clear=clear", "--clue", "what-is-it=visor", "--clue", "old-paint=bare"]
    got = identify(*words, "--json").values
    assert got["candidates"][0]["id"] == "pc"
    assert got["candidates"][0]["for"]
    assert "steel" in {c["id"] for c in got["excluded"]}
    assert got["answers"] == {"clear": "clear", "what-is-it": "visor", "old-paint": "bare"}
    assert got["next"]["id"] not in got["answers"] if got["next"] else True
    text = identify(*words).out
    assert text.index("polycarbonate") < text.index("Ruled out: ")
    assert "No burning" in text


def test_a_mark_narrows_it_too():
    got = identify("--mark", ">PP+EPDM-TD20<", "--json").values
    assert [c["id"] for c in got["candidates"][:2]] == ["tpo", "pp"]
    assert "talc powder" in got["mark"]
    assert "talc powder" in identify("--mark", ">PP+EPDM-TD20<").out


def test_what_does_not_go_together_is_status_1():
    said = identify("--clue", "clear=clear", "--clue", "magnet=holds", "--json")
    assert said.status == 1
    assert "does not go together" in said.values["unknown"]
    assert identify("--clue", "magnet=can't say").status == 0


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--clue", "flame=blue"], "what-is-it"),
        (["--clue", "float=perhaps"], "floats, sinks"),
        (["--clue", "float"], "bend=tough"),
        (["--clue", "float=sinks", "--clue", "float=floats"], "twice"),
        (["--mark", "???"], "--mark"),
        (["--colour"], "--colour"),
    ],
)
def test_input_that_is_no_use_is_one_line(words, told):
    for form in ([], ["--json"]):
        said = identify(*words, *form)
        assert said.status == 2
        assert said.err.startswith("benchtool identify: ")
        assert told in said.err
        assert "worked out" not in said.err


def test_it_works_with_a_small_table_and_says_when_nothing_is_left_to_ask():
    got = ask("identify", "--clue", "float=sinks", "--json").values
    assert [c["id"] for c in got["candidates"]] == ["abs"]
    assert got["next"] is None
    assert "no question" in got["why"]
