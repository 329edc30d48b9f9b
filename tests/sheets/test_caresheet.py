"""The care sheet: dates a customer can trust, plain words, what to repair it with, and nothing of the shop's."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from builders import CLEAR, COLOUR, PROMOTER, START, URETHANE, JobBuilder, hours, minutes
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from page_reading import Page
from sheet_reading import column, grids, said
from strategies import examples, jobs, moments

from benchtool.job import events as ev
from benchtool.job.cards import CardTime, Care, ForcedDry, Hazard
from benchtool.job.care import Use, care_times
from benchtool.job.lots import Lot
from benchtool.job.record import Job
from benchtool.job.state import fold
from benchtool.session.tables import load_tables
from benchtool.sheets.blocks import Caution, Sheet
from benchtool.sheets.caresheet import care_sheet, rounded_up
from benchtool.sheets.sheethtml import html_of

TABLES = load_tables()
USES = ["Touch the paint", "Put tape or stickers on it", "Pack and post it", "Wash it", "Bend it", "Wax or polish it"]


def sheet_of(bench: JobBuilder, piece: str = "panel", **more: object) -> Sheet:
    return care_sheet(bench.job, bench.state, TABLES, bench.now, piece, **{"zone": UTC, **more})  # type: ignore[arg-type]


def finished(*, flex: str = "flexible", face: str = "outside", substrate: str = "abs") -> JobBuilder:
    """A panel in colour and clear, its last coat done at 08:37."""
    clear = replace(URETHANE, maker="Demo coatings", care={Care.WASH: timedelta(days=2)})
    bench = JobBuilder().card(COLOUR, clear).add(ev.JobDescribed, title="Demo job", customer="Demo customer")
    bench.piece("panel", substrate, flex=flex, face=face)
    bench.layer("colour", COLOUR, 1).change_layer(note="Matched to a demo tile", name="Sea blue").coat(mix=None)
    bench.layer("clear", clear, 2, activator="hard", additives=("flex",))
    bench.wait(minutes=22).coat(mix=None).wait(minutes=15).coat(mix=None)
    return bench


def dates(sheet: Sheet) -> dict[str, str]:
    [grid] = grids(sheet, "Until then")
    return dict(zip(column(grid, "What"), column(grid, "From"), strict=True))


def test_each_use_has_its_day_and_time_never_too_soon() -> None:
    # last coat 08:37; tape 24 h, wash 2 days by the card, the rest once it is cured after 7 days; told to the quarter
    sheet = sheet_of(finished())
    assert dates(sheet) == {
        "Touch the paint": "Tue 3 Mar 2026, 08:45",
        "Put tape or stickers on it": "Tue 3 Mar 2026, 08:45",
        "Pack and post it": "Mon 9 Mar 2026, 08:45",
        "Wash it": "Wed 4 Mar 2026, 08:45",
        "Bend it": "Mon 9 Mar 2026, 08:45",
        "Wax or polish it": "Mon 9 Mar 2026, 08:45",
    }
    assert sheet.one_page
    assert "The last coat went on on Mon 2 Mar 2026 at 08:37." in said(sheet)


def test_times_are_those_of_the_place_and_of_their_own_day() -> None:
    bench = finished()
    there = ZoneInfo("Europe/Berlin")
    assert dates(sheet_of(bench, zone=there))["Wash it"] == "Wed 4 Mar 2026, 09:45"
    # cured on the far side of the clock change of 29 March: an hour further from UTC than the last coat was
    late = JobBuilder(datetime(2026, 3, 27, 8, 0, tzinfo=UTC)).card(CLEAR).piece().layer("l", CLEAR, 1).coat(mix=None)
    assert dates(sheet_of(late, zone=there))["Wash it"] == "Fri 3 Apr 2026, 10:00"
    assert "The last coat went on on Fri 27 Mar 2026 at 09:00." in said(sheet_of(late, zone=there))


def test_what_is_over_says_now() -> None:
    bench = finished().wait(days=3)
    assert dates(sheet_of(bench))["Wash it"] == "now (since Wed 4 Mar 2026, 08:45)"
    assert dates(sheet_of(bench))["Wax or polish it"] == "Mon 9 Mar 2026, 08:45"


def test_what_is_not_known_is_said_to_be_unknown() -> None:
    bare = replace(CLEAR, tape=None, cure=None)
    bench = JobBuilder().card(bare).piece().layer("l", bare, 1).coat(mix=None)
    assert set(dates(sheet_of(bench)).values()) == {"not known: ask us", "never: it is rigid"}


def test_a_rigid_piece_is_never_bent() -> None:
    assert dates(sheet_of(finished(flex="rigid")))["Bend it"] == "never: it is rigid"


@pytest.mark.parametrize(("stage", "words"), [("bare", "not painted yet"), ("begun", "Not all of its paint is on yet")])
def test_before_all_coats_are_on_it_says_so_and_gives_no_date(stage: str, words: str) -> None:
    bench = JobBuilder().card(CLEAR).piece().layer("l", CLEAR, 2)
    if stage == "begun":
        bench.coat(mix=None)
    sheet = sheet_of(bench)
    assert grids(sheet, "Until then") == []
    [caution] = [b for b in sheet.blocks if isinstance(b, Caution) and b.word == "Not yet"]
    assert words in caution.text


def test_it_says_what_to_repair_it_with_from_the_side_one_looks_at() -> None:
    [grid] = grids(sheet_of(finished()), "What it is")
    assert grid.head[0] == "From the outside in"
    assert grid.rows == (
        ("Urethane clear of Demo coatings", "two-part urethane clear coat", "Clear hardener, Flex additive", "–"),
        ("Sea blue: Base colour", "one-part colour", "–", "Matched to a demo tile"),
    )
    behind = sheet_of(finished(face="behind clear"))
    [grid] = grids(behind, "What it is")
    assert [row[0] for row in grid.rows] == ["Sea blue: Base colour", "Urethane clear of Demo coatings"]
    assert "do not scrape, scrub or peel the painted back" in said(behind)
    assert "painted back" not in said(sheet_of(finished()))


def test_what_is_painted_from_behind_takes_no_sticker_ever() -> None:
    text = said(sheet_of(finished(face="behind clear")))
    assert "Put tape or stickers on it" not in text
    [grid] = grids(sheet_of(finished(face="behind clear")), "Until then")
    [row] = [row for row in grid.rows if "sticker" in row[0]]
    assert row[:2] == ("Put tape or stickers on the painted back", "never")
    assert "put no sticker on it" in text


def test_nothing_of_the_shops_is_on_it() -> None:
    bench = finished()
    secret = "SHOPNOTE"
    bench.add(ev.JobDescribed, title="Demo job", customer="Demo customer", note=secret)
    bench.prep("wash", note=secret).film(30, "clear")
    card = bench.state.cards["urethane"]
    bench.card(replace(card, note=secret, origins={"*": secret}))
    bench.mix("clear")
    bench.add(ev.LotTaken, lot=Lot(id="can", card=card.id, part="Base", full_mL=100, number=secret, price=12.34,
                                   note=secret))  # fmt: skip
    for finding in bench.shown()[:2]:
        bench.waive(finding, secret)
    assert bench.state.waivers
    text = said(sheet_of(bench))
    assert secret not in text
    assert "12.34" not in text
    assert not any(finding.message in text for finding in bench.findings())


def test_what_can_hurt_is_said_once_and_gives_way_to_the_safety_sheet() -> None:
    def cautions(bench: JobBuilder) -> str:
        return " ".join(b.text for b in sheet_of(bench).blocks if isinstance(b, Caution) and b.word == "Caution")

    usual = cautions(finished())
    assert "food" in usual
    assert "safety data sheets decide" in usual
    assert "chromate" not in usual
    assert "lead" not in usual
    chromate = replace(CLEAR, hazards=(Hazard.CHROMATE,))
    assert "holds chromate" in cautions(JobBuilder().card(chromate).piece().layer("l", chromate, 1).coat(mix=None))
    lead = next(s.id for s in TABLES.substrates.values() if any(n.name == "MAY_HOLD_LEAD" for n in s.natures))
    assert "may hold lead" in cautions(finished(substrate=lead))


def test_a_demo_says_so() -> None:
    job = replace(finished().job, demo=True)
    first = care_sheet(job, fold(job), TABLES, START, "panel", zone=UTC).blocks[0]
    assert first == Caution("These numbers are not a data sheet.", "Demo")


def test_of_no_piece_there_is_no_sheet() -> None:
    with pytest.raises(KeyError):
        sheet_of(finished(), "nobody")


@given(st.integers(0, 10**16))
def test_a_time_is_told_to_the_next_quarter(microseconds: int) -> None:
    at = START + timedelta(microseconds=microseconds)
    up = rounded_up(at)
    assert timedelta(0) <= up - at < minutes(15)
    assert (up.minute % 15, up.second, up.microsecond) == (0, 0, 0)


@examples(120)
@given(st.data())
def test_any_piece_of_any_job_has_one_and_no_date_on_it_is_too_soon(data: st.DataObject) -> None:
    job: Job = data.draw(jobs())
    now = data.draw(moments(job))
    state = fold(job)
    for piece in state.pieces.values():
        sheet = care_sheet(job, state, TABLES, now, piece, zone=UTC)
        assert Page(html_of(sheet, lambda _: None)).torn == []
        care = care_times(state, piece)
        tables = grids(sheet, "Until then")
        assert bool(tables) is care.all_on
        for name, use in zip(USES, Use, strict=True):
            if use is Use.TAPE and piece.piece.face is ev.Face.BEHIND_CLEAR:
                continue
            if not tables or (use is Use.BEND and dates(sheet)[name] == "never: it is rigid"):
                continue
            told, known = dates(sheet)[name], care.uses.get(use)
            if known is None:
                assert told == "not known: ask us"
                continue
            when = told.removeprefix("now (since ").removesuffix(")")
            assert datetime.strptime(when, "%a %d %b %Y, %H:%M").replace(tzinfo=UTC) >= known.at
        for layer in piece.layers:
            if layer.started:
                assert (layer.plan.name or "") in said(sheet)


def test_a_sheet_for_a_promoter_alone_is_short_and_whole() -> None:
    bench = JobBuilder().card(PROMOTER).piece().layer("l", PROMOTER, 2, activator="flexible")
    bench.ready().coat().wait(minutes=15).coat()
    [grid] = grids(sheet_of(bench), "What it is")
    assert grid.rows == (("Two-part promoter", "two-part adhesion promoter", "Flexible activator", "–"),)
    assert dates(sheet_of(bench))["Touch the paint"] == "Tue 3 Mar 2026, 08:30"
    assert hours(24) == PROMOTER.tape


def test_heat_that_is_on_when_it_is_written_is_not_counted_on_for_the_time_after() -> None:
    """The customer takes the piece along, and nobody's oven. By hand: 30 min of 2 h in heat are a quarter of the cure;
    the rest of 48 h in the air is 36 h."""
    card = replace(
        COLOUR, tape=None, cure=hours(48), care={}, forced={CardTime.CURE: ForcedDry(degC=60, wait=hours(2))}
    )
    bench = JobBuilder().card(card).piece("panel").layer("l", card, 1).coat("l", mix=None).heat()
    bench.wait(minutes=30)
    care = care_times(bench.state, bench.state.pieces["panel"], bench.now)
    assert care.uses[Use.WASH].at == bench.now + hours(36)
    assert dates(sheet_of(bench))["Wash it"] == "Tue 3 Mar 2026, 20:30"
    gone = care_times(bench.state, bench.state.pieces["panel"], bench.now + hours(2))
    assert gone.uses[Use.WASH].at == START + hours(2)
