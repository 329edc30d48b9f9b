"""Builds trials for tests the way a painter runs them: prep, spray, rest, test, choose.

bench = tried()                 # a shell of which nobody knows the material, three systems, all tested
choose(bench, "a")              # the two-part promoter becomes what the shell goes by
"""

from collections.abc import Iterable, Sequence
from datetime import timedelta
from functools import partial
from typing import Any

from builders import COLOUR, ONE_PART_PROMOTER, PROMOTER, JobBuilder
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.state import LayerState

TAPE, STICK, NAIL = ev.Method.PLAIN_TAPE, ev.Method.STICK, ev.Method.NAIL
STACKS: dict[str, Any] = {
    "Two-part": [(PROMOTER, "rigid"), COLOUR],
    "One-part": [ONE_PART_PROMOTER, COLOUR],
    "None": [COLOUR],
}
PREP = ("mould-release wash", "degrease")


def shell(bench: JobBuilder, *, batch: str = "", known: str = "unknown", substrate: str = "unknown") -> JobBuilder:
    """Bring in a piece with the two-part promoter and a colour planned."""
    bench.card(PROMOTER, COLOUR).piece("shell", substrate, known=known)
    bench.layer("promoter", PROMOTER, activator="rigid").layer("colour", COLOUR, 1)
    return lot(bench, "shell", batch) if batch else bench


def lot(bench: JobBuilder, piece: str, batch: str) -> JobBuilder:
    """Write down of which lot a piece is."""
    return bench.add(ev.PieceChanged, piece=replace(bench.state.pieces[piece].piece, batch=batch))


def planned(bench: JobBuilder, *, each: int = 1, stacks: dict[str, Any] | None = None, **plan: Any) -> JobBuilder:
    """Set the trial `t1` up; of the material of the shell where it says no other."""
    plan.setdefault("substrate", "unknown")
    plan.setdefault("known", "unknown" if plan["substrate"] == "unknown" else "told")
    return bench.plan_trial(stacks or STACKS, each=each, **plan)


def strips_of(bench: JobBuilder, trial: str = "t1") -> list[str]:
    """Give the ids of the strips' pieces, as they lie."""
    return [s.piece for s in bench.state.trials[trial].plan.strips]


def prepared(
    bench: JobBuilder, *steps: str, only: Iterable[str] | None = None, trial: str = "t1", **told: Any
) -> JobBuilder:
    """Log steps on every strip."""
    for strip in only if only is not None else strips_of(bench, trial):
        bench.prep(*(steps or PREP), piece=strip, **told)
    return bench


def sprayed(bench: JobBuilder, trial: str = "t1", only: Sequence[str] | None = None) -> JobBuilder:
    """Spray every strip by the book, one cup for all that take the same."""
    wanted = only if only is not None else strips_of(bench, trial)
    for level in range(max(len(bench.state.pieces[s].layers) for s in wanted)):
        layers = [x for s in wanted for x in bench.state.pieces[s].layers[level : level + 1]]
        groups: dict[object, list[LayerState]] = {}
        for layer in layers:
            groups.setdefault((layer.plan.card, layer.plan.activator, layer.plan.coats), []).append(layer)
        for group in groups.values():
            _spray(bench, group)
        cards = [bench.state.cards[x.plan.card] for x in layers]
        bench.now += max(c.recoat_opens or c.flash or timedelta(0) for c in cards)
    return bench


def _spray(bench: JobBuilder, group: Sequence[LayerState]) -> None:
    card = bench.state.cards[group[0].plan.card]
    bench.ready(group[0].id)
    for layer in group[1:]:
        bench.share(layer.id)
    for n in range(group[0].plan.coats):
        bench.now += card.flash or timedelta(0) if n else timedelta(0)
        for layer in group:
            bench.coat(layer.id)
    bench.empty()


def graded(bench: JobBuilder, strip: str, method: ev.Method, grade: str, trial: str = "t1", **told: Any) -> JobBuilder:
    """Judge a test on a strip."""
    return bench.add(ev.Graded, trial=trial, strip=strip, method=method, grade=grade, **told)


def judged(bench: JobBuilder, grades: dict[str, dict[ev.Method, Sequence[str]]], trial: str = "t1") -> JobBuilder:
    """Judge tests system by system: for each method the grades of its strips, by replicate."""
    of = bench.state.trials[trial]
    for system, by_method in grades.items():
        for method, codes in by_method.items():
            for strip, code in zip(of.strips_of(system), codes, strict=True):
                graded(bench, strip.piece, method, code, trial)
    return bench


def aged(
    bench: JobBuilder, strips: Sequence[str], kind: ev.AgeingKind = ev.AgeingKind.WATER, hours: float = 24.0
) -> JobBuilder:
    """Put strips through a step of ageing."""
    step = ev.Ageing(kind=kind, lasts=timedelta(hours=hours))
    bench.add(ev.AgeingBegun, trial="t1", strips=tuple(strips), ageing=step).wait(hours=hours)
    over = partial(ev.AgeingOver, kind=kind)
    return bench.add(over, trial="t1", strips=tuple(strips))  # type: ignore[arg-type]


def choose(bench: JobBuilder, system: str = "a", piece: str = "shell", trial: str = "t1") -> JobBuilder:
    """Log that a system was chosen for a piece."""
    return bench.add(ev.SystemChosen, trial=trial, system=system, piece=piece)


def rested(bench: JobBuilder) -> JobBuilder:
    """Let the paint rest as long as the trial and its cards ask for."""
    return bench.wait(hours=25)


FINE = {
    "a": {TAPE: ["5"], STICK: ["5"], NAIL: ["5"]},
    "b": {TAPE: ["4"], STICK: ["3"], NAIL: ["3"]},
    "c": {TAPE: ["1"], STICK: ["1"], NAIL: ["0"]},
}
"""One strip each: the two-part promoter is the best, the bare control comes off."""


def ran(*, own: bool = True, batch: str = "", each: int = 1, **plan: Any) -> JobBuilder:
    """A trial for the shell (`own`), prepared, sprayed and rested; nothing is tested yet."""
    bench = shell(JobBuilder())
    planned(bench, each=each, batch=batch, piece="shell" if own else None, **plan)
    return rested(sprayed(prepared(bench)))


def tried(*, own: bool = True, batch: str = "", **plan: Any) -> JobBuilder:
    """The same, tested: `FINE`."""
    return judged(ran(own=own, batch=batch, **plan), FINE)
