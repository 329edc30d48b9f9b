"""Watches the laptop's clock against what the records say, and asks the painter the one question that follows.

What the tool does by itself: it counts by the clock that runs since the laptop was started, so sleep, hibernation, a
time service's corrections, daylight saving and another time zone need no question (session/clock.py). Asked is

* which is right, after the clock was set by more than a time service does while the laptop runs. The countdowns run on
  as they were. Where the laptop is right, what was entered since it was started moves along in every open job, so
  every window keeps what it has left to the microsecond;
* what time it really is, where the laptop can't be right: it shows less than when the tool was last seen running, less
  than an entry of a job that is opened, a year before the tool, or two months more than anything written down while a
  window still ran. It is asked too after a restart, where the painter had called the laptop's clock wrong before.
  Until it is answered the tool goes on from the last moment that is known: no wait is claimed over, all run on, and a
  deadline may be nearer than it is shown, which the question says.

Every answer is written into every open job that can be written, and can be undone there.

What can't be known, and is not asked: a clock set back while the laptop was off by less than it was off; set forward
while it was off by less than two months; and, where no clock counts the sleep (macOS), one set forward while the tool
runs, which is taken for a lid that was closed. A can counted by the wrong clock keeps the time of its count.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import Enum, auto
from functools import partial
from typing import NamedTuple
from weakref import WeakKeyDictionary

from benchtool.job import events as ev
from benchtool.job.record import Job, with_events
from benchtool.rules.record import SLACK
from benchtool.session.cardfields import Wrong
from benchtool.session.clock import BUILT, FAR, SMALL, STEP, Clock, Mark
from benchtool.session.clockanswers import (
    HINT,
    answered,
    answers_of,
    entered_in,
    moment_words,
    read_moment,
    step_words,
)
from benchtool.session.session import Document, NotNow, Session
from benchtool.trade.windows import Phase

_NOTHING = timedelta(0)
_ASK = "What time is it really?"
_MEANWHILE = "Until you say, the waits run on from then, and a deadline may be nearer than it looks."


class Kind(Enum):
    """What is asked."""

    STEPPED = auto()
    """The clock was set while the laptop ran: which time is right?"""
    WRONG = auto()
    """The laptop's clock can't be right, or is in doubt: what time is it?"""


@dataclass(frozen=True, eq=False)
class Question:
    """One question: each answer is one of `answers`, by its place, or where it `takes_time` a time that is typed.

    `note` says what holds until then; `behind` of each answer by how much it lies behind the laptop's clock.
    """

    kind: Kind
    text: str
    answers: tuple[str, ...]
    takes_time: bool = False
    hint: str = HINT
    note: str = ""
    behind: tuple[timedelta, ...] = ()


class _Given(NamedTuple):
    """One answer of this run of the tool: how the clock lay before and after it."""

    by: timedelta
    before: Mark
    after: Mark


class ClockWatch:
    """Looks at each beat whether the time can be believed; holds the question that is open."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self._question: Question | None = None
        self._about: object = None
        self._asked_by_hand = False
        self._looked: WeakKeyDictionary[Document, Job] = WeakKeyDictionary()
        self._stood: WeakKeyDictionary[Document, dict[str, bool]] = WeakKeyDictionary()
        self._given: WeakKeyDictionary[Document, dict[str, _Given]] = WeakKeyDictionary()
        self._settled: WeakKeyDictionary[Document, bool] = WeakKeyDictionary()
        self._far: WeakKeyDictionary[Document, bool] = WeakKeyDictionary()

    @property
    def clock(self) -> Clock:
        """The clock of the session."""
        return self.session.clock

    @property
    def question(self) -> Question | None:
        """The question that is open, as of the last look."""
        return self._question

    # --- looking -----------------------------------------------------------------------------------

    def look(self, now: datetime) -> Question | None:
        """Look at the clock and at what is open; give the one question there is, the same until it is settled."""
        clock = self.clock
        clock.beat()
        changed = False
        for document in self.session.documents:
            if self._looked.get(document) is not document.job:
                changed = True
        if changed:
            self._take_in(now)
            now = self.session.now()
        step = clock.stepped()
        if self._question is None and not changed and not step and not clock.unsure:
            return None
        return self._decide(now, step)

    def doubt(self, now: datetime) -> Question:
        """Ask what time it really is, because the painter says that what is shown is wrong."""
        self._asked_by_hand = True
        question = self._decide(now, self.clock.stepped())
        assert question is not None
        return question

    def leave(self) -> None:
        """Drop what the painter asked for by hand and does not answer."""
        self._asked_by_hand = False

    def _take_in(self, now: datetime) -> None:
        """Look at each job that is new here, or changed."""
        for document in tuple(self.session.documents):
            known = document in self._looked
            if self._looked.get(document) is document.job:
                continue
            self._looked[document] = document.job
            if known:
                self._follow_undo(document)
            else:
                self._stood[document] = answers_of(document.job)
                if self._is_far(document, now):
                    self._far[document] = True
        if self.clock.unsure:
            self._hold_from_newest()
        elif any(d in self._far for d in self.session.documents):
            earliest = max(self._evidence(), default=now)
            if not self._entered(now):
                self.clock.hold(earliest)
        elif any(self._ahead(d, now) for d in self.session.documents) and not self._entered(now):
            self._hold_from_newest()

    def _hold_from_newest(self) -> None:
        """Go on from the newest entry, where the time that is gone by lies before it."""
        now = self.session.now()
        newest = max((d.state.newest[1].at for d in self._telling() if d.state.newest is not None), default=now)
        if newest > now and not self._entered(now):
            self.clock.hold(newest)

    def _telling(self) -> Iterator[Document]:
        """Give the jobs whose entries say something of the time: a demo is made anew by whatever the clock shows."""
        return (d for d in self.session.documents if not d.job.demo and d not in self._settled)

    def _ahead(self, document: Document, now: datetime) -> bool:
        newest = document.state.newest
        if document.job.demo or document in self._settled or newest is None:
            return False
        return newest[1].at - now > SLACK

    def _entered(self, now: datetime) -> bool:
        """Whether anything was entered by this run of the clock: it must not be left behind."""
        return any(entered_in(d.job, self.clock.since, now) for d in self._writable() if not d.job.demo)

    def _evidence(self) -> Iterator[datetime]:
        """Give the latest instants that were written down before this run of the clock."""
        since = self.clock.since
        if self.clock.last_seen is not None:
            yield self.clock.last_seen
        for document in self.session.documents:
            newest = document.state.newest
            if newest is not None and newest[1].at < since and not document.job.demo:
                yield newest[1].at

    def _is_far(self, document: Document, now: datetime) -> bool:
        """Whether the clock leapt since windows of this job ran that the painter was to act on."""
        newest = document.state.newest
        if newest is None or document.job.demo or now - max(self._evidence(), default=now) <= FAR:
            return False
        then = newest[1].at
        return any(w.needed and w.phase(then) is not Phase.CLOSED for w in document.windows)

    # --- what to ask -------------------------------------------------------------------------------

    def _decide(self, now: datetime, step: timedelta) -> Question | None:
        wall = self.clock.wall()
        about: object = None
        ask = None
        if self.clock.unsure and not self.clock.was_apart and self._is_right_now(wall, now):
            self.clock.take_wall_clock()  # a time service has set it right, and nothing was entered meanwhile
            now = self.session.now()
            self._far.clear()
        far = any(d in self._far for d in self.session.documents)
        ahead = any(self._ahead(d, now) for d in self.session.documents)
        if self.clock.unsure or far or ahead or self._asked_by_hand:
            about, ask = (Kind.WRONG, round((wall - now).total_seconds() / SMALL)), partial(self._ask_what, wall, now)
        elif step and self.session.documents:
            about, ask = (Kind.STEPPED, round(step.total_seconds() / STEP)), partial(self._ask_which, step, now)
        if ask is None:
            self._question = self._about = None
        elif self._question is None or not _same(about, self._about):
            self._question, self._about = ask(), about
        return self._question

    def _is_right_now(self, wall: datetime, now: datetime) -> bool:
        return wall >= BUILT and _NOTHING <= wall - now <= FAR and not self._entered(now)

    def _ask_which(self, step: timedelta, now: datetime) -> Question:
        wall = now + step
        far = abs(step) >= timedelta(hours=12)
        own, theirs = moment_words(now, None if far else now), moment_words(wall, None if far else now)
        way = "forward" if step > _NOTHING else "back"
        text = f"The laptop's clock was set {way} {step_words(step)}. The countdowns run on as they were. "
        return Question(
            Kind.STEPPED,
            f"{text}Which time is right?",
            (f"{own}, as it was", f"{theirs}, as the laptop says now"),
        )

    def _ask_what(self, wall: datetime, now: datetime) -> Question:
        shown = moment_words(wall, now if wall.year == now.year else None)
        answers = [f"Yes, it is {shown}"] if wall >= BUILT else []
        behind = [_NOTHING] * len(answers)
        apart = self.clock.was_apart
        note = _MEANWHILE if self.clock.unsure else ""
        newest = max((x[1].at for d in self._telling() if (x := d.state.newest) is not None), default=None)
        seen = self.clock.last_seen
        if self._asked_by_hand and not self.clock.unsure:
            told = f"says {shown}; here it is {moment_words(now)}"
        elif apart:
            told = f"says {shown}. Before it was restarted you called it wrong by {step_words(apart)}"
            answers.append(f"No, it is {moment_words(wall - apart, wall)}")
            behind.append(apart)
        elif newest is not None and (seen is None or newest >= seen):
            told = f"says {shown}, but the last entry here is of {moment_words(newest, wall)}"
        elif seen is not None:
            told = f"says {shown}, but the bench was last open at {moment_words(seen, wall)}"
        else:
            told, note = f"says {shown}", ""
        text = f"The laptop's clock {told}. {_ASK}"
        return Question(Kind.WRONG, text, tuple(answers), takes_time=True, note=note, behind=tuple(behind))

    # --- answers -----------------------------------------------------------------------------------

    def answer(self, question: Question, index: int) -> str:
        """Do what the answer at this place says; gives the sentence to say.

        Raises:
            NotNow: it is settled already, or can't be, and why.
        """
        now, wall = self._open(question), self.clock.wall()
        if not 0 <= index < len(question.answers):
            raise NotNow("There is no such answer.")
        if question.kind is Kind.STEPPED:
            step = self.clock.stepped()
            if index == 0:
                told = f"{moment_words(now, now)}, as it was; the laptop's clock says {moment_words(now + step, now)}"
                self._settle(_NOTHING, now, told)
                return f"It is {moment_words(now, now)}, as it was, whatever the laptop's clock says."
            told = f"{moment_words(now + step, now)}, as the laptop's clock says; it was {moment_words(now, now)} here"
            self._settle(step, now, told)
            new = moment_words(self.session.now(), now)
            return f"It is {new}. What you entered since the laptop was started moved along: each countdown runs on."
        return self._set(wall - question.behind[index], now, wall)

    def answer_time(self, question: Question, typed: str) -> str:
        """Go by the time that was typed, in local time; gives the sentence to say.

        Raises:
            Wrong: with the field `time`: it can't be read, or can't be.
            NotNow: it is settled already.
        """
        now, wall = self._open(question), self.clock.wall()
        near = wall if abs(wall - now) <= FAR else None
        real = read_moment(typed, now, near)
        try:
            return self._set(wall if abs((real - wall).total_seconds()) <= SMALL else real, now, wall)
        except NotNow as no:
            raise Wrong([("time", str(no))]) from None

    def _open(self, question: Question) -> datetime:
        if question is not self._question:
            raise NotNow("This is settled already.")
        return self.session.now()

    def _set(self, real: datetime, now: datetime, wall: datetime) -> str:
        shown = moment_words(real)
        self._settle(real - now, now, f"It is {shown}; the laptop's clock says {moment_words(wall)}")
        return f"It is {shown}. Wrong? U takes it back and asks again."

    def _settle(self, by: timedelta, now: datetime, words: str) -> None:
        """Put the clock forward by `by` and write it into every job.

        The clock goes first: if all ends in between, the next start finds entries ahead of it, and asks again.

        Raises:
            NotNow: a job can't be so; nothing was changed.
        """
        since = self.clock.since
        events = {d: answered(d.job, since, now, by, now + by, words) for d in self._writable()}
        before = self.clock.mark()
        self.clock.move(by)
        given = _Given(by, before, self.clock.mark())
        self._asked_by_hand = False
        self._question = self._about = None
        for document in self.session.documents:
            self._settled[document] = True
        self._far.clear()
        self._write(events, given)

    def _write(self, events: dict[Document, ev.ClockAnswered], given: _Given) -> None:
        for document, event in events.items():
            document.become(with_events(document.job, event))
            document.unsaved = "the answer on the clock is not written yet"
            self._looked[document] = document.job
            self._stood[document] = answers_of(document.job)
            self._given.setdefault(document, {})[event.id] = given
        self.session.save_all()
        if self.session.current is not None:
            self.session.pick_document(self.session.current)  # tells whoever listens

    def _writable(self) -> Iterator[Document]:
        return (d for d in self.session.documents if not d.read_only)

    # --- an answer that is taken back --------------------------------------------------------------

    def _follow_undo(self, document: Document) -> None:
        """Let the clock follow where an answer was undone or redone, so that the windows keep what they have left."""
        before, after = self._stood.get(document, {}), answers_of(document.job)
        self._stood[document] = after
        for answer, stands in after.items():
            given = self._given.get(document, {}).get(answer)
            if given is None or before.get(answer, stands) is stands:
                continue
            now, since = self.session.now(), self.clock.since
            marks = (given.after, given.before) if stands else (given.before, given.after)
            self.clock.restore(*marks)
            by = given.by if stands else -given.by
            self._settled.clear()
            others: dict[Document, ev.ClockAnswered] = {}
            for other in self._writable():
                if other is not document and by:
                    words = "the answer was given once more" if stands else "the answer was taken back"
                    try:
                        others[other] = answered(other.job, since, now, by, now + by, words)
                    except NotNow:
                        continue  # its entries came after the answer: they stay by the clock they were made by
            self._write(others, _Given(by, *reversed(marks)))


def _same(about: object, other: object) -> bool:
    """Whether two questions are about the same: a clock that drifts by a moment asks nothing new."""
    if not isinstance(about, tuple) or not isinstance(other, tuple) or about[0] is not other[0]:
        return about == other
    return bool(abs(about[1] - other[1]) <= 1)
