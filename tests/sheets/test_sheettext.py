"""A sheet as text for a terminal and as an object for a script: all of it, in lines that fit."""

import json

import pytest
from sheet_reading import texts_of

from benchtool.sheets.blocks import Band, Caution, Facts, Grid, Heading, Photos, Sheet, Shown, Stack, Words
from benchtool.sheets.sheettext import WIDTH, sheet_text, sheet_values

BLOCKS = (
    Heading("Fuel tank"),
    Facts((("Made of", "ABS, by the mark on its back " * 6), ("Face", "outside"))),
    Caution("Wear what the safety data sheet asks for."),
    Heading("Coats", 2),
    Stack((Band("Clear", "2 coats", "#eeeeee"), Band("ABS", "", None, True)), "From the top: clear, ABS."),
    Grid(("Layer", "Film"), (("Clear", "45"), ("A long name of a layer " * 8, "7")), frozenset({1})),
    Words("A word."),
    Photos((Shown("a.jpg", "0", "Before the prep"),)),
)
SHEET = Sheet(title="Tank", under="For a customer", blocks=BLOCKS, foot="The foot.")


def test_every_text_of_a_sheet_is_in_it_and_no_line_is_too_wide():
    told = sheet_text(SHEET)
    flat = " ".join(told.split())
    for text in ("Tank", "For a customer", "Fuel tank", "outside", "! Caution: Wear", "Before the prep", "The foot."):
        assert text in flat
    assert max(map(len, told.split("\n"))) <= WIDTH
    for word in " ".join(t for b in BLOCKS for t in texts_of(b) if not isinstance(b, Stack)).split():
        assert word in flat


def test_figures_stand_at_the_right_and_a_long_cell_goes_on_below():
    lines = sheet_text(SHEET).split("\n")
    clear = next(line for line in lines if line.startswith("Clear  "))
    assert clear.endswith("  45")
    head = next(line for line in lines if line.startswith("Layer"))
    assert len(head) == len(clear)


@pytest.mark.parametrize("bad", ["\x1b[2J", "\x07", "\r", "\x9b1m"])
def test_nothing_in_a_name_moves_the_cursor(bad):
    told = sheet_text(Sheet(title=f"a{bad}b", under="", blocks=(Words(f"c{bad}d"), Grid((f"e{bad}",), ())), foot=bad))
    assert all(c.isprintable() or c == "\n" for c in told)


def test_an_object_says_of_each_block_what_it_is():
    values = json.loads(json.dumps(sheet_values(SHEET)))
    assert [b["kind"] for b in values["blocks"]] == [
        "heading", "facts", "caution", "heading", "stack", "grid", "words", "photos",
    ]  # fmt: skip
    assert values["blocks"][5]["right"] == [1]
    assert values["blocks"][4]["bands"][1] == {"name": "ABS", "beside": "", "colour": None, "substrate": True}
    assert values["title"] == "Tank"


def test_a_table_without_rows_or_columns_is_no_trouble():
    told = sheet_text(Sheet(title="t", under="", blocks=(Grid((), ()), Grid(("a",), ()), Facts(())), foot=""))
    assert "a\n-" in told
