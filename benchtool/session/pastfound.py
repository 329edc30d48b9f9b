"""What one job knows of its trials, as it is held against the trials of other jobs: who was on what, and what held."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from benchtool.job import events as ev
from benchtool.job.prepwords import agent_name, step_name
from benchtool.job.record import Job
from benchtool.job.state import LayerState, PieceState, State, Step
from benchtool.job.trialcompared import Mark, lines, stack_words, strip_numbers
from benchtool.job.trialproof import activators_of, steps_on_bare
from benchtool.job.trialrest import Rested, Test
from benchtool.job.trials import TrialState
from benchtool.rules.finding import Tables
from benchtool.session.cardsearch import fold
from benchtool.trade.saying import say

SURE = (ev.Known.MARKED, ev.Known.TOLD)
"""How a painter knows what a piece is made of; a guess is not enough to hold one lot against another."""

Key = tuple[object, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PastGrade:
    """One grade of one strip: the test, the code, its `score` (higher is better), and whether it held.

    `kept` is None where no limit is usual, `score` where the code is none of the scale.
    """

    test: Test
    code: str
    score: int | None
    kept: bool | None
    rested: Rested

    @property
    def counts(self) -> bool:
        """Whether it may be held against others: not given before the paint had rested."""
        return self.score is not None and self.rested is not Rested.EARLY


@dataclass(frozen=True, slots=True)
class PastStrip:
    """One strip by its number on the panel, with the grades that are the newest of each test."""

    number: int
    grades: tuple[PastGrade, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Strips of one trial that are alike in all that decides how paint holds.

    `products` tells one system from another: cards by id and name with their activators and additives, in order; the
    number of coats does not. `sure` says that somebody knows what the material is, `alone` names the trial.
    """

    alone: Key
    system: str
    control: bool
    stack: str
    coats: str
    products: Key
    names: tuple[str, ...]
    substrate: str
    material: str
    sure: bool
    lot: str
    prep: tuple[ev.Prep, ...]
    prep_words: str
    strips: tuple[PastStrip, ...]
    chosen: tuple[str, ...] = ()

    @property
    def key(self) -> Key:
        """What must agree before two groups may be pooled. A material nobody is sure of is that of its own lot only."""
        lot = fold(self.lot)
        material = (self.substrate,) if self.sure else (self.substrate, ("lot", lot) if lot else self.alone)
        return material, self.products or self.alone, self.prep


@dataclass(frozen=True, slots=True, kw_only=True)
class PastTrial:
    """A trial of some job. `begun` is when it was set up, `last` when it was last graded (None: never).

    `newer` says that a newer version of this tool wrote the job, so that some of it may not be understood.
    """

    key: Key
    path: Path
    job: str
    id: str
    name: str
    begun: datetime
    last: datetime | None
    open: bool
    demo: bool
    newer: bool
    groups: tuple[Group, ...]

    @property
    def at(self) -> datetime:
        """The moment that it is told by."""
        return self.last or self.begun

    @property
    def graded(self) -> int:
        """How many grades stand in it."""
        return sum(len(s.grades) for g in self.groups for s in g.strips)


def trials_of(
    job: Job, state: State, tables: Tables, path: Path, *, is_open: bool = False, newer: bool = False
) -> tuple[PastTrial, ...]:
    """Give the trials of a job, in the order they were set up."""
    planned = {e.trial.id: e.at for e in job.events if isinstance(e, ev.TrialPlanned)}
    found = []
    for trial in state.trials.values():
        begun = planned.get(trial.id, job.created)
        key = (job.id, trial.id, begun)
        found.append(
            PastTrial(
                key=key,
                path=path,
                job=state.title or path.stem,
                id=trial.id,
                name=trial.plan.name,
                begun=begun,
                last=max((g.given.at for g in trial.grades), default=None),
                open=is_open,
                demo=job.demo,
                newer=newer,
                groups=tuple(_groups(state, trial, tables, key)),
            )
        )
    return tuple(found)


# --- groups of strips ------------------------------------------------------------------------------------


def _groups(state: State, trial: TrialState, tables: Tables, key: Key) -> Iterator[Group]:
    """Put strips together that are alike; a strip that was sprayed or prepared otherwise stands apart."""
    numbers, tests = strip_numbers(trial), trial.tests()
    for line in lines(state, trial):
        by_strip: dict[str, list[PastGrade]] = {s.piece: [] for s in trial.strips_of(line.system.id)}
        for test, cell in zip(tests, line.cells, strict=True):
            for mark in cell:
                if mark.given is not None:
                    by_strip[mark.strip].append(_grade(test, mark))
        alike: dict[Key, list[str]] = {}
        for strip in by_strip:
            alike.setdefault(_alike(state, strip), []).append(strip)
        for strips in alike.values():
            graded = tuple(PastStrip(numbers[s], tuple(by_strip[s])) for s in sorted(strips, key=numbers.__getitem__))
            yield _group(state, trial, tables, key, line.system, strips[0], graded)


def _grade(test: Test, mark: Mark) -> PastGrade:
    kept = None if mark.came_off is None else not mark.came_off
    return PastGrade(test=test, code=mark.code, score=mark.score, kept=kept, rested=mark.rested)


def _alike(state: State, strip: str) -> Key:
    piece = state.pieces.get(strip)
    if piece is None:
        return ()
    made = piece.piece
    return made.substrate, made.known in SURE, fold(made.batch), _products(state, piece), _kinds(piece)


def _group(
    state: State,
    trial: TrialState,
    tables: Tables,
    key: Key,
    system: ev.System,
    strip: str,
    graded: tuple[PastStrip, ...],
) -> Group:
    piece = state.pieces.get(strip)
    substrate = tables.substrate_of(piece.piece) if piece is not None else tables.substrates["unknown"]
    sure = piece is not None and piece.piece.known in SURE and substrate.known
    layers = on_it(piece) if piece is not None else []
    chosen = (state.pieces.get(c.piece) for c in trial.chosen if c.system == system.id)
    return Group(
        alone=key,
        system=system.name,
        control=system.control,
        stack=_stack(state, layers) or stack_words(state, trial, system.id),
        coats=_coats(layers),
        products=_products(state, piece) if piece is not None else (),
        names=tuple(_names(state, layers)),
        substrate=substrate.id,
        material=substrate.name,
        sure=sure,
        lot=" ".join(piece.piece.batch.split()) if piece is not None else "",
        prep=_kinds(piece) if piece is not None else (),
        prep_words=prep_words(steps_on_bare(piece) if piece is not None else (), tables),
        strips=graded,
        chosen=tuple(dict.fromkeys(p.piece.name for p in chosen if p is not None)),
    )


def on_it(piece: PieceState) -> list[LayerState]:
    """Give the layers that lie on a strip; where no coat is logged, those that are planned on it."""
    return [x for x in piece.layers if x.started] or list(piece.layers)


def _products(state: State, piece: PieceState) -> Key:
    return tuple(_product(state, layer) for layer in on_it(piece))


def _product(state: State, layer: LayerState) -> Key:
    card = state.card_of(layer)
    activators = tuple(sorted(a for a in activators_of(state, layer) if a is not None))
    name = fold(card.name) if card is not None else ""
    return layer.plan.card, name, activators, tuple(sorted(layer.plan.additives))


def _names(state: State, layers: Sequence[LayerState]) -> Iterator[str]:
    """Name the products and what is in them, for whoever searches."""
    for layer in layers:
        card = state.card_of(layer)
        if card is not None:
            yield from (card.name, card.maker)
            yield from (a.name for i in activators_of(state, layer) if (a := card.activator(i)) is not None)
        if layer.plan.name is not None:
            yield layer.plan.name


def _stack(state: State, layers: Sequence[LayerState]) -> str:
    """Name the products in order, by their cards: what a painter calls a layer differs from job to job."""
    said = []
    for layer in layers:
        card = state.card_of(layer)
        name = card.name if card is not None else layer.plan.card
        ids = sorted(a for a in activators_of(state, layer) if a is not None)
        activators = [a.name for i in ids if card is not None and (a := card.activator(i)) is not None]
        said.append(
            say("{product} with {activator}", product=name, activator=say(" and ").join(activators))
            if activators
            else name
        )
    return " + ".join(said)


def _coats(layers: Sequence[LayerState]) -> str:
    return " + ".join(str(len(x.coats) or x.plan.coats) for x in layers)


# --- prep ------------------------------------------------------------------------------------------------


def _kinds(piece: PieceState) -> tuple[ev.Prep, ...]:
    done = {s.step for s in steps_on_bare(piece)}
    return tuple(kind for kind in ev.Prep if kind in done)


def prep_words(steps: Sequence[Step], tables: Tables) -> str:
    """Say how the bare face was prepared, oldest step first; "" where nothing is logged."""
    return ", ".join(dict.fromkeys(_step(step, tables) for step in steps))


def _step(step: Step, tables: Tables) -> str:
    told = [agent_name(step.agent, tables.cleaners)] if step.agent is not None else []
    told += [f"P{step.grit}"] if step.grit is not None else []
    name = step_name(step.step)
    return say("{step} ({how})", step=name, how=", ".join(told)) if told else name
