"""A folder of jobs to be found again, and a search of it as slow and plain as can be to hold the index against."""

import os
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from builders import CLEAR, COLOUR, JobBuilder
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.record import Job, withdrawn_ids
from benchtool.rules.finding import Tables
from benchtool.session.jobsearch import JobSearch
from benchtool.session.tables import load_tables
from benchtool.store import jobfile

NOW = datetime(2026, 6, 1, 12, 0, tzinfo=UTC)
"""When the folders are looked at."""

LONG_AGO = int(datetime(2026, 5, 1, tzinfo=UTC).timestamp()) * 1_000_000_000
"""When their files were written (ns): so long ago that their clocks can be trusted."""

TABLES = load_tables()


def tank(
    customer: str = "A. Müller", job: str = "job-1", lot: str = "A-12", note: str = "", **told: object
) -> JobBuilder:
    """Build the job of a tank that has its colour on, out of one can."""
    bench = JobBuilder(tables=TABLES)
    bench.job = replace(bench.job, id=job)
    bench.add(ev.JobDescribed, title="Red tank", customer=customer, note=note)
    bench.card(COLOUR, CLEAR).piece("tank", "abs", name="Fuel tank", **told)
    bench.layer("base", COLOUR).take(COLOUR, "Base", number=lot).mix("base").pour("base", 20).coat()
    return bench


def put(folder: Path, name: str, job: Job, at: int = LONG_AGO) -> Path:
    """Write a job into the folder, as it was written at `at` (ns)."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / name
    path.write_bytes(jobfile.dump(job))
    os.utime(path, ns=(at, at))
    return path


def search_of(*folders: Path, place: Path | None = None, tables: Tables = TABLES, **more: object) -> JobSearch:
    """Make the search of these folders, with nothing read yet."""
    return JobSearch(lambda: tables, lambda: NOW, lambda: folders, place, **more)


def read(search: JobSearch, **how: bool) -> JobSearch:
    """Read all there is."""
    for _ in search.reading(**how):
        pass
    return search


def names(found: Sequence[object]) -> list[str]:
    """Name the pieces of the rows."""
    return [row.shown.name for row in found]


# --- the slow search ----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Plain:
    """A piece, and the words of each field, cut out of the events one by one."""

    file: str
    piece: str
    words: dict[str, set[str]]


def plain_words(text: str) -> set[str]:
    """Cut a text into words letter by letter: no accents, small letters; umlauts also as two letters."""
    text = unicodedata.normalize("NFC", text)
    told = set()
    for way in (PLAIN, SPELT):
        flat = "".join(way.get(c, c) for c in text)
        flat = "".join(c for c in unicodedata.normalize("NFKD", flat) if not unicodedata.combining(c)).casefold()
        told |= set("".join(c if c.isalnum() else " " for c in flat).split())
    return told


PLAIN = {"ø": "o", "Ø": "O", "đ": "d", "Đ": "D", "ł": "l", "Ł": "L", "æ": "a", "Æ": "A"}
SPELT = PLAIN | {"ä": "ae", "ö": "oe", "ü": "ue", "å": "aa", "ø": "oe", "æ": "ae", "Ä": "Ae", "Ö": "Oe", "Ü": "Ue",
                 "Å": "Aa", "Ø": "Oe", "Æ": "Ae"}  # fmt: skip


def scan(folder: Path) -> list[Plain]:
    """Go through every job of a folder and give its pieces with the words of what the tests look for."""
    found = []
    for path in sorted(folder.glob("*.json")):
        job = jobfile.load(path).job
        found += [Plain(path.name, piece, words) for piece, words in _pieces(job)]
    return found


def _pieces(job: Job) -> list[tuple[str, dict[str, set[str]]]]:
    gone = withdrawn_ids(job.events)
    standing = [e for e in job.events if e.id not in gone]
    named = [e for e in standing if isinstance(e, ev.JobDescribed)]
    customer, title, note = (named[-1].customer, named[-1].title, named[-1].note) if named else ("", "", "")
    pieces = {e.piece.id: e.piece for e in standing if isinstance(e, ev.PieceAdded | ev.PieceChanged)}
    return [
        (
            piece.id,
            {
                "customer": plain_words(customer),
                "job": plain_words(title),
                "piece": plain_words(piece.name),
                "note": plain_words(note),
            },
        )
        for piece in pieces.values()
    ]


def by_hand(pieces: Sequence[Plain], words: Sequence[str], field: str) -> set[tuple[str, str]]:
    """Give the pieces in whose field each of the words begins one."""
    return {(p.file, p.piece) for p in pieces if all(any(w.startswith(word) for w in p.words[field]) for word in words)}


def lots_by_hand(job: Job, number: str) -> set[str]:
    """Follow a lot through the events by hand: the pieces a coat of which came from a cup that it was poured into."""
    gone = withdrawn_ids(job.events)
    standing = [e for e in job.events if e.id not in gone]
    cans = {e.lot.id: e.lot.number for e in standing if isinstance(e, ev.LotTaken)}
    begun = {e.mix for e in standing if isinstance(e, ev.Mixed)}
    cups = {e.mix for e in standing if isinstance(e, ev.Poured) and e.lot is not None and cans.get(e.lot) == number}
    there = {e.piece.id for e in standing if isinstance(e, ev.PieceAdded)}
    layers = {e.layer.id: e.piece for e in standing if isinstance(e, ev.LayerAdded) and e.piece in there}
    for e in standing:
        if isinstance(e, ev.LayerRemoved):
            layers.pop(e.layer, None)
    coats = [e for e in standing if isinstance(e, ev.CoatStarted) and e.mix in cups & begun and e.layer in layers]
    return {layers[e.layer] for e in coats}
