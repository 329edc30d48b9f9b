"""A page of the plan: headed groups in columns that follow the width, one row of buttons, Tab in reading order."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Generic, NamedTuple, TypeVar

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QHBoxLayout,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from benchtool.bench.controls import BenchButton, Words, scrolled
from benchtool.bench.look import GRID, Look, elided
from benchtool.bench.planparts import Ask, Buttons

BAR = 12
"""Room kept for the scroll bar, so that nothing moves when it comes."""


class Done(NamedTuple):
    """What was done: the piece and layer to take in hand, and what to say."""

    piece: str
    layer: str | None
    words: str


Text = TypeVar("Text")


class Unfinished(Generic[Text]):
    """What was typed on a page and not entered yet, by what it was about: it is there again on coming back."""

    def __init__(self) -> None:
        self._kept: dict[str, Text] = {}
        self._about: str | None = None
        self._fresh: Text | None = None

    def leave(self, typed: Text) -> None:
        """Keep what is typed about what the page shows now, if anything is."""
        if self._about is not None and typed != self._fresh:
            self._kept[self._about] = typed
        self._about = None

    def come(self, about: str, fresh: Text) -> Text | None:
        """Turn to another matter, of which `fresh` is shown; gives what was typed of it before."""
        self._about, self._fresh = about, fresh
        return self._kept.pop(about, None)

    def waits(self, typed: Text) -> bool:
        """Whether something is not entered yet: what the page shows, `typed`, or what was left before."""
        return bool(self._kept) or (self._about is not None and typed != self._fresh)

    def done(self) -> None:
        """What the page shows is entered, or not wanted."""
        self._about = None

    def clear(self, *, keep: Callable[[str], bool] = lambda _: False) -> None:
        """Forget what was about another job: all but the matters to `keep`."""
        if self._about is not None and not keep(self._about):
            self._about = None
        self._kept = {about: typed for about, typed in self._kept.items() if keep(about)}


class Section(QWidget):
    """A few things to ask that belong together, under their small heading."""

    def __init__(self, look: Look, title: str, *, stretch: bool = False) -> None:
        super().__init__()
        self.stretch = stretch
        self.title = Words(look, "strong", "ink")
        self.title.say(title)
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 0, 0, 0)
        self.column.setSpacing(GRID + GRID // 2)
        self.column.addWidget(self.title)
        self.title.setVisible(bool(title))  # only now: without a parent it would be a window of its own
        self.column.addStretch(0)

    def add(self, *parts: QWidget, stretch: int = 0) -> None:
        """Put these below what is there."""
        for part in parts:
            self.column.insertWidget(self.column.count() - 1, part, stretch)


class Fold(Section):
    """A section that is folded away until it is asked for: its heading, a hint and the button that shows the rest."""

    _SHOW, _AWAY = "Show these fields", "Fold these away"

    def __init__(self, look: Look, title: str, hint: str, name: str) -> None:
        super().__init__(look, title)
        self.heading = title
        how = Words(look, "small", "quiet")
        how.say(hint)
        self.turn = BenchButton(look, self._SHOW, name=name)
        self.turn_row = Buttons((self.turn,), fill=False)
        self.body = QWidget()
        self.add(how, self.turn_row, self.body)
        self.turn.clicked.connect(lambda: self.unfold(on=not self.unfolded))
        self.unfold(on=False)

    @property
    def unfolded(self) -> bool:
        """Whether the fields are shown."""
        return not self.body.isHidden()

    def unfold(self, *, on: bool = True) -> None:
        """Show or hide the fields."""
        self.body.setVisible(on)
        self.turn.say(self._AWAY if on else self._SHOW)
        self.turn.setAccessibleName(f"{self.heading}: {self.turn.text().lower()}")


class Sheet(QWidget):
    """A page: title, sections, buttons. `columns` says, for each number of columns, which sections stand in which."""

    entered = Signal()
    left = Signal()

    def __init__(self, look: Look, name: str, *, least: int, most: int = 80 * GRID) -> None:
        super().__init__()
        self.look, self.least, self.most = look, least, most
        self.setObjectName(name)
        self.asks: dict[str, Ask] = {}
        self.first = ""
        self.sections: list[Section] = []
        self.plans: Mapping[int, Sequence[Sequence[int]]] = {}
        self._shown_as = 0
        self.heading = ""
        self.title = Words(look, "title", "ink", wrap=False)
        self.title.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        look.changed.connect(self._entitle)
        self.body = QWidget()
        self.above = QVBoxLayout()
        self.above.setSpacing(GRID)
        self._columns = QHBoxLayout()
        self._columns.setSpacing(4 * GRID)
        inner = QVBoxLayout(self.body)
        inner.setContentsMargins(0, GRID // 2, 0, GRID)
        inner.setSpacing(2 * GRID)
        inner.addLayout(self.above)
        inner.addLayout(self._columns, 1)
        self.area = scrolled(self.body)
        self.go = BenchButton(look, "", name=f"{name}-go", primary=True)
        self.back = BenchButton(look, "Back to the bench", "Esc", name=f"{name}-back")
        self.foot = QHBoxLayout()
        self.foot.setSpacing(GRID)
        self.foot.addWidget(self.go)
        self.foot.addStretch(1)
        self.foot.addWidget(self.back)
        for button in (self.go, self.back):
            button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        column = QVBoxLayout(self)
        column.setContentsMargins(2 * GRID, GRID, 2 * GRID - BAR // 2, GRID)
        column.setSpacing(GRID)
        column.addWidget(self.title)
        column.addWidget(self.area, 1)
        column.addLayout(self.foot)
        self.go.clicked.connect(self.entered)
        self.back.clicked.connect(self.left)

    def head(self, title: str, act: str, key: str = "Enter") -> None:
        """Say what the page is about, and what its first button does."""
        self.heading = title
        self.title.setToolTip(title)
        self._entitle()
        self.go.key = key
        self.go.say(act)

    def _entitle(self) -> None:
        self.title.say(elided(self.heading, self.look.title, max(self.width() - 4 * GRID, 20 * GRID)))

    def lay_out(self, sections: Sequence[Section], plans: Mapping[int, Sequence[Sequence[int]]]) -> None:
        """Take these sections and, by number of columns, which of them stand in which column."""
        self.sections, self.plans = list(sections), plans
        self._place(1)

    def add_button(self, text: str, name: str, key: str = "") -> BenchButton:
        """Put one more button beside the first."""
        button = BenchButton(self.look, text, key, name=name)
        button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self.foot.insertWidget(self.foot.count() - 2, button)
        return button

    def _place(self, count: int) -> None:
        if count == self._shown_as:
            return
        self._shown_as = count
        while (item := self._columns.takeAt(0)) is not None:
            column = item.layout()
            while column is not None and column.takeAt(0) is not None:
                pass
        for members in self.plans[count]:
            column = QVBoxLayout()
            column.setSpacing(3 * GRID)
            for i in members:
                column.addWidget(self.sections[i], 1 if self.sections[i].stretch else 0)
            if not any(self.sections[i].stretch for i in members):
                column.addStretch(1)
            self._columns.addLayout(column, 1)
        self.body.updateGeometry()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._entitle()
        room, gap, scale = self.area.width() - BAR, 4 * GRID, self.look.scale
        if self.plans:
            fit = max(1, int((room + gap) // (self.least * scale + gap)))
            self._place(max(n for n in self.plans if n <= max(fit, min(self.plans))))
        widest = int(self.most * scale) * self._shown_as + gap * (self._shown_as - 1)
        self.body.setMaximumWidth(max(1, min(room, widest) if self._shown_as > 1 else room))

    # --- what is wrong -----------------------------------------------------------------------------

    def complain(self, faults: Sequence[tuple[str, str]]) -> str:
        """Say what is wrong at each field at fault, go to the first of them; gives what is said there."""
        said: dict[str, str] = {}
        for key, message in faults:
            said.setdefault(key, message)
        for key, ask in self.asks.items():
            ask.complain(said.get(key, ""))
        first = next((key for key in self.asks if key in said), None)
        if first is None:
            return faults[0][1] if faults else ""
        self.asks[first].take_focus()
        QTimer.singleShot(0, self, self.show_focus)
        return said[first]

    def show_focus(self) -> None:
        """Scroll to what has the focus, with its label above it and what is wrong with it below."""
        here = QApplication.focusWidget()
        if here is None or not self.body.isAncestorOf(here):
            return
        block, parent = here, here.parentWidget()
        while parent is not None and parent is not self.body and not isinstance(parent, Section):
            block, parent = parent, parent.parentWidget()
        if block.height() + 2 * GRID > self.area.viewport().height():
            block = here
        middle = block.mapTo(self.body, block.rect().center())
        half = min(block.height(), self.area.viewport().height()) // 2
        self.area.ensureVisible(middle.x(), middle.y(), 0, half + GRID // 2)

    # --- the keyboard ------------------------------------------------------------------------------

    def take_focus(self) -> None:
        """Put the cursor on what is asked first."""
        self.area.verticalScrollBar().setValue(0)
        keys = list(self.asks)
        for key in keys[keys.index(self.first) if self.first else 0 :]:
            if any(s.isVisibleTo(self) and s.isEnabled() for s in self.asks[key].stops()):
                self.asks[key].take_focus()
                return

    def buttons(self) -> Sequence[QWidget]:
        """Give the buttons at the foot, in order."""
        items = (self.foot.itemAt(i) for i in range(self.foot.count()))
        return tuple(w for w in (item.widget() for item in items if item is not None) if w is not None)

    def _stops(self) -> Iterator[QWidget]:
        for ask in self.asks.values():
            yield from (s for s in ask.stops() if s.isVisibleTo(self) and s.isEnabled())
        yield from (b for b in self.buttons() if b.isVisibleTo(self) and b.isEnabled())

    def focusNextPrevChild(self, forward: bool) -> bool:
        stops = list(self._stops())
        here = QApplication.focusWidget()
        if not stops:
            return False
        at = next((i for i, s in enumerate(stops) if s is here), None)
        if at is None and here is not None:
            # A choice clicked by hand is not where Tab stops: go on from its group.
            at = next((i for i, s in enumerate(stops) if s.parentWidget() is here.parentWidget()), None)
        there = 0 if at is None else (at + (1 if forward else -1)) % len(stops)
        reason = Qt.FocusReason.TabFocusReason if forward else Qt.FocusReason.BacktabFocusReason
        stops[there].setFocus(reason)
        self.show_focus()
        return True

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            here = QApplication.focusWidget()
            if isinstance(here, QAbstractButton) and not here.isCheckable():
                here.click()
            else:
                self.on_enter(event)
            event.accept()
        elif event.key() == Qt.Key.Key_Escape:
            self.left.emit()
            event.accept()
        else:
            super().keyPressEvent(event)

    def on_enter(self, event: QKeyEvent) -> None:
        """Enter anywhere but on a button: enter the page."""
        self.entered.emit()
