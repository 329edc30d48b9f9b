"""The card form holds still under the hand, tells at once what does not agree, and shares its columns out evenly."""

from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR
from planning_page import Plan
from PySide6.QtWidgets import QWidget

from benchtool.bench.cardform import CardForm
from benchtool.session.cardtemplates import templates
from benchtool.session.planning import CardChoice, Where


@pytest.fixture
def plan(qtbot: Any, clock: Any, tmp_path: Path) -> Plan:
    return Plan(qtbot, clock, tmp_path)


@pytest.fixture
def form(plan: Plan) -> CardForm:
    plan.page.ask_card(CardChoice(CLEAR, Where.LIBRARY))
    plan.pages.setCurrentWidget(plan.page)
    return plan.page.card


def type_in(plan: Plan, name: str, text: str) -> None:
    plan.type_in(name, text)
    plan.page.card._look_over()


@pytest.mark.parametrize(
    ("typed", "at", "said"),
    [
        ({"card-recoat-opens": "2 h", "card-recoat-closes": "1 h"}, "recoat_closes", "it closes before it opens."),
        ({"card-flash": "20", "card-flash-most": "10"}, "flash_most", "it is shorter than the flash itself."),
        ({"card-coats-least": "4", "card-coats-most": "2"}, "coats_most", "the most is less than the least."),
        (
            {"card-airbrush-usual": "50 % of base", "card-airbrush-most": "20 % of base"},
            "reduction-airbrush-most",
            "it is less than the one before it.",
        ),
    ],
)
def test_what_does_not_agree_is_told_while_it_is_typed_and_goes_when_it_does(
    plan: Plan, form: CardForm, typed: dict[str, str], at: str, said: str
) -> None:
    for name, text in typed.items():
        type_in(plan, name, text)
    ask = form.asks[at]
    assert ask.remarked.text() == f"Look again: {said}"  # type: ignore[attr-defined]
    first, text = next(iter(typed.items()))
    type_in(plan, first, "1" if text.isdigit() else "30 min" if "h" in text else "10 % of base")
    assert ask.remarked.text() == ""  # type: ignore[attr-defined]


def test_what_was_said_at_keep_goes_once_the_other_field_is_put_right(plan: Plan, form: CardForm) -> None:
    type_in(plan, "card-recoat-opens", "2 h")
    type_in(plan, "card-recoat-closes", "1 h")
    plan.click("plan-card-go")
    assert form.times["recoat_closes"].fault.text() == "It closes before it opens."
    type_in(plan, "card-recoat-opens", "30 min")
    assert form.times["recoat_closes"].fault.text() == ""


def places(form: CardForm) -> dict[str, int]:
    edits = {key: ask.stops()[0] for key, ask in form.asks.items() if ask.stops()}
    return {k: w.mapTo(form.body, w.rect().topLeft()).y() for k, w in edits.items() if w.isVisibleTo(form)}


def test_no_field_moves_when_a_line_below_one_comes_and_goes(plan: Plan, form: CardForm) -> None:
    def laid() -> dict[str, int]:
        now: dict[str, int] = {}
        for _ in range(100):  # a busy machine lays out in several rounds
            QWidget.layout(form.body).activate()
            plan.bot.wait(20)
            seen, now = now, places(form)
            if now == seen:
                break
        return now

    before = laid()
    form.complain(
        [("name", "Give it the name on the can."), ("duty", "Say what it does."), ("cure", "No."), ("reducer", "No.")]
    )
    form.times["flash"].remark("Look again.")
    form.product.duty.remark("Look again.")
    assert form.product.names.fault.isVisible()
    assert form.reducer.fault.isVisible()
    assert laid() == before
    form.complain(())
    form.times["flash"].remark("")
    assert laid() == before


@pytest.mark.parametrize("kind", list(templates()))
def test_the_columns_are_shared_out_as_evenly_as_the_order_allows(plan: Plan, kind: str) -> None:
    plan.page.ask_card(None)
    plan.pages.setCurrentWidget(plan.page)
    form = plan.page.card
    form.take_kind(kind)
    plan.bot.wait(1)
    assert form._shown_as == 2
    left, right = form.plans[2]
    assert (*left, *right) == tuple(range(8))

    def high(members: Any) -> int:
        seen = [form.sections[i] for i in members if form.sections[i].isVisible()]
        return max(s.geometry().bottom() for s in seen) - min(s.geometry().top() for s in seen)

    whole = high(left) + high(right)
    biggest = max(s.height() for s in form.sections if s.isVisible())
    assert max(high(left), high(right)) <= max(whole / 2 + biggest / 2, biggest) + 24
    assert form.name.edit.placeholderText() == templates()[kind].example


def test_the_way_back_says_where_it_goes(plan: Plan, form: CardForm) -> None:
    assert form.back.text() == "Back"
    plan.piece()
    plan.ask("layer")
    plan.page.layer.card_asked.emit(None)
    assert form.back.text() == "Back to the layer"
    plan.page.ask_card(None, back="Back to the cards")
    assert form.back.text() == "Back to the cards"
