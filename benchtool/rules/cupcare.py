"""What a cup is made of, what is poured into it late, and whether it holds what was planned."""

from collections.abc import Iterator

from benchtool.job.cards import Card, Hazard, Trait
from benchtool.job.state import LayerState, Mix
from benchtool.job.windows import FOR_GOOD, pot_life_span
from benchtool.rules.finding import PRACTICE, SHEET, Cause, Facts, Family, Finding, Severity, cause, key
from benchtool.trade.mixing import PartKind
from benchtool.trade.numbers import pour_figure
from benchtool.trade.saying import say

FAMILY = Family("mixing")


@FAMILY.rule(
    "metal-cup",
    Severity.STOP,
    timed=False,
    title="Peroxide or acid in a metal cup",
    reason="Metal breaks peroxide down, with heat and gas, and acid eats metal: the mix is spoilt, or worse.",
    source="Organic Peroxide Producers Safety Division, bulletin AS-109 (from memory); acid: common practice",
    remedy="Take a cup of plastic or paper, and no metal to stir with. Where the hardener is in, watch it for heat, "
    "set it down outside, and mix fresh; its safety data sheet decides.",
)
def metal_cup(facts: Facts) -> Iterator[Finding]:
    """A product that cures by peroxide or acid is mixed in a metal cup."""
    for piece, layer, mix in facts.cups():
        card = mix.card
        if not mix.made.metal_cup or card is None:
            continue
        peroxide = Hazard.PEROXIDE in card.hazards
        if not peroxide and Trait.ACID_CATALYSED not in card.traits:
            continue
        yield Finding(
            rule="mixing.metal-cup",
            severity=Severity.STOP if peroxide else Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=say("{card} hardens by peroxide, and this cup is of metal.", card=card.name)
            if peroxide
            else say("{card} hardens by acid, and this cup is of metal.", card=card.name),
            remedy=_metal_remedy(mix, peroxide=peroxide),
            key=key("mixing.metal-cup", mix.id, layer.id),
            forbids_coat=peroxide and layer is facts.next_layers()[piece.id],
            cause=cause(Cause.RATIO, mix.id, "cup"),
        )


def _metal_remedy(mix: Mix, *, peroxide: bool) -> str:
    if mix.pours and not peroxide:
        return say("Pour it over into a cup of plastic or paper now, and throw it away where it has changed colour.")
    if mix.pours:
        return say(
            "Where the hardener is in, watch it for heat, set it down outside, and mix fresh in plastic or paper; its "
            "safety data sheet decides."
        )
    return say("Pour nothing yet: take a cup of plastic or paper, and stir with one too.")


@FAMILY.rule(
    "topped-up",
    Severity.CAUTION,
    timed=False,
    title="Old cup topped up",
    reason="Fresh paint in an old cup does not make it young: what has set by then is still in it, and seeds the rest.",
    source=SHEET,
    remedy="Use it up before the pot life ends, and strain it; next time empty the cup and mix fresh.",
)
def topped_up(facts: Facts) -> Iterator[Finding]:
    """Fresh base or activator was poured into a cup that was past half its pot life."""
    for piece, layer, mix in facts.cups():
        late = _late_mL(mix.card, mix) if mix.card is not None else 0.0
        if late <= 0:
            continue
        yield Finding(
            rule="mixing.topped-up",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=say(
                "{mL} mL was poured in past half of the pot life, which still counts from the first activator.",
                mL=pour_figure(late),
            ),
            remedy=say("Use it up by then, and strain it; next time empty the cup and mix fresh."),
            key=key("mixing.topped-up", mix.id, layer.id),
            cause=cause(Cause.CUP_TIME, mix.id, layer.id),
        )


def _late_mL(card: Card, mix: Mix) -> float:
    """Give how much base and activator was poured past half the pot life (mL)."""
    span = pot_life_span(card, mix)
    if span is None or span.closes_at is None or span.closes_at >= FOR_GOOD:
        return 0.0
    half = span.started_at + (span.closes_at - span.started_at) / 2
    kinds = {p.name: p.kind for p in mix.parts}
    return sum(p.mL for p in mix.pours if p.at >= half and kinds.get(p.part) in (PartKind.BASE, PartKind.ACTIVATOR))


@FAMILY.rule(
    "not-stirred",
    Severity.CAUTION,
    timed=False,
    title="Sprayed from a cup that was not stirred",
    reason="What is heavy has settled: colour and gloss come out uneven, and an activator not stirred in leaves soft "
    "spots.",
    source=PRACTICE,
    remedy="Stir it well, scraping the sides, and log that. Where a coat went on so, look at it for streaks and soft "
    "spots before you go on.",
)
def not_stirred(facts: Facts) -> Iterator[Finding]:
    """A coat was begun from a cup that was poured and not stirred after the last pour."""
    for piece, layer, coat, mix in facts.sprayed():
        poured, stirred = [p.at for p in mix.pours], mix.stirred.values()
        if not poured or (stirred and max(stirred) >= max(poured)):
            continue
        yield Finding(
            rule="mixing.not-stirred",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=say(
                "No stirring of the cup for coat {n} of {layer} is logged since the last pour.",
                n=coat.number,
                layer=facts.state.layer_name(layer),
            ),
            remedy=say("Stir it well, scraping the sides, and log that.")
            if coat.done_at is None
            else say("Look at the coat for streaks and soft spots, and stir before the next."),
            key=key("mixing.not-stirred", layer.id, coat.number),
            cause=cause(Cause.CUP_TIME, mix.id, layer.id, "stand"),
        )


@FAMILY.rule(
    "additive",
    Severity.CAUTION,
    timed=False,
    title="Planned additive missing from the cup",
    reason="An additive that was meant to be in, such as one that keeps the film flexible, can't be put in later.",
    source=SHEET,
    remedy="Mix fresh with it, or take it out of the plan.",
)
def additive(facts: Facts) -> Iterator[Finding]:
    """The cup lacks an additive that is planned for its layer, or none of it was poured before it was stirred."""
    for piece, layer, mix in facts.cups():
        missing = [name for name in _planned(facts, layer) if _lacks(mix, name)]
        if not missing:
            continue
        yield Finding(
            rule="mixing.additive",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=layer.id,
            message=say("{additive} is planned for {layer}, and this cup has none.",
                additive=missing[0], layer=facts.state.layer_name(layer)),
            remedy=say("Mix fresh with it, or take it out of the plan."),
            key=key("mixing.additive", mix.id, layer.id),
            cause=cause(Cause.RATIO, mix.id, layer.id),
        )  # fmt: skip


def _planned(facts: Facts, layer: LayerState) -> list[str]:
    card = facts.state.card_of(layer)
    found = [card.additive(a) for a in layer.plan.additives] if card is not None else []
    return [a.name for a in found if a is not None]


def _lacks(mix: Mix, name: str) -> bool:
    """Say whether a cup will not have this part: not in its recipe, or stirred with none of it poured."""
    if all(p.name != name for p in mix.parts):
        return True
    return bool(mix.pours and mix.stirred) and mix.poured_mL.get(name, 0.0) <= 0
