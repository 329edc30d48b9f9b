"""The lines of a trial that is run: each is an act on some strips, with its countdown and a bar along its foot."""

from datetime import datetime

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QSizePolicy

from benchtool.bench.bars import draw_bar, steps_of
from benchtool.bench.controls import hatch
from benchtool.bench.look import GRID, Look, elided
from benchtool.bench.tips import plain_tip
from benchtool.session.due import CLOSING, NOW
from benchtool.session.trialrun import NextAct
from benchtool.session.trialwords import upper
from benchtool.trade.saying import say

GUTTER = int(1.5 * GRID)
"""Room left of the words for the mark of a line that needs hands or is hurried."""

FOOT = 5
"""The height of the bar at the foot of a line."""


def tone_of(act: NextAct, now: datetime) -> str:
    """Give the colour of an act: hurried, by hands, or waiting."""
    return {CLOSING: "trouble", NOW: "accent"}.get(act.rank(now), "ink")


class ActRow(QAbstractButton):
    """One act of the list. The one in hand is framed; what is about strips set aside is hatched."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.act: NextAct | None = None
        self.now: datetime | None = None
        self.in_hand = False
        self._drawn: object = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        look.changed.connect(self._relook)
        self._relook()

    def _relook(self) -> None:
        self.setFixedHeight(self.look.target + GRID)
        figures = QFontMetricsF(self.look.title).horizontalAdvance("00 d 00:00")
        clock = QFontMetricsF(self.look.small).horizontalAdvance("until Wed 00:00")
        self._figures = int(max(figures, clock)) + GRID
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(30 * GRID, self.height())

    def show_act(self, act: NextAct, now: datetime, *, in_hand: bool) -> None:
        """Show this act; repaint only what looks different."""
        bar = act.bar(now)
        steps = steps_of(bar) if bar is not None else None
        drawn = (act, in_hand, act.rank(now), act.clock(now), steps, act.numerals(now))
        if drawn == self._drawn:
            return
        before, self._drawn = self._drawn, drawn
        if act is not self.act:
            self.setAccessibleName(act.words)
            self.setToolTip(plain_tip(act.words))
        self.setAccessibleDescription(say("in hand") if in_hand else "")
        self.act, self.now, self.in_hand = act, now, in_hand
        if isinstance(before, tuple) and before[:-1] == drawn[:-1]:
            self.update(self.width() - self._figures, 0, self._figures, self._middle)
        else:
            self.update()

    @property
    def _middle(self) -> int:
        return int((self.height() - FOOT - 4) * 0.54)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t, look, act, now = QPainter(self), self.look.theme, self.look, self.act, self.now
        box = QRectF(self.rect())
        painter.fillRect(box, t.color("raised" if self.in_hand else "paper"))
        if act is None or now is None:
            painter.end()
            return
        tone, middle, low, right = tone_of(act, now), float(self._middle), box.height() - FOOT - 4, box.right() - GRID
        numerals, clock = act.numerals(now), " ".join(filter(None, act.clock(now)))
        painter.setFont(look.title)
        painter.setPen(t.color(tone))
        width = QFontMetricsF(look.title).horizontalAdvance(numerals)
        line = Qt.AlignmentFlag.AlignVCenter
        painter.drawText(QRectF(right - width - 2, 0, width + 2, middle), line, numerals)
        if tone == "accent":
            painter.fillRect(QRectF(0, 4, GRID / 2, low - 4), t.color("accent"))
        if tone == "trouble":
            hatch(painter, QRectF(0, 4, GRID, low - 4), t.color("trouble"), gap=6, width=2)
        painter.setFont(look.small)
        painter.setPen(t.color("quiet"))
        beside = QFontMetricsF(look.small).horizontalAdvance(clock)
        painter.drawText(QRectF(right - beside - 2, middle, beside + 2, low - middle), line, clock)
        who = say("set aside: {strips}", strips=act.who) if act.aside else act.who
        room = right - beside - GUTTER - 1.5 * GRID
        lower = QRectF(GUTTER, middle, room, low - middle)
        painter.drawText(lower, line, elided(upper(who), look.small, room))
        room = right - width - GUTTER - 1.5 * GRID
        painter.setFont(look.strong)
        painter.setPen(t.color("quiet" if act.aside else "ink"))
        painter.drawText(QRectF(GUTTER, 0, room, middle), line, elided(act.what, look.strong, room))
        bar = act.bar(now)
        if bar is not None:
            foot = QRectF(GUTTER, box.bottom() - FOOT - 3, right - GUTTER, FOOT)
            done = t.color("wait" if tone == "ink" else tone)
            draw_bar(painter, foot, bar, done=done, line=t.color("line"), ink=t.color("quiet"))
        else:
            painter.fillRect(QRectF(GUTTER, box.bottom() - 2, right - GUTTER, 1), t.color("line"))
        if self.in_hand:
            painter.setPen(QPen(t.color("ink"), 1))
            painter.drawRect(box.adjusted(0.5, 0.5, -0.5, -0.5))
        painter.end()
