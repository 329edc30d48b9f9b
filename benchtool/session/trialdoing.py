"""What is done to several strips of a trial at once, written as one act, and what stands in its way."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from benchtool.job import events as ev
from benchtool.job.events import Prep
from benchtool.job.state import LayerState
from benchtool.job.trialnumbers import StripNumber
from benchtool.job.trials import TrialState
from benchtool.rules.engine import every, grouped, in_the_way, rule_of, signed_by
from benchtool.rules.finding import Finding, Severity
from benchtool.session import prepping
from benchtool.session.session import Document, Draft, NotNow, Session
from benchtool.session.trialsteps import Kind, StripStep, is_stirring
from benchtool.session.trialwords import (
    ageing_sentence,
    ageing_title,
    lower,
    mixing,
    pressing,
    strips_words,
    taking_out,
    upper,
)
from benchtool.trade.grademethods import tape_window
from benchtool.trade.saying import say

MOST_REMEDIES = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupAct:
    """One act on several strips, undone by one undo.

    `title` stands on the button, `words` say what to do in a sentence, `done_words` what was done. `make` writes the
    events (NotNow where the strips have moved on), `find` gives the stops that stand in the way on any of the strips:
    a reason signs them all at once. `tell` says such stops in one breath: what is amiss, and what to do about it.
    """

    title: str
    words: str
    done_words: str
    strips: tuple[str, ...]
    make: Callable[[], tuple[Draft, ...]]
    find: Callable[[], tuple[Finding, ...]]
    tell: Callable[[Sequence[Finding]], tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Doing:
    """The acts on the strips of one trial of an open job."""

    session: Session
    document: Document
    trial: TrialState
    numbers: Mapping[str, StripNumber]

    def act(self, steps: Sequence[StripStep]) -> GroupAct | None:
        """Give the act that does the step of these strips, which is the same; None where it is not logged here."""
        made: dict[Kind, Callable[[Sequence[StripStep]], GroupAct]] = {
            Kind.FINISH: self._finish,
            Kind.COAT: self._coat,
            Kind.PREP: self._prep,
            Kind.SCUFF: self._prep,
            Kind.PRESS: self._press,
            Kind.TAKE_OUT: self._take_out,
            Kind.AGE: self._age,
        }
        if steps and is_stirring(steps[0]):
            return self._stir(steps)
        return made[steps[0].kind](steps) if steps and steps[0].kind in made else None

    def strips_of(self, steps: Sequence[StripStep]) -> str:
        """Name these strips."""
        return strips_words([self.numbers[s.strip] for s in steps])

    def layer_name(self, step: StripStep) -> str:
        """Name the layer that a step is about."""
        layer = self.document.state.layers.get(step.layer or "")
        return self.document.state.layer_name(layer) if layer is not None else ""

    def _act(
        self,
        steps: Sequence[StripStep],
        make: Callable[[], tuple[Draft, ...]],
        *,
        title: str,
        words: str,
        done: str,
    ) -> GroupAct:
        ids, kind = tuple(s.strip for s in steps), steps[0].kind

        def find() -> tuple[Finding, ...]:
            if kind is Kind.COAT:
                stops = raised(self.session, self.document, make())
                return grouped((*standing(self.session, self.document, ids), *stops))
            if kind in (Kind.PREP, Kind.SCUFF):
                stops = raised(self.session, self.document, make())
                return tuple(f for f in stops if f.severity is Severity.STOP)
            return ()  # what else is logged has happened, and its waits begin

        tell = partial(told, numbers=self.numbers)
        return GroupAct(title=title, words=words, done_words=done, strips=ids, make=make, find=find, tell=tell)

    def _layers(self, steps: Sequence[StripStep]) -> Iterator[tuple[StripStep, LayerState]]:
        for step in steps:
            layer = self.document.state.layers.get(step.layer or "")
            if layer is None:
                number = self.numbers[step.strip]
                raise NotNow(say("The plan of strip {number} has changed: look again.", number=number))
            yield step, layer

    # --- the cup, and spraying ---------------------------------------------------------------------

    def _stir(self, steps: Sequence[StripStep]) -> GroupAct:
        step, layer, strips = steps[0], self.layer_name(steps[0]), self.strips_of(steps)
        what = step.cup.stir if step.cup is not None else None
        if what is None or step.mix is None:
            raise ValueError(step.kind.value)
        stirred = partial(ev.MixStirred, mix=step.mix, what=what)
        return self._act(
            steps,
            lambda: (stirred,),
            title=say("It is stirred"),
            words=mixing(step, layer, strips, several=len(steps) > 1),
            done=say("{layer} is stirred.", layer=layer),
        )

    def _coat(self, steps: Sequence[StripStep]) -> GroupAct:
        layer = self.document.state.layers[steps[0].layer or ""]
        n, name, strips = len(layer.coats) + 1, self.layer_name(steps[0]), self.strips_of(steps)

        def make() -> tuple[Draft, ...]:
            shares: list[Draft] = []
            starts: list[Draft] = []
            for step, on in self._layers(steps):
                if on.open_coat is not None or len(on.coats) + 1 != n:
                    number = self.numbers[step.strip]
                    raise NotNow(say("Coat {n} of strip {number} was begun already.", n=n, number=number))
                if step.mix is not None and step.mix not in on.mixes:
                    shares.append(partial(ev.CupShared, mix=step.mix, layer=on.id))
                starts.append(partial(ev.CoatStarted, layer=on.id, mix=step.mix))
            return (*shares, *starts)

        return self._act(
            steps,
            make,
            title=say("Start coat {n} on {strips}", n=n, strips=strips),
            words=say("Spray coat {n} of {layer} on {strips}.", n=n, layer=name, strips=strips),
            done=say("Coat {n} on {strips} begun. Press Enter again when it is on.", n=n, strips=strips),
        )

    def _finish(self, steps: Sequence[StripStep]) -> GroupAct:
        layer = self.document.state.layers[steps[0].layer or ""]
        n, name, strips = len(layer.coats), self.layer_name(steps[0]), self.strips_of(steps)

        def make() -> tuple[Draft, ...]:
            layers = [on for _, on in self._layers(steps) if on.open_coat is not None]
            if not layers:
                raise NotNow(say("No coat is being sprayed on {strips}.", strips=strips))
            return tuple(partial(ev.CoatDone, layer=on.id) for on in layers)

        return self._act(
            steps,
            make,
            title=say("Coat {n} is on {strips}", n=n, strips=strips),
            words=say("Spraying coat {n} of {layer} on {strips}.", n=n, layer=name, strips=strips),
            done=say("Coat {n} done on {strips}. The waits count from now.", n=n, strips=strips),
        )

    # --- preparing ---------------------------------------------------------------------------------

    def _prep(self, steps: Sequence[StripStep], *, passed: bool = True) -> GroupAct:
        planned, strips = steps[0].planned, self.strips_of(steps)
        if planned is None or planned.step is None:
            raise ValueError(steps[0].kind.value)
        water = planned.step is Prep.WATER_BREAK
        title = say("{step} done on {strips}", step=planned.name, strips=strips)
        each = say("{strips}, each: {what}.", strips=upper(strips), what=lower(planned.brief))
        if water:
            held = say("The water stays in one sheet on {strips}", strips=strips)
            title = held if passed else say("The water breaks on {strips}", strips=strips)

        def make() -> tuple[Draft, ...]:
            logged = [prepping.draft_of(s.strip, s.planned) for s in steps if s.planned is not None]
            return tuple(partial(draft, passed=passed) if water else draft for draft in logged)

        return self._act(
            steps,
            make,
            title=title,
            words=each if len(steps) > 1 else say("{strips}: {what}.", strips=upper(strips), what=lower(planned.brief)),
            done=say("{what}: logged.", what=title),
        )

    def broke(self, steps: Sequence[StripStep]) -> GroupAct:
        """Give the other answer to a water-break test: the film broke."""
        return self._prep(steps, passed=False)

    # --- testing and ageing ------------------------------------------------------------------------

    def _press(self, steps: Sequence[StripStep]) -> GroupAct:
        method, trial = steps[0].method, self.trial
        if method is None:
            raise ValueError(steps[0].kind.value)
        _, most = tape_window(method, trial.plan.tape_stays)
        taken = steps[:1] if most is not None else steps  # what comes off within minutes goes strip after strip
        strips = self.strips_of(taken)

        def make() -> tuple[Draft, ...]:
            return tuple(partial(ev.TapePressed, trial=trial.id, strip=s.strip, method=method) for s in taken)

        return self._act(
            taken,
            make,
            title=say("Tape is on {strips}", strips=strips),
            words=pressing(trial.plan, method, self.strips_of(steps)),
            done=say("Tape is on {strips}: it counts from now.", strips=strips),
        )

    def _take_out(self, steps: Sequence[StripStep]) -> GroupAct:
        ageing, strips = steps[0].ageing, self.strips_of(steps)
        if ageing is None:
            raise ValueError(steps[0].kind.value)
        over = partial(ev.AgeingOver, trial=self.trial.id, strips=tuple(s.strip for s in steps), kind=ageing.kind)
        return self._act(
            steps,
            lambda: (over,),
            title=say("{strips} are out", strips=upper(strips)),
            words=taking_out(ageing.kind, strips),
            done=say("{strips} are out. The rest before the tests counts from now.", strips=upper(strips)),
        )

    def _age(self, steps: Sequence[StripStep]) -> GroupAct:
        ageing, trial, strips = steps[0].ageing, self.trial, self.strips_of(steps)
        if ageing is None:
            raise ValueError(steps[0].kind.value)
        ids, bent = tuple(s.strip for s in steps), ageing.lasts is None
        drafts: tuple[Draft, ...] = (partial(ev.AgeingBegun, trial=trial.id, strips=ids, ageing=ageing),)
        if bent:  # a bend takes no time: it is over as it is done
            drafts = (*drafts, partial(ev.AgeingOver, trial=trial.id, strips=ids, kind=ageing.kind))
        title = ageing_title(ageing, strips)
        return self._act(
            steps,
            lambda: drafts,
            title=title,
            words=ageing_sentence(ageing, strips),
            done=say("{what}: logged.", what=title) if bent else say("{what}: it counts from now.", what=title),
        )


# --- what stands in the way ------------------------------------------------------------------------------


def standing(session: Session, document: Document, strips: Sequence[str]) -> tuple[Finding, ...]:
    """Give the stops that stand now in the way of a coat on any of these strips."""
    found = document.findings(session.now(), session.tables)
    return tuple(f for strip in strips for f in in_the_way(found, strip))


def raised(session: Session, document: Document, drafts: tuple[Draft, ...]) -> tuple[Finding, ...]:
    """Give what an act would raise by a rule that is a stop."""
    begun = every(session.preview(*drafts, document=document))
    return grouped(f for f in begun if rule_of(f).severity is Severity.STOP and not f.waived)


def told(found: Sequence[Finding], *, numbers: Mapping[str, StripNumber]) -> tuple[str, str]:
    """Say stops in one breath, and what to do about them.

    One reason signs all of them, so each rule is said once, in the words of the first strip, for all that it speaks of.
    """
    rules: dict[str, list[Finding]] = {}
    for finding in {f.key: f for shown in found for f in signed_by(shown)}.values():
        rules.setdefault(finding.rule, []).append(finding)
    said = [say("Stop.")]
    for same in rules.values():
        strips = sorted({numbers[f.piece or ""] for f in same if (f.piece or "") in numbers})
        message = same[0].message
        named = say("{strips}: {message}", strips=upper(strips_words(strips)), message=message) if strips else message
        said.append(named)
    remedies = dict.fromkeys(same[0].remedy for same in rules.values())
    return " ".join(said), " ".join(list(remedies)[:MOST_REMEDIES])
