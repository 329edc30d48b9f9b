"""Mixing: what is in the cup against what the card says."""

from collections.abc import Iterator

from benchtool.job.state import LayerState, Mix
from benchtool.rules.finding import PRACTICE, SHEET, Facts, Family, Finding, Severity, key
from benchtool.trade.mixing import Part, PartKind, PourCheck, fractions, parse_share, reduction_of
from benchtool.trade.numbers import figure

FAMILY = Family("mixing")


def _live(facts: Facts) -> Iterator[tuple[LayerState, Mix]]:
    for mix in facts.state.mixes.values():
        layer = facts.state.layers.get(mix.made.layer)
        if layer is not None and mix.emptied_at is None:
            yield layer, mix


@FAMILY.rule(
    "no-activator",
    Severity.STOP,
    reason="A two-part product without its activator never cures; all that goes over it comes off with it.",
    source=SHEET,
)
def no_activator(facts: Facts) -> Iterator[Finding]:
    """A two-part product has no activator chosen, or was sprayed from a cup with none in it."""
    for piece, layer in facts.layers():
        card = facts.state.card_of(layer)
        if card is None or not card.two_part or (layer.finished and not layer.coats):
            continue
        mix = facts.state.mix_for(layer)
        sprayed_bare = any(c.mix is not None and not _activated(facts, c.mix) for c in layer.coats)
        if sprayed_bare:
            message = f"{facts.state.layer_name(layer)} went on without its activator: it will not cure."
            remedy = "Take it off while it is soft, clean, and start this layer again."
        elif layer.finished:
            continue
        elif mix is not None and any(c.poured_mL is not None for c in mix.checks) and not _activated(facts, mix.id):
            if mix.has(PartKind.ACTIVATOR) and not mix.stirred:
                continue  # still pouring: the mix pane asks for it next
            message = f"There is no activator in the cup of {card.name}, a two-part product."
            remedy = "Add the activator and stir, or empty the cup and mix fresh."
        elif mix is None and card.activator(layer.plan.activator) is None:
            message = f"{card.name} is a two-part product and no activator is chosen."
            remedy = "Choose the activator that suits the piece."
        else:
            continue
        yield Finding(
            rule="mixing.no-activator",
            severity=Severity.STOP,
            piece=piece.id,
            layer=layer.id,
            message=message,
            remedy=remedy,
            key=key("mixing.no-activator", layer.id),
            forbids_coat=True,
        )


def _activated(facts: Facts, mix_id: str) -> bool:
    mix = facts.state.mixes.get(mix_id)
    if mix is None:
        return True
    activators = {p.name for p in mix.parts if p.kind is PartKind.ACTIVATOR}
    return any(mix.poured_mL.get(name, 0.0) > 0 for name in activators)


@FAMILY.rule(
    "off-ratio",
    Severity.STOP,
    reason="A wrong dose of activator is not seen until the paint peels, cracks or stays soft.",
    source="the product card; tolerances are common practice, no source",
)
def off_ratio(facts: Facts) -> Iterator[Finding]:
    """A part as poured is off its share by more than its tolerance."""
    for layer, mix in _live(facts):
        for part, check in zip(mix.parts, mix.checks, strict=True):
            if check.within or check.off_percent is None:
                continue
            activator = part.kind is PartKind.ACTIVATOR
            yield Finding(
                rule="mixing.off-ratio",
                severity=Severity.STOP if activator else Severity.CAUTION,
                piece=layer.piece,
                layer=layer.id,
                message=_off_words(part, check),
                remedy=_mend_words(mix),
                key=key("mixing.off-ratio", mix.id, part.name),
                forbids_coat=activator,
            )


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
    reason="Too little reducer spits and textures; too much runs, dries thin and can lift what is under it.",
    source=SHEET,
)
def reduction(facts: Facts) -> Iterator[Finding]:
    """The reduction in the cup is outside what the card allows for the gun in use."""
    for layer, mix in _live(facts):
        card = facts.state.cards.get(mix.made.card)
        poured = mix.poured_mL
        reducers = [p for p in mix.parts if p.kind is PartKind.REDUCER]
        have = sum(poured.get(p.name, 0.0) for p in reducers)
        gun = layer.plan.gun
        used = any(c.mix == mix.id for c in layer.coats)
        sprayable = bool(mix.stirred) and (have > 0 or not reducers or used)
        if card is None or not sprayable:
            continue
        allowed = card.reduction(gun)
        if allowed is None:
            if have > 0:
                yield _reduction_finding(
                    layer, mix, f"It is reduced, and the card gives no reduction for a {gun.value}.",
                    "Ask the sheet before you spray; mix fresh unreduced if it says so.",
                )  # fmt: skip
            continue
        least, most = parse_share(allowed.least), parse_share(allowed.most)
        reference = reduction_of(mix.parts, most if most.value > 0 else least, poured)
        if reference <= 0:
            continue
        low, high = least.value * reference, most.value * reference
        if have < low * (1 - 1e-9):
            yield _reduction_finding(
                layer, mix,
                f"It is too thick for a {gun.value}: {figure(have)} mL reducer where the card asks for at least "
                f"{figure(low)} mL.",
                f"Add {figure(low - have)} mL reducer and stir.",
            )  # fmt: skip
        elif have > high * (1 + 1e-9):
            yield _reduction_finding(
                layer, mix,
                f"It is too thin for a {gun.value}: {figure(have)} mL reducer where the card allows "
                f"{figure(high)} mL.",
                "Spray lighter coats and watch for runs, or mix fresh.",
            )  # fmt: skip


def _reduction_finding(layer: LayerState, mix: Mix, message: str, remedy: str) -> Finding:
    return Finding(
        rule="mixing.reduction",
        severity=Severity.CAUTION,
        piece=layer.piece,
        layer=layer.id,
        message=message,
        remedy=remedy,
        key=key("mixing.reduction", mix.id, layer.plan.gun.value),
    )


@FAMILY.rule(
    "hard-to-measure",
    Severity.NOTE,
    reason="Below half a millilitre the smallest slip of a syringe is a large part of the dose.",
    source=PRACTICE,
)
def hard_to_measure(facts: Facts) -> Iterator[Finding]:
    """A cup is so small that its smallest part can hardly be measured by volume."""
    for layer, mix in _live(facts):
        if mix.pours:
            continue
        amounts = [f * mix.made.make_mL for f in fractions(mix.parts)]
        smallest, part = min(zip(amounts, mix.parts, strict=True), key=lambda pair: pair[0])
        if 0 < smallest < 0.5:
            yield Finding(
                rule="mixing.hard-to-measure",
                severity=Severity.NOTE,
                piece=layer.piece,
                layer=layer.id,
                message=f"Only {figure(smallest, 2)} mL {part.name}: a slip of 0.1 mL is "
                f"{0.1 / smallest * 100:.0f} % of it.",
                remedy="Use a 1 mL syringe or a scale, or make a larger cup.",
                key=key("mixing.hard-to-measure", mix.id),
            )
