"""The grades of a trial side by side: each strip's own, by system and by test, and which of them may be counted.

A strip that was graded before its paint had rested tells nothing yet: its grade is shown and not counted. Nothing here
averages anything.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from benchtool.job import events as ev
from benchtool.job.state import State
from benchtool.job.trialnumbers import StripNumber, strip_numbers
from benchtool.job.trialrest import Rested, Test, aged_words, rest_ends, rested, title_of
from benchtool.job.trials import Grade, TrialState
from benchtool.trade.grades import BY_TAPE, NotAGrade, codes, held, score
from benchtool.trade.ranking import Graded, Ranking, System, rank
from benchtool.trade.saying import say

Ranker = Callable[[Sequence[System], Sequence[Graded]], Ranking]

__all__ = [
    "Compared", "Line", "Mark", "Rested", "Test", "aged_words", "best_of", "compared", "lines", "names_of",
    "place_words", "planned_tests", "rest_ends", "rested", "short_of", "stack_words", "still_to_grade",
    "strip_numbers", "strips_done", "title_of", "usual_limit",
]  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One strip in one test: its number on the panel, its grade and its `score` (higher is better), None where none.

    `came_off` says whether more came off than is usually allowed, None where no limit is usual; `place` is where it let
    go, in words, "" where nothing was said.
    """

    strip: str
    number: StripNumber
    code: str = ""
    score: int | None = None
    rested: Rested = Rested.YES
    came_off: bool | None = None
    place: str = ""
    given: ev.Graded | None = None

    @property
    def counts(self) -> bool:
        """Whether the grade may be held against others."""
        return self.score is not None and self.rested is not Rested.EARLY


@dataclass(frozen=True, slots=True)
class Line:
    """A system with its cells, one for each test: every strip of it, by replicate."""

    system: ev.System
    cells: tuple[tuple[Mark, ...], ...]


def short_of(test: Test) -> str:
    """Name a test in the few words that fit over a column."""
    method, aged = test
    names = {
        ev.Method.ISO_2409: say("Cross-cut, ISO"),
        ev.Method.D3359_B: say("Cross-cut, ASTM"),
        ev.Method.D3359_A: say("X-cut, ASTM"),
        ev.Method.PLAIN_TAPE: say("Plain tape"),
        ev.Method.STICK: say("Stick"),
        ev.Method.NAIL: say("Fingernail"),
        ev.Method.PENCIL_ISO: say("Pencil, ISO"),
        ev.Method.PENCIL_GOUGE: say("Pencil gouge"),
        ev.Method.PENCIL_SCRATCH: say("Pencil scratch"),
    }
    return say("{test}, after {aged}", test=names[method], aged=aged_words(aged)) if aged else names[method]


def best_of(test: Test) -> str:
    """Say which end of the scale of a test is the best: side by side one counts up and another down."""
    return say("{grade} is best", grade=codes(test[0])[0])


def planned_tests(plan: ev.Trial) -> tuple[Test, ...]:
    """Give the tests that the plan asks for: its methods as sprayed, then again after each step of ageing."""
    stages = [tuple(step.kind for step in plan.ageing[:n]) for n in range(len(plan.ageing) + 1)]
    return tuple((method, aged) for aged in stages for method in plan.methods)


def still_to_grade(state: State, trial: TrialState) -> tuple[tuple[Test, tuple[str, ...]], ...]:
    """Give each test of the plan with the strips (ids of pieces, as they lie) that have no grade of it that counts.

    One that was given before the paint had rested counts for nothing: the test is still to be done.
    """
    numbers = strip_numbers(trial)
    graded = {
        (strip, grade.test)
        for strip in numbers
        for grade in trial.newest(strip)
        if rested(trial, state.pieces.get(strip), grade.given.at) is not Rested.EARLY
    }
    left = ((test, tuple(p for p in numbers if (p, test) not in graded)) for test in planned_tests(trial.plan))
    return tuple((test, strips) for test, strips in left if strips)


def strips_done(state: State, trial: TrialState) -> int:
    """Count the strips on which every test of the plan is graded, and counts."""
    open_ = {strip for _, strips in still_to_grade(state, trial) for strip in strips}
    return sum(s.piece not in open_ for s in trial.plan.strips)


def lines(state: State, trial: TrialState) -> tuple[Line, ...]:
    """Give every system of the plan, in its order, with all grades that count of every strip."""
    numbers, tests = strip_numbers(trial), trial.tests()
    marks = {s.piece: {m[0]: m[1] for m in _marks(state, trial, s.piece, numbers)} for s in trial.plan.strips}
    return tuple(
        Line(
            system,
            tuple(
                tuple(
                    marks[s.piece].get(test, Mark(strip=s.piece, number=numbers[s.piece]))
                    for s in trial.strips_of(system.id)
                )
                for test in tests
            ),
        )
        for system in trial.plan.systems
    )


def _marks(state: State, trial: TrialState, strip: str, numbers: dict[str, StripNumber]) -> Iterator[tuple[Test, Mark]]:
    for grade in trial.newest(strip):
        yield grade.test, _mark(state, trial, grade, numbers[strip])


def _mark(state: State, trial: TrialState, grade: Grade, number: StripNumber) -> Mark:
    given = grade.given
    try:
        place, keeps = score(given.method, given.grade), held(given.method, given.grade)
    except NotAGrade:  # a record is checked when it is read; what slips through is shown and not counted
        place, keeps = None, None
    return Mark(
        strip=given.strip,
        number=number,
        code=given.grade,
        score=place,
        rested=rested(trial, state.pieces.get(given.strip), given.at),
        came_off=None if keeps is None else not keeps,
        place=place_words(state, given),
        given=given,
    )


def place_words(state: State, given: ev.Graded) -> str:
    """Say where it let go, and how much, as was entered; "" where nothing was."""
    amount = ""
    if given.removed_percent is not None:
        amount = say("{percent} % off", percent=f"{given.removed_percent:g}")
        if given.plus_minus:
            amount = say("{percent} ± {give} % off", percent=f"{given.removed_percent:g}", give=f"{given.plus_minus:g}")
    return ", ".join(x for x in (_where(state, given), amount) if x)


def _where(state: State, given: ev.Graded) -> str:
    def name(layer: str | None) -> str:
        found = state.layers.get(layer or "")
        return state.layer_name(found) if found is not None else ""

    match given.place:
        case None:
            return ""
        case ev.FailurePlace.NOTHING:
            return say("nothing came off")
        case ev.FailurePlace.TAPE:
            return say("in the tape")
        case ev.FailurePlace.LAYER if name(given.layer):
            return say("in {layer}", layer=name(given.layer))
        case ev.FailurePlace.BETWEEN if name(given.layer) and name(given.over):
            return say("between {under} and {over}", under=name(given.layer), over=name(given.over))
        case ev.FailurePlace.SUBSTRATE:
            return say("down to the bare material")
        case ev.FailurePlace.IN_SUBSTRATE:
            return say("in the material itself")
        case ev.FailurePlace.LAYER:
            return say("in a layer")
        case _:
            return say("between two layers")


def stack_words(state: State, trial: TrialState, system: str) -> str:
    """Name what a system is, first layer first: the layers of its first strip that has paint on, else of its first."""
    strips = [p for s in trial.strips_of(system) if (p := state.pieces.get(s.piece)) is not None and p.layers]
    found = next((p for p in strips if p.top is not None), strips[0] if strips else None)
    return " + ".join(_layer(state, layer.id) for layer in found.layers) if found is not None else say("no layers")


def _layer(state: State, layer_id: str) -> str:
    layer = state.layers[layer_id]
    activator = state.activator_of(layer)
    name = state.layer_name(layer)
    return say("{product} with {activator}", product=name, activator=activator.name) if activator is not None else name


def usual_limit(method: ev.Method) -> tuple[str, str] | None:
    """Give the last grade that is usually allowed and the first that is not; None where no limit is usual.

    It is what `trade.grades.held` goes by: a judgement widely asked for, which no standard sets.
    """
    every = codes(method)
    kept = [code for code in every if held(method, code)]
    return (kept[-1], every[len(kept)]) if kept and len(kept) < len(every) else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """A trial side by side: the lines best first, the tests in their order, what they say together.

    `names` are those of the systems by id, no two alike; the ranking goes by them, and by `labels` of the tests. It is
    None where no grade can be counted yet.
    """

    lines: tuple[Line, ...]
    tests: tuple[Test, ...]
    names: dict[str, str]
    ranking: Ranking | None

    def labels(self) -> tuple[str, ...]:
        """Name the tests as the ranking does."""
        return tuple(title_of(test) for test in self.tests)

    def place(self, system: str) -> int | None:
        """Give the place of a system in the order found, from 1; those that share a place have the same one.

        None where it can't be placed, or where all are on one level, so that no place says anything.
        """
        before = 1
        levels = self.ranking.order if self.ranking is not None else ()
        for level in levels if len(levels) > 1 else ():
            if self.names[system] in level:
                return before
            before += len(level)
        return None

    def marks(self) -> Iterator[tuple[ev.System, Test, Mark]]:
        """Give every strip in every test, as the lines stand."""
        for line in self.lines:
            for test, cell in zip(self.tests, line.cells, strict=True):
                yield from ((line.system, test, mark) for mark in cell)


def compared(state: State, trial: TrialState, ranker: Ranker = rank) -> Compared:
    """Put the grades of a trial side by side and rank its systems by those that count.

    `ranker` is `trade.ranking.rank`, or what does the same otherwise.
    """
    found, tests, names = lines(state, trial), trial.tests(), names_of(trial.plan)
    graded = [_graded(test, [(names[x.system.id], x.cells[i]) for x in found]) for i, test in enumerate(tests)]
    graded = [g for g in graded if any(g.scores.values())]
    if not graded:
        return Compared(lines=found, tests=tests, names=names, ranking=None)
    ranking = ranker([System(names[s.id], s.control) for s in trial.plan.systems], graded)
    order = {name: i for i, name in enumerate(ranking.names)}
    best_first = tuple(sorted(found, key=lambda x: order[names[x.system.id]]))
    return Compared(lines=best_first, tests=tests, names=names, ranking=ranking)


def names_of(plan: ev.Trial) -> dict[str, str]:
    """Name the systems by their ids; where two are called the same, the later ones get a number."""
    names: dict[str, str] = {}
    for system in plan.systems:
        name, turn = system.name, 2
        while name in names.values():
            name, turn = f"{system.name} ({turn})", turn + 1
        names[system.id] = name
    return names


def _graded(test: Test, cells: list[tuple[str, tuple[Mark, ...]]]) -> Graded:
    method = test[0]
    limit = usual_limit(method)
    return Graded(
        label=title_of(test),
        scores={name: tuple(m.score for m in marks if m.score is not None and m.counts) for name, marks in cells},
        tape=method in BY_TAPE,
        held_from=score(method, limit[0]) if limit is not None else None,
    )
