"""Promoter and activator: whether this system can hold on this material at all."""

from collections.abc import Iterator

from benchtool.job.cards import Activator, Card, Duty, Trait
from benchtool.job.state import LayerState, Mix, PieceState
from benchtool.rules import promoterproof
from benchtool.rules.finding import PRACTICE, SHEET, Cause, Facts, Family, Finding, Severity, cause, key
from benchtool.rules.ground import grounds, hopeless
from benchtool.trade.saying import say
from benchtool.trade.substrates import Flex, Suits

FAMILY = Family("promoter", list(promoterproof.FAMILY.rules))


# --- activators ------------------------------------------------------------------------------------------


@FAMILY.rule(
    "activator-type",
    Severity.STOP,
    timed=False,
    title="Activator for the wrong kind of part",
    reason="An activator for rigid panels makes a film that cracks when the part bends; one for flexible "
    "parts leaves a film too soft on metal and wood.",
    source=PRACTICE,
    remedy="Take an activator made for this kind of part, and mix fresh where the wrong one is in the cup. Where "
    "it went on already, test that layer for adhesion, and for cracks when it bends, before anything goes over it.",
)
def activator_type(facts: Facts) -> Iterator[Finding]:
    """The activator chosen, in the cup, or sprayed is made for the other kind of piece; or the card has none for it."""
    yield from _none_suits(facts)
    for piece, layer, card, activator, next_up in _activators(facts):
        flex = piece.piece.flex
        if activator.suits.suits(flex):
            continue
        yield Finding(
            rule="promoter.activator-type",
            severity=Severity.STOP if next_up else Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=_unsuitable(facts, piece, layer, activator, went_on=not next_up),
            remedy=_take_another(facts, layer, card, flex)
            if next_up
            else say("Test this layer for adhesion and for cracks when it bends, before anything goes over it."),
            key=key("promoter.activator-type", layer.id, activator.id),
            cause=cause(Cause.ACTIVATOR, layer.id),
            forbids_coat=next_up and layer is facts.next_layers()[piece.id],
        )


def _none_suits(facts: Facts) -> Iterator[Finding]:
    """Say of a layer that is planned without an activator that its card has none for this piece."""
    for piece, layer in facts.layers():
        card = facts.state.card_of(layer)
        if card is None or not card.activators or layer.finished or facts.state.mix_for(layer) is not None:
            continue
        flex = piece.piece.flex
        if card.activator(layer.plan.activator) or any(a.suits.suits(flex) for a in card.activators):
            continue
        name = facts.state.layer_name(layer)
        message = say("{layer} has no activator for a flexible piece.", layer=name)
        if flex is Flex.RIGID:
            message = say("{layer} has no activator for a rigid piece.", layer=name)
        yield Finding(
            rule="promoter.activator-type", severity=Severity.STOP, piece=piece.id, layer=layer.id,
            message=message, remedy=say("Take another product for {piece}.", piece=piece.piece.name),
            key=key("promoter.activator-type", layer.id, ""), cause=cause(Cause.ACTIVATOR, layer.id),
            forbids_coat=layer is facts.next_layers()[piece.id],
        )  # fmt: skip


Chosen = tuple[PieceState, LayerState, Card, Activator, bool]


def _activators(facts: Facts) -> list[Chosen]:
    """Give each activator that is planned or in the cup for a layer (True), or that went on with it (False)."""
    return facts.settled("activators", lambda: list(_each_activator(facts)))


def _each_activator(facts: Facts) -> Iterator[Chosen]:
    for piece, layer in facts.layers():
        card = facts.state.card_of(layer)
        if card is None or not card.activators:
            continue
        mix = facts.state.mix_for(layer)
        chosen = layer.plan.activator if mix is None else mix.made.activator
        sprayed = {m.made.activator for _, _, _, m in facts.sprayed(layer)}
        if any(c.mix is None for c in layer.coats):
            sprayed.add(layer.plan.activator)
        for activator in card.activators:
            next_up = activator.id == chosen and not layer.finished
            if next_up or activator.id in sprayed:
                yield piece, layer, card, activator, next_up


def _unsuitable(facts: Facts, piece: PieceState, layer: LayerState, activator: Activator, *, went_on: bool) -> str:
    named = {"activator": activator.name, "piece": piece.piece.name}
    if activator.suits is Suits.RIGID:
        message = say("{activator} is for rigid parts; {piece} is flexible.", **named)
    else:
        message = say("{activator} is for parts that bend; {piece} is rigid.", **named)
    if went_on:
        message += " " + say("{layer} went on with it.", layer=facts.state.layer_name(layer))
    return message


def _take_another(facts: Facts, layer: LayerState, card: Card, flex: Flex) -> str:
    fit = [a.name for a in card.activators if a.suits.suits(flex)]
    if fit:
        remedy = say("Take {activators}.", activators=say(" or ").join(fit))
    else:
        remedy = say("This card has none that suits: choose another product.")
    if facts.state.mix_for(layer) is not None:
        remedy += " " + say("The wrong one is in the cup: empty it and mix fresh.")
    return remedy


@FAMILY.rule(
    "other-maker",
    Severity.CAUTION,
    timed=False,
    title="Activator of another maker",
    reason="An activator is made for the groups of its own resin: with another maker's the ratio, the pot life and the "
    "film are anybody's guess.",
    source=f"{PRACTICE}; product cards ask for the activator they name",
    remedy="Take the activator that the card names, or let a small cup of it harden fully on a strip first. Let a "
    "layer that went on with it harden long, and test it with a fingernail and with tape before anything goes over it.",
)
def other_maker(facts: Facts) -> Iterator[Finding]:
    """The activator of a layer is of another maker than its product."""
    for piece, layer, card, activator, next_up in _activators(facts):
        if not activator.maker or not card.maker or activator.maker.casefold() == card.maker.casefold():
            continue
        yield Finding(
            rule="promoter.other-maker",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=say(
                "{activator} is by {maker}, and {layer} is by {other}.",
                activator=activator.name,
                maker=activator.maker,
                layer=facts.state.layer_name(layer),
                other=card.maker,
            ),
            remedy=say(
                "Take the activator that the card names, or let a small cup of it harden fully on a strip first."
            )
            if next_up
            else say("Let it harden long, and test it with a fingernail and with tape before anything goes over it."),
            key=key("promoter.other-maker", layer.id, activator.id),
            cause=cause(Cause.ACTIVATOR, layer.id),
        )


# --- what keeps the film flexible ------------------------------------------------------------------------


@FAMILY.rule(
    "flex-additive-missing",
    Severity.CAUTION,
    timed=False,
    title="No flexible additive on a part that bends",
    reason="A film that can't follow a part that bends cracks at the first bend, or in the first frost.",
    source=SHEET,
    remedy="Plan the additive that the card has for parts that bend. Keep a layer that went on without it thin, and "
    "bend a painted strip of the same material once it has hardened.",
)
def flex_additive_missing(facts: Facts) -> Iterator[Finding]:
    """The card has an additive for parts that bend, the piece bends, and it is not planned, or was not in the cup."""
    for piece, layer in facts.layers():
        if piece.piece.flex is not Flex.FLEXIBLE:
            continue
        card = facts.state.card_of(layer)
        made_for = [a for a in card.additives if a.suits is Suits.FLEXIBLE] if card is not None else []
        if card is None or not made_for or Trait.FLEXIBLE in card.traits:
            continue
        activator = facts.state.activator_of(layer)
        if activator is not None and activator.suits is Suits.FLEXIBLE:
            continue
        names = {a.name for a in made_for}
        went_on = bool(layer.coats) and not _went_in(facts, layer, names)
        if not went_on and (layer.finished or any(a.id in layer.plan.additives for a in made_for)):
            continue
        yield Finding(
            rule="promoter.flex-additive-missing",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=say(
                "{layer} went on without {additive}, and {piece} bends.",
                layer=facts.state.layer_name(layer),
                additive=made_for[0].name,
                piece=piece.piece.name,
            )
            if went_on
            else say(
                "{piece} bends, and {additive} is not planned for {layer}.",
                piece=piece.piece.name,
                additive=made_for[0].name,
                layer=facts.state.layer_name(layer),
            ),
            remedy=say("Keep this layer thin, and bend a painted strip of the same material once it has hardened.")
            if went_on
            else say("Plan {additive} for this layer, {share}.", additive=made_for[0].name, share=made_for[0].share),
            key=key("promoter.flex-additive-missing", layer.id),
            cause=cause(Cause.FLEX, layer.id),
        )


def _went_in(facts: Facts, layer: LayerState, names: set[str]) -> bool:
    """Say whether every coat of it had one of these in its cup; where no cup is logged the plan is taken to be kept."""
    cups = [mix for _, _, _, mix in facts.sprayed(layer)]
    card = facts.state.card_of(layer)
    if not cups:
        additives = card.additives if card is not None else ()
        return any(a.name in names and a.id in layer.plan.additives for a in additives)
    return all(any(_in_cup(mix, p.name) for p in mix.made.parts if p.name in names) for mix in cups)


def _in_cup(mix: Mix, part: str) -> bool:
    return not mix.pours or mix.poured_mL.get(part, 0.0) > 0


@FAMILY.rule(
    "flex-additive-on-rigid",
    Severity.CAUTION,
    timed=False,
    title="Additive for the wrong kind of part",
    reason="What keeps a film flexible keeps it soft: on a rigid piece it marks, holds dirt and polishes badly.",
    source=PRACTICE,
    remedy="Leave the additive out of this layer.",
)
def flex_additive_on_rigid(facts: Facts) -> Iterator[Finding]:
    """An additive that is planned for a layer does not suit how its piece behaves."""
    for piece, layer in facts.layers():
        card = facts.state.card_of(layer)
        if not layer.plan.additives or card is None or layer.finished:
            continue
        for additive_id in layer.plan.additives:
            additive = card.additive(additive_id)
            if additive is None or additive.suits.suits(piece.piece.flex):
                continue
            named = {"additive": additive.name, "piece": piece.piece.name}
            yield Finding(
                rule="promoter.flex-additive-on-rigid",
                severity=Severity.CAUTION,
                piece=piece.id,
                layer=layer.id,
                message=say("{additive} is for parts that bend; {piece} is rigid.", **named)
                if additive.suits is Suits.FLEXIBLE
                else say("{additive} is for rigid parts; {piece} is flexible.", **named),
                remedy=say("Leave {additive} out of this layer.", additive=additive.name),
                key=key("promoter.flex-additive-on-rigid", layer.id, additive.id),
                cause=cause(Cause.FLEX, layer.id),
            )


# --- what holds ------------------------------------------------------------------------------------------


@FAMILY.rule(
    "paint-refused",
    Severity.STOP,
    timed=False,
    title="No promoter on a material that refuses paint",
    reason="PE, PP, TPO and other materials of low surface energy are hardly wetted: paint lies on them and peels "
    "off in sheets.",
    source="published critical surface tensions, PE about 31 and PP about 29-30 mN/m against 38 and more "
    "for what wets; common practice for the remedy",
    remedy="Put an adhesion promoter under the first layer, and prove it on a test strip.",
)
def paint_refused(facts: Facts) -> Iterator[Finding]:
    """The substrate refuses paint and the first layer is no promoter."""
    for ground in grounds(facts):
        card, first = ground.card, ground.first
        if not ground.substrate.refuses_paint or card is None or card.duty is Duty.PROMOTER:
            continue
        if hopeless(ground.substrate):
            continue  # to name a promoter for it would be a lie
        yield Finding(
            rule="promoter.paint-refused",
            severity=Severity.CAUTION if first.finished else Severity.STOP,
            piece=ground.piece.id,
            layer=(ground.piece.current or first).id,
            message=say(
                "{piece} is {material}: paint does not hold on it without a promoter.",
                piece=ground.name,
                material=ground.substrate.name,
            ),
            remedy=say("Put an adhesion promoter under the first layer, and prove it on a test strip."),
            key=key("promoter.paint-refused", ground.piece.id),
            cause=cause(Cause.HOLD, ground.piece.id),
            forbids_coat=True,
        )


@FAMILY.rule(
    "high-solids",
    Severity.CAUTION,
    timed=False,
    title="High solids straight on what refuses paint",
    reason="A thick high-solids film pulls harder as it shrinks than a thin one: where it hardly holds it peels whole.",
    source="internal stress grows with the film's thickness (texts on coatings); common practice for polyolefins",
    remedy="Put a thin coat of promoter under it, and keep the film as thin as its card allows.",
)
def high_solids(facts: Facts) -> Iterator[Finding]:
    """A high-solids product goes straight on a material that refuses paint."""
    for ground in grounds(facts):
        card = ground.card
        if not ground.substrate.refuses_paint or card is None or card.duty is Duty.PROMOTER:
            continue
        if Trait.HIGH_SOLIDS not in card.traits:
            continue
        yield ground.finding(
            "promoter.high-solids",
            Severity.CAUTION,
            say(
                "{layer} is high in solids and lies straight on {material}.",
                layer=facts.state.layer_name(ground.first),
                material=ground.substrate.name,
            ),
            say("Put a thin coat of promoter under it, and keep the film as thin as its card allows."),
            Cause.HOLD,
        )
