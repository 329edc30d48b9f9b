"""One group of the shop page: the things owned in a list, the one chosen in a form beside it."""

from abc import abstractmethod
from collections.abc import Callable, Sequence
from typing import Generic

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QColor, QKeyEvent, QPainter, QResizeEvent
from PySide6.QtWidgets import (
    QApplication,
    QListWidget,
    QVBoxLayout,
)

from benchtool.bench.controls import BenchButton
from benchtool.bench.look import GRID, Look
from benchtool.bench.planlists import PickList, PickRow, RowPainter
from benchtool.bench.planparts import Options
from benchtool.bench.plansheet import Sheet, Text, Unfinished
from benchtool.session.cardfields import Wrong
from benchtool.session.library import NotKept
from benchtool.session.session import NotNow, Session
from benchtool.session.shop import ShopKeeper

GROUPS = (("tools", "Tools"), ("cups", "Cups"), ("lots", "Cans"), ("usual", "Usual"), ("hours", "Hours"))
NEW = ""
"""What an unfinished new thing is kept by; others by their key."""
PICTURE = 6 * GRID
LOW = 44 * GRID
MOST_LINES = 7

Picture = Callable[[QPainter, QRectF, str, QColor], None]
"""Draws the thing of a key into a box, in an ink."""


class GroupSheet(Sheet):
    """A sheet with the groups over it; what can't be kept is said and stays as typed."""

    said = Signal(str)
    group_asked = Signal(str)

    def __init__(self, look: Look, session: Session, group: str, *, least: int, most: int = 80 * GRID) -> None:
        super().__init__(look, f"shop-{group}", least=least, most=most)
        self.session, self.name = session, group
        self.groups = Options(look, "", f"shop-{group}-groups")
        self.groups.setAccessibleName("What you own")
        self.groups.offer(GROUPS, group)
        self.groups.chosen.connect(self._turn)
        self.asks["groups"] = self.groups
        column = self.layout()
        if isinstance(column, QVBoxLayout):
            column.insertWidget(0, self.groups)
        self.entered.connect(self.enter)

    @property
    def keeper(self) -> ShopKeeper:
        """The shop.

        Raises:
            NotNow: this window keeps none.
        """
        if self.session.shop is None:
            raise NotNow("Nothing can be kept here: this window has no folder for your shop.")
        return self.session.shop

    @abstractmethod
    def ask(self) -> None:
        """Show what is kept. What was half typed is still there."""

    @abstractmethod
    def save(self) -> str:
        """Keep what is typed; gives what to say.

        Raises:
            Wrong: a field that can't be taken so.
            NotKept: it could not be written.
        """

    def enter(self) -> None:
        """Keep what is typed, or say what is wrong with it."""
        self.attempt(self.save)

    def attempt(self, act: Callable[[], str]) -> bool:
        """Do something and say what came of it; tells whether it was done."""
        try:
            words = act()
        except Wrong as wrong:
            message = self.complain(wrong.faults)
            self.said.emit(f"Not yet: {message[:1].lower()}{message[1:]}")
            return False
        except (NotKept, NotNow) as no:
            self.said.emit(str(no))
            return False
        self.said.emit(words)
        return True

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.title.setVisible(self.height() >= LOW)  # a low window has no room to say twice what is in hand

    def _turn(self, group: str) -> None:
        self.groups.choose(self.name)
        if group != self.name:
            # An arrow key still puts the focus on the button it chose; the other group comes after that.
            QTimer.singleShot(0, self, lambda: self.group_asked.emit(group))


class OwnedSheet(GroupSheet, Generic[Text]):
    """A list of things and the form of the one chosen, or of a new one. `what` names such a thing."""

    what = "thing"
    first_field = ""
    stays = False
    """Whether a thing just added stays in hand, for what is done with it next."""

    def __init__(self, look: Look, session: Session, group: str, *, least: int, search: str = "") -> None:
        super().__init__(look, session, group, least=least)
        self.key: str | None = None
        self._listed: Sequence[PickRow] = ()
        self.unfinished = Unfinished[Text]()
        self.picks = OwnedList(look, f"Your {self.what}s", f"shop-{group}", self.draw, search=search)
        self.picks.chosen.connect(self.open)
        self.new = BenchButton(look, f"New {self.what}", name=f"shop-{group}-new")
        self.new.clicked.connect(lambda: self.open(None, focus=True))
        self.remove_it = self.add_button("Remove it", f"shop-{group}-remove")
        self.remove_it.clicked.connect(lambda: self.attempt(self._remove))
        self.put_back = self.add_button("Put it back", f"shop-{group}-put-back")
        self.put_back.clicked.connect(lambda: self.attempt(self._put_back))
        self.put_back.hide()
        stop = session.subscribe(self._follow)
        self.destroyed.connect(stop)

    # --- what a group says of its own ----------------------------------------------------------------

    @abstractmethod
    def rows(self) -> Sequence[PickRow]:
        """Give the lines of the list."""

    @abstractmethod
    def fresh(self) -> Text:
        """Give the text of what is kept under the key in hand, or of a new thing."""

    @abstractmethod
    def text(self) -> Text:
        """Give what is typed and chosen."""

    @abstractmethod
    def fill(self, text: Text) -> None:
        """Show this text."""

    @abstractmethod
    def draw(self, painter: QPainter, box: QRectF, key: str, ink: QColor) -> None:
        """Draw the thing of this key beside its name."""

    @abstractmethod
    def remove(self) -> str:
        """Take out the thing in hand and remember it; gives its name."""

    @abstractmethod
    def restore(self) -> tuple[str, str]:
        """Bring back what was taken out last; gives its key and name."""

    def again(self, half: Text) -> Text:
        """Give what was half typed as it is to be shown again."""
        return half

    def called(self) -> str:
        """Name the thing in hand."""
        return self.key or ""

    # --- going about ---------------------------------------------------------------------------------

    def ask(self) -> None:
        keys = [row.key for row in self.rows()]
        self.open(self.key if self.key in keys else None)

    def open(self, key: str | None, *, focus: bool = False) -> None:
        """Turn to a thing, or to a new one (None). What was half typed is still there."""
        self.unfinished.leave(self.text())
        self.key = key
        self.relist()
        self.head(
            f"Change {self.called()}" if key is not None else f"New {self.what}",
            f"Keep the {self.what}" if key is not None else f"Add the {self.what}",
        )
        self.fill(self.fresh())
        self.complain(())
        half = self.unfinished.come(key or NEW, self.text())
        if half is not None:
            self.fill(self.again(half))
        self.remove_it.setVisible(key is not None)
        if focus:
            self.asks[self.first_field].take_focus()
            self.show_focus()

    def relist(self) -> None:
        """Show the list anew, where it was rolled to."""
        rows = self.rows()
        if rows != self._listed:
            self._listed, bar = rows, self.picks.list.verticalScrollBar()
            there = bar.value()
            self.picks.fill(rows, self.key)
            bar.setValue(there)
        elif self.key is None:
            self.picks.list.setCurrentRow(-1)
        else:
            self.picks.choose(self.key)
        self.picks.roll_to_chosen()

    def kept(self, key: str) -> None:
        """What is typed is kept, under this key."""
        self.unfinished.done()
        # A second new one is typed into an empty form, never over the first.
        self.open(key if self.key is not None or self.stays else None)

    def _follow(self) -> None:
        if self.isVisible():
            self.relist()

    def _remove(self) -> str:
        name = self.remove()
        self.unfinished.done()
        self.put_back.show()
        self.open(None)
        self.put_back.setFocus(Qt.FocusReason.OtherFocusReason)
        return f"{name} is removed. Put it back: press Enter."

    def _put_back(self) -> str:
        key, name = self.restore()
        self.put_back.hide()
        self.open(key)
        self.picks.take_focus()
        return f"{name} is back."

    def on_enter(self, event: QKeyEvent) -> None:
        if QApplication.focusWidget() in self.picks.stops():  # there Enter means: this one
            if self.picks.value is None:
                self.picks.list.step(0)
            self.asks[self.first_field].take_focus()
            self.show_focus()
        else:
            super().on_enter(event)


class OwnedList(PickList):
    """A list whose lines begin with a small drawing."""

    def __init__(self, look: Look, label: str, name: str, picture: Picture, *, search: str = "") -> None:
        super().__init__(look, label, f"{name}-picks", search=search)
        self._painter = _PicturePainter(look, self.list, picture)
        self.list.setItemDelegate(self._painter)

    def sizeHint(self) -> QSize:
        """Ask for room for all lines, as long as they are few: where there is more, it stays below the list."""
        hint = super().sizeHint()
        if not self.search.isHidden():  # it takes what there is
            return hint
        lines = min(MOST_LINES, self.list.count()) * self.look.target + 2
        return QSize(hint.width(), hint.height() + lines - self.list.sizeHint().height())

    def roll_to_chosen(self) -> None:
        """Bring the line chosen into view."""
        here = self.list.currentItem()
        if here is not None:
            self.list.scrollToItem(here)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        QTimer.singleShot(0, self, self.roll_to_chosen)  # the list itself is resized after this


class _PicturePainter(RowPainter):
    """Draws a line of the list: the drawing, the name, and below it what else is worth knowing."""

    def __init__(self, look: Look, parent: QListWidget, picture: Picture) -> None:
        super().__init__(look, parent)
        self.picture = picture

    def room(
        self, painter: QPainter, box: QRectF, index: QModelIndex | QPersistentModelIndex, *, picked: bool
    ) -> QRectF:
        spot = QRectF(box.left() + GRID, box.top() + 4, PICTURE, box.height() - 9)
        ink = self.look.theme.color("accent_ink" if picked else "ink")
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self.picture(painter, spot, str(index.data(Qt.ItemDataRole.UserRole)), ink)
        painter.restore()
        return box.adjusted(PICTURE + 2 * GRID, 0, -GRID, 0)
