"""The act bar: what the hands do, each one key and one large target."""

from PySide6.QtCore import Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QWidget

from benchtool.bench.controls import BenchButton
from benchtool.bench.keys import ACTIONS
from benchtool.bench.look import GRID, Look
from benchtool.job.nextstep import Act
from benchtool.rules.preparing import step_of
from benchtool.session.session import Session


class ActBar(QWidget):
    """The buttons along the foot of the bench; the one that is needed now is filled."""

    asked = Signal(str)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.look = look
        self.session = session
        self.setObjectName("acts")
        self.buttons: dict[str, BenchButton] = {}
        row = QHBoxLayout(self)
        row.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        row.setSpacing(GRID)
        for act in ACTIONS:
            if not act.button:
                continue
            button = BenchButton(look, act.button, act.keys[0], name=f"act-{act.id}")
            button.setToolTip(act.title)
            button.clicked.connect(lambda _=False, a=act.id: self.asked.emit(a))
            self.buttons[act.id] = button
            row.addWidget(button, 2 if act.id in ("start", "done") else 1)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        look.changed.connect(self._relook)
        self._relook()

    def _relook(self) -> None:
        self.setFixedHeight(self.look.target + 2 * GRID)

    def refresh(self) -> None:
        """Offer what the piece and layer in hand ask for."""
        document, piece, layer = self.session.current, self.session.piece, self.session.layer
        writable = document is not None and not document.read_only
        spraying = layer is not None and layer.open_coat is not None
        step = (
            step_of(document.state, piece, self.session.tables, self.session.now())
            if document is not None and piece is not None
            else None
        )
        on_this = step is not None and layer is not None and step.layer == layer.id
        needed = step.act if step is not None and on_this else None
        n = layer.coats_done + 1 if layer is not None else 1
        start, done = self.buttons["start"], self.buttons["done"]
        start.setEnabled(writable and layer is not None and not spraying)
        start.say(f"Start coat {n}", primary=needed is Act.COAT and start.isEnabled())
        done.setEnabled(writable and spraying)
        done.say(f"Coat {n} done" if spraying else "Coat done", primary=spraying and writable)
        self.buttons["mix"].setEnabled(layer is not None)
        self.buttons["mix"].say("Mix", primary=needed is Act.MIX and writable)
        for name in ("prep", "trial"):
            self.buttons[name].setEnabled(writable and piece is not None)
        self.buttons["prep"].say("Prep", primary=needed is Act.PREP and writable)
        self.buttons["reading"].setEnabled(writable)
        self.buttons["undo"].setEnabled(writable and document is not None and document.can_undo)
        quiet = self.session.alarms.quiet_until(self.session.now())
        self.buttons["silence"].say("Sound on" if quiet is not None else "Silence")

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setPen(QPen(self.look.theme.color("line"), 1))
        painter.drawLine(0, 0, self.width(), 0)
        painter.end()
