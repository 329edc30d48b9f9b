"""The plan page in a test: shown as the window shows it, filled in by hand and by keyboard."""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from builders import PROMOTER
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLineEdit, QStackedWidget, QWidget

from benchtool.bench.look import Look
from benchtool.bench.plan import PlanPage
from benchtool.job import events as ev
from benchtool.session.library import CardLibrary
from benchtool.session.session import Session
from benchtool.session.tables import load_tables
from benchtool.trade.quantities import Measures
from benchtool.trade.substrates import Flex

TAB, ENTER, ESC, UP, DOWN, RIGHT, SPACE = (
    Qt.Key.Key_Tab, Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Right,
    Qt.Key.Key_Space,
)  # fmt: skip


def focus() -> str:
    """The name of what has the focus."""
    here = QApplication.focusWidget()
    return here.objectName() if here is not None else ""


class Plan:
    """A page on a new job with nothing in it; leaving it turns to an empty page."""

    def __init__(self, bot: Any, clock: Any, folder: Path) -> None:
        self.bot = bot
        self.session = Session(clock, load_tables(), Measures(), CardLibrary(folder / "cards"))
        self.session.create(folder / "job.json", "A job of my own")
        self.look = Look()
        self.page = PlanPage(self.look, self.session)
        self.pages, elsewhere = QStackedWidget(), QWidget()
        for widget in (elsewhere, self.page):
            self.pages.addWidget(widget)
        self.pages.setStyleSheet(self.look.style_sheet())
        bot.addWidget(self.pages)
        self.pages.setMinimumSize(320, 240)
        self.pages.resize(1280, 560)
        self.pages.show()
        self.pages.activateWindow()
        bot.waitActive(self.pages)
        self.left = 0
        self.said: list[str] = []
        self.page.left.connect(self._leave)
        self.page.left.connect(lambda: self.pages.setCurrentWidget(elsewhere))
        self.page.said.connect(self.said.append)

    def _leave(self) -> None:
        self.left += 1

    @property
    def state(self) -> Any:
        """The job as it stands."""
        return self.session.writable().state

    @property
    def events(self) -> int:
        """How many events the record has."""
        return len(self.session.writable().job.events)

    def ask(self, what: str) -> None:
        """Turn to the page."""
        self.page.ask(what)
        self.pages.setCurrentWidget(self.page)
        assert QApplication.focusWidget() is not None

    def keys(self, *which: Qt.Key | str, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        """Press these keys, and type these texts, wherever the focus is."""
        for key in which:
            here = QApplication.focusWidget()
            assert here is not None
            press: Callable[..., None] = self.bot.keyClicks if isinstance(key, str) else self.bot.keyClick
            press(here, key, modifier)

    def click(self, name: str) -> None:
        """Click what has this name; it must be in view."""
        found = self.page.findChild(QWidget, name)
        assert found is not None, name
        assert found.isVisible(), name
        self.bot.mouseClick(found, Qt.MouseButton.LeftButton)

    def line(self, name: str) -> QLineEdit:
        """The field of this name."""
        found = self.page.findChild(QLineEdit, name)
        assert isinstance(found, QLineEdit), name
        return found

    def type_in(self, name: str, text: str) -> None:
        """Type into the field of this name, in place of what stands there."""
        edit = self.line(name)
        edit.setFocus()
        edit.selectAll()
        self.bot.keyClick(edit, Qt.Key.Key_Delete)
        self.bot.keyClicks(edit, text)

    def piece(self, **fields: Any) -> None:
        """Bring in a piece and take it in hand."""
        piece = ev.Piece(id="p1", name="Panel", substrate="abs", known=ev.Known.TOLD, flex=Flex.RIGID)
        self.session.apply(partial(ev.PieceAdded, piece=replace(piece, **fields)))
        self.session.pick("p1")

    def layer(self, layer: str = "l1", card: Any = PROMOTER, **fields: Any) -> None:
        """Plan a layer on it."""
        made = ev.Layer(id=layer, card=card.id, coats=2, activator="rigid" if card is PROMOTER else None)
        self.session.apply(
            partial(ev.CardCopied, card=card),
            partial(ev.LayerAdded, piece="p1", layer=replace(made, **fields)),
        )
