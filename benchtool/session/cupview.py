"""What the mix pane shows of a cup: the sums of the trade in a painter's words. Nothing here draws."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from benchtool.job.cards import Card, Hazard
from benchtool.job.nextstep import CupAct, CupStep, out_of_ratio
from benchtool.job.shop import Shop
from benchtool.job.state import LayerState, Mix, State
from benchtool.rules.finding import Tables
from benchtool.session import acts
from benchtool.session.amounts import grams_in
from benchtool.session.owned import cup_for, left_mL, lot_words, money, prices_per_mL, room_mL, scale_of, shop_of
from benchtool.session.session import Session
from benchtool.sheets.cup_sums import measure_one
from benchtool.trade.measuring import Measured, Measuring, NotATool, Tool, ToolKind, measure
from benchtool.trade.mixing import (
    MissingDensity,
    NotAShare,
    Part,
    PartKind,
    amounts_mL,
    fractions,
    size_in_cup,
)
from benchtool.trade.numbers import clock_words, figure, span_words
from benchtool.trade.potlife import NotInTime, largest_mL
from benchtool.trade.rescue import Choices, choices
from benchtool.trade.units import VolumeUnit, volume_words
from benchtool.trade.vessel import Cup
from benchtool.trade.weighing import Weighed, weigh

_SENTENCE = re.compile(r"(?<=\.) ")


@dataclass(frozen=True, slots=True, kw_only=True)
class PartView:
    """One part: `mL` is in the cup, `to_mL` shall be; `how` says with what it is measured and to where."""

    name: str
    kind: PartKind
    share: str
    amount: str
    how: str = ""
    wrong: str = ""
    mL: float = 0.0
    to_mL: float = 0.0
    poured: bool = False
    is_next: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CupView:
    """A cup as the pane shows it. `log_mL` is what Enter would log; `notes` are sentences with their tone."""

    parts: tuple[PartView, ...] = ()
    ask: str = ""
    big: str = ""
    how: str = ""
    log_mL: float = 0.0
    log_words: str = ""
    notes: tuple[tuple[str, str], ...] = ()
    cup: Cup | None = None
    over: bool = False
    cost: str = ""


def _volume_tools(shop: Shop) -> tuple[Tool, ...]:
    return tuple(t for t in shop.tools if t.kind is not ToolKind.SCALE)


@lru_cache(maxsize=64)
def measured(parts: tuple[Part, ...], make_mL: float, tools: tuple[Tool, ...]) -> Measuring:
    """Work out `measure` once for the same mix and tools: a pane asks every second."""
    return measure(parts, make_mL, tools)


@lru_cache(maxsize=64)
def _mark(part: Part, mL: float, tools: tuple[Tool, ...]) -> Measured | None:
    """How one pour is measured by itself."""
    return measure_one(part, mL, tools) if mL > 0 else None


# --- before the first pour ---------------------------------------------------------------------------


def plan_view(session: Session, layer: LayerState, make_mL: float) -> CupView:
    """Say what `make_mL` for this layer asks for.

    Raises:
        NotAShare: the card's shares are no mix, or the amount is none.
    """
    parts, shop = acts.recipe_of(session, layer), shop_of(session)
    wanted = amounts_mL(parts, make_mL)
    rows: list[PartView]
    notes: list[tuple[str, str]] = []
    if shop.by_weight:
        rows = _weighed_rows(parts, make_mL, shop, {}, notes)
    else:
        found = measured(parts, make_mL, _volume_tools(shop))
        rows = [
            PartView(
                name=p.name,
                kind=p.kind,
                share=p.share.words(),
                amount=volume_words(m.mL if m.tool is not None else want, shop.unit),
                how=m.words if m.tool is not None else "",
                to_mL=m.mL if m.tool is not None else want,
            )
            for p, want, m in zip(parts, wanted, found.measured, strict=True)
        ]
        notes += _measuring_notes(parts, found)
    total = sum(r.to_mL for r in rows)
    cup = cup_for(shop, total)
    if cup is None and shop.cups:
        notes.append((f"No cup of yours holds {volume_words(total, shop.unit)}: make less, or two cups.", "trouble"))
    notes += _time_notes(session, layer, make_mL, shop)
    cost = _cost_words(session, layer, [(r.name, r.to_mL) for r in rows], shop)
    return CupView(parts=tuple(rows), notes=tuple(notes), cup=cup, cost=cost)


def empty_view(session: Session, layer: LayerState) -> CupView:
    """Name the parts of this layer's mix where no amounts can be said."""
    try:
        parts = acts.recipe_of(session, layer)
    except NotAShare:  # a reducer measured by an activator that is not chosen yet, say
        return CupView()
    return CupView(parts=tuple(PartView(name=p.name, kind=p.kind, share=p.share.words(), amount="") for p in parts))


def _measuring_notes(parts: Sequence[Part], found: Measuring) -> list[tuple[str, str]]:
    if not all(found.within):
        return [(found.words, "trouble")]
    worst = [(abs(w), p) for w, p in zip(found.worst_percent, parts, strict=True) if w is not None]
    if not worst:
        return []
    most, part = max(worst, key=lambda pair: pair[0] / pair[1].allowed)
    guess = " A guess: that dropper is not calibrated." if any(m.guess for m in found.measured) else ""
    return [
        (f"At worst {part.name} is {figure(most, 2)} % off, {100 * part.allowed:.0f} % is allowed.{guess}", "quiet")
    ]


def _time_notes(session: Session, layer: LayerState, make_mL: float, shop: Shop) -> list[tuple[str, str]]:
    document = session.current
    card = document.state.card_of(layer) if document is not None else None
    rate = shop.rate_mL_min.get(layer.plan.gun)
    if card is None or card.pot_life is None or rate is None:
        return []
    try:
        most = largest_mL(
            pot_life_s=card.pot_life.total_seconds(),
            stand_s=sum(w.total_seconds() for w in (card.stand, card.stand_reduced) if w is not None),
            rate_mL_min=rate,
            coats=max(1, layer.plan.coats - layer.coats_done),
            flash_s=card.flash.total_seconds() if card.flash is not None else 0.0,
        )
    except NotInTime as no:
        return [(str(no), "trouble")]
    if make_mL <= most:
        return []
    words = f"Only {volume_words(most, shop.unit)} can be sprayed before its pot life ends. C splits it into cups."
    return [(words, "trouble")]


def _cost_words(session: Session, layer: LayerState, amounts: Sequence[tuple[str, float]], shop: Shop) -> str:
    prices = prices_per_mL(session, layer.plan.card)
    needed = [(name, mL) for name, mL in amounts if mL > 0]
    if not prices or any(name not in prices for name, _ in needed):
        return ""
    return money(sum(mL * prices[name] for name, mL in needed), shop)


# --- a cup that is being poured --------------------------------------------------------------------------


def cup_view(session: Session, state: State, layer: LayerState, mix: Mix, step: CupStep) -> CupView:
    """Say how the cup of this layer stands, and how the pour that `step` asks for is measured."""
    shop, card = shop_of(session), mix.card or state.card_of(layer)
    shares = fractions(mix.parts)
    in_cup = size_in_cup(shares, [mix.poured_mL.get(p.name) for p in mix.parts])
    size = max(mix.made.make_mL, in_cup)
    pouring = step.act in (CupAct.POUR, CupAct.MEND)
    ways = mend_ways(session, mix, card) if step.act is CupAct.MEND and card is not None else None
    amount = _amount(step, ways, mix)
    notes: list[tuple[str, str]] = []
    logged, big, how = _how(mix, step.part, amount, shop, notes) if pouring else (0.0, "", "")
    rows = []
    amiss = out_of_ratio(card, mix) if card is not None else set()
    for part, share, check in zip(mix.parts, shares, mix.checks, strict=True):
        have = check.poured_mL
        is_next = pouring and part.name == step.part
        to = (have or 0.0) + logged if is_next else have if have is not None else share * size
        wrong = ""
        if part.name in amiss and check.off_percent is not None:
            wrong = f"{abs(check.off_percent):.0f} % {'over' if check.off_percent > 0 else 'under'}"
        rows.append(
            PartView(
                name=part.name,
                kind=part.kind,
                share=part.share.words(),
                amount=volume_words(have if have is not None else to, shop.unit),
                wrong=wrong,
                mL=have or 0.0,
                to_mL=to,
                poured=have is not None,
                is_next=is_next,
            )
        )
    if pouring and card is not None:
        said = lot_words(session, card.id, step.part, shop.unit)
        left = left_mL(session, card.id).get(step.part)
        short = left is not None and left < logged
        if said and (short or ways is None):
            notes.append((f"It comes {said}{': not enough' if short else ''}.", "trouble" if short else "quiet"))
    if ways is not None:
        notes = _mend_notes(mix, step.part, ways, shop) + notes
    total = sum(max(r.mL, r.to_mL) for r in rows)
    mending = step.act is CupAct.MEND
    return CupView(
        parts=tuple(rows),
        ask=f"Out of ratio. To mend it, add {step.part}" if mending else f"Pour {step.part}" if pouring else step.words,
        big=big,
        how=how,
        log_mL=logged,
        log_words=f"to {big}" if big.endswith(" g") else volume_words(logged, shop.unit),
        notes=tuple(notes),
        cup=cup_for(shop, total),
        over=bool(amiss),
    )


def _mend_notes(mix: Mix, part: str, ways: Choices, shop: Shop) -> list[tuple[str, str]]:
    """Say in short what else there is to do; what is asked for stands large already."""
    i = next(i for i, p in enumerate(mix.parts) if p.name == part)
    unit, notes = shop.unit, []
    if ways.exact is not None and ways.enough is not None:
        less = ways.enough.add_mL[i]
        if less < 0.95 * ways.exact.add_mL[i]:
            notes.append((f"{volume_words(less, unit)} is enough to be within what is allowed.", "ink"))
    elif ways.enough is not None:
        notes.append(("All of it can't go in: so much is within what is allowed, not exact.", "ink"))
    elif ways.best is not None:
        held = room_mL(shop)
        room = f"the cup holds {volume_words(held, unit)}" if held is not None else "the cup or the can is too small"
        off = ways.best.worst_percent
        best = f" {off:.0f} % off is the best to be had." if math.isfinite(off) else ""
        notes.append((f"It can't be mended: {room}.{best}", "trouble"))
    fresh = " + ".join(volume_words(mL, unit) for mL in ways.restart_mL)
    cost = f", costs {money(ways.cost_restart, shop)}" if ways.cost_restart is not None else ""
    notes.append((f"Afresh: {fresh}; wastes {volume_words(ways.wasted_mL, unit)}{cost}.", "quiet"))
    return notes


def mend_ways(session: Session, mix: Mix, card: Card) -> Choices:
    """Lay out the ways on from a wrong pour, with the cup and the cans that are in hand."""
    shop = shop_of(session)
    held = room_mL(shop)
    return choices(
        mix.parts,
        mix.poured_mL,
        mix.made.make_mL,
        room_mL=held if held is not None and held > mix.total_mL else None,
        left_mL=left_mL(session, card.id),
        price_per_mL=prices_per_mL(session, card.id),
    )


def _amount(step: CupStep, ways: Choices | None, mix: Mix) -> float:
    """What to add now: all of it exact where that can be had, else what is enough, else the least bad."""
    way = (ways.exact or ways.enough or ways.best) if ways is not None else None
    if way is None:
        return step.amount_mL
    i = next(i for i, p in enumerate(mix.parts) if p.name == step.part)
    return way.add_mL[i]


def _how(mix: Mix, name: str, amount_mL: float, shop: Shop, notes: list[tuple[str, str]]) -> tuple[float, str, str]:
    """Say what Enter logs (mL), what stands large, and with what it is measured."""
    part = next(p for p in mix.parts if p.name == name)
    if shop.by_weight:
        said = _on_the_scale(mix, part, amount_mL, shop, notes)
        if said is not None:
            return said
    tools = _volume_tools(shop)
    if mix.pours or not tools:
        found = _mark(part, amount_mL, tools)
    else:  # the first pour is that of the plan: all the others are measured by it
        first = measured(mix.parts, mix.made.make_mL, tools).measured[mix.parts.index(part)]
        found = first if first.tool is not None else None
    if found is None or found.tool is None:
        return amount_mL, volume_words(amount_mL, shop.unit), ""
    if abs(found.rounding_percent) > 100 * part.allowed and amount_mL > 0:
        return (
            amount_mL,
            volume_words(amount_mL, shop.unit),
            f"Too little for your tools: {found.words} is the nearest.",
        )
    guess = " (a guess: count its drops first)" if found.guess else ""
    return found.mL, volume_words(found.mL, shop.unit), f"{found.words}{guess}"


def _on_the_scale(
    mix: Mix, part: Part, amount_mL: float, shop: Shop, notes: list[tuple[str, str]]
) -> tuple[float, str, str] | None:
    scale = scale_of(shop)
    if scale is None:
        notes.append(("You own no scale: add one in the shop (O).", "trouble"))
        return None
    try:
        shown, density = grams_in(mix), part.grams_per_mL
    except MissingDensity as missing:
        notes.append((str(missing), "trouble"))
        return None
    places = _places(scale.step)
    target = round((shown + amount_mL * density) / scale.step) * scale.step
    if target > scale.capacity:
        notes.append((f"The scale ends at {figure(scale.capacity, 4)} g: tare it again before this pour.", "trouble"))
    add = max(0.0, target - shown)
    off = abs(add / density / amount_mL - 1) if amount_mL > 0 else 0.0
    if off > part.allowed:
        notes.append((f"{scale.name} is too coarse: {100 * off:.0f} % off. A syringe does better (W).", "trouble"))
    how = f"{add:.{places}f} g more: do not tare again" if mix.pours else "Tare the empty cup first, then pour"
    return add / density, f"{target:.{places}f} g", how


def _places(step: float) -> int:
    return next((n for n in range(5) if abs(round(step, n) - step) < 1e-9), 4)


def _weighed_rows(
    parts: Sequence[Part], make_mL: float, shop: Shop, poured_g: dict[str, float], notes: list[tuple[str, str]]
) -> list[PartView]:
    scale = scale_of(shop)
    found: Sequence[Weighed] = ()
    if scale is None:
        notes.append(("You own no scale: add one in the shop (O).", "trouble"))
    else:
        try:
            found = weigh(parts, make_mL, scale, poured_g)
        except (MissingDensity, NotATool) as no:
            notes.append((str(no), "trouble"))
    wanted = amounts_mL(parts, make_mL)
    if not found or scale is None:
        return [
            PartView(name=p.name, kind=p.kind, share=p.share.words(), amount=volume_words(mL, shop.unit), to_mL=mL)
            for p, mL in zip(parts, wanted, strict=True)
        ]
    places = _places(scale.step)
    off = [(abs(w.off_percent), p) for w, p in zip(found, parts, strict=True) if w.off_percent is not None]
    if off:
        most, part = max(off, key=lambda pair: pair[0] / pair[1].allowed)
        said = f"The steps of {scale.name} put {part.name} {figure(most, 2)} % off."
        if most > 100 * part.allowed:
            least = measured(tuple(parts), make_mL, (scale,)).smallest_mL
            more = f" Make {volume_words(least, shop.unit)} or more." if least is not None else " It is too coarse."
            notes.append((said + more, "trouble"))
        else:
            notes.append((said, "quiet"))
    return [
        PartView(
            name=p.name,
            kind=p.kind,
            share=p.share.words(),
            amount=f"{w.reading_g:.{places}f} g",
            how=f"adds {w.g:.{places}f} g",
            to_mL=w.g / p.grams_per_mL,
        )
        for p, w in zip(parts, found, strict=True)
    ]


# --- sentences over the cup -------------------------------------------------------------------------------


def caution_words(tables: Tables, hazards: Sequence[Hazard]) -> str:
    """Say the cautions for these hazards; the sentence that all of them end with is said once."""
    said = [sentence for h in hazards for sentence in _SENTENCE.split(tables.cautions.get(h, "")) if sentence]
    last = {sentence: place for place, sentence in enumerate(said)}
    return " ".join(sentence for place, sentence in enumerate(said) if last[sentence] == place)


def ratio_words(card: Card, layer: LayerState) -> str:
    """Say the ratio of a layer and its waits as one sentence."""
    words = []
    activator = card.activator(layer.plan.activator)
    if activator is not None:
        words.append(f"{activator.share} {activator.name.lower()}")
    elif card.two_part:
        words.append("choose its activator")
    if card.stand is not None:
        words.append(f"stand {span_words(card.stand.total_seconds())}")
    reduction = card.reduction(layer.plan.gun)
    words.append(f"reduce {reduction.usual}" if reduction is not None else f"unreduced for a {layer.plan.gun.value}")
    if card.stand_reduced is not None:
        words.append(f"stand {span_words(card.stand_reduced.total_seconds())}")
    said = ", then ".join(words)
    return f"{said[:1].upper()}{said[1:]}."


def held_words(mix: Mix, left: float | None, unit: VolumeUnit) -> str:
    """Say what is in a cup and how long it can be used yet (`left`, s; None for ever)."""
    held = f"{volume_words(mix.total_mL, unit)} in the cup" if mix.pours else "The cup is empty"
    if left is None:
        return f"{held}."
    if left <= 0:
        return f"{held}. Pot life over: do not spray it."
    return f"{held}. Pot life {clock_words(left, up=False)} left."
