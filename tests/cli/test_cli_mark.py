"""`benchtool mark`: what is moulded on a part, and exit statuses."""

import io

import pytest
from cli.asking import MEASURES, START, Said, assert_contract

from benchtool.cli import run
from benchtool.session.tables import load_tables

KEYS = {"valid", "materials", "fillers", "additives", "words"}


def mark(text, *more):
    out, err = io.StringIO(), io.StringIO()
    status = run(
        ["mark", *more, "--", text],
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


def test_a_valid_mark():
    """ISO 11469:2016, example: polyamide 66 with 25 % glass fibre and 15 % mineral powder."""
    said = mark(">PA66-(GF25+MD15)<", "--json")
    assert said.status == 0
    got = said.values
    assert got.keys() >= KEYS
    assert got["valid"] is True
    assert got["problems"] == []
    assert [m["symbol"] for m in got["materials"]] == ["PA66"]
    assert [(f["symbol"], f["material"], f["form"], f["percent"]) for f in got["fillers"]] == [
        ("GF", "glass", "fibre", 25),
        ("MD", "mineral", "powder", 15),
    ]


def test_the_materials_of_the_table_are_named():
    got = mark(">ABS<", "--json").values
    assert got["substrates"] == [{"id": "abs", "name": "ABS"}]
    assert "ABS (abs)" in mark(">ABS<").out


def test_a_blend_a_plasticiser_a_flame_retardant_and_a_recycled_share():
    got = mark(">PC+ABS(REC30)-FR(40)<", "--json").values
    assert [(m["symbol"], m["main"]) for m in got["materials"]] == [("PC", True), ("ABS", False)]
    assert [(a["kind"], a["symbol"], a.get("percent")) for a in got["additives"]] == [
        ("recycled", "REC", 30),
        ("flame retardant", "40", None),
    ]
    assert [a["symbol"] for a in mark(">PVC-P(DBP)<", "--json").values["additives"]] == ["DBP"]


@pytest.mark.parametrize("text", ["ABS", ">HDPE<", "triangle 5", ">PP-T20<", ">PP+QQQ<"])
def test_what_is_understood_but_not_by_the_standard_is_status_1(text):
    said = mark(text, "--json")
    assert said.status == 1
    assert said.values["valid"] is False
    assert said.values["problems"]
    assert said.values["words"]
    plain = mark(text)
    assert plain.status == 1
    assert "does not stand as ISO 11469 writes it" in plain.out


@pytest.mark.parametrize("text", ["", "   ", ">QQQ<", "asdf", "()()", "\x1b[31m", "-"])
def test_what_is_not_understood_is_one_line(text):
    for form in ([], ["--json"]):
        said = mark(text, *form)
        assert said.status == 2
        assert said.err.startswith("benchtool mark: ")
        assert "worked out" not in said.err
