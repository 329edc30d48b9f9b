"""Tables as CSV: read by Python's own reader, by the grammar of RFC 4180, and harmless in a spreadsheet."""

import csv
import io
import math
import re
from datetime import UTC, datetime, timedelta, timezone

import pytest
from builders import COLOUR, JobBuilder
from cli.asking import START, tank
from hypothesis import example, given
from hypothesis import strategies as st
from strategies import examples, jobs

from benchtool.job import events as ev
from benchtool.job.record import withdrawn_ids
from benchtool.job.state import fold
from benchtool.sheets.csvfile import BOM, csv_bytes, harmless, read_back
from benchtool.sheets.tables_csv import HEADS, LONGEST_HEAD, Table, is_table, table_csv, table_values

_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""OWASP, "CSV Injection": what a cell that a spreadsheet computes begins with; the wide forms are added."""

_RFC_4180 = re.compile(rb'(?:(?:"(?:[^"]|"")*"|[^",\r\n]*)(?:,(?:"(?:[^"]|"")*"|[^",\r\n]*))*\r\n)+')
"""The grammar of RFC 4180, section 2; text in quotes may hold any character of UTF-8."""

texts = st.text(st.characters(codec=None), max_size=30)  # halves of characters and NUL too


def read(data: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""), strict=True))


def rows_of(table: Table, job, zone=UTC) -> list[dict[str, str]]:
    head, *rows = read(table_csv(table, job, fold(job), zone))
    assert tuple(head) == HEADS[table]
    return [dict(zip(head, row, strict=True)) for row in rows]


@examples(60)
@given(st.lists(st.lists(st.one_of(texts, st.integers(), st.floats(), st.none()), min_size=3, max_size=3), max_size=4))
@example([["=1+1", -3.5, "a\r\nb"]])
@example([["\ud800", "\x00=1", '"']])
def test_any_cells_come_back_as_they_were_meant(rows):
    data = csv_bytes(["one", "two", "three"], rows)
    assert data.startswith(BOM)
    assert _RFC_4180.fullmatch(data.removeprefix(BOM))
    for row, got in zip(rows, read(data)[1:], strict=True):
        for cell, text in zip(row, got, strict=True):
            if isinstance(cell, str):
                kept = re.sub("[\x00\ud800-\udfff]", "\ufffd", cell)
                assert read_back(text) == kept
                assert not text.startswith(_FORMULA)
                assert not text.lstrip().startswith(_FORMULA[:4])
            elif cell is None or (isinstance(cell, float) and not math.isfinite(cell)):
                assert text == ""
            else:
                assert type(cell)(text) == cell


@pytest.mark.parametrize("text", ["=HYPERLINK(1)", "+1", "-1", "@SUM(1)", "\t=1", "\r=1", "  =1", "\u00a0=1", "＝1"])
def test_a_text_is_no_formula_and_the_file_has_it_in_quotes(text):
    assert harmless(text) == f"'{text}"
    assert f'"\'{text}"'.encode() in csv_bytes(["x"], [[text]])


def test_what_begins_with_an_apostrophe_is_not_taken_for_ours():
    assert read_back(harmless("'round")) == "'round"
    assert harmless("plain = 1") == "plain = 1"
    assert harmless("") == ""


def test_figures_below_zero_stay_figures():
    job = tank(ev.ReadingTaken(id="e90", at=START, air_degC=-3.5, humidity_percent=80))
    [row] = rows_of(Table.READINGS, job)
    assert row["air_degC"] == "-3.5"
    assert row["surface_degC"] == ""
    assert b",-3.5,80.0," in table_csv(Table.READINGS, job, fold(job), UTC)


def test_a_title_that_is_a_formula_is_text_in_the_table_of_events():
    job = tank(ev.WaiverSigned(id="e91", at=START, rule="r", key="k", message="=cmd|1", reason="It is so."))
    row = rows_of(Table.EVENTS, job)[-1]
    assert row["note"] == "'=cmd|1 It is so."


def test_times_are_in_utc_and_in_the_painters_own():
    zone = timezone(timedelta(hours=5, minutes=30))
    at = datetime(2026, 3, 14, 20, 0, 0, tzinfo=UTC)
    [row] = rows_of(Table.READINGS, tank(ev.ReadingTaken(id="e92", at=at, air_degC=20, humidity_percent=50)), zone)
    assert row["at_utc"] == "2026-03-14T20:00:00Z"
    assert row["at_local"] == "2026-03-15T01:30:00+05:30"


def test_an_undo_stays_in_the_table_and_does_not_count():
    job = tank(
        ev.ReadingTaken(id="e93", at=START, air_degC=20, humidity_percent=50),
        ev.Withdrawn(id="e94", at=START, events=("e93",)),
    )
    rows = rows_of(Table.EVENTS, job)
    assert {r["event"]: r["counts"] for r in rows}["e93"] == "no"
    assert rows[-1]["note"] == "e93"
    assert rows_of(Table.READINGS, job) == []


def test_a_corrected_time_is_when_it_happened_and_the_entry_keeps_its_own():
    job = tank(ev.Corrected(id="e95", at=START + timedelta(hours=1), event="e16", really_at=START))
    row = next(r for r in rows_of(Table.EVENTS, job) if r["event"] == "e16")
    assert row["happened_utc"] == "2026-11-25T13:00:00Z"
    assert row["entered_utc"] == "2026-11-25T13:30:00Z"


def test_the_mix_is_told_part_by_part():
    """100 of base, 2 % of it, and as much reducer as both: 204 mL, as the record of the tank was made."""
    rows = rows_of(Table.MIXES, tank())
    assert [(r["part"], float(r["wanted_mL"]), float(r["poured_mL"])) for r in rows] == [
        ("Silver base", 100.0, 100.0),
        ("Slow activator", 2.0, 2.0),
        ("Reducer", 102.0, 102.0),
    ]
    assert {(r["piece"], r["product"], r["gun"], r["off_percent"]) for r in rows} == {
        ("Fuel tank", "Silver base", "airbrush", "0.0")
    }


@examples(25)
@given(jobs())
def test_any_job_has_its_tables(job):
    state = fold(job)
    events = rows_of(Table.EVENTS, job)
    assert [r["event"] for r in events] == [read_back(e.id) for e in job.events]
    gone = withdrawn_ids(job.events)
    assert [r["counts"] == "no" for r in events] == [e.id in gone for e in job.events]
    assert len(rows_of(Table.READINGS, job)) == len(state.readings)
    assert len({r["cup"] for r in rows_of(Table.MIXES, job)}) == len(state.mixes)
    for table in Table:
        data = table_csv(table, job, state, UTC)
        assert is_table(table, data[:LONGEST_HEAD])
        assert not any(is_table(other, data[:LONGEST_HEAD]) for other in Table if other is not table)
        assert len(table_values(table, job, state, UTC)) == len(read(data)) - 1


def test_a_layer_that_was_taken_out_still_has_its_name():
    job = tank(ev.LayerRemoved(id="e96", at=START, layer="l2"))
    row = rows_of(Table.EVENTS, job)[-1]
    assert (row["piece"], row["layer"]) == ("Fuel tank", "Top clear")


def test_a_cup_that_was_sprayed_on_another_piece_names_that_too():
    bench = JobBuilder().card(COLOUR).piece("a", name="Lid").layer("la", COLOUR).ready("la").coat("la")
    bench.piece("b", name="Box").layer("lb", COLOUR).change_layer("lb", name="Second").coat("lb", mix="m1")
    assert {(r["piece"], r["layer"]) for r in rows_of(Table.MIXES, bench.job)} == {("Lid, Box", "Base colour, Second")}


def test_a_cup_of_a_layer_that_was_taken_out_still_says_whose_it_was():
    bench = JobBuilder().card(COLOUR).piece("a", name="Lid").layer("la", COLOUR).ready("la")
    bench.add(ev.LayerRemoved, layer="la")
    assert {(r["piece"], r["layer"]) for r in rows_of(Table.MIXES, bench.job)} == {("Lid", "Base colour")}
