"""The stage on which a trial is set up, by real keys and by hand: nothing half done is lost, and one act writes it."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

import msgspec
import pytest
from PySide6.QtCore import QEvent, QObject, QPoint, Qt
from PySide6.QtGui import QKeyEvent, QTextDocument
from PySide6.QtWidgets import QApplication, QMainWindow, QWidget
from trial_setting import UGLY, session_of

from benchtool.bench.controls import BenchButton
from benchtool.bench.look import Look
from benchtool.bench.paneldraw import PanelDrawing, PanelStrip
from benchtool.bench.tips import plain_tip
from benchtool.bench.trialsetup import SetupStage
from benchtool.session import trialsetup as ts
from benchtool.session.trialdrafts import TrialDrafts
from benchtool.store.drafts import DraftFile

CTRL = Qt.KeyboardModifier.ControlModifier
ENTER, UP, DOWN, ESC, TAB = Qt.Key.Key_Return, Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Escape, Qt.Key.Key_Tab


class Setting:
    """The stage in a window of its own, on a job whose bumper has a stack."""

    def __init__(self, bot: Any, clock: Any, folder: Path, **kind: Any) -> None:
        self.bot = bot
        self.session = session_of(clock, folder, **kind)
        self.look = Look()
        self.stage = SetupStage(self.look, self.session)
        self.stage.chance = Random(4)
        self.window = QMainWindow()
        self.window.setStyleSheet(self.look.style_sheet())
        self.window.setCentralWidget(self.stage)
        bot.addWidget(self.window)
        self.window.setMinimumSize(320, 240)
        self.window.resize(1280, 570)
        self.window.show()
        self.window.activateWindow()
        bot.waitActive(self.window)
        self.said: list[str] = []
        self.asked: list[str] = []
        self.stage.said.connect(self.said.append)
        self.stage.stage_asked.connect(self.asked.append)
        self.ask()

    def ask(self, trial: str | None = None) -> None:
        """Come to the stage, as the page does."""
        self.stage.ask(trial)
        self.settle()

    def settle(self) -> None:
        for _ in range(3):
            QApplication.processEvents()

    def keys(self, *which: Qt.Key | str, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        """Press these keys, and type these texts, wherever the focus is."""
        for key in which:
            here = QApplication.focusWidget()
            assert here is not None
            if isinstance(key, str):
                self.bot.keyClicks(here, key, modifier)
            else:
                self.bot.keyClick(here, key, modifier)
            self.settle()

    def click(self, name: str) -> None:
        found = self.stage.findChild(QWidget, name)
        assert isinstance(found, QWidget), name
        assert found.isVisibleTo(self.stage), name
        self.bot.mouseClick(found, Qt.MouseButton.LeftButton)
        self.settle()

    def refresh(self) -> None:
        self.stage.refresh(self.session.now())
        self.settle()

    @property
    def setup(self) -> ts.Setup:
        assert self.stage.setup is not None
        return self.stage.setup

    @property
    def lines(self) -> list[tuple[str, str, bool]]:
        return [(r.facts.letter, r.facts.name, r.facts.control) for r in self.stage.systems.rows]

    @property
    def focused(self) -> str:
        here = QApplication.focusWidget()
        return here.objectName() if here is not None else ""

    @property
    def trials(self) -> list[Any]:
        return list(self.session.writable().state.trials.values())


@pytest.fixture
def at(qtbot: Any, clock: Any, tmp_path: Path) -> Iterator[Setting]:
    made = Setting(qtbot, clock, tmp_path)
    yield made
    made.session.close_all()


def test_it_opens_on_the_piece_s_stack_and_its_control_and_one_key_sets_it_up(at):
    assert at.lines == [("A", "Two-part promoter", False), ("B", "No promoter", True)]
    assert at.focused == "trial-system-1"
    assert at.stage.count.text() == "6 strips"
    assert "0.10" in at.stage.foot_words.text()
    at.keys(ENTER, modifier=CTRL)
    assert at.asked == ["run"]
    assert at.said == ["6 strips are set up. One undo takes them all back."]
    assert len(at.trials) == 1
    assert len(at.trials[0].plan.strips) == 6


def test_arrows_move_over_the_systems_and_keys_act_on_the_one_in_hand(at):
    at.keys(DOWN)
    assert at.focused == "trial-system-2"
    at.keys(UP, "d")
    assert [x[1] for x in at.lines] == ["Two-part promoter", "Two-part promoter 2", "No promoter"]
    assert at.focused == "trial-system-2"
    at.keys("c")
    assert [x[2] for x in at.lines] == [False, True, True]
    at.keys(DOWN, modifier=CTRL)
    assert [x[2] for x in at.lines] == [False, True, True]
    assert at.lines[-1][1] == "Two-part promoter 2"
    at.keys(Qt.Key.Key_Delete)
    assert len(at.lines) == 2
    assert at.focused == "trial-system-2"


def test_letters_of_the_stage_are_text_in_a_field(at):
    at.stage.about.name.take_focus()
    at.keys("Rcd dr7")
    assert at.setup.name == "Rcd dr7"
    assert len(at.lines) == 2
    assert not at.setup.randomised


def test_shuffling_is_a_key_and_the_panel_shows_the_places(at):
    at.keys("r")
    assert at.setup.randomised
    drawn = [(s.number, s.label) for s in at.stage.panel.strips]
    assert drawn == [(n, at.setup.letter(s.key)) for n, s in at.setup.numbered()]
    assert [label for _, label in drawn] != list("AAABBB")
    at.click("trial-in-order")
    assert [s.label for s in at.stage.panel.strips] == list("AAABBB")


def test_a_click_on_a_strip_takes_its_system_in_hand(at):
    spot = at.stage.panel.strip_rect("5").center().toPoint()
    at.bot.mouseClick(at.stage.panel, Qt.MouseButton.LeftButton, pos=spot)
    assert at.stage.key == "s2"
    assert [s.marked for s in at.stage.panel.strips] == [False] * 3 + [True] * 3
    at.bot.mouseClick(at.stage.panel, Qt.MouseButton.LeftButton, pos=QPoint(2, 2))
    assert at.stage.key == "s2"


def test_it_insists_on_a_control_with_the_reason(at):
    at.keys(DOWN, "c")
    assert at.stage.insist.isVisible()
    assert "nobody can say that a promoter did anything" in at.stage.why.text()
    at.keys(ENTER, modifier=CTRL)
    assert at.trials == []
    assert at.said == [ts.why_control()]
    assert at.focused == "trial-add-control"
    at.keys(ENTER)
    assert at.lines[1] == ("B", "No promoter", True)
    assert not at.stage.insist.isVisible()


def test_a_trial_without_a_control_takes_one_deliberate_act(at):
    at.keys(DOWN, "c")
    at.click("trial-no-control")
    assert not at.stage.insist.isVisible()
    at.keys(ENTER, modifier=CTRL)
    assert at.trials[0].controls == ()


def test_the_control_that_is_missing_is_made_of_the_stack(at):
    at.keys(DOWN, Qt.Key.Key_Delete, "d")
    assert at.stage.insist.isVisible()
    assert not any(c.control for c in at.setup.systems)
    at.click("trial-add-control")
    assert at.lines[-1] == ("C", "No promoter", True)


def test_systems_are_added_ready_made_by_one_click(at):
    at.click("trial-offer-1")
    assert at.lines[-1] == ("C", "One-part promoter", False)
    assert at.focused == "trial-system-3"


def test_a_system_is_built_by_typing_its_products(at):
    at.click("trial-offer-empty")
    assert at.stage.pages.currentWidget() is at.stage.editor
    at.keys("one-part", ENTER, "base", ENTER)
    assert [r.card.id for r in at.setup.systems[-1].rows] == ["promoter-1k", "colour"]
    at.stage.editor.name.take_focus()
    at.keys("Ours")
    at.keys(ENTER, modifier=CTRL)
    assert at.stage.pages.currentWidget() is at.stage.main
    assert at.lines[-1] == ("C", "Ours", False)
    assert at.focused == "trial-system-3"


def test_coats_activator_and_gun_are_chosen_in_the_editor(at):
    at.keys(ENTER)
    editor = at.stage.editor
    editor._pick("+1")
    editor.view.take_focus("+1")
    at.settle()
    at.keys("+")
    at.click("trial-system-activator-flexible")
    plan = at.setup.systems[0].rows[0].plan
    assert (plan.coats, plan.activator) == (3, "flexible")
    at.window.resize(1280, 700)
    at.settle()
    at.click("trial-system-gun-mini gun")
    assert at.setup.systems[0].rows[0].plan.gun.value == "mini gun"
    at.keys(ESC)
    assert at.stage.pages.currentWidget() is at.stage.main


def test_the_number_of_strips_and_the_tests_are_chosen_by_click(at):
    at.click("trial-replicates-4")
    assert at.stage.count.text() == "8 strips"
    assert "0.029" in at.stage.foot_words.text()
    at.click("trial-methods-ISO 2409")
    at.keys(ENTER, modifier=CTRL)
    assert [m.value for m in at.trials[0].plan.methods] == ["ISO 2409", "plain tape", "stick scratch", "fingernail"]


def test_what_is_wrong_is_said_at_its_field_and_stays_as_typed(at):
    at.stage.details.rest.take_focus()
    at.keys("a while")
    at.keys(ENTER, modifier=CTRL)
    assert at.trials == []
    assert at.focused == "trial-rest"
    assert at.stage.details.rest.text() == "a while"
    assert at.stage.details.rest.edit.accessibleDescription()
    at.stage.details.rest.edit.selectAll()
    at.keys("2 d")
    at.keys(ENTER, modifier=CTRL)
    assert len(at.trials) == 1


def test_steps_of_ageing_are_added_changed_and_dropped(at):
    at.click("trial-age-water")
    assert at.focused == "trial-ageing-0-lasts"
    here = QApplication.focusWidget()
    assert here is not None
    seen = at.stage.right_area.viewport()
    assert seen.rect().contains(here.mapTo(seen, here.rect().center()))
    at.keys("48 h")
    at.stage.details.adding[next(iter(k for k in at.stage.details.adding if k.value == "flex over a mandrel"))].click()
    assert [s.kind.value for s in at.setup.ageing] == ["water soak", "flex over a mandrel"]
    at.stage.details.steps[1].out.click()
    at.keys(ENTER, modifier=CTRL)
    (step,) = at.trials[0].plan.ageing
    assert step.lasts is not None
    assert step.lasts.total_seconds() == 48 * 3_600


def test_what_is_half_done_is_still_there_on_coming_back(at):
    at.stage.details.rest.take_focus()
    at.keys("half a")
    at.stage.systems.take_focus()
    at.keys("d", "r")
    left = at.setup
    at.ask()
    assert at.setup == left
    assert at.stage.details.rest.text() == "half a"
    at.session.create(at.session.writable().path.with_name("other.json"), "Another")
    at.refresh()
    assert at.stage.setup is not None
    assert at.setup.systems == ()
    at.session.pick_document(at.session.documents[0])
    at.refresh()
    assert at.setup == left


def test_an_undo_brings_the_set_up_back(at):
    at.stage.about.name.take_focus()
    at.stage.about.name.edit.selectAll()
    at.keys("Mine")
    at.stage.systems.take_focus()
    at.keys("d")
    at.keys(ENTER, modifier=CTRL)
    made = len(at.trials[0].plan.strips)
    at.session.undo()
    at.ask()
    assert at.setup.name == "Mine"
    assert at.setup.strips == made == 9
    at.keys(ENTER, modifier=CTRL)
    assert at.trials[0].plan.name == "Mine"


def test_a_second_trial_begins_anew(at):
    at.keys(ENTER, modifier=CTRL)
    at.ask()
    assert at.setup.name == "Trial for Bumper 2"
    assert at.setup.trial is None


def test_a_trial_that_is_set_up_is_changed(at):
    at.keys(ENTER, modifier=CTRL)
    at.ask("t1")
    assert at.stage.go.text() == "Change the trial"
    at.keys(ENTER, modifier=CTRL)
    assert at.said[-1] == "Nothing was changed."
    at.ask("t1")
    at.click("trial-replicates-2")
    at.keys(ENTER, modifier=CTRL)
    assert len(at.trials) == 1
    assert len(at.trials[0].plan.strips) == 4


def test_once_paint_is_on_systems_and_places_stay(at):
    from functools import partial

    from benchtool.job import events as ev

    at.keys(ENTER, modifier=CTRL)
    layer = at.session.writable().state.pieces[at.trials[0].plan.strips[0].piece].layers[0]
    at.session.apply(partial(ev.CoatStarted, layer=layer.id))
    at.ask("t1")
    assert "paint on" in at.stage.odd.text()
    assert not at.stage.shuffle.isEnabled()
    assert not at.stage.systems.double.isEnabled()
    at.keys("d", "r", ENTER)
    assert at.setup.strips == 6
    assert not at.setup.randomised
    assert at.stage.pages.currentWidget() is at.stage.main
    at.stage.about.name.take_focus()
    at.stage.about.name.edit.selectAll()
    at.keys("Anew")
    at.keys(ENTER, modifier=CTRL)
    assert at.trials[0].plan.name == "Anew"


def test_no_piece_asks_for_the_material(at):
    at.click("trial-piece--")
    assert at.setup.piece is None
    assert at.stage.about.material.isVisible()
    at.stage.about.material.search.take_focus()
    at.keys("abs")
    assert at.setup.material.substrate == "abs"
    at.keys(DOWN)
    assert at.setup.material.substrate == "mabs"
    at.keys("zzz")
    assert at.setup.material.substrate == "mabs"  # no words choose nothing instead
    at.click("trial-piece-p1")
    assert at.setup.piece == "p1"
    assert not at.stage.about.material.isVisible()


def test_a_job_that_can_t_be_written_says_why(at):
    at.session.writable().read_only = "Anna has it open."
    at.ask()
    assert at.stage.pages.currentWidget() is at.stage.nothing
    assert at.stage.none.text() == "Anna has it open."
    at.keys("d")


def test_labels_are_asked_for_what_is_on_the_stage(at, tmp_path):
    seen: list[Any] = []
    at.stage.label_save.ask = lambda labels, paper: seen.append((labels, paper))  # type: ignore[method-assign]
    at.click("trial-paper-Letter")
    at.stage.print.click()
    labels, paper = seen[0]
    assert paper == "Letter"
    assert [x.number for x in labels.labels] == [1, 2, 3, 4, 5, 6]


def test_the_systems_of_another_trial_can_be_taken(at):
    rows = at.setup.systems[0].rows
    at.stage.take_like([("One", False, rows), ("Two", True, rows[1:])])
    assert at.lines == [("A", "One", False), ("B", "Two", True)]


def test_two_beats_without_a_change_draw_nothing(at):
    at.refresh()
    drawn = at.stage.setup
    at.stage._show = None  # type: ignore[method-assign,assignment]  # it would be called
    at.refresh()
    at.refresh()
    assert at.stage.setup is drawn


@pytest.mark.parametrize("size", [(853, 480), (1280, 570), (1920, 930)])
def test_all_that_can_be_pressed_is_large_enough_named_and_not_cut_off(at, size):
    for _ in range(5):
        at.stage._act_on_system("double")
    at.stage._change(lambda s: ts.change(s, "s1", name=UGLY))
    at.look.fit(*size)
    at.window.resize(*size)
    at.settle()
    assert (at.stage.width(), at.stage.height()) == size
    for button in at.stage.findChildren(BenchButton):
        if button.isVisibleTo(at.stage):
            assert button.height() >= 48
            assert button.accessibleName()
    for row in at.stage.systems.rows:
        assert row.height() >= 48
        assert row.width() <= at.stage.left_area.viewport().width()
    assert at.stage.left_body.width() <= at.stage.left_area.viewport().width()
    if at.stage.right_area.isVisible():
        assert at.stage.right_body.width() <= at.stage.right_area.viewport().width()


def test_an_empty_piece_says_how_to_begin(qtbot, clock, tmp_path):
    at = Setting(qtbot, clock, tmp_path, stack=())
    assert at.lines == []
    assert at.stage.systems.nothing.isVisible()
    assert at.focused == "trial-offer-empty"
    at.keys(ENTER)
    assert at.stage.pages.currentWidget() is at.stage.editor
    at.session.close_all()


def test_a_name_that_looks_like_markup_is_shown_as_it_is(at):
    at.stage._change(lambda s: ts.change(s, "s1", name=UGLY))
    row = at.stage.systems.rows[0]
    assert row.facts.name == UGLY
    tip = QTextDocument()
    tip.setHtml(row.toolTip())
    assert tip.toPlainText().startswith(UGLY + "\n")
    assert plain_tip("Ours") == "Ours"


def test_a_stage_made_in_a_window_that_is_seen_opens_no_other(at):
    made = SetupStage(at.look, at.session)
    shown: list[str] = []

    class Watch(QObject):
        def eventFilter(self, watched: QObject, event: QEvent) -> bool:
            if event.type() is QEvent.Type.Show and isinstance(watched, QWidget) and watched.isWindow():
                shown.append(repr(watched))
            return False

    watch = Watch()
    app = QApplication.instance()
    assert app is not None
    app.installEventFilter(watch)
    made.setParent(at.stage)
    made.ask(None)
    made._act_on_system("change")
    at.settle()
    app.removeEventFilter(watch)
    assert shown == []


# --- the panel by itself -----------------------------------------------------------------------------


def test_the_panel_is_drawn_to_scale_and_its_strips_are_picked_by_mouse_and_arrows(qtbot):
    look = Look()
    panel = PanelDrawing(look, keys=True)
    qtbot.addWidget(panel)
    panel.resize(700, 300)
    picked: list[str] = []
    panel.picked.connect(picked.append)

    def show(key: str) -> None:
        panel.show_panel(
            [
                PanelStrip(
                    key=f"p{i}",
                    number=i + 1,
                    label="A",
                    words=UGLY,
                    place=i % 3,
                    panel=1 + i // 3,
                    picked=key == f"p{i}",
                    control=i == 1,
                    state="tape on",
                    off=i == 2,
                )
                for i in range(5)
            ]
        )

    show("p0")
    panel.show()
    first, last = panel.strip_rect("p0"), panel.strip_rect("p4")
    assert first.height() / first.width() == pytest.approx(4.0)
    assert first.size() == last.size()
    assert not first.intersects(last)
    qtbot.mouseClick(panel, Qt.MouseButton.LeftButton, pos=last.center().toPoint())
    assert picked == ["p4"]
    qtbot.keyClick(panel, Qt.Key.Key_Right)
    assert picked[-1] == "p1"
    show("p4")
    qtbot.keyClick(panel, Qt.Key.Key_Right)
    assert picked[-1] == "p4"
    qtbot.keyClick(panel, Qt.Key.Key_Left)
    assert picked[-1] == "p3"
    assert "Strip 2" in panel.accessibleDescription()
    assert "control" in panel.accessibleDescription()
    assert not panel.grab().isNull()


def test_a_panel_in_no_room_at_all_is_still_drawn(qtbot):
    panel = PanelDrawing(Look())
    qtbot.addWidget(panel)
    panel.setMinimumSize(1, 1)
    panel.show_panel([PanelStrip(key=str(i), number=i + 1, place=i % 12, panel=1 + i // 12) for i in range(48)])
    for size in ((1, 1), (30, 20), (3000, 40), (40, 3000)):
        panel.resize(*size)
        assert not panel.grab().isNull()
    panel.show_panel([])
    assert panel.height_for(300) == 0
    assert not panel.grab().isNull()


def test_a_key_of_the_stage_is_kept_from_the_window(at):
    def kept(key: Qt.Key, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> bool:
        here = QApplication.focusWidget()
        event = QKeyEvent(QKeyEvent.Type.ShortcutOverride, key, modifier, chr(key) if key < 128 else "")
        event.ignore()
        assert here is not None
        QApplication.sendEvent(here, event)
        return event.isAccepted()

    assert kept(Qt.Key.Key_D)
    assert kept(Qt.Key.Key_C)
    assert kept(Qt.Key.Key_R)
    assert kept(ENTER, CTRL)
    assert not kept(Qt.Key.Key_U)
    assert not kept(ESC)
    assert not kept(Qt.Key.Key_Z, CTRL)
    at.stage.about.name.take_focus()
    assert kept(Qt.Key.Key_U)
    assert kept(Qt.Key.Key_2)


# --- what helps early ----------------------------------------------------------------------------------


def test_a_card_can_be_made_and_the_cards_opened_from_the_editor(at: Setting) -> None:
    asked: list[object] = []
    at.stage.card_asked.connect(asked.append)
    at.stage.cards_asked.connect(lambda: asked.append("all"))
    at.stage._edit()
    at.settle()
    at.click("build-new-card")
    at.click("trial-system-cards")
    at.stage.editor.picker.list.search.take_focus()
    at.keys("n", modifier=CTRL)
    assert asked == [None, "all", None]
    assert not at.stage.editor.picker.edit_card.isVisibleTo(at.stage)


def test_without_a_system_there_is_a_way_to_the_cards(at: Setting) -> None:
    asked: list[object] = []
    at.stage.card_asked.connect(asked.append)
    at.stage.cards_asked.connect(lambda: asked.append("all"))
    for _ in range(2):
        at.stage._act_on_system("out")
        at.settle()
    at.click("trial-new-card")
    at.click("trial-open-cards")
    at.stage.about.name.take_focus()
    at.keys("n", modifier=CTRL)
    assert asked == [None, "all", None]


def test_a_card_that_was_made_is_in_the_stack_at_once(at: Setting) -> None:
    at.stage._edit()
    made = msgspec.structs.replace(at.setup.systems[0].rows[0].card, id="new", name="New promoter")
    at.stage.take_card(made)
    at.settle()
    assert [r.card.name for r in at.setup.systems[0].rows].count("New promoter") == 1
    assert any(c.name == "New promoter" for c in at.stage.editor.picker.cards)


def test_what_speaks_against_a_stack_is_said_under_its_line_and_bars_nothing(at: Setting) -> None:
    rows = at.setup.systems[0].rows
    many = replace(rows[0], plan=msgspec.structs.replace(rows[0].plan, coats=9))
    high = at.stage.systems.rows[0].height()
    at.stage._change(lambda s: ts.change(s, "s1", rows=(many, *rows[1:])))
    at.settle()
    row = at.stage.systems.rows[0]
    assert "9 coats of Two-part promoter" in row.accessibleName()
    assert row.height() > high
    assert "9 coats" in at.stage.systems.told.text()
    at.stage._edit()
    at.stage.editor._pick("+1")
    at.settle()
    assert "9 coats" in at.stage.editor.against.text()
    at.stage._leave_editor()
    at.stage.go.click()
    assert at.asked == ["run"]


def test_buttons_stay_where_they_are_whichever_layer_is_in_hand(at: Setting) -> None:
    at.stage._edit()
    at.settle()
    editor, spots = at.stage.editor, []
    for row in editor.build.rows:
        editor._pick(row.key)
        at.settle()
        spots.append([w.mapTo(editor, QPoint(0, 0)) for w in (editor.tools.more, editor.tools.out, editor.gun)])
    assert len({bool(r.card.activators) for r in editor.build.rows}) == 2
    assert all(s == spots[0] for s in spots)


def test_the_card_s_longer_time_is_said_beside_the_rest(at: Setting) -> None:
    at.stage.details.rest.edit.setFocus()
    at.stage.details.rest.edit.selectAll()
    at.keys("2 min")
    assert at.stage.details.longer.text() == "The card of Two-part clear asks for 24 h before tape: that counts."
    assert at.stage.details.longer.isVisibleTo(at.stage)


def test_in_a_low_window_all_rolls_as_one_column(at: Setting) -> None:
    at.look.fit(853, 480)
    at.window.resize(853, 270)
    at.settle()
    inside = at.stage.left_area.widget()
    parts: tuple[QWidget, ...] = (at.stage.go, at.stage.systems.tools, at.stage.panel, at.stage.details)
    assert all(inside.isAncestorOf(part) for part in parts)
    assert at.stage.left_area.height() > 200
    at.window.resize(1280, 570)
    at.settle()
    assert not at.stage.left_area.widget().isAncestorOf(at.stage.go)


def test_a_trial_like_an_earlier_one_leaves_what_was_half_typed(at: Setting) -> None:
    at.stage.about.name.take_focus()
    at.stage.about.name.edit.selectAll()
    at.keys("Mine")
    rows = at.setup.systems[0].rows
    before = [c.key for c in at.setup.systems]
    at.stage.take_like([("One", False, rows[:1])])
    assert at.setup.name == "Mine"
    assert [c.key for c in at.setup.systems][: len(before)] == before
    assert at.said[-1].startswith("1 system is added")


def test_what_is_typed_is_on_disk_a_moment_later(at: Setting, tmp_path: Path) -> None:
    at.stage.keeper.drafts = TrialDrafts(DraftFile(tmp_path / "state"))
    at.stage.saver.setInterval(10)
    at.stage.saver.stop()
    at.stage.about.name.take_focus()
    at.stage.about.name.edit.selectAll()
    at.keys("Mine")
    job = at.session.writable().job.id
    at.bot.waitUntil(lambda: (kept := at.stage.keeper.drafts.find(job)) is not None and kept.name == "Mine")
    QApplication.processEvents()


def test_the_state_of_a_narrow_strip_is_drawn_whole(at: Setting, monkeypatch: pytest.MonkeyPatch) -> None:
    """What a strip is called is left out before how it is would be cut short."""
    drawn: list[str] = []

    def note(text: str, *rest: object) -> str:
        drawn.append(text)
        return text

    monkeypatch.setattr("benchtool.bench.paneldraw.elided", note)
    strips = [
        PanelStrip(key=str(n), number=n, label="A", words="A long name of a promoter", state="to prepare", place=n - 1)
        for n in range(1, 13)
    ]
    panel = PanelDrawing(at.look)
    at.bot.addWidget(panel)
    panel.resize(380, 150)
    panel.show_panel(strips)
    panel.grab()
    assert set(drawn) <= {"to prepare", "to", "prepare"}
    assert drawn
