"""The session: one way to change a job, saved after every act, and nothing lost when saving fails."""

from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from benchtool.job import events as ev
from benchtool.job.record import with_events
from benchtool.session import acts
from benchtool.session.demo import demo_job, place_demo
from benchtool.session.session import RETRY, NotNow, Session
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.trade.quantities import Measures


@pytest.fixture
def session(clock: Any, tmp_path: Path) -> Any:
    made = Session(clock, load_tables(), Measures())
    made.open(place_demo(tmp_path, clock.now()))
    yield made
    made.close_all()


def degrease(piece: str = "trim") -> Any:
    return partial(ev.PrepDone, piece=piece, step=ev.Prep.DEGREASE)


def test_every_act_is_in_the_file_at_once(session: Session) -> None:
    session.apply(degrease())
    assert session.current is not None
    assert jobfile.load(session.current.path).job == session.current.job


def test_one_act_is_undone_as_one(session: Session) -> None:
    made = session.apply(degrease(), degrease("dome"))
    assert made[1].along_with == made[0].id
    assert session.undo() == made
    assert session.current is not None
    for _ in range(len(session.current.job.events)):
        if not session.current.state.pieces and not session.current.state.title:
            break
        session.undo()
    with pytest.raises(NotNow, match="undo"):
        session.undo()


def test_an_act_never_lies_before_the_last_one(session: Session, clock: Any) -> None:
    session.pick("trim")
    assert session.layer is not None
    session.apply(acts.start_coat(session, session.layer))
    clock.go(hours=-1)
    session.apply(acts.finish_coat(session.layer))
    assert session.current is not None
    jobfile.load(session.current.path)


def test_a_save_that_fails_loses_nothing_and_is_tried_again(session: Session, clock: Any, full_disk: Any) -> None:
    document = session.current
    assert document is not None
    before = document.path.read_bytes()

    with full_disk():
        session.apply(degrease())
        assert "full" in document.unsaved
        assert document.path.read_bytes() == before
        session.apply(degrease("dome"))
    session.tick()
    assert document.unsaved
    clock.go(seconds=RETRY.total_seconds() + 1)
    session.tick()
    assert not document.unsaved
    assert jobfile.load(document.path).job == document.job


def test_the_second_window_is_read_only(session: Session, clock: Any) -> None:
    assert session.current is not None
    other = Session(clock, session.tables, session.measures)
    document = other.open(session.current.path)
    assert "read-only" in document.read_only
    with pytest.raises(NotNow, match="read-only"):
        other.apply(degrease())
    other.close_all()


def test_a_preview_changes_nothing(session: Session) -> None:
    assert session.current is not None
    job = session.current.job
    raised = session.preview(partial(ev.PrepDone, piece="plaque", step=ev.Prep.MASK))
    assert [f.rule for f in raised] == ["timing.tape"]
    assert session.current.job is job


def test_moving_the_last_act_back_moves_its_windows(session: Session, clock: Any) -> None:
    session.pick("trim")
    assert session.layer is not None
    session.apply(acts.start_coat(session, session.layer))
    clock.go(minutes=5)
    session.apply(acts.finish_coat(session.layer))
    clock.go(minutes=4)
    session.shift_last_act(timedelta(minutes=-1))
    session.shift_last_act(timedelta(minutes=-1))
    done = session.layer.last_done
    assert done is not None
    assert done.done_at == clock.now() - timedelta(minutes=6)
    for _ in range(3):
        session.shift_last_act(timedelta(minutes=-1))
    with pytest.raises(NotNow, match="in between"):
        session.shift_last_act(timedelta(minutes=-1))


def test_a_new_demo_is_begun_after_a_day_and_no_old_one_is_touched(tmp_path: Path, clock: Any) -> None:
    path = place_demo(tmp_path, clock.now())
    kept = path.read_bytes()
    clock.go(hours=2)
    assert place_demo(tmp_path, clock.now()) == path
    clock.go(hours=24)
    other = place_demo(tmp_path, clock.now())
    assert other != path
    assert path.read_bytes() == kept
    other.write_bytes(b"{")
    third = place_demo(tmp_path, clock.now() + timedelta(seconds=1))
    assert third not in (path, other)
    assert other.read_bytes() == b"{"


def test_closing_a_job_that_cannot_be_saved_is_refused(session: Session, full_disk: Any) -> None:
    document = session.current
    assert document is not None
    with full_disk():
        session.apply(degrease())
        with pytest.raises(NotNow, match="full"):
            session.close(document)
        assert session.current is document
    session.close(document)
    assert jobfile.load(document.path).job == document.job


def test_a_copy_never_lands_on_a_job_that_is_open(session: Session) -> None:
    assert session.current is not None
    with pytest.raises(NotNow, match="open here"):
        session.save_copy(session.current.path)


def test_a_read_only_job_follows_its_file(session: Session, clock: Any) -> None:
    assert session.current is not None
    other = Session(clock, session.tables, session.measures)
    document = other.open(session.current.path)
    other.tick()
    session.apply(degrease())
    other.tick()
    assert document.job == session.current.job
    other.close_all()


def test_an_entry_made_under_a_wrong_clock_is_undone_for_good(session: Session, clock: Any) -> None:
    clock.go(hours=5)
    session.apply(degrease())
    clock.go(hours=-5)
    session.undo()
    [made] = session.apply(degrease())
    assert made.at == clock.now()


def test_the_demo_says_so_and_raises_no_finding_but_the_missing_choice_and_an_old_can(clock: Any) -> None:
    from benchtool.job.state import fold
    from benchtool.rules.engine import findings

    job = demo_job(clock.now())
    assert job.demo
    assert "demo" in job.note.lower()
    found = findings(job, fold(job), clock.now(), load_tables())
    assert {f.rule for f in found if f.clears_at is None} == {"mixing.no-activator", "lots.past-date"}


def test_a_new_job_in_a_taken_place_is_refused(session: Session) -> None:
    assert session.current is not None
    with pytest.raises(FileExistsError, match="exists"):
        session.create(session.current.path, "Again")


def test_a_job_opened_a_month_later(session: Session, clock: Any) -> None:
    assert session.current is not None
    clock.go(days=31)
    again = Session(clock, session.tables, session.measures)
    document = again.open(session.current.path)
    late = [w.words(clock.now()) for w in document.windows if w.layer == "plate-base" and w.kind == "recoat"]
    assert late == ["Recoat closed 30 days ago: scuff before Gloss clear"]
    again.close_all()


def test_events_from_a_clock_an_hour_ahead_are_shown_not_refused(session: Session, clock: Any, tmp_path: Path) -> None:
    assert session.current is not None
    job = session.current.job
    ahead = with_events(job, degrease()(id="e9000", at=clock.now() + timedelta(hours=1)))
    path = tmp_path / "ahead.json"
    jobfile.save(path, ahead)
    document = session.open(path)
    found = document.findings(clock.now(), session.tables)
    assert [f.rule for f in found if f.rule == "record.clock-behind"]
    assert document.job.events[-1].at == datetime(2026, 3, 14, 10, tzinfo=UTC)


def test_a_step_moved_back_under_a_wrong_clock_leaves_a_job_that_saves(session: Session, clock: Any) -> None:
    session.pick("trim")
    assert session.layer is not None
    clock.go(hours=3)
    session.apply(acts.start_coat(session, session.layer))
    session.apply(acts.finish_coat(session.layer))
    session.apply(degrease("dome"))
    session.shift_last_act(timedelta(hours=-2))
    clock.go(hours=-3)
    session.apply(acts.start_coat(session, session.layer))
    assert session.current is not None
    assert not session.current.unsaved
