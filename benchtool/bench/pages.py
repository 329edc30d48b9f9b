"""The pages of the near view: the bench itself, and beside it those that are made when they are first asked for."""

from collections.abc import Callable
from datetime import datetime
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QStackedWidget, QWidget

from benchtool.bench.look import Look
from benchtool.session.session import Session

if TYPE_CHECKING:
    from benchtool.bench.air import AirPage
    from benchtool.bench.helppage import HelpPage
    from benchtool.bench.plan import PlanPage
    from benchtool.bench.shop import ShopPage
    from benchtool.bench.sums import SumsPage
    from benchtool.session.loggerkeeper import LoggerKeeper

    Typed = TypeVar("Typed", PlanPage, SumsPage, ShopPage, AirPage)


class Pages(QStackedWidget):
    """The bench, the plan, the sums, the shop, the air and the keys; one is seen at a time."""

    left = Signal()
    said = Signal(str)
    make_asked = Signal(str)
    calendar_asked = Signal()
    key_chosen = Signal(str)

    def __init__(self, look: Look, session: Session, bench: QWidget, keeper: "Callable[[], LoggerKeeper]") -> None:
        super().__init__()
        self.look, self.session, self.bench, self.keeper = look, session, bench, keeper
        self.next_key = ""
        self.addWidget(bench)

    @cached_property
    def help(self) -> "HelpPage":
        """The page of all keys."""
        from benchtool.bench.helppage import HelpPage

        page = HelpPage(self.look, self.next_key)
        page.key_chosen.connect(self.key_chosen)
        page.left.connect(self.left)
        self.addWidget(page)
        return page

    @cached_property
    def plan(self) -> "PlanPage":
        """The plan page: it has more fields than all the rest together."""
        from benchtool.bench.plan import PlanPage

        return self._added(PlanPage(self.look, self.session))

    @cached_property
    def sums(self) -> "SumsPage":
        """The page of sums."""
        from benchtool.bench.sums import SumsPage

        page = self._added(SumsPage(self.look, self.session))
        page.make_asked.connect(self.make_asked)
        return page

    @cached_property
    def shop(self) -> "ShopPage":
        """The page of what the painter owns."""
        from benchtool.bench.shop import ShopPage

        return self._added(ShopPage(self.look, self.session))

    @cached_property
    def air(self) -> "AirPage":
        """The page of the air."""
        from benchtool.bench.air import AirPage
        from benchtool.bench.airlogger import LoggerPanel

        panel = LoggerPanel(self.look, self.session, self.keeper())
        panel.said.connect(self.said)
        page = self._added(AirPage(self.look, self.session, panel))
        page.calendar_asked.connect(self.calendar_asked)
        return page

    def _added(self, page: "Typed") -> "Typed":
        page.left.connect(self.left)
        page.said.connect(self.said)
        self.addWidget(page)
        return page

    @property
    def on_bench(self) -> bool:
        """Whether the bench itself is seen."""
        return self.currentWidget() is self.bench

    @property
    def planning(self) -> bool:
        """Whether the plan page is seen: what is typed there is not kept yet."""
        return "plan" in self.__dict__ and self.currentWidget() is self.plan

    def refresh(self, now: datetime) -> None:
        """Draw the page that is seen as it stands at `now`; the bench draws its own panes."""
        seen = self.currentWidget()
        if "sums" in self.__dict__ and seen is self.sums:
            self.sums.refresh(now)
        elif "air" in self.__dict__ and seen is self.air:
            self.air.refresh(now)
