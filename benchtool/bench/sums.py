"""The page of sums: how much to mix, pot life, flow, emissions and cost. Answers follow each keystroke."""

from collections.abc import Callable, Mapping
from datetime import datetime

from msgspec.structs import replace
from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QHideEvent, QKeyEvent, QShowEvent

from benchtool.bench.look import GRID, Look
from benchtool.bench.plansheet import Sheet
from benchtool.bench.sumsparts import Group, SizeGroup, cost_group, flow_group, life_group, voc_group
from benchtool.bench.typedkeys import LETTERS, keeps
from benchtool.session import sums, sumsjob, sumswords
from benchtool.session.cardfields import Wrong
from benchtool.session.cupview import caution_words
from benchtool.session.owned import shop_of
from benchtool.session.session import Session
from benchtool.session.shop import ShopNotKept
from benchtool.session.sums import FORM_FIELDS, Form, Needed
from benchtool.sheets.sums import SizeSheet
from benchtool.trade.units import volume_words

_SHAPE = ("first", "second", "ends", "area")


class SumsPage(Sheet):
    """The sums of the layer in hand. Nothing is entered: only the VOC limit is kept, in the shop."""

    letters = LETTERS
    said = Signal(str)
    make_asked = Signal(str)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, "sums", least=46 * GRID, most=80 * GRID)
        self.session = session
        self.mixing = SizeGroup(look, session.measures)
        self.life, self.flow = life_group(look), flow_group(look)
        self.voc, self.cost = voc_group(look), cost_group(look)
        self.groups: tuple[Group, ...] = (self.mixing, self.life, self.flow, self.voc, self.cost)
        self.asks = {"form": self.mixing.form}
        self.fields = {key: field for group in self.groups for key, field in group.fields.items()}
        self.asks.update(self.fields)
        self.first = "first"
        self.lay_out(self.groups, {1: ((0, 1, 2, 3, 4),), 2: ((0, 3, 4), (1, 2)), 3: ((0,), (1, 3), (2, 4))})
        self._filled: dict[str, str] = {}
        self._about: tuple[object, ...] = ()
        self._sized: SizeSheet | None = None
        self.mixing.form.chosen.connect(lambda _: self._turn_form())
        for field in self.fields.values():
            field.edit.textEdited.connect(lambda _: self.work_out())
        self.fields["limit"].edit.editingFinished.connect(self._keep_limit)
        self.entered.connect(self._make)
        stop = session.subscribe(self._follow)
        self.destroyed.connect(stop)

    # --- asking ------------------------------------------------------------------------------------

    def ask(self) -> None:
        """Fill in what the layer in hand says. What was typed about the same layer is still there."""
        document, layer = self.session.current, self.session.layer
        piece = self.session.piece
        filled = sumsjob.filled(self.session)
        about = (document, piece.id if piece is not None else "", layer.id if layer is not None else "")
        if about != self._about:
            if about[:2] != self._about[:2]:
                for key in _SHAPE:
                    self.fields[key].fill(filled.texts.get(key, ""))
                if self.fields["area"].text():
                    self.mixing.form.choose(Form.AREA.value)
                    self._turn_form()
            for group in self.groups:
                group.clear()
        for key, field in self.fields.items():
            untouched = field.text() == self._filled.get(key, "")
            if key not in _SHAPE and (about != self._about or untouched):
                self._filled[key] = filled.texts.get(key, "")
                if field.text() != self._filled[key]:  # else the cursor would jump
                    field.fill(self._filled[key])
        self._about = about
        name = document.state.layer_name(layer) if document is not None and layer is not None else ""
        on = f" for {name} on {piece.piece.name}" if name and piece is not None else ""
        self.head(f"Sums{on}", "Mix this much", "Ctrl+Enter")
        self.work_out()

    def refresh(self, now: datetime) -> None:
        """Count the cups of the pot life from `now`."""
        self._answer(self.life, lambda: self._life(now))
        self._explain()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.take_focus()

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self._keep_limit()

    def _follow(self) -> None:
        if self.isVisible():
            self.ask()

    def _turn_form(self) -> None:
        self.mixing.reshape()
        self.first = FORM_FIELDS[self.form][0]
        self.work_out()

    @property
    def form(self) -> Form:
        """The form chosen."""
        return Form(self.mixing.form.value or Form.RECTANGLE)

    def typed(self) -> Mapping[str, str]:
        """Give what is typed, by field."""
        return {"form": self.form.value, **{key: field.text() for key, field in self.fields.items()}}

    # --- answering ---------------------------------------------------------------------------------

    def work_out(self) -> None:
        """Work out every answer from what is typed now."""
        for field in self.fields.values():
            field.complain("")
        self._sized = None
        self._answer(self.mixing, self._size)
        self._answer(self.life, lambda: self._life(self.session.now()))
        self._answer(self.flow, self._flow)
        self._answer(self.voc, self._voc)
        self._answer(self.cost, self._cost)
        self._explain()

    def _answer(self, group: Group, work: Callable[[], sumswords.Told]) -> None:
        try:
            group.show_told(work())
        except Wrong as wrong:
            group.fail()
            for key, message in reversed(wrong.faults):
                self.fields[key].complain(message)
        except Needed as needed:
            group.need(str(needed))

    def _size(self) -> sumswords.Told:
        layer = self.session.layer
        gun = layer.plan.gun if layer is not None else None
        unit = shop_of(self.session).unit
        sheet = sums.how_much(self.session.measures, self.typed(), unit, gun)
        self._sized = sheet
        film = sumsjob.film_words(self.session, sheet.sized.dry_um, sheet.coats)
        return sumswords.size_told(sheet, unit, film)

    def _life(self, now: datetime) -> sumswords.Told:
        unit = shop_of(self.session).unit
        ready = self._sized.sized.ready_mL if self._sized is not None else None
        life = sums.pot_life(self.session.measures, self.typed(), unit, ready)
        times = (self.fields[key].text() == self._filled.get(key, "") for key in ("pot_life", "stand", "flash"))
        air = sumsjob.filled(self.session).air if all(times) else ""  # what is typed over is no time of this air
        return sumswords.life_told(life, unit, now, air)

    def _flow(self) -> sumswords.Told:
        wanted = sumsjob.wanted_now(self.session)
        try:
            return sumswords.flow_told(sums.flow(self.session.measures, self.typed(), wanted))
        except Needed as needed:
            raise Needed(f"{needed} {wanted.words}" if wanted is not None else str(needed)) from None

    def _amounts(self) -> sumsjob.Amounts:
        return sumsjob.amounts_now(self.session, self._sized.sized.ready_mL if self._sized is not None else None)

    def _voc(self) -> sumswords.Told:
        amounts = self._amounts()
        return sumswords.voc_told(sumsjob.emitted(self.session.measures, self.typed(), amounts), amounts)

    def _cost(self) -> sumswords.Told:
        amounts = self._amounts()
        if amounts.mix is None and self._sized is None:
            raise Needed("Once it is known how much to mix, its cost stands here.")
        loss = self._sized.sized.loss_mL if self._sized is not None else 0.0
        return sumswords.costs_told(sumsjob.costs(self.session, amounts, loss), shop_of(self.session))

    def _explain(self) -> None:
        """Say beside the answers what is not typed: the button, the hint of the amount, the caution."""
        unit = shop_of(self.session).unit
        ready = volume_words(self._sized.sized.ready_mL, unit) if self._sized is not None else ""
        self.go.say(f"Mix this much: {ready}" if ready else "Mix this much")
        self.go.setEnabled(bool(ready) and self.session.layer is not None)
        self.fields["amount"].edit.setPlaceholderText(ready or "as above")
        notes = sumsjob.filled(self.session).notes
        for group in self.groups:
            lacking = [notes[key] for key in group.fields if key in notes and not self.fields[key].text().strip()]
            if lacking and group.answer.good is None:
                group.need(" ".join(lacking))
        document, layer = self.session.current, self.session.layer
        card = document.state.card_of(layer) if document is not None and layer is not None else None
        self.life.caution_of(caution_words(self.session.tables, card.hazards) if card is not None else "")

    # --- doing -------------------------------------------------------------------------------------

    def _make(self) -> None:
        if self._sized is None:
            self.said.emit("Not yet: it is not known how much to mix.")
        elif self.session.layer is None:
            self.said.emit("Plan a layer first: press L.")
        else:
            self.make_asked.emit(volume_words(self._sized.sized.ready_mL, shop_of(self.session).unit))

    def _keep_limit(self) -> None:
        """Keep the limit in the shop once it is typed to its end, if it is one."""
        keeper = self.session.shop
        if keeper is None:
            return
        try:
            limit = sumsjob.read_limit(self.session.measures, self.fields["limit"].text())
            if limit != keeper.shop.voc_limit_g_L:
                keeper.change(replace(keeper.shop, voc_limit_g_L=limit))
        except Wrong:
            return
        except ShopNotKept as fault:
            self.said.emit(str(fault))

    # --- keys --------------------------------------------------------------------------------------

    def on_enter(self, event: QKeyEvent) -> None:
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.entered.emit()
        else:
            self.focusNextPrevChild(True)

    def event(self, event: QEvent) -> bool:
        # The bench's letters are acts. Here they are typed, or do nothing.
        return keeps(event) or super().event(event)
