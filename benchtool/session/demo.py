"""The demo job: a scenario of our own, its times moved to the moment it is opened."""

from datetime import datetime, timedelta
from pathlib import Path

from benchtool.job.record import Job, shifted
from benchtool.session.resources import resource
from benchtool.store import jobfile

STALE = timedelta(hours=8)
"""A demo left alone for longer than a working day begins afresh, the old one kept beside it."""

AFTER = timedelta(minutes=3, seconds=20)
"""How long after its last event the demo is opened (so that countdowns are in the middle of their run)."""


def demo_job(now: datetime | None = None) -> Job:
    """Read the demo; with `now`, move its times so that its last act was a moment ago."""
    job = jobfile.load(resource("demo.json")).job
    if now is None:
        return job
    whole = now.replace(microsecond=0)
    return shifted(job, whole - AFTER - max(e.at for e in job.events))


def place_demo(folder: Path, now: datetime) -> Path:
    """Give the painter's own copy of the demo, made afresh where there is none, or only one of long ago.

    Raises:
        SaveFault: the copy can't be written.
    """
    path = folder / "demo.json"
    if path.exists():
        try:
            newest = max((e.at for e in jobfile.load(path).job.events), default=None)
        except jobfile.JobFileFault:
            newest = None
        if newest is not None and now - newest < STALE:
            return path
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise jobfile.SaveFault(path, f"its folder can't be made: {fault.strerror}") from fault
    jobfile.save(path, demo_job(now))
    return path
