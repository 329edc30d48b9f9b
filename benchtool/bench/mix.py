"""The mix: ratio, amounts, a drawn cup, and one pour after another with what mends a wrong one."""

from datetime import datetime
from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, BigText, Choice, Field, Pane, TickingWords, Words, scrolled
from benchtool.bench.cup import CupDrawing, Pour
from benchtool.bench.look import GRID, Look
from benchtool.bench.partrow import PartRow
from benchtool.job import events as ev
from benchtool.job.cards import Card, Gun, recipe
from benchtool.job.nextstep import CupAct, CupStep, amount_for, cup_step, last_stir, out_of_ratio
from benchtool.job.state import LayerState, Mix, State, recipe_parts
from benchtool.job.windows import pot_life_span
from benchtool.session import acts
from benchtool.session.session import Draft, NotNow, Session
from benchtool.trade.mixing import NotAShare, amounts_mL, fractions, size_in_cup
from benchtool.trade.numbers import clock_words, pour_figure, shorten, span_words
from benchtool.trade.quantities import NotAnAmount

USUAL_MAKE = "30 mL"


class MixPane(Pane):
    """The cup of the layer in hand."""

    said = Signal(str)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, "Mix", "mix")
        self.session = session
        self._rows: dict[str, PartRow] = {}
        self._asked_part: str | None = None
        self._step_amount: float | None = None
        self._for_part = ""
        self._shown_for: tuple[str, str, str] | None = None
        self.title = Words(look, "title", "ink")
        self.ratio = TickingWords(look, "small", "quiet")
        self.activator = Choice(look, "activator", "Activator")
        self.gun = Choice(look, "gun", "Gun")
        self.cup = CupDrawing(look)
        self.parts_box = QVBoxLayout()
        self.parts_box.setSpacing(0)
        self.ask = TickingWords(look, "small", "quiet")
        self.amount = BigText(look, "amount")
        self.field = Field(look, "Make", "amount")
        self.go = BenchButton(look, "Mix it", "Enter", name="mix-go", primary=True)
        self.empty_cup = BenchButton(look, "Empty the cup", "E", name="mix-empty")
        self.share = BenchButton(look, "Use that cup", name="mix-share")
        self.stir_anyway = BenchButton(look, "Stirred as it is", name="mix-stir-anyway")
        self.caution = Words(look, "small", "quiet")
        self._arrange()
        self.activator.chosen.connect(self._choose_activator)
        self.gun.chosen.connect(self._choose_gun)
        self.field.entered.connect(lambda _: self.enter())
        self.go.clicked.connect(self.enter)
        self.field.edit.textChanged.connect(lambda _: self._name_go())
        self.empty_cup.clicked.connect(self.empty)
        self.share.clicked.connect(self.share_cup)
        self.stir_anyway.clicked.connect(self.stirred)

    def _arrange(self) -> None:
        body = QWidget()
        column = QVBoxLayout(body)
        column.setContentsMargins(0, 0, GRID // 2, 0)
        column.setSpacing(GRID)
        pour = QVBoxLayout()
        pour.setSpacing(GRID // 2)
        for line in (self.ask, self.amount, self.field, self.go):
            pour.addWidget(line)
        pour.addSpacing(GRID)
        pour.addLayout(self.parts_box)
        pour.addStretch(1)
        across = QHBoxLayout()
        across.setSpacing(2 * GRID)
        across.addWidget(self.cup, 9)
        across.addLayout(pour, 14)
        for part in (self.title, self.ratio, self.activator, self.gun):
            column.addWidget(part)
        column.addLayout(across, 1)
        column.addWidget(self.caution)
        last = QHBoxLayout()
        last.setSpacing(GRID)
        last.addWidget(self.share, 1)
        last.addWidget(self.stir_anyway, 1)
        last.addWidget(self.empty_cup, 1)
        column.addLayout(last)
        area = scrolled(body)
        self.column.addWidget(area, 1)

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
        self.caution.say("  ".join(self.session.tables.cautions.get(h, "") for h in card.hazards).strip())
        self.caution.setVisible(bool(card.hazards))
        writable = not document.read_only
        for part in (self.go, self.empty_cup, self.field, self.stir_anyway):
            part.setEnabled(writable)
        self.empty_cup.setVisible(mix is not None)
        cups = document.state.cups_to_share(layer) if mix is None else []
        self.share.setVisible(bool(cups) and writable)
        if cups:
            owner = document.state.layers.get(cups[-1].made.layer)
            whose = document.state.piece_of(owner).piece.name if owner is not None else "another piece"
            self.share.say(f"Use the cup of {whose}, {pour_figure(cups[-1].total_mL)} mL")
        self._show_choices(card, layer, mix)
        place = (layer.id, mix.id if mix is not None else "", card.id)
        if place != self._shown_for:
            self._shown_for, self._asked_part = place, None
            self.field.edit.clear()
            self.field.edit.setModified(False)
            self.field.complain("")
        if mix is None:
            self._show_plan(document.state, layer, card)
        else:
            self._show_cup(mix.card or card, layer, mix, now)

    def _show_nothing(self) -> None:
        self.title.say("Mix")
        self.ratio.say("Pick a layer of the stack, and its mix shows here.")
        for part in (self.activator, self.gun, self.field, self.go, self.share, self.stir_anyway):
            part.hide()
        self.empty_cup.hide()
        self.caution.hide()
        self.ask.hide()
        self.amount.hide()
        self._rows_for(())
        self.cup.show_pours((), None)

    def _show_choices(self, card: Card, layer: LayerState, mix: Mix | None) -> None:
        self.activator.setVisible(mix is None and bool(card.activators))
        self.gun.setVisible(mix is None)
        if mix is None:
            self.activator.offer([(a.id, a.name) for a in card.activators], layer.plan.activator)
            self.gun.offer([(g.value, g.value.capitalize()) for g in Gun], layer.plan.gun.value)

    def _show_plan(self, state: State, layer: LayerState, card: Card) -> None:
        try:
            parts = recipe_parts(recipe(card, state.activator_of(layer), layer.plan.gun))
        except NotAShare:  # a reducer measured by an activator that is not chosen yet, say
            parts = ()
        self._step_amount = None
        self.stir_anyway.hide()
        self.ratio.say(_ratio_words(card, layer))
        self.field.show()
        self.field.label.say("Make, ready to spray")
        if not self.field.edit.isModified() and not self.field.edit.hasFocus():
            self.field.edit.setText(self._usual_make(state, layer))
        self.ask.hide()
        self.amount.hide()
        self.go.say("Mix it", primary=True)
        self.go.key = "Enter"
        self.go.show()
        try:
            make = self.session.measures.volume(self.field.text(), unit="mL").mL if self.field.text() else 0.0
            amounts = amounts_mL(parts, make)
        except (NotAnAmount, NotAShare):
            amounts = tuple(0.0 for _ in parts)
        self._rows_for(tuple(p.name for p in parts))
        for part, amount in zip(parts, amounts, strict=True):
            self._rows[part.name].show_part(part.share.words(), f"{pour_figure(amount)} mL", is_next=False)
        drawn = tuple(Pour(p.name, p.kind.value, 0.0, a) for p, a in zip(parts, amounts, strict=True))
        self.cup.show_pours(drawn, None, color=layer.plan.colour)

    def _usual_make(self, state: State, layer: LayerState) -> str:
        for mix in reversed(state.mixes.values()):
            if mix.made.card == layer.plan.card:
                return f"{pour_figure(mix.made.make_mL)} mL"
        return USUAL_MAKE

    def _show_cup(self, card: Card, layer: LayerState, mix: Mix, now: datetime) -> None:
        asked = cup_step(card, mix, now)
        step = self._picked(mix) or asked
        self.stir_anyway.setVisible(asked.act is CupAct.MEND and self.stir_anyway.isEnabled())
        life = pot_life_span(card, mix)
        left = life.remaining_s(now) if life is not None else None
        self.ratio.say(_cup_words(mix, left))
        shares = fractions(mix.parts)
        size = max(mix.made.make_mL, size_in_cup(shares, [mix.poured_mL.get(p.name) for p in mix.parts]))
        self._rows_for(tuple(p.name for p in mix.parts))
        drawn = []
        amiss = out_of_ratio(card, mix)
        pouring = step.act in (CupAct.POUR, CupAct.MEND)
        for part, share, check in zip(mix.parts, shares, mix.checks, strict=True):
            have, target = check.poured_mL, share * size
            if check.poured_mL is None and part.name == step.part:
                target = step.amount_mL
            amount = f"{pour_figure(have)} mL" if have is not None else f"{pour_figure(target)} mL"
            wrong = ""
            if part.name in amiss and check.off_percent is not None:
                wrong = f"{abs(check.off_percent):.0f} % {'over' if check.off_percent > 0 else 'under'}"
            is_next = pouring and part.name == step.part
            row = self._rows[part.name]
            row.show_part(part.share.words(), amount, is_next=is_next, wrong=wrong, poured=have is not None)
            to = (have or 0.0) + step.amount_mL if is_next else (have if have is not None else target)
            drawn.append(Pour(part.name, part.kind.value, have or 0.0, to))
        over = bool(amiss)
        self.cup.show_pours(tuple(drawn), step.part if pouring else None, over=over, color=layer.plan.colour)
        self._show_step(step, now)

    def _picked(self, mix: Mix) -> CupStep | None:
        """The pour of a part that the painter picked by hand, before what the cup itself asks for."""
        if self._asked_part is None or all(p.name != self._asked_part for p in mix.parts):
            return None
        amount = amount_for(mix, self._asked_part)
        return CupStep(act=CupAct.POUR, part=self._asked_part, amount_mL=amount, words="")

    def _show_step(self, step: CupStep, now: datetime) -> None:
        pouring = step.act in (CupAct.POUR, CupAct.MEND)
        self._step_amount = step.amount_mL if pouring else None
        self.ask.show()
        if pouring and step.part != self._for_part:  # what was typed for another part is no amount of this one
            self._for_part = step.part
            self.field.edit.clear()
            self.field.complain("")
        self.field.setVisible(pouring)
        self.go.setVisible(pouring or step.act is CupAct.STIR)
        if pouring:
            mend = step.act is CupAct.MEND
            self.ask.say(f"Out of ratio. To mend it, add {step.part}" if mend else f"Pour {step.part}")
            self._show_amount(f"{pour_figure(step.amount_mL)} mL")
            self.field.label.say("Or type what you poured")
            self._name_go()
        elif step.act is CupAct.STIR:
            self.ask.say(step.words)
            self._show_amount("Stir")
            self.go.key = "M"
            self.go.say("Stirred", primary=True)
        elif step.act is CupAct.WAIT and step.until is not None:
            self._show_amount(clock_words((step.until - now).total_seconds()))
            self.ask.say(step.words)
        else:
            self._show_amount("Ready")
            self.ask.say(step.words)

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
            row.clicked.connect(lambda _=False, n=name: self._ask_for(n))
            self._rows[name] = row
            self.parts_box.addWidget(row)

    def _ask_for(self, part: str) -> None:
        self._asked_part = None if part == self._asked_part else part
        self.field.edit.clear()
        self.refresh(self.session.now())
        self.field.edit.setFocus()

    def leave_part(self) -> None:
        """Go back from a part that was picked by hand to the step that the cup asks for."""
        self._asked_part = None
        self.field.edit.clear()
        self.field.complain("")

    def enter_pressed(self) -> None:
        """Do what the button says, where it says Enter."""
        if self.go.isVisible() and self.go.isEnabled() and self.go.key == "Enter":
            self.enter()

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
        if mix is None:
            self._begin(layer)
            return
        step = self._picked(mix) or cup_step(mix.card or card, mix, self.session.now())
        if step.act is CupAct.STIR and step.stir is not None:
            say = "Stirred. The stand time counts from now." if card.stand else "Stirred."
            self._write(partial(ev.MixStirred, mix=mix.id, what=step.stir), say)
        elif step.act in (CupAct.POUR, CupAct.MEND):
            if self.field.text().strip():
                self._pour(mix, step.part, self.field.text())
            elif step.amount_mL > 0:
                self._log_pour(mix, step.part, step.amount_mL, "")

    def _write(self, draft: Draft, say: str = "") -> bool:
        """Write one event into the record and say so; says why where that can't be done, and gives whether it was."""
        try:
            self.session.apply(draft)
        except NotNow as no:
            self.said.emit(str(no))
            return False
        if say:
            self.said.emit(say)
        return True

    def _mix_in_hand(self) -> Mix | None:
        document, layer = self.session.current, self.session.layer
        return document.state.mix_for(layer) if document is not None and layer is not None else None

    def _show_amount(self, text: str) -> None:
        self.amount.show()
        self.amount.show_text(text, "accent")

    def _name_go(self) -> None:
        """Let the button say what Enter would log."""
        if self._step_amount is None:
            return
        typed = self.field.text().strip()
        self.go.key = "Enter"
        self.go.say(
            f"Log {shorten(typed, 18)}" if typed else f"Poured {pour_figure(self._step_amount)} mL", primary=True
        )

    def _begin(self, layer: LayerState) -> None:
        try:
            amount = self.session.measures.volume(self.field.text(), unit="mL")
            if amount.mL <= 0:
                raise NotAnAmount("Type an amount above zero, such as 30 mL or 1 fl oz.")
            draft = acts.begin_mix(self.session, layer, amount.mL)
        except (NotAnAmount, NotAShare) as wrong:
            self.field.complain(str(wrong))
            return
        except NotNow as no:
            self.said.emit(str(no))
            return
        if not self._write(draft):
            return
        self.field.edit.clear()
        self.field.edit.setModified(False)
        self.take_focus()

    def _pour(self, mix: Mix, part: str, typed: str) -> None:
        density = next(p.density_g_mL for p in mix.parts if p.name == part)
        try:
            amount = self.session.measures.volume(typed, unit="mL", density_g_mL=density)
        except NotAnAmount as wrong:
            self.field.complain(str(wrong))
            return
        self._log_pour(mix, part, amount.mL, amount.typed)

    def _log_pour(self, mix: Mix, part: str, mL: float, typed: str) -> None:
        say = f"{typed or f'{pour_figure(mL)} mL'} {part} logged."
        if not self._write(partial(ev.Poured, mix=mix.id, part=part, mL=mL, typed=typed), say):
            return
        self._asked_part = None
        self.field.edit.clear()
        self.field.complain("")
        self.refresh(self.session.now())
        self.take_focus() if self.field.isVisible() else self.setFocus()

    def stirred(self) -> None:
        """Log that the cup was stirred as it is."""
        mix = self._mix_in_hand()
        if mix is not None:
            self._write(partial(ev.MixStirred, mix=mix.id, what=last_stir(mix)), "Stirred as it is.")

    def share_cup(self) -> None:
        """Spray the layer in hand from the cup of another piece."""
        document, layer = self.session.current, self.session.layer
        cups = document.state.cups_to_share(layer) if document is not None and layer is not None else []
        if layer is not None and cups:
            say = "This layer is sprayed from that cup."
            self._write(partial(ev.CupShared, mix=cups[-1].id, layer=layer.id), say)

    def empty(self) -> None:
        """Log that the cup was emptied."""
        mix = self._mix_in_hand()
        if mix is not None:
            self._write(partial(ev.CupEmptied, mix=mix.id), "Cup emptied.")

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


def _ratio_words(card: Card, layer: LayerState) -> str:
    words = []
    activator = card.activator(layer.plan.activator)
    if activator is not None:
        words.append(f"{activator.share} {activator.name.lower()}")
    elif card.two_part:
        words.append("choose its activator")
    if card.stand is not None:
        words.append(f"stand {span_words(card.stand.total_seconds())}")
    reduction = card.reduction(layer.plan.gun)
    words.append(f"reduce {reduction.usual}" if reduction is not None else f"unreduced for a {layer.plan.gun.value}")
    if card.stand_reduced is not None:
        words.append(f"stand {span_words(card.stand_reduced.total_seconds())}")
    said = ", then ".join(words)
    return f"{said[:1].upper()}{said[1:]}."


def _cup_words(mix: Mix, left: float | None) -> str:
    held = f"{pour_figure(mix.total_mL)} mL in the cup" if mix.pours else "The cup is empty"
    if left is None:
        return f"{held}."
    if left <= 0:
        return f"{held}. Pot life over: do not spray it."
    return f"{held}. Pot life {clock_words(left, up=False)} left."
