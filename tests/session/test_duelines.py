"""The lines of the watch: strips that wait for the same stand in one line, and nothing is lost by it."""

from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from builders import COLOUR, ONE_PART_PROMOTER, PROMOTER, JobBuilder, hours
from trialdriver import Painter, open_session

import benchtool.session.duelines as module
from benchtool.job import events as ev
from benchtool.session.due import due_now
from benchtool.session.duelines import due_lines
from benchtool.session.trialrun import Kind
from benchtool.trade.windows import WindowKind

STACKS: dict[str, Any] = {
    "Two-part": [(PROMOTER, "rigid"), COLOUR],
    "One-part": [ONE_PART_PROMOTER, COLOUR],
    "None": [COLOUR],
}


@pytest.fixture
def painter(clock: Any, tmp_path: Path) -> Painter:
    """Nine strips, all up to a first coat; the watch is that of this job alone."""
    made = Painter(open_session(JobBuilder().plan_trial(STACKS, each=3, tape_stays=hours(1)), clock, tmp_path), clock)
    for _ in range(300):
        act = made.acts()[0]
        if act.kind is Kind.COAT and not act.waits(clock.at):
            break
        made.do(act)
    return made


def coat(painter: Painter, *apart: float) -> tuple[str, ...]:
    """Spray the first coat on the group that comes first, strip after strip so many seconds apart."""
    act = painter.acts()[0]
    state = painter.document.state
    layers = [painter.document.state.pieces[s].layers[0].id for s in act.strips]
    for on in layers[1:]:
        painter.session.apply(partial(ev.CupShared, mix=state.mix_for(state.layers[layers[0]]).id, layer=on))
    for on, wait in zip(layers, (0.0, *apart), strict=False):
        painter.clock.at += timedelta(seconds=wait)
        mix = painter.document.state.mix_for(painter.document.state.layers[on])
        painter.session.apply(partial(ev.CoatStarted, layer=on, mix=mix.id))
        painter.session.apply(partial(ev.CoatDone, layer=on))
    return tuple(act.strips)


def flashes(lines: list[Any]) -> list[Any]:
    return [x for x in lines if x.window.kind is WindowKind.FLASH]


def test_strips_due_within_a_minute_stand_in_one_line_that_runs_to_the_last(painter: Painter) -> None:
    coat(painter, 20, 20)
    now = painter.clock.at
    (line,) = flashes(due_lines(painter.session, now))
    each = flashes(due_now(painter.session, now))
    assert len(each) == 3
    assert line.place.startswith("Strips 2, 5 and 8, One-part promoter")
    assert line.edge == max(x.edge for x in each)
    assert line.names[0] == "Strips 2, 5 and 8"
    assert line.numbers == "2, 5, 8"


def test_those_due_later_than_a_minute_have_a_line_of_their_own(painter: Painter) -> None:
    coat(painter, 30, 45)
    places = [x.place for x in flashes(due_lines(painter.session, painter.clock.at))]
    assert [p.partition(",")[0] for p in places] == ["Strips 2 and 5", "Strip 8"]


def test_a_strip_that_may_go_on_stands_apart_from_those_that_wait(painter: Painter) -> None:
    coat(painter, 20, 20)
    first = min(x.edge for x in flashes(due_now(painter.session, painter.clock.at)))
    painter.clock.at = first + timedelta(seconds=1)
    lines = flashes(due_lines(painter.session, painter.clock.at))
    assert [(x.place.partition(", One")[0], x.hands) for x in lines] == [("Strip 2", True), ("Strips 5 and 8", False)]


def test_a_deadline_of_several_runs_to_the_first(painter: Painter) -> None:
    coat(painter, 20, 20)
    painter.clock.at = max(x.edge for x in flashes(due_now(painter.session, painter.clock.at)))
    each = flashes(due_now(painter.session, painter.clock.at))
    lines = flashes(due_lines(painter.session, painter.clock.at))
    assert len(each) == 3
    assert len(lines) == 1
    assert lines[0].edge == min(x.edge for x in each)


def test_a_line_is_worked_out_anew_only_when_something_changes(
    painter: Painter, monkeypatch: pytest.MonkeyPatch
) -> None:
    coat(painter, 20, 20)
    calls: list[int] = []
    was = module._made
    monkeypatch.setattr(module, "_made", lambda dues: calls.append(1) or was(dues))
    numerals = set()
    for _ in range(5):
        painter.clock.at += timedelta(seconds=1)
        numerals.add(flashes(due_lines(painter.session, painter.clock.at))[0].numerals)
    assert len(calls) == 1
    assert len(numerals) == 5


def test_without_strips_the_lines_are_those_that_are_due(clock: Any, tmp_path: Path) -> None:
    job = JobBuilder().card(PROMOTER).piece("shell").layer("promoter", PROMOTER, activator="rigid")
    job.ready("promoter").coat("promoter")
    session = open_session(job, clock, tmp_path)
    assert due_lines(session, clock.at) == due_now(session, clock.at) != []
