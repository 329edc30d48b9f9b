"""The job sheet: all that stands in the record is on it, what was taken back is not, and nothing is made up."""

from datetime import UTC, datetime, timedelta

import pytest
from builders import CLEAR, COLOUR, PROMOTER, START, URETHANE, JobBuilder, hours, minutes
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from page_reading import Page
from sheet_reading import column, fact, grids, said, texts_of, under
from strategies import examples, jobs, moments

from benchtool.job import events as ev
from benchtool.job.cards import Origin, OriginKind
from benchtool.job.lots import Lot
from benchtool.job.record import Job
from benchtool.job.state import fold
from benchtool.session.demo import DEMO, TRIAL_DEMO, demo_job
from benchtool.session.tables import load_tables
from benchtool.session.tables_identify import load_clues
from benchtool.sheets.blocks import Caution, Facts, Grid, Heading, Photos, Sheet, Stack, Words
from benchtool.sheets.jobsheet import MOST_IN_FULL, job_sheet
from benchtool.sheets.sheethtml import html_of

TABLES = load_tables()


def sheet_of(bench: JobBuilder, **more: object) -> Sheet:
    return job_sheet(bench.job, bench.state, TABLES, bench.now, zone=UTC, **more)  # type: ignore[arg-type]


def whole() -> JobBuilder:
    """A panel with promoter and clear, painted in time and logged in full."""
    bench = JobBuilder().card(PROMOTER, URETHANE)
    bench.add(ev.JobDescribed, title="Demo panel", customer="Demo customer", promised=START + timedelta(days=9))
    bench.piece("panel", "abs", known="marked", mark=">ABS<")
    bench.prep("wash", agent="water-detergent").prep("abrade", grit=400, note="By hand.").prep(
        "water-break test", passed=True
    )
    bench.layer("promoter", PROMOTER, 2, activator="rigid").read_air(21.5, 48, surface_degC=20)
    bench.ready().coat(takes=minutes(3)).wait(minutes=15).coat().wait(minutes=5).empty(left_mL=4)
    bench.layer("clear", URETHANE, 2, activator="hard", additives=("flex",)).wait(minutes=30)
    bench.ready().coat().film(30).wait(minutes=15).coat()
    return bench


def test_the_head_says_whose_job_it_is_and_when_it_was_promised() -> None:
    sheet = sheet_of(whole())
    assert sheet.title == "Job sheet: Demo panel"
    assert "Demo customer" in sheet.under
    assert fact(sheet, "Customer") == ["Demo customer"]
    assert fact(sheet, "Promised") == ["11 Mar 2026, 08:00"]
    assert fact(sheet, "Begun") == ["2 Mar 2026, 08:00"]


def test_a_demo_says_so_first() -> None:
    job = replace(whole().job, demo=True)
    first = job_sheet(job, fold(job), TABLES, START, zone=UTC).blocks[0]
    assert first == Caution("These numbers are not a data sheet.", "Demo")
    assert not any(isinstance(b, Caution) for b in sheet_of(whole()).blocks)


@pytest.mark.parametrize(
    ("known", "words"),
    [("marked", "by the mark on it"), ("told", "we were told so"), ("guessed", "a guess"),
     ("unknown", "not known for sure")],
)  # fmt: skip
def test_it_says_how_the_material_is_known(known: str, words: str) -> None:
    bench = JobBuilder().piece("panel", "abs", known=known, mark=">ABS<")
    sheet = sheet_of(bench)
    assert fact(sheet, "Known") == [words]
    [mark] = fact(sheet, "Its mark")
    assert mark.startswith(">ABS<: ")
    assert "acrylonitrile" in mark


def test_clues_are_told_in_the_words_of_the_table_else_by_their_names() -> None:
    clues = load_clues()
    question = next(iter(clues.questions.values()))
    clue = ev.Clue(test=question.id, answer=question.answers[0].id)
    odd = ev.Clue(test="of-another-table", answer="it-sank")
    bench = JobBuilder().piece("panel", "abs")
    bench.add(ev.PieceChanged, piece=replace(bench.state.pieces["panel"].piece, clues=(clue, odd)))
    [told] = fact(sheet_of(bench, clues=clues), "Clues")
    assert question.ask in told
    assert question.answers[0].words in told
    assert "of another table: it sank" in told
    [bare] = fact(sheet_of(bench), "Clues")
    assert question.id.replace("-", " ") in bare


def test_prep_stands_as_it_was_done() -> None:
    [prep] = [b for b in under(sheet_of(whole()), "Prep") if isinstance(b, Grid)]
    assert column(prep, "Step") == ["Wash", "Abrade", "Water test"]
    assert column(prep, "When") == ["2 Mar 2026, 08:00"] * 3
    assert column(prep, "With") == [TABLES.cleaners["water-detergent"].name, "P400", "–"]
    assert column(prep, "Said of it") == ["–", "By hand.", "passed: the water ran off in one sheet"]


def test_the_stack_is_drawn_from_the_viewers_side() -> None:
    bench = whole()
    [stack] = [b for b in sheet_of(bench).blocks if isinstance(b, Stack)]
    assert [b.name for b in stack.bands] == ["2. Urethane clear", "1. Two-part promoter", "ABS"]
    assert stack.bands[0].beside == "2 coats on, 30 µm a coat"
    assert [b.substrate for b in stack.bands] == [False, False, True]
    bench.change_piece("abs", face="behind clear")
    [stack] = [b for b in sheet_of(bench).blocks if isinstance(b, Stack)]
    assert [b.name for b in stack.bands] == ["ABS", "1. Two-part promoter", "2. Urethane clear"]


def test_coats_stand_with_their_times_air_cup_and_wait() -> None:
    promoter, clear = grids(sheet_of(whole()), "Wait before it")
    # the cup stands 5 min once activated and 10 min once reduced; the first coat takes 3 min
    assert column(promoter, "Begun") == ["2 Mar 2026, 08:15", "2 Mar 2026, 08:33"]
    assert column(promoter, "Done") == ["08:18", "08:33"]
    assert column(promoter, "Air then") == [
        "21.5 °C, 48 %, surface 20 °C",
        "21.5 °C, 48 %, surface 20 °C (33 min before)",
    ]
    assert column(promoter, "Cup") == ["1", "1"]
    assert column(promoter, "Wait before it") == ["–", "15 min after coat 1: kept (card 15 min)"]
    assert column(clear, "Wait before it") == [
        "35 min after the layer under it: kept (card 30 min)",
        "15 min after coat 1: kept (card 15 min to 24 h)",
    ]


@pytest.mark.parametrize(
    ("waits", "words"),
    [
        (9.5, "9 min 30 s after coat 1: 30 s too soon (card 10 min to 15 min)"),
        (10, "10 min after coat 1: kept (card 10 min to 15 min)"),
        (15, "15 min after coat 1: just as it closed (card 10 min to 15 min)"),
        (20, "20 min after coat 1: 5 min after it had closed (card 10 min to 15 min)"),
    ],
)
def test_a_flash_is_held_against_the_card(waits: float, words: str) -> None:
    card = replace(COLOUR, flash=minutes(10), flash_most=minutes(15))
    bench = JobBuilder().card(card).piece().layer("l", card, 2).coat(mix=None).wait(minutes=waits).coat(mix=None)
    [coats] = grids(sheet_of(bench), "Wait before it")
    assert column(coats, "Wait before it")[1] == words


@pytest.mark.parametrize("scuffed", [True, False])
def test_a_recoat_after_its_window_says_whether_it_was_scuffed(scuffed: bool) -> None:
    bench = JobBuilder().card(COLOUR, CLEAR).piece().layer("l", COLOUR, 1).layer("over", CLEAR, 1)
    bench.coat("l", mix=None).wait(hours=25)
    if scuffed:
        bench.prep("scuff", grit=800)
    bench.coat("over", mix=None)
    [_, coats] = grids(sheet_of(bench), "Wait before it")
    [told] = column(coats, "Wait before it")
    assert told.startswith("25 h after the layer under it: 60 min after it had closed (card 20 min to 24 h)")
    assert told.endswith("scuffed first" if scuffed else "no scuff logged since")


def test_a_cup_stands_as_it_was_poured() -> None:
    bench = JobBuilder().card(PROMOTER).piece("panel").layer("promoter", PROMOTER, 2, activator="rigid")
    bench.mix(make_mL=20.4)
    bench.add(ev.LotTaken, lot=Lot(id="can", card=PROMOTER.id, part="Base", full_mL=250, number="=A-7"))
    bench.add(ev.Poured, mix=bench.mix_state().id, part="Base", mL=10.0, lot="can")
    bench.add(ev.Poured, mix=bench.mix_state().id, part="Rigid activator", mL=0.3, guess=True)
    bench.stir("activated").wait(minutes=4).coat()
    sheet = sheet_of(bench)
    [cup] = grids(sheet, "Poured, mL")
    # 2 % of base and as much reducer as activated mix: 10 + 0.2 + 10.2 mL make 20.4
    assert column(cup, "Wanted, mL") == ["10", "0.2", "10.2"]
    assert column(cup, "Poured, mL") == ["10", "0.3 (a guess)", "not logged"]
    assert column(cup, "Of the base, %")[1] == "3"
    assert column(cup, "Off, %")[1] == "+50.0"
    assert column(cup, "Lot") == ["=A-7", "not logged", "not logged"]
    assert "Stand: 4 min: 1 min too short (card 5 min). Pot life: the card gives none." in said(sheet)


def test_a_shared_cup_is_written_once() -> None:
    bench = JobBuilder().card(CLEAR).piece("a").layer("la", CLEAR, 1, activator="slow").ready().coat()
    bench.piece("b").layer("lb", CLEAR, 1, activator="slow")
    bench.add(ev.CupShared, mix=bench.mix_state().id, layer="lb").wait(minutes=5).coat("lb")
    sheet = sheet_of(bench)
    assert len(grids(sheet, "Poured, mL")) == 1
    assert "shared by 2 layers" in said(sheet)
    assert [column(g, "Cup") for g in grids(sheet, "Wait before it")] == [["1"], ["1"]]


def test_where_nothing_was_logged_it_says_so() -> None:
    bench = JobBuilder().card(COLOUR).piece().layer("l", COLOUR, 2).coat(mix=None).start(mix=None)
    sheet = sheet_of(bench)
    [coats] = grids(sheet, "Wait before it")
    assert column(coats, "Done")[1] == "not logged"
    assert column(coats, "Air then") == ["not logged"] * 2
    assert column(coats, "Cup") == ["not logged"] * 2
    assert fact(sheet, "Film") == ["not measured"]
    assert fact(sheet, "Customer") == ["not logged"]
    assert Words("No prep is logged.") in sheet.blocks


def test_origins_stand_in_short() -> None:
    card = replace(
        COLOUR,
        origins={
            "*": Origin(kind=OriginKind.SHEET, words="March 2025", page="2"),
            "flash": Origin(kind=OriginKind.GUESS),
            "recoat_closes": Origin(kind=OriginKind.GUESS),
        },
    )
    bench = JobBuilder().card(card).piece().layer("l", card, 1)
    assert fact(sheet_of(bench), "Card’s values") == ["data sheet, March 2025, page 2; flash, recoat closes: a guess"]


def test_findings_and_waivers_stand_with_their_reasons() -> None:
    bench = JobBuilder().card(COLOUR, CLEAR).piece().layer("l", COLOUR, 1).layer("over", CLEAR, 1, activator="slow")
    bench.coat("l", mix=None).wait(minutes=5).ready("over").coat("over")
    found = bench.shown()
    assert found
    sheet = sheet_of(bench)
    [stand] = grids(sheet, "What to do")
    assert {(f.message, f.remedy) for f in found if not f.others} <= set(
        zip(column(stand, "What"), column(stand, "What to do"), strict=True)
    )
    bench.waive(found[0], "The customer was told <b>twice</b>.")
    sheet = sheet_of(bench)
    [signed] = grids(sheet, "Why the work went on")
    assert signed.rows == (("2 Mar 2026, 08:05", found[0].message, "The customer was told <b>twice</b>."),)
    assert not any(found[0].message == m for g in grids(sheet, "What to do") for m in column(g, "What"))


def test_a_trial_strip_and_what_it_proved() -> None:
    bench = JobBuilder().card(PROMOTER).piece("panel").layer("l", PROMOTER, 2, activator="rigid")
    bench.trial(held=False).wait(hours=1).trial(held=True)
    words = [b.text for b in under(sheet_of(bench), "Trial") if isinstance(b, Words)]
    assert words == [
        "Test strip, 2 Mar 2026, 08:00: it did not hold. On it: Two-part promoter.",
        "Test strip, 2 Mar 2026, 09:00: it held. On it: Two-part promoter.",
    ]


def test_a_chosen_system_says_what_it_proves_and_shows_its_grades() -> None:
    now = datetime(2026, 3, 20, 9, 0, tzinfo=UTC)
    job = demo_job(now, TRIAL_DEMO)
    state = fold(job)
    [trial] = state.trials.values()
    chosen = next(s for s in trial.plan.systems if not s.control)
    piece = state.painted[0]
    choice = ev.SystemChosen(id="chosen", at=now, trial=trial.id, system=chosen.id, piece=piece.id)
    job = replace(job, events=(*job.events, choice))
    sheet = job_sheet(job, fold(job), TABLES, now, zone=UTC)
    told = "\n".join(texts_of(*under(sheet, piece.piece.name)))
    assert f"Chosen from the trial “{trial.plan.name}”" in told
    assert "prove" in told
    [large] = [b for b in under(sheet, f"Trial: {trial.plan.name}") if isinstance(b, Grid)]
    graded = [g.given for s in trial.plan.strips for g in trial.newest(s.piece)]
    assert graded
    assert sorted(column(large, "Grade")) == sorted(g.grade for g in graded)
    own = [g for s in trial.strips_of(chosen.id) for g in trial.newest(s.piece)]
    small = next(b for b in under(sheet, piece.piece.name) if isinstance(b, Grid) and "Grade" in b.head)
    assert column(small, "System").count(chosen.name) == len(own)


def test_a_grade_judged_by_a_photo_shows_it() -> None:
    now = datetime(2026, 3, 20, 9, 0, tzinfo=UTC)
    job = demo_job(now, TRIAL_DEMO)
    old = next(e for e in reversed(job.events) if isinstance(e, ev.Graded))
    photo = ev.Photo(name="cuts.png", sha256="c" * 64)
    job = replace(job, events=(*job.events, replace(old, id="by-photo", at=now, photo=photo)))
    [photos] = [b for b in job_sheet(job, fold(job), TABLES, now, zone=UTC).blocks if isinstance(b, Photos)]
    [shown] = photos.shown
    assert (shown.name, shown.sha256) == (photo.name, photo.sha256)
    assert shown.caption.endswith(f"{old.grade}, 20 Mar 2026, 09:00")


def test_photos_have_their_step_and_time() -> None:
    bench = whole()
    picture = ev.Picture(name="a.jpg", sha256="a" * 64)
    step = next(e for e in bench.job.events if isinstance(e, ev.PrepDone) and e.grit)
    bench.add(ev.PhotoAdded, piece="panel", picture=picture, of=step.id, note="left side")
    bench.add(ev.PhotoAdded, piece="panel", picture=picture, layer="clear")
    [photos] = [b for b in sheet_of(bench).blocks if isinstance(b, Photos)]
    assert photos.shown[0].caption == "Abrade, 2 Mar 2026, 08:00, left side"
    assert photos.shown[1].caption.startswith("On top: Urethane clear, 2 Mar 2026")
    assert {s.sha256 for s in photos.shown} == {"a" * 64}


def test_what_was_taken_back_is_left_out() -> None:
    bench = whole()
    before = sheet_of(bench)
    bench.prep("strip", note="All off again")
    assert "All off again" in said(sheet_of(bench))
    bench.undo()
    assert said(sheet_of(bench)) == said(before)


def test_a_moved_time_is_said() -> None:
    bench = whole()
    start = next(e for e in bench.job.events if isinstance(e, ev.CoatStarted))
    bench.correct(start.id, start.at - minutes(2))
    sheet = sheet_of(bench)
    [moved] = grids(sheet, "Really at")
    assert moved.rows == (("Panel, Two-part promoter: coat started", "2 Mar 2026, 08:15", "2 Mar 2026, 08:13"),)
    assert column(grids(sheet, "Wait before it")[0], "Begun")[0] == "2 Mar 2026, 08:13"


def test_only_the_pieces_asked_for_are_on_it() -> None:
    bench = whole()
    bench.piece("other", name="Other piece").layer("lo", COLOUR, 1).coat(mix=None)
    sheet = sheet_of(bench, pieces={"panel"})
    assert "Other piece" not in said(sheet)
    assert "Urethane clear" in said(sheet)


def test_a_long_job_is_written_in_tables_with_the_same_in_it() -> None:
    bench = JobBuilder().card(PROMOTER)
    for i in range(MOST_IN_FULL + 1):
        bench.piece(f"p{i}", name=f"Piece {i}").layer(f"l{i}", PROMOTER, 2, activator="rigid")
        bench.ready().coat().wait(minutes=15).coat().empty()
    sheet = sheet_of(bench)
    assert sum(len(g.rows) for g in grids(sheet, "Wait before it")) == 2 * (MOST_IN_FULL + 1)
    [cups] = grids(sheet, "Poured, mL")
    assert len(cups.rows) == 3 * (MOST_IN_FULL + 1)
    [stood] = grids(sheet, "Pot life")
    assert column(stood, "Stand") == ["10 min: kept (card 10 min)"] * (MOST_IN_FULL + 1)
    assert not any(isinstance(b, Heading) and b.text.startswith("1. ") for b in sheet.blocks)


@pytest.mark.parametrize("name", [DEMO, TRIAL_DEMO])
def test_the_demos_can_be_written(name: str) -> None:
    now = datetime(2026, 3, 20, 9, 0, tzinfo=UTC)
    job = demo_job(now, name)
    sheet = job_sheet(job, fold(job), TABLES, now, clues=load_clues())
    assert Page(html_of(sheet, lambda _: None)).torn == []


@examples(150)
@given(st.data())
def test_all_of_a_record_is_on_its_sheet(data: st.DataObject) -> None:
    job: Job = data.draw(jobs())
    now = data.draw(moments(job))
    state = fold(job)
    sheet = job_sheet(job, state, TABLES, now, zone=UTC)
    text = said(sheet)
    for piece in state.pieces.values():
        assert any(isinstance(b, Heading) and b.text == piece.piece.name for b in sheet.blocks)
        for layer in piece.layers:
            assert state.layer_name(layer) in text
            assert layer.plan.note in text or " ".join(layer.plan.note.split()) in text
    coats = [c for layer in state.layers.values() for c in layer.coats]
    assert sum(len(g.rows) for g in grids(sheet, "Wait before it")) == len(coats)
    steps = [s for piece in state.pieces.values() for s in piece.steps]
    assert sum(len(g.rows) for g in grids(sheet, "Said of it") if "Step" in g.head) == len(steps)
    signed = [row for g in grids(sheet, "Why the work went on") for row in g.rows]
    assert sorted((m, r) for _, m, r in signed) == sorted((w.message or "–", w.reason) for w in state.waivers)
    poured = [row for g in grids(sheet, "Poured, mL") for row in g.rows]
    assert len(poured) >= sum(len(mix.parts) for mix in state.mixes.values())
    for lot in {p.lot for mix in state.mixes.values() for p in mix.pours if p.lot is not None}:
        assert state.lots[lot].number in text or not state.lots[lot].number


@examples(60)
@given(jobs())
def test_nothing_in_it_is_markup_and_no_cell_is_missing(job: Job) -> None:
    sheet = job_sheet(job, fold(job), TABLES, job.created + hours(4), zone=UTC)
    for block in sheet.blocks:
        if isinstance(block, Grid):
            assert {len(row) for row in block.rows} == {len(block.head)}
            assert all(cell for row in block.rows for cell in row)
        if isinstance(block, Facts):
            assert all(label and value for label, value in block.rows)
    page = Page(html_of(sheet, lambda _: None))
    assert page.torn == []
    assert not page.all("script")


def test_names_that_look_like_markup_are_text() -> None:
    nasty = '</h2><script src="x">&amp;'
    card = replace(COLOUR, name=nasty, maker=nasty)
    bench = JobBuilder().card(card).add(ev.JobDescribed, title=nasty, customer=nasty, note=nasty)
    bench.piece("panel", name=nasty).layer("l", card, 1).change_layer(name=nasty, note=nasty).coat(mix=None)
    page = Page(html_of(sheet_of(bench), lambda _: None))
    assert page.torn == []
    assert not page.all("script")
    assert page.text.count(nasty) >= 8
