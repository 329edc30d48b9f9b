"""A painter who does what the list of a trial says, and nothing else, with a clock that jumps to what comes next."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Any

from builders import JobBuilder

from benchtool.job import events as ev
from benchtool.job.nextstep import CupAct, cup_step
from benchtool.rules.engine import signed_by
from benchtool.session import acts
from benchtool.session.session import Session
from benchtool.session.tables import load_tables
from benchtool.session.trialrun import Kind, NextAct, next_acts
from benchtool.store import jobfile
from benchtool.trade.grades import Method, scale
from benchtool.trade.quantities import Measures


def open_session(job: JobBuilder, clock: Any, folder: Path) -> Session:
    """Open a job that was built, at the moment at which it ends."""
    session = Session(clock, load_tables(), Measures())
    path = folder / "trial.json"
    jobfile.save(path, job.job)
    clock.at = job.now
    session.open(path)
    return session


@dataclass
class Painter:
    """Does the first act of the list, over and over; `spray` is how long a strip takes."""

    session: Session
    clock: Any
    trial: str = "t1"
    spray: timedelta = timedelta(seconds=20)
    log: list[tuple[datetime, Kind, tuple[int, ...], str]] = field(default_factory=list)
    waived: list[str] = field(default_factory=list)

    @property
    def document(self) -> Any:
        assert self.session.current is not None
        return self.session.current

    def acts(self, aside: frozenset[str] = frozenset()) -> tuple[NextAct, ...]:
        document = self.document
        return next_acts(self.session, document, document.state.trials[self.trial], self.clock.at, aside)

    def go(self, most: int = 1000) -> None:
        """Work until nothing is left."""
        for _ in range(most):
            found = self.acts()
            if not found:
                return
            self.do(found[0])
        raise AssertionError(f"still at it: {self.log[-3:]}")

    def do(self, act: NextAct) -> None:
        """Wait for it where it has to be waited for, then do it."""
        if act.waits(self.clock.at):
            assert not act.never
            self.clock.at = act.due_at
            return
        self.log.append((self.clock.at, act.kind, act.numbers, act.words))
        if act.act is not None:
            self.press(act)
        elif act.kind is Kind.MIX:
            self.mix(act)
        elif act.goes == "grade":
            self.grade(act)
        else:
            raise AssertionError(act.words)
        self.clock.at += timedelta(seconds=5)

    def press(self, act: NextAct) -> None:
        assert act.act is not None
        found = act.act.find()
        signed = [acts.waive(f, "A test strip.") for shown in found for f in signed_by(shown)]
        self.waived += [f.rule for shown in found for f in signed_by(shown)]
        self.session.apply(*signed, *act.act.make())
        if act.kind is Kind.COAT:
            self.clock.at += self.spray * len(act.strips)

    def mix(self, act: NextAct) -> None:
        """Do one thing at the cup of the first of the strips."""
        state = self.document.state
        layer = state.layers[act.layer]
        mix = state.mix_for(layer)
        mix = mix or next(
            (m for m in state.mixes.values() if m.emptied_at is None and m.made.card == layer.plan.card), None
        )
        if mix is None:
            self.session.apply(acts.begin_mix(self.session, layer, 30.0))
            return
        if "pot life" in act.words:
            self.session.apply(partial(ev.CupEmptied, mix=mix.id))
            return
        step = cup_step(mix.card or state.card_of(layer), mix, self.clock.at)
        if step.act is CupAct.POUR:
            self.clock.at += timedelta(seconds=20)
            self.session.apply(acts.pour(self.session, mix, step.part, step.amount_mL))
        elif step.act is CupAct.STIR:
            self.clock.at += timedelta(seconds=30)
            self.session.apply(partial(ev.MixStirred, mix=mix.id, what=step.stir))
        else:
            raise AssertionError(step)

    def grade(self, act: NextAct) -> None:
        """Grade all its strips, the first one on the list last of all."""
        trial = self.document.state.trials[self.trial]
        for strip in act.strips:
            method = trial.tape_on(strip).method if act.kind is Kind.PULL else self.next_method(strip)
            code = scale(method).steps[0].code
            self.session.apply(partial(ev.Graded, trial=self.trial, strip=strip, method=method, grade=code))

    def next_method(self, strip: str) -> Method:
        trial = self.document.state.trials[self.trial]
        aged = trial.aged(strip)
        return next(m for m in trial.plan.methods if trial.grade(strip, m, aged) is None)
