"""A new card begins with its kind; each value has its origin; what is odd is said beside it and kept all the same."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR, PROMOTER
from msgspec.structs import replace
from planning_page import DOWN, ENTER, ESC, SPACE, TAB, Plan, focus
from PySide6.QtCore import Qt

from benchtool.bench.cardform import CardForm
from benchtool.job.cards import Additive, Card, Carrier, Chemistry, Duty, Hazard, Origin, OriginKind, Trait
from benchtool.session.cardreading import read_card
from benchtool.trade.substrates import Flex, Suits

F4, F7, F8 = Qt.Key.Key_F4, Qt.Key.Key_F7, Qt.Key.Key_F8
FLEX = Additive(id="flex", name="Flex additive", suits=Suits.FLEXIBLE, share="10 % of base")
GUESS = Origin(kind=OriginKind.GUESS, words="felt dry")


@pytest.fixture
def plan(qtbot: Any, clock: Any, tmp_path: Path) -> Iterator[Plan]:
    made = Plan(qtbot, clock, tmp_path)
    made.pages.resize(1280, 560)
    yield made
    made.session.close_all()


def new_card(plan: Plan) -> CardForm:
    plan.piece()
    plan.ask("layer")
    plan.click("layer-new-card")
    return plan.page.card


def edit(plan: Plan, card: Card) -> CardForm:
    plan.piece()
    plan.layer(card=card)
    plan.ask("layer")
    plan.click("layer-which-l1")
    plan.click("layer-edit-card")
    return plan.page.card


def shown(plan: Plan, *names: str) -> list[bool]:
    return [plan.line(name).isVisible() for name in names]


# --- the kind of product ---------------------------------------------------------------------------


def test_the_first_question_is_the_kind_and_a_figure_answers_it(plan: Plan) -> None:
    form = new_card(plan)
    assert focus() == "card-kind-lacquer"
    assert not plan.line("card-name").isVisible()
    assert not form.go.isVisible()
    plan.keys("6")
    assert focus() == "card-name"
    assert (form.duty.value, form.parts.value, form.product.chemistry.value) == ("primer", "two", "epoxy")
    assert form.hazards.values == {"epoxy resin", "solvent vapour"}
    assert shown(plan, "card-stand", "card-pot-life", "card-film-most", "card-activator-0-name") == [True] * 4
    assert shown(plan, "card-stand-reduced", "card-flash-most", "card-maker", "card-dust-free") == [False] * 4
    assert not form.duty.isVisible()
    assert form.line.words.text().startswith("Epoxy primer: two-part, primer, epoxy, solvent leaves it.")


def test_arrows_and_enter_choose_a_kind_too_and_esc_goes_back(plan: Plan) -> None:
    form = new_card(plan)
    plan.keys(DOWN, ENTER)
    assert form.template is not None
    assert form.template.id == "enamel"
    assert not plan.line("card-pot-life").isVisible()
    plan.keys(F7)
    assert focus() == "card-kind-lacquer"
    plan.keys(TAB, TAB, SPACE)
    assert form.template.id == "waterborne-acrylic"
    plan.keys(F7, ESC)
    assert plan.page.pages.currentWidget() is plan.page.layer


def test_every_kind_can_be_chosen_by_one_key(plan: Plan) -> None:
    form = new_card(plan)
    for button in form.pick.buttons:
        if not form.pick.isVisible():
            plan.keys(F7)
        plan.keys(button.key.lower())
        assert not form.pick.isVisible()
        assert form.template is not None
        assert f"card-kind-{form.template.id}" == button.objectName()
    assert len({b.key for b in form.pick.buttons}) == len(form.pick.buttons) == 12


def test_more_questions_are_one_key_away_and_what_is_typed_there_is_never_hidden(plan: Plan) -> None:
    form = new_card(plan)
    plan.keys("1")
    assert "more question" in form.line.more.text()
    assert not plan.line("card-cure").isVisible()
    plan.keys(F8)
    assert plan.line("card-cure").isVisible()
    assert form.line.more.text() == "Ask only what matters"
    plan.type_in("card-cure", "30 d")
    plan.type_in("card-maker", "A maker")
    plan.keys(F8)
    assert shown(plan, "card-cure", "card-maker", "card-stand") == [True, True, False]


def test_another_kind_later_keeps_what_was_typed(plan: Plan) -> None:
    form = new_card(plan)
    plan.keys("4")
    plan.type_in("card-name", "Grey")
    plan.type_in("card-activator-0-name", "Slow")
    plan.type_in("card-pot-life", "2 h")
    plan.click("card-duty-sealer")
    plan.keys(F7)
    plan.keys("1")
    assert (plan.line("card-name").text(), plan.line("card-pot-life").text()) == ("Grey", "2 h")
    assert plan.line("card-pot-life").isVisible()
    assert form.duty.value == "sealer"
    assert (form.product.chemistry.value, form.parts.value) == ("lacquer", "one")
    assert form.hazards.values == {"solvent vapour"}
    plan.keys(F7)
    plan.keys("4")
    assert plan.line("card-activator-0-name").text() == "Slow"


def test_a_half_written_card_comes_back_with_its_kind(plan: Plan) -> None:
    form = new_card(plan)
    plan.keys("6")
    plan.type_in("card-name", "Grey primer")
    plan.keys(ESC)
    plan.click("layer-new-card")
    assert form.template is not None
    assert form.template.id == "epoxy-primer"
    assert plan.line("card-name").text() == "Grey primer"
    plan.click("card-again")
    assert form.pick.isVisible()
    assert focus() == "card-kind-lacquer"


def test_a_card_of_a_kind_is_written_in_a_few_answers(plan: Plan) -> None:
    new_card(plan)
    plan.keys("2", "Red enamel", ENTER)
    plan.click("card-duty-base")
    plan.type_in("card-origin", "sheet of a demo, page 1")
    plan.type_in("card-coats-least", "1")
    plan.type_in("card-coats-most", "2")
    plan.click("plan-card-go")
    plan.keys(ENTER)
    [card] = plan.state.cards.values()
    assert (card.chemistry, card.carrier, card.two_part) == (Chemistry.ENAMEL, Carrier.SOLVENT, False)
    assert card.hazards == (Hazard.SOLVENT, Hazard.OILY_RAGS)


def test_a_fault_in_a_question_folded_away_shows_it(plan: Plan) -> None:
    form = new_card(plan)
    plan.keys("1")
    plan.keys(F8)
    plan.type_in("card-airbrush-usual", "plenty")
    plan.type_in("card-stand", "soon")
    plan.keys(F8)
    plan.keys(F7)
    plan.keys("9")
    form.times["stand"].hide()
    plan.click("plan-card-go")
    assert form.times["stand"].isVisible()
    assert form.times["stand"].fault.text()


def test_an_old_card_that_says_nothing_of_its_kind_shows_every_question(plan: Plan) -> None:
    form = edit(plan, PROMOTER)
    assert form.template is None
    assert shown(plan, "card-name", "card-maker", "card-stand", "card-film-most", "card-only-over") == [True] * 5
    assert form.line.kind.text() == "Choose its kind"
    assert not form.line.more.isVisible()


# --- new values ------------------------------------------------------------------------------------


def test_all_new_values_go_into_the_card_and_come_back(plan: Plan) -> None:
    full = replace(
        PROMOTER, maker="A maker", chemistry=Chemistry.POLYOLEFIN, carrier=Carrier.SOLVENT,
        traits=(Trait.METALLIC, Trait.DARK), dust_free=timedelta(minutes=8), film_um=8, film_most_um=20,
        additives=(FLEX,), hazards=(Hazard.ISOCYANATES, Hazard.CHROMATE), duty=Duty.FILLER, only_over=("gone",),
        activators=(replace(PROMOTER.activators[0], maker="Another"), PROMOTER.activators[1]),
        origins={"*": GUESS, "flash": GUESS, "no_such_value": "old"},
    )  # fmt: skip
    form = edit(plan, full)
    assert read_card(form.text(), full.id, full, form.names) == full
    plan.click("plan-card-go")
    assert plan.said == ["Nothing was changed."]


def test_more_than_three_additives_and_what_the_form_does_not_show_stay(plan: Plan) -> None:
    many = tuple(replace(FLEX, id=f"x{i}", name=f"Additive {i}") for i in range(5))
    card = replace(PROMOTER, additives=many, note="shake it")
    edit(plan, card)
    plan.type_in("card-additive-1-share", "12 % of base")
    plan.click("plan-card-go")
    changed = plan.state.cards[card.id]
    assert [a.share for a in changed.additives] == ["10 % of base", "12 % of base", *3 * ["10 % of base"]]
    assert changed.note == "shake it"


def test_cards_it_may_only_go_over_are_typed_by_name(plan: Plan) -> None:
    assert plan.session.library is not None
    plan.session.library.keep(CLEAR)
    form = edit(plan, PROMOTER)
    plan.type_in("card-only-over", "mystery")
    plan.click("plan-card-go")
    assert "no card of yours" in form.product.over.fault.text()
    plan.type_in("card-only-over", CLEAR.name)
    plan.click("plan-card-go")
    assert plan.state.cards[PROMOTER.id].only_over == (CLEAR.id,)


# --- what is odd -----------------------------------------------------------------------------------


def test_what_is_odd_is_said_beside_the_field_and_blocks_nothing(plan: Plan) -> None:
    form = edit(plan, PROMOTER)
    plan.type_in("card-flash", "40")
    plan.bot.waitUntil(lambda: form.waits.rows[2].remarked.isVisible())
    assert form.waits.rows[2].remarked.text() == "Look again: the next coat waits 40 min, the next layer only 30 min."
    plan.type_in("card-flash", "20")
    plan.bot.waitUntil(lambda: not form.waits.rows[2].remarked.isVisible())
    plan.type_in("card-flash", "40")
    plan.click("plan-card-go")
    assert plan.state.cards[PROMOTER.id].flash == timedelta(minutes=40)


def test_a_hazard_left_out_is_said_beside_the_hazards(plan: Plan) -> None:
    form = new_card(plan)
    plan.keys("4", "Clear")
    plan.click("card-hazards-isocyanates")
    plan.bot.waitUntil(lambda: form.hazards.remarked.isVisible())
    assert "isocyanates" in form.hazards.remarked.text()
    plan.click("card-hazards-isocyanates")
    plan.bot.waitUntil(lambda: not form.hazards.remarked.isVisible())


def test_an_empty_new_card_is_not_scolded(plan: Plan) -> None:
    form = new_card(plan)
    plan.keys("5")
    plan.bot.wait(1)
    assert not any(getattr(ask, "remarked", None) and ask.remarked.isVisible() for ask in form.asks.values())


# --- where a value comes from ----------------------------------------------------------------------


def test_f4_at_a_field_says_where_its_value_comes_from(plan: Plan) -> None:
    form = edit(plan, PROMOTER)
    form.times["flash"].take_focus()
    plan.keys(F4)
    assert form.origin_bar.isVisible()
    assert form.origin_bar.title.text() == "Where “Flash between coats, min” comes from"
    plan.click("card-origin-kind-guess")
    plan.type_in("card-origin-words", "felt dry")
    plan.keys(ENTER)
    assert not form.origin_bar.isVisible()
    assert focus() == "card-flash"
    assert form.times["flash"].marked.isVisible()
    assert form.times["flash"].marked.text() == "? a guess"
    plan.click("plan-card-go")
    assert plan.state.cards[PROMOTER.id].origins == {**PROMOTER.origins, "flash": GUESS}
    assert "flash 15 min (a guess)" in plan.page.layer.cards.hint.text()


def test_a_value_typed_anew_drops_its_origin_until_it_is_said_again(plan: Plan) -> None:
    form = edit(plan, replace(PROMOTER, origins={**PROMOTER.origins, "flash": GUESS}))
    plan.bot.waitUntil(lambda: form.times["flash"].marked.isVisible())
    plan.type_in("card-flash", "20")
    plan.bot.waitUntil(lambda: not form.times["flash"].marked.isVisible())
    plan.keys(F4)
    assert plan.line("card-origin-words").text() == "felt dry"
    plan.type_in("card-origin-words", "felt dry twice")
    plan.keys(ESC)
    assert focus() == "card-flash"
    plan.click("plan-card-go")
    assert plan.state.cards[PROMOTER.id].origins["flash"] == replace(GUESS, words="felt dry twice")


def test_a_bad_day_is_told_in_the_strip_and_lost_by_nobody(plan: Plan) -> None:
    form = edit(plan, PROMOTER)
    form.times["tape"].take_focus()
    plan.click("card-where-from")
    plan.click("card-origin-kind-data sheet")
    plan.type_in("card-origin-day", "14.3.2026")
    plan.keys(ENTER)
    assert form.origin_bar.isVisible()
    assert focus() == "card-origin-day"
    plan.keys(ESC)
    assert not form.origin_bar.isVisible()
    plan.click("plan-card-go")
    assert form.origin_bar.isVisible()
    assert plan.line("card-origin-day").text() == "14.3.2026"
    assert plan.said[-1].startswith("Not yet: ")
    plan.type_in("card-origin-day", "2026-03-14")
    plan.keys(ENTER)
    plan.click("plan-card-go")
    assert plan.state.cards[PROMOTER.id].origins["tape"] == Origin(kind=OriginKind.SHEET, day="2026-03-14")


def test_the_whole_card_may_be_a_guess(plan: Plan) -> None:
    form = edit(plan, PROMOTER)
    form.origin.take_focus()
    plan.keys(F4)
    assert form.origin_bar.title.text() == "Where all values of the card come from"
    plan.click("card-origin-kind-guess")
    plan.type_in("card-origin-words", "what a friend once said")
    plan.keys(ENTER)
    assert focus() == "card-origin"
    assert form.origin.text() == "what a friend once said"
    assert form.origin.marked.text() == "? a guess"
    plan.click("plan-card-go")
    said = plan.state.cards[PROMOTER.id].origins["*"]
    assert said == Origin(kind=OriginKind.GUESS, words="what a friend once said")


def test_tab_stays_in_the_strip_while_it_is_open(plan: Plan) -> None:
    form = edit(plan, PROMOTER)
    form.times["flash"].take_focus()
    plan.keys(F4)
    plan.click("card-origin-kind-told")
    form.origin_bar.kind.take_focus()
    for name in ("card-origin-words", "card-origin-page", "card-origin-day", "card-origin-done"):
        plan.keys(TAB)
        assert focus() == name
    plan.keys(TAB)
    assert focus() == "card-origin-kind-told"


# --- additives of a layer --------------------------------------------------------------------------

FLEXED = replace(CLEAR, additives=(FLEX, replace(FLEX, id="matt", name="Matting paste", suits=Suits.ANY)))


def choose(plan: Plan, card: Card, **piece: Any) -> None:
    assert plan.session.library is not None
    plan.session.library.keep(card)
    plan.piece(**piece)
    plan.ask("layer")
    plan.page.layer.cards.list.setCurrentRow(0)


def test_on_a_flexible_piece_the_flex_additive_is_chosen_by_itself(plan: Plan) -> None:
    choose(plan, FLEXED, flex=Flex.FLEXIBLE)
    form = plan.page.layer
    assert form.additives.isVisible()
    assert form.additives.values == {"flex"}
    plan.click("layer-additives-matt")
    form.submit()
    assert plan.state.layers["l1"].plan.additives == ("flex", "matt")


def test_on_a_rigid_piece_none_is_and_the_flex_one_is_told(plan: Plan) -> None:
    choose(plan, FLEXED)
    form = plan.page.layer
    assert form.additives.values == frozenset()
    plan.click("layer-additives-flex")
    assert form.additives.hint.text() == "Flex additive: made for flexible parts."
    form.submit()
    assert plan.state.layers["l1"].plan.additives == ("flex",)


def test_a_card_without_additives_asks_for_none_and_a_plan_keeps_what_its_card_has_no_more(plan: Plan) -> None:
    choose(plan, CLEAR)
    assert not plan.page.layer.additives.isVisible()
    plan.layer(card=replace(CLEAR, id="other"), additives=("old",), activator=CLEAR.activators[0].id)
    plan.ask("layer")
    plan.click("layer-which-l1")
    assert plan.page.layer.submit().words == "Nothing was changed."
