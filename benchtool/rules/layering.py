"""Layering: how many coats, and what lies on what."""

from collections.abc import Iterator

from benchtool.rules.finding import SHEET, Facts, Family, Finding, Severity, key

FAMILY = Family("layering")


def _range(least: int, most: int) -> str:
    if least == most:
        return f"{least} coat{'' if least == 1 else 's'}"
    return f"{least} to {most} coats"


@FAMILY.rule(
    "too-few-coats",
    Severity.CAUTION,
    timed=False,
    reason="Too thin a film does not hide, protect or bond as the sheet promises.",
    source=SHEET,
)
def too_few(facts: Facts) -> Iterator[Finding]:
    """Fewer coats are planned than the card asks for, or the next layer went on over fewer."""
    for piece, layer in facts.layers():
        card = facts.state.card_of(layer)
        if card is None:
            continue
        planned = max(len(layer.coats), layer.plan.coats)
        covered = any(x.started for x in piece.layers[piece.layers.index(layer) + 1 :])
        if covered and layer.coats_done < card.coats_least:
            message = f"{facts.state.layer_name(layer)} was covered after {layer.coats_done} of at least "
            message += f"{_range(card.coats_least, card.coats_least)}."
            remedy = "Test it for adhesion and hiding before you go on."
        elif not covered and planned < card.coats_least:
            message = f"{_range(planned, planned)} planned for {facts.state.layer_name(layer)}; the card asks for "
            message += f"{_range(card.coats_least, card.coats_most)}."
            remedy = f"Plan {card.coats_least}."
        else:
            continue
        yield Finding(
            rule="layering.too-few-coats",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=message,
            remedy=remedy,
            key=key("layering.too-few-coats", layer.id),
        )


@FAMILY.rule(
    "too-many-coats",
    Severity.CAUTION,
    timed=False,
    reason="Too thick a film holds its solvent, stays soft, and cracks when the piece bends.",
    source=SHEET,
)
def too_many(facts: Facts) -> Iterator[Finding]:
    """More coats are on, or planned, than the card allows."""
    for piece, layer in facts.layers():
        card = facts.state.card_of(layer)
        count = max(len(layer.coats), layer.plan.coats)
        if card is None or count <= card.coats_most:
            continue
        on = len(layer.coats) > card.coats_most
        verb = "are on" if on else "are planned"
        yield Finding(
            rule="layering.too-many-coats",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=f"{count} coats of {facts.state.layer_name(layer)} {verb}; the card allows "
            f"{_range(card.coats_least, card.coats_most)}.",
            remedy="Let it harden much longer before the next layer." if on else f"Plan {card.coats_most}.",
            key=key("layering.too-many-coats", layer.id, count),
        )
