"""The mix pane with the painter's own tools, scale, cups and cans: what stands large, and what Enter logs."""

from functools import partial
from types import SimpleNamespace

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication

from benchtool.job import events as ev
from benchtool.job.lots import Lot
from benchtool.session import acts
from benchtool.trade.measuring import Tool, ToolKind
from benchtool.trade.vessel import Cup

KITCHEN = Tool(name="kitchen scale", kind=ToolKind.SCALE, step=0.1, capacity=500)
FINE = Tool(name="pocket scale", kind=ToolKind.SCALE, step=0.01, capacity=200)


def click(bench: SimpleNamespace, name: str) -> None:
    QApplication.processEvents()  # a button made just now is shown with the next event
    [button] = [b for b in bench.window.findChildren(QAbstractButton, name) if b.isVisible()]
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


def enter(bench: SimpleNamespace, text: str) -> None:
    edit = bench.window.mix.field.edit
    edit.setFocus()
    edit.selectAll()
    bench.bot.keyClicks(edit, text)
    bench.bot.keyClick(edit, Qt.Key.Key_Return)


def own(bench: SimpleNamespace, **changes: object) -> None:
    bench.session.shop.change(replace(bench.session.shop.shop, **changes))


def notes(bench: SimpleNamespace) -> str:
    return " ".join(n.text() for n in bench.window.mix.notes if n.isVisible())


@pytest.fixture
def trim(bench: SimpleNamespace) -> SimpleNamespace:
    """The flexible strip in hand, its flexible activator chosen; the cards have densities."""
    click(bench, "piece-trim")
    click(bench, "activator-flexible")
    return bench


def in_cup(bench: SimpleNamespace) -> dict[str, float]:
    return dict(bench.session.current.state.mix_for(bench.session.layer).poured_mL)


def test_the_button_of_an_activator_that_does_not_suit_says_what_it_is_for(trim: SimpleNamespace) -> None:
    names = ("activator-rigid", "activator-flexible")
    said = [b.accessibleName() for n in names for b in trim.window.mix.findChildren(QAbstractButton, n)]
    assert said == ["Rigid activator, for rigid parts", "Flexible activator"]


def test_the_plan_says_with_what_each_part_is_measured(trim: SimpleNamespace) -> None:
    edit = trim.window.mix.field.edit
    edit.setFocus()
    edit.selectAll()
    trim.bot.keyClicks(edit, "12 mL")
    rows = trim.window.mix._rows
    assert "1 mL syringe" in rows["Flexible activator"].how
    assert rows["Flexible activator"].amount == "0.12 mL"
    assert "At worst" in notes(trim)


def test_enter_logs_what_the_marks_of_the_tool_give(trim: SimpleNamespace) -> None:
    enter(trim, "12 mL")
    pane = trim.window.mix
    assert "10 mL syringe" in pane.how.text()
    shown = pane.amount.text
    trim.bot.keyClick(pane.field.edit, Qt.Key.Key_Return)
    assert f"{in_cup(trim)['Base']:g} mL" == shown
    assert in_cup(trim)["Base"] == pytest.approx(round(in_cup(trim)["Base"] / 0.2) * 0.2)


def test_without_any_tool_the_exact_amount_stands_and_the_pane_says_what_to_do(trim: SimpleNamespace) -> None:
    own(trim, tools=())
    trim.window.refresh()
    assert notes(trim)
    enter(trim, "12 mL")
    assert trim.window.mix.amount.text == "5.88 mL"


def test_a_wrong_amount_greys_the_last_good_answer_and_calls_it_old(trim: SimpleNamespace) -> None:
    edit = trim.window.mix.field.edit
    edit.setFocus()
    edit.selectAll()
    trim.bot.keyClicks(edit, "12 mL")
    good = trim.window.mix._rows["Base"].amount
    edit.selectAll()
    trim.bot.keyClicks(edit, "twelve")
    row = trim.window.mix._rows["Base"]
    assert row.old
    assert row.amount == good
    assert "old" in notes(trim)
    trim.beat(seconds=1)
    assert trim.window.mix.field.fault.text().endswith(".")
    before = trim.session.current.job
    trim.bot.keyClick(edit, Qt.Key.Key_Return)
    assert trim.session.current.job is before
    edit.selectAll()
    trim.bot.keyClicks(edit, "14 mL")
    assert not trim.window.mix._rows["Base"].old
    assert not trim.window.mix.field.fault.text()


def test_on_the_scale_the_reading_adds_up_and_a_bare_number_is_what_it_shows(trim: SimpleNamespace) -> None:
    own(trim, tools=(*trim.session.shop.shop.tools, FINE))
    trim.window.refresh()
    trim.bot.keyClick(trim.window.bench, Qt.Key.Key_W)
    assert trim.session.shop.shop.by_weight
    enter(trim, "12 mL")
    pane, layer = trim.window.mix, trim.session.layer
    density = {p.name: p.density_g_mL for p in trim.session.current.state.mix_for(layer).parts}
    assert pane.amount.text == f"{5.88235 * density['Base']:.2f} g"
    enter(trim, "5.5")
    assert in_cup(trim)["Base"] == pytest.approx(5.5 / density["Base"])
    wanted = 5.5 + 0.02 * 5.5 / density["Base"] * density["Flexible activator"]
    assert pane.amount.text == f"{wanted:.2f} g"
    trim.bot.keyClick(pane.field.edit, Qt.Key.Key_Return)
    shown = sum(density[name] * mL for name, mL in in_cup(trim).items())
    assert shown == pytest.approx(round(wanted, 2))


def test_the_scale_never_shows_less_than_before(trim: SimpleNamespace) -> None:
    own(trim, tools=(FINE,), by_weight=True)
    trim.window.refresh()
    enter(trim, "12 mL")
    enter(trim, "5.5 g")
    enter(trim, "5.4")
    assert "showed 5.5 g" in trim.window.mix.field.fault.text()
    assert set(in_cup(trim)) == {"Base"}
    enter(trim, "0.12 mL")  # a volume is one on the scale too
    assert in_cup(trim)["Flexible activator"] == pytest.approx(0.12)


def test_a_scale_too_coarse_for_the_dose_is_named_with_the_batch_that_it_can_weigh(trim: SimpleNamespace) -> None:
    own(trim, tools=(KITCHEN,), by_weight=True)
    edit = trim.window.mix.field.edit
    edit.setFocus()
    edit.selectAll()
    trim.bot.keyClicks(edit, "12 mL")
    assert "kitchen scale" in notes(trim)
    assert "or more" in notes(trim)


def test_a_missing_density_names_the_card_value_to_fill_in(trim: SimpleNamespace) -> None:
    own(trim, tools=(FINE,), by_weight=True)
    state, layer = trim.session.current.state, trim.session.layer
    from benchtool.session.planning import copy_card

    trim.session.apply(copy_card(replace(state.card_of(layer), density_g_mL=None)))
    assert "density" in notes(trim)
    assert "Base" in notes(trim)


def test_without_a_scale_w_says_where_to_add_one(trim: SimpleNamespace) -> None:
    trim.bot.keyClick(trim.window.bench, Qt.Key.Key_W)
    assert not trim.session.shop.shop.by_weight
    assert "no scale" in trim.window.status.said.text()


def test_drops_of_an_uncounted_dropper_are_called_a_guess(trim: SimpleNamespace) -> None:
    enter(trim, "12 mL")
    enter(trim, "6 mL")
    enter(trim, "2 drops")
    assert in_cup(trim)["Flexible activator"] == pytest.approx(0.1)  # 20 to the mL: USP <1101>, of water
    assert "guess" in trim.window.status.said.text()


def test_the_cup_is_drawn_as_the_smallest_that_holds_the_mix_with_its_dipstick(trim: SimpleNamespace) -> None:
    small = Cup(name="small", height_mm=40, bottom_mm=25, top_mm=25)
    large = Cup(name="large", height_mm=80, bottom_mm=60, top_mm=70)
    own(trim, cups=(large, small))
    enter(trim, "12 mL")
    drawing = trim.window.mix.cup
    assert drawing.shape == small
    # Half of a straight cup of 25 mm: h = 4 V / (pi d^2), by hand
    assert "11.8 mm" in drawing.accessibleDescription() or "12 mm" in drawing.accessibleDescription()
    enter(trim, "40 mL")
    assert drawing.shape == large


def test_an_overpour_that_the_cup_can_not_hold_says_so_and_how_to_start_afresh(trim: SimpleNamespace) -> None:
    own(trim, cups=(Cup(name="little", height_mm=30, bottom_mm=28, top_mm=28),))  # 18.5 mL to the brim
    trim.window.refresh()
    enter(trim, "12 mL")
    enter(trim, "6 mL")
    enter(trim, "1 mL")
    assert "can't be mended" in notes(trim)
    assert "Afresh" in notes(trim)


def test_a_can_in_hand_is_drawn_down_and_an_undo_puts_it_back(trim: SimpleNamespace) -> None:
    session = trim.session
    session.current.job = replace(session.current.job, demo=False)  # a demo draws nothing from the shop
    card = session.layer.plan.card
    lot = Lot(id="can-1", card=card, part="Base", full_mL=500, number="A 12", price=25.0)
    session.shop.save_lot(lot)
    enter(trim, "12 mL")
    trim.bot.keyClick(trim.window.bench, Qt.Key.Key_K)
    trim.window.bench.setFocus()
    trim.window.do("can")
    assert "A 12" in trim.window.doing.pick._buttons[0].text()
    trim.window.doing.pick.answer(1)
    trim.window.refresh()
    assert "lot A 12" in notes(trim)
    enter(trim, "6 mL")
    assert session.shop.left_mL("can-1") == pytest.approx(494)
    trim.window.do("undo")
    assert session.shop.left_mL("can-1") == pytest.approx(500)


def test_a_can_chosen_after_the_pour_counts_for_it(trim: SimpleNamespace) -> None:
    session = trim.session
    session.current.job = replace(session.current.job, demo=False)
    taken = tuple(e.id for e in session.current.job.events if isinstance(e, ev.LotTaken))
    session.apply(partial(ev.Withdrawn, events=taken))
    enter(trim, "12 mL")
    enter(trim, "6 mL")
    for number in ("A 12", "A 13"):
        can = Lot(id=number.replace(" ", "-"), card=session.layer.plan.card, part="Base", full_mL=500, number=number)
        session.shop.save_lot(can)
    mix = trim.window.mix
    mix._ask_for("Base")
    trim.window.bench.setFocus()
    trim.window.do("can")
    trim.window.doing.pick.answer(1)
    assert "is in hand, and counts for the 6 mL poured." in trim.window.status.said.text()
    assert session.shop.left_mL("A-12") == pytest.approx(494)
    trim.window.do("undo")
    assert session.shop.left_mL("A-12") == pytest.approx(500)


def test_a_can_that_holds_too_little_says_so(trim: SimpleNamespace) -> None:
    session = trim.session
    lot = Lot(id="can-1", card=session.layer.plan.card, part="Base", full_mL=2, number="A 12")
    session.shop.save_lot(lot)
    session.apply(acts.take_lot(session, lot))
    enter(trim, "12 mL")
    assert "not enough" in notes(trim)


def test_what_is_left_over_is_typed_before_the_cup_is_emptied(trim: SimpleNamespace) -> None:
    enter(trim, "12 mL")
    enter(trim, "6 mL")
    edit = trim.window.mix.field.edit
    trim.bot.keyClicks(edit, "9 mL")
    trim.window.do("empty")
    assert trim.session.current.state.mix_for(trim.session.layer) is not None
    assert "more than went into" in trim.window.mix.field.fault.text()
    edit.selectAll()
    trim.bot.keyClicks(edit, "2 mL")
    trim.window.do("empty")
    assert trim.session.current.state.mix_for(trim.session.layer) is None
    emptied = [m for m in trim.session.current.state.mixes.values() if m.emptied_at is not None]
    assert emptied[-1].left_mL == pytest.approx(2)


# --- what a new user stumbled over -----------------------------------------------------------------------


def test_the_rest_follows_a_base_that_was_stopped_short(trim: SimpleNamespace) -> None:
    enter(trim, "30 mL")
    enter(trim, "5 mL")
    rows = trim.window.mix._rows
    assert rows["Promoter reducer"].amount == "5.1 mL"  # 1:1 with 5 mL and its 2 %, by hand
    assert "Less base than asked" in notes(trim)


def test_the_line_to_pour_to_is_where_the_surface_will_stand(trim: SimpleNamespace) -> None:
    enter(trim, "12 mL")
    enter(trim, "6 mL")
    enter(trim, "0.3 mL")
    [(pour, level, _), *later] = trim.window.mix.cup._lines()
    assert pour.name == "Base"
    assert level == pytest.approx(15.3)  # 6 + 0.3 in the cup and 9 to add
    assert [round(x[1], 1) for x in later] == [30.6]


def test_the_cup_that_was_begun_stays_while_it_holds_the_mix(trim: SimpleNamespace) -> None:
    enter(trim, "12 mL")
    begun = trim.window.mix.cup.shape
    enter(trim, "6 mL")
    enter(trim, "0.3 mL")
    assert trim.window.mix.cup.shape == begun  # 30.6 mL fit into its 31 mL
    assert "larger cup" not in notes(trim)


def test_an_amount_typed_is_there_again_after_escape_another_piece_and_a_page(trim: SimpleNamespace) -> None:
    edit = trim.window.mix.field.edit
    edit.setFocus()
    edit.selectAll()
    trim.bot.keyClicks(edit, "14 mL")
    trim.bot.keyClick(edit, Qt.Key.Key_Escape)
    assert edit.text() == "14 mL"
    trim.session.pick("plaque")
    trim.session.pick("trim")
    assert edit.text() == "14 mL"
    trim.window.do("shop")
    trim.window.show_bench()
    assert edit.text() == "14 mL"


def test_undo_is_one_key_while_the_pour_field_is_empty(trim: SimpleNamespace) -> None:
    with trim.bot.waitActive(trim.window):
        trim.window.activateWindow()
    enter(trim, "12 mL")
    enter(trim, "6 mL")
    edit = trim.window.mix.field.edit
    edit.setFocus()
    trim.bot.keyClick(edit, Qt.Key.Key_U)
    assert edit.text() == ""
    assert in_cup(trim) == {}
    trim.bot.keyClicks(edit, "6u")
    assert edit.text() == "6u"


def test_an_alarm_moves_nothing_under_the_hand(trim: SimpleNamespace) -> None:
    QApplication.processEvents()
    before = trim.window.pages.geometry()
    for span in ({"seconds": 1}, {"minutes": 7}, {"seconds": 30}):
        trim.beat(**span)
    QApplication.processEvents()
    assert trim.window.doing.alarm.isVisible()
    assert trim.window.pages.geometry() == before


def test_a_cup_in_hand_that_is_too_small_is_named(trim: SimpleNamespace) -> None:
    own(trim, cups=(Cup(name="thimble", height_mm=20, bottom_mm=20, top_mm=20), *trim.session.shop.shop.cups),
        cup="thimble")  # fmt: skip
    trim.window.refresh()
    assert "thimble holds 6.28 mL" in notes(trim)
