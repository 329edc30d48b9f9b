"""An act that is moved in time does not come to lie before what it was done to."""

from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from builders import COLOUR, PROMOTER, JobBuilder
from conftest import StillClock
from trialbuilder import PREP, TAPE, planned, prepared, rested, sprayed, strips_of
from trialdriver import open_session

from benchtool.job import events as ev
from benchtool.job.buildson import comes_too_early
from benchtool.job.record import with_events
from benchtool.job.state import fold
from benchtool.rules.engine import findings
from benchtool.session.session import NotNow, Session
from benchtool.store import jobfile

A_MINUTE = timedelta(minutes=1)


def piece() -> JobBuilder:
    bench = JobBuilder().card(PROMOTER, COLOUR).piece("shell", "abs")
    return bench.layer("promoter", PROMOTER, activator="rigid").layer("colour", COLOUR, 1)


def last_moved(bench: JobBuilder, back: timedelta) -> bool:
    """Say whether the last act is refused where it is moved back by so much."""
    last = bench.job.events[-1]
    moved = ev.Corrected(id="moved", at=bench.now, event=last.id, really_at=last.at - back)
    return comes_too_early(with_events(bench.job, moved), (last.id,))


def test_a_stirring_stays_behind_the_pours_that_it_stirred() -> None:
    bench = piece().mix("promoter", make_mL=40)
    bench.wait(minutes=2).pour("base", 20).wait(minutes=2).pour("activator", 20).wait(minutes=2).stir("activated")
    assert not last_moved(bench, 2 * A_MINUTE)
    assert last_moved(bench, 2 * A_MINUTE + timedelta(seconds=1))


def test_a_pour_stays_behind_the_pour_before_it_and_its_cup() -> None:
    bench = piece().mix("promoter", make_mL=40).wait(minutes=2).pour("base", 20)
    assert last_moved(bench, 3 * A_MINUTE)
    bench = piece().mix("promoter", make_mL=40).pour("base", 20).wait(minutes=2).pour("activator", 20)
    assert last_moved(bench, 3 * A_MINUTE)
    assert not last_moved(bench, A_MINUTE)


def test_a_coat_stays_behind_its_cup_and_the_prep_of_its_piece() -> None:
    bench = piece().prep(*PREP).wait(minutes=10).ready("promoter").wait(minutes=2).start("promoter")
    assert last_moved(bench, timedelta(hours=2))
    bench = piece().ready("promoter").wait(minutes=10).prep("tack").wait(minutes=2).start("promoter")
    assert not last_moved(bench, A_MINUTE)
    assert last_moved(bench, 3 * A_MINUTE)


def test_a_step_of_prep_that_was_forgotten_is_logged_late() -> None:
    bench = piece().prep("degrease").wait(minutes=5).ready("promoter").start("promoter").wait(minutes=1).prep("tack")
    assert not last_moved(bench, 4 * A_MINUTE)


def test_a_cup_is_not_emptied_before_it_was_sprayed_from() -> None:
    bench = piece().ready("promoter").wait(minutes=2).start("promoter").done("promoter").wait(minutes=1).empty()
    assert last_moved(bench, 2 * A_MINUTE)


def test_what_is_done_to_another_cup_or_piece_is_no_matter() -> None:
    bench = piece().mix("promoter", make_mL=40).wait(minutes=5)
    bench.mix("colour", make_mL=40).pour("base", 10, mix="m2").wait(minutes=1).pour("base", 20, mix="m1")
    assert not last_moved(bench, 3 * A_MINUTE)


def test_a_grade_stays_behind_the_paint_the_tape_and_the_ageing() -> None:
    bench = rested(sprayed(prepared(planned(JobBuilder()))))
    strip, other, *_ = strips_of(bench)
    bench.add(ev.TapePressed, trial="t1", strip=strip, method=TAPE).wait(minutes=2)
    bench.add(ev.Graded, trial="t1", strip=strip, method=TAPE, grade="5")
    assert last_moved(bench, 3 * A_MINUTE)
    bench = rested(sprayed(prepared(planned(JobBuilder()))))
    bench.add(ev.Graded, trial="t1", strip=other, method=TAPE, grade="5").wait(minutes=1)
    bench.add(ev.Graded, trial="t1", strip=strip, method=TAPE, grade="5")
    assert not last_moved(bench, 2 * A_MINUTE), "another strip"
    assert last_moved(bench, timedelta(days=4)), "before its paint"


def ageing(bench: JobBuilder, strip: str) -> JobBuilder:
    water = ev.Ageing(kind=ev.AgeingKind.WATER, lasts=timedelta(hours=1))
    return bench.add(ev.AgeingBegun, trial="t1", strips=(strip,), ageing=water).wait(hours=1)


def test_ageing_is_not_over_before_it_begun() -> None:
    bench = rested(sprayed(prepared(planned(JobBuilder()))))
    strip, *_ = strips_of(bench)
    over = partial(ev.AgeingOver, kind=ev.AgeingKind.WATER)
    ageing(bench, strip).add(over, trial="t1", strips=(strip,))  # type: ignore[arg-type]
    assert not last_moved(bench, 59 * A_MINUTE)
    assert last_moved(bench, 61 * A_MINUTE)


# --- in the session ----------------------------------------------------------------------------------------


@pytest.fixture
def session(clock: StillClock, tmp_path: Path) -> Any:
    bench = piece().mix("promoter", make_mL=40).wait(minutes=1).pour("base", 20).wait(minutes=1).pour("activator", 20)
    opened = open_session(bench.wait(minutes=2).stir("activated"), clock, tmp_path)
    yield opened
    opened.close_all()


def test_a_minute_earlier_is_refused_and_the_screen_says_what_the_file_says(session: Session) -> None:
    document = session.current
    assert document is not None
    session.shift_last_act(-A_MINUTE)
    session.shift_last_act(-A_MINUTE)
    before = document.job
    with pytest.raises(NotNow, match="in between"):
        session.shift_last_act(-A_MINUTE)
    assert document.job is before
    read = jobfile.load(document.path).job
    assert read == document.job
    mix, kept = document.state.mixes["m1"], fold(read).mixes["m1"]
    assert (mix.stood_from, mix.activated_at) == (kept.stood_from, kept.activated_at)
    now = session.now()
    assert document.findings(now, session.tables) == findings(read, fold(read), now, session.tables)


def test_a_job_file_in_which_it_was_moved_so_still_opens(clock: StillClock, tmp_path: Path) -> None:
    bench = piece().mix("promoter", make_mL=40).wait(minutes=5).pour("base", 20).pour("activator", 20).stir("activated")
    bench.correct(bench.last_id, bench.now - 10 * A_MINUTE)
    opened = open_session(bench, clock, tmp_path)
    assert opened.current is not None
    opened.close_all()
