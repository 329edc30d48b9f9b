"""Copying photos beside a job, in a thread: each is read, hashed and kept; nothing of the record is touched here."""

from collections import deque
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from threading import Event, RLock, Thread
from typing import NamedTuple

from benchtool.job.pieces import Picture
from benchtool.store import photoclean
from benchtool.store import photos as kept
from benchtool.store.files import one_line
from benchtool.store.photoclean import CantClean, Kind
from benchtool.store.photos import PhotoFault
from benchtool.trade.saying import say, say_n

_MOST_NAMED = 3
_SYSTEMS_OWN = ("Thumbs.db", "desktop.ini")
"""Files that a system puts into folders of photos by itself."""

SUFFIXES = (".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif")
"""What is taken out of a folder; HEIC too, so that it is said why it can't be."""
MOST = 500
"""So many photos go in at once (judgement): a whole camera card dropped by mistake fills no disk."""
_LONGEST_NAME = 300

Source = Path | Callable[[], bytes]
"""A file, a folder, or what gives the bytes of a photo when it is called (in the thread)."""


class Progress(NamedTuple):
    """How many photos of how many are copied."""

    done: int
    of: int

    @property
    def words(self) -> str:
        """Say it."""
        if not self.of:
            return say("Looking for photos …")
        return say_n("Copied {done} of {n} photo.", "Copied {done} of {n} photos.", self.of, done=self.done)


@dataclass(frozen=True, slots=True)
class Copied:
    """A photo that lies beside the job now, when it was taken by its camera's clock, and what is odd about it."""

    picture: Picture
    taken: datetime | None = None
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Refused:
    """What could not be copied, by its name, and why: one sentence."""

    called: str
    why: str

    @property
    def words(self) -> str:
        """Say it in one line."""
        return say("{file}: {why}", file=self.called, why=self.why) if self.called else self.why


class Copying:
    """Copies photos, one after the other. `poll` takes what came; `over` is set after the last of it."""

    def __init__(self, job: Path, sources: Sequence[Source], tell: Callable[[], None]) -> None:
        self.progress = Progress(0, 0)
        self.over = False
        self.copied: list[Copied] = []
        self.refused: list[Refused] = []
        self._job, self._sources = job, tuple(sources)
        self._tell: Callable[[], None] | None = tell
        self._lock = RLock()
        self._stop = Event()
        self._told: deque[Progress | Copied | Refused | None] = deque()
        self._thread = Thread(target=self._run, name="photo-copy", daemon=True)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def stop(self, wait_s: float = 0.0) -> None:
        """Copy no further photo, and tell nobody; the one that is on its way is copied whole."""
        with self._lock:
            self._stop.set()
            self._tell = None
        if wait_s:
            self._thread.join(wait_s)

    def poll(self) -> None:
        """Take what came since."""
        while self._told:
            told = self._told.popleft()
            match told:
                case Progress():
                    self.progress = told
                case Copied():
                    self.copied.append(told)
                case Refused():
                    self.refused.append(told)
                case None:
                    self.over = True

    def _say(self, told: Progress | Copied | Refused | None) -> None:
        self._told.append(told)
        with self._lock:  # held while telling, so that nobody is told after `stop`
            if self._tell is not None:
                with suppress(RuntimeError):  # a window that is half gone hears nothing
                    self._tell()

    def _run(self) -> None:
        try:
            found = self._listed()
            for i, source in enumerate(found):
                if self._stop.is_set():
                    return
                self._say(Progress(i, len(found)))
                self._say(copy_one(self._job, source))
            self._say(Progress(len(found), len(found)))
        except Exception as fault:  # noqa: BLE001 - whatever it was, the window is told and goes on
            self._say(Refused("", say("The photos could not be copied ({why}).", why=type(fault).__name__)))
        finally:
            self._say(None)

    def _listed(self) -> list[Source]:
        found: list[Source] = []
        for source in self._sources:
            if isinstance(source, Path) and source.is_dir():
                found += self._of_folder(source)
            else:
                found.append(source)
        if len(found) > MOST:
            self._told.append(
                Refused("", say("These are {n} photos: the first {most} are taken.", n=len(found), most=MOST))
            )
        return found[:MOST]

    def _of_folder(self, folder: Path) -> list[Path]:
        name = one_line(folder.name) or str(folder)
        try:
            inside = sorted(folder.iterdir(), key=lambda path: path.name.casefold())
        except OSError as fault:
            why = one_line(fault.strerror or type(fault).__name__)
            self._told.append(Refused(name, say("this folder can't be read ({why}).", why=why)))
            return []
        found = [file for file in inside if file.suffix.lower() in SUFFIXES and not file.name.startswith(".")]
        odd = [f.name for f in inside if f not in found and not f.name.startswith(".") and f.name not in _SYSTEMS_OWN]
        odd = [one_line(o, _LONGEST_NAME) for o in odd if not (folder / o).is_dir()]
        if odd and found:
            self._told.append(Refused("", _left_out(odd)))
        if not found:
            self._told.append(Refused(name, say("there are no photos in this folder.")))
        return found


def _left_out(names: list[str]) -> str:
    if len(names) == 1:
        return say("{file} is no photo: left out.", file=names[0])
    shown = ", ".join(names[:_MOST_NAMED]) + (" …" if len(names) > _MOST_NAMED else "")
    return say("{n} files are no photos: left out ({files}).", n=len(names), files=shown)


def copy_one(job: Path, source: Source) -> Copied | Refused:
    """Read a photo and keep it beside the job; whatever stands in the way becomes a sentence."""
    called = one_line(source.name, _LONGEST_NAME) if isinstance(source, Path) else ""
    try:
        data = kept.read(source) if isinstance(source, Path) else source()
        if photoclean.kind_of(data) in (Kind.HEIF, Kind.OTHER):
            return Refused(called, _no_photo(data))
        taken, remark = None, ""
        try:
            taken = photoclean.look(data).exif.taken
        except CantClean:
            remark = say("it is damaged or not whole; what is there of it is kept.")
        return Copied(Picture(name=kept.keep(job, data), sha256=kept.sha256_of(data), called=called), taken, remark)
    except PhotoFault as fault:
        return Refused(called, _begun_small(f"{fault}."))
    except MemoryError:
        return Refused(called, say("there is not enough memory for a photo so large: save it smaller first."))


def _no_photo(data: bytes) -> str:
    if not data:
        return say("this file is empty.")
    if photoclean.kind_of(data) is Kind.HEIF:
        return say("this is a HEIC photo, which can't be shown here: save it as JPEG first.")
    return say("this is no JPEG, PNG or WebP photo.")


def _begun_small(words: str) -> str:
    return words[:1].lower() + words[1:]
