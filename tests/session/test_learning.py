"""The record over several jobs: sums against a reference, what is offered and taken, and what is kept apart."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from builders import CLEAR, COLOUR, JobBuilder, hours, minutes
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.cards import Card, CardTime, Origin, OriginKind
from benchtool.job.learnedcases import Kept
from benchtool.job.record import Job
from benchtool.session.again import Asked, create, read_earlier
from benchtool.session.document import Document, NotNow
from benchtool.session.learning import Learning, Product, Record
from benchtool.session.learningoffers import Into, offers_for, take, take_back
from benchtool.session.learningshown import Kind, Lane, lanes_of
from benchtool.session.learningsums import own_wait, sums
from benchtool.session.library import CardLibrary
from benchtool.session.session import Session
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.trade.quantities import Measures


@pytest.fixture
def session(clock: Any, tmp_path: Path) -> Iterator[Session]:
    made = Session(clock, load_tables(), Measures(), CardLibrary(tmp_path / "cards"))
    yield made
    made.close_all()


def job(*apart: float, card: Card = COLOUR, name: str = "panel", strip: bool = False, number: str = "job-1") -> Job:
    b = JobBuilder().add(ev.JobDescribed, title=f"Job {number}").card(card).piece(name)
    if strip:
        b.change_piece("abs").add(ev.PieceChanged, piece=replace(b.state.pieces[name].piece, strip_of="t1"))
    b.layer("l1", card, len(apart) + 1).coat(mix=None)
    for each in apart:
        b.wait(minutes=each).coat(mix=None)
    return replace(b.job, id=number)


def kept(session: Session, folder: Path, **jobs: Job) -> dict[str, Path]:
    paths = {name: folder / f"{name}.json" for name in jobs}
    for name, of in jobs.items():
        jobfile.save(paths[name], of)
    return paths


def read(learning: Learning) -> Record:
    for _ in learning.reading():
        pass
    return learning.record


def opened(session: Session, path: Path) -> Document:
    return session.open(path)


def product(record: Record, name: str = "Base colour") -> Product:
    (found,) = (p for p in record.products if p.name == name and not p.strips)
    return found


def lane(of: Product, kind: Kind) -> Lane:
    return next(x for x in lanes_of(of) if x.kind is kind)


# --- sums --------------------------------------------------------------------------------------------


@given(st.lists(st.floats(0, 1e6), min_size=1, max_size=60))
def test_quartiles_are_those_of_numpy(values: list[float]) -> None:
    found = sums(values)
    assert found is not None
    wanted = np.percentile(values, [25, 50, 75], method="linear")  # type 7 of Hyndman and Fan
    assert (found.low, found.median, found.high) == pytest.approx(tuple(wanted), rel=1e-9, abs=1e-9)
    assert (found.n, found.least, found.most) == (len(values), min(values), max(values))


def test_quartiles_by_hand() -> None:
    # Places 1 + 3p of 2, 4, 8, 16: 1.75, 2.5 and 3.25.
    found = sums([16, 2, 8, 4])
    assert found is not None
    assert (found.low, found.median, found.high) == (3.5, 6, 10)
    assert sums([]) is None


@pytest.mark.parametrize(
    ("waited", "own"), [(9, None), (10, None), (10.9, None), (11, 11), (14.6, 14), (30, 30), (31, None)]
)
def test_what_is_learned_is_longer_than_the_cards_and_no_break(waited: float, own: float | None) -> None:
    found = own_wait(COLOUR, CardTime.FLASH, [minutes(waited)] * 5)
    assert (found.value if found is not None else None) == (minutes(own) if own is not None else None)


def test_what_is_learned_lies_within_the_window_and_a_deadline_is_never_learned() -> None:
    assert own_wait(replace(COLOUR, flash_most=minutes(13)), CardTime.FLASH, [minutes(14)] * 5) is None
    assert own_wait(CLEAR, CardTime.POT_LIFE, [hours(3)] * 5) is None
    assert own_wait(replace(COLOUR, recoat_closes=minutes(40)), CardTime.RECOAT_OPENS, [minutes(41)]) is None


# --- over jobs ---------------------------------------------------------------------------------------


def test_the_open_job_and_those_beside_it_are_summed_each_case_once(session: Session, tmp_path: Path) -> None:
    same = job(12, 14, number="job-2")
    paths = kept(session, tmp_path, one=job(13), two=same, copy=same)
    opened(session, paths["one"])
    record = read(Learning(session))
    (time,) = product(record).times
    assert sorted(w.total_seconds() / 60 for w in time.waits) == [12, 13, 14]
    assert record.jobs == 3


def test_a_demo_is_never_mixed_with_the_painters_own(session: Session, tmp_path: Path) -> None:
    paths = kept(session, tmp_path, own=job(13), demo=replace(job(25, number="demo"), demo=True))
    opened(session, paths["own"])
    assert [w for t in product(read(Learning(session))).times for w in t.waits] == [minutes(13)]
    opened(session, paths["demo"])
    assert [w for t in product(read(Learning(session))).times for w in t.waits] == [minutes(13)]
    session.close(session.documents[0])
    alone = read(Learning(session))
    assert [w for t in product(alone).times for w in t.waits] == [minutes(25)]
    assert alone.demo
    assert "demo" in alone.words


def test_the_demo_that_is_left_out_is_told_and_shown_alone_when_asked_for(session: Session, tmp_path: Path) -> None:
    paths = kept(session, tmp_path, own=job(13), demo=replace(job(25, number="demo"), demo=True))
    opened(session, paths["demo"])
    learning = Learning(session)
    assert not learning.choice
    opened(session, paths["own"])
    own = read(learning)
    assert learning.choice
    assert not own.demo
    assert own.left_out
    assert "left out" in own.words
    learning.demo_wanted = True
    alone = read(learning)
    assert alone.demo
    assert alone.jobs == 1
    assert "left out" not in alone.words
    session.close(next(d for d in session.documents if d.job.demo))
    assert not read(learning).demo


def test_strips_stand_apart_and_teach_no_card(session: Session, tmp_path: Path) -> None:
    paths = kept(session, tmp_path, one=job(*[14] * 6, strip=True))
    opened(session, paths["one"])
    record = read(Learning(session))
    (strips,) = record.products
    assert strips.strips
    assert record.everything.waits == 0
    assert offers_for(session, strips) == ()


def test_a_file_that_is_broken_is_told_and_hides_no_other(session: Session, tmp_path: Path) -> None:
    paths = kept(session, tmp_path, one=job(13))
    (tmp_path / "odd.json").write_text(paths["one"].read_text()[:-200])
    opened(session, paths["one"])
    record = read(Learning(session))
    assert product(record).waits == 1
    assert "odd.json" in record.fault_words


def test_a_reading_that_is_stopped_keeps_what_was_read_and_says_so(session: Session, tmp_path: Path) -> None:
    paths = kept(session, tmp_path, **{f"n{i}": job(12 + i, number=f"job-{i}") for i in range(5)})
    opened(session, paths["n0"])
    learning = Learning(session)
    reading = learning.reading()
    next(told for told in reading if told.read)  # a step may pass before the thread has read anything
    reading.close()
    assert product(learning.gather()).waits >= 1


def test_a_folder_that_is_gone_is_told(session: Session, tmp_path: Path) -> None:
    session.recent = lambda: (str(tmp_path / "gone" / "x.json"),)
    assert "gone" in read(Learning(session)).fault_words


# --- what is said ------------------------------------------------------------------------------------


def test_fewer_than_five_cases_say_nothing(session: Session, tmp_path: Path) -> None:
    session.open(kept(session, tmp_path, one=job(14, 14, 14, 14))["one"])
    found = product(read(Learning(session)))
    assert lane(found, Kind.WAITS).said[0] == "Only 4 cases: not enough to say anything yet."
    assert offers_for(session, found) == ()


def test_five_cases_are_said_with_how_many_came_early(session: Session, tmp_path: Path) -> None:
    session.open(kept(session, tmp_path, one=job(8, 14, 14, 15, 16))["one"])
    shown = lane(product(read(Learning(session))), Kind.WAITS)
    assert shown.said[0] == "You waited 14 min (median of 5); half of the waits were between 14 min and 15 min."
    assert shown.said[1:] == ("The card asks for 10 min and closes at 24 h.", "1 of 5 came too early.")
    assert [m.kept for m in shown.marks].count(Kept.EARLY) == shown.n - 4 == 1
    everything = lane(session_everything(session), Kind.MISSES)
    assert "1 of 5 windows were missed." in everything.said


def session_everything(session: Session) -> Product:
    return read(Learning(session)).everything


def test_cups_without_a_figure_are_counted_apart(session: Session, tmp_path: Path) -> None:
    b = JobBuilder().card(COLOUR).piece().layer("l1", COLOUR, 9)
    for left in (10.0, 20.0, 30.0, 40.0, 50.0, None):
        b.mix("l1", make_mL=100).pour("base", 50).pour("reducer", 50).coat().empty(left_mL=left).wait(minutes=11)
    jobfile.save(tmp_path / "one.json", b.job)
    session.open(tmp_path / "one.json")
    shown = lane(product(read(Learning(session))), Kind.WASTE)
    assert shown.said[0] == "Of a cup 30 % was left over (median of 5); in all 150 of 500 mL."
    assert shown.said[1] == "Of 1 more cup nobody noted what was left."
    assert shown.n == len(shown.marks) == 5


def test_errors_are_by_size_and_by_tool(session: Session, tmp_path: Path) -> None:
    b = JobBuilder().card(CLEAR).piece().layer("l1", CLEAR, 9, activator="slow")
    for mL, typed in ((10, "10 mL"), (10.5, "10.5 mL"), (9, "9 mL"), (11, "11 mL"), (10, "10 mL"), (10, "")):
        b.mix("l1", make_mL=30).pour("base", 20, typed="20 mL").pour("activator", mL, typed=typed).coat().empty()
        b.wait(minutes=16)
    jobfile.save(tmp_path / "one.json", b.job)
    session.open(tmp_path / "one.json")
    shown = [x for x in lanes_of(product(read(Learning(session)), "Two-part clear")) if x.kind is Kind.ERRORS]
    assert [x.title for x in shown] == ["Measuring: parts of 5 to 20 mL", "Logged as asked for"]
    assert shown[0].said[0] == "You were off by 0 % (median of 5); half of them between 0 and +5 %."
    assert sorted(m.value for m in shown[0].marks) == pytest.approx([-10, 0, 0, 5, 10])
    assert shown[1].n == 1


# --- offers ------------------------------------------------------------------------------------------


def taught(session: Session, tmp_path: Path) -> Product:
    assert session.library is not None
    session.library.keep(COLOUR)
    session.open(kept(session, tmp_path, one=job(14, 14, 14, 15, 16))["one"])
    return product(read(Learning(session)))


def test_a_longer_wait_is_offered_and_changes_the_library_only_when_taken(session: Session, tmp_path: Path) -> None:
    found = taught(session, tmp_path)
    offer = next(o for o in offers_for(session, found) if o.into is Into.LIBRARY)
    assert offer.words == (
        "You waited 14 min between coats (median of 5) where the card in your library says 10 min: "
        "note 14 min as your own flash?"
    )
    assert session.library is not None
    assert session.library.look().cards == (COLOUR,)
    taken = take(session, offer)
    (card,) = session.library.look().cards
    origin = card.origins["flash"]
    assert isinstance(origin, Origin)
    assert (card.flash, origin.kind, origin.day) == (minutes(14), OriginKind.MEASURED, "2026-03-14")
    assert replace(card, flash=COLOUR.flash, origins=COLOUR.origins) == COLOUR
    assert session.documents[0].state.cards["colour"] == COLOUR
    assert [o.into for o in offers_for(session, found)] == [Into.JOB]
    take_back(session, taken)
    assert session.library.look().cards == (COLOUR,)


def test_an_offer_to_the_job_changes_its_copy_alone_and_can_be_taken_back(session: Session, tmp_path: Path) -> None:
    found = taught(session, tmp_path)
    offer = next(o for o in offers_for(session, found) if o.into is Into.JOB)
    assert "of the open job" in offer.words
    taken = take(session, offer)
    document = session.documents[0]
    assert document.state.cards["colour"].flash == minutes(14)
    assert document.state.layers["l1"].coats[0].card == COLOUR
    assert session.library is not None
    assert session.library.look().cards == (COLOUR,)
    take_back(session, taken)
    assert document.state.cards["colour"] == COLOUR


def test_a_card_that_was_changed_meanwhile_is_left_alone(session: Session, tmp_path: Path) -> None:
    found = taught(session, tmp_path)
    assert session.library is not None
    offer = next(o for o in offers_for(session, found) if o.into is Into.LIBRARY)
    session.library.keep(replace(COLOUR, flash=minutes(20)))
    with pytest.raises(NotNow, match="changed meanwhile"):
        take(session, offer)
    session.library.keep(replace(COLOUR, note="Stir well."))
    taken = take(session, offer)
    session.library.keep(replace(taken.after, note="No."))
    with pytest.raises(NotNow, match="changed since"):
        take_back(session, taken)


def test_a_read_only_job_gets_no_offer(session: Session, tmp_path: Path) -> None:
    found = taught(session, tmp_path)
    session.documents[0].read_only = "Somebody else has it."
    assert [o.into for o in offers_for(session, found)] == [Into.LIBRARY]


def test_a_touch_up_that_took_a_wait_over_counts_it_no_second_time(session: Session, tmp_path: Path) -> None:
    path = kept(session, tmp_path, one=job(14, 15))["one"]
    session.open(path)
    wanted = Asked(how=ev.Again.TOUCH_UP, title="Touch-up", pieces=("panel",))
    create(session, read_earlier(session, path), wanted, tmp_path / "two.json")
    record = read(Learning(session))
    assert record.jobs == 2
    assert sorted(w.total_seconds() / 60 for t in product(record).times for w in t.waits) == [14, 15]


def test_a_cup_for_two_pieces_is_one_cup_though_a_touch_up_holds_one_of_them(session: Session, tmp_path: Path) -> None:
    card = replace(CLEAR, stand=minutes(5))
    b = JobBuilder().card(card).piece("a").layer("la", card, 1, activator="slow")
    b.piece("b").layer("lb", card, 1, activator="slow").ready("la").share("lb")
    b.coat("la").wait(minutes=20).coat("lb").empty(left_mL=2)
    path = kept(session, tmp_path, one=b.job)["one"]
    session.open(path)
    for piece in ("a", "b"):
        wanted = Asked(how=ev.Again.TOUCH_UP, title=piece, pieces=(piece,))
        create(session, read_earlier(session, path), wanted, tmp_path / f"{piece}.json")
    found = product(read(Learning(session)), "Two-part clear")
    took = {t.time: [c.of.took for c in t.cases] for t in found.times}
    assert took == {CardTime.STAND: [minutes(5)], CardTime.POT_LIFE: [minutes(25)]}
    assert len(found.cups) == len(found.pours) == 1


def test_of_cups_that_nobody_noted_the_page_says_how_it_is_done(session: Session, tmp_path: Path) -> None:
    """E empties at once and asks nothing: what was left is typed before it."""
    b = JobBuilder().add(ev.JobDescribed, title="Cup").card(COLOUR).piece("panel").layer("l1", COLOUR, 1)
    b.mix("l1", make_mL=40).pour("base", 20).pour("reducer", 20).coat("l1").empty()
    path = tmp_path / "cup.json"
    jobfile.save(path, b.job)
    opened(session, path)
    told = lane(product(read(Learning(session))), Kind.WASTE).said
    assert any("type how much is left, then press E" in line for line in told)
