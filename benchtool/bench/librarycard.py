"""The card in hand, on the page of the library: all it says, where from, what is amiss, and which jobs use it."""

from collections.abc import Sequence
from typing import NamedTuple

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.look import GRID, Look
from benchtool.job.cards import Card
from benchtool.session.carddiff import OtherCopy, differences_words, other_copies
from benchtool.session.librarypage import MOST_TITLE, Block, check_words, detail, general_origin, soft, use_words
from benchtool.session.session import Session
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say, say_n

MOST_CHECKS = 6
MOST_DIFFERENCES = 8
MOST_KEYS = 9
"""Open jobs that have a key of their own."""
_WRAP = Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignLeft


class _Piece(NamedTuple):
    box: QRectF
    text: str
    font: QFont
    tone: str


class Facts(QWidget):
    """The values of a card in two columns, drawn at once however many there are."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.blocks: tuple[Block, ...] = ()
        self._laid: tuple[int, list[_Piece], int] = (-1, [], 0)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        look.changed.connect(self._relook)

    def show_blocks(self, blocks: tuple[Block, ...]) -> None:
        """Show these."""
        self.blocks = blocks
        self.setAccessibleName(say("What the card says"))
        lines = [f"{x.label}: {x.words}{f' ({x.origin})' if x.origin else ''}" for b in blocks for x in b.lines]
        self.setAccessibleDescription("\n".join(lines))
        self._relook()

    def _relook(self) -> None:
        self._laid = (-1, [], 0)
        self.updateGeometry()
        self.update()

    def heightForWidth(self, width: int) -> int:
        return self._lay(width)[2]

    def sizeHint(self) -> QSize:
        return QSize(40 * GRID, self._lay(max(self.width(), 40 * GRID))[2])

    def minimumSizeHint(self) -> QSize:
        return QSize(20 * GRID, GRID)

    def _lay(self, width: int) -> tuple[int, list[_Piece], int]:
        if self._laid[0] == width:
            return self._laid
        look, y = self.look, 0.0
        pieces: list[_Piece] = []
        column = min(width * 0.36, 26 * GRID * look.scale)
        for i, block in enumerate(self.blocks):
            y += 1.5 * GRID if i else 0
            y = self._add(pieces, QRectF(0, y, width, 0), block.title, look.strong, "ink") + GRID / 2
            for line in block.lines:
                low = self._add(pieces, QRectF(0, y + 2, column - GRID, 0), line.label, look.small, "quiet")
                words = QRectF(column, y, width - column, 0)
                end = self._add(pieces, words, f"? {line.words}" if line.guess else line.words, look.body, "ink")
                if line.origin or line.guess:
                    origin = QRectF(column, end, width - column, 0)
                    told = line.origin or say("a guess")
                    end = self._add(pieces, origin, told, look.small, "trouble" if line.guess else "quiet")
                y = max(low, end) + GRID / 2
        self._laid = (width, pieces, int(y + 1))
        return self._laid

    def _add(self, pieces: list[_Piece], at: QRectF, text: str, font: QFont, tone: str) -> float:
        text = soft(text)
        high = QFontMetricsF(font).boundingRect(QRectF(0, 0, at.width(), 1e6), _WRAP, text).height()
        box = QRectF(at.left(), at.top(), at.width(), high)
        pieces.append(_Piece(box, text, font, tone))
        return box.bottom()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        seen = QRectF(event.rect())
        for piece in self._lay(self.width())[1]:
            if piece.box.intersects(seen):
                painter.setFont(piece.font)
                painter.setPen(QPen(self.look.theme.color(piece.tone)))
                painter.drawText(piece.box, _WRAP, piece.text)
        painter.end()


class CopyRow(QWidget):
    """An open job that uses another copy of the card, what is different, and the button that takes the new one."""

    asked = Signal(object)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.copy: OtherCopy | None = None
        self.words = Words(look, "body", "trouble")
        self.found = Words(look, "small", "ink")
        self.go = BenchButton(look, say("Take the new card into this job"), name="library-take")
        self.go.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self.go.clicked.connect(lambda: self.asked.emit(self.copy))
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID // 2)
        for part in (self.words, self.found, self.go):
            column.addWidget(part)

    def show_copy(self, copy: OtherCopy, *, key: str) -> None:
        """Show this one; `key` does what the button does."""
        self.copy = copy
        self.words.say(soft(copy.words))
        self.found.say(differences_words(copy.found, MOST_DIFFERENCES, "\n", soft))
        older = say("Take the new card into this job")
        self.go.key = key
        self.go.say(older if copy.older else say("Take this card into the job all the same"))
        self.go.updateGeometry()
        self.go.setVisible(not copy.document.read_only)


class CardDetail(QWidget):
    """All about one card."""

    take_asked = Signal(object)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.look, self.session = look, session
        self.card: Card | None = None
        self.title = Words(look, "title", "ink")
        self.maker = Words(look, "body", "quiet")
        self.checks = Words(look, "small", "trouble")
        self.copies = QVBoxLayout()
        self.copies.setSpacing(GRID)
        self._copy_rows: list[CopyRow] = []
        self.used = Words(look, "small", "ink")
        self.facts = Facts(look)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, GRID)
        column.setSpacing(GRID)
        column.addWidget(self.title)
        column.addWidget(self.maker)
        column.addLayout(self.copies)
        for part in (self.checks, self.used, self.facts):
            column.addWidget(part)
        column.addStretch(1)

    def show_card(self, card: Card | None) -> None:
        """Show this card, or none."""
        self.card = card
        for part in (self.title, self.maker, self.facts):
            part.setVisible(card is not None)
        if card is None:
            self._show_copies(())
            self.checks.hide()
            self.used.hide()
            return
        self.title.say(soft(shorten(card.name, MOST_TITLE)))
        self.maker.say(soft(" ".join(x for x in (_maker(card), general_origin(card)) if x)))
        self.facts.show_blocks(detail(card))
        self._show_checks(check_words(card))
        self._show_copies(other_copies(self.session, (card,)))
        used = use_words(self.session, card)
        self.used.say(soft("\n".join([say("Used in open jobs:"), *used])) if used else "")
        self.used.setVisible(bool(used))

    def _show_checks(self, found: Sequence[str]) -> None:
        lines = [f"! {words}" for words in found[:MOST_CHECKS]]
        rest = len(found) - MOST_CHECKS
        if rest > 0:
            lines.append(say_n("And one more.", "And {n} more.", rest))
        self.checks.say(soft("\n".join(lines)))
        self.checks.setVisible(bool(lines))

    def _show_copies(self, found: Sequence[OtherCopy]) -> None:
        while len(self._copy_rows) < len(found):
            row = CopyRow(self.look)
            row.asked.connect(self.take_asked)
            self.copies.addWidget(row)
            self._copy_rows.append(row)
        for i, row in enumerate(self._copy_rows):
            row.setVisible(i < len(found))
            row.copy = None
        free = [copy for copy in found if not copy.document.read_only]
        for row, copy in zip(self._copy_rows, found, strict=False):
            nth = free.index(copy) if copy in free else -1
            row.show_copy(copy, key="Ctrl+T" if len(free) == 1 else f"Ctrl+{nth + 1}" if 0 <= nth < MOST_KEYS else "")

    def nth_copy(self, nth: int) -> OtherCopy | None:
        """Give the job shown, counted from 0, that uses another copy and can be changed."""
        shown = [row.copy for row in self._copy_rows if row.copy is not None]
        free = [copy for copy in shown if not copy.document.read_only]
        return free[nth] if nth < len(free) else None


def _maker(card: Card) -> str:
    return say("Made by {maker}.", maker=" ".join(card.maker.split())) if card.maker.strip() else ""
