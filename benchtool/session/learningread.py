"""What a job file shows of the painter's own times, as the thread that reads the folders of jobs looks at it."""

from dataclasses import dataclass, field
from pathlib import Path

from benchtool.job.learned import learned
from benchtool.job.learnedcases import Learned
from benchtool.job.state import fold
from benchtool.session.jobreading import looked_at, stamp_now
from benchtool.store.jobfolders import Stamp, read_job


@dataclass(frozen=True, slots=True)
class Kept:
    """What a file gave when it was last read, or why it gave nothing."""

    stamp: Stamp
    title: str = ""
    demo: bool = False
    found: Learned = field(default_factory=Learned)
    fault: str = ""


def look(path: Path, stamp: Stamp) -> Kept:
    """Say what a file shows."""

    def shown(path: Path) -> Kept:
        opened = read_job(path)
        if opened is None:
            return Kept(stamp_now(path, stamp))
        state = fold(opened.job)
        return Kept(stamp, state.title or path.stem, opened.job.demo, learned(state))

    found, fault = looked_at(path, shown)
    return found if found is not None else Kept(stamp, fault=fault)
