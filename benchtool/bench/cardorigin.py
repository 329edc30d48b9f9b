"""Where one value of a card comes from: a strip above the foot of the page, opened at the field in hand."""

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Rule, Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import Ask, Buttons, FieldRow, Options, Typed
from benchtool.job.cards import OriginKind
from benchtool.session.cardorigins import GENERAL, OriginText, is_day, kind_button, kind_words
from benchtool.trade.saying import say

_PLAIN = "plain"


class OriginBar(QWidget):
    """Kind, words, page and day of an origin. What is typed is taken at once; Enter or Esc goes back to the field."""

    changed = Signal()
    closed = Signal()

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.about = ""
        self.title = Words(look, "strong", "ink", wrap=False)
        self.kind = Options(look, "", "card-origin-kind")
        self.words = Typed(look, say("Which sheet, measured how, told by whom"), "card-origin-words")
        self.page = Typed(look, say("Page"), "card-origin-page", say("page 2"))
        self.day = Typed(look, say("Day"), "card-origin-day", "2026-03-14")
        self.row = FieldRow(look, (self.words, self.page, self.day), (4, 2, 2))
        self.done = BenchButton(look, say("Back to the field"), "Enter", name="card-origin-done")
        buttons = Buttons((self.done,), fill=False)
        self.asks: dict[str, Ask] = {
            "kind": self.kind, "words": self.words, "page": self.page, "day": self.day, "done": buttons,
        }  # fmt: skip
        line = QHBoxLayout()
        line.addWidget(self.title, 1)
        line.addWidget(buttons)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID // 2)
        column.addWidget(Rule(look, upright=False))
        column.addLayout(line)
        column.addWidget(self.kind)
        column.addWidget(self.row)
        self.kind.chosen.connect(lambda _: self._chosen())
        for field in (self.words, self.page, self.day):
            field.edit.textEdited.connect(lambda _: self.changed.emit())
        self.done.clicked.connect(self.close_up)
        self.hide()

    def open_at(self, about: str, label: str, text: OriginText, words: str) -> None:
        """Ask where the value labelled so comes from; of the whole card, `words` are those that stand in its field."""
        self.about = about
        whole = about == GENERAL
        self.title.say(
            say("Where all values of the card come from") if whole else say("Where “{label}” comes from", label=label)
        )
        plain = say("In words") if whole else say("As the card")
        self.done.setMinimumWidth(self.done.sizeHint().width())
        self.kind.setAccessibleName(self.title.text())
        self.kind.offer([(_PLAIN, plain), *((kind.value, kind_button(kind)) for kind in OriginKind)])
        for kind in OriginKind:
            self.kind.buttons[kind.value].setToolTip(kind_words(kind))
            self.kind.buttons[kind.value].setAccessibleName(kind_words(kind))
        self.kind.choose(text.kind.value if text.kind is not None else _PLAIN if text.empty or whole else None)
        self.words.fill(words if whole else text.words)
        self.page.fill(text.page)
        self.day.fill(text.day)
        self._show_fields()
        self.show()
        self.kind.take_focus()

    def text(self) -> OriginText:
        """Give what is typed and chosen."""
        if self.kind.value == _PLAIN:
            return OriginText(words=self.words.text(), again=True) if self.about == GENERAL else OriginText()
        kind = OriginKind(self.kind.value) if self.kind.value is not None else None
        return OriginText(
            kind=kind, words=self.words.text(), page=self.page.text(), day=self.day.text().strip(), again=True
        )

    def _chosen(self) -> None:
        self._show_fields()
        self.changed.emit()

    def _show_fields(self) -> None:
        plain = self.kind.value in (_PLAIN, None)
        for field in (self.page, self.day):
            field.setVisible(not plain)
        self.row.setVisible(self.kind.value != _PLAIN or self.about == GENERAL)

    def close_up(self) -> None:
        """Go back to the field, unless the day is none."""
        if self.day.isVisible() and self.day.text().strip() and not is_day(self.day.text().strip()):
            self.complain(say("This is no day: write it as 2026-03-14, or leave it empty."))
            return
        self.leave()

    def leave(self) -> None:
        """Go back to the field as it stands."""
        self.hide()
        self.closed.emit()

    def complain(self, message: str) -> None:
        """Say what is wrong with the day."""
        self.day.complain(message)
        if message:
            self.day.take_focus()

    def stops(self) -> Sequence[QWidget]:
        """Give where Tab stops."""
        return tuple(stop for ask in self.asks.values() for stop in ask.stops() if stop.isVisibleTo(self))
