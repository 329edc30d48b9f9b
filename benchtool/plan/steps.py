"""From the real state of a job to the work that is left on each piece: what a forward plan is made from.

Everything comes from the record as it stands at `now`, so that to plan anew is only to ask again. A wait that runs is
linked just as the watch has it; one to come goes by the card in the air expected. Two habits are no card's: a gun is
cleaned soon after the last coat from a cup, and a cup without a pot life is not mixed for the morning (stepspiece.py
says how long). What is not planned for:

* The dust is wiped off as a part of the coat's own minutes; masking, and what is only done where it is needed.
* A test strip asked for, or a drying out of the material: no record knows how long, so they are told as doubts.
* The strips of one system of a trial are one chain, that of the strip furthest behind: they are worked side by side.
  Their rest and their tests are no work on paint, and a trial that is put away is over.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from benchtool.job.nextstep import CLEANING
from benchtool.job.prepplan import Part, PlannedStep, Standing
from benchtool.job.shop import Shop
from benchtool.job.shophours import Takes
from benchtool.job.state import LayerState, PieceState, State
from benchtool.job.trials import TrialState
from benchtool.job.windows import Window, all_windows
from benchtool.plan.stepsmix import NextFit, open_always
from benchtool.plan.stepspiece import PieceSteps
from benchtool.plan.stepstail import add_tail, doubt_of_cure, ready_known
from benchtool.plan.stepswaits import Doubt
from benchtool.plan.work import Chain, Work
from benchtool.trade.saying import say, say_n

__all__ = ["Doubt", "Left", "work_left"]

CLEANED_AFTER = timedelta(hours=1)
"""A gun whose cleaning nobody logged is taken as clean so long after its last coat: nothing else would ever say so."""


@dataclass(slots=True)
class Left:
    """What is left to do in a job, and what is not known of it."""

    chains: list[Chain] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)


def work_left(
    job: str,
    state: State,
    shop: Shop,
    now: datetime,
    prep: Mapping[str, Sequence[PlannedStep]] | None = None,
    *,
    fit: NextFit = open_always,
    title: str = "",
) -> Left:
    """Give the work that is left on each piece of a job, in the order in which the pieces came in.

    `job` is what tells it from every other job of the plan, `prep` the prep plan of each piece by its id, and `fit`
    says when the shop is open for so long: by it a cup that stands and dies before its coat is not planned with.
    """
    left = Left()
    windows: dict[str, list[Window]] = {}
    for window in all_windows(state):
        windows.setdefault(window.piece, []).append(window)
    for piece, times, name in _worked_on(state):
        steps = PieceSteps(job, state, piece, shop, now, fit, times, windows.get(piece.id, []))
        _prepare(steps, (prep or {}).get(piece.id))
        if piece.heat.at(now) is not None and piece.current is not None:
            told = say(
                "Heat is on {piece}: coats to come are planned as if it were off by then.", piece=piece.piece.name
            )
            steps.doubts.append(steps.doubt(None, told))
        _paint(steps)
        known = ready_known(steps)
        if not known and (steps.tasks or steps.links):
            doubt_of_cure(steps)
        left.doubts += steps.doubts
        if times == 1 and not piece.layers:
            left.doubts.append(steps.doubt(None, say("No layer is planned on {piece} yet.", piece=piece.piece.name)))
        if steps.tasks or (steps.links and times == 1):
            left.chains.append(_chain(steps, title or state.title, name, ready_known=known))
    return left


def _chain(steps: PieceSteps, title: str, name: str, *, ready_known: bool) -> Chain:
    return Chain(
        job=steps.job,
        job_title=title,
        piece=steps.piece.id,
        piece_name=name,
        tasks=tuple(steps.tasks),
        links=tuple(steps.links),
        promised=steps.state.promised,
        ready_known=ready_known,
    )


def _worked_on(state: State) -> Iterator[tuple[PieceState, int, str]]:
    """Give the pieces that a plan is made for, how many each stands for, and what the plan calls it."""
    told: set[tuple[str, str]] = set()
    for piece in state.pieces.values():
        if not state.is_strip(piece):
            yield piece, 1, piece.piece.name
            continue
        trial = state.trial_of(piece.id)
        strip = trial.strip(piece.id) if trial is not None else None
        if trial is None or strip is None or trial.ended_at is not None or (trial.id, strip.system) in told:
            continue
        told.add((trial.id, strip.system))
        yield from _strips(state, trial, strip.system)


def _strips(state: State, trial: TrialState, system: str) -> Iterator[tuple[PieceState, int, str]]:
    strips = [state.pieces[s.piece] for s in trial.strips_of(system) if s.piece in state.pieces]
    behind = [piece for piece in strips if piece.current is not None]
    found = trial.system(system)
    if behind and found is not None:
        done = {p.id: sum(x.coats_done for x in p.layers) for p in behind}
        slowest = min(behind, key=lambda p: (done[p.id], -len(p.steps)))
        name = say_n("{system}, {n} strip", "{system}, {n} strips", len(behind), system=found.name)
        yield slowest, len(behind), name


# --- preparing -------------------------------------------------------------------------------------------


def _prepare(steps: PieceSteps, plan: Sequence[PlannedStep] | None) -> None:
    """Add what is still to be done before the first paint."""
    piece = steps.piece
    if piece.top is not None or not piece.layers or piece.layers[0].mixes:
        return
    first = piece.layers[0].id
    if plan is None:
        if not piece.steps:
            steps.add(Work.PREP, "prep:clean", say("Wash and degrease it"), Takes.PREP, layer=first)
        return
    for step in plan:
        if step.state not in (Standing.NEXT, Standing.LATER):
            continue
        if step.step in CLEANING:
            steps.add(Work.PREP, f"prep:{step.part.value}", step.name or step.brief, Takes.PREP, layer=first)
        told = _not_timed(step, steps)
        if told:
            steps.doubts.append(steps.doubt(first, told))


def _not_timed(step: PlannedStep, steps: PieceSteps) -> str:
    name, layers = steps.piece.piece.name, steps.piece.layers
    if step.part is Part.TRIAL:
        return say("{piece} asks for a test strip first: its days are not in the plan.", piece=name)
    if step.part is Part.DRY:
        return say("How long {piece} takes to dry out is not in the plan.", piece=name)
    card = steps.state.card_of(layers[0])
    if step.part is Part.PROMOTE and (card is None or card.duty.value != "promoter"):
        return say("{piece} asks for a promoter, and none is planned: it is not in the plan.", piece=name)
    return ""


# --- painting --------------------------------------------------------------------------------------------


def _paint(steps: PieceSteps) -> None:
    """Add every coat that is left with its cups and waits, then the waits that nothing follows."""
    piece = steps.piece
    current = piece.current
    if current is None:
        add_tail(steps)
        return
    _clean_first(steps, current)
    for layer in piece.layers[piece.place(current) :]:
        steps.paint(layer)
    add_tail(steps)


def _clean_first(steps: PieceSteps, current: LayerState) -> None:
    """Add the cleaning of the gun after the layer below, where its last coat went on just now."""
    under = steps.piece.under(current)
    done = under.last_done if under is not None and not current.started else None
    mix = steps.state.mixes.get(done.mix or "") if done is not None else None
    if under is None or done is None or done.done_at is None or mix is None or mix.emptied_at is not None:
        return
    if done.done_at <= steps.now < done.done_at + CLEANED_AFTER and mix is not steps.state.mix_for(current):
        steps.clean(under, done.number)
