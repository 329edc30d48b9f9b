"""The case book: sound work is left in peace, known failures are told, and one mistake is told in a few lines."""

from collections.abc import Iterable, Iterator
from datetime import timedelta
from typing import Any

import pytest
from builders import JobBuilder
from rules import casebook_differs
from rules.casebook import START, TABLES, Row, build, lines, place, raised, work
from rules.casebook_faults import BLOCKS
from rules.casebook_sound import STAGES, STEEL, SYSTEMS, layer_id, sound
from rules.casebook_substrates import Sound, hopeless, sounds

from benchtool.rules.engine import BY_ID
from benchtool.rules.finding import Severity
from benchtool.trade.substrates import Substrate

MOST_LINES = 3
TABLE = [row for block in BLOCKS for row in block.rows]
PREPARING = STAGES[:3]


AIRS = ("air15/40/15", "air18/60/17", "air20/70/20", "air23/65/22", "air28/50/26", "air30/60/30")
"""Air in which nothing need be said: 3 °C and more over the dew point, 70 % and less, 15 to 30 °C (ISO 8502-4)."""


def _table(rows: Iterable[Row], known: dict[str, str]) -> Iterator[Any]:
    for row in rows:
        why = known.get(row.what)
        yield pytest.param(row, id=row.what, marks=[pytest.mark.xfail(reason=why, strict=True)] if why else [])


def _sound() -> Iterator[Any]:
    for system in SYSTEMS:
        why, since = casebook_differs.SYSTEMS.get(system.what, ("", STAGES[0]))
        for stage in STAGES:
            known = bool(why) and STAGES.index(stage) >= STAGES.index(since)
            marks = [pytest.mark.xfail(reason=why, strict=True)] if known else []
            yield pytest.param(system, stage, id=f"{system.what}, {stage}", marks=marks)


# --- the table -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("system", "stage"), list(_sound()))
def test_sound_work_is_left_in_peace(system, stage: str) -> None:
    assert lines(build(sound(system, stage)), preparing=stage in PREPARING) == []


@pytest.mark.parametrize("row", list(_table(TABLE, casebook_differs.ROWS)))
def test_each_case_raises_what_a_painter_expects(row: Row) -> None:
    bench = build(row)
    assert raised(bench, Severity.STOP) == set(row.stop.split()), lines(bench)
    assert raised(bench, Severity.CAUTION) == set(row.caution.split()), lines(bench)
    assert len(lines(bench)) == (0 if row.quiet else row.lines), lines(bench)


@pytest.mark.parametrize("row", list(_table([r for r in TABLE if not r.quiet], casebook_differs.CARRIED)))
def test_one_mistake_carried_through_to_the_end_stays_a_few_lines(row: Row) -> None:
    bench = build(row)
    assert len(lines(bench)) <= MOST_LINES
    if bench.state.pieces["part"].heat.on is not None:
        work(bench, "cool 1d")
    for layer in [x.id for x in bench.state.pieces["part"].layers]:
        if bench.layer_state(layer).finished:
            continue
        work(bench, f"{layer}*")
        assert len(lines(bench)) <= MOST_LINES, lines(bench)


def test_the_table_is_large_and_half_of_it_is_quiet() -> None:
    assert len({r.what for r in TABLE}) == len(TABLE) >= 160
    assert sum(r.quiet for r in TABLE) + len(SYSTEMS) >= (len(TABLE) + len(SYSTEMS)) / 2
    assert all(r.lines <= MOST_LINES for r in TABLE)
    assert all(block.source for block in BLOCKS)


def test_the_table_names_rules_that_there_are() -> None:
    named = {rule for row in TABLE for rule in (row.stop + " " + row.caution).split()}
    assert named - set(BY_ID) == casebook_differs.MISSING


def test_what_differs_is_in_the_table() -> None:
    assert casebook_differs.ROWS.keys() <= {r.what for r in TABLE}
    assert casebook_differs.SYSTEMS.keys() <= {s.what for s in SYSTEMS}


@pytest.mark.parametrize("air", AIRS)
@pytest.mark.parametrize(
    "stack", ["epoxy primer base:2 clear:2", "waterprimer water:2 waterclear:2", "etch lacquer:3", "enamel:2"]
)
def test_in_good_air_nothing_is_said_of_it(air: str, stack: str) -> None:
    bench = work(place(JobBuilder(START, TABLES), "steel", stack), f"{air} {STEEL}")
    for layer in map(layer_id, stack.split()):
        work(bench, f"{layer}*")
        assert lines(bench) == []


# --- every material --------------------------------------------------------------------------------------


@pytest.mark.parametrize("case", sounds(), ids=lambda c: c.what)
def test_by_the_book_every_material_is_painted_in_peace(case: Sound) -> None:
    bench = place(JobBuilder(START, TABLES), case.piece, case.stack)
    for word in case.prep.split():
        work(bench, word)
        assert lines(bench, preparing=True) == []
    for layer in (layer_id(word) for word in case.stack.split()):
        for word in (f"cup:{layer}", f"{layer}.", f"{layer}*"):
            work(bench, word)
            assert lines(bench) == []
    bench.now += timedelta(days=30)
    assert lines(bench) == []


@pytest.mark.parametrize("substrate", [s for s in TABLES.substrates.values() if hopeless(s)], ids=lambda s: s.id)
def test_where_nothing_holds_only_a_strip_gives_peace(substrate: Substrate) -> None:
    (case,) = [c for c in sounds() if c.what.startswith(f"{substrate.id}, ")][:1]
    prep = case.prep.removeprefix("held ")
    bench = work(place(JobBuilder(START, TABLES), case.piece, case.stack), prep)
    assert raised(bench, Severity.STOP) == {"surface.nothing-holds" if substrate.known else "promoter.unknown-untried"}
    assert len(lines(bench)) == 1
