"""A job described: its name, its customer, and the day it is promised for, as painters write days."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from builders import JobBuilder
from hypothesis import given
from hypothesis import strategies as st
from strategies import examples

from benchtool.job import events as ev
from benchtool.session import jobtext
from benchtool.session.cardfields import Wrong
from benchtool.session.jobtext import JobText, describe, read_promised, write_job, write_promised
from benchtool.session.session import NotNow, Session
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.trade.quantities import Measures

SATURDAY = datetime(2026, 3, 14, 9, 0, tzinfo=UTC)
EAST = timezone(timedelta(hours=2))


@pytest.mark.parametrize(
    ("typed", "day"),
    [
        ("2026-03-20", (2026, 3, 20, 17, 0)),
        ("2026-03-20 16:00", (2026, 3, 20, 16, 0)),
        ("2026-03-20T08:30", (2026, 3, 20, 8, 30)),
        ("20 March", (2026, 3, 20, 17, 0)),
        ("20. mar. 2027", (2027, 3, 20, 17, 0)),
        ("March 20, 16.00", (2026, 3, 20, 16, 0)),
        ("mar 20th", (2026, 3, 20, 17, 0)),
        ("14 March", (2026, 3, 14, 17, 0)),
        ("13 March", (2027, 3, 13, 17, 0)),
        ("Friday", (2026, 3, 20, 17, 0)),
        ("fri at 9:15", (2026, 3, 20, 9, 15)),
        ("saturday", (2026, 3, 21, 17, 0)),
        ("today", (2026, 3, 14, 17, 0)),
        ("Tomorrow, 12:00", (2026, 3, 15, 12, 0)),
        ("in 5 days", (2026, 3, 19, 17, 0)),
        ("in 1 day", (2026, 3, 15, 17, 0)),
        ("tuesday 4pm", (2026, 3, 17, 16, 0)),
        ("Tue, 4 pm", (2026, 3, 17, 16, 0)),
        ("4pm tomorrow", (2026, 3, 15, 16, 0)),
        ("next wednesday", (2026, 3, 18, 17, 0)),
        ("next Saturday", (2026, 3, 21, 17, 0)),
        ("next wed 4 pm", (2026, 3, 18, 16, 0)),
        ("20 March 4 pm", (2026, 3, 20, 16, 0)),
    ],
)
def test_days_are_read_as_painters_write_them(typed: str, day: tuple[int, int, int, int, int]) -> None:
    assert read_promised(typed, SATURDAY, UTC) == datetime(*day, tzinfo=UTC)


def test_next_wednesday_is_the_one_after_the_coming_sunday() -> None:
    monday = SATURDAY - timedelta(days=5)
    assert read_promised("wednesday", monday, UTC) == datetime(2026, 3, 11, 17, 0, tzinfo=UTC)
    assert read_promised("next wednesday", monday, UTC) == datetime(2026, 3, 18, 17, 0, tzinfo=UTC)
    assert read_promised("by next wed 4 pm", monday, UTC) == datetime(2026, 3, 18, 16, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    "typed", ["3/4", "soon", "31 February", "2026-13-01", "20 Foo", "25:99", "ma 20", "in days", "12"]
)
def test_what_is_no_day_or_may_be_two_is_said(typed: str) -> None:
    with pytest.raises(ValueError, match="is no day: write 2026-03-20"):
        read_promised(typed, SATURDAY, UTC)


def test_nothing_typed_promises_nothing() -> None:
    assert read_promised("  ", SATURDAY, UTC) is None


def test_a_day_is_one_of_the_shops_own_zone() -> None:
    late = datetime(2026, 3, 14, 23, 0, tzinfo=UTC)  # already the 15th two hours east
    assert read_promised("today", late, EAST) == datetime(2026, 3, 15, 15, 0, tzinfo=UTC)


@given(at=st.datetimes(datetime(2000, 1, 1), datetime(2099, 12, 31), timezones=st.just(UTC)))  # noqa: DTZ001
@examples(60)
def test_what_is_written_is_read_again_to_the_minute(at: datetime) -> None:
    minute = at.replace(second=0, microsecond=0)
    assert read_promised(write_promised(at, EAST), SATURDAY, EAST) == minute


@pytest.fixture
def session(clock: Any, tmp_path: Path) -> Iterator[Session]:
    path = tmp_path / "job.json"
    jobfile.save(path, JobBuilder().add(ev.JobDescribed, title="Panels", note="two\nlines").job)
    made = Session(clock, load_tables(), Measures())
    made.open(path)
    yield made
    made.close_all()


def test_a_job_gets_its_customer_and_day_in_one_act(session: Session) -> None:
    assert session.current is not None
    text = JobText(title=" Side  panels ", customer="Ann", promised="2026-03-20 16:00", note="two lines")
    drafts = describe(session, text)
    assert len(session.apply(*drafts)) == 1
    state = session.current.state
    assert (state.title, state.customer, state.note) == ("Side panels", "Ann", "two\nlines")
    assert state.promised == jobtext.read_promised("2026-03-20 16:00", session.now())
    assert describe(session, write_job(state)) == ()


def test_a_promised_second_survives_a_change_of_something_else(session: Session) -> None:
    assert session.current is not None
    exact = datetime(2026, 3, 20, 16, 0, 30, tzinfo=UTC)
    session.apply(partial(ev.JobDescribed, title="Panels", promised=exact))
    text = write_job(session.current.state)
    session.apply(*describe(session, JobText(title="Other", promised=text.promised)))
    assert (session.current.state.title, session.current.state.promised) == ("Other", exact)


def test_each_field_at_fault_is_named(session: Session) -> None:
    with pytest.raises(Wrong) as wrong:
        describe(session, JobText(title=" ", customer="x" * 201, promised="3/4"))
    assert [key for key, _ in wrong.value.faults] == ["title", "customer", "promised"]


def test_without_a_job_there_is_nothing_to_describe(clock: Any) -> None:
    with pytest.raises(NotNow):
        describe(Session(clock, load_tables(), Measures()), JobText(title="x"))
