"""A card as typed from its sheet: what makes a card, and what is said of what does not."""

import dataclasses
from datetime import timedelta
from typing import Any, get_type_hints

import pytest
from builders import ADHESIVE_CLEAR, CLEAR, COLOUR, ONE_PART_PROMOTER, PROMOTER
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import cards, examples

from benchtool.job.cards import Card, Duty, Gun, Hazard, Voc, recipe
from benchtool.job.state import recipe_parts
from benchtool.session.cardfields import Reader
from benchtool.session.cardmore import VocText, cup_told, read_shelf, shelf_told, voc_told, write_shelf
from benchtool.session.cardreading import (
    TIMES,
    ActivatorText,
    CardText,
    Wrong,
    free_slug,
    read_card,
    share_told,
    unmixable,
    write_card,
)
from benchtool.trade.mixing import amounts_mL
from benchtool.trade.substrates import Suits

PROMOTER_TEXT = CardText(
    name="Two-part promoter",
    duty=Duty.PROMOTER,
    two_part=True,
    origin="sheet of a demo, page 1",
    activators=(
        ActivatorText(name="Rigid activator", share="2 % of base", suits=Suits.RIGID, density="1,05"),
        ActivatorText(name="Flexible activator", share="2 % of base", suits=Suits.FLEXIBLE),
        ActivatorText(),
    ),
    reducer="",
    reductions={Gun.AIRBRUSH: ("90 % of activated", "1:1 of activated", "110 % of activated")},
    coats_least="2",
    coats_most="2",
    film="12,5 µm",
    density="0.87",
    times={"stand": "5", "stand_reduced": "10", "flash": "15 min", "recoat_opens": "30 min", "tape": "1 d"},
    hazards=frozenset({Hazard.SOLVENT, Hazard.ISOCYANATES}),
)


def faults_of(text: CardText, before: Card | None = None) -> dict[str, str]:
    with pytest.raises(Wrong) as wrong:
        read_card(text, "c1", before)
    return dict(wrong.value.faults)


def change(**fields: Any) -> CardText:
    return dataclasses.replace(PROMOTER_TEXT, **fields)


def test_what_is_typed_becomes_the_card() -> None:
    """Check value, common practice, no source: 2 % activator, then 1:1 reduced, 60 mL ready to spray."""
    card = read_card(PROMOTER_TEXT, "c1")
    assert card.activators[0].density_g_mL == 1.05
    assert [a.id for a in card.activators] == ["rigid-activator", "flexible-activator"]
    assert card.film_um == 12.5
    assert (card.stand, card.flash, card.tape) == (timedelta(minutes=5), timedelta(minutes=15), timedelta(days=1))
    assert card.reducer == "Reducer"
    assert card.origins == {"*": "sheet of a demo, page 1"}
    assert card.hazards == (Hazard.ISOCYANATES, Hazard.SOLVENT)
    parts = recipe_parts(recipe(card, card.activators[0], Gun.AIRBRUSH))
    assert amounts_mL(parts, 60) == pytest.approx((29.412, 0.588, 30), abs=0.001)


@pytest.mark.parametrize("card", [PROMOTER, ONE_PART_PROMOTER, ADHESIVE_CLEAR, COLOUR, CLEAR], ids=lambda c: c.id)
def test_a_card_written_out_reads_the_same(card: Card) -> None:
    assert read_card(write_card(card), card.id, card) == card


@examples(100)
@given(card=cards())
def test_every_card_written_out_reads_the_same_or_says_what_it_lacks(card: Card) -> None:
    lacking = {"origin", "flash", "recoat_opens"}
    lacking |= {f"activator-{i}-share" for i in range(len(card.activators))}
    lacking |= {f"reduction-{g.value}-{k}" for g in Gun for k in ("least", "usual", "most")}
    read, faults = card, ()
    try:
        read = read_card(write_card(card), card.id, card)
    except Wrong as wrong:
        faults = wrong.faults
    assert read == card
    assert {key for key, _ in faults} <= lacking


def test_four_to_one_of_base_is_one_part_to_four_of_base_and_plain_parts_are_never_told() -> None:
    """4:1 on a can is four of the base to one of the hardener, 25 %: common practice, no source."""
    row = ActivatorText(name="Hardener", share="4:1 of base", suits=Suits.ANY)
    card = read_card(change(activators=(row,), reductions={}), "c1")
    parts = recipe_parts(recipe(card, card.activators[0], Gun.AIRBRUSH))
    assert amounts_mL(parts, 100) == pytest.approx((80, 20))
    assert share_told("4:1 of base") == "25 % of the base"
    assert share_told("1") == share_told("25 parts") == ""


def test_nothing_typed_asks_for_all_that_is_needed() -> None:
    assert set(faults_of(CardText())) == {"name", "duty", "parts", "origin", "coats_least", "coats_most"}


@pytest.mark.parametrize(
    ("fields", "key", "said"),
    [
        ({"coats_least": "two"}, "coats_least", "no number of coats"),
        ({"coats_most": "51"}, "coats_most", "1 to 50"),
        ({"coats_most": "1"}, "coats_most", "less than the least"),
        ({"film": "thin"}, "film", "number in µm"),
        ({"film": "20 mm"}, "film", "in µm"),
        ({"film": "0"}, "film", "more than 0"),
        ({"density": "25"}, "density", "g/mL"),
        ({"density": "8.3 lb/gal"}, "density", "g/mL"),
        ({"times": {"flash": "soon"}}, "flash", "no length of time"),
        ({"times": {"pot_life": "2"}}, "pot_life", "2 min, 2 h or 2 d"),
        ({"times": {"flash": "20", "flash_most": "15"}}, "flash_most", "shorter than the flash"),
        ({"times": {"flash_most": "15"}}, "flash", "0 min if it may follow"),
        ({"times": {"recoat_opens": "2 h", "recoat_closes": "1 h"}}, "recoat_closes", "closes before it opens"),
        ({"times": {"recoat_closes": "24 h"}}, "recoat_opens", "0 min if at once"),
        ({"activators": ()}, "activator-0-name", "needs an activator"),
        ({"activators": (ActivatorText(name="A", suits=Suits.ANY),)}, "activator-0-share", "2 % of base"),
        ({"activators": (ActivatorText(name="A", share="4:1", suits=Suits.ANY),)}, "activator-0-share", "of what"),
        (
            {"activators": (ActivatorText(name="A", share="1", suits=Suits.ANY),)},
            "activator-0-share",
            "“1” of what? Write 25 % of base, or 4:1 of base",
        ),
        ({"activators": (ActivatorText(name="A", share="25 parts", suits=Suits.ANY),)}, "activator-0-share", "of what"),
        ({"reductions": {Gun.MINI: ("", "1", "")}}, "reduction-mini gun-usual", "“1” of what? Write 25 % of base"),
        ({"activators": (ActivatorText(name="A", share="2 % of base"),)}, "activator-0-suits", "what it suits"),
        ({"activators": (ActivatorText(share="2 % of base", suits=Suits.ANY),)}, "activator-0-name", "its name"),
        (
            {"activators": (ActivatorText(name="base", share="1 % of base", suits=Suits.ANY),)},
            "activator-0-name",
            "has that name",
        ),
        ({"reducer": "rigid activator"}, "reducer", "has that name"),
        ({"reductions": {Gun.MINI: ("", "lots", "")}}, "reduction-mini gun-usual", "start with a number"),
        ({"reductions": {Gun.MINI: ("5 % of base", "", "")}}, "reduction-mini gun-usual", "usual"),
        ({"reductions": {Gun.MINI: ("5 % of base", "2 % of base", "")}}, "reduction-mini gun-usual", "less than"),
        ({"reductions": {Gun.MINI: ("", "5 % of base", "2 % of base")}}, "reduction-mini gun-most", "less than"),
        ({"reductions": {Gun.MINI: ("", "5 % of glue", "")}}, "reduction-mini gun-usual", "no other part is that"),
    ],
)
def test_each_slip_is_said_at_its_field(fields: dict[str, Any], key: str, said: str) -> None:
    faults = faults_of(change(**fields))
    assert said in faults[key]
    assert set(faults) == {key}


def test_a_usual_reduction_alone_is_enough() -> None:
    card = read_card(change(reductions={Gun.FULL: ("", "10 % of base", "")}), "c1")
    [reduction] = card.reductions
    assert (reduction.least, reduction.usual, reduction.most) == ("10 % of base",) * 3


def test_an_edit_keeps_ids_notes_and_only_the_origins_that_still_hold() -> None:
    before = replace(
        read_card(PROMOTER_TEXT, "c1"), note="shake it", origins={"*": "sheet", "flash": "own", "tape": "own"}
    )
    rows = (ActivatorText(name="Hard activator", share="3 % of base", suits=Suits.RIGID, id="rigid-activator"),)
    text = change(activators=rows, origin="sheet", times={"flash": "20", "tape": "1 d"})
    after = read_card(text, "c1", before)
    assert after.activators[0].id == "rigid-activator"
    assert after.note == "shake it"
    assert after.origins == {"*": "sheet", "tape": "own"}


def test_one_part_has_no_activators_whatever_was_typed_in_the_hidden_rows() -> None:
    assert read_card(change(two_part=False), "c1").activators == ()


def test_pasted_lines_and_half_characters_become_one_clean_line() -> None:
    card = read_card(change(name=" Two-part\n clear \ud83d "), "c1")
    assert card.name == "Two-part clear"


def test_a_card_that_makes_no_mix_is_found_out() -> None:
    assert [key for key, _ in unmixable(CLEAR)] == []
    wrong = replace(CLEAR, activators=(replace(CLEAR.activators[0], share="2 % of nothing"),))
    assert [key for key, _ in unmixable(wrong)] == ["activator-0-share"]


def test_ids_are_plain_and_free() -> None:
    assert free_slug("Clear “Größe 2”", ()) == "clear-groe-2"
    assert free_slug("Clear", ["CLEAR", "clear-2"]) == "clear-3"
    assert free_slug("漆", ()) == "card"


def test_every_time_of_a_card_can_be_typed() -> None:
    spans = {f for f in Card.__struct_fields__ if "timedelta" in str(get_type_hints(Card)[f])}
    assert spans == {*TIMES, "care", "keeps", "keeps_opened", "reducer_keeps", "reducer_keeps_opened"}


# --- contents, shelf life, tolerance, spray viscosity ----------------------------------------------


def full_text() -> CardText:
    rigid, flexible, empty = PROMOTER_TEXT.activators
    rigid = dataclasses.replace(
        rigid, solids="45", voc=VocText(voc="480 g/L"), keeps="1 year", keeps_opened="6 months", tolerance="8 %"
    )
    return change(
        activators=(rigid, flexible, empty),
        solids="8 %",
        voc=VocText(voc="5 lb/gal", water="100", exempt="50,5", exempt_density="0.79"),
        reducer_density="0.86",
        reducer_voc=VocText(voc="860"),
        keeps="2 years",
        keeps_opened="90 d",
        reducer_keeps="3 years",
        reducer_keeps_opened="2 years",
        tolerance="3",
        flows={Gun.AIRBRUSH: ("18 s", "DIN 4")},
    )


def test_contents_shelf_life_tolerance_and_viscosity_become_values_of_the_card() -> None:
    """5 lb/gal is 599.13 g/L: 453.59237 g in 3.785411784 L, NIST Handbook 44 appendix C."""
    card = read_card(full_text(), "c1")
    assert card.voc is not None
    assert card.voc.voc_g_L == pytest.approx(5 * 453.59237 / 3.785411784)
    assert (card.voc.water_g_L, card.voc.exempt_g_L, card.voc.exempt_density_g_mL) == (100, 50.5, 0.79)
    assert card.reducer_voc == Voc(voc_g_L=860)
    assert (card.solids_percent, card.tolerance_percent) == (8, 3)
    assert (card.keeps, card.keeps_opened) == (timedelta(days=730), timedelta(days=90))
    rigid, flexible = card.activators
    assert (rigid.solids_percent, rigid.voc, rigid.tolerance_percent) == (45, Voc(voc_g_L=480), 8)
    assert (rigid.keeps, rigid.keeps_opened) == (timedelta(days=365), timedelta(days=182))
    assert (card.reducer_keeps, card.reducer_keeps_opened) == (timedelta(days=1_095), timedelta(days=730))
    assert (flexible.solids_percent, flexible.voc, flexible.keeps, flexible.keeps_opened) == (None, None, None, None)
    [reduction] = card.reductions
    assert (reduction.flow_s, reduction.flow_cup) == (18, "DIN 4")
    assert read_card(write_card(card), "c1", card) == card


def with_activator(**fields: Any) -> CardText:
    text = full_text()
    first, *others = text.activators
    return dataclasses.replace(text, activators=(dataclasses.replace(first, **fields), *others))


@pytest.mark.parametrize(
    ("text", "key", "said"),
    [
        (change(solids="0"), "solids", "more than 0, up to 100"),
        (change(solids="101"), "solids", "up to 100"),
        (change(solids="30 g"), "solids", "this is in %"),
        (change(tolerance="51"), "tolerance", "up to 50"),
        (change(voc=VocText(voc="-1")), "voc", "from 0, up to 25000"),
        (change(voc=VocText(voc="some")), "voc", "number in g/L"),
        (change(voc=VocText(voc="480 oz")), "voc", "this is in g/L"),
        (change(voc=VocText(water="100")), "voc", "0 where there is none"),
        (change(voc=VocText(voc="900")), "voc", "“Base” does not add up"),
        (change(voc=VocText(voc="10", water="1100")), "voc", "“Base” does not add up"),
        (change(voc=VocText(voc="1", exempt_density="99")), "exempt_density", "g/mL"),
        (
            change(reducer="Thin", reducer_density="0.8", reducer_voc=VocText(voc="900")),
            "reducer_voc",
            "“Thin” does not add up",
        ),
        (with_activator(voc=VocText(voc="1100")), "activator-0-voc", "“Rigid activator” does not add up"),
        (with_activator(solids="120"), "activator-0-solids", "up to 100"),
        (with_activator(tolerance="0"), "activator-0-tolerance", "more than 0"),
        (with_activator(keeps_opened="6"), "activator-0-keeps_opened", "“6” of what? Write 12 months"),
        (with_activator(keeps="a while"), "activator-0-keeps", "no length of time"),
        (with_activator(keeps="5 months"), "activator-0-keeps_opened", "longer opened than unopened"),
        (change(reducer_keeps="11 years"), "reducer_keeps", "no shelf life"),
        (change(reducer_keeps_opened="soon"), "reducer_keeps_opened", "no length of time"),
        (
            change(reducer_keeps="1 y", reducer_keeps_opened="2 y"),
            "reducer_keeps_opened",
            "longer opened than unopened",
        ),
        (change(keeps="11 years"), "keeps", "no shelf life"),
        (change(keeps="soon"), "keeps", "no length of time"),
        (change(keeps="12 m"), "keeps", "two ways: write 12 months or 12 min"),
        (change(keeps="30 d", keeps_opened="31 d"), "keeps_opened", "longer opened than unopened"),
        (change(flows={Gun.AIRBRUSH: ("18", "")}), "flow-airbrush-cup", "out of which cup"),
        (change(flows={Gun.AIRBRUSH: ("", "DIN 4")}), "flow-airbrush-seconds", "how many seconds"),
        (change(flows={Gun.AIRBRUSH: ("18", "tea cup")}), "flow-airbrush-cup", "no flow cup known"),
        (change(flows={Gun.AIRBRUSH: ("0", "DIN 4")}), "flow-airbrush-seconds", "more than 0"),
        (change(flows={Gun.MINI: ("18", "DIN 4")}), "reduction-mini gun-usual", "0 % of base where none goes in"),
    ],
)
def test_each_slip_of_the_optional_values_is_said_at_its_field(text: CardText, key: str, said: str) -> None:
    faults = faults_of(text)
    assert said in faults[key]
    assert set(faults) == {key}


@pytest.mark.parametrize("more", [{"voc": VocText(voc="100")}, {"keeps": "1 year"}, {"keeps_opened": "1 year"}])
def test_an_activator_with_contents_and_no_name_is_asked_for_its_name(more: dict[str, Any]) -> None:
    row = ActivatorText(suits=Suits.ANY, **more)
    assert "activator-1-name" in faults_of(change(activators=(PROMOTER_TEXT.activators[0], row)))


@pytest.mark.parametrize(
    ("typed", "days", "written"),
    [
        ("12 months", 365, "12 months"),
        ("1 year", 365, "12 months"),
        ("6 mo", 182, "6 months"),
        ("1 month", 30, "1 month"),
        ("1.5 yrs", 547, "18 months"),
        ("1/2 year", 182, "6 months"),
        ("90 d", 90, "90 d"),
        ("26 weeks", 182, "6 months"),
        ("10 years", 3_650, "120 months"),
    ],
)
def test_a_shelf_life_in_months_is_never_longer_than_the_calendars(typed: str, days: int, written: str) -> None:
    assert read_shelf(typed) == timedelta(days=days)
    assert write_shelf(read_shelf(typed)) == written


@given(days=st.integers(0, 3_650))
def test_every_shelf_life_written_out_reads_the_same(days: int) -> None:
    assert read_shelf(write_shelf(timedelta(days=days))) == timedelta(days=days)


def test_the_page_tells_pounds_per_gallon_in_grams_and_which_cup_is_meant() -> None:
    """3.5 lb/gal is 419 g/L: as above."""
    assert voc_told("3.5 lb/gal") == "419 g/L"
    assert voc_told("420") == voc_told("much") == ""
    assert cup_told("din 4") == "DIN 4 mm"
    assert cup_told("tea cup") == cup_told("") == ""
    assert shelf_told("2 years") == "24 months"
    assert shelf_told("long") == ""


def test_a_number_of_coats_that_is_missing_is_named() -> None:
    faults: list[tuple[str, str]] = []
    reader = Reader(faults)
    assert reader.count("coats_least", " ") is None
    assert reader.count("coats_most", "51") is None
    assert faults == [
        ("coats_least", "Write how many coats, 1 to 50."),
        ("coats_most", "“51” is no number of coats: write 1 to 50."),
    ]
