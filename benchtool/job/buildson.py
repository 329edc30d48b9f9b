"""Which act builds on which: one that is moved in time can't come to lie before what it was done to.

It is asked when a time is corrected, never of a record that is read: an old one may hold what was moved so.
"""

from collections.abc import Iterable

from benchtool.job import events as ev
from benchtool.job.record import Job, standing

_AT_A_CUP = ev.Mixed | ev.Poured | ev.MixStirred
_COATS = ev.CoatStarted | ev.CoatDone
_ON_A_STRIP = ev.TapePressed | ev.AgeingBegun | ev.AgeingOver


def comes_too_early(job: Job, moved: Iterable[str]) -> bool:
    """Say whether any of the `moved` events (ids) now lies before one that it builds on.

    Preparing is let through: a step that was forgotten is logged late, and stands among the others where it was done.
    """
    told = standing(job.events)
    ids = frozenset(moved)
    of = {e.layer.id: e.piece for _, e in told if isinstance(e, ev.LayerAdded)}
    late = [(place, e) for place, e in told if e.id in ids]
    return any(
        place < at and e.at > one.at and e.id not in ids and _builds_on(one, e, of)
        for at, one in late
        for place, e in told
    )


def _builds_on(one: ev.Event, other: ev.Event, piece_of: dict[str, str]) -> bool:
    """Say whether `one` can't have been done before `other`, which was entered before it."""
    match one:
        case ev.Poured(mix=mix) | ev.MixStirred(mix=mix) | ev.CupShared(mix=mix):
            return isinstance(other, _AT_A_CUP) and other.mix == mix
        case ev.CupEmptied(mix=mix):
            return isinstance(other, _AT_A_CUP | ev.CoatStarted) and other.mix == mix
        case ev.CoatStarted(layer=layer, mix=mix):
            if isinstance(other, _AT_A_CUP):
                return other.mix == mix
            return _worked_on(other, piece_of) == piece_of.get(layer, "?")
        case ev.CoatDone(layer=layer):
            return isinstance(other, _COATS) and piece_of.get(other.layer) == piece_of.get(layer, "?")
        case ev.FilmMeasured(layer=layer):
            return isinstance(other, _COATS) and other.layer == layer
        case ev.HeatStarted(piece=piece) | ev.HeatEnded(piece=piece):
            return isinstance(other, _COATS) and piece_of.get(other.layer) == piece
        case ev.TapePressed(strip=strip):
            return _tested(one, other, (strip,), piece_of)
        case ev.Graded(strip=strip):
            return _tested(one, other, (strip,), piece_of)
        case ev.AgeingBegun(strips=strips) | ev.AgeingOver(strips=strips):
            return _tested(one, other, strips, piece_of)
        case ev.SystemChosen(trial=trial) | ev.TrialEnded(trial=trial):
            return isinstance(other, ev.TrialPlanned | ev.Graded) and _trial(other) == trial
        case _:
            return False


def _worked_on(other: ev.Event, piece_of: dict[str, str]) -> str | None:
    """Give the piece that was prepared, sprayed or heated; None where it was none of these."""
    match other:
        case ev.PrepDone(piece=piece) | ev.HeatStarted(piece=piece) | ev.HeatEnded(piece=piece):
            return piece
        case ev.CoatStarted(layer=layer) | ev.CoatDone(layer=layer):
            return piece_of.get(layer)
        case _:
            return None


def _tested(one: ev.Event, other: ev.Event, strips: tuple[str, ...], piece_of: dict[str, str]) -> bool:
    """Say whether `other` was done to one of these strips before `one`: paint, tape, ageing, a grade.

    Two tests that were graded in one go stand for themselves; only a grade of the same test is followed by a newer one.
    """
    if isinstance(other, _COATS):
        return piece_of.get(other.layer) in strips
    if isinstance(other, ev.Graded):
        return other.strip in strips and (not isinstance(one, ev.Graded) or one.method is other.method)
    if isinstance(other, ev.TapePressed):
        return other.strip in strips and (not isinstance(one, ev.Graded) or one.method is other.method)
    return isinstance(other, _ON_A_STRIP) and any(s in strips for s in other.strips)


def _trial(event: ev.TrialPlanned | ev.Graded) -> str:
    return event.trial if isinstance(event, ev.Graded) else event.trial.id
