"""The air as the rules see it: the readings that count, and the layers that are sprayed in it next."""

from bisect import bisect_right
from collections.abc import Iterator
from datetime import datetime, timedelta

from benchtool.job.cards import Card
from benchtool.job.state import LayerState, PieceState
from benchtool.rules.finding import Cause, Facts, Finding, Severity, cause, key
from benchtool.trade.air import Air

OLD = timedelta(hours=4)
"""Readings are usually taken about every four hours while paint goes on or dries (practice beside ISO 8502-4)."""

DEW = "ISO 8502-4 (3 °C above the dew point; the US rule, MIL-HDBK-1110, asks for 5 °F)"
KNOWN = timedelta(days=2)
"""So far back from the newest reading the rules look: well over the hours in which they look."""

Reading = tuple[datetime, Air]


def readings_of(facts: Facts) -> list[Reading]:
    """The readings of the last days that air can be, in the order of time: no rule looks farther back."""
    return facts.settled("air readings", lambda: facts.state.air.newest_readings(KNOWN))


def in_force(readings: list[Reading], now: datetime) -> Reading | None:
    """The reading in force at `now`, None where the last is too old to speak for it."""
    i = bisect_right(readings, now, key=lambda reading: reading[0])
    return readings[i - 1] if i and now - readings[i - 1][0] <= OLD else None


def next_up(facts: Facts) -> Iterator[tuple[PieceState, LayerState, Card]]:
    """Every layer that is sprayed next, with its card; one that is being sprayed now is past asking."""
    for piece_id, layer in facts.next_layers().items():
        card = facts.state.card_of(layer) if layer is not None else None
        if layer is not None and card is not None and layer.open_coat is None:
            yield facts.state.pieces[piece_id], layer, card


def of_next_coat(
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
        cause=cause(Cause.AIR, piece.id),
    )
