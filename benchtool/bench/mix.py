"""The mix: ratio, amounts, a drawn cup, and one pour after another with what mends a wrong one."""

from collections.abc import Callable
from functools import partial

from msgspec.structs import replace as structs_replace

from benchtool.bench.look import Look
from benchtool.bench.mixview import MixView
from benchtool.job import events as ev
from benchtool.job.cards import Gun
from benchtool.job.lots import Lot
from benchtool.job.nextstep import CupAct, last_stir
from benchtool.job.state import Mix
from benchtool.session import acts, cupacts, cupage
from benchtool.session.cupview import cup_view
from benchtool.session.owned import can_words, cans_for, scale_of, shop_of
from benchtool.session.session import Draft, NotNow, Session
from benchtool.session.shop import ShopNotKept
from benchtool.trade.mixing import NotAShare
from benchtool.trade.quantities import NotAnAmount

MOST_CANS = 4
"""More cans of one part than this are picked on the shop page."""


class MixPane(MixView):
    """The cup of the layer in hand."""

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, session)
        self.activator.chosen.connect(self._choose_activator)
        self.gun.chosen.connect(self._choose_gun)
        self.field.entered.connect(lambda _: self.enter())
        self.go.clicked.connect(self.enter)
        self.scale.clicked.connect(self._turn_scale)
        self.field.edit.textChanged.connect(lambda _: self._typed())
        self.empty_cup.clicked.connect(self.empty)
        self.share.clicked.connect(self.share_cup)
        self.stir_anyway.clicked.connect(self.stirred)
        self.part_asked.connect(self._ask_for)

    def _ask_for(self, part: str) -> None:
        self._asked_part = None if part == self._asked_part else part
        self.field.edit.clear()
        self.refresh(self.session.now())
        self.field.edit.setFocus()

    def leave_part(self) -> None:
        """Go back from a part that was picked by hand to the step that the cup asks for."""
        self._asked_part = None
        if self._step_amount is not None:  # an amount to make that is typed already is no part's
            self.field.edit.clear()
            self.field.complain("")

    def enter_pressed(self) -> None:
        """Do what the button says, where it says Enter."""
        if self.go.isVisible() and self.go.isEnabled() and self.go.key == "Enter":
            self.enter()
        elif self.to_run.isVisible():
            self.run_asked.emit()

    # --- doing -------------------------------------------------------------------------------------

    def take_focus(self) -> None:
        """Put the cursor where the next amount is typed, or do the one thing that is asked."""
        if self.field.isVisible():
            self.field.edit.setFocus()
            self.field.edit.selectAll()
        elif self.go.isVisible():
            self.enter()

    def enter(self) -> None:
        """Do what the pane asks for: begin the mix, log the pour typed, or log the stirring."""
        document, layer = self.session.current, self.session.layer
        card = document.state.card_of(layer) if document is not None and layer is not None else None
        if document is None or layer is None or card is None:
            return
        mix = document.state.mix_for(layer)
        try:
            if mix is None:
                if self._do(cupacts.begin(self.session, layer, self.field.text())):
                    self.field.edit.clear()
                    self.field.edit.setModified(False)
                    self.take_focus()
                return
            step = self._picked(mix) or cupacts.step_of(layer, mix, self.session, self.session.now())
            if step.act in (CupAct.POUR, CupAct.MEND):
                view = cup_view(self.session, document.state, layer, mix, step)
                act = None
                if view.part:
                    act = cupacts.pour(self.session, mix, view.part, self.field.text(), view.log_mL)
                if act is None:
                    self.said.emit("There is nothing to log: type what you poured." if view.part else view.how)
                self._log_pour(act)
            else:
                counts = (mix.card or card).stand is not None
                self._do(cupacts.stir(mix, step, counts=counts))
        except (NotAnAmount, NotAShare) as wrong:
            self.field.complain(str(wrong))
        except NotNow as no:
            self.said.emit(str(no))

    def _do(self, act: cupacts.Act | None) -> bool:
        return act is not None and self._write(*act.before, act.draft, say=act.words)

    def _log_pour(self, act: cupacts.Act | None) -> None:
        if not self._do(act):
            return
        self._asked_part = None
        self.field.edit.clear()
        self.field.complain("")
        self.refresh(self.session.now())
        self.take_focus() if self.field.isVisible() else self.setFocus()

    def _write(self, *drafts: Draft, say: str = "") -> bool:
        """Write one act into the record and say so; says why where that can't be done, and gives whether it was."""
        try:
            self.session.apply(*drafts)
        except NotNow as no:
            self.said.emit(str(no))
            return False
        if say:
            self.said.emit(say)
        return True

    def _mix_in_hand(self) -> Mix | None:
        document, layer = self.session.current, self.session.layer
        return document.state.mix_for(layer) if document is not None and layer is not None else None

    def _typed(self) -> None:
        self._name_go()
        if self._step_amount is None and self.field.isVisible() and self.field.edit.isModified():
            self.refresh(self.session.now())

    def stirred(self) -> None:
        """Log that the cup was stirred as it is."""
        mix = self._mix_in_hand()
        if mix is not None:
            self._write(partial(ev.MixStirred, mix=mix.id, what=last_stir(mix)), say="Stirred as it is.")

    def share_cup(self) -> None:
        """Spray the layer in hand from the cup of another piece."""
        document, layer = self.session.current, self.session.layer
        if document is None or layer is None:
            return
        cups = cupage.to_share(document.state, layer, self.session.now())
        if cups:
            say = "This layer is sprayed from that cup."
            self._write(partial(ev.CupShared, mix=cups[-1].id, layer=layer.id), say=say)

    def empty(self) -> None:
        """Log that the cup was emptied, with how much was left in it where that is typed."""
        mix = self._mix_in_hand()
        if mix is None:
            return
        try:
            done = self._do(cupacts.empty(self.session, mix, self.field.text() if self.field.isVisible() else ""))
        except NotAnAmount as wrong:
            self.field.complain(str(wrong))
            return
        if done:
            self.field.edit.clear()
            self.field.edit.setModified(False)
            self.refresh(self.session.now())

    def make(self, amount: str) -> None:
        """Put an amount to make into the field, for Enter to begin the cup with.

        Raises:
            NotNow: there is no layer to mix for, or its cup is begun already.
        """
        if self.session.layer is None:
            raise NotNow("Plan a layer first: press L.")
        if self._mix_in_hand() is not None:
            raise NotNow("This layer has its cup already: empty it first (E), then take the amount again.")
        self.refresh(self.session.now())
        self.field.edit.setText(amount)
        self.field.edit.setModified(True)
        self.take_focus()

    def _turn_scale(self) -> None:
        try:
            self.weigh()
        except NotNow as no:
            self.said.emit(str(no))

    def weigh(self) -> None:
        """Turn between measuring by volume and on the scale."""
        shop = shop_of(self.session)
        if self.session.shop is None:
            raise NotNow("Nothing of the shop is kept here, so it stays at volumes.")
        if not shop.by_weight and scale_of(shop) is None:
            self._show_scale()
            raise NotNow("You own no scale yet: press O and add one to your tools.")
        try:
            self.session.shop.change(structs_replace(shop, by_weight=not shop.by_weight))
        except ShopNotKept as no:
            raise NotNow(str(no)) from None
        self.said.emit("By volume." if shop.by_weight else "On the scale: tare the empty cup once.")
        self.refresh(self.session.now())

    def cans(self) -> tuple[str, list[tuple[str, Callable[[], None]]]]:
        """Give the question which can the next part comes from, with its answers.

        Raises:
            NotNow: there is none to choose from.
        """
        layer = self.session.layer
        unpoured = [p.name for p in self.view.parts if not p.poured] or [p.name for p in self.view.parts]
        part = self.view.part or (unpoured[0] if unpoured else "")
        lots = cans_for(self.session, layer, part) if layer is not None else ()
        if layer is None or not lots:
            what = f" of {part}" if part else ""
            raise NotNow(f"There is no can{what} in your shop: press O and add it.")

        def take(lot: Lot) -> None:
            self._write(acts.take_lot(self.session, lot), say=acts.lot_taken_words(self.session, lot))

        answers: list[tuple[str, Callable[[], None]]] = [
            (can_words(self.session, lot), partial(take, lot)) for lot in lots[:MOST_CANS]
        ]
        return f"Which can does {part} come from?", answers

    def _choose_activator(self, key: str) -> None:
        self._change_plan(activator=key)

    def _choose_gun(self, key: str) -> None:
        self._change_plan(gun=Gun(key))

    def _change_plan(self, **changes: object) -> None:
        layer = self.session.layer
        if layer is None:
            return
        if not self._write(acts.change_layer(layer, **changes)):
            self.refresh(self.session.now())
