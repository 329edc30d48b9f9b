"""The page of the air: how it is, how it went and will go, what that does to the waits; the night, the logger."""

from datetime import datetime, timedelta

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.airlogger import LoggerPanel
from benchtool.bench.airnight import NightSection
from benchtool.bench.airnow import CalendarSection, NowSection, unbroken
from benchtool.bench.airplot import AirPlot
from benchtool.bench.controls import BenchButton, Choice, Rule, Words, scrolled
from benchtool.bench.look import GRID, Look
from benchtool.bench.plansheet import Section
from benchtool.job.record import Job
from benchtool.session.airview import PAST_SHARE, ZOOMS, AirNow, AirView, spoken
from benchtool.session.session import Document, Session
from benchtool.sheets.calendar import entries

WIDE = 1_000
"""From this width on the plot has a column of its own, which does not scroll (device-independent pixels)."""

FIRST_ZOOM = "24 h"
FARTHEST = timedelta(days=42)
"""So far from now the plot may be turned, either way."""

_EVERY = {"6 h": 1, "24 h": 3, "3 days": 6, "2 weeks": 24}
_NO_JOB = "No job is open. Open one, or begin a new one."


class AirPage(QWidget):
    """The air of the job in hand. `refresh` may be called each second: it works only once a minute, or after an act."""

    left = Signal()
    said = Signal(str)
    calendar_asked = Signal()

    def __init__(self, look: Look, session: Session, logger_panel: LoggerPanel | None = None) -> None:
        super().__init__()
        self.look, self.session = look, session
        self.setObjectName("air")
        self.view = AirView()
        self.zoom, self.turned = FIRST_ZOOM, timedelta(0)
        self._shown: tuple[Document | None, Job | None, object] | None = None
        self.title = Words(look, "title", "ink", wrap=False)
        self.title.say("The air")
        self.comes = Words(look, "body", "ink")
        self.comes.setObjectName("air-comes")
        self.plot = AirPlot(look)
        self.now = NowSection(look)
        self.night = NightSection(look, session)
        self.logger_panel = logger_panel
        self.calendar = CalendarSection(look)
        self._build(look)
        self.setFocusProxy(self.plot)
        self.night.said.connect(self._say_and_show)
        self.night.at_fault.connect(self.area.ensureWidgetVisible)
        self.calendar.go.clicked.connect(self.calendar_asked)
        self._wide: bool | None = None
        self._arrange(wide=True)

    # --- layout ------------------------------------------------------------------------------------

    def _build(self, look: Look) -> None:
        self.zooms = Choice(look, "air-zoom", "How much time the plot shows")
        self.zooms.offer([(key, key) for key in ZOOMS], self.zoom)
        self.zooms.chosen.connect(self.zoom_to)
        self._name_zoom_keys()
        self.earlier = BenchButton(look, "Earlier", "←", name="air-earlier")
        self.today = BenchButton(look, "Now", "Home", name="air-today")
        self.later = BenchButton(look, "Later", "→", name="air-later")
        self.back = BenchButton(look, "Back to the bench", "Esc", name="air-back")
        self.earlier.clicked.connect(lambda: self.turn(-1))
        self.today.clicked.connect(lambda: self.turn(0))
        self.later.clicked.connect(lambda: self.turn(1))
        self.back.clicked.connect(self.left)
        for button in (self.earlier, self.today, self.later, self.back):
            button.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        for button in (self.earlier, self.today, self.later, *self.zooms.findChildren(BenchButton)):
            # a button that kept the focus would take the arrows for its own
            button.clicked.connect(lambda: self.plot.setFocus(Qt.FocusReason.OtherFocusReason))
        foot = QHBoxLayout()
        foot.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        foot.setSpacing(GRID)
        foot.addWidget(self.zooms, 4)
        foot.addSpacing(GRID)
        for button in (self.earlier, self.today, self.later):
            foot.addWidget(button, 1)
        foot.addStretch(1)
        foot.addWidget(self.back)
        self.picture = QWidget()
        upper = QVBoxLayout(self.picture)
        upper.setContentsMargins(2 * GRID, GRID, 2 * GRID, 0)
        upper.setSpacing(GRID // 2)
        upper.addWidget(self.title)
        upper.addWidget(self.comes)
        upper.addWidget(self.plot, 1)
        self.sections = QWidget()
        self._column = QVBoxLayout(self.sections)
        self._column.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        self._column.setSpacing(3 * GRID)
        parts: list[QWidget] = [self.now, self.night]
        if self.logger_panel is not None:
            logger = Section(look, "The logger")
            logger.add(self.logger_panel)
            parts.append(logger)
        for part in (*parts, self.calendar):
            self._column.addWidget(part)
        self._column.addStretch(1)
        self.body = QWidget()
        self._stack = QVBoxLayout(self.body)
        self._stack.setContentsMargins(0, 0, 0, 0)
        self._stack.setSpacing(GRID)
        self.area = scrolled(self.body)
        self.rule = Rule(look, upright=True)
        self._across = QHBoxLayout()
        self._across.setSpacing(0)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(self._across, 1)
        column.addWidget(Rule(look, upright=False))
        column.addLayout(foot)

    def _arrange(self, *, wide: bool) -> None:
        """Put the plot beside the sections, or above them in one column that scrolls."""
        if wide == self._wide:
            return
        self._wide = wide
        for part in (self.picture, self.sections):
            self._stack.removeWidget(part)
        for part in (self.picture, self.rule, self.area):
            self._across.removeWidget(part)
        if wide:
            self._across.addWidget(self.picture, 63)
            self._across.addWidget(self.rule)
        else:
            self._stack.addWidget(self.picture)
        self._stack.addWidget(self.sections, 1)
        self._across.addWidget(self.area, 37)
        self.plot.setFixedHeight(44 * GRID) if not wide else self._free_plot()
        for part in (self.picture, self.sections):
            part.show()
        self.rule.setVisible(wide)  # only now: without a parent it would be a window of its own

    def _free_plot(self) -> None:
        self.plot.setMinimumHeight(30 * GRID)
        self.plot.setMaximumHeight(16_777_215)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._arrange(wide=event.size().width() >= WIDE)

    # --- asking ------------------------------------------------------------------------------------

    def ask(self) -> None:
        """Show the air of the job in hand, now in the middle of things."""
        self.turned = timedelta(0)
        self._shown = None
        self.night.fill()
        self.refresh(self.session.now())

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.area.verticalScrollBar().setValue(0)
        self.plot.setFocus(Qt.FocusReason.OtherFocusReason)

    def refresh(self, now: datetime) -> None:
        """Show everything as it stands at `now`; nothing is worked out anew within a minute without an act."""
        if self.logger_panel is not None:
            self.logger_panel.refresh(now)
        document = self.session.current
        minute = now.replace(second=0, microsecond=0)
        job = document.job if document is not None else None
        key = (minute, self.zoom, self.turned)
        before = self._shown
        if before is not None and before[0] is document and before[1] is job and before[2] == key:
            return  # to compare two records event by event takes long
        self._shown = (document, job, key)
        self.night.show_expected(document, now)
        if document is None:
            self.comes.say("")
            self.now.show_air(AirNow(words=_NO_JOB))
            self.calendar.show_words(())
            self.plot.show_picture(None, f"Plot of the air. {_NO_JOB}", _NO_JOB)
            return
        told, comes = self.view.now(document, now), self.view.comes(document, now)
        self.comes.say(unbroken(comes.words), "trouble" if comes.damp_at is not None else "ink")
        self.comes.setVisible(bool(comes.words))
        self.now.show_air(told)
        self.calendar.show_words([e.summary for e in entries(document.windows, now)])
        span = ZOOMS[self.zoom]
        start = minute - span * PAST_SHARE + self.turned
        picture = self.view.picture(document, now, start, start + span, timedelta(hours=_EVERY[self.zoom]))
        instead = "No air is known in these hours." if told.figures else told.words
        words = spoken(told, comes, self.view.bars(document, now))
        self.plot.show_picture(picture, f"Plot of the air, {self.zoom}. {words}", instead)

    # --- zooming -----------------------------------------------------------------------------------

    def zoom_to(self, key: str) -> None:
        """Show so much time: around now where now is in view, else around the middle of what is shown."""
        before, span = ZOOMS[self.zoom], ZOOMS[key]
        if 0 <= PAST_SHARE - self.turned / before <= 1:
            self.turned = self.turned * (span / before)
        else:
            self._turn_to(self.turned + (before - span) * (1 / 2 - PAST_SHARE))
        self.zoom = key
        self.zooms.offer([(k, k) for k in ZOOMS], key)
        self._name_zoom_keys()
        self.refresh(self.session.now())

    def turn(self, way: int) -> None:
        """Turn to an earlier (-1) or later (1) quarter of what is shown, or back to now (0)."""
        self._turn_to(self.turned + way * ZOOMS[self.zoom] / 4 if way else timedelta(0))
        self.refresh(self.session.now())

    def _turn_to(self, turned: timedelta) -> None:
        self.turned = max(-FARTHEST, min(FARTHEST, turned))

    def _name_zoom_keys(self) -> None:
        """Write + and - on the buttons beside the chosen one, which they lead to."""
        chosen = list(ZOOMS).index(self.zoom)
        for i, button in enumerate(self.zooms.findChildren(BenchButton)):
            button.key = {chosen - 1: "+", chosen + 1: "-"}.get(i, "")
            button.updateGeometry()
            button.update()

    def _step_zoom(self, way: int) -> None:
        keys = list(ZOOMS)
        self.zoom_to(keys[max(0, min(len(keys) - 1, keys.index(self.zoom) + way))])

    def _roll(self, way: int) -> None:
        bar = self.area.verticalScrollBar()
        bar.setValue(bar.value() + way * bar.pageStep())

    def _say_and_show(self, words: str) -> None:
        self.said.emit(words)
        self.refresh(self.session.now())

    # --- keys --------------------------------------------------------------------------------------

    def _own(self, event: QKeyEvent) -> bool:
        """Whether a key is this page's: the arrows, Home, plus and minus. A field that is typed in takes them first."""
        return event.key() in _KEYS and not event.modifiers() & Qt.KeyboardModifier.ControlModifier

    def event(self, event: QEvent) -> bool:
        if event.type() is QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent) and self._own(event):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        elif self._own(event):
            what, way = _KEYS[Qt.Key(event.key())]
            {"turn": self.turn, "zoom": self._step_zoom, "roll": self._roll}[what](way)
        else:
            super().keyPressEvent(event)
            return
        event.accept()


_KEYS = {
    Qt.Key.Key_Left: ("turn", -1), Qt.Key.Key_Right: ("turn", 1), Qt.Key.Key_Home: ("turn", 0),
    Qt.Key.Key_Plus: ("zoom", -1), Qt.Key.Key_Equal: ("zoom", -1), Qt.Key.Key_Minus: ("zoom", 1),
    Qt.Key.Key_PageUp: ("roll", -1), Qt.Key.Key_PageDown: ("roll", 1),
}  # fmt: skip
