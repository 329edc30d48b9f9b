"""All jobs of the folders of jobs, searched: read into the index in threads of their own, then asked at every key.

The files are only read. A folder that does not answer holds up neither the window nor the other folders; what was
known of it is told with the time from which it is.
"""

import os
from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from queue import SimpleQueue
from time import monotonic
from typing import NamedTuple, TypeVar

import msgspec

from benchtool.rules.finding import Tables
from benchtool.session.jobfacts import CupShown, made_by
from benchtool.session.jobfound import Found, Recall, Row, rows_of
from benchtool.session.jobreading import WAIT_S, shut_words, told_since
from benchtool.session.jobsearchwords import as_of_words, old_words, same_names, standing_words
from benchtool.session.jobwalk import Broke, Done, InThread, News, Shut, Walker
from benchtool.session.jobwords import Query, lot_key, read_query
from benchtool.store.files import one_line
from benchtool.store.jobindex import Hits, JobIndex, NoIndex, Restarted
from benchtool.trade.saying import say, say_n

INDEX = "jobs-found.sqlite3"
"""What the index is called in the folder of what may be thrown away."""

MOST_ROWS = 100
"""So many pieces are shown at once; of more, the painter is asked to search for less."""

MOST_RECALLED = 5_000
"""So many pieces of a recalled lot are listed: more than a lot is ever sprayed on (judgement)."""

MOST_FAULTS = 5
SLOW_S = 5.0
"""A folder that has said nothing for so long is told to be slow (judgement)."""

PATIENCE_S = 30.0
"""For a folder that has said nothing for so long the reading waits no longer (judgement)."""

ROUNDS = 3
"""So often a reading begins again where the index was lost under it."""

Reading = Generator["Progress", None, "Readiness"]
Asked = TypeVar("Asked")


class Progress(NamedTuple):
    """How many files of how many are read, and which folders are slow to answer."""

    read: int
    of: int
    slow: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """Say it."""
        told = say_n("Read {read} of {n} job.", "Read {read} of {n} jobs.", self.of, read=self.read)
        if not self.of:
            told = say("Looking into the folders of jobs.")
        if self.slow:
            told += " " + say("{folder} is slow to answer.", folder=one_line(self.slow[0]))
        return told


@dataclass(frozen=True, slots=True)
class Readiness:
    """What a reading came to: how many jobs are known, and whether every folder was read to its end."""

    jobs: int = 0
    whole: bool = False

    @property
    def words(self) -> str:
        """Say it."""
        told = say_n("{n} job can be searched.", "{n} jobs can be searched.", self.jobs)
        return told if self.whole else say("{jobs} Not all was read.", jobs=told)


@dataclass(slots=True)
class _Folder:
    """How a folder answered in the reading under way or last made."""

    walker: Walker | None = None
    read: int = 0
    of: int = 0
    heard: float = 0.0
    done: bool = False
    why: str = ""
    as_of: datetime | None = None


@dataclass(slots=True)
class _Run:
    """One reading: the folders by their names, and what their threads tell."""

    round: int
    folders: dict[str, _Folder] = field(default_factory=dict)
    told: "SimpleQueue[News]" = field(default_factory=SimpleQueue)


def usual_folders(data: Path, recent: Sequence[str]) -> tuple[Path, ...]:
    """Give the folders that are searched where none are named: that of new jobs, that of demos, those of recent jobs.

    `data` is where this person's things lie. That of new jobs is left out until there is one.
    """
    jobs = data / "jobs"
    own = (jobs, data) if os.path.lexists(jobs) else (data,) if os.path.lexists(data) else ()
    return tuple(dict.fromkeys((*own, *(Path(path).parent for path in recent))))


class _About(NamedTuple):
    """What goes with every answer, at one state of the index."""

    state: object = None
    twins: tuple[tuple[Path, ...], ...] = ()
    faults: tuple[tuple[Path, str], ...] = ()


class JobSearch:
    """Searches the jobs in some folders. `place` is the folder of what may be thrown away, None for memory alone.

    `folders` gives the folders that are to be searched now; `now` the present instant with its zone.
    """

    def __init__(
        self,
        tables: Callable[[], Tables],
        now: Callable[[], datetime],
        folders: Callable[[], Sequence[Path]],
        place: Path | None = None,
        *,
        tick: Callable[[], float] = monotonic,
    ) -> None:
        self._tables, self._now, self._ask_folders, self._place, self._tick = tables, now, folders, place, tick
        self._index: JobIndex | None = None
        self._opening: InThread[JobIndex] | None = None
        self._run = _Run(0)
        self._broke, self._over = "", False
        self._kept = _About()
        self._folders: tuple[str, ...] = ()
        self.readiness = Readiness()

    # --- reading ---------------------------------------------------------------------------------------

    def folders(self) -> tuple[Path, ...]:
        """Give the folders that are searched, each once."""
        return tuple(dict.fromkeys(Path(folder) for folder in self._ask_folders()))

    def reading(self, *, rebuild: bool = False) -> Reading:
        """Read what is new or has changed; whoever stops in the middle keeps what was read.

        A step takes no longer than it takes to draw a picture, whatever a disk does.
        """
        self._broke, self._over = "", False
        self._folders = tuple(str(folder) for folder in self.folders())
        self.readiness = Readiness()
        try:
            tables = self._tables()
            index = yield from self._opened(tables, rebuild=rebuild)
            for _ in range(ROUNDS):
                if (yield from self._one_round(index, tables)):
                    break
            self.readiness = Readiness(index.jobs(self._folders), self._all_read())
        except NoIndex:
            self._broke = say("The jobs can't be searched here: SQLite on this system can't look for words.")
        except Restarted:
            self._broke = say("The index of the jobs broke while they were read: read again.")
        self._over = not self._broke
        return self.readiness

    def _opened(self, tables: Tables, *, rebuild: bool) -> Generator[Progress, None, JobIndex]:
        """Open the index in a thread: to look over a large one, or one on a slow disk, takes its time."""
        place = self._place
        self._stop()

        def work() -> JobIndex:
            index, by = self._index, made_by(tables)
            if index is None or index.made_by != by:
                self._let_go()
                index = self._index = JobIndex(place / INDEX if place is not None else None, by)
            elif not self.lost:
                index.settle()
            if rebuild:
                index.forget()
            return index

        while self._opening is not None and not self._opening.over(WAIT_S):  # of a reading that was stopped
            yield Progress(0, 0)
        self._opening = InThread(work)
        while not self._opening.over(WAIT_S):
            yield Progress(0, 0)
        return self._opening.result()

    def close(self) -> None:
        """Let go of the index; it is opened again when it is needed."""
        self._stop()
        if self._opening is not None:
            self._opening.over(PATIENCE_S)
        self._let_go()

    def _let_go(self) -> None:
        index, self._index = self._index, None
        if index is not None:
            index.close()

    def _stop(self) -> None:
        for folder in self._run.folders.values():
            if folder.walker is not None:
                folder.walker.stop()

    def _one_round(self, index: JobIndex, tables: Tables) -> Generator[Progress, None, bool]:
        """Read all folders once; says whether the index is still the one it was."""
        self._stop()
        run = self._run = _Run(index.round)
        at = self._now()  # not in the threads: a clock is asked by one alone
        for name in self._folders:
            walker = Walker(name, index, tables, at, run.told)
            run.folders[name] = _Folder(walker, heard=self._tick())
            last = index.read_at(name)
            run.folders[name].as_of = datetime.fromtimestamp(last.as_of, UTC) if last is not None else None
        for folder in run.folders.values():
            if folder.walker is not None:
                folder.walker.start()
        try:
            while any(not folder.done for folder in run.folders.values()):
                self._hear(run)
                if index.round != run.round:
                    return False
                yield self._progress(run)
        finally:
            self._stop()
            self._flush(index)
        return index.round == run.round

    def _flush(self, index: JobIndex) -> None:
        try:
            index.flush()
        except Restarted:
            return

    def _hear(self, run: _Run) -> None:
        """Take what came since; waits a moment where nothing did."""
        now = self._tick()
        for news in told_since(run.told, WAIT_S):
            folder = run.folders[news.folder]
            folder.heard = now
            match news:
                case Shut(why=why):
                    folder.why, folder.done = shut_words(news.folder, why), True
                case Broke(why=what):
                    folder.why, folder.done = say("The reading of {folder} broke off ({why}).",
                                                  folder=one_line(news.folder), why=what), True  # fmt: skip
                case Done(at=at):
                    folder.done, folder.as_of, folder.why = True, at, ""
                case _:
                    folder.read, folder.of = news.read, news.of
        for name, folder in run.folders.items():
            if not folder.done and now - folder.heard > PATIENCE_S:
                folder.done = True
                folder.why = say("The folder {folder} does not answer.", folder=one_line(name))

    def _progress(self, run: _Run) -> Progress:
        now, folders = self._tick(), run.folders
        slow = tuple(name for name, f in folders.items() if not f.done and now - f.heard > SLOW_S)
        return Progress(sum(f.read for f in folders.values()), sum(f.of for f in folders.values()), slow)

    def _all_read(self) -> bool:
        return all(f.done and not f.why for f in self._run.folders.values())

    # --- asking ----------------------------------------------------------------------------------------

    def find(self, typed: str, most: int = MOST_ROWS) -> Found:
        """Give the pieces that answer to all that was typed, the one worked on last first.

        Whatever is typed, there is an answer and no fault.
        """
        query = read_query(typed)
        if query.empty:
            return Found(told=query.told, wrong=query.wrong, notes=self.notes(), asked=False, whole=self.whole)
        hits = self._asked(lambda index: index.find(self._folders, query.match, query.since, query.until, most), Hits())
        return Found(
            rows=self._rows(hits, query),
            pieces=hits.pieces,
            jobs=hits.jobs,
            told=query.told,
            wrong=query.wrong,
            notes=self.notes(),
            whole=self.whole,
            so_far=not self.over,
        )

    def lots_of(self, number: str) -> Recall:
        """Give every piece that the lot of this number is on, or whose cup held it."""
        key = lot_key(number)
        hits = Hits()
        if key and "\0" not in key:
            hits = self._asked(lambda index: index.with_lot(self._folders, key, MOST_RECALLED), hits)
        notes = list(self.notes())
        if hits.pieces > MOST_RECALLED:
            notes.insert(0, say("Only the newest {n} are listed.", n=MOST_RECALLED))
        if not self.over:
            notes.insert(0, say("Not all jobs are read yet: there may be more."))
        elif not self.whole or self.faults():
            notes.insert(0, say("Not every job could be read: there may be more."))
        rows = self._rows(hits, Query())
        cups, jobs = self._of_no_can(rows)
        return Recall(number=" ".join(number.split()), rows=rows, notes=tuple(notes), no_can=cups, no_can_jobs=jobs)

    def _of_no_can(self, rows: Sequence[Row]) -> tuple[int, int]:
        """Count the cups, and their jobs, of which no can is logged: of the lot's own product where that is known."""
        known = {(row.lot.product, row.lot.part) for row in rows if row.lot is not None}
        nothing: tuple[tuple[int, bytes], ...] = ()
        cups = set()
        for file, body in self._asked(lambda index: index.of_no_lot(self._folders), nothing):
            cup = msgspec.json.decode(body, type=CupShown)
            if not known or (cup.product, cup.part) in known:
                cups.add((file, cup.mix))
        return len(cups), len({file for file, _ in cups})

    @property
    def over(self) -> bool:
        """Whether the reading came to its end, even where some folder could not be read."""
        return self._over and not self.lost

    @property
    def whole(self) -> bool:
        """Whether an answer takes in every job that can be read: nothing is being read, gone or broken."""
        return self.readiness.whole and not self.lost

    def notes(self) -> tuple[str, ...]:
        """Say what is to be known of every answer: what is not read, what is old, what can't be told apart."""
        told = [self._broke, standing_words(self._index.standing) if self._index is not None else ""]
        told += [old_words(folder.why, folder.as_of) for folder in self._run.folders.values() if folder.why]
        told += [*self._twin_words(), *self._fault_words()]
        if self.lost:
            told.append(say("The index was damaged: the jobs are to be read again."))
        return tuple(dict.fromkeys(words for words in told if words))

    def faults(self) -> tuple[tuple[Path, str], ...]:
        """Give the job files that can't be read, each with the reason."""
        return self._about().faults

    def twins(self) -> tuple[tuple[Path, ...], ...]:
        """Give the files that hold one and the same job, by its id."""
        return self._about().twins

    def _about(self) -> "_About":
        """Ask for what goes with every answer, once for each state of the index."""
        index = self._index
        state = (index.round, index.changes, self._folders, self.lost) if index is not None else None
        if state != self._kept.state:
            nothing: tuple[tuple[tuple[str, ...], ...], tuple[tuple[str, str], ...]] = ((), ())
            twins, faults = self._asked(lambda i: (i.twins(self._folders), i.faults(self._folders)), nothing)
            self._kept = _About(
                state,
                tuple(tuple(Path(path) for path in paths) for paths in twins),
                tuple((Path(path), words) for path, words in faults),
            )
        return self._kept

    def _asked(self, ask: Callable[[JobIndex], Asked], nothing: Asked) -> Asked:
        """Ask the index; where it breaks, nothing is known until all is read again, and that is told."""
        if self._index is None or self.lost:
            return nothing
        try:
            return ask(self._index)
        except Restarted:
            return nothing

    @property
    def lost(self) -> bool:
        """Whether the index broke since the last reading, so that all is to be read again."""
        return self._index is not None and self._index.round != self._run.round

    def _rows(self, hits: Hits, query: Query) -> tuple[Row, ...]:
        twins = frozenset(str(path) for paths in self.twins() for path in paths) if hits.hits else frozenset()
        old = {name: as_of_words(f.as_of) for name, f in self._run.folders.items() if f.why and f.as_of is not None}
        return tuple(rows_of(hits.hits, query, twins, old))

    def _twin_words(self) -> list[str]:
        told = []
        for paths in self.twins()[:MOST_FAULTS]:
            names = [one_line(str(path) if same_names(paths) else path.name) for path in paths]
            told.append(say("{files} hold one and the same job.", files=say(" and ").join(names)))
        return told

    def _fault_words(self) -> list[str]:
        faults = self.faults()
        told = [words if words.endswith(".") else f"{words}." for _, words in faults[:MOST_FAULTS]]
        more = len(faults) - len(told)
        if more > 0:
            told.append(say_n("{n} more can't be read.", "{n} more can't be read.", more))
        return told
