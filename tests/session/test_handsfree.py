"""One key for full hands: what it does is what it says, one thing at a time, and nothing blindly."""

from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR, COLOUR, PROMOTER, JobBuilder

from benchtool.job import events as ev
from benchtool.session.handsfree import BOUNCE, SEEN, Pedal, next_act
from benchtool.session.session import Session
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.trade.quantities import Measures

Opens = Callable[..., Session]


class Foot:
    """A foot on the pedal of a session, and the clock on the wall."""

    def __init__(self, session: Session, clock: Any) -> None:
        self.session, self.clock = session, clock
        self.pedal = Pedal(session)

    def press(self, **after: float) -> str:
        self.go(**after)
        return self.pedal.press(self.clock.now())

    def go(self, **after: float) -> None:
        """Let time pass as the window does, looking now and then: a long gap would be a laptop that slept."""
        end = self.clock.at + timedelta(**after)
        while self.clock.at < end:
            self.clock.at = min(end, self.clock.at + timedelta(seconds=30))
            self.session.tick()

    @property
    def says(self) -> str:
        return next_act(self.session, self.clock.now()).words

    @property
    def kinds(self) -> list[str]:
        assert self.session.current is not None
        return [type(e).__name__ for e in self.session.current.job.events]


@pytest.fixture
def opens(clock: Any, tmp_path: Path) -> Iterator[Callable[..., Foot]]:
    made = Session(clock, load_tables(), Measures())

    def opened(*jobs: JobBuilder) -> Foot:
        for i, job in enumerate(jobs):
            path = tmp_path / f"job{i}.json"
            jobfile.save(path, job.job)
            made.open(path)
            clock.at = max(clock.at, job.now) if i else job.now
        made.pick_document(made.documents[0])
        made.tick()
        return Foot(made, clock)

    yield opened
    made.close_all()


def one_colour(coats: int = 2) -> JobBuilder:
    return (
        JobBuilder()
        .card(COLOUR)
        .piece(name="Tank")
        .prep("wash", "degrease", "scuff")
        .layer("base", COLOUR, coats)
        .ready()
    )


def test_coat_after_coat_with_nothing_but_the_foot(opens: Any) -> None:
    foot = opens(one_colour())
    assert foot.says == "start coat 1"
    assert foot.press() == "Tank: coat 1 started. Press again when it is on."
    assert foot.session.layer.open_coat.number == 1
    foot.go(minutes=2)
    assert foot.says == "coat 1 done"
    assert foot.press() == "Tank: coat 1 done. Its waits count from now."
    assert foot.session.layer.coats_done == 1
    foot.go(minutes=3)
    assert foot.says == "Tank: wait 7:00 before coat 2."
    before = foot.kinds
    assert foot.press() == "Tank: wait 7:00 before coat 2."
    assert foot.kinds == before


def test_the_call_is_heard_first_and_the_answer_says_what_comes_next(opens: Any) -> None:
    foot = opens(one_colour())
    foot.press()
    foot.press(seconds=30)
    foot.go(minutes=10)
    assert [a.window.then for a in foot.session.alarms.up()] == ["coat 2"]
    foot.go(seconds=5)
    assert foot.says == "heard"
    before = foot.kinds
    assert foot.press() == "Heard. Press again: start coat 2."
    assert foot.session.alarms.up() == ()
    assert foot.kinds == before  # a foot that silences starts no coat
    assert foot.press(seconds=2) == "Tank: coat 2 started. Press again when it is on."


def test_a_call_that_comes_under_the_foot_takes_no_press_away(opens: Any) -> None:
    """The screen said "coat 1 done" when the foot went down; a call of that very second doesn't change it."""
    other = one_colour()
    other.coat()  # its coat 2 may go on 10 min from here
    mine = one_colour().at(other.now)
    foot = opens(mine, other)
    foot.press()
    foot.go(minutes=10)
    assert len(foot.session.alarms.up()) == 1
    assert foot.press() == "Tank: coat 1 done. Its waits count from now."
    assert len(foot.session.alarms.up()) == 1
    foot.go(seconds=SEEN.total_seconds())
    assert foot.says == "heard"


def test_a_foot_bounces_and_a_key_repeats(opens: Any) -> None:
    foot = opens(one_colour())
    foot.press()
    for ms in (200, 900, 1_400):
        foot.clock.go(milliseconds=ms)
        assert foot.pedal.press(foot.clock.now()) == ""  # each bounce puts the next press off
    foot.clock.go(seconds=60)
    assert foot.pedal.press(foot.clock.now(), repeat=True) == ""
    assert foot.session.layer.open_coat is not None
    assert "coat 1 done" in foot.pedal.press(foot.clock.now())
    foot.clock.go(seconds=-3600)  # a clock set back is no bounce
    assert foot.pedal.press(foot.clock.now()) != ""
    assert timedelta(seconds=1) <= BOUNCE <= timedelta(seconds=2)


def test_all_of_it_is_undone_one_by_one(opens: Any) -> None:
    foot = opens(one_colour())
    state = foot.session.current.state
    foot.press()
    foot.press(minutes=2)
    assert foot.session.layer.coats_done == 1
    foot.session.undo()
    assert foot.session.layer.open_coat is not None
    foot.session.undo()
    assert not foot.session.layer.coats
    assert foot.session.current.state.mixes.keys() == state.mixes.keys()


def test_a_stop_is_said_and_never_waived(opens: Any) -> None:
    """Recoat closed: the clear over it asks for a scuff first, and the foot signs nothing."""
    job = JobBuilder().card(COLOUR, CLEAR).piece(name="Tank").prep("wash", "degrease", "scuff")
    job.layer("base", COLOUR, 1).layer("clear", CLEAR, 2, activator="slow").ready("base").coat("base").wait(hours=25)
    foot = opens(job.ready("clear"))
    while foot.session.alarms.up():
        foot.session.alarms.heard()
    act = next_act(foot.session, foot.clock.now())
    assert act.do is None
    assert act.words.startswith("Tank: stop. ")
    assert "scuff" in act.words.lower()
    assert act.short == "Stop before coat 1"
    before = foot.kinds
    assert foot.press() == act.words
    assert foot.kinds == before
    assert not foot.session.current.state.waivers


def test_cleaning_and_pouring_are_said_and_never_logged(opens: Any) -> None:
    job = JobBuilder().card(PROMOTER).piece(name="Tank").layer("prom", PROMOTER, activator="rigid")
    foot = opens(job)
    assert foot.press() == "Tank: wash and degrease it, then log it at the bench (P)."
    assert "PrepDone" not in foot.kinds


def test_a_cup_is_stirred_by_foot_only_when_it_is_poured_and_right(opens: Any) -> None:
    job = JobBuilder().card(CLEAR).piece(name="Tank").prep("wash").layer("clear", CLEAR, activator="slow").mix()
    foot = opens(job)
    assert foot.press() == "Tank: pour 33.3 mL Base, at the bench."
    mix = foot.session.current.state.mix_for(foot.session.layer)
    foot.session.apply(lambda **at: ev.Poured(mix=mix.id, part="Base", mL=30, **at))
    assert "at the bench" in foot.press(seconds=2)
    foot.session.apply(lambda **at: ev.Poured(mix=mix.id, part="Slow hardener", mL=30, **at))
    assert "to mend it, at the bench" in foot.press(seconds=2)
    assert "MixStirred" not in foot.kinds
    foot.session.apply(lambda **at: ev.Poured(mix=mix.id, part="Base", mL=30, **at))
    foot.go(seconds=2)
    assert foot.says == "stirred"
    assert foot.press() == "Tank: stirred."
    assert foot.kinds[-1] == "MixStirred"


def two_tanks() -> JobBuilder:
    """The tank in hand waits for its second coat; the panel's may go on."""
    job = (
        JobBuilder()
        .card(COLOUR)
        .piece("tank", name="Tank")
        .prep("wash", "degrease", "scuff")
        .layer("t", COLOUR, 2)
        .ready("t")
    )
    job.piece("panel", name="Panel").prep("wash", "degrease", "scuff").layer("p", COLOUR, 2).ready("p").coat("p").wait(
        minutes=9
    )
    return job.coat("t").wait(minutes=2)


def test_the_first_line_that_needs_hands_is_taken_in_hand_and_then_worked_on(opens: Any) -> None:
    foot = opens(two_tanks())
    foot.session.pick("tank")
    while foot.session.alarms.up():
        foot.session.alarms.heard()
    assert foot.says == "take Panel in hand"
    before = foot.kinds
    assert foot.press() == "Panel is in hand. Press again: start coat 2."
    assert foot.kinds == before
    assert foot.session.piece_id == "panel"
    assert foot.press(seconds=2) == "Panel: coat 2 started. Press again when it is on."
    foot.session.pick("tank")  # by hand, in the middle of a coat
    assert foot.says == "take Panel in hand"
    assert "coat 2 done" in foot.press(seconds=2)
    assert foot.press(seconds=2) == "Panel: coat 2 done. Its waits count from now."


def test_while_one_piece_waits_the_next_one_that_was_not_begun_is_taken(opens: Any) -> None:
    job = (
        JobBuilder()
        .card(COLOUR)
        .piece("panel", name="Panel")
        .prep("wash", "degrease", "scuff")
        .layer("p", COLOUR, 2)
        .ready("p")
    )
    job.piece("tank", name="Tank").prep("wash", "degrease", "scuff").layer("t", COLOUR, 2).ready("t").coat("t").wait(
        minutes=1
    )
    foot = opens(job)
    foot.session.pick("tank")
    assert foot.says == "take Panel in hand"
    assert foot.press() == "Panel is in hand. Press again: start coat 1."


def test_a_piece_of_another_open_job_is_taken_too(opens: Any) -> None:
    other = (
        JobBuilder()
        .card(COLOUR)
        .piece("bell", name="Bell")
        .prep("wash", "degrease", "scuff")
        .layer("b", COLOUR, 2)
        .ready("b")
    )
    other.coat("b").wait(minutes=11)
    foot = opens(one_colour().at(other.now).coat(), other)
    while foot.session.alarms.up():
        foot.session.alarms.heard()
    mine_waits = foot.session.current
    assert foot.press().startswith("Bell is in hand.")
    assert foot.session.current is not mine_waits


def test_no_job_a_job_that_is_only_looked_at_and_one_that_is_done(clock: Any, opens: Any, tmp_path: Path) -> None:
    empty = Session(clock, load_tables(), Measures())
    assert next_act(empty, clock.now()).words == "No job is open: open one at the bench."
    job = one_colour(1).coat()
    foot = opens(job)
    assert "all coats are on" in foot.press()
    path = tmp_path / "look.json"
    jobfile.save(path, one_colour().job)
    empty.open(path, look_only="Somebody else has it open.")
    assert next_act(empty, clock.now()).words == "Somebody else has it open."
    assert next_act(empty, clock.now()).do is None
    empty.close_all()


def test_asking_what_comes_next_changes_nothing(opens: Any) -> None:
    foot = opens(two_tanks())
    before = (foot.session.current.job, foot.session.piece_id, foot.session.layer_id, foot.session.alarms.up())
    for _ in range(3):
        next_act(foot.session, foot.clock.now())
    assert before == (foot.session.current.job, foot.session.piece_id, foot.session.layer_id, foot.session.alarms.up())
