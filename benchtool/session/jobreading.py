"""How the folders of jobs are read: in a thread of their own, and only read, so that no disk holds up the window."""

from collections.abc import Callable, Generator, Iterable, Iterator, Mapping
from pathlib import Path
from queue import Empty, SimpleQueue
from threading import Event, Thread
from typing import Generic, NamedTuple, Protocol, TypeVar

from benchtool.session.document import Document
from benchtool.store.faults import JobFileFault
from benchtool.store.files import one_line
from benchtool.store.trialfiles import Stamp, Why, job_files
from benchtool.trade.saying import say, say_n

WAIT_S = 0.004
"""So long a step waits for a thread, in seconds: a few fit into one picture on the screen."""

_GONE: Stamp = (0, -1)
"""Of a file that went while its folder was read: where it comes back unchanged, it is read again."""


class KeptFile(Protocol):
    """What a file gave when it was last read."""

    @property
    def stamp(self) -> Stamp:
        """Which file it was."""

    @property
    def fault(self) -> object:
        """Why it gave nothing, if so."""


Kept = TypeVar("Kept", bound=KeptFile)
Given = TypeVar("Given")


class Progress(NamedTuple):
    """How many files of how many are read."""

    read: int
    of: int

    @property
    def words(self) -> str:
        """Say it."""
        return say_n("Read {read} of {n} job.", "Read {read} of {n} jobs.", self.of, read=self.read)


class Unread(NamedTuple):
    """What can't be looked into, and why, as a sentence."""

    path: Path
    words: str


class _Came(NamedTuple, Generic[Kept]):
    path: Path
    kept: Kept


class Reader(Generic[Kept]):
    """Reads the files in a thread of its own, and takes what came of them where it is asked for.

    `look` gives what a file holds, from the thread. `kept` begins with what is known: a file with its stamp is not read
    again. `unread` are the folders that can't be looked into; `whole` says that all was read.
    """

    def __init__(
        self, folders: tuple[Path, ...], look: Callable[[Path, Stamp], Kept], known: Mapping[Path, Kept], name: str
    ) -> None:
        self.kept, self.progress, self.whole = dict(known), Progress(0, 0), False
        self.unread: tuple[Unread, ...] = ()
        self._folders, self._look, self._known = folders, look, dict(known)
        self._told: SimpleQueue[Progress | Unread | _Came[Kept] | None] = SimpleQueue()
        self._stop = Event()
        self._failed = ""
        self._thread = Thread(target=self._run, name=name, daemon=True)

    def reading(self) -> Generator[Progress, None, None]:
        """Read what is new or has changed; whoever stops in the middle keeps what was read.

        A step takes no longer than it takes to draw a picture, whatever the disk does. A file that is being read when
        the reading is stopped is read to its end, and forgotten.
        """
        seen: set[Path] = set()
        self._thread.start()
        try:
            while self._hear(seen):
                yield self.progress
        finally:
            self._stop.set()
        if self._failed:
            self.unread += (Unread(Path(), say("The reading broke off: {why}.", why=self._failed)),)
            return
        self.whole = True
        self.kept = {path: kept for path, kept in self.kept.items() if path in seen}

    def _hear(self, seen: set[Path]) -> bool:
        """Take what came since; says whether there will be more."""
        for told in told_since(self._told, WAIT_S):
            if told is None:
                return False
            if isinstance(told, Progress):
                self.progress = told
            elif isinstance(told, Unread):
                self.unread += (told,)
            else:
                seen.add(told.path)
                self.kept[told.path] = told.kept
        return True

    def _run(self) -> None:
        try:
            self._read()
        except Exception as fault:  # noqa: BLE001 - whatever it was, the window is told and goes on
            self._failed = type(fault).__name__
        finally:
            self._told.put(None)

    def _read(self) -> None:
        listed = job_files(self._folders)
        for folder, why in listed.shut:
            self._told.put(Unread(folder, shut_words(str(folder), why)))
        for i, (path, stamp) in enumerate(listed.files):
            if self._stop.is_set():
                return
            self._told.put(Progress(i, len(listed.files)))
            known = self._known.get(path)
            same = known is not None and known.stamp == stamp and not known.fault
            self._told.put(_Came(path, known if known is not None and same else self._look(path, stamp)))
        self._told.put(Progress(len(listed.files), len(listed.files)))


def told_since(told: "SimpleQueue[Given]", wait_s: float) -> Iterator[Given]:
    """Give what a thread told since; waits so long (s) where there is nothing yet."""
    wait = wait_s
    while True:
        try:
            yield told.get(timeout=wait) if wait else told.get_nowait()
        except Empty:
            return
        wait = 0.0


def looked_at(path: Path, look: Callable[[Path], Given]) -> tuple[Given | None, str]:
    """Give what a file holds; or None, and why it can't be read: one odd file must not hide the others."""
    try:
        return look(path), ""
    except JobFileFault as fault:
        return None, str(fault)
    except Exception as fault:  # noqa: BLE001 - see above
        return None, say("{file}: it can't be read ({why})", file=one_line(path.name), why=type(fault).__name__)


def stamp_now(path: Path, stamp: Stamp) -> Stamp:
    """Give the stamp under which to keep that a file gave nothing: one that is gone is read when it is back."""
    return stamp if path.exists() else _GONE


def folders_of(documents: Iterable[Document], recent: Iterable[str]) -> tuple[Path, ...]:
    """Give the folders of the open and the recent jobs, each once."""
    paths = [d.path for d in documents] + [Path(p) for p in recent]
    return tuple(dict.fromkeys(p.parent for p in paths))


def shut_words(name: str, why: Why) -> str:
    """Say why a folder can't be looked into."""
    folder = one_line(name)
    match why:
        case Why.GONE:
            return say("The folder {folder} is gone, or its disk is not there.", folder=folder)
        case Why.LOCKED:
            return say("You may not look into the folder {folder}.", folder=folder)
        case Why.ODD:
            return say("The folder {folder} can't be looked into.", folder=folder)
