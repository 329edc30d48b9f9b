"""The air is the shop's: what is read, moved, undone and redone of it goes the same way in every open job."""

from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from benchtool.job import events as ev
from benchtool.session.document import Document
from benchtool.session.session import Session
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.trade.quantities import Measures

READING = partial(ev.ReadingTaken, air_degC=10.0, humidity_percent=60.0, source="typed")
OTHER = partial(ev.ReadingTaken, air_degC=12.0, humidity_percent=60.0, source="typed")


@pytest.fixture
def session(clock: Any, tmp_path: Path) -> Any:
    made = Session(clock, load_tables(), Measures())
    for name in ("one", "two"):
        made.create(tmp_path / f"{name}.json", name)
    clock.go(minutes=30)
    yield made
    made.close_all()


def read_in(document: Document) -> list[tuple[float, Any]]:
    assert jobfile.load(document.path).job == document.job
    return [(r.air_degC, r.at) for r in document.state.readings]


def own_act(session: Session, document: Document) -> None:
    """Something is done in that job alone."""
    session.pick_document(document)
    session.apply(partial(ev.JobDescribed, title="another name"))


def test_a_reading_moved_in_time_moves_in_every_open_job(session: Session, clock: Any) -> None:
    one, two = session.documents
    at = clock.now()
    session.share(READING)
    clock.go(minutes=1)
    session.shift_last_act(-timedelta(minutes=15))
    moved = [(10.0, at - timedelta(minutes=15))]
    assert read_in(one) == read_in(two) == moved
    session.undo()
    assert read_in(one) == read_in(two) == [(10.0, at)]
    session.redo()
    assert read_in(one) == read_in(two) == moved
    session.undo()
    session.undo()
    assert read_in(one) == read_in(two) == []


def test_a_redo_brings_the_air_back_where_something_else_was_done_since(session: Session, clock: Any) -> None:
    one, two = session.documents
    at = clock.now()
    session.share(READING)
    session.undo()
    own_act(session, one)
    assert read_in(one) == read_in(two) == []
    session.pick_document(two)
    session.redo()
    assert read_in(one) == read_in(two) == [(10.0, at)]
    assert one.state.title == "another name"


def test_only_the_air_of_that_act_comes_back(session: Session, clock: Any) -> None:
    one, two = session.documents
    session.share(READING)
    clock.go(minutes=1)
    session.share(OTHER)
    session.undo()
    session.undo()
    own_act(session, one)
    session.pick_document(two)
    session.redo()
    assert [t for t, _ in read_in(one)] == [t for t, _ in read_in(two)] == [10.0]
    session.redo()
    assert [t for t, _ in read_in(one)] == [t for t, _ in read_in(two)] == [10.0, 12.0]


def test_what_was_done_in_one_job_alone_stays_there(session: Session, clock: Any) -> None:
    one, two = session.documents
    session.share(READING)
    own_act(session, one)
    clock.go(minutes=5)
    before = two.job
    session.shift_last_act(-timedelta(seconds=1))
    session.undo()
    session.undo()
    assert two.job is before


def test_a_job_that_is_only_looked_at_or_closed_meanwhile_is_left_alone(session: Session, clock: Any) -> None:
    one, two = session.documents
    session.share(READING)
    one.read_only = "Only to look at."
    before = one.job
    session.undo()
    assert one.job is before
    assert read_in(two) == []
    session.close(one)
    session.redo()
    assert len(read_in(two)) == 1
