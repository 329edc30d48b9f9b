"""How the air changes a card, on its page: typed by keyboard, kept, opened again and saved unchanged."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR, PROMOTER, hours, minutes
from msgspec.structs import replace
from planning_page import ENTER, ESC, RIGHT, SPACE, TAB, Plan, focus
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QWidget

from benchtool.bench.cardform import CardForm
from benchtool.job.cards import (
    AirRange,
    ArrheniusPacing,
    Card,
    CardTime,
    DoublingPacing,
    EvaporationPacing,
    ForcedDry,
    TablePacing,
)
from benchtool.job.validate import card_faults
from benchtool.session.library import CardLibrary

CONTROL = Qt.KeyboardModifier.ControlModifier
FULL = replace(
    CLEAR,
    stand=minutes(5),
    stand_reduced=minutes(10),
    pot_life=hours(2),
    flash=minutes(15),
    flash_most=minutes(45),
    recoat_opens=minutes(30),
    recoat_closes=hours(24),
    tape=hours(24),
    cure=hours(168),
    air=AirRange(least_degC=10.5, most_degC=35, most_percent=80),
    fast_solvent=True,
    paces={
        CardTime.EVERY: DoublingPacing(factor=2.2, reference_degC=21, least_degC=5),
        CardTime.STAND: DoublingPacing(factor=1),
        CardTime.POT_LIFE: TablePacing(points=((5.0, hours(5)), (20.0, hours(2)), (35.0, minutes(20)))),
        CardTime.FLASH: EvaporationPacing(reference_percent=55, reference_m_s=0.25, least_degC=12),
        CardTime.RECOAT_CLOSES: ArrheniusPacing(energy_kJ_mol=52.5, reference_degC=20, least_degC=10),
        CardTime.CURE: TablePacing(points=((10.0, timedelta(days=9, seconds=1.5)), (20.0, timedelta(days=7)))),
    },
    forced={time: ForcedDry(degC=60, wait=minutes(10)) for time in (CardTime.FLASH, CardTime.TAPE)},
    films=((60.0, 1.5), (101.6, 2.5)),
)


@pytest.fixture
def plan(qtbot: Any, clock: Any, tmp_path: Path) -> Iterator[Plan]:
    made = Plan(qtbot, clock, tmp_path)
    yield made
    made.session.close_all()


def new_card(plan: Plan) -> CardForm:
    plan.piece()
    plan.ask("layer")
    plan.click("layer-new-card")
    plan.click("card-kind-other")
    plan.type_in("card-name", "Clear")
    plan.click("card-duty-clear")
    plan.click("card-parts-one")
    plan.type_in("card-origin", "sheet of a demo, page 2")
    plan.type_in("card-coats-least", "2")
    plan.type_in("card-coats-most", "3")
    plan.type_in("card-flash", "15")
    plan.type_in("card-recoat-opens", "2 h")
    return plan.page.card


def edit(plan: Plan, card: Card) -> CardForm:
    plan.piece()
    plan.layer(card=card)
    plan.ask("layer")
    plan.click("layer-which-l1")
    plan.click("layer-edit-card")
    return plan.page.card


def kept(plan: Plan) -> Card:
    assert plan.session.library is not None
    [card] = CardLibrary(plan.session.library.folder).look().cards
    return card


def test_a_table_typed_by_keyboard_alone_is_on_the_card(plan: Plan) -> None:
    form = new_card(plan)
    form.air.turn.setFocus()
    plan.keys(SPACE, TAB, "50 F", TAB, "30", TAB, TAB, "80", TAB)
    assert focus() == "card-fast-no"
    plan.keys(RIGHT, TAB)
    assert focus() == "card-pace-all-by-printed"
    plan.keys(RIGHT, TAB)
    assert focus() == "card-pace-all-factor"
    plan.keys(TAB, "21", TAB, "5", *[TAB] * 6)
    assert focus() == "card-paced-recoat opens"
    plan.keys(SPACE)
    assert focus() == "card-pace-recoat-opens-by-table"
    plan.keys(TAB, "20 °C 2 h; 10 °C 4 h; 86 °F 1 h", ENTER, "20", ENTER, ENTER)
    assert focus() == "card-heat-flash"
    plan.keys("140 F 10 min", TAB, TAB, TAB, TAB, "100 1,5; 150 2,5", TAB)
    assert focus() == "card-more"
    plan.keys(ENTER)  # shows the last section
    plan.line("card-flash").setFocus()
    plan.keys(ENTER, modifier=CONTROL)
    assert plan.said == ["Clear is ready."]
    card = kept(plan)
    assert card.air == AirRange(least_degC=10, most_degC=30, most_percent=80)
    assert card.fast_solvent
    assert card.paces == {
        CardTime.EVERY: DoublingPacing(factor=2, reference_degC=21, least_degC=5),
        CardTime.RECOAT_OPENS: TablePacing(
            points=((10.0, hours(4)), (20.0, hours(2)), (30.0, hours(1))), reference_degC=20
        ),
    }
    assert card.forced == {CardTime.FLASH: ForcedDry(degC=60, wait=minutes(10))}
    assert card.films == ((100.0, 1.5), (150.0, 2.5))
    assert card.origins == {"*": "sheet of a demo, page 2"}


def test_a_card_with_every_model_is_shown_and_saved_as_it_was(plan: Plan) -> None:
    assert list(card_faults(FULL)) == []
    form = edit(plan, FULL)
    assert form.air.unfolded
    assert plan.line("card-pace-pot-life-table").text() == "5 °C 5 h; 20 °C 2 h; 35 °C 20 min"
    assert plan.line("card-pace-cure-table").isVisible()
    assert not plan.line("card-pace-cure-energy").isVisible()
    assert form.air.rows[CardTime.STAND].law.value == "printed"
    assert plan.line("card-films").text() == "60 µm 1.5 times; 101.6 µm 2.5 times"
    before = plan.events
    plan.click("plan-card-go")
    assert plan.said == ["Nothing was changed."]
    assert plan.events == before
    plan.click("layer-edit-card")
    plan.type_in("card-film", "30")
    plan.click("plan-card-go")
    assert plan.state.cards[FULL.id] == replace(FULL, film_um=30)


def test_the_section_is_folded_where_the_card_says_nothing_and_shows_nothing_of_the_card_before(plan: Plan) -> None:
    form = edit(plan, FULL)
    plan.keys(ESC, ESC)
    plan.ask("layer")
    plan.click("layer-new-card")
    assert not form.air.unfolded
    form.air.turn.setFocus()
    plan.keys(ENTER)
    assert focus() == "card-air"
    assert form.air.turn.accessibleName() == "How the air changes it: fold these away"
    assert not form.air.filled
    assert not any(row.isVisible() for row in form.air.rows.values())
    assert all(not edit.text() for row in form.air.rows.values() for edit in (f.edit for f in row.fields.values()))
    assert plan.line("card-air-least").text() == ""
    assert not form.air.fast_caution.isVisible()


def test_what_is_understood_and_what_is_taken_stands_beside_the_fields(plan: Plan) -> None:
    form = new_card(plan)
    form.air.turn.click()
    plan.type_in("card-air-most", "86 F")
    assert form.air.range["most"].told.text() == "30 °C"
    plan.click("card-pace-all-by-evaporation")
    fields = form.air.every.fields
    assert [fields[key].told.text() for key in ("percent", "speed", "reference")] == [
        "50 % is taken", "0.1 m/s is taken", "23 °C is taken",
    ]  # fmt: skip
    plan.type_in("card-pace-all-reference", "68 F")
    assert fields["reference"].told.text() == "20 °C"
    assert form.air.every.note.text().startswith("At 80 % and 20 °C it takes 2.5 times as long")
    plan.click("card-paced-recoat opens")
    row = form.air.rows[CardTime.RECOAT_OPENS]
    plan.type_in("card-pace-recoat-opens-table", "20 2 h, 10 4 h")
    assert row.note.text() == "10 °C: 4 h, 20 °C: 2 h."
    plan.type_in("card-recoat-opens", "3 h")
    assert "At 23 °C that makes 2 h: it counts where the air is known" in row.note.text()
    assert not form.air.heat_caution.isVisible()
    plan.type_in("card-heat-cure", "60 °C for 1/2 h")
    assert form.air.heat[CardTime.CURE].told.text() == "60 °C for 30 min"
    assert "safety data sheet" in form.air.heat_caution.text()
    plan.click("card-fast-yes")
    assert "safety data sheet" in form.air.fast_caution.text()
    assert form.air.fast_caution.isVisible()


def test_a_table_pasted_out_of_a_sheet_keeps_its_lines(plan: Plan) -> None:
    form = new_card(plan)
    form.air.turn.click()
    plan.click("card-paced-flash")
    QApplication.clipboard().setText("°C\tmin\n30\t10\n20\t15\n10\t30\n")
    plan.line("card-pace-flash-table").paste()
    assert form.air.rows[CardTime.FLASH].note.text().startswith("10 °C: 30 min, 20 °C: 15 min, 30 °C: 10 min.")
    plan.click("plan-card-go")
    assert kept(plan).paces[CardTime.FLASH] == TablePacing(
        points=((10.0, minutes(30)), (20.0, minutes(15)), (30.0, minutes(10)))
    )


def test_a_field_at_fault_unfolds_the_section_and_has_the_focus(plan: Plan) -> None:
    form = new_card(plan)
    form.air.turn.click()
    plan.click("card-paced-flash")
    plan.type_in("card-pace-flash-table", "10 °C 15 min; 20 °C 30 min")
    plan.type_in("card-films", "100 µm")
    form.air.turn.click()
    assert not form.air.unfolded
    plan.click("plan-card-go")
    assert form.air.unfolded
    assert not form.optional.unfolded
    assert focus() == "card-pace-flash-table"
    assert form.air.rows[CardTime.FLASH].row.fault.text().startswith("The table gives more time at 20 °C than at 10 °C")
    assert "How many times as long at 100 µm?" in form.air.films.fault.text()
    plan.click("card-paced-flash")
    plan.type_in("card-films", "")
    plan.click("plan-card-go")
    assert kept(plan).paces == {}


def test_a_time_that_is_ticked_off_and_on_again_has_what_was_typed(plan: Plan) -> None:
    form = new_card(plan)
    form.air.turn.click()
    plan.click("card-paced-tape")
    plan.type_in("card-pace-tape-table", "20 °C 24 h")
    plan.click("card-paced-tape")
    assert not form.air.rows[CardTime.TAPE].isVisible()
    assert CardTime.TAPE not in form.text().air.paces  # type: ignore[union-attr]
    plan.click("card-paced-tape")
    assert focus() == "card-pace-tape-by-table"
    assert plan.line("card-pace-tape-table").text() == "20 °C 24 h"


def test_a_half_typed_table_is_there_after_looking_at_the_layer(plan: Plan) -> None:
    form = edit(plan, PROMOTER)
    form.air.turn.click()
    plan.click("card-paced-flash")
    plan.type_in("card-pace-flash-table", "10 °C 30 min;")
    plan.keys(ESC)
    plan.click("layer-edit-card")
    assert form.air.unfolded
    assert plan.line("card-pace-flash-table").text() == "10 °C 30 min;"
    plan.click("card-again")
    assert not form.air.unfolded
    assert form.air.which.values == frozenset()


def test_rows_stand_and_tab_goes_in_the_order_of_the_times(plan: Plan) -> None:
    form = new_card(plan)
    form.air.turn.click()
    for name in ("cure", "stand", "flash"):
        plan.click(f"card-paced-{name}")
    column = form.air.paces.column
    places = [column.indexOf(form.air.rows[t]) for t in (CardTime.STAND, CardTime.FLASH, CardTime.CURE)]
    assert places == sorted(places)
    keys = [key for key in form.asks if key.endswith("-law")]
    assert keys == ["pace-*-law", "pace-stand-law", "pace-flash-law", "pace-cure-law"]


def test_every_field_and_choice_has_a_name_of_its_own_for_who_can_not_see_it(plan: Plan) -> None:
    form = edit(plan, FULL)
    stops = [w for key in form.air.asks for w in form.asks[key].stops() if isinstance(w, QWidget) and w.isVisible()]
    names = [w.accessibleName() for w in stops]
    assert all(names)
    assert len(set(names)) == len(names)
