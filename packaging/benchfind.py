"""Measure finding: ten thousand made-up jobs in a temporary folder, read into an index and searched.

.venv/bin/python packaging/benchfind.py [COUNT]
"""

# ruff: noqa: E402 - it measures the copy that it lies in, installed or not
import gc
import random
import sys
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import perf_counter, process_time

sys.path[:0] = [str(Path(__file__).parents[1])]

from benchtool.job import events as ev
from benchtool.job.cards import Gun
from benchtool.job.lots import Lot
from benchtool.job.record import FORMAT, SCHEMA, Job
from benchtool.session.demo import DEMO, demo_job
from benchtool.session.jobsearch import JobSearch
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.trade.substrates import Flex

START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
NAMES = ("Old Mill", "Harbour", "Müller", "Østby", "Lindqvist", "Novák", "Ferrara", "Okafor", "Tanaka", "Weir")
THINGS = ("tank", "fairing", "guitar body", "helmet", "wheel", "mirror cap", "sign", "canopy", "lamp", "case")
MATERIALS = ("abs", "aluminium", "steel", "pp", "wood", "glass", "unknown")
SHADES = ("deep red, two drops of black", "matched to the old lid", "pearl over silver", "as last year", "straight")


def made_job(number: int, chance: random.Random) -> Job:
    """Make a job of some fifty events: two pieces of the demo's kind, cups out of lots, coats, a waiver, a note."""
    demo = demo_job(START, DEMO)
    cards = [e for e in demo.events if isinstance(e, ev.CardCopied)]
    chosen = (cards[number % 2 :] + cards)[:3]
    at = START - timedelta(hours=7 * number)
    made: list[ev.Event] = []

    def add(kind: type, **fields: object) -> None:
        nonlocal at
        at += timedelta(minutes=3)
        made.append(kind(id=f"e{len(made) + 1}", at=at, **fields))

    customer = f"{chance.choice(NAMES)} {number % 997}"
    add(ev.JobDescribed, title=f"Job {number}", customer=customer, note="" if number % 3 else "in a hurry")
    for card in chosen:
        add(ev.CardCopied, card=card.card)
    for card in chosen:
        lot = Lot(
            id=f"lot-{card.card.id}",
            card=card.card.id,
            part="Base",
            full_mL=500,
            number=f"L{number // 40}-{card.card.id}",
        )
        add(ev.LotTaken, lot=lot)
    for piece in ("p1", "p2"):
        what = f"{chance.choice(THINGS)} {piece[1]}"
        plain = ev.Piece(id=piece, name=what, substrate=chance.choice(MATERIALS), known=ev.Known.TOLD, flex=Flex.RIGID)
        add(ev.PieceAdded, piece=plain)
        add(ev.PrepDone, piece=piece, step=ev.Prep.DEGREASE, note="" if number % 5 else "silicone under the handle")
        for k, card in enumerate(chosen):
            layer = f"{piece}-l{k}"
            add(
                ev.LayerAdded,
                piece=piece,
                layer=ev.Layer(id=layer, card=card.card.id, coats=2, note=chance.choice(SHADES)),
            )
            parts = next(e.parts for e in demo.events if isinstance(e, ev.Mixed))
            add(ev.Mixed, mix=f"{layer}-m", layer=layer, card=card.card.id, gun=Gun.AIRBRUSH, make_mL=50, parts=parts)
            add(ev.Poured, mix=f"{layer}-m", part=parts[0].name, mL=30, lot=f"lot-{card.card.id}")
            for _ in range(2):
                add(ev.CoatStarted, layer=layer, mix=f"{layer}-m")
                add(ev.CoatDone, layer=layer)
    if number % 4 == 0:
        add(
            ev.WaiverSigned,
            rule="layering.recoat-early",
            key="layering.recoat-early|p1-l1",
            message="The layer below is not open for recoat yet.",
            reason=f"Customer waits, tested on strip {number}.",
        )
    return Job(format=FORMAT, schema=SCHEMA, id=f"job-{number}", created=min(e.at for e in made), events=tuple(made))


def make(folder: Path, count: int) -> int:
    """Write so many jobs; gives how many events the first of them has."""
    chance = random.Random(1)
    size = 0
    for number in range(count):
        job = made_job(number, chance)
        size = size or len(job.events)
        (folder / f"job-{number:05}.json").write_bytes(jobfile.dump(job))
    return size


QUERIES = (
    "mill", "m", "muller red", "tank abs clear", "lot:L12", "finding:customer", "before:2024", "silicone", "e", "j p l",
    "after:2025-01 wheel", "customer:harbour", "nothingatall", "2025-06",
)  # fmt: skip


def measure(count: int = 10_000) -> Iterator[str]:
    """Give each figure as a line: reading all, reading again, and the slowest and the middle search."""
    with tempfile.TemporaryDirectory() as home:
        jobs, cache = Path(home) / "jobs", Path(home) / "cache"
        jobs.mkdir()
        events = make(jobs, count)
        tables = load_tables()

        def search() -> JobSearch:
            return JobSearch(lambda: tables, lambda: datetime.now(UTC) + timedelta(minutes=1), lambda: (jobs,), cache)

        for what in ("all jobs read into the index", "looked through again, nothing changed"):
            found = search()
            began, worked = perf_counter(), process_time()
            for _ in found.reading():
                pass
            took, worked = perf_counter() - began, process_time() - worked
            yield f"{what}: {took:.2f} s, {worked:.2f} s of them its own work ({count} jobs of {events} events)"
            if "again" not in what:
                found.close()
        yield f"the index: {sum(p.stat().st_size for p in cache.iterdir()) / 1e6:.1f} MB"
        gc.collect()
        times = []
        for typed in QUERIES:
            for _ in range(3):
                began = process_time()  # what others do on this machine meanwhile is not counted
                answer = found.find(typed)
                times.append((process_time() - began, typed, answer.pieces))
        times.sort()
        worst = times[-1]
        middle = times[len(times) // 2][0]
        yield f"a search: {middle * 1e3:.1f} ms, at worst {worst[0] * 1e3:.1f} ms (“{worst[1]}”, {worst[2]} pieces)"
        began = perf_counter()
        recall = found.lots_of(a_lot())
        yield f"a recalled lot: {(perf_counter() - began) * 1e3:.1f} ms ({recall.pieces} pieces)"
        found.close()


def a_lot() -> str:
    """Give the number of a can that is on some of the jobs that `make` writes."""
    return f"L12-{[e.card.id for e in demo_job(START, DEMO).events if isinstance(e, ev.CardCopied)][1]}"


if __name__ == "__main__":
    for line in measure(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000):
        print(line, flush=True)
