"""The page of the card library by real keys: searching, looking, taking the new card, out and in, and bad input."""

import json
import os
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR, COLOUR, PROMOTER, JobBuilder
from msgspec.structs import replace
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent, QGuiApplication
from PySide6.QtWidgets import QApplication, QWidget

from benchtool.bench.library import LibraryPage
from benchtool.bench.look import Look
from benchtool.job.cards import Card, Origin, OriginKind
from benchtool.session import cardmoving
from benchtool.session.library import CardLibrary
from benchtool.session.session import Session
from benchtool.session.tables import load_tables
from benchtool.store import jobfile
from benchtool.trade.quantities import Measures

CTRL = Qt.KeyboardModifier.ControlModifier
ENTER, ESC, DOWN, DELETE = Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_Down, Qt.Key.Key_Delete
NEW = replace(CLEAR, flash=timedelta(minutes=20), note="new sheet")


class Library:
    """The page on a library of its own, and what it said and asked for."""

    def __init__(self, bot: Any, session: Session) -> None:
        self.bot, self.session = bot, session
        self.host = QWidget()
        self.host.resize(1280, 650)
        self.page = LibraryPage(Look(), session)
        self.page.setParent(self.host)
        self.page.setGeometry(self.host.rect())
        bot.addWidget(self.host)
        self.said: list[str] = []
        self.asked: list[Card | None] = []
        self.left: list[bool] = []
        self.page.said.connect(self.said.append)
        self.page.card_asked.connect(self.asked.append)
        self.page.left.connect(lambda: self.left.append(True))
        self.host.show()
        with bot.waitActive(self.host):
            self.host.activateWindow()

    @property
    def cards(self) -> CardLibrary:
        assert self.session.library is not None
        return self.session.library

    def ask(self) -> None:
        self.page.ask()
        self.wait()

    def wait(self) -> None:
        """Let all that comes in steps come to its end."""

        def still() -> bool:
            moving = self.page.bringing
            return not self.page.steps.busy and (moving is None or not moving.steps.busy)

        self.bot.waitUntil(still, timeout=20_000)

    def press(self, key: Any, mods: Any = Qt.KeyboardModifier.NoModifier) -> None:
        here = QApplication.focusWidget()
        assert isinstance(here, QWidget)
        assert self.page.isAncestorOf(here) or here is self.page
        if isinstance(key, str):
            self.bot.keyClicks(here, key, mods)
        else:
            self.bot.keyClick(here, key, mods)
        self.wait()

    def names(self) -> list[str]:
        return [card.name for card in self.page.list.cards.cards]

    def on_list(self) -> None:
        self.page.list.setFocus()

    def panel(self) -> str:
        return next(p.objectName() for p, area in self.page.areas.items() if area is self.page.side.currentWidget())


@pytest.fixture
def session(tmp_path: Path, clock: Any) -> Iterator[Session]:
    made = Session(clock, load_tables(), Measures(), CardLibrary(tmp_path / "cards"))
    yield made
    made.close_all()


@pytest.fixture
def shown(qtbot: Any, session: Session) -> Library:
    """The page on three cards."""
    assert session.library is not None
    for card in (CLEAR, COLOUR, PROMOTER):
        session.library.keep(card)
    library = Library(qtbot, session)
    library.ask()
    return library


def test_typing_narrows_the_list_and_says_how_many(shown: Library) -> None:
    assert shown.names() == ["Base colour", "Two-part clear", "Two-part promoter"]
    assert shown.page.search.told.text() == "3 cards"
    shown.press("two")
    assert shown.names() == ["Two-part clear", "Two-part promoter"]
    assert shown.page.search.told.text() == "2 of 3 cards"
    assert shown.page.list.card == CLEAR  # the first that answers is in hand
    shown.press(" pot life>1h")
    assert shown.names() == ["Two-part clear"]
    assert shown.page.search.told.text() == "pot life > 1 h: 1 of 3 cards"
    shown.press(ESC)
    assert len(shown.names()) == 3
    assert shown.left == []
    shown.press(ESC)
    assert shown.left == [True]


def test_half_a_question_is_told_and_narrows_nothing(shown: Library) -> None:
    shown.press("flash<so")
    assert len(shown.names()) == 3
    assert shown.page.search.fault.text() == "flash asks for a time, such as flash<10min."


def test_arrows_pick_a_card_from_the_search_field_and_enter_asks_for_its_form(shown: Library) -> None:
    shown.press(DOWN)
    assert shown.page.detail.title.text() == "Two-part clear"
    shown.press(ENTER)
    assert shown.asked == [CLEAR]
    shown.press(Qt.Key.Key_N, CTRL)
    assert shown.asked == [CLEAR, None]
    shown.on_list()
    shown.press("n")
    shown.press(ENTER)
    assert shown.asked == [CLEAR, None, None, CLEAR]


def test_tab_goes_round_the_page_in_reading_order(shown: Library) -> None:
    names = []
    for _ in range(9):
        here = QApplication.focusWidget()
        assert here is not None
        names.append(here.objectName().removeprefix("library-"))
        shown.press(Qt.Key.Key_Tab)
    assert names == ["search", "list", "edit", "new", "out", "give", "bring", "back", "search"]
    shown.press(Qt.Key.Key_Backtab)
    here = QApplication.focusWidget()
    assert here is shown.page.search.edit
    shown.press(Qt.Key.Key_E, CTRL)
    shown.press(Qt.Key.Key_Tab)
    here = QApplication.focusWidget()
    assert here is not None
    assert here.objectName() == "library-export-go"


def test_the_letter_n_in_the_search_field_is_a_letter(shown: Library) -> None:
    shown.press("n")
    assert shown.asked == []
    assert shown.page.search.text() == "n"


def test_each_value_is_shown_with_where_it_is_from_and_a_guess_is_marked(shown: Library) -> None:
    guess = Origin(kind=OriginKind.GUESS, words="felt so")
    sheet = Origin(kind=OriginKind.SHEET, words="Sheet 7", page="2", day="2026-03-01")
    shown.cards.keep(replace(CLEAR, name="A card", maker="Demo coatings", origins={"*": sheet, "flash": guess}))
    shown.page.ask("clear-2k")
    shown.wait()
    assert shown.page.detail.maker.text() == "Made by Demo coatings. The values are from: Sheet 7, page 2, 2026-03-01."
    told = shown.page.detail.facts.accessibleDescription().splitlines()
    assert "Flash: 15 min (a guess, felt so)" in told
    assert "Pot life: 2 h" in told
    lines = [line for block in shown.page.detail.facts.blocks for line in block.lines]
    assert [line.label for line in lines if line.guess] == ["Flash"]


def test_what_of_a_card_does_not_agree_is_shown(shown: Library) -> None:
    shown.cards.keep(replace(COLOUR, flash=timedelta(hours=3), recoat_opens=timedelta(hours=1)))
    shown.ask()
    assert shown.page.detail.checks.text().startswith("! ")


def test_an_empty_library_says_what_to_do(qtbot: Any, session: Session) -> None:
    library = Library(qtbot, session)
    library.ask()
    assert library.page.empty.text().startswith("Your library is empty. Press Ctrl+N")
    assert not library.page.list.isVisible()
    assert not library.page.edit.isEnabled()
    library.press(ENTER)
    assert library.asked == []


def test_a_window_without_a_library_says_so(qtbot: Any, clock: Any) -> None:
    library = Library(qtbot, Session(clock, load_tables(), Measures()))
    library.ask()
    assert library.page.empty.text() == "This window has no folder for a library."
    library.page.bring_in((Path("a"),))
    assert library.said == ["This window has no folder for a library."]


def test_a_broken_file_is_named_with_its_place(shown: Library) -> None:
    path = shown.cards.folder / "clear-2k.json"
    path.write_text(path.read_text(encoding="utf-8").replace('"PT15M"', '"soon"'), encoding="utf-8")
    shown.ask()
    assert shown.names() == ["Base colour", "Two-part promoter"]
    assert shown.page.trouble.text() == (
        "1 file here holds no card: clear-2k.json: Flash between coats: this is no length of time such as PT15M "
        "(at $.card.flash)."
    )


def test_a_name_is_never_markup(shown: Library) -> None:
    shown.cards.keep(replace(COLOUR, name="<b>bold</b> & more"))
    shown.ask()
    assert shown.page.detail.title.text() == "<b>bold</b> & more"
    assert shown.page.detail.title.textFormat() is Qt.TextFormat.PlainText


# --- open jobs -------------------------------------------------------------------------------------


@pytest.fixture
def used(shown: Library, tmp_path: Path) -> Library:
    """The page, with an open job that uses the clear, of which the library has a newer card."""
    bench = JobBuilder().card(CLEAR).piece("panel").layer("clear", CLEAR, coats=2, activator="slow")
    jobfile.save(tmp_path / "tank.json", bench.ready("clear").coat().job)
    shown.session.open(tmp_path / "tank.json")
    shown.cards.keep(NEW)
    later = shown.session.now().timestamp() + 1e8
    os.utime(shown.cards.folder / "clear-2k.json", (later, later))
    shown.ask()
    return shown


def test_a_job_with_an_older_copy_is_shown_and_takes_the_new_one_only_when_asked(used: Library) -> None:
    page, document = used.page, used.session.documents[0]
    assert page.banner.text() == "1 open job uses an older copy of a card."
    used.bot.mouseClick(page.show_copies, Qt.MouseButton.LeftButton)
    assert used.names() == ["Two-part clear"]
    row = page.detail._copy_rows[0]
    assert row.words.text() == "tank uses an older copy (1 layer of it, 1 begun)."
    assert row.found.text() == "Flash: 20 min, was 15 min.\nNote: new sheet, was not given."
    assert page.detail.used.text() == "Used in open jobs:\ntank: Two-part clear on Panel, begun."
    assert document.state.cards[CLEAR.id] == CLEAR
    used.press(Qt.Key.Key_T, CTRL)
    assert document.state.cards[CLEAR.id] == NEW
    assert document.state.layers["clear"].coats[0].card == CLEAR
    assert used.said[-1].endswith("Coats already on and cups already mixed keep the old one.")
    assert row.copy is None
    assert not page.banner_row.isVisible()
    used.press(Qt.Key.Key_T, CTRL)
    assert len(used.said) == 1


def test_each_job_has_its_key_and_one_that_can_only_be_read_takes_none(used: Library, tmp_path: Path) -> None:
    used.press("clear")
    row = used.page.detail._copy_rows
    assert row[0].go.key == "Ctrl+T"
    bench = JobBuilder().card(CLEAR).piece("panel").layer("clear", CLEAR, coats=2, activator="slow")
    for name in ("two", "three"):
        jobfile.save(tmp_path / f"{name}.json", bench.job)
        used.session.open(tmp_path / f"{name}.json")
    used.session.documents[0].read_only = "Open in another window."
    used.ask()
    used.page.list.setFocus()
    assert [r.go.isVisibleTo(used.page) for r in row] == [False, True, True]
    assert [r.go.key for r in row[1:]] == ["Ctrl+1", "Ctrl+2"]
    used.press(Qt.Key.Key_2, CTRL)
    assert [d.state.cards[CLEAR.id] for d in used.session.documents] == [CLEAR, CLEAR, NEW]
    assert row[1].go.key == "Ctrl+T"
    used.press(Qt.Key.Key_T, CTRL)
    assert [d.state.cards[CLEAR.id] for d in used.session.documents] == [CLEAR, NEW, NEW]


def test_the_mark_beside_a_card_names_the_job(used: Library) -> None:
    assert used.page.list.cards.marks == {"clear-2k": "older copy in tank"}


# --- out and in ------------------------------------------------------------------------------------


def test_a_card_taken_out_comes_back_by_one_key(shown: Library) -> None:
    shown.on_list()
    shown.press(DOWN)
    shown.press(DELETE)
    assert shown.names() == ["Base colour", "Two-part promoter"]
    assert shown.page.list.card == PROMOTER
    assert shown.said[-1].startswith("Two-part clear is out of your library; its file is clear-2k.json.versions/")
    assert shown.page.back_line.text() == "Bring Two-part clear back"
    shown.press(Qt.Key.Key_Z, CTRL)
    assert shown.names() == ["Base colour", "Two-part clear", "Two-part promoter"]
    assert shown.page.list.card == CLEAR
    assert not shown.page.back_line.isVisible()


def test_delete_in_the_search_field_takes_no_card_out(shown: Library) -> None:
    shown.press(DELETE)
    assert len(shown.names()) == 3


def test_a_card_is_copied_as_text_and_pasted_into_another_library(shown: Library) -> None:
    shown.press(Qt.Key.Key_C, CTRL)
    text = QGuiApplication.clipboard().text()
    assert json.loads(text)["card"]["id"] == COLOUR.id
    QGuiApplication.clipboard().setText(text.replace(COLOUR.name, "Other colour").replace('"colour"', '"other"'))
    shown.press(Qt.Key.Key_V, CTRL)
    assert "Other colour" in shown.names()
    assert shown.said[-1] == "pasted text: 1 card came in."
    assert shown.page.search.text() == ""


def test_pasted_words_are_searched_for(shown: Library) -> None:
    QGuiApplication.clipboard().setText("promoter")
    shown.press(Qt.Key.Key_V, CTRL)
    assert shown.names() == ["Two-part promoter"]


def test_of_two_that_differ_the_painter_chooses_by_one_key(shown: Library) -> None:
    theirs = [replace(c, note="theirs") for c in (CLEAR, COLOUR, PROMOTER)]
    QGuiApplication.clipboard().setText(cardmoving.cards_text(theirs))
    shown.press(Qt.Key.Key_V, CTRL)
    assert shown.panel() == "library-clash"
    assert shown.page.clash.title.text() == "Two-part clear is here already, and the new one differs."
    assert shown.page.clash.found.text() == "Note: yours says nothing, the new one theirs."
    assert [c.note for c in shown.cards.look().cards] == ["", "", ""]
    shown.press("3")
    assert shown.page.clash.which.text() == "2 of 3 in pasted text. What the two say:"
    shown.press("4")
    shown.press("2")
    assert {c.name: c.note for c in shown.cards.look().cards} == {
        "Two-part clear": "", "Two-part clear (2)": "theirs", "Base colour": "theirs", "Two-part promoter": "theirs",
    }  # fmt: skip
    assert shown.said[-1] == "pasted text: 1 card came in, 2 took the place of yours."


def test_leaving_a_clash_brings_nothing_of_that_file_in(shown: Library) -> None:
    more = replace(COLOUR, id="more", name="More")
    QGuiApplication.clipboard().setText(cardmoving.cards_text([replace(CLEAR, note="theirs"), more]))
    shown.press(Qt.Key.Key_V, CTRL)
    shown.press(ESC)
    assert shown.said == ["pasted text: nothing was brought in."]
    assert shown.names() == ["Base colour", "Two-part clear", "Two-part promoter"]
    assert shown.left == []


def test_cards_go_out_by_a_path_that_is_typed(shown: Library, tmp_path: Path) -> None:
    shown.press("two")
    shown.press(Qt.Key.Key_E, CTRL)
    assert shown.panel() == "library-export"
    assert shown.page.exporting.path.text().endswith("clear-2k.json")
    shown.page.exporting._choose("shown")
    shown.press("a", CTRL)
    shown.press(str(tmp_path / "mine"))
    shown.press(ENTER)
    assert shown.said == [f"2 cards are in {tmp_path / 'mine.json'}."]
    assert shown.panel() != "library-export"
    shown.press(Qt.Key.Key_E, CTRL)
    shown.press("a", CTRL)
    shown.press(str(tmp_path / "mine.json"))
    shown.press(ENTER)
    assert shown.page.exporting.path.fault.text() == "mine.json is there already: choose another name."
    shown.press(ESC)
    assert shown.panel() != "library-export"


def test_cards_come_in_by_a_path_that_is_typed_and_the_broken_one_is_named(shown: Library, tmp_path: Path) -> None:
    plain = json.loads(cardmoving.cards_text((replace(COLOUR, id="x", name="X"), replace(COLOUR, id="y", name="Y"))))
    plain["cards"][1]["flash"] = "soon"
    (tmp_path / "two cards.json").write_text(json.dumps(plain), encoding="utf-8")
    shown.press(Qt.Key.Key_I, CTRL)
    shown.press(ENTER)
    assert shown.page.importing.path.fault.text() == "Write the name of a file or folder."
    shown.press(f'"{tmp_path / "two cards.json"}"')
    shown.press(ENTER)
    assert "X" in shown.names()
    assert "Y" not in shown.names()
    assert shown.page.importing.told.text().replace("\u200b", "").splitlines() == [
        "two cards.json: 1 card came in, 1 could not be read.",
        "! two cards.json: Flash between coats: this is no length of time such as PT15M (at $.cards[1].flash).",
    ]
    shown.press(Qt.Key.Key_I, CTRL)
    shown.press(str(tmp_path / "gone.json"))
    shown.press(ENTER)
    assert "can't be read from the disk" in shown.page.importing.told.text()


def test_files_that_are_dropped_on_the_page_come_in(shown: Library, tmp_path: Path) -> None:
    cardmoving.export((replace(COLOUR, id="x", name="Dropped"),), tmp_path / "a.json")
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(tmp_path / "a.json"))])
    drop = QDropEvent(
        QPointF(QPoint(9, 9)), Qt.DropAction.CopyAction, mime, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    )
    shown.page.dropEvent(drop)
    shown.wait()
    assert "Dropped" in shown.names()


def test_a_full_disk_brings_nothing_in_and_says_so(shown: Library, full_disk: Any) -> None:
    QGuiApplication.clipboard().setText(cardmoving.cards_text((replace(COLOUR, id="x", name="X"), CLEAR)))
    with full_disk():
        shown.press(Qt.Key.Key_V, CTRL)
    assert shown.said == ["Nothing was brought in. None of these cards could be written (No space left on device)."]
    assert len(shown.names()) == 3


# --- many cards ------------------------------------------------------------------------------------


def test_many_cards_are_read_while_the_window_goes_on_and_only_those_in_view_are_asked_for(
    qtbot: Any, session: Session
) -> None:
    assert session.library is not None
    folder = session.library.folder
    folder.mkdir()
    text = cardmoving.cards_text((COLOUR,))
    for i in range(1_500):
        made = text.replace('"id": "colour"', f'"id": "colour-{i}"').replace("Base colour", f"Colour {i}")
        (folder / f"{i}.json").write_text(made, encoding="utf-8")
    library = Library(qtbot, session)
    told: list[str] = []
    library.page.steps.stepped.connect(lambda _: told.append(library.page.search.told.text()))
    library.page.ask()
    library.wait()
    assert len(told) > 3
    assert "of 1,500 cards read" in told[0]
    assert library.page.search.told.text() == "1,500 cards"
    asked: list[int] = []
    model, data = library.page.list.cards, library.page.list.cards.data
    model.data = lambda index, role=0: (asked.append(index.row()), data(index, role))[1]  # type: ignore[method-assign]
    library.page.list.viewport().repaint()
    QApplication.processEvents()
    assert len(set(asked)) < 30
