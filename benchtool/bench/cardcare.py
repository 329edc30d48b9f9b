"""The times of a product card that the customer is told: when the finished piece may be touched, washed, bent."""

from dataclasses import replace

from PySide6.QtWidgets import QVBoxLayout

from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import Ask, FieldRow, Typed
from benchtool.bench.plansheet import Fold
from benchtool.job.cards import Care
from benchtool.session.cardreading import CardText, care_told
from benchtool.session.cardtext import care_key, care_label
from benchtool.trade.saying import say

_CARE_ROWS = (((Care.TOUCH, Care.POST, Care.WASH), (1, 1, 1)), ((Care.BEND, Care.WAX), (1, 2)))
_CARE_HINTS = {Care.TOUCH: "12 h", Care.WASH: "7 d"}


class CareSection(Fold):
    """The section that is folded away until it is asked for, filled, or at fault."""

    def __init__(self, look: Look) -> None:
        hint = say("Counted from the last coat, for the care sheet. Leave empty what the sheet does not say.")
        super().__init__(look, say("When the customer may use it"), hint, "card-care")
        self.fields = {
            care: Typed(look, care_label(care), f"card-{care_key(care)}", _CARE_HINTS.get(care, ""), care_told)
            for care in Care
        }
        box = QVBoxLayout(self.body)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(GRID)
        for row, wide in _CARE_ROWS:
            box.addWidget(FieldRow(look, tuple(self.fields[care] for care in row), wide))
        self.asks: dict[str, Ask] = {"care-fields": self.turn_row}
        self.asks.update({care_key(care): field for care, field in self.fields.items()})

    def fill(self, text: CardText) -> None:
        """Show this; folded away where there is nothing of it."""
        for care, field in self.fields.items():
            field.fill(text.care.get(care, ""))
        self.unfold(on=any(field.text().strip() for field in self.fields.values()))

    def text(self, text: CardText) -> CardText:
        """Give `text` with what is typed here."""
        return replace(text, care={care: field.text() for care, field in self.fields.items()})
