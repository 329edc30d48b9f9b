"""The list of the library: thousands of cards, of which only those in view are looked at and drawn."""

from collections.abc import Mapping, Sequence

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QFontMetricsF, QPainter, QPen
from PySide6.QtWidgets import QListView, QStyle, QStyledItemDelegate, QStyleOptionViewItem

from benchtool.bench.look import GRID, Look, elided
from benchtool.bench.rowlist import RowList
from benchtool.job.cards import Card
from benchtool.session.librarypage import row_words
from benchtool.trade.saying import say

LINE = Qt.ItemDataRole.UserRole
MARK = Qt.ItemDataRole.UserRole + 1
MAKER = Qt.ItemDataRole.UserRole + 2

BATCH = 200
"""Rows placed at once: far more than any window shows."""

Index = QModelIndex | QPersistentModelIndex


class CardModel(QAbstractListModel):
    """The cards shown, by row; `marks` says of some, by id, what stands beside their line."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.cards: Sequence[Card] = ()
        self.marks: Mapping[str, str] = {}

    def show_cards(self, cards: Sequence[Card], marks: Mapping[str, str]) -> None:
        """Show these."""
        self.beginResetModel()
        self.cards, self.marks = cards, marks
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - the toolkit's own default
        return 0 if parent.isValid() else len(self.cards)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not 0 <= index.row() < len(self.cards):
            return None
        card = self.cards[index.row()]
        match role:
            case Qt.ItemDataRole.DisplayRole:
                return " ".join(card.name.split())
            case Qt.ItemDataRole.AccessibleTextRole:
                return ", ".join(x for x in (card.name, card.maker, row_words(card), self.marks.get(card.id, "")) if x)
            case _ if role == LINE:
                return row_words(card)
            case _ if role == MARK:
                return self.marks.get(card.id, "")
            case _ if role == MAKER:
                return " ".join(card.maker.split())
        return None


class CardList(RowList):
    """The list itself; tells which card is taken in hand, by key or finger."""

    picked = Signal(object)

    def __init__(self, look: Look) -> None:
        super().__init__(look)
        self.setObjectName("library-list")
        self.setAccessibleName(say("Cards of your library"))
        self.cards = CardModel(self)
        self._painter = _CardPainter(look, self)
        self.draw(self.cards, self._painter)
        self.setLayoutMode(QListView.LayoutMode.Batched)  # of thousands of rows only the first are placed at once
        self.setBatchSize(BATCH)
        self.selectionModel().currentChanged.connect(lambda now, _: self.picked.emit(self._at(now)))

    @property
    def card(self) -> Card | None:
        """The card in hand."""
        return self._at(self.currentIndex())

    def _at(self, index: Index) -> Card | None:
        return self.cards.cards[index.row()] if 0 <= index.row() < len(self.cards.cards) else None

    def show_cards(self, cards: Sequence[Card], marks: Mapping[str, str], *, keep: str | None = None) -> None:
        """Show these cards; the one of the id `keep` stays in hand where it is among them, else the first is."""
        self.cards.show_cards(cards, marks)
        row = next((i for i, card in enumerate(cards) if card.id == keep), 0) if keep is not None else 0
        index = self.cards.index(row) if cards else QModelIndex()
        self.setCurrentIndex(index)
        self.scrollTo(index)
        if not cards:
            self.picked.emit(None)


class _CardPainter(QStyledItemDelegate):
    """Draws a card of the list: its name, who makes it, below them its kind and times, and what is to be heeded."""

    def __init__(self, look: Look, parent: QObject) -> None:
        super().__init__(parent)
        self.look = look

    def row_height(self) -> int:
        """The height of every row: two lines of type, and never less than a target."""
        lines = QFontMetricsF(self.look.strong).height() + QFontMetricsF(self.look.small).height()
        return max(self.look.target, int(lines + 1.5 * GRID))

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        return QSize(10 * GRID, self.row_height())

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        t, look = self.look.theme, self.look
        picked = bool(option.state & QStyle.StateFlag.State_Selected)
        box = QRectF(option.rect)
        painter.save()
        if picked:
            painter.fillRect(box, t.color("accent"))
        else:
            painter.setPen(QPen(t.color("line"), 1))
            painter.drawLine(box.bottomLeft(), box.bottomRight())
        ink, quiet = ("accent_ink", "accent_ink") if picked else ("ink", "quiet")
        room = box.adjusted(1.5 * GRID, 0.75 * GRID, -1.5 * GRID, -0.75 * GRID)
        upper, lower = QFontMetricsF(look.strong).height(), QFontMetricsF(look.small).height()
        first = QRectF(room.left(), room.center().y() - (upper + lower) / 2, room.width(), upper)
        second = QRectF(room.left(), first.bottom(), room.width(), lower)
        maker, mark = str(index.data(MAKER) or ""), str(index.data(MARK) or "")
        left = self._right(painter, first, maker, quiet, 0.4)
        painter.setFont(look.strong)
        painter.setPen(t.color(ink))
        self._text(painter, first.adjusted(0, 0, -left, 0), str(index.data(Qt.ItemDataRole.DisplayRole)))
        left = self._right(painter, second, mark, "accent_ink" if picked else "trouble", 0.6)
        painter.setFont(look.small)
        painter.setPen(t.color(quiet))
        self._text(painter, second.adjusted(0, 0, -left, 0), str(index.data(LINE)))
        painter.restore()

    def _right(self, painter: QPainter, box: QRectF, text: str, tone: str, share: float) -> float:
        """Draw something small at the right, in no more than this share; gives the room it took."""
        if not text:
            return 0.0
        font = self.look.small
        text = elided(text, font, box.width() * share)
        wide = QFontMetricsF(font).horizontalAdvance(text)
        painter.setFont(font)
        painter.setPen(self.look.theme.color(tone))
        spot = QRectF(box.right() - wide - 1, box.top(), wide + 2, box.height())
        painter.drawText(spot, Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextSingleLine, text)
        return wide + 2 * GRID

    def _text(self, painter: QPainter, box: QRectF, text: str) -> None:
        flags = Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextSingleLine
        painter.drawText(box, flags, elided(text, painter.font(), box.width()))
