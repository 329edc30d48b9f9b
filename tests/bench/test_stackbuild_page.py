"""The page on which a stack is built: by keyboard from nothing, by hand, and with what may go wrong."""

import dataclasses
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR, COLOUR, EPOXY, ETCH, METALLIC, POLYOLEFIN, PROMOTER, URETHANE
from msgspec.structs import replace
from planning_page import DOWN, ENTER, ESC, TAB, UP, focus
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtWidgets import QApplication, QLabel, QStackedWidget, QWidget

from benchtool.bench.controls import BenchButton
from benchtool.bench.look import Look
from benchtool.bench.stackbuild import StackBuildPage
from benchtool.bench.stackdraw import LayerBand
from benchtool.job import events as ev
from benchtool.session.library import CardLibrary
from benchtool.session.session import Session
from benchtool.session.tables import load_tables
from benchtool.session.tables_pairings import load_pairings
from benchtool.trade.quantities import Measures
from benchtool.trade.substrates import Flex

CTRL = Qt.KeyboardModifier.ControlModifier
STOCK = (CLEAR, COLOUR, EPOXY, ETCH, METALLIC, POLYOLEFIN, PROMOTER, URETHANE)
UGLY = "<b>Zinc-rich</b> “high-build” two-pack universal anti-corrosive primer surfacer, grey-green No. 17 €€€"


class Building:
    """The page on a new job with one piece, beside a library; leaving it turns to an empty page."""

    def __init__(self, bot: Any, clock: Any, folder: Path, *, stock: tuple[Any, ...] = STOCK) -> None:
        self.bot = bot
        tables = dataclasses.replace(load_tables(), pairings=load_pairings())
        self.session = Session(clock, tables, Measures(), CardLibrary(folder / "cards"))
        for card in stock:
            assert self.session.library is not None
            self.session.library.keep(card)
        self.session.create(folder / "job.json", "A job of my own")
        self.look = Look()
        self.page = StackBuildPage(self.look, self.session)
        self.pages, self.elsewhere = QStackedWidget(), QWidget()
        for widget in (self.elsewhere, self.page):
            self.pages.addWidget(widget)
        self.pages.setStyleSheet(self.look.style_sheet())
        bot.addWidget(self.pages)
        self.pages.setMinimumSize(320, 240)
        self.pages.resize(1280, 576)
        self.pages.show()
        self.pages.activateWindow()
        bot.waitActive(self.pages)
        QApplication.processEvents()
        self.left = 0
        self.said: list[str] = []
        self.asked: list[Any] = []
        self.page.left.connect(self._leave)
        self.page.said.connect(self.said.append)
        self.page.card_asked.connect(self.asked.append)

    def _leave(self) -> None:
        self.left += 1
        self.pages.setCurrentWidget(self.elsewhere)

    def piece(self, **fields: Any) -> None:
        """Bring in a piece and turn to its page."""
        made = ev.Piece(id="p1", name="Tank", substrate="aluminium", known=ev.Known.TOLD, flex=Flex.RIGID)
        self.session.apply(partial(ev.PieceAdded, piece=replace(made, **fields)))
        self.session.pick("p1")
        self.ask()

    def ask(self) -> None:
        """Turn to the page, as the window does."""
        assert self.session.piece is not None
        self.page.ask(self.session.piece)
        self.pages.setCurrentWidget(self.page)
        self.page.setFocus()

    def keys(self, *which: Qt.Key | str, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        """Press these keys, and type these texts, wherever the focus is."""
        for key in which:
            here = QApplication.focusWidget()
            assert here is not None
            if isinstance(key, str):
                self.bot.keyClicks(here, key, modifier)
            else:
                self.bot.keyClick(here, key, modifier)

    def click(self, name: str) -> None:
        """Click what has this name."""
        found = self.page.findChild(QWidget, name)
        assert isinstance(found, QWidget), name
        self.bot.mouseClick(found, Qt.MouseButton.LeftButton)

    @property
    def drawn(self) -> list[str]:
        """The names of the bands, from the top of the drawing down."""
        bands = sorted(self.page.view.bands, key=lambda b: b.y())
        return [b.facts.name for b in bands]

    @property
    def planned(self) -> list[str]:
        """The cards of the layers that the job has."""
        return [x.plan.card for x in self.session.writable().state.pieces["p1"].layers]

    @property
    def words(self) -> str:
        """All that is said beside the stack."""
        return "\n".join(w.text() for w in self.page.panel.findChildren(QLabel) if not w.isHidden())


@pytest.fixture
def building(qtbot: Any, clock: Any, tmp_path: Path) -> Iterator[Building]:
    made = Building(qtbot, clock, tmp_path)
    yield made
    made.session.close_all()


def test_four_layers_by_keyboard_alone(building: Building) -> None:
    building.piece()
    assert focus() == "build-card-search" or focus() == building.page.picker.list.search.edit.objectName()
    building.keys("two-part clear", ENTER, "base colour", ENTER, "metallic", ENTER, "epoxy", ENTER)
    assert building.drawn == ["Two-part clear", "Metallic base", "Base colour", "Epoxy primer"]
    assert building.planned == []
    building.keys(ENTER, modifier=CTRL)
    assert building.planned == ["epoxy", "colour", "metallic", "clear-2k"]
    assert building.said == ["4 layers put on Tank. One undo takes them all back."]
    assert building.left == 1
    layers = building.session.writable().state.layers
    assert [x.plan.activator for x in layers.values()] == ["epoxy-b", None, None, "slow"]
    building.session.undo()
    assert building.planned == []


def test_enter_on_the_button_puts_it_on_too(building: Building) -> None:
    building.piece()
    building.keys("metallic", ENTER)
    building.page.go.setFocus()
    building.keys(ENTER)
    assert building.planned == ["metallic"]


def test_a_layer_is_moved_coated_and_taken_out_without_the_mouse(building: Building) -> None:
    building.piece()
    building.keys("base colour", ENTER, "metallic", ENTER)
    assert building.drawn == ["Metallic base", "Base colour"]
    building.keys(DOWN, modifier=CTRL)
    assert building.drawn == ["Base colour", "Metallic base"]
    building.keys(UP, modifier=CTRL)
    building.keys(UP, modifier=CTRL)
    assert building.drawn == ["Metallic base", "Base colour"]
    building.keys("+", "+", "-")
    assert building.page.view.bands[1].facts.coats == 3
    building.page.view.take_focus(building.page.key)
    building.keys(DOWN)
    assert focus() == "build-layer-1"
    building.keys(Qt.Key.Key_Delete)
    assert building.drawn == ["Metallic base"]
    building.keys(Qt.Key.Key_Delete, Qt.Key.Key_Delete)
    assert building.drawn == []


def test_what_is_typed_stays_text(building: Building) -> None:
    building.piece()
    building.keys("metallic", ENTER, "a+b-")
    assert building.page.picker.list.search.text() == "a+b-"
    assert building.page.view.bands[0].facts.coats == 2
    building.keys(Qt.Key.Key_Home, Qt.Key.Key_Delete)
    assert building.page.picker.list.search.text() == "+b-"
    assert building.drawn == ["Metallic base"]
    assert "No card of yours" in building.page.picker.list.fault.text()


def test_behind_clear_is_drawn_from_the_viewer(building: Building) -> None:
    candy = replace(COLOUR, id="candy", name="Candy", traits=(*COLOUR.traits,))
    assert building.session.library is not None
    building.session.library.keep(candy)
    building.piece(substrate="pmma", face=ev.Face.BEHIND_CLEAR)
    building.keys("candy", ENTER, "metallic", ENTER)
    assert building.drawn == ["Candy", "Metallic base"]
    ground = building.page.view.ground
    assert ground.y() < min(b.y() for b in building.page.view.bands)
    building.keys(UP, modifier=CTRL)
    assert building.drawn == ["Metallic base", "Candy"]
    building.keys(ENTER, modifier=CTRL)
    assert building.planned == ["metallic", "candy"]


def test_what_would_help_is_one_click_away(building: Building) -> None:
    building.piece(substrate="pp")
    building.keys("metallic", ENTER)
    assert "It would help: a promoter under it all" in building.words
    assert "Stop: Tank is polypropylene" in building.words
    building.click("build-help-polyolefin")
    assert building.drawn == ["Metallic base", "Polyolefin promoter"]
    assert "Stop" not in building.words
    assert "It would help" not in building.words
    building.keys(ENTER, modifier=CTRL)
    assert building.planned == ["polyolefin", "metallic"]


def test_a_sound_stack_says_its_film_and_no_more(building: Building) -> None:
    building.piece()
    building.keys("base colour", ENTER)
    assert building.words == "How thick it gets is not known: none of these cards gives its film."


def test_the_worst_is_told_first_and_hides_no_button(building: Building) -> None:
    building.piece()
    building.keys("epoxy", ENTER, "etch", ENTER)
    building.keys(DOWN, modifier=CTRL)
    assert building.drawn == ["Epoxy primer", "Etch primer"]
    assert building.words.index("Stop: Epoxy primer over Etch primer") < building.words.index("Why:")
    assert building.page.view.bands[1].facts.mark == "Stop"
    assert building.page.go.isEnabled()
    assert "Offered, in the order they go on: Epoxy primer, Etch primer." in building.words
    building.keys(Qt.Key.Key_R, modifier=CTRL)
    assert building.drawn == ["Etch primer", "Epoxy primer"]


def test_an_empty_library_says_what_to_do(qtbot: Any, clock: Any, tmp_path: Path) -> None:
    building = Building(qtbot, clock, tmp_path, stock=())
    building.piece()
    assert "Ctrl+N" in building.page.picker.empty.text()
    assert building.page.picker.list.isHidden()
    building.keys("n")
    assert building.asked == [None]
    building.page.take_card(COLOUR)
    assert building.drawn == ["Base colour"]
    assert focus() == building.page.picker.list.search.edit.objectName()
    building.keys(ENTER, modifier=CTRL)
    assert building.planned == ["colour"]
    building.session.close_all()


def test_a_card_is_edited_from_here_and_comes_back(building: Building) -> None:
    building.piece()
    building.keys("metallic", ENTER, "metallic")
    building.click("build-edit-card")
    assert building.asked[0].card == METALLIC
    building.page.take_card(replace(METALLIC, name="Silver"))
    assert building.drawn == ["Silver"]
    building.keys(Qt.Key.Key_N, modifier=CTRL)
    assert building.asked[1] is None


def test_what_was_built_is_still_there_after_a_look_elsewhere(building: Building) -> None:
    building.piece()
    building.keys("metallic", ENTER, ESC)
    assert building.left == 1
    assert building.planned == []
    building.ask()
    assert building.drawn == ["Metallic base"]
    building.keys(ENTER, modifier=CTRL)
    building.ask()
    assert building.drawn == ["Metallic base"]
    building.keys(ENTER, modifier=CTRL)
    assert building.said[-1] == "Nothing was changed."
    assert building.planned == ["metallic"]


def test_paint_stays_where_it_is(building: Building) -> None:
    building.piece()
    building.keys("base colour", ENTER)
    building.keys(ENTER, modifier=CTRL)
    building.session.apply(partial(ev.CoatStarted, layer="l1", mix=None))
    building.ask()
    assert not building.page.tools.out.isEnabled()
    building.keys("epoxy", ENTER)
    building.keys(DOWN, modifier=CTRL)
    assert building.drawn == ["Epoxy primer", "Base colour"]
    assert building.page.view.bands[0].facts.kept


def test_the_job_may_change_meanwhile(building: Building) -> None:
    building.piece()
    building.keys("metallic", ENTER)
    state = building.session.writable().state.pieces["p1"].piece
    building.session.apply(partial(ev.PieceChanged, piece=replace(state, name="Mudguard")))
    assert "Mudguard" in building.page.title.text()
    assert building.drawn == ["Metallic base"]
    building.session.undo()
    building.session.undo()
    assert building.left == 1


def test_ugly_names_are_text_and_fit(building: Building) -> None:
    assert building.session.library is not None
    for i in range(8):
        building.session.library.keep(replace(COLOUR, id=f"u{i}", name=f"{i} {UGLY}"))
    building.piece(name=UGLY[:60])
    for i in range(8):
        building.keys(f"{i} <b>zinc", ENTER)
    building.pages.resize(1024, 520)
    QApplication.processEvents()
    assert len(building.drawn) == 8
    assert building.drawn[0].startswith("7 <b>Zinc")
    assert all(b.width() <= building.page.view.width() for b in building.page.view.bands)
    assert all(w.textFormat() is Qt.TextFormat.PlainText for w in building.page.findChildren(QLabel))


def test_every_target_is_big_enough_and_has_a_name(building: Building) -> None:
    building.piece(substrate="pp")
    building.keys("metallic", ENTER, "epoxy", ENTER)
    for button in (*building.page.findChildren(BenchButton), *building.page.findChildren(LayerBand)):
        if button.isVisible():
            assert button.height() >= 48, button.objectName()
            assert button.accessibleName()


def test_many_cards_are_listed_in_part_and_found_by_words(qtbot: Any, clock: Any, tmp_path: Path) -> None:
    many = tuple(replace(COLOUR, id=f"c{i}", name=f"Shade {i}") for i in range(260))
    building = Building(qtbot, clock, tmp_path, stock=(*many, EPOXY))
    building.piece()
    picker = building.page.picker
    assert picker.list.list.count() == 200
    assert picker.list.search.told.text() == "and 61 more"
    building.keys("shade 259", ENTER, "primer", TAB)
    assert building.drawn == ["Shade 259"]
    assert picker.list.list.count() == 1
    building.session.close_all()


def test_the_name_whose_words_fit_best_is_first(qtbot: Any, clock: Any, tmp_path: Path) -> None:
    names = ("Candy red over silver", "Redwood stain", "Shell red", "Bored brown", "Red oxide primer")
    stock = tuple(replace(COLOUR, id=f"c{i}", name=name) for i, name in enumerate(names))
    building = Building(qtbot, clock, tmp_path, stock=stock)
    building.piece()
    building.keys("red")
    rows = building.page.picker.list.list
    listed = [rows.item(i).text() for i in range(rows.count())]
    assert listed == ["Red oxide primer", "Shell red", "Candy red over silver", "Redwood stain", "Bored brown"]
    building.keys(Qt.Key.Key_Backspace, Qt.Key.Key_Backspace, Qt.Key.Key_Backspace, "shell r", ENTER)
    assert building.drawn == ["Shell red"]
    building.session.close_all()


def test_a_layer_gets_its_colour_by_name_or_swatch_and_its_note(building: Building) -> None:
    building.piece()
    building.keys("base colour", ENTER)
    building.page.view.take_focus(building.page.key)
    building.keys("c")
    building.keys("deep blue")
    assert building.page.view.bands[0].facts.color == "#143367"
    building.click("colour-red")
    assert building.page.tools.field.text() == "#b3201f"
    assert building.page.view.bands[0].facts.color == "#b3201f"
    building.page.tools.note.take_focus()
    building.keys("two drops of violet", ENTER)
    assert not building.page.tools.asking
    building.page.view.take_focus(building.page.key)
    building.keys("+")
    building.keys(ENTER, modifier=CTRL)
    plan = building.session.writable().state.layers["l1"].plan
    assert (plan.colour, plan.note) == ("#b3201f", "two drops of violet")


def test_a_layer_gets_its_colour_by_one_key(building: Building) -> None:
    building.piece()
    building.keys("base colour", ENTER)
    building.page.view.take_focus(building.page.key)
    building.keys("c")
    assert focus() == "build-colour-field"
    building.keys("#1f4e9", ENTER)
    assert "is no colour" in building.page.tools.field.fault.text()
    assert building.page.tools.asking
    building.keys(ENTER, modifier=CTRL)
    assert building.planned == []
    building.keys("e", ENTER)
    assert not building.page.tools.asking
    assert building.page.view.bands[0].facts.color == "#1f4e9e"
    assert focus() == "build-layer-1"
    building.click("build-colour")
    building.keys(ESC)
    assert building.left == 0
    assert focus() == "build-layer-1"
    building.keys(ENTER, modifier=CTRL)
    assert building.session.writable().state.layers["l1"].plan.colour == "#1f4e9e"
    building.ask()
    building.keys("base colour", ENTER)
    assert [b.facts.color for b in building.page.view.bands] == ["#1f4e9e", "#1f4e9e"]


@pytest.mark.parametrize(("width", "height"), [(1280, 576), (853, 337)])
def test_four_layers_are_seen_at_once_whatever_is_said(building: Building, width: int, height: int) -> None:
    building.piece(substrate="pp")
    for name in ("etch", "epoxy", "base colour", "metallic", "two-part clear", "urethane", "epoxy", "base colour"):
        building.keys(name, ENTER)
    building.pages.resize(width, height)
    QApplication.processEvents()
    assert building.page.view.height() >= 4 * building.look.target
    assert building.page.panel_area.height() >= 24
    assert building.page.view.nothing.minimumHeight() >= 48


@pytest.mark.parametrize(("width", "height"), [(1280, 576), (853, 337)])
def test_the_colours_lie_beside_each_other_and_none_is_cut(building: Building, width: int, height: int) -> None:
    building.piece(substrate="pp")
    building.keys("base colour", ENTER)
    building.pages.resize(width, height)
    building.click("build-colour")
    QApplication.processEvents()
    tools = building.page.tools
    spots = [QRect(s.mapTo(tools, QPoint(0, 0)), s.size()) for s in tools.pick.swatches]
    field = QRect(tools.field.edit.mapTo(tools, QPoint(0, 0)), tools.field.edit.size())
    for i, spot in enumerate(spots):
        assert spot.height() >= 44
        assert tools.rect().contains(spot)
        assert not any(spot.intersects(other) for other in [field, *spots[:i]])
    assert field.height() >= 44


def test_the_coats_are_counted_in_words_that_are_no_other_button(building: Building) -> None:
    building.piece()
    building.keys("base colour", ENTER)
    tools = building.page.tools
    building.pages.resize(853, 337)
    QApplication.processEvents()
    assert (tools.fewer.text(), tools.more.text()) == ("1 coat less", "1 coat more")
    building.pages.resize(1280, 576)
    QApplication.processEvents()
    assert (tools.fewer.text(), tools.more.text()) == ("One coat fewer", "One coat more")
