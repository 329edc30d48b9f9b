"""The plan before and the record after: a large plan, and ten thousand jobs that are searched."""

import gc
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PIECES, LAYERS = 30, 6


def plan_figures() -> Iterator[tuple[str, float, str, float, float | None]]:
    """Give what was measured, its seconds, what it stands beside, the seconds of that, and the aim."""
    sys.path[:0] = [str(ROOT / "tests"), str(ROOT)]
    from builders import CLEAR, COLOUR, JobBuilder

    from benchtool.job.shop import Shop
    from benchtool.plan.search import plan
    from benchtool.plan.stepsday import day_plan
    from benchtool.session.dayplan import Asked, sources
    from benchtool.session.tables import load_tables

    bench = JobBuilder().card(COLOUR, CLEAR)
    for piece in range(PIECES):
        bench.piece(f"piece-{piece}", "abs")
        for layer in range(LAYERS):
            last = layer == LAYERS - 1
            bench.layer(f"layer-{piece}-{layer}", CLEAR if last else COLOUR, 2, activator="slow" if last else None)
    tables, now = load_tables(), bench.now + timedelta(minutes=5)
    begun = time.perf_counter()
    made_from = sources((Asked("thirty.json", "Thirty pieces", bench.job),), tables, now)
    made = day_plan(made_from, Shop(), UTC, now)
    whole = time.perf_counter() - begun
    begun = time.perf_counter()
    plan(made.chains, made.room, made.hours, now, effort=1)
    alone = time.perf_counter() - begun
    tasks = sum(len(chain.tasks) for chain in made.chains)
    what = f"A plan of {PIECES} pieces with {LAYERS} layers each ({tasks} pieces of work)"
    yield what, whole, "as they came in", alone, 5.0


def find_figures(count: int) -> Iterator[tuple[str, float, str, str, float | None, float | None]]:
    """Give what was measured, its figure and unit, what it stands beside with its figure, and the aim."""
    sys.path[:0] = [str(ROOT / "tests"), str(ROOT)]
    from benchfind import QUERIES, a_lot, make

    from benchtool.session.jobsearch import JobSearch
    from benchtool.session.tables import load_tables

    tables = load_tables()
    with tempfile.TemporaryDirectory() as home:
        jobs, cache = Path(home) / "jobs", Path(home) / "cache"
        jobs.mkdir()
        make(jobs, count)

        def read() -> tuple[JobSearch, float]:
            search = JobSearch(lambda: tables, lambda: datetime.now(UTC) + timedelta(minutes=1), lambda: (jobs,), cache)
            begun = time.perf_counter()
            for _ in search.reading():
                pass
            return search, time.perf_counter() - begun

        search, first = read()
        search.close()
        search, again = read()
        yield f"{count:,} jobs read into the index", first, "s", "looked through again", again, 60.0 * count / 10_000
        gc.collect()
        took = []
        for typed in QUERIES * 3:
            begun = time.perf_counter()
            search.find(typed)
            took.append((time.perf_counter() - begun) * 1_000)
        yield (
            f"A search of {count:,} jobs, the slowest",
            max(took),
            "ms",
            "the middle one",
            statistics.median(took),
            50.0,
        )
        begun = time.perf_counter()
        search.lots_of(a_lot())
        yield "A recalled lot", (time.perf_counter() - begun) * 1_000, "ms", "", None, 50.0
        search.close()
