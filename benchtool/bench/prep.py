"""The page of the prep plan: each step with what to do, why, with what and how it stands; a digit logs it."""

from datetime import datetime

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent, QPen, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Rule, Words, scrolled
from benchtool.bench.look import GRID, Look, elided
from benchtool.job.events import Prep
from benchtool.job.prepplan import PlannedStep, Standing, next_of
from benchtool.job.prepwords import agent_name, defers
from benchtool.job.state import PieceState
from benchtool.session import prepping
from benchtool.session.materials import short_name
from benchtool.session.session import Session
from benchtool.trade.saying import say

MARK = 4 * GRID
"""How wide the drawn state of a step is."""


class StateMark(QWidget):
    """The state of a step as a shape: a tick, a filled arrow, a ring, a broken ring, a stroke."""

    def __init__(self, look: Look, state: Standing) -> None:
        super().__init__()
        self.look, self.state = look, state
        self.setFixedSize(QSize(MARK, MARK))
        self.setAccessibleName(state_words(state))
        look.changed.connect(self.update)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t = QPainter(self), self.look.theme
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        middle, r = QPointF(self.rect().center()) + QPointF(0.5, 0.5), 1.25 * GRID
        ring = QRectF(middle.x() - r, middle.y() - r, 2 * r, 2 * r)
        if self.state is Standing.NEXT:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(t.color("accent"))
            x, y = middle.x(), middle.y()
            painter.drawPolygon([QPointF(x - 0.7 * r, y - r), QPointF(x + r, y), QPointF(x - 0.7 * r, y + r)])
        elif self.state is Standing.DONE:
            painter.setPen(QPen(t.color("ink"), 2.5, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
            x, y = middle.x(), middle.y()
            painter.drawPolyline([QPointF(x - r, y), QPointF(x - 0.3 * r, y + 0.7 * r), QPointF(x + r, y - 0.8 * r)])
        elif self.state is Standing.NOT_HERE:
            painter.setPen(QPen(t.color("quiet"), 2))
            painter.drawLine(QPointF(ring.left(), middle.y()), QPointF(ring.right(), middle.y()))
        else:
            style = Qt.PenStyle.DotLine if self.state is Standing.IF_NEEDED else Qt.PenStyle.SolidLine
            painter.setPen(QPen(t.color("quiet"), 1.5, style))
            painter.drawEllipse(ring)
        painter.end()


def state_words(state: Standing, done_at: datetime | None = None) -> str:
    """Say how a step stands."""
    if state is Standing.DONE and done_at is not None:
        return say("Done at {time}", time=f"{done_at.astimezone():%H:%M}")
    return {
        Standing.DONE: say("Done"),
        Standing.NEXT: say("Next"),
        Standing.LATER: say("Later"),
        Standing.IF_NEEDED: say("Only if it needs it"),
        Standing.NOT_HERE: say("Not for this piece"),
    }[state]


class StepRow(QWidget):
    """One step of the plan; `digit` logs it, 0 where nothing does. `used` says with what it was done."""

    logged = Signal()

    def __init__(self, look: Look, step: PlannedStep, digit: int, used: str) -> None:
        super().__init__()
        self.step, self.digit = step, digit
        self.setObjectName(f"prep-row-{step.part.name.lower()}")
        quiet = step.state is Standing.NOT_HERE
        name, state = Words(look, "strong", "quiet" if quiet else "ink"), Words(look, "small", "quiet")
        name.say(step.name)
        state.say(state_words(step.state, step.done_at), "accent" if step.state is Standing.NEXT else "quiet")
        left = QVBoxLayout()
        left.setSpacing(2)
        left.addWidget(name)
        left.addWidget(state)
        left.addStretch(1)
        told = QVBoxLayout()
        told.setSpacing(2)
        for size, tone, words in _lines(step, used):
            if words:
                line = Words(look, size, tone)
                line.say(words)
                told.addWidget(line)
        told.addStretch(1)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, GRID, 0, GRID)
        row.setSpacing(2 * GRID)
        row.addWidget(StateMark(look, step.state), 0, Qt.AlignmentFlag.AlignTop)
        row.addLayout(left, 2)
        row.addLayout(told, 9)
        self.button: BenchButton | None = None
        if digit:
            again = step.state is Standing.DONE
            text = say("Log it again") if again else say("Log it")
            next_ = step.state is Standing.NEXT
            self.button = BenchButton(look, text, str(digit), name=f"prep-log-{digit}", primary=next_)
            self.button.setAccessibleName(f"{text}: {step.name}")
            self.button.clicked.connect(self.logged)
            row.addWidget(self.button, 2, Qt.AlignmentFlag.AlignTop)
        else:
            row.addWidget(QWidget(), 2)  # as wide as a button, so that the columns of all rows are one


def _lines(step: PlannedStep, used: str) -> list[tuple[str, str, str]]:
    """Give what is told of a step, each line with its size and tone; of a done one only what was done."""
    if step.state is Standing.DONE:
        return [("body", "quiet", " ".join(filter(None, (step.words, used))))]
    bold, faint = step.state is Standing.NEXT, step.state is Standing.NOT_HERE
    return [
        ("strong" if bold else "body", "quiet" if faint else "ink", step.words),
        ("body", "quiet", step.reason),
        *(("small", "trouble", say("Caution: {words}", words=c)) for c in step.cautions),
        ("small", "quiet", say("Source: {source}", source=step.source)),
    ]


class PrepPage(QWidget):
    """The prep plan of the piece in hand. `log_asked` gives what to log, `other_asked` a step done by other means."""

    letters = frozenset("0123456789")
    left = Signal()
    said = Signal(str)
    log_asked = Signal(object)
    other_asked = Signal(object)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.look, self.session = look, session
        self.setObjectName("prep-page")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.title = Words(look, "title", "ink", wrap=False)
        self.title.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.lead = Words(look, "body", "quiet")
        self.rows: list[StepRow] = []
        self._plan: tuple[PlannedStep, ...] = ()
        self._shown: object = None
        self.body = QWidget()
        self._list = QVBoxLayout(self.body)
        self._list.setContentsMargins(0, 0, GRID, GRID)
        self._list.setSpacing(0)
        self.area = scrolled(self.body)
        self.go = BenchButton(look, "", "Enter", name="prep-page-go", primary=True)
        self.other = BenchButton(look, say("Done with something else"), "0", name="prep-page-other")
        back = BenchButton(look, say("Back to the bench"), "Esc", name="prep-page-back")
        self.go.clicked.connect(self._log_next)
        self.other.clicked.connect(self._ask_other)
        back.clicked.connect(self.left)
        foot = QHBoxLayout()
        foot.setContentsMargins(0, 0, GRID, 0)
        foot.setSpacing(GRID)
        for button in (self.go, self.other, back):
            button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
            foot.addWidget(button)
        foot.insertStretch(2, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(2 * GRID, GRID, GRID, GRID)
        column.setSpacing(GRID)
        for part in (self.title, self.lead, self.area):
            column.addWidget(part, 1 if part is self.area else 0)
        column.addLayout(foot)
        session.subscribe(self._follow)
        look.changed.connect(self._entitle)

    # --- what is shown -----------------------------------------------------------------------------

    def ask(self, piece: PieceState | None = None) -> None:
        """Show the plan of the piece in hand (`piece` is that)."""
        self._shown = None
        self.refresh()

    def refresh(self, now: datetime | None = None) -> None:
        """Draw it anew where it has changed."""
        plan, piece = prepping.plan_in_hand(self.session), self.session.piece
        name = piece.piece.name if piece is not None else ""
        shown = (plan, name, self.session.current)
        if shown == self._shown:
            return
        self._shown, self._plan = shown, plan
        self._entitle()
        self._fill()

    def _follow(self) -> None:
        if self.isVisible():
            self.refresh()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.refresh()

    def _entitle(self) -> None:
        piece = self.session.piece
        if piece is None:
            self.title.say(say("No piece is in hand."))
            self.lead.say("")
            return
        material = short_name(self.session.tables.substrate_of(piece.piece))
        heading = say("Prep plan: {piece}, {material}", piece=piece.piece.name, material=material)
        self.title.say(elided(heading, self.look.title, max(self.width() - 4 * GRID, 40 * GRID)))
        self.title.setToolTip(heading)

    def _fill(self) -> None:
        while (item := self._list.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
        self.rows, digit = [], 0
        mine = [s for s in self._plan if s.state is not Standing.NOT_HERE]
        for step in (*mine, *(s for s in self._plan if s.state is Standing.NOT_HERE)):
            may = step.step is not None and step.state is not Standing.NOT_HERE and digit < 9
            digit += may
            row = StepRow(self.look, step, digit if may else 0, self._used(step))
            row.logged.connect(lambda s=step: self._log(s))
            if self.rows:
                self._list.addWidget(Rule(self.look, upright=False))
            self._list.addWidget(row)
            self.rows.append(row)
        self._list.addStretch(1)
        QTimer.singleShot(0, self, self._show_next)
        following = next_of(self._plan)
        open_ = self.session.current is not None and not self.session.current.read_only
        loggable = following is not None and following.step is not None and open_
        self.go.setVisible(loggable)
        if following is not None:
            self.go.say(say("Log it: {step}", step=following.name))
        self.other.setVisible(open_ and any(s.step in _WITH for s in mine))
        cautions = any(s.cautions for s in self._plan)
        self.lead.say(" ".join(filter(None, (self._stands(following), defers() if cautions else ""))))

    def _show_next(self) -> None:
        """Roll to what is next, with what was just done above it."""
        at = next((i for i, r in enumerate(self.rows) if r.step.state is Standing.NEXT), None)
        self.area.verticalScrollBar().setValue(0 if at is None else self.rows[max(0, at - 1)].y())

    def _stands(self, following: PlannedStep | None) -> str:
        if following is not None:
            return say("Next: {step}.", step=following.brief[:1].lower() + following.brief[1:])
        if not self._plan:
            return ""
        if any(s.state is Standing.LATER for s in self._plan):
            return say("What is on it has to dry first.")
        piece = self.session.piece
        if piece is not None and piece.top is not None and piece.current is None:
            return say("All its planned coats are on.")
        return say("All of its prep plan is done.")

    def _used(self, step: PlannedStep) -> str:
        """Say with what a step was really done."""
        if step.logged is None:
            return ""
        if step.logged.agent is not None:
            cleaner = agent_name(step.logged.agent, self.session.tables.cleaners)
            return say("It was done with {cleaner}.", cleaner=cleaner)
        if step.logged.grit is not None:
            return say("It was done down to P{grit}.", grit=step.logged.grit)
        return say("It stayed in one sheet.") if step.logged.passed else ""

    # --- acts --------------------------------------------------------------------------------------

    def _log(self, step: PlannedStep) -> None:
        piece = self.session.piece
        if piece is not None and step.step is not None:
            self.log_asked.emit(prepping.logged(piece.id, step.step, (step,)))

    def _log_next(self) -> None:
        following = next_of(self._plan)
        if following is not None:
            self._log(following)

    def _ask_other(self) -> None:
        """Ask for the step in hand, else the next one, else the first that can be done with something else."""
        focused = [r.step for r in self.rows if r.button is not None and r.button.hasFocus()]
        following = next_of(self._plan)
        wanted = [*focused, *((following,) if following is not None else ()), *self._plan]
        step = next((s.step for s in wanted if s.step in _WITH and s.state is not Standing.NOT_HERE), None)
        if step is not None:
            self.other_asked.emit(step)

    # --- the keyboard ------------------------------------------------------------------------------

    def event(self, event: QEvent) -> bool:
        """Keep the digits and the arrows for the page: elsewhere in the window they are keys of other acts."""
        if event.type() is QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent) and event.key() in _KEYS:
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, bar = event.key(), self.area.verticalScrollBar()
        number = key - Qt.Key.Key_0
        if key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            bar.setValue(bar.value() + (6 if key == Qt.Key.Key_Down else -6) * GRID)
        elif key in (Qt.Key.Key_Home, Qt.Key.Key_End):
            bar.setValue(bar.minimum() if key == Qt.Key.Key_Home else bar.maximum())
        elif event.isAutoRepeat():
            event.accept()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            focused = next((r.step for r in self.rows if r.button is not None and r.button.hasFocus()), None)
            self._log(focused) if focused is not None else self._log_next()
        elif 1 <= number <= 9:
            step = next((r.step for r in self.rows if r.digit == number), None)
            if step is not None:
                self._log(step)
        elif number == 0 and not self.other.isHidden():
            self._ask_other()
        elif key == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)
            return
        event.accept()


_WITH: frozenset[Prep | None] = frozenset({*prepping.WITH_AGENT, *prepping.WITH_GRIT})
_KEYS = frozenset(
    (*(Qt.Key(Qt.Key.Key_0 + n) for n in range(10)), Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Home, Qt.Key.Key_End)
)
