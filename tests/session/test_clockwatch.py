"""One question where the time can't be known, and windows that keep what they have left whatever is answered."""

import os
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR, COLOUR
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from laptop import Laptop
from strategies import examples

from benchtool.job import events as ev
from benchtool.job.record import standing
from benchtool.rules.record import SLACK
from benchtool.session.cardfields import Wrong
from benchtool.session.clock import SystemClock
from benchtool.session.clockanswers import read_moment
from benchtool.session.clockwatch import ClockWatch, Kind, Question
from benchtool.session.session import Document, NotNow, Session
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.trade.quantities import Measures
from benchtool.trade.substrates import Flex
from benchtool.trade.windows import Phase

TABLES, MEASURES = load_tables(), Measures()
BATTERY_DEAD = datetime(1970, 1, 1, 0, 5, tzinfo=UTC)


class Bench:
    """The tool on a laptop: started, closed, killed and started again in one folder."""

    def __init__(self, laptop: Laptop, folder: Path) -> None:
        self.laptop, self.folder = laptop, folder
        self.start()

    def start(self) -> None:
        self.clock = SystemClock(self.folder / "clock.json")
        self.session = Session(self.clock, TABLES, MEASURES)
        self.watch = ClockWatch(self.session)

    def look(self) -> Question | None:
        return self.watch.look(self.session.now())

    def asked(self) -> Question:
        question = self.look()
        assert question is not None
        assert self.look() is question
        return question

    def job(self, name: str = "tank") -> Document:
        """Plan a tank with a colour and a two-part clear."""
        made = self.session.create(self.folder / f"{name}.json", name.title())
        piece = ev.Piece(id="p", name="Tank", substrate="steel", known=ev.Known.TOLD, flex=Flex.RIGID)
        self.session.apply(partial(ev.CardCopied, card=COLOUR), partial(ev.CardCopied, card=CLEAR))
        self.session.apply(
            partial(ev.PieceAdded, piece=piece),
            partial(ev.LayerAdded, piece="p", layer=ev.Layer(id="base", card=COLOUR.id, coats=2)),
            partial(ev.LayerAdded, piece="p", layer=ev.Layer(id="clear", card=CLEAR.id, coats=2, activator="slow")),
        )
        return made

    def coat(self, layer: str = "base", **takes: float) -> None:
        self.session.apply(partial(ev.CoatStarted, layer=layer))
        self.laptop.go(**(takes or {"minutes": 2}))
        self.session.apply(partial(ev.CoatDone, layer=layer))

    def leave(self) -> None:
        self.look()
        self.session.close_all()

    def again(self, *names: str) -> None:
        """Start the tool again, and open these jobs."""
        self.leave()
        self.start()
        for name in names:
            self.session.open(self.folder / f"{name}.json")

    def reboot(self, *names: str, wall: datetime | None = None, set_by: timedelta = timedelta(0), **off: float) -> None:
        """Close the tool, switch the laptop off for so long and on again, set its clock, and open these jobs."""
        self.leave()
        self.laptop.restart(wall, **off)
        self.laptop.wall += set_by.total_seconds()
        self.start()
        for name in names:
            self.session.open(self.folder / f"{name}.json")

    def left(self, document: Document | None = None) -> list[float | None]:
        found = document or self.session.current
        assert found is not None
        return [w.span.remaining_s(self.session.now()) for w in found.windows]


@pytest.fixture
def laptop(monkeypatch: pytest.MonkeyPatch) -> Laptop:
    return Laptop(monkeypatch)


@pytest.fixture(autouse=True)
def _utc(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    held = os.environ.get("TZ")
    os.environ["TZ"] = "UTC"
    if hasattr(time, "tzset"):
        time.tzset()
    yield
    os.environ.pop("TZ", None) if held is None else os.environ.__setitem__("TZ", held)
    if hasattr(time, "tzset"):
        time.tzset()


@pytest.fixture
def bench(laptop: Laptop, tmp_path: Path) -> Iterator[Bench]:
    made = Bench(laptop, tmp_path)
    yield made
    made.session.close_all()


def near(now: list[float | None], then: list[float | None], within: float = 1e-3) -> bool:
    return len(now) == len(then) and all(
        a == b or (a is not None and b is not None and abs(a - b) < within) for a, b in zip(now, then, strict=True)
    )


def answers(document: Document) -> list[ev.ClockAnswered]:
    return [e for _, e in standing(document.job.events) if isinstance(e, ev.ClockAnswered)]


# --- nothing to ask --------------------------------------------------------------------------------


def quiet_night(laptop: Laptop) -> None:
    laptop.sleep(hours=9)


def corrected(laptop: Laptop) -> None:
    laptop.set_clock(seconds=-90)


def abroad(laptop: Laptop) -> None:
    os.environ["TZ"] = "America/New_York"
    time.tzset()


@pytest.mark.parametrize("what", [quiet_night, corrected, abroad])
def test_sleep_a_small_correction_and_another_zone_are_no_question(
    bench: Bench, laptop: Laptop, what: Callable[[Laptop], None]
) -> None:
    bench.job()
    bench.coat()
    document = bench.session.documents[0]
    before, now, boot = document.windows, bench.session.now(), laptop.boot
    what(laptop)
    assert bench.look() is None
    assert (bench.session.now() - now).total_seconds() == pytest.approx(laptop.boot - boot, abs=1e-3)
    assert document.windows == before
    assert not answers(document)


def test_nine_hours_asleep_are_nine_hours(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    bench.coat()
    start = bench.session.now()
    laptop.sleep(hours=9)
    assert bench.look() is None
    assert bench.session.now() - start == timedelta(hours=9)


def test_a_restart_with_a_clock_that_is_right_is_no_question(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    bench.coat()
    bench.reboot("tank", hours=9)
    assert bench.look() is None


def test_without_a_job_a_step_waits(bench: Bench, laptop: Laptop) -> None:
    laptop.set_clock(hours=1)
    assert bench.look() is None
    bench.job()
    assert bench.asked().kind is Kind.STEPPED


# --- the clock is set while the tool runs ----------------------------------------------------------


def test_set_back_an_hour_the_painter_says_as_it_was(bench: Bench, laptop: Laptop) -> None:
    document = bench.job()
    bench.coat()
    laptop.set_clock(hours=-1)
    question = bench.asked()
    assert question.text == (
        "The laptop's clock was set back 1 h. The countdowns run on as they were. Which time is right?"
    )
    assert question.answers == ("09:02, as it was", "08:02, as the laptop says now")
    before = bench.left()
    assert bench.watch.answer(question, 0).startswith("It is 09:02, as it was")
    assert near(bench.left(), before)
    assert bench.look() is None
    (event,) = answers(document)
    assert event.by_s == 0
    assert "08:02" in event.words
    bench.again("tank")
    assert bench.look() is None
    assert near(bench.left(), before)


def test_set_back_an_hour_the_painter_says_as_the_laptop_says(bench: Bench, laptop: Laptop) -> None:
    document = bench.job()
    bench.coat()
    laptop.set_clock(hours=-1)
    before, was = bench.left(), bench.session.now()
    question = bench.asked()
    bench.watch.answer(question, 1)
    assert bench.session.now() == was - timedelta(hours=1) == laptop.shows
    assert near(bench.left(), before)
    assert bench.look() is None
    assert [e.by_s for e in answers(document)] == [-3600.0]
    assert all(e.at <= bench.session.now() for _, e in standing(document.job.events))
    bench.coat()
    assert not document.unsaved
    with pytest.raises(NotNow, match="settled"):
        bench.watch.answer(question, 1)
    left = bench.left()
    bench.again("tank")
    assert near(bench.left(), left)
    assert bench.look() is None


def test_a_clock_wrong_at_the_first_start_and_set_right_later_is_asked_about(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    laptop.set_clock(hours=3)
    bench.again("tank")
    question = bench.asked()
    assert "set forward 3 h" in question.text
    bench.watch.answer(question, 1)
    assert bench.session.now() == laptop.shows


def test_every_open_job_moves_and_one_that_is_only_looked_at_does_not(bench: Bench, laptop: Laptop) -> None:
    first = bench.job("tank")
    bench.coat()
    second = bench.job("fender")
    bench.coat()
    third = bench.job("lamp")
    bench.coat()
    third.read_only = "Somebody else has it open."
    laptop.set_clock(hours=2)
    before = [bench.left(d) for d in (first, second)]
    bench.watch.answer(bench.asked(), 1)
    assert near(bench.left(first), before[0])
    assert near(bench.left(second), before[1])
    assert answers(first)
    assert answers(second)
    assert not answers(third)
    assert bench.session.current is third
    for document in (first, second):
        assert jobfile.load(document.path).job == document.job
    third.read_only = ""


def test_a_job_that_can_not_be_saved_is_saved_later(bench: Bench, laptop: Laptop, full_disk: Any) -> None:
    document = bench.job()
    bench.coat()
    laptop.set_clock(hours=1)
    with full_disk():
        bench.watch.answer(bench.asked(), 1)
    assert "full" in document.unsaved
    laptop.go(seconds=20)
    bench.session.tick()
    assert not document.unsaved
    assert jobfile.load(document.path).job == document.job


def test_entries_of_an_earlier_start_move_too_where_they_would_else_be_overtaken(bench: Bench, laptop: Laptop) -> None:
    document = bench.job()
    bench.coat()
    bench.reboot("tank", minutes=5)
    bench.coat()
    document = bench.session.documents[0]
    before = bench.left()
    laptop.set_clock(hours=-1)
    bench.watch.answer(bench.asked(), 1)
    assert near(bench.left(), before)
    times = [e.at for _, e in standing(document.job.events)]
    assert times == sorted(times)
    assert times[-1] <= bench.session.now()


def test_no_act_comes_to_lie_before_one_that_it_followed(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    bench.session.apply(partial(ev.PrepDone, piece="p", step=ev.Prep.DEGREASE))
    bench.reboot("tank", minutes=5)
    bench.session.apply(partial(ev.PrepDone, piece="p", step=ev.Prep.TACK))
    laptop.set_clock(hours=-1)
    bench.watch.answer(bench.asked(), 1)
    times = [e.at for _, e in standing(bench.session.documents[0].job.events)]
    assert times == sorted(times)


def test_set_back_twice_the_entries_move_twice(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    bench.coat()
    for _ in range(2):
        laptop.go(minutes=3)
        laptop.set_clock(hours=-8)
        before = bench.left()
        bench.watch.answer(bench.asked(), 1)
        assert near(bench.left(), before)


def test_yesterdays_entries_stay_where_they_are(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    bench.coat()
    done = bench.session.now()
    bench.reboot("tank", hours=15)
    bench.coat()
    laptop.set_clock(hours=-1)
    bench.watch.answer(bench.asked(), 1)
    layer = bench.session.documents[0].state.layers["base"]
    assert layer.coats[0].done_at == done
    assert layer.coats[1].done_at == bench.session.now()


def test_a_clock_set_and_set_right_again_is_asked_about_no_more(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    laptop.set_clock(hours=-1)
    question = bench.asked()
    laptop.set_clock(hours=1)
    assert bench.look() is None
    with pytest.raises(NotNow, match="settled"):
        bench.watch.answer(question, 0)


def test_a_second_step_is_another_question(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    laptop.set_clock(hours=-1)
    question = bench.asked()
    laptop.set_clock(hours=-1)
    again = bench.asked()
    assert again is not question
    assert "set back 2 h" in again.text
    bench.watch.answer(again, 0)
    laptop.set_clock(minutes=30)
    assert "set forward 30 min" in bench.asked().text


def test_an_open_coat_may_be_done_after_the_answer(bench: Bench, laptop: Laptop) -> None:
    document = bench.job()
    bench.session.apply(partial(ev.CoatStarted, layer="base"))
    laptop.set_clock(hours=-1)
    bench.watch.answer(bench.asked(), 1)
    bench.session.apply(partial(ev.CoatDone, layer="base"))
    assert not document.unsaved
    assert jobfile.load(document.path).job == document.job


# --- an answer is taken back -----------------------------------------------------------------------


@pytest.mark.parametrize("index", [0, 1])
def test_an_undo_restores_the_clock_and_asks_again_and_a_redo_answers_again(
    bench: Bench, laptop: Laptop, index: int
) -> None:
    bench.job("other")
    bench.coat()
    bench.job()
    bench.coat()
    laptop.set_clock(hours=-1)
    before = [bench.left(d) for d in bench.session.documents]
    was = bench.session.now()
    bench.watch.answer(bench.asked(), index)
    answered = bench.session.now()
    bench.session.undo()
    again = bench.asked()
    assert again.kind is Kind.STEPPED
    assert bench.session.now() == was
    assert all(near(bench.left(d), x) for d, x in zip(bench.session.documents, before, strict=True))
    bench.session.redo()
    assert bench.look() is None
    assert bench.session.now() == answered
    assert all(near(bench.left(d), x) for d, x in zip(bench.session.documents, before, strict=True))
    assert not any(d.unsaved for d in bench.session.documents)


def test_a_slip_of_the_hand_in_a_typed_time_is_undone(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    bench.coat()
    bench.reboot("tank", wall=BATTERY_DEAD)
    held = bench.session.now()
    bench.watch.answer_time(bench.asked(), "15 Mar 2026 8:45")
    assert bench.session.now() == datetime(2026, 3, 15, 8, 45, tzinfo=UTC)
    bench.session.undo()
    assert bench.asked().takes_time
    assert bench.session.now() == held
    bench.watch.answer_time(bench.asked(), "14 Mar 20:45")
    assert bench.session.now() == datetime(2026, 3, 14, 20, 45, tzinfo=UTC)
    assert bench.look() is None


# --- not to be known: the laptop started with a wrong clock ----------------------------------------


def test_a_dead_battery_asks_what_time_it_really_is(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    bench.coat()
    before = bench.left()
    bench.reboot("tank", wall=BATTERY_DEAD)
    question = bench.asked()
    assert question.text.startswith(
        "The laptop's clock says 1 Jan 1970 00:05, but the last entry here is of 14 Mar 2026 09:02. "
        "What time is it really?"
    )
    assert question.note.startswith("Until you say, the waits run on")
    assert question.answers == ()
    assert question.takes_time
    # until it is answered: nothing is claimed over, and nothing hangs
    assert near(bench.left(), before)
    laptop.go(minutes=4)
    assert near(bench.left(), [x - 240 if x is not None else None for x in before])
    document = bench.session.documents[0]
    assert document.windows[0].phase(bench.session.now()) is Phase.WAITING
    assert not [f for f in document.findings(bench.session.now(), TABLES) if f.rule == "record.clock-behind"]
    said = bench.watch.answer_time(question, "18:45")
    assert said.startswith("It is 14 Mar 2026 18:45.")
    assert bench.session.now() == datetime(2026, 3, 14, 18, 45, tzinfo=UTC)
    assert bench.look() is None
    (event,) = answers(document)
    assert event.by_s == 0
    assert event.words == "It is 14 Mar 2026 18:45; the laptop's clock says 1 Jan 1970 00:09"
    assert document.windows[0].phase(bench.session.now()) is not Phase.WAITING
    bench.again("tank")
    assert bench.look() is None
    assert bench.session.now() == datetime(2026, 3, 14, 18, 45, tzinfo=UTC)


def test_what_was_entered_before_the_answer_happened_just_now(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    bench.reboot("tank", wall=BATTERY_DEAD)
    question = bench.asked()
    bench.coat()
    before = bench.left()
    bench.watch.answer_time(question, "14 Mar 2026 18:45")
    assert near(bench.left(), before)
    assert bench.session.documents[0].state.layers["base"].coats[0].done_at == bench.session.now()


def test_a_time_service_that_comes_later_settles_it(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    bench.coat()
    bench.reboot("tank", wall=BATTERY_DEAD)
    bench.asked()
    laptop.wall = datetime(2026, 3, 14, 19, 0, tzinfo=UTC).timestamp()
    assert bench.look() is None
    assert bench.session.now() == laptop.shows


def test_a_time_service_that_comes_after_an_entry_asks(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    bench.reboot("tank", wall=BATTERY_DEAD)
    bench.asked()
    bench.coat()
    before = bench.left()
    laptop.wall = datetime(2026, 3, 14, 19, 0, tzinfo=UTC).timestamp()
    question = bench.asked()
    assert question.answers == ("Yes, it is 19:00",)
    bench.watch.answer(question, 0)
    assert near(bench.left(), before)
    assert bench.session.now() == laptop.shows
    assert bench.look() is None


def test_a_clock_set_back_while_the_laptop_was_off(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    bench.coat()
    before = bench.left()
    bench.reboot("tank", minutes=10, set_by=timedelta(hours=-1))
    question = bench.asked()
    assert "last entry here is of 09:02" in question.text
    assert question.answers == ("Yes, it is 08:12",)
    assert near(bench.left(), before)
    bench.watch.answer(question, 0)
    assert bench.session.now() == laptop.shows
    document = bench.session.documents[0]
    # an entry can't have happened later than now: the record moves, and nobody is locked out
    assert max(e.at for _, e in standing(document.job.events)) == bench.session.now()
    assert near(bench.left(), before)
    bench.coat()
    assert not document.unsaved
    assert document.state.layers["base"].last_done is not None
    assert document.state.layers["base"].last_done.done_at == bench.session.now()
    assert bench.look() is None


def test_entries_years_ahead_lock_nobody_out(bench: Bench, laptop: Laptop) -> None:
    """The clock ran nine years ahead for a day, and is right again."""
    bench.job()
    bench.coat()
    bench.reboot("tank", wall=datetime(2035, 1, 5, 10, tzinfo=UTC))
    bench.watch.answer(bench.asked(), 0)  # said by mistake
    bench.coat()
    bench.reboot("tank", wall=datetime(2026, 3, 15, 9, tzinfo=UTC))
    bench.watch.answer_time(bench.asked(), "15 Mar 2026 9:00")
    document = bench.session.documents[0]
    layer = document.state.layers["base"]
    assert layer.coats[1].done_at is not None
    assert layer.coats[1].done_at <= bench.session.now()
    assert layer.coats[0].done_at == datetime(2026, 3, 14, 9, 2, tzinfo=UTC)
    assert not document.unsaved
    bench.session.apply(partial(ev.CoatStarted, layer="clear"))
    assert bench.session.documents[0].job.events[-1].at == bench.session.now()


def test_a_job_from_the_future_is_asked_about_when_it_is_opened(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    bench.coat()
    bench.leave()
    (bench.folder / "clock.json").unlink()
    laptop.set_clock(days=-2)
    laptop.restart(hours=1)
    bench.start()
    assert bench.look() is None
    bench.session.open(bench.folder / "tank.json")
    question = bench.asked()
    assert "12 Mar 10:02" in question.text
    assert bench.session.now() == datetime(2026, 3, 14, 9, 2, 0, 1_000, tzinfo=UTC)
    bench.watch.answer_time(question, "14 Mar 10:30")
    assert bench.session.now() == datetime(2026, 3, 14, 10, 30, tzinfo=UTC)
    assert bench.look() is None


def test_a_leap_of_years_is_asked_about_and_yes_is_one_answer(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    bench.coat()
    before = bench.left()
    bench.reboot("tank", wall=datetime(2035, 1, 5, 10, tzinfo=UTC))
    question = bench.asked()
    assert question.text.startswith(
        "The laptop's clock says 5 Jan 2035 10:00, but the last entry here is of 14 Mar 2026 09:02."
    )
    assert question.answers == ("Yes, it is 5 Jan 2035 10:00",)
    assert near(bench.left(), before)
    bench.watch.answer(question, 0)
    assert bench.session.now() == laptop.shows
    assert bench.look() is None
    bench.again("tank")
    assert bench.look() is None


def test_a_leap_that_is_noticed_after_an_entry_leaves_that_entry_its_window(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    bench.coat()
    bench.reboot(wall=datetime(2035, 1, 5, 10, tzinfo=UTC))
    fresh = bench.job("fender")
    bench.coat()
    before = bench.left(fresh)
    bench.session.open(bench.folder / "tank.json")
    question = bench.asked()
    assert not question.note
    assert near(bench.left(fresh), before)
    bench.watch.answer(question, 0)
    assert bench.look() is None
    assert near(bench.left(fresh), before)


def test_a_job_of_last_year_is_opened_without_a_word_where_the_bench_was_used_since(
    bench: Bench, laptop: Laptop
) -> None:
    bench.job()
    bench.coat()
    for _ in range(8):
        bench.reboot(days=50)
        assert bench.look() is None
    bench.reboot("tank", days=1)
    assert bench.look() is None


def test_a_finished_job_of_last_year_asks_nothing(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    for layer in ("base", "base", "clear", "clear"):
        bench.coat(layer)
        laptop.go(hours=1)
    bench.reboot("tank", days=400)
    assert bench.look() is None


def test_a_demo_says_nothing_of_the_time(bench: Bench, laptop: Laptop) -> None:
    from benchtool.session.demo import new_demo

    bench.session.open(new_demo(bench.folder, bench.session.now()))
    before = bench.left()
    laptop.set_clock(hours=-1)
    bench.watch.answer(bench.asked(), 1)
    assert near(bench.left(), before)


def test_a_clock_called_wrong_is_asked_about_after_the_next_start(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    bench.coat()
    laptop.set_clock(hours=1)
    bench.watch.answer(bench.asked(), 0)
    own = bench.session.now()
    bench.reboot("tank", minutes=3)
    question = bench.asked()
    assert question.answers == ("Yes, it is 10:05", "No, it is 09:05")
    assert near([bench.session.now().timestamp()], [(own + timedelta(minutes=3)).timestamp()], 2e-3)
    bench.watch.answer(question, 1)
    assert bench.session.now() == own + timedelta(minutes=3)
    assert bench.look() is None


def test_the_painter_may_say_by_himself_that_the_time_is_wrong(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    bench.coat()
    before = bench.left()
    question = bench.watch.doubt(bench.session.now())
    assert bench.asked() is question
    bench.watch.leave()
    assert bench.look() is None
    bench.watch.answer_time(bench.watch.doubt(bench.session.now()), "10:30")
    assert bench.session.now() == datetime(2026, 3, 14, 10, 30, tzinfo=UTC)
    assert near(bench.left(), before)
    assert bench.look() is None


def test_a_time_that_can_not_be_is_refused_and_changes_nothing(bench: Bench, laptop: Laptop) -> None:
    bench.job()
    bench.coat()
    bench.reboot("tank", wall=BATTERY_DEAD)
    question, now = bench.asked(), bench.session.now()
    job = bench.session.documents[0].job
    for typed in ("", "soon", "25:00", "31 Feb 2026 10:00", "1 Jan 1970 00:05", "9:99", "5 Foo 10:00", "7:00"):
        with pytest.raises(Wrong) as wrong:
            bench.watch.answer_time(question, typed)
        assert [field for field, _ in wrong.value.faults] == ["time"]
    assert bench.session.documents[0].job is job
    assert bench.session.now() == now
    assert bench.asked() is question
    with pytest.raises(NotNow):
        bench.watch.answer(question, 0)


# --- laws ------------------------------------------------------------------------------------------

steps = st.one_of(
    st.floats(-86_400 * 30, 86_400 * 30).filter(lambda s: abs(s) > 121),
    st.sampled_from([3_600.0, -3_600.0, 7_200.0, 121.5, -121.5, 86_400.0 * 365, -86_400.0 * 365]),
)


@hypothesis_settings(examples(25), suppress_health_check=[*HealthCheck])
@given(st.lists(st.tuples(steps, st.integers(0, 1), st.integers(0, 4_000)), min_size=1, max_size=4))
def test_whatever_step_and_whichever_answer_every_window_keeps_what_it_has_left(
    monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory, moves: list[tuple[float, int, int]]
) -> None:
    with monkeypatch.context() as patch:
        laptop = Laptop(patch)
        bench = Bench(laptop, tmp_path_factory.mktemp("bench"))
        bench.job()
        bench.coat()
        for step, index, seconds in moves:
            laptop.go(seconds=seconds)
            laptop.set_clock(seconds=step)
            question = bench.look()
            if question is None:
                continue  # it came back to where it was
            before = bench.left()
            bench.watch.answer(question, index)
            assert near(bench.left(), before)
            assert bench.look() is None
            if not bench.session.documents[0].state.layers["base"].finished:
                bench.coat()
            before = bench.left()
            bench.again("tank")
            assert near(bench.left(), before)
            assert bench.look() is None
            newest = bench.session.documents[0].state.newest
            assert newest is not None
            assert newest[1].at <= bench.session.now() + SLACK
        bench.session.close_all()


# --- reading a time --------------------------------------------------------------------------------

EARLIEST = datetime(2026, 11, 24, 18, 20, tzinfo=UTC)


@pytest.mark.parametrize(
    ("typed", "shown", "expected"),
    [
        ("18:45", None, datetime(2026, 11, 24, 18, 45)),  # noqa: DTZ001
        ("6:45 pm", None, datetime(2026, 11, 24, 18, 45)),  # noqa: DTZ001
        ("18.45", None, datetime(2026, 11, 24, 18, 45)),  # noqa: DTZ001
        ("4:00", None, datetime(2026, 11, 25, 4, 0)),  # noqa: DTZ001
        ("17:50", EARLIEST - timedelta(minutes=40), datetime(2026, 11, 24, 17, 50)),  # noqa: DTZ001
        ("8:10", EARLIEST + timedelta(hours=13), datetime(2026, 11, 25, 8, 10)),  # noqa: DTZ001
        ("25 Nov 18:45", None, datetime(2026, 11, 25, 18, 45)),  # noqa: DTZ001
        ("25. november 2026, 18:45:30", None, datetime(2026, 11, 25, 18, 45, 30)),  # noqa: DTZ001
        ("2026-11-25 18:45", None, datetime(2026, 11, 25, 18, 45)),  # noqa: DTZ001
        ("2026-11-25T18:45", None, datetime(2026, 11, 25, 18, 45)),  # noqa: DTZ001
        ("2 Jan 07:00", None, datetime(2027, 1, 2, 7, 0)),  # noqa: DTZ001
        ("29 Feb 2028 07:00", None, datetime(2028, 2, 29, 7, 0)),  # noqa: DTZ001
    ],
)
def test_times_are_read_as_painters_write_them(typed: str, shown: datetime | None, expected: datetime) -> None:
    assert read_moment(typed, EARLIEST, shown) == expected.replace(tzinfo=UTC)


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="this system has one time zone for a process")
def test_times_are_local_and_of_the_hour_that_comes_twice_the_one_that_can_be() -> None:
    os.environ["TZ"] = "Europe/Berlin"
    time.tzset()
    assert read_moment("2026-07-01 18:45", EARLIEST, None) == datetime(2026, 7, 1, 16, 45, tzinfo=UTC)
    assert read_moment("2026-12-01 18:45", EARLIEST, None) == datetime(2026, 12, 1, 17, 45, tzinfo=UTC)
    late = datetime(2026, 10, 25, 1, 5, tzinfo=UTC)  # 02:05 for the second time
    assert read_moment("2026-10-25 02:30", late, None) == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    assert read_moment("2026-10-25 02:30", late - timedelta(hours=1), None) == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
