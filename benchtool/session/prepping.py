"""The prep plan of the piece in hand: what the strip, the page and the command show of it, and the acts that log it."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from benchtool.job import events as ev
from benchtool.job.events import Prep
from benchtool.job.preplog import PrepLog
from benchtool.job.prepplan import (
    PlannedStep,
    Standing,
    cleaner_for,
    ground_of,
    next_of,
    step_for,
    water_tells,
)
from benchtool.job.prepwords import agent_name, harm_of
from benchtool.job.state import PieceState, State
from benchtool.rules.finding import Tables
from benchtool.rules.preparing import plan_of
from benchtool.session.session import Draft, Session
from benchtool.trade.saying import say

WITH_AGENT = frozenset({Prep.WASH, Prep.RELEASE_WASH, Prep.DEGREASE})
WITH_GRIT = frozenset({Prep.ABRADE, Prep.SCUFF})

GRADES = (60, 80, 120, 180, 240, 320, 400, 500, 600, 800, 1000, 1500, 2000)
"""The grades of the FEPA P series (ISO 6344) that a painter reaches for; any other can be typed into the record."""

FIRST_BUTTONS = 8
"""So many steps are offered at once, each on its digit; the ninth digit shows the others."""


def plan_in_hand(session: Session) -> tuple[PlannedStep, ...]:
    """Plan the preparing of the piece in hand; () where there is none."""
    document, piece = session.current, session.piece
    if document is None or piece is None:
        return ()
    return plan_of(document.state, piece, session.tables, session.now())


def next_prep_step(session: Session, piece: PieceState | None = None, state: State | None = None) -> PlannedStep | None:
    """Give what the prep plan of the piece in hand has next, or that of another piece of the job with this `state`."""
    if piece is None or state is None:
        return next_of(plan_in_hand(session))
    return next_of(plan_of(state, piece, session.tables, session.now()))


def next_prep(session: Session) -> Draft | None:
    """Give the act that logs what is next, with the cleaner and grade planned; None where no key alone can log it.

    How a water-break test went has to be asked.
    """
    step, piece = next_prep_step(session), session.piece
    if step is None or step.step in (None, Prep.WATER_BREAK) or piece is None:
        return None
    return draft_of(piece.id, step)


@dataclass(frozen=True, slots=True, kw_only=True)
class Logged:
    """A prep step as it is about to be logged; the rest as in `events.PrepDone`."""

    piece: str
    step: Prep
    agent: str | None = None
    grit: int | None = None
    passed: bool | None = None

    def draft(self) -> Draft:
        """Give it as an event to be stamped."""
        return partial(
            ev.PrepDone, piece=self.piece, step=self.step, agent=self.agent, grit=self.grit, passed=self.passed
        )


def logged(piece: str, step: Prep, plan: Sequence[PlannedStep] = ()) -> Logged:
    """Give a step as it is logged by its plan: with the cleaner planned, and the finest grade planned."""
    planned = step_for(plan, step)
    if planned is None or planned.state is Standing.NOT_HERE:
        return Logged(piece=piece, step=step)
    fine = planned.grit[1] if planned.grit is not None else None
    return Logged(piece=piece, step=step, agent=planned.agent, grit=fine)


def draft_of(piece: str, planned: PlannedStep) -> Draft:
    """Give a planned step as the event that logs it as planned.

    Raises:
        ValueError: a layer or a test strip tells its state, so that there is nothing to log.
    """
    if planned.step is None:
        raise ValueError(planned.part.value)
    return logged(piece, planned.step, (planned,)).draft()


# --- what the strip offers -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Offer:
    """What can be logged, most likely first: `first` each on a digit, `others` behind the ninth."""

    plan: tuple[PlannedStep, ...]
    first: tuple[Prep, ...]
    others: tuple[Prep, ...]

    @property
    def next(self) -> PlannedStep | None:
        """What the plan has next."""
        return next_of(self.plan)


def offer(plan: tuple[PlannedStep, ...]) -> Offer:
    """Put what can be logged in order: what is next, then the plan as it stands, whatever of it is done, then the rest.

    So a log moves every other answer by one digit at most. Tape is taken off last: that comes and goes.
    """
    following, shown = next_of(plan), [s.step for s in plan if s.state is not Standing.NOT_HERE]
    wanted = [following.step if following is not None else None, *(p for p in shown if p is not Prep.UNMASK), *shown]
    first = tuple(dict.fromkeys(p for p in wanted if p is not None))[:FIRST_BUTTONS]
    return Offer(plan, first, tuple(p for p in Prep if p not in first))


def follows(session: Session) -> str:
    """Say what the plan has next, for the line that answers a logged step."""
    plan = plan_in_hand(session)
    step = next_of(plan)
    if step is not None:
        return say("Next: {step}.", step=_lower(step.brief))
    piece = session.piece
    if piece is not None and piece.top is None and plan:
        return say("That is all of its prep plan.")
    return ""


# --- with something else ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Cleaning:
    """A cleaner to choose: its id and name, and whether it is known to be safe for the material, or to harm it."""

    id: str
    name: str
    safe: bool
    harms: bool


def cleanings(piece: PieceState, step: Prep, tables: Tables) -> tuple[Cleaning, ...]:
    """Give every cleaner for a step, the planned one first, then the safe ones, the harmful ones last."""
    substrate = tables.substrate_of(piece.piece)
    planned = cleaner_for(substrate, step)
    ids = dict.fromkeys((*tables.cleaners, *substrate.safe, *substrate.harmful))
    harmful, safe = set(substrate.harmful), set(substrate.safe) - set(substrate.harmful)
    every = (Cleaning(x, agent_name(x, tables.cleaners), x in safe, x in harmful) for x in ids)
    return tuple(sorted(every, key=lambda c: (c.id != planned, c.harms, not c.safe)))


def harm_words(piece: PieceState, agent: str | None, tables: Tables) -> str:
    """Say that this cleaner harms this piece; "" where nothing of the kind is known."""
    substrate = tables.substrate_of(piece.piece)
    if agent is None or agent not in substrate.harmful:
        return ""
    return harm_of(ground_of(piece, substrate, tables.cleaners), agent)


def grades_near(grit: tuple[int, int] | None, most: int = FIRST_BUTTONS) -> tuple[int, ...]:
    """Give the grades to choose from, coarse first: those about the planned range where there are too many."""
    coarse, fine = grit or (GRADES[0], GRADES[-1])
    middle = (coarse * fine) ** 0.5
    near = sorted(GRADES, key=lambda g: max(g / middle, middle / g))[:most]
    return tuple(sorted(near))


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def troubles(piece: PieceState, tables: Tables) -> tuple[str, ...]:
    """Say what of the logged preparing has done harm or shows that it is not clean: by cleaner, scratch and water."""
    substrate, said = tables.substrate_of(piece.piece), []
    bare = [s for s in piece.steps if s.on_layer is None]
    said += [harm_words(piece, s.agent, tables) for s in bare]
    if piece.piece.face is ev.Face.BEHIND_CLEAR and any(s.step in WITH_GRIT for s in bare):
        said.append(say("The clear face was abraded: the scratches show from the front."))
    water = PrepLog(bare).water()
    if water is not None and water.passed is False and water_tells(substrate):
        said.append(say("At the last water test the film broke: degrease it again."))
    return tuple(dict.fromkeys(x for x in said if x))
