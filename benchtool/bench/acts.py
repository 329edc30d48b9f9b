"""The act bar: what the hands do, each one key and one large target."""

import re
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QWidget

from benchtool.bench.controls import BenchButton
from benchtool.bench.keys import ACTIONS, Action
from benchtool.bench.look import GRID, Look
from benchtool.job.nextstep import Act
from benchtool.rules.preparing import step_of
from benchtool.session.session import Session
from benchtool.trade.saying import say_n

if TYPE_CHECKING:
    from benchtool.session.trialrun import NextAct

_ON_RUN = {"start": "COAT", "done": "FINISH", "mix": "MIX", "prep": ""}
"""What the acts on a piece are on the run of a trial, by the names of its kinds: a start loads none of it."""


def _words(act: "NextAct") -> str:
    """Say in the few words of a button which coat is started, or done, on how many strips."""
    state, many = act.document.state, len(act.strips)
    layer = state.layers.get(act.layer or "")
    coats = len(layer.coats) if layer is not None else 0
    if act.kind.name == "FINISH":
        return say_n("Coat {coat} done on {n} strip", "Coat {coat} done on {n} strips", many, coat=coats)
    return say_n("Start coat {coat} on {n} strip", "Start coat {coat} on {n} strips", many, coat=coats + 1)


def _function_key(action: Action) -> str:
    """Give the function key of an act: no page takes one; "" where it has none."""
    return next((key for key in action.keys if re.fullmatch(r"F\d+", key)), "")


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

    def refresh(self, stage: str = "", act: "NextAct | None" = None, taken: frozenset[str] = frozenset()) -> None:
        """Offer what the piece and layer in hand ask for.

        With a strip in hand `act` is what it asks for with others. On the page of trials (`stage`) the piece in hand is
        not seen: there only what S and D do on its run is offered, `act` being what stands large. `taken` are the keys
        that the page in sight has for itself: no button here shows one of them.
        """
        for action in ACTIONS:
            if action.button:
                key = _function_key(action) if action.keys[0] in taken else action.keys[0]
                self.buttons[action.id].show_key("" if stage == "photo" else key)  # its letters are its own
        self._of_record()
        if stage:
            self._of_stage(act if stage == "run" else None)
        else:
            self._of_piece(act)

    def _of_record(self) -> None:
        document = self.session.current
        writable = document is not None and not document.read_only
        self.buttons["reading"].setEnabled(writable)
        self.buttons["undo"].setEnabled(writable and document is not None and document.can_undo)
        quiet = self.session.alarms.quiet_until(self.session.now())
        self.buttons["silence"].say("Sound on" if quiet is not None else "Silence")

    def _of_stage(self, act: "NextAct | None") -> None:
        now = self.session.now()
        ready = act is not None and (not act.waits(now) or act.kind.name == "MIX")
        usual = {a.id: a.button for a in ACTIONS}
        for name, kind in _ON_RUN.items():
            mine = act if act is not None and ready and act.kind.name == kind else None
            words = _words(mine) if mine is not None and name in ("start", "done") else ""
            self.buttons[name].setEnabled(mine is not None)
            self.buttons[name].say(words or usual[name], primary=False)
        self.buttons["trial"].setEnabled(False)

    def _of_piece(self, together: "NextAct | None") -> None:
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
        if together is not None and together.kind.name == "COAT" and together.act is not None:
            start.say(_words(together), primary=False)  # the run is where it goes on
        done.setEnabled(writable and spraying)
        done.say(f"Coat {n} done" if spraying else "Coat done", primary=spraying and writable)
        self.buttons["mix"].setEnabled(layer is not None)
        self.buttons["mix"].say("Mix", primary=needed is Act.MIX and writable)
        for name in ("prep", "trial"):
            self.buttons[name].setEnabled(writable and piece is not None)
        self.buttons["prep"].say("Prep", primary=needed is Act.PREP and writable)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setPen(QPen(self.look.theme.color("line"), 1))
        painter.drawLine(0, 0, self.width(), 0)
        painter.end()
