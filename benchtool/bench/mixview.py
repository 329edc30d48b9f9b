"""The mix as shown: ratio, amounts, the cup drawn, the pour that is next, and what there is to say of it."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from benchtool.bench.controls import (
    AmountEdit,
    BenchButton,
    BigText,
    Choice,
    Field,
    Pane,
    TickingWords,
    Words,
    scrolled,
)
from benchtool.bench.cup import CupDrawing, Pour
from benchtool.bench.look import GRID, Look
from benchtool.bench.partrow import PartRow
from benchtool.job.cards import Activator, Card, Gun
from benchtool.job.cautions import hazards_of
from benchtool.job.nextstep import CupAct, CupStep, amount_for
from benchtool.job.state import LayerState, Mix, State
from benchtool.job.windows import pot_life_span
from benchtool.session import cupacts, cupage
from benchtool.session.amounts import read_make
from benchtool.session.cupview import CupView, caution_words, cup_view, empty_view, held_words, plan_view, ratio_words
from benchtool.session.owned import scale_of, shop_of
from benchtool.session.session import Document, Session
from benchtool.trade.mixing import NotAShare
from benchtool.trade.numbers import clock_words, shorten
from benchtool.trade.quantities import NotAnAmount
from benchtool.trade.saying import say
from benchtool.trade.substrates import Flex, Suits
from benchtool.trade.units import volume_words

USUAL_MAKE_ML = 30.0
MOST_NOTES = 4
"""More sentences than this nobody reads with paint in hand; the most important stand first."""


class MixView(Pane):
    """Shows the cup of the layer in hand; what is done with it is `MixPane`'s."""

    said = Signal(str)
    part_asked = Signal(str)
    run_asked = Signal()

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, "Mix", "mix")
        self.aside: Callable[[str], frozenset[str]] = lambda _: frozenset()
        self.session = session
        self._rows: dict[str, PartRow] = {}
        self._asked_part: str | None = None
        self._step_amount: float | None = None
        self._for_part = ""
        self._shown_for: tuple[str, str, str] | None = None
        self._good: tuple[str, CupView] | None = None
        self._last_typed = ""
        self._typed_at: dict[tuple[str, str, str], str] = {}
        self.view = CupView()
        self.title = Words(look, "title", "ink")
        self.ratio = TickingWords(look, "small", "quiet")
        self.activator = Choice(look, "activator", "Activator")
        self.gun = Choice(look, "gun", "Gun")
        self.cup = CupDrawing(look)
        self.parts_box = QVBoxLayout()
        self.parts_box.setSpacing(0)
        self.ask = TickingWords(look, "small", "quiet")
        self.amount = BigText(look, "amount")
        self.how = Words(look, "small", "ink")
        self.field = Field(look, "Make", "amount", edit=AmountEdit())
        self.go = BenchButton(look, "Mix it", "Enter", name="mix-go", primary=True)
        self.scale = BenchButton(look, "Scale", "W", name="mix-weigh")
        self.scale.setCheckable(True)
        self.notes = [Words(look, "small", "quiet") for _ in range(MOST_NOTES)]
        self.to_run = BenchButton(look, say("Back to the run"), "Shift+T", name="mix-to-run", primary=True)
        self.to_run.hide()
        self.to_run.clicked.connect(lambda _=False: self.run_asked.emit())
        self.empty_cup = BenchButton(look, "Empty the cup", "E", name="mix-empty")
        self.share = BenchButton(look, "Use that cup", name="mix-share")
        self.stir_anyway = BenchButton(look, "Stirred as it is", name="mix-stir-anyway")
        self.caution = Words(look, "small", "quiet")
        self._arrange()

    def _arrange(self) -> None:
        body = QWidget()
        column = QVBoxLayout(body)
        column.setContentsMargins(0, 0, GRID // 2, 0)
        column.setSpacing(GRID // 2)
        pour = QVBoxLayout()
        pour.setSpacing(GRID // 2)
        for line in (self.ask, self.amount, self.how, self.field):
            pour.addWidget(line)
        doing = QHBoxLayout()
        doing.setSpacing(GRID // 2)
        doing.addWidget(self.go, 5)
        doing.addWidget(self.scale, 2)
        pour.addLayout(doing)
        pour.addWidget(self.to_run)
        pour.addLayout(self.parts_box)
        pour.addStretch(1)
        across = QHBoxLayout()
        across.setSpacing(2 * GRID)
        across.addWidget(self.cup, 9)
        across.addLayout(pour, 14)
        for part in (self.title, self.ratio, self.activator, self.gun):
            column.addWidget(part)
        column.addLayout(across, 1)
        told = QVBoxLayout()
        told.setSpacing(2)
        for note in self.notes:
            told.addWidget(note)
        column.addLayout(told)
        column.addWidget(self.caution)
        last = QHBoxLayout()
        last.setSpacing(GRID)
        last.addWidget(self.share, 1)
        last.addWidget(self.stir_anyway, 1)
        last.addWidget(self.empty_cup, 1)
        column.addLayout(last)
        self.column.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID // 2)
        self.column.addWidget(scrolled(body), 1)

    # --- drawing what is ---------------------------------------------------------------------------

    def refresh(self, now: datetime) -> None:
        """Show the cup of the layer in hand as it stands at `now`."""
        document, layer = self.session.current, self.session.layer
        card = document.state.card_of(layer) if document is not None and layer is not None else None
        if document is None or layer is None or card is None:
            self._show_nothing()
            return
        mix = document.state.mix_for(layer)
        self.title.say(document.state.layer_name(layer))
        hazards = hazards_of(card, layer, mix)
        self.caution.say(caution_words(self.session.tables, hazards))
        self.caution.setVisible(bool(hazards))
        writable = not document.read_only
        for part in (self.go, self.empty_cup, self.field, self.stir_anyway, self.scale):
            part.setEnabled(writable)
        self.empty_cup.setVisible(mix is not None)
        self.to_run.hide() if mix is None else None
        cups = cupage.to_share(document.state, layer, now) if mix is None else []
        self.share.setVisible(bool(cups) and writable)
        if cups:
            self._offer_cup(document.state, cups[-1], now)
        self._show_choices(card, layer, mix)
        place = (layer.id, mix.id if mix is not None else "", card.id)
        if place != self._shown_for:
            self._keep_typed(place)
        if mix is None:
            self._show_plan(document, layer, card, now)
        else:
            self._show_cup(document.state, mix.card or card, layer, mix, now)

    def _offer_cup(self, state: State, cup: Mix, now: datetime) -> None:
        owner = state.layers.get(cup.made.layer)
        whose = state.piece_of(owner).piece.name if owner is not None else say("another piece")
        held, age = volume_words(cup.total_mL, shop_of(self.session).unit), cupage.age_words(cup, now)
        offer = say("Use the cup of {piece}, {held}", piece=whose, held=held)
        self.share.say(f"{offer}, {age}" if age else offer)

    def _show_nothing(self) -> None:
        self.title.say("Mix")
        self.ratio.say("Pick a layer of the stack, and its mix shows here.")
        for part in (self.activator, self.gun, self.field, self.go, self.share, self.stir_anyway, self.scale, self.how):
            part.hide()
        self.empty_cup.hide()
        self.to_run.hide()
        self.caution.hide()
        self.ask.hide()
        self.amount.hide()
        self._rows_for(())
        self._say_notes(())
        self.cup.show_pours((), None)

    def _show_choices(self, card: Card, layer: LayerState, mix: Mix | None) -> None:
        self.activator.setVisible(mix is None and bool(card.activators))
        self.gun.setVisible(mix is None)
        document = self.session.current
        if mix is None:
            piece = document.state.piece_of(layer) if document is not None else None
            flex = piece.piece.flex if piece is not None else None
            remarks = [_not_for(a, flex) for a in card.activators]
            self.activator.offer([(a.id, a.name) for a in card.activators], layer.plan.activator, remarks)
            self.gun.offer([(g.value, g.value.capitalize()) for g in Gun], layer.plan.gun.value)

    def _show_plan(self, document: Document, layer: LayerState, card: Card, now: datetime) -> None:
        self._step_amount = None
        self.stir_anyway.hide()
        self.ratio.say(ratio_words(card, layer))
        self.field.show()
        self.field.label.show()
        self.field.edit.setPlaceholderText("")
        self.field.edit.setAccessibleName("Make, ready to spray")
        untouched = not self.field.edit.isModified()
        if untouched and (not self.field.edit.hasFocus() or not self.field.text()):
            self.field.edit.setText(self._usual_make(document, layer, now))
        for part in (self.ask, self.amount, self.how):
            part.hide()
        self.go.say("Mix it", primary=not layer.finished)
        self.go.key = "Enter"
        self.go.show()
        self._show_scale()
        typed = self.field.text()
        try:
            make_mL = read_make(self.session, layer, typed)
            view, wrong = plan_view(self.session, layer, make_mL), ""
        except (NotAnAmount, NotAShare) as no:
            view, wrong = empty_view(self.session, layer), str(no)
        if not wrong:
            self._good = (volume_words(make_mL, shop_of(self.session).unit), view)
            self.field.complain("")
        elif self._good is not None and self._good[1].parts:
            view = replace(self._good[1], notes=((f"The amounts are old: they are for {self._good[0]}.", "quiet"),))
        if wrong and typed.strip() and typed == self._last_typed:  # a second after the last letter, not between two
            self.field.complain(wrong)
        self._last_typed = typed
        cost = f" (costs {view.cost})" if view.cost and not wrong else ""
        self.field.label.say(f"Make{cost}" if cost else "Make, ready to spray")
        self._draw(view, layer, old=bool(wrong) and self._good is not None)

    def _usual_make(self, document: Document, layer: LayerState, now: datetime) -> str:
        unit, state = shop_of(self.session).unit, document.state
        if state.trial_of(layer.piece) is not None:
            from benchtool.session.trialcup import strips_take_mL  # what runs a trial is loaded for strips alone

            strips = strips_take_mL(self.session, document, layer, now)
            if strips is not None:
                return volume_words(strips, unit)
        if layer.plan.make_mL is not None and not layer.mixes:
            return volume_words(layer.plan.make_mL, unit)
        for mix in reversed(state.mixes.values()):
            if mix.made.card == layer.plan.card:
                return volume_words(mix.made.make_mL, unit)
        return volume_words(USUAL_MAKE_ML, unit)

    def _show_cup(self, state: State, card: Card, layer: LayerState, mix: Mix, now: datetime) -> None:
        asked = cupacts.step_of(layer, mix, self.session, now)
        step = self._picked(mix) or asked
        self.stir_anyway.setVisible(asked.act is CupAct.MEND and self.stir_anyway.isEnabled())
        life = pot_life_span(card, mix)
        left = life.remaining_s(now) if life is not None else None
        self.ratio.say(held_words(mix, left, shop_of(self.session).unit))
        view = cup_view(self.session, state, layer, mix, step)
        self._draw(view, layer)
        self._show_step(step, view, now, over=left is not None and left <= 0)

    def _draw(self, view: CupView, layer: LayerState, *, old: bool = False) -> None:
        self.view = view
        self._rows_for(tuple(p.name for p in view.parts))
        for part in view.parts:
            self._rows[part.name].show_part(
                part.share,
                part.amount,
                is_next=part.is_next,
                how=part.how,
                wrong=part.wrong,
                poured=part.poured,
                old=old,
            )
        drawn = tuple(Pour(p.name, p.kind.value, p.mL, p.to_mL) for p in view.parts)
        following = next((p.name for p in view.parts if p.is_next), None)
        self.cup.show_pours(
            drawn, following, over=view.over, color=layer.plan.colour, shape=view.cup, unit=shop_of(self.session).unit
        )
        self._say_notes(view.notes)

    def _say_notes(self, notes: Sequence[tuple[str, str]]) -> None:
        for label, note in zip(self.notes, [*notes, *[("", "quiet")] * MOST_NOTES], strict=False):
            label.say(*note)
            label.setVisible(bool(note[0]))

    def _keep_typed(self, place: tuple[str, str, str]) -> None:
        """Turn to another cup: an amount to make that was typed and not entered is there again on coming back."""
        before = self._shown_for
        if before is not None and not before[1] and self.field.edit.isModified():
            self._typed_at[before] = self.field.text()
        self._shown_for, self._asked_part, self._good = place, None, None
        typed = self._typed_at.pop(place, "")
        self.field.edit.setText(typed)
        self.field.edit.setModified(bool(typed))
        self.field.complain("")

    def _ask_in_field(self, words: str) -> None:
        """Ask inside the field, where the amount over it already says what it is about."""
        self.field.label.hide()
        self.field.edit.setPlaceholderText(words)
        self.field.edit.setAccessibleName(words[:1].upper() + words[1:])

    def _show_scale(self) -> None:
        shop = shop_of(self.session)
        self.scale.setChecked(shop.by_weight)
        self.scale.setVisible(shop.by_weight or scale_of(shop) is not None)
        self.scale.setAccessibleName("On the scale" if shop.by_weight else "By volume")

    def _picked(self, mix: Mix) -> CupStep | None:
        """The pour of a part that the painter picked by hand, before what the cup itself asks for."""
        if self._asked_part is None or all(p.name != self._asked_part for p in mix.parts):
            return None
        amount = amount_for(mix, self._asked_part)
        return CupStep(act=CupAct.POUR, part=self._asked_part, amount_mL=amount, words="")

    def _show_step(self, step: CupStep, view: CupView, now: datetime, *, over: bool) -> None:
        """Show what the cup asks for; one past its pot life (`over`) is not shown as ready or worth a wait."""
        pouring = bool(view.part)
        over = over and step.act in (CupAct.READY, CupAct.WAIT, CupAct.STIR)
        self._step_amount = view.log_mL if pouring else None
        self.ask.show()
        if pouring and view.part != self._for_part:  # what was typed for another part is no amount of this one
            self._for_part = view.part
            self.field.edit.clear()
            self.field.complain("")
        self.field.setVisible(pouring)
        self.go.setVisible(pouring or step.act is CupAct.STIR)
        self.how.say(view.how)
        self.how.setVisible(bool(view.how))
        self.ask.say(say("Empty it and mix fresh.") if over else view.ask)
        self.scale.hide()
        if pouring:
            self._show_amount(view.big)
            on_scale = shop_of(self.session).by_weight
            self._ask_in_field("or type what it shows" if on_scale else "or type what you poured")
            self._show_scale()
            self._name_go()
        elif step.act is CupAct.STIR:
            self._show_amount(say("Over") if over else "Stir", "trouble" if over else "accent")
            self.go.key = "M"
            self.go.say("Stirred", primary=not over)
        elif over:
            self._show_amount(say("Over"), "trouble")
        elif step.act is CupAct.WAIT and step.until is not None:
            self._show_amount(clock_words((step.until - now).total_seconds()))
        elif step.act is CupAct.MEND:
            self._show_amount(view.big)
        else:
            self._show_amount("Ready")
        self._show_way_back(step, now)

    def _show_way_back(self, step: CupStep, now: datetime) -> None:
        """Where a cup of strips asks for nothing more, say which strips it is for, and lead back to their run."""
        piece, act = self.session.piece, None
        if step.act in (CupAct.READY, CupAct.WAIT) and piece is not None and piece.piece.strip_of is not None:
            from benchtool.session.trialhand import act_in_hand

            act = act_in_hand(self.session, now, self.aside)
        self.to_run.setVisible(act is not None)
        if act is not None:
            self.to_run.say(self.to_run.text(), primary=act.kind.name != "FINISH")
            if act.kind.name in ("COAT", "MIX"):
                self.how.say(say("It is for {strips}.", strips=act.who))
                self.how.show()

    def _rows_for(self, names: tuple[str, ...]) -> None:
        if tuple(self._rows) == names:
            return
        for row in self._rows.values():
            self.parts_box.removeWidget(row)
            row.hide()
            row.deleteLater()
        self._rows = {}
        for name in names:
            row = PartRow(self.look, name)
            row.clicked.connect(lambda _=False, n=name: self.part_asked.emit(n))
            self._rows[name] = row
            self.parts_box.addWidget(row)

    def _show_amount(self, text: str, tone: str = "accent") -> None:
        self.amount.show()
        self.amount.show_text(text, tone)

    def _name_go(self) -> None:
        """Let the buttons say what Enter and E would log."""
        if self._step_amount is None:
            return
        typed = self.field.text().strip()
        self.go.key = "Enter"
        self.go.say(f"Log {shorten(typed, 18)}" if typed else f"Poured {self.view.log_words}", primary=True)


def _not_for(activator: Activator, flex: Flex | None) -> str:
    """Say what an activator is for where it does not suit the piece; else nothing."""
    if flex is None or activator.suits.suits(flex):
        return ""
    return say("for rigid parts") if activator.suits is Suits.RIGID else say("for parts that bend")
