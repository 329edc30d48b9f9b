"""The page of a layer: a new one, or one of the stack that is changed or taken out."""

from collections.abc import Sequence

from PySide6.QtCore import Signal

from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planinputs import ColourPick, Stepper
from benchtool.bench.planlists import PickList, PickRow
from benchtool.bench.planparts import Buttons, Options, Typed
from benchtool.bench.plansheet import Done, Section, Sheet, Unfinished
from benchtool.job.cards import Card, Gun
from benchtool.job.events import Face
from benchtool.job.state import LayerState, PieceState
from benchtool.session import planning
from benchtool.session.cardreading import Wrong
from benchtool.session.planning import CardChoice, LayerText, Where
from benchtool.session.session import Draft, NotNow, Session
from benchtool.trade.saying import say
from benchtool.trade.substrates import Flex

NEW = "new"
SEARCH_FROM = 7
"""From this many product cards on, a field narrows the list."""


class LayerForm(Sheet):
    """A layer: its product, coats, gun, activator, colour, and its place in the stack."""

    card_asked = Signal(object)
    remove_asked = Signal()

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, "plan-layer", least=45 * GRID, most=70 * GRID)
        self.session = session
        self.piece_id = self.layer_id = ""
        self.made: list[Card] = []
        self._choices: dict[str, CardChoice] = {}
        self.unfinished = Unfinished[LayerText]()
        self.which = Options(look, "Add a layer, or change one (in the order they go on)", "layer-which")
        self.cards = PickList(look, "Product card", "layer-card", search="Type to narrow")
        self.broken = Words(look, "small", "trouble")
        self.new_card = BenchButton(look, "New card", name="layer-new-card")
        self.edit_card = BenchButton(look, "Edit this card", name="layer-edit-card")
        card_buttons = Buttons((self.new_card, self.edit_card))
        self.coats = Stepper(look, "Coats", "layer-coats", "One coat fewer", "One coat more")
        self.gun = Options(look, "Gun", "layer-gun")
        self.activator = Options(look, "Activator", "layer-activator")
        self.additives = Options(look, say("Additives that go in"), "layer-additives", several=True)
        self.warning = Words(look, "small", "trouble")
        self.place = PickList(look, "Where it goes", "layer-place", rows=3)
        self.name = Typed(look, "Called, if not by its card", "layer-name")
        self.colour = ColourPick(look)
        self.note = Typed(look, say("Colour note"), "layer-note", say("Two drops of violet, matched to the tank"))
        product, way, look_of = Section(look, "", stretch=True), Section(look, ""), Section(look, "")
        product.add(self.cards, stretch=1)
        product.add(self.broken, card_buttons)
        way.add(self.coats, self.gun, self.activator, self.additives, self.warning)
        look_of.add(self.place, self.name, self.colour, self.note)
        self.behind = Words(look, "small", "quiet")
        self.behind.say("Painted behind clear: the first layer down is the one that shows.")
        self.above.addWidget(self.behind)
        self.above.addWidget(self.which)
        self.asks = {
            "which": self.which, "card": self.cards, "card-buttons": card_buttons, "coats": self.coats,
            "gun": self.gun, "activator": self.activator, "additives": self.additives, "place": self.place,
            "name": self.name, "colour": self.colour, "note": self.note,
        }  # fmt: skip
        for field in (self.name, self.note, self.colour.field):
            field.keep_room()
        self.first = "card"
        self.lay_out((product, way, look_of), {1: ((0, 1, 2),), 2: ((0,), (1, 2)), 3: ((0,), (1,), (2,))})
        self.remove = self.add_button("Take it out", "layer-remove")
        self.gun.offer([(g.value, g.value.removesuffix(" gun").capitalize()) for g in Gun], Gun.AIRBRUSH.value)
        self.which.chosen.connect(lambda _: self._turn_to())
        self.cards.searched.connect(lambda _: self._list_cards(self.cards.value))
        self.cards.chosen.connect(lambda _: self._follow_card())
        self.new_card.clicked.connect(lambda: self.card_asked.emit(None))
        self.edit_card.clicked.connect(lambda: self.card_asked.emit(self.choice()))
        self.remove.clicked.connect(self.remove_asked)
        self.gun.chosen.connect(lambda _: self._explain())
        self.activator.chosen.connect(lambda _: self._explain())
        self.additives.chosen.connect(lambda _: self._explain())
        self.place.chosen.connect(lambda _: self._explain())
        self.coats.edit.textEdited.connect(lambda _: self._explain())

    def ask(self, piece: PieceState) -> None:
        """Ask for a layer of this piece. What was half typed for it is still there."""
        self.unfinished.leave(self.text())
        self.piece_id = piece.id
        self.which.offer(
            [(NEW, "New layer"), *((x.id, f"{i + 1}  {self._name(x)}") for i, x in enumerate(piece.layers))], NEW
        )
        self.which.setVisible(bool(piece.layers))
        self.behind.setVisible(piece.piece.face is Face.BEHIND_CLEAR)
        self._turn_to()

    @property
    def piece(self) -> PieceState | None:
        """The piece asked about, as it stands now."""
        document = self.session.current
        return document.state.pieces.get(self.piece_id) if document is not None else None

    @property
    def layer(self) -> LayerState | None:
        """The layer to be changed, as it stands now; None for a new one."""
        document = self.session.current
        return document.state.layers.get(self.layer_id) if document is not None else None

    def _name(self, layer: LayerState) -> str:
        document = self.session.current
        return document.state.layer_name(layer) if document is not None else layer.id

    def _turn_to(self) -> None:
        """Show the new layer, or the one chosen to be changed."""
        piece = self.piece
        if piece is None:
            return
        self.unfinished.leave(self.text())
        self.layer_id = self.which.value if self.which.value in {x.id for x in piece.layers} else ""
        layer, name = self.layer, piece.piece.name
        if layer is None:
            self.head(f"New layer on {name}", "Add the layer")
            fresh = LayerText(gun=planning.usual_gun(self.session, piece))
        else:
            self.head(f"Change {self._name(layer)} on {name}", "Save the layer")
            fresh = planning.layer_text(self.session, layer)
        self.remove.setVisible(layer is not None and not layer.started)
        self.new_card.setVisible(layer is None)
        places = planning.places(self.session, piece)
        self.place.fill([PickRow(k or "", words) for k, words in places], "")
        self.place.setVisible(layer is None and len(places) > 1)
        self.cards.search.fill("")
        self._fill(fresh)
        half = self.unfinished.come(f"{self.piece_id}/{self.layer_id}", self.text())
        if half is not None:
            self._fill(half)

    def _fill(self, text: LayerText) -> None:
        self.complain(())
        self._list_cards(None)
        self._list_cards(next((k for k, c in self._choices.items() if c.card == text.card), None))
        self._follow_card()
        self.name.fill(text.name)
        self.colour.fill(text.colour)
        self.note.fill(text.note)
        self.gun.choose(text.gun.value)
        self.place.choose(text.before or "")
        if text.card is not None:
            self.coats.fill(text.coats)
            self.activator.choose(text.activator)
            self.additives.choose(text.additives)
        self._explain()

    # --- the product -------------------------------------------------------------------------------

    def choice(self) -> CardChoice | None:
        """Give the product card chosen."""
        return self._choices.get(self.cards.value or "")

    def take_card(self, card: Card) -> None:
        """Offer this card too, and choose it; what is planned of a layer that is changed stays."""
        planned = self.text()
        self.made = [c for c in self.made if c.id != card.id] + [card]
        self.cards.search.fill("")
        self._list_cards(None)
        self._list_cards(next((k for k, c in self._choices.items() if c.card == card), None))
        self._follow_card()
        if self.layer_id:
            self.coats.fill(planned.coats)
            self.activator.choose(planned.activator)
            self.additives.choose(planned.additives)
            self._explain()

    def _list_cards(self, chosen: str | None) -> None:
        choices = planning.card_choices(self.session, self.made)
        layer = self.layer
        if layer is not None:
            choices = tuple(c for c in choices if c.card.id == layer.plan.card and c.where is Where.JOB)
            chosen = next((c.key for c in choices), None)
        self._choices = {c.key: c for c in choices}
        self.cards.narrow(on=len(choices) >= SEARCH_FROM)
        words = self.cards.search.text().casefold().split() if len(choices) >= SEARCH_FROM else []
        rows = []
        for key, choice in self._choices.items():
            row = PickRow(key, choice.card.name, f"{choice.card.duty.value.capitalize()}, {choice.where.value}")
            if all(w in f"{row.name} {row.detail}".casefold() for w in words):
                rows.append(row)
        if words and chosen not in {r.key for r in rows}:
            chosen = rows[0].key if rows else None
        self.cards.fill(rows, chosen)
        broken = planning.library_faults(self.session) if layer is None else ()
        more = f" And {len(broken) - 2} more." if len(broken) > 2 else ""
        self.broken.say(f"Not used from your library: {'; '.join(broken[:2])}.{more}" if broken else "")
        self.broken.setVisible(bool(broken))
        if words:
            self._follow_card()

    def _follow_card(self) -> None:
        """Let coats and activator follow the product."""
        choice, piece = self.choice(), self.piece
        self.edit_card.setEnabled(choice is not None)
        if choice is None or piece is None:
            self.cards.explain("" if self._choices else "No product cards yet: make the first one from its data sheet.")
            self.coats.fill("")
            self.activator.offer(())
            self.additives.offer(())
        else:
            card = choice.card
            self.cards.complain("")
            again = " It takes the place of the copy in this job." if choice.where is Where.CHANGED else ""
            self.cards.explain(planning.card_words(card) + again)
            self.coats.fill(str(card.coats_least))
            suiting = planning.suiting_activator(card, piece.piece.flex)
            self.activator.offer([(a.id, a.name) for a in card.activators], suiting.id if suiting is not None else None)
            added = planning.suiting_additives(card, piece.piece.flex)
            self.additives.offer([(a.id, f"{a.name}, {a.share}") for a in card.additives], added)
        self._explain()

    def _explain(self) -> None:
        """Say what the choices mean for this piece."""
        choice, piece = self.choice(), self.piece
        card = choice.card if choice is not None else None
        self.activator.setVisible(card is not None and (card.two_part or bool(card.activators)))
        self.additives.setVisible(card is not None and bool(card.additives))
        if card is None or piece is None:
            self.gun.explain("")
            self.coats.tell("")
            self.warning.hide()
            return
        least, most = card.coats_least, card.coats_most
        self.coats.tell(f"the card: {least}" if least == most else f"the card: {least} to {most}")
        self.gun.explain(planning.gun_words(card, Gun(self.gun.value or Gun.AIRBRUSH.value)))
        self._explain_activator(card, piece.piece.flex)
        self._explain_additives(card, piece.piece.flex)
        said = self._raised()
        self.warning.say(said)
        self.warning.setVisible(bool(said))

    def _explain_activator(self, card: Card, flex: Flex) -> None:
        picked = card.activator(self.activator.value)
        if not card.activators:
            self.activator.explain("A two-part card that names no activator: edit it.", "trouble")
        elif planning.suiting_activator(card, flex) is None:
            words = f"No activator of this card is made for a {flex.value} piece: take another product."
            self.activator.explain(words, "trouble")
        elif picked is None:
            self.activator.explain("Choose one.")
        else:
            suits = "any piece" if picked.suits.value == "any" else f"{picked.suits.value} pieces"
            self.activator.explain(f"{picked.share}, made for {suits}.")

    def _explain_additives(self, card: Card, flex: Flex) -> None:
        """Say which of those chosen is made for another kind of piece."""
        wrong = [a.name for a in card.additives if a.id in self.additives.values and not a.suits.suits(flex)]
        flexes = flex is Flex.FLEXIBLE
        made = say("flexible parts") if not flexes else say("rigid parts")
        said = say("{names}: made for {parts}.", names=", ".join(wrong), parts=made) if wrong else ""
        self.additives.explain(said, "trouble")

    def _raised(self) -> str:
        try:
            return planning.raised(self.session, self._drafts()[1])
        except (Wrong, NotNow):
            return ""

    # --- entering ----------------------------------------------------------------------------------

    def text(self) -> LayerText:
        """Give what is typed and chosen."""
        choice = self.choice()
        return LayerText(
            card=choice.card if choice is not None else None,
            coats=self.coats.text(),
            name=self.name.text(),
            colour=self.colour.text(),
            gun=Gun(self.gun.value or Gun.AIRBRUSH.value),
            activator=self.activator.value,
            additives=self.additives.values | self._unknown_additives(),
            before=self.place.value or None,
            note=self.note.text(),
        )

    def _unknown_additives(self) -> frozenset[str]:
        """The additives planned that the card has no more: they stay in the plan."""
        layer, choice = self.layer, self.choice()
        if layer is None or choice is None:
            return frozenset()
        return frozenset(x for x in layer.plan.additives if choice.card.additive(x) is None)

    def _drafts(self) -> tuple[str, Sequence[Draft]]:
        piece, layer = self.piece, self.layer
        if piece is None or (self.layer_id and layer is None):
            raise NotNow("It is gone from the job.")
        if layer is not None:
            return layer.id, planning.change_layer(layer, self.text())
        return planning.add_layer(self.session, piece, self.text())

    def submit(self) -> Done:
        """Add or change the layer.

        Raises:
            Wrong: a field that can't be taken so.
            NotNow: the job can't be changed.
        """
        layer_id, drafts = self._drafts()
        piece = self.piece_id
        if not drafts:
            return Done(piece, layer_id, "Nothing was changed.")
        verb = "changed" if self.layer_id else "added"
        self.session.apply(*drafts)
        state = self.session.writable().state
        self.unfinished.done()
        return Done(piece, layer_id, f"{state.layer_name(state.layers[layer_id])} {verb}.")

    def submit_removal(self) -> Done:
        """Take the layer out of the plan.

        Raises:
            NotNow: it has paint on, or the job can't be changed.
        """
        piece, layer = self.piece_id, self.layer
        if layer is None:
            raise NotNow("Choose the layer to take out first.")
        name = self._name(layer)
        self.session.apply(planning.remove_layer(self.session, layer))
        self.unfinished.done()
        return Done(piece, None, f"{name} taken out. Undo brings it back.")
