"""The demo of a finished job: done by the book, so that its sheets and figures show what a good record looks like."""

from datetime import UTC, datetime

import pytest

from benchtool.job.care import care_times, finished_at
from benchtool.job.events import JobDescribed, WaiverSigned
from benchtool.job.state import fold
from benchtool.job.validate import faults
from benchtool.rules.engine import every, findings
from benchtool.rules.finding import Severity
from benchtool.session.demo import DEMOS, FINISHED_DEMO, demo_job
from benchtool.session.tables import load_tables

NOW = datetime(2026, 6, 1, 9, 0, tzinfo=UTC)


@pytest.mark.parametrize("name", DEMOS)
def test_every_demo_says_that_it_is_one_and_is_sound(name: str) -> None:
    job = demo_job(NOW, name)
    assert job.demo
    assert job.note.startswith("A demo.")
    assert list(faults(job)) == []
    assert max(e.at for e in job.events) < NOW


def test_the_finished_demo_is_finished_and_nothing_in_it_is_a_stop() -> None:
    job = demo_job(NOW, FINISHED_DEMO)
    state = fold(job)
    assert all(finished_at(piece) is not None for piece in state.painted)
    assert {f.severity for f in every(findings(job, state, NOW, load_tables())) if not f.waived} <= {Severity.NOTE}
    assert any(isinstance(e, WaiverSigned) for e in job.events)


def test_its_care_times_are_all_known() -> None:
    state = fold(demo_job(NOW, FINISHED_DEMO))
    for piece in state.painted:
        assert len(care_times(state, piece).uses) == 6


def test_what_a_demo_promises_moves_with_its_times() -> None:
    before, after = demo_job(None, FINISHED_DEMO), demo_job(NOW, FINISHED_DEMO)
    (told, moved) = ([e.promised for e in job.events if isinstance(e, JobDescribed)] for job in (before, after))
    assert [p is None for p in moved] == [p is None for p in told]
    last, now_last = max(e.at for e in before.events), max(e.at for e in after.events)
    left = [p - last for p in told if p is not None]
    assert left
    assert [p - now_last for p in moved if p is not None] == left
