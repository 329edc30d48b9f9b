"""Origins of single values, additives, makers and chemistry as typed: none is lost, and each stays with its value."""

import dataclasses
from datetime import timedelta
from typing import Any

import pytest
from builders import CLEAR, PROMOTER
from hypothesis import given
from msgspec.structs import replace
from strategies import cards, examples

from benchtool.job.cards import Additive, Card, Carrier, Chemistry, Duty, Origin, OriginKind, Trait
from benchtool.session.cardorigins import (
    GENERAL,
    OriginText,
    is_day,
    key_of,
    origin_mark,
    origin_words,
    place_of,
    shown_at,
    value_at,
    write_origin,
)
from benchtool.session.cardreading import AdditiveText, CardText, Wrong, read_all, read_card, write_card
from benchtool.session.cardspots import remarks, spot
from benchtool.session.cardvalues import origin_told
from benchtool.session.planning import card_words
from benchtool.trade.substrates import Suits

GUESS = Origin(kind=OriginKind.GUESS, words="felt dry", day="2026-03-14")
SHEET = Origin(kind=OriginKind.SHEET, words="sheet of a demo", page="page 3", day="2025-11-02")
FULL = replace(
    PROMOTER,
    maker="A maker",
    chemistry=Chemistry.POLYOLEFIN,
    carrier=Carrier.SOLVENT,
    traits=(Trait.STRONG_SOLVENT, Trait.METALLIC),
    additives=(
        Additive(id="flex", name="Flex additive", suits=Suits.FLEXIBLE, share="10 % of base", density_g_mL=0.98),
    ),
    activators=(replace(PROMOTER.activators[0], maker="Another maker"), *PROMOTER.activators[1:]),
    dust_free=timedelta(minutes=8),
    film_um=8,
    film_most_um=20,
    only_over=("colour",),
    origins={
        "*": SHEET, "flash": GUESS, "pot_life": "as told", "activators.rigid.share": GUESS, "film_um": SHEET,
        "reductions.airbrush": GUESS, "paces.cure": "an old note", "no_such_value": GUESS,
        "additives.flex.share": "label",
    },
)  # fmt: skip


def change(card: Card = FULL, **fields: Any) -> CardText:
    return dataclasses.replace(write_card(card), **fields)


def with_times(**times: str) -> CardText:
    text = write_card(FULL)
    return dataclasses.replace(text, times={**text.times, **times})


def again(card: Card, **origins: OriginText) -> dict[str, OriginText]:
    return {**(write_card(card).origins or {}), **origins}


def test_a_card_with_all_of_it_written_out_reads_the_same() -> None:
    assert read_card(write_card(FULL), FULL.id, FULL) == FULL


@examples(80)
@given(card=cards())
def test_no_origin_of_any_card_is_lost_by_the_form(card: Card) -> None:
    assert read_all(write_card(card), card.id, card).card.origins == (card.origins or {GENERAL: ""})


def test_a_value_that_is_changed_loses_its_own_origin_and_no_other_does() -> None:
    card = read_card(with_times(flash="20"), FULL.id, FULL)
    assert card.origins == {k: v for k, v in FULL.origins.items() if k != "flash"}


def test_an_origin_said_again_stays_with_the_new_value() -> None:
    told = OriginText(kind=OriginKind.GUESS, words="felt dry", day="2026-03-14", again=True)
    text = dataclasses.replace(with_times(flash="20"), origins=again(FULL, flash=told))
    assert read_card(text, FULL.id, FULL).origins["flash"] == GUESS


def test_another_origin_is_kept_and_one_taken_back_is_gone() -> None:
    measured = OriginText(kind=OriginKind.MEASURED, words=" gauge \n read", page="", day="2026-01-31", again=True)
    kept = {k: v for k, v in again(FULL).items() if k != "pot_life"}
    card = read_card(change(origins={**kept, "tape": measured}), FULL.id, FULL)
    assert card.origins["tape"] == Origin(kind=OriginKind.MEASURED, words="gauge read", day="2026-01-31")
    assert "pot_life" not in card.origins


def test_the_origin_of_a_part_goes_with_its_id_and_not_with_its_row() -> None:
    first, second = write_card(FULL).activators
    card = read_card(change(activators=(second, first)), FULL.id, FULL)
    assert card.activators[1].id == "rigid"
    moved = dict(again(FULL))
    moved["activator-1-share"] = moved.pop("activator-0-share")
    card = read_card(change(activators=(second, first), origins=moved), FULL.id, FULL)
    assert card.origins["activators.rigid.share"] == GUESS


def test_the_card_as_a_whole_may_be_a_guess_without_a_word_more() -> None:
    text = change(CLEAR, origin="", origins={GENERAL: OriginText(kind=OriginKind.GUESS, again=True)})
    assert read_card(text, "c", CLEAR).origins["*"] == Origin(kind=OriginKind.GUESS)
    with pytest.raises(Wrong) as wrong:
        read_card(change(CLEAR, origin="", origins={}), "c", CLEAR)
    assert [key for key, _ in wrong.value.faults] == ["origin"]


def test_plain_words_of_an_older_card_stay_plain_words() -> None:
    card = replace(CLEAR, origins={"*": "sheet of 2019", "flash": "own"})
    assert read_card(write_card(card), card.id, card).origins == card.origins
    text = dataclasses.replace(write_card(card), origin="sheet of 2020")
    assert read_card(text, card.id, card).origins == {"*": "sheet of 2020", "flash": "own"}


@pytest.mark.parametrize("day", ["14.3.2026", "2026-02-30", "2026-3-14", "soon", "٢٠٢٦-٠٣-١٤"])
def test_a_day_that_is_none_is_told_at_its_value(day: str) -> None:
    assert not is_day(day)
    text = change(origins={**again(FULL), "tape": OriginText(kind=OriginKind.SHEET, day=day)})
    with pytest.raises(Wrong) as wrong:
        read_card(text, FULL.id, FULL)
    [(key, said)] = wrong.value.faults
    assert key == "origin:tape"
    assert "2026-03-14" in said


def test_fields_about_one_value_show_one_origin() -> None:
    parts = {"activator-2": "slow", "additive-0": "flex"}
    assert {place_of(k, parts) for k in ("voc", "water", "exempt", "exempt_density")} == {"voc"}
    assert {shown_at(k) for k in ("voc", "water", "exempt", "exempt_density")} == {"voc"}
    assert shown_at("reducer_exempt") == "reducer_voc"
    assert shown_at("activator-1-water") == "activator-1-voc"
    assert shown_at("reduction-mini gun-most") == "reduction-mini gun-usual"
    assert shown_at("flow-airbrush-cup") == "flow-airbrush-seconds"
    assert place_of("activator-2-tolerance", parts) == "activators.slow.tolerance_percent"
    assert place_of("additive-0-density", parts) == "additives.flex.density_g_mL"
    assert place_of("activator-0-share", parts) is None
    assert place_of("name", parts) is None


def test_each_place_is_shown_at_the_field_that_is_about_it() -> None:
    parts = {"activator-0": "rigid", "activator-1": "flexible", "additive-0": "flex"}
    for place in ("flash", "dust_free", "film_most_um", "voc", "reducer_voc", "activators.flexible.share",
                  "additives.flex.density_g_mL", "reductions.airbrush", "reductions.airbrush.flow", "air"):  # fmt: skip
        key = key_of(place, FULL)
        assert key is not None
        assert place_of(key, parts) == place
        assert shown_at(key) == key
    assert key_of("no_such_value", FULL) is key_of("activators.gone.share", FULL) is None


def test_the_value_an_origin_is_of_is_found_by_the_id_of_its_part() -> None:
    assert value_at(FULL, "activators.rigid.share") == "2 % of base"
    assert value_at(FULL, "additives.flex.density_g_mL") == 0.98
    assert value_at(FULL, "reductions.airbrush") == ("90 % of activated", "1x activated", "110 % of activated")
    assert value_at(FULL, "flash") == FULL.flash


@pytest.mark.parametrize(
    ("page", "said"), [("3", "page 3"), ("page 3", "page 3"), ("table 2", "table 2"), ("p. 4", "p. 4"), ("", "")]
)
def test_a_page_is_said_once_however_it_was_typed(page: str, said: str) -> None:
    origin = Origin(kind=OriginKind.SHEET, words="sheet", page=page)
    assert origin_told(origin) == f"sheet, sheet, {said}".removesuffix(", ")
    assert origin_words(write_origin(origin)) == f"Data sheet, sheet, {said}".removesuffix(", ")


def test_an_origin_is_said_in_a_word_and_in_full() -> None:
    text = OriginText(kind=OriginKind.GUESS, words="felt dry", day="2026-03-14")
    assert (origin_mark(text), origin_words(text)) == ("? a guess", "A guess, felt dry, 2026-03-14")
    assert origin_mark(OriginText(kind=OriginKind.SHEET, page="page 3")) == "sheet, page 3"
    assert origin_mark(OriginText()) == origin_words(OriginText()) == ""
    assert origin_mark(OriginText(words="old words")) == "own origin"


def test_what_is_a_guess_is_said_to_be_one_before_the_card_is_chosen() -> None:
    assert "flash 15 min (a guess)" in card_words(FULL)
    assert "next layer after 30 min." in card_words(FULL)
    assert card_words(replace(FULL, origins={"*": GUESS})).endswith(". All of it is a guess.")
    assert "guess" not in card_words(PROMOTER)


# --- additives, makers, what may lie under it ------------------------------------------------------


def faults_of(text: CardText, names: dict[str, str] | None = None) -> dict[str, str]:
    with pytest.raises(Wrong) as wrong:
        read_card(text, "c", FULL, names or {})
    return dict(wrong.value.faults)


def test_additives_are_read_with_the_ids_they_had_and_new_ones_get_their_own() -> None:
    row = AdditiveText(name="Matting paste", share="20 % of base", suits=Suits.ANY, density="1,1")
    card = read_card(change(additives=(*write_card(FULL).additives, AdditiveText(), row)), "c", FULL)
    assert [a.id for a in card.additives] == ["flex", "matting-paste"]
    assert card.additives[1].density_g_mL == 1.1


@pytest.mark.parametrize(
    ("row", "key"),
    [
        (AdditiveText(name="A", suits=Suits.ANY), "additive-0-share"),
        (AdditiveText(name="A", share="a bit", suits=Suits.ANY), "additive-0-share"),
        (AdditiveText(name="A", share="5 % of glue", suits=Suits.ANY), "additive-0-share"),
        (AdditiveText(share="5 % of base", suits=Suits.ANY), "additive-0-name"),
        (AdditiveText(name="A", share="5 % of base"), "additive-0-suits"),
        (AdditiveText(name="A", share="5 % of base", suits=Suits.ANY, density="9 lb"), "additive-0-density"),
        (AdditiveText(name="rigid activator", share="5 % of base", suits=Suits.ANY), "additive-0-name"),
        (AdditiveText(name="A", share="100 % of total", suits=Suits.ANY), "additive-0-share"),
    ],
)
def test_each_slip_of_an_additive_is_said_at_its_field(row: AdditiveText, key: str) -> None:
    assert set(faults_of(change(additives=(row,)))) == {key}


def test_a_maker_that_only_lost_its_line_breaks_stays_as_it_was() -> None:
    odd = replace(FULL, maker="A\tmaker ", activators=(replace(FULL.activators[0], maker=" B\n"), FULL.activators[1]))
    assert read_card(write_card(odd), odd.id, odd) == odd


NAMES = {"colour": "Base colour", "etch": "Etch", "etch-2": "etch"}


def test_cards_it_may_only_go_over_are_written_by_name_and_read_by_name_or_id() -> None:
    assert write_card(FULL, NAMES).only_over == "Base colour"
    text = change(only_over="base  COLOUR; etch-2;; base colour")
    assert read_card(text, "c", FULL, NAMES).only_over == ("colour", "etch-2")
    assert write_card(replace(FULL, only_over=("etch",)), NAMES).only_over == "etch"


def test_a_card_nobody_has_and_one_of_two_that_share_a_name_are_told() -> None:
    assert "no card of yours" in faults_of(change(only_over="Mystery"), NAMES)["only_over"]
    assert "etch / etch-2" in faults_of(change(only_over="ETCH"), NAMES)["only_over"]


# --- what is odd, beside its field -----------------------------------------------------------------


def test_what_is_odd_is_told_at_the_field_even_of_a_half_typed_card() -> None:
    text = CardText(
        name="Clear", duty=Duty.CLEAR, two_part=False, times={"flash": "40", "recoat_opens": "30 min", "tape": "soon"}
    )  # fmt: skip
    reading = read_all(text, "new")
    assert "tape" in dict(reading.faults)
    assert [(key, check.severe) for key, check in remarks(reading)] == [("flash", True)]


@pytest.mark.parametrize(
    ("path", "key"),
    [
        (".flash", "flash"),
        (".film_most_um", "film_most"),
        (".two_part", "parts"),
        (".activators[1].share", "activator-2-share"),
        (".additives[0].density_g_mL", "additive-0-density"),
        (".reductions[0].most", "reduction-airbrush-most"),
        (".reductions[0].flow_s", "flow-airbrush-seconds"),
        ('.forced["cure"].degC', "forced-cure"),
        ('.paces["flash"]', "pace-flash-law"),
    ],
)
def test_each_remark_has_its_field(path: str, key: str) -> None:
    assert spot(path, FULL, {"activator-0": "rigid", "activator-2": "flexible", "additive-0": "flex"}) == key
