"""Logs prep steps: asks which, with what, and how it went, and tells what follows."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from typing import Protocol

from PySide6.QtCore import QObject, Signal

from benchtool.bench.look import Look
from benchtool.bench.prepstrip import Choice, PrepStrip, Tale
from benchtool.job.events import Prep
from benchtool.job.prepplan import Part, PlannedStep, Standing, step_for
from benchtool.job.prepwords import agent_name, defers, step_name
from benchtool.rules.finding import Finding, Severity
from benchtool.session import prepping
from benchtool.session.prepping import Cleaning, Logged
from benchtool.session.session import Draft, NotNow, Session
from benchtool.trade.saying import say


class Guard(Protocol):
    """Does an act, or asks for a reason where a stop stands in its way."""

    def __call__(
        self,
        make: Callable[[], tuple[Draft, ...]],
        find: Callable[[], tuple[Finding, ...]],
        act: str,
        say: str | Callable[[], str],
    ) -> None:
        """Do it, or ask first."""


class Prepping(QObject):
    """What the key for a prep step does, and what the page of the plan asks for."""

    said = Signal(str)
    trial_asked = Signal()

    def __init__(self, look: Look, session: Session, guard: Guard) -> None:
        super().__init__()
        self.session, self._guard = session, guard
        self.strip = PrepStrip(look)

    # --- which step --------------------------------------------------------------------------------

    def ask(self) -> None:
        """Ask which step was done, the next one of the plan first.

        Raises:
            NotNow: there is no piece, or the job is read-only.
        """
        piece = self.session.piece
        if piece is None:
            raise NotNow(say("Add a piece first: press A."))
        self.session.writable()
        plan = prepping.plan_in_hand(self.session)
        offered = prepping.offer(plan)
        following = offered.next
        choices = [self._choice(piece.id, step, plan) for step in offered.first]
        if following is not None and following.part is Part.TRIAL:
            choices.insert(0, Choice(following.name, self.trial_asked.emit, _tale(following)))
        others = partial(self._ask_others, piece.id, offered.others, plan)
        choices = [*choices[: prepping.FIRST_BUTTONS], Choice(say("Another step"), others)]
        loggable = following is not None and (following.step is not None or following.part is Part.TRIAL)
        if following is not None:
            tale = _tale(following)
        elif piece.top is None:
            tale = Tale(say("All of its prep plan is done. What else was done?"))
        else:
            tale = Tale(say("What was done on it?"))
        self.strip.ask(tale, choices, pick_first=loggable)

    def _ask_others(self, piece: str, steps: Sequence[Prep], plan: tuple[PlannedStep, ...]) -> None:
        tale = Tale(say("What else was done?"))
        self.strip.ask(tale, [self._choice(piece, step, plan) for step in steps], pick_first=False)

    def _choice(self, piece: str, step: Prep, plan: tuple[PlannedStep, ...]) -> Choice:
        planned = step_for(plan, step)
        tale = _tale(planned) if planned is not None else Tale(say("It is not in the plan of this piece."))
        act = partial(self.log, prepping.logged(piece, step, plan))
        if step in prepping.WITH_AGENT:
            return Choice(step_name(step), act, tale, say("Another cleaner"), partial(self.ask_other, step))
        if step in prepping.WITH_GRIT:
            return Choice(step_name(step), act, tale, say("Another grade"), partial(self.ask_other, step))
        return Choice(step_name(step), act, tale)

    # --- with something else -----------------------------------------------------------------------

    def ask_other(self, step: Prep, start: int = 0) -> None:
        """Ask with which cleaner or grade a step was done; the cleaners come eight at a time, from `start` on."""
        piece = self.session.piece
        if piece is None:
            return
        plan = prepping.plan_in_hand(self.session)
        mine = prepping.logged(piece.id, step, plan)
        if step in prepping.WITH_GRIT:
            planned = step_for(plan, step)
            grades = prepping.grades_near(planned.grit if planned is not None else None)
            choices = [Choice(f"P{g}", partial(self.log, replace(mine, grit=g))) for g in grades]
            choices.append(Choice(say("A pad"), partial(self.log, replace(mine, grit=None))))
            question = say("{step}: which was the finest grade?", step=step_name(step))
            self.strip.ask(Tale(question), choices, pick_first=False)
            return
        every = prepping.cleanings(piece, step, self.session.tables)
        shown = every[start : start + prepping.FIRST_BUTTONS]
        choices = [self._cleaner(mine, cleaner) for cleaner in shown]
        if start + len(shown) < len(every) or start:
            after = start + len(shown) if start + len(shown) < len(every) else 0
            choices.append(Choice(say("More cleaners"), partial(self.ask_other, step, after)))
        question = say("{step}: with which cleaner?", step=step_name(step))
        self.strip.ask(Tale(question), choices)

    def _cleaner(self, mine: Logged, cleaner: Cleaning) -> Choice:
        if cleaner.harms:
            tale = Tale(say("With {cleaner}? It is known to harm this material.", cleaner=cleaner.name))
        elif cleaner.safe:
            tale = Tale(say("With {cleaner}? It is safe for this material.", cleaner=cleaner.name))
        else:
            words = say("With {cleaner}? Nobody has said what it does to this material.", cleaner=cleaner.name)
            tale = Tale(words, say("Try it on a spot that does not show."))
        return Choice(_upper(cleaner.name.partition(" (")[0]), partial(self.log, replace(mine, agent=cleaner.id)), tale)

    # --- logging -----------------------------------------------------------------------------------

    def log(self, step: Logged, *, told: bool = False) -> None:
        """Log a step; a water-break test asks first how it went, and a harmful cleaner is told unless it was `told`."""
        if step.step is Prep.WATER_BREAK and step.passed is None:
            self._ask_how_it_went(step)
            return
        try:
            stops = self._stops(step)
            harm = self._harm(step)
            if harm and not told and not stops:
                self._tell_harm(step, harm)
                return
            name = step_name(step.step)
            act = say("Log it anyway: {step}", step=name)
            self._guard(lambda: (step.draft(),), lambda: self._stops(step), act, partial(self._answer, step))
        except NotNow as no:
            self.said.emit(str(no))

    def _stops(self, step: Logged) -> tuple[Finding, ...]:
        found = self.session.preview(step.draft())
        return tuple(f for f in found if f.severity is Severity.STOP and not f.waived)

    def _harm(self, step: Logged) -> str:
        document = self.session.current
        piece = document.state.pieces.get(step.piece) if document is not None else None
        return prepping.harm_words(piece, step.agent, self.session.tables) if piece is not None else ""

    def _ask_how_it_went(self, step: Logged) -> None:
        plan = prepping.plan_in_hand(self.session)
        planned = step_for(plan, step.step)
        tells = planned is None or planned.state is not Standing.NOT_HERE
        reason = "" if tells or planned is None else planned.reason
        question = Tale(say("After a minute, how does the water stand on it?"), reason)
        sheet = Choice(say("In one sheet"), partial(self.log, replace(step, passed=True)))
        broke = Choice(say("It broke"), partial(self.log, replace(step, passed=False)))
        self.strip.ask(question, (sheet, broke), pick_first=False)

    def _tell_harm(self, step: Logged, harm: str) -> None:
        log = Choice(say("It was used: log it"), partial(self.log, step, told=True))
        other = Choice(say("Another cleaner"), partial(self.ask_other, step.step))
        question = Tale(harm, say("Logged, it stays in the record, so that the finding on it stays too."))
        self.strip.ask(question, (other, log), pick_first=False)

    def _answer(self, step: Logged) -> str:
        name = step_name(step.step)
        if step.agent is not None:
            cleaner = agent_name(step.agent, self.session.tables.cleaners)
            words = say("{step} logged, with {cleaner}.", step=name, cleaner=cleaner)
        elif step.grit is not None:
            words = say("{step} logged, down to P{grit}.", step=name, grit=step.grit)
        elif step.passed is not None:
            words = say("Water test logged: one sheet.") if step.passed else say("Water test logged: it broke.")
        else:
            words = say("{step} logged.", step=name)
        return f"{words} {prepping.follows(self.session)}".strip()


def _tale(planned: PlannedStep) -> Tale:
    """Tell a planned step: its state in front where that is not plain, and after its cautions what they give way to."""
    words = planned.words
    if planned.state is Standing.NEXT:
        words = say("Next: {words}", words=_lower(words))
    elif planned.done_at is not None:
        words = say("Done at {time}. {words}", time=f"{planned.done_at.astimezone():%H:%M}", words=words)
    caution = " ".join((*planned.cautions, defers())) if planned.cautions else ""
    return Tale(words, planned.reason, caution)


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]
