"""What the painter says of a clock that was wrong moves what was entered by it, and nothing else."""

import math
from datetime import UTC, datetime, timedelta

import pytest
from builders import CLEAR, COLOUR, START, JobBuilder, hours, minutes
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import examples, jobs

from benchtool.job import events as ev
from benchtool.job.record import Job, as_of, entered_at, last_act, shifted, standing, with_events
from benchtool.job.state import fold
from benchtool.job.validate import faults
from benchtool.job.windows import all_windows
from benchtool.trade.windows import FOR_GOOD

HOUR = timedelta(hours=1)


def answer(job: Job, since: datetime, until: datetime, by: timedelta, at: datetime | None = None) -> Job:
    made = ev.ClockAnswered(
        id=f"a{len(job.events)}", at=at or until + by, since=since, until=until, by_s=by.total_seconds()
    )
    return with_events(job, made)


def times(job: Job) -> list[datetime]:
    return [e.at for _, e in standing(job.events)]


def two_days() -> JobBuilder:
    """A base coat yesterday, a clear today."""
    bench = JobBuilder().card(COLOUR, CLEAR).piece("tank")
    bench.layer("base", COLOUR, coats=1).layer("clear", CLEAR, coats=2, activator="slow")
    bench.ready("base").coat("base").wait(hours=20)
    return bench.start("clear", mix=None).wait(minutes=6).done("clear").wait(minutes=4)


def test_what_was_entered_in_that_time_moves_and_what_was_before_stays() -> None:
    bench = two_days()
    before = times(bench.job)
    since = bench.now - HOUR
    moved = times(answer(bench.job, since, bench.now, -HOUR))
    assert moved == [at - HOUR if at >= since else at for at in before] + [bench.now - HOUR]
    assert moved[0] == before[0] == START
    assert moved[-2] == before[-1] - HOUR


def test_both_ends_of_that_time_count() -> None:
    bench = JobBuilder().card(CLEAR)
    first = bench.now
    bench.wait(minutes=1).card(CLEAR).wait(minutes=1).card(CLEAR)
    second = first + minutes(1)
    assert times(answer(bench.job, second, second, HOUR))[:3] == [first, second + HOUR, first + minutes(2)]


def test_what_is_entered_after_the_answer_stays() -> None:
    bench = two_days()
    job = answer(bench.job, START, bench.now, HOUR)
    later = ev.PrepDone(id="p1", at=bench.now, piece="tank", step=ev.Prep.TACK)
    assert times(with_events(job, later))[-1] == bench.now


def test_answers_follow_one_another_each_by_the_clock_of_its_time() -> None:
    bench = two_days()
    before = times(bench.job)
    once = answer(bench.job, START, bench.now, -HOUR)
    # by the clock after the first answer all lies an hour earlier
    twice = answer(once, START - HOUR, bench.now - HOUR, 3 * HOUR)
    assert times(twice) == [*(at + 2 * HOUR for at in before), bench.now + 2 * HOUR, bench.now + 2 * HOUR]
    missed = answer(once, START, bench.now - HOUR, 3 * HOUR)
    assert times(missed)[0] == before[0] - HOUR


def test_an_answer_that_is_undone_moves_nothing_and_done_again_moves_again() -> None:
    bench = two_days()
    job = answer(bench.job, START, bench.now, -HOUR)
    (last,) = last_act(job)
    assert isinstance(last, ev.ClockAnswered)
    undone = with_events(job, ev.Withdrawn(id="w1", at=bench.now, events=(last.id,)))
    assert times(undone) == times(bench.job)
    assert all_windows(fold(undone)) == all_windows(fold(bench.job))
    again = with_events(undone, ev.Withdrawn(id="w2", at=bench.now, events=("w1",)))
    assert times(again) == times(job)


def test_a_correction_goes_by_when_its_event_was_entered() -> None:
    bench = two_days()
    done = bench.last_id
    since = bench.now - minutes(8)
    bench.correct(done, since - minutes(1))
    corrected = dict(standing(bench.job.events))
    (place,) = (i for i, e in corrected.items() if e.id == done)
    moved = dict(standing(answer(bench.job, since, bench.now, HOUR).events))
    assert moved[place].at == corrected[place].at + HOUR


def test_a_correction_made_after_the_answer_is_by_the_new_clock() -> None:
    bench = two_days()
    done = bench.last_id
    job = answer(bench.job, START, bench.now, HOUR)
    job = with_events(job, ev.Corrected(id="c1", at=bench.now + HOUR, event=done, really_at=bench.now + minutes(50)))
    assert next(e.at for _, e in standing(job.events) if e.id == done) == bench.now + minutes(50)


def test_what_was_expected_of_the_air_goes_along() -> None:
    bench = two_days()
    points = (
        ev.CoursePoint(at=bench.now + hours(3), air_degC=8.0),
        ev.CoursePoint(at=bench.now + hours(9), air_degC=20.0),
    )
    bench.add(ev.CourseExpected, points=points)
    job = answer(bench.job, START, bench.now, -HOUR)
    course = next(e for _, e in standing(job.events) if isinstance(e, ev.CourseExpected))
    assert [p.at for p in course.points] == [p.at - HOUR for p in points]


def test_readings_go_along_so_that_the_air_of_a_wait_stays_its_own() -> None:
    bench = two_days()
    bench.read_air(12.0, 60.0).wait(minutes=1)
    since = bench.now - HOUR
    before, after = fold(bench.job), fold(answer(bench.job, since, bench.now, HOUR))
    assert after.air.at(bench.now + HOUR) == before.air.at(bench.now)
    assert after.air.at(bench.now) is None


def test_the_record_as_of_a_moment_goes_by_the_clock_that_was_right() -> None:
    bench = two_days()
    job = answer(bench.job, START, bench.now, -HOUR)
    now = bench.now - HOUR
    assert as_of(job, now) == job
    then = as_of(job, now - minutes(5))  # before the coat was done, and before the answer
    assert times(then)[:-1] == [at - HOUR for at in times(bench.job)][:-1]
    assert fold(then).layers["clear"].open_coat is not None
    assert fold(then).newest is not None
    assert fold(then).newest[1].at <= now - minutes(5)


# --- what can't be ---------------------------------------------------------------------------------


@pytest.mark.parametrize("by_s", [math.nan, math.inf, -math.inf, 1e10, -1e10])
def test_a_clock_that_is_off_by_what_no_clock_is_is_refused_and_moves_nothing(by_s: float) -> None:
    bench = two_days()
    event = ev.ClockAnswered(id="a1", at=bench.now, since=START, until=bench.now, by_s=by_s)
    job = with_events(bench.job, event)
    assert [f.path for f in faults(job)] == [f"$.events[{len(bench.job.events)}].by_s"]
    assert times(job)[:-1] == times(bench.job)


def test_a_time_that_ends_before_it_begins_is_refused() -> None:
    bench = two_days()
    job = answer(bench.job, bench.now, START, HOUR, at=bench.now)
    assert [f.path for f in faults(job)] == [f"$.events[{len(bench.job.events)}].until"]


def test_acts_moved_out_of_the_calendar_are_refused_and_crash_nothing() -> None:
    bench = two_days()
    job = bench.job
    for _ in range(60):
        job = answer(job, datetime(1970, 1, 1, tzinfo=UTC), datetime(8999, 1, 1, tzinfo=UTC), timedelta(days=73_000))
        job = replace(job, events=(*job.events[:-1], replace(job.events[-1], at=bench.now)))
    assert any("no such time" in f.message for f in faults(job))
    assert fold(job).layers


def test_coats_put_out_of_their_order_are_refused() -> None:
    bench = two_days()
    job = answer(bench.job, bench.now - minutes(5), bench.now, -HOUR)  # the end of the coat before its start
    assert any("before it started" in f.message for f in faults(job))


# --- laws ------------------------------------------------------------------------------------------


@examples(60)
@given(jobs(), st.timedeltas(timedelta(days=-2_000), timedelta(days=2_000)))
def test_a_whole_job_that_moves_keeps_its_windows(job: Job, by: timedelta) -> None:
    entered = entered_at(job.events)
    moved = answer(job, min(entered), max(entered), by)
    before, after = all_windows(fold(job)), all_windows(fold(moved))
    assert [w.key for w in after] == [w.key for w in before]
    for old, new in zip(before, after, strict=True):
        assert new.span.started_at == old.span.started_at + by
        for then, now in ((old.span.opens_at, new.span.opens_at), (old.span.closes_at, new.span.closes_at)):
            if then is None or now is None or FOR_GOOD in (then, now):
                assert then == now
            else:
                assert abs(now - then - by) <= timedelta(milliseconds=1)


@examples(60)
@given(jobs())
def test_answers_undone_leave_the_job_as_if_they_had_never_been_given(job: Job) -> None:
    given_ = [e.id for e in job.events if isinstance(e, ev.ClockAnswered)]
    bare = replace(job, events=tuple(e for e in job.events if e.id not in given_))
    if not given_:
        return
    undone = with_events(job, ev.Withdrawn(id="all", at=job.events[-1].at, events=tuple(given_)))
    assert [e for _, e in standing(undone.events)] == [e for _, e in standing(bare.events)]


@examples(60)
@given(jobs(), st.timedeltas(timedelta(days=-3_000), timedelta(days=3_000)))
def test_a_job_that_is_shifted_keeps_its_answers(job: Job, by: timedelta) -> None:
    assert entered_at(shifted(job, by).events) == tuple(at + by for at in entered_at(job.events))
    assert times(shifted(job, by)) == [at + by for at in times(job)]


@examples(60)
@given(jobs())
def test_the_record_as_of_its_end_is_the_record(job: Job) -> None:
    end = max(entered_at(job.events))
    state = fold(as_of(job, end))
    assert [e for _, e in standing(as_of(job, end).events)] == [e for _, e in standing(job.events)]
    assert all_windows(state) == all_windows(fold(job))
