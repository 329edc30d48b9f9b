"""A made-up job in full work, large enough to measure by."""

import math
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.cards import (
    Activator,
    ArrheniusPacing,
    Card,
    CardTime,
    Carrier,
    Chemistry,
    DoublingPacing,
    Duty,
    EvaporationPacing,
    Gun,
    Reduction,
    recipe,
)
from benchtool.job.record import FORMAT, SCHEMA, Job
from benchtool.job.state import recipe_parts
from benchtool.trade.mixing import PartKind, amounts_mL
from benchtool.trade.substrates import Flex, Suits

PIECES = 20
MAKE_ML = 30.0


def _span(**length: float) -> timedelta:
    return timedelta(**length)


_AFTER: dict[str, Any] = {
    "origins": {"*": "made up for a measurement; common practice, no source"},
    "recoat_closes": _span(hours=24),
    "tape": _span(hours=24),
    "coats_least": 2,
    "film_um": 10,
}
_REDUCED = (Reduction(gun=Gun.AIRBRUSH, least="80 % of base", usual="1x base", most="120 % of base"),)
_ACTIVATED = (Activator(id="a", name="Activator", suits=Suits.ANY, share="25 % of base"),)

PROMOTER = Card(
    id="promoter", name="Promoter", duty=Duty.PROMOTER, two_part=True, activators=_ACTIVATED, reductions=_REDUCED,
    stand=_span(minutes=5), stand_reduced=_span(minutes=10), pot_life=_span(hours=9), flash=_span(minutes=15),
    recoat_opens=_span(minutes=30), chemistry=Chemistry.POLYOLEFIN, carrier=Carrier.SOLVENT, **_AFTER,
)  # fmt: skip
COLOUR = Card(
    id="colour", name="Colour", duty=Duty.BASE, reductions=_REDUCED, flash=_span(minutes=10),
    recoat_opens=_span(minutes=20), chemistry=Chemistry.LACQUER, carrier=Carrier.SOLVENT, **_AFTER,
)  # fmt: skip
CLEAR = Card(
    id="clear", name="Clear", duty=Duty.CLEAR, two_part=True, activators=_ACTIVATED, pot_life=_span(hours=3),
    flash=_span(minutes=15), recoat_opens=_span(minutes=30), chemistry=Chemistry.URETHANE, carrier=Carrier.SOLVENT,
    **_AFTER,
)  # fmt: skip


def _minutes(length: timedelta | None) -> float:
    return (length or timedelta(0)).total_seconds() / 60


class _Bench:
    """Collects what happens: minutes from the start, the kind of event, its fields."""

    def __init__(self) -> None:
        self.made: list[tuple[float, type, dict[str, Any]]] = []

    def say(self, at: float, kind: type, **fields: Any) -> None:
        self.made.append((at, kind, fields))

    def mix(self, at: float, layer: ev.Layer, card: Card) -> float:
        """Pour and stir a cup by its card; gives when it may be sprayed."""
        mix, last = f"m-{layer.id}", ev.Stirred.BASE
        parts = recipe(card, card.activator(layer.activator), layer.gun)
        begun = {"mix": mix, "layer": layer.id, "card": card.id, "gun": layer.gun, "activator": layer.activator}
        self.say(at, ev.Mixed, make_mL=MAKE_ML, parts=parts, **begun)
        for part, amount in zip(parts, amounts_mL(recipe_parts(parts), MAKE_ML), strict=True):
            if part.kind is PartKind.REDUCER and last is ev.Stirred.ACTIVATED:
                self.say(at + 1, ev.MixStirred, mix=mix, what=last)
                at += 2 + _minutes(card.stand)
            self.say(at, ev.Poured, mix=mix, part=part.name, mL=amount)
            kinds = {PartKind.BASE: ev.Stirred.BASE, PartKind.ACTIVATOR: ev.Stirred.ACTIVATED}
            last = kinds.get(part.kind, ev.Stirred.REDUCED)
        self.say(at + 1, ev.MixStirred, mix=mix, what=last)
        return at + 2 + _minutes(card.stand_reduced)

    def spray(self, at: float, layer: ev.Layer, card: Card) -> float:
        """Put all coats of a layer on and empty its cup; gives when the last coat was done."""
        for i in range(layer.coats):
            at += i * (1 + _minutes(card.flash))
            self.say(at, ev.CoatStarted, layer=layer.id, mix=f"m-{layer.id}")
            self.say(at + 0.5, ev.CoatDone, layer=layer.id)
        self.say(at + 0.5, ev.CupEmptied, mix=f"m-{layer.id}")
        return at + 0.5


def large_job(now: datetime, colours: int, events: int = 0) -> Job:
    """Make a job of 20 pieces at work at `now`, each with three running windows: recoat, tape and pot life.

    Every piece has its promoter and `colours` layers of colour on, and a cup of clear mixed. Readings are
    added up to the number of `events`.
    """
    bench = _Bench()
    for card in (PROMOTER, COLOUR, CLEAR):
        bench.say(-3, ev.CardCopied, card=card)
    for i in range(PIECES):
        p, at = f"p{i + 1}", 20 + i / 3
        piece = ev.Piece(id=p, name=f"Panel {i + 1}", substrate="aluminium", known=ev.Known.TOLD, flex=Flex.RIGID)
        bench.say(-2, ev.PieceAdded, piece=piece)
        for step in (ev.Prep.WASH, ev.Prep.DEGREASE, ev.Prep.ABRADE, ev.Prep.DEGREASE, ev.Prep.TACK):
            bench.say(i / 3 + 1, ev.PrepDone, piece=p, step=step)
        for number, card in enumerate([PROMOTER, *[COLOUR] * colours, CLEAR]):
            activator = "a" if card.two_part else None
            layer = ev.Layer(id=f"{p}-{number}", card=card.id, coats=2, activator=activator)
            bench.say(-1, ev.LayerAdded, piece=p, layer=layer)
            if card is CLEAR:
                bench.mix(at - 3, layer, card)
            else:
                at = bench.spray(bench.mix(at, layer, card), layer, card)
                at += 1 + _minutes(card.recoat_opens) * (number < colours)
    end = max(at for at, *_ in bench.made)
    missing = events - len(bench.made)
    for i in range(missing):
        bench.say(end * i / missing, ev.ReadingTaken, air_degC=21.0, humidity_percent=50.0)
    begun = now - timedelta(minutes=end + 1)
    made = enumerate(sorted(bench.made, key=lambda x: x[0]), 1)
    record = tuple(kind(id=f"e{n}", at=begun + timedelta(minutes=at), **fields) for n, (at, kind, fields) in made)
    return Job(format=FORMAT, schema=SCHEMA, id="large", created=begun - timedelta(hours=1), events=record)


FOLLOWING: dict[CardTime, Any] = {
    CardTime.EVERY: DoublingPacing(reference_degC=21, least_degC=5),
    CardTime.TAPE: EvaporationPacing(),
    CardTime.CURE: ArrheniusPacing(energy_kJ_mol=50, reference_degC=20),
}


def aired_job(now: datetime, number: int, readings: int, every: timedelta) -> Job:
    """Make a job of 10 pieces, each with a tape and a cure still running, under so many readings up to `now`.

    The air swings from day to night, so that no two readings are the same.
    """
    begun = now - readings * every
    card = replace(CLEAR, tape=3 * readings * every, cure=5 * readings * every, paces=FOLLOWING)
    made: list[tuple[datetime, type, dict[str, Any]]] = [(begun, ev.CardCopied, {"card": card})]
    for i in range(PIECES // 2):
        p, x, at = f"p{i}", f"l{i}", begun + i * 5 * every
        piece = ev.Piece(id=p, name=f"Panel {i + 1}", substrate="steel", known=ev.Known.TOLD, flex=Flex.RIGID)
        layer = ev.Layer(id=x, card=card.id, coats=1)
        made += [(at, ev.PieceAdded, {"piece": piece}), (at, ev.LayerAdded, {"piece": p, "layer": layer})]
        made += [(at, ev.CoatStarted, {"layer": x}), (at + _span(minutes=2), ev.CoatDone, {"layer": x})]
    made += [(begun + k * every, ev.ReadingTaken, air_of(k * every, number)) for k in range(readings)]
    stamped = enumerate(sorted(made, key=lambda x: x[0]), 1)
    record = tuple(kind(id=f"e{n}", at=at, **fields) for n, (at, kind, fields) in stamped)
    return Job(format=FORMAT, schema=SCHEMA, id=f"aired-{number}", created=begun, events=record)


def air_of(since: timedelta, number: int) -> dict[str, float]:
    """Give the air so long after the beginning: 10 to 24 degC, damp at night, each job a little warmer."""
    day = since / _span(days=1)
    swing = math.cos(2 * math.pi * day) + 0.05 * math.sin(200 * day)
    return {"air_degC": 17 + number + 7 * swing, "humidity_percent": 60 - 20 * swing}


def many_cards(count: int) -> Iterator[Card]:
    """Make so many cards that differ in name, maker, kind and times."""
    kinds = tuple(Chemistry)
    for i in range(count):
        like = (PROMOTER, COLOUR, CLEAR)[i % 3]
        yield replace(
            like,
            id=f"card-{i}",
            name=f"{like.name} number {i}",
            maker=f"Maker {i % 97}",
            chemistry=kinds[i % len(kinds)],
            flash=timedelta(minutes=1 + i % 40),
        )
