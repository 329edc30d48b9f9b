"""Card: values of a product card that the work leans on and that may not hold."""

from collections.abc import Iterator

from benchtool.job.cardchecks import card_checks
from benchtool.job.cards import Card, Origin, OriginKind
from benchtool.job.state import LayerState, Mix, PieceState
from benchtool.rules.finding import PRACTICE, Cause, Facts, Family, Finding, Severity, cause, key
from benchtool.trade.mixing import PartKind
from benchtool.trade.saying import say, say_n

FAMILY = Family("card")


def _guesses(card: Card, names: tuple[str, ...]) -> list[str]:
    """Pick those of the fields that the card gives, and whose origin says that they are a guess."""
    if not any(isinstance(o, Origin) and o.kind is OriginKind.GUESS for o in card.origins.values()):
        return []
    return [name for name in names if getattr(card, name) not in (None, ()) and _guessed(card, name)]


def _guessed(card: Card, name: str) -> bool:
    """Say whether a field, or anything in it, is a guess; what says nothing of its own goes by the whole card."""
    own = [o for k, o in card.origins.items() if k == name or k.startswith((f"{name}.", f"{name}["))]
    said = own or [o for k, o in card.origins.items() if k == "*"]
    return any(isinstance(o, Origin) and o.kind is OriginKind.GUESS for o in said)


def _named(name: str) -> str:
    match name:
        case "flash":
            return say("the flash time")
        case "flash_most":
            return say("the longest flash")
        case "recoat_opens":
            return say("the recoat time")
        case "recoat_closes":
            return say("the end of the recoat window")
        case "activators":
            return say("the share of the activator")
        case "reductions":
            return say("the reduction")
        case "pot_life":
            return say("the pot life")
        case _:
            return say("the stand time")


def _relied_on(facts: Facts, piece: PieceState, layer: LayerState) -> Iterator[tuple[Card, tuple[str, ...]]]:
    """Give the cards, and the fields of them, by which the next coat of `layer` is timed and mixed."""
    under = next((x for x in reversed(piece.layers[: piece.place(layer)]) if x.started), None)
    last = layer.last_done
    if last is not None and last.card is not None:
        yield last.card, ("flash", "flash_most")
    elif under is not None and under.last_done is not None and under.last_done.card is not None:
        card = under.last_done.card
        yield card, ("recoat_opens" if card.recoat_opens is not None else "flash", "recoat_closes")
    mix = facts.state.mix_for(layer)
    if mix is not None and mix.card is not None:
        yield mix.card, _mixed_by(mix)


def _mixed_by(mix: Mix) -> tuple[str, ...]:
    names = ("activators", "pot_life", "stand", "stand_reduced") if mix.has(PartKind.ACTIVATOR) else ()
    return (*names, "reductions") if mix.has(PartKind.REDUCER) else names


@FAMILY.rule(
    "guess-relied-on",
    Severity.NOTE,
    timed=False,
    title="Work that goes by a guess on the card",
    reason="A countdown looks just as sure where the time behind it is a guess.",
    source="the origin of each value, as the card says it",
    remedy="Look it up on the sheet and put it right on the card, or prove it on a strip first.",
)
def guess_relied_on(facts: Facts) -> Iterator[Finding]:
    """The window that runs, or the cup at hand, goes by a value that is a guess."""
    told = set()
    for piece_id, layer in facts.next_layers().items():
        if layer is None:
            continue
        for card, names in _relied_on(facts, facts.state.pieces[piece_id], layer):
            guesses = _guesses(card, names)
            which = (card.id, *guesses)
            if not guesses or which in told:
                continue
            told.add(which)
            words = list(dict.fromkeys(_named(name) for name in guesses))
            listed = (
                words[0] if len(words) == 1 else say("{some} and {last}", some=", ".join(words[:-1]), last=words[-1])
            )
            yield Finding(
                rule="card.guess-relied-on",
                severity=Severity.NOTE,
                piece=piece_id,
                layer=layer.id,
                message=say("On the card of {card} this is a guess: {listed}.", card=card.name, listed=listed),
                remedy=say("Look it up on the sheet and put it right on the card, or prove it on a strip first."),
                key=key("card.guess-relied-on", *which),
            )


@FAMILY.rule(
    "no-recoat-time",
    Severity.NOTE,
    timed=False,
    title="No recoat time on the card",
    reason="Where a card gives no time for the next layer, nothing here can warn that it is too early or too late.",
    source=PRACTICE,
    remedy="Look for its recoat time on the sheet and put it on the card; until then it is up to you.",
)
def no_recoat_time(facts: Facts) -> Iterator[Finding]:
    """The next layer is due on one whose card gives neither a recoat time nor a flash."""
    for piece_id, layer in facts.next_layers().items():
        piece = facts.state.pieces[piece_id]
        if layer is None or layer.started:
            continue
        under = next((x for x in reversed(piece.layers[: piece.place(layer)]) if x.started), None)
        card = under.last_done.card if under is not None and under.last_done is not None else None
        if under is None or card is None or card.recoat_opens is not None or card.flash is not None:
            continue
        yield Finding(
            rule="card.no-recoat-time",
            severity=Severity.NOTE,
            piece=piece_id,
            layer=layer.id,
            message=say(
                "The card of {under} does not say when {layer} may go over it.",
                under=card.name, layer=facts.state.layer_name(layer),
            ),
            remedy=say("Look for its recoat time on the sheet and put it on the card; until then it is up to you."),
            key=key("card.no-recoat-time", under.id, layer.id),
            cause=cause(Cause.WINDOW, layer.id),
        )  # fmt: skip


@FAMILY.rule(
    "checks-disagree",
    Severity.CAUTION,
    timed=False,
    title="Card that does not agree with itself",
    reason="Where two values of a card can't both be true, a slip of the pen is in one, and work goes by it.",
    source="the card against itself; each check names its own source",
    remedy="Look it up on the sheet and put it right on the card.",
)
def checks_disagree(facts: Facts) -> Iterator[Finding]:
    """A layer is still to be sprayed by a card whose values gravely disagree with each other."""
    told = set()
    for piece, layer in facts.layers():
        card = facts.state.card_of(layer)
        if card is None or layer.finished or card.id in told:
            continue
        told.add(card.id)
        # What it leaves out of its hazards is a matter of safety, and told there.
        wrong = [c.message for c in card_checks(card) if c.severe and not c.path.startswith(".hazards")]
        if not wrong:
            continue
        yield Finding(
            rule="card.checks-disagree",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=say("The card of {card} does not agree with itself: {wrong}", card=card.name, wrong=wrong[0]),
            remedy=say_n(
                "Look it up on the sheet and put it right on the card.",
                "Look it up on the sheet and put it right on the card; it tells {n} such things of itself.",
                len(wrong),
            ),
            key=key("card.checks-disagree", card.id),
            cause=cause(Cause.CARD, card.id),
        )
