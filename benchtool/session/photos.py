"""Measuring a cross-cut from a photo, away from the window: a worker opens, finds, measures and keeps; newest wins.

Everything here is asked for and taken by the one who shows it; only `_Worker` runs beside. `tell` is called from that
thread when there is something to `poll`, so whoever gives it must hand it over to their own thread.
"""

import logging
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from benchtool.job import events as ev
from benchtool.store import photos as kept
from benchtool.store.photos import PhotoFault
from benchtool.trade import crosscut
from benchtool.trade.crosscut import Grid, Measured, NotAPhoto, Photo
from benchtool.trade.saying import say

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Pixels = NDArray[np.uint8]
    Mask = NDArray[np.bool_]

log = logging.getLogger("benchtool")

PREVIEW = 2_000
"""Pixels of the longer side of what is shown of a photo."""
INSTALL = "python3 packaging/start.py"

Source = Path | Callable[[], bytes]
"""Where a photo comes from: a file, or what gives its bytes when it is called (in the worker)."""


class Doing(StrEnum):
    """What the worker is at."""

    NOTHING = ""
    OPENING = "opening"
    FINDING = "finding"
    MEASURING = "measuring"
    COUNTING = "counting"
    KEEPING = "keeping"

    @property
    def words(self) -> str:
        """Say it to the painter."""
        return {
            Doing.NOTHING: "",
            Doing.OPENING: say("Reading the photo …"),
            Doing.FINDING: say("Looking for the cuts …"),
            Doing.MEASURING: say("Measuring …"),
            Doing.COUNTING: say("Counting …"),
            Doing.KEEPING: say("Keeping it with the job …"),
        }[self]


@dataclass(frozen=True, slots=True, eq=False)
class Shot:
    """An opened photo: the name of its file beside the job, what it hashes to, its pixels, and a smaller copy to show.

    `unkept` says why it is not beside the job, and then `data` is the file.
    """

    name: str
    sha256: str
    photo: Photo
    preview: "Pixels"
    unkept: str = ""
    data: bytes = b""


@dataclass(frozen=True, slots=True, eq=False)
class Taken:
    """What goes into the record: what was counted, the photo with its mask, and what could not be kept."""

    measured: Measured
    photo: ev.Photo
    unkept: str


@dataclass(frozen=True, slots=True, eq=False)
class _Outcome:
    """What one piece of work came to; a field that is None, or words that are empty, change nothing."""

    trouble: str = ""
    gone: bool = False
    shot: Shot | None = None
    looked: bool = False
    grid: Grid | None = None
    measured: Measured | None = None
    counted: Measured | None = None
    taken: Taken | None = None


class _Stale(Exception):
    """Something newer was asked for."""


@dataclass(frozen=True, slots=True)
class _Call:
    """One piece of work on its way; `go_on` is asked between its steps and raises where it is not wanted any more."""

    go_on: Callable[[], None]


_Task = Callable[[_Call], _Outcome]


class _Worker:
    """Does the newest thing asked for, in a thread that is there only while there is work."""

    def __init__(self, tell: Callable[[], None]) -> None:
        self._tell: Callable[[], None] | None = tell
        self._lock = threading.RLock()
        self._newest = 0
        self._waiting: tuple[int, _Task] | None = None
        self._outcome: _Outcome | None = None
        self._thread: threading.Thread | None = None

    def ask(self, task: _Task) -> None:
        with self._lock:
            if self._tell is None:
                return
            self._newest += 1
            self._outcome, self._waiting = None, (self._newest, task)
            if self._thread is None:
                # a hanging disk must not keep the program from closing
                self._thread = threading.Thread(target=self._run, name="photo", daemon=True)
                self._thread.start()

    def drop(self) -> None:
        with self._lock:
            self._newest += 1
            self._outcome = self._waiting = None

    def close(self, wait_s: float) -> None:
        with self._lock:
            self._tell = None
            self.drop()
            thread = self._thread
        if thread is not None and thread is not threading.current_thread():
            thread.join(wait_s)

    def take(self) -> _Outcome | None:
        with self._lock:
            outcome, self._outcome = self._outcome, None
            return outcome

    def _run(self) -> None:
        while True:
            with self._lock:
                if self._waiting is None:
                    self._thread = None
                    return
                (number, task), self._waiting = self._waiting, None
            outcome = _done(task, partial(self._require, number))
            with self._lock:  # held while telling, so that nobody is told after `close`
                if number == self._newest and outcome is not None and self._tell is not None:
                    self._outcome = outcome
                    with suppress(RuntimeError):  # a window that is half gone hears nothing
                        self._tell()

    def _require(self, number: int) -> None:
        if number != self._newest:
            raise _Stale


def _done(task: _Task, go_on: Callable[[], None]) -> _Outcome | None:
    """Do it; whatever goes wrong becomes a sentence."""
    try:
        _need_libraries()
        return task(_Call(go_on))
    except _Stale:
        return None
    except NotAPhoto as fault:
        return _Outcome(trouble=str(fault))
    except PhotoFault as fault:
        return _Outcome(trouble=f"{fault}.", gone=fault.gone)
    except ImportError:
        return _Outcome(trouble=missing())
    except MemoryError:
        return _Outcome(
            trouble=say("There is not enough memory for a photo so large: save it smaller and choose that.")
        )
    except Exception:
        log.exception("a photo could not be measured")
        return _Outcome(
            trouble=say("This photo could not be measured: take another, or grade by eye. The log says more.")
        )


def _need_libraries() -> None:
    import cv2
    import numpy as np

    assert cv2.__name__, np.__name__


def missing() -> str:
    """Say what installs the libraries that measuring needs."""
    return say(
        "Measuring from a photo needs numpy and OpenCV, which are not installed: close the bench and start it with "
        "“{command}”. Grading by eye works without them.",
        command=INSTALL,
    )


@dataclass(eq=False)
class PhotoWork:
    """A photo on its way to a percentage. What is here is what `poll` last took; nothing changes by itself."""

    tell: Callable[[], None] = lambda: None
    doing: Doing = field(default=Doing.NOTHING, init=False)
    trouble: str = field(default="", init=False)
    gone: bool = field(default=False, init=False)
    shot: Shot | None = field(default=None, init=False)
    grid: Grid | None = field(default=None, init=False)
    looked: bool = field(default=False, init=False)
    measured: Measured | None = field(default=None, init=False)
    counted: Measured | None = field(default=None, init=False)
    taken: Taken | None = field(default=None, init=False)
    job: Path | None = field(default=None, init=False)

    def __post_init__(self) -> None:
        self._worker = _Worker(self.tell)

    # --- asking ------------------------------------------------------------------------------------

    def begin(self) -> None:
        """Start with no photo; what is under way is dropped."""
        self._worker.drop()
        self.doing, self.trouble, self.gone = Doing.NOTHING, "", False
        self.shot = self.grid = self.measured = self.counted = self.taken = None
        self.looked = False

    def open(self, source: Source, job: Path | None, cuts: int) -> None:
        """Read a photo, keep it beside the job (where one is given), and look for `cuts` cuts each way.

        A photo that can't be opened leaves the one before in its place.
        """
        self.job = job
        self._ask(Doing.OPENING, lambda call: _open(call, source, job, cuts))

    def again(self, job: Path, photo: ev.Photo, mask: "Mask | None" = None, *, read_only: bool = False) -> None:
        """Take a photo that is kept beside the job up again, as it was measured; `mask` goes before the kept one."""
        self.begin()
        self.job = None if read_only else job
        self._ask(Doing.OPENING, lambda call: _again(call, job, photo, mask))

    def find(self, cuts: int) -> None:
        """Look for the lattice once more."""
        shot = self.shot
        if shot is not None:
            self._ask(Doing.FINDING, lambda _: _Outcome(looked=True, grid=crosscut.find_grid(shot.photo, cuts)))

    def measure(self, grid: Grid) -> None:
        """Measure inside this grid."""
        shot = self.shot
        if shot is not None:
            self.grid = grid
            self._ask(Doing.MEASURING, lambda _: _measure(shot.photo, grid))

    def recount(self, mask: "Mask") -> None:
        """Count what a hand marked as bare."""
        measured = self.measured
        if measured is not None:
            self._ask(Doing.COUNTING, lambda _: _Outcome(counted=crosscut.recount(measured, mask)))

    def take(self, mask: "Mask", *, corrected: bool) -> None:
        """Count once more, keep the mask beside the job, and make the record of the photo."""
        shot, measured, job = self.shot, self.measured, self.job
        if shot is not None and measured is not None:
            self._ask(Doing.KEEPING, lambda _: _take(shot, measured, mask, job, corrected=corrected))

    def cancel(self) -> None:
        """Let what is under way go; what is there stays."""
        self._worker.drop()
        self.doing = Doing.NOTHING

    def close(self, wait_s: float = 2.0) -> None:
        """Stop for good."""
        self._worker.close(wait_s)
        self.doing = Doing.NOTHING

    def _ask(self, doing: Doing, task: _Task) -> None:
        self.doing, self.trouble, self.gone, self.taken = doing, "", False, None
        self._worker.ask(task)

    # --- taking ------------------------------------------------------------------------------------

    def poll(self) -> bool:
        """Take what the worker has done; says whether there was anything."""
        outcome = self._worker.take()
        if outcome is None:
            return False
        self.doing, self.trouble, self.gone = Doing.NOTHING, outcome.trouble, outcome.gone
        if outcome.shot is not None:
            self.shot, self.grid, self.looked = outcome.shot, None, False
            self.measured = self.counted = None
        if outcome.looked:
            self.grid, self.looked = outcome.grid, True
            self.measured = self.counted = None
        if outcome.measured is not None:
            self.measured = self.counted = outcome.measured
            self.grid = outcome.measured.grid
        self.counted = outcome.counted or self.counted
        self.taken = outcome.taken
        return True


def _open(call: _Call, source: Source, job: Path | None, cuts: int) -> _Outcome:
    data = kept.read(source) if isinstance(source, Path) else source()
    call.go_on()
    photo = crosscut.open_photo(data)
    call.go_on()
    shot = _kept(Shot(kept.name_of(data), kept.sha256_of(data), photo, photo.preview(PREVIEW), data=data), job)
    call.go_on()
    return _Outcome(shot=shot, looked=True, grid=crosscut.find_grid(photo, cuts))


def _kept(shot: Shot, job: Path | None) -> Shot:
    """Keep the file of a photo, or say why it could not be: it can be measured all the same."""
    if job is None:
        return shot
    try:
        return replace(shot, name=kept.keep(job, shot.data), unkept="", data=b"")
    except PhotoFault as fault:
        return replace(shot, unkept=f"{fault}.")


def _again(call: _Call, job: Path, record: ev.Photo, mask: "Mask | None") -> _Outcome:
    data = kept.read_kept(job, record.name, record.sha256)
    call.go_on()
    photo = crosscut.open_photo(data)
    shot = Shot(record.name, record.sha256, photo, photo.preview(PREVIEW))
    call.go_on()
    if len(record.corners) != 4:
        return _Outcome(shot=shot, looked=True, grid=crosscut.find_grid(photo, record.cuts))
    a, b, c, d = record.corners
    grid = Grid((a, b, c, d), record.cuts)
    measured = crosscut.measure(photo, grid)
    call.go_on()
    trouble = ""
    if mask is None and record.corrected:
        mask, trouble = _kept_mask(job, record.mask)
    fits = mask is not None and mask.shape == measured.mask.shape
    counted = crosscut.recount(measured, mask) if mask is not None and fits else None
    return _Outcome(trouble=trouble, shot=shot, looked=True, grid=grid, measured=measured, counted=counted)


def _kept_mask(job: Path, name: str) -> "tuple[Mask | None, str]":
    try:
        return crosscut.mask_from(kept.read_kept(job, name)), ""
    except (PhotoFault, NotAPhoto):
        return None, say("What was corrected by hand is gone from beside the job: this is as it was measured.")


def _measure(photo: Photo, grid: Grid) -> _Outcome:
    return _Outcome(measured=crosscut.measure(photo, grid))


def _take(shot: Shot, measured: Measured, mask: "Mask", job: Path | None, *, corrected: bool) -> _Outcome:
    counted = crosscut.recount(measured, mask)
    shot, name = (_kept(shot, job) if shot.unkept else shot), ""
    unkept = shot.unkept
    if job is not None:
        try:
            name = kept.keep(job, crosscut.mask_bytes(counted.mask))
        except PhotoFault as fault:
            unkept = unkept or f"{fault}."
    grid = measured.grid
    record = ev.Photo(
        name=shot.name, sha256=shot.sha256, cuts=grid.cuts, corners=grid.corners, mask=name, corrected=corrected
    )
    return _Outcome(counted=counted, taken=Taken(counted, record, unkept))
