"""The systems of a trial that is being set up, one line each, and what is done with the one in hand."""

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QKeyEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Words, readable_on
from benchtool.bench.look import GRID, Look, elided
from benchtool.bench.planparts import Buttons
from benchtool.bench.tips import plain_tip
from benchtool.session.trialsetup import Offer, Ready
from benchtool.trade.saying import say


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemFacts:
    """What one line shows; `strips` are the numbers of its strips, as words, `against` what speaks against it."""

    key: str
    letter: str
    name: str
    stack: str
    strips: str = ""
    colour: str | None = None
    control: bool = False
    picked: bool = False
    against: str = ""


class SystemRow(QAbstractButton):
    """One system: its letter in a small shape (a square for the control), its name, its stack, its strips."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.facts = SystemFacts(key="", letter="", name="", stack="")
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        look.changed.connect(self._relook)
        self._relook()

    def _relook(self) -> None:
        more = QFontMetricsF(self.look.small).height() + 2 if self.facts.against else 0
        self.setFixedHeight(int(self.look.target + more))
        self.update()

    def show_facts(self, facts: SystemFacts) -> None:
        """Show these; only the one in hand is a stop for Tab."""
        again, self.facts = bool(facts.against) is not bool(self.facts.against), facts
        if again:
            self._relook()
        control = say("control") if facts.control else ""
        told = ", ".join(
            x for x in (f"{facts.letter} {facts.name}", control, facts.stack, facts.strips, facts.against) if x
        )
        self.setAccessibleName(told)
        self.setToolTip(plain_tip("\n".join(x for x in (facts.name, facts.stack, facts.against) if x)))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus if facts.picked else Qt.FocusPolicy.ClickFocus)
        self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        # a button would hand the focus on, or be clicked: the arrows and Enter are the list's
        if event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Return, Qt.Key.Key_Enter):
            event.ignore()
        else:
            super().keyPressEvent(event)

    def sizeHint(self) -> QSize:
        return QSize(40 * GRID, self.height())

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t, f = QPainter(self), self.look.theme, self.facts
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        whole = QRectF(self.rect())
        if f.picked:
            painter.fillRect(whole, t.color("raised"))
            painter.fillRect(QRectF(0, 0, GRID / 2, whole.height()), t.color("accent"))
        painter.setPen(QPen(t.color("line"), 1))
        painter.drawLine(whole.bottomLeft(), whole.bottomRight())
        self._draw_tag(painter, QPointF(3 * GRID, self.look.target / 2))
        left, right = 5.5 * GRID, whole.right() - GRID
        small = QFontMetricsF(self.look.small)
        aside = [x for x in (say("control") if f.control else "", f.strips) if x]
        wide = min(0.4 * whole.width(), max((small.horizontalAdvance(x) for x in aside), default=0.0) + 2)
        for text, up in ((say("control") if f.control else "", True), (f.strips, False)):
            spot = self._line(right - wide, wide, up=up)
            painter.setFont(self.look.small)
            painter.setPen(t.color("ink" if up else "quiet"))
            flags = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight
            painter.drawText(spot, flags, elided(text, self.look.small, wide))
        room = right - left - (wide + 1.5 * GRID if aside else 0)
        for text, font, tone, up in (
            (f.name, self.look.strong, "ink", True),
            (f.stack, self.look.small, "quiet", False),
        ):
            painter.setFont(font)
            painter.setPen(t.color(tone))
            painter.drawText(self._line(left, room, up=up), Qt.AlignmentFlag.AlignVCenter, elided(text, font, room))
        if f.against:
            painter.setFont(self.look.small)
            painter.setPen(t.color("trouble"))
            spot = QRectF(left, self.look.target - 4, whole.right() - GRID - left, small.height())
            words = elided(f.against, self.look.small, spot.width())
            painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter, words)
        if self.hasFocus():
            painter.setPen(QPen(t.color("accent"), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(whole.adjusted(2, 2, -2, -2))
        painter.end()

    def _line(self, left: float, wide: float, *, up: bool) -> QRectF:
        middle = self.look.target / 2
        line = QFontMetricsF(self.look.strong).height()
        return QRectF(left, middle - line + 1 if up else middle - 1, max(0.0, wide), line)

    def _draw_tag(self, painter: QPainter, middle: QPointF) -> None:
        t, f = self.look.theme, self.facts
        paint = QColor(f.colour) if f.colour else QColor(t.color("paper"))
        box = QRectF(0, 0, 3.25 * GRID, 3.25 * GRID)
        box.moveCenter(middle)
        painter.setBrush(paint)
        painter.setPen(QPen(t.color("ink"), 1))
        if f.control:
            painter.drawRect(box)
        else:
            painter.drawEllipse(box)
        painter.setFont(self.look.strong)
        painter.setPen(readable_on(paint))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, f.letter)


class SystemList(QWidget):
    """The lines, and the systems that can be added. `tools` are the buttons for the one in hand: they stay in view.

    `picked` gives its key, `asked` what to do with it: change, control, double, out, up, down. `wanted` is an offer.
    Without a system there is a way to the product cards: `new_card`, `open_cards`.
    """

    picked = Signal(str)
    asked = Signal(str)
    wanted = Signal(object)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.rows: list[SystemRow] = []
        self.key = ""
        self._lines = QVBoxLayout()
        self._lines.setSpacing(0)
        self.change = BenchButton(look, say("Change"), say("Enter"), name="trial-system-change")
        self.control = BenchButton(look, say("Control"), "C", name="trial-system-control")
        self.control.setCheckable(True)
        self.double = BenchButton(look, say("Double"), "D", name="trial-system-double")
        self.out = BenchButton(look, say("Take out"), "Del", name="trial-system-out")
        self.up = BenchButton(look, say("Up"), "Ctrl+↑", name="trial-system-up")
        self.down = BenchButton(look, say("Down"), "Ctrl+↓", name="trial-system-down")
        self.acts = {
            "change": self.change, "control": self.control, "double": self.double, "out": self.out,
            "up": self.up, "down": self.down,
        }  # fmt: skip
        self.tools = Buttons((self.change, self.control, self.double, self.up, self.down, self.out))
        self.adding = Words(look, "small", "quiet", wrap=False)
        self.adding.say(say("Add a system"))
        self.nothing = Words(look, "body", "ink")
        self.nothing.say(
            say("No system yet. Pick the products of the first one; the others, and the control, can be made from it.")
        )
        self.new_card = BenchButton(look, say("New card"), "Ctrl+N", name="trial-new-card")
        self.open_cards = BenchButton(look, say("Open your cards"), name="trial-open-cards")
        self.cards = Buttons((self.new_card, self.open_cards), fill=False)
        self.told = Words(look, "small", "trouble")
        self._offers = QVBoxLayout()
        self._offers.setSpacing(GRID // 2)
        self.offer_buttons: list[BenchButton] = []
        self._offered: tuple[Offer, ...] = ()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID)
        column.addWidget(self.nothing)
        column.addLayout(self._lines)
        column.addWidget(self.told)
        self.between = QVBoxLayout()
        column.addLayout(self.between)
        column.addWidget(self.adding)
        column.addLayout(self._offers)
        column.addWidget(self.cards)
        for act, button in self.acts.items():
            button.clicked.connect(lambda _=False, a=act: self.asked.emit(a))

    def show_systems(self, systems: Sequence[SystemFacts], *, begun: bool) -> None:
        """Show these lines."""
        while len(self.rows) > len(systems):
            row = self.rows.pop()
            self._lines.removeWidget(row)
            row.hide()
            row.deleteLater()
        while len(self.rows) < len(systems):
            row = SystemRow(self.look)
            row.setObjectName(f"trial-system-{len(self.rows) + 1}")
            row.clicked.connect(lambda _=False, r=row: self.picked.emit(r.facts.key))
            self._lines.addWidget(row)
            self.rows.append(row)
        for row, facts in zip(self.rows, systems, strict=True):
            row.show_facts(facts)
        at = next((i for i, f in enumerate(systems) if f.picked), -1)
        self.key = systems[at].key if at >= 0 else ""
        self.tools.setVisible(bool(systems))
        self.nothing.setVisible(not systems)
        self.cards.setVisible(not systems)
        self.control.setChecked(at >= 0 and systems[at].control)
        self.control.setAccessibleDescription(say("chosen") if self.control.isChecked() else "")
        for act, button in self.acts.items():
            ends = (act == "up" and at <= 0) or (act == "down" and at >= len(systems) - 1)
            button.setEnabled(at >= 0 and not begun and not ends)

    def show_offers(self, offers: Sequence[Offer]) -> None:
        """Show what can be added at once."""
        if tuple(offers) == self._offered:
            return
        self._offered = tuple(offers)
        for old in self.offer_buttons:
            self._offers.removeWidget(old)
            old.hide()
            old.deleteLater()
        self.offer_buttons = []
        for i, offer in enumerate(offers):
            name = f"trial-offer-{i + 1}" if offer.kind is not Ready.EMPTY else "trial-offer-empty"
            button = BenchButton(self.look, offer.words, name=name)
            button.setToolTip(plain_tip(offer.words))
            button.clicked.connect(lambda _=False, o=offer: self.wanted.emit(o))
            self._offers.addWidget(button)
            self.offer_buttons.append(button)
        self.adding.setVisible(bool(offers))

    def take_focus(self) -> bool:
        """Put the focus on the system in hand, else on what can be added first; False where there is neither."""
        row = next((r for r in self.rows if r.facts.picked), None)
        there = row or next(iter(self.offer_buttons), None)
        if there is not None:
            there.setFocus(Qt.FocusReason.OtherFocusReason)
        return there is not None

    def has_row_focus(self) -> bool:
        """Say whether a line has the focus."""
        return any(r.hasFocus() for r in self.rows)
