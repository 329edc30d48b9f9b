"""The top of the bench: the job, its pieces with what each asks for, the air and the clock."""

import math
from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QFontMetricsF, QMouseEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Words, scrolled
from benchtool.bench.look import GRID, Look, elided, elided_amid
from benchtool.bench.piecemarks import MARK, MoreMark
from benchtool.bench.tips import plain_tip
from benchtool.job.nextstep import Act, NextStep
from benchtool.job.record import Job
from benchtool.job.trials import TrialState
from benchtool.rules.preparing import step_of
from benchtool.session.session import Document, Session
from benchtool.trade.numbers import clock_words, span_words
from benchtool.trade.saying import say

BY_THE_SECOND_S = 600.0
"""From so many seconds before its end a wait is told by the second (judgement)."""

if TYPE_CHECKING:
    from benchtool.session.carddiff import OlderCopies


class Chip(QAbstractButton):
    """One piece: its number key, its name, what it asks for."""

    def __init__(self, look: Look, piece_id: str, number: int) -> None:
        super().__init__()
        self.look = look
        self.piece_id, self.number = piece_id, number
        self.words, self.hands, self.numbered = "", False, True
        self.known: tuple[Job | None, datetime | None] = (None, None)
        self.setObjectName(f"piece-{piece_id}")
        self.setCheckable(True)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        look.changed.connect(self._relook)
        self._relook()

    def _relook(self) -> None:
        self.setFixedHeight(self.look.target + GRID // 2)
        self.updateGeometry()

    def waits(self, job: Job, now: datetime) -> bool:
        """Whether the piece can only be in the same wait as when it was last shown."""
        known, until = self.known
        return known is job and until is not None and now < until

    def show_piece(self, name: str, words: str, *, hands: bool, picked: bool) -> None:
        """Show the piece as it stands."""
        if name != self.text():
            self.setText(name)
            self.updateGeometry()
            self.update()
        if (words, hands, picked) != (self.words, self.hands, self.isChecked()):
            same_box = picked == self.isChecked()
            self.words, self.hands = words, hands
            self.setChecked(picked)
            self.setAccessibleName(f"{name}: {words}")
            self.setToolTip(plain_tip(f"{name}\n{words}"))
            top = self.height() // 2 if same_box else 0
            self.update(0, top, self.width(), self.height() - top)

    def sizeHint(self) -> QSize:
        name = QFontMetricsF(self.look.strong).horizontalAdvance(self.text())
        words = QFontMetricsF(self.look.small).horizontalAdvance(self.words)
        return QSize(int(min(max(name + 2 * GRID, words), 38 * GRID)) + 4 * GRID, self.height())

    def minimumSizeHint(self) -> QSize:
        return QSize(13 * GRID, self.height())

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t, look = QPainter(self), self.look.theme, self.look
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        if self.isChecked():
            painter.setBrush(t.color("raised"))
            painter.setPen(QPen(t.color("line"), 1))
            painter.drawRoundedRect(box, 3, 3)
            painter.fillRect(QRectF(box.left() + 3, box.bottom() - 3, box.width() - 6, 3), t.color("accent"))
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(t.color("accent"), 2))
            painter.drawRoundedRect(box.adjusted(2, 2, -2, -2), 2, 2)
        room = box.width() - 3 * GRID
        numbered = self.numbered and self.number <= 9 and box.width() > 14 * GRID
        name_room = room - (2 * GRID if numbered else 0)
        painter.setFont(look.strong)
        painter.setPen(t.color("ink"))
        line = painter.fontMetrics().height()
        middle = box.center().y()
        spot = QRectF(box.left() + 1.5 * GRID, middle - line, room, line)
        upper = event.rect().top() < self.height() // 2
        if upper:
            painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, elided(self.text(), look.strong, name_room))
        if upper and numbered:
            painter.setFont(look.small)
            painter.setPen(t.color("quiet"))
            corner = QRectF(box.right() - 3 * GRID, spot.top(), 2 * GRID, line)
            painter.drawText(corner, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, str(self.number))
        painter.setFont(look.small)
        painter.setPen(t.color("accent" if self.hands else "quiet"))
        spot = QRectF(box.left() + 1.5 * GRID, middle, room, line)
        painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, elided(self.words, look.small, room))
        painter.end()


class Edge(QWidget):
    """A short upright line where the row of pieces begins and ends."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.setFixedWidth(1)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(QRectF(0, GRID, 1, self.height() - 2 * GRID), self.look.theme.color("line"))
        painter.end()


class Corner(QWidget):
    """The air of the last reading and the clock; a touch asks for the page of the air."""

    asked = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("air-corner")
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setToolTip("The air over time, the night to come, the logger (G)")

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton and self.rect().contains(event.position().toPoint()):
            self.asked.emit()


class Header(QWidget):
    """The job and its pieces."""

    job_asked = Signal()
    piece_asked = Signal()
    air_asked = Signal()
    trial_asked = Signal(str)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.look = look
        self.session = session
        self.setObjectName("header")
        self._chips: dict[str, Chip] = {}
        self._in_view: str | None = None
        self._digits = True
        self._named: tuple[Job, str, str] | None = None
        self._copies: OlderCopies | None = None
        self.job = BenchButton(look, "Job", "J", name="job")
        self.job.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self.title = Words(look, "strong", "ink", wrap=False)
        self.sub = Words(look, "small", "quiet", wrap=False)
        for words in (self.title, self.sub):
            words.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        names = QVBoxLayout()
        names.setSpacing(0)
        names.addStretch(1)
        names.addWidget(self.title)
        names.addWidget(self.sub)
        names.addStretch(1)
        box = QWidget()
        self.row = QHBoxLayout(box)
        self.row.setContentsMargins(0, 0, 0, 0)
        self.row.setSpacing(GRID // 2)
        self.add = BenchButton(look, "Add piece", "A", name="add-piece")
        self.add.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self.add.clicked.connect(self.piece_asked)
        self.row.addStretch(1)
        area = self.area = scrolled(box)
        area.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.marks = (MoreMark(look, area, before=True), MoreMark(look, area, before=False))
        area.horizontalScrollBar().valueChanged.connect(lambda _: self._mark_more())
        area.horizontalScrollBar().rangeChanged.connect(lambda _a, _b: self._roll_in())
        self.air = Words(look, "strong", "ink", wrap=False)
        self.clock = Words(look, "small", "quiet", wrap=False)
        for words in (self.air, self.clock):
            words.setAlignment(Qt.AlignmentFlag.AlignRight)
        corner = Corner()
        corner.asked.connect(self.air_asked)
        right = QVBoxLayout(corner)
        right.setContentsMargins(0, 0, 0, 0)
        right.setSpacing(0)
        right.addStretch(1)
        right.addWidget(self.air)
        right.addWidget(self.clock)
        right.addStretch(1)
        line = QHBoxLayout(self)
        line.setContentsMargins(2 * GRID, GRID // 2, 2 * GRID, GRID // 2)
        line.setSpacing(GRID)
        line.addWidget(self.job)
        line.addLayout(names, 5)
        line.addWidget(Edge(look))
        line.addWidget(area, 14)
        line.addWidget(Edge(look))
        line.addWidget(self.add)
        line.addWidget(corner)
        self.job.clicked.connect(self.job_asked)
        look.changed.connect(self._relook)
        self._relook()

    def _relook(self) -> None:
        self.setFixedHeight(self.look.target + 2 * GRID)
        # Of one size whatever it says: else the whole window would be laid out anew each second.
        metrics = QFontMetricsF(self.look.small)
        wide = metrics.horizontalAdvance("00 days ago   00:00:00")
        self.clock.setFixedSize(int(wide) + GRID, int(metrics.height()) + 2)

    def refresh(self, now: datetime) -> None:
        """Show the job in hand as it stands at `now`."""
        document, clock = self.session.current, f"{now.astimezone():%H:%M:%S}"
        last = document.state.last_reading if document is not None else None
        if last is not None:
            age = (now - last.at).total_seconds()
            clock = f"{span_words(max(age, 0))} ago   {clock}"
        self.clock.say(clock)
        if document is None:
            self._named = None
            self.title.say("No job open")
            self.sub.say(say("{key} opens or begins one", key=self.job.key or "Ctrl+O"))
            self._show_chips({})
            self.air.say("")
            self.add.setEnabled(False)
            return
        alike = any(d is not document and d.title[:12] == document.title[:12] for d in self.session.documents)
        self.title.shorten = elided_amid if alike else elided
        older = self._older_cards(document)
        if self._named is None or self._named[0] is not document.job or self._named[1:] != (document.read_only, older):
            self._named = (document.job, document.read_only, older)
            self._name(document, older)
        for trial in _open_trials(document):
            self._show_trial(document, trial, now)
        for piece in document.state.painted:
            chip, picked = self._chips[piece.id], piece.id == self.session.piece_id
            if chip.waits(document.job, now):
                if picked == chip.isChecked() and chip.visibleRegion().isEmpty():
                    continue  # only its countdown has gone on, and nobody sees it
                due = chip.known[1]
                words = _wait_words((due - now).total_seconds()) if due is not None else ""
                chip.show_piece(piece.piece.name, words, hands=False, picked=picked)
                continue
            step = step_of(document.state, piece, self.session.tables, now)
            chip.show_piece(piece.piece.name, _short(step, now), hands=step.hands, picked=picked)
            chip.known = (document.job, step.due_at)
        if self.session.piece_id in self._chips and self.session.piece_id != self._in_view:
            self._in_view = self.session.piece_id
            self._roll_in()

    def _roll_in(self) -> None:
        """Roll the piece in hand into sight, and mark at the ends of the row what is not."""
        chip = self._chips.get(self.session.piece_id or "")
        if chip is not None:
            self.area.ensureWidgetVisible(chip, MARK + GRID // 2, 0)
        self._mark_more()

    def _mark_more(self) -> None:
        left = self.area.horizontalScrollBar().value()
        right = left + self.area.viewport().width()
        spots = [chip.geometry() for chip in self._chips.values()]
        self.marks[0].show_count(sum(spot.center().x() < left + MARK and spot.left() < left for spot in spots))
        beyond = sum(spot.center().x() > right - MARK and spot.right() >= right for spot in spots)
        self.marks[1].show_count(beyond)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        QTimer.singleShot(0, self, self._mark_more)  # the row is laid out after this

    def _older_cards(self, document: Document) -> str:
        """Say how many cards of this job are older than the library's, once that was looked at."""
        library = self.session.library
        if library is None or library.known() is None:
            return ""
        if self._copies is None:
            from benchtool.session.carddiff import OlderCopies

            self._copies = OlderCopies(self.session)
        return self._copies.words(document)

    def _name(self, document: Document, older: str) -> None:
        """Show what only an act changes: the job, its air, which pieces there are."""
        self.title.say(document.title)
        self.title.setToolTip(plain_tip(str(document.path)))
        mark = document.state.customer or document.path.name
        if document.read_only:
            mark = f"Read-only: {mark}"
        if document.job.demo:
            mark = "Demo, not a data sheet"
        if older:
            mark = older
        self.sub.say(mark)
        self.sub.setToolTip(plain_tip(f"{mark}\n{document.path}"))
        self.add.setEnabled(not document.read_only)
        reading = document.state.last_reading
        if reading is not None:
            self.air.say(f"{reading.air_degC:g} °C  {reading.humidity_percent:g} %")
        else:
            self.air.say("No reading yet")
        self._show_chips(_names(document))

    def show_digits(self, shown: bool) -> None:
        """Show with each piece the digit that takes it in hand, or, where the digits are for something else, none."""
        self._digits = shown
        for chip in self._chips.values():
            if chip.numbered is not shown:
                chip.numbered = shown
                chip.update()

    def show_keys(self, taken: frozenset[str]) -> None:
        """Show the keys of the two buttons here, but none that the page in sight has `taken`."""
        for button, key in ((self.job, "J"), (self.add, "A")):
            if key in taken and button.key:
                button.setMinimumWidth(button.sizeHint().width())  # nothing beside it moves when its key goes
            elif key not in taken:
                button.setMinimumWidth(0)
            button.show_key("" if key in taken else key)

    def places(self) -> list[tuple[str, str | None]]:
        """Give what the digits take in hand: each piece and, after them, each trial (its id is the second)."""
        document = self.session.current  # and not what is shown: in the far view nothing of this is drawn
        names = _names(document) if document is not None else {}
        return [(k, None) if not k.startswith(_TRIAL) else ("", k.removeprefix(_TRIAL)) for k in names]

    def _show_trial(self, document: Document, trial: TrialState, now: datetime) -> None:
        chip = self._chips[_TRIAL + trial.id]
        picked = self.session.piece is not None and self.session.piece.piece.strip_of == trial.id
        if not chip.waits(document.job, now) or picked != chip.isChecked():
            from benchtool.session.trialchip import trial_chip

            words, hands, until = trial_chip(document.state, document.windows, trial, now)
            chip.show_piece(trial.plan.name, words, hands=hands, picked=picked)
            chip.known = (document.job, until)

    def _touched(self, place: str) -> None:
        if place.startswith(_TRIAL):
            self.trial_asked.emit(place.removeprefix(_TRIAL))
        else:
            self.session.pick(place)

    def _show_chips(self, names: dict[str, str]) -> None:
        if tuple(self._chips) == tuple(names):
            return
        for chip in self._chips.values():
            self.row.removeWidget(chip)
            chip.hide()
            chip.deleteLater()
        self._chips = {}
        for i, piece_id in enumerate(names):
            chip = Chip(self.look, piece_id, i + 1)
            chip.numbered = self._digits
            chip.clicked.connect(lambda _=False, k=piece_id: self._touched(k))
            self.row.insertWidget(i, chip)
            self._chips[piece_id] = chip

    def paintEvent(self, event: QPaintEvent) -> None:
        if event.rect().bottom() < self.height() - 1:
            return
        painter = QPainter(self)
        painter.setPen(QPen(self.look.theme.color("line"), 1))
        painter.drawLine(0, self.height() - 1, self.width(), self.height() - 1)
        painter.end()


_TRIAL = "trial:"
"""What the place of a trial begins with, to tell it from a piece's."""


def _open_trials(document: Document) -> list[TrialState]:
    return [t for t in document.state.trials.values() if t.ended_at is None]


def _names(document: Document) -> dict[str, str]:
    pieces = {p.id: p.piece.name for p in document.state.painted}
    return pieces | {_TRIAL + t.id: t.plan.name for t in _open_trials(document)}


def _short(step: NextStep, now: datetime) -> str:
    if step.act is Act.WAIT and step.due_at is not None:
        return _wait_words((step.due_at - now).total_seconds())
    return step.short or step.words


def _wait_words(left_s: float) -> str:
    """Say how long to wait: by the second for the last ten minutes, before that by the minute, and never too short.

    The watch beside it tells the seconds of all; a row of pieces whose figures all run says nothing at a glance.
    """
    if left_s <= BY_THE_SECOND_S:
        return f"Wait {clock_words(left_s)}"
    hours, minutes = divmod(math.ceil(left_s / 60), 60)
    return f"Wait {hours} h {minutes:02d} min" if hours else f"Wait {minutes} min"
