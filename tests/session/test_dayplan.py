"""The planner of all open jobs: newest wins, a stop keeps the last plan, an act makes it plan anew."""

import dataclasses
import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR, COLOUR, JobBuilder, hours
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.shophours import Opening, Weekday
from benchtool.plan.stepsday import hours_of, room_of
from benchtool.session import dayplan
from benchtool.session.cardfields import Wrong
from benchtool.session.dayplan import DayPlanner, set_promised
from benchtool.session.dayplanpromise import promise_text, read_promise
from benchtool.session.hoursform import single_opening
from benchtool.session.session import NotNow, Session
from benchtool.session.shop import ShopKeeper
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.trade.quantities import Measures

NOW = datetime(2026, 3, 14, 9, 0, tzinfo=UTC)  # a Saturday
TABLES = load_tables()
WHOLE = tuple(Opening(day=day, opens="00:00", closes="24:00") for day in Weekday)


def painted(piece: str = "panel", title: str = "Panel") -> JobBuilder:
    bench = JobBuilder(NOW - hours(1)).add(ev.JobDescribed, title=title).card(COLOUR, CLEAR)
    bench.piece(piece).layer("c", COLOUR).layer("k", CLEAR, activator="slow")
    return bench.prep("wash", "degrease")


def write(folder: Path, name: str, bench: JobBuilder) -> Path:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    jobfile.save(path, bench.job)
    return path


@pytest.fixture
def session(clock: Any, tmp_path: Path) -> Iterator[Session]:
    made = Session(clock, TABLES, Measures(), shop=ShopKeeper(tmp_path / "data"))
    made.shop.change(replace(made.shop.shop, hours=WHOLE))
    yield made
    made.close_all()


@pytest.fixture
def planner(session: Session) -> Iterator[DayPlanner]:
    made = DayPlanner(session, zone=UTC, with_solver=False)
    yield made
    made.close(10)


def wait(planner: DayPlanner) -> None:
    """Wait until the worker has nothing left to do."""
    thread = planner._worker._thread
    if thread is not None:
        thread.join(60)
    planner.poll()


def test_the_open_jobs_are_planned_and_told(session: Session, planner: DayPlanner, tmp_path: Path) -> None:
    session.open(write(tmp_path, "a.json", painted()))
    assert planner.plan is None
    assert planner.stale
    planner.plan_now()
    assert planner.busy
    wait(planner)
    assert not planner.busy
    assert not planner.stale
    plan = planner.plan
    assert plan is planner.plan
    assert plan.faults == ()
    assert [c.piece_name for c in plan.chains] == ["Panel"]
    assert list(plan.jobs.values()) == ["Panel"]
    assert planner.share == 1.0
    assert planner.next() == "Now: abrade, Panel, until 09:10."


def test_an_act_plans_anew_from_what_was_done_and_what_is_in_hand_does_not(
    session: Session, planner: DayPlanner, tmp_path: Path
) -> None:
    session.open(write(tmp_path, "a.json", painted()))
    planner.plan_now()
    wait(planner)
    first = planner.plan
    session.pick("panel", "k")
    wait(planner)
    assert planner.plan is first
    session.apply(partial(ev.PrepDone, piece="panel", step=ev.Prep.ABRADE))
    wait(planner)
    assert planner.plan is not first
    assert not planner.stale
    ids = {p.task.id.rsplit("/", 1)[1] for p in planner.plan.timetable.placed}
    assert "prep:abrade" in {p.task.id.rsplit("/", 1)[1] for p in first.timetable.placed}
    assert "prep:abrade" not in ids


def test_without_automatic_it_says_that_it_is_out_of_date(
    session: Session, planner: DayPlanner, tmp_path: Path
) -> None:
    session.open(write(tmp_path, "a.json", painted()))
    planner.automatic = False
    planner.plan_now()
    wait(planner)
    session.apply(partial(ev.PrepDone, piece="panel", step=ev.Prep.TACK))
    assert planner.stale
    assert not planner.busy


def test_a_step_that_nobody_began_makes_it_out_of_date(
    session: Session, planner: DayPlanner, clock: Any, tmp_path: Path
) -> None:
    session.open(write(tmp_path, "a.json", painted()))
    planner.plan_now()
    wait(planner)
    clock.go(minutes=1)
    assert not planner.stale
    clock.go(minutes=2)
    assert planner.stale


def test_other_hours_make_it_out_of_date(session: Session, planner: DayPlanner, tmp_path: Path) -> None:
    session.open(write(tmp_path, "a.json", painted()))
    planner.plan_now()
    wait(planner)
    session.shop.change(replace(session.shop.shop, hours=()))
    assert planner.stale
    assert planner.never_opens
    planner.plan_now()
    wait(planner)
    (told,) = [t for t in planner.told() if t.word == "Can't fit"]
    assert told.trouble
    assert planner.plan.timetable.placed == ()


def test_an_opening_of_a_single_day_makes_it_out_of_date_and_is_planned_in(
    session: Session, planner: DayPlanner, tmp_path: Path
) -> None:
    session.open(write(tmp_path, "a.json", painted()))
    shop, day = session.shop.shop, session.now().date()
    over, ahead = (single_opening(day + timedelta(days=d), 0, 1440) for d in (-2, 0))
    session.shop.change(replace(shop, hours=(), extra=(over,)))
    assert planner.never_opens
    planner.plan_now()
    wait(planner)
    session.shop.change(replace(shop, hours=(), extra=(ahead,)))
    assert planner.stale
    assert not planner.never_opens
    planner.plan_now()
    wait(planner)
    todo = [p for p in planner.plan.timetable.placed if p.task.began_at is None]
    assert todo
    assert all(p.starts_at.date() == day for p in todo)


def test_the_newest_question_wins_and_a_stop_keeps_the_last_plan(
    session: Session, planner: DayPlanner, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session.open(write(tmp_path, "a.json", painted()))
    planner.plan_now()
    wait(planner)
    first = planner.plan
    begun, go = threading.Event(), threading.Event()
    asked: list[bool] = []
    real = dayplan.day_plan

    def slow(*args: Any, go_on: Any, **more: Any) -> Any:
        begun.set()
        assert go.wait(60)
        asked.append(go_on(0.5))
        return real(*args, go_on=go_on, **more)

    monkeypatch.setattr(dayplan, "day_plan", slow)
    planner.plan_now()
    assert begun.wait(60)
    planner.cancel()
    assert not planner.busy
    go.set()
    wait(planner)
    assert asked == [False]
    assert planner.plan is first
    begun.clear()
    go.clear()
    planner.plan_now()
    assert begun.wait(60)
    planner.plan_now()
    go.set()
    wait(planner)
    assert asked[1] is False
    assert planner.plan is not first


def test_what_goes_wrong_is_a_sentence_and_the_last_plan_stays(
    session: Session, planner: DayPlanner, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session.open(write(tmp_path, "a.json", painted()))
    planner.plan_now()
    wait(planner)
    first = planner.plan

    def broken(*_: Any, **__: Any) -> Any:
        raise OverflowError

    monkeypatch.setattr(dayplan, "day_plan", broken)
    planner.plan_now()
    wait(planner)
    assert "no calendar" in planner.trouble
    assert planner.plan is first


def test_whoever_shows_it_is_told_and_no_more_after_it_is_closed(session: Session, tmp_path: Path) -> None:
    told: list[str] = []
    session.open(write(tmp_path, "a.json", painted()))
    made = DayPlanner(session, lambda: told.append("new"), zone=UTC)
    made.plan_now()
    wait(made)
    assert told == ["new"]
    made.close(10)
    made.plan_now()
    assert not made.busy
    assert told == ["new"]


def test_two_files_of_one_job_and_title_are_told_apart(session: Session, planner: DayPlanner, tmp_path: Path) -> None:
    session.open(write(tmp_path, "a/tank.json", painted()))
    session.open(write(tmp_path, "b/tank.json", painted()))
    planner.plan_now()
    wait(planner)
    assert list(planner.plan.jobs.values()) == ["Panel (a/tank)", "Panel (b/tank)"]
    assert len(planner.plan.jobs) == len({c.job for c in planner.plan.chains}) == 2
    (told,) = [t.sentence for t in planner.told() if t.word == "Twice"]
    assert "a/tank, b/tank" in told


def test_the_plan_of_the_search_is_shown_before_the_solvers(
    session: Session, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    go, solving = threading.Event(), threading.Event()

    def slow(plan: Any, go_on: Any) -> Any:
        solving.set()
        assert go.wait(60)
        go_on(1.0)
        return replace_plan(plan)

    monkeypatch.setattr(dayplan, "can_be_solved", lambda _plan: True)
    monkeypatch.setattr(dayplan, "solved", slow)
    session.open(write(tmp_path, "a.json", painted()))
    made = DayPlanner(session, zone=UTC)
    made.plan_now()
    assert solving.wait(60)
    first = made.plan
    assert first is not None
    assert made.busy
    assert not made.stale
    go.set()
    wait(made)
    assert made.plan is not first
    assert not made.busy
    assert not made.stale
    made.close(10)


def replace_plan(plan: Any) -> Any:
    return dataclasses.replace(plan)


# --- promised ----------------------------------------------------------------------------------------


def test_a_promise_is_kept_in_the_record_and_taken_back(session: Session, planner: DayPlanner, tmp_path: Path) -> None:
    document = session.open(write(tmp_path, "a.json", painted()))
    job = planner.job_in_hand()
    assert planner.promise_of(job) == ("Panel", "")
    assert planner.promise(job, "Mon 16:00") == "Panel is promised for 2026-03-16 16:00."
    assert document.state.promised == datetime(2026, 3, 16, 16, tzinfo=UTC)
    assert planner.promise_of(job) == ("Panel", "2026-03-16 16:00")
    events = len(document.job.events)
    planner.promise(job, "Mon 16:00")
    assert len(document.job.events) == events
    planner.promise(job, " ")
    assert document.state.promised is None
    assert document.state.title == "Panel"
    with pytest.raises(Wrong, match="no day"):
        planner.promise(job, "when it is done")
    with pytest.raises(NotNow, match="not open"):
        planner.promise("elsewhere.json", "Fri")


def test_a_job_that_is_only_looked_at_is_planned_and_its_promise_stays(
    session: Session, planner: DayPlanner, tmp_path: Path
) -> None:
    document = session.open(write(tmp_path, "a.json", painted()), look_only="It is only looked at.")
    planner.plan_now()
    wait(planner)
    assert planner.plan.timetable.placed
    with pytest.raises(NotNow, match="only looked at"):
        set_promised(session, document, NOW)


@pytest.mark.parametrize(
    ("typed", "at"),
    [
        ("Fri", "2026-03-20 18:00"),
        ("friday 4 pm", "2026-03-20 16:00"),
        ("Sat", "2026-03-14 13:00"),
        ("tomorrow 3 pm", "2026-03-15 15:00"),
        ("tomorrow", "2026-03-15 18:00"),
        ("today 17:30", "2026-03-14 17:30"),
        ("4 Dec 16:00", "2026-12-04 16:00"),
        ("4 Dec", "2026-12-04 18:00"),
        ("Dec 4, 16:00", "2026-12-04 16:00"),
        ("2026-12-04", "2026-12-04 18:00"),
        ("2026-12-04 16:00", "2026-12-04 16:00"),
        ("2026-12-04T07:05", "2026-12-04 07:05"),
        ("by Tuesday noon", "2026-03-17 12:00"),
        ("Sat 7:00", "2026-03-21 07:00"),  # it is past that today
        ("next Sat", "2026-03-21 13:00"),
        ("next Fri", "2026-03-20 18:00"),
        ("8:00", "2026-03-15 08:00"),
        ("14:00", "2026-03-14 14:00"),
        ("tuesday 4pm", "2026-03-17 16:00"),
        ("Tuesday, 4 pm", "2026-03-17 16:00"),
        ("tue 4 pm", "2026-03-17 16:00"),
        ("4pm tomorrow", "2026-03-15 16:00"),
        ("4 p.m., tomorrow", "2026-03-15 16:00"),
        ("tomorrow by 4pm", "2026-03-15 16:00"),
        ("16:00 on Tuesday", "2026-03-17 16:00"),
        ("noon tuesday", "2026-03-17 12:00"),
        ("Tuesday 4", "2026-03-17 16:00"),
        ("Tuesday 8", "2026-03-17 08:00"),
        ("Tue 04:00", "2026-03-17 04:00"),
        ("Tuesday 17 March 4pm", "2026-03-17 16:00"),
        ("Sat, 14 Mar 16:00", "2026-03-14 16:00"),
        ("4pm 4 Dec", "2026-12-04 16:00"),
        ("4 Dec 4pm", "2026-12-04 16:00"),
    ],
)
def test_a_promise_is_read_as_it_is_meant(typed: str, at: str) -> None:
    week = (
        Opening(day=Weekday.FRIDAY, opens="08:00", closes="18:00"),
        Opening(day=Weekday.SATURDAY, opens="09:00", closes="13:00"),
    )
    assert promise_text(read_promise(typed, NOW, UTC, week), UTC) == at


@pytest.mark.parametrize(
    "typed", ["soon", "31 Feb", "99:99", "Fri 25:00", "2026-12-04 to 2026-12-06", "Mo", "1.2.2026", "Wed 17 Mar 16:00"]
)
def test_what_is_no_promise_is_told_in_a_sentence(typed: str) -> None:
    with pytest.raises(ValueError, match=r"\.$"):
        read_promise(typed, NOW, UTC)


@given(st.text(max_size=30))
def test_whatever_is_typed_is_a_moment_or_a_sentence(text: str) -> None:
    told, at = "", None
    try:
        at = read_promise(text, NOW, UTC)
    except ValueError as wrong:
        told = str(wrong)
    assert not told or told.endswith(".")
    assert at is None or (at.tzinfo is UTC and at < NOW + timedelta(days=5_000))


@given(st.integers(0, 2_000_000))
def test_a_promise_comes_back_from_its_text(minutes: int) -> None:
    at = NOW + timedelta(minutes=minutes)
    assert read_promise(promise_text(at, UTC), NOW, UTC) == at


def test_the_shops_figures_become_hours_and_room(session: Session) -> None:
    shop = replace(session.shop.shop, hours=WHOLE[:1], closed_days=(NOW.date(),), booths=2, hands=3)
    made = hours_of(shop, UTC)
    assert made.next_opening(NOW) == datetime(2026, 3, 16, tzinfo=UTC)
    room = room_of(shop)
    assert (room.booths, room.hands) == (2, 3)
