"""The cups of a plan: what is still to be done at the one that stands, and how many a layer needs for its coats."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from benchtool.job.cards import Card, CardTime, recipe
from benchtool.job.events import Stirred
from benchtool.job.nextstep import CupAct, CupStep, cup_step
from benchtool.job.shop import Shop
from benchtool.job.shophours import USUAL_MIN, Takes
from benchtool.job.state import LayerState, Mix, State
from benchtool.job.windows import pot_life_span, stand_span
from benchtool.plan.stepswaits import Bound, in_cup, longest_s, shortest_s
from benchtool.plan.work import Link, Task, Work
from benchtool.trade.mixing import NotAShare, PartKind
from benchtool.trade.windows import FOR_GOOD, Span

NextFit = Callable[[datetime, timedelta], datetime | None]
"""Gives when the shop is open for so long without a break, from an instant on; None for never."""


def open_always(at: datetime, _length: timedelta) -> datetime | None:
    """Be open at any time."""
    return at


def takes_s(shop: Shop, what: Takes) -> float:
    """Say how long (s) the hands take in this shop."""
    return 60 * shop.takes_min.get(what, USUAL_MIN[what])


@dataclass(frozen=True, slots=True, kw_only=True)
class CupPlan:
    """What a cup of one card asks for, in its order; each of `mix_s` and `reduce_s` is 0 where there is nothing to do.

    `stand` runs from the mixing to the reducing (to the first coat where there is none), `stand_reduced` from the
    reducing to the first coat. `life` counts from when the mixing begins. Of a cup that
    stands already, `standing` is its stand time and what follows, and `fixed_life` its pot life, as the watch has them.
    """

    mix_s: float
    reduce_s: float = 0.0
    stand: Bound | None = None
    stand_reduced: Bound | None = None
    life: Bound | None = None
    standing: tuple[Span, str] | None = None
    fixed_life: Span | None = None
    activated: bool = False

    def before_spraying_s(self, now: datetime) -> float:
        """Give how long (s) it takes at most until a fresh one can be sprayed."""
        return self.mix_s + self.reduce_s + self.stands_s(now)

    def stands_s(self, now: datetime) -> float:
        """Give how long (s) it stands at most, its stand times put together."""
        waits = [b for b in (self.stand, self.stand_reduced) if b is not None]
        return sum(longest_s(b.opens, now, constant=b.constant) for b in waits)


def fresh_cup(state: State, layer: LayerState, shop: Shop, now: datetime) -> CupPlan:
    """Say what a fresh cup for a layer asks for.

    Where the card lets the activated paint stand before it is reduced, half the minutes of mixing are for the base and
    activator and half for the reducer (judgement, no source).
    """
    card = state.card_of(layer)
    if card is None:
        return CupPlan(mix_s=takes_s(shop, Takes.MIX))
    return _cup(layer, card, *_has(card, layer), takes_s(shop, Takes.MIX), now)


def _cup(layer: LayerState, card: Card, activated: bool, reduced: bool, whole_s: float, now: datetime) -> CupPlan:
    twice = activated and reduced and card.stand is not None
    return CupPlan(
        mix_s=whole_s / 2 if twice else whole_s,
        reduce_s=whole_s / 2 if twice else 0.0,
        stand=_cup_time(layer, card, CardTime.STAND, now) if activated else None,
        stand_reduced=_cup_time(layer, card, CardTime.STAND_REDUCED, now) if reduced else None,
        life=_cup_time(layer, card, CardTime.POT_LIFE, now) if activated else None,
        activated=activated,
    )


def _has(card: Card, layer: LayerState) -> tuple[bool, bool]:
    plan = layer.plan
    try:
        parts = recipe(card, card.activator(plan.activator), plan.gun, plan.additives)
    except NotAShare:
        return plan.activator is not None, False
    kinds = {part.kind for part in parts}
    return PartKind.ACTIVATOR in kinds, PartKind.REDUCER in kinds


def _cup_time(layer: LayerState, card: Card, time: CardTime, now: datetime) -> Bound | None:
    wait = {
        CardTime.STAND: card.stand,
        CardTime.STAND_REDUCED: card.stand_reduced,
        CardTime.POT_LIFE: card.pot_life,
    }[time]
    if wait is None:
        return None
    ends = in_cup(layer, wait, card, time)
    known = layer.air.last() is not None or layer.air.at(now) is not None
    constant = not known or card.pacing(time) is None
    return Bound(closes=ends, constant=constant) if time is CardTime.POT_LIFE else Bound(ends, constant=constant)


def standing_cup(state: State, layer: LayerState, shop: Shop, now: datetime) -> CupPlan | None:
    """Say what the cup that stands for a layer still asks for; None where none stands, or it is past its pot life."""
    mix = state.mix_for(layer)
    card = mix.card or state.card_of(layer) if mix is not None else None
    if mix is None or card is None:
        return None
    life = pot_life_span(card, mix)
    if life is not None and life.closes_at is not None and life.closes_at <= now:
        return None
    has = mix.has(PartKind.ACTIVATOR), mix.has(PartKind.REDUCER)
    fresh = _cup(layer, card, *has, takes_s(shop, Takes.MIX), now)
    half_s = takes_s(shop, Takes.MIX) / 2
    step, stand = cup_step(card, mix, now), stand_span(card, mix)
    begun = CupPlan(mix_s=0.0, fixed_life=life, activated=has[0], standing=stand)
    if step.act is CupAct.READY or (layer.started and step.act is not CupAct.WAIT):
        return begun
    if mix.activated_at is None and fresh.life is not None:
        begun = replace(begun, life=fresh.life)
    if step.act is CupAct.WAIT:
        reduces = stand is not None and stand[1] == "reduce it"
        return replace(begun, reduce_s=half_s, stand_reduced=fresh.stand_reduced) if reduces else begun
    return _unfinished(begun, fresh, mix, step, card, half_s)


def _unfinished(begun: CupPlan, fresh: CupPlan, mix: Mix, step: CupStep, card: Card, half_s: float) -> CupPlan:
    """Say what is left to do at a cup that wants pouring, mending or stirring."""
    reducers = {p.name for p in mix.parts if p.kind is PartKind.REDUCER}
    late = step.part in reducers or step.stir is Stirred.REDUCED
    if late and (card.stand is None or Stirred.ACTIVATED in mix.stirred or mix.stood_from is not None):
        return replace(begun, reduce_s=half_s, stand_reduced=fresh.stand_reduced)
    twice = fresh.reduce_s > 0
    return replace(
        begun,
        mix_s=half_s if twice else 2 * half_s,
        reduce_s=fresh.reduce_s,
        standing=None,
        stand=fresh.stand,
        stand_reduced=fresh.stand_reduced,
    )


def coats_of_fresh(cup: CupPlan, flash: Bound, coat_s: float, coats: int, now: datetime) -> int:
    """Say how many of so many coats one fresh cup lasts for, by its pot life and the flash between them; 1 or more."""
    if cup.life is None:
        return coats
    life_s = shortest_s(cup.life.closes, now, constant=cup.life.constant)
    if life_s is None:
        return coats
    used_s = cup.before_spraying_s(now) + coat_s
    flash_s = longest_s(flash.opens, now, constant=flash.constant)
    count = 1
    while count < coats and used_s + flash_s + coat_s <= life_s:
        used_s, count = used_s + flash_s + coat_s, count + 1
    return count


def coats_of_standing(
    cup: CupPlan, opens_at: datetime, flash: Bound, coat_s: float, coats: int, now: datetime, fit: NextFit
) -> int:
    """Say how many of so many coats the cup that stands lasts for where nothing else is done; 0 for none.

    The first coat goes on at `opens_at` at the soonest, and in the hours of the shop.
    """
    if cup.fixed_life is None and cup.life is None:
        return coats
    begins = fit(now, timedelta(seconds=cup.mix_s)) or now
    closes = cup.fixed_life.closes_at if cup.fixed_life is not None else cup.life.closes(begins) if cup.life else None
    if closes is None:
        return coats
    at: datetime | None = _sprayable(cup, begins, now, fit)
    at, count, length = max(at, opens_at) if at is not None else None, 0, timedelta(seconds=coat_s)
    while count < coats and at is not None:
        at = fit(at, length)
        if at is None or at + length > closes:
            break
        count, at = count + 1, flash.opens(at + length)
    return count


def soonest_coated(tasks: Sequence[Task], links: Sequence[Link], now: datetime, fit: NextFit) -> datetime | None:
    """Give when the last coat of so much of a piece's work is on at the soonest, by itself; None for never."""
    ends: list[tuple[datetime, datetime]] = []
    for k, task in enumerate(tasks):
        at, length = task.began_at, timedelta(seconds=task.takes_s)
        if at is None:
            opens = ends[-1][1] if ends else now
            for link in links:
                if link.then == k:
                    base = link.since if link.first is None else ends[link.first][0 if link.from_start else 1]
                    opens = max(opens, link.opens(base or now))
            at = fit(opens, length) if opens < FOR_GOOD else None
        if at is None:
            return None
        ends.append((at, max(at + length, now)))
    return max((end for (_, end), task in zip(ends, tasks, strict=True) if task.work is Work.COAT), default=None)


def _sprayable(cup: CupPlan, begins: datetime, now: datetime, fit: NextFit) -> datetime | None:
    """Give when the cup that stands can be sprayed at the soonest."""
    at: datetime | None = begins + timedelta(seconds=cup.mix_s) if cup.mix_s else now
    if at is not None and cup.stand is not None:
        at = cup.stand.opens(at)
    if at is not None and cup.standing is not None:
        at = max(at, cup.standing[0].opens_at)
    if at is not None and cup.reduce_s:
        at = fit(at, timedelta(seconds=cup.reduce_s))
        at = at + timedelta(seconds=cup.reduce_s) if at is not None else None
    if at is not None and cup.stand_reduced is not None:
        at = cup.stand_reduced.opens(at)
    return at
