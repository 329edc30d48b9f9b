"""The plan page by hand and by keyboard: pieces and layers of a job of one's own, from nothing."""

from collections.abc import Iterator
from functools import partial
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from builders import CLEAR, COLOUR, PROMOTER
from msgspec.structs import replace
from planning_page import DOWN, ENTER, ESC, RIGHT, TAB, UP, Plan, focus
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QWidget

from benchtool.bench.controls import BenchButton
from benchtool.bench.planparts import Options
from benchtool.job import events as ev
from benchtool.job.cards import Duty, Gun
from benchtool.session.session import NotNow
from benchtool.trade.substrates import Flex


@pytest.fixture
def plan(qtbot: Any, clock: Any, tmp_path: Path) -> Iterator[Plan]:
    made = Plan(qtbot, clock, tmp_path)
    yield made
    made.session.close_all()


# --- pieces ------------------------------------------------------------------------------------------


def test_a_piece_by_keyboard_alone(plan: Plan) -> None:
    plan.ask("piece")
    assert focus() == "piece-name"
    plan.keys("Visor shell", TAB, "polycarb", TAB, TAB)
    assert focus() == "piece-batch"
    plan.keys("sheet  3 ", TAB)
    assert focus() == "piece-area"
    plan.keys("30 x 40 cm", TAB)
    assert focus() == "piece-known-marked"
    plan.keys(RIGHT, RIGHT, TAB, RIGHT, RIGHT, TAB)
    assert focus() == "piece-face-outside"
    plan.keys(RIGHT, ENTER)
    assert plan.left == 1
    assert plan.said == ["Visor shell added. Plan its first layer: press L."]
    assert plan.state.pieces["p1"].piece == ev.Piece(
        id="p1", name="Visor shell", substrate="pc", known=ev.Known.TOLD, flex=Flex.FLEXIBLE, face=ev.Face.BEHIND_CLEAR,
        batch="sheet 3", area_m2=0.12,
    )  # fmt: skip
    assert plan.session.piece_id == "p1"
    plan.session.undo()
    assert plan.state.pieces == {}


def test_the_list_narrows_and_the_arrows_move_in_it_from_the_field(plan: Plan) -> None:
    plan.ask("piece")
    material = plan.page.piece.material
    assert material.list.item(0).text() == "Nobody knows"
    plan.keys(TAB, ">PP<")
    assert material.value == "pp"
    assert plan.page.piece.known.value == "marked"
    plan.type_in("piece-material-search", "pp")
    plan.keys(DOWN)
    assert material.value == "tpo"
    assert plan.page.piece.flex.value == "flexible"
    plan.type_in("piece-material-search", "glass wool")
    assert material.value is None
    assert "nobody knows" in material.hint.text()
    assert material.list.count() == 1
    plan.keys(DOWN)
    assert material.value == "unknown"
    assert plan.page.piece.known.isHidden()


def test_rigid_or_flexible_follows_the_material_until_the_painter_says(plan: Plan) -> None:
    plan.ask("piece")
    form = plan.page.piece
    plan.type_in("piece-material-search", "steel")
    assert form.flex.value == "rigid"
    plan.type_in("piece-material-search", "polycarbonate")
    assert form.flex.value is None
    assert "either" in form.flex.hint.text()
    plan.click("piece-flex-flexible")
    plan.type_in("piece-material-search", "steel")
    assert form.flex.value == "flexible"


def test_what_is_wrong_with_a_piece_is_said_and_nothing_typed_is_lost(plan: Plan) -> None:
    plan.ask("piece")
    plan.keys(TAB, "polycarb", ENTER)
    form = plan.page.piece
    assert plan.left == 0
    assert focus() == "piece-name"
    assert form.name.fault.text() == "Give the piece a name, such as Left side panel."
    assert form.known.fault.text()
    assert form.flex.fault.text()
    assert plan.line("piece-material-search").text() == "polycarb"
    assert plan.said == ["Not yet: give the piece a name, such as Left side panel."]
    plan.keys("Shell")
    assert form.name.fault.isHidden()
    plan.keys(ENTER)
    assert focus() == "piece-known-marked"
    assert plan.state.pieces == {}


def test_what_was_half_typed_is_there_after_coming_back(plan: Plan) -> None:
    plan.ask("piece")
    plan.keys("Tank", ESC)
    assert plan.left == 1
    plan.ask("piece")
    assert plan.line("piece-name").text() == "Tank"
    plan.keys(TAB, "steel", TAB, TAB, TAB, TAB, RIGHT, ENTER)
    assert plan.state.pieces["p1"].piece.name == "Tank"
    plan.ask("piece")
    assert plan.line("piece-name").text() == ""


def test_a_piece_is_changed(plan: Plan) -> None:
    plan.piece()
    plan.ask("edit")
    assert plan.page.piece.title.text() == "Change Panel"
    assert plan.page.piece.material.value == "abs"
    plan.type_in("piece-name", "Left panel")
    plan.click("piece-flex-flexible")
    plan.click("plan-piece-go")
    assert plan.left == 1
    assert plan.state.pieces["p1"].piece.name == "Left panel"
    assert plan.state.pieces["p1"].piece.flex is Flex.FLEXIBLE
    assert len([e for e in plan.session.writable().job.events if isinstance(e, ev.PieceChanged)]) == 1
    plan.session.undo()
    assert plan.state.pieces["p1"].piece.name == "Panel"
    plan.ask("edit")
    assert plan.line("piece-name").text() == "Panel"
    events = plan.events
    plan.click("plan-piece-go")
    assert plan.said[-1] == "Nothing was changed."
    assert plan.events == events


def test_without_a_piece_there_is_no_layer_to_ask_for(plan: Plan) -> None:
    for what in ("layer", "edit"):
        with pytest.raises(NotNow, match="Add a piece first"):
            plan.page.ask(what)
    plan.session.writable().read_only = "Somebody else has it."
    with pytest.raises(NotNow, match="Somebody else"):
        plan.page.ask("piece")


# --- layers ------------------------------------------------------------------------------------------


def test_a_layer_from_the_library_by_keyboard(plan: Plan) -> None:
    plan.session.library.keep(PROMOTER)
    plan.piece(flex=Flex.FLEXIBLE)
    plan.ask("layer")
    assert focus() == "layer-card-list"
    plan.keys(DOWN, TAB, TAB, TAB)
    assert focus() == "layer-coats"
    assert plan.line("layer-coats").text() == "2"
    assert plan.page.layer.activator.value == "flexible"
    plan.keys(UP, TAB, RIGHT, ENTER)
    assert plan.said == ["Two-part promoter added."]
    layer = plan.state.layers["l1"].plan
    assert (layer.card, layer.coats, layer.gun, layer.activator) == ("promoter-2k", 3, Gun.MINI, "flexible")
    assert plan.session.layer_id == "l1"
    plan.session.undo()
    assert plan.state.layers == {}
    assert plan.state.cards == {}


def test_where_no_activator_suits_it_says_so(plan: Plan) -> None:
    plan.session.library.keep(replace(PROMOTER, activators=PROMOTER.activators[:1]))
    plan.piece(flex=Flex.FLEXIBLE)
    plan.ask("layer")
    plan.keys(DOWN)
    form = plan.page.layer
    assert form.activator.value is None
    assert "No activator of this card is made for a flexible piece" in form.activator.hint.text()
    plan.click("layer-activator-rigid")
    assert "Rigid activator is for rigid parts" in form.warning.text()


def test_a_layer_goes_under_another_and_in_its_colour(plan: Plan) -> None:
    plan.piece(face=ev.Face.BEHIND_CLEAR)
    plan.layer("l1", COLOUR)
    plan.session.library.keep(CLEAR)
    plan.ask("layer")
    form = plan.page.layer
    assert form.behind.text() == "Painted behind clear: the first layer down is the one that shows."
    assert form.behind.isVisible()
    form.cards.list.setCurrentRow(1)
    form.place.list.setCurrentRow(1)
    plan.click("colour-turquoise")
    assert plan.line("layer-colour").text() == "#1d8a8c"
    plan.click("plan-layer-go")
    assert [x.plan.card for x in plan.state.pieces["p1"].layers] == ["clear-2k", "colour"]
    assert plan.state.layers["l2"].plan.colour == "#1d8a8c"


def test_what_is_wrong_with_a_layer_is_said_and_kept(plan: Plan) -> None:
    plan.piece()
    plan.layer("l1", COLOUR)
    plan.ask("layer")
    plan.type_in("layer-colour", "#12")
    plan.keys(ENTER)
    form = plan.page.layer
    assert form.cards.fault.text() == "Choose the product of this layer, or make a new card of it."
    assert focus() == "layer-card-list"
    assert "“#12” is no colour" in form.colour.field.fault.text()
    plan.keys(DOWN)
    plan.type_in("layer-coats", "many")
    plan.keys(ENTER)
    assert focus() == "layer-coats"
    assert "“many” is no number of coats" in form.coats.fault.text()
    assert plan.line("layer-colour").text() == "#12"
    assert len(plan.state.layers) == 1


def test_a_layer_is_changed(plan: Plan) -> None:
    plan.piece()
    plan.layer()
    plan.ask("layer")
    plan.click("layer-which-l1")
    form = plan.page.layer
    assert form.title.text() == "Change Two-part promoter on Panel"
    assert plan.line("layer-coats").text() == "2"
    plan.click("layer-coats-more")
    plan.click("layer-activator-flexible")
    plan.click("layer-gun-full-size gun")
    plan.type_in("layer-name", "Tie coat")
    plan.type_in("layer-colour", "1f4e9e")
    plan.keys(ENTER)
    plan_of = plan.state.layers["l1"].plan
    assert plan_of == ev.Layer(
        id="l1", card="promoter-2k", coats=3, name="Tie coat", colour="#1f4e9e", gun=Gun.FULL, activator="flexible"
    )
    assert plan.said == ["Tie coat changed."]
    plan.session.undo()
    assert plan.state.layers["l1"].plan.coats == 2


def test_a_half_changed_layer_is_there_after_looking_at_another(plan: Plan) -> None:
    plan.piece()
    plan.layer()
    plan.ask("layer")
    plan.type_in("layer-name", "Half typed")
    plan.click("layer-which-l1")
    assert plan.line("layer-name").text() == ""
    plan.type_in("layer-coats", "7")
    plan.click("layer-which-new")
    assert plan.line("layer-name").text() == "Half typed"
    plan.click("layer-which-l1")
    assert plan.line("layer-coats").text() == "7"
    plan.keys(ENTER)
    assert plan.state.layers["l1"].plan.coats == 7
    plan.ask("layer")
    assert plan.line("layer-name").text() == "Half typed"


def test_a_layer_without_paint_is_taken_out_and_one_with_paint_offers_no_such_button(plan: Plan) -> None:
    plan.piece()
    plan.layer()
    plan.layer("l2", COLOUR)
    plan.session.apply(partial(ev.CoatStarted, layer="l1"))
    plan.ask("layer")
    assert not plan.page.layer.remove.isVisible()
    plan.click("layer-which-l1")
    assert not plan.page.layer.remove.isVisible()
    plan.click("layer-which-l2")
    plan.click("layer-remove")
    assert list(plan.state.layers) == ["l1"]
    assert plan.said == ["Base colour taken out. Undo brings it back."]
    plan.session.undo()
    assert list(plan.state.layers) == ["l1", "l2"]


def test_a_long_list_of_cards_is_narrowed_by_typing(plan: Plan) -> None:
    for i in range(8):
        plan.session.library.keep(replace(COLOUR, id=f"colour-{i}", name=f"Colour {i}"))
    plan.session.library.keep(CLEAR)
    plan.piece()
    plan.ask("layer")
    assert focus() == "layer-card-search"
    plan.keys("clear")
    assert plan.page.layer.cards.list.count() == 1
    assert plan.line("layer-coats").text() == "2"
    plan.keys(ENTER)
    assert plan.state.layers["l1"].plan.card == "clear-2k"


def test_a_broken_card_file_is_named_on_the_page(plan: Plan, tmp_path: Path) -> None:
    plan.session.library.keep(CLEAR)
    (tmp_path / "cards" / "half.json").write_text("{", encoding="utf-8")
    plan.piece()
    plan.ask("layer")
    assert plan.page.layer.broken.text().startswith("Not used from your library: half.json: ")
    assert plan.page.layer.cards.list.count() == 1


def test_the_page_goes_with_the_painter_to_another_piece(plan: Plan) -> None:
    plan.piece()
    plan.session.apply(partial(ev.PieceAdded, piece=replace(plan.state.pieces["p1"].piece, id="p2", name="Tank")))
    plan.session.pick("p1")
    plan.ask("layer")
    plan.session.pick("p2")
    assert plan.page.layer.title.text() == "New layer on Tank"
    plan.session.undo()
    plan.session.undo()
    assert plan.left == 1


# --- keys and names ----------------------------------------------------------------------------------


def test_the_letters_of_the_bench_are_dead_on_the_page(bench: SimpleNamespace) -> None:
    """With the focus on a button, S would else start a coat."""
    bench.session.pick("trim")
    bench.window.do("layer")
    page = bench.window.pages.plan
    assert bench.window.pages.currentWidget() is page
    events = len(bench.session.current.job.events)
    page.layer.gun.take_focus()
    for key in (Qt.Key.Key_S, Qt.Key.Key_D, Qt.Key.Key_U, Qt.Key.Key_1, Qt.Key.Key_Down):
        bench.bot.keyClick(QApplication.focusWidget(), key)
    assert len(bench.session.current.job.events) == events
    assert bench.window.pages.currentWidget() is page
    page.layer.new_card.click()
    bench.bot.keyClick(QApplication.focusWidget(), ESC)
    assert page.pages.currentWidget() is page.layer
    bench.bot.keyClick(QApplication.focusWidget(), ESC)
    assert bench.window.pages.currentWidget() is bench.window.bench


def test_enter_on_a_button_does_what_the_button_says(plan: Plan) -> None:
    plan.ask("piece")
    plan.page.piece.back.setFocus()
    plan.keys(ENTER)
    assert plan.left == 1
    assert plan.said == []


def test_tab_goes_round_all_that_is_asked_and_every_stop_has_a_name(plan: Plan) -> None:
    plan.piece()
    plan.layer()
    for what, page, opens in (
        ("piece", plan.page.piece, ""),
        ("layer", plan.page.layer, ""),
        ("layer", plan.page.card, "layer-new-card"),
    ):
        plan.ask(what)
        if opens:
            plan.click(opens)
        stops = list(page._stops())
        seen = []
        for _ in stops:
            seen.append(focus())
            assert QApplication.focusWidget().accessibleName(), focus()
            plan.keys(TAB)
        assert sorted(seen) == sorted(s.objectName() for s in stops)
        for widget in page.findChildren(QWidget):
            if widget.isVisible() and widget.focusPolicy() & Qt.FocusPolicy.TabFocus:
                assert widget.accessibleName(), widget.objectName()


@pytest.mark.parametrize("size", [(853, 330), (1280, 560), (1920, 900)])
def test_nothing_is_cut_off_at_any_size(plan: Plan, size: tuple[int, int]) -> None:
    plan.piece()
    plan.layer()
    plan.look.fit(size[0], size[1] + 150)
    plan.pages.resize(*size)
    for what, page, opens in (
        ("piece", plan.page.piece, ""),
        ("layer", plan.page.layer, ""),
        ("layer", plan.page.card, "layer-new-card"),
    ):
        plan.ask(what)
        if opens:
            plan.click(opens)
            plan.click("card-kind-other")
            plan.click("card-parts-two")
        QApplication.processEvents()
        assert page.width() == size[0]
        for widget in page.findChildren(QWidget):
            inside = page.body.isAncestorOf(widget) and widget.isVisible() and widget.focusPolicy()
            if not inside:
                continue
            right = widget.mapTo(page.area.viewport(), widget.rect().topRight()).x()
            assert right <= page.area.viewport().width(), widget.objectName()
            if isinstance(widget, BenchButton):
                assert widget.width() >= widget.sizeHint().width(), widget.text()
            if widget.objectName().startswith(("piece-", "layer-", "card-")) and not widget.objectName().endswith(
                "list"
            ):
                assert widget.height() >= 48, widget.objectName()


@pytest.mark.parametrize(("width", "rows"), [(900, 1), (360, 2), (150, len(Duty))])
def test_a_choice_wraps_before_its_words_are_cut(plan: Plan, width: int, rows: int) -> None:
    duty = Options(plan.look, "In the stack it is the", "duty")
    plan.bot.addWidget(duty)
    duty.setMinimumSize(10, 10)
    duty.offer([(d.value, d.value.capitalize()) for d in Duty])
    duty.resize(width, 400)
    duty.show()
    plan.bot.waitExposed(duty)
    QApplication.processEvents()
    buttons = duty.buttons.values()
    assert len({b.y() for b in buttons}) == rows
    assert all(b.width() >= b.sizeHint().width() for b in buttons)


# --- area and colour note ----------------------------------------------------------------------------


def test_the_area_of_a_piece_is_typed_and_told_and_what_is_none_is_kept_and_said(plan: Plan) -> None:
    plan.ask("piece")
    form = plan.page.piece
    plan.keys("Panel", TAB, "polycarb")
    form.flex.choose("rigid")
    form.known.choose("told")
    form.surface.edit.setText("as a door")
    plan.keys(ENTER)
    assert focus() == "piece-area"
    assert form.surface.fault.text()
    assert form.surface.text() == "as a door"
    form.surface.edit.setText("16 sq ft")
    assert form.surface.told.text() == "1.49 m²"
    plan.keys(ENTER)
    assert plan.state.pieces["p1"].piece.area_m2 == pytest.approx(16 * 0.3048**2)


def test_a_colour_note_is_typed_with_a_layer_and_shown_when_it_is_changed(plan: Plan) -> None:
    plan.piece()
    plan.session.library.keep(COLOUR)
    plan.ask("layer")
    form = plan.page.layer
    form.cards.list.step(1)
    form.note.edit.setText("two drops of violet")
    plan.keys(ENTER)
    layer = next(iter(plan.state.layers.values()))
    assert layer.plan.note == "two drops of violet"
    plan.ask("layer")
    form.which.buttons[layer.id].click()
    assert form.note.text() == "two drops of violet"
