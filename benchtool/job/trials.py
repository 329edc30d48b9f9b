"""A trial as its events left it: what was pressed on, aged and graded, and what it was chosen for."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from benchtool.job import events as ev
from benchtool.job.stack import PieceState
from benchtool.trade.grademethods import tape_window


@dataclass(slots=True)
class AgeingRun:
    """One stay of some strips in water, heat or cold, or their bending; `over_at` is None while it lasts."""

    plan: ev.Ageing
    strips: tuple[str, ...]
    begun_at: datetime
    over_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Grade:
    """A grade as it was given, with what the strip had been through by then (oldest first)."""

    given: ev.Graded
    aged: tuple[ev.AgeingKind, ...]

    @property
    def test(self) -> tuple[ev.Method, tuple[ev.AgeingKind, ...]]:
        """What tells one test from another: the method, and what came before it."""
        return self.given.method, self.aged


@dataclass(slots=True)
class TrialState:
    """A trial and what was done in it. The strips' coats and steps are those of their `pieces` in the state."""

    plan: ev.Trial
    pieces: Mapping[str, PieceState] = field(default_factory=dict, compare=False, repr=False)
    grades: list[Grade] = field(default_factory=list)
    tapes: list[ev.TapePressed] = field(default_factory=list)
    taped: dict[tuple[str, ev.Method], ev.TapePressed] = field(default_factory=dict)
    ageings: list[AgeingRun] = field(default_factory=list)
    chosen: list[ev.SystemChosen] = field(default_factory=list)
    ended_at: datetime | None = None

    @property
    def id(self) -> str:
        """The trial's id."""
        return self.plan.id

    def strip(self, piece: str) -> ev.Strip | None:
        """Find the strip that this piece stands for."""
        return next((s for s in self.plan.strips if s.piece == piece), None)

    def system(self, system: str) -> ev.System | None:
        """Find a system by its id."""
        return next((s for s in self.plan.systems if s.id == system), None)

    def strips_of(self, system: str) -> tuple[ev.Strip, ...]:
        """Give the strips of a system, by replicate."""
        return tuple(sorted((s for s in self.plan.strips if s.system == system), key=lambda s: s.replicate))

    @property
    def controls(self) -> tuple[ev.System, ...]:
        """The systems without a promoter that the others are held against."""
        return tuple(s for s in self.plan.systems if s.control)

    def aged(self, strip: str, at: datetime | None = None) -> tuple[ev.AgeingKind, ...]:
        """Give what this strip has been through, by `at` where it is given."""
        over = [(r.over_at, r.plan.kind) for r in self.ageings if strip in r.strips and r.over_at is not None]
        return tuple(kind for then, kind in sorted(over, key=lambda x: x[0]) if at is None or then <= at)

    def ageing_now(self, strip: str) -> AgeingRun | None:
        """Give the ageing that this strip is in."""
        return next((r for r in self.ageings if strip in r.strips and r.over_at is None), None)

    def newest(self, strip: str) -> Iterator[Grade]:
        """Give the grade that counts of each test of this strip: the one given last."""
        last: dict[object, Grade] = {}
        for grade in sorted((g for g in self.grades if g.given.strip == strip), key=lambda g: g.given.at):
            last.pop(grade.test, None)
            last[grade.test] = grade
        yield from last.values()

    def grade(self, strip: str, method: ev.Method, aged: tuple[ev.AgeingKind, ...] = ()) -> Grade | None:
        """Give the grade that counts of one test of one strip."""
        return next((g for g in self.newest(strip) if g.test == (method, aged)), None)

    def tests(self) -> tuple[tuple[ev.Method, tuple[ev.AgeingKind, ...]], ...]:
        """Give every test that was graded on any strip, in the order of the plan, the unaged ones first."""
        found = dict.fromkeys(g.test for g in self.grades)
        order = [*self.plan.methods, *ev.Method]
        return tuple(sorted(found, key=lambda t: (len(t[1]), order.index(t[0]))))

    def take_out(self, strips: tuple[str, ...], over_at: datetime) -> None:
        """Take in that strips came out of their ageing: what was graded since then was graded after it.

        It matters where that they came out was logged late, and a grade stands before it in the record. Within an
        instant the record's order decides.
        """
        for i, grade in enumerate(self.grades):
            if grade.given.strip in strips and grade.given.at > over_at:
                self.grades[i] = Grade(grade.given, self.aged(grade.given.strip, grade.given.at))

    def tape_on(self, strip: str, method: ev.Method | None = None) -> ev.TapePressed | None:
        """Give the tape on this strip that is to be pulled first, None for none; with a `method` that of it."""
        on = [tape for tape in self.tapes_on(strip) if method in (None, tape.method)]
        return min(on, key=lambda tape: tape.at + tape_window(tape.method, self.plan.tape_stays)[0], default=None)

    def tapes_on(self, strip: str) -> tuple[ev.TapePressed, ...]:
        """Give the tapes that are on this strip now, one for each test: pressed, and not judged since."""
        return tuple(tape for tape in self.taped.values() if tape.strip == strip)

    def press(self, e: ev.TapePressed) -> None:
        """Take in that tape was pressed on a strip, in the place of what was on it for the same test."""
        self.tapes.append(e)
        on = self.taped.get((e.strip, e.method))
        if on is None or e.at >= on.at:
            self.taped[e.strip, e.method] = e

    def judge(self, e: ev.Graded) -> None:
        """Take in a grade; the tape that it judges is off."""
        self.grades.append(Grade(e, self.aged(e.strip, e.at)))
        on = self.taped.get((e.strip, e.method))
        if on is not None and e.at >= on.at:
            del self.taped[e.strip, e.method]
