"""What the record says of the painter's own times, misses, waste and measuring: summed over jobs, nothing applied.

The open jobs count as they stand; the others are read in a thread of their own from the folders of jobs.
"""

from collections.abc import Generator, Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Generic, TypeVar

from benchtool.job.cards import CardTime
from benchtool.job.learned import learned
from benchtool.job.learnedcases import TIMES, CupUse, Kept, Learned, PourOff, Wait
from benchtool.session.document import Document
from benchtool.session.jobreading import WAIT_S, Progress, Reader, folders_of
from benchtool.session.jobwalk import InThread
from benchtool.session.learningread import Kept as KeptFile
from benchtool.session.learningread import look
from benchtool.session.learningsums import Sums, sums
from benchtool.session.session import Session
from benchtool.trade.saying import say, say_n

Of = TypeVar("Of", Wait, CupUse, PourOff)


@dataclass(frozen=True, slots=True)
class Case(Generic[Of]):
    """One case, and the job it is from."""

    path: Path
    job: str
    of: Of


@dataclass(frozen=True, slots=True)
class OwnTime:
    """One time of a product as it was really held. `opens` and `closes` are the card's, as of the newest case."""

    time: CardTime
    cases: tuple[Case[Wait], ...]

    @property
    def n(self) -> int:
        """How many cases there are."""
        return len(self.cases)

    @property
    def opens(self) -> timedelta | None:
        """What the card asks to wait."""
        return self._newest.by_card

    @property
    def closes(self) -> timedelta | None:
        """When the card closes it."""
        return self._newest.closes_by_card

    @property
    def _newest(self) -> Wait:
        return max(self.cases, key=lambda c: c.of.until).of

    @property
    def waits(self) -> tuple[timedelta, ...]:
        """The waits in the card's own air, those that can be said so."""
        return tuple(w for c in self.cases if (w := c.of.in_card_time) is not None)

    @property
    def sums(self) -> Sums | None:
        """Their sums, in seconds."""
        return sums(w.total_seconds() for w in self.waits)

    def count(self, kept: Kept) -> int:
        """How many were early, late or within."""
        return sum(c.of.kept is kept for c in self.cases)


@dataclass(frozen=True, slots=True)
class Product:
    """All that the record says of one product, on pieces or (apart) on test strips; "" is all products together."""

    card: str
    name: str
    strips: bool
    times: tuple[OwnTime, ...] = ()
    cups: tuple[Case[CupUse], ...] = ()
    pours: tuple[Case[PourOff], ...] = ()

    @property
    def key(self) -> str:
        """What tells it from the others."""
        return f"{self.card}|{self.name}|{'strips' if self.strips else ''}"

    @property
    def waits(self) -> int:
        """How many waits there are."""
        return sum(t.n for t in self.times)

    @property
    def missed(self) -> int:
        """How many of them lay outside their window."""
        return sum(t.n - t.count(Kept.WITHIN) for t in self.times)


@dataclass(frozen=True, slots=True)
class Record:
    """What was found: all together first, then each product by name. `demo` says that it is the demo's alone.

    `files` were looked at, of `of` there are: fewer where the reading was stopped.
    """

    everything: Product = Product("", "", strips=False)
    products: tuple[Product, ...] = ()
    faults: tuple[str, ...] = ()
    jobs: int = 0
    files: int = 0
    of: int = 0
    whole: bool = False
    demo: bool = False
    left_out: bool = False
    """Whether a demo is open whose record is not in this."""

    @property
    def words(self) -> str:
        """Say what it rests on."""
        if self.demo:
            return say("This is the record of the demo alone, not yours.")
        told = [say_n("From {n} job.", "From {n} jobs.", self.jobs) if self.jobs else say("No job of yours was found.")]
        if self.left_out:
            told.append(say("The demo's own record is left out: Ctrl+D shows it alone."))
        if not self.whole and self.of:
            told.append(say("Stopped: {read} of {of} job files looked at.", read=self.files, of=self.of))
        return " ".join(told)

    @property
    def fault_words(self) -> str:
        """Say in one line what could not be read; "" where all could."""
        if not self.faults:
            return ""
        first = self.faults[0] if self.faults[0].endswith(".") else self.faults[0] + "."
        more = len(self.faults) - 1
        return first if not more else f"{first} {say_n('{n} more is not read.', '{n} more are not read.', more)}"


class Learning:
    """The record of all jobs that are open or lie in the folders of those open or opened before."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.record = Record()
        self.demo_wanted = False
        self._reader = Reader((), look, dict[Path, KeptFile](), "learned")
        self._open: dict[Path, tuple[object, Learned]] = {}

    def folders(self) -> tuple[Path, ...]:
        """Give the folders of the open and the recent jobs, each once."""
        return folders_of(self.session.documents, self.session.recent())

    @property
    def demo_alone(self) -> bool:
        """Whether nothing but demos is open, or their record was asked for: it is shown, and never anything with it."""
        demos = [d.job.demo for d in self.session.documents]
        return any(demos) and (self.demo_wanted or all(demos))

    @property
    def choice(self) -> bool:
        """Whether demos and own jobs are open, so that either record may be wanted."""
        demos = [d.job.demo for d in self.session.documents]
        return any(demos) and not all(demos)

    def reading(self) -> Generator[Progress, None, Record]:
        """Read what is new or has changed; whoever stops in the middle keeps what was read."""
        alone = self.demo_alone
        reader = self._reader = Reader(() if alone else self.folders(), look, self._reader.kept, "learned")
        if alone:
            reader.whole = True
            return self.gather()
        yield from reader.reading()
        found, faults = self._found()
        work = InThread(lambda: sorted_out(found))
        while not work.over(WAIT_S):
            yield reader.progress
        return self._made(*work.result(), len(found), faults)

    def gather(self) -> Record:
        """Put together what is known by now."""
        found, faults = self._found()
        return self._made(*sorted_out(found), len(found), faults)

    def _found(self) -> tuple[list[tuple[Path, str, Learned]], tuple[str, ...]]:
        """Give what each job shows, the open ones first, and what could not be read."""
        alone = self.demo_alone
        here = {d.path for d in self.session.documents}
        found = [(d.path, d.title, self._of_open(d)) for d in self.session.documents if d.job.demo is alone]
        if alone:
            return found, ()
        others = {path: kept for path, kept in self._reader.kept.items() if path not in here and not kept.demo}
        found += [(path, kept.title, kept.found) for path, kept in others.items() if kept.title]
        unread = (folder.words for folder in self._reader.unread)
        return found, (*unread, *(kept.fault for kept in others.values() if kept.fault))

    def _made(self, every: Product, products: tuple[Product, ...], jobs: int, faults: tuple[str, ...]) -> Record:
        self.record = Record(
            every,
            products,
            faults,
            jobs=jobs,
            files=self._reader.progress.read,
            of=self._reader.progress.of,
            whole=self._reader.whole,
            demo=self.demo_alone,
            left_out=self.choice and not self.demo_alone,
        )
        return self.record

    def _of_open(self, document: Document) -> Learned:
        made = self._open.get(document.path)
        if made is None or made[0] is not document.job:
            made = self._open[document.path] = (document.job, learned(document.state))
        return made[1]


def sorted_out(found: Sequence[tuple[Path, str, Learned]]) -> tuple[Product, tuple[Product, ...]]:
    """Sort the cases of these jobs by product, each case once: all of the pieces together, then each product.

    A touch-up and a copy of a job hold what was done once more; it was done once.
    """
    waits = _once(sorted((Case(path, job, w) for path, job, of in found for w in of.waits), key=_of_the_whole_cup))
    cups = _once(Case(path, job, c) for path, job, of in found for c in of.cups)
    pours = _once(Case(path, job, p) for path, job, of in found for p in of.pours)
    waits_of, cups_of, pours_of = _by_product(waits), _by_product(cups), _by_product(pours)
    products = [
        Product(*key, _times(waits_of.get(key, ())), tuple(cups_of.get(key, ())), tuple(pours_of.get(key, ())))
        for key in {**waits_of, **cups_of, **pours_of}
    ]
    products.sort(key=lambda p: (p.strips, p.name.casefold(), p.card))
    own = [p for p in products if not p.strips]
    every = Product(
        "",
        "",
        False,
        _times([c for c in waits if not c.of.place.strip]),
        tuple(c for p in own for c in p.cups),
        tuple(c for p in own for c in p.pours),
    )
    return every, tuple(products)


def _by_product(cases: Iterable[Case[Of]]) -> dict[tuple[str, str, bool], list[Case[Of]]]:
    found: dict[tuple[str, str, bool], list[Case[Of]]] = {}
    for case in cases:
        found.setdefault((case.of.card, case.of.card_name, case.of.place.strip), []).append(case)
    return found


def _of_the_whole_cup(case: Case[Wait]) -> float:
    """Put first what is told of a cup where all is known that was sprayed from it: the first coat, and the last."""
    at = case.of.until.timestamp()
    return -at if case.of.time is CardTime.POT_LIFE else at


def _once(cases: Iterable[Case[Of]]) -> tuple[Case[Of], ...]:
    """Leave out what was there before."""
    first: dict[tuple[object, ...], Case[Of]] = {}
    for case in cases:
        first.setdefault(case.of.same, case)
    return tuple(first.values())


def _times(cases: Sequence[Case[Wait]]) -> tuple[OwnTime, ...]:
    by_time: dict[CardTime, list[Case[Wait]]] = {}
    for case in sorted(cases, key=lambda c: c.of.until):
        by_time.setdefault(case.of.time, []).append(case)
    return tuple(OwnTime(time, tuple(by_time[time])) for time in TIMES if time in by_time)
