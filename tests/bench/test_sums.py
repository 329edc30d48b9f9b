"""The page of sums in the real window: typed on real keys, the answers follow, and bad input makes them old."""

from types import SimpleNamespace
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLineEdit

from benchtool.bench.sums import SumsPage
from benchtool.bench.sumsparts import Group
from benchtool.session import sums, sumsjob
from benchtool.session.session import Session
from benchtool.session.shop import ShopNotKept
from benchtool.trade.units import volume_words

TAB, ENTER, ESC = Qt.Key.Key_Tab, Qt.Key.Key_Return, Qt.Key.Key_Escape
CTRL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def page(bench: SimpleNamespace) -> SumsPage:
    """The page as key C opens it, for the first coat of a layer whose cup is not begun."""
    session: Session = bench.session
    state = session.writable().state
    layer = next(x for x in state.layers.values() if x.plan.card == "clear-two-part" and not x.mixes)
    session.pick(layer.piece, layer.id)
    with bench.bot.waitActive(bench.window):  # a window that is not active has no shortcuts
        bench.window.activateWindow()
    bench.window.bench.setFocus()
    bench.bot.keyClick(bench.window.bench, Qt.Key.Key_C)
    made = bench.window.pages.sums
    assert bench.window.pages.currentWidget() is made
    assert isinstance(made, SumsPage)
    return made


def keys(bench: SimpleNamespace, *which: Any, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
    for key in which:
        here = QApplication.focusWidget()
        assert here is not None
        (bench.bot.keyClicks if isinstance(key, str) else bench.bot.keyClick)(here, key, modifier)


def type_in(bench: SimpleNamespace, page: SumsPage, key: str, text: str) -> None:
    page.fields[key].take_focus()
    keys(bench, Qt.Key.Key_Delete, *([text] if text else []))
    assert page.fields[key].text() == text


def focus() -> str:
    here = QApplication.focusWidget()
    assert isinstance(here, QLineEdit)
    return here.objectName()


def old(group: Group) -> bool:
    return group.answer.is_old and group.answer.label.text().endswith("(old)")


def test_the_amount_follows_each_key(bench: SimpleNamespace, page: SumsPage) -> None:
    assert focus() == "sums-first"
    assert page.mixing.answer.figure.isHidden()
    assert page.mixing.answer.more.text() == "Type the length and width."
    assert not page.go.isEnabled()
    keys(bench, "30 cm", TAB, "20")
    first = page.mixing.answer.figure.text
    keys(bench, "0")
    sheet = sums.how_much(page.session.measures, page.typed())
    assert sheet.area_m2 == pytest.approx(0.06)
    assert page.mixing.answer.figure.text == volume_words(sheet.sized.ready_mL) != first
    assert page.mixing.answer.figure.tone == "accent"
    assert sheet.gauge[1:] in page.mixing.answer.more.text()
    assert page.go.text() == f"Mix this much: {volume_words(sheet.sized.ready_mL)}"


def test_what_is_wrong_is_said_at_the_field_and_the_answer_is_old(bench: SimpleNamespace, page: SumsPage) -> None:
    keys(bench, "300", TAB, "200")
    good = page.mixing.answer.figure.text
    keys(bench, " kg")
    assert old(page.mixing)
    assert page.mixing.answer.figure.text == volume_words(
        sums.how_much(page.session.measures, {**page.typed(), "second": "200"}).sized.ready_mL
    )
    assert page.mixing.answer.figure.text == good
    assert page.mixing.answer.figure.tone == "quiet"
    assert "not a length" in page.fields["second"].fault.text()
    assert page.mixing.shape.fault.isVisible()
    assert not page.go.isEnabled()
    asked: list[str] = []
    page.make_asked.connect(asked.append)
    keys(bench, ENTER, modifier=CTRL)
    assert asked == []
    type_in(bench, page, "second", "250")
    assert not page.mixing.answer.is_old
    assert page.fields["second"].fault.text() == ""
    assert page.mixing.shape.fault.isHidden()
    type_in(bench, page, "solids", "0")
    assert old(page.mixing)
    type_in(bench, page, "solids", "")
    assert old(page.mixing)
    assert page.fields["solids"].fault.text() == ""
    assert page.mixing.note.text() == "Type the volume solids."


def test_a_fault_in_one_group_leaves_the_others(bench: SimpleNamespace, page: SumsPage) -> None:
    keys(bench, "300", TAB, "200")
    type_in(bench, page, "rate", "12")
    type_in(bench, page, "seconds", "41")
    largest, flow = page.life.answer.figure.text, page.flow.answer.figure.text
    assert largest
    assert flow.endswith("mm²/s")
    type_in(bench, page, "pot_life", "4")
    assert old(page.life)
    assert page.life.answer.figure.text == largest
    assert "4 min, 4 h or 4 d" in page.fields["pot_life"].fault.text()
    type_in(bench, page, "seconds", "nothing")
    assert old(page.flow)
    assert page.flow.answer.figure.text == flow
    type_in(bench, page, "limit", "420 mL")
    assert old(page.voc)
    assert not old(page.mixing)


def test_each_form_asks_for_its_own_sizes(bench: SimpleNamespace, page: SumsPage) -> None:
    shown = {}
    for form, button in page.mixing.form.buttons.items():
        bench.bot.mouseClick(button, Qt.MouseButton.LeftButton)
        shown[form] = [k for k in ("first", "second", "ends", "area") if page.fields[k].isVisible()]
    assert shown == {form.value: list(fields) for form, fields in sums.FORM_FIELDS.items()}
    type_in(bench, page, "area", "16 sq ft")
    assert page.fields["area"].told.text() == "1.49 m²"
    assert sums.how_much(page.session.measures, page.typed()).area_m2 == pytest.approx(1.486, abs=1e-3)
    assert page.mixing.answer.figure.text


def test_mix_this_much_goes_into_the_field_of_the_cup(bench: SimpleNamespace, page: SumsPage) -> None:
    asked: list[str] = []
    page.make_asked.connect(asked.append)
    keys(bench, "300", TAB, "200", ENTER)
    assert asked == []
    assert focus() == "sums-coats"
    keys(bench, ENTER, modifier=CTRL)
    ready = sums.how_much(page.session.measures, page.typed()).sized.ready_mL
    assert asked == [volume_words(ready)]
    assert bench.window.pages.currentWidget() is bench.window.bench
    assert bench.window.mix.field.text() == asked[0]


def test_letters_are_typed_and_do_nothing_else(bench: SimpleNamespace, page: SumsPage) -> None:
    before = len(bench.session.writable().job.events)
    type_in(bench, page, "cup", "ford 4 esduxc")
    assert bench.window.pages.currentWidget() is page
    assert len(bench.session.writable().job.events) == before
    assert page.fields["cup"].fault.text()
    keys(bench, ESC)
    assert bench.window.pages.currentWidget() is bench.window.bench


def test_an_amount_larger_than_its_pot_life_allows_is_split(bench: SimpleNamespace, page: SumsPage) -> None:
    assert "O)" in page.life.answer.more.text()
    type_in(bench, page, "rate", "10")
    type_in(bench, page, "amount", "5 L")
    assert "goes into 3 cups. Begun now:" in page.life.answer.more.text()
    assert "Cup 3:" in page.life.answer.more.text()
    now = f"{bench.clock.now().astimezone():%H:%M}"
    assert f"Activator goes in now ({now})" in page.life.answer.more.text()
    bench.clock.go(minutes=7)
    page.refresh(bench.clock.now())
    assert now not in page.life.answer.more.text().split("spray")[0]
    assert "Isocyanates" in page.life.caution.text()
    assert page.life.caution.isVisible()


def test_the_limit_is_kept_in_the_shop_once_it_is_typed(bench: SimpleNamespace, page: SumsPage) -> None:
    keeper = bench.session.shop
    type_in(bench, page, "limit", "42")
    assert keeper.shop.voc_limit_g_L is None
    assert "over by" in page.voc.answer.more.text()
    assert page.voc.answer.figure.tone == "trouble"
    keys(bench, "0", TAB)
    assert keeper.shop.voc_limit_g_L == 420
    type_in(bench, page, "limit", "x")
    keys(bench, TAB)
    assert keeper.shop.voc_limit_g_L == 420
    type_in(bench, page, "limit", "")
    keys(bench, ESC)
    assert keeper.shop.voc_limit_g_L is None


def test_a_limit_that_cannot_be_kept_is_said(
    bench: SimpleNamespace, page: SumsPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(_: Any) -> None:
        raise ShopNotKept("The disk is full.")

    said: list[str] = []
    page.said.connect(said.append)
    monkeypatch.setattr(bench.session.shop, "change", refuse)
    type_in(bench, page, "limit", "500")
    keys(bench, TAB)
    assert "The disk is full." in said
    monkeypatch.undo()


def test_what_was_typed_is_there_again_and_not_on_another_layer(bench: SimpleNamespace, page: SumsPage) -> None:
    keys(bench, "300", TAB, "200")
    type_in(bench, page, "dry", "33")
    keys(bench, ESC)
    bench.bot.keyClick(bench.window.bench, Qt.Key.Key_C)
    assert [page.fields[k].text() for k in ("first", "second", "dry")] == ["300", "200", "33"]
    assert page.mixing.answer.figure.text
    state = bench.session.writable().state
    other = next(x for x in state.layers.values() if x.piece != bench.session.piece.id)
    bench.session.pick(other.piece, other.id)
    card = state.card_of(other)
    assert [page.fields[k].text() for k in ("first", "second", "dry")] == ["", "", f"{card.film_um:g}"]
    assert page.mixing.answer.good is None
    assert not page.mixing.answer.is_old
    assert state.layer_name(other) in page.heading


def test_the_card_is_held_against_the_reading_and_missing_prices_are_said(
    bench: SimpleNamespace, page: SumsPage
) -> None:
    wanted = sumsjob.wanted_now(bench.session)
    assert wanted is not None
    assert wanted.words in page.flow.answer.more.text()
    type_in(bench, page, "seconds", "60")
    assert "too thick" in page.flow.answer.more.text()
    assert "A flow cup is true only" in page.flow.note.text()
    assert page.cost.answer.more.text() == "Once it is known how much to mix, its cost stands here."
    type_in(bench, page, "first", "300")
    type_in(bench, page, "second", "200")
    assert "As planned: Base" in page.cost.answer.more.text()  # the demo's cans have prices
    assert "Base was poured from no lot" in page.cost.answer.more.text()  # and its first primer came from none


@pytest.mark.parametrize(("width", "height"), [(853, 480), (1280, 720), (1920, 1080)])
def test_every_field_can_be_reached_and_nothing_is_wider_than_the_page(
    bench: SimpleNamespace, page: SumsPage, width: int, height: int
) -> None:
    bench.window.resize(width, height)
    QApplication.processEvents()
    page.take_focus()
    seen = [focus()]
    for _ in range(40):
        keys(bench, TAB)
        here = QApplication.focusWidget()
        assert here is not None
        if here.objectName() == seen[0]:
            break
        seen.append(here.objectName())
    asked = {f"sums-{k.replace('_', '-')}" for k in page.fields if k not in ("ends", "area")}
    assert asked <= set(seen)
    assert page.body.width() <= page.area.viewport().width() + 1
