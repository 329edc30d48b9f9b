"""A product card on the plan page: a new one becomes a layer, an edited one is copied into the job anew."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR, PROMOTER
from msgspec.structs import replace
from planning_page import ENTER, ESC, RIGHT, SPACE, TAB, Plan, focus
from PySide6.QtCore import Qt

from benchtool.bench.cardform import CardForm
from benchtool.bench.planparts import FieldRow
from benchtool.job import events as ev
from benchtool.job.cards import Care, Duty, Gun, Hazard, Voc
from benchtool.session.cardreading import read_card, write_card
from benchtool.session.library import CardLibrary
from benchtool.trade.substrates import Flex, Suits

CONTROL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def plan(qtbot: Any, clock: Any, tmp_path: Path) -> Iterator[Plan]:
    made = Plan(qtbot, clock, tmp_path)
    yield made
    made.session.close_all()


def begin_card(plan: Plan, kind: str = "other") -> None:
    """Begin a new card of this kind; the last one asks everything."""
    plan.click("layer-new-card")
    if plan.page.card.pick.isVisible():
        plan.click(f"card-kind-{kind}")


def type_a_clear(plan: Plan) -> None:
    """Fill in the form by hand, as from a sheet."""
    plan.type_in("card-name", "Two-part clear")
    plan.click("card-duty-clear")
    plan.click("card-parts-two")
    plan.type_in("card-origin", "sheet of a demo, page 2")
    plan.type_in("card-activator-0-name", "Slow hardener")
    plan.type_in("card-activator-0-share", "50 % of base")
    plan.click("card-activator-0-suits-any")
    plan.type_in("card-coats-least", "2")
    plan.type_in("card-coats-most", "3")
    plan.type_in("card-pot-life", "2 h")
    plan.type_in("card-flash", "15")
    plan.type_in("card-recoat-opens", "1 h 30")
    plan.click("card-hazards-isocyanates")


def test_a_layer_with_a_new_card_is_one_act_and_the_card_is_kept_for_the_next_job(plan: Plan) -> None:
    plan.piece(flex=Flex.FLEXIBLE)
    plan.ask("layer")
    assert focus() == "layer-new-card"
    plan.keys(SPACE)
    assert focus() == "card-kind-lacquer"
    plan.keys("b")
    assert focus() == "card-name"
    type_a_clear(plan)
    plan.click("plan-card-go")
    assert plan.left == 0
    assert plan.said == ["Two-part clear is ready."]
    assert focus() == "layer-coats"
    before = plan.events
    plan.keys(ENTER)
    assert plan.left == 1
    assert plan.events == before + 2
    card = plan.state.cards["two-part-clear"]
    assert card.duty is Duty.CLEAR
    assert card.activators[0].suits is Suits.ANY
    assert card.flash == timedelta(minutes=15)
    assert card.recoat_opens == timedelta(minutes=90)
    assert card.hazards == (Hazard.ISOCYANATES,)
    layer = plan.state.layers["l1"].plan
    assert (layer.card, layer.coats, layer.activator) == ("two-part-clear", 2, "slow-hardener")
    assert CardLibrary(plan.session.library.folder).look().cards == (card,)  # type: ignore[union-attr]
    plan.session.undo()
    assert plan.state.cards == {}
    assert plan.state.layers == {}


def test_a_card_by_keyboard_alone(plan: Plan) -> None:
    plan.piece()
    plan.ask("layer")
    plan.keys(SPACE, "b", "Base colour", ENTER, ENTER)
    assert focus() == "card-duty-promoter"
    plan.keys(RIGHT, RIGHT, RIGHT, RIGHT, RIGHT, ENTER, RIGHT, ENTER)
    assert focus() == "card-chemistry-unsaid"
    plan.keys(ENTER, ENTER, ENTER, "own measurement", ENTER)
    assert focus() == "card-additive-0-name"
    plan.keys(*4 * (ENTER,), TAB)
    assert focus() == "card-reducer"
    plan.keys(TAB, TAB, "1:1 of base", *(TAB,) * (3 * len(Gun) - 1))
    assert focus() == "card-coats-least"
    plan.keys("1", TAB, "4", TAB, "15", TAB, "60", TAB)
    plan.keys(ENTER, modifier=CONTROL)
    assert focus() == "layer-coats"
    plan.keys(ENTER)
    [card] = plan.state.cards.values()
    assert (card.name, card.duty, card.two_part) == ("Base colour", Duty.BASE, False)
    assert (card.film_um, card.film_most_um, card.chemistry) == (15, 60, None)
    assert card.reduction(Gun.AIRBRUSH).usual == "1:1 of base"


def test_what_is_wrong_is_said_at_each_field_the_first_has_the_focus_and_nothing_is_lost(plan: Plan) -> None:
    plan.piece()
    plan.ask("layer")
    begin_card(plan)
    type_a_clear(plan)
    wrong = {
        "card-activator-0-share": "4:1", "card-coats-most": "1", "card-airbrush-usual": "plenty", "card-flash": "a bit",
        "card-pot-life": "2",
    }  # fmt: skip
    for name, text in wrong.items():
        plan.type_in(name, text)
    plan.click("plan-card-go")
    form = plan.page.card
    assert plan.page.pages.currentWidget() is form
    assert focus() == "card-activator-0-share"
    assert form.activators[0].fields.fault.text().startswith("“4:1” of what?")
    assert form.times["pot_life"].fault.text() == "“2” of what? Write 2 min, 2 h or 2 d."
    assert {name: plan.line(name).text() for name in wrong} == wrong
    assert plan.line("card-name").text() == "Two-part clear"
    assert plan.said[-1].startswith("Not yet: “4:1” of what?")
    for name, text in {
        "card-activator-0-share": "1:4 of base", "card-airbrush-usual": "", "card-flash": "20", "card-pot-life": "2 h",
    }.items():  # fmt: skip
        plan.type_in(name, text)
    plan.click("plan-card-go")
    assert focus() == "card-coats-most"
    assert form.numbers["coats_most"].fault.text() == "The most is less than the least."
    plan.type_in("card-coats-most", "3")
    plan.click("plan-card-go")
    assert plan.page.pages.currentWidget() is plan.page.layer


def test_on_a_small_screen_the_field_at_fault_is_in_view_with_what_is_wrong(plan: Plan) -> None:
    plan.look.fit(853, 480)
    plan.pages.resize(853, 330)
    plan.piece()
    plan.ask("layer")
    begin_card(plan)
    type_a_clear(plan)
    plan.type_in("card-recoat-closes", "later")
    form = plan.page.card
    form.take_focus()
    form.go.click()
    closes, view = form.times["recoat_closes"], form.area.viewport()
    row = closes.parentWidget()
    assert isinstance(row, FieldRow)

    def in_view() -> bool:
        ends = (closes.label.rect().topLeft(), row.fault.rect().bottomLeft())
        top, bottom = closes.label.mapTo(view, ends[0]).y(), row.fault.mapTo(view, ends[1]).y()
        return 0 <= top < bottom <= view.height()

    plan.bot.waitUntil(in_view)


def test_the_page_tells_how_times_and_shares_are_understood(plan: Plan) -> None:
    plan.piece()
    plan.ask("layer")
    begin_card(plan)
    plan.click("card-parts-two")
    form = plan.page.card
    plan.type_in("card-flash", "90")
    assert form.times["flash"].told.text() == "1 h 30 min"
    plan.type_in("card-cure", "2 weeks")
    assert form.times["cure"].told.text() == "14 d"
    plan.type_in("card-activator-0-share", "4:1 of base")
    assert form.activators[0].share.told.text() == "25 % of the base"
    plan.type_in("card-mini-gun-usual", "10 % of activated")
    assert form.reduction_rows[Gun.MINI].note.text() == "Reduced 10 % of the activated mix."


def test_enter_in_a_field_goes_on_and_does_not_keep_a_card_that_is_half_typed(plan: Plan) -> None:
    plan.piece()
    plan.ask("layer")
    begin_card(plan)
    type_a_clear(plan)
    plan.line("card-coats-least").setFocus()
    plan.keys(ENTER)
    assert plan.page.pages.currentWidget() is plan.page.card
    assert focus() == "card-coats-most"
    assert plan.said == []


def test_up_to_three_activators(plan: Plan) -> None:
    plan.piece()
    plan.ask("layer")
    begin_card(plan)
    type_a_clear(plan)
    for i in (1, 2):
        plan.click("card-more-activators")
        assert focus() == f"card-activator-{i}-name"
        plan.keys(f"Hardener {i}", TAB, "50 % of base")
        plan.click(f"card-activator-{i}-suits-rigid")
    assert not plan.page.card.more.isVisible()
    plan.click("plan-card-go")
    plan.keys(ENTER)
    assert [a.name for a in plan.state.cards["two-part-clear"].activators] == [
        "Slow hardener", "Hardener 1", "Hardener 2",
    ]  # fmt: skip


def test_a_half_written_card_is_there_after_looking_at_the_bench(plan: Plan) -> None:
    plan.piece()
    plan.ask("layer")
    begin_card(plan)
    type_a_clear(plan)
    plan.keys(ESC)
    assert plan.page.pages.currentWidget() is plan.page.layer
    plan.keys(ESC)
    assert plan.left == 1
    plan.ask("layer")
    begin_card(plan)
    assert plan.line("card-flash").text() == "15"
    plan.click("card-again")
    assert plan.line("card-flash").text() == ""
    assert plan.page.card.parts.value is None


def test_an_edited_card_is_copied_into_the_job_anew_under_its_id(plan: Plan) -> None:
    plan.piece()
    plan.layer(coats=5)
    plan.ask("layer")
    plan.click("layer-which-l1")
    plan.click("layer-edit-card")
    assert plan.line("card-flash").text() == "15 min"
    assert plan.page.card.parts.value == "two"
    plan.type_in("card-flash", "20")
    plan.click("plan-card-go")
    assert plan.said == ["Two-part promoter changed. Cups already mixed keep their recipe."]
    assert plan.page.pages.currentWidget() is plan.page.layer
    assert plan.page.layer.title.text() == "Change Two-part promoter on Panel"
    assert plan.line("layer-coats").text() == "5"
    assert plan.page.layer.activator.value == "rigid"
    changed = plan.state.cards["promoter-2k"]
    assert changed == replace(PROMOTER, flash=timedelta(minutes=20))
    assert isinstance(plan.session.writable().job.events[-1], ev.CardCopied)
    assert plan.session.library is not None
    assert plan.session.library.look().cards == (changed,)
    plan.session.undo()
    assert plan.state.cards["promoter-2k"] == PROMOTER


def edit_the_card_of_the_job(plan: Plan) -> None:
    """Change its flash to 20 min."""
    plan.ask("layer")
    plan.click("layer-which-l1")
    plan.click("layer-edit-card")
    plan.type_in("card-flash", "20")
    plan.click("plan-card-go")


def test_an_edit_in_the_job_goes_into_a_library_that_has_the_same_card(plan: Plan) -> None:
    assert plan.session.library is not None
    plan.piece()
    plan.layer()
    plan.session.library.keep(PROMOTER)
    edit_the_card_of_the_job(plan)
    assert plan.session.library.look().cards == (replace(PROMOTER, flash=timedelta(minutes=20)),)


def test_an_edit_in_the_job_replaces_no_other_card_of_that_id_in_the_library(plan: Plan) -> None:
    assert plan.session.library is not None
    plan.piece()
    plan.layer()
    other = replace(PROMOTER, flash=timedelta(minutes=40))
    plan.session.library.keep(other)
    edit_the_card_of_the_job(plan)
    assert plan.session.library.look().cards == (other,)
    assert plan.state.cards["promoter-2k"].flash == timedelta(minutes=20)
    [said] = plan.said
    assert said.startswith("Two-part promoter changed. Cups already mixed keep their recipe.")
    assert said.endswith(" The card in your library is a different one and stays as it is.")


def test_an_edit_in_the_library_changes_no_copy_of_the_job_by_itself(plan: Plan) -> None:
    assert plan.session.library is not None
    plan.piece()
    plan.layer()
    plan.session.library.keep(CLEAR)
    plan.ask("layer")
    plan.page.layer.cards.list.setCurrentRow(1)
    plan.click("layer-edit-card")
    plan.type_in("card-coats-most", "4")
    before = plan.events
    plan.click("plan-card-go")
    assert plan.events == before
    [kept] = plan.session.library.look().cards
    assert kept.coats_most == 4
    choice = plan.page.layer.choice()
    assert choice is not None
    assert choice.card == kept
    assert plan.state.cards == {"promoter-2k": PROMOTER}


def test_a_card_is_made_without_a_library_and_with_one_that_can_not_be_written(plan: Plan, tmp_path: Path) -> None:
    plan.piece()
    (tmp_path / "cards").write_text("a file where the folder should be", encoding="utf-8")
    for library in (None, CardLibrary(tmp_path / "cards")):
        plan.session.library = library
        plan.ask("layer")
        begin_card(plan)
        type_a_clear(plan)
        plan.click("plan-card-go")
        assert plan.said[-1].startswith("Two-part clear is ready.")
        assert ("not in your library" in plan.said[-1]) is (library is not None)
        plan.keys(ENTER)
    assert set(plan.state.cards) == {"two-part-clear", "two-part-clear-2"}


# --- the section that may stay empty ---------------------------------------------------------------


def new_card(plan: Plan) -> CardForm:
    plan.piece()
    plan.ask("layer")
    begin_card(plan)
    return plan.page.card


def test_the_optional_section_is_folded_away_until_it_is_asked_for(plan: Plan) -> None:
    form = new_card(plan)
    assert not plan.line("card-density").isVisible()
    assert form.optional.turn.text() == "Show these fields"
    form.more_of.traits.stops()[-1].setFocus()
    plan.keys(TAB)
    assert focus() == "card-care"
    plan.keys(TAB, TAB)
    assert focus() == "card-more"
    plan.keys(TAB)
    assert focus() == "card-other-kind"
    form.optional.turn.setFocus()
    plan.keys(ENTER)
    assert plan.line("card-density").isVisible()
    assert form.optional.turn.text() == "Fold these away"
    assert form.optional.turn.accessibleName() == "For amounts, film and emissions: fold these away"
    plan.keys(TAB, "0,95", TAB, "30", TAB, "420")
    assert (plan.line("card-solids").text(), plan.line("card-voc").text()) == ("30", "420")
    form.optional.turn.setFocus()
    plan.keys(SPACE)
    assert not plan.line("card-density").isVisible()
    assert form.text().solids == "30"


def test_the_optional_values_go_into_the_card_by_keyboard_in_reading_order(plan: Plan) -> None:
    form = new_card(plan)
    type_a_clear(plan)
    plan.type_in("card-mini-gun-usual", "10 % of activated")
    form.care.turn.setFocus()
    plan.keys(ENTER)
    for text in ("12 h", "", "7 d", "", ""):
        plan.keys(TAB, text)
    plan.keys(TAB)
    assert focus() == "card-air"
    form.optional.turn.setFocus()
    plan.keys(ENTER)
    typed = [
        "0.99", "45", "400", "20", "30", "0.8", "1.06", "50", "440", "", "", "", "0.87", "860", "", "", "",
        "2 years", "6 months", "4", "1 year", "90 d", "8", "Another maker", "3 years", "2 years", "", "", "34",
        "ISO 4 mm", "", "",
    ]  # fmt: skip
    for text in typed:
        plan.keys(TAB, text)
    plan.keys(TAB, TAB)
    assert focus() == "plan-card-go"
    plan.click("plan-card-go")
    plan.keys(ENTER)
    card = plan.state.cards["two-part-clear"]
    assert (card.density_g_mL, card.solids_percent, card.reducer_density_g_mL) == (0.99, 45, 0.87)
    assert card.voc == Voc(voc_g_L=400, water_g_L=20, exempt_g_L=30, exempt_density_g_mL=0.8)
    assert card.reducer_voc == Voc(voc_g_L=860)
    assert (card.keeps, card.keeps_opened) == (timedelta(days=730), timedelta(days=182))
    assert card.tolerance_percent == 4
    [hardener] = card.activators
    assert (hardener.density_g_mL, hardener.solids_percent, hardener.voc) == (1.06, 50, Voc(voc_g_L=440))
    assert (hardener.keeps, hardener.keeps_opened) == (timedelta(days=365), timedelta(days=90))
    assert (hardener.tolerance_percent, hardener.maker) == (8, "Another maker")
    assert (card.reducer_keeps, card.reducer_keeps_opened) == (timedelta(days=1_095), timedelta(days=730))
    [reduction] = card.reductions
    assert (reduction.gun, reduction.flow_s, reduction.flow_cup) == (Gun.MINI, 34, "ISO 4 mm")
    assert card.care == {Care.TOUCH: timedelta(hours=12), Care.WASH: timedelta(days=7)}


def test_the_section_is_open_where_something_in_it_is_filled_and_closed_where_nothing_is(plan: Plan) -> None:
    plan.piece()
    plan.layer()
    plan.ask("layer")
    plan.click("layer-which-l1")
    plan.click("layer-edit-card")
    form = plan.page.card
    assert not form.optional.unfolded
    plan.type_in("card-tolerance", "3")
    plan.click("plan-card-go")
    assert plan.state.cards["promoter-2k"] == replace(PROMOTER, tolerance_percent=3)
    plan.click("layer-edit-card")
    assert form.optional.unfolded
    assert plan.line("card-tolerance").text() == "3"
    plan.type_in("card-tolerance", "")
    plan.click("plan-card-go")
    plan.click("layer-edit-card")
    assert not form.optional.unfolded


def test_a_field_at_fault_opens_the_section_and_is_in_view(plan: Plan) -> None:
    plan.look.fit(853, 480)
    plan.pages.resize(853, 330)
    form = new_card(plan)
    type_a_clear(plan)
    plan.type_in("card-airbrush-flow-seconds", "18")
    assert not form.optional.unfolded
    plan.click("plan-card-go")
    assert form.optional.unfolded
    assert focus() == "card-airbrush-flow-cup"
    cup, view = form.optional.flows[Gun.AIRBRUSH][1], form.area.viewport()
    assert plan.said[-1].startswith("Not yet: say out of which cup")
    row = cup.parentWidget()
    assert isinstance(row, FieldRow)

    def in_view() -> bool:
        top = cup.label.mapTo(view, cup.label.rect().topLeft()).y()
        bottom = row.fault.mapTo(view, row.fault.rect().bottomLeft()).y()
        return 0 <= top < bottom <= view.height()

    plan.bot.waitUntil(in_view)


def test_parts_are_named_as_typed_and_only_those_shown_above_are_asked_of(plan: Plan) -> None:
    form = new_card(plan)
    form.optional.unfold()
    assert not plan.line("card-activator-0-density").isVisible()
    plan.click("card-parts-two")
    assert plan.line("card-activator-0-density").isVisible()
    assert plan.line("card-activator-0-tolerance").isVisible()
    assert not plan.line("card-activator-1-density").isVisible()
    assert plan.line("card-activator-0-voc").accessibleName() == "Activator 1: VOC in g/L"
    plan.type_in("card-activator-0-name", "Slow hardener")
    assert form.optional.activators[0].contents.heading.text() == "Slow hardener"
    assert plan.line("card-activator-0-voc").accessibleName() == "Slow hardener: VOC in g/L"
    assert plan.line("card-activator-0-keeps-opened").accessibleName() == "Slow hardener: keeps opened"
    assert plan.line("card-reducer-density").accessibleName() == "Reducer: density in g/mL"
    plan.type_in("card-reducer", "Thinner")
    assert plan.line("card-reducer-density").accessibleName() == "Thinner: density in g/mL"
    assert plan.line("card-reducer-keeps").accessibleName() == "Thinner: keeps unopened"
    plan.type_in("card-voc", "3.5 lb/gal")
    assert form.optional.base.fields["voc"].told.text() == "419 g/L"
    plan.type_in("card-airbrush-flow-cup", "din 4")
    assert form.optional.flows[Gun.AIRBRUSH][1].told.text() == "DIN 4 mm"


def test_a_card_with_everything_on_it_is_kept_as_it_was(plan: Plan) -> None:
    voc = Voc(voc_g_L=400, water_g_L=20, exempt_g_L=30, exempt_density_g_mL=0.8)
    activators = tuple(
        replace(
            a,
            solids_percent=40,
            voc=voc,
            keeps=timedelta(days=365),
            keeps_opened=timedelta(days=90),
            tolerance_percent=7,
        )
        for a in PROMOTER.activators
    )
    reductions = tuple(replace(r, flow_s=32, flow_cup="ISO 3 mm") for r in PROMOTER.reductions)
    full = replace(
        PROMOTER, activators=activators, reductions=reductions, voc=voc, reducer_voc=voc, solids_percent=8,
        keeps=timedelta(days=400), keeps_opened=timedelta(hours=50), tolerance_percent=4,
        reducer_keeps=timedelta(days=800), reducer_keeps_opened=timedelta(days=700),
    )  # fmt: skip
    form = new_card(plan)
    form.fill(write_card(full))
    assert read_card(form.text(), full.id, full) == full
