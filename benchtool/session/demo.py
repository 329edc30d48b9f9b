"""The demo jobs: scenarios of our own, their times moved to the moment they are opened."""

import re
from datetime import datetime, timedelta
from pathlib import Path

from benchtool.job.record import Job, is_logged, shifted
from benchtool.session.resources import resource
from benchtool.store import jobfile

STALE = timedelta(hours=8)
"""After a working day a new demo is begun; the old one is left as it is."""

AFTER = timedelta(minutes=3, seconds=20)
"""How long after its last event the demo is opened (so that countdowns are in the middle of their run)."""


DEMO, TRIAL_DEMO, FINISHED_DEMO = "demo", "demo-trial", "demo-finished"
DEMOS = (DEMO, TRIAL_DEMO, FINISHED_DEMO)
"""The words for the demos: pieces on the bench, a trial of four strips, and a job that is done."""


def demo_job(now: datetime | None = None, name: str = DEMO) -> Job:
    """Read a demo; with `now`, move its times so that its last act was a moment ago."""
    job = jobfile.load(resource(f"{name}.json")).job
    if now is None:
        return job
    whole = now.replace(microsecond=0)
    return shifted(job, whole - AFTER - max(e.at for e in job.events))


def place_demo(folder: Path, now: datetime, name: str = DEMO) -> Path:
    """Give the painter's own copy of a demo: the newest in `folder`, or a new one where that is of long ago.

    No file is ever written over: whatever was tried out in an older demo is still there.

    Raises:
        SaveFault: the copy can't be written.
    """
    mine = re.compile(re.escape(name) + r"(-\d{8}-\d{6})?")
    copies = [path for path in folder.glob(f"{name}*.json") if mine.fullmatch(path.stem)]
    for path in sorted(copies, key=_changed, reverse=True)[:1]:
        if is_fresh(path, now):
            return path
    return new_demo(folder, now, name)


def is_fresh(path: Path, now: datetime) -> bool:
    """Whether this copy of the demo can be read and was worked on in the last hours."""
    try:
        newest = max((e.at for e in jobfile.load(path).job.events if not is_logged(e)), default=None)
    except (jobfile.JobFileFault, OSError):
        return False
    return newest is not None and now - newest < STALE


def new_demo(folder: Path, now: datetime, name: str = DEMO) -> Path:
    """Write a demo that starts now under a name that is free.

    Raises:
        SaveFault: it can't be written.
    """
    path = folder / f"{name}.json"
    if path.exists():
        path = folder / f"{name}-{now:%Y%m%d-%H%M%S}.json"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise jobfile.SaveFault(path, f"its folder can't be made: {fault.strerror}") from fault
    jobfile.save(path, demo_job(now, name))
    return path


def _changed(path: Path) -> int:
    try:
        return path.stat().st_mtime_ns
    except OSError:
        return 0
