"""Folders full of job files with trials, for the tests of how earlier trials are found and pooled."""

from collections.abc import Iterator, Sequence
from datetime import timedelta
from pathlib import Path
from typing import Any

from builders import JobBuilder
from msgspec.structs import replace
from trialbuilder import FINE, NAIL, STICK, TAPE, judged, planned, prepared, rested, sprayed

from benchtool.job import events as ev
from benchtool.store import jobfile

ABS = {"substrate": "abs", "known": "told"}
NOBODY_KNOWS = {"substrate": "unknown", "known": "unknown"}
Grades = dict[str, dict[ev.Method, Sequence[str]]]


def trial_job(
    title: str = "A shell",
    *,
    job: str = "job-1",
    days: float = 0.0,
    grades: Grades | None = None,
    prep: Sequence[str] = ("degrease",),
    early: bool = False,
    **plan: Any,
) -> JobBuilder:
    """A job with one trial of three systems (a two-part promoter, b one-part, c none), sprayed, rested and graded.

    `early` grades it at once, before its paint has rested.
    """
    bench = JobBuilder()
    bench.job = replace(bench.job, id=job)
    bench.wait(days=days).add(ev.JobDescribed, title=title)
    planned(bench, **(ABS | plan))
    prepared(bench, *prep)
    sprayed(bench)
    if not early:
        rested(bench)
    return judged(bench, grades if grades is not None else FINE)


def three(code: str = "5") -> Grades:
    """Grades of two strips each; `code` is that of one strip of the two-part promoter in the tape test."""
    return {
        "a": {TAPE: ["5", code], STICK: ["4", "5"], NAIL: ["4", "4"]},
        "b": {TAPE: ["4", "3"], STICK: ["3", "3"], NAIL: ["2", "3"]},
        "c": {TAPE: ["1", "0"], STICK: ["0", "1"], NAIL: ["0", "0"]},
    }


def written(folder: Path, name: str, bench: JobBuilder) -> Path:
    """Save a job into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{name}.json"
    jobfile.save(path, bench.job, keep=0)
    return path


def shelf(folder: Path) -> Path:
    """A folder with jobs that can be pooled, and some that can't; gives the one to open."""
    first = written(folder, "mudguard", trial_job("Mudguard", job="job-a", each=2, grades=three(), batch="roll 7"))
    written(
        folder,
        "mirror",
        trial_job("Mirror cap", job="job-b", days=20, each=2, grades=three("2"), batch="roll 9", name="Mirror trial"),
    )
    written(folder, "dash", trial_job("Dashboard", job="job-c", days=40, prep=("wash", "degrease", "abrade")))
    written(folder, "shell", trial_job("Clear shell", job="job-d", days=50, batch="offcut of May", **NOBODY_KNOWS))
    written(folder, "case", trial_job("Camera case", job="job-e", days=60, batch="", **NOBODY_KNOWS))
    written(folder, "hasty", trial_job("Hasty bracket", job="job-f", days=70, early=True))
    return first


def many(folder: Path, count: int, *, with_trial: int) -> Iterator[Path]:
    """Write that many jobs, of which each `with_trial`th holds a trial: the same bytes under other ids and titles."""
    folder.mkdir(parents=True, exist_ok=True)
    trial = jobfile.dump(trial_job("JOB-TITLE", job="job-id").job)
    plain = JobBuilder().add(ev.JobDescribed, title="JOB-TITLE")
    plain.job = replace(plain.job, id="job-id")
    without = jobfile.dump(plain.wait(seconds=timedelta(days=1).total_seconds()).job)
    for i in range(count):
        data = trial if i % with_trial == 0 else without
        path = folder / f"job-{i:04d}.json"
        path.write_bytes(data.replace(b"JOB-TITLE", f"Job {i}".encode()).replace(b'"job-id"', f'"job-{i}"'.encode()))
        yield path
