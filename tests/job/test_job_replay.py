"""The same comes out whether a record is replayed in one go or with a kill and a restart after every event.

A restart is the real one: the job is saved to its file and read back, and all that is known is folded from that. Over
three days of work it is done after every event; over a month of readings, where that would take hours, the state that
grows event by event is held against one folded anew at every 97th.
"""

import random
from collections.abc import Iterator
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR, START, hours, minutes
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.cards import (
    ArrheniusPacing,
    CardTime,
    DoublingPacing,
    EvaporationPacing,
    ForcedDry,
    Gun,
    Pacing,
    TablePacing,
    recipe,
)
from benchtool.job.record import FORMAT, SCHEMA, Job, with_events
from benchtool.job.state import State, fold, grow, recipe_parts
from benchtool.job.validate import faults
from benchtool.job.windows import FOR_GOOD, all_windows
from benchtool.store import jobfile
from benchtool.trade.mixing import amounts_mL
from benchtool.trade.substrates import Flex

Made = tuple[datetime, partial[Any]]

SLOW = replace(
    CLEAR,
    tape=hours(20),
    cure=hours(60),
    paces={
        CardTime.EVERY: DoublingPacing(reference_degC=21, least_degC=5),
        CardTime.FLASH: EvaporationPacing(),
        CardTime.CURE: ArrheniusPacing(energy_kJ_mol=50, reference_degC=20),
        CardTime.TAPE: TablePacing(points=((10.0, hours(40)), (20.0, hours(20)), (30.0, hours(10))), reference_degC=20),
    },
    forced={
        CardTime.TAPE: ForcedDry(degC=60, wait=hours(1)),
        CardTime.CURE: ForcedDry(degC=60, wait=hours(4)),
    },
    films=((25.0, 1.0), (50.0, 1.7)),
)
"""A clear with every way in which a card may say that air, heat and film change its times. Made up for a test."""


def air_at(minute: float, noise: random.Random) -> dict[str, float]:
    """A shop that is warm by day and cold and damp at night, as a logger shows it."""
    day = minute / 1_440 % 1
    swing = abs(day - 0.5) * 2  # 1 at midnight, 0 at noon
    degC = 24 - 14 * swing + noise.gauss(0, 0.2)
    return {"air_degC": round(degC, 1), "humidity_percent": round(45 + 40 * swing + noise.gauss(0, 1), 1)}


def at_work(pieces: int) -> Iterator[Made]:
    """Three days: a piece begun every four hours, sprayed twice, measured, some baked; a reading each half hour."""
    noise = random.Random(4)
    yield START, partial(ev.CardCopied, card=SLOW)
    parts = recipe(SLOW, SLOW.activators[0], Gun.AIRBRUSH)
    pours = list(zip(parts, amounts_mL(recipe_parts(parts), 30.0), strict=True))
    for i in range(pieces):
        p, x, m, at = f"p{i}", f"l{i}", f"m{i}", START + hours(4 * i)
        piece = ev.Piece(id=p, name=f"Panel {i}", substrate="steel", known=ev.Known.TOLD, flex=Flex.RIGID)
        layer = ev.Layer(id=x, card=SLOW.id, coats=2, activator="slow")
        mixed = {"mix": m, "layer": x, "card": SLOW.id, "gun": Gun.AIRBRUSH, "activator": "slow"}
        acts: list[tuple[float, partial[Any]]] = [
            (0, partial(ev.PieceAdded, piece=piece)),
            (0, partial(ev.LayerAdded, piece=p, layer=layer)),
            (1, partial(ev.PrepDone, piece=p, step=ev.Prep.WASH)),
            (2, partial(ev.PrepDone, piece=p, step=ev.Prep.DEGREASE)),
            (5, partial(ev.Mixed, make_mL=30.0, parts=parts, **mixed)),
            *((6 + k, partial(ev.Poured, mix=m, part=part.name, mL=mL)) for k, (part, mL) in enumerate(pours)),
            (9, partial(ev.MixStirred, mix=m, what=ev.Stirred.ACTIVATED)),
            (12, partial(ev.CoatStarted, layer=x, mix=m)),
            (14, partial(ev.CoatDone, layer=x)),
            (15, partial(ev.FilmMeasured, layer=x, um=20.0 + 9 * (i % 5), wet_um=60.0)),
            (45, partial(ev.CoatStarted, layer=x, mix=m)),
            (47, partial(ev.CoatDone, layer=x)),
            (50, partial(ev.CupEmptied, mix=m, left_mL=3.0)),
        ]
        if i % 3 == 0:
            acts += [(70, partial(ev.HeatStarted, piece=p, degC=45.0 + 10 * (i % 4)))]
            acts += [(70 + 31 * (1 + i % 4), partial(ev.HeatEnded, piece=p))]
        if i % 4 == 0:
            night = tuple(
                ev.CoursePoint(at=at + hours(h), air_degC=t) for h, t in ((8.0, 9.0), (21.0, 20.0), (32.0, 8.0))
            )
            acts += [(60, partial(ev.CourseExpected, points=night))]
        yield from ((at + minutes(minute), act) for minute, act in acts)
    for k in range(3 * 48):
        yield START + minutes(30 * k), partial(ev.ReadingTaken, source="shop.csv", **air_at(480 + 30 * k, noise))


def record(made: Iterator[Made], redone: tuple[str, ...] = ()) -> tuple[ev.Event, ...]:
    """Stamp what was done, in the order of time; a coat done of a layer in `redone` is undone, redone and corrected."""
    events: list[ev.Event] = []
    for at, act in sorted(made, key=lambda pair: pair[0]):
        events.append(act(id=f"e{len(events) + 1}", at=at))
        newest = events[-1]
        if isinstance(newest, ev.CoatDone) and newest.layer in redone:
            took_back = ev.Withdrawn(id=f"e{len(events) + 1}", at=at, events=(newest.id,))
            events += [took_back, replace(newest, id=f"e{len(events) + 2}", at=at + minutes(0.5))]
            events.append(
                ev.Corrected(id=f"e{len(events) + 1}", at=at, event=events[-1].id, really_at=at - minutes(0.25))
            )
    return tuple(events)


def shown(state: State, now: datetime) -> object:
    """All that the windows of a state say at a moment."""
    return [
        (w, w.phase(now), w.span.progress(now), w.words(now), w.why(now), w.card_ends_at) for w in all_windows(state)
    ]


def test_three_days_come_out_the_same_with_a_kill_and_a_restart_after_every_event(tmp_path: Path) -> None:
    events = record(at_work(12), ("l2", "l5"))
    empty = Job(format=FORMAT, schema=SCHEMA, id="job", created=START)
    job, path = with_events(empty, *events), tmp_path / "job.json"
    assert len(events) > 300
    assert list(faults(job)) == []
    restarted, grown = empty, fold(empty)
    for place, event in enumerate(events):
        restarted = with_events(restarted, event)
        jobfile.save(path, restarted)
        restarted = jobfile.load(path).job  # killed and started again: the file is all there is
        anew = fold(restarted)
        if isinstance(event, ev.Withdrawn | ev.Corrected):
            grown = fold(replace(job, events=events[: place + 1]))
        else:
            grow(grown, place, event)
        assert anew == grown
        assert shown(anew, event.at) == shown(grown, event.at)
    whole = fold(job)
    assert restarted == job
    end = events[-1].at
    assert (whole, shown(whole, end)) == (anew, shown(anew, end)) == (grown, shown(grown, end))
    assert len(all_windows(whole)) >= 24
    paced = [w for w in all_windows(whole) if w.span.opens_at != w.card_ends_at]
    assert {w.span.opens_at > w.card_ends_at for w in paced} == {
        True,
        False,
    }  # cold and film made some longer, heat shorter


def month(number: int) -> Job:
    """Ten pieces of a job under thirty days of readings, one every ten minutes, warm by day and cold at night."""
    noise = random.Random(number)
    paces: dict[CardTime, Pacing] = {
        CardTime.CURE: ArrheniusPacing(energy_kJ_mol=30 + 10 * number),
        CardTime.TAPE: DoublingPacing(reference_degC=20 + number),
    }
    card = replace(SLOW, tape=timedelta(days=10), cure=timedelta(days=25), paces=paces)
    made: list[Made] = [(START, partial(ev.CardCopied, card=card))]
    for i in range(10):
        piece = ev.Piece(id=f"p{i}", name=f"Piece {i}", substrate="steel", known=ev.Known.TOLD, flex=Flex.RIGID)
        layer = ev.Layer(id=f"l{i}", card=card.id, coats=1)
        at = START + hours(i)
        made += [
            (at, partial(ev.PieceAdded, piece=piece)),
            (at, partial(ev.LayerAdded, piece=piece.id, layer=layer)),
            (at, partial(ev.CoatStarted, layer=layer.id)),
            (at, partial(ev.CoatDone, layer=layer.id)),
        ]
    made += [
        (START + minutes(10 * k), partial(ev.ReadingTaken, **air_at(480 + 10 * k, noise))) for k in range(30 * 144)
    ]
    made += [(START + timedelta(days=3), partial(ev.HeatStarted, piece="p0", degC=60.0))]
    made += [(START + timedelta(days=3, minutes=20), partial(ev.HeatEnded, piece="p0"))]
    return Job(format=FORMAT, schema=SCHEMA, id=f"job-{number}", created=START, events=record(iter(made)))


@pytest.mark.parametrize("number", range(3))
def test_a_month_of_readings_comes_out_the_same_in_one_go_and_with_restarts(number: int) -> None:
    """Three jobs of twenty windows each."""
    job = month(number)
    assert len(job.events) > 4_320
    assert list(faults(job)) == []
    whole, grown = fold(job), fold(replace(job, events=()))
    for place, event in enumerate(job.events):
        grow(grown, place, event)
        now_shown = shown(grown, event.at) if place % 9 == 0 else None  # asked often, as a window on the screen is
        if place % 97 == 0:
            so_far = fold(replace(job, events=job.events[: place + 1]))
            assert shown(grown, event.at) == shown(so_far, event.at)
            if now_shown is not None:
                assert now_shown == shown(so_far, event.at)
    end = job.events[-1].at
    assert shown(grown, end) == shown(whole, end)
    assert len(all_windows(whole)) == 20
    for window in all_windows(whole):
        assert START < window.span.opens_at < FOR_GOOD
        assert window.span.progress(window.span.opens_at - minutes(1)) < 1
        assert window.card_ends_at < window.span.opens_at or window.piece == "p0"
