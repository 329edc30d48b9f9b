"""A job again: what comes over of an earlier one, what is offered, and that no file is written over."""

from collections.abc import Iterator
from dataclasses import replace as changed
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR, COLOUR, PROMOTER, JobBuilder, minutes
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.cards import CardTime, Gun, Origin, OriginKind
from benchtool.job.events import Again
from benchtool.job.learned import learned
from benchtool.job.lots import Lot
from benchtool.job.record import SCHEMA, Job
from benchtool.job.state import fold
from benchtool.job.validate import faults
from benchtool.session.again import (
    Asked,
    Earlier,
    amounts,
    build,
    create,
    free_path,
    newer_cards,
    offers_of,
    read_earlier,
    usual_title,
)
from benchtool.session.againwords import summary
from benchtool.session.areas import area_words
from benchtool.session.library import CardLibrary
from benchtool.session.session import NotNow, Session
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.trade.quantities import Measures

NOTE = "two drops of violet, matched to the tank"


@pytest.fixture
def session(clock: Any, tmp_path: Path) -> Iterator[Session]:
    made = Session(clock, load_tables(), Measures(), CardLibrary(tmp_path / "cards"))
    yield made
    made.close_all()


def saved(tmp_path: Path, job: Job, name: str = "first.json") -> Path:
    path = tmp_path / name
    jobfile.save(path, job)
    return path


def earlier_of(job: Job, path: Path = Path("first.json")) -> Earlier:
    return Earlier(path=path, job=job, state=fold(job))


def described(builder: JobBuilder, title: str = "Side panels", **told: Any) -> JobBuilder:
    return builder.add(ev.JobDescribed, title=title, **told)


def painted() -> JobBuilder:
    """A panel of 0.5 m² with a promoter by the card, and two coats of colour 14 min apart where the card says 10."""
    b = described(JobBuilder(), customer="Ann").card(PROMOTER, COLOUR)
    b.piece("panel", name="Left panel").add(ev.PieceChanged, piece=replace(b.state.pieces["panel"].piece, area_m2=0.5))
    b.prep("degrease").layer("l1", PROMOTER, activator="rigid").layer("l2", COLOUR, 2)
    b.change_layer("l2", note=NOTE, colour="#1f4e9e")
    b.ready("l1", make_mL=20).coats(2, apart=minutes(15)).empty(left_mL=5)
    b.wait(minutes=31).ready("l2", make_mL=40).coats(2, apart=minutes(14)).empty(left_mL=10)
    return b


def asked(how: Again, *pieces: str, **told: Any) -> Asked:
    return Asked(how=how, title="Side panels, again", pieces=pieces, **told)


# --- a repeat ----------------------------------------------------------------------------------------


def test_a_repeat_is_a_new_job_with_the_plan_of_the_old_one(session: Session, tmp_path: Path) -> None:
    path = saved(tmp_path, painted().job)
    earlier = read_earlier(session, path)
    assert not session.documents  # a job found on the disk need not be open
    new = create(session, earlier, asked(Again.REPEAT, "panel", customer="Bert"), free_path(earlier, "Next ones"))
    assert new == tmp_path / "next-ones.json"
    job = jobfile.load(new).job
    state = fold(job)
    assert job.id != earlier.job.id
    assert (state.title, state.customer) == ("Side panels, again", "Bert")
    layer = state.layers["l2"]
    assert (layer.plan.note, layer.plan.colour, layer.plan.coats, layer.started) == (NOTE, "#1f4e9e", 2, False)
    assert not state.mixes
    assert not state.pieces["panel"].steps
    assert state.taken_from is not None
    assert (state.taken_from.how, state.taken_from.title, state.taken_from.job) == (
        Again.REPEAT,
        "Side panels",
        earlier.job.id,
    )
    assert jobfile.load(path).job == earlier.job


def test_the_amounts_are_what_it_took_scaled_by_area() -> None:
    earlier = earlier_of(painted().job)
    same = amounts(earlier, asked(Again.REPEAT, "panel"))
    # Promoter: 20 poured, 5 left, 2 of 2 coats. Colour: 40 poured, 10 left.
    assert {k: round(v.mL, 6) for k, v in same.items()} == {"l1": 15.0, "l2": 30.0}
    assert not same["l1"].scaled
    larger = amounts(earlier, asked(Again.REPEAT, "panel", areas={"panel": 0.75}))
    assert {k: round(v.mL, 6) for k, v in larger.items()} == {"l1": 22.5, "l2": 45.0}
    assert larger["l1"].scaled
    assert amounts(earlier, asked(Again.TOUCH_UP, "panel")) == {}


def test_a_cup_that_two_layers_were_sprayed_from_counts_by_their_coats() -> None:
    b = JobBuilder().card(COLOUR).piece("a").layer("la", COLOUR, 2).piece("b").layer("lb", COLOUR, 1)
    b.ready("la", make_mL=60).share("lb").coat("la").wait(minutes=11).coat("la").coat("lb")
    found = amounts(earlier_of(b.job), asked(Again.REPEAT, "a", "b"))
    assert {k: round(v.mL, 6) for k, v in found.items()} == {"la": 40.0, "lb": 20.0}
    assert not found["la"].took.left_known  # nobody said what was left


def test_more_coats_planned_than_done_ask_for_more() -> None:
    b = JobBuilder().card(COLOUR).piece("a").layer("la", COLOUR, 3).ready("la", make_mL=20).coat("la").empty(left_mL=0)
    assert round(amounts(earlier_of(b.job), asked(Again.REPEAT, "a"))["la"].mL, 6) == 60.0


def test_a_layer_without_a_cup_on_record_suggests_nothing() -> None:
    b = JobBuilder().card(COLOUR).piece("a").layer("la", COLOUR, 1).coat("la", mix=None)
    assert amounts(earlier_of(b.job), asked(Again.REPEAT, "a")) == {}


def test_the_suggested_amount_survives_in_the_new_job(session: Session) -> None:
    made = fold(build(session, earlier_of(painted().job), asked(Again.REPEAT, "panel", areas={"panel": 1.0})))
    assert {k: x.plan.make_mL for k, x in made.layers.items()} == {"l1": 30.0, "l2": 60.0}


def test_what_a_touch_up_took_over_draws_no_can_again(session: Session) -> None:
    b = painted()
    drawn = fold(b.job).draws
    kept = fold(build(session, earlier_of(b.job), asked(Again.TOUCH_UP, "panel")))
    assert kept.mixes
    assert all(p.along_with == kept.taken_from.id for m in kept.mixes.values() for p in m.pours)
    assert (kept.draws, bool(drawn)) == ({}, any(p.lot for m in fold(b.job).mixes.values() for p in m.pours))


def test_the_lot_of_the_material_is_asked_anew(session: Session) -> None:
    b = painted()
    b.add(ev.PieceChanged, piece=replace(b.state.pieces["panel"].piece, batch="Sheet 3"))
    assert fold(build(session, earlier_of(b.job), asked(Again.REPEAT, "panel"))).pieces["panel"].piece.batch == ""
    kept = fold(build(session, earlier_of(b.job), asked(Again.TOUCH_UP, "panel")))
    assert kept.pieces["panel"].piece.batch == "Sheet 3"


# --- offers ------------------------------------------------------------------------------------------


def test_a_wait_longer_than_the_cards_is_offered_with_its_cases_and_taken_only_when_chosen(session: Session) -> None:
    earlier = earlier_of(painted().job)
    [offer] = offers_of(earlier, asked(Again.REPEAT, "panel"))
    assert (offer.card, offer.field, offer.value, offer.cases) == ("colour", "flash", minutes(14), 1)
    assert "14 min" in offer.words
    assert "the card says 10 min (1 case)" in offer.words
    left = fold(build(session, earlier, asked(Again.REPEAT, "panel")))
    assert left.cards["colour"] == COLOUR
    took = fold(build(session, earlier, asked(Again.REPEAT, "panel", taken=(offer,))))
    card = took.cards["colour"]
    assert card.flash == minutes(14)
    origin = card.origins["flash"]
    assert isinstance(origin, Origin)
    assert origin.kind is OriginKind.MEASURED
    assert "Side panels" in origin.words
    assert replace(card, flash=COLOUR.flash, origins=COLOUR.origins) == COLOUR
    assert took.cards["promoter-2k"] == PROMOTER


@pytest.mark.parametrize(("apart", "offered"), [(9, False), (10, False), (11, True), (30, True), (31, False)])
def test_no_wait_is_offered_that_is_shorter_or_was_a_break(session: Session, apart: int, offered: bool) -> None:
    b = JobBuilder().card(COLOUR).piece("a").layer("la", COLOUR, 2).ready("la").coats(2, apart=minutes(apart))
    assert bool(offers_of(earlier_of(b.job), asked(Again.REPEAT, "a"))) is offered


def test_no_wait_is_offered_beyond_the_end_of_its_window(session: Session) -> None:
    card = replace(COLOUR, flash_most=minutes(15))
    b = JobBuilder().card(card).piece("a").layer("la", card, 2).ready("la").coats(2, apart=minutes(16))
    assert offers_of(earlier_of(b.job), asked(Again.REPEAT, "a")) == ()


def test_the_wait_before_the_next_layer_is_offered_too(session: Session) -> None:
    b = JobBuilder().card(COLOUR, CLEAR).piece("a").layer("la", COLOUR, 1).layer("lb", CLEAR, 1)
    b.coat("la", mix=None).wait(minutes=45).coat("lb", mix=None)
    [offer] = offers_of(earlier_of(b.job), asked(Again.REPEAT, "a"))
    assert (offer.field, offer.value) == ("recoat_opens", minutes(45))


def test_a_reduction_that_was_good_is_offered_as_the_usual_one(session: Session) -> None:
    b = JobBuilder().card(COLOUR).piece("a").layer("la", COLOUR, 1)
    b.mix("la", make_mL=50).pour("base", 25).pour("reducer", 37.5).stir("reduced").coat()
    earlier = earlier_of(b.job)
    [offer] = offers_of(earlier, asked(Again.REPEAT, "a"))
    assert (offer.field, offer.gun) == ("reductions", Gun.AIRBRUSH)
    took = fold(build(session, earlier, asked(Again.REPEAT, "a", taken=(offer,)))).cards["colour"]
    reduction = took.reduction(Gun.AIRBRUSH)
    assert reduction is not None
    assert reduction.usual == "150 % of base"
    assert list(faults(build(session, earlier, asked(Again.REPEAT, "a", taken=(offer,))))) == []


@pytest.mark.parametrize("reducer", [25.0, 25.5, 60.0])
def test_a_reduction_as_on_the_card_or_beyond_its_range_is_not_offered(session: Session, reducer: float) -> None:
    b = JobBuilder().card(COLOUR).piece("a").layer("la", COLOUR, 1)
    b.mix("la", make_mL=50).pour("base", 25).pour("reducer", reducer).stir("reduced").coat()
    assert offers_of(earlier_of(b.job), asked(Again.REPEAT, "a")) == ()


def test_the_cards_are_the_jobs_own_or_the_librarys_where_chosen(session: Session) -> None:
    assert session.library is not None
    session.library.keep(replace(COLOUR, flash=minutes(12)))
    earlier = earlier_of(painted().job)
    [newer] = newer_cards(session, earlier, ("panel",))
    assert [d.words for d in newer.found] == ["Flash: 12 min, was 10 min."]
    own = fold(build(session, earlier, asked(Again.REPEAT, "panel")))
    assert own.cards["colour"] == COLOUR
    wanted = asked(Again.REPEAT, "panel", newer=(newer,))
    took = fold(build(session, earlier, wanted))
    assert took.cards["colour"].flash == minutes(12)
    [offer] = offers_of(earlier, wanted)
    assert "the card says 12 min" in offer.words


# --- a touch-up --------------------------------------------------------------------------------------


def test_a_touch_up_begins_with_what_is_on_the_part(session: Session) -> None:
    b = painted()
    earlier = earlier_of(b.job)
    job = build(session, earlier, asked(Again.TOUCH_UP, "panel"))
    assert list(faults(job)) == []
    state, before = fold(job), b.state
    assert [c.done_at for c in state.layers["l2"].coats] == [c.done_at for c in before.layers["l2"].coats]
    assert state.mixes["m2"].poured_mL == before.mixes["m2"].poured_mL
    assert job.created == b.job.created
    assert state.newest is not None
    assert state.newest[1].at == session.now()


def test_film_heat_cans_and_air_come_along(session: Session) -> None:
    b = JobBuilder().card(COLOUR).piece("a").layer("la", COLOUR, 1).read_air(12.0, 70.0)
    b.take(COLOUR, "Base", number="B-7").ready("la").coat("la").film(31.0).heat(60.0).wait(minutes=30).heat_off()
    b.trial(held=True)
    b.add(ev.CourseExpected, points=(ev.CoursePoint(at=b.now + timedelta(hours=1), air_degC=5.0),))
    state, before = fold(build(session, earlier_of(b.job), asked(Again.TOUCH_UP, "a"))), b.state
    film = state.layers["la"].film
    assert film is not None
    assert film.um == 31.0
    assert state.pieces["a"].heat.stretches == before.pieces["a"].heat.stretches != []
    assert state.lots == before.lots
    assert [p.lot for p in state.mixes["m1"].pours] == ["lot-1", None]
    assert [r.air_degC for r in state.readings] == [12.0]
    assert state.pieces["a"].trials[0].held
    assert state.expected is not None
    assert state.expected.points == (before.expected.points if before.expected is not None else ())


def test_a_can_that_was_named_after_the_pour_comes_along(session: Session) -> None:
    b = JobBuilder().card(COLOUR).piece("a").layer("la", COLOUR, 1).piece("b").layer("lb", COLOUR, 1)
    b.ready("la").ready("lb")
    can = Lot(id="lot-1", card=COLOUR.id, part="Base", full_mL=500, number="B-7")
    pours = tuple(p.id for mix in b.state.mixes.values() for p in mix.pours if p.part == "Base")
    b.add(ev.LotTaken, lot=can, pours=pours).coat("la").coat("lb")
    job = build(session, earlier_of(b.job), asked(Again.TOUCH_UP, "a"))
    assert list(faults(job)) == []
    state = fold(job)
    assert [p.lot for mix in state.mixes.values() for p in mix.pours if p.part == "Base"] == ["lot-1"]
    assert state.draws == {}  # the job before drew it


def test_a_touch_up_takes_times_as_they_were_corrected(session: Session) -> None:
    b = JobBuilder().card(COLOUR).piece("a").layer("la", COLOUR, 1).start("la", mix=None).wait(minutes=5).done()
    really = b.now - minutes(3)
    b.correct(b.last_id, really)
    job = build(session, earlier_of(b.job), asked(Again.TOUCH_UP, "a"))
    assert not any(isinstance(e, ev.Corrected) for e in job.events)
    assert fold(job).layers["la"].coats[0].done_at == really


def test_a_touch_up_leaves_out_what_was_undone_and_what_is_on_other_pieces(session: Session) -> None:
    b = JobBuilder().card(COLOUR, CLEAR).piece("a").layer("la", COLOUR, 1).piece("b").layer("lb", CLEAR, 1)
    b.prep("degrease", piece="a").undo().prep("wash", piece="a").prep("tack", piece="b").coat("la", mix=None)
    b.add(ev.WaiverSigned, rule="timing.flash", key="timing.flash|lb|1", message="", reason="of b")
    b.add(ev.WaiverSigned, rule="timing.flash", key="timing.flash|la|1", message="", reason="of a")
    b.add(ev.WaiverSigned, rule="air.no-reading", key="air.no-reading", message="", reason="of all")
    job = build(session, earlier_of(b.job), asked(Again.TOUCH_UP, "a"))
    state = fold(job)
    assert list(state.pieces) == ["a"]
    assert [s.step for s in state.pieces["a"].steps] == [ev.Prep.WASH]
    assert list(state.cards) == ["colour"]
    assert [w.reason for w in state.waivers] == ["of a", "of all"]
    assert not any(isinstance(e, ev.Withdrawn) for e in job.events)


def test_a_cup_begun_for_another_piece_comes_along_with_its_pours(session: Session) -> None:
    b = JobBuilder().card(COLOUR).piece("a").layer("la", COLOUR, 1).piece("b").layer("lb", COLOUR, 1)
    b.take(COLOUR, "Base").ready("la").share("lb").coat("la").coat("lb")
    job = build(session, earlier_of(b.job), asked(Again.TOUCH_UP, "b"))
    assert list(faults(job)) == []
    state = fold(job)
    assert list(state.pieces) == ["b"]
    assert state.mixes["m1"].made.layer == "lb"
    assert state.mixes["m1"].poured_mL == b.state.mixes["m1"].poured_mL
    assert state.mixes["m1"].pours[0].lot == "lot-1"
    assert "lot-1" in state.lots


def test_a_layer_that_was_planned_after_the_cup_was_begun_for_another_piece(session: Session) -> None:
    b = JobBuilder().card(COLOUR).piece("a").layer("la", COLOUR, 1).ready("la").coat("la")
    b.piece("b").layer("lb", COLOUR, 1).share("lb").coat("lb")
    job = build(session, earlier_of(b.job), asked(Again.TOUCH_UP, "b"))
    assert list(faults(job)) == []
    state = fold(job)
    assert list(state.pieces) == ["b"]
    assert state.layers["lb"].mixes == ["m1"]
    assert state.layers["lb"].coats[0].mix == "m1"
    assert state.mixes["m1"].poured_mL == b.state.mixes["m1"].poured_mL


def test_an_undo_right_after_takes_the_whole_of_it_back_and_redo_brings_it_again(
    session: Session, tmp_path: Path
) -> None:
    earlier = read_earlier(session, saved(tmp_path, painted().job))
    session.open(create(session, earlier, asked(Again.TOUCH_UP, "panel"), tmp_path / "again.json"))
    assert session.current is not None
    whole = session.current.state.pieces["panel"].layers[1].coats_done
    session.undo()
    assert (session.current.state.title, dict(session.current.state.pieces)) == ("Side panels, again", {})
    session.redo()
    assert session.current.state.pieces["panel"].layers[1].coats_done == whole


def test_a_new_layer_goes_on_top_of_what_was_taken_over(session: Session, tmp_path: Path) -> None:
    earlier = read_earlier(session, saved(tmp_path, painted().job))
    session.open(create(session, earlier, asked(Again.TOUCH_UP, "panel"), tmp_path / "again.json"))
    session.apply(
        lambda **at: ev.CardCopied(card=CLEAR, **at),
        lambda **at: ev.LayerAdded(
            piece="panel", layer=ev.Layer(id="l3", card=CLEAR.id, coats=2, activator="slow"), **at
        ),
    )
    rules = {f.rule for f in session.findings()}
    assert "timing.recoat-closed" in rules  # the colour's window closed days ago: scuff it first


def test_a_waiver_that_names_a_step_by_its_place_names_it_by_its_new_one(session: Session) -> None:
    b = JobBuilder().card(COLOUR).piece("b").layer("lb", COLOUR, 1).prep("tack").piece("a").layer("la", COLOUR, 1)
    b.mask("a")
    place = len(b.job.events) - 1
    b.add(ev.WaiverSigned, rule="tape.left-on", key=f"tape.left-on|a|{place}", message="", reason="it holds")
    job = build(session, earlier_of(b.job), asked(Again.TOUCH_UP, "a"))
    [waiver] = fold(job).waivers
    there = int(waiver.key.split("|")[-1])
    assert isinstance(job.events[there], ev.PrepDone)
    assert there != place


# --- the file ----------------------------------------------------------------------------------------


def test_no_file_is_written_over(session: Session, tmp_path: Path) -> None:
    path = saved(tmp_path, painted().job, "panels.json")
    earlier = read_earlier(session, path)
    before = path.read_bytes()
    with pytest.raises(FileExistsError, match=r"panels\.json exists already"):
        create(session, earlier, asked(Again.REPEAT, "panel"), path)
    assert path.read_bytes() == before
    assert free_path(earlier, "Panels") == tmp_path / "panels-2.json"


def test_a_kept_version_puts_the_new_job_beside_its_job(session: Session, tmp_path: Path) -> None:
    folder = tmp_path / "first.json.versions"
    folder.mkdir()
    earlier = read_earlier(session, saved(folder, painted().job, "20260302T080000.000000Z.json"))
    assert free_path(earlier, "X").parent == tmp_path


def test_two_jobs_made_in_one_second_have_two_ids(session: Session, tmp_path: Path) -> None:
    earlier = read_earlier(session, saved(tmp_path, painted().job))
    for n in range(2):
        session.open(create(session, earlier, asked(Again.REPEAT, "panel"), tmp_path / f"new{n}.json"))
    ids = [d.job.id for d in session.documents]
    assert len(set(ids)) == 2


def test_a_damaged_file_is_said_and_left_as_it_is(session: Session, tmp_path: Path) -> None:
    path = tmp_path / "broken.json"
    path.write_text('{"format": "bench job", "schema": 6, "id": "x"')
    with pytest.raises(NotNow, match="broken"):
        read_earlier(session, path)
    assert path.read_text().endswith('"x"')


def test_of_a_newer_file_the_plan_may_be_repeated_and_nothing_touched_up(session: Session) -> None:
    job = replace(painted().job, schema=SCHEMA + 1)
    made = build(session, earlier_of(job), asked(Again.REPEAT, "panel"))
    assert made.schema == SCHEMA
    with pytest.raises(NotNow, match="newer version"):
        build(session, earlier_of(job), asked(Again.TOUCH_UP, "panel"))


def test_what_has_no_pieces_or_none_chosen_is_refused(session: Session, tmp_path: Path) -> None:
    with pytest.raises(NotNow, match="Open a job first"):
        read_earlier(session)
    with pytest.raises(NotNow, match="no pieces"):
        read_earlier(session, saved(tmp_path, described(JobBuilder()).job))
    with pytest.raises(NotNow, match="at least one piece"):
        build(session, earlier_of(painted().job), asked(Again.REPEAT))


def test_a_job_again_of_a_demo_is_a_demo(session: Session) -> None:
    job = replace(painted().job, demo=True, note="A demo.")
    made = build(session, earlier_of(job), asked(Again.TOUCH_UP, "panel"))
    assert (made.demo, made.note) == (True, "A demo.")


def test_test_strips_do_not_come_over() -> None:
    b = JobBuilder().plan_trial({"A": [PROMOTER]})
    assert earlier_of(b.job).pieces == ()


# --- what is said ------------------------------------------------------------------------------------


def test_it_is_said_what_will_be_in_the_new_job(session: Session) -> None:
    earlier = earlier_of(painted().job)
    promised = datetime(2026, 3, 20, 16, 0, tzinfo=UTC)
    wanted = asked(Again.REPEAT, "panel", customer="Bert", promised=promised, areas={"panel": 0.75})
    told = summary(session, earlier, wanted)
    assert told[0].startswith("A new job, “Side panels, again”, for Bert, promised ")
    assert "Left panel (0.75 m², was 0.5 m²)" in told[1]
    assert "Base colour: mix about 45 mL. Last time it took 30 mL." in told
    b = painted()
    layer = b.state.layers["l2"].plan
    b.add(ev.LayerChanged, layer=replace(layer, coats=layer.coats + 1))
    more = summary(session, earlier_of(b.job), asked(Again.REPEAT, "panel"))
    assert any("for 3 coats (2 were on last time). Last time it took 30 mL." in x for x in more), more
    assert told[-1].startswith("Nothing of what was done comes along")
    without = summary(session, earlier, changed(wanted, areas={}))
    assert any(x.startswith("Not scaled, as an area is not known: Left panel.") for x in without)
    touch = summary(session, earlier, asked(Again.TOUCH_UP, "panel"))
    assert "Two-part promoter (2 coats), Base colour (2 coats); the last coat on 02 Mar 2026" in touch[1]
    assert summary(session, earlier, asked(Again.REPEAT)) == ("Choose at least one piece.",)
    assert usual_title(earlier, Again.REPEAT) == "Side panels, again"


def test_a_piece_without_layers_is_said_to_have_none(session: Session) -> None:
    told = summary(session, earlier_of(described(JobBuilder()).piece("panel").job), asked(Again.REPEAT, "panel"))
    assert told[1] == "Planned on it: Panel, with no layers yet."


def test_a_layer_whose_activator_is_gone_from_the_newer_card_is_named(session: Session) -> None:
    assert session.library is not None
    session.library.keep(replace(PROMOTER, activators=PROMOTER.activators[1:]))
    earlier = earlier_of(painted().job)
    told = summary(session, earlier, asked(Again.REPEAT, "panel", newer=newer_cards(session, earlier, ("panel",))))
    assert any(x.startswith("Rigid activator is no more on the newer card") for x in told)


@pytest.mark.parametrize(("m2", "words"), [(1.25, "1.25 m²"), (0.1, "0.1 m²"), (0.05, "5 dm²"), (12.0, "12 m²")])
def test_areas_are_said_as_they_are_measured(m2: float, words: str) -> None:
    assert area_words(m2) == words


def test_areas_in_the_summary_are_in_the_unit_of_the_fields(session: Session) -> None:
    from benchtool.session.againwords import _area

    assert [_area(m2) for m2 in (0.08, 0.12, 1.0 / 3)] == ["0.08 m²", "0.12 m²", "0.333 m²"]


def test_the_wait_that_cold_air_asked_for_is_no_wait_of_the_painters_own(session: Session) -> None:
    from benchtool.job.cards import CardTime, DoublingPacing

    card = replace(COLOUR, paces={CardTime.FLASH: DoublingPacing(reference_degC=20.0)})
    b = JobBuilder().card(card).piece("a").layer("la", card, 2).read_air(10.0, 50.0).ready("la")
    asks = b.coat("la").layer_state("la")
    coat = asks.coats[0]
    assert coat.done_at is not None
    due = asks.ends(coat.done_at, timedelta(minutes=10), card, CardTime.FLASH, coat)
    assert due - coat.done_at > timedelta(minutes=19)  # 10 K colder, twice as long
    b.at(due).coat("la")
    assert offers_of(earlier_of(b.job), asked(Again.REPEAT, "a")) == ()


def test_a_cup_shared_by_two_pieces_is_one_case_however_often_a_touch_up_holds_it(session: Session) -> None:
    b = JobBuilder().card(CLEAR).piece("a").layer("la", CLEAR, 1, activator="slow")
    b.piece("b").layer("lb", CLEAR, 1, activator="slow").ready("la").share("lb")
    b.coat("la").wait(minutes=5).coat("lb").empty(left_mL=2)
    again = build(session, earlier_of(b.job), asked(Again.TOUCH_UP, "b"))
    first, second = learned(b.state), learned(fold(again))
    assert first.cups
    assert first.pours
    assert {c.same for c in first.cups} == {c.same for c in second.cups}
    assert {p.same for p in first.pours} == {p.same for p in second.pours}
    cup = {CardTime.STAND, CardTime.STAND_REDUCED, CardTime.POT_LIFE}
    kept = [{w.same for w in of.waits if w.time in cup} for of in (first, second)]
    assert kept[0]
    assert kept[0] == kept[1]
