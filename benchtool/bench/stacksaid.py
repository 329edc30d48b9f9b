"""Beside a stack that is being built: how thick it gets, what would help it, and what speaks against it."""

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import Buttons
from benchtool.job.cards import Card
from benchtool.rules.finding import Severity
from benchtool.session.stackagainst import Said
from benchtool.trade.saying import say


def severity_word(severity: Severity) -> str:
    """Say how grave something is."""
    return {Severity.STOP: say("Stop"), Severity.CAUTION: say("Caution"), Severity.NOTE: say("Note")}[severity]


class SaidPanel(QWidget):
    """The words beside the drawing. `wanted` gives a card that would help, and the key of the layer it goes under."""

    wanted = Signal(object, str)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.buttons: list[BenchButton] = []
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 0, GRID, GRID)
        self.column.setSpacing(GRID // 2)

    def show_said(
        self, total: str, order: str, helping: Sequence[tuple[str, str, Sequence[Card]]], said: Sequence[Said]
    ) -> None:
        """Show the worst first, then the film in all, a better order, what would help (words, layer, cards), the rest.

        Where there is little room the first line is all that is seen.
        """
        self._clear()
        worst, rest = (said[:1], said[1:]) if said and said[0].severity is not Severity.NOTE else ((), said)
        self._tell(worst)
        self._line(total, "strong", "ink")
        self._line(order, "body", "accent")
        for words, under, cards in helping:
            self._line(say("It would help: {what}", what=words[:1].lower() + words[1:]), "strong", "accent")
            self._offer(cards, under)
        self._tell(rest)
        self.column.addStretch(1)

    def _tell(self, said: Sequence[Said]) -> None:
        for x in said:
            tone = "ink" if x.severity is Severity.NOTE else "trouble"
            self._line(f"{severity_word(x.severity)}: {x.words}", "strong" if tone == "trouble" else "body", tone)
            self._line(x.remedy, "body", "ink")
            self._line(
                say("Why: {reason} Source: {source}.", reason=x.why, source=x.source.rstrip(".")), "small", "quiet"
            )
            self.column.addSpacing(GRID)

    def needed(self, width: int) -> int:
        """Give the height that the words take at this width."""
        return max(4 * GRID, self.column.totalHeightForWidth(max(1, width)))

    def _offer(self, cards: Sequence[Card], under: str) -> None:
        if not cards:
            self._line(say("None of your cards is one: make its card."), "small", "quiet")
            return
        row = []
        for card in cards:
            button = BenchButton(self.look, say("Add {card}", card=card.name), name=f"build-help-{card.id}")
            button.setToolTip(card.name)
            button.clicked.connect(lambda _=False, c=card: self.wanted.emit(c, under))
            row.append(button)
        self.buttons += row
        self._put(Buttons(row))
        self.column.addSpacing(GRID)

    def _line(self, text: str, size: str, tone: str) -> None:
        if text:
            words = Words(self.look, size, tone)
            words.say(text)
            self._put(words)

    def _put(self, part: QWidget) -> None:
        self.column.addWidget(part)
        part.show()  # at once, so that the height it needs is known

    def _clear(self) -> None:
        self.buttons = []
        while (item := self.column.takeAt(0)) is not None:
            old = item.widget()
            if old is not None:
                old.hide()
                old.deleteLater()
