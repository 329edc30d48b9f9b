"""The plan of all open jobs: made away from the window by a worker that can be stopped; the newest question wins.

Everything here is asked for and taken by the one who shows it; only the worker runs beside. It gets records, which
never change, and folds them for itself. `tell` is called from that thread when there is something new to show, so
whoever gives it must hand it over to their own thread; who asks for `plan` each second needs none.
"""

import logging
import threading
from collections import Counter
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from functools import partial
from pathlib import Path

from benchtool.job import events as ev
from benchtool.job.record import Job
from benchtool.job.shop import Shop
from benchtool.job.state import fold
from benchtool.plan.stepsday import SEARCH_SHARE, DayPlan, Source, can_be_solved, day_plan, solved
from benchtool.rules.finding import Tables
from benchtool.rules.preparing import plan_of
from benchtool.session.cardfields import Wrong
from benchtool.session.dayplanpromise import promise_text, read_promise
from benchtool.session.document import Document, NotNow
from benchtool.session.hereuntil import Stay, to_come
from benchtool.session.loggerzone import computers_zone
from benchtool.session.session import Session
from benchtool.sheets.plan_words import Told, next_words, told_of
from benchtool.trade.saying import say

log = logging.getLogger("benchtool")

LATE = timedelta(minutes=2)
"""So long after the start of a step nobody began, the plan is out of date (judgement)."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One job of a question: the file that tells it from every other, its title, and its record."""

    key: str
    title: str
    job: Job


def sources(asked: Sequence[Asked], tables: Tables, now: datetime) -> tuple[Source, ...]:
    """Fold jobs and plan their preparing: what a plan is made from. Jobs of one title are told apart by their files."""
    made = []
    titles = Counter(one.title for one in asked)
    for one in asked:
        state = fold(one.job)
        prep = {piece.id: plan_of(state, piece, tables, now) for piece in state.pieces.values() if piece.layers}
        title = one.title if titles[one.title] == 1 else f"{one.title} ({_file(one.key, asked)})"
        made.append(Source(key=one.key, title=title, state=state, prep=prep))
    return tuple(made)


def _file(key: str, asked: Sequence[Asked]) -> str:
    path = Path(key)
    alike = sum(Path(one.key).stem == path.stem for one in asked)
    return path.stem if alike == 1 else f"{path.parent.name}/{path.stem}"


def copies_words(asked: Sequence[Asked]) -> tuple[str, ...]:
    """Say which files hold the same job, so that its pieces are planned twice."""
    files: dict[str, list[str]] = {}
    for one in asked:
        files.setdefault(one.job.id, []).append(_file(one.key, asked))
    return tuple(
        say("{files} hold the same job, as if one were a copy: its pieces are planned in each.", files=", ".join(names))
        for names in files.values()
        if len(names) > 1
    )


GoOn = Callable[[float], bool]
Make = Callable[[GoOn, Callable[[DayPlan], None]], DayPlan]
"""Makes a plan: asks whether to go on, and shows what there is before the last of it."""


def make_plan(
    made_from: Sequence[Source],
    shop: Shop,
    zone: tzinfo,
    now: datetime,
    *,
    with_solver: bool = True,
    go_on: GoOn = lambda _share: True,
    show: Callable[[DayPlan], None] = lambda _plan: None,
) -> DayPlan:
    """Plan jobs by the search, show that, and ask the solver for a better one where it is there and small enough."""
    first = day_plan(made_from, shop, zone, now, go_on=go_on, before_solver=with_solver)
    if not with_solver or not can_be_solved(first):
        return first
    show(first)
    return solved(first, lambda share: go_on(SEARCH_SHARE + (1 - SEARCH_SHARE) * share))


class DayPlanner:
    """Plans the open jobs. `automatic` plans anew by itself after each act, once a first plan was asked for."""

    def __init__(
        self,
        session: Session,
        tell: Callable[[], None] = lambda: None,
        *,
        zone: tzinfo = computers_zone,
        with_solver: bool = True,
    ) -> None:
        self.session, self.zone, self.with_solver = session, zone, with_solver
        self.stay = Stay(session, zone)
        self.automatic = True
        self.trouble = ""
        self._plan: DayPlan | None = None
        self._told: tuple[Told, ...] = ()
        self._made_from: object = None
        self._asked_from: object = None
        self._worker = _Worker(tell)
        self._leave = session.subscribe(self._changed)

    # --- asking ------------------------------------------------------------------------------------

    def plan_now(self) -> None:
        """Begin to plan from how things stand now; what is being planned is dropped, the last plan stays until then."""
        now, shop, tables = self.session.now(), self._shop(), self.session.tables
        asked = tuple(Asked(str(d.path), d.title, d.job) for d in self.session.documents)
        self._asked_from = self._key()
        self.trouble = ""

        def make(go_on: GoOn, show: Callable[[DayPlan], None]) -> DayPlan:
            made_from = sources(asked, tables, now)
            if self.with_solver:
                self.session.measures.warm()  # pint is loaded with numpy hidden, which the solver needs
            return make_plan(made_from, shop, self.zone, now, with_solver=self.with_solver, go_on=go_on, show=show)

        self._worker.ask(make)

    def cancel(self) -> None:
        """Stop planning; the last plan stays, and the next act plans anew."""
        self._worker.drop()
        self._asked_from = self._made_from if self._plan is not None else None

    def close(self, wait_s: float = 2.0) -> None:
        """Stop for good, and wait a moment for the worker."""
        self._leave()
        self._worker.close(wait_s)

    def _changed(self) -> None:
        if not self.automatic or self._asked_from is None:
            return
        if self._asked_from != self._key():
            self.plan_now()

    # --- what there is -----------------------------------------------------------------------------

    @property
    def busy(self) -> bool:
        """Whether a plan is being made."""
        return self._worker.busy

    @property
    def share(self) -> float:
        """How much of the planning is done: 0 to 1."""
        return self._worker.share

    @property
    def plan(self) -> DayPlan | None:
        """Give the last plan: the same object as long as it is the same plan; None before the first."""
        self.poll()
        return self._plan

    def poll(self) -> bool:
        """Take what the worker came to; says whether there is something new."""
        outcome = self._worker.take()
        if outcome is None:
            return False
        if isinstance(outcome, str):
            self.trouble = outcome
            return True
        if outcome is self._plan:
            return False
        asked = [Asked(str(d.path), d.title, d.job) for d in self.session.documents]
        twice = tuple(Told(say("Twice"), words) for words in copies_words(asked))
        self._plan, self._told = outcome, (*told_of(outcome, self.zone), *twice)
        self._made_from = self._asked_from  # the newest question's: of an older one nothing is taken
        return True

    @property
    def stale(self) -> bool:
        """Whether things stand otherwise than when the last plan was made, or there is none.

        They do after an act, after a change of the shop's figures, and where a step was due and nobody began it.
        """
        if self._plan is None or self._made_from != self._key():
            return True
        now = self.session.now()
        todo = (p for p in self._plan.timetable.placed if p.task.began_at is None)
        return any(p.starts_at + LATE < now for p in todo)

    def next(self, now: datetime | None = None) -> str:
        """Say what the hands do next by the last plan."""
        return next_words(self._plan, now or self.session.now(), self.zone) if self._plan is not None else ""

    def told(self) -> tuple[Told, ...]:
        """Give what the last plan found, in sentences, trouble first."""
        self.poll()
        return self._told

    @property
    def never_opens(self) -> bool:
        """Whether the shop has no hours at all, so that nothing can be planned."""
        shop = self._shop()
        return not shop.hours and not to_come(shop, self.session.now(), self.zone)

    def _shop(self) -> Shop:
        return self.session.shop.shop if self.session.shop is not None else Shop()

    def _key(self) -> object:
        shop = self._shop()
        figures = (
            shop.hours, shop.closed_days, shop.extra, shop.booths, shop.hands, shop.guns, shop.takes_min,
        )  # fmt: skip
        # A record is never changed but put in the place of another one, so that one kept here tells by itself.
        return tuple((str(d.path), _Same(d.job)) for d in self.session.documents), figures, _Same(self.session.tables)

    # --- promised ----------------------------------------------------------------------------------

    def job_in_hand(self) -> str:
        """Give the job in hand as a plan names it, "" for none."""
        return str(self.session.current.path) if self.session.current is not None else ""

    def promise_of(self, job: str) -> tuple[str, str]:
        """Give the title of a job, and when it is promised as it would be typed; "" for no promise.

        Raises:
            NotNow: it is not open any more.
        """
        document = self._document(job)
        return document.title, promise_text(document.state.promised, self.zone)

    def promise(self, job: str, typed: str) -> str:
        """Keep when a job is promised, "" for no promise; gives what to say.

        Raises:
            Wrong: what is typed is no time.
            NotNow: the job is not open any more, or can't be written.
        """
        document, now = self._document(job), self.session.now()
        try:
            at = read_promise(typed, now, self.zone, self._shop().hours)
        except ValueError as wrong:
            raise Wrong([("promised", str(wrong))]) from None
        set_promised(self.session, document, at)
        if at is None:
            return say("{job} is promised for no day.", job=document.title)
        return say("{job} is promised for {time}.", job=document.title, time=promise_text(at, self.zone))

    def _document(self, job: str) -> Document:
        found = next((d for d in self.session.documents if str(d.path) == job), None)
        if found is None:
            raise NotNow(say("This job is not open any more."))
        return found


def set_promised(session: Session, document: Document, at: datetime | None) -> None:
    """Write when a job is promised, None for no promise, into its record; the same again writes nothing.

    Raises:
        NotNow: the job is read-only.
    """
    state = document.state
    if at == state.promised and not document.read_only:
        return
    described = partial(ev.JobDescribed, title=document.title, customer=state.customer, note=state.note, promised=at)
    session.apply_to(document, described)


class _Same:
    """Tells whether it is the same object: to compare two records entry by entry takes long."""

    __slots__ = ("it",)

    def __init__(self, it: object) -> None:
        self.it = it

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.it is self.it

    def __hash__(self) -> int:
        return id(self.it)


# --- the thread that plans -------------------------------------------------------------------------------


class _Worker:
    """Does the newest thing asked for, in a thread that is there only while there is work."""

    def __init__(self, tell: Callable[[], None]) -> None:
        self._tell: Callable[[], None] | None = tell
        self._lock = threading.RLock()
        self._newest = 0
        self._waiting: tuple[int, Make] | None = None
        self._outcome: DayPlan | str | None = None
        self._thread: threading.Thread | None = None
        self.busy, self.share = False, 0.0

    def ask(self, make: Make) -> None:
        """Make this next; whatever was asked before is not wanted any more."""
        with self._lock:
            if self._tell is None:
                return
            self._newest += 1
            self._outcome, self._waiting = None, (self._newest, make)
            self.busy, self.share = True, 0.0
            if self._thread is None:
                self._thread = threading.Thread(target=self._run, name="day-plan", daemon=True)
                self._thread.start()

    def drop(self) -> None:
        """Want nothing any more."""
        with self._lock:
            self._newest += 1
            self._outcome = self._waiting = None
            self.busy = False

    def close(self, wait_s: float) -> None:
        """Want nothing any more, for good."""
        with self._lock:
            self._tell = None
            self.drop()
            thread = self._thread
        if thread is not None and thread is not threading.current_thread():
            thread.join(wait_s)

    def take(self) -> DayPlan | str | None:
        """Give what came out, once: a plan, or a sentence about why there is none."""
        with self._lock:
            outcome, self._outcome = self._outcome, None
            return outcome

    def _run(self) -> None:
        while True:
            with self._lock:
                if self._waiting is None:
                    self._thread = None
                    return
                (number, make), self._waiting = self._waiting, None
            outcome = _done(make, partial(self._go_on, number), partial(self._show, number))
            with self._lock:  # held while telling, so that nobody is told after `close`
                if number != self._newest:
                    continue
                self.busy, self.share, self._outcome = False, 1.0, outcome
                if self._tell is not None:
                    with suppress(RuntimeError):  # a window that is half gone hears nothing
                        self._tell()

    def _show(self, number: int, plan: DayPlan) -> None:
        with self._lock:
            if number == self._newest and self._tell is not None:
                self._outcome = plan
                with suppress(RuntimeError):
                    self._tell()

    def _go_on(self, number: int, share: float) -> bool:
        if number != self._newest:
            return False
        self.share = max(self.share, min(1.0, share))
        return True


def _done(make: Make, go_on: GoOn, show: Callable[[DayPlan], None]) -> DayPlan | str:
    """Do it; whatever goes wrong becomes a sentence."""
    try:
        return make(go_on, show)
    except OverflowError:
        return say("A card in a job holds a time so long that no calendar reaches its end: no plan can be made.")
    except MemoryError:
        return say("There is not enough memory for this plan: close some jobs.")
    except Exception:
        log.exception("a plan could not be made")
        return say("The plan could not be made. The log says more.")
