"""The tools of the shop page: what the painter measures with."""

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planlists import PickRow
from benchtool.bench.planparts import Buttons, FieldRow, Options, Typed
from benchtool.bench.plansheet import Section
from benchtool.bench.shopsheet import OwnedSheet
from benchtool.session import shopping
from benchtool.session.cardfields import Wrong
from benchtool.session.session import Session
from benchtool.session.shopping import ToolText
from benchtool.trade.measuring import Tool, ToolKind
from benchtool.trade.numbers import figure
from benchtool.trade.quantities import NotAnAmount

_KINDS = [
    (ToolKind.SYRINGE.value, "Syringe"), (ToolKind.CUP.value, "Cup"), (ToolKind.PIPETTE.value, "Pipette"),
    (ToolKind.DROPPER.value, "Dropper"), (ToolKind.SCALE.value, "Scale"),
]  # fmt: skip
_HINTS = {
    ToolKind.SYRINGE: ("0.1 mL", "3 mL"), ToolKind.CUP: ("5 mL", "100 mL"), ToolKind.PIPETTE: ("0.1 mL", "5 mL"),
    ToolKind.DROPPER: ("", "1 mL"), ToolKind.SCALE: ("0.1 g", "500 g"),
}  # fmt: skip
_COUNTED, _GUESSED = "counted", "guessed"


class ToolsSheet(OwnedSheet[ToolText]):
    """Measuring tools: their marks, what they hold, how far a reading may be off."""

    what = "tool"
    first_field = "kind"

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, session, "tools", least=52 * GRID)
        self._gone: tuple[int, Tool] | None = None
        self.usual = BenchButton(look, "Add the usual ones again", name="shop-tools-usual")
        self.usual.clicked.connect(lambda: self.attempt(self._add_usual))
        listed, form = Section(look, "", stretch=True), Section(look, "")
        below = Buttons((self.new, self.usual))
        listed.add(below)
        listed.add(self.picks, stretch=1)
        self.kind = Options(look, "It is a", "tool-kind")
        self.kind.offer(_KINDS)
        self.tool_name = Typed(look, "What do you call it?", "tool-name", "3 mL syringe")
        self.step = Typed(look, "From mark to mark", "tool-step", "0.1 mL", self._told)
        self.capacity = Typed(look, "It holds", "tool-capacity", "3 mL", self._told)
        self.marks = FieldRow(look, (self.step, self.capacity))
        self.counted = Options(look, "Its drops are", "tool-counted")
        self.counted.offer([(_COUNTED, "Counted"), (_GUESSED, "Not counted yet")])
        self.drops = Typed(look, "Drops counted into a syringe", "tool-drops", "20")
        self.drops_mL = Typed(look, "came to", "tool-drops-ml", "0.9 mL", self._told)
        self.drops_mL.edit.setAccessibleName("The drops came to")
        self.counting = FieldRow(look, (self.drops, self.drops_mL))
        self.error = Typed(look, "A reading may be off by, either way", "tool-error", "", self._told)
        self.words = Words(look, "small", "quiet")
        form.add(self.kind, self.marks, self.counted, self.counting, self.error, self.tool_name, self.words)
        self.asks.update(
            below=below, picks=self.picks, kind=self.kind, step=self.step, capacity=self.capacity,
            counted=self.counted, drops=self.drops, drops_mL=self.drops_mL, error=self.error, name=self.tool_name,
        )  # fmt: skip
        self.first = "picks"
        self.lay_out((listed, form), {1: ((0, 1),), 2: ((0,), (1,))})
        for options in (self.kind, self.counted):
            options.chosen.connect(lambda _: self._suit())
        for field in (self.step, self.capacity, self.drops, self.drops_mL, self.error):
            field.edit.textChanged.connect(lambda _: self._say())

    # --- the record ----------------------------------------------------------------------------------

    def rows(self) -> Sequence[PickRow]:
        return [PickRow(t.name, t.name, shopping.tool_words(t)) for t in self.keeper.shop.tools]

    def _tool(self, name: str | None) -> Tool | None:
        return next((t for t in self.keeper.shop.tools if t.name == name), None)

    def fresh(self) -> ToolText:
        tool = self._tool(self.key)
        return ToolText() if tool is None else shopping.write_tool(tool)

    def _read(self) -> Tool:
        others = [t.name for t in self.keeper.shop.tools if t.name != self.key]
        return shopping.read_tool(self.session.measures, self.text(), others, self._tool(self.key))

    def save(self) -> str:
        tool, before = self._read(), self._tool(self.key)
        if tool != before:
            self.keeper.change(shopping.with_tool(self.keeper.shop, tool, self.key))
        self.kept(tool.name)
        if before is None:
            weighs = " Press W on the bench to weigh." if tool.kind is ToolKind.SCALE else ""
            return f"{tool.name} is among your tools.{weighs}"
        return f"{tool.name} changed." if tool != before else "Nothing was changed."

    def remove(self) -> str:
        shop, name = self.keeper.shop, self.key or ""
        tool = self._tool(name)
        self.keeper.change(shopping.without_tool(shop, name))
        if tool is not None:
            self._gone = (shop.tools.index(tool), tool)
        return name

    def restore(self) -> tuple[str, str]:
        if self._gone is not None:
            at, tool = self._gone
            if self._tool(tool.name) is None:
                self.keeper.change(shopping.with_tool(self.keeper.shop, tool, None, at))
            return tool.name, tool.name
        return "", ""

    def _add_usual(self) -> str:
        shop = self.keeper.shop
        more = shopping.with_usual_tools(shop)
        if more == shop:
            return "You have all the usual tools."
        self.keeper.change(more)
        self.relist()
        return f"{len(more.tools) - len(shop.tools)} of the usual tools added."

    # --- the form ------------------------------------------------------------------------------------

    def text(self) -> ToolText:
        return ToolText(
            kind=self._kind(),
            name=self.tool_name.text(),
            step=self.step.text(),
            capacity=self.capacity.text(),
            error=self.error.text(),
            counted=self.counted.value == _COUNTED,
            drops=self.drops.text(),
            drops_mL=self.drops_mL.text(),
        )

    def fill(self, text: ToolText) -> None:
        self.kind.choose(text.kind.value if text.kind is not None else None)
        self.counted.choose(_COUNTED if text.counted else _GUESSED)
        for field, typed in (
            (self.tool_name, text.name), (self.step, text.step), (self.capacity, text.capacity),
            (self.error, text.error), (self.drops, text.drops), (self.drops_mL, text.drops_mL),
        ):  # fmt: skip
            field.fill(typed)
        self._suit()

    def _kind(self) -> ToolKind | None:
        return ToolKind(self.kind.value) if self.kind.value is not None else None

    def _suit(self) -> None:
        """Ask what this kind of tool has."""
        kind = self._kind()
        dropper, scale = kind is ToolKind.DROPPER, kind is ToolKind.SCALE
        step, capacity = _HINTS[kind or ToolKind.SYRINGE]
        _label(self.step, "Its display goes by" if scale else "From mark to mark", step)
        _label(self.capacity, "It weighs up to" if scale else "A squeeze holds" if dropper else "It holds", capacity)
        _label(
            self.error,
            self.error.label.text(),
            "leave empty: 15 % of a drop" if dropper else "leave empty: half a step",
        )
        self.step.setVisible(not dropper)
        self.counted.setVisible(dropper)
        self.counting.setVisible(dropper and self.counted.value == _COUNTED)
        self.counted.explain(
            ""
            if self.counted.value == _COUNTED
            else "Until they are counted, 20 drops to the mL is a guess, and said so."
        )
        for field in (self.step, self.capacity, self.error):
            field.tell(self._told(field.text()))
        self._say()

    def _told(self, typed: str) -> str:
        """Say how an amount is understood."""
        if not typed.strip():
            return ""
        try:
            if self._kind() is ToolKind.SCALE:
                told = f"{figure(self.session.measures.mass(typed, unit='g'), 4)} g"
            else:
                told = f"{figure(self.session.measures.volume(typed, unit='mL').mL, 4)} mL"
        except NotAnAmount:
            return ""
        return told if told != " ".join(typed.split()) else ""

    def _say(self) -> None:
        """Say how the tool as typed is understood, and what it would be called."""
        try:
            tool = shopping.read_tool(self.session.measures, self.text())
        except Wrong:
            self.words.say("")
            self.tool_name.edit.setPlaceholderText("3 mL syringe")
            return
        said = shopping.tool_words(tool)
        self.words.say(f"{said[:1].upper()}{said[1:]}.")
        self.tool_name.edit.setPlaceholderText(shopping.tool_name(tool.kind, tool.step, tool.capacity))

    # --- drawing -------------------------------------------------------------------------------------

    def draw(self, painter: QPainter, box: QRectF, key: str, ink: QColor) -> None:
        tool = self._tool(key)
        if tool is not None:
            draw_tool(painter, box, tool.kind, ink)


def _label(field: Typed, words: str, hint: str) -> None:
    field.label.say(words)
    field.edit.setAccessibleName(words)
    field.edit.setPlaceholderText(hint)


def draw_tool(painter: QPainter, box: QRectF, kind: ToolKind, ink: QColor) -> None:
    """Draw what a tool of this kind looks like."""
    painter.setPen(QPen(ink, 1.5))
    x, y = box.center().x(), box.center().y()
    if kind in (ToolKind.SYRINGE, ToolKind.PIPETTE, ToolKind.DROPPER):
        half, left, right = 5.0, x - 12, x + 12
        painter.drawRect(QRectF(left, y - half, right - left, 2 * half))
        painter.drawLine(QPointF(right, y), QPointF(right + 8, y))
        if kind is ToolKind.SYRINGE:
            painter.drawLine(QPointF(left - 8, y), QPointF(left, y))
            painter.drawLine(QPointF(left - 8, y - half), QPointF(left - 8, y + half))
        elif kind is ToolKind.DROPPER:
            painter.setBrush(ink)
            painter.drawEllipse(QPointF(left - 4, y), 6, half + 1)
            painter.setBrush(Qt.BrushStyle.NoBrush)
        if kind is not ToolKind.DROPPER:
            for i in range(1, 5):
                painter.drawLine(QPointF(left + i * 5, y - half), QPointF(left + i * 5, y - 1))
        return
    if kind is ToolKind.CUP:
        painter.drawPolyline(
            [QPointF(x - 11, y - 13), QPointF(x - 8, y + 13), QPointF(x + 8, y + 13), QPointF(x + 11, y - 13)]
        )
        for i in range(4):
            painter.drawLine(QPointF(x + 3, y + 8 - 6 * i), QPointF(x + 9 + i * 0.5, y + 8 - 6 * i))
        return
    painter.drawLine(QPointF(x - 16, y - 8), QPointF(x + 16, y - 8))
    painter.drawLine(QPointF(x, y - 8), QPointF(x, y - 3))
    painter.drawRoundedRect(QRectF(x - 18, y - 3, 36, 14), 2, 2)
    painter.drawRect(QRectF(x - 6, y, 12, 7))
