"""The cups of the shop page: what the painter mixes in, drawn to scale."""

import dataclasses
from collections.abc import Sequence

from msgspec.structs import replace
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from benchtool.bench.controls import Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planlists import PickRow
from benchtool.bench.planparts import Buttons, FieldRow, Options, Typed
from benchtool.bench.plansheet import Section
from benchtool.bench.shopsheet import OwnedSheet
from benchtool.session import shopping
from benchtool.session.cardfields import Wrong
from benchtool.session.session import Session
from benchtool.session.shopping import MARKED, STRAIGHT, TAPERED, CupText
from benchtool.trade.numbers import figure, shorten
from benchtool.trade.quantities import NotAnAmount
from benchtool.trade.vessel import Cup

_SMALLEST, _HAND, _THIS = "smallest", "hand", "this"
_NO_METAL, _METAL = "no metal", "metal"


class CupsSheet(OwnedSheet[CupText]):
    """Cups: straight, tapered, or known by marks that were measured; and which one is mixed in."""

    what = "cup"
    stays = True
    first_field = "name"

    def __init__(self, look: Look, session: Session) -> None:
        self._shown: dict[str, Cup] = {}
        super().__init__(look, session, "cups", least=52 * GRID)
        self._gone: tuple[int, Cup, bool] | None = None
        self.in_hand = Options(look, "Mix in", "cup-in-hand")
        self.in_hand.chosen.connect(lambda key: self.attempt(lambda: self._take(key)))
        listed, form = Section(look, "", stretch=True), Section(look, "")
        below = Buttons((self.new,), fill=False)
        listed.add(below, self.in_hand)
        listed.add(self.picks, stretch=1)
        self.cup_name = Typed(look, "What do you call it?", "cup-name", "100 mL cup")
        self.shape = Options(look, "It is", "cup-shape")
        self.shape.offer([(STRAIGHT, "Straight"), (TAPERED, "Tapered"), (MARKED, "Graduated")])
        self.stuff = Options(look, "Made of", "cup-metal")
        self.stuff.offer([(_NO_METAL, "Plastic, paper, glass"), (_METAL, "Metal")])
        self.stuff.explain("Peroxide hardeners and acid-catalysed paint must not stand in metal.")
        self.tall = Typed(look, "Height inside", "cup-height", "60 mm", self._told)
        self.bottom = Typed(look, "Diameter inside", "cup-bottom", "45 mm", self._told)
        self.top = Typed(look, "at the brim", "cup-top", "58 mm", self._told)
        self.top.edit.setAccessibleName("Diameter inside at the brim")
        sizes = FieldRow(look, (self.tall, self.bottom, self.top))
        self.marks = Typed(
            look, "Marks: how much, and how high above the bottom", "cup-marks", "10 mL 12 mm; 20 mL 22 mm"
        )
        self.words = Words(look, "small", "quiet")
        self.picture = _CupPicture(look)
        form.add(self.cup_name, self.shape, self.stuff, sizes, self.marks, self.words, self.picture)
        self.asks.update(
            below=below, in_hand=self.in_hand, picks=self.picks, name=self.cup_name, shape=self.shape,
            metal=self.stuff, height=self.tall, bottom=self.bottom, top=self.top, marks=self.marks,
        )  # fmt: skip
        self.first = "picks"
        self.lay_out((listed, form), {1: ((0, 1),), 2: ((0,), (1,))})
        self.shape.chosen.connect(lambda _: self._suit())
        for field in (self.tall, self.bottom, self.top, self.marks):
            field.edit.textChanged.connect(lambda _: self._say())

    # --- the record ----------------------------------------------------------------------------------

    def rows(self) -> Sequence[PickRow]:
        shop = self.keeper.shop
        self._shown = {c.name: c for c in shop.cups}
        hand = {shop.cup: "in hand; "}
        return [PickRow(c.name, c.name, hand.get(c.name, "") + shopping.cup_words(c, shop.unit)) for c in shop.cups]

    def relist(self) -> None:
        super().relist()
        shop = self.keeper.shop
        held = shop.cup if shop.cup in self._shown else ""
        options = [(_SMALLEST, "The smallest that holds the mix")]
        if held:
            options.append((_HAND, shorten(held, 34)))
        if self.key in self._shown and self.key != held:
            options.append((_THIS, f"This one: {shorten(self.key or '', 24)}"))
        self.in_hand.offer(options, _HAND if held else _SMALLEST)

    def fresh(self) -> CupText:
        cup = self._shown.get(self.key or "")
        return CupText() if cup is None else shopping.write_cup(cup)

    def _read(self) -> Cup:
        shop = self.keeper.shop
        others = [c.name for c in shop.cups if c.name != self.key]
        return shopping.read_cup(self.session.measures, self.text(), others, shop.unit)

    def save(self) -> str:
        cup, before = self._read(), self._shown.get(self.key or "")
        if cup != before:
            self.keeper.change(shopping.with_cup(self.keeper.shop, cup, self.key))
        self.kept(cup.name)
        if before is None:
            return f"{cup.name} is among your cups."
        return f"{cup.name} changed." if cup != before else "Nothing was changed."

    def _take(self, key: str) -> str:
        shop = self.keeper.shop
        name = {_SMALLEST: "", _THIS: self.key or ""}.get(key, shop.cup)
        try:
            if name != shop.cup:
                self.keeper.change(replace(shop, cup=name))
        finally:
            self.relist()
        self.in_hand.take_focus()
        return f"You mix in {name} now." if name else "The smallest cup that holds the mix is taken."

    def remove(self) -> str:
        shop, name = self.keeper.shop, self.key or ""
        self.keeper.change(shopping.without_cup(shop, name))
        for at, cup in enumerate(shop.cups):
            if cup.name == name:
                self._gone = (at, cup, shop.cup == name)
        return name

    def restore(self) -> tuple[str, str]:
        if self._gone is None:
            return "", ""
        at, cup, in_hand = self._gone
        shop = self.keeper.shop
        if all(c.name != cup.name for c in shop.cups):
            back = shopping.with_cup(shop, cup, None, at)
            self.keeper.change(replace(back, cup=cup.name) if in_hand and not shop.cup else back)
        return cup.name, cup.name

    # --- the form ------------------------------------------------------------------------------------

    def text(self) -> CupText:
        return CupText(
            name=self.cup_name.text(),
            shape=self.shape.value,
            height=self.tall.text(),
            bottom=self.bottom.text(),
            top=self.top.text(),
            marks=self.marks.text(),
            metal=self.stuff.value == _METAL,
        )

    def fill(self, text: CupText) -> None:
        self.shape.choose(text.shape)
        self.stuff.choose(_METAL if text.metal else _NO_METAL)
        for field, typed in (
            (self.cup_name, text.name), (self.tall, text.height), (self.bottom, text.bottom), (self.top, text.top),
            (self.marks, text.marks),
        ):  # fmt: skip
            field.fill(typed)
        self._suit()

    def _suit(self) -> None:
        """Ask what a cup of this shape has."""
        straight = self.shape.value == STRAIGHT
        self.top.setVisible(not straight)
        words = "Diameter inside" if straight else "Diameter at the bottom"
        self.bottom.label.say(words)
        self.bottom.edit.setAccessibleName(words)
        self.marks.setVisible(self.shape.value == MARKED)
        self._say()

    def _told(self, typed: str) -> str:
        if not typed.strip():
            return ""
        try:
            return f"{figure(self.session.measures.length_mm(typed, unit='mm'), 4)} mm"
        except NotAnAmount:
            return ""

    def _say(self) -> None:
        """Say what the cup as typed holds, and draw it."""
        text = self.text()
        try:
            named = dataclasses.replace(text, name=text.name.strip() or "?")
            cup: Cup | None = shopping.read_cup(self.session.measures, named, (), self.keeper.shop.unit)
        except Wrong:
            cup = None
        said = "" if cup is None else shopping.cup_words(cup, self.keeper.shop.unit)
        self.words.say(f"{said[:1].upper()}{said[1:]}." if said else "")
        self.picture.show_cup(cup)

    # --- drawing -------------------------------------------------------------------------------------

    def draw(self, painter: QPainter, box: QRectF, key: str, ink: QColor) -> None:
        cup = self._shown.get(key)
        if cup is not None:
            draw_cup(painter, box, cup, to_scale(box, [*self._shown.values()]), ink)


def to_scale(box: QRectF, cups: Sequence[Cup]) -> float:
    """Say how many pixels a mm is where the largest of these fills the box."""
    high = max((c.height_mm for c in cups), default=1.0)
    wide = max((max(c.top_mm, c.bottom_mm) for c in cups), default=1.0)
    return min(box.height() / high, box.width() / wide)


def draw_cup(painter: QPainter, box: QRectF, cup: Cup, scale: float, ink: QColor) -> None:
    """Draw the outline of a cup standing on the floor of `box`, with its marks."""
    x, floor, top = box.center().x(), box.bottom(), box.bottom() - cup.height_mm * scale
    low, wide = max(cup.bottom_mm * scale / 2, 1.0), max(cup.top_mm * scale / 2, 1.0)
    painter.setPen(QPen(ink, 1.5))
    painter.drawPolyline(
        [QPointF(x - wide, top), QPointF(x - low, floor), QPointF(x + low, floor), QPointF(x + wide, top)]
    )
    painter.setPen(QPen(ink, 1))
    for _, mm in cup.marks:
        half, y = cup.width_mm(mm) * scale / 2, floor - mm * scale
        painter.drawLine(QPointF(x + half - min(half, 8), y), QPointF(x + half, y))


class _CupPicture(QWidget):
    """The cup as typed, in its true proportions."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.cup: Cup | None = None
        self.setFixedHeight(6 * GRID)
        look.changed.connect(self.update)

    def show_cup(self, cup: Cup | None) -> None:
        """Draw this cup; nothing where there is none."""
        self.cup = cup
        self.setAccessibleName("" if cup is None else f"Drawn: {shopping.cup_words(cup)}")
        self.setVisible(cup is not None)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        if self.cup is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(2, 2, -2, -2)
        box.setWidth(min(box.width(), box.height() * 1.2))
        draw_cup(painter, box, self.cup, to_scale(box, [self.cup]), self.look.theme.color("ink"))
        painter.end()
