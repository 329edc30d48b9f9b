"""The shop page: tools, cups, cans, usual figures and hours that the painter owns, whatever the job."""

from PySide6.QtCore import QEvent, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QStackedWidget, QVBoxLayout, QWidget

from benchtool.bench.controls import Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.shopcups import CupsSheet
from benchtool.bench.shophours import HoursSheet
from benchtool.bench.shoplots import LotsSheet
from benchtool.bench.shopsheet import GroupSheet
from benchtool.bench.shoptools import ToolsSheet
from benchtool.bench.shopusual import UsualSheet
from benchtool.bench.typedkeys import LETTERS, keeps
from benchtool.session.session import NotNow, Session


class ShopPage(QWidget):
    """Where the painter says what is owned, one group at a time."""

    letters = LETTERS
    left = Signal()
    said = Signal(str)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.look, self.session = look, session
        self.setObjectName("shop")
        self.faults = Words(look, "body", "trouble")
        self.faults.setObjectName("shop-faults")
        self.faults.setContentsMargins(2 * GRID, GRID, 2 * GRID, 0)
        self.faults.hide()
        self.tools = ToolsSheet(look, session)
        self.cups = CupsSheet(look, session)
        self.lots = LotsSheet(look, session)
        self.usual = UsualSheet(look, session)
        self.hours = HoursSheet(look, session)
        self.groups: dict[str, GroupSheet] = {
            "tools": self.tools, "cups": self.cups, "lots": self.lots, "usual": self.usual, "hours": self.hours,
        }  # fmt: skip
        self.pages = QStackedWidget()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.faults)
        column.addWidget(self.pages, 1)
        for sheet in self.groups.values():
            self.pages.addWidget(sheet)
            sheet.left.connect(self.left)
            sheet.said.connect(self._say)
            sheet.group_asked.connect(self._turn)

    def ask(self, what: str = "tools") -> None:
        """Show one group: `tools`, `cups`, `lots`, `usual` or `hours`.

        Raises:
            NotNow: this window keeps no shop.
        """
        sheet = self.groups[what]
        sheet.ask()
        self._show_faults()
        self.pages.setCurrentWidget(sheet)
        if self.isVisible():
            sheet.take_focus()

    def _turn(self, what: str) -> None:
        self.said.emit("")
        try:
            self.ask(what)
        except NotNow as no:
            self.said.emit(str(no))
            return
        self.groups[what].groups.take_focus()  # so that the arrow keys go on through the groups

    def _say(self, words: str) -> None:
        self._show_faults()
        self.said.emit(words)

    def _show_faults(self) -> None:
        """Say on top what is wrong with the files: nothing is written over them."""
        said = " ".join(self.session.shop.faults) if self.session.shop is not None else ""
        self.faults.say(said)
        self.faults.setVisible(bool(said))

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        sheet = self.pages.currentWidget()
        if isinstance(sheet, GroupSheet):
            sheet.take_focus()

    def event(self, event: QEvent) -> bool:
        # The bench's letters are acts. Here they are typed, or do nothing.
        return keeps(event) or super().event(event)
