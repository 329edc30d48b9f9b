"""The sums page without its window: the same answers as the trade gives and as the command line prints."""

import json
from dataclasses import replace as copied
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR, hours, minutes
from cli.asking import ask
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.cards import CardTime, DoublingPacing, EvaporationPacing, Gun, Reduction, TablePacing, Voc
from benchtool.job.costs import cup_cost, job_cost
from benchtool.job.lots import Lot
from benchtool.session import acts, sums, sumsjob, sumswords
from benchtool.session.cardfields import Wrong
from benchtool.session.session import Session
from benchtool.session.shop import ShopKeeper
from benchtool.session.sums import Form, Needed, Wanted
from benchtool.session.tables import load_tables
from benchtool.sheets.sums import flow_answer, size_answer, voc_answer
from benchtool.trade import film, flow, potlife
from benchtool.trade.emissions import Contents, emissions
from benchtool.trade.quantities import Measures
from benchtool.trade.substrates import Flex
from benchtool.trade.units import VolumeUnit

MEASURES = Measures()
SIZE = {
    "form": "rectangle", "first": "60 cm", "second": "400", "coats": "2", "dry": "1 mil", "solids": "30",
    "transfer": "50", "thinned": "50", "loss": "10",
}  # fmt: skip
LIFE = {"coats": "2", "rate": "10", "pot_life": "1 h", "stand": "5", "flash": "15 min", "amount": "600"}
FLOW = {"cup": "ford 4", "seconds": "30", "to": "", "warmth": ""}
HARDENER = "Slow hardener"

FULL = replace(
    CLEAR,
    activators=(replace(CLEAR.activators[0], solids_percent=60.0, density_g_mL=1.05, voc=Voc(voc_g_L=300)),),
    reductions=(
        Reduction(gun=Gun.AIRBRUSH, least="5 % of activated", usual="20 % of activated", most="30 % of activated",
                  flow_cup="ISO 4 mm", flow_s=34),
    ),
    density_g_mL=1.0, reducer_density_g_mL=0.87, solids_percent=45.0, film_um=25.0, voc=Voc(voc_g_L=500),
    reducer_voc=Voc(voc_g_L=600, exempt_g_L=200, exempt_density_g_mL=0.79), stand=minutes(3), pot_life=hours(2),
)  # fmt: skip
"""The two-part clear of the builders with all that sums ask for. Made up for this test."""


@pytest.fixture
def keeper(tmp_path: Path) -> ShopKeeper:
    made = ShopKeeper(tmp_path / "shop")
    made.save_lot(Lot(id="b", card=FULL.id, part="Base", full_mL=1000, price=50.0))
    made.save_lot(Lot(id="h", card=FULL.id, part=HARDENER, full_mL=500, price=45.0))
    made.save_lot(Lot(id="r", card=FULL.id, part=FULL.reducer, full_mL=1000, price=8.0))
    return made


@pytest.fixture
def session(clock: Any, tmp_path: Path, keeper: ShopKeeper) -> Any:
    made = Session(clock, load_tables(), MEASURES, shop=keeper)
    made.create(tmp_path / "tank.json", "Tank")
    piece = ev.Piece(id="p1", name="Tank", substrate="steel", known=ev.Known.TOLD, flex=Flex.RIGID)
    layer = ev.Layer(id="l1", card=FULL.id, coats=2, activator="slow", gun=Gun.AIRBRUSH)
    made.apply(
        partial(ev.CardCopied, card=FULL),
        partial(ev.PieceAdded, piece=piece),
        partial(ev.LayerAdded, piece="p1", layer=layer),
    )
    yield made
    made.close_all()


def with_card(session: Session, **changes: Any) -> None:
    session.apply(partial(ev.CardCopied, card=replace(FULL, **changes)))


def pour(session: Session, clock: Any, make: float, **amounts: float) -> None:
    assert session.layer is not None
    session.apply(acts.begin_mix(session, session.layer, make))
    for part, mL in zip(("Base", HARDENER, FULL.reducer), amounts.values(), strict=False):
        clock.go(minutes=1)
        mix = session.writable().state.mix_for(session.layer)
        assert mix is not None
        session.apply(acts.pour(session, mix, part, mL))


def take_lots(session: Session, keeper: ShopKeeper, *ids: str) -> None:
    for lot in keeper.lots():
        if lot.id in ids:
            session.apply(acts.take_lot(session, lot))


def faults(call: Any) -> list[str]:
    with pytest.raises(Wrong) as wrong:
        call()
    for _, message in wrong.value.faults:
        assert message[-1] in ".?"
        assert len(message) > 15
    return [key for key, _ in wrong.value.faults]


# --- the same as the command line --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "options"),
    [
        ({}, ["--rectangle", "60cmx40cm"]),
        ({"form": "disc", "first": "12 in"}, ["--disc", "12in"]),
        ({"form": "cap", "first": "30 cm", "second": "10 cm"}, ["--cap", "30cm,10cm"]),
        ({"form": "cylinder", "first": "10 cm", "second": "30 cm", "ends": "2"}, ["--cylinder", "10cm,30cm,2"]),
        ({"form": "area", "area": "16 sq ft"}, ["--area", "16 sq ft"]),
    ],
)
def test_how_much_to_mix_is_what_the_command_line_says(typed: dict[str, str], options: list[str]) -> None:
    line = ["--dry", "1mil", "--solids", "30", "--transfer", "50", "--thinned", "50", "--coats", "2", "--loss", "10mL"]
    said = ask("size", *options, *line, "--json")
    assert said.values == json.loads(json.dumps(size_answer(sums.how_much(MEASURES, {**SIZE, **typed}))))


def test_a_reading_is_what_the_command_line_says() -> None:
    typed = {**FLOW, "to": "din 4", "warmth": "19 C"}
    wanted = Wanted(cup=flow.read_cup("ford 4"), seconds=25, gun="mini gun")
    found = sums.flow(MEASURES, typed, wanted)
    line = ["ford 4", "30", "--to", "DIN 4", "--temperature", "19C", "--wanted", "25s", "--gun", "mini"]
    assert ask("flow", *line, "--json").values == json.loads(json.dumps(flow_answer(found.sheet)))
    thick = sums.flow(MEASURES, {**FLOW, "seconds": "98.2 cSt", "cup": "iso 4"})
    line = ["--viscosity", "98.2cSt", "iso 4"]
    assert ask("flow", *line, "--json").values == json.loads(json.dumps(flow_answer(thick.sheet)))


def test_emissions_are_what_the_command_line_says(session: Session, tmp_path: Path) -> None:
    amounts = sumsjob.amounts_now(session, 90)
    sheet = sumsjob.emitted(MEASURES, {"limit": "4 lb/gal"}, amounts)
    listed = [
        {"name": "Base", "volume": amounts.mL[0], "density": 1.0, "voc": 500},
        {"name": HARDENER, "volume": amounts.mL[1], "density": 1.05, "voc": 300},
        {"name": FULL.reducer, "volume": amounts.mL[2], "density": 0.87, "voc": 600, "exempt": 200,
         "exempt_density": 0.79},
    ]  # fmt: skip
    file = tmp_path / "parts.json"
    file.write_text(json.dumps(listed), encoding="utf-8")
    said = ask("voc", str(file), "--limit", "4lb/gal", "--json")
    assert said.values == json.loads(json.dumps(voc_answer(sheet)))


# --- the same as the trade -----------------------------------------------------------------------------


def test_how_much_to_mix_is_what_the_trade_says() -> None:
    sheet = sums.how_much(MEASURES, SIZE, gun=Gun.AIRBRUSH)
    assert sheet.sized == film.size(
        area_m2=film.rectangle_m2(600, 400), dry_um=25.4, solids_percent=30, transfer_percent=50, coats=2,
        thinned_percent=50, loss_mL=10,
    )  # fmt: skip
    assert sheet.gun == ""
    assert sums.how_much(MEASURES, {**SIZE, "transfer": "40"}, gun=Gun.AIRBRUSH).gun == "airbrush"
    ounces = sums.how_much(MEASURES, {**SIZE, "loss": "1"}, VolumeUnit.US_FL_OZ)
    assert ounces.sized.loss_mL == pytest.approx(29.5735, abs=1e-3)
    assert sums.area_m2(MEASURES, {"form": "disc", "first": "1 m"}) == film.disc_m2(1000)


def test_pot_life_is_what_the_trade_says() -> None:
    times = {"pot_life_s": 3600.0, "stand_s": 300.0, "rate_mL_min": 10.0, "coats": 2, "flash_s": 900.0}
    life = sums.pot_life(MEASURES, LIFE)
    assert life.largest_mL == potlife.largest_mL(**times)
    assert life.cups == potlife.split(600, **times)
    assert len(life.cups) == 2
    assert sums.pot_life(MEASURES, {**LIFE, "amount": ""}, amount_mL=100).cups == potlife.split(100, **times)
    assert sums.pot_life(MEASURES, {**LIFE, "amount": ""}).cups == ()


def test_a_reading_in_another_cup_is_held_against_the_cup_of_the_card() -> None:
    iso = flow.read_cup("iso 4")
    found = sums.flow(MEASURES, FLOW, Wanted(cup=iso, seconds=34, gun="airbrush"))
    there = flow.between(flow.read_cup("ford 4"), 30, iso)
    assert flow.against(iso, there, 34, "airbrush") in found.against
    far = sums.flow(MEASURES, FLOW, Wanted(cup=flow.read_cup("iso 3"), seconds=34, gun="airbrush"))
    assert "time it in ISO 3 mm" in far.against


def test_a_reading_outside_of_the_cup_is_said() -> None:
    found = sums.flow(MEASURES, {**FLOW, "seconds": "12"})
    assert found.sheet.fault
    told = sumswords.flow_told(found)
    assert told.wrong
    assert told.figure == "Out of range"
    assert found.sheet.fault in told.more


def test_all_that_should_be_said_of_a_reading_is_said() -> None:
    typed = {**FLOW, "to": "din 4", "warmth": "19 C"}
    said = sumswords.flow_told(sums.flow(MEASURES, typed)).notes
    ford, din = flow.read_cup("ford 4"), flow.read_cup("din 4")
    assert flow.between_words(ford, 30, din) in said
    assert flow.temperature_words(ford, 19) in said
    for note in flow.notes(ford, 30):
        assert note in said


# --- what can't be used ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("first", "60 kg"), ("first", "0"), ("first", "-3"), ("second", "40 foo"), ("second", "0"), ("coats", "0"),
        ("coats", "1.5"), ("dry", "0"), ("dry", "1 mL"), ("solids", "0"), ("solids", "101"), ("solids", "30 mL"),
        ("transfer", "0"), ("transfer", "120"), ("thinned", "-1"), ("loss", "1 m"), ("loss", "-1"),
    ],
)  # fmt: skip
def test_a_size_at_fault_is_named(key: str, text: str) -> None:
    assert faults(lambda: sums.how_much(MEASURES, {**SIZE, key: text})) == [key]


def test_the_sizes_of_a_form_that_is_not_asked_for_are_no_matter() -> None:
    assert sums.how_much(MEASURES, {**SIZE, "area": "nothing", "ends": "9"})
    assert faults(lambda: sums.how_much(MEASURES, {**SIZE, "form": "cylinder", "ends": "9"})) == ["ends"]
    assert faults(lambda: sums.how_much(MEASURES, {**SIZE, "form": "area", "area": "0"})) == ["area"]
    assert faults(lambda: sums.how_much(MEASURES, {**SIZE, "first": "x", "solids": "0"})) == ["first", "solids"]


def test_what_is_still_empty_is_asked_for_and_is_no_fault() -> None:
    with pytest.raises(Needed, match=r"^Type the length, width and volume solids\.$"):
        sums.how_much(MEASURES, {**SIZE, "first": "", "second": " ", "solids": ""})
    with pytest.raises(Needed, match=r"^Type the diameter\.$"):
        sums.how_much(MEASURES, {**SIZE, "form": Form.DISC.value, "first": ""})
    with pytest.raises(Needed, match="rate and pot life"):
        sums.pot_life(MEASURES, {"coats": "1"})
    with pytest.raises(Needed, match="flow cup"):
        sums.flow(MEASURES, {**FLOW, "cup": ""})


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("rate", "0"), ("rate", "10 mL"), ("pot_life", "4"), ("pot_life", "2 min"), ("stand", "x"), ("flash", "1:30"),
        ("amount", "0"), ("amount", "3 kg"), ("coats", "a"),
    ],
)  # fmt: skip
def test_a_figure_of_the_pot_life_at_fault_is_named(key: str, text: str) -> None:
    assert faults(lambda: sums.pot_life(MEASURES, {**LIFE, key: text})) == [key]


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("cup", "zahn 9"), ("cup", "tea cup"), ("seconds", "0"), ("seconds", "-4"), ("seconds", "30 mL"),
        ("seconds", "abc"), ("seconds", "-98 cSt"), ("to", "iso"), ("warmth", "-300 C"), ("warmth", "5 mL"),
    ],
)  # fmt: skip
def test_a_figure_of_the_flow_at_fault_is_named(key: str, text: str) -> None:
    assert faults(lambda: sums.flow(MEASURES, {**FLOW, key: text})) == [key]


@pytest.mark.parametrize("text", ["0", "-4", "420 mL", "none"])
def test_a_limit_at_fault_is_named(text: str) -> None:
    assert faults(lambda: sumsjob.read_limit(MEASURES, text)) == ["limit"]


# --- what the job says -------------------------------------------------------------------------------


def test_the_layer_in_hand_fills_the_fields(session: Session, keeper: ShopKeeper) -> None:
    keeper.change(replace(keeper.shop, rate_mL_min={Gun.AIRBRUSH: 7.5}, loss_mL=4, voc_limit_g_L=420))
    session.apply(partial(ev.ReadingTaken, air_degC=19.5, humidity_percent=50))
    texts = sumsjob.filled(session).texts
    # 45 % in two parts and 60 % in one part of the activated paint
    assert texts == {
        "coats": "2", "dry": "25", "solids": "50", "transfer": "40", "thinned": "20", "loss": "4", "rate": "7.5",
        "pot_life": "2 h", "stand": "3 min", "flash": "15 min", "cup": "ISO 4 mm", "warmth": "19.5 °C", "limit": "420",
    }  # fmt: skip
    assert sumsjob.filled(session).notes == {}
    area = {"form": "area", "area": "1"}
    assert sums.how_much(MEASURES, {**texts, **area}).sized.dry_um == 25
    assert sums.pot_life(MEASURES, texts).largest_mL > 0


def test_the_times_of_the_cup_are_those_of_the_air_in_force_and_say_so(session: Session, keeper: ShopKeeper) -> None:
    keeper.change(replace(keeper.shop, rate_mL_min={Gun.AIRBRUSH: 7.5}))
    with_card(session, paces={CardTime.EVERY: DoublingPacing(reference_degC=20)})
    assert sumsjob.filled(session).air == ""
    as_by_card = sumsjob.filled(session).texts
    session.apply(partial(ev.ReadingTaken, air_degC=30, humidity_percent=50))
    filled = sumsjob.filled(session)
    assert [filled.texts[key] for key in ("pot_life", "stand", "flash")] == ["1 h", "3 min", "15 min"]
    assert filled.air == (
        "In this air: pot life 1 h, not the 2 h of the card (10 °C above the card's 20: is over 2 times as soon)."
    )
    session.apply(partial(ev.ReadingTaken, air_degC=10, humidity_percent=50))
    filled = sumsjob.filled(session)
    assert [filled.texts[key] for key in ("pot_life", "stand", "flash")] == ["2 h", "6 min", "30 min"]
    assert "stand time 6 min, not the 3 min of the card" in filled.air
    life = sums.pot_life(MEASURES, filled.texts)
    assert life.largest_mL < sums.pot_life(MEASURES, as_by_card).largest_mL
    told = sumswords.life_told(life, VolumeUnit.ML, session.now(), filled.air)
    assert told.notes.startswith("In this air: ")
    assert "Warm paint" in sumswords.life_told(life, VolumeUnit.ML, session.now()).notes


def test_times_that_no_minute_fits_are_rounded_to_the_careful_side(session: Session) -> None:
    with_card(session, paces={CardTime.EVERY: DoublingPacing(reference_degC=20)})
    session.apply(partial(ev.ReadingTaken, air_degC=23, humidity_percent=50))
    assert sumsjob.filled(session).texts["pot_life"] == "1 h 37 min"  # 120 / 2^0.3 is 97.47
    session.apply(partial(ev.ReadingTaken, air_degC=17, humidity_percent=50))
    assert sumsjob.filled(session).texts["flash"] == "19 min"  # 15 x 2^0.3 is 18.47


def test_a_pot_life_is_longer_than_the_card_only_by_its_own_table(session: Session) -> None:
    table = TablePacing(points=((10.0, hours(5)), (20.0, hours(2))), reference_degC=20)
    with_card(session, paces={CardTime.POT_LIFE: table})
    session.apply(partial(ev.ReadingTaken, air_degC=10, humidity_percent=50))
    assert sumsjob.filled(session).texts["pot_life"] == "5 h"


def test_air_in_which_the_flash_never_ends_is_told(session: Session) -> None:
    with_card(session, paces={CardTime.FLASH: EvaporationPacing()})
    session.apply(partial(ev.ReadingTaken, air_degC=20, humidity_percent=99))
    filled = sumsjob.filled(session)
    assert filled.air.startswith("It does not get past its flash in this air: ")
    assert filled.texts["flash"] == "15 min"
    for act in (partial(ev.CoatStarted, layer="l1", mix=None), partial(ev.CoatDone, layer="l1")):
        session.apply(act)
    session.pick("p1", "l1")
    assert sumsjob.filled(session).air == ""  # one coat is left, and it waits for no other


def test_what_the_card_does_not_say_is_asked_for(session: Session) -> None:
    with_card(session, activators=(replace(FULL.activators[0], solids_percent=None),), pot_life=None)
    filled = sumsjob.filled(session)
    assert filled.texts.get("solids", "") == ""
    assert HARDENER in filled.notes["solids"]
    assert "pot life" in filled.notes["pot_life"]
    assert "shop" in filled.notes["rate"]


def test_coats_that_are_done_are_not_mixed_again_and_the_stack_has_them(session: Session) -> None:
    session.apply(partial(ev.LayerAdded, piece="p1", layer=ev.Layer(id="l2", card=FULL.id, coats=3)))
    session.pick("p1", "l1")
    session.apply(partial(ev.CoatStarted, layer="l1", mix=None))
    session.apply(partial(ev.CoatDone, layer="l1"))
    session.pick("p1", "l1")
    assert sumsjob.filled(session).texts["coats"] == "1"
    said = sumsjob.film_words(session, 20, 1)
    assert said == "This layer dries to 40 µm with the coat that is on it, the whole stack to 115 µm."


def test_emissions_of_a_cup_that_stands_go_by_what_is_poured(session: Session, clock: Any) -> None:
    planned = sumsjob.amounts_now(session, None)
    assert planned.words == "As planned"
    pour(session, clock, 90, base=60)
    so_far = sumsjob.amounts_now(session, 5)
    assert so_far.words == "As poured so far, the rest as planned"
    assert so_far.mL == pytest.approx((60, 30, 18))
    clock.go(minutes=1)
    assert session.layer is not None
    for part, mL in ((HARDENER, 10), (FULL.reducer, 50)):
        mix = session.writable().state.mix_for(session.layer)
        assert mix is not None
        session.apply(acts.pour(session, mix, part, mL))
    amounts = sumsjob.amounts_now(session, 5)
    assert (amounts.words, amounts.mL) == ("As poured", (60, 10, 50))
    sheet = sumsjob.emitted(MEASURES, {"limit": ""}, amounts)
    assert sheet.found == emissions(
        (
            Contents(name="Base", mL=60, density_g_mL=1.0, voc_g_L=500),
            Contents(name=HARDENER, mL=10, density_g_mL=1.05, voc_g_L=300),
            Contents(name=FULL.reducer, mL=50, density_g_mL=0.87, voc_g_L=600, exempt_g_L=200,
                     exempt_density_g_mL=0.79),
        )
    )  # fmt: skip
    assert sheet.within is None


def test_the_limit_and_local_rules_are_said(session: Session) -> None:
    amounts = sumsjob.amounts_now(session, None)
    over = sumsjob.emitted(MEASURES, {"limit": "100"}, amounts)
    assert sumswords.voc_told(over, amounts).wrong
    assert "over by" in sumswords.voc_told(over, amounts).more
    within = sumswords.voc_told(sumsjob.emitted(MEASURES, {"limit": "900"}, amounts), amounts)
    assert not within.wrong
    assert "within" in within.more
    assert "Local rules decide" in within.more
    assert "Local rules decide" in sumswords.voc_told(sumsjob.emitted(MEASURES, {}, amounts), amounts).more


def test_a_part_without_contents_is_named_with_its_card(session: Session) -> None:
    with_card(session, reducer_voc=None, voc=None)
    with pytest.raises(Needed, match=f"{FULL.name} gives no VOC of Base and {FULL.reducer}"):
        sumsjob.emitted(MEASURES, {}, sumsjob.amounts_now(session, None))
    with_card(session, reducer_voc=Voc(voc_g_L=600, exempt_g_L=100))
    amounts = sumsjob.amounts_now(session, None)
    sheet = sumsjob.emitted(MEASURES, {}, amounts)
    assert sheet.found.notes
    assert sheet.found.notes[0] in sumswords.voc_told(sheet, amounts).notes


# --- cost --------------------------------------------------------------------------------------------


def test_a_planned_cup_costs_what_its_cans_cost(session: Session, keeper: ShopKeeper) -> None:
    take_lots(session, keeper, "b", "h")
    lacking = sumsjob.costs(session, sumsjob.amounts_now(session, 108))
    assert [p.cost for p in lacking.parts] == [pytest.approx(3.0), pytest.approx(2.7), None]
    assert lacking.total is None
    assert FULL.reducer in lacking.why
    assert HARDENER not in lacking.why
    take_lots(session, keeper, "r")
    costs = sumsjob.costs(session, sumsjob.amounts_now(session, 108), loss_mL=10.8)
    assert costs.total == pytest.approx(3.0 + 2.7 + 0.144)
    assert costs.lost == pytest.approx(0.5844)
    assert costs.why == ""


def test_a_cup_that_stands_costs_what_was_poured_and_the_job_what_all_cups_cost(
    session: Session, keeper: ShopKeeper, clock: Any
) -> None:
    take_lots(session, keeper, "b", "h", "r")
    pour(session, clock, 108, base=70, hardener=30, reducer=18)
    state = session.writable().state
    costs = sumsjob.costs(session, sumsjob.amounts_now(session, None))
    mix = next(iter(state.mixes.values()))
    assert costs.poured == cup_cost(state, mix)
    assert costs.job == job_cost(state)
    assert costs.total == pytest.approx(3.5 + 2.7 + 0.144)
    assert sum(p.cost or 0 for p in costs.parts) == pytest.approx(costs.total)
    keeper.save_lot(Lot(id="b", card=FULL.id, part="Base", full_mL=1000, price=90.0))
    dearer = sumsjob.costs(session, sumsjob.amounts_now(session, None))  # what was poured was bought before
    assert dearer.parts == costs.parts
    session.apply(partial(ev.CupEmptied, mix=mix.id, left_mL=11.8))
    told = sumswords.costs_told(sumsjob.costs(session, sumsjob.amounts_now(session, 10)), keeper.shop)
    assert "The job so far: 6.34 in 1 cup." in told.more
    assert "Thrown away: 11.8 mL, worth 0.63." in told.more


def test_without_a_job_nothing_is_filled_in_and_nothing_breaks(clock: Any) -> None:
    bare = Session(clock, load_tables(), MEASURES)
    assert sumsjob.filled(bare).texts["loss"] == "0"
    with pytest.raises(Needed):
        sumsjob.amounts_now(bare, 10)
    assert sumsjob.film_words(bare, 20, 2) == "All coats together dry to 40 µm."


# --- words -------------------------------------------------------------------------------------------


def test_each_cup_says_when_it_is_stirred_and_sprayed(clock: Any) -> None:
    life = sums.pot_life(MEASURES, LIFE)
    now = clock.now()
    told = sumswords.life_told(life, VolumeUnit.ML, now)
    begin = now + minutes(45)
    assert told.wrong
    assert "600 mL goes into 2 cups." in told.more
    assert "Cup 2: 300 mL, coat 2." in told.more
    assert (
        f"goes in after 45 min ({begin.astimezone():%H:%M}), spray {begin.astimezone() + minutes(5):%H:%M}" in told.more
    )
    night = sumswords.life_told(life, VolumeUnit.ML, now + hours(14.5))
    assert f"{(now + hours(15.25)).astimezone():%a %H:%M}" in night.more
    assert not sumswords.life_told(copied(life, cups=life.cups[:1]), VolumeUnit.ML, now).wrong


def test_the_amount_to_mix_is_shown_in_the_units_of_the_shop() -> None:
    sheet = sums.how_much(MEASURES, SIZE)
    told = sumswords.size_told(sheet, VolumeUnit.US_FL_OZ, "Film.")
    assert told.figure.endswith("US fl oz")
    assert MEASURES.volume(told.figure).mL == pytest.approx(sheet.sized.ready_mL, rel=0.005)
    assert "Film." in told.more
    assert sheet.gauge[1:] in told.more
