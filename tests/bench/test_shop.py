"""The shop page in the real window, by real keys: what is typed is owned after, and nothing wrong is kept."""

from collections.abc import Iterator
from functools import partial
from types import SimpleNamespace
from typing import Any

import pytest
from msgspec.structs import replace
from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtWidgets import QAbstractButton, QApplication, QLineEdit, QWidget

from benchtool.bench.shop import ShopPage
from benchtool.bench.shopsheet import GroupSheet
from benchtool.job import events as ev
from benchtool.job.lots import Lot
from benchtool.session.owned import cup_for, scale_of
from benchtool.session.session import Session
from benchtool.session.shop import ShopKeeper
from benchtool.trade.measuring import USUAL_TOOLS, Tool, ToolKind
from benchtool.trade.units import VolumeUnit
from benchtool.trade.vessel import USUAL_CUPS, Cup

TAB, ENTER, ESC, DOWN, RIGHT = (
    Qt.Key.Key_Tab, Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_Down, Qt.Key.Key_Right,
)  # fmt: skip


class Shelf:
    """The page as key O opens it."""

    def __init__(self, bench: SimpleNamespace) -> None:
        self.bench, self.bot, self.window = bench, bench.bot, bench.window
        self.session: Session = bench.session
        with self.bot.waitActive(self.window):  # a window that is not active has no shortcuts
            self.window.activateWindow()
        self.open()

    def open(self) -> None:
        self.window.bench.setFocus()
        self.bot.keyClick(self.window.bench, Qt.Key.Key_O)
        assert self.window.pages.currentWidget() is self.page

    @property
    def page(self) -> ShopPage:
        page = self.window.pages.shop
        assert isinstance(page, ShopPage)
        return page

    @property
    def keeper(self) -> ShopKeeper:
        assert self.session.shop is not None
        return self.session.shop

    @property
    def sheet(self) -> GroupSheet:
        sheet = self.page.pages.currentWidget()
        assert isinstance(sheet, GroupSheet)
        return sheet

    @property
    def said(self) -> str:
        text: str = self.window.status.said.text()
        return text

    def keys(self, *which: Any) -> None:
        for key in which:
            here = QApplication.focusWidget()
            assert here is not None
            (self.bot.keyClicks if isinstance(key, str) else self.bot.keyClick)(here, key)
            QApplication.processEvents()

    def click(self, name: str) -> None:
        QApplication.processEvents()  # a choice just offered is shown with the next events
        found = [w for w in self.page.findChildren(QWidget, name) if w.isVisible()]
        assert len(found) == 1, (name, found)
        self.bot.mouseClick(found[0], Qt.MouseButton.LeftButton)
        QApplication.processEvents()

    def type_in(self, name: str, text: str) -> None:
        edit = self.page.findChild(QLineEdit, name)
        assert edit is not None, name
        assert edit.isVisible(), name
        edit.setFocus()
        edit.selectAll()
        self.bot.keyClick(edit, Qt.Key.Key_Delete)
        self.bot.keyClicks(edit, text)

    def fault(self, key: str) -> str:
        ask: Any = self.sheet.asks[key]
        text: str = ask.fault.text()
        return text


@pytest.fixture
def shelf(bench: SimpleNamespace) -> Iterator[Shelf]:
    return Shelf(bench)


def focus() -> str:
    here = QApplication.focusWidget()
    return here.objectName() if here is not None else ""


# --- tools -------------------------------------------------------------------------------------------


def test_a_scale_is_added_by_keys_alone(shelf: Shelf) -> None:
    assert focus() == "shop-tools-picks-list"
    shelf.keys(TAB)
    assert focus() == "tool-kind-syringe"
    shelf.keys(*[RIGHT] * 5)
    assert shelf.page.tools.kind.value == "scale"
    shelf.keys(TAB, "0.1", TAB, "500", ENTER)
    assert shelf.keeper.shop.tools == (
        *USUAL_TOOLS, Tool(name="scale to 0.1 g", kind=ToolKind.SCALE, step=0.1, capacity=500),
    )  # fmt: skip
    assert scale_of(shelf.keeper.shop) is not None
    assert "Press W" in shelf.said
    shelf.keys(ESC)
    assert shelf.window.pages.currentWidget() is shelf.window.bench
    assert shelf.window.mix.scale.isEnabled()


def test_a_syringe_is_changed_and_its_name_with_it(shelf: Shelf) -> None:
    shelf.page.tools.picks.list.setFocus()
    shelf.keys(DOWN, DOWN)
    assert shelf.page.tools.key == "3 mL syringe"
    shelf.type_in("tool-step", "0.2")
    shelf.type_in("tool-name", "Luer 3 mL")
    shelf.keys(ENTER)
    tools = shelf.keeper.shop.tools
    assert tools[1] == Tool(name="Luer 3 mL", kind=ToolKind.SYRINGE, step=0.2, capacity=3)
    assert len(tools) == len(USUAL_TOOLS)
    assert shelf.page.tools.picks.value == "Luer 3 mL"
    shelf.keys(ENTER)
    assert shelf.said == "Nothing was changed."


def test_a_3_mL_syringe_is_added(shelf: Shelf) -> None:
    shelf.click("tool-kind-syringe")
    shelf.type_in("tool-step", "0.1")
    shelf.type_in("tool-capacity", "3 mL")
    shelf.keys(ENTER)
    assert "name" in shelf.fault("name")
    assert shelf.keeper.shop.tools == USUAL_TOOLS
    shelf.type_in("tool-name", "second syringe")
    shelf.keys(ENTER)
    assert shelf.keeper.shop.tools[-1] == replace_tool(USUAL_TOOLS[1], name="second syringe")


def replace_tool(tool: Tool, name: str) -> Tool:
    return Tool(name=name, kind=tool.kind, step=tool.step, capacity=tool.capacity)


@pytest.mark.parametrize(
    ("field", "key", "typed", "why"),
    [
        ("tool-capacity", "capacity", "0.05", "can't hold less than one step"),
        ("tool-step", "step", "0", "must be above zero"),
        ("tool-step", "step", "a bit", "does not start with a number"),
        ("tool-error", "error", "1 g", "weight"),
    ],
)
def test_what_no_tool_is_keeps_the_record(shelf: Shelf, field: str, key: str, typed: str, why: str) -> None:
    shelf.page.tools.open("3 mL syringe")
    shelf.type_in(field, typed)
    shelf.keys(ENTER)
    assert why in shelf.fault(key)
    assert shelf.said.startswith("Not yet: ")
    assert shelf.keeper.shop.tools == USUAL_TOOLS
    assert not (shelf.keeper.folder / "shop.json").exists()
    assert shelf.page.findChild(QLineEdit, field).text() == typed
    assert focus() == field


def test_a_dropper_is_counted(shelf: Shelf) -> None:
    shelf.page.tools.open("dropper")
    assert not shelf.page.tools.counting.isVisible()
    shelf.click("tool-counted-counted")
    shelf.type_in("tool-drops-ml", "0.9")
    shelf.keys(ENTER)
    dropper = shelf.keeper.shop.tools[-1]
    assert (dropper.step, dropper.calibrated) == (pytest.approx(0.045), True)
    shelf.click("tool-counted-guessed")
    shelf.keys(ENTER)
    assert (shelf.keeper.shop.tools[-1].step, shelf.keeper.shop.tools[-1].calibrated) == (0.05, False)


def test_what_is_removed_can_be_put_back_in_its_place(shelf: Shelf) -> None:
    shelf.page.tools.open("3 mL syringe")
    shelf.click("shop-tools-remove")
    assert [t.name for t in shelf.keeper.shop.tools] == [t.name for t in USUAL_TOOLS if t.name != "3 mL syringe"]
    assert "Put it back" in shelf.said
    shelf.keys(ENTER)
    assert shelf.keeper.shop.tools == USUAL_TOOLS
    assert not shelf.page.tools.put_back.isVisible()
    shelf.click("shop-tools-remove")
    shelf.click("shop-tools-usual")
    assert {t.name for t in shelf.keeper.shop.tools} == {t.name for t in USUAL_TOOLS}


def test_a_full_disk_is_said_and_what_is_typed_stays(shelf: Shelf, full_disk: Any) -> None:
    shelf.page.tools.open("3 mL syringe")
    shelf.type_in("tool-step", "0.2")
    with full_disk():
        shelf.keys(ENTER)
        assert "not kept" in shelf.said
        shelf.click("shop-tools-remove")
        assert "not kept" in shelf.said
    assert shelf.page.tools.step.text() == "0.2"
    assert shelf.keeper.shop.tools == USUAL_TOOLS
    shelf.page.tools.step.take_focus()
    shelf.keys(ENTER)
    assert shelf.keeper.shop.tools[1].step == 0.2


def test_what_is_half_typed_is_there_again(shelf: Shelf) -> None:
    shelf.page.tools.open("3 mL syringe")
    shelf.type_in("tool-step", "0.2")
    shelf.page.tools.open("1 mL syringe")
    assert shelf.page.tools.step.text() == "0.01 mL"
    shelf.keys(ESC)
    shelf.open()
    shelf.page.tools.open("3 mL syringe")
    assert shelf.page.tools.step.text() == "0.2"
    assert shelf.keeper.shop.tools == USUAL_TOOLS


def test_letters_are_typed_and_no_acts(shelf: Shelf) -> None:
    events = len(shelf.session.writable().job.events)
    shelf.type_in("tool-name", "suedmo")
    assert shelf.page.tools.tool_name.text() == "suedmo"
    shelf.page.tools.kind.take_focus()
    shelf.keys("sdeu")
    assert len(shelf.session.writable().job.events) == events
    assert shelf.window.pages.currentWidget() is shelf.page


# --- cups --------------------------------------------------------------------------------------------


def test_a_tapered_cup_is_added_and_taken_in_hand(shelf: Shelf) -> None:
    shelf.click("shop-tools-groups-cups")
    shelf.click("shop-cups-new")
    shelf.keys("My cup")
    shelf.click("cup-shape-tapered")
    shelf.type_in("cup-height", "6 cm")
    shelf.keys(TAB, "40", TAB, "50", ENTER)
    cup = Cup(name="My cup", height_mm=60, bottom_mm=40, top_mm=50)
    assert shelf.keeper.shop.cups == (*USUAL_CUPS, cup)
    assert shelf.keeper.shop.cup == ""
    shelf.click("cup-in-hand-this")
    assert shelf.keeper.shop.cup == "My cup"
    assert cup_for(shelf.keeper.shop, 1.0) == cup
    shelf.type_in("cup-name", "Our cup")
    shelf.keys(ENTER)
    assert shelf.keeper.shop.cup == "Our cup"
    shelf.click("cup-in-hand-smallest")
    assert shelf.keeper.shop.cup == ""
    assert "smallest" in shelf.said


def test_the_cup_in_hand_comes_back_in_hand(shelf: Shelf) -> None:
    shelf.keeper.change(replace(shelf.keeper.shop, cup=USUAL_CUPS[1].name))
    shelf.page.ask("cups")
    shelf.page.cups.open(USUAL_CUPS[1].name)
    shelf.click("shop-cups-remove")
    assert shelf.keeper.shop.cup == ""
    assert USUAL_CUPS[1] not in shelf.keeper.shop.cups
    shelf.keys(ENTER)
    assert shelf.keeper.shop.cups == USUAL_CUPS
    assert shelf.keeper.shop.cup == USUAL_CUPS[1].name


def test_marks_are_measured(shelf: Shelf) -> None:
    shelf.page.ask("cups")
    shelf.page.cups.open(USUAL_CUPS[0].name)
    shelf.click("cup-shape-marked")
    shelf.type_in("cup-marks", "10 mL 12 mm; 5 mL 22 mm")
    shelf.keys(ENTER)
    assert "Mark 2 does not rise" in shelf.fault("marks")
    assert shelf.keeper.shop.cups == USUAL_CUPS
    shelf.type_in("cup-marks", "10 mL 12 mm; 20 mL 22 mm")
    assert shelf.page.cups.words.text().startswith("Holds 20 mL by 2 marks")
    shelf.keys(ENTER)
    assert shelf.keeper.shop.cups[0].marks == ((10, 12), (20, 22))


def test_a_full_disk_leaves_the_cup_in_hand(shelf: Shelf, full_disk: Any) -> None:
    shelf.page.ask("cups")
    shelf.page.cups.open(USUAL_CUPS[0].name)
    with full_disk():
        shelf.click("cup-in-hand-this")
    assert "not kept" in shelf.said
    assert shelf.page.cups.in_hand.value == "smallest"
    assert shelf.keeper.shop.cup == ""


# --- cans --------------------------------------------------------------------------------------------


def a_can(shelf: Shelf, **fields: Any) -> Lot:
    card = shelf.session.writable().state.cards["clear-two-part"]
    lot = Lot(**{"id": "x", "card": card.id, "part": "Base", "number": "B 1", "full_mL": 1000.0, **fields})
    shelf.keeper.save_lot(lot)
    shelf.page.ask("lots")
    return lot


def test_a_can_is_added(shelf: Shelf) -> None:
    shelf.click("shop-tools-groups-lots")
    shelf.click("shop-lots-new")
    sheet = shelf.page.lots
    sheet.card.choose("clear-two-part")
    sheet.card.chosen.emit("clear-two-part")
    shelf.type_in("lot-full", "1 L")
    shelf.keys(ENTER)
    assert "which part" in shelf.fault("part")
    assert shelf.keeper.lots() == ()
    shelf.click("lot-part-Base")
    shelf.type_in("lot-number", "B 4471")
    shelf.type_in("lot-use-by", "3 months")
    shelf.type_in("lot-price", "48.50")
    shelf.keys(ENTER)
    (lot,) = shelf.keeper.lots()
    assert (lot.card, lot.part, lot.number, lot.full_mL, lot.price) == ("clear-two-part", "Base", "B 4471", 1000, 48.5)
    assert lot.best_before is not None
    assert f"{lot.best_before:%Y-%m-%d}" == "2026-06-14"
    assert lot.opened_on is None
    shelf.click("lot-today")
    assert shelf.keeper.lots()[0].opened_on is not None
    assert not shelf.page.lots.today.isVisible()


def test_a_can_is_used_for_this_job(shelf: Shelf) -> None:
    lot = a_can(shelf)
    shelf.page.lots.open("x")
    shelf.click("lot-use")
    assert shelf.session.writable().state.in_hand[lot.card, "Base"] == "x"
    assert not shelf.page.lots.use.isVisible()
    assert "in hand" in shelf.page.lots.rows()[0].detail


def test_what_is_left_is_counted_and_nothing_else_changes(shelf: Shelf) -> None:
    lot = a_can(shelf, low_mL=300.0)
    assert not shelf.page.lots.low.isVisible()
    shelf.page.lots.open("x")
    shelf.type_in("lot-left", "2 L")
    shelf.keys(ENTER)
    assert "more than it holds" in shelf.fault("left")
    assert shelf.keeper.lots() == (lot,)
    shelf.type_in("lot-left", "250 mL")
    shelf.keys(ENTER)
    assert shelf.keeper.left_mL("x") == 250
    assert shelf.keeper.lots() == (replace(lot, counted_mL=250.0, counted_on=shelf.session.now()),)
    assert shelf.page.lots.low.text().startswith("Running low: ")


def test_a_removed_can_comes_back_with_what_was_left(shelf: Shelf) -> None:
    lot = a_can(shelf)
    session = shelf.session
    session.create(shelf.keeper.folder / "own.json", "My own")  # a demo draws nothing
    card = session.documents[0].state.cards["clear-two-part"]
    piece = ev.Piece(id="p1", name="Tank", substrate="steel", known=ev.Known.TOLD, flex="rigid")
    session.apply(partial(ev.CardCopied, card=card), partial(ev.PieceAdded, piece=piece), partial(ev.LotTaken, lot=lot))
    parts = (ev.RecipePart(name="Base", kind="base", share="100"),)
    layer = ev.Layer(id="l1", card=card.id, coats=1)
    session.apply(
        partial(ev.LayerAdded, piece="p1", layer=layer),
        partial(
            ev.Mixed, mix="m1", layer="l1", card=card.id, gun="airbrush", make_mL=50.0, parts=parts, activator=None
        ),
        partial(ev.Poured, mix="m1", part="Base", mL=40.0, lot="x"),
    )
    assert shelf.keeper.left_mL("x") == 960
    shelf.page.ask("lots")
    shelf.page.lots.open("x")
    assert shelf.page.lots.left_now.text() == "960 mL"
    shelf.click("shop-lots-remove")
    assert shelf.keeper.lots() == ()
    shelf.keys(ENTER)
    assert shelf.keeper.left_mL("x") == 960
    assert shelf.page.lots.left_now.text() == "960 mL"


def test_a_half_typed_can_follows_what_is_poured(shelf: Shelf) -> None:
    lot = a_can(shelf)
    shelf.page.lots.open("x")
    shelf.type_in("lot-price", "50")
    shelf.keeper.count("x", 700.0, shelf.session.now())
    shelf.page.ask("lots")
    assert (shelf.page.lots.price.text(), shelf.page.lots.left_now.text()) == ("50", "700 mL")
    shelf.page.lots.price.take_focus()
    shelf.keys(ENTER)
    assert shelf.keeper.left_mL("x") == 700
    assert shelf.keeper.lots()[0].price == 50
    assert shelf.keeper.lots()[0].id == lot.id


def test_many_cans_are_narrowed(shelf: Shelf) -> None:
    for i in range(40):
        a_can(shelf, id=f"x{i}", number=f"A very long number on a very long can, number {i} of 40")
    sheet = shelf.page.lots
    assert len(sheet.rows()) == 40
    sheet.picks.search.take_focus()
    shelf.keys("number 17")
    assert [r.key for r in sheet.rows()] == ["x17"]
    assert sheet.picks.list.count() == 1
    shelf.keys(DOWN, ENTER)
    assert sheet.key == "x17"
    assert sheet.isAncestorOf(QApplication.focusWidget())
    assert len(shelf.keeper.lots()) == 40


def test_a_damaged_file_is_said_on_top_and_left_alone(shelf: Shelf) -> None:
    file = shelf.keeper.folder / "lots.json"
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text("{ torn")
    shelf.page.ask("lots")
    assert shelf.page.faults.isVisible()
    assert "lots" in shelf.page.faults.text()
    sheet = shelf.page.lots
    sheet.card.choose("clear-two-part")
    sheet.card.chosen.emit("clear-two-part")
    shelf.click("lot-part-Base")
    shelf.type_in("lot-full", "1 L")
    shelf.keys(ENTER)
    assert file.read_text() == "{ torn"
    assert sheet.full.text() == "1 L"
    assert shelf.said == shelf.page.faults.text()


# --- the usual figures -------------------------------------------------------------------------------


def test_usual_figures_are_kept_together_or_not_at_all(shelf: Shelf) -> None:
    before = shelf.keeper.shop
    shelf.click("shop-tools-groups-usual")
    shelf.click("usual-unit-US fl oz")
    shelf.type_in("usual-activator", "8")
    shelf.type_in("usual-transfer-mini-gun", "101")
    shelf.keys(ENTER)
    assert "up to 100" in shelf.fault("transfer-mini-gun")
    assert shelf.keeper.shop == before
    shelf.type_in("usual-transfer-mini-gun", "55")
    shelf.keys(ENTER)
    assert shelf.keeper.shop.unit is VolumeUnit.US_FL_OZ
    assert shelf.keeper.shop.tolerance_activator == pytest.approx(0.08)
    assert "US fl oz" in shelf.page.cups.rows()[0].detail


def test_weighing_needs_a_scale(shelf: Shelf) -> None:
    shelf.page.ask("usual")
    shelf.click("usual-weighed-weight")
    shelf.page.usual.activator.take_focus()
    shelf.keys(ENTER)
    assert "no scale yet" in shelf.fault("by_weight")
    assert not shelf.keeper.shop.by_weight


def test_nothing_is_a_window_of_its_own_for_a_moment(bench: SimpleNamespace) -> None:
    """A part shown before it has its place flashes on the screen and takes the focus off the window."""

    class Watch(QObject):
        def eventFilter(self, watched: QObject, event: QEvent) -> bool:
            if event.type() is QEvent.Type.Show and isinstance(watched, QWidget) and watched.isWindow():
                flashed.append(repr(watched))
            return False

    flashed: list[str] = []
    watch, app = Watch(), QApplication.instance()
    assert app is not None
    app.installEventFilter(watch)
    try:
        bench.window.do("shop")
        for group in ("cups", "lots", "usual"):
            bench.window.pages.shop.ask(group)
    finally:
        app.removeEventFilter(watch)
    assert flashed == []


# --- reach -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("group", ["tools", "cups", "lots", "usual"])
def test_tab_reaches_all_and_all_have_names(shelf: Shelf, group: str) -> None:
    a_can(shelf)
    shelf.page.ask(group)
    sheet = shelf.sheet
    reached: list[QWidget] = []
    for _ in range(60):
        here = QApplication.focusWidget()
        assert here is not None
        if here in reached:
            break
        reached.append(here)
        shelf.keys(TAB)
    else:
        pytest.fail("Tab never comes round")
    stops = [s for ask in sheet.asks.values() for s in ask.stops() if s.isVisibleTo(sheet) and s.isEnabled()]
    assert {s.objectName() for s in stops} <= {w.objectName() for w in reached}
    for widget in reached:
        assert widget.accessibleName(), widget.objectName()
    for button in sheet.findChildren(QAbstractButton):
        assert button.minimumHeight() >= 48


def test_the_arrows_go_through_the_groups(shelf: Shelf) -> None:
    shelf.page.tools.groups.take_focus()
    shelf.keys(RIGHT)
    assert shelf.sheet is shelf.page.cups
    shelf.keys(RIGHT, RIGHT)
    assert shelf.sheet is shelf.page.usual
    assert shelf.page.usual.groups.value == "usual"
    shelf.keys(RIGHT)
    assert shelf.sheet is shelf.page.hours
    shelf.keys(RIGHT)
    assert shelf.sheet is shelf.page.tools
