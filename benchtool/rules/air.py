"""Air: dew on the surface, air that a card does not allow, and air that goes that way before a coat is dry."""

import math
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta

from benchtool.job.airhistory import air_read, odd_words
from benchtool.job.cards import AirRange, Card, CardTime, pace_model
from benchtool.job.state import LayerState
from benchtool.rules.airdamp import FAMILY as DAMP
from benchtool.rules.airnow import DEW, OLD, Reading, in_force, next_up, of_next_coat, readings_of
from benchtool.rules.finding import PRACTICE, SHEET, Cause, Facts, Family, Finding, Severity, cause, key
from benchtool.trade.air import MARGIN_K, Air, blush_words, dew_forecast, keeps_margin, margin_K
from benchtool.trade.numbers import clock_words, figure, span_words
from benchtool.trade.pace import pace_of_wait
from benchtool.trade.saying import say
from benchtool.trade.windows import FOR_GOOD

__all__ = ["FAMILY", "OLD", "TREND", "down"]

FAMILY = Family("air", list(DAMP.rules))

TREND = timedelta(hours=2)
"""Readings older than this say nothing of where the air goes now (judgement)."""

FARTHEST = timedelta(days=2)
"""No trend of an hour is carried farther than this (judgement)."""


def down(value: float) -> str:
    """Write how far a surface stands over or under the dew point: cut, so that too little never reads as enough."""
    return figure(math.copysign(math.floor(abs(value) * 100 + 1e-6) / 100, value))


def _margin_words(air: Air) -> str:
    margin = margin_K(air) or 0.0
    dew = f"{air.dew_point_degC:.1f}"
    if margin > 0:
        return say("only {margin} °C above the dew point of {dew} °C", margin=down(margin), dew=dew)
    if margin < 0:
        return say("{margin} °C below the dew point of {dew} °C", margin=down(-margin), dew=dew)
    return say("at the dew point of {dew} °C", dew=dew)


@FAMILY.rule(
    "dew-point",
    Severity.STOP,
    title="Surface too near the dew point",
    reason="Near the dew point water settles on the surface where no eye sees it; paint over it blisters and peels.",
    source=DEW,
    remedy="Warm the piece or dry the air, with no open flame, then measure again (R). Where a coat went on so, test "
    "it for adhesion, and look for blisters, before anything goes over it.",
)
def dew_point(facts: Facts) -> Iterator[Finding]:
    """The surface is less than 3 °C above the dew point, or was when a coat went on."""
    readings = readings_of(facts)
    now = in_force(readings, facts.now)
    if now is not None and _wet(now[1]):
        for piece, layer, _ in next_up(facts):
            yield of_next_coat(
                "air.dew-point",
                piece,
                layer,
                message=say(
                    "The surface is {where}: {least:g} °C (5 °F) is the least.",
                    where=_margin_words(now[1]),
                    least=MARGIN_K,
                ),
                remedy=say("Warm the piece or dry the air, then measure again (R). No open flame."),
                severity=Severity.STOP,
                forbids_coat=True,
            )
    yield from facts.settled("damp coats", lambda: list(_damp_coats(facts, readings)))


@FAMILY.rule(
    "near-dew",
    Severity.CAUTION,
    title="Air near its dew point, surface not measured",
    reason="Where the air itself is near its dew point, any piece that is a little colder than it is wet.",
    source=DEW,
    remedy="Measure the surface too (R): a piece colder than the air is wet.",
)
def near_dew(facts: Facts) -> Iterator[Finding]:
    """The air is less than 3 °C above its own dew point, and nobody measured the surface."""
    now = in_force(readings_of(facts), facts.now)
    if now is None or now[1].surface_degC is not None:
        return
    air = _as_warm_as_the_air(now[1])
    if not _wet(air):
        return
    for piece, layer, _ in next_up(facts):
        yield of_next_coat(
            "air.near-dew",
            piece,
            layer,
            message=say("The air is {where}, and the surface was not measured.", where=_margin_words(air)),
            remedy=say("Measure the surface too (R): a piece colder than the air is wet."),
        )


def _damp_coats(facts: Facts, readings: list[Reading]) -> Iterator[Finding]:
    for piece, layer in facts.layers():
        for coat in layer.coats:
            then = in_force(readings, coat.started_at)
            if then is None or not _wet(then[1]):
                continue
            yield Finding(
                rule="air.dew-point",
                severity=Severity.CAUTION,
                piece=piece.id,
                layer=layer.id,
                message=say(
                    "Coat {n} of {layer} went on while the surface was {where}.",
                    n=coat.number, layer=facts.state.layer_name(layer), where=_margin_words(then[1]),
                ),
                remedy=say("Test it for adhesion, and look for blisters, before anything goes over it."),
                key=key("air.dew-point", layer.id, coat.number),
                cause=cause(Cause.AIR, layer.id, coat.number),
            )  # fmt: skip


def _wet(air: Air) -> bool:
    margin = margin_K(air)
    return margin is not None and not keeps_margin(margin)


@FAMILY.rule(
    "range",
    Severity.CAUTION,
    title="Air outside what the card allows",
    reason="Outside the air that its sheet asks for a product may not dry, level or cure.",
    source=SHEET,
    remedy="Bring the shop into the range of the sheet, or wait for it.",
)
def out_of_range(facts: Facts) -> Iterator[Finding]:
    """The air is colder, warmer, drier or damper than the card of the next layer allows."""
    now = in_force(readings_of(facts), facts.now)
    if now is None:
        return
    for piece, layer, card in next_up(facts):
        said = _outside(card.air, now[1]) if card.air is not None else ""
        if said:
            yield of_next_coat(
                "air.range",
                piece,
                layer,
                message=say("{outside} is what the card of {card} asks for.", outside=said, card=card.name),
                remedy=say("Bring the shop into the range of the sheet, or wait for it."),
            )


def _outside(allowed: AirRange, air: Air) -> str:
    film = air.air_degC if air.surface_degC is None else air.surface_degC
    checks = (
        (allowed.least_degC, min(air.air_degC, film), -1, _too_cold),
        (allowed.most_degC, max(air.air_degC, film), 1, _too_warm),
        (allowed.least_percent, air.humidity_percent, -1, _too_dry),
        (allowed.most_percent, air.humidity_percent, 1, _too_damp),
    )
    for limit, value, way, words in checks:
        if limit is not None and (value - limit) * way > 1e-9:
            return words(figure(value), limit)
    return ""


def _too_cold(value: str, limit: float) -> str:
    return say("{value} °C is too cold: at least {limit:g} °C", value=value, limit=limit)


def _too_warm(value: str, limit: float) -> str:
    return say("{value} °C is too warm: at most {limit:g} °C", value=value, limit=limit)


def _too_dry(value: str, limit: float) -> str:
    return say("{value} % is too dry: at least {limit:g} %", value=value, limit=limit)


def _too_damp(value: str, limit: float) -> str:
    return say("{value} % is too damp: at most {limit:g} %", value=value, limit=limit)


@FAMILY.rule(
    "falling",
    Severity.CAUTION,
    title="Dew point reached before the coat is dry",
    reason="A coat that is still wet when the dew point reaches it blushes or lifts.",
    source=DEW,
    remedy="Keep the shop warm until it is dry, or spray when the air has turned.",
)
def falling(facts: Facts) -> Iterator[Finding]:
    """As the air goes or is expected, the surface comes to the dew point before the next coat would be dry."""
    readings = readings_of(facts)
    now = in_force(readings, facts.now)
    if now is None or _wet(now[1]):
        return
    comes = _comes_near(facts, readings)
    if comes is None:
        return
    how, near_at = comes
    for piece, layer, card in next_up(facts):
        dry_at = _dry_at(facts.now, layer, card)
        if near_at > dry_at:
            continue
        near = clock_words(max(0.0, (near_at - facts.now).total_seconds()))
        yield of_next_coat(
            "air.falling",
            piece,
            layer,
            message=say(
                "{how}, the surface is within {margin:g} °C of the dew point in {wait}, and a coat now {dries}.",
                how=how,
                margin=MARGIN_K,
                wait=near,
                dries=_dries(facts.now, dry_at),
            ),
            remedy=say("Keep the shop warm until it is dry, or spray when the air has turned."),
        )


def _dries(now: datetime, dry_at: datetime) -> str:
    if dry_at >= FOR_GOOD:
        return say("does not dry")
    return say("needs {time} to dry", time=span_words((dry_at - now).total_seconds()))


def _dry_at(now: datetime, layer: LayerState, card: Card) -> datetime:
    """When a coat of now would be dry, in the air as it is and is expected."""
    waits = ((card.flash, CardTime.FLASH), (card.recoat_opens, CardTime.RECOAT_OPENS))
    return max((layer.ends(now, wait, card, time) for wait, time in waits if wait is not None), default=now)


def _comes_near(facts: Facts, readings: list[Reading]) -> tuple[str, datetime] | None:
    """Say how and when the surface comes too near to the dew point; None where it does not, or already is.

    The trend of the last hour speaks until the first step that is expected; at a step the piece is as the colder of
    the air before and after.
    """
    expected = facts.settled("air expected", lambda: facts.state.air.expected)
    ahead, before = [step for step in expected if step[0] > facts.now], facts.state.air.at(facts.now)
    first, last = (bisect_right(readings, at, key=lambda r: r[0]) for at in (facts.now - TREND, facts.now))
    points = [((at - facts.now).total_seconds(), air) for at, air in readings[first:last]]
    far = min((FARTHEST, *(at - facts.now for at, _ in ahead[:1]))).total_seconds()
    begun = bool(points) and before != points[-1][1]  # an expected step came after the last reading
    trend = dew_forecast(_surface_of(points), far) if not begun else None
    if trend is not None and not trend.now and trend.change_K_h < 0:
        return say("As the air goes"), facts.now + timedelta(seconds=trend.at_s)
    if trend is not None and trend.now:
        return None
    steps = [(facts.now, before), *ahead] if begun and before is not None else ahead
    for at, then in steps:
        colder = then.air_degC if before is None else min(before.air_degC, then.air_degC)
        if not keeps_margin(colder - then.dew_point_degC):
            return say("As the air is expected"), at
        before = then
    return None


def _surface_of(points: list[tuple[float, Air]]) -> list[tuple[float, Air]]:
    """Without a measured surface the piece is taken to be as warm as the air: no warning comes too late by much."""
    return [(t, _as_warm_as_the_air(air)) for t, air in points]


def _as_warm_as_the_air(air: Air) -> Air:
    return air if air.surface_degC is not None else replace(air, surface_degC=air.air_degC)


@FAMILY.rule(
    "never-dries",
    Severity.CAUTION,
    title="Air in which the coat does not dry",
    reason="In air that is cold or damp enough a coat never opens for the next one, however long it is left.",
    source=SHEET,
    remedy="Warm or dry the air, then log a new reading (R).",
)
def never_dries(facts: Facts) -> Iterator[Finding]:
    """The wait after the next coat would not end in the air as it is and is expected."""
    for piece, layer, card in next_up(facts):
        time, wait = (CardTime.FLASH, card.flash) if card.flash else (CardTime.RECOAT_OPENS, card.recoat_opens)
        if wait is None or layer.ends(facts.now, wait, card, time) < FOR_GOOD:
            continue
        yield of_next_coat(
            "air.never-dries",
            piece,
            layer,
            message=say("{air} a coat of {card} does not dry.", air=_stopping(facts, card, time), card=card.name),
            remedy=say("Warm or dry the air, then log a new reading (R)."),
        )


def _stopping(facts: Facts, card: Card, time: CardTime) -> str:
    """Name the air in which nothing counts: that of now, else the last that is expected."""
    history, pacing = facts.state.air, card.pacing(time)
    now, last = history.at(facts.now), history.last()
    stops = now is not None and pacing is not None and pace_of_wait(pace_model(pacing), now) <= 0
    air = now if stops or last is None else last
    if air is None:
        return say("As the air is,")
    told = {"degC": figure(air.air_degC), "percent": figure(air.humidity_percent)}
    if air == now:
        return say("In this air ({degC} °C, {percent} %)", **told)
    return say("In the air that is expected ({degC} °C, {percent} %)", **told)


@FAMILY.rule(
    "blush",
    Severity.CAUTION,
    title="Fast solvent in damp air",
    reason="A fast solvent cools the film as it leaves; below the dew point water settles in it and turns it milky.",
    source=PRACTICE,
    remedy="Take a slower reducer that the card allows, or warm piece and shop without flame or spark.",
)
def blush(facts: Facts) -> Iterator[Finding]:
    """The next layer has a fast solvent and the air is damp enough for it to blush."""
    now = in_force(readings_of(facts), facts.now)
    if now is None:
        return
    for piece, layer, card in next_up(facts):
        said = blush_words(now[1], fast=True) if card.fast_solvent else ""
        if said:
            message, _, remedy = said.partition("; ")
            yield of_next_coat(
                "air.blush",
                piece,
                layer,
                message=f"{message}.",
                remedy=f"{remedy[:1].upper()}{remedy[1:]}",
            )


@FAMILY.rule(
    "old-reading",
    Severity.NOTE,
    title="Air last read hours ago",
    reason="A window that follows the air goes by the last reading, however the air has changed since.",
    source=PRACTICE,
    remedy="Take a new reading (R).",
)
def old_reading(facts: Facts) -> Iterator[Finding]:
    """The last reading is hours old, and a layer that follows the air is being worked on."""
    readings = readings_of(facts)
    if not readings or facts.now - readings[-1][0] <= OLD:
        return
    for piece, layer, card in next_up(facts):
        if card.paces or card.air is not None:
            ago = span_words((facts.now - readings[-1][0]).total_seconds())
            yield Finding(
                rule="air.old-reading",
                severity=Severity.NOTE,
                piece=piece.id,
                layer=layer.id,
                message=say("The last reading is {ago} old, and its times still go by it.", ago=ago),
                remedy=say("Take a new one (R)."),
                key=key("air.old-reading", layer.id),
            )


@FAMILY.rule(
    "odd-reading",
    Severity.NOTE,
    timed=False,
    title="Reading that no air can have",
    reason="What no air can be is a slip of the hand or a broken sensor, and a window that went by it would be wrong.",
    source="common practice, no source; what air can be: ASHRAE Handbook - Fundamentals, chapter 1",
    remedy="Read it again (R); where it comes from a sensor, look after that.",
)
def odd_reading(facts: Facts) -> Iterator[Finding]:
    """The newest reading is one that no air can be."""
    newest = facts.state.last_reading
    wrong = odd_words(newest) if newest is not None else ""
    if newest is None or not wrong:
        return
    good = any(then < newest.at for then, _ in readings_of(facts)[:1])
    instead = say("the last good one still holds") if good else say("there is no good one before it")
    if air_read(newest) is not None:
        instead = say("it is taken as the nearest that can be")
    whose = say(" from {source}", source=newest.source) if newest.source not in ("", "typed") else ""
    yield Finding(
        rule="air.odd-reading",
        severity=Severity.NOTE,
        message=say("The newest reading{whose} is none that air can have, so {instead}.", whose=whose, instead=instead),
        remedy=say("Read it again (R). {wrong}", wrong=wrong),
        key=key("air.odd-reading", newest.id),
    )
