"""Earlier trials: read from the open jobs and the folders of the recent ones, pooled where comparable, searched.

The files are read in a thread of their own, and only read: a disk that has gone to sleep never holds up the window.
"""

from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import NamedTuple

from benchtool.job.cards import Card
from benchtool.job.pieces import Layer
from benchtool.job.state import State, fold
from benchtool.job.trialcompared import compared
from benchtool.job.trials import TrialState
from benchtool.rules.finding import Tables
from benchtool.session.document import Document, NotNow
from benchtool.session.jobreading import Progress, Reader, Unread, folders_of, looked_at, stamp_now
from benchtool.session.pastfound import PastTrial, trials_of
from benchtool.session.pastpools import Line, Pool, answers, line_of, once, pools_of, read_query
from benchtool.session.session import Session
from benchtool.session.stackbuilding import Row
from benchtool.session.trialcounting import QUICK_STEPS
from benchtool.session.trialkinds import of_layers
from benchtool.sheets.trial_text import trial_text
from benchtool.store import jobfile
from benchtool.store.faults import JobFileFault
from benchtool.store.trialfiles import Stamp, read_trials
from benchtool.trade.ranking import rank
from benchtool.trade.saying import say, say_n


@dataclass(frozen=True, slots=True)
class Kept:
    """What a file gave when it was last read: its trials, or why there are none."""

    stamp: Stamp
    trials: tuple[PastTrial, ...] = ()
    fault: Unread | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """What was found: pools, those with most behind them first; what could not be read; how many copies are left out.

    `files` were looked at, of `of` there are: fewer where the reading was stopped.
    """

    trials: tuple[PastTrial, ...] = ()
    pools: tuple[Pool, ...] = ()
    faults: tuple[Unread, ...] = ()
    copies: int = 0
    files: int = 0
    of: int = 0
    whole: bool = False

    @property
    def words(self) -> str:
        """Say how much there is, and what it rests on."""
        told = [say("No trial found.")]
        if self.trials:
            told = [say_n("{n} trial found.", "{n} trials found.", len(self.trials))]
        if self.whole:
            told.append(say_n("{n} job file looked at.", "{n} job files looked at.", self.files))
        elif self.of:
            told.append(say("Stopped: {read} of {of} job files looked at.", read=self.files, of=self.of))
        if self.copies:
            told.append(
                say_n(
                    "{n} copy of a trial is counted once.",
                    "{n} copies of trials are counted once.",
                    self.copies,
                )
            )
        return " ".join(told)

    @property
    def fault_words(self) -> str:
        """Say in one line what could not be read; "" where all could."""
        if not self.faults:
            return ""
        first = self.faults[0].words
        first = first if first.endswith(".") else first + "."
        if len(self.faults) == 1:
            return first
        more = say_n("{n} more could not be read.", "{n} more could not be read.", len(self.faults) - 1)
        return f"{first} {more}"


class Found(NamedTuple):
    """The pools that answer, and how the question was understood."""

    pools: tuple[Pool, ...]
    told: str = ""
    wrong: str = ""


class PastTrials:
    """The trials of all jobs that are open or lie in the folders of those open or opened before."""

    def __init__(self, session: Session, recent: Callable[[], Sequence[str]] = tuple) -> None:
        self.session, self.recent = session, recent
        self.past = Past()
        self._reader = self._new_reader((), {})
        self._open: dict[Path, tuple[object, tuple[PastTrial, ...]]] = {}
        self._lines: dict[object, tuple[Line, ...]] = {}

    # --- reading -------------------------------------------------------------------------------------

    def folders(self) -> tuple[Path, ...]:
        """Give the folders of the open and the recent jobs, each once."""
        return folders_of(self.session.documents, self.recent())

    def _new_reader(self, folders: tuple[Path, ...], known: dict[Path, Kept]) -> Reader[Kept]:
        return Reader(folders, partial(_look, self.session.tables), known, "earlier-trials")

    def reading(self) -> Generator[Progress, None, Past]:
        """Read what is new or has changed, and come to what was found; whoever stops in the middle keeps what was read.

        A step takes no longer than it takes to draw a picture, whatever the disk does.
        """
        self._reader = self._new_reader(self.folders(), self._reader.kept)
        yield from self._reader.reading()
        return self.gather()

    def gather(self) -> Past:
        """Put together what is known by now: the open jobs as they stand, the others as they were read last."""
        theirs = {d.path: self._of_open(d) for d in self.session.documents}
        self._open = {path: made for path, made in self._open.items() if path in theirs}
        trials = [t for made in theirs.values() for t in made]
        others = [kept for path, kept in self._reader.kept.items() if path not in theirs]
        trials += [t for kept in others for t in kept.trials if not t.demo]
        counted, copies = once(trials)
        self.past = Past(
            trials=counted,
            pools=pools_of(counted),
            faults=(*self._reader.unread, *(k.fault for k in others if k.fault is not None)),
            copies=copies,
            files=self._reader.progress.read,
            of=self._reader.progress.of,
            whole=self._reader.whole,
        )
        self._lines = {}
        return self.past

    def _of_open(self, document: Document) -> tuple[PastTrial, ...]:
        made = self._open.get(document.path)
        if made is None or made[0] is not document.job:
            tables, newer = self.session.tables, bool(document.notes)
            found = trials_of(document.job, document.state, tables, document.path, is_open=True, newer=newer)
            made = self._open[document.path] = (document.job, found)
        return made[1]

    # --- asking --------------------------------------------------------------------------------------

    def find(self, typed: str) -> Found:
        """Give the pools in which a trial answers to all that was typed."""
        query = read_query(typed)
        if not query.words and not query.named:
            return Found(self.past.pools, query.told, query.wrong)
        pools = tuple(pool for pool in self.past.pools if answers(query, self._lines_of(pool)))
        return Found(pools, query.told, query.wrong)

    def _lines_of(self, pool: Pool) -> tuple[Line, ...]:
        if pool.key not in self._lines:
            self._lines[pool.key] = tuple(line_of(b, self._symbols) for b in pool.behind)
        return self._lines[pool.key]

    def _symbols(self, substrate: str) -> Sequence[str]:
        found = self.session.tables.substrates.get(substrate)
        return found.symbols if found is not None else ()

    def text_of(self, trial: PastTrial) -> str:
        """Write a trial out whole, as text; its file is read once more where it is not open.

        Raises:
            NotNow: its file, or the trial in it, is gone or can't be read any more.
        """
        state, found = self._state_of(trial)
        figures = compared(state, found, lambda systems, tests: rank(systems, tests, QUICK_STEPS))
        return trial_text(state, found, self.session.tables, found=figures)

    def like(self, trial: PastTrial) -> tuple[tuple[str, bool, tuple[Row, ...]], ...]:
        """Give the systems of a trial as a new one begins with them: name, control, stack.

        Raises:
            NotNow: as `text_of`.
        """
        state, found = self._state_of(trial)
        return tuple((s.name, s.control, of_layers(_planned(state, found, s.id))) for s in found.plan.systems)

    def _state_of(self, trial: PastTrial) -> tuple[State, TrialState]:
        documents = [d.state for d in self.session.documents if d.path == trial.path]
        try:
            state = documents[0] if documents else fold(jobfile.load(trial.path).job)
        except JobFileFault as fault:
            raise NotNow(f"{fault}.") from None
        found = state.trials.get(trial.id)
        if found is None:
            raise NotNow(say("This trial is gone from its job."))
        return state, found


def _planned(state: State, trial: TrialState, system: str) -> list[tuple[Card, Layer]]:
    strips = [p for s in trial.strips_of(system) if (p := state.pieces.get(s.piece)) is not None]
    layers = strips[0].layers if strips else []
    return [(card, layer.plan) for layer in layers if (card := state.card_of(layer)) is not None]


def _look(tables: Tables, path: Path, stamp: Stamp) -> Kept:
    def shown(path: Path) -> Kept:
        opened = read_trials(path)
        if opened is None:
            return Kept(stamp_now(path, stamp))
        job = opened.job
        return Kept(stamp, trials_of(job, fold(job), tables, path, newer=opened.newer))

    found, fault = looked_at(path, shown)
    return found if found is not None else Kept(stamp, fault=Unread(path, fault))
