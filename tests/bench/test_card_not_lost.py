"""A card that the disk does not take, or that is of another kind, is not lost on its way through the window."""

from types import SimpleNamespace

import pytest
from builders import CLEAR
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from benchtool.bench.plan import PlanPage
from benchtool.job.cards import Card, Carrier, Chemistry, Hazard, Trait
from benchtool.session.library import CardLibrary, NotKept
from benchtool.session.planning import CardChoice, Where

MINE = replace(
    CLEAR,
    chemistry=Chemistry.URETHANE,
    carrier=Carrier.SOLVENT,
    hazards=(Hazard.ISOCYANATES, Hazard.DUST),
    traits=(Trait.TRANSLUCENT,),
)


@pytest.fixture
def plan(bench: SimpleNamespace) -> PlanPage:
    with bench.bot.waitActive(bench.window):
        bench.window.activateWindow()
    made = bench.window.pages.plan
    assert isinstance(made, PlanPage)
    return made


def no_room(self: CardLibrary, card: Card) -> None:
    raise NotKept("The card is not in your library. The disk is full.")


def test_a_card_of_the_library_that_the_disk_does_not_take_stays_in_the_form(
    bench: SimpleNamespace, plan: PlanPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench.session.library.keep(MINE)
    bench.window.do("library")
    bench.window.pages.library.card_asked.emit(MINE)
    plan.card.name.edit.setText("Hours of work")
    said: list[str] = []
    plan.said.connect(said.append)
    with monkeypatch.context() as full:
        full.setattr(CardLibrary, "keep", no_room)
        plan._keep_card()
    assert said == ["The card is not in your library. The disk is full."]
    assert bench.window.pages.currentWidget() is plan
    assert plan.card.name.text() == "Hours of work"
    plan._keep_card()  # there is room again
    assert bench.window.pages.currentWidget() is bench.window.pages.library
    assert any(card.name == "Hours of work" for card in bench.session.library.look().cards)


def test_after_a_card_the_library_has_the_keys_at_once(bench: SimpleNamespace, plan: PlanPage) -> None:
    bench.session.library.keep(MINE)
    bench.window.do("library")
    page = bench.window.pages.library
    page.card_asked.emit(MINE)
    plan.card.left.emit()
    assert bench.window.pages.currentWidget() is page
    assert QApplication.focusWidget() is page.search.edit
    bench.bot.keyClick(page.search.edit, Qt.Key.Key_Escape)
    assert bench.window.pages.on_bench


def test_a_card_for_a_stack_goes_on_into_the_stack_though_the_disk_does_not_take_it(
    bench: SimpleNamespace, plan: PlanPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench.window.do("build")
    page = bench.window.pages.build
    page.card_asked.emit(CardChoice(MINE, Where.LIBRARY))
    plan.card.name.edit.setText("For this stack")
    monkeypatch.setattr(CardLibrary, "keep", no_room)
    plan._keep_card()
    assert bench.window.pages.currentWidget() is page


def test_another_kind_takes_no_danger_and_no_trait_off_a_card_that_has_them(
    bench: SimpleNamespace, plan: PlanPage
) -> None:
    plan.ask_card(CardChoice(MINE, Where.LIBRARY))
    first = plan.card.text().kind
    assert first
    for kind in ("lacquer", first):
        plan.card.take_kind(kind)
        assert plan.card.text().hazards >= frozenset(MINE.hazards)
        assert plan.card.text().traits >= frozenset(MINE.traits)
