"""Mixing: what is in the cup against what the card says."""

from collections.abc import Iterator

from benchtool.job.cards import Card
from benchtool.job.events import Stirred
from benchtool.job.state import LayerState, Mix, PieceState
from benchtool.rules.cupcare import FAMILY as CARE
from benchtool.rules.finding import PRACTICE, SHEET, Cause, Facts, Family, Finding, Severity, cause, key
from benchtool.trade.mixing import TOLERANCE, Part, PartKind, PourCheck, fractions, parse_share, reduction_of
from benchtool.trade.numbers import figure
from benchtool.trade.saying import say

FAMILY = Family("mixing", list(CARE.rules))

_Said = tuple[Severity, str, str]
"""Severity, message and remedy."""


@FAMILY.rule(
    "no-activator",
    Severity.STOP,
    timed=False,
    title="Two-part product without its activator",
    reason="A two-part product without its activator never cures; all that goes over it comes off with it.",
    source=SHEET,
    remedy="Choose the activator that suits the piece, pour it in and stir before you spray. Take a coat that went on "
    "without it off while it is soft, clean, and start the layer again.",
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
            if (said := _went_on_bare(coat.number, facts.state.layer_name(layer), mix)) is not None
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
                cause=cause(Cause.ACTIVATOR, layer.id),
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


def _went_on_bare(number: int, layer: str, mix: Mix) -> _Said | None:
    if _activated(mix):
        return None
    if mix.pours or not mix.has(PartKind.ACTIVATOR):
        return (
            Severity.STOP,
            say("Coat {n} of {layer} went on without its activator: it will not cure.", n=number, layer=layer),
            say("Take it off while it is soft, clean, and start this layer again."),
        )
    return (
        Severity.CAUTION,
        say(
            "Coat {n} of {layer} was sprayed from a cup with nothing logged in it: nobody can say that it was "
            "activated.",
            n=number, layer=layer,
        ),
        say("Log what was poured, at its time, or test the film for cure before anything goes over it."),
    )  # fmt: skip


def _not_activated(facts: Facts, piece: PieceState, layer: LayerState, card: Card) -> _Said | None:
    mix = facts.state.mix_for(layer)
    if mix is None:
        if card.activator(layer.plan.activator) is not None or layer is not piece.current:
            return None
        message = say("{card} is a two-part product and no activator is chosen.", card=card.name)
        return Severity.STOP, message, say("Choose the activator that suits the piece.")
    at_hand = layer is facts.next_layers()[piece.id] or mix.made.layer == layer.id
    if not at_hand or _activated(mix):
        return None
    if not mix.has(PartKind.ACTIVATOR):
        message = say(
            "This cup of {card} was begun without an activator, and it is a two-part product.", card=card.name
        )
        return Severity.STOP, message, say("Choose the activator that suits the piece, and mix fresh.")
    if not mix.pours:
        return None  # just begun: the mix pane asks for the first pour
    if not _poured_out(mix):
        message = say("The activator is not in this cup of {card} yet.", card=card.name)
        return Severity.STOP, message, say("Pour it in and stir before you spray.")
    message = say("There is no activator in the cup of {card}, a two-part product.", card=card.name)
    return Severity.STOP, message, say("Add the activator and stir, or empty the cup and mix fresh.")


@FAMILY.rule(
    "not-logged",
    Severity.STOP,
    timed=False,
    title="No mix logged for a two-part coat",
    reason="Where no mix is logged, nobody can tell later whether a two-part product was activated, and how well.",
    source=PRACTICE,
    remedy="Log the mix first: what was poured, and the stirring.",
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
                message=say(
                    "Coat {n} of {layer} has no mix logged: its ratio is a guess.",
                    n=number, layer=facts.state.layer_name(layer),
                ),
                remedy=say("Log the mix first: what was poured, and the stirring."),
                key=key("mixing.not-logged", layer.id, number),
            )  # fmt: skip


@FAMILY.rule(
    "off-ratio",
    Severity.STOP,
    timed=False,
    title="Mixed off its ratio",
    reason="A wrong dose of activator is not seen until the paint peels, cracks or stays soft.",
    source="the product card; tolerances are common practice, no source",
    remedy="Add what is short until the ratio is right, or empty the cup and mix fresh. Where a coat went on so, test "
    "it for cure and adhesion before anything goes over it.",
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
                cause=cause(Cause.RATIO, mix.id, layer.id),
            )
    for piece, layer, coat, mix in facts.sprayed():
        for part, check in _off_parts(layer, mix):
            yield Finding(
                rule="mixing.off-ratio",
                severity=Severity.CAUTION,
                piece=piece.id,
                layer=layer.id,
                message=say(
                    "Coat {n} of {layer} went on so: {what}",
                    n=coat.number, layer=facts.state.layer_name(layer), what=_off_words(part, check),
                ),
                remedy=say("Test it for cure and adhesion before anything goes over it."),
                key=key("mixing.off-ratio", mix.id, part.name, layer.id),
                cause=cause(Cause.RATIO, mix.id, layer.id),
            )  # fmt: skip


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
    of_base = check.percent_of_base if part.kind is PartKind.ACTIVATOR else None
    have = (
        say("{percent:.2f} % of the base", percent=of_base)
        if of_base is not None
        else say("{mL} mL", mL=figure(check.poured_mL or 0))
    )
    told = {"part": part.name, "off": f"{abs(off):.0f}", "have": have, "share": part.share.words()}
    if off > 0:
        return say("{part} is {off} % over: {have}, and the card says {share}.", **told)
    return say("{part} is {off} % under: {have}, and the card says {share}.", **told)


def _mend_words(mix: Mix) -> str:
    adds = [
        say("{mL} mL {part}", mL=figure(c.add_mL), part=c.name)
        for c in mix.checks
        if c.poured_mL is not None and c.add_mL > 0
    ]
    total = sum(c.add_mL for c in mix.checks if c.poured_mL is not None) + mix.total_mL
    return say(
        "Add {parts}: that makes {mL} mL. Or empty the cup and mix fresh.",
        parts=say(" and ").join(adds), mL=figure(total),
    )  # fmt: skip


@FAMILY.rule(
    "reduction",
    Severity.CAUTION,
    timed=False,
    title="Reduced too much or too little",
    reason="Too little reducer spits and textures; too much runs, dries thin and can lift what is under it.",
    source="the product card; a slip of 5 % of the reducer in measuring is common practice, no source",
    remedy="Add reducer to what is too thick, and stir; spray what is too thin in lighter coats, or mix fresh. Where "
    "the card gives no reduction for the gun, ask the sheet before you spray.",
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
            cause=cause(Cause.RATIO, mix.id, layer.id),
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
            say("It is reduced, and the card gives no reduction for {gun}.", gun=gun.named),
            say("Ask the sheet before you spray; mix fresh unreduced if it says so."),
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
        return (
            say(
                "It is too thick for {gun}: {have} mL reducer where the card asks for at least {least} mL.",
                gun=gun.named, have=figure(have), least=figure(low),
            ),
            say("Add {mL} mL reducer and stir.", mL=figure(low - have)),
        )  # fmt: skip
    if have > high * (1 + slip) + 1e-9:
        return (
            say(
                "It is too thin for {gun}: {have} mL reducer where the card allows {most} mL.",
                gun=gun.named, have=figure(have), most=figure(high),
            ),
            say("Spray lighter coats and watch for runs, or mix fresh."),
        )  # fmt: skip
    return None


@FAMILY.rule(
    "guessed",
    Severity.NOTE,
    timed=False,
    title="Dose counted with an uncounted dropper",
    reason="Twenty drops to the millilitre is a convention for water; thin solvents give smaller drops, so the dose is "
    "anybody's guess until the drops of that dropper are counted.",
    source="USP <1101> for water, 18 to 22 drops to the mL; smaller drops of solvents are common practice, no source",
    remedy="Count how many drops of it make 1 mL in a syringe, and write that down under your tools.",
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
                message=say(
                    "How much {part} is in this cup is a guess: it was counted in drops of an uncounted dropper.",
                    part=name,
                ),
                remedy=say("Count how many drops of it make 1 mL in a syringe, and write that down under your tools."),
                key=key("mixing.guessed", mix.id, name, layer.id),
            )  # fmt: skip


@FAMILY.rule(
    "hard-to-measure",
    Severity.NOTE,
    timed=False,
    title="A part too small to measure well",
    reason="Below half a millilitre the smallest slip of a syringe is a large part of the dose.",
    source=PRACTICE,
    remedy="Measure it with the finest marks you own, or on a scale; the mix says how far off it may come out.",
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
                message=say("Only {mL} mL {part} in this cup.", mL=figure(smallest, 2), part=part.name),
                remedy=say(
                    "Measure it with the finest marks you own, or on a scale; the mix says how far off it may come out."
                ),
                key=key("mixing.hard-to-measure", mix.id),
            )
