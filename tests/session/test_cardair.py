"""What a card says of air, heat and film: typed or pasted it becomes values, and values written out read the same."""

import dataclasses
import math
from datetime import timedelta
from typing import Any

import pytest
from builders import CLEAR, hours, minutes
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import examples

from benchtool.job.cardpaces import FORCEABLE
from benchtool.job.cards import (
    AirRange,
    ArrheniusPacing,
    Card,
    CardTime,
    DoublingPacing,
    EvaporationPacing,
    ForcedDry,
    Pacing,
    TablePacing,
)
from benchtool.job.validate import card_faults
from benchtool.session.cardair import (
    AIR_FIELDS,
    HEATED,
    PACED,
    PRINTED_IN,
    AirText,
    Law,
    PaceText,
    air_spot,
    laws_for,
    read_pacing,
    write_air,
)
from benchtool.session.cardairwords import factor_told, pace_note, percent_told, reference_told, speed_told
from benchtool.session.cardlines import (
    read_degC,
    read_heat,
    read_table,
    write_degC,
    write_films,
    write_heat,
    write_table,
)
from benchtool.session.cardreading import Wrong, read_card, write_card
from benchtool.session.cardtext import TIMES
from benchtool.trade.durations import LONGEST

TIMED = replace(
    CLEAR, stand=minutes(5), stand_reduced=minutes(10), pot_life=hours(2), flash=minutes(15), flash_most=minutes(45),
    recoat_opens=minutes(30), recoat_closes=hours(24), tape=hours(24), cure=hours(168),
)  # fmt: skip


def typed(card: Card = TIMED, **fields: Any) -> Card:
    """The card with this typed of air, heat and film."""
    return read_card(dataclasses.replace(write_card(card), air=AirText(**fields)), card.id, card)


def faults_of(**fields: Any) -> dict[str, str]:
    with pytest.raises(Wrong) as wrong:
        typed(**fields)
    return dict(wrong.value.faults)


def pace(time: CardTime, **fields: Any) -> dict[str, Any]:
    return {"paces": {time: PaceText(**fields)}}


TWO = ((10.0, hours(4)), (20.0, hours(2)))

# --- the whole card --------------------------------------------------------------------------------


def test_what_is_typed_becomes_the_card() -> None:
    card = typed(
        least="50 °F",
        most="35",
        least_percent="20",
        most_percent="80 % RH",
        fast=True,
        paces={
            CardTime.EVERY: PaceText(law=Law.DOUBLING),
            CardTime.STAND: PaceText(law=Law.PRINTED),
            CardTime.POT_LIFE: PaceText(law=Law.TABLE, table="20 °C 2 h; 10 °C 4 h", reference="20"),
            CardTime.FLASH: PaceText(
                law=Law.EVAPORATION, percent="55", speed="50 ft/min", reference="68 °F", least="10"
            ),
            CardTime.CURE: PaceText(law=Law.ARRHENIUS, energy="12 kcal/mol"),
        },
        forced={CardTime.CURE: "60 °C for 30 min"},
        films="100 µm 1.5 times",
    )
    assert card == replace(
        TIMED,
        air=AirRange(least_degC=10, most_degC=35, least_percent=20, most_percent=80),
        fast_solvent=True,
        paces={
            CardTime.EVERY: DoublingPacing(factor=2, reference_degC=23),
            CardTime.STAND: DoublingPacing(factor=1),
            CardTime.POT_LIFE: TablePacing(points=TWO, reference_degC=20),
            CardTime.FLASH: EvaporationPacing(
                reference_percent=55, reference_m_s=50 * 0.00508, reference_degC=20, least_degC=10
            ),
            CardTime.CURE: ArrheniusPacing(energy_kJ_mol=12 * 4.184),
        },
        forced={CardTime.CURE: ForcedDry(degC=60, wait=minutes(30))},
        films=((100, 1.5),),
    )
    assert read_card(write_card(card), card.id, card) == card
    assert card.pacing(CardTime.STAND_REDUCED) == DoublingPacing(factor=1)


def test_as_printed_needs_no_word_where_nothing_else_is_said() -> None:
    every = {time: PaceText() for time in PACED}
    assert typed(paces=every).paces == {}
    assert set(typed(paces={**every, CardTime.EVERY: PaceText(law=Law.DOUBLING)}).paces) == set(PACED)


def test_of_what_is_typed_only_what_the_law_asks_for_counts() -> None:
    text = PaceText(law=Law.DOUBLING, factor="3", table="rubbish", energy="-1", percent="100", speed="x")
    assert read_pacing(CardTime.FLASH, text) == DoublingPacing(factor=3)
    assert typed(**pace(CardTime.CURE, table="rubbish")).paces == {}


def test_nothing_typed_takes_it_off_the_card_and_not_asking_keeps_it() -> None:
    full = replace(TIMED, fast_solvent=True, air=AirRange(most_percent=80), paces={CardTime.CURE: DoublingPacing()})
    assert typed(full) == TIMED
    unasked = dataclasses.replace(write_card(full), air=None, film="25")
    assert read_card(unasked, full.id, full) == replace(full, film_um=25)


FLASH_TABLE = {CardTime.FLASH: PaceText(law=Law.TABLE, table="10 °C 4 h; 20 °C 5 h")}


@pytest.mark.parametrize(
    ("fields", "key", "said"),
    [
        ({"least": "warm"}, "air-least", "temperature such as 20 °C"),
        ({"least": "30", "most": "20"}, "air-most", "less than the least temperature"),
        ({"most": "101 °C"}, "air-most", "from -40 to 100 °C"),
        ({"most": "86"}, "air-most", "86 °F (30 °C)"),
        ({"least_percent": "80", "most_percent": "20"}, "air-most-percent", "less than the least humidity"),
        ({"most_percent": "120"}, "air-most-percent", "up to 100"),
        ({"paces": FLASH_TABLE}, "pace-flash-table", "more time at 20 °C than at 10 °C"),
        (pace(CardTime.FLASH, law=Law.TABLE), "pace-flash-table", "at least one row"),
        (pace(CardTime.FLASH, law=Law.TABLE, table="10 °C 0 min"), "pace-flash-table", "above zero"),
        (pace(CardTime.FLASH, law=Law.TABLE, table="10 °C 1 h; 10 °C 2 h"), "pace-flash-table", "twice"),
        (pace(CardTime.EVERY, law=Law.TABLE, table="10 °C 1 h"), "pace-*-law", "of one kind of time"),
        (pace(CardTime.POT_LIFE, law=Law.EVAPORATION), "pace-pot life-law", "in the cup does not dry"),
        (pace(CardTime.CURE, law=Law.ARRHENIUS), "pace-cure-energy", "in kJ/mol, such as 50"),
        (pace(CardTime.CURE, law=Law.ARRHENIUS, energy="50000"), "pace-cure-energy", "at most 300 kJ/mol"),
        (pace(CardTime.CURE, law=Law.ARRHENIUS, energy="50 kg"), "pace-cure-energy", "in kJ/mol"),
        (pace(CardTime.EVERY, law=Law.DOUBLING, factor="0.5"), "pace-*-factor", "factor of 1 to 10"),
        (pace(CardTime.EVERY, law=Law.DOUBLING, factor="2 h"), "pace-*-factor", "write a number, such as 2"),
        (pace(CardTime.EVERY, law=Law.DOUBLING, least="30"), "pace-*-least", "above the one the card's times hold at"),
        (pace(CardTime.EVERY, law=Law.DOUBLING, reference="400 F"), "pace-*-reference", "400 F is 204 °C"),
        (pace(CardTime.TAPE, law=Law.EVAPORATION, percent="99"), "pace-tape-percent", "below 98 %"),
        (pace(CardTime.TAPE, law=Law.EVAPORATION, speed="40"), "pace-tape-speed", "between 0 and 30 m/s"),
        ({"forced": {CardTime.FLASH: "25 °C for 5 min"}}, "forced-flash", "25 °C is no heat"),
        ({"forced": {CardTime.FLASH: "60 °C for 20 min"}}, "forced-flash", "longer than “Flash between coats” without"),
        ({"forced": {CardTime.CURE: "60 °C for 0 min"}}, "forced-cure", "takes some time"),
        ({"forced": {CardTime.CURE: "warm"}}, "forced-cure", "Write 60 °C for 30 min"),
        ({"films": "100 µm 3 times; 150 µm 2 times"}, "films", "thicker film takes longer"),
        ({"films": "100 µm 0.5 times"}, "films", "1 to 1000 times"),
        ({"films": "thick"}, "films", "Write 100 µm 1.5 times"),
    ],
)
def test_each_slip_is_said_at_its_field(fields: dict[str, Any], key: str, said: str) -> None:
    faults = faults_of(**fields)
    assert said in faults[key]
    assert set(faults) == {key}


def test_every_fault_of_a_card_about_air_has_a_field_and_is_a_sentence() -> None:
    """What no form could type has its field too: a card out of a file can be anything."""
    card = replace(
        TIMED,
        paces={
            CardTime.EVERY: TablePacing(points=TWO),
            CardTime.POT_LIFE: EvaporationPacing(),
            CardTime.CURE: DoublingPacing(factor=0),
        },
        forced={
            CardTime.POT_LIFE: ForcedDry(degC=60, wait=minutes(5)),
            CardTime.TAPE: ForcedDry(degC=60, wait=hours(25)),
        },
        films=((100, 2.0), (90, 3.0)),
        air=AirRange(least_degC=20, most_degC=10),
    )
    spots = [air_spot(path, message) for path, message in card_faults(card)]
    assert [spot and spot[0] for spot in spots] == [
        "pace-*-law", "pace-pot life-law", "pace-cure-law", "air-most", "forced-pot life", "forced-tape", "films",
    ]  # fmt: skip
    for spot in spots:
        assert spot is not None
        assert spot[1][0].isupper()
        assert spot[1].endswith(".")
    assert air_spot(".flash_most", "it is shorter") is None


def test_the_sheet_and_page_of_the_card_stand_for_its_air_too_until_it_is_changed() -> None:
    card = replace(
        TIMED,
        paces={CardTime.CURE: DoublingPacing()},
        air=AirRange(most_percent=80),
        origins={"*": "sheet, page 1", "paces.cure": "leaflet, page 4", "air": "leaflet, page 5"},
    )
    text = write_card(card)
    assert text.air is not None
    changed = dataclasses.replace(text, air=dataclasses.replace(text.air, paces=pace(CardTime.CURE)["paces"]))
    assert read_card(text, card.id, card).origins == card.origins
    assert read_card(changed, card.id, card).origins == {"*": "sheet, page 1", "air": "leaflet, page 5"}


# --- written out it reads the same -----------------------------------------------------------------

warmths = st.floats(-40, 200)
spans = st.one_of(
    st.integers(1, 3_650 * 24 * 60).map(minutes),
    st.timedeltas(timedelta(microseconds=1), LONGEST),
)


@st.composite
def any_tables(draw: Any) -> TablePacing:
    keys = sorted({float(x) + 0.0 for x in draw(st.lists(warmths, min_size=1, max_size=6, unique=True))})
    waits = sorted(draw(st.lists(spans, min_size=len(keys), max_size=len(keys))), reverse=True)
    return TablePacing(points=tuple(zip(keys, waits, strict=True)))


pacings: st.SearchStrategy[Pacing] = st.one_of(
    any_tables(),
    st.builds(ArrheniusPacing, energy_kJ_mol=st.floats(0, 300, exclude_min=True)),
    st.builds(DoublingPacing, factor=st.just(1.0) | st.just(2.0) | st.floats(1, 10)),
    st.builds(
        EvaporationPacing, reference_percent=st.floats(0, 98, exclude_min=True, exclude_max=True),
        reference_m_s=st.floats(0, 30),
    ),
)  # fmt: skip


@st.composite
def paced(draw: Any) -> Pacing:
    pacing, reference = draw(pacings), draw(st.just(23.0) | warmths)
    least = draw(st.none() | st.floats(-40, reference))
    return replace(pacing, reference_degC=reference, least_degC=least)


def fits(time: CardTime, pacing: Pacing) -> bool:
    """Whether a card may say this of this time."""
    if isinstance(pacing, TablePacing):
        return time is not CardTime.EVERY
    return not (isinstance(pacing, EvaporationPacing) and time.in_cup)


def ordered(draw: Any, values: st.SearchStrategy[float]) -> list[float | None]:
    """A least and a most, each of which may be missing."""
    pair = sorted(draw(st.tuples(values, values)))
    return [value if draw(st.booleans()) else None for value in pair]


@st.composite
def airy_cards(draw: Any) -> Card:
    """Cards that say anything they may of air, heat and film."""
    (cold, warm), (dry, damp) = ordered(draw, st.floats(-40, 100)), ordered(draw, st.floats(0, 100))
    air = AirRange(least_degC=cold, most_degC=warm, least_percent=dry, most_percent=damp)
    films = draw(st.lists(st.tuples(st.floats(0, 10_000, exclude_min=True), st.floats(1, 1_000)), max_size=5))
    thick, factors = (sorted({row[k] for row in films}) for k in (0, 1))
    said = draw(st.dictionaries(st.sampled_from(CardTime), paced(), max_size=5))
    heat = draw(st.dictionaries(st.sampled_from(FORCEABLE), st.tuples(st.floats(30, 200), spans)))
    printed = {time: getattr(TIMED, PRINTED_IN[time]) for time in FORCEABLE}
    return replace(
        TIMED,
        air=draw(st.sampled_from([None, air])),
        fast_solvent=draw(st.booleans()),
        paces={time: pacing for time, pacing in said.items() if fits(time, pacing)},
        forced={time: ForcedDry(degC=degC, wait=min(wait, printed[time])) for time, (degC, wait) in heat.items()},
        films=tuple(zip(thick, factors, strict=False)),
    )


@examples(250)
@given(card=airy_cards())
def test_every_valid_card_written_out_reads_exactly_the_same(card: Card) -> None:
    assert list(card_faults(card)) == []
    read = read_card(write_card(card), card.id, card)
    assert read == card
    assert write_air(read) == write_air(card)


@examples(100)
@given(table=any_tables(), degC=warmths, wait=spans)
def test_lines_written_out_read_the_same(table: TablePacing, degC: float, wait: timedelta) -> None:
    assert read_table(write_table(table.points)) == table.points
    assert read_degC(write_degC(degC)) == degC
    assert read_heat(write_heat(ForcedDry(degC=degC, wait=wait))) == ForcedDry(degC=degC, wait=wait)
    assert write_degC(None) == write_films(()) == ""


# --- what the page says beside the fields ----------------------------------------------------------


def test_what_is_taken_where_nothing_is_typed_is_told_and_is_what_the_card_gets() -> None:
    assert (reference_told(""), factor_told(""), percent_told(""), speed_told("")) == (
        "23 °C is taken", "2 times is taken", "50 % is taken", "0.1 m/s is taken",
    )  # fmt: skip
    assert read_pacing(CardTime.FLASH, PaceText(law=Law.EVAPORATION)) == EvaporationPacing(
        reference_degC=23, reference_percent=50, reference_m_s=0.1
    )
    assert read_pacing(CardTime.FLASH, PaceText(law=Law.DOUBLING)) == DoublingPacing(factor=2, reference_degC=23)
    assert (reference_told("68 F"), speed_told("100 fpm"), speed_told("0.2")) == ("20 °C", "0.508 m/s", "")


def test_the_note_says_what_the_air_does() -> None:
    """Arrhenius by hand: exp(50000 / 8.314462618 * (1 / 286.15 - 1 / 296.15)) is 2.03."""
    by_hand = math.exp(50_000 / 8.314462618 * (1 / 286.15 - 1 / 296.15))
    assert round(by_hand, 1) == 2.0
    arrhenius = PaceText(law=Law.ARRHENIUS, energy="50")
    assert pace_note(CardTime.CURE, arrhenius) == "At 13 °C it takes 2 times as long. Warmth makes it no shorter."
    doubling = PaceText(law=Law.DOUBLING, least="15")
    assert pace_note(CardTime.CURE, doubling).startswith("At 13 °C it stands still.")
    assert pace_note(CardTime.POT_LIFE, doubling) == "At 33 °C it is over 2 times as soon. Cold makes it no longer."
    assert "a wait stands still; at 33 °C a pot life is over 2" in pace_note(CardTime.EVERY, doubling)
    water = pace_note(CardTime.FLASH, PaceText(law=Law.EVAPORATION))
    assert water == "At 80 % and 23 °C it takes 2.5 times as long; from 98 % on it does not dry."
    assert pace_note(CardTime.FLASH, PaceText()) == "The air does not change it."
    assert pace_note(CardTime.FLASH, PaceText(law=Law.ARRHENIUS, energy="much")) == ""


def test_the_note_holds_a_table_against_the_printed_time() -> None:
    table = PaceText(law=Law.TABLE, table="30 1 h; 10 4 h")
    assert pace_note(CardTime.RECOAT_OPENS, table, "2 h").startswith(
        "10 °C: 4 h, 30 °C: 1 h. At 23 °C that makes 2 h 3 min: it counts where the air is known, and the 2 h"
    )
    assert pace_note(CardTime.RECOAT_OPENS, table, "2 h 3 min") == "10 °C: 4 h, 30 °C: 1 h."
    assert "missing under Times" in pace_note(CardTime.RECOAT_OPENS, table)
    assert pace_note(CardTime.RECOAT_OPENS, table, "soon") == "10 °C: 4 h, 30 °C: 1 h."


def test_every_time_that_air_or_heat_can_change_is_offered() -> None:
    assert set(PACED) == set(CardTime)
    assert set(PRINTED_IN) == set(CardTime) - {CardTime.EVERY}
    assert set(PRINTED_IN.values()) == set(TIMES) - {"dust_free"}
    assert tuple(HEATED) == FORCEABLE
    assert set(AIR_FIELDS) <= set(Card.__struct_fields__)
    assert Law.TABLE not in laws_for(CardTime.EVERY)
    assert Law.EVAPORATION not in laws_for(CardTime.STAND)
    assert set(laws_for(CardTime.FLASH)) == set(Law)
