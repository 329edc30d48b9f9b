"""The near view: header, panes or a page, the strip that asks, the line of what was said, and the act bar."""

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.acts import ActBar
from benchtool.bench.controls import Rule
from benchtool.bench.doing import Doing
from benchtool.bench.findings import FindingsPane
from benchtool.bench.header import Header
from benchtool.bench.look import Look
from benchtool.bench.mix import MixPane
from benchtool.bench.pages import Pages
from benchtool.bench.stack import StackPane
from benchtool.bench.statusline import StatusLine
from benchtool.bench.watch import WatchPane
from benchtool.session.session import Session

if TYPE_CHECKING:
    from benchtool.session.loggerkeeper import LoggerKeeper


class NearView(QWidget):
    """Lays out what a painter at the bench sees, and draws it as it stands.

    What is dropped on it, and on nothing that takes drops itself, is told by `dropped`: photos, or job files.
    """

    dropped = Signal(object)

    def __init__(self, look: Look, session: Session, doing: Doing, keeper: "Callable[[], LoggerKeeper]") -> None:
        super().__init__()
        self.doing, self.session = doing, session
        self.setAcceptDrops(True)
        self.header = Header(look, session)
        self.stack = StackPane(look, session)
        self.mix = MixPane(look, session)
        self.watch = WatchPane(look, session)
        self.findings = FindingsPane(look, session)
        self.acts = ActBar(look, session)
        self.status = StatusLine(look, session)
        self.panes = (self.stack, self.mix, self.watch, self.findings)
        self.bench = self._side_by_side(look)
        self.pages = Pages(look, session, self.bench, keeper)
        column = self.column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.header)
        column.addWidget(self.pages, 1)
        self.findings.why_asked.connect(self.pages.explain)
        column.addWidget(self.status)
        column.addWidget(self.acts)
        for strip in doing.strips:
            self._put(strip)
        doing.strip_made.connect(self._put)
        doing.brief = lambda: not self.pages.on_bench
        self.pages.currentChanged.connect(lambda _: doing.show_calls())
        doing.alarm.setParent(self)  # over the header, in no layout: nothing moves under a hand when it comes

    def _put(self, strip: QWidget) -> None:
        self.column.insertWidget(self.column.indexOf(self.status), strip)

    def _side_by_side(self, look: Look) -> QWidget:
        right = QVBoxLayout()
        right.setSpacing(0)
        right.addWidget(self.watch, 6)
        right.addWidget(Rule(look, upright=False))
        right.addWidget(self.findings, 5)
        bench = QWidget()
        across = QHBoxLayout(bench)
        across.setContentsMargins(0, 0, 0, 0)
        across.setSpacing(0)
        across.addWidget(self.stack, 10)
        across.addWidget(Rule(look, upright=True))
        across.addWidget(self.mix, 10)
        across.addWidget(Rule(look, upright=True))
        across.addLayout(right, 10)
        for pane in self.panes:
            pane.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Ignored)
        return bench

    def refresh(self, now: datetime) -> None:
        """Draw everything here as it stands at `now`."""
        self.show_keys()
        self.header.refresh(now)
        if self.pages.on_bench:
            for pane in self.panes:
                pane.refresh(now)
        else:
            self.pages.refresh(now)
        self.refresh_acts()
        self.status.refresh()
        self._place_alarm()

    def show_keys(self) -> None:
        """Show on the header the keys that do something where the painter is."""
        letters = self.pages.letters
        self.header.show_digits(not self.pages.stage and "1" not in letters)
        self.header.show_keys(letters)

    def refresh_acts(self) -> None:
        """Offer in the act bar what is to be done where the painter is; on a trial's page digits are its stages."""
        stage, act = self.pages.stage, None
        if stage == "run":
            act = self.pages.trial.run.act
        elif self.session.piece is not None and self.session.piece.piece.strip_of is not None:
            from benchtool.session.trialhand import act_in_hand

            act = act_in_hand(self.session, self.session.now(), self.pages.aside)
        self.show_keys()
        self.acts.refresh(stage, act, self.pages.letters)

    def _place_alarm(self) -> None:
        alarm = self.doing.alarm
        if not alarm.isHidden():
            high = alarm.sizeHint().height() if self.pages.on_bench else 0  # what lies below a page is not its to cover
            alarm.setGeometry(0, 0, self.width(), max(self.header.height(), high))
            alarm.raise_()

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        mime = event.mimeData()
        if mime.hasUrls() or mime.hasImage():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        event.acceptProposedAction()
        self.dropped.emit(event.mimeData())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._place_alarm()
