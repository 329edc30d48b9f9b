"""One key for full hands: what it does is what it says, one thing at a time, and nothing blindly."""

from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR, COLOUR, PROMOTER, JobBuilder
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.rules.engine import in_the_way
from benchtool.session.due import clock_time, due_now
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

    def hear(self) -> None:
        """Hear all that calls."""
        while self.session.alarms.up():
            self.session.alarms.heard()

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
    ends = foot.clock.at + timedelta(minutes=7)
    until = clock_time(ends, foot.clock.at, up=True)
    assert foot.says == f"Tank: wait until {until}."  # it stays on the screen: a countdown in it would stand still
    before = foot.kinds
    assert foot.press() == f"Tank: wait until {until}."
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
    assert foot.press() == (
        "Tank: wash it in water with mild detergent, rinse it well and let it dry, then log it at the bench (P)."
    )
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


def test_a_piece_in_hand_that_is_ready_is_worked_on_whatever_else_is_due(opens: Any) -> None:
    """The panel's coat has been due for longer, so that it stands first in the watch."""
    foot = opens(two_tanks().wait(minutes=9))
    foot.session.pick("tank")
    foot.hear()
    assert due_now(foot.session, foot.clock.now())[0].window.piece == "panel"
    assert foot.says == "start coat 2"
    assert foot.press() == "Tank: coat 2 started. Press again when it is on."


def unmixed() -> JobBuilder:
    """A box whose clear may go on, though there is no cup of it; its colour is on for long enough."""
    job = JobBuilder().card(COLOUR, CLEAR).piece("box", name="Box").prep("wash", "degrease", "scuff")
    job.layer("base", COLOUR, 1).layer("clear", CLEAR, 2, activator="slow").ready("base").coat("base")
    return job.wait(minutes=25)


def test_a_piece_that_needs_the_bench_is_never_taken(opens: Any) -> None:
    """Its window is open, so that it stands first in the watch: but the key can only tell its painter to mix."""
    other = unmixed()
    foot = opens(one_colour().at(other.now).coat().wait(minutes=2), other)
    foot.hear()
    assert due_now(foot.session, foot.clock.now())[0].place == "Box, Base colour"
    assert foot.says == "Box: mix Two-part clear, at the bench."
    before = foot.session.current
    assert foot.press() == "Box: mix Two-part clear, at the bench."
    assert foot.session.current is before


def test_the_first_piece_of_the_watch_that_may_go_on_is_taken_past_those_that_need_the_bench(opens: Any) -> None:
    box, closes = unmixed(), replace(COLOUR, flash_most=timedelta(hours=30))  # the box's window closes before
    bell = JobBuilder(box.now).card(closes).piece(name="Bell").prep("wash", "degrease", "scuff")
    bell.layer("base", closes, 2).ready().coat().wait(minutes=11)
    foot = opens(one_colour().at(bell.now).coat().wait(minutes=2), box, bell)
    foot.hear()
    places = [x.place for x in due_now(foot.session, foot.clock.now()) if x.hands]
    assert places == ["Box, Base colour", "Bell, Base colour"]
    assert foot.press() == "Bell is in hand. Press again: start coat 2."
    assert foot.press(seconds=2) == "Bell: coat 2 started. Press again when it is on."


def test_no_press_only_takes_another_piece_twice_running(opens: Any) -> None:
    """Four pieces in three jobs, pressed every 40 s for two hours, calls heard: a piece taken is worked on at once."""
    box, bell = unmixed(), one_colour(4)
    bell.at(box.now).coat().wait(minutes=11)
    foot = opens(two_tanks(), box, bell)
    taken, coats = False, 0
    for _ in range(180):
        foot.go(seconds=40)
        foot.hear()
        before = foot.session.piece
        said = foot.press()
        took = foot.session.piece is not before and "in hand" in said
        assert not (taken and took), said
        assert not taken or "started" in said or " done" in said, said
        taken, coats = took, coats + ("started" in said)
    assert coats == 2 + 3  # a second coat on tank and panel, three more on the bell: none is left but the box


def test_a_piece_of_another_job_is_asked_by_the_findings_of_its_own(opens: Any) -> None:
    """Its coat is due and its cup stands ready, but the cup's pot life is over: that is a stop of the other job."""
    other = JobBuilder().card(CLEAR).piece("box", name="Box").prep("wash", "degrease", "scuff")
    other.layer("clear", CLEAR, 2, activator="slow").ready().coat().wait(hours=3)
    foot = opens(one_colour().at(other.now).coat().wait(minutes=2), other)
    foot.hear()
    stops = in_the_way(foot.session.documents[1].findings(foot.clock.now(), foot.session.tables), "box")
    assert [f.rule for f in stops] == ["timing.pot-life"]
    assert foot.says.startswith("Box: stop. The pot life of this ")


@pytest.mark.parametrize(("fresh", "says"), [(False, "take Box in hand"), (True, "Tank: wait until ")])
def test_a_piece_whose_fresh_cup_is_not_poured_is_not_taken(opens: Any, fresh: bool, says: str) -> None:
    other = JobBuilder().card(COLOUR).piece("box", name="Box").prep("wash", "degrease", "scuff")
    other.layer("base", COLOUR, 3).ready().coat().wait(minutes=11)
    mine = one_colour().at(other.now).coat().wait(minutes=2)
    foot = opens(mine, other.empty().mix().pour("base", 10) if fresh else other)
    foot.hear()
    assert foot.says.startswith(says)


def test_what_would_be_refused_in_hand_is_not_taken(opens: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """A coat that the record would hold a stop against once it was begun is no reason to take a piece in hand."""
    foot = opens(two_tanks())
    foot.session.pick("tank")
    foot.hear()
    assert foot.says == "take Panel in hand"
    stop = JobBuilder().card(CLEAR).piece().layer("c", CLEAR, activator="slow").prep("wash").ready().wait(hours=3)
    against = stop.one("timing.pot-life")
    monkeypatch.setattr(foot.session, "preview", lambda *_, **__: (against,))
    assert foot.says.startswith("Panel: stop. ")
    foot.press()
    assert foot.session.piece_id == "tank"


def test_of_two_that_may_go_on_the_first_of_the_watch_is_taken(opens: Any) -> None:
    """The lid comes later in the plan, but its window closes."""
    closes = replace(COLOUR, id="closes", flash_most=timedelta(minutes=25))
    job = JobBuilder().card(COLOUR, closes)
    for name, card in (("Tank", COLOUR), ("Panel", COLOUR), ("Lid", closes)):
        job.piece(name.lower(), name=name).prep("wash", "degrease", "scuff").layer(name[0], card, 2).ready()
    foot = opens(job.coat("P").coat("L").wait(minutes=22).coat("T").wait(minutes=1))
    foot.session.pick("tank")
    foot.hear()
    assert foot.says == "take Lid in hand"


def test_a_stop_that_time_settles_tells_the_clock_time(opens: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its message counts down, and the answer stands still."""
    waits = JobBuilder().card(COLOUR).piece().prep("wash").layer("base", COLOUR, 2).ready().coat().wait(minutes=3)
    stop = waits.one("timing.flash")
    foot = opens(one_colour())
    monkeypatch.setattr(foot.session, "hindrances", lambda *_: (stop,))
    until = clock_time(waits.now + timedelta(minutes=7), foot.clock.at, up=True)
    assert foot.says == f"Tank: stop. Wait until {until}. {stop.remedy}"
    assert "7:00" in stop.message


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
