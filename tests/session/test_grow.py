"""An open job that only grew is not folded anew: what it shows is what a fold of all its events would give."""

from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR, COLOUR, START
from hypothesis import given
from msgspec.structs import replace
from strategies import examples, jobs

from benchtool.job import events as ev
from benchtool.job.cards import CardTime, DoublingPacing, Gun, recipe
from benchtool.job.record import FORMAT, SCHEMA, Job, last_act
from benchtool.job.state import fold
from benchtool.job.windows import all_windows
from benchtool.rules.engine import findings
from benchtool.session import session as module
from benchtool.session.session import Document, Session
from benchtool.session.tables import load_tables
from benchtool.trade.quantities import Measures
from benchtool.trade.substrates import Flex

TABLES = load_tables()


def shown(document: Document) -> object:
    now = document.job.events[-1].at if document.job.events else document.job.created
    progress = [w.span.progress(now) for w in document.windows]
    return document.state, document.windows, progress, document.can_undo, document.findings(now, TABLES)


@examples(40)
@given(jobs(30))
def test_a_job_that_grows_shows_what_one_that_is_opened_shows(job: Job) -> None:
    grown = Document(Path("a.json"), replace(job, events=()))
    for count in range(1, len(job.events) + 1):
        grown.become(replace(job, events=job.events[:count]))
        grown.findings(job.events[count - 1].at, TABLES)
    assert shown(grown) == shown(Document(Path("a.json"), job))
    assert grown.findings(job.created, TABLES) == findings(job, fold(job), job.created, TABLES)


@examples(30)
@given(jobs(12), jobs(12))
def test_a_job_that_became_another_is_folded_anew(job: Job, other: Job) -> None:
    document = Document(Path("a.json"), job)
    document.become(other)
    assert shown(document) == shown(Document(Path("a.json"), other))
    shorter = replace(other, events=other.events[:-1])
    document.become(shorter)
    assert document.state == fold(shorter)
    assert document.can_undo == bool(last_act(shorter))


@pytest.fixture
def session(clock: Any, tmp_path: Path) -> Any:
    made = Session(clock, TABLES, Measures())
    clock.at = START
    made.create(tmp_path / "a.json", "Tank")
    yield made
    made.close_all()


def plan() -> list[Any]:
    slow = replace(CLEAR, paces={CardTime.EVERY: DoublingPacing(reference_degC=20)})
    piece = ev.Piece(id="p", name="Tank", substrate="steel", known=ev.Known.TOLD, flex=Flex.RIGID)
    return [
        partial(ev.CardCopied, card=slow),
        partial(ev.PieceAdded, piece=piece),
        partial(ev.LayerAdded, piece="p", layer=ev.Layer(id="l", card=slow.id, coats=1)),
        partial(ev.CoatStarted, layer="l"),
        partial(ev.CoatDone, layer="l"),
    ]


def test_one_more_reading_moves_the_windows_without_folding_what_was_before(
    session: Session, clock: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    session.apply(*plan())
    document = session.current
    assert document is not None
    by_card = {w.key: w.span.opens_at for w in document.windows}
    monkeypatch.setattr(module, "fold", lambda _: pytest.fail("the job was folded anew"))
    clock.go(hours=1)
    session.apply(partial(ev.ReadingTaken, air_degC=10, humidity_percent=50))
    monkeypatch.undo()
    for window in document.windows:
        assert window.span.opens_at == by_card[window.key] + (by_card[window.key] - clock.at)
        assert window.card_ends_at == by_card[window.key]
    assert document.windows == all_windows(fold(document.job))
    session.undo()
    assert {w.key: w.span.opens_at for w in document.windows} == by_card


def test_a_pour_counts_at_once_in_a_cup_that_was_looked_at(session: Session) -> None:
    session.apply(*plan()[:2])
    colour = replace(COLOUR, reductions=())
    session.apply(
        partial(ev.CardCopied, card=colour),
        partial(ev.LayerAdded, piece="p", layer=ev.Layer(id="c", card=colour.id, coats=1)),
    )
    parts = recipe(colour, None, Gun.AIRBRUSH)
    session.apply(partial(ev.Mixed, mix="m", layer="c", card=colour.id, gun=Gun.AIRBRUSH, make_mL=10, parts=parts))
    document = session.current
    assert document is not None
    assert document.state.mixes["m"].total_mL == 0
    session.apply(partial(ev.Poured, mix="m", part=parts[0].name, mL=4.0))
    assert document.state.mixes["m"].total_mL == 4
    assert document.state.mixes["m"].checks[0].poured_mL == 4


def test_a_job_of_another_beginning_is_no_grown_one() -> None:
    job = Job(format=FORMAT, schema=SCHEMA, id="job", created=START)
    document = Document(Path("a.json"), job)
    before = document.state
    document.become(replace(job, created=START + timedelta(hours=1)))
    assert document.state is not before
