"""What the mix pane shows of a cup: the sums of the trade in a painter's words. Nothing here draws."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from functools import lru_cache

from benchtool.job.cards import Card, Hazard
from benchtool.job.nextstep import CupAct, CupStep, amount_for, out_of_ratio
from benchtool.job.shop import Shop
from benchtool.job.state import LayerState, Mix, State
from benchtool.rules.finding import Tables
from benchtool.session import acts
from benchtool.session.airtimes import times_in_air
from benchtool.session.owned import begun_cup, cup_for, left_mL, lot_words, money, no_room_words, prices_per_mL, shop_of
from benchtool.session.scaleview import mark, on_scale, plan_notes, pour_on_scale, volume_tools
from benchtool.session.session import Session
from benchtool.trade.cost import cost
from benchtool.trade.measuring import Measured, Measuring, Tool, ToolKind, measure
from benchtool.trade.mixing import NotAShare, Part, PartKind, amounts_mL, fractions
from benchtool.trade.numbers import clock_words, figure, shorten, span_words
from benchtool.trade.potlife import NotInTime, largest_mL
from benchtool.trade.units import VolumeUnit, volume_words
from benchtool.trade.vessel import Cup

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
    """A cup as the pane shows it.

    `part` is to be poured now, none where it is empty; `log_mL` is what Enter would log; `notes` are sentences
    with their tone.
    """

    parts: tuple[PartView, ...] = ()
    part: str = ""
    ask: str = ""
    big: str = ""
    how: str = ""
    log_mL: float = 0.0
    log_words: str = ""
    notes: tuple[tuple[str, str], ...] = ()
    cup: Cup | None = None
    over: bool = False
    cost: str = ""


@lru_cache(maxsize=64)
def measured(parts: tuple[Part, ...], make_mL: float, tools: tuple[Tool, ...]) -> Measuring:
    """Work out `measure` once for the same mix and tools: a pane asks every second."""
    return measure(parts, make_mL, tools)


# --- before the first pour ---------------------------------------------------------------------------


def plan_view(session: Session, layer: LayerState, make_mL: float) -> CupView:
    """Say what `make_mL` for this layer asks for.

    Raises:
        NotAShare: the card's shares are no mix, or the amount is none.
    """
    parts, shop = acts.recipe_of(session, layer), shop_of(session)
    wanted = amounts_mL(parts, make_mL)
    notes: list[tuple[str, str]] = []
    found = on_scale(parts, make_mL, shop, {}, notes) if shop.by_weight else None
    if found is not None:
        notes += plan_notes(parts, make_mL, found, shop)
        rows = [
            _row(p, w.g / p.grams_per_mL if w.g else 0.0, found.words(w.reading_g), f"adds {found.words(w.g)}")
            for p, w in zip(parts, found.parts, strict=True)
        ]
    elif shop.by_weight:
        rows = [_row(p, mL, volume_words(mL, shop.unit)) for p, mL in zip(parts, wanted, strict=True)]
    else:
        marks = measured(parts, make_mL, volume_tools(shop))
        notes += _measuring_notes(parts, marks)
        rows = []
        for part, want, m in zip(parts, wanted, marks.measured, strict=True):
            mL = m.mL if m.tool is not None else want
            rows.append(_row(part, mL, volume_words(mL, shop.unit), _tool_words(m)))
    total = sum(r.to_mL for r in rows)
    cup = cup_for(shop, total)
    if cup is None and shop.cups:
        notes.append((no_room_words(shop, total), "trouble"))
    notes += _time_notes(session, layer, make_mL, shop)
    cost = _cost_words(session, layer, [(r.name, r.to_mL) for r in rows], shop)
    return CupView(parts=tuple(rows), notes=tuple(notes), cup=cup, cost=cost)


def _tool_words(m: Measured) -> str:
    """Name the tool of a row; the mark it goes to is the amount beside it, unless it is filled more than once."""
    if m.tool is None:
        return ""
    return m.words if m.fills or m.tool.kind is ToolKind.DROPPER else m.tool.name


def _row(part: Part, mL: float, amount: str, how: str = "") -> PartView:
    share = part.share.words()
    return PartView(name=part.name, kind=part.kind, share=share, amount=amount, how=how, to_mL=mL)


def empty_view(session: Session, layer: LayerState) -> CupView:
    """Name the parts of this layer's mix where no amounts can be said."""
    try:
        parts = acts.recipe_of(session, layer)
    except NotAShare:  # a reducer measured by an activator that is not chosen yet, say
        return CupView()
    return CupView(parts=tuple(_row(p, 0.0, "") for p in parts))


def _measuring_notes(parts: Sequence[Part], found: Measuring) -> list[tuple[str, str]]:
    if not all(found.within):
        return [(found.words, "trouble")]
    pairs = [(abs(w), p) for w, p in zip(found.worst_percent, parts, strict=True) if w is not None]
    if not pairs:
        return []
    most, part = max(pairs, key=lambda pair: pair[0] / pair[1].allowed)
    guess = " A guess: that dropper is not calibrated." if any(m.guess for m in found.measured) else ""
    worst = f"At worst {shorten(part.name, 24)} is {figure(most, 2)} % off"
    return [(f"{worst}, {100 * part.allowed:.0f} % is allowed.{guess}", "quiet")]


def _time_notes(session: Session, layer: LayerState, make_mL: float, shop: Shop) -> list[tuple[str, str]]:
    document = session.current
    card = document.state.card_of(layer) if document is not None else None
    rate = shop.rate_mL_min.get(layer.plan.gun)
    if card is None or card.pot_life is None or rate is None:
        return []
    times, nothing = times_in_air(card, layer, session.now()), timedelta(0)
    if times.never:
        return [(times.never, "trouble")]
    try:
        most = largest_mL(
            pot_life_s=(times.pot_life or nothing).total_seconds(),
            stand_s=(times.stand or nothing).total_seconds(),
            rate_mL_min=rate,
            coats=max(1, layer.plan.coats - layer.coats_done),
            flash_s=(times.flash or nothing).total_seconds(),
        )
    except NotInTime as no:
        return [(str(no), "trouble")]
    if make_mL <= most:
        return []
    words = f"Only {volume_words(most, shop.unit)} can be sprayed before its pot life ends"
    words += f". {times.why}" if times.why else ", less where it is warm (C)."
    return [(words, "trouble")]


def _cost_words(session: Session, layer: LayerState, amounts: Sequence[tuple[str, float]], shop: Shop) -> str:
    prices = prices_per_mL(session, layer.plan.card)
    spent = cost((mL, prices.get(name)) for name, mL in amounts) if prices else None
    return money(spent, shop) if spent is not None else ""


# --- a cup that is being poured --------------------------------------------------------------------------


def cup_view(session: Session, state: State, layer: LayerState, mix: Mix, step: CupStep) -> CupView:
    """Say how the cup of this layer stands, and how the pour that `step` asks for is measured."""
    shop, card = shop_of(session), mix.card or state.card_of(layer)
    notes: list[tuple[str, str]] = []
    part_name, amount = (step.part, step.amount_mL) if step.act in (CupAct.POUR, CupAct.MEND) else ("", 0.0)
    mend = None
    if step.act is CupAct.MEND and card is not None:
        from benchtool.session.mending import mending  # what mends a cup is loaded when one was poured wrong

        mend = mending(session, mix, card, step)
    if mend is not None:
        part_name, amount = mend.part, mend.add_mL
        notes += mend.notes
    logged, big, how = _how(mix, part_name, amount, shop, notes) if part_name else (0.0, "", "")
    if mend is not None and not part_name:
        big, how = "Start afresh", "Empty this cup (E) and mix again."
    if part_name and card is not None:
        said = lot_words(session, card.id, part_name, shop.unit)
        left = left_mL(session, card.id).get(part_name)
        short = left is not None and left < logged
        if said and (short or mend is None):
            notes.append((f"It comes {said}{': not enough' if short else ''}.", "trouble" if short else "quiet"))
    rows = _cup_rows(mix, card, part_name, logged, shop, mending=mend is not None)
    if mend is None and part_name:
        notes = _pour_notes(mix, part_name, amount, shop) + notes
    full = sum(max(r.mL, r.to_mL) for r in rows)
    if mend is None and shop.cups and begun_cup(shop, mix.made.make_mL, full) is None:
        notes.insert(0, (no_room_words(shop, full), "trouble"))
    asks = f"Pour {part_name}" if part_name else step.words
    if mend is not None:
        asks = f"Out of ratio. To mend it, add {part_name}" if part_name else "Out of ratio: no way to mend it"
    return CupView(
        parts=rows,
        part=part_name,
        ask=asks,
        big=big,
        how=how,
        log_mL=logged,
        log_words=f"to {big}" if big.endswith(" g") else volume_words(logged, shop.unit),
        notes=tuple(notes),
        cup=begun_cup(shop, mix.made.make_mL, sum(max(r.mL, r.to_mL) for r in rows)),
        over=any(r.wrong for r in rows),
    )


def _cup_rows(
    mix: Mix, card: Card | None, part_name: str, logged: float, shop: Shop, *, mending: bool
) -> tuple[PartView, ...]:
    amiss = out_of_ratio(card, mix) if card is not None else set()
    # While it is mended the figures of the parts still to come are not settled: they are told by volume.
    found = on_scale(mix.parts, mix.made.make_mL, shop, mix.poured_mL, []) if shop.by_weight and not mending else None
    rows = []
    for i, (part, check) in enumerate(zip(mix.parts, mix.checks, strict=True)):
        have = check.poured_mL
        is_next = part.name == part_name
        to = (have or 0.0) + logged if is_next else have if have is not None else amount_for(mix, part.name)
        amount = volume_words(have if have is not None else to, shop.unit)
        if found is not None:
            amount = found.words(found.parts[i].reading_g)
        wrong = ""
        if part.name in amiss and check.off_percent is not None:
            wrong = _off_words(check.off_percent)
        row = _row(part, to, amount)
        rows.append(replace(row, wrong=wrong, mL=have or 0.0, poured=have is not None, is_next=is_next))
    return tuple(rows)


def _pour_notes(mix: Mix, name: str, amount_mL: float, shop: Shop) -> list[tuple[str, str]]:
    """Say how far off this pour may come out by its marks, and what follows where the base was stopped short."""
    notes: list[tuple[str, str]] = []
    tools = volume_tools(shop)
    if not mix.pours and tools and not shop.by_weight:
        notes += _measuring_notes(mix.parts, measured(mix.parts, mix.made.make_mL, tools))
    part = next(p for p in mix.parts if p.name == name)
    found = mark(part, amount_mL, tools) if mix.pours and not shop.by_weight else None
    if found is not None and amount_mL > 0:
        off = (abs(found.mL - amount_mL) + found.error_mL) / amount_mL
        tone = "trouble" if off > part.allowed else "quiet"
        notes.append((f"At worst {figure(100 * off, 2)} % off, {100 * part.allowed:.0f} % is allowed.", tone))
    base = [(p, f) for p, f in zip(mix.parts, fractions(mix.parts), strict=True) if p.kind is PartKind.BASE]
    short = sum(mix.poured_mL.get(p.name, 0.0) for p, _ in base) < 0.9 * sum(f * mix.made.make_mL for _, f in base)
    if short and all(p.name in mix.poured_mL for p, _ in base):
        notes.append(("Less base than asked: the rest follows it. Click its row to pour more.", "ink"))
    return notes


def _off_words(percent: float) -> str:
    if percent > 900:
        return f"{percent / 100 + 1:.0f} times too much"
    return f"{abs(percent):.0f} % {'over' if percent > 0 else 'under'}"


def _how(mix: Mix, name: str, amount_mL: float, shop: Shop, notes: list[tuple[str, str]]) -> tuple[float, str, str]:
    """Say what Enter logs (mL), what stands large, and with what it is measured."""
    part = next(p for p in mix.parts if p.name == name)
    if shop.by_weight:
        said = pour_on_scale(mix, part, amount_mL, shop, notes)
        if said is not None:
            return said
    tools = volume_tools(shop)
    if mix.pours or not tools:
        found = mark(part, amount_mL, tools)
    else:  # the first pour is that of the plan: all the others are measured by it
        first = measured(mix.parts, mix.made.make_mL, tools).measured[mix.parts.index(part)]
        found = first if first.tool is not None else None
    if found is None or found.tool is None:
        return amount_mL, volume_words(amount_mL, shop.unit), ""
    if abs(found.rounding_percent) > 100 * part.allowed and amount_mL > 0:
        nearest = f"Too little for your tools: {found.words} is the nearest."
        return amount_mL, volume_words(amount_mL, shop.unit), nearest
    guess = " (a guess: count its drops first)" if found.guess else ""
    return found.mL, volume_words(found.mL, shop.unit), f"{found.words}{guess}"


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
    words.append(f"reduce {reduction.usual}" if reduction is not None else f"unreduced for {layer.plan.gun.named}")
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
