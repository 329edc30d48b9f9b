"""Air: dew on the surface, air that a card does not allow, and air that goes that way before a coat is dry."""

import math
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta

from benchtool.job.airhistory import air_read, odd_words
from benchtool.job.cards import AirRange, Card, CardTime, pace_model
from benchtool.job.state import LayerState, PieceState
from benchtool.rules.finding import PRACTICE, SHEET, Facts, Family, Finding, Severity, key
from benchtool.trade.air import MARGIN_K, Air, blush_words, dew_forecast, keeps_margin, margin_K
from benchtool.trade.numbers import clock_words, figure, span_words
from benchtool.trade.pace import pace_of_wait
from benchtool.trade.windows import FOR_GOOD

FAMILY = Family("air")

OLD = timedelta(hours=4)
"""Readings are usually taken about every four hours while paint goes on or dries (practice beside ISO 8502-4)."""

TREND = timedelta(hours=2)
"""Readings older than this say nothing of where the air goes now (judgement)."""

FARTHEST = timedelta(days=2)
"""No trend of an hour is carried farther than this (judgement)."""

_DEW = "ISO 8502-4 (3 °C above the dew point; the US rule, MIL-HDBK-1110, asks for 5 °F)"
KNOWN = timedelta(days=2)
"""So far back from the newest reading the rules look: well over the hours of `OLD` and `TREND`."""

_Read = tuple[datetime, Air]


def _readings(facts: Facts) -> list[_Read]:
    """The readings of the last days that air can be, in the order of time: no rule looks farther back."""
    return facts.settled("air readings", lambda: facts.state.air.newest_readings(KNOWN))


def _at(readings: list[_Read], now: datetime) -> _Read | None:
    """The reading in force at `now`, None where the last is too old to speak for it."""
    i = bisect_right(readings, now, key=lambda reading: reading[0])
    return readings[i - 1] if i and now - readings[i - 1][0] <= OLD else None


def _next(facts: Facts) -> Iterator[tuple[PieceState, LayerState, Card]]:
    """Every layer that is sprayed next, with its card; one that is being sprayed now is past asking."""
    for piece_id, layer in facts.next_layers().items():
        card = facts.state.card_of(layer) if layer is not None else None
        if layer is not None and card is not None and layer.open_coat is None:
            yield facts.state.pieces[piece_id], layer, card


def down(value: float) -> str:
    """Write how far a surface stands over or under the dew point: cut, so that too little never reads as enough."""
    return figure(math.copysign(math.floor(abs(value) * 100 + 1e-6) / 100, value))


def _of_next_coat(
    rule: str,
    piece: PieceState,
    layer: LayerState,
    *,
    message: str,
    remedy: str,
    severity: Severity = Severity.CAUTION,
    forbids_coat: bool = False,
) -> Finding:
    """What a rule on the air says of the next coat of `layer`: the same matter once that coat is begun."""
    return Finding(
        rule=rule,
        severity=severity,
        piece=piece.id,
        layer=layer.id,
        message=message,
        remedy=remedy,
        key=key(rule, layer.id, len(layer.coats) + 1),
        forbids_coat=forbids_coat,
    )


def _margin_words(air: Air) -> str:
    margin = margin_K(air) or 0.0
    above = f"only {down(margin)} °C above" if margin > 0 else f"{down(-margin)} °C below" if margin else "at"
    return f"{above} the dew point of {air.dew_point_degC:.1f} °C"


@FAMILY.rule(
    "dew-point",
    Severity.STOP,
    reason="Near the dew point water settles on the surface where no eye sees it; paint over it blisters and peels.",
    source=_DEW,
)
def dew_point(facts: Facts) -> Iterator[Finding]:
    """The surface is less than 3 °C above the dew point, or was when a coat went on."""
    readings = _readings(facts)
    now = _at(readings, facts.now)
    if now is not None and _wet(now[1]):
        for piece, layer, _ in _next(facts):
            yield _of_next_coat(
                "air.dew-point",
                piece,
                layer,
                message=f"The surface is {_margin_words(now[1])}: {MARGIN_K:g} °C (5 °F) is the least.",
                remedy="Warm the piece or dry the air, then measure again (R). No open flame.",
                severity=Severity.STOP,
                forbids_coat=True,
            )
    yield from facts.settled("damp coats", lambda: list(_damp_coats(facts, readings)))


@FAMILY.rule(
    "near-dew",
    Severity.CAUTION,
    reason="Where the air itself is near its dew point, any piece that is a little colder than it is wet.",
    source=_DEW,
)
def near_dew(facts: Facts) -> Iterator[Finding]:
    """The air is less than 3 °C above its own dew point, and nobody measured the surface."""
    now = _at(_readings(facts), facts.now)
    if now is None or now[1].surface_degC is not None:
        return
    air = _as_warm_as_the_air(now[1])
    if not _wet(air):
        return
    for piece, layer, _ in _next(facts):
        yield _of_next_coat(
            "air.near-dew",
            piece,
            layer,
            message=f"The air is {_margin_words(air)}, and the surface was not measured.",
            remedy="Measure the surface too (R): a piece colder than the air is wet.",
        )


def _damp_coats(facts: Facts, readings: list[_Read]) -> Iterator[Finding]:
    for piece, layer in facts.layers():
        for coat in layer.coats:
            then = _at(readings, coat.started_at)
            if then is None or not _wet(then[1]):
                continue
            name = f"Coat {coat.number} of {facts.state.layer_name(layer)}"
            yield Finding(
                rule="air.dew-point",
                severity=Severity.CAUTION,
                piece=piece.id,
                layer=layer.id,
                message=f"{name} went on while the surface was {_margin_words(then[1])}.",
                remedy="Test it for adhesion, and look for blisters, before anything goes over it.",
                key=key("air.dew-point", layer.id, coat.number),
            )


def _wet(air: Air) -> bool:
    margin = margin_K(air)
    return margin is not None and not keeps_margin(margin)


@FAMILY.rule(
    "range",
    Severity.CAUTION,
    reason="Outside the air that its sheet asks for a product may not dry, level or cure.",
    source=SHEET,
)
def out_of_range(facts: Facts) -> Iterator[Finding]:
    """The air is colder, warmer, drier or damper than the card of the next layer allows."""
    now = _at(_readings(facts), facts.now)
    if now is None:
        return
    for piece, layer, card in _next(facts):
        said = _outside(card.air, now[1]) if card.air is not None else ""
        if said:
            yield _of_next_coat(
                "air.range",
                piece,
                layer,
                message=f"{said} is what the card of {card.name} asks for.",
                remedy="Bring the shop into the range of the sheet, or wait for it.",
            )


def _outside(allowed: AirRange, air: Air) -> str:
    film = air.air_degC if air.surface_degC is None else air.surface_degC
    checks = (
        (allowed.least_degC, min(air.air_degC, film), -1, "°C", "too cold", "at least"),
        (allowed.most_degC, max(air.air_degC, film), 1, "°C", "too warm", "at most"),
        (allowed.least_percent, air.humidity_percent, -1, "%", "too dry", "at least"),
        (allowed.most_percent, air.humidity_percent, 1, "%", "too damp", "at most"),
    )
    for limit, value, way, unit, words, bound in checks:
        if limit is not None and (value - limit) * way > 1e-9:
            return f"{figure(value)} {unit} is {words}: {bound} {limit:g} {unit}"
    return ""


@FAMILY.rule(
    "falling",
    Severity.CAUTION,
    reason="A coat that is still wet when the dew point reaches it blushes or lifts.",
    source=_DEW,
)
def falling(facts: Facts) -> Iterator[Finding]:
    """As the air goes or is expected, the surface comes to the dew point before the next coat would be dry."""
    readings = _readings(facts)
    now = _at(readings, facts.now)
    if now is None or _wet(now[1]):
        return
    comes = _comes_near(facts, readings)
    if comes is None:
        return
    how, near_at = comes
    for piece, layer, card in _next(facts):
        dry_at = _dry_at(facts.now, layer, card)
        if near_at > dry_at:
            continue
        dries = (
            f"needs {span_words((dry_at - facts.now).total_seconds())} to dry" if dry_at < FOR_GOOD else "does not dry"
        )
        yield _of_next_coat(
            "air.falling",
            piece,
            layer,
            message=f"{how}, the surface is within {MARGIN_K:g} °C of the dew point in "
            f"{clock_words(max(0.0, (near_at - facts.now).total_seconds()))}, and a coat now {dries}.",
            remedy="Keep the shop warm until it is dry, or spray when the air has turned.",
        )


def _dry_at(now: datetime, layer: LayerState, card: Card) -> datetime:
    """When a coat of now would be dry, in the air as it is and is expected."""
    waits = ((card.flash, CardTime.FLASH), (card.recoat_opens, CardTime.RECOAT_OPENS))
    return max((layer.ends(now, wait, card, time) for wait, time in waits if wait is not None), default=now)


def _comes_near(facts: Facts, readings: list[_Read]) -> tuple[str, datetime] | None:
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
        return "As the air goes", facts.now + timedelta(seconds=trend.at_s)
    if trend is not None and trend.now:
        return None
    steps = [(facts.now, before), *ahead] if begun and before is not None else ahead
    for at, then in steps:
        colder = then.air_degC if before is None else min(before.air_degC, then.air_degC)
        if not keeps_margin(colder - then.dew_point_degC):
            return "As the air is expected", at
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
    reason="In air that is cold or damp enough a coat never opens for the next one, however long it is left.",
    source=SHEET,
)
def never_dries(facts: Facts) -> Iterator[Finding]:
    """The wait after the next coat would not end in the air as it is and is expected."""
    for piece, layer, card in _next(facts):
        time, wait = (CardTime.FLASH, card.flash) if card.flash else (CardTime.RECOAT_OPENS, card.recoat_opens)
        if wait is None or layer.ends(facts.now, wait, card, time) < FOR_GOOD:
            continue
        yield _of_next_coat(
            "air.never-dries",
            piece,
            layer,
            message=f"{_stopping(facts, card, time)} a coat of {card.name} does not dry.",
            remedy="Warm or dry the air, then log a new reading (R).",
        )


def _stopping(facts: Facts, card: Card, time: CardTime) -> str:
    """Name the air in which nothing counts: that of now, else the last that is expected."""
    history, pacing = facts.state.air, card.pacing(time)
    now, last = history.at(facts.now), history.last()
    stops = now is not None and pacing is not None and pace_of_wait(pace_model(pacing), now) <= 0
    air = now if stops or last is None else last
    if air is None:
        return "As the air is,"
    where = "In this air" if air == now else "In the air that is expected"
    return f"{where} ({figure(air.air_degC)} °C, {figure(air.humidity_percent)} %)"


@FAMILY.rule(
    "blush",
    Severity.CAUTION,
    reason="A fast solvent cools the film as it leaves; below the dew point water settles in it and turns it milky.",
    source=PRACTICE,
)
def blush(facts: Facts) -> Iterator[Finding]:
    """The next layer has a fast solvent and the air is damp enough for it to blush."""
    now = _at(_readings(facts), facts.now)
    if now is None:
        return
    for piece, layer, card in _next(facts):
        said = blush_words(now[1], fast=True) if card.fast_solvent else ""
        if said:
            message, _, remedy = said.partition("; ")
            yield _of_next_coat(
                "air.blush",
                piece,
                layer,
                message=f"{message}.",
                remedy=f"{remedy[:1].upper()}{remedy[1:]}",
            )


@FAMILY.rule(
    "old-reading",
    Severity.NOTE,
    reason="A window that follows the air goes by the last reading, however the air has changed since.",
    source=PRACTICE,
)
def old_reading(facts: Facts) -> Iterator[Finding]:
    """The last reading is hours old, and a layer that follows the air is being worked on."""
    readings = _readings(facts)
    if not readings or facts.now - readings[-1][0] <= OLD:
        return
    for piece, layer, card in _next(facts):
        if card.paces or card.air is not None:
            ago = span_words((facts.now - readings[-1][0]).total_seconds())
            yield Finding(
                rule="air.old-reading",
                severity=Severity.NOTE,
                piece=piece.id,
                layer=layer.id,
                message=f"The last reading is {ago} old, and its times still go by it.",
                remedy="Take a new one (R).",
                key=key("air.old-reading", layer.id),
            )


@FAMILY.rule(
    "odd-reading",
    Severity.NOTE,
    timed=False,
    reason="What no air can be is a slip of the hand or a broken sensor, and a window that went by it would be wrong.",
    source=f"{PRACTICE}; what air can be: ASHRAE Handbook - Fundamentals, chapter 1",
)
def odd_reading(facts: Facts) -> Iterator[Finding]:
    """The newest reading is one that no air can be."""
    newest = facts.state.last_reading
    wrong = odd_words(newest) if newest is not None else ""
    if newest is None or not wrong:
        return
    good = any(at < newest.at for at, _ in _readings(facts)[:1])
    instead = "the last good one still holds" if good else "there is no good one before it"
    if air_read(newest) is not None:
        instead = "it is taken as the nearest that can be"
    whose = f" from {newest.source}" if newest.source not in ("", "typed") else ""
    yield Finding(
        rule="air.odd-reading",
        severity=Severity.NOTE,
        message=f"The newest reading{whose} is none that air can have, so {instead}.",
        remedy=f"Read it again (R). {wrong}",
        key=key("air.odd-reading", newest.id),
    )
