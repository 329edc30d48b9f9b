"""Mixing: what is in the cup against what the card says."""

from collections.abc import Iterator

from benchtool.job.cards import Card
from benchtool.job.events import Stirred
from benchtool.job.state import LayerState, Mix, PieceState
from benchtool.rules.finding import PRACTICE, SHEET, Facts, Family, Finding, Severity, key
from benchtool.trade.mixing import TOLERANCE, Part, PartKind, PourCheck, fractions, parse_share, reduction_of
from benchtool.trade.numbers import figure

FAMILY = Family("mixing")

_Said = tuple[Severity, str, str]
"""Severity, message and remedy."""


@FAMILY.rule(
    "no-activator",
    Severity.STOP,
    timed=False,
    reason="A two-part product without its activator never cures; all that goes over it comes off with it.",
    source=SHEET,
)
def no_activator(facts: Facts) -> Iterator[Finding]:
    """A two-part product has no activator chosen or in its cup, or was sprayed without one."""
    for piece, layer in facts.layers():
        card = facts.state.card_of(layer)
        if card is None or not card.two_part:
            continue
        # Each coat is a matter of its own: a waiver of one says nothing for the next.
        matters = [
            # What goes over a film that never cures comes off with it, so it is the next coat that must wait.
            (coat.number, piece.current or layer, said, False)
            for _, _, coat, mix in facts.sprayed(layer)
            if (said := _went_on_bare(f"Coat {coat.number} of {facts.state.layer_name(layer)}", mix)) is not None
        ]
        ahead = None if layer.finished or layer.open_coat else _not_activated(facts, piece, layer, card)
        if ahead is not None:
            matters.append((len(layer.coats) + 1, layer, ahead, _still_pouring(facts.state.mix_for(layer))))
        next_up = facts.next_layers()[piece.id]
        for number, place, said, routine in matters:
            severity, message, remedy = said
            yield Finding(
                rule="mixing.no-activator",
                severity=severity,
                piece=piece.id,
                layer=place.id,
                message=message,
                remedy=remedy,
                key=key("mixing.no-activator", layer.id, number),
                forbids_coat=severity is Severity.STOP and (said is not ahead or layer is next_up),
                routine=routine,
            )


def _still_pouring(mix: Mix | None) -> bool:
    return mix is not None and mix.has(PartKind.ACTIVATOR) and not _poured_out(mix) and not mix.stirred


def _activated(mix: Mix) -> bool:
    """Whether the activator is in; a cup with no pour on record is taken at its stirring."""
    if mix.pours:
        return any(p.kind is PartKind.ACTIVATOR and mix.poured_mL.get(p.name, 0.0) > 0 for p in mix.parts)
    return mix.has(PartKind.ACTIVATOR) and _poured_out(mix)


def _poured_out(mix: Mix) -> bool:
    """Whether the pouring of base and activator is over, as far as the record tells."""
    return Stirred.ACTIVATED in mix.stirred or Stirred.REDUCED in mix.stirred


def _went_on_bare(name: str, mix: Mix) -> _Said | None:
    if _activated(mix):
        return None
    if mix.pours or not mix.has(PartKind.ACTIVATOR):
        return (
            Severity.STOP,
            f"{name} went on without its activator: it will not cure.",
            "Take it off while it is soft, clean, and start this layer again.",
        )
    return (
        Severity.CAUTION,
        f"{name} was sprayed from a cup with nothing logged in it: nobody can say that it was activated.",
        "Log what was poured, at its time, or test the film for cure before anything goes over it.",
    )


def _not_activated(facts: Facts, piece: PieceState, layer: LayerState, card: Card) -> _Said | None:
    mix = facts.state.mix_for(layer)
    if mix is None:
        if card.activator(layer.plan.activator) is not None or layer is not piece.current:
            return None
        message = f"{card.name} is a two-part product and no activator is chosen."
        return Severity.STOP, message, "Choose the activator that suits the piece."
    at_hand = layer is facts.next_layers()[piece.id] or mix.made.layer == layer.id
    if not at_hand or _activated(mix):
        return None
    if not mix.has(PartKind.ACTIVATOR):
        message = f"This cup of {card.name} was begun without an activator, and it is a two-part product."
        return Severity.STOP, message, "Choose the activator that suits the piece, and mix fresh."
    if not mix.pours:
        return None  # just begun: the mix pane asks for the first pour
    if not _poured_out(mix):
        message = f"The activator is not in this cup of {card.name} yet."
        return Severity.STOP, message, "Pour it in and stir before you spray."
    message = f"There is no activator in the cup of {card.name}, a two-part product."
    return Severity.STOP, message, "Add the activator and stir, or empty the cup and mix fresh."


@FAMILY.rule(
    "not-logged",
    Severity.STOP,
    timed=False,
    reason="Where no mix is logged, nobody can tell later whether a two-part product was activated, and how well.",
    source=PRACTICE,
)
def not_logged(facts: Facts) -> Iterator[Finding]:
    """A coat of a two-part product was begun with no mix in the record."""
    for piece, layer in facts.layers():
        bare = (c for c in layer.coats if c.mix is None and c.card is not None and c.card.two_part)
        for number in (c.number for c in bare):
            yield Finding(
                rule="mixing.not-logged",
                severity=Severity.STOP,
                piece=piece.id,
                layer=layer.id,
                message=f"Coat {number} of {facts.state.layer_name(layer)} has no mix logged: its ratio is a guess.",
                remedy="Log the mix first: what was poured, and the stirring.",
                key=key("mixing.not-logged", layer.id, number),
            )


@FAMILY.rule(
    "off-ratio",
    Severity.STOP,
    timed=False,
    reason="A wrong dose of activator is not seen until the paint peels, cracks or stays soft.",
    source="the product card; tolerances are common practice, no source",
)
def off_ratio(facts: Facts) -> Iterator[Finding]:
    """A part as poured is off its share by more than its tolerance, or a coat went on so."""
    for piece, layer, mix in facts.cups():
        for part, check in _off_parts(layer, mix):
            activator = part.kind is PartKind.ACTIVATOR
            yield Finding(
                rule="mixing.off-ratio",
                severity=Severity.STOP if activator else Severity.CAUTION,
                piece=piece.id,
                layer=layer.id,
                message=_off_words(part, check),
                remedy=_mend_words(mix),
                key=key("mixing.off-ratio", mix.id, part.name, layer.id),
                forbids_coat=activator and layer is facts.next_layers()[piece.id],
            )
    for piece, layer, coat, mix in facts.sprayed():
        for part, check in _off_parts(layer, mix):
            yield Finding(
                rule="mixing.off-ratio",
                severity=Severity.CAUTION,
                piece=piece.id,
                layer=layer.id,
                message=f"Coat {coat.number} of {facts.state.layer_name(layer)} went on so: {_off_words(part, check)}",
                remedy="Test it for cure and adhesion before anything goes over it.",
                key=key("mixing.off-ratio", mix.id, part.name, layer.id),
            )


def _off_parts(layer: LayerState, mix: Mix) -> Iterator[tuple[Part, PourCheck]]:
    card = mix.card
    for part, check in zip(mix.parts, mix.checks, strict=True):
        if check.within or check.off_percent is None or card is None:
            continue
        if part.kind is PartKind.REDUCER and card.reduction(layer.plan.gun) is not None:
            continue  # the card gives a range for it, and the rule on reduction speaks of that
        if part.kind is PartKind.ACTIVATOR and card.two_part and not _activated(mix):
            continue  # none at all is a matter of its own
        yield part, check


def _off_words(part: Part, check: PourCheck) -> str:
    off = check.off_percent or 0.0
    side = "over" if off > 0 else "under"
    is_of_base = part.kind is PartKind.ACTIVATOR and check.percent_of_base is not None
    have = f"{check.percent_of_base:.2f} % of the base" if is_of_base else f"{figure(check.poured_mL or 0)} mL"
    return f"{part.name} is {abs(off):.0f} % {side}: {have}, and the card says {part.share.words()}."


def _mend_words(mix: Mix) -> str:
    adds = [f"{figure(c.add_mL)} mL {c.name}" for c in mix.checks if c.poured_mL is not None and c.add_mL > 0]
    total = sum(c.add_mL for c in mix.checks if c.poured_mL is not None) + mix.total_mL
    return f"Add {' and '.join(adds)}: that makes {figure(total)} mL. Or empty the cup and mix fresh."


@FAMILY.rule(
    "reduction",
    Severity.CAUTION,
    timed=False,
    reason="Too little reducer spits and textures; too much runs, dries thin and can lift what is under it.",
    source="the product card; a slip of 5 % of the reducer in measuring is common practice, no source",
)
def reduction(facts: Facts) -> Iterator[Finding]:
    """The reduction in the cup is outside what the card allows for the gun in use."""
    for piece, layer, mix in facts.cups():
        card = mix.card
        said = _reduced_wrong(card, layer, mix) if card is not None else None
        if said is None:
            continue
        yield Finding(
            rule="mixing.reduction",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=said[0],
            remedy=said[1],
            key=key("mixing.reduction", mix.id, layer.plan.gun.value, layer.id),
        )


def _reduced_wrong(card: Card, layer: LayerState, mix: Mix) -> tuple[str, str] | None:
    gun, poured = layer.plan.gun, mix.poured_mL
    reducers = [p for p in mix.parts if p.kind is PartKind.REDUCER]
    have = sum(poured.get(p.name, 0.0) for p in reducers)
    allowed = card.reduction(gun)
    if allowed is None:
        if have <= 0:
            return None
        return (
            f"It is reduced, and the card gives no reduction for {gun.named}.",
            "Ask the sheet before you spray; mix fresh unreduced if it says so.",
        )
    if any(p.name not in poured for p in mix.parts if p.kind in (PartKind.BASE, PartKind.ACTIVATOR)):
        return None  # still pouring what the reduction is measured by
    least, most = parse_share(allowed.least), parse_share(allowed.most)
    low = least.value * reduction_of(mix.parts, least, poured)
    high = most.value * reduction_of(mix.parts, most, poured)
    slip = TOLERANCE["reducer"]
    used = any(c.mix == mix.id for c in layer.coats)
    sprayable = used or (Stirred.REDUCED in mix.stirred if reducers else bool(mix.stirred))
    if sprayable and have < low * (1 - slip) - 1e-9:
        message = f"It is too thick for {gun.named}: {figure(have)} mL reducer where the card asks for at least "
        return f"{message}{figure(low)} mL.", f"Add {figure(low - have)} mL reducer and stir."
    if have > high * (1 + slip) + 1e-9:
        return (
            f"It is too thin for {gun.named}: {figure(have)} mL reducer where the card allows {figure(high)} mL.",
            "Spray lighter coats and watch for runs, or mix fresh.",
        )
    return None


@FAMILY.rule(
    "guessed",
    Severity.NOTE,
    timed=False,
    reason="Twenty drops to the millilitre is a convention for water; thin solvents give smaller drops, so the dose is "
    "anybody's guess until the drops of that dropper are counted.",
    source="USP <1101> for water, 18 to 22 drops to the mL; smaller drops of solvents are common practice, no source",
)
def guessed(facts: Facts) -> Iterator[Finding]:
    """A part of what is in a cup was counted in drops of a dropper that nobody has measured."""
    for piece, layer, mix in facts.cups():
        for name in dict.fromkeys(p.part for p in mix.pours if p.guess and p.mL > 0):
            yield Finding(
                rule="mixing.guessed",
                severity=Severity.NOTE,
                piece=piece.id,
                layer=layer.id,
                message=f"How much {name} is in this cup is a guess: it was counted in drops of an uncounted dropper.",
                remedy="Count how many drops of it make 1 mL in a syringe, and write that down under your tools.",
                key=key("mixing.guessed", mix.id, name, layer.id),
            )


@FAMILY.rule(
    "hard-to-measure",
    Severity.NOTE,
    timed=False,
    reason="Below half a millilitre the smallest slip of a syringe is a large part of the dose.",
    source=PRACTICE,
)
def hard_to_measure(facts: Facts) -> Iterator[Finding]:
    """A cup is so small that its smallest part can hardly be measured by volume."""
    for mix in facts.state.mixes.values():
        layer = facts.state.layers.get(mix.made.layer)
        if layer is None or mix.pours or mix.stirred or mix.emptied_at is not None:
            continue
        amounts = [f * mix.made.make_mL for f in fractions(mix.parts)]
        pairs = [(a, p) for a, p in zip(amounts, mix.parts, strict=True) if a > 0]
        smallest, part = min(pairs, key=lambda pair: pair[0])
        if smallest < 0.5:
            yield Finding(
                rule="mixing.hard-to-measure",
                severity=Severity.NOTE,
                piece=layer.piece,
                layer=layer.id,
                message=f"Only {figure(smallest, 2)} mL {part.name} in this cup.",
                remedy="Measure it with the finest marks you own, or on a scale; "
                "the mix says how far off it may come out.",
                key=key("mixing.hard-to-measure", mix.id),
            )
