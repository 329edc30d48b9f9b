"""Grading the strips of a trial: what is to grade now, what each cell waits for, and what comes next."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum

from benchtool.job import events as ev
from benchtool.job.state import PieceState, State
from benchtool.job.trialcompared import planned_tests, strip_numbers
from benchtool.job.trialrest import Rested, Test, aged_words, rest_ends, rested
from benchtool.job.trials import AgeingRun, Grade, TrialState
from benchtool.job.window import FOR_GOOD
from benchtool.session.due import clock_time
from benchtool.trade.grademethods import tape_window
from benchtool.trade.grades import BY_TAPE
from benchtool.trade.numbers import clock_words
from benchtool.trade.saying import say
from benchtool.trade.windows import Phase, Span


class Standing(StrEnum):
    """How one test of one strip stands."""

    UNPAINTED = "not painted"
    RESTS = "rests"
    READY = "ready"
    TAPE_ON = "tape on"
    AGEING = "ageing"
    AHEAD = "ahead"
    PAST = "past"
    AWAY = "put away"
    GRADED = "graded"


@dataclass(frozen=True, slots=True)
class Spot:
    """Which test of which strip: the id of the strip's piece, and the test."""

    strip: str
    test: Test

    @property
    def method(self) -> ev.Method:
        """How it is tested."""
        return self.test[0]

    @property
    def aged(self) -> tuple[ev.AgeingKind, ...]:
        """What it went through before."""
        return self.test[1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One test of one strip at a moment.

    `until` is when what it waits for is over: the rest, or the ageing. `pull` is when the tape that is on may be
    pulled. `grade` is the one that counts, `given` how many there are in the record, `rested` whether the paint had,
    `late` whether its tape was pulled after its time.
    """

    spot: Spot
    standing: Standing
    until: datetime | None = None
    pull: Span | None = None
    run: AgeingRun | None = None
    grade: Grade | None = None
    given: int = 0
    rested: Rested = Rested.YES
    late: bool = False

    @property
    def early(self) -> bool:
        """Whether it was graded before the paint had rested."""
        return self.grade is not None and self.rested is Rested.EARLY

    def edges(self) -> Iterator[datetime]:
        """Give the instants at which this cell reads otherwise."""
        if self.until is not None:
            yield self.until
        if self.pull is not None:
            yield from (e for e in (self.pull.opens_at, self.pull.closing_from(), self.pull.closes_at) if e is not None)

    def pulls(self, now: datetime) -> bool:
        """Whether its tape is to be pulled now, or was to be pulled before."""
        return self.pull is not None and self.pull.phase(now) is not Phase.WAITING


@dataclass(frozen=True, slots=True)
class Row:
    """A strip with its cells, one for each test of the board. `number` counts as the strips lie, `name` is its own."""

    strip: ev.Strip
    number: int
    name: str
    system: ev.System | None
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Board:
    """What is to grade in a trial: rows are strips as they lie, columns are tests; it stands until `next_edge`."""

    tests: tuple[Test, ...]
    rows: tuple[Row, ...]
    next_edge: datetime

    def cell(self, spot: Spot | None) -> Cell | None:
        """Find a cell; None where there is no such one."""
        return next((c for c in self.cells() if c.spot == spot), None)

    def row(self, strip: str) -> Row | None:
        """Find the row of a strip."""
        return next((r for r in self.rows if r.strip.piece == strip), None)

    def cells(self) -> Iterator[Cell]:
        """Give all cells, test by test: so they are graded."""
        for k in range(len(self.tests)):
            yield from (row.cells[k] for row in self.rows)

    def beside(self, spot: Spot, down: int, right: int) -> Spot:
        """Give the spot so many rows and columns away, at most the last one there."""
        at = next((i for i, r in enumerate(self.rows) if r.strip.piece == spot.strip), 0)
        column = self.tests.index(spot.test) if spot.test in self.tests else 0
        at = min(max(at + down, 0), len(self.rows) - 1)
        return Spot(self.rows[at].strip.piece, self.tests[min(max(column + right, 0), len(self.tests) - 1)])

    def left(self) -> int:
        """Count what can still be graded, now or once its wait is over."""
        return sum(c.standing in _TO_COME for c in self.cells())


_TO_COME = (Standing.UNPAINTED, Standing.RESTS, Standing.READY, Standing.TAPE_ON, Standing.AGEING, Standing.AHEAD)


def board(state: State, trial: TrialState, now: datetime) -> Board:
    """Say how each test of each strip stands at `now`."""
    tests, numbers = _tests(trial), strip_numbers(trial)
    rows = []
    for strip in sorted(trial.plan.strips, key=lambda s: numbers[s.piece]):
        piece = state.pieces.get(strip.piece)
        name = piece.piece.name if piece is not None else say("Strip {number}", number=numbers[strip.piece])
        graded = {g.test: g for g in trial.newest(strip.piece)}
        cells = tuple(_cell(trial, piece, Spot(strip.piece, test), graded.get(test), now) for test in tests)
        rows.append(Row(strip, numbers[strip.piece], name, trial.system(strip.system), cells))
    edges = [e for row in rows for cell in row.cells for e in cell.edges() if e > now]
    return Board(tests, tuple(rows), min(edges, default=FOR_GOOD))


def _tests(trial: TrialState) -> tuple[Test, ...]:
    """Give the tests that any strip has come to, as planned first; none after an ageing that is still ahead."""
    reached = {trial.aged(s.piece) for s in trial.plan.strips}
    now_in = {(*trial.aged(s), r.plan.kind) for r in trial.ageings if r.over_at is None for s in r.strips}
    most = max((len(aged) for aged in reached | now_in), default=0)
    planned = [test for test in planned_tests(trial.plan) if len(test[1]) <= most]
    otherwise = [(m, aged) for aged in sorted(reached | now_in, key=len) for m in trial.plan.methods]
    return tuple(dict.fromkeys((*planned, *otherwise, *trial.tests())))


def _cell(trial: TrialState, piece: PieceState | None, spot: Spot, grade: Grade | None, now: datetime) -> Cell:
    tape = trial.tape_on(spot.strip, spot.method)
    here = trial.aged(spot.strip) == spot.aged
    on = tape is not None and trial.aged(spot.strip, tape.at) == spot.aged
    if here and tape is not None and on and trial.ended_at is None:
        least, most = tape_window(tape.method, trial.plan.tape_stays)
        pull = Span(tape.at, tape.at + least, tape.at + most if most is not None else None)
        return _with_grade(trial, piece, Cell(spot=spot, standing=Standing.TAPE_ON, pull=pull), grade)
    if grade is not None:
        told = _with_grade(trial, piece, Cell(spot=spot, standing=Standing.GRADED), grade)
        open_ = here and trial.ended_at is None and trial.ageing_now(spot.strip) is None
        ends = rest_ends(trial, piece, now) if told.early and piece is not None and open_ else None
        if ends is not None:  # that was before it had rested: once it has, it is tested again
            return replace(told, until=ends, standing=Standing.READY if ends <= now else Standing.GRADED)
        return told
    if trial.ended_at is not None:
        return Cell(spot=spot, standing=Standing.AWAY)
    run = trial.ageing_now(spot.strip)
    if not here or run is not None:
        return _in_another_stage(trial, spot, run)
    ends = rest_ends(trial, piece, now) if piece is not None else None
    if ends is None:
        return Cell(spot=spot, standing=Standing.UNPAINTED)
    if now < ends:
        return Cell(spot=spot, standing=Standing.RESTS, until=ends)
    return Cell(spot=spot, standing=Standing.READY)


def _with_grade(trial: TrialState, piece: PieceState | None, cell: Cell, grade: Grade | None) -> Cell:
    if grade is None:
        return cell
    given = sum(g.given.strip == cell.spot.strip and g.test == cell.spot.test for g in trial.grades)
    return Cell(
        spot=cell.spot,
        standing=cell.standing,
        pull=cell.pull,
        grade=grade,
        given=given,
        rested=rested(trial, piece, grade.given.at),
        late=_pulled_late(trial, grade),
    )


def _pulled_late(trial: TrialState, grade: Grade) -> bool:
    """Whether the tape that a grade judges was still on when its time was over."""
    given = grade.given
    pressed = [t.at for t in trial.tapes if (t.strip, t.method) == (given.strip, given.method) and t.at <= given.at]
    before = [g.given.at for g in trial.grades if g.given.id != given.id and _judges_the_same(g.given, given)]
    most = tape_window(given.method, trial.plan.tape_stays)[1]
    if not pressed or most is None or any(max(pressed) <= at < given.at for at in before):
        return False  # no tape was logged for it, or an earlier grade took that off
    return given.at > max(pressed) + most


def _judges_the_same(one: ev.Graded, other: ev.Graded) -> bool:
    return (one.strip, one.method) == (other.strip, other.method)


def _in_another_stage(trial: TrialState, spot: Spot, run: AgeingRun | None) -> Cell:
    aged = trial.aged(spot.strip)
    if run is not None and spot.aged == (*aged, run.plan.kind):
        over = run.begun_at + run.plan.lasts if run.plan.lasts is not None else None
        return Cell(spot=spot, standing=Standing.AGEING, until=over, run=run)
    ahead = len(spot.aged) > len(aged)
    return Cell(spot=spot, standing=Standing.AHEAD if ahead else Standing.PAST, run=run if aged == spot.aged else None)


def next_spot(shown: Board, after: Spot | None, now: datetime) -> Spot | None:
    """Give what to grade next: a tape to pull, else the next strip in the same test, else another test, else None.

    Where nothing is ready, it is what gets ready first.
    """
    cells = list(shown.cells())
    pulling = [c for c in cells if c.pulls(now)]
    if pulling:
        return min(pulling, key=_closes).spot
    at = next((i for i, c in enumerate(cells) if c.spot == after), -1)
    column = after.test if after is not None else None
    ordered = sorted(range(len(cells)), key=lambda i: (cells[i].spot.test != column, i <= at, i))
    ready = next((cells[i] for i in ordered if cells[i].standing is Standing.READY), None)
    if ready is not None:
        return ready.spot
    waiting = [c for c in cells if c.standing in (Standing.TAPE_ON, Standing.RESTS, Standing.AGEING)]
    return min(waiting, key=_over).spot if waiting else None


def _closes(cell: Cell) -> datetime:
    return (cell.pull.closes_at if cell.pull is not None else None) or FOR_GOOD


def _over(cell: Cell) -> datetime:
    return (cell.pull.opens_at if cell.pull is not None else cell.until) or FOR_GOOD


# --- what is said of it -----------------------------------------------------------------------------------


def takes_tape(method: ev.Method, trial: ev.Trial) -> bool:
    """Whether it matters when the tape is pressed on: then the press is logged, and the pull has its window."""
    least, most = tape_window(method, trial.tape_stays)
    return method in BY_TAPE and (bool(least) or most is not None)


def cell_short(cell: Cell, now: datetime) -> tuple[str, str]:
    """Say a cell in a word or two, with what stands small below it."""
    match cell.standing:
        case Standing.TAPE_ON if cell.pull is not None:
            phase = cell.pull.phase(now)
            if phase is Phase.WAITING:
                return say("tape on"), clock_time(cell.pull.opens_at, now, up=True)
            return say("pull"), say("late") if phase is Phase.CLOSED else say("now")
        case Standing.GRADED if cell.grade is not None:
            return cell.grade.given.grade, _graded_short(cell)
        case Standing.RESTS if cell.until is not None:
            return say("rests"), _to(cell.until, now)
        case Standing.AGEING if cell.run is not None:
            below = _to(cell.until, now) if cell.until is not None else ""
            return aged_words((cell.run.plan.kind,)), below
        case Standing.READY:
            return say("grade"), ""
        case Standing.UNPAINTED:
            return say("unfinished"), ""
        case Standing.PAST:
            return say("missed"), ""
        case Standing.AWAY:
            return say("away"), ""
        case _:
            return say("later"), ""


def _graded_short(cell: Cell) -> str:
    if cell.early:
        return say("early")
    if cell.late:
        return say("tape late")
    return say("{n} times", n=cell.given) if cell.given > 1 else ""


def _to(until: datetime, now: datetime) -> str:
    return clock_time(until, now, up=True) if until > now else say("over")


def cell_words(cell: Cell, trial: TrialState, now: datetime) -> str:
    """Say in a sentence how a cell stands."""
    match cell.standing:
        case Standing.TAPE_ON if cell.pull is not None:
            return _tape_words(cell.pull, now)
        case Standing.GRADED if cell.grade is not None:
            return _graded_words(cell, cell.grade, now)
        case Standing.RESTS if cell.until is not None:
            return say(
                "It rests until {time}. What you grade before is kept, and flagged as early.",
                time=clock_time(cell.until, now, up=True),
            )
        case Standing.AGEING if cell.run is not None:
            return _ageing_words(cell, now)
        case Standing.READY:
            return _ready_words(cell.spot.method, trial)
        case Standing.UNPAINTED:
            return say("Its paint is not all on yet, by the record. What you grade now is kept.")
        case Standing.PAST if cell.run is not None:
            return say("It is being aged before this test was graded: what you grade now is kept, and flagged.")
        case Standing.PAST:
            return say("It was aged before this test was graded: this can't be made up any more.")
        case Standing.AWAY:
            return say("The strips were put away before this was graded. What you grade now is kept.")
        case _:
            return say("It is graded after {ageing}.", ageing=aged_words(cell.spot.aged))


def _ready_words(method: ev.Method, trial: TrialState) -> str:
    if not takes_tape(method, trial.plan):
        return say("It has rested: test it, and write the grade.")
    least, most = tape_window(method, trial.plan.tape_stays)
    if most is None:
        return say(
            "It has rested: press the tape on, log it, and leave it for {time}.",
            time=clock_words(least.total_seconds()),
        )
    if not least:
        return say(
            "It has rested: press the tape on, log it, and pull it within {time}.",
            time=clock_words(most.total_seconds()),
        )
    return say(
        "It has rested: press the tape on, log it, and pull it between {least} and {most} after.",
        least=clock_words(least.total_seconds()), most=clock_words(most.total_seconds()),
    )  # fmt: skip


def _tape_words(pull: Span, now: datetime) -> str:
    left = pull.remaining_s(now)
    match pull.phase(now):
        case Phase.WAITING if pull.closes_at is not None:
            return say(
                "The tape is on: leave it, then pull it within {time}.",
                time=clock_words((pull.closes_at - pull.opens_at).total_seconds()),
            )
        case Phase.WAITING:
            return say("The tape is on: leave it.")
        case Phase.CLOSED:
            return say("The tape was to be off by now: pull it, grade it, and note that it was late.")
        case _ if left is not None:
            return say("Pull the tape now, then write the grade.")
        case _:
            return say("The tape has been on long enough: pull it, then write the grade.")


def _ageing_words(cell: Cell, now: datetime) -> str:
    kind = aged_words((cell.run.plan.kind,)) if cell.run is not None else ""
    if cell.until is None or cell.until <= now:
        return say("Its ageing ({kind}) is to be ended first, on the page of the run.", kind=kind)
    return say("It is being aged ({kind}) until {time}.", kind=kind, time=clock_time(cell.until, now, up=True))


def _graded_words(cell: Cell, grade: Grade, now: datetime) -> str:
    told = say("Graded {grade} at {time}.", grade=grade.given.grade, time=clock_time(grade.given.at, now))
    if cell.early:
        told += " " + say("That was before it had rested: it is kept, and proves nothing yet.")
    if cell.late:
        told += " " + say("By the record its tape was pulled late: the grade stands for the pull.")
    if cell.given > 1:
        told += " " + say("It takes the place of an earlier one; all {n} stay in the record.", n=cell.given)
    return told + " " + say("A new grade takes its place, and both stay in the record.")


def numerals(cell: Cell, now: datetime) -> str:
    """Give the countdown of the tape that is on, "Now" where there is no end to it; "" without a tape."""
    if cell.pull is None:
        return ""
    left, phase = cell.pull.remaining_s(now), cell.pull.phase(now)
    if phase is Phase.CLOSED:
        return say("Late")
    if left is None:
        return say("Now")
    return clock_words(left, up=phase is Phase.WAITING)


@dataclass(frozen=True, slots=True)
class Ahead:
    """What the stage says over the strips, and which stage comes after: compare, run, or none yet."""

    words: str = ""
    stage: str = ""


def stands_words(shown: Board, trial: TrialState, now: datetime) -> Ahead:
    """Say what is left where nothing can be graded now."""
    cells = list(shown.cells())
    if any(c.standing in (Standing.READY, Standing.TAPE_ON) for c in cells):
        return Ahead()
    waits = [c.until for c in cells if c.until is not None and c.until > now]
    if waits:
        return Ahead(say("Nothing is to grade before {time}.", time=clock_time(min(waits), now, up=True)))
    unfit = any(c.early and c.standing is Standing.GRADED for c in cells) and trial.ended_at is None
    if unfit or any(c.standing in (Standing.UNPAINTED, Standing.AGEING) for c in cells):
        return Ahead(say("What is left is not ready for a test yet."), "run")
    if trial.ended_at is None and len(planned_tests(trial.plan)) > sum(
        t in shown.tests for t in planned_tests(trial.plan)
    ):
        return Ahead(say("All that can be graded before the next ageing is graded."), "run")
    if any(c.grade is not None for c in cells):
        missed = any(c.early or c.grade is None for c in cells)
        words = say("All that can still be graded is graded.") if missed else say("All strips are graded.")
        return Ahead(words, "compare")
    return Ahead()
