"""Time in the cup: how long a mix must stand, and how long it may be used."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from functools import partial
from typing import NamedTuple

from benchtool.job.cards import Card, CardTime
from benchtool.job.events import Stirred
from benchtool.job.state import LayerState, Mix
from benchtool.job.windows import FOR_GOOD, pot_life_span, stand_span
from benchtool.rules.finding import SHEET, Cause, Facts, Family, Finding, Severity, cause, key, left
from benchtool.trade.mixing import PartKind
from benchtool.trade.numbers import span_words
from benchtool.trade.saying import say, say_n

FAMILY = Family("timing")


class _Cup(NamedTuple):
    """A cup at hand: the layer it is for, its card, it as it was first sprayed, and the stirring it lacks."""

    layer: LayerState
    card: Card
    cup: Mix
    first: Mix
    missing: Stirred | None


def _cups(facts: Facts) -> list[_Cup]:
    """Give the cups at hand, where no coat is being sprayed."""
    return facts.settled("cups at hand", lambda: list(_at_hand(facts)))


def _at_hand(facts: Facts) -> Iterator[_Cup]:
    for piece, layer, cup in facts.cups():
        card = cup.card
        if card is not None and layer is facts.next_layers()[piece.id] and layer.open_coat is None:
            first = _as_first_sprayed(facts, card, cup)
            yield _Cup(layer, card, cup, first, _unstirred(card, first))


@FAMILY.rule(
    "stand",
    Severity.STOP,
    title="Stand time not kept",
    reason="The activator needs its stand time to start the reaction; sprayed too soon, the film cures unevenly.",
    source=SHEET,
    remedy="Stir it, log that, cover the cup, and wait until it has stood. Where it was reduced or sprayed too soon, "
    "watch the layer, and test it for tack and adhesion before you go on.",
)
def stand(facts: Facts) -> Iterator[Finding]:
    """The cup has not stood long enough, or was reduced or sprayed before it had."""
    for layer, card, _, mix, missing in _cups(facts):
        running = stand_span(card, mix)
        if missing is not None and mix.pours:
            yield _stand_finding(
                Severity.STOP, layer, mix, missing,
                say(
                    "{card} must stand {time} after stirring, and no stirring is logged since the last pour.",
                    card=card.name, time=span_words(_wait(card, missing).total_seconds()),
                ),
                say("Stir it and log that; the stand time counts from there."),
                routine=not any(c.mix == mix.id for c in layer.coats),
            )  # fmt: skip
        elif running is not None and facts.now < running[0].opens_at:
            yield _stand_finding(
                Severity.STOP, layer, mix, _counted(card, mix),
                say(
                    "{card} must stand {time} before you {then}.",
                    card=card.name, time=_longer(running[0].opens_at, facts.now), then=running[1],
                ),
                say("Cover the cup and wait."),
                None if running[0].never else running[0].opens_at,
            )  # fmt: skip
        early = _reduced_early(card, mix)
        if early is not None:
            yield _stand_finding(
                Severity.CAUTION, layer, mix, Stirred.ACTIVATED,
                say("{card} was reduced {early} before its stand time was over.", card=card.name, early=early),
                say("Watch the first coat: if it stays tacky or uneven, mix fresh."),
            )  # fmt: skip
    yield from facts.settled("sprayed early", lambda: list(_sprayed_early(facts)))


def _as_first_sprayed(facts: Facts, card: Card, mix: Mix) -> Mix:
    """Leave out a stirring between two coats: where nothing was poured since, it starts no new stand time."""
    then = facts.settled("first sprayed", lambda: _first_sprayed(facts)).get(mix.id)
    if then is None:
        return mix
    return then if len(then.pours) == len(mix.pours) and _unstirred(card, then) is None else mix


def _first_sprayed(facts: Facts) -> dict[str, Mix]:
    """Give each cup that was sprayed from as it was at its first coat, by its id."""
    first: dict[str, tuple[tuple[datetime, int], Mix]] = {}
    for _, _, coat, mix in facts.sprayed():
        when = (coat.started_at, coat.place)
        if mix.id not in first or when < first[mix.id][0]:
            first[mix.id] = (when, mix)
    return {mix_id: mix for mix_id, (_, mix) in first.items()}


def _sprayed_early(facts: Facts) -> Iterator[Finding]:
    for _, layer, coat, mix in facts.sprayed():
        card = mix.card
        if card is None or (card.stand is None and card.stand_reduced is None):
            continue
        running = stand_span(card, mix)
        missing, early = _unstirred(card, mix), _reduced_early(card, mix)
        in_time = running is None or coat.started_at >= running[0].opens_at
        if missing is None and early is None and in_time:
            continue
        name = say("Coat {n} of {layer}", n=coat.number, layer=facts.state.layer_name(layer))
        remedy = say("Watch this layer: test it for tack and adhesion before you go on.")
        if missing is not None:
            message = say(
                "{coat} went on, and no stirring of its cup is logged: nobody knows how long it stood.", coat=name
            )
            yield _stand_finding(Severity.CAUTION, layer, mix, missing, message, remedy)
        elif running is not None and coat.started_at < running[0].opens_at:
            short = say("long") if running[0].never else left(running[0].opens_at, coat.started_at)
            message = say("{coat} went on {early} before its stand time was over.", coat=name, early=short)
            yield _stand_finding(Severity.CAUTION, layer, mix, _counted(card, mix), message, remedy)
        if early is not None:
            message = say(
                "{coat} went on from a cup that was reduced {early} before its stand time was over.",
                coat=name,
                early=early,
            )
            yield _stand_finding(Severity.CAUTION, layer, mix, Stirred.ACTIVATED, message, remedy)


def _longer(until: datetime, now: datetime) -> str:
    return say("{time} more", time=left(until, now)) if until < FOR_GOOD else left(until, now)


def _stand_finding(
    severity: Severity,
    layer: LayerState,
    mix: Mix,
    counted: Stirred,
    message: str,
    remedy: str,
    clears_at: datetime | None = None,
    *,
    routine: bool = False,
) -> Finding:
    return Finding(
        rule="timing.stand",
        severity=severity,
        piece=layer.piece,
        layer=layer.id,
        message=message,
        remedy=remedy,
        key=key("timing.stand", mix.id, layer.id, counted.value),
        clears_at=clears_at,
        forbids_coat=severity is Severity.STOP,
        routine=routine,
        cause=cause(Cause.CUP_TIME, mix.id, layer.id, "stand"),
    )


def _counted(card: Card, mix: Mix) -> Stirred:
    """From which stirring the stand time counts that runs now."""
    reduced = Stirred.REDUCED in mix.stirred and card.stand_reduced is not None
    return Stirred.REDUCED if reduced else Stirred.ACTIVATED


def _wait(card: Card, counted: Stirred) -> timedelta:
    wait = card.stand_reduced if counted is Stirred.REDUCED else card.stand
    return wait or timedelta(0)


def _unstirred(card: Card, mix: Mix) -> Stirred | None:
    """Which stirring is missing that a stand time should count from; None where none is.

    What is poured after a stirring, to mend or to top up, asks for another. A cup with no pour on record is
    taken as full.
    """
    kinds = {p.name: p.kind for p in mix.parts}
    in_cup = {kinds.get(name) for name, mL in mix.poured_mL.items() if mL > 0} if mix.pours else {*kinds.values()}
    if mix.has(PartKind.ACTIVATOR) and PartKind.ACTIVATOR not in in_cup:
        return None  # that it is not activated is a matter of its own
    reduced = mix.stirred.get(Stirred.REDUCED)
    if card.stand_reduced is not None and PartKind.REDUCER in in_cup:
        if reduced is None and (mix.pours or not mix.stirred):
            return Stirred.REDUCED
        if reduced is not None:
            return Stirred.REDUCED if any(p.at > reduced for p in mix.pours) else None
    if card.stand is None or PartKind.ACTIVATOR not in in_cup:
        return None
    stirs = [at for what, at in mix.stirred.items() if what is not Stirred.BASE]
    late = (p.at for p in mix.pours if kinds.get(p.part) is not PartKind.REDUCER)
    return Stirred.ACTIVATED if not stirs or any(at > max(stirs) for at in late) else None


def _reduced_early(card: Card, mix: Mix) -> str | None:
    """How long before the end of its first stand time the mix was reduced; None where it was not."""
    # Stirred only once, with the reducer in it already: it stood activated for no time at all.
    activated = mix.stirred.get(Stirred.ACTIVATED) or mix.stood_from
    reduced = mix.stirred.get(Stirred.REDUCED)
    if card.stand is None or activated is None or reduced is None:
        return None
    ends = mix.air.ends(activated, card.stand, card, CardTime.STAND)
    if not activated <= reduced < ends:
        return None
    return left(ends, reduced) if ends < FOR_GOOD else say("long")


@FAMILY.rule(
    "pot-life",
    Severity.STOP,
    title="Past its pot life",
    reason="Past its pot life a mix has begun to set: it sprays rough, bonds badly, and hardens in the gun.",
    source=SHEET,
    remedy="Empty the cup, clean the gun and mix fresh; plan a fresh cup for coats that this one won't last for. "
    "Where a coat went on too late, test it for adhesion before anything goes over it.",
)
def pot_life(facts: Facts) -> Iterator[Finding]:
    """The cup is past its pot life, too near it for the coats left, or was sprayed past it."""
    for layer, card, mix, first, missing in _cups(facts):
        span = facts.settled(f"pot life of {mix.id}", partial(pot_life_span, card, mix))
        if span is None or span.closes_at is None:
            continue
        if facts.now >= span.closes_at:
            over = span_words((facts.now - span.closes_at).total_seconds())
            yield Finding(
                rule="timing.pot-life",
                severity=Severity.STOP,
                piece=layer.piece,
                layer=layer.id,
                message=say("The pot life of this {card} ended {over} ago.", card=card.name, over=over),
                remedy=say("Empty the cup, clean the gun and mix fresh."),
                key=key("timing.pot-life", mix.id, layer.id, len(layer.coats) + 1),
                forbids_coat=True,
                cause=cause(Cause.CUP_TIME, mix.id, layer.id),
            )
            continue
        used = mix.id in facts.settled("first sprayed", lambda: _first_sprayed(facts))
        ready = _stood_at(card, first, missing, facts.now, used=used)
        said = _too_long(facts.now, layer, card, ready, span.closes_at)
        if said:
            yield Finding(
                rule="timing.pot-life",
                severity=Severity.CAUTION,
                piece=layer.piece,
                layer=layer.id,
                message=said,
                remedy=say("Plan a fresh cup for the last coats."),
                key=key("timing.pot-life-short", mix.id, layer.id),
                cause=cause(Cause.CUP_TIME, mix.id, layer.id),
            )
    yield from facts.settled("sprayed late", lambda: list(_sprayed_late(facts)))


def _too_long(now: datetime, layer: LayerState, card: Card, stood: datetime, ends: datetime) -> str:
    """Say what this cup will not live to see the end of; empty where it will."""
    flash, last = card.flash or timedelta(0), layer.last_done
    flashed = now
    if last is not None and last.done_at is not None:
        flashed = layer.ends(last.done_at, flash, card, CardTime.FLASH, last)
    coats = max(1, layer.plan.coats - layer.coats_done)
    over = max(now, flashed, stood)
    for _ in range(coats - 1):
        over = layer.ends(over, flash, card, CardTime.FLASH) if over < FOR_GOOD else over
    if over <= ends:
        return ""
    rest = left(ends, now)
    if stood <= now:
        return say_n(
            "The coat left and its flash take longer than the {left} this cup has left.",
            "The {n} coats left and their flash take longer than the {left} this cup has left.",
            coats, left=rest,
        )  # fmt: skip
    if coats == 1 and last is None:
        return say("The stand time takes longer than the {left} this cup has left.", left=rest)
    return say_n(
        "The stand time and the coat left and its flash take longer than the {left} this cup has left.",
        "The stand time and the {n} coats left and their flash take longer than the {left} this cup has left.",
        coats, left=rest,
    )  # fmt: skip


def _stood_at(card: Card, mix: Mix, missing: Stirred | None, now: datetime, *, used: bool) -> datetime:
    """When the mix may be sprayed at the earliest, with the stand times that run or are still to come.

    A cup that is `used` unreduced will not be reduced any more.
    """
    running = stand_span(card, mix) if mix.stirred else None
    ready = max(now, running[0].opens_at) if running is not None else now
    if missing is not None:
        time = CardTime.STAND_REDUCED if missing is Stirred.REDUCED else CardTime.STAND
        ready = max(ready, mix.air.ends(now, _wait(card, missing), card, time))
    to_reduce = Stirred.REDUCED not in mix.stirred and missing is not Stirred.REDUCED and mix.has(PartKind.REDUCER)
    if not to_reduce or used or card.stand_reduced is None or ready >= FOR_GOOD:
        return ready
    return mix.air.ends(ready, card.stand_reduced, card, CardTime.STAND_REDUCED)


def _sprayed_late(facts: Facts) -> Iterator[Finding]:
    for _, layer, coat, mix in facts.sprayed():
        card = mix.card
        span = pot_life_span(card, mix) if card is not None else None
        if span is None or span.closes_at is None or coat.started_at < span.closes_at:
            continue
        late = span_words((coat.started_at - span.closes_at).total_seconds())
        yield Finding(
            rule="timing.pot-life",
            severity=Severity.CAUTION,
            piece=layer.piece,
            layer=layer.id,
            message=say(
                "Coat {n} of {layer} was sprayed {late} past the pot life.",
                n=coat.number,
                layer=facts.state.layer_name(layer),
                late=late,
            ),
            remedy=say("Test it for adhesion before anything goes over it."),
            key=key("timing.pot-life", mix.id, layer.id, coat.number),
        )
