"""How a cup that was poured wrong is mended: what to add first, and what else there is to do, in short."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from benchtool.job.cards import Card
from benchtool.job.nextstep import CupStep
from benchtool.job.shop import Shop
from benchtool.job.state import Mix
from benchtool.session.owned import begun_cup, left_mL, money, prices_per_mL, room_mL, shop_of
from benchtool.session.session import Session
from benchtool.trade.mixing import Part
from benchtool.trade.numbers import shorten
from benchtool.trade.rescue import Choices, Rescue, choices, exact
from benchtool.trade.units import volume_words

Note = tuple[str, str]
"""A sentence and its tone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mending:
    """What to add now: so much (mL) of this part; no part where only a fresh start is left."""

    part: str
    add_mL: float
    notes: tuple[Note, ...]


def mending(session: Session, mix: Mix, card: Card, step: CupStep) -> Mending:
    """Choose what to add first: all of it exact where that can be had, else what is enough."""
    shop, ways = shop_of(session), mend_ways(session, mix, card)
    left = left_mL(session, card.id)
    way = ways.exact or ways.enough
    part, add = _first(mix, way, step) if way is not None else ("", 0.0)
    notes = _notes(mix, part, ways, shop, _reason(mix, shop, left))
    return Mending(part=part, add_mL=add, notes=tuple(notes))


def mend_ways(session: Session, mix: Mix, card: Card) -> Choices:
    """Lay out the ways on from a wrong pour, with the cup and the cans that are in hand."""
    return choices(
        mix.parts,
        mix.poured_mL,
        mix.made.make_mL,
        room_mL=room_mL(shop_of(session)),
        left_mL=left_mL(session, card.id),
        price_per_mL=prices_per_mL(session, card.id),
    )


def _first(mix: Mix, way: Rescue, step: CupStep) -> tuple[str, float]:
    """The part to add next: the largest addition to what is in the cup, else to what is still to come."""
    pairs = [(p.name, add) for p, add in zip(mix.parts, way.add_mL, strict=True) if add > 0]
    poured = [pair for pair in pairs if pair[0] in mix.poured_mL]
    return max(poured or pairs, key=lambda pair: pair[1], default=(step.part, step.amount_mL))


def _reason(mix: Mix, shop: Shop, left: dict[str, float]) -> str:
    """Why all that would make it exact can't be had; empty where it can."""
    whole, room = exact(mix.parts, mix.poured_mL), room_mL(shop)
    for part, add in zip(mix.parts, whole.add_mL, strict=True):
        if add > left.get(part.name, math.inf) * (1 + 1e-9):
            return f"only {volume_words(left[part.name], shop.unit)} {part.name} is left, and it takes more"
    if room is not None and whole.total_mL > room * (1 + 1e-9):
        return f"it takes {volume_words(whole.total_mL, shop.unit)}, and the cup holds {volume_words(room, shop.unit)}"
    return ""


def _notes(mix: Mix, part: str, ways: Choices, shop: Shop, reason: str) -> list[Note]:
    unit, notes = shop.unit, []
    i = next((i for i, p in enumerate(mix.parts) if p.name == part), 0)
    larger = _larger_cup(mix, ways.exact or ways.enough, shop)
    if ways.exact is not None and ways.enough is not None:
        less = ways.enough.add_mL[i]
        if less < 0.95 * ways.exact.add_mL[i]:
            allowed = "" if larger else " to be within what is allowed"
            notes.append((f"{volume_words(less, unit)} is enough{allowed}.{larger}", "ink"))
        elif larger:
            notes.append((larger.strip(), "ink"))
    elif ways.enough is not None:
        notes.append((f"So much is within what is allowed. It can't be exact: {reason}.{larger}", "ink"))
    elif ways.best is not None:
        notes.append((f"It can't be mended: {reason}.{_closest(mix.parts, ways.best, shop)}", "trouble"))
    fresh = ", ".join(
        f"{volume_words(mL, unit)} {shorten(p.name, 24)}" for p, mL in zip(mix.parts, ways.restart_mL, strict=True)
    )
    cost = f", costs {money(ways.cost_restart, shop)}" if ways.cost_restart is not None else ""
    notes.append((f"Afresh: {fresh}; wastes {volume_words(ways.wasted_mL, unit)}{cost}.", "quiet"))
    return notes


def _larger_cup(mix: Mix, way: Rescue | None, shop: Shop) -> str:
    """Name the cup that the mended mix needs where it outgrows the one it was begun in."""
    if way is None:
        return ""
    before = begun_cup(shop, mix.made.make_mL, mix.total_mL)
    after = begun_cup(shop, mix.made.make_mL, way.total_mL)
    if before is None or after is None or after == before:
        return ""
    return f" Take a larger cup: {after.name}."


def _closest(parts: Sequence[Part], best: Rescue, shop: Shop) -> str:
    adds = [
        f"{volume_words(mL, shop.unit)} {shorten(p.name, 24)}"
        for p, mL in zip(parts, best.add_mL, strict=True)
        if mL > 0
    ]
    if not adds or not math.isfinite(best.worst_percent):
        return ""
    return f" {' and '.join(adds)} would bring it to {best.worst_percent:.0f} % off, no closer."


def _amounts(parts: Sequence[Part], amounts_mL: Sequence[float], shop: Shop) -> list[str]:
    pairs = zip(parts, amounts_mL, strict=True)
    return [f"{volume_words(mL, shop.unit)} {shorten(part.name, 24)}" for part, mL in pairs if mL > 0]
